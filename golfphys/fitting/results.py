"""A posterior as draws, weighted or of a Markov chain, and the intervals read from them.

The chain is the check on weighted draws, and what remains where weights fail: many chains step along differences
between others (ter Braak, Stat. Comput. 16, 239, 2006, memory), all parameters at once or a random few of them. It
knows how well it mixed, and says so.
"""

import math
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import cached_property, partial
from typing import Any

import numpy as np
import pandas as pd
from arviz_stats.base import array_stats

from golfphys.core.broadcasting import require_count, require_seed
from golfphys.core.names import Array, Sample
from golfphys.fitting.estimator import Model, Parameter
from golfphys.fitting.weights import TRUSTED_K, Weighted

Seed = int | np.random.Generator

FEWEST = 300.0  # independent draws below which weighted draws are not trusted
NARROWED = 0.5  # a parameter counts as informed if its spread fell below this fraction of the prior's
LOST = 200.0  # log density below that of the mode from which a draw is of no use as the start of a chain


@dataclass(frozen=True, kw_only=True)
class Diagnostics:
    """How well chains mixed."""

    chains: int
    steps: int
    acceptance: float  # share of proposed steps that were accepted
    effective_draws: float  # number of independent draws that the slowest parameter is worth
    r_hat: float  # the largest rank-normalised split R-hat, near 1 where chains agree
    slowest: str

    @property
    def trusted(self) -> bool:
        """Whether intervals read from the draws can be trusted."""
        return self.effective_draws >= 400 and self.r_hat < 1.05

    def __str__(self) -> str:
        """Say in words how well the chain mixed."""
        verdict = (
            "The chain mixed well: its intervals can be used."
            if self.trusted
            else "The chain has not mixed: do not trust its intervals. Check the sheets for entries that contradict "
            "each other, then try more steps."
        )
        return (
            f"{self.chains} chains took {self.steps} steps each after settling; {100 * self.acceptance:.0f} % of the "
            f"proposed steps were accepted. They are worth {self.effective_draws:.0f} independent draws of the slowest "
            f"parameter ({self.slowest}) and agree to an R-hat of {self.r_hat:.3f} (1 is perfect, 1.05 the limit). "
            f"{verdict}"
        )


@dataclass(frozen=True, kw_only=True)
class Posterior(Weighted):
    """Draws from a posterior with their weights."""

    model: Model
    mode: Array  # where the posterior is highest, (P,)
    log_evidence: float  # Laplace's value
    converged: bool  # whether the search for the mode settled
    method: str = "weighted"  # or "chain"
    diagnostics: Diagnostics | None = None  # how well a chain mixed

    @cached_property
    def natural(self) -> Array:
        """Draws in natural units, shape (D, P)."""
        return self.model.natural(self.transformed)

    def column(self, name: str, of: str = "") -> Array:
        """Draws of one parameter in natural units, shape (D,)."""
        return np.asarray(self.natural[:, self.model.names.column(name, of)])

    def narrowed(self, name: str, of: str = "") -> bool:
        """Whether the data made a parameter's spread clearly smaller than its prior's."""
        index = self.model.names.column(name, of)
        sd = moments(self.transformed[:, index], self.weights)[1]
        # draws that have collapsed are narrow without anything being known
        return not self.failure and sd < NARROWED * self.model.parameters[index].spread

    def sample(self, n: int, seed: Seed) -> Array:
        """Return `n` equally weighted draws in natural units, shape (n, P), each as rarely repeated as can be."""
        require_count("n", n)
        require_seed(seed)
        generator = np.random.default_rng(seed)
        cumulative = np.cumsum(self.weights)
        even = (generator.permutation(n) + generator.random()) / n * cumulative[-1]
        picks = np.minimum(np.searchsorted(cumulative, even), len(cumulative) - 1)
        return np.asarray(self.model.natural(self.transformed[picks]))

    def draws(self, n: int, seed: Seed) -> Sample:
        """Return the same with their names."""
        return Sample(self.model.names, self.sample(n, seed))

    def estimate(
        self, name: str, of: str = "", *, shown: Any = None, unit: str = "", factor: float = 1.0
    ) -> "Interval":
        """Return the estimate of a parameter, times `factor`, as a scalar, a noise scale, or as `shown` has it."""
        one = self.model.parameter(name, of)
        usual = partial(scale_interval, prior=one) if one.outer else scalar_interval
        found: Interval = (shown or usual)(factor * self.column(name, of), self.weights)
        return replace(found, unit=unit or one.unit, informed=self.narrowed(name, of))

    @property
    def failure(self) -> str:
        """What is wrong with the draws, in words; empty where they can be trusted."""
        if self.method == "chain":
            verdict = self.diagnostics
            return str(verdict) if verdict is not None and not verdict.trusted else ""
        if self.pareto_k > TRUSTED_K or self.effective_draws < FEWEST:
            return (
                f"The draws of this fit are worth only {self.effective_draws:.0f} independent ones (Pareto k "
                f"{self.pareto_k:.2f}): its intervals are rough. Look for rows that contradict each other."
            )
        return ""

    def chained(self, *, steps: int = 600, seed: Seed = 0) -> "Posterior":
        """Return the same posterior sampled by a Markov chain that starts from these draws, as a check on them."""
        generator = np.random.default_rng(seed)
        count = max(2 * len(self.model.parameters) + 2, 64)
        count += count % 2
        start = self.transformed[generator.choice(len(self.weights), size=count, p=self.weights)]
        spread = np.sqrt(np.maximum(self.weights @ (start.mean(axis=0) - self.transformed) ** 2, 1e-16))
        density = self.model.log_density(start, extra=True)
        lost = density < self.model.log_density(self.mode[None], extra=True) - LOST
        # where no draw came near the posterior, chains set out from the mode
        start[lost] = self.mode
        spread = np.where(lost.any(), np.minimum(spread, 1.0), spread)
        start = start + 0.02 * spread * generator.standard_normal(start.shape)
        draws, verdict = _chain(self.model, start, generator, steps)
        even = np.full(len(draws), 1.0 / len(draws))
        own: dict[str, Any] = {"pareto_k": math.nan, "effective_draws": verdict.effective_draws, "diagnostics": verdict}
        return replace(self, transformed=draws, weights=even, method="chain", **own).mirrored(generator)

    def mirrored(self, generator: np.random.Generator) -> "Posterior":
        """Return the draws, each reflected with probability one half where data cannot tell, see `Model.mirror`."""
        result = self.transformed.copy()
        for along, left, axis in self.model.mirror:
            turn = generator.random(len(result)) < 0.5
            x, y = result[turn, along], result[turn, left]
            cosine, sine = math.cos(2 * axis), math.sin(2 * axis)
            result[turn, along], result[turn, left] = cosine * x + sine * y, sine * x - cosine * y
        return replace(self, transformed=result)


def _chain(model: Model, start: Array, generator: np.random.Generator, steps: int) -> tuple[Array, Diagnostics]:
    """Return draws of chains from transformed values (chains, P), more chains than parameters, thinned to 20,000.

    The first half of the steps is left out as settling.
    """
    if steps < 30:
        raise ValueError(f"steps is {steps!r}; expected at least 30")
    at, value = start.copy(), model.log_density(start, extra=True)
    kept, accepted = [], 0.0
    half = len(at) // 2
    for number in range(steps):
        for mine, others in ((slice(0, half), slice(half, None)), (slice(half, None), slice(0, half))):
            there = _step(at[mine], at[others], generator)
            new = model.log_density(there, extra=True)
            yes = np.log(generator.random(len(there))) < new - value[mine]
            at[mine] = np.where(yes[:, None], there, at[mine])
            value[mine] = np.where(yes, new, value[mine])
            accepted += float(yes.mean()) / (2 * steps)
        if number >= steps // 2:
            kept.append(at.copy())
    table = np.stack(kept)
    draws = table[:: max(1, table.shape[0] * table.shape[1] // 20_000)].reshape(-1, at.shape[1])
    return draws, _diagnosed(table, accepted, model.names.labels)


def _step(mine: Array, others: Array, generator: np.random.Generator) -> Array:
    """Return proposals along differences of two of the other chains, in all parameters or a random few."""
    count, size = mine.shape
    first, second = generator.integers(len(others), size=(2, count))
    share = generator.choice(np.array([1.0, 0.5, 0.15]), size=(count, 1))
    moved = generator.random((count, size)) < share
    usual = 2.38 / np.sqrt(2 * np.maximum(moved.sum(axis=1, keepdims=True), 1))
    length = usual * generator.uniform(0.4, 1.1, (count, 1))
    length = np.where(generator.random((count, 1)) < 0.05, 1.0, length)
    jitter = 1e-6 * generator.standard_normal((count, size))
    return np.asarray(mine + moved * (length * (others[first] - others[second]) + jitter))


def _diagnosed(table: Array, acceptance: float, names: list[str]) -> Diagnostics:
    """Return how well chains (steps, chains, P) mixed, put together in eight groups, because each is short."""
    steps, chains, _ = table.shape
    # draws of one chain stand together in time; chains of a group follow each other
    groups = np.array_split(np.arange(chains), min(8, chains))
    length = min(len(group) for group in groups) * steps
    pieces = np.stack([table[:, group].swapaxes(0, 1).reshape(-1, table.shape[2])[:length] for group in groups])
    with np.errstate(all="ignore"):
        effective, r_hat = (
            np.array([float(ask(pieces[:, :, i])) for i in range(table.shape[2])])
            for ask in (array_stats.ess, array_stats.rhat)
        )
    # chains that never moved are worth one draw each at most
    effective, r_hat = (np.where(np.isfinite(x), x, bad) for x, bad in ((effective, 1.0), (r_hat, math.inf)))
    worth: dict[str, Any] = {"effective_draws": float(effective.min()), "slowest": names[int(np.argmin(effective))]}
    return Diagnostics(chains=chains, steps=steps, acceptance=acceptance, r_hat=float(r_hat.max()), **worth)


def explained(wanted: Array, told: Array, noise: Array) -> Array:
    """Return what N observations would take off the covariance of W things that are wanted, shape (W, W).

    The best linear guess of what is wanted (n, W) from what each draw says would be seen (n, N), about which
    observations scatter with standard deviations `noise` (N,). The columns of both have a mean of 0.
    """
    crossed = told.T @ wanted / (len(told) - 1)
    return np.asarray(crossed.T @ np.linalg.solve(told.T @ told / (len(told) - 1) + np.diag(noise**2), crossed))


def about_mean(draws: Array) -> Array:
    """Return draws (..., n, W) less their mean.

    A value far off the rest of the draws is a corner of the prior, and not what a normal can hold.
    """
    draws = np.clip(draws, *np.quantile(draws, [0.005, 0.995], axis=-2, keepdims=True))
    return np.asarray(draws - draws.mean(axis=-2, keepdims=True))


def quantile(values: Array, weights: Array, share: float | Array) -> Array:
    """Weighted quantile of draws (D,) at shares from 0 to 1; weights have any positive total.

    Examples
    --------
    >>> float(quantile(np.arange(5.0), np.ones(5), 0.5))
    2.0
    """
    order = np.argsort(values)
    cumulative = np.cumsum(weights[order])
    middle = (cumulative - 0.5 * weights[order]) / cumulative[-1]
    return np.asarray(np.interp(share, middle, values[order]))


def moments(values: Array, weights: Array) -> tuple[float, float]:
    """Weighted mean and standard deviation of draws."""
    total = weights.sum()
    mean = float(np.sum(weights * values) / total)
    return mean, float(math.sqrt(max(np.sum(weights * (values - mean) ** 2) / total, 0.0)))


@dataclass(frozen=True)
class Interval:
    """One estimate with its 90 % interval and unit, and whether data informed it, rather than the prior."""

    estimate: float
    sd: float
    low: float
    high: float
    unit: str = "1"
    informed: bool = True


def scalar_interval(values: Array, weights: Array, unit: str = "1", informed: bool = True) -> Interval:
    """Median, standard deviation and equal-tailed 90 % interval of weighted draws."""
    low, middle, high = quantile(values, weights, np.array([0.05, 0.5, 0.95]))
    return Interval(float(middle), moments(values, weights)[1], float(low), float(high), unit, informed)


def scale_interval(values: Array, weights: Array, prior: Parameter | None = None) -> Interval:
    """Interval of a noise scale, which may reach down to nothing.

    A prior on the logarithm never takes in zero. Where the draws run on downwards, past a quarter of their median, the
    data do not exclude that this part of the noise is absent: the interval then starts at 0. Its upper end leaves 7.5 %
    of the draws above it, which tests/studies/coverage_rollouts.py finds right (the prior does not allow 0 itself).
    Draws much narrower than `prior` exclude zero however far they run.
    """
    plain = scalar_interval(values, weights)
    narrow = prior is not None and moments(np.log(np.maximum(values, 1e-300)), weights)[1] < 0.4 * prior.spread
    if narrow or float(weights[values < plain.estimate / 4].sum()) < 0.02 * float(weights.sum()):
        return plain
    return replace(plain, low=0.0, high=float(quantile(values, weights, 0.925)))


def length_interval(x: Array, y: Array, weights: Array, informed: bool = True) -> Interval:
    """Interval of the length of a vector, such as the steepest grade, from draws of its components.

    It starts at 0, and ends at the 90 % quantile, where 0 is not excluded: where the origin lies inside the 90 %
    ellipse of the draws. Otherwise it is equal-tailed. The estimate is the length of the mean vector: the average of
    lengths would be pulled up.
    """
    length = np.hypot(x, y)
    low, high, top = quantile(length, weights, np.array([0.05, 0.95, 0.9]))
    middle = math.hypot(float(weights @ x), float(weights @ y)) / float(weights.sum())
    if direction_resolved(x, y, weights):
        middle, ends = min(max(middle, float(low)), float(high)), (float(low), float(high))
    else:
        middle, ends = min(middle, float(top)), (0.0, float(top))
    return Interval(middle, moments(length, weights)[1], *ends, "1", informed)


def direction_resolved(x: Array, y: Array, weights: Array) -> bool:
    """Whether the origin lies outside the 90 % ellipse of the draws, so that the vector has a direction."""
    points = np.stack([x, y])
    mean = points @ weights / weights.sum()
    centred = points - mean[:, None]
    covariance = (centred * weights) @ centred.T / weights.sum() + 1e-18 * np.eye(2)
    return float(mean @ np.linalg.solve(covariance, mean)) > -2 * math.log(0.1)


def direction_interval(x: Array, y: Array, weights: Array, informed: bool = True) -> Interval:
    """Direction of a vector in degrees with the shortest 90 % arc, from draws of its components; y is at +90 degrees.

    The estimate lies from 0 to 360; low and high are not wrapped, so that low <= estimate <= high, and are 0 and 360
    where the vector has no direction that the draws agree on.
    """
    mean_x, mean_y = float(np.sum(weights * x)), float(np.sum(weights * y))
    centre = math.atan2(mean_y, mean_x)
    off = np.degrees(np.angle(np.exp(1j * (np.arctan2(y, x) - centre))))
    sd = moments(off, weights)[1]
    estimate = math.degrees(centre) % 360.0
    low, middle, high = quantile(off, weights, np.array([0.05, 0.5, 0.95]))
    if not direction_resolved(x, y, weights) or high - low > 270.0:
        return Interval(estimate, sd, 0.0, 360.0, "deg", informed)
    turned = estimate + float(middle)
    shift = (turned % 360.0) - turned
    ends = estimate + float(low) + shift, estimate + float(high) + shift
    return Interval(turned + shift, sd, *ends, "deg", informed)


def estimates_frame(rows: dict[tuple[str, str], Interval], subject: str) -> pd.DataFrame:
    """Return rows as a table indexed by `subject` and parameter: estimate, sd, low, high, unit, informed."""
    index = pd.MultiIndex.from_tuples(list(rows), names=[subject, "parameter"])
    columns = [item.name for item in fields(Interval)]
    return pd.DataFrame([vars(row) for row in rows.values()], columns=columns, index=index)


def cell(table: pd.DataFrame, subject: str, parameter: str, column: str = "estimate") -> float:
    """Return one number of a table of estimates."""
    return float(table[column].to_numpy(dtype=float)[table.index.get_loc((subject, parameter))])


def lines(seen: Any, which: Any = slice(None)) -> dict[str, Any]:
    """Return columns that say where observations stand: ``row``, and ``sheet``, its file, where there are several."""
    files = seen.file[which]
    return {"row": seen.row[which]} | ({"sheet": files} if files.any() else {})


def report(table: pd.DataFrame, cautions: Sequence[str]) -> str:
    """Return a table of estimates, and cautions, as a page of text."""
    brackets = "brackets hold 90 %, a star marks what rests on assumption rather than on the sheets."
    lines = [f"What the sheets say; {brackets}", ""]
    for part in table.index.unique(0):
        lines.append(str(part))
        for name, row in table.loc[part].iterrows():
            numbers = f"{row['estimate']:10.4g}  [{row['low']:.4g} to {row['high']:.4g}] {row['unit']}"
            lines.append(f"  {' ' if row['informed'] else '*'} {name:24s} {numbers}")
        lines.append("")
    lines += ["What to bear in mind"] if cautions else []
    for caution in cautions:
        lines += textwrap.wrap(caution, 100, initial_indent="- ", subsequent_indent="  ")
    return "\n".join(lines)
