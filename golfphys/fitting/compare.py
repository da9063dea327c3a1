"""Compares laws on the same sheets, of resistance or of the bounce, and says when the sheets do not prefer one.

The yardstick is how well a law, fitted to all other observations, predicts each: the expected log predictive density by
leave-one-out, from importance weights (Vehtari, Gelman, Gabry, Stat. Comput. 27, 1413, 2017, memory). Differences come
with a standard error over the observations. The log evidence of laws of resistance stands beside it; it also depends on
how wide the priors are.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import partial
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import in_threads
from golfphys.core.names import Array
from golfphys.fitting.chip_density import MisHitTolerant
from golfphys.fitting.estimator import terms
from golfphys.fitting.results import Posterior
from golfphys.fitting.weights import smoothed

CLEAR = 2.0  # standard errors, and units of log density, from which a law counts as clearly behind


@dataclass(frozen=True, kw_only=True)
class Comparison:
    """Laws compared on the same sheets.

    `table` has one line for each law, best first: ``elpd`` (expected log predictive density of what the sheets hold,
    left out one roll, drop or chip at a time), ``behind`` (how far behind the best) with its standard error
    ``behind_se``, and for laws of resistance ``log_evidence``; `verdict` says it in words. `fits` has the fit with each
    law, simplest first: a more complicated one must earn its place.
    """

    table: pd.DataFrame
    verdict: str
    fits: Mapping[str, Any] = field(repr=False)

    @property
    def preferred(self) -> Any:
        """The fit with the simplest law that is not clearly behind."""
        return self.fits[_level(self.table, self.fits)[0]]


def compare_fits(fits: Mapping[str, Any]) -> Comparison:
    """Compare fits of the same rolls with laws of resistance, simplest first."""
    table = _ranked({name: _leave_one_out(fit.posterior) for name, fit in fits.items()})
    table["log_evidence"] = pd.Series({name: fit.posterior.log_evidence for name, fit in fits.items()})
    level = _level(table, fits)
    if level == [table.index[0]]:
        verdict = f"The rolls prefer '{level[0]}': it predicts left-out rolls clearly better than every other law."
    else:
        against = ", ".join(repr(name) for name in fits if name not in level)
        verdict = (
            f"The rolls do not prefer among {', '.join(map(repr, level))}: the differences are within their noise. "
            f"{f'They speak against {against}. ' if against else ''}Use the simplest, '{level[0]}'."
        )
    return Comparison(table=table, verdict=verdict, fits=dict(fits))


def compare_bounces(fits: Mapping[str, Any]) -> Comparison:
    """Compare fits of the same course with both laws of the bounce, the rigid one first."""
    table = _ranked({law: _leave_one_out(fit.posterior) for law, fit in fits.items()})
    if len(_level(table, fits)) == 1:
        verdict = f"The sheets prefer the {table.index[0]} law: it predicts what is left out clearly better."
    else:
        verdict = (
            "The sheets do not prefer a law: the difference is within its noise. Either predicts what they hold; "
            "the rigid law is the one whose numbers can be compared with published ones."
        )
    return Comparison(table=table, verdict=verdict, fits=fits)


def _leave_one_out(source: Posterior) -> Array:
    """Log predictive density of each roll, drop and chip from all others; all that was seen of a chip is one."""
    # in pieces that fit memory
    parts, pieces = [], np.array_split(source.natural, 1 + len(source.natural) // 2048)
    for block in (block for block in source.model.blocks if block.data):
        own, loss = np.concatenate(in_threads(partial(terms, block), pieces)), block.loss
        parts.append(np.add.reduceat(own, loss.starts, axis=-1) if isinstance(loss, MisHitTolerant) else own)
    logs = np.concatenate(parts, axis=-1)
    base = np.log(np.maximum(source.weights, 1e-300))
    found = np.empty(logs.shape[1])
    for i, values in enumerate(logs.T):
        share, _ = smoothed(base - values)
        peak = values.max()
        found[i] = math.log(float(np.sum(share * np.exp(values - peak)))) + peak
    return found


def _ranked(pointwise: Mapping[str, Array]) -> pd.DataFrame:
    """Rank laws by the log predictive density that each gives to the same observations, best first."""
    best = max(pointwise, key=lambda law: float(pointwise[law].sum()))
    rows = []
    for law, values in pointwise.items():
        gap = pointwise[best] - values
        error = math.sqrt(gap.size) * float(gap.std(ddof=1)) if gap.size > 1 else math.nan
        rows.append({"law": law, "elpd": float(values.sum()), "behind": float(gap.sum()), "behind_se": error})
    return pd.DataFrame(rows).set_index("law").sort_values("elpd", ascending=False)


def _level(table: pd.DataFrame, fits: Mapping[str, Any]) -> list[str]:
    """Names of the laws that are not clearly behind the best, in the order of the fits."""
    clear = table["behind"] > CLEAR * table["behind_se"].clip(lower=1.0)
    return [name for name in fits if not clear[name]]
