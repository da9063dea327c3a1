"""Writes sheets: blank ones and folders of them, frames as text, and files so that no crash loses a row.

A file is written aside, in the same folder, forced to the disk, and then put in its place in a single step that the
system does whole or not at all. A lock on a small file beside the sheet keeps two writers apart; the system frees it
when its holder ends, however it ends.
"""

import contextlib
import csv
import glob
import io
import math
import os
import shutil
import sys
import uuid
from collections.abc import Iterable, Iterator, Mapping, Sequence
from datetime import date, datetime
from pathlib import Path
from typing import Any, Literal, NoReturn

import filelock
import pandas as pd

from golfphys.sheets.dictionary import Column, Kind, as_plain, kind_of, kinds
from golfphys.sheets.errors import AnyPath, Findings

LOCK_WAIT = 10.0
ASIDE = ".part"


def create_file(path: Path, data: bytes) -> None:
    """Make a new file, whole or not at all; raise `SheetError` if one is there already or it cannot be done."""
    findings = Findings(str(path))
    try:
        with written_aside(path, data) as aside:
            with contextlib.suppress(OSError):  # some file systems have no links
                os.link(aside, path)
                return
            if os.path.lexists(path):
                raise FileExistsError
            os.rename(aside, path)
    except FileExistsError:
        advice = "It was left as it is; choose another name."
        findings.refuse("a file or folder of this name", "a name that is free", advice)
    except (OSError, ValueError) as error:
        refuse_unsaved(findings, error, "Nothing was made; check the folder, the space and your right to write there.")


def replace_file(path: Path, data: bytes, held: bytes) -> bool:
    """Put `data` in the place of a file, whole or not at all; False, and nothing done, unless it still is `held`."""
    with written_aside(path, data) as aside:
        with contextlib.suppress(PermissionError):  # some file systems have no rights to copy
            shutil.copymode(path, aside)
        if path.read_bytes() != held:
            return False
        os.replace(aside, path)
    # The new file is in place; a folder that cannot be forced to the disk is no reason to report a failure, which
    # would have the row entered twice.
    with contextlib.suppress(OSError):
        if sys.platform != "win32":
            handle = os.open(path.parent, os.O_RDONLY)
            try:
                os.fsync(handle)
            finally:
                os.close(handle)
    return True


@contextlib.contextmanager
def written_aside(path: Path, data: bytes, *, private: bool = False) -> Iterator[Path]:
    """Write `data` into a file beside `path` and force it to the disk; it is gone afterwards unless it was moved.

    Nobody else can read it if it is `private`, or before it takes the rights of the file whose place it takes.
    """
    if path.is_dir():
        raise FileExistsError
    aside = path.with_name(f".{path.name}.{os.getpid()}.{uuid.uuid4().hex[:8]}{ASIDE}")
    try:
        flags = os.O_CREAT | os.O_EXCL | os.O_WRONLY | getattr(os, "O_BINARY", 0)
        with os.fdopen(os.open(aside, flags, 0o600 if private or path.exists() else 0o666), "wb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        yield aside
    finally:
        with contextlib.suppress(OSError):
            os.unlink(aside)


@contextlib.contextmanager
def locked(path: Path, findings: Findings, wait: float = LOCK_WAIT) -> Iterator[None]:
    """Hold the lock of the sheet `path`, and remove what a writer that was cut off left beside it.

    Raises `SheetError` if the lock is not free within `wait` seconds.
    """
    lock = filelock.FileLock(path.with_name(f".{path.name}.lock"), timeout=wait, mode=0o666)
    try:
        lock.acquire(poll_interval=0.02)
    except filelock.Timeout:
        found = f"another program that has been adding to this sheet for {wait:g} s"
        findings.refuse(found, "one writer at a time", "Try again; if it stays so, close the other notebook.")
    except OSError as error:
        refuse_unsaved(findings, error, "Nothing was added; check the folder and your right to write there.")
    try:
        for leftover in path.parent.glob(f".{glob.escape(path.name)}.*{ASIDE}"):
            with contextlib.suppress(OSError):
                leftover.unlink()
        yield
    finally:
        with contextlib.suppress(OSError):  # the row is in or its failure is reported already
            lock.release()


def refuse_unsaved(findings: Findings, error: Exception, advice: str) -> NoReturn:
    """Raise `SheetError`: something could not be saved, with the system's reason."""
    reason = getattr(error, "strerror", None) or str(error)
    findings.refuse(f"no way to save: {reason}", "a place where the file can be written", advice)


Units = Literal["metres", "feet"]
PREFERENCE: dict[str, tuple[str | None, ...]] = {
    "metres": ("m", "m_s", "s", "deg", None),
    "feet": ("ft", "ft_s", "in", "s", "deg", None),
}
REFERENCE_LINE = "reference line:"
READ_ME = "READ ME.txt"
WHAT_GOES_WHERE = """Fill in the sheets that you need; the others may stay blank.

{}
Lines that begin with # are comments. Each sheet says at its head how to fill it in.
Save as CSV (UTF-8). Several days and players may share a sheet: name them in its columns.
Ask the greenkeeping staff before you put a ramp or drop balls on a green, and mend every mark.
"""
HERS = ("chips", "targets", "putts", "wedges")  # kinds of sheet that belong to a player, wherever she plays
# Decimals written for each unit: about what a tape, a watch or a phone shows.
DECIMALS = {"m": 2, "cm": 1, "mm": 0, "ft": 2, "in": 1, "yd": 2, "s": 3, "ms": 0, "m_s": 3, "ft_s": 2, "deg": 1}


def template_columns(kind: Kind, units: Units = "metres", also: Iterable[str] = ()) -> tuple[Column, ...]:
    """Return the columns of the blank sheet: one for each quantity, in the units asked for."""
    if units not in PREFERENCE:
        raise ValueError(f"units is {units!r}; expected one of: {', '.join(PREFERENCE)}")
    left_out = set(kind.not_in_template) - set(also)
    rank = {unit: place for place, unit in enumerate(PREFERENCE[units])}
    return tuple(
        min(kind.columns_of(quantity), key=lambda column: rank.get(column.unit, len(rank)))
        for quantity in kind.quantities
        if quantity not in left_out
    )


def template_text(
    kind: str, units: Units = "metres", *, reference_line: str | None = None, also: Iterable[str] = ()
) -> str:
    """Return the text of a blank sheet."""
    sheet = kind_of(kind)
    columns = template_columns(sheet, units, also)
    own = None if reference_line is None else f"{REFERENCE_LINE} {' '.join(reference_line.split())}"
    lines = [own if own and line.startswith(REFERENCE_LINE) else line for line in sheet.how_to_fill]
    must = {True: " Never blank.", False: ""}
    lines += [f"{column.name}: {column.description}{must[column.required]}" for column in columns]
    lines.append(f"A row might read: {','.join(column.example for column in columns)}")
    return "".join(f"# {line}\n" for line in lines) + csv_text([[column.name for column in columns]])


def new_sheet(path: AnyPath, kind: str, *, units: Units = "metres", reference_line: str | None = None) -> Path:
    """Make a blank sheet to fill in; an existing file is never overwritten.

    Parameters
    ----------
    path, kind : path-like, str
        Where to make it; the folder must exist. ``rollouts``, ``films``, ``drops``, ``chips``, ``putts``, ``targets``,
        ``survey`` or ``wedges``.
    units, reference_line
        As for `golfphys.make_course_folder`.

    Examples
    --------
    >>> import tempfile
    >>> new_sheet(Path(tempfile.mkdtemp()) / "drops.csv", "drops").name
    'drops.csv'
    """
    text = template_text(kind, units, reference_line=reference_line)
    create_file(Path(path), text.encode("utf-8"))
    return Path(path)


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
    """Make a folder with these sheets, and a text that says what goes where, whole or not at all."""
    folder = Path(path)
    of_each = "".join(f"{kind}.csv  {kinds()[kind].description}\n" for kind in sheets)
    texts = {**{f"{kind}.csv": text for kind, text in sheets.items()}, READ_ME: WHAT_GOES_WHERE.format(of_each)}
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


def sheet_text(frame: pd.DataFrame, kind: str, columns: Sequence[str], comments: Sequence[str] = ()) -> str:
    """Return the text of a sheet that reads back as `frame`, to the decimals written."""
    sheet = kind_of(kind)
    texts = {}
    for name in columns:
        column = sheet.by_name.get(name)
        quantity = name if column is None else column.quantity
        if quantity not in frame:
            raise ValueError(f"the frame has no {quantity!r} for column {name}; it has: {', '.join(frame.columns)}")
        texts[name] = [cell_text(value, column) for value in frame[quantity]]
    rows = zip(*texts.values(), strict=True)
    return "".join(f"# {comment}\n" for comment in comments) + csv_text([columns, *rows])


def cell_text(value: Any, column: Column | None = None) -> str:
    """Return a value as a cell on one line: a number in SI in the unit of a column, to its decimals, else as it is."""
    if hasattr(value, "item") and not isinstance(value, str):
        value = value.item()
    if value is None or value != value:  # NaN and NaT are not equal to themselves
        return ""
    if isinstance(value, datetime) and (column is None or column.type != "date"):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()[:10]
    if column is not None and column.is_number and isinstance(value, int | float):
        number = round(float(value) / column.factor, 0 if column.unit is None else DECIMALS[column.unit])
        return str(int(number)) if math.isfinite(number) and number == int(number) else f"{number:.10g}"
    return repr(value).removesuffix(".0") if isinstance(value, float) else " ".join(str(value).split())


def csv_text(rows: Iterable[Iterable[str]], separator: str = ",", line_end: str = "\n") -> str:
    """Return rows of text cells as CSV in which no spreadsheet finds a formula to run."""
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=separator, lineterminator=line_end)
    writer.writerows([as_plain(cell) for cell in row] for row in rows)
    return stream.getvalue()


def table_text(table: pd.DataFrame) -> str:
    r"""Return any table of results as CSV, all digits, in which no spreadsheet finds a formula to run.

    Parameters
    ----------
    table : DataFrame
        The table; its index is written unless it only counts rows.

    Examples
    --------
    >>> table_text(pd.DataFrame({"spot": ["=1+1"], "run_m": [-0.5]}))
    "spot,run_m\n'=1+1,-0.5\n"
    """
    written = table.to_csv(index=not isinstance(table.index, pd.RangeIndex), lineterminator="\n")
    return csv_text(csv.reader(io.StringIO(written, newline="")))
