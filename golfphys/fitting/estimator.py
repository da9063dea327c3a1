"""One estimator for every sheet: named transformed parameters with priors, blocks of residuals, a posterior.

A `Model` is a list of `Parameter` (each with a stated prior that is normal after its transform) and a list of `Block`
(residuals with their scales and a loss). Parameters that are noise scales or spreads between groups are marked
``outer``; all others are ``inner``. `fit` works in two layers, because the two kinds behave differently: given the
outer ones the inner posterior is close to normal, while the outer ones are few, skewed, and would come out too small
if they were maximised together with the rest (as n instead of n - p in a variance).

1. Inner mode by damped Gauss-Newton; outer mode by maximising the posterior with the inner ones integrated out
   (Laplace; Tierney and Kadane, J. Am. Stat. Assoc. 81, 82, 1986, memory).
2. Draws: outer ones from a broad t around their mode, inner ones from the normal that belongs to each draw.
3. Each draw is weighted by the true posterior over the density it was drawn from, with the largest weights smoothed
   (Pareto smoothed importance sampling, Vehtari, Simpson, Gelman, Yao, Gabry, arXiv:1507.02646, memory). The shape of
   the largest weights says whether the approximation holds.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field
from functools import cached_property
from typing import Literal, Protocol

import numpy as np
from numpy.typing import NDArray

from golfphys.core.names import Array, Columns, Key, Names

Evaluate = Callable[[Array], tuple[Array, Array]]

HUGE = 1e12

AT_ONCE = 2_000_000
"""Residuals that are held in memory at once."""


@dataclass(frozen=True, kw_only=True)
class Parameter:
    """One unknown with its prior: what it is and what it is of, together unique within a model, see `Key`.

    `location` is the prior median in natural units, `spread` the prior standard deviation after the transform, to the
    unconstrained scale on which prior and approximation are normal: infinite if a block carries the prior (members of
    a group). Noise scales and spreads between groups are `outer`. ValueError if one of them is not positive.
    """

    name: str
    of: str = ""
    location: float
    spread: float
    transform: Literal["identity", "log"] = "identity"
    unit: str = "1"
    outer: bool = False

    def __post_init__(self) -> None:
        """Check the values."""
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


@dataclass(frozen=True, kw_only=True)
class Block:
    """Residuals of one kind of observation, or, where it is no `data`, structure: members of a group around their mean.

    `evaluate` takes natural parameter values (..., P) and returns residuals and scales, each (..., N); `loss` is the
    density of their ratio; `group` (N,) the one spot on whose parameters each residual depends, -1 for none.
    """

    name: str
    evaluate: Evaluate
    loss: Loss
    data: bool = True
    group: NDArray[np.int64] | None = None


@dataclass(frozen=True, kw_only=True)
class Model:
    """Parameters and blocks: everything that defines a posterior. The search sets out from `start`, or prior medians.

    extra
        Further log density of natural values (..., P), one term for each group (..., groups), used when draws are
        weighted but not in the search for the mode (it may have a pole).
    mirror
        Takes draws (D, P) on the transformed scale and a generator, and applies at random a symmetry under which the
        posterior does not change.
    spots
        Columns of each spot's own parameters, (spots, own).
    first, rest
        A part of the same model whose posterior is easily drawn from, its parameters among these; and what remains
        without it, where the log density is the sum of the two.
    fast
        Columns of the parameters on which the costly part of the model does not depend.
    flat
        Columns of parameters that change nothing beyond some value.
    correlation
        Of the priors on the transformed scale, (P, P), where they are not independent.
    scaled
        Columns of a logarithmic spread, of the parameters that enter the model multiplied by it, and of logarithms it
        is added to.
    """

    parameters: Sequence[Parameter]
    blocks: Sequence[Block]
    start: Mapping[Key, float] = field(default_factory=dict)
    extra: Callable[[Array], Array] | None = None
    mirror: Callable[[Array, np.random.Generator], Array] | None = None
    spots: Columns = field(default_factory=lambda: np.zeros((0, 3), dtype=np.int64))
    first: "Model | None" = None
    rest: "Model | None" = None
    fast: Sequence[int] | Columns = ()
    flat: Sequence[int] | Columns = ()
    correlation: Array | None = None
    scaled: tuple[int, Sequence[int] | Columns, Sequence[int] | Columns] | None = None

    def __post_init__(self) -> None:
        """Check the names."""
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
        return np.array([parameter.outer for parameter in self.parameters], dtype=bool)

    def natural(self, transformed: Array) -> Array:
        """Natural values of transformed ones of shape (..., P)."""
        result = np.array(transformed, dtype=float)
        result[..., self._logs] = np.exp(np.clip(result[..., self._logs], -60.0, 60.0))
        return result

    @cached_property
    def _logs(self) -> NDArray[np.bool_]:
        """Where a parameter is a logarithm on the transformed scale."""
        return np.array([parameter.transform == "log" for parameter in self.parameters], dtype=bool)

    def starting_point(self) -> Array:
        """Transformed starting values."""
        values = [self.start.get(parameter.key, parameter.location) for parameter in self.parameters]
        pairs = zip(values, self.parameters, strict=True)
        return np.array([math.log(value) if p.transform == "log" else value for value, p in pairs])

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
        centre = np.array([parameter.centre for parameter in self.parameters])
        spread = np.array([parameter.spread for parameter in self.parameters])
        return centre, spread

    def log_density(self, transformed: Array, *, extra: bool = False) -> Array:
        """Log posterior density (not normalised by the evidence), shape (...)."""
        if transformed.ndim < 2 or not self.blocks:
            return self._log_density(transformed, extra)
        # pieces that fit memory, however many observations there are
        piece = max(1, AT_ONCE // self.residuals)
        parts = [self._log_density(transformed[i : i + piece], extra) for i in range(0, len(transformed), piece)]
        return np.concatenate(parts or [np.zeros(0)])

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
