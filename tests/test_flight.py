"""Air, coefficients, and the flight against the general-purpose solver."""

import math

import numpy as np
import pytest
from conftest import ExternalCheck, floats
from hypothesis import given
from hypothesis import strategies as st
from reference_chip import Course

from golfphys import Green, Launch, constants, simulate
from golfphys.formulas.flight import launch_of_motion, motion_of_launch, vacuum_carry
from golfphys.physics.flight import Aerodynamics, Air, table_coefficients

GREEN = Green.from_stimp(10.0)
STILL = Aerodynamics(drag_scale=0.0, lift_scale=0.0)


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
    shots = simulate(Launch(speeds, angles, 300.0), GREEN, aerodynamics=STILL)
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
