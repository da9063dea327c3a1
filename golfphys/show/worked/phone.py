"""What a phone's sound and films are worth: one invented course, fitted with and without them."""

import math
from collections.abc import Mapping, Sequence

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

SPOT = "invented"


def with_and_without_recordings(*, seed: int = 1, draws: int = 800) -> dict[str, CourseFit]:
    """Return fits of one small invented course: with the tape alone, and with sound and three clips.

    Eight rolls, six drops and ten chips with two clubs, on a green whose resistance grows by 0.006 for each m/s.
    Sound times the drops, and of the chips the flight and the first hop; the clips are rolls from the ramp.

    Parameters
    ----------
    seed : int
        The same seed makes the same course.
    draws : int
        As for `golfphys.fit`.

    Returns
    -------
    dict of str to CourseFit
        By what was measured, under the law of resistance that is linear in speed.
    """
    law = Resistance(constant=0.075, linear=0.006)
    truth = CourseTruth(greens={SPOT: Green(resistance=law, grade=0.015, fall_direction=0.7)})
    stations = tuple(Station(spot=SPOT, heading=heading) for heading in (0.0, 2.0))
    clubs, lies = ("pitching wedge", "lob wedge"), ("fairway",)
    heard = {"hang_time": 1.0, "first_hop": 0.0, "hop_time": 1.0}
    design = ChipDesign(stations=stations, clubs=clubs, lies=lies, repeats=5, ladder=True, seen=heard)
    chips = make_chips(truth, design, seed)
    silent = chips.replaced(chips.chips.assign(hang_time=math.nan, hop_time=math.nan))
    rolls = make_rollouts(truth, RolloutDesign(repeats=2), seed)
    by_eye, by_ear = (make_drops(truth, DropDesign(repeats=2, timed_share=share), seed) for share in (0.0, 1.0))
    ramp = [FilmedRoll(name=f"clip {i}", spot=SPOT, kind="ramp", heading=math.pi / 2 * i, speed=1.83) for i in range(3)]
    films = make_traces(truth, TraceDesign(rolls=tuple(ramp)), seed)
    sheets = {"tape alone": (rolls, by_eye, silent), "with sound and three clips": (rolls, by_ear, chips, films)}
    return {name: fit(*known, law="linear", draws=draws, seed=seed) for name, known in sheets.items()}


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


def gained_by_recordings(
    without: CourseFit, known: CourseFit, *, to_edge: float = 3.0, to_pin: Sequence[float] = (8.0, 16.0), seeds: int = 4
) -> pd.DataFrame:
    """Return what the plan of a fit with less costs where a fit with more is believed, in strokes a chip.

    Parameters
    ----------
    without, known : CourseFit
        Of one course.
    to_edge : float
        From the ball to the edge of the green, m.
    to_pin : sequence of float
        From the ball to the pin, m.
    seeds : int
        Plans for each pin, each on draws of its own.

    Returns
    -------
    DataFrame
        A row for each pin: ``strokes gained`` on average and its ``standard error`` over the seeds.
    """
    rows = {}
    for pin in to_pin:
        gained = [_gained(without, known, to_edge, pin, seed) for seed in range(seeds)]
        rows[pin] = {"strokes gained": np.mean(gained), "standard error": np.std(gained, ddof=1) / math.sqrt(seeds)}
    return pd.DataFrame(rows).T.rename_axis("to the pin (m)")


def _gained(without: CourseFit, known: CourseFit, to_edge: float, to_pin: float, seed: int) -> float:
    """Return strokes of the plan with less, less those of the plan with more, both in the world of the latter."""
    plans = [plan_chip(fitted.draws(SPOT, seed=seed), to_edge=to_edge, to_pin=to_pin) for fitted in (without, known)]
    best = [plan.played[0].search for plan in plans]
    world = plans[1].world
    swings = swings_for([search.swing.choice for search in best], world)
    found = search_spots(swings, world, plans[1].effort, [np.array([search.spot]) for search in best])
    return float(found[0].strokes[0] - found[1].strokes[0])
