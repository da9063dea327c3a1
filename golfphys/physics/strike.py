"""The strike: from club, delivery and lie, with the player's errors, to the launch of the ball.

`strike` is the whole: an error of the swing becomes a clean, heavy or thin strike by the geometry of a rigid sole on a
circular arc, soil and ball (golfphys/derivations/impact.py), and that a launch. `launch_from` is the clean strike
alone, the impact of the face; `low_point_window` is how far the low point of the swing may err.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from enum import IntEnum
from typing import Any

import numpy as np
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast, in_threads, plain, require_kinds
from golfphys.core.constants import Ball
from golfphys.core.law import callable_when_compiled, fixed, kept
from golfphys.formulas import flight, impact
from golfphys.physics.club import REFERENCE_SPEED, Club, Delivery, Launch, Lie, StrikeErrors

# arms and club: radius of the arc of a wedge's head near its lowest point, m; common practice, no source
ARC_RADIUS = 1.5
# mass of turf, kg for each square metre ploughed (depth times length), that the head is slowed by as if it had to set
# it moving: 5 mm deep over 60 mm halves a wedge's speed; judged, no source
TURF_DRAG = 1000.0
HEAVY_LOSS = 0.05  # fraction of the head speed lost to the turf from which a player calls a strike heavy; judged
THIN_TURN = math.radians(3.0)  # turn of the contact's normal under the face's from which she calls it thin; judged
LOFTS_THROUGH_GRASS = (0.3, 1.2)  # least and greatest loft delivered, rad, by which the grass before a ball is reckoned
LEAST_SPEED = 0.05  # least fraction of the head speed meant that an error leaves
AT_ONCE = 4096  # most strikes worked out by one call of the loop
_REST, _REST_LINEAR = constants.FACE_RESTITUTION.value, constants.FACE_RESTITUTION_LINEAR.value
_GRIPPED = constants.FACE_TANGENTIAL_RESTITUTION.value


class Contact(IntEnum):
    """What a strike was."""

    CLEAN = 0
    HEAVY = 1
    THIN = 2


@dataclass(frozen=True, kw_only=True)
class Struck:
    """Strikes with their errors; arrays of the broadcast shape (`z` without its first axis), floats for a single one.

    Parameters
    ----------
    launch, contact : Launch and int or ndarray of int, how the ball leaves, over level ground, and a `Contact` for each
    edge : float or ndarray, height of the leading edge over the soil as it comes to the ball, m; negative under it
    speed_kept : float or ndarray, head speed left after ploughing turf, over that before

    Examples
    --------
    >>> from golfphys.physics.club import BAG, LIES, TOUR_ERRORS
    >>> strike(BAG["9-iron"], Delivery(speed=8.0), LIES["fairway"], np.zeros(6), TOUR_ERRORS).speed_kept
    1.0
    """

    launch: Launch
    contact: Any
    edge: Any
    speed_kept: Any


def face_restitution(approach_speed: float) -> float:
    """Return the coefficient of restitution of ball on face at a normal impact speed in m/s; a scalar law.

    It is 0.86 - 0.0029 u, kept above 0 (Penner 2001, from memory).

    >>> round(face_restitution(10.0), 3)
    0.831
    """
    return max(0.0, _REST + _REST_LINEAR * approach_speed)


def ball_motion(head_x: float, head_z: float, normal: Any, lie: Any, mass_ratio: float, body: Any) -> Any:
    """Velocity and spin of a ball at rest met by a head that moves at (head_x, 0, head_z).

    `lie` begins with friction and cushion; `body` is tangential restitution, mass, radius and inertia.
    """
    approach = max(0.0, head_x * normal[0] + head_z * normal[2])
    restitution = face_restitution(approach) * (1.0 - lie[1])
    # seen from the moving face the ball comes with minus the head's velocity
    vx, vy, vz, sx, sy, sz = impact.impact(
        *(-head_x, 0.0, -head_z, 0.0, 0.0, 0.0, normal[0], normal[1], normal[2]),
        *(restitution, lie[0], body[0], mass_ratio, body[2], body[3]),
    )
    return vx + head_x, vy, vz + head_z, sx, sy, sz


def clean_launch(*numbers: float) -> tuple[float, float, float, float, float]:
    """Launch (speed, angle, backspin, direction, sidespin) of a clean strike, from what `launch_from` takes."""
    (speed, attack, lean, opening), (loft, lie_angle, head_mass) = numbers[:4], numbers[4:7]
    lie, body = numbers[7:11], numbers[11:]
    normal = impact.face_normal(loft, lean, opening, lie_angle)
    head_x, head_z = speed * math.cos(attack), speed * math.sin(attack)
    motion = ball_motion(head_x, head_z, normal, lie, body[1] / head_mass, body)
    return flight.launch_of_motion(*impact.off_slope(*motion, *lie[2:]))


def struck_launch(swing: Any, wrong: Any, club: Any, lie: Any, world: Any) -> tuple[float, ...]:
    """Launch (5), contact, height of the edge (m) and speed kept of a strike with its errors; scalars, compiles.

    Each argument is a thing's numbers as a tuple, in the order of the first line that takes it apart.
    """
    speed, attack, lean, opening, edge_aim = swing
    speed_factor, direction_error, attack_error, lean_error, low_point_error, height_error = wrong
    loft, bounce, head_mass, sole_width, lie_angle = club
    _, _, give, ball_height, slope_along, slope_across = lie
    arc_radius, turf_drag, tangential_restitution, mass, radius, inertia = world
    # the height meant goes by the face with the shaft upright: leaning it is no reason to swing higher
    upright = impact.face_normal(loft, 0.0, opening, lie_angle)
    meant = edge_aim * impact.face_contact_height(upright[2], ball_height, radius)
    low_point = impact.low_point_of_attack(attack, arc_radius)
    edge = impact.edge_at_ball(meant, low_point, arc_radius, low_point_error, height_error)
    came = attack - low_point_error / arc_radius + attack_error
    # what the sole makes of it
    nx, ny, nz = impact.face_normal(loft, lean + lean_error, opening, lie_angle)
    left = impact.bounce_left(bounce, lean + lean_error, opening, lie_angle)
    brush, dig = impact.sole_room(left, sole_width, give)
    kept = impact.speed_kept_of_ploughed(impact.ploughed(edge, dig, math.sin(came), arc_radius), turf_drag, head_mass)
    edge = impact.carried_edge(edge, brush, dig)
    # where face or edge meets the ball
    normal = impact.struck_normal(nx, ny, nz, edge, ball_height, radius)
    left_speed = speed * speed_factor * kept
    head_x, head_z = left_speed * math.cos(came), left_speed * math.sin(came)
    body = (tangential_restitution, mass, radius, inertia)
    vx, vy, vz, sx, sy, sz = ball_motion(head_x, head_z, normal, lie, mass / head_mass, body)
    vx, vy, vz, sx, sy, sz = impact.off_slope(vx, vy, max(vz, 0.0), sx, sy, sz, slope_along, slope_across)
    ball_speed, angle, backspin, direction, sidespin = flight.launch_of_motion(vx, vy, vz, sx, sy, sz)
    contact = 0.0
    if math.asin(min(1.0, nz)) - math.asin(min(1.0, normal[2])) > THIN_TURN:
        contact = 2.0
    elif kept < 1.0 - HEAVY_LOSS:
        contact = 1.0
    return ball_speed, angle, backspin, direction + direction_error, sidespin, contact, edge, kept


callable_when_compiled(impact, flight.launch_of_motion)
callable_when_compiled(face_restitution, ball_motion, struck_launch)


def _loop_for(stamp: int) -> Callable[..., int]:
    def play(rows: NDArray[np.float64], out: NDArray[np.float64]) -> int:
        for i in range(rows.shape[0]):
            r = rows[i]
            swing, wrong, club = fixed(r[:5], 5), fixed(r[5:11], 6), fixed(r[11:16], 5)
            found = struck_launch(swing, wrong, club, fixed(r[16:22], 6), fixed(r[22:], 6))
            for column in range(8):
                out[i, column] = found[column]
        return stamp

    return play


strikes_loop = kept(_loop_for)  # gives the compiled loop over rows of what `strike` hands to the law


def strike(
    club: Club, delivery: Delivery, lie: Lie, z: ArrayLike, errors: StrikeErrors, *, ball: Ball | None = None
) -> Struck:
    """Return strikes with the player's errors: clean, heavy or thin, and the launch of each.

    Raises a ValueError if `z` has not six rows.

    Parameters
    ----------
    club, delivery, lie : Club, Delivery, Lie, the club, the swing meant, and how the ball lies
    z : array_like
        Errors over their standard deviations, shape (6, ...): head speed, direction, attack, shaft lean, low point
        along the line, height. Standard normal numbers; zeros for the strike as meant.
    errors : StrikeErrors, the standard deviations; what the lie adds is counted in
    ball : Ball, optional, the rules' ball if left out

    Examples
    --------
    A lob wedge off a tight lie, with the arc 5 mm too low, as meant, and 5 mm too high:

    >>> from golfphys.physics.club import BAG, LIES, TOUR_ERRORS
    >>> z = np.zeros((6, 3))
    >>> z[5] = np.array([-0.005, 0.0, 0.005]) / TOUR_ERRORS.height
    >>> struck = strike(BAG["lob wedge"], Delivery(speed=8.0), LIES["tight"], z, TOUR_ERRORS)
    >>> [Contact(int(number)).name for number in struck.contact]
    ['HEAVY', 'CLEAN', 'THIN']
    """
    ball = ball or Ball()
    things = (
        (delivery.speed, delivery.attack, delivery.shaft_lean, delivery.face_opening, delivery.edge_aim),
        deviations(delivery.speed, lie_met(lie, club, delivery), z, errors),
        (club.loft, club.bounce, club.head_mass, club.sole_width, club.lie_angle),
        (lie.friction, lie.cushion, lie.give, lie.ball_height, lie.slope_along, lie.slope_across),
        (ARC_RADIUS, TURF_DRAG, _GRIPPED, ball.mass, ball.radius, ball.inertia),
    )
    columns = [item for thing in things for item in thing]
    shape = np.broadcast_shapes(*map(np.shape, columns))
    if shape == ():
        found: Any = np.array(struck_launch(*([float(item) for item in thing] for thing in things)))
    else:
        rows = np.stack([np.broadcast_to(item, shape).reshape(-1) for item in columns], axis=-1, dtype=float)
        found = np.empty((math.prod(shape), 8))
        loop, cuts = strikes_loop(), range(0, len(rows), AT_ONCE)
        in_threads(lambda at: loop(rows[at : at + AT_ONCE], found[at : at + AT_ONCE]), cuts)
    *launch, contact, edge, kept = (plain(column.reshape(shape)) for column in found.T)
    contact = plain(np.asarray(contact).astype(int))
    return Struck(launch=_spun(launch, lie), contact=contact, edge=edge, speed_kept=kept)


def lie_met(lie: Lie, club: Club, delivery: Delivery) -> Lie:
    """Return a lie as it is for a club: with less loft, head and ball go through more grass, and come out less evenly.

    A ball leaves grass of one height along a path that is as long as the cotangent of its angle, here the loft
    delivered; what stems take from it, each by chance, varies with the root of that length.
    """
    if not np.any(lie.speed_error):
        return lie
    path = 1.0 / np.tan(np.clip(delivered_loft(club, delivery), *LOFTS_THROUGH_GRASS))
    return replace(lie, speed_error=np.asarray(lie.speed_error) * np.sqrt(path))


def deviations(speed: ArrayLike, lie: Lie, z: ArrayLike, errors: StrikeErrors) -> tuple[Any, ...]:
    """Return what goes wrong, from errors `z` in standard deviations as for `strike`, at a head speed meant in m/s.

    A longer swing errs more, and the unevenness of the lie adds to the player's errors. Returned are the factor on the
    head speed, errors of direction, attack and lean in rad, of the low point and the height in m.
    """
    numbers, growth = np.asarray(z, dtype=float), np.asarray(errors.growth)
    if numbers.ndim == 0 or numbers.shape[0] != 6:
        raise ValueError(f"z has shape {numbers.shape}; expected six rows, one for each kind of error")
    longer = 1.0 - growth + growth * np.asarray(speed) / REFERENCE_SPEED
    paced = errors.speed_growth + (1.0 - np.asarray(errors.speed_growth)) * REFERENCE_SPEED / np.maximum(speed, 0.1)
    speed_error = np.hypot(errors.speed * paced, lie.speed_error)
    lean_error = np.hypot(errors.shaft_lean * longer, lie.face_error)
    direction_error = np.hypot(errors.direction, 0.5 * np.asarray(lie.face_error))
    return (
        np.maximum(1.0 + speed_error * numbers[0], LEAST_SPEED),
        direction_error * numbers[1],
        errors.attack * longer * numbers[2],
        lean_error * numbers[3],
        errors.low_point * longer * numbers[4],
        errors.height * longer * numbers[5],
    )


def launch_from(club: Club, delivery: Delivery, lie: Lie, *, ball: Ball | None = None) -> Launch:
    """Return the launch of a clean strike: an oblique impact of the face on a ball at rest.

    Model: rigid impact with friction, gripping or slipping (Cross, Am. J. Phys. 70, 1093, 2002), with the restitution
    of `face_restitution`. The impact is central: strikes off the middle of the face are not modelled.

    Parameters
    ----------
    club, delivery, lie : Club, Delivery, Lie
        Their fields broadcast against each other; sole, edge aim, give and ball height do not matter here.
    ball : Ball, optional, the rules' ball if left out

    Examples
    --------
    >>> from golfphys.physics.club import BAG, LIES
    >>> launch = launch_from(BAG["sand wedge"], Delivery(speed=10.0), LIES["tight"])
    >>> round(launch.speed, 1), round(launch.angle, 2), round(launch.backspin)
    (10.4, 0.58, 286)
    """
    require_kinds(club=(club, Club), delivery=(delivery, Delivery), lie=(lie, Lie))
    ball = ball or Ball()
    columns = broadcast(
        clean_launch,
        *(delivery.speed, delivery.attack, delivery.shaft_lean, delivery.face_opening),
        *(club.loft, club.lie_angle, club.head_mass),
        *(lie.friction, lie.cushion, lie.slope_along, lie.slope_across),
        *(_GRIPPED, ball.mass, ball.radius, ball.inertia),
    )
    return _spun(columns, lie)


def _spun(columns: Sequence[Any], lie: Lie) -> Launch:
    """Return the launch of an impact's numbers, with the spin that the lie leaves it."""
    speed, angle, backspin, direction, sidespin = columns
    return Launch(speed, angle, backspin * lie.spin_factor, direction, sidespin * lie.spin_factor)


def delivered_loft(club: Club, delivery: Delivery) -> Any:
    """Return the loft of the face at impact in rad: static loft less lean, more with an open face.

    >>> from golfphys.physics.club import BAG
    >>> round(float(np.degrees(delivered_loft(BAG["sand wedge"], Delivery(speed=10.0)))), 1)
    47.0
    """
    normal = broadcast(impact.face_normal, club.loft, delivery.shaft_lean, delivery.face_opening, club.lie_angle)
    return plain(np.arcsin(np.clip(normal[2], -1.0, 1.0)))


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
    club, delivery : Club, Delivery, whose bounce, lie angle, shaft lean and face opening are used

    Examples
    --------
    Eight degrees of lean leave three of eleven:

    >>> from golfphys.physics.club import BAG
    >>> round(float(np.degrees(effective_bounce(BAG["sand wedge"], Delivery(speed=8.0)))), 1)
    3.0
    """
    return broadcast(impact.bounce_left, club.bounce, delivery.shaft_lean, delivery.face_opening, club.lie_angle)


def low_point_window(club: Club, delivery: Delivery, lie: Lie, *, arc_radius: float = ARC_RADIUS) -> LowPointWindow:
    """Return how far the low point may err before the leading edge digs or the ball is thinned.

    The swing meant brings the leading edge to the ball at the height that the delivery aims at. Model:
    golfphys/derivations/impact.py; no published figures.

    Parameters
    ----------
    club, delivery, lie : Club, Delivery, Lie
        Head speed and head mass do not matter here, nor what the face meets: friction, cushion, grass, slope.
    arc_radius : float, radius of the arc of the head, m

    Examples
    --------
    Leaning the shaft on a tight lie leaves less room behind the ball:

    >>> from golfphys.physics.club import BAG, LIES
    >>> swings = Delivery(speed=8.0, shaft_lean=np.array([0.05, 0.17]), attack=-0.1)
    >>> low_point_window(BAG["sand wedge"], swings, LIES["tight"]).dig.round(2)
    array([-0.32, -0.03])
    """
    if not arc_radius > 0:
        raise ValueError(f"arc_radius is {arc_radius!r}; expected a positive length in m")
    low_point = broadcast(impact.low_point_of_attack, delivery.attack, arc_radius)
    left = effective_bounce(club, delivery)
    up, upright = (np.sin(delivered_loft(club, one)) for one in (delivery, replace(delivery, shaft_lean=0.0)))
    ball = lie.ball_height, constants.BALL_RADIUS.value
    reach = broadcast(impact.face_contact_height, up, *ball)
    _, depth = broadcast(impact.sole_room, left, club.sole_width, lie.give)
    edge = np.asarray(delivery.edge_aim) * broadcast(impact.face_contact_height, upright, *ball)
    dig, thin = broadcast(impact.low_point_window, low_point, arc_radius, edge, depth, reach)
    return LowPointWindow(low_point=low_point, dig=dig, thin=thin, effective_bounce=left)
