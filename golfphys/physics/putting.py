"""Putting out: the chance of holing a putt, the putts it takes on average, and the model of both fitted to counts.

Direction and distance err, each by itself (Gelman, "Model building and expansion for golf putting", Stan case study).
The model also says where a missed putt ends, so the average number of putts follows by playing the leave on.
"""

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field, replace
from functools import lru_cache
from itertools import pairwise
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise, numbers, plain, require_kinds
from golfphys.formulas.hole import angle_and_distance_make_probability, half_angle_of_hole

Floats = NDArray[np.float64]

PLAYERS: Mapping[str, float] = {"tour": 1.0, "amateur": constants.AMATEUR_PUTTING.value}
"""Putting errors as multiples of the tour's, by name; the amateur's is from memory (see `constants`)."""
PUTTING_TABLES = Path(__file__).parent / "putting_tables"
"""Folder of the published tables; each file names its source."""

_BALL_RADIUS = constants.BALL_RADIUS.value
_FARTHEST = 60.0  # m; the longest putt of the table of expected putts
_NODES, _WEIGHTS = np.polynomial.legendre.leggauss(16)
_MANY = 100  # putts a row from which what the model leaves out shows beside chance
_PRIOR_SPREAD = math.log(2.0)  # of an error about the tour's, where putts are few


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
        for name in ("angle_error", "distance_error", "misfit", "overrun", "hole_radius"):
            value = getattr(self, name)
            if not (math.isfinite(value) and value > 0):
                raise ValueError(f"AngleDistanceModel {name} is {value!r}; expected a positive number")
        if not 0 <= self.overshoot < self.overrun:
            raise ValueError(f"overshoot is {self.overshoot!r} m; expected 0 to less than overrun, {self.overrun!r} m")

    def probability(self, distance: ArrayLike) -> Any:
        """Return the chance of holing from `distance` (m), a float or an array."""
        errors = (self.angle_error, self.distance_error, self.overshoot, self.overrun, self.hole_radius, _BALL_RADIUS)
        if np.ndim(distance) == 0:
            return angle_and_distance_make_probability(float(np.asarray(distance)), *errors)
        return elementwise(angle_and_distance_make_probability)(np.asarray(distance, float), *errors)

    def for_player(self, player: str | float) -> "AngleDistanceModel":
        """Return the model of another player: one of `PLAYERS`, or errors as a multiple of this model's."""
        if isinstance(player, str) and player not in PLAYERS:
            raise ValueError(f"player is {player!r}; expected one of {', '.join(map(repr, PLAYERS))}, or a number")
        scale = PLAYERS[player] if isinstance(player, str) else float(player)
        if not (math.isfinite(scale) and scale > 0):
            raise ValueError(f"player is {player!r}; expected a positive multiple of the tour's errors")
        return replace(self, angle_error=self.angle_error * scale, distance_error=self.distance_error * scale)


def _chosen(model: AngleDistanceModel | None) -> AngleDistanceModel:
    require_kinds(model=(model, (AngleDistanceModel, type(None))))
    return model or AngleDistanceModel()


def make_probability(
    distance: ArrayLike, *, model: AngleDistanceModel | None = None, player: str | float = "tour"
) -> Any:
    """Return the chance of holing a putt.

    Raises a ValueError if a distance is negative, or the player is not known. Fitted to tour putts of 0.3 to 75 ft of
    all slopes together; a putt of known break differs.

    Parameters
    ----------
    distance : float or array_like, length of the putt, m
    model : AngleDistanceModel, optional, direction and distance errors; the published tour model if left out
    player : str or float, one of `PLAYERS`, or a number that multiplies the errors of the model

    Examples
    --------
    >>> round(make_probability(2.0), 2), round(make_probability(2.0, player="amateur"), 2)
    (0.61, 0.36)
    """
    if np.any(numbers("distance", distance) < 0):
        raise ValueError(f"distance is {np.min(np.asarray(distance))!r} m; expected 0 or more")
    return _chosen(model).for_player(player).probability(distance)


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
    model, player : as for `make_probability`
    points : int, distances in the table, from 0 to 60 m, closer together near the hole

    Examples
    --------
    >>> round(putts_to_hole_out(player="amateur")(2.4), 2)
    1.75
    """
    return _table(_chosen(model).for_player(player), points)


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


@dataclass(frozen=True, kw_only=True)
class MakeTable:
    """Putts tried and holed (`tries`, `made`) by `distance` in m."""

    name: str
    distance: Floats
    tries: Floats
    made: Floats

    def __post_init__(self) -> None:
        if not len(self.distance) == len(self.tries) == len(self.made) > 0:
            raise ValueError(f"table {self.name}: distance, tries and made must be of one length, and not empty")
        good = (self.distance > 0) & (self.tries > 0) & (self.made >= 0) & (self.made <= self.tries)
        good &= np.isfinite(self.distance) & np.isfinite(self.tries)
        if not good.all():
            row = int(np.flatnonzero(~good)[0])
            raise ValueError(
                f"table {self.name}, row {row + 1}: {self.made[row]:g} of {self.tries[row]:g} from"
                f" {self.distance[row]:g} m; expected a positive distance and no more made than tried"
            )

    @property
    def share(self) -> Floats:
        """Share of putts holed at each distance."""
        return np.asarray(self.made / self.tries)

    def loss(self, model: AngleDistanceModel, names: tuple[str, ...]) -> float:
        """Return the negative log posterior of a model whose `names` are fitted, up to a constant."""
        chance = np.clip(model.probability(self.distance), 1e-12, 1.0 - 1e-12)
        if "misfit" in names:
            variance = chance * (1.0 - chance) / self.tries + model.misfit**2
            return float(0.5 * np.sum((self.share - chance) ** 2 / variance + np.log(variance)))
        loss = -float(np.sum(self.made * np.log(chance) + (self.tries - self.made) * np.log1p(-chance)))
        tour = AngleDistanceModel()
        away = [math.log(getattr(model, name) / getattr(tour, name)) / _PRIOR_SPREAD for name in names]
        return loss + 0.5 * sum(step * step for step in away)


@dataclass(frozen=True, kw_only=True)
class MakeFit:
    """A model of holing fitted to a table.

    `covariance` (local Gaussian) is that of the logarithms of the fitted `parameters`, in their order.
    """

    model: AngleDistanceModel
    table: MakeTable
    parameters: tuple[str, ...]
    covariance: Floats = field(repr=False)

    @property
    def estimates(self) -> pd.DataFrame:
        """Estimate, standard error, 90 % interval and unit of each parameter."""
        value = np.array([getattr(self.model, name) for name in self.parameters])
        error = np.sqrt(np.diag(self.covariance))
        low, high = (value * np.exp(end * constants.NORMAL_90 * error) for end in (-1, 1))
        columns = {"estimate": value, "sd": value * error, "low": low, "high": high}
        unit = ["rad" if name == "angle_error" else "1" for name in self.parameters]
        return pd.DataFrame(columns | {"unit": unit}, index=pd.Index(self.parameters, name="parameter"))


def fit_make_probability(
    table: MakeTable | Any, *, model: AngleDistanceModel | None = None, misfit: bool | None = None
) -> MakeFit:
    """Fit the model of holing to counts of putts: maximum likelihood, with a local Gaussian covariance.

    Raises a ValueError if the table has fewer rows than the model has parameters, its counts do not tell them (all
    holed, for instance), or the fit does not settle. The priors of the published fit are too wide to show.

    Parameters
    ----------
    table : MakeTable or a sheet of putts, as `golfphys.read_make_table` or `golfphys.read_putts` returns
    model : AngleDistanceModel, optional, where to start; it keeps its own overshoot, overrun and hole
    misfit : bool, optional
        True: the share holed is normal about the model, with the binomial variance and a fitted misfit added; with a
        million putts chance is so small that whatever the model leaves out would otherwise decide the fit. False:
        counts are binomial, and a weak prior (errors within a factor of 2 of the tour's, two times in three) steadies
        what few putts cannot tell. Left out, it is True where most rows count 100 putts or more. Where chance alone
        explains the counts, none is fitted.

    Examples
    --------
    >>> distance, made = np.array([1.0, 2.0, 4.0]), np.array([44.0, 24.0, 9.0])
    >>> mine = MakeTable(name="mine", distance=distance, tries=np.full(3, 50.0), made=made)
    >>> round(fit_make_probability(mine).model.angle_error, 3)
    0.021
    """
    from scipy.optimize import minimize

    start, counts = _chosen(model), counted(table)
    many = bool(np.median(counts.tries) >= _MANY) if misfit is None else misfit
    names = ("angle_error", "distance_error", *(("misfit",) if many else ()))
    if (rows := len(counts.tries)) < len(names):
        raise ValueError(f"table {counts.name} has {rows} rows; the model of holing needs {len(names)} or more")

    def at(line: Any) -> AngleDistanceModel:
        return replace(start, **{name: math.exp(x) for name, x in zip(names, line, strict=True)})

    def loss(line: Any) -> float:
        return counts.loss(at(line), names)

    until: Any = {"xatol": 1e-9, "fatol": 1e-9, "maxiter": 4000}
    begin = np.array([math.log(getattr(start, name)) for name in names])
    found = minimize(loss, begin, method="Nelder-Mead", options=until)
    if not found.success:
        raise ValueError(f"table {counts.name}: the model of holing did not settle: {found.message}")
    best: Floats = np.asarray(found.x, dtype=np.float64)
    covariance = _covariance(_hessian(loss, best))
    if covariance is None and many:  # chance alone explains the table: there is no misfit to fit
        return fit_make_probability(counts, model=model, misfit=False)
    if covariance is None:
        raise ValueError(
            f"table {counts.name}: its counts cannot tell the {len(names)} errors of the model of holing (all"
            " holed, none holed, or too few distances); roll putts from where some drop and some miss"
        )
    return MakeFit(model=at(best), table=counts, parameters=names, covariance=covariance)


def counted(table: Any) -> MakeTable:
    """Return the counts of a table or a sheet of putts."""
    if isinstance(table, MakeTable):
        return table
    putts = getattr(table, "frame", None)
    if putts is None:
        raise ValueError(f"table is {table!r}; expected a MakeTable or a sheet of putts, as read_make_table gives")
    columns = {name: putts[name].to_numpy(dtype=np.float64) for name in ("distance", "tries", "made")}
    return MakeTable(name=Path(str(table.path)).stem, **columns)


def _covariance(hessian: Floats) -> Floats | None:
    """Inverse of the second derivatives; None where some direction has next to none, so that it was not informed."""
    values, vectors = np.linalg.eigh(hessian)
    if not values[0] > 1e-9 * max(values[-1], 1.0):
        return None
    return np.asarray((vectors / values) @ vectors.T, dtype=np.float64)


def _hessian(loss: Callable[[Floats], float], at: Floats, step: float = 1e-3) -> Floats:
    """Second derivatives by central differences."""
    size = len(at)
    moves, second = np.eye(size) * step, np.empty((size, size))
    for i in range(size):
        for j in range(i + 1):
            corners = [loss(at + a * moves[i] + b * moves[j]) * a * b for a in (1, -1) for b in (1, -1)]
            second[i, j] = second[j, i] = sum(corners) / (4.0 * step * step)
    return second
