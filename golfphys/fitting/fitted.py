"""A course as fitted, in itself: what was seen, the draws, and what they say at their middle."""

from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.fitting.joint_model import CourseModel, Observed, Settings
from golfphys.fitting.losses import MisHitTolerant
from golfphys.fitting.player import ANY_LIE
from golfphys.fitting.results import Posterior
from golfphys.fitting.turf import turf_fields, turf_of, turf_parameters
from golfphys.physics.club import Club, Lie
from golfphys.physics.green import LinearTurf, Turf
from golfphys.physics.usual import AROUND, uneven

Array = NDArray[np.float64]

USUAL_SPEED = 2 / 3 * constants.RAMP_RELEASE_SPEED.value
"""Speed in m/s at which resistance is meant where no rolls say it: two thirds of the ramp's release speed."""


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """What tables, cautions and draws of a fitted course are made from.

    Parameters
    ----------
    posterior : Posterior
        Draws of all parameters.
    course : CourseModel
        The model and where things stand in it.
    seen : Observed
        What the fit has to go by.
    settings : Settings
        Laws and priors.
    """

    posterior: Posterior
    course: CourseModel
    seen: Observed
    settings: Settings

    @property
    def spots(self) -> tuple[str, ...]:
        """Names of the spots."""
        return () if self.seen.rolls is None else self.seen.rolls.spots

    @property
    def club_names(self) -> tuple[str, ...]:
        """Clubs of the log."""
        return self.seen.clubs

    @property
    def lie_names(self) -> tuple[str, ...]:
        """Lies of the log."""
        return self.seen.lies

    @property
    def reference_speed(self) -> float:
        """Speed in m/s at which the fitted resistance is meant."""
        return USUAL_SPEED if self.course.layout is None else self.course.layout.reference_speed

    @cached_property
    def centre(self) -> Array:
        """Natural values at the weighted mean of the transformed draws, shape (P,)."""
        return self.posterior.model.natural(self.posterior.weights @ self.posterior.transformed)

    @cached_property
    def mis_hits(self) -> pd.Series:
        """Probability that each chip was mis-hit, or something else befell it, by row of the log."""
        if self.seen.chips is None:
            return pd.Series(dtype=float)
        block = self.posterior.model.blocks[-1]
        assert isinstance(block.loss, MisHitTolerant)
        thinned = self.posterior.sample(200, 0)
        residual, scale = block.evaluate(thinned)
        odds = 1.0 - block.loss.usual(residual / scale).mean(axis=0)
        rows = self.seen.chips.row[self.seen.chips.seen.any(axis=1)]
        return pd.Series(odds, index=pd.Index(rows, name="row"), name="mis_hit")

    def turf(self) -> Turf | LinearTurf:
        """Return the turf in the middle of the draws."""
        law, fields = self.settings.turf_law, turf_fields(self.settings.turf_law)
        if "turf[restitution]" not in self.posterior.model.names:
            usual = turf_parameters(law, AROUND.get(self.settings.ground))
            return turf_of(law, dict(zip(fields, (one.natural(one.centre) for one in usual), strict=True)))
        return turf_of(law, {name: self.centre[self.posterior.model.index(f"turf[{name}]")] for name in fields})

    def lies(self) -> dict[str, Lie]:
        """Return every lie, those of the log as fitted."""
        found = dict(self.settings.lies)
        names, centre = self.posterior.model.names, self.centre
        for name in self.lie_names:
            base = found.get(name, replace(ANY_LIE, name=name))
            values: dict[str, Any] = {}
            if "unevenness" in names:
                base = uneven(base, centre[names.index("unevenness")])
            for key, parameter in (
                ("friction", "face_friction"),
                ("cushion", "cushion"),
                ("spin_factor", "spin_factor"),
            ):
                if f"{parameter}[{name}]" in names:
                    values[key] = float(np.clip(centre[names.index(f"{parameter}[{name}]")], 0.0, 2.0))
            found[name] = replace(base, **values)
        return found

    def clubs(self) -> dict[str, Club]:
        """Return every club, those of the log with the loft that the fit gives them."""
        found = dict(self.settings.clubs)
        names, centre = self.posterior.model.names, self.centre
        for name in self.club_names:
            error = float(centre[names.index(f"loft_error[{name}]")])
            found[name] = replace(found[name], loft=found[name].loft + error)
        return found
