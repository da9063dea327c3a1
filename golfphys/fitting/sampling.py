"""Draws from a model: weighted draws of its normal approximation, of proposals that adapt to it, or a chain."""

import math
import sys
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaln

from golfphys.fitting.arrow import SpotLocal
from golfphys.fitting.by_spot import REPEATED, spot_draws
from golfphys.fitting.importance import ENOUGH, STAGES, adapted, smoothed
from golfphys.fitting.proposal import TRUSTED_K, Weighted, effective_draws
from golfphys.fitting.results import FEWEST, Posterior
from golfphys.fitting.search import Mode, find_mode, root_of

Array = NDArray[np.float64]

PATIENCE = 30.0
"""Seconds of waiting from which on a fit says beforehand that it will take long."""

CHIP = 0.08
"""Seconds that a chip adds to a fit, measured with visits of 200 chips (tests/studies/cost_weeks.csv)."""

LEADING = 12_000
"""Draws of the rolls by themselves, of which chips leave few."""

CHECK_STEPS, CHECKED = 400, 600_000
"""Steps of the chain that takes over where weights fail, and residuals that each of its chains looks at, at most."""


def say_if_long(parameters: int, chips: int = 0, *, by_spot: bool = False) -> float:
    """Say a word before a fit that will take longer than half a minute; return the seconds it will take.

    Roughly, on one core: measured with 64, 128 and 300 spots, three parameters and more for each, and 40 chips.
    `by_spot` is whether spots are fitted one by one, see `golfphys.fitting.by_spot`.
    """
    seconds = (0.05 * parameters if by_spot else 38.0 * (parameters / 200.0) ** 3) + CHIP * chips
    if seconds > PATIENCE:
        minutes = max(1, round(seconds / 60.0))
        many = "chips" if CHIP * chips > seconds / 2 else "spots"
        said = f"about {minutes} minute{'s' if minutes > 1 else ''} to fit on one core"
        sys.stderr.write(f"So many {many} will take {said}. A sheet with fewer of them takes less.\n")
    return seconds


def make_draws(
    mode: Mode, draws: int, generator: np.random.Generator, *, stages: tuple[int, ...] = STAGES
) -> Posterior:
    """Draw from a posterior: weighted draws of its normal approximation, or of proposals that adapt to it.

    `draws` are those of the normal approximation, `stages` those in each stage where that does not do.
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
    searched: dict[str, Any] = {"log_evidence": mode.log_evidence, "converged": mode.converged}
    drawn: dict[str, Any] = {"pareto_k": found.pareto_k, "effective_draws": found.effective}
    drawn |= {"transformed": found.transformed, "weights": found.weights}
    result = Posterior(model=model, mode=mode.point, **searched, **drawn)
    if result.failure and not by_spot:
        # a chain takes over where it does better than weights, and says so where it does not
        steps = int(np.clip(CHECKED // model.residuals, 60, CHECK_STEPS))
        checked = result.chained(steps=steps, seed=generator)
        if not checked.failure or result.effective_draws < FEWEST:
            return checked
    return result.mirrored(generator)


def weighted_draws(mode: Mode, draws: int, generator: np.random.Generator) -> Weighted:
    """Draw from the two-layer normal approximation at `mode` and weight by the true posterior."""
    model = mode.model
    outer = model.outer
    if isinstance(mode.local, SpotLocal):
        return spot_draws(mode.local, *_outer_nodes(mode, max(draws // REPEATED, 1280), generator), generator)
    nodes = max(draws // 8, 1)
    outer_draws, outer_log = _outer_nodes(mode, nodes, generator)
    steps, precision, _ = mode.local.solve(outer_draws)
    size = steps.shape[1]
    # precision = L L', so L'^-1 z has covariance precision^-1
    lower = root_of(precision)
    df = max(12.0, 6.0 * size)
    t = generator.standard_normal((nodes, 8, size)) * np.sqrt(df / generator.chisquare(df, (nodes, 8, 1)))
    off = np.linalg.solve(np.swapaxes(lower, 1, 2), np.swapaxes(t, 1, 2)).swapaxes(1, 2)
    half_logdet = np.log(np.diagonal(lower, axis1=1, axis2=2)).sum(axis=1)
    log_q = outer_log[:, None] + half_logdet[:, None] + _t_log_density(np.sum(t * t, axis=-1), size, df)
    table = np.empty((nodes, 8, outer.size))
    table[..., outer] = outer_draws[:, None]
    table[..., ~outer] = (mode.point[~outer] + steps)[:, None] + off
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
    count = 3 * nodes
    local = np.linalg.cholesky(mode.outer_covariance)
    wide = np.diag(model.prior_moments[1][model.outer])
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
    picks = np.minimum(np.searchsorted(cumulative, (np.arange(nodes) + generator.random()) / nodes), count - 1)
    return found[picks], marginal[picks] - evidence


def _t_log_density(square: Array, size: int, df: float) -> Array:
    norm = float(gammaln((df + size) / 2) - gammaln(df / 2)) - 0.5 * size * math.log(df * math.pi)
    return norm - (df + size) / 2 * np.log1p(square / df)
