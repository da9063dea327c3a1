"""Finds the instants at which something struck: onsets in a recording, each with its uncertainty.

The steady part of the noise (wind, traffic, the phone's own hiss) is whitened by an autoregressive filter fitted to the
median spectrum. In each of a few bands the energy just after every instant is compared with the energy just before it;
for steady Gaussian noise that ratio follows Fisher's F, which gives each rise its p-value. The instant itself is the
change of variance that is most likely (the Akaike picker of seismology: Maeda, Zisin 38, 365, 1985, memory), with all
bands together, and the width of that likelihood is the uncertainty.
"""

import math
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.recordings.sound import Sound

Array = NDArray[np.float64]

BANDS = ((100.0, 300.0), (300.0, 900.0), (900.0, 2700.0), (2700.0, 9000.0))
"""Hz: the thud of turf, the click of ball and club, and what is brighter still (judged)."""

AFTER = (0.020, 0.012, 0.006, 0.004)
"""Windows in s after an instant over which each band's energy is taken: a thud rings longer than a click (judged)."""

BEFORE, GAP = 0.040, 0.002
"""Windows in s before an instant: noise to compare with, and what is left out between (judged)."""

CLEAREST_P = 1e-5
"""Largest p-value of a rise that is kept: about one false onset in a minute of steady noise."""

LEAST_RISE_DB = 5.0
"""Smallest rise that is kept, for noise that is not steady (judged)."""

CLOSEST = 0.025
"""Onsets nearer than this in s are one (judged)."""

TIMING_FLOOR = 0.0004
"""Standard error in s below which no onset is timed: microphone, filters, the ball's own contact (judged)."""

ENOUGH = 20_000.0
"""Samples a second above which a recording is thinned: the highest band ends at 9 kHz."""

AR_ORDER = 24


@dataclass(frozen=True, kw_only=True)
class Onsets:
    """What was found in a recording.

    Parameters
    ----------
    table : DataFrame
        One line for each onset in order of time: ``time`` and ``time_sd`` in s, ``rise_db`` (over what was heard just
        before, in the band where it is clearest), ``level_db`` (its energy, whitened), ``fall_db`` (how far it has
        fallen a twentieth of a second later: a blow dies away at once, a voice goes on), ``brightness`` (fraction of
        its energy in the highest band), ``log10_p`` of the rise.
    duration : float
        Of the recording, s.
    notes : tuple of str
        What the reader should know.
    """

    table: pd.DataFrame
    duration: float
    notes: tuple[str, ...] = ()

    def __len__(self) -> int:
        """Return the number of onsets."""
        return len(self.table)


def find_onsets(sound: Sound) -> Onsets:
    """Find what struck when in a recording.

    Parameters
    ----------
    sound : Sound
        The recording.

    Examples
    --------
    >>> rng = np.random.default_rng(1)
    >>> signal = 0.01 * rng.standard_normal(48000)
    >>> signal[24000:24200] += 0.5 * np.exp(-np.arange(200) / 40) * rng.standard_normal(200)
    >>> found = find_onsets(Sound(rate=48000.0, signal=signal))
    >>> len(found), round(float(found.table["time"].iloc[0]), 3)
    (1, 0.5)
    """
    sound = _thinned(sound)
    white = whitened(sound.signal)
    edges = [(low, min(high, 0.45 * sound.rate)) for low, high in BANDS if low < 0.4 * sound.rate]
    bands = [_band(white, low, high, sound.rate) for low, high in edges]
    clearness, rise = _rises(bands, edges, sound.rate)
    places = _peaks(clearness, rise, sound.rate)
    rows = [_row(place, bands, edges, clearness, rise, sound.rate) for place in places]
    columns = ["time", "time_sd", "rise_db", "level_db", "fall_db", "brightness", "log10_p"]
    table = pd.DataFrame(rows, columns=columns).sort_values("time", kind="stable").reset_index(drop=True)
    notes = (
        () if rows else ("nothing in this recording stands out of its noise: put the phone nearer, out of the wind",)
    )
    return Onsets(table=table, duration=sound.duration, notes=notes)


def _thinned(sound: Sound) -> Sound:
    """Return a recording with no more samples than the highest band needs."""
    from scipy.signal import resample_poly

    step = int(sound.rate // ENOUGH)
    if step < 2:
        return sound
    return Sound(rate=sound.rate / step, signal=resample_poly(sound.signal, 1, step), path=sound.path)


def whitened(signal: Array) -> Array:
    """Return a signal in whose steady noise all frequencies are equally loud, with unit median level; causal.

    Parameters
    ----------
    signal : ndarray, shape (samples,)
        Recording.
    """
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


def _band(white: Array, low: float, high: float, rate: float) -> Array:
    from scipy.signal import butter, sosfilt

    return np.asarray(sosfilt(butter(2, (low, high), "bandpass", fs=rate, output="sos"), white))


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
        ratio = energy / np.maximum(floor, 0.25 * float(np.median(floor)) + 1e-20)
        freedom = [max(2.0, 2 * (high - low) * length) for length in (window, BEFORE)]
        # the tail of F is evaluated on a grid of ratios: every sample would take seconds
        grid = np.geomspace(0.5, 1e6, 400)
        tail = np.minimum(-f.logsf(grid, *freedom) / math.log(10), 300.0)
        clear = np.interp(np.log(np.maximum(ratio, 0.5)), np.log(grid), tail)
        better = clear > clearness[at]
        clearness[at[better]] = clear[better]
        rise[at[better]] = 10 * np.log10(ratio[better])
    return clearness, rise


def _peaks(clearness: Array, rise: Array, rate: float) -> list[int]:
    """Return the instants that stand out most, none within `CLOSEST` of a clearer one."""
    from scipy.signal import find_peaks

    candidates, _ = find_peaks(
        np.where(rise >= LEAST_RISE_DB, clearness, 0.0),
        height=-math.log10(CLEAREST_P),
        distance=max(1, round(CLOSEST * rate)),
    )
    return [int(place) for place in candidates]


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
