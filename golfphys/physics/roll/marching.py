"""The path of a rolling ball, step by step, on any ground that has a slope everywhere.

Steps are of fourth order in the stage of the roll (golfphys/derivations/plane.py), in which coming to rest is smooth; a
crawl is finished in closed form on the plane that touches the ground there. Gravity acts along the touching plane;
the ground's curvature is left out (second order in the slope).
"""

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core.broadcasting import elementwise
from golfphys.formulas import plane, varying
from golfphys.physics.green import Resistance
from golfphys.physics.roll import laws
from golfphys.physics.roll.across import GRAVITY, INERTIA, coefficients, rise_of, velocity_of

Array = NDArray[np.float64]
Slope = Callable[[Array, Array], tuple[Array, Array]]
"""Rise of the ground per metre along x and y, at x and y."""
Inside = Callable[[Array, Array], NDArray[np.bool_]]
"""Whether x and y lie on ground that is known."""

_rates = elementwise(varying.ground_rates)
_rest_from = elementwise(plane.rest_from)
_resistance_at = elementwise(varying.resistance_at)

CRAWL = 0.005
"""Speed in m/s below which the rest is closed form: less than a millimetre."""
SHARE = 0.12
"""Largest part of its speed that a ball loses in one step."""
LENGTH = 0.15
"""Longest step, m."""
MOST_STEPS = 4000
"""Steps after which a ball counts as one that never stops."""


class RollStatus(IntEnum):
    """How a roll ended."""

    STOPPED = laws.STOPPED
    NEVER_STOPS = laws.NEVER_STOPS
    LEFT_GROUND = 2


@dataclass(frozen=True, kw_only=True)
class Path:
    """The way of one ball.

    Parameters
    ----------
    x, y : ndarray
        Points from start to end, m.
    time : ndarray
        Time at each, s.
    speed : ndarray
        Speed at each, m/s.
    status : RollStatus
        How it ended; a ball that never stops ends at `reach`.
    """

    x: Array
    y: Array
    time: Array
    speed: Array
    status: RollStatus


@dataclass
class _March:
    """State of many balls: rows x, y, time, velocity x, velocity y; and how each ended."""

    state: Array
    status: NDArray[np.int64]
    points: list[Array]


def _gradients(slope: Slope, state: Array) -> tuple[Array, Array]:
    rise_x, rise_y = slope(state[0], state[1])
    return np.asarray(rise_x, dtype=float), np.asarray(rise_y, dtype=float)


def _change(state: Array, law: Array, slope: Slope, gravity: float, inertia: float) -> Array:
    v_x, v_y, x, y, time = _rates(state[3], state[4], *law, *_gradients(slope, state), gravity, inertia)
    return np.array(np.broadcast_arrays(x, y, time, v_x, v_y))


def _step_length(state: Array, law: Array, steep: Array, pull: float) -> Array:
    speed = np.hypot(state[3], state[4])
    most = _resistance_at(speed, 0.0, 0.0, *np.abs(law))  # in no direction the grain says nothing
    return np.asarray(np.minimum(SHARE / (most + steep + 1e-9), LENGTH * pull / (speed**2 + 1e-12)))


def _advance(state: Array, step: Array, law: Array, slope: Slope, gravity: float, inertia: float) -> Array:
    a = _change(state, law, slope, gravity, inertia)
    b = _change(state + 0.5 * step * a, law, slope, gravity, inertia)
    c = _change(state + 0.5 * step * b, law, slope, gravity, inertia)
    d = _change(state + step * c, law, slope, gravity, inertia)
    return np.asarray(state + step / 6.0 * (a + 2.0 * (b + c) + d))


def _crawl(state: Array, law: Array, slope: Slope, gravity: float, inertia: float) -> tuple[Array, NDArray[np.bool_]]:
    """Return rest states by closed form, and which balls do rest: resistance above slope where they are."""
    speed = np.hypot(state[3], state[4])
    safe = np.where(speed > 0, speed, 1.0)
    steep_x, steep_y = _gradients(slope, state)
    steep = np.hypot(steep_x, steep_y)
    there = _resistance_at(speed / 1.5, state[3] / safe, state[4] / safe, *law)
    rests = there > steep
    held = np.where(rests, there, steep + 1.0)
    x, y, time = _rest_from(state[3], state[4], held, steep_x, steep_y, gravity, inertia)
    nothing = np.zeros_like(state[0])
    return np.array([state[0] + x, state[1] + y, state[2] + time, nothing, nothing]), rests


def _edge(before: Array, after: Array, first: Array, last: Array, inside: Inside) -> Array:
    """Return the states at which balls leave the ground in a step, from its ends and their rates times its length."""

    def part_way(part: Array) -> Array:  # cubic through both ends with their rates
        rest = 1.0 - part
        ends = (1.0 + 2.0 * part) * rest**2 * before + (1.0 + 2.0 * rest) * part**2 * after
        return np.asarray(ends + part * rest * (rest * first - part * last))

    low, high = np.zeros(before.shape[1]), np.ones(before.shape[1])
    for _ in range(40):
        middle = 0.5 * (low + high)
        within = inside(*part_way(middle)[:2])
        low, high = np.where(within, middle, low), np.where(within, high, middle)
    return part_way(low)


def march(
    state: Array,
    law: Array,
    slope: Slope,
    *,
    inside: Inside | None = None,
    reach: float = 100.0,
    gravity: float = GRAVITY,
    inertia: float = INERTIA,
    record: bool = False,
) -> _March:
    """Roll many balls to rest, or to the edge of the ground.

    Parameters
    ----------
    state : ndarray
        Rows x, y (m), time (s) and velocity along x and y (m/s), a column for each ball.
    law : ndarray
        Rows of `coefficients`: resistance constant, linear and quadratic in speed, and the grain's parts; a column
        for each ball, or one for all.
    slope : callable
        Rise of the ground per metre along x and y.
    inside : callable, optional
        Where the ground is known; a ball that leaves it ends there.
    reach : float
        Distance in m from its start at which a ball counts as one that never stops.
    gravity, inertia : float
        Acceleration of free fall, m/s^2; moment of inertia over mass times radius squared.
    record : bool
        Whether to keep the states after each step.
    """
    state = np.array(state, dtype=float)
    law = np.broadcast_to(law, (law.shape[0], state.shape[1]))
    status = np.full(state.shape[1], int(RollStatus.NEVER_STOPS))
    start = state[:2].copy()
    points = [state.copy()] if record else []
    moving = np.arange(state.shape[1])
    if inside is not None:
        off = ~inside(state[0], state[1])
        status[off] = RollStatus.LEFT_GROUND
        moving = moving[~off[moving]]
    for _ in range(MOST_STEPS):
        slow = np.hypot(state[3, moving], state[4, moving]) < CRAWL
        if np.any(slow):
            balls = moving[slow]
            ended, rests = _crawl(state[:, balls], law[:, balls], slope, gravity, inertia)
            state[:, balls[rests]] = ended[:, rests]
            status[balls[rests]] = RollStatus.STOPPED
            moving = np.setdiff1d(moving, balls[rests], assume_unique=True)
            _let_go(state, balls[~rests], slope)
            if record and np.any(rests):
                points.append(state.copy())
        if not moving.size:
            break
        before = state[:, moving]
        steep = np.hypot(*_gradients(slope, before))
        step = _step_length(before, law[:, moving], steep, gravity / (1.0 + inertia))
        after = _advance(before, step, law[:, moving], slope, gravity, inertia)
        state[:, moving] = after
        if inside is not None:
            off = ~inside(after[0], after[1])
            if np.any(off):
                rules = (law[:, moving[off]], slope, gravity, inertia)
                first, last = (step[off] * _change(side[:, off], *rules) for side in (before, after))
                state[:, moving[off]] = _edge(before[:, off], after[:, off], first, last, inside)
                status[moving[off]] = RollStatus.LEFT_GROUND
                moving = moving[~off]
        if record:
            points.append(state.copy())
        moving = moving[np.hypot(*(state[:2, moving] - start[:, moving])) < reach]
    return _March(state=state, status=status, points=points)


def _let_go(state: Array, balls: NDArray[np.int64], slope: Slope) -> None:
    """Set balls that have all but stopped where the slope holds none moving downhill, as gravity does."""
    still = balls[np.hypot(state[3, balls], state[4, balls]) < 1e-3]
    if still.size:
        rise = np.array(_gradients(slope, state[:, still]))
        state[3:, still] = -1e-3 * rise / np.hypot(*rise)


def starts(x: ArrayLike, y: ArrayLike, speed: ArrayLike, heading: ArrayLike) -> Array:
    """Return the rows of `march` for balls started at x and y."""
    rows = (x, y, 0.0, *velocity_of(speed, heading))
    return np.array([np.ravel(row) for row in np.broadcast_arrays(*(np.asarray(row, dtype=float) for row in rows))])


def one_law(
    resistance: float | Resistance, linear: float, quadratic: float, grain: float, grain_direction: float
) -> Array:
    """Return the rows of `march` for one law, the same for all balls."""
    return np.array([[float(item)] for item in coefficients(resistance, linear, quadratic, grain, grain_direction)])


def plane_slope(grade: float, fall_direction: float) -> Slope:
    """Return the slope of a plane as `march` wants it."""
    rise_x, rise_y = rise_of(grade, fall_direction)
    return lambda x, _: (np.full_like(x, rise_x), np.full_like(x, rise_y))


def follow(state: Array, law: Array, slope: Slope, **words: Any) -> Path:
    """Return the path of the one ball in `state`."""
    marched = march(state, law, slope, record=True, **words)
    x, y, time, v_x, v_y = np.array(marched.points)[:, :, 0].T
    return Path(x=x, y=y, time=time, speed=np.hypot(v_x, v_y), status=RollStatus(int(marched.status[0])))


def path(
    speed: float,
    heading: float,
    resistance: float | Resistance,
    grade: float = 0.0,
    fall_direction: float = 0.0,
    *,
    linear: float = 0.0,
    quadratic: float = 0.0,
    grain: float = 0.0,
    grain_direction: float = 0.0,
    reach: float = 30.0,
    gravity: float = GRAVITY,
    inertia: float = INERTIA,
) -> Path:
    """Return the path of a ball across a plane, for drawing.

    Parameters
    ----------
    speed, heading, resistance, grade, fall_direction : float
        As for `golfphys.physics.roll.roll`.
    linear, quadratic, grain, grain_direction : float
        As for `golfphys.physics.roll.roll`.
    reach : float
        Distance from the start in m at which the path of a ball that never stops is cut off.
    gravity, inertia : float
        As for `golfphys.physics.roll.roll`.

    Returns
    -------
    Path
        Points at most 0.15 m apart, from the start at the origin to rest.

    Raises
    ------
    ValueError
        If the speed is negative, grain is outside 0 to below 1, or a `Resistance` comes with coefficients of its own.

    Notes
    -----
    Model: golfphys/derivations/varying.py.

    Examples
    --------
    >>> way = path(1.83, 0.0, 0.08, 0.02, np.pi / 2)
    >>> round(float(way.x[-1]), 3), round(float(way.y[-1]), 3), way.status.name
    (3.036, 0.398, 'STOPPED')
    """
    law = one_law(resistance, linear, quadratic, grain, grain_direction)
    state = starts(0.0, 0.0, speed, heading)
    return follow(state, law, plane_slope(grade, fall_direction), reach=reach, gravity=gravity, inertia=inertia)
