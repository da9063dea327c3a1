"""Oblique impact: a second derivation, invariants, limits, and a rigid-body engine."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from golfphys.core.ball import Ball
from golfphys.formulas.impact import impact

BALL = Ball()
ENERGY_SLACK = 1e-9


def motions() -> st.SearchStrategy[tuple[np.ndarray, np.ndarray, np.ndarray]]:
    """Velocity, spin and a unit normal."""
    part = st.floats(-20.0, 20.0)
    turn = st.floats(-800.0, 800.0)
    lean = st.floats(-0.6, 0.6)

    def made(v: tuple[float, ...], w: tuple[float, ...], n: tuple[float, float]) -> tuple[np.ndarray, ...]:
        normal = np.array([n[0], n[1], 1.0])
        return np.array(v), np.array(w), normal / np.linalg.norm(normal)

    return st.builds(made, st.tuples(part, part, part), st.tuples(turn, turn, turn), st.tuples(lean, lean))


def contacts() -> st.SearchStrategy[tuple[float, float, float, float]]:
    """Restitution, friction, tangential restitution and mass ratio."""
    return st.tuples(st.floats(0.0, 1.0), st.floats(0.0, 2.0), st.floats(0.0, 1.0), st.floats(0.0, 0.3))


def struck(v: np.ndarray, w: np.ndarray, n: np.ndarray, contact: tuple[float, float, float, float]) -> tuple:
    after = impact(*v, *w, *n, *contact, BALL.radius, BALL.inertia)
    return np.array(after[:3]), np.array(after[3:])


def energy(v: np.ndarray, w: np.ndarray, v0: np.ndarray, q: float) -> float:
    """Energy over half the ball's mass, with the recoil of the body met: its momentum is what the ball's lost."""
    recoil = (v - v0) @ (v - v0) * q
    return float(v @ v + recoil + BALL.inertia * BALL.radius**2 * (w @ w))


def slip_of(v: np.ndarray, w: np.ndarray, n: np.ndarray, body: np.ndarray) -> np.ndarray:
    relative = v - body
    return relative - (relative @ n) * n + np.cross(w, -BALL.radius * n)


def second_derivation(v: np.ndarray, w: np.ndarray, n: np.ndarray, contact: tuple[float, float, float, float]) -> tuple:
    """The same impact from conservation laws alone, as a linear system solved numerically.

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
    before = slip_of(v, w, n, np.zeros(3))
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


@given(motions(), contacts())
def test_agrees_with_the_conservation_laws(motion: tuple, contact: tuple[float, float, float, float]) -> None:
    v, w, n = motion
    ours_v, ours_w = struck(v, w, n, contact)
    other_v, other_w = second_derivation(v, w, n, contact)
    assert np.allclose(ours_v, other_v, atol=1e-7)
    assert np.allclose(ours_w, other_w, atol=1e-5)


@given(motions(), contacts())
def test_energy_never_rises(motion: tuple, contact: tuple[float, float, float, float]) -> None:
    v, w, n = motion
    after_v, after_w = struck(v, w, n, contact)
    before, after = energy(v, w, v, contact[3]), energy(after_v, after_w, v, contact[3])
    assert after <= before * (1 + ENERGY_SLACK) + ENERGY_SLACK


CASES = (
    ("slipping-backspin", (8.0, 0.0, -3.0), (0.0, -300.0, 0.0), 0.3, 0.4),
    ("gripping-backspin", (4.0, 0.0, -6.0), (0.0, -150.0, 0.0), 0.9, 0.4),
    ("topspin", (4.0, 0.0, -6.0), (0.0, 400.0, 0.0), 0.5, 0.3),
    ("sidespin", (6.0, 1.0, -5.0), (120.0, -250.0, 80.0), 0.4, 0.5),
    ("sidespin-gripping", (3.0, -1.0, -7.0), (-60.0, 50.0, -200.0), 1.2, 0.6),
)


@pytest.mark.parametrize(("name", "velocity", "spin", "friction", "restitution"), CASES)
def test_agrees_with_a_rigid_body_engine(name, velocity, spin, friction, restitution, external_check):
    ours = impact(*velocity, *spin, 0.0, 0.0, 1.0, restitution, friction, 0.0, 0.0, BALL.radius, BALL.inertia)
    theirs = rigid_body_impact(velocity, spin, friction, restitution)
    words = f"{name.replace('-', ' ')}, friction {friction:g}, restitution {restitution:g}"
    external_check(
        f"rigid-body-velocity-{name}",
        float(np.max(np.abs(np.subtract(ours[:3], theirs[0])))),
        0.0,
        1e-9,
        what=f"greatest difference in velocity after a bounce, {words}",
        source="PyBullet, rigid-body engine",
        locator="one impact at zero gravity, error correction and damping off",
        mark="derived",
        unit="m_s",
    )
    external_check(
        f"rigid-body-spin-{name}",
        float(np.max(np.abs(np.subtract(ours[3:], theirs[1])))),
        0.0,
        1e-6,
        what=f"greatest difference in spin after a bounce, {words}",
        source="PyBullet, rigid-body engine",
        locator="one impact at zero gravity, error correction and damping off",
        mark="derived",
        unit="rad_s",
    )


def rigid_body_impact(velocity, spin, friction, restitution):
    """Let the rigid-body engine play one impact of a uniform sphere on a level floor."""
    bullet = pytest.importorskip("pybullet", exc_type=ImportError)
    client = bullet.connect(bullet.DIRECT)
    try:
        bullet.setPhysicsEngineParameter(
            fixedTimeStep=1e-4,
            numSolverIterations=500,
            numSubSteps=0,
            erp=0,
            contactERP=0,
            contactSlop=0,
            frictionERP=0,
            restitutionVelocityThreshold=1e-3,
            enableConeFriction=1,
            solverResidualThreshold=0,
            contactBreakingThreshold=1e-4,
            physicsClientId=client,
        )
        bullet.setGravity(0, 0, 0, physicsClientId=client)
        plane = bullet.createCollisionShape(bullet.GEOM_PLANE, physicsClientId=client)
        floor = bullet.createMultiBody(0, plane, physicsClientId=client)
        sphere = bullet.createCollisionShape(bullet.GEOM_SPHERE, radius=BALL.radius, physicsClientId=client)
        ball = bullet.createMultiBody(BALL.mass, sphere, basePosition=(0, 0, BALL.radius), physicsClientId=client)
        moment = BALL.inertia * BALL.mass * BALL.radius**2
        common = {
            "linearDamping": 0,
            "angularDamping": 0,
            "rollingFriction": 0,
            "spinningFriction": 0,
            "maxJointVelocity": 1e9,
            "physicsClientId": client,
        }
        bullet.changeDynamics(floor, -1, lateralFriction=1.0, restitution=1.0, **common)
        bullet.changeDynamics(
            ball,
            -1,
            lateralFriction=friction,
            restitution=restitution,
            localInertiaDiagonal=(moment, moment, moment),
            activationState=bullet.ACTIVATION_STATE_DISABLE_SLEEPING,
            **common,
        )
        bullet.resetBaseVelocity(ball, velocity, spin, physicsClientId=client)
        bullet.stepSimulation(physicsClientId=client)
        after, turning = bullet.getBaseVelocity(ball, physicsClientId=client)
        return after, turning
    finally:
        bullet.disconnect(client)
