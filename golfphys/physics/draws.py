"""Draws of everything that a shot depends on, aligned: element i of every array belongs to draw i.

The one form in which uncertainty travels from a fit to a plan. What was not measured is drawn from its prior, always,
and `Logged` says what was measured, so that an answer can name the rest.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, field, fields, is_dataclass, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas.rolling import resistance_from_distance
from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Club, Lie, Player
from golfphys.physics.errors import StrikeErrors
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.physics.players import CLUB_PLAYER, TOUR_PLAYER

Floats = NDArray[np.float64]
Whole = NDArray[np.int_]
Level = Literal["tour", "club"]

LEVELS: Mapping[str, Player] = MappingProxyType({"tour": TOUR_PLAYER, "club": CLUB_PLAYER})
"""The reference players, by level."""

LOCAL_SLOPE = math.radians(1.0)
"""Standard deviation of the slope that a ball meets at one landing (judged, no source), rise over run."""


@dataclass(frozen=True, kw_only=True)
class Grass:
    """Ground beside the green: how it resists a roll and takes a landing.

    Parameters
    ----------
    resistance : Resistance
        Rolling resistance; numbers or arrays of shape (n,).
    turf : Turf or LinearTurf
        How it takes a landing.

    Examples
    --------
    >>> Grass(resistance=Resistance(constant=0.25), turf=Turf()).resistance.constant
    0.25
    """

    resistance: Resistance
    turf: Turf | LinearTurf


@dataclass(frozen=True, kw_only=True)
class Logged:
    """What was measured, so that an answer can say what lies beyond it.

    Parameters
    ----------
    rolls, drops, chips, films : int
        Number of each that was used.
    spots : tuple of str
        Spots with rolls.
    grounds : tuple of str
        Names among the draws' `around` that were measured.
    clubs, lies, options : mapping of str to int
        Number of chips with each.
    landing : (float, float) or None
        Shortest and longest landing distance of the chips, m.
    headings : tuple of float
        Headings of the chips' lines from the line of play, rad anticlockwise.
    level : str
        Whose level the prior of the player is; "" for a player stated outright.
    stated : tuple of str
        What was stated as known, without a measurement: among "green", "turf", "player", "lie".

    Examples
    --------
    >>> Logged(rolls=16, spots=("home-left",)).chips
    0
    """

    rolls: int = 0
    drops: int = 0
    chips: int = 0
    films: int = 0
    spots: tuple[str, ...] = ()
    grounds: tuple[str, ...] = ()
    clubs: Mapping[str, int] = field(default_factory=dict)
    lies: Mapping[str, int] = field(default_factory=dict)
    options: Mapping[str, int] = field(default_factory=dict)
    landing: tuple[float, float] | None = None
    headings: tuple[float, ...] = ()
    level: str = ""
    stated: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Draws:
    """Draws of green, player, lies, clubs and air that belong together.

    Every number in it may be an array of shape (n,); what is a plain number is the same in all draws.

    Parameters
    ----------
    green : Green
        With x along the line from ball to pin.
    player : Player
        Delivery and errors.
    lies : mapping of str to Lie
        By name.
    bag : mapping of str to Club
        By name, with their true lofts.
    aerodynamics : Aerodynamics
        Its scales may be arrays.
    around : mapping of str to Grass
        What lies around the green, by name: collar, fringe, fairway, rough.
    logged : Logged
        What was measured.
    other_turf : Turf, LinearTurf or None
        Turf of the other law of the bounce, where the measurements do not tell the law.
    other : ndarray of bool
        Which draws take `other_turf`.
    local_slope : float or ndarray
        Standard deviation of the slope that a ball meets at one landing, rise over run.

    Raises
    ------
    ValueError
        If arrays differ in length or hold a value that is not finite.

    Examples
    --------
    >>> draws = assumed(Green.from_stimp(10.0), n=32)
    >>> len(draws), len(draws.few(8)), len(draws.median())
    (32, 8, 1)
    """

    green: Green
    player: Player
    lies: Mapping[str, Lie]
    bag: Mapping[str, Club]
    aerodynamics: Aerodynamics = field(default_factory=Aerodynamics)
    around: Mapping[str, Grass] = field(default_factory=dict)
    logged: Logged = field(default_factory=Logged)
    other_turf: Turf | LinearTurf | None = None
    other: ArrayLike = False
    local_slope: ArrayLike = 0.0

    def __post_init__(self) -> None:
        """Check lengths and values."""
        found = dict(_arrays(self, ""))
        lengths = {name: values.size for name, values in found.items()}
        if len(set(lengths.values())) > 1:
            raise ValueError(f"Draws holds arrays of different length: {lengths}; expected one value for each draw")
        wrong = [name for name, values in found.items() if not np.isfinite(values.astype(float)).all()]
        if wrong:
            raise ValueError(f"Draws has values that are not finite in {', '.join(wrong)}")

    @cached_property
    def _size(self) -> int:
        return max((values.size for _, values in _arrays(self, "")), default=1)

    def __len__(self) -> int:
        """Return the number of draws."""
        return self._size

    def at(self, each: Whole) -> "Draws":
        """Return the draws that `each` names, in that order; repeated as often as named."""
        size = len(self)
        picked: Draws = _mapped(self, lambda values: values[each] if values.size == size else values)
        return picked

    def one(self, number: int) -> "Draws":
        """Return one of the draws, of plain numbers."""
        single: Draws = _mapped(self, lambda values: values[number].item())
        return single

    def column(self, dimensions: int) -> "Draws":
        """Return the same draws along the first of some dimensions, to broadcast against arrays of shape (n, ...)."""
        shape = (-1, *(1,) * (dimensions - 1))
        standing: Draws = _mapped(self, lambda values: values.reshape(shape))
        return standing

    def few(self, n: int) -> "Draws":
        """Return `n` of the draws, evenly spaced; all if there are no more."""
        size = len(self)
        return self if size <= n else self.at(np.linspace(0, size - 1, n).round().astype(int))

    def median(self) -> "Draws":
        """Return one draw of the medians; slope and grain are averaged as vectors."""
        certain = replace(self, other=False, other_turf=None)
        middle: Draws = _mapped(certain, lambda values: float(np.median(values)))
        green = self.green
        grade, fall = _mean_vector(green.grade, green.fall_direction)
        grain, leaning = _mean_vector(green.resistance.grain, green.resistance.grain_direction)
        resistance = replace(middle.green.resistance, grain=grain, grain_direction=leaning)
        plane = replace(middle.green, resistance=resistance, grade=grade, fall_direction=fall)
        return replace(middle, green=plane)

    def turned(self, angle: float) -> "Draws":
        """Return the same draws seen along a line of play turned by `angle` rad anticlockwise."""
        headings = tuple(heading - angle for heading in self.logged.headings)
        return replace(self, green=self.green.turned(angle), logged=replace(self.logged, headings=headings))


def _mapped(thing: Any, change: Callable[[NDArray[Any]], Any]) -> Any:
    """Return a thing with `change` applied to every array inside it."""
    if isinstance(thing, np.ndarray):
        return change(thing) if thing.ndim else thing
    if isinstance(thing, Mapping):
        return {name: _mapped(item, change) for name, item in thing.items()}
    if is_dataclass(thing) and not isinstance(thing, type):
        names = [item.name for item in fields(thing) if item.init]
        changed = {name: _mapped(getattr(thing, name), change) for name in names}
        if all(changed[name] is getattr(thing, name) for name in names):
            return thing
        return replace(thing, **changed)
    return thing


def _arrays(thing: Any, path: str) -> Iterator[tuple[str, NDArray[Any]]]:
    """Yield every array inside a thing with where it stands."""
    if isinstance(thing, np.ndarray):
        if thing.ndim:
            yield path, thing
    elif isinstance(thing, Mapping):
        for name, item in thing.items():
            yield from _arrays(item, f"{path} {name}".strip())
    elif is_dataclass(thing):
        for item in fields(thing):
            yield from _arrays(getattr(thing, item.name), f"{path} {item.name}".strip())


def _mean_vector(size: Any, direction: Any) -> tuple[float, float]:
    along, across = float(np.mean(size * np.cos(direction))), float(np.mean(size * np.sin(direction)))
    return math.hypot(along, across), math.atan2(across, along)


def stated(
    green: Green,
    *,
    player: Player = DEFAULT_PLAYER,
    lies: Mapping[str, Lie] = LIES,
    bag: Mapping[str, Club] = BAG,
    around: Mapping[str, Grass] | None = None,
    local_slope: float = 0.0,
) -> Draws:
    """Return one draw in which everything is taken as exactly known: for what-ifs and teaching, not for a decision.

    Parameters
    ----------
    green : Green
        As stated.
    player : Player
        As stated.
    lies : mapping of str to Lie
        By name.
    bag : mapping of str to Club
        By name.
    around : mapping of str to Grass, optional
        What lies around the green; the medians of `assumed` if left out.
    local_slope : float
        Standard deviation of the slope at one landing.

    Returns
    -------
    Draws
        One draw, `Logged.stated` naming green, turf, player and lie.

    Examples
    --------
    >>> len(stated(Green.from_stimp(10.0)))
    1
    """
    surroundings = around if around is not None else {name: kind.medians(green.turf) for name, kind in AROUND.items()}
    return Draws(
        green=green,
        player=player,
        lies=lies,
        bag=bag,
        around=surroundings,
        logged=Logged(stated=("green", "turf", "player", "lie")),
        local_slope=local_slope,
    )


def assumed(
    green: Green | None = None,
    *,
    level: Level = "tour",
    turf: Turf | LinearTurf | None = None,
    player: Player | None = None,
    bag: Mapping[str, Club] = BAG,
    logged: Logged | None = None,
    n: int = 256,
    seed: int | np.random.Generator = 0,
) -> Draws:
    """Return draws in which everything that is not given comes from its prior.

    Parameters
    ----------
    green : Green, optional
        Speed and slope as known; drawn from what greens are like if left out. Its fields may be arrays of length `n`.
        Its turf counts as given if it is not the default one.
    level : {"tour", "club"}
        Whose level the prior of a player is who was never measured.
    turf : Turf or LinearTurf, optional
        How the green takes a landing; drawn if left out, the law of the bounce included.
    player : Player, optional
        As known; drawn about the reference player of the level if left out.
    bag : mapping of str to Club
        The clubs, with the lofts they are taken to have.
    logged : Logged, optional
        What was measured of what is given; nothing if left out.
    n : int
        Number of draws.
    seed : int or numpy.random.Generator
        The same seed gives the same draws.

    Returns
    -------
    Draws
        Of length `n`.

    Raises
    ------
    ValueError
        If the level is not known or `n` is below 1.

    Examples
    --------
    >>> draws = assumed(Green.from_stimp(10.0), level="club", n=16)
    >>> draws.green.resistance.constant == Green.from_stimp(10.0).resistance.constant, draws.logged.level
    (True, 'club')
    """
    if level not in LEVELS:
        raise ValueError(f"level is {level!r}; expected one of {', '.join(LEVELS)}")
    if n < 1:
        raise ValueError(f"n is {n!r}; expected at least 1 draw")
    normal = _Normals(n, seed)
    known = {"green": green is not None, "player": player is not None}
    given = turf if turf is not None else green.turf if green is not None and green.turf != Turf() else None
    known["turf"] = given is not None
    rigid, linear = drawn_turf(normal), drawn_linear_turf(normal)
    ground = replace(green if green is not None else _drawn_green(normal), turf=given if given is not None else rigid)
    made = logged or Logged(stated=tuple(name for name, told in known.items() if told))
    return Draws(
        green=ground,
        player=player if player is not None else drawn_player(normal, level),
        lies={name: drawn_lie(normal, lie) for name, lie in LIES.items()},
        bag={name: drawn_club(normal, club) for name, club in bag.items()},
        aerodynamics=Aerodynamics(drag_scale=np.exp(0.10 * next(normal)), lift_scale=1.0 + 0.5 * next(normal)),
        around={name: kind.drawn(normal, rigid) for name, kind in AROUND.items()},
        logged=replace(made, level="" if player is not None else level),
        other_turf=None if given is not None else linear,
        other=False if given is not None else next(normal) > 0.0,
        local_slope=LOCAL_SLOPE * np.exp(0.4 * next(normal)),
    )


class _Normals(Iterator[Floats]):
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


def drawn_turf(normal: Iterator[Floats]) -> Turf:
    """Draw a green's turf from its prior (Penner 2002, wide; friction as Haake's greens need; the rest judged)."""
    level, slope = constants.TURF_RESTITUTION.value, constants.TURF_RESTITUTION_LINEAR.value
    return Turf(
        restitution=np.clip(level + 0.07 * next(normal), 0.05, 1.0),
        restitution_linear=slope + 0.012 * next(normal),
        tilt=_positive(normal, constants.TURF_TILT.value, 0.25, 0.8),
        dent_speed=_positive(normal, constants.TURF_DENT_SPEED.value, 0.35),
        friction=_positive(normal, constants.TURF_FRICTION.value, 0.35),
        skid_friction=_positive(normal, constants.TURF_FRICTION.value, 0.35),
        hop_loss=_positive(normal, constants.TURF_HOP_LOSS.value, 0.4, 0.1),
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
        friction=_positive(normal, constants.TURF_FRICTION.value, 0.35),
        skid_friction=_positive(normal, constants.TURF_FRICTION.value, 0.35),
        hop_loss=_positive(normal, constants.TURF_HOP_LOSS.value, 0.4, 0.1),
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
    return replace(
        centre, name=f"a {level}-level player", delivery=delivery, errors=replace(centre.errors, **drawn), by_club={}
    )


def drawn_lie(normal: Iterator[Floats], lie: Lie) -> Lie:
    """Draw a lie about what its name says: friction, cushion, give, height of the ball."""
    return replace(
        lie,
        friction=_positive(normal, lie.friction, 0.3, 2.0),
        cushion=_positive(normal, lie.cushion, 0.5, 0.9),
        give=_positive(normal, lie.give, 0.3, 1.0),
        ball_height=_positive(normal, lie.ball_height, 0.3, 0.1),
    )


def drawn_club(normal: Iterator[Floats], club: Club) -> Club:
    """Draw a club's true loft about the one it is taken to have (practice: makers differ by a degree)."""
    return replace(club, loft=np.clip(club.loft + math.radians(1.0) * next(normal), 0.0, 1.4))


def _drawn_green(normal: Iterator[Floats]) -> Green:
    """Draw a green of which nothing is known: medians of greens by grass run from 7 to 11 ft (Woods 2017, read)."""
    feet = _positive(normal, 9.5, 0.15)
    level = [
        resistance_from_distance(
            roll * METRES_PER_FOOT,
            *(constants.RAMP_RELEASE_SPEED.value, 0.0, constants.GRAVITY.value, constants.BALL_INERTIA.value),
        )
        for roll in feet
    ]
    uphill, across = 0.012 * next(normal), 0.012 * next(normal)
    return Green(
        resistance=Resistance(constant=np.array(level)),
        grade=np.hypot(uphill, across),
        fall_direction=np.arctan2(across, uphill),
    )


@dataclass(frozen=True, kw_only=True)
class Kind:
    """What one kind of ground around a green is like beside it, with its spread; all judged, no source.

    Parameters
    ----------
    resistance, resistance_spread : float
        Median of the rolling resistance, and standard deviation of its logarithm.
    restitution, tilt : float
        Median factors on the green's: softer ground gives less back and dents more.
    softness_spread : float
        Standard deviation of the logarithm of both.
    hop_loss : float
        Height in m that the grass takes from each hop.
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
        return self._beside(
            turf,
            _positive(normal, self.resistance, self.resistance_spread, 2.0),
            np.exp(self.softness_spread * next(normal)),
            _positive(normal, self.hop_loss, 0.4, 0.1),
        )

    def _beside(self, turf: Turf | LinearTurf, resistance: Any, softer: Any, hop_loss: Any) -> Grass:
        restitution = np.clip(np.asarray(turf.restitution) * self.restitution / softer, 0.0, 1.0)
        if isinstance(turf, LinearTurf):
            taken = replace(turf, restitution=restitution, hop_loss=hop_loss)
            return Grass(resistance=Resistance(constant=resistance), turf=taken)
        tilt = np.minimum(np.asarray(turf.tilt) * self.tilt * softer, 0.8)
        soft = replace(turf, restitution=restitution, tilt=tilt, hop_loss=hop_loss)
        return Grass(resistance=Resistance(constant=resistance), turf=soft)


AROUND: Mapping[str, Kind] = MappingProxyType(
    {
        "collar": Kind(
            resistance=0.14,
            resistance_spread=0.25,
            restitution=0.93,
            tilt=1.10,
            softness_spread=0.10,
            hop_loss=0.005,
        ),
        "fringe": Kind(
            resistance=0.25,
            resistance_spread=0.30,
            restitution=0.70,
            tilt=1.50,
            softness_spread=0.30,
            hop_loss=0.012,
        ),
        "fairway": Kind(
            resistance=0.30,
            resistance_spread=0.30,
            restitution=0.68,
            tilt=1.55,
            softness_spread=0.30,
            hop_loss=0.014,
        ),
        "rough": Kind(
            resistance=0.90,
            resistance_spread=0.40,
            restitution=0.50,
            tilt=1.60,
            softness_spread=0.25,
            hop_loss=0.030,
        ),
    }
)
"""Grounds around a green: softer than it, slower and uncertain (judged, no source; measure the fringe to do better)."""
