"""Skid and roll over strips of ground, step by step; and the noting of a path."""

import math
from typing import Any

from golfphys.formulas.turf import skid
from golfphys.formulas.varying import resistance_at
from golfphys.physics.engine import columns as c
from golfphys.physics.roll.laws import roll_out

LEG_SHARE = 0.1
"""Steps of a roll over strips, as a share of the time left to stop there."""
MAX_LEG_STEPS = 4000
"""Steps after which a skid or a roll over strips counts as one that never ends."""
CRAWL = 0.03
"""Speed (m/s) below which a roll over strips ends in closed form."""
LAST_SLIDE = 2e-3
"""Time (s) to rolling below which a skid over strips ends in closed form."""
RUNAWAY = 50.0
"""Speed (m/s) at which a ball that only gains speed is given up."""


def mark(path: Any, time: float, x: float, y: float, z: float, phase: float) -> None:
    """Note a point of the path, if a path is wanted: the first row's first number counts the points."""
    if path.shape[0] > 0:
        row = int(path[0, 0]) + 1
        if row < path.shape[0]:
            path[0, 0] = row
            path[row, 0], path[row, 1], path[row, 2], path[row, 3], path[row, 4] = time, x, y, z, phase


def ground_forces(
    sliding: bool, u: float, w: float, sx: float, sy: float, row: Any, gravity: float, inertia: float
) -> Any:
    """Acceleration along the ground, and rate of change of the slip, of a ball that slides or rolls."""
    held = gravity / math.sqrt(1.0 + row[c.GRADE_X] * row[c.GRADE_X] + row[c.GRADE_Y] * row[c.GRADE_Y])
    pull_x, pull_y = -held * row[c.GRADE_X], -held * row[c.GRADE_Y]
    if sliding:
        push = row[c.SKID_FRICTION] * held / max(1e-9, math.sqrt(sx * sx + sy * sy))
        fade = 1.0 + 1.0 / inertia
        return pull_x - push * sx, pull_y - push * sy, pull_x - push * fade * sx, pull_y - push * fade * sy
    speed = max(1e-12, math.sqrt(u * u + w * w))
    grain_x, grain_y = row[c.GRAIN] * math.cos(row[c.GRAIN_DIRECTION]), row[c.GRAIN] * math.sin(row[c.GRAIN_DIRECTION])
    resistance = resistance_at(
        speed, u / speed, w / speed, row[c.CONSTANT], row[c.LINEAR], row[c.QUADRATIC], grain_x, grain_y
    )
    push = held * resistance / speed
    return (pull_x - push * u) / (1.0 + inertia), (pull_y - push * w) / (1.0 + inertia), 0.0, 0.0


def ground_step(
    sliding: bool,
    h: float,
    a: float,
    y: float,
    u: float,
    w: float,
    sx: float,
    sy: float,
    row: Any,
    gravity: float,
    inertia: float,
) -> Any:
    """One Runge-Kutta step along the ground: place, velocity and slip."""
    ku, kw, kx, ky = ground_forces(sliding, u, w, sx, sy, row, gravity, inertia)
    half = 0.5 * h
    lu, lw, lx, ly = ground_forces(
        sliding, u + half * ku, w + half * kw, sx + half * kx, sy + half * ky, row, gravity, inertia
    )
    mu, mw, mx, my = ground_forces(
        sliding, u + half * lu, w + half * lw, sx + half * lx, sy + half * ly, row, gravity, inertia
    )
    nu, nw, nx, ny = ground_forces(sliding, u + h * mu, w + h * mw, sx + h * mx, sy + h * my, row, gravity, inertia)
    return (
        a + h * (u + h * (ku + lu + mu) / 6.0),
        y + h * (w + h * (kw + lw + mw) / 6.0),
        u + h * (ku + 2.0 * (lu + mu) + nu) / 6.0,
        w + h * (kw + 2.0 * (lw + mw) + nw) / 6.0,
        sx + h * (kx + 2.0 * (lx + mx) + nx) / 6.0,
        sy + h * (ky + 2.0 * (ly + my) + ny) / 6.0,
    )


def stopping_step(u: float, w: float, row: Any, gravity: float, inertia: float) -> float:
    """Length in s of the next step of a roll: a share of the time to stop, a tenth of a second at most."""
    speed = math.sqrt(u * u + w * w)
    au, aw, _, _ = ground_forces(False, u, w, 0.0, 0.0, row, gravity, inertia)
    slowing = -(au * u + aw * w)
    return 0.1 if slowing * 0.1 <= LEG_SHARE * speed * speed else LEG_SHARE * speed * speed / slowing


def strip_along(strips: Any, g: int, a: float) -> int:
    """Number of the strip at a distance along the ground."""
    s: int = strips.shape[1] - 1
    while s > 0 and a < strips[g, s, c.START_ALONG]:
        s -= 1
    return s


def bordered_step(
    sliding: bool,
    h: float,
    a: float,
    y: float,
    u: float,
    w: float,
    sx: float,
    sy: float,
    strips: Any,
    g: int,
    s: int,
    gravity: float,
    inertia: float,
) -> Any:
    """One step that ends at the border of the strip if it would cross it: state, strip then, and time taken."""
    row = strips[g, s]
    a1, y1, u1, w1, sx1, sy1 = ground_step(sliding, h, a, y, u, w, sx, sy, row, gravity, inertia)
    bound, change = crossed(strips, g, s, a1)
    if change == 0:
        return a1, y1, u1, w1, sx1, sy1, s, h
    part = (bound - a) / (a1 - a) if a1 != a else 1.0
    for _ in range(30):
        a1, y1, u1, w1, sx1, sy1 = ground_step(sliding, part * h, a, y, u, w, sx, sy, row, gravity, inertia)
        if abs(a1 - bound) < 1e-10 or abs(u1) < 1e-9:
            break
        part = min(1.0, max(0.0, part - (a1 - bound) / (u1 * h)))
    return bound, y1, u1, w1, sx1, sy1, s + change, part * h


def slide_on(
    a: float,
    y: float,
    u: float,
    w: float,
    sx: float,
    sy: float,
    strips: Any,
    g: int,
    gravity: float,
    inertia: float,
    clock: float,
    path: Any,
) -> Any:
    """Skid to where rolling begins: place, velocity, time; an infinite time if it never does."""
    s, time = strip_along(strips, g, a), 0.0
    for _ in range(MAX_LEG_STEPS):
        row = strips[g, s]
        way_x, way_y, end_u, end_w, left = skid(
            u, w, sx, sy, row[c.SKID_FRICTION], row[c.GRADE_X], row[c.GRADE_Y], gravity, inertia
        )
        if left < LAST_SLIDE:
            mark(path, clock + time + left, a + way_x, y + way_y, 0.0, c.SLIDING)
            return a + way_x, y + way_y, end_u, end_w, time + left
        h = min(0.25 * left, 0.1)
        a, y, u, w, sx, sy, s, h = bordered_step(True, h, a, y, u, w, sx, sy, strips, g, s, gravity, inertia)
        time += h
        mark(path, clock + time, a, y, 0.0, c.SLIDING)
    return a, y, u, w, math.inf


def crawl(a: float, y: float, u: float, w: float, row: Any, gravity: float, inertia: float) -> Any:
    """Rest place and time of a slow ball, with the resistance it meets; infinite if that does not stop it."""
    speed = max(1e-12, math.sqrt(u * u + w * w))
    grain_x = row[c.GRAIN] * math.cos(row[c.GRAIN_DIRECTION])
    grain_y = row[c.GRAIN] * math.sin(row[c.GRAIN_DIRECTION])
    slow = resistance_at(
        speed / 1.5, u / speed, w / speed, row[c.CONSTANT], row[c.LINEAR], row[c.QUADRATIC], grain_x, grain_y
    )
    rest_a, rest_y, last, _ = roll_out(
        a, y, u, w, slow, 0.0, 0.0, 0.0, 0.0, row[c.GRADE_X], row[c.GRADE_Y], gravity, inertia
    )
    return rest_a, rest_y, last


def over_strips(
    out: Any,
    a: float,
    y: float,
    u: float,
    w: float,
    sx: float,
    sy: float,
    strips: Any,
    g: int,
    gravity: float,
    inertia: float,
    clock: float,
    path: Any,
) -> int:
    """Skid and roll step by step over strips; write rest, time and where rolling began, and return the status."""
    a, y, u, w, time = slide_on(a, y, u, w, sx, sy, strips, g, gravity, inertia, clock, path)
    out[c.ROLL_X], out[c.ROLL_Y], out[c.ROLL_SPEED] = a, y, math.sqrt(u * u + w * w)
    out[c.REST_X], out[c.REST_Y], out[c.REST_TIME] = math.inf, math.inf, math.inf
    s = strip_along(strips, g, a)
    for _ in range(MAX_LEG_STEPS):
        speed = math.sqrt(u * u + w * w)
        if time == math.inf or speed > RUNAWAY:
            break
        if speed < CRAWL:
            rest_a, rest_y, last = crawl(a, y, u, w, strips[g, s], gravity, inertia)
            if last < math.inf:
                mark(path, clock + time + last, rest_a, rest_y, 0.0, c.ROLLING)
                out[c.REST_X], out[c.REST_Y], out[c.REST_TIME] = rest_a, rest_y, clock + time + last
                return c.STOPPED
        h = stopping_step(u, w, strips[g, s], gravity, inertia)
        a, y, u, w, _, _, s, h = bordered_step(False, h, a, y, u, w, 0.0, 0.0, strips, g, s, gravity, inertia)
        time += h
        mark(path, clock + time, a, y, 0.0, c.ROLLING)
    return c.NEVER_STOPS


def crossed(strips: Any, g: int, s: int, a: float) -> tuple[float, int]:
    """Border that a ball on strip `s` has crossed on its way to `a`, and the change of strip; 0 for none."""
    if s > 0 and a < strips[g, s, c.START_ALONG]:
        return strips[g, s, c.START_ALONG], -1
    if s < strips.shape[1] - 1 and a >= strips[g, s + 1, c.START_ALONG]:
        return strips[g, s + 1, c.START_ALONG], 1
    return a, 0
