"""What is stated, not measured: what a teaching study takes as known, green speed under a whole law, faster greens."""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import BAG, Player
from golfphys.physics.draws import Draws, stated
from golfphys.physics.green import Green, Resistance, Turf
from golfphys.physics.roll import roll
from golfphys.physics.usual import TOUR_PLAYER

Floats = NDArray[np.float64]

FIRMNESS: Mapping[str, Turf] = MappingProxyType(
    {
        "soft": Turf(restitution=0.42, tilt=0.32, friction=0.45, skid_friction=0.45),
        "middling": Turf(),
        "firm": Turf(restitution=0.58, tilt=0.21, friction=0.36, skid_friction=0.36),
    }
)
"""Named levels of turf. "middling" is the published one; the others lie about one and a half of its stated
uncertainties away, judged, no source: no published link from a firmness reading to restitution was found."""


@dataclass(frozen=True, kw_only=True)
class Stated:
    """What a teaching study takes as known beside green speed and slope.

    Parameters
    ----------
    firmness : str
        Name of `FIRMNESS`.
    lie : str
        Name of `golfphys.physics.club.LIES`.
    player : Player
        Whose delivery and errors they are.
    clubs : tuple of str
        Names of `golfphys.physics.club.BAG`.
    """

    firmness: str = "middling"
    lie: str = "fairway"
    player: Player = TOUR_PLAYER
    clubs: tuple[str, ...] = tuple(BAG)

    def __post_init__(self) -> None:
        """Check the names."""
        turf_named(self.firmness)
        unknown = [name for name in self.clubs if name not in BAG]
        if unknown:
            raise ValueError(f"clubs has {', '.join(unknown)}; expected names among {', '.join(BAG)}")

    def draws(self, stimp_ft: float, grade: float = 0.0) -> Draws:
        """Return the one draw of a green of this speed and slope along the line."""
        green = Green.from_stimp(stimp_ft, turf=turf_named(self.firmness), **slope_along(grade))
        return stated(green, player=self.player, bag={name: BAG[name] for name in self.clubs})


def turf_named(name: str) -> Turf:
    """Return the turf of a level of `FIRMNESS`."""
    if name not in FIRMNESS:
        raise ValueError(f"firmness is {name!r}; expected one of {', '.join(FIRMNESS)}")
    return FIRMNESS[name]


def slope_along(grade: float) -> dict[str, Any]:
    """Return the fields of a green whose line of play rises by `grade`, rise over run; negative is downhill."""
    return {"grade": abs(grade), "fall_direction": np.pi if grade > 0 else 0.0}


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
