"""What a player brings: clubs, lies, her delivery, options and errors at the strike, and players by level.

Levels are named, no persons.
Frozen dataclasses, checked on construction; override one by making a new one (``dataclasses.replace``).
"""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core.broadcasting import Checked

DEGREE = math.radians(1.0)
ERROR_KINDS = ("speed", "direction", "attack", "shaft_lean", "low_point", "height")
"""Errors of the strike, in the order in which `golfphys.physics.strike.strike` takes them."""


@dataclass(frozen=True, kw_only=True)
class StrikeErrors(Checked):
    """How strikes differ from the one meant, as standard deviations. Numbers, or arrays that broadcast.

    All but that of direction are stated at a head speed of `REFERENCE_SPEED` and grow with the swing.

    Parameters
    ----------
    speed, direction : float or array_like, of the head speed, over the reference speed; of face and path together, rad
    attack : float or array_like, of the angle of attack, beyond what the low point makes of it, rad
    shaft_lean : float or array_like, of the lean of the shaft, rad
    low_point, height : float or array_like, of the swing's low point along the line and of its arc's height, m
    growth : float or array_like
        Fraction of the errors of attack, lean, low point and height that is in proportion to head speed.
    speed_growth : float or array_like, the same for the error of the head speed

    Examples
    --------
    >>> TOUR_ERRORS.height < CLUB_ERRORS.height
    True
    """

    speed: Annotated[Any, (0.0, 0.5)]
    direction: Annotated[Any, (0.0, 0.5)]
    attack: Annotated[Any, (0.0, 0.3)]
    shaft_lean: Annotated[Any, (0.0, 0.3)]
    low_point: Annotated[Any, (0.0, 0.2)]
    height: Annotated[Any, (0.0, 0.05)]
    growth: Annotated[Any, (0.0, 1.0)] = 0.1
    speed_growth: Annotated[Any, (0.0, 1.0)] = 0.85


REFERENCE_SPEED = 8.0
"""Head speed in m/s at which errors of the strike are stated: a chip of some ten metres."""

TOUR_ERRORS = StrikeErrors(
    **{"speed": 0.054, "direction": 1.6 * DEGREE, "attack": 0.6 * DEGREE, "shaft_lean": 1.35 * DEGREE},
    **{"low_point": 0.012, "height": 0.0026},
)
"""Errors of a tour player's strike: judged in their proportions, then set so that strokes to hole out from fairway and
rough are those of a tour (Broadie 2014, from memory; `tests/studies/tour_level.py` plays them)."""

CLUB_ERRORS = StrikeErrors(
    **{"speed": 0.095, "direction": 2.6 * DEGREE, "attack": DEGREE},
    **{"shaft_lean": 2.2 * DEGREE, "low_point": 0.020, "height": 0.0046},
)
"""Errors of a club player's strike: 1.6 to 1.8 times a tour's (judged, practice: she scores about 90, and a heavy or
thin chip every few is usual)."""


@dataclass(frozen=True, kw_only=True)
class Club(Checked):
    """A club as the ball and the turf know it. Numbers, or arrays that broadcast.

    Parameters
    ----------
    name : str, what the player calls it
    loft, bounce, lie_angle : float or array_like, of face, sole, and shaft from the ground, rad
    head_mass : float or array_like, mass of the head in kg
    sole_width : float or array_like, width of the sole from leading to trailing edge, m

    Examples
    --------
    >>> round(math.degrees(BAG["sand wedge"].loft))
    55
    """

    name: str
    loft: Annotated[Any, (0.0, 1.4)]
    bounce: Annotated[Any, (-0.2, 0.6)]
    head_mass: Annotated[Any, (0.05, 1.0)]
    sole_width: Annotated[Any, (0.002, 0.08)] = 0.020
    lie_angle: Annotated[Any, (0.7, math.pi / 2)] = 64.0 * DEGREE


@dataclass(frozen=True, kw_only=True)
class Lie(Checked):
    """How the ball lies: what it does to the strike. Numbers, or arrays that broadcast.

    Parameters
    ----------
    name : str, what the player calls it
    friction : float or array_like, between face and ball; grass or water between them takes most of it away
    cushion : float or array_like, fraction of the normal restitution lost to grass on the face, 0 (clean) to 1
    spin_factor : float or array_like
        Spin off the face over that of the rigid impact: what grass, water or sand take of it beside friction.
    give : float or array_like
        Fraction of the press of the sole that goes into the soil, above 0 (rock) to 1 (slush); the rest carries the
        head.
    ball_height : float or array_like, height in m of the ball's underside over the soil that carries the sole
    speed_error : float or array_like
        Standard deviation, over the head speed, of what grass takes from head and ball at a delivered loft of 45 deg.
        Less loft goes through more of it (`golfphys.physics.strike.lie_met`).
    face_error : float or array_like
        Standard deviation, rad, by which grass turns the face: in loft, and half as much in direction.
    slope_along, slope_across : float or array_like
        Slope of the ground under the ball, rad: along the line of play, positive uphill, and across it, positive where
        the ground falls to the left: a right-handed player has the ball above her feet, and it starts left.

    Examples
    --------
    >>> Lie(name="dewy", friction=0.25).cushion
    0.0
    """

    name: str
    friction: Annotated[Any, (0.0, 2.0)]
    cushion: Annotated[Any, (0.0, 1.0)] = 0.0
    give: Annotated[Any, (0.01, 1.0)] = 0.5
    ball_height: Annotated[Any, (0.0, 0.1)] = 0.0
    speed_error: Annotated[Any, (0.0, 0.5)] = 0.0
    face_error: Annotated[Any, (0.0, 0.3)] = 0.0
    slope_along: Annotated[Any, (-0.6, 0.6)] = 0.0
    slope_across: Annotated[Any, (-0.6, 0.6)] = 0.0
    spin_factor: Annotated[Any, (0.0, 5.0)] = 1.0


@dataclass(frozen=True, kw_only=True)
class Delivery(Checked):
    """How the club comes to the ball.

    Parameters
    ----------
    speed : float or array_like, speed of the head at impact, m/s
    attack : float or array_like, direction of the head above the ground, rad; negative is downwards
    shaft_lean : float or array_like, lean of the shaft towards the target at impact, rad; takes loft off
    face_opening : float or array_like
        Turn of the face about the shaft, rad; positive is open, to the right of a right-handed player.
    edge_aim : float or array_like
        How high the leading edge is meant to come to the ball: 0 at the soil, 1 where the face, the shaft upright,
        would just still touch the ball. It is the player's choice: lower is safe from thin strikes, higher from heavy.

    Examples
    --------
    >>> Delivery(speed=9.0).face_opening
    0.0
    """

    speed: Annotated[Any, (0.0, 80.0)]
    attack: Annotated[Any, (-0.8, 0.4)] = -4.0 * DEGREE
    shaft_lean: Annotated[Any, (-0.6, 0.8)] = 8.0 * DEGREE
    face_opening: Annotated[Any, (-1.2, 1.2)] = 0.0
    edge_aim: Annotated[Any, (-2.0, 2.0)] = 0.55


@dataclass(frozen=True)
class Launch(Checked):
    """How the ball leaves the club.

    Raises a ValueError if a scalar is out of range. Arrays are not refused for one element: its shot carries a status.

    Parameters
    ----------
    speed, angle : float or array_like, m/s; above the horizontal, rad
    backspin : float or array_like, about the horizontal axis square to the launch, rad/s, positive backwards
    direction : float or array_like, anticlockwise from the line of play, rad: positive starts left
    sidespin : float or array_like, spin about the vertical, rad/s; positive curves left
    """

    speed: Annotated[ArrayLike, (0.0, 120.0)]
    angle: Annotated[ArrayLike, (-math.pi / 2, math.pi / 2)]
    backspin: Annotated[ArrayLike, (-3000.0, 3000.0)]
    direction: Annotated[ArrayLike, (-2 * math.pi, 2 * math.pi)] = 0.0
    sidespin: Annotated[ArrayLike, (-3000.0, 3000.0)] = 0.0

    @property
    def shape(self) -> tuple[int, ...]:
        """Shape that the fields broadcast to.

        >>> Launch(np.ones(3), 0.5, 300.0).shape
        (3,)
        """
        return np.broadcast_shapes(*(np.shape(item) for item in vars(self).values()))


@dataclass(frozen=True, kw_only=True)
class Player:
    """A player: one delivery kept for every club, and how it errs.

    Parameters
    ----------
    name, delivery : str and Delivery, what to call her; a plan changes the speed of her delivery from shot to shot
    errors, by_club : StrikeErrors and mapping of str to StrikeErrors
        Of her strikes around the one meant, and where a club's errors are known to differ, that club's own.
    """

    name: str
    delivery: Delivery
    errors: StrikeErrors = TOUR_ERRORS
    by_club: Mapping[str, StrikeErrors] = field(default_factory=dict, hash=False)

    def errors_with(self, club: str) -> StrikeErrors:
        """Return the errors of strikes with a club: its own where it has them, the player's otherwise.

        >>> Player(name="steady", delivery=Delivery(speed=8.0)).errors_with("sand wedge") == TOUR_ERRORS
        True
        """
        return self.by_club.get(club, self.errors)


_CLUBS = (
    Club(name="8-iron", loft=38.0 * DEGREE, bounce=5.0 * DEGREE, head_mass=0.276, sole_width=0.019),
    Club(name="9-iron", loft=42.0 * DEGREE, bounce=6.0 * DEGREE, head_mass=0.283, sole_width=0.020),
    Club(name="pitching wedge", loft=46.0 * DEGREE, bounce=7.0 * DEGREE, head_mass=0.290, sole_width=0.020),
    Club(name="gap wedge", loft=50.0 * DEGREE, bounce=9.0 * DEGREE, head_mass=0.296, sole_width=0.021),
    Club(name="sand wedge", loft=55.0 * DEGREE, bounce=11.0 * DEGREE, head_mass=0.302, sole_width=0.023),
    Club(name="lob wedge", loft=60.0 * DEGREE, bounce=8.0 * DEGREE, head_mass=0.304, sole_width=0.022),
)
BAG: Mapping[str, Club] = MappingProxyType({club.name: club for club in _CLUBS})
"""Clubs for chipping. Lofts, bounces, masses and widths are common practice of the trade, no source."""

SEVEN_IRON = Club(name="7-iron", loft=34.0 * DEGREE, bounce=4.0 * DEGREE, head_mass=0.269, sole_width=0.019)
"""For those who chip with it (common practice, no source); planned with where sheets name it."""

STAMPED = re.compile(
    r"(?:[agsl]w )?(4[4-9]|5\d|6[0-6])(?:[ -]?(?:°|º|deg|degs|degrees?))?(?:[ -]?(?:wedge|[agsl]w))?", re.IGNORECASE
)
"""How the loft of a wedge is written on it, or said, with its letters or without."""


def named_by_loft(name: str) -> str:
    """Return the usual form of the name of a wedge that is called by its loft; empty if `name` is none.

    >>> named_by_loft("GW 52°"), named_by_loft("60 deg"), named_by_loft("my chipper")
    ('52-degree wedge', '60-degree wedge', '')
    """
    loft = STAMPED.fullmatch(name.strip())
    return f"{loft[1]}-degree wedge" if loft else ""


def bag_with(names: Iterable[str], bag: Mapping[str, Club] = BAG) -> Mapping[str, Club]:
    """Return a bag that has those of `names` that are not in it and yet known: wedges by their loft, and the 7-iron.

    But for its loft such a wedge is as the club of `BAG` nearest to it.

    >>> list(bag_with(["7-iron", "pitching wedge", "52-degree wedge"]))
    ['7-iron', '8-iron', '9-iron', 'pitching wedge', 'gap wedge', '52-degree wedge', 'sand wedge', 'lob wedge']
    """
    new = sorted(set(names) - set(bag))
    lofts = {name: _loft_of(name) for name in new if named_by_loft(name)}
    found = {name: replace(_like(loft), name=name, loft=loft) for name, loft in lofts.items()}
    if SEVEN_IRON.name in new:
        found[SEVEN_IRON.name] = SEVEN_IRON
    return dict(sorted({**bag, **found}.items(), key=lambda item: item[1].loft)) if found else bag


def carried(bag: Iterable[str], named: Iterable[str]) -> list[str]:
    """Return the clubs of a bag without those that are another's under another name.

    Whoever calls a wedge by its loft has no club of `BAG` within three degrees of it beside it, unless she has `named`
    that as well.

    >>> carried(["pitching wedge", "gap wedge", "52-degree wedge", "sand wedge"], ["52-degree wedge"])
    ['pitching wedge', '52-degree wedge', 'sand wedge']
    """
    bag = list(bag)
    likes = {name: _like(_loft_of(name)) for name in bag if named_by_loft(name)}
    same = {like.name for name, like in likes.items() if abs(like.loft - _loft_of(name)) < 3.1 * DEGREE} - set(named)
    return [name for name in bag if name not in same]


def _loft_of(name: str) -> float:
    return float(named_by_loft(name)[:2]) * DEGREE


def _like(loft: float) -> Club:
    return min(BAG.values(), key=lambda club: abs(club.loft - loft))


def _uneven(name: str, face_error_deg: float, **fields: float) -> Lie:
    return Lie(name=name, face_error=face_error_deg * DEGREE, **fields)


_LIES = (
    Lie(name="tight", friction=0.40, give=0.35),
    Lie(name="fairway", friction=0.35, give=0.5, ball_height=0.003),
    Lie(name="bare", friction=0.38, give=0.15),
    _uneven("wet", 0.9, friction=0.20, give=0.85, ball_height=0.002, speed_error=0.02),
    _uneven("light rough", 0.9, friction=0.20, cushion=0.05, give=0.6, ball_height=0.008, speed_error=0.035),
    _uneven("rough", 1.55, friction=0.185, cushion=0.12, give=0.6, ball_height=0.012, speed_error=0.070),
)
LIES: Mapping[str, Lie] = MappingProxyType({lie.name: lie for lie in _LIES})
"""Lies from clean to grassy. Friction near 0.2 for wet or grassy contact is derived from second-hand tests in which
spin falls by a third or more. Ball height: what mown grass holds a ball up by, a few millimetres on a fairway, a
centimetre in rough. Give: soft after rain, hard when bare. In the wet the water between differs from strike to strike,
as an error of the face would. Unevenness of rough is set so that a tour pays from it what it does (Broadie 2014, from
memory: 0.16 to 0.21 strokes); half of it for light rough. All else judged, practice."""

PUTTER = Club(name="putter", loft=3.5 * DEGREE, bounce=0.0, head_mass=0.350, sole_width=0.025, lie_angle=70.0 * DEGREE)
"""A putter, for rolling the ball from off the green (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Option(Checked):
    """One way to play a chip: what it changes in the player's usual swing.

    Parameters
    ----------
    name : str, in plain words
    lean, attack : float or array_like, added to the shaft's lean and to the angle of attack, rad
    opening : float or array_like
        Turn of the face about the shaft, rad, positive open. What it does to loft, bounce and start line follows from
        the geometry of the strike; she aims to the left of the line by as much as the ball starts to the right.
    wider : float or array_like, factor on her usual errors
    putts : bool, whether the putter is taken; otherwise any club of the bag

    Examples
    --------
    >>> usual = Delivery(speed=8.0)
    >>> OPTIONS["hands level"].delivery(usual).shaft_lean < usual.shaft_lean
    True
    """

    name: str
    lean: Annotated[Any, (-0.5, 0.5)] = 0.0
    attack: Annotated[Any, (-0.3, 0.3)] = 0.0
    opening: Annotated[Any, (-0.5, 1.2)] = 0.0
    wider: Annotated[Any, (0.1, 5.0)] = 1.0
    putts: bool = False

    def delivery(self, usual: Delivery) -> Delivery:
        """Return the swing of this option: the usual one with lean, attack and opening changed."""
        lean, attack, opening = usual.shaft_lean + self.lean, usual.attack + self.attack, self.opening
        return replace(usual, shaft_lean=lean, attack=attack, face_opening=usual.face_opening + opening)

    def errors(self, usual: StrikeErrors) -> StrikeErrors:
        """Return the errors of this option: those of the usual swing times `wider`."""
        return replace(usual, **{name: getattr(usual, name) * self.wider for name in ERROR_KINDS})


_PLAYED = (
    Option(name="usual"),
    Option(name="hands level", lean=-6.0 * DEGREE, attack=1.5 * DEGREE, wider=1.1),
    Option(name="face opened 20 degrees", lean=-6.0 * DEGREE, attack=DEGREE, opening=20.0 * DEGREE, wider=1.15),
    Option(name="putter", lean=-8.0 * DEGREE, attack=4.5 * DEGREE, wider=0.65, putts=True),
)
OPTIONS: Mapping[str, Option] = MappingProxyType({option.name: option for option in _PLAYED})
"""What can be played. Changes and widths are common practice, no source: a swing that is played less often errs more,
a putter less (a tour putts with 1.0 deg and 8 % of distance, so 4 % of speed, against 1.6 deg and 5.4 % here)."""

OPTION_ERRORS, OPTION_LEAN = 0.45, 4.0 * DEGREE
"""How far a player's options depart from that: spread of the logarithm of the factor on her errors, and of the lean in
rad (judged, no source)."""


def uneven(lie: Lie, factor: Any) -> Lie:
    """Return a lie that adds so many times as much to the errors, within what a lie can add."""
    added = {"speed_error": 0.4, "face_error": 0.25}
    own = {name: np.minimum(factor * getattr(lie, name), most) for name, most in added.items() if getattr(lie, name)}
    return replace(lie, **own)


def departing(option: Option, log_wider: Any, lean: Any) -> Option:
    """Return an option with draws of the logarithm of its factor on the errors and of what comes to its lean.

    How a putter leans is part of the putter.
    """
    own = option.lean if option.putts else np.clip(option.lean + lean, -0.5, 0.5)
    return replace(option, lean=own, wider=np.exp(np.clip(log_wider, -2.0, 1.6)))


TOUR_PLAYER = Player(name="tour player", delivery=Delivery(speed=8.0), errors=TOUR_ERRORS)
"""A player of tour level: she needs the strokes from fairway and rough that a tour needs (see `TOUR_ERRORS`). She leans
the shaft by 8 deg (practice: chips deliver 5 to 12 deg less than static loft) and comes 4 deg down."""

CLUB_PLAYER = Player(name="club player", delivery=Delivery(speed=8.0, edge_aim=0.5), errors=CLUB_ERRORS)
"""A player of club level, judged (practice): errors 1.6 to 1.8 times a tour's, aimed a little lower, away from
the thin."""

Level = Literal["tour", "club"]
LEVELS: Mapping[str, Player] = MappingProxyType({"tour": TOUR_PLAYER, "club": CLUB_PLAYER})
"""The reference players, by level."""
