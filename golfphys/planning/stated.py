"""What a teaching study takes as known: firmness, lie, player and clubs beside green speed and slope."""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

import numpy as np

from golfphys.physics.club import BAG, Player
from golfphys.physics.draws import Draws, stated
from golfphys.physics.green import Green, Turf
from golfphys.physics.players import TOUR_PLAYER

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
