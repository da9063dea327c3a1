"""Where a ball is on the ground, compiled: its strip, the slope there, the survey, and the noting of a path."""

import math
from typing import Any

from golfphys.core.law import fixed, kernel
from golfphys.physics import rows as c

COEFFICIENTS = c.GRAIN - c.RESISTANCE


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
    grain, direction = row[c.GRAIN], row[c.GRAIN + 1]
    along, across = 0.0, 0.0
    if grain != 0.0:
        along, across = grain * math.cos(direction), grain * math.sin(direction)
    return row[c.GRADE_X], row[c.GRADE_Y], *fixed(row[c.RESISTANCE : c.GRAIN], COEFFICIENTS), along, across


@kernel
def grades_at(here: Any, survey: Any, x: float, y: float) -> Any:
    """Rise of the ground along x and y where a ball rolls or slides."""
    if survey is None:
        return here[0], here[1]
    _, rise_x, rise_y = survey_at(survey, x, y)
    return rise_x, rise_y


@kernel
def strip_along(pieces: Any, a: float) -> Any:
    """Return the number of the strip at a distance along the ground."""
    s: int = pieces.shape[0] - 1
    while s > 0 and a < pieces[s, c.START_ALONG]:
        s -= 1
    return s


@kernel
def border(pieces: Any, s: int, a: float) -> Any:
    """Border that a ball on strip `s` has crossed on its way to `a`, and the change of strip; 0 for none."""
    if s > 0 and a < pieces[s, c.START_ALONG]:
        return pieces[s, c.START_ALONG], -1
    if s < pieces.shape[0] - 1 and a >= pieces[s + 1, c.START_ALONG]:
        return pieces[s + 1, c.START_ALONG], 1
    return a, 0
