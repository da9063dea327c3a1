"""The compiled shot: one from launch to rest, and the loop over many."""

import math
from collections.abc import Callable
from typing import Any

from golfphys.core.law import callable_when_compiled, kept, kernel
from golfphys.formulas import impact, turf
from golfphys.formulas.flight import motion_of_launch, wind_share
from golfphys.physics import bounce
from golfphys.physics import rows as c
from golfphys.physics.bounce import as_kept, settle_take_off, turf_bounce
from golfphys.physics.flying import fly, ground_under, once, one_plane
from golfphys.physics.rolling import roll_out, slide_out
from golfphys.physics.rows import INVALID, LEFT_GROUND, NEVER_STOPS, STILL_BOUNCING, STOPPED, mark, surveyed

callable_when_compiled(impact, turf, bounce.rigid_bounce, turf_bounce, as_kept, settle_take_off)

MAX_BOUNCES = 60  # bounces after which a shot is given up; the loss of every hop ends them long before


@kernel
def valid(launch: Any, frame: Any, pieces: Any, air: Any) -> bool:
    """Whether every number of a shot is finite and its speed not negative."""
    total = 0.0
    for column in range(launch.shape[0]):
        total += abs(launch[column])
    for column in range(c.FRAME_COLUMNS):
        total += abs(frame[column])
    for column in range(c.AIR_COLUMNS):
        total += abs(air[column])
    for s in range(pieces.shape[0]):
        for column in range(c.STRIP_COLUMNS):
            total += abs(pieces[s, column])
    return total < 1e12 and launch[c.SPEED] >= 0.0


@kernel
def in_green(x: float, y: float, z: float, frame: Any) -> Any:
    """Components of a vector in the axes of the green."""
    return (
        x * frame[0] + y * frame[3] + z * frame[6],
        x * frame[1] + y * frame[4] + z * frame[7],
        x * frame[2] + y * frame[5] + z * frame[8],
    )


@kernel
def set_off(launch: Any, frame: Any) -> Any:
    """Velocity and spin of a launch in the axes of the green."""
    ex, ey, ez, ox, oy, oz = motion_of_launch(
        launch[c.SPEED], launch[c.ANGLE], launch[c.BACKSPIN], launch[c.DIRECTION], launch[c.SIDESPIN]
    )
    return (*in_green(ex, ey, ez, frame), *in_green(ox, oy, oz, frame))


@kernel
def land(row: Any, along: float, state: Any, sx: float, sy: float, frame: Any, clock: float, apex: float) -> None:
    """Write the first landing; where there is no hop, it counts as the end of the hop."""
    _, y, _, vx, vy, vz, _ = state
    total = vx * vx + vy * vy + vz * vz
    fall = -(vx * frame[6] + vy * frame[7] + vz * frame[8])
    row[c.CARRY], row[c.LANDING_X], row[c.LANDING_Y] = math.sqrt(along * along + y * y), along, y
    row[c.FLIGHT_TIME], row[c.APEX], row[c.LANDING_SPEED] = clock, max(0.0, apex), math.sqrt(total)
    row[c.LANDING_ANGLE] = math.atan2(fall, math.sqrt(max(0.0, total - fall * fall)))
    row[c.LANDING_SPIN] = (sx * vy - sy * vx) / max(1e-12, math.sqrt(vx * vx + vy * vy))
    row[c.HOP_X], row[c.HOP_Y], row[c.HOP_TIME] = along, y, clock


@kernel
def normal_of(rise_x: float, rise_y: float) -> Any:
    """Unit normal of ground that rises as given."""
    per = 1.0 / math.sqrt(1.0 + rise_x * rise_x + rise_y * rise_y)
    return -rise_x * per, -rise_y * per, per


@kernel
def bump_of(launch: Any, row: Any, k: int) -> Any:
    """Local slope and patch of turf at a landing, from the launch row's standard normals; none beyond those drawn."""
    if k + 2 < launch.shape[0]:
        return row[c.UNEVENNESS] * launch[k], row[c.UNEVENNESS] * launch[k + 1], row[c.PATCHINESS] * launch[k + 2]
    return 0.0, 0.0, 0.0


@kernel
def bounce_here(motion: Any, row: Any, rise: Any, bump: Any, world: Any, here: Any, first: bool) -> Any:
    """Velocity and spin after a bounce, on ground with the local slope `bump` more; and the normal speed left."""
    normal = normal_of(rise[0] + bump[0], rise[1] + bump[1])
    after = turf_bounce(motion, normal, (here[6], world[1]), row[c.TURF :])
    by_angle, by_speed = (row[c.KEPT_BY_ANGLE], row[c.KEPT_BY_SPEED]) if first else (0.0, 0.0)
    vx, vy, vz, sx, sy, sz = as_kept(after, motion, normal, bump[2], by_angle, by_speed)
    pull = -(here[0] * normal[0] + here[1] * normal[1] + here[2] * normal[2])
    vx, vy, vz, left = settle_take_off((vx, vy, vz), normal, row[c.HOP_LOSS], pull)
    if bump[0] != 0.0 or bump[1] != 0.0:
        # off a bump the ball may leave towards the ground at large: then it stays down
        left = min(left, vz - rise[0] * vx - rise[1] * vy)
    return (vx, vy, vz, sx, sy, sz), left


@kernel
def air_and_ball(frame: Any, air: Any, ball: Any) -> Any:
    """What the flight meets: gravity, wind, ball and air; and what a roll does: gravity, inertia, wind and its drag."""
    radius, inertia, gravity, decay = ball
    wind_x, wind_y = air[c.WIND_X], air[c.WIND_Y]
    windy = wind_x != 0.0 or wind_y != 0.0
    rough = air[c.ROUGHNESS] if windy else 0.0
    here = (
        *(-gravity * frame[6], -gravity * frame[7], -gravity * frame[8]),
        *in_green(wind_x, wind_y, 0.0, frame),
        *(radius, decay, air[c.REYNOLDS_RATE], air[c.DRAG_SHARE], air[c.LIFT_SHARE]),
        *(air[c.WIND_HEIGHT], rough),
    )
    low = wind_share(radius, air[c.WIND_HEIGHT], air[c.ROUGHNESS]) if air[c.ROUGHNESS] > 0.0 else 1.0
    world = (gravity, inertia, low * wind_x, low * wind_y, air[c.ROLL_DRAG] if windy else 0.0)
    return here, world


@once
def chip(launch: Any, where: Any, survey: Any, table: Any, ball: Any, limits: Any, result: Any, path: Any) -> None:
    """Play one shot from launch to rest, or to its first landing if no hops are asked for, and write its row.

    `where` is rows of frame, strips, air; `limits` the longest time step and most hops; `result` numbers and counts.
    """
    frame, pieces, air = where
    out, counts = result
    counts[c.BOUNCES], counts[c.STATUS], counts[c.HOLED] = 0, INVALID, 0
    if not valid(launch, frame, pieces, air):
        return
    vx, vy, vz, sx, sy, sz = set_off(launch, frame)
    here, world = air_and_ball(frame, air, ball)
    start, rise_x, rise_y, s = ground_under(pieces, survey, 0.0, 0.0)
    x = y = clock = 0.0
    z = start
    bounces, number, status = 0, 0, STILL_BOUNCING
    even = survey is not None or one_plane(pieces, survey)
    mark((path, 0.0), 0.0, 0.0, 0.0, z, c.FLYING)
    left = vz - rise_x * vx - rise_y * vy
    along = 0.0
    for number in range(MAX_BOUNCES):
        apex = 0.0
        spin = math.sqrt(sx * sx + sy * sy + sz * sz)
        per = 1.0 / max(spin, 1e-12)
        axis = (sx * per, sy * per, sz * per)
        if left > 0.0:
            flight = (axis, here, table, limits[0])
            state, taken, top = fly((x, y, z, vx, vy, vz, spin), flight, pieces, survey, (path, clock))
            x, y, z, vx, vy, vz, spin = state
            clock += taken
            apex = top / ball[2] - start if survey is not None else top / ball[2]
            if clock == math.inf:
                break
            mark((path, clock), 0.0, x, y, z, c.FLYING)
        sx, sy, sz = spin * axis[0], spin * axis[1], spin * axis[2]
        _, rise_x, rise_y, s = ground_under(pieces, survey, x, y)
        row = pieces[s]
        along = x if even else row[c.START_ALONG] + (x - row[c.START_X]) / row[c.COSINE]
        if number == 0:
            land(out, along, (x, y, z, vx, vy, vz, 0.0), sx, sy, frame, clock, apex)
        elif number == 1:
            out[c.HOP_X], out[c.HOP_Y], out[c.HOP_TIME] = along, y, clock
        if number >= limits[1]:
            status = STOPPED
            break
        bump = bump_of(launch, row, c.LAUNCH_COLUMNS + c.CHANCE * number)
        motion, left = bounce_here((vx, vy, vz, sx, sy, sz), row, (rise_x, rise_y), bump, world, here, number == 0)
        vx, vy, vz, sx, sy, sz = motion
        if left <= 0.0:
            status = STOPPED
            break
        bounces += 1
    counts[c.BOUNCES], counts[c.STATUS] = bounces, status
    if status != STOPPED or number >= limits[1]:
        return
    motion, rise, note = (vx, vy, vz, sx, sy, sz), (rise_x, rise_y), (path, clock)
    come_to_rest((along, y), motion, rise, ball[0], (frame, pieces, world), survey, result, note)


@once
def come_to_rest(
    place: Any, motion: Any, rise: Any, radius: float, where: Any, survey: Any, result: Any, note: Any
) -> None:
    """Skid and roll a ball that stays down, and write where it began to roll and where it rests."""
    frame, pieces, world = where
    out, counts = result
    clock = note[1]
    vx, vy, vz, sx, sy, sz = motion
    nx, ny, nz = normal_of(rise[0], rise[1])
    # along the ground: what of the velocity lies in it, seen from above and laid into it
    if ny == 0.0:
        run, drift = vx * nz - vz * nx, vy
        slip_x, slip_y = run - radius * sy, drift + radius * (sx * nz - sz * nx)
    else:
        into = vx * nx + vy * ny + vz * nz
        run, drift = vx - into * nx, vy - into * ny
        slip_x = run - radius * (sy * nz - sz * ny)
        slip_y = drift - radius * (sz * nx - sx * nz)
    state = slide_out((place[0], place[1], 0.0, run, drift), slip_x, slip_y, pieces, survey, world, note)
    out[c.ROLL_X], out[c.ROLL_Y] = state[0], state[1]
    out[c.ROLL_SPEED] = math.sqrt(state[3] * state[3] + state[4] * state[4])
    out[c.REST_X], out[c.REST_Y], out[c.REST_TIME] = math.inf, math.inf, math.inf
    counts[c.STATUS] = NEVER_STOPS
    if state[2] == math.inf:
        return
    state, status, holed = roll_out(state, pieces, survey, frame, world, math.inf, note)
    counts[c.STATUS] = status
    if status != STOPPED:
        return
    out[c.REST_X], out[c.REST_Y], out[c.REST_TIME] = state[0], state[1], clock + state[2]
    if holed:
        out[c.REST_X], out[c.REST_Y], counts[c.HOLED] = frame[c.HOLE_X], frame[c.HOLE_Y], 1
        mark(note, state[2], frame[c.HOLE_X], frame[c.HOLE_Y], 0.0, c.ROLLING)
    elif not surveyed(survey, state[0], state[1]):
        counts[c.STATUS] = LEFT_GROUND


def _loop_for(stamp: int) -> Callable[..., int]:
    def loop(rows: Any, ground: Any, survey: Any, table: Any, ball: Any, limits: Any, result: Any, path: Any) -> int:
        (frames, strips, airs), (out, counts) = ground, result
        ground_step, air_step = int(frames.shape[0] > 1), int(airs.shape[0] > 1)
        for i in range(rows.shape[0]):
            where = (frames[i * ground_step], strips[i * ground_step], airs[i * air_step])
            chip(rows[i], where, survey, table, ball, limits, (out[i], counts[i]), path)
        return stamp

    return loop


loop = kept(_loop_for)  # gives the compiled loop over shots; grounds and airs are one for all, or one for each
