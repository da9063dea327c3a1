"""Pictures of a plan: flights, landing spots, where chips come to rest; and the sheet to carry as one printed page."""

import math
import textwrap
from collections.abc import Iterable, Sequence
from pathlib import Path
from typing import Any

import numpy as np

from golfphys.planning.carry_sheet import PAPER_IN
from golfphys.show import style
from golfphys.show.markup import escape
from golfphys.show.plots.planning import short_name
from golfphys.show.style import Axes

FLAG = style.OKABE_ITO["vermilion"]


@style.picture()
def plot_trajectories(plan: Any, *, clubs: Iterable[str] | None = None, ax: Axes | None = None, unit: str = "") -> Axes:
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


def _ground(ax: Axes, plan: Any, length: style.LengthUnit, top: float) -> None:
    """Draw what lies before the green, the green and the flagstick, below and beside the trajectories."""
    edge, pin = length.show(plan.position.to_edge), length.show(plan.position.to_pin)
    left, right = min(0.0, -0.02 * pin), max(ax.get_xlim()[1], pin * 1.08)
    depth, pole = length.show(0.09 * top), length.show(0.55 * top)
    ax.fill_between([left, edge], -depth, 0.0, color=style.ROUGH, linewidth=0, zorder=1)
    back = right if plan.position.to_back is None else min(length.show(plan.position.to_back), right)
    ax.fill_between([edge, back], -depth, 0.0, color=style.TURF, linewidth=0, zorder=1)
    ax.fill_between([back, right], -depth, 0.0, color=style.ROUGH, linewidth=0, zorder=1)
    ax.plot([edge, edge], [-depth, 0.0], color=style.OKABE_ITO["green"], linewidth=1.5, zorder=2)
    ax.annotate("edge of the green", (edge, -depth), (3, 2), textcoords="offset points", fontsize=8, color="#225533")
    ax.plot([pin, pin], [0.0, pole], color="#444444", linewidth=1.2, zorder=2)
    ax.fill([pin, pin + 0.025 * right, pin], [pole, 0.87 * pole, 0.74 * pole], color=FLAG, zorder=2)
    ax.set_xlim(left, right)
    ax.set_ylim(-depth, length.show(1.2 * top))
    ax.grid(visible=False, axis="x")


@style.picture()
def plot_landing_window(
    plan: Any, *, clubs: Iterable[str] | None = None, ax: Axes | None = None, unit: str = ""
) -> Axes:
    """Draw for each club the share of balls that finish near the hole against where they land, and the room for error.

    A line is broad where a landing meant costs at most a tenth of a stroke more than the best one, which is marked;
    below that of the pick it is shaded. A putt has none.
    """
    ax, length = style.new_axes(ax, 8.0, 4.4), style.LengthUnit(unit)
    near, words, _ = length.circle
    landing, short_by, long_by = _landings(plan), _column(plan, "short_by_m"), _column(plan, "long_by_m")
    reached = [plan.position.to_edge]
    for club, look in _chosen(plan, clubs).items():
        if club not in landing:
            continue
        curve = plan.curves[plan.curves["club"] == club].sort_values("landing_m")
        at, share = curve["landing_m"].to_numpy(), 100 * curve[near].to_numpy()
        reached += at[share > 1.0].tolist()
        ax.plot(length.show(at), share, **look)
        first, last = landing[club] - short_by[club], landing[club] + long_by[club]
        room = np.r_[first, at[(at > first) & (at < last)], last]
        share_there = np.interp(room, at, share)
        band: dict[str, Any] = {"color": look["color"], "alpha": 0.25, "linewidth": 9, "solid_capstyle": "butt"}
        ax.plot(length.show(room), share_there, label=f"_{club} room", **band)
        if club == plan.pick:
            ax.fill_between(length.show(room), 0.0, share_there, color=look["color"], alpha=0.14, linewidth=0)
        best = np.interp(landing[club], at, share)  # on its line, which fewer errors smooth than the table's number
        ax.plot(length.show(landing[club]), best, "v", color=look["color"], markersize=8, zorder=5)
    edge = length.show(plan.position.to_edge)
    ax.axvline(edge, color=style.GREY, linewidth=1.2, zorder=1, label="edge of the green")
    ax.set_xlim(length.show(min(reached) - 0.3), length.show(max(reached) + 0.3))
    labels = length.label("landing distance from the ball"), f"balls that end {words} of the hole (%)"
    title = "Where strokes are fewest (triangle) and how much room there is (broad)"
    return style.finish(ax, *labels, title, zero="y", legend="beside")


@style.picture()
def plot_rest_spread(plan: Any, *, clubs: Iterable[str] | None = None, ax: Axes | None = None, unit: str = "") -> Axes:
    """Draw where balls come to rest about the hole, seen from above with the line of play upwards.

    The picture reaches half as far again as nine balls in ten; the legend counts those outside it or still rolling.
    """
    ax, length = style.new_axes(ax, 7.6, 5.4), style.LengthUnit(unit)
    chosen = _chosen(plan, [plan.pick] if clubs is None else clubs)
    _, words, circle = length.circle
    off = {club: np.asarray(plan.rest[club], float) - [[plan.position.to_pin], [0.0]] for club in chosen}
    away = {club: np.hypot(*values) for club, values in off.items()}
    usual = [np.quantile(gone[np.isfinite(gone)], 0.9) for gone in away.values() if np.isfinite(gone).any()]
    farthest = max([2.0 * circle, *(1.5 * float(end) for end in usual)])
    for club, look in style.by_club(chosen, "points").items():
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
    known = style.by_club(wanted)
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


# --- the sheet to carry ----------------------------------------------------------------------------------------------
INK, PALE, BAND = "#111111", "#2B2B2B", "#EAF2EC"
TEN = 9.75  # paces or metres from which a half is neither known nor paced
MARGIN = 0.055  # margin at each side, share of the width
SMALLEST = 5.5  # type in points that can still be read on a course
MOST_SPOTS = 4  # greens that one page has room for
Column = tuple[str, list[tuple[str, str, bool]], Any]
"""Heading, for each distance the big line, the small one and whether to box it, and by how much landings move."""


def draw_carry_sheet(sheet: Any) -> Any:
    """Draw a sheet to carry, what `golfphys.make_carry_sheet` returned, as a page of `PAPER_IN` inches.

    A list of up to `MOST_SPOTS` sheets makes one page with a column for each green: what to play there, and how.
    Raises ValueError for more of them, or for sheets that differ in distances, unit or pace.

    Examples
    --------
    >>> import datetime
    >>> from golfphys import Green, assumed, make_carry_sheet
    >>> sheet = make_carry_sheet(
    ...     assumed(Green.from_stimp(10.0), n=8), spot="low", made_for=datetime.date(2025, 5, 6), distances=[8, 14]
    ... )
    >>> draw_carry_sheet(sheet).get_size_inches().tolist()
    [4.25, 7.0]
    """
    from matplotlib.backends.backend_agg import FigureCanvasAgg

    sheets = list(sheet) if isinstance(sheet, Sequence) else [sheet]
    if not 1 <= len(sheets) <= MOST_SPOTS:
        raise ValueError(f"{len(sheets)} sheets are given; expected 1 to {MOST_SPOTS} for one page")
    if len({(each.unit, each.pace, *each.table.index) for each in sheets}) > 1:
        raise ValueError("sheets differ in unit, pace or distances; expected sheets made alike for one page")
    columns = _by_club(sheets[0]) if len(sheets) == 1 else [_of_spot(each) for each in sheets]
    with style.figure_style():
        page = style.still_class()(figsize=PAPER_IN, dpi=130)
        FigureCanvasAgg(page)
        # notebooks do not show a figure without axes: these hold nothing
        page.add_axes((0.0, 0.0, 1.0, 1.0)).set_axis_off()
        bottom = _rows(page, sheets, columns, _head(page, sheets))
        bottom = _moves(page, sheets[0], columns, bottom - 0.012) - 0.012
        cautions = dict.fromkeys(caution for each in sheets for caution in each.cautions)
        for number, line in enumerate(line for caution in cautions for line in textwrap.wrap(caution, 66)):
            _text(page, MARGIN, bottom - 0.020 * number, line, va="top", color=PALE)
    return page


def _text(
    page: Any, x: float, y: float, words: object, fontsize: float = 7, room: float = 1 - 2 * MARGIN, **look: Any
) -> None:
    """Write words; smaller, and then without their middle, where they would be wider than `room` of the page."""
    shown, cut = escape(words, "figure"), len(str(words))
    text = page.text(x, y, shown, fontsize=fontsize, **({"va": "center", "color": INK} | look))
    share = room * page.bbox.width / max(text.get_window_extent().width, 1.0)
    text.set_fontsize(max(min(1.0, share) * fontsize, SMALLEST))
    while cut > 3 and text.get_window_extent().width > room * page.bbox.width:
        cut -= 2
        text.set_text(escape(f"{str(words)[: cut // 2]}…{str(words)[-(cut // 2) :]}", "figure"))


def _by_club(sheet: Any) -> list[Column]:
    """Return a column for each club; boxed where it is the one to play."""
    return [
        (
            short_name(club),
            [(*_cell(sheet, at, club), best == club) for at, best in sheet.best.items()],
            sheet.moves.loc[club],
        )
        for club in sheet.clubs
    ]


def _of_spot(sheet: Any) -> Column:
    """Return the column of a green: at each distance what to play; moves on average over what is played."""
    cells = []
    for at, club in sheet.best.items():
        big, small = _cell(sheet, at, club) if club in sheet.clubs else ("", "")
        cells.append((f"{short_name(club)} {big}", small, False))
    return sheet.spot, cells, sheet.moves.loc[[club for club in sheet.clubs if (sheet.best == club).any()]].mean()


def _cell(sheet: Any, at: float, club: str) -> tuple[str, str]:
    said = sheet.table.loc[at, club]
    if not np.isfinite(said["land"]):
        return "-", ""
    land, run, low, high = (whole(said[name], sheet.unit) for name in ("land", "run", "run_low", "run_high"))
    return f"{land}/{run}", f"{low}\N{EN DASH}{high}"


def save_carry_sheet(sheet: Any, path: str | Path) -> Path:
    """Save a sheet to carry, or a list of them, for printing, as ``.pdf`` or ``.png``, and return the file written."""
    path = Path(path)
    if path.suffix not in (".pdf", ".png"):
        raise ValueError(f"path is {str(path)!r}; expected a file ending in .pdf or .png")
    path.write_bytes(style.rendered(draw_carry_sheet(sheet), path.suffix[1:], dpi=300))
    return path


def _head(page: Any, sheets: Sequence[Any]) -> float:
    """Write the heading; return where the table may start."""
    first, one = sheets[0], len(sheets) == 1
    _text(page, MARGIN, 0.972, first.spot if one else "What to play", 11, 0.70, fontweight="bold", va="top")
    _text(page, 1 - MARGIN, 0.97, first.made_for.isoformat(), 8.5, va="top", ha="right")
    unit = {"ft": "feet", "m": "metres", "paces": f"paces of {first.pace:.2f} m"}[first.unit]
    lines = [*(each.green if one else f"{each.spot}: {each.green}" for each in sheets), first.player]
    lines.append(f"in {unit}, level: land/run, below it 9 runs in 10{'; boxed: play this' if one else ''}")
    for number, line in enumerate(lines):
        _text(page, MARGIN, 0.940 - 0.019 * number, line, va="top", color=PALE)
    return 0.902 - 0.019 * len(lines)


def _centres(columns: Sequence[Any]) -> np.ndarray:
    """Return where the columns stand, as shares of the width."""
    left, right = 0.20, 1 - MARGIN
    return left + (np.arange(len(columns)) + 0.5) * (right - left) / len(columns)


def _rows(page: Any, sheets: Sequence[Any], columns: Sequence[Column], top: float) -> float:
    """Write the table; return where it ends."""
    one, centres = len(sheets) == 1, _centres(columns)
    page.text(MARGIN, top, "ball\nto pin", fontsize=7, va="center", color=INK)
    for column, x in zip(columns, centres, strict=True):
        _text(page, x, top, column[0], 9 if one else 7.5, 0.7 / len(columns), ha="center", fontweight="bold")
    step = min(0.056, (0.519 - 0.019 * len(sheets)) / len(sheets[0].table))
    y = top - 0.026
    for number, distance in enumerate(sheets[0].table.index):
        if number % 2 == 0:
            style.rectangle(page, (MARGIN - 0.01, y - step), 1.02 - 2 * MARGIN, step, color=BAND, linewidth=0, zorder=0)
        centre = y - step / 2
        best = str(sheets[0].best.loc[distance])
        other = best if one and best not in sheets[0].clubs else ""
        _text(page, MARGIN + 0.01, centre + 0.008 * bool(other), f"{distance:g}", 9.5, fontweight="bold")
        _text(page, MARGIN + 0.01, centre - 0.013, other)
        for column, x in zip(columns, centres, strict=True):
            big, small, boxed = column[1][number]
            if boxed:
                box = {"fill": False, "edgecolor": INK, "linewidth": 1.2, "zorder": 2}
                style.rectangle(page, (x - 0.0575, centre - 0.43 * step), 0.115, 0.86 * step, **box)
            look: dict[str, Any] = {"ha": "center", "fontweight": "bold" if boxed else "normal"}
            ink = INK if small or not one else PALE
            _text(page, x, centre + 0.009 * bool(small), big, 8, **look, color=ink)
            _text(page, x, centre - 0.013, small, **look, color=PALE)
        y -= step
    return y


def whole(value: float, unit: str) -> str:
    """Return a length as a player can pace it: half paces and metres below ten, whole ones beyond, whole feet."""
    return f"{value:.0f}" if unit == "ft" or value >= TEN else f"{round(2 * value) / 2:g}"


def _move(value: float, unit: str) -> str:
    """Return how far a landing moves, with its sign."""
    if not np.isfinite(value):
        return "no"
    rounded = round(value) if unit == "ft" else round(2 * value) / 2
    return f"{rounded:+g}" if rounded else "0"


def _moves(page: Any, sheet: Any, columns: Sequence[Column], top: float) -> float:
    """Write how far slopes and lies move the landing; return where that ends."""
    y = top - 0.012
    _text(page, MARGIN, y, "move the landing by (- nearer):", color=PALE)
    for name in sheet.moves.columns:
        y -= 0.021
        _text(page, MARGIN, y, name)
        for column, x in zip(columns, _centres(columns), strict=True):
            _text(page, x, y, _move(column[2][name], sheet.unit), ha="center")
    return y - 0.012
