"""The release ramp, green speed and readings both ways."""

import math

import numpy as np
import pytest
from conftest import ExternalCheck
from hypothesis import given
from hypothesis import strategies as st

from golfphys import Resistance, ramp
from golfphys.formulas.rolling import stopping_distance
from golfphys.physics.roll import roll


@given(st.floats(0.04, 0.2), st.floats(0.0, 0.9), st.floats(1.0, 2.5))
def test_readings_both_ways_give_back_resistance_and_grade(resistance: float, part: float, speed: float) -> None:
    grade = part * resistance
    up, down = (stopping_distance(speed, resistance, s, 9.80665, 0.4) for s in (grade, -grade))
    shown = ramp.resistance_and_grade(up, down, release_speed=speed)
    assert shown == pytest.approx((resistance, grade), rel=1e-9, abs=1e-12)
    level = ramp.green_speed(resistance, release_speed=speed)
    assert ramp.two_way_mean(up, down) == pytest.approx(level * math.sqrt(1 + grade**2), rel=1e-12)
    assert ramp.slope_share(up, down) == pytest.approx(part, abs=1e-9)
    assert (up + down) / 2 >= ramp.two_way_mean(up, down) * (1 - 1e-12)


def test_two_way_mean_is_not_exact_when_resistance_grows_with_speed() -> None:
    law = Resistance(constant=0.06, linear=0.03)
    up, down = (roll(1.83, 0.0, law, 0.04, fall).x for fall in (math.pi, 0.0))
    level = roll(1.83, 0.0, law).x
    assert ramp.two_way_mean(up, down) / level == pytest.approx(1.0, abs=0.03)
    assert ramp.two_way_mean(up, down) != pytest.approx(level, rel=1e-3)


def test_the_release_speed_matters_by_its_square(external_check: ExternalCheck) -> None:
    shown = [ramp.resistance_from_green_speed(3.0, release_speed=0.3048 * feet) for feet in (6.0, 6.4)]
    external_check(
        "release-speed-matters",
        100 * (shown[1] / shown[0] - 1),
        "14",
        "0.5",
        what="resistance inferred with a release speed of 6.4 ft/s over that with 6.00 ft/s, less 1",
        source="Instruction booklet for the green-speed ramp, USGA; a school toolkit",
        locator="6.00 and 6.4 ft/s",
        mark="derived",
        unit="pct",
    )


def test_a_flat_ramp_has_no_overspin_and_seven_fifths_of_the_energy() -> None:
    assert ramp.release_overspin(0.0) == 1.0
    assert ramp.release_speed(1.0, math.pi / 6, 0.0) == pytest.approx(math.sqrt(2 * 9.80665 * 0.5 / 1.4))
    assert ramp.release_speed(contact_spacing=0.03) < ramp.release_speed(contact_spacing=0.0)


def test_green_speed_and_resistance_are_inverse_and_broadcast() -> None:
    feet = np.array([6.0, 9.0, 12.0])
    resistance = ramp.resistance_from_green_speed(feet * 0.3048)
    np.testing.assert_allclose(ramp.green_speed_ft(resistance), feet, rtol=1e-12)
    assert type(ramp.green_speed(0.08)) is float


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (lambda: ramp.two_way_mean(0.0, 1.0), "distance_up is 0.0"),
        (lambda: ramp.green_speed(-0.1), "resistance is -0.1"),
        (lambda: ramp.release_speed(contact_spacing=0.05), "below the ball's diameter"),
        (lambda: ramp.release_speed(angle=2.0), "radians from 0 to pi/2"),
        (lambda: ramp.resistance_and_grade(0.1, 5.0), "a slope can make"),
    ],
)
def test_bad_arguments_are_named(call, message: str) -> None:
    with pytest.raises(ValueError, match=message):
        call()
