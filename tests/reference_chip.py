"""One chip at a time by a general-purpose solver: the slow reference for the engine.

Written apart from the engine: in the world's axes (x forward and level, z vertical), with scipy's ``solve_ivp``
(DOP853, events, rtol 1e-10) for the flight, the skid and the roll, and with the bounce from conservation of
momentum instead of the library's vector form. It shares with the library only the numbers:
coefficients, turf, resistance.
"""

import math
from types import SimpleNamespace
from typing import Any

import numpy as np
import pytest
from scipy.integrate import solve_ivp
from scipy.spatial.transform import Rotation

from golfphys.core import constants
from golfphys.core.constants import Ball
from golfphys.physics.flight import TABLE_REYNOLDS, Aerodynamics, Air
from golfphys.physics.green import Green, Turf

GRAVITY, BALL = constants.GRAVITY.value, Ball()
STEP = 1e-4
TOLERANCES = {"method": "DOP853", "rtol": 1e-10, "atol": 1e-12}


class Course:
    def __init__(self, green: Green, air: Air) -> None:
        assert isinstance(green.turf, Turf)
        self.green, self.turf, self.ball, self.aero = green, green.turf, Ball(), Aerodynamics()
        self.drag, self.lift = (self.aero.fine_table[:, :, which].tolist() for which in (0, 1))
        self.share = air.density * math.pi * self.ball.radius**2 / (2 * self.ball.mass)
        self.reynolds_rate = 2 * self.ball.radius * air.density / air.viscosity
        self.wind = air.wind_speed * np.array([math.cos(air.wind_direction), math.sin(air.wind_direction), 0.0])
        self.wind_height, self.roughness = air.wind_height, air.roughness
        # the plane: unit normal, and axes in it (along the line of play, and to its left)
        self.normal, self.along, self.left = plane_axes(green.grade, green.fall_direction)

    def coefficients(self, reynolds: float, spin_ratio: float) -> tuple[float, float]:
        """Bilinear look-up, written anew."""
        r = min(reynolds / TABLE_REYNOLDS, 1.0) * (len(self.drag) - 1)
        s = spin_ratio / (1 + spin_ratio) * (len(self.drag[0]) - 1)
        i, j = min(int(r), len(self.drag) - 2), min(int(s), len(self.drag[0]) - 2)
        a, b = r - i, s - j

        def there(table: list[list[float]]) -> float:
            low, high = table[i], table[i + 1]
            return (1 - a) * ((1 - b) * low[j] + b * low[j + 1]) + a * ((1 - b) * high[j] + b * high[j + 1])

        return there(self.drag), there(self.lift)

    def wind_at(self, height: float) -> float:
        """Share of the wind at a height over the ground: the logarithmic law, written anew."""
        if self.roughness == 0:
            return 1.0
        rough = self.roughness
        return math.log((max(height, 0.0) + rough) / rough) / math.log((self.wind_height + rough) / rough)

    def fly(self, place, velocity, spin):
        """Fly to the plane; time, place, velocity and spin there."""
        size = float(np.linalg.norm(spin))
        ax, ay, az = (spin / size).tolist() if size > 0 else (0.0, 0.0, 0.0)
        wx, wy, wz = self.wind.tolist()
        nx, ny, nz = self.normal.tolist()
        radius, decay = self.ball.radius, self.aero.spin_decay

        def motion(_: float, state: np.ndarray) -> list[float]:
            x, y, z, vx, vy, vz, w = state.tolist()
            share = self.wind_at(x * nx + y * ny + z * nz + radius)
            ux, uy, uz = vx - share * wx, vy - share * wy, vz - share * wz
            v = math.sqrt(ux * ux + uy * uy + uz * uz)
            drag, lift = self.coefficients(v * self.reynolds_rate, radius * w / (v + 1e-9))
            d, m = self.share * drag * v, self.share * lift * v
            push = -d * ux + m * (ay * uz - az * uy), -d * uy + m * (az * ux - ax * uz)
            return [vx, vy, vz, *push, -d * uz + m * (ax * uy - ay * ux) - GRAVITY, -decay * w * v / radius]

        def lands(_: float, state: np.ndarray) -> float:
            return float(state[0] * nx + state[1] * ny + state[2] * nz)

        lands.terminal, lands.direction = True, -1
        start = np.array([*place, *velocity, size])
        # from the ground the event's own value is 0 at the start: a first short step leaves it
        found = solve_ivp(motion, (0.0, 20.0), start, events=lands, first_step=1e-3, **TOLERANCES)
        end = found.y_events[0][0]
        return float(found.t_events[0][0]), end[:3], end[3:6], end[6] * np.array([ax, ay, az])

    def bounce(self, velocity: np.ndarray, spin: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        turf = self.turf
        down = -float(velocity @ self.normal)
        ground = velocity + down * self.normal
        speed = float(np.linalg.norm(ground))
        normal = self.normal
        if speed > 1e-9:
            half = dent_half_tangent(turf, down, speed)
            tilt = 2 * math.atan(half)
            normal = math.cos(tilt) * self.normal - math.sin(tilt) * ground / speed
        counted = min(-float(velocity @ normal), turf.restitution_limit_speed)
        e = turf.restitution + turf.restitution_linear * counted + turf.restitution_quadratic * counted**2
        contact = (min(max(e, 0.0), 1.0), turf.friction, turf.tangential_restitution, 0.0)
        return impacted(velocity, spin, normal, contact)

    def settle(self, place: np.ndarray, velocity: np.ndarray, spin: np.ndarray) -> tuple[float, float]:
        """Skid and roll to rest on the plane; where, along the ground."""
        r, k, c = self.ball.radius, self.ball.inertia, self.green.resistance
        px, py = -GRAVITY * float(self.along[2]), -GRAVITY * float(self.left[2])
        held = GRAVITY * float(self.normal[2])
        v = np.array([velocity @ self.along, velocity @ self.left])
        w = np.array([spin @ self.along, spin @ self.left])
        slip = np.array([v[0] - r * w[1], v[1] + r * w[0]])
        x, y = float(place @ self.along), float(place @ self.left)
        friction = self.turf.skid_friction
        wind = self.wind_at(r) * np.array([self.wind @ self.along, self.wind @ self.left])
        if np.linalg.norm(slip) > 1e-12:

            def slide(_: float, state: np.ndarray) -> list[float]:
                _, _, vx, vy, sx, sy = state.tolist()
                push = friction * held / math.hypot(sx, sy)
                more = push * (1 + 1 / k)
                return [vx, vy, px - push * sx, py - push * sy, px - more * sx, py - more * sy]

            def rolls(_: float, state: np.ndarray) -> float:
                return float(state[4:6] @ slip) / float(slip @ slip) - 1e-6

            rolls.terminal = True
            found = solve_ivp(slide, (0.0, 10.0), [x, y, *v, *slip], events=rolls, **TOLERANCES)
            x, y, vx, vy = found.y_events[0][0][:4].tolist()
            v = np.array([vx, vy])

        def air(vx: float, vy: float) -> list[float]:
            # the wind adds what the drag in it is beyond that in still air, which a measured resistance holds already
            ux, uy = wind[0] - vx, wind[1] - vy
            through, over = math.hypot(ux, uy), math.hypot(vx, vy)
            return [0.5 * self.share * (through * u + over * v) / (1 + k) for u, v in ((ux, vx), (uy, vy))]

        if np.linalg.norm(v) > 1e-3:
            law = (c.constant, c.linear, c.quadratic, c.grain, c.grain_direction)
            done = rolled([x, y, *v], law, lambda _x, _y: (-px / held, -py / held), push=air, rtol=1e-10)
            x, y = done.y[:2, -1].tolist()
        return x, y

    def play(self, speed: float, angle: float, backspin: float, direction: float, sidespin: float) -> SimpleNamespace:
        ahead = np.array([math.cos(direction), math.sin(direction), 0.0])
        up = np.array([0.0, 0.0, 1.0])
        velocity = speed * (math.cos(angle) * ahead + math.sin(angle) * up)
        spin = backspin * np.array([math.sin(direction), -math.cos(direction), 0.0]) + sidespin * up
        place, bounces, first = np.zeros(3), 0, None
        while True:
            taken, place, velocity, spin = self.fly(place, velocity, spin)
            if first is None:
                level = math.hypot(velocity[0], velocity[1])
                forward = velocity - (velocity @ self.normal) * self.normal
                first = {
                    "carry": float(np.linalg.norm(place)),
                    "flight_time": taken,
                    "landing_speed": float(np.linalg.norm(velocity)),
                    "landing_angle": math.atan2(-velocity[2], level),
                    "landing_spin": float(spin @ np.cross(forward, self.normal) / np.linalg.norm(forward)),
                }
            velocity, spin = self.bounce(velocity, spin)
            rise = float(velocity @ self.normal)
            left = rise * rise - 2 * GRAVITY * self.normal[2] * self.turf.hop_loss
            kept = math.sqrt(left) if rise > 0 and left > 0 else 0.0
            velocity = velocity + (kept - rise) * self.normal
            if kept == 0.0:
                break
            bounces += 1
        x, y = self.settle(place, velocity, spin)
        return SimpleNamespace(bounces=bounces, rest_x=x, rest_y=y, **first)


def impacted(v, w, n, contact):
    """An impact of the ball from conservation laws alone, as a linear system solved numerically.

    Unknown: velocity and spin of the ball, velocity of the body. Momentum of both together is kept; so is the ball's
    angular momentum about the contact, since the impulse passes through it; the normal parting speed is e times the
    approach; and the slip ends at -e_t times itself if friction allows, else the impulse lies on the friction cone.
    """
    e, mu, e_t, q = contact
    r, k = BALL.radius, BALL.inertia
    approach = -v @ n
    if approach <= 0:
        return v, w
    arm = -r * n
    cross = np.array([[0, -arm[2], arm[1]], [arm[2], 0, -arm[0]], [-arm[1], arm[0], 0]])  # arm x
    surface = np.eye(3) - np.outer(n, n)
    before = surface @ v + np.cross(w, arm)
    zero = np.zeros((3, 3))
    rows = (
        (np.hstack([q * np.eye(3), zero, np.eye(3)]), q * v),
        (np.hstack([-cross, k * r * r * np.eye(3), zero]) / r, (k * r * r * w - cross @ v) / r),
        (np.concatenate([n, np.zeros(3), -n])[None], np.array([e * approach])),
        (np.hstack([surface, -cross, -surface]), -e_t * before),  # spin x arm = -arm x spin
    )
    left, right = np.vstack([row[0] for row in rows]), np.concatenate([row[1] for row in rows])
    unit = np.array([1.0] * 3 + [1 / r] * 3 + [1.0] * 3)  # spins are greater than speeds by 1/r
    grip = np.linalg.lstsq(left * unit, right, rcond=None)[0] * unit
    impulse = grip[:3] - v
    tangential = surface @ impulse
    push = impulse @ n
    if np.linalg.norm(tangential) <= mu * push * (1 + 1e-12):
        return grip[:3], grip[3:6]
    direction = -before / np.linalg.norm(before)
    # on the cone: impulse = P (n + mu direction), whose size the parting speed fixes
    size = (1 + e) * approach / (1 + q)
    impulse = size * (n + mu * direction)
    return v + impulse, w + cross @ impulse / (k * r * r)


def rolled(state, law, rise, *, push=None, until=300.0, end=None, rtol=1e-11, **how):
    """Solve the roll of a ball from x, y and velocity on ground that rises by `rise(x, y)`, to a crawl or to an event.

    `law` is resistance constant, linear, quadratic, grain and its direction, as many as there are; `push` is what else
    speeds a ball up, by its velocity.
    """
    constant, linear, quadratic, grain, towards = (*law, 0.0, 0.0, 0.0, 0.0)[:5]

    def rates(_: float, now: np.ndarray) -> list[float]:
        x, y, u, v = now.tolist()
        speed, (rise_x, rise_y) = math.hypot(u, v), rise(x, y)
        pull = GRAVITY / 1.4 / math.sqrt(1 + rise_x**2 + rise_y**2)
        ahead = (u * math.cos(towards) + v * math.sin(towards)) / speed
        share = (constant + linear * speed + quadratic * speed**2) * (1 - grain * ahead) / speed
        more_x, more_y = push(u, v) if push else (0.0, 0.0)
        return [u, v, more_x - pull * (rise_x + share * u), more_y - pull * (rise_y + share * v)]

    stop = end or (lambda _, now: math.hypot(now[2], now[3]) - 1e-7)
    stop.terminal = True
    return solve_ivp(rates, (0.0, until), state, events=stop, method="DOP853", rtol=rtol, atol=1e-13, **how)


def plane_axes(grade: float, fall_direction: float) -> np.ndarray:
    """Unit normal of the plane, and unit axes in it, given directions measured in the plane from the line of play."""
    # Turn level axes about the horizontal line square to the fall: the fall line dips by the slope's angle. In the
    # plane the line of play lies `fall_direction` clockwise of the fall line; turned back so that it runs along x.
    cos, sin = math.cos(fall_direction), math.sin(fall_direction)
    axes = Rotation.from_euler("y", math.atan(grade)).apply([[0.0, 0.0, 1.0], [cos, -sin, 0.0], [sin, cos, 0.0]])
    return Rotation.from_euler("z", -math.atan2(axes[1, 1], axes[1, 0])).apply(axes)


def dent_half_tangent(turf: Turf, down: float, ground: float) -> float:
    """Tangent of half the dent's tilt, from the rule's statement."""

    def rule(speed_down: float, speed_along: float) -> float:
        total = math.hypot(speed_down, speed_along)
        t = speed_along / (total + speed_down)
        angle = 2 * t * (15 + 4 * t * t) / (15 + 9 * t * t)
        return total * angle * speed_down**2 / (speed_down**2 + turf.dent_speed**2)

    speed, angle = constants.TURF_REFERENCE_SPEED.value, constants.TURF_REFERENCE_ANGLE.value
    reference = rule(speed * math.cos(angle), speed * math.sin(angle))
    return math.tan(turf.tilt / 2) * rule(down, ground) / reference


def in_engine(
    velocity: Any, spin: Any, friction: float, restitution: float = 0.0, gravity: Any = (0.0, 0.0, 0.0), steps: int = 1
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Return place, velocity and spin of a ball on a floor after steps in a rigid-body engine, its damping off."""
    bullet = pytest.importorskip("pybullet", exc_type=ImportError)
    world = bullet.connect(bullet.DIRECT)
    try:
        none = ("numSubSteps", "erp", "contactERP", "contactSlop", "frictionERP", "solverResidualThreshold")
        fine = {"restitutionVelocityThreshold": 1e-3, "contactBreakingThreshold": 1e-4, "enableConeFriction": 1}
        bullet.setPhysicsEngineParameter(
            fixedTimeStep=STEP, numSolverIterations=200, **fine, **dict.fromkeys(none, 0), physicsClientId=world
        )
        bullet.setGravity(*gravity, physicsClientId=world)
        plane = bullet.createCollisionShape(bullet.GEOM_PLANE, physicsClientId=world)
        floor = bullet.createMultiBody(0, plane, physicsClientId=world)
        sphere = bullet.createCollisionShape(bullet.GEOM_SPHERE, radius=BALL.radius, physicsClientId=world)
        ball = bullet.createMultiBody(BALL.mass, sphere, basePosition=(0, 0, BALL.radius), physicsClientId=world)
        losses = ("linearDamping", "angularDamping", "rollingFriction", "spinningFriction")
        common = {**dict.fromkeys(losses, 0), "maxJointVelocity": 1e9, "physicsClientId": world}
        bullet.changeDynamics(floor, -1, lateralFriction=1.0, restitution=1.0, **common)
        moment = BALL.inertia * BALL.mass * BALL.radius**2
        awake = bullet.ACTIVATION_STATE_DISABLE_SLEEPING
        own = {"lateralFriction": friction, "restitution": restitution, "activationState": awake}
        bullet.changeDynamics(ball, -1, localInertiaDiagonal=(moment,) * 3, **own, **common)
        bullet.resetBaseVelocity(ball, velocity, spin, physicsClientId=world)
        for _ in range(steps):
            bullet.stepSimulation(physicsClientId=world)
        place = bullet.getBasePositionAndOrientation(ball, physicsClientId=world)[0]
        return tuple(map(np.array, (place, *bullet.getBaseVelocity(ball, physicsClientId=world))))
    finally:
        bullet.disconnect(world)
