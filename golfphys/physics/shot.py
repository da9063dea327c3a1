"""The whole shot, one or a million: launch to rest."""

import math
import os
from concurrent.futures import Executor
from dataclasses import dataclass, field, replace
from typing import Any, TypedDict, Unpack

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import in_threads, numbers, plain, require_kinds, uncollected
from golfphys.core.constants import Ball
from golfphys.physics import rows as c
from golfphys.physics.club import Launch
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.flying import BRISK
from golfphys.physics.green import Green, Ground
from golfphys.physics.lanes import ROWS, lanes_loop
from golfphys.physics.playing import MAX_BOUNCES, loop
from golfphys.physics.rows import Status, air_rows, ground_rows, shapes_of

Floats = NDArray[np.float64]

CHUNK = 8192  # most shots played by one call of the loop, which bounds the memory in use beyond the results
LEAST_CHUNK = 1024  # fewest that are worth a thread
TIME_STEP = 0.25  # greatest time step of the flight in s
FEW = 64  # shots from which on a batch is played in lanes
MOST_STEPS = 63  # steps of a flight that their order tells apart
BUMPS = 3  # landings that meet a local slope where `bumps` is a seed; what comes after them hardly hops


@dataclass(frozen=True, kw_only=True)
class Shots:
    """Results of a batch of shots: arrays of the shape of the launch, floats for a single one.

    Distances are along the ground in m, from the ball; x along the line of play, y to the left. Where a shot did not
    stop its rest is infinite; where it was invalid its numbers are NaN.

    Parameters
    ----------
    carry : ndarray, from launch to first landing
    landing_x, landing_y, flight_time : ndarray, where it first landed, and after how long, s
    landing_speed, landing_angle, landing_spin : ndarray, m/s; below the horizontal, rad; backspin, rad/s
    apex : ndarray, greatest height over the launch before the first landing, m
    bounces : ndarray of int, landings from which the ball left the ground again
    hop_x, hop_y, hop_time : ndarray
        Where, and how long after the launch in s, the first hop came down; the landing itself where there is no hop.
    roll_x, roll_y, roll_speed : ndarray, where it began to roll without slipping, and how fast, m/s
    rest_x, rest_y, rest_time : ndarray, where it came to rest, and time from launch to rest, s
    status : ndarray of int, a `Status` for each shot
    holed : ndarray of bool, whether the hole of the ground took the ball, which then rests in it
    """

    carry: Any
    landing_x: Any
    landing_y: Any
    flight_time: Any
    landing_speed: Any
    landing_angle: Any
    landing_spin: Any
    apex: Any
    bounces: Any
    hop_x: Any
    hop_y: Any
    hop_time: Any
    roll_x: Any
    roll_y: Any
    roll_speed: Any
    rest_x: Any
    rest_y: Any
    rest_time: Any
    status: Any
    holed: Any

    @property
    def stops(self) -> Any:
        """Whether each shot came to rest.

        >>> simulate(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0)).stops
        True
        """
        return plain(np.asarray(self.status) == Status.STOPPED)

    @property
    def run(self) -> Any:
        """The run: distance in m from first landing to rest, by bounces, skid and roll."""
        with np.errstate(invalid="ignore"):
            return plain(np.hypot(self.rest_x - self.landing_x, self.rest_y - self.landing_y))

    def __len__(self) -> int:
        return int(np.size(self.carry))


@dataclass(frozen=True, kw_only=True, eq=False)
class Batch:
    """Shots as the arrays that the compiled loops take; it travels to threads, and to an executor's workers."""

    shape: tuple[int, ...]
    launches: Floats  # a row for each shot, as `rows` has it; of the next three one row, or one for each shot
    frames: Floats
    strips: Floats
    airs: Floats
    survey: c.Survey | None
    table: Floats
    ball: tuple[float, float, float, float]
    time_step: float
    hops: int = MAX_BOUNCES
    path: Floats = field(default_factory=lambda: np.zeros((0, c.PATH_COLUMNS)))

    @property
    def size(self) -> int:
        """Number of shots."""
        return math.prod(self.shape)

    @property
    def in_lanes(self) -> bool:
        """Whether there are many shots, each on the strips of one plane in still air.

        `golfphys.physics.lanes` then plays many side by side, a lane of a block for each: the same result, sooner.
        """
        if self.size < FEW or self.survey is not None or self.hops not in (0, MAX_BOUNCES) or len(self.path):
            return False
        windy, two_laws = np.any(self.airs[:, [c.WIND_X, c.WIND_Y]]), np.ptp(self.strips[..., c.TURF]) > 0.0
        return not (windy or two_laws or np.any(self.strips[..., c.SLOPE]))

    @property
    def in_order(self) -> NDArray[np.int64]:
        """Numbers of the shots, those whose flight takes like numbers of steps together."""
        speed, angle = self.launches[:, c.SPEED], self.launches[:, c.ANGLE]
        with np.errstate(invalid="ignore", over="ignore"):
            brisk = np.where(speed * self.airs[:, c.REYNOLDS_RATE] > BRISK, 4.0, 1.0)
            steps = np.nan_to_num(0.2 * speed * angle * (1.0 - angle * angle / 6.0) * brisk / self.time_step)
        return np.argsort(np.clip(steps, 0.0, MOST_STEPS).astype(np.uint8), kind="stable")

    def part(self, start: int, stop: int) -> "Batch":
        """Return a part of the batch that stands alone."""

        def cut(rows: Floats) -> Floats:
            return rows.copy() if len(rows) == 1 else np.ascontiguousarray(rows[start:stop])

        frames, strips, airs = map(cut, (self.frames, self.strips, self.airs))
        launches = np.ascontiguousarray(self.launches[start:stop])
        return replace(self, shape=(stop - start,), launches=launches, frames=frames, strips=strips, airs=airs)

    @uncollected()
    def play(self) -> tuple[Floats, NDArray[np.int64]]:
        """Play all shots here and now: a row of numbers for each, and its hops, status and whether it dropped."""
        out, counts = np.full((self.size, len(c.RESULTS)), np.nan), np.zeros((self.size, 3), dtype=np.int64)
        ground, limits = (self.frames, self.strips, self.airs), (self.time_step, self.hops)
        if self.in_lanes:
            room = (np.zeros(ROWS), self.in_order)
            lanes_loop()(self.launches, ground, self.table, self.ball, limits, room, (out, counts, self.path))
            for i in np.flatnonzero(counts[:, c.STATUS] == Status.STILL_BOUNCING).tolist():
                # the few that no plan of steps brings down
                out[i : i + 1], counts[i : i + 1] = replace(self.part(i, i + 1), shape=()).play()
        else:
            loop()(self.launches, ground, self.survey, self.table, self.ball, limits, (out, counts), self.path)
        return out, counts


class Things(TypedDict, total=False):
    """What a shot is played with, by keyword: see `simulate`."""

    ball: Ball | None
    air: Air | None
    aerodynamics: Aerodynamics | None
    bumps: ArrayLike | int | None
    time_step: float


def batch_of(launch: Launch, ground: Green | Ground, **things: Unpack[Things]) -> Batch:
    """Make the arrays of a batch; see `simulate` for the parameters and what may be wrong with them."""
    ball, air = things.get("ball") or Ball(), things.get("air") or Air()
    aerodynamics, bumps = things.get("aerodynamics") or Aerodynamics(), things.get("bumps")
    time_step = things.get("time_step", TIME_STEP)
    require_kinds(launch=(launch, Launch), ground=(ground, (Green, Ground)), ball=(ball, Ball), air=(air, Air))
    require_kinds(aerodynamics=(aerodynamics, Aerodynamics))
    if not numbers("time_step", time_step) > 0:
        raise ValueError(f"time_step is {time_step!r}; expected a positive number of seconds")
    fields = tuple(vars(launch).values())
    scales = (aerodynamics.drag_scale, aerodynamics.lift_scale)
    normals = np.zeros((0, 2)) if bumps is None or isinstance(bumps, int) else np.asarray(bumps, dtype=float)
    if normals.ndim < 2 or normals.shape[1] not in (2, c.CHANCE):
        raise ValueError(f"bumps has shape {normals.shape}; expected (landings, 2 or 3, ...) normals, or a seed")
    shapes = [*map(np.shape, (*fields, *scales)), *shapes_of(air, ground), normals.shape[2:]]
    try:
        shape = np.broadcast_shapes(*shapes)
    except ValueError:
        raise ValueError(
            f"launch, air, aerodynamics and ground have shapes {sorted(set(shapes))}; expected them to broadcast"
        ) from None
    size = math.prod(shape)
    if isinstance(bumps, int):
        drawn = np.random.default_rng(bumps)
        normals = np.concatenate([drawn.standard_normal((BUMPS, many, *shape)) for many in (2, 1)], axis=1)
    launches = np.zeros((size, len(fields) + c.CHANCE * len(normals)))
    chance = [(len(fields) + c.CHANCE * at + kind, x) for at, row in enumerate(normals) for kind, x in enumerate(row)]
    for column, item in (*enumerate(fields), *chance):
        launches[:, column] = np.broadcast_to(np.asarray(item, dtype=float), shape).reshape(size)
    frames, strips = ground_rows(ground, shape)
    surface = ground.surface if isinstance(ground, Ground) else None
    return Batch(
        shape=shape,
        launches=launches,
        frames=frames,
        strips=strips,
        airs=air_rows(air, ball, aerodynamics, shape),
        survey=None if surface is None else surface.rows,
        table=aerodynamics.fine_table.copy(),  # writable here as it is in a worker: one compiled form
        ball=(ball.radius, ball.inertia, constants.GRAVITY.value, aerodynamics.spin_decay),
        time_step=time_step,
    )


def simulate(
    launch: Launch,
    ground: Green | Ground,
    *,
    ball: Ball | None = None,
    air: Air | None = None,
    aerodynamics: Aerodynamics | None = None,
    bumps: ArrayLike | int | None = None,
    executor: Executor | None = None,
    time_step: float = TIME_STEP,
) -> Shots:
    """Play shots from launch to rest: flight, bounces, skid and roll, to where it rests or drops.

    Raises a ValueError if shapes do not broadcast, or `time_step` is not positive. One bad element of an array is not
    an error: its shot has the status `Status.INVALID`. Models: those of `golfphys.physics.flight`,
    `golfphys.physics.bounce` and `golfphys.physics.roll`, in that order.

    Parameters
    ----------
    launch : Launch, one shot, or arrays that broadcast: any number of shots
    ground : Green or Ground
        A green is one plane through the ball; a ground has strips before and behind it, a surveyed surface, a hole.
        Their numbers may be arrays, one value for each shot.
    ball : Ball, optional, the rules' ball if left out
    air : Air, optional, still air of the standard atmosphere at sea level if left out
    aerodynamics : Aerodynamics, optional, drag and lift; the scales may be arrays, one for each shot
    bumps : array_like or int, optional
        Local slopes that landings meet, over the `unevenness` of the turf there: standard normals along x and y for
        the first landings, shape (landings, 2, ...), and for their patches of turf, over its `patchiness`, if the
        second axis has three; or a seed to draw them from. Even ground if left out.
    executor : concurrent.futures.Executor, optional
        Where to run the chunks: processes, or a cluster. Threads on this machine if left out; the results are the same.
    time_step : float, greatest time step of the flight in s

    Examples
    --------
    >>> shot = simulate(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0))
    >>> 5.0 < shot.carry < shot.rest_x < 15.0
    True
    """
    require_kinds(executor=(executor, (Executor, type(None))))
    things: Things = {"ball": ball, "air": air, "aerodynamics": aerodynamics, "bumps": bumps, "time_step": time_step}
    return play_all(batch_of(launch, ground, **things), executor)


def play_all(batch: Batch, executor: Executor | None = None) -> Shots:
    """Play a batch in chunks, on threads or in an executor, and name its results."""
    threads = os.cpu_count() or 1
    length = CHUNK if executor else min(CHUNK, max(LEAST_CHUNK, math.ceil(batch.size / threads)))
    if batch.size == 0 or (executor is None and batch.size <= length):
        return named(batch.shape, *batch.play())
    chunks = (batch.part(start, min(start + length, batch.size)) for start in range(0, batch.size, length))
    if executor is not None:
        parts = list(executor.map(Batch.play, list(chunks)))
    else:
        loop()  # load what is compiled once, not in every thread
        parts = in_threads(Batch.play, chunks)
    return named(batch.shape, *(np.concatenate(rows) for rows in zip(*parts, strict=True)))


def named(shape: tuple[int, ...], out: Floats, counts: NDArray[np.int64]) -> Shots:
    """Give the loop's results their names and the shape of the launch."""
    numbers = {name: plain(out[:, column].reshape(shape)) for column, name in enumerate(c.RESULTS)}
    bounces, status, holed = (plain(counts[:, number].reshape(shape)) for number in range(3))
    status, holed = status if shape else Status(status), plain(np.asarray(holed) > 0)
    return Shots(**numbers, bounces=bounces, status=status, holed=holed)


@dataclass(frozen=True, kw_only=True)
class Trace:
    """The path of one shot, point by point; `trace` makes it.

    Parameters
    ----------
    time, height : ndarray, since the launch, s; of the ball's underside over the ground, m
    x, y : ndarray, along the ground: along the line of play and to the left, m
    phase : ndarray of str, what the ball was doing up to each point: "flight", "skid" or "roll"
    shot : Shots, the numbers of the whole shot

    Examples
    --------
    >>> trace(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0)).phase[-1].item()
    'roll'
    """

    time: Floats
    x: Floats
    y: Floats
    height: Floats
    phase: NDArray[np.str_]
    shot: Shots


def trace(launch: Launch, ground: Green | Ground, **things: Unpack[Things]) -> Trace:
    """Play one shot and note its path, for a picture or an animation: launch, every landing, rest, and points between.

    Raises a ValueError if launch, aerodynamics or ground make more than one shot, or `time_step` is not positive. The
    very steps of `simulate`: its numbers are those of `simulate` to the last digit.

    Parameters
    ----------
    launch, ground : Launch; Green or Ground, of floats
    **things : ball, air, aerodynamics, bumps, time_step, as for `simulate`

    Examples
    --------
    >>> path = trace(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0))
    >>> path.x[-1] == path.shot.rest_x == simulate(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0)).rest_x
    True
    """
    batch = batch_of(launch, ground, **things)
    if batch.shape != ():
        raise ValueError(f"launch, aerodynamics and ground make shots of shape {batch.shape}; expected one shot")
    batch = replace(batch, path=np.zeros((c.PATH_ROWS, c.PATH_COLUMNS)))
    out, counts = batch.play()
    points = batch.path[1 : int(batch.path[0, 0]) + 1]
    # a step that ends under the ground is taken back: its points are later than the landing that follows them
    points = points[points[:, c.PATH_TIME] <= np.minimum.accumulate(points[::-1, c.PATH_TIME])[::-1]]
    surface = ground.surface if isinstance(ground, Ground) else None
    along, height = over_ground(points, batch.strips[0], surface)
    phase, shot = np.array(["flight", "skid", "roll"])[points[:, c.PATH_PHASE].astype(int)], named((), out, counts)
    return Trace(time=points[:, c.PATH_TIME], x=along, y=points[:, c.PATH_Y], height=height, phase=phase, shot=shot)


def over_ground(points: Floats, strips: Floats, surface: Any) -> tuple[Floats, Floats]:
    """Return distance along the ground and height over it of the points of a path."""
    along = points[:, c.PATH_X].copy()
    height = np.zeros(len(points))
    flying = points[:, c.PATH_PHASE] == c.FLYING
    x, z = points[flying, c.PATH_X], points[flying, c.PATH_Z]
    if surface is not None:
        height[flying] = z - surface.height_from_ball(x, points[flying, c.PATH_Y])
        return along, height
    strip = strips[np.maximum(np.searchsorted(strips[:, c.START_X], x, side="right") - 1, 0)]
    run, rise = x - strip[:, c.START_X], z - strip[:, c.START_Z]
    height[flying] = rise * strip[:, c.COSINE] - run * strip[:, c.SINE]
    along[flying] = strip[:, c.START_ALONG] + run * strip[:, c.COSINE] + rise * strip[:, c.SINE]
    return along, height
