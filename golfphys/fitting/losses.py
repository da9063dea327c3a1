"""How a misfit is judged: the density of a residual over its scale, and how much an outlier counts.

Each loss is a density of the standardised residual u, so that noise scales can be estimated together with everything
else. The default has a normal core, because the scale it estimates then *is* the standard deviation of ordinary
rolls, and wide components, because one roll in twenty hits something.
"""

import math
from dataclasses import dataclass
from functools import reduce
from typing import Protocol

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

Array = NDArray[np.float64]


class Loss(Protocol):
    """What the estimator asks of a loss."""

    @property
    def scale_information(self) -> float:
        """Fisher information of one observation on the logarithm of its own scale."""

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density of the standardised residual `u`."""

    def weight(self, u: Array) -> Array:
        """Weight of the observation in a least squares step: slope of the loss over `u`, from 0 to about 1."""


@dataclass(frozen=True)
class Normal:
    """Normal density: no allowance for outliers.

    Examples
    --------
    >>> float(Normal().weight(np.array([30.0]))[0])
    1.0
    """

    @property
    def scale_information(self) -> float:
        """Fisher information on the log scale."""
        return 2.0

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density of the standardised residual `u`."""
        return -0.5 * u * u - 0.5 * math.log(2 * math.pi)

    def weight(self, u: Array) -> Array:
        """One for every observation."""
        return np.ones_like(u)


@dataclass(frozen=True)
class StudentT:
    """Student's t density, the usual heavy-tailed choice.

    Its scale is not the standard deviation of the ordinary observations (with `nu` 4 on normal noise it comes out
    at 0.83 of it), and its 90 % intervals on normal noise cover 88 %: `OutlierTolerant` does better on both.

    Parameters
    ----------
    nu : float
        Degrees of freedom.

    Examples
    --------
    >>> float(StudentT(4.0).weight(np.array([0.0]))[0])
    1.25
    """

    nu: float = 4.0

    @property
    def scale_information(self) -> float:
        """Fisher information on the log scale."""
        return 2 * self.nu / (self.nu + 3)

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density of the standardised residual `u`."""
        nu = self.nu
        norm = float(gammaln((nu + 1) / 2) - gammaln(nu / 2) - 0.5 * math.log(nu * math.pi))
        return norm - (nu + 1) / 2 * np.log1p(u * u / nu)

    def weight(self, u: Array) -> Array:
        """Weight of each observation."""
        return (self.nu + 1) / (self.nu + u * u)


@dataclass(frozen=True)
class OutlierTolerant:
    """Normal core with loose and outlying observations: a mixture of normal densities.

    Parameters
    ----------
    shares : tuple of float
        Expected share of ordinary, loose and outlying observations, the widest last; they sum to 1.
    widths : tuple of float
        Standard deviation of each kind over that of the ordinary ones.

    Notes
    -----
    Shares and widths are judgement (common practice, no source): one roll in forty a few times wider than usual, one in
    two hundred that hit a spike mark, a twig or a foot. On purely normal noise the loss costs under 1 % of precision.

    Examples
    --------
    >>> loss = OutlierTolerant()
    >>> [round(float(x), 3) for x in loss.weight(np.array([0.0, 2.0, 12.0]))]
    [0.994, 0.96, 0.017]
    """

    shares: tuple[float, ...] = (0.97, 0.025, 0.005)
    widths: tuple[float, ...] = (1.0, 4.0, 20.0)

    @property
    def scale_information(self) -> float:
        """Fisher information on the log scale, of a core observation."""
        return 1.8

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density of the standardised residual `u`."""
        square = -0.5 * u * u
        # far out the widest component alone counts, so its logarithm is taken out before the sum
        share, width = self.shares[-1], self.widths[-1]
        widest = square / width**2 + math.log(share / width)
        total = np.ones_like(u)
        for share, width in zip(self.shares[:-1], self.widths[:-1], strict=True):
            total = total + np.exp(square / width**2 + math.log(share / width) - widest)
        result: Array = widest + np.log(total) - 0.5 * math.log(2 * math.pi)
        return result

    def _parts(self, u: Array) -> list[Array]:
        square = -0.5 * u * u
        kinds = zip(self.shares, self.widths, strict=True)
        parts = [square / width**2 + math.log(share / width) for share, width in kinds]
        highest = reduce(np.maximum, parts)
        raw = [np.exp(part - highest) for part in parts]
        total = sum(raw[1:], raw[0])
        return [part / total for part in raw]

    def weight(self, u: Array) -> Array:
        """Weight of each observation."""
        result = np.zeros_like(u)
        for part, width in zip(self._parts(u), self.widths, strict=True):
            result = result + part / width**2
        return result

    def ordinary(self, u: Array) -> Array:
        """Probability that each observation belongs to the ordinary core."""
        return self._parts(u)[0]
