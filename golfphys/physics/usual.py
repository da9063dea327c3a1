"""What is usual: players by level and their options at the ball, and the priors of all that was not measured.

Levels are named, no persons. A player who was never measured is taken to be one of these, as uncertain as players of a
level differ.
"""

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Annotated, Any, Literal

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import Checked
from golfphys.physics.club import CLUB_ERRORS, KINDS, TOUR_ERRORS, Club, Delivery, Lie, Player, StrikeErrors
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf

PUTTER = Club(
    name="putter", loft=math.radians(3.5), bounce=0.0, head_mass=0.350, sole_width=0.025, lie_angle=math.radians(70.0)
)
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
        return replace(usual, **{name: getattr(usual, name) * self.wider for name in KINDS})


def _option(name: str, lean_deg: float, attack_deg: float, opening_deg: float, wider: float) -> Option:
    lean, attack, opening = (math.radians(angle) for angle in (lean_deg, attack_deg, opening_deg))
    return Option(name=name, lean=lean, attack=attack, opening=opening, wider=wider, putts=name == "putter")


_PLAYED = (
    _option("usual", 0.0, 0.0, 0.0, wider=1.0),
    _option("hands level", -6.0, 1.5, 0.0, wider=1.1),
    _option("face opened 20 degrees", -6.0, 1.0, 20.0, wider=1.15),
    _option("putter", -8.0, 4.5, 0.0, wider=0.65),
)
OPTIONS: Mapping[str, Option] = MappingProxyType({option.name: option for option in _PLAYED})
"""What can be played. Changes and widths are common practice, no source: a swing that is played less often errs more,
a putter less (a tour putts with 1.0 deg and 8 % of distance, so 4 % of speed, against 1.6 deg and 5.4 % here)."""

OPTION_ERRORS, OPTION_LEAN = 0.45, math.radians(4.0)
"""How far a player's options depart from that: spread of the logarithm of the factor on her errors, and of the lean in
rad (judged, no source)."""


def departing(option: Option, log_wider: Any, lean: Any) -> Option:
    """Return an option with draws of the logarithm of its factor on the errors and of what comes to its lean.

    How a putter leans is part of the putter.
    """
    own = option.lean if option.putts else np.clip(option.lean + lean, -0.5, 0.5)
    return replace(option, lean=own, wider=np.exp(np.clip(log_wider, -2.0, 1.6)))


TOUR_PLAYER = Player(name="tour player", delivery=Delivery(speed=8.0), errors=TOUR_ERRORS)
"""A player of tour level: she takes from fairway and rough what a tour takes (see `golfphys.physics.club`). She leans
the shaft by 8 deg (practice: chips deliver 5 to 12 deg less than static loft) and comes 4 deg down."""

CLUB_PLAYER = Player(name="club player", delivery=Delivery(speed=8.0, edge_aim=0.5), errors=CLUB_ERRORS)
"""A player of club level, judged (practice): errors near twice a tour's, aimed a little lower, away from the thin."""

Level = Literal["tour", "club"]
LEVELS: Mapping[str, Player] = MappingProxyType({"tour": TOUR_PLAYER, "club": CLUB_PLAYER})
"""The reference players, by level."""

Floats = NDArray[np.float64]

LOCAL_SLOPE = math.radians(1.0)
"""Standard deviation of the slope that a ball meets at one landing (judged, no source), rise over run."""


@dataclass(frozen=True, kw_only=True)
class Grass:
    """Ground beside the green: how it resists a roll and takes a landing.

    Parameters
    ----------
    resistance, turf : Resistance; Turf or LinearTurf, whose numbers may be arrays of shape (n,)

    Examples
    --------
    >>> Grass(resistance=Resistance(constant=0.25), turf=Turf()).resistance.constant
    0.25
    """

    resistance: Resistance
    turf: Turf | LinearTurf


class Normals(Iterator[Floats]):
    """Columns of standard normal numbers, as evenly spread as Sobol's sequence makes them."""

    COLUMNS = 160

    def __init__(self, n: int, seed: int | np.random.Generator) -> None:
        from scipy.stats import norm, qmc

        self.n = n
        points = qmc.Sobol(d=self.COLUMNS, rng=np.random.default_rng(seed)).random(1 << (n - 1).bit_length())[:n]
        self._columns = iter(np.asarray(norm.ppf(np.clip(points, 1e-6, 1 - 1e-6))).T)

    def __next__(self) -> Floats:
        return np.ascontiguousarray(next(self._columns))


def _positive(normal: Iterator[Floats], median: float, spread: float, most: float = math.inf) -> Floats:
    """Draw a positive value by its median and the standard deviation of its logarithm."""
    return np.minimum(median * np.exp(spread * next(normal)), most)


DEPARTURES = {"kept_by_angle": 0.4, "kept_by_speed": 0.25}
"""How far what a landing keeps may depart from a law of the bounce: standard deviations about none (judged)."""

PATCHINESS = (0.04, 0.9)
"""Patchiness of a green's turf: median, and spread of its logarithm (judged, no source)."""
SPIN_SPREAD = 0.2
"""Spread of the logarithm of what a lie makes of the spin of a rigid impact (judged, no source)."""


def _either(normal: Iterator[Floats]) -> dict[str, Floats]:
    """Draw what turf has under either law, and what laws of the bounce miss at a landing."""
    found = {
        "friction": _positive(normal, constants.TURF_FRICTION.value, 0.35),
        "skid_friction": _positive(normal, constants.TURF_FRICTION.value, 0.35),
        "hop_loss": _positive(normal, constants.TURF_HOP_LOSS.value, 0.4, 0.1),
    }
    found |= {name: spread * next(normal) for name, spread in DEPARTURES.items()}
    return found | {"patchiness": _positive(normal, *PATCHINESS, 1.0)}


def drawn_turf(normal: Iterator[Floats]) -> Turf:
    """Draw a green's turf from its prior (Penner 2002, wide; friction as Haake's greens need; the rest judged)."""
    level, slope = constants.TURF_RESTITUTION.value, constants.TURF_RESTITUTION_LINEAR.value
    return Turf(
        restitution=np.clip(level + 0.07 * next(normal), 0.05, 1.0),
        restitution_linear=slope + 0.012 * next(normal),
        tilt=_positive(normal, constants.TURF_TILT.value, 0.5, 0.8),
        dent_speed=_positive(normal, constants.TURF_DENT_SPEED.value, 0.35),
        **_either(normal),
    )


def drawn_linear_turf(normal: Iterator[Floats]) -> LinearTurf:
    """Draw a green's turf under the linear law from its prior: a rigid contact that grips, wide."""
    return LinearTurf(
        restitution=np.clip(0.35 + 0.08 * next(normal), 0.0, 1.0),
        forward_lift=np.clip(0.03 + 0.03 * next(normal), 0.0, 1.0),
        speed_kept=5 / 7 + 0.12 * next(normal),
        speed_from_spin=2 / 7 + 0.10 * next(normal),
        spin_from_speed=5 / 7 + 0.15 * next(normal),
        spin_kept=2 / 7 + 0.15 * next(normal),
        **_either(normal),
    )


def drawn_player(normal: Iterator[Floats], level: Level) -> Player:
    """Draw a player about the reference player of a level."""
    centre = LEVELS[level]
    delivery = replace(
        centre.delivery,
        attack=np.asarray(centre.delivery.attack) + math.radians(2.0) * next(normal),
        shaft_lean=np.asarray(centre.delivery.shaft_lean) + math.radians(3.0) * next(normal),
    )
    names = [item.name for item in fields(StrikeErrors) if "growth" not in item.name]
    drawn = {name: _positive(normal, getattr(centre.errors, name), 0.3) for name in names}
    errors = replace(centre.errors, **drawn)
    return replace(centre, name=f"a {level}-level player", delivery=delivery, errors=errors, by_club={})


def drawn_options(normal: Iterator[Floats]) -> dict[str, Option]:
    """Draw how a player has her options who was never seen to play them; her usual swing is hers."""
    return {
        name: option
        if name == "usual"
        else departing(option, math.log(option.wider) + OPTION_ERRORS * next(normal), OPTION_LEAN * next(normal))
        for name, option in OPTIONS.items()
    }


UNEVENNESS_SPREAD = 0.5
"""Spread of the logarithm of what uneven lies (rough, wet) add to the errors, over what such do (judged, no source)."""


def drawn_lie(normal: Iterator[Floats], lie: Lie) -> Lie:
    """Draw a lie about what its name says: friction, cushion, give, height of the ball."""
    return replace(
        lie,
        friction=_positive(normal, lie.friction, 0.3, 2.0),
        cushion=_positive(normal, lie.cushion, 0.5, 0.9),
        give=_positive(normal, lie.give, 0.3, 1.0),
        ball_height=_positive(normal, lie.ball_height, 0.3, 0.1),
        spin_factor=_positive(normal, lie.spin_factor, SPIN_SPREAD, 5.0),
    )


def uneven(lie: Lie, factor: Any) -> Lie:
    """Return a lie that adds so many times as much to the errors, within what a lie can add."""
    added = {"speed_error": 0.4, "face_error": 0.25}
    own = {name: np.minimum(factor * getattr(lie, name), most) for name, most in added.items() if getattr(lie, name)}
    return replace(lie, **own)


def drawn_club(normal: Iterator[Floats], club: Club) -> Club:
    """Draw a club's true loft about the one it is taken to have (practice: makers differ by a degree)."""
    return replace(club, loft=np.clip(club.loft + math.radians(1.0) * next(normal), 0.0, 1.4))


def drawn_green(normal: Iterator[Floats]) -> Green:
    """Draw a green of which nothing is known: medians of greens by grass run from 7 to 11 ft (Woods 2017, read)."""
    feet = _positive(normal, 9.5, 0.15)
    level = [Green.from_stimp(roll).resistance.constant for roll in feet]
    uphill, across = 0.012 * next(normal), 0.012 * next(normal)
    return Green(
        resistance=Resistance(constant=np.array(level)),
        grade=np.hypot(uphill, across),
        fall_direction=np.arctan2(across, uphill),
    )


@dataclass(frozen=True)
class Kind:
    """What one kind of ground around a green is like beside it, with its spread; all judged, no source.

    Median of the rolling resistance (`resistance`), and standard deviation of its logarithm; median factors on the
    green's `restitution` and `tilt` (softer ground gives less back and dents more), and standard deviation of the
    logarithm of both; height in m that the grass takes from each hop (`hop_loss`).
    """

    resistance: float
    resistance_spread: float
    restitution: float
    tilt: float
    softness_spread: float
    hop_loss: float

    def medians(self, turf: Turf | LinearTurf) -> Grass:
        """Return this ground beside a green of that turf."""
        return self._beside(turf, self.resistance, 1.0, self.hop_loss)

    def drawn(self, normal: Iterator[Floats], turf: Turf | LinearTurf) -> Grass:
        """Draw this ground beside a green of that turf: resistance, softness, grass."""
        resistance = _positive(normal, self.resistance, self.resistance_spread, 2.0)
        softer = np.exp(self.softness_spread * next(normal))
        return self._beside(turf, resistance, softer, _positive(normal, self.hop_loss, 0.4, 0.1))

    def _beside(self, turf: Turf | LinearTurf, resistance: Any, softer: Any, hop_loss: Any) -> Grass:
        restitution = np.clip(np.asarray(turf.restitution) * self.restitution / softer, 0.0, 1.0)
        soft = replace(turf, restitution=restitution, hop_loss=hop_loss)
        if isinstance(soft, Turf):
            soft = replace(soft, tilt=np.minimum(np.asarray(soft.tilt) * self.tilt * softer, 0.8))
        return Grass(resistance=Resistance(constant=resistance), turf=soft)


AROUND: Mapping[str, Kind] = MappingProxyType(
    {  # resistance and its spread; factors on restitution and tilt, and their spread; hop loss
        "collar": Kind(0.14, 0.25, 0.93, 1.10, 0.10, 0.005),
        "fringe": Kind(0.25, 0.30, 0.70, 1.50, 0.30, 0.012),
        "fairway": Kind(0.30, 0.30, 0.68, 1.55, 0.30, 0.014),
        "rough": Kind(0.90, 0.40, 0.50, 1.60, 0.25, 0.030),
    }
)
"""Grounds around a green: softer than it, slower and uncertain (judged, no source; measure the fringe to do better)."""
