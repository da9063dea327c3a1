"""What to measure next: shrinkage of the decision, not of parameters."""

import numpy as np
import pytest
from conftest import refused
from fitted_demo import before_chips, demo_fit, shots

from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.further import Further, further, usual_plans
from golfphys.planning import ChipPlan, Effort, deciding, plan_chip
from golfphys.planning.deciding import NextMeasurement, next_measurement

SHOTS = shots("sand wedge", "8-iron")


def test_before_any_chip_chips_are_what_is_missing() -> None:
    table = further(before_chips(), SHOTS)
    chips = table[[name.startswith("ten") for name in table.index]]["shrinkage"]
    others = table[[not name.startswith("ten") for name in table.index]]["shrinkage"]
    assert chips.min() > 0.3
    assert others.max() < 0.05
    assert (table["rest_sd_after"] <= table["rest_sd_now"]).all()


def test_what_was_foretold_comes_true() -> None:
    now = np.sqrt(np.mean(before_chips().predict(SHOTS).table()["rest_known_sd"] ** 2))
    after = np.sqrt(np.mean(demo_fit().predict(SHOTS).table()["rest_known_sd"] ** 2))
    plans = {"ten": Further(chips=10, timed=True, club="8-iron", spot="home-left")}
    foretold = float(further(before_chips(), SHOTS, plans)["shrinkage"].iloc[0])
    assert 1 - after / now > foretold - 0.05


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


def test_without_a_chip_log_chips_are_worth_most(early: NextMeasurement) -> None:
    saved = early.table["saved"]
    assert saved["twenty chips"] > saved["five chips"] > 5 * max(saved["eight drops"], saved["six rolls"])
    assert saved.between(0.0, early.at_most).all()
    assert (early.table["lead_sd_after"] <= early.lead_sd * (1 + 1e-9)).all()
    assert early.table.index[0] == "twenty chips"
    assert "twenty chips would save" in early.verdict


def test_a_log_leaves_less_to_win(early: NextMeasurement) -> None:
    chip = asked(demo_fit())
    late = next_measurement(demo_fit(), "home-left", chip, plans=PLANS, **FEW)
    assert (late.pick, late.second) == (chip.pick, chip.played[1].label)
    assert late.at_most < 0.5 * early.at_most
    assert late.table.loc["five chips", "saved"] < 0.2 * early.table.loc["five chips", "saved"]


def drawn(seed: int, *shape: int) -> np.ndarray:
    return np.random.default_rng(seed).standard_normal(shape)


def test_a_lead_that_is_sure_leaves_nothing_to_save() -> None:
    off = 0.01 * drawn(1, 4000, 1)
    sure, level = (np.hstack([2.0 + off - off.mean(), np.full((4000, 1), second)]) for second in (3.0, 2.0))
    assert deciding._saved(sure, np.cov(sure.T)) < 1e-9
    saved = deciding._saved(level, np.cov(level.T))
    assert saved == pytest.approx(0.01 / np.sqrt(2 * np.pi), rel=0.05)
    assert deciding._saved(level, 0.25 * np.cov(level.T)) == pytest.approx(0.5 * saved, rel=0.02)


def test_skewed_strokes_save_what_they_do_and_not_what_a_normal_would() -> None:
    lengthy = np.random.default_rng(2).exponential(size=4000)
    known = np.stack([np.ones(4000), lengthy * 1.5 / lengthy.mean()], axis=1)
    exact = 1.0 - 1.5 * (1.0 - np.exp(-1.0 / 1.5))
    halves = known + 0.7 * drawn(3, 2, 4000, 2)
    assert deciding._saved(known, np.cov(known.T)) == pytest.approx(exact, rel=0.03)
    # a normal of that spread says 0.38
    assert deciding._saved(halves.mean(axis=0), deciding.shared(halves)) == pytest.approx(exact, rel=0.15)


def test_chance_in_the_strokes_is_nothing_that_could_be_known() -> None:
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
