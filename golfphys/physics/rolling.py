"""The compiled skid and roll: over planes, strips and surveyed ground, past the hole, to rest.

One integrator. The roll is stepped in its stage (golfphys/derivations/plane.py), in which coming to rest is smooth; a
crawl ends in closed form, and so does a whole roll where the rest of it is one plane of constant resistance. Steps end
at the borders of strips, where a ball leaves the surveyed ground or its `reach`, and where it drops.
"""

import math
from typing import Any

from golfphys.core import constants
from golfphys.core.law import callable_when_compiled, kernel
from golfphys.formulas import hole, plane, turf
from golfphys.formulas.flight import wind_grade
from golfphys.formulas.hole import far_rim_capture_speed
from golfphys.formulas.plane import course, greatest_resistance, ground_rates, resistance_at, rest_from
from golfphys.formulas.turf import skid
from golfphys.physics import rows as c
from golfphys.physics.rows import border, grades_at, ground_of, mark, strip_at, surveyed

callable_when_compiled(turf)
callable_when_compiled(hole, plane, wind_grade, inline=False)

SHARE = 0.3  # largest fraction of its speed that a ball of a shot loses in one step,
FINE_SHARE = 0.1  # and one that only rolls
LENGTH = 0.15  # longest step (m) of a ball that only rolls, on surveyed ground, and near the hole
CRAWL = 0.04  # speed in m/s below which the rest of a shot is closed form, within a millimetre,
FINE_CRAWL = 0.003  # and that of a ball that only rolls
MAX_STEPS = 4000  # steps after which a ball counts as one that never stops, or never begins to roll,
RUNAWAY = 50.0  # and speed in m/s from which it does
ENDLESS = 1e6  # reach (m) of a ball that is rolled for its rest alone
ROLLS_ON, DROPPED = -1, -2  # what a step of a roll may end in besides a `Status`
BORDER, REACH, EDGE, RIM = 0.0, 1.0, 2.0, 3.0  # where it may have to end: next strip, reach, survey's edge, hole's rim
STICK_REACH = constants.BALL_RADIUS.value + constants.FLAGSTICK_RADIUS.value  # offset (m) at which it meets the stick
LAST_SLIDE = 2e-3  # time (s) to rolling below which a skid ends in closed form


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
    s = strip_at(pieces, c.START_ALONG, state[0])
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


@kernel
def rates(u: float, w: float, x: float, y: float, here: Any, survey: Any, world: Any) -> Any:
    """Rates per stage of velocity, place and time of a rolling ball; the wind counts as a slope."""
    gravity, inertia, wind_x, wind_y, drag = world
    rise_x, rise_y = grades_at(here, survey, x, y)
    if drag > 0.0:
        push_x, push_y = wind_grade(u, w, wind_x, wind_y, drag, gravity)
        rise_x, rise_y = rise_x + push_x, rise_y + push_y
    return ground_rates(*(u, w, *here[2:], rise_x, rise_y, gravity, inertia))


@kernel
def advance(state: Any, h: float, here: Any, survey: Any, world: Any) -> Any:
    """One step of fourth order of a roll: x, y, time and velocity after a stage `h`."""
    x, y, t, u, w = state
    half, sixth = 0.5 * h, h / 6.0
    au, aw, ax, ay, at = rates(u, w, x, y, here, survey, world)
    bu, bw, bx, by, bt = rates(u + half * au, w + half * aw, x + half * ax, y + half * ay, here, survey, world)
    du, dw, dx, dy, dt = rates(u + half * bu, w + half * bw, x + half * bx, y + half * by, here, survey, world)
    eu, ew, ex, ey, et = rates(u + h * du, w + h * dw, x + h * dx, y + h * dy, here, survey, world)
    return (
        x + sixth * (ax + 2.0 * (bx + dx) + ex),
        y + sixth * (ay + 2.0 * (by + dy) + ey),
        t + sixth * (at + 2.0 * (bt + dt) + et),
        u + sixth * (au + 2.0 * (bu + du) + eu),
        w + sixth * (aw + 2.0 * (bw + dw) + ew),
    )


@kernel
def part_until(state: Any, h: float, here: Any, survey: Any, world: Any, kind: float, limit: Any) -> Any:
    """Fraction of a step at which a ball comes to a limit of the kind given (`BORDER` and so on)."""
    low, high = 0.0, 1.0
    for _ in range(44):
        between = 0.5 * (low + high)
        x, y, _, _, _ = advance(state, between * h, here, survey, world)
        if kind == BORDER:
            beyond = (x - limit[0]) * limit[1] >= 0.0
        elif kind == EDGE:
            beyond = not surveyed(survey, x, y)
        else:
            far = math.hypot(x - limit[0], y - limit[1])
            beyond = far >= limit[2] if kind == REACH else far <= limit[2]
        if beyond:
            high = between
        else:
            low = between
    return high


@kernel
def drops(x: float, y: float, u: float, w: float, frame: Any) -> Any:
    """Whether a ball at the near rim drops: not too fast for its path's distance from the centre of the hole."""
    speed = max(1e-12, math.hypot(u, w))
    offset = abs((frame[c.HOLE_X] - x) * w - (frame[c.HOLE_Y] - y) * u) / speed
    if offset >= frame[c.HOLE_RADIUS]:
        return False
    limit = far_rim_capture_speed(offset, frame[c.HOLE_RADIUS], frame[c.CAPTURE_SPEED])
    full = max(0.0, 1.0 - (offset / STICK_REACH) ** 2)
    return speed <= limit * (1.0 + frame[c.STICK] * full)


@kernel
def rim_part(state: Any, after: Any, h: float, here: Any, survey: Any, world: Any, frame: Any) -> Any:
    """Fraction of a step at which the ball comes to the rim from outside, or 2 if it does not."""
    radius, to_x, to_y = frame[c.HOLE_RADIUS], frame[c.HOLE_X], frame[c.HOLE_Y]
    far = math.hypot(state[0] - to_x, state[1] - to_y)
    way_x, way_y = after[0] - state[0], after[1] - state[1]
    way = way_x * way_x + way_y * way_y
    if far <= radius or far > radius + 1.5 * math.sqrt(way):
        return 2.0
    # the chord's nearest point says where in the step to look; the path itself says whether it is inside there
    part = min(1.0, max(0.0, ((to_x - state[0]) * way_x + (to_y - state[1]) * way_y) / max(way, 1e-18)))
    speed = math.hypot(state[3], state[4])
    # between chord and first heading lies all of a step: where that misses by far the path need not be looked at
    aside = abs(state[3] * way_y - state[4] * way_x) / max(speed, 1e-12)
    if math.hypot(state[0] + part * way_x - to_x, state[1] + part * way_y - to_y) > radius + 2.0 * aside + 0.01:
        return 2.0
    end = math.hypot(after[3], after[4])
    # equal parts of a stage are not equal parts of the distance: slower towards the end
    stage = part * (1.0 + end / max(speed, 1e-12)) / (1.0 + end / max(speed, 1e-12) + 1.0 - part) if part < 1.0 else 1.0
    near = advance(state, stage * h, here, survey, world)
    for _ in range(3):  # so that even a ball that only grazes the rim is looked at where it is nearest
        gone = ((near[0] - state[0]) * way_x + (near[1] - state[1]) * way_y) / max(way, 1e-18)
        stage = min(1.0, stage * part / max(gone, 1e-12))
        near = advance(state, stage * h, here, survey, world)
    if math.hypot(near[0] - to_x, near[1] - to_y) > radius:
        return 2.0
    limit = (to_x, to_y, radius)
    return stage * part_until(state, stage * h, here, survey, world, RIM, limit)


@kernel
def closed_rest(x: float, y: float, u: float, w: float, held: float, rise_x: float, rise_y: float, world: Any) -> Any:
    """Rest place and time from the start on a plane of constant resistance, which must exceed the slope."""
    rest_x, rest_y, time = rest_from(u, w, held, rise_x, rise_y, world[0], world[1])
    return x + rest_x, y + rest_y, time


@kernel
def clear_ahead(state: Any, s: int, here: Any, pieces: Any, scene: Any) -> Any:
    """Whether all that is left of a roll is one plane of constant resistance within reach, without wind or hole."""
    world, frame, start = scene
    for k in range(3, len(here)):
        if here[k] != 0.0:
            return False
    x, y, _, u, w = state
    rise_x, rise_y = here[0], here[1]
    net = here[2] - math.sqrt(rise_x * rise_x + rise_y * rise_y)
    if net <= 0.0 or world[4] > 0.0:
        return False
    longest = (u * u + w * w) * (1.0 + world[1]) * math.sqrt(1.0 + rise_x * rise_x + rise_y * rise_y)
    longest /= 2.0 * world[0] * net
    radius = frame[c.HOLE_RADIUS]
    far = start[2] < math.inf and longest + math.hypot(x - start[0], y - start[1]) >= start[2]
    near = radius > 0.0 and math.hypot(frame[c.HOLE_X] - x, frame[c.HOLE_Y] - y) < longest + radius
    back = s > 0 and (u < 0.0 or rise_x > 0.0) and x - longest < pieces[s, c.START_ALONG]
    ahead = s < pieces.shape[0] - 1 and (u > 0.0 or rise_x < 0.0) and x + longest >= pieces[s + 1, c.START_ALONG]
    return not far and not near and not back and not ahead


@kernel
def draw_closed(state: Any, held: float, rise_x: float, rise_y: float, world: Any, note: Any) -> None:
    """Note points of a roll that ends in closed form: what is left is the roll of a slower ball."""
    if note[0].shape[0] == 0 or state[3] * state[3] + state[4] * state[4] < CRAWL * CRAWL:
        return
    x, y, t, u, w = state
    rest_x, rest_y, time = closed_rest(x, y, u, w, held, rise_x, rise_y, world)
    steep = math.sqrt(rise_x * rise_x + rise_y * rise_y)
    stage, speed = 0.0, math.sqrt(u * u + w * w)
    for _ in range(400):
        stage += min(FINE_SHARE / (held + steep), LENGTH * world[0] / ((1.0 + world[1]) * speed * speed))
        speed, ahead_x, ahead_y = course(stage, u, w, held, rise_x, rise_y)
        if speed < CRAWL:
            break
        left_x, left_y, left = rest_from(speed * ahead_x, speed * ahead_y, held, rise_x, rise_y, world[0], world[1])
        mark(note, t + time - left, rest_x - left_x, rest_y - left_y, speed, c.ROLLING)


@kernel
def step_length(state: Any, here: Any, rise_x: float, rise_y: float, longest: float, share: float, world: Any) -> Any:
    """Stage of the next step of a roll: a share of the speed, a length at most."""
    speed = math.sqrt(state[3] * state[3] + state[4] * state[4])
    grain = math.sqrt(here[-2] * here[-2] + here[-1] * here[-1])
    most = greatest_resistance(speed, *here[2:-2]) * (1.0 + grain)
    steep = math.sqrt(rise_x * rise_x + rise_y * rise_y)
    return min(share / (most + steep + 1e-9), longest * world[0] / ((1.0 + world[1]) * (speed * speed + 1e-12)))


@kernel
def hold_beyond(here: Any, rise_x: float, rise_y: float) -> Any:
    """By how much resistance exceeds the slope down the fall line, where every path on a plane ends."""
    steep = math.sqrt(rise_x * rise_x + rise_y * rise_y)
    down = 1.0 / steep if steep > 0.0 else 0.0
    return resistance_at(0.0, -rise_x * down, -rise_y * down, *here[2:]) - steep


@kernel
def stop_here(state: Any, here: Any, rise_x: float, rise_y: float, world: Any) -> Any:
    """Rest of a slow ball in closed form, with the resistance that it meets, and whether it does rest."""
    x, y, t, u, w = state
    speed = math.sqrt(u * u + w * w)
    per = 1.0 / speed if speed > 0.0 else 0.0
    if world[4] > 0.0:
        push_x, push_y = wind_grade(0.0, 0.0, world[2], world[3], world[4], world[0])
        rise_x, rise_y = rise_x + push_x, rise_y + push_y
    held = resistance_at(speed / 1.5, u * per, w * per, *here[2:])
    # a ball that has all but stopped, or that a bump holds up, stays if resistance exceeds the slope down the fall line
    if held <= math.sqrt(rise_x * rise_x + rise_y * rise_y) or hold_beyond(here, rise_x, rise_y) <= 0.0:
        return x, y, t, False
    rest_x, rest_y, time = closed_rest(x, y, u, w, held, rise_x, rise_y, world)
    return rest_x, rest_y, t + time, True


@kernel
def let_go(state: Any, rise_x: float, rise_y: float) -> Any:
    """Set a ball that has all but stopped where the slope holds none moving downhill, as gravity does."""
    x, y, t, u, w = state
    if u * u + w * w >= 1e-6:
        return state
    steep = max(1e-12, math.sqrt(rise_x * rise_x + rise_y * rise_y))
    return x, y, t, -1e-3 * rise_x / steep, -1e-3 * rise_y / steep


@kernel
def end_of_step(state: Any, after: Any, h: float, s: int, here: Any, pieces: Any, survey: Any, scene: Any) -> Any:
    """Where a step ends: at the hole's rim, a border, the edge of the survey, the end of the reach, or as it was.

    Returned are the state, the strip then, and `DROPPED`, `ROLLS_ON`, or the `Status` with which the roll has ended.
    """
    world, frame, start = scene
    if frame[c.HOLE_RADIUS] > 0.0:
        part = rim_part(state, after, h, here, survey, world, frame)
        if part <= 1.0:
            at_rim = advance(state, part * h, here, survey, world)
            if drops(at_rim[0], at_rim[1], at_rim[3], at_rim[4], frame):
                return at_rim, s, DROPPED
    bound, change = border(pieces, s, after[0])
    if change != 0:
        part = part_until(state, h, here, survey, world, BORDER, (bound, float(change), 0.0))
        after = advance(state, part * h, here, survey, world)
        after = (bound, after[1], after[2], after[3], after[4])
    if start[2] < math.inf:
        if not surveyed(survey, after[0], after[1]):
            part = part_until(state, h, here, survey, world, EDGE, start)
            return advance(state, part * h, here, survey, world), s, c.LEFT_GROUND
        if math.hypot(after[0] - start[0], after[1] - start[1]) >= start[2]:
            part = part_until(state, h, here, survey, world, REACH, start)
            return advance(state, part * h, here, survey, world), s, c.NEVER_STOPS
    return after, s + change, ROLLS_ON


@kernel
def finished(state: Any, s: int, here: Any, rise: Any, pieces: Any, survey: Any, scene: Any, note: Any) -> Any:
    """Rest in closed form, where the rest of the roll has one, and whether it has."""
    x, y, t, u, w = state
    world, _, start = scene
    if survey is None and clear_ahead(state, s, here, pieces, scene):
        draw_closed(state, here[2], rise[0], rise[1], world, note)
        rest_x, rest_y, time = closed_rest(x, y, u, w, here[2], rise[0], rise[1], world)
        return (rest_x, rest_y, t + time, 0.0, 0.0), True
    crawl = FINE_CRAWL if start[2] < math.inf else CRAWL
    if u * u + w * w < crawl * crawl:
        rest_x, rest_y, then, rests = stop_here(state, here, rise[0], rise[1], world)
        return (rest_x, rest_y, then, 0.0, 0.0), rests
    return state, False


@kernel
def runs_away(state: Any, s: int, here: Any, pieces: Any, survey: Any, scene: Any, note: Any) -> Any:
    """Whether a ball goes down a plane too steep for it, past the hole and for ever, where no path need be known."""
    world, frame, start = scene
    x, y, _, u, w = state
    if survey is not None or start[2] < math.inf or note[0].shape[0] > 0 or world[4] > 0.0:
        return False
    back, ahead = s == 0 and u <= 0.0 and here[0] >= 0.0, s == pieces.shape[0] - 1 and u >= 0.0 and here[0] <= 0.0
    if pieces.shape[0] > 1 and not (back or ahead):
        return False
    if u * here[0] + w * here[1] >= 0.0 or hold_beyond(here, here[0], here[1]) > 0.0:
        return False
    to_x, to_y, radius = frame[c.HOLE_X] - x, frame[c.HOLE_Y] - y, frame[c.HOLE_RADIUS]
    return radius == 0.0 or to_x * here[0] + to_y * here[1] > radius * math.sqrt(here[0] * here[0] + here[1] * here[1])


@kernel
def roll_out(state: Any, pieces: Any, survey: Any, frame: Any, world: Any, reach: float, note: Any) -> Any:
    """Roll a ball to rest, into the hole, or to the end of its reach or of the survey (if `reach` is finite).

    `state` is x, y, time and velocity; returned are the same at the end, the status, and whether it dropped.
    """
    s = strip_at(pieces, c.START_ALONG, state[0])
    scene = (world, frame, (state[0], state[1], reach))
    here = ground_of(pieces[s])
    share = FINE_SHARE if reach < math.inf else SHARE
    radius = frame[c.HOLE_RADIUS]
    inside = radius > 0.0 and math.hypot(state[0] - frame[c.HOLE_X], state[1] - frame[c.HOLE_Y]) <= radius
    if inside and drops(state[0], state[1], state[3], state[4], frame):
        return state, c.STOPPED, True
    if reach < math.inf and not surveyed(survey, state[0], state[1]):
        return state, c.LEFT_GROUND, False
    for number in range(MAX_STEPS):
        rise = grades_at(here, survey, state[0], state[1])
        rest, ends = finished(state, s, here, rise, pieces, survey, scene, note)
        if ends:
            mark(note, rest[2], rest[0], rest[1], 0.0, c.ROLLING)
            return rest, c.STOPPED, False
        if number % 16 == 15 and runs_away(state, s, here, pieces, survey, scene, note):
            break
        state = let_go(state, rise[0], rise[1])
        near = radius > 0.0 and math.hypot(state[0] - frame[c.HOLE_X], state[1] - frame[c.HOLE_Y]) < 4.0 * LENGTH
        longest = LENGTH if survey is not None or near or reach < math.inf else 4.0 * LENGTH
        h = step_length(state, here, rise[0], rise[1], longest, share, world)
        after = advance(state, h, here, survey, world)
        state, then, status = end_of_step(state, after, h, s, here, pieces, survey, scene)
        mark(note, state[2], state[0], state[1], math.hypot(state[3], state[4]), c.ROLLING)
        if status != ROLLS_ON:
            return state, c.STOPPED if status == DROPPED else status, status == DROPPED
        if then != s:
            s, here = then, ground_of(pieces[then])
        if not state[3] * state[3] + state[4] * state[4] < RUNAWAY * RUNAWAY:
            break
    return state, c.NEVER_STOPS, False
