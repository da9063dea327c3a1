"""Aim and pace: the ball started as computed gets there, and where there is no solution it says why."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from golfphys import Resistance, Surface, aim_and_pace, roll, roll_on

TARGET = st.floats(1.0, 8.0)


@pytest.mark.thorough
@settings(max_examples=40)
@given(TARGET, st.floats(-math.pi, math.pi), st.floats(0.05, 0.15), st.floats(0.0, 0.8), st.floats(-3.0, 3.0))
def test_a_ball_dies_at_the_target(length: float, bearing: float, resistance: float, part: float, fall: float) -> None:
    x, y = length * math.cos(bearing), length * math.sin(bearing)
    aim = aim_and_pace(x, y, resistance, part * resistance, fall)
    assert aim.found, aim.reason
    rest = roll.rest_point(aim.speed, aim.heading, resistance, part * resistance, fall)
    assert math.hypot(rest[0] - x, rest[1] - y) < 4e-4
    assert aim.arrival_speed == 0.0
    lasts = roll.time_to_rest(aim.speed, aim.heading, resistance, part * resistance, fall)
    assert aim.time == pytest.approx(lasts, abs=0.01)


@settings(max_examples=30)
@given(TARGET, st.floats(0.05, 0.12), st.floats(0.0, 0.6), st.floats(-3.0, 3.0), st.floats(0.2, 1.2))
def test_a_ball_passes_the_target_at_the_speed_asked(length, resistance, part, fall, arrival):
    aim = aim_and_pace(length, 0.0, resistance, part * resistance, fall, arrival_speed=arrival)
    assert aim.found, aim.reason
    assert aim.arrival_speed == pytest.approx(arrival, abs=1e-3)
    way = roll.path(aim.speed, aim.heading, resistance, part * resistance, fall)
    nearest = int(np.argmin(np.hypot(way.x - length, way.y)))
    assert np.hypot(way.x - length, way.y)[nearest] < 0.12
    side = np.interp(length, way.x[: nearest + 2], way.y[: nearest + 2])
    assert abs(side) < 0.01


def test_level_and_straight_is_the_closed_form() -> None:
    aim = aim_and_pace(5.0, 0.0, 0.08)
    assert aim.speed == pytest.approx(roll.speed_for_distance(5.0, 0.08), rel=1e-5)
    assert (aim.heading, aim.offset) == pytest.approx((0.0, 0.0), abs=1e-9)
    rolling = aim_and_pace(5.0, 0.0, 0.08, 0.03, math.pi, arrival_speed=0.7)
    assert roll.speed_at_distance(5.0, rolling.speed, 0.08, 0.03) == pytest.approx(0.7, abs=1e-5)


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


def test_on_surveyed_ground_and_with_any_resistance() -> None:
    x = y = np.linspace(0, 8, 33)
    ground = Surface.from_grid(x, y, 0.03 * np.sin(x[:, None]) - 0.02 * y + 0.002 * y**2)
    law = Resistance(constant=0.07, linear=0.008, grain=0.05, grain_direction=1.0)
    aim = aim_and_pace(6.0, 5.0, law, surface=ground, start=(2.0, 2.0))
    assert aim.found, aim.reason
    rest = roll_on(ground, 2.0, 2.0, aim.speed, aim.heading, law)
    assert math.hypot(rest.x - 6.0, rest.y - 5.0) < 4e-4
    plane = Surface.from_grid(x, y, -0.02 * y * np.ones((33, 1)))
    on_plane = aim_and_pace(5.0, 0.0, 0.08, 0.02, math.pi / 2)
    surveyed = aim_and_pace(6.5, 4.0, 0.08, surface=plane, start=(1.5, 4.0))
    assert (surveyed.speed, surveyed.heading) == pytest.approx((on_plane.speed, on_plane.heading), abs=1e-4)


def test_bad_arguments_are_named() -> None:
    ground = Surface.from_grid(range(5), range(5), np.zeros((5, 5)))
    with pytest.raises(ValueError, match="is the start"):
        aim_and_pace(0.0, 0.0, 0.08)
    with pytest.raises(ValueError, match="arrival_speed is -1"):
        aim_and_pace(1.0, 0.0, 0.08, arrival_speed=-1)
    with pytest.raises(ValueError, match="both a grade and a surface"):
        aim_and_pace(1.0, 0.0, 0.08, 0.01, surface=ground)
    with pytest.raises(ValueError, match="x=9 m, y=0 m is off the surveyed ground"):
        aim_and_pace(9.0, 0.0, 0.08, surface=ground, start=(1.0, 1.0))
