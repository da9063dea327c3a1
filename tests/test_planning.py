"""The plan: paired draws, the answer at a glance, what it says of what was not measured, and what a leave is worth."""

import math
import re
from dataclasses import fields, replace

import numpy as np
import pytest

from golfphys import BAG, OPTIONS, TOUR_PLAYER, Launch, StrikeErrors, putts_to_hole_out, simulate, trace
from golfphys.physics import shot
from golfphys.physics.draws import Logged, assumed, stated
from golfphys.physics.flight import Air
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.planning import COLUMNS, USUAL, Conditions, Effort, Position, plan_chip
from golfphys.planning.answer import NO_SHOT, answer, summed_up
from golfphys.planning.position import PUTTING, Choice, choices_for
from golfphys.planning.search import CLOSE_CALL, aim, landing_spots, ranked, search_of
from golfphys.planning.strokes import BEYOND, PuttLeft, score
from golfphys.planning.world import LAUNCH, World, chips_to, swings_for

TEN = Green.from_stimp(10.0)
SMALL = Effort(draws=16, landings=13, errors=8, last=32)
KNOWN = Effort(draws=1, landings=15, errors=64, last=256)
TINY = StrikeErrors(speed=1e-4, direction=1e-4, attack=1e-4, shaft_lean=1e-4, low_point=1e-5, height=1e-6)
STEADY = replace(TOUR_PLAYER, errors=TINY)
TWELVE = {"to_edge": 1.0, "to_pin": 12.0, "effort": KNOWN, "options": (USUAL,)}


@pytest.fixture(scope="module")
def plan():
    return plan_chip(assumed(TEN), to_edge=3.0, to_pin=14.0, effort=SMALL)


@pytest.fixture(scope="module")
def known():
    return plan_chip(stated(TEN), to_edge=3.0, to_pin=14.0, effort=KNOWN, options=(USUAL,))


def test_the_table_has_a_row_for_each_choice_and_the_answer_tells_all_that_is_asked_at_a_glance(plan):
    assert list(plan.table.columns) == list(COLUMNS)
    # every landing lies within its own room for error, though turf and player were not measured
    assert (plan.table[["short_by_m", "long_by_m"]] >= 0).all(axis=None)
    # in order of strokes, with what is held against balls that land short of the green
    costs = [item.cost for item in plan.played]
    assert costs[1:] == sorted(costs[1:])
    assert costs[0] <= costs[1] + CLOSE_CALL
    assert plan.table["strokes"].tolist() == pytest.approx([item.mean for item in plan.played])
    some = {"8-iron", "lob wedge", "lob wedge, face opened 20 degrees", "sand wedge, hands level", PUTTING.name}
    assert some <= set(plan.table["club"])
    assert plan.pick == plan.table["club"].iloc[0] == plan.answer.choices[0].label
    assert repr(plan) == f"ChipPlan for 14 m to the pin from a fairway lie: {plan.pick}; see answer and table"
    words = " ".join(plan.answer.sentences())
    for part in ("from the ball", "onto the green", "it runs", "Start it", "end within 1 m", "strokes"):
        assert part in words
    feet = plan.answer.sentences("ft")[0]
    assert " ft" in feet
    assert "within 3 ft" in feet
    assert "tour-level player" in words


@pytest.mark.parametrize(
    ("grade", "to_edge", "wind", "seed"), [(0.0, 0.0, 0.0, 1), (0.05, 3.0, 0.0, 2), (0.0, 3.0, 6.0, 3)]
)
def test_shots_over_all_ground_are_the_same_many_at_once_and_one_by_one(grade, to_edge, wind, seed, monkeypatch):
    draws = assumed(Green.from_stimp(9.0, grade=grade, fall_direction=1.8), n=8, seed=seed)
    air = Conditions(air=Air(wind_speed=wind))
    where = World(draws=draws, position=Position(to_edge=to_edge, to_pin=12.0, to_back=13.0), conditions=air)
    random = np.random.default_rng(seed)
    speed, angle, spin = (random.uniform(*ends, (8, 400)) for ends in ((5.0, 9.0), (0.3, 0.8), (100.0, 400.0)))
    aimed = Launch(speed, angle, spin, random.normal(0.0, 0.03, (8, 400)) - 3.0 * grade, np.zeros((8, 400)))
    bumps = random.standard_normal((2, 2, 8, 400))
    found = where.play(aimed, bumps)
    monkeypatch.setattr(shot, "FEW", 10**9)
    alone = where.play(aimed, bumps)
    assert alone.holed.sum() > 10
    for name, numbers in vars(alone).items():
        assert np.array_equal(getattr(found, name), numbers, equal_nan=True), name


def test_the_curve_and_the_table_are_one_set_of_paired_draws():
    even = Effort(draws=32, landings=13, errors=32, last=32)
    plan = plan_chip(assumed(TEN), to_edge=3.0, to_pin=14.0, effort=even, options=(USUAL,))
    over = [
        [item.search.at_best(getattr(item.search, name))[item.number] - row[name] for name in ("strokes", "within_1m")]
        for item, row in zip(plan.played, plan.table.to_dict("records"), strict=True)
    ]
    strokes, within = np.array(over).T
    assert np.abs(strokes).max() < 0.03
    assert np.abs(within).max() < 0.03
    assert abs(within.mean()) < 0.01


def test_a_player_without_errors_leaves_it_dead_but_for_slopes_that_landings_meet_and_what_is_not_known(plan, known):
    # a player who never errs, on a green that is known
    dead = plan_chip(stated(TEN, player=STEADY), to_edge=2.0, to_pin=12.0, effort=KNOWN, options=(USUAL,)).table.iloc[0]
    assert dead["strokes"] < 1.7
    assert dead["within_1m"] > 0.99
    wide, narrow = (item.table.set_index("club").loc["9-iron"] for item in (plan, known))
    assert wide["roll_high_m"] - wide["roll_low_m"] > 1.5 * (narrow["roll_high_m"] - narrow["roll_low_m"])
    assert wide["strokes_high"] - wide["strokes_low"] > 0.2
    assert narrow["strokes_high"] == narrow["strokes_low"]
    even, bumpy = (
        plan_chip(stated(TEN, player=STEADY, local_slope=size), **TWELVE).table.set_index("club")
        for size in (0.0, 0.03)
    )
    assert bumpy.loc["gap wedge", "rest_along_sd_m"] > 3 * even.loc["gap wedge", "rest_along_sd_m"]


def test_the_aim_allows_for_a_cross_slope_and_mirrors_with_it():
    greens = (replace(TEN, grade=0.02, fall_direction=sign * math.pi / 2) for sign in (1, -1))
    plans = (plan_chip(stated(green), **TWELVE) for green in greens)
    left, right = (plan.table.set_index("club").loc["9-iron", "aim_m"] for plan in plans)
    assert left < -0.3
    assert right == pytest.approx(-left, abs=0.1)


def test_the_putter_is_offered_where_the_grass_is_short_only():
    before = (("rough", 2.0), ("fringe", 3.0))
    offered = [
        PUTTING.name in [item.label for item in choices_for(stated(TEN), Position(**question))]
        for question in (
            {"to_edge": 1.0, "to_pin": 9.0},
            {"to_edge": 1.0, "to_pin": 9.0, "lie": "rough"},
            {"to_edge": 3.0, "to_pin": 9.0, "before": before},
            {"to_edge": 12.0, "to_pin": 30.0},
        )
    ]
    assert offered == [True, False, False, False]
    assert Position(to_edge=3.0, to_pin=9.0, lie="rough").ground_before == before


def test_of_level_choices_the_one_with_room_before_its_spot_goes_first_then_the_one_in_her_log(plan, monkeypatch):
    where, search = plan.world.position, search_of(plan.played)
    logged = replace(plan.world, draws=replace(plan.world.draws, logged=Logged(chips=40, options={"usual": 40})))
    number = search.labels.index
    edge, spots = where.to_edge, {"8-iron": 0.5, "sand wedge": 1.5, "sand wedge, hands level": 1.5, "lob wedge": 3.0}
    strokes = {"8-iron": 2.0, "sand wedge": 2.012, "sand wedge, hands level": 2.01, "lob wedge": 2.03}

    def told(_search, _normal):
        found = []
        for name, landing in spots.items():
            item = plan.played[search.labels.index(name)]
            outcome = replace(item.outcome, strokes=item.outcome.strokes - item.mean + strokes[name])
            found.append(
                replace(item, number=number(name), landing=edge + landing, wary=0.0, outcome=outcome, world=logged)
            )
        return found

    monkeypatch.setattr("golfphys.planning.search.play_best", told)
    everything = replace(search, held_against=0 * search.held_against, strokes=2.0 + 0 * search.strokes)
    found = ranked(everything, SMALL)
    assert [item.label for item in found] == ["sand wedge", "8-iron", "sand wedge, hands level", "lob wedge"]
    said = answer(found, [summed_up(item) for item in found], logged, "").sure_words
    assert said.endswith("(0.01 strokes apart); sand wedge first, as it leaves more green before the landing spot.")
    strokes["sand wedge"] = 2.025
    assert ranked(everything, SMALL)[0].label == "sand wedge, hands level"
    strokes["sand wedge, hands level"] = 2.025
    assert ranked(everything, SMALL)[0].label == "8-iron"


def test_a_lead_that_is_not_sure_is_no_close_call_and_what_parts_two_choices_is_more_than_chance(plan):
    first, second = plan.played[:2]
    behind = np.where(np.arange(len(plan.world)) < 4, -0.12, 0.2)[:, None]  # of 16 draws 12 agree
    other = replace(second, wary=first.wary, outcome=replace(second.outcome, strokes=first.outcome.strokes + behind))
    found = answer([first, other], [summed_up(first), summed_up(other)], plan.world, "")
    assert "by 0.12 strokes over" in found.sure_words
    assert found.sure_words.endswith(", but not surely; it leads in 75 % of the cases left open.")
    assert len(found.choices) == 2
    # what goes with the firmness parts them only where it is more than chance
    firm = np.ravel(plan.world.draws.green.turf.restitution)
    firm = (firm - firm.mean()) / firm.std()
    other = np.random.default_rng(1).standard_normal(firm.size)
    other = other - other.mean() - (other @ firm) / firm.size * firm
    other, said = other / other.std(), []
    for share in (0.4, 0.9):  # of the lead that goes with the firmness, on 16 draws
        behind = 0.01 * (share * firm + np.sqrt(1 - share**2) * other)[:, None]
        rival = replace(
            second, wary=first.wary, outcome=replace(second.outcome, strokes=first.outcome.strokes + behind)
        )
        said.append(answer([first, rival], [summed_up(first), summed_up(rival)], plan.world, "").parted_by)
    assert said[0].startswith("No single unknown parts them")
    assert said[1].startswith(f"What parts them: firmer turf favours {first.label}, softer turf")


def test_in_feet_no_length_is_said_in_metres(plan):
    twins = {"one": plan.world.draws.bag["gap wedge"], "two": plan.world.draws.bag["gap wedge"]}
    chips = Logged(chips=40, clubs={"one": 20, "two": 20}, lies={"fairway": 40}, landing=(0.5, 1.5))
    draws = replace(plan.world.draws, bag=twins, logged=chips)
    found = plan_chip(draws, to_edge=6.0, to_pin=18.0, effort=SMALL, options=(USUAL,))
    assert len(found.answer.choices) == 2
    assert found.answer.verdict().startswith("Too close to call")
    assert "parts them" in found.answer.verdict()
    answer, cautions = found.said("ft")
    assert not re.search(r"\d m\b", " ".join([*answer, *cautions]))
    assert any("the log has landings from 2 to 5 ft" in sentence for sentence in cautions)


def test_where_there_is_no_shot_a_plain_sentence_says_so():
    steep = stated(Green(resistance=Resistance(constant=0.05), grade=0.12, fall_direction=0.0))
    found = plan_chip(steep, to_edge=2.0, to_pin=10.0, effort=SMALL)
    assert found.answer.choices == ()
    assert found.answer.verdict().startswith(NO_SHOT)
    assert found.pick == ""
    lob = stated(TEN, bag={"lob wedge": BAG["lob wedge"]})
    out_of_reach = plan_chip(lob, to_edge=95.0, to_pin=100.0, effort=SMALL, options=(USUAL,)).answer.verdict()
    assert out_of_reach.endswith("stay on the green. Most would end short of it.")
    assert plan_chip(stated(TEN), to_edge=0.0, to_pin=0.15, effort=KNOWN, options=(USUAL,)).answer.verdict()


def test_what_was_not_measured_is_always_said_and_both_families_of_bounce_are_played(plan):
    words = " ".join(plan.cautions)
    assert "The player was not measured: a tour-level player is assumed" in words
    assert "How the green takes a landing was not measured" in words
    exactly = plan_chip(stated(TEN), to_edge=3.0, to_pin=14.0, effort=KNOWN)
    assert "taken as exactly known" in " ".join(exactly.cautions)
    assert 0.2 < np.mean(plan.world.draws.other) < 0.8
    assert {type(part.ground.green.turf) for part in plan.world.parts} == {Turf, LinearTurf}


def logged(**change):
    usual = {"rolls": 16, "drops": 8, "chips": 40, "spots": ("low",), "clubs": {"9-iron": 20, "sand wedge": 20}}
    return Logged(**(usual | {"lies": {"fairway": 40}, "landing": (3.0, 9.0), "headings": (0.0,)} | change))


@pytest.mark.parametrize(
    ("change", "question", "words"),
    [
        ({"clubs": {"lob wedge": 40}}, {}, "no chip in the log"),
        ({"lies": {"tight": 40}}, {}, "Lie 'fairway': no chip in the log, so what it does to a strike is assumed."),
        ({"landing": (20.0, 30.0)}, {}, "the log has landings from 20 to 30 m"),
        ({"headings": (2.0,)}, {}, "within 60 degrees"),
        ({"left_out": ("No loft is known for 'spoon'.",)}, {}, "No loft is known for 'spoon'."),
        ({}, {"to_edge": 6.0, "to_pin": 9.0}, "was not measured"),
    ],
)
def test_what_lies_beyond_the_log_is_named(change, question, words):
    draws = replace(assumed(TEN, n=16), logged=logged(**change))
    position = {"to_edge": 3.0, "to_pin": 14.0} | question
    found = plan_chip(draws, **position, effort=SMALL, options=(USUAL,))
    assert words in " ".join(found.cautions)


def test_a_logged_shot_on_measured_ground_has_no_caution():
    everything = logged(clubs=dict.fromkeys(stated(TEN).bag, 20), grounds=("fringe", "fairway"))
    draws = replace(stated(TEN), logged=everything)
    found = plan_chip(draws, to_edge=2.0, to_pin=14.0, effort=KNOWN, options=(USUAL,))
    assert [words for words in found.cautions if "putter" not in words.lower()] == []


def test_thinned_balls_on_the_level_are_not_laid_to_a_slope_and_two_choices_share_a_caution():
    rough = Position(to_edge=8.0, to_pin=14.0, lie="rough")
    found = plan_chip(assumed(TEN, level="club", n=32), position=rough, effort=replace(SMALL, draws=32, last=64))
    said = " ".join(found.cautions)
    assert "end more than 40 m beyond the pin: thin strikes" in said
    assert "falls away" not in said
    assert len(found.answer.choices) == 2
    assert said.count("come down short of the green") == 1


def test_a_landing_short_of_the_green_is_held_against_a_choice_measured_or_not():
    # rolls and drops do not tell how ground takes a landing at an angle: plans that took them to made worse choices
    held = []
    for grounds in ((), ("fringe",), ("fringe", "fairway")):
        draws = replace(assumed(TEN, n=8), logged=logged(grounds=grounds))
        found = plan_chip(draws, to_edge=3.0, to_pin=14.0, effort=SMALL, options=(USUAL,))
        held.append(found.played[0].search.held_against[:-1])
    assert held[0].max() > 0.25
    assert (held[1] <= held[0]).all()  # by where a ball comes down, not by what lies there besides
    assert (held[1] < held[0]).any()
    assert held[2] == pytest.approx(held[0] / 2, rel=1e-9)


def scored(rest_x, rest_y=0.0, *, grade=0.0, **where):
    """Return the outcome of balls that come to rest at these places, having rolled from 8 m on."""
    bag = {"9-iron": BAG["9-iron"]}
    world = World(
        draws=stated(replace(TEN, grade=grade), bag=bag), position=Position(**{"to_edge": 2.0, "to_pin": 12.0} | where)
    )
    still = simulate(chips_to(5.0, world.draws, "fairway")["9-iron"], TEN)
    rest_x, rest_y = np.broadcast_arrays(np.atleast_2d(np.asarray(rest_x, float)), rest_y)
    columns = {name: np.full(rest_x.shape, value) for name, value in vars(still).items()}
    columns |= {"roll_x": np.full(rest_x.shape, 8.0), "roll_y": 0 * rest_x, "rest_x": rest_x, "rest_y": rest_y}
    return score(type(still)(**columns), world), world


def test_scores_of_known_rests():
    outcome, world = scored([11.0, 13.0, 20.0, 1.0])
    putts = world.conditions.putts
    left = PuttLeft(putts=putts, resistance=float(world.draws.green.resistance.constant))
    assert outcome.leave[0].tolist() == pytest.approx([1.0, 1.0, 8.0, 11.0])
    assert outcome.strokes[0, 0] == pytest.approx(1.0 + left(1.0, 0.0))
    assert outcome.strokes[0, 3] == pytest.approx(1.0 + left(11.0, 0.0) + BEYOND["fringe"])
    # putts left are the published ones at the everyday slope
    for distance in (1.0, 2.0, 5.0, 10.0):
        everyday = PuttLeft(putts=putts_to_hole_out(), resistance=0.078)(distance, 0.011)
        assert float(everyday) == pytest.approx(float(putts_to_hole_out()(distance)), abs=0.02)
    # a putt across the slope costs more than one along it, and what lies behind the green costs
    question = (([12.0], 2.0, {"grade": 0.03}), ([14.0], 0.0, {"grade": 0.03}), ([14.0], 0.0, {}))
    beside, below, level = (scored(*rest, **more)[0].strokes[0, 0] for *rest, more in question)
    assert beside > below + 0.15
    assert below == pytest.approx(level, abs=0.02)
    far, same = (scored([15.0], **more)[0].strokes[0, 0] for more in ({"to_back": 14.0, "behind": "rough"}, {}))
    assert far == pytest.approx(same + BEYOND["rough"])


def rolled_by_heun(state, green, at, radius):
    """Roll balls x, y, u, v over a cross slope by a solver of its own; whether the hole at (at, 0) takes each."""
    pull = 9.80665 / (1.4 * math.hypot(1.0, green.grade))  # of a solid sphere that rolls

    def push(u, v):
        speed = np.maximum(np.hypot(u, v), 1e-9)
        slowing = pull * green.resistance.constant / speed
        return -slowing * u, pull * green.grade - slowing * v

    x, y, u, v = state
    holed, step = np.zeros(x.shape, bool), 0.004
    going = np.ones(x.shape, bool)
    while going.any():
        ax, ay = push(u, v)
        bx, by = push(u + step * ax, v + step * ay)
        nu, nv = u + step * (ax + bx) / 2, v + step * (ay + by) / 2
        nx, ny = x + step * (u + nu) / 2, y + step * (v + nv) / 2
        # the straight piece of this step: where it meets the rim, how fast the ball is there, how far it passes by
        dx, dy, ex, ey = nx - x, ny - y, x - at, y
        length = np.maximum(np.hypot(dx, dy), 1e-12)
        to_centre, offset = -(ex * dx + ey * dy) / length, np.abs(ex * dy - ey * dx) / length
        into = to_centre - np.sqrt(np.maximum(radius**2 - offset**2, 0.0))
        enters = going & (offset < radius) & (into >= 0.0) & (into < length)
        share = np.clip(into / length, 0.0, 1.0)
        there = np.hypot(u + share * (nu - u), v + share * (nv - v))
        holed |= enters & (there <= 1.63 * (1.0 - (offset / radius) ** 2))
        going &= ~enters & (nx < at + 1.0) & (np.hypot(nu, nv) > 0.5 * pull * green.resistance.constant * step)
        x, y, u, v = (np.where(going, new, old) for new, old in ((nx, x), (ny, y), (nu, u), (nv, v)))
    return holed


@pytest.mark.parametrize("grade", [0.03, pytest.param(0.05, marks=pytest.mark.thorough)])
def test_the_share_that_drops_is_that_of_an_integral_over_her_errors(grade, external_check):
    errors = StrikeErrors(speed=0.03, direction=0.02, attack=0.0, shaft_lean=0.0, low_point=0.0, height=0.0)
    green = replace(TEN, grade=grade, fall_direction=math.pi / 2)
    draws = stated(green, player=replace(TOUR_PLAYER, errors=errors))
    effort = Effort(draws=1, landings=9, errors=64, last=1 << 15)
    out = Conditions(flagstick=False)
    plan = plan_chip(draws, to_edge=1.0, to_pin=9.0, options=(USUAL,), conditions=out, effort=effort)
    best = next(item for item in plan.played if item.label == "9-iron")
    z = np.zeros((6, 1, 201, 201))
    z[0], z[1] = np.meshgrid(*[np.linspace(-4.0, 4.0, 201)] * 2, indexing="ij")
    swings = best.search.swings.at([best.number])
    launch = swings.launch(swings.speed_for([[best.landing]]), z.reshape(6, 1, -1))
    launch = Launch(*(np.asarray(getattr(launch, name)).reshape(1, -1) for name in LAUNCH))
    launch = replace(launch, direction=launch.direction + best.aim)
    shots = plan.world.play(launch)
    # the heading of a ball as it begins to roll is hardly off that of its launch: a plane through a few paths
    each = np.ravel_multi_index(np.meshgrid([20, 60, 100, 140, 180], [20, 60, 100, 140, 180]), (201, 201)).ravel()
    turned = []
    for number in each:
        one = Launch(*(float(np.asarray(getattr(launch, item.name))[0, number]) for item in fields(Launch)))
        path = trace(one, plan.world.ground(draws))
        first = int(np.flatnonzero(path.phase == "roll")[0]) - 1
        near = slice(first, first + 3)
        turned.append(np.polyfit(path.x[near] - path.x[first], path.y[near], 2)[1])
    pieces = np.stack([np.ones(z[0].size), z[0].ravel(), z[1].ravel(), z[0].ravel() ** 2], axis=1)
    slope = pieces @ np.linalg.lstsq(pieces[each], np.array(turned), rcond=None)[0]
    pace = np.asarray(shots.roll_speed)[0] / np.hypot(1.0, slope)
    start = (np.asarray(shots.roll_x)[0], np.asarray(shots.roll_y)[0], pace, pace * slope)
    weight = np.exp(-0.5 * (z[0] ** 2 + z[1] ** 2)).ravel()
    exact = float(rolled_by_heun(start, green, 9.0, 0.054) @ weight / weight.sum())
    external_check("holed-share-{pct:.0f}-pct", float(best.outcome.holed.mean()), exact, pct=100 * grade)


def test_habits_of_the_log_and_a_sloping_lie_are_spoken_of():
    habits = [(club, "fairway") for club in BAG]
    logged = Logged(chips=40, carry_habit=dict.fromkeys(habits, (0.10, 0.02)), start_habit=(-0.02, 0.004))
    draws = replace(assumed(TEN, n=16), logged=logged)
    plan = plan_chip(draws, position=Position(to_edge=3.0, to_pin=14.0, lie_uphill=math.radians(5.0)), effort=SMALL)
    said = " ".join(plan.cautions)
    spot = plan.played[0].landing
    assert f"10 % beyond her aim: to land at {spot:.1f} m, she aims at {spot / 1.1:.1f} m" in said
    assert "1.1 degrees to the right of her aim: she aims 0.3 m to the left of where the ball is to start" in said
    assert "on a slope of 5 degrees" in said
    unsure = replace(
        draws, logged=replace(logged, carry_habit=dict.fromkeys(habits, (0.10, 0.06)), start_habit=(0.0, 0.0))
    )
    assert not any("her aim" in item for item in plan_chip(unsure, to_edge=3.0, to_pin=14.0, effort=SMALL).cautions)


def test_the_greens_of_draws_can_be_planned_on_for_another_player():
    known = assumed(n=16)
    club = assumed(known.green, level="club", logged=known.logged, n=16)
    np.testing.assert_array_equal(club.green.turf.restitution, known.green.turf.restitution)
    assert (known.logged.level, club.logged.level) == ("tour", "club")
    assert np.median(club.player.errors.speed) > np.median(known.player.errors.speed)


def test_every_draw_lands_where_it_is_meant_and_an_opened_face_that_starts_right_is_aimed_left():
    world = World(draws=assumed(TEN, n=16), position=Position(to_edge=0.0, to_pin=12.0))
    swings = swings_for([Choice(club="sand wedge"), Choice(club="9-iron", option=USUAL)], world)
    landings = np.asarray(world.play(swings.meant([[6.0], [6.0]])).landing_x)
    assert np.abs(landings - 6.0).max() < 0.06
    choices = [Choice(club="lob wedge", option=OPTIONS[name]) for name in ("usual", "face opened 20 degrees")]
    swings = swings_for(choices, World(draws=stated(TEN), position=Position(to_edge=6.0, to_pin=9.0)))
    spots = landing_spots(swings, 9)
    directions, meant = aim(swings, spots), swings.meant(spots)
    assert directions[1].min() > directions[0].max() + 0.05
    shots = swings.world.play(replace(meant, direction=np.asarray(meant.direction) + directions[..., None]))
    assert np.abs(shots.rest_y).max() < 0.05
