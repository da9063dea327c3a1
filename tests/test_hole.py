"""The hole: capture by speed and offset, and balls that roll by."""

import math

import numpy as np
import pytest
from reference_chip import rolled

from golfphys import Hole, constants
from golfphys.core.broadcasting import elementwise
from golfphys.formulas import rolling
from golfphys.formulas.hole import far_rim_capture_speed
from golfphys.physics.roll import roll

R, g = constants.HOLE_RADIUS.value, constants.GRAVITY.value
RESISTANCE = 0.08


@pytest.mark.parametrize(
    ("grade", "fall_direction", "until_x"),
    [
        *((0.0, 0.0, 5.0), (0.02, math.pi, 5.0), (0.03, math.pi / 2, 5.0)),
        *((0.03, -0.25 * math.pi, 5.0), (0.03, 0.75 * math.pi, 10.0)),
    ],
)
def test_a_ball_passes_where_a_differential_equation_solver_has_it(grade, fall_direction, until_x, external_check):
    start = math.sqrt(2 * g * (RESISTANCE - grade * math.cos(fall_direction)) / 1.4 * until_x + 1.0)
    rise = -grade * math.cos(fall_direction), -grade * math.sin(fall_direction)
    done = rolled([0, 0, start, 0], [RESISTANCE], lambda _x, _y: rise, end=lambda _, now: now[0] - until_x, rtol=1e-9)
    x, y, vx, vy = done.y[:, -1]
    speed, aside = math.hypot(vx, vy), np.linspace(0.5 * R, 1.5 * R, 2001)
    beside = Hole(x=x + aside * vy / speed, y=y - aside * vx / speed, capture_speed=np.full(2001, 1e6))
    farthest = float(aside[roll(start, 0.0, RESISTANCE, grade, fall_direction, hole=beside).holed].max())
    assert farthest == pytest.approx(R, abs=1e-4)
    if abs(math.sin(fall_direction) * grade) > 1e-9:  # a straight path proves little, a bent one is worth the ledger
        where = {"grade": grade, "falls": math.degrees(fall_direction), "until_x": until_x}
        external_check("pass-offset-{grade}-{falls:.0f}deg-{until_x:g}m", farthest, R, **where)


def test_passing_balls_short_straight_fast_wide_and_behind() -> None:
    slowing = rolling.deceleration(RESISTANCE, 0.0, g, 0.4)
    just_there = math.sqrt(2 * slowing * (3.0 - R))
    speed = np.array([just_there * 0.999, just_there * 1.001, 4.0, 2.2, 2.2])
    heading, aside = np.array([0.0, 0.0, 0.0, 0.0, math.pi]), np.array([0.0, 0.0, 0.0, 0.06, 0.0])
    rolls = roll(speed, heading, RESISTANCE, hole=Hole(x=3.0, y=aside))
    assert rolls.holed.tolist() == [False, True, False, False, False]
    assert rolls.x[1] == pytest.approx(3.0 - R, abs=1e-9)
    assert roll(just_there * 1.001, 0.0, RESISTANCE, hole=Hole(x=3.0)).holed is True


def test_capture_on_the_path_is_the_law_of_the_rim() -> None:
    rng = np.random.default_rng(1)
    speed, aside = rng.uniform(1.8, 3.0, 2000), rng.uniform(-0.06, 0.06, 2000)
    chord = np.sqrt(np.maximum(R * R - aside**2, 0.0))
    at_rim = np.sqrt(np.maximum(speed**2 - 2 * rolling.deceleration(RESISTANCE, 0.0, g, 0.4) * (3.0 - chord), 0.0))
    taken = roll(speed, 0.0, RESISTANCE, hole=Hole(x=3.0, y=aside, flagstick=False)).holed
    law = elementwise(far_rim_capture_speed)(aside, R, constants.FAR_RIM_CAPTURE_SPEED.value)
    clear = np.abs(at_rim - law) > 1e-6
    assert 200 < taken.sum() < 1800
    assert np.all(taken[clear] == ((at_rim > 0) & (at_rim <= law) & (np.abs(aside) < R))[clear])
