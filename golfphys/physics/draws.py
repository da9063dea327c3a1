"""Draws of everything that a shot depends on, aligned: element i of every array belongs to draw i.

The one form in which uncertainty travels from a fit to a plan. What was not measured is drawn from its prior, always,
and `Logged` says what was measured, so that an answer can name the rest. The priors stand here; a player who was never
measured is taken to be of a level, as uncertain as players of that level differ.
"""

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, is_dataclass, replace
from functools import cached_property
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core.broadcasting import require_kinds
from golfphys.physics import club as usual
from golfphys.physics.club import Club, Level, Lie, Option, Player, StrikeErrors
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import AROUND, TURF_PRIORS, Grass, Green, Kind, LinearTurf, Prior, Resistance, Turf

Floats = NDArray[np.float64]
T = TypeVar("T")
PLAIN = (float, int, str, tuple, type(None))
"""What holds no arrays: looked at first, for there is much of it."""

# priors of what was not measured; all judged, no source
LOCAL_SLOPE = math.radians(1.0)  # standard deviation of the slope that a ball meets at one landing, rise over run
SPIN_SPREAD = 0.2  # of the logarithm of what a lie makes of the spin of a rigid impact
LOFT_SPREAD = math.radians(1.0)  # sd of a true loft about the one a club is taken to have (practice)
UNEVENNESS_SPREAD = 0.5  # of the logarithm of what uneven lies (rough, wet) add to the errors, over what such do


@dataclass(frozen=True, kw_only=True)
class Logged:
    """What was measured, so that an answer can say what lies beyond it.

    Parameters
    ----------
    rolls, drops, chips, films : int, number of each that was used
    level_roll : (float, float, float) or None, green speed as fitted, of the ramp, m: median, ends of 90 %
    left_out : tuple of str, which rows of the chips a fit could not use and why, a sentence for each reason
    spots, grounds : tuple of str, spots with rolls; names among the draws' `around` that were measured
    clubs, lies, options : mapping of str to int, number of chips with each
    landing : (float, float) or None, shortest and longest landing distance of the chips, m
    headings : tuple of float, headings of the chips' lines from the line of play, rad anticlockwise
    carry_habit, start_habit : mapping of (str, str) to (float, float), by club and lie; and (float, float)
        How far she lands beyond her aim, over the carry, and starts to the left of it, rad: mean and standard
        deviation. Plans say where a ball should go; she corrects for it.
    level : str, whose level the prior of the player is; "" for a player stated outright
    past : bool, whether what the player logged before, elsewhere, is in it
    players : tuple of str, whom the logs name; several were taken for one
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
    level_roll: tuple[float, float, float] | None = None
    left_out: tuple[str, ...] = ()
    spots: tuple[str, ...] = ()
    grounds: tuple[str, ...] = ()
    clubs: Mapping[str, int] = field(default_factory=dict)
    lies: Mapping[str, int] = field(default_factory=dict)
    options: Mapping[str, int] = field(default_factory=dict)
    landing: tuple[float, float] | None = None
    headings: tuple[float, ...] = ()
    carry_habit: Mapping[tuple[str, str], tuple[float, float]] = field(default_factory=dict)
    start_habit: tuple[float, float] = (0.0, 0.0)
    level: str = ""
    past: bool = False
    players: tuple[str, ...] = ()
    stated: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Draws:
    """Draws of green, player, lies, clubs and air that belong together.

    Every number in it may be an array of shape (n,); what is a plain number is the same in all draws.
    Raises a ValueError if arrays differ in length or hold a value that is not finite.

    Parameters
    ----------
    green : Green, with x along the line from ball to pin
    player : Player, delivery and errors
    lies : mapping of str to Lie, by name
    bag : mapping of str to Club, by name, with their true lofts
    aerodynamics : Aerodynamics, its scales may be arrays
    around : mapping of str to Grass, what lies around the green, by name: collar, fringe, fairway, rough
    logged : Logged, what was measured
    other_turf : Turf, LinearTurf or None, of the other law of the bounce, where the measurements do not tell the law
    other : ndarray of bool, which draws take `other_turf`
    local_slope : float or ndarray, standard deviation of the slope that a ball meets at one landing, rise over run
    options : mapping of str to Option, her ways to deliver a club, by name; as usually played of a player stated

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
    options: Mapping[str, Option] = field(default_factory=lambda: dict(usual.OPTIONS))

    def __post_init__(self) -> None:
        lengths = {name: values.size for name, values in _arrays(self)}
        if len(set(lengths.values())) > 1:
            raise ValueError(f"Draws holds arrays of different length: {lengths}; expected one value for each draw")
        wrong = [name for name, values in _arrays(self) if not np.isfinite(values).all()]
        if wrong:
            raise ValueError(f"Draws has values that are not finite in {', '.join(wrong)}")

    @cached_property
    def _size(self) -> int:
        return max((values.size for _, values in _arrays(self)), default=1)

    def __len__(self) -> int:
        return self._size

    def __repr__(self) -> str:
        """Return what was drawn, in a line: the last line of a cell is shown so."""
        clubs, lies = (", ".join(names) for names in (self.bag, self.lies))
        return f"{len(self)} draws of the green and the player, with {clubs} from {lies}"

    def at(self, each: NDArray[np.int_]) -> "Draws":
        """Return the draws that `each` names, in that order; repeated as often as named."""
        return mapped(self, lambda values: values[each] if values.size == len(self) else values)

    def one(self, number: int) -> "Draws":
        """Return one of the draws, of plain numbers."""
        return mapped(self, lambda values: values[number].item())

    def column(self, dimensions: int) -> "Draws":
        """Return the same draws along the first of some dimensions, to broadcast against arrays of shape (n, ...)."""
        return mapped(self, lambda values: values.reshape(-1, *(1,) * (dimensions - 1)))

    def few(self, n: int) -> "Draws":
        """Return `n` of the draws, evenly spaced; all if there are no more."""
        return self if len(self) <= n else self.at(np.linspace(0, len(self) - 1, n).round().astype(int))

    def median(self) -> "Draws":
        """Return one draw of the medians; slope and grain are averaged as vectors."""
        certain = replace(self, other=False, other_turf=None)
        middle, law = mapped(certain, lambda values: float(np.median(values))), self.green.resistance
        grade, fall = _mean_vector(self.green.grade, self.green.fall_direction)
        grain, leaning = _mean_vector(law.grain, law.grain_direction)
        law = replace(middle.green.resistance, grain=grain, grain_direction=leaning)
        return replace(middle, green=replace(middle.green, resistance=law, grade=grade, fall_direction=fall))

    def mixed(self, other: "Draws", which: NDArray[np.bool_]) -> "Draws":
        """Return the same draws, with those of `other`, by the other law of the bounce, where `which` is true, (n,).

        >>> one, two = (assumed(turf=turf, n=4) for turf in (Turf(), LinearTurf()))
        >>> both = one.mixed(two, np.array([True, False, False, True]))
        >>> type(both.green.turf).__name__, type(both.other_turf).__name__, both.other.tolist()
        ('Turf', 'LinearTurf', [True, False, False, True])
        """
        # what was logged, and the ground around the green, are told by no law of the green's bounce
        laws: dict[str, Any] = {"other_turf": other.green.turf, "other": which}
        same: dict[str, Any] = {"logged": self.logged, "around": self.around, **laws}
        theirs = replace(other, green=replace(other.green, turf=self.green.turf), **same)
        return mapped(replace(self, **laws), lambda mine, its: np.where(which, its, mine), theirs)

    def turned(self, angle: float) -> "Draws":
        """Return the same draws seen along a line of play turned by `angle` rad anticlockwise."""
        headings = tuple(heading - angle for heading in self.logged.headings)
        return replace(self, green=self.green.turned(angle), logged=replace(self.logged, headings=headings))


def mapped(thing: T, change: Callable[..., Any], *beside: T) -> T:
    """Return a thing with `change` applied to every array inside it, and to those in the same place of others."""
    found: Any = thing
    if isinstance(thing, PLAIN):
        return thing
    if isinstance(thing, np.ndarray):
        found = change(thing, *beside) if thing.ndim else thing
    elif isinstance(thing, Mapping):
        others: Any = beside
        found = {name: mapped(item, change, *(one[name] for one in others)) for name, item in thing.items()}
    elif is_dataclass(thing) and not isinstance(thing, type):
        names = [item.name for item in fields(thing) if item.init]
        parts = ((name, *(getattr(one, name) for one in (thing, *beside))) for name in names)
        changed = {name: mapped(item, change, *others) for name, item, *others in parts}
        if any(value is not getattr(thing, name) for name, value in changed.items()):
            found = replace(found, **changed)
    return cast(T, found)


def stacked(things: Sequence[T]) -> T:
    """Return things of one kind as one, its numbers arrays along a first dimension, its name that of the first."""
    kind: Any = things[0]
    found: dict[str, Any] = {}
    for item in fields(kind):
        values = [getattr(thing, item.name) for thing in things]
        if not isinstance(values[0], str):
            found[item.name] = np.stack(np.broadcast_arrays(*(np.asarray(value, float) for value in values)))
    return cast(T, replace(kind, **found))


def _arrays(thing: Any) -> Iterator[tuple[str, NDArray[Any]]]:
    """Yield every array inside a dataclass or mapping with where it stands."""
    names = thing if isinstance(thing, Mapping) else thing.__dataclass_fields__
    for name in names:
        item = thing[name] if names is thing else getattr(thing, name)
        if isinstance(item, np.ndarray):
            if item.ndim:
                yield name, item
        elif not isinstance(item, PLAIN) and (isinstance(item, Mapping) or is_dataclass(item)):
            yield from ((f"{name} {place}", values) for place, values in _arrays(item))


def _mean_vector(size: Any, direction: Any) -> tuple[float, float]:
    along, across = float(np.mean(size * np.cos(direction))), float(np.mean(size * np.sin(direction)))
    return math.hypot(along, across), math.atan2(across, along)


class Normals(Iterator[Floats]):
    """Columns of standard normal numbers, as evenly spread as Sobol's sequence makes them."""

    COLUMNS = 160

    def __init__(self, n: int, seed: int | np.random.Generator) -> None:
        from scipy.stats import norm, qmc

        points = qmc.Sobol(d=self.COLUMNS, rng=np.random.default_rng(seed)).random(1 << (n - 1).bit_length())[:n]
        self._columns = iter(np.asarray(norm.ppf(np.clip(points, 1e-6, 1 - 1e-6))).T)

    def __next__(self) -> Floats:
        return np.ascontiguousarray(next(self._columns))

    def about(self, mean: Any, sd: float, low: float = -math.inf, high: float = math.inf) -> Floats:
        """Draw a value by its mean and standard deviation."""
        return np.asarray(np.clip(mean + sd * next(self), low, high))

    def positive(self, median: Any, spread: float, most: float = math.inf) -> Floats:
        """Draw a positive value by its median and the standard deviation of its logarithm."""
        return np.asarray(np.minimum(median * np.exp(spread * next(self)), most))

    def of(self, prior: Prior) -> Floats:
        """Draw a number from its prior."""
        centre, spread, low, high, logarithm, _ = prior
        return self.positive(centre, spread, high) if logarithm else self.about(centre, spread, low, high)


def _grass(normal: Normals, kind: Kind, turf: Turf | LinearTurf) -> Grass:
    """Draw a kind of ground beside a green of that turf: resistance, softness, grass."""
    resistance = normal.positive(kind.resistance, kind.resistance_spread, 2.0)
    softer = np.exp(kind.softness_spread * next(normal))
    return kind.beside(turf, resistance, softer, normal.positive(kind.hop_loss, 0.4, 0.1))


def _player(normal: Normals, level: Level) -> Player:
    """Draw a player about the reference player of a level."""
    centre, names = usual.LEVELS[level], [item.name for item in fields(StrikeErrors) if "growth" not in item.name]
    hers = centre.delivery
    attack, lean = normal.about(hers.attack, math.radians(2.0)), normal.about(hers.shaft_lean, math.radians(3.0))
    errors = replace(centre.errors, **{name: normal.positive(getattr(centre.errors, name), 0.3) for name in names})
    delivery = replace(hers, attack=attack, shaft_lean=lean)
    return replace(centre, name=f"a {level}-level player", delivery=delivery, errors=errors, by_club={})


def _options(normal: Normals) -> dict[str, Option]:
    """Draw how a player has her options who was never seen to play them; her usual swing is hers."""
    options = dict(usual.OPTIONS)
    for name, option in options.items():
        if name != "usual":
            log_wider = math.log(option.wider) + usual.OPTION_ERRORS * next(normal)
            options[name] = usual.departing(option, log_wider, usual.OPTION_LEAN * next(normal))
    return options


def _lie(normal: Normals, lie: Lie) -> Lie:
    """Draw a lie about what its name says: friction, cushion, give, height of the ball."""
    spreads = {"friction": (0.3, 2.0), "cushion": (0.5, 0.9), "give": (0.3, 1.0), "ball_height": (0.3, 0.1)}
    spreads["spin_factor"] = (SPIN_SPREAD, 5.0)
    drawn: Any = {name: normal.positive(getattr(lie, name), *spread) for name, spread in spreads.items()}
    return replace(lie, **drawn)


def _green(normal: Normals) -> Green:
    """Draw a green of which nothing is known: medians of greens by grass run from 7 to 11 ft (Woods 2017, read)."""
    level = np.array([Green.from_stimp(roll).resistance.constant for roll in normal.positive(9.5, 0.15)])
    uphill, across = 0.012 * next(normal), 0.012 * next(normal)
    fall = np.arctan2(across, uphill)
    return Green(resistance=Resistance(constant=level), grade=np.hypot(uphill, across), fall_direction=fall)


def _is_default(turf: Turf | LinearTurf) -> bool:
    """Tell whether it is a turf of which nothing was said; what holds arrays is not."""
    return all(np.array_equal(getattr(turf, name, math.nan), usual) for name, usual in vars(Turf()).items())


def stated(
    green: Green,
    *,
    player: Player = usual.TOUR_PLAYER,
    lies: Mapping[str, Lie] = usual.LIES,
    bag: Mapping[str, Club] = usual.BAG,
    around: Mapping[str, Grass] | None = None,
    local_slope: float = 0.0,
) -> Draws:
    """Return one draw in which everything is taken as exactly known: for what-ifs and teaching, not for a decision.

    `Logged.stated` names green, turf, player and lie.

    Parameters
    ----------
    green, player, lies, bag, local_slope : as for `Draws`, taken as stated
    around : mapping of str to Grass, optional, as for `Draws`; the medians of `assumed` if left out

    Examples
    --------
    >>> len(stated(Green.from_stimp(10.0)))
    1
    """
    if around is None:
        around = {name: kind.beside(green.turf, kind.resistance, 1.0, kind.hop_loss) for name, kind in AROUND.items()}
    known = Logged(stated=("green", "turf", "player", "lie"))
    return Draws(green=green, player=player, lies=lies, bag=bag, around=around, logged=known, local_slope=local_slope)


def assumed(
    green: Green | None = None,
    *,
    level: Level = "tour",
    turf: Turf | LinearTurf | None = None,
    player: Player | None = None,
    bag: Mapping[str, Club] = usual.BAG,
    logged: Logged | None = None,
    n: int = 256,
    seed: int | np.random.Generator = 0,
) -> Draws:
    """Return `n` draws in which everything that is not given comes from its prior.

    Raises a ValueError if the level is not known or `n` is below 1.

    Parameters
    ----------
    green : Green, optional
        Speed and slope as known; its fields may be arrays of length `n`. A turf that is not the default one is given.
    level : {"tour", "club"}, whose level the prior of a player is who was never measured
    turf : Turf or LinearTurf, optional, how the green takes a landing; else drawn, the law of the bounce included
    player : Player, optional, as known, her options as usually played
    bag : mapping of str to Club, the clubs, with the lofts they are taken to have
    logged : Logged, optional, what was measured of what is given
    n : int, number of draws
    seed : int or numpy.random.Generator, the same seed gives the same draws

    Examples
    --------
    >>> draws = assumed(Green.from_stimp(10.0), level="club", n=16)
    >>> draws.green.resistance.constant == Green.from_stimp(10.0).resistance.constant, draws.logged.level
    (True, 'club')
    """
    if level not in usual.LEVELS:
        raise ValueError(f"level is {level!r}; expected one of {', '.join(usual.LEVELS)}")
    if n < 1:
        raise ValueError(f"n is {n!r}; expected at least 1 draw")
    require_kinds(green=(green, (Green, type(None))))
    normal = Normals(n, seed)
    given = green.turf if turf is None and green is not None and not _is_default(green.turf) else turf
    drawn_turf = ({name: normal.of(prior) for name, prior in priors.items()} for priors in TURF_PRIORS.values())
    rigid, linear = Turf(**next(drawn_turf)), LinearTurf(**next(drawn_turf))
    ground = replace(green if green is not None else _green(normal), turf=given if given is not None else rigid)
    known = {"green": green, "player": player, "turf": given}
    made = logged or Logged(stated=tuple(name for name, thing in known.items() if thing is not None))
    drawn = Draws(
        green=ground,
        player=player if player is not None else _player(normal, level),
        lies={name: _lie(normal, lie) for name, lie in usual.LIES.items()},
        bag={name: replace(club, loft=normal.about(club.loft, LOFT_SPREAD, 0.0, 1.4)) for name, club in bag.items()},
        aerodynamics=Aerodynamics(drag_scale=np.exp(0.10 * next(normal)), lift_scale=normal.about(1.0, 0.5, low=0.0)),
        around={name: _grass(normal, kind, rigid) for name, kind in AROUND.items()},
        logged=replace(made, level="" if player is not None else level),
        other_turf=None if given is not None else linear,
        other=False if given is not None else next(normal) > 0.0,
        local_slope=LOCAL_SLOPE * np.exp(0.4 * next(normal)),
    )
    factor = np.exp(UNEVENNESS_SPREAD * next(normal))
    lies = {name: usual.uneven(lie, factor) for name, lie in drawn.lies.items()}
    return replace(drawn, lies=lies, options=_options(normal) if player is None else usual.OPTIONS)
