"""How often growing resistance is noticed: by twelve rolls of one ramp, by rolls of three notches, with three clips.

Every course has its own green speed, slope and growth of resistance with speed. Rolls have the errors of a tape, clips
one of scale of 1 %, and a ball read to 5 or 15 mm in each frame. Noticed is what `growth` sees beyond
its bound; without any growth that is a false alarm. Run ``python tests/studies/growing_resistance.py`` (five minutes);
it writes ``growing_resistance.csv`` beside it.
"""

import math
from pathlib import Path

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.fitting.films import films_of
from golfphys.fitting.rollout_cautions import SEEN, growth
from golfphys.fitting.rollout_layout import rolls_of
from golfphys.invented import CourseTruth, FilmDesign, FilmedRoll, RolloutDesign, make_films, make_rollouts
from golfphys.physics.green import Green, Resistance

HEADINGS = (0.0, math.pi / 2, math.pi, 3 * math.pi / 2)
RAMP = constants.RAMP_RELEASE_SPEED.value
GROWTHS = (0.0, 0.004, 0.008, 0.012)
READ_TO = (5, 15)
CLIPS = tuple(
    FilmedRoll(name=f"clip {number}", spot="low", kind="ramp", heading=heading, speed=RAMP)
    for number, heading in enumerate(HEADINGS[:3])
)


def course(grown: float, number: int) -> CourseTruth:
    """Return a course whose resistance grows by `grown` for each m/s."""
    rng = np.random.default_rng([20261101, round(1000 * grown), number])
    level = Green.from_stimp(float(rng.uniform(7.5, 12.0))).resistance.constant
    law = Resistance(constant=float(level) - 1.2 * grown, linear=grown)
    fall = {"grade": float(rng.uniform(0.0, 0.025)), "fall_direction": float(rng.uniform(-math.pi, math.pi))}
    return CourseTruth(greens={"low": Green(resistance=law, **fall)})


def noticed(grown: float, number: int) -> dict[str, float]:
    """Return growth over its standard error by what was measured on one course."""
    truth = course(grown, number)
    one, three = (
        rolls_of(make_rollouts(truth, RolloutDesign(headings=HEADINGS, release_speeds=speeds, repeats=repeats), number))
        for speeds, repeats in (((RAMP,), 3), ((1.0, 1.4, RAMP), 1))
    )
    found = {"rolls of one ramp": growth(one), "rolls of three notches": growth(three)}
    for millimetres in READ_TO:
        design = FilmDesign(rolls=CLIPS, distance_scatter=millimetres / 1000)
        clips = films_of(make_films(truth, design, number), "linear")
        found[f"and three clips read to {millimetres} mm"] = growth(one, clips)
    return {name: value / error for name, (value, error) in found.items()}


def study(courses: int) -> pd.DataFrame:
    rows = []
    for grown in GROWTHS:
        table = pd.DataFrame([noticed(grown, number) for number in range(courses)])
        share = (table.abs() > SEEN).mean()
        rows += [{"growth": grown, "measured": name, "courses": courses, "noticed": share[name]} for name in table]
    return pd.DataFrame(rows)


if __name__ == "__main__":
    study(40).to_csv(Path(__file__).with_suffix(".csv"), index=False)
