"""One choice for every page: which course, whose chips, which day; `chosen` reads it. What she logged elsewhere."""

from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from functools import cached_property
from pathlib import Path
from typing import Any

import ipywidgets
import numpy as np
import pandas as pd

import golfphys
from golfphys.fitting.joint import fit
from golfphys.panels import settings
from golfphys.panels.pieces import alert, status
from golfphys.planning import course_draws
from golfphys.sheets import ChipSheet, Course, Log, SheetError, Units, name_key
from golfphys.sheets.decoding import RawSheet, normal_heading, read_raw
from golfphys.sheets.dictionary import kind_of, kinds
from golfphys.sheets.folders import read_course, read_player
from golfphys.sheets.reading import joined, reference_line
from golfphys.show import style
from golfphys.show.markup import escape

DEMO = "Quillmere Downs, the invented demonstration"
LEFT_OUT = "left out"
FITTED = ("rollouts", "drops", "chips", "films", "targets")
DRAWS = 200


@dataclass(frozen=True, kw_only=True)
class Chosen:
    """The course that the pages work on.

    Rolls of two days are two greens: a place measured on another day than `day` is a spot of its own, with the date
    behind its name. Rows without a date count as of `day`, that whose greens are planned on, as 2025-05-06, empty for
    the latest. Of chips those of `player` count, everybody's if empty, and, `with_past`, what the player logged
    elsewhere.
    """

    name: str
    folder: Path
    units: Units
    player: str = ""
    day: str = ""
    with_past: bool = True

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
        """Return one sheet, with this player's chips only and the places of other days under names of their own."""
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
    def past(self) -> Log | None:
        """What the player logged in her own folder and on other courses; None where there is nothing, or it is out."""
        return logged_before(self.player, self.name) if self.player and self.with_past else None

    @cached_property
    def fit(self) -> Any:
        """The fit of all sheets together; kept, so that the next page does not fit again."""
        used = [sheet for kind in FITTED if (sheet := self.sheet(kind)) is not None]
        content = b"".join(path.name.encode() + path.read_bytes() for path in sorted(self.folder.glob("*.csv")))
        before = self.past.chips.frame.to_csv() if self.past and self.past.chips else ""
        content += repr((self.player, self.day, before)).encode()
        with working(f"Fitting the sheets of {self.name}"):
            return settings.kept(content, lambda: fit(*used, past=self.past))

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
        """Return draws of everything that the sheets leave open, along a line of play (clockwise) at a spot."""
        return course_draws(self.fit, spot, heading_deg=line_deg, draws=DRAWS)


def week(course: Chosen) -> pd.DataFrame:
    """Compare the days of a course: every day's rolls fitted by themselves, for each is a green of its own.

    A row for each spot, a column for each day: green speed in ft with its 90 % interval in words, the day that plans
    are made for marked; blank where the spot was not rolled.
    """
    sheet = course.sheets.rollouts if course.sheets else None
    if sheet is None:
        return pd.DataFrame()
    found: dict[str, dict[str, str]] = {}
    for day in course.days[::-1]:
        rolls = sheet.rolls[sheet.rolls["date"] == pd.Timestamp(day)]
        estimates = fit(sheet.replaced(rolls)).estimates
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


def results_folder(course: Chosen) -> Path:
    """Return where results of a course go: in it, or for the demonstration beside the courses."""
    demo = settings.courses_folder() / "results of the demonstration"
    return demo if course.is_demo else course.folder / "results"


def demonstration(units: Units | None = None) -> Chosen:
    """Return the demonstration course."""
    beside = Path(golfphys.__file__).parent.parent / "data" / "demo"
    folder = beside if beside.is_dir() else Path("../data/demo")
    return Chosen(name=DEMO, folder=folder, units=units or settings.remembered_units())


def named(name: str) -> Chosen:
    """Return the course of this name, the demonstration or one of the reader's own, with everybody's chips."""
    if name == DEMO:
        return demonstration()
    folder = settings.own_sheets(name)
    return Chosen(name=name, folder=folder, units=units_of(folder))


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

    Examples
    --------
    >>> chosen().units in ("metres", "feet")
    True
    """
    kept = settings.read_settings()
    course = named(str(kept.get("course") or DEMO))
    name, folder = course.name, course.folder
    style.show_lengths_in(course.unit)
    if course.is_demo:
        return course
    if not folder.is_dir():
        raise ValueError(f"course is {name!r}, but {folder} is not there; choose a course again on the start page")
    player, day = (str(kept.get(item, "")) for item in ("player", "day"))
    course = replace(course, player=player, day=day, with_past=kept.get("past") != LEFT_OUT)
    if lacking := [kind for kind in needs if course.sheet(kind) is None]:
        said = f"{name} has no {' and no '.join(lacking)} yet: what follows shows the demonstration instead."
        _show(ipywidgets.HTML(alert(escape(said))))
        return demonstration(course.units)
    return course


def _raw(folder: Path, kind: str) -> RawSheet | None:
    """Return a sheet of a folder as text cells; None where there is none to read."""
    path = folder / f"{kind}.csv"
    try:
        return read_raw(path, kind_of(kind)) if path.is_file() else None
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


# what she logged elsewhere


def players() -> list[str]:
    """Return the players who have a folder of their own or are named in a sheet of the reader's courses."""
    logs = [log for name in settings.own_courses() if (log := _read(name)) is not None]
    named = [player for log in logs for player in log.players]
    return list({name_key(player): player for player in (*named, *settings.own_players())}.values())


def logged_before(player: str, but: str) -> Log | None:
    """Return the chips that a player logged in her own folder and on every course `but` this one; None without any."""
    found: list[ChipSheet | None] = []
    key, folder = name_key(player), settings.players_folder()
    for name in settings.own_players():
        if name_key(name) == key:
            folder = settings.players_folder() / name
            found.append(_chips(folder))
    for name in settings.own_courses():
        log = _read(name) if name != but else None
        if log is None or log.chips is None:
            continue
        frame = log.chips.frame
        hers = frame[[name_key(who) == key for who in frame["player"]]]
        if len(hers):
            found.append(log.chips.replaced(hers.assign(course=name).reset_index(drop=True)))
    several = [sheet for sheet in found if sheet is not None]
    return Log(folder=folder, chips=joined(several), notes=[]) if several else None


def _read(course: str) -> Course | None:
    """Return a course's sheets; None where it has no rows, or they need mending, which its own page says."""
    try:
        return read_course(settings.own_sheets(course), accept_suspects=True)
    except SheetError:
        return None


def _chips(folder: Path) -> ChipSheet | None:
    """Return the chips of a player's own folder; None where there are no rows yet."""
    try:
        return read_player(folder, accept_suspects=True).chips
    except SheetError as error:
        if all(problem.file == str(folder) for problem in error.problems):
            return None
        raise


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
