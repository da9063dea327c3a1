"""The estimator on models whose posterior is known, and on sheets of many spots: the same answer as all at once."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from scipy.integrate import quad
from scipy.stats import norm

import golfphys
from golfphys.core import constants
from golfphys.fitting import many_spots, rollout_cautions, rollout_model, search
from golfphys.fitting.course_fit import say_if_long
from golfphys.fitting.estimator import Block, Model, Normal, OutlierTolerant, Parameter, Summed
from golfphys.fitting.results import direction_interval, length_interval, quantile, scale_interval
from golfphys.fitting.rollout_layout import rest_of, rolls_of, turned
from golfphys.fitting.rollout_model import build
from golfphys.fitting.sampling import Order, _curved, _together, adapted, make_draws
from golfphys.fitting.search import find_mode
from golfphys.sheets import Sheet

RAMP = constants.RAMP_RELEASE_SPEED.value


def posterior(model, *, seed=0):
    return make_draws(find_mode(model), np.random.default_rng(seed))


def model_of(evaluate, parameters, loss=None, **more):
    """Return a model of one block; a parameter is location, spread, and what else it is: log, outer."""
    made = [
        Parameter(name=name, location=at, spread=spread, transform="log" if how else "identity", outer="outer" in how)
        for name, (at, spread, *how) in parameters.items()
    ]
    return Model(parameters=made, blocks=[Block(name="seen", evaluate=evaluate, loss=loss or Normal())], **more)


def mean_model(values, scale=None):
    """Mean of normal observations, with known or unknown scale."""

    def evaluate(natural):
        spread = natural[..., 1:2] if scale is None else np.full((*natural.shape[:-1], 1), scale)
        return values - natural[..., :1], spread + np.zeros(natural.shape[:-1] + values.shape)

    return model_of(evaluate, {"mean": (0.0, 100.0)} | ({"scale": (1.0, 3.0, "log", "outer")} if scale is None else {}))


def test_means_of_normal_values_have_the_posterior_and_evidence_of_the_textbook():
    # with a flat prior on mean and log scale the mean is a t with n - 1 degrees of freedom: 2.132 for 90 % at n = 5
    values = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    found = posterior(mean_model(values), seed=3)
    low, high = quantile(found.column("mean"), found.weights, np.array([0.05, 0.95]))
    half = 2.132 * values.std(ddof=1) / np.sqrt(5)
    assert low == pytest.approx(3.0 - half, abs=0.12)
    assert high == pytest.approx(3.0 + half, abs=0.12)
    assert found.pareto_k < 0.7
    values = np.random.default_rng(1).normal(2.0, 0.5, 20)
    mode = find_mode(mean_model(values, 0.5))
    assert mode.point[0] == pytest.approx(values.mean(), rel=1e-4)
    assert np.sqrt(mode.covariance[0, 0]) == pytest.approx(0.5 / np.sqrt(20), rel=1e-3)
    few = np.array([0.3, -0.2, 0.4])

    def joint(mean):
        return np.prod(norm.pdf(few, mean, 0.5)) * norm.pdf(mean, 0.0, 100.0)

    evidence = posterior(mean_model(few, 0.5)).log_evidence
    assert evidence == pytest.approx(np.log(quad(joint, -5, 5)[0]), abs=0.02)


@pytest.mark.parametrize("loss", [Normal(), OutlierTolerant()], ids=["normal", "outliers"])
def test_losses_are_densities_with_consistent_weights(loss):
    u = np.linspace(-200, 200, 80001)
    assert np.trapezoid(np.exp(loss.log_density(u)), u) == pytest.approx(1.0, abs=2e-3)
    u = np.linspace(-9, 9, 37)
    slope = -(loss.log_density(u + 1e-5) - loss.log_density(u - 1e-5)) / 2e-5
    np.testing.assert_allclose(loss.weight(u) * u, slope, atol=1e-6)


def test_weighted_draws_and_chain_find_a_bent_posterior():
    """A banana: the second parameter follows the square of the first."""

    def evaluate(natural):
        residual = natural[..., 1:2] - 1.5 * natural[..., :1] ** 2
        return residual, np.full(residual.shape, 0.1)

    # the first parameter by integration: prior times the density of 0 given the spread of the second
    x = np.linspace(-4, 4, 4001)
    cumulative = np.cumsum(np.exp(-0.5 * x**2 - 0.5 * (1.5 * x**2) ** 2 / (1.0 + 0.1**2)))
    shares = np.array([0.05, 0.5, 0.95])
    exact = np.interp(shares, cumulative / cumulative[-1], x)
    source = posterior(model_of(evaluate, {"first": (0.0, 1.0), "second": (0.0, 1.0)}), seed=1)
    assert source.method == "weighted"
    np.testing.assert_allclose(quantile(source.column("first"), source.weights, shares), exact, atol=0.06)
    # so long that the tolerance below is four standard errors of the chain: what it draws hangs on the processor
    chain, short = (source.chained(steps=steps, seed=2) for steps in (12_000, 40))
    assert chain.diagnostics.trusted
    assert "mixed well" in str(chain.diagnostics)
    np.testing.assert_allclose(quantile(chain.column("first"), chain.weights, shares), exact, atol=0.08)
    assert not short.diagnostics.trusted
    assert "has not mixed" in short.failure
    refused("at least 30", lambda: source.chained(steps=5))


def test_a_parameter_left_free_by_what_was_seen_gets_its_prior_back():
    """From some value on more of a friction changes nothing, as once the ball grips."""

    def evaluate(natural):
        seen = 2.0 * np.minimum(natural[..., :1], 0.345) + natural[..., 1:2]
        return 0.68 + 0.016 * np.linspace(-1, 1, 8) - seen, np.full((*natural.shape[:-1], 8), 0.016)

    model = model_of(evaluate, {"friction": (0.4, 0.35, "log"), "level": (0.0, 5e-4)}, start={"friction": 0.34})
    z, level = np.linspace(-2, 5, 20001)[:, None], np.linspace(-2e-3, 2e-3, 41)
    grid = np.stack(np.broadcast_arrays(np.log(0.4) + 0.35 * z, level), axis=-1)
    weight = np.exp(model.log_density(grid))
    share = weight[grid[:, 0, 0] > np.log(0.5)].sum() / weight.sum()
    found = posterior(model)
    assert found.weights[found.column("friction") > 0.5].sum() == pytest.approx(share, abs=0.03)


@pytest.mark.parametrize(("count", "far"), [(10, 1.0), (2000, 0.01)], ids=["adds little", "adds nearly all"])
def test_a_first_part_and_fast_parameters_leave_the_posterior_as_it_is(count, far):
    rng = np.random.default_rng(6)
    values, more = rng.normal(1.0, 0.5, 8), rng.normal(1.0 + 2.0 * far, 0.7, count)

    def second(natural):
        level = natural[..., :1] + far * natural[..., 2:3]
        return more - level, natural[..., 3:4] + np.zeros(natural.shape[:-1] + more.shape)

    first, more_of = mean_model(values), model_of(second, {"step": (0.0, 5.0), "noise": (1.0, 1.0, "log", "outer")})
    parameters, blocks = ([*getattr(first, name), *getattr(more_of, name)] for name in ("parameters", "blocks"))
    whole = Model(parameters=parameters, blocks=blocks)
    plain = posterior(whole)
    staged = posterior(replace(whole, first=first, fast=[whole.names.column("noise")]))
    for name in whole.names.labels:
        one, two = (quantile(f.column(name), f.weights, np.array([0.05, 0.5, 0.95])) for f in (plain, staged))
        np.testing.assert_allclose(one, two, atol=0.2 * float(plain.column(name).std()))


def test_noises_that_add_up_are_drawn_as_sum_and_ratio_in_the_same_volume():
    pair, point, step = Summed(2, 0, math.log(3.0)), np.array([-5.0, 7.0, -2.0]), 1e-6
    drawn = pair.apart(point)
    assert drawn[2] == pytest.approx(math.log(math.hypot(math.exp(-2.0), 3.0 * math.exp(-5.0))))
    assert pair.back(drawn) == pytest.approx(point)
    off = step * np.eye(3)
    slopes = (pair.apart(point + off) - pair.apart(point - off)).T / (2 * step)
    assert pair.slopes(drawn) == pytest.approx(slopes, abs=1e-8)
    assert abs(np.linalg.det(slopes)) == pytest.approx(1.0, rel=1e-6)


def test_the_shoulder_of_a_parameter_that_changes_nothing_beyond_some_value_is_found():
    # 0.965 was read, to 0.01, of what grows with x up to 1 and no further
    def evaluate(natural):
        read = np.minimum(natural[..., :1], 1.0)
        return 0.965 - read, np.full(read.shape, 0.01)

    model = model_of(evaluate, {"x": (1.5, 0.6), "other": (0.0, 1.0)}, flat=[0])

    def density(x):
        return math.exp(-0.5 * ((0.965 - min(x, 1.0)) / 0.01) ** 2 - 0.5 * ((x - 1.5) / 0.6) ** 2)

    shoulder = quad(density, 1.0, 5.0)[0]
    found = adapted(model, (np.array([0.965, 0.0]), np.diag([0.0001, 1.0])), None, np.random.default_rng(2), (512,) * 6)
    share = found.weights @ (found.transformed[:, 0] > 1.0)
    assert share == pytest.approx(shoulder / (shoulder + quad(density, 0.0, 1.0)[0]), rel=0.1)


def test_contradictory_values_are_said_and_not_marked_as_known():
    def evaluate(natural):
        residual = 1e3 * np.sin(natural @ np.array([[900.0], [1700.0], [3100.0], [500.0]]))
        return residual, np.ones(residual.shape)

    assert posterior(model_of(evaluate, dict.fromkeys("abcd", (0.0, 1.0)))).failure


def test_intervals_go_round_the_circle_and_start_at_nothing_where_that_may_be():
    rng, even = np.random.default_rng(9), np.full(4000, 1 / 4000)
    angle = np.radians(359.0) + 0.05 * rng.standard_normal(4000)
    found = direction_interval(np.cos(angle), np.sin(angle), even)
    assert found.low < found.estimate < found.high
    assert found.low <= 359.0 <= found.high or found.low <= -1.0 <= found.high
    assert found.high - found.low == pytest.approx(2 * 1.645 * np.degrees(0.05), rel=0.1)
    x, y = rng.standard_normal((2, 4000))
    nowhere = direction_interval(x, y, even)
    assert (nowhere.low, nowhere.high) == (0.0, 360.0)
    assert length_interval(x, y, even).low == 0.0
    assert length_interval(x + 6, y, even).low > 3.0
    assert scale_interval(0.1 * np.exp(x), even).low == 0.0
    assert scale_interval(0.2 * np.exp(0.3 * x), even).low > 0.1


def test_the_search_steps_back_where_the_linear_model_promises_too_much():
    seen = np.array([0.9, 0.95, 1.0, 1.05])

    def evaluate(natural):
        level = natural[..., :1]
        expected = np.where(level < 1.0, level, 300.0)
        return seen - expected, natural[..., 1:2] + np.zeros(natural.shape[:-1] + seen.shape)

    model = model_of(evaluate, {"level": (0.5, 1.0), "noise": (0.1, 1.0, "log", "outer")})
    mode = find_mode(model)
    assert model.log_density(mode.point) > model.log_density(model.starting_point())
    assert model.natural(mode.point)[0] < 1.0
    found = posterior(model)
    assert np.isfinite(found.natural).all()
    assert found.natural.max() < 10.0


@pytest.mark.parametrize(("parameters", "chips", "word"), [(60, 40, ""), (400, 0, "spots"), (60, 2000, "chips")])
def test_a_long_fit_says_so_beforehand(parameters, chips, word, capsys):
    assert (say_if_long(parameters, chips) > 30) == bool(word)
    said = capsys.readouterr().err
    assert word in said
    assert bool(said) == bool(word)


def of_clubs():
    """Errors that are wider or narrower by club, each seen through what the two come to."""
    seen = np.array([0.3, -0.4, 0.1])

    def evaluate(natural):
        residual = seen - natural[..., 1:4] * natural[..., :1] - np.log(natural[..., 4:])
        return residual, np.full(residual.shape, 0.1)

    clubs = dict.fromkeys(("first", "second", "third"), (0.0, 1.0))
    parameters = {"spread": (0.5, 0.6, "log"), **clubs, "level": (0.5, 0.6, "log")}
    return model_of(evaluate, parameters, scaled=(0, [1, 2, 3], [4]), fast=range(5))


def test_products_are_drawn_in_place_of_their_factors():
    model, point = of_clubs(), np.array([-0.875, 0.75, -0.875, 0.125, -0.625])
    order = Order.of(model, point, 0.09 * np.eye(5))
    assert order.natural(point[None])[0][0] == pytest.approx(point)
    drawn, step = point + np.array([0.3, -0.2, 0.4, 0.1, 0.2]), 1e-5
    sides = [order.natural(drawn + sign * step * np.eye(5))[0] for sign in (1.0, -1.0)]
    by_drawn = (sides[0] - sides[1]).T / (2 * step)
    assert order.natural(drawn[None])[1][0] == pytest.approx(np.linalg.slogdet(by_drawn)[1], rel=1e-6)
    # around the point a covariance follows the same map
    sides = [order.natural(point + sign * step * np.eye(5))[0] for sign in (1.0, -1.0)]
    back = np.linalg.inv((sides[0] - sides[1]).T / (2 * step))
    assert order.covariance(np.diag([1.0, 2, 3, 4, 5])) == pytest.approx(
        back @ np.diag([1.0, 2, 3, 4, 5]) @ back.T, rel=1e-4, abs=1e-4
    )


def test_last_digits_of_sums_do_not_change_which_draws_are_made():
    seen, off = np.random.default_rng(3).normal(1.0, 0.7, 30), 1e-12

    def drawn(factor):
        def evaluate(natural):
            return seen - factor * (natural[..., :1] + natural[..., 1:2] ** 2), np.full((*natural.shape[:-1], 30), 0.7)

        model = model_of(evaluate, {"level": (0.0, 1.0), "square": (0.5, 1.0)})
        return adapted(model, (np.array([0.5, 0.5]), 0.1 * np.eye(2)), None, np.random.default_rng(2), (512,) * 6)

    one, other = drawn(1.0), drawn(1.0 + off)
    assert 0.0 < np.abs(one.weights - other.weights).max() < off
    np.testing.assert_array_equal(one.transformed, other.transformed)


def test_a_wrong_covariance_of_fast_parameters_is_mended():
    random = np.random.default_rng(2)
    true = np.linalg.inv((lambda root: root @ root.T + np.eye(4))(random.standard_normal((4, 4))))
    root = np.linalg.cholesky(np.linalg.inv(true))

    def evaluate(natural):
        return natural @ root, np.ones(natural.shape)

    model = model_of(evaluate, dict.fromkeys(("slow", "one", "two", "three"), (0.0, 1e3)), fast=[1, 2, 3])
    wrong = true.copy()
    wrong[1:, 1:] += np.diag([0.3, 0.1, 0.2])
    fast = Order.of(model, np.zeros(4), np.eye(4)).only_fast
    mended = _curved(model, fast, np.zeros(4), wrong)
    assert np.linalg.inv(mended)[1:, 1:] == pytest.approx(np.linalg.inv(true)[1:, 1:], rel=1e-3, abs=1e-3)
    assert mended == pytest.approx(true, rel=1e-3, abs=1e-3)


def many(spots: int, seed: int = 1) -> Sheet:
    rng = np.random.default_rng(seed)
    rows = []
    for number in range(spots):
        level, along, left = 0.08 * math.exp(0.06 * rng.standard_normal()), *(0.012 * rng.standard_normal(2))
        for heading in np.radians([0.0, 90.0, 180.0, 270.0] * 2):
            fall = along * math.cos(heading) - left * math.sin(heading)
            distance = 1.83**2 * 1.4 / (2 * 9.80665 * (level - fall))
            rows.append((f"spot {number}", heading, 1.83, distance + 0.08 * rng.standard_normal(), along, left))
    frame = pd.DataFrame(rows, columns=["spot", "heading", "release_speed", "distance", "along", "left"])
    return Sheet(kind="rollouts", frame=frame.assign(row=np.arange(2, len(frame) + 2), side=np.nan))


def test_draws_that_share_one_of_a_pool_are_worth_no_more_than_it() -> None:
    random = np.random.default_rng(1)
    pool, rest = np.repeat([[0.0], [1.0]], 32, axis=0), random.standard_normal((64, 2))
    draws = np.concatenate([pool, rest], axis=1)[:, None]
    even = np.zeros(64)
    assert _together([draws], [even[:, None]], [[even]], 1).effective_draws == pytest.approx(2.0)
    assert _together([draws], [even[:, None]], [[even]], 0).effective_draws == pytest.approx(64.0)


def models(monkeypatch: pytest.MonkeyPatch, spots: int, seed: int = 1) -> Model:
    monkeypatch.setattr(rollout_model, "MANY", 0)
    monkeypatch.setattr(rollout_model, "BY_SPOT", 0)
    model, _ = build(rolls_of(many(spots, seed)))
    assert many_spots.applies(model)
    return model


def test_one_step_of_all_spots_is_that_of_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    model = models(monkeypatch, 4)
    point = search.on_grid(model, model.starting_point())
    arrow, whole = search._linearise(model, point), search.Local.at(model, point)
    outer = point[model.outer] + 0.1 * np.random.default_rng(2).standard_normal((5, int(model.outer.sum())))
    for one, other in zip(arrow.solve(outer)[::2], whole.solve(outer)[::2], strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-6, atol=1e-8)


def test_many_spots_say_what_becomes_of_what_they_share(monkeypatch: pytest.MonkeyPatch) -> None:
    fit = golfphys.fit(many(2)).rollouts
    failed = replace(fit, posterior=replace(fit.posterior, effective_draws=1.0))
    assert not any("spots in one fit" in text for text in (*fit.cautions, *failed.cautions))
    monkeypatch.setattr(rollout_cautions, "MANY", 1)
    many_failed = replace(failed)
    assert not any("spots in one fit" in text for text in replace(fit).cautions)
    assert sum("whose draws have failed" in text for text in many_failed.cautions) == 1
    assert not many_failed.estimates["informed"].loc[["spot 0", "spot 1"]].any()


def test_rolls_tell_nothing_of_the_scale_of_their_release_speed() -> None:
    model, layout = build(rolls_of(many(13)))
    point = model.starting_point()
    assert model.natural(point)[layout.names.columns("fall_along")] == pytest.approx(
        [model.start[key] for key in layout.names if key.name == "fall_along"]
    )
    column = layout.names.column("release_speed_scale")
    points = np.repeat(point[None], 5, axis=0)
    points[:, column] = np.linspace(-0.03, 0.03, 5)
    found = model.log_density(points, extra=True)
    # but for the slope's own length, which hardly differs from that of its plan
    assert np.ptp(found - norm.logpdf(points[:, column], scale=model.parameters[column].spread)) < 0.1


def test_whatever_units_slopes_are_drawn_in_their_prior_has_all_its_weight() -> None:
    model, layout = build(rolls_of(many(19)))
    names, spot = layout.names, model.spots[4]
    held = model.block("steepness of spots")
    (columns,) = np.nonzero(np.asarray(held.group) == 4)

    def whole(level: float, scale: float, steepness: float) -> float:
        usual = math.exp(steepness - level)

        def around(steep: float) -> float:
            point = model.starting_point()
            point[[spot[0], names.column("release_speed_scale"), names.column("steepness")]] = level, scale, steepness
            point[spot[1:]] = steep * usual * math.cos(1.0), steep * usual * math.sin(1.0)
            natural = model.natural(point)
            log = many_spots.terms(held, natural)[columns].sum() + model.extra(natural)[4]
            return 2 * math.pi * steep * usual**2 * math.exp(log)

        return quad(around, 0.0, 9.0, points=[0.05])[0]

    usual = whole(-2.5, 0.0, math.log(0.03))
    for level, scale, steepness in ((-2.0, 0.1, -3.0), (-3.0, -0.2, -4.0)):
        assert whole(level, scale, steepness) == pytest.approx(usual, rel=1e-6)


def test_steep_spots_make_no_sheet_sure_of_its_ramp() -> None:
    rng, spots = np.random.default_rng(7), 14
    level = 0.07 * np.exp(0.05 * rng.standard_normal(spots))
    grade, headings = level * rng.uniform(0.6, 0.95, spots), np.tile(np.radians([0.0, 90.0, 180.0, 270.0]), spots)
    fall = turned(np.repeat(grade, 4), np.zeros(4 * spots), headings)
    distance = np.hypot(*rest_of(np.full(4 * spots, RAMP), {"constant": np.repeat(level, 4)}, fall))
    frame = pd.DataFrame({"spot": np.repeat(np.arange(spots), 4).astype(str), "heading": headings})
    frame["release_speed"], frame["distance"] = RAMP, distance + 0.08 * rng.standard_normal(4 * spots)
    fit = golfphys.fit(Sheet(kind="rollouts", frame=frame)).rollouts
    source = fit.posterior
    scale = np.log(source.column("release_speed_scale"))
    mean, prior = source.weights @ scale, source.model.parameter("release_speed_scale").spread
    assert not source.failure
    assert abs(mean) < 0.1 * prior
    assert 0.9 < math.sqrt(source.weights @ (scale - mean) ** 2) / prior < 1.1
    table = fit.estimates.xs("grade", level="parameter")[:spots]
    assert np.mean((table["low"] <= grade) & (grade <= table["high"])) > 0.7


def test_rolls_that_all_but_never_stop_are_fitted() -> None:
    rng = np.random.default_rng(1)
    distance = np.r_[55.0 + 0.3 * rng.standard_normal(4), 1.2 + 0.05 * rng.standard_normal(2)]
    frame = pd.DataFrame({"spot": "home", "heading": np.repeat([0.0, np.pi], [4, 2]), "distance": distance})
    fit = golfphys.fit(Sheet(kind="rollouts", frame=frame.assign(release_speed=RAMP))).rollouts
    assert not fit.posterior.failure
    # resistance less the slope downhill, and their sum, by the distances
    drawn = fit.draws(2000)["home"]
    shown = 1.4 * RAMP**2 / (2 * constants.GRAVITY.value * np.array([55.0, 1.2]))
    scale = fit.draws(2000)["all", "release_speed_scale"] ** 2
    for found, known, room in zip(
        (drawn.resistance + drawn.grade_along, drawn.resistance - drawn.grade_along), shown, (0.03, 0.15), strict=True
    ):
        assert float(np.median(found / scale)) == pytest.approx(known, rel=room)


@pytest.mark.thorough
def test_spots_with_two_explanations_have_both(monkeypatch: pytest.MonkeyPatch) -> None:
    model = models(monkeypatch, 8)
    alone = posterior(model)
    columns = model.spots[2]
    values = alone.transformed[:, columns]
    mean = alone.weights @ values
    roots, axes = np.linalg.eigh((values - mean).T * alone.weights @ (values - mean))
    steps = np.linspace(-5.0, 5.0, 31)
    grid = np.stack(np.meshgrid(steps, steps, steps, indexing="ij"), axis=-1).reshape(-1, 3)
    grid = mean + (grid * np.sqrt(roots)) @ axes.T
    density = np.zeros(len(grid))
    for given in alone.transformed[np.random.default_rng(0).choice(len(alone.weights), 16, p=alone.weights)]:
        table = np.repeat(given[None], len(grid), axis=0)
        table[:, columns] = grid
        logs = model.log_density(table, extra=True)
        density += np.exp(logs - np.logaddexp.reduce(logs)) / 16
    for column, values in zip(columns, grid.T, strict=True):
        (low, high), (low2, high2) = (
            quantile(v, w, np.array([0.05, 0.95]))
            for v, w in ((alone.transformed[:, column], alone.weights), (values, density))
        )
        assert low == pytest.approx(low2, abs=0.25 * (high2 - low2))
        assert high == pytest.approx(high2, abs=0.25 * (high2 - low2))


@pytest.mark.thorough
def test_slopes_are_held_and_distances_tell_nothing_of_the_release_speed() -> None:
    """A faster ramp on greens as much slower and steeper gives the same distances, however many spots there are."""
    sheet = many(110, 3)
    fit = golfphys.fit(sheet).rollouts
    source = fit.posterior
    scale = np.log(source.column("release_speed_scale"))
    mean = source.weights @ scale
    prior = source.model.parameter("release_speed_scale").spread
    assert not source.failure
    assert abs(mean) < 0.25 * prior
    assert 0.85 < math.sqrt(source.weights @ (scale - mean) ** 2) / prior < 1.15
    truth, held = sheet.frame.groupby("spot", sort=False).first(), []
    for name in ("along", "left"):
        table = fit.estimates.xs(f"grade_{name}", level="parameter")
        held.append((table["low"] <= -truth[name]) & (-truth[name] <= table["high"]))
    assert 0.84 < np.mean(held) < 0.96
