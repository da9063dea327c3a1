"""The posterior of a whole course: rolls, drops, chips and target hits in one model."""

import math
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.special import ndtr, xlogy

from golfphys.core.names import Columns, Key
from golfphys.fitting.chip_model import EDGE_AIM, ChipModel
from golfphys.fitting.chips import Targets
from golfphys.fitting.estimator import Block, Model, Parameter, names_of
from golfphys.fitting.films import Films, TraceLayout, join_films
from golfphys.fitting.fitted import CourseModel, Observed, Settings, chips_model
from golfphys.fitting.losses import Normal
from golfphys.fitting.player import ERRORS, player_parameters
from golfphys.fitting.rollout_layout import SCATTER, Layout, Rolls
from golfphys.fitting.rollout_model import Mirror, build, headings_tell
from golfphys.fitting.search import find_mode
from golfphys.fitting.strikes import Window, window_of
from golfphys.fitting.turf import drop_block, drop_scatter_parameter, rows_of_residuals, turf_parameters
from golfphys.fitting.weeks import with_past
from golfphys.physics.usual import AROUND

Array = NDArray[np.float64]


PLAYED = 250
"""Chips of a log that tell where its reference is taken, and from which on fewer draws are."""

LONG, ROUNDS, LITTLE = 500, 12, 0.3
"""Chips of a log from which on those `PLAYED` find about where its mode is, before all of them do; the most rounds that
either takes, and what of the log density is not worth another: weights make up for it."""


def build_course(seen: Observed, settings: Settings) -> CourseModel:
    """Put together the model of a course, whose chips' answers are not yet taken: see `settled`."""
    parameters: list[Parameter] = []
    blocks: list[Block] = []
    options: dict[str, Any] = {}
    layout: Layout | None = None
    films: TraceLayout | None = None
    if seen.rolls is not None:
        rolling, layout, films = _rolling(seen.rolls, seen.films, settings)
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
    names = names_of(parameters)
    if seen.drops is not None:
        drops = drop_block(seen.drops, names)
        blocks.append(replace(drops, group=np.full(rows_of_residuals(seen.drops).size, -1)))
    chip_model = None
    if seen.chips is not None and layout is not None:
        chip_model = chips_model(seen.chips, layout, names, settings)
    target_model = None
    if seen.targets is not None:
        target_model = TargetModel(targets=seen.targets, chips=chips_model(seen.targets.aims, layout, names, settings))
    if chip_model is not None and layout is not None:
        options |= {"first": _first(seen, settings), "fast": _fast(chip_model, layout)}
        options["flat"] = [names.column("turf", "friction"), *names.columns("face_friction")]
        options["scaled"] = names.column("between_clubs"), names.columns("club_errors"), names.columns(*ERRORS)
    model = Model(parameters=parameters, blocks=blocks, correlation=settings.past.correlation(names), **options)
    return CourseModel(model=model, layout=layout, chip_model=chip_model, films=films, targets=target_model)


def _rolling(rolls: Rolls, films: Films | None, settings: Settings) -> tuple[Model, Layout, TraceLayout | None]:
    """Return the model of rolls and films, and where each quantity stands."""
    own: dict[str, Any] = {name: getattr(settings, name) for name in ("law", "grain", "pool", "priors")}
    model, layout = build(rolls, release_speed_sd=settings.release_speed_sd if rolls.row.size else 0.0, **own)
    if films is None:
        return model, layout, None
    joined, traces = join_films(model, films, reference_speed=layout.reference_speed, priors=settings.priors)
    return joined, layout, traces


def _with_chips(course: CourseModel, chip_model: ChipModel | None, point: Array) -> Model:
    """Return the model with the chips in it, and what it is beside the rolls where these stand whole in `first`."""
    own = [] if course.targets is None else [course.targets(point)]
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
    return replace(model, rest=Model(parameters=flat, blocks=blocks, correlation=model.correlation))


def _first(seen: Observed, settings: Settings) -> Model | None:
    """Return the posterior of the rolls alone at the spots whose rolls tell resistance and slope apart.

    Films are in it where all spots are: filmed rolls may share a spot with any other.
    """
    rolls = seen.rolls
    telling = [] if rolls is None else [i for i in range(len(rolls.spots)) if headings_tell(rolls, i)]
    if rolls is None or not telling:
        return None
    films = seen.films if len(telling) == len(rolls.spots) else None
    return _rolling(rolls.at_spots(telling), films, settings)[0]


def _fast(chip_model: ChipModel, layout: Layout) -> Columns:
    """Return the parameters that leave what is expected of chips and rolls as it is: noise, and what only scales it."""
    names = chip_model.names
    rolling = np.setdiff1d(names.places(layout.names), names.columns(*SCATTER))
    return np.setdiff1d(np.arange(len(names)), [*chip_model.physical, *rolling])


def _rolling_options(rolling: Model, seen: Observed) -> dict[str, Any]:
    """Return what a model of rolls says of itself, where chips leave it true."""
    assert seen.rolls is not None
    chipped = set() if seen.chips is None else {seen.chips.spots[i] for i in seen.chips.spot}
    mirror = rolling.mirror
    if isinstance(mirror, Mirror):
        # chips along other lines tell the two sides of a reflection apart
        kept = tuple(item for item in mirror.columns if rolling.names.keys[item[0]].of not in chipped)
        mirror = Mirror(kept) if kept else None
    start = {key: value for key, value in rolling.start.items() if math.isfinite(value)}
    return {"start": start, "extra": rolling.extra, "mirror": mirror, "spots": rolling.spots}


def settled(course: CourseModel, rounds: int = 2) -> CourseModel:
    """Take the chips' answers where the posterior is highest, so many times, so that a model is ready to be fitted."""
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
            model = _setting_out(model)
            point = (
                find_mode(model, rounds=1, widened=(1.0,))
                if chips <= LONG
                else find_mode(model, rounds=ROUNDS, little=LITTLE)
            ).point
    return replace(course, model=model, chip_model=chip_model)


SLIPPING = (1.0, 0.7, 0.5)
"""Factors on the frictions of faces with which a search sets out: where every ball grips, more friction changes
nothing, and a search that sets out there may never see that some of them slip."""


def _setting_out(model: Model) -> Model:
    """Return the model with the best of several starts, from balls that grip the faces to balls that slip."""
    faces = [Key("face_friction", lie) for lie in model.names.members("face_friction")]
    if not faces:
        return model
    modes = []
    for factor in SLIPPING:
        start = {**model.start, **{key: factor * model.start[key] for key in faces}}
        modes.append(find_mode(replace(model, start=start), rounds=0, widened=(1.0,)))
    best = max(modes, key=lambda mode: mode.log_evidence)
    return replace(model, start=dict(zip(model.names, model.natural(best.point).tolist(), strict=True)))


@dataclass(frozen=True, kw_only=True)
class TargetModel:
    """Balls played at a towel or a hoop on the landing spot, so many of which landed on it, as part of a model.

    A clean strike lands about its aim, normal along and across the line; a mis-hit lands short or long by how bad it
    got, see `golfphys.fitting.strikes`. The target is taken as the square of its area. Counts are binomial. Nothing is
    played with `chips`, the model of their aims, so that it need not know any green; `window` is None until a reference
    is taken.
    """

    targets: Targets
    chips: ChipModel
    window: Window | None = None

    def referred(self, natural: Array) -> "TargetModel":
        """Return the same model around parameter values of shape (P,)."""
        world = SimpleNamespace(**self.chips.delivery(natural[None]))
        return replace(self, window=window_of(self.chips.swings(natural[None], world, self.chips.aim)))

    def __call__(self, natural: Array) -> Block:
        """Return the residuals around parameter values of shape (P,)."""
        return self.referred(natural).block()

    def probability(self, natural: Array) -> Array:
        """Probability that a ball lands on the target, shape (..., sets)."""
        window, model = self.window, self.chips
        assert window is not None
        aim, half = model.aim, self.targets.size * math.sqrt(math.pi) / 4
        errors = model.strike_errors(natural, window)
        loaded = np.stack(errors[:5], axis=-1)
        along, across = (
            aim * np.sqrt(((slope * loaded) ** 2).sum(axis=-1)) for slope in (window.carry, window.direction)
        )
        bias, turned = aim * model.carry_bias(natural), aim * model.delivery(natural)["direction"]
        clean, missed = window.shares(errors, model.get(natural, "edge_aim", default=EDGE_AIM))
        found = clean * _within(half, bias, along)
        ends = [aim[:, None] * (np.asarray(end.carry) - 1.0) for end in (window.least, window.most)]
        middle, spread = (ends[0] + ends[1]) / 2, (ends[1] - ends[0]) / math.sqrt(12.0)
        off = middle + bias[..., None], np.hypot(along[..., None], spread)
        found = found + (missed * _within(half[:, None], *off)).sum(axis=-1)
        return np.asarray(np.clip(found * _within(half, turned, across), 1e-9, 1.0 - 1e-9))

    def block(self) -> Block:
        """Return the residuals of the counts: with a normal density they make the binomial likelihood."""
        tries, hits = self.targets.tries, self.targets.hits

        def evaluate(natural: Array) -> tuple[Array, Array]:
            p = self.probability(natural)
            off = xlogy(hits, hits / (tries * p)) + xlogy(tries - hits, (tries - hits) / (tries * (1.0 - p)))
            residual = np.sign(hits - tries * p) * np.sqrt(2.0 * np.maximum(off, 0.0))
            return residual, np.ones_like(residual)

        return Block(name="targets", evaluate=evaluate, loss=Normal())


def _within(half: Any, mean: Any, sd: Any) -> Array:
    """Probability that a normal deviate lies within `half` of zero."""
    wide = np.maximum(sd, 1e-6)
    return np.asarray(ndtr((half - mean) / wide) - ndtr((-half - mean) / wide))
