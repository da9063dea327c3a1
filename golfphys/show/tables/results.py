"""Sheets, fitted greens, single shots and plans as tables, and sentences for showing; as in `golfphys.show.tables`."""

from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.units import METRES_PER_FOOT, from_si
from golfphys.physics.club import Launch
from golfphys.physics.ramp import two_way_mean
from golfphys.physics.shot import Shots, Status
from golfphys.planning import ChipPlan
from golfphys.show.style import LengthUnit


def rollouts(sheet: Any) -> pd.DataFrame:
    """Return the rolls of a sheet as they are read: one row for each.

    Parameters
    ----------
    sheet : RolloutSheet
        What `golfphys.read_rollouts` returned.

    Returns
    -------
    DataFrame
        Index: line in the file.
    """
    rolls = sheet.rolls
    table = pd.DataFrame(
        {
            "spot": rolls["spot"],
            "heading (deg)": np.degrees(rolls["heading"]).round(0).astype(int),
            "release speed (m/s)": rolls["release_speed"].round(2),
            "distance (m)": rolls["distance"].round(2),
            "to the left (m)": ["" if np.isnan(side) else f"{side:.2f}" for side in rolls["side"]],
        }
    )
    return table.set_index(pd.Index(rolls["row"], name="line in the file"))


def _with_interval(row: "pd.Series[Any]", digits: int, scale: float = 1.0) -> str:
    if not np.isfinite(row["estimate"]):
        return "not told"
    low, middle, high = (scale * float(row[name]) for name in ("low", "estimate", "high"))
    return f"{middle:.{digits}f}  ({low:.{digits}f} to {high:.{digits}f})"


def greens(fit: Any) -> pd.DataFrame:
    """Return the fitted greens, one row for each spot: value and 90 % interval.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned.

    Returns
    -------
    DataFrame
        Index: spot.
    """
    columns = {
        "green speed (ft)": ("stimp_ft", 1, 1.0),
        "resistance": ("resistance", 4, 1.0),
        "slope (%)": ("grade", 1, 100.0),
        "falls towards (deg)": ("fall_direction_deg", 0, 1.0),
    }
    rows = {
        spot: {
            heading: _with_interval(fit.estimates.loc[(spot, name)], digits, scale)
            for heading, (name, digits, scale) in columns.items()
        }
        for spot in fit.spots
    }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("spot")


def shot(launch: Launch, played: Shots) -> pd.DataFrame:
    """Return one shot from launch to rest in words.

    Parameters
    ----------
    launch : Launch
        One launch.
    played : Shots
        What `golfphys.simulate` made of it.

    Returns
    -------
    DataFrame
        Column ``value``, index: what it is, with its unit.

    Raises
    ------
    ValueError
        If there is more than one shot.
    """
    if np.ndim(played.carry):
        raise ValueError(f"expected one shot, found {len(played)}; show a batch as an array or a figure")
    rows = {
        "ball speed (m/s)": (float(launch.speed), 1),  # type: ignore[arg-type]
        "launch angle (deg)": (np.degrees(launch.angle), 0),
        "backspin (rpm)": (from_si(float(launch.backspin), "rpm"), 0),  # type: ignore[arg-type]
        "highest point (m)": (played.apex, 2),
        "time in the air (s)": (played.flight_time, 2),
        "lands after (m)": (played.carry, 2),
        "landing speed (m/s)": (played.landing_speed, 1),
        "landing angle (deg below level)": (np.degrees(played.landing_angle), 0),
        "bounces": (played.bounces, 0),
        "from landing to rest (m)": (played.roll_distance, 2),
    }
    table = {name: f"{value:.{digits}f}" for name, (value, digits) in rows.items()}
    table["how it ended"] = Status(played.status).name.lower().replace("_", " ")
    return pd.DataFrame({"value": table}).rename_axis("the shot")


def plan(planned: ChipPlan, *, unit: str = "m") -> pd.DataFrame:
    """Return a plan as a player reads it: a row for each club, best first.

    Parameters
    ----------
    planned : ChipPlan
        What `golfphys.plan_chip` returned.
    unit : str
        Unit of the distances.

    Returns
    -------
    DataFrame
        Index: club.

    Raises
    ------
    ValueError
        If `unit` is no unit of length.
    """
    table, length = planned.table, LengthUnit(unit)

    def lengths(name: str, digits: int = 1) -> list[str]:
        return [f"{value:.{digits}f}" if np.isfinite(value) else "none" for value in length.show(table[name])]

    def shares(name: str) -> list[str]:
        return [f"{100 * value:.0f} %" for value in table[name]]

    aims = [
        "straight" if abs(aim) < 0.05 else f"{abs(aim):.1f} {'left' if aim > 0 else 'right'}"
        for aim in table["aim_deg"]
    ]
    windows = [" to ".join(pair) for pair in zip(lengths("window_low_m"), lengths("window_high_m"), strict=True)]
    strokes = [_strokes(*values) for values in table[["strokes", "strokes_low", "strokes_high"]].to_numpy(float)]
    columns = {
        length.label("land it at"): lengths("landing_m"),
        length.label("onto the green"): lengths("onto_green_m"),
        length.label("it rolls"): lengths("roll_m"),
        "aim (deg)": aims,
        length.label("spread along"): lengths("rest_along_sd_m", 2),
        length.label("spread across"): lengths("rest_side_sd_m", 2),
        "within 1 m": shares("within_1m"),
        "within 3 ft": shares("within_3ft"),
        "strokes to hole out": strokes,
        length.label("window"): windows,
        length.label("may land short by"): lengths("short_by_m"),
        length.label("may land long by"): lengths("long_by_m"),
    }
    return pd.DataFrame(columns, index=pd.Index(table["club"], name="club"))


def _strokes(middle: float, low: float, high: float) -> str:
    return f"{middle:.2f} ({low:.2f} to {high:.2f})" if high > low else f"{middle:.2f}"


def two_way(fit: Any) -> pd.DataFrame:
    """Return, for spots rolled in two opposite directions, the trade's two-way mean beside the fitted green speed.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned.

    Returns
    -------
    DataFrame
        Index: spot. Spots with other headings are left out.
    """
    rows = {}
    for spot, rolls in fit.sheet.rolls.groupby("spot", sort=False):
        by_heading = rolls.groupby(rolls["heading"].round(6))["distance"].mean()
        headings = by_heading.index.to_numpy()
        if len(headings) != 2 or abs(abs(headings[1] - headings[0]) - np.pi) > 1e-3:
            continue
        longer, shorter = (float(value) for value in sorted(by_heading, reverse=True))
        row = fit.estimates.loc[(spot, "stimp_ft")]
        rows[spot] = {
            "downhill (ft)": f"{longer / METRES_PER_FOOT:.1f}",
            "uphill (ft)": f"{shorter / METRES_PER_FOOT:.1f}",
            "two-way mean (ft)": f"{two_way_mean(shorter, longer) / METRES_PER_FOOT:.1f}",
            "fitted green speed (ft)": _with_interval(row, 1),
        }
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("spot")
