"""Pictures of the hole, of putting out, and of the check book."""

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.physics import hole
from golfphys.physics.putting import MakeFit, PuttsToHoleOut
from golfphys.show.style import (
    GREY,
    OKABE_ITO,
    TURF,
    LengthUnit,
    curves,
    finish,
    name_rows,
    new_axes,
    picture,
    points,
)

if TYPE_CHECKING:
    from matplotlib.axes import Axes


@picture()
def plot_capture(*, ax: "Axes | None" = None, unit: str = "cm") -> "Axes":
    """Draw the fastest ball that the hole takes against its offset from the centre, a line for each law.

    Examples
    --------
    >>> [line.get_label() for line in plot_capture().lines]
    ['with the far rim (Holmes, Penner)', 'free fall only (derived)']
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    offset = np.linspace(-constants.HOLE_RADIUS.value, constants.HOLE_RADIUS.value, 217)
    names = {"far rim": "with the far rim (Holmes, Penner)", "free fall": "free fall only (derived)"}
    laws = {names[law]: hole.capture_speed(offset, law=law) for law in hole.CAPTURE_LAWS}
    curves(ax, {name: (length.show(offset), speed) for name, speed in laws.items()})
    ax.set_ylim(0.0, 1.8)
    words = length.label("offset of the path from the centre of the hole"), "fastest ball held (m/s)"
    return finish(ax, *words, "The hole takes a slower ball the farther off centre it comes", legend="lower center")


@picture()
def plot_make_probability(fits: MakeFit | Sequence[MakeFit], *, ax: "Axes | None" = None, unit: str = "ft") -> "Axes":
    """Draw the share of putts holed against distance: counted, and as fitted models have it.

    Parameters
    ----------
    fits : MakeFit or sequence of MakeFit
        What `golfphys.putting.fit_make_probability` returned.

    Examples
    --------
    >>> from golfphys.physics.putting import fit_make_probability
    >>> from golfphys.sheets import read_make_table
    >>> plot_make_probability(fit_make_probability(read_make_table("berry_1996"), model="angle")).get_ylabel()
    'share of putts holed'
    """
    fits = [fits] if isinstance(fits, MakeFit) else list(fits)
    ax, length = new_axes(ax), LengthUnit(unit)
    tables = {_published(fit.table.name): fit.table for fit in fits}
    for name, look in points(tables).items():
        table = tables[name]
        error = 2 * np.sqrt(table.share * (1.0 - table.share) / table.tries)
        label = f"{look['label']}, counted (bars: 2 standard errors)"
        counted = look | {"color": GREY, "label": label, "markersize": 4}
        ax.errorbar(length.show(table.distance), table.share, error, **counted)
    distance = np.linspace(0.0, max(float(table.distance.max()) for table in tables.values()), 300)
    words = {"LogisticModel": "log odds", "AngleModel": "direction", "AngleDistanceModel": "direction and distance"}
    models = {f"{words[type(fit.model).__name__]}, fitted to {_published(fit.table.name)}": fit.model for fit in fits}
    lines = {name: (length.show(distance), model.probability(distance)) for name, model in models.items()}
    curves(ax, lines, zorder=3)
    ax.set_ylim(0.0, 1.02)
    labels = length.label("length of the putt"), "share of putts holed"
    return finish(ax, *labels, "Putts holed by distance", zero="x")


def _published(table: str) -> str:
    """Return a table's name for a legend: author and years for a published one."""
    published = re.fullmatch(r"([a-z]+)_(\d{4})(?:_(\d{4}))?", table)
    if published is None:
        return table
    author, first, last = published.groups()
    return f"{author.title()} {first}" + (f" to {last}" if last else "")


@picture()
def plot_expected_putts(
    putts: PuttsToHoleOut | Mapping[str, PuttsToHoleOut],
    *,
    farthest: float = 20.0,
    ax: "Axes | None" = None,
    unit: str = "ft",
) -> "Axes":
    """Draw the average number of putts to hole out against distance, a line for each player.

    Parameters
    ----------
    putts : PuttsToHoleOut or mapping of name to PuttsToHoleOut
        What `golfphys.putting.putts_to_hole_out` returned, for one player or several.
    farthest : float
        Longest putt drawn, m.

    Examples
    --------
    >>> from golfphys.physics.putting import putts_to_hole_out
    >>> plot_expected_putts({"tour": putts_to_hole_out()}).get_xlabel()
    'length of the putt (ft)'
    """
    ax, length = new_axes(ax), LengthUnit(unit)
    several = putts if isinstance(putts, Mapping) else {"": putts}
    near = {name: table.distance <= farthest for name, table in several.items()}
    lines = {
        name: (length.show(table.distance[near[name]]), table.putts[near[name]]) for name, table in several.items()
    }
    curves(ax, lines)
    ax.set_ylim(bottom=0.98)
    words = length.label("length of the putt"), "average putts to hole out"
    return finish(ax, *words, "Putts it takes by distance", zero="x", legend="best" if putts is several else "")


# --- the check book --------------------------------------------------------------------------------------------------
AGAINST = {
    "publication": ("published or textbook figure", "o", OKABE_ITO["blue"]),
    "practice": ("practice of the trade", "^", OKABE_ITO["vermilion"]),
    "solver": ("solver or engine", "s", OKABE_ITO["black"]),
}
BIN, STEP, ROOM = 0.04, 0.13, 0.8  # dots nearer than BIN are set STEP apart, within ROOM of a row


@picture("golfphys.worked.read_check_book")
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
    ax = new_axes(ax, 8.0, 1.8 + 0.62 * len(parts))
    ax.axvspan(-1.0, 1.0, color=TURF, alpha=0.45, linewidth=0)
    ax.axvline(0.0, color=GREY, linewidth=1.0)
    heights = pd.Series(0.0, index=book.index)
    for row, own in enumerate(parts.values()):
        heights[own.index] = row + _apart(own["share"].to_numpy(float))
    for name, (words, marker, colour) in AGAINST.items():
        held = book["against"] == name
        style: dict[str, Any] = {"marker": marker, "color": colour, "s": 20, "alpha": 0.8, "linewidths": 0}
        ax.scatter(book.loc[held, "share"], heights[held], label=words, zorder=3, **style)
    missing = {part: int(own["share"].isna().sum()) for part, own in parts.items()}
    names = (
        f"{part} ({len(own)}" + (f", {missing[part]} not run)" if missing[part] else ")") for part, own in parts.items()
    )
    name_rows(ax, list(names))
    widest = max([1.1, *(1.05 * abs(share) for share in book["share"] if share == share)])
    ax.set_xlim(-widest, widest)
    for line in range(1, len(parts)):
        ax.axhline(line - 0.5, color="#DDDDDD", linewidth=0.6)
    words = "(ours less the figure) over the tolerance (no unit; shaded: the check passes)"
    title = "Every check, by part of the chain (number of checks)"
    return finish(ax, words, "", title, legend="upper center", bbox_to_anchor=(0.5, -0.09), ncols=3)


def _apart(shares: NDArray[np.float64]) -> NDArray[np.float64]:
    """Return a height for each dot of a row, so that dots of nearly one share stand above each other."""
    bins = np.round(np.nan_to_num(shares) / BIN).astype(int)
    heights = np.zeros(len(shares))
    for number in np.unique(bins):
        at = np.flatnonzero(bins == number)
        step = min(STEP, ROOM / max(1, len(at) - 1))
        heights[at] = step * (np.arange(len(at)) - (len(at) - 1) / 2)
    return heights
