"""Filmed rolls as arrays."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants

Array = NDArray[np.float64]
NO_SPOT = "(no spot)"
SKIDS = ("putt", "chip")
FILM_LAWS = ("constant", "linear")
"""Laws of resistance whose way against time is known in closed form."""


@dataclass(frozen=True, kw_only=True)
class Films:
    """The observations of a trace sheet as arrays.

    Parameters
    ----------
    row, roll : ndarray of int
        Row number of each frame and position of its roll in `names`.
    time, distance, pace : ndarray
        Time since the roll's first frame, place along the path, and speed read off neighbouring frames.
    names, spots, kinds : tuple of str
        For each roll: its name, spot and kind.
    heading : ndarray
        For each roll: heading, rad anticlockwise from the reference line, NaN where not noted.
    law : {"constant", "linear"}
        How resistance depends on speed.
    """

    row: NDArray[np.int64]
    roll: NDArray[np.int64]
    time: Array
    distance: Array
    pace: Array
    names: tuple[str, ...]
    spots: tuple[str, ...]
    kinds: tuple[str, ...]
    heading: Array
    law: str

    @property
    def skids(self) -> NDArray[np.bool_]:
        """Which rolls may begin with a skid."""
        return np.array([kind in SKIDS for kind in self.kinds], dtype=bool)

    def shared(self, known: Sequence[str]) -> tuple[bool, ...]:
        """Which rolls share resistance and slope of their spot, given the names of parameters already `known`.

        A spot filmed along one heading only shows resistance plus slope; its rolls then have a sum of their own.
        """
        found = []
        for spot, heading in zip(self.spots, self.heading, strict=True):
            others = self.heading[[other == spot for other in self.spots]]
            apart = np.abs(np.angle(np.exp(1j * (others - heading))))
            several = bool(np.any(apart > math.radians(20.0)))
            known_spot = f"resistance[{spot}]" in known
            found.append(bool(np.isfinite(heading)) and spot != NO_SPOT and (known_spot or several))
        return tuple(found)


def films_of(sheet: Any, law: str) -> Films:
    """Take the observations out of a trace sheet.

    Raises
    ------
    ValueError
        If there is no roll with at least four frames, or the law has no closed form in time.
    """
    if law not in FILM_LAWS:
        raise ValueError(f"law is {law!r}; traces can be fitted with {' or '.join(map(repr, FILM_LAWS))}")
    frames = sheet.frames
    groups = [(str(name), group) for name, group in frames.groupby("roll", sort=False) if len(group) >= 4]
    if not groups:
        raise ValueError("no roll of the sheet has four frames or more; a trace needs at least four")
    clocks = [group["time"].to_numpy(dtype=float) for _, group in groups]
    places = [group["distance"].to_numpy(dtype=float) for _, group in groups]
    paces = [np.maximum(_pace(clock, place), 0.0) for clock, place in zip(clocks, places, strict=True)]
    firsts = [group.iloc[0] for _, group in groups]
    return Films(
        row=np.concatenate([group["row"].to_numpy(dtype=np.int64) for _, group in groups]),
        roll=np.repeat(np.arange(len(groups)), [len(group) for _, group in groups]),
        time=np.concatenate([clock - clock[0] for clock in clocks]),
        distance=np.concatenate(places),
        pace=np.concatenate(paces),
        names=tuple(name for name, _ in groups),
        spots=tuple(_text(first.get("spot")) or NO_SPOT for first in firsts),
        kinds=tuple(_text(first.get("kind")) for first in firsts),
        heading=-np.array([float(first.get("heading", np.nan)) for first in firsts]),
        law=law,
    )


def shown_slowing(films: Films) -> Array:
    """Resistance plus slope that each roll shows in its later part, by a parabola through its places: a start value."""
    found = np.full(len(films.names), np.nan)
    for i in range(len(films.names)):
        here = films.roll == i
        moving = here & (films.pace > 0.15)
        late = moving & (films.time > (0.35 if films.skids[i] else 0.0) * films.time[moving].max(initial=0.0))
        if np.sum(late) >= 4:
            bend = float(np.polyfit(films.time[late], films.distance[late], 2)[0])
            found[i] = -2.0 * bend * (1 + constants.BALL_INERTIA.value) / constants.GRAVITY.value
    return found


def _text(value: Any) -> str:
    return value.strip() if isinstance(value, str) else ""


def _pace(clock: Array, place: Array) -> Array:
    """Speed at each frame from a line through it and its neighbours two away: noise of single readings averages out."""
    count = len(clock)
    found = np.empty(count)
    for i in range(count):
        near = slice(max(0, i - 2), min(count, i + 3))
        offset = clock[near] - clock[near].mean()
        found[i] = float(np.sum(offset * place[near]) / np.sum(offset * offset))
    return found
