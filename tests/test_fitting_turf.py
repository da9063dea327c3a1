"""Turf from drops: recovery, the laws of the bounce compared, and answers to thin sheets."""

import pickle
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from fitted_demo import sheets

import golfphys
from golfphys import ChipDesign, Effort, Green, LinearTurf, Position, Resistance, Station, Turf, plan_chip, updated
from golfphys.fitting.course_cautions import LINEAR
from golfphys.fitting.course_fit import favoured
from golfphys.fitting.course_model import Settings, observed
from golfphys.fitting.results import cell
from golfphys.fitting.turf import drops_of, take_off, turf_parameters
from golfphys.formulas.turf import hop_speed
from golfphys.invented import CourseTruth, DropDesign, RolloutDesign, make_chips, make_drops, make_rollouts
from golfphys.physics.bounce import turf_bounce
from golfphys.physics.rows import turf_row
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
    table = golfphys.fit(make_drops(course(truth), DESIGN, seed)).estimates
    expected = truth.restitution + 5 * truth.restitution_linear + 25 * truth.restitution_quadratic
    low, high = table.loc[("turf", "restitution_at_5_m_s"), ["low", "high"]]
    slack = 0.25 * (high - low)
    assert low - slack < expected < high + slack
    assert high - low < 0.06
    # a ball that falls straight does not slide: friction stays at its prior, and the table says so
    assert table.loc["turf", "informed"][["friction", "restitution_at_5_m_s"]].tolist() == [False, True]


def test_a_falling_restitution_speaks_against_one_number() -> None:
    heights = DropDesign(heights=(0.3, 0.8, 1.5, 2.5, 3.0), repeats=6, restitution_scatter=0.01)
    drops = make_drops(course(Turf(restitution=0.52, restitution_linear=-0.05)), heights, 3)
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
        make_rollouts(truth, RolloutDesign(repeats=1), 1),
        make_drops(truth, DESIGN, 1),
        make_chips(truth, design, 1),
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
    rolls, drops = make_rollouts(truth, RolloutDesign(repeats=1), 1), make_drops(truth, DESIGN, 1)
    turf = golfphys.fit(rolls, drops, turf_law="linear").draws(next(iter(truth.greens)), 400).green.turf
    assert np.min(turf.forward_lift) == 0.0


def test_thin_sheets_of_drops_get_a_sentence() -> None:
    few = golfphys.fit(make_drops(course(Turf()), DropDesign(heights=(1.5,), repeats=3), 2))
    assert few.comparison.verdict.startswith("The sheets do not prefer a law")
    assert len(repr(few.comparison)) < 1000  # of a caution that names it
    low = golfphys.fit(make_drops(course(Turf()), DropDesign(heights=(0.4, 0.6), repeats=4), 2))
    for fit, words in ((few, "Only 3 drops"), (low, "Drop from 1.5 m and more")):
        assert any(words in text for text in fit.cautions)
    refused("the sheet has no drops", lambda: drops_of(Sheet(kind="drops", frame=few.sheets["drops"].frame.head(0))))


def test_two_flights_without_a_height_are_enough() -> None:
    sheet = make_drops(course(Turf()), DropDesign(heights=(2.5, 3.0), repeats=10, timed_share=1.0), 5)
    heard = Sheet(kind="drops", frame=sheet.frame.assign(drop_height=np.nan))
    fit = golfphys.fit(heard)
    prior = golfphys.fit(Sheet(kind="drops", frame=heard.frame.assign(second_flight=np.nan)))
    wide, narrow = (cell(f.estimates, "turf", "restitution", "sd") for f in (prior, fit))
    assert narrow < 0.7 * wide


def test_a_measured_fringe_goes_into_the_plan() -> None:
    soft = Turf(restitution=0.42, restitution_linear=-0.037)
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0, grade=0.01)})
    beside = Green(resistance=Resistance(constant=0.20), grade=0.01, turf=soft)
    fringe = CourseTruth(greens={"fringe low": beside})
    rolls, drops = (
        [make(place, design, 1) for place in (truth, fringe)]
        for make, design in ((make_rollouts, RolloutDesign(repeats=2)), (make_drops, DESIGN))
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
    drops = make_drops(course(Turf()), DropDesign(heights=(1.0, 1.5, 2.0), repeats=10, timed_share=0.0), 1)
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
    other = np.asarray(draws.other)
    assert other.sum() == round(64 * fit.rival_share)
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
    assert len(make_world(draws, Position(to_edge=3.0, to_pin=15.0), None, Effort()).parts) == 2
    asked = {"club": ["sand wedge"], "lie": ["fairway"], "spot": ["home-left"], "target_carry": [6.0], "heading": [0.2]}
    mine, theirs, both = (one.predict(asked, n=200).values for one in (alone, fit.rival, fit))
    drawn = (both == theirs).all(axis=(1, 2))
    assert drawn.sum() == round(200 * fit.rival_share)
    assert np.array_equal(both[~drawn], mine[~drawn])
