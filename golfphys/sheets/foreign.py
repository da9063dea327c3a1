"""Turns a CSV file that somebody else laid out into a sheet: its columns matched, its numbers with decimal points."""

import difflib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path

import pandas as pd

from golfphys.sheets.cells import with_point
from golfphys.sheets.checks import check
from golfphys.sheets.decoding import Layout, RawSheet, meant_by, normal_heading, read_raw
from golfphys.sheets.dictionary import Column, Kind
from golfphys.sheets.errors import AnyPath, Findings, Problem, SheetError
from golfphys.sheets.table import parse_table
from golfphys.sheets.writing import csv_text

# Words that people head these columns with, for the guess.
OTHER_WORDS = {
    "spot": ("place", "location", "where", "green", "station"),
    "heading": ("direction", "bearing", "compass"),
    "distance": ("length", "rolled", "rollout"),
    "ramp_run": ("ramp", "notch"),
    "drop_height": ("drop", "dropped_from"),
    "rebound_height": ("rebound", "bounce", "bounce_height"),
    "measured_at": ("time", "when"),
    "date": ("day",),
    "note": ("notes", "comment", "comments", "remark", "remarks"),
    "club": ("clubs",),
    "player": ("name", "who"),
    "rest": ("total", "finish", "stopped"),
    "target_carry": ("target", "aim"),
}
# Stands before the heading of a column that was not matched but reads like one of the dictionary's.
NOT_USED = "not used here: "


@dataclass(frozen=True, kw_only=True)
class Source:
    """A file to be brought in."""

    path: Path
    raw: RawSheet

    @property
    def headings(self) -> tuple[str, ...]:
        """Its headings, those that are blank or doubled distinguished by the number of their column."""
        found: list[str] = []
        for number, text in enumerate(self.raw.header, start=1):
            name = text or f"column {number}"
            found.append(f"{name} (column {number})" if name in found else name)
        return tuple(found)


def read_source(path: AnyPath, layout: Layout | None = None) -> Source:
    """Read a CSV file of any layout."""
    findings = Findings(str(path))
    raw = read_raw(path, None, findings, layout)
    if not raw.header or not raw.records:
        expected = "a first line of headings, then one line for each measurement"
        advice = "Check that it is the file you meant, and which row has the headings."
        findings.add("no rows under a line of headings", expected, advice)
    width = len(raw.header)
    for row, record in raw.records:
        if any(record[width:]):
            advice = "Say in which row the headings stand, or give every column one: nothing is dropped unasked."
            findings.add(f"{len(record)} cells under {width} headings", f"{width} cells", advice, row=row)
    findings.raise_if_any()
    return Source(path=Path(path), raw=raw)


def likely_matches(source: Source, kind: Kind) -> dict[str, str]:
    """Guess which heading of a file stands for which column of the dictionary."""
    found: dict[str, str] = {}
    taken: set[str] = set()
    for heading in source.headings:
        column = _likely(normal_heading(heading), [item for item in kind.columns if item.quantity not in taken])
        if column is not None:
            found[heading] = column.name
            taken.add(column.quantity)
    return found


def _likely(name: str, columns: list[Column]) -> Column | None:
    names = {column.name: column for column in columns}
    if name in names:
        return names[name]
    alike = [
        column
        for column in columns
        for word in (column.quantity, *OTHER_WORDS.get(column.quantity, ()))
        if name == word or name.startswith(f"{word}_")
    ]
    if alike:
        return next((column for column in alike if name.endswith(f"_{column.unit}")), alike[0])
    close = difflib.get_close_matches(name, list(names), n=1, cutoff=0.8)
    return names[close[0]] if close else None


def table_to_write(source: Source, matches: Mapping[str, str], kind: Kind) -> pd.DataFrame:
    """Return what the sheet will hold, cell by cell as text, by row of the file; `matches` are columns by its headings.

    A column that was not matched keeps its heading, marked where it would be taken for one of the dictionary's.
    """
    commas, names, columns = source.raw.separator != ",", [], []
    for index, heading in enumerate(source.headings):
        matched, own = kind.column(matches.get(heading, "")), normal_heading(heading)
        taken = kind.column(own) or meant_by(own, list(kind.columns))
        names.append(matches.get(heading) or (f"{NOT_USED}{heading}" if taken else heading))
        cells = [record[index] if index < len(record) else "" for _, record in source.raw.records]
        numbers = commas and matched is not None and matched.is_number
        columns.append([with_point(cell) for cell in cells] if numbers else cells)
    rows = pd.Index([row for row, _ in source.raw.records], name="row")
    return pd.DataFrame(list(zip(*columns, strict=True)), columns=names, index=rows)


def sheet_text_of(source: Source, matches: Mapping[str, str], kind: Kind) -> str:
    """Return the text of the sheet that a file becomes, from what `table_to_write` takes."""
    table = table_to_write(source, matches, kind)
    comments = (*source.raw.comments, f"brought in from {source.path.name}")
    return "".join(f"# {line}\n" for line in comments) + csv_text([table.columns, *table.to_numpy().tolist()])


def problems_of(source: Source, matches: Mapping[str, str], kind: Kind) -> list[Problem]:
    """Return what would be wrong with the sheet, with the rows of the file that is brought in."""
    findings = Findings(str(source.path))
    try:
        check(parse_table(sheet_text_of(source, matches, kind).encode("utf-8"), kind, findings))
    except SheetError as error:
        findings.problems = list(error.problems)
    head = len(source.raw.comments) + 2  # comments, the line that says where it is from, the headings
    there = dict(enumerate((row for row, _ in source.raw.records), head + 1)) | {None: None}
    return [replace(item, row=there.get(item.row, source.raw.header_row)) for item in findings.problems]
