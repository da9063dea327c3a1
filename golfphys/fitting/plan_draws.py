"""From the draws of a fit to those that a plan takes; what was not measured comes from its prior, and is named.

The ground around a green, as rolls and drops show it, is fitted by itself, at spots that are named after it. It shares
no unknown with the green: where only rolls were made there its turf is what such ground usually is, and the other way
about.
"""

from collections.abc import Mapping, Sequence
from dataclasses import fields, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.names import Draws as Completed
from golfphys.fitting.course_model import Fitted
from golfphys.fitting.player import error_draws, option_draws, player_of
from golfphys.fitting.results import Seed
from golfphys.fitting.rollout_layout import Layout
from golfphys.fitting.turf import within
from golfphys.physics.club import Lie
from golfphys.physics.draws import Draws, Logged, assumed
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf
from golfphys.physics.usual import Grass, uneven

Array = NDArray[np.float64]

UNMEASURED = "tour-to-club"
"""Level of a player who was never measured: the fit's prior spans both reference players."""


def plan_draws(fit: Fitted, spot: str, drawn: Completed, seed: Seed) -> Draws:
    """Return completed draws of a fit as plans take them, with x along the reference line of the sheet.

    The seed is that of what comes from priors; `Logged` says what was measured.
    """
    settings, column, n = fit.settings, drawn.column, len(drawn.natural)
    errors = error_draws(drawn, settings.clubs, np.random.default_rng(seed))
    turf = LinearTurf() if settings.turf_law == "linear" else Turf()
    layout = fit.course.layout
    assert layout is not None
    green = _green(layout.at(layout.rolls.position(spot)).green_draws(drawn.natural))
    prior = assumed(green, logged=logged(fit), bag=settings.clubs, n=n, seed=seed)
    delivery = {name: column(name) for name in ("attack", "shaft_lean", "edge_aim")} | {"face_opening": np.zeros(n)}
    bag = {
        name: replace(club, loft=np.clip(settings.clubs[name].loft + column("loft_error", name), 0.0, 1.4))
        for name, club in prior.bag.items()
    }
    # without a log these are the priors of the fit, in step with what a log would say of them
    logged_chips = fit.seen.chips is not None
    habits: dict[str, Any] = {
        name: (float(column(habit).mean()), float(column(habit).std())) if logged_chips else (0.0, 0.0)
        for name, habit in (("carry_habit", "carry_bias"), ("start_habit", "start_direction"))
    }
    air: dict[str, Any] = {name: column(name) for name in ("drag_scale", "lift_scale")}
    return replace(
        prior,
        green=replace(prior.green, turf=replace(turf, **turf_draws(drawn))),
        player=player_of("fitted player", delivery, errors),
        lies={**prior.lies, **_lies(fit, drawn, prior.lies)},
        bag=bag,
        aerodynamics=replace(prior.aerodynamics, **air),
        # drops say how high a ball comes up, not which law takes its spin and speed
        other_turf=None if logged_chips else prior.other_turf,
        other=False if logged_chips else prior.other,
        local_slope=column("local_slope"),
        options=option_draws(drawn),
        logged=replace(prior.logged, level="" if logged_chips else UNMEASURED, **habits),
    )


def turf_draws(drawn: Completed) -> dict[str, Any]:
    """Return draws of the turf by field, kept within what a turf can be."""
    return within(drawn.names.by_member(drawn.natural, "turf"))


def _lies(fit: Fitted, drawn: Completed, usual: Mapping[str, Lie]) -> dict[str, Lie]:
    """Return every lie that the fit knows, on draws; what uneven ones add to the errors is on draws of its factor."""
    known = {**fit.settings.lies, **usual}
    names, anything, found = drawn.names, next(iter(known.values())), {}
    for name in {**fit.settings.lies, **dict.fromkeys(fit.seen.lies)}:
        values: dict[str, Any] = {
            "friction": np.minimum(drawn.column("face_friction", name), 2.0),
            "spin_factor": np.minimum(drawn.column("spin_factor", name), 5.0),
            "cushion": np.minimum(names.get(drawn.natural, "cushion", name), 0.9),
        }
        if name in fit.settings.lies:
            added = uneven(fit.settings.lies[name], drawn.column("unevenness"))
            values |= {"speed_error": added.speed_error, "face_error": added.face_error}
        found[name] = replace(known.get(name, anything), name=name, **values)
    return found


def logged(fit: Fitted) -> Logged:
    """Return what a fit has to go by."""
    rolls, drops, chips, films = fit.seen.rolls, fit.seen.drops, fit.seen.chips, fit.seen.films
    measured = () if rolls is None else tuple(rolls.spots[i] for i in np.unique(rolls.spot))
    found = Logged(
        rolls=0 if rolls is None else int(rolls.row.size),
        drops=0 if drops is None else int(drops.row.size),
        films=0 if films is None else len(films.names),
        spots=measured,
        past=bool(fit.settings.past.priors),
    )
    if chips is None:
        return found
    return replace(
        found,
        chips=len(chips),
        clubs=_counted(chips.clubs, chips.club),
        lies=_counted(chips.lies, chips.lie),
        options=_counted(chips.options, chips.option),
        landing=(float(chips.landing.min()), float(chips.landing.max())),
        headings=tuple(np.unique(np.round(chips.heading[np.isfinite(chips.heading)], 2)).tolist()),
    )


def _counted(names: Sequence[str], which: NDArray[np.int64]) -> dict[str, int]:
    return {name: int((which == at).sum()) for at, name in enumerate(names)}


def _green(values: Mapping[str, Any]) -> Green:
    """Return a green with these draws in it."""
    law = {item.name: values[item.name] for item in fields(Resistance) if item.name in values}
    slope = {name: values[name] for name in ("grade", "fall_direction") if name in values}
    return Green(resistance=Resistance(**law), **slope)


def grass_of(drawn: Completed, layout: Layout | None, dropped: bool, usual: Grass) -> Grass:
    """Return draws of a ground as measured; what was not is that of `usual`, as many draws of such ground.

    `layout` says where its spots stand, if it was rolled on; `dropped`, whether balls were dropped on it.
    """
    found = usual
    if layout is not None:
        at = np.arange(len(drawn.natural)) % len(layout.rolls.spots)
        rolled = [layout.at(spot).green_draws(drawn.natural) for spot in range(len(layout.rolls.spots))]
        law: dict[str, Any] = {
            item.name: np.choose(at, [one[item.name] for one in rolled]) for item in fields(Resistance)
        }
        found = replace(found, resistance=Resistance(**law))
    if not dropped:
        return found
    kind = Turf if drawn.names.has("turf", "tilt") else LinearTurf
    return replace(found, turf=replace(usual.turf if isinstance(usual.turf, kind) else kind(), **turf_draws(drawn)))


def with_grounds(logged: Logged, around: Mapping[str, Any]) -> Logged:
    """Count in what was measured around the green; a ground is measured where it was rolled on and dropped on."""
    whole = [name for name, fit in around.items() if fit.spots and fit.seen.drops is not None]
    return replace(
        logged,
        spots=(*logged.spots, *(spot for fit in around.values() for spot in fit.spots)),
        grounds=(*logged.grounds, *whole),
    )
