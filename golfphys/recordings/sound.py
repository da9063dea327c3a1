"""Reads a recording: WAV by scipy, the phone's own formats by the decoder library av (PyAV)."""

import os
import warnings
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from golfphys.recordings.opening import RecordingError, local_file

Array = NDArray[np.float64]

LONGEST = 600.0
"""Longest recording in s that is read; a longer one is refused."""

LOWEST_RATE = 8000.0
"""Fewest samples a second with which an impact can be timed to a millisecond."""


@dataclass(frozen=True, kw_only=True)
class Sound:
    """A recording, all channels averaged.

    Parameters
    ----------
    rate : float
        Samples a second.
    signal : ndarray, shape (samples,)
        Pressure in units of full scale.
    path : Path or None
        Where it came from.

    Examples
    --------
    >>> Sound(rate=8000.0, signal=np.ones(4000)).duration
    0.5
    """

    rate: float
    signal: Array = field(repr=False)
    path: Path | None = None

    @property
    def duration(self) -> float:
        """Length in s."""
        return len(self.signal) / self.rate


def read_sound(path: str | os.PathLike[str]) -> Sound:
    """Read a recording.

    Parameters
    ----------
    path : path-like
        A WAV file, or any format of a phone that carries sound (m4a, mp3, ogg, 3gp, mp4, mov).

    """
    found = local_file(path, "recording")
    with found.open("rb") as file:
        wav = file.read(4) in (b"RIFF", b"RIFX", b"RF64")
    try:
        rate, signal = _from_wav(found) if wav else _from_container(found)
    except RecordingError:
        raise
    except Exception as error:  # decoders raise anything on a broken file
        raise RecordingError(
            f"{found}: this cannot be read as a recording ({type(error).__name__}); record it again, or save it as WAV"
        ) from error
    return checked(Sound(rate=rate, signal=signal, path=found))


def checked(sound: Sound) -> Sound:
    """Return a recording in which something can be heard, or say what is wrong with it.

    Parameters
    ----------
    sound : Sound
        Any recording.

    """
    name = sound.path or "the recording"
    if not np.isfinite(sound.signal).all():
        raise RecordingError(f"{name}: some of its samples are no numbers; record it again")
    if sound.rate < LOWEST_RATE:
        raise RecordingError(
            f"{name}: {sound.rate:.0f} samples a second; impacts are timed from at least {LOWEST_RATE:.0f}. "
            "Choose a better quality in the phone's recorder"
        )
    if sound.duration < 0.2:
        raise RecordingError(
            f"{name}: only {sound.duration:.2f} s long; start before the strike and stop after the hops"
        )
    if float(np.ptp(sound.signal)) < 1e-5:
        raise RecordingError(f"{name}: the recording is silent; check the microphone's permission and record again")
    return sound


def _from_wav(path: Path) -> tuple[float, Array]:
    from scipy.io import wavfile

    with warnings.catch_warnings():
        warnings.simplefilter("ignore", wavfile.WavFileWarning)  # chunks that only other programs read
        rate, data = wavfile.read(path)
    _refuse_long(path, len(data) / rate)
    full = float(np.iinfo(data.dtype).max) if np.issubdtype(data.dtype, np.integer) else 1.0
    values = data.astype(float) / full
    if data.dtype == np.uint8:
        values = values * 2.0 - 1.0
    return float(rate), values if values.ndim == 1 else values.mean(axis=1)


def _from_container(path: Path) -> tuple[float, Array]:
    import av

    with av.open(str(path), options={"protocol_whitelist": "file"}) as container:
        if not container.streams.audio:
            raise RecordingError(f"{path}: there is no sound in this file; film or record with the microphone on")
        stream = container.streams.audio[0]
        if stream.duration is not None and stream.time_base is not None:
            _refuse_long(path, float(stream.duration * stream.time_base))
        resampler = av.AudioResampler(format="flt", layout="mono", rate=stream.rate)
        parts, samples = [], 0
        for frame in container.decode(stream):
            for piece in resampler.resample(frame):
                parts.append(piece.to_ndarray().reshape(-1).astype(float))
                samples += len(parts[-1])
                _refuse_long(path, samples / stream.rate)
        if not parts:
            raise RecordingError(f"{path}: the sound in this file is empty; record it again")
        return float(stream.rate), np.concatenate(parts)


def _refuse_long(path: Path, duration: float) -> None:
    if duration > LONGEST:
        raise RecordingError(
            f"{path}: {duration / 60:.0f} minutes long; cut it to at most {LONGEST / 60:.0f} around the shots"
        )
