"""Picture of the check book."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.show import style

if TYPE_CHECKING:
    from matplotlib.axes import Axes

AGAINST = {
    "publication": ("published or textbook figure", "o", style.OKABE_ITO["blue"]),
    "practice": ("practice of the trade", "^", style.OKABE_ITO["vermilion"]),
    "solver": ("solver or engine", "s", style.OKABE_ITO["black"]),
}
BIN, STEP, ROOM = 0.04, 0.13, 0.8  # dots nearer than BIN are set STEP apart, within ROOM of a row


@style.picture("golfphys.worked.read_check_book")
def plot_check_book(book: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw every check's difference as a fraction of its tolerance, a row for each part of the chain.

    Within the shaded band a check passes; checks that have not run are counted in their row.

    Examples
    --------
    >>> rows = {"part": ["skid", "skid"], "share": [0.2, -0.9], "against": ["solver", "publication"]}
    >>> [label.get_text() for label in plot_check_book(pd.DataFrame(rows)).get_yticklabels()]
    ['skid (2)']
    """
    parts = {str(part): own for part, own in book.groupby("part", sort=False)}
    ax = style.new_axes(ax, 8.0, 1.8 + 0.62 * len(parts))
    ax.axvspan(-1.0, 1.0, color=style.TURF, alpha=0.45, linewidth=0)
    ax.axvline(0.0, color=style.GREY, linewidth=1.0)
    heights = pd.Series(0.0, index=book.index)
    for row, own in enumerate(parts.values()):
        heights[own.index] = row + _apart(own["share"].to_numpy(float))
    for name, (words, marker, colour) in AGAINST.items():
        held = book["against"] == name
        dots: dict[str, Any] = {"marker": marker, "color": colour, "s": 20, "alpha": 0.8, "linewidths": 0}
        ax.scatter(book.loc[held, "share"], heights[held], label=words, zorder=3, **dots)
    missing = {part: int(own["share"].isna().sum()) for part, own in parts.items()}
    names = (
        f"{part} ({len(own)}" + (f", {missing[part]} not run)" if missing[part] else ")") for part, own in parts.items()
    )
    style.name_rows(ax, list(names))
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
