"""The hole: capture by speed and offset, and balls that roll by."""

import math

import numpy as np
import pytest
from published.calls import dead_rim_capture_speed, free_fall_capture_speed
from reference_chip import rolled
from scipy.optimize import brentq

from golfphys import Ball, Hole, constants
from golfphys.core.broadcasting import elementwise
from golfphys.formulas import rolling
from golfphys.formulas.hole import far_rim_capture_speed
from golfphys.physics.roll import roll

R, r, g = constants.HOLE_RADIUS.value, constants.BALL_RADIUS.value, constants.GRAVITY.value
RESISTANCE = 0.08


def clears_the_rim(speed: float, offset: float) -> bool:
    """Follow a falling ball in small steps: does its side touch the rim while its centre is above?"""
    start = -math.sqrt(R * R - offset * offset)
    time = np.linspace(0.0, math.sqrt(2 * r / g), 4001)
    drop = g * time**2 / 2
    along = start + speed * time
    # half width of the ball at the height of the ground
    width = np.sqrt(np.maximum(2 * r * drop - drop**2, 0.0))
    touches = np.hypot(along, offset) + width > R + 1e-12
    return not bool(np.any(touches))


@pytest.mark.parametrize("offset", [0.0, 0.005, 0.012, -0.02, 0.028, 0.0315])
def test_free_fall_law_is_the_fastest_ball_that_clears_the_rim(offset: float) -> None:
    limit = free_fall_capture_speed(offset)
    assert clears_the_rim(limit * 0.999, offset)
    assert not clears_the_rim(limit * 1.001, offset)


@pytest.mark.parametrize("grips", [True, False])
def test_dead_rim_by_solving_for_the_impulse(grips: bool) -> None:
    """A second route: impulses at the rim that bring the contact to rest, then the climb by energy."""
    ball = Ball()

    def energy_to_spare(speed: float) -> float:
        def gap(time: float) -> float:
            return math.hypot(2 * R - speed * time, r - g * time**2 / 2) - r

        time = brentq(gap, 1e-6, min(math.sqrt(2 * r / g), 2 * R / speed))
        to_rim = np.array([2 * R - speed * time, g * time**2 / 2 - r]) / r
        along = np.array([-to_rim[1], to_rim[0]])  # of the ball's surface at the rim when it turns over it
        # topspin: the surface at `to_rim` moves by -spin r along
        velocity, spin = np.array([speed, -g * time]), speed / r
        velocity = velocity - (velocity @ to_rim) * to_rim
        if grips:
            # contact point velocity along: v_t - spin r; an impulse j changes v_t by j and spin by -j / (k r)
            tangential = float(velocity @ along)
            impulse = -(tangential - spin * r) / (1 + 1 / ball.inertia)
            velocity = velocity + impulse * along
            spin = spin - impulse / (ball.inertia * r)
            assert float(velocity @ along) == pytest.approx(spin * r)
        energy = 0.5 * float(velocity @ velocity) + (0.5 * ball.inertia * (r * spin) ** 2 if grips else 0.0)
        turning_over = math.copysign(1.0, float(velocity @ along))
        return turning_over * energy - g * (r + to_rim[1] * r)

    limit = brentq(energy_to_spare, 1.33, 2.5)
    assert dead_rim_capture_speed(grips=grips) == pytest.approx(limit, abs=1e-9)


def test_published_speed_lies_between_the_two_dead_rims() -> None:
    """A rim that grips and a smooth one bracket the published figure."""
    assert dead_rim_capture_speed() < constants.FAR_RIM_CAPTURE_SPEED.value < dead_rim_capture_speed(grips=False)


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
