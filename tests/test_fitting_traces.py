"""Fits of filmed rolls: resistance, skid and friction; errors of frame and scale; what films cannot tell."""

import math

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from scipy.integrate import solve_ivp

import golfphys
from golfphys import Green, Resistance, Turf, constants, fit
from golfphys.fitting.films import films_of, join_films
from golfphys.fitting.results import cell
from golfphys.fitting.rollout_cautions import growth
from golfphys.fitting.rollout_layout import rolls_of
from golfphys.invented import CourseTruth, FilmDesign, FilmedRoll, RolloutDesign, make_films, make_rollouts
from golfphys.physics.ramp import distance_at_time
from golfphys.sheets import Sheet

GREEN = Green.from_stimp(10.0, grade=0.012, fall_direction=0.6, turf=Turf(skid_friction=0.35))
COURSE = CourseTruth(greens={"spot": GREEN})
UP_AND_DOWN = (
    FilmedRoll(name="one way", spot="spot", kind="ramp", heading=0.0, speed=1.83),
    FilmedRoll(name="back", spot="spot", kind="ramp", heading=math.pi, speed=1.83),
)
PUTT = FilmedRoll(name="putt", spot="spot", kind="putt", heading=math.pi / 2, speed=2.4, topspin_share=0.0)


def film(*rolls, seed=1, **more):
    return make_films(COURSE, FilmDesign(rolls=rolls, frames_per_second=20.0, **more), seed)


def within(table, subject, name, truth):
    return cell(table, subject, name) == pytest.approx(truth, abs=3 * cell(table, subject, name, "sd"))


def test_resistance_and_friction_are_found():
    table = golfphys.fit(film(*UP_AND_DOWN, PUTT)).films.estimates
    assert within(table, "spot", "resistance", GREEN.resistance.constant)
    assert cell(table, "spot", "resistance", "sd") < 0.002
    assert within(table, "all", "friction", 0.35)
    assert within(table, "putt", "rolling_speed", 2.4 * 5 / 7)
    assert within(table, "putt", "skid_length", 12 * 2.4**2 / (49 * 0.35 * constants.GRAVITY.value))
    assert within(table, "one way", "start_speed", 1.83)
    grade = -GREEN.grade * math.cos(GREEN.fall_direction)
    assert within(table, "one way", "resistance_and_grade", GREEN.resistance.constant + grade)


def test_one_heading_shows_only_the_sum_of_resistance_and_slope():
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


def test_joint_fit_sharpens_the_release_speed():
    rolls = make_rollouts(COURSE, RolloutDesign(repeats=3), 2)
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
    rolls = make_rollouts(COURSE, RolloutDesign(), 2)
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
        rollouts = make_rollouts(truth, RolloutDesign(repeats=2), 3)
        films = make_films(truth, FilmDesign(rolls=rolls), 3)
        value, error = growth(rolls_of(rollouts), films_of(films, "linear"))
        assert error < 0.002
        assert abs(value - grown) < 2.5 * error
        said = any("Resistance seems to depend on speed" in text for text in fit(rollouts, films).cautions)
        assert said == (grown > 0)
