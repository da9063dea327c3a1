"""What a film says: where on the ground a pixel is, from four marks of known places, and the rows that a track gives.

Points of a plane and their pictures are related by a homography. With square pixels and the optical axis in the middle
of the picture it also says where the camera stood (Zhang, IEEE Trans. PAMI 22, 1330, 2000, memory), so that the centre
of a ball, which lies a radius above the ground, is not taken for a point of the ground farther away.
"""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.recordings.opening import Array, RecordingError

# Focal length over the longer side of the picture: from the widest to the longest lens of a phone (judged).
FOCAL_RANGE = (0.45, 4.0)
# Logarithm of the ratio of metres along the two axes, as the lens makes them, and their angle in rad from square, above
# which the distances of the marks are wrong; clicks a pixel off make them 0.06 at most, exchanged sides 0.8 at least.
MOST_UNLIKE = 0.35
MARK_SD = 1.0  # standard error in pixels with which a person clicks a mark (judged)
BALL_HEIGHT = constants.BALL_RADIUS.value  # how high over the ground the centre of the ball is, m
USUAL_SCALE_SD = 0.01  # standard error of a film's lengths, as a share, that a sheet need not mention
AT_REST = 0.03  # m/s below which a ball is at rest
QUADRATIC_FOR = 0.6  # s for which distance is quadratic in time


@dataclass(frozen=True, kw_only=True)
class View:
    """How the ground is seen in a picture of some width and height.

    `projection`, of shape (3, 4), leads from ground coordinates (x, y, height, 1) in m to pixels, homogeneous; `marks`
    are places on the ground, m, and `pixels` where they are in the picture, right and down from the corner.
    """

    projection: Array = field(repr=False)
    marks: Array
    pixels: Array
    size: tuple[int, int]
    notes: tuple[str, ...] = ()

    def _level(self, height: float) -> Array:
        plane = self.projection[:, [0, 1, 3]].copy()
        plane[:, 2] += height * self.projection[:, 2]
        return plane

    def to_ground(self, pixels: ArrayLike, height: float = 0.0) -> Array:
        """Return the places on the level `height` (m) above the ground that are seen at pixels, shape (..., 2)."""
        return _mapped(np.asarray(np.linalg.inv(self._level(height))), np.asarray(pixels, dtype=float))

    def to_pixels(self, ground: ArrayLike, height: float = 0.0) -> Array:
        """Return where places of the level `height` (m) above the ground are seen, shape (..., 2)."""
        return _mapped(self._level(height), np.asarray(ground, dtype=float))

    def scale(self, ground: ArrayLike) -> Array:
        """Return how many pixels a metre across the line of sight has at places on the ground, shape (...)."""
        at = np.asarray(ground, dtype=float)
        step = 0.01
        sides = [self.to_pixels(at + np.array(move)) - self.to_pixels(at) for move in ((step, 0.0), (0.0, step))]
        jacobian = np.stack(sides, axis=-1) / step
        # foreshortening shrinks the smaller singular value only
        return np.asarray(np.linalg.svd(jacobian, compute_uv=False)[..., 0])

    def length_sd(self, pixels: ArrayLike) -> float:
        """Return the standard error, as a fraction, of the length between two pixels on the ground, from the marks'."""
        ends = np.asarray(pixels, dtype=float)
        length = float(np.hypot(*(self.to_ground(ends[1]) - self.to_ground(ends[0]))))
        squares = 0.0
        for mark in range(len(self.pixels)):
            for axis in range(2):
                moved = self.pixels.copy()
                moved[mark, axis] += MARK_SD
                first, last = _mapped(np.asarray(np.linalg.inv(_homography(self.marks, moved))), ends)
                squares += (float(np.hypot(*(last - first))) - length) ** 2
        return math.sqrt(squares) / max(length, 1e-9)


def view_of(marks: Sequence[Sequence[float]], pixels: Sequence[Sequence[float]], size: tuple[int, int]) -> View:
    """Work out how the ground is seen from at least four marks on it, in m in any level frame of your own.

    Seen from above its second axis is to the left of its first.
    """
    ground, seen = np.asarray(marks, dtype=float), np.asarray(pixels, dtype=float)
    if ground.ndim != 2 or ground.shape[1:] != (2,) or ground.shape != seen.shape or len(ground) < 4:
        found = f"{len(ground)} marks and {len(seen)} places in the picture"
        raise RecordingError(f"{found}; expected four or more of each")
    if not (np.isfinite(ground).all() and np.isfinite(seen).all()):
        raise RecordingError("a mark has no number; expected two distances on the ground and a place in the picture")
    plane = _homography(ground, seen)
    w = ground @ plane[2, :2] + plane[2, 2]
    flat = _collinear(ground) or _collinear(seen)
    if flat or not (np.all(w > 0) or np.all(w < 0)):
        raise RecordingError(
            "the marks make no picture of the ground: three lie on one line, or two were taken for each other. "
            "Click them in the order in which their distances are typed"
        )
    misfit = float(np.max(np.hypot(*(_mapped(plane, ground) - seen).T)))
    notes = []
    if misfit > 6 * MARK_SD:
        notes.append(f"the marks do not fit a level ground: one is off by {misfit:.0f} pixels; check their distances")
    projection, note = _with_height(plane, ground, size)
    if np.linalg.det(plane) * w[0] > 0:
        raise RecordingError(
            "the marks are clicked the wrong way round: left and right would change places. Click near left, near "
            "right, far right, far left, as the picture shows them, and type sides above 0"
        )
    return View(projection=projection, marks=ground, pixels=seen, size=size, notes=(*notes, *([note] if note else [])))


def _mapped(plane: Array, points: Array) -> Array:
    homogeneous = points @ plane[:, :2].T + plane[:, 2]
    return np.asarray(homogeneous[..., :2] / homogeneous[..., 2:])


def _homography(ground: Array, seen: Array) -> Array:
    """Return the homography of least algebraic error, with both sides scaled first (Hartley's normalisation)."""
    scaled, to_scaled = _normalised(ground)
    pictured, to_pictured = _normalised(seen)
    rows = []
    for (x, y), (u, v) in zip(scaled, pictured, strict=True):
        rows.append([x, y, 1, 0, 0, 0, -u * x, -u * y, -u])
        rows.append([0, 0, 0, x, y, 1, -v * x, -v * y, -v])
    found = np.linalg.svd(np.array(rows))[2][-1].reshape(3, 3)
    plane = np.linalg.inv(to_pictured) @ found @ to_scaled
    return np.asarray(plane / np.linalg.norm(plane))


def _normalised(points: Array) -> tuple[Array, Array]:
    centre = points.mean(axis=0)
    size = float(np.sqrt(np.mean(np.sum((points - centre) ** 2, axis=1)))) or 1.0
    matrix = np.array([[1 / size, 0, -centre[0] / size], [0, 1 / size, -centre[1] / size], [0, 0, 1]])
    return (points - centre) / size, matrix


def _collinear(points: Array) -> bool:
    """Whether any three of the first four points lie nearly on one line."""
    size = float(np.ptp(points, axis=0).max()) or 1.0
    corners = itertools.combinations(points[:4], 3)
    return any(abs(np.linalg.det([b - a, c - a])) < 0.01 * size * size for a, b, c in corners)


def _with_height(plane: Array, ground: Array, size: tuple[int, int]) -> tuple[Array, str]:
    """Complete a homography to a projection of space, and say where the picture does not tell the focal length."""
    middle = np.array([[1, 0, -size[0] / 2], [0, 1, -size[1] / 2], [0, 0, 1]])
    first, second, third = (middle @ plane).T
    # both constraints are linear in w = 1 / focal^2: the columns are square to each other, and equally long
    slopes = np.array([first[0] * second[0] + first[1] * second[1], 0.0])
    slopes[1] = first[0] ** 2 + first[1] ** 2 - second[0] ** 2 - second[1] ** 2
    fixed = np.array([first[2] * second[2], first[2] ** 2 - second[2] ** 2])
    limits = [1 / (share * max(size)) ** 2 for share in reversed(FOCAL_RANGE)]
    best = -float(slopes @ fixed) / max(float(slopes @ slopes), 1e-300)
    inverse = min(max(best, limits[0]), limits[1])
    note = ""
    if inverse != best:
        note = (
            "the picture does not tell the lens: the ball's height over the ground is allowed for with a usual one: "
            "film from lower and from the side for better"
        )
    stretch = np.array([math.sqrt(inverse), math.sqrt(inverse), 1.0])
    along, across, away = (stretch * column for column in (first, second, third))
    sizes = [float(np.linalg.norm(axis)) for axis in (along, across)]
    unlike = abs(math.log(sizes[0] / sizes[1])), abs(math.asin(float(along @ across) / (sizes[0] * sizes[1])))
    if unlike[0] > MOST_UNLIKE or unlike[1] > MOST_UNLIKE:
        raise RecordingError(
            "no camera sees marks of these distances so: are the two sides taken for each other, or a mark clicked out "
            "of its order? Click near left, near right, far right, far left, as the picture shows them"
        )
    length = math.sqrt(sizes[0] * sizes[1])
    upward = np.cross(along, across) / length
    rotation = np.stack([along, across, upward], axis=1) / length
    centre = -np.linalg.solve(rotation, away / length)
    if centre[2] < 0:  # the camera is above the ground; the sign of a homography is free
        upward = -upward
    column = np.linalg.inv(middle) @ (upward / stretch)
    return np.stack([plane[:, 0], plane[:, 1], column, plane[:, 2]], axis=1), note


# tracks


@dataclass(frozen=True, kw_only=True)
class Track:
    """Where the ball was, a row of the table for each of the `frames` in which it was found.

    ``time`` (s), ``right`` and ``down`` (pixels), ``x`` and ``y`` (m, in the frame of the marks), ``sd`` (standard
    error of the place, m, the marks' left out), ``by_hand``. `scale_sd` is the standard error of its length as a
    fraction, from the clicking of the marks.
    """

    table: pd.DataFrame
    scale_sd: float
    frames: int
    notes: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A number with its standard error."""

    value: float
    sd: float


def along(track: Track) -> pd.DataFrame:
    """Return time, distance along the ball's path, side (left of its first direction) and their sd, in s and m."""
    table = track.table
    time = table["time"].to_numpy(dtype=float) - float(table["time"].iloc[0])
    places = table[["x", "y"]].to_numpy(dtype=float)
    direction = _first_direction(time, places)
    moved = places - places[0]
    ahead, side = moved @ direction, moved @ np.array([-direction[1], direction[0]])
    # the path bends smoothly: its length is that of a low polynomial, not of the jitter from frame to frame
    bend = np.polynomial.Polynomial.fit(ahead, side, min(3, len(ahead) - 1)) if np.ptp(ahead) > 0 else None
    grid = np.linspace(float(ahead.min()), float(ahead.max()), 400)
    slope = bend.deriv()(grid) if bend is not None else np.zeros_like(grid)
    pieces = np.sqrt(1 + 0.5 * (slope[1:] ** 2 + slope[:-1] ** 2)) * np.diff(grid)
    length = np.concatenate([[0.0], np.cumsum(pieces)])
    distance = np.interp(ahead, grid, length) - float(np.interp(0.0, grid, length))
    return pd.DataFrame({"time": time, "distance": distance, "side": side, "sd": table["sd"].to_numpy(dtype=float)})


def film_rows(
    track: Track, *, roll: str, spot: str, kind: str = "putt", heading_deg: float | None = None
) -> pd.DataFrame:
    """Return the rows of one roll for the films sheet; with the first three of the frames at rest.

    Where the marks tell its lengths worse than a film's usually are known, the rows have a column ``scale_error``.

    It is called `roll`, was set rolling by `kind` (putt, chip, ramp), and headed clockwise from the reference line.
    """
    path = along(track)
    distance = path["distance"].to_numpy(dtype=float)
    if float(np.ptp(distance)) < 0.1:
        raise RecordingError("the ball is followed over less than 0.1 m; film more of the roll")
    moving = np.flatnonzero(np.median(distance[-3:]) - distance > max(AT_REST * 0.1, 3 * float(path["sd"].median())))
    path = path[: (int(moving[-1]) + 1 if moving.size else len(path) - 1) + 3]
    named = {"roll": roll, "spot": spot, "heading_deg": heading_deg, "kind": kind}
    rows = pd.DataFrame({**named, "time_s": path["time"].round(4), "distance_m": path["distance"].round(4)})
    return rows.assign(scale_error=round(track.scale_sd, 4)) if track.scale_sd > USUAL_SCALE_SD else rows


def speed_at_start(track: Track) -> Measured:
    """Return the speed at the first frame of the track, m/s: of a ramp that of release."""
    path = along(track)
    used = path[path["time"] <= QUADRATIC_FOR]
    if len(used) < 5:
        seen = f"the ball is found in {len(used)} frames of the first {QUADRATIC_FOR:g} s"
        raise RecordingError(
            f"{seen}; at least five are needed: click it in more of them by hand, or film with more a second"
        )
    time, distance = used["time"].to_numpy(dtype=float), used["distance"].to_numpy(dtype=float)
    found, shape = np.polyfit(time, distance, 2, cov="unscaled")
    left, speed = distance - np.polyval(found, time), float(found[1])
    noise = max(math.sqrt(float(left @ left) / max(1, len(time) - 3)), float(used["sd"].median()))
    return Measured(value=speed, sd=math.hypot(noise * math.sqrt(float(shape[1, 1])), speed * track.scale_sd))


def drift(track: Track) -> Measured:
    """Return how far to the left of its first direction the ball ends, m."""
    path = along(track)
    last = path.tail(3)
    first = path[path["distance"] <= 0.25 * float(path["distance"].max())]
    noise = float(path["sd"].median())
    reach = float(last["distance"].mean())
    base = max(float(np.ptp(first["distance"])), 1e-3)
    turned = noise * math.sqrt(12 / max(len(first), 2)) / base
    return Measured(value=float(last["side"].mean()), sd=math.hypot(noise, turned * reach))


def _first_direction(time: Array, places: Array) -> Array:
    reach = np.hypot(*(places - places[0]).T)
    early = np.flatnonzero(reach <= 0.3 * float(reach.max()))
    early = early if early.size >= 3 else np.arange(min(len(time), 3))
    slope = np.polyfit(time[early], places[early], 1)[0]
    return np.asarray(slope / max(float(np.hypot(*slope)), 1e-12))
