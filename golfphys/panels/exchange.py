"""Bring in a file, of rows that somebody else laid out or of a phone, and take results away: CSV and figures."""

# ruff: noqa: I001  # several lines for a module with many names
import os
import re
import tempfile
from abc import ABC, abstractmethod
from collections import Counter
from collections.abc import Callable, Mapping
from contextlib import suppress
from datetime import date
from functools import partial
from itertools import chain, count
from pathlib import Path
from typing import Any

import ipywidgets
import pandas as pd

from golfphys.panels import settings
from golfphys.panels.course import Chosen
from golfphys.panels.filling import counted, places
from golfphys.panels.panel import LOOK, Form, Panel, Refusal, alert, asked, button, html_table, new_figure
from golfphys.panels.panel import row, status, upload, watch
from golfphys.sheets import SheetError, table_text
from golfphys.sheets.decoding import SEPARATOR_WORDS, Cut, normal_heading
from golfphys.sheets.dictionary import UNIT_WORDS, kind_of
from golfphys.sheets.errors import Findings
from golfphys.sheets.rows import extended, likely_matches, matched_rows, problems_of, read_source
from golfphys.sheets.writing import create_file, written_aside
from golfphys.show.markup import escape
from golfphys.show.style import rendered

NOT_THERE = "(not in the file)"
SHOWN_ROWS = 5
FIGURE_SIZE, PRINT_DPI = (7.5, 4.5), 200

Table = pd.DataFrame | Callable[[], pd.DataFrame]
Picture = Panel | Callable[[Any], Any]


class ImportForm(Form):
    """Choose a CSV file of any layout, match its columns, see what will be written; it joins a sheet of the course.

    Or of the player's own. A copy of the file stays in the folder ``brought in`` beside it. When the same file comes
    again, grown, only the rows that it did not have before are added. `kind` is what it is taken to hold to begin with.
    """

    def __init__(self, course: Chosen, kind: str = "rollouts") -> None:
        super().__init__(course)
        self.source: Any = None
        self._name, self._content = "", b""
        self.choices: dict[str, tuple[Any, Any]] = {}
        self._about: Any = None  # what they match
        sheets = places(course)
        self.kinds = ipywidgets.Dropdown(options=sheets, value=sheets[kind], description="it holds", **LOOK)
        cuts = [("as found", ""), *((word, sign) for sign, word in SEPARATOR_WORDS.items())]
        self.separator = ipywidgets.Dropdown(options=cuts, description="cells are parted by", **LOOK)
        found = {"value": 0, "max": 1000, "description": "row of headings (0: as found)"}
        self.heading_row = ipywidgets.BoundedIntText(**found, **LOOK)
        self.table, self.findings = ipywidgets.HTML(), ipywidgets.HTML()
        self.chooser = upload("Choose a file", ".csv,.txt,.tsv", lambda file: self.open(file["name"], file["content"]))
        self.matching = ipywidgets.VBox()
        self.accept = ipywidgets.Checkbox(description="values that are hard to believe are right", indent=False)
        self.button = button("Add these rows", self.write, primary=True)
        parts = [self.kinds, self.chooser, self.separator, self.heading_row, self.matching, self.table]
        parts += [self.findings, self.accept, self.button]
        self.widget = ipywidgets.VBox([*([] if course.is_demo else parts), self.message])
        if course.is_demo:
            self.message.value = alert("Make a course of your own on the start page; the demonstration stays as it is.")
        watch(self._guess, self.kinds)
        watch(self._read, self.separator, self.heading_row)

    @property
    def kind(self) -> Any:
        """Kind of sheet that the file holds."""
        return kind_of(self.kinds.value[1])

    @property
    def matches(self) -> dict[str, str]:
        """Column of the dictionary by heading of the file, as chosen."""
        found = {}
        for quantity, (heading, unit) in self.choices.items():
            if heading.value != NOT_THERE:
                columns = self.kind.columns_of(quantity)
                found[heading.value] = next(item.name for item in columns if (item.unit or "") == unit.value)
        return found

    def open(self, name: str, content: bytes) -> None:
        """Take a file, leave out the rows that were brought in from it before, and guess how its columns match."""
        self._name, self._content, self.accept.value = Path(name).name, bytes(content), False
        self._read()

    @property
    def _cut(self) -> Cut:
        return Cut(self.separator.value or None, self.heading_row.value or None)

    @property
    def _usual(self) -> set[str]:
        """Units of lengths on this course, in which a number is taken that names none."""
        return {"ft", "in"} if self.course.units == "feet" else {"m", "cm"}

    @property
    def _copy(self) -> Path:
        """Where a copy of the file stays."""
        folder: Path = self.course.folder / "brought in"
        return folder / f"{self.kind.name} {self._name}"

    @asked("This file cannot be brought in")
    def _read(self) -> None:
        """Read the file as it is to be cut, and match its columns."""
        if not self._name:
            return
        self.message.value = self.findings.value = self.table.value = ""
        self.source, self.matching.children = None, []
        with tempfile.TemporaryDirectory() as aside:
            path = Path(aside) / self._name
            path.write_bytes(self._content)
            self.source = read_source(path, self._cut)
        self._guess()

    def _guess(self) -> None:
        self.course, _ = self.kinds.value
        if self.source is None:
            return
        self.message.value = ""
        about = self.kind, self.source.header  # what was matched by hand stays where the same file comes again
        matches = self.matches if about == self._about else likely_matches(self.source, self.kind, self._usual)
        self._about = about
        guess = {column: heading for heading, column in matches.items()}
        self.choices = {quantity: self._choice(quantity, guess) for quantity in self.kind.quantities}
        self.matching.children = [row(*pair) for pair in self.choices.values()]
        self.check()

    def _choice(self, quantity: str, guess: Mapping[str, str]) -> tuple[Any, Any]:
        """A list of headings and a list of units for one quantity."""
        columns = self.kind.columns_of(quantity)
        likely = next((item for item in columns if item.unit in self._usual), columns[0])
        column = next((item for item in columns if item.name in guess), likely)
        needed = " *" if any(quantity in group and len(group) == 1 for group in self.kind.needs) else ""
        heading = ipywidgets.Dropdown(
            options=[NOT_THERE, *self.source.header], value=guess.get(column.name, NOT_THERE),
            description=quantity.replace("_", " ") + needed, tooltip=column.description, **LOOK,
        )  # fmt: skip
        heading.layout, heading.style.description_width = {"width": "25em"}, "8em"
        unit = ipywidgets.Dropdown(
            options=[(UNIT_WORDS.get(item.unit or "", ""), item.unit or "") for item in columns],
            value=column.unit or "", description="in", style={"description_width": "2em"},
            layout={"width": "13em", "visibility": "visible" if column.unit else "hidden"},
        )  # fmt: skip

        def named(change: Mapping[str, str]) -> None:
            """Take the unit that a heading names."""
            units = [item.unit for item in columns if normal_heading(change["new"]).endswith(f"_{item.unit}")]
            unit.value = units[0] if units else unit.value

        heading.observe(named, names="value")
        watch(self.check, heading, unit)
        return heading, unit

    def rows(self) -> list[dict[str, str]]:
        """Return the rows that would be added, by heading of the dictionary."""
        before, new = Counter[tuple[str, ...]](), []
        with suppress(SheetError):  # rows that were brought in from a file of this name before, if any
            before.update(record for _, record in read_source(self._copy, self._cut).records)
        rows = matched_rows(self.source, self.matches, self.kind)
        for (_, record), cells in zip(self.source.records, rows, strict=True):
            before[record] -= 1
            if before[record] < 0:
                new.append(cells)
        return new

    @asked("These rows cannot be added")
    def check(self) -> None:
        """Show what would be written as the columns are matched now, and what would be wrong with it."""
        self.table.value = ""
        headings = [choice.value for choice, _ in self.choices.values() if choice.value != NOT_THERE]
        if twice := sorted(heading for heading, times in Counter(headings).items() if times > 1):
            self.findings.value = alert(f"One column for two things: {escape(', '.join(twice))}.")
            return
        problems, there = problems_of(self.source, self.matches, self.kind), len(self.source.records)
        if any(not problem.suspect for problem in problems):
            self.findings.value = alert(self.listed(problems, f"Of {there} rows, this would be wrong"))
            return
        rows, names = self.rows(), list(self.matches.values())
        try:
            extended(self.course.sheet_path(self.kind.name).read_bytes(), rows, self.kind.name, Findings("", True))
        except SheetError as error:
            self.findings.value = alert(self.listed(error.problems, "These rows have no place in the sheet"))
            return
        known = f" ({there - len(rows)} were brought in before)" if len(rows) < there else ""
        head = f"<b>{counted(len(rows), 'row')} will be added{known}{', the first of them:' if rows else '.'}</b>"
        shown = [[cells[name] for name in names] for cells in rows[:SHOWN_ROWS]]
        self.table.value = head + (html_table(names, shown) if rows else "")
        again = "To bring rows in anew, delete them from the sheet and give the file another name."
        right = status("Nothing is wrong with them." if rows else again)
        self.findings.value = alert(self.listed(problems, "Hard to believe")) if problems else right
        if out := [heading for heading in self.source.header if heading and heading not in headings]:
            self.findings.value += alert(f"Not taken from the file: {escape(', '.join(out))}. Match what should be.")

    @asked("Nothing was added")
    def write(self) -> None:
        """Add the rows to the course's own sheet; on any problem say which, and add none."""
        if self.source is None:
            raise Refusal("Choose a file first.")
        if not self.table.value:
            raise Refusal("Nothing was added: see above what would be wrong.")
        rows = self.rows()
        self._copy.parent.mkdir(exist_ok=True)
        with written_aside(self._copy, self._content) as aside:  # first: rows without a copy would be added twice
            path = self.course.add(self.kind.name, rows, accept_suspects=self.accept.value)
            os.replace(aside, self._copy)
        self.message.value = status(f"{counted(len(rows), 'row')} added to {escape(str(path))}.")
        self.check()


def plain_name(words: str) -> str:
    """Return words as the name of a file: letters, digits, hyphens and underlines."""
    return "-".join(re.findall(r"[\w-]+", words)) or "result"


def results_folder(course: Chosen) -> Path:
    """Return where results of a course go: in it, or for the demonstration beside the courses."""
    demo = settings.courses_folder() / "results of the demonstration"
    return demo if course.is_demo else course.folder / "results"


def free_path(folder: Path, name: str, suffix: str) -> Path:
    """Return the path of a file that is not there yet: ``name.csv``, or else ``name-2.csv`` and so on."""
    numbered = chain([""], (f"-{number}" for number in count(2)))
    paths = (folder / f"{plain_name(name)}{more}{suffix}" for more in numbered)
    return next(path for path in paths if not os.path.lexists(path))


class ExportForm(Form):
    """Write tables (CSV, all digits) and figures (PNG, PDF) of the chosen course, with its name and the date in them.

    Results of a course of one's own go into its folder ``results``, those of the demonstration into a folder of that
    name beside the courses. `tables` are by name, or callables that make them; `figures` are panels, or functions that
    draw on the Axes that they are given. `today` tells the date.
    """

    def __init__(
        self,
        course: Chosen,
        tables: Mapping[str, Table] | None = None,
        figures: Mapping[str, Picture] | None = None,
        *,
        today: Callable[[], date] = date.today,
    ) -> None:
        super().__init__(course)
        self.today, self.tables, self.figures = today, dict(tables or {}), dict(figures or {})
        folder = {"value": str(results_folder(course)), "description": "folder"}
        self.folder = ipywidgets.Text(**folder, continuous_update=False, **LOOK)
        names = *self.tables, *self.figures
        self.wanted = {name: ipywidgets.Checkbox(value=True, description=name, indent=False) for name in names}
        self.button = button("Write the files", self.write, primary=True)
        self.widget = ipywidgets.VBox([self.folder, *self.wanted.values(), self.button, self.message])

    @asked("Not all was written", ValueError)
    def write(self) -> list[Path]:
        """Write what is ticked."""
        folder = Path(self.folder.value.strip() or results_folder(self.course)).expanduser().absolute()
        steps = [(name, "csv") for name in self.tables if self.wanted[name].value]
        steps += [(name, form) for name in self.figures if self.wanted[name].value for form in ("png", "pdf")]
        if not steps:
            raise Refusal("Nothing is ticked, so nothing was written.")
        if settings.is_packaged(folder):
            raise Refusal(f"folder is {str(folder)!r}, within golfphys itself; expected one of your own")
        folder.mkdir(parents=True, exist_ok=True)
        written: list[Path] = []
        for number, (name, form) in enumerate(steps, start=1):
            self.message.value = status(f"Writing {number} of {len(steps)} …")
            written.append(self._one(folder, name, form))
        names = ", ".join(escape(path.name) for path in written)
        self.message.value = status(f"Written to {escape(str(folder))}: {names}.")
        return written

    def _one(self, folder: Path, name: str, form: str) -> Path:
        """Write one file, with what it is in it, and return its path."""
        day = f"{self.today():%Y-%m-%d}"
        said = f"{self.course.name}, {name}, {day}"
        path = free_path(folder, f"{self.course.name} {day} {name}", f".{form}")
        if form == "csv":
            made = self.tables[name]
            table = made if isinstance(made, pd.DataFrame) else made()
            create_file(path, f"# {said}\n{table_text(table)}".encode())
            return path
        picture: Any = self.figures[name]
        is_panel = isinstance(picture, Panel)
        figure = picture.figure() if is_panel else new_figure(lambda new: picture(new.subplots()), FIGURE_SIZE)
        figure.text(0.995, 0.995, said, ha="right", va="top", fontsize=7, parse_math=False)
        create_file(path, rendered(figure, form, dpi=PRINT_DPI))
        return path


class PhoneForm(Form, ABC):
    """What both forms do: keep the file that was chosen with the course, and open it."""

    def __init__(self, course: Chosen, words: str, accept: str) -> None:
        super().__init__(course)
        self.words = ipywidgets.HTML()
        self.chooser = upload(words, accept, self._came)
        spots = list(
            dict.fromkeys(spot for kind in ("rollouts", "drops", "chips") for spot in course.words(kind, "spot"))
        )
        only = spots[0] if len(spots) == 1 else ""
        self.spot = ipywidgets.Combobox(value=only, options=spots, description="spot", **LOOK)
        self.day = ipywidgets.DatePicker(value=date.today(), description="measured on", **LOOK)
        self.anyway = button("It is right: save it as it is", partial(self.save, accept_suspects=True))
        self.anyway.layout.display = "none"

    @asked("The file could not be kept")
    def _came(self, file: Any) -> None:
        """Keep an uploaded file with the course, or aside where that is the demonstration, and open it."""
        folder = Path(tempfile.mkdtemp()) if self.course.is_demo else self.course.folder / "recordings"
        path, content = folder / Path(file["name"]).name, bytes(file["content"])
        if path.exists() and path.read_bytes() != content:  # phones use a name again
            path = free_path(folder, path.stem, path.suffix)
        settings.write_whole(path, content, private=False)
        self.open(path)

    @abstractmethod
    def open(self, path: str | Path) -> None:
        """Read the file."""

    @abstractmethod
    def save(self, *, accept_suspects: bool = False) -> None:
        """Put what the file says into the sheet; on any problem say which, and change nothing."""

    @property
    def _about(self) -> dict[str, Any]:
        """What the rows of a recording say of where and when it was made."""
        return {"spot": self.spot.value, **({"date": self.day.value} if self.day.value else {})}

    def _needs_own_course(self) -> None:
        if self.course.is_demo:
            words = "Make a course of your own on the start page to keep this; the demonstration stays as it is."
            raise Refusal(words)
