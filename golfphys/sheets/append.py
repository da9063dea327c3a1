"""Adds rows to a sheet without ever losing one.

What is in the file stays as it is, byte for byte: comments, order of the columns, columns of the user's own, line
ends, byte-order mark. New rows are checked with everything that the reader checks, and only then written.
"""

import csv
import io
import os
from collections.abc import Mapping, Sequence
from datetime import date, datetime
from pathlib import Path

from golfphys.sheets.by_kind import CHECKS
from golfphys.sheets.cells import COMMA_NUMBER
from golfphys.sheets.decoding import RawSheet, decode, load_bytes, split
from golfphys.sheets.dictionary import Kind, kind_of, kinds
from golfphys.sheets.errors import Findings, SheetError, quoted
from golfphys.sheets.headings import Heading, headings_alone, normal_heading
from golfphys.sheets.saving import locked, remove_leftovers, replace_file
from golfphys.sheets.table import parse_table

TRIES = 5
"""How often a sheet that another program changes meanwhile is read again."""


def append_row(
    path: str | os.PathLike[str],
    row: Mapping[str, object],
    *,
    kind: str | None = None,
    accept_suspects: bool = False,
) -> int:
    """Add one row to a sheet.

    Parameters
    ----------
    path : path-like
        An existing sheet; `new_sheet` makes one.
    row : mapping of str to object
        Cells by heading; a length or time under another unit of the dictionary is converted to the sheet's own
        column. Headings left out, None and NaN become blank cells.
    kind : str, optional
        Kind of sheet; told from the headings when not given.
    accept_suspects : bool
        Write values that can be read but are hard to believe.

    Returns
    -------
    int
        Number of the new row as a spreadsheet counts.

    Raises
    ------
    SheetError
        If the row is not right or cannot be saved; the file is then as it was.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets.templates import new_sheet
    >>> path = new_sheet(Path(tempfile.mkdtemp()) / "drops.csv", "drops")
    >>> append_row(path, {"spot": "home-left", "drop_height_m": 1.5, "rebound_height_m": 0.31}) > 1
    True
    """
    return append_rows(path, [row], kind=kind, accept_suspects=accept_suspects)[0]


def append_rows(
    path: str | os.PathLike[str],
    rows: Sequence[Mapping[str, object]],
    *,
    kind: str | None = None,
    accept_suspects: bool = False,
) -> list[int]:
    """Add several rows to a sheet, all of them or none.

    Parameters
    ----------
    path, kind, accept_suspects
        As for `append_row`.
    rows : sequence of mapping
        As the row of `append_row`.

    Returns
    -------
    list of int
        Numbers of the new rows.

    Raises
    ------
    SheetError
        If a row is not right or cannot be saved; the file is then as it was.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets.templates import new_sheet
    >>> path = new_sheet(Path(tempfile.mkdtemp()) / "putts.csv", "putts")
    >>> len(append_rows(path, [{"distance_m": 2, "tries": 10, "made": 6}, {"distance_m": 4, "tries": 10, "made": 2}]))
    2
    """
    findings = Findings(str(path), accept_suspects)
    load_bytes(path, findings)  # says what is wrong with the path before a lock is made beside it
    target = Path(path).resolve()  # a link keeps pointing at the sheet that it names
    with locked(target, findings):
        remove_leftovers(target)
        for _ in range(TRIES):
            before = _stamp(target)
            old = load_bytes(target, findings)
            new, numbers = extended(old, rows, kind, Findings(str(path), accept_suspects))
            if _stamp(target) == before:
                _replace(target, new, rows, findings)
                return numbers
    findings.add(
        found="a file that another program keeps changing",
        expected="a sheet that stays still",
        advice="Close it in the other program and add the row again.",
    )
    raise SheetError(findings.file, findings.problems)


def _stamp(path: Path) -> tuple[int, int, int] | None:
    try:
        status = os.stat(path)
    except OSError:
        return None
    return status.st_mtime_ns, status.st_size, status.st_ino


def _replace(target: Path, new: bytes, rows: Sequence[Mapping[str, object]], findings: Findings) -> None:
    try:
        if not os.access(target, os.W_OK):
            raise PermissionError(None, "the file is read-only")
        replace_file(target, new)
    except OSError as error:
        reason = error.strerror or str(error)
        findings.add(
            found=f"no way to save: {reason}",
            expected="a file and a folder that can be written",
            advice=f"The sheet is as it was. Mend the cause and add again: {[dict(row) for row in rows]}",
        )
        raise SheetError(findings.file, findings.problems) from error


def extended(
    old: bytes, rows: Sequence[Mapping[str, object]], kind: str | None, findings: Findings
) -> tuple[bytes, list[int]]:
    """Return the bytes of a sheet with `rows` added, and the new rows' numbers.

    Parameters
    ----------
    old : bytes
        The sheet as it is.
    rows : sequence of mapping
        Cells by heading.
    kind : str or None
        Kind of sheet, told from the headings when None.
    findings : Findings
        Names the file in messages.

    Returns
    -------
    bytes, list of int
        `old` unchanged with the new rows after it, and their numbers.

    Raises
    ------
    SheetError
        If the headings or one of the new rows is not right. What is wrong with older rows is no hindrance.
    """
    text, encoding = decode(old, findings)
    names = _all_names(kind)
    raw = split(text, names, Findings(findings.file))
    sheet = kind_of(kind) if kind is not None else _told_kind(raw, findings)
    headings = headings_alone(raw, sheet, findings)
    records = [_styled(_cells(row, raw, headings, sheet, number, findings), raw) for number, row in enumerate(rows, 1)]
    findings.raise_if_any()
    end = raw.line_end
    added = ("" if not text or raw.ends_with_line_end else end) + "".join(_line(cells, raw) + end for cells in records)
    try:
        new = old + added.encode(encoding)
    except UnicodeEncodeError:
        findings.add(
            found=f"a letter that this sheet's alphabet ({encoding}) lacks: {quoted(added.strip())}",
            expected="letters that can be stored in it",
            advice="Save the sheet anew as CSV, UTF-8, or write the text otherwise.",
        )
        findings.raise_if_any()
    numbers = _numbers_of_new(raw, split(text + added, names, Findings("")), records, findings)
    _check_new(new, numbers, sheet, findings)
    return new, numbers


def _all_names(kind: str | None) -> frozenset[str]:
    chosen = kinds().values() if kind is None else [kind_of(kind)]
    return frozenset[str]().union(*(sheet.names for sheet in chosen))


def _told_kind(raw: RawSheet, findings: Findings) -> Kind:
    """Tell from its headings which kind of sheet it is."""
    names = {normal_heading(text) for text in raw.header}

    def score(sheet: Kind) -> tuple[int, int]:
        known = {column.name: column.quantity for column in sheet.columns if column.name in names}
        met = sum(not set(known.values()).isdisjoint(group) for group in sheet.needs)
        return met - len(sheet.needs), len(known)

    best = max(kinds().values(), key=score)
    if not raw.header or score(best)[0] < 0:
        findings.add(
            row=raw.header_row or None,
            found=f"headings {', '.join(raw.header)[:200] or '(none)'}",
            expected=f"the headings of one of: {', '.join(kinds())}",
            advice="Start from a blank template (golfphys.new_sheet makes one).",
        )
        findings.raise_if_any()
    return best


# one row


def _cells(
    row: Mapping[str, object],
    raw: RawSheet,
    headings: tuple[Heading, ...],
    sheet: Kind,
    number: int,
    findings: Findings,
) -> list[str]:
    """Cells of a new row in the order of the sheet; a value with no place to go is a problem."""
    texts = [""] * len(raw.header)
    places = {heading.text: heading for heading in headings}
    places |= {heading.column.name: heading for heading in headings if heading.column is not None}
    by_quantity = {heading.column.quantity: heading for heading in headings if heading.column is not None}
    for name, value in row.items():
        text = _text(value)
        column = sheet.column(name)
        heading = places.get(name) or (by_quantity.get(column.quantity) if column is not None else None)
        if heading is None:
            if text:
                _add_placeless(name, text, number, raw, findings)
            continue
        if column is not None and heading.column is not None and column.unit != heading.column.unit and text:
            text = _converted(text, column.factor / heading.column.factor)
        if text and texts[heading.index]:
            findings.add(
                column=heading.text,
                found=f"two values in new row {number}: {quoted(texts[heading.index])} and {quoted(text)}",
                expected="one",
                advice="Give it once.",
            )
        texts[heading.index] = text or texts[heading.index]
    if texts[0].startswith("#"):
        findings.add(
            column=raw.header[0],
            found=f"{quoted(texts[0])} in new row {number}",
            expected="a first cell that does not begin with #",
            advice="A row that begins with # is a comment; write the name without it.",
        )
    return texts


def _add_placeless(name: str, text: str, number: int, raw: RawSheet, findings: Findings) -> None:
    findings.add(
        column=str(name),
        found=f"{quoted(text)} in new row {number} for a column that the sheet does not have",
        expected=f"one of: {', '.join(text for text in raw.header if text)}",
        advice="Add the column to the sheet first, or leave the value out.",
    )


def _text(value: object) -> str:
    if hasattr(value, "item") and not isinstance(value, str):
        value = value.item()
    if value is None or value != value:  # NaN and NaT are not equal to themselves
        return ""
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, float):
        return repr(value).removesuffix(".0")
    return " ".join(str(value).split())


def _converted(text: str, factor: float) -> str:
    try:
        return f"{float(text) * factor:.10g}"
    except ValueError:
        return text  # the check of the row says what is wrong with it


def _styled(texts: list[str], raw: RawSheet) -> list[str]:
    """Cells with the decimal sign that the sheet uses."""
    if raw.separator == "," or not _uses_decimal_commas(raw):
        return texts
    return [text.replace(".", ",") if _is_plain_number(text) else text for text in texts]


def _line(texts: list[str], raw: RawSheet) -> str:
    stream = io.StringIO()
    csv.writer(stream, delimiter=raw.separator, lineterminator="").writerow(texts)
    return stream.getvalue()


def _is_plain_number(text: str) -> bool:
    return text.lstrip("+-").replace(".", "", 1).isdigit()


def _uses_decimal_commas(raw: RawSheet) -> bool:
    return any(COMMA_NUMBER.fullmatch(cell) for _, record in raw.records for cell in record)


def _numbers_of_new(old: RawSheet, new: RawSheet, records: list[list[str]], findings: Findings) -> list[int]:
    """Row numbers of the new rows, once it is certain that the old rows read as before and the new as meant."""
    expected = [record for _, record in old.records] + [tuple(cells) for cells in records]
    if [record for _, record in new.records] != expected:
        findings.add(
            found="a sheet in which a new row would not stand as a row of its own",
            expected="quotation marks in pairs in the rows above, and at least one filled cell in the new one",
            advice="Read the sheet to see what is wrong with it, mend it, and add the row again.",
        )
        findings.raise_if_any()
    return [row for row, _ in new.records[len(old.records) :]]


def _check_new(new: bytes, numbers: list[int], sheet: Kind, findings: Findings) -> None:
    """Read the sheet as it would be, and raise what is wrong with the new rows."""
    trial = Findings(findings.file, findings.accept_suspects)
    CHECKS[sheet.name](parse_table(new, sheet, trial))
    findings.problems += [
        problem for problem in trial.problems if problem.row in numbers or (problem.row is None and problem.suspect)
    ]
    findings.raise_if_any()
