"""Players by level of play, and the options that each has at the ball: what the swing changes, and how she errs then.

Levels are named, no persons. A player who was never measured is taken to be one of these, as uncertain as players of a
level differ.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

from golfphys.core.checks import check_fields
from golfphys.physics.club import Club, Delivery, Player
from golfphys.physics.errors import CLUB_ERRORS, TOUR_ERRORS, StrikeErrors

PUTTER = Club(
    name="putter", loft=math.radians(3.5), bounce=0.0, head_mass=0.350, sole_width=0.025, lie_angle=math.radians(70.0)
)
"""A putter, for rolling the ball from off the green (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Option:
    """One way to play a chip: what it changes in the player's usual swing.

    Parameters
    ----------
    name : str
        In plain words.
    lean, attack : float or array_like
        Added to the shaft's lean and to the angle of attack, rad.
    opening : float or array_like
        Turn of the face about the shaft, rad, positive open. What it does to loft, bounce and start line follows from
        the geometry of the strike; she aims to the left of the line by as much as the ball starts to the right.
    wider : float or array_like
        Factor on her usual errors.
    putts : bool
        Whether the putter is taken; otherwise any club of the bag.

    Examples
    --------
    >>> usual = Delivery(speed=8.0)
    >>> OPTIONS["hands level"].delivery(usual).shaft_lean < usual.shaft_lean
    True
    """

    name: str
    lean: Any = 0.0
    attack: Any = 0.0
    opening: Any = 0.0
    wider: Any = 1.0
    putts: bool = False

    def __post_init__(self) -> None:
        """Check the values."""
        check_fields(self, {"lean": (-0.5, 0.5), "attack": (-0.3, 0.3), "opening": (-0.5, 1.2), "wider": (0.1, 5.0)})

    def delivery(self, usual: Delivery) -> Delivery:
        """Return the swing of this option: the usual one with lean, attack and opening changed."""
        return replace(
            usual,
            shaft_lean=usual.shaft_lean + self.lean,
            attack=usual.attack + self.attack,
            face_opening=usual.face_opening + self.opening,
        )

    def errors(self, usual: StrikeErrors) -> StrikeErrors:
        """Return the errors of this option: all standard deviations of the usual swing times `wider`."""
        names = ("speed", "direction", "attack", "shaft_lean", "low_point", "height")
        return replace(usual, **{name: getattr(usual, name) * self.wider for name in names})


OPTIONS: Mapping[str, Option] = MappingProxyType(
    {
        option.name: option
        for option in (
            Option(name="usual"),
            Option(name="hands level", lean=math.radians(-6.0), attack=math.radians(1.5), wider=1.1),
            Option(
                name="face opened 20 degrees",
                lean=math.radians(-6.0),
                attack=math.radians(1.0),
                opening=math.radians(20.0),
                wider=1.15,
            ),
            Option(name="putter", lean=math.radians(-8.0), attack=math.radians(4.5), wider=0.65, putts=True),
        )
    }
)
"""What can be played. Changes and widths are common practice, no source: a swing that is played less often errs more,
a putter less (a tour putts with 1.0 deg and 8 % of distance, so 4 % of speed, against 1.6 deg and 5.4 % here)."""

TOUR_PLAYER = Player(name="tour player", delivery=Delivery(speed=8.0), errors=TOUR_ERRORS)
"""A player of tour level: she takes from fairway and rough what a tour takes (see `golfphys.physics.errors`). She leans
the shaft by 8 deg (practice: chips deliver 5 to 12 deg less than static loft) and comes 4 deg down."""

CLUB_PLAYER = Player(name="club player", delivery=Delivery(speed=8.0, edge_aim=0.5), errors=CLUB_ERRORS)
"""A player of club level, judged (practice): errors near twice a tour's, aimed a little lower, away from the thin."""
