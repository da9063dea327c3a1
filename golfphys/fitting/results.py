"""A posterior as weighted draws."""

import math
import sys
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from golfphys.core.broadcasting import require_count, require_seed
from golfphys.fitting.arrow import SpotLocal
from golfphys.fitting.by_spot import REPEATED, spot_draws
from golfphys.fitting.chain import Diagnostics, chain
from golfphys.fitting.estimator import Model
from golfphys.fitting.importance import ENOUGH, STAGES, TRUSTED_K, adapted, smoothed
from golfphys.fitting.proposal import Weighted, effective_draws
from golfphys.fitting.search import Mode, find_mode, root_of

Array = NDArray[np.float64]
Seed = int | np.random.Generator


@dataclass(frozen=True, kw_only=True)
class Posterior:
    """Draws from a posterior with their weights.

    Parameters
    ----------
    model : Model
        What was fitted.
    mode : Mode
        Mode and normal approximation.
    transformed : ndarray, shape (D, P)
        Draws on the unconstrained scale.
    weights : ndarray, shape (D,)
        Weights that sum to 1.
    pareto_k : float
        Pareto k of the largest weights: below 0.7 the weighted draws can be trusted; NaN for those of a chain.
    effective_draws : float
        Number of independent draws that the weighted ones are worth.
    method : {"weighted", "chain"}
        Where the draws come from: weighted by the true posterior, or a Markov chain.
    diagnostics : Diagnostics or None
        How well the chain mixed; ``str()`` of it says so in words.
    """

    model: Model
    mode: Mode
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

    @property
    def log_evidence(self) -> float:
        """Laplace's value of the log evidence."""
        return self.mode.log_evidence

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
        lost = density < self.model.log_density(self.mode.point[None], extra=True) - LOST
        # where no draw came near the posterior, chains set out from the mode
        start[lost] = self.mode.point
        spread = np.where(lost.any(), np.minimum(spread, 1.0), spread)
        start = start + 0.02 * spread * generator.standard_normal(start.shape)
        draws, verdict = chain(self.model, start, generator, steps)
        even = np.full(len(draws), 1.0 / len(draws))
        found = replace(
            self,
            transformed=draws,
            weights=even,
            pareto_k=math.nan,
            effective_draws=verdict.effective_draws,
            method="chain",
            diagnostics=verdict,
        )
        return _mirrored(found, generator)


def posterior(model: Model, *, draws: int = 4000, seed: Seed = 0) -> Posterior:
    """Fit a model: mode, normal approximation, and draws weighted by the true posterior.

    Parameters
    ----------
    model : Model
        Parameters and blocks.
    draws : int
        Number of draws of the normal approximation.
    seed : int or numpy.random.Generator
        Seed of the draws.
    """
    return make_draws(find_mode(model), draws, np.random.default_rng(seed))


def usual_draws(model: Model, observations: int) -> int:
    """Return how many draws a fit takes by default: 4000, fewer where observations or parameters are many."""
    return int(np.clip(min(400_000 // observations, 12_000_000 // len(model.parameters) ** 2), 1000, 4000))


PATIENCE = 30.0
"""Seconds of waiting from which on a fit says beforehand that it will take long."""


CHIP = 0.08
"""Seconds that a chip adds to a fit, measured with visits of 200 chips (tests/studies/cost_weeks.csv)."""


def say_if_long(parameters: int, chips: int = 0, *, by_spot: bool = False) -> float:
    """Say a word before a fit that will take longer than half a minute.

    Parameters
    ----------
    parameters : int
        Number of parameters: three for each spot, and more.
    chips : int
        Number of chips.
    by_spot : bool
        Whether spots are fitted one by one, see `golfphys.fitting.by_spot`.

    Returns
    -------
    float
        Seconds that it will take on one core, roughly: measured with 64, 128 and 300 spots and 40 chips.

    Examples
    --------
    >>> say_if_long(60, 40) < 10
    True
    """
    seconds = (0.05 * parameters if by_spot else 38.0 * (parameters / 200.0) ** 3) + CHIP * chips
    if seconds > PATIENCE:
        minutes = max(1, round(seconds / 60.0))
        many = "chips" if CHIP * chips > seconds / 2 else "spots"
        sys.stderr.write(
            f"So many {many} will take about {minutes} minute{'s' if minutes > 1 else ''} to fit on one core. "
            "A sheet with fewer of them takes less.\n"
        )
    return seconds


FEWEST = 300.0
"""Independent draws below which weighted draws are not trusted."""


def make_draws(
    mode: Mode, draws: int, generator: np.random.Generator, *, stages: tuple[int, ...] = STAGES
) -> Posterior:
    """Draw from a posterior: weighted draws of its normal approximation, or of proposals that adapt to it.

    Parameters
    ----------
    mode : Mode
        Mode and normal approximation.
    draws : int
        Number of draws of the normal approximation.
    generator : numpy.random.Generator
        Source of randomness.
    stages : tuple of int
        Draws in each stage where the normal approximation does not do.
    """
    model = mode.model
    by_spot = isinstance(mode.local, SpotLocal)
    if model.first is not None and not by_spot:
        rolls = find_mode(model.first)
        leading = weighted_draws(rolls, LEADING, generator), rolls.point, rolls.joint_covariance
        found = adapted(model, (mode.point, mode.joint_covariance), leading, generator, stages)
    else:
        found = weighted_draws(mode, draws, generator)
        if not by_spot and (found.pareto_k > TRUSTED_K or found.effective < min(ENOUGH, 0.3 * draws)):
            found = adapted(model, (mode.point, mode.joint_covariance), None, generator, stages)
    result = Posterior(
        model=model,
        mode=mode,
        transformed=found.transformed,
        weights=found.weights,
        pareto_k=found.pareto_k,
        effective_draws=found.effective,
    )
    if result.failure and not by_spot:
        # a chain takes over where it does better than weights, and says so where it does not
        steps = int(np.clip(CHECKED // model.residuals, 60, CHECK_STEPS))
        checked = result.chained(steps=steps, seed=generator)
        if not checked.failure or result.effective_draws < FEWEST:
            return checked
    return _mirrored(result, generator)


LEADING = 16_000
"""Draws of the rolls by themselves, of which chips leave few."""

LOST = 200.0
"""Log density below that of the mode from which a draw is of no use as the start of a chain."""

CHECK_STEPS, CHECKED = 400, 600_000
"""Steps of the chain that takes over where weights fail, and residuals that each of its chains looks at, at most."""


def _mirrored(source: Posterior, generator: np.random.Generator) -> Posterior:
    if source.model.mirror is None:
        return source
    return replace(source, transformed=source.model.mirror(source.transformed, generator))


def weighted_draws(mode: Mode, draws: int, generator: np.random.Generator) -> Weighted:
    """Draw from the two-layer normal approximation at `mode` and weight by the true posterior."""
    model = mode.model
    outer = model.outer
    if isinstance(mode.local, SpotLocal):
        return spot_draws(mode.local, *_outer_nodes(mode, max(draws // REPEATED, 1280), generator), generator)
    nodes = max(draws // 8, 1)
    outer_draws, outer_log = _outer_nodes(mode, nodes, generator)
    steps, precision, _ = mode.local.solve(outer_draws)
    inner_mean = mode.point[~outer] + steps
    size = inner_mean.shape[1]
    # precision = L L', so L'^-1 z has covariance precision^-1
    lower = root_of(precision)
    z = generator.standard_normal((nodes, 8, size))
    df = max(12.0, 6.0 * size)
    stretch = np.sqrt(df / generator.chisquare(df, (nodes, 8, 1)))
    t = z * stretch
    inner = inner_mean[:, None] + np.linalg.solve(np.swapaxes(lower, 1, 2), np.swapaxes(t, 1, 2)).swapaxes(1, 2)
    half_logdet = np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    log_q = outer_log[:, None] + half_logdet[:, None] + _t_log_density(np.sum(t * t, axis=-1), size, df)
    table = np.empty((nodes, 8, outer.size))
    table[..., outer] = outer_draws[:, None]
    table[..., ~outer] = inner
    transformed: Array = table.reshape(-1, outer.size)
    log_weights = model.log_density(transformed, extra=True) - log_q.ravel()
    weights, shape = smoothed(log_weights)
    return Weighted(transformed, weights, shape, effective_draws(weights))


def _outer_nodes(mode: Mode, nodes: int, generator: np.random.Generator) -> tuple[Array, Array]:
    """Outer values in proportion to their marginal density, and the logarithm of the density they then stand for.

    When one noise scale explains everything, the other is free down to nothing: a corner that no normal fits. So
    candidates come from a mixture of the normal at the mode and the whole prior, and are then picked by Laplace's
    marginal density.
    """
    model = mode.model
    size = int(model.outer.sum())
    if size == 0:
        return np.zeros((nodes, 0)), np.zeros(nodes)
    spread = model.prior_moments()[1][model.outer]
    count = 3 * nodes
    local = np.linalg.cholesky(mode.outer_covariance)
    wide = np.diag(spread)
    t = generator.standard_normal((count, size)) * np.sqrt(6.0 / generator.chisquare(6.0, (count, 1)))
    middle = mode.point[model.outer]
    narrow = generator.random(count) < 0.5
    found = middle + np.where(narrow[:, None], t @ local.T, t @ wide.T)
    logs = []
    for lower in (local, wide):
        z = np.linalg.solve(lower, (found - middle).T)
        logs.append(_t_log_density(np.sum(z * z, axis=0), size, 6.0) - np.log(np.diagonal(lower)).sum())
    log_q = np.logaddexp(*logs) - math.log(2.0)
    marginal = np.concatenate([mode.local.solve(found[i : i + 250])[2] for i in range(0, count, 250)])
    log_weight = marginal - log_q
    weight = np.exp(log_weight - log_weight.max())
    evidence = math.log(weight.mean()) + float(log_weight.max())
    cumulative = np.cumsum(weight) / weight.sum()
    picks = np.searchsorted(cumulative, (np.arange(nodes) + generator.random()) / nodes)
    picks = np.minimum(picks, count - 1)
    return found[picks], marginal[picks] - evidence


def _t_log_density(square: Array, size: int, df: float) -> Array:
    norm = float(gammaln((df + size) / 2) - gammaln(df / 2)) - 0.5 * size * math.log(df * math.pi)
    return norm - (df + size) / 2 * np.log1p(square / df)
