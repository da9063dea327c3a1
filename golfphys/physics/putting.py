"""Putting out: the chance of holing a putt, and the putts it takes on average.

Three models of the chance, in the order in which they explain more: log odds straight in distance (``"logistic"``), a
direction with an error (``"angle"``), and direction and distance with one each (``"angle and distance"``). The last one
also says where a missed putt ends, so the average number of putts follows by playing the leave on. They are fitted to
counts in `golfphys.physics.putting_fits`.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise, numbers, plain
from golfphys.formulas import hole as formulas
from golfphys.formulas.hole import half_angle_of_hole

Floats = NDArray[np.float64]
ModelName = Literal["logistic", "angle", "angle and distance"]

PLAYERS: Mapping[str, float] = {"tour": 1.0, "amateur": constants.AMATEUR_PUTTING.value}
"""Putting errors as multiples of the tour's, by name; the amateur's is from memory (see `constants`)."""
_BALL_RADIUS = constants.BALL_RADIUS.value


def _check_positive(owner: Any, *names: str) -> None:
    for name in names:
        value = getattr(owner, name)
        if not (math.isfinite(value) and value > 0):
            raise ValueError(f"{type(owner).__name__} {name} is {value!r}; expected a positive number")


@dataclass(frozen=True, kw_only=True)
class LogisticModel:
    """Chance of holing whose log odds are a straight line in distance: `intercept`, and `slope` per metre."""

    intercept: float = constants.LOGISTIC_INTERCEPT.value
    slope: float = constants.LOGISTIC_SLOPE.value

    def probability(self, distance: ArrayLike) -> Any:
        """Return the chance of holing from `distance` (m), a float or an array."""
        return _apply(formulas.logistic_make_probability, distance, self.intercept, self.slope)


@dataclass(frozen=True, kw_only=True)
class AngleModel:
    """Chance of holing when only the direction errs, by `angle_error` (standard deviation, rad)."""

    angle_error: float = constants.ANGLE_ONLY_ERROR.value
    hole_radius: float = constants.HOLE_RADIUS.value

    def __post_init__(self) -> None:
        _check_positive(self, "angle_error", "hole_radius")

    def probability(self, distance: ArrayLike) -> Any:
        """Return the chance of holing from `distance` (m), a float or an array."""
        return _apply(formulas.angle_make_probability, distance, self.angle_error, self.hole_radius, _BALL_RADIUS)


@dataclass(frozen=True, kw_only=True)
class AngleDistanceModel:
    """Chance of holing when direction and distance err; the default is the published fit to tour putts.

    Standard deviations of direction (`angle_error`, rad), of the roll as a fraction of the roll intended
    (`distance_error`), and of the holed share about the model beyond chance (`misfit`, which enters the fit only); how
    far past the hole, m, the player means the ball to roll (`overshoot`), and how far a ball may be going to roll and
    still be holed (`overrun`).
    """

    angle_error: float = constants.ANGLE_ERROR.value
    distance_error: float = constants.DISTANCE_ERROR.value
    misfit: float = constants.MAKE_MISFIT.value
    overshoot: float = constants.PUTT_OVERSHOOT.value
    overrun: float = constants.PUTT_OVERRUN.value
    hole_radius: float = constants.HOLE_RADIUS.value

    def __post_init__(self) -> None:
        _check_positive(self, "angle_error", "distance_error", "misfit", "overrun", "hole_radius")
        if not 0 <= self.overshoot < self.overrun:
            raise ValueError(f"overshoot is {self.overshoot!r} m; expected 0 to less than overrun, {self.overrun!r} m")

    def probability(self, distance: ArrayLike) -> Any:
        """Return the chance of holing from `distance` (m), a float or an array."""
        formula = formulas.angle_and_distance_make_probability
        errors = (self.angle_error, self.distance_error, self.overshoot, self.overrun)
        return _apply(formula, distance, *errors, self.hole_radius, _BALL_RADIUS)

    def for_player(self, player: str | float) -> "AngleDistanceModel":
        """Return the model of another player: one of `PLAYERS`, or errors as a multiple of this model's."""
        scale = _error_scale(player)
        return replace(self, angle_error=self.angle_error * scale, distance_error=self.distance_error * scale)


PuttingModel = LogisticModel | AngleModel | AngleDistanceModel

MODELS: dict[str, type[PuttingModel]] = {"logistic": LogisticModel, "angle": AngleModel}
MODELS |= {"angle and distance": AngleDistanceModel}


def named_model(model: ModelName | PuttingModel) -> PuttingModel:
    """Return the model of that name with its published estimates, or the model given."""
    if not isinstance(model, str):
        return model
    if model not in MODELS:
        raise ValueError(f"model is {model!r}; expected one of {', '.join(map(repr, MODELS))}, or a model")
    return MODELS[model]()


def make_probability(
    distance: ArrayLike, *, model: ModelName | PuttingModel = "angle and distance", player: str | float = "tour"
) -> Any:
    """Return the chance of holing a putt.

    Raises a ValueError if a distance is negative, or a name is not known. Gelman, "Model building and expansion for
    golf putting" (Stan case study). Fitted to tour putts of 0.3 to 75 ft of all slopes together; a putt of known break
    differs.

    Parameters
    ----------
    distance : float or array_like, length of the putt, m
    model : {"angle and distance", "angle", "logistic"} or a model
        A name stands for the model with its published estimates. The logistic model cannot be scaled to a player.
    player : str or float, one of `PLAYERS`, or a number that multiplies the errors of the model

    Examples
    --------
    >>> round(make_probability(2.0), 2), round(make_probability(2.0, player="amateur"), 2)
    (0.61, 0.36)
    """
    if np.any(numbers("distance", distance) < 0):
        raise ValueError(f"distance is {np.min(np.asarray(distance))!r} m; expected 0 or more")
    chosen = named_model(model)
    scale = _error_scale(player)
    if isinstance(chosen, AngleDistanceModel):
        chosen = chosen.for_player(scale)
    elif isinstance(chosen, AngleModel):
        chosen = replace(chosen, angle_error=chosen.angle_error * scale)
    elif scale != 1.0:
        raise ValueError("the logistic model has no errors to scale; leave player at 'tour'")
    return chosen.probability(distance)


def _apply(formula: Callable[..., float], distance: ArrayLike, *parameters: float) -> Any:
    if np.ndim(distance) == 0:
        return formula(float(np.asarray(distance)), *parameters)
    return elementwise(formula)(np.asarray(distance, float), *parameters)


def _error_scale(player: str | float) -> float:
    if isinstance(player, str):
        if player not in PLAYERS:
            raise ValueError(f"player is {player!r}; expected one of {', '.join(map(repr, PLAYERS))}, or a number")
        return PLAYERS[player]
    if not (math.isfinite(player) and player > 0):
        raise ValueError(f"player is {player!r}; expected a positive multiple of the tour's errors")
    return float(player)


_FARTHEST = 60.0  # m; the longest putt of the table of expected putts
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)


@dataclass(frozen=True, kw_only=True)
class PuttsToHoleOut:
    """Average number of putts to hole out, by distance in m from 0 up: a table that is called like a function.

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
    """Work out the average number of putts to hole out from every distance; called with distances, the result gives it.

    V(x) = 1 + E[V(leave); missed], solved as linear equations on the table's distances. A putt of length x ends at its
    own direction and roll, both normal as in the model; it is missed if its direction passes the hole by or its roll
    ends short or beyond the overrun, and the next putt is played from there, by the same rule.

    Parameters
    ----------
    model : AngleDistanceModel, optional, direction and distance errors; the published tour model if left out
    player : str or float, one of `PLAYERS` (a ValueError if not), or a number that multiplies the errors
    points : int, distances in the table, from 0 to 60 m, closer together near the hole

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
