"""Traces, drops, chips and putts: what only each of these sheets must satisfy."""

import math
from pathlib import Path

import numpy as np
from test_sheets_readers import only, problems

from golfphys.sheets import read_chips, read_drops, read_films, read_putts

TRACE = "roll,spot,heading_deg,kind,time_s,distance_m\n"


def test_traces_are_read_roll_by_roll(sheet):
    text = (
        TRACE
        + "a,low,90,putt,0,0\na,low,90,putt,0.1,0.2\na,low,90,putt,0.2,0.39\nb,low,0,Ramp,0,0\nb,low,0,ramp,.1,.18\n"
    )
    read = read_films(sheet(text))
    assert read.rolls == ["a", "b"]
    assert read.frames["kind"].tolist() == ["putt"] * 3 + ["ramp"] * 2
    assert any("at least three" in note for note in read.notes)
    np.testing.assert_allclose(read.frames["heading"][0], math.pi / 2)


def test_traces_out_of_order_or_changing_are_named(sheet):
    back = problems(sheet(TRACE + "a,low,90,putt,0,0\na,low,90,putt,0.2,0.2\na,low,90,putt,0.1,0.3\n"), read_films)
    assert (only(back).row, only(back).column) == (4, "time_s")
    changed = problems(sheet(TRACE + "a,low,90,putt,0,0\na,low,91,putt,0.1,0.2\na,high,90,chip,0.2,0.3\n"), read_films)
    assert {(problem.row, problem.column) for problem in changed} == {(3, "heading_deg"), (4, "spot"), (4, "kind")}
    kind = problems(sheet(TRACE + "a,low,90,throw,0,0\n"), read_films)
    assert "putt, chip, ramp" in only(kind).expected


def test_frame_numbers_and_wrong_units_in_traces_are_suspected(sheet):
    numbered = sheet(TRACE + "".join(f"a,low,90,putt,{frame},{frame * 0.05}\n" for frame in range(5)))
    assert "frames per second" in only(problems(numbered, read_films)).advice
    assert len(read_films(numbered, accept_suspects=True).frames) == 5
    fast = sheet(TRACE + "a,low,90,putt,0,0\na,low,90,putt,0.1,4\na,low,90,putt,0.2,8\n")
    assert only(problems(fast, read_films)).column == "distance_m"


def test_drops_take_heights_or_times(sheet):
    head = "spot,drop_height_cm,rebound_height_cm,first_flight_ms,second_flight_ms\n"
    drops = read_drops(sheet(head + "low,150,31,,\nlow,150,,500,210\nlow,,,500,210\n")).drops
    np.testing.assert_allclose(drops["drop_height"], [1.5, 1.5, np.nan])
    np.testing.assert_allclose(drops["first_flight"], [np.nan, 0.5, 0.5])
    blank = problems(sheet(head + "low,150,,,\nlow,,31,,\nlow,,,500,\n"), read_drops)
    assert [(problem.row, problem.column) for problem in blank] == [
        (2, "rebound_height_cm"),
        (3, "drop_height_cm"),
        (4, "drop_height_cm"),
    ]


def test_drops_that_gain_energy_are_refused(sheet):
    head = "spot,drop_height_m,rebound_height_m,first_flight_s,second_flight_s\n"
    found = problems(sheet(head + "low,1.5,31,,\nlow,1.5,1.6,,\nlow,1.5,,1.2,\nlow,,,0.4,0.5\n"), read_drops)
    assert [(problem.row, problem.column) for problem in found] == [
        (2, "rebound_height_m"),
        (3, "rebound_height_m"),
        (4, "first_flight_s"),
        (5, "second_flight_s"),
    ]
    apart = problems(sheet(head + "low,1.5,0.3,0.9,\n"), read_drops)
    assert only(apart).suspect


CHIP = "club,lie,target_carry_m,carry_m,hang_time_s,first_hop_m,rest_m,side_m,strike\n"


def test_chips_may_have_gaps(sheet):
    chips = read_chips(
        sheet(CHIP + "SW,clean,6,6.3,0.9,7.5,11,-0.4,Clean\n8i,grass,,,,,9,,\n8i,grass,,4,,,,,thin\n")
    ).chips
    assert chips["rest"].tolist()[:2] == [11.0, 9.0]
    assert chips["strike"].tolist() == ["clean", "", "thin"]
    assert np.isnan(chips["carry"][1])
    found = problems(sheet(CHIP + "SW,clean,6,,,,,,\n,clean,6,6,,,,,\n"), read_chips)
    assert [(problem.row, problem.column) for problem in found] == [(2, "carry_m"), (3, "club")]


def test_chips_in_mixed_units_are_suspected(sheet):
    mixed = CHIP + "".join(f"SW,clean,{6 + i},{(6 + i) / 0.3048:.1f},,,,,\n" for i in range(5))
    assert "different units" in only(problems(sheet(mixed), read_chips)).advice
    hung = only(problems(sheet(CHIP + "SW,clean,6,6,3.9,,,,\n"), read_chips))
    assert (hung.row, hung.column) == (2, "hang_time_s")
    assert len(read_chips(sheet(mixed), accept_suspects=True).chips) == 5


def test_putts_count_whole_numbers(sheet):
    putts = read_putts(sheet("distance_ft,made\n10,1\n20,0\n")).putts
    assert putts["tries"].tolist() == [1, 1]
    found = problems(sheet("distance_ft,tries,made\n10,5,6\n10,2.5,1\n10,0,0\n"), read_putts)
    assert [(problem.row, problem.column) for problem in found] == [(2, "made"), (3, "tries"), (4, "tries")]


def test_published_putts_add_up_to_the_published_sums():
    folder = Path(__file__).parents[1] / "golfphys" / "physics" / "putting"
    berry = read_putts(folder / "berry_1996.csv").putts
    broadie = read_putts(folder / "broadie_2016_2018.csv").putts
    assert (berry["tries"].sum(), berry["made"].sum()) == (5988, 3390)
    assert (broadie["tries"].sum(), broadie["made"].sum()) == (1253196, 766741)
