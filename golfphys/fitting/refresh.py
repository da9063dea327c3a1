"""Moves weighted draws to the posterior where a few of them carry too much weight.

Many short Markov chains, all stepping at once, start from the weighted draws. Each round has three moves that leave the
posterior as it is: which observations are ordinary and which stray, given the residuals (exact); the inner parameters,
given those and the noise scales (a normal that nearly fits, accepted or refused by Metropolis and Hastings); and the
noise scales, given everything else (a random walk). Starting next to the posterior, a dozen rounds are enough. Where
the normal hardly fits, groups of parameters also step along differences between other chains (ter Braak, Stat. Comput.
16, 239, 2006, memory), and a parameter that may be free over most of its prior is now and then drawn from that prior
anew: the normal and the other chains only know the part of it where they are.
"""

import itertools
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from golfphys.fitting.estimator import Block, Model
from golfphys.fitting.search import Mode, root_of

Array = NDArray[np.float64]


QUICK = 4
"""Steps of a group of noise scales in each round: they leave what is expected as it is, which is quick."""

FITS = 0.3
"""Share of inner moves accepted above which the normal fits well enough to do without group moves."""


@dataclass(frozen=True)
class Refreshed:
    """Draws after the moves, and the share of inner moves that were accepted."""

    transformed: Array
    accepted: float


def refresh(
    mode: Mode, start: Array, generator: np.random.Generator, rounds: int = 12, *, bent: bool = False
) -> Refreshed:
    """Move draws to the posterior.

    Parameters
    ----------
    mode : Mode
        Mode and normal approximation, which make the proposals.
    start : ndarray, shape (D, P)
        Transformed draws to start from, equally weighted.
    generator : numpy.random.Generator
        Source of randomness.
    rounds : int
        Rounds of moves; three times as many with group moves.
    bent : bool
        Make group moves however well the normal fits.

    Returns
    -------
    Refreshed
        Draws of the same shape, and the share of accepted inner moves in the last half.
    """
    chains = _Chains(mode, start.copy(), generator)
    first = chains.round()
    bent = bent or mode.model.bends or first < FITS
    # group moves are slower than whole ones, so they need longer to forget where they started
    count = 3 * rounds if bent else rounds
    free = itertools.cycle(mode.model.free) if bent and mode.model.free else itertools.repeat(None)
    accepted = [chains.round(groups=bent, free=name) for _, name in zip(range(count), free, strict=False)]
    return Refreshed(chains.at, float(np.mean(accepted)))


class _Chains:
    """State of all chains: where they are, and the precision that each observation has there."""

    def __init__(self, mode: Mode, start: Array, generator: np.random.Generator) -> None:
        self.mode, self.model, self.at, self.generator = mode, mode.model, start, generator
        self.precisions: list[Array] = []

    def round(self, *, groups: bool = False, free: str | None = None) -> float:
        self.sort_strays()
        accepted = self.move_inner()
        for _ in range(2):
            self.move_outer()
        if groups:
            self.move_groups()
        if free is not None:
            self.move_free(free)
        return accepted

    def sort_strays(self) -> None:
        self.precisions = [
            block.loss.draw_precision(u, self.generator) for block, u, _ in _standardised(self.model, self.at)
        ]
        self.value = self.log_density(self.at)

    def log_density(self, at: Array, rows: slice = slice(None)) -> Array:
        total = self.model.log_prior(at)
        for precision, (_, u, scale) in zip(self.precisions, _standardised(self.model, at), strict=True):
            total = total - (0.5 * precision[rows] * u * u + np.log(scale)).sum(axis=-1)
        if self.model.extra is not None:
            total = total + self.model.extra(self.model.natural(at)).sum(axis=-1)
        return np.where(np.isfinite(total), total, -1e12)

    def move_inner(self) -> float:
        outer = self.model.outer
        step, precision, _ = self.mode.local.solve(self.at[:, outer], self.precisions)
        mean = self.mode.point[~outer] + step
        lower = root_of(precision)
        z = self.generator.standard_normal(mean.shape)
        # a t with many degrees of freedom keeps the tails of the proposal above those of the posterior
        df = 20.0 + 2 * z.shape[1]
        z *= np.sqrt(df / self.generator.chisquare(df, (len(z), 1)))
        there = self.at.copy()
        there[:, ~outer] = mean + np.linalg.solve(np.swapaxes(lower, 1, 2), z[..., None])[..., 0]
        back = np.einsum("mji,mj->mi", lower, self.at[:, ~outer] - mean)
        size = z.shape[1]
        correction = (
            -(df + size) / 2 * (np.log1p(np.sum(back * back, axis=1) / df) - np.log1p(np.sum(z * z, axis=1) / df))
        )
        return self._take(there, correction)

    def move_outer(self) -> float:
        outer = self.model.outer
        size = int(outer.sum())
        if size == 0:
            return 1.0
        spread = self.model.prior_moments()[1][outer]
        local = np.linalg.cholesky(self.mode.outer_covariance)
        z = self.generator.standard_normal((len(self.at), size)) * 2.0 / np.sqrt(size)
        wide = self.generator.random((len(self.at), 1)) < 0.3
        there = self.at.copy()
        there[:, outer] += np.where(wide, z * spread, z @ local.T)
        return self._take(there, np.zeros(len(z)))

    def move_groups(self) -> None:
        """Step each group along the difference of two chains of the other half."""
        count = len(self.at) // 2
        names = self.model.names
        groups = self.model.groups or [
            (name,) for name, outer in zip(names, self.model.outer, strict=True) if not outer
        ]
        columns = [[names.index(name) for name in group] for group in groups]
        together = len(self.model.groups) > 0 and all(block.group is not None for block in self.model.blocks)
        for mine, others in ((slice(0, count), slice(count, None)), (slice(count, None), slice(0, count))):
            if together:
                there = self.at[mine].copy()
                for group in columns:
                    self._step(there, group, others)
                self._take_by_group(there, columns, mine)
                continue
            for group in columns:
                for _ in range(QUICK if self.model.outer[group].all() else 1):
                    there = self.at[mine].copy()
                    self._step(there, group, others)
                    self._take(there, np.zeros(len(there)), mine)

    def move_free(self, name: str) -> None:
        """Draw a parameter from its prior; what was seen accepts or refuses it."""
        column = self.model.index(name)
        centre, spread = (moments[column] for moments in self.model.prior_moments())
        there = self.at.copy()
        there[:, column] = centre + spread * self.generator.standard_normal(len(there))
        before, after = ((at[:, column] - centre) / spread for at in (self.at, there))
        self._take(there, 0.5 * (after**2 - before**2))

    def _step(self, there: Array, group: list[int], others: slice) -> None:
        pool = self.at[others][:, group]
        count = len(there)
        first, second = self.generator.integers(len(pool), size=(2, count))
        length = 2.38 / np.sqrt(2 * len(group)) * self.generator.uniform(0.4, 1.1, (count, 1))
        jitter = 1e-6 * self.generator.standard_normal((count, len(group)))
        there[:, group] += length * (pool[first] - pool[second]) + jitter

    def _take_by_group(self, there: Array, columns: list[list[int]], rows: slice) -> None:
        """Accept or refuse each group by itself: given all other parameters they do not depend on each other."""
        gain = self._by_group(there, columns, rows) - self._by_group(self.at[rows], columns, rows)
        yes = np.log(self.generator.random(gain.shape)) < gain
        for i, group in enumerate(columns):
            self.at[rows, group] = np.where(yes[:, i, None], there[:, group], self.at[rows, group])
        self.value[rows] = self.log_density(self.at[rows], rows)

    def _by_group(self, at: Array, columns: list[list[int]], rows: slice) -> Array:
        """Return the part of the log density that depends on each group, shape (chains, groups)."""
        centre, spread = self.model.prior_moments()
        scaled = np.where(np.isfinite(spread), (at - centre) / spread, 0.0)
        total = np.stack([-0.5 * np.sum(scaled[:, group] ** 2, axis=1) for group in columns], axis=1)
        for precision, (block, u, scale) in zip(self.precisions, _standardised(self.model, at), strict=True):
            terms = -0.5 * precision[rows] * u * u - np.log(scale)
            member = np.asarray(block.group)[:, None] == np.arange(len(columns))
            total = total + terms @ member.astype(float)
        if self.model.extra is not None:
            total = total + self.model.extra(self.model.natural(at))
        return np.where(np.isfinite(total), total, -1e12)

    def _take(self, there: Array, correction: Array, rows: slice = slice(None)) -> float:
        value = self.log_density(there, rows)
        yes = np.log(self.generator.random(len(there))) < value - self.value[rows] + correction
        self.at[rows] = np.where(yes[:, None], there, self.at[rows])
        self.value[rows] = np.where(yes, value, self.value[rows])
        return float(yes.mean())


def _standardised(model: Model, at: Array) -> Sequence[tuple[Block, Array, Array]]:
    natural = model.natural(at)
    found = []
    for block in model.blocks:
        residual, scale = np.broadcast_arrays(*block.evaluate(natural))
        found.append((block, residual / scale, scale))
    return found
