"""Pictures of results: each function takes a result and an Axes to draw on, draws, and returns the Axes.

Nothing is computed here beyond changes of unit, and nothing is shown: a notebook shows the figure, a script saves it.
Without `ax` a new figure is made. Lengths are in metres unless another `unit` is asked for.
"""

import math
import re
from collections.abc import Iterable, Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np

from golfphys import hole
from golfphys.club import BAG
from golfphys.putting import MakeFit, PuttsToHoleOut
from golfphys.style import CYCLE, GREY, MARKERS, OKABE_ITO, ROUGH, TURF, LengthUnit, looks, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

FLAG = OKABE_ITO["vermilion"]
WITHIN = 1.0  # m; the circle that the shares within 1 m refer to


def _axes(ax: "Axes | None", width: float = 7.0, height: float = 4.2, **options: Any) -> "Axes":
    """Return `ax`, or that of a new figure."""
    if ax is not None:
        return ax
    from matplotlib import pyplot

    _, made = pyplot.subplots(figsize=(width, height), layout="constrained", subplot_kw=options or None)
    return made


# ---------------------------------------------------------------------------------------------- the hole and putting


@styled
def plot_capture(*, ax: "Axes | None" = None, unit: str = "cm") -> "Axes":
    """Draw the fastest ball that the hole takes against its offset from the centre, by both laws.

    Parameters
    ----------
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length of the offset.

    Returns
    -------
    Axes
        One line for each law.

    Examples
    --------
    >>> [line.get_label() for line in plot_capture().lines]
    ['with the far rim (Holmes, Penner)', 'free fall only (derived)']
    """
    ax, length = _axes(ax), LengthUnit(unit)
    offset = np.linspace(-0.054, 0.054, 217)
    names = {"far rim": "with the far rim (Holmes, Penner)", "free fall": "free fall only (derived)"}
    for law, look in zip(hole.CAPTURE_LAWS, looks(hole.CAPTURE_LAWS).values(), strict=True):
        ax.plot(length.show(offset), hole.capture_speed(offset, law=law), label=names[law], **look)
    ax.set(xlabel=length.label("offset of the path from the centre of the hole"), ylabel="fastest ball held (m/s)")
    ax.set_ylim(0.0, 1.8)
    ax.set_title("The hole takes a slower ball the farther off centre it comes")
    ax.legend(loc="lower center")
    return ax


@styled
def plot_make_probability(fits: MakeFit | Sequence[MakeFit], *, ax: "Axes | None" = None, unit: str = "ft") -> "Axes":
    """Draw the share of putts holed against distance: counted, and as fitted models have it.

    Parameters
    ----------
    fits : MakeFit or sequence of MakeFit
        What `golfphys.putting.fit_make_probability` returned.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        A line for each fit, points for each table.

    Examples
    --------
    >>> from golfphys.putting import fit_make_probability
    >>> plot_make_probability(fit_make_probability("berry_1996", model="angle")).get_ylabel()
    'share of putts holed'
    """
    fits = [fits] if isinstance(fits, MakeFit) else list(fits)
    ax, length = _axes(ax), LengthUnit(unit)
    tables = {fit.table.name: fit.table for fit in fits}
    for (name, table), marker in zip(tables.items(), MARKERS, strict=False):
        chance = np.sqrt(table.share * (1.0 - table.share) / table.tries)
        points = ax.errorbar(length.show(table.distance), table.share, 2 * chance, fmt=marker, color=GREY, markersize=4)
        points.set_label(f"{_words(name)}, counted (bars: 2 standard errors)")
    farthest = max(float(table.distance.max()) for table in tables.values())
    distance = np.linspace(0.0, farthest, 300)
    words = {"LogisticModel": "log odds", "AngleModel": "direction", "AngleDistanceModel": "direction and distance"}
    labels = [f"{words[type(fit.model).__name__]}, fitted to {_words(fit.table.name)}" for fit in fits]
    for fit, (label, look) in zip(fits, looks(labels).items(), strict=True):
        ax.plot(length.show(distance), fit.model.probability(distance), label=label, zorder=3, **look)
    ax.set(xlabel=length.label("length of the putt"), ylabel="share of putts holed", ylim=(0.0, 1.02))
    ax.set_xlim(left=0.0)
    ax.set_title("Putts holed by distance")
    ax.legend()
    return ax


@styled
def plot_expected_putts(
    putts: PuttsToHoleOut | Mapping[str, PuttsToHoleOut],
    *,
    ax: "Axes | None" = None,
    unit: str = "ft",
    farthest: float = 20.0,
) -> "Axes":
    """Draw the average number of putts to hole out against distance.

    Parameters
    ----------
    putts : PuttsToHoleOut or mapping of name to PuttsToHoleOut
        What `golfphys.putting.putts_to_hole_out` returned, for one player or several.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.
    farthest : float
        Longest putt drawn, m.

    Returns
    -------
    Axes
        A line for each player.

    Examples
    --------
    >>> from golfphys.putting import putts_to_hole_out
    >>> plot_expected_putts({"tour": putts_to_hole_out()}).get_xlabel()
    'length of the putt (ft)'
    """
    ax, length = _axes(ax), LengthUnit(unit)
    several = putts if isinstance(putts, Mapping) else {"": putts}
    for (name, table), look in zip(several.items(), looks(list(several)).values(), strict=True):
        near = table.distance <= farthest
        ax.plot(length.show(table.distance[near]), table.putts[near], label=name, **look)
    ax.set(xlabel=length.label("length of the putt"), ylabel="average putts to hole out")
    ax.set_xlim(left=0.0)
    ax.set_ylim(bottom=0.98)
    ax.set_title("Putts it takes by distance")
    if isinstance(putts, Mapping):
        ax.legend()
    return ax


def _words(table: str) -> str:
    """Return a table's name for a legend: author and years for a published one."""
    published = re.fullmatch(r"([a-z]+)_(\d{4})(?:_(\d{4}))?", table)
    if published is None:
        return table
    author, first, last = published.groups()
    return f"{author.title()} {first}" + (f" to {last}" if last else "")


# ------------------------------------------------------------------------------------------------- rollouts and fits


@styled
def plot_rollout_fit(fit: Any, spot: str | None = None, *, ax: "Axes | None" = None, unit: str = "m") -> "Axes":
    """Draw measured rolls by heading as seen from above, with the fitted distance and its 90 % band.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned.
    spot : str, optional
        Which spot; the first of the fit if left out.
    ax : polar Axes, optional
        Where to draw; made with ``projection="polar"``.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        Polar: headings clockwise from the reference line at the top, distances outward. One colour for each release
        speed.

    Raises
    ------
    ValueError
        If the fit has no such spot, or `ax` is not polar.
    """
    ax, length = _axes(ax, 6.4, 5.6, projection="polar"), LengthUnit(unit)
    if ax.name != "polar":
        raise ValueError('ax is not polar; make it with projection="polar"')
    rolls = fit.sheet.rolls
    spots = list(dict.fromkeys(rolls["spot"]))
    spot = spots[0] if spot is None else spot
    if spot not in spots:
        raise ValueError(f"spot is {spot!r}; expected one of {', '.join(map(repr, spots))}")
    rolls = rolls[rolls["spot"] == spot]
    around = np.linspace(0.0, 2.0 * math.pi, 73)
    polar: Any = ax
    polar.set_theta_zero_location("N")
    polar.set_theta_direction(-1)
    speeds = sorted(rolls["release_speed"].round(2).unique())
    for speed, colour, marker in zip(speeds, CYCLE, MARKERS, strict=False):
        expected = fit.predict(spot, around, speed)
        low, high = length.show(expected["roll_low"].to_numpy()), length.show(expected["roll_high"].to_numpy())
        ax.fill_between(around, low, high, color=colour, alpha=0.18, linewidth=0)
        ax.plot(around, length.show(expected["distance"].to_numpy()), color=colour, label=f"_fit {speed:.2f} m/s")
        same = rolls[rolls["release_speed"].round(2) == speed]
        ax.plot(
            same["heading"], length.show(same["distance"]), marker, color=colour, label=f"{speed:.2f} m/s", alpha=0.8
        )
    polar.set_rlabel_position(22.5)
    polar.set_rlim(bottom=0.0)
    ax.set_title(f"{spot}: rolls by heading ({unit}), fit and 90 % band of single rolls")
    ax.legend(title="released at", loc="lower left", bbox_to_anchor=(0.98, 0.0))
    return ax


@styled
def plot_green_speeds(fit: Any, *, ax: "Axes | None" = None, unit: str = "ft") -> "Axes":
    """Draw each spot's green speed with its 90 % interval.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned; its estimates have a row ``stimp_m`` for each spot.
    ax : Axes, optional
        Where to draw.
    unit : str
        Unit of length.

    Returns
    -------
    Axes
        One interval for each spot, the first on top.

    Raises
    ------
    ValueError
        If the fit's estimates have no green speed.
    """
    length = LengthUnit(unit)
    table = fit.estimates
    if "stimp_m" not in table.index.get_level_values(1):
        raise ValueError("the fit's estimates have no parameter stimp_m")
    rows = table.xs("stimp_m", level=1)
    ax = _axes(ax, 7.0, 1.4 + 0.42 * len(rows))
    middle, low, high = (length.show(rows[column].to_numpy()) for column in ("estimate", "low", "high"))
    height = np.arange(len(rows))
    ax.errorbar(middle, height, xerr=(middle - low, high - middle), fmt="o", color=CYCLE[0], capsize=4, linewidth=1.8)
    ax.set_yticks(height, [str(spot) for spot in rows.index])
    ax.set_ylim(len(rows) - 0.5, -0.5)
    ax.grid(visible=False, axis="y")
    ax.set_xlabel(length.label("green speed, level equivalent, with 90 % interval"))
    ax.set_title("Green speed by spot")
    return ax


@styled
def plot_calibration(coverage: Any, *, ax: "Axes | None" = None) -> "Axes":
    """Draw how often intervals held the truth against how often they promised to.

    Parameters
    ----------
    coverage : DataFrame
        Columns ``parameter``, ``nominal`` (promised share), ``covered`` (share found) and, where known, ``sd``
        (standard error of the share found).
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A line for each parameter, and the diagonal on which promises are kept.

    Examples
    --------
    >>> import pandas as pd
    >>> found = pd.DataFrame({"parameter": "grade", "nominal": [0.5, 0.9], "covered": [0.49, 0.91], "sd": 0.02})
    >>> plot_calibration(found).get_xlabel()
    'share promised'
    """
    ax = _axes(ax, 5.2, 4.8)
    ax.plot([0.0, 1.0], [0.0, 1.0], color=GREY, linewidth=1.0, linestyle=(0, (4, 3)), label="promise kept")
    names = list(dict.fromkeys(coverage["parameter"]))
    for (name, look), marker in zip(looks(names).items(), MARKERS * len(names), strict=False):
        rows = coverage[coverage["parameter"] == name]
        error = 1.645 * rows["sd"] if "sd" in rows else None
        ax.errorbar(
            rows["nominal"], rows["covered"], error, marker=marker, capsize=3, label=str(name).replace("_", " "), **look
        )
    ax.set(xlabel="share promised", ylabel="share of truths inside", xlim=(0.0, 1.02), ylim=(0.0, 1.02), aspect="equal")
    ax.set_title("Do intervals hold what they promise?")
    ax.legend(loc="upper left")
    return ax


# ------------------------------------------------------------------------------------------------------------- plans


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
    ax, length = _axes(ax, 9.0, 3.8), LengthUnit(unit)
    chosen = _chosen(plan, clubs)
    landing = _column(plan, "landing_m")
    top = 0.0
    for club, look in chosen.items():
        x, z = (np.asarray(part, float) for part in plan.trajectories[club])
        top = max(top, float(z.max()))
        picked = club == plan.pick
        label = f"{club} (pick)" if picked else club
        ax.plot(
            length.show(x),
            length.show(z),
            label=label,
            linewidth=3.0 if picked else 1.5,
            zorder=4 if picked else 3,
            **look,
        )
        ax.plot(length.show(landing[club]), 0.0, "v", color=look["color"], markersize=8, zorder=5, clip_on=False)
        ax.plot(
            length.show(x[-1]),
            0.0,
            "o",
            color=look["color"],
            markersize=6,
            zorder=5,
            markeredgecolor="white",
            clip_on=False,
        )
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
    ax, length = _axes(ax, 8.0, 4.4), LengthUnit(unit)
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
    ax.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0))
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
    ax, length = _axes(ax, 7.0, 5.4), LengthUnit(unit)
    chosen = _chosen(plan, [plan.pick] if clubs is None else clubs)
    reach = [2.0 * WITHIN]
    for (club, look), marker in zip(chosen.items(), MARKERS * len(chosen), strict=False):
        x, y = (np.asarray(part, float) for part in plan.rest[club])
        # y is to the left of the line of play, so it is drawn leftwards
        across, along = length.show(-y), length.show(x - plan.to_pin)
        ax.plot(across, along, marker, color=look["color"], markersize=3.5, alpha=0.45, markeredgewidth=0, label=club)
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
    ax.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), markerscale=1.6)
    return ax


def _chosen(plan: Any, clubs: Iterable[str] | None) -> dict[str, dict[str, Any]]:
    """Return the look of each club to draw, in the order of the bag."""
    clubs_of_plan = [str(club) for club in plan.table["club"]]
    # in the order of the bag, so that a club has the same look in every figure
    order = [*BAG, *(club for club in clubs_of_plan if club not in BAG)]
    known = {club: look for club, look in looks(order).items() if club in clubs_of_plan}
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
