"""What a plan is given: draws of a fit seen along the line of play, or a green and a player that are stated."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import numbers, require_kinds
from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.course_fit import CourseFit
from golfphys.physics.club import BAG, Player
from golfphys.physics.draws import Draws, stated
from golfphys.physics.green import Green, Resistance, Turf
from golfphys.physics.roll import roll
from golfphys.physics.usual import TOUR_PLAYER


def course_draws(
    fit: CourseFit, spot: str, *, heading_deg: float = 0.0, draws: int = 256, seed: int | np.random.Generator = 0
) -> Draws:
    """Return a fit's draws at a spot, seen along a line of play; what it did not measure comes from its prior.

    Parameters
    ----------
    fit : CourseFit
        What `golfphys.fit` returned.
    spot : str
        Which of its spots.
    heading_deg : float
        Heading of the line from ball to pin on the sheet's compass: degrees clockwise from its reference line.
    draws : int
        How many draws.
    seed : int or numpy.random.Generator
        The same seed gives the same draws.

    Returns
    -------
    Draws
        What `golfphys.plan_chip` and all that follows from it take.

    Notes
    -----
    A habit of carrying beyond the aim, or of starting beside it, is hers to correct: a plan says where the ball should
    go, and in its cautions how to aim for that.

    Examples
    --------
    >>> import golfphys
    >>> from golfphys import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> known = course_draws(fit, "home-left", heading_deg=90.0, draws=50)
    >>> len(known), known.logged.chips
    (50, 0)
    """
    require_kinds(fit=(fit, CourseFit))
    if not np.all(np.isfinite(numbers("heading_deg", heading_deg))):
        raise ValueError(f"heading_deg is {heading_deg!r}; expected degrees clockwise from the sheet's reference line")
    if draws < 1:
        raise ValueError(f"draws is {draws!r}; expected at least 1")
    # the sheet's compass runs clockwise, directions of a green anticlockwise
    found: Draws = fit.draws(spot, draws, seed)
    return found.turned(-math.radians(heading_deg))


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
