"""The sheet to carry as one printed page, no larger than the rules of golf allow."""

import io
import textwrap
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


def draw_carry_sheet(sheet: Any) -> "Figure":
    """Draw a sheet to carry, what `golfphys.make_carry_sheet` returned, as a page of `PAPER_IN` inches.

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

    with figure_style():
        page: Figure = _page_class()(figsize=PAPER_IN)
        FigureCanvasAgg(page)
        # notebooks do not show a figure without axes: these hold nothing
        page.add_axes((0.0, 0.0, 1.0, 1.0)).set_axis_off()
        _head(page, sheet)
        bottom = _rows(page, sheet, top=0.845)
        bottom = _moves(page, sheet, bottom - 0.012)
        _foot(page, sheet, bottom - 0.012)
    return page


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
    """Save a sheet to carry for printing, a page of at most 4.25 x 7 in; `path` ends in ``.pdf`` or ``.png``.

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


def _head(page: "Figure", sheet: Any) -> None:
    page.text(MARGIN, 0.972, escape(sheet.title, "figure"), fontsize=11, fontweight="bold", va="top", color=INK)
    page.text(1 - MARGIN, 0.97, sheet.made_for.isoformat(), fontsize=8.5, va="top", ha="right", color=INK)
    lines = [
        sheet.green,
        sheet.player,
        f"in {_unit_words(sheet)}, level: land/run, ± for 9 runs in 10; boxed: play this",
    ]
    for number, line in enumerate(lines):
        page.text(MARGIN, 0.940 - 0.019 * number, escape(line, "figure"), fontsize=7, va="top", color=PALE)


def _unit_words(sheet: Any) -> str:
    if sheet.unit == "paces":
        return f"paces of {sheet.pace:.2f} m"
    return {"ft": "feet", "m": "metres"}[sheet.unit]


def _centres(sheet: Any) -> np.ndarray:
    """Return where the columns of the clubs stand, as shares of the width."""
    left, right = 0.20, 1 - MARGIN
    return left + (np.arange(len(sheet.clubs)) + 0.5) * (right - left) / len(sheet.clubs)


def _rows(page: "Figure", sheet: Any, top: float) -> float:
    """Write the table; return where it ends."""
    clubs, centres = sheet.clubs, _centres(sheet)
    page.text(MARGIN, top, "ball\nto pin", fontsize=7, va="center", color=INK)
    for club, x in zip(clubs, centres, strict=True):
        page.text(
            x,
            top,
            escape(short_name(club), "figure"),
            fontsize=9,
            fontweight="bold",
            ha="center",
            va="center",
            color=INK,
        )
    step = min(0.056, 0.50 / len(sheet.table))
    y = top - 0.026
    for number, (distance, row) in enumerate(sheet.table.iterrows()):
        if number % 2 == 0:
            page.patches.append(_band(page, y - step, step))
        centre = y - step / 2
        other = "" if sheet.best.loc[distance] in clubs else str(sheet.best.loc[distance])
        high = 0.008 if other else 0.0
        page.text(
            MARGIN + 0.01, centre + high, f"{distance:g}", fontsize=9.5, fontweight="bold", va="center", color=INK
        )
        page.text(MARGIN + 0.01, centre - 0.013, escape(other, "figure"), fontsize=7, va="center", color=INK)
        for club, x in zip(clubs, centres, strict=True):
            land, run, give = (float(row[club, name]) for name in ("land", "run", "give"))
            if not np.isfinite(land):
                page.text(x, centre, "-", fontsize=8, ha="center", va="center", color=PALE)
                continue
            looks: dict[str, Any] = {"ha": "center", "va": "center", "color": INK}
            if sheet.best.loc[distance] == club:
                page.patches.append(_box(page, x, centre, step))
                looks["fontweight"] = "bold"
            page.text(x, centre + 0.009, f"{whole(land, sheet.unit)}/{whole(run, sheet.unit)}", fontsize=8, **looks)
            page.text(x, centre - 0.013, f"±{whole(give, sheet.unit)}", fontsize=7, **(looks | {"color": PALE}))
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


def _moves(page: "Figure", sheet: Any, top: float) -> float:
    """Write how far slopes and lies move the landing; return where that ends."""
    y = top - 0.012
    page.text(MARGIN, y, "move the landing by (- nearer):", fontsize=7, va="center", color=PALE)
    for name in sheet.moves.columns:
        y -= 0.021
        page.text(MARGIN, y, escape(str(name), "figure"), fontsize=7, va="center", color=INK)
        for club, x in zip(sheet.clubs, _centres(sheet), strict=True):
            moved = float(sheet.moves.loc[club, name])
            words = _move(moved, sheet.unit)
            page.text(x, y, words, fontsize=7, ha="center", va="center", color=INK)
    return y - 0.012


def _foot(page: "Figure", sheet: Any, top: float) -> None:
    lines = [escape(line, "figure") for caution in sheet.cautions for line in textwrap.wrap(caution, 66)]
    for number, line in enumerate(lines):
        page.text(MARGIN, top - 0.020 * number, line, fontsize=7, va="top", color=PALE)
