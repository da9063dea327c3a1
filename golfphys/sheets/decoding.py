"""Turns the bytes of a sheet into lines of cells, whatever program saved it."""

import codecs
import csv
import io
import os
import stat
from dataclasses import dataclass

from golfphys.sheets.errors import Findings, quoted

LARGEST_FILE = 16 * 1024 * 1024
MOST_ROWS = 300_000
MOST_TITLE_LINES = 6
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
CONTROLS = frozenset(map(chr, range(32))) - {"\t", "\n", "\r"}
SEPARATOR_WORDS = {",": "commas", ";": "semicolons", "\t": "tabs", "|": "bars"}

Record = tuple[int, tuple[str, ...]]
"""Row number as a spreadsheet counts, and cells."""


@dataclass(frozen=True, kw_only=True)
class Layout:
    """How the text of a file is cut; what is None is inferred from the text.

    Parameters
    ----------
    separator : str, optional
        What stands between cells: a comma, a semicolon, a tab or a bar.
    heading_row : int, optional
        Row of the headings, as a spreadsheet counts; what stands above it is kept as comments.
    """

    separator: str | None = None
    heading_row: int | None = None


@dataclass(frozen=True, kw_only=True)
class RawSheet:
    """A sheet as records of text cells."""

    line_end: str
    separator: str
    comments: tuple[str, ...]
    header_row: int
    header: tuple[str, ...]
    records: tuple[Record, ...]
    ends_with_line_end: bool


def load_bytes(path: str | os.PathLike[str], findings: Findings) -> bytes:
    """Return the bytes of a plain local file, or record why there are none and raise."""
    add = findings.add
    try:
        handle = os.open(path, os.O_RDONLY | getattr(os, "O_NONBLOCK", 0) | getattr(os, "O_BINARY", 0))
        with os.fdopen(handle, "rb") as stream:
            status = os.fstat(handle)
            if not stat.S_ISREG(status.st_mode):
                add(found="something that is not a file", expected="a CSV file", advice="Name a sheet.")
            elif status.st_size <= LARGEST_FILE:
                return stream.read(LARGEST_FILE)
            else:
                limit = f"at most {LARGEST_FILE // 1024**2} MB"
                add(found=f"{status.st_size} bytes", expected=limit, advice="Split it into several sheets.")
    except FileNotFoundError:
        found = f"no file {quoted(findings.file)}"
        add(found=found, expected="a CSV file on this machine", advice="Check the folder and the spelling.")
    except IsADirectoryError:
        add(found="a folder", expected="a CSV file", advice="Name the sheet inside the folder.")
    except (OSError, ValueError, TypeError) as error:
        advice = "Check the path, and that you may read the file."
        add(found=f"a file that cannot be opened ({error})", expected="a CSV file", advice=advice)
    findings.raise_if_any()
    raise AssertionError("unreachable: a problem was recorded")


def decode(data: bytes, findings: Findings) -> tuple[str, str]:
    """Return the text of `data` without its byte-order mark, and its codec, or record why it is no text and raise."""
    text, encoding = _decode(data, findings)
    findings.raise_if_any()
    return text, encoding


def _decode(data: bytes, findings: Findings) -> tuple[str, str]:
    for signature, what in SIGNATURES:
        if data.startswith(signature):
            advice = "Open it in the program that made it, save as CSV."
            findings.add(found=what, expected="a CSV file (plain text)", advice=advice)
            return "", ""
    for mark, encoding in BYTE_ORDER_MARKS:
        if data.startswith(mark):
            return _strict(data[len(mark) :], encoding, findings), encoding
    encoding = _unmarked_encoding(data)
    if encoding == "cp1252":
        findings.note("The file is not UTF-8; it was read as Western European text. Check letters with accents.")
    elif encoding != "utf-8":
        findings.note("The file has two bytes a letter and no byte-order mark; it was read as UTF-16.")
    return _strict(data, encoding, findings), encoding


def _unmarked_encoding(data: bytes) -> str:
    head = data[:4000]
    for offset, encoding in ((1, "utf-16-le"), (0, "utf-16-be")):
        zeros = head[offset::2].count(0)
        if len(head) > 3 and zeros > 0.4 * len(head) / 2 and head[1 - offset :: 2].count(0) == 0:
            return encoding
    try:
        data.decode("utf-8")
    except UnicodeDecodeError:
        return "cp1252"
    return "utf-8"


def _strict(data: bytes, encoding: str, findings: Findings) -> str:
    try:
        text = data.decode(encoding)
    except UnicodeDecodeError as error:
        text, where = "", f"byte {error.start + 1}"
    else:
        control = next((index for index, letter in enumerate(text) if letter in CONTROLS), None)
        if control is None:
            return text
        where = f"letter {control + 1}, code {ord(text[control])}"
    findings.add(
        found=f"bytes that are no text ({where})",
        expected="a CSV file (plain text)",
        advice="Save the sheet anew as CSV, UTF-8, from the program that made it.",
    )
    return text


def split(text: str, known: frozenset[str], findings: Findings, layout: Layout | None = None) -> RawSheet:
    """Split the text of a sheet into comments, headings and rows."""
    chosen = layout or Layout()
    line_end = _line_end(text, findings)
    unified = text.replace("\r\n", "\n").replace("\r", "\n")
    lines = unified.split("\n")
    if chosen.heading_row is None:
        comments, separator, consumed = _lines_before_headings(lines, known, findings)
    else:
        consumed, separator = max(chosen.heading_row - 1, 0), ""
        comments = [_comment(line) for line in lines[:consumed] if line.strip()]
    head = lines[consumed] if consumed < len(lines) else ""
    separator = chosen.separator or separator or _separator(head, known)
    records = _records("\n".join(lines[consumed:]), separator, consumed, findings)
    while records and records[0][1][0].startswith("#") and not _numbers_rows(records[0][1], known):
        comments.append(_comment(records.pop(0)[1][0]))
    header_row, header = records[0] if records else (0, ())
    return RawSheet(
        line_end=line_end,
        separator=separator,
        comments=tuple(comments),
        header_row=header_row,
        header=header,
        records=tuple(records[1:]),
        ends_with_line_end=unified.endswith("\n"),
    )


def read_raw(
    path: str | os.PathLike[str], known: frozenset[str], findings: Findings, layout: Layout | None = None
) -> RawSheet:
    """Return the text cells of the sheet at `path`, the rest as for `split`; raise `SheetError` if it is no text."""
    return split(decode(load_bytes(path, findings), findings)[0], known, findings, layout)


def _lines_before_headings(lines: list[str], known: frozenset[str], findings: Findings) -> tuple[list[str], str, int]:
    """Comments at the head of a sheet, the separator that a line ``sep=;`` names, and how many lines these take."""
    comments: list[str] = []
    separator = ""
    for consumed, text in enumerate(lines):
        line = text.strip(" ")
        if line.lower().startswith("sep=") and len(line) == 5 and not separator:
            separator = line[4]
        elif line.startswith("#") and not _numbers_rows(line.split(separator or _separator(line, known)), known):
            comments.append(_comment(line))
        elif line.startswith('"#') and line.count('"') % 2 == 0:
            comments.append(_comment(line.replace('""', "\N{NULL}").replace('"', "").replace("\N{NULL}", '"')))
        elif line.strip(",;\t| "):
            if not _is_title(lines[consumed:], separator, known):
                return comments, separator, consumed
            findings.note(f"What stands above the headings was taken as a comment: {quoted(line)}.")
            comments.append(_comment(line))
    return comments, separator, len(lines)


def _is_title(lines: list[str], separator: str, known: frozenset[str]) -> bool:
    """Tell whether the first line holds no heading and one of the next few holds several."""

    def headings(line: str) -> int:
        cells = line.split(separator or _separator(line, known))
        return sum("_".join(cell.strip(' "').lower().split()) in known for cell in cells)

    return headings(lines[0]) == 0 and any(headings(line) > 1 for line in lines[1:MOST_TITLE_LINES])


def _numbers_rows(cells: list[str] | tuple[str, ...], known: frozenset[str]) -> bool:
    """Tell whether these are headings of which the first, ``#``, stands over the number of each row."""
    return cells[0].strip() == "#" and sum(cell.strip().lower() in known for cell in cells[1:]) > 1


def _comment(line: str) -> str:
    return line.lstrip("# ").rstrip(",;\t ")


def _line_end(text: str, findings: Findings) -> str:
    windows = text.count("\r\n")
    counts = {"\r\n": windows, "\n": text.count("\n") - windows, "\r": text.count("\r") - windows}
    if sum(count > 0 for count in counts.values()) > 1:
        findings.note("The file mixes line ends of several systems; every one was taken as a line end.")
    return max(counts, key=lambda end: counts[end]) if any(counts.values()) else "\n"


def _separator(header_line: str, known: frozenset[str]) -> str:
    def score(separator: str) -> tuple[int, int]:
        cells = [cell.strip().strip('"').lower() for cell in header_line.split(separator)]
        return sum(cell in known for cell in cells), len(cells)

    return max(SEPARATOR_WORDS, key=score)


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
                findings.add(row=row, found=found, expected="one row on one line", advice=advice)
            if any(stripped):
                records.append((row, stripped))
            if len(records) > MOST_ROWS:
                advice = "Split it into several sheets."
                findings.add(row=row, found="more rows", expected=f"at most {MOST_ROWS}", advice=advice)
                return records
    except csv.Error:
        findings.add(
            row=row + 1,
            found="a quotation mark that opens a cell and is not closed, or text after one that is",
            expected="quotation marks in pairs around a whole cell",
            advice="Take the mark out or close it; rows from here on could not be read.",
        )
    return records
