"""The sheet to carry and the wedge gaps: every figure is a shot that can be played again."""

import datetime
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from conftest import ROOT

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Club
from golfphys.physics.green import Green, GroundBatch, Resistance
from golfphys.physics.roll import stopping_distance
from golfphys.physics.shot import simulate
from golfphys.planning import (
    changed_loft,
    find_wedge_gaps,
    make_carry_sheet,
    measured_pace,
    read_study,
    read_wedges,
    what_it_would_fill,
)
from golfphys.planning.carry_sheet import RULES_CAUTION
from golfphys.planning.chips import landing_tables
from golfphys.planning.green_speed import faster_draws, level_roll_ft
from golfphys.planning.speed_study import slope_along

DAY = datetime.date(2025, 5, 6)
SLOPING = Green.from_stimp(10.0, grade=0.02, fall_direction=0.7)
LEVEL = Green.from_stimp(10.0)


@pytest.fixture(scope="module")
def sheet():
    return make_carry_sheet(SLOPING, spot="practice-low", made_for=DAY, distances=[6, 10, 20], pace=0.8)


def test_every_figure_stops_at_the_pin_on_the_level(sheet):
    tables = dict(zip(BAG, landing_tables(list(BAG.values()), LIES["fairway"], DEFAULT_PLAYER, LEVEL), strict=True))
    for club in sheet.clubs:
        for paces, row in sheet.table[club].iterrows():
            assert row["land"] + row["run"] == pytest.approx(paces)
            shot = simulate(tables[club].launch(0.8 * row["land"]), LEVEL)
            assert shot.rest_x == pytest.approx(0.8 * paces, abs=0.05)


def test_slope_factors_are_those_of_a_shot_of_five_metres(sheet):
    table = landing_tables([BAG["gap wedge"]], LIES["fairway"], DEFAULT_PLAYER, LEVEL)[0]
    launch = table.launch(5.0)
    runs = [simulate(launch, replace(LEVEL, **slope_along(grade))).roll_distance for grade in (0.0, 0.02)]
    assert sheet.slopes.loc["gap wedge", 0.02] == pytest.approx(runs[1] / runs[0], rel=0.01)
    assert (sheet.slopes[-0.02] > 1.0).all()


def test_units_are_only_another_way_to_say_the_same():
    feet = make_carry_sheet(LEVEL, spot="home-left", made_for=DAY, unit="ft", distances=[30.0]).table
    metres = make_carry_sheet(LEVEL, spot="home-left", made_for=DAY, unit="m", distances=[30.0 * METRES_PER_FOOT]).table
    assert feet.iloc[0].dropna().to_numpy() * METRES_PER_FOOT == pytest.approx(metres.iloc[0].dropna().to_numpy())


def test_the_sheet_says_what_it_rests_on(sheet):
    assert "10.0 ft" in sheet.green
    assert "slope at the spot 2.0 %" in sheet.green
    assert RULES_CAUTION in sheet.cautions
    assert "4.3a" in RULES_CAUTION
    assert "G-11" in RULES_CAUTION


def test_green_speed_is_that_of_the_whole_law_of_resistance():
    """A resistance that grows with speed makes a green slower than its constant term alone says."""
    law = Resistance(constant=0.06, linear=0.015)
    roll = stopping_distance(constants.RAMP_RELEASE_SPEED.value, law.constant, linear=law.linear) / METRES_PER_FOOT
    made = make_carry_sheet(Green(resistance=law), spot="practice-low", made_for=DAY, distances=[6])
    assert made.green == f"green speed {roll:.1f} ft"
    batch = GroundBatch(ground=Green(resistance=law), values={"constant": [0.05, 0.06, 0.07], "linear": [0.015] * 3})
    slower = faster_draws(batch, -1.5)
    rolls = [level_roll_ft(one.green.resistance, one.values) for one in (batch, slower)]
    np.testing.assert_allclose(rolls[0] - rolls[1], 1.5, rtol=1e-9)
    assert level_roll_ft(slower.green.resistance) == pytest.approx(roll - 1.5)
    with pytest.raises(ValueError, match="20 ft slower than measured would not let a ball roll"):
        faster_draws(batch, -20.0)


def test_what_the_measurements_leave_open_is_printed_with_the_run():
    random = np.random.default_rng(1)
    share = 0.05
    constant = LEVEL.resistance.constant * np.exp(share * random.standard_normal(64))
    batch = GroundBatch(ground=SLOPING, values={"constant": constant, "grade": np.full(64, 0.02)})
    made = make_carry_sheet(batch, spot="home-left", made_for=DAY, unit="m", distances=[8.0, 15.0])
    give = made.table.xs("give", axis=1, level=1)
    run = made.table.xs("run", axis=1, level=1)
    assert (give > 0.3 * share * run).all().all()
    assert (give < 2.5 * share * run).all().all()
    assert "90 %" in made.green


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"unit": "yd"}, "unit is 'yd'"),
        ({"pace": 3.0}, "pace is 3.0"),
        ({"distances": [10, 5]}, "expected rising distances"),
    ],
)
def test_a_sheet_that_cannot_be_made_is_refused(change, words):
    with pytest.raises(ValueError, match=words):
        make_carry_sheet(LEVEL, spot="home-left", made_for=DAY, **change)


def test_a_pace_is_a_step():
    assert measured_pace(17.0, 20) == pytest.approx(0.85)
    with pytest.raises(ValueError, match="expected steps"):
        measured_pace(17.0, 5)


ROWS = [
    ("pitching wedge", "full", 110),
    ("pitching wedge", "half", 62),
    ("gap wedge", "full", 92),
    ("gap wedge", "half", 52),
    ("sand wedge", "full", 78),
    ("sand wedge", "half", 41),
]
SHOTS = pd.DataFrame(
    [(club, swing, carry + more) for club, swing, carry in ROWS for more in (-2, 0, 2)],
    columns=["club", "swing", "carry_m"],
)


def test_gaps_and_overlaps_follow_the_limits():
    found = find_wedge_gaps(SHOTS, wide=15.0, close=6.0)
    assert found.table["carry_m"].tolist() == [41, 52, 62, 78, 92, 110]
    assert found.gaps["kind"].tolist() == ["fine", "fine", "gap", "fine", "gap"]
    assert any("between 62 and 78 m" in note for note in found.notes)
    assert found.table["shots"].tolist() == [3] * 6
    many = find_wedge_gaps(SHOTS, wide=50.0, close=12.0)
    assert (many.gaps["kind"] == "overlap").sum() == 2


def test_head_speeds_give_the_carries_back():
    found = find_wedge_gaps(SHOTS)
    for row in found.table.itertuples():
        table = landing_tables([BAG[row.club]], LIES["fairway"], DEFAULT_PLAYER, Green.from_stimp(8.0))[0]
        at = float(np.interp(row.head_speed, table.head_speed, table.landing))
        assert at == pytest.approx(row.carry_m, rel=1e-3)


def test_a_club_already_carried_goes_as_far_as_it_did():
    found = find_wedge_gaps(SHOTS)
    table = what_it_would_fill(found, BAG["gap wedge"]).set_index("swing")
    assert table.loc["full", "carry_m"] == pytest.approx(92, abs=5)
    assert table.loc["half", "carry_m"] == pytest.approx(52, abs=4)
    assert (table["low_m"] < table["carry_m"]).all()
    assert table["fills"].str.startswith("repeats gap wedge").all()


def test_a_stronger_wedge_goes_farther_and_a_club_taken_out_leaves_its_gap():
    found = find_wedge_gaps(SHOTS)
    strong, weak = (what_it_would_fill(found, changed_loft("gap wedge", loft)) for loft in (47.0, 53.0))
    assert (strong["carry_m"] > weak["carry_m"]).all()
    swapped = what_it_would_fill(found, changed_loft("gap wedge", 49.0), instead_of="gap wedge")
    assert swapped["widest_before_m"].iloc[0] == 18.0
    with pytest.raises(ValueError, match="instead_of is 'putter'"):
        what_it_would_fill(found, BAG["gap wedge"], instead_of="putter")


def test_what_fills_a_gap_goes_by_the_limits_asked_for():
    narrow, loose = (find_wedge_gaps(SHOTS, wide=wide, close=close) for wide, close in ((8.0, 0.1), (40.0, 0.2)))
    candidate = changed_loft("gap wedge", 47.0)
    assert what_it_would_fill(narrow, candidate)["fills"].str.endswith("a gap").any()
    assert not what_it_would_fill(loose, candidate)["fills"].str.contains("gap$|repeats").any()
    with pytest.raises(ValueError, match="lie is 'bunker'; expected one of tight"):
        find_wedge_gaps(SHOTS, lie="bunker")


def test_a_club_that_is_not_in_the_bag_is_shown_without_a_head_speed():
    rows = pd.concat([SHOTS, pd.DataFrame([("old wedge", "full", 70)], columns=SHOTS.columns)])
    found = find_wedge_gaps(rows)
    assert np.isnan(found.table.set_index("club").loc["old wedge", "head_speed"])
    assert any("Fewer than three shots: old wedge, full" in note for note in found.notes)
    with pytest.raises(ValueError, match="no swing has a head speed"):
        what_it_would_fill(find_wedge_gaps(rows.tail(1)), BAG["gap wedge"])


def test_sheets_are_read_in_yards_and_bad_cells_are_all_named(tmp_path):
    path = tmp_path / "wedges.csv"
    path.write_text("# invented\nclub,swing,carry_yd\ngap wedge,half,60\n", encoding="utf-8")
    assert read_wedges(path)["carry"].iloc[0] == pytest.approx(60 * 0.9144)
    bad = pd.DataFrame({"club": ["gap wedge", ""], "swing": ["half", "full"], "carry_m": ["far", 900]})
    said = r"(?s)row 1, column carry_m: found 'far'.*row 2, column club: found a blank.*column carry_m: found '900'"
    with pytest.raises(ValueError, match=said):
        read_wedges(bad)
    with pytest.raises(ValueError, match="expected a column swing"):
        read_wedges(pd.DataFrame({"club": ["a"], "carry_m": [50]}))
    with pytest.raises(ValueError, match="headings without rows"):
        read_wedges(pd.DataFrame({"club": [], "swing": [], "carry_m": []}))


def test_a_bent_club_keeps_its_sole_in_step():
    bent = changed_loft("gap wedge", 52.0)
    assert isinstance(bent, Club)
    assert bent.bounce - BAG["gap wedge"].bounce == pytest.approx(np.radians(2.0))
    with pytest.raises(ValueError, match="club is 'putter'"):
        changed_loft("putter", 4.0)


def test_the_committed_study_is_read(tmp_path: Path) -> None:
    """Habits pick no club: their cell is blank, and only theirs may hold no number."""
    study = read_study(ROOT / "tests" / "studies" / "decision_quality.csv")
    assert study["loss"].is_monotonic_increasing
    assert study.set_index("plan").loc["handbook", "same_club"] > 0
    assert study["same_club"].isna().any()
    bad = tmp_path / "study.csv"
    bad.write_text("plan,loss,se,loss_95,same_club,cases\nhandbook,0.2,0.02,0.5,,240\nmeasured,none,0.1,0.1,0.4,9\n")
    with pytest.raises(ValueError, match="row 3, column loss"):
        read_study(bad)
