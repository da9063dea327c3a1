"""What the putt that is left costs on a slope: a putt across it breaks, and every error of pace is an error of line.

A putt that is rolled too far or too short also breaks less or more than was allowed for, and a break is never read
quite right; both are errors sideways at the hole, which add to the error of direction. A putt straight up or down the
slope has neither, so lying above or below the hole matters little and lying beside it much. Published putts were holed
on greens as they are: their error of direction is taken to hold at an everyday cross slope, and less on the level.
"""

from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise
from golfphys.formulas.hole import side_drift_level
from golfphys.formulas.rolling import deceleration
from golfphys.physics.putting import PuttsToHoleOut

Floats = NDArray[np.float64]

EVERYDAY_CROSS = 0.011
"""Root mean square of the cross slope of published putts: 1.5 % of slope met from every side (judged, no source)."""

BREAK_MISREAD = 0.10
"""Standard deviation of the reading of a break over the break (judged, no source)."""

CROSS = np.linspace(0.0, 0.08, 9)
LENGTHS = np.geomspace(0.3, 40.0, 24)
STEEPEST = 0.9
"""Cross slope over resistance beyond which the table is held: steeper ground hardly stops a ball."""

_drift = elementwise(side_drift_level)


@dataclass(frozen=True, kw_only=True)
class PuttLeft:
    """Average putts from a distance and a cross slope.

    Parameters
    ----------
    putts : PuttsToHoleOut
        Average putts on greens as they are.
    equivalent : ndarray, shape (lengths, cross slopes)
        Length in m of the everyday putt that is holed as often.

    Examples
    --------
    >>> from golfphys.physics.putting import putts_to_hole_out
    >>> left = putt_left(putts_to_hole_out(), 0.08)
    >>> bool(left(2.0, 0.04) > left(2.0, 0.011) > left(2.0, 0.0))
    True
    """

    putts: PuttsToHoleOut
    equivalent: Floats

    def length(self, distance: Any, cross: Any) -> Floats:
        """Return the everyday length in m of putts of `distance` m across a slope `cross` (rise over run)."""
        return _between(self.equivalent, np.asarray(distance, float), np.abs(np.asarray(cross, float)))

    def __call__(self, distance: Any, cross: Any) -> Floats:
        """Return average putts from `distance` m across a slope `cross` (rise over run)."""
        return np.asarray(self.putts(self.length(distance, cross)))

    def holed(self, distance: Any, cross: Any) -> Floats:
        """Return the share of putts holed from `distance` m across a slope `cross` (rise over run)."""
        return np.asarray(self.putts.model.probability(np.maximum(self.length(distance, cross), 1e-3)))


def putt_left(putts: PuttsToHoleOut, resistance: float) -> PuttLeft:
    """Return what putts cost on slopes of a green."""
    return PuttLeft(putts=putts, equivalent=_equivalents(putts.model, round(float(resistance), 3)))


@lru_cache(maxsize=64)
def _equivalents(model: Any, resistance: float) -> Floats:
    """Length of the everyday putt that is holed as often, by length and cross slope."""
    cross = np.minimum(CROSS, STEEPEST * resistance)
    sideways = _sideways(model, LENGTHS[:, None], cross[None, :], resistance) / LENGTHS[:, None]
    usual = _sideways(model, LENGTHS[:, None], np.array([[EVERYDAY_CROSS]]), resistance) / LENGTHS[:, None]
    # no putt is steadier than with four fifths of the published error of direction
    error = np.sqrt(np.maximum(model.angle_error**2 + sideways**2 - usual**2, (0.8 * model.angle_error) ** 2))
    chance = np.array(
        [
            [float(replace(model, angle_error=float(e)).probability(float(d))) for e in row]
            for d, row in zip(LENGTHS, error, strict=True)
        ]
    )
    fine = np.geomspace(0.05, 120.0, 600)
    usual_chance = np.asarray(model.probability(fine))
    return np.asarray(np.interp(-chance, -usual_chance, fine))


def _sideways(model: Any, length: Floats, cross: Floats, resistance: float) -> Floats:
    """Standard deviation in m of the miss to the side that pace and reading cause on a cross slope."""
    slowing = deceleration(resistance, 0.0, constants.GRAVITY.value, constants.BALL_INERTIA.value)

    def drift(roll: Floats) -> Floats:
        speed, there = np.sqrt(2 * slowing * roll), np.sqrt(2 * slowing * np.maximum(roll - length, 1e-6))
        found = _drift(speed, there, resistance, cross, constants.GRAVITY.value, constants.BALL_INERTIA.value)[0]
        return np.asarray(found)

    roll, step = length + model.overshoot, 0.02
    by_pace = (drift(roll * (1 + step)) - drift(roll)) / step * model.distance_error
    return np.asarray(np.hypot(by_pace, BREAK_MISREAD * drift(roll)))


def _between(table: Floats, distance: Floats, cross: Floats) -> Floats:
    """Read a table between its lengths and cross slopes; shorter putts than its first count in proportion."""
    near = np.clip(distance, LENGTHS[0], LENGTHS[-1])
    column = np.clip(cross / (CROSS[1] - CROSS[0]), 0.0, CROSS.size - 1.001)
    low = column.astype(int)
    row = np.clip(np.searchsorted(LENGTHS, near, side="right") - 1, 0, LENGTHS.size - 2)
    along = (near - LENGTHS[row]) / (LENGTHS[row + 1] - LENGTHS[row])
    across = column - low
    first = table[row, low] * (1 - across) + table[row, low + 1] * across
    second = table[row + 1, low] * (1 - across) + table[row + 1, low + 1] * across
    return np.asarray((first * (1 - along) + second * along) * distance / near)
