"""The base of the panels: labelled inputs, a few sentences, one picture.

A panel is a class with a pure compute step and a public `redraw`; it holds no physics. Pictures are drawn to PNG by
matplotlib's own renderer and shown in an Image widget, so a panel works without a browser in tests. A problem with an
entry is said in plain words while the last good picture stays in place.
"""

import html
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from typing import Any, ClassVar

import ipywidgets
from matplotlib.figure import Figure

from golfphys.panels import drawing, settings
from golfphys.panels.controls import LABEL_WIDTH, WIDTH, Control
from golfphys.sheets.templates import Units
from golfphys.show import style

LINES = "line-height: 1.45; margin: 0.4em 0"
"""Style of everything said in words: the notebook's own lines stand far apart."""


class Panel:
    """Base of the panels: inputs at the top, words below them, a picture below the words.

    A subclass gives `controls`, `compute`, `draw` and `words`. Lengths reach `compute` in the unit of the control, in
    metres, whatever the reader sees them in; `unit` is what she sees.

    Parameters
    ----------
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float, str or bool
        Start values, in the controls' own units, that differ from those of `controls`.

    Raises
    ------
    ValueError
        If `start` names a control that the panel does not have, or a value that the control cannot take.
    """

    controls: ClassVar[tuple[Control, ...]] = ()
    figure_size: ClassVar[tuple[float, float]] = (8.0, 4.2)
    margins: ClassVar[drawing.Margins] = drawing.Margins()

    def __init__(self, *, units: Units | None = None, **start: Any) -> None:
        unknown = set(start) - {control.name for control in self.controls}
        if unknown:
            names = ", ".join(control.name for control in self.controls)
            raise ValueError(f"no such control: {', '.join(sorted(unknown))}; this panel has {names}")
        if units is not None and units not in settings.UNITS:
            raise ValueError(f"units is {units!r}; expected one of: {', '.join(settings.UNITS)}")
        self.units: Units = units or settings.remembered_units()
        self.inputs: dict[str, Any] = {control.name: control.widget(self.units) for control in self.controls}
        for name, value in start.items():
            self._put(name, value)
        self.message = ipywidgets.HTML()
        self.image = ipywidgets.Image(format="png", layout={"max_width": "100%"})
        self.image.add_class("golfphys-picture")
        self.result: Any = None
        self._settings = ""
        self._switching = False
        self.switch = self._units_switch()
        head = [self.switch] if any(control.unit for control in self.controls) else []
        self.widget = ipywidgets.VBox([*self.inputs.values(), *head, self.message, self.image])
        for item in self.inputs.values():
            item.observe(self._changed, names="value")
        self.switch.observe(self._switched, names="value")
        self.redraw()

    def _units_switch(self) -> Any:
        return ipywidgets.Dropdown(
            options=list(settings.UNITS),
            value=self.units,
            description="lengths in",
            style={"description_width": LABEL_WIDTH},
            layout={"width": WIDTH, "max_width": "100%"},
        )

    def _control(self, name: str) -> Control:
        return next(control for control in self.controls if control.name == name)

    def _put(self, name: str, value: Any) -> None:
        """Set an input to a value in the control's own unit."""
        control, widget = self._control(name), self.inputs[name]
        if control.choices:
            if value not in control.choices:
                raise ValueError(f"{name} is {value!r}; expected one of: {', '.join(control.choices)}")
            widget.value = value
        elif isinstance(control.start, bool | str):
            if not isinstance(value, type(control.start)):
                raise ValueError(f"{name} is {value!r}; expected a {type(control.start).__name__}")
            widget.value = value
        else:
            if not control.low <= value <= control.high:
                raise ValueError(f"{name} is {value!r}; expected a number from {control.low:g} to {control.high:g}")
            widget.value = control.shown(value, self.units)

    @property
    def unit(self) -> str:
        """Symbol of the unit in which lengths are shown."""
        return settings.SYMBOLS[self.units]

    @property
    def values(self) -> dict[str, Any]:
        """Current value of every control by name, in the control's own unit."""
        found: dict[str, Any] = {}
        for control in self.controls:
            value = self.inputs[control.name].value
            if control.unit:
                value = round(value * control.factor(self.units), 6)
            found[control.name] = value
        return found

    def compute(self, **values: Any) -> Any:
        """Return the result for these values; pure, raises ValueError on an impossible combination."""
        raise TypeError(f"{type(self).__name__} must define compute")

    def draw(self, result: Any, figure: Figure) -> None:
        """Draw `result` on the empty `figure`."""
        raise TypeError(f"{type(self).__name__} must define draw")

    def words(self, result: Any) -> str:
        """Return the sentences that go with `result`, as HTML."""
        raise TypeError(f"{type(self).__name__} must define words")

    def redraw(self) -> None:
        """Compute and draw for the current values; on an impossible entry say so and keep the last picture."""
        try:
            result = self.compute(**self.values)
        except ValueError as problem:
            self.message.value = alert(f"<b>Not possible:</b> {html.escape(str(problem))}{self._kept()}")
            return
        picture = drawing.png(lambda figure: self.draw(result, figure), self.figure_size, self.margins)
        self.result, self._settings = result, self.settings_in_words()
        self.message.value = f"<div role='status' style='{LINES}'>{self.words(result)}</div>"
        self.image.value = picture

    def _kept(self) -> str:
        return " The picture is still that of the last entry that was possible." if self.image.value else ""

    def figure(self) -> drawing.StillFigure:
        """Return the picture of the last possible entries as a figure, its settings written under it.

        Returns
        -------
        StillFigure
            For readers without a kernel: it shows itself as the last line of a cell.

        Raises
        ------
        ValueError
            If no entry was possible yet.
        """
        if self.result is None:
            raise ValueError("there is nothing to draw yet: the entries do not go together")
        width, height = self.figure_size

        def draw(figure: Figure) -> None:
            self.draw(self.result, figure)
            style.caption(figure.axes[0], self._settings, width=int(13 * width))

        return drawing.new_figure(draw, (width, height + 0.4))

    def settings_in_words(self) -> str:
        """Return every input with its label, on one line."""
        parts = []
        for control in self.controls:
            value = self.inputs[control.name].value
            if isinstance(value, bool):
                shown = "yes" if value else "no"
            else:
                shown = value if isinstance(value, str) else f"{value:g}"
            parts.append(f"{control.label_in(self.units)}: {shown}")
        return "Settings. " + "; ".join(parts) + "."

    def _changed(self, _change: Mapping[str, Any]) -> None:
        if not self._switching:
            self._guarded()

    def _switched(self, change: Mapping[str, Any]) -> None:
        """Show everything in the other unit, and remember it for the next page."""
        before, self.units = self.units, change["new"]
        self._switching = True
        for control in self.controls:
            control.switch(self.inputs[control.name], before, self.units)
        self._switching = False
        self._guarded()
        try:
            settings.remember_units(self.units)
        except OSError as problem:
            reason = html.escape(problem.strerror or str(problem))
            self.message.value += alert(f"The choice of units could not be kept for the next page: {reason}.")

    def _guarded(self) -> None:
        """Redraw, and say a fault of the program on the page."""
        with faults_said(self.message, "This panel"):
            self.redraw()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)


@contextmanager
def faults_said(message: Any, what: str) -> Iterator[None]:
    """Say a fault of the program on the page as well as raise it, for a kernel hides it in a log.

    Parameters
    ----------
    message : HTML
        The widget to say it in.
    what : str
        What failed.

    Yields
    ------
    None
        While the work is done.
    """
    try:
        yield
    except Exception as fault:
        said = html.escape(f"{type(fault).__name__}: {fault}")
        message.value = alert(f"<b>{what} failed</b>, which is a fault of the program, not yours: {said}")
        raise


def html_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return cells as an HTML table.

    Parameters
    ----------
    headings : sequence of str
        Headings of the columns.
    rows : sequence of sequence of str
        Cells, row by row.

    Returns
    -------
    str
        The table; cells and headings are shown as they are, signs of markup too.

    Examples
    --------
    >>> "&lt;b&gt;" in html_table(["note"], [["<b>"]])
    True
    """
    look = "style='padding: 0.1em 0.8em 0.1em 0; text-align: left'"
    head = "".join(f"<th {look}>{html.escape(name)}</th>" for name in headings)
    body = "".join(f"<tr>{''.join(f'<td {look}>{html.escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return f"<table style='{LINES}'><tr>{head}</tr>{body}</table>"


def alert(words: str) -> str:
    """Return `words`, HTML, as a message that a screen reader speaks at once."""
    return f"<div role='alert' style='{LINES}; border-left: 4px solid #D55E00; padding-left: 0.6em'>{words}</div>"


@contextmanager
def busy(button: Any) -> Iterator[None]:
    """Keep a button from being pressed again while its work is done."""
    button.disabled = True
    try:
        yield
    finally:
        button.disabled = False
