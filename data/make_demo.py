"""Makes the demonstration sheets of the invented course Quillmere Downs, and records their truth.

    python data/make_demo.py

Everything here is invented: course, greens, player. The rolls, drops and chips are made with golfphys's own physics
from the truth below, measured with scatter, from fixed seeds, so running it again writes the same files. The truth goes
to ``demo/truth.json``; a fit should find it within its intervals.
"""

import json
import math
from dataclasses import asdict, replace
from datetime import datetime
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.units import METRES_PER_INCH
from golfphys.invented import (
    ChipDesign,
    CourseTruth,
    DropDesign,
    FilmDesign,
    FilmedRoll,
    RolloutDesign,
    Station,
    make_chips,
    make_drops,
    make_films,
    make_rollouts,
)
from golfphys.physics.club import BAG, LIES, TOUR_PLAYER, Player, StrikeErrors
from golfphys.physics.green import Green, Turf
from golfphys.physics.putting import AngleDistanceModel, make_probability
from golfphys.physics.strike import strike
from golfphys.sheets import ramp_run_for_speed, sheet_text, speed_from_ramp_run

HERE = Path(__file__).parent / "demo"
INVENTED = "Invented: the course Quillmere Downs does not exist; made by data/make_demo.py, truth in truth.json."
REFERENCE_LINE = "reference line: from the gate towards the old mill"
RAMP_RUNS_IN = (30.0, 20.0, 12.0)
# The seed of the rollouts is one of an ordinary sheet: about half of those tried have every true value inside its 90 %
# interval, the others miss one or two of fifteen. Calibration is shown by the coverage study, not by this sheet.
CLUBS = ChipDesign(stations=()).clubs

SEEDS = {
    "rollouts": 20250513,
    "drops": 20250507,
    "films": 20250508,
    "chips": 20250509,
    "putts": 20250510,
    "survey": 20250511,
    "targets": 20250512,
}


def truth() -> CourseTruth:
    """Return what is true at Quillmere Downs."""
    turf = Turf(restitution=0.47, friction=0.36, skid_friction=0.36)

    def green(stimp_ft: float, grade: float, fall_deg_clockwise: float) -> Green:
        return Green.from_stimp(stimp_ft, grade=grade, fall_direction=-math.radians(fall_deg_clockwise), turf=turf)

    return CourseTruth(
        greens={
            "practice-low": green(10.2, 0.008, 20.0),
            "practice-top": green(10.6, 0.022, 75.0),
            "ninth-front": green(9.6, 0.030, 200.0),
            "ninth-back": green(9.9, 0.012, 310.0),
            "home-left": green(10.9, 0.018, 145.0),
        }
    )


def player() -> Player:
    """Return the demo player: a little less sure than the tour player, the least with her lob wedge."""
    usual = StrikeErrors(
        speed=0.060,
        direction=math.radians(1.7),
        attack=math.radians(0.7),
        shaft_lean=math.radians(1.5),
        low_point=0.013,
        height=0.0028,
    )
    kinds = ("speed", "attack", "shaft_lean", "low_point", "height")
    wider = replace(usual, **{kind: 1.25 * getattr(usual, kind) for kind in kinds})
    return replace(TOUR_PLAYER, name="demo player", errors=usual, by_club={"lob wedge": wider})


def putting_model() -> AngleDistanceModel:
    """Return how the demo player putts."""
    return AngleDistanceModel(angle_error=math.radians(1.4), distance_error=0.10)


def release_speeds() -> tuple[float, ...]:
    """Return the speeds of the ramp runs used."""
    return tuple(float(np.asarray(speed_from_ramp_run(run * METRES_PER_INCH))) for run in RAMP_RUNS_IN)


def rollouts_text() -> str:
    """Return the rollouts: every spot, four headings, three ramp runs, one outlier; ramp in inches, tape in feet."""
    design = RolloutDesign(
        headings=tuple(math.radians(angle) for angle in (0.0, 90.0, 180.0, 270.0)),
        release_speeds=release_speeds(),
        side_share=0.6,
        outliers=1,
        resolution=0.0,
        first_at=datetime(2025, 5, 6, 9, 0),
    )
    rolls = make_rollouts(truth(), design, SEEDS["rollouts"]).frame
    rolls["ramp_run"] = ramp_run_for_speed(rolls["release_speed"])
    columns = ["spot", "heading_deg", "ramp_run_in", "distance_ft", "side_ft", "measured_at", "note"]
    return sheet_text(rolls, "rollouts", columns, [INVENTED, REFERENCE_LINE])


def films_text() -> str:
    """Return four filmed rolls: two from the ramp, a putt, and a chip that lands with backspin left."""
    films = (
        FilmedRoll(name="ramp up", spot="practice-top", kind="ramp", heading=math.radians(255.0), speed=1.83),
        FilmedRoll(name="ramp down", spot="practice-top", kind="ramp", heading=math.radians(75.0), speed=1.83),
        FilmedRoll(
            name="putt", spot="practice-low", kind="putt", heading=math.radians(20.0), speed=2.4, topspin_share=0.05
        ),
        FilmedRoll(
            name="chip", spot="home-left", kind="chip", heading=math.radians(325.0), speed=3.0, topspin_share=-0.4
        ),
    )
    frames = make_films(truth(), FilmDesign(rolls=films), SEEDS["films"]).frame
    columns = ["roll", "spot", "heading_deg", "kind", "time_s", "distance_m"]
    film = "filmed at 30 frames a second; times are from the first frame after the ball passed the mark"
    return sheet_text(frames, "films", columns, [INVENTED, REFERENCE_LINE, film])


def drops_text() -> str:
    """Return the drops: two places, five heights, some heard instead of seen."""
    course = truth()
    places = CourseTruth(greens={spot: course.greens[spot] for spot in ("practice-low", "home-left")})
    design = DropDesign(heights=(0.5, 1.0, 1.5, 2.0, 3.0), repeats=1, timed_share=0.3)
    drops = make_drops(places, design, SEEDS["drops"]).frame
    columns = ["spot", "drop_height_m", "rebound_height_m", "first_flight_s", "second_flight_s", "note"]
    return sheet_text(drops, "drops", columns, [INVENTED])


def chips_text() -> str:
    """Return the chip log: four clubs, two lies, forty chips, with gaps and the mis-hits that her errors made."""
    stations = (
        Station(spot="practice-low", heading=math.radians(40.0), edge=2.0),
        Station(spot="practice-top", heading=math.radians(300.0), edge=1.5),
        Station(spot="home-left", heading=math.radians(10.0), edge=3.0),
    )
    design = ChipDesign(stations=stations, target_high=9.0, first_at=datetime(2025, 5, 6, 17, 0))
    chips = make_chips(truth(), design, SEEDS["chips"], player=player()).frame
    columns = ["club", "lie", "spot", "heading_deg", "target_carry_m", "edge_m", "strike", "carry_m", "landing_side_m"]
    columns += ["hang_time_s", "first_hop_m", "rest_m", "side_m", "measured_at", "note"]
    return sheet_text(chips, "chips", columns, [INVENTED, REFERENCE_LINE])


def putts_text() -> str:
    """Return the putts: twenty-five from each of eight distances."""
    distances = np.array([0.6, 1.0, 1.5, 2.0, 3.0, 4.0, 6.0, 8.0])
    chances = make_probability(distances, model=putting_model())
    made = np.random.default_rng(SEEDS["putts"]).binomial(25, chances)
    putts = pd.DataFrame({"distance": distances, "tries": 25, "made": made, "spot": "practice-low"})
    return sheet_text(putts, "putts", ["distance_m", "tries", "made", "spot"], [INVENTED])


TIER = {"rise": 0.40, "at": 13.0, "over": 3.0, "height_sd": 0.005}
"""The home green's tier, m: its rise, how far along the reference line, over what length; error of a height."""


def surveyed_height(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Return the true height of the home green: the plane of home-left, and a tier that rises along the line."""
    green = truth().greens["home-left"]
    down_x, down_y = math.cos(green.fall_direction), math.sin(green.fall_direction)
    tier = TIER["rise"] / (1.0 + np.exp(-4.0 * (x - TIER["at"]) / TIER["over"]))
    return np.asarray(tier - green.grade * (down_x * x + down_y * y))


def survey_text() -> str:
    """Return the survey of the home green: a grid of 2 m, 22 m along the reference line and 16 m across."""
    x, y = (item.ravel() for item in np.meshgrid(np.arange(0.0, 23.0, 2.0), np.arange(-8.0, 9.0, 2.0), indexing="ij"))
    errors = TIER["height_sd"] * np.random.default_rng(SEEDS["survey"]).standard_normal(x.shape)
    frame = pd.DataFrame({"green": "home", "x": x, "y": y, "height": surveyed_height(x, y) + errors})
    origin = "origin: the edge of the home green nearest the gate"
    return sheet_text(frame, "survey", ["green", "x_m", "y_m", "height_mm"], [INVENTED, REFERENCE_LINE, origin])


def targets_text() -> str:
    """Return ten balls at a hoop with each of four clubs, from two lies: hits by the errors of the demo player."""
    chipper, size = player(), 0.8
    carries = dict(zip(CLUBS, (4.0, 6.0, 8.0, 9.0), strict=True))
    clubs = [(club, lie, carry) for lie in ("fairway", "rough") for club, carry in carries.items()]
    frame = pd.DataFrame(clubs, columns=["club", "lie", "distance"])
    rng = np.random.default_rng(SEEDS["targets"])
    hits = []
    for club, lie, distance in clubs:
        z = np.column_stack([np.zeros(6), rng.standard_normal((6, 10))])
        launch = strike(BAG[club], chipper.delivery, LIES[lie], z, chipper.errors_with(club)).launch
        far = launch.speed**2 * np.sin(2 * launch.angle)
        landed = distance * far / far[0]
        along, across = landed * np.cos(launch.direction) - distance, landed * np.sin(launch.direction)
        hits.append(int((np.hypot(along, across)[1:] < size / 2).sum()))
    frame = frame.assign(target_size=size, tries=10, hits=hits, date=datetime(2025, 5, 6))
    columns = ["club", "lie", "distance_m", "target_size_m", "tries", "hits", "date"]
    return sheet_text(frame, "targets", columns, [INVENTED])


def truth_record() -> dict[str, Any]:
    """Return the truth as it is stored."""
    course, chipper = truth(), player()
    return {
        "invented": INVENTED,
        "units": "SI and radians; directions anticlockwise from the reference line",
        "seeds": SEEDS,
        "release_factor": course.release_factor,
        "distance_scatter": course.distance_scatter,
        "direction_scatter": course.direction_scatter,
        "greens": {spot: asdict(green) for spot, green in course.greens.items()},
        "player": {
            "name": chipper.name,
            "delivery": asdict(chipper.delivery),
            "errors": asdict(chipper.errors),
            "by_club": {club: asdict(errors) for club, errors in chipper.by_club.items()},
        },
        "local_slope": ChipDesign(stations=()).local_slope,
        "clubs": {name: asdict(BAG[name]) for name in CLUBS},
        "lies": {name: asdict(LIES[name]) for name in ChipDesign(stations=()).lies},
        "fringe": asdict(ChipDesign(stations=()).fringe),
        "putting": asdict(putting_model()),
        "tier": TIER,
    }


def files() -> dict[str, str]:
    """Return the text of every demonstration file by name."""
    return {
        "rollouts.csv": rollouts_text(),
        "films.csv": films_text(),
        "drops.csv": drops_text(),
        "chips.csv": chips_text(),
        "putts.csv": putts_text(),
        "survey.csv": survey_text(),
        "targets.csv": targets_text(),
        "truth.json": json.dumps(truth_record(), indent=2) + "\n",
    }


def main() -> None:
    """Write the files."""
    HERE.mkdir(exist_ok=True)
    for name, text in files().items():
        (HERE / name).write_text(text, encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
