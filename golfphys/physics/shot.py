"""The whole shot, one or a million: launch to rest."""

import os
from collections.abc import Callable, Iterator
from concurrent.futures import Executor, ThreadPoolExecutor
from dataclasses import dataclass, replace
from enum import IntEnum
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.ball import Ball
from golfphys.core.broadcasting import plain
from golfphys.physics.club import Launch
from golfphys.physics.engine import columns as c
from golfphys.physics.engine.batch import Batch
from golfphys.physics.engine.linking import default_loop, linked
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, GroundBatch

FloatArray = NDArray[np.float64]

CHUNK = 8192
"""Shots played by one call of the loop; bounds the memory in use beyond the results, and cuts the work for threads."""
TIME_STEP = 0.25
"""Greatest time step of the flight in s."""


class Status(IntEnum):
    """How a shot ended.

    Examples
    --------
    >>> Status(0)
    <Status.STOPPED: 0>
    """

    STOPPED = c.STOPPED
    NEVER_STOPS = c.NEVER_STOPS
    STILL_BOUNCING = c.STILL_BOUNCING
    INVALID = c.INVALID


@dataclass(frozen=True, kw_only=True)
class Laws:
    """Laws of the user's own in place of the library's; scalar functions on `math` that numba can compile.

    Each is compiled in the process that uses it, together with the loop: the first batch takes about ten seconds.

    Parameters
    ----------
    bounce : callable, optional
        ``(vx, vy, vz, sx, sy, sz, nx, ny, nz, radius, inertia, row)`` to the six components after a bounce; `row`
        holds the turf's numbers and may be left alone.
    drag, lift : callable, optional
        ``(reynolds, spin_ratio)`` to the coefficient.
    skid : callable, optional
        As `golfphys.formulas.turf.skid`.
    roll : callable, optional
        As `golfphys.physics.roll.roll_out`.

    Examples
    --------
    >>> Laws(drag=lambda reynolds, spin_ratio: 0.45).replaced
    ('own_drag',)
    """

    bounce: Callable[..., Any] | None = None
    drag: Callable[[float, float], float] | None = None
    lift: Callable[[float, float], float] | None = None
    skid: Callable[..., Any] | None = None
    roll: Callable[..., Any] | None = None

    @property
    def named(self) -> dict[str, Callable[..., Any]]:
        """The laws brought, by the name of the one that each replaces."""
        pairs = {
            "turf_bounce": self.bounce,
            "own_drag": self.drag,
            "own_lift": self.lift,
            "skid": self.skid,
            "roll_out": self.roll,
        }
        return {name: law for name, law in pairs.items() if law is not None}

    @property
    def replaced(self) -> tuple[str, ...]:
        """Names of what is replaced."""
        return tuple(self.named)


@dataclass(frozen=True, kw_only=True)
class Shots:
    """Results of a batch of shots: arrays of the shape of the launch, floats for a single one.

    Distances are along the ground in m, from the ball; x along the line of play, y to the left. Where a shot did not
    stop its rest is infinite; where it was invalid its numbers are NaN.

    Parameters
    ----------
    carry : ndarray
        From launch to first landing.
    landing_x, landing_y : ndarray
        Where it first landed.
    flight_time : ndarray
        Time in s to the first landing.
    landing_speed : ndarray
        m/s.
    landing_angle : ndarray
        Below the horizontal, rad.
    landing_spin : ndarray
        Backspin on landing, rad/s.
    apex : ndarray
        Greatest height over the launch before the first landing, m.
    bounces : ndarray of int
        Hops after the first landing: landings from which the ball left the ground again.
    hop_x, hop_y, hop_time : ndarray
        Where, and how long after the launch in s, the first hop came down; the landing itself where there is no hop.
    roll_x, roll_y, roll_speed : ndarray
        Where it began to roll without slipping, and how fast, m/s.
    rest_x, rest_y : ndarray
        Where it came to rest.
    rest_time : ndarray
        Time in s from launch to rest.
    status : ndarray of int
        A `Status` for each shot.

    Examples
    --------
    >>> shot = simulate(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0))
    >>> shot.stops, shot.status == Status.STOPPED
    (True, True)
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

    @property
    def stops(self) -> Any:
        """Whether each shot came to rest."""
        return plain(np.asarray(self.status) == Status.STOPPED)

    @property
    def roll_distance(self) -> Any:
        """Distance in m from first landing to rest: bounces, skid and roll."""
        with np.errstate(invalid="ignore"):
            return plain(np.hypot(self.rest_x - self.landing_x, self.rest_y - self.landing_y))

    def __len__(self) -> int:
        """Return the number of shots."""
        return int(np.size(self.carry))


def simulate(
    launch: Launch,
    ground: Green | Ground | GroundBatch,
    *,
    ball: Ball | None = None,
    air: Air | None = None,
    aerodynamics: Aerodynamics | None = None,
    laws: Laws | None = None,
    executor: Executor | None = None,
    time_step: float = TIME_STEP,
) -> Shots:
    """Play shots from launch to rest: flight, bounces, skid and roll.

    Parameters
    ----------
    launch : Launch
        One shot, or arrays that broadcast: any number of shots.
    ground : Green, Ground or GroundBatch
        A green is one plane through the ball; a ground has strips before it. Their numbers may be arrays, one value
        for each shot.
    ball : Ball, optional
        The rules' ball if left out.
    air : Air, optional
        Still air of the standard atmosphere at sea level if left out.
    aerodynamics : Aerodynamics, optional
        Drag and lift; the scales may be arrays, one for each shot.
    laws : Laws, optional
        Laws of your own.
    executor : concurrent.futures.Executor, optional
        Where to run the chunks: processes, or a cluster. Threads on this machine if left out. The results do not
        depend on it.
    time_step : float
        Greatest time step of the flight in s.

    Returns
    -------
    Shots
        Arrays of the broadcast shape, or floats.

    Raises
    ------
    ValueError
        If shapes do not broadcast, or `time_step` is not positive. One bad element of an array is not an error: its
        shot has the status `Status.INVALID`.

    Notes
    -----
    Models: those of `golfphys.physics.flight`, `golfphys.physics.bounce` and `golfphys.physics.roll`, in that order.

    Examples
    --------
    >>> shot = simulate(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0))
    >>> 5.0 < shot.carry < shot.rest_x < 15.0
    True
    """
    batch = Batch.of(launch, ground, ball or Ball(), air or Air(), aerodynamics or Aerodynamics(), time_step)
    laws = laws or Laws()
    out, counts = batch.results()
    if executor is None:
        loop = loop_for(laws)
        if batch.size <= CHUNK:
            batch.play(loop, 0, batch.size, out, counts)
        else:
            with ThreadPoolExecutor(os.cpu_count() or 1) as threads:
                done = [
                    threads.submit(batch.play, loop, start, stop, out[start:stop], counts[start:stop])
                    for start, stop in cuts(batch.size)
                ]
                for task in done:
                    task.result()
    else:
        parts = [(cut, executor.submit(play_part, batch.part(*cut), laws)) for cut in cuts(batch.size)]
        for (start, stop), part in parts:
            out[start:stop], counts[start:stop] = part.result()
    return named(batch.shape, out, counts)


def cuts(size: int) -> Iterator[tuple[int, int]]:
    """Cut `size` shots into chunks."""
    for start in range(0, size, CHUNK):
        yield start, min(start + CHUNK, size)


def loop_for(laws: Laws) -> Callable[..., int]:
    """Return the compiled loop for `laws`."""
    return own_loop(laws) if laws.replaced else default_loop()


@lru_cache(maxsize=8)
def own_loop(laws: Laws) -> Callable[..., int]:
    """Return the loop with laws of the user's, compiled once in this process."""
    return linked(laws.named, cached=False)


def play_part(batch: Batch, laws: Laws) -> tuple[FloatArray, NDArray[np.int64]]:
    """Play all of `batch` here and now; what an executor's worker runs."""
    out, counts = batch.results()
    batch.play(loop_for(laws), 0, batch.size, out, counts)
    return out, counts


def named(shape: tuple[int, ...], out: FloatArray, counts: NDArray[np.int64]) -> Shots:
    """Give the loop's results their names and the shape of the launch."""

    def column(number: int) -> Any:
        return plain(out[:, number].reshape(shape))

    bounces, status = (plain(counts[:, number].reshape(shape)) for number in (0, 1))
    return Shots(
        carry=column(c.CARRY),
        landing_x=column(c.LANDING_X),
        landing_y=column(c.LANDING_Y),
        flight_time=column(c.FLIGHT_TIME),
        landing_speed=column(c.LANDING_SPEED),
        landing_angle=column(c.LANDING_ANGLE),
        landing_spin=column(c.LANDING_BACKSPIN),
        apex=column(c.APEX),
        bounces=bounces,
        hop_x=column(c.HOP_X),
        hop_y=column(c.HOP_Y),
        hop_time=column(c.HOP_TIME),
        roll_x=column(c.ROLL_X),
        roll_y=column(c.ROLL_Y),
        roll_speed=column(c.ROLL_SPEED),
        rest_x=column(c.REST_X),
        rest_y=column(c.REST_Y),
        rest_time=column(c.REST_TIME),
        status=status if shape else Status(status),
    )


PATH_ROWS = 4000
"""Most points of a path; what comes after them is not noted."""


@dataclass(frozen=True, kw_only=True)
class Trace:
    """The path of one shot, point by point.

    Parameters
    ----------
    time : ndarray
        Since the launch, s.
    x, y : ndarray
        Along the ground: along the line of play and to the left, m.
    height : ndarray
        Of the ball's underside over the ground, m.
    phase : ndarray of str
        What the ball was doing up to each point: "flight", "skid" or "roll".
    shot : Shots
        The numbers of the whole shot.

    Examples
    --------
    >>> path = trace(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0))
    >>> bool(path.height.max() > 0.9), path.phase[-1].item()
    (True, 'roll')
    """

    time: FloatArray
    x: FloatArray
    y: FloatArray
    height: FloatArray
    phase: NDArray[np.str_]
    shot: Shots

    @property
    def z(self) -> FloatArray:
        """The same as `height`: how high to draw each point over a ground drawn level."""
        return self.height


def trace(
    launch: Launch,
    ground: Green | Ground,
    *,
    ball: Ball | None = None,
    air: Air | None = None,
    aerodynamics: Aerodynamics | None = None,
    laws: Laws | None = None,
    time_step: float = 0.02,
) -> Trace:
    """Play one shot and note its path, for a picture or an animation.

    Parameters
    ----------
    launch : Launch
        One shot: floats.
    ground : Green or Ground
        Where it is played.
    ball, air, aerodynamics, laws
        As for `simulate`.
    time_step : float
        Time between points of the flight, s.

    Returns
    -------
    Trace
        At least the launch, every landing and the rest.

    Raises
    ------
    ValueError
        If launch, aerodynamics or ground make more than one shot, or `time_step` is not positive.

    Notes
    -----
    The same laws as `simulate`; the skid and the roll are stepped here and in closed form there.

    Examples
    --------
    >>> path = trace(Launch(8.0, 0.6, 250.0), Green.from_stimp(10.0))
    >>> round(float(path.x[-1]), 2) == round(path.shot.rest_x, 2)
    True
    """
    batch = Batch.of(launch, ground, ball or Ball(), air or Air(), aerodynamics or Aerodynamics(), time_step)
    if batch.shape != ():
        raise ValueError(f"launch, aerodynamics and ground make shots of shape {batch.shape}; expected one shot")
    batch = replace(batch, path=np.zeros((PATH_ROWS, c.PATH_COLUMNS)))
    out, counts = play_part(batch, laws or Laws())
    points = batch.path[1 : int(batch.path[0, 0]) + 1]
    along, height = over_ground(points, batch.strips[0])
    names = np.array(["flight", "skid", "roll"])
    return Trace(
        time=points[:, c.PATH_TIME],
        x=along,
        y=points[:, c.PATH_Y],
        height=height,
        phase=names[points[:, c.PATH_PHASE].astype(int)],
        shot=named(batch.shape, out, counts),
    )


def over_ground(points: FloatArray, strips: FloatArray) -> tuple[FloatArray, FloatArray]:
    """Return distance along the ground and height over it of the points of a path."""
    along = points[:, c.PATH_X].copy()
    height = np.zeros(len(points))
    flying = points[:, c.PATH_PHASE] == c.FLYING
    x, z = points[flying, c.PATH_X], points[flying, c.PATH_Z]
    strip = strips[np.maximum(np.searchsorted(strips[:, c.START_X], x, side="right") - 1, 0)]
    run, rise = x - strip[:, c.START_X], z - strip[:, c.START_Z]
    height[flying] = rise * strip[:, c.COSINE] - run * strip[:, c.SINE]
    along[flying] = strip[:, c.START_ALONG] + run * strip[:, c.COSINE] + rise * strip[:, c.SINE]
    return along, height
