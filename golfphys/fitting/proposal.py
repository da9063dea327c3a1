"""Proposals of adaptive importance sampling: bent normals with the moments of the weighted draws so far."""

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from scipy.linalg import solve_triangular
from scipy.special import gammaincinv, gammaln

from golfphys.core.names import Array, Columns
from golfphys.fitting.weights import Weighted, effective_draws, tempered

# Shares at which margins are looked at, and standard deviations between the outer ones of a normal
ENDS, NINETY = np.array([0.05, 0.5, 0.95]), 3.29
WIDER = 1.1  # factor on the variances of proposals: weights bear a proposal that is too wide better than the opposite
DOUBT = 0.3  # draws for each parameter that the first proposal counts for beside those of the stages
REPEATS = 3  # draws of the fast parameters for each draw of the others: with two, where laws miss, weights can fail
SHOWN = 0.1  # effective draws, as a share of all, for which weights are tempered before moments are taken of them
WEIGHTLESS = 1e-8  # Weight, over the largest, below which a draw is left out of moments
# Share of a standard deviation to which proposals are rounded. Processors differ in the last digit of a sum; rounded,
# their proposals are the same, and the digit does not grow from stage to stage.
GRID = 2.0**-10
Moments = tuple[Array, Array]  # centre and covariance of a normal approximation
BINS = 1024  # of the histograms that quantiles are taken from


def coarse(values: Array | float, size: Array | float) -> Array:
    """Return values rounded to `GRID` times the next power of two above `size`."""
    unit = GRID * np.ldexp(1.0, np.frexp(size)[1])
    return np.asarray(np.round(values / unit) * unit)


def quantiles(values: Array, weights: Array, shares: Array) -> Array:
    """Return weighted quantiles of every column, shape (shares, P), from histograms: sorting takes five times as long.

    They are off by less than draws so few and so unevenly weighted are themselves.
    """
    size = values.shape[1]
    low, wide = values.min(axis=0), np.ptp(values, axis=0)
    place = np.minimum((values - low) * (BINS / np.maximum(wide, 1e-300)), BINS - 1).astype(np.int64)
    counts = np.bincount((place + BINS * np.arange(size)).ravel(), np.repeat(weights, size), BINS * size)
    below = np.cumsum(np.pad(counts.reshape(size, BINS), ((0, 0), (1, 0))), axis=1)
    found = np.array([np.interp(shares, known, np.linspace(0.0, 1.0, BINS + 1)) for known in below])
    return np.asarray(low + wide * found.reshape(size, len(shares)).T)


@dataclass(frozen=True)
class Bend:
    """A monotone map of each margin that makes it about normal: straight far out, with another slope on either side."""

    centre: Array
    width: Array
    skew: Array

    @classmethod
    def of(cls, draws: Array, weights: Array) -> "Bend":
        """Return the map that makes 5 %, 50 % and 95 % about symmetrical."""
        low, middle, high = quantiles(draws, weights, ENDS)
        return cls.through(low, middle, high, noise=0.1 + 6.0 / effective_draws(weights))

    @classmethod
    def through(cls, low: Array, middle: Array, high: Array, noise: float = 0.1) -> "Bend":
        """Return the map of margins with these 5 %, 50 % and 95 %; `noise` is the variance of how they lean."""
        above, below = np.maximum(high - middle, 1e-12), np.maximum(middle - low, 1e-12)
        lean = np.log(above / below)
        return cls(middle, (above + below) / NINETY, np.clip(0.55 * lean**3 / (lean**2 + noise), -1.2, 1.2))

    def towards(self, other: "Bend", known: float) -> "Bend":
        """Return the map between this one, as `known` goes to 1, and another."""
        centre = known * self.centre + (1 - known) * other.centre
        skew = known * self.skew + (1 - known) * other.skew
        return Bend(centre, self.width**known * other.width ** (1 - known), skew)

    def straight(self, draws: Array) -> Array:
        """Return straightened values: the hyperbolic sine of asinh(t) - skew, without either function."""
        t = (draws - self.centre) / self.width
        return np.asarray(t * np.cosh(self.skew) - np.sqrt(1.0 + t * t) * np.sinh(self.skew))

    def with_slopes(self, draws: Array) -> tuple[Array, Array]:
        """Return straightened values (N, P), and the log of the product of their derivatives (N,)."""
        t = (draws - self.centre) / self.width
        root = np.sqrt(1.0 + t * t)
        cosh, sinh = np.cosh(self.skew), np.sinh(self.skew)
        # each factor lies between exp(-1.2) and exp(1.2): their product is a float
        slope = np.log(np.prod(cosh - sinh * t / root, axis=1)) - float(np.log(self.width).sum())
        return t * cosh - root * sinh, np.asarray(slope)

    @property
    def rounded(self) -> "Bend":
        """The same map, with centres and widths rounded to a share of the widths."""
        return Bend(coarse(self.centre, self.width), coarse(self.width, self.width), coarse(self.skew, 1.0))

    def part(self, which: slice) -> "Bend":
        """Return the map of some of the columns."""
        return Bend(self.centre[which], self.width[which], self.skew[which])

    def bent(self, values: Array) -> Array:
        """Return the draws behind straightened values."""
        return np.asarray(self.centre + self.width * np.sinh(np.arcsinh(values) + self.skew))


@dataclass(frozen=True)
class Leading:
    """Draws of the first parameters from their own posterior, weighted by that and by what all else adds to it."""

    draws: Array
    weights: Array
    # the logarithm of what is added is quadratic: from 0 here, with this slope and precision, less `level`
    centre: Array
    slope: Array
    precision: Array
    level: float = 0.0

    @classmethod
    def of(cls, alone: Weighted, apart: Moments, whole: Moments, inner: Columns) -> "Leading":
        """Return draws of the first parameters `alone` with what normal approximations say that all else adds.

        They are those of the posterior of the first `apart` and of the `whole` one. All else informs of the `inner`
        ones, not of noise that is theirs alone.
        """
        size = len(apart[0])
        centre, slope, precision = whole[0][:size], np.zeros(size), np.zeros((size, size))
        before, after = (np.linalg.inv(item[np.ix_(inner, inner)]) for item in (apart[1], whole[1]))
        values, vectors = np.linalg.eigh(after - before)
        precision[np.ix_(inner, inner)] = (vectors * np.maximum(values, 0.0)) @ vectors.T
        slope[inner] = before @ (centre - apart[0])[inner]
        even = cls(alone.transformed, alone.weights, centre, slope, precision)
        logs = even.added(alone.transformed)
        weights = alone.weights * np.exp(logs - logs.max())
        level = float(logs.max() + math.log(weights.sum() / alone.weights.sum()))
        return replace(even, weights=weights / weights.sum(), level=level)

    @classmethod
    def none(cls) -> "Leading":
        """Return what stands for no first parameters."""
        return cls(np.zeros((1, 0)), np.ones(1), np.zeros(0), np.zeros(0), np.zeros((0, 0)))

    def added(self, draws: Array) -> Array:
        """Return the log density of what is added at draws (N, first)."""
        off = draws - self.centre
        return np.asarray(off @ self.slope - 0.5 * np.einsum("ij,ij->i", off @ self.precision, off) - self.level)


@dataclass(frozen=True)
class Proposal:
    """A t on the straightened scale, columns in the order first, slow, fast; and draws of the first, reweighted."""

    bend: Bend
    mean: Array
    lower: Array
    leading: Leading
    tilt: Array
    cumulative: Array
    level: float

    def __post_init__(self) -> None:
        size = np.sqrt(np.sum(self.lower**2, axis=1))
        lower, diagonal = np.tril(coarse(self.lower, size[:, None]), -1), np.asarray(np.diag(self.lower))
        object.__setattr__(self, "bend", self.bend.rounded)
        object.__setattr__(self, "mean", coarse(self.mean, size))
        object.__setattr__(self, "lower", lower + np.diag(coarse(diagonal, diagonal)))

    @classmethod
    def of(cls, last: Weighted, before: "Proposal", base: Array) -> "Proposal":
        """Return the proposal with the moments of weighted draws, shrunk towards those of `before`, as is its bend.

        They shrink the more, the fewer draws these are worth for each parameter; `base` are draws of `before`.
        """
        weights = tempered(last.weights, max(100.0, SHOWN * len(last.weights) / REPEATS))
        heavy = weights > WEIGHTLESS * weights.max()
        draws, weights = last.transformed[heavy], weights[heavy]
        count = effective_draws(weights)
        known = last.effective_draws / (last.effective_draws + DOUBT * draws.shape[1])
        bend = Bend.of(draws, weights).towards(before.bend, known)
        z, old = bend.straight(draws), np.clip(bend.straight(base), -50.0, 50.0)
        white, middle = root_of(np.cov(old.T, bias=True).reshape(2 * old.shape[1:])), old.mean(axis=0)
        mean = middle + known * (weights @ z - middle)
        z = z - weights @ z
        raw = np.linalg.solve(white, np.linalg.solve(white, (z.T * weights) @ z).T)
        scale = np.sqrt(np.maximum(np.diag(raw), 1e-12))
        r = known * likely(raw / np.outer(scale, scale), count) + (1 - known) * np.eye(len(scale))
        scale = scale**known
        cov = white @ (r * np.outer(scale, scale)) @ white.T
        lower = root_of(WIDER * cov)
        leading = before.leading
        tilt = _tilt(draws[:, : before.first], weights, leading)
        logs = leading.draws @ tilt
        cumulative = np.cumsum(leading.weights * np.exp(logs - logs.max()))
        level = float(logs.max() + math.log(cumulative[-1]))
        return cls(bend, mean, lower, leading, tilt, cumulative / cumulative[-1], level)

    @classmethod
    def around(cls, point: Array, covariance: Array, slices: Array, leading: Leading) -> "Proposal":
        """Return the proposal with partial correlations as of a covariance and widths of slices through a point.

        Slices (3, P) are given by their 5 %, 50 % and 95 %; of the first parameters, by those of `leading`.
        """
        precision, spread = np.linalg.inv(covariance), np.sqrt(np.diag(covariance))
        alone = 1.0 / np.sqrt(np.diag(precision))
        bend = Bend.through(slices[0], slices[1], slices[2])
        # what else moves a parameter takes it out of the slice: it keeps as much of the bend as it stands alone
        bend = Bend(bend.centre, bend.width, bend.skew * (alone / spread) ** 2)
        low, high = bend.straight(slices[0]), bend.straight(slices[2])
        mean, width = (low + high) / 2, np.maximum((high - low) / NINETY, 1e-3)
        a = leading.draws.shape[1]
        mean[:a], width[:a] = bend.straight(point[None])[0, :a], alone[:a] / bend.width[:a]
        scale = alone / width
        lower = root_of(WIDER * covariance / np.outer(scale, scale))
        even = np.cumsum(leading.weights)
        return cls(bend, mean, lower, leading, np.zeros(a), even, 0.0)

    def loosened(self, column: int, centre: float, width: float) -> "Proposal":
        """Return the same with one parameter drawn by itself, about a centre."""
        covariance, mean = self.lower @ self.lower.T, self.mean.copy()
        bend = Bend(self.bend.centre.copy(), self.bend.width.copy(), self.bend.skew.copy())
        bend.centre[column], bend.width[column], bend.skew[column], mean[column] = centre, width, 0.0, 0.0
        covariance[column] = covariance[:, column] = 0.0
        covariance[column, column] = 1.0
        return replace(self, bend=bend, mean=mean, lower=root_of(covariance))

    def with_last(self, last: "Proposal") -> "Proposal":
        """Return the same with another proposal of the last of the parameters, given the ones before them."""
        at = len(self.mean) - len(last.mean)
        pairs = zip(vars(self.bend).values(), vars(last.bend).values(), strict=True)
        bend = Bend(*(np.concatenate([mine[:at], its]) for mine, its in pairs))
        lower = self.lower.copy()
        lower[at:, :at] *= (self.bend.width[at:] / last.bend.width)[:, None]
        lower[at:, at:] = last.lower
        return replace(self, bend=bend, mean=np.concatenate([self.mean[:at], last.mean]), lower=lower)

    @property
    def left(self) -> float:
        """What the draws of the first parameters are worth as they are reweighted."""
        return effective_draws(np.diff(self.cumulative, prepend=0.0))

    @property
    def first(self) -> int:
        """Number of the first parameters."""
        return len(self.tilt)

    @cached_property
    def inverse(self) -> Array:
        """Inverse of the lower root."""
        return np.asarray(solve_triangular(self.lower, np.eye(len(self.lower)), lower=True))

    @property
    def freedom(self) -> float:
        """Degrees of freedom of the t that is proposed in place of the normal, for tails above the posterior's."""
        return max(5.0, 2.0 * (len(self.mean) - self.first))

    def draw(self, slow: Array, fast: Array, chance: Array, pick: Array) -> Array:
        """Return draws (N, J, P) given normals (N, F), (N, J, V) and uniforms (N,), the last for those of the first."""
        pool = self.leading.draws
        first = pool[np.minimum(np.searchsorted(self.cumulative, pick), len(pool) - 1)]
        stretch = np.sqrt(self.freedom / (2 * gammaincinv(self.freedom / 2, chance)))
        slow, fast = slow * stretch[:, None], fast * stretch[:, None, None]
        a = self.first
        given = (self.bend.part(slice(0, a)).straight(first) - self.mean[:a]) @ self.inverse[:a, :a].T
        known = np.concatenate([given, slow], axis=1)
        count = fast.shape[1]
        z = np.concatenate([np.repeat(known[:, None], count, axis=1), fast], axis=-1)
        draws = self.bend.bent(self.mean + z @ self.lower.T)
        draws[..., :a] = first[:, None]
        return draws

    def log_density(self, draws: Array) -> Array:
        """Return the log density of draws (N, P), that of the first parameters over what they were reweighted from."""
        a = self.first
        rest, slope = self.bend.part(slice(a, None)).with_slopes(draws[:, a:])
        z = np.concatenate([self.bend.part(slice(0, a)).straight(draws[:, :a]), rest], axis=1) - self.mean
        e = z @ self.inverse[a:].T
        df, size = self.freedom, e.shape[1]
        norm = float(gammaln((df + size) / 2) - gammaln(df / 2)) - 0.5 * size * math.log(df * math.pi)
        norm -= float(np.log(np.diag(self.lower)[a:]).sum())
        tail = (df + size) / 2 * np.log1p(np.einsum("ij,ij->i", e, e) / df)
        first = draws[:, :a]
        return np.asarray(slope + norm - tail + self.leading.added(first) + first @ self.tilt - self.level)


def _tilt(draws: Array, weights: Array, leading: Leading) -> Array:
    """Return by how much the logarithm of the weights of `leading` is to rise with each parameter.

    Their mean becomes that of weighted draws, less what chance alone would make of it.
    """
    centre = leading.weights @ leading.draws
    spread = (leading.draws - centre).T * leading.weights @ (leading.draws - centre)
    shift = weights @ draws - centre
    tilt = np.asarray(np.linalg.solve(spread, shift) if len(shift) else shift, dtype=np.float64)
    tilt *= max(0.0, 1.0 - len(shift) / (effective_draws(weights) * float(shift @ tilt) + 1e-300))
    return coarse(tilt, 1.0 / np.sqrt(np.diag(spread)))


def likely(r: Array, count: float) -> Array:
    """Return correlations of `count` draws without those that are no larger than their own standard error."""
    r = r**3 / (r**2 + (1 - r**2) ** 2 / count + 1e-300)
    np.fill_diagonal(r, 1.0)
    least = float(np.linalg.eigvalsh(r)[0]) if len(r) else 1.0
    if least < 0.05:
        share = (0.05 - least) / (1.0 - least)
        r = (1 - share) * r + share * np.eye(len(r))
    return np.asarray(r)


def root_of(covariance: Array) -> Array:
    """Return a lower root of a covariance."""
    return np.asarray(np.linalg.cholesky(steady(covariance)), dtype=np.float64)


def steady(covariance: Array) -> Array:
    """Return a covariance whose correlations are a millionth short of certain, or as short as it takes."""
    spread = np.maximum(np.sqrt(np.maximum(np.diag(covariance), 0.0)), 1e-6)
    correlation = covariance / np.outer(spread, spread)
    least = float(np.linalg.eigvalsh(correlation)[0]) if len(spread) else 1.0
    share = max(1e-6, min((1e-6 - least) / (1.0 - least) + 1e-6, 1.0) if least < 1e-7 else 0.0)
    return np.asarray(((1 - share) * correlation + share * np.eye(len(spread))) * np.outer(spread, spread))
