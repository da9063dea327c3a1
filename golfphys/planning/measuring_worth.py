"""What to measure next: how much surer a further measurement would make the choice of club and landing spot.

What is uncertain of a decision is which choice leaves the fewer strokes. So every draw of the fit plays every choice (a
few landing spots of each club and option), with the same errors of the player; what each planned observation would say
of the unknowns, and they of the strokes, gives the uncertainty that would remain, and the strokes that the better
choice would then save on average (`golfphys.fitting.preposterior`).
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.fitting.further import Further, check_plans, planned, usual_plans, with_noises
from golfphys.fitting.preposterior import Uncertainty
from golfphys.planning.fitted import course_draws
from golfphys.planning.options import choices_for
from golfphys.planning.plan import make_world
from golfphys.planning.position import Position
from golfphys.planning.search import searched, strokes_by_draw
from golfphys.planning.world import Effort

Floats = NDArray[np.float64]

SPOTS = 5
"""Landing spots of each club that count as choices, over the room for error of its best one."""

CHOICES, SEARCHED = 6, 64
"""How many choices compete, and on how many draws their landing spots are searched."""

WORTH_EFFORT = Effort(draws=400, landings=13, errors=4, last=16)

IMAGINED = 20_000
"""Outcomes of a measurement that are imagined."""


@dataclass(frozen=True, kw_only=True)
class NextMeasurement:
    """What further measurements would do for one decision.

    Parameters
    ----------
    table : DataFrame
        A line for each measurement, the most useful first: ``observations``; ``lead_sd_now`` and ``lead_sd_after``
        (strokes; standard deviation of what is not known of the lead of the best club over the second); ``shrinkage``
        (fraction of it that goes away); ``saved`` (strokes a chip that choosing after the measurement would save).
    pick, second : str
        The best club and the second as things stand.
    lead : float
        Strokes by which the pick leads.
    lead_sd : float
        Standard deviation of what is not known of the lead.
    at_most : float
        Strokes a chip that knowing everything would save.

    Examples
    --------
    >>> table = pd.DataFrame({"observations": 10, "shrinkage": 0.4, "saved": 0.02}, index=["ten chips"])
    >>> found = NextMeasurement(
    ...     table=table, pick="sand wedge", second="lob wedge", lead=0.01, lead_sd=0.05, at_most=0.03
    ... )
    >>> found.verdict.endswith("ten chips would save 0.020 of them.")
    True
    """

    table: pd.DataFrame
    pick: str
    second: str
    lead: float
    lead_sd: float
    at_most: float

    @property
    def verdict(self) -> str:
        """The result in words."""
        best = self.table.iloc[0]
        said = (
            f"{self.pick.capitalize()} leads {self.second} by {self.lead:.3f} strokes, give or take "
            f"{self.lead_sd:.3f}. Knowing everything would save {self.at_most:.3f} strokes a chip here"
        )
        if best["saved"] < max(0.1 * self.at_most, 0.0005):
            return f"{said}; none of these measurements would save a tenth of that."
        return f"{said}; {self.table.index[0]} would save {best['saved']:.3f} of them."


def next_measurement(
    fit: Any,
    spot: str,
    *,
    position: Position,
    heading_deg: float = 0.0,
    plans: Mapping[str, Further] | None = None,
    effort: Effort = WORTH_EFFORT,
) -> NextMeasurement:
    """Say which further measurement would help a decision most.

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
    plans : mapping of str to Further, optional
        What could be measured; `golfphys.fitting.further.usual_plans` if left out.
    effort : Effort
        How much is tried; `draws` of the fit, and `last` errors of the player on each.

    Returns
    -------
    NextMeasurement
        Table, and the decision as it stands.

    Examples
    --------
    >>> import golfphys
    >>> from golfphys.physics.green import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1), draws=400)
    >>> few = {"ten chips": Further(chips=10, spot="home-left"), "four drops": Further(drops=4, spot="home-left")}
    >>> found = next_measurement(
    ...     fit, "home-left", position=Position(to_edge=3.0, to_pin=15.0), plans=few, effort=Effort(draws=100, last=8)
    ... )
    >>> found.table.index[0]
    'ten chips'
    """
    plans = dict(plans) if plans is not None else usual_plans(fit, spot=spot, lie=position.lie)
    check_plans(fit, plans)
    known = course_draws(fit, spot, heading_deg=heading_deg, draws=effort.draws, seed=effort.seed)
    few = replace(effort, draws=min(effort.draws, SEARCHED))
    world = make_world(known, position, None, few)
    searches = searched(choices_for(known, position), world, few)
    best = sorted(searches, key=lambda item: float(item.strokes[item.best]))[:CHOICES]
    spots = [np.linspace(*search.allowed, SPOTS) for search in best]
    strokes = strokes_by_draw(best, spots, make_world(known, position, None, effort), effort)
    owner = [search.label for search in best for _ in range(SPOTS)]
    # the same draws as those that the strokes were played on
    drawn = with_noises(fit, fit.completed(effort.draws, effort.seed))
    uncertainty = Uncertainty.of(drawn.natural, strokes)
    mean = strokes.mean(axis=0)
    first, second = _first_two(mean, owner)
    lead = np.zeros(mean.size)
    lead[second], lead[first] = 1.0, -1.0
    now = _spread(lead, uncertainty.wanted)
    rows = {}
    for name, plan in plans.items():
        explained = uncertainty.explained(planned(fit, plan, drawn, uncertainty))
        after = _spread(lead, uncertainty.wanted - explained)
        rows[name] = {
            "observations": plan.observations,
            "lead_sd_now": now,
            "lead_sd_after": after,
            "shrinkage": 1.0 - after / now if now > 0 else 0.0,
            "saved": _saved(mean, explained),
        }
    return NextMeasurement(
        table=pd.DataFrame.from_dict(rows, orient="index").sort_values(["saved", "shrinkage"], ascending=False),
        pick=owner[first],
        second=owner[second],
        lead=float(mean @ lead),
        lead_sd=now,
        at_most=_saved(mean, uncertainty.wanted),
    )


def _first_two(mean: Floats, owner: Sequence[str]) -> tuple[int, int]:
    """Return the best choice, and the best of another club, or the second of the same where there is no other."""
    first = int(np.argmin(mean))
    others = np.array([club != owner[first] for club in owner])
    if not others.any():
        others[:] = np.arange(mean.size) != first
    return first, int(np.argmin(np.where(others, mean, np.inf)))


def _spread(direction: Floats, covariance: Floats) -> float:
    return math.sqrt(max(float(direction @ covariance @ direction), 0.0))


def _saved(mean: Floats, covariance: Floats) -> float:
    """Return what choosing by new means saves over the choice as it stands, if the means move by this covariance."""
    size, axes = np.linalg.eigh(covariance)
    root = axes * np.sqrt(np.maximum(size, 0.0))
    # the same outcomes each time, and each with its opposite, so that measurements compare without chance
    z = np.random.default_rng(1).standard_normal((IMAGINED // 2, mean.size)) @ root.T
    moved = np.concatenate([mean + z, mean - z])
    return max(float(mean.min() - moved.min(axis=1).mean()), 0.0)
