"""Compares laws of resistance on the same sheet, and says when the rolls do not prefer one.

The yardstick is how well a law, fitted to all other rolls, predicts each roll: the expected log predictive density by
leave-one-out, from importance weights (Vehtari, Gelman, Gabry, Stat. Comput. 27, 1413, 2017, memory). Differences come
with a standard error over the rolls. The log evidence stands beside it; it also depends on how wide the priors are.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.fitting.importance import smoothed
from golfphys.fitting.results import Posterior

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Laws compared on one sheet.

    Parameters
    ----------
    table : DataFrame
        One line for each law, best first: ``elpd`` (expected log predictive density of the sheet's rolls), ``behind``
        (how far behind the best) with its standard error ``behind_se``, and ``log_evidence``.
    verdict : str
        What the table says, in words.
    fits : dict of RolloutFit
        The fit with each law.
    """

    table: pd.DataFrame
    verdict: str
    fits: Mapping[str, Any]


def compare_fits(fits: Mapping[str, Any]) -> Comparison:
    """Compare fits of the same sheet.

    Parameters
    ----------
    fits : dict of RolloutFit
        Fits by name, simplest first: a more complicated one must earn its place.

    Returns
    -------
    Comparison
        Table and verdict.
    """
    pointwise = {name: leave_one_out(fit.posterior) for name, fit in fits.items()}
    table = ranked(pointwise)
    table["log_evidence"] = pd.Series({name: fit.posterior.log_evidence for name, fit in fits.items()})
    return Comparison(table=table, verdict=_verdict(table, list(fits)), fits=dict(fits))


def ranked(pointwise: Mapping[str, Array]) -> pd.DataFrame:
    """Rank laws by the log predictive density that each gives to the same observations.

    Parameters
    ----------
    pointwise : mapping of str to ndarray, shape (observations,)
        By law, what `left_out` returned.

    Returns
    -------
    DataFrame
        Index: law, best first. ``elpd``, ``behind`` and ``behind_se`` as in `Comparison`.
    """
    best = max(pointwise, key=lambda law: float(pointwise[law].sum()))
    rows = []
    for law, values in pointwise.items():
        gap = pointwise[best] - values
        error = math.sqrt(gap.size) * float(gap.std(ddof=1)) if gap.size > 1 else math.nan
        rows.append({"law": law, "elpd": float(values.sum()), "behind": float(gap.sum()), "behind_se": error})
    return pd.DataFrame(rows).set_index("law").sort_values("elpd", ascending=False)


def leave_one_out(source: Posterior) -> Array:
    """Log predictive density of each observation from all others, shape (observations,)."""
    return left_out(source.model.pointwise(source.transformed), source.weights)


def left_out(logs: Array, weights: Array) -> Array:
    """Log predictive density of observations, each left out in turn.

    Parameters
    ----------
    logs : ndarray, shape (D, observations)
        Log density of every observation in every draw.
    weights : ndarray, shape (D,)
        Weights of the draws.

    Returns
    -------
    ndarray, shape (observations,)
        Of each observation, from all others.
    """
    base = np.log(np.maximum(weights, 1e-300))
    found = np.empty(logs.shape[1])
    for i, values in enumerate(logs.T):
        share, _ = smoothed(base - values)
        peak = values.max()
        found[i] = math.log(float(np.sum(share * np.exp(values - peak)))) + peak
    return found


def _verdict(table: pd.DataFrame, names: list[str]) -> str:
    best = str(table.index[0])
    clear = [
        name for name in names if _clearly_behind(_number(table, name, "behind"), _number(table, name, "behind_se"))
    ]
    level = [name for name in names if name not in clear]
    if level == [best]:
        return f"The rolls prefer '{best}': it predicts left-out rolls clearly better than every other law."
    text = f"The rolls do not prefer among {_listed(level)}: the differences are within their noise. "
    if clear:
        text += f"They speak against {_listed(clear)}. "
    return text + f"Use the simplest, '{level[0]}'."


def _listed(names: list[str]) -> str:
    return ", ".join(repr(name) for name in names)


def _number(table: pd.DataFrame, name: str, column: str) -> float:
    return float(table[column].to_numpy(dtype=float)[table.index.get_loc(name)])


def _clearly_behind(behind: float, error: float) -> bool:
    return behind > max(2.0 * error, 2.0) if math.isfinite(error) else False
