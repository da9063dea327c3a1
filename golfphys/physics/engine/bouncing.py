"""Many bounces at once, each on turf of its own: what a fit asks when the first hop of a chip was seen.

The laws are those of `golfphys.physics.bounce`, compiled at the first call.
"""

from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.physics.bounce import HOP_LOSS, settle_take_off, turf_bounce
from golfphys.physics.engine.linking import BOUNCE, OPTIONS, relinked

Floats = NDArray[np.float64]


def bounce_rows(
    motion: Floats, normal: Floats, turf: Floats, radius: float, inertia: float, gravity: float, out: Floats
) -> None:
    """Bounce every row of velocity and spin on its row of turf; `out` gets both, and the normal speed left."""
    for i in range(motion.shape[0]):
        nx, ny, nz = normal[i, 0], normal[i, 1], normal[i, 2]
        vx, vy, vz = motion[i, 0], motion[i, 1], motion[i, 2]
        wx, wy, wz = motion[i, 3], motion[i, 4], motion[i, 5]
        vx, vy, vz, wx, wy, wz = turf_bounce(vx, vy, vz, wx, wy, wz, nx, ny, nz, radius, inertia, turf[i])
        vx, vy, vz, left = settle_take_off(vx, vy, vz, nx, ny, nz, turf[i, HOP_LOSS], gravity)
        out[i, 0], out[i, 1], out[i, 2] = vx, vy, vz
        out[i, 3], out[i, 4], out[i, 5], out[i, 6] = wx, wy, wz, left


@lru_cache(maxsize=1)
def compiled() -> Callable[..., None]:
    """Return `bounce_rows` compiled."""
    from numba import njit

    names: dict[str, Any] = {}
    for owner, name in BOUNCE:
        names[name] = njit(**OPTIONS)(relinked(getattr(owner, name), names))
    return njit(**OPTIONS)(relinked(bounce_rows, names))  # type: ignore[no-any-return]


def take_offs(
    velocity: Floats, spin: Floats, normal: Floats, turf: Floats, radius: float, inertia: float, gravity: float
) -> tuple[Floats, Floats, Floats]:
    """Return velocity and spin after one bounce each, and the normal speed that the grass leaves (0: no hop).

    Parameters
    ----------
    velocity, spin, normal : ndarray, shape (N, 3)
        m/s, rad/s, and unit normals of the ground, in the axes x along the line of play, y left, z up.
    turf : ndarray, shape (N, columns)
        Rows as `golfphys.physics.bounce.turf_row` makes them.
    radius, inertia, gravity : float
        Of the ball, m and 1; m/s^2.

    Returns
    -------
    velocity, spin : ndarray, shape (N, 3)
        After the bounce and after the grass has taken its share of the hop.
    left : ndarray, shape (N,)
        Normal speed left, m/s.
    """
    motion = np.ascontiguousarray(np.concatenate([velocity, spin], axis=1))
    out = np.empty((len(motion), 7))
    compiled()(motion, np.ascontiguousarray(normal), np.ascontiguousarray(turf), radius, inertia, gravity, out)
    return out[:, 0:3], out[:, 3:6], out[:, 6]
