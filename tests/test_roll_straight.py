"""Rolling along a line and over surveyed ground, against solvers and at its limits; ramp, green speed; aim and pace."""

import math
from collections import namedtuple

import numpy as np
import pytest
from conftest import ExternalCheck, floats, refused
from hypothesis import given, settings
from hypothesis import strategies as st
from reference_chip import rolled
from scipy.integrate import solve_ivp

from golfphys import Resistance, Status, Surface, aim_and_pace, path_on, ramp, roll
from golfphys.formulas.rolling import stopping_distance as distance_to_rest

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

    for one in random_rolls(90, 11):
        speed, resistance, grade, linear, quadratic = one
        words = law(linear, quadratic)
        end = ramp.stopping_time(speed, resistance, grade, **words)
        if math.isfinite(end):
            distance, _, lasted = solved(one, 2.0 * end + 1.0)
            stopped += 1
            assert lasted == pytest.approx(end, abs=1e-7)
            missed("stopping-distance", distance, ramp.stopping_distance(speed, resistance, grade, **words))
        distance, then, lasted = solved(one, 0.6 * min(end, 5.0))
        if words:  # the rest is read off the path
            growing, fall = Resistance(constant=resistance, **words), math.pi if grade > 0 else 0.0
            way = roll.path(speed, 0.0, growing, abs(grade), fall, reach=distance)
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
    assert roll.path(2.5, 0.0, Resistance(constant=0.05, quadratic=-0.0125)).status == Status.NEVER_STOPS
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


@given(st.floats(0.04, 0.2), st.floats(0.0, 0.9), st.floats(1.0, 2.5))
def test_readings_both_ways_give_the_level_roll_and_the_slope(resistance: float, part: float, speed: float) -> None:
    grade = part * resistance
    up, down = (distance_to_rest(speed, resistance, s, 9.80665, 0.4) for s in (grade, -grade))
    level = ramp.green_speed(resistance, release_speed=speed)
    assert ramp.two_way_mean(up, down) == pytest.approx(level * math.sqrt(1 + grade**2), rel=1e-12)
    assert ramp.slope_share(up, down) == pytest.approx(part, abs=1e-9)
    assert (up + down) / 2 >= ramp.two_way_mean(up, down) * (1 - 1e-12)


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


Ends = namedtuple("Ends", ("x", "y", "time", "status"))


def rows(*lines: np.ndarray) -> list[np.ndarray]:
    """Return x and y of the points of a grid."""
    return [axis.ravel() for axis in np.meshgrid(*lines, indexing="ij")]


X, Y = rows(np.linspace(0.0, 8.0, 17), np.linspace(0.0, 6.0, 13))


def bowl(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    return 0.02 * x - 0.1 * np.exp(-(((x - 4) / 2) ** 2) - ((y - 3) / 1.8) ** 2) + 0.05 * np.tanh((y - 3) / 1.5)


def bowl_slope(x: float, y: float) -> tuple[float, float]:
    hollow = -0.1 * math.exp(-(((x - 4) / 2) ** 2) - ((y - 3) / 1.8) ** 2)
    tier = 0.05 / 1.5 / math.cosh((y - 3) / 1.5) ** 2
    return 0.02 - hollow * 2 * (x - 4) / 4, -hollow * 2 * (y - 3) / 1.8**2 + tier


def scattered(count: int, seed: int) -> tuple[np.ndarray, np.ndarray]:
    rng = np.random.default_rng(seed)
    x, y = rng.uniform(0, 8, count), rng.uniform(0, 6, count)
    return np.append(x, [0, 8, 0, 8]), np.append(y, [0, 0, 6, 6])


def roll_on(ground: Surface, x, y, speed, heading, law) -> Ends:
    """Roll balls to the ends of their paths."""
    paths = [path_on(ground, *numbers, law) for numbers in np.broadcast(x, y, speed, heading)]
    return Ends(*np.array([(path.x[-1], path.y[-1], path.time[-1], path.status) for path in paths]).T.squeeze())


@pytest.mark.parametrize("kind", ["grid", "points"])
@pytest.mark.parametrize("sd", [0.0, 0.003])
def test_a_plane_is_recovered_exactly(kind: str, sd: float) -> None:
    x, y = (X, Y) if kind == "grid" else scattered(40, 1)
    ground = Surface.from_points(x, y, 1.0 + 0.02 * x - 0.015 * y, height_sd=sd)
    for place in ((1.0, 1.0), (4.3, 2.2), (7.0, 5.0)):
        assert ground.grade(*place) == pytest.approx((0.02, -0.015), abs=1e-10)
        assert ground.height(*place) == pytest.approx(1.0 + 0.02 * place[0] - 0.015 * place[1], abs=1e-10)
    law = Resistance(constant=0.07, linear=0.01)
    grade, fall = math.hypot(0.02, 0.015), math.atan2(0.015, -0.02)
    expected = roll.roll(1.6, 0.5, law, grade, fall)
    ours = roll_on(ground, 2.0, 1.0, 1.6, 0.5, law)
    assert math.hypot(ours.x - 2.0 - expected.x, ours.y - 1.0 - expected.y) < 1e-4
    assert ours.time == pytest.approx(expected.time, abs=2e-3)


def test_rolling_agrees_with_an_ode_solver_on_the_same_ground(external_check: ExternalCheck) -> None:
    x, y = rows(np.linspace(0, 8, 161), np.linspace(0, 6, 121))
    ground = Surface.from_points(x, y, bowl(x, y))
    rng = np.random.default_rng(4)
    start_x, start_y = rng.uniform(1.5, 6.5, 25), rng.uniform(1.5, 4.5, 25)
    speed, heading = rng.uniform(0.4, 1.5, 25), rng.uniform(-3, 3, 25)
    rolls = roll_on(ground, start_x, start_y, speed, heading, Resistance(constant=0.08, linear=0.01))
    worst, stopped = 0.0, 0
    for number in np.flatnonzero(rolls.status == Status.STOPPED):
        velocity = [speed[number] * math.cos(heading[number]), speed[number] * math.sin(heading[number])]
        done = rolled([start_x[number], start_y[number], *velocity], (0.08, 0.01), bowl_slope, rtol=1e-10)
        worst = max(worst, math.hypot(*(done.y[:2, -1] - [rolls.x[number], rolls.y[number]])))
        stopped += 1
    assert stopped > 10
    external_check("surface-rest-point-ode", 1e3 * worst, stopped=stopped)


@pytest.mark.parametrize("kind", ["grid", "points"])
def test_smoothing_is_to_the_stated_error(kind: str) -> None:
    rng, sd = np.random.default_rng(6), 0.004
    x, y = (X, Y) if kind == "grid" else scattered(220, 7)
    heights = bowl(x, y) + rng.normal(0, sd, x.size)
    smooth, rough = Surface.from_points(x, y, heights, height_sd=sd), Surface.from_points(x, y, heights)
    assert smooth.residual_sd == pytest.approx(sd, rel=0.05)
    assert rough.residual_sd < 0.2 * sd
    at_x, at_y = np.meshgrid(np.linspace(1, 7, 25), np.linspace(1, 5, 17), indexing="ij")
    exact = np.array([bowl_slope(*place) for place in zip(at_x.ravel(), at_y.ravel(), strict=True)])
    misses = [np.std(np.column_stack([g.ravel() for g in s.grade(at_x, at_y)]) - exact) for s in (smooth, rough)]
    assert misses[0] < 0.006
    assert misses[0] < 0.5 * misses[1]


def test_a_ball_that_leaves_the_ground_says_so() -> None:
    ground = Surface.from_points(X, Y, 0 * X)
    rolls = roll_on(ground, [4.0, 4.0, 9.0], 3.0, [2.5, 1.0, 1.0], 0.0, 0.06)
    np.testing.assert_array_equal(rolls.status, [Status.LEFT_GROUND, Status.STOPPED, Status.LEFT_GROUND])
    assert rolls.x[0] == pytest.approx(8.0, abs=1e-6)
    slowing = 9.80665 * 0.06 / 1.4
    assert rolls.time[0] == pytest.approx((2.5 - math.sqrt(2.5**2 - 2 * slowing * 4.0)) / slowing, abs=1e-4)
    assert rolls.x[1] == pytest.approx(4.0 + roll.stopping_distance(1.0, 0.06), abs=1e-5)
    refused("x=9 m, y=3 m is off the surveyed ground", lambda: ground.height([4.0, 9.0], 3.0))
    triangle = Surface.from_points([0, 6, 0, 2], [0, 0, 6, 2], np.zeros(4))
    assert not triangle.contains(4.0, 4.0)
    assert triangle.contains(2.0, 2.0)


def test_a_ball_runs_off_a_ledge_too_steep_to_stop_on() -> None:
    ledge = 0.15 * np.where(X > 3, np.minimum(X - 3, 2.0), 0.0)
    ground = Surface.from_points(X, Y, -ledge)
    down, up = roll_on(ground, [2.5, 6.0], 3.0, [1.0, 1.2], [0.0, math.pi], 0.08).x
    assert down > 5.0
    assert up > 4.9


@pytest.mark.thorough
@settings(max_examples=40)
@given(
    **floats(length=(1.0, 8.0), bearing=(-math.pi, math.pi), resistance=(0.05, 0.15)),
    **floats(part=(0.0, 0.8), fall=(-3.0, 3.0)),
)
def test_a_ball_dies_at_the_target(length, bearing, resistance, part, fall):
    x, y = length * math.cos(bearing), length * math.sin(bearing)
    aim = aim_and_pace(x, y, resistance, part * resistance, fall)
    assert aim.found, aim.reason
    rest = roll.rest_point(aim.speed, aim.heading, resistance, part * resistance, fall)
    assert math.hypot(rest[0] - x, rest[1] - y) < 4e-4
    assert aim.arrival_speed == 0.0
    lasts = roll.path(aim.speed, aim.heading, resistance, part * resistance, fall).time[-1]
    assert aim.time == pytest.approx(lasts, abs=0.01)


@settings(max_examples=30)
@given(
    **floats(length=(1.0, 8.0), resistance=(0.05, 0.12), part=(0.0, 0.6)),
    **floats(fall=(-3.0, 3.0), linear=(0.0, 0.05), arrival=(0.0, 1.2)),
)
def test_a_ball_passes_the_target_at_the_speed_asked(length, resistance, part, fall, linear, arrival):
    law = Resistance(constant=resistance, linear=linear)
    aim = aim_and_pace(length, 0.0, law, part * resistance, fall, arrival_speed=arrival)
    assert aim.found, aim.reason
    assert aim.arrival_speed == pytest.approx(arrival, abs=1e-3)
    way = roll.path(aim.speed, aim.heading, law, part * resistance, fall)
    nearest = int(np.argmin(np.hypot(way.x - length, way.y)))
    assert np.hypot(way.x - length, way.y)[nearest] < 0.12
    side = np.interp(length, way.x[: nearest + 2], way.y[: nearest + 2])
    assert abs(side) < 0.01


def test_aims_are_those_of_the_closed_form_and_good_on_surveyed_ground_with_any_resistance() -> None:
    aim = aim_and_pace(5.0, 0.0, 0.08)
    assert aim.speed == pytest.approx(roll.speed_for_distance(5.0, 0.08), rel=1e-5)
    assert (aim.heading, aim.offset) == pytest.approx((0.0, 0.0), abs=1e-9)
    rolling = aim_and_pace(5.0, 0.0, 0.08, 0.03, math.pi, arrival_speed=0.7)
    assert roll.speed_at_distance(5.0, rolling.speed, 0.08, 0.03) == pytest.approx(0.7, abs=1e-5)
    x, y = rows(np.linspace(0, 8, 33), np.linspace(0, 8, 33))
    ground = Surface.from_points(x, y, 0.03 * np.sin(x) - 0.02 * y + 0.002 * y**2)
    law = Resistance(constant=0.07, linear=0.008, grain=0.05, grain_direction=1.0)
    aim = aim_and_pace(6.0, 5.0, law, surface=ground, start=(2.0, 2.0))
    assert aim.found, aim.reason
    rest = roll_on(ground, 2.0, 2.0, aim.speed, aim.heading, law)
    assert math.hypot(rest.x - 6.0, rest.y - 5.0) < 4e-4
    plane = Surface.from_points(x, y, -0.02 * y)
    on_plane = aim_and_pace(5.0, 0.0, 0.08, 0.02, math.pi / 2)
    surveyed = aim_and_pace(6.5, 4.0, 0.08, surface=plane, start=(1.5, 4.0))
    assert (surveyed.speed, surveyed.heading) == pytest.approx((on_plane.speed, on_plane.heading), abs=1e-4)


def test_a_target_where_no_ball_stops_says_so() -> None:
    aim = aim_and_pace(4.0, 0.0, 0.05, 0.06, 0.3)
    assert not aim.found
    assert "no ball comes to rest at the target: the ground there falls 0.060, resistance is 0.050" in aim.reason
    assert math.isnan(aim.speed)
    slow = aim_and_pace(4.0, 0.0, 0.05, 0.06, 0.0, arrival_speed=0.3)
    assert not slow.found
    least = math.sqrt(2 * 9.80665 / 1.4 * 0.01 * 4.0 / math.hypot(1, 0.06))
    assert "no ball arrives as slowly as 0.30 m/s" in slow.reason
    stated = float(slow.reason.split("about ")[1].split(" ")[0])
    assert least < stated < 1.3 * least
    assert aim_and_pace(4.0, 0.0, 0.05, 0.06, math.pi, arrival_speed=0.3).found
