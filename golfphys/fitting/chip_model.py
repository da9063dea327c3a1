"""Residuals of a chip log: what was seen of each chip against what the model says, with the errors that chips share.

A face that comes with too little lean sends the ball higher: it lands elsewhere, hops less and stops shorter, all at
once; a landing spotted 10 cm wrong shifts all that follows from it. So what was seen of one chip is correlated. The
covariance is built from how each observation answers to the errors behind it (those of the strike, the reading of the
landing, local slopes), by differences around a reference, and each observation is then compared with what the ones
before it lead to expect. Heavy and thin strikes enter beside it, see `golfphys.fitting.strikes`. Balls at a target on
the landing spot are beside them, by how many landed on it.
"""

import math
from dataclasses import dataclass, replace
from functools import cached_property
from types import SimpleNamespace
from typing import Any

import numpy as np
from scipy.special import ndtr, xlogy

from golfphys.core.names import Array, Columns, Names
from golfphys.fitting.chip_density import RARE, MisHitTolerant, Seen, compare, packed, seen_of
from golfphys.fitting.chip_physics import ChipPhysics, World
from golfphys.fitting.chips import CARRY, HANG, HOP, HOP_TIME, LANDING_SIDE, SEEN, SIDE, Chips, Targets
from golfphys.fitting.estimator import Block, Normal
from golfphys.fitting.player import ERRORS, MOST, MOST_UNEVEN
from golfphys.fitting.rollout_layout import POWERS, Layout, turned
from golfphys.fitting.strikes import Shift, Swings, Window, marks_of, window_of
from golfphys.physics.club import ERROR_KINDS, OPTIONS, Delivery, Lie
from golfphys.physics.draws import mapped
from golfphys.physics.green import TurfLaw

TAPE_SD = 0.04  # standard error in m of a rest measured along and across the line of play (common practice, no source)
# Fall along a line of play whose heading was not noted: standard deviation (common practice: 1 to 3 % steepest)
UNKNOWN_FALL = 0.015
EDGE_AIM = 0.53  # aim of the edge where a model does not have it: between the reference players
PLAYED_AT_ONCE = 20_000  # chips that are played at once: as many as fit the processor's cache
# Parameters on which the flight of chips depends
FLOWN_BY = (
    *("attack", "shaft_lean", "start_direction", "option_lean", "option_start", "loft_error"),
    *("face_friction", "spin_factor", "cushion", "drag_scale", "lift_scale", "turf"),
    *("resistance", *POWERS, "fall_along", "fall_left", "grain_along", "grain_left"),
)
LANDINGS = 3  # landings that meet a local slope each, as in `golfphys.physics.shot`
# Steps of the differences, near the size of the errors themselves: across a kink (where the ball begins to slip) what
# counts is how an observation answers to errors of that size
STEPS = {"landing": 0.06, "angle": 0.025, "spin": 0.12, "direction": 0.02, "fall": 0.004, "bump": 0.01, "patch": 0.05}


@dataclass(frozen=True, kw_only=True)
class Answers:
    """How what is seen of each chip answers to the errors behind it, around a reference."""

    # How observations answer to the errors of speed, direction, attack, lean, low point, of the reading of the landing,
    # and to local slopes; what mis-hits do to them; their noise from a heading that was not noted.
    seen: Seen
    to_landing: Array  # change of each observation per metre of landing, (chips, 7)
    shift: Array  # by how much errors move each observation on average, (chips, 7): both ways they do not cancel


@dataclass(frozen=True, kw_only=True)
class ChipModel:
    """Chips as part of a model whose parameters are `names`."""

    chips: Chips
    physics: ChipPhysics
    rolling: Layout | None  # where resistance and slope of the spots stand; None if nothing is to be played
    law: TurfLaw
    names: Names
    lie: Lie  # of each chip, its numbers arrays (chips,)
    # Around a reference, none until it is taken: what errors of the strike do to each ball, and the answers.
    window: Window | None = None
    answers: Answers | None = None

    @cached_property
    def physical(self) -> Columns:
        """Columns of the parameters on which the flight of chips depends."""
        return self.names.columns(*FLOWN_BY)

    def get(self, natural: Array, name: str, of: str = "", *, default: float = 0.0) -> Array:
        """Values of one parameter as a column against chips, or `default` where the model has none."""
        return self.names.get(natural, name, of, default=default)[..., None]

    def of_each(self, natural: Array, name: str, by: str) -> Array:
        """Values of a parameter of every chip's club, lie or option (`by`), 0 where it has none, (..., chips)."""
        return self.names.values(natural, name, getattr(self.chips, f"{by}s"))[..., getattr(self.chips, by)]

    def _stated(self, name: str) -> Any:
        """What each chip's option changes in her delivery."""
        changes = np.array([float(getattr(OPTIONS[option], name)) for option in self.chips.options])
        return changes[self.chips.option] if changes.any() else 0.0

    def carry_bias(self, natural: Array) -> Array:
        """Return by how much of its aim each chip lands beyond it on average."""
        departs = [self.of_each(natural, f"{by}_carry", by) for by in ("lie", "club", "option")]
        return np.asarray(self.get(natural, "carry_bias") + sum(departs))

    def world(self, natural: Array) -> World:
        """Return what decides on the chips, at parameter values of shape (..., P)."""
        chips, rolling = self.chips, self.rolling
        assert rolling is not None
        noted = np.isfinite(chips.heading)
        heading = np.where(noted, chips.heading, 0.0)
        grain = (self.get(natural, f"grain_{part}") for part in ("along", "left"))
        fall = (part[..., chips.spot] for part in rolling.fall(natural))

        def ahead_and_left(along: Array, left: Array) -> tuple[Array, Array]:
            ahead, aside = turned(along, left, heading)
            return noted * ahead, noted * aside

        return World(
            resistance={name: part[..., chips.spot] for name, part in rolling.coefficients(natural).items()},
            grain=ahead_and_left(*grain),
            fall=ahead_and_left(*fall),
            turf=self.names.by_member(natural[..., None, :], "turf"),
            law=self.law,
            **self.delivery(natural),
            drag_scale=self.get(natural, "drag_scale", default=1.0),
            lift_scale=self.get(natural, "lift_scale", default=1.0),
        )

    def attack_and_lean(self, natural: Array) -> tuple[Array, Array]:
        """Return angle of attack and shaft lean of each chip, rad, shape (..., chips)."""
        lean = self.get(natural, "shaft_lean") + self._stated("lean")
        attack = self.get(natural, "attack") + self._stated("attack")
        return attack, lean + self.of_each(natural, "option_lean", "option")

    def delivery(self, natural: Array) -> dict[str, Array]:
        """Return what of a world decides on the strike: delivery, lies, lofts."""
        attack, lean = self.attack_and_lean(natural)
        return {
            "attack": attack,
            "shaft_lean": lean,
            "opening": self._stated("opening"),
            "direction": self.get(natural, "start_direction") + self.of_each(natural, "option_start", "option"),
            "friction": self.of_each(natural, "face_friction", "lie"),
            "spin_factor": self.of_each(natural, "spin_factor", "lie"),
            "cushion": np.minimum(self.of_each(natural, "cushion", "lie"), 0.9),
            "loft_error": self.of_each(natural, "loft_error", "club"),
        }

    def expected(self, natural: Array) -> Array:
        """Return what should be seen of every chip, shape (..., chips, 7); values that repeat are played once."""
        flat = natural.reshape(-1, natural.shape[-1])
        physical = flat[:, self.physical]
        new = np.ones(len(flat), dtype=bool)
        new[1:] = (physical[1:] != physical[:-1]).any(axis=1)
        once = flat[new]
        piece = max(1, PLAYED_AT_ONCE // len(self.chips))
        parts = [self.physics.play(self.world(once[at : at + piece])) for at in range(0, len(once), piece)]
        found: Array = np.concatenate(parts)[np.cumsum(new) - 1]
        return found.reshape(*natural.shape[:-1], len(self.chips), len(SEEN))

    def referred(self, natural: Array) -> "ChipModel":
        """Return the same model with its window and answers taken around parameter values of shape (P,)."""
        point = natural[None]
        world = self.world(point)
        model = replace(self, physics=self.physics.around(world))
        model = replace(model, window=window_of(model.swings(point, world, model.aim)))
        return replace(model, answers=model._answers(point, world))

    def thinned(self, most: int) -> "ChipModel":
        """Return the model of so many of the chips at most, evenly out of the log."""
        every = slice(None, None, math.ceil(len(self.chips) / most))
        own = {name: mapped(getattr(self, name), lambda x: x[every]) for name in ("chips", "physics", "lie")}
        return replace(self, **own)

    @property
    def aim(self) -> Array:
        """Carry aimed for, or where that was not noted the one seen, m, shape (chips,)."""
        return np.where(np.isfinite(self.chips.target), self.chips.target, self.chips.landing)

    def swings(self, natural: Array, world: Any, aim: Array) -> Swings:
        """Return swings meant to carry to `aim`, (..., chips), by a world's delivery, friction, cushion and lofts."""
        swing = {"attack": world.attack, "shaft_lean": world.shaft_lean, "face_opening": world.opening}
        swing |= {"edge_aim": self.get(natural, "edge_aim", default=EDGE_AIM)}
        # the fit takes lies as level; what is left of the spin is the same of every strike
        ground: dict[str, Any] = {"spin_factor": 1.0, "slope_along": 0.0, "slope_across": 0.0}
        return Swings(
            club=replace(self.physics.club, loft=np.clip(self.physics.club.loft + world.loft_error, 0.05, 1.4)),
            lie=replace(self.lie, friction=world.friction, cushion=world.cushion, **ground),
            delivery=Delivery(speed=self.physics.head_speed(world, aim), **swing),
        )

    def _answers(self, point: Array, world: World) -> Answers:
        chips, window, middle = self.chips, self.window, self.physics.play(world)[0]
        assert window is not None
        played = {name: self._differences(world, middle, name) for name in ("landing", "angle", "spin", "direction")}
        slope = {name: parts[0] for name, parts in played.items()}
        seen = chips.landing_seen[:, None, None]
        turns = ("angle", "spin", "direction")
        angle, spin, direction = (getattr(window, name)[:, None] * slope[name][..., None] for name in turns)
        of_strike = np.asarray(angle + spin + direction)
        carried = self.aim[:, None] * window.carry
        of_strike = of_strike + np.where(seen, 0.0, slope["landing"][:, :, None] * carried[:, None, :])
        of_strike[:, CARRY] = carried
        reading = np.where(seen, -slope["landing"][:, :, None], 0.0)
        reading[:, CARRY] = 1.0
        bumps, patch = self._by_bumps(world)
        slopes = np.concatenate([of_strike, reading, patch], axis=-1)
        unknown, blank = np.zeros((len(chips), len(SEEN))), ~np.isfinite(chips.heading)
        if blank.any():
            unknown[blank] = UNKNOWN_FALL * self._by_fall(world)[blank]
        # the landing of a chip whose landing was not seen is that of its aim
        errors = np.stack(self.strike_errors(point)[:5], axis=-1)[0]
        shift = sum(
            0.5 * played[name][1] * ((getattr(window, name) * errors) ** 2).sum(axis=-1)[:, None]
            for name in ("angle", "spin")
        )
        known = seen_of(chips.seen, slopes, bumps, unknown, self._mis_hits(world, middle, window))
        to_landing = np.where(seen[..., 0], 0.0, slope["landing"])
        return Answers(seen=known, to_landing=to_landing, shift=np.asarray(shift))

    def _differences(self, world: World, middle: Array, name: str) -> tuple[Array, Array]:
        """First and second derivative of what is seen by one kind of shift."""
        step = np.array([[STEPS[name]], [-STEPS[name]]])
        values = self.physics.play(world, Shift(**{name: step}))
        slope = (values[0] - values[1]) / (2 * STEPS[name])
        curve = (values[0] + values[1] - 2 * middle) / STEPS[name] ** 2
        slope[:, CARRY] = curve[:, CARRY] = 0.0
        return slope, curve

    def _by_bumps(self, world: World) -> tuple[Array, Array]:
        """Change of what is seen per unit of local slope at the first landings, along and across, (chips, 7, 6).

        And by the patch of turf at the first, (chips, 7, 1).
        """
        places = [*((landing, part) for landing in range(LANDINGS) for part in (0, 1)), (0, 2)]
        sizes = np.array([STEPS["patch" if part == 2 else "bump"] for _, part in places])
        bumps = np.zeros((LANDINGS, 3, 2 * len(places), len(self.chips)))
        for number, (place, size) in enumerate(zip(places, sizes, strict=True)):
            bumps[*place, 2 * number : 2 * number + 2] = [[size], [-size]]
        values = self.physics.play(world, Shift(bumps=bumps))
        found: Array = np.moveaxis((values[::2] - values[1::2]) / (2 * sizes[:, None, None]), 0, -1)
        found[:, [CARRY, HANG, LANDING_SIDE]] = 0.0
        return found[..., :-1], found[..., -1:]

    def _mis_hits(self, world: World, middle: Array, window: Window) -> tuple[Array, Array]:
        """Mean change of what is seen by each step of mis-hits, and its standard deviation within the step."""
        ends: list[Array] = []
        for part in (window.least, window.most):
            off = self.aim[:, None] * (np.asarray(part.carry) - 1.0)
            landing = np.where(self.chips.landing_seen, 0.0, off.T)
            shift = replace(part.shift, landing=landing, angle=part.shift.angle.T, spin=part.shift.spin.T)
            ends.append(np.moveaxis(self.physics.play(world, shift) - middle, 0, 1))
            ends[-1][..., CARRY] = off
        return (ends[0] + ends[1]) / 2, (ends[1] - ends[0]) / math.sqrt(12.0)

    def _by_fall(self, world: World) -> Array:
        """Change of what is seen per unit of fall, along the line for all but the drift, which falls across."""
        step, zero = np.array([[STEPS["fall"]], [-STEPS["fall"]]]), np.zeros_like(world.fall[0])
        along = self.physics.play(replace(world, fall=(zero + step, zero)))
        across = self.physics.play(replace(world, fall=(zero, zero + step)))
        along[..., SIDE] = across[..., SIDE]
        change = np.abs(along[0] - along[1]) / (2 * STEPS["fall"])
        change[:, CARRY] = 0.0
        return np.asarray(change)

    def strike_errors(self, natural: Array) -> list[Array]:
        """Return standard deviations of the six errors of each strike, each (..., chips)."""
        assert self.window is not None
        # far out, where no posterior is, a number is still a number
        own = self.of_each(natural, "club_errors", "club") * self.get(natural, "between_clubs")
        wider = np.exp(np.clip(own + self.of_each(natural, "option_errors", "option"), -5.0, 5.0))
        # no wider than a player's can be: beyond, rounding makes certainty of what nobody knows
        limits = zip(ERRORS, (MOST[kind] for kind in ERROR_KINDS), strict=True)
        sds = [np.minimum(self.get(natural, error) * wider, most) for error, most in limits]
        return self.window.errors(sds, np.minimum(self.get(natural, "unevenness", default=1.0), MOST_UNEVEN))

    def _own_noise(self, natural: Array) -> Array:
        """Return standard deviations of what each observation has to itself, shape (draws, 7)."""
        flat = np.zeros((len(natural), 1))
        landing, time = (self.get(natural, f"{name}_reading") for name in ("landing", "time"))
        tape = flat + TAPE_SD
        own = {CARRY: flat + 1e-3, HANG: time, HOP: landing, LANDING_SIDE: landing, HOP_TIME: time}
        return np.concatenate([own.get(kind, tape) for kind in range(len(SEEN))], axis=1)

    def misfit(self, natural: Array) -> Array:
        """Return what was seen less what should be, 0 where nothing was seen, shape (..., chips, 7)."""
        assert self.answers is not None
        chips, expected = self.chips, self.expected(natural)
        target = np.where(np.isfinite(chips.target), chips.target, 0.0)
        bias = self.carry_bias(natural) * target
        misfit = chips.values - expected - self.answers.shift - bias[..., None] * self.answers.to_landing
        misfit[..., CARRY] = chips.landing - target - bias
        return np.where(chips.seen, misfit, 0.0)

    def compare(self, natural: Array, meant: Array | None = None) -> tuple[Array, Array, Array, Array]:
        """Compare chips with parameter values of shape (draws, P); what is meant may be that of other values.

        Returns residuals of a clean strike and scales, each given what was seen before, (draws, chips, 7); and the
        logarithms of the probability of a clean strike and of the density as a mis-hit, with what was noted of it.
        """
        assert self.answers is not None
        clean, noted, _ = marks_of(self.chips.struck)
        strike = self.strike_errors(natural)
        share, steps = self.shares(natural, strike)
        shared = self.get(natural, "landing_reading"), self.get(natural, "turf", "patchiness")
        residual, scale, missed = compare(
            self.answers.seen,
            self.misfit(natural if meant is None else meant),
            np.stack([*strike[:5], *(np.broadcast_to(item, share.shape) for item in shared)]),
            self.get(natural, "local_slope")[:, 0],
            self._own_noise(natural),
            steps * noted,
        )
        return residual, scale, np.log(np.maximum(share * clean, RARE)), missed

    def shares(self, natural: Array, errors: list[Array]) -> tuple[Array, Array]:
        """Probability of a clean strike (..., chips), and of each step of mis-hits (..., chips, steps).

        `errors` are the `strike_errors` there.
        """
        assert self.window is not None
        edge_aim = self.get(natural, "edge_aim", default=EDGE_AIM)
        return self.window.shares(errors, edge_aim, *self.attack_and_lean(natural))

    def block(self) -> Block:
        """Return the residuals of everything that was seen, then what `MisHitTolerant` wants to know of each chip."""
        seen = self.chips.seen
        any_seen = seen.any(axis=1)
        number = np.cumsum(any_seen) - 1
        bundle = np.repeat(number, len(SEEN)).reshape(seen.shape)[seen]
        other = marks_of(self.chips.struck)[2]

        def evaluate(natural: Array) -> tuple[Array, Array]:
            residual, scale, usual, missed = self.compare(natural.reshape(-1, natural.shape[-1]))
            ones = np.ones((len(residual), 2 * int(any_seen.sum())))
            parts = [residual[:, seen], usual[:, any_seen], packed(missed)[:, any_seen]]
            found = (np.concatenate(parts, axis=-1), np.concatenate([scale[:, seen], ones], axis=-1))
            return tuple(part.reshape(*natural.shape[:-1], -1) for part in found)  # type: ignore[return-value]

        return Block(name="chips", evaluate=evaluate, loss=MisHitTolerant(bundle, other[any_seen]))


@dataclass(frozen=True, kw_only=True)
class TargetModel:
    """Balls played at a towel or a hoop on the landing spot, so many of which landed on it, as part of a model.

    A clean strike lands about its aim, normal along and across the line; a mis-hit lands short or long by how bad it
    got, see `golfphys.fitting.strikes`. The target is taken as the square of its area. Counts are binomial.
    """

    targets: Targets
    chips: ChipModel  # of their aims: nothing is played with it, so that it need not know any green

    def referred(self, natural: Array) -> "TargetModel":
        """Return the same model with its window taken around parameter values of shape (P,)."""
        world = SimpleNamespace(**self.chips.delivery(natural[None]))
        window = window_of(self.chips.swings(natural[None], world, self.chips.aim))
        return replace(self, chips=replace(self.chips, window=window))

    def probability(self, natural: Array) -> Array:
        """Probability that a ball lands on the target, shape (..., sets)."""
        model, window = self.chips, self.chips.window
        assert window is not None
        aim, half = model.aim, self.targets.size * math.sqrt(math.pi) / 4
        errors = model.strike_errors(natural)
        loaded = np.stack(errors[:5], axis=-1)
        along, across = (
            aim * np.sqrt(((slope * loaded) ** 2).sum(axis=-1)) for slope in (window.carry, window.direction)
        )
        bias, turned = aim * model.carry_bias(natural), aim * model.delivery(natural)["direction"]
        clean, missed = model.shares(natural, errors)
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
