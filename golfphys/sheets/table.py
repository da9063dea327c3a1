"""Reads any kind of sheet, driven by the data dictionary: headings first, then every cell, then a frame in SI.

Nothing here knows one kind of sheet from another; what only rollouts or only chips must satisfy is checked in their
own modules, on the frame that comes out of here.
"""

import os
from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime

import numpy as np
import pandas as pd

from golfphys.sheets import cells
from golfphys.sheets.decoding import SEPARATOR_WORDS, RawSheet, decode, load_bytes, split
from golfphys.sheets.dictionary import Column, Kind, kind_of, kinds
from golfphys.sheets.errors import Findings, quoted
from golfphys.sheets.headings import Heading, read_headings
from golfphys.sheets.rows import add_decimal_commas, note_duplicates, rows_only

ROW = "row"


@dataclass(frozen=True, kw_only=True)
class Table:
    """A sheet whose cells have been read, with everything found on the way.

    Parameters
    ----------
    kind : Kind
        What kind of sheet it is.
    frame : DataFrame
        One line for each row: ``row``, then every quantity of the kind in SI and radians (NaN, NaT or an empty text
        where blank or not in the sheet), then the columns that the dictionary does not know, as text.
    headings : tuple of Heading
        The sheet's own columns.
    raw : RawSheet
        The text cells.
    findings : Findings
        Problems and notes so far.
    """

    kind: Kind
    frame: pd.DataFrame
    headings: tuple[Heading, ...]
    raw: RawSheet
    findings: Findings

    def _heading(self, quantity: str) -> Heading | None:
        return next((item for item in self.headings if item.column and item.column.quantity == quantity), None)

    def heading_for(self, quantity: str) -> str:
        """Return the heading under which the sheet gives `quantity`, or the quantity's name where it does not."""
        heading = self._heading(quantity)
        return quantity if heading is None else heading.text

    def column_for(self, quantity: str) -> Column | None:
        """Return the dictionary's column under which the sheet gives `quantity`, or None."""
        heading = self._heading(quantity)
        return None if heading is None else heading.column

    def texts(self, quantity: str) -> list[str]:
        """Return the cells of `quantity` as they were written, empty where the sheet has no such column."""
        heading = self._heading(quantity)
        return ["" if heading is None else _at(record, heading.index) for _, record in self.raw.records]

    def row(self, position: int) -> int:
        """Return the row number of the frame's line `position`."""
        return int(self.frame[ROW].iloc[position])

    def written(self, position: int, quantity: str) -> str:
        """Return the cell of the frame's line `position` as it was written, in quotes."""
        return quoted(self.texts(quantity)[position])


def read_table(
    path: str | os.PathLike[str], kind: str, check: Callable[[Table], None], *, accept_suspects: bool = False
) -> Table:
    """Read the sheet at `path` and check it.

    Parameters
    ----------
    path : path-like
        The CSV file.
    kind : str
        Kind of sheet, a name of the dictionary.
    check : callable
        Records what is wrong with a table of this kind beyond its single cells.
    accept_suspects : bool
        Turn what is hard to believe into notes instead of problems.

    Returns
    -------
    Table
        Cells in SI.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.
    """
    findings = Findings(str(path), accept_suspects)
    table = parse_table(load_bytes(path, findings), kind_of(kind), findings)
    check(table)
    findings.raise_if_any()
    return table


def parse_table(data: bytes, kind: Kind, findings: Findings) -> Table:
    """Read a sheet from its bytes as far as it can be read, collecting problems.

    Parameters
    ----------
    data : bytes
        The file's content.
    kind : Kind
        Kind of sheet.
    findings : Findings
        Takes problems and notes.

    Returns
    -------
    Table
        Cells in SI; what is wrong with them stands in `findings`.

    Raises
    ------
    SheetError
        If there is no text to read.
    """
    text, _ = decode(data, findings)
    raw = split(text, kind.names, findings)
    if not raw.header:
        found = "nothing but comments" if raw.comments else "an empty file"
        findings.add(found=found, expected="a line of headings and rows below it", advice=_template_advice(kind))
        findings.raise_if_any()
    headings = read_headings(raw, kind, findings)
    raw = rows_only(raw, headings, findings)
    if not raw.records and not findings.problems:
        advice = "Add a row for each measurement."
        found = "headings without rows"
        findings.add(row=raw.header_row, found=found, expected="at least one row", advice=advice, unfilled=True)
    frame = _frame(raw, kind, headings, findings)
    add_decimal_commas(raw, headings, findings)
    note_duplicates(raw, findings)
    return Table(kind=kind, frame=frame, headings=headings, raw=raw, findings=findings)


def _template_advice(kind: Kind) -> str:
    maker = " (golfphys.new_sheet makes one)" if kind.name in kinds() else ""
    return f"Start from the blank template for {kind.name}{maker}."


def _frame(raw: RawSheet, kind: Kind, headings: tuple[Heading, ...], findings: Findings) -> pd.DataFrame:
    rows = [row for row, _ in raw.records]
    columns: dict[str, object] = {ROW: np.array(rows, dtype=np.int64)}
    by_quantity = {heading.column.quantity: heading for heading in headings if heading.column is not None}
    for quantity in kind.quantities:
        heading = by_quantity.get(quantity)
        template = kind.columns_of(quantity)[0]
        texts = ["" if heading is None else _at(record, heading.index) for _, record in raw.records]
        columns[quantity] = _column(texts, rows, template, heading, raw, findings)
    for heading in headings:
        if heading.column is None:
            name = heading.text if heading.text not in columns else f"{heading.text} (as written)"
            columns[name] = np.array([_at(record, heading.index) for _, record in raw.records], dtype=object)
    return pd.DataFrame(columns)


def _at(record: tuple[str, ...], index: int) -> str:
    return record[index] if index < len(record) else ""


def _column(
    texts: list[str], rows: list[int], template: Column, heading: Heading | None, raw: RawSheet, findings: Findings
) -> object:
    column = template if heading is None or heading.column is None else heading.column
    if heading is not None and column.required:
        _check_blanks(texts, rows, column, heading, findings)
    if column.is_number:
        return _numbers(texts, rows, column, heading, raw, findings)
    if column.type == "datetime":
        return _times(texts, rows, heading, findings)
    values = []
    for row, text in zip(rows, texts, strict=True):
        value = cells.read_word(text, column) if text else ""
        if isinstance(value, cells.Misread):
            _add(findings, row, heading, text, value)
            value = ""
        values.append(value)
    _note_spellings(values, heading, findings)
    return np.array(values, dtype=object)


def _check_blanks(texts: list[str], rows: list[int], column: Column, heading: Heading, findings: Findings) -> None:
    expected = cells.expected_number(column) if column.is_number else "a name"
    for row, text in zip(rows, texts, strict=True):
        if not text:
            advice = "Fill it in, or delete the row if it was not measured."
            findings.add(row=row, column=heading.text, found="a blank cell", expected=expected, advice=advice)


def _numbers(
    texts: list[str], rows: list[int], column: Column, heading: Heading | None, raw: RawSheet, findings: Findings
) -> np.ndarray:
    decimal_comma = raw.separator != ","
    values = np.full(len(texts), np.nan)
    commas = False
    for index, text in enumerate(texts):
        if not text:
            continue
        value = cells.read_number(text, column, decimal_comma)
        if isinstance(value, cells.Misread):
            _add(findings, rows[index], heading, text, value)
        else:
            values[index] = value * column.factor
            commas = commas or "," in text
    if commas:
        words = SEPARATOR_WORDS[raw.separator]
        findings.note(f"Cells are separated by {words}, so commas in numbers were read as decimal signs.")
    return values


def _times(texts: list[str], rows: list[int], heading: Heading | None, findings: Findings) -> object:
    moments: list[datetime | None] = []
    offsets: dict[object, int] = {}
    for row, text in zip(rows, texts, strict=True):
        value = cells.read_time(text) if text else None
        if isinstance(value, cells.Misread):
            _add(findings, row, heading, text, value)
            value = None
        moments.append(None if value is None else value[0])
        if value is not None:
            offsets.setdefault(value[1], row)
    if len(offsets) > 1:
        first, second, *_ = offsets.values()
        findings.add(
            row=second,
            column=None if heading is None else heading.text,
            found=f"times with different offsets from universal time (compare row {first})",
            expected="every time as the clock at the course shows it",
            advice="Write all times as local time, without Z or +01:00.",
        )
    elif None not in offsets and offsets:
        findings.note("The offset from universal time was left out; times are taken as the clock at the course.")
    return np.array(moments, dtype="datetime64[us]")


def _note_spellings(values: list[str], heading: Heading | None, findings: Findings) -> None:
    if heading is None or heading.column is None or heading.column.quantity == "note":
        return
    spellings: dict[str, set[str]] = {}
    for value in set(values) - {""}:
        spellings.setdefault("".join(value.lower().replace("-", "").replace("_", "").split()), set()).add(value)
    for words in spellings.values():
        if len(words) > 1:
            names = ", ".join(quoted(word) for word in sorted(words))
            findings.note(f"Column {heading.text}: {names} differ only in spelling but are taken as different.")


def _add(findings: Findings, row: int, heading: Heading | None, text: str, misread: cells.Misread) -> None:
    column = None if heading is None else heading.text
    findings.add(row=row, column=column, found=quoted(text), expected=misread.expected, advice=misread.advice)
