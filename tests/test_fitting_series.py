"""Change over time: what a day does to a green."""

from datetime import datetime

import pandas as pd
import pytest
from conftest import refused

import golfphys
from golfphys import CourseTruth, Green, RolloutDesign, make_rollouts
from golfphys.fitting.results import cell
from golfphys.fitting.rollout_layout import sessions_of
from golfphys.sheets import RolloutSheet

HOURS = (9, 12, 15, 19)
CHANGE = (0.0, -0.05, -0.09, -0.01)


def day(hours=HOURS, changes=CHANGE, repeats=1):
    parts = []
    for i, (hour, change) in enumerate(zip(hours, changes, strict=True)):
        greens = {
            "practice-low": Green.from_stimp(10.2 * (1 + change), grade=0.01, fall_direction=0.5),
            "ninth-front": Green.from_stimp(9.5 * (1 + change), grade=0.02, fall_direction=2.0),
        }
        truth = CourseTruth(greens=greens, distance_scatter=0.05)
        design = RolloutDesign(repeats=repeats, first_at=datetime(2025, 5, 6, hour))
        parts.append(make_rollouts(truth, design, i).rolls)
    rolls = pd.concat(parts, ignore_index=True).assign(row=range(2, 2 + sum(map(len, parts))))
    return RolloutSheet(rolls=rolls, notes=[], path="", comments=[])


@pytest.fixture(scope="module")
def series():
    return golfphys.fit(day(), session_gap_hours=1.0).series


def test_change_is_found_and_bracketed(series):
    table = series.change
    assert list(table.index) == [1, 2, 3, 4]
    assert table["rolls"].tolist() == [8, 8, 8, 8]
    assert (table.loc[1, "change_pct"], table.loc[1, "low"], table.loc[1, "high"]) == (0.0, 0.0, 0.0)
    for session, change in zip((2, 3, 4), CHANGE[1:], strict=True):
        spread = (table.loc[session, "high"] - table.loc[session, "low"]) / 3.29
        assert table.loc[session, "change_pct"] == pytest.approx(100 * change, abs=3 * spread)
    assert table.loc[3, "high"] < 0


def test_table_has_every_spot_in_every_session(series):
    table = series.table
    assert len(table) == 8
    assert (table["stimp_low"] < table["stimp_ft"]).all()
    assert (table["stimp_ft"] < table["stimp_high"]).all()
    noon = table[(table["spot"] == "ninth-front") & (table["session"] == 3)].iloc[0]
    assert noon["stimp_low"] - 0.2 < 9.5 * 0.91 < noon["stimp_high"] + 0.2
    assert all(own["time"].is_monotonic_increasing for _, own in table.groupby("spot"))
    assert cell(series.fit.estimates, "ninth-front", "stimp_ft") == pytest.approx(
        table[(table["spot"] == "ninth-front") & (table["session"] == 1)].iloc[0]["stimp_ft"], rel=1e-6
    )


def test_a_thin_session_leans_on_its_neighbours():
    sheet = day()
    thin = sheet.rolls[(sheet.rolls["measured_at"].dt.hour != 12) | (sheet.rolls.index % 4 == 0)]
    fit = golfphys.fit(sheet.replaced(thin), session_gap_hours=1.0).series
    assert any("session(s) 2" in caution for caution in fit.cautions)
    width = fit.change["high"] - fit.change["low"]
    assert width[2] > width[3]


def test_one_session_says_nothing_of_change():
    fit = golfphys.fit(day(hours=(9,), changes=(0.0,)), session_gap_hours=1.0).series
    assert any("One session only" in caution for caution in fit.cautions)
    assert fit.change["change_pct"].tolist() == [0.0]


def test_sessions_are_split_at_pauses():
    times = pd.Series(pd.to_datetime(["2025-05-06T09:00", "2025-05-06T15:00", "2025-05-06T09:20", "2025-05-07T09:00"]))
    session, middles = sessions_of(times, 1.0)
    assert session.tolist() == [0, 1, 0, 2]
    assert middles[0] == pd.Timestamp("2025-05-06T09:10")
    assert sessions_of(times, 100.0)[0].tolist() == [0, 0, 0, 0]


def test_missing_times_are_named():
    sheet = day()
    rolls = sheet.rolls.copy()
    rolls.loc[3, "measured_at"] = pd.NaT
    with pytest.raises(ValueError, match="blank in row 5"):
        golfphys.fit(sheet.replaced(rolls), session_gap_hours=1.0)
    refused("session_gap_hours", lambda: golfphys.fit(sheet, session_gap_hours=0.0))
