"""Pictures of bounces: restitution, slip against grip, and what becomes of a landing.

Drawn from tables of `golfphys.show.worked.bounce` and `golfphys.show.worked.shot` and paths of
`golfphys.physics.shot.trace`; style as in
`golfphys.show.plots`.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from golfphys.core.units import FACTORS_TO_SI
from golfphys.physics.shot import Trace
from golfphys.show.plots.axes import from_zero, legend_beside, marked, new_axes
from golfphys.show.style import CYCLE, GREY, TURF, LengthUnit, looks, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@styled
def plot_rebounds(table: pd.DataFrame, *, ax: "Axes | None" = None, unit: str = "cm") -> "Axes":
    """Draw the height of the rebound against the height of the drop.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.bounce.drops` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of the rebound; the drop is in m.

    Returns
    -------
    Axes
        A line for each turf.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    for name, look in looks([str(column) for column in table.columns]).items():
        ax.plot(table.index, length.show(table[name]), label=name, **look)
    ax.set(xlabel="dropped from (m)", ylabel=length.label("rebounds to"), title="A drop test")
    from_zero(ax)
    ax.legend(title="turf")
    return ax


@styled
def plot_bounce_over_spin(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw what a bounce leaves of a landing, against its backspin, and where the contact slips.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.bounce.bounces` returned for a row of backspins.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Lines of the forward speed and the rim's speed after the bounce; slipping landings shaded.
    """
    ax = new_axes(ax)
    rpm = table["backspin"] / FACTORS_TO_SI["rpm"]
    ax.plot(rpm, table["forward"], color=CYCLE[0], label="forward speed")
    ax.plot(rpm, table["up"], color=CYCLE[2], linestyle=(0, (1, 1)), label="upward speed")
    ax.plot(rpm, table["rim"], color=CYCLE[1], linestyle=(0, (5, 1.5)), label="speed its spin would roll with")
    ax.axhline(0.0, color=GREY, linewidth=0.8)
    slips = rpm[~table["grips"]]
    if len(slips):
        ax.axvspan(float(slips.min()), float(slips.max()), color=CYCLE[4], alpha=0.18, linewidth=0, label="slips")
    ax.set(xlabel="backspin on landing (rpm)", ylabel="after the bounce (m/s)")
    ax.set_title("One bounce: grip (white) and slip (orange)")
    ax.set_xlim(float(rpm.min()), float(rpm.max()))
    ax.legend()
    return ax


@styled
def plot_slide_limit(
    tables: Mapping[str, pd.DataFrame], *, published: tuple[float, float] | None = None, ax: "Axes | None" = None
) -> "Axes":
    """Draw the steepest angle at which a ball without spin slides through a bounce, against friction.

    Parameters
    ----------
    tables : mapping of str to DataFrame
        What `golfphys.show.worked.bounce.slide_limit` returned, by name.
    published : tuple of float, optional
        Friction, and angle in rad, of a published figure.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each.
    """
    ax = new_axes(ax)
    for name, look in looks(list(tables)).items():
        ax.plot(tables[name]["friction"], np.degrees(tables[name]["angle"]), label=name, **look)
    if published:
        friction, angle = published
        ax.plot(friction, np.degrees(angle), "o", color="black", label="about 20 deg (Cross, read)")
    ax.set(xlabel="friction of ball on turf", ylabel="angle to the surface (deg)")
    ax.set_title("Flatter than the line it slides, steeper it grips")
    from_zero(ax)
    ax.legend()
    return ax


@styled
def plot_after_landing(paths: Mapping[str, Trace], *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw balls from just before they land to rest, from the side, heights enlarged.

    Parameters
    ----------
    paths : mapping of str to Trace
        What `golfphys.physics.shot.trace` returned, by name.
    ax : Axes, optional
        Where to draw.
    unit : {"m", "ft"}
        Unit of the way; heights are in cm or in.

    Returns
    -------
    Axes
        A line for each, thick where it rolls, its rest marked.
    """
    ax, length = new_axes(ax, 8.0, 3.6), LengthUnit(unit)
    height = LengthUnit("cm" if unit == "m" else "in")
    tops = [0.05]
    for name, look in looks(list(paths)).items():
        path = paths[name]
        shown = (path.time >= path.shot.flight_time - 1e-9) | (path.x >= path.shot.landing_x - 0.8)
        x, z = length.show(path.x[shown] - path.shot.landing_x), height.show(path.height[shown])
        rolls = path.phase[shown] == "roll"
        ax.plot(x, z, label=name, **look)
        ax.plot(x[rolls], z[rolls], color=look["color"], linewidth=4.5, alpha=0.45, label=f"_roll {name}")
        ax.plot(x[-1], 0.0, "o", color=look["color"], clip_on=False, label=f"_rest {name}")
        tops.append(float(path.height[path.time > path.shot.flight_time + 1e-9].max(initial=0.0)))
    top = height.show(1.7 * max(tops))
    ax.axhspan(-0.07 * top, 0.0, color=TURF, linewidth=0)
    ax.set(ylim=(-0.07 * top, top), xlabel=length.label("from where it lands"), ylabel=height.label("height"))
    ax.set_title("From landing to rest, heights enlarged (broad: rolling)")
    ax.legend(loc="upper right")
    return ax


@styled
def plot_swapped(table: pd.DataFrame, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw how far shots run with each other's backspin: a group of bars for each launch.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.shot.swapped` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A bar for each spin in each group, its length written at its end.
    """
    ax, length = new_axes(ax, 7.5, 3.4), LengthUnit(unit)
    count = len(table.columns)
    for number, (column, look) in enumerate(looks(list(table.columns)).items()):
        places = np.arange(len(table)) + (number - (count - 1) / 2) * 0.8 / count
        bars = ax.barh(places, length.show(table[column]), 0.72 / count, color=look["color"], label=column)
        ax.bar_label(bars, fmt="%.1f", padding=3, fontsize=9)
    ax.set_yticks(range(len(table)), [f"angle and speed\nof the {name}" for name in table.index])
    ax.invert_yaxis()
    ax.grid(visible=False, axis="y")
    ax.margins(x=0.1)
    ax.set(xlabel=length.label("run after landing"), title="Angle and spin taken apart")
    legend_beside(ax)
    return ax


@styled
def plot_firmness(table: pd.DataFrame, clubs: Sequence[str], *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw the run of each club on turf of several kinds, landing at one place.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.planning.carry_and_roll` returned for one green speed.
    clubs : sequence of str
        Clubs to draw, in order.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line of markers for each turf.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    for name, look in marked([str(name) for name in table["firmness"].unique()]).items():
        rows = table[table["firmness"] == name].set_index("club").loc[list(clubs)]
        ax.plot(range(len(clubs)), length.show(rows["roll_m"]), label=name, **look)
    ax.set_xticks(range(len(clubs)), [club.replace(" ", "\n") for club in clubs])
    ax.set_ylim(bottom=0.0)
    ax.set(ylabel=length.label("run after landing"), title="The same landing spot on soft and firm turf")
    ax.legend(title="turf")
    return ax
