"""Fits of rollout sheets: truth recovered, words where a sheet cannot tell, and what a day does to a green."""

from dataclasses import replace
from datetime import datetime

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from scipy.optimize import least_squares

import golfphys
from golfphys import Green, Resistance, compare_laws, constants, two_way_mean
from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.compare import compare_fits
from golfphys.fitting.estimator import Normal
from golfphys.fitting.measuring import RolloutPlan, compare_plans, expected_intervals
from golfphys.fitting.results import cell
from golfphys.fitting.rollout_layout import NEVER_STOPS, rest_of, rolls_of
from golfphys.fitting.rollout_model import build
from golfphys.fitting.search import find_mode
from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
from golfphys.sheets import Sheet

RAMP = constants.RAMP_RELEASE_SPEED.value


def sheet_of(spot, heading_deg, speed, distance, at=None):
    rolls = pd.DataFrame({"row": np.arange(len(distance)) + 2, "spot": spot, "heading": np.radians(heading_deg)})
    rolls = rolls.assign(release_speed=speed, distance=np.asarray(distance, dtype=float), note="")
    return Sheet(kind="rollouts", frame=rolls.assign(side=np.nan, measured_at=pd.NaT if at is None else at))


def invented(greens, *, scatter=0.05, relative=0.01, seed=1, **design):
    truth = CourseTruth(greens=greens, distance_scatter=scatter, distance_scatter_relative=relative)
    return make_rollouts(truth, RolloutDesign(**design), seed)


TWO_SPOTS = {
    "practice-low": Green.from_stimp(10.0, grade=0.012, fall_direction=0.7),
    "ninth-front": Green.from_stimp(9.2, grade=0.022, fall_direction=-2.2),
}


@pytest.fixture(scope="module")
def whole():
    return golfphys.fit(invented(TWO_SPOTS, repeats=3, side_share=0.5))


@pytest.fixture(scope="module")
def two_spots(whole):
    return whole.rollouts


def test_truth_lies_in_the_intervals_and_predictions_and_residuals_are_the_fits(two_spots):
    table = two_spots.estimates
    for spot, green in TWO_SPOTS.items():
        truth = {
            "resistance": green.resistance.constant,
            "grade": green.grade,
            "grade_along": -green.grade * np.cos(green.fall_direction),
            "grade_left": -green.grade * np.sin(green.fall_direction),
            "fall_direction_deg": -np.degrees(green.fall_direction) % 360,
        }
        for name, value in truth.items():
            # three standard deviations: a fixed seed must not decide whether a right fit passes
            assert cell(table, spot, name) == pytest.approx(value, abs=3 * cell(table, spot, name, "sd"))
            assert cell(table, spot, name, "low") <= cell(table, spot, name) <= cell(table, spot, name, "high")
            assert bool(table["informed"][(spot, name)])
    relative = (table["sd"] / table["estimate"]).loc["ninth-front"]
    assert relative["stimp_m"] < 0.02 < 0.03 < relative["resistance"]

    table = two_spots.predict("ninth-front", np.radians([0.0, 90.0, 180.0, 270.0]), RAMP)
    assert (table["roll_low"] < table["low"]).all()
    assert (table["low"] < table["distance"]).all()
    assert (table["distance"] < table["high"]).all()
    residuals = two_spots.residuals
    here = residuals[residuals["spot"] == "ninth-front"]
    fitted = here["fitted"].groupby(here["heading"].round(3)).first().to_numpy()
    assert fitted == pytest.approx(table["distance"].to_numpy(), rel=0.02)
    assert residuals["residual"].abs().max() < 0.4
    np.testing.assert_allclose(residuals["fitted"] + residuals["residual"], residuals["distance"])


def test_agrees_with_the_two_way_mean_on_a_plane():
    green = Green.from_stimp(10.5, grade=0.02, fall_direction=0.0)
    headings = np.radians([0, 90, 180, 270])
    x, y = golfphys.rest_point(RAMP, -headings, green.resistance.constant, green.grade, green.fall_direction)
    distance = np.hypot(x, y)
    fit = golfphys.fit(sheet_of("home-left", np.degrees(np.tile(headings, 3)), RAMP, np.tile(distance, 3))).rollouts
    mean = two_way_mean(distance[2], distance[0])
    assert cell(fit.estimates, "home-left", "stimp_m") == pytest.approx(mean, rel=2e-3)
    # the tape lies along the slope, which is longer than the level by 1/cos
    assert mean / METRES_PER_FOOT == pytest.approx(10.5 * np.hypot(1.0, 0.02), rel=1e-9)


def test_mode_agrees_with_a_general_least_squares_solver():
    green = Green.from_stimp(9.5, grade=0.018, fall_direction=1.1)
    sheet = invented({"spot": green}, repeats=4, side_share=0.0)
    model, _ = build(rolls_of(sheet), release_speed_sd=0.0)
    model = replace(model, blocks=[replace(block, loss=Normal()) for block in model.blocks])
    mode = find_mode(model)
    natural = model.natural(mode.point)
    heading, distance = -sheet.frame["heading"].to_numpy(), sheet.frame["distance"].to_numpy()

    def residuals(values):
        level, along, left = np.exp(values[0]), values[1], values[2]
        ahead = along * np.cos(heading) + left * np.sin(heading)
        aside = left * np.cos(heading) - along * np.sin(heading)
        expected = np.hypot(*rest_of(np.full(heading.shape, RAMP), {"constant": level + 0 * heading}, (ahead, aside)))
        scale = np.hypot(natural[-2], natural[-1] * distance)
        prior = [(values[0] - np.log(0.087)) / 0.35, along / 0.03, left / 0.03]
        return np.concatenate([(distance - expected) / scale, prior])

    found = least_squares(residuals, [np.log(0.08), 0.0, 0.0], x_scale=[0.1, 0.01, 0.01])
    np.testing.assert_allclose(mode.point[:3] / [0.1, 0.01, 0.01], found.x / [0.1, 0.01, 0.01], atol=0.02)


def test_growth_is_found_and_laws_are_told_apart_where_speeds_differ():
    green = Green(resistance=Resistance(constant=0.05, linear=0.025), grade=0.01, fall_direction=0.5)
    design = {"release_speeds": (1.0, 1.5, 2.2), "repeats": 2, "side_share": 0.0}
    sheet = invented({"spot": green}, scatter=0.02, relative=0.005, **design)
    comparison = compare_laws(sheet, laws=("constant", "linear"))
    for fit, most in ((comparison.fits["linear"], 0.006), (golfphys.fit(sheet, law="quadratic").rollouts, 0.02)):
        table = fit.estimates
        for name, true in (("resistance_linear", 0.025), ("resistance", 0.05)):
            assert cell(table, "spot", name) == pytest.approx(true, abs=3 * cell(table, "spot", name, "sd"))
        assert cell(table, "spot", "resistance_linear", "sd") < most
    assert comparison.table.index[0] == "linear"
    assert "prefer 'linear'" in comparison.verdict
    assert any("depend on speed" in caution for caution in comparison.fits["constant"].cautions)


def test_laws_are_not_told_apart_where_the_rolls_cannot():
    sheet = invented({"spot": Green.from_stimp(10.0, grade=0.01)}, repeats=3)
    verdict = compare_fits({law: golfphys.fit(sheet, law=law).rollouts for law in ("constant", "linear")}).verdict
    assert "do not prefer" in verdict
    assert "'constant'" in verdict.split("Use the simplest")[1]
    refused("at least two", lambda: compare_laws(sheet, laws=("constant",)))


def test_grain_is_told_from_slope_by_side_drift_only():
    law = Resistance(constant=0.085, grain=0.25, grain_direction=0.4)
    green = Green(resistance=law, grade=0.015, fall_direction=2.0)
    design = {"headings": tuple(np.radians(np.arange(0, 360, 60))), "repeats": 3}
    sheets = (invented({"spot": green}, scatter=0.03, side_share=share, **design) for share in (1.0, 0.0))
    noted, blank = (golfphys.fit(sheet, grain=True).rollouts for sheet in sheets)
    (low, high, sd), (_, _, wide) = (
        fit.estimates.loc[("all", "grain"), ["low", "high", "sd"]] for fit in (noted, blank)
    )
    assert low <= 0.25 <= high
    assert sd < 0.5 * wide
    assert any("Distances alone cannot separate grain from slope" in caution for caution in blank.cautions)


def test_a_spot_with_three_rolls_borrows_from_the_others():
    greens = {f"spot-{i}": Green.from_stimp(10.0 + 0.1 * i, grade=0.01, fall_direction=i) for i in range(4)}
    sheet = invented(greens, repeats=3)
    rolls = sheet.frame
    few = rolls[(rolls["spot"] != "spot-3") | (rolls.groupby("spot").cumcount() < 3)]
    pooled, alone = (golfphys.fit(sheet.replaced(few), pool=pool).rollouts for pool in (True, False))
    assert cell(pooled.estimates, "spot-3", "stimp_ft", "sd") < 0.6 * cell(alone.estimates, "spot-3", "stimp_ft", "sd")
    assert any("borrows" in caution for caution in pooled.cautions)


def test_one_stray_is_named_by_its_row_and_counts_for_little():
    sheet = invented({"spot": Green.from_stimp(10.0, grade=0.01)}, repeats=4)
    spoiled = sheet.frame.copy()
    spoiled.loc[5, ["distance", "side"]] = 1.1, np.nan
    files = spoiled.assign(sheet=["may.csv"] * 4 + ["june.csv"] * (len(spoiled) - 4))
    clean, fit, named = (golfphys.fit(sheet.replaced(rolls)).rollouts for rolls in (sheet.frame, spoiled, files))
    assert any("Row 7 (spot) was taken as an outlier" in caution for caution in fit.cautions)
    assert any("Row 7 of june.csv (spot) was taken as an outlier" in caution for caution in named.cautions)
    (was, sd), (found, _) = (one.estimates.loc[("spot", "stimp_ft"), ["estimate", "sd"]] for one in (clean, fit))
    assert abs(found - was) < sd


@pytest.mark.parametrize(
    ("heading", "distance", "words"),
    [
        ([0], [3.0], "One heading only"),
        ([0], [0.0], "A distance of nothing stands in row 2"),
        ([0] * 8, [3.0] * 8, "One heading only"),
        ([0, 90, 180, 270] * 3, [3.0] * 12, "Slope is not resolved"),
        ([0, 90, 180, 270] * 2, [0.0] * 8, "A distance of nothing"),
        ([0, 180] * 4, [3.0, 3.3] * 4, "two opposite headings"),
        ([0, 90] * 4, [3.0, 3.3] * 4, "not opposite"),
        ([0, 90, 180, 270] * 2, [15.0, 3.5, 1.6, 3.5, 14.0, 3.4, 1.65, 3.6], "never stops"),
        ([0, 90, 180, 270] * 2, [50.0, 0.1, 30.0, 2.0, 0.5, 8.0, 1.0, 40.0], "ingle rolls scatter by"),
    ],
)
def test_poor_sheets_give_words_not_tracebacks(heading, distance, words):
    fit = golfphys.fit(sheet_of("spot", heading, RAMP, distance)).rollouts
    table = fit.estimates
    assert np.isfinite(table[["estimate", "sd", "low", "high"]].to_numpy(dtype=float)).all()
    assert any(words in caution for caution in fit.cautions), fit.cautions
    assert fit.green("spot").resistance.constant > 0
    assert "bear in mind" in fit.report()


def test_what_the_rolls_cannot_tell_is_not_called_known():
    round_about, at = [0, 90, 180, 270], pd.to_datetime(["2025-05-06T09:00"] * 4 + ["2025-05-06T15:00"] * 4)
    opposite = golfphys.fit(sheet_of("spot", [0, 180] * 3, RAMP, [4.27, 2.74] * 3)).rollouts
    assert not bool(opposite.estimates["informed"][("spot", "grade")])
    one_speed = golfphys.fit(sheet_of("spot", round_about, RAMP, [3.0] * 4), law="linear").rollouts
    assert not bool(one_speed.estimates["informed"][("spot", "resistance_linear")])
    paused = golfphys.fit(sheet_of("spot", round_about * 2, RAMP, [3.0] * 8, at=at)).rollouts
    for fit, words in ((one_speed, "One release speed only: growth"), (paused, "with pauses")):
        assert any(words in caution for caution in fit.cautions), fit.cautions


def test_a_third_of_blunders_is_survived_and_said():
    rng = np.random.default_rng(0)
    distance = 3 + 0.05 * rng.standard_normal(20)
    distance[:6] = rng.uniform(0.5, 6.0, 6)
    fit = golfphys.fit(sheet_of("spot", [0, 90, 180, 270] * 5, RAMP, distance)).rollouts
    assert cell(fit.estimates, "spot", "stimp_m") == pytest.approx(3.0, abs=0.1)
    assert any("of 20 rolls do not fit" in caution for caution in fit.cautions)


def test_release_speeds_can_be_taken_as_exact():
    sheet = sheet_of("spot", [0, 90, 180, 270] * 3, RAMP, [3.0, 3.1, 2.9, 3.05] * 3)
    exact, allowed = golfphys.fit(sheet, release_speed_sd=0.0).rollouts, golfphys.fit(sheet).rollouts
    assert cell(exact.estimates, "spot", "resistance", "sd") < 0.5 * cell(allowed.estimates, "spot", "resistance", "sd")
    assert any("taken as exact" in caution for caution in exact.cautions)


@pytest.mark.thorough
def test_markov_chain_agrees_with_the_normal_approximation(whole, two_spots):
    chain = whole.sampled(steps=3000, seed=2).rollouts
    assert chain.posterior.diagnostics.trusted
    for name in ("resistance", "grade_along", "grade_left", "stimp_ft"):
        for spot in two_spots.spots:
            found, sd = (cell(two_spots.estimates, spot, name, what) for what in ("estimate", "sd"))
            assert cell(chain.estimates, spot, name) == pytest.approx(found, abs=0.25 * sd)
            assert cell(chain.estimates, spot, name, "sd") == pytest.approx(sd, rel=0.2)


def test_rest_points_stay_finite_where_nothing_stops():
    steep = np.array([0.05, 0.2])
    ahead, left = rest_of(np.full(2, RAMP), {"constant": np.full(2, 0.08)}, (steep, 0 * steep))
    assert ahead[0] < 20
    assert (ahead[1], left[1]) == (NEVER_STOPS, 0.0)
    none = np.zeros(2)
    general = rest_of(np.full(2, RAMP), {"constant": np.full(2, 0.08)}, (steep, none), (none, none))
    np.testing.assert_allclose(general[0], ahead, rtol=1e-6)


def test_design_foresees_what_the_fit_then_gives():
    green, widths = Green.from_stimp(10.0, grade=0.015, fall_direction=-0.8), []
    plan, scatter = RolloutPlan(spots=("spot",), repeats=3), {"scatter": 0.06, "relative": 0.01}
    foreseen = expected_intervals(plan, green=green, scatter=tuple(scatter.values()))["half_width"]
    for seed in range(8):
        sheet = invented({"spot": green}, **scatter, repeats=3, side_share=0.0, seed=seed)
        table = golfphys.fit(sheet).rollouts.estimates
        widths.append((table["high"] - table["low"]) / 2)
    for name in ("stimp_ft", "grade"):
        assert foreseen[("spot", name)] == pytest.approx(np.median([one[("spot", name)] for one in widths]), rel=0.35)


def test_plans_are_ranked_as_experience_would():
    plans = {
        "two ways": RolloutPlan(headings_deg=(0, 180), repeats=6),
        "four ways": RolloutPlan(repeats=3),
        "four ways, twice the rolls": RolloutPlan(repeats=6),
        "four ways, with drift": RolloutPlan(repeats=3, side=True),
    }
    table = compare_plans(plans)
    assert table.loc["two ways", "grade"] > 5 * table.loc["four ways", "grade"]
    assert table.loc["four ways", "stimp_ft"] == pytest.approx(
        np.sqrt(2) * table.loc["four ways, twice the rolls", "stimp_ft"], rel=0.1
    )
    assert table.loc["four ways, with drift", "fall_direction_deg"] < table.loc["four ways", "fall_direction_deg"]
    refused("would not stop", lambda: expected_intervals(RolloutPlan(), green=Green.from_stimp(12.0, grade=0.08)))
    refused("at least one spot", lambda: RolloutPlan(headings_deg=()))
    refused("at least one spot, one heading", lambda: RolloutPlan(headings_deg=(float("nan"),)))
    refused("repeats is 1.5; expected a whole number", lambda: RolloutPlan(repeats=1.5))
    refused("law is 'cubic'.*expected one of constant", lambda: expected_intervals(RolloutPlan(), law="cubic"))
    refused("a pair of numbers not below 0", lambda: expected_intervals(RolloutPlan(), scatter=(-0.1, 0.0)))
    refused("no parameter is called speed", lambda: compare_plans({"a": RolloutPlan()}, parameters=("speed",)))


HOURS = (9, 12, 15, 19)
CHANGE = (0.0, -0.05, -0.09, -0.01)


def day(hours=HOURS, changes=CHANGE):
    parts = []
    for i, (hour, change) in enumerate(zip(hours, changes, strict=True)):
        greens = {
            "practice-low": Green.from_stimp(10.2 * (1 + change), grade=0.01, fall_direction=0.5),
            "ninth-front": Green.from_stimp(9.5 * (1 + change), grade=0.02, fall_direction=2.0),
        }
        at = datetime(2025, 5, 6, hour)
        parts.append(invented(greens, relative=0.0, seed=i, repeats=1, first_at=at).frame)
    rolls = pd.concat(parts, ignore_index=True).assign(row=range(2, 2 + sum(map(len, parts))))
    return Sheet(kind="rollouts", frame=rolls)


@pytest.fixture(scope="module")
def series():
    return golfphys.fit(day(), session_gap_hours=1.0).series


def test_change_is_found_and_bracketed_at_every_spot_in_every_session(series):
    change, table = series.change, series.table
    assert (list(change.index), change["rolls"].tolist(), len(table)) == ([1, 2, 3, 4], [8, 8, 8, 8], 8)
    assert change.loc[1, ["change_pct", "low", "high"]].tolist() == [0.0, 0.0, 0.0]
    for session, expected in zip((2, 3, 4), CHANGE[1:], strict=True):
        spread = (change.loc[session, "high"] - change.loc[session, "low"]) / 3.29
        assert change.loc[session, "change_pct"] == pytest.approx(100 * expected, abs=3 * spread)
    assert change.loc[3, "high"] < 0
    assert ((table["stimp_low"] < table["stimp_ft"]) & (table["stimp_ft"] < table["stimp_high"])).all()
    ninth = table[table["spot"] == "ninth-front"].set_index("session")
    assert ninth.loc[3, "stimp_low"] - 0.2 < 9.5 * 0.91 < ninth.loc[3, "stimp_high"] + 0.2
    assert ninth["time"].is_monotonic_increasing
    stated = cell(series.fit.estimates, "ninth-front", "stimp_ft")
    assert stated == pytest.approx(ninth.loc[4, "stimp_ft"], rel=1e-6)  # the last is planned on


def test_a_thin_session_leans_on_its_neighbours_and_one_alone_says_nothing_of_change():
    sheet = day()
    thin = sheet.frame[(sheet.frame["measured_at"].dt.hour != 12) | (sheet.frame.index % 4 == 0)]
    fit = golfphys.fit(sheet.replaced(thin), session_gap_hours=1.0).series
    assert any("session(s) 2" in caution for caution in fit.cautions)
    width = fit.change["high"] - fit.change["low"]
    assert width[2] > width[3]
    alone = golfphys.fit(day(hours=(9,), changes=(0.0,)), session_gap_hours=1.0).series
    assert any("One session only" in caution for caution in alone.cautions)
    assert alone.change["change_pct"].tolist() == [0.0]


def test_a_spot_that_changes_by_itself_is_named(series):
    """One green mown alone, 15 % faster: the change that all share is not its own."""
    assert not any("did not change" in caution for caution in series.cautions)
    sheet = day()
    mown = (sheet.frame["measured_at"].dt.hour == 12) & (sheet.frame["spot"] == "ninth-front")
    faster = sheet.frame.assign(distance=sheet.frame["distance"].where(~mown, 1.15 * sheet.frame["distance"]))
    cautions = golfphys.fit(sheet.replaced(faster), session_gap_hours=1.0).series.cautions
    assert any("ninth-front did not change in session 2 as the others did" in caution for caution in cautions)


def test_sessions_are_split_at_pauses_and_a_series_that_is_updated_stays_one(series):
    times = pd.to_datetime(["2025-05-06T09:00", "2025-05-06T15:00", "2025-05-06T09:20", "2025-05-07T09:00"])
    sheet = Sheet(kind="rollouts", frame=day().frame.head(4).assign(measured_at=times))
    rolls = rolls_of(sheet, 1.0)
    assert rolls.session.tolist() == [0, 1, 0, 2]
    assert rolls.times[0] == pd.Timestamp("2025-05-06T09:10")
    assert rolls_of(sheet, 100.0).session.tolist() == [0, 0, 0, 0]
    more = golfphys.updated(golfphys.fit(day(), session_gap_hours=1.0), rollouts=day(hours=(22,), changes=(0.0,)))
    assert len(more.series.change) == len(series.change) + 1


def test_what_cannot_be_fitted_is_named():
    refused("rollouts has no rows", lambda: golfphys.fit(sheet_of("spot", [], RAMP, [])))
    refused("distance in row 3", lambda: golfphys.fit(sheet_of("spot", [0, 90], RAMP, [3.0, np.nan])))
    sheet = day()
    rolls = sheet.frame.copy()
    rolls.loc[3, "measured_at"] = pd.NaT
    refused("blank in row 5", lambda: golfphys.fit(sheet.replaced(rolls), session_gap_hours=1.0))
    refused("session_gap_hours", lambda: golfphys.fit(sheet, session_gap_hours=0.0))
