"""Fits a sheet of rollouts: resistance, slope and green speed of every spot, with what the sheet does not inform."""

from collections.abc import Sequence
from functools import partial
from typing import Any

import numpy as np

from golfphys.fitting.asked import Sheet
from golfphys.fitting.by_spot import applies
from golfphys.fitting.compare import Comparison, compare_fits
from golfphys.fitting.films import films_of
from golfphys.fitting.losses import Loss
from golfphys.fitting.results import Seed, posterior, say_if_long, usual_draws
from golfphys.fitting.rollout_fit import RolloutFit as RolloutFit  # this is where people look for it
from golfphys.fitting.rollout_layout import LAWS, RAMP_SD, Law, Priors, Rolls
from golfphys.fitting.rollout_model import build
from golfphys.fitting.trace_model import join_films


def fit_rollouts(
    sheet: Sheet,
    *,
    law: Law = "constant",
    grain: bool = False,
    pool: bool = True,
    traces: Any = None,
    release_speed_sd: float = RAMP_SD,
    priors: Priors | None = None,
    loss: Loss | None = None,
    draws: int | None = None,
    seed: Seed = 0,
) -> RolloutFit:
    """Fit rolling resistance and slope at every spot of a sheet of rollouts.

    Every roll is compared with where the rolling laws say it comes to rest: distance straight from release to rest,
    and side drift where it was noted. Noise scales are estimated, and a roll that does not belong counts for little.

    Parameters
    ----------
    sheet : RolloutSheet
        Rolls, as `golfphys.read_rollouts` returns them.
    law : {"constant", "linear", "quadratic"}
        Resistance as a polynomial in speed; the terms in speed are common to all spots.
    grain : bool
        Fit a grain, common to all spots: resistance less with it and more against it.
    pool : bool
        Let spots borrow from each other: their resistances scatter about a common middle by an estimated spread.
    traces : FilmSheet, optional
        Videos of rolls on the same spots, fitted jointly.
    release_speed_sd : float
        Relative standard uncertainty of the release speeds that all rolls share; 0 takes them as exact.
    priors : Priors, optional
        Weak priors; the defaults are stated in `Priors`.
    loss : Loss, optional
        Density of the residuals; `OutlierTolerant` by default.
    draws : int, optional
        Number of posterior draws; 4000 by default, fewer for long sheets.
    seed : int or numpy.random.Generator
        Seed of the draws.

    Returns
    -------
    RolloutFit
        Estimates, intervals, cautions, draws, fitted greens.

    Raises
    ------
    ValueError
        If the sheet is empty or an option is not known.

    Notes
    -----
    Model: resistance by the energy definition (Am. J. Phys. 90, 648, 2022) on a plane, golfphys/derivations/plane.py.
    Estimation: see `golfphys.fitting.estimator`.

    Examples
    --------
    >>> from types import SimpleNamespace
    >>> import pandas as pd
    >>> rolls = pd.DataFrame({"row": [2, 3, 4, 5], "spot": "home-left", "heading": np.radians([0, 90, 180, 270]),
    ...     "release_speed": 1.83, "distance": [3.9, 3.1, 2.5, 3.1], "side": np.nan})
    >>> fit = fit_rollouts(SimpleNamespace(rolls=rolls))
    >>> round(fit.green("home-left").grade, 2)
    0.02
    """
    if law not in LAWS:
        raise ValueError(f"law is {law!r}; expected one of: {', '.join(LAWS)}")
    if not release_speed_sd >= 0:
        raise ValueError(f"release_speed_sd is {release_speed_sd!r}; expected a number not below 0")
    rolls = rolls_of(sheet)
    settings: dict[str, Any] = {"pool": pool, "release_speed_sd": release_speed_sd, "priors": priors, "loss": loss}
    model, layout = build(rolls, law=law, grain=grain, **settings)
    films, observations = None, len(rolls.row)
    if traces is not None:
        if grain:
            raise ValueError("traces cannot be fitted together with grain; leave one of them out")
        filmed = films_of(traces, law)
        speed = layout.reference_speed
        model, films = join_films(model, filmed, reference_speed=speed, priors=priors, loss=loss)
        observations += len(filmed.time)
    if draws is None:
        draws = usual_draws(model, observations * (1 if layout.plain else 2))
    say_if_long(len(model.parameters), by_spot=applies(model))
    found = posterior(model, draws=draws, seed=seed)
    options = {**settings, "grain": grain, "traces": traces, "draws": draws, "seed": seed}
    again = partial(fit_rollouts, sheet, **options)
    return RolloutFit(
        sheet=sheet, law=law, posterior=found, layout=layout, film_layout=films, options=options, refit=again
    )


def compare_laws(sheet: Sheet, *, laws: Sequence[str] = LAWS, **options: Any) -> Comparison:
    """Fit a sheet of rollouts with each law and compare.

    Parameters
    ----------
    sheet : RolloutSheet
        The rolls.
    laws : sequence of str
        Laws to compare, see `golfphys.fit_rollouts`.
    **options
        Further arguments of `golfphys.fit_rollouts`.

    Returns
    -------
    Comparison
        Table, verdict in words, and the fits.

    Raises
    ------
    ValueError
        If fewer than two laws are given.

    Examples
    --------
    >>> from golfphys import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> sheet = make_rollouts(truth, RolloutDesign(repeats=3), 1)
    >>> print(compare_laws(sheet, laws=("constant", "linear")).verdict)
    The rolls do not prefer among 'constant', 'linear': ... Use the simplest, 'constant'.
    """
    if len(laws) < 2:
        raise ValueError(f"laws is {laws!r}; expected at least two to compare")
    fits = {law: fit_rollouts(sheet, law=law, **options) for law in laws}
    return compare_fits(fits)


def rolls_of(sheet: Sheet) -> Rolls:
    """Take the observations out of a sheet.

    Raises
    ------
    ValueError
        If there is none, or a value is missing.
    """
    frame = sheet.rolls
    if len(frame) == 0:
        raise ValueError("the sheet has no rolls; expected at least one")
    spots = tuple(str(spot) for spot in dict.fromkeys(frame["spot"]))
    values = {name: frame[name].to_numpy(dtype=float) for name in ("heading", "release_speed", "distance")}
    for name, column in values.items():
        if not np.all(np.isfinite(column)):
            row = frame["row"].iloc[int(np.flatnonzero(~np.isfinite(column))[0])] if "row" in frame else "?"
            raise ValueError(f"{name} in row {row} is not a number; expected one in every row")
    side = frame["side"].to_numpy(dtype=float) if "side" in frame else np.full(len(frame), np.nan)
    rows = frame["row"].to_numpy(dtype=np.int64) if "row" in frame else np.arange(2, len(frame) + 2)
    order = {spot: i for i, spot in enumerate(spots)}
    return Rolls(
        row=rows,
        spot=np.array([order[str(spot)] for spot in frame["spot"]], dtype=np.int64),
        spots=spots,
        heading=-values["heading"],
        speed=values["release_speed"],
        distance=values["distance"],
        side=side,
    )
