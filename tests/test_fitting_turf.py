"""Fits of drops and of films: turf and the laws of the bounce; resistance, skid and friction; what they cannot tell."""

import math
import pickle
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from fitted_demo import sheets
from scipy.integrate import solve_ivp

import golfphys
from golfphys import ChipDesign, Effort, Position, Station, constants, plan_chip, updated
from golfphys.fitting.course_cautions import LINEAR
from golfphys.fitting.course_fit import favoured
from golfphys.fitting.course_model import Settings, observed
from golfphys.fitting.films import films_of, join_films
from golfphys.fitting.measuring import Further, further
from golfphys.fitting.results import cell
from golfphys.fitting.rollout_cautions import growth
from golfphys.fitting.rollout_layout import rolls_of
from golfphys.fitting.turf import drops_of, take_off, turf_parameters
from golfphys.formulas.turf import hop_speed
from golfphys.invented import CourseTruth, DropDesign, FilmDesign, FilmedRoll, RolloutDesign
from golfphys.physics.bounce import turf_bounce
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.physics.ramp import distance_at_time
from golfphys.physics.rows import turf_row
from golfphys.planning.cautions import cautions
from golfphys.planning.deciding import prior_weight
from golfphys.planning.plan import make_world
from golfphys.planning.position import USUAL
from golfphys.sheets import Sheet

DESIGN = DropDesign(heights=(0.8, 1.3, 1.8, 2.3, 2.8), repeats=4, timed_share=0.4)


def course(turf: Turf | LinearTurf) -> CourseTruth:
    return CourseTruth(greens={"home-left": Green.from_stimp(10.0, turf=turf)})


@pytest.mark.parametrize(
    "turf", [Turf(restitution=0.46, restitution_linear=-0.03), LinearTurf(restitution=0.31, forward_lift=0.1)]
)
def test_take_off_is_the_law_of_the_bounce(turf: Turf | LinearTurf) -> None:
    speeds = np.array([1.0, 3.0, 6.0])
    law = "linear" if isinstance(turf, LinearTurf) else "rigid"
    ours = take_off({one.of: getattr(turf, one.of) for one in turf_parameters(law)}, speeds)
    row = turf_row(turf)
    for speed, found in zip(speeds, ours, strict=True):
        up = turf_bounce((0.0, 0.0, -speed, 0.0, 0.0, 0.0), (0.0, 0.0, 1.0), (0.02135, 0.4), row)[2]
        assert found == pytest.approx(hop_speed(up, turf.hop_loss, 9.80665), abs=1e-12)


@pytest.mark.parametrize("seed", range(2))
def test_restitution_is_found_again_and_of_friction_drops_say_nothing(seed: int) -> None:
    truth = Turf(restitution=0.45, restitution_linear=-0.035)
    table = golfphys.fit(golfphys.make_drops(course(truth), DESIGN, seed)).estimates
    expected = truth.restitution + 5 * truth.restitution_linear + 25 * truth.restitution_quadratic
    low, high = table.loc[("turf", "restitution_at_5_m_s"), ["low", "high"]]
    slack = 0.25 * (high - low)
    assert low - slack < expected < high + slack
    assert high - low < 0.06
    # a ball that falls straight does not slide: friction stays at its prior, and the table says so
    assert table.loc["turf", "informed"][["friction", "restitution_at_5_m_s"]].tolist() == [False, True]


def test_a_falling_restitution_speaks_against_one_number() -> None:
    heights = DropDesign(heights=(0.3, 0.8, 1.5, 2.5, 3.0), repeats=6, restitution_scatter=0.01)
    drops = golfphys.make_drops(course(Turf(restitution=0.52, restitution_linear=-0.05)), heights, 3)
    compared = golfphys.fit(drops).comparison
    assert list(compared.table.index) == ["rigid", "linear"]
    assert compared.verdict.startswith("The sheets prefer the rigid law")
    assert compared.preferred is compared.fits["rigid"]
    assert any("turf_law='rigid'" in text for text in golfphys.fit(drops, turf_law="linear").cautions)


TAKEN = {
    "rigid": Turf(),
    "linear": LinearTurf(
        restitution=0.40,
        forward_lift=0.0,
        speed_kept=0.55,
        speed_from_spin=0.18,
        spin_from_speed=0.75,
        spin_kept=0.35,
    ),
}


def measured(law: str) -> list[Sheet]:
    """Return the rolls, drops and chips of a course whose bounce follows a law."""
    design = ChipDesign(
        stations=(Station(spot="home-left", heading=0.0),),
        clubs=("8-iron", "pitching wedge", "lob wedge"),
        repeats=6,
        ladder=True,
    )
    truth = course(TAKEN[law])
    return [
        golfphys.make_rollouts(truth, RolloutDesign(repeats=1), 1),
        golfphys.make_drops(truth, DESIGN, 1),
        golfphys.make_chips(truth, design, 1),
    ]


@pytest.mark.parametrize("law", TAKEN)
def test_chips_favour_the_law_that_their_bounces_follow(law: str) -> None:
    seen = observed({sheet.kind: sheet for sheet in measured(law)}, Settings())
    assert next(iter(favoured(seen, Settings()))) == law


@pytest.mark.thorough
def test_a_fit_takes_the_law_that_its_chips_favour_and_says_so() -> None:
    fit = golfphys.fit(*measured("linear"))
    assert fit.settings.turf_law == "linear"
    assert LINEAR in fit.cautions
    # what a past says of her was seen through a law: a fit that goes on from it keeps that, a comparison leaves it out
    after = golfphys.fit(*measured("rigid"), past=fit)
    assert after.settings.turf_law == "linear"
    assert not any(one.settings.past.priors for one in after.comparison.fits.values())


def test_a_plan_on_the_linear_law_draws_turfs_that_can_be() -> None:
    """The prior of the lift from a forward landing reaches below zero; a turf does not."""
    truth = course(Turf())
    rolls, drops = golfphys.make_rollouts(truth, RolloutDesign(repeats=1), 1), golfphys.make_drops(truth, DESIGN, 1)
    turf = golfphys.fit(rolls, drops, turf_law="linear").draws(next(iter(truth.greens)), 400).green.turf
    assert np.min(turf.forward_lift) == 0.0


def test_thin_sheets_of_drops_get_a_sentence() -> None:
    few = golfphys.fit(golfphys.make_drops(course(Turf()), DropDesign(heights=(1.5,), repeats=3), 2))
    assert few.comparison.verdict.startswith("The sheets do not prefer a law")
    assert len(repr(few.comparison)) < 1000  # of a caution that names it
    low = golfphys.fit(golfphys.make_drops(course(Turf()), DropDesign(heights=(0.4, 0.6), repeats=4), 2))
    for fit, words in ((few, "Only 3 drops"), (low, "Drop from 1.5 m and more")):
        assert any(words in text for text in fit.cautions)
    refused("the sheet has no drops", lambda: drops_of(Sheet(kind="drops", frame=few.sheets["drops"].frame.head(0))))


def test_two_flights_without_a_height_are_enough() -> None:
    sheet = golfphys.make_drops(course(Turf()), DropDesign(heights=(2.5, 3.0), repeats=10, timed_share=1.0), 5)
    heard = Sheet(kind="drops", frame=sheet.frame.assign(drop_height=np.nan))
    narrow = cell(golfphys.fit(heard).estimates, "turf", "restitution", "sd")
    assert narrow < 0.7 * turf_parameters("rigid")[0].spread


def test_a_measured_fringe_goes_into_the_plan() -> None:
    soft = Turf(restitution=0.42, restitution_linear=-0.037)
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0, grade=0.01)})
    beside = Green(resistance=Resistance(constant=0.20), grade=0.01, turf=soft)
    fringe = CourseTruth(greens={"fringe low": beside})
    rolls, drops = (
        [make(place, design, 1) for place in (truth, fringe)]
        for make, design in ((golfphys.make_rollouts, RolloutDesign(repeats=2)), (golfphys.make_drops, DESIGN))
    )
    sheets = [one.replaced(pd.concat([one.frame, other.frame], ignore_index=True)) for one, other in (rolls, drops)]
    fit, alone = golfphys.fit(*sheets), golfphys.fit(rolls[0], drops[0])
    assert fit.spots == ("low",)
    assert cell(fit.estimates, "low", "stimp_ft", "estimate") == cell(alone.estimates, "low", "stimp_ft", "estimate")
    assert cell(fit.estimates, "fringe turf", "restitution_at_5_m_s", "estimate") == pytest.approx(0.26, abs=0.03)
    drawn, assumed = fit.draws("low", 200), alone.draws("low", 200)
    drag, usual = (np.asarray(item.around["fringe"].resistance.constant) for item in (drawn, assumed))
    assert np.median(drag) == pytest.approx(0.20, rel=0.05)
    assert drag.std() < 0.3 * usual.std()
    assert drawn.logged.grounds == ("fringe",)
    assert assumed.logged.grounds == ()
    short = {"position": Position(to_edge=4.0, to_pin=8.0, before=(("fringe", 4.0),)), "options": (USUAL,)}
    effort = Effort(draws=16, landings=9, errors=4, last=8)
    said = [" ".join(plan_chip(item, **short, effort=effort).cautions) for item in (drawn, assumed)]
    assert "on fringe, which was not measured" in said[1]
    assert "on fringe, which was not measured" not in said[0]
    assert pickle.loads(pickle.dumps(fit)).draws("low", 200).logged == drawn.logged
    refused("the fit has seen rows of the new drops before", lambda: updated(fit, drops=drops[1]))
    again = drops[1].replaced(drops[1].frame.assign(rebound_height=1.01 * drops[1].frame["rebound_height"]))
    more = updated(fit, drops=again)
    assert len(more.around["fringe"].seen.drops.height) == 2 * len(drops[1].frame)
    assert more.around["fringe"].spots == fit.around["fringe"].spots
    only = golfphys.fit(rolls[0], sheets[1]).draws("low", 200).logged
    assert only.grounds == ()
    refused("all rolls and drops are of the ground around the green", lambda: golfphys.fit(rolls[1]))


def test_drops_to_look_at_are_named_by_file_where_there_are_several() -> None:
    drops = golfphys.make_drops(course(Turf()), DropDesign(heights=(1.0, 1.5, 2.0), repeats=10, timed_share=0.0), 1)
    frame = drops.frame.drop(columns="row")
    frame.loc[4, "rebound_height"] = 2.5 * frame.loc[4, "rebound_height"]
    frame.loc[5, "rebound_height"] = 0.0
    halves = [frame.iloc[:3], frame.iloc[3:]]
    named = [half.assign(row=range(2, len(half) + 2), sheet=f"{at}.csv") for at, half in enumerate(halves)]
    fit = golfphys.fit(drops.replaced(pd.concat(named, ignore_index=True)))
    for words in ("Row 4 of 1.csv: the ball did not come back", "Rows 3, 4 of 1.csv are far from the others"):
        assert any(text.startswith(words) for text in fit.cautions)


@pytest.mark.thorough
def test_where_chips_leave_the_law_of_the_bounce_open_what_is_to_come_is_drawn_from_both() -> None:
    rolls, _, chips = sheets()
    few = chips.replaced(chips.frame.iloc[1::7].reset_index(drop=True))
    fit = golfphys.fit(rolls, few)
    assert fit.settings.turf_law == "rigid"
    assert fit.rival is not None
    assert fit.rival.settings.turf_law == "linear"
    assert 0.05 < fit.rival_share < 0.5
    assert any(text.startswith("The sheets leave open which law of the bounce") for text in fit.cautions)
    fit = pickle.loads(pickle.dumps(fit))
    alone, draws = replace(fit, rival=None), fit.draws("home-left", 64)
    assert (other := np.asarray(draws.other)).sum() == round(64 * fit.rival_share)
    # each draw is whole, of one law or the other
    own, its = alone.draws("home-left", 64), fit.rival.draws("home-left", 64)
    assert isinstance(draws.green.turf, Turf)
    assert isinstance(draws.other_turf, LinearTurf)
    for read in (
        lambda one: one.player.delivery.attack,
        lambda one: one.green.resistance.constant,
        lambda one: one.lies["fairway"].friction,
        lambda one: one.local_slope,
    ):
        assert np.array_equal(read(draws), np.where(other, read(its), read(own)))
    assert np.array_equal(draws.other_turf.restitution, its.green.turf.restitution)
    world = make_world(draws, Position(to_edge=3.0, to_pin=15.0), None, Effort())
    assert len(world.parts) == 2
    assert any(text.startswith("Two laws of the bounce fit her chips") for text in cautions([], world))
    asked = {"club": ["sand wedge"], "lie": ["fairway"], "spot": ["home-left"], "target_carry": [6.0], "heading": [0.2]}
    mine, theirs, both = (one.predict(asked, n=200).values for one in (alone, fit.rival, fit))
    drawn = (both == theirs).all(axis=(1, 2))
    assert drawn.sum() == round(200 * fit.rival_share)
    assert np.array_equal(both[~drawn], mine[~drawn])
    # what a plan quotes of her and of the green, and what is worth measuring, are of both
    starts = (one.completed(64, 0).column("start_direction") for one in (fit.rival, alone))
    assert draws.logged.start_habit[0] == np.where(other, *starts).mean()
    mine, both, theirs = (one.logged.level_roll[1] for one in (own, draws, its))
    # medians of draws: they may be a tenth of a millimetre apart, and one of them that of both
    assert min(mine, theirs) <= both <= max(mine, theirs)
    run, drops = asked | {"club": ["8-iron"]}, {"eight drops": Further(drops=8, spot="home-left")}
    mine, theirs, both = (further(one, run, drops)["shrinkage"].item() for one in (alone, fit.rival, fit))
    assert both > 2 * max(mine, theirs)
    chip = plan_chip(draws, to_edge=3.0, to_pin=15.0, effort=Effort(landings=9))
    priors = prior_weight(fit, "home-left", chip, effort=Effort(draws=100, last=8)).table
    assert {"turf[tilt]", "turf[speed_kept]"} <= {*priors.index}


GREEN = Green.from_stimp(10.0, grade=0.012, fall_direction=0.6, turf=Turf(skid_friction=0.35))
COURSE = CourseTruth(greens={"spot": GREEN})
UP_AND_DOWN = (
    FilmedRoll(name="one way", spot="spot", kind="ramp", heading=0.0, speed=1.83),
    FilmedRoll(name="back", spot="spot", kind="ramp", heading=math.pi, speed=1.83),
)
PUTT = FilmedRoll(name="putt", spot="spot", kind="putt", heading=math.pi / 2, speed=2.4, topspin_share=0.0)


def film(*rolls, seed=1, **more):
    return golfphys.make_films(COURSE, FilmDesign(rolls=rolls, frames_per_second=20.0, **more), seed)


def within(table, subject, name, truth):
    return cell(table, subject, name) == pytest.approx(truth, abs=3 * cell(table, subject, name, "sd"))


def test_resistance_and_friction_are_found_of_one_heading_the_sum_of_resistance_and_slope():
    table = golfphys.fit(film(*UP_AND_DOWN, PUTT)).films.estimates
    assert within(table, "spot", "resistance", GREEN.resistance.constant)
    assert cell(table, "spot", "resistance", "sd") < 0.002
    assert within(table, "all", "friction", 0.35)
    assert within(table, "putt", "rolling_speed", 2.4 * 5 / 7)
    assert within(table, "putt", "skid_length", 12 * 2.4**2 / (49 * 0.35 * constants.GRAVITY.value))
    assert within(table, "one way", "start_speed", 1.83)
    grade = -GREEN.grade * math.cos(GREEN.fall_direction)
    assert within(table, "one way", "resistance_and_grade", GREEN.resistance.constant + grade)
    fit = golfphys.fit(film(UP_AND_DOWN[0])).films
    assert any("resistance plus the slope" in caution for caution in fit.cautions)
    assert not bool(fit.estimates["informed"][("one way", "resistance")])
    relative = cell(fit.estimates, "one way", "resistance_and_grade", "sd") / 0.066
    assert relative < 0.03 < cell(fit.estimates, "one way", "resistance", "sd") / 0.066


@pytest.mark.thorough
def test_a_bad_frame_is_named_and_set_aside():
    sheet = film(*UP_AND_DOWN)
    frames = sheet.frame.copy()
    frames.loc[10, "distance"] += 0.4
    fit, spoiled = (golfphys.fit(one).films for one in (sheet, sheet.replaced(frames)))
    assert any("Row 12 (one way" in caution for caution in spoiled.cautions)
    found, was = (cell(one.estimates, "spot", "resistance") for one in (spoiled, fit))
    assert found == pytest.approx(was, abs=1.5 * cell(fit.estimates, "spot", "resistance", "sd"))


def test_a_film_tells_no_more_than_its_marks_tell_its_lengths():
    sheet = film(*UP_AND_DOWN)
    sharp, coarse = (golfphys.fit(sheet.replaced(sheet.frame.assign(scale_error=known))) for known in (np.nan, 0.08))
    sds = [cell(fit.films.estimates, "spot", "resistance", "sd") for fit in (sharp, coarse)]
    assert sds[1] > 3.0 * sds[0]
    assert "error of scale of a film (8.0 % allowed)" in " ".join(coarse.cautions)


def test_joint_fit_sharpens_the_release_speed():
    rolls = golfphys.make_rollouts(COURSE, RolloutDesign(repeats=3), 2)
    without, together = golfphys.fit(rolls), golfphys.fit(rolls, film(*UP_AND_DOWN))
    alone, joint = without.rollouts, together.rollouts
    sds = [cell(fit.estimates, "all", "release_speed_scale", "sd") for fit in (alone, joint)]
    assert sds[1] < 0.7 * sds[0]
    assert cell(joint.estimates, "spot", "resistance", "sd") < 0.7 * cell(alone.estimates, "spot", "resistance", "sd")
    assert within(joint.estimates, "spot", "resistance", GREEN.resistance.constant)
    assert ("one way", "start_speed") in together.films.estimates.index
    refused("no films were fitted", lambda: without.films)
    assert set(joint.comparison.table.index) == {"constant", "linear"}


def expected(values, kind, law="constant", heading=0.3):
    """Places of the frames that the model expects for given parameter values."""
    clock = np.linspace(0.0, 3.2, 33)
    frames = pd.DataFrame({"row": np.arange(33), "roll": "r", "spot": "spot", "heading": -heading, "kind": kind})
    frames = frames.assign(time=clock, distance=1.8 * clock - 0.25 * clock**2)
    opposite = frames.assign(roll="s", heading=-heading + math.pi)
    sheet = Sheet(kind="films", frame=pd.concat([frames, opposite], ignore_index=True))
    model, layout = join_films(None, films_of(sheet, law), reference_speed=1.0)
    point = model.natural(model.starting_point())
    for name, value in values.items():
        point[model.names.column(*name)] = value
    return clock, layout.places(point)[:33]


def known(level, along=0.0, left=0.0, *, speed, start=0.0):
    spot = {("resistance", "spot"): level, ("fall_along", "spot"): along, ("fall_left", "spot"): left}
    return {**spot, ("film_speed", "r"): speed, ("start_place", "r"): start, ("film_scale", "r"): 1.0}


def test_places_on_a_turning_path_agree_with_an_ode_solver(external_check):
    level, along, left, heading = 0.075, 0.02, -0.025, 0.3
    values = known(level, along, left, speed=1.9, start=0.1)
    clock, places = expected(values, "ramp", heading=heading)
    pull = constants.GRAVITY.value / ((1 + constants.BALL_INERTIA.value) * math.sqrt(1 + along**2 + left**2))

    def rates(_, state):
        speed = math.hypot(state[0], state[1])
        slow = level / max(speed, 1e-12)
        return [pull * (along - slow * state[0]), pull * (left - slow * state[1]), speed]

    start = [1.9 * math.cos(heading), 1.9 * math.sin(heading), 0.0]
    slow = solve_ivp(rates, (0, 3.2), start, t_eval=clock, rtol=1e-10, atol=1e-12)
    moving = np.hypot(slow.y[0], slow.y[1]) > 0.05
    external_check("filmed-roll-turning-path", float(np.abs(places - 0.1 - slow.y[2])[moving].max()))


def linear_roll_solved(clock, speed, level, linear, *, grade):
    pull = constants.GRAVITY.value / ((1 + constants.BALL_INERTIA.value) * math.hypot(1, grade))

    def at_rest(_, state):
        return state[1]

    at_rest.terminal = True
    rates = lambda _, state: [state[1], -pull * (level + linear * state[1])]  # noqa: E731
    done = solve_ivp(rates, (0, 99), [0, speed], "DOP853", events=at_rest, dense_output=True, rtol=1e-12, atol=1e-13)
    return done.sol(np.minimum(clock, done.t[-1]))[0]


def test_the_linear_law_agrees_with_an_ode_solver_and_a_skid_that_becomes_a_roll_with_closed_forms():
    values = known(0.07 + 0.015, -0.01 * math.cos(0.3), -0.01 * math.sin(0.3), speed=1.9)
    clock, places = expected(values | {("linear", ""): 0.015}, "ramp", law="linear")
    np.testing.assert_allclose(places, linear_roll_solved(clock, 1.9, 0.07 + 0.01, 0.015, grade=0.01), atol=1e-9)
    values = known(0.08, speed=2.0 * 5 / 7) | {("friction", ""): 0.4, ("slip", "r"): 1.0}
    clock, places = expected(values, "putt")
    push = 0.4 * constants.GRAVITY.value
    end, length = 2 * 2.0 / (7 * push), 12 * 4.0 / (49 * push)
    after = distance_at_time(np.maximum(clock - end, 0.0), 2.0 * 5 / 7, 0.08)
    during = 2.0 * clock - push / 2 * clock**2
    np.testing.assert_allclose(places, np.where(clock < end, during, length + after), atol=1e-6)


def test_spot_heading_and_kind_may_be_blank_and_bad_input_is_named():
    sheet = film(UP_AND_DOWN[0])
    fit = golfphys.fit(sheet.replaced(sheet.frame.assign(spot="", heading=np.nan, kind=""))).films
    assert any("taken as rolling at once" in caution for caution in fit.cautions)
    assert cell(fit.estimates, "one way", "resistance_and_grade") == pytest.approx(0.066, rel=0.1)
    refused("law is 'quadratic'; traces can be fitted", lambda: golfphys.fit(sheet, law="quadratic"))
    refused("four frames", lambda: golfphys.fit(sheet.replaced(sheet.frame.head(2))))
    rolls = golfphys.make_rollouts(COURSE, RolloutDesign(), 2)
    refused("together with grain", lambda: golfphys.fit(rolls, sheet, grain=True))


def test_growth_is_no_slope_across() -> None:
    for grown in (0.0, 0.008):
        law = Resistance(constant=0.09 - 1.2 * grown, linear=grown)
        truth = CourseTruth(greens={"low": Green(resistance=law, grade=0.025, fall_direction=1.2)})
        headings = (0.0, math.pi / 2, math.pi)
        rolls = tuple(
            FilmedRoll(name=f"clip {i}", spot="low", kind="ramp", heading=heading, speed=1.83)
            for i, heading in enumerate(headings)
        )
        rollouts = golfphys.make_rollouts(truth, RolloutDesign(repeats=2), 3)
        films = golfphys.make_films(truth, FilmDesign(rolls=rolls), 3)
        value, error = growth(rolls_of(rollouts), films_of(films, "linear"))
        assert error < 0.002
        assert abs(value - grown) < 2.5 * error
        said = any("Resistance seems to depend on speed" in text for text in golfphys.fit(rollouts, films).cautions)
        assert said == (grown > 0)
