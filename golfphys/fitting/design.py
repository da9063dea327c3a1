"""Design your measuring: what rolls would tell that have not been made.

The information that planned rolls will carry, at a green as it is thought to be, is added to that of the priors; its
inverse is the covariance to expect (Fisher information; the same model and priors as the fit).
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import product

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.broadcasting import require_kinds
from golfphys.core.names import Array
from golfphys.fitting.estimator import Model
from golfphys.fitting.rollout_layout import POWERS, RAMP_SD, TERMS, Law, Priors, Rolls
from golfphys.fitting.rollout_model import build
from golfphys.fitting.search import expected_covariance
from golfphys.physics.green import Green


@dataclass(frozen=True, kw_only=True)
class RolloutPlan:
    """A planned sheet: every heading with every release speed, `repeats` times, at every spot.

    Parameters
    ----------
    spots : tuple of str
        Names of the spots.
    headings_deg, release_speeds : tuple of float
        Headings, degrees clockwise from the reference line, and release speeds, m/s.
    repeats : int
        Rolls of each heading and speed; ValueError if nothing is planned.
    side : bool
        Whether side drift will be noted.

    Examples
    --------
    >>> RolloutPlan(headings_deg=(0, 90, 180, 270), repeats=3).rolls
    12
    """

    spots: tuple[str, ...] = ("spot",)
    headings_deg: tuple[float, ...] = (0.0, 90.0, 180.0, 270.0)
    release_speeds: tuple[float, ...] = (constants.RAMP_RELEASE_SPEED.value,)
    repeats: int = 1
    side: bool = False

    def __post_init__(self) -> None:
        """Check that there is something to roll."""
        if not self.spots or not self.headings_deg or not self.release_speeds or self.repeats < 1:
            raise ValueError("RolloutPlan needs at least one spot, one heading, one release speed and one repeat")
        if not min(self.release_speeds) > 0:
            raise ValueError(f"RolloutPlan release_speeds is {self.release_speeds!r}; expected positive speeds in m/s")

    @property
    def rolls(self) -> int:
        """Number of rolls in all."""
        return len(self.spots) * len(self.headings_deg) * len(self.release_speeds) * self.repeats


def expected_intervals(
    plan: RolloutPlan,
    *,
    green: Green | None = None,
    law: Law = "constant",
    grain: bool = False,
    scatter: tuple[float, float] = (0.06, 0.02),
    release_speed_sd: float = RAMP_SD,
    priors: Priors | None = None,
) -> pd.DataFrame:
    """Say what intervals a planned sheet will give.

    Parameters
    ----------
    plan : RolloutPlan
        The rolls.
    green : Green, optional
        The green as it is thought to be, at every spot, with the reference line as line of play; 10 ft and 1.5 %
        falling at 45 degrees by default. ValueError if a planned roll would not stop on it.
    scatter : tuple of float
        Scatter of single rolls: absolute in m, and relative to the distance.
    law, grain, release_speed_sd, priors
        Of the fit to come, as `golfphys.fit` says.

    Returns
    -------
    DataFrame
        Indexed by spot and parameter (stimp_ft, resistance, grade_along, grade_left, grade, fall_direction_deg, and
        resistance_linear where fitted): ``half_width`` of the 90 % interval, ``prior_half_width`` without any roll, and
        ``informed``: the share of the prior's variance that the rolls take away.

    Examples
    --------
    >>> two_way = expected_intervals(RolloutPlan(headings_deg=(0, 180), repeats=6))
    >>> four_way = expected_intervals(RolloutPlan(headings_deg=(0, 90, 180, 270), repeats=3))
    >>> bool(four_way.loc[("spot", "grade_left"), "informed"] > 0.9 > two_way.loc[("spot", "grade_left"), "informed"])
    True
    """
    require_kinds(plan=(plan, RolloutPlan))
    believed = green or Green.from_stimp(10.0, grade=0.015, fall_direction=-np.pi / 4)
    every = -np.radians(plan.headings_deg), plan.release_speeds, range(plan.repeats)
    spot, heading, speed, _ = np.array(list(product(range(len(plan.spots)), *every))).T
    rolls = Rolls.planned(plan.spots, spot, heading, speed, side=plan.side)
    model, layout = build(rolls, law=law, grain=grain, release_speed_sd=release_speed_sd, priors=priors)
    centre = _truth(model, believed, layout.reference_speed, scatter)
    if not np.all(np.hypot(*layout.rest(model.natural(centre))) < 200.0):
        raise ValueError("a planned roll would not stop on this green; plan a lower release speed or a lesser slope")
    covariance, prior = expected_covariance(model, centre)
    steps, rows = 1e-5 * np.eye(len(centre))[~model.outer], {}
    more, less = (layout.told(model.natural(centre + step)) for step in (steps, -steps))
    names = "stimp_ft", "resistance", "grade_along", "grade_left", "grade", "fall_direction_deg"
    for i, spot in enumerate(plan.spots):
        for name in (*names, *(f"resistance_{term}" for term in TERMS[law])):
            slope = (more[name] - less[name])[:, i] / 2e-5
            spread, before = (float(np.sqrt(slope @ matrix @ slope)) for matrix in (covariance, prior))
            limit = 180.0 if name == "fall_direction_deg" else np.inf
            half, prior_half = (min(constants.NORMAL_90 * sd, limit) for sd in (spread, before))
            informed = 1.0 - (spread / before) ** 2 if before > 0 else 0.0
            rows[(spot, name)] = {"half_width": half, "prior_half_width": prior_half, "informed": informed}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis(index=["spot", "parameter"])


def compare_plans(
    plans: Mapping[str, RolloutPlan],
    *,
    parameters: Sequence[str] = ("stimp_ft", "grade", "fall_direction_deg"),
    **options: object,
) -> pd.DataFrame:
    """Compare planned sheets by the intervals to expect at their worst spot.

    Parameters
    ----------
    plans : mapping of str to RolloutPlan
        Plans by name, each a line: number of rolls, and the largest half width of each parameter's 90 % interval.
    parameters : sequence of str
        Parameters to show.
    **options
        Further arguments of `expected_intervals`.

    Examples
    --------
    >>> plans = {"one way": RolloutPlan(headings_deg=(0,), repeats=12), "four ways": RolloutPlan(repeats=3)}
    >>> table = compare_plans(plans)
    >>> bool(table.loc["four ways", "stimp_ft"] < table.loc["one way", "stimp_ft"])
    True
    """
    rows = {}
    for name, plan in plans.items():
        table = expected_intervals(plan, **options)["half_width"].unstack("parameter")  # type: ignore[arg-type]
        rows[name] = {"rolls": plan.rolls, **{parameter: float(table[parameter].max()) for parameter in parameters}}
    return pd.DataFrame.from_dict(rows, orient="index")


def _truth(model: Model, green: Green, speed: float, scatter: tuple[float, float]) -> Array:
    """Transformed parameter values of the green as it is thought to be; `speed` is where resistance is meant."""
    law = green.resistance
    terms = {term: getattr(law, term) for term in POWERS}
    level = law.constant + sum(value * speed ** POWERS[term] for term, value in terms.items())
    known = {
        "resistance": np.log(level),
        "fall_along": green.grade * np.cos(green.fall_direction),
        "fall_left": green.grade * np.sin(green.fall_direction),
        **terms,
        "grain_along": law.grain * np.cos(law.grain_direction),
        "grain_left": law.grain * np.sin(law.grain_direction),
        "resistance_median": np.log(level),
        "scatter_absolute": np.log(max(scatter[0], 1e-4)),
        "scatter_relative": np.log(max(scatter[1], 1e-5)),
    }
    values = zip(model.names, model.starting_point(), strict=True)
    return np.array([known.get(key.name, value) for key, value in values])
