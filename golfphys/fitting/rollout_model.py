"""The posterior of a sheet of rollouts, parameters, priors and residuals, and the estimates read from its draws."""

# ruff: noqa: I001  # several lines for a module with many names
import math
from functools import partial
from typing import Any

import numpy as np

from golfphys.core import constants
from golfphys.core.names import Array, Columns, Key, Names
from golfphys.fitting.estimator import Block, Model, Normal, OutlierTolerant, Parameter, Summed, names_of
from golfphys.fitting.results import NARROWED, Interval, Posterior, direction_interval, direction_resolved
from golfphys.fitting.results import length_interval, moments, scalar_interval, scale_interval
from golfphys.fitting.rollout_layout import RAMP_SD, SCATTER, SPOT_PARTS, TERMS, UNITS, Law, Layout, Priors, Rolls

SUMMED = Key("scatter_absolute"), Key("scatter_relative")
ALL = "all"  # index of the rows that hold for the whole sheet
Rows = dict[tuple[str, str], Interval]
READING_SD = 0.005  # standard error in m of reading a side drift off a tape (common practice, no source)
MANY = 12  # spots above which how steep they are is fitted too
BY_SPOT = 18  # spots up to which all are drawn at once, if none is steep: that takes less time, and is worth more
STEEP = 0.6  # slope over resistance from which rolls downhill are so long that slopes are drawn over resistance
# Share of the usual steepness that nobody can tell from level: below it the prior is even, without a pole at zero
FLATTEST = 1 / 60


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

    Of spots without any roll the model holds the priors alone, without scatter of rolls. With `pool` resistances of
    spots borrow from each other; `grain` makes resistance depend on heading; `release_speed_sd` is the relative
    standard uncertainty of the release speed, common to all rolls: 0 takes the speeds as exact.
    """
    priors = priors or Priors()
    pooled = pool and len(rolls.spots) > 1
    # many spots show how steep greens are here: one number for all would tell the release speed instead
    many = np.unique(rolls.spot).size > MANY
    start = rolls.starting_values(priors)
    falls = [[start[Key(part, spot)] for part in SPOT_PARTS] for spot in rolls.spots]
    steep = any(math.hypot(*fall) > STEEP * level for level, *fall in falls)
    carried = many or steep
    # other laws take too long to be weighed candidate by candidate
    by_spot = (many and len(rolls.spots) > BY_SPOT) or (steep and law == "constant" and not grain)
    own: dict[str, Any] = {"grain": grain, "ramp_sd": release_speed_sd, "pooled": pooled, "many": many}
    parameters = _parameters(rolls, priors, law, carried=carried, **own)
    usual = 2 / 3 * float(np.median(rolls.speed if rolls.speed.size else constants.RAMP_RELEASE_SPEED.value))
    names = names_of(parameters)
    held = priors.grade_spread if carried else None
    layout = Layout(rolls=rolls, law=law, grain=grain, reference_speed=usual, names=names, usual_grade=held)
    wanted = {
        "distance": rolls.row.size,
        "side": rolls.has_side.any(),
        "spots around their middle": pooled,
        "steepness of spots": carried,
        "walk of the green": rolls.hours.size,
    }
    model = Model(
        parameters=parameters,
        blocks=[block_of(name, layout) for name, holds in wanted.items() if holds],
        start=start,
        extra=partial(_half_normal, layout, priors.grade_spread),
        mirror=_mirror(layout),
        spots=names.places((part, spot) for spot in rolls.spots if by_spot for part in SPOT_PARTS).reshape(-1, 3),
        carried=_carried(names) if carried else (),
        summed=_summed(rolls, names) if rolls.row.size else None,
    )
    return model, layout


def _summed(rolls: Rolls, names: Names) -> Summed:
    """Return the scatter that all distances have and that grows with them, as one noise at the usual distance."""
    one, other = names.places(SUMMED)
    return Summed(int(one), int(other), math.log(max(float(np.median(rolls.distance)), 0.01)))


def _carried(names: Names) -> list[tuple[Columns, Columns, int]]:
    """Return what is drawn in other units: slopes over resistance, both over the square of the release speed's scale.

    Distances tell these, and nothing of that scale however steep the ground is. Draws of slopes and a scale themselves
    would lie along curves, the narrower the longer the rolls.
    """
    level, scale = names.columns("resistance"), names.columns("release_speed_scale")
    both = [(names.columns("resistance", "resistance_median", "steepness"), scale, 2)] if scale.size else []
    return [*both, *((names.columns(f"fall_{part}"), level, 1) for part in ("along", "left"))]


def _parameters(
    rolls: Rolls, priors: Priors, law: Law, *, grain: bool, ramp_sd: float, pooled: bool, many: bool, carried: bool
) -> list[Parameter]:
    """Return the unknowns: what blocks hold together has a prior of infinite width of its own."""

    def one(name: str, location: float, spread: float, of: str = "", **more: Any) -> Parameter:
        return Parameter(name=name, of=of, location=location, spread=spread, **more)

    log: dict[str, Any] = {"transform": "log"}
    noise: dict[str, Any] = {**log, "outer": True}
    level, steep = math.inf if pooled else priors.resistance_spread, math.inf if carried else priors.grade_spread
    found = []
    for spot in rolls.spots:
        found.append(one("resistance", priors.resistance, level, spot, **log))
        # a half normal steepness, every direction equally likely, with `_half_normal`
        found += [one(f"fall_{part}", 0.0, steep, spot) for part in ("along", "left")]
    if ramp_sd > 0:
        found.append(one("release_speed_scale", 1.0, ramp_sd, **log))
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


def block_of(name: str, layout: Layout) -> Block:
    """Return residuals of rolls, or of what holds spots or sessions together, by the name of their block."""
    rolls, spots = layout.rolls, np.arange(len(layout.rolls.spots))
    evaluate, group = {
        "distance": (_distance, rolls.spot),
        "side": (_side, rolls.spot[rolls.has_side]),
        "spots around their middle": (_resistance_by_spot, spots),
        "steepness of spots": (_steepness, np.tile(spots, 2)),
        "walk of the green": (_walk, np.full(rolls.hours.size, -1, dtype=np.int64)),
    }[name]
    data = name in ("distance", "side")
    loss = OutlierTolerant() if data else Normal()
    return Block(name=name, evaluate=partial(evaluate, layout), loss=loss, data=data, group=group)


def _distance(layout: Layout, natural: Array) -> tuple[Array, Array]:
    """Straight from release to rest, m."""
    expected = np.hypot(*layout.rest(natural))
    return layout.rolls.distance - expected, layout.scatter(natural, expected)


def _side(layout: Layout, natural: Array) -> tuple[Array, Array]:
    """A roll that stops short by chance drifts less as well, so it is the direction that is compared."""
    noted = layout.rolls.has_side
    side, distance = layout.rolls.side[noted], layout.rolls.distance[noted]
    ahead, left = (part[..., noted] for part in layout.rest(natural))
    expected = distance * left / np.hypot(ahead, left)
    return side - expected, np.hypot(READING_SD, layout.get(natural, "scatter_direction")[..., None] * distance)


def _resistance_by_spot(layout: Layout, natural: Array) -> tuple[Array, Array]:
    median = np.log(layout.get(natural, "resistance_median"))[..., None]
    residual = np.log(layout.by_spot(natural, "resistance")) - median
    return residual, layout.get(natural, "between_spots")[..., None] + np.zeros_like(residual)


def _steepness(layout: Layout, natural: Array) -> tuple[Array, Array]:
    """Two independent normals and what `_half_normal` adds scale with the spread once, not twice."""
    square, level = _squared_scale(layout, natural), layout.by_spot(natural, "resistance")
    along, left = (part / square for part in layout.fall(natural))
    usual = (
        layout.get(natural, "steepness")[..., None] / square if layout.names.has("steepness") else layout.usual_grade
    )
    spread = np.broadcast_to(np.asarray(usual), along.shape)
    # slopes are drawn over resistance: this scale makes up for the volume
    volume = (square / level) ** 2
    return np.concatenate([along, left / spread * volume], axis=-1), np.concatenate([spread, volume], axis=-1)


def _walk(layout: Layout, natural: Array) -> tuple[Array, Array]:
    steps = np.diff(np.log(layout.session_factors(natural)), axis=-1)
    spread = layout.get(natural, "drift")[..., None] * np.sqrt(layout.rolls.hours)
    return steps, spread + np.zeros_like(steps)


def _half_normal(layout: Layout, spread: float, natural: Array) -> Array:
    """Log density that makes of two independent normals a half normal steepness with a uniform direction."""
    steep, usual = np.hypot(*layout.fall(natural)), layout.get(natural, "steepness", spread)
    known = math.sqrt(2 / math.pi) * spread * _squared_scale(layout, natural)
    return np.asarray(np.log(known / np.hypot(steep, FLATTEST * usual[..., None])))


def _squared_scale(layout: Layout, natural: Array) -> Array | float:
    """Square of the release speed's scale, where priors are of what `_carried` names."""
    held = layout.usual_grade is not None
    return layout.get(natural, "release_speed_scale", 1.0)[..., None] ** 2 if held else 1.0


def one_axis(rolls: Rolls, spot: int, within_deg: float = 5.0) -> bool:
    """Whether all headings at a spot lie on one line with the first, to `within_deg`; True where there is no roll."""
    doubled = np.exp(2j * rolls.heading[rolls.spot == spot])
    return bool(np.all(np.abs(np.angle(doubled / doubled[:1]) / 2) < math.radians(within_deg)))


def headings_tell(seen: Any, spot: int) -> bool:
    """Whether headings of rolls, or chips, at a spot tell resistance and both parts of the slope apart, by distances.

    A roll shows resistance less the fall along its heading: three unknowns, so the headings must span all three.
    """
    heading = seen.heading[(seen.spot == spot) & np.isfinite(seen.heading)]
    design = np.stack([np.ones_like(heading), np.cos(heading), np.sin(heading)], axis=1)
    return len(design) > 2 and bool(np.linalg.svd(design / math.sqrt(len(design)), compute_uv=False)[-1] > 0.05)


def _mirror(layout: Layout) -> list[tuple[int, int, float]]:
    """Return the spots measured along one axis: balls stop as far away whichever way the ground falls across it."""
    rolls, columns = layout.rolls, []
    for i, spot in enumerate(rolls.spots):
        here = rolls.spot == i
        # within a degree the reflection is a symmetry of the posterior to far below the scatter
        if here.any() and one_axis(rolls, i, 1.0) and not (layout.grain or rolls.has_side[here].any()):
            along, left = (layout.names.column(f"fall_{part}", spot) for part in ("along", "left"))
            columns.append((along, left, float(rolls.heading[here][0])))
    return columns


def rolling_rows(layout: Layout, source: Posterior, whole: str = ALL) -> Rows:
    """Estimates by spot, and under `whole` of what all rolls share, by parameter."""
    natural, weights = source.natural, source.weights
    units = {"stimp_m": "m", "stimp_ft": "ft", **{f"resistance_{term}": unit for term, unit in UNITS.items()}}
    rows: Rows = {}
    for position, spot in enumerate(layout.rolls.spots):
        one = layout.at(position)
        known, told = _informed(one, natural, source), {name: part[:, 0] for name, part in one.told(natural).items()}
        for name, values in told.items():
            informed = known.get(name, known["resistance"])
            rows[spot, name] = scalar_interval(values, weights, units.get(name, "1"), informed)
        downhill = -told["grade_along"], told["grade_left"]  # clockwise in sheets: the part to the left counts negative
        rows[spot, "grade"] = length_interval(*downhill, weights, known["grade"])
        rows[spot, "fall_direction_deg"] = direction_interval(*downhill, weights, known["fall_direction_deg"])
    if layout.rolls.row.size:
        rows |= {(whole, name): row for name, row in _sheet_rows(layout, natural, source).items()}
    return rows


def _informed(one: Layout, natural: Array, source: Posterior) -> dict[str, bool]:
    """Which quantities of the only spot of a layout the sheet informs, rather than the prior."""
    rolls, model, weights = one.rolls, source.model, source.weights
    (spot,) = rolls.spots
    own, spread = (model.parameter(name, spot).spread for name in ("resistance", "fall_along"))
    if not math.isfinite(own):
        own = model.parameter("resistance_median").spread
    if one.usual_grade is not None:
        spread = one.usual_grade
    level = source.transformed[:, model.names.column("resistance", spot)]
    resistance = moments(level, weights)[1] < NARROWED * own
    along, left = (values[:, 0] for values in one.fall(natural))
    parts = [moments(values, weights)[1] < NARROWED * spread for values in (along, left)]
    spanned = headings_tell(rolls, 0) or bool(rolls.has_side.any()) or spot in one.chipped
    covariance = np.cov(np.stack([along, left]), aweights=weights)
    major = spanned and float(np.sqrt(max(np.linalg.eigvalsh(covariance)[-1], 0.0))) < NARROWED * spread
    if not spanned:
        # what distances alone show is the slope along the headings; across them it is assumption
        axes = rolls.heading
        crossed = [np.abs(np.sin(axes)).max(initial=0.0), np.abs(np.cos(axes)).max(initial=0.0)]
        opposite = len(axes) > 1 and np.ptp(np.cos(axes - axes[0])) > 1.0
        parts = [part and opposite and share < 0.1 for part, share in zip(parts, crossed, strict=True)]
    if source.failure:
        resistance = major = False
        parts = [False, False]
    return {
        "resistance": resistance,
        "grade": major,
        "fall_direction_deg": major and direction_resolved(along, left, weights),
        "grade_along": parts[0],
        "grade_left": parts[1],
        **{f"resistance_{term}": source.narrowed(term) for term in TERMS[one.law]},
    }


def _sheet_rows(layout: Layout, natural: Array, source: Posterior) -> dict[str, Interval]:
    """Estimates that hold for the whole sheet."""
    weights, has = source.weights, layout.names.has
    rows = {name: source.estimate(name, shown=scale_interval) for name in SCATTER if has(name)}
    typical = float(np.median(layout.rolls.distance))
    single = np.hypot(layout.get(natural, "scatter_absolute"), layout.get(natural, "scatter_relative") * typical)
    enough = len(layout.rolls.row) > 3 and not source.failure
    rows["scatter_single_roll"] = scalar_interval(single, weights, "m", enough)
    common = ("release_speed_scale", "resistance_median", "between_spots", "steepness")
    rows |= {name: source.estimate(name, shown=scalar_interval) for name in common if has(name)}
    if layout.grain:
        x, y = layout.grain_parts(natural)
        informed = source.narrowed("grain_along") and source.narrowed("grain_left")
        rows["grain"] = length_interval(x, y, weights, informed)
        rows["grain_direction_deg"] = direction_interval(x, -y, weights, informed)
    return rows
