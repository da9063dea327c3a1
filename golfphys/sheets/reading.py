"""Reads a sheet of any kind into its rows in SI units and radians."""

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pandas as pd

from golfphys.physics.putting_fits import PUTTING_TABLES, MakeTable
from golfphys.sheets.checks import check
from golfphys.sheets.decoding import load_bytes
from golfphys.sheets.dictionary import kind_of
from golfphys.sheets.errors import AnyPath, Findings
from golfphys.sheets.suspects import nearly_same
from golfphys.sheets.table import KNOWN_NAMES, NAMES, ROW, parse_table, same_names
from golfphys.sheets.writing import template_columns


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

    def __getattr__(self, name: str) -> pd.DataFrame:
        if name in ("rolls", "frames", "drops", "chips", "putts", "targets", "points", "wedges"):
            return self.frame
        raise AttributeError(name)

    @property
    def reference_line(self) -> str | None:
        """What heading 0 points at, if a comment of the sheet says so (``# reference line: ...``)."""
        return reference_line(self.comments)

    def replaced(self, frame: pd.DataFrame, notes: Iterable[str] = ()) -> "Sheet":
        """Return the same sheet with other rows, and more notes."""
        return dataclasses.replace(self, frame=frame, notes=list(dict.fromkeys([*self.notes, *notes])))


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


def read_sheet(path: AnyPath, kind: str, *, accept_suspects: bool = False) -> Sheet:
    r"""Read a sheet of any kind; `read_rollouts` and its like do it for one kind each.

    Parameters
    ----------
    path, kind : path-like, str
        A CSV file on this machine, with columns of the data dictionary (``data/README.md`` tells where it is), and
        ``rollouts``, ``films``, ``drops``, ``chips``, ``putts``, ``targets``, ``survey`` or ``wedges``.
    accept_suspects : bool
        Take values that can be read but are hard to believe, such as distances that look like feet under a heading
        of metres; they are then mentioned in the notes.

    Returns
    -------
    Sheet
        The rows in SI units and radians, in the order of the file.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "targets.csv"
    >>> _ = path.write_text("club,lie,distance_m,target_size_m,tries,hits\nsand wedge,fairway,8,1.5,10,4\n")
    >>> read_sheet(path, "targets").frame[["tries", "hits"]].values.tolist()
    [[10, 4]]
    """
    findings = Findings(str(path), accept_suspects)
    table = parse_table(load_bytes(path, findings), kind_of(kind), findings)
    if all(item.row != table.raw.header_row for item in findings.problems):  # else a column that is needed is not there
        check(table)
    findings.raise_if_any()
    known = _quantities(kind)
    own = [name for name in table.frame.columns if name not in (ROW, *table.kind.quantities)]
    frame, comments = table.frame[[ROW, *known, *own]], list(table.raw.comments)
    return Sheet(kind=kind, frame=frame, notes=findings.notes, path=str(path), comments=comments)


def _quantities(kind: str) -> list[str]:
    """Return the quantities of a frame: those of the dictionary, but the ramp's run, which gives a release speed."""
    return [name for name in kind_of(kind).quantities if name != "ramp_run"]


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
    putts = read_sheet(published.get(str(table), table), "putts").frame
    columns = {name: putts[name].to_numpy(dtype=np.float64) for name in ("distance", "tries", "made")}
    return MakeTable(name=Path(table).stem, **columns)


def completed(frame: pd.DataFrame, kind: str) -> pd.DataFrame:
    """Return a frame with every quantity of a kind of sheet, in order, blank where it has none."""
    made = frame.copy()
    for name in _quantities(kind):
        form = kind_of(kind).columns_of(name)[0].type
        if name not in frame:
            made[name] = pd.NaT if form.startswith("date") else "" if form == "string" else np.nan
        if form.startswith("date"):
            made[name] = made[name].astype("datetime64[us]")
    if "date" not in frame and "measured_at" in frame:
        made["date"] = made["measured_at"].dt.normalize()
    return made[[ROW, *_quantities(kind)]]


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
    return dataclasses.replace(first, frame=frame, notes=notes, comments=comments)


def with_same_names(sheets: Mapping[str, Sheet]) -> tuple[dict[str, Sheet], list[str]]:
    """Give names that look the same in several sheets one spelling."""
    notes: list[str] = []
    for quantity in sorted(NAMES):
        frames = {key: sheet.frame for key, sheet in sheets.items() if quantity in sheet.frame}
        if not frames:
            continue
        written = np.concatenate([frame[quantity].to_numpy(dtype=object) for frame in frames.values()])
        same, found = same_names(written, KNOWN_NAMES.get(quantity, ()))
        sizes = np.cumsum([len(frame) for frame in frames.values()])[:-1]
        for (key, frame), names in zip(frames.items(), np.split(same, sizes), strict=True):
            if (frame[quantity].to_numpy(dtype=object) != names).any():
                said = [f"Column {quantity}: {note}" for note in found]
                sheets = {**sheets, key: sheets[key].replaced(frame.assign(**{quantity: names}), said)}
        if quantity == "spot":
            found += nearly_same([sheet.frame["spot"] for sheet in sheets.values() if "spot" in sheet.frame])
        notes += [f"Column {quantity}: {note}" for note in found]
    return dict(sheets), notes
