"""What would be known after a measurement that has not been made: linear and normal about a fit.

The covariance of the unknowns, what is wanted in terms of them, and the answer of each planned observation to them give
the posterior covariance without knowing what will be seen (preposterior analysis; Raiffa and Schlaifer, Applied
Statistical Decision Theory, 1961, memory).
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

RIDGE = 0.02
"""Part by which covariances with many unknowns are drawn towards none, for the chance in so many draws."""


@dataclass(frozen=True, kw_only=True)
class Planned:
    """How planned observations answer to the unknowns.

    Parameters
    ----------
    slope : ndarray, shape (observations, P)
        Change of each for a change of each unknown by its spread.
    noise : ndarray, shape (observations,)
        Standard deviation of each about what the unknowns make of it.
    """

    slope: Array
    noise: Array


@dataclass(frozen=True, kw_only=True)
class Uncertainty:
    """Middle, spread and covariance of unknowns (in units of their spread) and of what is wanted of them.

    Parameters
    ----------
    middle, spread : ndarray, shape (P,)
        Of the unknowns.
    unknowns : ndarray, shape (P, P)
        Covariance of the unknowns.
    crossed : ndarray, shape (P, W)
        Covariance of the unknowns with what is wanted.
    wanted : ndarray, shape (W, W)
        Covariance of what is wanted.
    """

    middle: Array
    spread: Array
    unknowns: Array
    crossed: Array
    wanted: Array

    @classmethod
    def of(cls, natural: Array, wanted: Array) -> "Uncertainty":
        """Return the uncertainty that draws show.

        Parameters
        ----------
        natural : ndarray, shape (n, P)
            Draws of the unknowns.
        wanted : ndarray, shape (n, W)
            What each draw makes of what is wanted.

        Returns
        -------
        Uncertainty
            Moments of the draws.
        """
        middle = np.median(natural, axis=0)
        spread = np.maximum(natural.std(axis=0), 1e-12)
        scaled = (natural - natural.mean(axis=0)) / spread
        # a value far off the rest of the draws is a corner of the prior, and not what a normal can hold
        low, high = np.quantile(wanted, [0.005, 0.995], axis=0)
        off = np.clip(wanted, low, high)
        off = off - off.mean(axis=0)
        count = len(scaled) - 1
        together = scaled.T @ scaled / count
        together = (1 - RIDGE) * together + RIDGE * np.eye(len(together))
        return cls(
            middle=middle,
            spread=spread,
            unknowns=together,
            crossed=(1 - RIDGE) * scaled.T @ off / count,
            wanted=off.T @ off / count,
        )

    def explained(self, planned: Planned) -> Array:
        """Return the part of the covariance of what is wanted that observations would take away, shape (W, W)."""
        slope = planned.slope
        seen = slope @ self.unknowns @ slope.T + np.diag(planned.noise**2)
        found: Array = self.crossed.T @ slope.T @ np.linalg.solve(seen, slope @ self.crossed)
        return found


def root_mean_variance(covariance: Array) -> float:
    """Return the root mean square standard deviation of a covariance; rounding below zero counts as zero."""
    return math.sqrt(max(float(np.mean(np.diag(covariance))), 0.0))
