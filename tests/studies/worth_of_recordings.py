"""What the phone's recordings are worth, and how often growing resistance is noticed with clips and without.

One small invented course is fitted twice: eight rolls, six drops and ten chips with two clubs, on a green whose
resistance grows by 0.006 for each m/s: with the tape alone, and with sound (drops timed, of the chips flight and first
hop) and three clips of rolls from the ramp. Standard deviations of what is known, in SI units but for the tilt, and
strokes a chip gained by the plan of the better fit go to ``worth_of_recordings.csv``.

Then courses that each have their own green speed, slope and growth of resistance with speed. Rolls have the errors of a
tape, clips one of scale of 1 %, and a ball read to 5 or 15 mm in each frame. Noticed is what `growth` sees beyond its
bound, by twelve rolls of one ramp, by rolls of three notches, with three clips; without any growth that is a false
alarm. The shares go to ``growing_resistance.csv``. Run ``python tests/studies/worth_of_recordings.py`` (seven minutes).
"""

import math
from pathlib import Path

import numpy as np
import pandas as pd

import golfphys
from golfphys import invented
from golfphys.core import constants
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.films import films_of
from golfphys.fitting.rollout_cautions import SEEN, growth
from golfphys.fitting.rollout_layout import rolls_of
from golfphys.invented import CourseTruth, FilmDesign, FilmedRoll, RolloutDesign, make_films, make_rollouts
from golfphys.physics.green import Green, Resistance
from golfphys.planning.search import search_landings
from golfphys.planning.world import swings_for

SPOT, SEED, PLANS = "invented", 1, 4
HEADINGS = (0.0, math.pi / 2, math.pi, 3 * math.pi / 2)
TRUTH = CourseTruth(
    greens={SPOT: Green(resistance=Resistance(constant=0.075, linear=0.006), grade=0.015, fall_direction=0.7)}
)
PINS = (8.0, 16.0)  # m from the ball, the edge of the green at 3 m
PARAMETERS = {
    "tilt of the dent (deg)": ("turf", "tilt_deg"),
    "restitution at 5 m/s": ("turf", "restitution_at_5_m_s"),
    "friction of turf and ball": ("turf", "friction"),
    "growth of resistance (s/m)": (SPOT, "resistance_linear"),
}
CLUBS = ["pitching wedge", "sand wedge", "lob wedge"]
CHIPS = {"club": CLUBS, "lie": ["fairway"] * 3, "heading": [0.5] * 3, "target_carry": [6.0] * 3}


def clips(speed: float) -> tuple[FilmedRoll, ...]:
    names = (f"clip {number}" for number in range(3))
    turns = zip(names, HEADINGS[:3], strict=True)
    return tuple(FilmedRoll(name=name, spot=SPOT, kind="ramp", heading=turn, speed=speed) for name, turn in turns)


def fits() -> dict[str, CourseFit]:
    """Return the fit of each set of sheets, under the law of resistance that is linear in speed."""
    stations = tuple(invented.Station(spot=SPOT, heading=heading) for heading in (0.0, 2.0))
    clubs, heard = ("pitching wedge", "lob wedge"), {"hang_time": 1.0, "first_hop": 0.0, "hop_time": 1.0}
    design = invented.ChipDesign(stations=stations, clubs=clubs, lies=("fairway",), repeats=5, ladder=True, seen=heard)
    chips = invented.make_chips(TRUTH, design, SEED)
    silent = chips.replaced(chips.frame.assign(hang_time=math.nan, hop_time=math.nan))
    rolls = make_rollouts(TRUTH, RolloutDesign(repeats=2), SEED)
    by_eye, by_ear = (
        invented.make_drops(TRUTH, invented.DropDesign(repeats=2, timed_share=share), SEED) for share in (0.0, 1.0)
    )
    films = make_films(TRUTH, FilmDesign(rolls=clips(1.83)), SEED)
    sheets = {"tape alone": (rolls, by_eye, silent), "with sound and three clips": (rolls, by_ear, chips, films)}
    return {name: golfphys.fit(*known, law="linear", seed=SEED) for name, known in sheets.items()}


def gained(without: CourseFit, known: CourseFit, to_pin: float, seed: int) -> float:
    """Return strokes of the plan with less, less those of the plan with more, both in the world of the latter."""
    plans = [golfphys.plan_chip(one.draws(SPOT, seed=seed), to_edge=3.0, to_pin=to_pin) for one in (without, known)]
    best = [plan.played[0] for plan in plans]
    swings = swings_for([item.choice for item in best], plans[1].world)
    strokes = search_landings(swings, plans[1].effort, np.array([[item.landing] for item in best])).strokes
    return float(strokes[0, 0] - strokes[1, 0])


def worth() -> pd.DataFrame:
    """Return a row for each thing known or gained."""
    found, rows = fits(), []
    for name, fit in found.items():
        rests = fit.predict(CHIPS).table()
        rows += [("rest", club, name, sd) for club, sd in zip(rests["club"], rests["rest_known_sd"], strict=True)]
        rows += [("parameter", words, name, fit.estimates.loc[key, "sd"]) for words, key in PARAMETERS.items()]
    for pin in PINS:
        strokes = [gained(*found.values(), pin, seed) for seed in range(PLANS)]
        rows.append(("gain", pin, "strokes gained", np.mean(strokes)))
        rows.append(("gain", pin, "standard error", np.std(strokes, ddof=1) / math.sqrt(PLANS)))
    return pd.DataFrame(rows, columns=["what", "of", "measured", "value"])


RAMP = constants.RAMP_RELEASE_SPEED.value
GROWTHS = (0.0, 0.004, 0.008, 0.012)
READ_TO = (5, 15)


def course(grown: float, number: int) -> CourseTruth:
    """Return a course whose resistance grows by `grown` for each m/s."""
    rng = np.random.default_rng([20261101, round(1000 * grown), number])
    level = Green.from_stimp(float(rng.uniform(7.5, 12.0))).resistance.constant
    law = Resistance(constant=float(level) - 1.2 * grown, linear=grown)
    fall = {"grade": float(rng.uniform(0.0, 0.025)), "fall_direction": float(rng.uniform(-math.pi, math.pi))}
    return CourseTruth(greens={SPOT: Green(resistance=law, **fall)})


def noticed(grown: float, number: int) -> dict[str, float]:
    """Return growth over its standard error by what was measured on one course."""
    truth = course(grown, number)
    one, three = (
        rolls_of(make_rollouts(truth, RolloutDesign(headings=HEADINGS, release_speeds=speeds, repeats=repeats), number))
        for speeds, repeats in (((RAMP,), 3), ((1.0, 1.4, RAMP), 1))
    )
    found = {"rolls of one ramp": growth(one), "rolls of three notches": growth(three)}
    for millimetres in READ_TO:
        design = FilmDesign(rolls=clips(RAMP), distance_scatter=millimetres / 1000)
        films = films_of(make_films(truth, design, number), "linear")
        found[f"and three clips read to {millimetres} mm"] = growth(one, films)
    return {name: value / error for name, (value, error) in found.items()}


def how_often(courses: int) -> pd.DataFrame:
    """Return the share of courses on which growth is noticed, by what was measured."""
    rows = []
    for grown in GROWTHS:
        table = pd.DataFrame([noticed(grown, number) for number in range(courses)])
        share = (table.abs() > SEEN).mean()
        rows += [{"growth": grown, "measured": name, "courses": courses, "noticed": share[name]} for name in table]
    return pd.DataFrame(rows)


if __name__ == "__main__":
    worth().to_csv(Path(__file__).with_suffix(".csv"), index=False)
    how_often(40).to_csv(Path(__file__).with_name("growing_resistance.csv"), index=False)
