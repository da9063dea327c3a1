"""Rolling along a straight path against an ODE solver and at its limits; the ramp, green speed and two-way readings."""

import math

import numpy as np
import pytest
from conftest import ExternalCheck, floats
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_ivp

from golfphys import Resistance, Status, aim_and_pace, ramp
from golfphys.formulas.rolling import stopping_distance as distance_to_rest
from golfphys.physics.roll import path
from golfphys.physics.roll import roll as roll_out

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
    worst: dict[str, float] = {}
    stopped = 0

    def missed(name: str, solution: float, ours: float) -> None:
        worst[name] = max(worst.get(name, 0.0), abs(solution - ours))

    for roll in random_rolls(90, 11):
        speed, resistance, grade, linear, quadratic = roll
        words = law(linear, quadratic)
        end = ramp.stopping_time(speed, resistance, grade, **words)
        if math.isfinite(end):
            distance, _, lasted = solved(roll, 2.0 * end + 1.0)
            stopped += 1
            assert lasted == pytest.approx(end, abs=1e-7)
            missed("stopping-distance", distance, ramp.stopping_distance(speed, resistance, grade, **words))
        distance, then, lasted = solved(roll, 0.6 * min(end, 5.0))
        if words:  # the rest is read off the path
            growing, fall = Resistance(constant=resistance, **words), math.pi if grade > 0 else 0.0
            way = path(speed, 0.0, growing, abs(grade), fall, reach=distance)
            assert (way.speed[-1], way.time[-1]) == pytest.approx((then, lasted), rel=1e-4, abs=1e-5)
            continue
        missed("distance-at-a-time", distance, ramp.distance_at_time(lasted, speed, resistance, grade))
        missed("speed-at-a-time", then, ramp.speed_at_time(lasted, speed, resistance, grade))
        missed("speed-at-a-distance", then, ramp.speed_at_distance(distance, speed, resistance, grade))
    assert 30 <= stopped <= 80
    for name, difference in worst.items():
        external_check(f"straight-{name}-ode", difference)


def test_what_never_stops_says_so() -> None:
    assert ramp.stopping_distance(1.0, 0.05, -0.05) == math.inf
    assert ramp.stopping_time(1.0, 0.05, -0.06, linear=0.02) == math.inf
    assert ramp.stopping_distance(2.0, 0.05, linear=-0.025) == math.inf
    assert ramp.stopping_distance(1.9, 0.05, linear=-0.025) < 30.0
    assert ramp.stopping_time(2.0, 0.05, quadratic=-0.0125) == math.inf
    assert path(2.5, 0.0, Resistance(constant=0.05, quadratic=-0.0125)).status == Status.NEVER_STOPS
    assert ramp.speed_for_distance(3.0, 0.05, -0.06) == 0.0


SMALL = 1e-13


@pytest.mark.parametrize("coefficient", ["linear", "quadratic"])
@pytest.mark.parametrize("size", [SMALL, -SMALL, 0.0])
def test_limits_are_the_constant_law_to_rounding(coefficient: str, size: float) -> None:
    rng = np.random.default_rng(4)
    speed, resistance = rng.uniform(0.2, 4.0, 200), rng.uniform(0.04, 0.2, 200)
    grade = rng.uniform(-0.03, 0.06, 200)
    same = {"rtol": 1e-9 if size else 5e-15, "atol": 1e-10 if size else 1e-14}
    for of in (ramp.stopping_distance, ramp.stopping_time):
        ours = of(speed, resistance, grade, **{coefficient: np.full(200, size)})
        np.testing.assert_allclose(ours, of(speed, resistance, grade), **same)


def test_series_and_closed_forms_meet_to_rounding() -> None:
    edge = np.array([0.1, 0.1 * (1 + 1e-15)])  # x = c1 v/b on either side of the seam
    for sign in (1.0, -1.0):
        linear = sign * edge * 0.08 / 2.0
        distances = ramp.stopping_distance(2.0, 0.08, linear=linear)
        assert distances[1] == pytest.approx(distances[0], rel=3e-14)


@given(**floats(speed=(0.2, 4.0), resistance=(0.04, 0.2), grade=(-0.03, 0.06), part=(0.01, 0.99)))
def test_the_law_reads_forwards_and_backwards(speed, resistance, grade, part):
    distance = ramp.stopping_distance(speed, resistance, grade)
    assert ramp.speed_for_distance(distance, resistance, grade) == pytest.approx(speed, rel=1e-10)
    then = ramp.speed_at_distance(part * distance, speed, resistance, grade)
    assert ramp.stopping_distance(then, resistance, grade) == pytest.approx((1 - part) * distance, rel=1e-9)
    time = ramp.stopping_time(speed, resistance, grade)
    rolled = ramp.distance_at_time(part * time, speed, resistance, grade)
    then = ramp.speed_at_distance(rolled, speed, resistance, grade)
    assert then == pytest.approx(ramp.speed_at_time(part * time, speed, resistance, grade), rel=1e-7)
    assert 0 < then < speed


@given(**floats(speed=(1.0, 4.0), resistance=(0.04, 0.2), part=(-0.5, 0.8), linear=(-0.2, 2.0)))
def test_growing_resistance_reads_forwards_and_backwards(speed, resistance, part, linear):
    """The closed distance and time to rest are those of the compiled roll, and a ball aimed so far starts so fast."""
    grade = part * resistance
    linear *= (resistance + grade) / speed
    for words in ({"linear": linear}, {"quadratic": linear / speed}):
        growing, slope = Resistance(constant=resistance, **words), (abs(grade), math.pi if grade > 0 else 0.0)
        distance, time = (of(speed, resistance, grade, **words) for of in (ramp.stopping_distance, ramp.stopping_time))
        rolls = roll_out(speed, 0.0, growing, *slope)
        assert rolls.x == pytest.approx(distance, rel=1e-4, abs=1e-4)
        assert rolls.time == pytest.approx(time, rel=1e-4, abs=2e-3)
        assert aim_and_pace(distance, 0.0, growing, *slope).speed == pytest.approx(speed, rel=1e-3)


@given(st.floats(0.04, 0.2), st.floats(0.0, 0.9), st.floats(1.0, 2.5))
def test_readings_both_ways_give_the_level_roll_and_the_slope(resistance: float, part: float, speed: float) -> None:
    grade = part * resistance
    up, down = (distance_to_rest(speed, resistance, s, 9.80665, 0.4) for s in (grade, -grade))
    level = ramp.green_speed(resistance, release_speed=speed)
    assert ramp.two_way_mean(up, down) == pytest.approx(level * math.sqrt(1 + grade**2), rel=1e-12)
    assert ramp.slope_share(up, down) == pytest.approx(part, abs=1e-9)
    assert (up + down) / 2 >= ramp.two_way_mean(up, down) * (1 - 1e-12)


def test_two_way_mean_is_not_exact_when_resistance_grows_with_speed() -> None:
    law = Resistance(constant=0.06, linear=0.03)
    up, down = (roll_out(1.83, 0.0, law, 0.04, fall).x for fall in (math.pi, 0.0))
    level = roll_out(1.83, 0.0, law).x
    assert ramp.two_way_mean(up, down) / level == pytest.approx(1.0, abs=0.03)
    assert ramp.two_way_mean(up, down) != pytest.approx(level, rel=1e-3)


def test_the_release_speed_matters_by_its_square(external_check: ExternalCheck) -> None:
    shown = [ramp.resistance_from_green_speed(3.0, release_speed=0.3048 * feet) for feet in (6.0, 6.4)]
    external_check("release-speed-matters", 100 * (shown[1] / shown[0] - 1))


def test_a_flat_ramp_has_no_overspin_and_green_speed_and_resistance_are_inverse_and_broadcast() -> None:
    assert ramp.release_overspin(0.0) == 1.0
    assert ramp.release_speed(1.0, math.pi / 6, 0.0) == pytest.approx(math.sqrt(2 * 9.80665 * 0.5 / 1.4))
    assert ramp.release_speed(contact_spacing=0.03) < ramp.release_speed(contact_spacing=0.0)
    feet = np.array([6.0, 9.0, 12.0])
    resistance = ramp.resistance_from_green_speed(feet * 0.3048)
    np.testing.assert_allclose(ramp.green_speed_ft(resistance), feet, rtol=1e-12)
    assert type(ramp.green_speed(0.08)) is float
