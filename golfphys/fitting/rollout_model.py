"""The posterior of a sheet of rollouts: parameters, priors and residuals."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.names import Key
from golfphys.fitting.estimator import Block, Model, Parameter, names_of
from golfphys.fitting.losses import Normal, OutlierTolerant
from golfphys.fitting.rollout_layout import RAMP_SD, READING_SD, TERMS, UNITS, Law, Layout, Priors, Rolls

Array = NDArray[np.float64]
FEW_SPOTS = 101
"""Spots, fitted spot by spot, from which on they show how steep greens are here: one number for all would tell the
release speed instead. With fewer, which are fitted at once, draws are too few for it."""

SPOT_PARTS = ("resistance", "fall_along", "fall_left")
"""Parameters of each spot."""

FLATTEST = 1 / 60
"""Share of the usual steepness that nobody can tell from level: below it the prior is even, without a pole at zero."""


def build(
    rolls: Rolls,
    *,
    law: Law = "constant",
    grain: bool = False,
    pool: bool = True,
    release_speed_sd: float = RAMP_SD,
    priors: Priors | None = None,
) -> tuple[Model, Layout]:
    """Put together the model of a sheet of rollouts, and where each quantity stands in it.

    Of spots without any roll the model holds the priors alone, without scatter of rolls. With `pool` spots borrow from
    each other; `grain` makes resistance depend on heading; `release_speed_sd` is the relative standard uncertainty of
    the release speed, common to all rolls: 0 takes the speeds as exact.
    """
    priors = priors or Priors()
    pooled = pool and len(rolls.spots) > 1
    many = pooled and sum(headings_tell(rolls, i) for i in range(len(rolls.spots))) >= FEW_SPOTS
    own: dict[str, Any] = {"grain": grain, "release_speed_sd": release_speed_sd, "pooled": pooled, "many": many}
    parameters = _parameters(rolls, priors, law, **own)
    usual = 2 / 3 * float(np.median(rolls.speed if rolls.speed.size else constants.RAMP_RELEASE_SPEED.value))
    names = names_of(parameters)
    layout = Layout(rolls=rolls, law=law, grain=grain, reference_speed=usual, names=names)
    blocks = [distance_block(layout)] if rolls.row.size else []
    if rolls.has_side.any():
        blocks.append(_side_block(layout))
    if pooled:
        blocks.append(_group_block(layout))
    if many:
        blocks.append(_steepness_block(layout))
    if rolls.hours.size:
        blocks.append(_walk_block(layout, rolls.hours))
    model = Model(
        parameters=parameters,
        blocks=blocks,
        start=starting_values(rolls, priors),
        extra=SteepnessDensity(layout, priors.grade_spread),
        mirror=_mirror(layout),
        spots=names.places((part, spot) for spot in rolls.spots for part in SPOT_PARTS).reshape(-1, len(SPOT_PARTS)),
    )
    return model, layout


def _parameters(
    rolls: Rolls, priors: Priors, law: Law, *, grain: bool, release_speed_sd: float, pooled: bool, many: bool
) -> list[Parameter]:
    """Return the unknowns: what blocks hold together has a prior of infinite width of its own."""

    def one(name: str, location: float, spread: float, of: str = "", **more: Any) -> Parameter:
        return Parameter(name=name, of=of, location=location, spread=spread, **more)

    log: dict[str, Any] = {"transform": "log"}
    noise: dict[str, Any] = {**log, "outer": True}
    level, steep = math.inf if pooled else priors.resistance_spread, math.inf if many else priors.grade_spread
    found = []
    for spot in rolls.spots:
        found.append(one("resistance", priors.resistance, level, spot, **log))
        # a half normal steepness, every direction equally likely, with `SteepnessDensity`
        found += [one(f"fall_{part}", 0.0, steep, spot) for part in ("along", "left")]
    if release_speed_sd > 0:
        found.append(one("release_speed_scale", 1.0, release_speed_sd, **log))
    found += [one(term, 0.0, priors.term_spread[term], unit=UNITS[term]) for term in TERMS[law]]
    if grain:
        found += [one(f"grain_{part}", 0.0, priors.grain_spread) for part in ("along", "left")]
    if rolls.row.size:
        found.append(one("scatter_absolute", priors.scatter_absolute, priors.scatter_spread, unit="m", **noise))
        found.append(one("scatter_relative", priors.scatter_relative, priors.scatter_spread, **noise))
    if rolls.has_side.any():
        direction = priors.scatter_direction, priors.scatter_direction_spread
        found.append(one("scatter_direction", *direction, unit="rad", **noise))
    if pooled:
        found.append(one("resistance_median", priors.resistance, priors.resistance_spread, **log))
        found.append(one("between_spots", priors.between, priors.between_spread, **noise))
    if many:
        found.append(one("steepness", priors.grade_spread, priors.steepness_spread, **noise))
    if rolls.hours.size:
        found += [one("change", 0.0, math.inf, str(i + 1)) for i in range(rolls.hours.size)]
        found.append(one("drift", priors.drift, priors.drift_spread, unit="1/sqrt(h)", **noise))
    return found


def distance_block(layout: Layout) -> Block:
    """Return the residuals of the distances of rolls, straight from release to rest, m."""

    def evaluate(natural: Array) -> tuple[Array, Array]:
        expected = np.hypot(*layout.rest(natural))
        return layout.rolls.distance - expected, layout.scatter(natural, expected)

    return Block(name="distance", evaluate=evaluate, loss=OutlierTolerant(), group=layout.rolls.spot)


def _side_block(layout: Layout) -> Block:
    noted = layout.rolls.has_side
    side, distance = layout.rolls.side[noted], layout.rolls.distance[noted]

    def evaluate(natural: Array) -> tuple[Array, Array]:
        ahead, left = (part[..., noted] for part in layout.rest(natural))
        # a roll that stops short by chance drifts less as well, so it is the direction that is compared
        expected = distance * left / np.hypot(ahead, left)
        spread = layout.get(natural, "scatter_direction")[..., None] * distance
        return side - expected, np.hypot(READING_SD, spread)

    return Block(name="side", evaluate=evaluate, loss=OutlierTolerant(), group=layout.rolls.spot[noted])


def _group_block(layout: Layout) -> Block:
    def evaluate(natural: Array) -> tuple[Array, Array]:
        middle = np.log(layout.get(natural, "resistance_median"))[..., None]
        residual = np.log(layout.by_spot(natural, "resistance")) - middle
        return residual, layout.get(natural, "between_spots")[..., None] + np.zeros_like(residual)

    spots = np.arange(len(layout.rolls.spots))
    return Block(name="spots around their middle", evaluate=evaluate, loss=Normal(), data=False, group=spots)


def _steepness_block(layout: Layout) -> Block:
    def evaluate(natural: Array) -> tuple[Array, Array]:
        along, left = layout.fall(natural)
        spread = layout.get(natural, "steepness")[..., None] + np.zeros_like(along)
        # two independent normals and what `SteepnessDensity` adds scale with the spread once, not twice
        scales = np.concatenate([spread, np.ones_like(spread)], axis=-1)
        return np.concatenate([along, left / spread], axis=-1), scales

    spots = np.tile(np.arange(len(layout.rolls.spots)), 2)
    return Block(name="steepness of spots", evaluate=evaluate, loss=Normal(), data=False, group=spots)


def _walk_block(layout: Layout, hours: Array) -> Block:
    def evaluate(natural: Array) -> tuple[Array, Array]:
        steps = np.diff(np.log(layout.session_factors(natural)), axis=-1)
        spread = layout.get(natural, "drift")[..., None] * np.sqrt(hours)
        return steps, spread + np.zeros_like(steps)

    none = np.full(hours.size, -1, dtype=np.int64)
    return Block(name="walk of the green", evaluate=evaluate, loss=Normal(), data=False, group=none)


@dataclass(frozen=True)
class SteepnessDensity:
    """What turns two independent normal components into a half normal steepness with a uniform direction."""

    layout: Layout
    spread: float

    def __call__(self, natural: Array) -> Array:
        """Log density to add for each spot, shape (..., spots)."""
        steep, usual = np.hypot(*self.layout.fall(natural)), self.layout.get(natural, "steepness", self.spread)
        ratio = math.sqrt(2 / math.pi) * self.spread / np.hypot(steep, FLATTEST * usual[..., None])
        return np.asarray(np.log(ratio))


@dataclass(frozen=True)
class Mirror:
    """Random reflection of the fall about the one axis along which a spot was measured.

    Rolls along one axis come to rest at the same distances whichever way the ground falls across it.
    """

    columns: tuple[tuple[int, int, float], ...]

    def __call__(self, transformed: Array, generator: np.random.Generator) -> Array:
        """Reflect each spot of each draw with probability one half."""
        result = transformed.copy()
        for along, left, axis in self.columns:
            turn = generator.random(len(result)) < 0.5
            x, y = result[turn, along], result[turn, left]
            cosine, sine = math.cos(2 * axis), math.sin(2 * axis)
            result[turn, along], result[turn, left] = cosine * x + sine * y, sine * x - cosine * y
        return result


def one_axis(rolls: Rolls, spot: int, within_deg: float = 5.0) -> bool:
    """Whether all headings at a spot lie on one line with the first, to `within_deg`; True where there is no roll."""
    doubled = np.exp(2j * rolls.heading[rolls.spot == spot])
    return bool(np.all(np.abs(np.angle(doubled / doubled[:1]) / 2) < math.radians(within_deg)))


def headings_tell(rolls: Rolls, spot: int) -> bool:
    """Whether the headings at a spot tell resistance and both parts of the slope apart, by distances alone.

    A roll shows resistance less the fall along its heading: three unknowns, so the headings must span all three.
    """
    heading = rolls.heading[rolls.spot == spot]
    design = np.stack([np.ones_like(heading), np.cos(heading), np.sin(heading)], axis=1)
    return len(design) > 2 and bool(np.linalg.svd(design / math.sqrt(len(design)), compute_uv=False)[-1] > 0.05)


def _mirror(layout: Layout) -> Mirror | None:
    rolls = layout.rolls
    if layout.grain:
        return None
    columns = []
    for i, spot in enumerate(rolls.spots):
        here = rolls.spot == i
        # within a degree the reflection is a symmetry of the posterior to far below the scatter
        if here.any() and one_axis(rolls, i, 1.0) and not rolls.has_side[here].any():
            along, left = (layout.names.column(f"fall_{part}", spot) for part in ("along", "left"))
            columns.append((along, left, float(rolls.heading[here][0])))
    return Mirror(tuple(columns)) if columns else None


def starting_values(rolls: Rolls, priors: Priors) -> dict[Key, float]:
    """Start of the search: robust linear regression of the resistance that each roll shows.

    Without break, v^2 (1 + k)/(2 g d) is resistance less the fall along the heading: linear in all three.
    """
    start: dict[Key, float] = {}
    factor = (1 + constants.BALL_INERTIA.value) / (2 * constants.GRAVITY.value)
    shown = factor * rolls.speed**2 / np.maximum(rolls.distance, 0.1)
    for i, spot in enumerate(rolls.spots):
        here = rolls.spot == i
        if not here.any():
            start |= _start_at(spot, priors.resistance, 1e-4, 1e-4)
            continue
        start |= spot_start(spot, shown[here], rolls.heading[here], priors, most=0.5)
    levels = [math.log(start[Key("resistance", spot)]) for spot in rolls.spots]
    start[Key("resistance_median")] = math.exp(float(np.mean(levels)))
    return start


def spot_start(spot: str, shown: Array, heading: Array, priors: Priors, *, most: float) -> dict[Key, float]:
    """Return the start of the search at one spot, where every ball stops: resistance and fall, by parameter.

    `shown` is the resistance less the fall along its heading, as each roll shows it; `most` the highest resistance to
    start from.
    """
    level, along, left = _robust_plane(shown, heading, priors)
    level = float(np.clip(level, 0.02, most))
    keep = min(1.0, 0.8 * level / max(math.hypot(along, left), 1e-9))
    # a start exactly on an axis of symmetry would never leave it
    return _start_at(spot, level, keep * along + 1e-4, keep * left + 1e-4)


def _start_at(spot: str, *values: float) -> dict[Key, float]:
    return {Key(part, spot): value for part, value in zip(SPOT_PARTS, values, strict=True)}


def _robust_plane(shown: Array, heading: Array, priors: Priors) -> Sequence[float]:
    """Resistance and fall along and left of the reference line from the resistance that each roll shows."""
    design = np.stack([np.ones_like(heading), -np.cos(heading), -np.sin(heading)], axis=1)
    centre = np.array([float(np.clip(np.median(shown), 0.03, 0.4)), 0.0, 0.0])
    sds = np.array([0.05, priors.grade_spread, priors.grade_spread])
    weights = np.ones_like(shown)
    solution = centre
    for _ in range(20):
        noise = 0.05 * centre[0]
        information = (design.T * weights) @ design / noise**2 + np.diag(1 / sds**2)
        right = (design.T * weights) @ (shown - design @ centre) / noise**2
        solution = centre + np.linalg.solve(information, right)
        misfit = np.abs(shown - design @ solution)
        weights = 1 / np.maximum(1.0, misfit / max(1.5 * float(np.median(misfit)), 0.02 * centre[0]))
    return [float(value) for value in solution]
