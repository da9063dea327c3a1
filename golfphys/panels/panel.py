"""What panels and forms are made of, and one panel for every question: inputs, a pure step, sentences and a picture.

Pictures are drawn to PNG by matplotlib's own renderer, so that a panel works without a browser. An impossible entry is
answered in plain words while the last good picture stays; a fault of the program is said as such.
"""

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from functools import wraps
from pathlib import Path
from typing import Any

import ipywidgets
from matplotlib.backends.backend_agg import FigureCanvasAgg
from matplotlib.figure import Figure

from golfphys.core.units import FACTORS_TO_SI
from golfphys.panels import settings
from golfphys.recordings.opening import RecordingError
from golfphys.sheets import SheetError, Units
from golfphys.show import style
from golfphys.show.markup import Said, escape
from golfphys.show.style import rendered

Work = Callable[..., Any]
# of everything said in words: the notebook's own lines stand far apart, and the path of a file is a long word
LINES = "line-height: 1.45; margin: 0.4em 0; overflow-wrap: anywhere"
# an input stands beside its label where there is room for both, else below it
WRAPPED = {"width": "min(40em, 96vw)", "max_width": "calc(100% - 4px)", "flex_flow": "row wrap", "height": "auto"}
LAYOUT = {**WRAPPED, "align_items": "stretch"}
LOOK: dict[str, Any] = {"style": {"description_width": "min(16em, 100%)"}, "layout": LAYOUT}
# a label above its input, as where there is no room beside it, begins where it does
ABOVE, LEFT = "golfphys-above", ".widget-label {text-align: left}"
LABELS = f".{ABOVE} {LEFT} .golfphys {{container-type: inline-size}} @container (max-width: 30em) {{.golfphys {LEFT}}}"
SLIDER: dict[str, Any] = {**LOOK, "layout": {**WRAPPED, "align_items": "center"}}


def length(metres: float, unit: str, digits: int = 1) -> str:
    """Return a length in words, with its unit."""
    return f"{style.LengthUnit(unit).show(metres):.{digits}f} {unit}" if math.isfinite(metres) else "no end"


def alert(words: str) -> str:
    """Return `words`, HTML, as a message that a screen reader speaks at once."""
    return f"<div role='alert' style='{LINES}; border-left: 4px solid #D55E00; padding-left: 0.6em'>{words}</div>"


def status(words: str) -> str:
    """Return `words`, HTML, as a message that a screen reader speaks when it has time."""
    return f"<div role='status' style='{LINES}'>{words}</div>"


def reason(problem: Exception) -> str:
    """Return why something failed, without the codes of the system, as HTML."""
    return escape(getattr(problem, "strerror", None) or str(problem))


def remembered(**choices: str) -> str:
    """Keep choices for the next page, as `settings.remember`; return what to say if that does not work, as HTML."""
    try:
        settings.remember(**choices)
    except OSError as problem:
        return alert(f"The choice could not be kept for the next page: {reason(problem)}.")
    return ""


def html_table(headings: Sequence[str], rows: Sequence[Sequence[str]]) -> str:
    """Return cells as an HTML table, signs of markup shown as they are."""
    look = "style='padding: 0.1em 0.8em 0.1em 0; text-align: left; overflow-wrap: normal'"
    head = "".join(f"<th {look}>{escape(name)}</th>" for name in headings)
    body = "".join(f"<tr>{''.join(f'<td {look}>{escape(cell)}</td>' for cell in row)}</tr>" for row in rows)
    return f"<div style='overflow-x: auto'><table style='{LINES}'><tr>{head}</tr>{body}</table></div>"


def listed(items: Sequence[Any], head: str, most: int = 8) -> str:
    """Return what stands under a head as HTML, the first of it, signs of markup shown as they are."""
    more = [f"and {len(items) - most} more"] if len(items) > most else []
    return f"<b>{escape(head)}</b>{Said((*map(str, items[:most]), *more))._repr_html_()}"


class Refusal(Exception):
    """Why something that was asked for cannot be done, in words for the reader."""


class Form:
    """What asks and answers on a page, as the last line of a cell: its `widget` with a `message` in it.

    Its main `button` is held while there is work, on the sheets of a `course` where it is about one. A button `anyway`
    shows where it is told of nothing but what is hard to believe.
    """

    what = "The form"
    button: Any = None
    anyway: Any = None
    widget: Any

    def __init__(self, course: Any = None) -> None:
        self.course, self.message = course, ipywidgets.HTML()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        style = ipywidgets.HTML(f"<style>{LABELS}</style>", layout={"display": "none"})
        return ipywidgets.VBox([style, self.widget]).add_class("golfphys")._repr_mimebundle_(**options)

    def listed(self, problems: Sequence[Any], head: str) -> str:
        """Return problems of a sheet as HTML, each with its file."""
        named = [f"{Path(item.file).name}, {item}" if item.file else item for item in problems]
        return listed(named, f"{head}.")


def asked(failed: str = "Nothing was changed", refused: type[Exception] = OSError) -> Callable[[Work], Work]:
    """Make a method of a form answer in its message: why it cannot do what it is asked, and then return None.

    A fault of the program is said and raised as well, for a kernel hides it in a log; `failed` heads what is wrong with
    a sheet, a file or what was typed (`refused`). The form's button cannot be pressed twice meanwhile.
    """

    def decorate(work: Work) -> Work:
        @wraps(work)
        def answered(form: Any, *given: Any, **options: Any) -> Any:
            if form.button is not None:
                form.button.disabled = True
            if form.anyway is not None:
                form.anyway.layout.display = "none"
            try:
                return work(form, *given, **options)
            except SheetError as error:
                form.message.value = alert(form.listed(error.problems, failed))
                if form.anyway is not None and all(problem.suspect for problem in error.problems):
                    form.anyway.layout.display = ""
            except (Refusal, RecordingError) as problem:
                form.message.value = alert(escape(str(problem)))
            except (OSError, refused) as problem:
                form.message.value = alert(f"<b>{failed}:</b> {reason(problem)}.")
            except Exception as fault:
                words = f"<b>{form.what} failed</b>, which is a fault of the program, not yours: "
                form.message.value = alert(words + escape(f"{type(fault).__name__}: {fault}"))
                raise
            finally:
                if form.button is not None:
                    form.button.disabled = False
            return None

        return answered

    return decorate


def watch(work: Callable[[], Any], *widgets: Any) -> None:
    """Do `work` whenever the value of one of the widgets changes."""
    for widget in widgets:
        widget.observe(lambda _change: work(), names="value")


def button(words: str, work: Callable[[], Any], *, primary: bool = False) -> Any:
    """Return a button as wide as its words that does `work`; a page's main one is `primary`."""
    made = ipywidgets.Button(description=words, layout={"width": "auto"}, button_style="primary" if primary else "")
    made.on_click(lambda _button: work())
    return made


def row(*widgets: Any) -> Any:
    """Return widgets beside each other, below each other where the page is narrow."""
    return ipywidgets.Box(widgets, layout={"flex_flow": "row wrap"})


def picture(content: bytes = b"") -> Any:
    """Return a place for a picture, no wider than the page; there is none of an empty one."""
    made = ipywidgets.Image(value=content, format="png", layout={"max_width": "100%"})
    made.layout.display = None if content else "none"
    made.observe(lambda change: setattr(made.layout, "display", None if change["new"] else "none"), names="value")
    return made


def upload(words: str, accept: str, work: Callable[[Any], Any]) -> Any:
    """Return a button that brings a file from the reader's machine into the page, and then does `work` with it."""
    chooser = ipywidgets.FileUpload(accept=accept, description=words, layout={"width": "16em"})
    chooser.observe(lambda change: work(change["new"][0]) if change["new"] else None, names="value")
    return chooser


# panels
SHOWN = {"m": {"metres": "m", "feet": "ft"}, "m_s": {"metres": "m_s", "feet": "ft_s"}}
"""For each unit of a control that the reader may switch: the unit shown under each choice."""


@dataclass(frozen=True, kw_only=True)
class Control:
    """One input of a panel: `name` is the key of its value, `label` what the reader sees.

    A number for `start` makes a slider from `low` to `high` by `step`, a bool a box to tick, a text a list of `choices`
    or a line to type in. `unit`, m or m_s, is that of all of these where the reader may switch it to feet; then the
    slider moves by `step_feet`.
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
        step = self.step_feet
        low, high = (round(step * round(end / self.factor(units) / step), 9) for end in (self.low, self.high))
        return low, high, step

    def on_scale(self, value: float, units: Units) -> float:
        """Return the place on the slider nearest to a value in the control's own unit."""
        low, high, step = self.scale(units)
        return round(min(max(low + step * round((value / self.factor(units) - low) / step), low), high), 9)

    def traits(self, units: Units, value: float) -> dict[str, Any]:
        """Return what a slider shows in some units, set to the number `value`."""
        low, high, step = self.scale(units)
        digits = len(f"{step:.10f}".rstrip("0").partition(".")[2])  # every step, and no more
        ends = {"min": low, "max": high, "step": step, "value": value}
        return ends | {"readout_format": f".{digits}f", "description": self.label_in(units)}

    def widget(self, units: Units, value: Any) -> Any:
        """Return the ipywidgets input for this control, set to `value`, in the control's own unit."""
        named = {"value": value, "description": self.label, **LOOK}
        if self.choices:
            return ipywidgets.Dropdown(options=list(self.choices), **named)
        if isinstance(self.start, bool):
            return ipywidgets.Checkbox(**named)
        if isinstance(self.start, str):
            return ipywidgets.Text(continuous_update=False, **named)
        shown = value if units == "metres" or not self.unit else self.on_scale(value, units)
        return ipywidgets.FloatSlider(**named | self.traits(units, shown) | SLIDER, continuous_update=False)

    def switch(self, widget: Any, before: Units, after: Units) -> None:
        """Show the same length on `widget` in other units."""
        if self.unit and before != after:
            value = self.on_scale(widget.value * self.factor(before), after)
            with widget.hold_sync(), widget.hold_trait_notifications():  # else a new end moves the browser's value
                for name, shown in self.traits(after, value).items():
                    setattr(widget, name, shown)

    def check(self, value: Any) -> Any:
        """Return `value` if the control can take it; raise ValueError saying what it takes if not."""
        if self.choices:
            fits, expected = value in self.choices, f"one of: {', '.join(self.choices)}"
        elif isinstance(self.start, bool | str):
            fits, expected = isinstance(value, type(self.start)), f"a {type(self.start).__name__}"
        else:
            fits, expected = self.low <= value <= self.high, f"a number from {self.low:g} to {self.high:g}"
        if not fits:
            raise ValueError(f"{self.name} is {value!r}; expected {expected}")
        return value


@dataclass(frozen=True, kw_only=True)
class Subject:
    """What a panel is about: its controls, a pure step of computing, a picture, sentences.

    `compute` takes the values of the controls by name, lengths in metres, and raises ValueError on impossible ones;
    `draw` takes its result, an empty figure and the symbol of the unit of lengths; `words` takes the result and the
    unit, and returns HTML. `size` is that of the picture; around and between its axes is fixed
    room, which keeps them still while sliders move: all in inches.
    """

    controls: tuple[Control, ...]
    compute: Callable[[dict[str, Any]], Any]
    draw: Callable[[Any, Figure, str], Any]
    words: Callable[[Any, str], str]
    size: tuple[float, float] = (8.4, 4.2)
    left: float = 0.7
    right: float = 0.2
    bottom: float = 0.55
    top: float = 0.35
    between: float = 0.7

    def __call__(self, **start: Any) -> "Panel":
        """Return the panel; `start` as for `Panel`."""
        return Panel(self, **start)

    def place(self, figure: Figure) -> None:
        """Place the axes of a figure."""
        width, height = figure.get_size_inches()
        columns = max((grid.ncols for ax in figure.axes if (grid := ax.get_gridspec()) is not None), default=1)
        inner = (width - self.left - self.right - (columns - 1) * self.between) / columns
        across = {"left": self.left / width, "right": 1 - self.right / width, "wspace": self.between / inner}
        figure.subplots_adjust(**across, bottom=self.bottom / height, top=1 - self.top / height)


class Panel(Form):
    """Inputs at the top, words below them, a picture below the words.

    Lengths are shown in `units`, metres or feet, those that the reader chose last if left out; `start` holds values, by
    control and in its own unit, that differ from those of the controls.
    """

    what = "This panel"

    def __init__(self, subject: Subject, *, units: Units | None = None, **start: Any) -> None:
        super().__init__()
        self.subject, names = subject, [control.name for control in subject.controls]
        if unknown := sorted(set(start) - set(names)):
            raise ValueError(f"no such control: {', '.join(unknown)}; this panel has {', '.join(names)}")
        self.units: Units = settings.checked_units(units or settings.remembered_units())
        starts = [item.check(start.get(item.name, item.start)) for item in subject.controls]
        made = (item.widget(self.units, value) for item, value in zip(subject.controls, starts, strict=True))
        self.inputs: dict[str, Any] = dict(zip(names, made, strict=True))
        self.image = picture()
        self.result: Any = None
        self._settings, self._switching = "", False
        self.switch = ipywidgets.Dropdown(options=settings.UNITS, value=self.units, description="lengths in", **LOOK)
        head = [self.switch] if any(control.unit for control in subject.controls) else []
        self.widget = ipywidgets.VBox([*self.inputs.values(), *head, self.message, self.image])
        watch(self._changed, *self.inputs.values())
        self.switch.observe(self._switched, names="value")
        self.redraw()

    @property
    def unit(self) -> str:
        """Symbol of the unit in which lengths are shown."""
        return settings.SYMBOLS[self.units]

    @property
    def values(self) -> dict[str, Any]:
        """Current value of every control by name, in the control's own unit."""
        shown = {item: self.inputs[item.name].value for item in self.subject.controls}
        return {item.name: round(now * item.factor(self.units), 6) if item.unit else now for item, now in shown.items()}

    def redraw(self) -> None:
        """Compute and draw for the current values; on an impossible entry say so and keep the last picture."""
        try:
            result = self.subject.compute(self.values)
        except ValueError as problem:
            kept = " The picture is still that of the last entry that was possible." if self.image.value else ""
            self.message.value = alert(f"<b>Not possible:</b> {escape(str(problem))}{kept}")
            return
        subject, unit = self.subject, self.unit
        filled = new_figure(lambda new: subject.draw(result, new, unit), subject.size, subject.place)
        self.result, self._settings = result, self._settings_in_words()
        self.message.value = status(self.subject.words(result, unit))
        self.image.value = rendered(filled, "png", pil_kwargs={"compress_level": 1})

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
        words = []
        for item in self.subject.controls:
            value = self.inputs[item.name].value
            number = "" if isinstance(value, bool | str) else f"{value:g}"
            words.append(f"{item.label_in(self.units)}: {number or {True: 'yes', False: 'no'}.get(value, value)}")
        return f"Settings. {'; '.join(words)}."

    @asked()
    def _changed(self) -> None:
        if not self._switching:
            self.redraw()

    def _switched(self, change: Mapping[str, Any]) -> None:
        """Show everything in the other unit, and remember it for the next page."""
        before, self.units = self.units, change["new"]
        self._switching = True
        for control in self.subject.controls:
            control.switch(self.inputs[control.name], before, self.units)
        self._switching = False
        self._changed()
        self.message.value += remembered(units=self.units)


def new_figure(
    draw: Callable[[Figure], Any], size: tuple[float, float], place: Callable[[Figure], None] | None = None
) -> Figure:
    """Return a figure of `size` (inches) that `draw` has filled, in the project's style; `place` sets its margins."""
    with style.figure_style():
        figure: Figure = style.still_class()(figsize=size, layout="constrained" if place is None else None)
        FigureCanvasAgg(figure)
        draw(figure)
        if place is not None:
            place(figure)
    return figure
