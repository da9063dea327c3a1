"""Players by level, what they can play at the ball, and draws of all that was not measured."""

import math
from dataclasses import replace

import numpy as np
import pytest
from conftest import refused

from golfphys import Draws, Green, LinearTurf, Turf, assumed, stated
from golfphys.physics.club import BAG, LIES, TOUR_ERRORS, Club, Delivery, Launch, Lie, Player
from golfphys.physics.strike import Contact, delivered_loft, strike
from golfphys.physics.usual import AROUND, CLUB_PLAYER, OPTIONS, PUTTER, TOUR_PLAYER, Option


def test_mishits_by_level() -> None:
    """A tour mis-hits one chip in twenty or so from the fairway; a club player a quarter or so (practice)."""
    z = np.random.default_rng(3).standard_normal((6, 20000))
    shares = [
        np.mean(strike(BAG["sand wedge"], player.delivery, LIES["fairway"], z, player.errors).contact != Contact.CLEAN)
        for player in (TOUR_PLAYER, CLUB_PLAYER)
    ]
    assert 0.01 < shares[0] < 0.10
    assert 0.10 < shares[1] < 0.40


def test_options_change_the_swing_by_geometry_alone() -> None:
    wedge, usual = BAG["sand wedge"], TOUR_PLAYER.delivery
    lofts = [
        float(delivered_loft(wedge, OPTIONS[name].delivery(usual)))
        for name in ("usual", "hands level", "face opened 20 degrees")
    ]
    assert lofts == sorted(lofts)
    assert math.isclose(lofts[1] - lofts[0], math.radians(6.0), rel_tol=1e-9)
    assert OPTIONS["usual"].delivery(usual) == usual
    assert OPTIONS["usual"].errors(TOUR_PLAYER.errors) == TOUR_PLAYER.errors
    wider = OPTIONS["hands level"].errors(TOUR_PLAYER.errors)
    assert wider.height > TOUR_PLAYER.errors.height
    assert wider.growth == TOUR_PLAYER.errors.growth


def test_a_putter_rolls_the_ball_and_mishits_nothing() -> None:
    z = np.random.default_rng(5).standard_normal((6, 5000))
    option = OPTIONS["putter"]
    struck = strike(
        PUTTER, option.delivery(TOUR_PLAYER.delivery), LIES["fairway"], z, option.errors(TOUR_PLAYER.errors)
    )
    assert np.all(struck.contact == Contact.CLEAN)
    assert np.degrees(np.quantile(struck.launch.angle, 0.99)) < 6.0


def test_bad_options_are_named() -> None:
    refused("Option opening is 20", lambda: Option(name="degrees", opening=20.0))


@pytest.mark.parametrize(
    ("make", "words"),
    [
        (lambda: Club(name="degrees", loft=56.0, bounce=0.1, head_mass=0.3), "Club loft is 56.0"),
        (lambda: Club(name="grams", loft=0.9, bounce=0.1, head_mass=300.0), "Club head_mass"),
        (lambda: Lie(name="sticky", friction=9.0), "Lie friction"),
        (lambda: Delivery(speed=-1.0), "Delivery speed"),
        (lambda: Delivery(speed=9.0, attack=-4.0), "Delivery attack"),
        (lambda: Launch(10.0, 45.0, 300.0), "Launch angle is 45.0"),
        (lambda: Launch(math.nan, 0.5, 300.0), "Launch speed is nan"),
    ],
)
def test_bad_values_are_named(make: object, words: str) -> None:
    assert callable(make)
    refused(words, make)


def test_a_club_has_its_own_errors_where_they_are_known() -> None:
    own = replace(TOUR_ERRORS, speed=0.08)
    player = Player(name="her", delivery=Delivery(speed=8.0), by_club={"lob wedge": own})
    assert player.errors_with("lob wedge") is own
    assert player.errors_with("8-iron") is TOUR_ERRORS


GREEN = Green.from_stimp(10.0, grade=0.02, fall_direction=0.5)


def test_what_is_not_given_is_drawn_and_what_is_given_is_not():
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


def test_a_club_player_is_looser_than_a_tour_player():
    tour, club = (assumed(GREEN, level=level, n=128).player.errors for level in ("tour", "club"))
    assert np.median(club.direction) > 1.5 * np.median(tour.direction)


def test_ground_around_is_softer_and_slower_than_the_green_and_uncertain():
    draws = assumed(GREEN, n=256)
    green = draws.green
    for name in AROUND:
        grass = draws.around[name]
        assert np.median(grass.turf.restitution) < np.median(green.turf.restitution)
        assert np.median(grass.turf.tilt) > np.median(green.turf.tilt)
        assert np.median(grass.resistance.constant) > green.resistance.constant
        assert np.std(grass.turf.restitution / green.turf.restitution) > 0.05
    assert stated(Green.from_stimp(10.0, turf=LinearTurf())).around["fringe"].turf.restitution < 0.4


def test_draws_stay_in_step():
    draws = assumed(n=32)
    some = draws.at(np.array([3, 3, 7]))
    assert len(some) == 3
    for of in (lambda d: d.green.resistance.constant, lambda d: d.lies["wet"].friction, lambda d: d.other):
        assert of(some).tolist() == of(draws)[[3, 3, 7]].tolist()
    assert draws.one(7).green.resistance.constant == draws.green.resistance.constant[7]
    assert len(draws.few(8)) == 8
    assert draws.few(100) is draws


def test_the_median_averages_slopes_as_vectors_and_turning_moves_every_direction():
    draws = replace(assumed(GREEN, n=2), green=replace(GREEN, fall_direction=np.array([-np.pi + 0.1, np.pi - 0.1])))
    assert abs(abs(draws.median().green.fall_direction) - np.pi) < 1e-9
    turned = draws.turned(0.3)
    assert np.allclose(turned.green.fall_direction, draws.green.fall_direction - 0.3)


def test_draws_that_do_not_fit_are_refused_in_words():
    draws = assumed(GREEN, n=4)
    refused("different length", lambda: replace(draws, local_slope=np.array([0.01, 0.02])))
    refused("not finite in local_slope", lambda: replace(draws, local_slope=np.array([0.01, 0.02, np.nan, 0.0])))
    refused("expected one of tour, club", lambda: assumed(GREEN, level="county"))
    assert isinstance(draws, Draws)
