"""Fill in a sheet on the page: checked while it is typed, saved by Enter, every row mended or deleted at will."""

import asyncio
import math
import re
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import replace
from datetime import date, datetime, time
from functools import partial
from typing import Any

import ipywidgets

from golfphys.panels.course import Chosen
from golfphys.panels.filling import CYCLING, MEASURED, Field, counted, offered, places, so_far
from golfphys.panels.panel import LAYOUT, Form, Refusal, alert, asked, button, html_table, listed, row, status, watch
from golfphys.physics.club import named_by_loft
from golfphys.sheets import Problem, SheetError, name_key, read_sheet, reference_line
from golfphys.sheets.decoding import read_headings, read_raw
from golfphys.sheets.dictionary import Column, Misread, kind_of, read_time, unquoted
from golfphys.sheets.errors import Findings
from golfphys.sheets.rows import Edit, add_rows, delete_row, mend_row, take_back
from golfphys.sheets.table import KNOWN_NAMES, SHORT_NAMES
from golfphys.show.markup import escape

DATES = ("measured_at", "date")
LAST_ROWS = 8
SETTLED = 0.25
"""Seconds without news of a cell that Enter has ended after which it has come: Enter is heard before its cell is."""
CAUTIONS = {
    "rollouts": "Keep the ramp off soft or freshly mended turf, mend every mark, and ask the greenkeeping staff first.",
    "drops": "Drop on the collar or a corner out of play, mend every mark, and ask the greenkeeping staff first.",
    "chips": "Never chip towards people; call before you play, and keep to the practice area that the staff allow.",
}
"""What is said above a form where the measuring itself can hurt a green or somebody."""


class EntryForm(Form):
    """A form that adds rows to a sheet of the chosen course, and mends those that are there.

    Enter in any field saves the row; it is then in the file, and the cursor stands in the next thing to measure. A
    page closed, reloaded or crashed loses nothing that was saved.
    """

    def __init__(self, kind: str, course: Chosen, *, clock: Callable[[], datetime] = datetime.now) -> None:
        super().__init__(course)
        self.kind, self.clock = kind_of(kind), clock
        self.path = course.folder / f"{kind}.csv"
        self.sheet: Any = None
        self.mending: int | None = None
        self.aside: list[tuple[Any, Any]] = []  # inputs, and what stood in them before a row came in to be mended
        self.shown: tuple[Any, Any] = (None, None)  # day and time of that row
        self.records: list[tuple[int, dict[str, str]]] = []  # rows as in the file, cells by heading as written there
        self.written: dict[str, str] = {}  # that heading, by the dictionary's
        self.last = 0  # row of the file after which new ones come
        self.changes: list[Edit] = []
        self._waiting: asyncio.TimerHandle | None = None
        self._ended: Any = None
        self.fields: dict[str, Field] = {}
        self.dated = ""
        self.button = button("Save this row", self._press, primary=True)
        self.anyway = button("It is right: save it as it is", lambda: self._press(accept_suspects=True))
        self.anyway.layout.display = "none"
        self.chooser = ipywidgets.Dropdown(description="row", layout=LAYOUT, style={"description_width": "3em"})
        self.mend = button("Mend this row", lambda: self.begin_mending(self.chooser.value))
        self.delete = button("Delete it", lambda: self.remove(self.chooser.value))
        self.undo = button("Undo", self.undone)
        wide = {"description_width": "auto"}
        self.day = ipywidgets.DatePicker(value=clock().date(), description="measured on", style=wide)
        self.time = ipywidgets.TimePicker(description="at", tooltip="blank: now", style=wide)
        self.head, self.estimates, self.rows = (ipywidgets.HTML() for _ in range(3))
        self.box, saving = row(), row(self.button, self.anyway)
        changing = row(self.chooser, self.mend, self.delete, self.undo)
        parts = [self.box, row(self.day, self.time), saving, self.message, self.estimates, self.rows, changing]
        self.widget = ipywidgets.VBox([self.head, *([] if course.is_demo else parts)])
        if course.is_demo:
            self.head.value = alert(
                "This is the demonstration, which nobody measured: make a course of your own at the head of the "
                "start page, then run this page again."
            )
        else:
            self.refresh()

    # what is on the page

    def put(self, **typed: object) -> None:
        """Type cells, by heading; what stands in the other fields stays."""
        for name, value in typed.items():
            if name not in self.fields:
                raise ValueError(f"the form has no field {name!r}; it has: {', '.join(self.fields)}")
            self.fields[name].input.value = str(value)

    @property
    def cells(self) -> dict[str, str]:
        """What is typed, by heading, blank cells left out."""
        return {name: field.text for name, field in self.fields.items() if field.text}

    def refresh(self, said: str = "", *, go_on: bool = False) -> None:
        """Read the sheet anew; show its fields and last rows, then what is wrong or else `said`, then what it tells.

        The cursor goes on to the next thing to measure if asked to. From then on nothing changes in a field: whoever
        reads what is said types on, and anything new for a field, even the words that it offers, makes the page put
        the value that the kernel knows over what is being typed.
        """
        self.records, self.sheet = [], None
        try:
            raw = read_raw(self.course.sheet_path(self.kind.name), self.kind)
            findings = Findings(str(self.path))
            self.last = max([raw.header_row, *(row for row, _ in raw.records)])
            headings = read_headings(raw, self.kind, findings)
            findings.raise_if_any()
        except SheetError as error:
            self.message.value = alert(self.listed(error.problems, "This sheet cannot be added to as it is"))
            self._show_rows()
            return
        self.records = list(raw.rows.items())
        self.written = {item.column.name: item.text for item in headings if item.column is not None}
        self._show_rows()
        self._make_fields([item.column for item in headings if item.column is not None])
        line = reference_line(raw.comments) or self.course.line_in_words
        pointing = f" Heading 0 points {escape(line)}." if "heading" in self.kind.quantities else ""
        self.head.value = status(
            f"<b>{escape(self.kind.title)}, {escape(self.course.name)}.</b> "
            f"{escape(self.kind.description)} Fields with * must be filled in; Enter saves.{pointing}"
            f"<br><small>{CAUTIONS.get(self.kind.name, '')} Rows are kept in {escape(self.path)}.</small>"
        )
        try:
            self.sheet = read_sheet(self.path, self.kind.name, accept_suspects=True)
        except SheetError as error:
            need = "Rows that are in the sheet already need mending"
            said = said if error.unfilled else alert(self.listed(error.problems, need))
        for field in self.fields.values() if self.sheet else ():
            field.offer(self.sheet.frame)
        for field in [field for field in self.fields.values() if go_on and field.column.quantity in MEASURED][:1]:
            field.input.focus()
        self.message.value = said or self.message.value
        self._estimate()

    def _make_fields(self, columns: Sequence[Column]) -> None:
        wanted = [column for column in columns if column.quantity not in DATES]
        if list(self.fields) == [column.name for column in wanted]:
            return
        typed = self.cells
        self.fields = {column.name: Field(column) for column in wanted}
        for name, field in self.fields.items():
            field.input.value = typed.get(name, self.course.player if field.column.quantity == "player" else "")
            field.input.on_msg(self._heard)
            field.input.observe(partial(self._typed, field), names="value")
        self.box.children = [field.widget for field in self.fields.values()]
        self.dated = next((name for name in DATES if any(item.quantity == name for item in columns)), "")
        self.day.layout.display = "" if self.dated else "none"
        self.time.layout.display = "" if self.dated == "measured_at" else "none"

    def _show_rows(self) -> None:
        """Show the last rows, numbered as a person counts them, and offer every row for mending."""
        count = len(self.records)
        latest = [(place, cells) for place, (_, cells) in enumerate(self.records, start=1)][::-1]
        last = latest[:LAST_ROWS]
        used = [name for name in (last[0][1] if last else ()) if any(cells[name] for _, cells in last)]
        shown = [(str(place), *(cells[name] for name in used)) for place, cells in last]
        head = f"<b>{counted(count, 'row')}</b>, the last first:"
        self.rows.value = head + html_table(("row", *used), shown) if count else ""
        self.chooser.options = [(f"{at}: {', '.join(filter(None, cells.values()))}", at) for at, cells in latest]
        self.chooser.index = 0 if count else None
        for item in (self.chooser, self.mend, self.delete):
            item.disabled = not count
        self.undo.disabled = not self.changes

    def _estimate(self) -> None:
        """Say what the rows tell so far; nothing where some of them need mending."""
        said: list[str] = []
        if self.sheet is not None:
            typed = {field.column.quantity: field.text for field in self.fields.values()}
            try:
                said = so_far(self.kind.name, self.sheet, typed, self.course.unit)
            except ValueError as problem:
                said = [f"No estimate yet: {problem}"]
        self.estimates.value = status(listed(said, "So far", len(said))) if said else ""

    # saving

    @asked("Not saved")
    def save(self, *, accept_suspects: bool = False) -> None:
        """Check the row and put it into the sheet; on any problem say which, and leave everything as it is."""
        fields = self.fields.values()
        wrong = [f"{field.input.description}: {said}" for field in fields if (said := field.check())]
        new = [] if wrong or accept_suspects else self._new_names()
        if wrong or new:
            self.anyway.layout.display = "none" if wrong else ""
            self.message.value = alert(listed(wrong or new, "Not saved yet."))
            return
        number = self._put_row(accept_suspects)
        said = ", ".join(self.cells.values())
        if self.mending is None:
            self._offer_next()
        self._end_mending()
        stays = any(field.before is not None for field in fields)
        self.refresh(status(f"Saved as row {number}: {escape(said)}."), go_on=not stays)

    def _new_names(self) -> list[str]:
        """Ask about a club, a lie, a player or a green that nothing knows yet: it may be a slip of the pen."""
        asked = []
        rolled = self.course.words("rollouts", "spot") if self.kind.name != "rollouts" else []
        for field in self.fields.values():
            quantity = field.column.quantity
            known = rolled if quantity == "spot" else KNOWN_NAMES.get(quantity, ())
            if quantity == "player":
                known = [*filter(None, [self.course.player]), *self.course.words("chips", "player")]
            if known and field.text:
                names = dict.fromkeys([*known, *self.course.words(self.kind.name, quantity)])
                by_loft = quantity == "club" and named_by_loft(field.text)
                if not by_loft and name_key(field.text) not in {*map(name_key, names), *SHORT_NAMES}:
                    asked.append(f"{quantity} {field.text!r} is new here; so far there are: {', '.join(names)}.")
        return asked

    def _moment(self) -> dict[str, object]:
        """Return the time of a new row: as typed, or that of the clock today, the date alone for another evening."""
        now, day = self.clock().replace(second=0, microsecond=0, tzinfo=None), self.day.value
        if day is None or not self.dated:
            return {}
        if self.dated == "measured_at" and self.time.value is not None:
            return {self.dated: datetime.combine(day, self.time.value)}
        is_now = self.dated == "measured_at" and day == now.date()
        return {self.dated: now if is_now else date(day.year, day.month, day.day)}

    def _put_row(self, accept_suspects: bool) -> int:
        """Put the row into the file and return its number as a person counts."""
        options: dict[str, Any] = {"kind": self.kind.name, "accept_suspects": accept_suspects}
        if self.mending is not None:  # what has no field stays as it is
            row, there = self.records[self.mending - 1]
            mended: dict[str, object] = {self.written[name]: field.text for name, field in self.fields.items()}
            if self.dated and self.shown != (self.day.value, self.time.value):
                mended[self.written[self.dated]] = self._moment().get(self.dated)
            self.changes.append(mend_row(self.path, row, mended, there=there, **options))
            return self.mending
        cells = {**self.cells, **self._moment()}
        self.changes.append(add_rows(self.course.sheet_path(self.kind.name), [cells], **options))
        return len(read_raw(self.path, self.kind).rows)

    def _offer_next(self) -> None:
        """Empty the fields of what was measured and offer the next heading or club."""
        rows = read_raw(self.path, self.kind).rows.values()
        for name, field in self.fields.items():
            quantity = field.column.quantity
            if field.before is not None:
                continue
            if quantity in MEASURED:
                field.input.value, field.message.value = "", ""
            elif quantity in CYCLING and field.text:
                same = [cell for cells in rows if (cell := cells.get(self.written[name]))]
                field.input.value = offered(same) if same else field.input.value

    # changing what is there

    def begin_mending(self, number: int) -> None:
        """Bring a row, by its number as a person counts, into the fields; *Save* then puts it back in its place."""
        if self.mending is None:
            inputs = (*(field.input for field in self.fields.values()), self.day, self.time)
            self.aside = [(item, item.value) for item in inputs]
        cells = self.records[number - 1][1]
        for name, field in self.fields.items():
            value = unquoted(cells.get(self.written[name], ""))
            field.input.value = value.replace(",", ".") if field.column.is_number else value
        found = read_time(cells.get(self.written.get(self.dated, ""), ""))
        moment = None if isinstance(found, Misread) else found[0]
        self.day.value = moment and moment.date()
        self.time.value = moment.time() if moment and moment.time() != time.min else None
        self.shown, self.anyway.layout.display = (self.day.value, self.time.value), "none"  # it was of another row
        self.mending, self.button.description, self.undo.disabled = number, f"Save row {number}", False
        self.message.value = status(f"Row {number} is in the fields: mend it and save, or Undo to leave it as it is.")

    def _end_mending(self) -> None:
        """Put back what stood in the inputs before, but for what was typed since the row was saved."""
        typed = [field.input for field in self.fields.values() if field.before is not None]
        for item, value in self.aside:
            if item not in typed:
                item.value = value
        self.mending, self.aside, self.button.description = None, [], "Save this row"

    @contextmanager
    def _seen_anew(self) -> Iterator[None]:
        """Show the rows as another page has left them where a change to them is refused."""
        try:
            yield
        except SheetError:
            self.refresh()
            raise

    @asked()
    def remove(self, number: int) -> None:
        """Delete a row, by its number as a person counts; *Undo* brings it back."""
        if self.mending not in (None, number):
            raise Refusal(f"Row {self.mending} is in the fields: save it first, or Undo to leave it as it is.")
        row, there = self.records[number - 1]
        with self._seen_anew():
            self.changes.append(delete_row(self.path, row, kind=self.kind.name, there=there))
        self._end_mending()
        self.refresh(status(f"Row {number} is deleted; Undo brings it back."))

    @asked()
    def undone(self) -> None:
        """Leave the row that is being mended as it is, or take the last change back that was made with this form."""
        if self.mending is not None:
            said = f"Row {self.mending} is left as it was."
            self._end_mending()
            self.refresh(status(said))
        elif self.changes:
            with self._seen_anew():
                take_back(self.changes[-1])
            self.changes.pop()
            self.refresh(status("The last change is taken back."))

    # events

    def _heard(self, widget: Any, content: Any, _buffers: Any) -> None:
        if content.get("event") == "submit":
            self._press(ended=widget)

    def _typed(self, field: Field, change: Any) -> None:
        """Take a cell that comes while a row waits as that which Enter ended, or else as one of the next row."""
        if self._waiting is not None and field.input is self._ended:
            self._press(ended=field.input)
        elif self._waiting is not None and field.before is None:
            field.before = change["old"]

    def _press(self, *, accept_suspects: bool = False, ended: Any = None) -> None:
        """Save as soon as nothing more comes from the page of the input that Enter `ended`."""
        if self._waiting is not None:
            self._waiting.cancel()
        self._ended = ended

        def work() -> None:
            self._waiting = None
            try:
                self.save(accept_suspects=accept_suspects)
            finally:
                for field in self.fields.values():
                    field.before = None
                    field.check()

        try:
            self._waiting = asyncio.get_running_loop().call_later(SETTLED, work)
        except RuntimeError:  # no page, no kernel
            work()

    def listed(self, problems: Sequence[Problem], head: str) -> str:
        """Return the problems of a sheet as HTML, rows numbered as the form counts them."""
        shown = {row: place for place, (row, _) in enumerate(self.records, start=1)}
        taken = self.records[self.mending - 1][0] if self.mending is not None else math.inf  # those below moved up

        def numbered(row: int | None) -> int | None:
            if row is None or self.mending is not None:
                return row and self.mending
            return shown.get(row, len(self.records) + 1 if row > self.last else None)  # headings have no number

        def other(found: re.Match[str]) -> str:
            row = int(found[1])
            return f"row {shown.get(row + (row >= taken), row)}"

        said = [
            replace(item, row=numbered(item.row), found=re.sub(r"\brow (\d+)", other, item.found)) for item in problems
        ]
        return super().listed(said, head)


def any_form(course: Chosen) -> Any:
    """Return a list of all sheets of a course and its player with the form of the one chosen, at first putts, below."""
    sheets = places(course)
    chooser = ipywidgets.Dropdown(options=sheets, value=sheets["putts"], description="sheet", layout=LAYOUT)
    place = ipywidgets.VBox()

    def show() -> None:
        owner, kind = chooser.value
        place.children = [EntryForm(kind, owner).widget]

    watch(show, chooser)
    show()
    form = Form(course)
    form.widget = ipywidgets.VBox([chooser, place])
    return form
