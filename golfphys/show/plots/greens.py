"""Pictures of fitted greens, and of whether intervals keep their promise; style as in `golfphys.show.plots`."""

import math
from typing import TYPE_CHECKING, Any

import numpy as np

from golfphys.core import constants
from golfphys.show.plots.axes import marked, name_rows, new_axes, points
from golfphys.show.style import CYCLE, GREY, LengthUnit, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@styled
def plot_rollout_fit(fit: Any, spot: str | None = None, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw measured rolls by heading as seen from above, with the fitted distance and its 90 % band.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned.
    spot : str, optional
        Which spot; the first of the fit if left out.
    ax : polar Axes, optional
        Where to draw; made with ``projection="polar"``.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        Polar: headings clockwise from the reference line at the top, distances outward. One colour for each release
        speed.

    Raises
    ------
    ValueError
        If the fit has no such spot, or `ax` is not polar.
    """
    ax, length = new_axes(ax, 6.4, 5.6, projection="polar"), LengthUnit(unit)
    if ax.name != "polar":
        raise ValueError('ax is not polar; make it with projection="polar"')
    rolls = fit.sheet.rolls
    spots = list(dict.fromkeys(rolls["spot"]))
    spot = spots[0] if spot is None else spot
    if spot not in spots:
        raise ValueError(f"spot is {spot!r}; expected one of {', '.join(map(repr, spots))}")
    rolls = rolls[rolls["spot"] == spot]
    around = np.linspace(0.0, 2.0 * math.pi, 73)
    polar: Any = ax
    polar.set_theta_zero_location("N")
    polar.set_theta_direction(-1)
    speeds = sorted(rolls["release_speed"].round(2).unique())
    for speed, (name, look) in zip(speeds, points(f"{speed:.2f} m/s" for speed in speeds).items(), strict=True):
        expected = fit.predict(spot, around, speed)
        low, high = length.show(expected["roll_low"].to_numpy()), length.show(expected["roll_high"].to_numpy())
        ax.fill_between(around, low, high, color=look["color"], alpha=0.18, linewidth=0)
        ax.plot(around, length.show(expected["distance"].to_numpy()), color=look["color"], label=f"_fit {name}")
        same = rolls[rolls["release_speed"].round(2) == speed]
        ax.plot(same["heading"], length.show(same["distance"]), linestyle="none", label=name, alpha=0.8, **look)
    polar.set_rlabel_position(22.5)
    polar.set_rlim(bottom=0.0)
    ax.set_title(f"{spot}: rolls by heading ({unit}), fit and 90 % band of single rolls")
    ax.legend(title="released at", loc="lower left", bbox_to_anchor=(0.98, 0.0))
    return ax


@styled
def plot_green_speeds(fit: Any, *, ax: "Axes | None" = None, unit: str = "ft") -> "Axes":
    """Draw each spot's green speed with its 90 % interval.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned; its estimates have a row ``stimp_m`` for each spot.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        One interval for each spot, the first on top.

    Raises
    ------
    ValueError
        If the fit's estimates have no green speed.
    """
    length = LengthUnit(unit)
    table = fit.estimates
    if "stimp_m" not in table.index.get_level_values(1):
        raise ValueError("the fit's estimates have no parameter stimp_m")
    rows = table.xs("stimp_m", level=1)
    ax = new_axes(ax, 7.0, 1.4 + 0.42 * len(rows))
    middle, low, high = (length.show(rows[column].to_numpy()) for column in ("estimate", "low", "high"))
    height = np.arange(len(rows))
    ax.errorbar(middle, height, xerr=(middle - low, high - middle), fmt="o", color=CYCLE[0], capsize=4, linewidth=1.8)
    name_rows(ax, [str(spot) for spot in rows.index])
    ax.set_xlabel(length.label("green speed, level equivalent, with 90 % interval"))
    ax.set_title("Green speed by spot")
    return ax


@styled
def plot_calibration(coverage: Any, *, ax: "Axes | None" = None) -> "Axes":
    """Draw how often intervals held the truth against how often they promised to.

    Parameters
    ----------
    coverage : DataFrame
        Columns ``parameter``, ``nominal`` (promised share), ``covered`` (share found) and, where known, ``sd``
        (standard error of the share found).
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each parameter, and the diagonal on which promises are kept.

    Examples
    --------
    >>> import pandas as pd
    >>> found = pd.DataFrame({"parameter": "grade", "nominal": [0.5, 0.9], "covered": [0.49, 0.91], "sd": 0.02})
    >>> plot_calibration(found).get_xlabel()
    'share promised'
    """
    ax = new_axes(ax, 5.2, 4.8)
    ax.plot([0.0, 1.0], [0.0, 1.0], color=GREY, linewidth=1.0, linestyle=(0, (4, 3)), label="promise kept")
    for name, look in marked(list(dict.fromkeys(coverage["parameter"]))).items():
        rows = coverage[coverage["parameter"] == name]
        error = constants.NORMAL_90 * rows["sd"] if "sd" in rows else None
        ax.errorbar(rows["nominal"], rows["covered"], error, capsize=3, label=name.replace("_", " "), **look)
    ax.set(xlabel="share promised", ylabel="share of truths inside", xlim=(0.0, 1.02), ylim=(0.0, 1.02), aspect="equal")
    ax.set_title("Do intervals hold what they promise?")
    ax.legend(loc="upper left")
    return ax
