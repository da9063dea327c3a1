"""Draws: aligned, thinned, turned, and never sure of what was not measured."""

from dataclasses import replace

import numpy as np
import pytest

from golfphys import Draws, Green, LinearTurf, Turf, assumed, stated
from golfphys.physics.usual import AROUND

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
    with pytest.raises(ValueError, match="different length"):
        replace(draws, local_slope=np.array([0.01, 0.02]))
    with pytest.raises(ValueError, match="not finite in local_slope"):
        replace(draws, local_slope=np.array([0.01, 0.02, np.nan, 0.0]))
    with pytest.raises(ValueError, match="expected one of tour, club"):
        assumed(GREEN, level="county")
    assert isinstance(draws, Draws)
