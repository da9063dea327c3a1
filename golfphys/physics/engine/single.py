"""One shot at a time: the flight with its landing found inside a step, over strips of ground or one plane.

This is the form that draws paths and plays over strips; a batch on one plane goes through
`golfphys.physics.engine.lanes`, with
the same laws.
"""

import math
from typing import Any

from golfphys.formulas.flight import flight_acceleration, motion_of_launch, spin_loss
from golfphys.formulas.turf import skid
from golfphys.physics.bounce import settle_take_off, turf_bounce
from golfphys.physics.engine import columns as c
from golfphys.physics.engine.legs import mark, over_strips
from golfphys.physics.flight import table_coefficients, through_air
from golfphys.physics.roll.laws import roll_out

MAX_STEPS = 4000
"""Steps after which a ball is given up that will not come down."""
BRISK = 3.6e4
"""Reynolds number of a launch above which steps are a quarter as long: the drag crisis bends the flight faster."""
CALM_STEP, BRISK_STEP = 0.125, 0.03125
"""Longest steps (s) of a flight played alone."""

coefficients = table_coefficients  # `linking` puts the user's laws in its place


def forces(vx: float, vy: float, vz: float, spin: float, ax: float, ay: float, az: float, here: Any, table: Any) -> Any:
    """Acceleration (three components) and spin's rate of change; `here` holds gravity, wind, ball and air."""
    gx, gy, gz, wx, wy, wz, radius, decay, rate, drag_share, lift_share = here
    ux, uy, uz, airspeed, reynolds, share = through_air(vx, vy, vz, spin, wx, wy, wz, radius, rate)
    drag, lift = coefficients(reynolds, share, table)
    x, y, z = flight_acceleration(
        ux, uy, uz, ax, ay, az, drag_share * airspeed * drag, lift_share * airspeed * lift, gx, gy, gz
    )
    return x, y, z, -spin_loss(spin, airspeed, radius, decay)


def strip_at(strips: Any, g: int, x: float) -> int:
    """Number of the strip over which a ball is at x."""
    s: int = strips.shape[1] - 1
    while s > 0 and x < strips[g, s, c.START_X]:
        s -= 1
    return s


def clearance(strips: Any, g: int, x: float, z: float) -> float:
    """Height of the ball over the ground, square to the green."""
    if strips.shape[1] == 1:
        return z
    s = strip_at(strips, g, x)
    rise: float = strips[g, s, c.START_Z] + strips[g, s, c.SLOPE] * (x - strips[g, s, c.START_X])
    return z - rise


def landing_part(
    strips: Any,
    g: int,
    x: float,
    z: float,
    vx: float,
    vz: float,
    x1: float,
    z1: float,
    vx1: float,
    vz1: float,
    h: float,
) -> float:
    """Part of a step at which the ball meets the ground, by Newton's method down the cubic from the step's end."""
    part = 1.0
    for _ in range(20):
        a, b = part * part * (3.0 - 2.0 * part), part * (1.0 - part)
        z_there = z + a * (z1 - z) + h * b * ((1.0 - part) * vz - part * vz1)
        x_there = x + a * (x1 - x) + h * b * ((1.0 - part) * vx - part * vx1)
        s = strip_at(strips, g, x_there)
        slope = strips[g, s, c.SLOPE]
        gap = z_there - strips[g, s, c.START_Z] - slope * (x_there - strips[g, s, c.START_X])
        rise = z1 - z - slope * (x1 - x)
        q = (1.0 - 4.0 * part + 3.0 * part * part, 3.0 * part * part - 2.0 * part)
        fall = 6.0 * b * rise + h * (q[0] * (vz - slope * vx) + q[1] * (vz1 - slope * vx1))
        if fall >= 0.0:
            break
        change = gap / fall
        part = min(1.0, max(0.0, part - change))
        if abs(change) < 1e-12:
            break
    return part


def fly(
    x: float,
    y: float,
    z: float,
    vx: float,
    vy: float,
    vz: float,
    spin: float,
    ax: float,
    ay: float,
    az: float,
    here: Any,
    table: Any,
    strips: Any,
    g: int,
    time_step: float,
    clock: float,
    path: Any,
) -> Any:
    """Fly from the ground until the ball meets it again: position, velocity, spin, time taken, greatest height."""
    s = strip_at(strips, g, x)
    slope = strips[g, s, c.SLOPE]
    down = -(here[2] - slope * here[0])
    rise = vz - slope * vx
    expected = 2.0 * rise / down
    kx, ky, kz, kw = forces(vx, vy, vz, spin, ax, ay, az, here, table)
    reynolds = through_air(vx, vy, vz, spin, here[3], here[4], here[5], here[6], here[8])[4]
    step = min(time_step, BRISK_STEP if reynolds > BRISK else CALM_STEP)
    steps = max(1, math.ceil(expected / step))
    h = expected / steps
    taken = top = 0.0
    for _ in range(MAX_STEPS):
        bx, by, bz, bw = forces(
            vx + 0.5 * h * kx, vy + 0.5 * h * ky, vz + 0.5 * h * kz, spin + 0.5 * h * kw, ax, ay, az, here, table
        )
        cx, cy, cz, cw = forces(
            vx + 0.5 * h * bx, vy + 0.5 * h * by, vz + 0.5 * h * bz, spin + 0.5 * h * bw, ax, ay, az, here, table
        )
        dx, dy, dz, dw = forces(vx + h * cx, vy + h * cy, vz + h * cz, spin + h * cw, ax, ay, az, here, table)
        x1 = x + h * (vx + h * (kx + bx + cx) / 6.0)
        y1 = y + h * (vy + h * (ky + by + cy) / 6.0)
        z1 = z + h * (vz + h * (kz + bz + cz) / 6.0)
        vx1 = vx + h * (kx + 2.0 * (bx + cx) + dx) / 6.0
        vy1 = vy + h * (ky + 2.0 * (by + cy) + dy) / 6.0
        vz1 = vz + h * (kz + 2.0 * (bz + cz) + dz) / 6.0
        spin1 = spin + h * (kw + 2.0 * (bw + cw) + dw) / 6.0
        ex, ey, ez, ew = forces(vx1, vy1, vz1, spin1, ax, ay, az, here, table)
        if vz > 0.0 >= vz1:
            part = vz / (vz - vz1)
            a, b = part * part * (3.0 - 2.0 * part), h * part * (1.0 - part)
            top = -here[2] * (z + a * (z1 - z) + b * ((1.0 - part) * vz - part * vz1))
            top -= here[0] * (x + part * (x1 - x)) + here[1] * (y + part * (y1 - y))
        if clearance(strips, g, x1, z1) <= 0.0:
            part = landing_part(strips, g, x, z, vx, vz, x1, z1, vx1, vz1, h)
            a, b = part * part * (3.0 - 2.0 * part), part * (1.0 - part)
            first, last = h * b * (1.0 - part), h * b * part
            return (
                x + a * (x1 - x) + first * vx - last * vx1,
                y + a * (y1 - y) + first * vy - last * vy1,
                z + a * (z1 - z) + first * vz - last * vz1,
                vx + a * (vx1 - vx) + first * kx - last * ex,
                vy + a * (vy1 - vy) + first * ky - last * ey,
                vz + a * (vz1 - vz) + first * kz - last * ez,
                spin + a * (spin1 - spin) + first * kw - last * ew,
                taken + part * h,
                top,
            )
        taken += h
        x, y, z, vx, vy, vz, spin = x1, y1, z1, vx1, vy1, vz1, spin1
        kx, ky, kz, kw = ex, ey, ez, ew
        mark(path, clock + taken, x, y, z, c.FLYING)
    return x, y, z, vx, vy, vz, spin, math.inf, top


def valid(launches: Any, i: int, frames: Any, strips: Any, g: int, airs: Any, q: int) -> bool:
    """Whether every number of a shot is finite and its speed not negative."""
    total = 0.0
    for column in range(c.LAUNCH_COLUMNS):
        total += launches[i, column]
    for column in range(c.FRAME_COLUMNS):
        total += frames[g, column]
    for column in range(c.AIR_COLUMNS):
        total += airs[q, column]
    for s in range(strips.shape[1]):
        for column in range(c.STRIP_COLUMNS):
            total += strips[g, s, column]
    return abs(total) < 1e12 and launches[i, c.SPEED] >= 0.0


def set_off(launches: Any, i: int, frames: Any, g: int) -> tuple[float, float, float, float, float, float]:
    """Velocity and spin of a launch in the axes of the green."""
    ex, ey, ez, ox, oy, oz = motion_of_launch(
        launches[i, c.SPEED],
        launches[i, c.ANGLE],
        launches[i, c.BACKSPIN],
        launches[i, c.DIRECTION],
        launches[i, c.SIDESPIN],
    )
    fx, fy, fz, lx, ly, lz = frames[g, 0], frames[g, 1], frames[g, 2], frames[g, 3], frames[g, 4], frames[g, 5]
    ux, uy, uz = frames[g, 6], frames[g, 7], frames[g, 8]
    return (
        ex * fx + ey * lx + ez * ux,
        ex * fy + ey * ly + ez * uy,
        ex * fz + ey * lz + ez * uz,
        ox * fx + oy * lx + oz * ux,
        ox * fy + oy * ly + oz * uy,
        ox * fz + oy * lz + oz * uz,
    )


def land(
    row: Any,
    along: float,
    y: float,
    vx: float,
    vy: float,
    vz: float,
    sx: float,
    sy: float,
    ux: float,
    uy: float,
    uz: float,
    clock: float,
    apex: float,
) -> None:
    """Write the first landing."""
    total = vx * vx + vy * vy + vz * vz
    fall = -(vx * ux + vy * uy + vz * uz)
    row[c.CARRY], row[c.LANDING_X], row[c.LANDING_Y] = math.sqrt(along * along + y * y), along, y
    row[c.FLIGHT_TIME], row[c.APEX], row[c.LANDING_SPEED] = clock, max(0.0, apex), math.sqrt(total)
    row[c.LANDING_ANGLE] = math.atan2(fall, math.sqrt(max(0.0, total - fall * fall)))
    row[c.HOP_X], row[c.HOP_Y], row[c.HOP_TIME] = along, y, clock
    row[c.LANDING_BACKSPIN] = (sx * vy - sy * vx) / max(1e-12, math.sqrt(vx * vx + vy * vy))


def hop_down(row: Any, bounces: int, strip: Any, x: float, y: float, clock: float) -> None:
    """Write where and when the first hop came down."""
    if bounces == 1:
        row[c.HOP_X] = strip[c.START_ALONG] + (x - strip[c.START_X]) / strip[c.COSINE]
        row[c.HOP_Y], row[c.HOP_TIME] = y, clock


def take_rest(
    row: Any,
    x: float,
    y: float,
    vx: float,
    vy: float,
    slip_x: float,
    slip_y: float,
    strip: Any,
    gravity: float,
    inertia: float,
    clock: float,
) -> int:
    """Skid and roll on one plane, write where and when the ball rests, and return its status."""
    way_x, way_y, run, drift, slid = skid(
        vx, vy, slip_x, slip_y, strip[c.SKID_FRICTION], strip[c.GRADE_X], strip[c.GRADE_Y], gravity, inertia
    )
    row[c.ROLL_X], row[c.ROLL_Y], row[c.ROLL_SPEED] = x + way_x, y + way_y, math.sqrt(run * run + drift * drift)
    rest_x, rest_y, taken, status = roll_out(
        x + way_x,
        y + way_y,
        run,
        drift,
        strip[c.CONSTANT],
        strip[c.LINEAR],
        strip[c.QUADRATIC],
        strip[c.GRAIN],
        strip[c.GRAIN_DIRECTION],
        strip[c.GRADE_X],
        strip[c.GRADE_Y],
        gravity,
        inertia,
    )
    if status != c.STOPPED or slid == math.inf:
        row[c.REST_X], row[c.REST_Y], row[c.REST_TIME] = math.inf, math.inf, math.inf
        return c.NEVER_STOPS
    row[c.REST_X], row[c.REST_Y], row[c.REST_TIME] = rest_x, rest_y, clock + slid + taken
    return c.STOPPED


def chip(
    i: int,
    launches: Any,
    frames: Any,
    strips: Any,
    g: int,
    airs: Any,
    q: int,
    table: Any,
    ball: Any,
    time_step: float,
    out: Any,
    counts: Any,
    path: Any,
) -> None:
    """Play shot `i` from launch to rest and write its row."""
    radius, inertia, gravity, decay = ball
    counts[i, 0], counts[i, 1] = 0, c.INVALID
    if not valid(launches, i, frames, strips, g, airs, q):
        return
    vx, vy, vz, sx, sy, sz = set_off(launches, i, frames, g)
    ux, uy, uz = frames[g, 6], frames[g, 7], frames[g, 8]
    gx, gy, gz = -gravity * ux, -gravity * uy, -gravity * uz
    wind_x, wind_y = airs[q, c.WIND_X], airs[q, c.WIND_Y]
    here = (
        gx,
        gy,
        gz,
        wind_x * frames[g, 0] + wind_y * frames[g, 3],
        wind_x * frames[g, 1] + wind_y * frames[g, 4],
        wind_x * frames[g, 2] + wind_y * frames[g, 5],
        radius,
        decay,
        airs[q, c.REYNOLDS_RATE],
        airs[q, c.DRAG_SHARE],
        airs[q, c.LIFT_SHARE],
    )
    x = y = z = clock = apex = 0.0
    bounces, landed, status = 0, False, c.STILL_BOUNCING
    mark(path, 0.0, 0.0, 0.0, 0.0, c.FLYING)
    s = strip_at(strips, g, 0.0)
    flies = vz * strips[g, s, c.COSINE] - vx * strips[g, s, c.SINE] > 0.0
    for _ in range(c.MAX_BOUNCES):
        if flies:
            spin = math.sqrt(sx * sx + sy * sy + sz * sz)
            per = 1.0 / max(spin, 1e-12)
            ax, ay, az = sx * per, sy * per, sz * per
            x, y, z, vx, vy, vz, spin, taken, top = fly(
                x, y, z, vx, vy, vz, spin, ax, ay, az, here, table, strips, g, time_step, clock, path
            )
            if not landed:
                apex = top / gravity
            clock += taken
            sx, sy, sz = spin * ax, spin * ay, spin * az
            if clock == math.inf:
                break
            mark(path, clock, x, y, z, c.FLYING)
        s = strip_at(strips, g, x)
        nx, nz = -strips[g, s, c.SINE], strips[g, s, c.COSINE]
        if not landed:
            landed = True
            along = strips[g, s, c.START_ALONG] + (x - strips[g, s, c.START_X]) / nz
            land(out[i], along, y, vx, vy, vz, sx, sy, ux, uy, uz, clock, apex)
        hop_down(out[i], bounces, strips[g, s], x, y, clock)
        vx, vy, vz, sx, sy, sz = turf_bounce(
            *(vx, vy, vz, sx, sy, sz, nx, 0.0, nz, radius, inertia, strips[g, s, c.TURF :])
        )
        vx, vy, vz, left = settle_take_off(vx, vy, vz, nx, 0.0, nz, strips[g, s, c.HOP_LOSS], -(gx * nx + gz * nz))
        if left <= 0.0:
            status = c.STOPPED
            break
        bounces += 1
        flies = True
    counts[i, 0], counts[i, 1] = bounces, status
    if status != c.STOPPED:
        return
    cosine, sine = strips[g, s, c.COSINE], strips[g, s, c.SINE]
    along = strips[g, s, c.START_ALONG] + (x - strips[g, s, c.START_X]) / cosine
    run = vx * cosine + vz * sine
    slip_x, slip_y = run - radius * sy, vy + radius * (sx * cosine + sz * sine)
    if strips.shape[1] > 1 or path.shape[0] > 0:
        counts[i, 1] = over_strips(out[i], along, y, run, vy, slip_x, slip_y, strips, g, gravity, inertia, clock, path)
    else:
        counts[i, 1] = take_rest(out[i], along, y, run, vy, slip_x, slip_y, strips[g, s], gravity, inertia, clock)
