"""A player over her weeks: what earlier logs say of her is the prior of the next fit; every ground keeps its own.

Of the posterior of one visit, means and covariance of all parameters of hers go into the next as its prior, on the
scale on which priors are normal. What the weeks have added to the prior of somebody never seen fades as she drifts, and
where a visit contradicts it (a new wedge, a lesson, an injury): in the end she is somebody never seen. Cost grows as
the rows do, since every visit is fitted once. With neither drift nor `VISIT`, and beside one fit of two visits at once
(12 chips each), means are off by a tenth of a standard deviation on average, by a fifth at most; lean and lofts are as
wide within 5 %, all of hers within 15 %.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import SimpleNamespace
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.names import Key, Names
from golfphys.fitting.estimator import Parameter, names_of
from golfphys.fitting.player import prior_correlation

Array = NDArray[np.float64]

DRIFT = 0.15
"""Standard deviation by which she moves in a week, over that of the prior (judged, no source)."""

VISIT = 0.5
"""The same for how her swing is off at one visit: as she swings that day, and by what the laws of a fit get wrong of it
at every visit alike. With none, five visits of players in worlds of other laws made a false delivery certain, and with
it mis-hits (judged; seen in `tests/studies/coverage_weeks.py`)."""

OF_A_VISIT = ("attack", "shaft_lean", "edge_aim", "start_direction", "carry_bias", "loft_error")
"""What makes her swing, and not its errors, whatever the club."""

MOVED = 3.0
"""Standard deviations from which a parameter of hers has moved; about twenty are looked at."""

LEAST_INFORMED = 0.3
"""Of what was carried, the least that a visit is taken to have informed: chance moves what it does not inform."""


class Change(NamedTuple):
    """How far a visit moved a parameter in standard deviations, and the variance of a change that would explain it."""

    score: float
    variance: float


@dataclass(frozen=True, kw_only=True)
class Past:
    """What earlier visits say of a player: a normal distribution of her parameters after their transforms.

    `own` are her parameters, K of them, with the priors of somebody never seen; `moved` is what the visit to which it
    is carried moved, if it moved anything by `MOVED`.
    """

    own: tuple[Parameter, ...] = ()
    mean: Array = field(default_factory=lambda: np.zeros(0))
    covariance: Array = field(default_factory=lambda: np.zeros((0, 0)))
    moved: Mapping[Key, Change] = field(default_factory=dict)

    @cached_property
    def names(self) -> Names:
        """Her parameters."""
        return names_of(self.own)

    @property
    def sd(self) -> Array:
        """Standard deviations, shape (K,)."""
        return np.sqrt(np.diagonal(self.covariance))

    def correlation(self, names: Names) -> Array | None:
        """Correlation of the priors of a model's parameters, shape (P, P); None where all stand alone."""
        here = np.flatnonzero(self.among(names))
        found = prior_correlation(names)
        if not here.size:
            return None if np.array_equal(found, np.eye(len(names))) else found
        columns = names.places(self.names.keys[i] for i in here)
        found[np.ix_(columns, columns)] = (self.covariance / np.outer(self.sd, self.sd))[np.ix_(here, here)]
        return found

    def among(self, names: Names) -> NDArray[np.bool_]:
        """Which of her parameters are among others, shape (K,)."""
        return np.array([names.has(*key) for key in self.names], dtype=bool)

    def away(self, names: Names) -> tuple[Array, Array]:
        """What those of her parameters that are not among others are expected to be given those that are.

        Returns the slope of their means by those given, in the order of her own, (away, K - away), and what remains of
        their covariance.
        """
        here = self.among(names)
        crossed = self.covariance[np.ix_(~here, here)]
        slope = np.asarray(np.linalg.solve(self.covariance[np.ix_(here, here)], crossed.T).T, dtype=np.float64)
        return slope, self.covariance[np.ix_(~here, ~here)] - slope @ crossed.T

    def given(self, names: Names, natural: Array, chance: Mapping[Key, Array]) -> dict[Key, Array]:
        """Draw, after their transforms, those of her parameters that are not among the draws (N, P) of a fit.

        `chance` are standard normals (N,) of those wanted, or more.
        """
        here = self.among(names)
        absent = [key for key, seen in zip(self.names, here, strict=True) if not seen]
        wanted = [i for i, key in enumerate(absent) if key in chance]
        if not wanted:
            return {}
        slope, left = self.away(names)
        values = natural[:, names.places(self.names.keys[i] for i in np.flatnonzero(here))]
        logs = np.array([one.transform == "log" for one in self.own])[here]
        values[:, logs] = np.log(values[:, logs])
        normal = np.stack([chance[absent[i]] for i in wanted], axis=-1)
        drawn = (self.mean[~here] + (values - self.mean[here]) @ slope.T)[:, wanted]
        drawn += normal @ np.linalg.cholesky(left[np.ix_(wanted, wanted)]).T
        return {absent[i]: drawn[:, k] for k, i in enumerate(wanted)}


def weeks_of(past: Any) -> list[tuple[Any, ...]]:
    """Return the sheets of each earlier visit, oldest first.

    `past` is her log as `golfphys.read_player` returns it, or visits in their order; ValueError if it is neither.

    Examples
    --------
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
    return [(SimpleNamespace(chips=rows.reset_index(drop=True)),) for _, rows in visits]


def weeks_between(before: Any, after: Any) -> float:
    """Return the weeks from one sheet of chips to the next by the last day that each notes; 1 where one notes none."""
    days = (_day(after) - _day(before)) / pd.Timedelta(days=7)
    return max(days, 0.0) if math.isfinite(days) else 1.0


def _day(log: Any) -> Any:
    rows = getattr(log, "chips", pd.DataFrame())
    noted = [pd.to_datetime(rows[name], errors="coerce").max() for name in ("date", "measured_at") if name in rows]
    return next((day for day in noted if pd.notna(day)), pd.NaT)


def later(past: Past, weeks: float, changes: Mapping[Key, Change] | None = None, *, visit: float = VISIT) -> Past:
    """Return what is carried some weeks on, or to a visit that contradicts it.

    What the weeks have added to the prior of somebody never seen stands for a noisy observation of her. Drift, and what
    she may have changed, add to its noise: never is she less surely known than somebody never seen.

    `past` was known after the last visit; `changes` are as `moved` returns them, where the visit contradicts what is
    carried to it; `visit` is how her swing is off at one visit, over the spread of its prior.

    Examples
    --------
    >>> lean = Parameter(name="shaft_lean", location=0.14, spread=0.07)
    >>> known = Past(own=(lean,), mean=np.array([0.10]), covariance=np.array([[0.02**2]]))
    >>> [later(known, weeks, visit=0.0).sd.round(3).tolist() for weeks in (0, 1, 1000)]
    [[0.02], [0.022], [0.069]]
    >>> later(known, 1).sd.round(3).tolist()
    [0.036]
    """
    changes = changes or {}
    centre = np.array([one.centre for one in past.own])
    spread = np.array([one.spread for one in past.own])
    root = np.linalg.cholesky(prior_correlation(past.names) * np.outer(spread, spread))

    def whitened(covariance: Array) -> Array:
        return np.asarray(np.linalg.solve(root, np.linalg.solve(root, covariance).T))

    size, turned = np.linalg.eigh(whitened(past.covariance))
    inverse = np.where(size < 1.0, 1.0 / np.maximum(size, 1e-9), 0.0)  # what is no surer than unseen says nothing
    added = (turned * np.maximum(inverse - 1.0, 0.0)) @ turned.T
    pull = turned @ (inverse * (turned.T @ np.linalg.solve(root, past.mean - centre)))
    changed = np.array([changes[key].variance if key in changes else 0.0 for key in past.names])
    swing = visit * spread * np.array([key.name in OF_A_VISIT for key in past.names])
    unit = np.eye(len(centre))
    faded = np.linalg.inv(unit + added @ (DRIFT**2 * weeks * unit + whitened(np.diag(changed + swing**2))))
    covariance = np.linalg.inv(unit + faded @ added)
    mean = centre + root @ (covariance @ faded @ pull)
    covariance = root @ (covariance + covariance.T) @ root.T / 2
    return replace(past, mean=mean, covariance=covariance, moved=changes)


def with_past(parameters: Sequence[Parameter], past: Past) -> list[Parameter]:
    """Return parameters of somebody never seen with what her earlier weeks say of each as its prior.

    Examples
    --------
    >>> lean = Parameter(name="shaft_lean", location=0.14, spread=0.07)
    >>> with_past([lean], Past(own=(lean,), mean=np.array([0.10]), covariance=np.array([[0.02**2]])))[0].location
    0.1
    """
    known = dict(zip(past.names, zip(past.mean.tolist(), past.sd.tolist(), strict=True), strict=True))

    def informed(one: Parameter) -> Parameter:
        mean, sd = known[one.key]
        return replace(one, location=one.natural(mean), spread=sd, reason="her earlier weeks")

    return [informed(one) if one.key in known else one for one in parameters]


def moved(past: Past, now: Past) -> dict[Key, Change]:
    """Return how far a visit moved each parameter of hers from what was carried to it, to what is known `now`.

    The score is that of a change of the parameter alone, in standard deviations of what it would be had she not changed
    (for normal distributions the covariance of a posterior's mean is that of the prior less that of the posterior).

    Examples
    --------
    >>> own = (Parameter(name="shaft_lean", location=0.14, spread=0.07),)
    >>> visits = ((0.10, 0.03), (0.20, 0.01))
    >>> past, now = (Past(own=own, mean=np.array([m]), covariance=np.array([[sd**2]])) for m, sd in visits)
    >>> round(moved(past, now)["shaft_lean", ""].score, 1)
    3.5
    """
    order = now.names.places(past.names)
    inverse = np.linalg.inv(past.covariance)
    pull = inverse @ (now.mean[order] - past.mean)
    gained = inverse @ (past.covariance - now.covariance[np.ix_(order, order)]) @ inverse
    informed = np.maximum(np.diagonal(gained), LEAST_INFORMED**2 * np.diagonal(inverse))
    scores = pull / np.sqrt(informed)
    variances = np.maximum(scores**2 - 1.0, 0.0) / informed
    return {key: Change(*pair) for key, *pair in zip(past.names, scores.tolist(), variances.tolist(), strict=True)}
