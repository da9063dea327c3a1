"""A course as fitted, in itself: what was seen, the draws, and what they say at their middle."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from types import MappingProxyType
from typing import Any, get_args

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import require_kind
from golfphys.core.names import Names
from golfphys.fitting.chip_model import ChipModel
from golfphys.fitting.chip_physics import physics_of
from golfphys.fitting.chips import Chips, Targets
from golfphys.fitting.estimator import Block, Model
from golfphys.fitting.films import Films, TraceLayout
from golfphys.fitting.losses import MisHitTolerant
from golfphys.fitting.player import ANY_LIE, PlayerPriors
from golfphys.fitting.results import Posterior
from golfphys.fitting.rollout_layout import LAWS, RAMP_SD, Law, Layout, Priors, Rolls
from golfphys.fitting.turf import Drops, turf_of, turf_parameters
from golfphys.fitting.weeks import Past
from golfphys.physics.club import BAG, LIES, Club, Lie
from golfphys.physics.green import LinearTurf, Turf, TurfLaw
from golfphys.physics.usual import AROUND

Array = NDArray[np.float64]

USUAL_SPEED = 2 / 3 * constants.RAMP_RELEASE_SPEED.value
"""Speed in m/s at which resistance is meant where no rolls say it: two thirds of the ramp's release speed."""


@dataclass(frozen=True, kw_only=True)
class Observed:
    """What a course fit has to go by, None where there is no such sheet.

    Where only chips name spots, `rolls` has these without any roll; the spots of chips are all among those of rolls.
    """

    rolls: Rolls | None
    drops: Drops | None
    chips: Chips | None
    films: Films | None = None
    targets: Targets | None = None

    @property
    def clubs(self) -> tuple[str, ...]:
        """Clubs of the logs."""
        return self._named("clubs")

    @property
    def lies(self) -> tuple[str, ...]:
        """Lies of the logs."""
        return self._named("lies")

    @property
    def options(self) -> tuple[str, ...]:
        """Options of the logs."""
        return self._named("options")

    def _named(self, kind: str) -> tuple[str, ...]:
        logs = (self.chips, None if self.targets is None else self.targets.aims)
        return tuple(dict.fromkeys(name for log in logs if log is not None for name in getattr(log, kind)))


@dataclass(frozen=True, kw_only=True)
class Settings:
    """How a course is fitted; see `golfphys.fit`."""

    turf_law: TurfLaw = "rigid"
    law: Law = "constant"
    grain: bool = False
    pool: bool = True
    clubs: Mapping[str, Club] = field(default_factory=lambda: MappingProxyType(BAG))
    lies: Mapping[str, Lie] = field(default_factory=lambda: MappingProxyType(LIES))
    priors: Priors = field(default_factory=Priors)
    player_priors: PlayerPriors = field(default_factory=PlayerPriors)
    release_speed_sd: float = RAMP_SD
    session_gap_hours: float | None = None
    past: Past = field(default_factory=Past)
    ground: str = ""

    def __post_init__(self) -> None:
        """Refuse what no fit can take."""
        if self.law not in LAWS:
            raise ValueError(f"law is {self.law!r}; expected one of: {', '.join(LAWS)}")
        if self.turf_law not in get_args(TurfLaw):
            raise ValueError(f"turf_law is {self.turf_law!r}; expected one of: {', '.join(get_args(TurfLaw))}")
        for name in ("grain", "pool"):
            require_kind(name, getattr(self, name), bool, "True or False")
        for name, kind in {"priors": Priors, "player_priors": PlayerPriors, "past": Past}.items():
            require_kind(name, getattr(self, name), kind, f"a {kind.__name__}, or nothing for the usual ones")
        for name, things, one in (("club", self.clubs, Club), ("lie", self.lies, Lie)):
            for key, thing in things.items():
                require_kind(f"{name} {key!r}", thing, one, f"a golfphys.{one.__name__}")
        if self.session_gap_hours is not None:
            require_kind("session_gap_hours", self.session_gap_hours, (int, float), "a positive number of hours")
        require_kind("release_speed_sd", self.release_speed_sd, (int, float), "a number not below 0")
        if not self.release_speed_sd >= 0:
            raise ValueError(f"release_speed_sd is {self.release_speed_sd!r}; expected a number not below 0")


def with_spots(rolls: Rolls | None, chips: Chips | None) -> tuple[Rolls | None, Chips | None]:
    """Give rolls the spots that only chips name, and number the chips' spots as the rolls do."""
    if chips is None:
        return rolls, None
    known = rolls if rolls is not None else Rolls.planned(())
    spots = (*known.spots, *(spot for spot in chips.spots if spot not in known.spots))
    place = np.array([spots.index(spot) for spot in chips.spots], dtype=np.int64)
    return replace(known, spots=spots), replace(chips, spots=spots, spot=place[chips.spot])


@dataclass(frozen=True, kw_only=True)
class CourseModel:
    """A model with what is needed to read its parameters, None where there are no such sheets.

    `layout` says where spots stand, `films` where filmed rolls do; `targets` gives the residuals of balls played at
    targets, around parameter values of shape (P,).
    """

    model: Model
    layout: Layout | None
    chip_model: ChipModel | None
    films: TraceLayout | None = None
    targets: Callable[[Array], Block] | None = None


def chips_model(chips: Chips, layout: Layout | None, names: Names, settings: Settings) -> ChipModel:
    """Return the chips of a log as part of a model with these parameters, without a reference yet.

    The spots of `chips` are numbered as those of `layout`, which is None if nothing is to be played.
    """
    lies = [settings.lies.get(name, ANY_LIE) for name in chips.lies]
    own: dict[str, Any] = {"physics": physics_of(chips, settings.clubs), "lies": tuple(lies[i] for i in chips.lie)}
    return ChipModel(chips=chips, rolling=layout, law=settings.turf_law, names=names, **own)


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """What tables, cautions and draws of a fitted course are made from: what was seen, settings, and the draws."""

    posterior: Posterior
    course: CourseModel
    seen: Observed
    settings: Settings

    @property
    def spots(self) -> tuple[str, ...]:
        """Names of the spots."""
        return () if self.seen.rolls is None else self.seen.rolls.spots

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
        law, names = self.settings.turf_law, self.posterior.model.names
        if names.members("turf"):
            return turf_of(law, {name: float(value) for name, value in names.by_member(self.centre, "turf").items()})
        usual = turf_parameters(law, AROUND.get(self.settings.ground))
        return turf_of(law, {one.of: one.natural(one.centre) for one in usual})

    def clubs(self) -> dict[str, Club]:
        """Return every club, those of the log with the loft that the fit gives them."""
        found = dict(self.settings.clubs)
        names, centre = self.posterior.model.names, self.centre
        for name in self.seen.clubs:
            error = float(centre[names.column("loft_error", name)])
            found[name] = replace(found[name], loft=found[name].loft + error)
        return found
