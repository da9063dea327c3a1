"""Trying every landing spot of every club, and playing the best ones on all that the fit leaves open."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.physics.club import Launch, Lie, Player
from golfphys.physics.green import Ground
from golfphys.physics.putting import PuttsToHoleOut
from golfphys.physics.shot import Shots
from golfphys.planning.chips import LandingTable, Tweak, aimed, joined, parts_of, played, scattered
from golfphys.planning.draws import CourseDraws, tweaks
from golfphys.planning.position import Position
from golfphys.planning.strokes import Outcome, score

Floats = NDArray[np.float64]
Whole = NDArray[np.int_]

GREENS = 64
"""How many draws of what a fit leaves open the best spot of each club is played on."""

ERRORS = 256
"""With draws, how many errors of the player are tried on each."""

COARSE, NEAR, NEAR_LEAST = 48, 0.35, 2.5
"""Landing spots first looked at with each club; a ball that ends within this part of the distance to the pin, or this
many metres, of it makes its spot and all between such spots worth a full trial."""

ALLOWED_RISE = 0.1
"""Rise of expected strokes that bounds the room for error in landing distance."""


@dataclass(frozen=True, kw_only=True)
class Setting:
    """What every club of one plan shares."""

    position: Position
    centre: Ground
    draws: CourseDraws | None
    lie: Lie
    player: Player
    putts: PuttsToHoleOut
    physics: Mapping[str, Any]
    normal: Floats  # (4, shots): the same errors for every club and landing spot

    def play(self, launch: Launch, each: Whole) -> Outcome:
        """Play a batch, each shot on the draw that `each` names, and score it."""
        return self.scored(self.shots(launch, each))

    def shots(self, launch: Launch, each: Whole) -> Shots:
        """Play a batch, each shot on the draw that `each` names."""
        if self.draws is None:
            return played(launch, self.centre, **self.physics)
        physics = self.draws.physics_at(self.physics, each)
        return played(launch, replace(self.draws.ground, values=self.draws.values_at(each)), **physics)

    def scored(self, shots: Shots) -> Outcome:
        """Score a batch by what it leaves."""
        return score(shots, self.position, self.putts, self.centre.green)

    def scatter(self, club: str, each: Whole) -> Any:
        """Return the scatter of a club, drawn where draws say so."""
        if self.draws is None:
            return self.player.scatter_for(club)
        return self.draws.scatter_at(club, self.player, each)

    def tweaks(self, tables: Sequence[LandingTable], landing: Sequence[float]) -> list[Tweak | None]:
        """Return how drawn deliveries and lies change the launches that land at `landing`, club by club."""
        return tweaks(self.draws, tables, landing, self.lie, self.player, self.centre, GREENS, self.physics)


@dataclass(frozen=True, kw_only=True)
class Search:
    """What trying every landing spot with one club has shown; arrays over the spots."""

    table: LandingTable
    landing: Floats
    direction: Floats
    meant: Shots
    within_1m: Floats
    within_3ft: Floats
    strokes: Floats
    best: int
    tweak: Tweak | None  # how drawn deliveries and lies change its launches, worked out at its middle spot

    @property
    def club(self) -> str:
        """Name of the club."""
        return self.table.club.name

    @property
    def allowed(self) -> tuple[float, float]:
        """Shortest and longest landing that may be aimed at before expected strokes rise by `ALLOWED_RISE`."""
        fine = np.linspace(self.landing[0], self.landing[-1], 20 * self.landing.size)
        strokes = np.interp(fine, self.landing, self.strokes)
        return unbroken(fine, strokes <= self.strokes[self.best] + ALLOWED_RISE, self.landing[self.best])


def landing_range(table: LandingTable, position: Position) -> tuple[float, float]:
    """Return the shortest and the longest landing distance thinkable, m."""
    low = max(table.reach[0], 0.3, min(position.to_edge - 2.0, 0.15 * position.to_pin))
    high = min(table.reach[1], position.to_pin + 1.0)
    if not low < high:
        raise ValueError(
            f"{table.club.name} lands {table.reach[0]:.1f} to {table.reach[1]:.1f} m away, not short of the pin"
        )
    return low, high


def landing_spots(tables: Sequence[LandingTable], setting: Setting, landings: int) -> list[Floats]:
    """Return for each club the landing spots worth a try: those whose ball, struck as meant, ends not far from the pin.

    Where none does, all that are thinkable are tried.
    """
    position = setting.position
    coarse = [np.linspace(*landing_range(table, position), COARSE) for table in tables]
    launch = joined([table.launch(at) for table, at in zip(tables, coarse, strict=True)])
    shots = played(launch, setting.centre, **setting.physics)
    rest = np.where(np.asarray(shots.stops), np.asarray(shots.rest_x), np.inf).reshape(len(tables), COARSE)
    near = np.maximum(NEAR * position.to_pin, NEAR_LEAST)
    spots = []
    for at, ends in zip(coarse, rest, strict=True):
        close = np.flatnonzero(np.abs(ends - position.to_pin) <= near)
        if close.size:
            first, last = max(int(close[0]) - 1, 0), min(int(close[-1]) + 1, COARSE - 1)
        else:
            first, last = 0, COARSE - 1
        spots.append(np.linspace(at[first], at[last], landings))
    return spots


def search_landings(tables: Sequence[LandingTable], setting: Setting, landings: int) -> list[Search]:
    """Try landing spots that leave the ball short of the pin to beyond it with every club, all in one batch."""
    return search_spots(tables, setting, landing_spots(tables, setting, landings))


def search_spots(tables: Sequence[LandingTable], setting: Setting, spots: Sequence[Floats]) -> list[Search]:
    """Try given landing spots with every club, all in one batch."""
    meant, directions = _meant(tables, setting, spots)
    errors = setting.normal.shape[-1]
    each = np.arange(errors)
    normal = setting.normal[:, None, :]
    changes = setting.tweaks(tables, [float(np.median(at)) for at in spots])
    launches = [
        scattered(
            *(table, at[:, None], direction[:, None], setting.scatter(table.club.name, each), normal),
            tweak=change,
            each=each,
        )
        for table, at, direction, change in zip(tables, spots, directions, changes, strict=True)
    ]
    outcome = setting.play(joined(launches), np.tile(each, sum(at.size for at in spots)))
    means = [
        parts_of(values.reshape(-1, errors).mean(axis=1), [at.size for at in spots])
        for values in (outcome.within_1m, outcome.within_3ft, outcome.strokes)
    ]
    found = []
    for table, at, direction, shots, change, within_1m, within_3ft, mean in zip(
        tables, spots, directions, meant, changes, *means, strict=True
    ):
        strokes = _smooth(mean)
        found.append(
            Search(
                table=table,
                landing=at,
                direction=direction,
                meant=shots,
                within_1m=within_1m,
                within_3ft=within_3ft,
                strokes=strokes,
                best=int(np.argmin(strokes)),
                tweak=change,
            )
        )
    return found


def _meant(
    tables: Sequence[LandingTable], setting: Setting, spots: Sequence[Floats]
) -> tuple[list[Shots], list[Floats]]:
    """Aim the shots as meant at every spot, and return what they do and where they start."""
    plain = joined([table.launch(at) for table, at in zip(tables, spots, strict=True)])
    launch, shots = aimed(plain, setting.position.to_pin, setting.centre, **setting.physics)
    sizes = [at.size for at in spots]
    fields = {name: parts_of(values, sizes) for name, values in vars(shots).items()}
    each = [Shots(**{name: values[i] for name, values in fields.items()}) for i in range(len(spots))]
    return each, parts_of(np.asarray(launch.direction) - np.asarray(plain.direction), sizes)


@dataclass(frozen=True, kw_only=True)
class Played:
    """The best spot of one club, played on every draw with the same errors of the player."""

    search: Search
    rest: tuple[Floats, Floats]
    outcome: Outcome
    strokes: Floats  # (draws, errors)
    window: tuple[float, float]
    allowed: tuple[float, float]


def play_best(searches: Sequence[Search], setting: Setting) -> list[Played]:
    """Play the best spot of every club on every draw, all in one batch."""
    draws = 1 if setting.draws is None else GREENS
    normal = setting.normal if setting.draws is None else setting.normal[:, :ERRORS]
    errors = normal.shape[-1]
    each = np.repeat(np.arange(draws), errors)
    spots = [float(search.landing[search.best]) for search in searches]
    launches = [
        launch_on_draws(search, at, setting, np.tile(normal, draws), each)
        for search, at in zip(searches, spots, strict=True)
    ]
    shots = setting.shots(joined(launches), np.tile(each, len(searches)))
    outcome = setting.scored(shots)
    windows = _finishing(searches, setting)
    found = []
    for number, (search, window) in enumerate(zip(searches, windows, strict=True)):
        part = slice(number * each.size, (number + 1) * each.size)
        own = Outcome(**{name: value[part] for name, value in vars(outcome).items()})
        found.append(
            Played(
                search=search,
                rest=(np.asarray(shots.rest_x)[part], np.asarray(shots.rest_y)[part]),
                outcome=own,
                strokes=own.strokes.reshape(draws, errors),
                window=window,
                allowed=search.allowed,
            )
        )
    return found


def launch_on_draws(search: Search, landing: float, setting: Setting, normal: Floats, each: Whole) -> Launch:
    """Return launches of one club meant to land at `landing` m, with the player's errors, each on the draw it names."""
    direction = np.interp(landing, search.landing, search.direction)
    scatter = setting.scatter(search.club, each)
    return scattered(search.table, landing, direction, scatter, normal, tweak=search.tweak, each=each)


def _finishing(searches: Sequence[Search], setting: Setting) -> list[tuple[float, float]]:
    """Return the landing distances around each best spot that finish within 1 m when all else goes as meant.

    The hole is left out: a chip meant to roll over it must not count on falling in.
    """
    spots = [np.linspace(item.landing[0], item.landing[-1], 10 * item.landing.size) for item in searches]
    launches = []
    for search, fine in zip(searches, spots, strict=True):
        launch = search.table.launch(fine)
        turned = np.interp(fine, search.landing, search.direction)
        launches.append(replace(launch, direction=np.asarray(launch.direction) + turned))
    shots = played(joined(launches), setting.centre, **setting.physics)
    near = np.hypot(np.asarray(shots.rest_x) - setting.position.to_pin, np.asarray(shots.rest_y)) <= 1.0
    return [
        unbroken(fine, inside, search.landing[search.best])
        for search, fine, inside in zip(searches, spots, parts_of(near, [fine.size for fine in spots]), strict=True)
    ]


def unbroken(values: Floats, inside: NDArray[np.bool_], centre: float) -> tuple[float, float]:
    """Return the ends of the unbroken run of `inside` that holds or lies nearest to `centre`; NaN without any."""
    if not inside.any():
        return np.nan, np.nan
    edges = np.diff(np.concatenate([[False], inside, [False]]).astype(int))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    gaps = np.maximum(values[starts] - centre, centre - values[stops])
    run = int(np.argmin(gaps))
    return float(values[starts[run]]), float(values[stops[run]])


def normals(shots: int, seed: int | np.random.Generator) -> Floats:
    """Return standard normal numbers for four kinds of error, as evenly spread as Sobol's sequence makes them."""
    if shots < 16:
        raise ValueError(f"shots is {shots!r}; expected at least 16")
    from scipy.stats import norm, qmc

    points = qmc.Sobol(d=4, rng=np.random.default_rng(seed)).random(1 << (shots - 1).bit_length())[:shots]
    return np.asarray(norm.ppf(np.clip(points, 1e-9, 1 - 1e-9))).T


def _smooth(values: Floats) -> Floats:
    """Take the last of the chance out of a curve over landing spots, by a quadratic through seven neighbours."""
    if values.size < 9:
        return values
    from scipy.signal import savgol_filter

    return np.asarray(savgol_filter(values, 7, 2))
