"""Adds rows to a sheet, mends one, deletes one, takes a change back, without ever losing a row.

What is in the file stays as it is, byte for byte: comments, order of the columns, columns of the user's own, line
ends, byte-order mark; a column of the dictionary that it does not have yet is headed at its right once a new row fills
it. New rows are checked with everything that the reader checks, and only then written. Rows may come from a file that
somebody else laid out: its columns are matched, its numbers get decimal points.
"""

# ruff: noqa: I001  # several lines for a module with many names
import difflib
import os
import re
from collections.abc import Callable, Collection, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import chain
from pathlib import Path

from golfphys.sheets.checks import check
from golfphys.sheets.decoding import INFERRED, NO_COLUMN, Cut, Heading, RawSheet, decode, kind_told_by, load_bytes
from golfphys.sheets.decoding import normal_heading, read_headings, read_raw, split
from golfphys.sheets.dictionary import COMMA_NUMBER, DIMENSIONS, NUMBER, Column, Kind, as_plain, kind_of, kinds
from golfphys.sheets.dictionary import plain_cells, quoted, with_point
from golfphys.sheets.errors import AnyPath, Findings, Problem, SheetError
from golfphys.sheets.table import parse_table, table_of
from golfphys.sheets.writing import cell_text, csv_text, locked, refuse_unsaved, replace_file

CHANGED = "The sheet was changed meanwhile; look at it again."
TRIES = 25  # how often a sheet that another program changes meanwhile is read again


def append_row(
    path: AnyPath, row: Mapping[str, object], *, kind: str | None = None, accept_suspects: bool = False
) -> int:
    """Add one row to a sheet, and return its number as a spreadsheet counts.

    Parameters
    ----------
    path, row : path-like, mapping of str to object
        An existing sheet (`new_sheet` makes one), and cells by heading: a length or time under another unit of the
        dictionary is converted to the sheet's own column, a date stands under ``measured_at`` where the sheet has no
        ``date``, and what it has no column for gets one; headings left out, None and NaN become blank cells.
    kind : str, optional
        Kind of sheet; inferred from the headings when not given.
    accept_suspects : bool
        Write values that can be read but are hard to believe.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets import new_sheet
    >>> path = new_sheet(Path(tempfile.mkdtemp()) / "drops.csv", "drops")
    >>> append_row(path, {"spot": "home-left", "drop_height_m": 1.5, "rebound_height_m": 0.31}) > 1
    True
    """
    return append_rows(path, [row], kind=kind, accept_suspects=accept_suspects)[0]


def append_rows(
    path: AnyPath, rows: Sequence[Mapping[str, object]], *, kind: str | None = None, accept_suspects: bool = False
) -> list[int]:
    """Add several rows to a sheet, all of them or none, and return their numbers; as `append_row`.

    Parameters
    ----------
    path, rows, kind, accept_suspects
        As for `append_row`, and a sequence of rows.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets import new_sheet
    >>> path = new_sheet(Path(tempfile.mkdtemp()) / "putts.csv", "putts")
    >>> len(append_rows(path, [{"distance_m": 2, "tries": 10, "made": 6}, {"distance_m": 4, "tries": 10, "made": 2}]))
    2
    """
    return list(add_rows(path, rows, kind=kind, accept_suspects=accept_suspects).added)


@dataclass(frozen=True, kw_only=True)
class Edit:
    """What was done to a sheet, so that it can be taken back, and the numbers of the rows that were added."""

    path: Path
    before: bytes
    after: bytes
    added: tuple[int, ...] = ()


def add_rows(
    path: AnyPath, rows: Sequence[Mapping[str, object]], *, kind: str | None = None, accept_suspects: bool = False
) -> Edit:
    """Add rows to a sheet, as `append_rows`, and return what was done."""
    findings, numbers = Findings(str(path), accept_suspects), list[int]()

    def longer(old: bytes) -> bytes:
        new, numbers[:] = extended(old, rows, kind, Findings(str(path), accept_suspects))
        return new

    advice = f" Mend the cause and add again: {'; '.join(', '.join(map(cell_text, row.values())) for row in rows)}."
    return replace(_rewrite(path, longer, findings, tries=TRIES, advice=advice), added=tuple(numbers))


def _rewrite(
    path: AnyPath, edit: Callable[[bytes], bytes], findings: Findings, *, tries: int = 1, advice: str = ""
) -> Edit:
    """Put what `edit` makes of a sheet in its place, whole or not at all, and return what was done.

    A sheet that another program saves meanwhile is read again, `tries` times in all.
    """
    load_bytes(path, findings)  # says what is wrong with the path before a lock is made beside it
    target = Path(path).resolve()  # a link keeps pointing at the sheet that it names
    with locked(target, findings):
        for _ in range(tries):
            old = load_bytes(target, findings)
            try:
                new = edit(old)
            except SheetError:
                if load_bytes(target, findings) == old:
                    raise
                continue  # it was read while another program was writing it
            try:
                if not os.access(target, os.W_OK):
                    raise PermissionError(None, "the file is read-only")
                if replace_file(target, new, old):
                    return Edit(path=Path(path), before=old, after=new)
            except OSError as error:
                refuse_unsaved(findings, error, f"The sheet is as it was.{advice}")
    said = "Nothing was changed; close it in the other program and try again."
    findings.refuse("a file that another program keeps changing", "a sheet that stays still", said)


def extended(
    old: bytes, rows: Sequence[Mapping[str, object]], kind: str | None, findings: Findings
) -> tuple[bytes, list[int]]:
    """Return the bytes of a sheet with `rows` added, and the new rows' numbers."""
    text, encoding = decode(old, findings)
    names = {name for item in kinds().values() if kind in (None, item.name) for name in item.by_name}
    raw = split(text, names, Findings(findings.file))
    sheet = kind_of(kind) if kind is not None else kind_told_by(raw.header)
    if sheet is None:
        found = f"headings {', '.join(raw.header)[:200] or '(none)'}"
        advice = "Start from a blank template (golfphys.new_sheet makes one)."
        findings.refuse(found, f"the headings of one of: {', '.join(kinds())}", advice, row=raw.header_row or None)
    header, records = _records_of(rows, raw, sheet, findings)
    added = "" if not text or raw.ends_with_line_end else raw.line_end
    added += csv_text(records, raw.separator, raw.line_end)
    mark, width, there = old[: len(old) - len(text.encode(encoding))], len(raw.header), len(raw.records)
    text = _headed(text, raw, header[width:])
    try:
        new = mark + (text + added).encode(encoding)
    except UnicodeEncodeError:
        found = f"a letter that this sheet's alphabet ({encoding}) lacks: {quoted(added.strip())}"
        advice = "Save the sheet anew as CSV, UTF-8, or write the text otherwise."
        findings.refuse(found, "letters that can be stored in it", advice)
    whole = split(text + added, names, Findings(""))
    before, after = ([cells[:width] for _, cells in item.records[:there]] for item in (raw, whole))
    new_rows = dict(whole.records[there:])
    if whole.header != tuple(header) or before != after or [*new_rows.values()] != list(map(tuple, records)):
        found = "a sheet in which a new row would not stand as a row of its own"
        expected = "quotation marks in pairs in the rows above, and at least one filled cell in the new one"
        findings.refuse(found, expected, "Read the sheet to see what is wrong with it, mend it, and add the row again.")
    one = len(rows) == 1 or (sheet.name == "films" and len({row.get("roll") for row in rows}) == 1)
    trial = Findings(findings.file, findings.accept_suspects, entering=one)
    check(parse_table(new, sheet, trial))
    wrong = [item for item in trial.problems if item.row in new_rows or (item.row is None and item.suspect)]
    findings.problems += wrong
    findings.raise_if_any()
    return new, list(new_rows)


def _records_of(
    rows: Sequence[Mapping[str, object]], raw: RawSheet, sheet: Kind, findings: Findings
) -> tuple[list[str], list[list[str]]]:
    """Headings of a sheet, with those that new rows need, and their cells in its units and with its decimal sign.

    Raise what has no place.
    """
    headings = read_headings(raw, sheet, findings)
    findings.raise_if_any()
    by_quantity = {heading.column.quantity: heading for heading in headings if heading.column is not None}
    if "measured_at" in by_quantity:  # a day alone may stand there
        by_quantity.setdefault("date", by_quantity["measured_at"])
    places = {item.name: by_quantity[item.quantity] for item in sheet.columns if item.quantity in by_quantity}
    places |= {heading.text: heading for heading in headings}
    written = (cell for _, record in raw.records for cell in record)
    commas = raw.separator != "," and any(COMMA_NUMBER.fullmatch(cell) for cell in written)
    header, records, lacking = list(raw.header), [], set[str]()
    for number, row in enumerate(rows, 1):
        if not isinstance(row, Mapping):
            raise ValueError(f"new row {number} is {row!r}; expected cells by heading, as a dict has them")
        texts = [""] * len(header)
        for name, value in row.items():
            text, column = cell_text(value), sheet.by_name.get(name)
            if text and column is not None and name not in places:
                new = Heading(index=len(header), text=name, column=column)
                places |= {item.name: new for item in sheet.columns_of(column.quantity)}
                header.append(name)
                texts.append("")
            heading = places.get(name)
            if heading is None and text and name not in lacking:
                lacking.add(name)
                found = f"{quoted(text)} in new row {number} for a column that the sheet does not have"
                expected = f"one of: {', '.join(heading for heading in raw.header if heading)}"
                advice = "Add the column to the sheet first, or leave the value out."
                findings.add(found, expected, advice, column=str(name))
            if heading is None or not text:
                continue
            text = _as_in(heading.column, text, column, commas)
            if texts[heading.index]:
                found = f"two values in new row {number}: {quoted(texts[heading.index])} and {quoted(text)}"
                findings.add(found, "one", "Give it once.", column=heading.text)
            texts[heading.index] = text
        if texts[0].startswith("#"):
            found, expected = f"{quoted(texts[0])} in new row {number}", "a first cell that does not begin with #"
            advice = "A row that begins with # is a comment; write the name without it."
            findings.add(found, expected, advice, column=raw.header[0])
        records.append([as_plain(text) for text in texts])
    findings.raise_if_any()
    return header, [record + [""] * (len(header) - len(record)) for record in records]


def _headed(text: str, raw: RawSheet, more: Sequence[str]) -> str:
    """Return the text of a sheet with more headings at its right and blank cells under them."""
    lines = _lines(text)
    whole = [row for row, record in raw.records if len(record) == len(raw.header)]
    for row, cells in ((raw.header_row, more), *((row, [""] * len(more)) for row in whole)):
        line = lines[row - 1].rstrip("\r\n")
        lines[row - 1] = raw.separator.join([line, *cells]) + lines[row - 1][len(line) :]
    return "".join(lines)


def _as_in(target: Column | None, text: str, column: Column | None, commas: bool) -> str:
    """Return a cell given under one column as the sheet's own has it, in its unit and with its decimal sign."""
    if target is None:
        return text
    plain = with_point(text).replace("\N{MINUS SIGN}", "-")
    if column is not None and column.unit != target.unit and NUMBER.fullmatch(plain):
        text = f"{float(plain) * (column.factor / target.factor):.10g}"  # of any other the check says what is wrong
    return text.replace(".", ",") if target.is_number and commas and NUMBER.fullmatch(text) else text


# changes


def take_back(edit: Edit) -> None:
    """Put a sheet back to what it was before an edit."""
    findings = Findings(str(edit.path))

    def undone(now: bytes) -> bytes:
        if now != edit.after:
            advice = "Nothing was taken back; mend the row instead."
            findings.refuse("a sheet that was changed again since", "the sheet as that change left it", advice)
        return edit.before

    _rewrite(edit.path, undone, findings)


def delete_row(path: AnyPath, row: int, *, kind: str, there: Mapping[str, str] | None = None) -> Edit:
    """Take one row out of a sheet; `there` as for `mend_row`."""
    return mend_row(path, row, None, kind=kind, there=there)


def mend_row(
    path: AnyPath,
    row: int,
    cells: Mapping[str, object] | None,
    *,
    kind: str,
    accept_suspects: bool = False,
    there: Mapping[str, str] | None = None,
) -> Edit:
    """Put other cells into one row of a sheet, blank ones too, or take it out; what is not named stays.

    `there` is what whoever changes it has seen of the row, by heading as written: another row is not touched.
    """
    findings, sheet = Findings(str(path), accept_suspects), kind_of(kind)

    def mended(old: bytes) -> bytes:
        text, encoding = decode(old, findings)
        mark, lines = old[: len(old) - len(text.encode(encoding))], _lines(text)
        raw = split(text, sheet.by_name, Findings(str(path)))
        numbers = [number for number, _ in raw.records]
        if row not in numbers:
            expected = f"a row from {numbers[0]} to {numbers[-1]}" if numbers else "a sheet with rows"
            findings.refuse("no such row", expected, CHANGED, row=row)
        if there is not None and raw.rows.get(row) != dict(there):
            found = f"another row: {', '.join(filter(None, raw.records[numbers.index(row)][1]))}"
            findings.refuse(found, ", ".join(filter(None, there.values())), CHANGED, row=row)
        if any("\n" in cell for cell in chain(raw.header, *(record for _, record in raw.records))) or len(lines) < row:
            advice = "Change the row in the program that made the sheet."
            findings.refuse("a sheet in which a cell runs over several lines", "one row on one line", advice, row=row)
        new = "".join(lines[: row - 1] + lines[row:])
        if cells is not None:
            stays = _not_named(raw, row, cells, sheet)
            longer, _ = extended(mark + new.encode(encoding), [{**stays, **cells}], kind, findings)
            *kept, line = _lines(decode(longer, Findings(str(path)))[0])
            new = "".join([*kept[: row - 1], line, *kept[row - 1 :]])
            new = new if raw.ends_with_line_end else new.rstrip("\r\n")
        return mark + new.encode(encoding)

    return _rewrite(path, mended, findings)


def _not_named(raw: RawSheet, row: int, cells: Mapping[str, object], sheet: Kind) -> dict[str, str]:
    """Return the cells of a row, by heading as written, that `cells` say nothing of, in whatever unit."""
    named = {column.quantity for name in cells if (column := sheet.by_name.get(normal_heading(name)))}
    found = {}
    for text, cell in raw.rows.get(row, {}).items():
        column = sheet.by_name.get(normal_heading(text))
        if text and text not in cells and (column is None or column.quantity not in named):
            found[text] = cell
    return found


def _lines(text: str) -> list[str]:
    """Return the lines with their ends; only line ends of a system count, no rarer signs."""
    return re.findall(r"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+", text)


# files that somebody else laid out

# Words that people head these columns with, for the guess.
OTHER_WORDS = {
    "spot": ("place", "location", "where", "green", "station"),
    "heading": ("direction", "bearing", "compass", "line"),
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
    "target_carry": ("target", "aim", "aimed"),
    "carry": ("landed",),
    "side": ("drift",),
}


def read_source(path: AnyPath, cut: Cut = INFERRED) -> RawSheet:
    """Read a CSV file cut in any way; headings that are blank or doubled are told apart by their column's number."""
    findings, headings = Findings(str(path)), list[str]()
    raw = read_raw(path, None, findings, cut)
    raw = replace(raw, records=tuple(item for item in raw.records if not item[1][0].startswith("#")))  # comments
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
    for number, text in enumerate(raw.header, start=1):
        name = text or f"column {number}"
        headings.append(f"{name} (column {number})" if name in headings else name)
    return replace(raw, header=tuple(headings))


def likely_matches(source: RawSheet, kind: Kind, usual: Collection[str] = ()) -> dict[str, str]:
    """Guess which heading of a file stands for which column of the dictionary, in a `usual` unit if it names none."""
    found, names = dict[str, str](), {heading: normal_heading(heading) for heading in source.header}
    for heading, name in sorted(names.items(), key=lambda item: item[1] not in kind.by_name):  # what is certain first
        taken = {kind.by_name[column].quantity for column in found.values()}
        free = [column for column in kind.columns if column.quantity not in taken]
        words = ((column, word) for column in free for word in (column.quantity, *OTHER_WORDS.get(column.quantity, ())))
        alike = [column for column, word in words if name == word or name.startswith(f"{word}_")]
        if units := [unit for unit in DIMENSIONS if name.endswith(f"_{unit}")]:  # a number is in no other
            free, alike = ([item for item in group if item.unit == units[-1]] for group in (free, alike))
        alike.sort(key=lambda column: column.unit not in usual)
        close = difflib.get_close_matches(name, [column.name for column in free], n=1, cutoff=0.8)
        likely = close if name in close else [*(column.name for column in alike), *close]
        if likely:
            found[heading] = likely[0]
    return {heading: found[heading] for heading in source.header if heading in found}


def matched_rows(source: RawSheet, matches: Mapping[str, str], kind: Kind) -> list[dict[str, str]]:
    """Return the rows of a file by column of the dictionary, as `plain_cells`; `matches` is by heading."""
    commas, found = source.separator != ",", [dict[str, str]() for _ in source.records]
    for index, name in ((index, matches[text]) for index, text in enumerate(source.header) if text in matches):
        cells = [record[index] if index < len(record) else "" for _, record in source.records]
        for row, cell in zip(found, plain_cells(cells, kind.by_name.get(name), commas), strict=True):
            row[name] = cell
    return found


def problems_of(source: RawSheet, matches: Mapping[str, str], kind: Kind) -> list[Problem]:
    """Return what would be wrong with the rows of a file as rows of a sheet."""
    findings, rows = Findings(source.file), matched_rows(source, matches, kind)
    numbered = zip(source.records, rows, strict=True)
    records = tuple((number, tuple(cells[name] for name in matches.values())) for (number, _), cells in numbered)
    check(table_of(replace(source, header=tuple(matches.values()), records=records), kind, findings))
    advice = "Match a column of the file to it."
    return [replace(item, advice=advice) if item.found == NO_COLUMN else item for item in findings.problems]
