"""The hole and balls that roll by; the chance of holing a putt, its fits to published counts, the putts it takes."""

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from conftest import ExternalCheck, refused
from reference_chip import rolled
from scipy.stats import norm

from golfphys import Hole, constants, putts_to_hole_out
from golfphys.core.broadcasting import elementwise
from golfphys.formulas import rolling
from golfphys.formulas.hole import far_rim_capture_speed
from golfphys.physics.putting import AngleDistanceModel, MakeFit, MakeTable, fit_make_probability
from golfphys.physics.roll import roll
from golfphys.sheets import Sheet, read_make_table

FT = 0.3048
DISTANCES = np.array([0.1, 0.5, 1.0, 2.4, 6.0, 15.0, 25.0])


@pytest.mark.parametrize(
    ("name", "rows", "tries", "made"), [("berry_1996", 19, 5988, 3390), ("broadie_2016_2018", 31, 1253196, 766741)]
)
def test_published_tables_add_up(name: str, rows: int, tries: int, made: int, external_check: ExternalCheck) -> None:
    table = read_make_table(name)
    assert len(table.tries) == rows
    for what, expected in (("tries", tries), ("made", made)):
        ours = float(getattr(table, what).sum())
        external_check(f"{{slug}}-{what}", ours, str(expected), slug=name.replace("_", "-"), name=name)


PUBLISHED_HOLE = 4.25 / 24 * FT
PUBLISHED = {
    "angle_error": ("1.020", "0.006", 5e-4, 180 / math.pi),
    "distance_error": ("0.0800", "0.0013", 1e-4, 1),
    "misfit": ("0.0031", "0.0006", 0.5e-4, 1),
}


def posterior(fit: MakeFit, n: int, seed: int) -> pd.DataFrame:
    """Mean and standard deviation of each parameter over its whole posterior, flat priors.

    By importance sampling with a wide t about the local Gaussian: the published estimates are such means, and the
    misfit's posterior is skewed enough for its mean to differ from its mode.
    """
    rng, freedom, names = np.random.default_rng(seed), 6.0, fit.parameters
    # a multivariate t: normal draws that share one chi-squared
    wild = rng.standard_normal((n, len(names))) / np.sqrt(rng.chisquare(freedom, (n, 1)) / freedom)
    centre = np.log([getattr(fit.model, name) for name in names])
    lines = centre + wild @ np.linalg.cholesky(fit.covariance).T
    proposed = -0.5 * (freedom + len(names)) * np.log1p(np.sum(wild**2, axis=1) / freedom)
    values = np.exp(lines)
    models = [replace(fit.model, **dict(zip(names, row, strict=True))) for row in values.tolist()]
    # a flat prior on an error is its size on the logarithm's scale
    weight = np.array([-fit.table.loss(model, names) for model in models]) + lines.sum(axis=1) - proposed
    weight = np.exp(weight - weight.max())
    weight /= weight.sum()
    mean = weight @ values
    return pd.DataFrame({"mean": mean, "sd": np.sqrt(weight @ (values - mean) ** 2)}, index=list(names))


def test_posterior_means_are_the_published_ones(external_check):
    """With the published hole of 4.25 in and posterior means, the published figures come back nearly to the digit."""
    table, model = "broadie_2016_2018", AngleDistanceModel(hole_radius=PUBLISHED_HOLE)
    found, law = posterior(fit_make_probability(read_make_table(table), model=model), 20_000, 5), "AngleDistanceModel"
    for name, (mean, sd, tolerance, factor) in PUBLISHED.items():
        words = {"slug": f"{law}-{name}".lower(), "name": name.replace("_", " "), "model": law, "table": table}
        words["unit"] = "deg" if factor > 2 else "1"
        for column, figure, allowed in (("mean", mean, tolerance), ("sd", sd, round(0.06 * float(sd), 7))):
            ours = float(found.loc[name, column]) * factor
            external_check(f"{{slug}}-{column}", ours, figure, allowed, **words)


def test_chances_are_the_normal_integrals() -> None:
    """The written formulas against scipy's normal distribution."""
    model = AngleDistanceModel()
    half_angle = np.arcsin((0.054 - 0.021335) / DISTANCES)
    by_angle = 2 * norm.cdf(half_angle / model.angle_error) - 1
    spread = (DISTANCES + model.overshoot) * model.distance_error
    by_distance = norm.cdf((model.overrun - model.overshoot) / spread) - norm.cdf(-model.overshoot / spread)
    assert model.probability(DISTANCES) == pytest.approx(by_angle * by_distance, rel=1e-12)


def test_fit_recovers_what_made_the_data_and_covers_it() -> None:
    truth = AngleDistanceModel(angle_error=0.025, distance_error=0.11, misfit=0.004)
    rng, inside, names = np.random.default_rng(3), [], ["angle_error", "distance_error"]
    distance, tries = np.linspace(1.5, 18.0, 25), np.full(25, 4000.0)
    for _ in range(30):
        chance = np.clip(truth.probability(distance) + rng.normal(0, truth.misfit, 25), 0, 1)
        made = rng.binomial(4000, chance) * 1.0
        table = fit_make_probability(MakeTable(name="drawn", distance=distance, tries=tries, made=made)).estimates
        inside += [table.loc[name, "low"] <= getattr(truth, name) <= table.loc[name, "high"] for name in names]
    assert 0.8 <= np.mean(inside) <= 0.99
    # of a published table that chance alone explains there is no misfit to fit; the rest is fitted all the same
    fit = fit_make_probability(read_make_table("berry_1996"))
    assert "misfit" not in fit.parameters
    assert np.all(np.diag(fit.covariance) > 0)
    assert np.max(np.abs(np.asarray(fit.model.probability(fit.table.distance)) - fit.table.share)) < 0.1


def test_a_players_own_few_putts_give_a_wide_fit_near_the_truth() -> None:
    truth, rng = AngleDistanceModel().for_player(1.8), np.random.default_rng(4)
    distance = rng.uniform(1.0, 9.0, 150)
    made = rng.random(150) < truth.probability(distance)
    putts = pd.DataFrame({"distance": distance, "tries": 1, "made": made})
    fit = fit_make_probability(Sheet(kind="putts", frame=putts, path="own/putts.csv"))
    assert fit.parameters == ("angle_error", "distance_error")
    assert fit.table.name == "putts"
    for name, (_, _, low, high, _) in fit.estimates.iterrows():
        assert low < getattr(truth, name) < high
        assert high / low > 1.2


def test_expected_putts_start_at_one_never_fall_and_are_those_of_playing_the_putts() -> None:
    putts = putts_to_hole_out()
    assert putts(0.0) == pytest.approx(1.0, abs=1e-9)
    assert np.all(np.diff(putts.putts) >= -1e-12)
    assert putts(DISTANCES) == pytest.approx(putts_to_hole_out(points=500)(DISTANCES), abs=1e-3)
    model, rng = AngleDistanceModel().for_player("amateur"), np.random.default_rng(8)
    for start in (0.9, 2.4, 10.0):
        left, taken = np.full(40_000, start), np.zeros(40_000)
        while (live := np.flatnonzero(left > 0)).size:
            x = left[live]
            angle = rng.normal(0, model.angle_error, live.size)
            roll = (x + model.overshoot) * (1 + rng.normal(0, model.distance_error, live.size))
            over = np.abs(angle) < np.arcsin(np.minimum((0.054 - 0.021335) / x, 1))
            made = over & (roll >= x) & (roll <= x + model.overrun)
            taken[live] += 1
            left[live] = np.where(made, 0.0, np.hypot(roll * np.cos(angle) - x, roll * np.sin(angle)))
        error = taken.std() / math.sqrt(len(taken))
        assert abs(taken.mean() - putts_to_hole_out(model)(start)) < 3.5 * error + 3e-4


def test_bad_tables_are_named(tmp_path: Path) -> None:
    sheet = tmp_path / "mine.csv"
    for text, words in (
        ("# mine\ndistance_m,tries,made\n1.0,10,9\n2.0,x,3\n", "row 4, column tries: found 'x'"),
        ("distance_m,tries,made\n1.0,10,9\n2.0,5,6\n", "row 3, column made: found '6'"),
        ("metres,tries\n1.0,10\n", "expected a column made"),
    ):
        sheet.write_text(text)
        refused(words, lambda: read_make_table(sheet))
    sheet.write_text("\ufeffdistance_ft,tries,made\r\n10,400,100\r\n20,400,40\r\n", encoding="utf-8")
    table = read_make_table(sheet)
    assert table.distance.tolist() == pytest.approx([3.048, 6.096])
    refused("table mine has 2 rows; the model of holing needs 3 or more", lambda: fit_make_probability(table))


R, g = constants.HOLE_RADIUS.value, constants.GRAVITY.value
RESISTANCE = 0.08


@pytest.mark.parametrize(
    ("grade", "fall_direction", "until_x"),
    [
        *((0.0, 0.0, 5.0), (0.02, math.pi, 5.0), (0.03, math.pi / 2, 5.0)),
        *((0.03, -0.25 * math.pi, 5.0), (0.03, 0.75 * math.pi, 10.0)),
    ],
)
def test_a_ball_passes_where_a_differential_equation_solver_has_it(grade, fall_direction, until_x, external_check):
    start = math.sqrt(2 * g * (RESISTANCE - grade * math.cos(fall_direction)) / 1.4 * until_x + 1.0)
    rise = -grade * math.cos(fall_direction), -grade * math.sin(fall_direction)
    done = rolled([0, 0, start, 0], [RESISTANCE], lambda _x, _y: rise, end=lambda _, now: now[0] - until_x, rtol=1e-9)
    x, y, vx, vy = done.y[:, -1]
    speed, aside = math.hypot(vx, vy), np.linspace(0.5 * R, 1.5 * R, 2001)
    beside = Hole(x=x + aside * vy / speed, y=y - aside * vx / speed, capture_speed=np.full(2001, 1e6))
    farthest = float(aside[roll(start, 0.0, RESISTANCE, grade, fall_direction, hole=beside).holed].max())
    assert farthest == pytest.approx(R, abs=1e-4)
    if abs(math.sin(fall_direction) * grade) > 1e-9:  # a straight path proves little, a bent one is worth the ledger
        where = {"grade": grade, "falls": math.degrees(fall_direction), "until_x": until_x}
        external_check("pass-offset-{grade}-{falls:.0f}deg-{until_x:g}m", farthest, R, **where)


def test_a_ball_is_taken_at_the_near_rim_by_the_law_of_the_far_one_and_none_from_behind() -> None:
    rng = np.random.default_rng(1)
    speed, aside = rng.uniform(1.8, 3.0, 2000), rng.uniform(-0.06, 0.06, 2000)
    chord = np.sqrt(np.maximum(R * R - aside**2, 0.0))
    at_rim = np.sqrt(np.maximum(speed**2 - 2 * rolling.deceleration(RESISTANCE, 0.0, g, 0.4) * (3.0 - chord), 0.0))
    rolls = roll(speed, 0.0, RESISTANCE, hole=Hole(x=3.0, y=aside, flagstick=False))
    taken = rolls.holed
    law = elementwise(far_rim_capture_speed)(aside, R, constants.FAR_RIM_CAPTURE_SPEED.value)
    clear = np.abs(at_rim - law) > 1e-6
    assert 200 < taken.sum() < 1800
    assert np.all(taken[clear] == ((at_rim > 0) & (at_rim <= law) & (np.abs(aside) < R))[clear])
    assert rolls.x[taken] == pytest.approx(3.0 - chord[taken], abs=1e-9)
    assert [roll(2.0, towards, RESISTANCE, hole=Hole(x=3.0)).holed for towards in (0.0, math.pi)] == [True, False]
