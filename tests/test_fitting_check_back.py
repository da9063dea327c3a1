"""Checking back: calibration, what is off, drift of the green, and new rows."""

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pytest
from fitted_demo import DEMO, demo_fit, sheets

from golfphys import BAG, TOUR_PLAYER, Green, Player, Resistance, StrikeErrors, Turf, check_back, green_drift, updated
from golfphys.invented import ChipDesign, CourseTruth, RolloutDesign, Station, make_chips, make_rollouts

TRUTH = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))


def course(faster: float = 1.0) -> CourseTruth:
    greens = {}
    for spot in ("practice-low", "home-left"):
        values = TRUTH["greens"][spot]
        greens[spot] = Green(
            resistance=Resistance(constant=values["resistance"]["constant"] / faster),
            grade=values["grade"],
            fall_direction=values["fall_direction"],
            turf=Turf(**values["turf"]),
        )
    return CourseTruth(greens=greens, distance_scatter=0.06, direction_scatter=0.009)


def player() -> Player:
    by_club = {club: StrikeErrors(**values) for club, values in TRUTH["player"]["by_club"].items()}
    return replace(TOUR_PLAYER, errors=StrikeErrors(**TRUTH["player"]["errors"]), by_club=by_club)


def evening(seed: int, *, faster: float = 1.0, repeats: int = 4, **changed: Any) -> Any:
    stations = (
        Station(spot="practice-low", heading=math.radians(40.0), edge=2.0),
        Station(spot="home-left", heading=math.radians(10.0), edge=3.0),
    )
    design = ChipDesign(stations=stations, target_low=4.5, target_high=8.0, repeats=repeats)
    return make_chips(course(faster), design, seed, player=player(), **changed)


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
    assert checked.groups.loc[("all", "all chips"), "score"] > 2.5


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
    with pytest.raises(ValueError, match="no rolls were fitted at elsewhere"):
        green_drift(demo_fit(), moved)


@pytest.mark.thorough
def test_new_rows_are_added() -> None:
    log = sheets()[2]
    few = replace(log, chips=log.chips.head(4))
    before = replace(demo_fit(), sheets={"rollouts": None, "drops": sheets()[1], "chips": few})
    new = evening(11, repeats=1)
    fit = updated(before, chips=new)
    assert fit.seen.chips is not None
    assert len(fit.seen.chips) == 4 + len(new.chips)
    assert len(np.unique(fit.seen.chips.row)) == len(fit.seen.chips)
    assert fit.sheets["drops"].drops.equals(sheets()[1].drops)
    assert fit.settings == before.settings
    with pytest.raises(ValueError, match="nothing new to fit"):
        updated(fit)


def test_a_log_without_rests_gets_a_sentence() -> None:
    log = evening(1, repeats=1)
    blank = replace(log, chips=log.chips.assign(rest=np.nan))
    with pytest.raises(ValueError, match="no chip with a rest on the green"):
        check_back(demo_fit(), blank)
