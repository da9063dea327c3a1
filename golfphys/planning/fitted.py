"""From a fit to the draws that a plan is made on, seen along the line of play."""

import math
from collections.abc import Mapping
from dataclasses import fields, replace
from typing import Any

import numpy as np

from golfphys.physics.club import Player
from golfphys.physics.draws import Draws, Logged, assumed
from golfphys.physics.errors import TOUR_ERRORS
from golfphys.physics.green import Green, LinearTurf, Resistance, Turf

USUAL_CARRY = 6.0
"""Carry in m at which scatter of landings is turned into errors of the strike."""


def course_draws(
    fit: Any, spot: str, *, heading_deg: float = 0.0, draws: int = 256, seed: int | np.random.Generator = 0
) -> Draws:
    """Return a fit's draws at a spot, seen along a line of play; what it did not measure comes from its prior.

    Parameters
    ----------
    fit : RolloutFit or CourseFit
        What `golfphys.fit_rollouts` or `golfphys.fit_course` returned.
    spot : str
        Which of its spots.
    heading_deg : float
        Heading of the line from ball to pin on the sheet's compass: degrees clockwise from its reference line.
    draws : int
        How many draws.
    seed : int or numpy.random.Generator
        The same seed gives the same draws.

    Returns
    -------
    Draws
        What `golfphys.plan_chip` and all that follows from it take.

    Raises
    ------
    ValueError
        If the fit does not know the spot, or `heading_deg` or `draws` make no sense.

    Notes
    -----
    A mean error of her carries over their aim is left to the player to correct: a plan says where the ball should land.

    Examples
    --------
    >>> from golfphys.fitting.rollouts import fit_rollouts
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = fit_rollouts(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> known = course_draws(fit, "home-left", heading_deg=90.0, draws=50)
    >>> len(known), known.logged.chips
    (50, 0)
    """
    if not math.isfinite(heading_deg):
        raise ValueError(f"heading_deg is {heading_deg!r}; expected degrees clockwise from the sheet's reference line")
    if draws < 1:
        raise ValueError(f"draws is {draws!r}; expected at least 1")
    # the sheet's compass runs clockwise, directions of a green anticlockwise
    return (_of_course if hasattr(fit, "joint_draws") else _of_rolls)(fit, spot, draws, seed).turned(
        -math.radians(heading_deg)
    )


def _of_rolls(fit: Any, spot: str, n: int, seed: Any) -> Draws:
    logged = Logged(rolls=len(fit.residuals), spots=tuple(fit.spots))
    return assumed(_green(fit.greens(spot, n, seed)), logged=logged, n=n, seed=seed)


def _of_course(fit: Any, spot: str, n: int, seed: Any) -> Draws:
    drawn, seen = fit.joint_draws(spot, n, seed), fit.seen
    prior = assumed(_green(drawn.green), logged=_logged(fit), n=n, seed=seed)
    made = replace(prior.green, turf=type(fit.turf())(**_full(fit.turf(), drawn.turf)))
    found = replace(prior, green=made, other_turf=prior.other_turf if seen.chips is None else None)
    found = found if seen.chips is None else replace(found, other=False)
    known = {**fit.lies(), **prior.lies}
    lies = {name: replace(known[name], name=name, **values) for name, values in drawn.lies.items()}
    bag = {
        name: replace(club, loft=np.clip(drawn.clubs[name]["loft"], 0.0, 1.4)) if name in drawn.clubs else club
        for name, club in prior.bag.items()
    }
    air = replace(prior.aerodynamics, **drawn.aerodynamics)
    return replace(found, player=_player(fit.player(), drawn), lies={**prior.lies, **lies}, bag=bag, aerodynamics=air)


def _full(turf: Turf | LinearTurf, drawn: Mapping[str, Any]) -> dict[str, Any]:
    return {item.name: drawn.get(item.name, getattr(turf, item.name)) for item in fields(turf)}


def _player(estimated: Player, drawn: Any) -> Player:
    """Return the player with her drawn delivery, and errors of the strike that scatter landings as much as the log."""
    scatter = drawn.scatter[""]
    relative = np.hypot(scatter["distance_relative"], scatter["distance_absolute"] / USUAL_CARRY)
    # a tour player's landings scatter by about a tenth at this carry
    looser = np.clip(relative / 0.10, 0.3, 4.0)
    errors = replace(
        TOUR_ERRORS,
        speed=TOUR_ERRORS.speed * looser,
        low_point=TOUR_ERRORS.low_point * looser,
        height=TOUR_ERRORS.height * looser,
        attack=TOUR_ERRORS.attack * looser,
        shaft_lean=scatter["angle"],
        direction=scatter["direction"],
    )
    return replace(
        estimated,
        delivery=replace(estimated.delivery, **drawn.delivery),
        errors=errors,
        by_club={},
    )


def _logged(fit: Any) -> Logged:
    """Return what a course fit has seen."""
    seen = fit.seen
    rolls = 0 if seen.rolls is None else int(seen.rolls.row.size)
    drops = 0 if seen.drops is None else int(seen.drops.row.size)
    if seen.chips is None:
        return Logged(rolls=rolls, drops=drops, spots=tuple(fit.spots))
    chips = seen.chips
    headings = {round(float(turn), 2) for turn in chips.heading[np.isfinite(chips.heading)]}
    return Logged(
        rolls=rolls,
        drops=drops,
        chips=int(chips.row.size),
        spots=tuple(fit.spots),
        clubs={name: int((chips.club == at).sum()) for at, name in enumerate(chips.clubs)},
        lies={name: int((chips.lie == at).sum()) for at, name in enumerate(chips.lies)},
        landing=(float(np.min(chips.landing)), float(np.max(chips.landing))),
        headings=tuple(sorted(headings)),
    )


def _green(values: Mapping[str, Any]) -> Green:
    """Return a green with these draws in it."""
    law = {item.name: values[item.name] for item in fields(Resistance) if item.name in values}
    slope = {name: values[name] for name in ("grade", "fall_direction") if name in values}
    return Green(resistance=Resistance(**law), **slope)
