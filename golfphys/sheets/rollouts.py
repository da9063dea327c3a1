"""Reads a sheet of rollouts: balls released at a known speed, and where they stopped."""

import os
from dataclasses import dataclass

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.sheets.errors import quoted
from golfphys.sheets.sheet import Sheet, kept, ordered
from golfphys.sheets.suspects import suspect_rollouts
from golfphys.sheets.table import Table, read_table

ROLL_COLUMNS = ("row", "spot", "heading", "release_speed", "distance", "side", "measured_at", "note")


@dataclass(frozen=True, kw_only=True)
class RolloutSheet(Sheet):
    """Measured rollouts in SI units and radians.

    Parameters
    ----------
    rolls : DataFrame
        One line for each roll: ``row`` (as a spreadsheet numbers it), ``spot``, ``heading`` (rad, clockwise from the
        reference line, 0 to 2 pi), ``release_speed`` (m/s), ``distance`` (m, straight along the ground from release
        to rest), ``side`` (m from the line of the heading, + to the left as seen from the ramp, NaN where not noted),
        ``measured_at`` (NaT where not noted), ``note``; then columns that only this sheet has, as text.
    notes, path, comments
        As for `Sheet`.
    """

    rolls: pd.DataFrame


def read_rollouts(path: str | os.PathLike[str], *, accept_suspects: bool = False) -> RolloutSheet:
    r"""Read a sheet of rollouts.

    Parameters
    ----------
    path : path-like
        A CSV file with the columns of the data dictionary: spot, heading_deg, release_speed_m_s (or _ft_s) or
        ramp_run_in (or _m), distance_m (or _ft, _in), and where wanted side, measured_at and note.
    accept_suspects : bool
        Take values that can be read but are hard to believe, such as distances that look like feet under a heading
        of metres; they are then mentioned in the notes.

    Returns
    -------
    RolloutSheet
        The rolls in SI units and radians, rows in the order of the file.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "rollouts.csv"
    >>> _ = path.write_text("spot,heading_deg,ramp_run_in,distance_ft\nninth-front,90,30,10.0\n")
    >>> read_rollouts(path).rolls[["release_speed", "distance"]].round(3).values.tolist()
    [[1.83, 3.048]]
    """
    table = read_table(path, "rollouts", check_rollouts, accept_suspects=accept_suspects)
    _say_what_is_missing(table)
    return RolloutSheet(rolls=ordered(table, without=("ramp_run",)), **kept(table))


def check_rollouts(table: Table) -> None:
    """Record what is wrong with a sheet of rollouts as a whole, and complete its release speeds."""
    frame = table.frame
    frame["heading"] = np.mod(frame["heading"], 2 * np.pi)
    frame["release_speed"] = _release_speeds(table)
    _check_sides(table)
    suspect_rollouts(table)


def speed_from_ramp_run(run: pd.Series | float) -> pd.Series | float:
    """Release speed in m/s of a ball let go `run` metres up the ramp: the published speed scaled with the root."""
    return constants.RAMP_RELEASE_SPEED.value * (run / constants.RAMP_RUN.value) ** 0.5


def ramp_run_for_speed(release_speed: pd.Series | float) -> pd.Series | float:
    """How far up the ramp, m, a ball is let go to leave it with `release_speed` m/s: `speed_from_ramp_run` undone."""
    return constants.RAMP_RUN.value * (release_speed / constants.RAMP_RELEASE_SPEED.value) ** 2


def _release_speeds(table: Table) -> pd.Series:
    """Release speeds as written or from the ramp, m/s; the full ramp's where the sheet says nothing of either."""
    frame, findings, full = table.frame, table.findings, constants.RAMP_RELEASE_SPEED.value
    if not any(table.texts("release_speed")) and not any(table.texts("ramp_run")):
        findings.note(f"No release speed is given: the full ramp was assumed, {full:g} m/s (6.00 ft/s).")
        return pd.Series(full, index=frame.index)
    _check_one_release(table)
    speed, run = frame["release_speed"], frame["ramp_run"]
    if run.notna().any():
        findings.note(
            "Release speeds were taken from where on the ramp the ball was let go: "
            f"{full:g} m/s times the root of run over full run (30 in)."
        )
    return speed.where(speed.notna(), speed_from_ramp_run(run))


def _check_one_release(table: Table) -> None:
    """Each row needs either the release speed or where on the ramp the ball was let go, and not both."""
    speed_heading, run_heading = table.heading_for("release_speed"), table.heading_for("ramp_run")
    blank_heading = speed_heading if table.column_for("release_speed") is not None else run_heading
    cells = zip(table.texts("release_speed"), table.texts("ramp_run"), strict=True)
    for position, (speed, run) in enumerate(cells):
        if speed and run:
            table.findings.add(
                row=table.row(position),
                column=f"{speed_heading} and {run_heading}",
                found=f"both: {quoted(speed)} and {quoted(run)}",
                expected="one of the two",
                advice="Keep the one you measured.",
            )
        elif not (speed or run):
            table.findings.add(
                row=table.row(position),
                column=blank_heading,
                found="a blank cell",
                expected="the release speed, or how far up the ramp the ball was let go",
                advice="Fill it in; 30 in (ramp_run_in) is the full ramp, 1.83 m/s its speed.",
            )


def _check_sides(table: Table) -> None:
    frame = table.frame
    for position in np.flatnonzero(frame["side"].abs() > frame["distance"]).tolist():
        table.findings.add(
            row=table.row(position),
            column=table.heading_for("side"),
            found=table.written(position, "side"),
            expected=f"no more than the distance rolled, {table.written(position, 'distance')}",
            advice="Check both; a decimal comma may have split a number, or the units may differ.",
        )


def _say_what_is_missing(table: Table) -> None:
    frame, findings = table.frame, table.findings
    if not frame["side"].notna().any():
        findings.note("No side drift is noted; cross slope then shows only in the distances of different headings.")
    zeros = [int(row) for row in frame.loc[frame["distance"] == 0, "row"]]
    if zeros:
        findings.note(f"A distance of 0 was read in {len(zeros)} row(s), the first in row {zeros[0]}.")
