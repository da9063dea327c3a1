"""How many putts it takes: the leave of a missed putt played on."""

from dataclasses import dataclass, field
from functools import lru_cache
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise, plain
from golfphys.formulas.hole import half_angle_of_hole
from golfphys.physics.putting.fits import MakeFit
from golfphys.physics.putting.models import AngleDistanceModel

Floats = NDArray[np.float64]

_BALL_RADIUS = constants.BALL_RADIUS.value
_FARTHEST = 60.0  # m; the longest putt of the table of expected putts
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True, kw_only=True)
class PuttsToHoleOut:
    """Average number of putts to hole out, by distance: a table that is called like a function.

    Parameters
    ----------
    distance : ndarray
        Distances of the table, m, from 0 up.
    putts : ndarray
        Average putts from each.
    model : AngleDistanceModel
        Where they come from.

    Examples
    --------
    >>> putts = putts_to_hole_out()
    >>> round(putts(2.4), 2), putts([0.0, 10.0]).round(1)
    (1.5, array([1., 2.]))
    """

    distance: Floats = field(repr=False)
    putts: Floats = field(repr=False)
    model: AngleDistanceModel

    def __call__(self, distance: ArrayLike) -> Any:
        """Return the average putts from `distance` (m): straight between table rows, held beyond the last."""
        return plain(np.interp(np.asarray(distance, float), self.distance, self.putts))


def putts_to_hole_out(
    model: AngleDistanceModel | None = None, player: str | float = "tour", points: int = 140
) -> PuttsToHoleOut:
    """Work out the average number of putts to hole out from every distance.

    Raises a ValueError if `player` is not known.

    Parameters
    ----------
    model : AngleDistanceModel, optional
        Direction and distance errors; the published tour model if left out.
    player : str or float
        ``"tour"``, ``"amateur"``, or a number that multiplies the errors.
    points : int
        Distances in the table, from 0 to 60 m, closer together near the hole.

    Returns
    -------
    PuttsToHoleOut
        Called with distances, it returns average putts.

    Notes
    -----
    V(x) = 1 + E[V(leave); missed], solved as linear equations on the table's distances. A putt of length x ends at its
    own direction and roll, both normal as in the model; it is missed if its direction passes the hole by or its roll
    ends short or beyond the overrun, and the next putt is played from there, by the same rule.

    Examples
    --------
    >>> round(putts_to_hole_out(player="amateur")(2.4), 2)
    1.75
    """
    return _table((model or AngleDistanceModel()).for_player(player), points)


@lru_cache(maxsize=256)
def _table(played: AngleDistanceModel, points: int) -> PuttsToHoleOut:
    """Solve for the average putts of a model; kept, for a plan asks for the same table many times."""
    grid = np.concatenate([[0.0], np.geomspace(0.02, _FARTHEST, points - 1)])
    after = _leave_matrix(played, grid)
    putts: Floats = np.asarray(np.linalg.solve(np.eye(points) - after, np.ones(points)), dtype=np.float64)
    return PuttsToHoleOut(distance=grid, putts=putts, model=played)


def expected_putts(
    distance: ArrayLike, *, model: AngleDistanceModel | None = None, player: str | float = "tour"
) -> Any:
    """Return the average number of putts to hole out.

    Raises a ValueError if a distance is negative. See `putts_to_hole_out`.

    Parameters
    ----------
    distance : float or array_like
        Distance from the hole, m.
    model : AngleDistanceModel, optional
        Direction and distance errors; the published tour model if left out. For a green of another speed give
        ``AngleDistanceModel().for_green_speed(stimp_ft)``.
    player : str or float
        ``"tour"``, ``"amateur"``, or a number that multiplies the errors.

    Returns
    -------
    float or ndarray
        Average putts, of the shape of `distance`; the table behind it ends at 60 m and is held beyond.

    Examples
    --------
    >>> round(expected_putts(10.0), 2)
    2.0
    """
    if np.any(np.asarray(distance) < 0):
        raise ValueError(f"distance is {np.min(np.asarray(distance))!r} m; expected 0 or more")
    return putts_to_hole_out(model, player)(distance)


def expected_putts_draws(
    distance: ArrayLike, fit: MakeFit, *, n: int = 50, seed: int | np.random.Generator = 0, player: str | float = "tour"
) -> Floats:
    """Return average putts under `n` models drawn from a fit's uncertainty, shape ``(n, *shape of distance)``.

    `fit` is of the angle and distance model, the other parameters as for `expected_putts`. The spread is that of a
    whole tour's errors, not of one player's.

    Examples
    --------
    >>> import golfphys
    >>> fit = golfphys.fit_make_probability(golfphys.read_make_table("broadie_2016_2018"))
    >>> expected_putts_draws([1.0, 5.0], fit, n=3).shape
    (3, 2)
    """
    if not isinstance(fit.model, AngleDistanceModel):
        raise ValueError(f"the fit is of {type(fit.model).__name__}; expected the angle and distance model")
    return np.array([putts_to_hole_out(model, player)(distance) for model in fit.draws(n, seed)])


def _leave_matrix(model: AngleDistanceModel, grid: Floats) -> Floats:
    """Chance that a missed putt from each distance (rows) leaves each distance (columns)."""
    length, mean = grid[:, None], grid[:, None] + model.overshoot
    spread, farthest = model.distance_error * mean, mean + 8.0 * model.distance_error * mean
    wide = 8.0 * model.angle_error
    half_angle = np.minimum(elementwise(half_angle_of_hole)(length, model.hole_radius, _BALL_RADIUS), wide)
    shortest = np.clip(mean - 8.0 * spread, 0.0, length)
    rolls = (shortest, length, np.minimum(length + model.overrun, farthest), farthest)
    past = [_pieces(half_angle, np.full_like(length, wide), low, high) for low, high in pairwise(rolls)]
    over = [_pieces(np.zeros_like(length), half_angle, rolls[part], rolls[part + 1]) for part in (0, 2)]
    angle, roll, weight = (np.concatenate(parts, axis=1) for parts in zip(*past, *over, strict=True))
    weight = weight * np.exp(-0.5 * (angle / model.angle_error) ** 2 - 0.5 * ((roll - mean) / spread) ** 2)
    left = np.hypot(roll * np.cos(angle) - length, roll * np.sin(angle))
    total = weight.sum(axis=1, keepdims=True)
    missed = 1.0 - model.probability(grid)[:, None]
    weight = np.divide(weight * missed, total, out=np.zeros_like(weight), where=total > 0)
    return _shared_among(grid, left, weight)


def _pieces(angle_low: Floats, angle_high: Floats, roll_low: Floats, roll_high: Floats) -> tuple[Floats, ...]:
    """Gauss-Legendre nodes and weights over a rectangle of directions and rolls, a row for each distance."""
    angle = 0.5 * (angle_high - angle_low) * (_NODES + 1.0) + angle_low
    roll = 0.5 * (roll_high - roll_low) * (_NODES + 1.0) + roll_low
    area = 0.25 * (angle_high - angle_low) * (roll_high - roll_low)
    weight = area * np.outer(_WEIGHTS, _WEIGHTS).ravel()
    return np.repeat(angle, len(_NODES), axis=1), np.tile(roll, (1, len(_NODES))), weight


def _shared_among(grid: Floats, values: Floats, weight: Floats) -> Floats:
    """Share each weight between the two grid points about its value, row by row."""
    size = len(grid)
    above = np.clip(np.searchsorted(grid, values), 1, size - 1)
    part = np.clip((values - grid[above - 1]) / (grid[above] - grid[above - 1]), 0.0, 1.0)
    row = np.arange(len(values))[:, None] * size
    cells = np.concatenate([(row + above - 1).ravel(), (row + above).ravel()])
    amounts = np.concatenate([(weight * (1.0 - part)).ravel(), (weight * part).ravel()])
    shared = np.bincount(cells, amounts, minlength=len(values) * size)
    return np.asarray(shared, dtype=np.float64).reshape(len(values), size)
