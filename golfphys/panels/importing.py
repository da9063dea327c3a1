"""Bring in a CSV file that somebody else laid out: match its columns, see what is wrong, write a new sheet.

The file that is read stays as it is, and the sheet that is written must not exist yet.
"""

import csv
import difflib
import html
import io
import os
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import ipywidgets

from golfphys.measurements import SheetError
from golfphys.measurements.append import CHECKS
from golfphys.measurements.decoding import RawSheet, decode, load_bytes, split
from golfphys.measurements.dictionary import UNIT_WORDS, Column, Kind, kind_of
from golfphys.measurements.errors import Findings, Problem
from golfphys.measurements.headings import normal_heading
from golfphys.measurements.saving import create_file
from golfphys.measurements.table import parse_table
from golfphys.panels.base import alert, busy, faults_said, html_table
from golfphys.panels.entry import listed, sheet_path

NOT_THERE = "(not in the file)"
SHOWN_ROWS = 4
OTHER_WORDS = {
    "spot": ("place", "location", "where", "green", "station"),
    "heading": ("direction", "bearing", "compass"),
    "distance": ("length", "rolled", "rollout"),
    "ramp_run": ("ramp", "notch"),
    "drop_height": ("drop", "dropped_from"),
    "rebound_height": ("rebound", "bounce", "bounce_height"),
    "measured_at": ("time", "date", "when"),
    "note": ("notes", "comment", "comments", "remark", "remarks"),
    "club": ("clubs",),
    "rest": ("total", "finish", "stopped"),
    "target_carry": ("target", "aim"),
}
"""Words that people head these columns with, for the guess."""
WIDE = {"description_width": "16em"}


@dataclass(frozen=True, kw_only=True)
class Source:
    """A file to be brought in.

    Parameters
    ----------
    path : pathlib.Path
        Where it is.
    raw : RawSheet
        Its cells as text.
    """

    path: Path
    raw: RawSheet

    @property
    def headings(self) -> tuple[str, ...]:
        """Its headings, those that are blank or doubled told apart by the number of their column."""
        found: list[str] = []
        for number, text in enumerate(self.raw.header, start=1):
            name = text or f"column {number}"
            found.append(f"{name} (column {number})" if name in found else name)
        return tuple(found)


def read_source(path: str | os.PathLike[str]) -> Source:
    """Read a CSV file of any layout.

    Parameters
    ----------
    path : path-like
        The file.

    Returns
    -------
    Source
        Its headings and cells.

    Raises
    ------
    SheetError
        If it cannot be read, or has no headings.
    """
    findings = Findings(str(path))
    text, encoding, mark = decode(load_bytes(path, findings), findings)
    raw = split(text, encoding, mark, frozenset(), findings)
    if not raw.header or not raw.records:
        findings.add(
            found="no rows under a line of headings",
            expected="a first line of headings, then one line for each measurement",
            advice="Check that it is the file you meant.",
        )
    for row, record in raw.records:
        if any(record[len(raw.header) :]):
            findings.add(
                row=row,
                found=f"{len(record)} cells under {len(raw.header)} headings",
                expected=f"{len(raw.header)} cells",
                advice="Give every column a heading, or take out what has none: nothing is dropped unasked.",
            )
    findings.raise_if_any()
    return Source(path=Path(path), raw=raw)


def likely_matches(source: Source, kind: Kind) -> dict[str, str]:
    """Guess which heading of a file stands for which column of the dictionary.

    Parameters
    ----------
    source : Source
        The file.
    kind : Kind
        The sheet that it is to become.

    Returns
    -------
    dict of str to str
        Column of the dictionary by heading of the file; a heading that fits nothing is left out.
    """
    found: dict[str, str] = {}
    taken: set[str] = set()
    for heading in source.headings:
        free = [column for column in kind.columns if column.quantity not in taken]
        column = _likely(normal_heading(heading), free)
        if column is not None:
            found[heading] = column.name
            taken.add(column.quantity)
    return found


def _likely(name: str, columns: list[Column]) -> Column | None:
    plain = name.replace("(", "").replace(")", "").replace("[", "").replace("]", "")
    names = {column.name: column for column in columns}
    if plain in names:
        return names[plain]
    alike = [
        column
        for column in columns
        for word in (column.quantity, *OTHER_WORDS.get(column.quantity, ()))
        if plain == word or plain.startswith(f"{word}_")
    ]
    if alike:
        return next((column for column in alike if plain.endswith(f"_{column.unit}")), alike[0])
    close = difflib.get_close_matches(plain, list(names), n=1, cutoff=0.8)
    return names[close[0]] if close else None


def sheet_text_of(source: Source, matches: Mapping[str, str]) -> str:
    """Return the text of the sheet that a file becomes: matched columns under their new headings, others as they are.

    Parameters
    ----------
    source : Source
        The file.
    matches : mapping of str to str
        Column of the dictionary by heading of the file.

    Returns
    -------
    str
        CSV with commas and decimal points.
    """
    stream = io.StringIO()
    stream.writelines(f"# {line}\n" for line in (*source.raw.comments, f"brought in from {source.path.name}"))
    writer = csv.writer(stream, lineterminator="\n")
    headings = source.headings
    writer.writerow([matches.get(heading, heading) for heading in headings])
    commas = source.raw.layout.separator != ","
    for _, record in source.raw.records:
        cells = [*record, *[""] * (len(headings) - len(record))][: len(headings)]
        pairs = zip(cells, headings, strict=True)
        writer.writerow([_pointed(cell) if commas and heading in matches else cell for cell, heading in pairs])
    return stream.getvalue()


def _pointed(cell: str) -> str:
    """A number with a decimal comma, written with a point."""
    return cell.replace(",", ".") if cell.lstrip("+-").replace(",", "", 1).isdigit() else cell


def problems_of(source: Source, matches: Mapping[str, str], kind: Kind) -> list[Problem]:
    """Return what would be wrong with the sheet, with the rows of the file that is brought in.

    Parameters
    ----------
    source : Source
        The file.
    matches : mapping of str to str
        Column of the dictionary by heading of the file.
    kind : Kind
        The sheet that it is to become.

    Returns
    -------
    list of Problem
        Empty if the sheet would be right; suspects among them are marked as such.
    """
    findings = Findings(str(source.path))
    text = sheet_text_of(source, matches)
    try:
        table = parse_table(text.encode("utf-8"), kind, findings)
        CHECKS[kind.name](table)
    except SheetError as error:
        findings.problems = list(error.problems)
    head = len(source.raw.comments) + 2  # comments, the line that says where it is from, the headings
    return [replace(problem, row=_row(problem.row, head, source)) for problem in findings.problems]


def _row(row: int | None, head: int, source: Source) -> int | None:
    """Row of the file for a row of the new text."""
    if row is None:
        return None
    place = row - head - 1
    return source.raw.records[place][0] if 0 <= place < len(source.raw.records) else source.raw.header_row


def bring_in(
    source: Source, matches: Mapping[str, str], kind: Kind, path: Path, *, accept_suspects: bool = False
) -> Path:
    """Write the sheet that a file becomes; an existing file is never overwritten.

    Parameters
    ----------
    source : Source
        The file.
    matches : mapping of str to str
        Column of the dictionary by heading of the file.
    kind : Kind
        The sheet that it is to become.
    path : pathlib.Path
        Where to write it.
    accept_suspects : bool
        Write values that can be read but are hard to believe.

    Returns
    -------
    pathlib.Path
        The new sheet.

    Raises
    ------
    SheetError
        If the sheet would not be right, exists already, or cannot be written; nothing is written then.
    """
    problems = [item for item in problems_of(source, matches, kind) if not (item.suspect and accept_suspects)]
    if problems:
        raise SheetError(str(source.path), problems)
    create_file(path, sheet_text_of(source, matches).encode("utf-8"), Findings(str(path)))
    return path


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
        return {choice.value: name for name, choice in self._named_choices().items() if choice.value != NOT_THERE}

    def _named_choices(self) -> dict[str, Any]:
        """The list of each quantity, by the column that its unit makes."""
        return {self._column_name(quantity): pair[0] for quantity, pair in self.choices.items()}

    def _column_name(self, quantity: str) -> str:
        columns = self.kind.columns_of(quantity)
        chosen = self.choices[quantity][1].value
        return next(column.name for column in columns if (column.unit or "") == chosen)

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
