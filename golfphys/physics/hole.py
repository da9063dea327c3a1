"""The hole: which ball it takes, and whether a ball rolling by on a plane green passes near and slowly enough.

The flagstick is out. Two laws of capture: ``"far rim"``, the published law for a ball that may use the far rim, and
``"free fall"``, the derived one for a ball that falls past the near rim and touches nothing on the way.
"""

from dataclasses import dataclass
from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.core.broadcasting import broadcast, elementwise, plain
from golfphys.formulas import hole as formulas
from golfphys.formulas.rolling import deceleration

CaptureLaw = Literal["far rim", "free fall"]
CAPTURE_LAWS: tuple[CaptureLaw, ...] = ("far rim", "free fall")
Floats = NDArray[np.float64]

_NEVER_LEVEL = 0.02  # least net resistance, over rolling resistance, that the drift formula is asked about
_LEVEL = 1e-4  # grade over resistance below which ground counts as level along the path (drift error as small)


def capture_speed(
    offset: ArrayLike,
    *,
    law: CaptureLaw = "far rim",
    ball: Ball | None = None,
    hole_radius: float = constants.HOLE_RADIUS.value,
    centre_capture_speed: float = constants.FAR_RIM_CAPTURE_SPEED.value,
    gravity: float = constants.GRAVITY.value,
) -> Any:
    """Return the fastest speed at the near rim with which the hole takes a ball.

    Parameters
    ----------
    offset : float or array_like
        Least distance of the ball's path from the centre of the hole, m; the sign does not matter.
    law : {"far rim", "free fall"}
        ``"far rim"``: the published 1.63 m/s at the centre, falling as 1 - (offset/R)^2. ``"free fall"``: the ball
        falls its own radius before its side reaches the rim; nothing is taken within a ball's radius of the edge.
    ball : Ball, optional
        Its radius enters the free fall; the default ball if left out.
    hole_radius : float
        Radius of the hole, m.
    centre_capture_speed : float
        Speed captured at the centre under ``"far rim"``, m/s.
    gravity : float
        Acceleration of free fall, m/s^2.

    Returns
    -------
    float or ndarray
        Speed in m/s, of the shape of `offset`; 0 where the law takes no ball.

    Raises
    ------
    ValueError
        If `law` is not known, or the ball is not smaller than the hole.

    Notes
    -----
    Far rim: Holmes, Am. J. Phys. 59, 129 (1991); off centre Penner, Can. J. Phys. 80, 83 (2002); both from memory.
    Free fall: derived in ``golfphys/derivations/hole.py``; at the centre (2R - r) sqrt(g/2r), as both papers have it.
    A ball that is nearly still topples in from anywhere over the hole: the free-fall law leaves that out.

    Examples
    --------
    >>> round(capture_speed(0.0), 2), round(capture_speed(0.0, law="free fall"), 3)
    (1.63, 1.314)
    """
    _check_law(law)
    offset = np.asarray(offset, dtype=float)
    if law == "far rim":
        return plain(elementwise(formulas.far_rim_capture_speed)(offset, hole_radius, centre_capture_speed))
    radius = (ball or Ball()).radius
    if not radius < hole_radius:
        raise ValueError(f"ball radius is {radius!r} m; expected one smaller than the hole's, {hole_radius!r} m")
    # one by one, for the law has cases: only where it can take a ball
    speed = np.zeros(offset.shape)
    over = np.abs(offset) < hole_radius - radius
    speed[over] = broadcast(formulas.free_fall_capture_speed, offset[over], hole_radius, radius, gravity)
    return plain(speed)


def captured(
    speed: ArrayLike,
    offset: ArrayLike,
    *,
    law: CaptureLaw = "far rim",
    ball: Ball | None = None,
    hole_radius: float = constants.HOLE_RADIUS.value,
    gravity: float = constants.GRAVITY.value,
) -> Any:
    """Tell whether the hole takes a ball that rolls over it.

    Parameters
    ----------
    speed : float or array_like
        Speed of the ball at the near rim, m/s.
    offset : float or array_like
        Least distance of its path from the centre of the hole, m; broadcast against `speed`.
    law : {"far rim", "free fall"}
        Law of capture, as for `capture_speed`.
    ball : Ball, optional
        The ball; the default ball if left out.
    hole_radius, gravity : float
        Radius of the hole, m; acceleration of free fall, m/s^2.

    Returns
    -------
    bool or ndarray of bool
        True where the ball is over the hole and not too fast.

    Raises
    ------
    ValueError
        If `law` is not known.

    Notes
    -----
    Sources as for `capture_speed`. Flagstick out; the green level at the hole.

    Examples
    --------
    >>> captured(1.5, 0.0), captured(1.5, 0.0, law="free fall"), captured(0.5, 0.055)
    (True, False, False)
    """
    limit = capture_speed(offset, law=law, ball=ball, hole_radius=hole_radius, gravity=gravity)
    return plain((np.asarray(speed) <= limit) & (limit > 0) & (np.abs(np.asarray(offset)) < hole_radius))


def dead_rim_capture_speed(
    *,
    grips: bool = True,
    ball: Ball | None = None,
    hole_radius: float = constants.HOLE_RADIUS.value,
    gravity: float = constants.GRAVITY.value,
) -> float:
    """Return the fastest centred ball that a dead far rim turns back, the derived companion of the published speed.

    Parameters
    ----------
    grips : bool
        True: the rim holds the ball where it strikes, which turns about it. False: the rim is smooth.
    ball : Ball, optional
        The ball; the default ball if left out.
    hole_radius, gravity : float
        Radius of the hole, m; acceleration of free fall, m/s^2.

    Returns
    -------
    float
        Speed at the near rim, m/s.

    Notes
    -----
    Derived in ``golfphys/derivations/hole.py``: a real rim is between the two, and gives a little of the blow back.

    Examples
    --------
    >>> round(dead_rim_capture_speed(), 3), round(dead_rim_capture_speed(grips=False), 3)
    (1.605, 1.864)
    """
    from scipy.optimize import brentq

    ball = ball or Ball()

    def margin(contact_angle: float) -> float:
        strike = formulas.dead_rim_strike(contact_angle, hole_radius, ball.radius, gravity, ball.inertia)
        return strike[1 if grips else 2]

    # struck level with the centre the ball drops; struck near its foot it hardly notices the rim
    angle = float(brentq(margin, 1e-6, 1.2, xtol=1e-12))
    return float(formulas.dead_rim_strike(angle, hole_radius, ball.radius, gravity, ball.inertia)[0])


@dataclass(frozen=True, kw_only=True)
class HolePass:
    """How rolling balls pass the hole; arrays of one shape.

    Parameters
    ----------
    offset : ndarray
        Least distance of the path from the centre of the hole, m, positive when the ball passes to the left of it.
        Infinite where the hole lies behind the ball.
    speed : ndarray
        Speed at the near rim (abreast of the hole if the path misses it), m/s; NaN where the ball stops before it.
    captured : ndarray of bool
        Whether the hole takes the ball.
    """

    offset: Floats
    speed: Floats
    captured: NDArray[np.bool_]


def pass_hole(
    start_x: ArrayLike,
    start_y: ArrayLike,
    velocity_x: ArrayLike,
    velocity_y: ArrayLike,
    hole_x: ArrayLike,
    hole_y: ArrayLike,
    *,
    resistance: ArrayLike,
    grade: ArrayLike = 0.0,
    fall_direction: ArrayLike = 0.0,
    law: CaptureLaw = "far rim",
    ball: Ball | None = None,
    hole_radius: float = constants.HOLE_RADIUS.value,
    gravity: float = constants.GRAVITY.value,
) -> HolePass:
    """Follow balls from where they begin to roll until they are abreast of the hole.

    Each ball keeps its first direction and slows evenly along it; cross slope moves it aside to first order. That
    serves to count holed chips: on a cross slope of 3 % it misplaces the path by 3 mm over 5 m and 15 mm over 10 m,
    and the speed by 1 and 2 %. Where speed changes the resistance, give the resistance of a typical speed.

    Parameters
    ----------
    start_x, start_y : float or array_like
        Where the ball begins to roll, m.
    velocity_x, velocity_y : float or array_like
        Velocity there, m/s.
    hole_x, hole_y : float or array_like
        Centre of the hole, m.
    resistance : float or array_like
        Coefficient of rolling resistance.
    grade : float or array_like
        Steepest slope of the green, rise over run.
    fall_direction : float or array_like
        Direction in which the ground falls, rad, anticlockwise from the x axis.
    law : {"far rim", "free fall"}
        Law of capture.
    ball : Ball, optional
        The ball; the default ball if left out.
    hole_radius, gravity : float
        Radius of the hole, m; acceleration of free fall, m/s^2.

    Returns
    -------
    HolePass
        Arrays of the broadcast shape.

    Raises
    ------
    ValueError
        If `law` is not known or a resistance is not positive.

    Notes
    -----
    Drift: derived in ``golfphys/derivations/hole.py``. Capture: as for `capture_speed`. A ball that begins to roll
    inside the hole's circle counts as at the near rim.

    Examples
    --------
    >>> result = pass_hole(0.0, 0.0, [1.4, 2.0, 3.0], 0.0, 2.0, 0.0, resistance=0.08)
    >>> result.captured
    array([False,  True, False])
    """
    _check_law(law)
    ball = ball or Ball()
    given = (start_x, start_y, velocity_x, velocity_y, hole_x, hole_y, resistance, grade, fall_direction)
    x, y, vx, vy, to_x, to_y, friction, steepest, fall = np.broadcast_arrays(*(np.asarray(v, float) for v in given))
    if not np.all(friction > 0):
        raise ValueError(
            f"resistance is {float(np.min(friction))!r}; expected a positive coefficient of rolling resistance"
        )
    speed, heading = np.hypot(vx, vy), np.arctan2(vy, vx)
    ahead = (to_x - x) * np.cos(heading) + (to_y - y) * np.sin(heading)
    aside = (to_y - y) * np.cos(heading) - (to_x - x) * np.sin(heading)
    climb = -steepest * np.cos(fall - heading)
    slowing = elementwise(deceleration)(friction, climb, gravity, ball.inertia)
    abreast = _speed_after(speed, slowing, ahead)
    cross = steepest * np.sin(fall - heading)
    drift, sideways = _drift(speed, abreast, friction, climb, cross, gravity, ball.inertia)
    inside = np.hypot(to_x - x, to_y - y) < hole_radius
    # the path has turned by the time it is abreast of the hole: the offset is measured square to it
    straightness = np.cos(np.arctan2(sideways, np.maximum(np.nan_to_num(abreast, nan=1.0), 1e-9)))
    offset = np.where((ahead > 0) | inside, (drift - aside) * straightness, np.inf)
    half_chord = np.sqrt(np.maximum(hole_radius**2 - np.minimum(np.abs(offset), hole_radius) ** 2, 0.0))
    at_rim = _speed_after(speed, slowing, np.maximum(ahead - half_chord, 0.0))
    # energy: what the drift falls by, less the friction of a path longer than straight (as a parabola is)
    longer = 2.0 / 3.0 * drift**2 / np.maximum(np.abs(ahead), hole_radius)
    gained = 2.0 * gravity / (1.0 + ball.inertia) * (cross * drift - friction * longer)
    at_rim = np.where(np.isfinite(offset), np.sqrt(np.maximum(at_rim**2 + gained, 0.0)), np.nan)
    limit = capture_speed(offset, law=law, ball=ball, hole_radius=hole_radius, gravity=gravity)
    return HolePass(offset=offset, speed=at_rim, captured=(at_rim <= limit) & (np.abs(offset) < hole_radius))


def holed(*arguments: Any, **options: Any) -> Any:
    """Tell whether balls rolling by are holed: `pass_hole`, keeping only its answer.

    Parameters
    ----------
    *arguments, **options
        As for `pass_hole`.

    Returns
    -------
    bool or ndarray of bool
        True where the hole takes the ball.

    Notes
    -----
    Model and its limits: see `pass_hole`.

    Examples
    --------
    >>> holed(0.0, 0.0, 2.0, 0.0, 2.0, 0.02, resistance=0.08)
    True
    """
    return plain(pass_hole(*arguments, **options).captured)


def leave(rest_x: ArrayLike, rest_y: ArrayLike, hole_x: ArrayLike, hole_y: ArrayLike, holed: ArrayLike = False) -> Any:
    """Return the distance left to the hole.

    Parameters
    ----------
    rest_x, rest_y : float or array_like
        Where the ball comes to rest (or would, were there no hole), m.
    hole_x, hole_y : float or array_like
        Centre of the hole, m.
    holed : bool or array_like of bool
        Where True the leave is 0.

    Returns
    -------
    float or ndarray
        Distance in m, of the broadcast shape.

    Notes
    -----
    Model: plane geometry; distances along the ground.

    Examples
    --------
    >>> leave([3.0, 3.0], [0.0, 0.0], 0.0, 4.0, holed=[False, True])
    array([5., 0.])
    """
    distance = np.hypot(np.asarray(rest_x) - np.asarray(hole_x), np.asarray(rest_y) - np.asarray(hole_y))
    return plain(np.where(np.asarray(holed, bool), 0.0, distance))


def _check_law(law: str) -> None:
    if law not in CAPTURE_LAWS:
        raise ValueError(f"law is {law!r}; expected one of {', '.join(repr(known) for known in CAPTURE_LAWS)}")


def _speed_after(speed: Floats, slowing: Floats, distance: Floats) -> Floats:
    """Speed after a distance of even slowing, NaN where the ball has stopped."""
    squared = speed**2 - 2.0 * slowing * distance
    return np.where(squared >= 0, np.sqrt(np.maximum(squared, 0.0)), np.nan)


def _drift(
    speed: Floats, there: Floats, friction: Floats, climb: Floats, cross: Floats, gravity: float, inertia: float
) -> tuple[Floats, Floats]:
    """Drift and speed to the left when the ball is abreast, by whichever closed form holds on its grade."""
    # a ball that stops short has all its drift; the formulas need a speed greater than 0
    there = np.maximum(np.nan_to_num(there, nan=0.0), 1e-9)
    speed = np.maximum(speed, 1e-6)
    level = np.abs(climb) < _LEVEL * friction
    # where the ground cancels the resistance the formula is singular and its neighbours are close enough
    net = friction + climb
    least = _NEVER_LEVEL * friction
    safe = np.where(np.abs(net) < least, np.copysign(least, net), net) - friction
    safe = np.where(level, 0.1 * friction, safe)
    on_grade = elementwise(formulas.side_drift)(speed, there, friction, safe, cross, gravity, inertia)
    on_level = elementwise(formulas.side_drift_level)(speed, there, friction, cross, gravity, inertia)
    return np.where(level, on_level[0], on_grade[0]), np.where(level, on_level[1], on_grade[1])
