"""One choice for every page: which course, whose chips, which day. `chosen` reads it, `CoursePanel` makes it."""

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from datetime import date
from functools import cached_property
from pathlib import Path
from typing import Any

import ipywidgets
import numpy as np
import pandas as pd

import golfphys
from golfphys.fitting.joint import fit_course
from golfphys.fitting.rollouts import fit_rollouts
from golfphys.panels import settings
from golfphys.panels.panel import LABEL_WIDTH, LAYOUT, alert, busy, reason, status
from golfphys.planning import course_draws
from golfphys.sheets import Course, SheetError, Units, make_course_folder, read_course, reference_line
from golfphys.sheets.decoding import RawSheet, read_raw
from golfphys.sheets.dictionary import UNIT_WORDS, kind_of, kinds
from golfphys.sheets.errors import Findings
from golfphys.sheets.headings import normal_heading
from golfphys.show import style
from golfphys.show.markup import escape

DEMO = "Quillmere Downs, the invented demonstration"
EVERY_DAY = "(the latest)"
EVERYBODY = "(everybody)"
NEW = "(a new course)"
DRAWS = 200


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """The course that the pages work on.

    Rolls of two days are two greens: a place measured on another day than `day` is a spot of its own, with the date
    behind its name. Rows without a date count as of `day`.

    Parameters
    ----------
    name : str
        What it is called.
    folder : pathlib.Path
        Where its sheets are.
    units : {"metres", "feet"}
        What lengths are shown in.
    player : str
        Whose chips count; empty for everybody's.
    day : str
        Day whose greens are planned on, as 2025-05-06; empty for the latest.
    """

    name: str
    folder: Path
    units: Units
    player: str = ""
    day: str = ""

    @property
    def is_demo(self) -> bool:
        """Whether it is the demonstration, which nobody measured."""
        return self.name == DEMO

    @property
    def unit(self) -> str:
        """Symbol of the unit of lengths."""
        return settings.SYMBOLS[self.units]

    @cached_property
    def sheets(self) -> Course | None:
        """Everything in the folder that has rows, as read; None if nothing has."""
        try:
            return read_course(self.folder, accept_suspects=True)
        except SheetError as error:
            if all(problem.file == str(self.folder) for problem in error.problems):
                return None
            raise

    @cached_property
    def days(self) -> tuple[str, ...]:
        """Days on which rolls were measured, the latest first."""
        rollouts = self.sheets.rollouts if self.sheets else None
        days = set(rollouts.rolls["date"].dropna()) if rollouts else set()
        return tuple(sorted((str(pd.Timestamp(day).date()) for day in days), reverse=True))

    def sheet(self, kind: str) -> Any:
        """Return one sheet, with this player's chips only and the places of other days under names of their own.

        Parameters
        ----------
        kind : str
            For instance ``"rollouts"``.

        Returns
        -------
        sheet or None
            As its reader returns it; None where there is none or it has no rows yet.
        """
        sheets = self.sheets.of(self.player) if self.sheets and self.player else self.sheets
        sheet = getattr(sheets, kind, None)
        if sheet is None:
            return None
        frame: pd.DataFrame = sheet.frame
        today = self.day or next(iter(self.days), "")
        if "spot" in frame and len(self.days) > 1:
            days = frame["date"].dt.strftime("%Y-%m-%d").fillna("")
            dated = zip(frame["spot"], days, strict=True)
            named = [f"{spot} {day}" if spot and day and day != today else spot for spot, day in dated]
            frame = frame.assign(spot=named)
        return sheet.replaced(frame)

    @cached_property
    def fit(self) -> Any:
        """The fit of rolls, drops and chips together; kept, so that the next page does not fit again."""
        used = {kind: self.sheet(kind) for kind in ("rollouts", "drops", "chips")}
        content = b"".join(
            path.name.encode() + path.read_bytes() for path in sorted(self.folder.glob("*.csv"))
        ) + repr((self.player, self.day)).encode()  # fmt: skip
        with working(f"Fitting the sheets of {self.name}"):
            return settings.kept(content, lambda: fit_course(**used))

    @property
    def spots(self) -> tuple[str, ...]:
        """Places that were rolled on or chipped to, those of the chosen day first."""
        sheets = {kind: sheet for kind in ("rollouts", "chips") if (sheet := self.sheet(kind)) is not None}
        found = [spot for sheet in sheets.values() for spot in sheet.frame["spot"] if spot]
        return tuple(sorted(dict.fromkeys(found), key=lambda spot: any(spot.endswith(day) for day in self.days)))

    @property
    def spot(self) -> str:
        """The place to begin with: the one chipped to most often on the chosen day, or else the first."""
        sheet = self.sheet("chips")
        counts = sheet.chips["spot"].value_counts() if sheet is not None else {}
        return max(self.spots, key=lambda spot: counts.get(spot, 0))

    @property
    def lies(self) -> tuple[str, ...]:
        """Lies of the chip log, the most frequent first."""
        sheet = self.sheet("chips")
        return tuple(sheet.chips["lie"].value_counts().index) if sheet is not None else ()

    @property
    def line_deg(self) -> float:
        """The line of play to begin with: the most frequent one of the chips to `spot`, degrees, else 0."""
        sheet = self.sheet("chips")
        if sheet is None:
            return 0.0
        lines = np.degrees(sheet.chips.loc[sheet.chips["spot"] == self.spot, "heading"].dropna())
        return float(5 * np.round(lines.round(0).mode().iloc[0] / 5) % 360) if len(lines) else 0.0

    @property
    def line_in_words(self) -> str:
        """What heading 0 points at."""
        raws = (raw for kind in kinds() if (raw := _raw(self.folder, kind)) is not None)
        return next((line for raw in raws if (line := reference_line(list(raw.comments)))), "the reference line")

    def draws(self, spot: str, line_deg: float) -> Any:
        """Return draws of everything that the sheets leave open, along a line of play at a spot.

        Parameters
        ----------
        spot : str
            One of `spots`.
        line_deg : float
            Line of play, degrees clockwise from the reference line.

        Returns
        -------
        Draws
            What `golfphys.plan_chip` plans with.
        """
        return course_draws(self.fit, spot, heading_deg=line_deg, draws=DRAWS)


def week(course: Chosen) -> pd.DataFrame:
    """Compare the days of a course: every day's rolls fitted by themselves, for each is a green of its own.

    Parameters
    ----------
    course : Chosen
        A course with rolls.

    Returns
    -------
    DataFrame
        Index: spot. A column for each day, green speed in ft with its 90 % interval in words, the day that plans are
        made for marked; blank where the spot was not rolled.
    """
    sheet = course.sheets.rollouts if course.sheets else None
    if sheet is None:
        return pd.DataFrame()
    found: dict[str, dict[str, str]] = {}
    for day in course.days[::-1]:
        rolls = sheet.rolls[sheet.rolls["date"] == pd.Timestamp(day)]
        estimates = fit_rollouts(sheet.replaced(rolls)).estimates
        head = f"{day}, planned on" if day == (course.day or course.days[0]) else day
        found[head] = {
            str(spot): "{estimate:.1f} ({low:.1f} to {high:.1f})".format(**estimates.loc[(spot, "stimp_ft")])
            for spot in rolls["spot"].unique()
        }
    return pd.DataFrame(found).fillna("").rename_axis("green speed (ft)")


def plain_name(words: str) -> str:
    """Return words as the name of a file: letters, digits, hyphens and underlines.

    Examples
    --------
    >>> plain_name("a/b: c*"), plain_name("../..")
    ('a-b-c', 'result')
    """
    spaced = "".join(letter if letter.isalnum() or letter in "-_" else " " for letter in words)
    return "-".join(spaced.split()) or "result"


def demonstration(units: Units | None = None) -> Chosen:
    """Return the demonstration course."""
    beside = Path(golfphys.__file__).parent.parent / "data" / "demo"
    folder = beside if beside.is_dir() else Path("../data/demo")
    return Chosen(name=DEMO, folder=folder, units=units or settings.remembered_units())


def chosen(*needs: str) -> Chosen:
    """Return the course chosen on the start page, the demonstration until there is one.

    Parameters
    ----------
    *needs : str
        Kinds of sheets that are wanted. Where the course has no rows of one of them, the demonstration comes instead,
        and the page says so: nothing of it is ever mixed with rows of a course of one's own.

    Returns
    -------
    Chosen
        Its sheets, its fit, its spots and lines.

    Raises
    ------
    ValueError
        If the folder of the course chosen is no longer there.

    Examples
    --------
    >>> chosen().units in ("metres", "feet")
    True
    """
    kept = settings.read_settings()
    name = str(kept.get("course") or DEMO)
    if name == DEMO:
        style.show_lengths_in(demonstration().unit)
        return demonstration()
    folder = settings.own_sheets(name)
    if not folder.is_dir():
        raise ValueError(f"course is {name!r}, but {folder} is not there; choose a course again on the start page")
    player, day = (str(kept.get(item, "")) for item in ("player", "day"))
    course = Chosen(name=name, folder=folder, units=units_of(folder), player=player, day=day)
    style.show_lengths_in(course.unit)
    if lacking := [kind for kind in needs if course.sheet(kind) is None]:
        said = f"{name} has no {' and no '.join(lacking)} yet: what follows shows the demonstration instead."
        _show(ipywidgets.HTML(alert(escape(said))))
        return demonstration(course.units)
    return course


def _raw(folder: Path, kind: str) -> RawSheet | None:
    """Return a sheet of a folder as text cells; None where there is none to read."""
    path = folder / f"{kind}.csv"
    try:
        return read_raw(path, kind_of(kind).names, Findings(str(path))) if path.is_file() else None
    except SheetError:
        return None


def units_of(folder: Path) -> Units:
    """Return the units in which the sheets of a folder hold lengths, those chosen last where there is no sheet."""
    for kind in kinds():
        if (raw := _raw(folder, kind)) is not None:
            known = (kind_of(kind).column(normal_heading(cell)) for cell in raw.header)
            units = {column.unit for column in known if column is not None}
            if units & {"ft", "in", "yd", "m", "cm"}:
                return "feet" if units & {"ft", "yd"} else "metres"
    return settings.remembered_units()


# progress


def _show(widget: Any) -> None:
    """Show a widget on the page, if there is a page."""
    from IPython import get_ipython
    from IPython.display import display

    if get_ipython() is not None:
        display(widget)


@contextmanager
def working(what: str) -> Iterator[None]:
    """Say on the page what is being worked on while it takes, and take the words away afterwards."""
    words = ipywidgets.HTML(status(f"{escape(what)} … (the first time on a machine it takes longest)"))
    _show(words)
    try:
        yield
    finally:
        words.close()


# the panel


class CoursePanel:
    """Choose the course, the player, the day and the units, or make a new course; every page keeps to the choice.

    Parameters
    ----------
    today : callable, optional
        Tells the date.

    Examples
    --------
    >>> panel = CoursePanel()
    >>> panel.course.options[0][1] == DEMO
    True
    """

    def __init__(self, today: Callable[[], date] = date.today) -> None:
        look: dict[str, Any] = {"style": {"description_width": LABEL_WIDTH}, "layout": LAYOUT}
        whole = {**look, "continuous_update": False}
        self.today = today
        self.course = ipywidgets.Dropdown(description="course", **look)
        self.player = ipywidgets.Combobox(description="player", placeholder="her name, or blank", **whole)
        self.day = ipywidgets.Dropdown(description="greens of the day", **look)
        self.units = ipywidgets.Dropdown(options=list(settings.UNITS), description="lengths in", **look)
        self.name = ipywidgets.Text(description="name of the new course", placeholder="my course", **whole)
        self.line = ipywidgets.Text(
            description="heading 0 points", placeholder="along the west edge, to the clubhouse", **whole
        )
        self.make = ipywidgets.Button(description="Make this course", button_style="primary")
        self.message = ipywidgets.HTML()
        self.new = ipywidgets.VBox([self.name, self.line, self.make])
        self.widget = ipywidgets.VBox([self.course, self.player, self.day, self.units, self.new, self.message])
        self._quiet = False
        self.refresh()
        for item in (self.course, self.player, self.day, self.units):
            item.observe(self._changed, names="value")
        self.make.on_click(self._make)

    def refresh(self) -> None:
        """Show the courses that there are, and the choice as it is kept."""
        kept = settings.read_settings()
        self._quiet = True
        names = [DEMO, *settings.own_courses()]
        self.course.options = [(DEMO, DEMO), *((name, name) for name in names[1:]), (NEW, NEW)]
        self.course.value = kept.get("course") if kept.get("course") in names else DEMO
        self.player.value = str(kept.get("player", ""))
        self._quiet = False
        self._say()

    def _say(self) -> None:
        """Fill in what follows from the course, and say what it holds."""
        is_new = self.course.value == NEW
        self.new.layout.display = "" if is_new else "none"
        self.units.disabled = not (is_new or self.course.value == DEMO)
        if is_new:
            self.message.value = status("Give it a name, the units of the tape, and what heading 0 points at.")
            return
        course = self._chosen()
        self._quiet = True
        self.units.value = course.units
        held, days = _contents(course)
        self.day.options = [(EVERY_DAY, ""), *((day, day) for day in days)]
        self.day.value = course.day if course.day in days else ""
        self._quiet = False
        self.message.value = status(f"<b>{escape(course.name)}</b>: {held} Every page works on it from now on.")

    def _chosen(self) -> Chosen:
        course = demonstration() if self.course.value == DEMO else Chosen(
            name=self.course.value, folder=settings.own_sheets(self.course.value),
            units=units_of(settings.own_sheets(self.course.value)),
        )  # fmt: skip
        kept = settings.read_settings()
        return replace(course, player=self.player.value.strip(), day=str(kept.get("day", "")))

    def _changed(self, change: Any) -> None:
        if self._quiet:
            return
        if self.course.value != NEW:
            day = "" if change["owner"] is self.course else self.day.value or ""
            self._keep(course=self.course.value, player=self.player.value.strip(), day=day, units=self.units.value)
        if change["owner"] is not self.units or self.course.value != NEW:
            self._say()

    def _keep(self, **choices: str) -> None:
        try:
            settings.remember(**choices)
        except OSError as problem:
            self.message.value = alert(f"The choice could not be kept for other pages: {reason(problem)}.")

    def _make(self, _button: Any) -> None:
        with busy(self.make, self.message, "The panel"):
            line = self.line.value.strip()
            if not line:
                self.message.value = alert("Say what heading 0 points at: every direction is counted from it.")
                return
            try:
                folder = settings.own_sheets(self.name.value.strip() or "my course")
                make_course_folder(folder, units=self.units.value, reference_line=line)
            except (ValueError, OSError) as problem:
                self.message.value = alert(escape(str(problem)))
                return
            self._keep(course=folder.name, player=self.player.value.strip(), day="", units=self.units.value)
            self.refresh()

    def _repr_mimebundle_(self, **options: Any) -> Any:
        return self.widget._repr_mimebundle_(**options)


def _contents(course: Chosen) -> tuple[str, tuple[str, ...]]:
    """Say how many rows of each kind a course has, as HTML, and on which days it was rolled."""
    try:
        sheets = course.sheets
    except SheetError as error:
        items = "".join(f"<li>{escape(str(problem))}</li>" for problem in error.problems[:5])
        return f"its sheets need mending.<ul>{items}</ul>", ()
    if sheets is None:
        return "no rows yet.", ()
    held = {kind: len(sheet.frame) for kind, sheet in sheets.sheets.items()}
    said = ", ".join(f"{count} {kind}" for kind, count in held.items())
    return f"{said}; lengths in {UNIT_WORDS[course.unit]}.", course.days
