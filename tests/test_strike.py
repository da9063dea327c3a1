"""The strike: the identity that binds spin to launch, the plane's closed form, lies, lean and an open face."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from golfphys.core.ball import Ball
from golfphys.formulas.strike import face_normal, plane_strike, spin_to_speed
from golfphys.physics.club import BAG, LIES, Club, Delivery, Lie
from golfphys.physics.strike import delivered_loft, face_restitution, launch_from

BALL = Ball()
WEDGE = BAG["sand wedge"]


@given(
    loft=st.floats(0.3, 1.1),
    lean=st.floats(-0.1, 0.3),
    attack=st.floats(-0.2, 0.05),
    speed=st.floats(2.0, 30.0),
    friction=st.floats(0.02, 1.0),
    mass=st.floats(0.2, 0.4),
    inertia=st.floats(0.36, 0.44),
)
def test_spin_is_bound_to_launch(
    loft: float, lean: float, attack: float, speed: float, friction: float, mass: float, inertia: float
) -> None:
    """r w / u = sin(delivered loft - launch) / k for every central impact from rest, gripping or slipping."""
    club = Club(name="any", loft=loft, bounce=0.1, head_mass=mass)
    ball = Ball(inertia=inertia)
    launch = launch_from(
        club, Delivery(speed=speed, attack=attack, shaft_lean=lean), Lie(name="any", friction=friction), ball=ball
    )
    assert math.isclose(
        ball.radius * launch.backspin / launch.speed,
        spin_to_speed(loft - lean, launch.angle, inertia),
        rel_tol=1e-9,
        abs_tol=1e-12,
    )
    assert math.isclose(spin_to_speed(loft - lean, launch.angle, 0.4), 2.5 * math.sin(loft - lean - launch.angle))


@given(
    loft=st.floats(0.3, 1.1), attack=st.floats(-0.2, 0.05), speed=st.floats(2.0, 30.0), friction=st.floats(0.02, 1.0)
)
def test_agrees_with_the_plane_closed_form(loft: float, attack: float, speed: float, friction: float) -> None:
    """The vector impact, used in the face's frame, against speeds along and square to the face written by hand."""
    club = Club(name="any", loft=loft, bounce=0.1, head_mass=0.3)
    launch = launch_from(club, Delivery(speed=speed, attack=attack, shaft_lean=0.0), Lie(name="any", friction=friction))
    approach = speed * math.cos(loft - attack)
    expected = plane_strike(
        speed, attack, loft, face_restitution(approach), friction, 0.145, BALL.mass / 0.3, BALL.radius, BALL.inertia
    )
    assert np.allclose((launch.speed, launch.angle, launch.backspin), expected, rtol=1e-9)
    assert launch.direction == 0.0
    assert abs(launch.sidespin) < 1e-9


def test_gripping_speeds_are_the_published_ones() -> None:
    """u_t = V sin(spin loft)(1 + e_t)/(7/2 + m/M), u_n = V cos(spin loft)(1 + e)/(1 + m/M), for a uniform sphere."""
    speed, loft, attack = 9.0, 0.8, -0.07
    spin_loft, q = loft - attack, BALL.mass / 0.3
    along = speed * math.sin(spin_loft) * 1.145 / (3.5 + q)
    square = speed * math.cos(spin_loft) * (1 + face_restitution(speed * math.cos(spin_loft))) / (1 + q)
    club = Club(name="any", loft=loft, bounce=0.1, head_mass=0.3)
    launch = launch_from(club, Delivery(speed=speed, attack=attack, shaft_lean=0.0), Lie(name="grips", friction=2.0))
    assert math.isclose(launch.speed, math.hypot(along, square), rel_tol=1e-12)
    assert math.isclose(launch.angle, loft - math.atan2(along, square), rel_tol=1e-12)
    assert math.isclose(launch.backspin, 2.5 * along / BALL.radius, rel_tol=1e-12)


def test_a_clean_lie_spins_more_and_launches_lower_than_a_wet_one() -> None:
    for name in ("sand wedge", "lob wedge"):
        clean, wet, rough = (
            launch_from(BAG[name], Delivery(speed=9.0), LIES[lie]) for lie in ("tight", "wet", "rough")
        )
        assert clean.backspin > wet.backspin > rough.backspin
        assert clean.angle < wet.angle < rough.angle


def test_grass_between_takes_ball_speed() -> None:
    bare = Lie(name="bare", friction=0.2)
    cushioned = replace(bare, cushion=0.1)
    assert (
        launch_from(WEDGE, Delivery(speed=9.0), cushioned).speed < launch_from(WEDGE, Delivery(speed=9.0), bare).speed
    )


def test_same_motion_more_loft_shorter_higher_and_more_spin() -> None:
    launches = [launch_from(club, Delivery(speed=8.0), LIES["tight"]) for club in BAG.values()]
    assert np.all(np.diff([launch.angle for launch in launches]) > 0)
    assert np.all(np.diff([launch.speed for launch in launches]) < 0)
    assert np.all(np.diff([launch.backspin for launch in launches]) > 0)


def test_spin_goes_with_ball_speed() -> None:
    """The share is constant but for the slow fall of restitution with speed."""
    launches = launch_from(BAG["lob wedge"], Delivery(speed=np.array([6.0, 12.0, 24.0])), LIES["wet"])
    assert np.ptp(launches.backspin / launches.speed) < 1e-9 * launches.backspin[0]


def test_lean_takes_loft_off_and_opening_adds_it() -> None:
    square = Delivery(speed=8.0, shaft_lean=0.0)
    assert math.isclose(delivered_loft(WEDGE, square), WEDGE.loft, rel_tol=1e-12)
    assert math.isclose(delivered_loft(WEDGE, replace(square, shaft_lean=0.1)), WEDGE.loft - 0.1, rel_tol=1e-9)
    assert delivered_loft(WEDGE, replace(square, face_opening=0.35)) > WEDGE.loft + 0.1
    assert np.all(np.diff(delivered_loft(WEDGE, replace(square, shaft_lean=np.array([0.0, 0.1, 0.2])))) < 0)


def test_open_face_starts_right_and_curves_right() -> None:
    opened = launch_from(WEDGE, Delivery(speed=9.0, face_opening=0.3), LIES["fairway"])
    closed = launch_from(WEDGE, Delivery(speed=9.0, face_opening=-0.3), LIES["fairway"])
    assert opened.direction < 0 < closed.direction
    assert opened.sidespin < 0 < closed.sidespin


def test_face_normal_is_a_unit_vector_turned_about_the_shaft() -> None:
    loft, lean, lie_angle = 0.9, 0.12, math.radians(64)
    for opening in (-0.4, 0.0, 0.3, 0.9):
        normal = np.array(face_normal(loft, lean, opening, lie_angle))
        assert math.isclose(np.linalg.norm(normal), 1.0, rel_tol=1e-12)
        # the angle to the shaft is what a turn about the shaft keeps
        shaft = np.array(
            [math.sin(lean) * math.sin(lie_angle), math.cos(lie_angle), math.cos(lean) * math.sin(lie_angle)]
        )
        assert math.isclose(normal @ shaft, math.sin(loft) * math.sin(lie_angle), rel_tol=1e-9)


def test_deliveries_broadcast() -> None:
    speeds, leans = np.array([6.0, 9.0, 12.0]), np.array([[0.0], [0.1]])
    launches = launch_from(WEDGE, Delivery(speed=speeds, shaft_lean=leans), LIES["tight"])
    assert np.shape(launches.speed) == (2, 3)
    alone = launch_from(WEDGE, Delivery(speed=9.0, shaft_lean=0.1), LIES["tight"])
    assert (launches.speed[1, 1], launches.angle[1, 1], launches.backspin[1, 1]) == (
        alone.speed,
        alone.angle,
        alone.backspin,
    )


def test_bad_restitution_is_named() -> None:
    with pytest.raises(ValueError, match="tangential_restitution is 2"):
        launch_from(WEDGE, Delivery(speed=9.0), LIES["tight"], tangential_restitution=2.0)
