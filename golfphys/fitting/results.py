"""A posterior as weighted draws."""

import math
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from golfphys.fitting.estimator import Model
from golfphys.fitting.refresh import refresh
from golfphys.fitting.search import Mode, find_mode, root_of

if TYPE_CHECKING:
    from golfphys.fitting.mcmc import Diagnostics

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
    shape : float
        Pareto shape of the largest weights: below 0.7 the weighted draws can be trusted; NaN for MCMC draws.
    log_evidence : float
        Estimate of the log evidence.
    accepted : float
        Share of moves accepted where the draws were refreshed (see `golfphys.fitting.refresh`), else NaN.
    method : {"normal", "moved", "mcmc"}
        Where the draws come from: weighted by the normal approximation, moved on from there, or of a Markov chain.
    diagnostics : Diagnostics or None
        How well the chain mixed, for MCMC draws; ``str()`` of it says so in words.
    """

    model: Model
    mode: Mode
    transformed: Array
    weights: Array
    shape: float
    log_evidence: float
    accepted: float = math.nan
    method: str = "normal"
    diagnostics: "Diagnostics | None" = None

    @property
    def natural(self) -> Array:
        """Draws in natural units, shape (D, P)."""
        return self.model.natural(self.transformed)

    def column(self, name: str) -> Array:
        """Draws of one parameter in natural units, shape (D,)."""
        column: Array = self.natural[:, self.model.index(name)]
        return column

    @property
    def effective_draws(self) -> float:
        """Number of independent draws that the weighted ones are worth."""
        return float(1.0 / np.sum(self.weights**2))

    def sample(self, n: int, seed: Seed) -> Array:
        """Return `n` equally weighted draws in natural units, shape (n, P).

        Where more are asked for than the stored draws can give without much repetition they are made anew.
        """
        generator = np.random.default_rng(seed)
        source = self
        if self.method == "normal" and n > len(self.weights) / 4:
            source = make_draws(self.mode, min(max(4 * n, 4000), 20_000), generator)
        picks = generator.choice(len(source.weights), size=n, p=source.weights)
        result: Array = source.natural[picks]
        return result


def posterior(model: Model, *, draws: int = 4000, seed: Seed = 0) -> Posterior:
    """Fit a model: mode, normal approximation, and draws weighted by the true posterior.

    Parameters
    ----------
    model : Model
        Parameters and blocks.
    draws : int
        Number of weighted draws.
    seed : int or numpy.random.Generator
        Seed of the draws.

    Returns
    -------
    Posterior
        The fitted posterior.
    """
    return make_draws(find_mode(model), draws, np.random.default_rng(seed))


def usual_draws(model: Model, observations: int) -> int:
    """Return how many draws a fit takes by default: 4000, fewer where observations or parameters are many."""
    return int(np.clip(min(400_000 // observations, 12_000_000 // len(model.parameters) ** 2), 1000, 4000))


TRUSTED_SHAPE = 0.7
"""Pareto shape of the weights above which a few draws count for too much (Vehtari and others, memory)."""


def make_draws(
    mode: Mode,
    draws: int,
    generator: np.random.Generator,
    *,
    rounds: int = 12,
    bent: bool = False,
    worth: float | None = None,
) -> Posterior:
    """Draw from the posterior: weighted draws, moved on by short Markov chains where the weights are not to be trusted.

    Parameters
    ----------
    mode : Mode
        Mode and normal approximation.
    draws : int
        Number of weighted draws; a quarter of them remain where they are moved on.
    generator : numpy.random.Generator
        Source of randomness.
    rounds, bent
        As for `golfphys.fitting.refresh.refresh`.
    worth : float, optional
        Independent draws that the weighted ones have to be worth, or else they are moved; a tenth of them by default.

    Returns
    -------
    Posterior
        The draws.
    """
    first = weighted_draws(mode, draws, generator)
    enough = first.effective_draws > (0.1 * draws if worth is None else worth)
    # where a parameter is free, weights cannot tell of what the normal never proposes
    if first.shape < TRUSTED_SHAPE and enough and not mode.model.bends and not mode.model.free:
        return _mirrored(first, generator)
    capped = np.minimum(first.weights, 10.0 / draws)
    count = max(len(capped) // 4, 8)
    start = first.transformed[generator.choice(len(capped), size=count, p=capped / capped.sum())]
    moved = refresh(mode, start, generator, rounds, bent=bent)
    weights = np.full(count, 1.0 / count)
    found = replace(first, transformed=moved.transformed, weights=weights, accepted=moved.accepted, method="moved")
    return _mirrored(found, generator)


def _mirrored(source: Posterior, generator: np.random.Generator) -> Posterior:
    if source.model.mirror is None:
        return source
    return replace(source, transformed=source.model.mirror(source.transformed, generator))


def weighted_draws(mode: Mode, draws: int, generator: np.random.Generator) -> Posterior:
    """Draw from the two-layer normal approximation at `mode` and weight by the true posterior."""
    model = mode.model
    outer = model.outer
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
    evidence = float(np.logaddexp.reduce(log_weights) - math.log(len(log_weights)))
    smoothed, shape = smooth_weights(log_weights)
    weights = np.exp(smoothed - smoothed.max())
    return Posterior(
        model=model,
        mode=mode,
        transformed=transformed,
        weights=weights / weights.sum(),
        shape=shape,
        log_evidence=evidence,
    )


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
    marginal = mode.local.solve(found)[2]
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


def smooth_weights(log_weights: Array) -> tuple[Array, float]:
    """Smooth the largest importance weights by a generalised Pareto fit.

    Vehtari, Simpson, Gelman, Yao, Gabry, arXiv:1507.02646 (memory); the fit is that of Zhang and Stephens,
    Technometrics 51, 316 (2009) (memory).

    Parameters
    ----------
    log_weights : ndarray, shape (D,)
        Logarithms of raw weights.

    Returns
    -------
    smoothed : ndarray, shape (D,)
        Logarithms of smoothed weights, at most the largest raw one.
    shape : float
        Shape of the tail; above 0.7 the weights cannot be trusted.
    """
    logs = log_weights - log_weights.max()
    count = logs.size
    tail = int(min(0.2 * count, 3 * math.sqrt(count)))
    if tail < 5:
        return logs, math.inf
    order = np.argsort(logs)
    largest = order[-tail:]
    cut = logs[order[-tail - 1]]
    excess = np.exp(logs[largest]) - math.exp(cut)
    if not excess[-1] > 0 or excess[0] <= 0:
        return logs, 0.0 if excess[-1] <= 0 else math.inf
    shape, scale = _pareto_fit(excess)
    if math.isfinite(shape):
        ranks = (np.arange(tail) + 0.5) / tail
        if abs(shape) > 1e-9:
            quantiles = scale / shape * np.expm1(np.minimum(-shape * np.log1p(-ranks), 700.0))
        else:
            quantiles = -scale * np.log1p(-ranks)
        logs = logs.copy()
        logs[largest] = np.minimum(np.log(quantiles + math.exp(cut)), 0.0)
    return logs, shape


def _pareto_fit(excess: Array) -> tuple[float, float]:
    """Shape and scale of sorted positive excesses."""
    count = excess.size
    grid = 30 + int(math.sqrt(count))
    quarter = excess[int(count / 4 + 0.5) - 1]
    theta = 1 / excess[-1] + (1 - np.sqrt(grid / (np.arange(1, grid + 1) - 0.5))) / (3 * quarter)
    shapes = np.log1p(-theta[:, None] * excess).mean(axis=1)
    fit = count * (np.log(-theta / shapes) - shapes - 1)
    weights = 1 / np.exp(fit - fit[:, None]).sum(axis=1)
    chosen = float(np.sum(theta * weights) / weights.sum())
    shape = float(np.log1p(-chosen * excess).mean())
    scale = -shape / chosen
    # a weak prior towards 0.5 steadies short tails
    return (shape * count + 0.5 * 10) / (count + 10), scale
