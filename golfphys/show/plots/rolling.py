"""Pictures of rolling: green speed, laws of resistance, slope, break and skid; of recordings and films."""

from collections.abc import Mapping, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas import plane, turf
from golfphys.physics import ramp, roll
from golfphys.physics.green import Green, Resistance
from golfphys.physics.ramp import INERTIA, RADIUS, RELEASE_SPEED
from golfphys.recordings.filmed import Track, View, along
from golfphys.recordings.heard import Heard, Onsets
from golfphys.recordings.opening import Grey, Sound
from golfphys.show import style
from golfphys.show.style import Axes
from golfphys.show.worked import without_grain

SHOWN_POINTS = 4000  # columns into which a recording is gathered for drawing
SCHOOL_RELEASE_SPEED = 6.4 * METRES_PER_FOOT  # release speed in m/s that a school toolkit gives, 6.4 ft/s (read)


@style.picture()
def plot_slowing(greens: Mapping[str, Resistance], *, ax: Axes | None = None, unit: str = "ft") -> Axes:
    """Draw speed against distance of a level roll from the ramp on each of several greens, its stop marked."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    for name, look in style.looks(greens).items():
        gone = roll.path(RELEASE_SPEED, 0.0, without_grain(greens[name]))
        distance = np.linspace(0.0, float(gone.x[-1]), 121)
        ax.plot(length.show(distance), np.sqrt(np.interp(distance, gone.x, np.asarray(gone.speed) ** 2)), **look)
        ax.plot(length.show(distance[-1]), 0.0, "o", color=look["color"], clip_on=False, label=f"_stop {name}")
    return style.finish(ax, length.label("distance rolled"), "speed (m/s)", "How a roll slows down", zero="xy")


@style.picture()
def plot_ramp_speeds(angles_deg: ArrayLike, *, ax: Axes | None = None) -> Axes:
    """Draw the release speed of a ramp without losses against its angle, beside the published figures."""
    ax, angles, spun = style.new_axes(ax), np.asarray(angles_deg, dtype=float), ramp.release_overspin()
    speed = ramp.release_speed(constants.RAMP_RUN.value, np.radians(angles))
    after = [turf.rolling_speed(v, spun * v / RADIUS, RADIUS, INERTIA) for v in speed]
    ax.plot(angles, after, color=style.CYCLE[1], label="rolling on the green (no losses)")
    ax.plot(angles, speed, color=style.CYCLE[0], label="leaving the ramp (no losses)")
    published = {"6.0": RELEASE_SPEED, "6.4": SCHOOL_RELEASE_SPEED}
    for (words, value), dash in zip(published.items(), ((0, (5, 2)), (0, (1, 1.5))), strict=True):
        ax.axhline(value, color=style.GREY, linestyle=dash, linewidth=1.4, label=f"published: {words} ft/s")
    return style.finish(ax, "angle of the ramp (deg)", "speed (m/s)", "How fast the ramp releases the ball")


@style.picture("golfphys.worked.rolls_by_speed")
def plot_rolls_by_speed(
    table: pd.DataFrame, *, reading: float | None = None, ax: Axes | None = None, unit: str = "ft"
) -> Axes:
    """Draw how far balls roll against the speed they start with, by green; the ramp's (`reading`, m/s) is marked."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    style.curves(ax, {str(name): (table.index, length.show(table[name])) for name in table.columns})
    if reading is not None:
        ax.axvline(reading, color=style.GREY, linewidth=1.2, linestyle=(0, (5, 2)), label="the ramp's release speed")
    words = "speed at the start of the roll (m/s)", length.label("distance rolled")
    return style.finish(ax, *words, "How far a ball rolls from each speed", zero="xy")


@style.picture("golfphys.worked.two_way")
def plot_two_way(table: pd.DataFrame, *, ax: Axes | None = None, unit: str = "ft") -> Axes:
    """Draw rolls up and down against slope, with the plain mean and the two-way mean."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    names = {"down": "downhill", "plain_mean": "plain mean", "two_way_mean": "two-way mean", "up": "uphill"}
    for column, look in zip(names, style.looks(names.values()).values(), strict=True):
        wide = 3.0 if column == "two_way_mean" else 1.8
        ax.plot(100 * table["grade"], length.show(table[column]), linewidth=wide, **look)
    level = length.show(float(table["level"].iloc[0]))
    ax.axhline(level, color=style.GREY, linewidth=1.0, linestyle=(0, (1, 2)), label="on the level", zorder=1)
    words = "slope (%)", length.label("distance")
    return style.finish(ax, *words, "Up, down, and two ways of averaging them", zero="xy")


@style.picture("golfphys.worked.never_stops")
def plot_never_stops(
    table: pd.DataFrame, *, published: tuple[float, float] | None = None, ax: Axes | None = None
) -> Axes:
    """Draw the slope that never stops a ball against green speed, for a rolling ball and for a point mass.

    A `published` point is green speed in ft and slope in deg.
    """
    ax = style.new_axes(ax)
    names = {"rolling_deg": "a ball that rolls", "point_mass_deg": "a point mass that slides"}
    style.curves(ax, {words: (table["stimp_ft"], table[name]) for name, words in names.items()})
    if published is not None:
        ax.plot(*published, "D", color="black", markersize=7, label="from a published chart")
    return style.finish(ax, "green speed (ft)", "slope (deg)", "The slope on which a ball never stops", zero="y")


@style.picture()
def plot_hodograph(grades: Mapping[str, float], resistance: float, heading: float, *, ax: Axes | None = None) -> Axes:
    """Draw the velocities that a ball runs through on slopes, by name: across against down the fall line.

    It starts at 1 m/s, at `heading` from the fall line (rad, between 0 and pi), and turns towards it; points crowd near
    the fall line, where it may come to rest.
    """
    ax = style.new_axes(ax, 8.0, 3.6)
    angle = heading * np.concatenate([np.linspace(1.0, 0.02, 200), np.geomspace(0.02, 1e-10, 200)[1:]])
    ends: dict[str, Any] = {"markersize": 6, "zorder": 5}
    for name, look in style.looks(grades).items():
        speed = np.array([plane.speed_at_angle(1.0, heading, there, resistance, grades[name]) for there in angle])
        across, down = speed * np.sin(angle), speed * np.cos(angle)
        ax.plot(across, down, **look)
        ax.plot(across[0], down[0], "o", color="black", label="_start", **ends)
        ax.plot(across[-1], down[-1], "s", color=look["color"], label="_end", clip_on=False, **ends)
    ax.set_aspect("equal")
    words = "speed across the slope (m/s)", "speed down the slope (m/s)"
    return style.finish(ax, *words, "Velocities from the start (dot) to the end (square)", legend="beside")


@style.picture()
def plot_by_heading(
    greens: Mapping[str, Green], column: str = "distance", *, ax: Axes | None = None, unit: str = ""
) -> Axes:
    """Draw ``distance``, or drift to the left (``side``), of rolls from the ramp against heading, a line a green.

    Headings are clockwise from the reference line.
    """
    ax, length, heading = style.new_axes(ax, 6.0, 3.8), style.LengthUnit(unit), np.arange(0.0, 361.0, 5.0)
    towards, lines = -np.radians(heading), {}
    for name, green in greens.items():
        rest = roll.roll(RELEASE_SPEED, towards, green.resistance, green.grade, green.fall_direction)
        side = rest.y * np.cos(towards) - rest.x * np.sin(towards)
        lines[name] = heading, length.show({"distance": np.hypot(rest.x, rest.y), "side": side}[column])
    style.curves(ax, lines)
    ax.set_xticks(range(0, 361, 90))
    words = {"distance": "distance", "side": "drift to the left"}[column]
    title = {"distance": "How far it rolls", "side": "How far it drifts aside"}[column]
    return style.finish(ax, "heading (deg clockwise)", length.label(words), title)


# --- paths seen from above -------------------------------------------------------------------------------------------
@style.picture()
def plot_paths(
    paths: Mapping[str, Any],
    *,
    fall: float | None = None,
    surface: Any = None,
    target: Sequence[float] | None = None,
    rest_line: bool = False,
    enlarged: float = 1.0,
    ax: Axes | None = None,
    unit: str = "",
) -> Axes:
    """Draw paths of balls seen from above: rest marked by a dot, a path that does not end in rest by a cross.

    Paths are by name, from `golfphys.roll.path` or `golfphys.path_on`; a name that begins with ``_`` takes the look of
    the path before it and stands in no legend. `fall` is where a plane falls (rad, anticlockwise from x), drawn as an
    arrow; `surface` is surveyed ground, drawn as lines of equal height; `target` is x and y in m; `rest_line`
    joins each start to the place of rest; the picture is stretched `enlarged` times sideways of the line of play.
    """
    made, length = ax is None, style.LengthUnit(unit)
    ax = style.new_axes(ax, 8.0, 4.8)
    named = style.looks(name for name in paths if not name.startswith("_"))
    look: dict[str, Any] = {"color": style.CYCLE[0], "linestyle": "solid"}
    for name, path in paths.items():
        look = named.get(name, look | {"label": name})
        x, y = length.show(path.x), length.show(path.y)
        ax.plot(x, y, **look)
        ended = {"marker": "o" if path.status == 0 else "X", "color": look["color"], "linestyle": "none"}
        ax.plot(x[-1], y[-1], markersize=6, label="_end", zorder=5, **ended)
        if rest_line:
            ax.plot([x[0], x[-1]], [y[0], y[-1]], color=style.GREY, linewidth=0.9, label="_line of rest", zorder=1)
    ax.set_aspect(enlarged)
    if target is not None:
        place = [length.show(value) for value in target]
        ax.plot(*place, "P", color="black", markersize=9, label="target", zorder=6)
    ax.margins(0.06 if surface is None else 0.2)
    if surface is not None:
        _contours(ax, surface, length)
    side = length.label("to the left") + (f", enlarged {enlarged:g} times" if enlarged != 1 else "")
    style.finish(ax, length.label("along"), side, "Seen from above", legend="beside" if named else "")
    if fall is not None:
        downhill(ax, (np.cos(fall), np.sin(fall)))
    if made:
        width, height = (abs(high - low) for low, high in (ax.get_xlim(), ax.get_ylim()))
        least = 1.0 + 0.24 * (len(named) + 2 + 3 * (fall is not None))
        figure: Any = ax.figure
        figure.set_size_inches(8.0, float(np.clip(0.9 + 5.0 * enlarged * height / width, least, 6.5)))
    return ax


def downhill(ax: Axes, towards: tuple[float, float]) -> None:
    """Draw an arrow beside the axes that points where the ground falls: right and up on the page."""
    from matplotlib.offsetbox import AnnotationBbox, DrawingArea
    from matplotlib.patches import FancyArrowPatch

    right, up = (15 * value for value in towards)
    area = DrawingArea(60, 40)
    ends = (30 - right, 20 - up), (30 + right, 20 + up)
    area.add_artist(FancyArrowPatch(*ends, arrowstyle="-|>", mutation_scale=16, linewidth=2, color="black"))
    place: dict[str, Any] = {"xycoords": "axes fraction", "box_alignment": (0, -0.35), "frameon": False, "pad": 0.0}
    ax.add_artist(AnnotationBbox(area, (1.02, 0.0), **place))
    ax.annotate("downhill", (1.02, 0.0), (6, 2), "axes fraction", "offset points", fontsize=9, annotation_clip=False)


def _contours(ax: Axes, surface: Any, length: style.LengthUnit) -> None:
    """Draw lines of equal height over the area that is known, in cm or in."""
    low_x, high_x, low_y, high_y = *ax.get_xlim(), *ax.get_ylim()
    x, y = np.meshgrid(np.linspace(low_x, high_x, 90), np.linspace(low_y, high_y, 90))
    known = surface.contains(x, y)
    height = np.full(x.shape, np.nan)
    height[known] = length.small.show(surface.height(x[known], y[known]))
    lines = ax.contour(length.show(x), length.show(y), height, 10, colors=style.GREY, linewidths=0.7, zorder=1)
    ax.clabel(lines, fmt=f"%.0f {length.small.symbol}", fontsize=8)


# --- skid ------------------------------------------------------------------------------------------------------------
@style.picture("golfphys.worked.skid_motion")
def plot_skid(motion: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw a ball's speed and the speed of its rim against time: a skid (shaded) until they meet, then a roll."""
    ax = style.new_axes(ax)
    ax.axhline(0.0, color=style.GREY, linewidth=0.8)
    names = {"speed": "speed of the ball", "rim_speed": "speed its spin would roll with"}
    style.curves(ax, {words: (motion["time"], motion[name]) for name, words in names.items()})
    end = float(motion.loc[motion["skids"], "time"].iloc[-1])
    ax.axvspan(0.0, end, color=style.CYCLE[4], alpha=0.18, linewidth=0, label="skid")
    return style.finish(ax, "time (s)", "speed (m/s)", "A skid ends where the two speeds meet", zero="x")


@style.picture("golfphys.worked.skid_motion, by name,")
def plot_places(motions: Mapping[str, pd.DataFrame], *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw where balls are against time, the skid drawn thick."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    style.curves(ax, {name: (table["time"], length.show(table["place"])) for name, table in motions.items()})
    for (name, table), look in zip(motions.items(), style.looks(motions).values(), strict=True):
        skids = table[table["skids"]]
        broad: dict[str, Any] = {"color": look["color"], "linewidth": 7, "alpha": 0.3, "label": f"_skid {name}"}
        ax.plot(skids["time"], length.show(skids["place"]), **broad)
    ax.axhline(0.0, color=style.GREY, linewidth=0.8)
    words = "time (s)", length.label("place ahead of the first touch")
    return style.finish(ax, *words, "Where the ball is (broad: skidding)", zero="x")


@style.picture("golfphys.worked.skid_share")
def plot_skid_share(table: pd.DataFrame, *, published: Sequence[float] = (), ax: Axes | None = None) -> Axes:
    """Draw the fraction of a putt that is skid against friction, by green speed; `published` ends are shaded."""
    ax = style.new_axes(ax)
    lines = {f"green of {column}": (table.index, 100 * table[column]) for column in table.columns}
    style.curves(ax, lines, "both", markevery=6)
    if published:
        low, high = (100 * value for value in published)
        said = f"published: {low:.0f} to {high:.0f} %"
        ax.axhspan(low, high, color=style.CYCLE[4], alpha=0.2, linewidth=0, label=said)
    words = "sliding friction of ball on turf", "fraction of the putt that is skid (%)"
    return style.finish(ax, *words, "How much of a putt is skid", zero="y")


# --- recordings and films ---------------------------------------------------------------------------------------------
@style.picture()
def plot_heard(sound: Sound, onsets: Onsets, heard: Heard | None = None, *, ax: Axes | None = None) -> Axes:
    """Draw the loudness of a recording in time, every onset found with its number, and the events chosen."""
    ax = style.new_axes(ax, 8.0, 3.6)
    edges = np.unique(np.linspace(0, len(sound.signal), SHOWN_POINTS + 1).astype(int))
    loud = 20 * np.log10(np.maximum.reduceat(np.abs(sound.signal), edges[:-1]) + 1e-5)
    ax.plot(edges[:-1] / sound.rate, loud, color=style.GREY, linewidth=0.6)
    events = {number: name for name, number in heard.events.items()} if heard else {}
    top, floor = float(loud.max()), float(np.quantile(loud, 0.02))
    for number, time in enumerate(onsets.table["time"]):
        colour = style.CYCLE[number in events]
        ax.axvline(time, color=colour, linewidth=1.6 if number in events else 0.8, alpha=0.8)
        ax.annotate(str(number + 1), (time, floor - 6), ha="center", fontsize=8, color=colour)
    beside: dict[str, Any] = {"textcoords": "offset points", "fontsize": 9, "color": style.CYCLE[1]}
    for lower, (number, name) in enumerate(events.items()):  # each name higher than the next, so that none touch
        time = onsets.table["time"][number]
        side = {"xytext": (-3, 0), "ha": "right"} if time > 0.8 * sound.duration else {"xytext": (3, 0)}
        box = {"facecolor": "white", "edgecolor": "none", "pad": 1.0, "alpha": 0.8}
        ax.annotate(name, (time, top + 14 - 5.5 * lower), **beside, **side, bbox=box)
    ax.set(xlim=(0.0, sound.duration), ylim=(floor - 8, top + 20))
    words = "What was heard: every onset with its number" + (", those taken in orange" if events else "")
    return style.finish(ax, "time (s)", "loudness (dB of full scale)", words, legend="")


@style.picture()
def plot_track(frame: Grey, view: View, track: Track, *, ax: Axes | None = None) -> Axes:
    """Draw the places in which the ball was found over a frame of the film, with the marks on the ground."""
    ax = style.new_axes(ax, 8.0, 8.0 * frame.shape[0] / frame.shape[1])
    ax.imshow(frame, cmap="gray", vmin=0, vmax=255)
    corners = np.vstack([view.pixels, view.pixels[:1]])
    ax.plot(*corners.T, color=style.CYCLE[0], linewidth=1.0, marker="+", markersize=10, label="marks")
    hand = track.table["by_hand"].to_numpy(dtype=bool)
    for chosen, color, label in ((~hand, style.CYCLE[1], "found"), (hand, style.CYCLE[4], "by hand")):
        if chosen.any():
            places = track.table.loc[chosen, ["right", "down"]].to_numpy()
            ax.plot(*places.T, "o", markersize=3, color=color, label=label)
    ax.set(xlim=(0, frame.shape[1]), ylim=(frame.shape[0], 0))
    ax.grid(visible=False)
    ax.set_axis_off()
    title = f"The ball in {len(track.table)} of {track.frames} frames"
    return style.finish(ax, "", "", title, legend="lower right", frameon=True)


@style.picture()
def plot_film_distance(track: Track, *, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw distance along the path against time, as it goes into the films sheet."""
    ax, length = style.new_axes(ax), style.LengthUnit(unit)
    path = along(track)
    ax.plot(path["time"], length.show(path["distance"]), "o", markersize=3, color=style.CYCLE[0])
    words = "time (s)", length.label("distance along the path")
    return style.finish(ax, *words, "The roll as it was filmed", legend="", zero="x")
