"""The compiled algebra of a chip log: each observation given the ones before it, and how likely a mis-hit made them.

What was seen of a chip is normal around what was expected, with covariance S diag(errors^2) S' + noise, S being how it
answers to the errors that its observations share. Along the Cholesky factor of that covariance each observation is
compared with what the ones before it lead to expect.
"""

import math
from collections.abc import Callable
from typing import Any, NamedTuple

import numpy as np
from numpy.typing import NDArray

from golfphys.core.law import kept, kernel

Array = NDArray[np.float64]

MOST_CARRIED = 3.5
"""Standard deviations from which an observation no longer pulls what is expected of the next any further."""

LEAST = 1e-8
"""Least variance of an observation, m^2 or s^2."""

HALF_LOG = 0.5 * math.log(2.0 * math.pi)
RARE = 1e-30
"""Least probability of anything."""


class Seen(NamedTuple):
    """What of chips does not depend on a draw.

    `kinds` (chips, K) are the observations made, `counts` (chips,) how many; `slopes` (chips, K, E) answer to errors of
    each chip, `rough` (chips, K, K) is the product of the slopes by those that share one size; `unknown` (chips, K) is
    further noise; `missed` and `spread` (chips, steps, K) are what steps of mis-hits do.
    """

    kinds: NDArray[np.int64]
    counts: NDArray[np.int64]
    slopes: Array
    rough: Array
    unknown: Array
    missed: Array
    spread: Array


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
        weight[s] = max(shares[s], RARE) / math.sqrt(length)
        highest = max(highest, exponent[s])
    for s in range(missed.shape[0]):
        total += weight[s] * math.exp(exponent[s] - highest)
    return highest + math.log(total) - HALF_LOG * kinds.shape[0]


def _loop_for(stamp: int) -> Callable[..., int]:
    def loop(
        kinds: Any,
        counts: Any,
        slopes: Any,
        rough: Any,
        unknown: Any,
        missed: Any,
        spread: Any,
        misfit: Any,
        errors: Any,
        uneven: Any,
        own: Any,
        shares: Any,
        lower: Any,
        rows: Any,
        residual: Any,
        scale: Any,
        density: Any,
    ) -> int:
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
