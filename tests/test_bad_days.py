"""Sheets as bad days make them: a fit answers in words, or with numbers and what to bear in mind, never otherwise.

Every sheet here is one that a reader accepts (what it refuses is held by test_measurements_fuzz.py). A fit may raise a
`ValueError` with a sentence; else its tables hold numbers, its intervals are in order and its cautions are sentences.
Warnings are errors here as everywhere.
"""

from collections.abc import Callable, Sequence
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
import pytest

from golfphys.fitting.check_back import check_back, updated
from golfphys.fitting.compare import compare_laws
from golfphys.fitting.joint import fit_course
from golfphys.fitting.results import smooth_weights
from golfphys.fitting.rollouts import fit_rollouts
from golfphys.fitting.search import steadied
from golfphys.fitting.series import fit_series
from golfphys.fitting.traces import fit_traces
from golfphys.physics.putting import fit_make_probability
from golfphys.planning import find_wedge_gaps
from golfphys.planning.fitted import fitted_green
from golfphys.sheets import SheetError
from golfphys.sheets.by_kind import FRAMES, READERS

pytestmark = pytest.mark.thorough
ROUND = (0, 90, 180, 270)
DRAWS = 400
FEW_DRAWS = 80
SHORTEST_SENTENCE = 20


def sheet(folder: Path, kind: str, heading: str, rows: Sequence[Sequence[object]]) -> Any:
    """A sheet as a reader gives it, with everything that is merely hard to believe accepted."""
    path = folder / f"{kind}.csv"
    path.write_text("\n".join([heading, *(",".join(map(str, row)) for row in rows)]) + "\n", encoding="utf-8")
    return READERS[kind](path, accept_suspects=True)


def answered(work: Callable[[], Any]) -> Any:
    """What a fit returns, or None where it answered with a sentence."""
    refused: ValueError | None = None
    try:
        return work()
    except ValueError as error:
        refused = error
    assert type(refused) in (ValueError, SheetError), repr(refused)
    assert len(str(refused)) >= SHORTEST_SENTENCE, str(refused)
    assert "nan" not in str(refused).lower().split(), str(refused)
    return None


def sound(fit: Any) -> None:
    """No number is missing in silence, intervals hold their estimates, and what is said is said in sentences."""
    table = fit.estimates
    numbers = table[["estimate", "sd", "low", "high"]].to_numpy(dtype=float)
    assert np.isfinite(numbers).all(), table[~np.isfinite(numbers).all(axis=1)]
    assert (table["sd"] >= 0).all()
    assert (table["low"] <= table["high"]).all()
    assert all(isinstance(text, str) and len(text) >= SHORTEST_SENTENCE for text in fit.cautions)
    assert not any("nan" in text.lower().split() for text in fit.cautions)
    if hasattr(fit, "report"):
        assert "nan" not in fit.report().lower().split()


def cautious(fit: Any) -> None:
    """Sound, and with something to bear in mind."""
    sound(fit)
    assert fit.cautions


def numeric_draws(fit: Any) -> pd.DataFrame:
    """Draws of a fit, all of them numbers."""
    draws = fit.draws(20, seed=1)
    assert np.isfinite(draws.to_numpy(dtype=float)).all()
    return draws


# rolls

RANDOM = np.random.default_rng(4)
STRAYS = 3.0 + 0.05 * RANDOM.standard_normal(20)
STRAYS[:6] = RANDOM.uniform(0.3, 9.0, 6)
FALLING = tuple(zip(ROUND, (3.4, 3.0, 2.7, 3.0), strict=True))
ROLLS: dict[str, list[tuple[object, ...]]] = {
    "one row": [("s", 0, 1.83, 3.0, "")],
    "one row, with its side": [("s", 0, 1.83, 3.0, 0.3)],
    "one row that went nowhere": [("s", 0, 1.83, 0, "")],
    "two equal rows": [("s", 0, 1.83, 3.0, 0)] * 2,
    "all equal": [("s", 0, 1.83, 3.0, 0.0)] * 12,
    "all equal, all round": [("s", turn, 1.83, 3.0, 0.0) for turn in ROUND] * 3,
    "duplicated": [("s", turn, 1.83, far, "") for turn, far in FALLING] * 6,
    "zeros": [("s", turn, 1.83, 0, "") for turn in ROUND] * 2,
    "one zero": [("s", 0, 1.83, 0, ""), *(("s", turn, 1.83, 3.0, "") for turn in ROUND[1:])],
    "slowest": [("s", turn, 0.3, 0.02, "") for turn in ROUND],
    "strays": [("s", ROUND[i % 4], 1.83, round(far, 3), "") for i, far in enumerate(STRAYS)],
    "all to the side": [("s", turn, 1.83, 3.0, 3.0) for turn in ROUND],
    "farthest of all": [("s", turn, 1.83, 60, "") for turn in ROUND],
    "farthest and nearest": [("s", 0, 1.83, 60, ""), ("s", 180, 1.83, 0.01, "")],
    "at the slope that never stops": [("s", 0, 1.83, 55, 0)] * 4 + [("s", 180, 1.83, 1.2, 0)] * 4,
    "downhill only": [("s", 0, 1.83, 9.0, "")] * 5,
    "many spots of one row": [(f"spot {i}", i * 37, 1.83, 3 + 0.1 * i, "") for i in range(8)],
    "one row here, many there": [("a", 0, 1.83, 3.0, ""), *(("b", turn, 1.83, far, 0.1) for turn, far in FALLING * 3)],
}
ROLL_HEAD = "spot,heading_deg,release_speed_m_s,distance_m,side_m"


@pytest.mark.parametrize("case", ROLLS)
def test_rolls_of_a_bad_day(case: str, tmp_path: Path) -> None:
    rolls = sheet(tmp_path, "rollouts", ROLL_HEAD, ROLLS[case])
    for fit in (
        answered(lambda: fit_rollouts(rolls, draws=DRAWS)),
        answered(lambda: fit_course(rolls, draws=DRAWS)),
    ):
        if fit is not None:
            cautious(fit)
            green = fit.green(fit.spots[0])
            assert green.resistance.constant > 0
            assert 0 <= green.grade <= 1
    single = answered(lambda: fit_rollouts(rolls, pool=False, release_speed_sd=0.0, draws=DRAWS))
    if single is not None:
        cautious(single)
        numeric_draws(single)
        known = single.residuals.drop(columns=["side", "residual_side"], errors="ignore").select_dtypes("number")
        assert np.isfinite(known.to_numpy(dtype=float)).all()


@pytest.mark.parametrize("case", ["one row", "all equal, all round"])
def test_laws_that_a_bad_day_cannot_tell(case: str, tmp_path: Path) -> None:
    """The larger models on the same sheets: resistance that grows with speed, and grain."""
    rolls = sheet(tmp_path, "rollouts", ROLL_HEAD, ROLLS[case][:6])
    for fit in (
        answered(lambda: fit_rollouts(rolls, law="linear", draws=FEW_DRAWS)),
        answered(lambda: fit_rollouts(rolls, law="quadratic", grain=True, draws=FEW_DRAWS)),
    ):
        if fit is not None:
            cautious(fit)


def test_comparing_laws_on_one_row(tmp_path: Path) -> None:
    rolls = sheet(tmp_path, "rollouts", ROLL_HEAD, ROLLS["one row"])
    found = answered(lambda: compare_laws(rolls, laws=("constant", "linear"), draws=FEW_DRAWS))
    assert found is not None
    assert np.isfinite(found.table.drop(columns="behind_se").to_numpy(dtype=float)).all()
    assert found.table["behind_se"].isna().all()  # of one roll there is none; the verdict is in words
    assert len(found.verdict) >= SHORTEST_SENTENCE


def test_a_larger_law_where_a_ball_never_stops(tmp_path: Path) -> None:
    """Rolls that go as far as a sheet can say beside rolls that turn back."""
    rolls = sheet(tmp_path, "rollouts", ROLL_HEAD, ROLLS["at the slope that never stops"])
    fit = answered(lambda: fit_rollouts(rolls, law="linear", draws=FEW_DRAWS))
    if fit is not None:
        cautious(fit)


@pytest.mark.parametrize(
    "times",
    [
        ["2025-05-06T09:00"],
        ["2025-05-06T09:00"] * 4,
        ["1900-01-01", "2200-01-01"],
        [f"2025-05-{6 + day:02d}T09:00" for day in range(6)],
        ["", "2025-05-06T09:00"],
        ["", ""],
    ],
)
def test_series_of_bad_days(times: list[str], tmp_path: Path) -> None:
    rows = [("s", ROUND[i % 4], 1.83, 3.0, time) for i, time in enumerate(times)]
    rolls = sheet(tmp_path, "rollouts", "spot,heading_deg,release_speed_m_s,distance_m,measured_at", rows)
    fit = answered(lambda: fit_series(rolls, draws=DRAWS))
    assert (fit is None) == ("" in times)
    if fit is not None:
        assert np.isfinite(fit.table.select_dtypes("number").to_numpy(dtype=float)).all()
        assert fit.cautions


@pytest.mark.parametrize("kind", ["rollouts", "drops", "chips", "putts", "traces"])
def test_a_sheet_whose_rows_are_all_gone(kind: str, tmp_path: Path) -> None:
    """Rows taken out by hand leave a frame without any; the fit says so."""
    rows = {
        "rollouts": (ROLL_HEAD, ROLLS["one row"]),
        "drops": (DROP_HEAD, DROPS["one"]),
        "chips": (CHIP_HEAD, [chip()]),
        "putts": ("distance_m,tries,made", [(3, 10, 5)]),
        "traces": (TRACE_HEAD, film("a", PLACES)),
    }
    found = sheet(tmp_path, kind, *rows[kind])
    found = replace(found, **{FRAMES[kind]: getattr(found, FRAMES[kind]).iloc[:0]})
    work = {
        "rollouts": (fit_rollouts, fit_course),
        "drops": (lambda log: fit_course(drops=log),),
        "chips": (lambda log: fit_course(chips=log),),
        "putts": (fit_make_probability,),
        "traces": (fit_traces,),
    }
    for fit in work[kind]:
        with pytest.raises(ValueError, match=r"no rolls|no drops|no rows|not empty|four frames"):
            fit(found)


# films

CLOCK = np.arange(0.0, 2.4, 0.1)
PLACES = 1.83 * CLOCK - 0.28 * CLOCK**2
TRACE_HEAD = "roll,spot,heading_deg,kind,time_s,distance_m"


def film(
    name: str,
    places: np.ndarray,
    *,
    spot: str = "s",
    heading: object = 0,
    kind: str = "ramp",
    clock: np.ndarray = CLOCK,
) -> list[tuple[object, ...]]:
    """Rows of one filmed roll."""
    pairs = zip(clock.round(4), places.round(4), strict=False)
    return [(name, spot, heading, kind, float(time), float(place)) for time, place in pairs]


FILMS: dict[str, list[tuple[object, ...]]] = {
    "three frames": film("a", PLACES[:3]),
    "four frames": film("a", PLACES[:4]),
    "a putt of four frames": film("a", PLACES[:4], kind="putt"),
    "standing": film("a", 0 * CLOCK),
    "standing elsewhere": film("a", 3.0 + 0 * CLOCK[:10], kind="chip"),
    "one jump": film("a", np.where(CLOCK < 1, 0.0, 2.0)),
    "backwards": film("a", PLACES[::-1]),
    "never slower": film("a", 1.5 * CLOCK),
    "ever faster": film("a", 0.5 * CLOCK**2),
    "noise": film("a", RANDOM.uniform(0, 3, len(CLOCK))),
    "strays": film("a", np.where(np.arange(len(CLOCK)) % 3 == 0, RANDOM.uniform(0, 3, len(CLOCK)), PLACES)),
    "one film three times": film("a", PLACES) + film("b", PLACES) + film("c", PLACES, heading=180),
    "nothing but times and places": film("a", PLACES, spot="", heading="", kind=""),
    "in slow motion": film("a", PLACES * 1e-2, clock=CLOCK * 1e-2),
    "across the course": film("a", PLACES * 20),
}


@pytest.mark.parametrize("case", FILMS)
def test_films_of_a_bad_day(case: str, tmp_path: Path) -> None:
    films = sheet(tmp_path, "traces", TRACE_HEAD, FILMS[case])
    fit = answered(lambda: fit_traces(films, draws=DRAWS))
    assert (fit is None) == (case == "three frames")
    if fit is not None:
        cautious(fit)
        assert np.isfinite(fit.residuals.select_dtypes("number").to_numpy(dtype=float)).all()


def test_films_of_a_bad_day_beside_rolls(tmp_path: Path) -> None:
    rolls = sheet(tmp_path, "rollouts", ROLL_HEAD, ROLLS["duplicated"][:8])
    for case in ("one film three times", "four frames"):
        fit = answered(
            lambda case=case: fit_rollouts(
                rolls, traces=sheet(tmp_path, "traces", TRACE_HEAD, FILMS[case]), draws=DRAWS
            )
        )
        assert fit is not None
        sound(fit)


# drops

DROP_HEAD = "spot,drop_height_m,rebound_height_m,first_flight_s,second_flight_s"
DROPS: dict[str, list[tuple[object, ...]]] = {
    "one": [("s", 1.5, 0.3, "", "")],
    "all equal": [("s", 1.5, 0.3, "", "")] * 10,
    "none came back": [("s", 1.5, 0, "", "")] * 4,
    "one of flights alone": [("s", "", "", 0.5, 0.2)],
    "nearly all came back": [("s", 1.5, 1.4999, "", "")] * 3,
    "lowest": [("s", 0.05, 0.01, "", "")] * 3,
    "from a roof": [("s", 10, 9, "", "")] * 2,
    "heights and times at odds": [("s", 1.5, 0.3, 0.9, 0.2), ("s", 1.5, 0.3, 0.1, 0.05)],
    "strays": [
        ("s", height, round(height * (0.2 if i % 10 > 2 else RANDOM.uniform(0, 0.95)), 3), "", "")
        for i, height in enumerate([0.5, 1, 1.5, 2, 2.5] * 6)
    ],
}


@pytest.mark.parametrize("case", DROPS)
def test_drops_of_a_bad_day(case: str, tmp_path: Path) -> None:
    drops = sheet(tmp_path, "drops", DROP_HEAD, DROPS[case])
    for law in ("rigid", "linear"):
        fit = answered(lambda law=law: fit_course(drops=drops, turf_law=law, draws=DRAWS))
        assert fit is not None
        sound(fit)


@pytest.mark.parametrize(
    ("case", "words"),
    [
        ("all equal", "from one height"),
        ("none came back", "Rows 2, 3, 4, 5: the ball did not come back"),
        ("heights and times at odds", "Drops differ by"),
        ("strays", "of the drops are far from the others"),
    ],
)
def test_odd_drops_are_named(case: str, words: str, tmp_path: Path) -> None:
    fit = fit_course(drops=sheet(tmp_path, "drops", DROP_HEAD, DROPS[case]), draws=DRAWS)
    assert words in " ".join(fit.cautions)


# chips

CHIP_HEAD = (
    "club,lie,spot,heading_deg,target_carry_m,edge_m,carry_m,"
    "landing_side_m,hang_time_s,first_hop_m,rest_m,side_m,strike"
)


def chip(**cells: object) -> tuple[object, ...]:
    """A row of a chip log."""
    usual = {"club": "sand wedge", "lie": "fairway", "spot": "s", "heading": 0, "target": 6.0, "edge": "", "carry": 6.2}
    rest = {"landing_side": "", "hang": "", "hop": "", "rest": 11.0, "side": "", "strike": ""}
    return tuple({**usual, **rest, **cells}.values())


CHIPS: dict[str, list[tuple[object, ...]]] = {
    "one": [chip()],
    "one that was seen to land only": [chip(rest="")],
    "one that was seen to stop only": [chip(carry="")],
    "no landing, seen or meant": [chip(target="", carry="")],
    "all equal": [chip()] * 6,
    "carried nothing": [chip(carry=0.0, target=0.0, rest=0.0)] * 3,
    "stopped short of its landing": [chip(carry=8.0, rest=2.0)] * 4,
    "a club that is none": [chip(club="spoon")] * 3,
    "a lie of the moon": [chip(lie="moon")] * 4,
    "every one thin": [chip(strike="thin")] * 4,
    "one clean among the thin": [chip(strike="thin")] * 4 + [chip(strike="clean")],
    "club and lie and carry alone": [chip(spot="", heading="", target="", rest="")] * 5,
    "pitches": [chip(target=90.0, carry=95.0, rest=99.0)] * 3,
    "ran for ever": [chip(carry=1.0, rest=60.0)] * 3,
    "hung for ever": [chip(hang=5.0)] * 3,
    "hopped back": [chip(hop=3.0)] * 3,
    "all to the side": [chip(side=9.0, rest=9.0)] * 3,
    "two clubs, one each": [chip(), chip(club="8-iron", carry=4.0, rest=14.0)],
    "an edge beyond everything": [chip(edge=30.0)] * 3,
    "every cell": [chip(edge=2.0, landing_side=0.1, hang=0.9, hop=7.5, side=0.2, strike="clean")] * 3,
    "strays": [
        chip(carry=round(float(6 + 0.3 * RANDOM.standard_normal()), 2), rest=round(float(rest), 2))
        for rest in np.where(np.arange(12) % 3 == 0, RANDOM.uniform(0, 30, 12), 11.0)
    ],
}


@pytest.mark.parametrize("case", list(CHIPS))
def test_chips_of_a_bad_day(case: str, tmp_path: Path) -> None:
    chips = sheet(tmp_path, "chips", CHIP_HEAD, CHIPS[case])
    fit = answered(lambda: fit_course(chips=chips, draws=DRAWS))
    assert (fit is None) == (case in ("no landing, seen or meant", "a club that is none", "every one thin"))
    if fit is None:
        return
    cautious(fit)
    shots = {
        "club": ["sand wedge"],
        "lie": ["fairway"],
        "spot": [fit.spots[0]],
        "heading": [0.0],
        "target_carry": [6.0],
    }
    rest = fit.predict(shots).table().iloc[0]
    assert np.isfinite(rest[["rest_low", "rest_high"]].to_numpy(dtype=float)).all()


def test_a_whole_course_of_one_row_each_goes_on_to_a_plan(tmp_path: Path) -> None:
    """The least that can be measured: everything after it still answers, and says how little it rests on."""
    rolls = sheet(tmp_path, "rollouts", ROLL_HEAD, ROLLS["one row"])
    drops = sheet(tmp_path, "drops", DROP_HEAD, DROPS["one"])
    chips = sheet(tmp_path, "chips", CHIP_HEAD, CHIPS["one"])
    fit = fit_course(rolls, drops, chips, draws=DRAWS)
    sound(fit)
    assert any("Only 1 chip" in text for text in fit.cautions)
    again = updated(fit, chips=chips)
    sound(again)
    looked = answered(lambda: check_back(fit, chips))
    assert looked is not None
    green = fitted_green(fit, "s", heading_deg=0.0, draws=8)
    assert green is not None


# putts and pitches

PUTTS = {
    "one": [(3, 10, 5)],
    "one distance": [(3, 10, 5)] * 3,
    "none holed": [(far, 10, 0) for far in (1, 2, 4, 8)],
    "all holed": [(far, 10, 10) for far in (1, 2, 4, 8)],
    "more from afar": [(1, 10, 1), (2, 10, 5), (8, 10, 9)],
    "one try each": [(1, 1, 1), (2, 1, 0), (3, 1, 1)],
    "nearest": [(0.05, 5, 5)] * 3,
    "farthest": [(60, 5, 0)] * 4,
    "a million": [(1, 999999, 999000), (3, 999999, 500000), (8, 999999, 5)],
}


@pytest.mark.parametrize("model", ["logistic", "angle", "angle and distance"])
@pytest.mark.parametrize("case", PUTTS)
def test_putts_of_a_bad_day(case: str, model: Any, tmp_path: Path) -> None:
    putts = sheet(tmp_path, "putts", "distance_m,tries,made", PUTTS[case])
    fit = answered(lambda: fit_make_probability(putts, model=model))
    if fit is not None:
        chance = np.asarray(fit.model.probability(np.array([0.3, 2.0, 20.0])))
        assert np.all((chance >= 0) & (chance <= 1))
        assert np.isfinite(fit.covariance).all()
        assert np.all(np.diag(fit.covariance) > 0)


@pytest.mark.parametrize(
    "rows",
    [
        [("gap wedge", "full", 90)],
        [("gap wedge", "full", 90)] * 4,
        [("spoon", "full", 90)] * 2,
        [("gap wedge", "full", 90), ("lob wedge", "full", 90)],
        [("gap wedge", "half", 2), ("gap wedge", "full", 250)],
    ],
)
def test_wedges_of_a_bad_day(rows: list[tuple[object, ...]]) -> None:
    found = find_wedge_gaps(pd.DataFrame(rows, columns=["club", "swing", "carry_m"]))
    assert np.isfinite(found.table["carry_m"]).all()
    assert all(isinstance(note, str) and note for note in found.notes)


def test_a_tail_beyond_every_number_is_smoothed_and_distrusted() -> None:
    """One draw that outweighs all others by more than a float can say: no overflow, and a shape that says so."""
    smoothed, shape = smooth_weights(-11.0 * np.arange(400.0))
    assert shape > 0.7
    assert not np.isnan(smoothed).any()
    assert smoothed.max() <= 0.0


def test_observations_repeated_to_the_digit_still_have_a_precision() -> None:
    """Two directions that rounding cannot tell apart: solved after as much was added as rounding takes."""
    slope = np.array([[1.0, 1.0 + 1e-17], [1.0, 1.0]])
    precision = (1e20 * slope.T @ slope + 1e-10 * np.eye(2))[None]
    with pytest.raises(np.linalg.LinAlgError):
        np.linalg.cholesky(precision)
    lower = np.linalg.cholesky(steadied(precision))
    assert np.isfinite(lower).all()
    np.testing.assert_allclose(steadied(precision), precision, rtol=1e-11)


def test_what_is_asked_would_notice() -> None:
    """A table with a hole in it, and an error of another kind, are not passed."""

    class Broken:
        cautions = ("A sentence that is long enough.",)
        estimates = pd.DataFrame({"estimate": [1.0, np.nan], "sd": 1.0, "low": 0.0, "high": 2.0})

    with pytest.raises(AssertionError):
        sound(Broken())
    with pytest.raises(AssertionError):
        answered(lambda: np.linalg.inv(np.zeros((2, 2))))
    with pytest.raises(KeyError):
        answered(lambda: {}["x"])
    assert answered(lambda: 3) == 3
