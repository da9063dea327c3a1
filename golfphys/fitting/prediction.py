"""What new chips will do: draws of a fit played again, with everything that it leaves open.

A club or a lie that the log never saw, or a spot that was never measured, is drawn from the prior: its prediction is
wider, not missing.
"""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.names import Draws
from golfphys.fitting.chip_model import LANDINGS, TAPE_SD, ChipModel
from golfphys.fitting.chip_physics import World
from golfphys.fitting.chips import CARRY, HANG, HOP, HOP_TIME, LANDING_SIDE, REST, SEEN, SIDE, Chips, chips_of
from golfphys.fitting.course_model import Settings, chips_model
from golfphys.fitting.estimator import Parameter
from golfphys.fitting.past import with_past
from golfphys.fitting.player import MOST, player_parameters, prior_correlation
from golfphys.fitting.rollout_layout import Layout, Priors, Rolls
from golfphys.fitting.strikes import Shift, departure, exact_errors
from golfphys.fitting.turf import turf_parameters
from golfphys.physics.club import KINDS, Lie
from golfphys.physics.usual import AROUND, OPTIONS

Array = NDArray[np.float64]


def completed(
    fitted: Draws,
    settings: Settings,
    *,
    clubs: Iterable[str],
    lies: Iterable[str],
    spots: Iterable[str],
    options: Iterable[str] = (),
    generator: np.random.Generator,
) -> Draws:
    """Add prior draws of whatever clubs, lies, spots and options a fit has not seen to its draws.

    Options that earlier weeks know are always among them.
    """
    known: Mapping[str, Lie | None] = {lie: settings.lies.get(lie) for lie in lies}
    asked = dict.fromkeys((*options, *(name for name in OPTIONS if settings.past.names.has("option_errors", name))))
    wanted = with_past(player_parameters(clubs, known, settings.player_priors, asked), settings.past)
    wanted += turf_parameters(settings.turf_law, AROUND.get(settings.ground))
    for spot in spots:
        wanted += _spot(spot, settings.priors)
    names, natural = fitted.names, fitted.natural
    missing = [one for one in wanted if not names.has(*one.key)]
    lacking = [one.key for one in missing]
    root = np.linalg.cholesky(prior_correlation(lacking))
    chance = dict(zip(lacking, root @ generator.standard_normal((len(lacking), len(natural))), strict=True))
    drawn = {one.key: one.centre + one.spread * chance[one.key] for one in missing}
    drawn |= settings.past.draw_absent(names, natural, chance)
    columns = [np.exp(drawn[one.key]) if one.transform == "log" else drawn[one.key] for one in missing]
    return fitted.beside(lacking, columns)


def _spot(spot: str, priors: Priors) -> list[Parameter]:
    level = Parameter(
        name="resistance", of=spot, location=priors.resistance, spread=priors.resistance_spread, transform="log"
    )
    # a part of a half normal steepness in a random direction
    spread = priors.grade_spread / math.sqrt(2)
    parts = [Parameter(name=f"fall_{part}", of=spot, location=0.0, spread=spread) for part in ("along", "left")]
    return [level, *parts]


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


def model_for(chips: Chips, draws: Draws, settings: Settings, reference_speed: float) -> ChipModel:
    """Return the model of chips over completed draws, with answers around their median.

    `reference_speed`, m/s, is that of the rolling law.
    """
    law: dict[str, Any] = {"law": settings.law, "grain": settings.grain, "reference_speed": reference_speed}
    layout = Layout(rolls=Rolls.planned(chips.spots), names=draws.names, **law)
    return chips_model(chips, layout, draws.names, settings).referred(np.median(draws.natural, axis=0))


def predict(model: ChipModel, draws: Draws, generator: np.random.Generator) -> Predicted:
    """Play chips with every draw, once as meant and once with the errors of a strike, mis-hits among them.

    A chip whose landing was seen is played to where it landed, given how well a landing is seen, with errors of the
    strike that would have sent it there; any other is aimed at its target, which the player misses as the draws have
    it.
    """
    natural = draws.natural
    chips = with_headings(model.chips, len(natural), generator)
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


TRIES = 12
"""Errors of the strike that are tried for each chip whose landing was seen; one of them is taken."""


def _struck(
    model: ChipModel, natural: Array, world: World, aim: Array, generator: np.random.Generator
) -> tuple[Array, Shift]:
    """Return where chips land, m, and how each leaves other than meant, each (draws, chips)."""
    chips = model.chips
    shape = (TRIES if chips.landing_seen.any() else 1, len(natural), len(chips))
    swings = model.swings(natural, world, aim)
    errors = exact_errors(
        [np.minimum(sd, MOST[kind]) for kind, sd in zip(KINDS, model.strike_errors(natural), strict=True)]
    )
    even = replace(swings, lie=replace(swings.lie, speed_error=0.0, face_error=0.0))
    z = generator.standard_normal((6, *shape))
    z[0] = np.where(chips.landing_seen, 0.0, z[0])
    meant = even.struck(np.zeros((6, 1, 1)), errors).launch
    found = departure(even.struck(z, errors).launch, meant)
    # where the landing was seen, the head speed is what makes up for the rest
    reading = model.get(natural, "landing_reading")
    landed = np.maximum(chips.landing - reading * generator.standard_normal(shape), 0.2)
    off = (np.sqrt(landed / (aim * found.carry)) - 1.0) / errors.speed
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
    far = [
        f"shot {chips.row[i]}: a carry of {chips.landing[i]:.0f} m is farther than a {chips.clubs[chips.club[i]]} flies"
        for i in np.flatnonzero(~(speed < FASTEST))
    ]
    if far:
        raise ValueError("; ".join(far))


SHOT_COLUMNS = ("club", "lie", "spot", "heading", "target_carry", "carry")
"""What can be said of a chip that is to be predicted."""

FASTEST = 45.0
"""Head speed in m/s beyond which nobody swings a club (common practice, no source)."""


def chips_to_play(shots: pd.DataFrame | Mapping[str, object], settings: Settings, spots: Sequence[str]) -> Chips:
    """Return shots to be predicted; ValueError, which names every shot and what is wrong with it, if any is.

    Columns are club, lie, spot, heading (rad, clockwise from the reference line), and target_carry or carry in m. A
    blank spot is the only one there is; without a heading every heading is as likely.
    """
    frame = pd.DataFrame(shots).reset_index(drop=True)
    wrong = _wrong_columns(frame)
    if not wrong:
        frame["row"] = np.arange(1, len(frame) + 1)
        shots_by_number = zip(frame["row"], (shot for _, shot in frame.iterrows()), strict=True)
        wrong = [f"shot {i}: {text}" for i, shot in shots_by_number for text in _wrong(shot, settings, spots)]
    if wrong:
        raise ValueError("; ".join(wrong))
    return chips_of(SimpleNamespace(chips=frame), settings.clubs, only_spot=spots[0] if len(spots) == 1 else None)


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
    carries = [float(shot[name]) for name in ("carry", "target_carry") if name in shot and pd.notna(shot[name])]
    if not carries:
        found.append("neither target_carry nor carry is given")
    found += [f"a carry of {carry:g} m; expected more than 0" for carry in carries if not 0 < carry < math.inf]
    return found


def _text(shot: pd.Series, name: str) -> str:
    return str(shot[name]).strip() if name in shot and pd.notna(shot[name]) else ""


def with_headings(chips: Chips, n: int, generator: np.random.Generator) -> Chips:
    """Return chips in which headings that were not given are drawn, every one as likely, for each of `n` draws."""
    blank = ~np.isfinite(chips.heading)
    if not blank.any():
        return chips
    drawn = generator.uniform(-math.pi, math.pi, (n, len(chips)))
    return replace(chips, heading=np.where(blank, drawn, chips.heading))
