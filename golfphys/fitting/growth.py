"""Does resistance grow with speed? What rolls and films together say, before anybody chooses a law."""

import math
from dataclasses import replace

import numpy as np

from golfphys.fitting.films import Films
from golfphys.fitting.rollout_layout import RAMP_SD, Priors, Rolls
from golfphys.fitting.rollout_model import build
from golfphys.fitting.search import find_mode
from golfphys.fitting.trace_model import join_films

SEEN = 2.3
"""Standard errors from which growth counts as seen: by chance in one course of fifty."""

LITTLE = 0.8
"""Part of the prior's variance above which the data do not inform of growth."""

MOST_SPOTS = 12
"""Spots that are looked at: the filmed ones and those with most rolls."""


def growth(
    rolls: Rolls, films: Films | None = None, *, release_speed_sd: float = RAMP_SD, priors: Priors | None = None
) -> tuple[float, float]:
    """Return how resistance grows with speed, s/m, and its standard error, from the data alone.

    Parameters
    ----------
    rolls : Rolls
        Rolls, of one release speed or several.
    films : Films, optional
        Filmed rolls on the same spots.
    release_speed_sd : float
        Relative standard uncertainty of the ramp's release speed.
    priors : Priors, optional
        Of a rollout fit; that of the growth itself is taken out again.

    Returns
    -------
    tuple of float
        Growth per m/s and standard error, infinite where nothing informs it: the normal approximation at the mode of
        the linear law.
    """
    known = priors or Priors()
    filmed = np.isin(rolls.spots, () if films is None else films.spots)
    most = np.argsort(-np.bincount(rolls.spot, minlength=len(rolls.spots)) - 1e6 * filmed, kind="stable")[:MOST_SPOTS]
    rolls = rolls.at_spots(sorted(most.tolist()))
    model, layout = build(rolls, law="linear", release_speed_sd=release_speed_sd, priors=known)
    if films is not None:
        model, _ = join_films(model, replace(films, law="linear"), reference_speed=layout.reference_speed, priors=known)
    mode = find_mode(model)
    inner = [name for name, is_outer in zip(model.names, model.outer, strict=True) if not is_outer]
    at, value = inner.index("linear"), float(mode.point[model.index("linear")])
    variance, usual = float(mode.covariance[at, at]), known.term_spread["linear"] ** 2
    if variance > LITTLE * usual:
        return 0.0, math.inf
    error = 1.0 / (1.0 / variance - 1.0 / usual)
    return value * error / variance, math.sqrt(error)
