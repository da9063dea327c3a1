"""Sheets that do not go together as they stand: sessions, films beside rolls, a visit given twice, rows added later."""

import math
from datetime import datetime

import numpy as np
import pandas as pd
import pytest
from conftest import refused

import golfphys
from golfphys import Further, Green
from golfphys.fitting.course_cautions import several
from golfphys.fitting.fit import fit_weeks
from golfphys.invented import (
    ChipDesign,
    CourseTruth,
    FilmDesign,
    FilmedRoll,
    RolloutDesign,
    Station,
    make_chips,
    make_films,
    make_rollouts,
)
from golfphys.planning import Effort, next_measurement, plan_chip

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
