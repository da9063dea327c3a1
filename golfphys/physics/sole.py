"""The sole at impact: how much bounce the delivery leaves, and how far the low point of the swing may err.

The geometry is derived in ``golfphys/derivations/impact.py``: a rigid sole on a circular arc, carried in part by the
soil. How bad a strike outside the window gets is `golfphys.physics.strike.strike`'s.
"""

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from golfphys.core.ball import Ball
from golfphys.core.broadcasting import broadcast, plain
from golfphys.formulas.impact import bounce_left, face_contact_height, low_point_of_attack, sole_room
from golfphys.formulas.impact import low_point_window as window_formula
from golfphys.physics.club import Club, Delivery, Lie
from golfphys.physics.strike import ARC_RADIUS, delivered_loft


@dataclass(frozen=True, kw_only=True)
class LowPointWindow:
    """How far the low point of a swing may err along the line; floats, or arrays for many deliveries.

    The swing meant has its lowest point `low_point` m ahead of the ball. Errors, m, are positive towards the target:
    below `dig` (negative: too far back) the leading edge digs before the ball, or where no error makes it dig, the
    rising head thins the ball; above `thin` the leading edge meets the ball too high. `effective_bounce` is the bounce
    angle as delivered, rad; negative where the leading edge leads.
    """

    low_point: Any
    dig: Any
    thin: Any
    effective_bounce: Any

    @property
    def room(self) -> Any:
        """Width of the window in m; 0 where even the swing meant does not fit."""
        return plain(np.maximum(0.0, np.asarray(self.thin) - np.asarray(self.dig)))

    @property
    def fits(self) -> Any:
        """Whether the swing meant is itself inside the window."""
        return plain((np.asarray(self.dig) < 0) & (np.asarray(self.thin) > 0))


def effective_bounce(club: Club, delivery: Delivery) -> Any:
    """Return the bounce angle as delivered, in rad: less by the shaft's lean, more with an open face.

    Parameters
    ----------
    club, delivery : Club, Delivery, whose bounce, lie angle, shaft lean and face opening are used; they broadcast

    Examples
    --------
    Eight degrees of lean leave three of eleven (golfphys/derivations/impact.py):

    >>> from golfphys.physics.club import BAG
    >>> left = effective_bounce(BAG["sand wedge"], Delivery(speed=8.0))
    >>> round(float(np.degrees(left)), 1)
    3.0
    """
    return broadcast(bounce_left, club.bounce, delivery.shaft_lean, delivery.face_opening, club.lie_angle)


def low_point_window(
    club: Club, delivery: Delivery, lie: Lie, *, arc_radius: float = ARC_RADIUS, ball: Ball | None = None
) -> LowPointWindow:
    """Return how far the low point may err before the leading edge digs or the ball is thinned.

    The swing meant brings the leading edge to the ball at the height that the delivery aims at. Model: geometry of a
    rigid sole on a circular arc, golfphys/derivations/impact.py; no published figures.

    Parameters
    ----------
    club : Club, its loft, bounce, sole width and lie angle are used
    delivery : Delivery, attack, shaft lean, face opening and aim are used
    lie : Lie, how far the soil gives under the sole, and how high the ball sits
    arc_radius : float, radius of the arc of the head, m
    ball : Ball, optional, the rules' ball if left out

    Examples
    --------
    Leaning the shaft on a tight lie leaves less room behind the ball:

    >>> from golfphys.physics.club import BAG, LIES
    >>> little = low_point_window(BAG["sand wedge"], Delivery(speed=8.0, shaft_lean=0.05, attack=-0.1), LIES["tight"])
    >>> much = low_point_window(BAG["sand wedge"], Delivery(speed=8.0, shaft_lean=0.17, attack=-0.1), LIES["tight"])
    >>> little.dig < much.dig < 0.0
    True
    """
    if not arc_radius > 0:
        raise ValueError(f"arc_radius is {arc_radius!r}; expected a positive length in m")
    radius = (ball or Ball()).radius
    low_point = broadcast(low_point_of_attack, delivery.attack, arc_radius)
    left = effective_bounce(club, delivery)
    rise, upright = (np.sin(delivered_loft(club, swing)) for swing in (delivery, replace(delivery, shaft_lean=0.0)))
    reach = broadcast(face_contact_height, rise, lie.ball_height, radius)
    _, depth = broadcast(sole_room, left, club.sole_width, lie.give)
    edge = np.asarray(delivery.edge_aim) * broadcast(face_contact_height, upright, lie.ball_height, radius)
    dig, thin = broadcast(window_formula, low_point, arc_radius, edge, depth, reach)
    return LowPointWindow(low_point=low_point, dig=dig, thin=thin, effective_bounce=left)
