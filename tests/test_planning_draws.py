"""Plans on everything that a fit leaves open, and playing on strips and on the open green alike."""

from dataclasses import replace

import numpy as np
import pytest

from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Launch
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, Ground, GroundBatch, Resistance, Strip, Turf
from golfphys.physics.shot import simulate
from golfphys.planning import CourseDraws, Position, fitted_green, plan_chip
from golfphys.planning.chips import landing_tables, played
from golfphys.planning.draws import tweaks
from golfphys.planning.fitted import seen_along
from golfphys.planning.plan import bag_tables, make_setting
from golfphys.planning.search import normals

TEN = Green.from_stimp(10.0, grade=0.02, fall_direction=1.0)
QUICK = {"landings": 15, "shots": 64}
N = 96
RANDOM = np.random.default_rng(3)
GROUND = GroundBatch(
    ground=TEN, values={"constant": TEN.resistance.constant * np.exp(0.03 * RANDOM.standard_normal(N))}
)
LEAN = {"shaft_lean": 0.14 + 0.03 * RANDOM.standard_normal(N)}


def widths(plan):
    table = plan.table.set_index("club").loc[list(BAG)]
    return (table["strokes_high"] - table["strokes_low"]).to_numpy()


def test_draws_of_the_player_widen_what_the_green_leaves_open():
    green_only = plan_chip(GROUND, to_edge=3.0, to_pin=14.0, **QUICK)
    with_player = plan_chip(CourseDraws(ground=GROUND, delivery=LEAN), to_edge=3.0, to_pin=14.0, **QUICK)
    assert (widths(with_player) > widths(green_only)).all()
    assert (with_player.table["rest_along_sd_m"].mean()) > green_only.table["rest_along_sd_m"].mean()


def test_a_ground_batch_is_the_same_as_course_draws_of_nothing_else():
    one = plan_chip(GROUND, to_edge=3.0, to_pin=14.0, **QUICK)
    other = plan_chip(CourseDraws(ground=GROUND), to_edge=3.0, to_pin=14.0, **QUICK)
    assert one.table.equals(other.table)


def test_draws_equal_to_the_estimate_change_nothing():
    same = CourseDraws(
        ground=GroundBatch(ground=TEN, values={"constant": np.full(N, TEN.resistance.constant)}),
        delivery={"shaft_lean": np.full(N, DEFAULT_PLAYER.delivery.shaft_lean)},
        lie={"fairway": {"friction": np.full(N, LIES["fairway"].friction)}},
        scatter={"": {"distance_relative": np.full(N, 0.07)}},
        aerodynamics={"lift_scale": np.ones(N)},
        loft={"gap wedge": np.zeros(N)},
    )
    drawn = plan_chip(same, to_edge=3.0, to_pin=14.0, landings=15, shots=256).table.set_index("club")
    plain = plan_chip(TEN, to_edge=3.0, to_pin=14.0, landings=15, shots=256).table.set_index("club")
    assert np.abs(drawn["strokes"] - plain["strokes"].loc[drawn.index]).max() < 0.002
    assert (drawn["strokes_high"] - drawn["strokes_low"]).max() < 1e-9


def test_a_drawn_delivery_still_lands_the_ball_where_it_is_meant():
    ground = Ground(green=TEN)
    tables = landing_tables([BAG["gap wedge"], BAG["8-iron"]], LIES["fairway"], DEFAULT_PLAYER, ground)
    draws = CourseDraws(
        ground=GROUND,
        delivery=LEAN,
        lie={"fairway": {"friction": 0.35 * np.exp(0.2 * RANDOM.standard_normal(N))}},
        loft={"8-iron": 0.02 * RANDOM.standard_normal(N)},
        aerodynamics={"drag_scale": np.exp(0.1 * RANDOM.standard_normal(N))},
    )
    found = tweaks(draws, tables, [6.0, 4.0], LIES["fairway"], DEFAULT_PLAYER, ground, 32, {})
    each = np.arange(32)
    physics = draws.physics_at({}, each)
    for table, change, at in zip(tables, found, (6.0, 4.0), strict=True):
        launch = change.of(table.launch(np.full(32, at)), each)
        carry = simulate(launch, ground, **physics).carry
        assert np.abs(carry - at).max() < 0.005 * at
        assert np.asarray(launch.angle).std() > 0.01


def test_a_looser_scatter_is_taken_from_its_own_draws():
    loose = {"8-iron": {"distance_relative": np.full(N, 0.25)}}
    drawn = plan_chip(CourseDraws(ground=GROUND, scatter=loose), to_edge=3.0, to_pin=14.0, **QUICK)
    plain = plan_chip(GROUND, to_edge=3.0, to_pin=14.0, **QUICK)
    drawn, plain = (item.table.set_index("club")["strokes"] for item in (drawn, plain))
    assert drawn["8-iron"] > plain["8-iron"] + 0.1
    assert drawn["lob wedge"] == pytest.approx(plain["lob wedge"])


def test_the_player_and_lies_of_the_draws_are_used_unless_others_are_given():
    mine = replace(DEFAULT_PLAYER, name="measured")
    course = CourseDraws(ground=GROUND, player=mine, lies={"heather": replace(LIES["rough"], name="heather")})
    plan = plan_chip(course, to_edge=3.0, to_pin=14.0, lie="heather", **QUICK)
    assert plan.setting.player is mine
    assert plan.setting.lie.name == "heather"
    assert not any("default" in words for words in plan.cautions)
    with pytest.raises(ValueError, match="expected one of heather"):
        plan_chip(course, to_edge=3.0, to_pin=14.0, lie="fairway")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"delivery": {"speed": [1.0]}}, "delivery has"),
        ({"delivery": {"attack": [0.1, 0.2]}}, "different number"),
        ({"lie": {"wet": {"friction": [np.nan] * N}}}, "lie wet friction holds a value that is not finite"),
        ({"scatter": {"": {"luck": [1.0]}}}, "scatter has"),
    ],
)
def test_draws_that_do_not_fit_are_refused_in_words(change, words):
    with pytest.raises(ValueError, match=words):
        CourseDraws(ground=GROUND, **change)


def test_strips_met_by_few_shots_are_played_as_if_all_met_them():
    ground = Ground(green=TEN, strips=(Strip(until=3.0, resistance=Resistance(constant=0.3)),))
    random = np.random.default_rng(5)
    launch = Launch(4.0 + 6.0 * random.random(500), 0.3 + 0.5 * random.random(500), 200 * random.random(500), 0.02)
    values = {"constant": 0.07 + 0.01 * random.random(500), "restitution": 0.45 + 0.1 * random.random(500)}
    air = Aerodynamics(drag_scale=0.9 + 0.2 * random.random(500))
    for where in (ground, GroundBatch(ground=ground, values=values)):
        quick, slow = played(launch, where, aerodynamics=air), simulate(launch, where, aerodynamics=air)
        for name, value in vars(slow).items():
            # two loops, one of them in steps of its own: microns apart
            assert np.allclose(getattr(quick, name), value, rtol=2e-4, atol=2e-3), name


def test_strips_with_turf_or_grade_of_their_own_are_always_played_in_full():
    launch = Launch(np.array([4.0, 8.0]), 0.5, 100.0)
    for strip in (Strip(until=2.0, turf=Turf(restitution=0.3)), Strip(until=2.0, grade=0.1)):
        ground = Ground(green=TEN, strips=(strip,))
        assert np.array_equal(played(launch, ground).rest_x, simulate(launch, ground).rest_x)


def test_a_green_seen_from_elsewhere_keeps_its_draws_in_step():
    values = {"fall_direction": np.array([0.9, 1.1]), "grade": np.array([0.02, 0.03])}
    batch = GroundBatch(ground=TEN, values=values)
    turned = seen_along(CourseDraws(ground=batch), 0.5).ground
    assert turned.green.fall_direction == pytest.approx(0.5)
    assert turned.values["fall_direction"] == pytest.approx([0.4, 0.6])
    assert turned.values["grade"].tolist() == [0.02, 0.03]
    assert seen_along(TEN, 0.5).fall_direction == pytest.approx(0.5)


class Fit:
    """A fit that knows one spot."""

    def green(self, spot):
        return TEN

    def greens(self, spot, n, seed):
        return {"constant": np.full(n, 0.07), "fall_direction": np.full(n, 1.0)}


def test_a_fitted_green_turns_its_draws_with_the_line():
    found = fitted_green(Fit(), "any", heading_deg=90.0, draws=5, turf=Turf(restitution=0.4))
    assert found.green.fall_direction == pytest.approx(1.0 + np.pi / 2)
    assert found.values["fall_direction"] == pytest.approx(np.full(5, 1.0 + np.pi / 2))
    assert found.green.turf.restitution == 0.4
    with pytest.raises(ValueError, match="draws is 0"):
        fitted_green(Fit(), "any", draws=0)
    with pytest.raises(ValueError, match="heading_deg is nan"):
        fitted_green(Fit(), "any", heading_deg=float("nan"))


def test_a_shorter_table_gives_the_same_launches():
    setting = make_setting(TEN, Position(to_edge=2.0, to_pin=12.0), normal=normals(16, 0))
    short = bag_tables(BAG, setting)
    full = landing_tables(list(BAG.values()), LIES["fairway"], DEFAULT_PLAYER, setting.centre)
    for one, other in zip(short, full, strict=True):
        assert 13.0 < one.reach[1] < other.reach[1]
        assert one.head_speed_for(9.0) == pytest.approx(other.head_speed_for(9.0), rel=1e-12)
