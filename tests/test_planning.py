"""The plan of a chip: its answers hold what they promise and move the way the trade expects."""

from dataclasses import replace

import numpy as np
import pytest

from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Scatter
from golfphys.physics.green import Green, Ground, GroundBatch, Resistance, Strip
from golfphys.physics.putting import putts_to_hole_out
from golfphys.physics.shot import simulate
from golfphys.planning import COLUMNS, Position, plan_chip
from golfphys.planning.chips import aimed, landing_tables, scattered
from golfphys.planning.search import normals, unbroken
from golfphys.planning.strokes import FARTHEST_LEAVE, OFF_GREEN, score

TEN = Green.from_stimp(10.0)
QUICK = {"landings": 21, "shots": 128}
STILL = Scatter(distance_absolute=0.0, distance_relative=0.0, direction=0.0, angle=0.0, spin_relative=0.0)


@pytest.fixture(scope="module")
def plan():
    return plan_chip(TEN, to_edge=3.0, to_pin=15.0, **QUICK)


def row(plan, club):
    return plan.table.set_index("club").loc[club]


def test_the_table_has_a_row_for_each_club_and_the_documented_columns(plan):
    assert sorted(plan.table["club"]) == sorted(BAG)
    assert list(plan.table.columns) == list(COLUMNS)
    assert plan.table["strokes"].is_monotonic_increasing
    assert plan.pick == plan.table["club"].iloc[0]


def test_landing_and_roll_add_up_to_the_pin_within_the_window(plan):
    for _, club in plan.table.iterrows():
        assert club["window_low_m"] <= club["window_high_m"]
        assert abs(club["landing_m"] + club["roll_m"] - 15.0) < 2.0
        assert club["landing_m"] - club["onto_green_m"] == pytest.approx(3.0)


def test_more_loft_lands_farther_on_and_rolls_less(plan):
    ordered = plan.table.set_index("club").loc[list(BAG)]
    assert ordered["landing_m"].is_monotonic_increasing
    assert ordered["roll_m"].is_monotonic_decreasing


def test_a_shot_at_the_edge_of_the_window_finishes_one_metre_from_the_pin(plan):
    club = row(plan, "sand wedge")
    ground = Ground(green=TEN, strips=(Strip(until=3.0, resistance=Resistance(constant=0.25)),))
    table = landing_tables([BAG["sand wedge"]], LIES["fairway"], DEFAULT_PLAYER, ground)[0]
    curve = plan.curves[plan.curves["club"] == "sand wedge"]["landing_m"]
    step = 1.05 * (curve.max() - curve.min()) / (10 * len(curve) - 1)
    for end, outward in (("window_low_m", -step), ("window_high_m", step)):
        inside = simulate(table.launch(club[end]), ground)
        outside = simulate(table.launch(club[end] + outward), ground)
        assert np.hypot(inside.rest_x - 15.0, inside.rest_y) <= 1.0
        assert np.hypot(outside.rest_x - 15.0, outside.rest_y) > 1.0


def test_a_player_without_scatter_leaves_it_dead():
    perfect = replace(DEFAULT_PLAYER, scatter=STILL)
    plan = plan_chip(TEN, to_edge=3.0, to_pin=15.0, player=perfect, landings=81, shots=16)
    assert (plan.table["within_1m"] == 1.0).all()
    assert (plan.table["rest_along_sd_m"] < 1e-9).all()
    assert (plan.table["strokes"] < 2.0).all()


def test_short_sided_wants_more_loft_than_a_long_pin():
    near = plan_chip(TEN, to_edge=4.0, to_pin=7.0, **QUICK)
    clubs = list(BAG)
    assert near.table["club"].iloc[0] in clubs[-2:]
    spread_near = row(near, "8-iron")["strokes"] - row(near, "lob wedge")["strokes"]
    far = plan_chip(TEN, to_edge=4.0, to_pin=25.0, **QUICK)
    spread_far = row(far, "8-iron")["strokes"] - row(far, "lob wedge")["strokes"]
    assert spread_near > 0.1 > spread_far


def test_a_faster_green_is_landed_shorter(plan):
    fast = plan_chip(Green.from_stimp(12.0), to_edge=3.0, to_pin=15.0, **QUICK)
    for club in BAG:
        assert row(fast, club)["landing_m"] <= row(plan, club)["landing_m"]


def test_the_aim_allows_for_a_cross_slope_and_mirrors_with_it():
    left = plan_chip(replace(TEN, grade=0.02, fall_direction=np.pi / 2), to_edge=3.0, to_pin=12.0, **QUICK)
    right = plan_chip(replace(TEN, grade=0.02, fall_direction=-np.pi / 2), to_edge=3.0, to_pin=12.0, **QUICK)
    for club in BAG:
        assert row(left, club)["aim_deg"] < -0.5
        assert row(left, club)["aim_deg"] == pytest.approx(-row(right, club)["aim_deg"], abs=0.3)


def test_what_the_green_leaves_open_widens_the_answer():
    random = np.random.default_rng(4)
    resistance = TEN.resistance.constant

    def spread(share):
        values = {"constant": resistance * np.exp(share * random.standard_normal(64))}
        return plan_chip(GroundBatch(ground=TEN, values=values), to_edge=3.0, to_pin=15.0, **QUICK)

    narrow, wide = spread(0.02), spread(0.15)
    for club in BAG:
        width = {
            name: row(item, club)["strokes_high"] - row(item, club)["strokes_low"]
            for name, item in (("n", narrow), ("w", wide))
        }
        assert 0 < width["n"] < width["w"]
        assert row(wide, club)["rest_along_sd_m"] > row(narrow, club)["rest_along_sd_m"]
    assert any("exactly known" in item for item in plan_chip(TEN, to_edge=3.0, to_pin=15.0, **QUICK).cautions)
    assert not any("exactly known" in item for item in wide.cautions)


def test_a_club_with_less_scatter_of_its_own_gains():
    steady = Scatter(distance_absolute=0.05, distance_relative=0.02, direction=0.01, angle=0.01, spin_relative=0.05)
    player = replace(DEFAULT_PLAYER, name="one-club player", by_club={"8-iron": steady})
    plan = plan_chip(TEN, to_edge=2.0, to_pin=18.0, player=player, **QUICK)
    assert plan.pick == "8-iron"
    assert plan.verdict.startswith("8-iron, by")
    assert not any("default" in item for item in plan.cautions)


def test_equal_clubs_are_too_close_to_call():
    twins = {name: replace(BAG["sand wedge"], name=name) for name in ("old wedge", "new wedge")}
    plan = plan_chip(TEN, to_edge=3.0, to_pin=15.0, bag=twins, **QUICK)
    assert plan.verdict.startswith("Too close to call")


def test_the_same_seed_gives_the_same_plan(plan):
    again = plan_chip(TEN, to_edge=3.0, to_pin=15.0, **QUICK)
    other = plan_chip(TEN, to_edge=3.0, to_pin=15.0, seed=5, **QUICK)
    assert again.table.equals(plan.table)
    assert not other.table.equals(plan.table)
    assert np.abs(row(other, "sand wedge")["strokes"] - row(plan, "sand wedge")["strokes"]) < 0.1


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"to_edge": -1.0}, "to_edge is -1.0"),
        ({"to_pin": 2.0}, "pin must lie beyond the green's edge"),
        ({"to_pin": float("nan")}, "to_pin is nan"),
        ({"lie": "bunker"}, "expected one of tight"),
        ({"bag": {}}, "bag is empty"),
        ({"shots": 3}, "shots is 3"),
    ],
)
def test_impossible_questions_are_answered_in_words(change, words):
    question = {"to_edge": 3.0, "to_pin": 15.0, **change}
    with pytest.raises(ValueError, match=words):
        plan_chip(TEN, **question)


def test_a_runaway_green_is_cautioned():
    plan = plan_chip(replace(TEN, grade=0.09, fall_direction=0.0), to_edge=1.0, to_pin=6.0, **QUICK)
    assert any("run away" in item for item in plan.cautions)


def test_scattered_chips_land_where_the_scatter_says():
    scatter = Scatter(distance_absolute=0.3, distance_relative=0.05, direction=0.02, angle=0.03, spin_relative=0.1)
    table = landing_tables([BAG["gap wedge"]], LIES["fairway"], DEFAULT_PLAYER, TEN)[0]
    launch = scattered(table, 8.0, 0.0, scatter, normals(4096, 3))
    shots = simulate(launch, TEN)
    assert shots.carry.mean() == pytest.approx(8.0, abs=0.05)
    assert shots.carry.std() == pytest.approx(np.hypot(0.3, 0.4), rel=0.06)
    assert np.arctan2(shots.landing_y, shots.landing_x).std() == pytest.approx(0.02, rel=0.06)


def test_aimed_chips_end_on_the_line():
    slope = replace(TEN, grade=0.03, fall_direction=2.0)
    table = landing_tables([BAG["9-iron"]], LIES["fairway"], DEFAULT_PLAYER, slope)[0]
    _, shots = aimed(table.launch(np.linspace(3.0, 9.0, 7)), 12.0, slope)
    assert np.abs(shots.rest_y).max() < 0.02


def test_scores_of_known_rests():
    position, putts = Position(to_edge=2.0, to_pin=10.0), putts_to_hole_out()
    table = landing_tables([BAG["gap wedge"]], LIES["fairway"], DEFAULT_PLAYER, TEN)[0]
    shots = simulate(table.launch(np.array([1.0, 4.0])), TEN)
    moved = replace(shots, rest_x=np.array([1.5, 10.4]), rest_y=np.array([0.0, 0.3]), roll_x=np.array([1.2, 10.2]))
    result = score(moved, position, putts, TEN)
    assert result.leave == pytest.approx([8.5, 0.5])
    assert result.within_1m.tolist() == [False, True]
    assert result.strokes == pytest.approx([1 + putts(8.5) + OFF_GREEN, 1 + putts(0.5)])
    gone = replace(moved, rest_x=np.array([np.inf, 10.0]), status=np.array([1, 0]))
    assert score(gone, position, putts, TEN).leave[0] == FARTHEST_LEAVE


def test_a_ball_that_dies_at_the_hole_drops_and_a_fast_one_does_not():
    position, putts = Position(to_edge=1.0, to_pin=10.0), putts_to_hole_out()
    table = landing_tables([BAG["gap wedge"]], LIES["fairway"], DEFAULT_PLAYER, TEN)[0]
    shots = simulate(table.launch(np.full(4, 5.0)), TEN)
    still = np.zeros(4)
    shots = replace(
        shots,
        roll_x=still + 7,
        roll_y=still,
        rest_x=np.array([10.2, 10.5, 16.0, 10.2]),
        rest_y=np.array([0.0, 0.0, 0.0, 0.4]),
    )
    assert score(shots, position, putts, TEN).holed.tolist() == [True, True, False, False]


def test_unbroken_runs():
    values = np.arange(6.0)
    assert unbroken(values, np.array([0, 1, 1, 0, 1, 0], bool), 2.0) == (1.0, 2.0)
    assert unbroken(values, np.array([0, 1, 1, 0, 1, 0], bool), 4.6) == (4.0, 4.0)
    assert np.isnan(unbroken(values, np.zeros(6, bool), 2.0)[0])
