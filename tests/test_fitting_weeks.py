"""A player is known better for every week that she has logged, wherever it was; its grounds say nothing of the next."""

import multiprocessing
from concurrent.futures import ProcessPoolExecutor, ThreadPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from conftest import refused

import golfphys
from golfphys import ChipDesign, CourseTruth, RolloutDesign, Station, append_row, make_chips, make_rollouts
from golfphys.core.names import Key, Names
from golfphys.fitting import fit as fitting
from golfphys.fitting.estimator import Model, Parameter
from golfphys.fitting.fit import fit_sheets, player_posterior, visits_of
from golfphys.fitting.past import DRIFT, Change, Past, forecast, known_after, with_past
from golfphys.fitting.player import prior_correlation
from golfphys.fitting.sampling import make_draws
from golfphys.fitting.search import find_mode
from golfphys.physics.club import TOUR_PLAYER
from golfphys.physics.green import Green, Turf
from golfphys.planning.plan import level_words
from golfphys.sheets import Log, Sheet, make_player_folder

HERS = replace(TOUR_PLAYER, delivery=replace(TOUR_PLAYER.delivery, shaft_lean=0.20, attack=-0.10))


def week(number, stimp, turf, player=HERS):
    truth = CourseTruth(greens={"home-left": Green.from_stimp(stimp, grade=0.01 * number, turf=turf)})
    station = Station(spot="home-left", heading=0.0)
    design = ChipDesign(stations=(station,), clubs=("pitching wedge", "sand wedge"), repeats=6, ladder=True)
    rolls = make_rollouts(truth, RolloutDesign(repeats=2), number)
    return rolls, make_chips(truth, design, 10 + number, player=player)


WEEKS = [week(1, 8.0, Turf(restitution=0.45)), week(2, 12.0, Turf(restitution=0.58))]


@pytest.fixture(scope="module")
def fits():
    return golfphys.fit_weeks(WEEKS)


def test_her_intervals_shrink_with_her_weeks_and_hold_her_who_is_known_by_her_past_without_a_chip(fits):
    for name in ("shaft_lean", "attack"):
        before, after = (fit.estimates.loc[("player", f"{name}_deg")] for fit in fits)
        assert after["sd"] < before["sd"]
        assert after["low"] < np.degrees(getattr(HERS.delivery, name)) < after["high"]
    # the first week's slow, soft green leaves the second's as it was
    found = (golfphys.fit(WEEKS[1][0]), fits[-1])
    green, other = (fit.estimates.loc[("home-left", "resistance")] for fit in found)
    assert other["estimate"] == pytest.approx(green["estimate"], abs=0.3 * green["sd"])
    rolls, _ = week(1, 10.0, Turf())
    known = [golfphys.fit(rolls, past=past).draws("home-left", 200) for past in (None, fits[-1])]
    assert [level_words(draws) for draws in known] == ["a tour-to-club-level player", "the player of the log"]
    never, lean = (np.asarray(draws.player.delivery.shaft_lean) for draws in known)
    assert lean.std() < 0.8 * never.std()
    assert abs(np.median(lean) - 0.20) < abs(np.median(never) - 0.20)


def test_a_second_law_of_the_bounce_is_fitted_only_where_chips_of_the_last_visit_leave_it_open(monkeypatch, fits):
    laws = []
    rolls, chips = WEEKS[0]
    rolled = golfphys.fit(rolls)
    monkeypatch.setattr(fitting, "favoured", lambda *_: {"rigid": None, "linear": None})
    monkeypatch.setattr(fitting, "_by_law", lambda _, before, how, at: laws.append(how["turf_law"]) or [fits[0]])
    assert golfphys.fit(rolls, past=[chips]).rival is None
    assert laws == ["rigid"]
    # a fit that has seen no chips says nothing of the law
    for fitted in (
        lambda: golfphys.fit(rolls, chips),
        lambda: golfphys.fit(rolls, chips, past=rolled),
        lambda: golfphys.updated(rolled, chips=chips),
    ):
        laws.clear()
        assert fitted().rival is not None
        assert laws == ["rigid", "linear"]


def test_a_past_seen_through_another_law_of_the_bounce_is_refused(fits):
    said = "turf_law is 'linear', and past is a fit by the law 'rigid', .* give her log or visits as past"
    refused(said, lambda: golfphys.fit(*WEEKS[1], past=fits[0], turf_law="linear"))


@pytest.mark.parametrize("kind", ["attack_error", "shaft_lean_error"])
def test_errors_beyond_any_players_explain_nothing(kind, fits):
    """Rounding once made certainty of them, and draws ran away there."""
    model, mode = fits[0].posterior.model, fits[0].posterior.mode
    far = mode.copy()
    far[model.names.column(kind)] = 15.0
    assert model.log_density(far) < model.log_density(mode)


LESSON = replace(HERS.delivery, shaft_lean=0.05, attack=-0.02)


@pytest.mark.parametrize(
    "delivery", [LESSON, pytest.param(HERS.delivery, marks=pytest.mark.thorough)], ids=["lesson", "same"]
)
def test_what_she_changed_counts_for_less_and_is_said(delivery, fits):
    now = golfphys.fit(*week(3, 10.0, Turf(), replace(HERS, delivery=delivery)), past=fits[-1])
    said = any(text.startswith("She is not as her earlier weeks say (shaft lean") for text in now.cautions)
    assert said == (delivery is LESSON)
    lean = now.estimates.loc[("player", "shaft_lean_deg")]
    assert lean["low"] < np.degrees(delivery.shaft_lean) < lean["high"]


def joined(models, hers):
    """Return one model of several visits: her parameters once, all others once for each visit."""
    keys = [
        [key if key in hers else Key(f"{key.name} {k}", key.of) for key in model.names]
        for k, model in enumerate(models)
    ]
    pairs = list(zip(keys, models, strict=True))
    parameters, start, blocks, extras, fast = {}, {}, [], [], []
    for own, model in pairs:
        parameters |= {key: replace(one, name=key.name) for key, one in zip(own, model.parameters, strict=True)}
        start |= {key: model.start[was] for key, was in zip(own, model.names, strict=True) if was in model.start}
    names = Names(tuple(parameters))
    for own, model in pairs:
        columns = names.places(own)
        fast += columns[list(model.fast)].tolist()
        blocks += [
            replace(block, group=None, evaluate=lambda x, b=block, c=columns: b.evaluate(x[..., c]))
            for block in model.blocks
        ]
        if model.extra is not None:
            extras.append(lambda x, e=model.extra, c=columns: e(x[..., c]))
    return Model(
        parameters=list(parameters.values()),
        blocks=blocks,
        start=start,
        extra=(lambda x: np.concatenate([extra(x) for extra in extras], axis=-1)) if extras else None,
        first=joined([model.first for model in models], hers) if all(model.first for model in models) else None,
        fast=sorted(set(fast)),
        correlation=prior_correlation(names),
    )


@pytest.mark.thorough
def test_what_is_carried_is_what_one_fit_of_both_visits_says():
    """Each visit has its own green, turf, lies and readings in the one fit as well; only the player is the same."""
    fits = [golfphys.fit(*visit) for visit in WEEKS]
    past = forecast(player_posterior(fits[0]), 0.0, visit=0.0)
    rolls, chips = WEEKS[1]
    carried = player_posterior(fit_sheets({"rollouts": rolls, "chips": chips}, {}, past))
    model = joined([fit.posterior.model for fit in fits], set(past.names))
    found = make_draws(find_mode(model), np.random.default_rng(0), stages=(2048, 4096, 4096, 8192, 8192))
    at_once = known_after(found, past.priors, Past())
    assert carried.names == at_once.names == past.names
    shift = pd.Series((carried.mean - at_once.mean) / at_once.sd, past.names.labels)
    width = pd.Series(carried.sd / at_once.sd, past.names.labels)
    assert shift.abs().max() < 0.3
    # the errors' posteriors are not quite normal, and the draws of the one fit are worth some 500
    assert width.between(0.8, 1.15).all()
    assert width[[name for name in past.names.labels if "lean" in name or "loft" in name]].between(0.9, 1.1).all()


@pytest.mark.parametrize("pool", [ThreadPoolExecutor, pytest.param(ProcessPoolExecutor, marks=pytest.mark.thorough)])
def test_many_fits_are_the_same_wherever_they_run(pool):
    courses = {f"course {number}": week(number, 8.0 + number, Turf())[0] for number in range(2)}
    options = {"mp_context": multiprocessing.get_context("spawn")} if pool is ProcessPoolExecutor else {}
    alone = golfphys.fit_each(courses)
    with pool(2, **options) as executor:
        shared = golfphys.fit_each(dict(reversed(courses.items())), executor=executor)
    assert list(shared) == list(reversed(alone))
    for name, fit in alone.items():
        assert fit.estimates.equals(shared[name].estimates)


def test_she_drifts_week_by_week_and_never_is_less_sure_than_unseen():
    own = (Parameter(name="shaft_lean", location=0.2, spread=0.1),)

    def known(sd, weeks, changed=0.0):
        past = Past(priors=own, mean=np.array([0.3]), covariance=np.array([[sd**2]]))
        (found,) = with_past(own, forecast(past, weeks, {Key("shaft_lean"): Change(5.0, changed)}, visit=0.0))
        return found.location, found.spread

    assert known(0.01, 0.0) == pytest.approx((0.3, 0.01))
    for weeks in (1.0, 4.0):
        drifted = np.hypot(0.01, DRIFT * 0.1 * weeks**0.5)
        assert known(0.01, weeks) == pytest.approx((0.3, drifted), rel=0.08)
    for lost in ((5.0, 1.0), (0.01, 1.0, 1e4), (0.01, 1e6)):
        assert known(*lost) == pytest.approx((0.2, 0.1), rel=1e-3)
    # a visit leaves the errors of a swing as sure as they were
    both = tuple(Parameter(name=name, location=0.1, spread=0.1, transform="log") for name in ("attack", "attack_error"))
    after = forecast(Past(priors=both, mean=np.log([0.1, 0.1]), covariance=0.01**2 * np.eye(2)), 0.0)
    assert after.sd[0] > 4 * after.sd[1] == pytest.approx(0.04)


def test_what_a_club_left_at_home_was_known_for_follows_the_others():
    """Of a distribution of three, one that is not drawn is drawn as the two that are would have it."""
    own = tuple(Parameter(name=name, location=0.0, spread=2.0) for name in "abc")
    root = np.array([[1.0, 0.0, 0.0], [0.6, 0.5, 0.0], [-0.7, 0.4, 0.3]])
    past = Past(priors=own, mean=np.array([0.1, 0.2, 0.3]), covariance=root @ root.T)
    whole = past.mean + np.random.default_rng(1).standard_normal((100_000, 3)) @ root.T
    chance = {Key("b"): np.random.default_rng(2).standard_normal(len(whole))}
    whole[:, 1] = past.draw_absent(Names(tuple(map(Key, ("c", "other", "a")))), whole[:, [2, 0, 0]], chance)[Key("b")]
    assert whole.mean(axis=0) == pytest.approx(past.mean, abs=0.01)
    assert np.cov(whole.T) == pytest.approx(past.covariance, abs=0.015)
    assert forecast(past, 0.0, visit=0.0).covariance == pytest.approx(past.covariance)


def test_a_log_is_taken_apart_by_date_and_course(tmp_path):
    folder = make_player_folder(tmp_path / "invented player")
    for course, date in (("b", "2020-05-02"), ("a", "2020-05-02"), ("a", "2020-04-01")):
        row = {"club": "sand wedge", "lie": "rough", "rest_m": 9, "course": course, "date": date}
        append_row(folder / "chips.csv", row)
    found = visits_of(golfphys.read_player(folder))
    assert [visit[0].frame["course"].tolist() for visit in found] == [["a"], ["a"], ["b"]]
    hits = {"club": "sand wedge", "lie": "rough", "distance_m": 8, "target_size_m": 1.5, "tries": 10, "hits": 4}
    for course, date in (("b", "2020-05-02"), ("c", ""), ("c", "2020-06-01")):
        append_row(folder / "targets.csv", hits | {"course": course, "date": date})
    log = golfphys.read_player(folder)
    found = [[(sheet.kind, *sheet.frame["course"]) for sheet in visit] for visit in visits_of(log)]
    chips, targets = ([(kind, place)] for kind, place in (("chips", "a"), ("targets", "c")))
    assert found == [targets, chips, chips, [("chips", "b"), ("targets", "b")], targets]  # no day is no news
    refused("past is float", lambda: visits_of(1.5))
    refused("past has neither chips nor target hits of hers", lambda: visits_of(replace(log, chips=None, targets=None)))


def test_hits_of_a_target_alone_are_a_past_as_well() -> None:
    row = {"club": "sand wedge", "lie": "fairway", "distance": 8.0, "target_size": 1.5, "tries": 60, "hits": 50}
    frame = pd.DataFrame([row | {"course": "a", "date": pd.Timestamp("2020-05-02")}])
    log = Log(folder=Path("invented player"), notes=[], targets=Sheet(kind="targets", frame=frame))
    chips = WEEKS[0][1]
    later, never = (golfphys.fit(chips.replaced(chips.frame[:2]), past=past) for past in (log, None))
    error = ("player", "speed_error_pct")
    assert later.estimates["high"].loc[error] < never.estimates["high"].loc[error]
