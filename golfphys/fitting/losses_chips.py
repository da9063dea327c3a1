"""A loss for observations that come in bundles: all that was seen of one chip belongs to it, or to a mis-hit."""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from golfphys.fitting.losses import StrayTolerant

Array = NDArray[np.float64]


@dataclass(frozen=True)
class MisHitTolerant:
    """Chips that are either struck as usual or mis-hit, as a whole; single readings of the former may be outliers.

    Parameters
    ----------
    bundle : ndarray of int, shape (N,)
        Which chip each observation belongs to; observations of a chip stand together.
    share : float
        Expected share of mis-hit chips.
    core : StrayTolerant
        Density of the readings of a usual chip.
    missed : StrayTolerant
        Density of the readings of a mis-hit chip, each from as usual (a thin strike may land where it should) to as far
        off as a ball that runs across the green. The widths are as likely as each other and even on a logarithmic
        scale: then how far off a mis-hit was says next to nothing about how much the usual chips scatter.

    Notes
    -----
    Share and widths are judgement (common practice, no source); how many chips of a log were mis-hit is then counted
    from the log, see `golfphys.fitting.player.mis_hit_share`.

    Examples
    --------
    >>> loss = MisHitTolerant(np.array([0, 0, 1, 1]))
    >>> [round(float(x), 2) for x in loss.usual(np.array([0.5, -1.0, 6.0, 7.0]))]
    [1.0, 0.0]
    """

    bundle: NDArray[np.int64]
    share: float = 0.04
    core: StrayTolerant = StrayTolerant((0.985, 0.011, 0.004), (1.0, 3.0, 15.0))
    missed: StrayTolerant = StrayTolerant((0.25, 0.25, 0.25, 0.25), (1.0, 4.0, 16.0, 64.0))
    _starts: NDArray[np.int64] = field(init=False, repr=False, compare=False)
    _place: NDArray[np.int64] = field(init=False, repr=False, compare=False)

    def __post_init__(self) -> None:
        """Find where each chip's observations start."""
        bundle = np.asarray(self.bundle)
        starts = np.flatnonzero(np.diff(bundle, prepend=bundle[:1] - 1))
        object.__setattr__(self, "_starts", starts)
        object.__setattr__(self, "_place", np.repeat(np.arange(starts.size), np.diff([*starts, bundle.size])))

    @property
    def scale_information(self) -> float:
        """Fisher information of one observation on the logarithm of its own scale."""
        return 1.9

    def _sums(self, u: Array) -> tuple[Array, Array]:
        """Log density of each chip as usual and as mis-hit, the shares included, each (..., chips)."""
        u = np.nan_to_num(np.clip(u, -1e6, 1e6), nan=1e6)
        usual, missed = (
            np.add.reduceat(loss.log_density(u), self._starts, axis=-1) + math.log(share)
            for loss, share in ((self.core, 1 - self.share), (self.missed, self.share))
        )
        return usual, missed

    def usual(self, u: Array) -> Array:
        """Probability that each chip was struck as usual, shape (..., chips)."""
        usual, missed = self._sums(u)
        result: Array = np.exp(usual - np.logaddexp(usual, missed))
        return result

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density: that of a chip, in equal parts for what was seen of it."""
        if u.shape[-1] == 0:
            return np.zeros_like(u)
        counts = np.bincount(self._place)
        whole: Array = np.logaddexp(*self._sums(u)) / counts
        return whole[..., self._place]

    def weight(self, u: Array) -> Array:
        """Weight of each observation."""
        if u.shape[-1] == 0:
            return np.zeros_like(u)
        usual = self.usual(u)[..., self._place]
        result: Array = usual * self.core.weight(u) + (1 - usual) * self.missed.weight(u)
        return result
