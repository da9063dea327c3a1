"""Shots far beyond golf, each by both forms of the engine: they end, in numbers or in a status that says why not.

The batch on one plane goes through the lanes; over strips of ground, and where a path is drawn, a shot is played alone.
"""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import soak

from golfphys import Air, Green, Ground, Launch, LinearTurf, Resistance, Shots, Status, Strip, Turf, simulate, trace

SPEEDS = (0.0, 1e-9, 0.3, 12.0, 40.0)
ANGLES = (-math.pi / 2, -0.2, 0.0, 1e-6, 0.05, 0.8, math.pi / 2)
SPINS = (-1500.0, 0.0, 300.0, 1500.0)
SIDES = (0.0, 1500.0)
ROWS = np.array(list(itertools.product(SPEEDS, ANGLES, SPINS, SIDES)))
USUAL = Resistance(constant=0.08)
GREENS = {
    "usual": Green(resistance=USUAL, grade=0.02, fall_direction=1.0),
    "level": Green(resistance=USUAL),
    "limit of grade": Green(resistance=USUAL, grade=1.0, fall_direction=math.pi),
    "limit of grade, downhill": Green(resistance=USUAL, grade=1.0, fall_direction=0.3),
    "no friction": Green(resistance=USUAL, turf=Turf(friction=0.0, skid_friction=0.0)),
    "no bounce": Green(resistance=USUAL, turf=Turf(restitution=0.0, restitution_linear=0.0, restitution_quadratic=0.0)),
    "all bounce": Green(
        resistance=USUAL,
        turf=Turf(restitution=1.0, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, hop_loss=0.0005),
    ),
    "all bounce, all grip": Green(
        resistance=USUAL,
        turf=Turf(restitution=0.999, restitution_linear=0.0, friction=5.0, tangential_restitution=1.0, tilt=0.8),
    ),
    "no resistance": Green(resistance=Resistance(constant=0.0)),
    "hardly any resistance": Green(resistance=Resistance(constant=1e-9)),
    "huge resistance": Green(resistance=Resistance(constant=2.0, linear=1.0, quadratic=1.0)),
    "resistance that falls": Green(resistance=Resistance(constant=0.05, linear=-1.0, quadratic=1.0)),
    "resistance that ends": Green(resistance=Resistance(constant=0.05, quadratic=-1.0)),
    "a speed that lasts": Green(resistance=Resistance(constant=0.05, linear=-0.045, quadratic=0.0099)),
    "much grain": Green(resistance=Resistance(constant=0.08, grain=0.8, grain_direction=2.0), grade=0.01),
    "linear": Green(
        resistance=USUAL, turf=LinearTurf(restitution=1.0, forward_lift=1.0, speed_kept=1.5, spin_kept=-1.0)
    ),
    "linear, dead": Green(resistance=USUAL, turf=LinearTurf(restitution=0.0, forward_lift=0.0, friction=0.0)),
}
AIRS = {
    "calm": Air(),
    "gale": Air(wind_speed=60.0, wind_direction=2.0),
    "thin": Air(altitude=6000.0, temperature=330.0),
}


def launches(rows: np.ndarray = ROWS) -> Launch:
    """Every combination of extreme speeds, angles, spins and sidespins."""
    return Launch(rows[:, 0], rows[:, 1], rows[:, 2], 0.1, rows[:, 3])


def ends(shots: Shots) -> None:
    """Every shot has a status, and its numbers are finite or the status says why not."""
    broken = {what: np.flatnonzero(wrong)[:5].tolist() for what, wrong in soak.always(shots) if np.any(wrong)}
    assert broken == {}


@pytest.mark.parametrize("air", AIRS)
@pytest.mark.parametrize("green", GREENS)
def test_extreme_shots_end_in_a_batch(green: str, air: str) -> None:
    ends(simulate(launches(), GREENS[green], air=AIRS[air]))


@pytest.mark.parametrize("green", GREENS)
def test_extreme_shots_end_one_at_a_time(green: str) -> None:
    some = launches(ROWS[::4])
    for grade in (None, 0.5, -0.5):
        ground = Ground(green=GREENS[green], strips=(Strip(until=1.0, grade=grade), Strip(until=30.0, grade=0.0)))
        ends(simulate(some, ground))
    gale = simulate(launches(ROWS[1::8]), Ground(green=GREENS[green], strips=(Strip(until=3.0),)), air=AIRS["gale"])
    ends(gale)


@pytest.mark.parametrize("green", ["usual", "limit of grade", "no friction", "all bounce", "resistance that falls"])
def test_the_path_of_an_extreme_shot_has_no_gaps(green: str) -> None:
    for row in ROWS[::11]:
        path = trace(Launch(row[0], row[1], row[2], 0.1, row[3]), GREENS[green])
        for values in (path.time, path.x, path.y, path.height):
            assert np.isfinite(values).all()
        assert path.time[0] == path.x[0] == path.height[0] == 0.0
        assert np.all(np.diff(path.time) >= 0)


@pytest.mark.parametrize("green", ["usual", "limit of grade", "all bounce", "no friction", "linear", "huge resistance"])
def test_a_mirror_changes_nothing_at_the_extremes(green: str) -> None:
    here = GREENS[green]
    resistance = replace(here.resistance, grain_direction=-here.resistance.grain_direction)
    there = replace(here, fall_direction=-here.fall_direction, resistance=resistance)
    launch = launches()
    mirrored = Launch(launch.speed, launch.angle, launch.backspin, -0.1, -np.asarray(launch.sidespin))
    one, other = simulate(launch, here), simulate(mirrored, there)
    np.testing.assert_allclose(one.carry, other.carry, rtol=1e-6, atol=1e-9)
    np.testing.assert_allclose(one.landing_y, -other.landing_y, rtol=1e-6, atol=1e-8)
    assert np.mean(one.status == other.status) > 0.99
    like = one.stops & (one.bounces == other.bounces) & other.stops
    np.testing.assert_allclose(one.rest_y[like], -other.rest_y[like], rtol=1e-4, atol=1e-4)


def test_a_ball_sent_down_into_the_ground_has_no_top() -> None:
    for ground in (GREENS["level"], Ground(green=GREENS["level"], strips=(Strip(until=5.0),))):
        shots = simulate(Launch(np.array([5.0, 40.0]), np.array([-1.2, -math.pi / 2]), 300.0), ground)
        assert shots.carry.tolist() == [0.0, 0.0]
        assert shots.apex.tolist() == [0.0, 0.0]
        assert np.isfinite(shots.rest_x).all()


def test_a_ball_that_rolls_at_a_lasting_speed_never_stops() -> None:
    green = GREENS["a speed that lasts"]
    assert simulate(Launch(15.0, 0.05, 0.0), green).status == Status.NEVER_STOPS
    assert simulate(Launch(2.0, 0.5, 0.0), green).status == Status.STOPPED


def test_no_speed_goes_nowhere() -> None:
    still = simulate(Launch(0.0, 0.4, 0.0), GREENS["usual"])
    assert still.stops
    assert (still.carry, still.rest_x, still.rest_y) == (
        0.0,
        pytest.approx(0.0, abs=1e-3),
        pytest.approx(0.0, abs=1e-3),
    )
    assert simulate(Launch(0.0, 0.4, 0.0), GREENS["limit of grade"]).status == Status.NEVER_STOPS


@pytest.mark.parametrize("spoiled", [math.nan, math.inf, -math.inf, 1e300])
def test_numbers_that_are_none_spoil_only_their_own_shot(spoiled: float) -> None:
    speed, constant = np.array([9.0, spoiled, 9.0]), np.array([0.08, spoiled, 0.08])
    for found in (
        simulate(Launch(speed, 0.6, 250.0), GREENS["usual"]),
        simulate(Launch(9.0, 0.6, 250.0), replace(GREENS["usual"], resistance=Resistance(constant=constant))),
        simulate(Launch(speed, 0.6, 250.0), Ground(green=GREENS["usual"], strips=(Strip(until=2.0),))),
    ):
        assert found.status.tolist() == [Status.STOPPED, Status.INVALID, Status.STOPPED]
        assert np.isnan(found.rest_x[1])
        assert np.isfinite(found.rest_x[[0, 2]]).all()
        assert found.rest_x[0] == found.rest_x[2]


def test_fifty_thousand_random_shots_keep_every_rule() -> None:
    """The soak test in small; ``tests/soak.py`` plays ten million."""
    said: list[str] = []
    assert soak.soak(50_000, seed=3, chunk=6_000, say=said.append) == 0, "\n".join(said)
    assert "50,000 shots" in said[-1]
