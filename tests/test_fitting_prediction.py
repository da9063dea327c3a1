"""Predictions of new chips, checking back, and what to measure next: shrinkage of the decision, not of parameters."""

import math
from dataclasses import fields, replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from fitted_demo import DEMO, before_chips, demo_fit, script, sheets, shots

import golfphys
from golfphys import BAG, Green, Resistance, check_back, green_drift, updated
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.course_model import Settings
from golfphys.fitting.fit import Keywords
from golfphys.fitting.measuring import Further, further, usual_plans, with_noises
from golfphys.invented import ChipDesign, CourseTruth, RolloutDesign, Station, make_chips, make_rollouts
from golfphys.physics.club import bag_with
from golfphys.planning import ChipPlan, Effort, deciding, plan_chip
from golfphys.planning.deciding import NextMeasurement, next_measurement
from golfphys.sheets import Sheet, read_films

SHOT = shots("sand wedge")


IMPOSSIBLE: dict[str, dict[str, list[object]]] = {
    "shot 1: spot is 'nowhere'; expected one of: practice-low": {"spot": ["nowhere"]},
    "shot 1: spot is ''": {"spot": [""]},
    r"'hedding' is no column of a shot; expected club, lie": {"hedding": [0.1]},
    "shot 1: club is 'spoon'; expected one of": {"club": ["spoon"]},
    "shot 1: no lie is given; expected one of: ": {"lie": [""]},
    "shot 1: target_carry is -103.0; expected a number of m": {"target_carry": [-103.0]},
    "shot 1: target_carry is far; expected a number of m": {"target_carry": ["far"]},
    "shot 1: heading is 90.0; expected a number of rad, a full turn": {"heading": [90.0]},
    "shot 1: neither target_carry nor carry": {"target_carry": [math.nan]},
    "a carry of 140 m is farther than a lob wedge flies": {"club": ["lob wedge"], "target_carry": [140.0]},
}


@pytest.mark.parametrize("words", IMPOSSIBLE)
def test_a_shot_that_cannot_be_is_refused_with_what_to_do(words: str) -> None:
    refused(words, lambda: before_chips().predict({**SHOT, **IMPOSSIBLE[words]}, n=50))


def test_a_prediction_without_a_heading_is_less_sure_than_with_one() -> None:
    fit = demo_fit()
    twelve = {name: value * 12 for name, value in SHOT.items()} | {"heading": list(np.radians(range(0, 360, 30)))}
    each = fit.predict(twelve, n=4000).table()
    blank = fit.predict({name: value for name, value in SHOT.items() if name != "heading"}, n=4000).table().iloc[0]
    assert blank["rest_high"] - blank["rest_low"] > 1.2 * (each["rest_high"] - each["rest_low"]).median()
    assert blank["rest_high"] > each["rest_high"].median()
    assert blank["rest_low"] < each["rest_low"].median()


def test_what_the_fit_cannot_use_of_a_chip_is_said_and_a_blank_lie_is_not_taken_as_fairway() -> None:
    frame = pd.DataFrame(
        {"club": "sand wedge", "lie": ["fairway", "", None, "fairway", "fairway"], "carry": [6.0, 6.2, 5.8, 6.1, 5.9]}
        | {"rest": [9.0, 9.3, 8.7, 9.1, 7.0], "lie_slope": [0.0, np.nan, 0.05, 0.0, 0.0]}
        | {"option": ["", "usual", None, "Face opened", "left-handed"]}
    )
    fit = golfphys.fit(Sheet(kind="chips", frame=frame))
    assert fit.seen.chips is not None
    logged = fit.draws(fit.spots[0], 8).logged
    assert logged.options == {"usual": 3, "face opened 20 degrees": 1}
    assert logged.left_out == ("No option is known by the name 'left-handed': chips in row 6 are left out.",)
    assert "lie not noted" in fit.seen.lies
    for words in (
        "No option is known by the name 'left-handed': chips in row 6 are left out",
        "A slope under the ball is noted in row 4",
        "No lie is noted for rows 3, 4",
        "Only the sand wedge was hit",
    ):
        assert any(words in text for text in fit.cautions), words


def test_noise_that_no_sheet_shows_is_that_of_the_prior() -> None:
    fit = golfphys.fit(sheets()[1])
    drawn = with_noises(fit, fit.completed(20, 0))
    assert drawn.column("scatter_relative")[0] == fit.settings.priors.scatter_relative


def test_one_call_takes_whatever_sheets_there_are() -> None:
    rollouts, drops, _ = sheets()
    both = golfphys.fit(drops, rollouts)
    pd.testing.assert_frame_equal(both.estimates, before_chips().estimates)
    refused("two sheets of drops", lambda: golfphys.fit(drops, drops))
    refused("str is no sheet of films, .* nor a course; golfphys.read_sheet", lambda: golfphys.fit("rollouts.csv"))
    refused("putts is no sheet of films, rollouts", lambda: golfphys.fit(Sheet(kind="putts", frame=drops.frame)))
    refused("fit has no option 'laws'; expected one of: turf_law, law,", lambda: golfphys.fit(drops, laws="linear"))
    refused("Sheets are given without a name", lambda: golfphys.fit(drops=drops))
    settings = {item.name for item in fields(Settings)}
    assert settings == set(Keywords.__annotations__) - {"draws", "seed"} | {"past", "ground"}


def test_films_are_fitted_with_the_rolls_of_their_spots() -> None:
    films, rollouts = read_films(DEMO / "films.csv"), sheets()[0]
    together = golfphys.fit(films, rollouts)
    assert len(together.films.estimates)
    logged = together.draws("home-left", 8).logged
    assert logged.films == films.frame["roll"].nunique()
    assert logged.level_roll == tuple(together.estimates.loc[("home-left", "stimp_m"), ["estimate", "low", "high"]])
    alone = before_chips().estimates.loc[("home-left", "resistance"), "sd"]
    assert together.estimates.loc[("home-left", "resistance"), "sd"] < 1.1 * alone


make_demo = script("make_demo")


def course(faster: float = 1.0) -> CourseTruth:
    greens = {spot: make_demo.truth().greens[spot] for spot in ("practice-low", "home-left")}
    for spot, green in greens.items():
        law = Resistance(constant=green.resistance.constant / faster)
        greens[spot] = replace(green, resistance=law)
    return CourseTruth(greens=greens, distance_scatter=0.06, direction_scatter=0.009)


def evening(seed: int, *, faster: float = 1.0, repeats: int = 4, **changed: Any) -> Any:
    stations = (
        Station(spot="practice-low", heading=math.radians(40.0), edge=2.0),
        Station(spot="home-left", heading=math.radians(10.0), edge=3.0),
    )
    design = ChipDesign(stations=stations, target_low=4.5, target_high=8.0, repeats=repeats)
    return make_chips(course(faster), design, seed, player=make_demo.player(), **changed)


@pytest.mark.thorough
def test_chips_of_the_same_world_are_covered() -> None:
    checked = check_back(demo_fit(), evening(11, repeats=12))
    share = checked.calibration["share"]
    assert 0.80 < share[90] <= 1.0
    assert 0.33 < share[50] < 0.68
    assert checked.groups.loc[("all", "all chips"), "chips"] == len(checked.table)
    assert ((checked.table["place"] > 0) & (checked.table["place"] < 1)).all()


def test_a_faster_green_is_noticed() -> None:
    checked = check_back(demo_fit(), evening(5, faster=1.35))
    assert "the green has become faster or firmer" in " ".join(checked.verdict)
    assert checked.verdict[0].endswith("stopped inside their 90 % intervals: what is off follows.")
    assert checked.verdict[-1].startswith("Most so with the ")
    assert not any(text.startswith("Off") for text in checked.verdict)
    assert checked.groups.loc[("all", "all chips"), "score"] > 2.5


def test_days_of_two_files_whose_rows_are_counted_alike_are_told_apart() -> None:
    log = evening(5, repeats=1)
    frames = [log.frame.assign(sheet=f"{day}.csv", measured_at=pd.Timestamp(2030, 5, day)) for day in (6, 7)]
    checked = check_back(demo_fit(), replace(log, frame=pd.concat(frames, ignore_index=True)))
    days = checked.groups.loc["day", "chips"]
    assert days.index.tolist() == ["2030-05-06", "2030-05-07"]
    assert days.sum() == len(checked.table)


def test_a_bent_club_is_named() -> None:
    clubs = dict(BAG) | {"lob wedge": replace(BAG["lob wedge"], loft=BAG["lob wedge"].loft - math.radians(7.0))}
    checked = check_back(demo_fit(), evening(7, repeats=6, clubs=clubs))
    off = [text for text in checked.verdict if text.startswith("Off: chips with the")]
    assert any("lob wedge" in text for text in off)
    assert not any("8-iron" in text or "pitching wedge" in text for text in off)


def test_drift_of_the_green() -> None:
    design = RolloutDesign(release_speeds=(1.83, 1.4), repeats=2)
    same = green_drift(demo_fit(), make_rollouts(course(), design, 3))
    faster = green_drift(demo_fit(), make_rollouts(course(1.12), design, 3))
    assert not same["changed"].any()
    assert faster["changed"].all()
    assert (faster["change_pct"] - same["change_pct"]).between(8, 20).all()
    moved = make_rollouts(CourseTruth(greens={"elsewhere": Green.from_stimp(10.0)}), design, 3)
    refused("no rolls were fitted at elsewhere", lambda: green_drift(demo_fit(), moved))


@pytest.mark.thorough
def test_new_rows_are_added() -> None:
    log = sheets()[2]
    few = replace(log, frame=log.frame.head(4))
    before = replace(demo_fit(), sheets={"rollouts": None, "drops": sheets()[1], "chips": few})
    new = evening(11, repeats=1)
    fit = updated(before, chips=new)
    assert fit.seen.chips is not None
    assert len(fit.seen.chips) == 4 + len(new.frame)
    assert len(set(zip(fit.seen.chips.row, fit.seen.chips.file, strict=True))) == len(fit.seen.chips)
    assert fit.sheets["drops"].frame.equals(sheets()[1].frame)
    assert fit.settings == before.settings
    refused("nothing new to fit", lambda: updated(fit))


def test_a_log_without_rests_gets_a_sentence() -> None:
    log = evening(1, repeats=1)
    blank = replace(log, frame=log.frame.assign(rest=np.nan))
    refused("no chip with a rest on the green", lambda: check_back(demo_fit(), blank))


SHOTS = shots("sand wedge", "8-iron")


def test_before_any_chip_chips_are_what_is_missing_and_what_was_foretold_of_them_comes_true() -> None:
    table = further(before_chips(), SHOTS)
    chips = table.index.str.startswith("ten")
    assert table["shrinkage"][chips].min() > 0.3
    assert table["shrinkage"][~chips].max() < 0.05
    assert (table["rest_sd_after"] <= table["rest_sd_now"]).all()
    tables = (fit.predict(SHOTS).table()["rest_known_sd"] for fit in (before_chips(), demo_fit()))
    now, after = (np.sqrt(np.mean(known**2)) for known in tables)
    plans = {"ten": Further(chips=10, timed=True, club="8-iron", spot="home-left")}
    assert 1 - after / now > float(further(before_chips(), SHOTS, plans)["shrinkage"].iloc[0]) - 0.05


FEW = {"heading_deg": 40.0, "effort": Effort(draws=200, last=16)}
PLANS = {
    "five chips": Further(chips=5, spot="home-left"),
    "twenty chips": Further(chips=20, spot="home-left"),
    "eight drops": Further(drops=8, spot="home-left"),
    "six rolls": Further(rolls=6, spot="home-left"),
}


def asked(fit: CourseFit) -> ChipPlan:
    known = fit.draws("home-left", 64, heading_deg=40.0)
    return plan_chip(known, to_edge=3.0, to_pin=15.0, effort=Effort(landings=9))


@pytest.fixture(scope="module")
def early() -> NextMeasurement:
    return next_measurement(before_chips(), "home-left", asked(before_chips()), plans=PLANS, **FEW)


def test_without_a_chip_log_chips_are_worth_most_and_a_log_leaves_less_to_win(early: NextMeasurement) -> None:
    saved = early.table["saved"]
    assert saved["twenty chips"] > saved["five chips"] > 5 * max(saved["eight drops"], saved["six rolls"])
    assert saved.between(0.0, early.at_most).all()
    assert (early.table["lead_sd_after"] <= early.lead_sd * (1 + 1e-9)).all()
    assert early.table.index[0] == "twenty chips"
    assert "twenty chips would save" in early.verdict
    chip = asked(demo_fit())
    late = next_measurement(demo_fit(), "home-left", chip, plans=PLANS, **FEW)
    assert (late.pick, late.second) == (chip.pick, chip.played[1].label)
    assert late.at_most < 0.5 * early.at_most
    assert late.table.loc["five chips", "saved"] < 0.2 * early.table.loc["five chips", "saved"]


def drawn(seed: int, *shape: int) -> np.ndarray:
    return np.random.default_rng(seed).standard_normal(shape)


def test_what_can_be_saved_is_the_lead_that_is_not_sure_without_chance() -> None:
    off = 0.01 * drawn(1, 4000, 1)
    sure, level = (np.hstack([2.0 + off - off.mean(), np.full((4000, 1), second)]) for second in (3.0, 2.0))
    assert deciding._saved(sure, np.cov(sure.T)) < 1e-9
    saved = deciding._saved(level, np.cov(level.T))
    assert saved == pytest.approx(0.01 / np.sqrt(2 * np.pi), rel=0.05)
    assert deciding._saved(level, 0.25 * np.cov(level.T)) == pytest.approx(0.5 * saved, rel=0.02)
    lengthy = np.random.default_rng(2).exponential(size=4000)
    known = np.stack([np.ones(4000), lengthy * 1.5 / lengthy.mean()], axis=1)
    exact = 1.0 - 1.5 * (1.0 - np.exp(-1.0 / 1.5))
    halves = known + 0.7 * drawn(3, 2, 4000, 2)
    assert deciding._saved(known, np.cov(known.T)) == pytest.approx(exact, rel=0.03)
    # a normal of that spread says 0.38
    assert deciding._saved(halves.mean(axis=0), deciding.shared(halves)) == pytest.approx(exact, rel=0.15)
    chance = 2.0 + 0.1 * drawn(3, 2, 400, 30)
    counted = deciding._saved(chance.mean(axis=0), np.cov(chance.mean(axis=0).T))
    assert counted > 0.1
    assert deciding._saved(chance.mean(axis=0), deciding.shared(chance)) < 0.6 * counted
    # and what both halves have is kept
    known = 2.0 + 0.1 * drawn(4, 400, 30)
    both = deciding._saved((known + chance).mean(axis=0), deciding.shared(chance + known))
    assert both == pytest.approx(deciding._saved(known, np.cov(known.T)), rel=0.15)


def test_what_is_not_known_or_makes_no_sense_is_named() -> None:
    spoon, fit = {"x": Further(club="spoon", chips=3, spot="home-left")}, before_chips()
    chip = asked(fit)
    refused("plans nothing", Further)
    refused("no loft is known for spoon", lambda: further(fit, SHOTS, spoon))
    refused("no loft is known for spoon", lambda: next_measurement(fit, "home-left", chip, plans=spoon))
    refused("spot is 'moon'", lambda: next_measurement(fit, "moon", chip, plans=PLANS))
    assert len(usual_plans(demo_fit())) >= 8
    hers = replace(demo_fit(), settings=replace(demo_fit().settings, clubs=bag_with(["56-degree wedge"])))
    found = [plan.club for plan in usual_plans(hers, clubs=["8-iron", "56-degree wedge"]).values() if plan.chips]
    assert found == ["8-iron", *["56-degree wedge"] * 3]
