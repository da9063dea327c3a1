"""Rolls as arrays, out of a sheet."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.fitting.rollout_layout import Rolls


def rolls_of(sheet: Any, session_gap_hours: float | None = None) -> Rolls:
    """Take the observations out of a sheet.

    Parameters
    ----------
    sheet : RolloutSheet
        The sheet.
    session_gap_hours : float, optional
        A pause longer than this begins a new session of a series; without it time is left aside.

    Returns
    -------
    Rolls
        Its rolls.

    Raises
    ------
    ValueError
        If there is none, a value is missing, or a roll of a series has no time.
    """
    frame = sheet.rolls
    if len(frame) == 0:
        raise ValueError("the sheet has no rolls; expected at least one")
    spots = tuple(str(spot) for spot in dict.fromkeys(frame["spot"]))
    values = {name: frame[name].to_numpy(dtype=float) for name in ("heading", "release_speed", "distance")}
    for name, column in values.items():
        if not np.all(np.isfinite(column)):
            row = frame["row"].iloc[int(np.flatnonzero(~np.isfinite(column))[0])] if "row" in frame else "?"
            raise ValueError(f"{name} in row {row} is not a number; expected one in every row")
    side = frame["side"].to_numpy(dtype=float) if "side" in frame else np.full(len(frame), np.nan)
    rows = frame["row"].to_numpy(dtype=np.int64) if "row" in frame else np.arange(2, len(frame) + 2)
    order = {spot: i for i, spot in enumerate(spots)}
    session, times = (None, ()) if session_gap_hours is None else _sessions(frame, rows, session_gap_hours)
    return Rolls(
        row=rows,
        spot=np.array([order[str(spot)] for spot in frame["spot"]], dtype=np.int64),
        spots=spots,
        heading=-values["heading"],
        speed=values["release_speed"],
        distance=values["distance"],
        side=side,
        session=session,
        times=times,
    )


def _sessions(frame: pd.DataFrame, rows: NDArray[np.int64], gap_hours: float) -> tuple[Any, tuple[pd.Timestamp, ...]]:
    if not gap_hours > 0:
        raise ValueError(f"session_gap_hours is {gap_hours!r}; expected a positive number of hours")
    blank = frame["measured_at"].isna().to_numpy() if "measured_at" in frame else np.ones(len(frame), dtype=bool)
    if blank.any():
        row = int(rows[np.flatnonzero(blank)[0]])
        raise ValueError(
            f"a series needs measured_at in every row (it is blank in row {row}); leave session_gap_hours out without"
        )
    return sessions_of(frame["measured_at"], gap_hours)


def sessions_of(measured_at: pd.Series, gap_hours: float) -> tuple[NDArray[np.int64], tuple[pd.Timestamp, ...]]:
    """Split times at pauses longer than `gap_hours`: number of each row's session, and the middle of each session."""
    stamps = pd.to_datetime(measured_at).reset_index(drop=True)
    order = np.argsort(stamps.to_numpy(), kind="stable")
    ordered = stamps.iloc[order]
    pauses = ordered.diff().dt.total_seconds().fillna(0.0).to_numpy() > 3600.0 * gap_hours
    session = np.empty(len(stamps), dtype=np.int64)
    session[order] = np.cumsum(pauses)
    middles = []
    for number in range(int(session.max()) + 1):
        here = stamps[session == number]
        middles.append(here.min() + (here.max() - here.min()) / 2)
    return session, tuple(middles)
