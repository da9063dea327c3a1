"""From the draws of a fit to those that a plan takes; what was not measured comes from its prior, and is named.

The ground around a green, as rolls and drops show it, is fitted by itself, at spots that are named after it. It shares
no unknown with the green: where only rolls were made there its turf is what such ground usually is, and the other way
about.
"""

from collections.abc import Mapping
from dataclasses import dataclass, fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.names import Draws as Completed
from golfphys.fitting.fitted import Fitted
from golfphys.fitting.player import error_draws, option_draws, player_of
from golfphys.fitting.results import Posterior, Seed
from golfphys.fitting.rollout_layout import Layout
from golfphys.fitting.turf import turf_of, within
from golfphys.physics.club import Lie
from golfphys.physics.draws import Draws, Logged, assumed
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.physics.usual import Grass, Option, uneven
from golfphys.sheets.suspects import around

Array = NDArray[np.float64]

UNMEASURED = "tour-to-club"
"""Level of a player who was never measured: the fit's prior spans both reference players."""


@dataclass(frozen=True, kw_only=True)
class JointDraws:
    """Everything that a plan needs, draw by draw: element i of every array belongs to draw i.

    Parameters
    ----------
    green : dict of ndarray
        Fields of a green and its resistance; directions anticlockwise from the sheet's reference line, rad.
    turf : dict of ndarray
        Fields of its turf.
    delivery : dict of ndarray
        ``attack``, ``shaft_lean``, ``face_opening``, rad, and ``edge_aim``.
    lies : dict of dict of ndarray
        By lie ``friction``, ``spin_factor``, ``cushion``, and of uneven ones ``speed_error`` and ``face_error``.
    errors : dict of dict of ndarray
        By club the standard deviations of `golfphys.physics.club.StrikeErrors`; under ``""`` those of any other club.
    clubs : dict of dict of ndarray
        By club its ``loft``, rad.
    aerodynamics : dict of ndarray
        ``drag_scale`` and ``lift_scale``.
    bias : dict of ndarray
        ``carry``: mean error of the carry as a part of its aim; ``direction``: mean start direction, rad.
    local_slope : ndarray
        Standard deviation of the slope that a ball meets at a landing.
    options : mapping of str to Option
        What can be played, with draws where it was logged.
    """

    green: dict[str, Array]
    turf: dict[str, Array]
    delivery: dict[str, Array]
    lies: dict[str, dict[str, Array]]
    errors: dict[str, dict[str, Array]]
    clubs: dict[str, dict[str, Array]]
    aerodynamics: dict[str, Array]
    bias: dict[str, Array]
    local_slope: Array
    options: Mapping[str, Option]


def joint_draws(fit: Fitted, spot: str, drawn: Completed, seed: Seed) -> JointDraws:
    """Return completed draws as a plan takes them."""
    layout, column = fit.course.layout, drawn.column
    assert layout is not None
    n, place = len(drawn.natural), layout.rolls.spots.index(spot)
    turf = drawn.names.by_member(drawn.natural, "turf")
    turf["restitution"] = np.clip(turf["restitution"], 0.0, 1.0)
    clubs, lies = fit.settings.clubs, {**fit.settings.lies, **dict.fromkeys(fit.seen.lies)}
    zero = np.zeros(n)
    return JointDraws(
        green=layout.at(place).green_draws(drawn.natural),
        turf=turf,
        delivery={name: column(name) for name in ("attack", "shaft_lean", "edge_aim")} | {"face_opening": zero},
        lies={
            name: {
                "friction": np.minimum(column("face_friction", name), 2.0),
                "spin_factor": np.minimum(column("spin_factor", name), 5.0),
                "cushion": np.minimum(drawn.names.get(drawn.natural, "cushion", name), 0.9),
                **_added(fit.settings.lies.get(name), column("unevenness")),
            }
            for name in lies
        },
        errors=error_draws(drawn, clubs, np.random.default_rng(seed)),
        clubs={name: {"loft": club.loft + column("loft_error", name)} for name, club in clubs.items()},
        aerodynamics={"drag_scale": column("drag_scale"), "lift_scale": column("lift_scale")},
        bias={"carry": column("carry_bias"), "direction": column("start_direction")},
        local_slope=column("local_slope"),
        options=option_draws(drawn),
    )


def _added(lie: Lie | None, factor: Array) -> dict[str, Any]:
    """Return what a lie adds to the errors on draws of its factor; nothing of a lie of which nothing is known."""
    return {} if lie is None else {name: getattr(uneven(lie, factor), name) for name in ("speed_error", "face_error")}


def plan_draws(fit: Fitted, drawn: JointDraws, n: int, seed: Seed) -> Draws:
    """Return the draws of a fit at one spot in the form that plans take.

    Parameters
    ----------
    fit : CourseFit
        The fit.
    drawn : JointDraws
        Its draws there.
    n : int
        Number of draws.
    seed : int or numpy.random.Generator
        Of what comes from priors.

    Returns
    -------
    Draws
        With x along the reference line of the sheet; `Logged` says what was measured.
    """
    law = fit.settings.turf_law
    prior = assumed(_green(drawn.green), logged=logged(fit), bag=fit.settings.clubs, n=n, seed=seed)
    middle = turf_of(law, {name: float(np.median(values)) for name, values in drawn.turf.items()})
    found = replace(prior, green=replace(prior.green, turf=replace(middle, **within(drawn.turf))))
    # without a log these are the priors of the fit, in step with what a log would say of them
    logged_chips = fit.seen.chips is not None
    habits: dict[str, Any] = {
        f"{name}_habit": (float(drawn.bias[key].mean()), float(drawn.bias[key].std())) if logged_chips else (0.0, 0.0)
        for name, key in (("carry", "carry"), ("start", "direction"))
    }
    bag = {
        name: replace(club, loft=np.clip(drawn.clubs[name]["loft"], 0.0, 1.4)) if name in drawn.clubs else club
        for name, club in prior.bag.items()
    }
    air: dict[str, Any] = dict(drawn.aerodynamics)
    known = {**fit.settings.lies, **prior.lies}
    anything = next(iter(known.values()))
    lies = {name: replace(known.get(name, anything), name=name, **values) for name, values in drawn.lies.items()}
    return replace(
        found,
        player=player_of("fitted player", drawn.delivery, drawn.errors),
        lies={**prior.lies, **lies},
        bag=bag,
        aerodynamics=replace(prior.aerodynamics, **air),
        # drops say how high a ball comes up, not which law takes its spin and speed
        other_turf=None if logged_chips else found.other_turf,
        other=False if logged_chips else found.other,
        local_slope=drawn.local_slope,
        options=drawn.options,
        logged=replace(found.logged, level="" if logged_chips else UNMEASURED, **habits),
    )


def logged(fit: Fitted) -> Logged:
    """Return what a fit has to go by.

    Parameters
    ----------
    fit : CourseFit
        The fit.

    Returns
    -------
    Logged
        Counts, spots with rolls, and of the chips clubs, lies, options, landings and headings.
    """
    rolls, drops, chips, films = fit.seen.rolls, fit.seen.drops, fit.seen.chips, fit.seen.films
    measured = () if rolls is None else tuple(rolls.spots[i] for i in np.unique(rolls.spot))
    found = Logged(
        rolls=0 if rolls is None else int(rolls.row.size),
        drops=0 if drops is None else int(drops.row.size),
        films=0 if films is None else len(films.names),
        spots=measured,
        past=bool(fit.settings.past.own),
    )
    if chips is None:
        return found
    return replace(
        found,
        chips=len(chips),
        clubs={name: int((chips.club == at).sum()) for at, name in enumerate(chips.clubs)},
        lies={name: int((chips.lie == at).sum()) for at, name in enumerate(chips.lies)},
        options={name: int((chips.option == at).sum()) for at, name in enumerate(chips.options)},
        landing=(float(chips.landing.min()), float(chips.landing.max())),
        headings=tuple(np.unique(np.round(chips.heading[np.isfinite(chips.heading)], 2)).tolist()),
    )


def _green(values: Mapping[str, Any]) -> Green:
    """Return a green with these draws in it."""
    law = {item.name: values[item.name] for item in fields(Resistance) if item.name in values}
    slope = {name: values[name] for name in ("grade", "fall_direction") if name in values}
    return Green(resistance=Resistance(**law), **slope)


def by_ground(sheet: Any, holds: str) -> dict[str, Any]:
    """Return the rows of a sheet as a sheet for each ground around the green, under "" those of the green itself.

    Examples
    --------
    >>> import pandas as pd
    >>> sheet = SimpleNamespace(drops=pd.DataFrame({"spot": ["low", "fringe ninth"], "rebound_height": [0.3, 0.1]}))
    >>> {ground: len(part.drops) for ground, part in by_ground(sheet, "drops").items()}
    {'': 1, 'fringe': 1}
    """
    frame = getattr(sheet, holds, None)
    if frame is None or "spot" not in frame:
        return {} if sheet is None else {"": sheet}
    ground = frame["spot"].map(lambda spot: around(str(spot)) or "")
    if not ground.any():
        return {"": sheet}
    parts = {str(name): part.reset_index(drop=True) for name, part in frame.groupby(ground)}
    made = getattr(sheet, "replaced", lambda rows: SimpleNamespace(**{holds: rows}))
    return {name: made(part) for name, part in parts.items()}


def grass_of(source: Posterior, layout: Layout | None, dropped: bool, usual: Grass, n: int, seed: Any) -> Grass:
    """Return draws of a ground as measured; what was not is that of `usual`.

    Parameters
    ----------
    source : Posterior
        Of what was measured on it.
    layout : Layout or None
        Where its spots stand, if it was rolled on.
    dropped : bool
        Whether balls were dropped on it.
    usual : Grass
        The same number of draws of such ground.
    n : int
        Number of draws.
    seed : int or numpy.random.Generator
        The same seed gives the same draws.
    """
    natural = source.sample(n, seed)
    found = usual
    if layout is not None:
        at = np.arange(n) % len(layout.rolls.spots)
        rolled = [layout.at(spot).green_draws(natural) for spot in range(len(layout.rolls.spots))]
        law: dict[str, Any] = {
            item.name: np.choose(at, [one[item.name] for one in rolled]) for item in fields(Resistance)
        }
        found = replace(found, resistance=Resistance(**law))
    return replace(found, turf=_turf(source, natural, usual.turf)) if dropped else found


def with_grounds(logged: Logged, around: Mapping[str, Any]) -> Logged:
    """Count in what was measured around the green; a ground is measured where it was rolled on and dropped on."""
    whole = [name for name, fit in around.items() if fit.spots and fit.seen.drops is not None]
    return replace(
        logged,
        spots=(*logged.spots, *(spot for fit in around.values() for spot in fit.spots)),
        grounds=(*logged.grounds, *whole),
    )


def _turf(source: Posterior, natural: Array, usual: Turf | LinearTurf) -> Turf | LinearTurf:
    names = source.model.names
    rigid, values = names.has("turf", "tilt"), within(names.by_member(natural, "turf"))
    base = usual if isinstance(usual, Turf) == rigid else Turf() if rigid else LinearTurf()
    return replace(base, **values)
