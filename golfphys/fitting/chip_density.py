"""How what was seen of a chip is judged: each observation given the ones before it, and as a mis-hit or an accident.

What was seen of a chip is normal around what was expected, with covariance S diag(errors^2) S' + noise, S being how it
answers to the errors that its observations share. Along the Cholesky factor of that covariance each observation is
compared with what the ones before it lead to expect; the algebra is compiled.
"""

import math
from collections.abc import Callable
from dataclasses import dataclass
from functools import cached_property
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from golfphys.core.law import kept, kernel
from golfphys.core.names import Array, Columns
from golfphys.fitting.estimator import OutlierTolerant

MOST_CARRIED = 3.5  # standard deviations from which an observation pulls what is expected of the next no further
LEAST = 1e-8  # least variance of an observation, m^2 or s^2
HALF_LOG = 0.5 * math.log(2.0 * math.pi)
RARE = 1e-30  # least probability of anything
NONE = 1e-16  # probability of a step of mis-hits below which `packed` would leave nothing of it
LEVEL = 30.0  # logarithm by which mis-hits are lifted before they are packed: 0 means none, exp(-30) of a clean strike


def packed(ratio: Array) -> Array:
    """Pack the logarithm of density as a mis-hit over that as a clean strike; 0 where it does not matter.

    Examples
    --------
    >>> [round(float(unpacked(packed(np.array(x)))), 6) for x in (-5.0, 4.0)]
    [-5.0, 4.0]
    """
    return np.logaddexp(0.0, np.asarray(ratio) + LEVEL)


def unpacked(value: Array) -> Array:
    """Return what `packed` was given."""
    small = np.maximum(np.asarray(value), 1e-12)
    return small + np.log(-np.expm1(-small)) - LEVEL


@dataclass(frozen=True)
class MisHitTolerant:
    """Chips that are struck clean, mis-hit, or befallen by something else, as a whole; a `Loss` of the estimator.

    What it is given of each chip are residuals over their scales, given that the strike was clean, and after those of
    all chips two numbers for each: the logarithm of the probability of a clean strike with what was noted of it, and
    `packed` the density of everything as a mis-hit over that of a clean strike whose residuals are all 0 and without
    the normal density's constants.

    Shares and widths are judgement (common practice, no source). Mis-hits are not among them: how often and how badly
    they happen follows from the errors of the strike, see `golfphys.fitting.strikes`. What else may befall a chip is a
    kick off a spike mark, a row of another shot, a slip of the pen: its widths are as likely as each other and even on
    a logarithmic scale, so that how far off it was says next to nothing about how much clean chips scatter.

    Examples
    --------
    >>> loss = MisHitTolerant(np.array([0, 0, 1, 1]), np.ones(2))
    >>> u = np.array([0.5, -1.0, 9.0, 12.0, 0.0, 0.0, 0.0, 0.0])
    >>> [round(float(x), 2) for x in loss.usual(u)]
    [1.0, 0.0]
    """

    bundle: Columns  # which chip each observation belongs to, from 0 on; those of a chip stand together, (N,)
    noted: Array  # probability of what was noted of each strike where something else befell the chip, (chips,)
    share: float = 0.01  # of such chips
    core: OutlierTolerant = OutlierTolerant((0.985, 0.011, 0.004), (1.0, 3.0, 15.0))
    other: OutlierTolerant = OutlierTolerant((0.25, 0.25, 0.25, 0.25), (1.0, 4.0, 16.0, 64.0))

    scale_information = 1.9

    @cached_property
    def starts(self) -> Columns:
        """Where what was seen of each chip begins."""
        bundle = np.asarray(self.bundle)
        return np.flatnonzero(np.diff(bundle, prepend=bundle[:1] - 1))

    def kinds(self, u: Array) -> tuple[Array, Array, Array]:
        """Log density of each chip as struck clean, as mis-hit and as something else, each (..., chips)."""
        u = np.nan_to_num(np.clip(u, -1e6, 1e6), nan=1e6)
        chips = self.starts.size
        seen = u[..., : self.bundle.size]
        clean, mis_hit = u[..., -2 * chips : -chips], u[..., -chips:]
        usual, other = (
            np.add.reduceat(loss.log_density(seen), self.starts, axis=-1) for loss in (self.core, self.other)
        )
        kept = math.log(1 - self.share)
        return kept + clean + usual, kept + unpacked(mis_hit), math.log(self.share) + np.log(self.noted) + other

    def usual(self, u: Array) -> Array:
        """Probability that each chip was struck clean, shape (..., chips)."""
        usual, missed, other = self.kinds(u)
        return np.asarray(np.exp(usual - np.logaddexp(usual, np.logaddexp(missed, other))))

    def log_density(self, u: Array) -> Array:
        """Logarithm of the density: that of a chip, in equal parts for what was seen of it."""
        result = np.zeros_like(u)
        if self.bundle.size:
            usual, missed, other = self.kinds(u)
            whole: Array = np.logaddexp(usual, np.logaddexp(missed, other)) / np.bincount(self.bundle)
            result[..., : self.bundle.size] = whole[..., self.bundle]
        return result

    def weight(self, u: Array) -> Array:
        """Weight of each observation, and of the two numbers of each chip: their slope of the loss over themselves.

        That of the first is also about the Fisher information on the logarithm of the probability of a clean strike.
        """
        result = np.zeros_like(u)
        if self.bundle.size:
            usual, missed, other = self.kinds(u)
            total = np.logaddexp(usual, np.logaddexp(missed, other))
            seen, chips = u[..., : self.bundle.size], self.starts.size
            for kind, loss in ((usual, self.core), (other, self.other)):
                result[..., : self.bundle.size] += np.exp(kind - total)[..., self.bundle] * loss.weight(seen)
            clean, density = u[..., -2 * chips : -chips], np.maximum(u[..., -chips:], 1e-6)
            slope = np.exp(usual - total) / -np.minimum(clean, -1e-6)
            result[..., -2 * chips : -chips] = np.where(clean < -1e-6, slope, 0.0)
            result[..., -chips:] = np.exp(missed - total) / (density * np.expm1(-density))
        return result


class Seen(NamedTuple):
    """What of chips does not depend on a draw."""

    kinds: Columns  # the observations made, (chips, K)
    counts: Columns  # how many, (chips,)
    slopes: Array  # answers to errors of each chip, (chips, K, E)
    rough: Array  # product of the slopes by errors that share one size, (chips, K, K)
    unknown: Array  # further noise, (chips, K)
    missed: Array  # what steps of mis-hits do, (chips, steps, K)
    spread: Array  # and its standard deviation within the step


def seen_of(made: NDArray[np.bool_], slopes: Array, bumps: Array, unknown: Array, steps: tuple[Array, Array]) -> Seen:
    """Return what the compiled loop takes; `bumps` (chips, K, ...) are the slopes by local slopes."""
    kinds = np.argsort(~made, axis=1, kind="stable")
    return Seen(kinds, made.sum(axis=1), slopes, bumps @ np.swapaxes(bumps, 1, 2), unknown, *steps)


def compare(
    seen: Seen, misfit: Array, errors: Array, uneven: Array, own: Array, shares: Array
) -> tuple[Array, Array, Array]:
    """Compare what was seen of chips with what was expected.

    `misfit` (draws, chips, K) is what was seen less what was expected, `errors` (E, draws, chips) the standard
    deviations of the errors of each chip, `uneven` (draws,) that of local slopes, `own` (draws, K) the noise that each
    observation has to itself, `shares` (draws, chips, steps) the probability of each step of mis-hits with what was
    noted of it.

    Returns residuals less what the observations before lead to expect, and scales, 0 and 1 where nothing was seen, each
    (draws, chips, K); and the logarithm of the density of all of a chip as a mis-hit, times its scales, (draws, chips).
    """
    count = misfit.shape[-1]
    residual, scale = np.zeros(misfit.shape), np.ones(misfit.shape)
    missed = np.zeros(misfit.shape[:-1])
    room = np.zeros((count, count)), np.zeros((9, max(count, len(errors) + 1, shares.shape[-1])))
    _loop()(*map(np.ascontiguousarray, (*seen, misfit, errors, uneven, own, shares)), *room, residual, scale, missed)
    return residual, scale, missed


@kernel
def factor(kinds: Any, slopes: Any, sizes: Any, rough: Any, noise: Any, lower: Any, inverse: Any) -> None:
    """Cholesky factor of the covariance of what was seen of one chip: below the diagonal, and one over the diagonal."""
    for a in range(kinds.shape[0]):
        j = kinds[a]
        for b in range(a + 1):
            k = kinds[b]
            shared = sizes[-1] * rough[j, k]
            for e in range(slopes.shape[1]):
                shared += slopes[j, e] * slopes[k, e] * sizes[e]
            for m in range(b):
                shared -= lower[a, m] * lower[b, m]
            if b < a:
                lower[a, b] = shared * inverse[b]
            else:
                inverse[a] = 1.0 / math.sqrt(max(shared + noise[a], LEAST))


@kernel
def as_missed(
    kinds: Any, lower: Any, inverse: Any, whole: Any, missed: Any, spread: Any, shares: Any, room: Any
) -> Any:
    """Log density of what was seen of one chip, `whole` along the factor, over all steps of mis-hits."""
    moved, along, exponent, weight = room[0], room[1], room[2], room[3]
    highest, total = -math.inf, 0.0
    for s in range(missed.shape[0]):
        if shares[s] < NONE:
            weight[s] = 0.0
            continue
        # what is left is spread along one line within a step: the precision loses that direction's share
        square, across, length = 0.0, 0.0, 1.0
        for a in range(kinds.shape[0]):
            off, line = missed[s, kinds[a]], spread[s, kinds[a]]
            for b in range(a):
                off -= lower[a, b] * moved[b]
                line -= lower[a, b] * along[b]
            moved[a], along[a] = off * inverse[a], line * inverse[a]
            left = whole[a] - moved[a]
            square += left * left
            across += left * along[a]
            length += along[a] * along[a]
        exponent[s] = -0.5 * (square - across * across / length)
        weight[s] = shares[s] / math.sqrt(length)
        highest = max(highest, exponent[s])
    for s in range(missed.shape[0]):
        if weight[s] > 0.0:
            total += weight[s] * math.exp(exponent[s] - highest)
    return highest + math.log(total) - HALF_LOG * kinds.shape[0] if total > 0.0 else -2 * LEVEL


def _loop_for(stamp: int) -> Callable[..., int]:
    def loop(*arrays: Any) -> int:
        kinds, counts, slopes, rough, unknown, missed, spread, misfit, errors, uneven, own, shares = arrays[:12]
        lower, rows, residual, scale, density = arrays[12:]
        inverse, pulled, whole, noise, sizes, room = rows[0], rows[1], rows[2], rows[3], rows[4], rows[5:]
        last = errors.shape[0]
        for d in range(misfit.shape[0]):
            for i in range(misfit.shape[1]):
                made = kinds[i, : counts[i]]
                for e in range(last):
                    sizes[e] = errors[e, d, i] * errors[e, d, i]
                sizes[last] = uneven[d] * uneven[d]
                for a in range(counts[i]):
                    noise[a] = own[d, made[a]] * own[d, made[a]] + unknown[i, made[a]] * unknown[i, made[a]]
                factor(made, slopes[i], sizes[: last + 1], rough[i], noise, lower, inverse)
                for a in range(counts[i]):
                    j = made[a]
                    usual = free = misfit[d, i, j]
                    for b in range(a):
                        usual -= lower[a, b] * pulled[b]
                        free -= lower[a, b] * whole[b]
                    residual[d, i, j], scale[d, i, j] = usual, 1.0 / inverse[a]
                    pulled[a] = min(max(usual * inverse[a], -MOST_CARRIED), MOST_CARRIED)
                    whole[a] = free * inverse[a]
                density[d, i] = as_missed(made, lower, inverse, whole, missed[i], spread[i], shares[d, i], room)
        return stamp

    return loop


_loop = kept(_loop_for)
