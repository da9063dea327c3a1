"""Golf chipping physics: measured greens and players, fitted, and turned into club and landing spot.

Everything a notebook needs is here under its own name (``golfphys.Green``, ``golfphys.fit_rollouts``);
``dir(golfphys)`` lists it and ``REFERENCE.md`` says what each does. A name is looked up in its room on first use, so
that ``import golfphys`` itself loads nothing heavy.
"""

import importlib
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from golfphys.aim import aim_and_pace as aim_and_pace
    from golfphys.ball import Ball as Ball
    from golfphys.club import BAG as BAG
    from golfphys.club import DEFAULT_PLAYER as DEFAULT_PLAYER
    from golfphys.club import LIES as LIES
    from golfphys.club import Club as Club
    from golfphys.club import Delivery as Delivery
    from golfphys.club import Launch as Launch
    from golfphys.club import Lie as Lie
    from golfphys.club import Player as Player
    from golfphys.club import Scatter as Scatter
    from golfphys.fitting.check_back import check_back as check_back
    from golfphys.fitting.check_back import green_drift as green_drift
    from golfphys.fitting.check_back import updated as updated
    from golfphys.fitting.compare import compare_laws as compare_laws
    from golfphys.fitting.course_fit import CourseFit as CourseFit
    from golfphys.fitting.design import RolloutPlan as RolloutPlan
    from golfphys.fitting.design import compare_plans as compare_plans
    from golfphys.fitting.design import expected_intervals as expected_intervals
    from golfphys.fitting.further import Further as Further
    from golfphys.fitting.further import further as further
    from golfphys.fitting.joint import fit_course as fit_course
    from golfphys.fitting.rollouts import RolloutFit as RolloutFit
    from golfphys.fitting.rollouts import fit_rollouts as fit_rollouts
    from golfphys.fitting.series import fit_series as fit_series
    from golfphys.fitting.traces import fit_traces as fit_traces
    from golfphys.flight import Aerodynamics as Aerodynamics
    from golfphys.flight import Air as Air
    from golfphys.green import Green as Green
    from golfphys.green import Ground as Ground
    from golfphys.green import GroundBatch as GroundBatch
    from golfphys.green import LinearTurf as LinearTurf
    from golfphys.green import Resistance as Resistance
    from golfphys.green import Strip as Strip
    from golfphys.green import Turf as Turf
    from golfphys.hole import capture_speed as capture_speed
    from golfphys.hole import captured as captured
    from golfphys.hole import holed as holed
    from golfphys.measurements import Problem as Problem
    from golfphys.measurements import SheetError as SheetError
    from golfphys.measurements import append_row as append_row
    from golfphys.measurements import append_rows as append_rows
    from golfphys.measurements import make_course_folder as make_course_folder
    from golfphys.measurements import new_sheet as new_sheet
    from golfphys.measurements import read_chips as read_chips
    from golfphys.measurements import read_course as read_course
    from golfphys.measurements import read_drops as read_drops
    from golfphys.measurements import read_putts as read_putts
    from golfphys.measurements import read_rollouts as read_rollouts
    from golfphys.measurements import read_traces as read_traces
    from golfphys.planning import CHANGES as CHANGES
    from golfphys.planning import FIRMNESS as FIRMNESS
    from golfphys.planning import CarrySheet as CarrySheet
    from golfphys.planning import Change as Change
    from golfphys.planning import ChipPlan as ChipPlan
    from golfphys.planning import CourseDraws as CourseDraws
    from golfphys.planning import HabitPrices as HabitPrices
    from golfphys.planning import NextMeasurement as NextMeasurement
    from golfphys.planning import Position as Position
    from golfphys.planning import PositionSpread as PositionSpread
    from golfphys.planning import WedgeGaps as WedgeGaps
    from golfphys.planning import best_club_map as best_club_map
    from golfphys.planning import carry_and_roll as carry_and_roll
    from golfphys.planning import changed_loft as changed_loft
    from golfphys.planning import course_draws as course_draws
    from golfphys.planning import demo_wedges as demo_wedges
    from golfphys.planning import find_wedge_gaps as find_wedge_gaps
    from golfphys.planning import fitted_green as fitted_green
    from golfphys.planning import landing_shift as landing_shift
    from golfphys.planning import make_carry_sheet as make_carry_sheet
    from golfphys.planning import measured_pace as measured_pace
    from golfphys.planning import new_wedge_sheet as new_wedge_sheet
    from golfphys.planning import next_measurement as next_measurement
    from golfphys.planning import plan_chip as plan_chip
    from golfphys.planning import price_habits as price_habits
    from golfphys.planning import read_study as read_study
    from golfphys.planning import read_wedges as read_wedges
    from golfphys.planning import rule_of_twelve as rule_of_twelve
    from golfphys.planning import sensitivities as sensitivities
    from golfphys.planning import what_if as what_if
    from golfphys.planning import what_it_would_fill as what_it_would_fill
    from golfphys.putting import expected_putts as expected_putts
    from golfphys.putting import fit_make_probability as fit_make_probability
    from golfphys.putting import make_probability as make_probability
    from golfphys.putting import putts_to_hole_out as putts_to_hole_out
    from golfphys.putting import read_make_table as read_make_table
    from golfphys.ramp import green_speed as green_speed
    from golfphys.ramp import green_speed_ft as green_speed_ft
    from golfphys.ramp import release_speed as release_speed
    from golfphys.ramp import resistance_and_grade as resistance_and_grade
    from golfphys.ramp import resistance_from_green_speed as resistance_from_green_speed
    from golfphys.ramp import two_way_mean as two_way_mean
    from golfphys.roll import rest_point as rest_point
    from golfphys.roll import skid as skid
    from golfphys.roll import speed_for_distance as speed_for_distance
    from golfphys.roll import stopping_distance as stopping_distance
    from golfphys.roll import stopping_time as stopping_time
    from golfphys.roll import time_to_rest as time_to_rest
    from golfphys.shot import Laws as Laws
    from golfphys.shot import Shots as Shots
    from golfphys.shot import Status as Status
    from golfphys.shot import Trace as Trace
    from golfphys.shot import simulate as simulate
    from golfphys.shot import trace as trace
    from golfphys.sole import effective_bounce as effective_bounce
    from golfphys.sole import low_point_window as low_point_window
    from golfphys.strike import launch_from as launch_from
    from golfphys.surface import Surface as Surface
    from golfphys.surface import path_on as path_on
    from golfphys.surface import roll_on as roll_on
    from golfphys.synthetic import ChipDesign as ChipDesign
    from golfphys.synthetic import CourseTruth as CourseTruth
    from golfphys.synthetic import DropDesign as DropDesign
    from golfphys.synthetic import RolloutDesign as RolloutDesign
    from golfphys.synthetic import Station as Station
    from golfphys.synthetic import TraceDesign as TraceDesign
    from golfphys.synthetic import make_chips as make_chips
    from golfphys.synthetic import make_drops as make_drops
    from golfphys.synthetic import make_rollouts as make_rollouts
    from golfphys.synthetic import make_traces as make_traces

__version__ = "0.1.0"

_ROOMS = {
    "aim_and_pace": "aim",
    "Ball": "ball",
    "BAG": "club",
    "Club": "club",
    "DEFAULT_PLAYER": "club",
    "Delivery": "club",
    "Launch": "club",
    "Lie": "club",
    "LIES": "club",
    "Player": "club",
    "Scatter": "club",
    "check_back": "fitting.check_back",
    "green_drift": "fitting.check_back",
    "updated": "fitting.check_back",
    "compare_laws": "fitting.compare",
    "compare_plans": "fitting.design",
    "expected_intervals": "fitting.design",
    "RolloutPlan": "fitting.design",
    "Further": "fitting.further",
    "further": "fitting.further",
    "CourseFit": "fitting.course_fit",
    "fit_course": "fitting.joint",
    "fit_rollouts": "fitting.rollouts",
    "RolloutFit": "fitting.rollouts",
    "fit_series": "fitting.series",
    "fit_traces": "fitting.traces",
    "Aerodynamics": "flight",
    "Air": "flight",
    "Green": "green",
    "Ground": "green",
    "GroundBatch": "green",
    "LinearTurf": "green",
    "Resistance": "green",
    "Strip": "green",
    "Turf": "green",
    "capture_speed": "hole",
    "captured": "hole",
    "holed": "hole",
    "append_row": "measurements",
    "append_rows": "measurements",
    "make_course_folder": "measurements",
    "new_sheet": "measurements",
    "Problem": "measurements",
    "read_chips": "measurements",
    "read_course": "measurements",
    "read_drops": "measurements",
    "read_putts": "measurements",
    "read_rollouts": "measurements",
    "read_traces": "measurements",
    "SheetError": "measurements",
    "best_club_map": "planning",
    "carry_and_roll": "planning",
    "CarrySheet": "planning",
    "Change": "planning",
    "changed_loft": "planning",
    "CHANGES": "planning",
    "ChipPlan": "planning",
    "course_draws": "planning",
    "CourseDraws": "planning",
    "demo_wedges": "planning",
    "find_wedge_gaps": "planning",
    "FIRMNESS": "planning",
    "fitted_green": "planning",
    "HabitPrices": "planning",
    "landing_shift": "planning",
    "make_carry_sheet": "planning",
    "measured_pace": "planning",
    "new_wedge_sheet": "planning",
    "next_measurement": "planning",
    "NextMeasurement": "planning",
    "plan_chip": "planning",
    "Position": "planning",
    "PositionSpread": "planning",
    "price_habits": "planning",
    "read_study": "planning",
    "read_wedges": "planning",
    "rule_of_twelve": "planning",
    "sensitivities": "planning",
    "WedgeGaps": "planning",
    "what_if": "planning",
    "what_it_would_fill": "planning",
    "expected_putts": "putting",
    "fit_make_probability": "putting",
    "make_probability": "putting",
    "putts_to_hole_out": "putting",
    "read_make_table": "putting",
    "green_speed": "ramp",
    "green_speed_ft": "ramp",
    "release_speed": "ramp",
    "resistance_and_grade": "ramp",
    "resistance_from_green_speed": "ramp",
    "two_way_mean": "ramp",
    "rest_point": "roll",
    "skid": "roll",
    "speed_for_distance": "roll",
    "stopping_distance": "roll",
    "stopping_time": "roll",
    "time_to_rest": "roll",
    "Laws": "shot",
    "Shots": "shot",
    "simulate": "shot",
    "Status": "shot",
    "Trace": "shot",
    "trace": "shot",
    "effective_bounce": "sole",
    "low_point_window": "sole",
    "launch_from": "strike",
    "path_on": "surface",
    "roll_on": "surface",
    "Surface": "surface",
    "ChipDesign": "synthetic",
    "CourseTruth": "synthetic",
    "DropDesign": "synthetic",
    "make_chips": "synthetic",
    "make_drops": "synthetic",
    "make_rollouts": "synthetic",
    "make_traces": "synthetic",
    "RolloutDesign": "synthetic",
    "Station": "synthetic",
    "TraceDesign": "synthetic",
}
"""The room in which each public name lives; the imports above tell type checkers the same."""

__all__ = sorted(_ROOMS)  # noqa: PLE0605  # a list of names, built from the one above


def __getattr__(name: str) -> Any:
    """Look a public name up in its room (PEP 562)."""
    if name not in _ROOMS:
        raise AttributeError(f"golfphys has no {name!r}; its public names are: {', '.join(__all__)}")
    value = getattr(importlib.import_module(f"golfphys.{_ROOMS[name]}"), name)
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names."""
    return [*__all__, "__version__"]
