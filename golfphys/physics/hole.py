"""The hole: which ball it takes. Whether a shot or a roll drops, `simulate` and `roll` tell from the path itself.

The flagstick is out. Two laws of capture: ``"far rim"``, the published law for a ball that may use the far rim, and
``"free fall"``, the derived one for a ball that falls past the near rim and touches nothing on the way.
"""

from typing import Any, Literal

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.core.broadcasting import broadcast, elementwise, plain
from golfphys.formulas import hole as formulas

CaptureLaw = Literal["far rim", "free fall"]
CAPTURE_LAWS: tuple[CaptureLaw, ...] = ("far rim", "free fall")


def capture_speed(
    offset: ArrayLike,
    *,
    law: CaptureLaw = "far rim",
    ball: Ball | None = None,
    hole_radius: float = constants.HOLE_RADIUS.value,
    centre_capture_speed: float = constants.FAR_RIM_CAPTURE_SPEED.value,
    gravity: float = constants.GRAVITY.value,
) -> Any:
    """Return the fastest speed in m/s at the near rim with which the hole takes a ball; 0 where it takes none.

    Raises a ValueError if `law` is not known, or the ball is not smaller than the hole. Far rim: Holmes, Am. J. Phys.
    59, 129 (1991); off centre Penner, Can. J. Phys. 80, 83 (2002); both from memory. Free fall: derived in
    ``golfphys/derivations/hole.py``; at the centre (2R - r) sqrt(g/2r), as both papers have it. A ball that is nearly
    still topples in from anywhere over the hole: the free-fall law leaves that out.

    Parameters
    ----------
    offset : float or array_like
        Least distance of the ball's path from the centre of the hole, m; the sign does not matter.
    law : {"far rim", "free fall"}
        ``"far rim"``: the published 1.63 m/s at the centre, falling as 1 - (offset/R)^2. ``"free fall"``: the ball
        falls its own radius before its side reaches the rim; nothing is taken within a ball's radius of the edge.
    ball : Ball, optional, its radius enters the free fall; the default ball if left out
    hole_radius : float, radius of the hole, m
    centre_capture_speed : float, speed captured at the centre under ``"far rim"``, m/s
    gravity : float, acceleration of free fall, m/s^2

    Examples
    --------
    >>> round(capture_speed(0.0), 2), round(capture_speed(0.0, law="free fall"), 3)
    (1.63, 1.314)
    """
    if law not in CAPTURE_LAWS:
        raise ValueError(f"law is {law!r}; expected one of {', '.join(repr(known) for known in CAPTURE_LAWS)}")
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
    """Tell whether the hole takes a ball that rolls over it: flagstick out, the green level at the hole.

    Parameters
    ----------
    speed : float or array_like, speed of the ball at the near rim, m/s
    offset : float or array_like, least distance of its path from the centre of the hole, m; broadcast against `speed`
    law, ball, hole_radius, gravity : as for `capture_speed`

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
    """Return the fastest centred ball, m/s, that a dead far rim turns back: derived beside the published speed.

    A rim that `grips` holds the ball where it strikes, which turns about it; one that does not is smooth. A real rim is
    between the two and gives a little of the blow back. Derived in ``golfphys/derivations/hole.py``.

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
