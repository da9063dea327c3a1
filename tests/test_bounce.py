"""Oblique impact by a second derivation and a rigid-body engine; turf: energy, hops that end, the two families."""

import math

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from reference_chip import impacted, in_engine
from scipy.spatial.transform import Rotation

from golfphys import Ball, LinearTurf, Turf, constants
from golfphys.formulas.impact import impact
from golfphys.formulas.turf import dented_normal
from golfphys.physics.bounce import bounce, settle_take_off
from golfphys.physics.rows import turf_row

BALL = Ball()
UP = (0.0, 0.0, 1.0)
GRAVITY = constants.GRAVITY.value
TURFS = (Turf(), Turf(tangential_restitution=0.3, friction=0.7), LinearTurf(), LinearTurf(spin_from_speed=-0.4))

landings = st.tuples(
    st.floats(-12.0, 12.0), st.floats(-4.0, 4.0), st.floats(-12.0, -0.01), *(st.floats(-900.0, 900.0) for _ in "xyz")
)


def energy(velocity: np.ndarray, spin: np.ndarray) -> float:
    return float(velocity @ velocity + BALL.inertia * BALL.radius**2 * (spin @ spin))


@pytest.mark.parametrize("turf", TURFS)
@given(landing=landings)
def test_energy_never_rises(turf: Turf | LinearTurf, landing: tuple[float, ...]) -> None:
    velocity, spin = np.array(landing[:3]), np.array(landing[3:])
    after_velocity, after_spin = bounce(velocity, spin, turf)
    assert np.all(np.isfinite(after_velocity))
    assert np.all(np.isfinite(after_spin))
    assert energy(after_velocity, after_spin) <= energy(velocity, spin) * (1 + 1e-9)


@pytest.mark.parametrize("turf", TURFS)
@given(speed=st.floats(1.0, 20.0), angle=st.floats(0.02, 1.5), spin=st.floats(-200.0, 900.0))
def test_hops_end(turf: Turf | LinearTurf, speed: float, angle: float, spin: float) -> None:
    velocity = np.array([speed * math.cos(angle), 0.0, -speed * math.sin(angle)])
    turning = np.array([0.0, -spin, 0.0])
    hops, left = 0, math.inf
    while left > 0.0 and hops < 40:
        velocity, turning = bounce(velocity, turning, turf)
        *settled, left = settle_take_off(tuple(velocity), UP, turf.hop_loss, GRAVITY)
        velocity = np.array([settled[0], settled[1], -settled[2]])
        hops += 1
    assert left == 0.0


def test_tilt_is_exact_at_the_reference_and_linear_about_it() -> None:
    row = turf_row(Turf())
    speed, angle = constants.TURF_REFERENCE_SPEED.value, constants.TURF_REFERENCE_ANGLE.value

    def tilt(v: float, phi: float) -> float:
        normal = dented_normal(v * math.sin(phi), 0.0, -v * math.cos(phi), *UP, row[5], row[6])
        assert math.isclose(math.hypot(*normal), 1.0, rel_tol=1e-12)
        return math.atan2(-normal[0], normal[2])

    assert math.isclose(tilt(speed, angle), Turf().tilt, rel_tol=1e-12)
    fade = [u * u / (u * u + Turf().dent_speed ** 2) for u in (speed * math.cos(angle), 0.8 * speed * math.cos(angle))]
    assert math.isclose(tilt(0.8 * speed, angle), 0.8 * Turf().tilt * fade[1] / fade[0], rel_tol=5e-3)


def test_turned_ground_and_landing_turn_the_bounce() -> None:
    turn, tilt = Rotation.from_euler("z", 0.7), Rotation.from_euler("y", 0.1)
    velocity, spin = np.array([5.0, 0.5, -4.0]), np.array([30.0, -250.0, 40.0])
    for turf in TURFS:
        level = bounce(velocity, spin, turf)
        for by in (turn, tilt, tilt * turn):
            turned = bounce(by.apply(velocity), by.apply(spin), turf, normal=by.apply(UP))
            assert np.allclose(turned[0], by.apply(level[0]), atol=1e-12)
            assert np.allclose(turned[1], by.apply(level[1]), atol=1e-9)


def test_linear_family_contains_the_rigid_grip() -> None:
    for friction in (0.15, 5.0):
        linear = LinearTurf(restitution=0.4, forward_lift=0.0, friction=friction)
        rigid = Turf(restitution=0.4, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, friction=friction)
        velocity, spin = [6.0, 1.0, -5.0], [40.0, -200.0, 15.0]
        for ours, theirs in zip(bounce(velocity, spin, linear), bounce(velocity, spin, rigid), strict=True):
            assert np.allclose(ours, theirs, atol=1e-9)


@given(
    v=st.tuples(*[st.floats(-20.0, 20.0)] * 3),
    w=st.tuples(*[st.floats(-800.0, 800.0)] * 3),
    lean=st.tuples(*[st.floats(-0.6, 0.6)] * 2),
    contact=st.tuples(*(st.floats(0.0, most) for most in (1.0, 2.0, 1.0, 0.3))),
)
def test_agrees_with_the_conservation_laws(v, w, lean, contact):
    """Of restitution, friction, tangential restitution and mass ratio whatever they are, on ground that leans."""
    v, w, n = np.array(v), np.array(w), np.array([*lean, 1.0]) / math.hypot(*lean, 1.0)
    ours, (velocity, spin) = impact(*v, *w, *n, *contact, BALL.radius, BALL.inertia), impacted(v, w, n, contact)
    assert np.allclose(ours[:3], velocity, atol=1e-7)
    assert np.allclose(ours[3:], spin, atol=1e-5)


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
    theirs = in_engine(velocity, spin, friction, restitution)[1:]
    words = f"{name.replace('-', ' ')}, friction {friction:g}, restitution {restitution:g}"
    for of, part, other in zip(("velocity", "spin"), (ours[:3], ours[3:]), theirs, strict=True):
        miss = float(np.max(np.abs(np.subtract(part, other))))
        external_check(f"rigid-body-{of}-{{name}}", miss, name=name, words=words)
