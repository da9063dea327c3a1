"""The sheet to carry as one printed page, no larger than the rules of golf allow."""

import io
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from golfphys.planning.carry_sheet import PAPER_IN
from golfphys.show.markup import escape
from golfphys.show.plots.planning import short_name
from golfphys.show.style import figure_style

if TYPE_CHECKING:
    from matplotlib.figure import Figure

INK, PALE, BAND = "#111111", "#555555", "#EAF2EC"
TEN = 9.75
"""Paces or metres from which a half is neither known nor paced."""
MARGIN = 0.055
"""Margin at each side, share of the width."""


MOST_SPOTS = 4
"""Greens that one page has room for."""


def draw_carry_sheet(sheet: Any) -> "Figure":
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
    _check_alike(sheets)
    columns = _by_club(sheets[0]) if len(sheets) == 1 else [_of_spot(each) for each in sheets]
    with figure_style():
        page: Figure = _page_class()(figsize=PAPER_IN)
        FigureCanvasAgg(page)
        # notebooks do not show a figure without axes: these hold nothing
        page.add_axes((0.0, 0.0, 1.0, 1.0)).set_axis_off()
        top = _head(page, sheets)
        bottom = _rows(page, sheets, columns, top)
        bottom = _moves(page, sheets[0], columns, bottom - 0.012)
        _foot(page, sheets, bottom - 0.012)
    return page


def _check_alike(sheets: Sequence[Any]) -> None:
    if not 1 <= len(sheets) <= MOST_SPOTS:
        raise ValueError(f"{len(sheets)} sheets are given; expected 1 to {MOST_SPOTS} for one page")
    if any(
        (each.unit, each.pace, [*each.table.index]) != (sheets[0].unit, sheets[0].pace, [*sheets[0].table.index])
        for each in sheets
    ):
        raise ValueError("sheets differ in unit, pace or distances; expected sheets made alike for one page")


@dataclass(frozen=True, kw_only=True)
class Column:
    """A column of a page: its heading, for each distance the big line, the small one and whether to box it; moves."""

    heading: str
    cells: list[tuple[str, str, bool]]
    moves: list[float]


def _by_club(sheet: Any) -> list[Column]:
    """Return a column for each club; boxed where it is the one to play."""
    return [
        Column(
            heading=short_name(club),
            cells=[(*_cell(sheet, at, club), sheet.best.loc[at] == club) for at in sheet.table.index],
            moves=[float(value) for value in sheet.moves.loc[club]],
        )
        for club in sheet.clubs
    ]


def _of_spot(sheet: Any) -> Column:
    """Return the column of a green: at each distance what to play; moves on average over what is played."""
    cells = []
    for at, club in sheet.best.items():
        big, small = _cell(sheet, at, club) if club in sheet.clubs else ("", "")
        cells.append((f"{short_name(club)} {big}", small, False))
    played = sheet.moves.loc[[club for club in sheet.clubs if (sheet.best == club).any()]]
    return Column(heading=sheet.spot, cells=cells, moves=[float(value) for value in played.mean()])


def _cell(sheet: Any, at: float, club: str) -> tuple[str, str]:
    land, run, give = (float(sheet.table.loc[at, (club, name)]) for name in ("land", "run", "give"))
    if not np.isfinite(land):
        return "-", ""
    return f"{whole(land, sheet.unit)}/{whole(run, sheet.unit)}", f"±{whole(give, sheet.unit)}"


@cache
def _page_class() -> Any:
    """Return the class of a figure that a notebook shows without pyplot; matplotlib is loaded here, not before."""
    from matplotlib.figure import Figure

    class Page(Figure):
        """A page that shows itself at its true proportions."""

        def _repr_png_(self) -> bytes:
            written = io.BytesIO()
            self.savefig(written, format="png", dpi=130, metadata={"Software": "golfphys"})
            return written.getvalue()

    return Page


def save_carry_sheet(sheet: Any, path: "str | Path") -> Path:
    """Save a sheet to carry, or a list of them, for printing; `path` ends in ``.pdf`` or ``.png``.

    Returns the file written; raises ValueError if it ends otherwise.

    Examples
    --------
    >>> import datetime, tempfile
    >>> from golfphys import Green, assumed, make_carry_sheet
    >>> sheet = make_carry_sheet(
    ...     assumed(Green.from_stimp(10.0), n=8), spot="low", made_for=datetime.date(2025, 5, 6), distances=[8, 14]
    ... )
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     save_carry_sheet(sheet, f"{folder}/sheet.pdf").name
    'sheet.pdf'
    """
    path = Path(path)
    if path.suffix not in (".pdf", ".png"):
        raise ValueError(f"path is {str(path)!r}; expected a file ending in .pdf or .png")
    # no time stamp in the file: the same sheet gives the same bytes
    stamp = {"CreationDate": None} if path.suffix == ".pdf" else {"Software": "golfphys"}
    draw_carry_sheet(sheet).savefig(path, dpi=300, metadata=stamp)
    return path


def _head(page: "Figure", sheets: Sequence[Any]) -> float:
    """Write the heading; return where the table may start."""
    first = sheets[0]
    one = len(sheets) == 1
    title = f"{first.spot}: what to play" if one else "What to play"
    page.text(MARGIN, 0.972, escape(title, "figure"), fontsize=11, fontweight="bold", va="top", color=INK)
    page.text(1 - MARGIN, 0.97, first.made_for.isoformat(), fontsize=8.5, va="top", ha="right", color=INK)
    lines = [
        *(each.green if one else f"{each.spot}: {each.green}" for each in sheets),
        first.player,
        f"in {_unit_words(first)}, level: land/run, ± for 9 runs in 10{'; boxed: play this' if one else ''}",
    ]
    for number, line in enumerate(lines):
        page.text(MARGIN, 0.940 - 0.019 * number, escape(line, "figure"), fontsize=7, va="top", color=PALE)
    return 0.902 - 0.019 * len(lines)


def _unit_words(sheet: Any) -> str:
    if sheet.unit == "paces":
        return f"paces of {sheet.pace:.2f} m"
    return {"ft": "feet", "m": "metres"}[sheet.unit]


def _centres(columns: Sequence[Any]) -> np.ndarray:
    """Return where the columns stand, as shares of the width."""
    left, right = 0.20, 1 - MARGIN
    return left + (np.arange(len(columns)) + 0.5) * (right - left) / len(columns)


def _rows(page: "Figure", sheets: Sequence[Any], columns: Sequence[Column], top: float) -> float:
    """Write the table; return where it ends."""
    one, centres = len(sheets) == 1, _centres(columns)
    page.text(MARGIN, top, "ball\nto pin", fontsize=7, va="center", color=INK)
    bold: dict[str, Any] = {"fontweight": "bold", "va": "center", "color": INK}
    for column, x in zip(columns, centres, strict=True):
        page.text(x, top, escape(column.heading, "figure"), fontsize=9 if one else 7.5, ha="center", **bold)
    step = min(0.056, (0.519 - 0.019 * len(sheets)) / len(sheets[0].table))
    y = top - 0.026
    for number, distance in enumerate(sheets[0].table.index):
        if number % 2 == 0:
            page.patches.append(_band(page, y - step, step))
        centre = y - step / 2
        best = str(sheets[0].best.loc[distance])
        other = best if one and best not in sheets[0].clubs else ""
        page.text(MARGIN + 0.01, centre + 0.008 * bool(other), f"{distance:g}", fontsize=9.5, **bold)
        page.text(MARGIN + 0.01, centre - 0.013, escape(other, "figure"), fontsize=7, va="center", color=INK)
        for column, x in zip(columns, centres, strict=True):
            big, small, boxed = column.cells[number]
            looks: dict[str, Any] = {"ha": "center", "va": "center", "color": INK if small or not one else PALE}
            if boxed:
                page.patches.append(_box(page, x, centre, step))
                looks["fontweight"] = "bold"
            page.text(x, centre + 0.009 * bool(small), escape(big, "figure"), fontsize=8, **looks)
            page.text(x, centre - 0.013, small, fontsize=7, **(looks | {"color": PALE}))
        y -= step
    return y


def _band(page: "Figure", bottom: float, height: float) -> Any:
    from matplotlib.patches import Rectangle

    corner, width = (MARGIN - 0.01, bottom), 1 - 2 * MARGIN + 0.02
    return Rectangle(corner, width, height, transform=page.transFigure, color=BAND, linewidth=0, zorder=0)


def whole(value: float, unit: str) -> str:
    """Return a length as a player can pace it: half paces and metres below ten, whole ones beyond, whole feet."""
    return f"{value:.0f}" if unit == "ft" or value >= TEN else f"{round(2 * value) / 2:g}"


def _move(value: float, unit: str) -> str:
    """Return how far a landing moves, with its sign."""
    if not np.isfinite(value):
        return "no"
    rounded = round(value) if unit == "ft" else round(2 * value) / 2
    return f"{rounded:+g}" if rounded else "0"


def _box(page: "Figure", x: float, y: float, step: float) -> Any:
    from matplotlib.patches import Rectangle

    width, height = 0.115, 0.86 * step
    corner = (x - width / 2, y - height / 2)
    return Rectangle(
        corner, width, height, transform=page.transFigure, fill=False, edgecolor=INK, linewidth=1.2, zorder=2
    )


def _moves(page: "Figure", sheet: Any, columns: Sequence[Column], top: float) -> float:
    """Write how far slopes and lies move the landing; return where that ends."""
    y = top - 0.012
    page.text(MARGIN, y, "move the landing by (- nearer):", fontsize=7, va="center", color=PALE)
    for number, name in enumerate(sheet.moves.columns):
        y -= 0.021
        page.text(MARGIN, y, escape(str(name), "figure"), fontsize=7, va="center", color=INK)
        for column, x in zip(columns, _centres(columns), strict=True):
            words = _move(column.moves[number], sheet.unit)
            page.text(x, y, words, fontsize=7, ha="center", va="center", color=INK)
    return y - 0.012


def _foot(page: "Figure", sheets: Sequence[Any], top: float) -> None:
    cautions = dict.fromkeys(caution for sheet in sheets for caution in sheet.cautions)
    lines = [escape(line, "figure") for caution in cautions for line in textwrap.wrap(caution, 66)]
    for number, line in enumerate(lines):
        page.text(MARGIN, top - 0.020 * number, line, fontsize=7, va="top", color=PALE)
