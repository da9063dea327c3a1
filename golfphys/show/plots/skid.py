"""Pictures of the skid, from a blow or a landing to rolling, drawn from tables of `golfphys.show.worked.rolling`.

Style as in `golfphys.show.plots`.
"""

from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import pandas as pd

from golfphys.show.plots.axes import marked, new_axes
from golfphys.show.style import CYCLE, GREY, LengthUnit, looks, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@styled
def plot_skid(motion: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw a ball's speed and the speed of its rim against time: a skid until they meet, then a roll.

    Parameters
    ----------
    motion : DataFrame
        What `golfphys.show.worked.rolling.skid_motion` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Two lines; the time of the skid is shaded.
    """
    ax = new_axes(ax)
    ax.axhline(0.0, color=GREY, linewidth=0.8)
    ax.plot(motion["time"], motion["speed"], color=CYCLE[0], label="speed of the ball")
    ax.plot(
        motion["time"],
        motion["rim_speed"],
        color=CYCLE[1],
        linestyle=(0, (5, 1.5)),
        label="speed its spin would roll with",
    )
    end = float(motion.loc[motion["skids"], "time"].iloc[-1])
    ax.axvspan(0.0, end, color=CYCLE[4], alpha=0.18, linewidth=0, label="skid")
    ax.set(xlabel="time (s)", ylabel="speed (m/s)", title="A skid ends where the two speeds meet")
    ax.set_xlim(left=0.0)
    ax.legend()
    return ax


@styled
def plot_places(motions: Mapping[str, pd.DataFrame], *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw where balls are against time, the skid drawn thick.

    Parameters
    ----------
    motions : mapping of str to DataFrame
        Tables of `golfphys.show.worked.rolling.skid_motion` by name.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each.
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    for name, look in looks(list(motions)).items():
        table = motions[name]
        ax.plot(table["time"], length.show(table["place"]), label=name, **look)
        skids = table[table["skids"]]
        ax.plot(
            skids["time"],
            length.show(skids["place"]),
            color=look["color"],
            linewidth=7,
            alpha=0.3,
            label=f"_skid {name}",
        )
    ax.axhline(0.0, color=GREY, linewidth=0.8)
    ax.set(xlabel="time (s)", ylabel=length.label("place ahead of the first touch"))
    ax.set_title("Where the ball is (broad: skidding)")
    ax.set_xlim(left=0.0)
    ax.legend()
    return ax


@styled
def plot_skid_share(table: pd.DataFrame, *, published: Sequence[float] = (), ax: "Axes | None" = None) -> "Axes":
    """Draw the part of a putt that is skid against sliding friction, for several green speeds.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.rolling.skid_share` returned.
    published : sequence of float
        Lowest and highest published share, to be shaded.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each green speed.
    """
    ax = new_axes(ax)
    for column, look in marked(list(table.columns)).items():
        ax.plot(table.index, 100 * table[column], label=f"green of {column}", markevery=6, **look)
    if published:
        low, high = (100 * part for part in published)
        ax.axhspan(low, high, color=CYCLE[4], alpha=0.2, linewidth=0, label=f"published: {low:.0f} to {high:.0f} %")
    ax.set(xlabel="sliding friction of ball on turf", ylabel="part of the putt that is skid (%)")
    ax.set_title("How much of a putt is skid")
    ax.set_ylim(bottom=0.0)
    ax.legend()
    return ax
