"""Pictures without a window: a figure drawn by matplotlib's own renderer, as PNG or PDF bytes."""

import io
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from golfphys.show import style

DOTS_PER_INCH = 100


@dataclass(frozen=True, kw_only=True)
class Margins:
    """Room around and between the axes of a panel's picture, inches.

    Fixed room keeps the axes still while sliders move, and takes half the time of fitting it to the labels.

    Parameters
    ----------
    left, right, bottom, top : float
        Around all axes.
    between : float
        Between two axes side by side.
    """

    left: float = 0.7
    right: float = 0.2
    bottom: float = 0.55
    top: float = 0.35
    between: float = 0.7

    def apply(self, figure: Figure) -> None:
        """Place the axes of a figure."""
        width, height = figure.get_size_inches()
        grids = [grid for ax in figure.axes if (grid := ax.get_gridspec()) is not None]
        columns = max((grid.ncols for grid in grids), default=1)
        inner = (width - self.left - self.right - (columns - 1) * self.between) / columns
        figure.subplots_adjust(
            left=self.left / width,
            right=1 - self.right / width,
            bottom=self.bottom / height,
            top=1 - self.top / height,
            wspace=self.between / inner,
        )


class StillFigure(Figure):
    """A figure that shows itself in a notebook, with no window system and no list of open figures behind it."""

    def _repr_png_(self) -> bytes:
        return rendered(self, "png")


def new_figure(
    draw: Callable[[Figure], None], size: tuple[float, float], margins: Margins | None = None
) -> StillFigure:
    """Return a figure that `draw` has filled, in the project's style.

    Parameters
    ----------
    draw : callable
        Takes the empty figure and fills it.
    size : tuple of float
        Width and height, inches.
    margins : Margins, optional
        Room around the axes; fitted to the labels if left out.

    Returns
    -------
    StillFigure
        Shows itself when it is the last line of a cell.
    """
    with style.figure_style():
        figure = StillFigure(figsize=size, layout="constrained" if margins is None else None)
        FigureCanvasAgg(figure)
        draw(figure)
        if margins is not None:
            margins.apply(figure)
    return figure


def rendered(figure: Figure, form: str, **options: Any) -> bytes:
    """Return the bytes of a figure.

    Parameters
    ----------
    figure : Figure
        What to render.
    form : {"png", "pdf"}
        File format.
    **options
        Passed to matplotlib's `savefig`.

    Returns
    -------
    bytes
        Content of the file, the same for the same figure: no date is written into it.
    """
    buffer = io.BytesIO()
    with style.figure_style():
        quick: dict[str, Any] = {} if form == "pdf" else {"pil_kwargs": {"compress_level": 3}}
        metadata = {"CreationDate": None} if form == "pdf" else {"Software": None}
        figure.savefig(buffer, format=form, **{"dpi": DOTS_PER_INCH, "metadata": metadata, **quick, **options})
    return buffer.getvalue()


def png(draw: Callable[[Figure], None], size: tuple[float, float], margins: Margins | None = None) -> bytes:
    """Return the PNG bytes of a figure.

    Parameters
    ----------
    draw : callable
        Takes the empty figure and fills it.
    size : tuple of float
        Width and height, inches.
    margins : Margins, optional
        Room around the axes; fitted to the labels if left out.

    Returns
    -------
    bytes
        The picture.
    """
    return rendered(new_figure(draw, size, margins), "png")
