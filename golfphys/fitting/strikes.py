"""What errors of the strike do to the chips of a log: inside the window as slopes, beyond it by how far beyond.

A swing whose edge comes too low ploughs turf, one whose edge comes too high meets the ball with the edge. Both are cut
into steps of how bad it got. Where the steps begin is geometry; how likely each is follows from the player's errors of
low point and height; what each does to the ball is played once, around a reference.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from golfphys.core.broadcasting import broadcast
from golfphys.core.constants import Ball
from golfphys.core.law import kept
from golfphys.core.names import Array, Columns
from golfphys.formulas.impact import face_contact_height, face_normal
from golfphys.physics.club import ERROR_KINDS, REFERENCE_SPEED, TOUR_PLAYER, Club, Delivery, Launch, Lie, StrikeErrors
from golfphys.physics.draws import mapped
from golfphys.physics.strike import ARC_RADIUS, HEAVY_LOSS, THIN_TURN, Struck, lie_met, strike

# Head speed left, over that before, between the steps of heavy strikes
KEPT = (0.30, 0.50, 0.70, 0.85, 1.0 - HEAVY_LOSS)
# Turn of the contact between the steps of thin strikes, rad
TURNED = (THIN_TURN, math.radians(8.0), math.radians(16.0), math.radians(30.0), math.radians(55.0))
STEPS = len(KEPT) + len(TURNED) - 2  # steps of mis-hits, heavy ones first
HIGHEST, HEIGHTS = 0.045, 721  # greatest error of height, m, and how many are tried, where the steps begin
UNIT = 0.01  # unit in which errors are handed to the strike, m or rad
LEAST_CARRY = 0.02  # least carry of a mis-hit over that meant
BEYOND = 6.0  # where the complementary error function is less than a float can tell from 0 beside 1
# Errors of speed (relative), direction, attack and lean (rad) by which slopes are taken
SMALL = (0.02, 0.01, 0.004, 0.01)
# Probability that a player who notes mis-hits notes one, from slight to bad (judged, no source)
NOTED = (0.5, 0.7, 0.8, 0.9)
# Probability that she notes a clean strike as heavy, or as thin, or one mis-hit as the other (judged, no source)
WRONGLY = 0.003


@dataclass(frozen=True, kw_only=True)
class Shift:
    """Departures of single chips from what was meant, as arrays or numbers."""

    landing: Any = 0.0  # m
    angle: Any = 0.0  # of the launch, rad, as the direction
    spin: Any = 0.0  # backspin over the backspin
    direction: Any = 0.0
    # What the first landings meet, (landings, 2 or 3, ...): local slopes along and to the left of the line, and the
    # logarithm of what a patch of turf keeps.
    bumps: Any = None


@dataclass(frozen=True, kw_only=True)
class Departure:
    """How balls leave other than meant."""

    carry: Any  # over that meant, at the same head speed
    shift: Shift  # of launch angle, spin and direction, at the head speed that makes up for the carry


def departure(launch: Launch, meant: Launch) -> Departure:
    """Return how `launch` departs from what was `meant`, both from the same head speed.

    Examples
    --------
    >>> faster = departure(Launch(8.8, 0.6, 220.0), Launch(8.0, 0.6, 200.0))
    >>> round(float(faster.carry), 2), round(float(faster.shift.spin), 6)
    (1.21, 0.0)
    """
    far, aimed = (
        np.square(item.speed) * np.maximum(np.sin(2 * np.asarray(item.angle)), 0.0) for item in (launch, meant)
    )
    carry = np.maximum(far / aimed, LEAST_CARRY)
    spin = np.asarray(launch.backspin) / np.asarray(meant.backspin) / np.sqrt(carry) - 1.0
    turned = np.asarray(launch.direction) - np.asarray(meant.direction)
    raised = np.asarray(launch.angle) - np.asarray(meant.angle)
    return Departure(carry=carry, shift=Shift(angle=raised, spin=np.maximum(spin, -1.0), direction=turned))


@dataclass(frozen=True, kw_only=True)
class Swings:
    """Swings as thought of each chip of a log; every field an array that broadcasts to (..., chips)."""

    club: Club
    lie: Lie
    delivery: Delivery

    def struck(self, z: Array, sds: Sequence[Any]) -> Struck:
        """Strikes with errors `z`, (6, ..., chips), over standard deviations to which neither swing nor lie adds."""
        errors = StrikeErrors(**dict(zip(ERROR_KINDS, sds, strict=True)), growth=0.0, speed_growth=1.0)
        return strike(self.club, self.delivery, replace(self.lie, speed_error=0.0, face_error=0.0), z, errors)


@dataclass(frozen=True, kw_only=True)
class Window:
    """What errors of the strike do to each chip, around swings as thought."""

    # Changes of the logarithm of the carry, of angle and direction (rad) and of the spin by errors of speed, direction,
    # attack, lean and low point, (chips, 5).
    carry: Array
    angle: Array
    spin: Array
    direction: Array
    paced: Array  # how errors of the head speed grow with the swing
    longer: Array  # the same of all but that and direction
    lie: Lie
    edge_aim: float  # aim of the edge as thought, and the change of the edge's height by it, m
    aimed: Array
    attack: Array  # and attack and lean as thought, rad, (chips,)
    shaft_lean: Array
    # Errors of height between which the steps lie, the outermost left out, m: heavy, the window, thin, (chips, steps);
    # and their derivatives by errors of attack, lean and low point, (chips, steps, 3).
    bounds: Array
    moved: Array
    bent: Array
    least: Departure  # at the two ends of each step, (chips, steps)
    most: Departure

    def errors(self, sds: Sequence[Array], unevenness: Any = 1.0) -> list[Array]:
        """Standard deviations of the six errors at each chip, from those at the reference speed, each (..., chips).

        `unevenness` is a factor on what uneven lies add.
        """
        speed, direction, attack, lean, low_point, height = sds
        longer, uneven = self.longer, unevenness * np.asarray(self.lie.face_error)
        speed = np.hypot(speed * self.paced, unevenness * self.lie.speed_error)
        direction, lean = np.hypot(direction, 0.5 * uneven), np.hypot(lean * longer, uneven)
        return [speed, direction, attack * longer, lean, low_point * longer, height * longer]

    def shares(self, errors: Sequence[Array], edge_aim: Array, attack: Array, shaft_lean: Array) -> tuple[Array, Array]:
        """Probability of a clean strike (..., chips), and of each step of mis-hits (..., chips, steps).

        `errors` are standard deviations as `errors` returns them. Attack and lean move the window as errors of them do:
        a face that comes up too steeply digs however the ball flies.
        """
        parts = [edge_aim - self.edge_aim, attack - self.attack, shaft_lean - self.shaft_lean]
        shape = np.broadcast_shapes(*(np.shape(item) for item in (*errors[2:], *parts)))
        sizes, off = (
            np.stack([np.broadcast_to(item, shape) for item in each]).reshape(len(each), -1, shape[-1])
            for each in (errors[2:], parts)
        )
        clean, missed = np.empty(off.shape[1:]), np.empty((*off.shape[1:], STEPS))
        _shares()(self.bounds, self.moved, self.bent, self.aimed, sizes, off, clean, missed)
        return clean.reshape(shape), missed.reshape(*shape, STEPS)


def _shares_for(stamp: int) -> Callable[..., int]:
    root, window = math.sqrt(0.5), len(KEPT) - 1  # heavy strikes come before the window, thin ones after it

    def loop(bounds: Any, moved: Any, bent: Any, aimed: Any, sizes: Any, off: Any, clean: Any, missed: Any) -> int:
        last = bounds.shape[1]
        for d in range(off.shape[1]):
            for i in range(off.shape[2]):
                before = 0.0
                for step in range(last):
                    variance, bound = sizes[3, d, i] * sizes[3, d, i], bounds[i, step] - off[0, d, i] * aimed[i]
                    bound += moved[i, step, 0] * off[1, d, i] + moved[i, step, 1] * off[2, d, i]
                    for kind in range(3):
                        square = sizes[kind, d, i] * sizes[kind, d, i]
                        variance += moved[i, step, kind] * moved[i, step, kind] * square
                        bound += 0.5 * bent[i, step, kind] * square
                    off_by = root * bound / math.sqrt(max(variance, 1e-10))
                    below = 0.5 * math.erfc(-off_by) if abs(off_by) < BEYOND else 0.5 + math.copysign(0.5, off_by)
                    if step == window:
                        clean[d, i] = max(below - before, 0.0)
                    else:
                        missed[d, i, step - (step > window)] = max(below - before, 0.0)
                    before = below
                missed[d, i, last - 1] = max(1.0 - before, 0.0)
        return stamp

    return loop


_shares = kept(_shares_for)


def window_of(swings: Swings) -> Window:
    """Look at the swings of one set of parameter values, shape (1, chips), from all sides."""
    swings = mapped(swings, np.ravel)
    delivery = swings.delivery
    speed, chips = delivery.speed, len(delivery.speed)
    meant = swings.struck(np.zeros((6, 1)), (0.0,) * 6).launch
    slopes = _slopes(swings, meant)
    bounds, heights = _bounds(swings, chips)
    moved, bent = [], []
    # as wide as the errors themselves: where lean leaves no bounce, the bounds have a kink
    for kind, size in ((2, 0.015), (3, 0.035), (4, 0.015)):
        more, less = (_bounds(swings, chips, kind, sign * size)[0] for sign in (1.0, -1.0))
        moved.append((more - less) / (2 * size))
        bent.append((more + less - 2 * bounds) / size**2)
    low, high = (_at_heights(swings, meant, part) for part in heights)
    errors, lie, radius = TOUR_PLAYER.errors, lie_met(swings.lie, swings.club, delivery), Ball().radius
    upright = np.array([face_contact_height(math.sin(loft), 0.0, radius) for loft in np.ravel(swings.club.loft)])
    return Window(
        **slopes,
        paced=errors.speed_growth + (1 - errors.speed_growth) * REFERENCE_SPEED / speed,
        longer=1 - errors.growth + errors.growth * speed / REFERENCE_SPEED,
        lie=lie,
        edge_aim=float(np.median(delivery.edge_aim)),
        attack=np.broadcast_to(delivery.attack, chips),
        shaft_lean=np.broadcast_to(delivery.shaft_lean, chips),
        aimed=upright + np.asarray(lie.ball_height),
        bounds=bounds,
        moved=np.stack(moved, axis=-1),
        bent=np.stack(bent, axis=-1),
        least=low,
        most=high,
    )


def _slopes(swings: Swings, meant: Launch) -> dict[str, Array]:
    """Changes of the launch by each error but that of height, which does nothing inside the window."""
    found: dict[str, list[Array]] = {"carry": [], "angle": [], "spin": [], "direction": []}
    for kind, size in enumerate(SMALL):
        z, sds = np.zeros((6, 1)), [0.0] * 6
        z[kind], sds[kind] = 1.0, size
        up, down = (departure(swings.struck(sign * z, sds).launch, meant) for sign in (1.0, -1.0))
        found["carry"].append((np.log(up.carry) - np.log(down.carry)) / (2 * size))
        for name in ("angle", "spin", "direction"):
            found[name].append((getattr(up.shift, name) - getattr(down.shift, name)) / (2 * size))
    for parts in found.values():
        # a low point ahead of where it was meant makes the attack steeper; how it moves the edge is the window's
        parts.append(-parts[2] / ARC_RADIUS)
    return {name: np.stack(np.broadcast_arrays(*parts), axis=-1) for name, parts in found.items()}


def _bounds(swings: Swings, chips: int, kind: int = 0, error: float = 0.0) -> tuple[Array, tuple[Array, Array]]:
    """Errors of height at which the steps begin, one error of another kind given, and those at the ends of each."""
    heights = np.linspace(-HIGHEST, HIGHEST, HEIGHTS)
    z = np.zeros((6, HEIGHTS, 1))
    z[kind] = error / UNIT
    z[5, :, 0] = heights / UNIT
    found = swings.struck(z, (UNIT,) * 6)
    kept = np.broadcast_to(found.speed_kept, (HEIGHTS, chips))
    leaning = replace(swings, delivery=replace(swings.delivery, shaft_lean=swings.delivery.shaft_lean + error))
    turned = _turned(leaning if kind == 3 else swings, found, (HEIGHTS, chips))
    heavy, thin = np.empty((chips, len(KEPT))), np.empty((chips, len(TURNED)))
    for i in range(chips):
        heavy[i] = np.interp(KEPT, kept[:, i], heights)
        thin[i] = np.interp(TURNED, turned[:, i], heights)
    thin = np.maximum(thin, heavy[:, -1:] + 1e-4)
    # the outermost steps reach on without end; what they do is taken between their bounds
    bounds = np.concatenate([heavy[:, 1:], thin[:, :-1]], axis=1)
    low = np.concatenate([heavy[:, :-1], thin[:, :-1]], axis=1)
    high = np.concatenate([heavy[:, 1:], thin[:, 1:]], axis=1)
    return bounds, (low, high)


def _turned(swings: Swings, found: Struck, shape: tuple[int, ...]) -> Array:
    """Turn of the contact under the face's normal, rad."""
    delivery, club, ball = swings.delivery, swings.club, Ball()
    normal = broadcast(face_normal, club.loft, delivery.shaft_lean, delivery.face_opening, club.lie_angle)[2]
    rise = np.clip(1.0 - (np.asarray(found.edge) - swings.lie.ball_height) / ball.radius, -1.0, 1.0)
    upward = np.minimum(np.arcsin(rise), np.arcsin(normal))
    return np.broadcast_to(np.arcsin(normal) - upward, shape)


def _at_heights(swings: Swings, meant: Launch, heights: Array) -> Departure:
    z = np.zeros((6, *heights.T.shape))
    z[5] = heights.T / UNIT
    found = departure(swings.struck(z, (UNIT,) * 6).launch, meant)
    shift = Shift(angle=np.asarray(found.shift.angle).T, spin=np.asarray(found.shift.spin).T)
    return Departure(carry=np.minimum(found.carry, 4.0).T, shift=shift)


def marks_of(strike_noted: Columns) -> tuple[Array, Array, Array]:
    """Return how likely what was noted of each strike is, if it was clean, of each step of mis-hits, or anything.

    Shapes (chips,), (chips, steps), (chips,). What was noted is a `golfphys.physics.strike.Contact`, or -1 for nothing.
    A log that notes no strike at all says nothing by leaving one out.

    Examples
    --------
    >>> clean, missed, other = marks_of(np.array([-1, 1, -1]))
    >>> bool(missed[1, 0] > clean[1])
    True
    """
    noted = np.asarray(NOTED)
    # steps of heavy strikes go from bad to slight, those of thin ones from slight to bad
    heavy, thin = np.concatenate([noted[::-1], 0 * noted]), np.concatenate([0 * noted, noted])
    clean = 1 - 2 * WRONGLY, 1 - (heavy + thin), 0.5
    table = {-1: clean, 0: clean}
    table |= {1: (WRONGLY, heavy + WRONGLY * (thin > 0), 0.25), 2: (WRONGLY, thin + WRONGLY * (heavy > 0), 0.25)}
    if not np.any(strike_noted > 0):
        table[-1] = (1.0, np.ones(STEPS), 1.0)
    rows = [table[int(code)] for code in strike_noted]
    struck, missed, other = (np.array([row[k] for row in rows]) for k in range(3))
    return struck, missed.reshape(len(rows), STEPS), other
