"""What to measure next: what a measurement would tell, before it is made.

Of a planned sheet of rolls: the information that it will carry, at a green as it is thought to be, is added to that of
the priors; its inverse is the covariance to expect (Fisher information).

Of a further measurement beside a fit: each draw says what is wanted, where a chip will stop, and what each planned
observation would be; the best linear guess of the one from the other gives the covariance to expect (preposterior
analysis; Raiffa and Schlaifer, Applied Statistical Decision Theory, 1961, memory). Where the law of the bounce is open,
draws are of both: what tells them apart counts. An observation tells by its value, and of what scatters it by how far
off it falls: n of them know a logarithm of their standard deviation to 1 over the root of 2 n.
"""

import math
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from itertools import product
from typing import Any, NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import require_count, require_kinds
from golfphys.core.names import Array, Key, Sample
from golfphys.fitting.chips import CARRY, HANG, HOP, REST, SEEN, Chips
from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.estimator import Model
from golfphys.fitting.prediction import chips_to_play, predict
from golfphys.fitting.results import Seed, about_mean, explained
from golfphys.fitting.rollout_layout import LAWS, POWERS, RAMP_SD, TERMS, Law, Priors, Rolls
from golfphys.fitting.rollout_model import block_of, build
from golfphys.fitting.search import expected_covariance
from golfphys.fitting.turf import DROP_SCATTER, Drops, drop_block
from golfphys.physics.club import carried, named_by_loft
from golfphys.physics.green import Green

DRAWS = 3200  # from which covariances are taken: from a quarter as many, chance alone explains a tenth more or so


@dataclass(frozen=True, kw_only=True)
class RolloutPlan:
    """A planned sheet: every heading with every release speed, `repeats` times, at every spot.

    Parameters
    ----------
    spots : tuple of str; their names
    headings_deg, release_speeds : tuple of float; degrees clockwise from the reference line, and m/s
    repeats : int; rolls of each heading and speed; ValueError if nothing is planned
    side : bool; whether side drift will be noted

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
        require_count("repeats", self.repeats)
        speeds, headings = self.release_speeds, self.headings_deg
        if not (self.spots and headings and min(speeds, default=0) > 0 and np.isfinite(headings).all()):
            raise ValueError(f"{self} needs at least one spot, one heading, and one release speed above 0 m/s")

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
    """Say what intervals a planned sheet will give, with the model and priors of a fit.

    Parameters
    ----------
    plan : RolloutPlan; the rolls
    green : Green, optional; as it is thought to be, at every spot, with the reference line as line of play; 10 ft and
        1.5 % falling at 45 degrees by default. ValueError if a planned roll would not stop on it.
    scatter : tuple of float; of single rolls: absolute in m, and relative to the distance
    law, grain, release_speed_sd, priors : of the fit to come, as `golfphys.fit` says

    Returns
    -------
    DataFrame: indexed by spot and parameter (stimp_ft, resistance, grade_along, grade_left, grade, fall_direction_deg,
        and resistance_linear where fitted): ``half_width`` of the 90 % interval, ``prior_half_width`` without any roll,
        and ``informed``: the share of the prior's variance that the rolls take away

    Examples
    --------
    >>> two_way = expected_intervals(RolloutPlan(headings_deg=(0, 180), repeats=6))
    >>> four_way = expected_intervals(RolloutPlan(headings_deg=(0, 90, 180, 270), repeats=3))
    >>> bool(four_way.loc[("spot", "grade_left"), "informed"] > 0.9 > two_way.loc[("spot", "grade_left"), "informed"])
    True
    """
    require_kinds(plan=(plan, RolloutPlan))
    if law not in LAWS or np.shape(scatter) != (2,) or not min(*scatter, release_speed_sd) >= 0:
        found = f"law is {law!r}, scatter {scatter!r}, release_speed_sd {release_speed_sd!r}"
        raise ValueError(f"{found}; expected one of {', '.join(LAWS)}, a pair of numbers not below 0, and another")
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
    names = ["stimp_ft", "resistance", "grade_along", "grade_left", "grade", "fall_direction_deg"]
    for i, spot in enumerate(plan.spots):
        for name in names + [f"resistance_{term}" for term in TERMS[law]]:
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
    plans : mapping of str to RolloutPlan; by name, each a line: number of rolls, and the largest half width of each
        parameter's 90 % interval
    parameters : sequence of str; those to show
    **options : further arguments of `expected_intervals`

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
        if strange := [parameter for parameter in parameters if parameter not in table]:
            raise ValueError(f"no parameter is called {', '.join(strange)}; expected of: {', '.join(map(str, table))}")
        rows[name] = {"rolls": plan.rolls, **{parameter: float(table[parameter].max()) for parameter in parameters}}
    return pd.DataFrame.from_dict(rows, orient="index")


def _truth(model: Model, green: Green, speed: float, scatter: tuple[float, float]) -> Array:
    """Transformed parameter values of the green as it is thought to be; `speed` is where resistance is meant."""
    law, terms = green.resistance, {term: getattr(green.resistance, term) for term in POWERS}
    level = law.constant + sum(value * speed ** POWERS[term] for term, value in terms.items())
    known = {
        **dict.fromkeys(("resistance", "resistance_median"), np.log(level)),
        "fall_along": green.grade * np.cos(green.fall_direction),
        "fall_left": green.grade * np.sin(green.fall_direction),
        **terms,
        "grain_along": law.grain * np.cos(law.grain_direction),
        "grain_left": law.grain * np.sin(law.grain_direction),
        "scatter_absolute": np.log(max(scatter[0], 1e-4)),
        "scatter_relative": np.log(max(scatter[1], 1e-5)),
    }
    values = zip(model.names, model.starting_point(), strict=True)
    return np.array([known.get(key.name, value) for key, value in values])


@dataclass(frozen=True, kw_only=True)
class Further:
    """A further measurement that could be made.

    Parameters
    ----------
    club, lie : str; of the chips
    chips, rolls, drops : int; number of chips, to targets from 4 to 9 m, of ramp rolls, and of drops, from 1 to 2.8 m;
        ValueError if nothing is planned
    timed, hops : bool; whether the chips' hang times are taken, and their first hops spotted
    headings_deg, spot : of the rolls, in turn, degrees clockwise from the reference line; the fit's first if left out

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
        for name in ("chips", "rolls", "drops"):
            require_count(name, getattr(self, name), 0)
        if self.observations < 1 or not self.headings_deg:
            raise ValueError("Further plans nothing; give a number of chips, rolls or drops, and headings of rolls")

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


def further(fit: CourseFit, shots: Any, plans: Mapping[str, Further] | None = None, *, seed: Seed = 0) -> pd.DataFrame:
    """Return how much each further measurement would reduce the uncertainty of where chips will stop.

    Parameters
    ----------
    fit : CourseFit; the fit so far; the fewer sheets it has seen, the more rests on the priors
    shots : DataFrame or mapping; the chips to be decided on: columns club, lie, spot, heading (rad, clockwise),
        target_carry (m); ValueError if one, or a plan, names what the fit does not know
    plans : mapping of str to Further, optional; what could be done; `usual_plans` by default
    seed : int; seed of the draws

    Returns
    -------
    DataFrame: one line for each plan, the most useful first: ``observations``, ``rest_sd_now`` and ``rest_sd_after``
        (m; root mean square over the shots of what is not known of the rest as meant), ``shrinkage`` (part of it that
        goes away)

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
    require_kinds(fit=(fit, CourseFit))
    plans = usual_plans(fit) if plans is None else plans
    check_plans(fit, plans)
    generator = np.random.default_rng(seed)
    wanted, chipped = chips_to_play(shots, fit.settings, fit.spots), [plan for plan in plans.values() if plan.chips]
    named = replace(
        wanted,
        clubs=(*wanted.clubs, *(plan.club for plan in chipped)),
        lies=(*wanted.lies, *(plan.lie for plan in chipped)),
        spots=(*wanted.spots, *(plan.spot for plan in plans.values() if plan.spot)),
    )
    drawn, rests = drawn_by_law(fit, DRAWS, seed, named), np.empty((DRAWS, len(wanted)))
    for law, which, sample in drawn:
        rests[which] = predict(law.model_for(wanted, sample), sample, generator).meant[:, :, REST]
    rests = about_mean(rests)
    each = weighed(drawn, plans, rests, rests.T @ rests / (DRAWS - 1), "rest", lambda one: float(np.mean(np.diag(one))))
    table = pd.DataFrame.from_dict({name: row for name, (row, _) in each.items()}, orient="index")
    return table.sort_values("shrinkage", ascending=False)


class Drawn(NamedTuple):
    """Of the draws of a fit, those by one law of the bounce."""

    fit: CourseFit  # by that law
    which: NDArray[np.bool_]  # of all n draws
    sample: Sample  # completed, with noises


def drawn_by_law(fit: CourseFit, n: int, seed: Seed, chips: Chips | None = None) -> list[Drawn]:
    """Return the `n` draws of a fit that a plan has, by each law of the bounce, completed for `chips`, with noises."""
    found = []
    for law, which in fit.by_law(n, seed):
        sample = with_noises(law, law.completed(n, seed, chips))
        found.append(Drawn(law, which, replace(sample, natural=sample.natural[which])))
    return [one for one in found if one.which.any()]


def weighed(
    drawn: Sequence[Drawn],
    plans: Mapping[str, Further],
    wanted: Array,
    covariance: Array,
    what: str,
    variance: Callable[[Array], float],
) -> dict[str, tuple[dict[str, float], Array]]:
    """Return a row of a table for each plan, and what it would take off the covariance wanted, (W, W).

    `wanted` are draws (n, W) less their mean, `covariance` what is not known of them; `variance` takes a covariance of
    them to that of `what` the table is of; rounding below zero counts as zero.
    """
    now, found = math.sqrt(max(variance(covariance), 0.0)), {}
    for name, plan in plans.items():
        gone = explained(wanted, *planned(drawn, plan))
        after = math.sqrt(max(variance(covariance - gone), 0.0))
        row = {"observations": plan.observations, f"{what}_sd_now": now, f"{what}_sd_after": after}
        found[name] = {**row, "shrinkage": 1.0 - after / now if now > 0 else 0.0}, gone
    return found


def check_plans(fit: CourseFit, plans: Mapping[str, Further]) -> None:
    """Raise ValueError if there is no plan, or one names a club without a loft."""
    if not plans or not all(isinstance(plan, Further) for plan in plans.values()):
        raise ValueError(f"plans is {plans!r:.100}; expected at least one golfphys.Further by its name")
    unknown = sorted({plan.club for plan in plans.values() if plan.chips} - set(fit.settings.clubs))
    if unknown:
        raise ValueError(f"no loft is known for {', '.join(unknown)}; expected one of: {', '.join(fit.settings.clubs)}")


def with_noises(fit: CourseFit, drawn: Sample) -> Sample:
    """Return draws with the usual size of whatever noise no sheet of the fit has shown."""
    fallback = {name: getattr(fit.settings.priors, name) for name in ("scatter_absolute", "scatter_relative")}
    fallback |= {"drop_scatter": DROP_SCATTER.location, "release_speed_scale": 1.0}
    missing = [name for name in fallback if not drawn.names.has(name)]
    return drawn.beside(map(Key, missing), [np.full(len(drawn.natural), fallback[name]) for name in missing])


def planned(drawn: Sequence[Drawn], plan: Further) -> tuple[Array, Array]:
    """Return what each of n draws says that N observations of a plan will be, (n, N), and how they scatter, (N,).

    There are two columns, less their means, for each thing that would be seen: its value, and what its error tells of
    the scatter.
    """
    first, parts = drawn[0], []
    spot = plan.spot or first.sample.names.members("resistance")[0]
    chips = _planned_chips(first, plan, spot) if plan.chips else None
    for fit, _, sample in drawn:
        seen, natural = [], sample.natural
        if chips is not None:
            # what a value is compared with, given those before it, must be the same on all draws
            model, middle = fit.model_for(chips, sample), np.broadcast_to(np.median(natural, axis=0), natural.shape)
            residual, scale = model.compare(middle, natural)[0], model.compare(natural, middle)[1]
            seen.append((residual[:, chips.seen], scale[:, chips.seen]))
        if plan.rolls:
            headings, speed = -np.radians(np.resize(plan.headings_deg, plan.rolls)), constants.RAMP_RELEASE_SPEED.value
            layout = fit.layout_of(Rolls.planned((spot,), 0, headings, speed), sample.names)
            seen.append(block_of("distance", layout).evaluate(natural))
        if plan.drops:
            heights, none = np.linspace(1.0, 2.8, plan.drops), np.full(plan.drops, np.nan)
            own: dict[str, Any] = {"height": heights, "rebound": 0.1 * heights, "first": none, "second": none}
            drops = Drops(row=np.arange(plan.drops), file=none.astype(str), **own)
            seen.append(drop_block(drops, sample.names).evaluate(natural))
        residual, scale = (np.concatenate(values, axis=1) for values in zip(*seen, strict=True))
        parts.append(np.concatenate([residual, np.log(scale)], axis=1))
    told = np.empty((len(first.which), parts[0].shape[1]))
    for one, values in zip(drawn, parts, strict=True):
        told[one.which] = values
    half = told.shape[1] // 2
    noise = np.concatenate([np.exp(np.median(told[:, half:], axis=0)), np.full(half, math.sqrt(0.5))])
    return about_mean(told), noise


def _planned_chips(one: Drawn, plan: Further, spot: str) -> Chips:
    """Return the chips of a plan, with what is to be expected where something would be seen."""
    targets = np.linspace(4.0, 9.0, plan.chips)
    frame = {"club": plan.club, "lie": plan.lie, "spot": spot, "target_carry": targets, "carry": targets}
    frame["heading"] = np.radians(np.resize([20.0, 140.0, 260.0], plan.chips))
    chips = chips_to_play(frame, one.fit.settings, ())
    # expected values in the place of seen ones: no residual is large
    middle = np.median(one.sample.natural, axis=0)
    expected = one.fit.model_for(chips, one.sample).expected(middle[None])[0]
    expected[:, CARRY] = targets
    values, seen = np.full((plan.chips, len(SEEN)), np.nan), [CARRY, REST, *[HANG] * plan.timed, *[HOP] * plan.hops]
    values[:, seen] = expected[:, seen]
    return replace(chips, values=values)
