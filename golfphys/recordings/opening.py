"""Opens recordings and films, by the decoder library av (PyAV); and makes some whose truth is known.

Each is a local file of a sane size, or a sentence says why not; a film comes frame by frame, with the times that the
file itself gives.
"""

import math
import os
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from fractions import Fraction
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
Grey = NDArray[np.uint8]

LARGEST_FILE = 2_000_000_000  # bytes; a phone's film of ten minutes is below this


class RecordingError(ValueError):
    """A recording or a clip that cannot be used, with what to do about it."""


def local_file(path: str | os.PathLike[str], kind: str) -> Path:
    """Return the path of a plain local file that can be read; `kind`, recording or clip, is for the message."""
    found = Path(path)
    if not found.exists():
        raise RecordingError(f"{found}: there is no such file; check the name and the folder")
    if not found.is_file():
        raise RecordingError(f"{found}: this is no plain file; copy the {kind} from the phone and name the copy")
    size = found.stat().st_size
    if size == 0:
        raise RecordingError(f"{found}: the file is empty; copy the {kind} from the phone again")
    if size > LARGEST_FILE:
        words = f"{size / 1e9:.1f} GB is more than a {kind} of a few minutes"
        raise RecordingError(f"{found}: {words}; cut it on the phone")
    return found


@contextmanager
def _read_as(what: str, path: Path, advice: str) -> Iterator[None]:
    """Say in words that a file cannot be read: decoders raise anything on a broken one."""
    try:
        yield
    except (RecordingError, ImportError):
        raise
    except Exception as error:
        raise RecordingError(f"{path}: this cannot be read as {what} ({type(error).__name__}); {advice}") from error


def _opened(path: Path) -> Any:
    """Open a file with the decoder, which may read nothing else."""
    import av

    return av.open(str(path), options={"protocol_whitelist": "file"})


# sound

LONGEST_SOUND = 600.0  # longest recording in s that is read; a longer one is refused
LOWEST_RATE = 8000.0  # fewest samples a second with which an impact can be timed to a millisecond


@dataclass(frozen=True, kw_only=True)
class Sound:
    """A recording, all channels averaged: samples a second, and pressure in units of full scale."""

    rate: float
    signal: Array = field(repr=False)
    path: Path | None = None

    @property
    def duration(self) -> float:
        """Length in s."""
        return len(self.signal) / self.rate


def read_sound(path: str | os.PathLike[str]) -> Sound:
    """Read a recording: a WAV file, or any format of a phone that carries sound (m4a, mp3, ogg, 3gp, mp4, mov)."""
    found = local_file(path, "recording")
    with _read_as("a recording", found, "record it again, or save it as WAV"):
        rate, signal = _samples(found)
    sound = Sound(rate=rate, signal=signal, path=found)
    if not np.isfinite(sound.signal).all():
        raise RecordingError(f"{found}: some of its samples are no numbers; record it again")
    if sound.rate < LOWEST_RATE:
        raise RecordingError(
            f"{found}: {sound.rate:.0f} samples a second; impacts are timed from at least {LOWEST_RATE:.0f}. "
            "Choose a better quality in the phone's recorder"
        )
    if sound.duration < 0.2:
        words = f"only {sound.duration:.2f} s long"
        raise RecordingError(f"{found}: {words}; start before the strike and stop after the hops")
    if float(np.ptp(sound.signal)) < 1e-5:
        raise RecordingError(f"{found}: the recording is silent; check the microphone's permission and record again")
    return sound


def _samples(path: Path) -> tuple[float, Array]:
    import av

    with _opened(path) as container:
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
    if duration > LONGEST_SOUND:
        raise RecordingError(
            f"{path}: {duration / 60:.0f} minutes long; cut it to at most {LONGEST_SOUND / 60:.0f} around the shots"
        )


# film

LONGEST_FILM = 120.0  # longest clip in s that is read; a roll takes less than twenty
LARGEST_FRAME = 4096 * 2304  # pixels of the largest frame that is read


@dataclass(frozen=True, kw_only=True)
class Clip:
    """A film that can be read: pixels of a frame as it is shown, and its duration (s), NaN where the file is silent."""

    path: Path
    width: int
    height: int
    duration: float


def open_clip(path: str | os.PathLike[str]) -> Clip:
    """Open a film (mp4, mov, 3gp, webm, avi and what else the decoder reads) and see whether it can be used."""
    found = local_file(path, "clip")
    with _read_as("a film", found, "copy it from the phone again"), _opened(found) as container:
        if not container.streams.video:
            raise RecordingError(f"{found}: there is no picture in this file; choose the film, not the sound")
        stream = container.streams.video[0]
        duration = float(container.duration) / 1e6 if container.duration else float("nan")
        if duration > LONGEST_FILM:
            most = f"cut it on the phone to the roll, at most {LONGEST_FILM:.0f} s"
            raise RecordingError(f"{found}: {duration:.0f} s long; {most}")
        if stream.width * stream.height > LARGEST_FRAME:
            raise RecordingError(f"{found}: {stream.width} by {stream.height} pixels is more than can be followed")
        first = next(container.decode(stream), None)
        if first is None:
            raise RecordingError(f"{found}: the film holds no frame; film it again")
        height, width = _upright(first).shape
    return Clip(path=found, width=width, height=height, duration=duration)


def frames(clip: Clip, *, key_only: bool = False) -> Iterator[tuple[float, Grey]]:
    """Yield time and picture of each frame of a film, or only of those stored whole, about one a second: quick.

    Times are s from the first frame, as the file stamps them: frames may be spaced unevenly or dropped. Pictures are
    grey, of shape (height, width), turned as they are shown.
    """
    import av

    first: float | None = None
    count, last = 0, -1.0
    with _opened(clip.path) as container:
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
                if last > LONGEST_FILM:
                    words = f"longer than {LONGEST_FILM:.0f} s"
                    raise RecordingError(f"{clip.path}: {words}; cut it on the phone to the roll")
                count += 1
                yield last, _upright(frame)
        except av.error.FFmpegError:  # a clip cut short in copying still has its first frames
            pass
    if count < 2 and not key_only:
        raise RecordingError(f"{clip.path}: fewer than two frames with a time stamp; film it again")


def one_frame(clip: Clip, time: float = 0.0) -> Grey:
    """Return the frame nearest to a time, s from the first: it is that to which a click at this time belongs."""
    shown, last = None, -math.inf
    for stamp, grey in frames(clip):
        if stamp - time >= time - last:
            break
        shown, last = grey, stamp
    assert shown is not None
    return shown


def _upright(frame: object) -> Grey:
    """Return a frame in grey, turned as the phone says it is to be shown."""
    grey: Grey = frame.to_ndarray(format="gray")  # type: ignore[attr-defined]
    turns = round(float(getattr(frame, "rotation", 0) or 0) / 90.0) % 4
    return np.ascontiguousarray(np.rot90(grey, turns))


# made ones, for demonstrations and tests: thuds in wind and talk, a ball rendered on grass. Nothing here is shared with
# the code that reads them: the camera is a pinhole of its own, the thuds are damped oscillations

RADIUS = 0.02134  # of the ball, m, smallest by the rules
SHADOW, EXPOSURE = 25.0, 1 / 120  # grey levels by which the ball's shadow is darker; s that the shutter is open
CLOCK = 90_000  # ticks a second of a film's time stamps


def thuds(
    times: Sequence[float],
    loudness: Sequence[float],
    *,
    duration: float,
    wind: float = 0.02,
    talk: float = 0.0,
    rate: int = 48000,
    seed: int = 0,
) -> Array:
    """Return the sound of blows (times in s, loudness in units of full scale) in wind, hiss and, where wanted, a voice.

    `duration` is that of the recording, s; `wind` and `talk` are root mean squares; `rate` is in samples a second.
    """
    rng = np.random.default_rng(seed)
    size = round(duration * rate)
    slow = np.convolve(rng.standard_normal(size), np.exp(-np.arange(600) / 120.0), mode="same")
    signal = wind * (slow / slow.std() + 0.2 * rng.standard_normal(size))
    if talk:
        clock = np.arange(size) / rate
        syllables = np.arange(0.0, duration + 0.2, 0.12)
        loud = np.clip(np.interp(clock, syllables, rng.uniform(-1, 1, syllables.size)), 0, 1)
        phase = 2 * np.pi * np.cumsum(120 + 20 * np.sin(2 * np.pi * 1.3 * clock)) / rate
        signal += talk * loud * sum(np.sin(k * phase) / k for k in range(1, 25))
    for number, (time, loud_) in enumerate(zip(times, loudness, strict=True)):
        pitch, decay = (2500.0, 0.004) if number == 0 and len(times) == 4 else (rng.uniform(150, 450), 0.012)
        clock = np.arange(round(8 * decay * rate)) / rate
        blow = np.exp(-clock / decay) * np.sin(2 * np.pi * pitch * clock)
        blow += 0.3 * np.exp(-clock / (0.3 * decay)) * rng.standard_normal(clock.size)
        start = round(time * rate)
        signal[start : start + clock.size] += (loud_ * blow)[: size - start]
    return np.asarray(signal, dtype=float)


@dataclass(frozen=True)
class Camera:
    """A pinhole camera that stands at a place and looks at a target on the ground (m), held askew by `roll_deg`.

    Focal length and size of the picture are in pixels.
    """

    place: tuple[float, float, float] = (1.5, -2.9, 1.9)
    target: tuple[float, float, float] = (1.6, 0.4, 0.0)
    focal: float = 620.0
    width: int = 640
    height: int = 480
    roll_deg: float = 2.0

    def project(self, points: Array) -> Array:
        """Return pixels (right, down) of points (x, y, z)."""
        place, target = np.array(self.place), np.array(self.target)
        away = (target - place) / np.linalg.norm(target - place)
        right = np.cross(away, [0.0, 0.0, 1.0])
        right /= np.linalg.norm(right)
        down = np.cross(away, right)
        c, s = np.cos(np.radians(self.roll_deg)), np.sin(np.radians(self.roll_deg))
        right, down = c * right + s * down, c * down - s * right
        seen = (np.asarray(points, dtype=float) - place) @ np.stack([right, down, away], axis=1)
        centre = np.array([self.width / 2, self.height / 2])
        return np.asarray(centre + self.focal * seen[..., :2] / seen[..., 2:])

    def radius(self, point: Array) -> float:
        """Return the ball's radius in pixels at a point."""
        return self.focal * RADIUS / float(np.linalg.norm(np.asarray(point) - np.array(self.place)))


def film(
    path: Path,
    places: Array,
    times: Array,
    *,
    camera: Camera | None = None,
    noise: float = 4.0,
    speed: Array | None = None,
    seed: int = 0,
) -> Camera:
    """Write a film (mp4) of a rolling ball with its shadow, its blur, and the grain of grass and sensor.

    The ball is at `places` on the ground, m, of shape (frames, 2), at `times`, s, uneven or with gaps if wanted;
    `speed`, of that shape, blurs it, m/s; `noise` is that of the sensor, grey levels.
    """
    import av

    camera = camera or Camera()
    rng = np.random.default_rng(seed)
    grass = 95 + 14 * rng.standard_normal((camera.height, camera.width))
    grass = 0.25 * (grass + np.roll(grass, 1, 0) + np.roll(grass, 1, 1) + np.roll(grass, 2, 1))
    rows, columns = np.mgrid[: camera.height, : camera.width]
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=60)
        stream.width, stream.height, stream.pix_fmt = camera.width, camera.height, "yuv420p"
        stream.codec_context.time_base = Fraction(1, CLOCK)
        stream.options = {"crf": "18"}
        for number, (place, time) in enumerate(zip(places, times, strict=True)):
            picture = grass.copy()
            velocity = np.zeros(2) if speed is None else speed[number]
            dark = camera.project(np.array([place[0] + 0.03, place[1] + 0.02, 0.0]))
            size = camera.radius(np.array([*place, RADIUS]))
            picture -= SHADOW * np.exp(
                -(((columns - dark[0]) / (1.3 * size)) ** 2) - ((rows - dark[1]) / (0.7 * size)) ** 2
            )
            cover = np.zeros_like(picture)
            for late in np.linspace(-0.5, 0.5, 5):
                middle = camera.project(np.array([*(place + late * EXPOSURE * velocity), RADIUS]))
                cover += np.clip(size + 0.5 - np.hypot(columns - middle[0], rows - middle[1]), 0, 1) / 5
            picture = picture * (1 - cover) + 225 * cover
            picture = picture * (1 + 0.01 * np.sin(0.7 * time)) + noise * rng.standard_normal(picture.shape)
            grey = np.clip(picture, 0, 255).astype(np.uint8)
            frame = av.VideoFrame.from_ndarray(np.repeat(grey[:, :, None], 3, axis=2), format="rgb24")
            frame.pts = round(time * CLOCK)
            frame.time_base = stream.codec_context.time_base
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    return camera
