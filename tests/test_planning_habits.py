"""What habits cost: differences of expected strokes on the same shots, and words that say what the table does."""

from dataclasses import replace

import numpy as np
import pandas as pd
import pytest

from golfphys.physics.club import BAG, DEFAULT_PLAYER, Scatter
from golfphys.physics.green import Green, GroundBatch
from golfphys.planning import PositionSpread, price_habits
from golfphys.planning.habits import CHOOSING, JUST_ON, _verdict

TEN = Green.from_stimp(10.0)
TWO = {name: BAG[name] for name in ("8-iron", "lob wedge")}
QUICK = {"landings": 13, "shots": 64, "positions": 6}


@pytest.fixture(scope="module")
def prices():
    random = np.random.default_rng(2)
    values = {"constant": TEN.resistance.constant * np.exp(0.05 * random.standard_normal(32))}
    return price_habits(GroundBatch(ground=TEN, values=values), bag=TWO, **QUICK)


def test_costs_are_over_choosing_each_time(prices):
    table = prices.table.set_index("habit")
    assert set(table.index) == {CHOOSING, "8-iron for everything", "lob wedge for everything", JUST_ON}
    assert table.loc[CHOOSING, "cost"] == 0.0
    assert table["cost"].to_numpy() == pytest.approx((table["strokes"] - table.loc[CHOOSING, "strokes"]).to_numpy())
    assert (table["cost_low"] <= table["cost"]).all()
    assert (table["cost"] <= table["cost_high"]).all()
    assert prices.strokes.shape == (6, 4, 64)
    assert len(prices.positions) == 6
    assert set(prices.positions["chosen"]) <= set(TWO)


def test_the_best_club_at_each_position_costs_least(prices):
    assert prices.table.set_index("habit")["cost"].min() > -0.02


def test_a_player_steady_with_one_club_only_should_keep_it():
    steady = Scatter(distance_absolute=0.05, distance_relative=0.02, direction=0.01, angle=0.01, spin_relative=0.05)
    player = replace(DEFAULT_PLAYER, name="one club", by_club={"8-iron": steady})
    spread = PositionSpread(to_edge=(1.0, 2.0), green_to_work_with=(12.0, 18.0), lies={"fairway": 1.0})
    prices = price_habits(TEN, player=player, bag=TWO, spread=spread, **QUICK)
    table = prices.table.set_index("habit")
    assert abs(table.loc["8-iron for everything", "cost"]) < 0.02
    assert table.loc["lob wedge for everything", "cost_low"] > 0.0
    assert "hardly pays" in prices.verdict
    assert "8-iron" in prices.verdict


def row(habit, cost, low, high):
    return {"habit": habit, "strokes": 2.0, "cost": cost, "cost_low": low, "cost_high": high, "sure": 0.97}


@pytest.mark.parametrize(
    ("cost", "words"),
    [
        ((0.08, 0.05, 0.11), "Changing clubs pays for this player: keeping the gap wedge"),
        ((0.005, 0.001, 0.009), "Changing clubs hardly pays"),
        ((0.03, 0.005, 0.055), "is not settled"),
    ],
)
def test_the_verdict_says_what_the_interval_allows(cost, words):
    table = pd.DataFrame([row("gap wedge for everything", *cost), row(JUST_ON, 0.2, 0.1, 0.3)])
    assert words in _verdict(table)
    assert "Always landing it just on costs: 0.200 (0.100 to 0.300)." in _verdict(table)


def test_positions_come_from_the_stated_spread():
    spread = PositionSpread(to_edge=(2.0, 3.0), green_to_work_with=(4.0, 5.0), lies={"wet": 1.0}, any_heading=False)
    for position, heading in spread.draw(50, 1):
        assert 2.0 <= position.to_edge <= 3.0
        assert 4.0 <= position.green_to_work_with <= 5.0
        assert position.lie == "wet"
        assert heading == 0.0


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"to_edge": (3.0, 2.0)}, "to_edge is"),
        ({"green_to_work_with": (0.0, 2.0)}, "green_to_work_with is"),
        ({"lies": {"fairway": 0.5}}, "add up to 1"),
    ],
)
def test_a_spread_that_makes_no_sense_is_refused(change, words):
    with pytest.raises(ValueError, match=words):
        PositionSpread(**change)


def test_one_position_or_one_club_is_not_enough():
    with pytest.raises(ValueError, match="at least 2"):
        price_habits(TEN, bag=TWO, positions=1)
