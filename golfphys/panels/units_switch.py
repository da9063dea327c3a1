"""The choice of feet or metres, by itself, for the start page."""

import html
from typing import Any

import ipywidgets

from golfphys.panels import settings
from golfphys.panels.base import alert


class UnitsSwitch:
    """Choose what lengths are shown in; every page opened afterwards keeps to it.

    Examples
    --------
    >>> switch = UnitsSwitch()
    >>> switch.choice.value in ("metres", "feet")
    True
    """

    def __init__(self) -> None:
        self.choice = ipywidgets.Dropdown(
            options=list(settings.UNITS),
            value=settings.remembered_units(),
            description="Show lengths in",
            style={"description_width": "9em"},
        )
        self.message = ipywidgets.HTML()
        self.widget = ipywidgets.HBox([self.choice, self.message])
        self.choice.observe(self._chosen, names="value")

    def _chosen(self, change: Any) -> None:
        try:
            settings.remember_units(change["new"])
        except OSError as problem:
            reason = html.escape(problem.strerror or str(problem))
            self.message.value = alert(f"The choice could not be kept for other pages: {reason}.")
        else:
            self.message.value = f"<span role='status'>Kept: panels open in {change['new']} from now on.</span>"

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)
