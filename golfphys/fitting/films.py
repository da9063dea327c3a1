"""The posterior of filmed rolls: position against time, with errors of frame time, reading and scale."""

import math
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise
from golfphys.core.names import Array, Columns, Names
from golfphys.fitting.estimator import Block, Model, Normal, OutlierTolerant, Parameter, names_of
from golfphys.fitting.rollout_layout import SPOT_PARTS, Priors, turned
from golfphys.formulas import plane, rolling, turf
from golfphys.sheets.errors import files_of, placed, rows_of

GRAVITY, INERTIA = constants.GRAVITY.value, constants.BALL_INERTIA.value
_turning_roll = elementwise(plane.turning_roll)
_linear_roll = elementwise(rolling.linear_roll)
_skid_rates = elementwise(turf.skid_rates)

NO_SPOT, SKIDS = "(no spot)", ("putt", "chip")
OFF_LINE = 0.01  # error of scale by marks that do not lie on the line of the roll (derived: offset over distance)
FILM_LAWS = ("constant", "linear")  # laws of resistance whose distance against time is known in closed form
_PIECES = 12  # pieces of a roll between which its distance is interpolated: under a straight roll it is exact with one


@dataclass(frozen=True, kw_only=True)
class Films:
    """The observations of a sheet of films as arrays: six of each frame, four of each roll."""

    row: Columns  # in the sheet
    file: NDArray[np.str_]  # the sheet, where there are several
    roll: Columns  # position of its roll in `names`
    time: Array  # since the roll's first frame, s
    distance: Array  # along the path, m
    pace: Array  # speed read off neighbouring frames, m/s
    names: tuple[str, ...]
    spots: tuple[str, ...]
    kinds: tuple[str, ...]
    heading: Array  # rad, anticlockwise from the reference line, NaN where not noted
    law: str  # how resistance depends on speed
    scale_error: Array  # standard error of its lengths, a share of them

    @property
    def skids(self) -> NDArray[np.bool_]:
        """Which rolls may begin with a skid."""
        return np.array([kind in SKIDS for kind in self.kinds], dtype=bool)

    def shared(self, known: Names) -> NDArray[np.bool_]:
        """Which rolls share resistance and slope of their spot, given the parameters already `known`.

        A spot filmed along one heading only shows resistance plus slope; its rolls then have a sum of their own.
        """
        spots, rolled = np.array(self.spots), [known.has("resistance", spot) for spot in self.spots]
        apart = np.abs(np.angle(np.exp(1j * np.subtract.outer(self.heading, self.heading)))) > math.radians(20.0)
        several = (apart & (spots[:, None] == spots)).any(axis=1) | rolled
        return np.asarray(np.isfinite(self.heading) & (spots != NO_SPOT) & several)


def films_of(sheet: Any, law: str) -> Films:
    """Take the observations out of a sheet; ValueError if no roll has four frames, or the law no closed form."""
    if law not in FILM_LAWS:
        raise ValueError(f"law is {law!r}; traces can be fitted with {' or '.join(map(repr, FILM_LAWS))}")
    groups = {str(name): group for name, group in sheet.frame.groupby("roll", sort=False) if len(group) >= 4}
    if not groups:
        raise ValueError("no roll of the sheet has four frames or more; a trace needs at least four")
    clocks, places = ([group[name].to_numpy(dtype=float) for group in groups.values()] for name in ("time", "distance"))
    for name, group, clock in zip(groups, groups.values(), clocks, strict=True):
        if (late := np.append(False, np.diff(clock) <= 0)).any():
            found = f"time in {placed(rows_of(group)[late][:1], files_of(group)[late][:1])} is {clock[late][0]:g} s"
            raise ValueError(f"{found}; expected more than in the frame before of {name!r}")
    first = [group.iloc[0] for group in groups.values()]
    noted = [[one.get(name) for one in first] for name in ("spot", "kind")]
    spots, kinds = ([text.strip() if isinstance(text, str) else "" for text in texts] for texts in noted)
    return Films(
        row=np.concatenate(list(map(rows_of, groups.values()))),
        file=np.concatenate(list(map(files_of, groups.values()))),
        roll=np.repeat(np.arange(len(groups)), list(map(len, clocks))),
        time=np.concatenate([clock - clock[0] for clock in clocks]),
        distance=np.concatenate(places),
        pace=np.concatenate(list(map(_pace, clocks, places))),
        names=tuple(groups),
        spots=tuple(spot or NO_SPOT for spot in spots),
        kinds=tuple(kinds),
        heading=-np.array([float(one.get("heading", np.nan)) for one in first]),
        law=law,
        scale_error=np.fmax([float(one.get("scale_error", np.nan)) for one in first], OFF_LINE),
    )


def _pace(clock: Array, place: Array) -> Array:
    """Speed at each frame from a line through it and its neighbours two away: noise of single readings averages out."""
    found = np.empty(len(clock))
    for i in range(len(clock)):
        near = slice(max(0, i - 2), i + 3)
        offset = clock[near] - clock[near].mean()
        found[i] = float(np.sum(offset * place[near]) / np.sum(offset * offset))
    return np.maximum(found, 0.0)


@dataclass(frozen=True)
class TraceLayout:
    """Where the quantities of filmed rolls stand among a model's parameters, `names`."""

    films: Films
    names: Names
    reference_speed: float  # at which resistance is meant, m/s
    shared: NDArray[np.bool_]  # which rolls share resistance and slope of their spot

    def by(self, natural: Array, name: str) -> Array:
        """Values of one parameter of every roll, shape (..., rolls)."""
        return self.names.values(natural, name, self.films.names)

    def by_roll(self, natural: Array) -> dict[str, Array]:
        """Everything that decides how each roll goes, each of shape (..., rolls).

        Resistance as ``constant`` and ``linear``; ``rise`` along the path and ``across`` it to the left; the speed and
        the skid at the first frame as ``start_speed``, ``skid_time`` and ``braking``; ``rolling_speed`` after it.
        """
        level, along, left = (self.names.values(natural, part, self.films.spots) for part in SPOT_PARTS)
        ahead, aside = turned(along, left, self.films.heading)
        slowing, grade = self.by(natural, "slowing"), self.by(natural, "path_grade")
        rise, across = np.where(self.shared, -ahead, grade), np.where(self.shared, -aside, 0.0)
        level = np.where(self.shared, level, slowing - grade)
        linear = np.zeros(level.shape)
        if self.films.law == "linear":
            linear = self.names.get(natural, "linear")[..., None] + linear
            # resistance is fitted at the speed where it is best known
            level = level - linear * self.reference_speed
        # the speed that a film shows is off by its error of scale, and known far better than that error; and the
        # speed at which rolling begins is known far better than that at which the skid began
        rolling = self.by(natural, "film_speed") / self.by(natural, "film_scale")
        # no slip, no skid: a roll from a ramp
        slip, friction = self.by(natural, "slip"), self.names.get(natural, "friction", default=1.0)
        slip, (braking, rate) = np.minimum(slip, 3.0), _skid_rates(friction[..., None], rise, GRAVITY, INERTIA)
        start = rolling / (1 - np.clip(slip * braking / rate, 0.0, 0.9))
        found = {"constant": level, "linear": linear, "rise": rise, "across": across, "rolling_speed": rolling}
        return {**found, "start_speed": start, "skid_time": slip * start / rate, "braking": braking}

    def places(self, natural: Array) -> Array:
        """Expected readings of all frames, shape (..., frames)."""
        films = self.films
        rolls = self.by_roll(natural)
        frame = {name: part[..., films.roll] for name, part in rolls.items()}
        skidding = np.minimum(films.time, frame["skid_time"])
        gone = skidding * (frame["start_speed"] - frame["braking"] * skidding / 2)
        after = np.maximum(films.time - frame["skid_time"], 0.0)
        even = {**rolls, "constant": rolls["constant"] + self.reference_speed * rolls["linear"]}
        gone = gone + _rolled(after, films.roll, even)
        if films.law == "linear":
            # growth along a straight path; what its turn changes is that of the constant law
            straight = {**even, "across": 0.0 * even["across"]}
            gone = gone + _rolled_linear(after, frame["rolling_speed"], frame) - _rolled(after, films.roll, straight)
        start, scale = (self.by(natural, name)[..., films.roll] for name in ("start_place", "film_scale"))
        return np.asarray(start + scale * gone)


def _rolled(time: Array, which: Columns, rolls: dict[str, Array]) -> Array:
    """Distance along paths that may turn, at `time` (..., frames) of the rolls `which` (frames,), resistance constant.

    At even fractions of each duration the stage is found by Newton's rule, and from it distance and speed; between
    them a cubic takes over.
    """
    steep = np.hypot(rolls["rise"], rolls["across"])[..., None]
    # a ball that would hardly stop is held to one that does, so that a search can walk out of such ground
    resistance = np.maximum(rolls["constant"][..., None], 1.02 * steep + 1e-4)
    rise, across, speed = (rolls[name][..., None] for name in ("rise", "across", "rolling_speed"))
    arguments = (speed, resistance, rise, across, GRAVITY, INERTIA)
    last = 60.0 / (resistance - steep)
    stop = _turning_roll(last, *arguments)[0]
    share = np.minimum(np.linspace(0.0, 1.0, _PIECES + 1), 1 - 1e-7)
    stage = -np.log1p(-share) / resistance
    pull = GRAVITY / (1 + INERTIA)
    for _ in range(6):
        clock, _, pace = _turning_roll(stage, *arguments)
        stage = np.clip(stage + (share * stop - clock) * pull / np.maximum(pace, 1e-9), 0.0, last)
    _, gone, pace = _turning_roll(stage, *arguments)
    length = stop[..., 0][..., which] / _PIECES
    place = np.minimum(time / length, float(_PIECES))
    piece = np.minimum(place.astype(np.int64), _PIECES - 1)
    u, flat, index = place - piece, (*gone.shape[:-2], -1), which * (_PIECES + 1) + piece
    first, second = (np.take_along_axis(gone.reshape(flat), index + i, axis=-1) for i in (0, 1))
    slow, slower = (np.take_along_axis(pace.reshape(flat), index + i, axis=-1) * length for i in (0, 1))
    rest = second - first
    return np.asarray(first + u * (slow + u * (3 * rest - 2 * slow - slower + u * (slow + slower - 2 * rest))))


def _rolled_linear(time: Array, speed: Array, roll: dict[str, Array]) -> Array:
    """Distance along a straight path under resistance linear in speed."""
    growth = roll["linear"]
    growth = np.where(np.abs(growth) < 1e-5, 1e-5, growth)
    held = np.maximum(roll["constant"], 1e-3 - roll["rise"] + np.maximum(0.0, -growth) * speed)
    arguments = (speed, held, growth, roll["rise"], GRAVITY, INERTIA)
    stop = _linear_roll(0.0, *arguments)[1]
    return np.asarray(_linear_roll(np.minimum(time, stop), *arguments)[0])


def _parameters(films: Films, known: Names, shared: NDArray[np.bool_], priors: Priors) -> list[Parameter]:
    """Return the parameters that filmed rolls add to those already `known`, with their weak priors."""
    found: list[Parameter] = []

    def add(key: tuple[str, str], location: float, spread: float, **more: Any) -> None:
        if not known.has(*key) and all(p.key != key for p in found):
            found.append(Parameter(name=key[0], of=key[1], location=location, spread=spread, **more))

    for i, (name, spot) in enumerate(zip(films.names, films.spots, strict=True)):
        here = films.roll == i
        place, clock = films.distance[here], films.time[here]
        if shared[i]:
            add(("resistance", spot), priors.resistance, priors.resistance_spread, transform="log")
            for part in ("along", "left"):
                add((f"fall_{part}", spot), 0.0, priors.grade_spread)
        else:
            add(("slowing", name), priors.resistance, math.inf, transform="log")
            add(("path_grade", name), 0.0, 0.02)
        pace = max(float(np.polyfit(clock[:6], place[:6], 1)[0]), 0.1)
        # of a ball that skids it is the speed at which rolling begins
        add(("film_speed", name), 0.75 * pace if films.skids[i] else pace, 0.5, transform="log", unit="m/s")
        add(("start_place", name), float(place[0]), 0.10, unit="m")
        add(("film_scale", name), 1.0, float(films.scale_error[i]), transform="log")
        if films.skids[i]:
            # slip over the ball's speed: 1 without spin, more with backspin left (common practice)
            add(("slip", name), 1.0 if films.kinds[i] == "putt" else 1.2, 0.35, transform="log")
    if films.law == "linear":
        add(("linear", ""), 0.0, priors.term_spread["linear"], unit="s/m")
    if films.skids.any():
        add(("friction", ""), 0.40, 0.40, transform="log")  # Penner (2002), memory
    # common practice, no source
    add(("reading", ""), 0.008, 0.7, transform="log", unit="m", outer=True)
    add(("frame_jitter", ""), 0.002, 0.7, transform="log", unit="s", outer=True)
    return found


def join_films(
    model: Model | None, films: Films, *, reference_speed: float | None = None, priors: Priors | None = None
) -> tuple[Model, TraceLayout]:
    """Add filmed rolls to a model, or make one of them alone; return it and where each quantity stands.

    Spots of the same name share resistance and slope. `reference_speed`, m/s, is where the resistance of `model` is
    meant: a typical speed of the films by default.
    """
    priors, model = priors or Priors(), model or Model(parameters=(), blocks=())
    shared = films.shared(model.names)
    parameters = [*model.parameters, *_parameters(films, model.names, shared, priors)]
    if reference_speed is None:
        moving = films.pace[films.pace > 0.1]
        reference_speed = float(np.median(moving)) if moving.size else 1.0
    layout = TraceLayout(films, names_of(parameters), reference_speed, shared)

    def evaluate(natural: Array) -> tuple[Array, Array]:
        reading, jitter = (layout.names.get(natural, name)[..., None] for name in ("reading", "frame_jitter"))
        return films.distance - layout.places(natural), np.hypot(reading, jitter * films.pace)

    def own_sum(natural: Array) -> tuple[Array, Array]:
        # the prior of the resistance of rolls whose resistance and slope come as a sum
        level, grade = (layout.by(natural, name)[..., ~shared] for name in ("slowing", "path_grade"))
        residual = np.log(np.maximum(level - grade, 1e-3) / priors.resistance)
        return residual, np.full(residual.shape, priors.resistance_spread)

    blocks = [Block(name="films", evaluate=evaluate, loss=OutlierTolerant())]
    if not shared.all():
        blocks.insert(0, Block(name="resistance of single films", evaluate=own_sum, loss=Normal(), data=False))
    # as for rolls
    start = {**{one.key: 1e-4 for one in parameters if one.name in SPOT_PARTS[1:]}, **model.start}
    return replace(model, parameters=parameters, blocks=[*model.blocks, *blocks], start=start), layout
