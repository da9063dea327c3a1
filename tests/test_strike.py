"""The strike, the sole and the room for the low point; players by level, and draws of all that was not measured."""

import math
from dataclasses import replace

import numpy as np
import pytest
from conftest import floats
from hypothesis import assume, given

from golfphys import BAG, LIES, Ball, Club, Delivery, Green, Lie, LinearTurf, Turf, assumed, stated
from golfphys.formulas import impact
from golfphys.formulas.impact import bounce_left, face_normal, plane_strike, ploughed, sole_room, spin_to_speed
from golfphys.physics.club import CLUB_PLAYER, OPTIONS, PUTTER, TOUR_ERRORS, TOUR_PLAYER, Player, StrikeErrors
from golfphys.physics.green import AROUND
from golfphys.physics.strike import Contact, delivered_loft, face_restitution, launch_from, low_point_window, strike

BALL = Ball()
WEDGE = BAG["sand wedge"]


SWUNG = floats(loft=(0.3, 1.1), attack=(-0.2, 0.05), speed=(2.0, 30.0), friction=(0.02, 1.0))


@given(**SWUNG, **floats(lean=(-0.1, 0.3), mass=(0.2, 0.4), inertia=(0.36, 0.44)))
def test_spin_is_bound_to_launch(loft, lean, attack, speed, friction, mass, inertia):
    """r w / u = sin(delivered loft - launch) / k for every central impact from rest, gripping or slipping."""
    club, ball = Club(name="any", loft=loft, bounce=0.1, head_mass=mass), Ball(inertia=inertia)
    swing = Delivery(speed=speed, attack=attack, shaft_lean=lean)
    launch = launch_from(club, swing, Lie(name="any", friction=friction), ball=ball)
    ratio = ball.radius * launch.backspin / launch.speed
    assert math.isclose(ratio, spin_to_speed(loft - lean, launch.angle, inertia), rel_tol=1e-9, abs_tol=1e-12)
    assert math.isclose(spin_to_speed(loft - lean, launch.angle, 0.4), 2.5 * math.sin(loft - lean - launch.angle))


@given(**SWUNG)
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


def test_lean_takes_loft_off_opening_adds_it_and_sends_the_ball_right_and_grass_takes_speed() -> None:
    square = Delivery(speed=8.0, shaft_lean=0.0)
    assert math.isclose(delivered_loft(WEDGE, square), WEDGE.loft, rel_tol=1e-12)
    assert math.isclose(delivered_loft(WEDGE, replace(square, shaft_lean=0.1)), WEDGE.loft - 0.1, rel_tol=1e-9)
    assert delivered_loft(WEDGE, replace(square, face_opening=0.35)) > WEDGE.loft + 0.1
    assert np.all(np.diff(delivered_loft(WEDGE, replace(square, shaft_lean=np.array([0.0, 0.1, 0.2])))) < 0)
    opened, closed = (launch_from(WEDGE, Delivery(speed=9.0, face_opening=by), LIES["fairway"]) for by in (0.3, -0.3))
    assert opened.direction < 0 < closed.direction
    assert opened.sidespin < 0 < closed.sidespin
    bare = Lie(name="bare", friction=0.2)
    assert launch_from(WEDGE, square, replace(bare, cushion=0.1)).speed < launch_from(WEDGE, square, bare).speed


def test_face_normal_is_a_unit_vector_turned_about_the_shaft() -> None:
    loft, lean, lie_angle = 0.9, 0.12, math.radians(64)
    for opening in (-0.4, 0.0, 0.3, 0.9):
        normal = np.array(face_normal(loft, lean, opening, lie_angle))
        assert math.isclose(np.linalg.norm(normal), 1.0, rel_tol=1e-12)
        # the angle to the shaft is what a turn about the shaft keeps
        sin = math.sin(lie_angle)
        shaft = np.array([math.sin(lean) * sin, math.cos(lie_angle), math.cos(lean) * sin])
        assert math.isclose(normal @ shaft, math.sin(loft) * math.sin(lie_angle), rel_tol=1e-9)


SWING = Delivery(speed=8.0)


def normals(n: int, seed: int = 4) -> np.ndarray:
    return np.random.default_rng(seed).standard_normal((6, n))


def shares(club: Club, lie: Lie, delivery: Delivery = SWING, errors: StrikeErrors = TOUR_ERRORS) -> tuple[float, float]:
    contact = strike(club, delivery, lie, normals(4000), errors).contact
    return float(np.mean(contact == Contact.HEAVY)), float(np.mean(contact == Contact.THIN))


@pytest.mark.parametrize("club", BAG)
def test_without_errors_the_strike_is_the_clean_one(club: str) -> None:
    for lie in LIES.values():
        struck, clean = strike(BAG[club], SWING, lie, np.zeros(6), TOUR_ERRORS), launch_from(BAG[club], SWING, lie)
        assert (struck.contact, struck.speed_kept, clean.direction) == (Contact.CLEAN, 1.0, 0.0), lie.name
        assert struck.launch == clean


def test_too_low_or_too_far_back_is_heavy_and_slow_and_too_high_is_thin_low_fast_and_without_spin() -> None:
    z = np.zeros((6, 3))
    z[5] = np.array([-0.006, 0.0, 0.010]) / TOUR_ERRORS.height
    struck = strike(BAG["lob wedge"], SWING, LIES["tight"], z, TOUR_ERRORS)
    assert struck.contact.tolist() == [Contact.HEAVY, Contact.CLEAN, Contact.THIN]
    heavy, clean, thin = np.asarray(struck.launch.speed)
    assert heavy < 0.8 * clean < 0.8 * thin
    assert struck.launch.angle[2] < 0.6 * struck.launch.angle[1]
    assert struck.launch.backspin[2] < 0.75 * struck.launch.backspin[1]
    back = np.zeros((6, 1))
    back[4] = -0.05 / TOUR_ERRORS.low_point
    steep = replace(SWING, attack=math.radians(-8.0), shaft_lean=math.radians(12.0))
    assert strike(WEDGE, steep, LIES["tight"], back, TOUR_ERRORS).contact == Contact.HEAVY
    assert strike(WEDGE, SWING, LIES["fairway"], back, TOUR_ERRORS).contact == Contact.CLEAN


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


def test_everything_broadcasts() -> None:
    club = replace(WEDGE, loft=np.array([[0.8], [0.9]]))
    swing = replace(SWING, speed=np.array([6.0, 9.0, 12.0]))
    lie = replace(LIES["fairway"], friction=np.array([[0.3], [0.4]]))
    errors = replace(TOUR_ERRORS, height=np.array([[0.002], [0.003]]))
    struck = strike(club, swing, lie, np.zeros((6, 2, 1)), errors)
    assert struck.contact.shape == np.shape(struck.launch.speed) == (2, 3)


@given(**floats(bounce=(0.0, 0.25), lean=(-0.05, 0.25), opening=(-0.2, 0.8)))
def test_bounce_is_the_angle_of_the_turned_sole(bounce: float, lean: float, opening: float) -> None:
    lie_angle = math.radians(64)
    shaft = np.array([0.0, math.cos(lie_angle), math.sin(lie_angle)])
    skew = np.array([[0, -shaft[2], shaft[1]], [shaft[2], 0, -shaft[0]], [-shaft[1], shaft[0], 0]])
    about_shaft = np.eye(3) - math.sin(opening) * skew + (1 - math.cos(opening)) * skew @ skew
    about_left = np.array([[math.cos(lean), 0, math.sin(lean)], [0, 1, 0], [-math.sin(lean), 0, math.cos(lean)]])
    normal = about_left @ about_shaft @ np.array([-math.sin(bounce), 0.0, math.cos(bounce)])
    assert math.isclose(bounce_left(bounce, lean, opening, lie_angle), math.atan(-normal[0] / normal[2]), abs_tol=1e-12)


@given(
    **floats(low_point=(0.0, 0.3), bounce=(-0.1, 0.25), loft=(0.3, 1.1)),
    **floats(give=(0.2, 1.0), height=(0.0, 0.015), aim=(0.0, 0.9)),
)
def test_window_is_where_the_drawn_arc_neither_digs_nor_thins(low_point, bounce, loft, give, height, aim):
    arc, width = 1.5, 0.022
    brush, depth = sole_room(bounce, width, give)
    reach = BALL.radius * (1 - math.sin(loft)) + height
    start = aim * reach
    dig, thin = impact.low_point_window(low_point, arc, start, depth, reach)
    # where the bottom of the arc just grazes the depth allowed, points cannot tell digging from not
    assume(abs(low_point**2 / (2 * arc) - start - depth) > 1e-5)
    assert depth == pytest.approx(brush * (1 - give) / give)

    def fault(error: float) -> str:
        lowest = low_point + error
        before = np.linspace(-0.6, 0.0, 6001)
        edge = start + ((before - lowest) ** 2 - low_point**2) / (2 * arc)
        at_ball = edge[-1]
        return "dig" if edge.min() < -depth else "thin" if at_ball > reach else ""

    if thin <= dig:
        assert fault(0.0) in {"thin", "dig"} or thin == dig
        return
    inside = np.linspace(dig, thin, 7)[1:-1]
    assert all(fault(float(error)) == "" for error in inside)
    assert fault(thin + 2e-3) == "thin"
    assert fault(dig - 2e-3) in {"dig", "thin"}


def test_bounce_ball_height_and_firm_soil_give_room_before_it_digs() -> None:
    delivery = Delivery(speed=8.0, attack=-0.1, shaft_lean=0.05)
    for club in BAG.values():
        more = replace(club, bounce=club.bounce + 0.05)
        digs = [low_point_window(one, delivery, LIES["fairway"]).dig for one in (more, club)]
        assert digs[0] < digs[1]
    digs = [low_point_window(WEDGE, delivery, replace(LIES["fairway"], give=give)).dig for give in (0.2, 0.4, 0.7, 1.0)]
    assert digs == sorted(digs)
    rooms = [low_point_window(WEDGE, delivery, replace(LIES["fairway"], ball_height=0.002 * n)).room for n in range(5)]
    assert rooms == sorted(rooms)
    window = low_point_window(WEDGE, Delivery(speed=8.0, attack=-0.08), LIES["fairway"], arc_radius=1.5)
    assert math.isclose(window.low_point, 1.5 * math.sin(0.08), rel_tol=1e-12)


@given(**floats(edge=(-0.02, 0.004), slope=(-0.15, 0.05), depth=(0.0, 0.004)))
def test_area_ploughed_is_that_of_the_drawn_arc(edge: float, slope: float, depth: float) -> None:
    behind = np.linspace(-0.6, 0.0, 60001)
    height = edge + slope * behind + behind**2 / (2 * 1.5)
    drawn = np.trapezoid(np.maximum(0.0, -(height + depth)), behind)
    assert ploughed(edge, depth, slope, 1.5) == pytest.approx(drawn, rel=1e-4, abs=1e-8)


def test_edge_meets_the_ball_where_the_face_no_longer_does() -> None:
    face = (math.cos(0.9), 0.0, math.sin(0.9))
    reach = 0.002 + BALL.radius * (1 - face[2])
    assert impact.struck_normal(*face, reach - 1e-9, 0.002, BALL.radius) == face
    assert impact.struck_normal(*face, reach + 1e-9, 0.002, BALL.radius) == pytest.approx(face, abs=1e-6)
    assert impact.struck_normal(*face, 0.002 + BALL.radius, 0.002, BALL.radius) == pytest.approx((1.0, 0.0, 0.0))
    assert impact.struck_normal(*face, 0.5, 0.002, BALL.radius) == pytest.approx((0.0, 0.0, -1.0))


def test_mishits_by_level() -> None:
    """A tour mis-hits one chip in twenty or so from the fairway; a club player a quarter or so (practice)."""
    z = np.random.default_rng(3).standard_normal((6, 20000))
    shares = [
        np.mean(strike(BAG["sand wedge"], player.delivery, LIES["fairway"], z, player.errors).contact != Contact.CLEAN)
        for player in (TOUR_PLAYER, CLUB_PLAYER)
    ]
    assert 0.01 < shares[0] < 0.10
    assert 0.10 < shares[1] < 0.40
    tour, club = (assumed(GREEN, level=level, n=128).player.errors for level in ("tour", "club"))
    assert np.median(club.direction) > 1.5 * np.median(tour.direction)


def test_options_change_the_swing_by_geometry_alone_a_club_may_have_own_errors_and_a_putter_rolls() -> None:
    usual, errors = TOUR_PLAYER.delivery, TOUR_PLAYER.errors
    names = ("usual", "hands level", "face opened 20 degrees")
    lofts = [float(delivered_loft(WEDGE, OPTIONS[name].delivery(usual))) for name in names]
    assert lofts == sorted(lofts)
    assert math.isclose(lofts[1] - lofts[0], math.radians(6.0), rel_tol=1e-9)
    assert (OPTIONS["usual"].delivery(usual), OPTIONS["usual"].errors(errors)) == (usual, errors)
    wider = OPTIONS["hands level"].errors(errors)
    assert wider.height > errors.height
    assert wider.growth == errors.growth
    own = replace(TOUR_ERRORS, speed=0.08)
    player = Player(name="her", delivery=SWING, by_club={"lob wedge": own})
    assert player.errors_with("lob wedge") is own
    assert player.errors_with("8-iron") is TOUR_ERRORS
    z = np.random.default_rng(5).standard_normal((6, 5000))
    swing, errors = OPTIONS["putter"].delivery(TOUR_PLAYER.delivery), OPTIONS["putter"].errors(TOUR_PLAYER.errors)
    struck = strike(PUTTER, swing, LIES["fairway"], z, errors)
    assert np.all(struck.contact == Contact.CLEAN)
    assert np.degrees(np.quantile(struck.launch.angle, 0.99)) < 6.0


GREEN = Green.from_stimp(10.0, grade=0.02, fall_direction=0.5)


def test_what_is_not_given_is_drawn_and_ground_around_is_softer_slower_and_uncertain():
    draws = assumed(GREEN, n=64)
    assert draws.green.resistance == GREEN.resistance
    for drawn in (draws.green.turf.restitution, draws.player.delivery.shaft_lean, draws.lies["rough"].friction):
        assert np.std(drawn) > 0
    assert 0.3 < np.mean(draws.other) < 0.7
    assert draws.logged.stated == ("green",)
    known = assumed(GREEN, turf=Turf(restitution=0.4), n=16)
    assert known.green.turf == Turf(restitution=0.4)
    assert known.other_turf is None
    assert np.std(assumed(n=64).green.resistance.constant) > 0.005
    draws = assumed(GREEN, n=256)
    assert float(np.min(draws.aerodynamics.lift_scale)) >= 0.0
    green = draws.green
    for name in AROUND:
        grass = draws.around[name]
        assert np.median(grass.turf.restitution) < np.median(green.turf.restitution)
        assert np.median(grass.turf.tilt) > np.median(green.turf.tilt)
        assert np.median(grass.resistance.constant) > green.resistance.constant
        assert np.std(grass.turf.restitution / green.turf.restitution) > 0.05
    assert stated(Green.from_stimp(10.0, turf=LinearTurf())).around["fringe"].turf.restitution < 0.4


def test_draws_stay_in_step_are_turned_together_and_have_a_median_slope_as_vectors():
    draws = assumed(n=32)
    some = draws.at(np.array([3, 3, 7]))
    assert len(some) == 3
    for of in (lambda d: d.green.resistance.constant, lambda d: d.lies["wet"].friction, lambda d: d.other):
        assert of(some).tolist() == of(draws)[[3, 3, 7]].tolist()
    assert draws.one(7).green.resistance.constant == draws.green.resistance.constant[7]
    assert len(draws.few(8)) == 8
    assert draws.few(100) is draws
    draws = replace(assumed(GREEN, n=2), green=replace(GREEN, fall_direction=np.array([-np.pi + 0.1, np.pi - 0.1])))
    assert abs(abs(draws.median().green.fall_direction) - np.pi) < 1e-9
    assert np.allclose(draws.turned(0.3).green.fall_direction, draws.green.fall_direction - 0.3)
