"""From a fit to the draws that a plan is made on, seen along the line of play."""

import math
from typing import Any

import numpy as np

from golfphys.physics.draws import Draws


def course_draws(
    fit: Any, spot: str, *, heading_deg: float = 0.0, draws: int = 256, seed: int | np.random.Generator = 0
) -> Draws:
    """Return a fit's draws at a spot, seen along a line of play; what it did not measure comes from its prior.

    Parameters
    ----------
    fit : CourseFit
        What `golfphys.fit` returned.
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

    Notes
    -----
    A habit of carrying beyond the aim, or of starting beside it, is hers to correct: a plan says where the ball should
    go, and in its cautions how to aim for that.

    Examples
    --------
    >>> import golfphys
    >>> from golfphys import Green
    >>> from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0, grade=0.02)})
    >>> fit = golfphys.fit(make_rollouts(truth, RolloutDesign(repeats=2), 1))
    >>> known = course_draws(fit, "home-left", heading_deg=90.0, draws=50)
    >>> len(known), known.logged.chips
    (50, 0)
    """
    if not math.isfinite(heading_deg):
        raise ValueError(f"heading_deg is {heading_deg!r}; expected degrees clockwise from the sheet's reference line")
    if draws < 1:
        raise ValueError(f"draws is {draws!r}; expected at least 1")
    # the sheet's compass runs clockwise, directions of a green anticlockwise
    found: Draws = fit.draws(spot, draws, seed)
    return found.turned(-math.radians(heading_deg))
