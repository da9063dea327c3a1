"""Invented courses: their sheets show the truth they were made from, repeat exactly, and read back as sheets."""

import math
from dataclasses import replace
from datetime import datetime

import numpy as np
import pytest

from golfphys import CLUB_PLAYER, TOUR_PLAYER, ChipDesign, DropDesign, Green, Resistance, RolloutDesign, Station
from golfphys.core import constants
from golfphys.invented import CourseTruth, FilmDesign, FilmedRoll, make_chips, make_drops, make_films, make_rollouts
from golfphys.physics import roll
from golfphys.physics.bounce import rebound_height
from golfphys.physics.club import ERROR_KINDS, StrikeErrors
from golfphys.physics.green import Turf
from golfphys.sheets.dictionary import kind_of

GREEN = Green.from_stimp(10.0, grade=0.02, fall_direction=math.radians(70))
EXACT = CourseTruth(greens={"low": GREEN}, distance_scatter=0.0, direction_scatter=0.0)
PLAIN = RolloutDesign(headings=(0.3, 1.9, 4.0), release_speeds=(1.2, 1.83), resolution=0.0)


@pytest.mark.parametrize(
    "resistance", [GREEN.resistance, Resistance(constant=0.07, linear=0.01, grain=0.1, grain_direction=1.0)]
)
def test_without_scatter_a_roll_rests_where_physics_puts_it(resistance):
    green = Green(resistance=resistance, grade=0.02, fall_direction=1.2)
    truth = CourseTruth(greens={"low": green}, distance_scatter=0.0, direction_scatter=0.0)
    rolls = make_rollouts(truth, PLAIN, 1).frame
    for line in rolls.itertuples():
        way = roll.path(line.release_speed, -line.heading, resistance, 0.02, 1.2)
        # rest point from distance and side, in the axes of the reference line
        drift = math.asin(line.side / line.distance)
        x, y = (line.distance * f(-line.heading + drift) for f in (math.cos, math.sin))
        assert math.hypot(x - way.x[-1], y - way.y[-1]) < 1e-4


def test_scatter_outliers_gaps_times_and_rounding_are_as_stated():
    level = {"low": Green.from_stimp(10.0)}
    design = RolloutDesign(headings=(0.0,), repeats=4000, resolution=0.0)
    rolls = make_rollouts(CourseTruth(greens=level, direction_scatter=0.01), design, 2).frame
    assert abs(rolls["distance"].std() / constants.ROLLOUT_SCATTER.value - 1) < 0.04
    assert abs(rolls["distance"].mean() - 3.048) < 0.006
    assert abs((rolls["side"] / rolls["distance"]).std() / 0.01 - 1) < 0.04
    grown = CourseTruth(greens=level, distance_scatter=0.0, distance_scatter_relative=0.05)
    assert abs(make_rollouts(grown, design, 2).frame["distance"].std() / (0.05 * 3.048) - 1) < 0.04
    design = {"repeats": 50, "outliers": 3, "side_share": 0.5, "resolution": 0.05, "release_speeds": (1.83,)}
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0)}, distance_scatter=0.001)
    rolls = make_rollouts(truth, RolloutDesign(**design, first_at=datetime(2025, 5, 6, 9)), 4).frame
    assert (rolls["distance"] < 2.5).sum() == 3
    assert 0.4 < rolls["side"].notna().mean() < 0.6
    np.testing.assert_allclose(rolls["distance"] / 0.05, (rolls["distance"] / 0.05).round(), atol=1e-9)
    assert rolls["measured_at"].iloc[-1] == datetime(2025, 5, 6, 12, 19)


STATIONS = (Station(spot="low", heading=0.4),)
FILM = FilmedRoll(name="putt", spot="low", kind="putt", heading=0.4, speed=2.4, topspin_share=0.1)
MAKERS = {
    "rollouts": lambda seed: make_rollouts(CourseTruth(greens={"low": GREEN}), PLAIN, seed).frame,
    "drops": lambda seed: make_drops(EXACT, DropDesign(timed_share=0.5), seed).frame,
    "films": lambda seed: make_films(EXACT, FilmDesign(rolls=(FILM,)), seed).frame,
    "chips": lambda seed: make_chips(EXACT, ChipDesign(stations=STATIONS, repeats=1), seed).frame,
}


@pytest.mark.parametrize("kind", MAKERS)
def test_a_seed_repeats_exactly_and_columns_are_those_of_a_reader(kind):
    first, again, other = MAKERS[kind](7), MAKERS[kind](7), MAKERS[kind](8)
    assert first.equals(again)
    assert not first.equals(other)
    expected = [name for name in kind_of(kind).quantities if name != "ramp_run"]
    assert list(first.columns) == ["row", *expected]
    assert first.equals(MAKERS[kind](np.random.default_rng(7)))


def test_drops_show_the_restitution_of_the_turf_less_the_grass():
    turf = Turf(restitution=0.5)
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0, turf=turf)})
    design = DropDesign(heights=(1.0, 2.0), restitution_scatter=0.0, height_scatter=0.0, time_scatter=0.0, repeats=1)
    drops = make_drops(truth, design, 1).frame
    expected = rebound_height(turf, np.array([1.0, 2.0])) - turf.hop_loss
    np.testing.assert_allclose(drops["rebound_height"], expected, atol=0.0051)
    timed = DropDesign(heights=(1.0,), restitution_scatter=0.0, time_scatter=0.0, timed_share=1.0, repeats=1)
    heard = make_drops(truth, timed, 1).frame
    assert 9.80665 * heard["first_flight"][0] ** 2 / 8 == pytest.approx(expected[0], abs=0.002)
    assert heard["second_flight"][0] < heard["first_flight"][0]


def errors_of(**sizes: float) -> StrikeErrors:
    return StrikeErrors(**{**dict.fromkeys(ERROR_KINDS, 0.0), **sizes})


def test_chips_go_where_they_are_aimed_and_scatter_as_the_player_errs():
    player = replace(TOUR_PLAYER, errors=errors_of())
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0)})
    exact = dict.fromkeys(("local_slope", "landing_scatter", "rest_scatter", "time_scatter"), 0.0)
    exact = ChipDesign(stations=STATIONS, lies=("fairway", "tight"), seen={}, repeats=3, **exact)
    chips = make_chips(truth, exact, 3, player=player).frame
    np.testing.assert_allclose(chips["carry"], chips["target_carry"], atol=0.03)
    assert chips.drop(columns=["measured_at", "date", "lie_slope", "hop_time"]).notna().all().all()
    assert (chips["first_hop"] > chips["carry"]).all()
    assert (chips["rest"] > chips["first_hop"]).all()
    assert set(chips["club"]) == {"8-iron", "pitching wedge", "sand wedge", "lob wedge"}
    assert set(chips["lie"]) == {"fairway", "tight"}
    faster = replace(TOUR_PLAYER, errors=errors_of(speed=0.05))
    wild = make_chips(truth, replace(exact, repeats=60), 3, player=faster).frame
    paced = np.log(wild["carry"] / wild["target_carry"])
    assert 0.09 < paced.std() < 0.16  # twice the error of the speed, and more of it in short chips


def test_mis_hits_come_from_the_geometry_and_some_are_noted():
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0)})
    design = ChipDesign(stations=STATIONS, clubs=("lob wedge",), lies=("tight",), repeats=60, mis_hits_noted=1.0)
    chips = make_chips(truth, design, 2, player=CLUB_PLAYER).frame
    counts = chips["strike"].value_counts()
    assert 5 <= counts["thin"] <= 30
    assert 5 <= counts["heavy"] <= 30
    short = (chips["carry"] / chips["target_carry"])[chips["strike"] == "heavy"]
    assert short.median() < 0.8
    silent = make_chips(truth, replace(design, mis_hits_noted=0.0), 2, player=CLUB_PLAYER).frame
    assert (silent["strike"] == "").all()


def test_a_ladder_takes_every_club_from_every_lie_up_the_distances():
    truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    design = ChipDesign(
        stations=(Station(spot="home-left", heading=0.0),), ladder=True, target_low=3.0, target_high=12.0, repeats=5
    )
    chips = make_chips(truth, design, 1).frame
    for _, own in chips.groupby("club"):
        assert sorted(own["target_carry"]) == list(range(3, 13))
        assert sorted(own.loc[own["lie"] == "fairway", "target_carry"]) == [3.0, 5.0, 7.0, 9.0, 11.0]
