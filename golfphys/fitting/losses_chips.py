"""A loss for observations that come in bundles: all that was seen of one chip belongs to it, or to a mis-hit."""

import math
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import NDArray

from golfphys.fitting.losses import StrayTolerant

Array = NDArray[np.float64]


@dataclass(frozen=True)
class MisHitTolerant:
    """Chips that are either struck as usual or mis-hit, as a whole; single readings of the former may be stray.

    Parameters
    ----------
    bundle : ndarray of int, shape (N,)
        Which chip each observation belongs to; observations of a chip stand together.
    share : float
        Expected share of mis-hit chips.
    widths : tuple of float
        Standard deviations of all that is seen of a mis-hit chip, over that of a usual one, each as likely as the
        others: from a poor strike to a thin one that runs across the green. The widest keeps a ball however far off
        from counting as scatter of the usual ones.
    core : StrayTolerant
        Density of the readings of a usual chip.

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
    widths: tuple[float, ...] = (4.0, 16.0, 64.0)
    core: StrayTolerant = StrayTolerant((0.985, 0.011, 0.004), (1.0, 3.0, 15.0))
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

    def _sums(self, u: Array) -> Array:
        """Log density of each chip as usual and as mis-hit by each width, the shares included, (kinds, ..., chips)."""
        u = np.nan_to_num(np.clip(u, -1e6, 1e6), nan=1e6)
        kinds = [self.core.log_density(u)]
        kinds += [-0.5 * (u / width) ** 2 - math.log(width) - 0.5 * math.log(2 * math.pi) for width in self.widths]
        shares = np.array([1 - self.share, *[self.share / len(self.widths)] * len(self.widths)])
        sums = np.add.reduceat(np.stack(kinds), self._starts, axis=-1)
        result: Array = sums + np.log(shares).reshape(-1, *[1] * u.ndim)
        return result

    def _odds(self, u: Array) -> Array:
        """Probability that each chip was usual, or mis-hit by each width, shape (kinds, ..., chips)."""
        sums = self._sums(u)
        relative = np.exp(sums - sums.max(axis=0))
        result: Array = relative / relative.sum(axis=0)
        return result

    def usual(self, u: Array) -> Array:
        """Probability that each chip was struck as usual, shape (..., chips)."""
        result: Array = self._odds(u)[0]
        return result

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density: that of a chip, in equal parts for what was seen of it."""
        if u.shape[-1] == 0:
            return np.zeros_like(u)
        counts = np.bincount(self._place)
        whole = np.logaddexp.reduce(self._sums(u), axis=0) / counts
        result: Array = whole[..., self._place]
        return result

    def weight(self, u: Array) -> Array:
        """Weight of each observation."""
        if u.shape[-1] == 0:
            return np.zeros_like(u)
        usual, *missed = self._odds(u)[..., self._place]
        result: Array = usual * self.core.weight(u)
        for odds, width in zip(missed, self.widths, strict=True):
            result = result + odds / width**2
        return result

    def draw_precision(self, u: Array, generator: np.random.Generator) -> Array:
        """Draw each observation's precision: first which chips were mis-hit, then which readings are stray."""
        if u.shape[-1] == 0:
            return np.zeros_like(u)
        odds = np.cumsum(self._odds(u), axis=0)
        kind = (generator.random(odds.shape[1:]) > odds[:-1]).sum(axis=0)[..., self._place]
        wide = 1.0 / np.square([1.0, *self.widths])
        return np.where(kind > 0, wide[kind], self.core.draw_precision(u, generator))
