"""Predictions of new chips: what is asked must exist, and what is not given is averaged over or asked for."""

import math
import pickle
from types import SimpleNamespace

import numpy as np
import pandas as pd
import pytest
from fitted_demo import DEMO, before_chips, demo_fit, sheets

from golfphys.fitting.further import with_noises
from golfphys.fitting.joint import fit, fit_course
from golfphys.sheets import read_films

SHOT = {"club": ["sand wedge"], "lie": ["fairway"], "spot": ["home-left"], "heading": [0.2], "target_carry": [6.0]}


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"spot": ["nowhere"]}, "shot 1: spot is 'nowhere'; expected one of: practice-low"),
        ({"spot": [""]}, "shot 1: spot is ''"),
        ({"hedding": [0.1]}, "'hedding' is no column of a shot; expected club, lie"),
        ({"club": ["spoon"]}, "shot 1: club is 'spoon'; expected one of"),
        ({"lie": [""]}, "shot 1: no lie is given; expected one of: "),
        ({"target_carry": [-103.0]}, "shot 1: a carry of -103 m"),
        ({"target_carry": [math.nan]}, "shot 1: neither target_carry nor carry"),
        (
            {"club": ["lob wedge"], "target_carry": [140.0]},
            "shot 1: a carry of 140 m is farther than a lob wedge flies",
        ),
    ],
)
def test_a_shot_that_cannot_be_is_refused_with_what_to_do(change: dict[str, list[object]], words: str) -> None:
    with pytest.raises(ValueError, match=words.replace("(", r"\(")):
        before_chips().predict({**SHOT, **change}, n=50)


def test_a_prediction_without_a_heading_is_less_sure_than_with_one() -> None:
    fit = demo_fit()
    four = {name: value * 4 for name, value in SHOT.items()} | {"heading": list(np.radians([0, 90, 180, 270]))}
    each = fit.predict(four, n=800).table()
    blank = fit.predict({name: value for name, value in SHOT.items() if name != "heading"}, n=800).table().iloc[0]
    assert blank["rest_high"] - blank["rest_low"] > 1.2 * (each["rest_high"] - each["rest_low"]).median()
    assert blank["rest_high"] > each["rest_high"].median()
    assert blank["rest_low"] < each["rest_low"].median()


def test_what_the_fit_cannot_use_of_a_chip_is_said() -> None:
    frame = pd.DataFrame(
        {"club": ["sand wedge"] * 5, "lie": ["fairway"] * 5, "carry": [6.0, 6.2, 5.8, 6.1, 5.9]}
        | {"rest": [9.0, 9.3, 8.7, 9.1, 7.0], "lie_slope": [0.0, np.nan, 0.05, 0.0, 0.0]}
        | {"option": ["", "usual", None, "Face opened", "left-handed"]}
    )
    fit = fit_course(chips=SimpleNamespace(chips=frame), draws=400)
    assert fit.seen.chips is not None
    assert fit.draws(fit.spots[0], 8).logged.options == {"usual": 3, "face opened 20 degrees": 1}
    assert any("No option is known by the name 'left-handed': row 6 left out" in text for text in fit.cautions)
    assert any("A slope under the ball is noted in row 4" in text for text in fit.cautions)


def test_a_blank_lie_in_a_log_is_not_taken_as_fairway() -> None:
    frame = pd.DataFrame(
        {"club": ["sand wedge"] * 3, "lie": ["fairway", "", None], "carry": [6.0, 6.2, 5.8], "rest": [9.0, 9.3, 8.7]}
    )
    fit = fit_course(chips=SimpleNamespace(chips=frame), draws=400)
    assert "lie not noted" in fit.lie_names
    assert any("No lie is noted for rows 3, 4" in text for text in fit.cautions)
    assert any("Only the sand wedge was hit" in text for text in fit.cautions)


def test_noise_that_no_sheet_shows_is_that_of_the_prior() -> None:
    fit = fit_course(drops=sheets()[1], draws=400)
    drawn = with_noises(fit, fit.completed(20, 0))
    assert drawn.column("scatter_relative")[0] == fit.settings.priors.scatter_relative


def test_a_fit_can_be_kept_and_loaded() -> None:
    fit = before_chips()
    again = pickle.loads(pickle.dumps(fit))
    pd.testing.assert_frame_equal(again.estimates, fit.estimates)
    assert again.cautions == fit.cautions
    assert again.green("home-left") == fit.green("home-left")


@pytest.mark.thorough
def test_a_contradictory_log_is_said_to_be_one() -> None:
    rng = np.random.default_rng(3)
    count = 24
    frame = pd.DataFrame(
        {
            "club": ["sand wedge", "8-iron"] * (count // 2),
            "lie": ["fairway"] * count,
            "carry": 6.0,
            "target_carry": 6.0,
            "hang_time": np.where(np.arange(count) % 3, 0.2, 3.0),
            "rest": rng.uniform(6.1, 60.0, count),
        }
    )
    fit = fit_course(chips=SimpleNamespace(chips=frame), draws=800)
    table = fit.estimates
    collapsed = table["informed"] & (table["sd"] < 1e-6 * table["estimate"].abs())
    assert not collapsed.any()
    assert fit.posterior.failure or any("seems to scatter by" in text for text in fit.cautions)


def test_one_call_takes_whatever_sheets_there_are() -> None:
    rollouts, drops, _ = sheets()
    both = fit(drops, rollouts)
    pd.testing.assert_frame_equal(both.estimates, before_chips().estimates)
    with pytest.raises(ValueError, match="two sheets of drops"):
        fit(drops, drops)
    with pytest.raises(ValueError, match="str is no sheet of films, rollouts"):
        fit("rollouts.csv")


def test_films_are_fitted_with_the_rolls_of_their_spots() -> None:
    films, rollouts = read_films(DEMO / "films.csv"), sheets()[0]
    together = fit(films, rollouts)
    assert len(together.films.estimates)
    assert together.draws("home-left", 8).logged.films == films.frames["roll"].nunique()
    alone = before_chips().estimates.loc[("home-left", "resistance"), "sd"]
    assert together.estimates.loc[("home-left", "resistance"), "sd"] < 1.1 * alone
