"""The world that a plan is played in: green, surroundings, air and errors of every draw, paired once and for all."""

import os
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass, field, fields, replace
from functools import cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.physics.club import Launch
from golfphys.physics.draws import Draws
from golfphys.physics.flight import Air
from golfphys.physics.green import Ground, Hole, Strip
from golfphys.physics.putting import PuttsToHoleOut, putts_to_hole_out
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.surface import Surface
from golfphys.physics.usual import Grass
from golfphys.planning.position import Position
from golfphys.planning.putt_left import PuttLeft, putt_left

Floats = NDArray[np.float64]

LAUNCH = tuple(item.name for item in fields(Launch))
ERRORS, NUMBERS = 6, 10
"""Kinds of error at the strike, and with the local slopes at two landings all numbers that chance draws for a shot."""

FAR = 1000.0
"""Where the ground behind a green ends, m."""


@dataclass(frozen=True, kw_only=True)
class Conditions:
    """What else an answer depends on.

    Parameters
    ----------
    air : Air
        Still air of the standard atmosphere unless given.
    putts : PuttsToHoleOut
        Average putts against distance; a tour player's unless given.
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
    draws : int
        Draws of what is not known.
    landings : int
        Landing spots of each choice.
    errors, last : int
        Her errors on each draw: for every landing spot, and for the best one of each choice.
    seed : int
        The same seed gives the same answer.

    Raises
    ------
    ValueError
        If a number is too small.
    """

    draws: int = 64
    landings: int = 17
    errors: int = 4
    last: int = 64
    seed: int = 0

    def __post_init__(self) -> None:
        """Check the numbers."""
        for name, least in (("draws", 1), ("landings", 3), ("errors", 1), ("last", 1)):
            if getattr(self, name) < least:
                raise ValueError(f"{name} is {getattr(self, name)!r}; expected at least {least}")


@dataclass(frozen=True, kw_only=True)
class World:
    """Draws, a position on them, and the errors made there: element (draw, error) of everything belongs together.

    Parameters
    ----------
    draws : Draws
        The draws that are played.
    position : Position
        Where from and where to.
    conditions : Conditions
        Air and putts.
    """

    draws: Draws
    position: Position
    conditions: Conditions = field(default_factory=Conditions)

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
    def each(self) -> tuple[Draws, ...]:
        """The draws one by one, of plain numbers."""
        bare = replace(self.draws, bag={}, lies={})
        return tuple(bare.one(number) for number in range(len(self)))

    @cached_property
    def grounds(self) -> tuple[Ground, ...]:
        """What each draw's ball lands and rolls on."""
        return tuple(self._ground(one) for one in self.each)

    def _ground(self, one: Draws) -> Ground:
        green = replace(one.green, turf=one.other_turf) if np.all(one.other) and one.other_turf else one.green
        turf = replace(green.turf, unevenness=one.local_slope)
        position = self.position
        behind = () if position.to_back is None else (_strip(one.around[position.behind], FAR),)
        return Ground(
            green=replace(green, turf=turf),
            strips=tuple(_strip(one.around[name], until) for name, until in position.ground_before),
            back=position.to_back,
            behind=behind,
            surface=self.conditions.surface,
            hole=Hole(x=position.to_pin, flagstick=self.conditions.flagstick),
        )

    @property
    def unmeasured_before(self) -> bool:
        """Whether some of the ground before the green was not measured."""
        return any(name not in self.draws.logged.grounds for name, _ in self.position.ground_before)

    @cached_property
    def left(self) -> PuttLeft:
        """What a putt that is left costs on this green."""
        return putt_left(self.conditions.putts, float(np.median(self.draws.green.resistance.constant)))

    def play(self, launch: Launch, bumps: Floats | None = None) -> Shots:
        """Play launches of shape (draws, n), each row on its own draw.

        With `bumps`, standard normals of shape (2 landings, 2, draws, n) for the local slopes that landings meet, the
        hole is there too; without, the shots are as meant, on even ground, and a chip must not count on falling in.
        """
        rows = [np.broadcast_to(np.asarray(getattr(launch, name), float), launch.shape) for name in LAUNCH]

        def play_draw(number: int) -> Shots:
            ground, one = self.grounds[number], self.each[number]
            met = replace(ground, hole=None) if bumps is None else ground
            local = None if bumps is None else bumps[:, :, number]
            physics = {"air": self.conditions.air, "aerodynamics": one.aerodynamics}
            return _play(Launch(*(row[number] for row in rows)), met, local, physics)

        if len(self) == 1:
            played = [play_draw(0)]
        else:
            with ThreadPoolExecutor(os.cpu_count()) as threads:
                played = list(threads.map(play_draw, range(len(self))))
        names = [item.name for item in fields(Shots)]
        return Shots(**{name: np.stack([np.asarray(getattr(part, name)) for part in played]) for name in names})


def normals(draws: int, errors: int, seed: int) -> Floats:
    """Return standard normal numbers of shape (10, draws, errors), evenly spread over all draws and over each of them.

    Her six errors come first, then the slopes along and across that the first two landings meet.

    A block of Sobol's sequence is itself evenly spread; taking every so manieth point of it is not.
    """
    from scipy.stats import norm, qmc

    block = 1 << (errors - 1).bit_length()
    size = 1 << (draws * block - 1).bit_length()
    points = qmc.Sobol(d=NUMBERS, rng=np.random.default_rng(seed)).random(size)[: draws * block]
    found = np.asarray(norm.ppf(np.clip(points, 1e-9, 1 - 1e-9))).reshape(draws, block, NUMBERS)[:, :errors]
    return np.moveaxis(found, -1, 0)


def _strip(grass: Grass, until: float) -> Strip:
    return Strip(until=until, resistance=grass.resistance, turf=grass.turf)


def _play(launch: Launch, ground: Ground, bumps: Floats | None, physics: dict[str, Any]) -> Shots:
    """Play shots on one draw; those that meet nothing but green are played on it alone, which is much faster."""
    if ground.surface is not None or not (ground.strips or ground.behind):
        return simulate(launch, ground, bumps=bumps, **physics)
    shots = simulate(launch, Ground(green=ground.green, hole=ground.hole), bumps=bumps, **physics)
    places = (shots.landing_x, shots.hop_x, shots.roll_x, shots.rest_x)
    low, high = np.minimum.reduce(places), np.maximum.reduce(places)
    on = (low > ground.edge) & (high < (FAR if ground.back is None else ground.back))
    met = np.flatnonzero(~on)
    if not met.size:
        return shots
    some = Launch(*(np.asarray(getattr(launch, name))[met] for name in LAUNCH))
    again = simulate(some, ground, bumps=None if bumps is None else bumps[..., met], **physics)
    merged = {}
    for item in fields(Shots):
        column = np.array(getattr(shots, item.name))
        column[met] = getattr(again, item.name)
        merged[item.name] = column
    return Shots(**merged)
