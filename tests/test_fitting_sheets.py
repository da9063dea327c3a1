"""Sheets that do not go together as they stand: sessions, films beside rolls, a visit given twice, rows added later."""

import math
from datetime import datetime
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from conftest import refused

import golfphys
from golfphys import Further, Green, further
from golfphys.fitting.check_back import check_back, green_drift
from golfphys.fitting.course_cautions import several
from golfphys.fitting.fit import fit, fit_weeks, updated
from golfphys.invented import (
    ChipDesign,
    CourseTruth,
    DropDesign,
    FilmDesign,
    FilmedRoll,
    RolloutDesign,
    Station,
    make_chips,
    make_drops,
    make_films,
    make_rollouts,
)
from golfphys.planning import Effort, next_measurement, plan_chip
from golfphys.sheets import Log, Sheet

TRUTH = CourseTruth(greens={"a": Green.from_stimp(10.0, grade=0.02, fall_direction=0.7)})
ROLLS = make_rollouts(TRUTH, RolloutDesign(release_speeds=(1.83,), repeats=2), 1)


def chips(**design):
    return make_chips(TRUTH, ChipDesign(stations=(Station(spot="a", heading=0.3),), repeats=1, **design), 3)


def test_films_beside_rolls_say_what_they_show_and_what_is_odd_in_them():
    films = [FilmedRoll(name=f"r{n}", spot="a", kind="ramp", heading=n * math.pi, speed=1.83) for n in range(2)]
    frames = make_films(TRUTH, FilmDesign(rolls=tuple(films)), 4)
    frames.frame.loc[5, "distance"] += 0.5
    said, alone = (" ".join(golfphys.fit(ROLLS, *more, law="linear").cautions) for more in ([frames], []))
    assert "was set aside: " in said
    for words in ("One release speed only", "known to 1.6 %"):
        assert words not in said
        assert words in alone


def test_chips_of_an_earlier_session_are_told_of():
    first, last = datetime(2030, 5, 1, 9), datetime(2030, 5, 3, 9)
    days = [make_rollouts(TRUTH, RolloutDesign(repeats=1, first_at=at), 1).frame for at in (first, last)]
    rolls = ROLLS.replaced(pd.concat(days, ignore_index=True))
    early, late = (chips(first_at=at.replace(hour=14)) for at in (first, last))
    (said,) = several({"rollouts": rolls, "chips": early}, 6.0)
    assert "were played before the last session of rolls" in said
    assert several({"rollouts": rolls, "chips": late}, 6.0) == []
    assert several({"rollouts": rolls, "chips": early}, None) == []


def test_a_visit_that_is_in_the_past_as_well_is_refused():
    log = chips()
    refused("rows of chips are in the past as well", lambda: golfphys.fit(ROLLS, log, past=[(ROLLS, log)]))
    refused("rows of chips are in the past as well", lambda: fit_weeks([(ROLLS, log), (ROLLS, log)]))


def test_new_rows_are_named_as_such():
    fit, new = golfphys.fit(ROLLS), make_rollouts(TRUTH, RolloutDesign(repeats=2, release_speeds=(1.83,)), 2)
    new.frame.loc[1, "distance"] *= 3.0
    said = " ".join(golfphys.updated(fit, rollouts=new).cautions)
    assert f"Row {new.frame['row'].iloc[1]} of the new rollouts" in said


@pytest.mark.parametrize("plan", [Further(rolls=8, spot="zz"), Further(chips=8, spot="a", lie="bog")])
def test_a_measurement_that_nobody_can_make_is_refused(plan):
    fit = golfphys.fit(ROLLS)
    chip = plan_chip(fit.draws("a", 8), to_edge=3.0, to_pin=15.0, effort=Effort(landings=9, last=8))
    with np.errstate(all="raise"):
        refused("is called (zz|bog); expected one of", lambda: next_measurement(fit, "a", chip, plans={"odd": plan}))


FILMED = FilmedRoll(name="r", spot="a", kind="ramp", heading=0.0, speed=1.83)
TOWEL = {"club": "sand wedge", "lie": "tight", "distance": 8.0, "target_size": 1.5, "tries": 10, "hits": [4, 5]}
BY_HAND = {
    "rollouts": ROLLS.frame,
    "films": make_films(TRUTH, FilmDesign(rolls=(FILMED,)), 4).frame,
    "drops": make_drops(TRUTH, DropDesign(), 5).frame,
    "targets": pd.DataFrame(TOWEL),
}


@pytest.mark.parametrize(
    ("kind", "column", "cell", "said"),
    [
        ("rollouts", "heading", 90.0, r"heading in row 3 of .* is 90; expected a number from -3.142 to 6.283 rad"),
        ("rollouts", "distance", 300.0, "distance in row 3 .* is 300; expected a number from 0 to 120 m"),
        ("rollouts", "distance", math.nan, "distance in row 3 .* is blank"),
        ("rollouts", "spot", None, "spot in row 3 .* is blank; expected a name"),
        ("rollouts", "row", math.nan, "row in row 3 .* is blank"),
        ("rollouts", "measured_at", "noon", "measured_at of the sheet of rollouts is no datetime, such as 2030-05-31"),
        ("films", "time", math.nan, "time in row 3 .* is blank"),
        ("films", "time", 0.0, "time in row 3 is 0 s; expected more than in the frame before of 'r'"),
        ("drops", "drop_height", math.nan, "nothing was seen of the drops in row 3; expected the drop height"),
        ("targets", "hits", math.nan, "hits in row 3 .* is blank"),
        ("targets", "hits", 11, "row 3 of the sheet of targets has more hits than tries"),
    ],
)
def test_a_cell_that_no_reader_lets_in_is_refused_in_a_sheet_by_hand(kind, column, cell, said):
    frame = BY_HAND[kind].astype({column: object})
    frame.loc[1, column] = cell
    refused(said, lambda: fit(Sheet(kind=kind, frame=frame)))


def test_what_is_no_sheet_that_can_be_used_is_refused():
    found = fit(ROLLS)
    refused("there is no visit to fit", lambda: fit_weeks([]))
    refused("the sheet of targets has no column 'club'", lambda: fit(Sheet(kind="targets", frame=ROLLS.frame[["row"]])))
    log = Log(folder=Path("demo player"), notes=[], chips=chips().replaced(chips().frame.drop(columns="date")))
    refused("a sheet of past has no column 'date'", lambda: fit_weeks(log))
    refused("there is no sheet of chips; expected one", lambda: check_back(found, None))
    refused("DataFrame is no sheet of rollouts", lambda: green_drift(found, ROLLS.frame))
    refused("the sheet of rollouts has no rows", lambda: green_drift(found, ROLLS.replaced(ROLLS.frame.head(0))))
    shot = {"club": "sand wedge", "lie": "fairway", "heading": 0.0, "target_carry": 6.0}
    refused("shot 1: no lie is given", lambda: found.predict(shot | {"lie": None}))
    for plans in ({}, {"eight": RolloutDesign()}):
        refused("expected at least one golfphys.Further by its name", lambda: further(found, shot, plans))  # noqa: B023
    refused("drops is no sheet of rollouts", lambda: updated(found, rollouts=Sheet(kind="drops", frame=ROLLS.frame)))


def test_blank_names_and_days_as_text_are_taken_and_every_set_keeps_its_own_counts():
    rows = {"player": [None, "demo player"], "date": "2030-05-01", "option": ["hopped", ""], "hits": [0, 9]}
    targets = Sheet(kind="targets", frame=pd.DataFrame(TOWEL | rows))
    found = fit(targets)
    assert found.cautions == ["No option is known by the name 'hopped': target hits in row 2 are left out."]
    assert found.seen.targets.hits.tolist() == [9.0]
    days = Sheet(kind="rollouts", frame=ROLLS.frame.assign(measured_at="2030-05-01T09:00+02:00").drop(columns="row"))
    assert green_drift(fit(days, session_gap_hours=1), days).index.tolist() == [("a", "2030-05-01")]


def test_tables_say_which_of_several_files_a_row_is_of():
    rolls, log = (
        sheet.replaced(sheet.frame.assign(row=2, sheet=sheet.frame.index.astype(str))) for sheet in (ROLLS, chips())
    )
    found = fit(rolls, log)
    tables = [found.residuals, check_back(found, log).table, found.mis_hits.reset_index()]
    for seen, table in ((rolls, found.rollouts.residuals), *((log, table) for table in tables)):
        assert table.columns[:2].tolist() == ["row", "sheet"]
        assert set(table["sheet"]) == set(seen.frame["sheet"])
    assert "sheet" not in fit(ROLLS).rollouts.residuals


def test_chips_at_a_spot_of_the_ground_around_the_green_are_of_the_green():
    rolls, log = (sheet.frame.assign(spot=["fringe left", *sheet.frame["spot"][1:]]) for sheet in (ROLLS, chips()))
    found = fit(ROLLS.replaced(rolls), Sheet(kind="chips", frame=log))
    assert (found.spots, list(found.around)) == (("a",), ["fringe"])
    assert found.estimates.index.is_unique
    assert "The spot in row 2 is ground around the green: taken as played to a." in " ".join(found.cautions)


def test_sessions_of_the_ground_around_the_green_are_told_apart():
    days = {datetime(2030, 5, 1, 9): 4.5, datetime(2030, 5, 3, 9): 6.0}
    made = (
        make_rollouts(
            CourseTruth(greens={**TRUTH.greens, "fringe": Green.from_stimp(feet)}),
            RolloutDesign(repeats=2, first_at=at),
            1,
        )
        for at, feet in days.items()
    )
    rolls = ROLLS.replaced(pd.concat([sheet.frame for sheet in made], ignore_index=True))
    averaged, found = fit(rolls), fit(rolls, session_gap_hours=6)
    for one, off in ((averaged, False), (found, True)):
        assert bool(one.estimates.loc[("fringe", "stimp_ft"), "low"] > 5.3) is off
        assert any("fit the sheet with session_gap_hours" in text for text in one.cautions) is not off


def test_slopes_that_chips_tell_are_not_called_assumptions():
    found = fit(Sheet(kind="chips", frame=chips().frame)).estimates
    assert found.loc[("a", "grade_left"), "informed"]
    assert found.loc[("a", "grade_left"), "sd"] < 0.015
    blind = Sheet(kind="chips", frame=chips().frame.assign(side=np.nan, landing_side=np.nan))
    assert not fit(blind).estimates.loc["a", "informed"].any()


def test_target_hits_alone_show_how_she_errs():
    few, many = (
        Sheet(kind="targets", frame=pd.DataFrame(TOWEL | {"tries": n, "hits": [n // 2, n // 2]})) for n in (10, 200)
    )
    table, more = (fit(sheet).estimates.loc["club sand wedge"] for sheet in (few, many))
    assert table["informed"].tolist() == [False] * len(table)
    assert more.index[more["informed"]].tolist() == ["landing_sd_at_6_m", "carry_bias"]


def test_new_chips_are_not_praised_where_they_are_few_or_the_green_is_not_known():
    found, log = fit(ROLLS), chips()
    few = check_back(found, log.replaced(log.frame.head(3).assign(spot="b")))
    assert few.verdict == ["3 chips cannot tell whether the fit holds: hold 5 or more to it."]
    assert few.notes[-1].startswith("The fit has not seen the green at b: ")
    assert not any("has not seen" in note for note in check_back(found, log).notes)


def test_what_cannot_be_invented_is_refused():
    station = Station(spot="a", heading=0.0)
    refused("truth is None; expected CourseTruth", lambda: make_rollouts(None, RolloutDesign(), 1))
    refused("seed is 'x'", lambda: make_drops(TRUTH, DropDesign(), "x"))
    refused("expected a Green for at least one spot", lambda: CourseTruth(greens={"a": 10.0}))
    refused("expected FilmedRolls with a speed above 0", lambda: FilmDesign(rolls=()))
    for stations, words in (((), "needs at least one station"), ((station, "a"), "a station is 'a'; expected a golf")):
        refused(words, lambda stations=stations: make_chips(TRUTH, ChipDesign(stations=stations), 1))
