"""The strike: from club, delivery and lie to the launch of the ball."""

from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.core.broadcasting import broadcast, plain
from golfphys.formulas.flight import launch_of_motion
from golfphys.formulas.impact import impact
from golfphys.formulas.strike import face_normal
from golfphys.physics.club import Club, Delivery, Launch, Lie


def launch_from(
    club: Club,
    delivery: Delivery,
    lie: Lie,
    *,
    ball: Ball | None = None,
    tangential_restitution: float = constants.FACE_TANGENTIAL_RESTITUTION.value,
) -> Launch:
    """Return the launch that a strike gives: an oblique impact of the face on a ball at rest.

    The delivery's fields broadcast against each other, and so do friction and cushion of a lie that has arrays of them.

    Parameters
    ----------
    club : Club
        Loft, head mass and lie angle are used.
    delivery : Delivery
        Head speed (m/s), attack, shaft lean and face opening (rad).
    lie : Lie
        Friction and cushion are used.
    ball : Ball, optional
        The rules' ball if left out.
    tangential_restitution : float
        Part of the slip at the face returned when the face grips; the default follows from a rule for spin.

    Returns
    -------
    Launch
        Floats for a delivery of floats, arrays otherwise.

    Raises
    ------
    ValueError
        If `tangential_restitution` is not within 0 and 1.

    Notes
    -----
    Model: rigid impact with friction, gripping or slipping (Cross, Am. J. Phys. 70, 1093, 2002), with restitution
    0.86 - 0.0029 u in the normal impact speed u (Penner 2001, from memory). The impact is central: strikes off the
    middle of the face are not modelled.

    Examples
    --------
    >>> from golfphys.physics.club import BAG, LIES
    >>> launch = launch_from(BAG["sand wedge"], Delivery(speed=10.0), LIES["tight"])
    >>> round(launch.speed, 1), round(launch.angle, 2), round(launch.backspin)
    (10.4, 0.58, 286)
    """
    if not 0.0 <= tangential_restitution <= 1.0:
        raise ValueError(f"tangential_restitution is {tangential_restitution!r}; expected a number from 0 to 1")
    ball = ball or Ball()
    mass_ratio = ball.mass / club.head_mass

    def law(
        speed: float,
        attack_cosine: float,
        attack_sine: float,
        lean: float,
        opening: float,
        friction: float,
        cushion: float,
    ) -> tuple[float, ...]:
        normal = face_normal(club.loft, lean, opening, club.lie_angle)
        head_x, head_z = speed * attack_cosine, speed * attack_sine
        approach = max(0.0, head_x * normal[0] + head_z * normal[2])
        restitution = face_restitution(approach) * (1.0 - cushion)
        # seen from the moving face the ball comes with minus the head's velocity
        vx, vy, vz, sx, sy, sz = impact(
            *(-head_x, 0.0, -head_z),
            *(0.0, 0.0, 0.0),
            *normal,
            *(restitution, friction, tangential_restitution, mass_ratio, ball.radius, ball.inertia),
        )
        return launch_of_motion(vx + head_x, vy, vz + head_z, sx, sy, sz)

    attack: Any = delivery.attack
    return Launch(
        *broadcast(
            law,
            *(delivery.speed, np.cos(attack), np.sin(attack), delivery.shaft_lean, delivery.face_opening),
            *(lie.friction, lie.cushion),
        )
    )


def face_restitution(approach_speed: ArrayLike) -> Any:
    """Return the coefficient of restitution of ball on face at a normal impact speed in m/s.

    Parameters
    ----------
    approach_speed : float or array_like
        m/s, not negative.

    Returns
    -------
    float or ndarray
        0.86 - 0.0029 u, kept above 0 (Penner 2001, from memory).

    Examples
    --------
    >>> round(face_restitution(10.0), 3)
    0.831
    """
    slope = constants.FACE_RESTITUTION_LINEAR.value
    return plain(np.maximum(0.0, constants.FACE_RESTITUTION.value + slope * np.asarray(approach_speed, dtype=float)))


def delivered_loft(club: Club, delivery: Delivery) -> Any:
    """Return the loft of the face at impact in rad: static loft less lean, more with an open face.

    Parameters
    ----------
    club : Club
        Loft and lie angle are used.
    delivery : Delivery
        Shaft lean and face opening are used; they broadcast.

    Returns
    -------
    float or ndarray
        Angle of the face's normal above the horizontal.

    Examples
    --------
    >>> from golfphys.physics.club import BAG
    >>> round(float(np.degrees(delivered_loft(BAG["sand wedge"], Delivery(speed=10.0)))), 1)
    47.0
    """

    def law(lean: float, opening: float) -> float:
        return face_normal(club.loft, lean, opening, club.lie_angle)[2]

    return plain(np.arcsin(np.clip(broadcast(law, delivery.shaft_lean, delivery.face_opening), -1.0, 1.0)))
