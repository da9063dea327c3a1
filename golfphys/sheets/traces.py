"""Reads a sheet of traces: where a rolling ball was in each frame of a video."""

import os
from dataclasses import dataclass

import numpy as np
import pandas as pd

from golfphys.sheets.sheet import Sheet, kept, ordered
from golfphys.sheets.table import Table, read_table

FASTEST_ROLL = 15.0
LONGEST_FRAME = 0.5


@dataclass(frozen=True, kw_only=True)
class TraceSheet(Sheet):
    """Traces of rolls in SI units and radians.

    Parameters
    ----------
    frames : DataFrame
        One line for each frame, in the order of the sheet: ``row``, ``roll``, ``spot``, ``heading`` (rad, clockwise
        from the reference line, NaN where not noted), ``kind`` (putt, chip, ramp or empty), ``time`` (s),
        ``distance`` (m along the path), ``measured_at``, ``note``; then columns that only this sheet has, as text.
    notes, path, comments
        As for `Sheet`.
    """

    frames: pd.DataFrame

    @property
    def rolls(self) -> list[str]:
        """Names of the rolls in the order of the sheet."""
        return list(dict.fromkeys(self.frames["roll"]))


def read_traces(path: str | os.PathLike[str], *, accept_suspects: bool = False) -> TraceSheet:
    r"""Read a sheet of traces.

    Parameters
    ----------
    path : path-like
        A CSV file with the columns of the data dictionary: roll, time_s (or _ms), distance_m (or _ft, _in), and where
        wanted spot, heading_deg, kind, measured_at and note.
    accept_suspects : bool
        Take values that can be read but are hard to believe; they are then mentioned in the notes.

    Returns
    -------
    TraceSheet
        The frames in SI units and radians.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.

    Examples
    --------
    >>> import tempfile, pathlib
    >>> path = pathlib.Path(tempfile.mkdtemp()) / "traces.csv"
    >>> _ = path.write_text("roll,time_s,distance_m\nfirst,0,0\nfirst,0.1,0.18\nfirst,0.2,0.35\n")
    >>> read_traces(path).frames["distance"].tolist()
    [0.0, 0.18, 0.35]
    """
    table = read_table(path, "traces", check_traces, accept_suspects=accept_suspects)
    return TraceSheet(frames=ordered(table), **kept(table))


def check_traces(table: Table) -> None:
    """Record what is wrong with a sheet of traces beyond its single cells."""
    table.frame["heading"] = np.mod(table.frame["heading"], 2 * np.pi)
    for roll, group in table.frame.groupby("roll", sort=False):
        if roll:
            _check_roll(table, str(roll), group)


def _check_roll(table: Table, roll: str, group: pd.DataFrame) -> None:
    for quantity in ("spot", "heading", "kind"):
        _check_same(table, roll, group, quantity)
    timed = group.loc[group["time"].notna() & group["distance"].notna()]
    if len(timed) < 3:
        table.findings.note(f"Roll {roll!r} has {len(timed)} frame(s); a trace needs at least three to say anything.")
    steps = np.diff(timed["time"])
    for index in np.flatnonzero(steps <= 0).tolist():
        position = int(timed.index[index + 1])
        table.findings.add(
            row=table.row(position),
            column=table.heading_for("time"),
            found=table.written(position, "time"),
            expected=f"a time after that of the frame before, {table.written(int(timed.index[index]), 'time')}",
            advice=f"Are two rolls called {roll!r}? Give each its own name, and keep the frames in order.",
        )
    if len(timed) > 1 and np.all(steps > 0):
        _suspect_roll(table, roll, timed, steps)


def _check_same(table: Table, roll: str, group: pd.DataFrame, quantity: str) -> None:
    texts = table.texts(quantity)
    first = int(group.index[0])
    values = group[quantity]
    different = values.ne(values.iloc[0]) & ~(values.isna() & pd.isna(values.iloc[0]))
    for position in group.index[different][:1]:
        table.findings.add(
            row=table.row(int(position)),
            column=table.heading_for(quantity),
            found=repr(texts[int(position)]),
            expected=f"{texts[first]!r} as in the first frame of roll {roll!r} (row {table.row(first)})",
            advice="Every frame of a roll has the same; give another roll another name.",
        )


def _suspect_roll(
    table: Table, roll: str, timed: pd.DataFrame, steps: np.ndarray[tuple[int], np.dtype[np.float64]]
) -> None:
    first = table.row(int(timed.index[0]))
    if np.median(steps) > LONGEST_FRAME:
        table.findings.add(
            row=first,
            column=table.heading_for("time"),
            found=f"{np.median(steps):.3g} s from frame to frame in roll {roll!r}",
            expected=f"less than {LONGEST_FRAME:g} s",
            advice="Were frames numbered instead of timed? Divide by the frames per second.",
            suspect=True,
        )
    speed = float(np.max(np.abs(np.diff(timed["distance"])) / steps))
    if speed > FASTEST_ROLL:
        table.findings.add(
            row=first,
            column=table.heading_for("distance"),
            found=f"a speed of {speed:.3g} m/s within roll {roll!r}",
            expected=f"less than {FASTEST_ROLL:g} m/s",
            advice="Check the unit of the distances and the frames per second; look for a mistyped frame.",
            suspect=True,
        )
