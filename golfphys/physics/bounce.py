"""The bounce: the laws of turf, vector laws for any spin and slope, as scalars for the shot and as public functions.

A turf's numbers travel as a flat row (`golfphys.physics.rows.turf_row`), so that one compiled loop serves every turf.
"""

import math
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast, plain
from golfphys.core.constants import Ball
from golfphys.formulas import turf as laws
from golfphys.formulas.impact import impact
from golfphys.physics.green import LinearTurf, Turf
from golfphys.physics.rows import RIGID, turf_row

_USUAL_LANDING = (constants.CHIP_LANDING_ANGLE.value, constants.CHIP_LANDING_SPEED.value)
_DENT_SPEED = constants.TURF_DENT_SPEED.value
MOST_KEPT = 1.0  # limit of the logarithm of what a landing keeps: beyond it there is no turf

Triple = tuple[float, float, float]
Motion = tuple[float, float, float, float, float, float]  # velocity and spin, three components each


def rigid_bounce(motion: Motion, normal: Triple, ball: tuple[float, float], turf: Any) -> Motion:
    """Motion after a bounce on rigid turf tilted by the dent: `ball` is radius and inertia, `turf` eight numbers."""
    vx, vy, vz, sx, sy, sz = motion
    rest, linear, quadratic, limit, tilt, dent, friction, gripped = turf
    tx, ty, tz = laws.dented_normal(vx, vy, vz, normal[0], normal[1], normal[2], tilt, dent)
    approach = max(0.0, -(vx * tx + vy * ty + vz * tz))
    returned = laws.turf_restitution(approach, rest, linear, quadratic, limit)
    return impact(vx, vy, vz, sx, sy, sz, tx, ty, tz, returned, friction, gripped, 0.0, ball[0], ball[1])


def turf_bounce(motion: Motion, normal: Triple, ball: tuple[float, float], row: Any) -> Motion:
    """Motion after a bounce, by the turf's own family."""
    if row[0] == RIGID:
        return rigid_bounce(motion, normal, ball, (row[1], row[2], row[3], row[4], row[5], row[6], row[7], row[8]))
    return laws.linear_bounce(*motion, *normal, row[1], row[2], row[3], row[4], row[5], row[6], row[7], *ball)


def as_kept(after: Motion, landing: Motion, normal: Triple, patch: float, by_angle: float, by_speed: float) -> Motion:
    """Motion after a bounce with what this landing keeps: by the law's departures, and by the patch of turf."""
    if patch == 0.0 and by_angle == 0.0 and by_speed == 0.0:
        return after
    departure = laws.landing_departure(*landing[:3], *normal, patch, by_angle, by_speed, *_USUAL_LANDING, _DENT_SPEED)
    return laws.kept_motion(*after, *normal, math.exp(min(max(departure, -MOST_KEPT), MOST_KEPT)))


def settle_take_off(velocity: Triple, normal: Triple, hop_loss: float, gravity: float) -> tuple[float, ...]:
    """Velocity after the grass has taken its share of a hop, and the normal speed left (0: the ball stays down)."""
    (vx, vy, vz), (nx, ny, nz) = velocity, normal
    rise = vx * nx + vy * ny + vz * nz
    left = laws.hop_speed(max(0.0, rise), hop_loss, gravity)
    drop = left - rise
    return vx + drop * nx, vy + drop * ny, vz + drop * nz, left


def bounce(
    velocity: ArrayLike,
    spin: ArrayLike,
    turf: Turf | LinearTurf | None = None,
    *,
    normal: ArrayLike = (0.0, 0.0, 1.0),
    ball: Ball | None = None,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Return velocity and spin of a ball after one bounce on turf, before the grass takes its share of the hop.

    Raises a ValueError if an argument does not have three components, or the normal is not a unit vector. A ball moving
    away from the ground is returned as it came. Models: Cross, Am. J. Phys. 70, 1093 (2002), and Penner, Can. J. Phys.
    80, 931 (2002; from memory) for `Turf`; Biber et al., Sports Engineering 26 (2023) for the form of `LinearTurf`.

    Parameters
    ----------
    velocity, spin : array_like, shape (..., 3)
        Velocity in m/s and spin in rad/s at landing, in the axes x along the line of play, y left, z up. Backspin of
        a ball flying along x is a negative y component.
    turf : Turf or LinearTurf, optional, the published turf if left out
    normal : array_like, shape (..., 3), unit normal of the ground
    ball : Ball, optional, the rules' ball if left out

    Examples
    --------
    A pitch with 300 rad/s of backspin checks; the same with none runs:

    >>> velocity, _ = bounce([5.0, 0.0, -5.0], [[0.0, -300.0, 0.0], [0.0, 0.0, 0.0]])
    >>> bool(velocity[0, 0] < velocity[1, 0])
    True
    """
    arrays = [np.asarray(item, dtype=float) for item in (velocity, spin, normal)]
    for name, array in zip(("velocity", "spin", "normal"), arrays, strict=True):
        if array.ndim == 0 or array.shape[-1] != 3:
            raise ValueError(f"{name} has shape {array.shape}; expected three components on the last axis")
    if not np.allclose(np.linalg.norm(arrays[2], axis=-1), 1.0, atol=1e-6):
        raise ValueError(f"normal is {normal!r}; expected unit vectors")
    ball, row = ball or Ball(), turf_row(turf if turf is not None else Turf())

    def law(*numbers: float) -> Motion:
        return turf_bounce(numbers[:6], numbers[6:], (ball.radius, ball.inertia), row)  # type: ignore[arg-type]

    after = broadcast(law, *(array[..., axis] for array in arrays for axis in range(3)))
    return np.stack(after[:3], axis=-1), np.stack(after[3:], axis=-1)


def drop_restitution(drop_height: ArrayLike, rebound_height: ArrayLike) -> Any:
    """Return the coefficient of restitution that a drop test shows, from heights above 0 in m.

    >>> round(drop_restitution(0.92, 0.677), 3)
    0.858
    """
    drop, rebound = np.asarray(drop_height, dtype=float), np.asarray(rebound_height, dtype=float)
    if not np.all(drop > 0) or not np.all(rebound >= 0):
        raise ValueError(f"drop_height {drop_height!r}, rebound_height {rebound_height!r}; expected metres above 0")
    return plain(np.sqrt(rebound / drop))


def rebound_height(turf: Turf | LinearTurf, drop_height: ArrayLike) -> Any:
    """Return how high, m, a ball that falls `drop_height` m on `turf` bounces, before the grass takes its share.

    >>> round(rebound_height(Turf(), 1.0), 3)
    0.131
    """
    if not np.all(np.asarray(drop_height) >= 0):
        raise ValueError(f"drop_height is {drop_height!r}; expected metres not below 0")
    ball, row, gravity = Ball(), turf_row(turf), constants.GRAVITY.value

    def law(height: float) -> float:
        down = -math.sqrt(2.0 * gravity * height)
        rise = turf_bounce((0.0, 0.0, down, 0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (ball.radius, ball.inertia), row)[2]
        return rise * rise / (2.0 * gravity)

    return broadcast(law, drop_height)
