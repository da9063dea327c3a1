"""From the public dataclasses to the rows of numbers that the compiled shot reads, and where each number stands.

The axes of a shot lie in the plane of the green: x along the line of play on the ground, y to the left on the ground, z
square to it; gravity is tilted instead. Strips are planes through lines square to x. On surveyed ground z is up.
"""

import math
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.physics import bounce
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, Hole, Resistance

Floats = NDArray[np.float64]
Survey = tuple[Floats, Floats, Floats, Floats, Floats]
"""Knots along x and y, the polynomial of each cell between them, the ball's place and line, and the edges."""

# a launch row; standard normals for the local slopes of the first landings may follow
SPEED, ANGLE, BACKSPIN, DIRECTION, SIDESPIN, LAUNCH_COLUMNS = range(6)
# a frame row: forward, left and up of the world in the axes of the green, three components each; then the hole
HOLE_X, HOLE_Y, HOLE_RADIUS, CAPTURE_SPEED, STICK, FRAME_COLUMNS = range(9, 15)
# a strip row: where the strip starts, how it slopes, how it resists (in the order of a `Resistance`), its turf row
START_X, START_Z, SLOPE, START_ALONG, COSINE, SINE, GRADE_X, GRADE_Y, RESISTANCE = range(9)
TERMS = tuple(item.name for item in fields(Resistance))
GRAIN, TURF = RESISTANCE + TERMS.index("grain"), RESISTANCE + len(TERMS)
SKID_FRICTION, HOP_LOSS, UNEVENNESS = TURF + bounce.SKID_FRICTION, TURF + bounce.HOP_LOSS, TURF + bounce.UNEVENNESS
STRIP_COLUMNS = TURF + bounce.TURF_COLUMNS
# an air row; the scales are those of drag and lift, times the ball's share of air
WIND_X, WIND_Y, WIND_HEIGHT, ROUGHNESS, REYNOLDS_RATE, DRAG_SHARE, LIFT_SHARE, ROLL_DRAG, AIR_COLUMNS = range(9)
# a result row
RESULTS = (
    *("carry", "landing_x", "landing_y", "flight_time", "landing_speed", "landing_angle", "landing_spin", "apex"),
    *("hop_x", "hop_y", "hop_time", "roll_x", "roll_y", "roll_speed", "rest_x", "rest_y", "rest_time"),
)
CARRY, LANDING_X, LANDING_Y, FLIGHT_TIME, LANDING_SPEED, LANDING_ANGLE, LANDING_SPIN, APEX = range(8)
HOP_X, HOP_Y, HOP_TIME, ROLL_X, ROLL_Y, ROLL_SPEED, REST_X, REST_Y, REST_TIME = range(8, 17)
# counts: hops, status, holed
BOUNCES, STATUS, HOLED = range(3)
# a path row; a roll has its speed in the place of a height
PATH_TIME, PATH_X, PATH_Y, PATH_Z, PATH_PHASE, PATH_COLUMNS = range(6)
FLYING, SLIDING, ROLLING = 0.0, 1.0, 2.0


def shapes_of(*things: Any) -> list[tuple[int, ...]]:
    """Return the shapes of the numbers in dataclasses, and in the dataclasses and tuples that they hold."""
    shapes: list[tuple[int, ...]] = []
    for thing in things:
        if is_dataclass(thing):
            shapes += shapes_of(*(getattr(thing, item.name) for item in fields(thing)))
        elif isinstance(thing, tuple):
            shapes += shapes_of(*thing)
        elif isinstance(thing, (float, int, np.ndarray, list)):
            shapes.append(np.shape(thing))
    return shapes


def spread(values: Sequence[Any], shape: tuple[int, ...]) -> list[Floats]:
    """Return numbers or arrays as flat arrays of one length: 1 if all are numbers, else one value for each shot."""
    items = [np.asarray(item, dtype=float) for item in values]
    if all(item.ndim == 0 for item in items):
        return [item.reshape(1) for item in items]
    return [np.broadcast_to(item, shape).reshape(-1) for item in items]


def air_rows(air: Air, ball: Ball, aerodynamics: Aerodynamics, shape: tuple[int, ...]) -> Floats:
    """Return air rows: one, or one for each shot where a number varies."""
    share = air.share(ball)
    columns = (
        air.wind_speed * np.cos(air.wind_direction),
        air.wind_speed * np.sin(air.wind_direction),
        *(air.wind_height, air.roughness, air.reynolds(1.0, ball)),
        *(share * np.asarray(scale) for scale in (aerodynamics.drag_scale, aerodynamics.lift_scale)),
        share * constants.ROLLING_DRAG.value,
    )
    return np.stack(spread(columns, shape), axis=-1)


def ground_rows(ground: Green | Ground, shape: tuple[int, ...] = ()) -> tuple[Floats, Floats]:
    """Return frame rows and strip rows: one ground, or one for each shot of a batch of this shape."""
    ground = ground if isinstance(ground, Ground) else Ground(green=ground)
    green = ground.green
    if all(item == () for item in shapes_of(ground)):
        shape = ()

    def flat(value: Any) -> Floats:
        return np.broadcast_to(np.asarray(value, dtype=float), shape).reshape(-1)

    grade = flat(green.grade if ground.surface is None else 0.0)
    fall_direction = flat(green.fall_direction)
    frames = np.zeros((math.prod(shape), FRAME_COLUMNS))
    frames[:, 0:3], frames[:, 3:6], frames[:, 6:9] = frames_of(grade, fall_direction)
    if ground.hole is not None:
        for column, value in enumerate(hole_row(ground.hole), HOLE_X):
            frames[:, column] = flat(value)
    rows = np.zeros((len(frames), len(ground.pieces), STRIP_COLUMNS))
    own = [
        None if strip is None or strip.grade is None or ground.surface is not None else flat(strip.grade)
        for _, strip in ground.pieces
    ]
    place_strips(rows, [flat(start) for start, _ in ground.pieces], own, grade, fall_direction)
    for number, (_, strip) in enumerate(ground.pieces):
        resistance = strip.resistance if strip is not None and strip.resistance is not None else green.resistance
        turf = strip.turf if strip is not None and strip.turf is not None else green.turf
        for column, name in enumerate(TERMS):
            rows[:, number, RESISTANCE + column] = flat(getattr(resistance, name))
        for column, value in enumerate(bounce.turf_row(turf)):
            rows[:, number, TURF + column] = flat(value)
    return frames, rows


def hole_row(hole: Hole) -> tuple[Any, ...]:
    """Return what a frame row says of a hole."""
    stick = constants.FLAGSTICK_GAIN.value if hole.flagstick else 0.0
    return hole.x, hole.y, hole.radius, hole.capture_speed, stick


def frames_of(grade: Floats, fall_direction: Floats) -> tuple[Floats, Floats, Floats]:
    """Return the world's forward, left and up in axes that lie in a green with this slope."""
    steep = np.arctan(grade)
    ahead, across = -np.sin(steep) * np.cos(fall_direction), -np.sin(steep) * np.sin(fall_direction)
    up = np.stack(np.broadcast_arrays(ahead, across, np.cos(steep)), axis=-1)
    forward = np.array([1.0, 0.0, 0.0]) - up[..., :1] * up
    forward = forward / np.linalg.norm(forward, axis=-1, keepdims=True)
    return forward, np.cross(up, forward), up


def place_strips(
    rows: Floats, starts: list[Floats], grades: list[Floats | None], grade: Floats, fall_direction: Floats
) -> None:
    """Fill in where each strip starts and how it slopes, in the axes of the green."""
    steep = np.arctan(grade)
    ahead, upright = np.sin(steep) * np.cos(fall_direction), np.cos(steep)
    x = z = np.zeros(len(rows))
    for number, (along, own) in enumerate(zip(starts, grades, strict=True)):
        turn: Any = 0.0
        if own is not None:
            # the angle in the green's axes whose line rises by `own` in the world
            turn = np.arcsin(np.sin(np.arctan(own)) / np.hypot(upright, ahead)) + np.arctan2(ahead, upright)
        row = rows[:, number]
        row[:, START_X], row[:, START_Z], row[:, START_ALONG] = x, z, along
        row[:, COSINE], row[:, SINE], row[:, SLOPE] = np.cos(turn), np.sin(turn), np.tan(turn)
        # gravity along the strip and square to it, over which the strip's own grades are reckoned
        down = upright * np.cos(turn) + ahead * np.sin(turn)
        row[:, GRADE_X] = (upright * np.sin(turn) - ahead * np.cos(turn)) / down
        row[:, GRADE_Y] = -np.sin(steep) * np.sin(fall_direction) / down
        if number + 1 < len(starts):
            length = starts[number + 1] - along
            x, z = x + length * np.cos(turn), z + length * np.sin(turn)
