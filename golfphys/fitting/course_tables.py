"""A course fit as tables and text."""

import math
from collections.abc import Iterator, Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.names import Array, Key
from golfphys.fitting.chip_model import ChipModel
from golfphys.fitting.chips import SEEN
from golfphys.fitting.course_model import Fitted
from golfphys.fitting.player import USUAL, USUAL_CARRY, carry_habit
from golfphys.fitting.results import NARROWED, Interval, Posterior, estimates_frame, lines, moments, scalar_interval
from golfphys.fitting.rollout_model import Rows, rolling_rows

Each = Iterator[tuple[tuple[str, str], Interval]]

CHIP_SPEED = 5.0  # normal landing speed in m/s of a usual chip, at which restitution is quoted
DEGREES: dict[str, Any] = {"factor": math.degrees(1.0), "unit": "deg"}
MILLIMETRES: dict[str, Any] = {"factor": 1000.0, "unit": "mm"}
PERCENT: dict[str, Any] = {"factor": 100.0, "unit": "%"}

# Parameters of the player by the rows that show them, and their units there
OF_PLAYER = {
    **{
        f"{name}_deg": (name, DEGREES)
        for name in ("attack", "shaft_lean", "start_direction", "direction_error", "attack_error", "shaft_lean_error")
    },
    "speed_error_pct": ("speed_error", PERCENT),
    **{f"{name}_mm": (name, MILLIMETRES) for name in ("low_point_error", "height_error")},
    **{name: (name, {}) for name in ("edge_aim", "between_clubs")},
}
OF_A_LIE = {"friction": "face_friction", "spin_factor": "spin_factor", "cushion": "cushion"}  # the same of a lie


def estimates(fit: Fitted) -> pd.DataFrame:
    """Return all estimates of a fit, indexed by part and parameter."""
    rows: Rows = {} if fit.course.layout is None else rolling_rows(fit.course.layout, fit.posterior, "rolls")
    if fit.seen.drops is not None or fit.seen.clubs:
        rows |= dict(_turf_rows(fit))
    if fit.seen.clubs:
        rows |= dict(_player_rows(fit, _log_of(fit)))
    if fit.seen.chips is not None:
        rows |= dict(_seeing_rows(fit.posterior))
    return estimates_frame(rows, "part")


def _turf_rows(fit: Fitted) -> Each:
    source = fit.posterior
    for name in source.model.names.members("turf"):
        shown, more = ("tilt_deg", DEGREES) if name == "tilt" else (name, {})
        yield ("turf", shown), source.estimate("turf", name, **more)
    level = source.column("turf", "restitution")
    informed = source.narrowed("turf", "restitution")
    if fit.settings.turf_law == "rigid":
        quadratic = constants.TURF_RESTITUTION_QUADRATIC.value * CHIP_SPEED**2
        level = level + CHIP_SPEED * source.column("turf", "restitution_linear") + quadratic
        plain, linear = (source.model.parameter("turf", name).spread for name in ("restitution", "restitution_linear"))
        informed = float(np.std(level)) < 0.6 * math.hypot(plain, linear * CHIP_SPEED)
    yield ("turf", "restitution_at_5_m_s"), scalar_interval(level, source.weights, "1", informed)
    if fit.seen.drops is not None:
        yield ("turf", "drop_scatter"), source.estimate("drop_scatter")


def _log_of(fit: Fitted) -> ChipModel:
    """Return the model of the chips, or where there are none of the balls played at targets."""
    if fit.course.chip_model is not None:
        return fit.course.chip_model
    assert fit.course.targets is not None
    return fit.course.targets.referred(fit.centre).chips


def _player_rows(fit: Fitted, model: ChipModel) -> Each:
    chips, source, logged = model.chips, fit.posterior, fit.seen.chips is not None
    errors = model.strike_errors(source.natural)
    clean = model.shares(source.natural, errors)[0]

    def mis_hits(mine: NDArray[np.bool_]) -> Interval:
        """Probability that one of these chips of the log is mis-hit, by the player's errors; no count of those seen."""
        share = 1.0 - clean[:, mine].mean(axis=-1)
        return scalar_interval(share, source.weights, "1", logged and int(mine.sum()) >= 20)

    for name, (parameter, unit) in OF_PLAYER.items():
        yield ("player", name), source.estimate(parameter, **unit)
    yield ("player", "carry_bias"), _carry_bias(fit, chips.lies, chips.clubs)
    yield ("player", "mis_hit_share"), mis_hits(np.ones(len(chips), bool))
    for lie in chips.lies:
        for name, parameter in OF_A_LIE.items():
            if source.model.names.has(parameter, lie):
                yield (f"lie {lie}", name), source.estimate(parameter, lie)
        yield (f"lie {lie}", "carry_bias"), _carry_bias(fit, [lie], chips.clubs)
        known = fit.settings.lies.get(lie)
        if known is not None and (known.speed_error or known.face_error):
            yield (f"lie {lie}", "unevenness"), source.estimate("unevenness")
    for club in chips.clubs:
        loft, error = math.degrees(fit.settings.clubs[club].loft), source.estimate("loft_error", club, **DEGREES)
        ends = loft + error.low, loft + error.high
        yield (f"club {club}", "loft_deg"), Interval(loft + error.estimate, error.sd, *ends, "deg", error.informed)
        yield (f"club {club}", "landing_sd_at_6_m"), _landing_sd(fit, model, club, errors)
        yield (f"club {club}", "carry_bias"), _carry_bias(fit, chips.lies, [club])
        for at, lie in enumerate(chips.lies):
            mine = (chips.club == chips.clubs.index(club)) & (chips.lie == at)
            if mine.any():
                yield (f"club {club}", Key("mis_hit_share", lie).label), mis_hits(mine)
    yield from _option_rows(fit)


def _seeing_rows(source: Posterior) -> Each:
    """What a log says of reading, local slope and air."""
    for name in ("landing_reading", "time_reading"):
        yield ("reading", name), source.estimate(name)
    yield ("turf", "local_slope_pct"), source.estimate("local_slope", **PERCENT)
    for name in ("drag_scale", "lift_scale"):
        yield ("air", name), source.estimate(name)


def _carry_bias(fit: Fitted, lies: Sequence[str], clubs: Sequence[str]) -> Interval:
    """How far she lands beyond her aim: what lies and clubs share and how each departs are only told together."""
    source, habit = fit.posterior, carry_habit(fit.posterior, lies, clubs)
    parts = ("carry_bias", [""]), ("lie_carry", lies), ("club_carry", clubs)
    before = math.hypot(*(source.model.parameter(name, of[0]).spread / math.sqrt(len(of)) for name, of in parts))
    informed = moments(habit, source.weights)[1] < 0.6 * before
    return scalar_interval(habit, source.weights, "1", informed)


def _option_rows(fit: Fitted) -> Each:
    row = fit.posterior.estimate
    for option in fit.seen.options:
        if option != USUAL:
            found, part = row("option_errors", option), f"option {option}"
            low, median, high = (math.exp(value) for value in (found.low, found.estimate, found.high))
            factor = Interval(median, median * found.sd, low, high, found.unit, found.informed)
            yield (part, "errors_over_usual"), factor
            for name in ("lean", "start"):
                yield (part, f"{name}_beside_stated_deg"), row(f"option_{name}", option, **DEGREES)
            yield (part, "carry_beside_usual"), row("option_carry", option)


def _landing_sd(fit: Fitted, model: ChipModel, club: str, strike_errors: list[Array]) -> Interval:
    """Standard deviation of a club's clean landings from the first lie of the log, at a usual carry, m."""
    source, chips = fit.posterior, model.chips
    assert model.window is not None
    with_it = chips.club == chips.clubs.index(club)
    usual = with_it & np.array([name == USUAL for name in chips.options])[chips.option]
    mine = np.flatnonzero(usual if usual.any() else with_it)
    # the chip of the log whose aim is nearest to the usual carry stands for it
    at = mine[np.argmin(np.abs(model.aim[mine] - USUAL_CARRY))]
    errors = np.stack([kind[:, at] for kind in strike_errors[:5]], axis=-1)
    spread = USUAL_CARRY * np.sqrt(((errors * model.window.carry[at]) ** 2).sum(axis=-1))
    informed = mine.size >= 5
    if fit.seen.chips is None:  # a hit tells less than a landing
        known, usual = moments(np.log(spread), source.weights)[1], source.model.parameter("speed_error").spread
        informed = not source.failure and known < NARROWED * usual
    return scalar_interval(spread, source.weights, "m", informed)


def residuals(fit: Fitted) -> pd.DataFrame:
    """Return one line for each thing seen of each chip.

    Columns row (and sheet, its file, where there are several), club, lie, spot, what, landing (m), seen, expected
    (given the landing and what was seen of the chip before), standardised, mis_hit (probability that the chip was
    one).
    """
    chips, chip_model = fit.seen.chips, fit.course.chip_model
    if chips is None or chip_model is None:
        columns = ["row", "club", "lie", "spot", "what", "landing", "seen", "expected", "standardised", "mis_hit"]
        return pd.DataFrame(columns=columns)
    residual, scale = (part[0] for part in chip_model.compare(fit.centre[None])[:2])
    values = chips.values.copy()
    values[:, 0] = np.where(chips.seen[:, 0], chips.landing, np.nan)
    mis_hit = np.repeat(fit.mis_hits.to_numpy(), chips.seen.sum(axis=1)[chips.seen.any(axis=1)])
    chip, kind = np.nonzero(chips.seen)
    residual, scale, values = residual[chip, kind], scale[chip, kind], values[chip, kind]
    return pd.DataFrame(
        {
            **lines(chips, chip),
            **chips.named(chip),
            "what": [SEEN[k] for k in kind],
            "landing": chips.landing[chip],
            "seen": values,
            "expected": values - residual,
            "standardised": residual / scale,
            "mis_hit": mis_hit,
        }
    )
