"""Which priors decide: how far the answer moves if the spread of one prior is halved or doubled.

Nothing is fitted again: the draws of a fit are weighted by what the other prior makes of them, and the same strokes are
averaged with those weights. What chance alone would move is found by handing the same weights to other draws. Of what a
doubled prior allows beyond the draws of the fit, nothing is seen.
"""

from collections.abc import Collection, Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.fitting.estimator import Parameter
from golfphys.fitting.player import player_parameters
from golfphys.planning.fitted import course_draws
from golfphys.planning.options import choices_for
from golfphys.planning.plan import make_world
from golfphys.planning.position import Position
from golfphys.planning.search import searched, strokes_by_draw
from golfphys.planning.world import Effort

Floats = NDArray[np.float64]

DECIDES = 0.005
"""Strokes that the answer must give up under another prior for that prior to decide."""

CHOICES, SPOTS, SEARCHED = 6, 9, 64
"""How many clubs compete, at how many landing spots each, and on how many draws those are searched."""

TRIED, CHANCE = 400, 0.99
"""How often chance is tried, and which part of it must be beaten."""

OF_ONE = ("face_friction", "cushion", "resistance", "fall_along", "fall_left", "loft_error")
"""Beginnings of names of what belongs to one lie, spot or club."""


@dataclass(frozen=True, kw_only=True)
class PriorWeight:
    """How far priors decide one answer.

    Parameters
    ----------
    table : DataFrame
        A line for each prior, the weightiest first: ``halved`` and ``doubled`` (the best choice then),
        ``landing_moved`` (m, the farther of the two), ``given_up`` (strokes a chip that the answer as it stands then
        loses, the larger of the two), ``by_chance`` (what the same weights on other draws give up at most in 99 of 100
        tries).
    pick : str
        The answer as it stands.
    landing : float
        Where it lands, m.
    """

    table: pd.DataFrame
    pick: str
    landing: float

    @property
    def cautions(self) -> list[str]:
        """Names the priors that decide, in a sentence; none if none does."""
        worst = self.table[self.table["given_up"] > np.maximum(self.table["by_chance"], DECIDES)]
        if worst.empty:
            return []
        names = ", ".join(
            str(name).replace("turf[", "turf ").replace("]", "").replace("_", " ") for name in worst.index
        )
        text = (
            f"Assumption decides here: with a prior half or twice as wide for {names}, another club or landing would "
            f"be better by up to {worst['given_up'].max():.2f} strokes. Measure what informs it."
        )
        return [text]


def prior_weight(
    fit: Any,
    spot: str,
    *,
    position: Position,
    heading_deg: float = 0.0,
    effort: Effort | None = None,
) -> PriorWeight:
    """Say how far the answer to a chip moves if the spread of one prior is halved or doubled.

    Parameters
    ----------
    fit : CourseFit
        What `golfphys.fit` returned.
    spot : str
        Which of its spots the chip is played at.
    position : Position
        Where the ball lies and where the pin is.
    heading_deg : float
        Heading of the line from ball to pin on the sheet's compass.
    effort : Effort, optional
        How much is tried; 400 draws if left out.

    Returns
    -------
    PriorWeight
        Table and cautions.

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.physics.green import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1), draws=400)
    >>> found = prior_weight(
    ...     fit, "home-left", position=Position(to_edge=3.0, to_pin=15.0), effort=Effort(draws=100, last=8)
    ... )
    >>> "speed_error" in found.table.index
    True
    """
    effort = effort or Effort(draws=400, landings=13, errors=4, last=16)
    known = course_draws(fit, spot, heading_deg=heading_deg, draws=effort.draws, seed=effort.seed)
    few = Effort(draws=min(effort.draws, SEARCHED), landings=effort.landings, errors=effort.errors, seed=effort.seed)
    searches = searched(choices_for(known, position), make_world(known, position, None, few), few)
    best = sorted(searches, key=lambda item: float(item.strokes[item.best]))[:CHOICES]
    spots = [np.linspace(item.landing[0], item.landing[-1], SPOTS) for item in best]
    world = make_world(known, position, None, effort)
    strokes = strokes_by_draw(best, spots, world, effort)
    owner = [search.label for search in best for _ in range(SPOTS)]
    landing = np.concatenate(spots)
    # the same draws as those that the strokes were played on
    drawn = fit.completed(effort.draws, effort.seed)
    now = int(np.argmin(strokes.mean(axis=0)))
    rows = {}
    clubs = {search.swing.choice.club for search in best}
    for name, members in _priors(fit, spot, position.lie, clubs).items():
        z2 = np.sum([_off(parameter, drawn.column(parameter.name)) ** 2 for parameter in members], axis=0)
        weights = [weights_of(z2, factor) for factor in (0.5, 2.0)]
        picks = [int(np.argmin(item @ strokes)) for item in weights]
        rows[name] = {
            "halved": owner[picks[0]],
            "doubled": owner[picks[1]],
            "landing_moved": max(abs(landing[pick] - landing[now]) for pick in picks),
            "given_up": max(_given_up(item, strokes, now) for item in weights),
            "by_chance": max(_by_chance(item, strokes, now) for item in weights),
        }
    table = pd.DataFrame.from_dict(rows, orient="index").sort_values("given_up", ascending=False)
    return PriorWeight(table=table, pick=owner[now], landing=float(landing[now]))


def _priors(fit: Any, spot: str, lie: str, clubs: Collection[str]) -> Mapping[str, list[Parameter]]:
    """Return the parameters that have a prior of their own, those of several clubs together, by name."""
    settings = fit.settings
    known = {parameter.name: parameter for parameter in fit.posterior.model.parameters if np.isfinite(parameter.spread)}
    for parameter in player_parameters(list(settings.clubs), {lie: settings.lies.get(lie)}, settings.player_priors):
        known.setdefault(parameter.name, parameter)
    found: dict[str, list[Parameter]] = {}
    for name, parameter in known.items():
        first, _, of = name.rstrip("]").partition("[")
        # how clubs depart from each other is one prior, the spread between them
        if first != "club_errors" and (first not in OF_ONE or of in (spot, lie, *clubs)):
            found.setdefault(name if first == "turf" else first, []).append(parameter)
    return found


def _off(parameter: Parameter, values: Floats) -> Floats:
    """How far draws lie from the prior's centre, in its standard deviations."""
    transformed = np.log(np.maximum(values, 1e-12)) if parameter.transform == "log" else values
    return np.asarray((transformed - parameter.centre) / parameter.spread)


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


def _given_up(weights: Floats, strokes: Floats, now: int) -> float:
    mean = weights @ strokes
    return float(mean[now] - mean.min())


def _by_chance(weights: Floats, strokes: Floats, now: int) -> float:
    """Return what the answer gives up, at most, when the same weights fall on other draws."""
    generator = np.random.default_rng(1)
    tried = np.stack([generator.permutation(weights) for _ in range(TRIED)]) @ strokes
    return float(np.quantile(tried[:, now] - tried.min(axis=1), CHANCE))
