"""Results of fits to rolls and drops as tables to show or to draw."""

from collections.abc import Mapping
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.rollout_layout import POWERS
from golfphys.fitting.turf import GRAVITY, Drops, take_off, turf_fields


def resistance_by_speed(
    fits: Mapping[str, Any], spot: str, speeds: ArrayLike, *, n: int = 2000
) -> dict[str, pd.DataFrame]:
    """Return the fitted resistance against speed at a spot, with its 90 % band, for each fit.

    Parameters
    ----------
    fits : mapping of str to RolloutFit
        Fits by name.
    spot : str
        The spot.
    speeds : array_like
        Speeds, m/s.
    n : int
        Number of posterior draws.

    Returns
    -------
    dict of DataFrame
        Columns ``speed``, ``low``, ``estimate``, ``high``.
    """
    speeds = np.asarray(speeds, dtype=float)
    found = {}
    for name, fit in fits.items():
        drawn = fit.greens(spot, n, seed=0)
        along = (drawn[part][:, None] * speeds**power for part, power in {"constant": 0.0, **POWERS}.items())
        low, middle, high = np.quantile(sum(along), [0.05, 0.5, 0.95], axis=0)
        found[name] = pd.DataFrame({"speed": speeds, "low": low, "estimate": middle, "high": high})
    return found


def restitution_by_speed(fit: CourseFit, speeds: ArrayLike, *, n: int = 400) -> pd.DataFrame:
    """Return speed of take-off over speed of landing of a ball that falls straight down, with its 90 % band.

    Parameters
    ----------
    fit : CourseFit
        A fit with a turf.
    speeds : array_like
        Landing speeds, m/s.
    n : int
        Number of posterior draws.

    Returns
    -------
    DataFrame
        Columns ``speed``, ``low``, ``estimate``, ``high``.
    """
    speeds = np.asarray(speeds, dtype=float)
    drawn = fit.draws(n, 0)
    values = {name: drawn[f"turf[{name}]"].to_numpy()[:, None] for name in turf_fields(fit.settings.turf_law)}
    low, middle, high = np.quantile(take_off(values, speeds) / speeds, [0.05, 0.5, 0.95], axis=0)
    return pd.DataFrame({"speed": speeds, "low": low, "estimate": middle, "high": high})


def restitutions_of(drops: Drops) -> pd.DataFrame:
    """Return what each drop shows of the turf: speed of take-off over speed of landing.

    Parameters
    ----------
    drops : Drops
        The drops of a fit, ``fit.seen.drops``.

    Returns
    -------
    DataFrame
        Columns ``speed`` (of landing, m/s), ``seen`` (from the rebound height) and ``heard`` (from the first flight),
        NaN where that was not noted.
    """
    landing = np.sqrt(2 * GRAVITY * drops.height)
    seen, heard = np.sqrt(drops.rebound / drops.height), GRAVITY * drops.first / (2 * landing)
    return pd.DataFrame({"speed": landing, "seen": seen, "heard": heard})


def trace_speeds(fit: Any, roll: str, *, over: float = 0.2) -> pd.DataFrame:
    """Return the speeds of a filmed roll, read off its frames and off its fit over the same stretches of time.

    Parameters
    ----------
    fit : TraceFit
        What `golfphys.fitting.traces.fit_traces` returned.
    roll : str
        Which roll.
    over : float
        Length of a stretch, s; frames nearer than that would show the reading error.

    Returns
    -------
    DataFrame
        Columns ``time`` (middle of the stretch), ``speed`` (measured) and ``fitted``, m/s.
    """
    frames = fit.residuals[fit.residuals["roll"] == roll]
    step = max(1, round(over / float(np.median(np.diff(frames["time"])))))
    picked = frames.iloc[::step]
    lasted = np.diff(picked["time"])
    middle = picked["time"].to_numpy()[:-1] + lasted / 2
    speeds = {name: np.diff(picked[column]) / lasted for name, column in (("speed", "distance"), ("fitted", "fitted"))}
    return pd.DataFrame({"time": middle, **speeds})


def laws(comparison: Any) -> pd.DataFrame:
    """Return a comparison of laws with headings in words.

    Parameters
    ----------
    comparison : Comparison
        What `golfphys.fitting.compare.compare_laws` returned.

    Returns
    -------
    DataFrame
        Index: law, best first.
    """
    table = comparison.table
    columns = {
        "foretells unseen rolls (higher is better)": table["elpd"].round(1),
        "behind the best by": table["behind"].round(1),
        "give or take": table["behind_se"].round(1),
    }
    return pd.DataFrame(columns).rename_axis("resistance, in speed")


def plans(compared: pd.DataFrame) -> pd.DataFrame:
    """Return what planned sheets would tell with headings in words: halves of 90 % intervals.

    Parameters
    ----------
    compared : DataFrame
        What `golfphys.fitting.design.compare_plans` returned, with any of stimp_ft, grade and fall_direction_deg.

    Returns
    -------
    DataFrame
        Index: plan. A direction that the plan would not tell stands as ``not told``.

    Examples
    --------
    >>> row = {"rolls": 12, "stimp_ft": 0.141, "grade": 0.0017, "fall_direction_deg": 5.6}
    >>> plans(pd.DataFrame([row], index=["four ways"])).loc["four ways", "slope to (%)"]
    '0.17'
    """
    table: dict[str, pd.Series[Any]] = {"rolls": compared["rolls"].astype(int)}
    if "stimp_ft" in compared:
        table["green speed to (ft)"] = compared["stimp_ft"].map("{:.2f}".format)
    if "grade" in compared:
        table["slope to (%)"] = (100 * compared["grade"]).map("{:.2f}".format)
    if "fall_direction_deg" in compared:
        direction = compared["fall_direction_deg"]
        table["direction of fall to (deg)"] = direction.map("{:.0f}".format).where(direction < 90, "not told")
    return pd.DataFrame(table).rename_axis("plan")
