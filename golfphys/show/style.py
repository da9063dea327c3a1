"""The one style of golfphys figures, and what they share: colours, units, axes, names of lines and points, legends.

Colours are those of Okabe and Ito (2008, memory), which colour-blind readers can tell apart. matplotlib is loaded when
a figure is made, not before.
"""

import inspect
import io
import textwrap
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from functools import cache, wraps
from typing import TYPE_CHECKING, Any, ParamSpec, TypeVar

import numpy as np

from golfphys.core.units import FACTORS_TO_SI
from golfphys.physics.club import BAG, bag_with
from golfphys.show.markup import escape

if TYPE_CHECKING:
    from matplotlib.axes import Axes as Axes
else:
    Axes = Any  # matplotlib is loaded by the first figure

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
CYCLE = tuple(OKABE_ITO[name] for name in ("blue", "vermilion", "green", "purple", "orange", "black", "sky"))
"""Order in which lines take colours; yellow is left out, it is too pale for a line."""
DASHES: tuple[Any, ...] = ("solid", (0, (5, 1.5)), (0, (1, 1)), (0, (6, 1.5, 1, 1.5)), (0, (3, 1)), (0, (8, 2)))
"""Line styles, so that lines differ in print without colour too; one fewer than colours, so that pairs repeat late."""
MARKERS = ("o", "s", "^", "D", "v", "P", "X")
GREY, TURF, ROUGH = "#666666", "#CFE5D6", "#9DBFA6"
"""Colours of helping lines, of the green, and of the ground before the green."""
RING: dict[str, Any] = {"markersize": 13, "markerfacecolor": "none", "color": "black", "linestyle": "none"}
"""Look of a ring about a point."""

SETTINGS: dict[str, Any] = {
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


@contextmanager
def figure_style() -> Iterator[None]:
    """Draw in the project's style within this context; what was set before comes back after it."""
    import matplotlib
    from cycler import cycler
    from matplotlib import pyplot

    # a notebook's drawing backend changes settings when it is first loaded: outside the context, so that they last
    pyplot.draw_if_interactive()  # type: ignore[no-untyped-call]
    settings: Any = SETTINGS | {"axes.prop_cycle": cycler(color=CYCLE)}
    with matplotlib.rc_context(settings):
        yield


def rendered(figure: Any, form: str, **options: Any) -> bytes:
    """Return the bytes of a figure as ``png`` or ``pdf``, the same for the same figure: no date is written into it."""
    buffer = io.BytesIO()
    stamp: dict[str, Any] = {"metadata": {"CreationDate": None}}
    if form == "png":
        stamp = {"metadata": {"Software": None}, "pil_kwargs": {"compress_level": 3}}
    with figure_style():
        figure.savefig(buffer, format=form, **{"dpi": figure.dpi, **stamp, **options})
    return buffer.getvalue()


@cache
def still_class() -> Any:
    """Return the class of a figure that shows itself in a notebook, with no window system and no list of open ones."""
    from matplotlib.figure import Figure

    class StillFigure(Figure):
        def _repr_png_(self) -> bytes:
            return rendered(self, "png")

    return StillFigure


SHARED = {
    "ax": ("Axes, optional", "Where to draw; on a new figure if left out."),
    "unit": ("str", "Unit of lengths, m, ft, yd, cm or in; if empty that of `golfphys.style.show_lengths_in`, else m."),
    "fit": ("CourseFit", "What `golfphys.fit` returned; of rolls or films its ``.rollouts`` or ``.films``."),
    "scale": ("float", "Factor for showing, 100 for percent."),
    "label": ("str", "Axis label; the parameter in words if left out."),
    "plan": ("ChipPlan", "What `golfphys.plan_chip` returned."),
    "clubs": ("iterable of str, optional", "Which clubs, in which order; all, or the plan's pick, if left out."),
}
"""Parameters that figures share, described once: `picture` writes them into each docstring."""


def picture(drawn: str = "") -> Callable[[Callable[P, T]], Callable[P, T]]:
    """Make a plotting function draw in the project's style, and describe the parameters that all figures share.

    `drawn` says where its first argument comes from, such as ``golfphys.worked.two_way``.
    """

    def decorate(plot: Callable[P, T]) -> Callable[P, T]:
        @wraps(plot)
        def styled(*arguments: P.args, **options: P.kwargs) -> T:
            with figure_style():
                return plot(*arguments, **options)

        names = inspect.signature(plot).parameters
        first = next(iter(names.values()))
        kind = str(first.annotation).rpartition(".")[2].strip("'>")
        about = {first.name: (kind, f"What `{drawn}` returned.")} if drawn else {}
        about |= {name: SHARED[name] for name in names if name in SHARED}
        listed = "\n".join(f"{name} : {kind}\n    {words}" for name, (kind, words) in about.items())
        text = inspect.cleandoc(plot.__doc__ or "")
        styled.__doc__ = (
            f"{text}\n\nParameters\n----------\n{listed}\n\nReturns\n-------\nAxes\n    The axes drawn on.\n"
        )
        return styled

    return decorate


@dataclass(frozen=True)
class LengthUnit:
    """A unit of length for axes, tables and labels: m, ft, yd, cm or in; if empty that of `show_lengths_in`, or else m.

    >>> feet = LengthUnit("ft")
    >>> round(feet.show(3.048), 6), feet.label("distance"), feet.small.symbol
    (10.0, 'distance (ft)', 'in')
    """

    symbol: str = ""

    def __post_init__(self) -> None:
        """Check the symbol."""
        if not self.symbol:
            object.__setattr__(self, "symbol", _SHOWN["lengths"])
        if self.symbol not in ("m", "ft", "yd", "cm", "in"):
            raise ValueError(f"unit is {self.symbol!r}; expected one of 'm', 'ft', 'yd', 'cm', 'in'")

    @property
    def metric(self) -> bool:
        """Whether it is one of the metre's kind."""
        return self.symbol in ("m", "cm")

    @property
    def small(self) -> "LengthUnit":
        """The unit for small lengths beside it: cm or in."""
        return LengthUnit("cm" if self.metric else "in")

    @property
    def circle(self) -> tuple[str, str, float]:
        """The circle about the hole in which a chip is near: column of a plan, words, radius in m."""
        return ("within_1m", "within 1 m", 1.0) if self.metric else ("within_3ft", "within 3 ft", 3 * 0.3048)

    def show(self, metres: Any) -> Any:
        """Return a length in m, or an array of them, in this unit."""
        return metres / FACTORS_TO_SI[self.symbol]

    def label(self, words: str) -> str:
        """Return an axis label: the words with the unit."""
        return f"{words} ({self.symbol})"


_SHOWN = {"lengths": "m"}


def show_lengths_in(symbol: str) -> None:
    """Show lengths in this unit, that of the course chosen, in every figure and table that is not given another."""
    _SHOWN["lengths"] = LengthUnit(symbol).symbol


# --- names, colours, markers -----------------------------------------------------------------------------------------
def looks(names: Iterable[str], drawn: str = "lines") -> dict[str, dict[str, Any]]:
    """Return the look of each name, in order: keyword arguments of matplotlib's ``plot``, with its label.

    Drawn are ``lines``, ``points``, or ``both``.
    """
    found = {}
    for i, name in enumerate(names):
        found[name] = {"label": escape(name, "figure"), "color": CYCLE[i % len(CYCLE)]}
        found[name]["linestyle"] = "none" if drawn == "points" else DASHES[i % len(DASHES)]
        found[name] |= {} if drawn == "lines" else {"marker": MARKERS[i % len(MARKERS)]}
    return found


def in_bag_order(clubs: Iterable[str]) -> list[str]:
    """Return clubs once each, those whose loft is known first, the least lofted ahead."""
    names = list(dict.fromkeys(str(club) for club in clubs))
    bag = bag_with(names)
    return [*(club for club in bag if club in names), *(club for club in names if club not in bag)]


def by_club(clubs: Iterable[str], drawn: str = "lines") -> dict[str, dict[str, Any]]:
    """Return the look of each club, the same in every figure, in the order of the bag; `drawn` as for `looks`."""
    names = in_bag_order(clubs)
    known = looks([*BAG, *(club for club in names if club not in BAG)], drawn)
    return {club: known[club] for club in names}


# --- axes ------------------------------------------------------------------------------------------------------------
def new_axes(ax: Axes | None, width: float = 7.0, height: float = 4.2, **options: Any) -> Axes:
    """Return `ax`, or that of a new figure of this size in inches; `options` are of its axes (``projection``)."""
    if ax is not None:
        return ax
    from matplotlib import pyplot

    return pyplot.subplots(figsize=(width, height), layout="constrained", subplot_kw=options or None)[1]


def finish(ax: Axes, x: str, y: str, words: str, *, zero: str = "", legend: str = "best", **options: Any) -> Axes:
    """Write labels, title (`words`) and legend, and return the axes.

    Labels are words of ours, and empty ones leave what stands there; `zero` names the axes that begin at zero; `legend`
    says where it stands, as in matplotlib, or ``beside`` the axes, and is empty for none; `options` are its own, such
    as ``title``.
    """
    ax.set_title(words)
    if x:
        ax.set_xlabel(x)
    if y:
        ax.set_ylabel(y)
    if "x" in zero:
        ax.set_xlim(left=0.0)
    if "y" in zero:
        ax.set_ylim(bottom=0.0)
    if legend == "beside":
        legend, options = "upper left", {"bbox_to_anchor": (1.0, 1.0)} | options
    if legend:
        options["loc"] = legend
        ax.legend(**options)
    return ax


def curves(ax: Axes, named: Mapping[Any, tuple[Any, ...]], drawn: str = "lines", **options: Any) -> None:
    """Draw each name from x and y (and, where there are four, a band from low to high behind it), as for `looks`."""
    for name, look in looks(named, drawn).items():
        x, y, *band = named[name]
        ax.plot(x, y, **(look | options))
        if band:
            ax.fill_between(x, *band, color=look["color"], alpha=0.15, linewidth=0)


def name_rows(ax: Axes, names: Sequence[object]) -> None:
    """Give a row of height 1 to each name, the first on top, without lines between them."""
    ax.set_yticks(range(len(names)), [escape(name, "figure") for name in names])
    ax.set_ylim(len(names) - 0.5, -0.5)
    ax.grid(visible=False, axis="y")


def rectangle(host: Any, corner: tuple[float, float], width: float, height: float, **look: Any) -> None:
    """Draw a rectangle on axes, or on a page in shares of it."""
    from matplotlib.patches import Rectangle

    host.add_artist(Rectangle(corner, width, height, **look))


def beside_each_other(count: int, number: int, rows: int, room: float = 0.8) -> Any:
    """Return where the bars of one of `count` groups stand, one in each row, within `room` of it."""
    return np.arange(rows) + (number - (count - 1) / 2) * room / count


def caption(ax: Axes, words: str, *, width: int = 110) -> None:
    """Write a caption under the figure that `ax` belongs to, wrapped to `width` characters."""
    lines = "\n".join(textwrap.wrap(escape(words, "figure"), width))
    ax.figure.supxlabel(lines, x=0.01, ha="left", fontsize=9, color=GREY)
