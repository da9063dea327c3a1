"""The compiled algebra of a chip log against scipy's multivariate normal."""

import numpy as np
from scipy.special import logsumexp
from scipy.stats import multivariate_normal

from golfphys.fitting.chip_density import compare, seen_of


def test_density_is_that_of_the_multivariate_normal() -> None:
    """Conditional residuals multiply up to the joint density; a mis-hit adds the line along which its step spreads."""
    rng = np.random.default_rng(5)
    draws, chips, kinds, steps = 3, 4, 6, 2
    made = rng.random((chips, kinds)) < 0.7
    made[:, 3] = True
    slopes, bumps = rng.normal(size=(chips, kinds, 6)), rng.normal(size=(chips, kinds, 5))
    unknown = rng.random((chips, kinds))
    moved, spread = rng.normal(size=(2, chips, steps, kinds))
    errors, uneven, own = rng.random((6, draws, chips)), rng.random(draws), 0.1 + rng.random((draws, kinds))
    shares, misfit = rng.random((draws, chips, steps)), rng.normal(size=(draws, chips, kinds))
    seen = seen_of(made, slopes, bumps, unknown, (moved, spread))
    residual, scale, missed = compare(seen, misfit, errors, uneven, own, shares)
    ours, theirs = [], []
    for d, i in np.ndindex(draws, chips):
        at = made[i]
        answers = np.hstack([slopes[i] * errors[:, d, i], bumps[i] * uneven[d]])[at]
        covariance = answers @ answers.T + np.diag((own[d] ** 2 + unknown[i] ** 2)[at])
        logs = [
            np.log(shares[d, i, s])
            + multivariate_normal(moved[i, s, at], covariance + np.outer(*[spread[i, s, at]] * 2)).logpdf(
                misfit[d, i, at]
            )
            for s in range(steps)
        ]
        scales = np.log(scale[d, i, at]).sum()
        ours += [-0.5 * np.sum((residual / scale)[d, i] ** 2 + np.log(2 * np.pi) * at) - scales, missed[d, i] - scales]
        theirs += [multivariate_normal(cov=covariance).logpdf(misfit[d, i, at]), logsumexp(logs)]
    assert np.max(np.abs(residual / scale)) < 3.5  # none so far out that it stops pulling the next
    assert np.max(np.abs(np.subtract(ours, theirs))) < 1e-9
    assert np.all(residual[:, ~made] == 0)
    assert np.all(scale[:, ~made] == 1)
