"""Axes to draw on, and the look of each club, the same in every figure."""

from collections.abc import Iterable
from typing import TYPE_CHECKING, Any

from golfphys.club import BAG
from golfphys.style import CYCLE, MARKERS, looks

if TYPE_CHECKING:
    from matplotlib.axes import Axes


def new_axes(ax: "Axes | None", width: float = 7.0, height: float = 4.2, **options: Any) -> "Axes":
    """Return `ax`, or that of a new figure.

    Parameters
    ----------
    ax : Axes or None
        Where to draw.
    width, height : float
        Size of a new figure, inches.
    **options
        What the axes of a new figure are, such as ``projection="polar"``.

    Returns
    -------
    Axes
        The axes to draw on.
    """
    if ax is not None:
        return ax
    from matplotlib import pyplot

    return pyplot.subplots(figsize=(width, height), layout="constrained", subplot_kw=options or None)[1]


def in_bag_order(clubs: Iterable[str]) -> list[str]:
    """Return clubs once each, those of the bag first and in its order."""
    names = list(dict.fromkeys(str(club) for club in clubs))
    return [*(club for club in BAG if club in names), *(club for club in names if club not in BAG)]


def club_looks(clubs: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the look of each club, the same in every figure, in the order of the bag."""
    names = in_bag_order(clubs)
    known = looks([*BAG, *(club for club in names if club not in BAG)])
    return {club: known[club] for club in names}


def club_points(clubs: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return colour and marker of each club's points, those of its lines in every figure, in the order of the bag."""
    names = in_bag_order(clubs)
    order = [*BAG, *(club for club in names if club not in BAG)]
    place = {club: order.index(club) for club in names}
    return {club: {"color": CYCLE[i % len(CYCLE)], "marker": MARKERS[i % len(MARKERS)]} for club, i in place.items()}
