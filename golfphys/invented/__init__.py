"""Sheets from invented courses whose truth is known: for demonstrations, tests and coverage studies.

Everything is made by the same physics as the rest of golfphys. Headings are clockwise from the reference line, which is
the line of play of the greens given as truth. Each `make_...` takes the truth, a design of what is measured, and a seed
or generator of the scatter, and returns a sheet as a reader would.
"""

from golfphys.invented.chips import ChipDesign, Station, make_chips
from golfphys.invented.greens import (
    CourseTruth,
    DropDesign,
    FilmDesign,
    FilmedRoll,
    RolloutDesign,
    make_drops,
    make_films,
    make_rollouts,
)
