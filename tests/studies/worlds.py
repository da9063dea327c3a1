"""Invented worlds for the study of decisions: courses, players and positions whose truth is known, and their sheets.

Three worlds. ``fit``: the laws are those that the fit and the plan assume. ``linear`` and ``uneven`` are worlds of
others: neither bounce, roll, launch, spin nor scatter of the player follow the laws of the fit; what they share with
it is the form of drag and lift (with other scales) and rigid motion. In all of them she errs while she is measured
just as she errs when her choice is played out, mis-hits included.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, fields, replace
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from tally import near

import golfphys
from golfphys.core import constants
from golfphys.fitting.course_fit import CourseFit
from golfphys.invented import CourseTruth, DropDesign, RolloutDesign, make_drops, make_rollouts
from golfphys.physics.club import BAG, LIES, TOUR_ERRORS, TOUR_PLAYER, Delivery, Launch, Player
from golfphys.physics.draws import LOCAL_SLOPE, Draws, assumed, stated
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.physics.strike import strike
from golfphys.planning.position import Choice as Played
from golfphys.planning.position import Position
from golfphys.planning.world import ERRORS, LAUNCH, Swings, World, brought, swings_for
from golfphys.sheets import Sheet, completed

Floats = NDArray[np.float64]

SPOT = "home-left"
SEED = 20250601
WORLDS = ("fit", "linear", "uneven")
HEADINGS = (0.0, math.pi / 2, math.pi, 3 * math.pi / 2)
LOGGED = ("8-iron", "pitching wedge", "sand wedge", "lob wedge")
RELEASE = constants.RAMP_RELEASE_SPEED.value
EDGE = 2.0
AWAY = 90.0
"""Where the hole is while chips are logged, m: out of the way."""


@dataclass(frozen=True, kw_only=True)
class OwnStrike:
    """A strike by no law of the library: speed, angle and spin off the face, and what goes wrong.

    Launch angle is a fixed part of the loft delivered, spin a fixed part of the rim speed that the loft would give,
    less in long grass; errors are made in speed, angle, spin and direction, and differ by club. Her low point is
    normal: some length of turf before the ball costs speed, the leading edge gives a thin shot.
    """

    lofts: Mapping[str, float]
    looser: Mapping[str, float]
    lean: float
    angle_kept: float
    spin_kept: float
    grip: Mapping[str, float]
    speed: float
    angle: float
    spin: float
    direction: float
    low_point: float

    def launch(self, club: str, lie: str, speed: Floats, normal: Floats) -> Launch:
        """Return launches of head speeds with errors, standard normals of shape (6, ...)."""
        loft = self.lofts[club] - self.lean
        angle = self.angle_kept * loft + self.angle * normal[2]
        more = np.exp(self.speed * self.looser[club] * normal[0])
        spin = self.spin_kept * self.grip[lie] * np.exp(self.spin * normal[3])
        behind = np.maximum(-(self.low_point * normal[4] + 0.022), 0.0)
        thin = self.low_point * normal[4] > 0.042
        ball = speed * more * (1.42 - 0.62 * loft) * np.exp(-behind / 0.05)
        return Launch(
            np.where(thin, 1.15 * ball, ball),
            np.where(thin, 0.35 * angle, angle),
            np.where(thin, 0.4, 1.0) * spin * speed * more * math.sin(loft) / 0.02135,
            self.direction * normal[1] + 0.0 * ball,
            0.0 * ball,
        )


@dataclass(frozen=True, kw_only=True)
class OwnSwings(Swings):
    """Choices in a world whose strike is `OwnStrike`."""

    strike: OwnStrike

    def launch(self, speeds: Floats, normal: Floats | None = None) -> Launch:
        """Return launches of shape (draws, choices, spots, errors)."""
        errors = (np.zeros((ERRORS, 1, 1)) if normal is None else np.asarray(normal))[:ERRORS, :, None, :]
        columns = {name: np.empty((*np.shape(speeds), errors.shape[-1])) for name in LAUNCH}
        for number, choice in enumerate(self.choices):
            meant = np.asarray(speeds, float)[:, number, :, None]
            found = self.strike.launch(choice.club, self.world.position.lie, meant, errors)
            for name, column in columns.items():
                column[:, number] = getattr(found, name)
        return Launch(**columns)


@dataclass(frozen=True, kw_only=True)
class Case:
    """One course, player and position with the truth about them; `strike` is None where it is the library's."""

    world: str
    number: int
    draws: Draws
    position: Position
    heading: float
    strike: OwnStrike | None = None

    @property
    def truth(self) -> World:
        """The true world, seen along the line of play."""
        return World(draws=self.draws.turned(self.heading), position=self.position)

    def swings(self, world: World, clubs: Sequence[str] = tuple(BAG)) -> Swings:
        """Return clubs in a world of one draw, struck as she strikes."""
        library = swings_for([Played(club=name) for name in clubs], world)
        if self.strike is None:
            return library
        own = OwnSwings(**vars(library), strike=self.strike)
        shots = world.play(own.launch(own.speed[None]))
        lands = np.nan_to_num(np.asarray(shots.landing_x)[..., 0], posinf=1e3)
        return replace(own, reached=np.swapaxes(np.maximum.accumulate(lands, axis=-1), 0, 1))

    def launch(self, club: str, world: World, speed: Floats, normal: Floats) -> Launch:
        """Return launches of head speeds with errors, one each."""
        if self.strike is None:
            taken, swing, lie, errors = brought(Played(club=club), world.draws, world.position)
            return strike(taken, replace(swing, speed=speed), lie, normal, errors).launch
        return self.strike.launch(club, world.position.lie, speed, normal)


class Sheets(NamedTuple):
    """What measuring brought home."""

    rollouts: Sheet
    drops: Sheet
    chips: Sheet


def draw_case(world: str, number: int) -> Case:
    """Draw a case; the same world and number always give the same."""
    rng = np.random.default_rng([SEED, WORLDS.index(world), number])
    speed, grade, fall = rng.uniform(7.5, 12.5), rng.uniform(0.0, 0.03), rng.uniform(-math.pi, math.pi)
    plane = Green.from_stimp(float(speed), grade=float(grade), fall_direction=float(fall))
    lie = str(rng.choice(["fairway", "light rough"]))
    edge = float(rng.uniform(1.0, 8.0))
    position = Position(to_edge=edge, to_pin=edge + float(rng.uniform(4.0, 20.0)), lie=lie)
    heading = float(rng.uniform(0.0, 2 * math.pi))
    made = {"fit": _world_of_the_fit, "linear": _linear_world, "uneven": _uneven_world}[world](plane, rng)
    around = assumed(n=1, seed=number).one(0).around
    draws = replace(made[0], around=around)
    return Case(world=world, number=number, draws=draws, position=position, heading=heading, strike=made[1])


def earlier(case: Case, week: int) -> Case:
    """Return the player of a case on another course, some weeks before."""
    other = draw_case(case.world, 10_000 + 10 * case.number + week)
    return replace(other, draws=replace(other.draws, player=case.draws.player), strike=case.strike)


def _world_of_the_fit(plane: Green, rng: np.random.Generator) -> tuple[Draws, None]:
    usual = {"restitution": (0.51, 0.05, 0.38, 0.64), "tilt": (0.269, 0.04, 0.15, 0.4)}
    usual |= dict.fromkeys(("friction", "skid_friction"), (0.40, 0.08, 0.2, 0.6))
    turf = Turf(**{name: float(np.clip(rng.normal(*law[:2]), *law[2:])) for name, law in usual.items()})
    lies = {name: replace(lie, friction=near(rng, lie.friction, 0.25)) for name, lie in LIES.items()}
    player, slope = _player(rng), near(rng, LOCAL_SLOPE, 0.2)
    return stated(replace(plane, turf=turf), player=player, lies=lies, local_slope=slope), None


def _player(rng: np.random.Generator) -> Player:
    delivery = Delivery(
        speed=8.0,
        attack=float(np.clip(rng.normal(math.radians(-4.0), math.radians(1.5)), -0.15, 0.02)),
        shaft_lean=float(np.clip(rng.normal(math.radians(8.0), math.radians(2.5)), 0.02, 0.25)),
    )
    level = 0.3 * rng.standard_normal()
    names = ("speed", "direction", "attack", "shaft_lean", "low_point", "height")
    errors = {name: near(rng, getattr(TOUR_ERRORS, name) * math.exp(level), 0.25) for name in names}
    return replace(TOUR_PLAYER, name="invented player", delivery=delivery, errors=replace(TOUR_ERRORS, **errors))


def _uniform(rng: np.random.Generator, **ranges: tuple[float, float]) -> dict[str, float]:
    return {name: float(rng.uniform(*ends)) for name, ends in ranges.items()}


def _own_strike(rng: np.random.Generator, low_point: float) -> OwnStrike:
    return OwnStrike(
        lofts={name: club.loft + math.radians(rng.normal(0.0, 0.7)) for name, club in BAG.items()},
        looser={name: near(rng, math.exp(0.6 * (club.loft - 0.85)), 0.15) for name, club in BAG.items()},
        lean=float(np.clip(rng.normal(math.radians(7.0), math.radians(2.5)), 0.0, 0.25)),
        angle_kept=float(rng.uniform(0.80, 0.90)),
        spin_kept=float(rng.uniform(0.60, 0.95)),
        grip={name: near(rng, 0.7 if "rough" in name else 1.0, 0.1) for name in LIES},
        speed=near(rng, 0.040, 0.3),
        angle=near(rng, math.radians(1.4), 0.3),
        spin=near(rng, 0.12, 0.3),
        direction=near(rng, math.radians(1.7), 0.3),
        low_point=low_point,
    )


def _linear_world(plane: Green, rng: np.random.Generator) -> tuple[Draws, OwnStrike]:
    """A bounce linear in the landing, resistance that grows with speed, a spin rule of its own, few mis-hits."""
    kept = _uniform(rng, restitution=(0.28, 0.42), forward_lift=(0.0, 0.06), speed_kept=(0.55, 0.72))
    kept |= _uniform(rng, speed_from_spin=(0.18, 0.30), spin_from_speed=(0.55, 0.75), spin_kept=(0.15, 0.35))
    turf = LinearTurf(**kept, **_uniform(rng, friction=(0.35, 0.7)))
    growth = float(rng.uniform(0.002, 0.006))
    resistance = Resistance(constant=float(plane.resistance.constant) - growth, linear=growth)
    draws = stated(replace(plane, turf=turf, resistance=resistance), local_slope=near(rng, LOCAL_SLOPE, 0.2))
    air = Aerodynamics(**_uniform(rng, drag_scale=(0.85, 1.2), lift_scale=(0.5, 1.4)))
    return replace(draws, aerodynamics=air), _own_strike(rng, 0.012)


def _uneven_world(plane: Green, rng: np.random.Generator) -> tuple[Draws, OwnStrike]:
    """A springy grip at landing, local slopes nearly twice as great, drag on the roll, mis-hits from her low point."""
    grip = _uniform(rng, restitution=(0.34, 0.46), restitution_linear=(-0.012, 0.0), tilt=(0.1, 0.3))
    grip |= _uniform(rng, dent_speed=(2.5, 6.0), friction=(0.3, 0.7), tangential_restitution=(0.1, 0.4))
    grip |= _uniform(rng, hop_loss=(0.004, 0.015), skid_friction=(0.3, 0.6))
    turf = Turf(**grip, restitution_quadratic=0.0)
    drag = float(rng.uniform(0.0005, 0.0015))
    resistance = Resistance(constant=float(plane.resistance.constant) - drag, quadratic=drag)
    draws = stated(replace(plane, turf=turf, resistance=resistance), local_slope=near(rng, 1.8 * LOCAL_SLOPE, 0.2))
    return draws, _own_strike(rng, float(rng.uniform(0.014, 0.022)))


def measure(case: Case, share: float) -> Sheets:
    """Measure a course for an hour: 12 rolls, 10 drops, 40 chips; half of them (`share` 0.5); with 120 chips (3.0)."""
    rng = np.random.default_rng([SEED + 1, WORLDS.index(case.world), case.number, int(10 * min(share, 1.0))])
    truth = CourseTruth(greens={SPOT: case.draws.green})
    full = share >= 1.0
    rolls = RolloutDesign(headings=HEADINGS if full else HEADINGS[:3], repeats=3 if full else 2)
    rollouts = make_rollouts(truth, rolls, rng)
    drops = make_drops(truth, DropDesign(repeats=5 if full else 3), rng)
    return Sheets(rollouts=rollouts, drops=drops, chips=_log(case, rng, math.ceil(5 * share), int(40 * share)))


def with_ground(fit: CourseFit, case: Case) -> CourseFit:
    """Return the fit of a case with what lies before the green measured as well: on each ground 4 rolls and 6 drops."""
    rng = np.random.default_rng([SEED + 3, WORLDS.index(case.world), case.number])
    grounds = {name: case.draws.around[name] for name, _ in case.position.ground_before}
    truth = CourseTruth(greens={name: Green(resistance=one.resistance, turf=one.turf) for name, one in grounds.items()})
    more = (
        make_rollouts(truth, RolloutDesign(headings=HEADINGS[::2], repeats=2), rng),
        make_drops(truth, DropDesign(repeats=3), rng),
    )
    both = [fit.sheets[one.kind].replaced(pd.concat([fit.sheets[one.kind].frame, one.frame])) for one in more]
    return replace(fit, around=golfphys.fit(*both, turf_law=fit.settings.turf_law).around)


def _log(case: Case, rng: np.random.Generator, repeats: int, most: int) -> Sheet:
    """Log chips with four clubs from two lies, each club up a ladder of landings, from four sides in turn."""
    ladder = np.linspace(3.0, 16.0, 2 * repeats).round(1)
    plays = pd.DataFrame(
        [
            {"club": club, "lie": lie, "target_carry": float(ladder[2 * number + side]), "turn": number}
            for club in LOGGED
            for side, lie in enumerate(("fairway", "light rough"))
            for number in range(repeats)
        ]
    )
    plays["heading"] = [HEADINGS[number % 4] for number in rng.permutation(len(plays))]
    parts = [
        _logged(case, str(lie), float(heading), part, rng) for (lie, heading), part in plays.groupby(["lie", "heading"])
    ]
    chips = pd.concat(parts, ignore_index=True)
    chips = chips.iloc[np.sort(rng.permutation(len(chips))[:most])].reset_index(drop=True)
    chips.insert(0, "row", np.arange(2, len(chips) + 2))
    chips["measured_at"] = np.full(len(chips), np.datetime64("NaT", "us"))
    chips["note"] = ""
    return Sheet(kind="chips", frame=completed(chips, "chips"), notes=[], path="made by the study", comments=[])


def _logged(case: Case, lie: str, heading: float, part: pd.DataFrame, rng: np.random.Generator) -> pd.DataFrame:
    """Play and note the chips from one lie along one line."""
    position = Position(to_edge=EDGE, to_pin=AWAY, lie=lie)
    # headings of a sheet run clockwise, lines of play anticlockwise
    world = World(draws=case.draws.turned(-heading), position=replace(position, to_pin=20.0))
    far = replace(world, position=position)
    target = part["target_carry"].to_numpy()
    speeds = case.swings(world, LOGGED).speed_for(np.tile(target, (len(LOGGED), 1)))[0]
    speed = speeds[[LOGGED.index(club) for club in part["club"]], np.arange(len(part))]
    normal = rng.standard_normal((ERRORS, len(part)))
    meant, made = (
        [case.launch(str(c), far, speed[[i]], z[:, [i]]) for i, c in enumerate(part["club"])]
        for z in (np.zeros_like(normal), normal)
    )
    launch = Launch(*(np.concatenate([np.ravel(getattr(one, name)) for one in made])[None] for name in LAUNCH))
    angle = np.array([float(np.ravel(one.angle)[0]) for one in meant])
    shots = far.play(launch, rng.standard_normal((2, 2, 1, len(part))))
    true = {item.name: np.asarray(getattr(shots, item.name))[0] for item in fields(shots)}
    return _noted(part, true, np.asarray(launch.angle)[0] < 0.5 * angle, heading, rng)


def _noted(
    part: pd.DataFrame, true: Mapping[str, Floats], thin: NDArray[np.bool_], heading: float, rng: np.random.Generator
) -> pd.DataFrame:
    """Write down what a coach sees: with errors of reading, with gaps, and what looked thin or heavy."""
    target = part["target_carry"].to_numpy()
    columns = {
        "carry": ("landing_x", 0.12, 0.92),
        "landing_side": ("landing_y", 0.12, 0.5),
        "hang_time": ("flight_time", 0.02, 0.5),
        "first_hop": ("hop_x", 0.12, 0.25),
        "rest": ("rest_x", 0.03, 1.0),
        "side": ("rest_y", 0.03, 0.9),
    }
    rows = part[["club", "lie", "target_carry"]].assign(spot=SPOT, heading=heading, edge=EDGE)
    for name, (column, error, share) in columns.items():
        values = (true[column] + error * rng.standard_normal(len(part))).round(2)
        values = values if "side" in name else np.maximum(values, 0.05)
        rows[name] = np.where(rng.random(len(part)) < share, values, np.nan)
    rows.loc[~(rows["first_hop"] > rows["carry"]), "first_hop"] = np.nan
    heavy = true["landing_x"] < 0.7 * target
    rows["strike"] = np.where(thin, "thin", np.where(heavy, "heavy", ""))
    return rows
