"""One estimator for every sheet: named transformed parameters with priors, blocks of residuals, a posterior.

A `Model` is a list of `Parameter` (each with a stated prior that is normal after its transform) and a list of `Block`
(residuals with their scales and a loss). Parameters that are noise scales or spreads between groups are marked
``outer``; all others are ``inner``. A fit works in two layers, because the two kinds behave differently: given the
outer ones the inner posterior is close to normal, while the outer ones are few, skewed, and would come out too small
if they were maximised together with the rest (as n instead of n - p in a variance).

1. Inner mode by damped Gauss-Newton; outer mode by maximising the posterior with the inner ones integrated out
   (Laplace; Tierney and Kadane, J. Am. Stat. Assoc. 81, 82, 1986, memory): `golfphys.fitting.search`.
2. Draws of proposals that adapt, each weighted by the true posterior over the density it was drawn from, with the
   largest weights smoothed (Pareto smoothed importance sampling, Vehtari, Simpson, Gelman, Yao, Gabry,
   arXiv:1507.02646, memory). Their shape says whether that holds: `golfphys.fitting.sampling`.
"""

import math
import os
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property, reduce
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from golfphys.core.broadcasting import in_threads
from golfphys.core.names import Array, Columns, Key, Names

Evaluate = Callable[[Array], tuple[Array, Array]]

HUGE = 1e12
AT_ONCE = 2_000_000  # residuals that are held in memory at once
LEAST_PIECE = 20_000  # residuals below which a piece is not worth a thread of its own


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One unknown with its prior: what it is and what it is of, together unique within a model, see `Key`."""

    name: str
    of: str = ""
    location: float  # prior median in natural units
    # Prior standard deviation after the transform, infinite if a block carries the prior (members of a group).
    spread: float
    transform: Literal["identity", "log"] = "identity"  # to the scale on which prior and approximation are normal
    unit: str = "1"
    outer: bool = False  # a noise scale or a spread between groups

    def __post_init__(self) -> None:
        label = self.key.label
        if self.transform == "log" and not self.location > 0:
            raise ValueError(f"{label}: location is {self.location!r}; expected a positive number for a log scale")
        if not self.spread > 0:
            raise ValueError(f"{label}: spread is {self.spread!r}; expected a positive number")

    @property
    def key(self) -> Key:
        """What it is and what it is of."""
        return Key(self.name, self.of)

    @property
    def centre(self) -> float:
        """Prior median after the transform."""
        return math.log(self.location) if self.transform == "log" else self.location

    def natural(self, value: float) -> float:
        """Natural value of a transformed one."""
        return math.exp(value) if self.transform == "log" else value


def names_of(parameters: Iterable[Parameter]) -> Names:
    """Return what parameters are, in order."""
    return Names(tuple(parameter.key for parameter in parameters))


class Loss(Protocol):
    """What the estimator asks of a loss."""

    @property
    def scale_information(self) -> float:
        """Fisher information of one observation on the logarithm of its own scale."""

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density of the standardised residual `u`."""

    def weight(self, u: Array) -> Array:
        """Weight of the observation in a least squares step: slope of the loss over `u`, from 0 to about 1."""


@dataclass(frozen=True)
class Normal:
    """Normal density: no allowance for outliers."""

    scale_information = 2.0

    def log_density(self, u: Array) -> Array:
        """See `Loss`."""
        return -0.5 * u * u - 0.5 * math.log(2 * math.pi)

    def weight(self, u: Array) -> Array:
        """See `Loss`."""
        return np.ones_like(u)


@dataclass(frozen=True)
class OutlierTolerant:
    """Normal core with loose and outlying observations: a mixture of normal densities.

    The core is normal because the scale estimated then *is* the standard deviation of ordinary rolls. `shares` are
    those expected of ordinary, loose and outlying observations, the widest last, which sum to 1; `widths` the standard
    deviation of each kind over that of the ordinary ones. Both are judgement (common practice, no source): one roll in
    forty a few times wider than usual, one in two hundred that hit a spike mark, a twig or a foot. On purely normal
    noise the loss costs under 1 % of precision.

    Examples
    --------
    >>> loss = OutlierTolerant()
    >>> [round(float(x), 3) for x in loss.weight(np.array([0.0, 2.0, 12.0]))]
    [0.994, 0.96, 0.017]
    """

    shares: tuple[float, ...] = (0.97, 0.025, 0.005)
    widths: tuple[float, ...] = (1.0, 4.0, 20.0)

    scale_information = 1.8

    def log_density(self, u: Array) -> Array:
        """See `Loss`."""
        *others, widest = self._logs(u)
        # far out the widest component alone counts, so its logarithm is taken out before the sum
        total = np.ones_like(u)
        for one in others:
            total = total + np.exp(one - widest)
        return np.asarray(widest + np.log(total) - 0.5 * math.log(2 * math.pi))

    def _logs(self, u: Array) -> list[Array]:
        square = -0.5 * u * u
        kinds = zip(self.shares, self.widths, strict=True)
        return [square / width**2 + math.log(share / width) for share, width in kinds]

    def _odds(self, u: Array) -> list[Array]:
        logs = self._logs(u)
        highest = reduce(np.maximum, logs)
        raw = [np.exp(one - highest) for one in logs]
        total = sum(raw[1:], raw[0])
        return [one / total for one in raw]

    def weight(self, u: Array) -> Array:
        """See `Loss`."""
        return np.asarray(sum(odds / width**2 for odds, width in zip(self._odds(u), self.widths, strict=True)))

    def ordinary(self, u: Array) -> Array:
        """Probability that each observation belongs to the ordinary core."""
        return self._odds(u)[0]


@dataclass(frozen=True, kw_only=True)
class Block:
    """Residuals of one kind of observation, or structure: members of a group around their mean."""

    name: str
    evaluate: Evaluate  # takes natural parameter values (..., P) and returns residuals and scales, each (..., N)
    loss: Loss  # density of their ratio
    data: bool = True  # False for structure
    group: Columns | None = None  # the one spot on whose parameters each residual depends, -1 for none, (N,)


@dataclass(frozen=True)
class Summed:
    """Two noises whose squares add up, the second times a factor, given by their logarithms.

    Data tell the sum; either may be next to nothing, a corner that no normal fits. In their place are drawn the
    logarithms of the root of the sum and of their ratio: volume stays as it is.
    """

    one: int  # columns of the two
    other: int
    log_factor: float

    def apart(self, values: Array) -> Array:
        """Return values (..., P) with root and ratio in place of the two."""
        found, first, second = values.copy(), values[..., self.one], values[..., self.other] + self.log_factor
        found[..., self.one] = 0.5 * np.logaddexp(2 * first, 2 * second)
        found[..., self.other] = first - second
        return found

    def back(self, drawn: Array) -> Array:
        """Return what `apart` was made from."""
        found, both, ratio = drawn.copy(), drawn[..., self.one], drawn[..., self.other]
        found[..., self.one] = both - 0.5 * np.logaddexp(0.0, -2 * ratio)
        found[..., self.other] = both - 0.5 * np.logaddexp(0.0, 2 * ratio) - self.log_factor
        return found

    def slopes(self, drawn: Array) -> Array:
        """Derivatives of `apart` where it gives `drawn` (P,), shape (P, P)."""
        share, turn = 1.0 / (1.0 + math.exp(-2 * drawn[self.other])), np.eye(len(drawn))
        turn[np.ix_(*2 * [[self.one, self.other]])] = [[share, 1 - share], [1.0, -1.0]]
        return turn


@dataclass(frozen=True, kw_only=True)
class Model:
    """Parameters and blocks: everything that defines a posterior."""

    parameters: Sequence[Parameter]
    blocks: Sequence[Block]
    start: Mapping[Key, float] = field(default_factory=dict)  # where the search sets out, else prior medians
    # Further log density of natural values (..., P), a term for each group (..., groups), used when draws are weighted
    # but not in the search for the mode (it may have a pole).
    extra: Callable[[Array], Array] | None = None
    # Pairs of columns of falls whose reflection about an axis, rad, data cannot tell from them.
    mirror: Sequence[tuple[int, int, float]] = ()
    spots: Columns = field(default_factory=lambda: np.zeros((0, 3), dtype=np.int64))  # (spots, own parameters)
    # A part of the same model whose posterior is easily drawn from, its parameters among these; and what remains, where
    # the log density is the sum of the two.
    first: "Model | None" = None
    rest: "Model | None" = None
    fast: Sequence[int] | Columns = ()  # parameters on which the costly part of the model does not depend
    flat: Sequence[int] | Columns = ()  # those that change nothing beyond some value
    correlation: Array | None = None  # of the priors on the transformed scale, (P, P), where they are not independent
    # A logarithmic spread, the parameters that enter the model multiplied by it, and logarithms that it is added to.
    scaled: tuple[int, Sequence[int] | Columns, Sequence[int] | Columns] | None = None
    # What is drawn in units of another parameter: its columns, those of the other, to which power; one after the other.
    carried: Sequence[tuple[Columns, Columns, int]] = ()
    summed: Summed | None = None

    def __post_init__(self) -> None:
        names = self.names.labels
        if len(set(names)) != len(names):
            raise ValueError("parameter names repeat: " + ", ".join(sorted({n for n in names if names.count(n) > 1})))

    @cached_property
    def names(self) -> Names:
        """What the parameters are, in order."""
        return names_of(self.parameters)

    def block(self, name: str) -> Block:
        """Return a block by its name."""
        return next(block for block in self.blocks if block.name == name)

    def parameter(self, name: str, of: str = "") -> Parameter:
        """Return a parameter."""
        return self.parameters[self.names.column(name, of)]

    @cached_property
    def outer(self) -> NDArray[np.bool_]:
        """True where a parameter is a noise scale or a spread."""
        return np.array([one.outer for one in self.parameters], dtype=bool)

    def natural(self, transformed: Array) -> Array:
        """Natural values of transformed ones of shape (..., P)."""
        result = np.array(transformed, dtype=float)
        result[..., self._logs] = np.exp(np.clip(result[..., self._logs], -60.0, 60.0))
        for columns, by, power in self.carried:
            result[..., columns] *= result[..., by] ** power
        return result

    @cached_property
    def _logs(self) -> NDArray[np.bool_]:
        return np.array([parameter.transform == "log" for parameter in self.parameters], dtype=bool)

    def starting_point(self) -> Array:
        """Transformed starting values."""
        found = np.array([self.start.get(one.key, one.location) for one in self.parameters], dtype=float)
        for columns, by, power in reversed(self.carried):
            found[columns] /= found[by] ** power
        found[self._logs] = np.log(found[self._logs])
        return found

    def log_prior(self, transformed: Array) -> Array:
        """Log density of the parameters' own priors, shape (...)."""
        spread = self.prior_moments[1]
        held = np.isfinite(spread)
        z = self.off_prior(transformed, held)
        result: Array = -0.5 * np.sum(z * z, axis=-1) - np.sum(np.log(spread[held] * math.sqrt(2 * math.pi)))
        if self.correlation is not None:
            result = result + np.log(np.diagonal(self._independent)).sum()
        return result

    def off_prior(self, transformed: Array, held: NDArray[np.bool_]) -> Array:
        """Standard normals that the priors of some parameters make of values (..., P), shape (..., held)."""
        centre, spread = self.prior_moments
        z = (transformed[..., held] - centre[held]) / spread[held]
        return z if self.correlation is None else np.asarray(z @ self._independent[np.ix_(held, held)].T)

    @cached_property
    def _independent(self) -> Array:
        """What makes independent standard normals of correlated ones: a lower triangle."""
        assert self.correlation is not None
        return np.asarray(np.linalg.inv(np.linalg.cholesky(self.correlation)), dtype=np.float64)

    @cached_property
    def prior_precision(self) -> Array:
        """Inverse covariance of the priors on the transformed scale, shape (P, P), 0 where a block carries a prior."""
        spread = self.prior_moments[1]
        inverse = np.where(np.isfinite(spread), 1 / spread**2, 0.0)
        if self.correlation is None:
            return np.diag(inverse)
        root = self._independent * np.sqrt(inverse)
        return np.asarray(root.T @ root)

    @cached_property
    def prior_moments(self) -> tuple[Array, Array]:
        """Means and standard deviations of the priors on the transformed scale."""
        return np.array([one.centre for one in self.parameters]), np.array([one.spread for one in self.parameters])

    def log_density(self, transformed: Array, *, extra: bool = False) -> Array:
        """Log posterior density (not normalised by the evidence), shape (...)."""
        if transformed.ndim < 2 or not self.blocks:
            return self._log_density(transformed, extra)
        # pieces that fit memory, however many observations there are, and as few as keep all threads busy
        each = -(-len(transformed) // (os.cpu_count() or 1))
        piece = max(1, min(AT_ONCE // self.residuals, max(each, LEAST_PIECE // self.residuals)))
        cuts = range(0, len(transformed), piece)
        return np.concatenate(
            in_threads(lambda i: self._log_density(transformed[i : i + piece], extra), cuts) or [np.zeros(0)]
        )

    @cached_property
    def residuals(self) -> int:
        """Number of residuals of all blocks."""
        at = self.natural(self.starting_point()[None])
        return max(1, int(sum(np.shape(block.evaluate(at)[0])[-1] for block in self.blocks)))

    def _log_density(self, transformed: Array, extra: bool) -> Array:
        natural = self.natural(transformed)
        total = self.log_prior(transformed)
        for block in self.blocks:
            total = total + terms(block, natural).sum(axis=-1)
        if extra and self.extra is not None:
            total = total + self.extra(natural).sum(axis=-1)
        return np.where(np.isfinite(total), total, -HUGE)


def terms(block: Block, natural: Array) -> Array:
    """Log density of every residual of a block, shape (..., N)."""
    # a draw far out may overflow; its density is then no number, and `Model.log_density` counts it as none
    with np.errstate(over="ignore", invalid="ignore", divide="ignore"):
        residual, scale = block.evaluate(natural)
        return block.loss.log_density(residual / scale) - np.log(scale)
