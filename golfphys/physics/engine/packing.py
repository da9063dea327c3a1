"""Turns the public dataclasses into the rows that the loop reads: ground, air."""

import math
from collections.abc import Mapping
from dataclasses import fields

import numpy as np
from numpy.typing import NDArray

from golfphys.core.ball import Ball
from golfphys.physics import bounce
from golfphys.physics.engine import columns as c
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, GroundBatch, LinearTurf, Strip, Turf

FloatArray = NDArray[np.float64]


def air_rows(air: Air, ball: Ball, aerodynamics: Aerodynamics, shape: tuple[int, ...]) -> FloatArray:
    """Return air rows for the loop: one, or one for each shot where a scale varies."""
    scales = [np.asarray(item, dtype=float) for item in (aerodynamics.drag_scale, aerodynamics.lift_scale)]
    varied = any(item.ndim > 0 for item in scales)
    rows = np.empty((math.prod(shape) if varied else 1, c.AIR_COLUMNS))
    rows[:, c.WIND_X] = air.wind_speed * math.cos(air.wind_direction)
    rows[:, c.WIND_Y] = air.wind_speed * math.sin(air.wind_direction)
    rows[:, c.REYNOLDS_RATE] = air.reynolds(1.0, ball)
    for column, scale in zip((c.DRAG_SHARE, c.LIFT_SHARE), scales, strict=True):
        rows[:, column] = air.share(ball) * (np.broadcast_to(scale, shape).reshape(-1) if varied else scale)
    return rows


def ground_rows(ground: Green | Ground | GroundBatch) -> tuple[FloatArray, FloatArray]:
    """Return frame rows and strip rows for the loop: one ground, or one for each shot."""
    base = ground.ground if isinstance(ground, GroundBatch) else ground
    green, strips = (base.green, base.strips) if isinstance(base, Ground) else (base, ())
    varied: dict[str, FloatArray] = {}
    size = 1
    if isinstance(ground, GroundBatch):
        size = ground.size
        varied = {name: np.asarray(item, dtype=float) for name, item in ground.values.items()}
    grade = varied.get("grade", np.asarray(green.grade))
    fall_direction = varied.get("fall_direction", np.asarray(green.fall_direction))
    frames = np.empty((size, c.FRAME_COLUMNS))
    frames[:, 0:3], frames[:, 3:6], frames[:, 6:9] = frames_of(grade, fall_direction)
    rows = np.zeros((size, len(strips) + 1, c.STRIP_COLUMNS))
    place_strips(rows, strips, grade, fall_direction)
    for number, strip in enumerate((*strips, None)):
        resistance = strip.resistance if strip is not None and strip.resistance is not None else green.resistance
        turf = strip.turf if strip is not None and strip.turf is not None else green.turf
        own = varied if resistance is green.resistance else {}
        for item in fields(resistance):  # each has the column of its name
            rows[:, number, getattr(c, item.name.upper())] = own.get(item.name, getattr(resistance, item.name))
        rows[:, number, c.TURF :] = turf_rows(turf, varied if turf is green.turf else {})
    return frames, rows


def frames_of(grade: FloatArray, fall_direction: FloatArray) -> tuple[FloatArray, FloatArray, FloatArray]:
    """Return the world's forward, left and up in axes that lie in a green with this slope."""
    steep = np.arctan(grade)
    ahead, across = -np.sin(steep) * np.cos(fall_direction), -np.sin(steep) * np.sin(fall_direction)
    up = np.stack(np.broadcast_arrays(ahead, across, np.cos(steep)), axis=-1)
    forward = np.array([1.0, 0.0, 0.0]) - up[..., :1] * up
    forward = forward / np.linalg.norm(forward, axis=-1, keepdims=True)
    return forward, np.cross(up, forward), up


def place_strips(rows: FloatArray, strips: tuple[Strip, ...], grade: FloatArray, fall_direction: FloatArray) -> None:
    """Fill in where each strip starts and how it slopes, in the axes of the green."""
    steep = np.arctan(grade)
    ahead, upright = np.sin(steep) * np.cos(fall_direction), np.cos(steep)
    x = z = np.zeros(len(rows))
    along = 0.0
    last = len(strips)
    for number in range(last + 1):
        own = strips[number].grade if number < last else None
        turn = np.zeros(len(rows))
        if own is not None:
            # the angle in the green's axes whose line rises by `own` in the world
            turn = turn + np.arcsin(math.sin(math.atan(own)) / np.hypot(upright, ahead)) + np.arctan2(ahead, upright)
        row = rows[:, number]
        row[:, c.START_X], row[:, c.START_Z], row[:, c.START_ALONG] = x, z, along
        row[:, c.COSINE], row[:, c.SINE], row[:, c.SLOPE] = np.cos(turn), np.sin(turn), np.tan(turn)
        # gravity along the strip and square to it, over which the strip's own grades are reckoned
        down = upright * np.cos(turn) + ahead * np.sin(turn)
        row[:, c.GRADE_X] = (upright * np.sin(turn) - ahead * np.cos(turn)) / down
        row[:, c.GRADE_Y] = -np.sin(steep) * np.sin(fall_direction) / down
        if number < last:
            length = strips[number].until - along
            x, z, along = x + length * np.cos(turn), z + length * np.sin(turn), strips[number].until


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
