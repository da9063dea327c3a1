"""Weighted draws of a posterior that no normal fits, by adaptive importance sampling over fixed quasi-random numbers.

Every step is a smooth function of what was measured: no draw is accepted or refused, so the last digit of a sum moves
the answer by about as little, whatever the processor.

1. Parameters of the rolls come from the posterior of the rolls alone, where the model names one (`Model.first`): it is
   all but normal, costs next to nothing, and chips add little to it.
2. All others come from a normal given those, bent at each margin (a two-piece normal by way of the inverse hyperbolic
   sine; Jones and Pewsey, Biometrika 96, 761, 2009, memory). Its moments are those of the weighted draws so far.
   Correlations that the draws are too few to show shrink towards those of the normal approximation.
3. Parameters on which the costly part of the model does not depend (`Model.fast`) are drawn several times for each draw
   of the others.
4. Draws of all stages are weighted together, by the mixture that they came from (Cornuet, Marin, Mira, Robert,
   Scand. J. Stat. 39, 798, 2012, memory), the largest weights smoothed.
"""

import math
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from arviz_stats.base import array_stats
from numpy.typing import NDArray
from scipy.linalg import solve_triangular
from scipy.special import gammaincinv, gammaln, ndtri
from scipy.stats import qmc

from golfphys.fitting.estimator import Model

Array = NDArray[np.float64]

WIDER = 1.1
"""Factor on the variances of proposals: weights bear a proposal that is too wide better than the opposite."""

STAGES = (1024, 1024, 2048, 4096, 4096)
"""Draws of the slow parameters in each stage."""

MORE = 4
"""Further stages, as large as the last, for as long as the draws are worth too little."""

ENOUGH = 2000.0
"""Independent draws that a fit should be worth: ends of intervals are then known to a twentieth of an sd."""

WORTH = 1 / 6
"""The same as a share of the draws of `STAGES`, for long logs that are given fewer of them."""

TRUSTED_K = 0.7
"""Pareto k above which weights cannot be trusted (Vehtari and others, memory)."""

REPEATS = 2
"""Draws of the fast parameters for each draw of the others."""

SHOWN = 0.06
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
    return np.stack(found, axis=1)


@dataclass(frozen=True)
class Bend:
    """A monotone map of each margin that makes it about normal: straight far out, with another slope on either side."""

    centre: Array
    width: Array
    skew: Array

    @classmethod
    def of(cls, draws: Array, weights: Array) -> "Bend":
        """Return the map that makes 5 %, 50 % and 95 % about symmetrical."""
        low, middle, high = quantiles(draws, weights, np.array([0.05, 0.5, 0.95]))
        above, below = np.maximum(high - middle, 1e-12), np.maximum(middle - low, 1e-12)
        lean = np.log(above / below)
        noise = 0.1 + 6.0 / effective_draws(weights)
        return cls(middle, (above + below) / 3.29, np.clip(0.55 * lean**3 / (lean**2 + noise), -1.2, 1.2))

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

    def bent(self, values: Array) -> Array:
        """Return the draws behind straightened values."""
        return np.asarray(self.centre + self.width * np.sinh(np.arcsinh(values) + self.skew))


@dataclass(frozen=True)
class Proposal:
    """A t on the straightened scale, columns in the order first, slow, fast."""

    bend: Bend
    mean: Array
    lower: Array
    first: int

    @classmethod
    def of(cls, draws: Array, weights: Array, base: Array, first: int) -> "Proposal":
        """Return the proposal with the moments of weighted draws, shrunk towards the correlations of `base`."""
        bend = Bend.of(draws, weights)
        z = bend.straight(draws)
        mean = weights @ z
        white = _root(np.clip(bend.straight(base), -50.0, 50.0))
        y = np.linalg.solve(white, (z - mean).T)
        raw = (y * weights) @ y.T
        scale = np.sqrt(np.maximum(np.diag(raw), 1e-12))
        count = effective_draws(weights)
        r = likely(raw / np.outer(scale, scale), count)
        scale = np.exp(count / (count + 10.0) * np.log(scale))
        cov = white @ (r * np.outer(scale, scale)) @ white.T
        lower = np.asarray(np.linalg.cholesky(WIDER * cov), dtype=np.float64)
        return cls(bend, mean, lower, first)

    @cached_property
    def inverse(self) -> Array:
        """Inverse of the lower root."""
        return np.asarray(solve_triangular(self.lower, np.eye(len(self.lower)), lower=True))

    @property
    def freedom(self) -> float:
        """Degrees of freedom of the t that is proposed in place of the normal, for tails above the posterior's."""
        return max(5.0, 2.0 * (len(self.mean) - self.first))

    def draw(self, first: Array, slow: Array, fast: Array, chance: Array) -> Array:
        """Return draws (N, J, P) given the first parameters (N, A), normals (N, F), (N, J, V) and uniforms (N,)."""
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
        """Return the log density of all but the first parameters, given those, of draws (N, P)."""
        a = self.first
        rest, slope = self.bend.part(slice(a, None)).with_slopes(draws[:, a:])
        z = np.concatenate([self.bend.part(slice(0, a)).straight(draws[:, :a]), rest], axis=1) - self.mean
        e = z @ self.inverse[a:].T
        df, size = self.freedom, e.shape[1]
        norm = float(gammaln((df + size) / 2) - gammaln(df / 2)) - 0.5 * size * math.log(df * math.pi)
        norm -= float(np.log(np.diag(self.lower)[a:]).sum())
        tail = (df + size) / 2 * np.log1p(np.einsum("ij,ij->i", e, e) / df)
        return np.asarray(slope + norm - tail)


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
    spread = np.maximum(draws.std(axis=0), 1e-6)
    standard = (draws - draws.mean(axis=0)) / spread
    share = 1e-6
    correlation = (1 - share) * standard.T @ standard / len(draws) + share * np.eye(draws.shape[1])
    return np.asarray(spread[:, None] * np.linalg.cholesky(correlation))


@dataclass(frozen=True)
class Order:
    """Columns of the parameters in the order first, slow, fast."""

    columns: NDArray[np.int64]
    first: int
    slow: int

    @classmethod
    def of(cls, model: Model) -> "Order":
        """Return the order that a model asks for."""
        names = model.names
        leading = [] if model.first is None else [names.index(name) for name in model.first.names]
        fast = [i for i, name in enumerate(names) if name in set(model.fast) and i not in set(leading)]
        slow = [i for i in range(len(names)) if i not in set(leading) and i not in set(fast)]
        return cls(np.array([*leading, *slow, *fast], dtype=np.int64), len(leading), len(slow))


def adapted(
    model: Model, start: Weighted, leading: Weighted | None, generator: np.random.Generator, stages: tuple[int, ...]
) -> Weighted:
    """Draw from a posterior in stages, each with a proposal made of the draws before it.

    Parameters
    ----------
    model : Model
        The posterior.
    start : Weighted
        Draws of the normal approximation with their weights.
    leading : Weighted or None
        Draws of the posterior of `model.first`.
    generator : numpy.random.Generator
        Scrambles the quasi-random numbers.
    stages : tuple of int
        Draws of the slow parameters in each stage.

    Returns
    -------
    Weighted
        Draws of all stages.
    """
    order = Order.of(model)
    base = start.transformed[:, order.columns]
    count = REPEATS if model.fast else 1
    draws, weights = base, tempered(start.weights, max(100.0, SHOWN * len(base)))
    found: list[Array] = []
    logs: list[Array] = []
    proposals: list[Proposal] = []
    densities: list[list[Array]] = []
    last, enough = start, min(ENOUGH, WORTH * sum(stages))
    for number, size in enumerate((*stages, *[stages[-1]] * MORE)):
        if number >= len(stages) and last.effective > enough and last.pareto_k < TRUSTED_K:
            break
        proposals.append(Proposal.of(draws, weights, base, order.first))
        drawn = _stage(proposals[-1], order, leading, size, count, generator)
        flat = np.empty((size * count, len(order.columns)))
        flat[:, order.columns] = drawn.reshape(size * count, -1)
        log = _log_ratio(model, flat, order)
        found.append(drawn)
        logs.append(log.reshape(size, count))
        # what each proposal says of draws already made is kept
        past = [item.reshape(-1, item.shape[-1]) for item in found]
        for proposal, known in zip(proposals, densities, strict=False):
            known.append(proposal.log_density(past[-1]))
        densities.append([proposals[-1].log_density(item) for item in past])
        draws, weights, last = _together(found, logs, densities)
        weights = tempered(weights, max(100.0, SHOWN * sum(len(item) for item in found)))
    natural = np.empty_like(draws)
    natural[:, order.columns] = draws
    return Weighted(natural, last.weights, last.pareto_k, last.effective)


def _log_ratio(model: Model, draws: Array, order: Order) -> Array:
    """Return the log posterior density less that of the first parameters alone."""
    if model.rest is not None:
        return model.rest.log_density(draws)
    log = model.log_density(draws, extra=True)
    if model.first is None:
        return log
    return np.asarray(log - model.first.log_density(draws[:, order.columns[: order.first]], extra=True))


def _stage(
    proposal: Proposal, order: Order, leading: Weighted | None, size: int, count: int, generator: np.random.Generator
) -> Array:
    """Return draws (size, count, P) of one proposal."""
    fast = len(order.columns) - order.first - order.slow
    points = qmc.Sobol(order.slow + count * fast + 2, rng=generator).random(size)
    points = np.clip(points, 1e-12, 1 - 1e-12)
    normal = ndtri(points[:, 2:])
    first = np.zeros((size, 0))
    if leading is not None:
        cumulative = np.cumsum(leading.weights)
        picks = np.searchsorted(cumulative, points[:, 0] * cumulative[-1])
        first = leading.transformed[np.minimum(picks, len(cumulative) - 1)]
    return proposal.draw(
        first, normal[:, : order.slow], normal[:, order.slow :].reshape(size, count, fast), points[:, 1]
    )


def _together(found: list[Array], logs: list[Array], densities: list[list[Array]]) -> tuple[Array, Array, Weighted]:
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
    return draws, weights, Weighted(draws, weights, shape, effective_draws(slow))
