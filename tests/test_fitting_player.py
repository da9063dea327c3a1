"""The player's part: how she errs at the strike, pooled between clubs, and the player that comes out."""

import math
from dataclasses import replace

import numpy as np
import pytest
from fitted_demo import demo_fit
from scipy.special import logsumexp
from scipy.stats import multivariate_normal, norm

from golfphys import BAG, LIES, Club, Delivery, Green
from golfphys.fitting.chip_density import compare, seen_of
from golfphys.fitting.intervals import cell
from golfphys.fitting.joint import fit_course
from golfphys.fitting.player import between_levels, error_draws
from golfphys.fitting.strikes import Swings, departure, exact_errors, marks_of, window_of
from golfphys.invented import (
    ChipDesign,
    CourseTruth,
    DropDesign,
    RolloutDesign,
    Station,
    make_chips,
    make_drops,
    make_rollouts,
)
from golfphys.physics.club import CLUB_ERRORS, KINDS, TOUR_ERRORS
from golfphys.physics.strike import Contact, strike


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
    sds = window.errors([np.array(getattr(errors, kind)) for kind in KINDS])
    clean, steps = window.shares(sds, np.array(0.55))
    z = np.random.default_rng(1).standard_normal((6, 100_000))
    struck = strike(BAG[club], Delivery(speed=7.0, attack=-0.07, shaft_lean=0.14), LIES[lie], z, errors)
    heavy, thin = ((struck.contact == kind).mean() for kind in (Contact.HEAVY, Contact.THIN))
    assert float(clean[0] + steps[0].sum()) == pytest.approx(1.0)
    assert float(steps[0, :4].sum()) == pytest.approx(heavy, abs=0.016)
    assert float(steps[0, 4:].sum()) == pytest.approx(thin, abs=0.016)


def test_slopes_of_a_clean_strike_are_those_of_the_strike() -> None:
    one = swings("sand wedge", "fairway")
    window = window_of(one)
    small = [0.02, 0.01, 0.004, 0.008, 0.004, 0.0]
    z = np.random.default_rng(2).standard_normal((6, 20_000, 1))
    z[5] = 0.0
    found = departure(
        one.struck(z, exact_errors(small)).launch, one.struck(np.zeros((6, 1)), exact_errors(small)).launch
    )
    sds = np.array(small[:5])
    assert np.log(found.carry).std() == pytest.approx(float(np.sqrt(((window.carry[0] * sds) ** 2).sum())), rel=0.05)
    for name in ("angle", "spin", "direction"):
        expected = float(np.sqrt(((getattr(window, name)[0] * sds) ** 2).sum()))
        assert getattr(found.shift, name).std() == pytest.approx(expected, rel=0.05)


def test_a_log_without_notes_says_nothing_by_leaving_them_out() -> None:
    silent, noting = marks_of(np.array([-1, -1])), marks_of(np.array([-1, 2]))
    assert np.allclose(silent[0], 1.0)
    assert np.allclose(silent[1], 1.0)
    assert (noting[1][0] < noting[0][0]).all()


def test_the_prior_spans_both_reference_players() -> None:
    for kind in KINDS:
        median, spread = between_levels(kind)
        for errors in (TOUR_ERRORS, CLUB_ERRORS):
            place = float(norm.cdf(math.log(getattr(errors, kind) / median) / spread))
            assert 0.05 < place < 0.95


def test_clubs_never_hit_err_as_clubs_do() -> None:
    """Each club departs as its own draws say; a club that no draws name, by draws from the prior: wider."""
    n = 4000
    random = np.random.default_rng(2)
    values = {f"{kind}_error": np.full(n, getattr(TOUR_ERRORS, kind)) for kind in KINDS} | {
        "between_clubs": np.full(n, 0.3),
        "club_errors[sand wedge]": np.zeros(n),
        "club_errors[9-iron]": random.standard_normal(n),
    }
    clubs = {name: BAG[name] for name in ("sand wedge", "9-iron")}
    drawn = error_draws(values.__getitem__, clubs, n, np.random.default_rng(1))
    assert drawn["sand wedge"]["speed"].std() < 1e-12
    assert np.log(drawn["9-iron"]["speed"]).std() == pytest.approx(0.3, rel=0.05)
    assert np.log(drawn[""]["height"] / TOUR_ERRORS.height).std() == pytest.approx(0.3, rel=0.05)


@pytest.mark.thorough
def test_the_demo_players_errors_are_found() -> None:
    fit = demo_fit()
    player = fit.draws(fit.spots[0], 500, 1).player
    for club, wider in {"8-iron": 1.0, "pitching wedge": 1.0, "sand wedge": 1.0, "lob wedge": 1.25}.items():
        low, high = np.quantile(np.asarray(player.errors_with(club).speed), [0.005, 0.995])
        assert low < 0.06 * wider < high, club
        assert high < 6 * low, club


@pytest.mark.thorough
def test_hop_times_narrow_what_the_landing_does() -> None:
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0, grade=0.015)})
    stations = (Station(spot="low", heading=0.0), Station(spot="low", heading=2.0))
    shares = {"first_hop": 0.0, "hang_time": 0.5, "hop_time": 1.0}
    design = ChipDesign(stations=stations, clubs=("pitching wedge", "lob wedge"), lies=("fairway",), repeats=12)
    chips = make_chips(truth, replace(design, seen=shares), 3)
    measured = make_rollouts(truth, RolloutDesign(repeats=2), 1), make_drops(truth, DropDesign(repeats=2), 2)
    deaf = chips.replaced(chips.chips.assign(hop_time=np.nan))
    without, heard = (fit_course(*measured, log, draws=800) for log in (deaf, chips))
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


def test_rough_that_is_as_even_as_a_fairway_is_found_so() -> None:
    truth = CourseTruth(greens={"low": Green.from_stimp(10.0)})
    stations = tuple(Station(spot="low", heading=heading) for heading in (0.0, 1.6, 3.1))
    design = ChipDesign(stations=stations, clubs=("8-iron", "sand wedge"), repeats=14)
    even = {name: replace(lie, speed_error=0.0, face_error=0.0) for name, lie in LIES.items()}
    uneven = {
        name: replace(lie, speed_error=2.5 * lie.speed_error, face_error=2.5 * lie.face_error)
        for name, lie in LIES.items()
    }
    fits = [fit_course(chips=make_chips(truth, design, 3, lies=lies)) for lies in (even, uneven)]
    less, more = (fit.estimates.loc[("lie light rough", "unevenness")] for fit in fits)
    assert less["estimate"] < 0.75
    assert more["low"] > less["estimate"]
    assert more["low"] < 2.5 < more["high"]
    spread = [fit.draws("low", 64).lies["light rough"].speed_error for fit in fits]
    assert np.median(spread[0]) < 0.6 * np.median(spread[1])
