"""Rolls as arrays, the priors of their fit, where each quantity stands among the parameters, and where rolls stop.

Where a ball would never stop its rest is kept finite, so that a search that has strayed into such ground finds its way
out.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, Self

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants, resistance
from golfphys.core.names import Names
from golfphys.physics.green import Resistance
from golfphys.physics.roll import rest_point, roll

Array = NDArray[np.float64]
Law = str
"""How resistance depends on speed: ``"constant"``, or the term that it has beside its constant."""
TERMS: dict[str, tuple[str, ...]] = {"constant": (), **{t.name: (*t.beside, t.name) for t in resistance.TERMS}}
"""Terms in speed that each law has beside its constant, named as in `golfphys.core.resistance.Resistance`."""
LAWS: tuple[str, ...] = tuple(TERMS)
POWERS: dict[str, float] = {term.name: term.power for term in resistance.TERMS}
"""Power of speed in each term."""
UNITS = {term.name: term.unit for term in resistance.TERMS}
"""Unit of each term's coefficient."""

RAMP_SD = constants.RAMP_RELEASE_SPEED.sd / constants.RAMP_RELEASE_SPEED.value
"""Relative standard uncertainty of the release speed that all rolls of a sheet share."""

SCATTER = ("scatter_absolute", "scatter_relative", "scatter_direction")
"""Parameters of the scatter of single rolls."""

READING_SD = 0.005
"""Standard error in m of reading a side drift off a tape (common practice, no source)."""

MOST_RESISTANCE, MOST_GRADE, MOST_GRAIN = 2.0, 1.0, 0.95
"""Where a fitted green is held, so that even a fit that has failed can be drawn and rolled on; with more grain behind
it a ball hardly slows."""

NEVER_STOPS = 300.0
"""Distance in m that stands for a roll that does not stop."""


@dataclass(frozen=True, kw_only=True)
class Priors:
    """Weak priors of a rollout fit: medians, and standard deviations (of the logarithm where the value is positive).

    Parameters
    ----------
    resistance, resistance_spread : float
        Rolling resistance: median of a green of 9 ft (Woods 2017: medians 7 to 11 ft by grass), and a spread that takes
        in 4 ft to 16 ft.
    grade_spread : float
        Steepness is half normal with this standard deviation, every direction equally likely (common practice: hole
        locations lie on 1 to 3 %).
    steepness_spread : float
        Of its logarithm, where ten spots or more inform that standard deviation; it is then a median.
    term_spread : mapping of str to float
        Growth of resistance with speed, by term: no trustworthy published value, so zero with a wide spread.
    grain_spread : float
        Grain as part of resistance: no trustworthy published magnitude, so zero with a wide spread.
    scatter_absolute, scatter_relative, scatter_spread : float
        Scatter of single rolls in m and per unit distance; together 0.1 m at ten feet (Sommer, Lulis, Kaminski: 3.93
        in).
    scatter_direction, scatter_direction_spread : float
        Scatter of the start direction, rad (common practice: a ramp is laid to about a degree).
    between, between_spread : float
        Spread of log resistance between spots (Woods 2018: about 0.3 ft in 10 ft within and between greens).
    drift, drift_spread : float
        Wandering of log resistance per root hour, in a series (a fast course lost 9 % in six hours, course blog 2016).
    """

    resistance: float = 0.087
    resistance_spread: float = 0.35
    grade_spread: float = 0.03
    steepness_spread: float = 0.7
    term_spread: Mapping[str, float] = field(default_factory=lambda: {t.name: t.spread for t in resistance.TERMS})
    grain_spread: float = 0.10
    scatter_absolute: float = 0.06
    scatter_relative: float = 0.015
    scatter_spread: float = 1.0
    scatter_direction: float = 0.015
    scatter_direction_spread: float = 0.8
    between: float = 0.05
    between_spread: float = 0.7
    drift: float = 0.035
    drift_spread: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Rolls:
    """The observations of a sheet as arrays.

    Row numbers in the sheet, for messages; position of each roll's spot in `spots`; headings, rad, anticlockwise from
    the reference line; release speed, m/s; distance and side drift (NaN where not noted), m. In a series the number of
    each roll's session from 0, and the middle of each session; None where time is left aside.
    """

    row: NDArray[np.int64]
    spot: NDArray[np.int64]
    spots: tuple[str, ...]
    heading: Array
    speed: Array
    distance: Array
    side: Array
    session: NDArray[np.int64] | None = None
    times: tuple[Any, ...] = ()

    @classmethod
    def planned(
        cls, spots: tuple[str, ...], spot: ArrayLike = 0, heading: Any = (), speed: ArrayLike = 0.0, side: bool = False
    ) -> Self:
        """Rolls that have not been made, none or some: distances of 1 m, drifts of 0 or none, hold the places.

        `spot`, `heading` and `speed` are as in `Rolls`, one for all or one each; `side` is whether drift will be noted.
        """
        count = len(heading)
        own: dict[str, Any] = {
            "spot": np.full(count, spot, dtype=np.int64),
            "speed": np.full(count, speed, dtype=float),
        }
        own |= {"heading": np.asarray(heading, dtype=float), "distance": np.ones(count)}
        return cls(row=np.arange(count), spots=spots, side=np.full(count, 0.0 if side else np.nan), **own)

    @property
    def hours(self) -> Array:
        """Hours from the middle of each session to that of the next."""
        return np.array([(later - earlier).total_seconds() / 3600 for earlier, later in pairwise(self.times)])

    @property
    def has_side(self) -> NDArray[np.bool_]:
        """Where side drift was noted."""
        return np.isfinite(self.side)

    def position(self, spot: str) -> int:
        """Position of a spot in `spots`; ValueError if there is no such spot."""
        if spot not in self.spots:
            raise ValueError(f"spot is {spot!r}; expected one of: {', '.join(self.spots)}")
        return self.spots.index(spot)

    def at_spots(self, places: Sequence[int]) -> "Rolls":
        """Return the rolls at some of the spots, by their positions."""
        here = np.isin(self.spot, places)
        number = {place: i for i, place in enumerate(places)}
        arrays = {name: getattr(self, name)[here] for name in ("row", "heading", "speed", "distance", "side")}
        return Rolls(
            spot=np.array([number[int(i)] for i in self.spot[here]], dtype=np.int64),
            spots=tuple(self.spots[i] for i in places),
            session=None if self.session is None else self.session[here],
            times=self.times,
            **arrays,
        )


def rest_on_plane(speed: Array, resistance: Array, fall_ahead: Array, fall_left: Array) -> tuple[Array, Array]:
    """Rest point of rolls with constant resistance on a plane.

    Takes release speeds, m/s, and the fall of the ground along the heading and to its left, rise over run, positive
    downhill. Returns the rest point in m along the heading and to its left, `NEVER_STOPS` ahead for what never stops.
    """
    found = rest_point(speed, 0.0, resistance, np.hypot(fall_ahead, fall_left), np.arctan2(fall_left, fall_ahead))
    return _kept_finite(*found)


def rest_in_general(
    speed: Array, law: Mapping[str, Array], fall: tuple[Array, Array], grain: tuple[Array, Array]
) -> tuple[Array, Array]:
    """Rest point on a plane with resistance that depends on speed and heading.

    As `rest_on_plane`, with the coefficients of resistance by name, as in `Resistance`, and grain along the heading and
    to its left: resistance is less by this fraction for a ball rolling that way.
    """
    resistance = Resistance(
        **law, grain=np.minimum(np.hypot(*grain), MOST_GRAIN), grain_direction=np.arctan2(grain[1], grain[0])
    )
    found = roll(speed, 0.0, resistance, np.hypot(*fall), np.arctan2(fall[1], fall[0]))
    return _kept_finite(found.x, found.y)


def _kept_finite(ahead: Array, left: Array) -> tuple[Array, Array]:
    far = ~(np.hypot(ahead, left) < NEVER_STOPS)
    return np.where(far, NEVER_STOPS, ahead), np.where(far, 0.0, left)


def _turned(x: Array, y: Array, heading: Array) -> tuple[Array, Array]:
    """Components of vectors along headings and to their left."""
    cosine, sine = np.cos(heading), np.sin(heading)
    return x * cosine + y * sine, y * cosine - x * sine


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Where each quantity of a rollout model stands among its parameters, `names`.

    `law` and `grain` say whether resistance depends on speed and heading; at `reference_speed`, m/s, it is best known.
    """

    rolls: Rolls
    law: Law
    grain: bool
    reference_speed: float
    names: Names
    _latest: list[tuple[Array, tuple[Array, Array]]] = field(init=False, repr=False, default_factory=list)

    def get(self, natural: Array, name: str, default: float = 0.0) -> Array:
        """Values of one parameter, or `default` where the model has none, shape (...)."""
        return self.names.get(natural, name, default=default)

    def by_spot(self, natural: Array, name: str) -> Array:
        """Values of a parameter of every spot, shape (..., spots)."""
        return self.names.values(natural, name, self.rolls.spots)

    def at(self, position: int) -> "Layout":
        """Return the same parameters with one spot and its rolls alone: what is asked of it costs one spot."""
        return replace(self, rolls=self.rolls.at_spots((position,)))

    def fall(self, natural: Array) -> tuple[Array, Array]:
        """Fall of every spot along the reference line and to its left, each of shape (..., spots)."""
        return self.by_spot(natural, "fall_along"), self.by_spot(natural, "fall_left")

    def grain_parts(self, natural: Array) -> tuple[Array, Array]:
        """Grain along the reference line and to its left, each of shape (...); 0 where the model has none."""
        return self.get(natural, "grain_along"), self.get(natural, "grain_left")

    def coefficients(self, natural: Array) -> dict[str, Array]:
        """Coefficients of resistance, ``constant`` and the terms in speed by name, each of shape (..., spots)."""
        level = self.by_spot(natural, "resistance")
        terms = {term: self.get(natural, term)[..., None] + np.zeros_like(level) for term in POWERS}
        for term, value in terms.items():
            level = level - value * self.reference_speed ** POWERS[term]
        return {"constant": level, **terms}

    @property
    def plain(self) -> bool:
        """True where resistance is one number, so that the closed form holds."""
        return self.law == "constant" and not self.grain

    def scatter(self, natural: Array, expected: Array) -> Array:
        """Scatter of single rolls that are expected to go so far (..., rolls), m."""
        absolute, relative = (self.get(natural, f"scatter_{kind}")[..., None] for kind in ("absolute", "relative"))
        return np.hypot(absolute, relative * expected)

    def green_draws(self, natural: Array) -> dict[str, Array]:
        """Draws (D, P) of the green at the first spot, by field of green and resistance, each of shape (D,)."""
        law = {name: values[:, 0] for name, values in self.coefficients(natural).items()}
        along, left = (values[:, 0] for values in self.fall(natural))
        grain_x, grain_y = self.grain_parts(natural)
        return {
            **{**law, "constant": np.clip(law["constant"], 1e-4, MOST_RESISTANCE)},
            "grain": np.minimum(np.hypot(grain_x, grain_y), MOST_GRAIN),
            "grain_direction": np.arctan2(grain_y, grain_x),
            "grade": np.minimum(np.hypot(along, left), MOST_GRADE),
            "fall_direction": np.arctan2(left, along),
        }

    def rest(self, natural: Array) -> tuple[Array, Array]:
        """Expected rest points of all rolls, ahead and to the left of their headings, each (..., rolls)."""
        # distances and side drifts are asked for one after the other, at the same values
        if not (self._latest and self._latest[0][0] is natural):
            self._latest[:] = [(natural, self._rest(natural))]
        return self._latest[0][1]

    def _rest(self, natural: Array) -> tuple[Array, Array]:
        rolls = self.rolls
        law = {name: part[..., rolls.spot] for name, part in self.coefficients(natural).items()}
        if rolls.session is not None:
            factor = self.session_factors(natural)[..., rolls.session]
            law = {name: part * factor for name, part in law.items()}
        along, left = (part[..., rolls.spot] for part in self.fall(natural))
        fall = _turned(along, left, rolls.heading)
        speed = rolls.speed * self.get(natural, "release_speed_scale", 1.0)[..., None]
        if self.plain:
            return rest_on_plane(speed, law["constant"], *fall)
        grain_x, grain_y = (part[..., None] for part in self.grain_parts(natural))
        return rest_in_general(speed, law, fall, _turned(grain_x, grain_y, rolls.heading))

    def session_factors(self, natural: Array) -> Array:
        """Resistance in each session over that in the first, shape (..., sessions)."""
        first = np.zeros((*natural.shape[:-1], 1))
        changes = natural[..., self.names.columns("change")]
        return np.asarray(np.exp(np.concatenate([first, changes], axis=-1)))

    def level_roll(
        self, natural: Array, speed: float = constants.RAMP_RELEASE_SPEED.value, factor: Array | None = None
    ) -> Array:
        """Distance in m of a level roll from the ramp at each spot, shape (..., spots).

        The ramp is the one of the sheet: its actual release speed is `speed` times the fitted scale. `factor` (...)
        multiplies resistance, as in a later session.
        """
        law = self.coefficients(natural)
        if factor is not None:
            law = {name: part * factor[..., None] for name, part in law.items()}
        start = speed * self.get(natural, "release_speed_scale", 1.0)[..., None] + np.zeros_like(law["constant"])
        level = np.zeros_like(law["constant"])
        if self.law == "constant":
            return rest_on_plane(start, law["constant"], level, level)[0]
        return rest_in_general(start, law, (level, level), (level, level))[0]


def rolls_of(sheet: Any, session_gap_hours: float | None = None) -> Rolls:
    """Take the observations out of a sheet.

    A pause longer than `session_gap_hours` begins a new session of a series; without it time is left aside. ValueError
    if there is no roll, a value is missing, or a roll of a series has no time.
    """
    frame = sheet.rolls
    if len(frame) == 0:
        raise ValueError("the sheet has no rolls; expected at least one")
    spots = tuple(str(spot) for spot in dict.fromkeys(frame["spot"]))
    values = {name: frame[name].to_numpy(dtype=float) for name in ("heading", "release_speed", "distance")}
    for name, column in values.items():
        if not np.all(np.isfinite(column)):
            row = frame["row"].iloc[int(np.flatnonzero(~np.isfinite(column))[0])] if "row" in frame else "?"
            raise ValueError(f"{name} in row {row} is not a number; expected one in every row")
    side = frame["side"].to_numpy(dtype=float) if "side" in frame else np.full(len(frame), np.nan)
    rows = frame["row"].to_numpy(dtype=np.int64) if "row" in frame else np.arange(2, len(frame) + 2)
    order = {spot: i for i, spot in enumerate(spots)}
    session, times = (None, ()) if session_gap_hours is None else _sessions(frame, rows, session_gap_hours)
    spot = np.array([order[str(spot)] for spot in frame["spot"]], dtype=np.int64)
    known = {"heading": -values["heading"], "speed": values["release_speed"], "distance": values["distance"]}
    return Rolls(row=rows, spot=spot, spots=spots, side=side, session=session, times=times, **known)


def _sessions(frame: pd.DataFrame, rows: NDArray[np.int64], gap_hours: float) -> tuple[Any, tuple[pd.Timestamp, ...]]:
    """Split times at pauses longer than `gap_hours`: number of each row's session, and the middle of each session."""
    if not gap_hours > 0:
        raise ValueError(f"session_gap_hours is {gap_hours!r}; expected a positive number of hours")
    blank = frame["measured_at"].isna().to_numpy() if "measured_at" in frame else np.ones(len(frame), dtype=bool)
    if blank.any():
        raise ValueError(
            f"a series needs measured_at in every row (it is blank in row {int(rows[blank][0])}); "
            "leave session_gap_hours out without"
        )
    stamps = pd.to_datetime(frame["measured_at"]).reset_index(drop=True)
    order = np.argsort(stamps.to_numpy(), kind="stable")
    ordered = stamps.iloc[order]
    pauses = ordered.diff().dt.total_seconds().fillna(0.0).to_numpy() > 3600.0 * gap_hours
    session = np.empty(len(stamps), dtype=np.int64)
    session[order] = np.cumsum(pauses)
    middles = []
    for number in range(int(session.max()) + 1):
        here = stamps[session == number]
        middles.append(here.min() + (here.max() - here.min()) / 2)
    return session, tuple(middles)
