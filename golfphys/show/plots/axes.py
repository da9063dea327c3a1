"""What figures share: axes to draw on, rows and legends, and the look of each name and of each club."""

from collections.abc import Callable, Iterable, Sequence
from typing import TYPE_CHECKING, Any

from golfphys.physics.club import BAG
from golfphys.show.style import CYCLE, MARKERS, looks

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


def from_zero(ax: "Axes") -> None:
    """Let both axes begin at zero."""
    ax.set_xlim(left=0.0)
    ax.set_ylim(bottom=0.0)


def name_rows(ax: "Axes", names: Sequence[str]) -> None:
    """Give a row of height 1 to each name, the first on top, without lines between them."""
    ax.set_yticks(range(len(names)), names)
    ax.set_ylim(len(names) - 0.5, -0.5)
    ax.grid(visible=False, axis="y")


def legend_beside(ax: "Axes", **options: Any) -> None:
    """Put the legend to the right of the axes; `options` are matplotlib's."""
    ax.legend(loc="upper left", bbox_to_anchor=(1.0, 1.0), **options)


def points(names: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return colour and marker of each name's points, in order: keyword arguments of matplotlib's ``plot``."""
    return {name: {"color": CYCLE[i % len(CYCLE)], "marker": MARKERS[i % len(MARKERS)]} for i, name in enumerate(names)}


def marked(names: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Return the look of each name's line with its points: `looks` and `points` in one."""
    dots = points(names)
    return {name: look | dots[name] for name, look in looks(names).items()}


def in_bag_order(clubs: Iterable[str]) -> list[str]:
    """Return clubs once each, those of the bag first and in its order."""
    names = list(dict.fromkeys(str(club) for club in clubs))
    return [*(club for club in BAG if club in names), *(club for club in names if club not in BAG)]


def club_looks(clubs: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return the look of each club, the same in every figure, in the order of the bag."""
    return _of_bag(clubs, looks)


def club_points(clubs: Iterable[str]) -> dict[str, dict[str, Any]]:
    """Return colour and marker of each club's points, those of its lines in every figure, in the order of the bag."""
    return _of_bag(clubs, points)


def _of_bag(clubs: Iterable[str], look: Callable[[list[str]], dict[str, dict[str, Any]]]) -> dict[str, dict[str, Any]]:
    """Looks of clubs that do not depend on which others are drawn: all of the bag take theirs first."""
    names = in_bag_order(clubs)
    known = look([*BAG, *(club for club in names if club not in BAG)])
    return {club: known[club] for club in names}
