"""What the compiled shot reads: rows of numbers made from the public dataclasses, and where a ball is on that ground.

The axes of a shot lie in the plane of the green: x along the line of play on the ground, y to the left on the ground, z
square to it; gravity is tilted instead. Strips are planes through lines square to x. On surveyed ground z is up.
"""

import math
from collections.abc import Sequence
from dataclasses import fields, is_dataclass
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise, plain
from golfphys.core.constants import Ball
from golfphys.core.law import fixed, kernel
from golfphys.formulas.turf import dent_tilt_rate
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, Hole, LinearTurf, Resistance, Turf

Floats = NDArray[np.float64]
# knots along x and y, the polynomial of each cell between them, the ball's place and line, and the edges
Survey = tuple[Floats, Floats, Floats, Floats, Floats]

# a turf's row: its family, the family's own numbers (of the tilt its rate), and what both families have
RIGID, LINEAR = 0.0, 1.0
RIGID_FIELDS = (
    *("restitution", "restitution_linear", "restitution_quadratic", "restitution_limit_speed"),
    *("tilt", "dent_speed", "friction", "tangential_restitution"),
)
LINEAR_FIELDS = (
    *("restitution", "friction", "forward_lift"),
    *("speed_kept", "speed_from_spin", "spin_from_speed", "spin_kept", ""),
)
EITHER_FIELDS = ("skid_friction", "hop_loss", "unevenness", "patchiness", "kept_by_angle", "kept_by_speed")
TURF_COLUMNS = 1 + len(RIGID_FIELDS) + len(EITHER_FIELDS)
# a launch row; standard normals for the first landings may follow, for each its slope along and across, and its patch
CHANCE = 3
SPEED, ANGLE, BACKSPIN, DIRECTION, SIDESPIN, LAUNCH_COLUMNS = range(6)
# a frame row: forward, left and up of the world in the axes of the green, three components each; then the hole
HOLE_X, HOLE_Y, HOLE_RADIUS, CAPTURE_SPEED, STICK, FRAME_COLUMNS = range(9, 15)
# a strip row: where the strip starts, how it slopes, how it resists (in the order of a `Resistance`), its turf row
START_X, START_Z, SLOPE, START_ALONG, COSINE, SINE, GRADE_X, GRADE_Y, RESISTANCE = range(9)
TERMS = tuple(item.name for item in fields(Resistance))
GRAIN, TURF = RESISTANCE + TERMS.index("grain"), RESISTANCE + len(TERMS)
COEFFICIENTS = GRAIN - RESISTANCE
STRIP_COLUMNS = TURF + TURF_COLUMNS
SKID_FRICTION, HOP_LOSS, UNEVENNESS, PATCHINESS, KEPT_BY_ANGLE, KEPT_BY_SPEED = range(STRIP_COLUMNS - 6, STRIP_COLUMNS)
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
# a path row, of which a roll has its speed in the place of a height; the phases; and most points, the rest unnoted
PATH_TIME, PATH_X, PATH_Y, PATH_Z, PATH_PHASE, PATH_COLUMNS = range(6)
FLYING, SLIDING, ROLLING = 0.0, 1.0, 2.0
PATH_ROWS = 4000


_tilt_rate = elementwise(dent_tilt_rate)


def tilt_rate(tilt: Any, dent_speed: Any) -> Any:
    """Return the tilt's rate as a turf row holds it; floats or arrays."""
    return _tilt_rate(tilt, dent_speed, constants.TURF_REFERENCE_SPEED.value, constants.TURF_REFERENCE_ANGLE.value)


def turf_row(turf: Turf | LinearTurf) -> tuple[Any, ...]:
    """Return the numbers of `turf` as the scalar laws take them."""
    numbers, family, own = {**vars(turf), "": 0.0}, LINEAR, LINEAR_FIELDS
    if isinstance(turf, Turf):
        numbers["tilt"], family, own = plain(tilt_rate(turf.tilt, turf.dent_speed)), RIGID, RIGID_FIELDS
    return family, *(numbers[name] for name in (*own, *EITHER_FIELDS))


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
    shape = shape if any(item.ndim for item in items) else (1,)
    return [np.broadcast_to(item, shape).reshape(-1) for item in items]


def repeated(rows: Floats, own: tuple[int, ...], shape: tuple[int, ...]) -> Floats:
    """Return rows made for values of the shape `own` as one for each shot of a batch; a single one as it is."""
    if len(rows) == 1 or own == shape:
        return rows
    rest = rows.shape[1:]
    standing = rows.reshape(*(1,) * (len(shape) - len(own)), *own, *rest)
    return np.broadcast_to(standing, (*shape, *rest)).reshape(-1, *rest)


def air_rows(air: Air, ball: Ball, aerodynamics: Aerodynamics, shape: tuple[int, ...]) -> Floats:
    """Return air rows: one, or one for each shot where a number varies."""
    share, wind = air.share(ball), air.wind_speed
    columns = (
        *(wind * np.cos(air.wind_direction), wind * np.sin(air.wind_direction)),
        *(air.wind_height, air.roughness, air.reynolds(1.0, ball)),
        *(share * np.asarray(scale) for scale in (aerodynamics.drag_scale, aerodynamics.lift_scale)),
        share * constants.ROLLING_DRAG.value,
    )
    own = np.broadcast_shapes(*(np.shape(item) for item in columns))
    return repeated(np.stack(spread(columns, own), axis=-1), own, shape)


def ground_rows(ground: Green | Ground, shape: tuple[int, ...] = ()) -> tuple[Floats, Floats]:
    """Return frame rows and strip rows: one ground, or one for each shot of a batch of this shape."""
    ground = ground if isinstance(ground, Ground) else Ground(green=ground)
    green, own = ground.green, np.broadcast_shapes(*shapes_of(ground))

    def flat(value: Any) -> Floats:
        return np.broadcast_to(np.asarray(value, dtype=float), own).reshape(-1)

    planes = ground.surface is None
    grade, fall_direction = flat(green.grade if planes else 0.0), flat(green.fall_direction)
    frames = np.zeros((math.prod(own), FRAME_COLUMNS))
    frames[:, 0:3], frames[:, 3:6], frames[:, 6:9] = frames_of(grade, fall_direction)
    for column, value in enumerate(hole_row(ground.hole), HOLE_X):
        frames[:, column] = flat(value)
    rows = np.zeros((len(frames), len(ground.pieces), STRIP_COLUMNS))
    slopes = [flat(strip.grade) if planes and strip.grade is not None else None for _, strip in ground.pieces]
    place_strips(rows, [flat(start) for start, _ in ground.pieces], slopes, grade, fall_direction)
    for number, (_, strip) in enumerate(ground.pieces):
        resistance, turf = strip.resistance or green.resistance, strip.turf or green.turf
        values = (*(getattr(resistance, name) for name in TERMS), *turf_row(turf))
        for column, value in enumerate(values, RESISTANCE):
            rows[:, number, column] = flat(value)
    return repeated(frames, own, shape), repeated(rows, own, shape)


def hole_row(hole: Hole | None) -> tuple[Any, ...]:
    """Return what a frame row says of a hole; zeros for none."""
    if hole is None:
        return (0.0,) * (FRAME_COLUMNS - HOLE_X)
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
        row, cosine, sine = rows[:, number], np.cos(turn), np.sin(turn)
        row[:, START_X], row[:, START_Z], row[:, START_ALONG] = x, z, along
        row[:, COSINE], row[:, SINE], row[:, SLOPE] = cosine, sine, np.tan(turn)
        # gravity along the strip and square to it, over which the strip's own grades are reckoned
        down = upright * cosine + ahead * sine
        row[:, GRADE_X] = (upright * sine - ahead * cosine) / down
        row[:, GRADE_Y] = -np.sin(steep) * np.sin(fall_direction) / down
        if number + 1 < len(starts):
            length = starts[number + 1] - along
            x, z = x + length * cosine, z + length * sine


@kernel
def mark(note: Any, time: float, x: float, y: float, z: float, phase: float) -> None:
    """Note a point of the path, if one is wanted; `note` is its rows, whose first number counts them, and the clock."""
    path, clock = note
    if path.shape[0] > 0:
        row = int(path[0, 0]) + 1
        if row < path.shape[0]:
            path[0, 0] = row
            path[row, 0], path[row, 1], path[row, 2], path[row, 3], path[row, 4] = clock + time, x, y, z, phase


@kernel
def cell_of(lines: Any, value: float) -> Any:
    """Return the number of the cell between knots in which a value lies, the first or last for one beyond."""
    low, high = 0, lines.shape[0] - 1
    while high - low > 1:
        between = (low + high) // 2
        if value >= lines[between]:
            low = between
        else:
            high = between
    return low


@kernel
def survey_at(survey: Any, x: float, y: float) -> Any:
    """Height and slopes of surveyed ground at a place from the ball; beyond the survey it goes on as at the edge."""
    lines_x, lines_y, cells, place, _ = survey
    cosine, sine = place[2], place[3]
    to_x, to_y = place[0] + cosine * x - sine * y, place[1] + sine * x + cosine * y
    at_x = min(max(to_x, lines_x[0]), lines_x[-1])
    at_y = min(max(to_y, lines_y[0]), lines_y[-1])
    i, j = cell_of(lines_x, at_x), cell_of(lines_y, at_y)
    p, q = at_x - lines_x[i], at_y - lines_y[j]
    height = rise_x = rise_y = 0.0
    for m in range(3, -1, -1):
        cell = cells[i, j, m]
        value = cell[0] + q * (cell[1] + q * (cell[2] + q * cell[3]))
        rise_x = rise_x * p + height
        height = height * p + value
        rise_y = rise_y * p + cell[1] + q * (2.0 * cell[2] + 3.0 * q * cell[3])
    height += rise_x * (to_x - at_x) + rise_y * (to_y - at_y)
    return height, cosine * rise_x + sine * rise_y, cosine * rise_y - sine * rise_x


@kernel
def surveyed(survey: Any, x: float, y: float) -> Any:
    """Whether a place lies on the surveyed ground; always where there is no survey."""
    if survey is None:
        return True
    place, edges = survey[3], survey[4]
    to_x = place[0] + place[2] * x - place[3] * y
    to_y = place[1] + place[3] * x + place[2] * y
    inside = True
    for k in range(edges.shape[0]):
        inside = inside and edges[k, 0] * to_x + edges[k, 1] * to_y + edges[k, 2] <= 1e-9
    return inside


@kernel
def ground_of(row: Any) -> Any:
    """What a roll meets on a strip: its slopes, then the coefficients of resistance, with the grain's two parts."""
    grain, direction = row[GRAIN], row[GRAIN + 1]
    along, across = 0.0, 0.0
    if grain != 0.0:
        along, across = grain * math.cos(direction), grain * math.sin(direction)
    return row[GRADE_X], row[GRADE_Y], *fixed(row[RESISTANCE:GRAIN], COEFFICIENTS), along, across


@kernel
def grades_at(here: Any, survey: Any, x: float, y: float) -> Any:
    """Rise of the ground along x and y where a ball rolls or slides."""
    if survey is None:
        return here[0], here[1]
    _, rise_x, rise_y = survey_at(survey, x, y)
    return rise_x, rise_y


@kernel
def strip_at(pieces: Any, start: int, place: float) -> Any:
    """Return the number of the strip of a place: by `START_X` for a flight, by `START_ALONG` along the ground."""
    s: int = pieces.shape[0] - 1
    while s > 0 and place < pieces[s, start]:
        s -= 1
    return s


@kernel
def border(pieces: Any, s: int, a: float) -> Any:
    """Border that a ball on strip `s` has crossed on its way to `a`, and the change of strip; 0 for none."""
    if s > 0 and a < pieces[s, START_ALONG]:
        return pieces[s, START_ALONG], -1
    if s < pieces.shape[0] - 1 and a >= pieces[s + 1, START_ALONG]:
        return pieces[s + 1, START_ALONG], 1
    return a, 0


class Status(IntEnum):
    """How a shot or a roll ended.

    A ball that stops off surveyed ground has left it: its rest is where it would stop if the ground went on as at the
    edge (a shot), or where it crossed the edge (a roll).

    >>> Status(0)
    <Status.STOPPED: 0>
    """

    STOPPED = 0
    NEVER_STOPS = 1
    STILL_BOUNCING = 2
    INVALID = 3
    LEFT_GROUND = 4


STOPPED, NEVER_STOPS, STILL_BOUNCING, INVALID, LEFT_GROUND = (int(status) for status in Status)
