"""Bring in a CSV file that somebody else laid out: match its columns, see what is wrong, write a new sheet."""

import html
import os
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import ipywidgets

from golfphys.panels.base import alert, busy, faults_said, html_table
from golfphys.panels.entry import listed, sheet_path
from golfphys.sheets import SheetError
from golfphys.sheets.dictionary import UNIT_WORDS, kind_of
from golfphys.sheets.foreign import Source, bring_in, likely_matches, problems_of, read_source

NOT_THERE = "(not in the file)"
SHOWN_ROWS = 4
WIDE = {"description_width": "16em"}


class ImportForm:
    """A form that turns a CSV file of any layout into a sheet: match the columns, see the errors, write a new file.

    Parameters
    ----------
    kind : str
        What the file holds: ``rollouts``, ``drops``, ``chips``, ``putts`` or ``traces``.
    source : path-like
        The file to bring in; it is only read.
    target : path-like
        The new sheet, or the folder to make it in.

    Raises
    ------
    ValueError
        If there is no such kind, or the target lies within the package.
    """

    def __init__(self, kind: str, source: str | os.PathLike[str] = "", target: str | os.PathLike[str] = "") -> None:
        self.kind = kind_of(kind)
        layout = {"width": "44em", "max_width": "100%"}
        self.source_path = ipywidgets.Text(
            value=str(source), description="file to bring in", continuous_update=False, style=WIDE, layout=layout
        )
        self.target_path = ipywidgets.Text(
            value=str(target), description="new sheet", continuous_update=False, style=WIDE, layout=layout
        )
        self.source: Source | None = None
        self.choices: dict[str, Any] = {}
        self.table, self.findings, self.message = (ipywidgets.HTML() for _ in range(3))
        self.matching = ipywidgets.VBox()
        self.accept = ipywidgets.Checkbox(
            value=False, description="values that are hard to believe are right", indent=False
        )
        self.button = ipywidgets.Button(
            description="Write the new sheet", button_style="primary", layout={"width": "auto"}
        )
        self.widget = ipywidgets.VBox(
            [
                *(self.source_path, self.target_path, self.table, self.matching, self.findings),
                *(self.accept, self.button, self.message),
            ]
        )
        self.source_path.observe(self._opened, names="value")
        self.button.on_click(self._clicked)
        if str(source):
            self.open()

    @property
    def matches(self) -> dict[str, str]:
        """Column of the dictionary by heading of the file, as chosen."""
        return {
            heading.value: next(
                column.name for column in self.kind.columns_of(quantity) if (column.unit or "") == unit.value
            )
            for quantity, (heading, unit) in self.choices.items()
            if heading.value != NOT_THERE
        }

    def open(self) -> None:
        """Read the file and guess how its columns match."""
        self.message.value = self.findings.value = ""
        try:
            self.source = read_source(Path(self.source_path.value).expanduser())
        except SheetError as error:
            self.source = None
            self.table.value, self.matching.children = "", []
            self.message.value = alert(listed(error, "This file cannot be brought in"))
            return
        guess = {column: heading for heading, column in likely_matches(self.source, self.kind).items()}
        self.choices = {quantity: self._choice(quantity, guess) for quantity in self.kind.quantities}
        self.matching.children = [ipywidgets.HBox(pair) for pair in self.choices.values()]
        self.table.value = preview(self.source)
        self.check()

    def _choice(self, quantity: str, guess: Mapping[str, str]) -> tuple[Any, Any]:
        """A list of headings and a list of units for one quantity."""
        assert self.source is not None
        columns = self.kind.columns_of(quantity)
        column = next((item for item in columns if item.name in guess), columns[0])
        needed = any(quantity in group and len(group) == 1 for group in self.kind.needs)
        heading = ipywidgets.Dropdown(
            options=[NOT_THERE, *self.source.headings],
            value=guess.get(column.name, NOT_THERE),
            description=quantity.replace("_", " ") + (" *" if needed else ""),
            tooltip=column.description,
            style=WIDE,
            layout={"width": "32em"},
        )
        unit = ipywidgets.Dropdown(
            options=[(UNIT_WORDS.get(item.unit or "", ""), item.unit or "") for item in columns],
            value=column.unit or "",
            description="in",
            style={"description_width": "2em"},
            layout={"width": "14em", "visibility": "visible" if column.unit else "hidden"},
        )
        for widget in (heading, unit):
            widget.observe(self._chosen, names="value")
        return heading, unit

    def check(self) -> None:
        """Say what would be wrong with the sheet as the columns are matched now."""
        if self.source is None:
            return
        headings = [choice.value for choice, _ in self.choices.values() if choice.value != NOT_THERE]
        doubled = sorted({heading for heading in headings if headings.count(heading) > 1})
        if doubled:
            self.findings.value = alert(f"One column for two things: {html.escape(', '.join(doubled))}.")
            return
        problems = problems_of(self.source, self.matches, self.kind)
        rows = len(self.source.raw.records)
        if problems:
            error = SheetError(str(self.source.path), problems)
            self.findings.value = alert(listed(error, f"Of {rows} rows, this would be wrong"))
        else:
            self.findings.value = f"<p role='status'>{rows} rows, nothing wrong with them.</p>"

    def write(self) -> None:
        """Write the new sheet; on any problem say which, and write nothing."""
        if self.source is None:
            self.message.value = alert("There is no file to bring in yet.")
            return
        try:
            path = sheet_path(self.kind.name, self.target_path.value.strip() or f"{self.kind.name}.csv")
            made = bring_in(self.source, self.matches, self.kind, path, accept_suspects=self.accept.value)
        except SheetError as error:
            self.message.value = alert(listed(error, "Nothing was written"))
        except ValueError as problem:
            self.message.value = alert(f"Nothing was written: {html.escape(str(problem))}")
        else:
            rows = len(self.source.raw.records)
            self.message.value = f"<p role='status'>{rows} rows written to {html.escape(str(made))}.</p>"

    def _opened(self, _change: Any) -> None:
        with faults_said(self.message, "The form"):
            self.open()

    def _chosen(self, _change: Any) -> None:
        with faults_said(self.message, "The form"):
            self.check()

    def _clicked(self, _button: Any) -> None:
        with busy(self.button), faults_said(self.message, "The form"):
            self.write()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)


def preview(source: Source) -> str:
    """Return the first rows of a file as an HTML table."""
    records = [record for _, record in source.raw.records[:SHOWN_ROWS]]
    return f"<b>The first rows of {html.escape(source.path.name)}</b>{html_table(source.headings, records)}"
