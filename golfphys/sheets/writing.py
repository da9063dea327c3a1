"""Writes sheets: blank ones to print or to fill, made from the data dictionary, and frames as the text of a sheet."""

import csv
import io
import math
from collections.abc import Iterable, Sequence
from datetime import datetime
from pathlib import Path
from typing import Literal

import pandas as pd

from golfphys.sheets.cells import as_plain
from golfphys.sheets.dictionary import Column, Kind, kind_of
from golfphys.sheets.errors import AnyPath
from golfphys.sheets.saving import create_file

Units = Literal["metres", "feet"]
PREFERENCE: dict[str, tuple[str | None, ...]] = {
    "metres": ("m", "m_s", "s", "deg", None),
    "feet": ("ft", "ft_s", "in", "s", "deg", None),
}
REFERENCE_LINE = "reference line:"
DECIMALS = {"m": 2, "cm": 1, "mm": 0, "ft": 2, "in": 1, "yd": 2, "s": 3, "ms": 0, "m_s": 3, "ft_s": 2, "deg": 1}
"""Decimals written for each unit: about what a tape, a watch or a phone shows."""


def template_columns(kind: Kind, units: Units = "metres", also: Iterable[str] = ()) -> tuple[Column, ...]:
    """Return the columns of the blank sheet: one for each quantity, in the units asked for."""
    if units not in PREFERENCE:
        raise ValueError(f"units is {units!r}; expected one of: {', '.join(PREFERENCE)}")
    left_out = set(kind.not_in_template) - set(also)
    rank = {unit: place for place, unit in enumerate(PREFERENCE[units])}
    return tuple(
        min(kind.columns_of(quantity), key=lambda column: rank.get(column.unit, len(rank)))
        for quantity in kind.quantities
        if quantity not in left_out
    )


def template_text(
    kind: str, units: Units = "metres", *, reference_line: str | None = None, also: Iterable[str] = ()
) -> str:
    """Return the text of a blank sheet.

    Examples
    --------
    >>> template_text("putts", "feet").splitlines()[-1]
    'distance_ft,tries,made,spot,measured_at,note'
    """
    sheet = kind_of(kind)
    columns = template_columns(sheet, units, also)
    lines = []
    for line in sheet.how_to_fill:
        if line.startswith(REFERENCE_LINE) and reference_line is not None:
            line = f"{REFERENCE_LINE} {' '.join(reference_line.split())}"
        lines.append(f"# {line}")
    must = {True: " Never blank.", False: ""}
    lines += [f"# {column.name}: {column.description}{must[column.required]}" for column in columns]
    lines.append(f"# A row might read: {','.join(column.example for column in columns)}")
    lines.append(",".join(column.name for column in columns))
    return "\n".join(lines) + "\n"


def new_sheet(path: AnyPath, kind: str, *, units: Units = "metres", reference_line: str | None = None) -> Path:
    """Make a blank sheet to fill in; an existing file is never overwritten.

    Parameters
    ----------
    path : path-like
        Where to make it; the folder must exist.
    kind : str
        ``rollouts``, ``films``, ``drops``, ``chips``, ``putts``, ``targets``, ``survey`` or ``wedges``.
    units : {"metres", "feet"}
        Units of its lengths.
    reference_line : str, optional
        What heading 0 points at.

    Returns
    -------
    pathlib.Path
        The new sheet.

    Examples
    --------
    >>> import tempfile
    >>> new_sheet(Path(tempfile.mkdtemp()) / "drops.csv", "drops").name
    'drops.csv'
    """
    text = template_text(kind, units, reference_line=reference_line)
    create_file(Path(path), text.encode("utf-8"))
    return Path(path)


def sheet_text(frame: pd.DataFrame, kind: str, columns: Sequence[str], comments: Sequence[str] = ()) -> str:
    r"""Return the text of a sheet that reads back as `frame`, to the decimals written.

    Examples
    --------
    >>> frame = pd.DataFrame({"distance": [3.048], "made": [1]})
    >>> sheet_text(frame, "putts", ["distance_ft", "made"])
    'distance_ft,made\n10,1\n'
    """
    sheet = kind_of(kind)
    texts = {}
    for name in columns:
        column = sheet.column(name)
        quantity = name if column is None else column.quantity
        if quantity not in frame:
            raise ValueError(f"the frame has no {quantity!r} for column {name}; it has: {', '.join(frame.columns)}")
        texts[name] = [_cell(value, column) for value in frame[quantity]]
    rows = zip(*texts.values(), strict=True)
    return "".join(f"# {comment}\n" for comment in comments) + csv_text([columns, *rows])


def _cell(value: object, column: Column | None) -> str:
    if value is None or value is pd.NaT or value != value:  # NaN is not equal to itself
        return ""
    if isinstance(value, datetime):
        date_alone = column is not None and column.type == "date"
        return value.date().isoformat() if date_alone else value.isoformat(timespec="seconds")
    if column is None or not column.is_number or not isinstance(value, int | float):
        return str(value)
    number = round(float(value) / column.factor, 0 if column.unit is None else DECIMALS[column.unit])
    return str(int(number)) if math.isfinite(number) and number == int(number) else f"{number:.10g}"


def csv_text(rows: Iterable[Iterable[str]], separator: str = ",", line_end: str = "\n") -> str:
    """Return rows of text cells as CSV in which no spreadsheet finds a formula to run."""
    stream = io.StringIO()
    writer = csv.writer(stream, delimiter=separator, lineterminator=line_end)
    writer.writerows([as_plain(cell) for cell in row] for row in rows)
    return stream.getvalue()


def table_text(table: pd.DataFrame) -> str:
    r"""Return any table of results as CSV, all digits, in which no spreadsheet finds a formula to run.

    Parameters
    ----------
    table : DataFrame
        The table; its index is written unless it only counts rows.

    Returns
    -------
    str
        The text of the file.

    Examples
    --------
    >>> table_text(pd.DataFrame({"spot": ["=1+1"], "run_m": [-0.5]}))
    "spot,run_m\n'=1+1,-0.5\n"
    """
    written = table.to_csv(index=not isinstance(table.index, pd.RangeIndex), lineterminator="\n")
    return csv_text(csv.reader(io.StringIO(written, newline="")))
