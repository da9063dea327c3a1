"""Does the reference player of tour level take what a tour takes? Strokes to hole out, and what is left.

    python tests/studies/tour_level.py                  # a few minutes
    python tests/studies/tour_level.py --situations 16  # a try

The everyday mix, all judged (practice): green to work with 2.5 to 8 m from 10 yd, 4 to 15 m from 30 and 60 yd; as much
behind the pin, and fringe behind that; green speed 10.8 ft with a standard deviation of 0.8; slopes along and across
with one of 1.1 %, as where the published putts were holed (`golfphys.planning.strokes`); restitution of the turf
0.51 with 0.04; before the green what a `Position` has there. She does not know it: she reads the speed with an error
of 5 %, each slope with one of 0.4 %, the restitution with 0.03, and takes what a plan on the green as she reads it
recommends. That is then played on the green as it is. Landings meet local slopes.

Targets (`Broadie 2014, from memory`): 10 yd 2.18 and 2.34 from fairway and rough, 30 yd 2.52 and 2.70, 60 yd 2.70 and
2.91; average leaves (read) 7 ft 10 in from rough around the green, 2 ft 11 in from the collar. The result goes to
``tour_level.csv`` beside this file.
"""

import argparse
import math
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.stats import norm, qmc

from golfphys.core.units import METRES_PER_FOOT, METRES_PER_YARD
from golfphys.physics.club import TOUR_PLAYER, Player
from golfphys.physics.draws import LOCAL_SLOPE, stated
from golfphys.physics.green import Green, Turf
from golfphys.planning.position import Position, choices_for
from golfphys.planning.search import play_best, searched
from golfphys.planning.world import Conditions, Effort, World, normals

EFFORT = Effort(draws=1, landings=17, errors=64, last=1024)
SLOPE, GREEN_SPEED_FT, RESTITUTION = 0.011, (10.8, 0.8), (0.51, 0.04)
MISREAD_SPEED, MISREAD_SLOPE, MISREAD_RESTITUTION = 0.05, 0.004, 0.03


@dataclass(frozen=True, kw_only=True)
class Case:
    """Where the ball lies, and what is known of it outside the project."""

    name: str
    lie: str
    yards: tuple[float, float]
    green_to_work_with: tuple[float, float]
    strokes: float = math.nan
    leave: float = math.nan


def _from(yards: int, green: tuple[float, float], **strokes: float) -> list[Case]:
    where = {"yards": (yards, yards), "green_to_work_with": green}
    return [Case(name=f"{yards} yd {lie}", lie=lie, strokes=known, **where) for lie, known in strokes.items()]


NEAR, LEFT_ROUGH, LEFT_COLLAR = (3, 12), (7 + 10 / 12) * METRES_PER_FOOT, (2 + 11 / 12) * METRES_PER_FOOT
CASES = (
    *_from(10, (2.5, 8), fairway=2.18, rough=2.34, tight=math.nan),
    *_from(30, (4, 15), fairway=2.52, rough=2.70),
    *_from(60, (4, 15), fairway=2.70, rough=2.91),
    Case(name="rough around the green", lie="rough", yards=(7, 20), green_to_work_with=NEAR, leave=LEFT_ROUGH),
    Case(name="collar", lie="fairway", yards=(5, 14), green_to_work_with=NEAR, leave=LEFT_COLLAR),
)


def world(player: Player, position: Position, feet: float, slope: NDArray[np.float64], restitution: float) -> World:
    """Return the one draw of a green; `slope` is its rise along the line of play and to the left."""
    falls = {"grade": float(np.hypot(*slope)), "fall_direction": float(np.arctan2(-slope[1], -slope[0]))}
    green = Green.from_stimp(feet, **falls, turf=Turf(restitution=restitution))
    draws = stated(green, player=player, local_slope=LOCAL_SLOPE)
    return World(draws=draws, position=position, conditions=Conditions())


def situation(case: Case, player: Player, at: NDArray[np.float64]) -> tuple[World, World]:
    """Return one chip of the everyday mix, from eleven numbers between 0 and 1: as she reads it, and as it is."""
    to_pin = (case.yards[0] + at[0] * (case.yards[1] - case.yards[0])) * METRES_PER_YARD
    before, behind = (case.green_to_work_with[0] + at[1:3] * np.diff(case.green_to_work_with)).tolist()
    edge = 0.5 if case.name == "collar" else to_pin - min(before, 0.9 * to_pin)
    collar = (("collar", edge),) if case.name == "collar" else None
    position = Position(to_edge=edge, to_pin=to_pin, lie=case.lie, before=collar, to_back=to_pin + behind)
    z = norm.ppf(np.clip(at[3:], 1e-6, 1 - 1e-6))
    feet = float(np.clip(GREEN_SPEED_FT[0] + GREEN_SPEED_FT[1] * z[0], 8.0, 13.5))
    slope, restitution = SLOPE * z[1:3], RESTITUTION[0] + RESTITUTION[1] * z[3]
    read = feet * math.exp(MISREAD_SPEED * z[4]), slope + MISREAD_SLOPE * z[5:7]
    misread = float(np.clip(restitution + MISREAD_RESTITUTION * z[7], 0.2, 0.8))
    return world(player, position, *read, misread), world(player, position, feet, slope, float(restitution))


def played(read: World, true: World) -> dict[str, Any]:
    """Return what a chip takes, picked on the green as read and played on the green as it is."""
    search = searched(choices_for(read.draws, read.position), read, EFFORT)
    z = normals(1, EFFORT.last, EFFORT.seed + 1)
    best = min(play_best(search, z), key=lambda item: item.cost)
    moved = replace(search, swings=replace(search.swings, world=true))
    outcome = play_best(moved.at([best.number]), z)[0].outcome
    found = {name: getattr(outcome, name).mean() for name in ("strokes", "leave", "holed")}
    return found | {"pick": best.label}


def study(player: Player, situations: int, seed: int, cases: tuple[Case, ...] = CASES) -> pd.DataFrame:
    """Return one row for each case; situations are spread evenly over the mix."""
    points = qmc.Sobol(d=11, rng=np.random.default_rng(seed)).random(1 << (situations - 1).bit_length())[:situations]
    rows = []
    for case in cases:
        found = pd.DataFrame([played(*situation(case, player, at)) for at in points])
        picks = ", ".join(f"{name} {count}" for name, count in Counter(found["pick"]).most_common(5))
        rows.append(
            {"player": player.name, "case": case.name, "target_strokes": case.strokes, "target_leave": case.leave}
            | {name: round(float(value), 3) for name, value in found.drop(columns="pick").mean().items()}
            | {"picks": picks}
        )
        print(rows[-1], flush=True)
    return pd.DataFrame(rows)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=str(__doc__).splitlines()[0])
    parser.add_argument("--situations", type=int, default=32)
    parser.add_argument("--seed", type=int, default=5)
    asked = parser.parse_args()
    table = study(TOUR_PLAYER, asked.situations, asked.seed)
    if asked.situations == 32:
        table.to_csv(Path(__file__).with_suffix(".csv"), index=False)
