"""Draws from a Markov chain, for posteriors that bend, by the ensemble sampler emcee.

emcee: Foreman-Mackey, Hogg, Lang, Goodman, PASP 125, 306 (2013) (memory). Walkers start from the normal approximation
and step along differences between walkers.
"""

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from golfphys.fitting.results import Posterior

Array = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Diagnostics:
    """How well a chain mixed.

    Parameters
    ----------
    walkers, steps : int
        Size of the ensemble; steps kept of each walker.
    acceptance : float
        Share of proposed steps that were accepted.
    autocorrelation : float
        Longest autocorrelation time among the parameters, in steps.
    effective_draws : float
        Number of independent draws of the slowest parameter.
    split_r_hat : float
        Largest split R-hat among the parameters: how much halves of walkers differ from each other; near 1 is well.
    slowest : str
        Parameter with the fewest effective draws.
    """

    walkers: int
    steps: int
    acceptance: float
    autocorrelation: float
    effective_draws: float
    split_r_hat: float
    slowest: str

    @property
    def trusted(self) -> bool:
        """Whether intervals read from the draws can be trusted."""
        return self.effective_draws >= 400 and self.split_r_hat < 1.05

    def __str__(self) -> str:
        """Say in words how well the chain mixed."""
        verdict = (
            "The chain mixed well: its intervals can be used."
            if self.trusted
            else "The chain has not mixed: take more steps before using its intervals."
        )
        return (
            f"{self.walkers} walkers took {self.steps} steps each after settling; {100 * self.acceptance:.0f} % of the "
            f"proposed steps were accepted. Draws forget each other in {self.autocorrelation:.0f} steps, so the chain "
            f"is worth {self.effective_draws:.0f} independent draws of its slowest parameter ({self.slowest}). Walkers "
            f"and halves agree to a split R-hat of {self.split_r_hat:.3f} (1 is perfect, 1.05 the limit). {verdict}"
        )


def sample(source: Posterior, *, steps: int = 2000, seed: int = 0, walkers: int | None = None) -> Posterior:
    """Sample a posterior with a Markov chain.

    Parameters
    ----------
    source : Posterior
        The normal approximation, whose draws are the starting points.
    steps : int
        Steps of each walker; the first third is left out as settling.
    seed : int
        Seed.
    walkers : int, optional
        Number of walkers, at least twice the number of parameters; four times by default, and at least 32.

    Returns
    -------
    Posterior
        Equally weighted draws, with ``diagnostics``.

    Raises
    ------
    ValueError
        If there are too few steps or walkers.
    """
    import emcee

    if steps < 30:
        raise ValueError(f"steps is {steps!r}; expected at least 30")
    model = source.model
    size = len(model.parameters)
    count = walkers if walkers is not None else 2 * max(2 * size, 16)
    if count < 2 * size:
        raise ValueError(f"walkers is {count!r}; expected at least {2 * size}, twice the number of parameters")
    generator = np.random.default_rng(seed)
    picks = generator.choice(len(source.weights), size=count, p=source.weights)
    start = source.transformed[picks]
    spread = np.sqrt(np.maximum(source.weights @ (start.mean(axis=0) - source.transformed) ** 2, 1e-16))
    start = start + 1e-3 * spread * generator.standard_normal(start.shape)
    sampler = emcee.EnsembleSampler(
        count,
        size,
        lambda at: model.log_density(at, extra=True),
        vectorize=True,
        moves=[(emcee.moves.DEMove(), 0.8), (emcee.moves.DESnookerMove(), 0.1), (emcee.moves.StretchMove(), 0.1)],
    )
    sampler.random_state = np.random.RandomState(int(generator.integers(2**31))).get_state()
    sampler.run_mcmc(start, steps, skip_initial_state_check=True)
    chain: Array = sampler.get_chain(discard=steps // 3)
    diagnostics = _diagnose(chain, float(np.mean(sampler.acceptance_fraction)), model.names)
    thin = max(1, int(diagnostics.autocorrelation / 4))
    draws = chain[::thin].reshape(-1, size)
    if model.mirror is not None:
        draws = model.mirror(draws, generator)
    return replace(
        source,
        transformed=draws,
        weights=np.full(len(draws), 1.0 / len(draws)),
        shape=math.nan,
        accepted=math.nan,
        method="mcmc",
        diagnostics=diagnostics,
    )


def _diagnose(chain: Array, acceptance: float, names: list[str]) -> Diagnostics:
    from emcee.autocorr import integrated_time

    times = np.atleast_1d(integrated_time(chain, quiet=True, tol=0))
    times = np.where(np.isfinite(times), np.maximum(times, 1.0), float(len(chain)))
    slowest = int(np.argmax(times))
    return Diagnostics(
        walkers=chain.shape[1],
        steps=chain.shape[0],
        acceptance=acceptance,
        autocorrelation=float(times[slowest]),
        effective_draws=float(chain.shape[0] * chain.shape[1] / times[slowest]),
        split_r_hat=float(max(split_r_hat(chain[:, :, i]) for i in range(chain.shape[2]))),
        slowest=names[slowest],
    )


def split_r_hat(chain: Array) -> float:
    """Return split R-hat of one parameter.

    Gelman and others, Bayesian Data Analysis, 3rd edition, section 11.4 (memory). The walkers of an ensemble are put
    together in four groups first, because each by itself is short.

    Parameters
    ----------
    chain : ndarray, shape (steps, walkers)
        Draws of the parameter.

    Returns
    -------
    float
        Near 1 where all halves of all groups agree.

    Examples
    --------
    >>> split_r_hat(np.random.default_rng(1).standard_normal((500, 8))) < 1.01
    True
    """
    half = chain.shape[0] // 2
    groups = np.array_split(np.arange(chain.shape[1]), min(4, chain.shape[1]))
    pieces = [part[:, group].ravel() for group in groups for part in (chain[:half], chain[half : 2 * half])]
    length = min(len(piece) for piece in pieces)
    table = np.array([piece[:length] for piece in pieces])
    within = float(table.var(axis=1, ddof=1).mean())
    between = float(table.mean(axis=1).var(ddof=1))
    return math.sqrt(1.0 - 1.0 / length + between / max(within, 1e-300))
