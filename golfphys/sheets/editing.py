"""Changes to rows that are in a sheet already: mend one, delete one, take the last change back.

Only the line of that row changes; everything else in the file stays as it is, byte for byte.
"""

import os
import re
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from golfphys.sheets.append import extended
from golfphys.sheets.decoding import RawSheet, decode, load_bytes, split
from golfphys.sheets.dictionary import kind_of
from golfphys.sheets.errors import Findings, SheetError
from golfphys.sheets.saving import add_unsaved, locked, replace_file


@dataclass(frozen=True, kw_only=True)
class Change:
    """What a change did to a sheet, so that it can be taken back."""

    path: Path
    before: bytes
    after: bytes


def mend_row(
    path: str | os.PathLike[str], row: int, cells: Mapping[str, object], *, kind: str, accept_suspects: bool = False
) -> Change:
    """Put other cells in the place of one row of a sheet.

    Examples
    --------
    >>> import tempfile
    >>> from golfphys.sheets import append_row, new_sheet, read_putts
    >>> path = new_sheet(Path(tempfile.mkdtemp()) / "putts.csv", "putts")
    >>> row = append_row(path, {"distance_m": 2, "tries": 10, "made": 6})
    >>> change = mend_row(path, row, {"distance_m": 2, "tries": 10, "made": 7}, kind="putts")
    >>> read_putts(path).putts["made"].tolist()
    [7]
    """
    return _changed(Path(path), row, kind, cells, accept_suspects)


def delete_row(path: str | os.PathLike[str], row: int, *, kind: str) -> Change:
    """Take one row out of a sheet; parameters, result and errors as for `mend_row`."""
    return _changed(Path(path), row, kind, None, True)


def take_back(change: Change) -> None:
    """Put a sheet back to what it was before a change."""
    findings = Findings(str(change.path))
    with locked(change.path.resolve(), findings):
        if load_bytes(change.path, findings) != change.after:
            findings.add(
                found="a sheet that was changed again since",
                expected="the sheet as that change left it",
                advice="Nothing was taken back; mend the row instead.",
            )
            findings.raise_if_any()
        _put(change.path, change.before, change.after, findings)


def _changed(path: Path, row: int, kind: str, cells: Mapping[str, object] | None, accept_suspects: bool) -> Change:
    findings = Findings(str(path), accept_suspects)
    with locked(path.resolve(), findings):
        before = load_bytes(path, findings)
        text, encoding = decode(before, findings)
        mark = before[: len(before) - len(text.encode(encoding))]
        raw = split(text, kind_of(kind).names, Findings(str(path)))
        lines = _lines(text)
        _check_place(raw, row, lines, findings)
        others = mark + "".join(lines[: row - 1] + lines[row:]).encode(encoding)
        after = others
        if cells is not None:
            longer, _ = extended(others, [cells], kind, findings)
            line = _lines(decode(longer, Findings(str(path)))[0])[-1]
            after = mark + "".join([*lines[: row - 1], line, *lines[row:]]).encode(encoding)
        _put(path, after, before, findings)
    return Change(path=path, before=before, after=after)


def _lines(text: str) -> list[str]:
    """Return the lines with their ends; only line ends of a system count, no rarer signs."""
    return re.findall(r"[^\r\n]*(?:\r\n|\n|\r)|[^\r\n]+", text)


def _check_place(raw: RawSheet, row: int, lines: list[str], findings: Findings) -> None:
    numbers = [number for number, _ in raw.records]
    if row not in numbers:
        findings.add(
            found=f"no row {row}",
            expected=f"a row from {numbers[0]} to {numbers[-1]}" if numbers else "a sheet with rows",
            advice="The sheet was changed meanwhile; look at it again.",
        )
    elif any("\n" in cell for _, record in raw.records for cell in record) or len(lines) < row:
        findings.add(
            row=row,
            found="a sheet in which a cell runs over several lines",
            expected="one row on one line",
            advice="Change the row in the program that made the sheet.",
        )
    findings.raise_if_any()


def _put(path: Path, content: bytes, before: bytes, findings: Findings) -> None:
    """Save the new content unless another program has saved the sheet since it was read."""
    try:
        saved = replace_file(path.resolve(), content, lambda: path.read_bytes() == before)
    except OSError as error:
        add_unsaved(findings, error, "The sheet is as it was.")
        raise SheetError(findings.file, findings.problems) from error
    if not saved:
        advice = "Nothing was changed; close it in the other program and try again."
        findings.add(found="a sheet that another program has just saved", expected="one writer", advice=advice)
        findings.raise_if_any()
