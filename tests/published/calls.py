"""Helpers that rows of ``tests/published/*.csv`` may name where no public function gives the published figure alone.

Each takes keyword arguments in SI and returns a number, a tuple or an object with attributes; a row names it by its
bare name. Keep them to arithmetic on the library's results: the physics under test stays in the library.
"""

import math
from typing import Any

import numpy as np
from scipy.optimize import brentq

from golfphys.core import constants
from golfphys.core.constants import Ball
from golfphys.core.units import METRES_PER_SECOND_PER_MPH
from golfphys.formulas import hole
from golfphys.formulas.flight import spin_loss, vacuum_carry
from golfphys.formulas.impact import impact, slip_limit_ratio
from golfphys.formulas.turf import dented_normal, turf_restitution
from golfphys.physics.bounce import bounce, drop_restitution, rebound_height
from golfphys.physics.club import BAG, LIES, Club, Delivery, Launch
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Turf
from golfphys.physics.putting import putts_to_hole_out
from golfphys.physics.roll import skid
from golfphys.physics.rows import turf_row
from golfphys.physics.shot import simulate
from golfphys.physics.strike import delivered_loft, launch_from

BALL = Ball()
HOLE_RADIUS, GRAVITY = constants.HOLE_RADIUS.value, constants.GRAVITY.value


def capture_speed(offset: float) -> float:
    """Fastest ball that the usual hole takes with the help of its far rim."""
    return hole.far_rim_capture_speed(offset, HOLE_RADIUS, constants.FAR_RIM_CAPTURE_SPEED.value)


def free_fall_capture_speed(offset: float) -> float:
    """Fastest ball that falls past the near rim of the usual hole."""
    return hole.free_fall_capture_speed(offset, HOLE_RADIUS, BALL.radius, GRAVITY)


def dead_rim_capture_speed(grips: bool = True) -> float:
    """Fastest centred ball that a dead far rim turns back."""

    def strike(contact_angle: float) -> tuple[float, float, float]:
        return hole.dead_rim_strike(contact_angle, HOLE_RADIUS, BALL.radius, GRAVITY, BALL.inertia)

    # struck level with the centre the ball drops; struck near its foot it hardly notices the rim
    return strike(brentq(lambda angle: strike(angle)[1 if grips else 2], 1e-6, 1.2, xtol=1e-12))[0]


def putts_from(distance: float) -> float:
    """Putts that a tour takes from a distance."""
    return float(putts_to_hole_out()(distance))


def skid_of(velocity_x, friction, radius, inertia=0.4, spin_y=0.0, gravity=0.0):
    """Distance of a skid and the speed after it of any ball; distances go with one over gravity, ours if 0."""
    found = skid(velocity_x, spin_y=spin_y, friction=friction, ball=Ball(radius=radius, inertia=inertia))
    return found.x * (constants.GRAVITY.value / gravity if gravity else 1.0), found.speed


def superball(velocity_x: float, velocity_z: float) -> tuple[float, ...]:
    """Motion of a spinless superball (both restitutions 1, endless friction) after a bounce on a level floor."""
    return impact(
        *(velocity_x, 0.0, velocity_z, 0.0, 0.0, 0.0, 0.0, 0.0, 1.0), *(1.0, 1e9, 1.0, 0.0, BALL.radius, BALL.inertia)
    )


def superball_energy_ratio(velocity_x: float, velocity_z: float) -> float:
    after = superball(velocity_x, velocity_z)
    turning = BALL.inertia * BALL.radius**2 * sum(part**2 for part in after[3:])
    return (sum(part**2 for part in after[:3]) + turning) / (velocity_x**2 + velocity_z**2)


def gripping_angle(friction: float, restitution: float) -> float:
    """Angle to the surface below which a spinless ball slides through its bounce."""
    return math.atan(1.0 / slip_limit_ratio(restitution, friction, 0.0, 0.0, BALL.inertia))


def dent_tilt(speed: float, angle: float) -> float:
    """Tilt of the dent for a landing at an angle from the normal, published turf."""
    row = turf_row(Turf())
    velocity = speed * math.sin(angle), 0.0, -speed * math.cos(angle)
    normal = dented_normal(*velocity, 0.0, 0.0, 1.0, row[5], row[6])
    return math.atan2(-normal[0], normal[2])


def restitution_of_turf(approach_speed: float) -> float:
    turf = Turf()
    fields = turf.restitution, turf.restitution_linear, turf.restitution_quadratic, turf.restitution_limit_speed
    return turf_restitution(approach_speed, *fields)


def mean_restitution(drop_height: float, rebounds: list[float]) -> float:
    return float(np.mean(drop_restitution(drop_height, rebounds)))


def flight_after_drop(drop_height: float, restitution: float, bounces: int) -> float:
    """Time in the air after so many bounces of a ball dropped on a floor of constant restitution."""
    floor = Turf(restitution=restitution, restitution_linear=0.0, restitution_quadratic=0.0)
    height = drop_height
    for _ in range(bounces):
        height = rebound_height(floor, height)
    return 2.0 * math.sqrt(2.0 * height / constants.GRAVITY.value)


def spin_left_by_friction(friction: float, speed: float, angle: float, backspin: float) -> float:
    """Backspin with which a ball leaves published turf of another friction; negative for topspin."""
    velocity = [speed * math.sin(angle), 0.0, -speed * math.cos(angle)]
    return -float(bounce(velocity, [0.0, -backspin, 0.0], Turf(friction=friction))[1][1])


def coefficient_at(name: str, speed: float, spin: float) -> float:
    """Drag or lift coefficient of the rules' ball in standard air."""
    return coefficient_at_reynolds(name, Air().reynolds(speed), BALL.radius * spin / speed)


def coefficient_at_reynolds(name: str, reynolds: float, spin_ratio: float) -> float:
    """Drag or lift coefficient at a Reynolds number and spin ratio."""
    return Aerodynamics().coefficients(reynolds, spin_ratio)[("drag", "lift").index(name)]


def coefficient_farthest_from(name: str, middle: float, speeds: list[float], spins: list[float]) -> float:
    """Of the coefficients at these speeds and spins, the one that is farthest from the middle of a stated range."""
    found = [coefficient_at(name, speed, spin) for speed in speeds for spin in spins]
    return max(found, key=lambda value: abs(value - middle))


def spin_lost(speed: float, spin: float) -> float:
    return spin_loss(spin, speed, BALL.radius, constants.SPIN_DECAY.value)


def carries(speed: float, angle: float, backspin: float, drag_scales: list[float], lift_scales: list[float]) -> Any:
    """Greatest departure of carry from the vacuum's, and its span, as shares of that, over factors on drag and lift."""
    drag, lift = (values.ravel() for values in np.meshgrid(drag_scales, lift_scales))
    air = Aerodynamics(drag_scale=drag, lift_scale=lift)
    shots = simulate(Launch(speed, angle, backspin), Green.from_stimp(10.0), aerodynamics=air)
    over = shots.carry / vacuum_carry(speed, angle, constants.GRAVITY.value)
    return np.max(np.abs(over - 1.0)), np.ptp(over)


def pressure_at(altitude: float) -> float:
    temperature = constants.SEA_LEVEL_TEMPERATURE.value - constants.LAPSE_RATE.value * altitude
    air = Air(altitude=altitude, temperature=temperature)
    return air.density * constants.GAS_DRY_AIR.value * temperature


def spin_over_speed(spin_loft: float, lie: str) -> float:
    """Rim speed over ball speed of a lob wedge that meets the ball with this spin loft."""
    wedge = BAG["lob wedge"]
    lean = wedge.loft - spin_loft
    launch = launch_from(wedge, Delivery(speed=12.0, attack=0.0, shaft_lean=lean), LIES[lie])
    return float(BALL.radius * np.asarray(launch.backspin) / np.asarray(launch.speed))


def spin_identity_miss(club: str, lies: list[str]) -> float:
    """Greatest departure of rim speed over ball speed from 2.5 sin(delivered loft less launch angle)."""
    misses = []
    for lie in lies:
        delivery = Delivery(speed=10.0)
        launch = launch_from(BAG[club], delivery, LIES[lie])
        turn = delivered_loft(BAG[club], delivery) - np.asarray(launch.angle)
        misses.append(BALL.radius * np.asarray(launch.backspin) / np.asarray(launch.speed) - 2.5 * np.sin(turn))
    return float(np.max(np.abs(misses)))


def launch_share(club: str, lie: str = "fairway") -> float:
    """How far from the path towards the face the launch lies, of the default delivery of a club."""
    delivery = Delivery(speed=10.0)
    launch = launch_from(BAG[club], delivery, LIES[lie])
    path = float(np.asarray(delivery.attack))
    return float((np.asarray(launch.angle) - path) / (delivered_loft(BAG[club], delivery) - path))


def spin_per_speed(head_speed: float, spin_loft: float, per_mph: bool = False) -> float:
    """Spin over head speed (a mile per hour if asked) and sine of the spin loft, of an iron's head that grips."""
    unit = METRES_PER_SECOND_PER_MPH if per_mph else 1.0
    iron = Club(name="iron", loft=spin_loft, bounce=0.0, head_mass=0.27)
    launch = launch_from(iron, Delivery(speed=head_speed, attack=0.0, shaft_lean=0.0), LIES["tight"])
    return float(np.asarray(launch.backspin)) / (head_speed / unit) / math.sin(spin_loft)


def when_wet(club: str) -> tuple[Any, Any]:
    """Spin from a wet lie over that from a tight one, and by how much the launch rises."""
    wet, clean = (launch_from(BAG[club], Delivery(speed=10.0), LIES[lie]) for lie in ("wet", "tight"))
    return wet.backspin / clean.backspin, wet.angle - clean.angle


def loft_out_of_range(ranges_deg: dict[str, list[float]]) -> float:
    """Greatest angle by which a club of the bag is outside its range of lofts; every club must have one."""
    if set(ranges_deg) != set(BAG):
        raise ValueError(f"ranges are given for {sorted(ranges_deg)}; expected the bag, {sorted(BAG)}")
    lofts = {club: math.degrees(BAG[club].loft) for club in ranges_deg}
    outside = [max(low - lofts[club], lofts[club] - high, 0.0) for club, (low, high) in ranges_deg.items()]
    return math.radians(max(outside))


def loft_taken_off(club: str) -> float:
    return float(BAG[club].loft - delivered_loft(BAG[club], Delivery(speed=8.0)))
