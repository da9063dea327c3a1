"""Sheets of many spots: the same answer as all at once, in a time that grows with their number."""

import math
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest

import golfphys
from golfphys.fitting import arrow, search
from golfphys.fitting.estimator import Model
from golfphys.fitting.results import quantile
from golfphys.fitting.rollout_layout import rolls_of
from golfphys.fitting.rollout_model import build
from golfphys.fitting.sampling import posterior


def many(spots: int, seed: int = 1) -> SimpleNamespace:
    rng = np.random.default_rng(seed)
    rows = []
    for number in range(spots):
        level, along, left = 0.08 * math.exp(0.06 * rng.standard_normal()), *(0.012 * rng.standard_normal(2))
        for heading in np.radians([0.0, 90.0, 180.0, 270.0] * 2):
            fall = along * math.cos(heading) - left * math.sin(heading)
            distance = 1.83**2 * 1.4 / (2 * 9.80665 * (level - fall))
            rows.append((f"spot {number}", heading, 1.83, distance + 0.08 * rng.standard_normal(), along, left))
    frame = pd.DataFrame(rows, columns=["spot", "heading", "release_speed", "distance", "along", "left"])
    return SimpleNamespace(rolls=frame.assign(row=np.arange(2, len(frame) + 2), side=np.nan))


def models(monkeypatch: pytest.MonkeyPatch, spots: int, seed: int = 1) -> Model:
    monkeypatch.setattr(arrow, "MANY", 0)
    model, _ = build(rolls_of(many(spots, seed)))
    assert arrow.applies(model)
    return model


def test_one_step_of_all_spots_is_that_of_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    model = models(monkeypatch, 4)
    point = search.on_grid(model, model.starting_point())
    arrow, whole = search._linearise(model, point), search._whole(model, point)
    outer = point[model.outer] + 0.1 * np.random.default_rng(2).standard_normal((5, int(model.outer.sum())))
    for one, other in zip(arrow.solve(outer)[::2], whole.solve(outer)[::2], strict=True):
        np.testing.assert_allclose(one, other, rtol=1e-6, atol=1e-8)


@pytest.mark.thorough
def test_draws_of_all_spots_are_those_of_the_whole(monkeypatch: pytest.MonkeyPatch) -> None:
    model = models(monkeypatch, 8, seed=2)
    alone = posterior(model, draws=8000)
    assert arrow.applies(model)
    monkeypatch.setattr(arrow, "MANY", 24)
    whole = posterior(model, draws=8000)
    for key in (model.names.keys[column] for column in model.spots.ravel()):
        # what the rolls tell is free of the release speed, into which the whole carries its prior of all slopes
        one, other = (f.column(*key) / f.column("release_speed_scale") ** 2 for f in (alone, whole))
        (low, middle, high), (low2, middle2, high2) = (
            quantile(values, f.weights, np.array([0.05, 0.5, 0.95])) for values, f in ((one, alone), (other, whole))
        )
        assert middle == pytest.approx(middle2, abs=0.1 * (high2 - low2))
        assert 0.8 < (high - low) / (high2 - low2) < 1.25


@pytest.mark.thorough
def test_spots_with_two_explanations_have_both(monkeypatch: pytest.MonkeyPatch) -> None:
    model = models(monkeypatch, 8)
    alone = posterior(model, draws=8000)
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
    truth, held = sheet.rolls.groupby("spot", sort=False).first(), []
    for name in ("along", "left"):
        table = fit.estimates.xs(f"grade_{name}", level="parameter")
        held.append((table["low"] <= -truth[name]) & (-truth[name] <= table["high"]))
    assert 0.84 < np.mean(held) < 0.96
