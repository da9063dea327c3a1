"""Writes a frame in SI units and radians as the text of a sheet, the inverse of reading it."""

import csv
import io
import math
from collections.abc import Sequence
from datetime import datetime

import pandas as pd

from golfphys.sheets.dictionary import Column, kind_of

DECIMALS = {"m": 2, "cm": 1, "mm": 0, "ft": 2, "in": 1, "yd": 2, "s": 3, "ms": 0, "m_s": 3, "ft_s": 2, "deg": 1}
"""Decimals written for each unit: about what a tape, a watch or a phone shows."""


def sheet_text(frame: pd.DataFrame, kind: str, columns: Sequence[str], comments: Sequence[str] = ()) -> str:
    r"""Return the text of a sheet that reads back as `frame`, to the decimals written.

    Parameters
    ----------
    frame : DataFrame
        Quantities in SI units and radians, as a reader returns them; quantities that no column asks for are left out.
    kind : str
        Kind of sheet, a name of the dictionary.
    columns : sequence of str
        Headings to write, for instance ``"distance_ft"``. One that the dictionary does not know is written as it
        stands in the frame.
    comments : sequence of str
        Lines for the head of the sheet, without ``#``.

    Returns
    -------
    str
        CSV with commas and decimal points.

    Raises
    ------
    ValueError
        If the frame lacks a quantity that a column asks for.

    Examples
    --------
    >>> frame = pd.DataFrame({"distance": [3.048], "made": [1]})
    >>> sheet_text(frame, "putts", ["distance_ft", "made"])
    'distance_ft,made\n10,1\n'
    """
    sheet = kind_of(kind)
    known = {name: sheet.column(name) for name in columns}
    texts = {}
    for name, column in known.items():
        quantity = name if column is None else column.quantity
        if quantity not in frame:
            raise ValueError(f"the frame has no {quantity!r} for column {name}; it has: {', '.join(frame.columns)}")
        texts[name] = [_cell(value, column) for value in frame[quantity]]
    stream = io.StringIO()
    stream.writelines(f"# {comment}\n" for comment in comments)
    writer = csv.writer(stream, lineterminator="\n")
    writer.writerow(columns)
    writer.writerows(zip(*texts.values(), strict=True))
    return stream.getvalue()


def _cell(value: object, column: Column | None) -> str:
    if value is None or value is pd.NaT or value != value:  # NaN is not equal to itself
        return ""
    if isinstance(value, datetime):
        return value.isoformat(timespec="seconds")
    if column is None or not column.is_number or not isinstance(value, int | float):
        return str(value)
    number = round(float(value) / column.factor, 0 if column.unit is None else DECIMALS[column.unit])
    if math.isfinite(number) and number == int(number):
        return str(int(number))
    return f"{number:.10g}"
