"""Models of holing fitted to published counts of putts."""

import math
from collections.abc import Callable
from dataclasses import dataclass, field, fields, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.physics.putting import AngleDistanceModel, ModelName, PuttingModel, named_model

if TYPE_CHECKING:
    import pandas as pd

Floats = NDArray[np.float64]

PUTTING_TABLES = Path(__file__).parent / "putting_tables"
"""Folder of the published tables; each file names its source."""

_MANY = 100  # putts a row from which what the model leaves out shows beside chance
_PRIOR_SPREAD = math.log(2.0)  # of an error about the tour's, where putts are few
_GIVEN = ("overshoot", "overrun", "hole_radius")  # what a model is given, not fitted


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


@dataclass(frozen=True, kw_only=True)
class MakeFit:
    """A model of holing fitted to a table.

    `covariance` (local Gaussian) is of the fitted `parameters` in their order, of the logarithm of each error.
    """

    model: Any
    table: MakeTable
    parameters: tuple[str, ...]
    covariance: Floats = field(repr=False)

    @property
    def sd(self) -> dict[str, float]:
        """Standard error of each fitted parameter, in its SI unit."""
        errors = zip(self.parameters, np.sqrt(np.diag(self.covariance)), strict=True)
        sizes = {name: abs(getattr(self.model, name)) if _is_error(name) else 1.0 for name in self.parameters}
        return {name: float(error) * sizes[name] for name, error in errors}

    @property
    def estimates(self) -> "pd.DataFrame":
        """Estimate, standard error, 90 % interval and unit of each parameter."""
        import pandas as pd

        rows = []
        for name, error in zip(self.parameters, np.sqrt(np.diag(self.covariance)), strict=True):
            value, reach = getattr(self.model, name), constants.NORMAL_90 * float(error)
            ends = [value * math.exp(end) if _is_error(name) else value + end for end in (-reach, reach)]
            unit = {"slope": "1/m", "angle_error": "rad"}.get(name, "1")
            rows.append({"estimate": value, "sd": self.sd[name], "low": ends[0], "high": ends[1], "unit": unit})
        return pd.DataFrame(rows, index=pd.Index(self.parameters, name="parameter"))

    def posterior(self, n: int = 4000, seed: int | np.random.Generator = 0) -> "pd.DataFrame":
        """Return the mean and standard deviation of each parameter over its whole posterior, flat priors.

        By importance sampling with a wide t about the local Gaussian: the published estimates are such means, and
        the misfit's posterior is skewed enough for its mean to differ from its mode.
        """
        import pandas as pd

        rng = np.random.default_rng(seed)
        freedom = 6.0
        # a multivariate t: normal draws that share one chi-squared
        wild = rng.standard_normal((n, len(self.parameters))) / np.sqrt(rng.chisquare(freedom, (n, 1)) / freedom)
        lines = _to_line(self.model, self.parameters) + wild @ np.linalg.cholesky(self.covariance).T
        proposed = -0.5 * (freedom + len(self.parameters)) * np.log1p(np.sum(wild**2, axis=1) / freedom)
        errors = np.array([_is_error(name) for name in self.parameters])
        # a flat prior on an error is its size on the logarithm's scale
        models = [_from_line(self.model, self.parameters, line) for line in lines]
        target = np.array([-_loss(one, self.table, self.parameters) for one in models])
        weight = target + lines[:, errors].sum(axis=1) - proposed
        weight = np.exp(weight - weight.max())
        weight /= weight.sum()
        values = np.where(errors, np.exp(np.where(errors, lines, 0.0)), lines)
        mean = weight @ values
        found = {"mean": mean, "sd": np.sqrt(weight @ (values - mean) ** 2)}
        return pd.DataFrame(found, index=pd.Index(self.parameters, name="parameter"))


def fit_make_probability(
    table: MakeTable | Any, *, model: ModelName | PuttingModel = "angle and distance", misfit: bool | None = None
) -> MakeFit:
    """Fit a model of holing to counts of putts: maximum likelihood, with a local Gaussian covariance.

    Raises a ValueError if `model` is not known, the table has fewer rows than the model has parameters, its counts do
    not tell them (all holed, for instance), or the fit does not settle. Models: Gelman, "Model building and expansion
    for golf putting" (Stan case study); its priors are too wide to show.

    Parameters
    ----------
    table : MakeTable or a sheet of putts, as `golfphys.read_make_table` or `golfphys.read_putts` returns
    model : {"logistic", "angle", "angle and distance"} or a model, which keeps its own overshoot, overrun and hole
    misfit : bool, optional
        Of the angle and distance model only. True: the share holed is normal about the model, with the binomial
        variance and a fitted misfit added; with a million putts chance is so small that whatever the model leaves out
        would otherwise decide the fit. False: counts are binomial, as they always are for the other models, and a weak
        prior (errors within a factor of 2 of the tour's, two times in three) steadies what few putts cannot tell. Left
        out, it is True where most rows count 100 putts or more. Where chance alone explains the counts, none is fitted.

    Examples
    --------
    >>> distance, made = np.array([1.0, 2.0, 4.0]), np.array([44.0, 24.0, 9.0])
    >>> mine = MakeTable(name="mine", distance=distance, tries=np.full(3, 50.0), made=made)
    >>> round(fit_make_probability(mine, model="angle").model.angle_error, 3)
    0.024
    """
    from scipy.optimize import minimize

    start = named_model(model)
    counts = _counted(table)
    many = bool(np.median(counts.tries) >= _MANY) if misfit is None else misfit
    given = _GIVEN if many else (*_GIVEN, "misfit")
    names = tuple(item.name for item in fields(start) if item.name not in given)
    kind, rows = type(start).__name__, len(counts.tries)
    if rows < len(names):
        raise ValueError(f"table {counts.name} has {rows} rows; {kind} needs {len(names)} or more")

    def loss(line: Any) -> float:
        return _loss(_from_line(start, names, line), counts, names)

    until: Any = {"xatol": 1e-9, "fatol": 1e-9, "maxiter": 4000}
    found = minimize(loss, _to_line(start, names), method="Nelder-Mead", options=until)
    if not found.success:
        raise ValueError(f"table {counts.name}: the {kind} did not settle: {found.message}")
    best: Floats = np.asarray(found.x, dtype=np.float64)
    covariance = _covariance(_hessian(loss, best))
    if covariance is None and "misfit" in names:  # chance alone explains the table: there is none to fit
        return fit_make_probability(counts, model=model, misfit=False)
    if covariance is None:
        raise ValueError(
            f"table {counts.name}: its counts cannot tell the {len(names)} numbers of {kind} (all"
            " holed, none holed, or too few distances); roll putts from where some drop and some miss"
        )
    return MakeFit(model=_from_line(start, names, best), table=counts, parameters=names, covariance=covariance)


def _is_error(name: str) -> bool:
    return name not in ("intercept", "slope")


def _to_line(model: PuttingModel, names: tuple[str, ...]) -> Floats:
    """Parameters on the whole line: errors as logarithms."""
    return np.array([math.log(getattr(model, name)) if _is_error(name) else getattr(model, name) for name in names])


def _from_line(model: Any, names: tuple[str, ...], line: Floats) -> Any:
    values = {name: math.exp(x) if _is_error(name) else float(x) for name, x in zip(names, line, strict=True)}
    return replace(model, **values)


def _counted(table: Any) -> MakeTable:
    """Return the counts of a table or a sheet of putts."""
    if isinstance(table, MakeTable):
        return table
    putts = getattr(table, "putts", None)
    if putts is None:
        raise ValueError(f"table is {table!r}; expected a MakeTable or a sheet of putts, as read_make_table gives")
    columns = {name: putts[name].to_numpy(dtype=np.float64) for name in ("distance", "tries", "made")}
    return MakeTable(name=Path(str(table.path)).stem, **columns)


def _loss(model: Any, table: MakeTable, names: tuple[str, ...]) -> float:
    """Negative log posterior, up to a constant."""
    chance = np.clip(model.probability(table.distance), 1e-12, 1.0 - 1e-12)
    if "misfit" in names:
        variance = chance * (1.0 - chance) / table.tries + model.misfit**2
        return float(0.5 * np.sum((table.share - chance) ** 2 / variance + np.log(variance)))
    missed = table.tries - table.made
    loss = -float(np.sum(table.made * np.log(chance) + missed * np.log1p(-chance)))
    if isinstance(model, AngleDistanceModel):
        tour = AngleDistanceModel()
        away = [math.log(getattr(model, name) / getattr(tour, name)) / _PRIOR_SPREAD for name in names]
        loss += 0.5 * sum(step * step for step in away)
    return loss


def _covariance(hessian: Floats) -> Floats | None:
    """Inverse of the second derivatives; None where some direction has next to none, so that it was not informed."""
    values, vectors = np.linalg.eigh(hessian)
    if not values[0] > 1e-9 * max(values[-1], 1.0):
        return None
    return np.asarray((vectors / values) @ vectors.T, dtype=np.float64)


def _hessian(loss: Callable[[Floats], float], at: Floats, step: float = 1e-3) -> Floats:
    """Second derivatives by central differences."""
    size = len(at)
    moves = np.eye(size) * step
    second = np.empty((size, size))
    for i in range(size):
        for j in range(i + 1):
            corners = [loss(at + a * moves[i] + b * moves[j]) * a * b for a in (1, -1) for b in (1, -1)]
            second[i, j] = second[j, i] = sum(corners) / (4.0 * step * step)
    return second
