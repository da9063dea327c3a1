"""Pictures of a plan: flights, landing spots, and where chips come to rest."""

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from golfphys.show import style
from golfphys.show.markup import escape

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FLAG = style.OKABE_ITO["vermilion"]


@style.picture()
def plot_trajectories(
    plan: Any, *, clubs: Iterable[str] | None = None, ax: "Axes | None" = None, unit: str = ""
) -> "Axes":
    """Draw a plan from the side, heights enlarged: flights, landing spots, rolls, the edge of the green and the pin.

    The plan's pick is drawn thick and marked in the legend, as is a club without a shot.
    """
    ax, length = style.new_axes(ax, 9.0, 3.8), style.LengthUnit(unit)
    chosen, landing, top = _chosen(plan, clubs), _landings(plan), 0.0
    for club, look in chosen.items():
        x, z = (np.asarray(values, float) for values in plan.trajectories[club])
        if not np.isfinite(x).all():
            ax.plot([], [], **(look | {"label": f"{look['label']}: no shot"}))
            continue
        top = max(top, float(z.max()))
        ax.plot(length.show(x), length.show(z), zorder=4 if club == plan.pick else 3, **look)
        spot: dict[str, Any] = {"color": look["color"], "zorder": 5, "clip_on": False}
        if club in landing:
            ax.plot(length.show(landing[club]), 0.0, "v", markersize=8, **spot)
        ax.plot(length.show(x[-1]), 0.0, "o", markersize=6, markeredgecolor="white", **spot)
    _ground(ax, plan, length, max(top, 0.3))
    words = length.label("distance from the ball"), length.label("height") + ", enlarged"
    title = "From the side: flight, landing (triangle), roll to rest (dot)"
    return style.finish(ax, *words, title, legend="upper right", ncols=2 if len(chosen) > 4 else 1)


def _ground(ax: "Axes", plan: Any, length: style.LengthUnit, top: float) -> None:
    """Draw what lies before the green, the green and the flagstick, below and beside the trajectories."""
    edge, pin = length.show(plan.to_edge), length.show(plan.to_pin)
    left, right = min(0.0, -0.02 * pin), max(ax.get_xlim()[1], pin * 1.08)
    depth, pole = length.show(0.09 * top), length.show(0.85 * top)
    ax.fill_between([left, edge], -depth, 0.0, color=style.ROUGH, linewidth=0, zorder=1)
    ax.fill_between([edge, right], -depth, 0.0, color=style.TURF, linewidth=0, zorder=1)
    ax.plot([edge, edge], [-depth, 0.0], color=style.OKABE_ITO["green"], linewidth=1.5, zorder=2)
    ax.annotate("edge of the green", (edge, -depth), (3, 2), textcoords="offset points", fontsize=8, color="#225533")
    ax.plot([pin, pin], [0.0, pole], color="#444444", linewidth=1.2, zorder=2)
    ax.fill([pin, pin + 0.025 * right, pin], [pole, 0.93 * pole, 0.86 * pole], color=FLAG, zorder=2)
    ax.set_xlim(left, right)
    ax.set_ylim(-depth, length.show(1.2 * top))
    ax.grid(visible=False, axis="x")


@style.picture()
def plot_landing_window(
    plan: Any, *, clubs: Iterable[str] | None = None, ax: "Axes | None" = None, unit: str = ""
) -> "Axes":
    """Draw for each club the share of balls that finish near the hole against where they land, and the room for error.

    A line is broad within its landing window (shaded below for the pick); its best landing is marked. A putt has none.
    """
    ax, length = style.new_axes(ax, 8.0, 4.4), style.LengthUnit(unit)
    near, words, _ = length.circle
    landing, (low, high, best) = _landings(plan), (_column(plan, n) for n in ("window_low_m", "window_high_m", near))
    reached = [plan.to_edge]
    for club, look in _chosen(plan, clubs).items():
        if club not in landing:
            continue
        curve = plan.curves[plan.curves["club"] == club].sort_values("landing_m")
        at, share = curve["landing_m"].to_numpy(), curve[near].to_numpy()
        reached += at[share > 0.01].tolist()
        ax.plot(length.show(at), share, **look)
        inside = (at >= low[club]) & (at <= high[club])
        band: dict[str, Any] = {"color": look["color"], "alpha": 0.25, "linewidth": 9, "solid_capstyle": "butt"}
        ax.plot(length.show(at[inside]), share[inside], label=f"_{club} window", **band)
        if club == plan.pick:
            ax.fill_between(length.show(at), 0.0, share, where=inside, color=look["color"], alpha=0.14, linewidth=0)
        ax.plot(length.show(landing[club]), best[club], "v", color=look["color"], markersize=8, zorder=5)
    edge = length.show(plan.to_edge)
    ax.axvline(edge, color=style.OKABE_ITO["green"], linewidth=1.2, zorder=1, label="edge of the green")
    ax.set_xlim(length.show(min(reached) - 0.3), length.show(max(reached) + 0.3))
    labels = length.label("landing distance from the ball"), f"share {words} of the hole"
    title = "Where to land it (triangle) and how much room there is (broad)"
    return style.finish(ax, *labels, title, zero="y", legend="beside")


@style.picture()
def plot_rest_spread(
    plan: Any, *, clubs: Iterable[str] | None = None, ax: "Axes | None" = None, unit: str = ""
) -> "Axes":
    """Draw where balls come to rest about the hole, seen from above with the line of play upwards.

    The picture reaches half as far again as nine balls in ten; the legend counts those outside it or still rolling.
    """
    ax, length = style.new_axes(ax, 7.6, 5.4), style.LengthUnit(unit)
    chosen = _chosen(plan, [plan.pick] if clubs is None else clubs)
    _, words, circle = length.circle
    off = {club: np.asarray(plan.rest[club], float) - [[plan.to_pin], [0.0]] for club in chosen}
    away = {club: np.hypot(*values) for club, values in off.items()}
    usual = [np.quantile(gone[np.isfinite(gone)], 0.9) for gone in away.values() if np.isfinite(gone).any()]
    farthest = max([2.0 * circle, *(1.5 * float(end) for end in usual)])
    for club, look in style.by_club(chosen, style.points).items():
        if club in off:
            along, left = off[club]
            outside = int((~(np.maximum(abs(along), abs(left)) <= farthest)).sum())
            label = look["label"] + (f"\n{outside} of {len(along)} outside" if outside else "")
            dots: dict[str, Any] = {"markersize": 3.5, "alpha": 0.45, "markeredgewidth": 0}
            # what is left of the line of play is drawn leftwards
            ax.plot(length.show(-left), length.show(along), **(look | dots | {"label": label}))
    around, reach = np.linspace(0.0, 2.0 * math.pi, 181), length.show(circle)
    name = f"{words.removeprefix('within ')} from the hole"
    ax.plot(reach * np.cos(around), reach * np.sin(around), color="black", linewidth=1.2, label=name)
    ax.plot(0.0, 0.0, "P", color=FLAG, markersize=9, markeredgecolor="white", label="hole", zorder=5)
    ends = (-length.show(farthest), length.show(farthest))
    ax.set(xlim=ends, ylim=ends, aspect="equal")
    labels = length.label("left of the hole (-) and right (+)"), length.label("short of the hole (-) and past (+)")
    return style.finish(ax, *labels, "Where the balls finish", legend="beside", markerscale=1.6)


def _chosen(plan: Any, clubs: Iterable[str] | None) -> dict[str, dict[str, Any]]:
    """Return the look of each club to draw, in the order of the bag, the pick thick and named so."""
    wanted = list(plan.shown if clubs is None else clubs)
    missing = [club for club in wanted if club not in set(plan.table["club"])]
    if missing:
        there = ", ".join(map(repr, plan.table["club"]))
        raise ValueError(f"clubs has {', '.join(map(repr, missing))}; the plan has {there}")
    known = style.by_club(wanted, style.looks)
    for club, look in known.items():
        look["linewidth"] = 3.0 if club == plan.pick else 1.5
        if club == plan.pick:
            look |= {"linestyle": "solid", "label": f"{escape(club, 'figure')} (pick)"}
    return known


def _landings(plan: Any) -> dict[str, float]:
    """Return where each club lands; a putt does not."""
    onto = _column(plan, "onto_green_m")
    return {club: at for club, at in _column(plan, "landing_m").items() if np.isfinite(onto[club])}


def _column(plan: Any, name: str) -> dict[str, float]:
    """Return one column of the plan's table by club."""
    return dict(zip(plan.table["club"].astype(str), plan.table[name].astype(float), strict=True))
