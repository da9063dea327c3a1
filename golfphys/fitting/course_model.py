"""The model of a course: what was seen of greens, turf and player, how it is fitted, and all of it as one posterior."""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import Any, NamedTuple, get_args

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.broadcasting import in_threads, require_kind
from golfphys.core.names import Array, Columns, Key, Names
from golfphys.fitting.chip_density import MisHitTolerant
from golfphys.fitting.chip_model import ChipModel, TargetModel
from golfphys.fitting.chip_physics import physics_of
from golfphys.fitting.chips import SIDE, Chips, Targets, chips_of, targets_of
from golfphys.fitting.estimator import Model, names_of
from golfphys.fitting.films import Films, TraceLayout, films_of, join_films
from golfphys.fitting.past import Past, with_past
from golfphys.fitting.player import ANY_LIE, ERRORS, PlayerPriors, player_parameters
from golfphys.fitting.results import Posterior, lines
from golfphys.fitting.rollout_layout import LAWS, RAMP_SD, SCATTER, Law, Layout, Priors, Rolls, rolls_of
from golfphys.fitting.rollout_model import build, headings_tell
from golfphys.fitting.search import Mode, find_mode
from golfphys.fitting.turf import DROP_SCATTER, Drops, drop_block, drops_of, turf_parameters
from golfphys.physics.club import BAG, LIES, Club, Lie
from golfphys.physics.draws import stacked
from golfphys.physics.green import AROUND, LinearTurf, Turf, TurfLaw

# Speed in m/s at which resistance is meant where no rolls say it: two thirds of the ramp's release speed
USUAL_SPEED = 2 / 3 * constants.RAMP_RELEASE_SPEED.value


@dataclass(frozen=True, kw_only=True)
class Observed:
    """What a fit has to go by, None where there is no such sheet.

    Where only chips name spots, `rolls` has these without any roll; the spots of chips are all among those of rolls.
    """

    rolls: Rolls | None = None
    drops: Drops | None = None
    chips: Chips | None = None
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
    clubs: Mapping[str, Club] = field(default_factory=lambda: BAG)
    lies: Mapping[str, Lie] = field(default_factory=lambda: LIES)
    priors: Priors = field(default_factory=Priors)
    player_priors: PlayerPriors = field(default_factory=PlayerPriors)
    release_speed_sd: float = RAMP_SD
    session_gap_hours: float | None = None
    past: Past = field(default_factory=Past)
    ground: str = ""

    def __post_init__(self) -> None:
        """Refuse what no fit can take."""
        for name, known in {"law": LAWS, "turf_law": get_args(TurfLaw)}.items():
            if getattr(self, name) not in known:
                raise ValueError(f"{name} is {getattr(self, name)!r}; expected one of: {', '.join(known)}")
        for name in ("grain", "pool"):
            require_kind(name, getattr(self, name), bool, "True or False")
        for name, kind in {"priors": Priors, "player_priors": PlayerPriors, "past": Past}.items():
            require_kind(name, getattr(self, name), kind, f"a {kind.__name__}, or nothing for the usual ones")
        for name, one in {"club": Club, "lie": Lie}.items():
            require_kind(f"{name}s", getattr(self, f"{name}s"), Mapping, "each by its name, as a dict has them")
            for key, thing in getattr(self, f"{name}s").items():
                require_kind(f"{name} {key!r}", thing, one, f"a golfphys.{one.__name__}")
            object.__setattr__(self, f"{name}s", dict(getattr(self, f"{name}s")))
        if self.session_gap_hours is not None:
            require_kind("session_gap_hours", self.session_gap_hours, (int, float), "a positive number of hours")
        require_kind("release_speed_sd", self.release_speed_sd, (int, float), "a number not below 0")
        if not self.release_speed_sd >= 0:
            raise ValueError(f"release_speed_sd is {self.release_speed_sd!r}; expected a number not below 0")


def observed(sheets: Mapping[str, Any], settings: Settings) -> Observed:
    """Take the observations out of sheets by kind; give rolls the spots that only chips name, and number chips' so."""

    def taken(read: Callable[..., Any], kind: str, *more: Any) -> Any:
        return None if sheets.get(kind) is None else read(sheets[kind], *more)

    rolls = taken(rolls_of, "rollouts", settings.session_gap_hours)
    only = rolls.spots[0] if rolls is not None and len(rolls.spots) == 1 else None
    chips = taken(chips_of, "chips", settings.clubs, only)
    if chips is not None:
        rolls = Rolls.planned(()) if rolls is None else rolls
        spots = tuple(dict.fromkeys((*rolls.spots, *chips.spots)))
        place = np.array([spots.index(spot) for spot in chips.spots], dtype=np.int64)
        rolls, chips = replace(rolls, spots=spots), replace(chips, spots=spots, spot=place[chips.spot])
    films, aims = taken(films_of, "films", settings.law), taken(targets_of, "targets", settings.clubs)
    return Observed(rolls=rolls, drops=taken(drops_of, "drops"), chips=chips, films=films, targets=aims)


@dataclass(frozen=True, kw_only=True)
class CourseModel:
    """A model with what is needed to read its parameters, None where there are no such sheets."""

    model: Model
    layout: Layout | None  # where spots stand
    chip_model: ChipModel | None
    films: TraceLayout | None = None  # where filmed rolls stand
    targets: TargetModel | None = None


def chips_model(chips: Chips, layout: Layout | None, names: Names, settings: Settings) -> ChipModel:
    """Return the chips of a log as part of a model with these parameters, without a reference yet.

    The spots of `chips` are numbered as those of `layout`, which is None if nothing is to be played.
    """
    lies = [settings.lies.get(name, ANY_LIE) for name in chips.lies]
    own: dict[str, Any] = {"physics": physics_of(chips, settings.clubs), "lie": stacked([lies[i] for i in chips.lie])}
    return ChipModel(chips=chips, rolling=layout, law=settings.turf_law, names=names, **own)


@dataclass(frozen=True, kw_only=True)
class Fitted:
    """What tables, cautions and draws of a fit are made from: the draws, their model, what was seen, and settings."""

    posterior: Posterior
    course: CourseModel
    seen: Observed
    settings: Settings

    @property
    def spots(self) -> tuple[str, ...]:
        """Names of the spots."""
        return () if self.seen.rolls is None else self.seen.rolls.spots

    def layout_of(self, rolls: Rolls, names: Names) -> Layout:
        """Return where quantities of other rolls stand among parameters."""
        law, layout = self.settings.law, self.course.layout
        speed = USUAL_SPEED if layout is None else layout.reference_speed
        return Layout(rolls=rolls, law=law, grain=self.settings.grain, names=names, reference_speed=speed)

    @cached_property
    def centre(self) -> Array:
        """Natural values at the weighted mean of the transformed draws, shape (P,)."""
        return self.posterior.model.natural(self.posterior.weights @ self.posterior.transformed)

    @cached_property
    def mis_hits(self) -> pd.Series:
        """Probability that each chip was mis-hit, or something else befell it, by row of the log (and file)."""
        if self.seen.chips is None:
            return pd.Series(dtype=float)
        block = self.posterior.model.blocks[-1]
        assert isinstance(block.loss, MisHitTolerant)
        thinned = self.posterior.sample(200, 0)
        residual, scale = block.evaluate(thinned)
        odds = 1.0 - block.loss.usual(residual / scale).mean(axis=0)
        where = pd.DataFrame(lines(self.seen.chips, self.seen.chips.seen.any(axis=1)))
        return where.assign(mis_hit=odds).set_index([*where])["mis_hit"]

    def turf(self) -> Turf | LinearTurf:
        """Return the turf in the middle of the draws."""
        law = self.settings.turf_law
        usual = {one.of: one.natural(one.centre) for one in turf_parameters(law, AROUND.get(self.settings.ground))}
        found: Mapping[str, Any] = self.posterior.model.names.by_member(self.centre, "turf")
        kind = LinearTurf if law == "linear" else Turf
        return kind(**kind.held(**(found or usual)))


PLAYED = 250  # chips of a log that tell where its reference is taken, and from which on fewer draws are
# Chips of a log from which on those `PLAYED` find its mode, before all of them do, and the most rounds of a search
LONG, ROUNDS = 500, 12
# What of the log density is not worth another round: weights make up for it, and evidence is known no better
LITTLE = 0.1


def build_course(seen: Observed, settings: Settings) -> CourseModel:
    """Put together the model of a course, whose chips' answers are not yet taken: see `settled`."""
    rolling = Model(parameters=(), blocks=())
    layout, films, chip_model, target_model = None, None, None, None
    options: dict[str, Any] = {}
    if seen.rolls is not None:
        rolling, layout, films = _rolling(seen.rolls, seen.films, settings)
    elif seen.films is not None:
        rolling, films = join_films(None, seen.films, priors=settings.priors)
    parameters, blocks = [*rolling.parameters], [*rolling.blocks]
    if seen.drops is not None or seen.clubs:
        parameters += turf_parameters(settings.turf_law, AROUND.get(settings.ground))
    if seen.drops is not None:
        parameters.append(DROP_SCATTER)
    if seen.clubs:
        known = {name: settings.lies.get(name) for name in seen.lies}
        own = player_parameters(seen.clubs, known, settings.player_priors, seen.options)
        parameters += with_past(own, settings.past)
    names = names_of(parameters)
    if seen.drops is not None:
        blocks.append(drop_block(seen.drops, names))
    if seen.chips is not None and seen.rolls is not None and layout is not None:
        layout = replace(layout, chipped=_chipped(seen.chips))
        chip_model = chips_model(seen.chips, layout, names, settings)
        options |= {"first": _first(seen.rolls, seen.films, settings, rolling), "fast": _fast(chip_model, layout)}
        options["flat"] = [names.column("turf", "friction"), *names.columns("face_friction")]
        options["scaled"] = names.column("between_clubs"), names.columns("club_errors"), names.columns(*ERRORS)
        # chips along other lines tell the two sides of a reflection apart
        chipped = {seen.chips.spots[i] for i in seen.chips.spot}
        options["mirror"] = [item for item in rolling.mirror if names.keys[item[0]].of not in chipped]
    if seen.targets is not None:
        target_model = TargetModel(targets=seen.targets, chips=chips_model(seen.targets.aims, layout, names, settings))
    options["correlation"] = settings.past.correlation(names)
    model = replace(rolling, parameters=parameters, blocks=blocks, **options)
    return CourseModel(model=model, layout=layout, chip_model=chip_model, films=films, targets=target_model)


def _chipped(chips: Chips) -> tuple[str, ...]:
    """Return the spots whose slopes chips tell: by side drift along a known line, or by rests along several."""
    drifted = {int(i) for i in chips.spot[chips.seen[:, SIDE] & np.isfinite(chips.heading)]}
    return tuple(spot for i, spot in enumerate(chips.spots) if i in drifted or headings_tell(chips, i))


def _rolling(rolls: Rolls, films: Films | None, settings: Settings) -> tuple[Model, Layout, TraceLayout | None]:
    """Return the model of rolls and films, and where each quantity stands."""
    law: dict[str, Any] = {name: getattr(settings, name) for name in ("law", "grain", "pool", "priors")}
    model, layout = build(rolls, release_speed_sd=settings.release_speed_sd if rolls.row.size else 0.0, **law)
    if films is None:
        return model, layout, None
    joined, traces = join_films(model, films, reference_speed=layout.reference_speed, priors=settings.priors)
    return joined, layout, traces


def _with_chips(course: CourseModel, chip_model: ChipModel | None, point: Array) -> Model:
    """Return the model with the chips in it, and what it is beside the rolls where these stand whole in `first`."""
    own = [] if course.targets is None else [course.targets.referred(point).block()]
    own += [] if chip_model is None else [chip_model.block()]
    model = replace(course.model, blocks=[*course.model.blocks, *own])
    if chip_model is None:
        return model
    first = model.first
    assert course.layout is not None
    if first is None or first.names != (course.films or course.layout).names:
        return model
    flat = [replace(p, spread=math.inf) if first.names.has(*p.key) else p for p in model.parameters]
    rolling = {block.name for block in first.blocks}
    blocks = [block for block in model.blocks if block.name not in rolling]
    return replace(model, rest=replace(model, parameters=flat, blocks=blocks))


def _first(rolls: Rolls, films: Films | None, settings: Settings, whole: Model) -> Model | None:
    """Return the posterior of the rolls alone at spots that tell resistance and slope apart, if drawn as `whole` is.

    Films are in it where all spots are: filmed rolls may share a spot with any other.
    """
    telling = [i for i in range(len(rolls.spots)) if headings_tell(rolls, i)]
    films = films if len(telling) == len(rolls.spots) else None
    found = _rolling(rolls.at_spots(telling), films, settings)[0] if telling else None
    return found if found is None or bool(found.carried) == bool(whole.carried) else None


def _fast(chip_model: ChipModel, layout: Layout) -> Columns:
    """Return the parameters that leave what is expected of chips and rolls as it is: noise, and what only scales it."""
    names = chip_model.names
    rolling = np.setdiff1d(names.places(layout.names), names.columns(*SCATTER))
    return np.setdiff1d(np.arange(len(names)), [*chip_model.physical, *rolling])


def settled(course: CourseModel, first: Mode | None = None) -> CourseModel:
    """Take the chips' answers where the posterior is highest, as some of the chips find it: ready to be fitted.

    `first` is the `first_sight` of the course, where it is known.
    """
    whole = course.chip_model
    if whole is None and course.targets is None:
        return course
    long = whole is not None and len(whole.chips) > LONG
    search: dict[str, Any] = {"rounds": ROUNDS, "little": LITTLE} if long else {"rounds": 1, "widened": (1.0,)}
    point = find_mode(_setting_out(first or first_sight(course)), **search).point
    model, chip_model = _around(course, point, whole)
    return replace(course, model=model, chip_model=chip_model)


LOOK: Any = {"rounds": 0, "widened": (1.0,)}  # a search of the inner mode alone, for comparing starts


def first_sight(course: CourseModel) -> Mode:
    """Return what the search of `settled` first sees, with some of the chips: it tells a law that has no chance."""
    some = None if course.chip_model is None else course.chip_model.thinned(PLAYED)
    return find_mode(_around(course, course.model.starting_point(), some)[0], **LOOK)


def _around(course: CourseModel, point: Array, chips: ChipModel | None) -> tuple[Model, ChipModel | None]:
    """Return the model with chips, to be searched from a point, and the chips with their answers taken there."""
    natural = course.model.natural(point)
    chips = None if chips is None else chips.referred(natural)
    return replace(_with_chips(course, chips, natural), start=_as_start(course.model, natural)), chips


def _as_start(model: Model, natural: Array) -> dict[Key, float]:
    return dict(zip(model.names, natural.tolist(), strict=True))


class Located(NamedTuple):
    """The model of a course, ready to be fitted, and where its posterior is highest."""

    course: CourseModel
    mode: Mode


def located(course: CourseModel, first: Mode | None = None) -> Located:
    """Find where the posterior of a course is highest: where chips were settled, near there; `first` is as for them."""
    course = settled(course, first)
    near: dict[str, Any] = {"rounds": ROUNDS, "widened": (1.0,), "little": LITTLE} if course.chip_model else {}
    return Located(course, find_mode(course.model, **near))


# Factors on the frictions of faces with which a search sets out anew: where every ball grips, more friction changes
# nothing, and a search that sets out there may never see that some of them slip
SLIPPING = (0.7, 0.5)


def _setting_out(first: Mode) -> Model:
    """Return the model with the best of several starts, from balls that grip the faces, `first`, to balls that slip."""
    model = first.model

    def look(factor: float) -> Mode:
        start = {key: (factor if key.name == "face_friction" else 1.0) * value for key, value in model.start.items()}
        return find_mode(replace(model, start=start), **LOOK)

    best = max([first, *in_threads(look, SLIPPING)], key=lambda mode: mode.log_evidence)
    return replace(model, start=_as_start(model, model.natural(best.point)))
