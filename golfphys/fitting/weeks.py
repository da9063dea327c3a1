"""A player over her weeks: what earlier logs say of her is the prior of the next fit; every ground keeps its own.

Of the posterior of one visit, mean and spread of every parameter of hers go into the next as its prior, on the scale on
which priors are normal; how two of them vary together is not carried. From week to week each spreads a little: a
player drifts. Where a visit contradicts what is carried (a new wedge, a lesson, an injury), what moved counts for less.
Cost grows as the rows do, since every visit is fitted once. Beside one fit of two visits at once (one
course, 32 chips), means are off by a fifth of a standard deviation on average, by half at most; spreads are 0.8 to 1.1
times as wide.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any, NamedTuple

import pandas as pd

from golfphys.fitting.estimator import Parameter
from golfphys.fitting.results import Posterior

DRIFT = 0.15
"""Standard deviation by which she moves in a week, over that of the prior (judged, no source)."""

NOT_HERS = ("face_friction", "cushion", "local_slope", "drag_scale", "lift_scale", "landing_reading", "time_reading")
"""Beginnings of names that belong to lies, ground, air and whoever spots the landings."""

MOVED = 3.0
"""Standard deviations from which a parameter of hers has moved; about twenty are looked at."""

LEAST_INFORMED = 0.3
"""Of what was carried, the least that a visit is taken to have informed: chance moves what it does not inform."""


class Carried(NamedTuple):
    """What earlier visits say of one parameter: mean and sd after its transform, weeks since, how much it counts."""

    mean: float
    sd: float
    weeks: float = 1.0
    weight: float = 1.0


Past = Mapping[str, Carried]


@dataclass(frozen=True, kw_only=True)
class Chipped:
    """The chips of one visit, as a sheet of chips that can be fitted.

    Parameters
    ----------
    chips : DataFrame
        Rows of her log.
    """

    chips: pd.DataFrame


def weeks_of(past: Any) -> list[tuple[Any, ...]]:
    """Return the sheets of each earlier visit, oldest first.

    Parameters
    ----------
    past : Log, or sequence of sheets, courses, or tuples of sheets
        Her log as `golfphys.read_player` returns it, or visits in their order.

    Returns
    -------
    list of tuple
        The sheets of each visit.

    Raises
    ------
    ValueError
        If it is neither.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> rows = pd.DataFrame({"course": ["b", "a", "b"], "date": ["2030-05-01", "2030-04-01", "2030-05-01"]})
    >>> [visit[0].chips["course"].iloc[0] for visit in weeks_of(SimpleNamespace(chips=SimpleNamespace(chips=rows)))]
    ['a', 'b']
    """
    if isinstance(past, Sequence) and not isinstance(past, str):
        return [item if isinstance(item, tuple) else (item,) for item in past]
    log = getattr(past, "chips", None)
    if log is None or not {"course", "date"} <= set(getattr(log, "chips", ())):
        raise ValueError(
            f"past is {type(past).__name__}; expected a player's log as golfphys.read_player returns it, or a list of "
            "sheets or courses, oldest first"
        )
    visits = log.chips.groupby(["date", "course"], dropna=False, sort=True)
    return [(Chipped(chips=rows.reset_index(drop=True)),) for _, rows in visits]


def weeks_between(before: Any, after: Any) -> float:
    """Return the weeks from one sheet of chips to the next by the last day that each notes; 1 where one notes none."""
    days = (_day(after) - _day(before)) / pd.Timedelta(days=7)
    return max(days, 0.0) if math.isfinite(days) else 1.0


def _day(log: Any) -> Any:
    rows = getattr(log, "chips", pd.DataFrame())
    noted = [pd.to_datetime(rows[name], errors="coerce").max() for name in ("date", "measured_at") if name in rows]
    return next((day for day in noted if pd.notna(day)), pd.NaT)


def later(past: Past, weeks: float) -> Past:
    """Return what is carried, some weeks on."""
    return {name: known._replace(weeks=known.weeks + weeks) for name, known in past.items()}


def hers(posterior: Posterior, own: Sequence[Parameter]) -> Past:
    """Return mean and spread of the parameters of a player, on the scale on which priors are normal."""
    found = {}
    for number, name in enumerate(posterior.model.names):
        if name in {parameter.name for parameter in own} and not name.startswith(NOT_HERS):
            values = posterior.transformed[:, number]
            mean = float(posterior.weights @ values)
            found[name] = Carried(mean, math.sqrt(float(posterior.weights @ (values - mean) ** 2)), 0.0)
    return found


def with_past(parameters: Sequence[Parameter], past: Past) -> list[Parameter]:
    """Return a player's parameters with what earlier weeks say of them as their priors, drift allowed for.

    Parameters
    ----------
    parameters : sequence of Parameter
        With the priors of somebody never seen.
    past : mapping of str to Carried
        As `hers` returns it.

    Returns
    -------
    list of Parameter
        Never less sure than somebody never seen.

    Examples
    --------
    >>> lean = Parameter(name="shaft_lean", location=0.14, spread=0.07)
    >>> with_past([lean], {"shaft_lean": Carried(0.10, 0.02)})[0].location
    0.1
    """
    return [_informed(one, past[one.name]) if one.name in past else one for one in parameters]


def _informed(never_seen: Parameter, known: Carried) -> Parameter:
    sd = math.hypot(known.sd, DRIFT * never_seen.spread * math.sqrt(known.weeks))
    # what the past adds to somebody never seen, to the power of what it counts
    counts = known.weight if sd < never_seen.spread else 0.0
    first, second = (1.0 - counts) / never_seen.spread**2, counts / sd**2
    centre = (first * never_seen.centre + second * known.mean) / (first + second)
    spread = (first + second) ** -0.5
    return replace(never_seen, location=never_seen.natural(centre), spread=spread, reason="her earlier weeks")


def moved(past: Past, now: Past, own: Sequence[Parameter]) -> dict[str, float]:
    """Return how far a visit moved each parameter of hers from what was carried to it.

    Parameters
    ----------
    past, now : mapping of str to Carried
        What was carried to the visit, and what its posterior says.
    own : sequence of Parameter
        With the priors of somebody never seen.

    Returns
    -------
    dict of str to float
        By name, in standard deviations of what the visit could have moved it by had she not changed: for normal
        distributions the variance of a posterior's mean is that of the prior less that of the posterior.

    Examples
    --------
    >>> lean = Parameter(name="shaft_lean", location=0.14, spread=0.07)
    >>> scores = moved({"shaft_lean": Carried(0.10, 0.02)}, {"shaft_lean": Carried(0.20, 0.01, 0.0)}, [lean])
    >>> round(scores["shaft_lean"], 1)
    4.9
    """
    found = {}
    for one in own:
        if one.name in past and one.name in now:
            prior, seen = _informed(one, past[one.name]), now[one.name]
            could = math.sqrt(max(prior.spread**2 - seen.sd**2, (LEAST_INFORMED * prior.spread) ** 2))
            found[one.name] = (seen.mean - prior.centre) / could
    return found


def doubted(past: Past, scores: Mapping[str, float]) -> Past:
    """Return what is carried with less weight on what a visit moved, if it moved anything by `MOVED`.

    Parameters
    ----------
    past : mapping of str to Carried
        What was carried to the visit.
    scores : mapping of str to float
        As `moved` returns them.

    Returns
    -------
    mapping of str to Carried
        A parameter moved by so many standard deviations counts by one over their square: had its spread been so much
        wider, the visit would be no surprise.

    Examples
    --------
    >>> known = {"shaft_lean": Carried(0.10, 0.02), "attack": Carried(-0.1, 0.02)}
    >>> [one.weight for one in doubted(known, {"shaft_lean": 5.0, "attack": 0.4}).values()]
    [0.04, 1.0]
    """
    if max(map(abs, scores.values()), default=0.0) < MOVED:
        return past
    return {name: one._replace(weight=max(1.0, abs(scores.get(name, 0.0))) ** -2) for name, one in past.items()}
