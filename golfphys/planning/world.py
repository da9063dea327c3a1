"""The world that a plan is played in, and the swings in it: on every draw the speed that sends a ball as far as meant.

Green, surroundings, air and errors of a draw are paired once and for all.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field, fields, replace
from functools import cached_property, lru_cache
from typing import Any, NamedTuple, TypeVar

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import plain, require_count, require_kinds
from golfphys.physics.club import PUTTER, Club, Delivery, Launch, Lie, StrikeErrors
from golfphys.physics.draws import Draws, mapped, stacked
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Ground, Hole, Strip
from golfphys.physics.playing import MAX_BOUNCES
from golfphys.physics.putting import PuttsToHoleOut, putts_to_hole_out
from golfphys.physics.shot import TIME_STEP, Shots, Things, batch_of, play_all
from golfphys.physics.strike import strike
from golfphys.physics.surface import Surface
from golfphys.planning.position import Choice, Floats, Position

Numbers = Sequence[int] | NDArray[np.int_]  # of choices
Batch = TypeVar("Batch")  # launches, shots or outcomes: arrays of one shape by name
LAUNCH = tuple(item.name for item in fields(Launch))
# Kinds of error at the strike; with local slopes at two landings and the patch of the first all that chance draws.
ERRORS, NUMBERS = 6, 11
# How much longer a plan's steps of flight are: a sixth less work, rests within a centimetre, half of them within 0.3
# mm.
LONG_STEPS = 2.0
FAR = 1000.0  # where the ground behind a green ends, m
SPEEDS = 22  # speeds between which the one that lands at a spot is looked up
SLOWEST, SLOWEST_PUTT, FASTEST = 1.5, 0.3, 45.0
# Head speed over the square root of gravity times carry that carries so far with any club that chips.
FASTER_THAN_FALL = 2.2
AIMING = 3  # corrections of the start line, each of which leaves a few per cent of the miss to the side
PUTTED = (0.8, 1.3)  # distances, as fractions of that to the pin, between which putts are looked up
# How much more a putt errs that is rolled through `MUCH_GRASS` m of mown grass first (judged, no source).
THROUGH_GRASS, MUCH_GRASS = 0.8, 3.0


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """What else an answer depends on.

    Parameters
    ----------
    air, putts : Air, PuttsToHoleOut; still air of the standard atmosphere, and a tour player's average putts against
        distance, unless given
    flagstick : bool; whether the stick is in the hole
    surface : Surface, optional; surveyed heights of the green, seen along the line of play, in place of the plane of
        the draws

    Examples
    --------
    >>> Conditions(air=Air(wind_speed=5.0)).air.wind_speed
    5.0
    """

    air: Air = field(default_factory=Air)
    putts: PuttsToHoleOut = field(default_factory=putts_to_hole_out)
    flagstick: bool = True
    surface: Surface | None = None

    def __post_init__(self) -> None:
        require_kinds(air=(self.air, Air), putts=(self.putts, PuttsToHoleOut))
        require_kinds(flagstick=(self.flagstick, (bool, np.bool_)), surface=(self.surface, (Surface, type(None))))


@dataclass(frozen=True, kw_only=True)
class Effort:
    """How much is tried: more is slower and less noisy.

    Parameters
    ----------
    draws, landings : int; draws of what is not known, and landing spots of each choice
    errors, last : int; her errors on each draw: for every landing spot, and for the best one of each choice
    seed : int; the same seed gives the same answer
    """

    draws: int = 64
    landings: int = 17
    errors: int = 4
    last: int = 64
    seed: int = 0

    def __post_init__(self) -> None:
        for name, least in (("draws", 1), ("landings", 3), ("errors", 1), ("last", 1), ("seed", 0)):
            require_count(name, getattr(self, name), least)


class Part(NamedTuple):
    """The draws of a world on which a ball bounces by one law."""

    rows: NDArray[np.int_]  # which they are
    draws: Draws
    flight: Aerodynamics  # to broadcast, as the ground, against (draws, shots)
    ground: Ground


class Brought(NamedTuple):
    """What a choice brings to the ball."""

    club: Club
    delivery: Delivery
    lie: Lie
    errors: StrikeErrors


@dataclass(frozen=True, kw_only=True)
class World:
    """Draws, a position on them, and the errors made there: element (draw, error) of everything belongs together."""

    draws: Draws  # the draws that are played
    position: Position  # where from and where to
    conditions: Conditions = field(default_factory=Conditions)  # air and putts

    def __post_init__(self) -> None:
        lie = self.position.lie
        if lie not in self.draws.lies:
            raise ValueError(f"lie is {lie!r}; expected one of {', '.join(self.draws.lies)}")

    def __len__(self) -> int:
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
    def parts(self) -> tuple[Part, ...]:
        """The draws of each law of the bounce."""
        draws = self.draws
        other = np.broadcast_to(np.asarray(draws.other, bool) & (draws.other_turf is not None), len(self))
        found = []
        for rows, turf in ((np.flatnonzero(~other), draws.green.turf), (np.flatnonzero(other), draws.other_turf)):
            if rows.size and turf is not None:
                own = replace(draws, green=replace(draws.green, turf=turf), other=False, other_turf=None)
                own = own if rows.size == len(self) else own.at(rows)
                column = own.column(2)
                found.append(Part(rows, own, column.aerodynamics, self.ground(column)))
        return tuple(found)

    def ground(self, draws: Draws) -> Ground:
        """Return what the balls of some draws land and roll on."""
        position, grass = self.position, draws.around
        behind = () if position.to_back is None else ((position.behind, FAR),)
        before, after = (
            tuple(Strip(until=until, resistance=grass[name].resistance, turf=grass[name].turf) for name, until in parts)
            for parts in (position.ground_before, behind)
        )
        return Ground(
            green=replace(draws.green, turf=replace(draws.green.turf, unevenness=draws.local_slope)),
            strips=before,
            back=position.to_back,
            behind=after,
            surface=self.conditions.surface,
            hole=Hole(x=position.to_pin, flagstick=self.conditions.flagstick),
        )

    def play(self, launch: Launch, bumps: Floats | None = None, *, hops: int = MAX_BOUNCES) -> Shots:
        """Play launches of shape (draws, ...), each row on its own draw.

        With `bumps`, standard normals of shape (2 landings, 2 or 3, draws, ...) for what landings meet, the
        hole is there too; without, the shots are as meant, on even ground, and a chip must not count on falling in.
        With no `hops` they end where they land.
        """
        shape, each = launch.shape, (len(self), -1)
        columns = Launch(*(values.reshape(each) for values in vars(spread(launch, shape)).values()))
        bumps = None if bumps is None else bumps.reshape(*bumps.shape[:2], *each)
        found: dict[str, NDArray[Any]] = {}
        for part in self.parts:
            ground = part.ground if bumps is not None else replace(part.ground, hole=None)
            own = None if bumps is None else bumps[:, :, part.rows]
            things: Things = {"air": self.conditions.air, "aerodynamics": part.flight, "bumps": own}
            batch = batch_of(picked(columns, part.rows), ground, **things | {"time_step": LONG_STEPS * TIME_STEP})
            for name, values in vars(play_all(replace(batch, hops=hops))).items():
                found.setdefault(name, np.empty(columns.shape, values.dtype))[part.rows] = values
        return Shots(**{name: values.reshape(shape) for name, values in found.items()})


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


@dataclass(frozen=True, kw_only=True)
class Swings:
    """Choices in a world, and how far each head speed sends the ball with each of them when it is struck as meant."""

    choices: tuple[Choice, ...]  # what is played
    world: World  # where
    speed: Floats  # head speeds, m/s, shape (choices, speeds)
    # Where each lands the ball, m; for a putt where it comes to rest on the median green, which is what she can know,
    # shape (choices, draws, speeds).
    reached: Floats

    def __len__(self) -> int:
        return len(self.choices)

    @property
    def putts(self) -> NDArray[np.bool_]:
        """Whether each choice is a putt."""
        return np.array([choice.putts for choice in self.choices], bool)

    @property
    def reach(self) -> Floats:
        """Shortest and longest distance in m that is within reach on half the draws, shape (choices, 2)."""
        return np.asarray(np.median(self.reached[..., [0, -1]], axis=1))

    @property
    def centre(self) -> "Swings":
        """The same swings in the world of the medians, where she aims."""
        return replace(self, world=self.world.centre, reached=np.median(self.reached, axis=1)[:, None])

    def at(self, each: Numbers) -> "Swings":
        """Return the swings that `each` names, in that order; repeated as often as named."""
        rows = np.asarray(each, int)
        chosen = tuple(self.choices[number] for number in rows)
        return replace(self, choices=chosen, speed=self.speed[rows], reached=self.reached[rows])

    def speed_for(self, spots: Any) -> Floats:
        """Return head speeds in m/s, shape (draws, choices, spots), that reach `spots` m, shape (choices, spots)."""
        # distance goes nearly with the square of speed
        root, known = (np.sqrt(np.maximum(np.asarray(values, float), 0.0)) for values in (spots, self.reached))
        each = zip(root, known, self.speed, strict=True)
        # beyond what is within reach the speed that carries farthest: in a headwind the fastest ball may come back
        least = [(at, row[: np.argmax(row) + 1], speed) for at, rows, speed in each for row in rows]
        found = np.stack([np.interp(at, row, speed[: row.size]) for at, row, speed in least])
        return np.moveaxis(found.reshape(len(self), -1, root.shape[-1]), 0, 1)

    def launch(self, speeds: Any, normal: Floats | None = None) -> Launch:
        """Return launches (draws, choices, spots, errors), all struck in one call; as meant without `normal`.

        Speeds have the shape (draws, choices, spots), m/s; the normals (6 or more, draws, errors), her errors first.
        """
        world, z = self.world, np.zeros((ERRORS, 1, 1)) if normal is None else normal
        parts = (brought(choice, world.column, world.position) for choice in self.choices)
        # numbers of shape (draws, choices, 1, 1)
        club, delivery, lie, errors = (
            mapped(stacked(things), lambda x: np.moveaxis(x.reshape(len(x), *(x.shape[1:] or (1, 1, 1))), 0, 1))
            for things in zip(*parts, strict=True)
        )
        speed = np.asarray(speeds, float)[..., None]
        launch = strike(club, replace(delivery, speed=speed), lie, z[:ERRORS, :, None, None, :], errors).launch
        return spread(launch, (*speed.shape[:-1], z.shape[-1]))

    def meant(self, spots: Any) -> Launch:
        """Return launches without error (draws, choices, spots, 1) that are to reach `spots` m, (choices, spots)."""
        return self.launch(self.speed_for(spots))


def brought(choice: Choice, draws: Draws, position: Position) -> Brought:
    """Return what a choice brings to the ball at a position, on draws."""
    player, lie = draws.player, draws.lies[position.lie]
    option = draws.options.get(choice.option.name, choice.option)
    delivery, errors = option.delivery(player.delivery), option.errors(player.errors_with(choice.club))
    if not choice.putts:
        return Brought(draws.bag[choice.club], delivery, position.sloped(lie), errors)
    wider = 1.0 + THROUGH_GRASS * min(position.to_edge / MUCH_GRASS, 1.0)
    errors = replace(errors, speed=wider * np.asarray(errors.speed), direction=wider * np.asarray(errors.direction))
    # a putter rolls the ball along the ground as it lies
    return Brought(PUTTER, delivery, lie, errors)


def swings_for(choices: Sequence[Choice], world: World) -> Swings:
    """Work out for every choice how far each head speed sends the ball: chips on each draw, putts on the medians."""
    pin = world.position.to_pin
    longest = min(FASTER_THAN_FALL * np.sqrt(constants.GRAVITY.value * max(pin + 2.0, 1.0)), FASTEST)
    speed, reached = np.empty((len(choices), SPEEDS)), np.empty((len(choices), len(world), SPEEDS))
    putted = np.array([choice.putts for choice in choices], bool)
    for kind, where, slowest in ((~putted, world, SLOWEST), (putted, world.centre, SLOWEST_PUTT)):
        if kind.any():
            some = tuple(choice for choice in choices if choice.putts == putted[kind][0])
            tried, found = _reached(some, where, slowest, longest)
            if where is not world:
                # distance jumps where the grass before the green ends: once more, close about the pin
                short, not_past = ((found < share * pin).all(axis=(0, 1)).sum() for share in PUTTED)
                tried, found = _reached(some, where, *tried[[max(short - 1, 0), min(not_past, SPEEDS - 1)]])
            speed[kind], reached[kind] = tried, found
    return Swings(choices=tuple(choices), world=world, speed=speed, reached=reached)


def _reached(choices: tuple[Choice, ...], world: World, slowest: float, longest: float) -> tuple[Floats, Floats]:
    """Return head speeds (speeds,) and how far they send the ball, (choices, draws, speeds): chips land, putts rest."""
    tried, putts = np.linspace(np.sqrt(slowest), np.sqrt(longest), SPEEDS) ** 2, choices[0].putts
    speed, none = np.broadcast_to(tried, (len(choices), SPEEDS)), np.empty(0)
    launch = Swings(choices=choices, world=world, speed=speed, reached=none).launch(np.stack([speed] * len(world)))
    if putts:
        launch = replace(launch, direction=np.asarray(launch.direction) + turns(world, launch))
    shots = world.play(launch, hops=MAX_BOUNCES if putts else 0)
    ends = np.where(np.isfinite(shots.rest_x), shots.rest_x, np.inf) if putts else np.asarray(shots.landing_x)
    # a table to look up in must not fall
    rising = np.maximum.accumulate(np.nan_to_num(ends[..., 0], nan=0.0, posinf=1e3), axis=-1)
    return tried, np.swapaxes(rising, 0, 1)


def turns(world: World, meant: Launch) -> Floats:
    """Return by how much to turn launches until their balls rest on the line from ball to pin, rad, of their shape."""
    turned = np.zeros(meant.shape)
    for _ in range(AIMING):
        shots = world.play(replace(meant, direction=np.asarray(meant.direction) + turned))
        reach = np.maximum(np.abs(shots.rest_x), 0.2 * world.position.to_pin)
        with np.errstate(invalid="ignore"):
            miss = np.where(np.isfinite(shots.rest_y), np.arctan2(shots.rest_y, reach), 0.0)
        turned = np.clip(turned - miss, -1.2, 1.2)
    return turned


def chips_to(carry: Any, draws: Draws, lie: str) -> dict[str, Launch]:
    """Return for each club of a single draw the launch, as meant, that lands the ball at `carry` m, one or several."""
    at = np.asarray(carry, float)
    world = World(draws=draws, position=Position(to_edge=0.0, to_pin=float(at.max()) + 1.0, lie=lie))
    swings = swings_for([Choice(club=name) for name in draws.bag], world)
    for choice, (low, high) in zip(swings.choices, swings.reach, strict=True):
        if not (low <= at.min() and at.max() <= high):
            raise ValueError(f"carry is {carry} m; {choice.club} lands a chip from {low:.1f} to {high:.1f} m")
    speed = swings.speed_for(np.broadcast_to(at, (len(swings), *np.atleast_1d(at).shape)))
    for _ in range(3):  # distance goes nearly with the square of speed
        speed = speed * np.sqrt(at / np.asarray(world.play(swings.launch(speed)).carry)[..., 0])
    columns, clubs = vars(swings.launch(speed)).values(), [choice.club for choice in swings.choices]
    return {
        club: Launch(*(plain(values[0, number, :, 0].reshape(at.shape)) for values in columns))
        for number, club in enumerate(clubs)
    }


def spread(launch: Launch, shape: tuple[int, ...]) -> Launch:
    """Return launches with every number of them an array of this shape."""
    return Launch(*(np.broadcast_to(np.asarray(getattr(launch, name), float), shape) for name in LAUNCH))


def picked(batch: Batch, index: Any) -> Batch:
    """Return some of the launches, shots or outcomes of a batch."""
    return mapped(batch, lambda values: np.ascontiguousarray(values[index]))
