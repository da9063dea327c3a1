"""The strike: the identity that binds spin to launch, the plane's closed form, lies, lean and an open face."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from golfphys import BAG, LIES, Ball, Club, Delivery, Lie
from golfphys.formulas.strike import face_normal, plane_strike, spin_to_speed
from golfphys.physics.club import TOUR_ERRORS, StrikeErrors
from golfphys.physics.strike import Contact, delivered_loft, deviations, face_restitution, launch_from, strike

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
def test_spin_is_bound_to_launch(loft, lean, attack, speed, friction, mass, inertia):
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


def test_grass_between_takes_ball_speed() -> None:
    bare = Lie(name="bare", friction=0.2)
    cushioned = replace(bare, cushion=0.1)
    assert (
        launch_from(WEDGE, Delivery(speed=9.0), cushioned).speed < launch_from(WEDGE, Delivery(speed=9.0), bare).speed
    )


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


# --- errors at the strike --------------------------------------------------------------------------------------------
SWING = Delivery(speed=8.0)


def normals(n: int, seed: int = 4) -> np.ndarray:
    return np.random.default_rng(seed).standard_normal((6, n))


def shares(club: Club, lie: Lie, delivery: Delivery = SWING, errors: StrikeErrors = TOUR_ERRORS) -> tuple[float, float]:
    contact = strike(club, delivery, lie, normals(4000), errors).contact
    return float(np.mean(contact == Contact.HEAVY)), float(np.mean(contact == Contact.THIN))


@pytest.mark.parametrize("lie", ["tight", "fairway", "wet", "light rough", "rough"])
@pytest.mark.parametrize("club", list(BAG))
def test_without_errors_the_strike_is_the_clean_one(club: str, lie: str) -> None:
    struck = strike(BAG[club], SWING, LIES[lie], np.zeros(6), TOUR_ERRORS)
    clean = launch_from(BAG[club], SWING, LIES[lie])
    assert struck.contact == Contact.CLEAN
    assert struck.speed_kept == 1.0
    assert (struck.launch.speed, struck.launch.angle, struck.launch.backspin) == (
        clean.speed,
        clean.angle,
        clean.backspin,
    )
    assert struck.launch.direction == clean.direction == 0.0


def test_too_low_is_heavy_and_slow_and_too_high_is_thin_low_fast_and_without_spin() -> None:
    z = np.zeros((6, 3))
    z[5] = np.array([-0.006, 0.0, 0.010]) / TOUR_ERRORS.height
    struck = strike(BAG["lob wedge"], SWING, LIES["tight"], z, TOUR_ERRORS)
    assert struck.contact.tolist() == [Contact.HEAVY, Contact.CLEAN, Contact.THIN]
    heavy, clean, thin = np.asarray(struck.launch.speed)
    assert heavy < 0.8 * clean < 0.8 * thin
    assert struck.launch.angle[2] < 0.6 * struck.launch.angle[1]
    assert struck.launch.backspin[2] < 0.75 * struck.launch.backspin[1]


def test_a_low_point_too_far_back_is_heavy() -> None:
    z = np.zeros((6, 2))
    z[4] = np.array([0.0, -0.05]) / TOUR_ERRORS.low_point
    steep = replace(SWING, attack=math.radians(-8.0), shaft_lean=math.radians(12.0))
    assert strike(WEDGE, steep, LIES["tight"], z, TOUR_ERRORS).contact.tolist() == [Contact.CLEAN, Contact.HEAVY]
    assert strike(WEDGE, SWING, LIES["fairway"], z, TOUR_ERRORS).contact.tolist() == [Contact.CLEAN, Contact.CLEAN]


def test_the_launch_is_continuous_from_heavy_to_thin() -> None:
    z = np.zeros((6, 4001))
    z[5] = np.linspace(-4.0, 6.0, 4001)
    launch = strike(WEDGE, SWING, LIES["tight"], z, TOUR_ERRORS).launch
    for values in (launch.speed, launch.angle, launch.backspin):
        assert np.max(np.abs(np.diff(values))) < 0.02 * np.ptp(values)


def test_lies_and_swings_that_err_more() -> None:
    lob = BAG["lob wedge"]
    tight, fairway, wet = (sum(shares(lob, LIES[name])) for name in ("tight", "fairway", "wet"))
    assert tight > 1.2 * fairway
    assert shares(lob, LIES["wet"])[0] > shares(lob, replace(LIES["wet"], give=0.3))[0]
    assert wet > fairway
    assert shares(lob, LIES["tight"])[1] > 3 * shares(BAG["8-iron"], LIES["tight"])[1]
    longer = replace(SWING, speed=16.0)
    assert sum(shares(lob, LIES["fairway"], longer)) > sum(shares(lob, LIES["fairway"]))


def test_slope_of_the_lie_turns_the_launch() -> None:
    level, up, down, side = (
        strike(WEDGE, SWING, replace(LIES["fairway"], **slope), np.zeros(6), TOUR_ERRORS).launch
        for slope in ({}, {"slope_along": 0.08}, {"slope_along": -0.08}, {"slope_across": 0.08})
    )
    assert up.angle == pytest.approx(level.angle + 0.08)
    assert down.angle == pytest.approx(level.angle - 0.08)
    assert up.speed == pytest.approx(level.speed)
    assert up.backspin == pytest.approx(level.backspin)
    # the ground falls to the left: the ball above a right-handed player's feet starts left
    assert side.direction == pytest.approx(math.atan(math.tan(level.angle) * math.sin(0.08)))
    assert launch_from(WEDGE, SWING, replace(LIES["fairway"], slope_along=0.08)).angle == up.angle


def test_compiled_and_interpreted_strikes_agree() -> None:
    z = normals(50)
    together = strike(WEDGE, SWING, LIES["rough"], z, TOUR_ERRORS)
    for i in range(z.shape[1]):
        alone = strike(WEDGE, SWING, LIES["rough"], z[:, i], TOUR_ERRORS)
        assert together.launch.speed[i] == pytest.approx(alone.launch.speed, rel=1e-12)
        assert together.launch.angle[i] == pytest.approx(alone.launch.angle, rel=1e-12, abs=1e-12)
        assert together.contact[i] == alone.contact


def test_everything_broadcasts() -> None:
    club = replace(WEDGE, loft=np.array([[0.8], [0.9]]))
    swing = replace(SWING, speed=np.array([6.0, 9.0, 12.0]))
    lie = replace(LIES["fairway"], friction=np.array([[0.3], [0.4]]))
    errors = replace(TOUR_ERRORS, height=np.array([[0.002], [0.003]]))
    struck = strike(club, swing, lie, np.zeros((6, 2, 1)), errors)
    assert struck.contact.shape == np.shape(struck.launch.speed) == (2, 3)
    with pytest.raises(ValueError, match=r"z has shape \(5, 2\)"):
        deviations(8.0, LIES["fairway"], np.zeros((5, 2)), TOUR_ERRORS)
