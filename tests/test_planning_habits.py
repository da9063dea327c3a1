"""What habits cost: differences of expected strokes on the same shots, and words that say what the table does."""

import pandas as pd
import pytest

from golfphys import BAG, Effort, Green, PositionSpread, assumed, price_habits, stated
from golfphys.planning.what_if import CHOOSING, JUST_ON, _verdict

TEN = Green.from_stimp(10.0)
TWO = {name: BAG[name] for name in ("8-iron", "lob wedge")}
QUICK = {"effort": Effort(draws=16, landings=9, errors=4, last=16), "positions": 5}


@pytest.fixture(scope="module")
def prices():
    return price_habits(assumed(TEN, bag=TWO), **QUICK)


def test_costs_are_over_choosing_each_time(prices):
    table = prices.table.set_index("habit")
    assert set(table.index) == {CHOOSING, "8-iron for everything", "lob wedge for everything", JUST_ON}
    assert table.loc[CHOOSING, "cost"] == 0.0
    assert table["cost"].to_numpy() == pytest.approx((table["strokes"] - table.loc[CHOOSING, "strokes"]).to_numpy())
    assert (table["cost_low"] <= table["cost"]).all()
    assert (table["cost"] <= table["cost_high"]).all()
    assert prices.strokes.shape == (5, 4, 16)
    assert len(prices.positions) == 5
    assert prices.positions["chosen"].str.startswith((*TWO, "putter")).all()


def test_long_pins_are_kept_to_the_iron_and_short_ones_to_the_wedge():
    long = PositionSpread(to_edge=(7.0, 8.0), green_to_work_with=(16.0, 20.0), lies={"fairway": 1.0}, any_heading=False)
    short = PositionSpread(to_edge=(7.0, 8.0), green_to_work_with=(2.5, 4.0), lies={"rough": 1.0}, any_heading=False)
    known = {"effort": Effort(draws=1, landings=13, errors=64, last=256), "positions": 4}
    draws = stated(TEN, bag=TWO)
    far, near = (price_habits(draws, spread=one, **known).table.set_index("habit")["cost"] for one in (long, short))
    assert far["8-iron for everything"] < far["lob wedge for everything"]
    assert near["8-iron for everything"] > near["lob wedge for everything"] + 0.03


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
    assert "Always landing it just on costs: 0.20 (0.10 to 0.30)." in _verdict(table)


def test_positions_come_from_the_stated_spread():
    spread = PositionSpread(to_edge=(2.0, 3.0), green_to_work_with=(4.0, 5.0), lies={"wet": 1.0}, any_heading=False)
    for position, heading in spread.draw(50, 1):
        assert 2.0 <= position.to_edge <= 3.0
        assert 4.0 <= position.to_pin - position.to_edge <= 5.0
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
