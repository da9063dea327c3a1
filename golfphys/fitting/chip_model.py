"""Residuals of a chip log: what was seen of each chip against what the model says, with the scatter that chips share.

A chip that starts a degree too high flies longer, hops less and stops shorter, all at once; a landing spotted 10 cm
wrong shifts all that follows from it. So what was seen of one chip is correlated. The covariance is built from how each
observation answers to the errors behind it (landing, its reading, launch angle, spin, direction), by differences around
a reference, and each observation is then compared with what the ones before it lead to expect.
"""

from dataclasses import dataclass, field, replace

import numpy as np
from numpy.typing import NDArray

from golfphys.fitting.chip_physics import ChipPhysics, Shift, World
from golfphys.fitting.chips import CARRY, HANG, HOP, LANDING_SIDE, REST, SEEN, SIDE, Chips
from golfphys.fitting.estimator import Block
from golfphys.fitting.losses_chips import MisHitTolerant
from golfphys.fitting.player import relative_scatter
from golfphys.fitting.rollout_layout import POWERS, Layout
from golfphys.fitting.turf import TurfLaw, turf_fields

Array = NDArray[np.float64]

TAPE_SD = 0.04
"""Standard error in m of a rest measured along and across the line of play (common practice, no source)."""

UNKNOWN_FALL = 0.015
"""Fall along a line of play whose heading was not noted: standard deviation (common practice: 1 to 3 % steepest)."""

MISSING = 1e4
"""Scale that takes an observation which was not made out of the reckoning."""

MOST_CARRIED = 3.5
"""Standard deviations from which an observation no longer pulls what is expected of the next any further."""

PLAYED_AT_ONCE = 20_000
"""Chips that are played at once: as many as fit the processor's cache."""

ERRORS = ("landing", "reading", "angle", "spin", "direction")
"""The errors that observations of a chip share."""

STEPS = {"landing": 0.06, "angle": 0.025, "spin": 0.12, "direction": 0.02, "fall": 0.004}
"""Steps of the differences, near the size of the errors themselves: across a kink (where the ball begins to slip) what
counts is how an observation answers to errors of that size."""


@dataclass(frozen=True, kw_only=True)
class Answers:
    """How what is seen of each chip answers to the errors behind it, around a reference.

    Parameters
    ----------
    slopes : ndarray, shape (chips, 6, 5)
        Change of each observation per unit of each of `ERRORS`.
    to_landing : ndarray, shape (chips, 6)
        Change of each observation per metre of landing.
    shift : ndarray, shape (chips, 6)
        By how much errors of launch angle and spin move each observation on average: errors both ways do not cancel.
    run : ndarray, shape (chips,)
        Way from landing to rest, m.
    unknown : ndarray, shape (chips, 6)
        Standard deviation from a heading that was not noted.
    """

    slopes: Array
    to_landing: Array
    shift: Array
    run: Array
    unknown: Array


@dataclass(frozen=True, kw_only=True)
class ChipModel:
    """Chips as part of a model whose parameters start with those of rollouts.

    Parameters
    ----------
    chips : Chips
        The log.
    physics : ChipPhysics
        Plays them.
    rolling : Layout
        Where resistance and slope of the spots stand.
    law : {"rigid", "linear"}
        Law of the bounce.
    names : tuple of str
        Names of all parameters.
    ratio : ndarray
        Head speed of each chip's club over that of the middle club.
    answers : Answers or None
        None until a reference is taken.
    """

    chips: Chips
    physics: ChipPhysics
    rolling: Layout
    law: TurfLaw
    names: tuple[str, ...]
    ratio: Array
    answers: Answers | None = None
    _index: dict[str, int] = field(init=False, repr=False)
    _columns: list[int] = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Index the names, and find those on which the flight of chips depends."""
        object.__setattr__(self, "_index", {name: i for i, name in enumerate(self.names)})
        starts = ("turf[", "loft_error[", "face_friction[", "cushion[", "resistance[", "fall_along[", "fall_left[")
        whole = ("attack", "shaft_lean", "start_direction", "drag_scale", "lift_scale", *POWERS)
        wanted = [n for n in self.names if n.startswith(starts) or n in (*whole, "grain_along", "grain_left")]
        object.__setattr__(self, "_columns", [self._index[name] for name in wanted])

    @property
    def physical(self) -> list[str]:
        """Names of the parameters on which the flight of chips depends."""
        return [self.names[i] for i in self._columns]

    def get(self, natural: Array, name: str, default: float = 0.0) -> Array:
        """Values of one parameter as a column against chips, or `default` where the model has none."""
        if name in self._index:
            return natural[..., self._index[name], None]
        return np.full((*natural.shape[:-1], 1), default)

    def of_each(self, natural: Array, name: str, groups: tuple[str, ...], which: NDArray[np.int64]) -> Array:
        """Values of a parameter of every chip's club or lie, 0 where the model has none, shape (..., chips)."""
        columns = [self.get(natural, f"{name}[{group}]") for group in groups]
        found: Array = np.concatenate(columns, axis=-1)[..., which]
        return found

    def world(self, natural: Array) -> World:
        """Return what decides on the chips, at parameter values of shape (..., P)."""
        chips = self.chips
        noted = np.isfinite(chips.heading)
        heading = np.where(noted, chips.heading, 0.0)
        cosine, sine = np.cos(heading), np.sin(heading)
        along = self.rolling.by_spot(natural, "fall_along")[..., chips.spot]
        left = self.rolling.by_spot(natural, "fall_left")[..., chips.spot]
        grain = [self.get(natural, f"grain_{part}") for part in ("along", "left")]
        fields = {name: self.get(natural, f"turf[{name}]") for name in turf_fields(self.law)}
        return World(
            resistance={name: part[..., chips.spot] for name, part in self.rolling.coefficients(natural).items()},
            grain=(noted * (grain[0] * cosine + grain[1] * sine), noted * (grain[1] * cosine - grain[0] * sine)),
            fall=(noted * (along * cosine + left * sine), noted * (left * cosine - along * sine)),
            turf=fields,
            law=self.law,
            attack=self.get(natural, "attack"),
            shaft_lean=self.get(natural, "shaft_lean"),
            direction=self.get(natural, "start_direction"),
            friction=self.of_each(natural, "face_friction", chips.lies, chips.lie),
            cushion=np.minimum(self.of_each(natural, "cushion", chips.lies, chips.lie), 0.9),
            loft_error=self.of_each(natural, "loft_error", chips.clubs, chips.club),
            drag_scale=self.get(natural, "drag_scale", 1.0),
            lift_scale=self.get(natural, "lift_scale", 1.0),
        )

    def expected(self, natural: Array) -> Array:
        """Return what should be seen of every chip, shape (..., chips, 6); values that repeat are played once."""
        flat = natural.reshape(-1, natural.shape[-1])
        physical = flat[:, self._columns]
        new = np.ones(len(flat), dtype=bool)
        new[1:] = (physical[1:] != physical[:-1]).any(axis=1)
        once = flat[new]
        piece = max(1, PLAYED_AT_ONCE // len(self.chips))
        parts = [self.physics.play(self.world(once[at : at + piece]))[0] for at in range(0, len(once), piece)]
        found: Array = np.concatenate(parts)[np.cumsum(new) - 1]
        return found.reshape(*natural.shape[:-1], len(self.chips), len(SEEN))

    def referred(self, natural: Array) -> "ChipModel":
        """Return the same model with its answers taken around parameter values of shape (P,)."""
        point, model = natural[None], self
        for _ in range(2):
            *_, guess = model.physics.play(model.world(point))
            model = replace(model, physics=replace(model.physics, guess=guess[0]))
        return replace(model, answers=model._answers(point))

    def _answers(self, point: Array) -> Answers:
        world, chips = self.world(point), self.chips
        middle, errors = self.physics.play(world)[0][0], self.errors(point)[0]
        slope, curve = {}, {}
        for name in ("landing", "angle", "spin", "direction"):
            step = np.array([[STEPS[name]], [-STEPS[name]]])
            values = self.physics.play(world, Shift(**{name: step}))[0]
            slope[name] = (values[0] - values[1]) / (2 * STEPS[name])
            curve[name] = (values[0] + values[1] - 2 * middle) / STEPS[name] ** 2
        slopes = np.zeros((len(chips), len(SEEN), len(ERRORS)))
        seen = chips.landing_seen[:, None]
        slopes[:, :, 0] = np.where(seen, 0.0, slope["landing"])
        slopes[:, :, 1] = np.where(seen, -slope["landing"], 0.0)
        slopes[:, CARRY, 0] = 1.0
        slopes[:, CARRY, 1] = 1.0
        for column, name in enumerate(ERRORS[2:], 2):
            slopes[:, :, column] = slope[name]
            slopes[:, CARRY, column] = 0.0
        unknown = np.zeros((len(chips), len(SEEN)))
        blank = ~np.isfinite(chips.heading)
        if blank.any():
            unknown[blank] = UNKNOWN_FALL * self._by_fall(world)[blank]
        return Answers(
            slopes=slopes,
            to_landing=np.where(seen, 0.0, slope["landing"]),
            shift=sum(0.5 * curve[name] * errors[:, ERRORS.index(name), None] ** 2 for name in ("angle", "spin")),
            run=np.abs(middle[:, REST] - chips.landing),
            unknown=unknown,
        )

    def _by_fall(self, world: World) -> Array:
        """Change of what is seen per unit of fall, along the line for all but the drift, which falls across."""
        step = np.array([[STEPS["fall"]], [-STEPS["fall"]]])
        zero = np.zeros_like(world.fall[0])
        along = self.physics.play(replace(world, fall=(zero + step, zero)))[0]
        across = self.physics.play(replace(world, fall=(zero, zero + step)))[0]
        change: Array = (along[0] - along[1]) / (2 * STEPS["fall"])
        change[:, SIDE] = (across[0, :, SIDE] - across[1, :, SIDE]) / (2 * STEPS["fall"])
        change[:, CARRY] = 0.0
        result: Array = np.abs(change)
        return result

    def landing_scatter(self, natural: Array) -> Array:
        """Return the standard deviation of each chip's landing about its aim, m, shape (..., chips)."""
        chips = self.chips
        relative = relative_scatter(
            self.get(natural, "landing_relative"),
            self.get(natural, "scatter_growth"),
            self.get(natural, "between_clubs"),
            self.of_each(natural, "club_scatter", chips.clubs, chips.club),
            self.ratio,
        )
        aim = np.where(np.isfinite(chips.target), chips.target, chips.landing)
        found: Array = np.hypot(self.get(natural, "landing_absolute"), relative * aim)
        return found

    def errors(self, natural: Array) -> Array:
        """Return standard deviations of the errors behind each chip, shape (..., chips, 5)."""
        chips = self.chips
        # far out, where no posterior is, a number is still a number
        own = np.exp(np.clip(self.of_each(natural, "club_launch", chips.clubs, chips.club), -30.0, 30.0))
        flat = np.zeros(len(chips))
        return np.stack(
            [
                self.landing_scatter(natural),
                self.get(natural, "landing_reading") + flat,
                self.get(natural, "angle_scatter") * own,
                self.get(natural, "spin_scatter") * own,
                self.get(natural, "direction_scatter") + flat,
            ],
            axis=-1,
        )

    def own_noise(self, natural: Array, answers: Answers) -> list[Array]:
        """Return standard deviations of what each observation has to itself, six arrays (..., chips)."""
        flat = np.zeros(len(self.chips))
        landing = self.get(natural, "landing_reading") + flat
        own = {
            CARRY: 1e-3 + flat,
            HANG: self.get(natural, "time_reading") + flat,
            HOP: landing,
            REST: np.hypot(TAPE_SD, self.get(natural, "run_scatter") * answers.run),
            LANDING_SIDE: landing,
            SIDE: TAPE_SD + flat,
        }
        seen = self.chips.seen
        return [np.where(seen[:, k], np.hypot(own[k], answers.unknown[:, k]), MISSING) for k in range(len(SEEN))]

    def misfit(self, natural: Array) -> Array:
        """Return what was seen less what should be, 0 where nothing was seen, shape (..., chips, 6)."""
        assert self.answers is not None
        chips, expected = self.chips, self.expected(natural)
        target = np.where(np.isfinite(chips.target), chips.target, 0.0)
        bias = self.get(natural, "carry_bias") * target
        misfit = chips.values - expected - self.answers.shift - bias[..., None] * self.answers.to_landing
        misfit[..., CARRY] = chips.landing - target - bias
        return np.where(chips.seen, misfit, 0.0)

    def compare(self, natural: Array) -> tuple[Array, Array]:
        """Return residuals and scales, each given what was seen of the chip before, shape (..., chips, 6)."""
        assert self.answers is not None
        answers = self.answers
        misfit, errors = self.misfit(natural), self.errors(natural)
        noise = self.own_noise(natural, answers)
        loaded = [answers.slopes[:, k, :] * errors for k in range(len(SEEN))]
        lower: list[list[Array]] = []
        standard: list[Array] = []
        residual, scale = np.empty(misfit.shape), np.empty(misfit.shape)
        for j in range(len(SEEN)):
            row: list[Array] = []
            for k in range(j):
                shared = np.einsum("...m,...m->...", loaded[j], loaded[k])
                for m in range(k):
                    shared = shared - row[m] * lower[k][m]
                row.append(shared / scale[..., k])
            rest = np.einsum("...m,...m->...", loaded[j], loaded[j]) + noise[j] ** 2
            for part in row:
                rest = rest - part**2
            scale[..., j] = np.sqrt(np.maximum(rest, 1e-8))
            carried = sum((part * z for part, z in zip(row, standard, strict=True)), np.zeros(misfit.shape[:-1]))
            residual[..., j] = np.where(self.chips.seen[:, j], misfit[..., j] - carried, 0.0)
            standard.append(np.clip(residual[..., j] / scale[..., j], -MOST_CARRIED, MOST_CARRIED))
            lower.append(row)
        return residual, scale

    def block(self) -> Block:
        """Return the residuals of everything that was seen."""
        seen = self.chips.seen
        bundle = np.repeat(np.arange(len(self.chips)), len(SEEN)).reshape(seen.shape)[seen]

        def evaluate(natural: Array) -> tuple[Array, Array]:
            residual, scale = self.compare(natural)
            return residual[..., seen], scale[..., seen]

        return Block(name="chips", evaluate=evaluate, loss=MisHitTolerant(bundle))
