"""How a player errs at the strike: standard deviations of what her swing does, by level of play."""

import math
from dataclasses import dataclass
from typing import Any

from golfphys.core.checks import check_fields

KINDS = ("speed", "direction", "attack", "shaft_lean", "low_point", "height")
"""Errors of the strike, in the order in which `golfphys.physics.strike.strike` takes them."""


@dataclass(frozen=True, kw_only=True)
class StrikeErrors:
    """How strikes differ from the one meant, as standard deviations. Numbers, or arrays that broadcast.

    All but that of direction are stated at a head speed of `REFERENCE_SPEED` and grow with the swing.

    Parameters
    ----------
    speed : float or array_like
        Of the head speed, over the reference speed.
    direction : float or array_like
        Of the direction of face and path together, rad.
    attack : float or array_like
        Of the angle of attack, beyond what the low point makes of it, rad.
    shaft_lean : float or array_like
        Of the lean of the shaft, rad.
    low_point : float or array_like
        Of the low point of the swing along the line, m.
    height : float or array_like
        Of the height of the swing's arc, m.
    growth : float or array_like
        Fraction of the errors of attack, lean, low point and height that is in proportion to head speed; the rest is
        the same for every swing.
    speed_growth : float or array_like
        The same for the error of the head speed.

    Examples
    --------
    >>> TOUR_ERRORS.height < CLUB_ERRORS.height
    True
    """

    speed: Any
    direction: Any
    attack: Any
    shaft_lean: Any
    low_point: Any
    height: Any
    growth: Any = 0.1
    speed_growth: Any = 0.85

    def __post_init__(self) -> None:
        """Check the values."""
        check_fields(
            self, {"speed": (0.0, 0.5), "direction": (0.0, 0.5), "attack": (0.0, 0.3), "shaft_lean": (0.0, 0.3)}
        )
        check_fields(self, {"low_point": (0.0, 0.2), "height": (0.0, 0.05), "growth": (0.0, 1.0)})
        check_fields(self, {"speed_growth": (0.0, 1.0)})


REFERENCE_SPEED = 8.0
"""Head speed in m/s at which errors of the strike are stated: a chip of some ten metres."""

TOUR_ERRORS = StrikeErrors(
    speed=0.054,
    direction=math.radians(1.6),
    attack=math.radians(0.6),
    shaft_lean=math.radians(1.35),
    low_point=0.012,
    height=0.0026,
)
"""Errors of a tour player's strike: judged in their proportions, then set so that strokes to hole out from fairway and
rough are those of a tour (Broadie 2014, from memory; `tests/studies/tour_level.py` plays them)."""

CLUB_ERRORS = StrikeErrors(
    speed=0.095,
    direction=math.radians(2.6),
    attack=math.radians(1.0),
    shaft_lean=math.radians(2.2),
    low_point=0.020,
    height=0.0046,
)
"""Errors of a club player's strike: near twice a tour's (judged, practice: she scores about 90, and a heavy or thin
chip every few is usual)."""
