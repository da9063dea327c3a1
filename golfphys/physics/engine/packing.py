"""Turns the public dataclasses into the rows that the loop reads: ground, air."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import fields, is_dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.ball import Ball
from golfphys.physics import bounce
from golfphys.physics.engine import columns as c
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, LinearTurf, Strip, Turf

FloatArray = NDArray[np.float64]


def air_rows(air: Air, ball: Ball, aerodynamics: Aerodynamics, shape: tuple[int, ...]) -> FloatArray:
    """Return air rows for the loop: one, or one for each shot where a number varies."""
    columns = (
        air.wind_speed * np.cos(air.wind_direction),
        air.wind_speed * np.sin(air.wind_direction),
        air.reynolds(1.0, ball),
        air.share(ball) * np.asarray(aerodynamics.drag_scale),
        air.share(ball) * np.asarray(aerodynamics.lift_scale),
    )
    return np.stack(spread(columns, shape), axis=-1)


def spread(values: Sequence[Any], shape: tuple[int, ...]) -> list[FloatArray]:
    """Return numbers or arrays as flat arrays of one length: 1 if all are numbers, else one value for each shot."""
    items = [np.asarray(item, dtype=float) for item in values]
    if all(item.ndim == 0 for item in items):
        return [item.reshape(1) for item in items]
    return [np.broadcast_to(item, shape).reshape(-1) for item in items]


def shapes_of(*things: Any) -> list[tuple[int, ...]]:
    """Return the shapes of the numbers in dataclasses, and in the dataclasses and tuples that they hold."""
    shapes: list[tuple[int, ...]] = []
    for thing in things:
        if is_dataclass(thing):
            shapes += shapes_of(*(getattr(thing, item.name) for item in fields(thing)))
        elif isinstance(thing, tuple):
            shapes += shapes_of(*thing)
        elif thing is not None:
            shapes.append(np.shape(thing))
    return shapes


def ground_rows(ground: Green | Ground, shape: tuple[int, ...] = ()) -> tuple[FloatArray, FloatArray]:
    """Return frame rows and strip rows for the loop: one ground, or one for each shot of a batch of this shape."""
    green, strips = (ground.green, ground.strips) if isinstance(ground, Ground) else (ground, ())
    if all(item == () for item in shapes_of(ground)):
        shape = ()
    size = math.prod(shape)
    grade, fall_direction = (
        np.broadcast_to(np.asarray(item, dtype=float), shape).reshape(-1)
        for item in (green.grade, green.fall_direction)
    )
    frames = np.empty((size, c.FRAME_COLUMNS))
    frames[:, 0:3], frames[:, 3:6], frames[:, 6:9] = frames_of(grade, fall_direction)
    rows = np.zeros((size, len(strips) + 1, c.STRIP_COLUMNS))
    place_strips(rows, strips, grade, fall_direction, shape)
    for number, strip in enumerate((*strips, None)):
        resistance = strip.resistance if strip is not None and strip.resistance is not None else green.resistance
        turf = strip.turf if strip is not None and strip.turf is not None else green.turf
        for item in fields(resistance):  # each has the column of its name
            value = np.broadcast_to(np.asarray(getattr(resistance, item.name), dtype=float), shape)
            rows[:, number, getattr(c, item.name.upper())] = value.reshape(-1)
        for column, value in enumerate(bounce.turf_row(turf)):
            rows[:, number, c.TURF + column] = np.broadcast_to(np.asarray(value, dtype=float), shape).reshape(-1)
    return frames, rows


def frames_of(grade: FloatArray, fall_direction: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the world's forward, left and up in axes that lie in a green with this slope."""
    steep = np.arctan(grade)
    ahead, across = -np.sin(steep) * np.cos(fall_direction), -np.sin(steep) * np.sin(fall_direction)
    up = np.stack(np.broadcast_arrays(ahead, across, np.cos(steep)), axis=-1)
    forward = np.array([1.0, 0.0, 0.0]) - up[..., :1] * up
    forward = forward / np.linalg.norm(forward, axis=-1, keepdims=True)
    return forward, np.cross(up, forward), up


def place_strips(
    rows: FloatArray,
    strips: tuple[Strip, ...],
    grade: FloatArray,
    fall_direction: FloatArray,
    shape: tuple[int, ...],
) -> None:
    """Fill in where each strip starts and how it slopes, in the axes of the green."""
    steep = np.arctan(grade)
    ahead, upright = np.sin(steep) * np.cos(fall_direction), np.cos(steep)
    x = z = np.zeros(len(rows))
    along = np.zeros(len(rows))
    last = len(strips)

    def flat(value: Any) -> FloatArray:
        return np.broadcast_to(np.asarray(value, dtype=float), shape).reshape(-1)

    for number in range(last + 1):
        own = strips[number].grade if number < last else None
        turn = np.zeros(len(rows))
        if own is not None:
            # the angle in the green's axes whose line rises by `own` in the world
            turn = (
                turn + np.arcsin(np.sin(np.arctan(flat(own))) / np.hypot(upright, ahead)) + np.arctan2(ahead, upright)
            )
        row = rows[:, number]
        row[:, c.START_X], row[:, c.START_Z], row[:, c.START_ALONG] = x, z, along
        row[:, c.COSINE], row[:, c.SINE], row[:, c.SLOPE] = np.cos(turn), np.sin(turn), np.tan(turn)
        # gravity along the strip and square to it, over which the strip's own grades are reckoned
        down = upright * np.cos(turn) + ahead * np.sin(turn)
        row[:, c.GRADE_X] = (upright * np.sin(turn) - ahead * np.cos(turn)) / down
        row[:, c.GRADE_Y] = -np.sin(steep) * np.sin(fall_direction) / down
        if number < last:
            until = flat(strips[number].until)
            x, z, along = x + (until - along) * np.cos(turn), z + (until - along) * np.sin(turn), until


def turf_rows(turf: Turf | LinearTurf, varied: Mapping[str, FloatArray]) -> FloatArray:
    """Return turf rows: one, or one for each shot where a value of the turf varies."""
    places = bounce.row_fields(turf)
    own = {name: np.asarray(item, dtype=float) for name, item in varied.items() if name in places}
    rows = np.empty((max((item.size for item in own.values()), default=1), bounce.TURF_COLUMNS))
    rows[:] = bounce.turf_row(turf)
    for name, item in own.items():
        rows[:, places.index(name)] = item
    if isinstance(turf, Turf) and own.keys() & {"tilt", "dent_speed"}:
        tilt, speed = (own.get(name, np.asarray(getattr(turf, name))) for name in ("tilt", "dent_speed"))
        rows[:, places.index("tilt")] = bounce.tilt_rate(tilt, speed)
    return rows
