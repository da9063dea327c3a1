"""How a misfit is judged: the density of a residual over its scale, and how much an outlier counts.

Each loss is a density of the standardised residual u, so that noise scales can be estimated together with everything
else. Chips come in bundles: each was struck clean, or mis-hit, or something else befell it.
"""

import math
from dataclasses import dataclass, field
from functools import reduce

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]


@dataclass(frozen=True)
class Normal:
    """Normal density: no allowance for outliers; see `golfphys.fitting.estimator.Loss`."""

    scale_information = 2.0

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density of the standardised residual `u`."""
        return -0.5 * u * u - 0.5 * math.log(2 * math.pi)

    def weight(self, u: Array) -> Array:
        """One for every observation."""
        return np.ones_like(u)


@dataclass(frozen=True)
class OutlierTolerant:
    """Normal core with loose and outlying observations: a mixture of normal densities.

    The core is normal because the scale estimated then *is* the standard deviation of ordinary rolls. `shares` are
    those expected of ordinary, loose and outlying observations, the widest last, which sum to 1; `widths` the standard
    deviation of each kind over that of the ordinary ones. Both are judgement (common practice, no source): one roll in
    forty a few times wider than usual, one in two hundred that hit a spike mark, a twig or a foot. On purely normal
    noise the loss costs under 1 % of precision.

    Examples
    --------
    >>> loss = OutlierTolerant()
    >>> [round(float(x), 3) for x in loss.weight(np.array([0.0, 2.0, 12.0]))]
    [0.994, 0.96, 0.017]
    """

    shares: tuple[float, ...] = (0.97, 0.025, 0.005)
    widths: tuple[float, ...] = (1.0, 4.0, 20.0)

    scale_information = 1.8

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density of the standardised residual `u`."""
        *others, widest = self._logs(u)
        # far out the widest component alone counts, so its logarithm is taken out before the sum
        total = np.ones_like(u)
        for one in others:
            total = total + np.exp(one - widest)
        return np.asarray(widest + np.log(total) - 0.5 * math.log(2 * math.pi))

    def _logs(self, u: Array) -> list[Array]:
        square = -0.5 * u * u
        kinds = zip(self.shares, self.widths, strict=True)
        return [square / width**2 + math.log(share / width) for share, width in kinds]

    def _odds(self, u: Array) -> list[Array]:
        logs = self._logs(u)
        highest = reduce(np.maximum, logs)
        raw = [np.exp(one - highest) for one in logs]
        total = sum(raw[1:], raw[0])
        return [one / total for one in raw]

    def weight(self, u: Array) -> Array:
        """Weight of each observation."""
        return np.asarray(sum(odds / width**2 for odds, width in zip(self._odds(u), self.widths, strict=True)))

    def ordinary(self, u: Array) -> Array:
        """Probability that each observation belongs to the ordinary core."""
        return self._odds(u)[0]


LEVEL = 30.0
"""Logarithm by which mis-hits are lifted before they are packed, so that 0 means none: exp(-30) of a clean strike."""


def packed(ratio: Array) -> Array:
    """Pack the logarithm of density as a mis-hit over that as a clean strike; 0 where it does not matter.

    Examples
    --------
    >>> [round(float(unpacked(packed(np.array(x)))), 6) for x in (-5.0, 4.0)]
    [-5.0, 4.0]
    """
    return np.logaddexp(0.0, np.asarray(ratio) + LEVEL)


def unpacked(value: Array) -> Array:
    """Return what `packed` was given."""
    small = np.maximum(np.asarray(value), 1e-12)
    return small + np.log(-np.expm1(-small)) - LEVEL


@dataclass(frozen=True)
class MisHitTolerant:
    """Chips that are struck clean, mis-hit, or befallen by something else, as a whole.

    What it is given of each chip are residuals over their scales, given that the strike was clean, and after those of
    all chips two numbers for each: the logarithm of the probability of a clean strike with what was noted of it, and
    `packed` the density of everything as a mis-hit over that of a clean strike whose residuals are all 0 and without
    the normal density's constants.

    `bundle` (N,) says which chip each observation belongs to, from 0 on; observations of a chip stand together. `noted`
    (chips,) is the probability of what was noted of each strike where something else befell the chip, `share` the share
    of such chips: a kick off a spike mark, a row of another shot, a slip of the pen. `core` is the density of the
    readings of a clean chip, `other` of such a one: its widths are as likely as each other and even on a logarithmic
    scale, so that how far off it was says next to nothing about how much clean chips scatter.

    Shares and widths are judgement (common practice, no source). Mis-hits are not among them: how often and how badly
    they happen follows from the errors of the strike, see `golfphys.fitting.strikes`.

    Examples
    --------
    >>> loss = MisHitTolerant(np.array([0, 0, 1, 1]), np.ones(2))
    >>> u = np.array([0.5, -1.0, 9.0, 12.0, 0.0, 0.0, 0.0, 0.0])
    >>> [round(float(x), 2) for x in loss.usual(u)]
    [1.0, 0.0]
    """

    bundle: NDArray[np.int64]
    noted: Array
    share: float = 0.01
    core: OutlierTolerant = OutlierTolerant((0.985, 0.011, 0.004), (1.0, 3.0, 15.0))
    other: OutlierTolerant = OutlierTolerant((0.25, 0.25, 0.25, 0.25), (1.0, 4.0, 16.0, 64.0))
    _starts: NDArray[np.int64] = field(init=False, repr=False, compare=False)
    _counts: NDArray[np.int64] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Find where each chip's observations start."""
        bundle = np.asarray(self.bundle)
        object.__setattr__(self, "_starts", np.flatnonzero(np.diff(bundle, prepend=bundle[:1] - 1)))
        object.__setattr__(self, "_counts", np.bincount(bundle))

    scale_information = 1.9

    def kinds(self, u: Array) -> tuple[Array, Array, Array]:
        """Log density of each chip as struck clean, as mis-hit and as something else, each (..., chips)."""
        u = np.nan_to_num(np.clip(u, -1e6, 1e6), nan=1e6)
        chips = self._starts.size
        seen = u[..., : self.bundle.size]
        clean, mis_hit = u[..., -2 * chips : -chips], u[..., -chips:]
        usual, other = (
            np.add.reduceat(loss.log_density(seen), self._starts, axis=-1) for loss in (self.core, self.other)
        )
        kept = math.log(1 - self.share)
        return kept + clean + usual, kept + unpacked(mis_hit), math.log(self.share) + np.log(self.noted) + other

    def usual(self, u: Array) -> Array:
        """Probability that each chip was struck clean, shape (..., chips)."""
        usual, missed, other = self.kinds(u)
        return np.asarray(np.exp(usual - np.logaddexp(usual, np.logaddexp(missed, other))))

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density: that of a chip, in equal parts for what was seen of it."""
        result = np.zeros_like(u)
        if self.bundle.size:
            usual, missed, other = self.kinds(u)
            whole: Array = np.logaddexp(usual, np.logaddexp(missed, other)) / self._counts
            result[..., : self.bundle.size] = whole[..., self.bundle]
        return result

    def weight(self, u: Array) -> Array:
        """Weight of each observation, and of the two numbers of each chip: their slope of the loss over themselves.

        That of the first is also about the Fisher information on the logarithm of the probability of a clean strike.
        """
        result = np.zeros_like(u)
        if self.bundle.size:
            usual, missed, other = self.kinds(u)
            total = np.logaddexp(usual, np.logaddexp(missed, other))
            seen, chips = u[..., : self.bundle.size], self._starts.size
            for kind, loss in ((usual, self.core), (other, self.other)):
                result[..., : self.bundle.size] += np.exp(kind - total)[..., self.bundle] * loss.weight(seen)
            clean, density = u[..., -2 * chips : -chips], np.maximum(u[..., -chips:], 1e-6)
            slope = np.exp(usual - total) / -np.minimum(clean, -1e-6)
            result[..., -2 * chips : -chips] = np.where(clean < -1e-6, slope, 0.0)
            result[..., -chips:] = np.exp(missed - total) / (density * np.expm1(-density))
        return result
