"""One choice for every page: which course, whose chips, which day. `CoursePanel` makes it, `chosen` reads it."""

import re
from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import ipywidgets
import numpy as np
import pandas as pd

import golfphys
from golfphys.core.units import FACTORS_TO_SI
from golfphys.fitting.fit import fit
from golfphys.panels import settings
from golfphys.panels.filling import counts, session_of
from golfphys.panels.panel import LOOK, Form, Refusal, alert, asked, button, remembered, status, watch
from golfphys.physics.club import bag_with, carried
from golfphys.sheets import Course, Log, SheetError, Units, append_rows, new_sheet
from golfphys.sheets.decoding import normal_heading
from golfphys.sheets.dictionary import UNIT_WORDS, kinds
from golfphys.sheets.reading import SHEET_FILES, read_course, reference_line
from golfphys.sheets.suspects import around, nearly
from golfphys.sheets.writing import make_course_folder
from golfphys.show import style
from golfphys.show.markup import escape

EVERY_DAY, NEW = "(the latest)", "(a new course)"
DEMO = "Quillmere Downs, the invented demonstration"
LEFT_OUT = "left out"
FITTED = ("rollouts", "drops", "chips", "films", "targets")
DRAWS = 200
OF_ANOTHER_DAY = re.compile(r" \d{4}-\d\d-\d\d( \d\d:\d\d)?$")  # behind the name of a spot


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """The course that the pages work on.

    Rolls of two days, or of one before and after a pause, are two greens: a place measured at another time than `day`
    is a spot of its own, with the time behind its name. Rows without a date count as of `day`, that whose greens are
    planned on, as 2025-05-06 or 2025-05-06 08:10, empty for the latest. Of chips those of `player` count, everybody's
    if empty, and, `with_past`, what the player logged elsewhere. Plans are made with `clubs`; if there are none, with
    those that are usual and those of her log.
    """

    name: str
    folder: Path
    units: Units
    player: str = ""
    day: str = ""
    with_past: bool = True
    clubs: tuple[str, ...] = ()

    @property
    def is_demo(self) -> bool:
        """Whether it is the demonstration, which nobody measured."""
        return self.name == DEMO

    @property
    def unit(self) -> str:
        """Symbol of the unit of lengths."""
        return settings.SYMBOLS[self.units]

    @property
    def metres(self) -> float:
        """Length of that unit, m."""
        return FACTORS_TO_SI[self.unit]

    @cached_property
    def sheets(self) -> Course | None:
        """Everything in the folder that has rows, as read; None if nothing has."""
        return settings.held(read_course, self.folder)

    @cached_property
    def days(self) -> tuple[str, ...]:
        """Days on which rolls were measured, the latest first; earlier sessions of a day with the hour they began."""
        rollouts = self.sheets.rollouts if self.sheets else None
        sessions = set(session_of(rollouts.frame, rollouts.frame)) - {""} if rollouts else set()
        return tuple(sorted(sessions, key=lambda session: f"{session} last"[:16], reverse=True))

    def day_in_words(self, day: str) -> str:
        """Return how one of `days` is called beside the others."""
        return f"{day}, last rolls" if any(other.startswith(f"{day} ") for other in self.days) else day

    @property
    def today(self) -> str:
        """The one of `days` whose greens are planned on."""
        return self.day if self.day in self.days else next(iter(self.days), "")

    def sheet(self, kind: str) -> Any:
        """Return one sheet, with this player's chips only and the places of other days under names of their own."""
        sheets: Any = self.sheets.of(self.player) if self.sheets and self.player else self.sheets
        sheet = getattr(sheets, kind, None)
        if sheet is None or "spot" not in sheet.frame or len(self.days) < 2:
            return sheet
        dated = zip(sheet.frame["spot"], session_of(sheet.frame, sheets.rollouts.frame), strict=True)
        named = [f"{spot} {day}" if spot and day and day != self.today else spot for spot, day in dated]
        return sheet.replaced(sheet.frame.assign(spot=named))

    @cached_property
    def past(self) -> Log | None:
        """What the player logged in her own folder and on other courses; None where there is nothing, or it is out."""
        return settings.logged_before(self.player, self.name) if self.player and self.with_past else None

    @property
    def log(self) -> Log | None:
        """All that the player logged, here and elsewhere; None where no player is chosen or she has no chips."""
        found = settings.logged_before(self.player, "") if self.player else None
        if self.player and not (found and found.chips):
            said = f"{escape(self.player)} has logged no chips yet: what follows is of an invented player."
            _show(ipywidgets.HTML(alert(said)))
            return None
        return found

    @property
    def before_the_last_day(self) -> tuple[Any, Any] | None:
        """The fit without the chips of the last day, and these; None where the log has no two days."""
        chips = self.sheet("chips")
        last = pd.Series(dtype=bool) if chips is None else chips.frame["date"] == chips.frame["date"].max()
        if last.all() or not last.any():
            return None
        others = [sheet for kind in FITTED if kind != "chips" and (sheet := self.sheet(kind)) is not None]
        with working("Fitting the days before the last"):
            return fit(*others, chips.replaced(chips.frame[~last])), chips.replaced(chips.frame[last])

    @cached_property
    def fit(self) -> Any:
        """The fit of all sheets together; kept, so that the next page does not fit again."""
        used = [sheet for kind in FITTED if (sheet := self.sheet(kind)) is not None]
        files = sorted(path for path in self.folder.iterdir() if path.suffix.lower() in SHEET_FILES)
        content = b"".join(path.name.encode() + path.read_bytes() for path in files)
        past = self.past if self.past and self.past.sheets else None
        before = [sheet.frame.to_csv() for sheet in past.sheets.values()] if past else []
        content += repr((self.player, self.day, self.clubs, before)).encode()
        own: Any = {"clubs": bag_with(self.clubs)} if self.clubs else {}
        with working(f"Fitting the sheets of {self.name}"):
            return settings.cached(content, lambda: fit(*used, past=past, **own))

    @property
    def spots(self) -> tuple[str, ...]:
        """Greens that were rolled on or chipped to, those of the chosen day first."""
        sheets = {kind: sheet for kind in ("rollouts", "chips") if (sheet := self.sheet(kind)) is not None}
        places = [spot for sheet in sheets.values() for spot in sheet.frame["spot"] if spot]
        found = [spot for spot in places if around(spot) is None] or places
        return tuple(sorted(dict.fromkeys(found), key=lambda spot: bool(OF_ANOTHER_DAY.search(spot))))

    @property
    def greens(self) -> tuple[str, ...]:
        """Greens rolled on the chosen day; where there are none those of other days, or all places chipped to."""
        rolls = self.sheet("rollouts")
        rolled = set() if rolls is None else {spot for spot in rolls.frame["spot"] if around(spot) is None}
        places = tuple(spot for spot in self.spots if spot in rolled) or self.spots
        return tuple(spot for spot in places if not OF_ANOTHER_DAY.search(spot)) or places

    @property
    def spot(self) -> str:
        """The green to begin with: of `greens` the one chipped to most, or the first."""
        chips = self.sheet("chips")
        counts = chips.frame["spot"].value_counts() if chips is not None else {}
        return max(self.greens, key=lambda spot: counts.get(spot, 0))

    @property
    def lies(self) -> tuple[str, ...]:
        """Lies of the chip log, the most frequent first."""
        sheet = self.sheet("chips")
        return tuple(sheet.frame["lie"].value_counts().index) if sheet is not None else ()

    @property
    def line_deg(self) -> float:
        """The line of play to begin with: the most frequent one of the chips to `spot`, degrees, else 0."""
        sheet = self.sheet("chips")
        if sheet is None:
            return 0.0
        lines = np.degrees(sheet.frame.loc[sheet.frame["spot"] == self.spot, "heading"].dropna())
        return float(5 * np.round(lines.round(0).mode().iloc[0] / 5) % 360) if len(lines) else 0.0

    @property
    def line_in_words(self) -> str:
        """What heading 0 points at."""
        raws = (raw for kind in kinds() if (raw := settings.raw_sheet(self.folder, kind)) is not None)
        return next((line for raw in raws if (line := reference_line(list(raw.comments)))), "along the reference line")

    def words(self, kind: str, quantity: str) -> list[str]:
        """Return the words in a column of a sheet, whatever is wrong with its rows; none where it cannot be read."""
        raw = settings.raw_sheet(self.folder, kind)
        cells = [cell for row in raw.rows.values() for cell in row.items()] if raw else []
        return [text for heading, text in cells if text and normal_heading(heading) == quantity]

    def sheet_path(self, kind: str) -> Path:
        """Return where a sheet of the course is; it is made if it is not there."""
        path = self.folder / f"{kind}.csv"
        if not path.exists():
            new_sheet(path, kind, units=settings.units_of(self.folder), reference_line=self.line_in_words)
        return path

    def add(self, kind: str, rows: Sequence[Mapping[str, object]], *, accept_suspects: bool = False) -> Path:
        """Add rows to a sheet of the course and return its path; SheetError, and none added, on any problem."""
        path = self.sheet_path(kind)
        if rows:
            append_rows(path, rows, kind=kind, accept_suspects=accept_suspects)
        return path

    def draws(self, spot: str, line_deg: float) -> Any:
        """Return draws of everything that the sheets leave open, along a line of play (clockwise) at a spot."""
        known = self.fit.draws(spot, DRAWS, heading_deg=line_deg)
        names = self.clubs or carried(known.bag, known.logged.clubs)
        return replace(known, bag={name: known.bag[name] for name in names})


def demonstration(units: Units | None = None) -> Chosen:
    """Return the demonstration course."""
    beside = Path(golfphys.__file__).parent.parent / "data" / "demo"
    folder = beside if beside.is_dir() else Path("../data/demo")
    return Chosen(name=DEMO, folder=folder, units=units or settings.remembered_units())


def _kept(choice: Mapping[str, Any]) -> Chosen:
    """Return the course of a choice as `settings.remember` keeps it, the demonstration where there is none."""
    name, player, day = (str(choice.get(item) or "") for item in ("course", "player", "day"))
    if name in ("", DEMO):
        return demonstration()
    folder, clubs = settings.own_sheets(name), settings.clubs_in(str(choice.get(settings.clubs_of(player), "")))
    about: dict[str, Any] = {"player": player, "day": day, "with_past": choice.get("past") != LEFT_OUT, "clubs": clubs}
    return Chosen(name=name, folder=folder, units=settings.units_of(folder), **about)


def chosen(*needs: str) -> Chosen:
    """Return the course chosen on the start page, the demonstration until there is one, and show lengths in its units.

    Parameters
    ----------
    *needs : str
        Kinds of sheets that are wanted. Where the course has no rows of one of them, the demonstration comes instead,
        and the page says so: nothing of it is ever mixed with rows of a course of one's own.

    Returns
    -------
    Chosen
        Its sheets, its fit, its spots and lines.

    Examples
    --------
    >>> chosen().units in ("metres", "feet")
    True
    """
    course = _kept(settings.read_settings())
    style.show_lengths_in(course.unit)
    if course.is_demo:
        return course
    if not course.folder.is_dir():
        raise ValueError(f"course is {course.name!r}, but {course.folder} is not there; choose again on the start page")
    if lacking := [kind for kind in needs if course.sheet(kind) is None]:
        said = f"{course.name} has no {' and no '.join(lacking)} yet: what follows shows the demonstration instead."
        _show(ipywidgets.HTML(alert(escape(said))))
        return demonstration(course.units)
    return course


def _show(widget: Any) -> None:
    """Show a widget on the page, if there is a page."""
    from IPython import get_ipython
    from IPython.display import display

    if get_ipython() is not None:
        display(widget)


@contextmanager
def working(what: str, place: Any = None) -> Iterator[None]:
    """Say on the page what takes its time, and in the message of a form, for a button reaches nothing else on it."""
    words = ipywidgets.HTML()
    for shown in filter(None, (words, place)):
        shown.value = status(f"{escape(what)} … (the first time on a machine it takes longest)")
    _show(words)
    try:
        yield
    finally:
        words.close()


class CoursePanel(Form):
    """Choose the course, the player, the day and the units, or make a new course; every page keeps to the choice."""

    what = "The panel"

    def __init__(self) -> None:
        super().__init__()
        whole = {**LOOK, "continuous_update": False}
        self.course = ipywidgets.Dropdown(description="course", **LOOK)
        self.player = ipywidgets.Combobox(description="player", placeholder="her name, or blank", **whole)
        self.begin = button("Make a folder for her own logs", self._begin)
        self.past = ipywidgets.Checkbox(description="what she logged elsewhere counts", value=True, **LOOK)
        self.day = ipywidgets.Dropdown(description="greens of the day", **LOOK)
        self.units = ipywidgets.Dropdown(options=list(settings.UNITS), description="lengths in", **LOOK)
        self.name = ipywidgets.Text(description="name of the new course", placeholder="my course", **whole)
        self.line = ipywidgets.Text(description="heading 0 points", placeholder="to the clubhouse", **whole)
        self.make = self.button = button("Make this course", self._make, primary=True)
        self.new = ipywidgets.VBox([self.name, self.line, self.make])
        self.clubs = ipywidgets.Text(description="clubs she carries", placeholder="blank: 8-iron to lob wedge", **whole)
        choices = [self.course, self.player, self.begin, self.past, self.clubs, self.day, self.units]
        self.widget = ipywidgets.VBox([*choices, self.new, self.message])
        self._showing = False
        self.refresh()
        watch(self._changed, self.player, self.past, self.day, self.units)
        watch(self._carry, self.clubs)
        watch(lambda: self._changed(day=""), self.course)

    def refresh(self) -> None:
        """Show the courses that there are, and the choice as it is kept."""
        self._show(str(settings.read_settings().get("course") or DEMO))

    def _show(self, name: str) -> None:
        """Show the choice as kept, but with the course of this name; say what it holds, or what a new one needs."""
        names = [DEMO, *settings.made_in(settings.courses_folder())]
        self._showing = True
        self.course.options = [*names, NEW]
        self.course.value = name if name in names else NEW
        is_new = self.course.value == NEW
        self.new.layout.display = "" if is_new else "none"
        self.units.disabled = self.course.value not in (NEW, DEMO)
        self.clubs.disabled = not self.units.disabled
        said = "Give it a name, the units of the tape, and what heading 0 points at."
        if name not in self.course.options:
            said = f"<b>{escape(name)} is not there any more:</b> put its folder back, or choose another course."
        if not is_new:
            kept = {**settings.read_settings(), "course": self.course.value}
            course, known = _kept(kept), settings.players()
            held, days = self._contents(course)
            said = f"<b>{escape(course.name)}</b>: {held} Every page works on it from now on."
            self.player.value, self.player.options = str(kept.get("player", "")), known
            self.clubs.value = str(kept.get(settings.clubs_of(self.player.value), ""))
            self.past.value = kept.get("past") != LEFT_OUT
            self.past.layout.display = "" if course.player in known else "none"
            self.units.value = course.units
            self.day.options = [(EVERY_DAY, ""), *((course.day_in_words(day), day) for day in days)]
            self.day.value = course.day if course.day in days else ""
        hers = settings.folder_of(self.player.value)
        self.begin.layout.display = "none" if hers or is_new or not self.player.value else ""
        if hers and not is_new:
            said += f" What {escape(self.player.value)} logs on any course has its sheets in {escape(hers)}."
        self._showing = False
        self.message.value = status(said)

    def _changed(self, **choice: str) -> None:
        if self._showing:
            return
        choice = {"day": self.day.value or "", **choice, "past": "" if self.past.value else LEFT_OUT}
        choice |= {"course": self.course.value, "player": self.player.value.strip(), "units": self.units.value}
        trouble = "" if self.course.value == NEW else remembered(**choice)
        self._show(self.course.value)
        if self.units.value != choice["units"]:  # those of the course that is shown now
            trouble = trouble or remembered(units=self.units.value)
        self.message.value = trouble or self.message.value

    @asked("Not kept", ValueError)
    def _carry(self) -> None:
        settings.clubs_in(self.clubs.value)  # or why not
        self._changed(**{settings.clubs_of(self.player.value): self.clubs.value})

    @asked("The course was not made", ValueError)
    def _make(self) -> None:
        line, name = self.line.value.strip(), self.name.value.strip() or "my course"
        if not line:
            raise Refusal("Say what heading 0 points at: every direction is counted from it.")
        folder = make_course_folder(settings.own_sheets(name), units=self.units.value, reference_line=line)
        trouble = remembered(course=folder.name, player=self.player.value.strip(), day="", units=self.units.value)
        self.refresh()
        self.message.value = trouble or self.message.value

    @asked("The folder was not made", ValueError)
    def _begin(self) -> None:
        settings.begin_player(self.player.value, self.units.value)
        self._changed()

    def _contents(self, course: Chosen) -> tuple[str, tuple[str, ...]]:
        """Say how many rows of each kind a course has, as HTML, and on which days it was rolled."""
        try:
            sheets, past = course.sheets, course.past
        except SheetError as error:
            return self.listed(error.problems, "its sheets need mending"), ()
        if sheets is None:
            return "no rows yet.", ()
        said = counts(sheets)
        if course.player and sheets.chips:
            hers = course.sheet("chips")
            said += f", {0 if hers is None else len(hers.frame)} of the chips by {escape(course.player)}"
            if twins := [name for name in settings.players() if nearly(name, course.player)]:
                said += f". <b>Is {escape(' or '.join(twins))} the same player?</b> Then give every row the same name"
        elif len(sheets.players) > 1:
            said += f". <b>{escape(' and '.join(sheets.players))} count as one player</b>: name the one to plan for"
        log = counts(past) if past else ""
        more = f" {log} that {escape(course.player)} logged elsewhere count as well." if log else ""
        more += "".join(f" {escape(note)}" for note in (past.notes if past else ()))
        if doubts := settings.doubtful(read_course, course.folder):
            more += " " + self.listed(doubts, "Hard to believe, and counted as it stands")
        return f"{said}; lengths in {UNIT_WORDS[course.unit]}.{more}", course.days
