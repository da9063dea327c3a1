"""What a player's earlier visits say of her: the prior of her next fit; every ground keeps its own.

Of the posterior of one visit, means and covariance of all parameters of hers go into the next as its prior, on the
scale on which priors are normal. What the visits have added to the prior of somebody never seen fades as she drifts,
and where a visit contradicts it (a new wedge, a lesson, an injury): in the end she is somebody never seen. Cost grows
as the rows do, since every visit is fitted once. With neither drift nor `VISIT`, and beside one fit of two visits at
once (12 chips each), means are off by a tenth of a standard deviation on average, by a fifth at most; lean and lofts
are as wide within 5 %, all of hers within 15 %.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.names import Array, Key, Names
from golfphys.fitting.estimator import Parameter, names_of
from golfphys.fitting.player import prior_correlation
from golfphys.fitting.proposal import likely
from golfphys.fitting.results import Posterior
from golfphys.sheets import Log

HERS = ("chips", "targets")  # kinds of sheets that tell of the player
# Parameters that belong to lies, ground, air and whoever spots the landings, and not to her
CONDITIONS = (
    *("face_friction", "spin_factor", "cushion", "unevenness", "local_slope"),
    *("drag_scale", "lift_scale", "landing_reading", "time_reading"),
)
DRIFT = 0.15  # standard deviation by which she moves in a week, over that of the prior (judged, no source)
# The same for how her swing is off at one visit: as she swings that day, and by what the laws of a fit get wrong of it
# at every visit alike. With none, five visits of players in worlds of other laws made a false delivery certain, and
# with it mis-hits (judged; seen in `tests/studies/coverage_worlds.py`)
VISIT = 0.5
# What makes her swing, and not its errors
SWING = ("attack", "shaft_lean", "edge_aim", "start_direction", "carry_bias", "lie_carry", "club_carry", "loft_error")
CHANGED = 3.0  # standard deviations from which a parameter of hers has changed; about twenty are looked at
# Of what was carried, the least that a visit is taken to have informed: chance moves what it does not inform
LEAST_INFORMED = 0.3


class Change(NamedTuple):
    """How far a visit moved a parameter in standard deviations, and the variance of a change that would explain it."""

    score: float
    variance: float


@dataclass(frozen=True, kw_only=True)
class Past:
    """What earlier visits say of a player: a normal distribution of her K parameters after their transforms."""

    priors: tuple[Parameter, ...] = ()  # her parameters, with the priors of somebody never seen
    mean: Array = field(default_factory=lambda: np.zeros(0))
    covariance: Array = field(default_factory=lambda: np.zeros((0, 0)))
    changes: Mapping[Key, Change] = field(default_factory=dict)  # by the visit it is carried to, if any was clear

    @cached_property
    def names(self) -> Names:
        """Her parameters."""
        return names_of(self.priors)

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

    def conditional(self, names: Names) -> tuple[Array, Array]:
        """What A of her parameters, not among others, are expected to be given those that are.

        Returns the slope of their means by those given, (A, K - A), and what remains of their covariance, (A, A).
        """
        here = self.among(names)
        crossed = self.covariance[np.ix_(~here, here)]
        slope = np.asarray(np.linalg.solve(self.covariance[np.ix_(here, here)], crossed.T).T, dtype=np.float64)
        return slope, self.covariance[np.ix_(~here, ~here)] - slope @ crossed.T

    def draw_absent(self, names: Names, natural: Array, chance: Mapping[Key, Array]) -> dict[Key, Array]:
        """Draw, after their transforms, those of her parameters that are not among the draws (N, P) of a fit.

        `chance` are standard normals (N,) of those wanted, or more.
        """
        here = self.among(names)
        absent = [key for key, seen in zip(self.names, here, strict=True) if not seen]
        wanted = [i for i, key in enumerate(absent) if key in chance]
        if not wanted:
            return {}
        slope, left = self.conditional(names)
        values = natural[:, names.places(self.names.keys[i] for i in np.flatnonzero(here))]
        logs = np.array([one.transform == "log" for one in self.priors])[here]
        values[:, logs] = np.log(values[:, logs])
        normal = np.stack([chance[absent[i]] for i in wanted], axis=-1)
        drawn = (self.mean[~here] + (values - self.mean[here]) @ slope.T)[:, wanted]
        drawn += normal @ np.linalg.cholesky(left[np.ix_(wanted, wanted)]).T
        return {absent[i]: drawn[:, k] for k, i in enumerate(wanted)}


def known_after(posterior: Posterior, priors: Sequence[Parameter], past: Past) -> Past:
    """Return what is known of a player after a visit.

    `priors` are the parameters of somebody never seen with the visit's clubs; `past` was carried to the visit.
    Clubs that were not used on the visit follow those that were, by the regression that `past` holds.
    """
    names = posterior.model.names
    own = [one for one in priors if names.has(*one.key) and one.name not in CONDITIONS]
    here = names_of(own)
    values = posterior.transformed[:, names.places(here)]
    mean = posterior.weights @ values
    covariance = (values - mean).T @ ((values - mean) * posterior.weights[:, None])
    sds = np.outer(*2 * [np.sqrt(np.diagonal(covariance))])
    covariance = sds * likely(covariance / sds, posterior.effective_draws)
    slope, left = past.conditional(here)
    known = past.among(here)
    order = here.places(key for key in past.names if here.has(*key))
    through = np.zeros((len(left), len(here)))
    through[:, order] = slope
    shift = mean[order] - past.mean[known]
    crossed = through @ covariance
    return Past(
        priors=(*own, *(one for one in past.priors if not here.has(*one.key))),
        mean=np.concatenate([mean, past.mean[~known] + slope @ shift]),
        covariance=np.block([[covariance, crossed.T], [crossed, left + crossed @ through.T]]),
    )


def forecast(past: Past, weeks: float, changes: Mapping[Key, Change] | None = None, *, visit: float = VISIT) -> Past:
    """Return what is carried some weeks on, or to a visit that contradicts it.

    What the visits have added to the prior of somebody never seen stands for a noisy observation of her. Drift, and
    what she may have changed, add to its noise: never is she less surely known than somebody never seen.

    `past` was known after the last visit; `changes` are as `changes_from` returns them, where the visit contradicts
    what is carried to it; `visit` is how her swing is off at one visit, over the spread of its prior.

    Examples
    --------
    >>> lean = Parameter(name="shaft_lean", location=0.14, spread=0.07)
    >>> known = Past(priors=(lean,), mean=np.array([0.10]), covariance=np.array([[0.02**2]]))
    >>> [forecast(known, weeks, visit=0.0).sd.round(3).tolist() for weeks in (0, 1, 1000)]
    [[0.02], [0.022], [0.069]]
    >>> forecast(known, 1).sd.round(3).tolist()
    [0.036]
    """
    changes = changes or {}
    centre = np.array([one.centre for one in past.priors])
    spread = np.array([one.spread for one in past.priors])
    root = np.linalg.cholesky(prior_correlation(past.names) * np.outer(spread, spread))

    def whitened(covariance: Array) -> Array:
        return np.asarray(np.linalg.solve(root, np.linalg.solve(root, covariance).T))

    size, turned = np.linalg.eigh(whitened(past.covariance))
    inverse = np.where(size < 1.0, 1.0 / np.maximum(size, 1e-9), 0.0)  # what is no surer than unseen says nothing
    added = (turned * np.maximum(inverse - 1.0, 0.0)) @ turned.T
    pull = turned @ (inverse * (turned.T @ np.linalg.solve(root, past.mean - centre)))
    changed = np.array([changes[key].variance if key in changes else 0.0 for key in past.names])
    swing = visit * spread * np.array([key.name in SWING for key in past.names])
    unit = np.eye(len(centre))
    faded = np.linalg.inv(unit + added @ (DRIFT**2 * weeks * unit + whitened(np.diag(changed + swing**2))))
    covariance = np.linalg.inv(unit + faded @ added)
    mean = centre + root @ (covariance @ faded @ pull)
    covariance = root @ (covariance + covariance.T) @ root.T / 2
    return replace(past, mean=mean, covariance=covariance, changes=changes)


def with_past(parameters: Sequence[Parameter], past: Past) -> list[Parameter]:
    """Return parameters of somebody never seen with what her earlier visits say of each as its prior.

    Examples
    --------
    >>> lean = Parameter(name="shaft_lean", location=0.14, spread=0.07)
    >>> with_past([lean], Past(priors=(lean,), mean=np.array([0.10]), covariance=np.array([[0.02**2]])))[0].location
    0.1
    """
    known = {key: (mean, sd) for key, mean, sd in zip(past.names, past.mean.tolist(), past.sd.tolist(), strict=True)}

    def informed(one: Parameter) -> Parameter:
        mean, sd = known[one.key]
        return replace(one, location=one.natural(mean), spread=sd)

    return [informed(one) if one.key in known else one for one in parameters]


def changes_from(past: Past, now: Past) -> dict[Key, Change]:
    """Return how far a visit moved each parameter of hers from what was carried to it, to what is known `now`.

    The score is that of a change of the parameter alone, in standard deviations of what it would be had she not changed
    (for normal distributions the covariance of a posterior's mean is that of the prior less that of the posterior).

    Examples
    --------
    >>> lean = (Parameter(name="shaft_lean", location=0.14, spread=0.07),)
    >>> visits = ((0.10, 0.03), (0.20, 0.01))
    >>> past, now = (Past(priors=lean, mean=np.array([m]), covariance=np.array([[sd**2]])) for m, sd in visits)
    >>> round(changes_from(past, now)["shaft_lean", ""].score, 1)
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


def visits_of(past: Any) -> list[tuple[Any, ...]]:
    """Return the sheets of each earlier visit, oldest first.

    `past` is her log as `golfphys.read_player` returns it, or visits in their order; ValueError if it is neither.

    Examples
    --------
    >>> from pathlib import Path
    >>> from golfphys.sheets import Sheet
    >>> rows = pd.DataFrame({"course": ["b", "a", "b"], "date": ["2030-05-01", "2030-04-01", "2030-05-01"]})
    >>> log = Log(folder=Path("demo player"), notes=[], chips=Sheet(kind="chips", frame=rows))
    >>> [visit[0].frame["course"].iloc[0] for visit in visits_of(log)]
    ['a', 'b']
    """
    if isinstance(past, Sequence) and not isinstance(past, str):
        return [item if isinstance(item, tuple) else (item,) for item in past]
    hers = [sheet for kind, sheet in past.sheets.items() if kind in HERS] if isinstance(past, Log) else []
    if isinstance(past, Log) and not hers:
        raise ValueError(
            "past has neither chips nor target hits of hers, and nothing else says how she chips: leave it out"
        )
    if lacking := [name for name in ("date", "course") if any(name not in sheet.frame for sheet in hers)]:
        raise ValueError(
            f"a sheet of past has no column {lacking[0]!r}, which tells visits apart; give a list of visits"
        )
    if not hers:
        raise ValueError(
            f"past is {type(past).__name__}; expected a player's log as golfphys.read_player returns it, or a list of "
            "sheets or courses, oldest first"
        )
    places = pd.concat([sheet.frame[["date", "course"]] for sheet in hers]).drop_duplicates()
    places = places.sort_values(["date", "course"], na_position="first")  # what has no day is no news
    visits = [[sheet.replaced(sheet.frame.merge(places[at : at + 1])) for sheet in hers] for at in range(len(places))]
    return [tuple(sheet for sheet in visit if len(sheet.frame)) for visit in visits]


def weeks_between(before: Mapping[str, Any], after: Mapping[str, Any]) -> float:
    """Return the weeks from one visit to the next by the last day that chips or targets note; 1 where one has none."""
    days = (_day(after) - _day(before)) / pd.Timedelta(days=7)
    return max(days, 0.0) if math.isfinite(days) else 1.0


def _day(sheets: Mapping[str, Any]) -> Any:
    logs = [sheets[kind].frame for kind in HERS if sheets.get(kind) is not None]
    noted = [log[name] for name in ("date", "measured_at") for log in logs if name in log]
    days = (pd.to_datetime(days, errors="coerce").max() for days in noted)
    return next((day for day in days if pd.notna(day)), pd.NaT)
