"""Inputs of a panel: numbers on sliders, choices from lists, yes or no, and lines of text; lengths in either unit."""

from dataclasses import dataclass
from typing import Any

import ipywidgets

from golfphys.core.units import FACTORS_TO_SI
from golfphys.sheets.templates import Units

SHOWN: dict[str, dict[Units, str]] = {
    "m": {"metres": "m", "feet": "ft"},
    "m_s": {"metres": "m_s", "feet": "ft_s"},
}
"""For each unit of a control that the reader may switch: the unit shown under each choice."""

SYMBOLS = {"m": "m", "ft": "ft", "m_s": "m/s", "ft_s": "ft/s"}
LABEL_WIDTH, WIDTH = "19em", "40em"


@dataclass(frozen=True, kw_only=True)
class Control:
    """One input of a panel.

    Parameters
    ----------
    name : str
        Name of the argument of the panel's `compute`.
    label : str
        What the reader sees. Its unit stands in brackets at the end; a switched unit is put there by `label_in`.
    start : float, str or bool
        Value at the beginning: a number makes a slider, a bool a box to tick, a text a list or a line to type in.
    low, high, step : float
        Range and step of a slider.
    choices : tuple of str
        Makes the control a list to choose from.
    unit : {"", "m", "m_s"}
        Unit of start, range and step where the reader may switch it to feet.
    step_feet : float
        Step in the unit that stands for it then.
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

    def shown_unit(self, units: Units) -> str:
        """Return the unit of the number on the slider."""
        return SHOWN[self.unit][units] if self.unit else ""

    def factor(self, units: Units) -> float:
        """Return the factor from the number on the slider to the number that `compute` is given."""
        return FACTORS_TO_SI[self.shown_unit(units)] if self.unit else 1.0

    def label_in(self, units: Units) -> str:
        """Return the label with the unit shown."""
        return f"{self.label} ({SYMBOLS[self.shown_unit(units)]})" if self.unit else self.label

    def shown(self, value: float, units: Units) -> float:
        """Return what the slider shows of a start value: in metres itself, in feet the nearest step."""
        return value if units == "metres" or not self.unit else self.on_scale(value, units)

    def on_scale(self, value: float, units: Units) -> float:
        """Return the place on the slider nearest to a value in the control's own unit."""
        low, high, step = self.scale(units)
        places = round((value / self.factor(units) - low) / step)
        return round(min(max(low + places * step, low), high), 9)

    def scale(self, units: Units) -> tuple[float, float, float]:
        """Return low, high and step of the slider."""
        if not self.unit or units == "metres":
            return self.low, self.high, self.step
        factor = self.factor(units)
        ends = [self.step_feet * round(end / factor / self.step_feet) for end in (self.low, self.high)]
        return round(ends[0], 9), round(ends[1], 9), self.step_feet

    def widget(self, units: Units) -> Any:
        """Return the ipywidgets input for this control."""
        common: dict[str, Any] = {
            "description": self.label_in(units),
            "style": {"description_width": LABEL_WIDTH},
            "layout": {"width": WIDTH, "max_width": "100%"},
        }
        if self.choices:
            return ipywidgets.Dropdown(options=list(self.choices), value=self.start, **common)
        if isinstance(self.start, bool):
            return ipywidgets.Checkbox(value=self.start, **common)
        if isinstance(self.start, str):
            return ipywidgets.Text(value=self.start, continuous_update=False, **common)
        low, high, step = self.scale(units)
        return ipywidgets.FloatSlider(
            value=self.shown(self.start, units),
            min=low,
            max=high,
            step=step,
            readout_format=readout(step),
            continuous_update=False,
            **common,
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
        widget.readout_format = readout(step)
        widget.description = self.label_in(after)


def readout(step: float) -> str:
    """Return the number format that shows every step of a slider and no more.

    Examples
    --------
    >>> readout(0.5), readout(5.0), readout(0.05)
    ('.1f', '.0f', '.2f')
    """
    text = f"{step:.10f}".rstrip("0")
    return f".{len(text.partition('.')[2])}f"
