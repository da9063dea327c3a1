"""Follows the ball from frame to frame of a clip.

The ball is what differs from the background (the picture that most frames share) by being lighter, in a patch of the
size that the view gives it. Each frame yields a few candidates; the track is the run of candidates that moves as a
rolling ball does, each within reach of where the ones before it lead. Frames in which nothing fits are left out.
"""

import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.recordings.filmed import BALL_HEIGHT, MARK_SD, Track, View
from golfphys.recordings.opening import Array, Clip, Grey, RecordingError, frames

BACKGROUND_FRAMES = 31  # frames, spread over the clip, from which the background is made
FEWEST_KEY_FRAMES = 12  # frames stored whole from which a background can be made without reading all others
# Quantile of grey taken for the background: a white ball at rest for half of the clip is not in it (judged).
BACKGROUND_RANK = 0.3
CANDIDATES = 5  # candidates taken of a frame
# Pixels of the ball's radius to which a frame is reduced for the search; places are refined at full size.
SEARCH_RADIUS = 4.0
CLEAREST = 6.0  # noise standard deviations by which a patch must be lighter than the background
FASTEST = 12.0  # m/s; a chip's run-out and every putt are slower
# m/s^2 by which a ball may change its velocity from frame to frame: bumps and short hops included (judged).
SLOWS_BY = 15.0
CLICKED = 1000.0  # what a place clicked by hand is worth, where the clearest other is worth 30
LONGEST_GAP = 0.35  # s without the ball being seen after which a track ends
# Stills beside the first in which it is looked whether the ground has moved, and how alike, as a correlation, two must
# be at some shift to be the same ground; the share of a roll's length by which it may move (judged).
MOVED_STILLS, SAME_GROUND, MOST_MOVED = 8, 0.2, 0.03
COMMON_GRAIN = 0.02, 0.98  # quantiles of a still's grain beyond which it is no longer that of the ground (judged)
COARSE = 0.04  # standard error of lengths, as a share, from which it is said
SHADED = 0.0014
"""Standard error in m by which light and shade move the ball's apparent centre, alike in neighbouring frames (judged;
`tests/studies/coverage_recordings.py`)."""


Found = NDArray[Any]
FOUND: Any = [("frame", int), ("time", float), ("pixel", float, 2), ("ground", float, 2)]
FOUND += [("clear", float), ("sd", float), ("by_hand", bool)]
"""Candidates of all frames, in order of time, then the places clicked by hand."""


def follow(
    clip: Clip,
    view: View,
    *,
    by_hand: Mapping[float, tuple[float, float]] | None = None,
    progress: Callable[[float], None] | None = None,
) -> Track:
    """Follow the ball through a clip whose camera stands still.

    The track goes through places `by_hand`, pixels that the user clicked by time in s; `progress` is called with the
    fraction of the clip that is done.
    """
    background, shape, moved = _background(clip, view)
    found, times = _candidates(clip, view, background, shape, progress)
    found = np.concatenate([found, _clicked(by_hand or {}, times, view)])
    chosen = _longest(found)
    if still := _still(chosen):
        chosen = _longest(found[found["time"] > np.sort(chosen["time"])[still - 1]])
    if len(chosen) < 4:
        raise RecordingError(
            f"{clip.path}: no ball is seen to roll between the marks: hold the phone still, use a clean white ball, "
            "keep feet and shadows out of the picture, or click the ball by hand"
        )
    chosen = chosen[np.argsort(chosen["time"], kind="stable")]
    sd = np.hypot(chosen["sd"], np.where(chosen["by_hand"], 0.0, SHADED))
    (right, down), (x, y) = chosen["pixel"].T, chosen["ground"].T
    columns = {"time": chosen["time"], "right": right, "down": down, "x": x, "y": y, "sd": sd}
    table, notes = pd.DataFrame({**columns, "by_hand": chosen["by_hand"]}), list(view.notes)
    smooth = _smooth(table)
    if not smooth.all():
        notes.append(f"{int((~smooth).sum())} of {len(table)} places that jump off the path are left out")
        table = table[smooth].reset_index(drop=True)
    gap = float(np.max(np.diff(table["time"])))
    step = float(np.median(np.diff(times)))
    if gap > 3.5 * step:
        notes.append(f"the ball is not seen for up to {gap:.2f} s; look at the track and click it there if you can")
    ends = table[["right", "down"]].to_numpy(dtype=float)[[0, -1]]
    moved /= max(float(np.hypot(*(ends[1] - ends[0]))), 1.0)
    if moved > MOST_MOVED:
        said = f"the camera moved meanwhile, by {100 * moved:.0f} % of the length of the roll"
        raise RecordingError(f"{clip.path}: {said}: film again with the phone on a stand")
    scale_sd = math.hypot(view.length_sd(ends), moved)
    if scale_sd > COARSE:
        said = f"the marks tell lengths to {100 * scale_sd:.0f} % only, and so what the roll says of the green"
        notes.append(f"{said}: put them farther apart, or film from nearer and from higher")
    return Track(table=table, scale_sd=scale_sd, frames=len(times), notes=tuple(notes))


def _still(chosen: Found) -> int:
    """Return in how many places the ball has yet to set off: one that rolls is gone as soon as its speed then says."""
    run = chosen[np.argsort(chosen["time"], kind="stable")]
    reach, time = np.hypot(*(run["ground"] - run["ground"][:1]).T), run["time"]
    if not (left := np.flatnonzero(reach > 3 * np.hypot(run["sd"], SHADED))).size:
        return 0
    away, later = int(left[0]), min(int(left[0]) + 4, len(run) - 1)
    waited, later_for = time[away] - time[0], time[later] - time[away]
    return away if waited * (reach[later] - reach[away]) > 1.6 * later_for * reach[away] else 0


def _smooth(table: pd.DataFrame, around: int = 5) -> NDArray[np.bool_]:
    """Return which places lie where their neighbours lead, by a quadratic through those on either side."""
    time, sd = table["time"].to_numpy(dtype=float), table["sd"].to_numpy(dtype=float)
    places = table[["x", "y"]].to_numpy(dtype=float)
    off = np.zeros(len(table))
    for i in range(len(table)):
        near = np.delete(np.arange(max(0, i - around), min(len(table), i + around + 1)), min(i, around))
        near = near[np.abs(time[near] - time[i]) < LONGEST_GAP]
        if near.size < 5:
            continue
        # least absolute deviations, in a few rounds of weighting: one bad neighbour must not condemn a good place
        design = np.vander(time[near] - time[i], 3)
        weight = np.ones(near.size)
        for _ in range(6):
            root = np.sqrt(weight)[:, None]
            expected = np.linalg.lstsq(design * root, places[near] * root, rcond=None)[0]
            weight = 1 / np.maximum(np.hypot(*(places[near] - design @ expected).T), sd[i])
        off[i] = float(np.hypot(*(places[i] - expected[-1])))
    usual = max(1.4826 * float(np.median(off)), 1e-5)
    return np.asarray(table["by_hand"].to_numpy(dtype=bool) | (off < 6 * np.maximum(sd, usual)))


@dataclass(frozen=True)
class _Region:
    """The part of the picture that shows the marked ground with a margin, and by how much it is reduced."""

    top: int
    bottom: int
    left: int
    right: int
    step: int
    radius: float

    def cut(self, grey: Grey) -> Array:
        """Return the region of a frame, reduced by averaging blocks."""
        part = grey[self.top : self.bottom, self.left : self.right]
        if self.step == 1:
            return part.astype(np.float32)
        rows, columns = (size // self.step for size in part.shape)
        blocks = part[: rows * self.step, : columns * self.step].reshape(rows, self.step, columns, self.step)
        return np.asarray(blocks.mean(axis=(1, 3), dtype=np.float32))


def _background(clip: Clip, view: View) -> tuple[Array, _Region, float]:
    """Return the reduced background of the region in which the ball can be, that region, and how far it moved."""
    region = _region(view)
    stills = _spread(region, frames(clip, key_only=True), 4 * BACKGROUND_FRAMES)
    if len(stills) < FEWEST_KEY_FRAMES:
        stills = _spread(region, frames(clip), 2 * BACKGROUND_FRAMES)
    background: Array = np.quantile(np.stack(stills), BACKGROUND_RANK, axis=0).astype(np.float32)
    return background, region, region.step * _moved(stills)


def _spread(region: _Region, shown: Iterator[tuple[float, Grey]], most: int) -> list[Array]:
    """Return frames from all over a clip, reduced, and no more than `most`: how long it is shows only at its end."""
    stills: list[Array] = []
    stride = 1
    for number, (_, grey) in enumerate(shown):
        if number % stride == 0:
            stills.append(region.cut(grey))
        if len(stills) > most:
            stills, stride = stills[::2], 2 * stride
    return stills


def _moved(stills: list[Array]) -> float:
    """Return by how many pixels the ground moved from the first of some stills to any other, as far as they tell."""
    from scipy.ndimage import uniform_filter

    grain = [still - uniform_filter(still, 9) for still in stills[:: max(1, len(stills) // MOVED_STILLS)]]
    # the ball must not stand out: where compression has smoothed the grass, its way would be taken for the ground's
    first, *others = (np.clip(part, *np.quantile(part, COMMON_GRAIN)) for part in grain)
    size, farthest = np.array(first.shape), 0.0
    for other in others:
        alike = np.fft.irfft2(np.fft.rfft2(first) * np.fft.rfft2(other).conj(), s=first.shape)
        place = np.array(np.unravel_index(np.argmax(alike), first.shape))
        if alike.max() > SAME_GROUND * np.linalg.norm(first) * np.linalg.norm(other):
            farthest = max(farthest, float(np.hypot(*np.minimum(place, size - place))))
    return farthest


def _region(view: View) -> _Region:
    width, height = view.size
    low, high = view.pixels.min(axis=0), view.pixels.max(axis=0)
    margin = 0.15 * (high - low) + 20
    (left, top), (right, bottom) = np.floor(low - margin), np.ceil(high + margin)
    left, top, right, bottom = max(0, left), max(0, top), min(width, right), min(height, bottom)
    radius = float(np.median(view.scale(view.marks))) * BALL_HEIGHT
    if radius < 1.2:
        raise RecordingError(
            f"the ball is {2 * radius:.1f} pixels across in this film; go nearer, so that it is at least four"
        )
    return _Region(int(top), int(bottom), int(left), int(right), max(1, int(radius / SEARCH_RADIUS)), radius)


def _candidates(
    clip: Clip, view: View, background: Array, region: _Region, progress: Callable[[float], None] | None
) -> tuple[Found, Array]:
    """Return candidates of every frame, and the times of all frames."""
    rows: list[tuple[float, ...]] = []
    times: list[float] = []
    for number, (time, grey) in enumerate(frames(clip)):
        times.append(time)
        rows += [(number, time, *place) for place in _light_patches(grey, background, region)]
        if progress is not None and number % 10 == 0 and clip.duration > 0:
            progress(min(1.0, time / clip.duration))
    frame, at, right, down, clear = np.array(rows, dtype=float).reshape(-1, 5).T
    pixel = np.stack([right, down], axis=-1)
    ground = view.to_ground(pixel, BALL_HEIGHT)
    # a centroid is as good as its patch is clear; the pixels themselves set the floor
    sd = np.hypot(0.08, region.radius / np.maximum(clear, 1.0)) / np.maximum(view.scale(ground), 1e-6)
    return _joined(frame, at, pixel, ground, clear, sd, False), np.array(times)


def _joined(*fields: Any) -> Found:
    """Return candidates from their fields."""
    found = np.empty(len(fields[0]), FOUND)
    for name, values in zip(found.dtype.names or (), fields, strict=True):
        found[name] = values
    return found


def _light_patches(grey: Grey, background: Array, region: _Region) -> list[tuple[float, float, float]]:
    """Return right, down and clearness of the patches that are most lighter than the background."""
    from scipy.ndimage import maximum_filter, uniform_filter

    lighter = region.cut(grey) - background
    lighter -= np.float32(np.median(lighter[::4, ::4]))  # the phone changes its exposure
    radius = region.radius / region.step
    size = max(3, 2 * round(0.8 * radius) + 1)
    smooth = uniform_filter(lighter, size, mode="nearest")
    noise = max(1.4826 * float(np.median(np.abs(smooth[::3, ::3]))), 0.3)
    peaks = (smooth == maximum_filter(smooth, 2 * size + 1)) & (smooth > CLEAREST * noise)
    edge = round(radius) + 1
    peaks[:edge], peaks[-edge:], peaks[:, :edge], peaks[:, -edge:] = False, False, False, False
    rows, columns = np.nonzero(peaks)
    order = np.argsort(-smooth[rows, columns], kind="stable")[:CANDIDATES]
    return [_refined(lighter, int(rows[i]), int(columns[i]), radius, region, noise, smooth) for i in order]


def _refined(
    lighter: Array, row: int, column: int, radius: float, region: _Region, noise: float, smooth: Array
) -> tuple[float, float, float]:
    """Return the centroid of a light patch in pixels of the frame."""
    reach = max(2, round(1.8 * radius))
    top, left = max(0, row - reach), max(0, column - reach)
    patch = lighter[top : row + reach + 1, left : column + reach + 1]
    weight = np.clip(patch - 0.3 * float(patch.max()), 0.0, None)
    total = float(weight.sum())
    down = float(weight.sum(axis=1) @ np.arange(patch.shape[0])) / total + top
    right = float(weight.sum(axis=0) @ np.arange(patch.shape[1])) / total + left
    # a block's middle lies half a block from its first pixel
    shift = (region.step - 1) / 2
    return (
        region.left + right * region.step + shift,
        region.top + down * region.step + shift,
        float(smooth[row, column]) / noise,
    )


def _clicked(by_hand: Mapping[float, tuple[float, float]], times: Array, view: View) -> Found:
    """Return the places that the user clicked, each taken to be of the frame nearest in time."""
    order = sorted(by_hand)
    frame = np.array([int(np.argmin(np.abs(times - time))) for time in order], dtype=int)
    pixel = np.array([by_hand[time] for time in order], dtype=float).reshape(-1, 2)
    ground = view.to_ground(pixel, BALL_HEIGHT)
    sd = 1.5 * MARK_SD / np.maximum(view.scale(ground), 1e-6)
    return _joined(frame, times[frame], pixel, ground, CLICKED, sd, True)


def _longest(found: Found) -> Found:
    """Return the run of candidates that is clearest in all; in a frame with a click only that counts."""
    clicked = np.isin(np.round(found["time"], 6), np.round(found["time"][found["by_hand"]], 6))
    found = found[found["by_hand"] | ~clicked]
    best: tuple[float, list[int]] = (-math.inf, [])
    worth = np.where(found["by_hand"], CLICKED, np.minimum(found["clear"], 30.0))
    for pair in _seeds(found):
        run = _extended(found, list(pair))
        # a ball goes somewhere; a flickering blade of grass does not
        if float(np.hypot(*np.ptp(found["ground"][run], axis=0))) >= 5 * BALL_HEIGHT:
            best = max(best, (float(worth[run].sum()), run), key=lambda item: item[0])
    return found[best[1]] if best[1] else found[found["by_hand"]]


def _seeds(found: Found) -> list[tuple[int, int]]:
    """Return pairs of clear candidates in frames close to each other that are a ball's step apart."""
    frame, time, ground, hand = (found[name] for name in ("frame", "time", "ground", "by_hand"))
    starts = [int(i) for i in np.argsort(-found["clear"], kind="stable") if not hand[i]]
    # a few from all over the clip: the clearest things may be feet
    spread = sorted(starts[:400], key=lambda i: time[i])[:: max(1, min(len(starts), 400) // 40)]
    pairs = []
    for i in spread:
        later = np.flatnonzero((frame > frame[i]) & (frame <= frame[i] + 3) & ~hand)
        step = np.hypot(*(ground[later] - ground[i]).T) / (time[later] - time[i])
        pairs += [(i, int(j)) for j in later[(step > 0.05) & (step < FASTEST)][:6]]
    return pairs


def _extended(found: Found, run: list[int]) -> list[int]:
    """Extend candidates forwards and backwards in time by what lies within reach."""
    for sign in (1, -1):
        while (step := _next(found, run, sign)) is not None:
            run.append(step)
        run.reverse()
    return run


def _next(found: Found, run: list[int], sign: int) -> int | None:
    """Return the candidate that follows a run in the direction of `sign`, or None; where there is a click, that."""
    last = run[-5:]
    times, places, now = found["time"][last], found["ground"][last], found["time"][last[-1]]
    velocity = np.polyfit(times - now, places, 1)[0] if len(last) > 2 else (places[-1] - places[0]) / (now - times[0])
    ahead = sign * (found["time"] - now)
    near = np.flatnonzero((ahead > 1e-9) & (ahead < LONGEST_GAP))
    gap = found["time"][near] - now
    off = np.hypot(*(found["ground"][near] - places[-1] - velocity * gap[:, None]).T)
    fits = found["by_hand"][near] | (off < 4 * found["sd"][near] + 0.5 * SLOWS_BY * gap**2 + 0.004)
    if not fits.any():
        return None
    near, off = near[fits], off[fits]
    soonest = ahead[near] - ahead[near].min() < 1e-9
    rank = np.where(found["by_hand"][near], -1.0, off / np.sqrt(found["clear"][near]))
    return int(near[soonest][np.argmin(rank[soonest])])
