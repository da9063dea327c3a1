"""What each chip of a log should have done, for arrays of posterior draws.

The player's head speed is not measured. It is taken out of the problem chip by chip: the speed is the one that lands
the ball where it was seen to land; hang time, first hop and rest then follow from the club, the delivery, the lie, the
air and the green.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise
from golfphys.core.constants import Ball
from golfphys.core.names import Array
from golfphys.fitting.chips import CARRY, HANG, HOP, HOP_TIME, LANDING_SIDE, REST, SEEN, SIDE, Chips
from golfphys.fitting.rollout_layout import held
from golfphys.fitting.strikes import Shift
from golfphys.formulas.flight import vacuum_carry
from golfphys.formulas.impact import face_normal, plane_strike
from golfphys.physics.club import BAG, Club, Launch
from golfphys.physics.draws import mapped, stacked
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, LinearTurf, Turf, TurfLaw
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.strike import face_restitution

FASTEST, MOST_SPIN = 100.0, 3000.0  # ball speed in m/s and spin in rad/s that no club gives
FARTHEST = 150.0  # rest in m that stands for a chip that does not stop
UNEVEN = 0.1  # unit in which local slopes and patches are handed to the shot; without any it plays no role
_BALL = Ball()
_strike = elementwise(plane_strike)
_normal = elementwise(face_normal)
_restitution = elementwise(face_restitution)
_vacuum_carry = elementwise(vacuum_carry)


@dataclass(frozen=True, kw_only=True)
class World:
    """Everything that decides what a chip does, as arrays that broadcast to (draws, chips); angles in rad."""

    resistance: Mapping[str, Any]  # coefficients by name
    grain: tuple[Any, Any]  # along the line of play and to its left
    fall: tuple[Any, Any]  # rise over run, the same
    turf: Mapping[str, Any]
    law: TurfLaw
    attack: Any
    shaft_lean: Any
    direction: Any  # in which the ball starts
    friction: Any  # between face and ball, as the next two
    cushion: Any
    spin_factor: Any  # what is left of the spin
    loft_error: Any  # true loft less the one the club is taken to have
    drag_scale: Any
    lift_scale: Any
    opening: Any = 0.0  # of the face about the shaft: she starts the ball on the line all the same, aimed to the left


NO_SHIFT = Shift()
# Worlds from which `CarryRatio` is taken, and how far they differ: loft, friction, drag, lift, fall along the line
TRIED, WIDTHS = 64, (0.04, 0.3, 0.08, 0.3, 0.01)


@dataclass(frozen=True, kw_only=True)
class CarryRatio:
    """Logarithm of a carry over that of the same launch in a vacuum on the level, to second order around a world."""

    centre: Any = 0.0  # launch angle, spin over speed, drag, lift and fall along the line there, (5, chips)
    # Factors on 1, on each departure and on the products of any two, (21, chips); none where they are not known yet.
    terms: Array = field(default_factory=lambda: np.zeros((0, 1)))

    def of(self, world: World, ball: Array, angle: Array, spin: Array) -> Any:
        """Return the carry of launches over that in a vacuum."""
        if not len(self.terms):
            return 1.0
        off = [item - at for item, at in zip(_flown_by(world, ball, angle, spin), self.centre, strict=True)]
        terms, logarithm = iter(self.terms[1:]), self.terms[0]
        for i, item in enumerate(off):
            logarithm = logarithm + item * sum((next(terms) * other for other in off[i:]), next(terms))
        return np.exp(np.clip(logarithm, -2.0, 1.0))

    @classmethod
    def fitted(cls, world: World, launch: tuple[Array, Array, Array], landed: Array) -> "CarryRatio":
        """Return what launches of shape (worlds, chips) show that landed there."""
        flown = np.stack([np.broadcast_to(item, landed.shape) for item in _flown_by(world, *launch)])
        centre = flown.mean(axis=1)
        off = flown - centre[:, None]
        columns = [np.ones_like(landed)]
        for i, item in enumerate(off):
            columns += [item, *(item * other for other in off[i:])]
        inverse = np.linalg.pinv(np.stack(columns, axis=-1).swapaxes(0, 1), rcond=1e-5)
        return cls(centre=centre, terms=np.einsum("cpk,kc->pc", inverse, np.log(landed / _vacuum(*launch[:2]))))


def _flown_by(world: World, ball: Array, angle: Array, spin: Array) -> tuple[Any, ...]:
    """What a flight to a known landing depends on, in units of about the width that matters."""
    return 30.0 * angle, 0.3 * spin / ball, 12.0 * world.drag_scale, 4.0 * world.lift_scale, 100.0 * world.fall[0]


@dataclass(frozen=True, kw_only=True)
class ChipPhysics:
    """Plays chips that land at given distances."""

    club: Club  # of each chip, its numbers arrays (chips,), as the next two
    landing: Array  # along the line of play, m
    hops: NDArray[np.bool_]  # where the first hop is wanted
    ratio: CarryRatio = CarryRatio()  # of each carry, from which the head speed is found

    def launch(self, world: World, speed: Any) -> tuple[Array, Array, Array]:
        """Return ball speed, launch angle and backspin that head speeds give, as `golfphys.physics.strike` has it."""
        club = self.club
        loft = club.loft + world.loft_error - world.shaft_lean
        if np.any(world.opening):
            # within a degree of launch and 4 % of spin of the strike in space, well inside what an option leaves open
            normal = _normal(loft + world.shaft_lean, world.shaft_lean, world.opening, club.lie_angle)
            loft = np.arcsin(np.clip(normal[2], -1.0, 1.0))
        restitution = _restitution(np.maximum(speed * np.cos(world.attack - loft), 0.0)) * (1.0 - world.cushion)
        face = restitution, world.friction, constants.FACE_TANGENTIAL_RESTITUTION.value
        found = _strike(speed, world.attack, loft, *face, _BALL.mass / club.head_mass, _BALL.radius, _BALL.inertia)
        ball, angle, spin = (np.asarray(item, dtype=float) for item in found)
        return ball, angle, spin * world.spin_factor

    def head_speed(self, world: World, landing: Any) -> Array:
        """Return the head speeds that land there, as `ratio` has it."""
        speed = np.sqrt(constants.GRAVITY.value * np.asarray(landing)) + 0.0 * np.asarray(world.attack)
        ratio = 1.0
        for number in range(3):
            launch = self.launch(world, speed)
            ratio = self.ratio.of(world, *launch) if number == 1 else ratio
            speed = speed * np.sqrt(landing / (ratio * _vacuum(*launch[:2])))
        return np.asarray(speed)

    def around(self, world: World) -> "ChipPhysics":
        """Return the same physics with its `ratio` taken around a world of shape (1, chips)."""
        off = np.random.default_rng(1).standard_normal((TRIED, len(WIDTHS), 1)) * np.array(WIDTHS)[:, None]
        struck = {"loft_error": world.loft_error + off[:, 0], "friction": world.friction * np.exp(off[:, 1])}
        air = {"drag_scale": world.drag_scale * np.exp(off[:, 2]), "lift_scale": world.lift_scale + off[:, 3]}
        tried = replace(world, **struck, **air, fall=(world.fall[0] + off[:, 4], world.fall[1] + 0.0 * off[:, 4]))
        physics = self
        for _ in range(2):
            _, speed, landed = physics._played(tried, NO_SHIFT, 2)
            physics = replace(self, ratio=CarryRatio.fitted(tried, self.launch(tried, speed), landed))
        return physics

    def play(self, world: World, shift: Shift = NO_SHIFT) -> Array:
        """Play every chip so that it lands where it is to land.

        Returns what should be seen, (draws, chips, 7), in the order of `golfphys.fitting.chips.SEEN`; the carry is the
        landing asked for.
        """
        known = shift is NO_SHIFT and len(self.ratio.terms) > 0
        return self._played(world, shift, 1 if known else 2)[0]

    def _played(self, world: World, shift: Shift, times: int) -> tuple[Array, Array, Array]:
        """Play chips so often that they land within millimetres; return also head speeds and landings."""
        landing = np.maximum(self.landing + np.asarray(shift.landing), 0.1)
        speed = self.head_speed(world, landing)
        parts = (speed, landing, *world.fall, world.friction, shift.angle, shift.spin, shift.direction)
        bumped = () if shift.bumps is None else np.shape(shift.bumps)[2:]
        shape = np.broadcast_shapes(*(np.shape(part) for part in parts), bumped)
        air = Aerodynamics(drag_scale=_flat(world.drag_scale, shape), lift_scale=_flat(world.lift_scale, shape))
        ground, landed = _ground(world, shape), landing
        for _ in range(times):
            speed = speed * np.sqrt(landing / landed)
            shots = self._shots(world, speed, shift, shape, ground, air)
            landed = np.fmax(np.asarray(shots.landing_x).reshape(shape), 0.05)  # a ball that never flew landed at once
        # what is left of the miss is a few millimetres: everything in proportion
        ratio = landing / landed
        names = ("flight_time", "hop_time", "hop_x", "landing_y", "rest_x", "rest_y", "stops")
        flown, hopped, hop, aside, rest_x, rest_y, stops = (np.reshape(getattr(shots, name), shape) for name in names)
        values = np.empty((*shape, len(SEEN)))
        values[..., CARRY] = values[..., HOP] = landing
        values[..., HANG], values[..., HOP_TIME] = flown * np.sqrt(ratio), (hopped - flown) * np.sqrt(ratio)
        values[..., REST] = np.clip(np.where(stops, rest_x, FARTHEST), -FARTHEST, FARTHEST) * ratio
        values[..., SIDE] = np.clip(np.where(stops, rest_y, 0.0), -FARTHEST, FARTHEST) * ratio
        values[..., LANDING_SIDE] = aside * ratio
        values[..., self.hops, HOP] = (hop * ratio)[..., self.hops]
        return np.nan_to_num(values, nan=FARTHEST, posinf=FARTHEST, neginf=-FARTHEST), speed, landed

    def _shots(
        self, world: World, speed: Array, shift: Shift, shape: tuple[int, ...], ground: Green, air: Aerodynamics
    ) -> Shots:
        ball, angle, spin = self.launch(world, speed)
        turned = np.clip(angle + shift.angle, 0.02, np.pi / 2 - 0.02)
        ball = ball * np.sqrt(np.maximum(np.sin(2 * angle), 1e-3) / np.sin(2 * turned))
        # beyond what a ball can do lie draws that explain no chip: played as they are, they would take minutes
        ball, spin = np.minimum(ball, FASTEST), np.clip(spin * (1.0 + np.asarray(shift.spin)), -MOST_SPIN, MOST_SPIN)
        parts = (ball, turned, spin, world.direction + np.asarray(shift.direction))
        launch = Launch(*(_flat(part, shape) for part in parts))
        bumps = None if shift.bumps is None else np.asarray(shift.bumps) / UNEVEN
        if bumps is not None:
            bumps = _flat(bumps, (*bumps.shape[:2], *shape)).reshape(*bumps.shape[:2], -1)
        return simulate(launch, ground, aerodynamics=air, bumps=bumps)


def _ground(world: World, shape: tuple[int, ...]) -> Green:
    turf = (LinearTurf if world.law == "linear" else Turf)(**{**world.turf, "unevenness": UNEVEN, "patchiness": UNEVEN})
    green = replace(held(world.resistance, world.fall, world.grain), turf=turf)
    return mapped(green, lambda values: _flat(values, shape))


def _vacuum(speed: Array, angle: Array) -> Array:
    """Carry on the level without air, m."""
    return np.asarray(np.maximum(_vacuum_carry(speed, angle, constants.GRAVITY.value), 1e-3))


def _flat(value: Any, shape: tuple[int, ...]) -> Array:
    return np.ascontiguousarray(np.broadcast_to(np.asarray(value, dtype=float), shape)).reshape(-1)


def physics_of(chips: Chips, clubs: Mapping[str, Club] = BAG) -> ChipPhysics:
    """Return the physics of the chips of a log."""
    club = stacked([clubs[chips.clubs[i]] for i in chips.club])
    return ChipPhysics(club=club, landing=chips.landing, hops=chips.seen[:, HOP])
