"""A small version of the coverage study, and the committed result of the whole one."""

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

STUDIES = Path(__file__).parent / "studies"


@pytest.fixture(scope="module")
def study():
    spec = importlib.util.spec_from_file_location("coverage_rollouts", STUDIES / "coverage_rollouts.py")
    module = importlib.util.module_from_spec(spec)
    sys.modules["coverage_rollouts"] = module
    spec.loader.exec_module(module)
    yield module
    del sys.modules["coverage_rollouts"]


@pytest.mark.thorough
def test_forty_courses_are_covered_as_often_as_they_should(study):
    rows = study.study(study.SCENARIOS[0], 40, 7)
    table = pd.DataFrame(rows).set_index("parameter")
    for name in ("resistance", "grade", "fall_direction_deg", "stimp_ft", "grade_along", "grade_left"):
        count = table.loc[name, "intervals"]
        # three standard errors of a share of 0.9; spots of one course are not independent, so half of them count
        assert table.loc[name, "covered_pct"] > 90 - 300 * np.sqrt(0.09 / (count / 2))
    assert table.loc["scatter_single_roll", "covered_pct"] > 75


def test_the_committed_study_covers_ninety_per_cent():
    table = pd.read_csv(STUDIES / "coverage_rollouts.csv")
    held = table[table["scenario"] == "as assumed"]
    assert held["courses"].min() >= 500
    assert held["covered_pct"].between(87, 93).all(), held.to_string()
    main = table[table["parameter"].isin(["resistance", "grade", "fall_direction_deg", "stimp_ft"])]
    assert main["covered_pct"].min() > 85


def test_a_sheet_of_the_study_repeats(study):
    sheets = [study.draw_sheet(study.SCENARIOS[3], np.random.default_rng(3))[1].rolls for _ in range(2)]
    pd.testing.assert_frame_equal(*sheets)
    assert 12 <= len(sheets[0]) <= 60
