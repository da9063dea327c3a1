"""A posterior of many spots, one spot at a time: time grows with their number.

Given what they share, spots do not depend on each other: the precision of the inner parameters is an arrow, a small
block for each spot and a border for what all share. What is shared is drawn as Laplace's method has it (nested, as by
Rue, Martino, Chopin, J. R. Stat. Soc. B 71, 319, 2009, memory) and weighted by the true density, each spot integrated
over by candidates that move and stretch with what is shared; each spot is then picked from others by their worth.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.sparse import csr_array
from scipy.special import gammaincinv, logsumexp, ndtri
from scipy.stats import qmc

from golfphys.core.names import Array, Columns
from golfphys.fitting.estimator import HUGE, Model, Summed, terms
from golfphys.fitting.weights import TRUSTED_K, Weighted, effective_draws, parabola, smoothed

CANDIDATES = 16  # draws of each spot that are weighed for each draw of what is shared
# Candidates of each spot at the centre of what is shared, of which half as many draws are made, how many at once,
# rounds in which they find where to come from, and what their spread beforehand is worth in draws
TRIED, PIECE, ROUNDS, WORTH_OLD = 2048, 256, 3, 10.0
FREEDOM, WIDE = 8.0, 3.0  # degrees of freedom of the candidates' t, and factor on the width of every other
# Most stages of draws of what is shared, draws in all but the last, factor on their variances, and the share of draws
# that they are worth from which no further stage is wanted
STAGES, FEW, WIDER, WELL = 12, 256, 1.2, 0.3
MOVES, FOLLOWED = 4, 6.0  # steps of the spots to a new centre of what is shared, the longest in standard deviations
REPEATED, AT_ONCE = 4, 500_000  # draws that each draw of what is shared ends up with; residuals in memory at once


def applies(model: Model) -> bool:
    """Return whether spots are to be drawn one by one, and each residual is of one at most."""
    return len(model.spots) > 0 and all(block.group is not None for block in model.blocks)


@dataclass(frozen=True)
class Arrow:
    """Precisions, with the spots' own blocks and a border."""

    own: Array  # of the spots, (M, G, S, S)
    beside: Array  # beside what is shared, (M, G, S, K)
    shared: Array  # of that, (M, K, K)

    @cached_property
    def through(self) -> Array:
        """What each spot takes from the shared ones: own^-1 beside, (M, G, S, K)."""
        return np.asarray(np.linalg.solve(self.own, self.beside), dtype=float)

    @cached_property
    def complement(self) -> Array:
        """Precision of the shared ones with the spots integrated out, (M, K, K)."""
        return np.asarray(self.shared - np.einsum("mgsk,mgsl->mkl", self.beside, self.through))

    def log_determinant(self) -> Array:
        """Return the log determinant of each, shape (M,)."""
        return np.asarray(np.linalg.slogdet(self.own)[1].sum(axis=1) + np.linalg.slogdet(self.complement)[1])


@dataclass(frozen=True)
class SpotLocal:
    """The model made linear around one inner point; the counterpart of `golfphys.fitting.search.Local`."""

    model: Model
    point: Array  # transformed values, (P,), or of many such points, (M, P)
    steps: Array  # of the differences, (P,)
    # For each block derivatives of residuals and log scales by the spot's own parameters, then the shared, (N, S + K).
    slopes: tuple[Array, ...]
    scale_slopes: tuple[Array, ...]

    @property
    def own(self) -> Columns:
        """Columns of the spots' own parameters, (G, S)."""
        return self.model.spots

    @cached_property
    def shared(self) -> Columns:
        """Columns of the shared inner parameters, where there are slopes by them."""
        return shared_columns(self.model)[: self.slopes[0].shape[-1] - self.own.shape[1]]

    @cached_property
    def members(self) -> list[csr_array]:
        """For each block, which residual belongs to which spot, (G, N)."""
        groups = [np.asarray(block.group) for block in self.model.blocks]
        pairs = [(group, np.flatnonzero(group >= 0)) for group in groups]
        return [csr_array((np.ones(i.size), (g[i], i)), shape=(len(self.own), g.size)) for g, i in pairs]

    def at(self, outer: Array) -> Array:
        """Return the point with outer values of shape (M, K)."""
        found = np.broadcast_to(self.point, (len(outer), len(self.point))).copy()
        found[:, self.model.outer] = outer
        return found

    def solve(self, outer: Array) -> tuple[Array, Arrow, Array]:
        """Inner step, inner precision and log marginal density for outer values of shape (M, K)."""
        inner, at = np.flatnonzero(~self.model.outer), self.at(outer)
        gradient, arrow, value = self.assembled(at)
        own, rest = gradient[:, self.own], gradient[:, self.shared]
        pulled = rest - np.einsum("mgsk,mgs->mk", arrow.through, own)
        step = np.zeros_like(at)
        moved = -np.linalg.solve(arrow.complement, pulled[..., None])[..., 0] if rest.shape[1] else rest
        step[:, self.shared] = moved
        alone = np.linalg.solve(arrow.own, own[..., None])[..., 0]
        step[:, self.own] = -alone - np.einsum("mgsk,mk->mgs", arrow.through, moved)
        gain = -0.5 * np.sum(step * gradient, axis=1)
        marginal = value + gain - 0.5 * arrow.log_determinant() + 0.5 * inner.size * math.log(2 * math.pi)
        return step[:, inner], arrow, np.where(np.isfinite(marginal), marginal, -HUGE)

    def followed(self, outer: Array) -> tuple[Array, Arrow]:
        """Return the inner modes at outer values of shape (M, K), with these, and the inner precision."""
        step, arrow, _ = self.solve(outer)
        at = self.at(outer)
        at[:, ~self.model.outer] += step
        return at, arrow

    def assembled(self, at: Array) -> tuple[Array, Arrow, Array]:
        """Return gradient (M, P) and precision of minus the log density at points (M, P), and its value (M,)."""
        model, natural = self.model, self.model.natural(at)
        count, (spots, size), more = len(at), self.own.shape, len(self.shared)
        known = model.prior_precision
        gradient = (at - model.prior_moments[0]) @ known
        gradient[:, model.outer] = 0.0
        table = np.zeros((count, spots, size, size + more))
        table[:, :, range(size), range(size)] += np.diagonal(known)[self.own] + 1e-10
        corner = np.zeros((count, more, more)) + known[np.ix_(self.shared, self.shared)] + 1e-10 * np.eye(more)
        value = model.log_prior(at)
        parts = zip(model.blocks, self.slopes, self.scale_slopes, self.members, strict=True)
        for block, slope, scale_slope, member in parts:
            residual, scale = np.broadcast_arrays(*block.evaluate(natural))
            u = residual / scale
            weight = block.loss.weight(u)
            value = value + (block.loss.log_density(u) - np.log(scale)).sum(axis=-1)
            pull, widen, stiff = weight * u / scale, 1 - weight * u * u, weight / scale**2
            for i in range(size + more):
                force = pull * slope[..., i] + widen * scale_slope[..., i]
                if i >= size:
                    gradient[:, self.shared[i - size]] += force.sum(axis=1)
                else:
                    gradient[:, self.own[:, i]] += summed_by_spot(member, force)
                for j in range(i if i < size else size, size + more):
                    crossed = stiff * (slope[..., i] * slope[..., j])
                    crossed = crossed + block.loss.scale_information * (scale_slope[..., i] * scale_slope[..., j])
                    if i < size:
                        table[:, :, i, j] += summed_by_spot(member, crossed)
                    else:
                        corner[:, i - size, j - size] += crossed.sum(axis=1)
        below = np.tril_indices(size, -1)
        table[:, :, below[0], below[1]] = table[:, :, below[1], below[0]]
        return gradient, Arrow(table[..., :size], table[..., size:], corner), value


def shared_columns(model: Model) -> Columns:
    """Return the columns of the inner parameters that all spots share."""
    return np.setdiff1d(np.flatnonzero(~model.outer), model.spots)


def summed_by_spot(member: csr_array, values: Array) -> Array:
    """Return sums over the residuals of each spot, (..., N) to (..., G)."""
    found = member @ values.reshape(-1, values.shape[-1]).T
    return np.asarray(found.T.reshape(*values.shape[:-1], -1))


def linearise(model: Model, point: Array, steps: Array, *, alone: bool = False) -> SpotLocal:
    """Make a model to which `applies` linear around a point or points, all spots moved at once.

    `point` is (P,) or (M, P), `steps` of the differences (P,); `alone` leaves out the slopes by what is shared.
    """
    own, shared = model.spots, shared_columns(model)[: 0 if alone else None]
    # the priors of all spots are alike, and so are their steps
    return SpotLocal(model, point, steps, *slopes_by(model, point, steps, [*own.T, *shared[:, None]]))


def slopes_by(
    model: Model, point: Array, steps: Array, groups: Sequence[Columns]
) -> tuple[tuple[Array, ...], tuple[Array, ...]]:
    """Return for each block the derivatives of residuals, and of log scales, by groups of columns that move together.

    They are central differences around a point (..., P), each of shape (..., N, groups).
    """
    around = np.repeat(point[..., None, :], 2 * len(groups), axis=-2)
    for i, columns in enumerate(groups):
        around[..., 2 * i, columns] += steps[columns]
        around[..., 2 * i + 1, columns] -= steps[columns]
    natural = model.natural(around)
    kept: tuple[list[Array], list[Array]] = ([], [])
    width = np.array([steps[columns[0]] for columns in groups])[:, None]
    for block in model.blocks:
        residual, scale = np.broadcast_arrays(*block.evaluate(natural))
        for slopes, values in zip(kept, (residual, np.log(scale)), strict=True):
            found = (values[..., ::2, :] - values[..., 1::2, :]) / (2 * width)
            slopes.append(np.swapaxes(found, -1, -2))
    return tuple(kept[0]), tuple(kept[1])


def spot_draws(local: SpotLocal, covariance: Array, count: int, generator: np.random.Generator) -> Weighted:
    """Draw from a posterior spot by spot, `REPEATED` draws for each of `count` of what the spots share.

    `local` is the model made linear at its mode, `covariance` (K, K) that of the outer parameters there.
    """
    # of two noises their sum and ratio
    noises = _summed(local.model)
    mean = noises.apart(local.point[local.model.outer])
    turn = noises.slopes(mean)
    outer, log_outer = _proposed(mean, turn @ covariance @ turn.T, FEW, generator)
    shared, log_shared = _first_shared(local, outer, generator)
    drawn, log_drawn = np.concatenate([outer, shared], axis=1), log_outer + log_shared
    centre = drawn.mean(axis=0)
    for stage in range(STAGES):
        for _ in range(MOVES):
            local = linearise(local.model, _given(local, centre[None]).at[0], local.steps)
        bank = _Bank.at(local, centre, TRIED if len(drawn) == count else TRIED // 4, generator)
        piece = max(1, AT_ONCE // (CANDIDATES * local.model.residuals))
        given = [_given(local, drawn[first : first + piece]) for first in range(0, len(drawn), piece)]
        log = np.concatenate([bank.log_evidence(local, one) for one in given])
        weights, shape = smoothed(log - log_drawn)
        good = shape < TRUSTED_K and effective_draws(weights) > WELL * len(weights)
        if good and len(drawn) == count:
            break
        if stage + 1 < STAGES:
            centre, cov = parabola(drawn, log, weights)
            drawn, log_drawn = _proposed(centre, cov, count if good or stage + 2 == STAGES else FEW, generator)
    draws = np.concatenate([bank.drawn(local, one, generator) for one in given]).reshape(-1, len(local.point))
    return Weighted(draws, np.repeat(weights / REPEATED, REPEATED), shape, effective_draws(weights))


def _summed(model: Model) -> Summed:
    """Return which two of the outer parameters are noises that add up."""
    assert model.summed is not None
    one, other = np.searchsorted(np.flatnonzero(model.outer), [model.summed.one, model.summed.other])
    return replace(model.summed, one=int(one), other=int(other))


def _proposed(mean: Array, cov: Array, count: int, generator: np.random.Generator) -> tuple[Array, Array]:
    """Return new draws of what is shared from a t, and its log density."""
    size = len(mean)
    lower = np.linalg.cholesky(WIDER * cov + 1e-12 * np.diag(np.diag(cov) + 1e-12))
    points = _even(size + 1, count, generator)
    stretch = np.sqrt(FREEDOM / (2 * gammaincinv(FREEDOM / 2, points[:, :1])))
    z = ndtri(points[:, 1:]) * stretch
    log = -(FREEDOM + size) / 2 * np.log1p(np.sum(z * z, axis=1) / FREEDOM)
    return mean + z @ lower.T, log


def _even(size: int, count: int, generator: np.random.Generator) -> Array:
    """Return quasi-random numbers, (count, size)."""
    points = qmc.Sobol(size, rng=generator).random(1 << (count - 1).bit_length())[:count]
    return np.asarray(np.clip(points, 1e-12, 1 - 1e-12))


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
        centre, spread = local.model.prior_moments
        scaled = np.where(np.isfinite(spread), (table - centre) / spread, 0.0)
        found = -0.5 * np.sum(scaled[..., local.own] ** 2, axis=-1)
        natural = local.model.natural(table)
        for block, member in zip(local.model.blocks, local.members, strict=True):
            residual, scale = np.broadcast_arrays(*block.evaluate(natural))
            log = block.loss.log_density(residual / scale) - np.log(scale)
            found = found + summed_by_spot(member, log)
        if local.model.extra is not None:
            found = found + local.model.extra(natural)
        stretch = np.log(np.diagonal(self.root, axis1=-2, axis2=-1)).sum(axis=-1)
        return tried, np.where(np.isfinite(found), found, -HUGE) + stretch[:, None]


def _given(local: SpotLocal, drawn: Array) -> _Given:
    """Return the spots given draws of what is shared, outer parameters first.

    They follow: a step of the model made linear anew there, so that what scales with the shared ones scales.
    """
    outer, shared = np.split(drawn, [int(local.model.outer.sum())], axis=1)
    at, arrow = local.followed(_summed(local.model).back(outer))
    departure = shared - at[:, local.shared]
    at[:, local.own] -= np.einsum("mgsk,mk->mgs", arrow.through, departure)
    at[:, local.shared] += departure
    gradient, arrow, _ = linearise(local.model, at, local.steps, alone=True).assembled(at)
    root = np.asarray(np.linalg.inv(np.swapaxes(np.linalg.cholesky(arrow.own), -1, -2)), dtype=float)
    z = np.einsum("mgji,mgj->mgi", root, gradient[:, local.own])
    z /= np.maximum(1.0, np.linalg.norm(z, axis=-1, keepdims=True) / FOLLOWED)
    at[:, local.own] -= np.einsum("mgij,mgj->mgi", root, z)
    return _Given(at, root)


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
                # of a t, the spot's parameters together: tails above the posterior's
                stretch = np.sqrt(FREEDOM / generator.chisquare(FREEDOM, (PIECE, spots, 1)))
                chance = generator.standard_normal((PIECE, spots, size)) * stretch
                chance[::2] *= WIDE  # every other candidate looks for another mode beside an outlier
                z = middle + np.einsum("gij,rgj->rgi", lower, chance)
                square = np.sum(chance**2, axis=-1)
                narrow = -(FREEDOM + size) / 2 * np.log1p(square / FREEDOM)
                wide = -(FREEDOM + size) / 2 * np.log1p(square / (WIDE**2 * FREEDOM)) - size * math.log(WIDE)
                log = given.log_densities(local, z[None])[1][0]
                parts.append((z, log, log - np.logaddexp(narrow, wide)))
            z, log, ratio = (np.concatenate(items) for items in zip(*parts, strict=True))
            middle, lower = _spread(z, ratio, lower)
        picks = _picked(ratio[None], tried // 2, generator)[0]
        return cls(np.take_along_axis(z, picks[..., None], axis=0), np.take_along_axis(log, picks, axis=0))

    def log_evidence(self, local: SpotLocal, given: _Given) -> Array:
        """Return the log density of what is shared with every spot integrated over, (M,), but for a constant."""
        ratio = given.log_densities(local, self.z[None, :CANDIDATES])[1] - self.log[:CANDIDATES]
        alone = np.isfinite(local.model.prior_moments[1])
        alone[local.own.ravel()] = False
        shared = -0.5 * np.sum(local.model.off_prior(given.at, alone) ** 2, axis=1)
        natural = local.model.natural(given.at)
        for block in local.model.blocks:
            none = np.asarray(block.group) < 0
            if none.any():
                shared = shared + terms(block, natural)[:, none].sum(axis=1)
        return np.asarray(logsumexp(ratio, axis=1).sum(axis=1) + shared)

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
    at, arrow = local.followed(_summed(local.model).back(outer))
    if not len(local.shared):
        return at[:, local.shared], np.zeros(len(outer))
    z = generator.permutation(ndtri(_even(len(local.shared), len(outer), generator)))
    lower = np.linalg.cholesky(arrow.complement)
    departure = np.linalg.solve(np.swapaxes(lower, -1, -2), z[..., None])[..., 0]
    log = np.log(np.diagonal(lower, axis1=-2, axis2=-1)).sum(axis=-1) - 0.5 * np.sum(z * z, axis=1)
    return at[:, local.shared] + departure, np.asarray(log)


def _picked(ratio: Array, wanted: int, generator: np.random.Generator) -> Columns:
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
