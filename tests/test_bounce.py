"""Turf: energy, hops that end, the dent's tilt, the two families."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.formulas.turf import dented_normal, hop_speed, linear_bounce
from golfphys.physics.bounce import bounce, drop_restitution, rebound_height, rigid_bounce, settle_take_off, turf_row
from golfphys.physics.green import LinearTurf, Turf

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
@given(landing=landings)
def test_a_mirror_changes_nothing(turf: Turf | LinearTurf, landing: tuple[float, ...]) -> None:
    velocity, spin = np.array(landing[:3]), np.array(landing[3:])
    mirror, axial = np.array([1, -1, 1]), np.array([-1, 1, -1])
    here, there = bounce(velocity, spin, turf), bounce(velocity * mirror, spin * axial, turf)
    assert np.allclose(there[0], here[0] * mirror, atol=1e-9)
    assert np.allclose(there[1], here[1] * axial, atol=1e-6)


@pytest.mark.parametrize("turf", TURFS)
@given(speed=st.floats(1.0, 20.0), angle=st.floats(0.02, 1.5), spin=st.floats(-200.0, 900.0))
def test_hops_end(turf: Turf | LinearTurf, speed: float, angle: float, spin: float) -> None:
    """No landing, however flat or spun, is kicked up for ever."""
    velocity = np.array([speed * math.cos(angle), 0.0, -speed * math.sin(angle)])
    turning = np.array([0.0, -spin, 0.0])
    hops, left = 0, math.inf
    while left > 0.0 and hops < 40:
        velocity, turning = bounce(velocity, turning, turf)
        *settled, left = settle_take_off(tuple(velocity), UP, turf.hop_loss, GRAVITY)
        velocity = np.array([settled[0], settled[1], -settled[2]])
        hops += 1
    assert left == 0.0


@given(speed=st.floats(0.5, 8.0), down=st.floats(0.02, 0.5))
def test_slow_flat_hops_sink(speed: float, down: float) -> None:
    """A rolling ball that touches down gently takes off more gently: the tilt has faded with the dent."""
    after, _ = bounce([speed, 0.0, -down], [0.0, speed / BALL.radius, 0.0], Turf())
    assert after[2] < down


def test_without_fading_a_flat_hop_would_be_kicked_up() -> None:
    """What the fading is for: with a dent that is always full the same hop grows."""
    after, _ = bounce([6.0, 0.0, -0.3], [0.0, 6.0 / BALL.radius, 0.0], Turf(dent_speed=0.1))
    assert after[2] > 0.3


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


def test_turned_landing_turns_the_bounce() -> None:
    """The law knows no direction but that of the ball: turn everything about the vertical and the result turns."""
    turn = 0.7
    rotation = np.array([[math.cos(turn), -math.sin(turn), 0], [math.sin(turn), math.cos(turn), 0], [0, 0, 1]])
    velocity, spin = np.array([5.0, 0.5, -4.0]), np.array([30.0, -250.0, 40.0])
    for turf in TURFS:
        straight = bounce(velocity, spin, turf)
        turned = bounce(rotation @ velocity, rotation @ spin, turf)
        assert np.allclose(turned[0], rotation @ straight[0], atol=1e-12)
        assert np.allclose(turned[1], rotation @ straight[1], atol=1e-9)


def test_bounce_on_a_slope_is_the_level_bounce_turned() -> None:
    tilt = 0.1
    rotation = np.array([[math.cos(tilt), 0, math.sin(tilt)], [0, 1, 0], [-math.sin(tilt), 0, math.cos(tilt)]])
    velocity, spin = np.array([5.0, 0.5, -4.0]), np.array([30.0, -250.0, 40.0])
    for turf in TURFS:
        level = bounce(velocity, spin, turf)
        sloped = bounce(rotation @ velocity, rotation @ spin, turf, normal=rotation @ UP)
        assert np.allclose(sloped[0], rotation @ level[0], atol=1e-12)
        assert np.allclose(sloped[1], rotation @ level[1], atol=1e-9)


def test_linear_family_contains_the_rigid_grip() -> None:
    """Its defaults are a rigid contact that grips, untilted; with little friction both slip alike."""
    for friction in (0.15, 5.0):
        linear = LinearTurf(restitution=0.4, forward_lift=0.0, friction=friction)
        rigid = Turf(restitution=0.4, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, friction=friction)
        velocity, spin = [6.0, 1.0, -5.0], [40.0, -200.0, 15.0]
        for ours, theirs in zip(bounce(velocity, spin, linear), bounce(velocity, spin, rigid), strict=True):
            assert np.allclose(ours, theirs, atol=1e-9)


def test_linear_family_can_leave_slipping_backwards() -> None:
    """What a rigid contact cannot give: a ball that rolled through the contact leaves with its slip reversed."""
    after, spin = linear_after(LinearTurf(spin_from_speed=1.0, spin_kept=0.0, forward_lift=0.0, friction=5.0))
    slip_before, slip_after = 6.0 - BALL.radius * 0.0, after[0] - BALL.radius * spin[1]
    assert slip_before > 0 > slip_after


def linear_after(turf: LinearTurf) -> tuple[np.ndarray, np.ndarray]:
    row = turf_row(turf)
    found = linear_bounce(6.0, 0.0, -5.0, 0.0, 0.0, 0.0, *UP, *row[1:8], BALL.radius, BALL.inertia)
    return np.array(found[:3]), np.array(found[3:])


def test_continuous_across_gripping_and_slipping() -> None:
    """Carry on through the boundary in small steps: no jump larger than the steps explain."""
    spins = np.linspace(0.0, 600.0, 6001)
    row = turf_row(Turf())
    after = np.array(
        [
            rigid_bounce((6.0, 0.0, -4.0, 0.0, -w, 0.0), UP, (BALL.radius, BALL.inertia), row[1:9])
            for w in spins.tolist()
        ]
    )
    jumps = np.abs(np.diff(after, axis=0))
    assert jumps[:, 0].max() < 2 * BALL.radius * 0.1
    assert jumps[:, 4].max() < 2 * 0.1


@given(take_off=st.floats(0.0, 10.0), loss=st.floats(0.0005, 0.01))
def test_the_grass_takes_its_height_from_every_hop(take_off: float, loss: float) -> None:
    left = hop_speed(take_off, loss, GRAVITY)
    height = take_off**2 / (2 * GRAVITY)
    assert math.isclose(left**2 / (2 * GRAVITY), max(0.0, height - loss), abs_tol=1e-12)


def test_drop_test_and_rebound_are_inverse() -> None:
    turf = Turf(restitution_linear=0.0, restitution_quadratic=0.0)
    heights = np.array([0.2, 0.5, 1.5])
    assert np.allclose(drop_restitution(heights, rebound_height(turf, heights)), turf.restitution)


def test_softer_turf_returns_less() -> None:
    assert rebound_height(Turf(restitution=0.4), 1.0) < rebound_height(Turf(restitution=0.5), 1.0)
    # the harder the landing, the less of it comes back
    assert drop_restitution(2.0, rebound_height(Turf(), 2.0)) < drop_restitution(0.5, rebound_height(Turf(), 0.5))


def test_arrays_and_scalars_agree() -> None:
    velocities = np.array([[5.0, 0.0, -4.0], [3.0, 1.0, -6.0]])
    together = bounce(velocities, [0.0, -200.0, 0.0], Turf())
    for number, velocity in enumerate(velocities):
        alone = bounce(velocity, [0.0, -200.0, 0.0], Turf())
        assert np.array_equal(together[0][number], alone[0])
        assert np.array_equal(together[1][number], alone[1])


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (([1.0, 2.0], [0.0, 0.0, 0.0]), "velocity has shape"),
        (([1.0, 0.0, -2.0], [0.0]), "spin has shape"),
    ],
)
def test_bad_shapes_are_named(arguments: tuple[list[float], list[float]], words: str) -> None:
    with pytest.raises(ValueError, match=words):
        bounce(*arguments)


def test_bad_values_are_named() -> None:
    with pytest.raises(ValueError, match="normal is"):
        bounce([1.0, 0.0, -2.0], [0.0, 0.0, 0.0], normal=[0.0, 0.0, 2.0])
    with pytest.raises(ValueError, match="drop_height"):
        drop_restitution(0.0, 0.1)
    with pytest.raises(ValueError, match="drop_height"):
        rebound_height(Turf(), -1.0)
    with pytest.raises(ValueError, match="Turf dent_speed"):
        replace(Turf(), dent_speed=0.0)
    with pytest.raises(ValueError, match="LinearTurf speed_kept"):
        LinearTurf(speed_kept=3.0)
