"""The green-speed study, sensitivities, and what habits cost: closed forms, differences, words that say the table."""

import numpy as np
import pandas as pd
import pytest

from golfphys import BAG, Green, Position, assumed, carry_and_roll, price_habits, simulate, stated
from golfphys.core.units import METRES_PER_FOOT
from golfphys.planning import Effort, landing_shift, rule_of_twelve, sensitivities
from golfphys.planning.position import slope_along
from golfphys.planning.studies import RULE_OF_12
from golfphys.planning.what_if import CHOOSING, JUST_ON, TO_EDGE, TO_WORK_WITH, HabitPrices, everyday_chips
from golfphys.planning.world import chips_to

ONE = {"gap wedge": BAG["gap wedge"]}
SPEEDS = [8.0, 10.0, 12.0]


def test_run_grows_with_green_speed_firmness_and_downhill_and_shrinks_with_loft():
    runs = carry_and_roll(stimps_ft=SPEEDS, grades=(-0.02, 0.0, 0.02))
    for _, own in runs.groupby(["club", "firmness", "grade"]):
        assert own.sort_values("stimp_ft")["roll_m"].is_monotonic_increasing
    for _, own in runs[runs["grade"] == 0.0].groupby(["club", "stimp_ft"]):
        soft, middling, firm = own.set_index("firmness")["roll_m"].loc[["soft", "middling", "firm"]]
        assert soft < middling < firm
    for _, own in runs.groupby(["club", "stimp_ft", "firmness"]):
        assert own.sort_values("grade")["roll_m"].is_monotonic_decreasing
    for _, own in runs.groupby(["stimp_ft", "firmness", "grade"]):
        assert own.set_index("club")["roll_m"].loc[list(BAG)].is_monotonic_decreasing


def test_the_landing_spot_stops_the_ball_at_the_pin_and_moves_by_its_slope():
    table = landing_shift(stimps_ft=[9.0, 10.0, 11.0], to_pins=[15.0], grades=[0.01])
    own = table[table["club"] == "gap wedge"].set_index("stimp_ft")
    green = Green.from_stimp(10.0, **slope_along(0.01))
    launch = chips_to(own.loc[10.0, "landing_m"], stated(green, bag=ONE), "fairway")["gap wedge"]
    assert simulate(launch, green).rest_x == pytest.approx(15.0, abs=0.03)
    by_hand = (own.loc[11.0, "landing_m"] - own.loc[9.0, "landing_m"]) / 2 / METRES_PER_FOOT
    assert own.loc[10.0, "shift_ft_per_ft"] == pytest.approx(by_hand)


@pytest.mark.parametrize("grade", [-0.02, 0.0, 0.03])
def test_sensitivities_through_the_roll_agree_with_their_closed_forms(grade):
    table = sensitivities("gap wedge", landing=5.0, grade=grade).set_index("parameter")
    green = Green.from_stimp(10.0, **slope_along(grade))
    shot = simulate(chips_to(5.0, stated(green, bag=ONE), "fairway")["gap wedge"], green)
    # a roll is in proportion to 1/(resistance + grade), and resistance to 1 over green speed
    held = float(green.resistance.constant)
    by_resistance = -(shot.rest_x - shot.roll_x) / (held + grade)
    assert table.loc["resistance", "derivative"] == pytest.approx(by_resistance, rel=2e-3)
    by_speed = -by_resistance * held / (10.0 * METRES_PER_FOOT)
    assert table.loc["green speed", "derivative"] == pytest.approx(by_speed, rel=2e-3)
    assert table.loc["green speed", "effect_m"] == pytest.approx(table.loc["resistance", "effect_m"])


def test_sensitivities_have_the_signs_that_physics_gives_them():
    signs = np.sign(sensitivities("sand wedge").set_index("parameter")["derivative"])
    for longer in ("green speed", "ball speed", "head speed", "restitution", "shaft lean"):
        assert signs[longer] == 1, longer
    for shorter in ("resistance", "grade", "backspin", "hop loss", "tilt"):
        assert signs[shorter] == -1, shorter


def test_the_rule_of_12_is_of_the_right_size(external_check):
    table = rule_of_twelve(stimp_ft=10.0)
    for club, parts in RULE_OF_12.items():
        ours, slug = float(table.loc[club, "model"]), club.replace(" ", "-")
        external_check("rule-of-12-{slug}", ours, parts, parts / 2, slug=slug, club=club)


TEN = Green.from_stimp(10.0)
TWO = {name: BAG[name] for name in ("8-iron", "lob wedge")}
QUICK = {"effort": Effort(draws=16, landings=9, errors=4, last=16), "positions": 5}


@pytest.fixture(scope="module")
def prices():
    return price_habits(assumed(TEN, bag=TWO), **QUICK)


def test_costs_are_over_choosing_each_time_and_said_to_the_figures_that_their_intervals_bear(prices):
    table = prices.table.set_index("habit")
    assert set(table.index) == {CHOOSING, "8-iron for everything", "lob wedge for everything", JUST_ON}
    assert table.loc[CHOOSING, "cost"] == 0.0
    assert table["cost"].to_numpy() == pytest.approx((table["strokes"] - table.loc[CHOOSING, "strokes"]).to_numpy())
    assert (table["cost_low"] <= table["cost"]).all()
    assert (table["cost"] <= table["cost_high"]).all()
    for row in table.itertuples():
        half = (row.cost_high - row.cost_low) / 2
        assert 10.0**-row.decimals <= half < 10.0 ** (1 - row.decimals) or row.decimals in (1, 3) or half == 0.0


def test_long_pins_are_kept_to_the_iron_and_short_ones_to_the_wedge():
    random = np.random.default_rng(0)
    edges, beyond = random.uniform(7.0, 8.0, 4), random.uniform(16.0, 20.0, 4)
    long = [(Position(to_edge=e, to_pin=e + more), 0.0) for e, more in zip(edges, beyond, strict=True)]
    short = [(Position(to_edge=edge, to_pin=edge + 3.2, lie="rough"), 0.0) for edge in edges]
    known = {"effort": Effort(draws=1, landings=13, errors=64, last=256)}
    draws = stated(TEN, bag=TWO)
    far, near = (price_habits(draws, chips=one, **known).table.set_index("habit")["cost"] for one in (long, short))
    assert far["8-iron for everything"] < far["lob wedge for everything"]
    assert near["8-iron for everything"] > near["lob wedge for everything"] + 0.03


def row(habit, cost, low, high):
    shown = {"cost": cost, "cost_low": low, "cost_high": high, "decimals": 2 if high - low >= 0.02 else 3}
    return {"habit": habit, "strokes": 2.0, "sure": 0.97, **shown}


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
    assert words in HabitPrices(table=table).verdict
    assert "Always landing it just on the green costs 0.20 (0.10 to 0.30)." in HabitPrices(table=table).verdict


def test_everyday_chips_are_within_what_a_player_meets():
    for position, heading in everyday_chips(50, 1):
        assert TO_EDGE[0] <= position.to_edge <= TO_EDGE[1]
        assert TO_WORK_WITH[0] <= position.to_pin - position.to_edge <= TO_WORK_WITH[1] + 1e-9
        assert position.lie in ("fairway", "light rough")
        assert 0.0 <= heading < 2 * np.pi
