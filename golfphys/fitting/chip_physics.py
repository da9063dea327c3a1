"""What each chip of a log should have done, for arrays of posterior draws.

The player's head speed is not measured. It is taken out of the problem chip by chip: the speed is the one that lands
the ball where it was seen to land; hang time, first hop and rest then follow from the club, the delivery, the lie, the
air and the green.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.core.broadcasting import elementwise
from golfphys.fitting.chips import CARRY, HANG, HOP, HOP_TIME, LANDING_SIDE, REST, SEEN, SIDE, Chips
from golfphys.fitting.motion import MOST_GRAIN
from golfphys.fitting.turf import TurfLaw
from golfphys.formulas.flight import vacuum_carry
from golfphys.formulas.strike import plane_strike
from golfphys.physics.club import BAG, Club, Launch
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.strike import restitution_of_face

Array = NDArray[np.float64]

FARTHEST = 150.0
"""Rest in m that stands for a chip that does not stop."""

UNEVEN = 0.1
"""Unit in which local slopes are handed to the shot; without any it plays no role."""

_BALL = Ball()
_strike = elementwise(plane_strike)
_restitution = elementwise(restitution_of_face)
_vacuum_carry = elementwise(vacuum_carry)


@dataclass(frozen=True, kw_only=True)
class World:
    """Everything that decides what a chip does, as arrays that broadcast to (draws, chips).

    Parameters
    ----------
    resistance : mapping of str to ndarray
        Coefficients of resistance: ``constant``, and the terms in speed by name.
    grain : tuple of ndarray
        Grain along the line of play and to its left.
    fall : tuple of ndarray
        Fall of the ground along the line of play and to its left, rise over run.
    turf : mapping of str to ndarray
        Fields of the turf.
    law : {"rigid", "linear"}
        Family of the turf.
    attack, shaft_lean, direction : ndarray
        Delivery, and the start direction, rad.
    friction, cushion : ndarray
        Between face and ball.
    loft_error : ndarray
        True loft of the club less the one it is taken to have, rad.
    drag_scale, lift_scale : ndarray
        Factors on the coefficients of the air.
    """

    resistance: Mapping[str, Any]
    grain: tuple[Any, Any]
    fall: tuple[Any, Any]
    turf: Mapping[str, Any]
    law: TurfLaw
    attack: Any
    shaft_lean: Any
    direction: Any
    friction: Any
    cushion: Any
    loft_error: Any
    drag_scale: Any
    lift_scale: Any


@dataclass(frozen=True, kw_only=True)
class Shift:
    """Departures of single chips from what was meant, as arrays or numbers.

    Parameters
    ----------
    landing : array_like
        m.
    angle : array_like
        Launch angle, rad.
    spin : array_like
        Backspin, over the backspin.
    direction : array_like
        rad.
    bumps : array_like or None
        Local slopes that the first landings meet, along and to the left of the line, shape (landings, 2, ...).
    """

    landing: Any = 0.0
    angle: Any = 0.0
    spin: Any = 0.0
    direction: Any = 0.0
    bumps: Any = None


NO_SHIFT = Shift()


@dataclass(frozen=True, kw_only=True)
class ChipPhysics:
    """Plays chips that land at given distances.

    Parameters
    ----------
    clubs : tuple of Club
        The club of every chip.
    landing : ndarray
        Where each is to land, m along the line of play.
    guess : ndarray
        Carry of each over that of the same launch in a vacuum on the level, as a start.
    hops : ndarray of bool
        For which chips the first hop is wanted.
    """

    clubs: tuple[Club, ...]
    landing: Array
    hops: NDArray[np.bool_]
    guess: Array | float = 1.0
    _loft: Array = field(init=False, repr=False)
    _mass_ratio: Array = field(init=False, repr=False)

    def __post_init__(self) -> None:
        """Take loft and mass out of the clubs."""
        object.__setattr__(self, "_loft", np.array([club.loft for club in self.clubs]))
        object.__setattr__(self, "_mass_ratio", np.array([_BALL.mass / club.head_mass for club in self.clubs]))

    def launch(self, world: World, speed: Any) -> tuple[Array, Array, Array]:
        """Return ball speed, launch angle and backspin that head speeds give, as `golfphys.physics.strike` has it."""
        loft = self._loft + world.loft_error - world.shaft_lean
        approach = np.maximum(speed * np.cos(world.attack - loft), 0.0)
        restitution = _restitution(approach) * (1.0 - world.cushion)
        grip = constants.FACE_TANGENTIAL_RESTITUTION.value
        found = _strike(
            *(speed, world.attack, loft, restitution, world.friction, grip),
            *(self._mass_ratio, _BALL.radius, _BALL.inertia),
        )
        return tuple(np.asarray(item, dtype=float) for item in found)  # type: ignore[return-value]

    def head_speed(self, world: World, landing: Any, guess: Any) -> Array:
        """Return the head speeds that would land there in a vacuum, corrected by `guess`."""
        speed = np.sqrt(constants.GRAVITY.value * np.asarray(landing)) + 0.0 * np.asarray(world.attack)
        for _ in range(3):
            ball, angle, _ = self.launch(world, speed)
            speed = speed * np.sqrt(landing / (guess * _vacuum(ball, angle)))
        return np.asarray(speed)

    def play(self, world: World, shift: Shift = NO_SHIFT) -> tuple[Array, Shots, Launch, Array]:
        """Play every chip so that it lands where it is to land.

        Returns
        -------
        values : ndarray, shape (draws, chips, 7)
            What should be seen, in the order of `golfphys.fitting.chips.SEEN`; the carry is the landing asked for.
        shots : Shots
            The last shots played, flat; they land within a few millimetres of it.
        launch : Launch
            Their launches.
        guess : ndarray, shape (draws, chips)
            Their carry over that in a vacuum, for `guess`.
        """
        landing = np.maximum(self.landing + np.asarray(shift.landing), 0.1)
        speed = self.head_speed(world, landing, self.guess)
        parts = (speed, landing, *world.fall, world.friction, shift.angle, shift.spin, shift.direction)
        bumped = () if shift.bumps is None else np.shape(shift.bumps)[2:]
        shape = np.broadcast_shapes(*(np.shape(part) for part in parts), bumped)
        ground = self._ground(world, shape)
        air = Aerodynamics(
            drag_scale=_flat(world.drag_scale, shape), lift_scale=_flat(np.asarray(world.lift_scale), shape)
        )
        launch, shots = self._shots(world, speed, shift, shape, ground, air)
        landed = np.maximum(np.asarray(shots.landing_x).reshape(shape), 0.05)
        speed = speed * np.sqrt(landing / landed)
        launch, shots = self._shots(world, speed, shift, shape, ground, air)
        landed = np.maximum(np.asarray(shots.landing_x).reshape(shape), 0.05)
        # what is left of the miss is a few millimetres: everything in proportion
        ratio = landing / landed
        values = np.empty((*shape, len(SEEN)))
        values[..., CARRY] = landing
        values[..., HANG] = np.asarray(shots.flight_time).reshape(shape) * np.sqrt(ratio)
        rest_x = np.where(np.asarray(shots.stops), np.asarray(shots.rest_x), FARTHEST).reshape(shape)
        rest_y = np.where(np.asarray(shots.stops), np.asarray(shots.rest_y), 0.0).reshape(shape)
        values[..., REST] = np.clip(rest_x, -FARTHEST, FARTHEST) * ratio
        values[..., SIDE] = np.clip(rest_y, -FARTHEST, FARTHEST) * ratio
        values[..., LANDING_SIDE] = np.asarray(shots.landing_y).reshape(shape) * ratio
        hopped = np.asarray(shots.hop_time) - np.asarray(shots.flight_time)
        values[..., HOP_TIME] = hopped.reshape(shape) * np.sqrt(ratio)
        values[..., HOP] = landing
        if self.hops.any():
            hops = np.asarray(shots.hop_x).reshape(shape)[..., self.hops]
            values[..., self.hops, HOP] = hops * ratio[..., self.hops]
        values = np.nan_to_num(values, nan=FARTHEST, posinf=FARTHEST, neginf=-FARTHEST)
        ball, angle, _ = self.launch(world, speed)
        guess = landed / _vacuum(ball, angle)
        return values, shots, launch, np.broadcast_to(guess, shape)

    def _shots(
        self,
        world: World,
        speed: Array,
        shift: Shift,
        shape: tuple[int, ...],
        ground: Green,
        air: Aerodynamics,
    ) -> tuple[Launch, Shots]:
        ball, angle, spin = self.launch(world, speed)
        turned = np.clip(angle + shift.angle, 0.02, np.pi / 2 - 0.02)
        ball = ball * np.sqrt(np.maximum(np.sin(2 * angle), 1e-3) / np.sin(2 * turned))
        parts = (ball, turned, spin * (1.0 + np.asarray(shift.spin)), world.direction + np.asarray(shift.direction))
        launch = Launch(*(_flat(part, shape) for part in parts))
        if shift.bumps is None:
            return launch, simulate(launch, ground, aerodynamics=air)
        bumps = np.asarray(shift.bumps) / UNEVEN
        flat = np.ascontiguousarray(np.broadcast_to(bumps, (*bumps.shape[:2], *shape))).reshape(*bumps.shape[:2], -1)
        return launch, simulate(launch, ground, aerodynamics=air, bumps=flat)

    def _ground(self, world: World, shape: tuple[int, ...]) -> Green:
        law = {
            **world.resistance,
            "constant": np.maximum(world.resistance["constant"], 1e-4),
            "grain": np.minimum(np.hypot(*world.grain), MOST_GRAIN),
            "grain_direction": np.arctan2(world.grain[1], world.grain[0]),
        }
        turf = {name: _flat(item, shape) for name, item in {**world.turf, "unevenness": UNEVEN}.items()}
        return Green(
            resistance=Resistance(**{name: _flat(item, shape) for name, item in law.items()}),
            grade=_flat(np.hypot(*world.fall), shape),
            fall_direction=_flat(np.arctan2(world.fall[1], world.fall[0]), shape),
            turf=LinearTurf(**turf) if world.law == "linear" else Turf(**turf),
        )


def _vacuum(speed: Array, angle: Array) -> Array:
    """Carry on the level without air, m."""
    return np.asarray(np.maximum(_vacuum_carry(speed, angle, constants.GRAVITY.value), 1e-3))


def _flat(value: Any, shape: tuple[int, ...]) -> Array:
    return np.ascontiguousarray(np.broadcast_to(np.asarray(value, dtype=float), shape)).reshape(-1)


def physics_of(chips: Chips, clubs: Mapping[str, Club] = BAG) -> ChipPhysics:
    """Return the physics of the chips of a log.

    Parameters
    ----------
    chips : Chips
        The chips.
    clubs : mapping of str to Club
        Clubs by name.

    Returns
    -------
    ChipPhysics
        Plays them.
    """
    return ChipPhysics(
        clubs=tuple(clubs[chips.clubs[i]] for i in chips.club),
        landing=chips.landing,
        hops=chips.seen[:, HOP],
    )
