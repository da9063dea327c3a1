"""Skid to roll: a second derivation, textbook figures, and two runs of an independent rigid-body engine."""

import math
from typing import Any

import numpy as np
import pytest
import sympy
from conftest import ExternalCheck
from reference_chip import STEP, in_engine

from golfphys import Ball, roll
from golfphys.derivations import turf as chapter
from golfphys.formulas import turf
from golfphys.physics.ramp import release_overspin

RADIUS, GRAVITY = 0.021335, 9.80665


def test_two_derivations_of_the_skid_agree() -> None:
    known: dict[Any, Any] = {}
    for name, expression in chapter.ROUTE["definitions"]:
        known[name] = expression.subs(known)
    route = sympy.lambdify(chapter.ROUTE["arguments"], [item.subs(known) for item in chapter.ROUTE["returns"]])
    rng = np.random.default_rng(2)
    for _ in range(200):
        state = [*rng.uniform(-5, 5, 4), rng.uniform(0.1, 0.8), *rng.uniform(-0.15, 0.15, 2), 9.81]
        state.append(rng.uniform(0.3, 0.6))
        if state[4] * (1 + 1 / state[8]) <= 1.1 * math.hypot(state[5], state[6]):
            continue
        x, y, velocity_x, velocity_y, time = turf.skid(*state)
        np.testing.assert_allclose((x, velocity_x, y, velocity_y, time), route(*state), rtol=1e-9, atol=1e-11)


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
