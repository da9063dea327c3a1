"""Turns the bytes of a sheet into headings and lines of cells, whatever program saved it."""

import codecs
import csv
import difflib
import io
import os
import re
import stat
from collections import Counter
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import NamedTuple

from golfphys.sheets.dictionary import UNIT_SPELLINGS, Column, Kind, kinds, quoted
from golfphys.sheets.errors import AnyPath, Findings

LARGEST_FILE = 16 * 1024 * 1024
MOST_ROWS = 300_000
MOST_TITLE_LINES = 6
PLAIN_TEXT = "a CSV file (plain text)"
SIGNATURES = (
    (b"PK\x03\x04", "a spreadsheet's own format or an archive"),
    (b"\xd0\xcf\x11\xe0", "an old spreadsheet's own format"),
    (b"%PDF", "a printable document"),
    (b"\x89PNG", "a picture"),
    (b"\xff\xd8\xff", "a picture"),
    (b"\x1f\x8b", "a compressed file"),
    (b"{\\rtf", "a text document with formatting"),
)
BYTE_ORDER_MARKS = (
    (codecs.BOM_UTF8, "utf-8"),
    (codecs.BOM_UTF32_LE, "utf-32-le"),
    (codecs.BOM_UTF32_BE, "utf-32-be"),
    (codecs.BOM_UTF16_LE, "utf-16-le"),
    (codecs.BOM_UTF16_BE, "utf-16-be"),
)
UNIT_AT_END = re.compile(f"_(?:in_)?({'|'.join(word for word in UNIT_SPELLINGS if len(word) > 2)})$")
CONTROLS = frozenset(map(chr, range(32))) - {"\t", "\n", "\r"}
NO_COLUMN = "no such column"
SEPARATOR_WORDS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}
Record = tuple[int, tuple[str, ...]]  # row number as a spreadsheet counts, and cells


class Cut(NamedTuple):
    """How the text of a file is cut; what is None is inferred from the text."""

    separator: str | None = None
    heading_row: int | None = None  # as a spreadsheet counts; everything above it is a comment


INFERRED = Cut()


@dataclass(frozen=True, kw_only=True)
class RawSheet:
    """A sheet as records of text cells, and its file."""

    file: str
    line_end: str
    separator: str
    comments: tuple[str, ...]
    header_row: int
    header: tuple[str, ...]
    records: tuple[Record, ...]
    ends_with_line_end: bool

    @property
    def rows(self) -> dict[int, dict[str, str]]:
        """Cells by heading of every row that is no comment, by its number."""
        whole = [(row, cells) for row, cells in self.records if not cells[0].startswith("#")]
        return {row: dict(zip_longest(self.header, cells[: len(self.header)], fillvalue="")) for row, cells in whole}


def load_bytes(path: AnyPath, findings: Findings) -> bytes:
    """Return the bytes of a plain local file, or raise `SheetError` saying why there are none."""
    expected = "a CSV file on this machine"
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as stream:
            status = os.fstat(handle)
            if stat.S_ISREG(status.st_mode) and status.st_size <= LARGEST_FILE:
                return stream.read(LARGEST_FILE)
    except FileNotFoundError:
        findings.refuse(f"no file {quoted(findings.file)}", expected, "Check the folder and the spelling.")
    except IsADirectoryError:
        findings.refuse("a folder", expected, "Name the sheet inside the folder.")
    except (OSError, ValueError, TypeError) as error:
        advice = "Check the path, and that you may read the file."
        findings.refuse(f"a file that cannot be opened ({error})", expected, advice)
    if not stat.S_ISREG(status.st_mode):
        findings.refuse("something that is not a file", expected, "Name a sheet.")
    limit = f"at most {LARGEST_FILE // 1024**2} MB"
    findings.refuse(f"{status.st_size} bytes", limit, "Split it into several sheets.")


def decode(data: bytes, findings: Findings) -> tuple[str, str]:
    """Return the text of `data` without its byte-order mark, and its codec; raise `SheetError` if it is no text."""
    for signature, what in SIGNATURES:
        if data.startswith(signature):
            findings.refuse(what, PLAIN_TEXT, "Open it in the program that made it, save as CSV.")
    marked = ((mark, encoding) for mark, encoding in BYTE_ORDER_MARKS if data.startswith(mark))
    mark, encoding = next(marked, (b"", ""))
    encoding = encoding or _unmarked_encoding(data, findings)
    try:
        text = data[len(mark) :].decode(encoding)
    except UnicodeDecodeError as error:
        where = f"byte {error.start + 1}"
    else:
        control = next((index for index, letter in enumerate(text) if letter in CONTROLS), None)
        if control is None:
            return text, encoding
        where = f"letter {control + 1}, code {ord(text[control])}"
    advice = "Save the sheet anew as CSV, UTF-8, from the program that made it."
    findings.refuse(f"bytes that are no text ({where})", PLAIN_TEXT, advice)


def _unmarked_encoding(data: bytes, findings: Findings) -> str:
    head = data[:4000]
    for offset, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        zeros = head[offset::2].count(0)
        if len(head) > 3 and zeros > 0.4 * len(head) / 2 and head[1 - offset :: 2].count(0) == 0:
            findings.note("The file has two bytes a letter and no byte-order mark; it was read as UTF-16.")
            return encoding
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        findings.note("The file is not UTF-8; it was read as Western European text. Check letters with accents.")
        return "cp1252"
    return "utf-8"


def split(text: str, known: Collection[str], findings: Findings, cut: Cut = INFERRED) -> RawSheet:
    """Split the text of a sheet into comments, headings and rows."""
    windows = text.count("\r\n")
    ends = {"\r\n": windows, "\n": text.count("\n") - windows, "\r": text.count("\r") - windows}
    if sum(map(bool, ends.values())) > 1:
        findings.note("The file mixes line ends of several systems; every one was taken as a line end.")
    unified = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = unified.split("\n")
    if cut.heading_row is None:
        comments, separator, consumed = _lines_before_headings(lines, known, findings)
    else:
        consumed, separator = max(cut.heading_row - 1, 0), ""
        comments = [_comment(line) for line in lines[:consumed] if line.strip()]
    first = lines[consumed] if consumed < len(lines) else ""
    separator = cut.separator or separator or _separator(first, known)
    records = _records("\n".join(lines[consumed:]), separator, consumed, findings)
    while records and records[0][1][0].startswith("#") and not _numbers_rows(records[0][1], known):
        comments.append(_comment(records.pop(0)[1][0]))
    header_row, header = records[0] if records else (0, ())
    return RawSheet(
        file=findings.file,
        line_end=max(ends, key=lambda end: ends[end]) if any(ends.values()) else "\n",
        separator=separator,
        comments=tuple(comments),
        header_row=header_row,
        header=header,
        records=tuple(records[1:]),
        ends_with_line_end=unified.endswith("\n"),
    )


def read_raw(
    path: AnyPath, kind: Kind | None = None, findings: Findings | None = None, cut: Cut = INFERRED
) -> RawSheet:
    """Return the text cells of the sheet at `path`, of any kind if None; raise `SheetError` if it is no text."""
    findings, known = findings or Findings(str(path)), kind.by_name if kind else ()
    return split(decode(load_bytes(path, findings), findings)[0], known, findings, cut)


def _lines_before_headings(lines: list[str], known: Collection[str], findings: Findings) -> tuple[list[str], str, int]:
    """Comments at the head of a sheet, the separator that a line ``sep=;`` names, and how many lines these take."""
    comments: list[str] = []
    separator = ""

    def cells(line: str) -> list[str]:
        return line.split(separator or _separator(line, known))

    for consumed, text in enumerate(lines):
        line = text.strip(" ")
        if line.lower().startswith("sep=") and len(line) == 5 and not separator:
            separator = line[4]
        elif line.startswith("#") and not _numbers_rows(cells(line), known):
            comments.append(_comment(line))
        elif line.startswith('"#') and line.count('"') % 2 == 0:
            comments.append(_comment(line.replace('""', "\N{NULL}").replace('"', "").replace("\N{NULL}", '"')))
        elif line.strip(",;\t| "):
            # a title holds no heading, and one of the next few lines holds several
            counts = [_headings_in(cells(other), known) for other in lines[consumed : consumed + MOST_TITLE_LINES]]
            if counts[0] or max(counts) < 2:
                return comments, separator, consumed
            findings.note(f"What stands above the headings was taken as a comment: {quoted(line)}.")
            comments.append(_comment(line))
    return comments, separator, len(lines)


def _headings_in(cells: Sequence[str], known: Collection[str]) -> int:
    return sum(normal_heading(cell) in known for cell in cells)


def _numbers_rows(cells: Sequence[str], known: Collection[str]) -> bool:
    """Tell whether these are headings of which the first, ``#``, stands over the number of each row."""
    return cells[0].strip() == "#" and _headings_in(cells[1:], known) > 1


def _comment(line: str) -> str:
    return line.lstrip("# ").rstrip(",;\t ")


def _separator(line: str, known: Collection[str]) -> str:
    cells = {separator: line.split(separator) for separator in SEPARATOR_WORDS}
    return max(cells, key=lambda separator: (_headings_in(cells[separator], known), len(cells[separator])))


def _records(text: str, separator: str, offset: int, findings: Findings) -> list[Record]:
    """Rows with their numbers; blank ones left out. A quote that is never closed is a problem, not a long cell."""
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    records: list[Record] = []
    row = offset
    try:
        for row, cells in enumerate(reader, offset + 1):  # its last value is used below
            stripped = tuple(cell.strip() for cell in cells)
            if any(separator in cell and "\n" in cell for cell in stripped):
                found = f"a cell that runs over several lines: {quoted(max(stripped, key=len))}"
                advice = "A quotation mark swallowed the lines after it; take it out."
                findings.add(found, "one row on one line", advice, row=row)
            if any(stripped):
                records.append((row, stripped))
            if len(records) > MOST_ROWS:
                findings.add("more rows", f"at most {MOST_ROWS}", "Split it into several sheets.", row=row)
                break
    except csv.Error:
        found = "a quotation mark that opens a cell and is not closed, or text after one that is"
        advice = "Take the mark out or close it; rows from here on could not be read."
        findings.add(found, "quotation marks in pairs around a whole cell", advice, row=row + 1)
    return records


# headings


@dataclass(frozen=True, kw_only=True)
class Heading:
    """One heading of a sheet: where it stands, what it says, and the dictionary's column, None for an unknown one."""

    index: int
    text: str
    column: Column | None


def read_headings(raw: RawSheet, kind: Kind, findings: Findings) -> tuple[Heading, ...]:
    """Match the headings of a sheet to the dictionary; every mismatch becomes a problem or a note."""
    named = [(index, text) for index, text in enumerate(raw.header) if text]
    headings = tuple(Heading(index=i, text=text, column=kind.by_name.get(normal_heading(text))) for i, text in named)
    _check_doubles(headings, raw.header_row, findings)
    present = {heading.column.quantity for heading in headings if heading.column is not None}
    _check_unknown(headings, [item for item in kind.columns if item.quantity not in present], raw.header_row, findings)
    for group in kind.needs:
        if present.isdisjoint(group):
            names = [column.name for quantity in group for column in kind.columns_of(quantity)]
            expected, advice = f"a column {' or '.join(names)}", _missing_advice(raw.header, kind)
            findings.add(NO_COLUMN, expected, advice, row=raw.header_row or None, column=names[0])
    return headings


def _missing_advice(header: Sequence[str], kind: Kind) -> str:
    if not header:
        return "The file has no headings: take it out of its folder, and a blank sheet is made in its place."
    other = kind_told_by(header)
    if other is not None and kind.name in kinds():
        return f"These are headings of {other.name}: call the file {other.name}.csv."
    if len(header) == 1 and sum(word in kind.by_name for word in re.split(r"[\s,;]+", header[0].lower())) > 1:
        return "All headings stand in one cell: save the sheet as CSV, with commas between the cells, unquoted."
    return f"The headings are: {', '.join(header)[:200]}."


def kind_told_by(header: Sequence[str]) -> Kind | None:
    """Return the kind of sheet that has these headings, None where they are not those of any."""
    names = {normal_heading(text) for text in header}

    def score(sheet: Kind) -> tuple[int, int]:
        known = [column.quantity for column in sheet.columns if column.name in names]
        return -sum(set(known).isdisjoint(group) for group in sheet.needs), len(known)

    best = max(kinds().values(), key=score)
    return best if score(best)[0] == 0 else None


def normal_heading(text: str) -> str:
    """Return a heading as the dictionary would write it: small letters, underscores between words, the unit's sign."""
    name = re.sub(r"[^\w]+", "_", text.lower().replace("\N{DEGREE SIGN}", "deg")).strip("_") or text.strip()
    return UNIT_AT_END.sub(lambda found: f"_{UNIT_SPELLINGS[found[1]]}", name)


def check_unnamed(raw: RawSheet, findings: Findings) -> None:
    """Columns without a heading may be there, but not be used."""
    for index in (index for index, text in enumerate(raw.header) if not text):
        for row, cells in raw.records:
            if len(cells) > index and cells[index]:
                found, expected = f"cells under an empty heading: {quoted(cells[index])}", "a heading over every column"
                column, advice = f"number {index + 1} (no heading)", "Name the column or clear it."
                findings.add(found, f"{expected} that is used", advice, row=row, column=column)
                break


def _check_doubles(headings: tuple[Heading, ...], row: int, findings: Findings) -> None:
    for name, count in Counter(normal_heading(heading.text) for heading in headings).items():
        if count > 1:
            found, advice = f"{count} columns with this heading", "Rename or delete all but one."
            findings.add(found, "each heading once", advice, row=row, column=name)
    columns = dict.fromkeys(heading.column for heading in headings if heading.column is not None)
    for quantity, count in Counter(column.quantity for column in columns).items():
        if count > 1:
            found = f"{count} columns for {quantity.replace('_', ' ')} in different units"
            names = " and ".join(column.name for column in columns if column.quantity == quantity)
            advice = "Keep the one you measured in and delete the other."
            findings.add(found, "one", advice, row=row, column=names)


def _check_unknown(headings: tuple[Heading, ...], absent: list[Column], row: int, findings: Findings) -> None:
    own = []
    for heading in (item for item in headings if item.column is None):
        meant = meant_by(normal_heading(heading.text), absent)
        if all(column.type == "string" and not column.required for column in meant):
            own.append(heading.text)
            continue
        names = " or ".join(column.name for column in meant)
        advice = f"Write {names} if that is what it is, or give the column quite another name."
        findings.add(f"the heading {quoted(heading.text)}", names, advice, row=row, column=heading.text)
    if own:
        names = ", ".join(own)
        findings.note(f"Columns that the data dictionary does not know are kept as they are, as text: {names}.")


def meant_by(name: str, columns: list[Column]) -> list[Column]:
    """Columns that an unknown heading probably means: the quantity without a unit or with another one, or a slip."""
    for quantity in dict.fromkeys(column.quantity for column in columns):
        units = [column for column in columns if column.quantity == quantity]
        if name == quantity or (units[0].unit and name.startswith(f"{quantity}_") and len(name) < len(quantity) + 8):
            close = difflib.get_close_matches(name, [column.name for column in units], n=1, cutoff=0.0)
            return sorted(units, key=lambda column: column.name not in close) if name != quantity else units
    close = difflib.get_close_matches(name, [column.name for column in columns], n=1, cutoff=0.8)
    return [column for column in columns if column.name in close]
