"""Putting out: the chance of holing a putt, fitted to published counts, and the putts it takes on average.

Three models of the chance, in the order in which they explain more: log odds straight in distance (``"logistic"``), a
direction with an error (``"angle"``), and direction and distance with one each (``"angle and distance"``). The last one
also says where a missed putt ends, so the average number of putts follows by playing the leave on.
"""

from golfphys.physics.putting.fits import PUTTING_TABLES, MakeFit, MakeTable, fit_make_probability
from golfphys.physics.putting.leaves import PuttsToHoleOut, expected_putts, expected_putts_draws, putts_to_hole_out
from golfphys.physics.putting.models import (
    PLAYERS,
    AngleDistanceModel,
    AngleModel,
    LogisticModel,
    ModelName,
    PuttingModel,
    make_probability,
)

__all__ = [
    "PLAYERS",
    "PUTTING_TABLES",
    "AngleDistanceModel",
    "AngleModel",
    "LogisticModel",
    "MakeFit",
    "MakeTable",
    "ModelName",
    "PuttingModel",
    "PuttsToHoleOut",
    "expected_putts",
    "expected_putts_draws",
    "fit_make_probability",
    "make_probability",
    "putts_to_hole_out",
]
