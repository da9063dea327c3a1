"""Searches the mode of a model and its normal approximation, in two layers: see `golfphys.fitting.estimator`."""

import math
from dataclasses import dataclass, replace

import numpy as np

from golfphys.core.names import Array
from golfphys.fitting.estimator import AT_ONCE, HUGE, Model
from golfphys.fitting.many_spots import Arrow, SpotLocal, applies, linearise, slopes_by

GAIN = 1e-3  # rise of the log density from which a further step is worth it
# Factors on the noise a search starts with: with every residual inside the core it cannot lock on to an outlier
WIDENED = (5.0, 2.0, 1.0)
# Fractions of an outer step that are tried until the density comes true, and the fall of its logarithm that the
# search puts up with: across a kink it cannot be followed more closely
TRIED_LENGTHS, FLAT = (1.0, 0.3, 0.1, 0.02), 3.0
NEAR = 0.2  # move of the outer parameters within which the density bends alike, as far as a search for its top cares


@dataclass(frozen=True)
class Local:
    """The model made linear around one inner point: enough to solve for the inner parameters at any outer ones."""

    model: Model
    point: Array
    slopes: tuple[Array, ...]  # for each block the derivatives of residuals by the inner parameters, (N, P inner)
    scale_slopes: tuple[Array, ...]  # and of log scales

    @classmethod
    def at(cls, model: Model, point: Array) -> "Local":
        """Make a model linear around a point, by central differences."""
        return cls(model, point, *slopes_by(model, point, _steps(model), [*np.flatnonzero(~model.outer)[:, None]]))

    def solve(self, outer: Array) -> tuple[Array, Array, Array]:
        """Inner step, inner precision and log marginal density for outer values of shape (M, K)."""
        piece = max(1, AT_ONCE // self.model.residuals)
        parts = [self._solve(outer[first : first + piece]) for first in range(0, len(outer), piece)]
        step, precision, marginal = (np.concatenate(part) for part in zip(*parts, strict=True))
        return step, precision, marginal

    def _solve(self, outer: Array) -> tuple[Array, Array, Array]:
        model, is_outer = self.model, self.model.outer
        at = np.broadcast_to(self.point, (len(outer), len(self.point))).copy()
        at[:, is_outer] = outer
        natural = model.natural(at)
        known = model.prior_precision[:, ~is_outer]
        gradient = (at - model.prior_moments[0]) @ known
        size = known.shape[1]
        precision = np.broadcast_to(known[~is_outer], (len(outer), size, size)).copy()
        value = model.log_prior(at)
        for block, slope, scale_slope in zip(model.blocks, self.slopes, self.scale_slopes, strict=True):
            residual, scale = np.broadcast_arrays(*block.evaluate(natural))
            u = residual / scale
            weight = block.loss.weight(u)
            value = value + (block.loss.log_density(u) - np.log(scale)).sum(axis=-1)
            gradient = gradient + (weight * u / scale) @ slope + (1 - weight * u * u) @ scale_slope
            # where a loss falls as its residual grows, it is not taken to bend: a precision stays positive
            precision = precision + _sum_of_squares(np.maximum(weight, 0.0) / scale**2, slope)
            precision = precision + block.loss.scale_information * (scale_slope.T @ scale_slope)
        precision = precision + 1e-10 * np.eye(size)
        try:
            step = -np.linalg.solve(precision, gradient[..., None])[..., 0] if size else gradient
        except np.linalg.LinAlgError:
            # directions along which the density does not fall keep how far it bends
            values, vectors = np.linalg.eigh(precision)
            held = np.maximum(np.abs(values), 1e-9 * np.abs(values).max(axis=-1, keepdims=True))
            precision = (vectors * held[..., None, :]) @ np.swapaxes(vectors, -1, -2)
            step = -np.linalg.solve(precision, gradient[..., None])[..., 0]
        gain = -0.5 * np.sum(step * gradient, axis=-1)
        logdet = np.linalg.slogdet(precision)[1] if size else np.zeros(len(outer))
        marginal = value + gain - 0.5 * logdet + 0.5 * size * math.log(2 * math.pi)
        return np.asarray(step, dtype=np.float64), precision, np.where(np.isfinite(marginal), marginal, -HUGE)


def _sum_of_squares(weight: Array, slope: Array) -> Array:
    """Slope' diag(weight) slope for every row of weights, (M, N) and (N, P) to (M, P, P), in pieces that fit memory."""
    whole = np.zeros((len(weight), slope.shape[1], slope.shape[1]))
    # most blocks depend on few of the parameters
    used = np.flatnonzero(slope.any(axis=0))
    slope = slope[:, used]
    if len(weight) < used.size:
        # products of columns are worth their memory only where many rows share them
        whole[:, used[:, None], used] = [(slope.T * row) @ slope for row in weight]
        return whole
    i, j = np.triu_indices(used.size)
    total = np.zeros((len(weight), i.size))
    piece = max(1, 4_000_000 // max(i.size, 1))
    for first in range(0, len(slope), piece):
        rows = slope[first : first + piece]
        total += weight[:, first : first + piece] @ (rows[:, i] * rows[:, j])
    whole[:, used[i], used[j]] = whole[:, used[j], used[i]] = total
    return whole


def _linearise(model: Model, point: Array) -> Local | SpotLocal:
    return linearise(model, point, _steps(model)) if applies(model) else Local.at(model, point)


def _steps(model: Model) -> Array:
    """Return the steps of differences: across a kink (a bounce more or less) what counts is a width that matters."""
    spread = model.prior_moments[1]
    return np.asarray(2e-3 * np.where(np.isfinite(spread), np.minimum(spread, 1.0), 1.0))


def on_grid(model: Model, points: Array) -> Array:
    """Return points rounded to a fine grid, about a ten-thousandth of each prior's width.

    A search over a function with kinks turns the last digit of a sum, which differs between processors, into another
    path; on the grid every step begins again from the same point.
    """
    spread = model.prior_moments[1]
    width = 2.0 ** np.round(np.log2(np.where(np.isfinite(spread), np.minimum(spread, 1.0), 1.0)) - 13.0)
    return np.asarray(np.round(points / width) * width)


def _inner_mode(model: Model, point: Array, iterations: int = 30, gain: float = GAIN) -> Local | SpotLocal:
    """Move the inner parameters to their mode with the outer ones held; return the model made linear there.

    Slopes are dear and change little: they are kept for as long as whole steps along them gain.
    """
    is_outer = model.outer
    value = float(model.log_density(point))
    lengths = 0.5 ** np.arange(12)
    local, fresh = _linearise(model, point), True
    for _ in range(iterations):
        step = local.solve(point[is_outer][None])[0][0]
        tries = np.repeat(point[None], lengths.size, axis=0)
        tries[:, ~is_outer] += lengths[:, None] * step
        tries = np.where(is_outer, tries, on_grid(model, tries))
        values = model.log_density(tries)
        best = int(np.argmax(values))
        gained = float(values[best]) - value
        if fresh and not gained > 0:
            return local
        if gained > 0:
            value, point = float(values[best]), tries[best]
        enough = gained > gain
        if fresh and not enough:
            break
        fresh = best > 0 or not enough
        local = _linearise(model, point) if fresh else replace(local, point=point)
    return local if fresh else _linearise(model, point)


def _outer_step(local: Local | SpotLocal, outer: Array, covariance: Array | None) -> tuple[Array, Array, float]:
    """One safeguarded Newton step of the outer parameters, their covariance, and the log marginal density promised.

    A covariance that is known saves most of the work.
    """
    size, h = outer.size, 0.05
    unit = h * np.eye(size)
    i, j = np.triu_indices(size, 1) if covariance is None else np.zeros((2, 0), dtype=np.int64)
    both = unit[i] + unit[j]
    grid = np.concatenate([[outer], outer + unit, outer - unit, outer + both, outer - both])
    here, up, down, more, less = np.split(local.solve(grid)[2], np.cumsum([1, size, size, i.size]))
    gradient = (up - down) / (2 * h)
    if covariance is None:
        curve = np.diag((up + down - 2 * here) / h**2)
        curve[i, j] = curve[j, i] = (more + less - (up + down)[i] - (up + down)[j] + 2 * here) / (2 * h * h)
        roots, vectors = np.linalg.eigh(-curve)
        # priors on outer parameters are about one wide, so a flatter direction than this is noise of the differences
        covariance = (vectors / np.maximum(roots, 0.25)) @ vectors.T
    step = covariance @ gradient
    step *= min(1.0, 1.5 / max(float(np.max(np.abs(step))), 1e-12))
    lengths = np.concatenate([0.5 ** np.arange(8), [0.0]])
    tries = outer + lengths[:, None] * step
    promised = local.solve(tries)[2]
    best = int(np.argmax(promised))
    return tries[best], covariance, float(promised[best])


@dataclass(frozen=True)
class Mode:
    """Where the posterior is highest, outer parameters at the mode of their marginal, and its normal approximation."""

    model: Model
    point: Array
    outer_covariance: Array
    log_evidence: float  # Laplace's
    converged: bool  # the last round moved or gained nothing that matters, or the next promises nothing
    local: Local | SpotLocal  # the model made linear there

    @property
    def whole(self) -> Local:
        """The model made linear there, all parameters at once."""
        return self.local if isinstance(self.local, Local) else Local.at(self.model, self.point)

    @property
    def covariance(self) -> Array:
        """Covariance of the inner parameters given the outer ones."""
        return np.asarray(np.linalg.inv(self.whole.solve(self.point[self.model.outer][None])[1][0]), dtype=float)

    @property
    def joint_covariance(self) -> Array:
        """Covariance of all parameters, inner ones moving with the outer ones."""
        outer, h = self.model.outer, 0.05
        local, at = self.whole, self.point[outer]
        moved = local.solve(np.concatenate([at[None], at + h * np.eye(at.size), at - h * np.eye(at.size)]))
        steps, precision = moved[0][1:].reshape(2, at.size, int((~outer).sum())), moved[1][0]
        follow = (steps[0] - steps[1]).T / (2 * h)
        found = np.zeros((outer.size, outer.size))
        found[np.ix_(outer, outer)] = self.outer_covariance
        found[np.ix_(~outer, outer)] = follow @ self.outer_covariance
        found[np.ix_(outer, ~outer)] = found[np.ix_(~outer, outer)].T
        found[np.ix_(~outer, ~outer)] = np.linalg.inv(precision) + found[np.ix_(~outer, outer)] @ follow.T
        return found


def find_mode(model: Model, *, rounds: int = 40, widened: tuple[float, ...] = WIDENED, little: float = 0.0) -> Mode:
    """Search the mode of a model, in at most so many `rounds` of inner mode and outer step.

    `widened` are the factors on the noise with which the search sets out, one after the other; `little` is the rise of
    the log density that is not worth another round. For long logs: with it, how the outer parameters bend is not looked
    at anew where they moved little.
    """
    point, outer = on_grid(model, model.starting_point()), model.outer
    noise = np.array([p.outer and p.transform == "log" for p in model.parameters])
    for factor in widened:
        wide = point + np.where(noise, math.log(factor), 0.0)
        point = np.where(outer, point, _inner_mode(model, wide, 15, max(GAIN, little / 10)).point)
    converged, covariance, change = not outer.any(), np.zeros((0, 0)), math.inf
    local = _linearise(model, point)
    height = _height(local)
    for _ in range(rounds if outer.any() else 0):
        known = covariance if little > 0 and change < NEAR else None
        moved, covariance, promised = _outer_step(local, point[outer], known)
        converged = promised - 0.5 * (~outer).sum() * math.log(2 * math.pi) - height < little
        if converged:
            break
        # far from the inner mode the linear model promises what does not come true
        for length in TRIED_LENGTHS:
            tried = point.copy()
            tried[outer] += length * (moved - point[outer])
            before = on_grid(model, tried)
            local = _inner_mode(model, before, gain=max(GAIN, little / 10))
            found, reached = local.point, _height(local)
            if reached > height - FLAT:
                break
        else:
            local = _linearise(model, point)
            break
        change = float(np.max(np.abs(before[outer] - point[outer])))
        settled = float(np.max(np.abs(found - before), initial=0.0)) < 0.05
        converged = (change < 0.02 and settled) or abs(reached - height) < little
        point, height = found, reached
        if converged:
            break
    marginals = local.solve(point[outer][None])[2]
    size = int(outer.sum())
    logdet = float(np.linalg.slogdet(covariance)[1]) if size else 0.0
    evidence = float(marginals[0]) + 0.5 * size * math.log(2 * math.pi) + 0.5 * logdet
    return Mode(model, point, covariance, evidence, converged, local)


def _height(local: Local | SpotLocal) -> float:
    """Laplace's log marginal density of the outer parameters at an inner mode, without what a further step promises."""
    outer = local.point[local.model.outer][None]
    precision, logdet = local.solve(outer)[1], 0.0
    if isinstance(precision, Arrow):
        logdet = float(precision.log_determinant()[0])
    elif precision.size:
        logdet = float(np.linalg.slogdet(precision[0])[1])
    return float(local.model.log_density(local.point)) - 0.5 * logdet


def expected_covariance(model: Model, point: Array) -> tuple[Array, Array]:
    """Covariance of the inner parameters to expect before anything is observed, and of priors and structure alone.

    Residuals are taken as zero, so that only how the expected values depend on the parameters counts, at the
    transformed values (P,) that are thought to be true.
    """
    local = Local.at(model, point)
    natural = model.natural(point)
    inner = ~model.outer
    without = model.prior_precision[np.ix_(inner, inner)] + 1e-10 * np.eye(int(inner.sum()))
    with_data = without.copy()
    for block, slope in zip(model.blocks, local.slopes, strict=True):
        _, scale = np.broadcast_arrays(*block.evaluate(natural))
        weight = block.loss.weight(np.zeros(scale.shape)) / scale**2
        information = (slope.T * weight) @ slope
        with_data = with_data + information
        if not block.data:
            without = without + information
    return np.asarray(np.linalg.inv(with_data), dtype=float), np.asarray(np.linalg.inv(without), dtype=float)
