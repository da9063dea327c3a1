"""Pictures of the strike (clubs, lies, friction) and of the sole, drawn from tables of `golfphys.show.worked.strike`.

Style as in `golfphys.show.plots`.
"""

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from golfphys.core.units import FACTORS_TO_SI
from golfphys.show.plots.axes import from_zero, legend_beside, marked, new_axes
from golfphys.show.style import CYCLE, GREY, MARKERS, LengthUnit, looks, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def _rpm(spin: pd.Series) -> pd.Series:
    return spin / FACTORS_TO_SI["rpm"]


@styled
def plot_launches(table: pd.DataFrame, *, name: str = "", ax: "Axes | None" = None) -> "Axes":
    """Draw backspin against launch angle: a line for each lie, a marker for each club.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.strike.strikes` returned.
    name : str
        The lie whose clubs are named; the first if left out.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        Lines over the clubs in the order of the table.
    """
    ax = new_axes(ax)
    lies = [str(lie) for lie in table["lie"].unique()]
    for lie, look in marked(lies).items():
        rows = table[table["lie"] == lie]
        ax.plot(np.degrees(rows["launch"]), _rpm(rows["backspin"]), label=lie, **look)
    named = table[table["lie"] == (name or lies[0])]
    for club, angle, spin in zip(named["club"], np.degrees(named["launch"]), _rpm(named["backspin"]), strict=True):
        ax.annotate(str(club), (angle, spin), (-4, 7), textcoords="offset points", ha="right", fontsize=8)
    ax.margins(0.1)
    ax.set_ylim(bottom=0.0)
    ax.set(xlabel="launch angle (deg)", ylabel="backspin (rpm)", title="One motion, every club")
    ax.legend(title="lie", loc="lower right")
    return ax


@styled
def plot_spin_identity(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw rim speed over ball speed against how far the launch falls below the loft.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.strike.strikes` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A marker for each strike, gripping or slipping, on the line that angles alone give.
    """
    ax = new_axes(ax)
    below = np.degrees((table["loft"] - table["launch"]).to_numpy())
    order = np.argsort(below)
    ax.plot(below[order], table["identity"].to_numpy()[order], color=GREY, label="2.5 sin(loft - launch)")
    for held, marker, colour, words in ((True, "o", CYCLE[0], "grips"), (False, "^", CYCLE[1], "slips")):
        rows = table["grips"].to_numpy() == held
        ax.plot(below[rows], table.loc[rows, "rim_ratio"], marker, color=colour, label=words)
    ax.set(xlabel="launch below the delivered loft (deg)", ylabel="rim speed over ball speed")
    ax.set_title("Spin is bound to the angle, whatever the contact")
    from_zero(ax)
    ax.legend()
    return ax


@styled
def plot_over_friction(
    table: pd.DataFrame, strikes: pd.DataFrame | None = None, *, column: str = "backspin", ax: "Axes | None" = None
) -> "Axes":
    """Draw backspin, launch angle or run against the friction between face and ball.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.strike.over_friction` returned.
    strikes : DataFrame, optional
        Columns ``lie``, ``friction`` and `column`: strikes from named lies, to be marked.
    column : {"backspin", "launch", "run"}
        What to draw.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line, shaded where the face slips.
    """
    words = {"backspin": "backspin (rpm)", "launch": "launch angle (deg)", "run": "run after landing (m)"}
    factor = {"backspin": 1.0 / FACTORS_TO_SI["rpm"], "launch": 180.0 / np.pi, "run": 1.0}[column]
    ax = new_axes(ax)
    ax.plot(table["friction"], factor * table[column], color=CYCLE[0], label="_clean")
    slips = table.loc[~table["grips"], "friction"]
    if len(slips):
        ax.axvspan(0.0, float(slips.max()), color=CYCLE[4], alpha=0.18, linewidth=0, label="the face slips")
    if strikes is not None:
        for number, row in enumerate(strikes.to_dict("records")):
            marker, colour = MARKERS[number % len(MARKERS)], CYCLE[(number + 1) % len(CYCLE)]  # the line has the first
            ax.plot(row["friction"], factor * row[column], marker, color=colour, label=str(row["lie"]))
    ax.set(xlabel="friction between face and ball", ylabel=words[column])
    ax.set_title("What a lie takes away is friction")
    ax.set_xlim(0.0, float(table["friction"].max()))
    ax.set_ylim(bottom=0.0)
    ax.legend()
    return ax


@styled
def plot_bounce_left(table: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw the bounce angle that a leaning shaft leaves.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.strike.bounce_left` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each club and opening; below zero the leading edge leads.
    """
    ax = new_axes(ax, 8.5)
    groups = {
        (f"{club}, opened {np.degrees(opening):.0f} deg" if opening else str(club)): table[
            (table["club"] == club) & (table["opening"] == opening)
        ]
        for club in table["club"].unique()
        for opening in table["opening"].unique().tolist()
    }
    for name, look in looks(list(groups)).items():
        ax.plot(np.degrees(groups[name]["lean"]), np.degrees(groups[name]["bounce"]), label=name, **look)
    bottom = min(-1.0, float(np.degrees(table["bounce"].min())))
    ax.axhspan(bottom, 0.0, color=CYCLE[1], alpha=0.12, linewidth=0, label="the leading edge leads")
    ax.axhline(0.0, color=GREY, linewidth=0.8)
    ax.set(xlabel="lean of the shaft towards the target (deg)", ylabel="bounce angle left (deg)")
    ax.set_title("Leaning the shaft spends the bounce")
    ax.margins(x=0.0)
    legend_beside(ax)
    return ax


@styled
def plot_windows(table: pd.DataFrame, *, ax: "Axes | None" = None, unit: str = "cm") -> "Axes":
    """Draw how far the low point may stray, a bar for each lie and lean.

    Parameters
    ----------
    table : DataFrame
        What `golfphys.show.worked.strike.windows` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        Bars from too far behind to too far ahead; the swing meant is at 0.
    """
    lies, leans = list(table["lie"].unique()), list(table["lean"].unique())
    ax, length = new_axes(ax, 7.5, 1.2 + 0.22 * len(table)), LengthUnit(unit)
    named = {f"lean {np.degrees(lean):.0f} deg": table[table["lean"] == lean] for lean in leans}
    for number, (name, look) in enumerate(looks(list(named)).items()):
        rows = named[name]
        places = np.arange(len(lies)) + (number - (len(leans) - 1) / 2) * 0.8 / len(leans)
        low, high = length.show(rows["dig"].to_numpy()), length.show(rows["thin"].to_numpy())
        ax.barh(places, high - low, 0.7 / len(leans), left=low, color=look["color"], label=name)
        digs = rows["digs"].to_numpy()
        ax.plot(low[digs], places[digs], "|", color="black", markersize=9, markeredgewidth=2, label="_digs")
    ax.plot([], [], "|", color="black", markersize=9, markeredgewidth=2, label="it digs beyond here")
    ax.axvline(0.0, color="black", linewidth=1.0)
    ax.use_sticky_edges = False
    ax.margins(x=0.04)
    ax.set_yticks(range(len(lies)), lies)
    ax.invert_yaxis()
    ax.grid(visible=False, axis="y")
    ax.set(xlabel=length.label("low point off the one meant (+: towards the target)"))
    ax.set_title("Room for the low point: behind it digs or thins, ahead it thins")
    legend_beside(ax)
    return ax
