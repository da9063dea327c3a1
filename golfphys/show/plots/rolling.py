"""Pictures of rolling: green speed, laws of resistance, slope and break.

Most are drawn from tables of `golfphys.show.worked.rolling`; style as in `golfphys.show.plots`.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.show.plots.axes import from_zero, legend_beside, new_axes
from golfphys.show.style import CYCLE, GREY, LengthUnit, looks, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

SCHOOL_RELEASE_SPEED = 6.4 * METRES_PER_FOOT
"""Release speed in m/s that a school toolkit gives, 6.4 ft/s (read)."""


@styled
def plot_slowing(rolls: Mapping[str, pd.DataFrame], *, ax: "Axes | None" = None, unit: str = "ft") -> "Axes":
    """Draw speed against distance, one roll on each of several greens.

    Parameters
    ----------
    rolls : mapping of str to DataFrame
        What `golfphys.show.worked.rolling.slowing` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length of the distance.

    Returns
    -------
    Axes
        A line for each green, its stop marked.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    for name, look in looks(list(rolls)).items():
        distance = length.show(rolls[name]["distance"].to_numpy())
        ax.plot(distance, rolls[name]["speed"], label=name, **look)
        ax.plot(distance[-1], 0.0, "o", color=look["color"], clip_on=False, label=f"_stop {name}")
    ax.set(xlabel=length.label("distance rolled"), ylabel="speed (m/s)", title="How a roll slows down")
    from_zero(ax)
    ax.legend()
    return ax


@styled
def plot_ramp_speeds(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw the release speed of a ramp without losses against its angle, beside the published figures.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.rolling.ramp_speeds` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Lines of the speed at the foot and of the speed once rolling; level lines at the published speeds.
    """
    ax = new_axes(ax)
    ax.plot(table["angle_deg"], table["rolling_speed"], color=CYCLE[1], label="rolling on the green (no losses)")
    ax.plot(table["angle_deg"], table["release_speed"], color=CYCLE[0], label="leaving the ramp (no losses)")
    published = {
        "published: 6.0 ft/s": constants.RAMP_RELEASE_SPEED.value,
        "published: 6.4 ft/s": SCHOOL_RELEASE_SPEED,
    }
    for (name, speed), dash in zip(published.items(), ((0, (5, 2)), (0, (1, 1.5))), strict=True):
        ax.axhline(speed, color=GREY, linestyle=dash, linewidth=1.4, label=name)
    ax.set(xlabel="angle of the ramp (deg)", ylabel="speed (m/s)", title="How fast the ramp lets the ball go")
    ax.legend()
    return ax


@styled
def plot_rolls_by_speed(
    table: pd.DataFrame, *, reading: float | None = None, ax: "Axes | None" = None, unit: str = "ft"
) -> "Axes":
    """Draw how far balls roll against the speed they start with.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.rolling.rolls_by_speed` returned.
    reading : float, optional
        Release speed of the ramp, m/s, to be marked.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each green.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    for name, look in looks([str(column) for column in table.columns]).items():
        ax.plot(table.index, length.show(table[name].to_numpy()), label=name, **look)
    if reading is not None:
        ax.axvline(reading, color=GREY, linewidth=1.2, linestyle=(0, (5, 2)), label="the ramp's release speed")
    ax.set(xlabel="speed at the start of the roll (m/s)", ylabel=length.label("distance rolled"))
    ax.set_title("How far a ball rolls from each speed")
    from_zero(ax)
    ax.legend()
    return ax


@styled
def plot_two_way(table: pd.DataFrame, *, ax: "Axes | None" = None, unit: str = "ft") -> "Axes":
    """Draw rolls up and down against slope, with the plain mean and the two-way mean.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.rolling.two_way` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        Four lines: up, down, plain mean, two-way mean.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    names = {"down": "downhill", "plain_mean": "plain mean", "two_way_mean": "two-way mean", "up": "uphill"}
    for column, look in zip(names, looks(list(names)).values(), strict=True):
        wide = 3.0 if column == "two_way_mean" else 1.8
        ax.plot(100 * table["grade"], length.show(table[column]), label=names[column], linewidth=wide, **look)
    level = length.show(float(table["level"].iloc[0]))
    ax.axhline(level, color=GREY, linewidth=1.0, linestyle=(0, (1, 2)), label="on the level", zorder=1)
    ax.set(xlabel="slope (%)", ylabel=length.label("distance"), title="Up, down, and two ways of averaging them")
    from_zero(ax)
    ax.legend()
    return ax


@styled
def plot_never_stops(
    table: pd.DataFrame, *, published: tuple[float, float] | None = None, ax: "Axes | None" = None
) -> "Axes":
    """Draw the slope that never stops a ball against green speed.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.rolling.never_stops` returned.
    published : tuple of float, optional
        A published point: green speed in ft, slope in deg.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for the rolling ball and one for a point mass.
    """
    ax = new_axes(ax)
    ax.plot(table["stimp_ft"], table["rolling_deg"], color=CYCLE[0], linewidth=2.4, label="a ball that rolls")
    ax.plot(
        table["stimp_ft"],
        table["point_mass_deg"],
        color=CYCLE[1],
        linestyle=(0, (5, 1.5)),
        label="a point mass that slides",
    )
    if published is not None:
        ax.plot(*published, "D", color="black", markersize=7, label="from a published chart", linestyle="none")
    ax.set(xlabel="green speed (ft)", ylabel="slope (deg)", title="The slope on which a ball never stops")
    ax.set_ylim(bottom=0.0)
    ax.legend()
    return ax


@styled
def plot_hodograph(curves: Mapping[str, pd.DataFrame], *, ax: "Axes | None" = None) -> "Axes":
    """Draw the velocities that balls run through on a slope: across against down the fall line.

    Parameters
    ----------
    curves : mapping of str to DataFrame
        Tables of `golfphys.show.worked.rolling.hodograph` by name.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each, the start marked by a dot and the end by a square.
    """
    ax = new_axes(ax, 8.0, 3.6)
    for name, look in looks(list(curves)).items():
        across, down = curves[name]["across"].to_numpy(), curves[name]["down"].to_numpy()
        ax.plot(across, down, label=name, **look)
        ax.plot(across[0], down[0], "o", color="black", markersize=6, label="_start", zorder=5)
        ax.plot(across[-1], down[-1], "s", color=look["color"], markersize=6, label="_end", zorder=5, clip_on=False)
    ax.set(xlabel="speed across the slope (m/s)", ylabel="speed down the slope (m/s)", aspect="equal")
    ax.set_title("Velocities from the start (dot) to the end (square)")
    legend_beside(ax)
    return ax


@styled
def plot_paths(
    paths: Mapping[str, Any],
    *,
    fall: float | None = None,
    surface: Any = None,
    target: Sequence[float] | None = None,
    rest_line: bool = False,
    enlarged: float = 1.0,
    ax: "Axes | None" = None,
    unit: str = "m",
) -> "Axes":
    """Draw the ways of balls seen from above: x to the right, y upwards.

    Parameters
    ----------
    paths : mapping of str to Path
        Paths by name, from `golfphys.physics.roll.path` or `golfphys.path_on`. Names that begin with ``_`` take
        the look of
        the named path before them and do not stand in the legend.
    fall : float, optional
        Direction in which a plane falls, rad, anticlockwise from x: drawn as an arrow.
    surface : Surface, optional
        Surveyed ground, drawn as lines of equal height.
    target : sequence of float, optional
        x and y of a target, m.
    rest_line : bool
        Whether to join each start to the place of rest.
    enlarged : float
        How many times the picture is stretched sideways of the line of play.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each path, rest marked by a dot, a path that does not end in rest by an arrowhead.
    """
    made, length = ax is None, LengthUnit(unit)
    ax = new_axes(ax, 8.0, 4.8)
    named = looks([name for name in paths if not name.startswith("_")])
    look: dict[str, Any] = {"color": CYCLE[0], "linestyle": "solid"}
    for name, way in paths.items():
        look = named.get(name, look)
        x, y = length.show(way.x), length.show(way.y)
        ax.plot(x, y, label=name, **look)
        ended = {"marker": "o" if way.status == 0 else "X", "color": look["color"], "linestyle": "none"}
        ax.plot(x[-1], y[-1], markersize=6, label="_end", zorder=5, **ended)
        if rest_line:
            ax.plot([x[0], x[-1]], [y[0], y[-1]], color=GREY, linewidth=0.9, label="_line of rest", zorder=1)
    side = length.label("to the left") + (f", enlarged {enlarged:g} times" if enlarged != 1 else "")
    ax.set(xlabel=length.label("along"), ylabel=side, aspect=enlarged)
    if target is not None:
        ax.plot(*(length.show(part) for part in target), "P", color="black", markersize=9, label="target", zorder=6)
    ax.margins(0.2 if surface is not None else 0.06)
    if surface is not None:
        _contours(ax, surface, length)
    ax.set_title("Seen from above")
    if named:
        legend_beside(ax)
    if fall is not None:
        _downhill(ax, fall)
    if made:
        _fit_height(ax, enlarged, 1.0 + 0.24 * (len(named) + 2 + 3 * (fall is not None)))
    return ax


def _downhill(ax: "Axes", fall: float) -> None:
    """Draw an arrow beside the axes that points the way the ground falls."""
    from matplotlib.offsetbox import AnnotationBbox, DrawingArea
    from matplotlib.patches import FancyArrowPatch

    ahead, left = 15 * np.cos(fall), 15 * np.sin(fall)
    area = DrawingArea(60, 40)
    tail, tip = (30 - ahead, 20 - left), (30 + ahead, 20 + left)
    area.add_artist(FancyArrowPatch(tail, tip, arrowstyle="-|>", mutation_scale=16, linewidth=2, color="black"))
    ax.add_artist(
        AnnotationBbox(area, (1.02, 0.0), xycoords="axes fraction", box_alignment=(0, -0.35), frameon=False, pad=0.0)
    )
    ax.annotate("downhill", (1.02, 0.0), (6, 2), "axes fraction", "offset points", fontsize=9, annotation_clip=False)


def _fit_height(ax: "Axes", enlarged: float, least: float) -> None:
    """Make a figure just high enough for axes whose scales are tied."""
    width, height = (abs(high - low) for low, high in (ax.get_xlim(), ax.get_ylim()))
    figure: Any = ax.figure
    figure.set_size_inches(8.0, float(np.clip(0.9 + 5.0 * enlarged * height / width, least, 6.5)))


def _contours(ax: "Axes", surface: Any, length: LengthUnit) -> None:
    """Draw lines of equal height over the area that the axes show, in cm."""
    low_x, high_x, low_y, high_y = surface.bounds if hasattr(surface, "bounds") else (*ax.get_xlim(), *ax.get_ylim())
    x, y = np.meshgrid(np.linspace(low_x, high_x, 90), np.linspace(low_y, high_y, 90))
    known = surface.contains(x, y)
    height = np.full(x.shape, np.nan)
    height[known] = surface.height(x[known], y[known])
    lines = ax.contour(length.show(x), length.show(y), 100 * height, 10, colors=GREY, linewidths=0.7, zorder=1)
    ax.clabel(lines, fmt="%.0f cm", fontsize=8)


@styled
def plot_by_heading(
    curves: Mapping[str, pd.DataFrame], column: str = "distance", *, ax: "Axes | None" = None
) -> "Axes":
    """Draw distance, or side drift, against the heading of the roll.

    Parameters
    ----------
    curves : mapping of str to DataFrame
        What `golfphys.show.worked.rolling.by_heading` returned.
    column : {"distance", "side"}
        What to draw.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each green.
    """
    ax = new_axes(ax, 6.0, 3.8)
    for name, look in looks(list(curves)).items():
        ax.plot(curves[name]["heading_deg"], curves[name][column], label=name, **look)
    words = {"distance": "distance (m)", "side": "drift to the left (m)"}
    ax.set(xlabel="heading (deg clockwise)", ylabel=words[column], xticks=range(0, 361, 90))
    ax.set_title({"distance": "How far it rolls", "side": "How far it drifts aside"}[column])
    ax.legend()
    return ax
