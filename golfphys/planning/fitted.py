"""From a fitted sheet to the green that a plan is made on, along the line of play, with what the fit leaves open."""

import math
from collections.abc import Mapping
from dataclasses import replace
from typing import Any, Protocol

import numpy as np

from golfphys.physics.club import BAG, Club, Lie, Player
from golfphys.physics.green import Green, GroundBatch, Turf
from golfphys.planning.draws import AnyGreen, CourseDraws


class GreenFit(Protocol):
    """What a plan needs of a fit."""

    def green(self, spot: str) -> Green:
        """Return the estimated green, its line of play along the sheet's reference line."""

    def greens(self, spot: str, n: int, seed: Any) -> dict[str, Any]:
        """Return draws of what the fit leaves open, by field of the green."""


def fitted_green(
    fit: GreenFit,
    spot: str,
    *,
    heading_deg: float = 0.0,
    turf: Turf | None = None,
    draws: int = 200,
    seed: int | np.random.Generator = 0,
) -> GroundBatch:
    """Return a fitted green with its uncertainty, seen along a line of play.

    Parameters
    ----------
    fit : RolloutFit
        What `golfphys.fit_rollouts` returned.
    spot : str
        Which of its spots.
    heading_deg : float
        Heading of the line from ball to pin on the sheet's compass: degrees clockwise from its reference line.
    turf : Turf, optional
        How the green takes a landing, which rollouts do not show; the published values if left out.
    draws : int
        How many greens are drawn from what the fit leaves open.
    seed : int or numpy.random.Generator
        The same seed gives the same draws.

    Returns
    -------
    GroundBatch
        The estimated green in common and the draws as its values: what `golfphys.plan_chip` takes.

    Raises
    ------
    ValueError
        If the fit does not know the spot, or `heading_deg` or `draws` make no sense.

    Examples
    --------
    >>> from golfphys.fitting.rollouts import fit_rollouts
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = fit_rollouts(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> fitted_green(fit, "home-left", heading_deg=90.0, draws=50).size
    50
    """
    turn = _turn(heading_deg, draws)
    centre = fit.green(spot).turned(turn)
    if turf is not None:
        centre = replace(centre, turf=turf)
    return GroundBatch(ground=centre, values=turned_values(fit.greens(spot, draws, seed), turn))


class CourseFit(GreenFit, Protocol):
    """What a plan needs of a fit of green, turf and player together."""

    def joint_draws(self, spot: str, n: int, seed: Any) -> Any:
        """Return draws of everything, aligned."""

    def player(self) -> Player:
        """Return the estimated player."""

    def lies(self) -> dict[str, Lie]:
        """Return the estimated lies."""


def course_draws(
    fit: CourseFit,
    spot: str,
    *,
    heading_deg: float = 0.0,
    bag: Mapping[str, Club] = BAG,
    draws: int = 200,
    seed: int | np.random.Generator = 0,
) -> CourseDraws:
    """Return a fitted course and player with all that the fit leaves open, seen along a line of play.

    Parameters
    ----------
    fit : CourseFit
        What `golfphys.fit_course` returned.
    spot : str
        Which of its spots.
    heading_deg : float
        Heading of the line from ball to pin on the sheet's compass: degrees clockwise from its reference line.
    bag : mapping of str to Club
        The clubs that will be asked about, with the lofts they are taken to have.
    draws : int
        How many draws.
    seed : int or numpy.random.Generator
        The same seed gives the same draws.

    Returns
    -------
    CourseDraws
        What `golfphys.plan_chip` and all that follows from it take in place of a green.

    Raises
    ------
    ValueError
        If the fit does not know the spot, or `heading_deg` or `draws` make no sense.

    Notes
    -----
    A mean error of her carries over their aim, which the fit reports, is left to the player to correct: a plan says
    where the ball should land. Scatter of the run that is not the player's is not carried on.

    Examples
    --------
    >>> from golfphys.fitting.joint import fit_course
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = fit_course(make_rollouts(truth, RolloutDesign(repeats=2), 1), draws=400)
    >>> course_draws(fit, "home-left", draws=50).size
    50
    """
    turn = _turn(heading_deg, draws)
    drawn = fit.joint_draws(spot, draws, seed)
    values = turned_values({**drawn.green, **drawn.turf}, turn)
    return CourseDraws(
        ground=GroundBatch(ground=fit.green(spot).turned(turn), values=values),
        player=fit.player(),
        lies=fit.lies(),
        delivery=drawn.delivery,
        lie=drawn.lies,
        scatter=drawn.scatter,
        aerodynamics=drawn.aerodynamics,
        loft={name: drawn.clubs[name]["loft"] - club.loft for name, club in bag.items() if name in drawn.clubs},
    )


def _turn(heading_deg: float, draws: int) -> float:
    """Return the angle in rad, anticlockwise, from the sheet's reference line to the line of play."""
    if not math.isfinite(heading_deg):
        raise ValueError(f"heading_deg is {heading_deg!r}; expected degrees clockwise from the sheet's reference line")
    if draws < 1:
        raise ValueError(f"draws is {draws!r}; expected at least 1")
    # the sheet's compass runs clockwise, directions of a green anticlockwise
    return -math.radians(heading_deg)


def turned_values(values: Mapping[str, Any], angle: float) -> dict[str, Any]:
    """Return values of a green seen along a line of play turned by `angle` rad anticlockwise."""
    directions = ("fall_direction", "grain_direction")
    return {name: np.asarray(value, float) - angle if name in directions else value for name, value in values.items()}


def seen_along(green: AnyGreen, angle: float) -> AnyGreen:
    """Return a green, with its draws if it has any, seen along a line of play turned by `angle` rad anticlockwise."""
    if isinstance(green, Green):
        return green.turned(angle)
    if isinstance(green, GroundBatch):
        return _batch_along(green, angle)
    return replace(green, ground=_batch_along(green.ground, angle))


def _batch_along(green: GroundBatch, angle: float) -> GroundBatch:
    return GroundBatch(ground=green.green.turned(angle), values=turned_values(green.values, angle))
