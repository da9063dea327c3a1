"""Fill in a sheet on the page: cells checked while they are typed, rows saved at once, estimates after each row."""

import html
import os
from collections.abc import Callable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Any

import ipywidgets

from golfphys.panels import running, settings
from golfphys.panels.base import LINES, alert, busy, faults_said, html_table
from golfphys.panels.fields import Field, new_columns, sheet_columns
from golfphys.sheets import SheetError, append_row, make_course_folder, new_sheet
from golfphys.sheets.by_kind import FRAMES, READERS
from golfphys.sheets.decoding import read_raw
from golfphys.sheets.dictionary import Column, kind_of
from golfphys.sheets.errors import Findings
from golfphys.sheets.templates import Units

LAST_ROWS = 5
CAUTIONS = {
    "rollouts": "Keep the ramp off soft or freshly mended turf, mend every mark, and ask the greenkeeping staff first.",
    "drops": "Drop on the collar or a corner out of play, mend every mark, and ask the greenkeeping staff first.",
    "chips": "Never chip towards people; call before you play, and keep to the practice area that the staff allow.",
}
"""What is said above a form where the measuring itself can hurt a green or somebody."""


class EntryForm:
    """A form that adds rows to a sheet of the user's own, one at a time.

    Each row is in the file, safely, as soon as *Save this row* has answered; a page closed, reloaded or crashed loses
    nothing that was saved. The sheet, and the course's folder, are made with the first row.

    Parameters
    ----------
    kind : str
        ``rollouts``, ``drops``, ``chips``, ``putts`` or ``traces``.
    path : path-like, optional
        The sheet, or the folder of the course that it belongs to; ``own_sheets()`` if left out.
    units : {"metres", "feet"}, optional
        Units of a new sheet; what the reader chose last if left out. An existing sheet keeps its own.
    clock : callable, optional
        Tells the time that is written beside a row.

    Raises
    ------
    ValueError
        If there is no such kind, or the path lies within the package or among the data that come with it.

    Examples
    --------
    >>> import tempfile
    >>> form = EntryForm("drops", Path(tempfile.mkdtemp()) / "my course", units="metres")
    >>> form.put(spot="home-left", drop_height_m="1.50", rebound_height_m="0.31")
    >>> form.save()
    >>> form.path.name, len(form.sheet.drops)
    ('drops.csv', 1)
    """

    def __init__(
        self,
        kind: str,
        path: str | os.PathLike[str] | None = None,
        *,
        units: Units | None = None,
        clock: Callable[[], datetime] = datetime.now,
    ) -> None:
        self.kind = kind_of(kind)
        self.path = sheet_path(kind, settings.own_sheets() if path is None else path)
        self.clock = clock
        self.sheet: Any = None
        self.fields: dict[str, Field] = {}
        chosen = units or settings.remembered_units()
        self.units = ipywidgets.Dropdown(
            options=list(settings.UNITS),
            value=chosen,
            description="units of the new sheet",
            style={"description_width": "14em"},
            layout={"width": "32em"},
        )
        self.line = ipywidgets.Text(
            description="heading 0 points",
            placeholder="for instance along the west edge, towards the clubhouse",
            style={"description_width": "14em"},
            layout={"width": "46em", "max_width": "100%"},
        )
        self.stamp = ipywidgets.Checkbox(value=True, description="write date and time beside each row", indent=False)
        self.button = ipywidgets.Button(description="Save this row", button_style="primary")
        self.anyway = ipywidgets.Button(
            description="It is right: save it as it is", layout={"display": "none", "width": "auto"}
        )
        self.head, self.message, self.estimates, self.rows = (ipywidgets.HTML() for _ in range(4))
        self.rows_of_fields = ipywidgets.VBox()
        self.widget = ipywidgets.VBox(
            [
                *(self.head, self.units, self.line, self.rows_of_fields, self.stamp),
                *(ipywidgets.HBox([self.button, self.anyway]), self.message, self.estimates, self.rows),
            ]
        )
        self.button.on_click(self._save_clicked)
        self.anyway.on_click(self._anyway_clicked)
        self.units.observe(self._units_chosen, names="value")
        self.refresh()

    # what is on the page

    def put(self, **cells: object) -> None:
        """Type cells, by heading; what stands in the other fields stays.

        Parameters
        ----------
        **cells
            Text or number for each heading.

        Raises
        ------
        ValueError
            If the form has no such field.
        """
        for name, value in cells.items():
            if name not in self.fields:
                raise ValueError(f"the form has no field {name!r}; it has: {', '.join(self.fields)}")
            self.fields[name].input.value = str(value)

    @property
    def cells(self) -> dict[str, str]:
        """What is typed, by heading, blank cells left out."""
        return {name: field.text for name, field in self.fields.items() if field.text}

    def refresh(self) -> None:
        """Read the sheet anew and show its fields, its last rows and what it tells so far."""
        exists = self.path.exists()
        for chooser in (self.units, self.line):
            chooser.layout.display = "none" if exists else ""
        if "heading" not in self.kind.quantities:
            self.line.layout.display = "none"
        line: str | None = None
        if exists:
            try:
                columns, line = sheet_columns(self.path, self.kind)
            except SheetError as error:
                self.message.value = alert(listed(error, "This sheet cannot be added to as it is"))
                return
        else:
            columns = new_columns(self.kind, self.units.value)
        self._make_fields(columns)
        self._say_where(exists, line)
        self._read()

    def _make_fields(self, columns: Sequence[Column]) -> None:
        wanted = [column for column in columns if column.quantity != "measured_at"]
        if list(self.fields) == [column.name for column in wanted]:
            return
        typed = self.cells
        self.fields = {column.name: Field(column) for column in wanted}
        for name, text in typed.items():
            if name in self.fields:
                self.fields[name].input.value = text
        self.rows_of_fields.children = [field.widget for field in self.fields.values()]
        timed = any(column.quantity == "measured_at" for column in columns)
        self.stamp.layout.display = "" if timed else "none"

    def _say_where(self, exists: bool, line: str | None) -> None:
        caution = CAUTIONS.get(self.kind.name, "")
        pointing = f" Heading 0 points {html.escape(line)}." if line else ""
        made = "" if exists else ", made with the first row"
        warned = f"<br><small>{html.escape(caution)}</small>" if caution else ""
        self.head.value = (
            f"<div style='{LINES}'><b>{html.escape(self.kind.title)}.</b> {html.escape(self.kind.description)} "
            f"Fields with * must be filled in.{pointing}<br>"
            f"<small>Rows are kept in {html.escape(str(self.path))}{made}.</small>{warned}</div>"
        )

    def _read(self) -> None:
        """Read the rows; what is wrong with them is said, and nothing is estimated until it is mended."""
        self.estimates.value = self.rows.value = ""
        self.sheet = None
        if not self.path.exists():
            return
        try:
            self.sheet = READERS[self.kind.name](self.path, accept_suspects=True)
        except SheetError as error:
            if not error.unfilled:
                self.message.value = alert(listed(error, "Rows that are in the sheet already need mending"))
            return
        frame = getattr(self.sheet, FRAMES[self.kind.name])
        for field in self.fields.values():
            if field.column.quantity in frame and field.column.type == "string":
                field.offer([str(word) for word in dict.fromkeys(frame[field.column.quantity]) if word])
        self.rows.value = last_rows(self.path, self.kind.name)
        self._estimate()

    def _estimate(self) -> None:
        about = {field.column.quantity: field.text for field in self.fields.values()}
        frame = getattr(self.sheet, FRAMES[self.kind.name])
        for quantity in ("spot", "club"):
            if quantity in frame and about.get(quantity) not in set(frame[quantity]):
                about[quantity] = str(frame[quantity].iloc[-1])
        unit = "ft" if any(field.column.unit in ("ft", "in", "yd") for field in self.fields.values()) else "m"
        try:
            said = running.so_far(self.kind.name, self.sheet, about, unit)
        except ValueError as problem:
            said = [f"No estimate yet: {problem}"]
        lines = "".join(f"<li>{html.escape(sentence)}</li>" for sentence in said)
        self.estimates.value = f"<b>So far</b><ul role='status' style='{LINES}'>{lines}</ul>" if said else ""

    # saving

    def save(self, *, accept_suspects: bool = False) -> None:
        """Check the row and add it to the sheet; on any problem say which, and leave everything as it is.

        Parameters
        ----------
        accept_suspects : bool
            Save a value that can be read but is hard to believe.
        """
        self.anyway.layout.display = "none"
        wrong = {name: said for name, field in self.fields.items() if (said := field.check())}
        if wrong:
            items = "".join(f"<li><b>{html.escape(name)}</b>: {html.escape(said)}</li>" for name, said in wrong.items())
            self.message.value = alert(f"<b>Not saved yet.</b><ul style='margin:0.2em 0'>{items}</ul>")
            return
        row: dict[str, object] = dict(self.cells)
        try:
            self._make_sheet()
            if self.stamp.value and self.stamp.layout.display != "none":
                row["measured_at"] = self.clock().replace(second=0, microsecond=0, tzinfo=None)
            number = append_row(self.path, row, kind=self.kind.name, accept_suspects=accept_suspects)
        except SheetError as error:
            if all(problem.suspect for problem in error.problems):
                self.anyway.layout.display = ""
            self.message.value = alert(listed(error, "Not saved"))
            return
        except OSError as error:
            reason = html.escape(error.strerror or str(error))
            self.message.value = alert(f"<b>Not saved:</b> the folder could not be made: {reason}.")
            return
        self.message.value = f"<div role='status' style='{LINES}'>Saved as row {number}.</div>"
        for field in self.fields.values():
            field.clear()
        self.refresh()

    def _make_sheet(self) -> None:
        """Make the course's folder, or the sheet in it, where it is not there yet."""
        if self.path.exists():
            return
        line = self.line.value.strip() or None
        chosen: dict[str, Any] = {"units": self.units.value, "reference_line": line}
        if not self.path.parent.exists() and self.path.name == f"{self.kind.name}.csv":
            self.path.parent.parent.mkdir(parents=True, exist_ok=True)
            make_course_folder(self.path.parent, **chosen)
        else:
            new_sheet(self.path, self.kind.name, **chosen)

    def _save_clicked(self, _button: Any) -> None:
        self._guarded(accept_suspects=False)

    def _anyway_clicked(self, _button: Any) -> None:
        self._guarded(accept_suspects=True)

    def _guarded(self, *, accept_suspects: bool) -> None:
        with busy(self.button), faults_said(self.message, "The form"):
            self.save(accept_suspects=accept_suspects)

    def _units_chosen(self, _change: Any) -> None:
        self.refresh()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)


def sheet_path(kind: str, path: str | os.PathLike[str]) -> Path:
    """Return the path of a sheet that the user may write to.

    Parameters
    ----------
    kind : str
        Kind of sheet.
    path : path-like
        The sheet, or the folder that it is or will be in.

    Returns
    -------
    pathlib.Path
        The sheet.

    Raises
    ------
    ValueError
        If it lies within the package, or among the data that come with its source.
    """
    found = Path(path).expanduser()
    if found.suffix.lower() not in (".csv", ".txt", ".tsv") or found.is_dir():
        found = found / f"{kind}.csv"
    if settings.is_packaged(found):
        raise ValueError(
            f"path is {str(path)!r}, within golfphys itself; expected a folder of your own, such as own_sheets()"
        )
    return found


def listed(error: SheetError, head: str) -> str:
    """Return the problems of a sheet as HTML."""
    items = "".join(f"<li>{html.escape(str(problem))}</li>" for problem in error.problems[:8])
    more = f"<li>and {len(error.problems) - 8} more</li>" if len(error.problems) > 8 else ""
    return f"<b>{html.escape(head)}.</b><ul style='margin:0.2em 0'>{items}{more}</ul>"


def last_rows(path: Path, kind: str) -> str:
    """Return the last rows of a sheet as an HTML table, with their numbers, as they stand in the file."""
    raw = read_raw(path, kind_of(kind).names, Findings(str(path)))
    records = [(row, cells) for row, cells in raw.records if not cells[0].startswith("#")]
    rows = [(str(row), *cells) for row, cells in records[-LAST_ROWS:]]
    counted = f"<b>{len(records)} row{'s' if len(records) != 1 else ''}</b>, the last of them:"
    return counted + html_table(("row", *raw.header), rows)
