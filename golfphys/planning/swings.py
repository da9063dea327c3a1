"""A choice in a world: the speed that sends the ball as far as meant on every draw, and what her errors make of it."""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from typing import Any, TypeVar, cast

import numpy as np
from numpy.typing import NDArray

from golfphys.core.constants import GRAVITY
from golfphys.physics.club import Club, Delivery, Launch, Lie, StrikeErrors
from golfphys.physics.draws import Draws
from golfphys.physics.strike import strike
from golfphys.physics.usual import PUTTER
from golfphys.planning.position import Choice, Position
from golfphys.planning.world import ERRORS, LAUNCH, World

Floats = NDArray[np.float64]
Batch = TypeVar("Batch")  # shots or outcomes: arrays of one shape by name
SPEEDS = 22  # speeds between which the one that lands at a spot is looked up
SLOWEST, SLOWEST_PUTT, FASTEST = 1.5, 0.3, 45.0
# Head speed over the square root of gravity times carry that carries so far with any club that chips.
FASTER_THAN_FALL = 2.2
# How much more a putt errs that is rolled through `MUCH_GRASS` m of mown grass first (judged, no source).
THROUGH_GRASS, MUCH_GRASS = 0.8, 3.0


@dataclass(frozen=True, kw_only=True)
class Swing:
    """One choice in a world."""

    choice: Choice  # what is played
    world: World  # where
    speed: Floats  # head speeds, m/s, shape (speeds,)
    # Where each lands the ball when struck as meant, m; for a putt where it comes to rest on the median green, which is
    # what she can know, shape (draws, speeds).
    reached: Floats

    @property
    def reach(self) -> tuple[float, float]:
        """Shortest and longest distance in m that is within reach on half the draws."""
        return float(np.median(self.reached[:, 0])), float(np.median(self.reached[:, -1]))

    def speed_for(self, at: Any) -> Floats:
        """Return the head speeds in m/s, shape (draws, spots), that reach `at` m, shape (spots,)."""
        # distance goes nearly with the square of speed
        root, known = np.sqrt(np.maximum(np.asarray(at, float), 0.0)), np.sqrt(np.maximum(self.reached, 0.0))
        return np.stack([np.interp(root, row, self.speed) for row in known])

    def launch(self, speed: Any, normal: Floats) -> Launch:
        """Return its launches; as `together`."""
        return self.together([self], [speed], normal)[0]

    @staticmethod
    def together(swings: "Sequence[Swing]", speeds: Sequence[Any], normal: Floats) -> list[Launch]:
        """Return launches (draws, spots, errors) of swings of one world, all struck in one call.

        Speeds have the shape (draws, spots), m/s; the normals (6 or more, draws, errors), her six errors first.
        """
        world = swings[0].world
        parts = (brought(swing.choice, world.column, world.position) for swing in swings)
        club, delivery, lie, errors = (_stacked(things) for things in zip(*parts, strict=True))
        speed = np.stack([np.asarray(item, float) for item in speeds])[..., None]
        launch = strike(club, replace(delivery, speed=speed), lie, normal[:ERRORS, None, :, None, :], errors).launch
        shape = (*speed.shape[:-1], normal.shape[-1])
        columns = [np.broadcast_to(np.asarray(getattr(launch, name), float), shape) for name in LAUNCH]
        return [Launch(*(column[number] for column in columns)) for number in range(len(swings))]


def brought(choice: Choice, draws: Draws, position: Position) -> tuple[Club, Delivery, Lie, StrikeErrors]:
    """Return club, delivery, lie and errors that a choice brings to the ball."""
    player, lie = draws.player, draws.lies[position.lie]
    option = draws.options.get(choice.option.name, choice.option)
    delivery, errors = option.delivery(player.delivery), option.errors(player.errors_with(choice.club))
    if not choice.putts:
        return draws.bag[choice.club], delivery, position.sloped(lie), errors
    wider = 1.0 + THROUGH_GRASS * min(position.to_edge / MUCH_GRASS, 1.0)
    errors = replace(errors, speed=wider * np.asarray(errors.speed), direction=wider * np.asarray(errors.direction))
    # a putter rolls the ball along the ground as it lies
    return PUTTER, delivery, lie, errors


def _stacked(things: Sequence[Any]) -> Any:
    """Return things of one kind as one, its numbers along a first axis before that of the draws."""
    found = {}
    for item in fields(things[0]):
        values = [getattr(thing, item.name) for thing in things]
        if not isinstance(values[0], str):
            column = np.stack(np.broadcast_arrays(*(np.asarray(value, float) for value in values)))
            found[item.name] = column.reshape(len(things), *(column.shape[1:] or (1, 1, 1)))
    return replace(things[0], **found)


def swings_for(choices: Sequence[Choice], world: World) -> list[Swing]:
    """Work out for every choice how far each head speed sends the ball on each draw, in one run."""
    longest = FASTER_THAN_FALL * np.sqrt(GRAVITY.value * max(world.position.to_pin + 2.0, 1.0))
    found = {}
    for putted, where in ((False, world), (True, world.centre)):
        slowest = SLOWEST_PUTT if putted else SLOWEST
        speed = np.linspace(np.sqrt(slowest), np.sqrt(min(longest, FASTEST)), SPEEDS) ** 2
        blank = np.zeros((len(where), SPEEDS))
        asked = [choice for choice in choices if choice.putts == putted]
        own = [Swing(choice=choice, world=where, speed=speed, reached=blank) for choice in asked]
        if not own:
            continue
        still = np.zeros((6, len(where), 1))
        meant = joined(Swing.together(own, [np.tile(speed, (len(where), 1))] * len(own), still))
        shots = where.play(meant) if putted else where.play(meant, hops=0)
        ends = np.where(shots.stops, shots.rest_x, np.inf) if putted else np.asarray(shots.landing_x)
        for item, part in zip(own, np.split(ends, len(own), axis=1), strict=True):
            # a table to look up in must not fall
            rising = np.maximum.accumulate(np.nan_to_num(part, nan=0.0, posinf=1e3), axis=1)
            reached = np.broadcast_to(rising, (len(world), SPEEDS))
            found[item.choice] = replace(item, world=world, reached=reached)
    return [found[choice] for choice in choices]


def chips_to(carry: float, draws: Draws, lie: str) -> dict[str, Launch]:
    """Return for each club of a single draw the launch, as meant, that lands the ball at `carry` m."""
    world = World(draws=draws, position=Position(to_edge=0.0, to_pin=carry + 1.0, lie=lie))
    found = {}
    for swing in swings_for([Choice(club=name) for name in draws.bag], world):
        low, high = swing.reach
        if not low <= carry <= high:
            raise ValueError(f"carry is {carry:g} m; {swing.choice.club} lands a chip from {low:.1f} to {high:.1f} m")
        speed, still = swing.speed_for(np.array([carry])), np.zeros((6, 1, 1))
        for _ in range(3):  # distance goes nearly with the square of speed
            carried = world.play(joined([swing.launch(speed, still)])).carry
            speed = speed * np.sqrt(carry / float(np.asarray(carried)[0, 0]))
        launch = swing.launch(speed, still)
        found[swing.choice.club] = Launch(*(float(np.asarray(getattr(launch, name)).ravel()[0]) for name in LAUNCH))
    return found


def launches_to(carries: Any, draws: Draws, lie: str) -> Launch:
    """Return launches, as meant, of the first club of a single draw that land the ball at `carries` m, an array."""
    at = np.asarray(carries, float)
    world = World(draws=draws, position=Position(to_edge=0.0, to_pin=float(at.max()) + 1.0, lie=lie))
    swing = swings_for([Choice(club=next(iter(draws.bag)))], world)[0]
    launch = swing.launch(swing.speed_for(at), np.zeros((6, 1, 1)))
    return Launch(*(np.asarray(getattr(launch, name)).ravel() for name in LAUNCH))


def joined(launches: Sequence[Launch]) -> Launch:
    """Return launches of shape (draws, ...) side by side as one batch of shape (draws, n)."""
    columns = [[np.reshape(getattr(item, name), (item.shape[0], -1)) for item in launches] for name in LAUNCH]
    return Launch(*(np.concatenate(column, axis=1) for column in columns))


def parts_of(batch: Batch, shapes: Sequence[tuple[int, ...]]) -> list[Batch]:
    """Return the parts of a joined batch of shots or outcomes, each in the shape that its launches had."""
    ends = np.cumsum([int(np.prod(shape[1:])) for shape in shapes])[:-1]
    cut = {name: np.split(np.asarray(values), ends, axis=1) for name, values in vars(batch).items()}
    made: Any = type(batch)
    return [
        made(**{name: parts[number].reshape(shape) for name, parts in cut.items()})
        for number, shape in enumerate(shapes)
    ]


def picked(batch: Batch, index: Any) -> Batch:
    """Return some of the shots or outcomes of a batch."""
    made: Any = type(batch)
    return cast(Batch, made(**{name: np.asarray(values)[index] for name, values in vars(batch).items()}))
