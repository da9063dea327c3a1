"""Does the reference player of tour level take what a tour takes? Strokes to hole out, and what is left.

    python tests/studies/tour_level.py                  # a few minutes
    python tests/studies/tour_level.py --situations 16  # a try

The everyday mix, all judged (practice): green to work with 2 to 8 m from 10 yd, 4 to 15 m from 30 and 60 yd; green
speed 10.8 ft with a standard deviation of 0.8; slopes along and across with one of 1.6 %; restitution of the turf 0.51
with 0.04; a metre of fringe before the green, and fairway or rough before that. She does not know it: she reads the
speed with an error of 6 %, each slope with one of 0.5 %, the restitution with 0.03, and picks option, club, pace and
line with the least expected strokes *for what she reads*, her own errors at the strike counted. What she picked is then
played on the ground as it is. A landing meets a local slope with a standard deviation of a
degree.

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
from golfphys.physics.club import BAG, LIES, Club, Launch, Lie, Player
from golfphys.physics.draws import stated
from golfphys.physics.green import Green, Ground, Hole, Strip, Turf
from golfphys.physics.players import OPTIONS, PUTTER, TOUR_PLAYER, Option
from golfphys.physics.shot import simulate
from golfphys.physics.strike import Contact, strike
from golfphys.physics.usual import AROUND
from golfphys.planning.position import Position
from golfphys.planning.strokes import Outcome, score
from golfphys.planning.world import World

HERE = Path(__file__).parent
Floats = NDArray[np.float64]
SPEEDS = np.geomspace(0.8, 42.0, 64)
AHEAD = np.array([-0.6, -0.3, 0.0, 0.3, 0.7, 1.2, 2.0])
TRIES, PLAYED = 96, 256
SLOPE, GREEN_SPEED_FT, RESTITUTION = 0.016, (10.8, 0.8), (0.51, 0.04)
MISREAD_SPEED, MISREAD_SLOPE, MISREAD_RESTITUTION = 0.06, 0.005, 0.03


@dataclass(frozen=True, kw_only=True)
class Case:
    """Where the ball lies, and what is known of it outside the project."""

    name: str
    yards: tuple[float, float]
    green_to_work_with: tuple[float, float]
    lie: str
    before: str
    strokes: float = math.nan
    leave: float = math.nan


CASES = (
    Case(
        name="10 yd fairway", yards=(10, 10), green_to_work_with=(2, 8), lie="fairway", before="fairway", strokes=2.18
    ),
    Case(name="10 yd rough", yards=(10, 10), green_to_work_with=(2, 8), lie="rough", before="rough", strokes=2.34),
    Case(
        name="30 yd fairway", yards=(30, 30), green_to_work_with=(4, 15), lie="fairway", before="fairway", strokes=2.52
    ),
    Case(name="30 yd rough", yards=(30, 30), green_to_work_with=(4, 15), lie="rough", before="rough", strokes=2.70),
    Case(
        name="60 yd fairway", yards=(60, 60), green_to_work_with=(4, 15), lie="fairway", before="fairway", strokes=2.70
    ),
    Case(name="60 yd rough", yards=(60, 60), green_to_work_with=(4, 15), lie="rough", before="rough", strokes=2.91),
    Case(
        name="rough around the green",
        yards=(7, 20),
        green_to_work_with=(3, 12),
        lie="rough",
        before="rough",
        leave=7 * METRES_PER_FOOT + 10 * METRES_PER_FOOT / 12,
    ),
    Case(
        name="collar",
        yards=(5, 14),
        green_to_work_with=(3, 12),
        lie="fairway",
        before="collar",
        leave=2 * METRES_PER_FOOT + 11 * METRES_PER_FOOT / 12,
    ),
    Case(name="10 yd tight", yards=(10, 10), green_to_work_with=(2, 8), lie="tight", before="fairway"),
)


@dataclass(frozen=True, kw_only=True)
class Situation:
    """One chip: the ground as it is, and as she reads it."""

    position: Position
    truth: Ground
    read: Ground


def situation(case: Case, rng: np.random.Generator) -> Situation:
    """Draw one chip of the everyday mix."""
    to_pin = rng.uniform(*case.yards) * METRES_PER_YARD
    on_green = min(rng.uniform(*case.green_to_work_with), 0.9 * to_pin)
    if case.before == "collar":
        on_green = to_pin - 0.5
    feet = float(np.clip(rng.normal(*GREEN_SPEED_FT), 8.0, 13.5))
    slope = rng.normal(0.0, SLOPE, 2)
    turf = Turf(restitution=float(np.clip(rng.normal(*RESTITUTION), 0.3, 0.7)))
    misread = replace(turf, restitution=float(np.clip(rng.normal(turf.restitution, MISREAD_RESTITUTION), 0.2, 0.8)))
    read_feet = feet * math.exp(rng.normal(0.0, MISREAD_SPEED))
    read_slope = slope + rng.normal(0.0, MISREAD_SLOPE, 2)
    edge = to_pin - on_green
    return Situation(
        position=Position(to_edge=edge, to_pin=to_pin),
        truth=ground(feet, slope, turf, edge, case.before),
        read=ground(read_feet, read_slope, misread, edge, case.before),
    )


def ground(feet: float, slope: Floats, turf: Turf, edge: float, before: str) -> Ground:
    """Return a green with what lies before it; `slope` is the rise along the line and to the left."""
    green = Green.from_stimp(
        feet, grade=float(np.hypot(*slope)), fall_direction=float(np.arctan2(-slope[1], -slope[0])), turf=turf
    )
    names = [(edge - 1.0, before), (edge, "fringe")] if edge > 1.2 and before != "collar" else [(edge, before)]
    strips = []
    for until, name in names:
        grass = AROUND[name].medians(turf)
        strips.append(Strip(until=until, resistance=grass.resistance, turf=grass.turf))
    return Ground(green=green, strips=tuple(strips))


def normals(n: int, seed: int) -> Floats:
    """Return ten rows of standard normal numbers: six errors of the strike, slopes along and across of two landings."""
    points = qmc.Sobol(d=10, rng=np.random.default_rng(seed)).random(1 << (n - 1).bit_length())[:n]
    return np.asarray(norm.ppf(np.clip(points, 1e-9, 1 - 1e-9))).T


@dataclass(frozen=True, kw_only=True)
class Way:
    """One option with one club, and the paces and lines that she considers."""

    option: Option
    club: Club
    speed: Floats
    turn: Floats


def playable(lie: str) -> list[tuple[Option, Club]]:
    """Return what can be played: every club usual, wedges otherwise, the putter from short grass."""
    found = [(OPTIONS["usual"], club) for club in BAG.values()]
    wedges = [club for club in BAG.values() if club.loft > math.radians(49.0)]
    found += [(OPTIONS[name], club) for name in ("hands level", "face opened 20 degrees") for club in wedges]
    return found + ([(OPTIONS["putter"], PUTTER)] if "rough" not in lie else [])


def ways(player: Player, lie: Lie, where: Situation) -> list[Way]:
    """Return paces about the pin, and lines that end on it when all goes as meant, on the green as she reads it."""
    found = []
    for option, club in playable(lie.name):
        delivery = replace(option.delivery(player.delivery), speed=SPEEDS)
        meant = strike(club, delivery, lie, np.zeros((6, 1)), player.errors).launch
        turn = np.array(np.broadcast_to(meant.direction, SPEEDS.shape))
        for _ in range(4):
            shots = simulate(replace(meant, direction=np.asarray(meant.direction) - turn), where.read)
            x, y = np.asarray(shots.rest_x), np.asarray(shots.rest_y)
            stays = np.isfinite(x) & np.isfinite(y)
            turn = turn + np.where(stays, np.arctan2(np.where(stays, y, 0.0), np.where(stays, x, 1.0)), 0.0)
        rest = np.maximum.accumulate(x[stays])
        wanted = where.position.to_pin + AHEAD * (0.5 + where.position.to_pin / 20.0)
        wanted = wanted[(wanted > rest[0]) & (wanted < rest[-1])]
        if wanted.size:
            speed = np.interp(wanted, rest, SPEEDS[stays])
            found.append(Way(option=option, club=club, speed=speed, turn=np.interp(speed, SPEEDS[stays], turn[stays])))
    return found


def launches(player: Player, lie: Lie, way: Way, z: Floats) -> tuple[Launch, Any]:
    """Return launches and contacts of a way, shape (paces, errors)."""
    delivery = replace(way.option.delivery(player.delivery), speed=way.speed[:, None])
    struck = strike(way.club, delivery, lie, z[:6, None, :], way.option.errors(player.errors))
    return replace(struck.launch, direction=np.asarray(struck.launch.direction) - way.turn[:, None]), struck.contact


def scored(launch: Launch, where: Situation, on: Ground, z: Floats) -> Outcome:
    """Return what becomes of launches, each landing on a slope of its own."""
    bumps = np.broadcast_to(z[6:].reshape(2, 2, 1, -1), (2, 2, *np.shape(launch.speed)))
    shots = simulate(launch, replace(on, hole=Hole(x=where.position.to_pin)), bumps=bumps)
    return score(shots, World(draws=stated(on.green), position=where.position))


def played(player: Player, case: Case, where: Situation, tries: Floats, z: Floats) -> dict[str, Any]:
    """Return what a chip takes, picked on the ground as read and played on the ground as it is."""
    lie = LIES[case.lie]
    best: tuple[float, Way] | None = None
    for way in ways(player, lie, where):
        strokes = scored(launches(player, lie, way, tries)[0], where, where.read, tries).strokes.mean(axis=1)
        number = int(np.argmin(strokes))
        if best is None or strokes[number] < best[0]:
            one = replace(way, speed=way.speed[[number]], turn=way.turn[[number]])
            best = (float(strokes[number]), one)
    assert best is not None
    launch, contact = launches(player, lie, best[1], z)
    outcome = scored(launch, where, where.truth, z)
    return {
        "strokes": outcome.strokes.mean(),
        "leave": outcome.leave.mean(),
        "holed": outcome.holed.mean(),
        "heavy": (contact == Contact.HEAVY).mean(),
        "thin": (contact == Contact.THIN).mean(),
        "pick": best[1].club.name if best[1].option.name in ("usual", "putter") else best[1].option.name,
    }


def study(player: Player, situations: int, seed: int) -> pd.DataFrame:
    """Return one row for each case."""
    tries, z = normals(TRIES, seed + 1), normals(PLAYED, seed + 2)
    rows = []
    for case in CASES:
        rng = np.random.default_rng(seed)
        found = pd.DataFrame([played(player, case, situation(case, rng), tries, z) for _ in range(situations)])
        means = found.drop(columns="pick").mean()
        picks = ", ".join(f"{name} {count}" for name, count in Counter(found["pick"]).most_common(5))
        error = float(found["strokes"].std()) / math.sqrt(situations)
        rows.append(
            {"player": player.name, "case": case.name, "target_strokes": case.strokes, "target_leave": case.leave}
            | {name: round(float(value), 3) for name, value in means.items()}
            | {"strokes_error": round(error, 3), "picks": picks}
        )
        print(rows[-1], flush=True)
    return pd.DataFrame(rows)


def main() -> None:
    """Play the study and write its table."""
    parser = argparse.ArgumentParser(description=str(__doc__).splitlines()[0])
    parser.add_argument("--situations", type=int, default=40)
    parser.add_argument("--seed", type=int, default=5)
    asked = parser.parse_args()
    table = study(TOUR_PLAYER, asked.situations, asked.seed)
    if asked.situations >= 40:
        table.to_csv(HERE / "tour_level.csv", index=False)


if __name__ == "__main__":
    main()
