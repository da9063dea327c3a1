"""The sheet to carry and the wedge gaps: every figure is a shot that can be played again."""

import datetime
from dataclasses import replace
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from conftest import ROOT, refused

from golfphys import BAG, LIES, Green, Logged, Resistance, Turf, assumed, read_wedges, simulate, strike
from golfphys.physics.club import TOUR_PLAYER
from golfphys.planning import PUTTING, USUAL, Change, Effort, Position, changed_loft, plan_chip, read_study, what_if
from golfphys.planning.carry_sheet import OFF_GREEN, RULES_CAUTION, make_carry_sheet, measured_pace, played_by_row
from golfphys.planning.position import faster, level_roll_ft
from golfphys.planning.wedge_gaps import find_wedge_gaps, what_it_would_fill

DAY = datetime.date(2025, 5, 6)
SLOPING = Green.from_stimp(10.0, grade=0.02, fall_direction=0.7)
LEVEL = Green.from_stimp(10.0)


FEW = Effort(draws=16, landings=9, errors=4, last=16)


@pytest.fixture(scope="module")
def sheet():
    draws = assumed(SLOPING, n=64)
    return make_carry_sheet(draws, spot="practice-low", made_for=DAY, distances=[6, 12, 20], pace=0.8, effort=FEW)


def test_of_two_level_choices_the_one_of_the_row_before_is_played():
    def plan(*labels: str, level: int) -> SimpleNamespace:
        played = [SimpleNamespace(label=label) for label in labels]
        return SimpleNamespace(pick=labels[0], played=played, answer=SimpleNamespace(choices=range(level)))

    rows = [
        plan("sand wedge", "lob wedge", level=1),
        plan("9-iron", "sand wedge", level=2),
        plan("9-iron", "sand wedge", level=1),
        plan("8-iron", "9-iron", level=2),
        plan("8-iron", "sand wedge", level=2),
    ]
    assert played_by_row(rows) == ["sand wedge", "sand wedge", "9-iron", "9-iron", "8-iron"]


def test_each_row_is_the_plan_of_that_distance(sheet):
    draws = assumed(replace(SLOPING, grade=0.0, fall_direction=0.0), n=64)
    position = Position(to_edge=OFF_GREEN, to_pin=12 * 0.8)
    plan = plan_chip(draws, position=position, options=(USUAL, PUTTING), effort=FEW)
    level = [item.label for item in plan.played[: len(plan.answer.choices)]]
    assert sheet.best.loc[12] == (sheet.best.loc[6] if sheet.best.loc[6] in level else plan.pick)
    row = plan.table.set_index("club").loc["9-iron"]
    planned = row[["landing_m", "roll_m", "roll_low_m", "roll_high_m"]].to_numpy(float) / 0.8
    said = sheet.table.loc[12, "9-iron"]
    assert said[["land", "run", "run_low", "run_high"]].to_numpy(float) == pytest.approx(planned)
    assert measured_pace(17.0, 20) == pytest.approx(0.85)


def test_the_sheet_says_what_it_rests_on_and_downhill_and_rough_move_the_landing_nearer(sheet):
    assert sheet.cautions[-1] == RULES_CAUTION
    assert "Not measured, so drawn from what is usual: the player" in sheet.cautions[0]
    assert "tour-level player" in sheet.player
    assert "slope there 2.0 %" in sheet.green
    assert (sheet.moves["downhill 2 %"].dropna() < 0).all()
    assert (sheet.moves["uphill 2 %"].dropna() > 0).all()
    assert {"rough", "light rough", "tight"} <= set(sheet.moves.columns)


def test_what_was_never_measured_widens_the_run():
    constant = LEVEL.resistance.constant * np.exp(0.05 * np.random.default_rng(1).standard_normal(64))
    rolled = replace(LEVEL, resistance=Resistance(constant=constant))
    measured = {"logged": Logged(rolls=16, spots=("low",), level_roll=(3.0, 2.9, 3.1), lies={"wet": 9}), "n": 64}
    question = {"spot": "low", "made_for": DAY, "unit": "m", "distances": [12.0], "effort": FEW}
    sheets = [
        make_carry_sheet(draws, **question)
        for draws in (assumed(rolled, **measured), assumed(rolled, turf=Turf(), player=TOUR_PLAYER, **measured))
    ]
    assert "green speed 9.8 ft (90 %: 9.5 to 10.2)" in sheets[0].green  # as the fit tells it
    assert [*sheets[0].moves.columns[2:]] == ["tight", "light rough", "rough", "wet"]  # and what she has logged
    unsure, certain = (
        np.ptp(sheet.table.loc[12.0].unstack()[["run_low", "run_high"]], axis=1).mean() for sheet in sheets
    )
    assert unsure > 1.4 * certain


@pytest.mark.parametrize(
    "law",
    [
        {"constant": np.linspace(0.06, 0.08, 8), "quadratic": np.linspace(0.001, 0.01, 8)},
        {"constant": np.linspace(0.06, 0.08, 8), "linear": 0.004, "quadratic": np.linspace(0.0, 0.003, 8)},
    ],
    ids=["quadratic", "linear and quadratic"],
)
def test_any_law_of_resistance_is_carried_through_whole(law):
    green = Green(resistance=Resistance(**law))
    draws = assumed(green, n=8)
    quick = Effort(draws=8, landings=7, errors=4, last=8)
    sheet = make_carry_sheet(draws, spot="low", made_for=DAY, unit="m", distances=[10.0], effort=quick)
    plan = plan_chip(draws, to_edge=2.0, to_pin=10.0, effort=quick)
    table = what_if(plan, [Change(name="faster", stimp_ft=1.0)])
    assert "90 %" in sheet.green
    assert (table["regret"] >= 0).all()
    whole = np.asarray(level_roll_ft(green.resistance))
    alone = np.asarray(level_roll_ft(Resistance(constant=law["constant"])))
    assert (whole < alone - 0.05)[1:].all()
    assert np.asarray(level_roll_ft(faster(green, 1.0).resistance)) == pytest.approx(whole + 1.0)


CARRIES = {"pitching wedge": (110, 62), "gap wedge": (92, 52), "sand wedge": (78, 41)}
ROWS = [(club, *one) for club, both in CARRIES.items() for one in zip(("full", "half"), both, strict=True)]
MEASURED = [(club, swing, carry + more) for club, swing, carry in ROWS for more in (-2, 0, 2)]
SHOTS = pd.DataFrame(MEASURED, columns=["club", "swing", "carry_m"])


def test_gaps_and_overlaps_follow_the_limits():
    found, many = (find_wedge_gaps(SHOTS, wide=wide, close=close) for wide, close in ((15.0, 6.0), (50.0, 12.0)))
    assert found.table["carry_m"].tolist() == [41, 52, 62, 78, 92, 110]
    assert found.gaps["kind"].tolist() == ["fine", "fine", "gap", "fine", "gap"]
    assert any("between 62 and 78 m" in note for note in found.notes)
    assert found.table["shots"].tolist() == [3] * 6
    assert (many.gaps["kind"] == "overlap").sum() == 2


def test_head_speeds_give_the_carries_back_and_a_club_already_carried_goes_as_far_as_it_did():
    found = find_wedge_gaps(SHOTS)
    for row in found.table.itertuples():
        delivery = replace(TOUR_PLAYER.delivery, speed=row.head_speed)
        launch = strike(BAG[row.club], delivery, LIES["fairway"], np.zeros(6), TOUR_PLAYER.errors).launch
        assert simulate(launch, Green.from_stimp(8.0)).carry == pytest.approx(row.carry_m, rel=5e-3)
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
    refused("instead_of is 'putter'", lambda: what_it_would_fill(found, BAG["gap wedge"], instead_of="putter"))
    # a bent club keeps its sole in step
    assert changed_loft("gap wedge", 52.0).bounce - BAG["gap wedge"].bounce == pytest.approx(np.radians(2.0))


def test_what_fills_a_gap_goes_by_the_limits_asked_for():
    narrow, loose = (find_wedge_gaps(SHOTS, wide=wide, close=close) for wide, close in ((8.0, 0.1), (40.0, 0.2)))
    candidate = changed_loft("gap wedge", 47.0)
    assert what_it_would_fill(narrow, candidate)["fills"].str.endswith("a gap").any()
    assert not what_it_would_fill(loose, candidate)["fills"].str.contains("gap$|repeats").any()
    refused("lie is 'bunker'; expected one of tight", lambda: find_wedge_gaps(SHOTS, lie="bunker"))


def test_a_club_that_is_not_in_the_bag_is_shown_without_a_head_speed():
    rows = pd.concat([SHOTS, pd.DataFrame([("old wedge", "full", 70)], columns=SHOTS.columns)])
    found = find_wedge_gaps(rows)
    assert np.isnan(found.table.set_index("club").loc["old wedge", "head_speed"])
    assert any("Fewer than three shots: old wedge, full" in note for note in found.notes)
    assert find_wedge_gaps(rows.assign(club="58°")).table["head_speed"].notna().all()
    refused("no swing has a head speed", lambda: what_it_would_fill(find_wedge_gaps(rows.tail(1)), BAG["gap wedge"]))


def test_sheets_are_read_in_yards_and_bad_cells_are_all_named(tmp_path):
    path = tmp_path / "wedges.csv"
    path.write_text("# invented\nclub,swing,carry_yd\ngap wedge,half,60\n", encoding="utf-8")
    assert read_wedges(path).frame["carry"].iloc[0] == pytest.approx(60 * 0.9144)
    bad = pd.DataFrame({"club": ["gap wedge", ""], "swing": ["half", "full"], "carry_m": ["far", 900]})
    said = r"(?s)row 1, column carry_m: found 'far'.*row 2, column club: found a blank.*column carry_m: found '900'"
    refused(said, lambda: find_wedge_gaps(bad))


def test_the_committed_study_is_read() -> None:
    study = read_study(ROOT / "tests" / "studies" / "decision_quality.csv")
    assert study["loss"].is_monotonic_increasing
    assert study.set_index("plan").loc["measured", "same_club"] > 0
    assert study["same_club"].isna().any()
