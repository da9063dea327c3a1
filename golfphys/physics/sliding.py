"""The compiled skid, from the last landing to where the ball rolls without slipping."""

import math
from typing import Any

from golfphys.core.law import callable_when_compiled, kernel
from golfphys.formulas import turf
from golfphys.formulas.turf import skid
from golfphys.physics import rows as c
from golfphys.physics.terrain import border, grades_at, ground_of, mark, strip_along

callable_when_compiled(turf)

LAST_SLIDE = 2e-3
"""Time in s to rolling below which a stepped skid ends in closed form."""
MAX_STEPS = 4000
"""Steps after which a skid counts as one that never ends."""


@kernel
def slide_rates(sx: float, sy: float, friction: float, rise_x: float, rise_y: float, world: Any) -> Any:
    """Acceleration along the ground, and rate of change of the slip, of a ball that slides."""
    held = world[0] / math.sqrt(1.0 + rise_x * rise_x + rise_y * rise_y)
    push = friction * held / max(1e-9, math.sqrt(sx * sx + sy * sy))
    fade = 1.0 + 1.0 / world[1]
    pull_x, pull_y = -held * rise_x, -held * rise_y
    return pull_x - push * sx, pull_y - push * sy, pull_x - push * fade * sx, pull_y - push * fade * sy


@kernel
def slide_step(state: Any, sx: float, sy: float, h: float, friction: float, here: Any, survey: Any, world: Any) -> Any:
    """One step of a skid: state and slip after a time `h`."""
    x, y, t, u, w = state
    rise_x, rise_y = grades_at(here, survey, x, y)
    half = 0.5 * h
    au, aw, ax, ay = slide_rates(sx, sy, friction, rise_x, rise_y, world)
    bu, bw, bx, by = slide_rates(sx + half * ax, sy + half * ay, friction, rise_x, rise_y, world)
    du, dw, dx, dy = slide_rates(sx + half * bx, sy + half * by, friction, rise_x, rise_y, world)
    eu, ew, ex, ey = slide_rates(sx + h * dx, sy + h * dy, friction, rise_x, rise_y, world)
    after = (
        x + h * (u + h * (au + bu + du) / 6.0),
        y + h * (w + h * (aw + bw + dw) / 6.0),
        t + h,
        u + h * (au + 2.0 * (bu + du) + eu) / 6.0,
        w + h * (aw + 2.0 * (bw + dw) + ew) / 6.0,
    )
    return after, sx + h * (ax + 2.0 * (bx + dx) + ex) / 6.0, sy + h * (ay + 2.0 * (by + dy) + ey) / 6.0


@kernel
def slide_out(state: Any, sx: float, sy: float, pieces: Any, survey: Any, world: Any, note: Any) -> Any:
    """Skid to where rolling begins, in closed form where that lies on one plane; an infinite time if it never does."""
    s = strip_along(pieces, state[0])
    here, friction = ground_of(pieces[s]), pieces[s, c.SKID_FRICTION]
    for _ in range(MAX_STEPS):
        x, y, t, u, w = state
        rise_x, rise_y = grades_at(here, survey, x, y)
        way_x, way_y, end_u, end_w, left = skid(u, w, sx, sy, friction, rise_x, rise_y, world[0], world[1])
        # no farther than at its greatest speed throughout
        far = left * (abs(u) + abs(end_u))
        inside = border(pieces, s, x + far)[1] == 0 and border(pieces, s, x - far)[1] == 0
        if left < LAST_SLIDE or (left == math.inf and pieces.shape[0] == 1) or (survey is None and inside):
            after = (x + way_x, y + way_y, t + left, end_u, end_w)
            if left < math.inf:
                draw_slide(state, after, note)
                mark(note, after[2], after[0], after[1], 0.0, c.SLIDING)
            return after
        h = min(0.25 * left, 0.05)
        after, sx1, sy1 = slide_step(state, sx, sy, h, friction, here, survey, world)
        bound, change = border(pieces, s, after[0])
        if change != 0:
            part = (bound - x) / (after[0] - x) if after[0] != x else 1.0
            for _ in range(30):
                after, sx1, sy1 = slide_step(state, sx, sy, part * h, friction, here, survey, world)
                if abs(after[0] - bound) < 1e-10 or abs(after[3]) < 1e-9:
                    break
                part = min(1.0, max(0.0, part - (after[0] - bound) / (after[3] * h)))
            after = (bound, after[1], after[2], after[3], after[4])
            s += change
            here, friction = ground_of(pieces[s]), pieces[s, c.SKID_FRICTION]
        state, sx, sy = after, sx1, sy1
        mark(note, state[2], state[0], state[1], 0.0, c.SLIDING)
    return state[0], state[1], math.inf, state[3], state[4]


@kernel
def draw_slide(state: Any, after: Any, note: Any) -> None:
    """Note points of a skid in closed form: velocity changes almost evenly from its start to its end."""
    x, y, t, u, w = state
    left = after[2] - t
    for k in range(1, 10 if note[0].shape[0] > 0 and left > LAST_SLIDE else 1):
        p = 0.1 * k
        a, b, d = p * p * (3.0 - 2.0 * p), left * p * (1.0 - p) * (1.0 - p), -left * p * p * (1.0 - p)
        place_x = x + a * (after[0] - x) + b * u + d * after[3]
        place_y = y + a * (after[1] - y) + b * w + d * after[4]
        mark(note, t + p * left, place_x, place_y, 0.0, c.SLIDING)
