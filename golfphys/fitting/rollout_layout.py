"""Rolls as arrays, the priors of their fit, where each quantity stands among the parameters, and where rolls stop.

Where a ball would never stop its rest is kept finite, so that a search that has strayed into such ground finds its way
out.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from typing import Any, Self

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray
from scipy.optimize import least_squares

from golfphys.core import constants, resistance
from golfphys.core.names import Array, Columns, Key, Names
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.draws import mapped
from golfphys.physics.green import Green, Resistance
from golfphys.physics.roll import rest_point, roll
from golfphys.sheets.errors import files_of, placed, rows_of

Law = str  # how resistance depends on speed: ``"constant"``, or the term that it has beside its constant
# Terms in speed that each law has beside its constant, named as in `golfphys.core.resistance.Resistance`
TERMS: dict[str, tuple[str, ...]] = {"constant": (), **{t.name: (*t.beside, t.name) for t in resistance.TERMS}}
LAWS: tuple[str, ...] = tuple(TERMS)
POWERS: dict[str, float] = {term.name: term.power for term in resistance.TERMS}  # power of speed in each term
UNITS = {term.name: term.unit for term in resistance.TERMS}  # unit of each term's coefficient
Pair = tuple[Array, Array]  # along a direction and to its left
# Relative standard uncertainty of the release speed that all rolls of a sheet share
RAMP_SD = constants.RAMP_RELEASE_SPEED.sd / constants.RAMP_RELEASE_SPEED.value
SPOT_PARTS = ("resistance", "fall_along", "fall_left")  # parameters of each spot
SCATTER = ("scatter_absolute", "scatter_relative", "scatter_direction")  # parameters of the scatter of single rolls
# Where a fitted green is held, so that even a fit that has failed can be drawn and rolled on; with more grain behind
# it a ball hardly slows
MOST_RESISTANCE, MOST_GRADE, MOST_GRAIN = 2.0, 1.0, 0.95
NEVER_STOPS = 300.0  # distance in m that stands for a roll that does not stop


@dataclass(frozen=True, kw_only=True)
class Priors:
    """Weak priors of a rollout fit: medians, and standard deviations (of the logarithm where the value is positive)."""

    # Rolling resistance of a green of 9 ft (Woods 2017: medians 7 to 11 ft by grass); the spread takes in 4 to 16 ft.
    resistance: float = 0.087
    resistance_spread: float = 0.35
    # Steepness is half normal, every direction equally likely (common practice: hole locations lie on 1 to 3 %); where
    # more than twelve spots inform that standard deviation it is a median, with this spread of its logarithm.
    grade_spread: float = 0.03
    steepness_spread: float = 0.7
    # Growth of resistance with speed, by term, and grain as part of resistance: no trustworthy published value.
    term_spread: Mapping[str, float] = field(default_factory=lambda: {t.name: t.spread for t in resistance.TERMS})
    grain_spread: float = 0.10
    # Scatter of single rolls, m, and per unit distance; together 0.1 m at ten feet (Sommer, Lulis, Kaminski: 3.93 in).
    scatter_absolute: float = 0.06
    scatter_relative: float = 0.015
    scatter_spread: float = 1.0
    # Scatter of the start direction, rad (common practice: a ramp is laid to about a degree).
    scatter_direction: float = 0.015
    scatter_direction_spread: float = 0.8
    # Of log resistance between spots (Woods 2018: about 0.3 ft in 10 ft within and between greens).
    between: float = 0.05
    between_spread: float = 0.7
    # Wandering of log resistance per root hour (a fast course lost 9 % in six hours, course blog 2016).
    drift: float = 0.035
    drift_spread: float = 1.0


@dataclass(frozen=True, kw_only=True)
class Rolls:
    """The observations of a sheet as arrays."""

    row: Columns  # in the sheet, for messages
    file: NDArray[np.str_]  # the sheet, where there are several
    spot: Columns  # position of each roll's spot in `spots`
    spots: tuple[str, ...]
    heading: Array  # rad, anticlockwise from the reference line
    speed: Array  # at release, m/s
    distance: Array  # m
    side: Array  # drift, m, NaN where not noted
    session: Columns | None = None  # of each roll in a series, from 0; None where time is left aside
    times: tuple[Any, ...] = ()  # middle of each session

    @classmethod
    def planned(
        cls, spots: tuple[str, ...], spot: ArrayLike = 0, heading: Any = (), speed: ArrayLike = 0.0, side: bool = False
    ) -> Self:
        """Rolls that have not been made, none or some: distances of 1 m, drifts of 0 or none, hold the places.

        `spot`, `heading` and `speed` are as in `Rolls`, one for all or one each; `side` is whether drift will be noted.
        """
        count = len(heading)
        own: dict[str, Any] = {"row": np.arange(count), "file": np.full(count, "")}
        own["spot"] = np.full(count, spot, dtype=np.int64)
        own |= {"heading": np.asarray(heading, dtype=float), "speed": np.full(count, speed, dtype=float)}
        return cls(spots=spots, **own, distance=np.ones(count), side=np.full(count, 0.0 if side else np.nan))

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

    def at_spots(self, places: Sequence[int]) -> Self:
        """Return the rolls at some of the spots, by their positions."""
        here = np.isin(self.spot, places)
        number = {place: i for i, place in enumerate(places)}
        spot = np.array([number[int(i)] for i in self.spot[here]], dtype=np.int64)
        return replace(mapped(self, lambda x: x[here]), spot=spot, spots=tuple(self.spots[i] for i in places))

    def starting_values(self, priors: Priors) -> dict[Key, float]:
        """Start of the search: robust linear regression of the resistance that each roll shows.

        Without break, v^2 (1 + k)/(2 g d) is resistance less the fall along the heading: linear in all three.
        """
        factor = (1 + constants.BALL_INERTIA.value) / (2 * constants.GRAVITY.value)
        shown = factor * self.speed**2 / np.maximum(self.distance, 0.1)
        design = np.stack([np.ones_like(shown), -np.cos(self.heading), -np.sin(self.heading)], axis=1)
        sd = np.array([0.05, priors.grade_spread, priors.grade_spread])
        start: dict[Key, float] = {}
        for i, spot in enumerate(self.spots):
            here = self.spot == i
            level = float(np.clip(np.median(shown[here]), 0.03, 0.4)) if here.any() else priors.resistance
            centre = np.array([level, 0.0, 0.0])
            level, along, left = least_squares(
                _off, centre, loss="soft_l1", args=(design[here], shown[here], centre, sd)
            ).x
            level = float(np.clip(level, 0.02, 0.5))
            # where every ball stops; and a start exactly on an axis of symmetry would never leave it
            keep = min(1.0, 0.8 * level / max(math.hypot(along, left), 1e-9))
            own = (level, keep * along + 1e-4, keep * left + 1e-4)
            start |= {Key(part, spot): value for part, value in zip(SPOT_PARTS, own, strict=True)}
        levels = [math.log(start[Key("resistance", spot)]) for spot in self.spots]
        start[Key("resistance_median")] = math.exp(float(np.mean(levels)))
        return start


def _off(values: Array, design: Array, shown: Array, centre: Array, sd: Array) -> Array:
    return np.concatenate([(shown - design @ values) / (0.05 * centre[0]), (values - centre) / sd])


def rest_of(speed: Array, law: Mapping[str, Array], fall: Pair, grain: Pair | None = None) -> Pair:
    """Rest points of rolls on a plane, m along the heading and to its left; `NEVER_STOPS` ahead for what never stops.

    Takes release speeds, m/s, coefficients of resistance by name, as in `Resistance`, the fall of the ground along the
    heading and to its left, rise over run, positive downhill, and grain alike: resistance is less by this fraction for
    a ball rolling that way. With a constant alone the closed form holds.
    """
    steep, downhill = np.hypot(*fall), np.arctan2(fall[1], fall[0])
    if grain is None and law.keys() == {"constant"}:
        ahead, left = rest_point(speed, 0.0, law["constant"], steep, downhill)
    else:
        x, y = grain or (0.0, 0.0)
        blade = {"grain": np.minimum(np.hypot(x, y), MOST_GRAIN), "grain_direction": np.arctan2(y, x)}
        found = roll(speed, 0.0, Resistance(**law, **blade), steep, downhill)
        ahead, left = found.x, found.y
    far = ~(np.hypot(ahead, left) < NEVER_STOPS)
    return np.where(far, NEVER_STOPS, ahead), np.where(far, 0.0, left)


def turned(x: Array, y: Array, heading: Array) -> Pair:
    """Components of vectors along headings and to their left."""
    cosine, sine = np.cos(heading), np.sin(heading)
    return x * cosine + y * sine, y * cosine - x * sine


def held(law: Mapping[str, Any], fall: Pair, grain: Pair) -> Green:
    """Return a green, held where a ball can be rolled on it."""
    law = {**law, "constant": np.clip(law["constant"], 1e-4, MOST_RESISTANCE)}
    blade = {"grain": np.minimum(np.hypot(*grain), MOST_GRAIN), "grain_direction": np.arctan2(grain[1], grain[0])}
    steep, downhill = np.minimum(np.hypot(*fall), MOST_GRADE), np.arctan2(fall[1], fall[0])
    return Green(resistance=Resistance(**law, **blade), grade=steep, fall_direction=downhill)


@dataclass(frozen=True, kw_only=True)
class Layout:
    """Where each quantity of a rollout model stands among its parameters, `names`."""

    rolls: Rolls
    law: Law
    grain: bool  # whether resistance depends on heading
    reference_speed: float  # at which resistance is best known, m/s
    names: Names
    chipped: tuple[str, ...] = ()  # spots whose slopes chips tell, along their lines of play and across
    usual_grade: float | None = None  # where slopes are drawn over resistance, see `golfphys.fitting.rollout_model`
    _latest: list[tuple[Array, Pair]] = field(init=False, repr=False, default_factory=list)

    def get(self, natural: Array, name: str, default: float = 0.0) -> Array:
        """Values of one parameter, or `default` where the model has none, shape (...)."""
        return self.names.get(natural, name, default=default)

    def by_spot(self, natural: Array, name: str) -> Array:
        """Values of a parameter of every spot, shape (..., spots)."""
        return self.names.values(natural, name, self.rolls.spots)

    def at(self, position: int) -> "Layout":
        """Return the same parameters with one spot and its rolls alone: what is asked of it costs one spot."""
        return replace(self, rolls=self.rolls.at_spots((position,)))

    def fall(self, natural: Array) -> Pair:
        """Fall of every spot along the reference line and to its left, each of shape (..., spots)."""
        return self.by_spot(natural, "fall_along"), self.by_spot(natural, "fall_left")

    def grain_parts(self, natural: Array) -> Pair:
        """Grain along the reference line and to its left, each of shape (...); 0 where the model has none."""
        return self.get(natural, "grain_along"), self.get(natural, "grain_left")

    def coefficients(self, natural: Array) -> dict[str, Array]:
        """Coefficients of resistance, ``constant`` and its law's terms in speed by name, each (..., spots)."""
        level = self.by_spot(natural, "resistance")
        terms = {term: self.get(natural, term)[..., None] + np.zeros_like(level) for term in TERMS[self.law]}
        for term, value in terms.items():
            level = level - value * self.reference_speed ** POWERS[term]
        return {"constant": level, **terms}

    def scatter(self, natural: Array, expected: Array) -> Array:
        """Scatter of single rolls that are expected to go so far (..., rolls), m."""
        absolute, relative = (self.get(natural, f"scatter_{kind}")[..., None] for kind in ("absolute", "relative"))
        return np.hypot(absolute, relative * expected)

    def greens(self, natural: Array, spots: int | Columns) -> Green:
        """Draws (D, P) of the green at a spot, or of each draw at one of the spots (D,), by position."""
        at = np.arange(len(natural)), spots
        law = {name: part[at] for name, part in self.coefficients(natural).items()}
        along, left = self.fall(natural)
        return held(law, (along[at], left[at]), self.grain_parts(natural))

    def rest(self, natural: Array) -> Pair:
        """Expected rest points of all rolls, ahead and to the left of their headings, each (..., rolls)."""
        # distances and side drifts are asked for one after the other, at the same values
        if not (self._latest and self._latest[0][0] is natural):
            self._latest[:] = [(natural, self._rest(natural))]
        return self._latest[0][1]

    def _rest(self, natural: Array) -> Pair:
        rolls = self.rolls
        law = {name: part[..., rolls.spot] for name, part in self.coefficients(natural).items()}
        if rolls.session is not None:
            factor = self.session_factors(natural)[..., rolls.session]
            law = {name: part * factor for name, part in law.items()}
        along, left = (part[..., rolls.spot] for part in self.fall(natural))
        fall = turned(along, left, rolls.heading)
        speed = rolls.speed * self.get(natural, "release_speed_scale", 1.0)[..., None]
        grain_x, grain_y = (part[..., None] for part in self.grain_parts(natural))
        return rest_of(speed, law, fall, turned(grain_x, grain_y, rolls.heading) if self.grain else None)

    def told(self, natural: Array) -> dict[str, Array]:
        """Return what a sheet tells of every spot, by what tables call it, each of shape (..., spots)."""
        law, stimp, (along, left) = self.coefficients(natural), self.level_roll(natural), self.fall(natural)
        terms = {f"resistance_{term}": law[term] for term in TERMS[self.law]}
        return {
            "resistance": law["constant"],
            **(terms and {**terms, "resistance_at_speed": self.by_spot(natural, "resistance")}),
            "grade": np.hypot(along, left),
            "fall_direction_deg": np.degrees(np.arctan2(-left, along)),
            **{"grade_along": -along, "grade_left": -left, "stimp_m": stimp, "stimp_ft": stimp / METRES_PER_FOOT},
        }

    def session_factors(self, natural: Array) -> Array:
        """Resistance in each session over that in the last, shape (..., sessions)."""
        changes = natural[..., self.names.columns("change")]
        last = np.zeros((*natural.shape[:-1], 1))
        return np.asarray(np.exp(np.concatenate([changes, last], axis=-1)))

    def level_roll(self, natural: Array, factor: Array | None = None) -> Array:
        """Distance in m of a level roll from the sheet's ramp at each spot, shape (..., spots).

        Its release speed is the usual one times the fitted scale; `factor` (...) multiplies resistance, as in earlier
        sessions.
        """
        law = self.coefficients(natural)
        if factor is not None:
            law = {name: part * factor[..., None] for name, part in law.items()}
        level = np.zeros_like(law["constant"])
        scale = self.get(natural, "release_speed_scale", 1.0)[..., None]
        start = constants.RAMP_RELEASE_SPEED.value * scale + level
        return rest_of(start, law, (level, level))[0]


def rolls_of(sheet: Any, session_gap_hours: float | None = None) -> Rolls:
    """Take the observations out of a sheet.

    A pause longer than `session_gap_hours` begins a new session of a series; without it time is left aside. ValueError
    if there is no roll, or a roll of a series has no time.
    """
    frame = sheet.frame
    if len(frame) == 0:
        raise ValueError("the sheet has no rolls; expected at least one")
    spots = tuple(str(spot) for spot in dict.fromkeys(frame["spot"]))
    values = {name: frame[name].to_numpy(dtype=float) for name in ("heading", "release_speed", "distance")}
    side = frame["side"].to_numpy(dtype=float) if "side" in frame else np.full(len(frame), np.nan)
    session, times = (None, ()) if session_gap_hours is None else _sessions(frame, session_gap_hours)
    spot = np.array([spots.index(str(spot)) for spot in frame["spot"]], dtype=np.int64)
    known = {"heading": -values["heading"], "speed": values["release_speed"], "distance": values["distance"]}
    known |= {"row": rows_of(frame), "file": files_of(frame), "spot": spot, "side": side}
    return Rolls(**known, spots=spots, session=session, times=times)


def _sessions(frame: pd.DataFrame, gap_hours: float) -> tuple[Any, tuple[pd.Timestamp, ...]]:
    """Split times at pauses longer than `gap_hours`: number of each row's session, and the middle of each session."""
    if not gap_hours > 0:
        raise ValueError(f"session_gap_hours is {gap_hours!r}; expected a positive number of hours")
    blank = frame["measured_at"].isna().to_numpy() if "measured_at" in frame else np.ones(len(frame), dtype=bool)
    if blank.any():
        where = f"it is blank in {placed(rows_of(frame)[blank][:1], files_of(frame)[blank][:1])}"
        raise ValueError(f"a series needs measured_at in every row ({where}); leave session_gap_hours out without")
    stamps = pd.to_datetime(frame["measured_at"]).reset_index(drop=True)
    session = (stamps.sort_values().diff() > pd.Timedelta(hours=gap_hours)).cumsum().sort_index()
    ends = stamps.groupby(session).agg(["min", "max"])
    return session.to_numpy(), tuple(ends["min"] + (ends["max"] - ends["min"]) / 2)
