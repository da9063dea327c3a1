"""Pictures of shots: strike and sole, flight, what the air does, bounce, and the whole shot taken apart."""

import itertools
from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from golfphys.core.units import FACTORS_TO_SI
from golfphys.physics.bounce import rebound_height
from golfphys.physics.club import Club, Delivery, Lie
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Turf
from golfphys.physics.shot import Trace
from golfphys.physics.strike import effective_bounce, launch_from
from golfphys.show import style
from golfphys.show.markup import escape
from golfphys.show.style import Axes
from golfphys.show.worked import PARTS, friction_to_grip, part_of_each_step, slide_limit

RPM = FACTORS_TO_SI["rpm"]
CONTACTS: dict[str, dict[str, Any]] = {
    "clean": {"color": style.CYCLE[0], "marker": "o"},
    "heavy": {"color": style.CYCLE[4], "marker": "v"},
    "thin": {"color": style.CYCLE[1], "marker": "^"},
}
"""How contacts are drawn."""
PART_COLOURS = dict(zip(PARTS, (style.CYCLE[0], style.CYCLE[1], style.CYCLE[3], style.CYCLE[2]), strict=True))
"""Colour of each part of a shot: the same in every picture."""
PUBLISHED_DRAG = ((0.0, 4.0e4, 0.5), (6.0e4, 2.2e5, 0.25))
"""Drag without spin: Reynolds numbers from and to, coefficient. Bearman and Harvey (1976), from memory."""
PUBLISHED_LIFT = (17.0, 24.0, -0.15, -0.10)
"""Airspeeds in m/s from and to, and lift from and to: Lyu, Kensrud and Smith (2020), read."""


# --- the whole shot --------------------------------------------------------------------------------------------------
@style.picture("golfphys.trace, by name,")
def plot_flights(paths: Mapping[str, Trace], *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw flights from the side, to scale, up to the first landing."""
    ax, length = style.new_axes(ax, 8.0, 2.9), style.LengthUnit(unit)
    flies = {name: path.time <= path.shot.flight_time + 1e-9 for name, path in paths.items()}
    shown = {name: (path.x[flies[name]], path.height[flies[name]]) for name, path in paths.items()}
    style.curves(ax, {name: (length.show(x), length.show(height)) for name, (x, height) in shown.items()})
    ax.axhline(0.0, color=style.GREY, linewidth=0.8)
    ax.set_aspect("equal")
    words = length.label("from the ball"), length.label("height")
    return style.finish(ax, *words, "Flights from the side, to scale", zero="y", legend="beside")


@style.picture("golfphys.trace")
def plot_path(path: Trace, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw a whole shot from the side: flight, bounces, skid and roll each in its colour, heights enlarged."""
    ax, length = style.new_axes(ax, 8.0, 3.4), style.LengthUnit(unit)
    doing = part_of_each_step(path)
    for part, colour in PART_COLOURS.items():
        (steps,) = np.nonzero(doing == part)
        if len(steps):
            own = slice(steps[0], steps[-1] + 2)
            width = {"flight": 2.0, "bounces": 2.0, "skid": 6.0, "roll": 3.5}[part]
            ax.plot(length.show(path.x[own]), length.show(path.height[own]), color=colour, linewidth=width, label=part)
    ax.plot(length.show(path.x[-1]), 0.0, "o", color="black", label="rest")
    _turf(ax, length.show(1.15 * float(path.height.max())))
    words = length.label("from the ball"), length.label("height")
    return style.finish(ax, *words, "From strike to rest, heights enlarged", legend="upper right", ncols=5)


def _turf(ax: Axes, top: float) -> None:
    """Draw the ground below the axis, which reaches up to `top`."""
    ax.axhspan(-0.06 * top, 0.0, color=style.TURF, linewidth=0)
    ax.set_ylim(-0.06 * top, top)


@style.picture("golfphys.worked.parts")
def plot_parts(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw the distance that each part of shots makes, one stacked bar for each shot."""
    ax, length = style.new_axes(ax, 7.5, 0.9 + 0.42 * len(table)), style.LengthUnit(unit)
    start = np.zeros(len(table))
    for part, colour in PART_COLOURS.items():
        distance = length.show(table[part].to_numpy())
        ax.barh(range(len(table)), distance, 0.62, left=start, color=colour, label=part)
        start = start + distance
    style.name_rows(ax, list(table.index))
    return style.finish(ax, length.label("distance along the line"), "", "Where the distance is made", legend="beside")


@style.picture("golfphys.worked.over_edge")
def plot_over_edge(table: pd.DataFrame, edge: float, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw where chips stop against where they land, across the edge of a green (m), a line for each ground."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    at = length.show(table.index.to_numpy())
    style.curves(ax, {str(name): (at, length.show(table[name])) for name in table.columns})
    begins, low, high = length.show(edge), float(at.min()), float(at.max())
    ax.axvspan(low, begins, color=style.ROUGH, alpha=0.6, linewidth=0, zorder=0)
    ax.axvspan(begins, high, color=style.TURF, linewidth=0, zorder=0)
    ax.set_xlim(low, high)
    words = length.label("it lands at"), length.label("it stops at")
    return style.finish(ax, *words, f"The green begins at {begins:.3g} {length.symbol}")


@style.picture()
def plot_rest(shots: Mapping[str, tuple[Any, Any]], *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw where balls come to rest, from above, to scale: by name distances along the line and left of it, m."""
    ax, length = style.new_axes(ax, 7.5, 3.6), style.LengthUnit(unit)
    places = {name: tuple(length.show(np.asarray(values, dtype=float)) for values in shots[name]) for name in shots}
    style.curves(ax, places, "points", markersize=3, alpha=0.55, markeredgewidth=0)
    ax.axhline(0.0, color=style.GREY, linewidth=0.8, linestyle="--")
    ax.set_aspect("equal", adjustable="datalim")
    words = length.label("along the line of play"), length.label("to the left")
    return style.finish(ax, *words, "Where the balls stop, from above", legend="upper left", markerscale=2)


# --- flight ----------------------------------------------------------------------------------------------------------
@style.picture()
def plot_coefficient(which: str, spin_ratios: Sequence[float], speeds: ArrayLike, *, ax: Axes | None = None) -> Axes:
    """Draw the ``drag`` or ``lift`` coefficient against airspeed (m/s) at sea level, beside published levels.

    A line for each spin ratio, rim speed over airspeed.
    """
    ax, speed, per_speed = style.new_axes(ax), np.asarray(speeds, dtype=float), Air().reynolds(1.0)
    drag, lift = Aerodynamics().coefficients(per_speed * speed, np.array(spin_ratios)[:, None])
    lines = zip(spin_ratios, drag if which == "drag" else lift, strict=True)
    style.curves(ax, {f"rim at {ratio:g} of the airspeed": (speed, value) for ratio, value in lines})
    farthest = float(speed.max())
    grey: dict[str, Any] = {"color": style.GREY, "alpha": 0.35}
    if which == "drag":
        for number, (low, high, level) in enumerate(PUBLISHED_DRAG):
            ends = [low / per_speed, min(high / per_speed, farthest)]
            name = "_published" if number else "published, no spin (Bearman & Harvey 1976, memory)"
            ax.plot(ends, [level, level], linewidth=7, solid_capstyle="butt", label=name, **grey)
        title = "Drag falls to half where the air at the ball turns turbulent"
    else:
        low, high, bottom, top = PUBLISHED_LIFT
        name = "published: negative lift (Lyu et al. 2020, read)"
        ax.fill_between([low, high], bottom, top, linewidth=0, label=name, **grey)
        ax.axhline(0.0, color=style.GREY, linewidth=0.8)
        title = "Lift of backspin, and the gap where it turns negative"
    ax.set_xlim(0.0, farthest)
    zero = "y" if which == "drag" else ""
    return style.finish(ax, "airspeed (m/s)", f"{which} coefficient", title, zero=zero, fontsize=8)


@style.picture("golfphys.worked.air_effect, by name,")
def plot_air_effect(tables: Mapping[str, pd.DataFrame], *, ax: Axes | None = None) -> Axes:
    """Draw carry over that of the vacuum parabola against launch speed, with bands for plausible drag and lift."""
    ax = style.new_axes(ax)
    shares = {name: 100 * table[["share", "low", "high"]] for name, table in tables.items()}
    style.curves(ax, {name: (table.index, *map(table.get, table)) for name, table in shares.items()})
    ax.axhline(100.0, color=style.GREY, linewidth=0.8)
    words = "launch speed (m/s)", "carry, of the parabola's (%)"
    title = "What air leaves of the carry (bands: plausible drag and lift)"
    return style.finish(ax, *words, title, legend="lower left")


@style.picture("golfphys.worked.conditions")
def plot_conditions(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw what other air does to the carry of shots, a row for each kind of air."""
    airs = list(table["air"].unique())
    ax, length = style.new_axes(ax, 7.0, 1.0 + 0.42 * len(airs)), style.LengthUnit(unit)
    for shot, look in style.looks(table["shot"].unique(), "points").items():
        rows = table[table["shot"] == shot]
        ax.plot(length.show(rows["carry_change"]), [airs.index(air) for air in rows["air"]], markersize=7, **look)
    ax.axvline(0.0, color=style.GREY, linewidth=0.8)
    style.name_rows(ax, airs)
    title = "Against still air at sea level, 15 degrees C"
    return style.finish(ax, length.label("change of carry"), "", title, legend="beside")


# --- bounce ----------------------------------------------------------------------------------------------------------
@style.picture()
def plot_rebounds(turfs: Mapping[str, Turf], heights: ArrayLike, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw the rebound (cm or in), before the grass takes its share, against the height (m) of a drop, by turf."""
    ax, length, height = style.new_axes(ax), style.LengthUnit(unit), np.asarray(heights, dtype=float)
    small = length.small
    found = {name: small.show(rebound_height(turf, height)) for name, turf in turfs.items()}
    style.curves(ax, {name: (length.show(height), rebound) for name, rebound in found.items()})
    words = length.label("dropped from"), small.label("rebounds to")
    return style.finish(ax, *words, "A drop test", zero="xy", title="turf")


@style.picture("golfphys.worked.bounces")
def plot_bounce_over_spin(table: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw what a bounce leaves of a landing, against its backspin; slipping contacts shaded."""
    ax = style.new_axes(ax)
    rpm = table["backspin"] / FACTORS_TO_SI["rpm"]
    names = {"forward": "forward speed", "rim": "speed its spin would roll with", "up": "upward speed"}
    style.curves(ax, {words: (rpm, table[name]) for name, words in names.items()})
    ax.axhline(0.0, color=style.GREY, linewidth=0.8)
    slips = rpm[~table["grips"]]
    if len(slips):
        ax.axvspan(float(slips.min()), float(slips.max()), color=style.CYCLE[4], alpha=0.18, linewidth=0, label="slips")
    ax.set_xlim(float(rpm.min()), float(rpm.max()))
    words = "backspin on landing (rpm)", "after the bounce (m/s)"
    return style.finish(ax, *words, "One bounce: grip (white) and slip (orange)")


@style.picture()
def plot_slide_limit(
    restitutions: Sequence[float], frictions: ArrayLike, *, published: Sequence[float] = (), ax: Axes | None = None
) -> Axes:
    """Draw the steepest angle at which a ball without spin slides through a bounce, against friction, by restitution.

    A `published` point is friction and angle in rad.
    """
    ax = style.new_axes(ax)
    angles = {f"restitution {e:g}": np.degrees(slide_limit(frictions, e)) for e in restitutions}
    style.curves(ax, {name: (frictions, angle) for name, angle in angles.items()})
    if published:
        ax.plot(published[0], np.degrees(published[1]), "o", color="black", label="about 20 deg (Cross, read)")
    words = "friction of ball on turf", "angle to the surface (deg)"
    return style.finish(ax, *words, "Flatter than the line it slides, steeper it grips", zero="xy")


@style.picture("golfphys.trace, by name,")
def plot_after_landing(paths: Mapping[str, Trace], *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw balls from just before they land to rest, from the side, heights enlarged; broad where they roll."""
    ax, length = style.new_axes(ax, 8.0, 3.6), style.LengthUnit(unit)
    height, tops = length.small, [0.05]
    for name, look in style.looks(paths).items():
        path = paths[name]
        shown = (path.time >= path.shot.flight_time - 1e-9) | (path.x >= path.shot.landing_x - 0.8)
        x, z = length.show(path.x[shown] - path.shot.landing_x), height.show(path.height[shown])
        rolls = path.phase[shown] == "roll"
        ax.plot(x, z, **look)
        ax.plot(x[rolls], z[rolls], color=look["color"], linewidth=4.5, alpha=0.45, label=f"_roll {name}")
        ax.plot(x[-1], 0.0, "o", color=look["color"], clip_on=False, label=f"_rest {name}")
        tops.append(float(path.height[path.time > path.shot.flight_time + 1e-9].max(initial=0.0)))
    _turf(ax, height.show(1.7 * max(tops)))
    words = length.label("from where it lands"), height.label("height")
    return style.finish(ax, *words, "From landing to rest, heights enlarged (broad: rolling)", legend="upper right")


@style.picture("golfphys.worked.swapped")
def plot_swapped(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw how far shots run with each other's backspin: a group of bars for each launch, lengths at their ends."""
    ax, length = style.new_axes(ax, 7.5, 3.4), style.LengthUnit(unit)
    count = len(table.columns)
    for number, (column, look) in enumerate(style.looks(table.columns).items()):
        places = style.beside_each_other(count, number, len(table))
        width, runs = 0.72 / count, length.show(table[column])
        bars = ax.barh(places, runs, width, color=look["color"], label=look["label"])
        ax.bar_label(bars, fmt="%.1f", padding=3, fontsize=9)
    style.name_rows(ax, [f"of the {name}" for name in table.index])
    ax.margins(x=0.1)
    words = length.label("run after landing"), "angle and speed"
    return style.finish(ax, *words, "Angle and spin taken apart", legend="beside")


@style.picture("golfphys.carry_and_roll, for one green speed,")
def plot_firmness(table: pd.DataFrame, clubs: Sequence[str], *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw the run of each club on turf of several kinds, landing at one place."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    firms = {str(name): rows.set_index("club").loc[list(clubs)] for name, rows in table.groupby("firmness", sort=False)}
    places = range(len(clubs))
    style.curves(ax, {name: (places, length.show(rows["roll_m"])) for name, rows in firms.items()}, "both")
    ax.set_xticks(places, [club.replace(" ", "\n") for club in clubs])
    title = "The same landing spot on soft and firm turf"
    return style.finish(ax, "", length.label("run after landing"), title, zero="y", title="turf")


# --- strike and sole --------------------------------------------------------------------------------------------------
@style.picture("golfphys.worked.strikes")
def plot_launches(table: pd.DataFrame, *, name: str = "", ax: Axes | None = None) -> Axes:
    """Draw backspin against launch angle, a line for each lie, clubs named at one (`name`), the first if left out."""
    ax = style.new_axes(ax)
    lies = {str(lie): rows for lie, rows in table.groupby("lie", sort=False)}
    lines = {lie: (np.degrees(rows["launch"]), rows["backspin"] / RPM) for lie, rows in lies.items()}
    style.curves(ax, lines, "both")
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


@style.picture()
def plot_over_friction(
    club: Club, delivery: Delivery, frictions: ArrayLike, strikes: pd.DataFrame | None = None, *, ax: Axes | None = None
) -> Axes:
    """Draw the backspin of a strike against the friction of face and ball; shaded where the face slips.

    Of `strikes`, those of `golfphys.worked.strikes`, ``backspin`` at the ``friction`` of each ``lie`` is marked.
    """
    ax, friction = style.new_axes(ax), np.asarray(frictions, dtype=float)
    lie = Lie(name="any", friction=friction)
    ax.plot(friction, np.asarray(launch_from(club, delivery, lie).backspin) / RPM, color=style.CYCLE[0], label="_clean")
    slips = friction[friction < friction_to_grip(club, delivery, lie)]
    if len(slips):
        ax.axvspan(0.0, float(slips.max()), color=style.CYCLE[4], alpha=0.18, linewidth=0, label="the face slips")
    if strikes is not None:
        looks = zip(style.MARKERS, style.CYCLE[1:] + style.CYCLE[:1], strict=True)  # the line has the first colour
        for row, (marker, colour) in zip(strikes.to_dict("records"), itertools.cycle(looks), strict=False):
            ax.plot(row["friction"], row["backspin"] / RPM, marker, color=colour, label=escape(row["lie"], "figure"))
    ax.set_xlim(0.0, float(friction.max()))
    words = "friction between face and ball", "backspin (rpm)"
    return style.finish(ax, *words, "What a lie takes away is friction", zero="y")


@style.picture()
def plot_bounce_left(
    bag: Mapping[str, Club], leans: ArrayLike, *, openings: Sequence[float] = (0.0,), ax: Axes | None = None
) -> Axes:
    """Draw the bounce that a leaning shaft leaves, by club and opening (rad); below zero the leading edge leads."""
    ax, lean, lines = style.new_axes(ax, 8.5), np.asarray(leans, dtype=float), {}
    for (name, club), opening in itertools.product(bag.items(), openings):
        left = effective_bounce(club, Delivery(speed=1.0, shaft_lean=lean, face_opening=opening))
        opened = f"{name}, opened {np.degrees(opening):.0f} deg" if opening else name
        lines[opened] = np.degrees(lean), np.degrees(left)
    style.curves(ax, lines)
    bottom = min(-1.0, *(float(left.min()) for _, left in lines.values()))
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
    title = "Room for the low point: behind it digs or thins, ahead it thins"
    return style.finish(ax, words, "", title, legend="beside")


@style.picture("golfphys.worked.contacts")
def plot_contacts(table: pd.DataFrame, strikes: pd.DataFrame | None = None, *, ax: Axes | None = None) -> Axes:
    """Draw what errors of the low point make of a strike; `strikes` of `golfphys.worked.struck` for one lie on it."""
    ax = style.new_axes(ax, 7.5, 4.6)
    across, up = (1e2 * np.unique(table["low_point"]), 1e3 * np.unique(table["height"]))
    for name, look in CONTACTS.items():
        inside = (table["contact"] == name).to_numpy(dtype=float).reshape(up.size, across.size)
        if inside.any():
            ax.contourf(across, up, inside, levels=[0.5, 1.5], colors=[look["color"]], alpha=0.22)
        ax.fill([], [], color=look["color"], alpha=0.22, label=name)
    if strikes is not None:
        x, y = 1e2 * strikes["low_point"], 1e3 * strikes["height"]
        ax.plot(x, y, ".", color="black", markersize=3, alpha=0.6, label="strikes with all errors")
    ax.plot(0.0, 0.0, "+", color="black", markersize=12, markeredgewidth=2, label="as meant")
    ax.set(xlim=across[[0, -1]], ylim=up[[0, -1]])
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
            label = f"{name} {100 * len(chosen) / len(rows):.0f} %"
            dots = look | {"linestyle": "none", "markersize": 3, "alpha": 0.6, "label": label}
            panel.plot(np.degrees(chosen["launch"]), chosen["speed"], **dots)
        panel.set(xlim=(min(angles[0], 0.0), angles[1] + 2.0), ylim=(0.95 * speeds[0], 1.05 * speeds[1]))
        if number:
            panel.tick_params(labelleft=False)
        style.finish(panel, "launch (deg)", "" if number else "ball speed (m/s)", escape(lie, "figure"))
    return ax
