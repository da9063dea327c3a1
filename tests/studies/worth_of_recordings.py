"""What the phone's recordings are worth: one small invented course fitted twice, and what plans gain by knowing more.

Eight rolls, six drops and ten chips with two clubs, on a green whose resistance grows by 0.006 for each m/s: with the
tape alone, and with sound (drops timed, of the chips flight and first hop) and three clips of rolls from the ramp. Run
``python tests/studies/worth_of_recordings.py`` (two minutes); it writes ``worth_of_recordings.csv`` beside it: standard
deviations of what is known, in SI units but for the tilt, and strokes a chip gained by the plan of the better fit.
"""

import math
from pathlib import Path

import numpy as np
import pandas as pd

import golfphys
from golfphys import CourseTruth, Green, Resistance, invented
from golfphys.fitting.course_fit import CourseFit
from golfphys.planning.search import search_landings
from golfphys.planning.world import swings_for

SPOT, SEED, PLANS = "invented", 1, 4
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


def fits() -> dict[str, CourseFit]:
    """Return the fit of each set of sheets, under the law of resistance that is linear in speed."""
    stations = tuple(invented.Station(spot=SPOT, heading=heading) for heading in (0.0, 2.0))
    clubs, heard = ("pitching wedge", "lob wedge"), {"hang_time": 1.0, "first_hop": 0.0, "hop_time": 1.0}
    design = invented.ChipDesign(stations=stations, clubs=clubs, lies=("fairway",), repeats=5, ladder=True, seen=heard)
    chips = invented.make_chips(TRUTH, design, SEED)
    silent = chips.replaced(chips.frame.assign(hang_time=math.nan, hop_time=math.nan))
    rolls = invented.make_rollouts(TRUTH, invented.RolloutDesign(repeats=2), SEED)
    by_eye, by_ear = (
        invented.make_drops(TRUTH, invented.DropDesign(repeats=2, timed_share=share), SEED) for share in (0.0, 1.0)
    )
    clips = tuple(
        invented.FilmedRoll(name=f"clip {i}", spot=SPOT, kind="ramp", heading=math.pi / 2 * i, speed=1.83)
        for i in range(3)
    )
    films = invented.make_films(TRUTH, invented.FilmDesign(rolls=clips), SEED)
    sheets = {"tape alone": (rolls, by_eye, silent), "with sound and three clips": (rolls, by_ear, chips, films)}
    return {name: golfphys.fit(*known, law="linear", seed=SEED) for name, known in sheets.items()}


def gained(without: CourseFit, known: CourseFit, to_pin: float, seed: int) -> float:
    """Return strokes of the plan with less, less those of the plan with more, both in the world of the latter."""
    plans = [golfphys.plan_chip(one.draws(SPOT, seed=seed), to_edge=3.0, to_pin=to_pin) for one in (without, known)]
    best = [plan.played[0] for plan in plans]
    swings = swings_for([item.choice for item in best], plans[1].world)
    strokes = search_landings(swings, plans[1].effort, np.array([[item.landing] for item in best])).strokes
    return float(strokes[0, 0] - strokes[1, 0])


def study() -> pd.DataFrame:
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


if __name__ == "__main__":
    study().to_csv(Path(__file__).with_suffix(".csv"), index=False)
