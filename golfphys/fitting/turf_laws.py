"""Compares the laws of the bounce on the sheets of a course, and says when they do not prefer one.

As `golfphys.fitting.compare`, with everything seen of one chip left out together.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.fitting.compare import left_out, ranked
from golfphys.fitting.estimator import terms

Array = NDArray[np.float64]

CLEAR = 2.0
"""Standard errors, and units of log density, from which a law counts as clearly behind."""


@dataclass(frozen=True, kw_only=True)
class TurfComparison:
    """Laws of the bounce compared on one course.

    Parameters
    ----------
    table : DataFrame
        One line for each law, best first: ``elpd`` (expected log predictive density of rolls, drops and chips left out
        one at a time), ``behind`` (how far behind the best) with its standard error ``behind_se``.
    verdict : str
        What the table says, in words.
    fits : dict of CourseFit
        The fit with each law.
    """

    table: pd.DataFrame
    verdict: str
    fits: Mapping[str, Any]

    @property
    def preferred(self) -> Any:
        """The fit with the law that the sheets prefer; the rigid one where they prefer none."""
        return self.fits[str(self.table.index[0]) if _clear(self.table) else "rigid"]


def compare(fits: Mapping[str, Any]) -> TurfComparison:
    """Compare fits of the same sheets.

    Parameters
    ----------
    fits : dict of CourseFit
        Fits by law.

    Returns
    -------
    TurfComparison
        Table and verdict.
    """
    table = ranked({law: leave_one_out(fit) for law, fit in fits.items()})
    return TurfComparison(table=table, verdict=_verdict(table), fits=fits)


def leave_one_out(fit: Any) -> Array:
    """Return the log predictive density of each roll, drop and chip from all others.

    Parameters
    ----------
    fit : CourseFit
        The fit.

    Returns
    -------
    ndarray
        One number for each observation; all that was seen of a chip is one.
    """
    source = fit.posterior
    natural = source.natural
    parts = []
    for block in source.model.blocks:
        if block.data:
            values = terms(block, natural)
            if block.name == "chips" and fit.seen.chips is not None:
                counts = fit.seen.chips.seen.sum(axis=1)
                starts = np.concatenate([[0], np.cumsum(counts[counts > 0])[:-1]])
                values = np.add.reduceat(values, starts, axis=-1)
            parts.append(values)
    return left_out(np.concatenate(parts, axis=-1), source.weights)


def _clear(table: pd.DataFrame) -> bool:
    behind = table.iloc[-1]
    return float(behind["behind"]) > CLEAR * max(float(behind["behind_se"]), 1.0)


def _verdict(table: pd.DataFrame) -> str:
    if _clear(table):
        return f"The sheets prefer the {table.index[0]} law: it predicts what is left out clearly better."
    return (
        "The sheets do not prefer a law: the difference is within its noise. Either will do for chips like these; the "
        "rigid law is the one whose numbers can be compared with published ones."
    )
