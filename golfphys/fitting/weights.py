"""Weights of draws: how many independent draws they are worth, smoothed, tempered, and what they say of a density."""

import math
from dataclasses import dataclass

import numpy as np
from arviz_stats.base import array_stats

from golfphys.core.names import Array

TRUSTED_K = 0.7  # Pareto k above which weights cannot be trusted (Vehtari and others, memory)
# Share of the draws that a parabola is fitted to, how it may bend and how far its top may lie, in their spreads
FITTED, CURVED, FARTHEST = 0.5, (0.25, 25.0), 4.0


@dataclass(frozen=True)
class Weighted:
    """Draws with their weights."""

    transformed: Array  # draws after the transforms, (D, P)
    weights: Array  # (D,), with sum 1
    pareto_k: float  # of the largest weights, which can be trusted below 0.7; NaN for a chain
    effective_draws: float  # number of independent draws that they are worth


def effective_draws(weights: Array) -> float:
    """Return how many equally weighted draws these are worth.

    Examples
    --------
    >>> effective_draws(np.array([0.5, 0.5, 0.0]))
    2.0
    """
    return float(weights.sum() ** 2 / np.sum(weights**2))


def tempered(weights: Array, wanted: float) -> Array:
    """Return weights to the highest power, at most 1, for which they are worth `wanted` draws."""
    if effective_draws(weights) >= wanted:
        return weights
    logs = np.log(np.maximum(weights, 1e-300) / weights.max())
    low, high = 0.0, 1.0
    for _ in range(40):
        power = 0.5 * (low + high)
        low, high = (power, high) if effective_draws(np.exp(power * logs)) > wanted else (low, power)
    found = np.exp(low * logs)
    return np.asarray(found / found.sum())


def parabola(draws: Array, log: Array, weights: Array) -> tuple[Array, Array]:
    """Return mean and covariance of the parabola through the log densities of draws, by their weights evened out."""
    weights = tempered(weights, FITTED * len(weights))
    mean = weights @ draws
    cov = (draws - mean).T * weights @ (draws - mean)
    lower = np.linalg.cholesky(cov + 1e-12 * np.diag(np.diag(cov) + 1e-12))
    z = np.linalg.solve(lower, (draws - mean).T).T
    size = z.shape[1]
    i, j = np.triu_indices(size)
    root = np.sqrt(weights)[:, None]
    table = np.concatenate([np.ones((len(z), 1)), z, z[:, i] * z[:, j]], axis=1)
    found = np.linalg.lstsq(root * table, root[:, 0] * (log - log.max()), rcond=None)[0]
    bend = np.zeros((size, size))
    bend[i, j] = -found[1 + size :]
    roots, axes = np.linalg.eigh(bend + bend.T)
    inside = (axes / np.clip(roots, *CURVED)) @ axes.T
    step = inside @ found[1 : 1 + size]
    step *= min(1.0, FARTHEST / max(float(np.linalg.norm(step)), 1e-300))
    return mean + lower @ step, lower @ inside @ lower.T


def smoothed(log_weights: Array) -> tuple[Array, float]:
    """Return normalised weights, the largest smoothed by a Pareto fit (Vehtari and others, arXiv:1507.02646), and k."""
    if log_weights.size < 30 or np.ptp(log_weights) < 1e-9:
        weights = np.exp(log_weights - log_weights.max())
        return weights / weights.sum(), math.nan
    # ArviZ takes log likelihood ratios the other way round
    with np.errstate(all="ignore"):
        logs, shape = array_stats.psislw(-log_weights)
    if not (np.isfinite(shape) and np.isfinite(logs).all()):
        logs, shape = log_weights, math.inf  # one draw outweighs all others by more than a float can say
    weights = np.exp(logs - logs.max())
    return np.asarray(weights / weights.sum(), dtype=float), float(shape)
