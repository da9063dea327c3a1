"""Checks the rows of a sheet before their cells are read: comments among them, too few or too many cells, doubles."""

import itertools
from dataclasses import replace

from golfphys.sheets.cells import NUMBER
from golfphys.sheets.decoding import RawSheet
from golfphys.sheets.errors import Findings, quoted, row_list
from golfphys.sheets.headings import Heading


def rows_only(raw: RawSheet, headings: tuple[Heading, ...], findings: Findings) -> RawSheet:
    """Leave out comment lines among the rows and check that every row has as many cells as there are headings."""
    kept = []
    comments = list(raw.comments)
    comment_rows = []
    for row, record in raw.records:
        if not record[0].startswith("#"):
            kept.append((row, record))
        elif sum(bool(cell) for cell in record) > 1 and any(NUMBER.fullmatch(cell) for cell in record):
            findings.add(
                row=row,
                found=f"a row of cells that begins with #: {quoted(record[0])}",
                expected="a measurement, or a comment",
                advice="Take the # away if it is a measurement; put the comment above the headings if it is one.",
            )
        else:
            comments.append(" ".join(cell for cell in record if cell).lstrip("# "))
            comment_rows.append(row)
    if comment_rows:
        findings.note(f"Comments among the rows were left out: {row_list(comment_rows)}.")
    whole = _check_lengths(kept, raw, headings, findings)
    return replace(raw, comments=tuple(comments), records=tuple(whole))


def _check_lengths(
    records: list[tuple[int, tuple[str, ...]]], raw: RawSheet, headings: tuple[Heading, ...], findings: Findings
) -> list[tuple[int, tuple[str, ...]]]:
    """Rows whose cells stand under their headings; the others become problems."""
    width = len(raw.header)
    lengths = {len(record) for _, record in records}
    short_rows = []
    whole = []
    for row, record in records:
        if len(record) < width:
            missing = [heading for heading in headings if heading.index >= len(record)]
            needed = [heading.text for heading in missing if heading.column is not None and heading.column.required]
            cut_off = row == records[-1][0] and not raw.ends_with_line_end
            if needed or cut_off:
                findings.add(
                    row=row,
                    column=(needed or [missing[0].text])[0] if missing else None,
                    found=f"a row that ends after {len(record)} of {width} cells",
                    expected=f"{width} cells",
                    advice="Was the file cut off? Complete the row.",
                )
                continue
            short_rows.append(row)
        elif any(record[width:]) or (len(record) > width and len(lengths) > 1):
            findings.add(
                row=row,
                found=f"{len(record)} cells under {width} headings",
                expected=f"{width} cells",
                advice=_too_long_advice(record, raw.separator),
            )
            continue
        whole.append((row, record))
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


def add_decimal_commas(raw: RawSheet, headings: tuple[Heading, ...], findings: Findings) -> None:
    """Where numbers of a comma-separated sheet are out of range and none has a point, say what that often means."""
    columns = {heading.text for heading in headings if heading.column is not None and heading.column.is_number}
    out_of_range = [
        problem for problem in findings.problems if problem.column in columns and _is_number(problem.found.strip("'"))
    ]
    if raw.separator != "," or not out_of_range:
        return
    numbers = [cell for _, record in raw.records for cell in record if _is_number(cell)]
    if not any("." in number for number in numbers):
        findings.add(
            found="numbers out of range, and no decimal point in the whole sheet",
            expected="points for the decimals in a sheet whose cells are separated by commas",
            advice="A decimal comma may have split numbers in two: write points, or put semicolons between cells.",
        )


def _is_number(text: str) -> bool:
    return NUMBER.fullmatch(text) is not None


def note_duplicates(raw: RawSheet, findings: Findings) -> None:
    """Note rows that are identical in every cell; they are kept."""
    rows_of: dict[tuple[str, ...], list[int]] = {}
    for row, record in raw.records:
        rows_of.setdefault(record, []).append(row)
    doubled = [rows for rows in rows_of.values() if len(rows) > 1]
    for rows in doubled[:5]:
        findings.note(f"Identical in every cell, and all kept: {row_list(rows)}.")
    if len(doubled) > 5:
        findings.note(f"Identical in every cell, and all kept: {len(doubled) - 5} more sets of rows.")
