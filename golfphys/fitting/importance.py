"""Weighted draws of a posterior that no normal fits, by adaptive importance sampling over fixed quasi-random numbers.

Every step is a smooth function of what was measured: no draw is accepted or refused, so the last digit of a sum moves
the answer by about as little, whatever the processor.

1. Parameters of the rolls come from the posterior of the rolls alone, where the model names one (`Model.first`): it is
   all but normal and costs next to nothing. Its draws are reweighted for what chips add to it; where a long log adds
   so much that few of them are left, they are drawn as all others.
2. All others come from a normal given those, bent at each margin (a two-piece normal by way of the inverse hyperbolic
   sine; Jones and Pewsey, Biometrika 96, 761, 2009, memory). Its moments are those of the weighted draws so far.
   Correlations that the draws are too few to show shrink towards those of the normal approximation.
3. Parameters on which the costly part of the model does not depend (`Model.fast`) are drawn beforehand by themselves,
   all others held, and then several times for each draw of the others.
4. Draws of all stages are weighted together, by the mixture that they came from (Cornuet, Marin, Mira, Robert,
   Scand. J. Stat. 39, 798, 2012, memory), the largest weights smoothed.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from arviz_stats.base import array_stats
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.special import gammaincinv, gammaln, ndtri
from scipy.stats import qmc

from golfphys.fitting.estimator import Model

Array = NDArray[np.float64]

ENDS, NINETY = np.array([0.05, 0.5, 0.95]), 3.29
"""Shares at which margins are looked at, and standard deviations between the outer ones of a normal."""

SLICED = np.array([0.0, 0.3, 0.6, 1.0, 1.5, 2.2, 3.2, 5.0])
"""How far out a slice is looked at on either side, in standard deviations given all other parameters."""

BASE = 2048
"""Draws of the first proposal, to whose correlations those of the later ones shrink."""

WIDER = 1.1
"""Factor on the variances of proposals: weights bear a proposal that is too wide better than the opposite."""

STAGES = (512, 512, 512, 512, 512, 1024, 1024, 2048)
"""Draws of the slow parameters in each stage."""

LED = 0.2
"""Share of the draws of the first parameters that must be left by what all else says of them."""

FAST_STAGES = (256, 256, 256, 256)
"""Draws in each stage of the fast parameters by themselves."""

MORE = 10
"""Further stages, half as large as the last, for as long as the draws are worth too little."""

ENOUGH = 2000.0
"""Independent draws that a fit should be worth: ends of intervals are then known to a twentieth of an sd."""

WORTH = 0.3
"""The same as a share of the draws of `STAGES`, for long logs that are given fewer of them."""

TRUSTED_K = 0.7
"""Pareto k above which weights cannot be trusted (Vehtari and others, memory)."""

DOUBT = 0.3
"""Draws for each parameter that the first proposal counts for beside those of the stages."""

REPEATS = 4
"""Draws of the fast parameters for each draw of the others."""

SHOWN = 0.3
"""Effective draws, as a share of all, for which weights are tempered before moments are taken of them."""


@dataclass(frozen=True)
class Weighted:
    """Draws with normalised weights, the Pareto k of the weights, and how many independent draws they are worth."""

    transformed: Array
    weights: Array
    pareto_k: float
    effective: float


def effective_draws(weights: Array) -> float:
    """Return how many equally weighted draws these are worth.

    Examples
    --------
    >>> effective_draws(np.array([0.5, 0.5, 0.0]))
    2.0
    """
    return float(weights.sum() ** 2 / np.sum(weights**2))


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


def quantiles(values: Array, weights: Array, shares: Array) -> Array:
    """Return weighted quantiles of every column, shape (shares, P)."""
    found = []
    for column in values.T:
        order = np.argsort(column)
        middle = np.cumsum(weights[order]) - 0.5 * weights[order]
        found.append(np.interp(shares, middle, column[order]))
    return np.stack(found, axis=1) if found else np.zeros((len(shares), 0))


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
        centre, skew = (
            known * mine + (1 - known) * its for mine, its in ((self.centre, other.centre), (self.skew, other.skew))
        )
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

    def part(self, which: slice) -> "Bend":
        """Return the map of some of the columns."""
        return Bend(self.centre[which], self.width[which], self.skew[which])

    def followed_by(self, other: "Bend") -> "Bend":
        """Return the map of these columns and then those of another."""
        pairs = zip(vars(self).values(), vars(other).values(), strict=True)
        return Bend(*(np.concatenate(pair) for pair in pairs))

    def bent(self, values: Array) -> Array:
        """Return the draws behind straightened values."""
        return np.asarray(self.centre + self.width * np.sinh(np.arcsinh(values) + self.skew))


@dataclass(frozen=True)
class Leading:
    """Draws of the first parameters from their own posterior, weighted by that and by what all else adds to it.

    The logarithm of what is added is quadratic: from 0 at a centre, with a slope there and a precision, less `level`.
    """

    draws: Array
    weights: Array
    centre: Array
    slope: Array
    precision: Array
    level: float = 0.0

    @classmethod
    def of(cls, alone: Weighted, centre: Array, slope: Array, precision: Array) -> "Leading":
        """Return draws of the first parameters `alone` with what is added."""
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

    @classmethod
    def of(cls, last: Weighted, before: "Proposal", base: Array) -> "Proposal":
        """Return the proposal with the moments of weighted draws, shrunk towards those of `before`, as is its bend.

        They shrink the more, the fewer draws these are worth for each parameter; `base` are draws of `before`.
        """
        draws, weights = last.transformed, tempered(last.weights, max(100.0, SHOWN * len(last.weights) / REPEATS))
        count = effective_draws(weights)
        known = last.effective / (last.effective + DOUBT * draws.shape[1])
        bend = Bend.of(draws, weights).towards(before.bend, known)
        z, old = bend.straight(draws), np.clip(bend.straight(base), -50.0, 50.0)
        white, middle = _root(old), old.mean(axis=0)
        mean = middle + known * (weights @ z - middle)
        y = np.linalg.solve(white, (z - weights @ z).T)
        raw = (y * weights) @ y.T
        scale = np.sqrt(np.maximum(np.diag(raw), 1e-12))
        r = known * likely(raw / np.outer(scale, scale), count) + (1 - known) * np.eye(len(scale))
        scale = scale**known
        cov = white @ (r * np.outer(scale, scale)) @ white.T
        lower = _root_of(WIDER * cov)
        leading = before.leading
        tilt = _tilt(draws[:, : before.first], weights, leading)
        logs = leading.draws @ tilt
        cumulative = np.cumsum(leading.weights * np.exp(logs - logs.max()))
        level = float(logs.max() + math.log(cumulative[-1]))
        return cls(bend, mean, lower, leading, tilt, cumulative / cumulative[-1], level)

    @classmethod
    def around(cls, point: Array, covariance: Array, slices: Array, leading: Leading) -> "Proposal":
        """Return the proposal with partial correlations as of a covariance and widths of slices (3, P) through a point.

        A slice is given by its 5 %, 50 % and 95 %; of the first parameters, by those of `leading`.
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
        lower = _root_of(WIDER * covariance / np.outer(scale, scale))
        even = np.cumsum(leading.weights)
        return cls(bend, mean, lower, leading, np.zeros(a), even, 0.0)

    def with_last(self, last: "Proposal") -> "Proposal":
        """Return the same with another proposal of the last of the parameters, given the ones before them."""
        at = len(self.mean) - len(last.mean)
        bend = self.bend.part(slice(0, at)).followed_by(last.bend)
        lower = self.lower.copy()
        lower[at:, :at] *= (self.bend.width[at:] / last.bend.width)[:, None]
        lower[at:, at:] = last.lower
        return replace(self, bend=bend, mean=np.concatenate([self.mean[:at], last.mean]), lower=lower)

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
        return np.asarray(
            slope + norm - tail + self.leading.added(draws[:, :a]) + draws[:, :a] @ self.tilt - self.level
        )


def _tilt(draws: Array, weights: Array, leading: Leading) -> Array:
    """Return by how much the logarithm of the weights of `leading` is to rise with each parameter.

    Their mean becomes that of weighted draws, less what chance alone would make of it.
    """
    centre = leading.weights @ leading.draws
    spread = (leading.draws - centre).T * leading.weights @ (leading.draws - centre)
    shift = weights @ draws - centre
    tilt = np.linalg.solve(spread, shift) if len(shift) else shift
    return np.asarray(tilt * max(0.0, 1.0 - len(shift) / (effective_draws(weights) * float(shift @ tilt) + 1e-300)))


def likely(r: Array, count: float) -> Array:
    """Return correlations of `count` draws without those that are no larger than their own standard error."""
    r = r**3 / (r**2 + (1 - r**2) ** 2 / count + 1e-300)
    np.fill_diagonal(r, 1.0)
    least = float(np.linalg.eigvalsh(r)[0]) if len(r) else 1.0
    if least < 0.05:
        share = (0.05 - least) / (1.0 - least)
        r = (1 - share) * r + share * np.eye(len(r))
    return np.asarray(r)


def _root(draws: Array) -> Array:
    """Return a lower root of the covariance of draws, however flat."""
    return _root_of(np.cov(draws.T, bias=True).reshape(2 * draws.shape[1:]))


def _root_of(covariance: Array) -> Array:
    """Return a lower root of a covariance."""
    return np.asarray(np.linalg.cholesky(_steady(covariance)), dtype=np.float64)


def _steady(covariance: Array) -> Array:
    """Return a covariance whose correlations are a millionth short of certain, or as short as it takes."""
    spread = np.maximum(np.sqrt(np.maximum(np.diag(covariance), 0.0)), 1e-6)
    correlation = covariance / np.outer(spread, spread)
    least = float(np.linalg.eigvalsh(correlation)[0]) if len(spread) else 1.0
    share = max(1e-6, min((1e-6 - least) / (1.0 - least) + 1e-6, 1.0) if least < 1e-7 else 0.0)
    return np.asarray(((1 - share) * correlation + share * np.eye(len(spread))) * np.outer(spread, spread))


@dataclass(frozen=True)
class Order:
    """Columns of the parameters in the order first, slow, fast, and those that one of them multiplies.

    What data inform of is the product: it is drawn in place of the factor, as far as it is informed. Parameters that
    are not among the columns stay at the point.
    """

    columns: NDArray[np.int64]
    first: int
    slow: int
    by: int
    scaled: NDArray[np.int64]
    power: float
    point: Array

    @classmethod
    def of(cls, model: Model, point: Array, width: Array) -> "Order":
        """Return the order that a model asks for, around a point, with the widths of slices through it."""
        names = model.names
        leading = [] if model.first is None else [names.index(name) for name in model.first.names]
        fast = [i for i, name in enumerate(names) if name in set(model.fast) and i not in set(leading)]
        slow = [i for i in range(len(names)) if i not in set(leading) and i not in set(fast)]
        columns = np.array([*leading, *slow, *fast], dtype=np.int64)
        by, scaled = (names[0], []) if model.scaled is None else model.scaled
        at, few = names.index(by), np.array([names.index(name) for name in scaled], dtype=np.int64)
        spread = model.prior_moments()[1][few]
        power = float(np.clip(1.0 - np.mean((width[few] / spread) ** 2), 0.0, 1.0)) if len(few) else 0.0
        return cls(columns, len(leading), len(slow), at, few, power, point)

    def natural(self, drawn: Array) -> tuple[Array, Array]:
        """Return draws (N, P) in the model's own terms, and the log of by how much volume shrinks."""
        found = np.repeat(self.point[None], len(drawn), axis=0)
        found[:, self.columns] = drawn
        log = -self.power * (found[:, self.by] - self.point[self.by])
        found[:, self.scaled] *= np.exp(log)[:, None]
        return found, log * len(self.scaled)

    def covariance(self, point: Array, covariance: Array) -> Array:
        """Return a covariance in the model's own terms, around the point, in those of the draws."""
        turn = np.eye(len(point))
        turn[self.scaled, self.by] = self.power * point[self.scaled]
        return _steady((turn @ covariance @ turn.T)[np.ix_(self.columns, self.columns)])

    @property
    def only_fast(self) -> "Order":
        """The fast parameters alone, all others at the point."""
        return replace(self, columns=self.columns[self.first + self.slow :], first=0, slow=0)


def adapted(
    model: Model,
    normal: tuple[Array, Array],
    leading: tuple[Weighted, Array, Array] | None,
    generator: np.random.Generator,
    stages: tuple[int, ...],
) -> Weighted:
    """Draw from a posterior in stages, each with a proposal made of the draws before it.

    Parameters
    ----------
    model : Model
        The posterior.
    normal : tuple of ndarray, shapes (P,) and (P, P)
        Centre and covariance of the normal approximation.
    leading : tuple of Weighted and ndarray, or None
        Draws of the posterior of `model.first`, and centre and covariance of its normal approximation.
    generator : numpy.random.Generator
        Scrambles the quasi-random numbers.
    stages : tuple of int
        Draws of the slow parameters in each stage.

    Returns
    -------
    Weighted
        Draws of all stages.
    """
    width = 1.0 / np.sqrt(np.diag(np.linalg.inv(_steady(normal[1]))))
    order = Order.of(model, normal[0], width)
    point, covariance = normal[0][order.columns], order.covariance(*normal)
    known = Leading.none()
    if leading is not None:
        known = _leading(model, leading, point, covariance)
        if effective_draws(known.weights) < LED * leading[0].effective:
            # all else says so much more of the first parameters that hardly a draw of them by themselves is left
            return adapted(replace(model, first=None, rest=None), normal, None, generator, stages)
    last = None
    if model.fast:
        # sizes of errors, far from normal: a mode says little of them, and nothing has to be played anew for them
        alone, fast, at = replace(model, first=None), order.only_fast, order.first + order.slow
        given = np.linalg.inv(np.linalg.inv(covariance)[at:, at:])
        first = _first_proposal(alone, fast, (point[at:], given), Leading.none())
        found, base = _staged(alone, fast, first, FAST_STAGES, generator)
        last = Proposal.of(found, first, base)
        point[at:] = tempered(found.weights, 100.0) @ found.transformed
    proposal = _first_proposal(model, order, (point, covariance), known)
    proposal = proposal if last is None else proposal.with_last(last)
    found, _ = _staged(model, order, proposal, stages, generator)
    return replace(found, transformed=order.natural(found.transformed)[0])


def _leading(model: Model, alone: tuple[Weighted, Array, Array], point: Array, covariance: Array) -> Leading:
    """Return draws of the first parameters with what normal approximations say that all else adds to them."""
    assert model.first is not None
    draws, own, spread = alone
    size = len(own)
    # of noise that is theirs alone all else says nothing
    inner = np.flatnonzero(~model.first.outer)
    slope, precision = np.zeros(size), np.zeros((size, size))
    before, after = (np.linalg.inv(item[np.ix_(inner, inner)]) for item in (spread, covariance))
    values, vectors = np.linalg.eigh(after - before)
    precision[np.ix_(inner, inner)] = (vectors * np.maximum(values, 0.0)) @ vectors.T
    slope[inner] = before @ (point[:size] - own)[inner]
    return Leading.of(draws, point[:size], slope, precision)


def _first_proposal(model: Model, order: Order, normal: tuple[Array, Array], leading: Leading) -> Proposal:
    return Proposal.around(*normal, _slices(model, *normal, order, leading), leading)


def _staged(
    model: Model, order: Order, proposal: Proposal, stages: tuple[int, ...], generator: np.random.Generator
) -> tuple[Weighted, Array]:
    """Return weighted draws of all stages, and draws of the first proposal."""
    fast = len(order.columns) - order.first - order.slow
    count = REPEATS if order.slow and fast else 1
    proposals = [proposal]
    base = _stage(proposal, order, BASE, 1, generator)[:, 0]
    found: list[Array] = []
    logs: list[Array] = []
    densities: list[list[Array]] = []
    enough = min(ENOUGH, WORTH * sum(stages))
    last = Weighted(base, np.full(len(base), 1.0 / len(base)), math.inf, 0.0)
    for number, size in enumerate((*stages, *[stages[-1] // 2] * MORE)):
        if number >= len(stages) and last.effective > enough and last.pareto_k < TRUSTED_K:
            break
        if number:
            proposals.append(Proposal.of(last, proposal, base))
        drawn = _stage(proposals[-1], order, size, count, generator)
        log = _log_ratio(model, drawn.reshape(size * count, -1), order)
        found.append(drawn)
        logs.append(log.reshape(size, count))
        # what each proposal says of draws already made is kept
        past = [item.reshape(-1, item.shape[-1]) for item in found]
        for one, known in zip(proposals, densities, strict=False):
            known.append(one.log_density(past[-1]))
        densities.append([proposals[-1].log_density(item) for item in past])
        last = _together(found, logs, densities)
    return last, base


def _slices(model: Model, point: Array, covariance: Array, order: Order, leading: Leading) -> Array:
    """Return 5 %, 50 % and 95 % (3, P) of slices of the posterior through a point, one parameter each.

    The normal approximation does not see a cliff, as where balls begin to slip, nor what only scales the noise.
    """
    size, first = len(point), order.first
    width = 1.0 / np.sqrt(np.diag(np.linalg.inv(covariance)))
    steps = np.concatenate([-SLICED[:0:-1], SLICED])
    table = np.repeat(point[None], size * len(steps), axis=0).reshape(size, len(steps), size)
    table[range(size), :, range(size)] += width[:, None] * steps
    values = _log_ratio(model, table[first:].reshape(-1, size), order).reshape(size - first, -1)
    fine = np.linspace(steps[0], steps[-1], 401)
    found = np.empty((3, size))
    found[:, :first] = quantiles(leading.draws, leading.weights, ENDS)
    for column, value in enumerate(values, first):
        density = np.exp(np.interp(fine, steps, value - value.max()))
        found[:, column] = point[column] + width[column] * np.interp(ENDS, np.cumsum(density) / density.sum(), fine)
    return found


def _log_ratio(model: Model, drawn: Array, order: Order) -> Array:
    """Return the log posterior density of draws less that of their first parameters alone."""
    draws, volume = order.natural(drawn)
    if model.rest is not None:
        return np.asarray(model.rest.log_density(draws) + volume)
    log = model.log_density(draws, extra=True) + volume
    if model.first is None:
        return np.asarray(log)
    return np.asarray(log - model.first.log_density(draws[:, order.columns[: order.first]], extra=True))


def _stage(proposal: Proposal, order: Order, size: int, count: int, generator: np.random.Generator) -> Array:
    """Return draws (size, count, P) of one proposal."""
    fast = len(order.columns) - order.first - order.slow
    points = np.clip(qmc.Sobol(order.slow + count * fast + 2, rng=generator).random(size), 1e-12, 1 - 1e-12)
    normal = ndtri(points[:, 2:])
    many = normal[:, order.slow :].reshape(size, count, fast)
    return proposal.draw(normal[:, : order.slow], many, points[:, 1], points[:, 0])


def _together(found: list[Array], logs: list[Array], densities: list[list[Array]]) -> Weighted:
    """Return all draws so far, weighted by the mixture of their proposals."""
    size, count = sum(len(item) for item in found), found[0].shape[1]
    draws = np.concatenate([item.reshape(-1, item.shape[-1]) for item in found])
    shares = [math.log(len(item) / size) + np.concatenate(known) for item, known in zip(found, densities, strict=True)]
    log = (np.concatenate([item.ravel() for item in logs]) - np.logaddexp.reduce(shares, axis=0)).reshape(size, count)
    log = np.where(np.isfinite(log), log, -1e12)
    # what counts is how the draws of the slow parameters weigh: the fast ones are averaged over
    whole = np.logaddexp.reduce(log, axis=1)
    slow, shape = smoothed(whole)
    weights = (slow[:, None] * np.exp(log - whole[:, None])).ravel()
    return Weighted(draws, weights, shape, effective_draws(slow))
