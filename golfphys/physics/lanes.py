"""Many shots side by side, on one plane each, in still air: a phase of the shot is a short loop over a block's lanes.

Its strips may differ in turf and resistance, not in slope. A lane is the place of one shot in a block of `WIDTH`. A
block's numbers live in one flat array, row after row of lanes; a phase is straight-line code; and the one look-up, that
of the coefficients, has a loop of its own: so the compiler works on several lanes at once. What happens in a lane
depends on its own shot alone, and is operation by operation what `golfphys.physics.playing` does, to the last digit.
"""

import math
from collections.abc import Callable
from typing import Any

from golfphys.core.law import inlined, kept, kernel
from golfphys.formulas.flight import flight_acceleration, spin_loss
from golfphys.formulas.turf import linear_bounce
from golfphys.physics import rows as c
from golfphys.physics.bounce import as_kept, rigid_bounce, settle_take_off
from golfphys.physics.flight import table_coefficients, through_air
from golfphys.physics.flying import BRISK, MAX_PASSES, MOST_PLANNED, NEAR_GROUND, SHORT_HOP, time_left
from golfphys.physics.playing import MAX_BOUNCES, bump_of, come_to_rest, land, normal_of, set_off, valid
from golfphys.physics.rows import INVALID, STILL_BOUNCING, STOPPED, strip_at

WIDTH = 128  # lanes of a block: its rows stay in the nearest cache

# rows of a block: what a lane carries from hop to hop, its hop, slopes and their sums, the air it meets, its world,
# and how it came down
X, Y, VX, VY, VZ, CLOCK, BOUNCES, Z, SPIN, AX, AY, AZ, SHOT, SLOT = range(0 * WIDTH, 14 * WIDTH, WIDTH)
TIME, STEPS, H, TOP, BAD, LEFT = range(14 * WIDTH, 20 * WIDTH, WIDTH)
KX, KY, KZ, KW, SX, SY, SZ, TX, TY, TZ = range(20 * WIDTH, 30 * WIDTH, WIDTH)
PX, PY, PZ, LAST_H, UX, UY, UZ, AIRSPEED, REYNOLDS, SHARE, DRAG, LIFT = range(30 * WIDTH, 42 * WIDTH, WIDTH)
GX, GY, GZ, WX, WY, WZ, RATE, DRAG_SHARE, LIFT_SHARE = range(42 * WIDTH, 51 * WIDTH, WIDTH)
TURF_0, TURF_1, TURF_2, TURF_3, TURF_4, TURF_5, TURF_6, TURF_7, TURF_8 = range(51 * WIDTH, 60 * WIDTH, WIDTH)
HOP_LOSS = 61 * WIDTH  # the turf's row up to here
END_X, END_Y, END_VX, END_VY, END_VZ, END_CLOCK, END_BOUNCES = range(62 * WIDTH, 69 * WIDTH, WIDTH)
END_SX, END_SY, END_SZ, END_STATUS = range(69 * WIDTH, 73 * WIDTH, WIDTH)
NX, NY, NZ, PATCH, BY_ANGLE, BY_SPEED = range(73 * WIDTH, 79 * WIDTH, WIDTH)
ROWS = 79 * WIDTH
STATE_ROWS, ENDING_ROWS = 14 * WIDTH, 7 * WIDTH  # what a lane carries from hop to hop, and of that what the end has


@kernel
def meet_air(b: Any, m: int, part: float, radius: float, table: Any) -> None:
    """Airspeed, Reynolds number, spin share and coefficients a `part` of the step ahead along the slopes held."""
    for k in range(m):
        h = part * b[H + k]
        velocity = (b[VX + k] + h * b[KX + k], b[VY + k] + h * b[KY + k], b[VZ + k] + h * b[KZ + k])
        wind = (b[WX + k], b[WY + k], b[WZ + k])
        met = through_air(velocity, b[SPIN + k] + h * b[KW + k], wind, radius, b[RATE + k])
        b[UX + k], b[UY + k], b[UZ + k], b[AIRSPEED + k], b[REYNOLDS + k], b[SHARE + k] = met
    for k in range(m):
        b[DRAG + k], b[LIFT + k] = table_coefficients(b[REYNOLDS + k], b[SHARE + k], table)


@inlined
def accelerate(b: Any, k: int) -> tuple[float, float, float]:
    """Acceleration of lane `k` in the air just met."""
    speed = b[AIRSPEED + k]
    drag, lift = b[DRAG_SHARE + k] * speed * b[DRAG + k], b[LIFT_SHARE + k] * speed * b[LIFT + k]
    return flight_acceleration(
        *(b[UX + k], b[UY + k], b[UZ + k], b[AX + k], b[AY + k], b[AZ + k]),
        *(drag, lift, b[GX + k], b[GY + k], b[GZ + k]),
    )


@kernel
def first_slopes(b: Any, m: int, radius: float, decay: float) -> None:
    """Slopes at the start of a step."""
    for k in range(m):
        x, y, z = accelerate(b, k)
        b[KX + k], b[KY + k], b[KZ + k] = x, y, z
        b[SX + k], b[SY + k], b[SZ + k] = x, y, z
        b[TX + k] = b[TY + k] = b[TZ + k] = 0.0
        b[KW + k] = -spin_loss(b[SPIN + k], b[AIRSPEED + k], radius, decay)
        # the last real step of a lane is remembered: it shows how its acceleration changes
        h = b[H + k]
        b[PX + k] = x if h != 0.0 else b[PX + k]
        b[PY + k] = y if h != 0.0 else b[PY + k]
        b[PZ + k] = z if h != 0.0 else b[PZ + k]
        b[LAST_H + k] = h if h != 0.0 else b[LAST_H + k]


@kernel
def middle_slopes(b: Any, m: int, radius: float, decay: float) -> None:
    """Slopes in the middle of a step, added to both sums; the spin takes its whole step with the last of them."""
    for k in range(m):
        x, y, z = accelerate(b, k)
        b[KW + k] = -spin_loss(b[SPIN + k] + 0.5 * b[H + k] * b[KW + k], b[AIRSPEED + k], radius, decay)
        b[KX + k], b[KY + k], b[KZ + k] = x, y, z
        b[SX + k] += x
        b[SY + k] += y
        b[SZ + k] += z
        b[TX + k] += x
        b[TY + k] += y
        b[TZ + k] += z


@kernel
def step(b: Any, m: int, table: Any, radius: float, decay: float) -> None:
    """One Runge-Kutta step of the length held in each lane (0 leaves it as it is); the height at which a rise ended."""
    meet_air(b, m, 0.0, radius, table)
    first_slopes(b, m, radius, decay)
    meet_air(b, m, 0.5, radius, table)
    middle_slopes(b, m, radius, decay)
    meet_air(b, m, 0.5, radius, table)
    middle_slopes(b, m, radius, decay)
    meet_air(b, m, 1.0, radius, table)
    for k in range(m):
        x, y, z = accelerate(b, k)
        h = b[H + k]
        sixth = h / 6.0
        x0, y0, z0, rise = b[X + k], b[Y + k], b[Z + k], b[VZ + k]
        x1 = x0 + h * (b[VX + k] + sixth * b[SX + k])
        y1 = y0 + h * (b[VY + k] + sixth * b[SY + k])
        z1 = z0 + h * (rise + sixth * b[SZ + k])
        fall = rise + sixth * (b[SZ + k] + b[TZ + k] + z)
        b[VX + k] += sixth * (b[SX + k] + b[TX + k] + x)
        b[VY + k] += sixth * (b[SY + k] + b[TY + k] + y)
        b[VZ + k] = fall
        b[SPIN + k] += h * b[KW + k]
        b[X + k], b[Y + k], b[Z + k] = x1, y1, z1
        part = rise / max(1e-12, rise - fall)
        bend = h * part * (1.0 - part)
        height = z0 + part * part * (3.0 - 2.0 * part) * (z1 - z0) + bend * ((1.0 - part) * rise - part * fall)
        top = -b[GZ + k] * height - b[GX + k] * (x0 + part * (x1 - x0)) - b[GY + k] * (y0 + part * (y1 - y0))
        b[TOP + k] = top if rise > 0.0 and fall <= 0.0 else b[TOP + k]


@kernel
def greatest(b: Any, m: int, row: int) -> float:
    """Greatest size of a row's numbers."""
    found = 0.0
    for k in range(m):
        found = max(found, abs(b[row + k]))
    return found


@kernel
def plan_hops(b: Any, m: int, table: Any, radius: float, decay: float, time_step: float) -> int:
    """Length of each lane's hop from the push at its middle; short hops are flown at once. Return the steps needed."""
    for k in range(m):
        b[H + k] = 0.5 * max(0.0, -2.0 * b[VZ + k] / b[GZ + k])
        b[KX + k], b[KY + k], b[KZ + k], b[KW + k] = b[GX + k], b[GY + k], b[GZ + k], 0.0
    meet_air(b, m, 1.0, radius, table)
    for k in range(m):
        x, y, z = accelerate(b, k)
        rise = b[VZ + k]
        time = max(0.0, -2.0 * rise / min(z, -1.0))
        ux, uy, uz = b[VX + k] - b[WX + k], b[VY + k] - b[WY + k], rise - b[WZ + k]
        brisk = math.sqrt(ux * ux + uy * uy + uz * uz) * b[RATE + k] > BRISK
        steps = math.ceil(time * (4.0 if brisk else 1.0) / time_step)
        short = time < SHORT_HOP
        flown = time if short else 0.0
        up = max(rise, 0.0)  # a ball sent down into the ground has no top
        b[TOP + k] = 0.5 * up * up / min(z, -1.0) * b[GZ + k]
        b[X + k] += flown * (b[VX + k] + 0.5 * flown * x)
        b[Y + k] += flown * (b[VY + k] + 0.5 * flown * y)
        b[VX + k] += flown * x
        b[VY + k] += flown * y
        b[VZ + k] = rise + flown * z
        b[SPIN + k] -= flown * spin_loss(b[SPIN + k], b[AIRSPEED + k], radius, decay)
        b[Z + k] = 0.0
        b[TIME + k] = time
        b[STEPS + k] = 0.0 if short else steps
        b[BAD + k] = 0.0
    return int(min(greatest(b, m, STEPS), MOST_PLANNED + 1.0))


@kernel
def fly_lanes(b: Any, m: int, table: Any, radius: float, decay: float, time_step: float) -> None:
    """Fly every lane from the ground to the ground."""
    most = plan_hops(b, m, table, radius, decay, time_step)
    for number in range(most):
        for k in range(m):
            b[H + k] = b[TIME + k] / b[STEPS + k] if number < b[STEPS + k] else 0.0
        step(b, m, table, radius, decay)
    if most > 0:
        close_landing(b, m, table, radius, decay)
    for k in range(m):
        b[CLOCK + k] += b[TIME + k]


@kernel
def close_landing(b: Any, m: int, table: Any, radius: float, decay: float) -> None:
    """Bring every lane that was stepped to the ground: a cubic if it is near, else a step of the time still to go."""
    for _ in range(MAX_PASSES):
        for k in range(m):
            b[H + k] = 0.0
        meet_air(b, m, 0.0, radius, table)
        for k in range(m):
            x, y, z = accelerate(b, k)
            gap, rise = b[Z + k], b[VZ + k]
            # a lane that took no step has no last one: what stands there is another shot's, or nobody's
            stepped = b[STEPS + k] > 0.0
            per = 1.0 / b[LAST_H + k]
            jx = per * (x - b[PX + k]) if stepped else 0.0
            jy = per * (y - b[PY + k]) if stepped else 0.0
            jz = per * (z - b[PZ + k]) if stepped else 0.0
            left = time_left(rise, z, jz, gap)
            left = min(0.25, max(-0.25, left)) if stepped and b[BAD + k] == 0.0 else 0.0
            near = abs(left) < NEAR_GROUND
            t = left if near else 0.0
            b[H + k] = 0.0 if near else left
            b[X + k] += t * (b[VX + k] + t * (0.5 * x + t * jx / 6.0))
            b[Y + k] += t * (b[VY + k] + t * (0.5 * y + t * jy / 6.0))
            b[VX + k] += t * (x + 0.5 * t * jx)
            b[VY + k] += t * (y + 0.5 * t * jy)
            b[VZ + k] += t * (z + 0.5 * t * jz)
            b[SPIN + k] -= t * spin_loss(b[SPIN + k], b[AIRSPEED + k], radius, decay)
            b[Z + k] = 0.0 if near else gap
            b[TIME + k] += left
            b[BAD + k] = 2.0 if near else 0.0
        if greatest(b, m, H) == 0.0:
            break
        step(b, m, table, radius, decay)
    for k in range(m):
        b[BAD + k] = 0.0 if b[BAD + k] == 2.0 and b[STEPS + k] <= MOST_PLANNED and b[VZ + k] <= 0.0 else 1.0


@kernel
def hold_world(b: Any, m: int, ground: Any, gravity: float) -> None:
    """Copy each lane's gravity, wind and air into the block."""
    frames, _, airs, ground_step, air_step = ground
    for k in range(m):
        i = int(b[SHOT + k])
        g, air = i * ground_step, airs[i * air_step]
        b[GX + k], b[GY + k], b[GZ + k] = -gravity * frames[g, 6], -gravity * frames[g, 7], -gravity * frames[g, 8]
        b[WX + k] = b[WY + k] = b[WZ + k] = 0.0
        b[RATE + k], b[DRAG_SHARE + k], b[LIFT_SHARE + k] = air[c.REYNOLDS_RATE], air[c.DRAG_SHARE], air[c.LIFT_SHARE]


@kernel
def hold_ground(b: Any, m: int, launches: Any, ground: Any, hop: int, chance: bool, turf: bool) -> None:
    """Hold the turf of the strip where each lane lands, the local slope there, and what the landing keeps."""
    strips, ground_step = ground[1], ground[3]
    for k in range(m):
        i = int(b[SHOT + k])
        pieces = strips[i * ground_step]
        row = pieces[strip_at(pieces, c.START_X, b[X + k])]
        if turf:
            for column in range(c.UNEVENNESS - c.TURF):  # without what chance needs
                b[TURF_0 + column * WIDTH + k] = row[c.TURF + column]
        if chance:
            x, y, b[PATCH + k] = bump_of(launches[i], row, c.LAUNCH_COLUMNS + c.CHANCE * hop)
            b[NX + k], b[NY + k], b[NZ + k] = normal_of(x, y)
            b[BY_ANGLE + k], b[BY_SPEED + k] = (row[c.KEPT_BY_ANGLE], row[c.KEPT_BY_SPEED]) if hop == 0 else (0.0, 0.0)


@inlined
def motion_of(b: Any, k: int) -> Any:
    """Velocity and spin of lane `k`."""
    spin = b[SPIN + k]
    return b[VX + k], b[VY + k], b[VZ + k], spin * b[AX + k], spin * b[AY + k], spin * b[AZ + k]


@kernel
def bounce_lanes(b: Any, m: int, family: float, ball: Any, departing: bool) -> None:
    """Bounce every lane and let the grass take its share; LEFT holds the normal speed that is left."""
    if family == c.RIGID:
        for k in range(m):
            turf = (
                *(b[TURF_1 + k], b[TURF_2 + k], b[TURF_3 + k], b[TURF_4 + k]),
                *(b[TURF_5 + k], b[TURF_6 + k], b[TURF_7 + k], b[TURF_8 + k]),
            )
            after = rigid_bounce(motion_of(b, k), (b[NX + k], b[NY + k], b[NZ + k]), ball, turf)
            b[SX + k], b[SY + k], b[SZ + k], b[TX + k], b[TY + k], b[TZ + k] = after
    else:
        for k in range(m):
            after = linear_bounce(
                *(*motion_of(b, k), b[NX + k], b[NY + k], b[NZ + k], b[TURF_1 + k], b[TURF_2 + k], b[TURF_3 + k]),
                *(b[TURF_4 + k], b[TURF_5 + k], b[TURF_6 + k], b[TURF_7 + k], *ball),
            )
            b[SX + k], b[SY + k], b[SZ + k], b[TX + k], b[TY + k], b[TZ + k] = after
    if departing:
        for k in range(m):
            after = (b[SX + k], b[SY + k], b[SZ + k], b[TX + k], b[TY + k], b[TZ + k])
            normal = (b[NX + k], b[NY + k], b[NZ + k])
            after = as_kept(after, motion_of(b, k), normal, b[PATCH + k], b[BY_ANGLE + k], b[BY_SPEED + k])
            b[SX + k], b[SY + k], b[SZ + k], b[TX + k], b[TY + k], b[TZ + k] = after
    for k in range(m):
        normal = (b[NX + k], b[NY + k], b[NZ + k])
        pull = -(b[GX + k] * normal[0] + b[GY + k] * normal[1] + b[GZ + k] * normal[2])
        x, y, z, left = settle_take_off((b[SX + k], b[SY + k], b[SZ + k]), normal, b[HOP_LOSS + k], pull)
        spin = math.sqrt(b[TX + k] * b[TX + k] + b[TY + k] * b[TY + k] + b[TZ + k] * b[TZ + k])
        per = 1.0 / max(spin, 1e-12)
        b[VX + k], b[VY + k], b[VZ + k], b[Z + k], b[SPIN + k] = x, y, z, 0.0, spin
        b[AX + k], b[AY + k], b[AZ + k] = b[TX + k] * per, b[TY + k] * per, b[TZ + k] * per
        # off a bump the ball may leave towards the ground at large: then it stays down
        b[LEFT + k] = min(left, z) if normal[0] != 0.0 or normal[1] != 0.0 else left


@kernel
def keep_flying(b: Any, m: int) -> int:
    """Note the lanes that stay down (or went astray), close the ranks of the rest, and return how many they are."""
    kept = 0
    for k in range(m):
        if b[BAD + k] == 0.0 and b[LEFT + k] > 0.0:
            if kept < k:
                for row in range(0, STATE_ROWS, WIDTH):
                    b[row + kept] = b[row + k]
            b[BOUNCES + kept] += 1.0
            kept += 1
        else:
            s = int(b[SLOT + k])
            for row in range(0, ENDING_ROWS, WIDTH):
                b[END_X + row + s] = b[row + k]
            b[END_SX + s], b[END_SY + s], b[END_SZ + s] = b[TX + k], b[TY + k], b[TZ + k]
            b[END_STATUS + s] = STOPPED if b[BAD + k] == 0.0 else STILL_BOUNCING
    return kept


@kernel
def note_landings(b: Any, m: int, hop: int, frames: Any, ground_step: int, gravity: float, out: Any) -> None:
    """Write where every lane first landed, or where and when its first hop came down."""
    for k in range(m):
        i = int(b[SHOT + k])
        row, clock, spin = out[i], b[CLOCK + k], b[SPIN + k]
        if hop == 0:
            state = (b[X + k], b[Y + k], b[Z + k], b[VX + k], b[VY + k], b[VZ + k], spin)
            frame, apex = frames[i * ground_step], b[TOP + k] / gravity
            land(row, b[X + k], state, spin * b[AX + k], spin * b[AY + k], frame, clock, apex)
        else:
            row[c.HOP_X], row[c.HOP_Y], row[c.HOP_TIME] = b[X + k], b[Y + k], clock


@kernel
def take_off(b: Any, shots: Any, launches: Any, ground: Any) -> int:
    """Put every valid shot into a lane, and return how many they are."""
    frames, strips, airs, ground_step, air_step = ground
    j = 0
    for k in range(shots.shape[0]):
        i = shots[k]
        g = i * ground_step
        b[END_STATUS + k] = INVALID
        if valid(launches[i], frames[g], strips[g], airs[i * air_step]):
            vx, vy, vz, sx, sy, sz = set_off(launches[i], frames[g])
            spin = math.sqrt(sx * sx + sy * sy + sz * sz)
            per = 1.0 / max(spin, 1e-12)
            b[X + j] = b[Y + j] = b[Z + j] = b[CLOCK + j] = b[BOUNCES + j] = 0.0
            b[VX + j], b[VY + j], b[VZ + j], b[SPIN + j] = vx, vy, vz, spin
            b[AX + j], b[AY + j], b[AZ + j] = sx * per, sy * per, sz * per
            b[SHOT + j], b[SLOT + j] = i, k
            j += 1
    return j


@kernel
def play_block(b: Any, shots: Any, launches: Any, ground: Any, table: Any, ball: Any, limits: Any, result: Any) -> None:
    """Play the shots of these numbers on one plane each; those that went astray keep the status STILL_BOUNCING.

    `limits` is the longest time step and whether there are hops; without any they end where they land.
    """
    (out, counts, path), (time_step, hops) = result, limits
    bumps = (launches.shape[1] - c.LAUNCH_COLUMNS) // c.CHANCE
    frames, strips, _, ground_step, air_step = ground
    radius, inertia, gravity, decay = ball
    flying = take_off(b, shots, launches, ground)
    varied, family = ground_step + air_step > 0 or strips.shape[1] > 1, strips[0, 0, c.TURF]
    for hop in range(MAX_BOUNCES):
        if flying == 0:
            break
        if hop == 0 or varied:
            hold_world(b, flying, ground, gravity)
        fly_lanes(b, flying, table, radius, decay, time_step)
        if hop < 2:
            note_landings(b, flying, hop, frames, ground_step, gravity, out)
        if hops == 0:
            break
        hold_ground(b, flying, launches, ground, hop, hop <= bumps, hop == 0 or varied)
        bounce_lanes(b, flying, family, (radius, inertia), hop <= bumps)
        flying = keep_flying(b, flying)
    for k in range(flying):
        b[END_STATUS + int(b[SLOT + k])] = STOPPED if hops == 0 and b[BAD + k] == 0.0 else STILL_BOUNCING
    world = (gravity, inertia, 0.0, 0.0, 0.0)
    for k in range(shots.shape[0]):
        i = shots[k]
        g = i * ground_step
        counts[i, c.BOUNCES], counts[i, c.STATUS], counts[i, c.HOLED] = 0, int(b[END_STATUS + k]), 0
        if b[END_STATUS + k] == STOPPED and hops > 0:
            counts[i, c.BOUNCES] = int(b[END_BOUNCES + k])
            place, note, where = (b[END_X + k], b[END_Y + k]), (path, b[END_CLOCK + k]), (frames[g], strips[g], world)
            motion = (b[END_VX + k], b[END_VY + k], b[END_VZ + k], b[END_SX + k], b[END_SY + k], b[END_SZ + k])
            come_to_rest(place, motion, (0.0, 0.0), radius, where, None, (out[i], counts[i]), note)


def _loop_for(stamp: int) -> Callable[..., int]:
    def loop(launches: Any, ground: Any, table: Any, ball: Any, limits: Any, room: Any, result: Any) -> int:
        frames, strips, airs = ground
        block, order = room
        ground_step, air_step = int(frames.shape[0] > 1), int(airs.shape[0] > 1)
        grounds = (frames, strips, airs, ground_step, air_step)
        for base in range(0, launches.shape[0], WIDTH):
            play_block(block, order[base : base + WIDTH], launches, grounds, table, ball, limits, result)
        return stamp

    return loop


# gives the compiled loop over lanes, which plays shots in the order given: those whose flights take like numbers of
# steps together; what a block leaves unfinished keeps the status STILL_BOUNCING
lanes_loop = kept(_loop_for)
