"""Green speed under the whole law of a green, whatever its terms, and greens faster than it."""

from dataclasses import fields, replace

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.draws import Draws
from golfphys.physics.green import Green, Resistance
from golfphys.physics.roll import roll

Floats = NDArray[np.float64]


def level_roll_ft(resistance: Resistance) -> Floats:
    """Return how far a ball from the ramp rolls on the level under the whole law of a green, ft; its grain left out."""
    found = roll(constants.RAMP_RELEASE_SPEED.value, 0.0, replace(resistance, grain=0.0)).x
    return np.asarray(found) / METRES_PER_FOOT


def faster(green: Green, feet: float) -> Green:
    """Return a green whose level roll from the ramp is longer: all of its law less in the same proportion."""
    law = green.resistance
    before = level_roll_ft(law)
    if not np.all(before + feet > 1.0):
        raise ValueError(f"a green {-feet:g} ft slower than measured would not let a ball roll")
    factor = before / (before + feet)
    scaled = {
        item.name: factor * np.asarray(getattr(law, item.name))
        for item in fields(law)
        if item.name not in ("grain", "grain_direction")
    }
    plain = {name: values if values.ndim else float(values) for name, values in scaled.items()}
    return replace(green, resistance=replace(law, **plain))


def level(draws: Draws) -> Draws:
    """Return draws of the green without its slope."""
    return replace(draws, green=replace(draws.green, grade=0.0, fall_direction=0.0))
