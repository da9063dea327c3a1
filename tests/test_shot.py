"""Whole shots: what the trade and the derivations say of chips, and properties under random inputs."""

import math

import numpy as np
import pytest
from conftest import ExternalCheck

from golfphys import BAG, LIES, Aerodynamics, Air, Club, Delivery, Launch, Shots, launch_from, simulate, speed_to_land
from golfphys.formulas.flight import vacuum_carry
from golfphys.physics.green import Green, Ground, LinearTurf, Strip, Turf

GREEN = Green.from_stimp(10.0)
AIRLESS = Aerodynamics(drag_scale=0.0, lift_scale=0.0)
RULE_OF_TWELVE = {"8-iron": 4.0, "9-iron": 3.0, "pitching wedge": 2.0, "sand wedge": 1.0}


def chip_to(carry: float, club: Club, green: Green = GREEN, lie: str = "fairway", **physics: object) -> Shots:
    speeds = np.linspace(2.0, 20.0, 400)
    launch = launch_from(club, Delivery(speed=speeds), LIES[lie])
    shots = simulate(launch, green, **physics)
    speed = float(np.interp(carry, shots.carry, speeds))
    return simulate(launch_from(club, Delivery(speed=speed), LIES[lie]), green, **physics)


@pytest.mark.parametrize(("name", "parts"), RULE_OF_TWELVE.items())
def test_rule_of_twelve(name: str, parts: float) -> None:
    shot = chip_to(4.5, BAG[name])
    ratio = shot.roll_distance / shot.carry
    assert abs(math.log2(ratio / parts)) <= 1.0


def test_more_loft_runs_less() -> None:
    ratios = [(shot := chip_to(6.0, club)).roll_distance / shot.carry for club in BAG.values()]
    assert np.max(np.diff(ratios)) < 0.0


def test_clean_lie_checks() -> None:
    clean, wet = (chip_to(8.0, BAG["lob wedge"], lie=lie) for lie in ("tight", "wet"))
    assert clean.landing_spin > 1.2 * wet.landing_spin


def test_ratio_does_not_depend_on_distance_without_air(external_check: ExternalCheck) -> None:
    """No drag, one loss factor: roll/carry = f^2 g / (4 a tan(theta)), whatever the distance."""
    turf = Turf(restitution=0.4, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, hop_loss=0.0005)
    green = Green.from_stimp(10.0, turf=turf)
    # spin in proportion to speed: the same shot at another scale
    speeds = np.array([8.0, 12.0, 18.0, 24.0])
    shots = simulate(Launch(speeds, 0.6, 25.0 * speeds), green, aerodynamics=AIRLESS)
    ratios = shots.roll_distance / shots.carry
    external_check(
        "ratio-independent-of-distance",
        float(np.ptp(ratios) / np.mean(ratios)),
        0.0,
        0.05,
        what="spread of roll divided by carry over carries from 6 to 55 m, without air and with constant restitution",
        source="run-out after one loss factor f on the landing, by algebra",
        locator="roll/carry = f^2 g/(4 a tan(theta))",
        mark="derived",
        unit="1",
        reason="the last hop's height is a length of its own, and breaks the scaling by its share",
    )


def test_roll_goes_with_green_speed(external_check: ExternalCheck) -> None:
    stimps = np.array([6.0, 9.0, 12.0])
    runs = []
    for stimp in stimps:
        shot = simulate(Launch(9.0, 0.6, 200.0), Green.from_stimp(float(stimp)), aerodynamics=AIRLESS)
        runs.append((shot.rest_x - shot.roll_x) / stimp)
    external_check(
        "run-proportional-to-green-speed",
        float(np.ptp(runs) / np.mean(runs)),
        0.0,
        1e-9,
        what="spread of the run, from where the ball rolls, divided by green speed, over greens of 6, 9 and 12 ft",
        source="run-out after one loss factor f on the landing, by algebra",
        locator="roll/carry = f^2 g/(4 a tan(theta)), proportional to green speed",
        mark="derived",
        unit="1",
    )


def test_loss_factor_formula_gives_the_run() -> None:
    turf = Turf(restitution=0.0, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, friction=5.0)
    green = Green.from_stimp(10.0, turf=turf)
    shot = simulate(Launch(9.0, 0.6, 0.0), green, aerodynamics=AIRLESS)
    gravity, c = 9.80665, green.resistance.constant
    deceleration = c * gravity / 1.4
    expected = (5 / 7) ** 2 * gravity / (4 * deceleration * math.tan(0.6)) * vacuum_carry(9.0, 0.6, gravity)
    assert shot.bounces == 0
    assert math.isclose(shot.roll_distance, expected, rel_tol=1e-9)


def test_spin_back() -> None:
    turf = Turf(friction=1.0, skid_friction=1.0, tilt=0.3)
    back = simulate(Launch(18.0, 1.2, 1400.0), Green.from_stimp(11.0, turf=turf))
    assert back.rest_x < back.landing_x
    assert simulate(Launch(18.0, 1.2, 200.0), Green.from_stimp(11.0, turf=turf)).rest_x > back.rest_x


def test_firmer_faster_and_downhill_run_more() -> None:
    launch = Launch(9.0, 0.6, 250.0)

    def run(green: Green) -> float:
        return simulate(launch, green).roll_distance

    assert run(Green.from_stimp(10.0, turf=Turf(restitution=0.4))) < run(GREEN)
    assert run(GREEN) < run(Green.from_stimp(12.0))
    uphill, downhill = (Green.from_stimp(10.0, grade=0.03, fall_direction=way) for way in (math.pi, 0.0))
    assert run(uphill) < run(GREEN) < run(downhill)
    left = simulate(launch, Green.from_stimp(10.0, grade=0.03, fall_direction=math.pi / 2))
    assert left.rest_y > 0.3


def test_rest_is_smooth_enough_to_fit() -> None:
    for turf in (Turf(), LinearTurf()):
        speeds = np.linspace(7.0, 11.0, 20001)
        shots = simulate(Launch(speeds, 0.6, 250.0), Green.from_stimp(10.0, turf=turf))
        assert len(set(shots.bounces.tolist())) > 1
        steps = np.diff(shots.rest_x)
        # 0.2 mm/s more of launch speed moves the rest by about 0.6 mm
        assert np.max(np.abs(steps - np.median(steps))) < 0.02


def test_scalars_give_floats_and_arrays_their_shape() -> None:
    one = simulate(Launch(9.0, 0.6, 250.0), GREEN)
    assert isinstance(one.carry, float)
    assert isinstance(one.bounces, int)
    assert one.stops is True
    assert len(one) == 1
    many = simulate(Launch(np.array([[8.0], [9.0]]), np.array([0.5, 0.6, 0.7]), 250.0), GREEN)
    assert many.rest_x.shape == many.roll_distance.shape == many.stops.shape == (2, 3)
    assert len(many) == 6
    assert math.isclose(many.rest_x[1, 1], one.rest_x, rel_tol=1e-12)
    none = simulate(Launch(np.empty(0), 0.6, 250.0), GREEN)
    assert len(none) == 0
    assert none.rest_x.shape == (0,)


SLOPE = Green.from_stimp(10.0, grade=0.03, fall_direction=2.0)
BANK = Ground(green=SLOPE, strips=(Strip(until=3.0, grade=0.0), Strip(until=5.0, grade=0.2)))


@pytest.mark.parametrize("ground", [SLOPE, BANK], ids=["slope", "bank"])
@pytest.mark.parametrize("wind", [0.0, 5.0])
def test_the_ball_lands_where_it_was_to_land(ground: Green | Ground, wind: float) -> None:
    landing = np.array([1.0, 4.0, 8.0, 15.0, 25.0])
    scale = np.array([[0.8], [1.2]])
    air, aero = Air(wind_speed=wind, wind_direction=2.5), Aerodynamics(drag_scale=scale)

    def launch_of(speed: np.ndarray) -> Launch:
        return Launch(speed, 0.7, 30.0 * speed, 0.02)

    speed = speed_to_land(landing, launch_of, ground, air=air, aerodynamics=aero)
    assert speed.shape == (2, 5)
    assert np.all(np.diff(speed, axis=0) > 0)  # more drag asks for more
    played = simulate(launch_of(speed), ground, air=air, aerodynamics=aero)
    assert np.max(np.abs(played.landing_x - landing)) < 1e-4


def test_what_no_speed_reaches_is_no_number() -> None:
    def launch_of(speed: np.ndarray) -> Launch:
        return Launch(speed, 1.0, 100.0)

    speed = speed_to_land([-2.0, 0.0, 5.0, 900.0], launch_of, SLOPE)
    assert np.isnan(speed).tolist() == [True, True, False, True]
    assert isinstance(speed_to_land(5.0, launch_of, SLOPE), float)
