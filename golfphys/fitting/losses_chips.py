"""A loss for observations that come in bundles: a chip was struck clean, or mis-hit, or something else befell it."""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from golfphys.fitting.losses import OutlierTolerant

Array = NDArray[np.float64]

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

    Parameters
    ----------
    bundle : ndarray of int, shape (N,)
        Which chip each observation belongs to, from 0 on; observations of a chip stand together.
    noted : ndarray, shape (chips,)
        Probability of what was noted of each strike where something else befell the chip.
    share : float
        Share of chips that something else befell: a kick off a spike mark, a row of another shot, a slip of the pen.
    core : OutlierTolerant
        Density of the readings of a clean chip.
    other : OutlierTolerant
        Density of the readings of one that something else befell: its widths are as likely as each other and even on a
        logarithmic scale, so that how far off it was says next to nothing about how much clean chips scatter.

    Notes
    -----
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

    @property
    def scale_information(self) -> float:
        """Fisher information of one observation on the logarithm of its own scale."""
        return 1.9

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
        result: Array = np.exp(usual - np.logaddexp(usual, np.logaddexp(missed, other)))
        return result

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
            parts = ((usual, self.core), (other, self.other))
            for part, loss in parts:
                result[..., : self.bundle.size] += np.exp(part - total)[..., self.bundle] * loss.weight(seen)
            clean, density = u[..., -2 * chips : -chips], np.maximum(u[..., -chips:], 1e-6)
            result[..., -2 * chips : -chips] = np.where(
                clean < -1e-6, np.exp(usual - total) / -np.minimum(clean, -1e-6), 0.0
            )
            result[..., -chips:] = np.exp(missed - total) / (density * np.expm1(-density))
        return result
