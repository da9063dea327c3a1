"""Reads a sheet of any kind, or a folder of them, into rows in SI units and radians."""

import contextlib
import os
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path
from typing import Any, Self

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import require_kinds
from golfphys.physics.putting import PUTTING_TABLES, MakeTable, counted
from golfphys.sheets.checks import check
from golfphys.sheets.decoding import kind_told_by, load_bytes, read_raw
from golfphys.sheets.dictionary import Kind, kind_of, kinds, name_key
from golfphys.sheets.errors import AnyPath, Findings, Problem, SheetError
from golfphys.sheets.suspects import copies, nearly_same
from golfphys.sheets.table import NAMES, ROW, parse_table, same_names
from golfphys.sheets.writing import HERS, READ_ME, template_columns

SHEET_FILES = (".csv", ".tsv", ".txt")
NO_COURSE = "Check the path; make_course_folder makes such a folder."


@dataclass(frozen=True, kw_only=True)
class Sheet:
    """A sheet of any kind that has been read and checked, or was put together in code.

    Its frame has one line for each row: ``row`` (as a spreadsheet numbers it), every quantity that the data dictionary
    has for the kind, in SI units and radians (NaN, NaT or an empty text where blank), then columns that only this sheet
    has, as text. Headings are clockwise from the reference line, 0 to 2 pi; rolls all have their ``release_speed``.
    """

    kind: str  # rollouts, films, drops, chips, putts, targets, survey or wedges
    frame: pd.DataFrame
    notes: list[str] = field(default_factory=list)  # what was assumed or kept
    path: str = ""  # where it was read, or what made it
    comments: list[str] = field(default_factory=list)

    @property
    def reference_line(self) -> str | None:
        """What heading 0 points at, if a comment of the sheet says so (``# reference line: ...``)."""
        return reference_line(self.comments)

    def replaced(self, frame: pd.DataFrame, notes: Iterable[str] = ()) -> Self:
        """Return the same sheet with other rows, and more notes."""
        return replace(self, frame=frame, notes=list(dict.fromkeys([*self.notes, *notes])))


@dataclass(frozen=True, kw_only=True)
class Log:
    """What a player did: her own sheets, by kind, None where there is none or it has no rows yet."""

    folder: Path  # where they are
    chips: Sheet | None = None
    targets: Sheet | None = None
    putts: Sheet | None = None
    wedges: Sheet | None = None
    # Which sheets are missing or unfilled, which files are no sheets, and names that were taken for the same.
    notes: list[str]

    @property
    def sheets(self) -> dict[str, Sheet]:
        """The sheets that there are, by kind."""
        return {name: sheet for name, sheet in vars(self).items() if isinstance(sheet, Sheet)}

    @property
    def players(self) -> list[str]:
        """The players who are named in the sheets, in the order in which they appear."""
        named = [sheet.frame["player"] for sheet in self.sheets.values() if "player" in sheet.frame]
        return list(dict.fromkeys(name for names in named for name in names if name))

    def of(self, player: str) -> Self:
        """Return the sheets with one player's rows, and those that name nobody; what is not a player's stays whole."""
        key, changes = name_key(player), dict[str, Any]()
        for kind, sheet in self.sheets.items():
            if "player" in sheet.frame:
                hers = sheet.frame["player"].fillna("").map(name_key).isin(("", key))
                changes[kind] = sheet.replaced(sheet.frame[hers].reset_index(drop=True)) if hers.any() else None
        return replace(self, **changes)


@dataclass(frozen=True, kw_only=True)
class Course(Log):
    """The sheets of one course, of all its days and players, None where there is none."""

    rollouts: Sheet | None = None  # what was measured of its greens
    films: Sheet | None = None
    drops: Sheet | None = None
    survey: Sheet | None = None


def reference_line(comments: Iterable[str]) -> str | None:
    """Return what the comment ``reference line: ...`` says, or None where none does or it was never filled in.

    Examples
    --------
    >>> reference_line(["measured by the demo player", "reference line: along the west edge"])
    'along the west edge'
    """
    for comment in comments:
        head, colon, rest = comment.partition(":")
        if colon and head.strip().lower() == "reference line" and not rest.strip().startswith("("):
            return rest.strip() or None
    return None


def read_sheet(path: AnyPath, kind: str | Kind, *, accept_suspects: bool = False) -> Sheet:
    r"""Read a sheet of any kind, in the order of the file; `read_rollouts` and its like do it for one kind each.

    A `SheetError` lists every problem with row and column.

    Parameters
    ----------
    path, kind : path-like, str or Kind
        A CSV file on this machine, with columns of the data dictionary (``data/README.md`` tells where it is), and
        ``rollouts``, ``films``, ``drops``, ``chips``, ``putts``, ``targets``, ``survey`` or ``wedges``; or what
        columns a table has that is in no dictionary.
    accept_suspects : bool
        Take values that can be read but are hard to believe, such as distances that look like feet under a heading
        of metres; they are then mentioned in the notes.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "targets.csv"
    >>> _ = path.write_text("club,lie,distance_m,target_size_m,tries,hits\nsand wedge,fairway,8,1.5,10,4\n")
    >>> read_sheet(path, "targets").frame[["tries", "hits"]].values.tolist()
    [[10, 4]]
    """
    findings = Findings(str(path), accept_suspects)
    sheet = kind if isinstance(kind, Kind) else kind_of(kind)
    table = parse_table(load_bytes(path, findings), sheet, findings)
    if all(item.row != table.raw.header_row for item in findings.problems):  # else a column that is needed is not there
        check(table)
    findings.raise_if_any()
    own = [name for name in table.frame.columns if name not in (ROW, *sheet.quantities)]
    frame, comments = table.frame[[*_columns(sheet), *own]], list(table.raw.comments)
    return Sheet(kind=sheet.name, frame=frame, notes=findings.notes, path=str(path), comments=comments)


def _columns(sheet: Kind) -> list[str]:
    """Return the columns of every frame of a kind: all quantities but the ramp's run, which gives a release speed."""
    return [ROW, *(name for name in sheet.quantities if name != "ramp_run")]


_DOCUMENTED = r"""Read a sheet of {kind}.

Parameters
----------
path, accept_suspects
    As for `read_sheet`.

Examples
--------
>>> import tempfile, pathlib
>>> path = pathlib.Path(tempfile.mkdtemp()) / "{kind}.csv"
>>> _ = path.write_text("{headings}\n{cells}\n")
>>> len(read_{kind}(path).frame)
1
"""


def _reader(kind: str) -> Callable[..., Sheet]:
    """Make `read_sheet` for one kind, with an example from the dictionary."""

    def read(path: AnyPath, *, accept_suspects: bool = False) -> Sheet:
        return read_sheet(path, kind, accept_suspects=accept_suspects)

    filled = [column for column in template_columns(kind_of(kind)) if column.example]
    example = {"headings": ",".join(item.name for item in filled), "cells": ",".join(item.example for item in filled)}
    read.__name__ = read.__qualname__ = f"read_{kind}"
    read.__doc__ = _DOCUMENTED.format(kind=kind, **example)
    return read


read_rollouts, read_films, read_drops, read_chips = map(_reader, ("rollouts", "films", "drops", "chips"))
read_putts, read_targets, read_survey, read_wedges = map(_reader, ("putts", "targets", "survey", "wedges"))


def read_make_table(table: AnyPath) -> MakeTable:
    """Read a table of putts tried and holed.

    Parameters
    ----------
    table : str or path-like
        Path of a sheet of putts, or the name of a published table that comes with golfphys: ``berry_1996`` or
        ``broadie_2016_2018``.

    Examples
    --------
    >>> int(read_make_table("berry_1996").tries.sum())
    5988
    """
    published = {file.stem: file for file in PUTTING_TABLES.glob("*.csv")}
    return counted(read_sheet(published.get(str(table), table), "putts"))


def completed(frame: pd.DataFrame, kind: str) -> pd.DataFrame:
    """Return a frame with every quantity of a kind of sheet, in order, blank where it has none."""
    made, columns = frame.copy(), _columns(kind_of(kind))
    for name in columns[1:]:
        form = kind_of(kind).columns_of(name)[0].type
        if name not in frame:
            made[name] = pd.NaT if form.startswith("date") else "" if form == "string" else np.nan
        if form.startswith("date"):
            made[name] = made[name].astype("datetime64[us]")
    if "date" not in frame and "measured_at" in frame:
        made["date"] = made["measured_at"].dt.normalize()
    return made[columns]


def joined(sheets: Iterable[Sheet]) -> Sheet:
    """Return sheets of one kind as one; ``sheet`` tells the file of each row where there are several."""
    first, *others = found = list(sheets)
    if not others:
        return first
    frames = [item.frame.assign(sheet=Path(item.path).name) for item in found]
    notes = [f"{Path(item.path).name}: {note}" for item in found for note in item.notes]
    lines = {item.reference_line for item in found} - {None}
    if len(lines) > 1 and "heading" in frames[0]:
        notes.append(f"The sheets name different reference lines: {', '.join(sorted(map(repr, lines)))}.")
    comments = list(dict.fromkeys(comment for item in found for comment in item.comments))
    frame, notes = pd.concat(frames, ignore_index=True), list(dict.fromkeys(notes))
    return replace(first, frame=frame, notes=notes, comments=comments)


def with_same_names(sheets: Mapping[str, Sheet]) -> tuple[dict[str, Sheet], list[str]]:
    """Give names that look the same in several sheets one spelling."""
    notes: list[str] = []
    for quantity in sorted(NAMES):
        frames = {key: sheet.frame for key, sheet in sheets.items() if quantity in sheet.frame}
        if not frames:
            continue
        written = np.concatenate([frame[quantity].to_numpy(dtype=object) for frame in frames.values()])
        same, found = same_names(written, quantity)
        sizes = np.cumsum([len(frame) for frame in frames.values()])[:-1]
        for (key, frame), names in zip(frames.items(), np.split(same, sizes), strict=True):
            if (frame[quantity].to_numpy(dtype=object) != names).any():
                said = [f"Column {quantity}: {note}" for note in found]
                sheets = {**sheets, key: sheets[key].replaced(frame.assign(**{quantity: names}), said)}
        if quantity == "spot":
            found += nearly_same([sheet.frame["spot"] for sheet in sheets.values() if "spot" in sheet.frame])
        notes += [f"Column {quantity}: {note}" for note in found]
    return dict(sheets), notes


def read_course(path: AnyPath, *, accept_suspects: bool = False) -> Course:
    """Read every sheet of a course folder that has been filled in; those missing or without rows are None.

    Every CSV file in the folder is read. One that is not called after its kind (``chips.csv``, ``chips 7 May.csv``) is
    known by its headings, and several of one kind are read as one, with a column ``sheet``.

    Parameters
    ----------
    path, accept_suspects
        The folder, and as for `read_sheet`.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets import append_row, make_course_folder
    >>> folder = make_course_folder(Path(tempfile.mkdtemp()) / "my course")
    >>> _ = append_row(folder / "putts.csv", {"distance_m": 2.0, "tries": 10, "made": 6})
    >>> len(read_course(folder).putts.frame)
    1
    """
    folder = _path(path)
    sheets, notes = _gathered(folder, tuple(kinds()), accept_suspects)
    return Course(folder=folder, notes=notes, **sheets)


def read_player(path: AnyPath, *courses: Log, accept_suspects: bool = False) -> Log:
    """Read all that a player has logged: her own folder, and her rows in the sheets of courses.

    Each of her sheets has ``player``, ``course`` and ``date``.

    Parameters
    ----------
    path : path-like
        Her folder; its name is hers.
    *courses : Course
        Courses as read; rows that name her (or nobody) there are added, with the course's folder as ``course``.
    accept_suspects
        As for `read_sheet`.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets import append_row, make_player_folder
    >>> folder = make_player_folder(Path(tempfile.mkdtemp()) / "demo player")
    >>> _ = append_row(folder / "chips.csv", {"club": "sand wedge", "lie": "rough", "rest_m": 9, "course": "home"})
    >>> read_player(folder).chips.frame[["player", "course", "rest"]].values.tolist()
    [['demo player', 'home', 9.0]]
    """
    folder = _path(path)
    sheets, notes = _gathered(folder, HERS, accept_suspects)
    found: dict[str, list[Sheet]] = {kind: [sheet] for kind, sheet in sheets.items()}
    for course in courses:
        require_kinds(course=(course, Log))
        for kind, sheet in course.of(folder.name).sheets.items():
            if kind in HERS:
                played = sheet.frame["course"].replace("", course.folder.name)
                found.setdefault(kind, []).append(sheet.replaced(sheet.frame.assign(course=played)))
    for kind, several in found.items():
        sheet = joined(several)
        sheets[kind] = sheet.replaced(sheet.frame.assign(player=sheet.frame["player"].replace("", folder.name)))
    same, said = with_same_names(sheets)
    return Log(folder=folder, notes=list(dict.fromkeys([*notes, *said])), **same)


def _path(path: Any) -> Path:
    if not isinstance(path, str | os.PathLike):
        Findings(repr(path)).refuse("no path", "the path of a folder, as text", "Give the folder's name in quotes.")
    return Path(path)


def _gathered(folder: Path, wanted: tuple[str, ...], accept_suspects: bool) -> tuple[dict[str, Any], list[str]]:
    """Read the sheets of these kinds in a folder; return them by kind, and notes on what was not read."""
    files, notes = _files_by_kind(folder, wanted)
    problems: list[Problem] = []
    sheets: dict[str, Sheet] = {}
    for kind in wanted:
        read = []
        for file in files[kind]:
            try:
                read.append(read_sheet(file, kind, accept_suspects=accept_suspects))
            except SheetError as error:
                if error.unfilled:
                    notes.append(f"{file.name} has no rows yet.")
                else:
                    problems += error.problems
        again, names = dict(copies([sheet.frame for sheet in read])), [Path(sheet.path).name for sheet in read]
        notes += [f"{names[copy]} was left out: {names[whole]} has all of its rows." for copy, whole in again.items()]
        if read:
            sheets[kind] = joined(sheet for number, sheet in enumerate(read) if number not in again)
        elif not files[kind]:
            notes.append(f"There is no {kind}.csv.")
    if problems:
        raise SheetError(str(folder), problems)
    if not sheets:
        names = sorted(item.name for item in folder.iterdir())[:20] if folder.is_dir() else []
        found = f"no sheet with rows; {', '.join(names) or 'nothing'} {'is' if len(names) < 2 else 'are'} there"
        expected = f"a folder with at least one of: {', '.join(f'{kind}.csv' for kind in wanted)}"
        Findings(str(folder)).refuse(found, expected, NO_COURSE)
    same, said = with_same_names(sheets)
    return same, notes + said


def _files_by_kind(folder: Path, wanted: tuple[str, ...]) -> tuple[dict[str, list[Path]], list[str]]:
    """Sort the CSV files of a folder by what they hold, as their names say or, failing that, their headings."""
    files: dict[str, list[Path]] = {kind: [] for kind in wanted}
    notes = []
    try:
        there = sorted(folder.iterdir(), key=lambda file: (file.stem not in wanted, file.name))
    except (OSError, ValueError) as error:
        found = f"no folder that can be opened ({getattr(error, 'strerror', None) or error})"
        Findings(str(folder)).refuse(found, "a folder with sheets", NO_COURSE)
    for file in there:
        if file.suffix.lower() not in SHEET_FILES or file.name == READ_ME:
            continue
        kind, *_ = [*name_key(file.stem).split(), ""]
        if kind not in wanted:
            with contextlib.suppress(SheetError):
                told = kind_told_by(read_raw(file).header)
                kind = told.name if told is not None else ""
        if kind in files and not file.name.startswith("."):
            files[kind].append(file)
        else:
            notes.append(f"{file.name} was not read: neither its name nor its headings are those of a sheet.")
    return files, notes
