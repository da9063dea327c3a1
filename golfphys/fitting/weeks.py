"""A player over her weeks: what earlier logs say of her is the prior of the next fit; every ground keeps its own.

Of the posterior of one week, median and spread of every parameter of hers go into the next as its prior, on the scale
on which priors are normal; how two of them vary together is not carried. Between two weeks each spreads a little: a
player drifts. Cost grows as the rows do, since every week is fitted once.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd

from golfphys.fitting.estimator import Parameter
from golfphys.fitting.results import Posterior

DRIFT = 0.15
"""Standard deviation by which she moves from week to week, over that of the prior (judged, no source)."""

NOT_HERS = ("face_friction", "cushion", "local_slope", "drag_scale", "lift_scale")
"""Beginnings of names that belong to lies, ground and air."""


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


def hers(posterior: Posterior, names: Iterable[str]) -> Mapping[str, tuple[float, float]]:
    """Return median and spread of the parameters of a player, on the scale on which priors are normal.

    Parameters
    ----------
    posterior : Posterior
        Of a week.
    names : iterable of str
        Her parameters.

    Returns
    -------
    mapping of str to (float, float)
        By name.
    """
    known, found = posterior.model.names, {}
    for name in names:
        if name in known:
            values = posterior.transformed[:, known.index(name)]
            mean = float(posterior.weights @ values)
            found[name] = mean, float(np.sqrt(posterior.weights @ (values - mean) ** 2))
    return MappingProxyType(found)


def with_past(parameters: Sequence[Parameter], past: Mapping[str, tuple[float, float]]) -> list[Parameter]:
    """Return a player's parameters with what earlier weeks say of them as their priors, drift allowed for.

    Parameters
    ----------
    parameters : sequence of Parameter
        With the priors of somebody never seen.
    past : mapping of str to (float, float)
        As `hers` returns it.

    Returns
    -------
    list of Parameter
        Never less sure than somebody never seen.

    Examples
    --------
    >>> lean = Parameter(name="shaft_lean", location=0.14, spread=0.07)
    >>> with_past([lean], {"shaft_lean": (0.10, 0.02)})[0].location
    0.1
    """
    found = []
    for parameter in parameters:
        if parameter.name in past and not parameter.name.startswith(NOT_HERS):
            centre, sd = past[parameter.name]
            spread = min(float(np.hypot(sd, DRIFT * parameter.spread)), parameter.spread)
            location = float(np.exp(centre)) if parameter.transform == "log" else centre
            parameter = replace(parameter, location=location, spread=spread, reason="her earlier weeks")
        found.append(parameter)
    return found
