"""The estimator on models whose posterior is known."""

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import quad

from golfphys.fitting.estimator import Block, Model, Parameter
from golfphys.fitting.intervals import direction_interval, length_interval, quantile, scale_interval
from golfphys.fitting.losses import Normal, StrayTolerant, StudentT
from golfphys.fitting.mcmc import sample, split_r_hat
from golfphys.fitting.refresh import refresh
from golfphys.fitting.results import posterior, smooth_weights
from golfphys.fitting.search import find_mode


def mean_model(values, scale=None, loss=None):
    """Mean of normal observations, with known or unknown scale."""
    parameters = [Parameter(name="mean", location=0.0, spread=100.0)]
    if scale is None:
        parameters.append(Parameter(name="scale", location=1.0, spread=3.0, transform="log", outer=True))

    def evaluate(natural):
        spread = natural[..., 1:2] if scale is None else np.full((*natural.shape[:-1], 1), scale)
        return values - natural[..., :1], spread + np.zeros(natural.shape[:-1] + values.shape)

    return Model(parameters=parameters, blocks=[Block(name="values", evaluate=evaluate, loss=loss or Normal())])


def test_known_scale_gives_the_textbook_posterior():
    values = np.random.default_rng(1).normal(2.0, 0.5, 20)
    mode = find_mode(mean_model(values, 0.5))
    assert mode.point[0] == pytest.approx(values.mean(), rel=1e-4)
    assert np.sqrt(mode.covariance[0, 0]) == pytest.approx(0.5 / np.sqrt(20), rel=1e-3)


def test_unknown_scale_gives_student_tails():
    # with a flat prior on mean and log scale the mean is a t with n - 1 degrees of freedom: 2.132 for 90 % at n = 5
    values = np.array([1.0, 2.0, 3.0, 4.0, 5.0])
    found = posterior(mean_model(values), draws=16000, seed=3)
    low, high = quantile(found.column("mean"), found.weights, np.array([0.05, 0.95]))
    half = 2.132 * values.std(ddof=1) / np.sqrt(5)
    assert low == pytest.approx(3.0 - half, abs=0.12)
    assert high == pytest.approx(3.0 + half, abs=0.12)
    assert found.shape < 0.7


def test_log_evidence_agrees_with_integration():
    values = np.array([0.3, -0.2, 0.4])
    found = posterior(mean_model(values, 0.5), draws=8000)

    def joint(mean):
        like = np.prod(np.exp(-0.5 * ((values - mean) / 0.5) ** 2) / (0.5 * np.sqrt(2 * np.pi)))
        return like * np.exp(-0.5 * (mean / 100) ** 2) / (100 * np.sqrt(2 * np.pi))

    assert found.log_evidence == pytest.approx(np.log(quad(joint, -5, 5)[0]), abs=0.02)
    assert found.mode.log_evidence == pytest.approx(found.log_evidence, abs=0.02)


@pytest.mark.parametrize("loss", [Normal(), StudentT(4.0), StrayTolerant()], ids=["normal", "student", "stray"])
def test_losses_are_densities_with_consistent_weights(loss):
    total = quad(lambda u: float(np.exp(loss.log_density(np.array([u])))[0]), -200, 200, limit=400, points=[-5, 0, 5])[
        0
    ]
    assert total == pytest.approx(1.0, abs=2e-3)
    u = np.linspace(-9, 9, 37)
    slope = -(loss.log_density(u + 1e-5) - loss.log_density(u - 1e-5)) / 2e-5
    np.testing.assert_allclose(loss.weight(u) * u, slope, atol=1e-6)


def test_precisions_drawn_from_a_mixture_average_to_the_weight():
    rng, loss = np.random.default_rng(0), StrayTolerant()
    u = np.full(200_000, 3.0)
    assert loss.draw_precision(u, rng).mean() == pytest.approx(float(loss.weight(u[:1])[0]), rel=0.02)
    u = np.full(200_000, 2.0)
    student = StudentT(4.0)
    assert student.draw_precision(u, rng).mean() == pytest.approx(float(student.weight(u[:1])[0]), rel=0.02)


def test_one_stray_hardly_moves_a_robust_fit():
    values = np.random.default_rng(2).normal(3.0, 0.1, 12)
    spoiled = np.append(values, 30.0)
    robust = posterior(mean_model(spoiled, loss=StrayTolerant()))
    clean = posterior(mean_model(values, loss=StrayTolerant()))
    moved = quantile(robust.column("mean"), robust.weights, 0.5) - quantile(clean.column("mean"), clean.weights, 0.5)
    assert abs(float(moved)) < 0.03
    plain = posterior(mean_model(spoiled))
    assert abs(float(quantile(plain.column("mean"), plain.weights, 0.5)) - 3.0) > 0.5


def bent_model():
    """A banana: the second parameter follows the square of the first."""
    parameters = [Parameter(name=name, location=0.0, spread=1.0) for name in ("first", "second")]

    def evaluate(natural):
        residual = natural[..., 1:2] - 1.5 * natural[..., :1] ** 2
        return residual, np.full(residual.shape, 0.1)

    groups = [("first",), ("second",), ("first", "second")]
    return Model(
        parameters=parameters,
        blocks=[Block(name="bend", evaluate=evaluate, loss=Normal())],
        groups=groups,
        bends=True,
    )


def exact_bent_quantiles(shares):
    """Marginal of the first parameter by integration: prior times the density of 0 given the spread of the second."""
    x = np.linspace(-4, 4, 4001)
    spread = np.sqrt(1.0 + 0.1**2)
    density = np.exp(-0.5 * x**2) * np.exp(-0.5 * (1.5 * x**2 / spread) ** 2)
    cumulative = np.cumsum(density) / density.sum()
    return np.interp(shares, cumulative, x)


def test_mcmc_finds_a_bent_posterior_and_says_how_well():
    source = posterior(bent_model(), seed=1)
    chain = sample(source, steps=3000, seed=2)
    assert chain.diagnostics is not None
    assert chain.diagnostics.trusted
    assert "mixed well" in str(chain.diagnostics)
    got = quantile(chain.column("first"), chain.weights, np.array([0.05, 0.5, 0.95]))
    np.testing.assert_allclose(got, exact_bent_quantiles([0.05, 0.5, 0.95]), atol=0.08)


def test_refreshed_draws_find_a_bent_posterior_too():
    model = bent_model()
    rng = np.random.default_rng(3)
    start = rng.normal(0.0, 1.0, (4000, 2))
    moved = refresh(find_mode(model), start, rng, rounds=30)
    got = np.quantile(moved.transformed[:, 0], [0.05, 0.5, 0.95])
    np.testing.assert_allclose(got, exact_bent_quantiles([0.05, 0.5, 0.95]), atol=0.08)


def test_a_parameter_left_free_by_what_was_seen_gets_its_prior_back():
    """From some value on more of it changes nothing, as of a friction once the ball grips; chains jump there."""

    def evaluate(natural):
        friction, level = natural[..., :1], natural[..., 1:2]
        seen = 2.0 * np.minimum(friction, 0.345) + 0.3 * np.exp(-(((friction - 0.42) / 0.03) ** 2)) + level
        values = 0.68 + 0.016 * np.linspace(-1, 1, 8)
        return values - seen, np.full((*natural.shape[:-1], 8), 0.016)

    parameters = [
        Parameter(name="friction", location=0.4, spread=0.35, transform="log"),
        Parameter(name="level", location=0.0, spread=5e-4),
    ]
    model = Model(parameters=parameters, blocks=[Block(name="values", evaluate=evaluate, loss=Normal())])
    z, level = np.linspace(-2, 5, 20001)[:, None], np.linspace(-2e-3, 2e-3, 41)
    grid = np.stack(np.broadcast_arrays(np.log(0.4) + 0.35 * z, level), axis=-1)
    weight = np.exp(model.log_density(grid))
    share = weight[grid[:, 0, 0] > np.log(0.5)].sum() / weight.sum()
    start = np.log(0.34) + 0.004 * np.random.default_rng(1).standard_normal((400, 1))
    start = np.concatenate([start, np.zeros((400, 1))], axis=1)
    found = {}
    for free in ((), ("friction",)):
        mode = find_mode(replace(model, free=free, start={"friction": 0.34}))
        moved = refresh(mode, start, np.random.default_rng(2), rounds=5, bent=True)
        found[free] = float(np.mean(np.exp(moved.transformed[:, 0]) > 0.5))
    assert 0.3 < share < 0.8
    assert found["friction",] == pytest.approx(share, abs=0.07)
    assert found[()] < share / 3


def test_a_chain_too_short_is_not_trusted():
    chain = sample(posterior(bent_model(), seed=1), steps=40, seed=2)
    assert not chain.diagnostics.trusted
    assert "has not mixed" in str(chain.diagnostics)
    with pytest.raises(ValueError, match="at least 30"):
        sample(posterior(bent_model(), seed=1), steps=5)


def test_split_r_hat_sees_halves_that_differ():
    rng = np.random.default_rng(4)
    assert split_r_hat(rng.standard_normal((400, 8))) < 1.01
    assert split_r_hat(rng.standard_normal((400, 8)) + np.linspace(0, 3, 400)[:, None]) > 1.2


def test_same_seed_same_draws():
    model = mean_model(np.array([1.0, 2.0, 4.0]))
    one, two, other = (posterior(model, seed=seed) for seed in (5, 5, 6))
    np.testing.assert_array_equal(one.transformed, two.transformed)
    assert not np.array_equal(one.transformed, other.transformed)
    np.testing.assert_array_equal(one.sample(50, 7), two.sample(50, 7))


def test_pareto_smoothing_knows_a_good_tail_from_a_bad_one():
    rng = np.random.default_rng(8)
    assert smooth_weights(np.log(rng.pareto(5.0, 4000) + 1))[1] < 0.5
    assert smooth_weights(np.log(rng.pareto(1.0, 4000) + 1))[1] > 0.7


def test_parameter_names_and_priors_are_checked():
    with pytest.raises(ValueError, match="names repeat: mean"):
        Model(parameters=[Parameter(name="mean", location=0.0, spread=1.0)] * 2, blocks=[])
    with pytest.raises(ValueError, match="positive number for a log scale"):
        Parameter(name="x", location=-1.0, spread=1.0, transform="log")
    with pytest.raises(ValueError, match="spread"):
        Parameter(name="x", location=1.0, spread=0.0)


def test_direction_intervals_go_round_the_circle():
    rng, even = np.random.default_rng(9), np.full(4000, 1 / 4000)
    angle = np.radians(359.0) + 0.05 * rng.standard_normal(4000)
    found = direction_interval(np.cos(angle), np.sin(angle), even)
    assert found.low < found.estimate < found.high
    assert found.low <= 359.0 <= found.high or found.low <= -1.0 <= found.high
    assert found.high - found.low == pytest.approx(2 * 1.645 * np.degrees(0.05), rel=0.1)
    nowhere = direction_interval(*rng.standard_normal((2, 4000)), even)
    assert (nowhere.low, nowhere.high) == (0.0, 360.0)


def test_a_length_that_may_be_nothing_starts_at_nothing():
    rng, even = np.random.default_rng(10), np.full(4000, 1 / 4000)
    x, y = rng.standard_normal((2, 4000))
    assert length_interval(x, y, even).low == 0.0
    assert length_interval(x + 6, y, even).low > 3.0


def test_a_scale_that_may_be_nothing_starts_at_nothing():
    rng, even = np.random.default_rng(11), np.full(4000, 1 / 4000)
    assert scale_interval(0.1 * np.exp(rng.standard_normal(4000)), even).low == 0.0
    assert scale_interval(0.2 * np.exp(0.3 * rng.standard_normal(4000)), even).low > 0.1
