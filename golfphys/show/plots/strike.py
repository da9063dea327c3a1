"""Pictures of the strike: clubs, lies, friction and the sole."""

from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.units import FACTORS_TO_SI
from golfphys.show import style
from golfphys.show.markup import escape
from golfphys.show.style import Axes

RPM = FACTORS_TO_SI["rpm"]
CONTACTS: dict[str, dict[str, Any]] = {
    "clean": {"color": style.CYCLE[0], "marker": "o"},
    "heavy": {"color": style.CYCLE[4], "marker": "v"},
    "thin": {"color": style.CYCLE[1], "marker": "^"},
}
"""How contacts are drawn."""


@style.picture("golfphys.worked.strikes")
def plot_launches(table: pd.DataFrame, *, name: str = "", ax: Axes | None = None) -> Axes:
    """Draw backspin against launch angle: a line for each lie, a marker for each club.

    Parameters
    ----------
    name : str
        The lie whose clubs are named; the first if left out.
    """
    ax = style.new_axes(ax)
    lies = {str(lie): rows for lie, rows in table.groupby("lie", sort=False)}
    lines = {lie: (np.degrees(rows["launch"]), rows["backspin"] / RPM) for lie, rows in lies.items()}
    style.curves(ax, lines, marks=True)
    named = name or next(iter(lies))
    for club, x, y in zip(lies[named]["club"], *lines[named], strict=True):
        ax.annotate(escape(club, "figure"), (x, y), (-4, 7), textcoords="offset points", ha="right", fontsize=8)
    ax.margins(0.1)
    words = "launch angle (deg)", "backspin (rpm)"
    return style.finish(ax, *words, "One motion, every club", zero="y", legend="beside", title="lie")


@style.picture("golfphys.worked.strikes")
def plot_spin_identity(table: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw rim speed over ball speed against how far the launch falls below the loft, beside what angles alone give."""
    ax = style.new_axes(ax)
    below = np.degrees((table["loft"] - table["launch"]).to_numpy())
    order = np.argsort(below)
    ax.plot(below[order], table["identity"].to_numpy()[order], color=style.GREY, label="2.5 sin(loft - launch)")
    for held, marker, colour, words in ((True, "o", style.CYCLE[0], "grips"), (False, "^", style.CYCLE[1], "slips")):
        rows = table["grips"].to_numpy() == held
        ax.plot(below[rows], table.loc[rows, "rim_ratio"], marker, color=colour, label=words)
    labels = "launch below the delivered loft (deg)", "rim speed over ball speed"
    return style.finish(ax, *labels, "Spin is bound to the angle, whatever the contact", zero="xy")


@style.picture("golfphys.worked.over_friction")
def plot_over_friction(
    table: pd.DataFrame,
    strikes: pd.DataFrame | None = None,
    *,
    column: str = "backspin",
    ax: Axes | None = None,
    unit: str = "",
) -> Axes:
    """Draw backspin, launch angle or run against the friction between face and ball; shaded where the face slips.

    Parameters
    ----------
    strikes : DataFrame, optional
        Columns ``lie``, ``friction`` and `column`: strikes from named lies, to be marked.
    column : {"backspin", "launch", "run"}
        What to draw.
    """
    length = style.LengthUnit(unit)
    words = {"backspin": "backspin (rpm)", "launch": "launch angle (deg)", "run": length.label("run after landing")}[
        column
    ]
    factor = {"backspin": 1.0 / RPM, "launch": 180.0 / np.pi, "run": length.show(1.0)}[column]
    ax = style.new_axes(ax)
    ax.plot(table["friction"], factor * table[column], color=style.CYCLE[0], label="_clean")
    slips = table.loc[~table["grips"], "friction"]
    if len(slips):
        ax.axvspan(0.0, float(slips.max()), color=style.CYCLE[4], alpha=0.18, linewidth=0, label="the face slips")
    if strikes is not None:
        for number, row in enumerate(strikes.to_dict("records")):
            marker, colour = (
                style.MARKERS[number % len(style.MARKERS)],
                style.CYCLE[(number + 1) % len(style.CYCLE)],
            )  # the line has the first
            ax.plot(row["friction"], factor * row[column], marker, color=colour, label=escape(row["lie"], "figure"))
    ax.set_xlim(0.0, float(table["friction"].max()))
    return style.finish(ax, "friction between face and ball", words, "What a lie takes away is friction", zero="y")


@style.picture("golfphys.worked.bounce_left")
def plot_bounce_left(table: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw the bounce angle that a leaning shaft leaves, by club and opening; below zero the leading edge leads."""
    ax = style.new_axes(ax, 8.5)
    groups: Any = table.groupby(["club", "opening"], sort=False)
    lines = {
        f"{club}, opened {np.degrees(opening):.0f} deg" if opening else str(club): (
            np.degrees(rows["lean"]),
            np.degrees(rows["bounce"]),
        )
        for (club, opening), rows in groups
    }
    style.curves(ax, lines)
    bottom = min(-1.0, float(np.degrees(table["bounce"].min())))
    ax.axhspan(bottom, 0.0, color=style.CYCLE[1], alpha=0.12, linewidth=0, label="the leading edge leads")
    ax.axhline(0.0, color=style.GREY, linewidth=0.8)
    ax.margins(x=0.0)
    words = "lean of the shaft towards the target (deg)", "bounce angle left (deg)"
    return style.finish(ax, *words, "Leaning the shaft spends the bounce", legend="beside")


@style.picture("golfphys.worked.windows")
def plot_windows(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "cm") -> Axes:
    """Draw how far the low point may lie off the one meant (0), a bar for each lie and lean."""
    lies, leans = list(table["lie"].unique()), list(table["lean"].unique())
    ax, length = style.new_axes(ax, 7.5, 1.2 + 0.22 * len(table)), style.LengthUnit(unit)
    named = {f"lean {np.degrees(lean):.0f} deg": table[table["lean"] == lean] for lean in leans}
    tick: dict[str, Any] = {"color": "black", "markersize": 9, "markeredgewidth": 2}
    for number, (name, look) in enumerate(style.looks(named).items()):
        rows = named[name]
        places = style.beside_each_other(len(leans), number, len(lies))
        low, high = length.show(rows["dig"].to_numpy()), length.show(rows["thin"].to_numpy())
        ax.barh(places, high - low, 0.7 / len(leans), left=low, color=look["color"], label=name)
        digs = rows["digs"].to_numpy()
        ax.plot(low[digs], places[digs], "|", label="_digs", **tick)
    ax.plot([], [], "|", label="it digs beyond here", **tick)
    ax.axvline(0.0, color="black", linewidth=1.0)
    ax.use_sticky_edges = False
    ax.margins(x=0.04)
    style.name_rows(ax, lies)
    words = length.label("low point off the one meant (+: towards the target)")
    return style.finish(
        ax, words, "", "Room for the low point: behind it digs or thins, ahead it thins", legend="beside"
    )


@style.picture("golfphys.worked.contacts")
def plot_contacts(table: pd.DataFrame, strikes: pd.DataFrame | None = None, *, ax: Axes | None = None) -> Axes:
    """Draw what errors of the low point make of a strike: along the line across, in height upwards.

    Parameters
    ----------
    strikes : DataFrame, optional
        Rows of what `golfphys.worked.struck` returned for one lie, to be marked.
    """
    ax = style.new_axes(ax, 7.5, 4.6)
    across, up = (1e2 * np.unique(table["low_point"]), 1e3 * np.unique(table["height"]))
    for name, look in CONTACTS.items():
        inside = (table["contact"] == name).to_numpy(dtype=float).reshape(up.size, across.size)
        if inside.any():
            ax.contourf(across, up, inside, levels=[0.5, 1.5], colors=[look["color"]], alpha=0.22)
        ax.fill([], [], color=look["color"], alpha=0.22, label=name)
    if strikes is not None:
        ax.plot(
            *(1e2 * strikes["low_point"], 1e3 * strikes["height"], "."),
            color="black",
            markersize=3,
            alpha=0.6,
            label="strikes with all errors",
        )
    ax.plot(0.0, 0.0, "+", color="black", markersize=12, markeredgewidth=2, label="as meant")
    ax.set_xlim(across[0], across[-1])
    ax.set_ylim(up[0], up[-1])
    words = "low point off the one meant (cm, +: towards the target)", "swing higher than meant (mm)"
    return style.finish(ax, *words, "Where the low point falls, and what that makes", legend="beside")


@style.picture("golfphys.worked.struck")
def plot_launch_clouds(table: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw ball speed against launch angle, strike by strike: a panel for each lie beside the last, on common axes."""
    lies = list(table["lie"].unique())
    ax = style.new_axes(ax, 2.6 * len(lies), 3.6)
    ax.set_axis_off()
    speeds, angles = np.quantile(table["speed"], [0.002, 1.0]), np.degrees(np.quantile(table["launch"], [0.0, 1.0]))
    for number, lie in enumerate(lies):
        panel = ax.inset_axes((number / len(lies), 0.0, 0.88 / len(lies), 1.0))
        rows = table[table["lie"] == lie]
        for name, look in CONTACTS.items():
            chosen = rows[rows["contact"] == name]
            fraction = len(chosen) / len(rows)
            label = f"{name} {100 * fraction:.0f} %"
            panel.plot(
                *(np.degrees(chosen["launch"]), chosen["speed"]),
                **(look | {"linestyle": "none", "markersize": 3, "alpha": 0.6, "label": label}),
            )
        panel.set_xlim(min(angles[0], 0.0), angles[1] + 2.0)
        panel.set_ylim(0.95 * speeds[0], 1.05 * speeds[1])
        if number:
            panel.tick_params(labelleft=False)
        style.finish(panel, "launch (deg)", "" if number else "ball speed (m/s)", escape(lie, "figure"))
    return ax
