"""One shot from strike to rest, and what it is played with: clubs, lies, greens, turf, air, the hole."""
