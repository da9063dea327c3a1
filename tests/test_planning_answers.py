"""An answer says what its numbers say: what leads, by how much and why, where balls end, what was not measured."""

import datetime
import math
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

from golfphys import assumed, plots, stated
from golfphys.physics.draws import Logged
from golfphys.physics.flight import Air
from golfphys.physics.green import Green, Resistance
from golfphys.planning import (
    USUAL,
    Change,
    Conditions,
    Effort,
    NextMeasurement,
    Position,
    costs,
    make_carry_sheet,
    plan_chip,
    what_if,
)
from golfphys.planning.answer import Recommended, _common, _though
from golfphys.planning.position import PUTTING, Choice, choices_for
from golfphys.planning.search import aim, rests_as_meant
from golfphys.planning.strokes import score
from golfphys.planning.world import World, swings_for

SMALL = Effort(draws=32, landings=13, errors=8, last=64)
WEDGES = {"options": (USUAL,), "effort": SMALL}
HEADWIND = Conditions(air=Air(wind_speed=10.0, wind_direction=math.pi))


def drawn(feet=10.0, n=32, level="tour", **slope):
    return assumed(Green.from_stimp(feet, **slope), n=n, level=level)


def test_what_leads_is_told_from_the_strokes_that_stand_above_it():
    found = set()
    for feet, edge, pin in ((9.0, 5.9, 9.9), (11.0, 5.9, 9.9), (11.0, 4.0, 8.0), (10.0, 3.0, 14.0)):
        plan = plan_chip(drawn(feet, level="club"), to_edge=edge, to_pin=pin, effort=SMALL)
        (first, second), said = plan.table["strokes"].iloc[:2], plan.answer.verdict()
        on_paper = "strokes fewer on paper, but risks landings short of the green" in said
        assert on_paper == (first - second >= 0.02) or "Too close" in said
        assert "strokes over" not in said or first < second
        assert plan.answer.sentences()[0].endswith(f", {first:.2f} strokes.")
        assert "leaves more green before the landing spot" not in said or not plan.played[0].choice.putts
        found.add(on_paper)
    assert found == {True, False}


def test_balls_that_run_over_the_back_are_said_and_are_not_up_and_down():
    behind = Position(to_edge=3.0, to_pin=14.0, to_back=14.6, behind="rough")
    plan = plan_chip(drawn(11.0, grade=0.02, fall_direction=0.0), position=behind, effort=SMALL)
    assert "end beyond the back edge: how rough stops a ball was not measured" in " ".join(plan.cautions)
    assert "leave it below the hole" in " ".join(plan.cautions)
    for pick in plan.played[:3]:
        over = np.asarray(pick.shots.rest_x) > 14.6
        left = pick.outcome.strokes[over] - 1.0
        assert (pick.outcome.one_putt[over] <= np.maximum(2.0 - left, 0.0) + 0.1).all()
    world = World(draws=stated(Green.from_stimp(10.0)), position=behind)
    shots = replace(
        plan.played[0].shots, rest_x=np.array([[15.0]]), rest_y=np.array([[0.0]]), holed=np.array([[False]])
    )
    on_green = replace(world, position=replace(behind, to_back=16.0))
    assert score(shots, world).one_putt < score(shots, on_green).one_putt


def test_where_ground_was_measured_only_what_comes_down_elsewhere_is_called_not_measured():
    measured = Logged(rolls=20, drops=8, grounds=("fringe",), spots=("x",))
    draws = assumed(Green.from_stimp(12.0), n=32, logged=measured)
    position = Position(to_edge=4.0, to_pin=7.0, lie="rough", before=(("rough", 1.0), ("fringe", 4.0)))
    plan = plan_chip(draws, position=position, **WEDGES)
    assert np.mean(plan.played[0].shots.landing_x < 4.0) > 0.2
    assert "which was not measured and is taken to be softer" not in " ".join(plan.cautions)
    x = np.array([0.5, 2.0, 4.5])
    assert position.comes_down_on(["rough"], x).tolist() == [True, False, False]
    assert position.comes_down_on(["rough", "fringe"], x).tolist() == [True, True, False]


def test_in_a_headwind_no_swing_is_faster_than_the_one_that_carries_farthest():
    world = World(draws=drawn(), position=Position(to_edge=20.0, to_pin=35.0), conditions=HEADWIND)
    swings = swings_for(choices_for(world.draws, world.position, (USUAL,)), world)
    top = swings.speed[np.arange(len(swings))[:, None], swings.reached.argmax(axis=-1)]
    assert (top < swings.speed[:, -1:]).any()  # a ball that is hit harder comes back
    asked = swings.speed_for(np.full((len(swings), 1), 500.0))[..., 0]
    assert pytest.approx(top) == asked.T


def test_a_putt_stops_where_it_is_meant_to_whatever_ground_ends_on_its_way_and_is_told_so():
    world = World(draws=drawn(12.0, grade=0.03, fall_direction=0.0), position=Position(to_edge=6.0, to_pin=8.0))
    swings, spots = swings_for(choices_for(world.draws, world.position, (PUTTING,)), world), np.linspace(7.2, 9.6, 9)
    assert rests_as_meant(swings.centre, spots[None])[1][0] == pytest.approx(spots, abs=0.05)
    plan = plan_chip(world.draws, position=world.position, options=(PUTTING,), effort=SMALL)
    (row,) = plan.table.to_dict("records")
    assert f"Putter: roll it to stop {row['landing_m']:.1f} m away, were" in plan.answer.sentences()[0]
    assert f"no hole; it runs {row['roll_m']:.1f} m (" in plan.answer.sentences()[0]


def test_a_lie_that_is_wet_or_in_rough_is_not_tried_as_a_wet_mown_one():
    for lie, wetter in (("rough", False), ("wet", False), ("fairway", True)):
        plan = plan_chip(drawn(n=4), to_edge=3.0, to_pin=14.0, lie=lie, options=(USUAL,), effort=Effort(landings=9))
        assert ("lie wetter" in what_if(plan)["change"].tolist()) == wetter
        assert set(what_if(plan, [Change(name="wet", lie="wet")])["change"]) == {"wet"}


def test_what_it_costs_to_ignore_ground_names_no_putt_beyond_the_pin_where_none_stops():
    steep = stated(Green(resistance=Resistance(constant=0.05), grade=0.12, fall_direction=0.0))
    found = costs(plan_chip(steep, to_edge=2.0, to_pin=10.0, effort=SMALL))
    assert found["landing_m"].max() < 15.0


@pytest.mark.parametrize(
    ("ends", "words"),
    [
        ((-0.31, -0.28), "0.3 m short of the green"),
        ((-0.5, -0.3), "0.3 to 0.5 m short of the green"),
        ((-0.3, 1.2), "from 0.3 m short of the green to 1.2 m on"),
        ((-0.02, 0.02), "0.0 m onto the green"),
        ((1.2, 2.0), "1.2 to 2.0 m onto the green"),
    ],
)
def test_where_two_choices_land_is_said_once(ends, words):
    first, second = (Recommended(row={"onto_green_m": end, "within_1m": 0.3}) for end in ends)
    assert _common(first, second, "m") == f"Both land {words} and leave 30 % within 1 m."


def test_the_picture_from_the_side_ends_the_green_at_its_back():
    ends = []
    for back in (None, 14.5):
        position = Position(to_edge=3.0, to_pin=14.0, to_back=back)
        plan = plan_chip(drawn(n=1), position=position, options=(USUAL,), effort=Effort(landings=9, last=8))
        green = plots.plot_trajectories(plan, unit="m").collections[1]
        ends.append(green.get_paths()[0].get_extents().x1)
    assert ends[0] > 15.0
    assert ends[1] == pytest.approx(14.5)


def test_a_lie_that_is_not_in_her_log_is_said_on_a_sheet_and_one_choice_is_not_ahead_of_itself():
    draws = replace(drawn(n=4), logged=Logged(rolls=16, chips=40, lies={"fairway": 40}))
    few = {"spot": "low", "made_for": DAY, "distances": [14], "effort": Effort(draws=4, landings=9, last=8)}
    said = [" ".join(make_carry_sheet(draws, lie=lie, **few).cautions) for lie in ("rough", "fairway")]
    assert ["Lie 'rough': no chip in the log" in words for words in said] == [True, False]
    table = pd.DataFrame({"saved": [0.004]}, index=["ten chips"])
    alone = NextMeasurement(table=table, pick="9-iron", second="9-iron", lead_sd=0.0, at_most=0.005)
    assert alone.verdict.startswith("Knowing everything would save 0.005")


def test_in_feet_balls_that_end_far_off_are_counted_beyond_feet():
    plan = plan_chip(drawn(level="club"), to_edge=8.0, to_pin=14.0, lie="rough", effort=SMALL)
    for unit, far in (("m", "40 m"), ("ft", "131 ft")):
        assert f"end more than {far} beyond the pin" in " ".join(plan.said(unit)[1])


DAY = datetime.date(2025, 5, 6)
ODD = {
    "to_back is '20'": lambda: Position(to_edge=3.0, to_pin=12.0, to_back="20"),
    "lie_uphill is None": lambda: Position(to_edge=3.0, to_pin=12.0, lie_uphill=None),
    "before is .'fringe', 3.0.; expected pairs": lambda: Position(to_edge=3.0, to_pin=12.0, before=("fringe", 3.0)),
    "ground None is not known": lambda: Position(to_edge=3.0, to_pin=12.0, behind=None),
    "flagstick is 'out'": lambda: Conditions(flagstick="out"),
    "putts is 'tour'": lambda: Conditions(putts="tour"),
    "seed is None": lambda: Effort(seed=None),
    "Change wind is '5'": lambda: Change(name="windy", wind="5"),
    "Change stimp_ft is nan": lambda: Change(name="faster", stimp_ft=math.nan),
    "made_for is '2025": lambda: make_carry_sheet(drawn(n=1), spot="low", made_for="2025-05-06"),
    "draws is Green": lambda: make_carry_sheet(Green.from_stimp(10.0), spot="low", made_for=DAY),
    "distances is .8.0, 8.0. p": lambda: make_carry_sheet(drawn(n=1), spot="low", made_for=DAY, distances=[8, 8]),
    "no club of the bag can be played": lambda: plan_chip(drawn(n=1), to_edge=9.0, to_pin=12.0, options=(PUTTING,)),
    "one or the other": lambda: plan_chip(drawn(n=1), position=Position(to_edge=3.0, to_pin=12.0), lie="rough"),
    "unit is 'yd'": lambda: plan_chip(drawn(n=1), to_edge=3.0, to_pin=12.0, effort=Effort(landings=9)).said("yd"),
    "changes is empty": lambda: what_if(plan_chip(drawn(n=1), to_edge=3.0, to_pin=12.0, effort=Effort(landings=9)), []),
    "changes is Change": lambda: what_if(plan_chip(drawn(n=1), to_edge=3.0, to_pin=12.0), Change(name="one")),
}


@pytest.mark.parametrize("words", ODD)
def test_what_was_typed_wrong_is_refused_in_words(words):
    with pytest.raises(ValueError, match=words):
        ODD[words]()


def test_a_putt_across_a_slope_passes_over_the_hole_and_a_chip_rests_on_the_line():
    world = World(
        draws=stated(Green.from_stimp(10.0, grade=0.03, fall_direction=math.pi / 2)),
        position=Position(to_edge=1.0, to_pin=8.0),
    )
    swings = swings_for([Choice(club="putter", option=PUTTING), Choice(club="9-iron")], world)
    spots = np.array([[8.1, 8.4, 8.8], [2.0, 2.4, 2.8]])
    meant = swings.meant(spots)
    launch = replace(meant, direction=meant.direction + aim(swings, spots)[..., None])
    assert world.play(launch, np.zeros((2, 3, *launch.shape))).holed[0, 0].all()
    assert np.abs(world.play(launch).rest_y[0, 1]).max() < 0.05


@pytest.mark.parametrize("n", [1, 2, 3])
def test_few_draws_are_planned_and_drawn(n):
    plan = plan_chip(drawn(n=n), to_edge=3.0, to_pin=14.0, **WEDGES)
    assert len(plan.table)


def test_a_wind_that_comes_up_is_added_to_the_one_that_blows():
    position, across = Position(to_edge=3.0, to_pin=14.0), Air(wind_speed=3.0, wind_direction=math.pi / 2)
    world = World(draws=drawn(n=1), position=position, conditions=Conditions(air=across))
    air = Change(name="against", wind=-4.0).of(world).conditions.air
    assert (air.wind_speed, math.tan(air.wind_direction)) == pytest.approx((5.0, -0.75))


@pytest.mark.parametrize("roomy", [True, False])
def test_a_putt_that_goes_first_stays_on_the_ground_whatever_she_has_logged(roomy):
    putt, usual = (SimpleNamespace(putts=putts, option=PUTTING if putts else USUAL) for putts in (True, False))
    second = SimpleNamespace(cost=2.50, mean=2.50, roomy=roomy, choice=usual)
    words = [_though(SimpleNamespace(cost=2.51, mean=2.51, roomy=True, choice=one), second) for one in (putt, usual)]
    assert words[0] == "it stays on the ground"
    assert words[1] == ("it is her usual swing" if roomy else "it leaves more green before the landing spot")
