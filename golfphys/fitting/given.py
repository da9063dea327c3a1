"""The sheets that a fit is given, by kind: one put together by hand may hold no more than a reader lets in."""

import math
from collections.abc import Iterable
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import require_kind
from golfphys.sheets import Column, Course, Sheet, kind_of
from golfphys.sheets.errors import files_of, placed, rows_of

KINDS = ("films", "rollouts", "drops", "chips", "targets")  # kinds of sheets that can be fitted
# Columns without which a sheet cannot be fitted
NEEDED = {
    "rollouts": ("spot", "heading", "release_speed", "distance"),
    "films": ("roll", "time", "distance"),
    "chips": ("club", "lie"),
    "targets": ("club", "distance", "target_size", "tries", "hits"),
}
MAY_BE_BLANK = ("club", "lie")  # of these in some rows
ROW = Column(name="row", quantity="row", minimum=0)  # in every frame, and in no dictionary
ROUNDING = 1e-6
BEYOND = 2.0  # times the most that a reader lets in: mistaken units of length are off by three and more
SI = {"m": " m", "s": " s", "m_s": " m/s", "deg": " rad"}  # by the unit that the dictionary has first


def by_kind(sheets: Iterable[Any], kinds: tuple[str, ...] = KINDS) -> dict[str, Any]:
    """Return sheets, and those of courses, by their kind; ValueError for what is none of `kinds`, or holds nonsense."""
    found: dict[str, Any] = {}
    for sheet in sheets:
        parts: list[Any] = [getattr(sheet, kind) for kind in kinds] if isinstance(sheet, Course) else [sheet]
        for part in (part for part in parts if part is not None):
            kind = part.kind if isinstance(part, Sheet) else type(part).__name__
            if kind not in kinds:
                how = "" if isinstance(part, Sheet) else "; golfphys.read_sheet(path) or read_course(folder) makes one"
                raise ValueError(f"{kind} is no sheet of {', '.join(kinds)}, nor a course{how}")
            if kind in found:
                raise ValueError(f"there are two sheets of {kind}; expected one, with all rows in it")
            found[kind] = _checked(part)
    return found


def sheet_of(kind: str, sheet: Any) -> Sheet:
    """Return a sheet of one kind, be it in a course; ValueError as `by_kind`, or if there is none."""
    found: Sheet | None = by_kind([sheet], (kind,)).get(kind)
    if found is None:
        raise ValueError(f"there is no sheet of {kind}; expected one")
    return found


def _checked(sheet: Sheet) -> Sheet:
    """Return a sheet with days as such and rows numbered; ValueError for a blank cell, or one outside its limits."""
    kind, frame, changed = sheet.kind, sheet.frame, dict[str, Any]()
    require_kind(f"the frame of the sheet of {kind}", frame, pd.DataFrame, "a table with a line for each row")
    if frame.empty:
        raise ValueError(f"the sheet of {kind} has no rows; expected at least one")
    columns = {"row": ROW, **{one.quantity: one for one in reversed(kind_of(kind).columns)}}
    if lacking := [name for name in NEEDED.get(kind, ()) if name not in frame]:
        raise ValueError(f"the sheet of {kind} has no column {lacking[0]!r}; expected {', '.join(NEEDED[kind])}")
    for name, column in ((name, column) for name, column in columns.items() if name in frame):
        cells, blank = frame[name], frame[name].isna() | (frame[name].astype(str).str.strip() == "")
        needed = name == "row" or (name in NEEDED.get(kind, ()) and name not in MAY_BE_BLANK)
        wrong, expected = blank & needed, "a name"
        try:
            if column.is_number:
                least, most = _limits(column)
                expected = f"a number from {least:.4g} to {most:.4g}{SI.get(column.unit or '', '')}"
                wrong |= ~blank & ~cells.where(~blank).astype(float).between(least - ROUNDING, most + ROUNDING)
            elif column.type.startswith("date") and not pd.api.types.is_datetime64_dtype(cells):
                changed[name] = pd.to_datetime(cells, format="ISO8601").dt.tz_localize(None)
        except (TypeError, ValueError):
            more = ", such as 2030-05-31" if column.type.startswith("date") else ""
            raise ValueError(f"{name} of the sheet of {kind} is no {column.type}{more} in some row") from None
        if wrong.any():
            rows = rows_of(frame.drop(columns="row") if name == "row" else frame)
            where = placed(rows[wrong], files_of(frame)[wrong])
            found = "blank" if blank[wrong].iloc[0] else f"{float(cells[wrong].iloc[0]):g}"
            raise ValueError(f"{name} in {where} of the sheet of {kind} is {found}; expected {expected}")
    if "row" not in frame:
        changed["row"] = np.arange(2, len(frame) + 2)
    return sheet.replaced(frame.assign(**changed)) if changed else sheet


def _limits(column: Column) -> tuple[float, float]:
    """Return the limits of a column's cells in SI units; a computed sheet may go beyond what readers let in."""
    beyond = column.factor * (1.0 if column.unit == "deg" else BEYOND)
    least, most = (-math.inf if column.minimum is None else column.minimum), column.maximum or math.inf
    return least * (beyond if least < 0 else column.factor), most * beyond
