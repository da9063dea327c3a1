"""Reads any kind of sheet, driven by the data dictionary: headings first, then every row and cell, then a frame in SI.

Nothing here knows one kind of sheet from another; what only rolls or only chips must satisfy is checked in `checks`.
"""

# ruff: noqa: I001  # several lines for a module with many names
import itertools
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from golfphys.physics.club import BAG, LIES, SEVEN_IRON, named_by_loft
from golfphys.sheets.decoding import SEPARATOR_WORDS, Heading, RawSheet, Record, check_unnamed, decode
from golfphys.sheets.decoding import read_headings, split
from golfphys.sheets.dictionary import NUMBER, Column, Kind, Misread, clean, day_comes_first, expected_number, is_number
from golfphys.sheets.dictionary import kinds, name_key, quoted, read_cell, unquoted
from golfphys.sheets.errors import Findings, row_list

ROW = "row"
# Names that a sheet may write in any case; others are kept as they were first written.
KNOWN_NAMES = {"club": (SEVEN_IRON.name, *BAG), "lie": tuple(LIES)}
SHORT_NAMES = {  # as they stand on the clubs
    **{"7i": "7-iron", "8i": "8-iron", "9i": "9-iron", "pw": "pitching wedge", "gw": "gap wedge"},
    **{"sw": "sand wedge", "lw": "lob wedge"},
}
# Quantities in which names that look the same are the same name.
NAMES = frozenset({"spot", "club", "lie", "roll", "player", "course", "option", "swing", "green"})


@dataclass(frozen=True, kw_only=True)
class Table:
    """A sheet whose cells have been read, with everything found on the way."""

    kind: Kind
    frame: pd.DataFrame
    given: Mapping[str, Heading]  # by quantity, the heading under which the sheet gives it
    raw: RawSheet
    findings: Findings

    def heading_for(self, quantity: str) -> str:
        """Return the heading under which the sheet gives `quantity`, or the quantity's name where it does not."""
        return self.given[quantity].text if quantity in self.given else quantity

    def column_for(self, quantity: str) -> Column | None:
        """Return the dictionary's column under which the sheet gives `quantity`, or None."""
        return self.given[quantity].column if quantity in self.given else None

    def filled(self, quantity: str) -> np.ndarray:
        """Tell for each row whether its cell of `quantity` has anything in it."""
        cells = _written(self.raw, self.given.get(quantity))
        return np.fromiter(map(bool, cells), dtype=bool, count=len(cells))

    def row(self, position: int) -> int:
        """Return the row number of the frame's line `position`."""
        return int(self.frame[ROW].iloc[position])

    def written(self, position: int, quantity: str) -> str:
        """Return the cell of the frame's line `position` as it was written, in quotes."""
        return quoted(_at(self.raw.records[position][1], self.given.get(quantity)))

    def add(
        self,
        rows: Any,
        quantity: str,
        expected: str,
        advice: str,
        more: str = "",
        *,
        suspect: bool = False,
        lone: bool = False,
        **own: Any,
    ) -> None:
        """Record a problem with the cell of `quantity` in the frame's line `rows`, or in every line of a mask.

        `more` stands behind what was found. In the texts for a mask ``{name}`` is a value given here, of its line if
        it is a series, or else the cell of that quantity.
        """
        for position in [rows] if isinstance(rows, int) else np.flatnonzero(np.asarray(rows)).tolist():
            texts = [expected, advice, more]
            if not isinstance(rows, int):
                here = {name: self.written(position, name) for name in self.kind.quantities}
                for name, value in own.items():
                    here[name] = value.iloc[position] if isinstance(value, pd.Series) else value
                texts = [text.format_map(here) for text in texts]
            cell, row, column = self.written(position, quantity), self.row(position), self.heading_for(quantity)
            found = ("a blank cell" if cell == "''" else cell) + texts[2]
            self.findings.add(found, texts[0], texts[1], row=row, column=column, suspect=suspect, lone=lone)

    def ask(self, *where_and_words: Any, **values: Any) -> None:
        """Record cells that can be read but are hard to believe; as `add`."""
        self.add(*where_and_words, suspect=True, **values)

    def ask_column(self, quantity: str, found: str, expected: str, advice: str) -> None:
        """Record a column that can be read but is hard to believe."""
        self.findings.add(found, expected, advice, column=self.heading_for(quantity), suspect=True)


def parse_table(data: bytes, kind: Kind, findings: Findings) -> Table:
    """Read a table from its bytes as far as it can be read; what is wrong with its cells stands in `findings`."""
    raw = split(decode(data, findings)[0], kind.by_name, findings)
    if not raw.header:
        maker = " (golfphys.new_sheet makes one)" if kind.name in kinds() else ""
        found = "nothing but comments" if raw.comments else "an empty file"
        advice = f"Start from the blank template for {kind.name}{maker}."
        findings.refuse(found, "a line of headings and rows below it", advice)
    return table_of(raw, kind, findings)


def table_of(raw: RawSheet, kind: Kind, findings: Findings) -> Table:
    """Read the cells of a sheet under its headings; as `parse_table`."""
    check_unnamed(raw, findings)
    headings = read_headings(raw, kind, findings)
    given = {heading.column.quantity: heading for heading in headings if heading.column is not None}
    raw = rows_only(raw, headings, findings)
    if not raw.records and not findings.problems:
        found, advice = "headings without rows", "Add a row for each measurement."
        findings.add(found, "at least one row", advice, row=raw.header_row, unfilled=True)
    columns: dict[str, np.ndarray] = {ROW: np.array([row for row, _ in raw.records], dtype=np.int64)}
    for quantity in kind.quantities:
        heading = given.get(quantity)
        column = heading.column if heading is not None and heading.column else kind.columns_of(quantity)[0]
        columns[quantity] = _column_of(raw, column, heading, findings)
    for unknown in (item for item in headings if item.column is None):
        name = unknown.text if unknown.text not in columns else f"{unknown.text} (as written)"
        columns[name] = np.array(list(map(unquoted, _written(raw, unknown))), dtype=object)
    _add_decimal_commas(raw, given, findings)
    rows_of: dict[tuple[str, ...], list[int]] = {}
    for row, record in raw.records:
        rows_of.setdefault(record, []).append(row)
    doubled = [row_list(rows) for rows in rows_of.values() if len(rows) > 1]
    if len(doubled) > 5:
        doubled[5:] = [f"{len(doubled) - 5} more sets of rows"]
    for rows in doubled:
        findings.note(f"Identical in every cell, and all kept: {rows}.")
    return Table(kind=kind, frame=pd.DataFrame(columns), given=given, raw=raw, findings=findings)


# rows


def rows_only(raw: RawSheet, headings: tuple[Heading, ...], findings: Findings) -> RawSheet:
    """Leave out comment lines among the rows and check that every row has as many cells as there are headings.

    A row with as many filled cells as its neighbours, or with a number in it, is never a comment.
    """
    if not raw.header:
        return raw  # nothing of a file brought in was matched
    filled = [sum(map(bool, record)) for _, record in raw.records]
    usual = min((n for n, (_, record) in zip(filled, raw.records, strict=True) if record[0][:1] != "#"), default=2)
    measured, comments, comment_rows = [], list(raw.comments), []
    for (row, record), count in zip(raw.records, filled, strict=True):
        if not record[0].startswith("#"):
            measured.append((row, record))
        elif count > 1 and (count >= usual or any(is_number(cell) for cell in record)):
            found = f"a row of cells that begins with #: {quoted(record[0])}"
            advice = "Take the # away if it is a measurement; put the comment above the headings if it is one."
            findings.add(found, "a measurement, or a comment", advice, row=row)
        else:
            comments.append(" ".join(cell for cell in record if cell).lstrip("# "))
            comment_rows.append(row)
    if comment_rows:
        findings.note(f"Comments among the rows were left out: {row_list(comment_rows)}.")
    whole = _check_lengths(measured, raw, headings, findings)
    return replace(raw, comments=tuple(comments), records=tuple(whole))


def _check_lengths(
    records: list[Record], raw: RawSheet, headings: tuple[Heading, ...], findings: Findings
) -> list[Record]:
    """Rows whose cells stand under their headings; the others become problems."""
    width = len(raw.header)
    lengths = {len(record) for _, record in records}
    short_rows, whole = [], []
    for row, record in records:
        missing = [heading for heading in headings if heading.index >= len(record)]
        needed = [heading.text for heading in missing if heading.column is not None and heading.column.required]
        if len(record) < width and (needed or (row == records[-1][0] and not raw.ends_with_line_end)):
            found = f"a row that ends after {len(record)} of {width} cells"
            advice = "Was the file cut off? Complete the row."
            if len(record) == 1 and raw.separator in record[0]:
                advice = "The whole row stands in quotation marks: take them out."
            column = (needed or [missing[0].text])[0] if missing else None
            findings.add(found, f"{width} cells", advice, row=row, column=column)
        elif any(record[width:]) or (len(record) > width and len(lengths) > 1):
            found, advice = f"{len(record)} cells under {width} headings", _too_long_advice(record, raw.separator)
            findings.add(found, f"{width} cells", advice, row=row)
        else:
            whole.append((row, record))
            short_rows += [row] if len(record) < width else []
    if short_rows:
        findings.note(f"Cells missing at the end of a row were taken as blank: {row_list(short_rows)}.")
    return whole


def _too_long_advice(record: tuple[str, ...], separator: str) -> str:
    for left, right in itertools.pairwise(record):
        if separator == "," and left.lstrip("+-").isdigit() and right.isdigit():
            return (
                f"A decimal comma may have split a number in two ({left},{right}): write points for the decimals, "
                "or separate the cells with semicolons."
            )
    return "Take out the cells that have no heading, or put text that holds a separator in quotation marks."


def _add_decimal_commas(raw: RawSheet, given: Mapping[str, Heading], findings: Findings) -> None:
    """Where numbers of a comma-separated sheet are out of range and none has a point, say what that often means."""
    columns = {heading.text for heading in given.values() if heading.column is not None and heading.column.is_number}
    out_of_range = (item for item in findings.problems if item.column in columns)
    if raw.separator != "," or not any(NUMBER.fullmatch(item.found.strip("'")) for item in out_of_range):
        return
    if not any("." in cell for _, record in raw.records for cell in record if NUMBER.fullmatch(cell)):
        found = "numbers out of range, and no decimal point in the whole sheet"
        expected = "points for the decimals in a sheet whose cells are separated by commas"
        advice = "A decimal comma may have split numbers in two: write points, or put semicolons between cells."
        findings.add(found, expected, advice)


# cells


def _at(record: tuple[str, ...], heading: Heading | None) -> str:
    return record[heading.index] if heading is not None and heading.index < len(record) else ""


def _written(raw: RawSheet, heading: Heading | None) -> list[str]:
    return [_at(record, heading) for _, record in raw.records]


def _column_of(raw: RawSheet, column: Column, heading: Heading | None, findings: Findings) -> np.ndarray:
    """Read the cells of one column; one that is misread becomes a problem, and is then as a blank one."""
    name = None if heading is None else heading.text
    written, dated = _written(raw, heading), column.type.startswith("date")
    plain = clean if column.quantity in NAMES else unquoted
    texts = written if column.is_number else [plain(text) for text in written]
    commas, order, unfilled = raw.separator != ",", day_comes_first(texts) if dated else None, None
    if heading is not None and column.required:
        expected = expected_number(column) if column.is_number else "a name"
        unfilled = Misread(expected, "Fill it in, or delete the row if it was not measured.")
    values: list[Any] = [read_cell(text, column, commas, order) if text else unfilled for text in texts]
    for place, value in enumerate(values):
        if isinstance(value, Misread):
            found, row = quoted(texts[place]) if texts[place] else "a blank cell", raw.records[place][0]
            findings.add(found, value.expected, value.advice, row=row, column=name)
            values[place] = None
    if dated:
        return _times(values, texts, raw, name, findings)
    if column.is_number:
        if any(value is not None and "," in text for text, value in zip(texts, values, strict=True)):
            words = SEPARATOR_WORDS.get(raw.separator, repr(raw.separator))
            findings.note(f"Cells are separated by {words}, so commas in numbers were read as decimal signs.")
        return np.array(values, dtype=float) * column.factor
    if column.quantity not in NAMES:
        return np.array([value or "" for value in values], dtype=object)
    named = [text if value else "" for text, value in zip(written, values, strict=True)]
    same, notes = same_names(np.array(named, dtype=object), column.quantity)
    for note in notes:
        findings.note(f"Column {name}: {note}")
    return same


def _times(values: list[Any], texts: list[str], raw: RawSheet, name: str | None, findings: Findings) -> np.ndarray:
    """Return times as the clock at the course shows them."""
    offsets: dict[object, int] = {}
    for value, (row, _) in zip(values, raw.records, strict=True):
        if value is not None:
            offsets.setdefault(value[1], row)
    if len(offsets) > 1:
        first, second, *_ = offsets.values()
        said = f"times with different offsets from universal time (compare row {first})"
        expected = "every time as the clock at the course shows it"
        findings.add(said, expected, "Write all times as local time, without Z or +01:00.", row=second, column=name)
    elif offsets.keys() - {None}:
        findings.note("The offset from universal time was left out; times are taken as the clock at the course.")
    if any(NUMBER.fullmatch(text) and len(text) != 8 for text in texts):
        findings.note("Day numbers, as a spreadsheet counts them from 1900, were read as dates.")
    return np.array([value and value[0] for value in values], dtype="datetime64[us]")


def same_names(values: np.ndarray, quantity: str) -> tuple[np.ndarray, list[str]]:
    """Give names of a quantity that look the same one spelling."""
    preferred = {name_key(name): name for name in KNOWN_NAMES.get(quantity, ())}
    keys = {value: name_key(value) for value in dict.fromkeys(values.tolist())}
    if quantity == "club":
        preferred |= SHORT_NAMES | {key: name for key in keys.values() if (name := named_by_loft(key))}
    chosen = dict(preferred)
    spellings: dict[str, list[str]] = {}
    for value, key in keys.items():
        chosen.setdefault(key, clean(value))
        spellings.setdefault(key, []).append(value)
    # letters that are hard to tell from others are spelt out
    shown = {word: quoted(word) + ("" if word.isascii() else f" ({ascii(word)[1:-1]})") for word in keys}
    notes = [
        f"{', '.join(shown[word] for word in words)} were taken as the same name, {quoted(chosen[key])}."
        for key, words in spellings.items()
        if len(words) > 1 and key not in preferred
    ]
    return np.array([chosen[keys[value]] for value in values.tolist()], dtype=object), notes
