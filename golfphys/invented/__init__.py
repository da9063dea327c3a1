"""Sheets from invented courses whose truth is known: for demonstrations, tests and coverage studies.

Everything is made by the same physics as the rest of golfphys; measuring it adds scatter, rounding, gaps and blunders.
Headings are clockwise from the reference line, which is the line of play of the greens given as truth.
"""

from golfphys.invented.chips import ChipDesign, Station, make_chips
from golfphys.invented.drops import DropDesign, make_drops
from golfphys.invented.rollouts import CourseTruth, RolloutDesign, make_rollouts
from golfphys.invented.traces import FilmedRoll, TraceDesign, make_traces

__all__ = [
    "ChipDesign",
    "CourseTruth",
    "DropDesign",
    "FilmedRoll",
    "RolloutDesign",
    "Station",
    "TraceDesign",
    "make_chips",
    "make_drops",
    "make_rollouts",
    "make_traces",
]
