"""Whole shots, their flight, their bounces; shots far beyond golf, which end in numbers or say why not."""

import itertools
import math
from dataclasses import replace

import numpy as np
import pytest
import soak
from conftest import ExternalCheck, floats
from hypothesis import given
from hypothesis import strategies as st
from reference_chip import Course, impacted, in_engine
from scipy.spatial.transform import Rotation

from golfphys import Ball, Launch, Resistance, Shots, Status, constants, simulate, trace
from golfphys.formulas.flight import launch_of_motion, motion_of_launch, vacuum_carry
from golfphys.formulas.impact import impact
from golfphys.physics.bounce import bounce, settle_take_off
from golfphys.physics.flight import Aerodynamics, Air, table_coefficients
from golfphys.physics.green import Green, Ground, LinearTurf, Strip, Turf

GREEN = Green.from_stimp(10.0)
AIRLESS = Aerodynamics(drag_scale=0.0, lift_scale=0.0)


def test_ratio_does_not_depend_on_distance_without_air(external_check: ExternalCheck) -> None:
    """No drag, one loss factor: roll/carry = f^2 g / (4 a tan(theta)), whatever the distance."""
    turf = Turf(restitution=0.4, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, hop_loss=0.0005)
    green = Green.from_stimp(10.0, turf=turf)
    # spin in proportion to speed: the same shot at another scale
    speeds = np.array([8.0, 12.0, 18.0, 24.0])
    shots = simulate(Launch(speeds, 0.6, 25.0 * speeds), green, aerodynamics=AIRLESS)
    ratios = shots.run / shots.carry
    external_check("ratio-independent-of-distance", float(np.ptp(ratios) / np.mean(ratios)))


def test_roll_goes_with_green_speed(external_check: ExternalCheck) -> None:
    stimps = np.array([6.0, 9.0, 12.0])
    shots = simulate(Launch(9.0, 0.6, 200.0), Green.from_stimp(stimps), aerodynamics=AIRLESS)
    runs = (shots.rest_x - shots.roll_x) / stimps
    external_check("run-proportional-to-green-speed", float(np.ptp(runs) / np.mean(runs)))


def test_loss_factor_formula_gives_the_run() -> None:
    turf = Turf(restitution=0.0, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, friction=5.0)
    green = Green.from_stimp(10.0, turf=turf)
    shot = simulate(Launch(9.0, 0.6, 0.0), green, aerodynamics=AIRLESS)
    gravity, c = 9.80665, green.resistance.constant
    deceleration = c * gravity / 1.4
    expected = (5 / 7) ** 2 * gravity / (4 * deceleration * math.tan(0.6)) * vacuum_carry(9.0, 0.6, gravity)
    assert shot.bounces == 0
    assert math.isclose(shot.run, expected, rel_tol=1e-9)


def test_spin_back() -> None:
    green = Green.from_stimp(11.0, turf=Turf(friction=1.0, skid_friction=1.0, tilt=0.3))
    shots = simulate(Launch(18.0, 1.2, np.array([1400.0, 200.0])), green)
    assert shots.rest_x[0] < shots.landing_x[0]
    assert shots.rest_x[0] < shots.rest_x[1]


def test_rest_is_smooth_enough_to_fit() -> None:
    for turf in (Turf(), LinearTurf()):
        speeds = np.linspace(7.0, 11.0, 20001)
        shots = simulate(Launch(speeds, 0.6, 250.0), Green.from_stimp(10.0, turf=turf))
        assert len(set(shots.bounces.tolist())) > 1
        steps = np.diff(shots.rest_x)
        # 0.2 mm/s more of launch speed moves the rest by about 0.6 mm
        assert np.max(np.abs(steps - np.median(steps))) < 0.02


def test_scalars_give_floats_and_no_shots_empty_arrays() -> None:
    one = simulate(Launch(9.0, 0.6, 250.0), GREEN)
    assert isinstance(one.carry, float)
    assert isinstance(one.bounces, int)
    assert one.stops is True
    assert len(one) == 1
    none = simulate(Launch(np.empty(0), 0.6, 250.0), GREEN)
    assert len(none) == 0
    assert none.rest_x.shape == (0,)


SPEEDS = (0.0, 1e-9, 0.3, 12.0, 40.0)
ANGLES = (-math.pi / 2, -0.2, 0.0, 1e-6, 0.05, 0.8, math.pi / 2)
SPINS = (-1500.0, 0.0, 300.0, 1500.0)
SIDES = (0.0, 1500.0)
ROWS = np.array(list(itertools.product(SPEEDS, ANGLES, SPINS, SIDES)))
USUAL = Resistance(constant=0.08)
CONSTANT = {"restitution_linear": 0.0, "restitution_quadratic": 0.0}
TURFS: dict[str, Turf | LinearTurf] = {
    "no friction": Turf(friction=0.0, skid_friction=0.0),
    "no bounce": Turf(restitution=0.0, **CONSTANT),
    "all bounce": Turf(restitution=1.0, tilt=0.0, hop_loss=0.0005, **CONSTANT),
    "all grip": Turf(restitution=0.999, restitution_linear=0.0, friction=5.0, tangential_restitution=1.0, tilt=0.8),
    "linear": LinearTurf(restitution=1.0, forward_lift=1.0, speed_kept=1.5, spin_kept=-1.0),
    "linear, dead": LinearTurf(restitution=0.0, forward_lift=0.0, friction=0.0),
}
GREENS = {
    "usual": Green(resistance=USUAL, grade=0.02, fall_direction=1.0),
    "level": Green(resistance=USUAL),
    "limit of grade": Green(resistance=USUAL, grade=1.0, fall_direction=math.pi),
    "limit of grade, downhill": Green(resistance=USUAL, grade=1.0, fall_direction=0.3),
    "no resistance": Green(resistance=Resistance(constant=0.0)),
    "hardly any resistance": Green(resistance=Resistance(constant=1e-9)),
    "huge resistance": Green(resistance=Resistance(constant=2.0, linear=1.0, quadratic=1.0)),
    "resistance that falls": Green(resistance=Resistance(constant=0.05, linear=-1.0, quadratic=1.0)),
    "resistance that ends": Green(resistance=Resistance(constant=0.05, quadratic=-1.0)),
    "a speed that lasts": Green(resistance=Resistance(constant=0.05, linear=-0.045, quadratic=0.0099)),
    "much grain": Green(resistance=Resistance(constant=0.08, grain=0.8, grain_direction=2.0), grade=0.01),
    **{name: Green(resistance=USUAL, turf=turf) for name, turf in TURFS.items()},
}
GALE, THIN = Air(wind_speed=60.0, wind_direction=2.0), Air(altitude=6000.0, temperature=330.0)
AIRS = {"calm": Air(), "gale": GALE, "thin": THIN}


def launches(rows: np.ndarray = ROWS) -> Launch:
    return Launch(rows[:, 0], rows[:, 1], rows[:, 2], 0.1, rows[:, 3])


def ends(shots: Shots) -> None:
    """Every shot has a status, and its numbers are finite or the status says why not."""
    broken = {what: np.flatnonzero(wrong)[:5].tolist() for what, wrong in soak.always(shots) if np.any(wrong)}
    assert broken == {}


@pytest.mark.parametrize("green", GREENS)
def test_extreme_shots_end(green: str) -> None:
    for air in AIRS.values():
        ends(simulate(launches(), GREENS[green], air=air))
    for grade in (None, 0.5, -0.5):
        strips = (Strip(until=1.0, grade=grade), Strip(until=30.0, grade=0.0))
        ends(simulate(launches(ROWS[::4]), Ground(green=GREENS[green], strips=strips)))
    ends(simulate(launches(ROWS[1::8]), Ground(green=GREENS[green], strips=(Strip(until=3.0),)), air=AIRS["gale"]))


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


def test_a_ball_sent_down_has_no_top_one_without_speed_goes_nowhere_and_one_at_a_lasting_speed_never_stops() -> None:
    down = Launch(np.array([5.0, 40.0]), np.array([-1.2, -math.pi / 2]), 300.0)
    for ground in (GREENS["level"], Ground(green=GREENS["level"], strips=(Strip(until=5.0),))):
        shots = simulate(down, ground)
        assert shots.carry.tolist() == shots.apex.tolist() == [0.0, 0.0]
        assert np.isfinite(shots.rest_x).all()
    still = simulate(Launch(0.0, 0.4, 0.0), GREENS["usual"])
    assert still.stops
    assert still.carry == 0.0
    assert (still.rest_x, still.rest_y) == pytest.approx((0.0, 0.0), abs=1e-3)
    assert simulate(Launch(0.0, 0.4, 0.0), GREENS["limit of grade"]).status == Status.NEVER_STOPS
    lasts = simulate(Launch(np.array([15.0, 2.0]), np.array([0.05, 0.5]), 0.0), GREENS["a speed that lasts"])
    assert lasts.status.tolist() == [Status.NEVER_STOPS, Status.STOPPED]


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


@pytest.mark.parametrize("count", [20_000, pytest.param(200_000, marks=pytest.mark.thorough)])
def test_random_shots_keep_every_rule(count: int) -> None:
    """The soak test in small, on grounds of every kind; ``tests/soak.py`` plays ten million."""
    said: list[str] = []
    assert soak.soak(count, seed=3, chunk=count // 8, say=said.append) == 0, "\n".join(said)
    assert f"{count:,} shots" in said[-1]


def test_tables_pass_through_their_nodes() -> None:
    aero = Aerodynamics()
    for i, reynolds in enumerate(aero.reynolds):
        for j, spin in enumerate(aero.spin_ratio):
            drag, lift = aero.coefficients(reynolds, spin)
            # the fine grid's cells are 980 in Reynolds number and 1/63 in spin share
            assert abs(drag - aero.drag[i][j]) < 0.01
            assert abs(lift - aero.lift[i][j]) < 0.025, (reynolds, spin)


@given(
    **floats(speed=(0.5, 40.0), angle=(0.01, 1.5), backspin=(-500.0, 1000.0)),
    **floats(direction=(-3.0, 3.0), sidespin=(-300.0, 300.0)),
)
def test_launch_and_motion_are_inverse(speed, angle, backspin, direction, sidespin):
    motion = motion_of_launch(speed, angle, backspin, direction, sidespin)
    assert np.allclose(launch_of_motion(*motion), (speed, angle, backspin, direction, sidespin), atol=1e-7)


@given(
    st.tuples(*(st.floats(-10.0, 10.0) for _ in "xy"), st.floats(0.5, 10.0), *(st.floats(-300.0, 300.0) for _ in "xyz"))
)
def test_reading_a_launch_keeps_the_lift(motion: tuple[float, ...]) -> None:
    velocity, spin = np.array(motion[:3]), np.array(motion[3:])
    if math.hypot(*velocity[:2]) < 1e-3:
        return
    back = motion_of_launch(*launch_of_motion(*velocity, *spin))
    assert np.allclose(np.cross(back[3:], back[:3]), np.cross(spin, velocity), atol=1e-6)


def test_without_air_a_chip_flies_the_parabola() -> None:
    speeds, angles = np.array([6.0, 10.0, 20.0]), np.array([0.4, 0.8, 1.1])
    shots = simulate(Launch(speeds, angles, 300.0), GREEN, aerodynamics=AIRLESS)
    expected = [vacuum_carry(v, a, constants.GRAVITY.value) for v, a in zip(speeds, angles, strict=True)]
    assert np.allclose(shots.carry, expected, rtol=1e-9)
    assert np.allclose(shots.landing_angle, angles, rtol=1e-9)
    assert np.allclose(shots.apex, (speeds * np.sin(angles)) ** 2 / (2 * constants.GRAVITY.value), rtol=1e-9)
    assert np.allclose(shots.flight_time, 2 * speeds * np.sin(angles) / constants.GRAVITY.value, rtol=1e-9)


FLIGHTS = (
    ("chip", Launch(8.0, 0.6, 250.0), Air()),
    ("pitch-in-wind", Launch(14.0, 0.9, 500.0, 0.05, 60.0), Air(wind_speed=6.0, wind_direction=2.0, altitude=1500.0)),
    ("pitch-through-the-crisis", Launch(20.0, 0.7, 600.0, 0.0, -40.0), Air(temperature=303.15, humidity=0.6)),
)


@pytest.mark.parametrize(("name", "launch", "air"), FLIGHTS)
def test_flight_agrees_with_the_ode_solver(name: str, launch: Launch, air: Air, external_check: ExternalCheck) -> None:
    ours = simulate(launch, GREEN, air=air)
    theirs = Course(GREEN, air).play(*(float(np.asarray(item)) for item in vars(launch).values()))
    for quantity in ("carry", "flight_time", "landing_speed", "landing_angle", "landing_spin"):
        # coefficients read from a table have corners; a flight through the drag crisis feels them more
        slack = 5e-3 if quantity == "carry" and launch.speed > 16 else None
        slug, values = quantity.replace("_", "-"), (getattr(ours, quantity), getattr(theirs, quantity))
        shot = f"{name.replace('-', ' ')}, {launch.speed:g} m/s at {launch.angle:g} rad"
        external_check(f"flight-{{name}}-{slug}", *values, slack, name=name, shot=shot)


@pytest.mark.parametrize("astray", [math.nan, math.inf, -1e300])
def test_what_has_gone_astray_reads_nothing_beside_the_table(astray: float) -> None:
    table = Aerodynamics().fine_table
    assert not np.isnan(table_coefficients(1e5, 0.2, table)).any()
    with np.errstate(all="ignore"):
        for pair in ((astray, 0.2), (1e5, astray), (astray, astray)):
            assert len(table_coefficients(*pair, table)) == 2


BALL = Ball()
UP = (0.0, 0.0, 1.0)
GRAVITY = constants.GRAVITY.value
TURFS = (Turf(), Turf(tangential_restitution=0.3, friction=0.7), LinearTurf(), LinearTurf(spin_from_speed=-0.4))

landings = st.tuples(
    st.floats(-12.0, 12.0), st.floats(-4.0, 4.0), st.floats(-12.0, -0.01), *(st.floats(-900.0, 900.0) for _ in "xyz")
)


def energy(velocity: np.ndarray, spin: np.ndarray) -> float:
    return float(velocity @ velocity + BALL.inertia * BALL.radius**2 * (spin @ spin))


@pytest.mark.parametrize("turf", TURFS)
@given(landing=landings)
def test_energy_never_rises(turf: Turf | LinearTurf, landing: tuple[float, ...]) -> None:
    velocity, spin = np.array(landing[:3]), np.array(landing[3:])
    after_velocity, after_spin = bounce(velocity, spin, turf)
    assert np.all(np.isfinite(after_velocity))
    assert np.all(np.isfinite(after_spin))
    assert energy(after_velocity, after_spin) <= energy(velocity, spin) * (1 + 1e-9)


@pytest.mark.parametrize("turf", TURFS)
@given(speed=st.floats(1.0, 20.0), angle=st.floats(0.02, 1.5), spin=st.floats(-200.0, 900.0))
def test_hops_end(turf: Turf | LinearTurf, speed: float, angle: float, spin: float) -> None:
    velocity = np.array([speed * math.cos(angle), 0.0, -speed * math.sin(angle)])
    turning = np.array([0.0, -spin, 0.0])
    hops, left = 0, math.inf
    while left > 0.0 and hops < 40:
        velocity, turning = bounce(velocity, turning, turf)
        *settled, left = settle_take_off(tuple(velocity), UP, turf.hop_loss, GRAVITY)
        velocity = np.array([settled[0], settled[1], -settled[2]])
        hops += 1
    assert left == 0.0


def test_turned_ground_and_landing_turn_the_bounce() -> None:
    turn, tilt = Rotation.from_euler("z", 0.7), Rotation.from_euler("y", 0.1)
    velocity, spin = np.array([5.0, 0.5, -4.0]), np.array([30.0, -250.0, 40.0])
    for turf in TURFS:
        level = bounce(velocity, spin, turf)
        for by in (turn, tilt, tilt * turn):
            turned = bounce(by.apply(velocity), by.apply(spin), turf, normal=by.apply(UP))
            assert np.allclose(turned[0], by.apply(level[0]), atol=1e-12)
            assert np.allclose(turned[1], by.apply(level[1]), atol=1e-9)


def test_linear_family_contains_the_rigid_grip() -> None:
    for friction in (0.15, 5.0):
        linear = LinearTurf(restitution=0.4, forward_lift=0.0, friction=friction)
        rigid = Turf(restitution=0.4, restitution_linear=0.0, restitution_quadratic=0.0, tilt=0.0, friction=friction)
        velocity, spin = [6.0, 1.0, -5.0], [40.0, -200.0, 15.0]
        for ours, theirs in zip(bounce(velocity, spin, linear), bounce(velocity, spin, rigid), strict=True):
            assert np.allclose(ours, theirs, atol=1e-9)


@given(
    v=st.tuples(*[st.floats(-20.0, 20.0)] * 3),
    w=st.tuples(*[st.floats(-800.0, 800.0)] * 3),
    lean=st.tuples(*[st.floats(-0.6, 0.6)] * 2),
    contact=st.tuples(*(st.floats(0.0, most) for most in (1.0, 2.0, 1.0, 0.3))),
)
def test_agrees_with_the_conservation_laws(v, w, lean, contact):
    """Of restitution, friction, tangential restitution and mass ratio whatever they are, on ground that leans."""
    v, w, n = np.array(v), np.array(w), np.array([*lean, 1.0]) / math.hypot(*lean, 1.0)
    ours, (velocity, spin) = impact(*v, *w, *n, *contact, BALL.radius, BALL.inertia), impacted(v, w, n, contact)
    assert np.allclose(ours[:3], velocity, atol=1e-7)
    assert np.allclose(ours[3:], spin, atol=1e-5)


CASES = (
    ("slipping-backspin", (8.0, 0.0, -3.0), (0.0, -300.0, 0.0), 0.3, 0.4),
    ("gripping-backspin", (4.0, 0.0, -6.0), (0.0, -150.0, 0.0), 0.9, 0.4),
    ("topspin", (4.0, 0.0, -6.0), (0.0, 400.0, 0.0), 0.5, 0.3),
    ("sidespin", (6.0, 1.0, -5.0), (120.0, -250.0, 80.0), 0.4, 0.5),
    ("sidespin-gripping", (3.0, -1.0, -7.0), (-60.0, 50.0, -200.0), 1.2, 0.6),
)


@pytest.mark.parametrize(("name", "velocity", "spin", "friction", "restitution"), CASES)
def test_agrees_with_a_rigid_body_engine(name, velocity, spin, friction, restitution, external_check):
    ours = impact(*velocity, *spin, 0.0, 0.0, 1.0, restitution, friction, 0.0, 0.0, BALL.radius, BALL.inertia)
    theirs = in_engine(velocity, spin, friction, restitution)[1:]
    words = f"{name.replace('-', ' ')}, friction {friction:g}, restitution {restitution:g}"
    for of, part, other in zip(("velocity", "spin"), (ours[:3], ours[3:]), theirs, strict=True):
        miss = float(np.max(np.abs(np.subtract(part, other))))
        external_check(f"rigid-body-{of}-{{name}}", miss, name=name, words=words)
