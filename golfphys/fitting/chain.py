"""Draws from a Markov chain: the check on weighted draws, and what remains where weights fail.

Many chains step along differences between others (ter Braak, Stat. Comput. 16, 239, 2006, memory), all parameters at
once or a random few of them. It knows how well it mixed, and says so.
"""

import math
from dataclasses import dataclass

import numpy as np
from arviz_stats.base import array_stats
from numpy.typing import NDArray

from golfphys.fitting.estimator import Model

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Diagnostics:
    """How well a chain mixed.

    Parameters
    ----------
    chains, steps : int
        Number of chains; steps kept of each.
    acceptance : float
        Share of proposed steps that were accepted.
    effective_draws : float
        Number of independent draws that the slowest parameter is worth.
    r_hat : float
        Largest rank-normalised split R-hat among the parameters; near 1 where all chains agree.
    slowest : str
        Parameter with the fewest effective draws.
    """

    chains: int
    steps: int
    acceptance: float
    effective_draws: float
    r_hat: float
    slowest: str

    @property
    def trusted(self) -> bool:
        """Whether intervals read from the draws can be trusted."""
        return self.effective_draws >= 400 and self.r_hat < 1.05

    def __str__(self) -> str:
        """Say in words how well the chain mixed."""
        verdict = (
            "The chain mixed well: its intervals can be used."
            if self.trusted
            else "The chain has not mixed: do not trust its intervals. Check the sheets for entries that contradict "
            "each other, then try more steps."
        )
        return (
            f"{self.chains} chains took {self.steps} steps each after settling; {100 * self.acceptance:.0f} % of the "
            f"proposed steps were accepted. They are worth {self.effective_draws:.0f} independent draws of the slowest "
            f"parameter ({self.slowest}) and agree to an R-hat of {self.r_hat:.3f} (1 is perfect, 1.05 the limit). "
            f"{verdict}"
        )


def chain(model: Model, start: Array, generator: np.random.Generator, steps: int) -> tuple[Array, Diagnostics]:
    """Sample a posterior with chains that step along each other's differences.

    Parameters
    ----------
    model : Model
        The posterior.
    start : ndarray, shape (chains, P)
        Transformed values to start from, more chains than parameters.
    generator : numpy.random.Generator
        Source of randomness.
    steps : int
        Steps of each chain; the first half is left out as settling.

    Returns
    -------
    draws : ndarray, shape (D, P)
        Equally weighted draws, thinned to at most 20,000.
    diagnostics : Diagnostics
        How well the chains mixed.

    Raises
    ------
    ValueError
        If there are fewer than 30 steps.
    """
    if steps < 30:
        raise ValueError(f"steps is {steps!r}; expected at least 30")
    at, value = start.copy(), model.log_density(start, extra=True)
    kept, accepted = [], 0.0
    half = len(at) // 2
    for number in range(steps):
        for mine, others in ((slice(0, half), slice(half, None)), (slice(half, None), slice(0, half))):
            there = _step(at[mine], at[others], generator)
            new = model.log_density(there, extra=True)
            yes = np.log(generator.random(len(there))) < new - value[mine]
            at[mine] = np.where(yes[:, None], there, at[mine])
            value[mine] = np.where(yes, new, value[mine])
            accepted += float(yes.mean()) / (2 * steps)
        if number >= steps // 2:
            kept.append(at.copy())
    table = np.stack(kept)
    draws = table[:: max(1, table.shape[0] * table.shape[1] // 20_000)].reshape(-1, at.shape[1])
    return draws, diagnose(table, accepted, model.names.labels)


def _step(mine: Array, others: Array, generator: np.random.Generator) -> Array:
    """Return proposals along differences of two of the other chains, in all parameters or a random few."""
    count, size = mine.shape
    first, second = generator.integers(len(others), size=(2, count))
    share = generator.choice(np.array([1.0, 0.5, 0.15]), size=(count, 1))
    moved = generator.random((count, size)) < share
    length = (
        2.38 / np.sqrt(2 * np.maximum(moved.sum(axis=1, keepdims=True), 1)) * generator.uniform(0.4, 1.1, (count, 1))
    )
    length = np.where(generator.random((count, 1)) < 0.05, 1.0, length)
    jitter = 1e-6 * generator.standard_normal((count, size))
    return np.asarray(mine + moved * (length * (others[first] - others[second]) + jitter))


def diagnose(table: Array, acceptance: float, names: list[str]) -> Diagnostics:
    """Return how well chains mixed.

    Parameters
    ----------
    table : ndarray, shape (steps, chains, P)
        Where they were; put together in eight groups, because each by itself is short.
    acceptance : float
        Share of steps that were accepted.
    names : list of str
        Names of the parameters.

    Returns
    -------
    Diagnostics
        R-hat and effective draws by ArviZ.

    Examples
    --------
    >>> table = np.random.default_rng(1).standard_normal((100, 16, 1))
    >>> diagnose(table, 0.3, ["x"]).r_hat < 1.02
    True
    """
    steps, chains, _ = table.shape
    # draws of one chain stand together in time; chains of a group follow each other
    groups = np.array_split(np.arange(chains), min(8, chains))
    length = min(len(group) for group in groups) * steps
    pieces = np.stack([table[:, group].swapaxes(0, 1).reshape(-1, table.shape[2])[:length] for group in groups])
    with np.errstate(all="ignore"):
        effective = np.array([float(array_stats.ess(pieces[:, :, i])) for i in range(table.shape[2])])
        spread = np.array([float(array_stats.rhat(pieces[:, :, i])) for i in range(table.shape[2])])
    # chains that never moved are worth one draw each at most
    effective = np.where(np.isfinite(effective), effective, 1.0)
    spread = np.where(np.isfinite(spread), spread, math.inf)
    slowest = int(np.argmin(effective))
    return Diagnostics(
        chains=chains,
        steps=steps,
        acceptance=acceptance,
        effective_draws=float(effective[slowest]),
        r_hat=float(spread.max()),
        slowest=names[slowest],
    )
