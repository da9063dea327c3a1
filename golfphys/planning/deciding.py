"""What decides an answer: what to measure next for it, and which priors it rests on.

Every draw of the fit plays every choice that the answer weighed, with the same errors of the player. What planned
observations would be on each draw tells of its strokes, and that gives what a surer choice would save
(`golfphys.fitting.measuring`). The same draws, weighted by what another prior makes of them, say how far it decides:
nothing is fitted again, and of what a doubled prior allows beyond them nothing is seen.
"""

import itertools
from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.broadcasting import require_kinds
from golfphys.core.names import Key
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.estimator import Parameter
from golfphys.fitting.measuring import Further, check_plans, drawn_by_law, usual_plans, weighed
from golfphys.fitting.player import player_parameters
from golfphys.fitting.results import about_mean
from golfphys.physics.club import OPTIONS
from golfphys.planning.plan import ChipPlan, make_world
from golfphys.planning.position import Floats
from golfphys.planning.search import search_of, spaced, strokes_by_draw
from golfphys.planning.world import Effort

CHOICES = 6  # how many of the answer's choices compete
# Landings of each that count as choices: over the room for error of its best one, or over all that were tried.
ROOM, TRIED = ("allowed", 5), ("tried", 9)
WORTH_EFFORT = Effort(draws=400, last=32)  # draws of the fit, and errors of the player on each
# Strokes a chip that are never passed over: of an answer under another prior, of a measurement (judged).
DECIDES = 0.005
TIMES, CHANCE = 400, 0.99  # how often chance is tried, and which part of it must be beaten
# What belongs to one lie, spot, club or option, or to spots all together.
OF_ONE = (
    *("face_friction", "spin_factor", "cushion", "resistance", "resistance_median", "fall_along", "fall_left"),
    *("lie_carry", "club_carry", "loft_error", "option_errors", "option_lean", "option_start", "option_carry"),
)


class Rivals(NamedTuple):
    """Landings that compete for an answer: of which choice each is, where, and its strokes on each draw."""

    owner: NDArray[np.str_]
    landing: Floats
    halves: Floats  # with errors of two independent sets, shape (2, draws, landings)
    strokes: Floats  # mean of the halves

    def best_of(self, label: str) -> int:
        """Return the best landing of a choice."""
        return int(np.argmin(np.where(self.owner == label, self.strokes.mean(axis=0), np.inf)))


def rivals(
    fit: CourseFit, spot: str, chip: ChipPlan, heading_deg: float, effort: Effort, ends: str, many: int
) -> Rivals:
    """Play the choices of an answer at so many landings between ends of that name, on draws of the fit."""
    best = chip.played[:CHOICES] if chip.answer.choices else ()
    search, at = search_of(best), spaced(np.array([getattr(item, ends) for item in best]), many)
    known = fit.draws(spot, effort.draws, effort.seed, heading_deg=heading_deg)
    halves = strokes_by_draw(search, at, make_world(known, chip.position, chip.world.conditions, effort), effort)
    return Rivals(np.repeat(search.labels, many), at.ravel(), halves, np.asarray(halves.mean(axis=0)))


@dataclass(frozen=True, kw_only=True)
class NextMeasurement:
    """What further measurements would do for one decision."""

    # A row for each measurement, the most useful first: ``observations``; ``lead_sd_now`` and ``lead_sd_after``
    # (strokes; standard deviation of what is not known of the lead of the best club over the second); ``shrinkage``
    # (fraction of it that goes away); ``saved`` (strokes a chip that choosing after the measurement would save).
    table: pd.DataFrame
    pick: str  # the first two choices of the answer; twice the same where it has one
    second: str
    lead_sd: float  # strokes; standard deviation of what is not known of the pick's lead
    at_most: float  # strokes a chip that knowing everything would save

    @property
    def verdict(self) -> str:
        """The result in words."""
        best = self.table.iloc[0]
        said = f"Knowing everything would save {self.at_most:.3f} strokes a chip here"
        if self.pick != self.second:
            lead = f"How far {self.pick} is ahead of {self.second} is known to within {self.lead_sd:.2f} strokes"
            said = f"{lead}. {said}"
        if best["saved"] < np.clip(0.1 * self.at_most, 0.0005, DECIDES):
            return f"{said}; none of these measurements would save a tenth of that."
        return f"{said}; {self.table.index[0]} would save {best['saved']:.3f} of them."


def next_measurement(
    fit: CourseFit,
    spot: str,
    chip: ChipPlan,
    *,
    heading_deg: float = 0.0,
    plans: Mapping[str, Further] | None = None,
    effort: Effort = WORTH_EFFORT,
) -> NextMeasurement:
    """Say which further measurement would help a decision most.

    Parameters
    ----------
    fit, spot, heading_deg : as for the ``draws`` of a course fit
    chip : ChipPlan; the answer to be made surer, from draws of this fit
    plans : mapping of str to Further, optional; what could be measured; if left out
        `golfphys.fitting.measuring.usual_plans`
    effort : Effort; how much is tried; `draws` of the fit, and `last` errors of the player on each

    Examples
    --------
    >>> import golfphys
    >>> from golfphys import CourseTruth, Green, RolloutDesign, make_rollouts, plan_chip
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> few = {"ten chips": Further(chips=10, spot="home-left"), "four drops": Further(drops=4, spot="home-left")}
    >>> chip = plan_chip(fit.draws("home-left", 8), to_edge=3.0, to_pin=15.0, effort=Effort(landings=9))
    >>> found = next_measurement(fit, "home-left", chip, plans=few, effort=Effort(draws=100, last=8))
    >>> found.table.index[0]
    'ten chips'
    """
    require_kinds(fit=(fit, CourseFit), chip=(chip, ChipPlan))
    if plans is None:
        plans = usual_plans(fit, spot=spot, lie=chip.position.lie, clubs=chip.world.draws.bag)
    check_plans(fit, plans)
    for what, known in (("spot", {"", *fit.spots}), ("lie", {*fit.settings.lies, *fit.seen.lies})):
        if strange := sorted({getattr(plan, what) for plan in plans.values()} - known):
            raise ValueError(
                f"no {what} is called {', '.join(strange)}; expected one of: {', '.join(sorted(known - {''}))}"
            )
    found = rivals(fit, spot, chip, heading_deg, effort, *ROOM)
    # the same draws as those that the strokes were played on
    drawn = drawn_by_law(fit, effort.draws, effort.seed)
    unknown = shared(found.halves)
    at_most = _saved(found.strokes, unknown)
    names = [item.label for item in chip.played[:2]]
    first, second = found.best_of(names[0]), found.best_of(names[-1])
    lead = np.eye(found.owner.size)[second] - np.eye(found.owner.size)[first]
    each = weighed(drawn, plans, about_mean(found.strokes), unknown, "lead", lambda one: float(lead @ one @ lead))
    rows = {name: {**row, "saved": min(_saved(found.strokes, gone), at_most)} for name, (row, gone) in each.items()}
    table = pd.DataFrame.from_dict(rows, orient="index").sort_values(["saved", "shrinkage"], ascending=False)
    now = float(table["lead_sd_now"].iloc[0])
    return NextMeasurement(table=table, at_most=at_most, pick=names[0], second=names[-1], lead_sd=now)


def shared(halves: Floats) -> Floats:
    """Return the covariance over draws of what two halves (2, draws, spots) share: what is not known, without chance.

    The chance that few errors leave is another in each half; within one it would count as something to be known.
    """
    first, second = about_mean(halves)
    together = first.T @ second / (len(first) - 1)
    return np.asarray(0.5 * (together + together.T))


def _saved(strokes: Floats, covariance: Floats) -> float:
    """Return what choosing by new means saves over the choice as it stands, if the means move by this covariance.

    Draws of strokes, (draws, spots), are brought to it by the linear map that moves them least, for they keep their
    skewness then: a normal of that covariance counts a third too much for knowing everything.
    """
    mean = strokes.mean(axis=0)
    total = np.atleast_2d(np.cov(strokes.T))
    root, inverse = _power(total, 0.5), _power(total, -0.5)
    moved = mean + (strokes - mean) @ (inverse @ _power(root @ covariance @ root, 0.5) @ inverse)
    return max(float(mean.min() - moved.min(axis=1).mean()), 0.0)


def _power(covariance: Floats, exponent: float) -> Floats:
    """Return a power of a covariance, 0 in directions in which nothing varies."""
    size, axes = np.linalg.eigh(covariance)
    varies = size > 1e-10 * max(size.max(), 0.0)
    return np.asarray((axes * np.where(varies, np.where(varies, size, 1.0) ** exponent, 0.0)) @ axes.T)


@dataclass(frozen=True, kw_only=True)
class PriorWeight:
    """How far priors decide one answer."""

    # A row for each prior, the weightiest first: ``halved`` and ``doubled`` (the best choice then), ``landing_moved``
    # (m, the farther of the two), ``given_up`` (strokes a chip that the answer as it stands then loses, the larger of
    # the two), ``by_chance`` (what the same weights on other draws give up at most in 99 of 100 tries).
    table: pd.DataFrame
    pick: str  # the answer as it stands
    landing: float  # where it lands, m

    @property
    def cautions(self) -> list[str]:
        """Names the priors that decide, in a sentence; none if none does."""
        worst = self.table[self.table["given_up"] > np.maximum(self.table["by_chance"], DECIDES)]
        if worst.empty:
            return []
        names = ", ".join(Key.read(label).words for label in worst.index)
        said = f"Assumption decides here: with a prior half or twice as wide for {names}, another club or landing would"
        return [f"{said} be better by up to {worst['given_up'].max():.2f} strokes. Measure what informs it."]


def prior_weight(
    fit: CourseFit, spot: str, chip: ChipPlan, *, heading_deg: float = 0.0, effort: Effort = WORTH_EFFORT
) -> PriorWeight:
    """Say how far the answer to a chip moves if the spread of one prior is halved or doubled.

    Examples
    --------
    >>> import golfphys
    >>> from golfphys import CourseTruth, Green, RolloutDesign, make_rollouts, plan_chip
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> chip = plan_chip(fit.draws("home-left", 8), to_edge=3.0, to_pin=15.0, effort=Effort(landings=9))
    >>> found = prior_weight(fit, "home-left", chip, effort=Effort(draws=100, last=8))
    >>> "speed_error" in found.table.index
    True
    """
    require_kinds(fit=(fit, CourseFit), chip=(chip, ChipPlan))
    found = rivals(fit, spot, chip, heading_deg, effort, *TRIED)
    strokes, owner, landing = found.strokes, found.owner, found.landing
    # the same draws as those that the strokes were played on
    drawn = drawn_by_law(fit, effort.draws, effort.seed)
    now = found.best_of(chip.pick)
    rows = {}
    own = {name for item in chip.played[:CHOICES] for name in (item.choice.club, item.choice.option.name)}
    priors = [_priors(one.fit, spot, chip.position.lie, own) for one in drawn]
    for name in dict.fromkeys(itertools.chain(*priors)):
        weights = np.zeros((2, len(strokes)))
        for (_, which, sample), of_law in zip(drawn, priors, strict=True):
            z2 = np.zeros(len(sample.natural))  # how far draws lie from the prior's centre, in its standard deviations
            for prior in of_law.get(name, ()):
                values = sample.column(*prior.key)
                values = np.log(np.maximum(values, 1e-12)) if prior.transform == "log" else values
                z2 += np.square((values - prior.centre) / prior.spread)
            # a law of the bounce keeps its odds
            weights[:, which] = [which.mean() * weights_of(z2, factor) for factor in (0.5, 2.0)]
        picks = [int(np.argmin(item @ strokes)) for item in weights]
        rows[name] = {
            "halved": str(owner[picks[0]]),
            "doubled": str(owner[picks[1]]),
            "landing_moved": max(abs(landing[pick] - landing[now]) for pick in picks),
            "given_up": max(float((item @ strokes)[now] - (item @ strokes).min()) for item in weights),
            "by_chance": max(_by_chance(item, strokes, now) for item in weights),
        }
    table = pd.DataFrame.from_dict(rows, orient="index").sort_values("given_up", ascending=False)
    return PriorWeight(table=table, pick=str(owner[now]), landing=float(landing[now]))


def _priors(fit: CourseFit, spot: str, lie: str, played: Collection[str]) -> Mapping[str, list[Parameter]]:
    """Return the parameters that have a prior of their own, those of several clubs together, by name."""
    settings = fit.settings
    known = {parameter.key: parameter for parameter in fit.posterior.model.parameters if np.isfinite(parameter.spread)}
    for parameter in player_parameters(settings.clubs, {lie: settings.lies.get(lie)}, settings.player_priors, OPTIONS):
        known.setdefault(parameter.key, parameter)
    found: dict[str, list[Parameter]] = {}
    for key, parameter in known.items():
        # how clubs depart from each other is one prior, the spread between them
        if key.name != "club_errors" and (key.name not in OF_ONE or key.of in (spot, lie, *played)):
            found.setdefault(key.label if key.name == "turf" else key.name, []).append(parameter)
    return found


def weights_of(off_squared: Floats, factor: float) -> Floats:
    """Return weights that turn draws under a prior into draws under one `factor` times as wide.

    Examples
    --------
    >>> z = np.random.default_rng(1).standard_normal(100_000)
    >>> [round(float(np.sqrt(weights_of(z**2, factor) @ z**2)), 1) for factor in (0.5, 2.0)]
    [0.5, 1.9]
    """
    log = 0.5 * (1.0 - factor**-2) * off_squared
    weights = np.exp(log - log.max())
    # one draw far out must not speak for all
    weights = np.minimum(weights, weights.sum() / np.sqrt(weights.size))
    return np.asarray(weights / weights.sum())


def _by_chance(weights: Floats, strokes: Floats, now: int) -> float:
    """Return what the answer gives up, at most, when the same weights fall on other draws."""
    generator = np.random.default_rng(1)
    tried = np.stack([generator.permutation(weights) for _ in range(TIMES)]) @ strokes
    return float(np.quantile(tried[:, now] - tried.min(axis=1), CHANCE))
