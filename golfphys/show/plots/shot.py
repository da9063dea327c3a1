"""Pictures of shots: flights, what the air does, and the whole shot taken apart.

Drawn from paths of `golfphys.physics.shot.trace` and tables of `golfphys.show.worked.shot`; style as in
`golfphys.show.plots`.
"""

from collections.abc import Mapping
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from golfphys.physics.shot import Trace
from golfphys.show.plots.axes import legend_beside, new_axes, points
from golfphys.show.style import CYCLE, GREY, ROUGH, TURF, LengthUnit, looks, styled
from golfphys.show.worked.shot import PARTS, part_of_each_step

if TYPE_CHECKING:
    from matplotlib.axes import Axes

PART_COLOURS = dict(zip(PARTS, (CYCLE[0], CYCLE[1], CYCLE[3], CYCLE[2]), strict=True))
"""Colour of each part of a shot: the same in every picture."""

PUBLISHED_DRAG = ((0.0, 4.0e4, 0.5), (6.0e4, 2.2e5, 0.25))
"""Drag without spin: Reynolds numbers from and to, coefficient. Bearman and Harvey (1976), from memory."""
PUBLISHED_LIFT = (17.0, 24.0, -0.15, -0.10)
"""Airspeeds in m/s from and to, and lift from and to: Lyu, Kensrud and Smith (2020), read."""


@styled
def plot_flights(paths: Mapping[str, Trace], *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw flights from the side, to scale, up to the first landing.

    Parameters
    ----------
    paths : mapping of str to Trace
        What `golfphys.physics.shot.trace` returned, by name.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each.
    """
    ax, length = new_axes(ax, 8.0, 2.9), LengthUnit(unit)
    for name, look in looks(list(paths)).items():
        path = paths[name]
        flies = path.time <= path.shot.flight_time + 1e-9
        ax.plot(length.show(path.x[flies]), length.show(path.height[flies]), label=name, **look)
    ax.set_ylim(bottom=0.0)
    ax.axhline(0.0, color=GREY, linewidth=0.8)
    ax.set_aspect("equal")
    ax.set(xlabel=length.label("from the ball"), ylabel=length.label("height"), title="Flights from the side, to scale")
    legend_beside(ax)
    return ax


@styled
def plot_path(path: Trace, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw a whole shot from the side: flight, bounces, skid and roll each in its colour, heights enlarged.

    Parameters
    ----------
    path : Trace
        What `golfphys.physics.shot.trace` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each part of the shot that there is.
    """
    ax, length = new_axes(ax, 8.0, 3.4), LengthUnit(unit)
    doing = part_of_each_step(path)
    for part, colour in PART_COLOURS.items():
        (steps,) = np.nonzero(doing == part)
        if len(steps):
            own = slice(steps[0], steps[-1] + 2)
            width = {"flight": 2.0, "bounces": 2.0, "skid": 6.0, "roll": 3.5}[part]
            ax.plot(length.show(path.x[own]), length.show(path.height[own]), color=colour, linewidth=width, label=part)
    ax.plot(length.show(path.x[-1]), 0.0, "o", color="black", label="rest")
    top = length.show(1.15 * float(path.height.max()))
    ax.axhspan(-0.06 * top, 0.0, color=TURF, linewidth=0)
    ax.set(xlabel=length.label("from the ball"), ylabel=length.label("height"), ylim=(-0.06 * top, top))
    ax.set_title("From strike to rest, heights enlarged")
    ax.legend(ncols=5, loc="upper right")
    return ax


@styled
def plot_drag(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw the drag coefficient against airspeed, beside the published levels.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.shot.coefficients` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each spin ratio, and the published levels, grey.
    """
    ax = _coefficient(table, "drag", ax)
    per_speed = float((table["reynolds"] / table["speed"]).iloc[-1])
    farthest = float(table["speed"].max())
    for number, (low, high, level) in enumerate(PUBLISHED_DRAG):
        ends = [low / per_speed, min(high / per_speed, farthest)]
        name = "published, no spin (Bearman & Harvey 1976, memory)" if number == 0 else "_published"
        ax.plot(ends, [level, level], color=GREY, linewidth=7, alpha=0.35, solid_capstyle="butt", label=name)
    ax.set(ylabel="drag coefficient", title="Drag falls to half where the air at the ball turns turbulent")
    ax.set_ylim(bottom=0.0)
    ax.legend(fontsize=8)
    return ax


@styled
def plot_lift(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw the lift coefficient against airspeed, beside the published range of negative lift.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.shot.coefficients` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each spin ratio, and the published range, grey.
    """
    ax = _coefficient(table, "lift", ax)
    low, high, bottom, top = PUBLISHED_LIFT
    name = "published: negative lift (Lyu et al. 2020, read)"
    ax.fill_between([low, high], bottom, top, color=GREY, alpha=0.35, linewidth=0, label=name)
    ax.axhline(0.0, color=GREY, linewidth=0.8)
    ax.set(ylabel="lift coefficient", title="Lift of backspin, and the gap where it turns negative")
    ax.legend(fontsize=8)
    return ax


def _coefficient(table: pd.DataFrame, column: str, ax: "Axes | None") -> "Axes":
    ax = new_axes(ax)
    ratios = [float(ratio) for ratio in table["spin_ratio"].unique()]
    for ratio, look in zip(ratios, looks([str(ratio) for ratio in ratios]).values(), strict=True):
        rows = table[table["spin_ratio"] == ratio]
        ax.plot(rows["speed"], rows[column], label=f"rim at {ratio:g} of the airspeed", **look)
    ax.set(xlabel="airspeed (m/s)")
    ax.set_xlim(0.0, float(table["speed"].max()))
    return ax


@styled
def plot_air_effect(tables: Mapping[str, pd.DataFrame], *, ax: "Axes | None" = None) -> "Axes":
    """Draw carry over that of the vacuum parabola against launch speed, with the doubt about drag and lift.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        What `golfphys.show.worked.shot.air_effect` returned, by name.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line and a band for each.
    """
    ax = new_axes(ax)
    for name, look in looks(list(tables)).items():
        table = tables[name]
        ax.plot(table.index, 100 * table["share"], label=name, **look)
        ax.fill_between(table.index, 100 * table["low"], 100 * table["high"], color=look["color"], alpha=0.15)
    ax.axhline(100.0, color=GREY, linewidth=0.8)
    ax.set(xlabel="launch speed (m/s)", ylabel="carry, of the parabola's (%)")
    ax.set_title("What air leaves of the carry (bands: plausible drag and lift)")
    ax.legend(loc="lower left")
    return ax


@styled
def plot_conditions(
    table: pd.DataFrame, *, column: str = "carry_change", ax: "Axes | None" = None, unit: str = "m"
) -> "Axes":
    """Draw what other air does to shots, a row for each kind of air.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.shot.conditions` returned.
    column : {"carry_change", "rest_change", "landing_side_change", "rest_side_change"}
        What to draw.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A marker for each shot in each row.
    """
    words = {
        "carry_change": "change of carry",
        "rest_change": "change of where it stops",
        "landing_side_change": "drift to the left on landing",
        "rest_side_change": "drift to the left at rest",
    }
    airs = list(table["air"].unique())
    ax, length = new_axes(ax, 7.0, 1.0 + 0.42 * len(airs)), LengthUnit(unit)
    for shot, look in points(dict.fromkeys(table["shot"])).items():
        rows = table[table["shot"] == shot]
        places = [airs.index(air) for air in rows["air"]]
        ax.plot(length.show(rows[column]), places, linestyle="none", markersize=7, label=shot, **look)
    ax.axvline(0.0, color=GREY, linewidth=0.8)
    ax.set_yticks(range(len(airs)), airs)
    ax.set_ylim(len(airs) - 0.5, -0.5)
    ax.set(xlabel=length.label(words[column]), title="Against still air at sea level, 15 degrees C")
    legend_beside(ax)
    return ax


@styled
def plot_parts(table: pd.DataFrame, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw the way that each part of shots makes, one bar for each shot.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.shot.parts` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        Stacked bars.
    """
    ax, length = new_axes(ax, 7.5, 0.9 + 0.42 * len(table)), LengthUnit(unit)
    start = np.zeros(len(table))
    for part, colour in PART_COLOURS.items():
        way = length.show(table[part].to_numpy())
        ax.barh(range(len(table)), way, 0.62, left=start, color=colour, label=part)
        start = start + way
    ax.set_yticks(range(len(table)), [str(name) for name in table.index])
    ax.invert_yaxis()
    ax.grid(visible=False, axis="y")
    ax.set(xlabel=length.label("way along the line"), title="Where the distance is made")
    legend_beside(ax)
    return ax


@styled
def plot_over_edge(table: pd.DataFrame, edge: float, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw where chips stop against where they land, across the edge of a green.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.shot.over_edge` returned.
    edge : float
        Where the green begins, m.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each ground.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    for name, look in looks([str(column) for column in table.columns]).items():
        ax.plot(length.show(table.index.to_numpy()), length.show(table[name]), label=name, **look)
    low, high = length.show(float(table.index.min())), length.show(float(table.index.max()))
    ax.axvspan(low, length.show(edge), color=ROUGH, alpha=0.6, linewidth=0, zorder=0)
    ax.axvspan(length.show(edge), high, color=TURF, linewidth=0, zorder=0)
    ax.set(xlim=(low, high), xlabel=length.label("it lands at"), ylabel=length.label("it stops at"))
    ax.set_title(f"The green begins at {length.show(edge):g} {unit}")
    ax.legend()
    return ax


@styled
def plot_rest(
    shots: Mapping[str, tuple[np.ndarray, np.ndarray]], *, ax: "Axes | None" = None, unit: str = "m"
) -> "Axes":
    """Draw where balls come to rest, seen from above, to scale.

    Parameters
    ----------
    shots : mapping of str to pair of ndarray
        Distances along the line and to the left of it, m, by name.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A cloud for each, the line of play dashed.
    """
    ax, length = new_axes(ax, 7.5, 3.6), LengthUnit(unit)
    cloud: dict[str, Any] = {"linestyle": "none", "markersize": 3, "alpha": 0.55, "markeredgewidth": 0}
    for name, look in points(shots).items():
        x, y = (length.show(np.asarray(part)) for part in shots[name])
        ax.plot(x, y, label=name, **cloud, **look)
    ax.axhline(0.0, color=GREY, linewidth=0.8, linestyle="--")
    ax.set_aspect("equal", adjustable="datalim")
    ax.set(xlabel=length.label("along the line of play"), ylabel=length.label("to the left"))
    ax.set_title("Where the balls stop, from above")
    ax.legend(loc="upper left", markerscale=2)
    return ax
