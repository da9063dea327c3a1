"""Finds what struck when in a recording, and turns it into what the sheets ask for.

The steady part of the noise (wind, traffic, the phone's own hiss) is whitened by an autoregressive filter fitted to the
median spectrum. In each of a few bands the energy just after every instant is compared with the energy just before it;
for steady Gaussian noise that ratio follows Fisher's F, which gives each rise its p-value. The instant itself is the
change of variance that is most likely (the Akaike picker of seismology: Maeda, Zisin 38, 365, 1985, memory), with all
bands together, and the width of that likelihood is the uncertainty.

Bouncing heard as a measurement of restitution is textbook physics: the flights between bounces shorten by the factor
of restitution (Bernstein, Am. J. Phys. 45, 41, 1977, memory).
"""

import itertools
import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.recordings.opening import Array, RecordingError, Sound

Range = tuple[float, float]
# Hz: the thud of turf, the click of ball and club, and what is brighter still (judged).
BANDS = ((100.0, 300.0), (300.0, 900.0), (900.0, 2700.0), (2700.0, 9000.0))
# Windows in s after an instant over which each band's energy is taken: a thud rings longer than a click (judged).
AFTER = (0.020, 0.012, 0.006, 0.004)
# Windows in s before an instant: noise to compare with, and what is left out between (judged).
BEFORE, GAP = 0.040, 0.002
CLEAREST_P = 1e-5  # largest p-value of a rise that counts: about one false onset in a minute of steady noise
LEAST_RISE_DB = 5.0  # smallest rise that counts, for noise that is not steady (judged)
CLOSEST = 0.025  # onsets nearer than this in s are one (judged)
# Standard error in s below which no onset is timed: microphone, filters, the ball's own contact (judged).
TIMING_FLOOR = 0.0004
ENOUGH = 20_000.0  # samples a second above which a recording is thinned: the highest band ends at 9 kHz
AR_ORDER = 24
MOST_FLAT = 0.3  # share of a recording that may not change from sample to sample (judged)
CUT_OFF = (
    "the recorder cut off what was quiet or loud in most of this recording, and blows may be taken wrongly: record "
    "without noise suppression, and farther away if it was loud"
)


@dataclass(frozen=True, kw_only=True)
class Onsets:
    """What was found in a recording, a row of the table for each onset in order of time.

    ``time`` and ``time_sd`` in s, ``rise_db`` (over what was heard just before, in the band where it is clearest),
    ``level_db`` (its energy, whitened), ``fall_db`` (how far it has fallen a twentieth of a second later: a blow dies
    away at once, a voice goes on), ``brightness`` (fraction of its energy in the highest band), ``log10_p`` of the
    rise.
    """

    table: pd.DataFrame
    duration: float
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        """Return the number of onsets."""
        return len(self.table)


def find_onsets(sound: Sound) -> Onsets:
    """Find what struck when in a recording."""
    from scipy.signal import butter, find_peaks, resample_poly, sosfilt

    notes = [CUT_OFF] if float(np.mean(np.diff(sound.signal) == 0)) > MOST_FLAT else []
    step = int(sound.rate // ENOUGH)
    if step > 1:  # no more samples than the highest band needs
        sound = replace(sound, rate=sound.rate / step, signal=resample_poly(sound.signal, 1, step))
    white = whitened(sound.signal)
    edges = [(low, min(high, 0.45 * sound.rate)) for low, high in BANDS if low < 0.4 * sound.rate]
    filters = [butter(2, edge, "bandpass", fs=sound.rate, output="sos") for edge in edges]
    bands = [np.asarray(sosfilt(one, white)) for one in filters]
    clearness, rise = _rises(bands, edges, sound.rate)
    high, apart = -math.log10(CLEAREST_P), max(1, round(CLOSEST * sound.rate))
    places, _ = find_peaks(np.where(rise >= LEAST_RISE_DB, clearness, 0.0), height=high, distance=apart)
    rows = [_row(int(place), bands, edges, clearness, rise, sound.rate) for place in places]
    columns = ["time", "time_sd", "rise_db", "level_db", "fall_db", "brightness", "log10_p"]
    table = pd.DataFrame(rows, columns=columns).sort_values("time", kind="stable").reset_index(drop=True)
    if not rows:
        notes.append("nothing in this recording stands out of its noise: put the phone nearer, out of the wind")
    return Onsets(table=table, duration=sound.duration, notes=tuple(notes))


def whitened(signal: Array) -> Array:
    """Return a signal in whose steady noise all frequencies are equally loud, with unit median level; causal."""
    from scipy.linalg import solve_toeplitz
    from scipy.signal import lfilter

    size = 1024
    count = max(1, len(signal) // size)
    frames = np.resize(signal, count * size).reshape(count, size) * np.hanning(size)
    power = np.median(np.abs(np.fft.rfft(frames, axis=1)) ** 2, axis=0)
    power = power + 1e-6 * float(power.mean()) + 1e-20
    correlation = np.fft.irfft(power)[: AR_ORDER + 1]
    correlation[0] *= 1.0 + 1e-6
    weights = solve_toeplitz(correlation[:-1], correlation[1:])
    white = lfilter(np.concatenate([[1.0], -weights]), [1.0], signal)
    return np.asarray(white / max(1.4826 * float(np.median(np.abs(white))), 1e-12))


def _rises(bands: list[Array], edges: list[tuple[float, float]], rate: float) -> tuple[Array, Array]:
    """Return -log10 p and the rise in dB of the clearest band at every instant."""
    from scipy.stats import f

    before, gap = (max(2, round(length * rate)) for length in (BEFORE, GAP))
    size = len(bands[0])
    clearness, rise = np.zeros(size), np.zeros(size)
    for band, (low, high), window in zip(bands, edges, AFTER, strict=False):
        after = max(2, round(window * rate))
        sums = np.concatenate([[0.0], np.cumsum(band * band)])
        at = np.arange(before + gap, size - after)
        energy = (sums[at + after] - sums[at]) / after
        floor = (sums[at - gap] - sums[at - gap - before]) / before
        ratio = np.maximum(energy / np.maximum(floor, 0.25 * float(np.median(floor)) + 1e-20), 0.5)
        freedom = [max(2.0, 2 * (high - low) * length) for length in (window, BEFORE)]
        # the tail of F is evaluated on a grid of ratios: every sample would take seconds
        grid = np.geomspace(0.5, 1e6, 400)
        tail = np.minimum(-f.logsf(grid, *freedom) / math.log(10), 300.0)
        clear = np.interp(np.log(ratio), np.log(grid), tail)
        better = clear > clearness[at]
        clearness[at[better]] = clear[better]
        rise[at[better]] = 10 * np.log10(ratio[better])
    return clearness, rise


def _row(
    place: int, bands: list[Array], edges: list[tuple[float, float]], clearness: Array, rise: Array, rate: float
) -> tuple[float, ...]:
    first = max(0, place - round(0.020 * rate))
    last = min(len(bands[0]), place + round(0.007 * rate))
    time, sd = _change(np.stack([band[first:last] for band in bands]), edges, rate)
    until = min(len(bands[0]), place + round(0.020 * rate))
    energies = np.array([float(np.mean(band[place:until] ** 2)) for band in bands])
    later = slice(place + round(0.05 * rate), place + round(0.11 * rate))
    rest = sum(float(np.mean(band[later] ** 2)) for band in bands) if len(bands[0]) > later.stop else 0.0
    fall = 10 * math.log10((float(energies.sum()) + 1e-20) / (rest + 1e-20))
    level = 10 * math.log10(float(energies.sum()) + 1e-20)
    brightness = float(energies[-1] / energies.sum())
    return first / rate + time, sd, float(rise[place]), level, min(fall, 60.0), brightness, -float(clearness[place])


def _change(pieces: Array, edges: list[tuple[float, float]], rate: float) -> tuple[float, float]:
    """Return when the variance of all bands changes most probably, and its standard error, s from the start."""
    size = pieces.shape[1]
    margin = max(4, round(0.001 * rate))
    at = np.arange(margin, size - margin)
    total = np.zeros(at.size)
    for piece, (low, high) in zip(pieces, edges, strict=True):
        sums = np.concatenate([[0.0], np.cumsum(piece * piece)])
        early, late = sums[at] / at, (sums[-1] - sums[at]) / (size - at)
        # a band holds fewer independent values than samples
        independent = 2 * (high - low) / rate
        total -= 0.5 * independent * (at * np.log(early + 1e-12) + (size - at) * np.log(late + 1e-12))
    weight = np.exp(total - total.max())
    weight /= weight.sum()
    best = float(at[int(np.argmax(total))])
    spread = math.sqrt(float(weight @ (at - best) ** 2)) / rate
    return best / rate, math.hypot(spread, TIMING_FLOOR)


# flights

DROP_FLIGHT = (0.06, 1.3)  # shortest and longest flight in s after the first bounce of a ball dropped from at most 4 m
RATIO = (0.08, 0.92)  # second flight over the first: the restitution of turf and of a hard floor
HANG_TIME = (0.15, 6.0)  # shortest and longest flight in s of a chip or pitch
HOP_TIME = (0.04, 1.5)  # shortest and longest first hop in s
CONSIDERED = 40  # clearest onsets among which the pattern is sought
CLEAR_ENOUGH = 30.0  # -log10 p beyond which an onset is no likelier to be the ball (judged)
BLOW_FALL_DB = 10.0  # fall of the level within a twentieth of a second from which an onset is certainly a blow (judged)
# What an onset between the chosen ones counts against them, as a fraction of its own clearness (judged).
UNEXPLAINED = 0.5
PATTERNS = {
    "drop": (("first bounce", "second bounce", "third bounce"), ("first_flight_s", "second_flight_s")),
    "chip": (("strike", "landing", "end of first hop"), ("hang_time_s", "hop_time_s")),
}
"""For each kind of recording the names of its events, and the columns that the times between them fill."""
SPEED_OF_SOUND = 331.3 * math.sqrt(1.0 + 15.0 / 273.15)  # m/s, in air of 15 degrees C (textbook, memory)


@dataclass(frozen=True, kw_only=True)
class Heard:
    """What a pattern of onsets says of a drop or a chip (`kind`).

    `events` has the number of the onset taken for each, in order of time; `values` what goes into the sheet, by column:
    ``first_flight_s``, ``second_flight_s`` of a drop, ``hang_time_s`` and ``hop_time_s`` of a chip; `sds` their
    standard errors, s.
    """

    kind: str
    events: Mapping[str, int]
    values: Mapping[str, float]
    sds: Mapping[str, float]
    notes: tuple[str, ...] = ()


def heard_drop(onsets: Onsets, *, drop_height: float | None = None) -> Heard:
    """Find the bounces of a dropped ball; its height (m) bounds the first flight, for a rebound is lower."""
    shortest, longest = DROP_FLIGHT
    if drop_height is not None:
        longest = 2 * math.sqrt(2 * drop_height / constants.GRAVITY.value)
    advice = "no two bounces of a ball stand out: drop it from higher, with the phone within two metres and out of wind"
    return chosen_events(onsets, "drop", _best(onsets, advice, (shortest, longest), RATIO))


def heard_chip(onsets: Onsets) -> Heard:
    """Find strike, landing and first hop of a chip."""
    advice = "no strike and landing stand out: put the phone beside the landing spot, out of the wind, and say nothing"
    return chosen_events(onsets, "chip", _best(onsets, advice, HANG_TIME, (0.02, 0.95), hop=HOP_TIME))


def chosen_events(onsets: Onsets, kind: str, events: Sequence[int]) -> Heard:
    """Return what onsets picked by their numbers say of a drop or a chip (`kind`).

    They are first, second and third bounce, or strike, landing and end of the first hop.
    """
    names, columns = PATTERNS[kind]
    if not 2 <= len(events) <= 3:
        raise RecordingError(f"{len(events)} onsets are chosen; expected two or three: {', '.join(names)}")
    times = onsets.table["time"].to_numpy(dtype=float)[list(events)]
    sds = onsets.table["time_sd"].to_numpy(dtype=float)[list(events)]
    if np.any(np.diff(times) <= 0):
        raise RecordingError(f"the chosen onsets are not in order of time; expected {', '.join(names)}")
    values = dict(zip(columns, (float(gap) for gap in np.diff(times)), strict=False))
    errors = dict(zip(columns, (float(value) for value in np.hypot(sds[1:], sds[:-1])), strict=False))
    missing = columns[len(values) :]
    notes = [*onsets.notes, *(f"no {column_words(name)}: {names[2]} was not heard" for name in missing)]
    clear = (onsets.table["log10_p"] < -CLEAR_ENOUGH) & (onsets.table["fall_db"] > BLOW_FALL_DB)
    if len(earlier := onsets.table["time"][clear & (onsets.table["time"] < times[0] - CLOSEST)]):
        said = f"as clear a blow is heard before the {names[0]}, at {earlier.iloc[-1]:.3f} s"
        notes.append(f"{said}: where a recording holds more than one shot, pick what belongs to one")
    numbers = dict(zip(names, (int(i) for i in events), strict=False))
    return Heard(kind=kind, events=numbers, values=values, sds=errors, notes=tuple(notes))


def column_words(column: str) -> str:
    """Return a column of times in words: ``hang_time_s`` as "hang time"."""
    return column.removesuffix("_s").replace("_", " ")


def corrected(heard: Heard, distances: Sequence[float | None]) -> Heard:
    """Take out the time that sound needs from each event to the phone; a note says where a distance is missing.

    Distances are metres from phone to each event in order of time, None where not known; where the last is left out,
    that before it is taken (the end of a hop is near the landing).
    """
    known = [*distances, *[distances[-1] if distances else None] * (len(heard.events) - len(distances))]
    values, notes = dict(heard.values), list(heard.notes)
    for name, (near, far) in zip(heard.values, itertools.pairwise(known), strict=False):
        if near is None or far is None:
            notes.append(
                f"{column_words(name)}: not corrected for the path of the sound, 2.9 ms for each metre by which one "
                "event is nearer to the phone than the other; give both distances"
            )
            continue
        values[name] = heard.values[name] - (far - near) / SPEED_OF_SOUND
    return replace(heard, values=values, notes=tuple(notes))


def _best(onsets: Onsets, advice: str, first: Range, ratio: Range, *, hop: Range = (0.0, math.inf)) -> tuple[int, ...]:
    """Return the pattern of three onsets (or two) that is clearest, with least that is as clear left unexplained."""
    table = onsets.table
    clear = np.minimum(-table["log10_p"].to_numpy(dtype=float), CLEAR_ENOUGH)
    # what goes on sounding is a voice or an engine, no blow
    clear = clear * np.clip(table["fall_db"].to_numpy(dtype=float) / BLOW_FALL_DB, 0.0, 1.0)
    level, times = table["level_db"].to_numpy(dtype=float), table["time"].to_numpy(dtype=float)
    clearest = sorted(np.argsort(-clear, kind="stable")[:CONSIDERED])
    best: tuple[float, tuple[int, ...]] | None = None
    for i, j in itertools.combinations(clearest, 2):
        gap = times[j] - times[i]
        if not first[0] <= gap <= first[1]:
            continue
        patterns: list[tuple[int, ...]] = [(i, j)]
        for k in (k for k in clearest if k > j):
            after = times[k] - times[j]
            if ratio[0] <= after / gap <= ratio[1] and hop[0] <= after <= hop[1]:
                patterns.append((i, j, k))
        for pattern in patterns:
            inside = [n for n in clearest if pattern[0] < n < pattern[-1] and n not in pattern]
            # a bounce is not louder than the one before it, bar a lump of turf
            louder = sum(max(0.0, float(level[b] - level[a]) - 6.0) for a, b in itertools.pairwise(pattern[-2:]))
            score = float(clear[list(pattern)].sum() - UNEXPLAINED * clear[inside].sum()) - 2.0 * louder
            if best is None or score > best[0]:
                best = (score, pattern)
    if best is None:
        raise RecordingError(advice)
    return best[1]
