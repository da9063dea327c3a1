"""The one style of golfphys figures: colours that colour-blind readers can tell apart, units, captions.

Colours are those of Okabe and Ito (2008, memory). matplotlib is loaded when a figure is made, not before.
"""

import textwrap
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import wraps
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

from golfphys.core.units import FACTORS_TO_SI

if TYPE_CHECKING:
    from matplotlib.axes import Axes

P = ParamSpec("P")
T = TypeVar("T")

OKABE_ITO: dict[str, str] = {
    "black": "#000000",
    "orange": "#E69F00",
    "sky": "#56B4E9",
    "green": "#009E73",
    "yellow": "#F0E442",
    "blue": "#0072B2",
    "vermilion": "#D55E00",
    "purple": "#CC79A7",
}
"""The palette by name."""

CYCLE: tuple[str, ...] = tuple(
    OKABE_ITO[name] for name in ("blue", "vermilion", "green", "purple", "orange", "black", "sky")
)
"""Order in which lines take colours; yellow is left out, it is too pale for a line."""

DASHES: tuple[Any, ...] = (
    "solid",
    (0, (5, 1.5)),
    (0, (1, 1)),
    (0, (6, 1.5, 1, 1.5)),
    (0, (3, 1)),
    (0, (8, 2)),
    "solid",
)
"""Line styles that go with `CYCLE`, so that lines differ in print without colour too."""

MARKERS: tuple[str, ...] = ("o", "s", "^", "D", "v", "P", "X")
"""Markers that go with `CYCLE`."""

GREY = "#666666"
TURF = "#CFE5D6"
"""Fill for the green in drawings."""
ROUGH = "#9DBFA6"
"""Fill for the ground before the green in drawings."""


@contextmanager
def figure_style() -> Iterator[None]:
    """Draw in the project's style within this context; what was set before comes back after it.

    Examples
    --------
    >>> import matplotlib
    >>> with figure_style():
    ...     matplotlib.rcParams["axes.spines.top"]
    False
    """
    import matplotlib
    from cycler import cycler
    from matplotlib import pyplot

    settings: Any = {
        "axes.prop_cycle": cycler(color=CYCLE),
        "axes.spines.top": False,
        "axes.spines.right": False,
        "axes.grid": True,
        "axes.axisbelow": True,
        "axes.titlesize": 11,
        "axes.titlelocation": "left",
        "axes.labelsize": 10,
        "grid.color": "#DDDDDD",
        "grid.linewidth": 0.6,
        "font.size": 10,
        "legend.frameon": False,
        "legend.fontsize": 9,
        "lines.linewidth": 1.8,
        "lines.markersize": 5,
        "figure.dpi": 100,
        "savefig.dpi": 150,
        "savefig.facecolor": "white",
        "svg.hashsalt": "golfphys",
    }
    # a notebook's drawing backend changes settings when it is first loaded: outside the context, so that they last
    pyplot.draw_if_interactive()  # type: ignore[no-untyped-call]
    with matplotlib.rc_context(settings):
        yield


def styled(plot: Callable[P, T]) -> Callable[P, T]:
    """Make a plotting function draw in the project's style."""

    @wraps(plot)
    def drawn(*arguments: P.args, **options: P.kwargs) -> T:
        with figure_style():
            return plot(*arguments, **options)

    return drawn


@dataclass(frozen=True)
class LengthUnit:
    """A unit of length for axes and labels.

    Parameters
    ----------
    symbol : {"m", "ft", "yd", "cm", "in"}
        Its symbol, as in `golfphys.core.units`.

    Raises
    ------
    ValueError
        If the symbol is no unit of length.

    Examples
    --------
    >>> feet = LengthUnit("ft")
    >>> round(feet.show(3.048), 6), feet.label("distance")
    (10.0, 'distance (ft)')
    """

    symbol: str

    def __post_init__(self) -> None:
        """Check the symbol."""
        if self.symbol not in ("m", "ft", "yd", "cm", "in"):
            raise ValueError(f"unit is {self.symbol!r}; expected one of 'm', 'ft', 'yd', 'cm', 'in'")

    def show(self, metres: Any) -> Any:
        """Return a length in m, or an array of them, in this unit."""
        return metres / FACTORS_TO_SI[self.symbol]

    def label(self, words: str) -> str:
        """Return an axis label: the words with the unit."""
        return f"{words} ({self.symbol})"


def looks(names: Sequence[str]) -> dict[str, dict[str, Any]]:
    """Return a colour and a line style for each name, in order: keyword arguments of matplotlib's ``plot``.

    Examples
    --------
    >>> looks(["8-iron", "9-iron"])["8-iron"]["color"]
    '#0072B2'
    """
    return {
        name: {"color": CYCLE[number % len(CYCLE)], "linestyle": DASHES[number % len(DASHES)]}
        for number, name in enumerate(names)
    }


def caption(ax: "Axes", words: str, *, width: int = 110) -> None:
    """Write a caption under the figure that `ax` belongs to, wrapped to `width` characters."""
    figure = ax.figure
    figure.supxlabel("\n".join(textwrap.wrap(words, width)), x=0.01, ha="left", fontsize=9, color=GREY)
