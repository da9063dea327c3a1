"""Rolling along a straight path: the closed forms against an ODE solver, against each other, and at their limits."""

import math

import numpy as np
import pytest
from conftest import ExternalCheck
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from golfphys.physics import straight

PULL = 9.80665 / 1.4


def law(linear: float, quadratic: float) -> dict[str, float]:
    return {"linear": linear} if linear else {"quadratic": quadratic} if quadratic else {}


def random_rolls(count: int, seed: int) -> list[tuple[float, float, float, float, float]]:
    rng = np.random.default_rng(seed)
    rolls = []
    for number in range(count):
        speed, resistance = rng.uniform(0.3, 4.0), rng.uniform(0.03, 0.2)
        grade = rng.uniform(-1.6, 2.0) * resistance
        share = rng.uniform(-1.5, 3.0) * resistance
        linear, quadratic = (0.0, share / speed, 0.0)[number % 3], (0.0, 0.0, share / speed**2)[number % 3]
        rolls.append((speed, resistance, grade, linear, quadratic))
    return rolls


def solved(roll: tuple[float, ...], until: float) -> tuple[float, float, bool]:
    """Return distance and speed at a time by solving the equation of motion, and whether the ball stopped before."""
    speed, resistance, grade, linear, quadratic = roll
    pull = PULL / math.hypot(1.0, grade)

    def rates(_: float, state: np.ndarray) -> list[float]:
        v = state[1]
        return [v, -pull * (resistance + grade + linear * v + quadratic * v * v)]

    def at_rest(_: float, state: np.ndarray) -> float:
        return float(state[1])

    def ran_away(_: float, state: np.ndarray) -> float:
        return float(state[1]) - 15.0

    at_rest.terminal = ran_away.terminal = True  # type: ignore[attr-defined]
    done = solve_ivp(
        rates, (0.0, until), [0.0, speed], events=[at_rest, ran_away], method="DOP853", rtol=1e-12, atol=1e-13
    )
    assert done.success
    return float(done.y[0, -1]), float(done.y[1, -1]), float(done.t[-1])


def test_closed_forms_agree_with_the_ode_solver(external_check: ExternalCheck) -> None:
    worst = {"distance at a time": 0.0, "speed at a time": 0.0, "speed at a distance": 0.0, "stopping distance": 0.0}
    stopped = 0
    for roll in random_rolls(90, 11):
        speed, resistance, grade, linear, quadratic = roll
        words = law(linear, quadratic)
        end = straight.stopping_time(speed, resistance, grade, **words)
        if math.isfinite(end):
            distance, _, lasted = solved(roll, 2.0 * end + 1.0)
            stopped += 1
            assert lasted == pytest.approx(end, abs=1e-7)
            ours = straight.stopping_distance(speed, resistance, grade, **words)
            worst["stopping distance"] = max(worst["stopping distance"], abs(distance - ours))
        distance, then, lasted = solved(roll, 0.6 * min(end, 5.0))
        ours = straight.distance_at_time(lasted, speed, resistance, grade, **words)
        worst["distance at a time"] = max(worst["distance at a time"], abs(distance - ours))
        ours = straight.speed_at_time(lasted, speed, resistance, grade, **words)
        worst["speed at a time"] = max(worst["speed at a time"], abs(then - ours))
        ours = straight.speed_at_distance(distance, speed, resistance, grade, **words)
        worst["speed at a distance"] = max(worst["speed at a distance"], abs(then - ours))
    assert 30 <= stopped <= 80
    for name, difference in worst.items():
        external_check(
            f"straight-{name.replace(' ', '-')}-ode",
            difference,
            0.0,
            1e-8,
            what=f"largest difference of the closed forms' {name}, three laws, up and down, stopping or not",
            source="scipy.integrate.solve_ivp, DOP853",
            locator="rtol 1e-12, 90 random rolls, seed 11",
            mark="derived",
            unit="m_s" if name.startswith("speed") else "m",
        )


def test_what_never_stops_says_so() -> None:
    assert straight.stopping_distance(1.0, 0.05, -0.05) == math.inf
    assert straight.stopping_time(1.0, 0.05, -0.06, linear=0.02) == math.inf
    assert straight.stopping_distance(2.0, 0.05, linear=-0.025) == math.inf
    assert straight.stopping_distance(1.9, 0.05, linear=-0.025) < 30.0
    assert straight.stopping_time(2.0, 0.05, quadratic=-0.0125) == math.inf
    assert straight.speed_at_time(50.0, 2.5, 0.05, quadratic=-0.0125) == math.inf
    assert straight.distance_at_time(50.0, 2.5, 0.05, quadratic=-0.0125) == math.inf
    assert straight.speed_for_distance(3.0, 0.05, -0.06) == 0.0


SMALL = 1e-13


@pytest.mark.parametrize("coefficient", ["linear", "quadratic"])
@pytest.mark.parametrize("size", [SMALL, -SMALL, 0.0])
def test_limits_are_the_constant_law_to_rounding(coefficient: str, size: float) -> None:
    rng = np.random.default_rng(4)
    speed, resistance = rng.uniform(0.2, 4.0, 200), rng.uniform(0.04, 0.2, 200)
    grade, part = rng.uniform(-0.03, 0.06, 200), rng.uniform(0.05, 1.3, 200)
    words = {coefficient: np.full(200, size)}
    distance = straight.stopping_distance(speed, resistance, grade)
    time = straight.stopping_time(speed, resistance, grade)
    same = {"rtol": 1e-9 if size else 5e-15, "atol": 1e-10 if size else 1e-14}
    np.testing.assert_allclose(straight.stopping_distance(speed, resistance, grade, **words), distance, **same)
    np.testing.assert_allclose(straight.stopping_time(speed, resistance, grade, **words), time, **same)
    for name, at in (("speed_at_time", part * time), ("distance_at_time", part * time)):
        ours = getattr(straight, name)(at, speed, resistance, grade, **words)
        np.testing.assert_allclose(ours, getattr(straight, name)(at, speed, resistance, grade), **same)
    short = np.minimum(part, 0.95) * distance
    ours = straight.speed_at_distance(short, speed, resistance, grade, **words)
    np.testing.assert_allclose(ours, straight.speed_at_distance(short, speed, resistance, grade), **same)
    needed = straight.speed_for_distance(distance, resistance, grade, **words)
    np.testing.assert_allclose(needed, speed, **same)


def test_series_and_closed_forms_meet_to_rounding() -> None:
    edge = np.array([0.1, 0.1 * (1 + 1e-15)])  # x = c1 v/b on either side of the seam
    for sign in (1.0, -1.0):
        linear = sign * edge * 0.08 / 2.0
        distances = straight.stopping_distance(2.0, 0.08, linear=linear)
        assert distances[1] == pytest.approx(distances[0], rel=3e-14)
        lapse = sign * edge / (PULL * 0.5)
        rolled = straight.distance_at_time(0.5, 2.0, 0.08, linear=lapse)
        assert rolled[1] == pytest.approx(rolled[0], rel=3e-14)
        # e = c1 w/b = 0.3 where w^2 = 2 A b s
        distance = (0.3 * 0.08 / 0.02) ** 2 / (2 * PULL * 0.08) * np.array([1 - 1e-15, 1 + 1e-15])
        speeds = straight.speed_for_distance(distance, 0.08, linear=sign * 0.02)
        assert speeds[1] == pytest.approx(speeds[0], rel=3e-14)


@given(
    speed=st.floats(0.2, 4.0),
    resistance=st.floats(0.04, 0.2),
    grade=st.floats(-0.03, 0.06),
    linear=st.floats(-0.2, 3.0),
    part=st.floats(0.01, 0.99),
)
def test_laws_read_forwards_and_backwards(speed, resistance, grade, linear, part):
    linear *= (resistance + grade) / speed
    for words in ({}, {"linear": linear}, {"quadratic": linear / speed}):
        distance = straight.stopping_distance(speed, resistance, grade, **words)
        assert straight.speed_for_distance(distance, resistance, grade, **words) == pytest.approx(speed, rel=1e-10)
        then = straight.speed_at_distance(part * distance, speed, resistance, grade, **words)
        rest = straight.stopping_distance(then, resistance, grade, **words)
        assert rest == pytest.approx((1 - part) * distance, rel=1e-9)
        time = straight.stopping_time(speed, resistance, grade, **words)
        rolled = straight.distance_at_time(part * time, speed, resistance, grade, **words)
        then = straight.speed_at_distance(rolled, speed, resistance, grade, **words)
        assert then == pytest.approx(straight.speed_at_time(part * time, speed, resistance, grade, **words), rel=1e-7)
        assert 0 < then < speed


def test_bad_arguments_are_named() -> None:
    with pytest.raises(ValueError, match=r"speed is -1.0; expected numbers not below 0"):
        straight.stopping_distance(-1.0, 0.08)
    with pytest.raises(ValueError, match=r"linear is 0\.01 and quadratic is 0\.02"):
        straight.stopping_time(1.0, 0.08, linear=0.01, quadratic=0.02)
    with pytest.raises(ValueError, match="distance is"):
        straight.speed_at_distance([1.0, -2.0], 1.0, 0.08)
