"""The compiled flight: from the ground until the ball meets it again, with the landing found inside a step."""

import math
from collections.abc import Callable
from typing import Any

from numba import njit

from golfphys.core.law import INSIDE, callable_when_compiled, kernel
from golfphys.formulas import flight as flight_formulas
from golfphys.formulas.flight import flight_acceleration, spin_loss, wind_grade, wind_share
from golfphys.physics import rows as c
from golfphys.physics.flight import table_coefficients, through_air
from golfphys.physics.rows import mark, strip_at, survey_at

callable_when_compiled(wind_grade, wind_share, inline=False)
callable_when_compiled(flight_formulas, through_air, table_coefficients)

# Reynolds number of a launch above which steps are a quarter as long: the drag crisis bends the flight faster
BRISK = 3.6e4
# a hop shorter than this (s) flies with the air's push at its middle throughout: wrong by less than 0.02 mm
SHORT_HOP = 0.05
# time (s) from the ground within which a landing is closed by a cubic: on one plane, and where the ground bends
NEAR_GROUND, NEAR_BORDER = 0.03, 0.002
MAX_PASSES = 12  # steps added to bring a ball to its plane,
MOST_PLANNED = 100  # and steps planned, beyond which it is played as over any ground
MAX_STEPS = 4000  # steps after which a ball is given up that will not come down
GRADED = 0.5  # longest step in wind, as a share of the time in which height and roughness change by themselves
ENDS = 1.0 + 1e-9  # what `note_flight` takes for a step that ends on the ground: who bounces the ball notes the landing
SPACING = 0.02  # time (s) between the points that are noted of a flight

once: Callable[..., Any] = njit(inline="always", **INSIDE)
"""Decorator of a long function called in one place: compiled with its caller, as each compiled alone is linked and
made fast anew in all that are above it."""


@kernel
def ground_under(pieces: Any, survey: Any, x: float, y: float) -> Any:
    """Height and slopes of the ground in the axes of the flight, and the number of the strip."""
    if survey is not None:
        return *survey_at(survey, x, y), strip_at(pieces, c.START_ALONG, x)
    s = strip_at(pieces, c.START_X, x)
    slope = pieces[s, c.SLOPE]
    return pieces[s, c.START_Z] + slope * (x - pieces[s, c.START_X]), slope, 0.0, s


@kernel
def one_plane(pieces: Any, survey: Any) -> Any:
    """Whether all of the ground is one plane."""
    even = survey is None
    for s in range(pieces.shape[0]):
        even = even and pieces[s, c.SLOPE] == 0.0
    return even


@kernel
def push(motion: Any, over: float, flight: Any) -> Any:
    """Acceleration, and the spin's rate of change, of a ball with this velocity and spin `over` the ground.

    `flight` is the axis of the spin, gravity with wind, ball and air, the table of drag and lift, and the longest step.
    """
    axis, here, table, _ = flight
    gx, gy, gz, wx, wy, wz, radius, decay, rate, drag_share, lift_share, wind_height, roughness = here
    if roughness > 0.0:
        share = wind_share(max(over + radius, 0.0), wind_height, roughness)
        wx, wy, wz = wx * share, wy * share, wz * share
    ux, uy, uz, airspeed, reynolds, spun = through_air(motion[:3], motion[3], (wx, wy, wz), radius, rate)
    drag, lift = table_coefficients(reynolds, spun, table)
    ax, ay, az = axis
    held, lifted = drag_share * airspeed * drag, lift_share * airspeed * lift
    x, y, z = flight_acceleration(ux, uy, uz, ax, ay, az, held, lifted, gx, gy, gz)
    return x, y, z, -spin_loss(motion[3], airspeed, radius, decay)


@kernel
def fly_step(state: Any, k: Any, h: float, base: float, flight: Any) -> Any:
    """One Runge-Kutta step from a state with its slopes `k`; `base` is the height of the ground."""
    x, y, z, vx, vy, vz, spin = state
    kx, ky, kz, kw = k
    half, sixth, over = 0.5 * h, h / 6.0, z - base
    motion = (vx + half * kx, vy + half * ky, vz + half * kz, spin + half * kw)
    bx, by, bz, bw = push(motion, over + half * vz, flight)
    motion = (vx + half * bx, vy + half * by, vz + half * bz, spin + half * bw)
    dx, dy, dz, dw = push(motion, over + half * (vz + half * kz), flight)
    motion = (vx + h * dx, vy + h * dy, vz + h * dz, spin + h * dw)
    ex, ey, ez, _ = push(motion, over + h * (vz + half * bz), flight)
    return (
        x + h * (vx + sixth * (kx + bx + dx)),
        y + h * (vy + sixth * (ky + by + dy)),
        z + h * (vz + sixth * (kz + bz + dz)),
        vx + sixth * (kx + bx + dx + (bx + dx) + ex),
        vy + sixth * (ky + by + dy + (by + dy) + ey),
        vz + sixth * (kz + bz + dz + (bz + dz) + ez),
        spin + h * dw,
    )


@kernel
def between(state: Any, after: Any, h: float, part: float) -> Any:
    """Place at a fraction of a step, on the cubic through both ends with their velocities."""
    a = part * part * (3.0 - 2.0 * part)
    b, d = h * part * (1.0 - part) * (1.0 - part), -h * part * part * (1.0 - part)
    return (
        state[0] + a * (after[0] - state[0]) + b * state[3] + d * after[3],
        state[1] + a * (after[1] - state[1]) + b * state[4] + d * after[4],
        state[2] + a * (after[2] - state[2]) + b * state[5] + d * after[5],
    )


@kernel
def clearance(state: Any, after: Any, h: float, part: float, pieces: Any, survey: Any) -> Any:
    """Height over the ground at a fraction of a step."""
    x, y, z = between(state, after, h, part)
    return z - ground_under(pieces, survey, x, y)[0]


@kernel
def note_flight(state: Any, after: Any, h: float, until: float, note: Any) -> None:
    """Note points inside the first part `until` of a step of the flight, and its end if that is all of it."""
    if note[0].shape[0] > 0 and h > 0.0 and until > 0.0:
        part = min(until, 1.0)
        count = int(part * h / SPACING) + 1
        for k in range(1, count):
            x, y, z = between(state, after, h, part * k / count)
            mark(note, h * part * k / count, x, y, z, c.FLYING)
        if until == 1.0:
            mark(note, h, after[0], after[1], after[2], c.FLYING)


@kernel
def top_of(state: Any, after: Any, h: float, here: Any) -> Any:
    """Gravity times the height over the start at which the rise of a step ended."""
    rise, fall = state[5], after[5]
    part = rise / max(1e-12, rise - fall)
    bend = h * part * (1.0 - part)
    height = state[2] + part * part * (3.0 - 2.0 * part) * (after[2] - state[2])
    height += bend * ((1.0 - part) * rise - part * fall)
    aside_x, aside_y = state[0] + part * (after[0] - state[0]), state[1] + part * (after[1] - state[1])
    return -here[2] * height - here[0] * aside_x - here[1] * aside_y


@kernel
def time_left(rise: float, bend: float, turn: float, gap: float) -> Any:
    """Time to the ground: one turn of Newton's method takes the parabola's root to the cubic's."""
    root = math.sqrt(max(0.0, rise * rise - 2.0 * bend * gap))
    left = 2.0 * gap / max(1e-9, root - rise)
    miss = gap + left * (rise + left * (0.5 * bend + left * turn / 6.0))
    return left - miss / min(-1e-9, rise + left * (bend + 0.5 * left * turn))


@kernel
def plan(state: Any, rise_x: float, rise_y: float, flight: Any) -> Any:
    """Length of a hop from the push at its middle, with that push, and the fall that it has."""
    _, _, _, vx, vy, vz, spin = state
    here = flight[1]
    rise = vz - rise_x * vx - rise_y * vy
    mid = max(0.0, -rise / (here[2] - rise_x * here[0] - rise_y * here[1]))
    mx, my, mz = vx + mid * here[0], vy + mid * here[1], vz + mid * here[2]
    k = push((mx, my, mz, spin), 0.5 * mid * max(rise, 0.0), flight)
    down = min(k[2] - rise_x * k[0] - rise_y * k[1], -1.0)
    return max(0.0, -2.0 * rise / down), k, down


@kernel
def first_contact(state: Any, after: Any, h: float, gap: float, pieces: Any, survey: Any) -> Any:
    """Fraction of a step at which the ball first meets the ground; 1 if it does not, or only at the end."""
    low = 0.0
    for quarter in (0.25, 0.5, 0.75, 1.0):
        over = gap if quarter == 1.0 else clearance(state, after, h, quarter, pieces, survey)
        if over < 0.0:
            high = quarter
            for _ in range(40):
                middle = 0.5 * (low + high)
                if clearance(state, after, h, middle, pieces, survey) > 0.0:
                    low = middle
                else:
                    high = middle
            return high
        low = quarter
    return 1.0


@kernel
def left_to_go(after: Any, k1: Any, jerk: Any, gap: float, rise_x: float, rise_y: float) -> Any:
    """Time to the ground that rises as given, from a state over it, and the speed away from it."""
    rise = after[5] - rise_x * after[3] - rise_y * after[4]
    bend, turn = k1[2] - rise_x * k1[0] - rise_y * k1[1], jerk[2] - rise_x * jerk[0] - rise_y * jerk[1]
    return time_left(rise, bend, turn, gap), rise


@kernel
def set_down(after: Any, k: Any, jerk: Any, left: float, pieces: Any, survey: Any) -> Any:
    """State on the ground, a short time after (or before) a state near it."""
    x = after[0] + left * (after[3] + left * (0.5 * k[0] + left * jerk[0] / 6.0))
    y = after[1] + left * (after[4] + left * (0.5 * k[1] + left * jerk[1] / 6.0))
    return (
        x,
        y,
        ground_under(pieces, survey, x, y)[0],
        after[3] + left * (k[0] + 0.5 * left * jerk[0]),
        after[4] + left * (k[1] + 0.5 * left * jerk[1]),
        after[5] + left * (k[2] + 0.5 * left * jerk[2]),
        after[6] + left * k[3],
    )


@once
def fly(start: Any, flight: Any, pieces: Any, survey: Any, note: Any) -> Any:
    """Fly from the ground until the ball meets it again.

    `start` is place, velocity and spin; returned are the same at the landing, the time taken (infinite for a ball that
    does not come down) and gravity times the greatest height over the launch.
    """
    _, rise_x, rise_y, _ = ground_under(pieces, survey, start[0], start[1])
    time, k, down = plan(start, rise_x, rise_y, flight)
    even = one_plane(pieces, survey) and flight[1][12] == 0.0
    up = max(start[5], 0.0)
    top = 0.5 * up * up / down * flight[1][2] if even else 0.0
    if even and time < SHORT_HOP:
        # the push at its middle serves throughout
        landed = set_down(start, k, (0.0, 0.0, 0.0), time, pieces, survey)
        note_flight(start, landed, time, ENDS, note)
        return landed, time, top
    return fly_on(start, time, top, even, flight, pieces, survey, note)


@once
def fly_on(start: Any, time: float, top: float, even: bool, flight: Any, pieces: Any, survey: Any, note: Any) -> Any:
    """Fly in steps.

    Over one plane, in the same wind at every height (`even`), the steps are those planned, operation by operation as
    `golfphys.physics.lanes` takes them for many shots; else, and where that does not bring the ball down, every step is
    looked through for the ground and ends there.
    """
    here, path, clock = flight[1], note[0], note[1]
    brisk = through_air(start[3:6], 0.0, here[3:6], here[6], here[8])[4] > BRISK
    steps = math.ceil(time * (4.0 if brisk else 1.0) / flight[3])
    even = even and steps <= MOST_PLANNED
    longest = max(time, 1e-3) / max(1.0, steps * (4.0 if here[12] > 0.0 else 1.0))
    h = time / steps if even else longest
    k = first = push(start[3:], 0.0, flight)
    state, taken, shortened, noted = start, 0.0, False, path[0, 0] if path.shape[0] > 0 else 0.0
    base = ground_under(pieces, survey, start[0], start[1])[0]
    for number in range(MAX_STEPS):
        if even and number >= steps + MAX_PASSES:  # it does not come down as planned: once more, as over any ground
            even, state, k, taken, h, top = False, start, first, 0.0, longest, 0.0
            if path.shape[0] > 0:
                path[0, 0] = noted
        if here[12] > 0.0:  # the wind changes with the logarithm of the height
            h = min(h, GRADED * (max(state[2] - base, 0.0) + here[6] + here[12]) / max(abs(state[5]), 1e-3))
        after = fly_step(state, k, h, base, flight)
        base_then, rise_x, rise_y, _ = ground_under(pieces, survey, after[0], after[1])
        gap = after[2] - base_then
        part = 1.0 if even or shortened else first_contact(state, after, h, gap, pieces, survey)
        shortened = part < 1.0
        if shortened:
            h *= max(0.02, part)
            continue
        if state[5] > 0.0 and after[5] <= 0.0:
            top = top_of(state, after, h, here)
        k1 = push(after[3:], gap, flight)
        per = 1.0 / h
        jerk = per * (k1[0] - k[0]), per * (k1[1] - k[1]), per * (k1[2] - k[2])
        left, rise = left_to_go(after, k1, jerk, gap, rise_x, rise_y)
        if even:
            closing = number + 1 >= steps
            left = min(0.25, max(-0.25, left)) if closing else 0.0
            time += left
            near = closing and abs(left) < NEAR_GROUND and after[5] + left * (k1[2] + 0.5 * left * jerk[2]) <= 0.0
        else:
            time = taken + h + left
            near = abs(left) < NEAR_BORDER and rise < 0.0
        if near:
            landed = set_down(after, k1, jerk, left, pieces, survey)
            note_flight(state, landed, h + left, ENDS, (path, clock + taken))
            return landed, time, top
        if gap < 0.0 and not even:  # the cubic through both ends was a little off: the step's own end decides
            h *= 0.9
            continue
        note_flight(state, after, h, 1.0 + left / h if even and left < 0.0 else 1.0, (path, clock + taken))
        taken, state, k, base = taken + h, after, k1, base_then
        if not even:
            h = max(left, 1e-4) if 0.0 < left < longest and rise < 0.0 else longest
        elif left != 0.0:
            h = left
    return state, math.inf, top
