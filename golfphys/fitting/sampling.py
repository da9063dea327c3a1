"""Draws of a posterior: weighted draws of proposals that adapt to it, or a chain.

Draws are those of adaptive importance sampling over fixed quasi-random numbers. No draw is accepted or refused, and
proposals are rounded (`proposal.GRID`), so that all processors make the same draws: the last digit of a sum moves their
weights, and so the answer, by about as little.

1. Parameters of the rolls come from the posterior of the rolls alone, where the model names one (`Model.first`): it
   costs next to nothing. Its draws are reweighted for what chips add to it; where a long log adds so much that few of
   them are left, they are drawn as all others.
2. All others come from a normal given those, bent at each margin (a two-piece normal by way of the inverse hyperbolic
   sine; Jones and Pewsey, Biometrika 96, 761, 2009, memory). Its moments are those of the weighted draws so far.
   Correlations that the draws are too few to show shrink towards those of the normal approximation.
3. Parameters on which the costly part of the model does not depend (`Model.fast`) are drawn beforehand by themselves,
   all others held, and then several times for each draw of the others.
4. A parameter that changes nothing beyond some value (`Model.flat`: friction, once every ball grips) has a shoulder in
   its density that a normal about the top does not reach: it is also drawn by itself, from its prior.
5. Draws of all stages are weighted together, by the mixture that they came from (Cornuet, Marin, Mira, Robert,
   Scand. J. Stat. 39, 798, 2012, memory), the largest weights smoothed.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np
from scipy.special import ndtri
from scipy.stats import qmc

from golfphys.core.broadcasting import in_threads
from golfphys.core.names import Array, Columns
from golfphys.fitting.estimator import Model, Summed
from golfphys.fitting.many_spots import SpotLocal, spot_draws
from golfphys.fitting.proposal import ENDS, REPEATS, Leading, Moments, Proposal, coarse, quantiles, steady
from golfphys.fitting.results import FEWEST, Posterior
from golfphys.fitting.search import Mode, find_mode
from golfphys.fitting.weights import TRUSTED_K, Weighted, effective_draws, smoothed, tempered

# Draws of what many spots share, and the same of the rolls by themselves, of which chips leave few
SHARED, SHARED_ALONE = 1280, 3000
# Steps of the chain that takes over where weights fail, and residuals that each of its chains looks at, at most
CHECK_STEPS, CHECKED = 400, 600_000
# How far out a slice is looked at on either side, in standard deviations given all other parameters
SLICED = np.array([0.0, 0.3, 0.6, 1.0, 1.5, 2.2, 3.2, 5.0])
BASE = 2048  # draws of the first proposal, to whose correlations those of the later ones shrink
STAGES = (512, 512, 512, 512, 512, 512, 1024, 1024, 1024)  # draws of the slow parameters in each stage
# Steps of the differences that show how the density bends, in standard deviations given all else; and the least of
# what is believed of it, in place of 1
APART, FLATTEST = 0.7, 0.05
FAST_STAGES = (256, 256, 256, 256)  # draws in each stage of the fast parameters by themselves
# Further stages, half as large as the last, for as long as the draws are worth too little; and those after which
# `ENOUGH_OF_LONG` will do. Where laws miss what was seen, proposals take dozens of stages to learn an odd posterior.
MORE, SOON = 50, 20
# Draws of the rolls by themselves, of which chips must leave so many, and the share of what is left of them that must
# do for the whole
STAGES_ALONE, LEAST_LEFT, LEFT = tuple(2 * size for size in STAGES), 200.0, 0.7
# Share of the draws of `STAGES` below which a log is so long, and draws so dear, that fewer must do: ends of
# intervals are then known to a ninth of an sd
HALF, ENOUGH_OF_LONG = 0.5, 400.0
# The same as a share of the draws of `STAGES`, of which long logs have fewer; and where rolls are drawn by themselves:
# a thousand, so that ends of intervals are known to a fifteenth of an sd
WORTH, WORTH_BESIDE = 0.35, 1 / 6


def make_draws(mode: Mode, generator: np.random.Generator, *, stages: tuple[int, ...] = STAGES) -> Posterior:
    """Draw from a posterior by proposals that adapt to it, `stages` draws in each stage."""
    model = mode.model
    if isinstance(mode.local, SpotLocal):
        found = spot_draws(mode.local, mode.outer_covariance, SHARED, generator)
    else:
        alone = None if model.first is None else _alone(find_mode(model.first), generator)
        found = adapted(model, (mode.point, mode.joint_covariance), alone, generator, stages)
    searched: dict[str, Any] = {"log_evidence": mode.log_evidence, "converged": mode.converged}
    result = Posterior(model=model, mode=mode.point, **searched, **vars(found))
    if result.failure and not isinstance(mode.local, SpotLocal):
        # a chain takes over where it does better than weights, and says so where it does not
        steps = int(np.clip(CHECKED // model.residuals, 60, CHECK_STEPS))
        checked = result.chained(steps=steps, seed=generator)
        if not checked.failure or result.effective_draws < FEWEST:
            return checked
    return result.mirrored(generator)


def _alone(mode: Mode, generator: np.random.Generator) -> tuple[Weighted, Moments]:
    """Return draws of the rolls by themselves, of which proposals find more as they learn what chips leave of them."""
    normal = mode.point, mode.joint_covariance
    if isinstance(mode.local, SpotLocal):
        return spot_draws(mode.local, mode.outer_covariance, SHARED_ALONE, generator), normal
    return adapted(mode.model, normal, None, generator, STAGES_ALONE), normal


@dataclass(frozen=True)
class Order:
    """Columns of the parameters in the order first, slow, fast, and what is drawn in place of some of them.

    In place of two noises that add up are drawn their sum and ratio. Of factors what data inform of is the product, and
    its sum with the logarithms it is added to: in place of them are drawn their mean, by how much more than that each
    is (multiplied, as far as that is informed), and in place of the logarithms those at the mean factor. Parameters
    that are not among the columns stay at the point.
    """

    columns: Columns
    first: int
    slow: int
    by: int
    scaled: Columns
    levels: Columns
    power: float
    point: Array  # with the sum and ratio of noises
    noises: Summed | None

    @classmethod
    def of(cls, model: Model, point: Array, covariance: Array) -> "Order":
        """Return the order that a model asks for, around the centre of its normal approximation."""
        leading = model.names.places(() if model.first is None else model.first.names)
        fast = np.setdiff1d(np.asarray(model.fast, dtype=np.int64), leading)
        slow = np.setdiff1d(np.arange(len(model.names)), [*leading, *fast])
        columns = np.concatenate([leading, slow, fast])
        at, *groups = (0, [], []) if model.scaled is None else model.scaled
        few, levels = (np.asarray(group, dtype=np.int64) for group in groups)
        spread, width = model.prior_moments[1][few], 1.0 / np.sqrt(np.diag(np.linalg.inv(steady(covariance))))[few]
        power = float(np.clip(1.0 - np.mean((width / spread) ** 2), 0.0, 1.0)) if len(few) else 0.0
        noises = None if model.summed is None or model.summed.one in leading else model.summed
        point = coarse(point if noises is None else noises.apart(point), np.sqrt(np.diag(covariance)))
        return cls(columns, len(leading), len(slow), at, few, levels, float(coarse(power, 1.0)), point, noises)

    def natural(self, drawn: Array) -> tuple[Array, Array]:
        """Return draws (N, P) in the model's own terms, and the log of by how much volume shrinks."""
        found = np.repeat(self.point[None], len(drawn), axis=0)
        found[:, self.columns] = drawn
        found = found if self.noises is None else self.noises.back(found)
        if not len(self.scaled):
            return found, np.zeros(len(found))
        log = -self.power * (found[:, self.by] - self.point[self.by])
        mean = found[:, self.scaled].mean(axis=1)
        found[:, self.scaled] = mean[:, None] + np.exp(log)[:, None] * (found[:, self.scaled] - mean[:, None])
        level = np.exp(found[:, self.by]) * mean - math.exp(self.point[self.by]) * self.point[self.scaled].mean()
        found[:, self.levels] -= level[:, None]
        return found, log * (len(self.scaled) - 1)

    def covariance(self, covariance: Array) -> Array:
        """Return a covariance in the model's own terms, around the point, in those of the draws."""
        point, turn = self.point, np.eye(len(self.point))
        turn = turn if self.noises is None else self.noises.slopes(point)
        if len(self.scaled):
            spread, mean = math.exp(point[self.by]), point[self.scaled].mean()
            turn[self.scaled, self.by] = self.power * (point[self.scaled] - mean)
            turn[self.levels, self.by] = spread * mean
            turn[np.ix_(self.levels, self.scaled)] = spread / len(self.scaled)
        return steady((turn @ covariance @ turn.T)[np.ix_(self.columns, self.columns)])

    @property
    def only_fast(self) -> "Order":
        """The fast parameters alone, all others at the point."""
        return replace(self, columns=self.columns[self.first + self.slow :], first=0, slow=0)


def adapted(
    model: Model,
    normal: Moments,
    alone: tuple[Weighted, Moments] | None,
    generator: np.random.Generator,
    stages: tuple[int, ...],
) -> Weighted:
    """Draw from a posterior in `stages`, each with a proposal made of the draws before it.

    `alone` are draws of the posterior of `model.first`, with its normal approximation; `generator` scrambles the
    quasi-random numbers.
    """
    order = Order.of(model, *normal)
    point, covariance = order.point[order.columns], order.covariance(normal[1])
    known = Leading.none()
    if alone is not None and model.first is not None:
        known = Leading.of(*alone, (point, covariance), np.flatnonzero(~model.first.outer))
        if effective_draws(known.weights) < LEAST_LEFT:
            # all else says so much more of the first parameters that hardly a draw of them by themselves is left
            return adapted(replace(model, first=None, rest=None), normal, None, generator, stages)
    last = None
    if len(model.fast):
        # sizes of errors, far from normal: a mode says little of them, and nothing has to be played anew for them
        held, fast, at = replace(model, first=None), order.only_fast, order.first + order.slow
        covariance = _curved(held, fast, point, covariance)
        given = np.linalg.inv(np.linalg.inv(covariance)[at:, at:])
        first = _first_proposal(held, fast, point[at:], given, Leading.none())
        found, base = _staged(held, fast, [first], FAST_STAGES, generator)
        last = Proposal.of(found, first, base)
        point[at:] = tempered(found.weights, 100.0) @ found.transformed
    proposal = _first_proposal(model, order, point, covariance, known)
    proposal = proposal if last is None else proposal.with_last(last)
    centre, spread = model.prior_moments
    flat = [(i, at) for i, at in enumerate(order.columns) if i >= order.first and at in model.flat]
    shoulders = [proposal.loosened(i, centre[at], spread[at]) for i, at in flat]
    found, _ = _staged(model, order, [proposal, *shoulders], stages, generator)
    return replace(found, transformed=order.natural(found.transformed)[0])


def _curved(model: Model, fast: Order, point: Array, covariance: Array) -> Array:
    """Return a covariance with that of the fast parameters given all others as the density bends by differences.

    The normal approximation expects of each observation what it would say on average, and nothing of mis-hits.
    """
    at = len(point) - len(fast.columns)
    known = np.linalg.inv(covariance)[at:, at:]
    width = 1.0 / np.sqrt(np.diag(known))
    size, (i, j) = len(width), np.triu_indices(len(width), 1)
    unit = APART * np.eye(size)
    both = unit[i] + unit[j]
    off = np.concatenate([np.zeros((1, size)), unit, -unit, both, -both]) * width
    values = _log_ratio(model, point[at:] + off, fast)
    here, up, down, more, less = np.split(values, np.cumsum([1, size, size, len(i)]))
    fall = 2 * here - up - down
    bent = np.diag(fall)
    bent[i, j] = bent[j, i] = (2 * here - more - less - fall[i] - fall[j]) / 2
    roots, vectors = np.linalg.eigh(bent / APART**2)
    given = (vectors / np.maximum(roots, FLATTEST)) @ vectors.T * np.outer(width, width)
    follow = np.linalg.solve(covariance[:at, :at], covariance[:at, at:])
    found = covariance.copy()
    found[at:, at:] = given + follow.T @ covariance[:at, at:]
    return found


def _staged(
    model: Model, order: Order, given: Sequence[Proposal], stages: tuple[int, ...], generator: np.random.Generator
) -> tuple[Weighted, Array]:
    """Return weighted draws of all stages, those of given proposals first, and draws of the first of them."""
    fast = len(order.columns) - order.first - order.slow
    count = REPEATS if order.slow and fast else 1
    proposals: list[Proposal] = []
    base = _stage(given[0], order, BASE, 1, generator)[:, 0]
    found: list[Array] = []
    logs: list[Array] = []
    densities: list[list[Array]] = []
    share = WORTH_BESIDE if order.first else WORTH
    enough = ENOUGH_OF_LONG if sum(stages) < HALF * sum(STAGES) else share * sum(stages)
    last = Weighted(base, np.full(len(base), 1.0 / len(base)), math.inf, 0.0)
    sizes = (stages[0], *[stages[0] // 2] * (len(given) - 1), *stages[1:])
    for number, size in enumerate((*sizes, *[max(stages[-1] // 2, min(stages))] * MORE)):
        wanted = enough if number < len(sizes) + SOON else min(enough, ENOUGH_OF_LONG)
        if order.first and proposals:
            wanted = min(wanted, LEFT * proposals[-1].left)
        if number >= len(given) and last.effective_draws > wanted and last.pareto_k < TRUSTED_K:
            break
        proposals.append(given[number] if number < len(given) else Proposal.of(last, given[0], base))
        drawn = _stage(proposals[-1], order, size, count, generator)
        log = _log_ratio(model, drawn.reshape(size * count, -1), order)
        found.append(drawn)
        logs.append(log.reshape(size, count))
        # what each proposal says of draws already made is kept
        past = [item.reshape(-1, item.shape[-1]) for item in found]
        of_newest = in_threads(partial(Proposal.log_density, draws=past[-1]), proposals[:-1])
        for known, log_density in zip(densities, of_newest, strict=True):
            known.append(log_density)
        densities.append(in_threads(proposals[-1].log_density, past))
        last = _together(found, logs, densities, order.first)
    return last, base


def _first_proposal(model: Model, order: Order, point: Array, covariance: Array, leading: Leading) -> Proposal:
    """Return the proposal with 5 %, 50 % and 95 % of slices of the posterior through a point, one parameter each.

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
    return Proposal.around(point, covariance, found, leading)


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


def _together(found: list[Array], logs: list[Array], densities: list[list[Array]], first: int) -> Weighted:
    """Return all draws so far, weighted by the mixture of their proposals; the `first` columns come from a pool."""
    size, count = sum(len(item) for item in found), found[0].shape[1]
    draws = np.concatenate([item.reshape(-1, item.shape[-1]) for item in found])
    shares = [math.log(len(item) / size) + np.concatenate(known) for item, known in zip(found, densities, strict=True)]
    log = (np.concatenate([item.ravel() for item in logs]) - np.logaddexp.reduce(shares, axis=0)).reshape(size, count)
    log = np.where(np.isfinite(log), log, -1e12)
    # what counts is how the draws of the slow parameters weigh: the fast ones are averaged over
    whole = np.logaddexp.reduce(log, axis=1)
    slow, shape = smoothed(whole)
    weights = (slow[:, None] * np.exp(log - whole[:, None])).ravel()
    worth = effective_draws(slow)
    if first:
        # many draws share one of the pool: they tell no more of it than that one
        _, which = np.unique(draws[::count, 0], return_inverse=True)
        worth = min(worth, effective_draws(np.bincount(which, weights=slow).astype(float)))
    return Weighted(draws, weights, shape, worth)
