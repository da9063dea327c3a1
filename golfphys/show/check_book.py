"""The check book: every figure from outside the project beside our own value, read, counted and drawn."""

from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.show import style
from golfphys.show.style import Axes

NUMBERS = ["expected", "ours", "difference", "tolerance"]
AGAINST = {
    "publication": ("published", "published or textbook figure", "o", style.OKABE_ITO["blue"]),
    "practice": ("practice", "practice of the trade", "^", style.OKABE_ITO["vermilion"]),
    "solver": ("solver", "solver or engine", "s", style.OKABE_ITO["black"]),
}
"""What a check holds us to: the heading it has in a count, words, marker and colour."""
MARKS = ("read", "memory", "derived", "practice")


def read_check_book(path: "str | Path") -> pd.DataFrame:
    r"""Read the check book that a run of the tests wrote, ``data/check_book.csv``.

    A row for each check, by part of the chain: ``part``, ``check`` (short name), ``what``, ``expected``, ``ours``,
    ``difference`` and ``tolerance`` (in ``unit``; ``figure`` is the expected value as printed), ``share`` (difference
    over tolerance, within -1 and 1 where the check passes), ``passed``, ``against`` (publication, practice or solver),
    ``mark``, ``source``, ``locator``, ``reason``. A check that has not run yet has NaN.
    """
    book = pd.read_csv(path, dtype=str, keep_default_na=False)
    book["figure"], book["passed"] = book["expected"], book["passed"] == "yes"
    book[NUMBERS] = book[NUMBERS].replace("", "nan").astype(float)
    return book.assign(share=book["difference"] / book["tolerance"])


def check_counts(book: pd.DataFrame) -> pd.DataFrame:
    """Return how many checks each part of the chain has, by what they hold us to and by mark. A last row counts all."""
    held = {("held to", words): book["against"] == name for name, (words, *_) in AGAINST.items()}
    marked = {("mark", name): book["mark"] == name for name in MARKS}
    flags = pd.DataFrame({**held, **marked, ("", "all"): True}, index=book.index)
    counts = flags.groupby(book["part"], sort=False).sum()
    counts.loc["all"] = counts.sum()
    return counts.rename_axis("part of the chain")


def checks_of(book: pd.DataFrame, part: str | None = None) -> pd.DataFrame:
    """Return the checks of one part of the chain, or of all, in words; ValueError if the book has no such part."""
    if part is None:
        return _in_words(book).set_index(pd.Index(book["part"], name="part"), append=True).swaplevel()
    own = book[book["part"] == part]
    if own.empty:
        raise ValueError(f"part is {part!r}; expected one of {', '.join(book['part'].unique())}")
    return _in_words(own)


def closest_checks(book: pd.DataFrame, number: int = 8) -> pd.DataFrame:
    """Return the `number` checks that come nearest to failing, in words, nearest to its tolerance first."""
    order = book["share"].abs().sort_values(ascending=False, kind="stable").index[:number]
    return _in_words(book.loc[order])


def _in_words(rows: pd.DataFrame) -> pd.DataFrame:
    columns = {
        "figure": (rows["figure"] + " " + rows["unit"]).str.strip(),
        "ours": rows["ours"].map("{:.6g}".format),
        "within": rows["tolerance"].map("{:.2g}".format),
        "share of tolerance": rows["share"].map("{:+.2f}".format),
        "mark": rows["mark"],
        "source": rows["source"],
    }
    return pd.DataFrame(columns).set_axis(pd.Index(rows["what"], name="what"))


def read_not_checked(path: "str | Path") -> list[str]:
    r"""Read what nothing outside the project checks, ``data/not_checked.md``: a sentence or two for each item."""
    text = "\n" + Path(path).read_text(encoding="utf-8").strip()
    return [" ".join(item.split()) for item in text.split("\n- ")[1:]]


# --- the picture -----------------------------------------------------------------------------------------------------
BIN, STEP, ROOM = 0.04, 0.13, 0.8  # dots nearer than BIN are set STEP apart, within ROOM of a row


@style.picture("golfphys.worked.read_check_book")
def plot_check_book(book: pd.DataFrame, *, ax: Axes | None = None) -> Axes:
    """Draw every check's difference as a fraction of its tolerance, a row for each part of the chain.

    Within the shaded band a check passes; checks that have not run are counted in their row.
    """
    parts = {str(part): own for part, own in book.groupby("part", sort=False)}
    ax = style.new_axes(ax, 8.0, 1.8 + 0.62 * len(parts))
    ax.axvspan(-1.0, 1.0, color=style.TURF, alpha=0.45, linewidth=0)
    ax.axvline(0.0, color=style.GREY, linewidth=1.0)
    heights = pd.Series(0.0, index=book.index)
    for row, own in enumerate(parts.values()):
        heights[own.index] = row + _apart(own["share"].to_numpy(float))
    for name, (_, words, marker, colour) in AGAINST.items():
        held = book["against"] == name
        dots: dict[str, Any] = {"marker": marker, "color": colour, "s": 20, "alpha": 0.8, "linewidths": 0}
        ax.scatter(book.loc[held, "share"], heights[held], label=words, zorder=3, **dots)
    missing = {part: f", {number} not run" for part, own in parts.items() if (number := int(own["share"].isna().sum()))}
    style.name_rows(ax, [f"{part} ({len(own)}{missing.get(part, '')})" for part, own in parts.items()])
    widest = max([1.1, *(1.05 * abs(share) for share in book["share"] if share == share)])
    ax.set_xlim(-widest, widest)
    for line in range(1, len(parts)):
        ax.axhline(line - 0.5, color="#DDDDDD", linewidth=0.6)
    words = "(ours less the figure) over the tolerance (no unit; shaded: the check passes)"
    title = "Every check, by part of the chain (number of checks)"
    return style.finish(ax, words, "", title, legend="upper center", bbox_to_anchor=(0.5, -0.09), ncols=3)


def _apart(shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a height for each dot of a row, so that dots of nearly one share stand above each other."""
    bins = np.round(np.nan_to_num(shares) / BIN).astype(int)
    heights = np.zeros(len(shares))
    for number in np.unique(bins):
        at = np.flatnonzero(bins == number)
        step = min(STEP, ROOM / max(1, len(at) - 1))
        heights[at] = step * (np.arange(len(at)) - (len(at) - 1) / 2)
    return heights
