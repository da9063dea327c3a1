"""A model of many spots made linear: given what they share, spots do not depend on each other.

The precision of the inner parameters is an arrow: a small block for each spot, a border for what all share. It is
solved block by block.
"""

import math
from dataclasses import dataclass
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.sparse import csr_array

from golfphys.fitting.estimator import HUGE, Block, Model

Array = NDArray[np.float64]
Whole = NDArray[np.int64]

MANY = 100
"""Spots from which on a sheet is fitted spot by spot."""


def applies(model: Model) -> bool:
    """Return whether a model has many spots and says on which of them each residual depends."""
    return len(model.spots) > MANY and all(block.group is not None for block in model.blocks)


@dataclass(frozen=True)
class Arrow:
    """Precisions: (M, G, S, S) of the spots, (M, G, S, K) beside what is shared, (M, K, K) of that."""

    own: Array
    beside: Array
    shared: Array

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
        spots = np.linalg.slogdet(self.own)[1].sum(axis=1)
        return np.asarray(spots + np.linalg.slogdet(self.complement)[1])


@dataclass(frozen=True)
class SpotLocal:
    """The model made linear around one inner point; the counterpart of `golfphys.fitting.search.Local`.

    Transformed values there, (P,), or of many such points, (M, P); the steps of the differences, (P,); and for each
    block the derivatives of residuals and of log scales by the spot's own parameters, then the shared ones, (N, S + K).
    """

    model: Model
    point: Array
    steps: Array
    slopes: tuple[Array, ...]
    scale_slopes: tuple[Array, ...]

    @property
    def own(self) -> Whole:
        """Columns of the spots' own parameters, (G, S)."""
        return self.model.spots

    @cached_property
    def shared(self) -> Whole:
        """Columns of the shared inner parameters, where there are slopes by them."""
        return shared_columns(self.model)[: self.slopes[0].shape[-1] - self.own.shape[1]]

    @cached_property
    def members(self) -> list[csr_array]:
        """For each block, which residual belongs to which spot, (G, N)."""
        return [_members(block, len(self.own)) for block in self.model.blocks]

    def solve(self, outer: Array) -> tuple[Array, Arrow, Array]:
        """Inner step, inner precision and log marginal density for outer values of shape (M, K)."""
        model, inner = self.model, np.flatnonzero(~self.model.outer)
        at = np.broadcast_to(self.point, (len(outer), len(self.point))).copy()
        at[:, model.outer] = outer
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
        for block, slope, scale_slope, member in zip(
            model.blocks, self.slopes, self.scale_slopes, self.members, strict=True
        ):
            residual, scale = np.broadcast_arrays(*block.evaluate(natural))
            u = residual / scale
            weight = block.loss.weight(u)
            value = value + (block.loss.log_density(u) - np.log(scale)).sum(axis=-1)
            pull, widen, stiff = weight * u / scale, 1 - weight * u * u, weight / scale**2
            information = block.loss.scale_information
            for i in range(size + more):
                force = pull * slope[..., i] + widen * scale_slope[..., i]
                if i >= size:
                    gradient[:, self.shared[i - size]] += force.sum(axis=1)
                else:
                    gradient[:, self.own[:, i]] += summed_by_spot(member, force)
                for j in range(i if i < size else size, size + more):
                    crossed = stiff * (slope[..., i] * slope[..., j])
                    crossed = crossed + information * (scale_slope[..., i] * scale_slope[..., j])
                    if i < size:
                        table[:, :, i, j] += summed_by_spot(member, crossed)
                    else:
                        corner[:, i - size, j - size] += crossed.sum(axis=1)
        for i in range(size):
            for j in range(i):
                table[:, :, i, j] = table[:, :, j, i]
        return gradient, Arrow(table[..., :size], table[..., size:], corner), value

    def log_determinant(self, arrow: Any) -> float:
        """Return the log determinant of the first of the precisions."""
        return float(arrow.log_determinant()[0])


def shared_columns(model: Model) -> Whole:
    """Return the columns of the inner parameters that all spots share."""
    return np.setdiff1d(np.flatnonzero(~model.outer), model.spots)


def _members(block: Block, spots: int) -> csr_array:
    group = np.asarray(block.group)
    rows = np.flatnonzero(group >= 0)
    return csr_array((np.ones(rows.size), (group[rows], rows)), shape=(spots, group.size))


def summed_by_spot(member: csr_array, values: Array) -> Array:
    """Return sums over the residuals of each spot, (..., N) to (..., G)."""
    found = member @ values.reshape(-1, values.shape[-1]).T
    return np.asarray(found.T.reshape(*values.shape[:-1], -1))


def linearise(model: Model, point: Array, steps: Array, *, alone: bool = False) -> SpotLocal:
    """Make a model to which `applies` linear around a point or points, all spots moved at once.

    `point` is (P,) or (M, P), `steps` of the differences (P,); `alone` leaves out the slopes by what is shared.
    """
    own, shared = model.spots, shared_columns(model)[: 0 if alone else None]
    moved = [own[:, i] for i in range(own.shape[1])] + [np.array([column]) for column in shared]
    around = np.repeat(point[..., None, :], 2 * len(moved), axis=-2)
    for i, columns in enumerate(moved):
        around[..., 2 * i, columns] += steps[columns]
        around[..., 2 * i + 1, columns] -= steps[columns]
    natural = model.natural(around)
    slopes: list[Array] = []
    scale_slopes: list[Array] = []
    for block in model.blocks:
        residual, scale = np.broadcast_arrays(*block.evaluate(natural))
        group = np.asarray(block.group)
        # a step of a spot's own parameter is that of its own prior
        width = np.stack(
            [np.where(group >= 0, steps[own[np.maximum(group, 0), i]], 1.0) for i in range(own.shape[1])]
            + [np.full(group.size, steps[column]) for column in shared]
        )
        outside = np.zeros((len(moved), group.size), dtype=bool)
        outside[: own.shape[1], group < 0] = True
        for kept, values in ((slopes, residual), (scale_slopes, np.log(scale))):
            found = (values[..., ::2, :] - values[..., 1::2, :]) / (2 * width)
            kept.append(np.swapaxes(np.where(outside, 0.0, found), -1, -2))
    return SpotLocal(model, point, steps, tuple(slopes), tuple(scale_slopes))
