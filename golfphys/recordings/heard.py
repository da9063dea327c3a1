"""Turns onsets into what the sheets ask for: flights of a dropped ball, hang time and first hop of a chip.

Bouncing heard as a measurement of restitution is textbook physics: the flights between bounces shorten by the factor
of restitution (Bernstein, Am. J. Phys. 45, 41, 1977, memory).
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np

from golfphys.core import constants
from golfphys.recordings.onsets import Onsets
from golfphys.recordings.opening import RecordingError

DROP_FLIGHT = (0.06, 1.3)
"""Shortest and longest flight in s after the first bounce of a ball dropped from at most 4 m."""
RATIO = (0.08, 0.92)
"""Second flight over the first: the restitution of turf and of a hard floor."""
HANG_TIME = (0.15, 6.0)
"""Shortest and longest flight in s of a chip or pitch."""
HOP_TIME = (0.04, 1.5)
"""Shortest and longest first hop in s."""
CONSIDERED = 40
"""Clearest onsets among which the pattern is sought."""
CLEAR_ENOUGH = 30.0
"""-log10 p beyond which an onset is no likelier to be the ball (judged)."""
BLOW_FALL_DB = 10.0
"""Fall of the level within a twentieth of a second from which an onset is certainly a blow (judged)."""
UNEXPLAINED = 0.5
"""What an onset between the chosen ones counts against them, as a fraction of its own clearness (judged)."""
TEMPERATURE = 15.0
"""Degrees Celsius taken for the air where none is given."""


def speed_of_sound(temperature: float = TEMPERATURE) -> float:
    """Return the speed of sound in air, m/s: with the root of the absolute temperature (textbook, memory).

    Parameters
    ----------
    temperature : float
        Of the air, degrees Celsius.

    Examples
    --------
    >>> round(speed_of_sound(20.0), 1)
    343.2
    """
    return 331.3 * math.sqrt(1.0 + temperature / 273.15)


@dataclass(frozen=True, kw_only=True)
class Heard:
    """What a pattern of onsets says.

    Parameters
    ----------
    kind : str
        "drop" or "chip".
    events : mapping of str to int
        Number of the onset taken for each event, in order of time.
    values : mapping of str to float
        What goes into the sheet, by column: ``first_flight_s``, ``second_flight_s`` of a drop, ``hang_time_s`` and
        ``hop_time_s`` of a chip.
    sds : mapping of str to float
        Standard error of each value, s.
    notes : tuple of str
        What the reader should know.
    """

    kind: str
    events: Mapping[str, int]
    values: Mapping[str, float]
    sds: Mapping[str, float]
    notes: tuple[str, ...] = ()


def heard_drop(onsets: Onsets, *, drop_height: float | None = None) -> Heard:
    """Find the bounces of a dropped ball.

    Parameters
    ----------
    onsets : Onsets
        What was found in the recording.
    drop_height : float, optional
        m; it bounds the first flight, which is shorter than the fall and its mirror.

    """
    longest = DROP_FLIGHT[1]
    if drop_height is not None:
        longest = 2 * math.sqrt(2 * drop_height / constants.GRAVITY.value)
    chosen = _best(onsets, (DROP_FLIGHT[0], longest), RATIO, needs_third=False)
    if chosen is None:
        raise RecordingError(
            "no two bounces of a ball stand out: drop it from higher, with the phone within two metres and out of wind"
        )
    return chosen_events(onsets, "drop", chosen)


def heard_chip(onsets: Onsets) -> Heard:
    """Find strike, landing and first hop of a chip.

    Parameters
    ----------
    onsets : Onsets
        What was found in the recording.

    """
    chosen = _best(onsets, HANG_TIME, (0.02, 0.95), needs_third=False, hop=HOP_TIME)
    if chosen is None:
        raise RecordingError(
            "no strike and landing stand out: put the phone beside the landing spot, out of the wind, and say nothing"
        )
    return chosen_events(onsets, "chip", chosen)


def chosen_events(onsets: Onsets, kind: str, events: Sequence[int]) -> Heard:
    """Return what onsets picked by hand say.

    Parameters
    ----------
    onsets : Onsets
        What was found.
    kind : {"drop", "chip"}
        What was recorded.
    events : sequence of int
        Numbers of the onsets: first, second and third bounce, or strike, landing and end of the first hop.

    Examples
    --------
    >>> import pandas as pd
    >>> table = pd.DataFrame({"time": [0.5, 0.9, 1.1], "time_sd": [0.0005] * 3})
    >>> heard = chosen_events(Onsets(table=table, duration=2.0), "drop", [0, 1, 2])
    >>> {name: round(value, 3) for name, value in heard.values.items()}
    {'first_flight_s': 0.4, 'second_flight_s': 0.2}
    """
    names, columns = {
        "drop": (("first bounce", "second bounce", "third bounce"), ("first_flight_s", "second_flight_s")),
        "chip": (("strike", "landing", "end of first hop"), ("hang_time_s", "hop_time_s")),
    }[kind]
    if not 2 <= len(events) <= 3:
        raise RecordingError(f"{len(events)} onsets are chosen; expected two or three: {', '.join(names)}")
    times = onsets.table["time"].to_numpy(dtype=float)[list(events)]
    sds = onsets.table["time_sd"].to_numpy(dtype=float)[list(events)]
    if np.any(np.diff(times) <= 0):
        raise RecordingError(f"the chosen onsets are not in order of time; expected {', '.join(names)}")
    values = dict(zip(columns, (float(gap) for gap in np.diff(times)), strict=False))
    errors = dict(zip(columns, (float(value) for value in np.hypot(sds[1:], sds[:-1])), strict=False))
    missing = columns[len(values) :]
    notes = tuple(f"no {name.removesuffix('_s').replace('_', ' ')}: {names[2]} was not heard" for name in missing)
    return Heard(
        kind=kind,
        events=dict(zip(names, (int(i) for i in events), strict=False)),
        values=values,
        sds=errors,
        notes=notes,
    )


def corrected(heard: Heard, distances: Sequence[float | None], *, temperature: float = TEMPERATURE) -> Heard:
    """Take out the time that sound needs from each event to the phone; a note says where a distance is missing.

    Parameters
    ----------
    heard : Heard
        What was heard.
    distances : sequence of float or None
        Metres from phone to each event in order of time, None where not known. One number less than events: the last
        is repeated (the end of a hop is near the landing).
    temperature : float
        Of the air, degrees Celsius.

    Examples
    --------
    >>> events = {"strike": 0, "landing": 1}
    >>> heard = Heard(kind="chip", events=events, values={"hang_time_s": 1.0}, sds={"hang_time_s": 1e-3})
    >>> round(corrected(heard, [10.0, 1.0]).values["hang_time_s"], 4)
    1.0264
    """
    known = [*distances, *[distances[-1] if distances else None] * (len(heard.events) - len(distances))]
    values, notes = dict(heard.values), list(heard.notes)
    for name, (near, far) in zip(heard.values, itertools.pairwise(known), strict=False):
        if near is None or far is None:
            notes.append(
                f"{name}: not corrected for the path of the sound, 2.9 ms for each metre by which one event is nearer "
                "to the phone than the other; give both distances"
            )
            continue
        values[name] = heard.values[name] - (far - near) / speed_of_sound(temperature)
    return Heard(kind=heard.kind, events=heard.events, values=values, sds=heard.sds, notes=tuple(notes))


def _best(
    onsets: Onsets,
    first: tuple[float, float],
    ratio: tuple[float, float],
    *,
    needs_third: bool,
    hop: tuple[float, float] = (0.0, math.inf),
) -> tuple[int, ...] | None:
    """Return the pattern of three onsets (or two) that is clearest, with least that is as clear left unexplained."""
    table = onsets.table
    clear = np.minimum(-table["log10_p"].to_numpy(dtype=float), CLEAR_ENOUGH)
    # what goes on sounding is a voice or an engine, no blow
    clear = clear * np.clip(table["fall_db"].to_numpy(dtype=float) / BLOW_FALL_DB, 0.0, 1.0)
    level, times = table["level_db"].to_numpy(dtype=float), table["time"].to_numpy(dtype=float)
    kept = sorted(np.argsort(-clear, kind="stable")[:CONSIDERED])
    best: tuple[float, tuple[int, ...]] | None = None
    for i, j in itertools.combinations(kept, 2):
        gap = times[j] - times[i]
        if not first[0] <= gap <= first[1]:
            continue
        patterns: list[tuple[int, ...]] = [] if needs_third else [(i, j)]
        for k in (k for k in kept if k > j):
            after = times[k] - times[j]
            if ratio[0] <= after / gap <= ratio[1] and hop[0] <= after <= hop[1]:
                patterns.append((i, j, k))
        for pattern in patterns:
            inside = [n for n in kept if pattern[0] < n < pattern[-1] and n not in pattern]
            # a bounce is not louder than the one before it, bar a lump of turf
            louder = sum(max(0.0, float(level[b] - level[a]) - 6.0) for a, b in itertools.pairwise(pattern[-2:]))
            score = float(clear[list(pattern)].sum() - UNEXPLAINED * clear[inside].sum()) - 2.0 * louder
            if best is None or score > best[0]:
                best = (score, pattern)
    return best[1] if best else None
