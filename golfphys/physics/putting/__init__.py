"""Putting out: the chance of holing a putt, fitted to published counts, and the putts it takes on average.

Three models of the chance, in the order in which they explain more: log odds straight in distance (``"logistic"``), a
direction with an error (``"angle"``), and direction and distance with one each (``"angle and distance"``). The last one
also says where a missed putt ends, so the average number of putts follows by playing the leave on.
"""

from golfphys.physics.putting.fits import PUTTING_TABLES as PUTTING_TABLES
from golfphys.physics.putting.fits import MakeFit as MakeFit
from golfphys.physics.putting.fits import MakeTable as MakeTable
from golfphys.physics.putting.fits import expected_putts_draws as expected_putts_draws
from golfphys.physics.putting.fits import fit_make_probability as fit_make_probability
from golfphys.physics.putting.models import PLAYERS as PLAYERS
from golfphys.physics.putting.models import AngleDistanceModel as AngleDistanceModel
from golfphys.physics.putting.models import AngleModel as AngleModel
from golfphys.physics.putting.models import LogisticModel as LogisticModel
from golfphys.physics.putting.models import ModelName as ModelName
from golfphys.physics.putting.models import PuttingModel as PuttingModel
from golfphys.physics.putting.models import PuttsToHoleOut as PuttsToHoleOut
from golfphys.physics.putting.models import expected_putts as expected_putts
from golfphys.physics.putting.models import make_probability as make_probability
from golfphys.physics.putting.models import putts_to_hole_out as putts_to_hole_out
