"""Reads a film frame by frame, with the times that the file itself gives, by the decoder library av (PyAV)."""

import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from golfphys.recordings.opening import RecordingError, local_file

Grey = NDArray[np.uint8]

LONGEST = 120.0
"""Longest clip in s that is read; a roll takes less than twenty."""
LARGEST_FRAME = 4096 * 2304
"""Pixels of the largest frame that is read."""


@dataclass(frozen=True, kw_only=True)
class Clip:
    """A film that can be read.

    Parameters
    ----------
    path : Path
        The file.
    width, height : int
        Of a frame as it is shown, pixels.
    duration : float
        s, as the file says; NaN where it does not.
    rate : float
        Mean frames a second, as the file says; NaN where it does not.
    """

    path: Path
    width: int
    height: int
    duration: float
    rate: float


def open_clip(path: str | os.PathLike[str]) -> Clip:
    """Open a film and see whether it can be used.

    Parameters
    ----------
    path : path-like
        mp4, mov, 3gp, webm, avi and what else the decoder reads.

    """
    found = local_file(path, "clip")
    import av

    try:
        with av.open(str(found), options={"protocol_whitelist": "file"}) as container:
            if not container.streams.video:
                raise RecordingError(f"{found}: there is no picture in this file; choose the film, not the sound")
            stream = container.streams.video[0]
            duration = float(container.duration) / 1e6 if container.duration else float("nan")
            rate = float(stream.average_rate) if stream.average_rate else float("nan")
            if duration > LONGEST:
                raise RecordingError(
                    f"{found}: {duration:.0f} s long; cut it on the phone to the roll, at most {LONGEST:.0f} s"
                )
            if stream.width * stream.height > LARGEST_FRAME:
                raise RecordingError(f"{found}: {stream.width} by {stream.height} pixels is more than can be followed")
            first = next(container.decode(stream), None)
            if first is None:
                raise RecordingError(f"{found}: the film holds no frame; film it again")
            height, width = _upright(first).shape
    except RecordingError:
        raise
    except Exception as error:  # decoders raise anything on a broken file
        raise RecordingError(
            f"{found}: this cannot be read as a film ({type(error).__name__}); copy it from the phone again"
        ) from error
    return Clip(path=found, width=width, height=height, duration=duration, rate=rate)


def frames(clip: Clip, *, key_only: bool = False) -> Iterator[tuple[float, Grey]]:
    """Go through the frames of a film.

    Parameters
    ----------
    clip : Clip
        The film.
    key_only : bool
        Only the frames that the file stores whole, about one a second: quick.

    Yields
    ------
    time : float
        s from the first frame, as the file stamps it: frames may be spaced unevenly or dropped.
    grey : ndarray of uint8, shape (height, width)
        The frame as it is shown.
    """
    import av

    first: float | None = None
    count, last = 0, -1.0
    with av.open(str(clip.path), options={"protocol_whitelist": "file"}) as container:
        stream = container.streams.video[0]
        stream.thread_type = "AUTO"
        if key_only:
            stream.codec_context.skip_frame = "NONKEY"
        try:
            for frame in container.decode(stream):
                if frame.pts is None or frame.time_base is None:
                    continue
                stamp = float(frame.pts * frame.time_base)
                first = stamp if first is None else first
                if stamp - first <= last:
                    continue
                last = stamp - first
                if last > LONGEST:
                    raise RecordingError(f"{clip.path}: longer than {LONGEST:.0f} s; cut it on the phone to the roll")
                count += 1
                yield last, _upright(frame)
        except av.error.FFmpegError:
            # a clip cut short in copying still has its first frames
            pass
    if count < 2 and not key_only:
        raise RecordingError(f"{clip.path}: fewer than two frames with a time stamp; film it again")


def one_frame(clip: Clip, time: float = 0.0) -> Grey:
    """Return the frame shown at a time.

    Parameters
    ----------
    clip : Clip
        The film.
    time : float
        s from the first frame.
    """
    shown = None
    for stamp, grey in frames(clip):
        if shown is not None and stamp > time:
            break
        shown = grey
    assert shown is not None
    return shown


def _upright(frame: object) -> Grey:
    """Return a frame in grey, turned as the phone says it is to be shown."""
    grey: Grey = frame.to_ndarray(format="gray")  # type: ignore[attr-defined]
    turns = round(float(getattr(frame, "rotation", 0) or 0) / 90.0) % 4
    return np.ascontiguousarray(np.rot90(grey, turns))
