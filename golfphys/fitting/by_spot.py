"""Draws from a posterior of many spots, one spot at a time: time grows with their number.

What is shared is drawn as Laplace's method has it (nested, as by Rue, Martino, Chopin, J. R. Stat. Soc. B 71, 319,
2009, memory) and weighted by the true density, each spot integrated over by candidates that move and stretch with what
is shared; each spot is then picked from other candidates by what they are worth.
"""

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy.special import gammaincinv, logsumexp, ndtri
from scipy.stats import qmc

from golfphys.fitting.arrow import SpotLocal, linearise, summed_by_spot
from golfphys.fitting.estimator import HUGE, terms
from golfphys.fitting.importance import smoothed
from golfphys.fitting.proposal import TRUSTED_K, Weighted, effective_draws, tempered

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

CANDIDATES = 16
"""Draws of each spot that are weighed for each draw of what is shared."""

TRIED, PIECE, ROUNDS, WORTH_OLD = 2048, 256, 3, 10.0
"""Candidates of each spot at the centre of what is shared, of which half as many draws are made, how many at once,
rounds in which they find where to come from, and what their spread beforehand is worth in draws."""

FREEDOM, WIDE = 8.0, 3.0
"""Degrees of freedom of the t that candidates come from, and factor on the width of every other."""


STAGES, FEW, WIDER, WELL = 12, 256, 1.2, 0.3
"""Most stages of draws of what is shared, draws in all but the last, factor on their variances, and the share of draws
that they are worth from which no further stage is wanted."""

FITTED, CURVED, FARTHEST = 0.5, (0.25, 25.0), 4.0
"""Share of the draws that a parabola is fitted to, how it may bend and how far its top may lie, in their spreads."""


MOVES, FOLLOWED = 4, 6.0
"""Steps with which the spots follow a new centre of what is shared, and the longest of them in standard deviations."""

REPEATED, AT_ONCE = 4, 500_000
"""Draws that each draw of what is shared ends up with, and residuals that are held in memory at once."""


def spot_draws(local: SpotLocal, outer: Array, log_outer: Array, generator: np.random.Generator) -> Weighted:
    """Draw from a posterior spot by spot, `REPEATED` draws for each outer one.

    `local` is the model made linear at its mode, `outer` (M, K) are draws of the outer parameters from their marginal
    density, whose logarithm is `log_outer` (M,).
    """
    few = slice(None, None, len(outer) // FEW)
    shared, log_shared = _first_shared(local, outer[few], generator)
    drawn, log_drawn = np.concatenate([outer[few], shared], axis=1), log_outer[few] + log_shared
    centre = drawn.mean(axis=0)
    for stage in range(STAGES):
        local = _moved(local, centre)
        bank = _Bank.at(local, centre, TRIED if len(drawn) == len(outer) else TRIED // 4, generator)
        seen = sum(np.asarray(block.group).size for block in local.model.blocks)
        piece = max(1, AT_ONCE // max(seen * CANDIDATES, 1))
        given = [_given(local, drawn[first : first + piece]) for first in range(0, len(drawn), piece)]
        log = np.concatenate([bank.log_evidence(local, one) for one in given])
        weights, shape = smoothed(log - log_drawn)
        good = shape < TRUSTED_K and effective_draws(weights) > WELL * len(weights)
        if good and len(drawn) == len(outer):
            break
        if stage + 1 < STAGES:
            centre, cov = _parabola(drawn, log, weights)
            count = len(outer) if good or stage + 2 == STAGES else FEW
            drawn, log_drawn = _proposed(centre, cov, count, generator)
    draws = np.concatenate([bank.drawn(local, one, generator) for one in given]).reshape(-1, len(local.point))
    return Weighted(draws, np.repeat(weights / REPEATED, REPEATED), shape, effective_draws(weights))


def _parabola(draws: Array, log: Array, weights: Array) -> tuple[Array, Array]:
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


def _proposed(mean: Array, cov: Array, count: int, generator: np.random.Generator) -> tuple[Array, Array]:
    """Return new draws of what is shared from a t, and its log density."""
    size = len(mean)
    lower = np.linalg.cholesky(WIDER * cov + 1e-12 * np.diag(np.diag(cov) + 1e-12))
    sobol = qmc.Sobol(size + 1, rng=generator)
    points = np.clip(sobol.random(1 << (count - 1).bit_length())[:count], 1e-12, 1 - 1e-12)
    stretch = np.sqrt(FREEDOM / (2 * gammaincinv(FREEDOM / 2, points[:, :1])))
    z = ndtri(points[:, 1:]) * stretch
    log = -(FREEDOM + size) / 2 * np.log1p(np.sum(z * z, axis=1) / FREEDOM)
    return mean + z @ lower.T, log


@dataclass(frozen=True)
class _Given:
    """Spots given what is shared: draws (M, P) with everything at its mean, roots of the spots' covariances (M, G)."""

    at: Array
    root: Array

    def log_densities(self, local: SpotLocal, z: Array) -> tuple[Array, Array]:
        """Return spots (M, C, G, S) `z` from the means, and what depends on each by the scale of `z`, (M, C, G)."""
        tried = self.at[:, None, local.own] + np.einsum("mgij,mcgj->mcgi", self.root, z)
        table = np.repeat(self.at[:, None], tried.shape[1], axis=1)
        table[:, :, local.own.ravel()] = tried.reshape(*tried.shape[:2], -1)
        stretch = np.log(np.diagonal(self.root, axis1=-2, axis2=-1)).sum(axis=-1)
        return tried, _log_densities(local, table) + stretch[:, None]


def _given(local: SpotLocal, drawn: Array) -> _Given:
    """Return the spots given draws of what is shared, outer parameters first.

    They follow: a step of the model made linear anew there, so that what scales with the shared ones scales.
    """
    model, count = local.model, len(drawn)
    outer = drawn[:, : int(model.outer.sum())]
    step, arrow, _ = local.solve(outer)
    at = np.broadcast_to(local.point, (count, len(local.point))).copy()
    at[:, model.outer] = outer
    at[:, ~model.outer] += step
    departure = drawn[:, outer.shape[1] :] - at[:, local.shared]
    at[:, local.own] -= np.einsum("mgsk,mk->mgs", arrow.through, departure)
    at[:, local.shared] += departure
    gradient, arrow, _ = linearise(model, at, local.steps, alone=True).assembled(at)
    lower = np.linalg.cholesky(arrow.own)
    root = np.asarray(np.linalg.inv(np.swapaxes(lower, -1, -2)), dtype=float)
    z = np.einsum("mgji,mgj->mgi", root, gradient[:, local.own])
    z /= np.maximum(1.0, np.linalg.norm(z, axis=-1, keepdims=True) / FOLLOWED)
    at[:, local.own] -= np.einsum("mgij,mgj->mgi", root, z)
    return _Given(at, root)


def _moved(local: SpotLocal, centre: Array) -> SpotLocal:
    """Return the model made linear where the spots are likeliest given a centre (K,) of what is shared."""
    for _ in range(MOVES):
        local = linearise(local.model, _given(local, centre[None]).at[0], local.steps)
    return local


@dataclass(frozen=True)
class _Bank:
    """Draws of each spot given one value of what is shared: as far from the mean (R, G, S), with densities (R, G).

    For any other value close by, moved and stretched with the mean, they need weights that hardly differ.
    """

    z: Array
    log: Array

    @classmethod
    def at(cls, local: SpotLocal, centre: Array, tried: int, generator: np.random.Generator) -> "_Bank":
        """Return the draws at a centre (K,), out of candidates of a t, every other of which is wide."""
        given, (spots, size) = _given(local, centre[None]), local.own.shape
        middle, lower = np.zeros((spots, size)), np.broadcast_to(np.eye(size), (spots, size, size))
        for pieces in (*(1,) * ROUNDS, tried // PIECE):
            parts = []
            for _ in range(pieces):
                chance = _normals((PIECE, spots, size), generator)
                z = middle + np.einsum("gij,rgj->rgi", lower, chance)
                square = np.sum(chance**2, axis=-1)
                narrow, wide = (
                    -(FREEDOM + size) / 2 * np.log1p(square / (width**2 * FREEDOM)) - size * math.log(width)
                    for width in (1.0, WIDE)
                )
                log = given.log_densities(local, z[None])[1][0]
                parts.append((z, log, log - np.logaddexp(narrow, wide)))
            z, log, ratio = (np.concatenate(items) for items in zip(*parts, strict=True))
            middle, lower = _spread(z, ratio, lower)
        picks = _picked(ratio[None], tried // 2, generator)[0]
        return cls(np.take_along_axis(z, picks[..., None], axis=0), np.take_along_axis(log, picks, axis=0))

    def log_evidence(self, local: SpotLocal, given: _Given) -> Array:
        """Return the log density of what is shared with every spot integrated over, (M,), but for a constant."""
        ratio = given.log_densities(local, self.z[None, :CANDIDATES])[1] - self.log[:CANDIDATES]
        return np.asarray(logsumexp(ratio, axis=1).sum(axis=1) + _log_shared_density(local, given.at))

    def drawn(self, local: SpotLocal, given: _Given, generator: np.random.Generator) -> Array:
        """Return draws (M, REPEATED, P)."""
        count, (spots, size) = len(given.at), local.own.shape
        which = generator.integers(len(self.z), size=(count, CANDIDATES, spots))
        tried, log = given.log_densities(local, self.z[which, np.arange(spots)])
        picks = _picked(log - self.log[which, np.arange(spots)], REPEATED, generator)
        drawn = np.repeat(given.at[:, None], REPEATED, axis=1)
        taken = np.take_along_axis(tried, picks[..., None], axis=1)
        drawn[:, :, local.own.ravel()] = taken.reshape(count, REPEATED, spots * size)
        return drawn


def _spread(z: Array, ratio: Array, lower: Array) -> tuple[Array, Array]:
    """Return means, and roots of covariances, of weighted candidates (R, G, S); few keep much of the old `lower`."""
    weights = np.exp(ratio - ratio.max(axis=0))
    weights /= weights.sum(axis=0)
    known = 1.0 / (1.0 + WORTH_OLD * np.sum(weights**2, axis=0))[:, None, None]
    middle = np.einsum("rg,rgi->gi", weights, z)
    cov = np.einsum("rg,rgi,rgj->gij", weights, z - middle, z - middle)
    old = lower @ np.swapaxes(lower, -1, -2)
    return middle, np.asarray(np.linalg.cholesky(known * cov + (1 - known) * old), dtype=float)


def _first_shared(local: SpotLocal, outer: Array, generator: np.random.Generator) -> tuple[Array, Array]:
    """Return draws of the shared inner parameters given outer ones as Laplace's method has them, and log densities."""
    step, arrow, _ = local.solve(outer)
    at = np.broadcast_to(local.point, (len(outer), len(local.point))).copy()
    at[:, ~local.model.outer] += step
    count, size = len(outer), arrow.complement.shape[-1]
    if size == 0:
        return at[:, local.shared], np.zeros(count)
    sobol = qmc.Sobol(size, rng=generator)
    z = ndtri(np.clip(sobol.random(1 << (count - 1).bit_length())[:count], 1e-12, 1 - 1e-12))
    lower = np.linalg.cholesky(arrow.complement)
    z = generator.permutation(z)
    departure = np.linalg.solve(np.swapaxes(lower, -1, -2), z[..., None])[..., 0]
    log = np.log(np.diagonal(lower, axis1=-2, axis2=-1)).sum(axis=-1) - 0.5 * np.sum(z * z, axis=1)
    return at[:, local.shared] + departure, np.asarray(log)


def _picked(ratio: Array, wanted: int, generator: np.random.Generator) -> Whole:
    """Return which candidates of each spot to take, in proportion to what they are worth, (M, C, G) to (M, wanted, G).

    Given what is shared, spots are independent: their picks are put together in any order.
    """
    worth = np.moveaxis(np.exp(ratio - ratio.max(axis=1, keepdims=True)), 1, -1)
    draws, spots, count = worth.shape
    cumulative = (np.cumsum(worth, axis=-1) / worth.sum(axis=-1, keepdims=True)).reshape(-1, count)
    number = np.arange(draws * spots)[:, None]
    even = (np.arange(wanted) + generator.random(number.shape)) / wanted
    picks = np.searchsorted((cumulative + number).ravel(), even + number) - number * count
    picks = generator.permuted(np.clip(picks, 0, count - 1), axis=1)
    return np.moveaxis(picks.reshape(draws, spots, wanted), -1, 1)


def _normals(shape: tuple[int, ...], generator: np.random.Generator) -> Array:
    """Return numbers of a t, the spot's parameters together: tails above the posterior's."""
    stretch = np.sqrt(FREEDOM / generator.chisquare(FREEDOM, (*shape[:-1], 1)))
    found = generator.standard_normal(shape) * stretch
    found[::2] *= WIDE  # every other candidate looks for another mode beside an outlier
    return np.asarray(found)


def _log_shared_density(local: SpotLocal, at: Array) -> Array:
    """Return what depends on no single spot, (M,), but for constants."""
    model = local.model
    alone = np.isfinite(model.prior_moments[1])
    alone[local.own.ravel()] = False
    found = -0.5 * np.sum(model.off_prior(at, alone) ** 2, axis=1)
    natural = model.natural(at)
    for block in model.blocks:
        none = np.asarray(block.group) < 0
        if none.any():
            found = found + terms(block, natural)[:, none].sum(axis=1)
    return np.asarray(found)


def _log_densities(local: SpotLocal, table: Array) -> Array:
    """Return what depends on each spot, (M, C, G), but for constants."""
    model = local.model
    centre, spread = model.prior_moments
    scaled = np.where(np.isfinite(spread), (table - centre) / spread, 0.0)
    found = -0.5 * np.sum(scaled[..., local.own] ** 2, axis=-1)
    natural = model.natural(table)
    for block, member in zip(model.blocks, local.members, strict=True):
        residual, scale = np.broadcast_arrays(*block.evaluate(natural))
        log = block.loss.log_density(residual / scale) - np.log(scale)
        found = found + summed_by_spot(member, log)
    if model.extra is not None:
        found = found + model.extra(natural)
    return np.asarray(np.where(np.isfinite(found), found, -HUGE))
