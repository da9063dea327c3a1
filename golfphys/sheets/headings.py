"""Matches the headings of a sheet to the data dictionary; every mismatch becomes a problem or a note."""

import difflib
from collections import Counter
from dataclasses import dataclass

from golfphys.sheets.decoding import RawSheet
from golfphys.sheets.dictionary import Column, Kind
from golfphys.sheets.errors import Findings, quoted


@dataclass(frozen=True, kw_only=True)
class Heading:
    """One heading of a sheet: where it stands, what it says, and the dictionary's column, None for an unknown one."""

    index: int
    text: str
    column: Column | None


def read_headings(raw: RawSheet, kind: Kind, findings: Findings) -> tuple[Heading, ...]:
    """Match the headings of a sheet to the dictionary; every mismatch becomes a problem or a note."""
    _check_unnamed(raw, findings)
    named = [(index, text) for index, text in enumerate(raw.header) if text]
    headings = tuple(Heading(index=i, text=text, column=kind.column(normal_heading(text))) for i, text in named)
    _check_doubles(headings, raw.header_row, findings)
    _check_unknown(headings, kind, raw.header_row, findings)
    _check_missing(headings, kind, raw.header_row, findings)
    return headings


def headings_alone(raw: RawSheet, kind: Kind, findings: Findings) -> tuple[Heading, ...]:
    """Match the headings of a sheet, and raise what is wrong with them; what is wrong with its rows is no hindrance."""
    trial = Findings(findings.file)
    headings = read_headings(raw, kind, trial)
    findings.problems += [problem for problem in trial.problems if problem.row == raw.header_row]
    findings.raise_if_any()
    return headings


def normal_heading(text: str) -> str:
    """Return a heading as the dictionary would write it: small letters, underscores between words."""
    return "_".join(text.strip().strip('"').lower().replace("-", "_").replace("/", "_").split())


def _check_unnamed(raw: RawSheet, findings: Findings) -> None:
    """Columns without a heading may be there, but not be used."""
    for index, text in enumerate(raw.header):
        used = ((row, cells[index]) for row, cells in raw.records if len(cells) > index and cells[index])
        row, cell = (None, "") if text else next(used, (None, ""))
        if row is not None:
            findings.add(
                row=row,
                column=f"number {index + 1} (no heading)",
                found=f"cells under an empty heading: {quoted(cell)}",
                expected="a heading over every column that is used",
                advice="Name the column or clear it.",
            )


def _check_doubles(headings: tuple[Heading, ...], row: int, findings: Findings) -> None:
    for name, count in Counter(normal_heading(heading.text) for heading in headings).items():
        if count > 1:
            found, advice = f"{count} columns with this heading", "Rename or delete all but one."
            findings.add(row=row, column=name, found=found, expected="each heading once", advice=advice)
    by_quantity: dict[str, list[str]] = {}
    for heading in headings:
        if heading.column is not None:
            by_quantity.setdefault(heading.column.quantity, []).append(heading.column.name)
    for quantity, names in by_quantity.items():
        if len(set(names)) > 1:
            findings.add(
                row=row,
                column=" and ".join(names),
                found=f"{len(names)} columns for {quantity.replace('_', ' ')} in different units",
                expected="one",
                advice="Keep the one you measured in and delete the other.",
            )


def _check_unknown(headings: tuple[Heading, ...], kind: Kind, row: int, findings: Findings) -> None:
    present = {heading.column.quantity for heading in headings if heading.column is not None}
    absent = [column for column in kind.columns if column.quantity not in present]
    kept = []
    for heading in (item for item in headings if item.column is None):
        meant = meant_by(normal_heading(heading.text), absent)
        if all(column.type == "string" and not column.required for column in meant):
            kept.append(heading.text)
            continue
        findings.add(
            row=row,
            column=heading.text,
            found=f"the heading {quoted(heading.text)}",
            expected=" or ".join(column.name for column in meant),
            advice=f"Write {meant[0].name} if that is what it is, or give the column quite another name.",
        )
    if kept:
        names = ", ".join(kept)
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


def _check_missing(headings: tuple[Heading, ...], kind: Kind, row: int, findings: Findings) -> None:
    present = {heading.column.quantity for heading in headings if heading.column is not None}
    for group in kind.needs:
        if present.isdisjoint(group):
            names = [column.name for quantity in group for column in kind.columns_of(quantity)]
            findings.add(
                row=row,
                column=names[0],
                found="no such column",
                expected=f"a column {' or '.join(names)}",
                advice=f"The headings are: {', '.join(heading.text for heading in headings)[:200]}.",
            )
