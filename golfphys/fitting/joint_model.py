"""The posterior of a whole course: rolls, drops and chips in one model."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from types import MappingProxyType
from typing import Any, get_args

import numpy as np
from numpy.typing import NDArray

from golfphys.core.broadcasting import require_kind
from golfphys.fitting.chip_model import ChipModel
from golfphys.fitting.chip_physics import physics_of
from golfphys.fitting.chips import Chips
from golfphys.fitting.estimator import Block, Model, Parameter
from golfphys.fitting.films import Films
from golfphys.fitting.player import ANY_LIE, PlayerPriors, player_parameters
from golfphys.fitting.rollout_layout import LAWS, RAMP_SD, Law, Layout, Priors, Rolls
from golfphys.fitting.rollout_model import Mirror, build, headings_tell
from golfphys.fitting.search import find_mode
from golfphys.fitting.targets import TargetModel, Targets
from golfphys.fitting.trace_model import TraceLayout, join_films
from golfphys.fitting.turf import Drops, drop_block, drop_scatter_parameter, rows_of_residuals, turf_parameters
from golfphys.fitting.weeks import Past, with_past
from golfphys.physics.club import BAG, LIES, Club, Lie
from golfphys.physics.green import TurfLaw
from golfphys.physics.usual import AROUND

Array = NDArray[np.float64]


PLAYED = 250
"""Chips of a log that tell where its reference is taken, and from which on fewer draws are."""

LONG, ROUNDS, LITTLE = 500, 12, 0.3
"""Chips of a log from which on those `PLAYED` find about where its mode is, before all of them do; the most rounds that
either takes, and what of the log density is not worth another: weights make up for it."""


@dataclass(frozen=True, kw_only=True)
class Observed:
    """What a course fit has to go by.

    Parameters
    ----------
    rolls : Rolls or None
        Rolls; without any roll, but with its spots, where only chips name spots.
    drops : Drops or None
        Drops.
    chips : Chips or None
        Chips; their spots are all among those of `rolls`.
    films : Films or None
        Filmed rolls on the same spots.
    targets : Targets or None
        Balls played at targets.
    """

    rolls: Rolls | None
    drops: Drops | None
    chips: Chips | None
    films: Films | None = None
    targets: Targets | None = None

    @property
    def clubs(self) -> tuple[str, ...]:
        """Clubs of the logs."""
        return tuple(dict.fromkeys(name for log in self._logs for name in log.clubs))

    @property
    def lies(self) -> tuple[str, ...]:
        """Lies of the logs."""
        return tuple(dict.fromkeys(name for log in self._logs for name in log.lies))

    @property
    def options(self) -> tuple[str, ...]:
        """Options of the logs."""
        return tuple(dict.fromkeys(name for log in self._logs for name in log.options))

    @property
    def _logs(self) -> list[Chips]:
        aims = None if self.targets is None else self.targets.aims
        return [log for log in (self.chips, aims) if log is not None]


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
        require_kind("release_speed_sd", self.release_speed_sd, (int, float), "a number not below 0")
        if not self.release_speed_sd >= 0:
            raise ValueError(f"release_speed_sd is {self.release_speed_sd!r}; expected a number not below 0")


def no_rolls(spots: tuple[str, ...]) -> Rolls:
    """Return spots without any roll."""
    nothing = np.zeros(0)
    whole = np.zeros(0, dtype=np.int64)
    return Rolls(row=whole, spot=whole, spots=spots, heading=nothing, speed=nothing, distance=nothing, side=nothing)


def with_spots(rolls: Rolls | None, chips: Chips | None) -> tuple[Rolls | None, Chips | None]:
    """Give rolls the spots that only chips name, and number the chips' spots as the rolls do."""
    if chips is None:
        return rolls, None
    known = rolls if rolls is not None else no_rolls(())
    spots = (*known.spots, *(spot for spot in chips.spots if spot not in known.spots))
    place = np.array([spots.index(spot) for spot in chips.spots], dtype=np.int64)
    return replace(known, spots=spots), replace(chips, spots=spots, spot=place[chips.spot])


@dataclass(frozen=True, kw_only=True)
class CourseModel:
    """A model with what is needed to read its parameters.

    Parameters
    ----------
    model : Model
        The posterior.
    layout : Layout or None
        Where the spots stand, if there are any.
    chip_model : ChipModel or None
        The chips, if there are any.
    films : TraceLayout or None
        Where filmed rolls stand, if there are any.
    targets : TargetModel or None
        The balls played at targets, if there are any.
    """

    model: Model
    layout: Layout | None
    chip_model: ChipModel | None
    films: TraceLayout | None = None
    targets: TargetModel | None = None


def build_course(seen: Observed, settings: Settings) -> CourseModel:
    """Put together the model of a course.

    Parameters
    ----------
    seen : Observed
        The sheets.
    settings : Settings
        Laws and priors.

    Returns
    -------
    CourseModel
        Its chips' answers are not yet taken: see `settled`.
    """
    parameters: list[Parameter] = []
    blocks: list[Block] = []
    options: dict[str, Any] = {}
    layout, films = None, None
    if seen.rolls is not None:
        rolling, layout = build(
            seen.rolls,
            law=settings.law,
            grain=settings.grain,
            pool=settings.pool,
            release_speed_sd=settings.release_speed_sd if seen.rolls.row.size else 0.0,
            priors=settings.priors,
        )
        if seen.films is not None:
            rolling, films = join_films(
                rolling, seen.films, reference_speed=layout.reference_speed, priors=settings.priors
            )
        parameters += rolling.parameters
        blocks += [block for block in rolling.blocks if seen.rolls.row.size or not block.data]
        options = _rolling_options(rolling, seen)
    elif seen.films is not None:
        filmed, films = join_films(None, seen.films, priors=settings.priors)
        parameters += filmed.parameters
        blocks += filmed.blocks
        options = {"start": filmed.start}
    if seen.drops is not None or seen.clubs:
        parameters += turf_parameters(settings.turf_law, AROUND.get(settings.ground))
    if seen.drops is not None:
        parameters.append(drop_scatter_parameter())
    if seen.clubs:
        known = {name: settings.lies.get(name) for name in seen.lies}
        own = player_parameters(seen.clubs, known, settings.player_priors, seen.options)
        parameters += with_past(own, settings.past)
    names = tuple(parameter.name for parameter in parameters)
    if seen.drops is not None:
        drops = drop_block(seen.drops, settings.turf_law, names)
        blocks.append(replace(drops, group=np.full(rows_of_residuals(seen.drops).size, -1)))
    chip_model = None
    if seen.chips is not None and layout is not None:
        chip_model = chips_model(seen.chips, layout, names, settings)
    target_model = None
    if seen.targets is not None:
        target_model = TargetModel(targets=seen.targets, chips=chips_model(seen.targets.aims, layout, names, settings))
    if chip_model is not None and layout is not None:
        options |= {"first": _first(seen, settings), "fast": _fast(chip_model, layout)}
        options["scaled"] = ("between_clubs", [f"club_errors[{club}]" for club in seen.clubs])
    model = Model(parameters=parameters, blocks=blocks, correlation=settings.past.correlation(names), **options)
    return CourseModel(model=model, layout=layout, chip_model=chip_model, films=films, targets=target_model)


def chips_model(chips: Chips, layout: Layout | None, names: tuple[str, ...], settings: Settings) -> ChipModel:
    """Return the chips of a log as part of a model with these parameters.

    Parameters
    ----------
    chips : Chips
        The log; its spots are numbered as those of `layout`.
    layout : Layout or None
        Where the spots stand; None if nothing is to be played.
    names : tuple of str
        Names of all parameters.
    settings : Settings
        Laws and clubs.

    Returns
    -------
    ChipModel
        Without a reference yet.
    """
    lies = [settings.lies.get(name, ANY_LIE) for name in chips.lies]
    return ChipModel(
        chips=chips,
        physics=physics_of(chips, settings.clubs),
        rolling=layout,
        law=settings.turf_law,
        names=names,
        lies=tuple(lies[i] for i in chips.lie),
    )


def _with_chips(course: CourseModel, chip_model: ChipModel | None, point: Array) -> Model:
    """Return the model with the chips in it, and what it is beside the rolls where these stand whole in `first`."""
    own = [] if course.targets is None else [course.targets.referred(point).block()]
    own += [] if chip_model is None else [chip_model.block()]
    model = replace(course.model, blocks=[*course.model.blocks, *own])
    if chip_model is None:
        return model
    first = model.first
    assert course.layout is not None
    if first is None or set(first.names) != set((course.films or course.layout).names):
        return model
    flat = [replace(p, spread=math.inf) if p.name in set(first.names) else p for p in model.parameters]
    rolling = {block.name for block in first.blocks}
    blocks = [block for block in model.blocks if block.name not in rolling]
    return replace(model, rest=Model(parameters=flat, blocks=blocks, correlation=model.correlation))


def _first(seen: Observed, settings: Settings) -> Model | None:
    """Return the posterior of the rolls alone at the spots whose rolls tell resistance and slope apart.

    Films are in it where all spots are: filmed rolls may share a spot with any other.
    """
    rolls = seen.rolls
    if rolls is None:
        return None
    telling = [i for i in range(len(rolls.spots)) if headings_tell(rolls, i)]
    if not telling:
        return None
    model, layout = build(
        rolls.at_spots(telling),
        law=settings.law,
        grain=settings.grain,
        pool=settings.pool,
        release_speed_sd=settings.release_speed_sd,
        priors=settings.priors,
    )
    if seen.films is not None and len(telling) == len(rolls.spots):
        model, _ = join_films(model, seen.films, reference_speed=layout.reference_speed, priors=settings.priors)
    return model


def _fast(chip_model: ChipModel, layout: Layout) -> list[str]:
    """Return the parameters that leave what is expected of chips and rolls as it is: noise, and what only scales it."""
    slow = {*chip_model.physical, *(name for name in layout.names if not name.startswith("scatter_"))}
    return [name for name in chip_model.names if name not in slow]


def _rolling_options(rolling: Model, seen: Observed) -> dict[str, Any]:
    """Return what a model of rolls says of itself, where chips leave it true."""
    assert seen.rolls is not None
    chipped = set() if seen.chips is None else {seen.chips.spots[i] for i in seen.chips.spot}
    mirror = rolling.mirror
    if isinstance(mirror, Mirror):
        names = rolling.names
        # chips along other lines tell the two sides of a reflection apart
        kept = tuple(item for item in mirror.columns if _spot_of(names[item[0]]) not in chipped)
        mirror = Mirror(kept) if kept else None
    start = {name: value for name, value in rolling.start.items() if math.isfinite(value)}
    return {"start": start, "extra": rolling.extra, "mirror": mirror, "spots": rolling.spots}


def _spot_of(name: str) -> str:
    return name[name.index("[") + 1 : -1]


def settled(course: CourseModel, rounds: int = 2) -> CourseModel:
    """Take the chips' answers where the posterior is highest.

    Parameters
    ----------
    course : CourseModel
        A model whose chips have no reference yet.
    rounds : int
        How often to search for the mode and take the answers there.

    Returns
    -------
    CourseModel
        Ready to be fitted.
    """
    if course.chip_model is None and course.targets is None:
        return course
    model, point = course.model, course.model.starting_point()
    chip_model = course.chip_model
    chips = 0 if chip_model is None else len(chip_model.chips)
    for number in range(rounds):
        natural, last = course.model.natural(point), number + 1 == rounds
        if course.chip_model is not None:
            chip_model = (course.chip_model if last else course.chip_model.thinned(PLAYED)).referred(natural)
        model = _with_chips(course, chip_model, natural)
        start = dict(zip(model.names, natural.tolist(), strict=True))
        model = replace(model, start=start)
        if not last:
            point = (
                find_mode(model, rounds=1) if chips <= LONG else find_mode(model, rounds=ROUNDS, little=LITTLE)
            ).point
    return replace(course, model=model, chip_model=chip_model)
