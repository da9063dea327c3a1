"""Do times and places read from recordings lie in their intervals where another generator made the recordings?

Sounds here: blows are half a sine of a half to two thousandths of a second that rings in three modes and comes back
from a wall; behind them pink noise in gusts, a hum and chirps. Films: a ball drawn four times too fine and thinned,
on grass that is noise of the ground rather than of the picture, seen from behind the roll or square to it, with a light
that changes. Nothing that `golfphys.recordings.opening` makes is used.

    python tests/studies/coverage_recordings.py  # two minutes

The result goes to ``coverage_recordings.csv`` beside this file.
"""

from fractions import Fraction
from pathlib import Path
from tempfile import TemporaryDirectory

import av
import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.recordings.filmed import view_of
from golfphys.recordings.follow import follow
from golfphys.recordings.heard import find_onsets
from golfphys.recordings.opening import Sound, open_clip

RATE = 44100
NORMAL_90 = constants.NORMAL_90
SIZE = (640, 400)


def pink(rng: np.random.Generator, size: int) -> np.ndarray:
    """Return noise as loud in every octave, in gusts."""
    spectrum = np.fft.rfft(rng.standard_normal(size)) / np.sqrt(np.maximum(np.arange(size // 2 + 1), 20.0))
    noise = np.fft.irfft(spectrum, size)
    gusts = 1.0 + 0.5 * np.sin(np.linspace(0, rng.uniform(3, 9), size) + rng.uniform(0, 6))
    return noise / noise.std() * gusts


def recording(seed: int, noise: float) -> tuple[Sound, np.ndarray]:
    """Return a recording of three blows in noise of this root mean square, and when they were."""
    rng = np.random.default_rng([1, seed])
    size = 2 * RATE
    clock = np.arange(size) / RATE
    signal = noise * pink(rng, size) + 0.1 * noise * np.sin(2 * np.pi * 50 * clock)
    signal += 0.5 * noise * np.sin(2 * np.pi * (3000 + 400 * np.sin(30 * clock)) * clock) * (np.sin(7 * clock) > 0.9)
    times = 0.4 + np.cumsum(rng.uniform(0.15, 0.45, 3))
    for time, loud in zip(times, (0.5, 0.3, 0.2), strict=True):
        ring = np.zeros(size)
        contact = rng.uniform(0.0005, 0.002)
        push = np.where((clock >= time) & (clock < time + contact), np.sin(np.pi * (clock - time) / contact), 0.0)
        for pitch in rng.uniform(200, 4000, 3):
            since = np.maximum(clock - time, 0.0)
            ring += (clock >= time) * np.exp(-since / rng.uniform(0.004, 0.015)) * np.sin(2 * np.pi * pitch * since) / 3
        blow = loud * (push + ring)
        signal += blow + 0.3 * np.roll(blow, round(rng.uniform(0.01, 0.03) * RATE))
    return Sound(rate=float(RATE), signal=signal), times


def sounds(count: int, noise: float) -> dict[str, float]:
    """Return how exact times are and how often their intervals hold."""
    errors, sds, asked = [], [], 0
    for seed in range(count):
        sound, times = recording(seed, noise)
        table = find_onsets(sound).table
        for time in times:
            asked += 1
            off = (table["time"] - time).to_numpy()
            near = int(np.argmin(np.abs(off))) if off.size else -1
            if near >= 0 and abs(off[near]) < 0.02:
                errors.append(off[near])
                sds.append(float(table["time_sd"].iloc[near]))
    return counted(np.array(errors), np.array(sds), asked, len(errors) / asked, 0.003)


def counted(off: np.ndarray, sd: np.ndarray, asked: int, found: float, near: float) -> dict[str, float]:
    """Return what share was found, lies within the error that is wanted, and lies in its interval."""
    within = {"within_3_ms_or_1_percent": float((np.abs(off) < near).mean())}
    return {"asked": asked, "found": found, **within, "held_of_90": float((np.abs(off) < NORMAL_90 * sd).mean())}


def homography(rng: np.random.Generator) -> np.ndarray:
    """Return a pinhole camera's 3 x 4 matrix, m to pixels, that sees three metres of ground."""
    place = np.array([rng.uniform(-1.0, 4.0), rng.uniform(-3.5, -2.2), rng.uniform(1.3, 2.2)])
    away = np.array([1.5, 0.6, 0.0]) - place
    away /= np.linalg.norm(away)
    right = np.cross(away, [0, 0, 1.0])
    right /= np.linalg.norm(right)
    axes = np.stack([right, np.cross(away, right), away])
    focal = 0.8 * SIZE[0]
    inner = np.array([[focal, 0, SIZE[0] / 2], [0, focal, SIZE[1] / 2], [0, 0, 1.0]])
    return inner @ np.c_[axes, -axes @ place]


def seen_at(camera: np.ndarray, points: np.ndarray) -> np.ndarray:
    """Return pixels of points (..., 3)."""
    flat = np.concatenate([points, np.ones((*points.shape[:-1], 1))], axis=-1) @ camera.T
    return flat[..., :2] / flat[..., 2:]


def filmed(seed: int, path: Path) -> dict[str, np.ndarray]:
    """Write a film and return errors of the places read from it, with their standard errors, m."""
    rng = np.random.default_rng([2, seed])
    camera, radius = homography(rng), 0.02135
    times = np.arange(0.0, 1.9, 1 / 30)
    way = 1.7 * times - 0.4 * times**2
    turn, start = rng.uniform(-0.05, 0.05), np.array([0.3, rng.uniform(0.4, 0.7)])
    places = start + np.stack([way, turn * way**2], axis=1)
    columns, rows = np.meshgrid(np.arange(SIZE[0]), np.arange(SIZE[1]))
    # what ground each pixel sees, for grass that belongs to the ground
    plane = np.linalg.inv(camera[:, [0, 1, 3]])
    ground = np.stack([columns, rows, np.ones_like(rows)], axis=-1) @ plane.T
    x, y = ground[..., 0] / ground[..., 2], ground[..., 1] / ground[..., 2]
    grass = 90 + 8 * np.sin(37 * x + 5 * np.sin(11 * y)) + 8 * np.sin(53 * y + 4 * np.sin(17 * x))
    fine = (np.arange(4) - 1.5) / 4
    with av.open(str(path), "w") as container:
        stream = container.add_stream("libx264", rate=30)
        stream.width, stream.height, stream.pix_fmt = *SIZE, "yuv420p"
        stream.codec_context.time_base = Fraction(1, 30_000)
        stream.options = {"crf": "20"}
        for time, place in zip(times, places, strict=True):
            picture = grass * (1 + 0.03 * np.sin(2 * time)) + 3.0 * rng.standard_normal(grass.shape)
            middle = seen_at(camera, np.array([*place, radius]))
            size = float(np.linalg.norm(seen_at(camera, np.array([*place, 2 * radius])) - middle))
            shade = seen_at(camera, np.array([place[0] - 0.02, place[1] + 0.03, 0.0]))
            picture -= 20 * np.exp(-(((columns - shade[0]) ** 2 + 3 * (rows - shade[1]) ** 2) / (1.5 * size) ** 2))
            cover = np.mean(
                [np.hypot(columns + dx - middle[0], rows + dy - middle[1]) < size for dx in fine for dy in fine], axis=0
            )
            lit = 235 - 40 * np.clip((rows - middle[1]) / (2 * size) + 0.5, 0, 1)
            grey = np.clip(picture * (1 - cover) + lit * cover, 0, 255).astype(np.uint8)
            frame = av.VideoFrame.from_ndarray(grey, format="gray").reformat(format="yuv420p")
            frame.pts = round(time * 30_000)
            frame.time_base = Fraction(1, 30_000)
            container.mux(stream.encode(frame))
        container.mux(stream.encode())
    marks = np.array([(0.0, 0.0), (3.0, 0.0), (3.0, 1.2), (0.0, 1.2)])
    pixels = seen_at(camera, np.c_[marks, np.zeros(4)])
    clip = open_clip(path)
    track = follow(clip, view_of(marks.tolist(), pixels.tolist(), (clip.width, clip.height))).table
    at = np.array([int(np.argmin(np.abs(times - time))) for time in track["time"]])
    off = track[["x", "y"]].to_numpy() - places[at]
    return {"off": off[:, 0], "sd": track["sd"].to_numpy(), "found": np.array([len(track) / len(times)])}


def films(count: int) -> dict[str, float]:
    """Return how exact places along the roll are and how often their intervals hold."""
    with TemporaryDirectory() as folder:
        parts = [filmed(seed, Path(folder) / f"{seed}.mp4") for seed in range(count)]
    off, sd, found = (np.concatenate([part[name] for part in parts]) for name in ("off", "sd", "found"))
    return counted(off, sd, len(off), float(found.mean()), 0.03)


if __name__ == "__main__":
    rows = {f"onsets, noise {noise:g} of full scale": sounds(60, noise) for noise in (0.01, 0.03)}
    rows["places of the ball along the roll"] = films(12)
    table = pd.DataFrame.from_dict(rows, orient="index").round(3).rename_axis("what")
    table.to_csv(Path(__file__).with_suffix(".csv"))
    print(table.to_string())
