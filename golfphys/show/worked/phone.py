"""What a phone's sound and films are worth: one invented course, fitted with and without them."""

import math
from collections.abc import Mapping

import numpy as np
import pandas as pd

from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.joint import fit
from golfphys.invented import (
    ChipDesign,
    CourseTruth,
    DropDesign,
    FilmedRoll,
    RolloutDesign,
    Station,
    TraceDesign,
    make_chips,
    make_drops,
    make_rollouts,
    make_traces,
)
from golfphys.physics.green import Green, Resistance
from golfphys.planning.plan import plan_chip
from golfphys.planning.search import search_spots
from golfphys.planning.swings import swings_for

SPOT, SEED = "invented", 1
TO_EDGE, TO_PIN, SEEDS = 3.0, (8.0, 16.0), 4
"""The chips of the comparison, m from the ball, and how many plans are made for each."""


def with_and_without_recordings() -> dict[str, CourseFit]:
    """Return fits of one small invented course: with the tape alone, and with sound and three clips.

    Eight rolls, six drops and ten chips with two clubs, on a green whose resistance grows by 0.006 for each m/s.
    Sound times the drops, and of the chips the flight and the first hop; the clips are rolls from the ramp. Fits are by
    what was measured, under the law of resistance that is linear in speed.
    """
    law = Resistance(constant=0.075, linear=0.006)
    truth = CourseTruth(greens={SPOT: Green(resistance=law, grade=0.015, fall_direction=0.7)})
    stations = tuple(Station(spot=SPOT, heading=heading) for heading in (0.0, 2.0))
    clubs, lies = ("pitching wedge", "lob wedge"), ("fairway",)
    heard = {"hang_time": 1.0, "first_hop": 0.0, "hop_time": 1.0}
    design = ChipDesign(stations=stations, clubs=clubs, lies=lies, repeats=5, ladder=True, seen=heard)
    chips = make_chips(truth, design, SEED)
    silent = chips.replaced(chips.chips.assign(hang_time=math.nan, hop_time=math.nan))
    rolls = make_rollouts(truth, RolloutDesign(repeats=2), SEED)
    by_eye, by_ear = (make_drops(truth, DropDesign(repeats=2, timed_share=share), SEED) for share in (0.0, 1.0))
    ramp = [FilmedRoll(name=f"clip {i}", spot=SPOT, kind="ramp", heading=math.pi / 2 * i, speed=1.83) for i in range(3)]
    films = make_traces(truth, TraceDesign(rolls=tuple(ramp)), SEED)
    sheets = {"tape alone": (rolls, by_eye, silent), "with sound and three clips": (rolls, by_ear, chips, films)}
    return {name: fit(*known, law="linear", draws=800, seed=SEED) for name, known in sheets.items()}


def worth_of_recordings(fits: Mapping[str, CourseFit]) -> pd.DataFrame:
    """Return standard deviations of what recordings inform, a column for each fit by its name."""
    wanted = {
        "tilt of the dent (deg)": ("turf", "tilt_deg"),
        "restitution at 5 m/s": ("turf", "restitution_at_5_m_s"),
        "friction of turf and ball": ("turf", "friction"),
        "growth of resistance (s/m)": (SPOT, "resistance_linear"),
    }
    return pd.DataFrame(
        {name: {words: fit.estimates.loc[key, "sd"] for words, key in wanted.items()} for name, fit in fits.items()}
    )


def gained_by_recordings(without: CourseFit, known: CourseFit) -> pd.DataFrame:
    """Return what the plan of a fit with less costs where a fit with more is believed, in strokes a chip.

    A row for each pin: ``strokes gained`` on average over plans, each on draws of its own, and its ``standard error``.
    """
    rows = {}
    for pin in TO_PIN:
        gained = [_gained(without, known, pin, seed) for seed in range(SEEDS)]
        rows[pin] = {"strokes gained": np.mean(gained), "standard error": np.std(gained, ddof=1) / math.sqrt(SEEDS)}
    return pd.DataFrame(rows).T.rename_axis("to the pin (m)")


def _gained(without: CourseFit, known: CourseFit, to_pin: float, seed: int) -> float:
    """Return strokes of the plan with less, less those of the plan with more, both in the world of the latter."""
    plans = [plan_chip(fitted.draws(SPOT, seed=seed), to_edge=TO_EDGE, to_pin=to_pin) for fitted in (without, known)]
    best = [plan.played[0].search for plan in plans]
    world = plans[1].world
    swings = swings_for([search.swing.choice for search in best], world)
    found = search_spots(swings, world, plans[1].effort, [np.array([search.spot]) for search in best])
    return float(found[0].strokes[0] - found[1].strokes[0])
