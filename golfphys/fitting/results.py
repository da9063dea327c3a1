"""A posterior as weighted draws."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.broadcasting import require_count, require_seed
from golfphys.fitting.chain import Diagnostics, chain
from golfphys.fitting.estimator import Model
from golfphys.fitting.importance import TRUSTED_K
from golfphys.fitting.intervals import moments

Array = NDArray[np.float64]
Seed = int | np.random.Generator


FEWEST = 300.0
"""Independent draws below which weighted draws are not trusted."""

NARROWED = 0.5
"""A parameter counts as informed if its spread fell below this fraction of the prior's."""

LOST = 200.0
"""Log density below that of the mode from which a draw is of no use as the start of a chain."""


@dataclass(frozen=True, kw_only=True)
class Posterior:
    """Draws from a posterior with their weights.

    `transformed` (D, P) are the draws after the transforms, `weights` (D,) sum to 1; they are worth `effective_draws`
    independent ones and can be trusted while `pareto_k`, that of the largest weights, is below 0.7. With the `method`
    "chain" they are those of a Markov chain: Pareto k is NaN, and `diagnostics` say how well it mixed. `mode` (P,) is
    where the posterior is highest, `converged` whether the search for it settled, `log_evidence` Laplace's value.
    """

    model: Model
    mode: Array
    log_evidence: float
    converged: bool
    transformed: Array
    weights: Array
    pareto_k: float
    effective_draws: float
    method: str = "weighted"
    diagnostics: Diagnostics | None = None

    @property
    def natural(self) -> Array:
        """Draws in natural units, shape (D, P)."""
        return self.model.natural(self.transformed)

    def column(self, name: str) -> Array:
        """Draws of one parameter in natural units, shape (D,)."""
        column: Array = self.natural[:, self.model.index(name)]
        return column

    def narrowed(self, name: str) -> bool:
        """Whether the data made a parameter's spread clearly smaller than its prior's."""
        index = self.model.index(name)
        spread = self.model.parameters[index].spread
        if self.failure:
            # draws that have collapsed are narrow without anything being known
            return False
        if not math.isfinite(spread):
            return True
        return moments(self.transformed[:, index], self.weights)[1] < NARROWED * spread

    def sample(self, n: int, seed: Seed) -> Array:
        """Return `n` equally weighted draws in natural units, shape (n, P), each as rarely repeated as can be."""
        require_count("n", n)
        require_seed(seed)
        generator = np.random.default_rng(seed)
        cumulative = np.cumsum(self.weights)
        even = (generator.permutation(n) + generator.random()) / n * cumulative[-1]
        picks = np.minimum(np.searchsorted(cumulative, even), len(cumulative) - 1)
        found: Array = self.model.natural(self.transformed[picks])
        return found

    @property
    def failure(self) -> str:
        """What is wrong with the draws, in words; empty where they can be trusted."""
        if self.method == "chain":
            verdict = self.diagnostics
            return str(verdict) if verdict is not None and not verdict.trusted else ""
        if self.pareto_k > TRUSTED_K or self.effective_draws < FEWEST:
            return (
                f"The draws of this fit are worth only {self.effective_draws:.0f} independent ones (Pareto k "
                f"{self.pareto_k:.2f}): its intervals are rough. Look for rows that contradict each other."
            )
        return ""

    def chained(self, *, steps: int = 600, seed: Seed = 0) -> "Posterior":
        """Return the same posterior sampled by a Markov chain that starts from these draws, as a check on them."""
        generator = np.random.default_rng(seed)
        count = max(2 * len(self.model.parameters) + 2, 64)
        count += count % 2
        start = self.transformed[generator.choice(len(self.weights), size=count, p=self.weights)]
        spread = np.sqrt(np.maximum(self.weights @ (start.mean(axis=0) - self.transformed) ** 2, 1e-16))
        density = self.model.log_density(start, extra=True)
        lost = density < self.model.log_density(self.mode[None], extra=True) - LOST
        # where no draw came near the posterior, chains set out from the mode
        start[lost] = self.mode
        spread = np.where(lost.any(), np.minimum(spread, 1.0), spread)
        start = start + 0.02 * spread * generator.standard_normal(start.shape)
        draws, verdict = chain(self.model, start, generator, steps)
        even = np.full(len(draws), 1.0 / len(draws))
        own: dict[str, Any] = {"pareto_k": math.nan, "effective_draws": verdict.effective_draws, "diagnostics": verdict}
        return replace(self, transformed=draws, weights=even, method="chain", **own).mirrored(generator)

    def mirrored(self, generator: np.random.Generator) -> "Posterior":
        """Return the draws on both sides of what the data cannot tell apart, see `Model.mirror`."""
        mirror = self.model.mirror
        return self if mirror is None else replace(self, transformed=mirror(self.transformed, generator))
