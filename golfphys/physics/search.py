"""The search for the speed that lands a ball where it is to land, over any ground and through any air."""

from collections.abc import Callable
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core.ball import Ball
from golfphys.core.broadcasting import plain
from golfphys.physics.club import Launch
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground
from golfphys.physics.shot import batch_of, play_all

Floats = NDArray[np.float64]

CLOSE = 1e-5
"""Miss in m at which the search ends."""
MOST_TRIES = 60
SLOWEST, FASTER = 0.3, (12.0, 25.0, 40.0, 70.0)
"""Speeds in m/s between which is searched: the first of the faster ones that lands beyond is the upper end."""


def speed_to_land(
    landing_x: ArrayLike,
    launch_of: Callable[[Floats], Launch],
    ground: Green | Ground,
    *,
    ball: Ball | None = None,
    air: Air | None = None,
    aerodynamics: Aerodynamics | None = None,
) -> Any:
    """Return the speed with which balls first land at a distance along the line of play.

    Bracketed secant steps (the Illinois method) on the root of the distance, which is nearly even in speed; every step
    is one batch of flights.

    Parameters
    ----------
    landing_x : float or array_like
        Where the ball is to land, m along the ground.
    launch_of : callable
        Speeds (of the head, or of the ball: whatever is sought) to the launch that each gives, in the shape of the
        speeds; a faster one must land farther.
    ground : Green or Ground
        Where it lands; its numbers may be arrays.
    ball, air, aerodynamics
        As for `golfphys.simulate`.

    Returns
    -------
    float or ndarray
        Speed in m/s, of the broadcast shape of landing, launch, ground and air; NaN where no speed from 0.3 to 70 m/s
        lands there. Where the landing jumps (a ball just over the lip of a bank), the speed of the jump.

    Examples
    --------
    >>> green = Green.from_stimp(10.0)
    >>> speed = speed_to_land([5.0, 10.0], lambda ball_speed: Launch(ball_speed, 0.6, 250.0), green)
    >>> speed.round(2)
    array([ 7.36, 10.56])
    """
    things = {"ball": ball, "air": air, "aerodynamics": aerodynamics}
    asked = np.asarray(landing_x, dtype=float)
    shape = np.broadcast_shapes(asked.shape, batch_of(launch_of(np.ones(asked.shape)), ground, **things).shape)  # type: ignore[arg-type]
    wanted = np.sqrt(np.maximum(np.broadcast_to(asked, shape), 0.0))

    def miss(speed: Floats) -> Floats:
        batch = replace(batch_of(launch_of(speed), ground, **things), hops=0)  # type: ignore[arg-type]
        landed = np.asarray(play_all(batch).landing_x, dtype=float)
        # a ball that does not come down lands beyond everything
        return np.asarray(np.nan_to_num(np.sign(landed) * np.sqrt(np.abs(landed)), nan=1e3, posinf=1e3) - wanted)

    return plain(np.where(wanted > 0.0, _root(miss, shape), np.nan))


def _root(miss: Callable[[Floats], Floats], shape: tuple[int, ...]) -> Floats:
    """Root of a rising function in every element, NaN where it is not bracketed; `miss` is in the root of metres."""
    low, high = np.full(shape, SLOWEST), np.full(shape, FASTER[0])
    below, above = miss(low), miss(high)
    for faster in FASTER[1:]:
        short = above < 0.0
        if not np.any(short):
            break
        low, below = np.where(short, high, low), np.where(short, above, below)
        high = np.where(short, faster, high)
        above = miss(high)
    bracketed = (below <= 0.0) & (above >= 0.0)
    side = np.zeros(low.shape)
    found = 0.5 * (low + high)
    for number in range(MOST_TRIES):
        with np.errstate(divide="ignore", invalid="ignore"):
            secant = (low * above - high * below) / (above - below)
        # now and then the middle, so that a jump or a far end does not hold the secant up
        halve = (number % 8 == 7) | ~np.isfinite(secant) | (above > 100.0)
        found = np.where(halve, 0.5 * (low + high), np.clip(secant, low, high))
        left = miss(found)
        if np.all(~bracketed | (np.abs(left) < CLOSE / 10.0) | (high - low < 1e-9)):
            break
        short = left < 0.0
        low, high = np.where(short, found, low), np.where(short, high, found)
        below, above = np.where(short, left, below), np.where(short, above, left)
        # Illinois: an end that stays counts half, so that the other one moves
        above = np.where(short & (side < 0), 0.5 * above, above)
        below = np.where(~short & (side > 0), 0.5 * below, below)
        side = np.where(short, -1.0, 1.0)
    return np.asarray(np.where(bracketed, found, np.nan))
