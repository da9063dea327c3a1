"""Blank sheets to print or to fill, made from the data dictionary."""

import os
from pathlib import Path
from typing import Literal

from golfphys.sheets.dictionary import Column, Kind, kind_of
from golfphys.sheets.errors import Findings
from golfphys.sheets.saving import create_file

Units = Literal["metres", "feet"]
PREFERENCE: dict[str, tuple[str | None, ...]] = {
    "metres": ("m", "m_s", "s", "deg", None),
    "feet": ("ft", "ft_s", "in", "s", "deg", None),
}
REFERENCE_LINE = "reference line:"


def template_columns(kind: Kind, units: Units = "metres") -> tuple[Column, ...]:
    """Return the columns of the blank sheet: one for each quantity, in the units asked for."""
    if units not in PREFERENCE:
        raise ValueError(f"units is {units!r}; expected one of: {', '.join(PREFERENCE)}")
    return tuple(
        min(kind.columns_of(quantity), key=lambda column: _rank(column, units))
        for quantity in kind.quantities
        if quantity not in kind.not_in_template
    )


def _rank(column: Column, units: Units) -> int:
    order = PREFERENCE[units]
    return order.index(column.unit) if column.unit in order else len(order)


def template_text(kind: str, units: Units = "metres", *, reference_line: str | None = None) -> str:
    """Return the text of a blank sheet.

    Parameters
    ----------
    kind : str
        ``rollouts``, ``traces``, ``drops``, ``chips`` or ``putts``.
    units : {"metres", "feet"}
        Units of its lengths.
    reference_line : str, optional
        What heading 0 points at; left for filling in when not given.

    Returns
    -------
    str
        Comment lines that say how to fill it in, then the headings.

    Raises
    ------
    ValueError
        If there is no such kind or units.

    Examples
    --------
    >>> template_text("putts", "feet").splitlines()[-1]
    'distance_ft,tries,made,spot,measured_at,note'
    """
    sheet = kind_of(kind)
    columns = template_columns(sheet, units)
    lines = []
    for line in sheet.how_to_fill:
        if line.startswith(REFERENCE_LINE) and reference_line is not None:
            line = f"{REFERENCE_LINE} {' '.join(reference_line.split())}"
        lines.append(f"# {line}")
    lines += [f"# {column.name}: {column.description}{_must(column)}" for column in columns]
    lines.append(f"# A row might read: {','.join(column.example for column in columns)}")
    lines.append(",".join(column.name for column in columns))
    return "\n".join(lines) + "\n"


def _must(column: Column) -> str:
    return " Never blank." if column.required else ""


def new_sheet(
    path: str | os.PathLike[str], kind: str, *, units: Units = "metres", reference_line: str | None = None
) -> Path:
    """Make a blank sheet to fill in; an existing file is never overwritten.

    Parameters
    ----------
    path : path-like
        Where to make it; the folder must exist.
    kind : str
        ``rollouts``, ``traces``, ``drops``, ``chips`` or ``putts``.
    units : {"metres", "feet"}
        Units of its lengths.
    reference_line : str, optional
        What heading 0 points at.

    Returns
    -------
    pathlib.Path
        The new sheet.

    Raises
    ------
    SheetError
        If something of that name exists already, or it cannot be written.
    ValueError
        If there is no such kind or units.

    Examples
    --------
    >>> import tempfile
    >>> new_sheet(Path(tempfile.mkdtemp()) / "drops.csv", "drops").name
    'drops.csv'
    """
    text = template_text(kind, units, reference_line=reference_line)
    create_file(Path(path), text.encode("utf-8"), Findings(str(path)))
    return Path(path)
