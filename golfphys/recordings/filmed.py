"""Turns a track into rows of the films sheet, the release speed of a ramp, and the drift to the side."""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd

from golfphys.recordings.follow import Track
from golfphys.recordings.opening import Array, RecordingError

AT_REST = 0.03
"""m/s below which a ball is at rest."""


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A number with its standard error."""

    value: float
    sd: float


def along(track: Track) -> pd.DataFrame:
    """Return time, distance along the ball's path, side (left of its first direction) and their sd, in s and m."""
    table = track.table
    time = table["time"].to_numpy(dtype=float) - float(table["time"].iloc[0])
    places = table[["x", "y"]].to_numpy(dtype=float)
    direction = _first_direction(time, places)
    moved = places - places[0]
    ahead, side = moved @ direction, moved @ np.array([-direction[1], direction[0]])
    # the path bends smoothly: its length is that of a low polynomial, not of the jitter from frame to frame
    bend = np.polynomial.Polynomial.fit(ahead, side, min(3, len(ahead) - 1)) if np.ptp(ahead) > 0 else None
    grid = np.linspace(float(ahead.min()), float(ahead.max()), 400)
    slope = bend.deriv()(grid) if bend is not None else np.zeros_like(grid)
    pieces = np.sqrt(1 + 0.5 * (slope[1:] ** 2 + slope[:-1] ** 2)) * np.diff(grid)
    length = np.concatenate([[0.0], np.cumsum(pieces)])
    distance = np.interp(ahead, grid, length) - float(np.interp(0.0, grid, length))
    return pd.DataFrame({"time": time, "distance": distance, "side": side, "sd": table["sd"].to_numpy(dtype=float)})


def film_rows(
    track: Track, *, roll: str, spot: str, kind: str = "putt", heading_deg: float | None = None
) -> pd.DataFrame:
    """Return the rows of one roll for the films sheet; of the frames at rest the first three are kept.

    It is called `roll`, was set rolling by `kind` (putt, chip, ramp), and headed clockwise from the reference line.
    """
    line = along(track)
    if float(np.ptp(line["distance"])) < 0.1:
        raise RecordingError("the ball is followed over less than 0.1 m; film more of the roll")
    line = line[: _last_moving(line) + 3]
    named = {"roll": roll, "spot": spot, "heading_deg": heading_deg, "kind": kind}
    return pd.DataFrame({**named, "time_s": line["time"].round(4), "distance_m": line["distance"].round(4)})


def speed_at_start(track: Track, *, within: float = 0.6) -> Measured:
    """Return the speed at the first frame of the track, m/s: of a ramp that of release.

    Frames `within` so many s are used: distance is quadratic in time there.
    """
    line = along(track)
    used = line[line["time"] <= within]
    if len(used) < 5:
        raise RecordingError(
            f"the ball is found in {len(used)} frames of the first {within:g} s; at least five are needed"
        )
    time, distance = used["time"].to_numpy(dtype=float), used["distance"].to_numpy(dtype=float)
    design = np.stack([np.ones_like(time), time, time * time], axis=1)
    found, *_ = np.linalg.lstsq(design, distance, rcond=None)
    left = distance - design @ found
    noise = max(math.sqrt(float(left @ left) / max(1, len(time) - 3)), float(used["sd"].median()))
    covariance = noise**2 * np.linalg.inv(design.T @ design)
    return Measured(
        value=float(found[1]), sd=math.hypot(math.sqrt(float(covariance[1, 1])), float(found[1]) * track.scale_sd)
    )


def drift(track: Track) -> Measured:
    """Return how far to the left of its first direction the ball ends, m."""
    line = along(track)
    last = line.tail(3)
    first = line[line["distance"] <= 0.25 * float(line["distance"].max())]
    noise = float(line["sd"].median())
    reach = float(last["distance"].mean())
    base = max(float(np.ptp(first["distance"])), 1e-3)
    turned = noise * math.sqrt(12 / max(len(first), 2)) / base
    return Measured(value=float(last["side"].mean()), sd=math.hypot(noise, turned * reach))


def _first_direction(time: Array, places: Array) -> Array:
    reach = np.hypot(*(places - places[0]).T)
    early = np.flatnonzero(reach <= 0.3 * float(reach.max()))
    early = early if early.size >= 3 else np.arange(min(len(time), 3))
    slope = np.polyfit(time[early], places[early], 1)[0]
    return np.asarray(slope / max(float(np.hypot(*slope)), 1e-12))


def _last_moving(line: pd.DataFrame) -> int:
    """Return the number of the last frame before the ball is at rest."""
    time, distance = line["time"].to_numpy(dtype=float), line["distance"].to_numpy(dtype=float)
    end = float(np.median(distance[-3:]))
    moving = np.flatnonzero(end - distance > max(AT_REST * 0.1, 3 * float(line["sd"].median())))
    return int(moving[-1]) + 1 if moving.size else len(time) - 1
