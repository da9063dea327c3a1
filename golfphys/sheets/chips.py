"""Reads a chip log: club, lie, where each chip was meant to land, where it landed and where it stopped."""

import os
from dataclasses import dataclass

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.sheets.dictionary import UNIT_WORDS
from golfphys.sheets.sheet import Sheet, kept, ordered
from golfphys.sheets.table import Table, read_table

# g T^2 / (2 carry) is the tangent of the launch angle where the ball lands as high as it started and drag is small.
# Chips and pitches launch between about 10 and 65 degrees; the limits leave room for drag and the watch.
LOWEST_TANGENT, HIGHEST_TANGENT = 0.12, 3.2


@dataclass(frozen=True, kw_only=True)
class ChipSheet(Sheet):
    """A chip log in SI units and radians.

    Parameters
    ----------
    chips : DataFrame
        One line for each chip: ``row``, ``club``, ``lie``, ``spot``, ``heading`` (rad, clockwise from the reference
        line), then, all in m along the line of play from where the ball lay and NaN where not seen, ``target_carry``,
        ``edge`` (of the green), ``carry``, ``landing_side``, ``hang_time`` (s), ``first_hop`` (second landing),
        ``rest``, ``side`` (sides + to the left); ``strike`` (clean, thin, heavy or empty), ``measured_at``, ``note``;
        then columns that only this sheet has, as text.
    notes, path, comments
        As for `Sheet`.
    """

    chips: pd.DataFrame


def read_chips(path: str | os.PathLike[str], *, accept_suspects: bool = False) -> ChipSheet:
    r"""Read a chip log.

    Parameters
    ----------
    path : path-like
        A CSV file with the columns of the data dictionary: club, lie, carry_m or rest_m (or _ft, _yd), and where
        wanted spot, heading_deg, target_carry, edge, landing_side, hang_time_s, first_hop, side, strike, measured_at
        and note.
    accept_suspects : bool
        Take values that can be read but are hard to believe; they are then mentioned in the notes.

    Returns
    -------
    ChipSheet
        The chips in SI units and radians; missing cells are NaN.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "chips.csv"
    >>> _ = path.write_text("club,lie,carry_m,rest_m\nsand wedge,clean,6.3,11.2\n")
    >>> read_chips(path).chips[["carry", "rest"]].values.tolist()
    [[6.3, 11.2]]
    """
    table = read_table(path, "chips", check_chips, accept_suspects=accept_suspects)
    return ChipSheet(chips=ordered(table), **kept(table))


def check_chips(table: Table) -> None:
    """Record what is wrong with a sheet of chips beyond its single cells."""
    table.frame["heading"] = np.mod(table.frame["heading"], 2 * np.pi)
    _check_seen(table)
    _suspect_hang_times(table)
    _suspect_targets(table)
    _suspect_order(table)


def _check_seen(table: Table) -> None:
    for position, cells in enumerate(zip(table.texts("carry"), table.texts("rest"), strict=True)):
        if not any(cells):
            table.findings.add(
                row=table.row(position),
                column=table.heading_for("carry" if table.column_for("carry") else "rest"),
                found="a blank cell",
                expected="where the ball landed or where it came to rest",
                advice="Fill in at least one of the two, or delete the row.",
            )


def _suspect_hang_times(table: Table) -> None:
    frame = table.frame
    tangent = constants.GRAVITY.value * frame["hang_time"] ** 2 / (2 * frame["carry"])
    # a chip struck thin skims, so one low flight says nothing; what cannot be is a flight too long for its carry
    for position in np.flatnonzero((tangent > HIGHEST_TANGENT) & (frame["carry"] > 0)).tolist():
        table.findings.add(
            row=table.row(position),
            column=table.heading_for("hang_time"),
            found=f"{table.written(position, 'hang_time')} for a carry of {table.written(position, 'carry')}",
            expected="a hang time that a chip of this carry can have",
            advice="Check the watch and the unit of the carry.",
            suspect=True,
        )
    usual = tangent.dropna()
    if len(usual) >= 4 and usual.median() < LOWEST_TANGENT:
        words = UNIT_WORDS[(column.unit if (column := table.column_for("carry")) else None) or "m"]
        table.findings.add(
            column=table.heading_for("carry"),
            found="carries too long for their hang times in most rows",
            expected=f"carries in {words}, as the heading says",
            advice="Were they typed in another unit? Rename the column to the unit they were measured in.",
            suspect=True,
        )


def _suspect_targets(table: Table) -> None:
    """Target and carry in different units show as a ratio near that of the units in most rows."""
    ratio = (table.frame["carry"] / table.frame["target_carry"]).replace([np.inf, 0.0], np.nan).dropna()
    if len(ratio) < 4 or 0.4 < ratio.median() < 2.5:
        return
    table.findings.add(
        column=f"{table.heading_for('target_carry')} and {table.heading_for('carry')}",
        found=f"carries that are {ratio.median():.2g} times the target in the middle",
        expected="carries that scatter about the target",
        advice="Were the two measured in different units? Rename one of the columns.",
        suspect=True,
    )


def _suspect_order(table: Table) -> None:
    frame = table.frame
    for position in np.flatnonzero(frame["side"].abs() > frame["rest"].clip(lower=1.0)).tolist():
        table.findings.add(
            row=table.row(position),
            column=table.heading_for("side"),
            found=table.written(position, "side"),
            expected=f"less than the distance at rest, {table.written(position, 'rest')}",
            advice="Check both; a decimal comma may have split a number, or the units may differ.",
            suspect=True,
        )
