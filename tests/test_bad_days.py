"""Sheets as bad days make them: a fit answers in words, or with numbers and what to bear in mind, never otherwise.

Every sheet here is one that a reader accepts. A fit may raise a `ValueError` with a sentence; else its tables hold
numbers, its intervals are in order and its cautions are sentences. Warnings are errors here as everywhere.
"""

from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from conftest import tried

import golfphys
from golfphys import check_back, read_sheet, updated

pytestmark = pytest.mark.thorough
ROUND = (0, 90, 180, 270)
SHORTEST_SENTENCE = 20
Rows = Sequence[Sequence[object]]
HEADS = {
    "rollouts": "spot,heading_deg,release_speed_m_s,distance_m,side_m",
    "films": "roll,spot,heading_deg,kind,time_s,distance_m",
    "drops": "spot,drop_height_m,rebound_height_m,first_flight_s,second_flight_s",
    "chips": "club,lie,spot,heading_deg,target_carry_m,edge_m,carry_m,landing_side_m,hang_time_s,first_hop_m,"
    "rest_m,side_m,strike",
    "putts": "distance_m,tries,made",
}


@pytest.fixture
def sheet(sheet: Callable[..., Path]) -> Callable[..., Any]:
    def read(kind: str, rows: Rows, heading: str = "") -> Any:
        lines = [heading or HEADS[kind], *(",".join(map(str, row)) for row in rows)]
        return read_sheet(sheet("\n".join(lines) + "\n", f"{kind}.csv"), kind, accept_suspects=True)

    return read


def answered(work: Callable[..., Any], *sheets: Any, **options: Any) -> Any:
    found, refused = tried(lambda: work(*sheets, **options))
    if refused is not None:
        assert len(str(refused)) >= SHORTEST_SENTENCE, str(refused)
        assert "nan" not in str(refused).lower().split(), str(refused)
    return found


def sound(fit: Any) -> None:
    """No number is missing in silence, intervals are in order, and there are cautions, in sentences."""
    table = fit.estimates
    numbers = table[["estimate", "sd", "low", "high"]].to_numpy(dtype=float)
    assert np.isfinite(numbers).all(), table[~np.isfinite(numbers).all(axis=1)]
    assert (table["sd"] >= 0).all()
    assert (table["low"] <= table["high"]).all()
    assert fit.cautions
    assert all(isinstance(text, str) and len(text) >= SHORTEST_SENTENCE for text in fit.cautions)
    assert not any("nan" in text.lower().split() for text in fit.cautions)


RANDOM = np.random.default_rng(4)
OUTLIERS = 3.0 + 0.05 * RANDOM.standard_normal(20)
OUTLIERS[:6] = RANDOM.uniform(0.3, 9.0, 6)
FALLING = tuple(zip(ROUND, (3.4, 3.0, 2.7, 3.0), strict=True))
ROLLS: dict[str, Rows] = {
    "one row": [("s", 0, 1.83, 3.0, "")],
    "one row that went nowhere": [("s", 0, 1.83, 0, "")],
    "all equal": [("s", 0, 1.83, 3.0, 0.0)] * 12,
    "all equal, all round": [("s", turn, 1.83, 3.0, 0.0) for turn in ROUND] * 3,
    "zeros": [("s", turn, 1.83, 0, "") for turn in ROUND] * 2,
    "one zero": [("s", 0, 1.83, 0, ""), *(("s", turn, 1.83, 3.0, "") for turn in ROUND[1:])],
    "slowest": [("s", turn, 0.3, 0.02, "") for turn in ROUND],
    "outliers": [("s", ROUND[i % 4], 1.83, round(far, 3), "") for i, far in enumerate(OUTLIERS)],
    "all to the side": [("s", turn, 1.83, 3.0, 3.0) for turn in ROUND],
    "farthest of all": [("s", turn, 1.83, 60, "") for turn in ROUND],
    "farthest and nearest": [("s", 0, 1.83, 60, ""), ("s", 180, 1.83, 0.01, "")],
    "at the slope that never stops": [("s", 0, 1.83, 55, 0)] * 4 + [("s", 180, 1.83, 1.2, 0)] * 4,
    "many spots of one row": [(f"spot {i}", i * 37, 1.83, 3 + 0.1 * i, "") for i in range(8)],
    "one row here, many there": [("a", 0, 1.83, 3.0, ""), *(("b", turn, 1.83, far, 0.1) for turn, far in FALLING * 3)],
}


@pytest.mark.parametrize("times", [["2025-05-06T09:00"] * 4, ["1900-01-01", "2200-01-01"], ["", "2025-05-06T09:00"]])
def test_series_of_bad_days(times: list[str], sheet: Callable[..., Any]) -> None:
    rows = [("s", ROUND[i % 4], 1.83, 3.0, time) for i, time in enumerate(times)]
    rolls = sheet("rollouts", rows, "spot,heading_deg,release_speed_m_s,distance_m,measured_at")
    fit = answered(golfphys.fit, rolls, session_gap_hours=1.0)
    assert (fit is None) == ("" in times)
    if fit is not None:
        fit = fit.series
        assert np.isfinite(fit.table.select_dtypes("number").to_numpy(dtype=float)).all()
        assert fit.cautions


CLOCK = np.arange(0.0, 2.4, 0.1)
PLACES = 1.83 * CLOCK - 0.28 * CLOCK**2


def film(places: np.ndarray, name: str = "a", kind: str = "ramp", clock: np.ndarray = CLOCK) -> Rows:
    pairs = zip(clock.round(4), places.round(4), strict=False)
    return [(name, "s", 0, kind, float(time), float(place)) for time, place in pairs]


FILMS: dict[str, Rows] = {
    "three frames": film(PLACES[:3]),
    "four frames": film(PLACES[:4]),
    "standing": film(0 * CLOCK),
    "one jump": film(np.where(CLOCK < 1, 0.0, 2.0)),
    "backwards": film(PLACES[::-1]),
    "ever faster": film(0.5 * CLOCK**2, kind="putt"),
    "noise": film(RANDOM.uniform(0, 3, len(CLOCK))),
    "one film three times": [*film(PLACES), *film(PLACES, "b"), *film(PLACES, "c")],
    "in slow motion": film(PLACES * 1e-2, clock=CLOCK * 1e-2),
    "across the course": film(PLACES * 20, kind="chip"),
}


DROPS: dict[str, Rows] = {
    "one": [("s", 1.5, 0.3, "", "")],
    "all from one height": [("s", 1.5, 0.3, "", "")] * 10,
    "none came back": [("s", 1.5, 0, "", "")] * 4,
    "flights alone": [("s", "", "", 0.5, 0.2)],
    "nearly all came back": [("s", 1.5, 1.4999, "", "")] * 3,
    "from a roof": [("s", 10, 9, "", "")] * 2,
    "heights and times at odds": [("s", 1.5, 0.3, 0.9, 0.2), ("s", 1.5, 0.3, 0.1, 0.05)],
}


def chip(**cells: object) -> tuple[object, ...]:
    usual = {"club": "sand wedge", "lie": "fairway", "spot": "s", "heading": 0, "target": 6.0, "edge": "", "carry": 6.2}
    rest = {"landing_side": "", "hang": "", "hop": "", "rest": 11.0, "side": "", "strike": ""}
    return tuple({**usual, **rest, **cells}.values())


CHIPS: dict[str, Rows] = {
    "one": [chip()],
    "one that was seen to land only": [chip(rest="")],
    "one that was seen to stop only": [chip(carry="")],
    "no landing, seen or meant": [chip(target="", carry="")],
    "all equal": [chip()] * 6,
    "stopped short of its landing": [chip(carry=8.0, rest=2.0)] * 4,
    "a club that is none": [chip(club="spoon")] * 3,
    "a lie of the moon": [chip(lie="moon")] * 4,
    "every one thin": [chip(strike="thin")] * 4,
    "one clean among the thin": [chip(strike="thin")] * 4 + [chip(strike="clean")],
    "club and lie and carry alone": [chip(spot="", heading="", target="", rest="")] * 5,
    "pitches": [chip(target=90.0, carry=95.0, rest=99.0)] * 3,
    "hung for ever, ran for ever": [chip(carry=1.0, hang=5.0, rest=60.0)] * 3,
    "all to the side": [chip(side=9.0, rest=9.0)] * 3,
    "every cell": [chip(edge=2.0, landing_side=0.1, hang=0.9, hop=7.5, side=0.2, strike="clean")] * 3,
    "outliers": [chip(rest=round(far, 2)) for far in np.where(np.arange(12) % 3 == 0, RANDOM.uniform(7, 30, 12), 11.0)],
}


SHEETS = {"rollouts": ROLLS, "films": FILMS, "drops": DROPS, "chips": CHIPS}
OPTIONS: dict[str, list[dict[str, Any]]] = {
    "rollouts": [{}, {"pool": False, "release_speed_sd": 0.0}, {"law": "linear"}],
    "drops": [{"turf_law": "rigid"}, {"turf_law": "linear"}],
}
NO_FIT = ("three frames", "no landing, seen or meant", "a club that is none")
SAID = {
    "all from one height": "from one height",
    "none came back": "Rows 2, 3, 4, 5: the ball did not come back",
    "heights and times at odds": "Drops differ by",
}


@pytest.mark.parametrize(("kind", "case"), [(kind, case) for kind, cases in SHEETS.items() for case in cases])
def test_a_sheet_of_a_bad_day(kind: str, case: str, sheet: Callable[..., Any]) -> None:
    given = sheet(kind, SHEETS[kind][case])
    for options in OPTIONS.get(kind, [{}]):
        rows = given.frame.iloc[:6] if "law" in options else given.frame
        fit = answered(golfphys.fit, given.replaced(rows), **options)
        assert fit is not None or case in NO_FIT or kind == "rollouts"
        if fit is None:
            continue
        assert case not in NO_FIT
        sound(fit)
        assert SAID.get(case, "") in " ".join(fit.cautions)
        if kind in ("rollouts", "films"):
            sound(getattr(fit, kind))
        if kind == "rollouts":
            green = fit.green(fit.spots[0])
            assert green.resistance.constant > 0
            assert 0 <= green.grade <= 1
        if kind == "chips":
            shot = {"club": "sand wedge", "lie": "fairway", "spot": fit.spots[0], "heading": 0.0, "target_carry": 6.0}
            rest = fit.predict({name: [value] for name, value in shot.items()}).table().iloc[0]
            assert np.isfinite(rest[["rest_low", "rest_high"]].to_numpy(dtype=float)).all()


def test_a_whole_course_of_one_row_each(sheet: Callable[..., Any]) -> None:
    rolls, drops, chips = (sheet(kind, next(iter(SHEETS[kind].values()))) for kind in ("rollouts", "drops", "chips"))
    fit = golfphys.fit(rolls, drops, chips)
    sound(fit)
    assert any("Only 1 chip" in text for text in fit.cautions)
    sound(updated(fit, chips=chips))
    assert answered(check_back, fit, chips) is not None
