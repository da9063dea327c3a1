"""The world that a plan is played in: green, surroundings, air and errors of every draw, paired once and for all."""

import math
from dataclasses import dataclass, field, fields, replace
from functools import cached_property, lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import require_count
from golfphys.core.resistance import TERMS
from golfphys.physics.club import Launch
from golfphys.physics.draws import Draws
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, Hole, Strip
from golfphys.physics.playing import MAX_BOUNCES
from golfphys.physics.putting import PuttsToHoleOut, putts_to_hole_out
from golfphys.physics.shot import TIME_STEP, Shots, batch_of, play_all
from golfphys.physics.surface import Surface
from golfphys.physics.usual import TOUR_PLAYER, Grass
from golfphys.planning.position import Position

Floats = NDArray[np.float64]
LAUNCH = tuple(item.name for item in fields(Launch))
# Kinds of error at the strike; with local slopes at two landings and the patch of the first all that chance draws.
ERRORS, NUMBERS = 6, 11
# How much longer a plan's steps of flight are: a sixth less work, rests within a centimetre, half of them within 0.3
# mm.
LONG_STEPS = 2.0
FEW = 256  # shots below which playing on all ground at once costs less than finding those that stay on the green
ROUNDING = 1e-3  # length in m by which a path must miss the hole to count as one that does
FAR = 1000.0  # where the ground behind a green ends, m


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """What else an answer depends on.

    Parameters
    ----------
    air, putts : Air, PuttsToHoleOut
        Still air of the standard atmosphere, and a tour player's average putts against distance, unless given.
    flagstick : bool
        Whether the stick is in the hole.
    surface : Surface, optional
        Surveyed heights of the green, seen along the line of play, in place of the plane of the draws.

    Examples
    --------
    >>> Conditions(air=Air(wind_speed=5.0)).air.wind_speed
    5.0
    """

    air: Air = field(default_factory=Air)
    putts: PuttsToHoleOut = field(default_factory=putts_to_hole_out)
    flagstick: bool = True
    surface: Surface | None = None


@dataclass(frozen=True, kw_only=True)
class Effort:
    """How much is tried: more is slower and less noisy.

    Parameters
    ----------
    draws, landings : int
        Draws of what is not known, and landing spots of each choice.
    errors, last : int
        Her errors on each draw: for every landing spot, and for the best one of each choice.
    seed : int
        The same seed gives the same answer.
    """

    draws: int = 64
    landings: int = 17
    errors: int = 4
    last: int = 64
    seed: int = 0

    def __post_init__(self) -> None:
        """Check the numbers."""
        for name, least in (("draws", 1), ("landings", 3), ("errors", 1), ("last", 1)):
            require_count(name, getattr(self, name), least)


@dataclass(frozen=True, kw_only=True)
class World:
    """Draws, a position on them, and the errors made there: element (draw, error) of everything belongs together."""

    draws: Draws  # the draws that are played
    position: Position  # where from and where to
    conditions: Conditions = field(default_factory=Conditions)  # air and putts

    def __post_init__(self) -> None:
        """Check that the lie is one of the draws'."""
        lie = self.position.lie
        if lie not in self.draws.lies:
            raise ValueError(f"lie is {lie!r}; expected one of {', '.join(self.draws.lies)}")

    def __len__(self) -> int:
        """Return the number of draws."""
        return len(self.draws)

    @cached_property
    def column(self) -> Draws:
        """The draws along the first of three dimensions, to broadcast against (draws, spots, errors)."""
        return self.draws.column(3)

    @cached_property
    def centre(self) -> "World":
        """The world of the medians, in which she aims."""
        return replace(self, draws=self.draws.median())

    @cached_property
    def kinds(self) -> tuple[tuple[NDArray[np.int_], Draws], ...]:
        """The draws of each kind of bounce: their numbers, and what of them a ball meets once it is struck."""
        draws, named = self.draws, {*(name for name, _ in self.position.ground_before), self.position.behind}
        around = {name: grass for name, grass in draws.around.items() if name in named}
        bare = replace(draws, bag={}, lies={}, options={}, around=around, player=TOUR_PLAYER)
        other = np.broadcast_to(np.asarray(draws.other, bool) & (draws.other_turf is not None), len(self))
        found = []
        for rows, turf in ((np.flatnonzero(~other), draws.green.turf), (np.flatnonzero(other), draws.other_turf)):
            if rows.size and turf is not None:
                own = replace(bare, green=replace(bare.green, turf=turf), other=False, other_turf=None)
                found.append((rows, own if rows.size == len(self) else own.at(rows)))
        return tuple(found)

    @cached_property
    def grounds(self) -> tuple[Ground, ...]:
        """What the balls of each kind land and roll on, a row for each draw."""
        return tuple(self.ground(draws.column(2)) for _, draws in self.kinds)

    def ground(self, draws: Draws) -> Ground:
        """Return what the balls of some draws land and roll on."""
        position = self.position
        behind = () if position.to_back is None else (_strip(draws.around[position.behind], FAR),)
        return Ground(
            green=replace(draws.green, turf=replace(draws.green.turf, unevenness=draws.local_slope)),
            strips=tuple(_strip(draws.around[name], until) for name, until in position.ground_before),
            back=position.to_back,
            behind=behind,
            surface=self.conditions.surface,
            hole=Hole(x=position.to_pin, flagstick=self.conditions.flagstick),
        )

    def play(self, launch: Launch, bumps: Floats | None = None, *, hops: int = MAX_BOUNCES) -> Shots:
        """Play launches of shape (draws, n), each row on its own draw.

        With `bumps`, standard normals of shape (2 landings, 2 or 3, draws, n) for what landings meet, the
        hole is there too; without, the shots are as meant, on even ground, and a chip must not count on falling in.
        With no `hops` they end where they land.
        """
        columns = [np.broadcast_to(np.asarray(getattr(launch, name), float), launch.shape) for name in LAUNCH]
        found: dict[str, NDArray[Any]] = {}
        for (rows, draws), ground in zip(self.kinds, self.grounds, strict=True):
            own = Launch(*(column[rows] for column in columns))
            shots = self._play_on(draws, ground, own, None if bumps is None else bumps[:, :, rows], hops)
            for name, values in vars(shots).items():
                found.setdefault(name, np.empty(launch.shape, values.dtype))[rows] = values
        return Shots(**found)

    def _play_on(self, draws: Draws, ground: Ground, launch: Launch, bumps: Floats | None, hops: int) -> Shots:
        """Play launches, a row for each draw.

        Many are first played as if green were all there is, which is faster, and without the hole where a roll then
        ends in closed form; those that meet other ground, or may meet the hole, are played again.
        """
        drag, lift = (np.reshape(getattr(draws.aerodynamics, name), (-1, 1)) for name in ("drag_scale", "lift_scale"))
        column = replace(draws.aerodynamics, drag_scale=drag, lift_scale=lift)
        full = ground if bumps is not None else replace(ground, hole=None)
        closed = full.hole is not None and _constant(ground.green)
        parted = bool(ground.strips or ground.behind)
        if ground.surface is not None or not (parted or closed) or math.prod(launch.shape) < FEW:
            return self._simulate(launch, full, column, bumps, hops)
        plane = Ground(green=ground.green, hole=None if closed else full.hole)
        shots = self._simulate(launch, plane, column, bumps, hops)
        if not hops:
            return shots
        off = _met_other_ground(shots, ground) if parted else np.zeros(launch.shape, bool)
        near = ~off & ~passes_by(shots, full.green, full.hole) if closed and full.hole is not None else off
        for met, bare in ((off, False), (near & ~off, True)):
            each, number = np.nonzero(met)
            if each.size:
                again = draws.at(each)
                where = replace(self.ground(again), hole=full.hole)
                where = Ground(green=where.green, hole=where.hole) if bare else where
                some = Launch(*(np.asarray(getattr(launch, name))[each, number] for name in LAUNCH))
                bumped = None if bumps is None else bumps[:, :, each, number]
                for name, values in vars(self._simulate(some, where, again.aerodynamics, bumped, hops)).items():
                    getattr(shots, name)[each, number] = values
        return shots

    def _simulate(self, launch: Launch, ground: Ground, flight: Aerodynamics, bumps: Floats | None, hops: int) -> Shots:
        air, time_step = self.conditions.air, LONG_STEPS * TIME_STEP
        batch = batch_of(launch, ground, air=air, aerodynamics=flight, bumps=bumps, time_step=time_step)
        return play_all(replace(batch, hops=hops))


def _constant(green: Green) -> bool:
    """Whether resistance is the same at every speed and heading, on all draws."""
    return not any(np.any(getattr(green.resistance, name)) for name in ("grain", *(term.name for term in TERMS)))


def _met_other_ground(shots: Shots, ground: Ground) -> NDArray[np.bool_]:
    """Whether balls of shots on green alone were ever where there is other ground."""
    places = (shots.landing_x, shots.hop_x, shots.roll_x, shots.rest_x)
    low, high = np.minimum.reduce(places), np.maximum.reduce(places)
    return np.asarray(~((low > ground.edge) & (high < (FAR if ground.back is None else ground.back))))


def passes_by(shots: Shots, green: Green, hole: Hole) -> NDArray[np.bool_]:
    """Whether balls surely roll past the hole, on a plane of constant resistance.

    Energy gives the length of a ball's path, and no point of a path lies farther from its two ends together.
    """
    along, across = shots.rest_x - shots.roll_x, shots.rest_y - shots.roll_y
    with np.errstate(invalid="ignore"):
        fall = green.grade * (along * np.cos(green.fall_direction) + across * np.sin(green.fall_direction))
        head = (1.0 + constants.BALL_INERTIA.value) * np.square(shots.roll_speed) / (2.0 * constants.GRAVITY.value)
        length = (head * np.sqrt(1.0 + np.square(green.grade)) + fall) / green.resistance.constant
        ends = ((shots.roll_x, shots.roll_y), (shots.rest_x, shots.rest_y))
        far = sum(np.hypot(hole.x - x, hole.y - y) for x, y in ends)
        return np.asarray(far > length + 2.0 * hole.radius + ROUNDING)


@lru_cache(maxsize=16)
def normals(draws: int, errors: int, seed: int) -> Floats:
    """Return standard normal numbers of shape (11, draws, errors), evenly spread over all draws and over each of them.

    Her six errors come first, then the slopes along and across that the first two landings meet, then the patch of
    turf at the first.

    A block of Sobol's sequence is itself evenly spread; taking every so manieth point of it is not.
    """
    from scipy.stats import norm, qmc

    block = 1 << (errors - 1).bit_length()
    size = 1 << (draws * block - 1).bit_length()
    points = qmc.Sobol(d=NUMBERS, rng=np.random.default_rng(seed)).random(size)[: draws * block]
    found = np.asarray(norm.ppf(np.clip(points, 1e-9, 1 - 1e-9))).reshape(draws, block, NUMBERS)[:, :errors]
    found.flags.writeable = False
    return np.moveaxis(found, -1, 0)


def _strip(grass: Grass, until: float) -> Strip:
    return Strip(until=until, resistance=grass.resistance, turf=grass.turf)
