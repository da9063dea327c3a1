"""A batch of shots as the loop takes it: what travels to threads, and to an executor's workers."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.physics.club import Launch
from golfphys.physics.engine import columns as c
from golfphys.physics.engine.packing import air_rows, ground_rows, shapes_of
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, GroundBatch

FloatArray = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True, eq=False)
class Batch:
    """Shots as the arrays that the loop takes.

    Parameters
    ----------
    shape : tuple of int
        Shape of the results.
    launches : tuple of ndarray
        Five flat arrays of launch values, each broadcast to the number of shots.
    frames, strips : ndarray
        Ground rows: one for all shots, or one for each.
    airs : ndarray
        Air rows: one for all shots, or one for each.
    table : ndarray
        Fine table of the coefficients.
    ball : tuple of float
        Radius, inertia, gravity and spin decay.
    time_step : float
        Greatest time step of the flight in s.
    path : ndarray
        Where to note the points of the path; no rows for none.
    """

    shape: tuple[int, ...]
    launches: tuple[FloatArray, ...]
    frames: FloatArray
    strips: FloatArray
    airs: FloatArray
    table: FloatArray
    ball: tuple[float, float, float, float]
    time_step: float
    path: FloatArray = field(default_factory=lambda: np.zeros((0, c.PATH_COLUMNS)))

    @classmethod
    def of(
        cls,
        launch: Launch,
        ground: Green | Ground | GroundBatch,
        ball: Ball,
        air: Air,
        aerodynamics: Aerodynamics,
        time_step: float,
    ) -> "Batch":
        """Make the arrays of a batch; see `golfphys.physics.shot.simulate` for what may be wrong with it."""
        if not time_step > 0:
            raise ValueError(f"time_step is {time_step!r}; expected a positive number of seconds")
        fields = (launch.speed, launch.angle, launch.backspin, launch.direction, launch.sidespin)
        scales = (aerodynamics.drag_scale, aerodynamics.lift_scale)
        ground = ground.spread if isinstance(ground, GroundBatch) else ground
        shapes = [*map(np.shape, (*fields, *scales)), *shapes_of(air, ground)]
        try:
            shape = np.broadcast_shapes(*shapes)
        except ValueError:
            raise ValueError(
                f"launch, air, aerodynamics and ground have shapes {sorted(set(shapes))}; expected them to broadcast"
            ) from None
        size = math.prod(shape)
        flat = tuple(np.broadcast_to(np.asarray(item, dtype=float), shape).reshape(size) for item in fields)
        frames, strips = ground_rows(ground, shape)
        return cls(
            shape=shape,
            launches=flat,
            frames=frames,
            strips=strips,
            airs=air_rows(air, ball, aerodynamics, shape),
            table=aerodynamics.fine_table.copy(),  # writable here as it is in a worker: one compiled form
            ball=(ball.radius, ball.inertia, constants.GRAVITY.value, aerodynamics.spin_decay),
            time_step=time_step,
        )

    @property
    def size(self) -> int:
        """Number of shots."""
        return math.prod(self.shape)

    def results(self) -> tuple[FloatArray, NDArray[np.int64]]:
        """Return arrays for the loop's results: a row of numbers, and bounces and status, for each shot."""
        return np.empty((self.size, c.RESULT_COLUMNS)), np.empty((self.size, 2), dtype=np.int64)

    def part(self, start: int, stop: int) -> "Batch":
        """Return a part of the batch that stands alone."""

        def cut(rows: FloatArray) -> FloatArray:
            return rows if len(rows) == 1 else rows[start:stop]

        return replace(
            self,
            shape=(stop - start,),
            launches=tuple(np.ascontiguousarray(item[start:stop]) for item in self.launches),
            frames=cut(self.frames),
            strips=cut(self.strips),
            airs=cut(self.airs),
        )

    def play(self, loop: Callable[..., int], start: int, stop: int, out: FloatArray, counts: NDArray[np.int64]) -> None:
        """Play shots `start` to `stop` into `out` and `counts`, which hold just those."""
        part = self.part(start, stop)
        rows = np.empty((stop - start, c.LAUNCH_COLUMNS))
        for column, values in enumerate(part.launches):
            rows[:, column] = values
        loop(
            rows,
            part.frames,
            part.strips,
            int(len(part.frames) > 1),
            part.airs,
            int(len(part.airs) > 1),
            self.table,
            self.ball,
            self.time_step,
            out,
            counts,
            self.path,
        )
