"""What new chips will do, and what a plan draws on: draws of a fit, with everything that it leaves open.

A club or a lie that the log never saw, or a spot that was never measured, is drawn from its prior: a prediction is
wider, not missing. The ground around a green is fitted by itself, at spots that are named after it: where only rolls
were made there its turf is what such ground usually is, and the other way about.
"""

# ruff: noqa: I001  # several lines for a module with many names
import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import partial
from itertools import product
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.names import Array, Sample
from golfphys.fitting.chip_model import LANDINGS, TAPE_SD, ChipModel
from golfphys.fitting.chip_physics import World
from golfphys.fitting.chips import CARRY, HANG, HOP, HOP_TIME, LANDING_SIDE, REST, SEEN, SIDE, Chips, chips_of
from golfphys.fitting.course_model import Fitted, Settings
from golfphys.fitting.estimator import Parameter
from golfphys.fitting.past import with_past
from golfphys.fitting.player import carry_habit, error_draws, option_draws, player_of, player_parameters
from golfphys.fitting.player import prior_correlation
from golfphys.fitting.results import Seed, scalar_interval
from golfphys.fitting.rollout_layout import Priors
from golfphys.fitting.strikes import Shift, departure
from golfphys.fitting.turf import turf_parameters
from golfphys.physics.club import ERROR_KINDS, OPTIONS, Club, Lie, StrikeErrors, uneven
from golfphys.physics.draws import Draws, Logged, assumed
from golfphys.physics.green import AROUND, Grass, LinearTurf, Turf
from golfphys.sheets import Sheet


def completed(fit: Fitted, fitted: Sample, generator: np.random.Generator, chips: Chips | None = None) -> Sample:
    """Add prior draws of every club and lie of a fit, and of those, the spots and the options of chips, to its draws.

    Without `chips` of all options; those that earlier weeks know are always among them.
    """
    seen, settings = fit.seen, fit.settings
    more: Any = chips or SimpleNamespace(clubs=(), lies=(), spots=(), options=OPTIONS)
    clubs = dict.fromkeys((*settings.clubs, *seen.clubs, *more.clubs))
    lies = {lie: settings.lies.get(lie) for lie in (*settings.lies, *seen.lies, *more.lies)}
    before = (name for name in OPTIONS if settings.past.names.has("option_errors", name))
    options = dict.fromkeys((*seen.options, *more.options, *before))
    wanted = with_past(player_parameters(clubs, lies, settings.player_priors, options), settings.past)
    wanted += turf_parameters(settings.turf_law, AROUND.get(settings.ground))
    for spot in dict.fromkeys((*fit.spots, *more.spots)):
        wanted += _spot(spot, settings.priors)
    names, natural = fitted.names, fitted.natural
    missing = [one for one in wanted if not names.has(*one.key)]
    # drawn last: how many lies and clubs there are moves nothing else that is drawn
    missing.sort(key=lambda one: one.name in ("lie_carry", "club_carry"))
    lacking = [one.key for one in missing]
    root = np.linalg.cholesky(prior_correlation(lacking))
    chance = dict(zip(lacking, root @ generator.standard_normal((len(lacking), len(natural))), strict=True))
    drawn = {one.key: one.centre + one.spread * chance[one.key] for one in missing}
    drawn |= settings.past.draw_absent(names, natural, chance)
    columns = [np.exp(drawn[one.key]) if one.transform == "log" else drawn[one.key] for one in missing]
    return fitted.beside(lacking, columns)


def _spot(of: str, priors: Priors) -> list[Parameter]:
    level, spread = priors.resistance, priors.resistance_spread
    # a part of a half normal steepness in a random direction
    fall: dict[str, Any] = {"of": of, "location": 0.0, "spread": priors.grade_spread / math.sqrt(2)}
    resistance = Parameter(name="resistance", of=of, location=level, spread=spread, transform="log")
    return [resistance, Parameter(name="fall_along", **fall), Parameter(name="fall_left", **fall)]


@dataclass(frozen=True, kw_only=True)
class Predicted:
    """Predicted chips, in the order of `golfphys.fitting.chips.SEEN`, (n, chips, 7)."""

    chips: Chips
    values: Array  # what will be seen, the scatter of the player and of the reading included
    meant: Array  # what the same draws say without scatter: its spread is the uncertainty of the fit

    @property
    def rest(self) -> Array:
        """Where each chip will come to rest along the line of play, m, shape (n, chips)."""
        return np.asarray(self.values[:, :, REST])

    def mixed(self, other: "Predicted", which: NDArray[np.bool_]) -> "Predicted":
        """Return the same with the plays of another prediction of these chips in the draws that `which` names, (n,)."""
        here = which[:, None, None]
        pairs = ((self.values, other.values), (self.meant, other.meant))
        values, meant = (np.where(here, theirs, own) for own, theirs in pairs)
        return replace(self, values=values, meant=meant)

    def table(self) -> pd.DataFrame:
        """Return one line for each chip.

        club, lie, spot and landing, then for rest, side and hang time the median, and the ends of 50 % and 90 % of
        single chips; ``rest_known_sd`` is the standard deviation of the rest meant: what the fit leaves open.
        """
        chips = self.chips
        frame = pd.DataFrame({**chips.named(), "landing": chips.landing})
        for name, column in (("rest", REST), ("side", SIDE), ("hang_time", HANG)):
            shares = np.quantile(self.values[:, :, column], [0.5, 0.05, 0.25, 0.75, 0.95], axis=0)
            for label, values in zip(("", "_low", "_low_50", "_high_50", "_high"), shares, strict=True):
                frame[name + label] = values
        frame["rest_known_sd"] = self.meant[:, :, REST].std(axis=0)
        return frame


def predict(model: ChipModel, draws: Sample, generator: np.random.Generator) -> Predicted:
    """Play chips with every draw, once as meant and once with the errors of a strike, mis-hits among them.

    A chip whose landing was seen is played to where it landed, given how well a landing is seen, with errors of the
    strike that would have sent it there; any other is aimed at its target, which the player misses as the draws have
    it.
    """
    natural, chips = draws.natural, model.chips
    if (blank := ~np.isfinite(chips.heading)).any():
        # every heading is as likely
        drawn = generator.uniform(-math.pi, math.pi, (len(natural), len(chips)))
        chips = replace(chips, heading=np.where(blank, drawn, chips.heading))
    model = replace(model, chips=chips)
    world = model.world(natural)
    _refuse_what_no_swing_carries(model, world)
    shape = (len(natural), len(chips))
    aim = model.aim * (1.0 + model.carry_bias(natural))
    meant = model.physics.play(world, Shift(landing=np.where(chips.landing_seen, 0.0, aim - chips.landing)))
    landing, struck = _struck(model, natural, world, aim, generator)
    bumps = np.zeros((LANDINGS, 3, *shape))
    bumps[:, :2] = model.get(natural, "local_slope") * generator.standard_normal((LANDINGS, 2, *shape))
    bumps[0, 2] = model.get(natural, "turf", "patchiness") * generator.standard_normal(shape)
    values = model.physics.play(world, replace(struck, landing=landing - chips.landing, bumps=bumps))
    reading = model.get(natural, "landing_reading")
    timing = model.get(natural, "time_reading")
    normal = generator.standard_normal((len(SEEN), *shape))
    for column, sd in ((REST, TAPE_SD), (SIDE, TAPE_SD), (HANG, timing), (HOP_TIME, timing)):
        values[..., column] += sd * normal[column]
    for column in (CARRY, HOP, LANDING_SIDE):
        values[..., column] += reading * normal[column]
    return Predicted(chips=chips, values=values, meant=meant)


TRIES = 12  # errors of the strike that are tried for each chip whose landing was seen; one of them is taken


def _struck(
    model: ChipModel, natural: Array, world: World, aim: Array, generator: np.random.Generator
) -> tuple[Array, Shift]:
    """Return where chips land, m, and how each leaves other than meant, each (draws, chips)."""
    chips = model.chips
    shape = (TRIES if chips.landing_seen.any() else 1, len(natural), len(chips))
    swings = model.swings(natural, world, aim)
    sds = StrikeErrors.held(**dict(zip(ERROR_KINDS, model.strike_errors(natural), strict=True)))
    z = generator.standard_normal((6, *shape))
    z[0] = np.where(chips.landing_seen, 0.0, z[0])
    meant = swings.struck(np.zeros((6, 1, 1)), [*sds.values()]).launch
    found = departure(swings.struck(z, [*sds.values()]).launch, meant)
    # where the landing was seen, the head speed is what makes up for the rest
    reading = model.get(natural, "landing_reading")
    landed = np.maximum(chips.landing - reading * generator.standard_normal(shape), 0.2)
    off = (np.sqrt(landed / (aim * found.carry)) - 1.0) / sds["speed"]
    likely = np.where(np.isfinite(chips.target), -0.5 * off**2, 0.0)
    gumbel = generator.gumbel(size=shape)
    best = np.argmax(likely + np.where(chips.landing_seen, gumbel, 0.0), axis=0)[None]

    def taken(values: Any) -> Array:
        whole = np.broadcast_to(np.asarray(values, dtype=float), shape)
        return np.asarray(np.where(chips.landing_seen, np.take_along_axis(whole, best, axis=0)[0], whole[0]))

    landing = np.where(chips.landing_seen, taken(landed), taken(aim * found.carry))
    shift = found.shift
    return landing, Shift(angle=taken(shift.angle), spin=taken(shift.spin), direction=taken(shift.direction))


def _refuse_what_no_swing_carries(model: ChipModel, world: World) -> None:
    speed = np.median(model.physics.head_speed(world, model.chips.landing), axis=0)
    chips = model.chips
    if far := [
        f"shot {chips.row[i]}: a carry of {chips.landing[i]:.0f} m is farther than a {chips.clubs[chips.club[i]]} flies"
        for i in np.flatnonzero(~(speed < FASTEST))
    ]:
        raise ValueError("; ".join(far))


# What can be said of a chip that is to be predicted
SHOT_COLUMNS = ("club", "lie", "spot", "heading", "target_carry", "carry")
FASTEST = 45.0  # head speed in m/s beyond which nobody swings a club (common practice, no source)


def chips_to_play(shots: pd.DataFrame | Mapping[str, Any], settings: Settings, spots: Sequence[str]) -> Chips:
    """Return shots to be predicted; ValueError, which names every shot and what is wrong with it, if any is.

    Columns, or of a single shot values, are club, lie, spot, heading (rad, clockwise from the reference line), and
    target_carry or carry in m. A blank spot is the only one there is; without a heading every heading is as likely.
    """
    one = isinstance(shots, Mapping) and not any(np.ndim(value) for value in shots.values())
    frame = pd.DataFrame([shots] if one else shots).reset_index(drop=True)
    wrong = _wrong_columns(frame)
    if not wrong:
        frame["row"] = np.arange(1, len(frame) + 1)
        shots_by_number = zip(frame["row"], (shot for _, shot in frame.iterrows()), strict=True)
        wrong = [f"shot {i}: {text}" for i, shot in shots_by_number for text in _wrong(shot, settings, spots)]
    if wrong:
        raise ValueError("; ".join(wrong))
    return chips_of(Sheet(kind="chips", frame=frame), settings.clubs, only_spot=spots[0] if len(spots) == 1 else None)


def _wrong_columns(frame: pd.DataFrame) -> list[str]:
    unknown = [str(name) for name in frame.columns if name not in (*SHOT_COLUMNS, "row")]
    found = [f"{name!r} is no column of a shot; expected {', '.join(SHOT_COLUMNS)}" for name in unknown]
    if "club" not in frame:
        found.append("there is no column club")
    if not {"target_carry", "carry"} & set(frame.columns):
        found.append("there is no column target_carry (or carry): how far the ball is to fly, in m")
    return found if found or len(frame) else ["there is no shot; expected at least one row"]


def _wrong(shot: pd.Series, settings: Settings, spots: Sequence[str]) -> list[str]:
    """Return what is wrong with one shot, in words."""
    found = []
    club, lie, spot = (_text(shot, name) for name in ("club", "lie", "spot"))
    if club not in settings.clubs:
        found.append(f"club is {club!r}; expected one of: {', '.join(settings.clubs)}")
    if not lie:
        found.append(f"no lie is given; expected one of: {', '.join(settings.lies)}")
    if spots and spot not in spots and (spot or len(spots) > 1):
        found.append(f"spot is {spot!r}; expected one of: {', '.join(spots)}")
    for name in (given := [name for name in ("carry", "target_carry", "heading") if _text(shot, name)]):
        value, turns = float(pd.to_numeric(shot[name], errors="coerce")), name == "heading"
        if not (abs(value) <= 2 * math.pi if turns else 0 < value < math.inf):
            expected = "rad, a full turn (6.28) at most" if turns else "m, more than 0"
            found.append(f"{name} is {shot[name]}; expected a number of {expected}")
    if not given or given == ["heading"]:
        found.append("neither target_carry nor carry is given")
    return found


def _text(shot: pd.Series, name: str) -> str:
    return str(shot[name]).strip() if name in shot and pd.notna(shot[name]) else ""


UNMEASURED = "tour-to-club"  # level of a player who was never measured: the fit's prior spans both reference players


def plan_draws(fit: Fitted, spot: str, drawn: Sample, seed: Seed, around: Mapping[str, Fitted]) -> Draws:
    """Return completed draws of a fit as plans take them, with x along the reference line of the sheet.

    The seed is that of what comes from priors; `around` are the fits of the ground around the green.
    """
    settings, column, n = fit.settings, drawn.column, len(drawn.natural)
    errors = error_draws(drawn, settings.clubs, np.random.default_rng(seed))
    turf = LinearTurf() if settings.turf_law == "linear" else Turf()
    layout = fit.course.layout
    assert layout is not None
    green = layout.greens(drawn.natural, layout.rolls.position(spot))
    prior = assumed(green, logged=_logged(fit, around), bag=settings.clubs, n=n, seed=seed)
    delivery = {name: column(name) for name in ("attack", "shaft_lean", "edge_aim")} | {"face_opening": np.zeros(n)}
    bag = {
        name: replace(club, **Club.held(loft=settings.clubs[name].loft + column("loft_error", name)))
        for name, club in prior.bag.items()
    }
    # without a log these are the priors of the fit, in step with what a log would say of them
    logged_chips = fit.seen.chips is not None
    beside = {name: _grass(one.posterior.draws(n, seed), one, prior.around[name]) for name, one in around.items()}
    air: dict[str, Any] = {name: column(name) for name in ("drag_scale", "lift_scale")}
    return replace(
        prior,
        green=replace(prior.green, turf=replace(turf, **turf.held(**drawn.names.by_member(drawn.natural, "turf")))),
        player=player_of("fitted player", delivery, errors),
        lies={**prior.lies, **_lies(fit, drawn, prior.lies)},
        bag=bag,
        around={**prior.around, **beside},
        aerodynamics=replace(prior.aerodynamics, **air),
        # drops say how high a ball comes up, not which law takes its spin and speed
        other_turf=None if logged_chips else prior.other_turf,
        other=False if logged_chips else prior.other,
        local_slope=column("local_slope"),
        options=option_draws(drawn),
        logged=replace(prior.logged, level="" if logged_chips else UNMEASURED),
    )


def habits(laws: Sequence[tuple[Fitted, NDArray[np.bool_], Sample]], spot: str) -> dict[str, Any]:
    """Return green speed at a spot and her habits, as `golfphys.physics.draws.Logged` has them.

    `laws` are fits by each law of the bounce, which of all draws are of each, and as many completed draws of it.
    """
    fit, speeds, weights = laws[0][0], [], []
    for law, which, _ in laws:
        layout = law.course.layout
        assert layout is not None
        speeds.append(layout.at(layout.rolls.position(spot)).level_roll(law.posterior.natural)[:, 0])
        weights.append(which.mean() * law.posterior.weights)
    speed = scalar_interval(np.concatenate(speeds), np.concatenate(weights))
    found: dict[str, Any] = {"level_roll": (speed.estimate, speed.low, speed.high), "carry_habit": {}}

    def of_all(value: Callable[[Sample], Array]) -> tuple[float, float]:
        values = np.select([which for _, which, _ in laws], [value(drawn) for *_, drawn in laws])
        return float(values.mean()), float(values.std())

    if fit.seen.chips is not None:
        for lie, club in product(dict.fromkeys((*fit.settings.lies, *fit.seen.lies)), fit.settings.clubs):
            found["carry_habit"][club, lie] = of_all(partial(carry_habit, lies=[lie], clubs=[club]))
        found["start_habit"] = of_all(lambda drawn: drawn.column("start_direction"))
    return found


def _lies(fit: Fitted, drawn: Sample, usual: Mapping[str, Lie]) -> dict[str, Lie]:
    """Return every lie that the fit knows, on draws; what uneven ones add to the errors is on draws of its factor."""
    known = {**fit.settings.lies, **usual}
    names, anything, found = drawn.names, next(iter(known.values())), {}
    for name in {**fit.settings.lies, **dict.fromkeys(fit.seen.lies)}:
        values: dict[str, Any] = {
            **Lie.held(friction=drawn.column("face_friction", name), spin_factor=drawn.column("spin_factor", name)),
            "cushion": np.minimum(names.get(drawn.natural, "cushion", name), 0.9),
        }
        if name in fit.settings.lies:
            added = uneven(fit.settings.lies[name], drawn.column("unevenness"))
            values |= {"speed_error": added.speed_error, "face_error": added.face_error}
        found[name] = replace(known.get(name, anything), name=name, **values)
    return found


def _logged(fit: Fitted, around: Mapping[str, Fitted]) -> Logged:
    """Return what fits have to go by; ground around the green is measured where it was rolled on and dropped on."""
    rolls, drops, chips, films = fit.seen.rolls, fit.seen.drops, fit.seen.chips, fit.seen.films
    measured = () if rolls is None else tuple(rolls.spots[i] for i in np.unique(rolls.spot))
    found = Logged(
        rolls=0 if rolls is None else int(rolls.row.size),
        drops=0 if drops is None else int(drops.row.size),
        films=0 if films is None else len(films.names),
        spots=(*measured, *(spot for one in around.values() for spot in one.spots)),
        grounds=tuple(name for name, one in around.items() if one.spots and one.seen.drops is not None),
        past=bool(fit.settings.past.priors),
    )
    if chips is None:
        return found
    return replace(
        found,
        chips=len(chips),
        left_out=chips.left_out,
        clubs=_counted(chips.clubs, chips.club),
        lies=_counted(chips.lies, chips.lie),
        options=_counted(chips.options, chips.option),
        landing=(float(chips.landing.min()), float(chips.landing.max())),
        headings=tuple(np.unique(np.round(chips.heading[np.isfinite(chips.heading)], 2)).tolist()),
    )


def _counted(names: Sequence[str], which: NDArray[np.int64]) -> dict[str, int]:
    return {name: int((which == at).sum()) for at, name in enumerate(names)}


def _grass(drawn: Sample, fit: Fitted, usual: Grass) -> Grass:
    """Return draws of a ground as measured; what was not is that of `usual`, as many draws of such ground."""
    found, layout = usual, fit.course.layout
    if layout is not None:
        at = np.arange(len(drawn.natural)) % len(layout.rolls.spots)
        found = replace(found, resistance=layout.greens(drawn.natural, at).resistance)
    if fit.seen.drops is None:
        return found
    kind = Turf if drawn.names.has("turf", "tilt") else LinearTurf
    turf, dropped = usual.turf if isinstance(usual.turf, kind) else kind(), drawn.names.by_member(drawn.natural, "turf")
    return replace(found, turf=replace(turf, **turf.held(**dropped)))
