"""Options in the log: her scatter and delivery with each come out, her usual ones are not moved, and plans use them."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest

from golfphys import OPTIONS, TOUR_PLAYER, CourseFit, Effort, Green, Option, Position, assumed, fit, plan_chip
from golfphys.invented import ChipDesign, CourseTruth, RolloutDesign, Station, make_chips, make_rollouts
from golfphys.physics.usual import OPTION_ERRORS, OPTION_LEAN
from golfphys.planning.position import Choice
from golfphys.planning.swings import brought

SPOT, LEVEL, OPEN = "low", "hands level", "face opened 20 degrees"
TRUTH = CourseTruth(greens={SPOT: Green.from_stimp(10.0, grade=0.01)})
LOOSE = replace(OPTIONS[LEVEL], wider=2.2, lean=OPTIONS[LEVEL].lean - math.radians(4.0))
SMALL = Effort(draws=16, landings=9, errors=4, last=32)


def log(option: Option, seed: int, repeats: int) -> pd.DataFrame:
    player = replace(
        TOUR_PLAYER, delivery=option.delivery(TOUR_PLAYER.delivery), errors=option.errors(TOUR_PLAYER.errors)
    )
    stations = tuple(Station(spot=SPOT, heading=heading, edge=1.0) for heading in (0.0, 1.6, 3.1))
    design = ChipDesign(stations=stations, clubs=("gap wedge", "sand wedge"), lies=("fairway",), repeats=repeats)
    return make_chips(TRUTH, design, seed, player=player).chips.assign(option=option.name)


@cache
def fitted(*options: Option) -> CourseFit:
    sheet = make_chips(TRUTH, ChipDesign(stations=(Station(spot=SPOT, heading=0.0),), repeats=1), 1)
    rows = [log(OPTIONS["usual"], 0, 12), *(log(option, 100 + number, 12) for number, option in enumerate(options))]
    chips = pd.concat(rows, ignore_index=True)
    chips["row"] = np.arange(2, len(chips) + 2)
    return fit(make_rollouts(TRUTH, RolloutDesign(repeats=2), 1), replace(sheet, chips=chips), draws=1000)


def test_an_option_played_twice_as_loosely_is_found_and_her_usual_delivery_is_not_moved() -> None:
    found, alone = fitted(LOOSE), fitted()
    factor = found.estimates.loc[(f"option {LEVEL}", "errors_over_usual")]
    assert factor["informed"]
    assert factor["low"] < LOOSE.wider < factor["high"]
    assert factor["estimate"] > 1.5 * OPTIONS[LEVEL].wider
    lean = found.estimates.loc[(f"option {LEVEL}", "lean_beside_stated_deg")]
    assert lean["low"] < -4.0 < lean["high"] < 1.0
    for name in ("speed_error_pct", "direction_error_deg", "shaft_lean_deg", "carry_bias", "start_direction_deg"):
        before, after = (item.estimates.loc[("player", name)] for item in (alone, found))
        assert abs(after["estimate"] - before["estimate"]) < before["sd"], name


def test_a_plan_swings_as_the_log_has_it() -> None:
    choice, position = Choice(club="sand wedge", option=OPTIONS[LEVEL]), Position(to_edge=3.0, to_pin=12.0)
    loose, usual = (item.draws(SPOT, 64, 2) for item in (fitted(LOOSE), fitted()))
    errors = [float(np.median(np.asarray(brought(choice, one, position)[3].speed))) for one in (loose, usual)]
    assert errors[0] > 1.4 * errors[1]
    plans = [plan_chip(one, position=position, options=(OPTIONS[LEVEL],), effort=SMALL) for one in (loose, usual)]
    said = [f"{LEVEL.capitalize()}: no chip in the log" in " ".join(plan.cautions) for plan in plans]
    assert said == [False, True]
    spread = [plan.table.set_index("club").loc[choice.label, "rest_side_sd_m"] for plan in plans]
    assert spread[0] > 1.3 * spread[1]


def test_an_option_never_logged_is_drawn_about_how_it_is_usually_played() -> None:
    rolls = fit(make_rollouts(TRUTH, RolloutDesign(repeats=2), 1), draws=400)
    for draws in (fitted().draws(SPOT, 256), fitted(LOOSE).draws(SPOT, 256), rolls.draws(SPOT, 256), assumed(n=256)):
        assert draws.options["usual"] == OPTIONS["usual"]
        for name in (OPEN, "putter"):
            found, usual = draws.options[name], OPTIONS[name]
            assert np.median(found.wider) == pytest.approx(usual.wider, rel=0.15)
            assert np.std(np.log(found.wider)) == pytest.approx(OPTION_ERRORS, rel=0.15)
        assert np.std(draws.options[OPEN].lean) == pytest.approx(OPTION_LEAN, rel=0.15)
    # of a player who is stated they are stated too
    assert assumed(player=TOUR_PLAYER, n=16).options == OPTIONS


@pytest.mark.thorough
def test_an_opened_face_is_no_other_lie_or_loft() -> None:
    found = fitted(OPTIONS[OPEN])
    for name, true in (("errors_over_usual", OPTIONS[OPEN].wider), ("lean_beside_stated_deg", 0.0)):
        row = found.estimates.loc[(f"option {OPEN}", name)]
        assert row["low"] < true < row["high"], name
    lean = found.estimates.loc[("player", "shaft_lean_deg")]
    assert lean["low"] < math.degrees(TOUR_PLAYER.delivery.shaft_lean) < lean["high"]
