"""Reads a sheet of drops: balls dropped on turf, and how they came back."""

import os
from dataclasses import dataclass

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.sheets.sheet import Sheet, kept, ordered
from golfphys.sheets.table import Table, read_table


@dataclass(frozen=True, kw_only=True)
class DropSheet(Sheet):
    """Drops in SI units.

    Parameters
    ----------
    drops : DataFrame
        One line for each drop: ``row``, ``spot``, ``drop_height`` (m, NaN where only times are given),
        ``rebound_height`` (m or NaN), ``first_flight`` and ``second_flight`` (s or NaN: from the first touch to the
        second, from the second to the third), ``measured_at``, ``note``; then columns that only this sheet has.
    notes, path, comments
        As for `Sheet`.
    """

    drops: pd.DataFrame


def read_drops(path: str | os.PathLike[str], *, accept_suspects: bool = False) -> DropSheet:
    r"""Read a sheet of drops.

    Parameters
    ----------
    path : path-like
        A CSV file with the columns of the data dictionary: spot, drop_height_m (or _cm, _ft, _in), rebound_height_m
        (or ...) or first_flight_s and second_flight_s (or _ms), and where wanted measured_at and note.
    accept_suspects : bool
        Take values that can be read but are hard to believe; they are then mentioned in the notes.

    Returns
    -------
    DropSheet
        The drops in SI units.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "drops.csv"
    >>> _ = path.write_text("spot,drop_height_cm,rebound_height_cm\nhome-left,150,31\n")
    >>> read_drops(path).drops["rebound_height"].tolist()
    [0.31]
    """
    table = read_table(path, "drops", check_drops, accept_suspects=accept_suspects)
    return DropSheet(drops=ordered(table), **kept(table))


def check_drops(table: Table) -> None:
    """Record what is wrong with a sheet of drops beyond its single cells."""
    _check_filled(table)
    _check_energy(table)


def _check_filled(table: Table) -> None:
    """Each drop needs a height and how it came back, or both flights."""
    needed = ("drop_height", "rebound_height", "first_flight", "second_flight")
    for position, cells in enumerate(zip(*(table.texts(quantity) for quantity in needed), strict=True)):
        height, rebound, first, second = (cell != "" for cell in cells)
        if not (rebound or first):
            _add_blank(table, position, "rebound_height" if table.column_for("rebound_height") else "first_flight")
        elif not height and not (first and second):
            _add_blank(table, position, "drop_height")


def _add_blank(table: Table, position: int, quantity: str) -> None:
    table.findings.add(
        row=table.row(position),
        column=table.heading_for(quantity),
        found="a blank cell",
        expected="the drop height with the rebound height or the first flight, or both flights",
        advice="Fill in what was measured, or delete the row.",
    )


def _check_energy(table: Table) -> None:
    """No ball comes back higher than it was dropped from, and no flight is longer than the one before."""
    frame = table.frame
    flown = constants.GRAVITY.value * frame["first_flight"] ** 2 / 8
    _check_less(table, frame["rebound_height"], frame["drop_height"], "rebound_height", "drop_height")
    _check_less(table, flown, frame["drop_height"], "first_flight", "drop_height")
    _check_less(table, frame["second_flight"], frame["first_flight"], "second_flight", "first_flight")
    apart = (flown / frame["rebound_height"]).to_numpy()
    for position in np.flatnonzero((apart > 2) | (apart < 0.5)).tolist():
        table.findings.add(
            row=table.row(position),
            column=table.heading_for("first_flight"),
            found=f"{table.written(position, 'first_flight')}, which a rise of {flown.iloc[position]:.3g} m takes",
            expected=f"the rebound height to agree, {frame['rebound_height'].iloc[position]:.3g} m",
            advice="Check the units of both.",
            suspect=True,
        )


def _check_less(table: Table, after: pd.Series, before: pd.Series, what: str, of: str) -> None:
    for position in np.flatnonzero(after >= before).tolist():
        table.findings.add(
            row=table.row(position),
            column=table.heading_for(what),
            found=table.written(position, what),
            expected=f"less than {table.heading_for(of)} allows, {table.written(position, of)}",
            advice="A ball comes back lower each time; check the units and whether the cells were swapped.",
        )
