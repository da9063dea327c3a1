"""The joint fit: the truth is found again, correlations reach the prediction, degenerate logs get words."""

import json
import math
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
import pytest
from conftest import refused
from fitted_demo import DEMO, before_chips, demo_fit, sheets, shots

import golfphys
from golfphys import BAG, LIES, Delivery, Green, launch_from, simulate
from golfphys.fitting import chip_physics
from golfphys.fitting.chip_density import MisHitTolerant
from golfphys.fitting.chip_physics import World, physics_of
from golfphys.fitting.chips import HANG, REST, chips_of
from golfphys.fitting.course_cautions import several
from golfphys.fitting.estimator import Block, Model, OutlierTolerant, Parameter
from golfphys.fitting.results import cell
from golfphys.fitting.search import Local
from golfphys.planning.cautions import unmeasured
from golfphys.planning.plan import level_words
from golfphys.sheets import Sheet

TRUTH = json.loads((DEMO / "truth.json").read_text(encoding="utf-8"))
SHOTS = shots("sand wedge", "8-iron", "lob wedge", "9-iron")


def true_values() -> dict[tuple[str, str], float]:
    """Return what is true of the demonstration, by the index of the table of estimates."""
    turf, delivery = TRUTH["greens"]["home-left"]["turf"], TRUTH["player"]["delivery"]
    same = ("restitution", "restitution_linear", "friction", "skid_friction", "hop_loss")
    found = {("turf", name): turf[name] for name in same}
    found |= {("turf", "tilt_deg"): math.degrees(turf["tilt"]), ("turf", "local_slope_pct"): 100 * TRUTH["local_slope"]}
    found |= {("player", f"{name}_deg"): math.degrees(delivery[name]) for name in ("attack", "shaft_lean")}
    found |= {("player", "start_direction_deg"): 0.0, ("player", "carry_bias"): 0.0}
    found |= {("player", "edge_aim"): delivery["edge_aim"], ("air", "drag_scale"): 1.0, ("air", "lift_scale"): 1.0}
    found |= {("reading", "landing_reading"): 0.12, ("reading", "time_reading"): 0.02}
    errors = TRUTH["player"]["errors"]
    units = dict.fromkeys(("direction", "attack", "shaft_lean"), ("deg", math.degrees(1.0)))
    units |= dict.fromkeys(("low_point", "height"), ("mm", 1000.0)) | {"speed": ("pct", 100.0)}
    for kind, (unit, factor) in units.items():
        found[("player", f"{kind}_error_{unit}")] = factor * errors[kind]
    for lie, values in TRUTH["lies"].items():
        found[(f"lie {lie}", "friction")] = values["friction"]
    for club, values in TRUTH["clubs"].items():
        found[(f"club {club}", "loft_deg")] = math.degrees(values["loft"])
    for spot, green in TRUTH["greens"].items():
        found[(spot, "resistance")] = green["resistance"]["constant"]
        found[(spot, "grade_along")] = -green["grade"] * math.cos(green["fall_direction"])
        found[(spot, "grade_left")] = -green["grade"] * math.sin(green["fall_direction"])
    return found


def test_the_demonstrations_truth_is_found_again() -> None:
    table, truth = demo_fit().estimates, true_values()
    inside = [cell(table, *key, "low") <= value <= cell(table, *key, "high") for key, value in truth.items()]
    assert len(inside) > 35
    assert np.mean(inside) > 0.8


@pytest.mark.thorough
def test_with_films_and_chips_the_greens_of_the_draws_are_many() -> None:
    films = golfphys.read_films(DEMO / "films.csv")
    posterior = golfphys.fit(*sheets(), films).posterior
    _, which = np.unique(posterior.transformed[:, 0], return_inverse=True)
    share = np.bincount(which, weights=posterior.weights)
    assert posterior.effective_draws >= 400
    assert 1.0 / np.sum(share**2) >= 0.9 * posterior.effective_draws
    assert share.max() < 0.05


def test_decisions_become_known_before_parameters_by_correlations_that_reach_the_prediction() -> None:
    fit = demo_fit()
    before, after = (one.predict(SHOTS).table()["rest_known_sd"] for one in (before_chips(), fit))
    assert (after[:3] < 0.35 * before[:3]).all()
    assert not fit.estimates.loc[("lie fairway", "friction"), "informed"]
    generator = np.random.default_rng(2)
    mixed = np.stack([generator.permutation(column) for column in fit.posterior.transformed.T], axis=1)
    weights = np.full(len(mixed), 1 / len(mixed))
    torn = replace(fit, posterior=replace(fit.posterior, transformed=mixed, weights=weights))
    assert torn.predict(SHOTS).table()["rest_known_sd"].mean() > 1.5 * after.mean()


def test_physics_is_that_of_the_library(monkeypatch: pytest.MonkeyPatch) -> None:
    frame = pd.DataFrame(
        {"club": ["sand wedge", "8-iron"], "lie": ["tight"] * 2, "carry": [6.0, 4.0], "rest": [9.0, 9.0]}
    )
    chips = chips_of(Sheet(kind="chips", frame=frame), BAG)
    green = Green.from_stimp(10.0, grade=0.02, fall_direction=0.7)
    fall = tuple(np.full((1, 2), green.grade * f(green.fall_direction)) for f in (math.cos, math.sin))
    names = ("restitution", "restitution_linear", "tilt", "dent_speed", "friction", "skid_friction", "hop_loss")
    zero = np.zeros((1, 1))
    world = World(
        resistance={"constant": zero + green.resistance.constant},
        grain=(zero, zero),
        fall=fall,
        turf={name: zero + getattr(green.turf, name) for name in names},
        law="rigid",
        **{"attack": zero - 0.07, "shaft_lean": zero + 0.14, "direction": zero},
        **{"friction": np.full((1, 2), LIES["tight"].friction), "spin_factor": np.full((1, 2), 0.9)},
        **{"cushion": np.zeros((1, 2)), "loft_error": np.zeros((1, 2))},
        **{"drag_scale": zero + 1.0, "lift_scale": zero + 1.0},
    )
    physics = physics_of(chips)
    values = physics.play(world)[0]
    np.testing.assert_allclose(physics.around(world).play(world)[0], values, atol=0.01, rtol=0.01)
    for i, club in enumerate(("sand wedge", "8-iron")):
        speeds = np.linspace(4.0, 9.0, 400)
        lie = replace(LIES["tight"], spin_factor=0.9)
        launch = launch_from(BAG[club], Delivery(speed=speeds, attack=-0.07, shaft_lean=0.14), lie)
        shots = simulate(launch, green)
        for column, name in ((REST, "rest_x"), (HANG, "flight_time")):
            expected = np.interp(chips.landing[i], shots.landing_x, getattr(shots, name))
            assert values[i, column] == pytest.approx(expected, rel=0.012)
    # of a draw that no club can play the ball is held to what a ball can do: its speed grew without end
    fastest: list[float] = []

    def noted(launch: Any, *ground: Any, **more: Any) -> Any:
        fastest.append(float(np.max(launch.speed)))
        return simulate(launch, *ground, **more)

    monkeypatch.setattr(chip_physics, "simulate", noted)
    assert np.isfinite(physics.play(replace(world, loft_error=np.full((1, 2), -1.5)))).all()
    assert chip_physics.FASTEST >= max(fastest) > 0.0


def test_draws_for_a_plan_hold_what_was_measured_and_name_it() -> None:
    drawn, again = (demo_fit().draws("home-left", 64, 3) for _ in range(2))
    assert len(drawn) == 64
    assert np.array_equal(drawn.player.delivery.attack, again.player.delivery.attack)
    assert drawn.logged.chips == len(demo_fit().seen.chips)
    assert set(drawn.logged.clubs) == set(demo_fit().seen.clubs)
    assert drawn.logged.landing[0] < drawn.logged.landing[1]
    assert drawn.logged.level == ""
    rolls_only = before_chips().draws("home-left", 64, 3)
    assert rolls_only.logged.chips == 0
    assert rolls_only.logged.level == "tour-to-club"
    assert rolls_only.player.delivery.attack.std() > drawn.player.delivery.attack.std()
    assert rolls_only.other_turf is not None


def test_report_and_residuals_are_readable_and_thin_strikes_are_the_mis_hits() -> None:
    fit = demo_fit()
    text = fit.report()
    assert all(word in text for word in ("home-left", "turf", "player", "club sand wedge", "What to bear in mind"))
    log: Any = fit.seen.chips
    assert len(fit.residuals) == log.seen.sum()
    usual = fit.residuals[fit.residuals["mis_hit"] < 0.5]["standardised"]
    assert 0.6 < usual.std() < 1.4
    noted = sorted(set(log.row[log.struck > 0].tolist()))
    assert noted
    assert fit.mis_hits[noted].max() > 0.9
    assert fit.mis_hits[noted].min() > fit.mis_hits.drop(noted).max()
    # what is so in general is said last
    always = [text.startswith(("In general:", "Usually:")) for text in fit.cautions]
    assert always == sorted(always)
    assert 1 < sum(always) <= 3
    assert fit.rollouts.cautions[-2:] == fit.cautions[-2:]


def small_log(**columns: Any) -> Sheet:
    frame = {
        "row": range(2, 8),
        "club": ["sand wedge"] * 3 + ["8-iron"] * 3,
        "lie": ["fairway"] * 6,
        "target_carry": [6.0] * 6,
        "carry": [6.1, 5.8, 6.3, 6.0, 5.7, 6.4],
        "hang_time": [0.9, np.nan, np.nan, 0.7, np.nan, np.nan],
        "rest": [12.5, 12.0, 13.5, 21.0, 20.0, 22.5],
    }
    return Sheet(kind="chips", frame=pd.DataFrame(frame | columns))


def test_chips_alone_are_enough_to_start() -> None:
    fit = golfphys.fit(small_log(player=["one", "another"] * 3))
    assert any("2 players (another, one)" in text for text in fit.cautions)
    assert any("No rolls were measured" in text for text in fit.cautions)
    assert any("No heading is noted" in text for text in fit.cautions)
    assert any("Only 6 chips" in text for text in fit.cautions)
    shot = {"club": "sand wedge", "lie": "fairway", "spot": "unnamed spot", "heading": 0.0, "target_carry": 6.0}
    rest = fit.predict(shot).table().iloc[0]
    assert rest["rest_low"] < 12.5 < rest["rest_high"]
    drawn = fit.draws("unnamed spot", 20)
    assert level_words(drawn) == "another and one as if they were one"
    assert "Her log has 6 chips only" in unmeasured(drawn.logged)[-1]
    assert repr(drawn).startswith("20 draws of the green and the player, with 8-iron")
    assert len(repr(drawn)) < 200


def test_chips_of_a_day_without_rolls_are_told_of() -> None:
    rolls = pd.DataFrame({"spot": ["low", "top"], "date": pd.to_datetime(["2025-05-06", "2025-05-07"])})
    days = pd.to_datetime(["2025-05-06", "2025-05-08", "2025-05-07", "2025-05-09", None])
    chips = pd.DataFrame({"spot": ["low", "low", "top", "other", "low"], "date": days})
    sheets = {"rollouts": Sheet(kind="rollouts", frame=rolls), "chips": Sheet(kind="chips", frame=chips)}
    (said,) = several(sheets, None)
    assert said.startswith("Chips of 2025-05-08 were played on greens that were rolled on other days")


def test_a_wedge_called_by_its_loft_is_fitted_and_a_new_lie_gets_a_wide_prior() -> None:
    fit = golfphys.fit(small_log(club=["52-degree wedge"] * 3 + ["7-iron"] * 3), past=[small_log(club=["56"] * 6)])
    assert not any("No loft" in text for text in fit.cautions)
    bag = fit.draws(fit.spots[0], 20).bag
    assert set(bag) == {*BAG, "7-iron", "52-degree wedge", "56"}
    assert abs(np.degrees(np.median(bag["52-degree wedge"].loft)) - 52.0) < 1.0
    assert "60-degree wedge" in golfphys.updated(fit, chips=small_log(club=["60-degree wedge"] * 6)).settings.clubs
    fit = golfphys.fit(small_log(lie=["hardpan"] * 6))
    assert ("lie hardpan", "friction") in fit.estimates.index
    assert "hardpan" in fit.draws(fit.spots[0], 10).lies


def test_logs_that_cannot_be_used_get_a_sentence() -> None:
    blank = [np.nan] * 6
    for log, words in (
        (small_log(club=["spoon"] * 6), r"no chip that can be used. No loft is known for 'spoon'"),
        (small_log(target_carry=blank, carry=blank), "where it came to rest then says nothing"),
        (Sheet(kind="chips", frame=small_log().frame.head(0)), "sheet of chips has no rows"),
    ):
        refused(words, lambda log=log: golfphys.fit(log))
    mixed = chips_of(small_log(club=["spoon"] + ["8-iron"] * 5), BAG)
    assert len(mixed) == 5
    assert "chips in row 2 are left out" in mixed.notes[0]


def test_a_log_that_is_too_long_is_fitted_in_part_evenly_and_says_so() -> None:
    count = 2100
    frame = pd.DataFrame(
        {"row": np.arange(2, count + 2), "club": "sand wedge", "lie": ["fairway", "rough"] * (count // 2)}
    )
    frame.loc[7, "club"] = "8-iron"
    chips = chips_of(Sheet(kind="chips", frame=frame.assign(carry=6.0, rest=9.0)), BAG)
    assert len(chips) == 1001
    assert np.bincount(chips.lie).tolist() == [500, 501]
    assert (chips.club == chips.clubs.index("8-iron")).sum() == 1
    assert np.diff(chips.row[chips.lie == 0]).max() <= 6
    assert any(text.startswith("Of 2100 chips 1001 are fitted") for text in chips.notes)
    assert len(chips_of(Sheet(kind="chips", frame=frame[:1000].assign(carry=6.0, rest=9.0)), BAG)) == 1000


def test_a_chip_that_does_not_fit_is_asked_about_as_a_mis_hit_may_be_or_not() -> None:
    frame = sheets()[2].frame
    thin = frame.loc[frame["strike"] == "thin", "row"].iloc[-1]
    wrong = frame.loc[frame["strike"].eq("") & frame["rest"].between(8, 12), "row"].iloc[0]
    frame = frame.assign(strike="", rest=frame["rest"].mask(frame["row"] == wrong, 110.0))
    cautions = golfphys.fit(sheets()[0], sheets()[2].replaced(frame)).cautions
    for row, words in (
        (thin, "Was it thin? Then write so in the column strike"),
        (wrong, "fits neither with the others nor with a thin or heavy strike: check the distances"),
    ):
        assert words in next(text for text in cautions if text.startswith(f"Row {row} of the chips"))


def test_two_files_of_chips_may_count_their_rows_alike() -> None:
    twice = pd.concat([small_log().frame] * 2, ignore_index=True)
    twice = twice.assign(sheet=["may.csv"] * 6 + ["june.csv"] * 6)
    twice.loc[9, "lie"] = ""
    fit = golfphys.fit(Sheet(kind="chips", frame=twice))
    assert any("No lie is noted for row 5 of june.csv" in text for text in fit.cautions)
    assert len(fit.residuals) == 2 * len(golfphys.fit(small_log()).residuals)
    assert fit.cautions


def test_mis_hit_loss_is_a_density_in_which_a_mis_hit_says_next_to_nothing_about_usual_chips() -> None:
    loss = MisHitTolerant(np.array([0, 0, 1]), np.ones(2))
    u = np.array([0.7, -3.0, 5.0, 0.0, -0.1, 0.0, 25.0])
    for i in range(3):
        step = np.zeros(7)
        step[i] = 1e-6
        slope = (loss.log_density(u + step).sum() - loss.log_density(u - step).sum()) / 2e-6
        assert slope == pytest.approx(-loss.weight(u)[i] * u[i], abs=1e-6)
    grid = np.linspace(-400, 400, 80001)
    one = MisHitTolerant(np.array([0]), np.ones(1))
    alone = np.stack([grid, 0 * grid, 0 * grid], axis=-1)
    assert np.exp(one.log_density(alone).sum(axis=-1)).sum() * 0.01 == pytest.approx(1.0, abs=1e-3)
    assert one.core == OutlierTolerant((0.985, 0.011, 0.004), (1.0, 3.0, 15.0))
    thin = np.array([-2.6, -3.7, 11.0, 1.4, 3.0, 0.0, 0.0])
    loss = MisHitTolerant(np.zeros(5, dtype=int), np.ones(1))
    assert loss.usual(thin)[0] < 0.02
    pull = (loss.weight(thin) * thin**2 - 1)[:5]  # slope of the log likelihood on the logarithm of each reading's scale
    assert np.abs(pull).max() < 0.5
    sizes = np.geomspace(1.0, 60.0, 200)
    pulls = np.array([loss.other.weight(np.array([u]))[0] * u * u - 1 for u in sizes])
    assert np.abs(pulls).max() < 1.0
    assert abs(pulls.mean()) < 0.2  # however far off: one way as much as the other


def test_a_clear_mis_hit_leaves_the_precision_of_the_mode_positive() -> None:
    # its density rises with what makes mis-hits worse; taken as bending, that outweighed the prior
    unknown = Parameter(name="height_error", location=0.0, spread=1.0)

    def evaluate(natural: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        worse = 10.0 + 40.0 * natural[..., 0]
        found = np.stack([np.full_like(worse, 50.0), np.full_like(worse, -0.1), worse], axis=-1)
        return found, np.ones_like(found)

    block = Block(name="chips", evaluate=evaluate, loss=MisHitTolerant(np.array([0]), np.ones(1)))
    step, precision, _ = Local.at(Model(parameters=[unknown], blocks=[block]), np.zeros(1)).solve(np.zeros((1, 0)))
    assert precision[0, 0, 0] >= 1.0
    assert step[0, 0] > 0  # towards where such a ball is likelier
