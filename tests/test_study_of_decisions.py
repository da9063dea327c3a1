"""The rivals in the study of decisions are able ones, and its cases are what their number says."""

import math

import numpy as np
import pytest
from studies import rivals
from studies.worlds import SPOT, WORLDS, draw_case, measure

from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
from golfphys.physics.club import BAG
from golfphys.physics.green import Green


def test_the_analyst_reads_slope_and_speed_from_rolls():
    green = Green.from_stimp(10.0, grade=0.02, fall_direction=0.7)
    truth = CourseTruth(greens={SPOT: green}, distance_scatter=0.0, direction_scatter=0.0)
    slope = rivals.slope_of(make_rollouts(truth, RolloutDesign(), 1).rolls)
    assert slope.resistance == pytest.approx(green.resistance.constant, rel=0.02)
    assert slope.resistance * slope.down(0.3) == pytest.approx(0.02 * math.cos(0.7 + 0.3), abs=0.001)
    assert slope.resistance * slope.left(0.3) == pytest.approx(0.02 * math.sin(0.7 + 0.3), abs=0.001)


def test_one_bad_value_hardly_moves_the_regression():
    columns = np.stack([np.ones(20), np.arange(20.0)], axis=1)
    values = columns @ [1.0, 0.5] + 0.01 * np.cos(np.arange(20))
    values[7] += 30.0
    assert rivals.huber(columns, values, np.zeros(2), np.full(2, np.inf)) == pytest.approx([1.0, 0.5], abs=0.03)


@pytest.mark.parametrize("world", WORLDS)
def test_a_case_comes_back_by_its_number(world):
    first, again = (measure(draw_case(world, 3), 0.5) for _ in range(2))
    assert first.chips.chips.equals(again.chips.chips)
    assert first.rollouts.rolls.equals(again.rollouts.rolls)
    assert not first.chips.chips.equals(measure(draw_case(world, 4), 0.5).chips.chips)


@pytest.mark.parametrize("world", WORLDS)
def test_the_regression_foretells_runs_it_was_fitted_to(world):
    case = draw_case(world, 3)
    sheets = measure(case, 1.0)
    found, chips = rivals.regress(sheets), sheets.chips.chips
    landing = chips["carry"].fillna(chips["target_carry"])
    loft = chips["club"].map({name: club.loft for name, club in BAG.items()}).to_numpy(float)
    rough = (chips["lie"] == "light rough").to_numpy(float)
    meant = np.exp(found.log_run(loft, rough, landing.to_numpy(), chips["heading"].to_numpy()))
    away = np.abs(np.log(np.maximum((chips["rest"] - landing).to_numpy(), 0.1) / meant))
    assert float(np.median(away)) < 0.2
    choice = rivals.analyst(sheets, case.position, case.heading)
    assert choice.club in BAG
    assert case.position.to_edge < choice.landing <= case.position.to_pin
