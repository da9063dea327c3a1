"""The rivals in the study of decisions are able ones, and its cases are what their number says."""

import importlib
import math
from pathlib import Path

import coverage_chain
import coverage_rollouts
import numpy as np
import pandas as pd
import pytest
import rivals
import tally
from decision_quality import HABIT, RIVAL_MORE, chips_saved, decided
from worlds import SPOT, WORLDS, draw_case, earlier, measure

import golfphys
from golfphys import BAG, CourseTruth, Green, RolloutDesign, make_rollouts
from golfphys.planning.position import Choice
from golfphys.planning.world import World, swings_for


def test_the_analyst_reads_slope_and_speed_from_rolls():
    green = Green.from_stimp(10.0, grade=0.02, fall_direction=0.7)
    truth = CourseTruth(greens={SPOT: green}, distance_scatter=0.0, direction_scatter=0.0)
    slope = rivals.slope_of(make_rollouts(truth, RolloutDesign(), 1).frame)
    assert slope.resistance == pytest.approx(green.resistance.constant, rel=0.02)
    assert slope.resistance * slope.down(0.3) == pytest.approx(0.02 * math.cos(0.7 + 0.3), abs=0.001)
    assert slope.resistance * slope.left(0.3) == pytest.approx(0.02 * math.sin(0.7 + 0.3), abs=0.001)


@pytest.mark.parametrize("world", WORLDS)
def test_the_regression_foretells_runs_it_was_fitted_to(world):
    case = draw_case(world, 3)
    sheets = measure(case, 1.0)
    found, chips = rivals.regress(sheets), sheets.chips.frame
    landing = chips["carry"].fillna(chips["target_carry"])
    loft = chips["club"].map({name: club.loft for name, club in BAG.items()}).to_numpy(float)
    rough = (chips["lie"] == "light rough").to_numpy(float)
    meant = np.exp(found.log_run(loft, rough, landing.to_numpy(), chips["heading"].to_numpy()))
    away = np.abs(np.log(np.maximum((chips["rest"] - landing).to_numpy(), 0.1) / meant))
    assert float(np.median(away)) < 0.2
    choice = rivals.analyst(sheets, case.position, case.heading)
    assert choice.club in BAG
    assert case.position.to_edge < choice.landing <= case.position.to_pin


@pytest.mark.thorough
def test_a_case_is_decided_in_the_ways_that_its_row_lacks_and_anew_where_that_is_asked(tmp_path: Path) -> None:
    asked = tmp_path / "cases.csv", [("fit", 2)], [HABIT, "feel 8 %"]
    whole = decided(*asked, anew=False, executor=None)
    whole.assign(**{HABIT: math.nan, "feel 8 %": -1.0}).to_csv(asked[0], index=False)
    filled = decided(*asked, anew=False, executor=None)
    assert filled[HABIT].tolist() == whole[HABIT].tolist()
    assert filled["feel 8 %"].tolist() == [-1.0]
    pd.testing.assert_frame_equal(decided(*asked, anew=True, executor=None), whole)


@pytest.mark.thorough
@pytest.mark.parametrize(("world", "number", "slips"), [("linear", 49, 0.30), ("uneven", 61, 0.25)])
def test_a_search_is_not_caught_where_every_ball_grips(world, number, slips):
    """Searches from balls that grip ended 10 and 6 units of log density lower, and weights failed there."""
    sheets = measure(draw_case(world, number), 1.0)
    posterior = golfphys.fit(sheets.rollouts, sheets.drops, sheets.chips).posterior
    assert posterior.method == "weighted"
    assert np.exp(posterior.mode[posterior.model.names.column("face_friction", "fairway")]) < slips


@pytest.mark.parametrize(
    ("behind", "error", "cases", "verdict"),
    [
        (0.010, 0.002, 50, "golfphys is ahead"),
        (0.001, 0.002, 50, "golfphys is as good, to 0.005 strokes a chip"),
        (-0.010, 0.002, 50, "the analyst with 120 is ahead"),
        (-0.003, 0.004, 50, "no claim"),
        (0.010, 0.001, 10, "not enough cases run yet"),
    ],
)
def test_chips_saved_are_claimed_only_as_far_as_the_cases_can_tell(behind, error, cases, verdict):
    rows = pd.DataFrame({"behind": behind, "behind_se": error, "cases": cases}, index=[RIVAL_MORE])
    assert chips_saved(rows).endswith(verdict)


STUDIES = Path(__file__).parent / "studies"


@pytest.mark.parametrize("name", sorted(path.stem for path in STUDIES.glob("*.py")))
def test_a_study_finds_what_it_asks_the_library_for(name):
    assert importlib.import_module(name).__doc__


@pytest.mark.thorough
def test_forty_courses_are_covered_as_often_as_they_should_and_one_down_to_new_chips_is_counted():
    table = tally.study(coverage_rollouts.count, coverage_rollouts.SCENARIOS[0], 40, 7).set_index("what")
    for name in ("resistance", "grade", "fall_direction_deg", "stimp_ft", "grade_along", "grade_left"):
        count = table.loc[name, "intervals"]
        # three standard errors of a share of 0.9; spots of one course are not independent, so half of them count
        assert table.loc[name, "covered_pct"] > 90 - 300 * np.sqrt(0.09 / (count / 2))
    assert table.loc["scatter_single_roll", "covered_pct"] > 75
    whole = tally.study(coverage_chain.count, coverage_chain.SCENARIOS[0], 1, 7)
    assert "rest of a chip as meant" in whole["what"].tolist()


def test_the_committed_study_covers_ninety_per_cent():
    table = pd.read_csv(STUDIES / "coverage_rollouts.csv")
    held = table[table["scenario"] == "as assumed"]
    assert held["courses"].min() >= 500
    assert held["covered_pct"].between(87, 93).all(), held.to_string()
    main = table[table["what"].isin(["resistance", "grade", "fall_direction_deg", "stimp_ft"])]
    assert main["covered_pct"].min() > 85


@pytest.mark.thorough
def test_weeks_before_do_not_lead_to_a_player_who_digs_every_ball():
    """Where attack and lean did not move the window, a steep rise was never dear: no club of this plan reached 10 m."""
    case = draw_case("linear", 66)
    past = [measure(earlier(case, week), 0.5) for week in range(5)]
    fit = golfphys.fit(*measure(case, 1.0), past=past, turf_law="linear")
    attack = fit.draws(SPOT, 256).player.delivery.attack
    assert np.quantile(attack, 0.95) < math.radians(5.5)
    world = World(draws=fit.draws(SPOT, 64), position=case.position)
    reached = swings_for([Choice(club=name) for name in BAG], world).reached
    assert (reached[..., -1] > case.position.to_pin).mean() > 0.95
