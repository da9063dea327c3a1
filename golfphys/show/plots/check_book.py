"""Picture of the check book: every difference as a share of its tolerance; style as in `golfphys.show.plots`."""

from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.show.plots.axes import name_rows, new_axes
from golfphys.show.style import GREY, OKABE_ITO, TURF, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes

LOOKS = {
    "publication": ("published or textbook figure", "o", OKABE_ITO["blue"]),
    "practice": ("practice of the trade", "^", OKABE_ITO["vermilion"]),
    "solver": ("solver or engine", "s", OKABE_ITO["black"]),
}
BIN, STEP, ROOM = 0.04, 0.13, 0.8  # dots nearer than BIN are set STEP apart, within ROOM of a row


@styled
def plot_check_book(book: pd.DataFrame, *, ax: "Axes | None" = None) -> "Axes":
    """Draw every check's difference as a share of its tolerance, by part of the chain.

    Parameters
    ----------
    book : DataFrame
        What `golfphys.show.worked.read_check_book` returned.
    ax : Axes, optional
        Where to draw.

    Returns
    -------
    Axes
        A row for each part of the chain, a dot for each check; within the shaded band a check passes.

    Examples
    --------
    >>> rows = {"part": ["skid", "skid"], "share": [0.2, -0.9], "against": ["solver", "publication"]}
    >>> [label.get_text() for label in plot_check_book(pd.DataFrame(rows)).get_yticklabels()]
    ['skid (2)']
    """
    parts = list(book["part"].unique())
    ax = new_axes(ax, 8.0, 1.8 + 0.62 * len(parts))
    ax.axvspan(-1.0, 1.0, color=TURF, alpha=0.45, linewidth=0)
    ax.axvline(0.0, color=GREY, linewidth=1.0)
    heights = pd.Series(0.0, index=book.index)
    for row, part in enumerate(parts):
        own = book.loc[book["part"] == part, "share"]
        heights[own.index] = row + _apart(own.to_numpy(float))
    for name, (words, marker, colour) in LOOKS.items():
        own = book["against"] == name
        style: dict[str, Any] = {"marker": marker, "color": colour, "s": 20, "alpha": 0.8, "linewidths": 0}
        ax.scatter(book.loc[own, "share"], heights[own], label=words, zorder=3, **style)
    counts = book["part"].value_counts()
    name_rows(ax, [f"{part} ({counts[part]})" for part in parts])
    widest = max(1.1, 1.05 * float(np.nanmax(np.abs(book["share"]))))
    ax.set_xlim(-widest, widest)
    for line in range(1, len(parts)):
        ax.axhline(line - 0.5, color="#DDDDDD", linewidth=0.6)
    ax.set_xlabel("(ours less the figure) over the tolerance (no unit; shaded: the check passes)")
    ax.set_title("Every check, by part of the chain (number of checks)")
    ax.legend(loc="upper center", bbox_to_anchor=(0.5, -0.09), ncols=3)
    return ax


def _apart(shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a height for each dot of a row, so that dots of nearly one share stand above each other."""
    bins = np.round(np.nan_to_num(shares) / BIN).astype(int)
    heights = np.zeros(len(shares))
    for number in np.unique(bins):
        at = np.flatnonzero(bins == number)
        step = min(STEP, ROOM / max(1, len(at) - 1))
        heights[at] = step * (np.arange(len(at)) - (len(at) - 1) / 2)
    return heights
