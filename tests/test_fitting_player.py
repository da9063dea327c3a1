"""The player's part: how she errs, pooled between clubs; counts of target hits; options in the log."""

import math
from dataclasses import replace
from functools import cache

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from scipy.special import logsumexp
from scipy.stats import binom, multivariate_normal, norm

import golfphys
from golfphys import BAG, LIES, OPTIONS, TOUR_PLAYER, Delivery, Green, Option, RolloutDesign, assumed, plan_chip
from golfphys.core.names import Key, Names, Sample
from golfphys.fitting.chip_density import compare, seen_of
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.player import between_levels, error_draws
from golfphys.fitting.results import cell
from golfphys.fitting.strikes import Swings, departure, marks_of, window_of
from golfphys.invented import ChipDesign, CourseTruth, DropDesign, Station, make_chips, make_drops, make_rollouts
from golfphys.physics.club import CLUB_ERRORS, ERROR_KINDS, OPTION_ERRORS, OPTION_LEAN, TOUR_ERRORS, Club
from golfphys.physics.strike import Contact, strike
from golfphys.planning.position import Choice, Position
from golfphys.planning.world import Effort, brought
from golfphys.sheets import Sheet


def swings(club: str, lie: str, speed: float = 7.0) -> Swings:
    own = {
        name: np.array([getattr(BAG[club], name)])
        for name in ("loft", "bounce", "head_mass", "sole_width", "lie_angle")
    }
    ground = {name: np.array([float(value)]) for name, value in vars(LIES[lie]).items() if name != "name"}
    delivery = Delivery(speed=np.array([speed]), attack=np.array([-0.07]), shaft_lean=np.array([0.14]), edge_aim=0.55)
    return Swings(club=Club(name=club, **own), lie=replace(LIES[lie], **ground), delivery=delivery)


@pytest.mark.parametrize(("club", "lie"), [("8-iron", "fairway"), ("lob wedge", "tight"), ("sand wedge", "wet")])
def test_shares_of_mis_hits_are_those_of_the_strike(club: str, lie: str) -> None:
    one, errors = swings(club, lie), CLUB_ERRORS
    window = window_of(one)
    sds = window.errors([np.array(getattr(errors, kind)) for kind in ERROR_KINDS])
    clean, steps = window.shares(sds, np.array(0.55), window.attack, window.shaft_lean)
    z = np.random.default_rng(1).standard_normal((6, 100_000))
    struck = strike(BAG[club], Delivery(speed=7.0, attack=-0.07, shaft_lean=0.14), LIES[lie], z, errors)
    heavy, thin = ((struck.contact == kind).mean() for kind in (Contact.HEAVY, Contact.THIN))
    assert float(clean[0] + steps[0].sum()) == pytest.approx(1.0)
    assert float(steps[0, :4].sum()) == pytest.approx(heavy, abs=0.016)
    assert float(steps[0, 4:].sum()) == pytest.approx(thin, abs=0.016)
    # a log without notes of mis-hits says nothing by leaving them out
    silent, noting = marks_of(np.array([-1, -1])), marks_of(np.array([-1, 2]))
    assert np.allclose(silent[0], 1.0)
    assert np.allclose(silent[1], 1.0)
    assert (noting[1][0] < noting[0][0]).all()


@pytest.mark.parametrize(("attack", "lean"), [(0.05, 0.0), (0.0, 0.05), (0.0, -0.07), (0.05, -0.05)])
@pytest.mark.parametrize(
    ("club", "lie"), [("lob wedge", "tight"), ("pitching wedge", "fairway"), ("sand wedge", "wet")]
)
def test_another_attack_or_lean_moves_the_window_as_it_moves_the_strike(club, lie, attack, lean):
    window = window_of(swings(club, lie))
    sds = window.errors([np.array(getattr(CLUB_ERRORS, kind)) for kind in ERROR_KINDS])
    clean, steps = window.shares(sds, np.array(0.55), np.array(-0.07 + attack), np.array(0.14 + lean))
    z = np.random.default_rng(1).standard_normal((6, 100_000))
    swing = Delivery(speed=7.0, attack=-0.07 + attack, shaft_lean=0.14 + lean)
    contact = strike(BAG[club], swing, LIES[lie], z, CLUB_ERRORS).contact
    for kind, part in ((Contact.HEAVY, steps[0, :4]), (Contact.THIN, steps[0, 4:])):
        assert float(part.sum()) == pytest.approx((contact == kind).mean(), abs=0.02)
    assert float(clean[0] + steps[0].sum()) == pytest.approx(1.0)


MOVED = ("angle", "spin", "direction")


def test_slopes_of_a_clean_strike_are_those_of_the_strike() -> None:
    one = swings("sand wedge", "fairway")
    window, errors = window_of(one), (0.02, 0.01, 0.004, 0.008, 0.004, 0.0)
    z = np.random.default_rng(2).standard_normal((6, 20_000, 1))
    z[5] = 0.0
    found = departure(one.struck(z, errors).launch, one.struck(np.zeros((6, 1)), errors).launch)
    sds = np.array([0.02, 0.01, 0.004, 0.008, 0.004])
    seen = {"carry": np.log(found.carry)} | {name: getattr(found.shift, name) for name in MOVED}
    for name, values in seen.items():
        expected = float(np.sqrt(((getattr(window, name)[0] * sds) ** 2).sum()))
        assert values.std() == pytest.approx(expected, rel=0.05), name


def test_the_prior_spans_both_reference_players_and_clubs_never_hit_err_as_clubs_do() -> None:
    """Each club departs as its own draws say; a club that no draws name, by draws from the prior: wider."""
    for kind in ERROR_KINDS:
        median, spread = between_levels(kind)
        places = [norm.cdf(math.log(getattr(one, kind) / median) / spread) for one in (TOUR_ERRORS, CLUB_ERRORS)]
        assert 0.05 < min(places) < max(places) < 0.95
    n = 4000
    random = np.random.default_rng(2)
    values = {Key(f"{kind}_error"): np.full(n, getattr(TOUR_ERRORS, kind)) for kind in ERROR_KINDS} | {
        Key("between_clubs"): np.full(n, 0.3),
        Key("club_errors", "sand wedge"): np.zeros(n),
        Key("club_errors", "9-iron"): random.standard_normal(n),
    }
    clubs, sample = {name: BAG[name] for name in ("sand wedge", "9-iron")}, Sample(Names(), np.zeros((n, 0)))
    drawn = error_draws(sample.beside(values, values.values()), clubs, np.random.default_rng(1))
    assert drawn["sand wedge"]["speed"].std() < 1e-12
    assert np.log(drawn["9-iron"]["speed"]).std() == pytest.approx(0.3, rel=0.05)
    assert np.log(drawn[""]["height"] / TOUR_ERRORS.height).std() == pytest.approx(0.3, rel=0.05)


@pytest.mark.thorough
def test_hop_times_narrow_what_the_landing_does() -> None:
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0, grade=0.015)})
    stations = (Station(spot="low", heading=0.0), Station(spot="low", heading=2.0))
    shares = {"first_hop": 0.0, "hang_time": 0.5, "hop_time": 1.0}
    design = ChipDesign(stations=stations, clubs=("pitching wedge", "lob wedge"), lies=("fairway",), repeats=12)
    chips = make_chips(truth, replace(design, seen=shares), 3)
    measured = make_rollouts(truth, RolloutDesign(repeats=2), 1), make_drops(truth, DropDesign(repeats=2), 2)
    deaf = chips.replaced(chips.frame.assign(hop_time=np.nan))
    without, heard = (golfphys.fit(*measured, log) for log in (deaf, chips))
    assert cell(heard.estimates, "turf", "tilt_deg", "sd") < 0.8 * cell(without.estimates, "turf", "tilt_deg", "sd")
    hops = heard.residuals[heard.residuals["what"] == "hop_time"]["standardised"]
    assert len(hops) > 15
    assert abs(hops.median()) < 0.8


def test_density_is_that_of_the_multivariate_normal() -> None:
    rng = np.random.default_rng(5)
    draws, chips, kinds, steps = 3, 4, 6, 2
    made = rng.random((chips, kinds)) < 0.7
    made[:, 3] = True
    slopes, bumps = rng.normal(size=(chips, kinds, 6)), rng.normal(size=(chips, kinds, 5))
    unknown = rng.random((chips, kinds))
    moved, spread = rng.normal(size=(2, chips, steps, kinds))
    errors, uneven, own = rng.random((6, draws, chips)), rng.random(draws), 0.1 + rng.random((draws, kinds))
    shares, misfit = rng.random((draws, chips, steps)), rng.normal(size=(draws, chips, kinds))
    seen = seen_of(made, slopes, bumps, unknown, (moved, spread))
    residual, scale, missed = compare(seen, misfit, errors, uneven, own, shares)
    ours, theirs = [], []
    for d, i in np.ndindex(draws, chips):
        at = made[i]
        answers = np.hstack([slopes[i] * errors[:, d, i], bumps[i] * uneven[d]])[at]
        covariance = answers @ answers.T + np.diag((own[d] ** 2 + unknown[i] ** 2)[at])
        logs = [
            np.log(shares[d, i, s])
            + multivariate_normal(moved[i, s, at], covariance + np.outer(*[spread[i, s, at]] * 2)).logpdf(
                misfit[d, i, at]
            )
            for s in range(steps)
        ]
        scales = np.log(scale[d, i, at]).sum()
        ours += [-0.5 * np.sum((residual / scale)[d, i] ** 2 + np.log(2 * np.pi) * at) - scales, missed[d, i] - scales]
        theirs += [multivariate_normal(cov=covariance).logpdf(misfit[d, i, at]), logsumexp(logs)]
    assert np.max(np.abs(residual / scale)) < 3.5  # none so far out that it stops pulling the next
    assert np.max(np.abs(np.subtract(ours, theirs))) < 1e-9
    assert np.all(residual[:, ~made] == 0)
    assert np.all(scale[:, ~made] == 1)


@pytest.mark.thorough
@pytest.mark.parametrize(("factor", "repeats"), [(2.5, 8), (0.0, 14)])
def test_how_uneven_rough_is_comes_from_the_log(factor: float, repeats: int) -> None:
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0)})
    stations = tuple(Station(spot="low", heading=heading) for heading in (0.0, 1.6, 3.1))
    design = ChipDesign(stations=stations, clubs=("8-iron", "sand wedge"), repeats=repeats)
    lies = {
        name: replace(lie, speed_error=factor * lie.speed_error, face_error=factor * lie.face_error)
        for name, lie in LIES.items()
    }
    fit = golfphys.fit(make_chips(truth, design, 3, lies=lies))
    found, usual = fit.estimates.loc[("lie light rough", "unevenness")], LIES["light rough"].speed_error
    spread = np.median(fit.draws("low", 64).lies["light rough"].speed_error)
    if factor:
        assert 1.0 < found["low"] < factor < found["high"]
        assert spread > 1.5 * usual
    else:
        assert found["estimate"] < 0.75
        assert spread < usual


LEVEL_TRUTH = CourseTruth(greens={"low": Green.from_stimp(10.0)})
LOOSE = replace(TOUR_PLAYER, errors=replace(TOUR_ERRORS, speed=0.10, direction=0.06))
SIZE = 1.6
AIMS = (5.0, 9.0)
CLUBS = ("pitching wedge", "lob wedge")


def landed(balls: int, seed: int) -> Sheet:
    """Return where balls of the loose player land whose aims alternate."""
    common = {"stations": (Station(spot="low", heading=0.0),), "clubs": CLUBS, "lies": ("fairway",), "repeats": balls}
    common |= {"landing_scatter": 0.0, "seen": {}, "ladder": False, "landings_as_drawn": True}
    designs = (ChipDesign(target_low=aim, target_high=aim, **common) for aim in AIMS)
    parts = [make_chips(LEVEL_TRUTH, one, seed + number, player=LOOSE) for number, one in enumerate(designs)]
    return parts[0].replaced(pd.concat([part.frame for part in parts], ignore_index=True))


def counted(balls: int, seed: int) -> pd.DataFrame:
    chips = landed(balls, seed).frame
    hit = np.hypot(chips["carry"] - chips["target_carry"], chips["landing_side"]) <= SIZE / 2
    sets = chips.assign(hit=hit, distance=chips["target_carry"]).groupby(["club", "lie", "distance"], as_index=False)
    return sets.agg(tries=("hit", "size"), hits=("hit", "sum")).assign(target_size=SIZE)


@pytest.mark.thorough
def test_a_hit_is_as_likely_as_it_is_frequent() -> None:
    rows = counted(250, 5)
    found = golfphys.fit(Sheet(kind="targets", frame=rows))
    names, model = found.posterior.model.names, found.course.targets
    assert model is not None
    true = {f"{kind}_error": getattr(LOOSE.errors, kind) for kind in vars(TOUR_ERRORS)}
    true |= {name: getattr(LOOSE.delivery, name) for name in ("edge_aim", "attack", "shaft_lean")}
    true |= {"carry_bias": 0.0, "start_direction": 0.0}
    natural = np.array([[true.get(key.label, value) for key, value in zip(names, found.centre, strict=True)]])
    p = model.referred(natural[0]).probability(natural)[0]
    assert (rows["hits"] / rows["tries"]).to_numpy() == pytest.approx(p, abs=0.08)


TOWEL = {"club": "sand wedge", "lie": "tight", "distance": 8.0, "target_size": 1.5, "tries": 10}


def test_counts_are_binomial_and_sets_of_unknown_clubs_are_named() -> None:
    rows = pd.DataFrame(TOWEL | {"hits": [0, 3, 10]})
    found = golfphys.fit(Sheet(kind="targets", frame=rows))
    natural, model = found.posterior.sample(2, 0), found.course.targets
    assert model is not None
    model = model.referred(found.centre)
    u = model.block().evaluate(natural)[0]
    law = binom.logpmf(rows["hits"], rows["tries"], model.probability(natural))
    assert -0.5 * (u[0] ** 2 - u[1] ** 2) == pytest.approx(law[0] - law[1], abs=1e-9)
    rows = pd.DataFrame(TOWEL | {"club": ["spoon", "sand wedge"], "hits": 4})
    found = golfphys.fit(Sheet(kind="targets", frame=rows))
    assert "No loft is known for 'spoon': target hits in row 2 are left out." in found.cautions
    alone = Sheet(kind="targets", frame=rows.head(1))
    refused("no set of target hits names a known club", lambda: golfphys.fit(alone))


def test_balls_at_a_towel_tell_how_she_errs() -> None:
    log, rolls = landed(3, 11), make_rollouts(LEVEL_TRUTH, RolloutDesign(repeats=2), 1)
    towel = Sheet(kind="targets", frame=counted(30, 31))
    fits = [golfphys.fit(*sheets) for sheets in ((towel,), (rolls, log), (rolls, log, towel))]
    only, alone, both = (np.log(item.posterior.draws(800, 0).column("speed_error")).std(ddof=1) for item in fits)
    assert only < 0.8 * between_levels("speed")[1]
    assert both < 0.9 * alone
    low, high = fits[2].estimates.loc[("player", "speed_error_pct"), ["low", "high"]]
    assert low < 10.0 < high


SPOT, LEVEL, OPEN = "low", "hands level", "face opened 20 degrees"
TRUTH = CourseTruth(greens={SPOT: Green.from_stimp(10.0, grade=0.01)})
LOOSELY = replace(OPTIONS[LEVEL], wider=2.2, lean=OPTIONS[LEVEL].lean - math.radians(4.0))
SMALL = Effort(draws=16, landings=9, errors=4, last=32)


def log(option: Option, seed: int, repeats: int) -> pd.DataFrame:
    player = replace(
        TOUR_PLAYER, delivery=option.delivery(TOUR_PLAYER.delivery), errors=option.errors(TOUR_PLAYER.errors)
    )
    stations = tuple(Station(spot=SPOT, heading=heading, edge=1.0) for heading in (0.0, 1.6, 3.1))
    design = ChipDesign(stations=stations, clubs=("gap wedge", "sand wedge"), lies=("fairway",), repeats=repeats)
    return make_chips(TRUTH, design, seed, player=player).frame.assign(option=option.name)


@cache
def fitted(*options: Option) -> CourseFit:
    sheet = make_chips(TRUTH, ChipDesign(stations=(Station(spot=SPOT, heading=0.0),), repeats=1), 1)
    rows = [log(OPTIONS["usual"], 0, 12), *(log(option, 100 + number, 12) for number, option in enumerate(options))]
    chips = pd.concat(rows, ignore_index=True)
    chips["row"] = np.arange(2, len(chips) + 2)
    return golfphys.fit(make_rollouts(TRUTH, RolloutDesign(repeats=2), 1), sheet.replaced(chips))


def test_an_option_played_twice_as_loosely_is_found_and_plans_swing_as_the_log_has_it() -> None:
    found, alone = fitted(LOOSELY), fitted()
    factor = found.estimates.loc[(f"option {LEVEL}", "errors_over_usual")]
    assert factor["informed"]
    assert factor["low"] < LOOSELY.wider < factor["high"]
    assert factor["estimate"] > 1.5 * OPTIONS[LEVEL].wider
    lean = found.estimates.loc[(f"option {LEVEL}", "lean_beside_stated_deg")]
    assert lean["low"] < -4.0 < lean["high"] < 1.0
    for name in ("speed_error_pct", "direction_error_deg", "shaft_lean_deg", "carry_bias", "start_direction_deg"):
        before, after = (item.estimates.loc[("player", name)] for item in (alone, found))
        assert abs(after["estimate"] - before["estimate"]) < before["sd"], name
    choice, position = Choice(club="sand wedge", option=OPTIONS[LEVEL]), Position(to_edge=3.0, to_pin=12.0)
    loose, usual = (item.draws(SPOT, 64, 2) for item in (fitted(LOOSELY), fitted()))
    errors = [float(np.median(np.asarray(brought(choice, one, position).errors.speed))) for one in (loose, usual)]
    assert errors[0] > 1.4 * errors[1]
    plans = [plan_chip(one, position=position, options=(OPTIONS[LEVEL],), effort=SMALL) for one in (loose, usual)]
    said = [f"{LEVEL.capitalize()}: no chip in the log" in " ".join(plan.cautions) for plan in plans]
    assert said == [False, True]
    spread = [plan.table.set_index("club").loc[choice.label, "rest_side_sd_m"] for plan in plans]
    assert spread[0] > 1.3 * spread[1]


def test_an_option_never_logged_is_drawn_about_how_it_is_usually_played() -> None:
    rolls = golfphys.fit(make_rollouts(TRUTH, RolloutDesign(repeats=2), 1))
    for draws in (fitted().draws(SPOT, 256), fitted(LOOSELY).draws(SPOT, 256), rolls.draws(SPOT, 256), assumed(n=256)):
        assert draws.options["usual"] == OPTIONS["usual"]
        for name in (OPEN, "putter"):
            found, usual = draws.options[name], OPTIONS[name]
            assert np.median(found.wider) == pytest.approx(usual.wider, rel=0.15)
            assert np.std(np.log(found.wider)) == pytest.approx(OPTION_ERRORS, rel=0.15)
        assert np.std(draws.options[OPEN].lean) == pytest.approx(OPTION_LEAN, rel=0.15)
    # of a player who is stated they are stated too
    assert assumed(player=TOUR_PLAYER, n=16).options == OPTIONS


@pytest.mark.thorough
@pytest.mark.parametrize(
    ("by", "less", "other"), [("lie", "light rough", "fairway"), ("club", "sand wedge", "gap wedge")]
)
def test_chips_that_land_short_from_one_lie_or_with_one_club_are_a_habit_of_that(
    by: str, less: str, other: str
) -> None:
    stations = tuple(Station(spot=SPOT, heading=heading, edge=1.0) for heading in (0.0, 1.6, 3.1))
    design = ChipDesign(
        stations=stations, clubs=("gap wedge", "sand wedge"), lies=("fairway", "light rough"), repeats=12
    )
    sheet = make_chips(TRUTH, design, 3)
    aimed = sheet.frame.assign(target_carry=sheet.frame["target_carry"] / np.where(sheet.frame[by] == less, 0.85, 1.0))
    rolls = make_rollouts(TRUTH, RolloutDesign(repeats=2), 1)
    plain, short = (golfphys.fit(rolls, one, turf_law="rigid") for one in (sheet, sheet.replaced(aimed)))
    habits = [fit.draws(SPOT, 4096).logged.carry_habit for fit in (plain, short)]
    kept = {"lie": "fairway", "club": "sand wedge"}
    places = [tuple(({**kept, by: each})[name] for name in ("club", "lie")) for each in (less, other)]
    (lesser, usual), (shorter, as_before) = ([habit[place][0] for place in places] for habit in habits)
    assert -0.18 < shorter - lesser < -0.08
    # a habit of all her chips takes a fifth of it, as likely as priors hold that: the other is known to 0.03
    assert as_before == pytest.approx(usual, abs=0.04)
    scatter = [fit.estimates.loc[("player", "speed_error_pct"), "estimate"] for fit in (plain, short)]
    assert scatter[1] == pytest.approx(scatter[0], rel=0.25)
    said = [any(f"{less} chips land" in text for text in fit.cautions) for fit in (plain, short)]
    assert said == [False, True]


@pytest.mark.thorough
def test_an_opened_face_is_no_other_lie_or_loft() -> None:
    found = fitted(OPTIONS[OPEN])
    for name, true in (("errors_over_usual", OPTIONS[OPEN].wider), ("lean_beside_stated_deg", 0.0)):
        row = found.estimates.loc[(f"option {OPEN}", name)]
        assert row["low"] < true < row["high"], name
    lean = found.estimates.loc[("player", "shaft_lean_deg")]
    assert lean["low"] < math.degrees(TOUR_PLAYER.delivery.shaft_lean) < lean["high"]
