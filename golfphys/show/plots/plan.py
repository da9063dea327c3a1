"""Pictures of a plan: flights, landing spots, and where chips come to rest; style as in `golfphys.show.plots`."""

import math
from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

import numpy as np

from golfphys.show.plots.axes import club_looks, club_points, legend_beside, new_axes
from golfphys.show.style import OKABE_ITO, ROUGH, TURF, LengthUnit, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FLAG = OKABE_ITO["vermilion"]
WITHIN = 1.0  # m; the circle that the shares within 1 m refer to


@styled
def plot_trajectories(
    plan: Any, *, clubs: Iterable[str] | None = None, ax: "Axes | None" = None, unit: str = "m"
) -> "Axes":
    """Draw a plan from the side: each club's flight, landing spot and roll, the edge of the green and the pin.

    Parameters
    ----------
    plan : ChipPlan
        What `golfphys.plan_chip` returned.
    clubs : iterable of str, optional
        Which clubs; all of the plan if left out.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each club; the plan's pick is drawn thick and marked in the legend. Heights are enlarged.
    """
    ax, length = new_axes(ax, 9.0, 3.8), LengthUnit(unit)
    chosen = _chosen(plan, clubs)
    landing = _column(plan, "landing_m")
    top = 0.0
    for club, look in chosen.items():
        x, z = (np.asarray(part, float) for part in plan.trajectories[club])
        top = max(top, float(z.max()))
        picked = club == plan.pick
        label = f"{club} (pick)" if picked else club
        look |= {"linewidth": 3.0 if picked else 1.5, "zorder": 4 if picked else 3}
        ax.plot(length.show(x), length.show(z), label=label, **look)
        spot: dict[str, Any] = {"color": look["color"], "zorder": 5, "clip_on": False}
        ax.plot(length.show(landing[club]), 0.0, "v", markersize=8, **spot)
        ax.plot(length.show(x[-1]), 0.0, "o", markersize=6, markeredgecolor="white", **spot)
    _ground(ax, plan, length, top)
    ax.set(xlabel=length.label("distance from the ball"), ylabel=length.label("height") + ", enlarged")
    ax.set_title("From the side: flight, landing (triangle), roll to rest (dot)")
    ax.legend(loc="upper right", ncols=2 if len(chosen) > 4 else 1)
    return ax


def _ground(ax: "Axes", plan: Any, length: LengthUnit, top: float) -> None:
    """Draw what lies before the green, the green and the flagstick, below and beside the trajectories."""
    top = max(top, 0.3)
    edge, pin = length.show(plan.to_edge), length.show(plan.to_pin)
    right = max(ax.get_xlim()[1], pin * 1.08)
    depth = length.show(0.09 * top)
    ax.fill_between([min(0.0, -0.02 * pin), edge], -depth, 0.0, color=ROUGH, linewidth=0, zorder=1)
    ax.fill_between([edge, right], -depth, 0.0, color=TURF, linewidth=0, zorder=1)
    ax.plot([edge, edge], [-depth, 0.0], color=OKABE_ITO["green"], linewidth=1.5, zorder=2)
    ax.annotate("edge of the green", (edge, -depth), (3, 2), textcoords="offset points", fontsize=8, color="#225533")
    pole = length.show(0.85 * top)
    ax.plot([pin, pin], [0.0, pole], color="#444444", linewidth=1.2, zorder=2)
    ax.fill([pin, pin + 0.025 * right, pin], [pole, 0.93 * pole, 0.86 * pole], color=FLAG, zorder=2)
    ax.set_xlim(min(0.0, -0.02 * pin), right)
    ax.set_ylim(-depth, length.show(1.2 * top))
    ax.grid(visible=False, axis="x")


@styled
def plot_landing_window(
    plan: Any, *, clubs: Iterable[str] | None = None, ax: "Axes | None" = None, unit: str = "m"
) -> "Axes":
    """Draw, for each club, the share of balls that finish within 1 m against where they land, and the room for error.

    Parameters
    ----------
    plan : ChipPlan
        What `golfphys.plan_chip` returned.
    clubs : iterable of str, optional
        Which clubs; all of the plan if left out.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each club, broad within its landing window (shaded below for the pick), its best landing marked.
    """
    ax, length = new_axes(ax, 8.0, 4.4), LengthUnit(unit)
    landing, low, high = (_column(plan, name) for name in ("landing_m", "window_low_m", "window_high_m"))
    best = _column(plan, "within_1m")
    reached = [plan.to_edge]
    for club, look in _chosen(plan, clubs).items():
        curve = plan.curves[plan.curves["club"] == club].sort_values("landing_m")
        at, share = curve["landing_m"].to_numpy(), curve["within_1m"].to_numpy()
        reached += at[share > 0.01].tolist()
        picked = club == plan.pick
        label = f"{club} (pick)" if picked else club
        ax.plot(length.show(at), share, label=label, linewidth=3.0 if picked else 1.5, **look)
        inside = (at >= low[club]) & (at <= high[club])
        band = {"color": look["color"], "alpha": 0.25, "linewidth": 9, "solid_capstyle": "butt"}
        ax.plot(length.show(at[inside]), share[inside], label=f"_{club} window", **band)
        if picked:
            ax.fill_between(length.show(at), 0.0, share, where=inside, color=look["color"], alpha=0.14, linewidth=0)
        ax.plot(length.show(landing[club]), best[club], "v", color=look["color"], markersize=8, zorder=5)
    edge = length.show(plan.to_edge)
    ax.axvline(edge, color=OKABE_ITO["green"], linewidth=1.2, zorder=1, label="edge of the green")
    ax.set_xlim(length.show(min(reached) - 0.3), length.show(max(reached) + 0.3))
    ax.set(xlabel=length.label("landing distance from the ball"), ylabel="share within 1 m of the hole")
    ax.set_ylim(bottom=0.0)
    ax.set_title("Where to land it (triangle) and how much room there is (broad)")
    legend_beside(ax)
    return ax


@styled
def plot_rest_spread(
    plan: Any, *, clubs: Iterable[str] | None = None, ax: "Axes | None" = None, unit: str = "m"
) -> "Axes":
    """Draw where balls come to rest about the hole, seen from above with the line of play upwards.

    Parameters
    ----------
    plan : ChipPlan
        What `golfphys.plan_chip` returned.
    clubs : iterable of str, optional
        Which clubs; only the plan's pick if left out.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        Points for each club, with a circle of 1 m about the hole. The picture reaches half as far again as nine
        balls in ten; a few lie outside it.
    """
    ax, length = new_axes(ax, 7.0, 5.4), LengthUnit(unit)
    chosen = _chosen(plan, [plan.pick] if clubs is None else clubs)
    reach = [2.0 * WITHIN]
    for club, look in club_points(chosen).items():
        x, y = (np.asarray(part, float) for part in plan.rest[club])
        # y is to the left of the line of play, so it is drawn leftwards
        across, along = length.show(-y), length.show(x - plan.to_pin)
        ax.plot(across, along, linestyle="none", markersize=3.5, alpha=0.45, markeredgewidth=0, label=club, **look)
        reach.append(1.5 * float(np.quantile(np.hypot(x - plan.to_pin, y), 0.9)))
    around = np.linspace(0.0, 2.0 * math.pi, 181)
    circle = length.show(WITHIN)
    ax.plot(circle * np.cos(around), circle * np.sin(around), color="black", linewidth=1.2, label="1 m from the hole")
    ax.plot(0.0, 0.0, "P", color=FLAG, markersize=9, markeredgecolor="white", label="hole", zorder=5)
    farthest = length.show(max(reach))
    ax.set(xlim=(-farthest, farthest), ylim=(-farthest, farthest), aspect="equal")
    ax.set(
        xlabel=length.label("left of the hole (-) and right (+)"),
        ylabel=length.label("short of the hole (-) and past (+)"),
    )
    ax.set_title("Where the balls finish")
    legend_beside(ax, markerscale=1.6)
    return ax


def _chosen(plan: Any, clubs: Iterable[str] | None) -> dict[str, dict[str, Any]]:
    """Return the look of each club to draw, in the order of the bag."""
    known = club_looks(plan.table["club"])
    if plan.pick in known:
        known[plan.pick]["linestyle"] = "solid"
    if clubs is None:
        return known
    wanted = list(clubs)
    missing = [club for club in wanted if club not in known]
    if missing:
        raise ValueError(f"clubs has {', '.join(map(repr, missing))}; the plan has {', '.join(map(repr, known))}")
    return {club: known[club] for club in wanted}


def _column(plan: Any, name: str) -> dict[str, float]:
    """Return one column of the plan's table by club."""
    return dict(zip(plan.table["club"].astype(str), plan.table[name].astype(float), strict=True))
