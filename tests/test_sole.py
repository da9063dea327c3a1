"""The sole: bounce left by a delivery, and the room for the swing's low point, against the arc drawn out in points."""

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from golfphys import BAG, LIES, Ball, Delivery
from golfphys.formulas.sole import bounce_left, carried_edge, ploughed, sole_room, struck_normal
from golfphys.formulas.sole import low_point_window as formula
from golfphys.physics.sole import low_point_window

WEDGE = BAG["sand wedge"]
RADIUS = Ball().radius


@given(bounce=st.floats(0.0, 0.25), lean=st.floats(-0.05, 0.25), opening=st.floats(-0.2, 0.8))
def test_bounce_is_the_angle_of_the_turned_sole(bounce: float, lean: float, opening: float) -> None:
    lie_angle = math.radians(64)
    shaft = np.array([0.0, math.cos(lie_angle), math.sin(lie_angle)])
    skew = np.array([[0, -shaft[2], shaft[1]], [shaft[2], 0, -shaft[0]], [-shaft[1], shaft[0], 0]])
    about_shaft = np.eye(3) - math.sin(opening) * skew + (1 - math.cos(opening)) * skew @ skew
    about_left = np.array([[math.cos(lean), 0, math.sin(lean)], [0, 1, 0], [-math.sin(lean), 0, math.cos(lean)]])
    normal = about_left @ about_shaft @ np.array([-math.sin(bounce), 0.0, math.cos(bounce)])
    assert math.isclose(bounce_left(bounce, lean, opening, lie_angle), math.atan(-normal[0] / normal[2]), abs_tol=1e-12)


def test_attack_and_low_point() -> None:
    window = low_point_window(WEDGE, Delivery(speed=8.0, attack=-0.08), LIES["fairway"], arc_radius=1.5)
    assert math.isclose(window.low_point, 1.5 * math.sin(0.08), rel_tol=1e-12)
    with pytest.raises(ValueError, match="arc_radius"):
        low_point_window(WEDGE, Delivery(speed=8.0), LIES["tight"], arc_radius=-1.0)


@given(
    low_point=st.floats(0.0, 0.3),
    bounce=st.floats(-0.1, 0.25),
    loft=st.floats(0.3, 1.1),
    give=st.floats(0.2, 1.0),
    height=st.floats(0.0, 0.015),
    aim=st.floats(0.0, 0.9),
)
def test_window_is_where_the_drawn_arc_neither_digs_nor_thins(low_point, bounce, loft, give, height, aim):
    arc, width = 1.5, 0.022
    brush, depth = sole_room(bounce, width, give)
    reach = RADIUS * (1 - math.sin(loft)) + height
    start = aim * reach
    dig, thin = formula(low_point, arc, start, depth, reach)
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


def test_steep_and_leaning_leaves_less_room_behind() -> None:
    lie = LIES["tight"]
    easy = low_point_window(WEDGE, Delivery(speed=8.0, attack=-0.09, shaft_lean=0.03), lie)
    leaning = low_point_window(WEDGE, Delivery(speed=8.0, attack=-0.09, shaft_lean=0.16), lie)
    steep = low_point_window(WEDGE, Delivery(speed=8.0, attack=-0.16, shaft_lean=0.16), lie)
    assert easy.dig < leaning.dig < steep.dig < 0
    assert easy.fits
    assert leaning.fits


def test_bounce_ball_height_and_firm_soil_give_room_before_it_digs() -> None:
    delivery = Delivery(speed=8.0, attack=-0.1, shaft_lean=0.05)
    for club in BAG.values():
        more = replace(club, bounce=club.bounce + 0.05)
        assert (
            low_point_window(more, delivery, LIES["fairway"]).dig
            < low_point_window(club, delivery, LIES["fairway"]).dig
        )
    digs = [low_point_window(WEDGE, delivery, replace(LIES["fairway"], give=give)).dig for give in (0.2, 0.4, 0.7, 1.0)]
    assert digs == sorted(digs)
    rooms = [low_point_window(WEDGE, delivery, replace(LIES["fairway"], ball_height=0.002 * n)).room for n in range(5)]
    assert rooms == sorted(rooms)


@given(edge=st.floats(-0.02, 0.004), slope=st.floats(-0.15, 0.05), depth=st.floats(0.0, 0.004))
def test_area_ploughed_is_that_of_the_drawn_arc(edge: float, slope: float, depth: float) -> None:
    behind = np.linspace(-0.6, 0.0, 60001)
    height = edge + slope * behind + behind**2 / (2 * 1.5)
    drawn = np.trapezoid(np.maximum(0.0, -(height + depth)), behind)
    assert ploughed(edge, depth, slope, 1.5) == pytest.approx(drawn, rel=1e-4, abs=1e-8)


def test_soil_carries_the_edge_without_a_jump() -> None:
    edges = np.linspace(-0.01, 0.01, 4001)
    carried = np.array([carried_edge(float(edge), 0.003, 0.002) for edge in edges])
    assert np.all(np.diff(carried) > 0)
    assert np.max(np.abs(np.diff(carried))) < 2.0 * np.diff(edges)[0]
    assert carried_edge(-0.002, 0.003, 0.002) == 0.0
    assert carried_edge(0.004, 0.003, 0.002) == 0.004


def test_edge_meets_the_ball_where_the_face_no_longer_does() -> None:
    face = (math.cos(0.9), 0.0, math.sin(0.9))
    reach = 0.002 + RADIUS * (1 - face[2])
    assert struck_normal(*face, reach - 1e-9, 0.002, RADIUS) == face
    assert struck_normal(*face, reach + 1e-9, 0.002, RADIUS) == pytest.approx(face, abs=1e-6)
    assert struck_normal(*face, 0.002 + RADIUS, 0.002, RADIUS) == pytest.approx((1.0, 0.0, 0.0))
    assert struck_normal(*face, 0.5, 0.002, RADIUS) == pytest.approx((0.0, 0.0, -1.0))
