"""Makes recordings and films whose truth is known: thuds in wind and talk, a ball rendered on grass.

For demonstrations and tests. Nothing here is shared with the code that reads them: the camera is a pinhole of its own,
the thuds are damped oscillations.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from fractions import Fraction
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]
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
