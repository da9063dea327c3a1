"""Pictures of the hole and of putting out; style as in `golfphys.show.plots`."""

import re
from collections.abc import Mapping, Sequence
from typing import TYPE_CHECKING

import numpy as np

from golfphys.core import constants
from golfphys.physics import hole
from golfphys.physics.putting import MakeFit, PuttsToHoleOut
from golfphys.show.plots.axes import new_axes, points
from golfphys.show.style import GREY, LengthUnit, looks, styled

if TYPE_CHECKING:
    from matplotlib.axes import Axes


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
    ax, length = new_axes(ax), LengthUnit(unit)
    edge = constants.HOLE_RADIUS.value
    offset = np.linspace(-edge, edge, 217)
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
        What `golfphys.physics.putting.fit_make_probability` returned.
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
    >>> from golfphys.physics.putting import fit_make_probability
    >>> plot_make_probability(fit_make_probability("berry_1996", model="angle")).get_ylabel()
    'share of putts holed'
    """
    fits = [fits] if isinstance(fits, MakeFit) else list(fits)
    ax, length = new_axes(ax), LengthUnit(unit)
    tables = {fit.table.name: fit.table for fit in fits}
    for name, look in points(tables).items():
        table = tables[name]
        chance = np.sqrt(table.share * (1.0 - table.share) / table.tries)
        place, fmt = length.show(table.distance), look["marker"]
        counted = ax.errorbar(place, table.share, 2 * chance, fmt=fmt, color=GREY, markersize=4)
        counted.set_label(f"{_words(name)}, counted (bars: 2 standard errors)")
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
        What `golfphys.physics.putting.putts_to_hole_out` returned, for one player or several.
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
    >>> from golfphys.physics.putting import putts_to_hole_out
    >>> plot_expected_putts({"tour": putts_to_hole_out()}).get_xlabel()
    'length of the putt (ft)'
    """
    ax, length = new_axes(ax), LengthUnit(unit)
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
