"""One panel for every question: labelled inputs, a pure compute step, a few sentences and one picture.

What a panel is about is a `Subject`: its controls and three functions. Pictures are drawn to PNG by matplotlib's own
renderer, so a panel works without a browser. An impossible entry is answered in plain words while the last good
picture stays.
"""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any

import ipywidgets
from matplotlib.axes import Axes
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from golfphys.core.units import FACTORS_TO_SI
from golfphys.panels import settings
from golfphys.panels.pieces import LOOK, Displayed, alert, faults_said, picture, reason, status
from golfphys.sheets import Units
from golfphys.show import style
from golfphys.show.markup import escape
from golfphys.show.style import rendered

SHOWN = {"m": {"metres": "m", "feet": "ft"}, "m_s": {"metres": "m_s", "feet": "ft_s"}}
"""For each unit of a control that the reader may switch: the unit shown under each choice."""


@dataclass(frozen=True, kw_only=True)
class Control:
    """One input of a panel: `name` is the key of its value, `label` what the reader sees.

    A number for `start` makes a slider from `low` to `high` by `step`, a bool a box to tick, a text a list of `choices`
    or a line to type in. `unit`, m or m_s, is that of start, range and step where the reader may switch it to feet;
    then the slider moves by `step_feet`.
    """

    name: str
    label: str
    start: float | str | bool
    low: float = 0.0
    high: float = 1.0
    step: float = 0.1
    choices: tuple[str, ...] = ()
    unit: str = ""
    step_feet: float = 1.0

    def factor(self, units: Units) -> float:
        """Return the factor from the number on the slider to the number that `compute` is given."""
        return FACTORS_TO_SI[SHOWN[self.unit][units]] if self.unit else 1.0

    def label_in(self, units: Units) -> str:
        """Return the label with the unit shown."""
        return f"{self.label} ({SHOWN[self.unit][units].replace('_', '/')})" if self.unit else self.label

    def scale(self, units: Units) -> tuple[float, float, float]:
        """Return low, high and step of the slider."""
        if not self.unit or units == "metres":
            return self.low, self.high, self.step
        factor, step = self.factor(units), self.step_feet
        low, high = (round(step * round(end / factor / step), 9) for end in (self.low, self.high))
        return low, high, step

    def on_scale(self, value: float, units: Units) -> float:
        """Return the place on the slider nearest to a value in the control's own unit."""
        low, high, step = self.scale(units)
        return round(min(max(low + step * round((value / self.factor(units) - low) / step), low), high), 9)

    def widget(self, units: Units, value: Any) -> Any:
        """Return the ipywidgets input for this control, set to `value`, in the control's own unit."""
        label = {"description": self.label_in(units), **LOOK}
        if self.choices:
            return ipywidgets.Dropdown(options=list(self.choices), value=value, **label)
        if isinstance(self.start, bool):
            return ipywidgets.Checkbox(value=value, **label)
        if isinstance(self.start, str):
            return ipywidgets.Text(value=value, continuous_update=False, **label)
        low, high, step = self.scale(units)
        shown = value if units == "metres" or not self.unit else self.on_scale(value, units)
        form = _digits(step)
        return ipywidgets.FloatSlider(
            value=shown, min=low, max=high, step=step, readout_format=form, continuous_update=False, **label
        )

    def switch(self, widget: Any, before: Units, after: Units) -> None:
        """Show the same length on `widget` in other units."""
        if not self.unit or before == after:
            return
        value = self.on_scale(widget.value * self.factor(before), after)
        low, high, step = self.scale(after)
        with widget.hold_trait_notifications():
            widget.min, widget.max = min(low, widget.min), max(high, widget.max)
            widget.value = value
            widget.min, widget.max, widget.step = low, high, step
        widget.readout_format, widget.description = _digits(step), self.label_in(after)

    def check(self, value: Any) -> Any:
        """Return `value` if the control can take it; raise ValueError saying what it takes if not."""
        if self.choices:
            if value not in self.choices:
                raise ValueError(f"{self.name} is {value!r}; expected one of: {', '.join(self.choices)}")
        elif isinstance(self.start, bool | str):
            if not isinstance(value, type(self.start)):
                raise ValueError(f"{self.name} is {value!r}; expected a {type(self.start).__name__}")
        elif not self.low <= value <= self.high:
            raise ValueError(f"{self.name} is {value!r}; expected a number from {self.low:g} to {self.high:g}")
        return value


def _digits(step: float) -> str:
    """Return the number format that shows every step of a slider and no more."""
    return f".{len(f'{step:.10f}'.rstrip('0').partition('.')[2])}f"


@dataclass(frozen=True, kw_only=True)
class Subject:
    """What a panel is about: its controls, a pure step of computing, a picture, sentences.

    `compute` takes the values of the controls by name, lengths in metres, and raises ValueError on impossible ones;
    `draw` takes its result, an empty figure and the symbol of the unit of lengths; `words` takes the result and the
    unit, and returns HTML. Where `keeps_axes`, `draw` takes the axes that a figure has, emptied, and makes them only
    where there are none: a third of the time of a picture goes into new axes and ticks. `size` is that of the picture;
    around and between its axes is fixed room, which keeps them still while sliders move: all in inches.
    """

    controls: tuple[Control, ...]
    compute: Callable[[dict[str, Any]], Any]
    draw: Callable[[Any, Figure, str], Any]
    words: Callable[[Any, str], str]
    keeps_axes: bool = False
    size: tuple[float, float] = (8.4, 4.2)
    left: float = 0.7
    right: float = 0.2
    bottom: float = 0.55
    top: float = 0.35
    between: float = 0.7

    def place(self, figure: Figure) -> None:
        """Place the axes of a figure."""
        width, height = figure.get_size_inches()
        grids = [grid for ax in figure.axes if (grid := ax.get_gridspec()) is not None]
        columns = max((grid.ncols for grid in grids), default=1)
        inner = (width - self.left - self.right - (columns - 1) * self.between) / columns
        edges = {"left": self.left / width, "right": 1 - self.right / width}
        edges |= {"bottom": self.bottom / height, "top": 1 - self.top / height}
        figure.subplots_adjust(**edges, wspace=self.between / inner)


class Panel(Displayed):
    """Inputs at the top, words below them, a picture below the words.

    Lengths are shown in `units`, metres or feet, those that the reader chose last if left out; `start` holds values, by
    control and in its own unit, that differ from those of the controls.
    """

    def __init__(self, subject: Subject, *, units: Units | None = None, **start: Any) -> None:
        self.subject = subject
        if unknown := set(start) - {control.name for control in subject.controls}:
            names = ", ".join(control.name for control in subject.controls)
            raise ValueError(f"no such control: {', '.join(sorted(unknown))}; this panel has {names}")
        self.units: Units = settings.checked_units(units or settings.remembered_units())
        self.inputs: dict[str, Any] = {
            item.name: item.widget(self.units, item.check(start.get(item.name, item.start)))
            for item in subject.controls
        }
        self.message = ipywidgets.HTML()
        self.image = picture()
        self.result: Any = None
        self._settings = ""
        self._drawn: Figure | None = None
        self._switching = False
        self.switch = ipywidgets.Dropdown(
            options=list(settings.UNITS), value=self.units, description="lengths in", **LOOK
        )
        head = [self.switch] if any(control.unit for control in subject.controls) else []
        self.widget = ipywidgets.VBox([*self.inputs.values(), *head, self.message, self.image])
        for item in self.inputs.values():
            item.observe(self._changed, names="value")
        self.switch.observe(self._switched, names="value")
        self.redraw()

    @property
    def unit(self) -> str:
        """Symbol of the unit in which lengths are shown."""
        return settings.SYMBOLS[self.units]

    @property
    def values(self) -> dict[str, Any]:
        """Current value of every control by name, in the control's own unit."""
        found = {item.name: self.inputs[item.name].value for item in self.subject.controls}
        for item in self.subject.controls:
            if item.unit:
                found[item.name] = round(found[item.name] * item.factor(self.units), 6)
        return found

    def redraw(self) -> None:
        """Compute and draw for the current values; on an impossible entry say so and keep the last picture."""
        try:
            result = self.subject.compute(self.values)
        except ValueError as problem:
            kept = " The picture is still that of the last entry that was possible." if self.image.value else ""
            self.message.value = alert(f"<b>Not possible:</b> {escape(str(problem))}{kept}")
            return
        unit = self.unit
        before = self._drawn if self.subject.keeps_axes else None
        self._drawn = None  # a drawing that fails is not drawn on again
        drawn = new_figure(
            lambda new: self.subject.draw(result, new, unit), self.subject.size, self.subject.place, before
        )
        self.result, self._settings, self._drawn = result, self._settings_in_words(), drawn
        self.message.value = status(self.subject.words(result, unit))
        self.image.value = rendered(drawn, "png", pil_kwargs={"compress_level": 1})

    def figure(self) -> Figure:
        """Return the picture of the last possible entries as a figure, its settings written under it."""
        if self.result is None:
            raise ValueError("there is nothing to draw yet: the entries do not go together")
        width, height = self.subject.size

        def draw(figure: Figure) -> None:
            self.subject.draw(self.result, figure, self.unit)
            style.caption(figure.axes[0], self._settings, width=int(13 * width))

        return new_figure(draw, (width, height + 0.4))

    def _settings_in_words(self) -> str:
        values = {item.label_in(self.units): self.inputs[item.name].value for item in self.subject.controls}
        shown = {True: "yes", False: "no"}
        said = (
            f"{name}: {shown[value] if isinstance(value, bool) else value if isinstance(value, str) else f'{value:g}'}"
            for name, value in values.items()
        )
        return f"Settings. {'; '.join(said)}."

    def _changed(self, _change: Mapping[str, Any]) -> None:
        if not self._switching:
            with faults_said(self.message, "This panel"):
                self.redraw()

    def _switched(self, change: Mapping[str, Any]) -> None:
        """Show everything in the other unit, and remember it for the next page."""
        before, self.units = self.units, change["new"]
        self._switching = True
        for control in self.subject.controls:
            control.switch(self.inputs[control.name], before, self.units)
        self._switching = False
        with faults_said(self.message, "This panel"):
            self.redraw()
        try:
            settings.remember(units=self.units)
        except OSError as problem:
            self.message.value += alert(f"The choice of units could not be kept for the next page: {reason(problem)}.")


# pictures


def new_figure(
    draw: Callable[[Figure], None],
    size: tuple[float, float],
    place: Callable[[Figure], None] | None = None,
    kept: Figure | None = None,
) -> Figure:
    """Return a figure of `size` (inches) that `draw` has filled, in the project's style; `place` sets its margins.

    A figure `kept` is emptied and filled again.
    """
    with style.figure_style():
        figure: Figure = kept or style.still_class()(figsize=size, layout="constrained" if place is None else None)
        if kept is None:
            FigureCanvasAgg(figure)
        for ax in figure.axes:
            _empty(ax)
        draw(figure)
        if place is not None:
            place(figure)
    return figure


def _empty(ax: Axes) -> None:
    """Take everything off axes that was drawn on them, so that their limits follow what comes next."""
    for artist in [*ax.lines, *ax.patches, *ax.collections, *ax.texts, *filter(None, [ax.get_legend()])]:
        artist.remove()
    ax.set_prop_cycle(None)
    ax.relim()
    ax.autoscale(True)
