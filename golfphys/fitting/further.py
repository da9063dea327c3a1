"""What to measure next: by how much a further measurement would reduce a decision's uncertainty, before it is made.

Linear and normal about a fit: the covariance of the unknowns, what is wanted in terms of them, and the answer of each
planned observation to them give the posterior covariance without knowing what will be seen (preposterior analysis;
Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961, memory). An observation tells of the unknowns by its
value, and of what scatters it by how far off it falls: n of them know a logarithm of their standard deviation to 1 over
the root of 2 n. What counts is not how well friction or slope is known but how well it is known where a chip will stop;
which club is wiser is asked in `golfphys.planning.deciding`, with the same planned observations.
"""

import math
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.names import Array, Key, Sample
from golfphys.fitting.chips import HANG, HOP, REST, SEEN, Chips
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.prediction import chips_to_play, completed, predict
from golfphys.fitting.rollout_layout import Layout, Rolls
from golfphys.fitting.rollout_model import block_of
from golfphys.fitting.turf import DROP_SCATTER, Drops, drop_block
from golfphys.physics.club import carried, named_by_loft

DRAWS = 800  # draws from which covariances are taken
RIDGE = 0.02  # fraction by which covariances with many unknowns are drawn towards none, for the chance in so many draws


@dataclass(frozen=True, kw_only=True)
class Uncertainty:
    """Median, spread and covariance of P unknowns, in units of their spread, and of W things wanted of them."""

    middle: Array
    spread: Array
    unknowns: Array
    crossed: Array  # covariance of the unknowns with what is wanted, (P, W)
    wanted: Array  # that of what is wanted, (W, W)

    @classmethod
    def of(cls, natural: Array, wanted: Array) -> "Uncertainty":
        """Return the uncertainty that draws of the unknowns (n, P), and of what is wanted (n, W), show."""
        middle = np.median(natural, axis=0)
        spread = np.maximum(natural.std(axis=0), 1e-12)
        scaled = (natural - natural.mean(axis=0)) / spread
        # a value far off the rest of the draws is a corner of the prior, and not what a normal can hold
        low, high = np.quantile(wanted, [0.005, 0.995], axis=0)
        off = np.clip(wanted, low, high)
        off = off - off.mean(axis=0)
        count = len(scaled) - 1
        unknowns = (1 - RIDGE) * (scaled.T @ scaled / count) + RIDGE * np.eye(scaled.shape[1])
        crossed, wanted = (1 - RIDGE) * scaled.T @ off / count, off.T @ off / count
        return cls(middle=middle, spread=spread, unknowns=unknowns, crossed=crossed, wanted=wanted)

    def explained(self, slope: Array, noise: Array) -> Array:
        """Return what N observations, as `planned` has them, would take off the covariance wanted, shape (W, W)."""
        seen = slope @ self.unknowns @ slope.T + np.diag(noise**2)
        return np.asarray(self.crossed.T @ slope.T @ np.linalg.solve(seen, slope @ self.crossed))


@dataclass(frozen=True, kw_only=True)
class Further:
    """A further measurement that could be made.

    Parameters
    ----------
    club, lie : str
        Chips with this club from this lie; none where `chips` is 0.
    chips : int
        Number of chips, to targets from 4 to 9 m.
    timed, hops : bool
        Whether their hang times are taken, and their first hops spotted.
    rolls : int
        Number of ramp rolls.
    headings_deg : tuple of float
        Their headings, degrees clockwise from the reference line, in turn.
    drops : int
        Number of drops, from 1 to 2.8 m.
    spot : str
        Where; the first spot of the fit if left out.

    Raises
    ------
    ValueError
        If nothing is planned.

    Examples
    --------
    >>> Further(chips=10, timed=True).observations
    10
    """

    club: str = "sand wedge"
    lie: str = "fairway"
    chips: int = 0
    timed: bool = False
    hops: bool = False
    rolls: int = 0
    headings_deg: tuple[float, ...] = (0.0, 90.0, 180.0, 270.0)
    drops: int = 0
    spot: str = ""

    def __post_init__(self) -> None:
        """Check that something is planned."""
        if min(self.chips, self.rolls, self.drops) < 0 or self.observations < 1:
            raise ValueError("Further plans nothing; give a number of chips, rolls or drops")

    @property
    def observations(self) -> int:
        """Chips, rolls and drops in all."""
        return self.chips + self.rolls + self.drops


def usual_plans(
    fit: CourseFit, *, spot: str = "", lie: str = "fairway", clubs: Iterable[str] | None = None
) -> dict[str, Further]:
    """Return what one could do next in a quarter of an hour, with some of the clubs that she carries."""
    place = spot or (fit.spots[0] if fit.spots else "")
    uphill = 180.0 - math.degrees(fit.green(place).fall_direction) if place in fit.spots else 0.0
    plans = {}
    has = [club for club in clubs or carried(fit.settings.clubs, fit.seen.clubs) if club in fit.settings.clubs]
    usual = ("8-iron", "pitching wedge", "sand wedge", "lob wedge")
    tried = [club for club in has if club in usual or named_by_loft(club)]
    for club in tried:
        plans[f"ten timed chips, {club}"] = Further(club=club, lie=lie, chips=10, timed=True, spot=place)
    if wedges := [club for club in tried if club == "sand wedge" or named_by_loft(club)]:
        chips: dict[str, Any] = {"club": wedges[-1], "lie": lie, "chips": 10, "spot": place}
        plans[f"ten chips not timed, {wedges[-1]}"] = Further(**chips)
        plans[f"ten chips with first hops, {wedges[-1]}"] = Further(**chips, hops=True)
    plans["six more rolls uphill"] = Further(rolls=6, headings_deg=(uphill,), spot=place)
    plans["eight rolls in four directions"] = Further(rolls=8, spot=place)
    plans["eight drops"] = Further(drops=8, spot=place)
    return plans


def further(
    fit: CourseFit,
    shots: pd.DataFrame | Mapping[str, object],
    plans: Mapping[str, Further] | None = None,
    *,
    seed: int = 0,
) -> pd.DataFrame:
    """Return how much each further measurement would reduce the uncertainty of where chips will stop.

    Parameters
    ----------
    fit : CourseFit
        The fit so far; the fewer sheets it has seen, the more rests on the priors.
    shots : DataFrame or mapping
        The chips to be decided on: columns club, lie, spot, heading (rad, clockwise), target_carry (m).
    plans : mapping of str to Further, optional
        What could be done; `usual_plans` by default.
    seed : int
        Seed of the draws.

    Returns
    -------
    DataFrame
        One line for each plan, the most useful first: ``observations``, ``rest_sd_now`` and ``rest_sd_after`` (m;
        root mean square over the shots of what is not known of the rest as meant), ``shrinkage`` (part of it that
        goes away).

    Raises
    ------
    ValueError
        If a shot or a plan names what the fit does not know.

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.physics.green import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> shot = {"club": ["sand wedge"], "lie": ["fairway"], "heading": [0.0], "target_carry": [6.0]}
    >>> plans = {"ten chips": Further(chips=10), "four drops": Further(drops=4)}
    >>> further(fit, shot, plans).index[0]
    'ten chips'
    """
    plans = dict(plans) if plans is not None else usual_plans(fit)
    generator = np.random.default_rng(seed)
    wanted = chips_to_play(shots, fit.settings, fit.spots)
    drawn = _drawn(fit, wanted, plans, generator)
    rest = predict(fit.model_for(wanted, drawn), drawn, generator).meant[:, :, REST]
    uncertainty = Uncertainty.of(drawn.natural, rest)
    now = _root_mean_variance(uncertainty.wanted)
    rows = {}
    for name, plan in plans.items():
        explained = uncertainty.explained(*planned(fit, plan, drawn, uncertainty))
        after = _root_mean_variance(uncertainty.wanted - explained)
        rows[name] = {
            "observations": plan.observations,
            "rest_sd_now": now,
            "rest_sd_after": after,
            "shrinkage": 1.0 - after / now if now > 0 else 0.0,
        }
    return pd.DataFrame.from_dict(rows, orient="index").sort_values("shrinkage", ascending=False)


def _root_mean_variance(covariance: Array) -> float:
    """Return the root mean square standard deviation of a covariance; rounding below zero counts as zero."""
    return math.sqrt(max(float(np.mean(np.diag(covariance))), 0.0))


def _drawn(fit: CourseFit, wanted: Chips, plans: Mapping[str, Further], generator: np.random.Generator) -> Sample:
    check_plans(fit, plans)
    chipped = [plan for plan in plans.values() if plan.chips]
    drawn = completed(
        fit.posterior.draws(DRAWS, generator),
        fit.settings,
        clubs=dict.fromkeys((*wanted.clubs, *(plan.club for plan in chipped))),
        lies=dict.fromkeys((*wanted.lies, *(plan.lie for plan in chipped))),
        spots=dict.fromkeys((*fit.spots, *wanted.spots, *(plan.spot for plan in plans.values() if plan.spot))),
        generator=generator,
    )
    return with_noises(fit, drawn)


def check_plans(fit: CourseFit, plans: Mapping[str, Further]) -> None:
    """Raise ValueError if a plan names a club without a loft."""
    unknown = sorted({plan.club for plan in plans.values() if plan.chips} - set(fit.settings.clubs))
    if unknown:
        raise ValueError(f"no loft is known for {', '.join(unknown)}; expected one of: {', '.join(fit.settings.clubs)}")


def with_noises(fit: CourseFit, drawn: Sample) -> Sample:
    """Return draws with the usual size of whatever noise no sheet of the fit has shown."""
    fallback = {name: getattr(fit.settings.priors, name) for name in ("scatter_absolute", "scatter_relative")}
    fallback |= {"drop_scatter": DROP_SCATTER.location, "release_speed_scale": 1.0}
    missing = [name for name in fallback if not drawn.names.has(name)]
    return drawn.beside(map(Key, missing), [np.full(len(drawn.natural), fallback[name]) for name in missing])


def planned(fit: CourseFit, plan: Further, drawn: Sample, uncertainty: Uncertainty) -> tuple[Array, Array]:
    """Return how N observations of a plan answer to the unknowns, of which `drawn` are completed, with noises.

    Their change for one of each unknown by its spread, (N, P), and the standard deviation about it, (N,). There are two
    rows for each thing that would be seen: what its value tells, and what its error tells of the scatter.
    """
    spot = plan.spot or drawn.names.members("resistance")[0]
    parts: list[Callable[[Array], tuple[Array, Array]]] = []
    if plan.chips:
        parts.append(_planned_chips(fit, plan, spot, drawn))
    if plan.rolls:
        headings, speed = -np.radians(np.resize(plan.headings_deg, plan.rolls)), constants.RAMP_RELEASE_SPEED.value
        law: dict[str, Any] = {"law": fit.settings.law, "grain": fit.settings.grain, "names": drawn.names}
        rolls = Rolls.planned((spot,), 0, headings, speed)
        layout = Layout(rolls=rolls, reference_speed=fit.reference_speed, **law)
        parts.append(block_of("distance", layout).evaluate)
    if plan.drops:
        heights = np.linspace(1.0, 2.8, plan.drops)
        none, rows = np.full(plan.drops, np.nan), np.arange(plan.drops)
        seen = {"height": heights, "rebound": 0.1 * heights, "first": none, "second": none}
        drops = Drops(row=rows, file=rows.astype(str), **seen)
        parts.append(drop_block(drops, drawn.names).evaluate)
    steps = 0.1 * uncertainty.spread
    middle, off = uncertainty.middle, np.diag(steps)
    around = np.concatenate([middle + off, middle - off, middle[None]])
    count = len(steps)
    slopes, noises = [], []
    for evaluate in parts:
        residual, scale = np.broadcast_arrays(*evaluate(around))
        slopes += [(values[:count] - values[count : 2 * count]).T / 0.2 for values in (residual, np.log(scale))]
        noises += [scale[-1], np.full(scale.shape[-1], math.sqrt(0.5))]
    return np.concatenate(slopes), np.concatenate(noises)


def _planned_chips(fit: CourseFit, plan: Further, spot: str, drawn: Sample) -> Callable[[Array], tuple[Array, Array]]:
    targets = np.linspace(4.0, 9.0, plan.chips)
    frame = {
        "club": [plan.club] * plan.chips,
        "lie": [plan.lie] * plan.chips,
        "spot": [spot] * plan.chips,
        "heading": np.radians(np.resize([20.0, 140.0, 260.0], plan.chips)),
        "target_carry": targets,
        "carry": targets,
    }
    chips = chips_to_play(frame, fit.settings, ())
    values = np.full((plan.chips, len(SEEN)), np.nan)
    values[:, [0, REST]] = 1.0
    values[:, HANG] = 1.0 if plan.timed else np.nan
    values[:, HOP] = 1.0 if plan.hops else np.nan
    model = fit.model_for(replace(chips, values=values), drawn)
    # expected values in the place of seen ones: no residual is large
    middle = np.median(drawn.natural, axis=0)
    expected = np.where(np.isfinite(values), model.expected(middle[None])[0], np.nan)
    expected[:, 0] = targets
    model = replace(model, chips=replace(model.chips, values=expected))
    seen = model.chips.seen

    def evaluate(natural: Array) -> tuple[Array, Array]:
        residual, scale = model.compare(natural)[:2]
        return residual[:, seen], scale[:, seen]

    return evaluate
