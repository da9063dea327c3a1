"""Rolling across a plane, and skid to roll: closed forms and compiled rolls against solvers, an engine, invariants."""

import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from conftest import ExternalCheck
from hypothesis import assume, given
from hypothesis import strategies as st
from reference_chip import STEP, in_engine, rolled

from golfphys import Ball, Resistance, Status, resistance_from_green_speed, roll
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas import plane, turf
from golfphys.physics.ramp import release_overspin

GRAVITY, INERTIA = 9.80665, 0.4
Roll = tuple[float, float, float, float, float, float, float, float, float]
"""Velocity x, y, resistance constant, linear, quadratic, grain, grain direction, rise x, rise y."""


def solved(case: Roll) -> tuple[float, float, float]:
    """Return rest x, y and time by an ODE solver down to a crawl of 0.1 micrometre a second."""
    done = rolled([0.0, 0.0, *case[:2]], case[2:7], lambda _x, _y: case[7:])
    assert done.status == 1
    return float(done.y[0, -1]), float(done.y[1, -1]), float(done.t[-1])


def random_cases(count: int, seed: int, *, steepest: float, varying_law: bool) -> list[Roll]:
    rng = np.random.default_rng(seed)
    cases = []
    for _ in range(count):
        constant, speed, heading, fall = rng.uniform(0.04, 0.2), rng.uniform(0.3, 3.5), *rng.uniform(0, 7, 2)
        steep = rng.uniform(0, steepest) * constant
        linear, quadratic = rng.uniform(-0.3, 1.0, 2) * constant / np.array([3.5, 3.5**2]) * varying_law
        grain, towards = rng.uniform(0, 0.2) * varying_law, rng.uniform(0, 7)
        velocity = (speed * math.cos(heading), speed * math.sin(heading))
        rise = (steep * math.cos(fall), steep * math.sin(fall))
        cases.append((*velocity, constant, linear, quadratic, grain, towards, *rise))
    return cases


def arguments(cases: Roll | list[Roll]) -> tuple[Any, ...]:
    v_x, v_y, constant, linear, quadratic, grain, towards, rise_x, rise_y = np.array(cases).T
    law = Resistance(constant=constant, linear=linear, quadratic=quadratic, grain=grain, grain_direction=towards)
    return np.hypot(v_x, v_y), np.arctan2(v_y, v_x), law, np.hypot(rise_x, rise_y), np.arctan2(-rise_y, -rise_x)


def test_constant_resistance_agrees_with_the_ode_solver(external_check: ExternalCheck) -> None:
    worst = np.zeros(2)
    for case in random_cases(60, 1, steepest=0.9, varying_law=False):
        x, y, time = solved(case)
        speed, heading = math.hypot(*case[:2]), math.atan2(case[1], case[0])
        grade, fall = math.hypot(*case[7:]), math.atan2(-case[8], -case[7])
        ours = roll.rest_point(speed, heading, case[2], grade, fall)
        lasted = plane.rest_from(*case[:3], *case[7:], GRAVITY, INERTIA)[2]
        worst = np.maximum(worst, [math.hypot(ours[0] - x, ours[1] - y), abs(lasted - time)])
    external_check("plane-rest-point-ode", worst[0])
    external_check("plane-time-to-rest-ode", worst[1])


@pytest.mark.parametrize(("steepest", "mm", "ms"), [(0.0, 0.002, 0.1), (0.5, 0.01, 0.3), (0.9, 0.05, 2.0)])
def test_varying_resistance_agrees_with_the_ode_solver(steepest, mm, ms, external_check):
    worst = np.zeros(2)
    number = 0
    for case in random_cases(45, 5, steepest=steepest, varying_law=True):
        ours = roll.roll(*arguments(case))
        if ours.status != Status.STOPPED or math.hypot(ours.x, ours.y) > 12:
            continue
        number += 1
        expected = solved(case)
        worst = np.maximum(
            worst, [1e3 * math.hypot(ours.x - expected[0], ours.y - expected[1]), 1e3 * abs(ours.time - expected[2])]
        )
    assert number >= 40
    slope = f"slope up to {steepest:g} of resistance" if steepest else "level"
    for what, miss, allowed in (("rest-point", worst[0], mm), ("time-to-rest", worst[1], ms)):
        words = {"steepest": steepest, "number": number, "slope": slope}
        external_check(f"varying-{what}-ode-{{steepest:g}}", miss, tolerance=allowed, **words)


def test_scaling_laws_of_a_plane(external_check: ExternalCheck) -> None:
    speeds = np.array([0.5, 1.0, 2.0, 3.0])
    x, y = roll.rest_point(speeds, 0.3, 0.09, 0.03, 2.0)
    external_check("plane-angle-whatever-the-speed", float(np.ptp(np.arctan2(y, x))))
    scaled = np.hypot(x, y) / speeds**2
    external_check("plane-distance-as-speed-squared", float(np.ptp(scaled) / scaled[0]))


def test_irodov_end_speed_on_the_way(external_check: ExternalCheck) -> None:
    speed, _, _ = plane.course(2000.0, 0.0, 1.0, 0.05, -0.05, 0.0)
    external_check("irodov-path-last-speed", speed)
    assert roll.roll(1.0, math.pi / 2, 0.05, 0.05, 0.0).status == Status.NEVER_STOPS


def test_walker_putt(external_check: ExternalCheck) -> None:
    shown = resistance_from_green_speed(14.5 * METRES_PER_FOOT, release_speed=1.57)
    external_check("walker-speed-needed", roll.speed_for_distance(20.5 * METRES_PER_FOOT, shown))
    external_check("walker-speed-for-the-rest", roll.speed_for_distance(6.0 * METRES_PER_FOOT, shown))


def test_the_published_chart_of_slopes_that_hold_no_ball_is_a_point_mass(external_check: ExternalCheck) -> None:
    speed, distance = 1.885, 14 * METRES_PER_FOOT
    point = math.atan(resistance_from_green_speed(distance, release_speed=speed, inertia=0.0))
    external_check("slope-that-stops-no-point-mass", math.degrees(point))
    resistance = resistance_from_green_speed(distance, release_speed=speed)
    assert math.tan(point) / resistance == pytest.approx(5 / 7)
    assert roll.rest_point(1.0, 0.0, resistance, 1.2 * math.tan(point), 0.0)[0] < 30.0
    assert roll.rest_point(1.0, 0.0, resistance, 1.0001 * resistance, 0.0)[0] == math.inf


SPEED, HEADING, PART = st.floats(0.1, 3.5), st.floats(-math.pi, math.pi), st.floats(0.0, 0.85)
RESISTANCE, GROWTH = st.floats(0.04, 0.2), st.floats(0.0, 0.02)


@given(SPEED, HEADING, RESISTANCE, PART, HEADING, GROWTH, st.floats(0.0, 0.3), HEADING, HEADING)
def test_turned_rolls_are_turned_and_mirrored_ones_mirrored(
    speed, heading, constant, part, fall, linear, grain, towards, turn
):
    grade = part * constant
    law = Resistance(constant=constant, linear=linear, quadratic=0.004, grain=grain, grain_direction=towards)
    one = roll.roll(speed, heading, law, grade, fall)
    assume(one.stops)
    turned = roll.roll(speed, heading + turn, replace(law, grain_direction=towards + turn), grade, fall + turn)
    back = (turned.x + 1j * turned.y) * np.exp(-1j * turn)
    size = 1e-7 * math.hypot(one.x, one.y) + 1e-12
    assert abs(back - (one.x + 1j * one.y)) < size
    mirrored = roll.roll(speed, -heading, replace(law, grain_direction=-towards), grade, -fall)
    assert abs(mirrored.x - one.x) < size
    assert abs(mirrored.y + one.y) < size
    assert mirrored.time == pytest.approx(one.time, rel=1e-7)


@given(SPEED, HEADING, RESISTANCE, PART, GROWTH)
def test_faster_starts_go_farther_and_energy_never_rises(speed, heading, constant, part, linear):
    grade, law = part * constant, Resistance(constant=constant, linear=linear)
    slow, fast = (roll.roll(v, heading, law, grade) for v in (speed, 1.01 * speed))
    assert math.hypot(fast.x, fast.y) > math.hypot(slow.x, slow.y)
    assert fast.time > slow.time
    way = roll.path(speed, heading, law, grade)
    energy = 0.5 * (1 + INERTIA) * way.speed**2 - GRAVITY * grade * way.x / math.hypot(1.0, grade)
    assert np.all(np.diff(energy) < 1e-9)
    assert np.all(np.diff(way.time) > 0)


def test_path_ends_where_the_roll_does() -> None:
    for case in random_cases(12, 9, steepest=0.8, varying_law=True):
        rolls = roll.roll(*arguments(case))
        way = roll.path(*arguments(case), reach=100.0)
        assert way.status == rolls.status == Status.STOPPED
        assert (way.x[-1], way.y[-1], way.time[-1]) == (rolls.x, rolls.y, rolls.time)
        assert np.max(np.hypot(np.diff(way.x), np.diff(way.y))) < 0.2


def test_a_batch_carries_statuses_and_scalars_give_floats() -> None:
    rolls = roll.roll([1.0, 1.0, 0.0, 1.0], 0.0, [0.05, 0.07, 0.07, math.nan], 0.06)
    assert rolls.status.tolist() == [Status.NEVER_STOPS, Status.STOPPED, Status.STOPPED, Status.INVALID]
    np.testing.assert_array_equal(rolls.stops, [False, True, True, False])
    assert rolls.x[0] == math.inf
    assert rolls.x[2] == rolls.time[2] == 0.0
    one = roll.roll(1.0, 0.0, Resistance(constant=0.07, linear=0.01, grain=0.1))
    assert [type(item) for item in (one.x, one.y, one.time, one.status)] == [float, float, float, int]
    assert roll.roll(np.ones((2, 1)), 0.0, [0.07, 0.08, 0.09]).x.shape == (2, 3)
    way = roll.path(0.5, 2.0, 0.05, 0.06, 0.0, reach=12.0)
    assert way.status == Status.NEVER_STOPS
    assert 12.0 <= math.hypot(way.x[-1], way.y[-1]) < 12.3


RADIUS = 0.021335


def test_enough_backspin_brings_the_ball_back_and_a_ramps_overspin_adds_a_little() -> None:
    dead = -1.0 / (0.4 * RADIUS)  # r omega = v/k
    assert roll.skid(1.0, spin_y=dead, friction=0.4).speed == pytest.approx(0.0, abs=1e-12)
    assert roll.skid(1.0, spin_y=1.2 * dead, friction=0.4).velocity_x < 0 < roll.skid(1.0, friction=0.4).velocity_x
    end = roll.skid(1.83, spin_y=1.83 * release_overspin() / RADIUS, friction=0.4)
    assert end.velocity_x / 1.83 == pytest.approx(1.0136, abs=5e-5)
    assert end.x < 0.02


def test_a_bowling_ball_while_it_skids(external_check: ExternalCheck) -> None:
    end = roll.skid(8.10, friction=0.19, ball=Ball(radius=0.11))
    external_check("bowling-deceleration", (8.10 - end.velocity_x) / end.time)
    external_check("bowling-angular", end.velocity_x / 0.11 / end.time)


def test_the_skid_is_a_tenth_to_a_fifth_of_a_putt(external_check: ExternalCheck) -> None:
    speed, friction, resistance = 2.0, 0.35, 0.0784
    skidded = roll.skid(speed, friction=friction).x
    rolled = roll.stopping_distance(turf.rolling_speed(speed, 0.0, RADIUS, 0.4), resistance)
    external_check("skid-share-of-a-putt", 100 * skidded / (skidded + rolled))


@pytest.mark.parametrize(
    ("name", "velocity", "spin"),
    [
        ("no-spin", (2.0, 0.0), (0.0, 0.0)),
        ("backspin", (2.0, 0.0), (0.0, -150.0)),
        ("comes-back", (1.0, 0.0), (0.0, -200.0)),
        ("topspin-and-sidespin", (1.5, 0.5), (60.0, 140.0)),
    ],
)
@pytest.mark.parametrize("grade", [0.0, 0.05])
def test_skid_agrees_with_a_rigid_body_engine(name, velocity, spin, grade, external_check):
    fall = 2.0
    end = roll.skid(*velocity, spin_x=spin[0], spin_y=spin[1], friction=0.3, grade=grade, fall_direction=fall)
    push = GRAVITY / math.hypot(1.0, grade)
    gravity = (push * grade * math.cos(fall), push * grade * math.sin(fall), -push)
    steps = round(end.time / STEP)
    place, then, _ = in_engine([*velocity, 0], [*spin, 0], 0.3, gravity=gravity, steps=steps)
    miss = 1e3 * math.hypot(place[0] - end.x, place[1] - end.y)
    external_check("skid-place-{name}-{grade:g}-engine", miss, name=name, grade=grade)
    miss = math.hypot(then[0] - end.velocity_x, then[1] - end.velocity_y)
    external_check("skid-velocity-{name}-{grade:g}-engine", miss, name=name, grade=grade)


def test_rolling_down_a_plane_agrees_with_a_rigid_body_engine(external_check: ExternalCheck) -> None:
    grade = 0.1
    push = GRAVITY / math.hypot(1.0, grade)
    gravity, spin = (push * grade, 0.0, -push), (0.0, 1.0 / RADIUS, 0.0)
    place, then, _ = in_engine((1.0, 0.0, 0.0), spin, 0.5, gravity=gravity, steps=10_000)
    external_check("roll-down-a-plane-engine", roll.distance_at_time(1.0, 1.0, 0.0, -grade), float(place[0]))
    external_check("roll-down-a-plane-speed-engine", roll.speed_at_time(1.0, 1.0, 0.0, -grade), float(then[0]))
