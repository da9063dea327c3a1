"""Folders of sheets: one for a course, laid out like the demonstration, and one for a player, hers on every course."""

import os
import shutil
import uuid
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields, replace
from pathlib import Path
from typing import Any, Self

from golfphys.core.broadcasting import require_kinds
from golfphys.sheets.cells import name_key
from golfphys.sheets.decoding import kind_told_by, read_raw
from golfphys.sheets.dictionary import kinds
from golfphys.sheets.errors import AnyPath, Findings, Problem, SheetError
from golfphys.sheets.reading import Sheet, joined, read_sheet, with_same_names
from golfphys.sheets.suspects import copies
from golfphys.sheets.writing import Units, template_text

READ_ME = "READ ME.txt"
NO_COURSE = "Check the path; make_course_folder makes such a folder."
HERS = ("chips", "targets", "putts", "wedges")  # kinds of sheet that belong to a player, wherever she plays


@dataclass(frozen=True, kw_only=True)
class Log:
    """What a player did: her own sheets, None where there is none."""

    folder: Path  # where they are
    chips: Sheet | None = None  # each sheet, None where there is none or it has no rows yet
    targets: Sheet | None = None
    putts: Sheet | None = None
    wedges: Sheet | None = None
    # Which sheets are missing or unfilled, which files are no sheets, and names that were taken for the same.
    notes: list[str]

    @property
    def sheets(self) -> dict[str, Sheet]:
        """The sheets that there are, by kind."""
        found = {item.name: getattr(self, item.name) for item in fields(self)}
        return {name: sheet for name, sheet in found.items() if isinstance(sheet, Sheet)}

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
                hers = sheet.frame["player"].map(lambda name: not name or name_key(name) == key)
                changes[kind] = sheet.replaced(sheet.frame[hers].reset_index(drop=True)) if hers.any() else None
        return replace(self, **changes)


@dataclass(frozen=True, kw_only=True)
class Course(Log):
    """The sheets of one course, of all its days and players, None where there is none."""

    rollouts: Sheet | None = None  # what was measured of its greens
    films: Sheet | None = None
    drops: Sheet | None = None
    survey: Sheet | None = None


def make_course_folder(path: AnyPath, *, units: Units = "metres", reference_line: str | None = None) -> Path:
    """Make a folder with a blank sheet of every kind, and a text that says what goes where, for a course of one's own.

    Parameters
    ----------
    path : path-like
        The folder to make; those above it are made as well where they are missing.
    units : {"metres", "feet"}
        Units of the lengths.
    reference_line : str, optional
        What heading 0 points at, written into every sheet that has headings.

    Examples
    --------
    >>> import tempfile
    >>> folder = make_course_folder(Path(tempfile.mkdtemp()) / "my course", units="feet")
    >>> sorted(file.stem for file in folder.glob("*.csv"))
    ['chips', 'drops', 'films', 'putts', 'rollouts', 'survey', 'targets', 'wedges']
    """
    return _folder(path, {kind: template_text(kind, units, reference_line=reference_line) for kind in kinds()})


def make_player_folder(path: AnyPath, *, units: Units = "metres") -> Path:
    """Make a folder for the logs of one player, with columns for course and date: hers on every course, in every week.

    Parameters
    ----------
    path, units
        As for `make_course_folder`; the folder is best named after her.

    Examples
    --------
    >>> import tempfile
    >>> folder = make_player_folder(Path(tempfile.mkdtemp()) / "players" / "demo player")
    >>> sorted(file.stem for file in folder.glob("*.csv"))
    ['chips', 'putts', 'targets', 'wedges']
    """
    return _folder(path, {kind: template_text(kind, units, also=("course", "date")) for kind in HERS})


def _folder(path: AnyPath, sheets: Mapping[str, str]) -> Path:
    """Make a folder with these sheets, whole or not at all."""
    folder = Path(path)
    texts = {f"{kind}.csv": text for kind, text in sheets.items()} | {READ_ME: _read_me(sheets)}
    aside = folder.with_name(f".{folder.name}.{uuid.uuid4().hex[:8]}.part")
    try:
        if os.path.lexists(folder):
            raise FileExistsError(None, "there is something of this name already")
        aside.mkdir(parents=True)
        for name, text in texts.items():
            (aside / name).write_bytes(text.encode("utf-8"))
        aside.rename(folder)
    except (OSError, ValueError) as error:
        shutil.rmtree(aside, ignore_errors=True)
        found = f"no way to make the folder: {getattr(error, 'strerror', None) or error}"
        advice = "Nothing was made or changed; choose another name or place."
        Findings(str(path)).refuse(found, "a new name in a folder that you may write to", advice)
    return folder


def _read_me(sheets: Iterable[str]) -> str:
    lines = [
        "Fill in the sheets that you need; the others may stay blank.",
        "",
        *(f"{kind}.csv  {kinds()[kind].description}" for kind in sheets),
        "",
        "Lines that begin with # are comments. Each sheet says at its head how to fill it in.",
        "Save as CSV (UTF-8). Several days and players may share a sheet: name them in its columns.",
        "Ask the greenkeeping staff before you put a ramp or drop balls on a green, and mend every mark.",
    ]
    return "\n".join(lines) + "\n"


def read_course(path: AnyPath, *, accept_suspects: bool = False) -> Course:
    """Read every sheet of a course folder that has been filled in.

    Every CSV file in the folder is read. One that is not called after its kind (``chips.csv``, ``chips 7 May.csv``) is
    known by its headings, and several of one kind are read as one, with a column ``sheet``.

    Parameters
    ----------
    path, accept_suspects
        The folder, and as for `read_sheet`.

    Returns
    -------
    Course
        The sheets; those missing or without rows are None.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets import append_row
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

    Parameters
    ----------
    path : path-like
        Her folder; its name is hers.
    *courses : Course
        Courses as read; rows that name her (or nobody) there are added, with the course's folder as ``course``.
    accept_suspects
        As for `read_sheet`.

    Returns
    -------
    Log
        Her chips, target hits, putts and wedge distances, each with ``player``, ``course`` and ``date``.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets import append_row
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
        kind = _kind_of_file(file, wanted)
        if kind is not None:
            files[kind].append(file)
        elif file.suffix.lower() in (".csv", ".tsv", ".txt") and file.name != READ_ME:
            notes.append(f"{file.name} was not read: neither its name nor its headings are those of a sheet.")
    return files, notes


def _kind_of_file(file: Path, wanted: tuple[str, ...]) -> str | None:
    if file.suffix.lower() not in (".csv", ".tsv", ".txt") or file.name.startswith(".") or file.name == READ_ME:
        return None
    first = name_key(file.stem).split()[:1]
    if first and first[0] in wanted:
        return first[0]
    try:
        kind = kind_told_by(read_raw(file).header)
    except SheetError:
        return None
    return kind.name if kind is not None and kind.name in wanted else None
