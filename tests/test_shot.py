"""Whole shots: what the trade and the derivations say of chips, and properties under random inputs."""

import math

import numpy as np
import pytest
from conftest import ExternalCheck
from hypothesis import given, settings
from hypothesis import strategies as st

from golfphys.formulas.flight import vacuum_carry
from golfphys.physics.club import BAG, LIES, Club, Delivery, Launch
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, Ground, LinearTurf, Resistance, Strip, Turf
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.status import Status
from golfphys.physics.strike import launch_from

GREEN = Green.from_stimp(10.0)
AIRLESS = Aerodynamics(drag_scale=0.0, lift_scale=0.0)
RULE_OF_TWELVE = {"8-iron": 4.0, "9-iron": 3.0, "pitching wedge": 2.0, "sand wedge": 1.0}


def chip_to(carry: float, club: Club, green: Green = GREEN, lie: str = "fairway", **physics: object) -> Shots:
    """The chip of the default motion with a club that carries `carry` m."""
    speeds = np.linspace(2.0, 20.0, 400)
    launch = launch_from(club, Delivery(speed=speeds), LIES[lie])
    shots = simulate(launch, green, **physics)
    speed = float(np.interp(carry, shots.carry, speeds))
    return simulate(launch_from(club, Delivery(speed=speed), LIES[lie]), green, **physics)


@pytest.mark.parametrize(("name", "parts"), RULE_OF_TWELVE.items())
def test_rule_of_twelve(name: str, parts: float) -> None:
    """Roll over carry of a chip of about 15 ft of carry on a 10 ft green, within a factor of 2 of the rule."""
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
    """From where it starts to roll, the run is in proportion to green speed; bounces and skid are not."""
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
    """The same derivation, as a number: a dead landing that keeps 5/7 of the forward speed."""
    turf = Turf(restitution=0.0, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, friction=5.0)
    green = Green.from_stimp(10.0, turf=turf)
    shot = simulate(Launch(9.0, 0.6, 0.0), green, aerodynamics=AIRLESS)
    gravity, c = 9.80665, green.resistance.constant
    deceleration = c * gravity / 1.4
    expected = (5 / 7) ** 2 * gravity / (4 * deceleration * math.tan(0.6)) * vacuum_carry(9.0, 0.6, gravity)
    assert shot.bounces == 0
    assert math.isclose(shot.roll_distance, expected, rel_tol=1e-9)


def test_spin_back() -> None:
    """Enough backspin on turf that grips brings a ball back from where it landed."""
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
    """No jump where a bounce more is counted, nor where a contact starts to grip: rest moves with its cause."""
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


launches = st.builds(
    Launch,
    st.floats(0.0, 40.0),
    st.floats(-0.3, 1.5707),
    st.floats(-500.0, 1500.0),
    st.floats(-3.0, 3.0),
    st.floats(-300.0, 300.0),
)
turfs = st.one_of(
    st.builds(
        Turf,
        restitution=st.floats(0.0, 1.0),
        tilt=st.floats(0.0, 0.5),
        dent_speed=st.floats(0.2, 5.0),
        friction=st.floats(0.0, 2.0),
        tangential_restitution=st.floats(0.0, 1.0),
        hop_loss=st.floats(0.001, 0.02),
        skid_friction=st.floats(0.01, 2.0),
    ),
    st.builds(
        LinearTurf,
        restitution=st.floats(0.0, 1.0),
        forward_lift=st.floats(0.0, 0.2),
        speed_kept=st.floats(-0.2, 1.0),
        speed_from_spin=st.floats(-0.5, 0.5),
        spin_from_speed=st.floats(-0.5, 1.0),
        spin_kept=st.floats(-0.5, 1.0),
        friction=st.floats(0.0, 2.0),
    ),
)
greens = st.builds(
    Green.from_stimp, st.floats(3.0, 15.0), grade=st.floats(0.0, 0.04), fall_direction=st.floats(-3.2, 3.2), turf=turfs
)


@settings(max_examples=150)
@given(launch=launches, green=greens, strip=st.floats(0.5, 20.0))
def test_any_shot_ends_in_numbers(launch: Launch, green: Green, strip: float) -> None:
    """No NaN, no endless loop, one of the statuses; on the plane and over a strip."""
    for ground in (green, Ground(green=green, strips=(Strip(until=strip, grade=0.05),))):
        shot = simulate(launch, ground)
        assert shot.status in (Status.STOPPED, Status.NEVER_STOPS, Status.STILL_BOUNCING)
        if shot.status != Status.STILL_BOUNCING:
            numbers = [getattr(shot, name) for name in ("carry", "landing_speed", "apex", "rest_x", "rest_y")]
            assert not np.isnan(numbers).any()
        if shot.stops:
            assert math.isfinite(shot.rest_x)
            assert shot.rest_time >= shot.flight_time - 1e-9
            assert shot.carry >= 0
            assert shot.apex >= 0
            assert 0 <= shot.bounces <= 60


@settings(max_examples=60)
@given(launch=launches, green=greens)
def test_a_mirror_changes_nothing(launch: Launch, green: Green) -> None:
    mirrored = Launch(launch.speed, launch.angle, launch.backspin, -launch.direction, -launch.sidespin)
    other = Green(resistance=green.resistance, grade=green.grade, fall_direction=-green.fall_direction, turf=green.turf)
    here, there = simulate(launch, green), simulate(mirrored, other)
    assert here.status == there.status
    if here.stops:
        assert math.isclose(here.rest_x, there.rest_x, abs_tol=1e-6, rel_tol=1e-6)
        assert math.isclose(here.rest_y, -there.rest_y, abs_tol=1e-6, rel_tol=1e-6)


@settings(max_examples=60)
@given(launch=launches, green=greens)
def test_energy_never_rises(launch: Launch, green: Green) -> None:
    """On level ground a ball lands no faster than it left; and it never starts to roll faster than it left either."""
    flat = Green(resistance=Resistance(constant=0.1), turf=green.turf)
    shot = simulate(launch, flat)
    if shot.flight_time > 0:
        assert shot.landing_speed <= launch.speed * (1 + 1e-9)
    if shot.stops:
        # on the level the run from where it rolls is v^2 (1 + k) / (2 c g): read the speed back from it
        speed = math.sqrt(math.hypot(shot.rest_x - shot.roll_x, shot.rest_y - shot.roll_y) * 2 * 0.1 * 9.80665 / 1.4)
        turning = 0.4 * 0.021335**2 * (launch.backspin**2 + launch.sidespin**2)
        assert 1.4 * speed**2 <= (launch.speed**2 + turning) * (1 + 1e-9) + 1e-12
