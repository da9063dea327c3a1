"""Reads a sheet of putts: how many were holed from each distance."""

import os
from dataclasses import dataclass

import numpy as np
import pandas as pd

from golfphys.sheets.sheet import Sheet, kept, ordered
from golfphys.sheets.table import Table, read_table


@dataclass(frozen=True, kw_only=True)
class PuttSheet(Sheet):
    """Putts in SI units.

    Parameters
    ----------
    putts : DataFrame
        One line for each row: ``row``, ``distance`` (m), ``tries``, ``made`` (whole numbers), ``spot``,
        ``measured_at``, ``note``; then columns that only this sheet has, as text.
    notes, path, comments
        As for `Sheet`.
    """

    putts: pd.DataFrame


def read_putts(path: str | os.PathLike[str], *, accept_suspects: bool = False) -> PuttSheet:
    r"""Read a sheet of putts.

    Parameters
    ----------
    path : path-like
        A CSV file with the columns of the data dictionary: distance_m (or _ft, _in), made, and where each row stands
        for more than one putt, tries.
    accept_suspects : bool
        As for the other readers; nothing in a sheet of putts is merely suspected.

    Returns
    -------
    PuttSheet
        The putts in SI units.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "putts.csv"
    >>> _ = path.write_text("distance_ft,tries,made\n10,20,9\n")
    >>> read_putts(path).putts[["tries", "made"]].values.tolist()
    [[20, 9]]
    """
    table = read_table(path, "putts", check_putts, accept_suspects=accept_suspects)
    for name in ("tries", "made"):
        table.frame[name] = table.frame[name].astype(np.int64)
    return PuttSheet(putts=ordered(table), **kept(table))


def check_putts(table: Table) -> None:
    """Record what is wrong with a sheet of putts beyond its single cells."""
    frame = table.frame
    if table.column_for("tries") is None:
        frame["tries"] = 1.0
        table.findings.note("The sheet has no tries: each row was taken as one putt.")
    _check_made(table)


def _check_made(table: Table) -> None:
    for position in np.flatnonzero(table.frame["made"] > table.frame["tries"]).tolist():
        tries = table.written(position, "tries") if table.column_for("tries") else "1"
        table.findings.add(
            row=table.row(position),
            column=table.heading_for("made"),
            found=table.written(position, "made"),
            expected=f"no more than the tries, {tries}",
            advice="Check both numbers.",
        )
