"""Closed forms derived in ``golfphys/derivations/turf.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 e92a58de93fad214.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def turf_restitution(approach_speed: float, restitution: float, restitution_linear: float, restitution_quadratic: float, restitution_limit_speed: float) -> float:
    """Coefficient of normal restitution of turf at a normal impact speed in m/s, kept within 0 and 1. Model: Penner, Can. J. Phys. 80, 931 (2002), from memory."""
    counted_speed = min(approach_speed, restitution_limit_speed)
    return max(0, min(1, (counted_speed*counted_speed)*restitution_quadratic + counted_speed*restitution_linear + restitution))


def dent_tilt_rate(dent_tilt: float, dent_speed: float, reference_speed: float, reference_angle: float) -> float:
    """Tangent of half the tilt per m/s of speed and rad of angle, for a full dent; a constant of the turf. Model: Penner, Can. J. Phys. 80, 931 (2002), from memory."""
    t0 = (math.cos(reference_angle)*math.cos(reference_angle))
    t1 = math.tan((1/2)*reference_angle)
    t2 = (t1*t1)
    return (1/2)*((dent_speed*dent_speed) + (reference_speed*reference_speed)*t0)*(9*t2 + 15)*math.tan((1/2)*dent_tilt)/((reference_speed*reference_speed*reference_speed)*t0*t1*(4*t2 + 15))


def dented_normal(velocity_x: float, velocity_y: float, velocity_z: float, normal_x: float, normal_y: float, normal_z: float, tilt_rate: float, dent_speed: float) -> tuple[float, float, float]:
    """Unit normal of the turf as the dent tilts it against a landing with the velocity given. Model: Penner, Can. J. Phys. 80, 931 (2002), from memory; fading with the dent is this project's. Returns normal_x, normal_y, normal_z."""
    rise = normal_x*velocity_x + normal_y*velocity_y + normal_z*velocity_z
    down_speed = max(0, -rise)
    along_x = -normal_x*rise + velocity_x
    along_y = -normal_y*rise + velocity_y
    along_z = -normal_z*rise + velocity_z
    ground_speed = max(1.0e-12, math.sqrt((along_x*along_x) + (along_y*along_y) + (along_z*along_z)))
    speed_there = math.sqrt((down_speed*down_speed) + (ground_speed*ground_speed))
    slant = ground_speed/(down_speed + speed_there)
    lean = 2*(down_speed*down_speed)*slant*speed_there*tilt_rate*(4*(slant*slant) + 15)/(((dent_speed*dent_speed) + (down_speed*down_speed))*(9*(slant*slant) + 15))
    t0 = (lean*lean)
    t1 = 1/(t0 + 1)
    t2 = 2*lean/ground_speed
    t3 = 1 - t0
    return t1*(-along_x*t2 + normal_x*t3), t1*(-along_y*t2 + normal_y*t3), t1*(-along_z*t2 + normal_z*t3)


def linear_bounce(velocity_x: float, velocity_y: float, velocity_z: float, spin_x: float, spin_y: float, spin_z: float, normal_x: float, normal_y: float, normal_z: float, restitution: float, friction: float, forward_lift: float, speed_kept: float, speed_from_spin: float, spin_from_speed: float, spin_kept: float, radius: float, inertia: float) -> tuple[float, float, float, float, float, float]:
    """Motion after a bounce by the linear map from landing to take-off, capped by friction and by energy. Model: piecewise-affine map after Biber et al., Sports Engineering 26 (2023). Returns velocity_x, velocity_y, velocity_z, spin_x, spin_y, spin_z."""
    rise = normal_x*velocity_x + normal_y*velocity_y + normal_z*velocity_z
    down_speed = max(0, -rise)
    along_x = -normal_x*rise + velocity_x
    along_y = -normal_y*rise + velocity_y
    along_z = -normal_z*rise + velocity_z
    twist = normal_x*spin_x + normal_y*spin_y + normal_z*spin_z
    rim_x = radius*(-normal_y*spin_z + normal_z*spin_y)
    rim_y = radius*(normal_x*spin_z - normal_z*spin_x)
    rim_z = radius*(-normal_x*spin_y + normal_y*spin_x)
    change_x = along_x*(speed_kept - 1) + rim_x*speed_from_spin
    change_y = along_y*(speed_kept - 1) + rim_y*speed_from_spin
    change_z = along_z*(speed_kept - 1) + rim_z*speed_from_spin
    change_speed = math.sqrt((change_x*change_x) + (change_y*change_y) + (change_z*change_z))
    limit = down_speed*friction*(restitution + 1)
    share_made = 1 if (change_speed <= limit) else limit/change_speed
    take_off = min(down_speed, down_speed*restitution + forward_lift*math.sqrt((along_x*along_x) + (along_y*along_y) + (along_z*along_z)))
    along_after_x = along_x + change_x*share_made
    along_after_y = along_y + change_y*share_made
    along_after_z = along_z + change_z*share_made
    rim_after_x = rim_x + share_made*(along_x*spin_from_speed + rim_x*(spin_kept - 1))
    rim_after_y = rim_y + share_made*(along_y*spin_from_speed + rim_y*(spin_kept - 1))
    rim_after_z = rim_z + share_made*(along_z*spin_from_speed + rim_z*(spin_kept - 1))
    energy_before = (along_x*along_x) + (along_y*along_y) + (along_z*along_z) + inertia*((rim_x*rim_x) + (rim_y*rim_y) + (rim_z*rim_z)) + (rise*rise)
    energy_after = (along_after_x*along_after_x) + (along_after_y*along_after_y) + (along_after_z*along_after_z) + inertia*((rim_after_x*rim_after_x) + (rim_after_y*rim_after_y) + (rim_after_z*rim_after_z)) + (take_off*take_off)
    scale = 1 if (energy_after <= energy_before) else math.sqrt(energy_before/energy_after)
    t0 = scale/radius
    return scale*(along_after_x + normal_x*take_off), scale*(along_after_y + normal_y*take_off), scale*(along_after_z + normal_z*take_off), normal_x*twist + t0*(normal_y*rim_after_z - normal_z*rim_after_y), normal_y*twist + t0*(-normal_x*rim_after_z + normal_z*rim_after_x), normal_z*twist + t0*(normal_x*rim_after_y - normal_y*rim_after_x)


def landing_departure(velocity_x: float, velocity_y: float, velocity_z: float, normal_x: float, normal_y: float, normal_z: float, patch: float, kept_by_angle: float, kept_by_speed: float, usual_angle: float, usual_speed: float, dent_speed: float) -> float:
    """Logarithm of what a landing keeps along the ground over what the law of the bounce says. Model: this project's."""
    rise = normal_x*velocity_x + normal_y*velocity_y + normal_z*velocity_z
    down_speed = max(0, -rise)
    along_x = -normal_x*rise + velocity_x
    along_y = -normal_y*rise + velocity_y
    along_z = -normal_z*rise + velocity_z
    ground_speed = math.sqrt((along_x*along_x) + (along_y*along_y) + (along_z*along_z))
    landing_speed = max(0.001, math.sqrt((down_speed*down_speed) + (ground_speed*ground_speed)))
    t0 = (down_speed*down_speed)
    return t0*(kept_by_angle*(-usual_angle + math.atan2(down_speed, ground_speed)) + kept_by_speed*math.log(landing_speed/usual_speed) + patch)/((dent_speed*dent_speed) + t0)


def kept_motion(velocity_x: float, velocity_y: float, velocity_z: float, spin_x: float, spin_y: float, spin_z: float, normal_x: float, normal_y: float, normal_z: float, kept: float) -> tuple[float, float, float, float, float, float]:
    """Motion after a bounce with the speed along the ground and the spin times a factor. Model: this project's. Returns velocity_x, velocity_y, velocity_z, spin_x, spin_y, spin_z."""
    rise = normal_x*velocity_x + normal_y*velocity_y + normal_z*velocity_z
    along_x = -normal_x*rise + velocity_x
    along_y = -normal_y*rise + velocity_y
    along_z = -normal_z*rise + velocity_z
    return along_x*kept + normal_x*rise, along_y*kept + normal_y*rise, along_z*kept + normal_z*rise, kept*spin_x, kept*spin_y, kept*spin_z


def hop_speed(approach_speed: float, hop_loss: float, gravity: float) -> float:
    """Normal speed in m/s left of a take-off speed once the hop has lost its height to the grass. Model: energy of a hop; the loss is this project's."""
    return math.sqrt(max(0, (approach_speed*approach_speed) - 2*gravity*hop_loss))


def skid(velocity_x: float, velocity_y: float, slip_x: float, slip_y: float, friction: float, grade_x: float, grade_y: float, gravity: float, inertia: float) -> tuple[float, float, float, float, float]:
    """Way of a skid on a plane until the ball rolls, velocity then, and duration; infinite if never. Model: Coulomb friction on a sliding, spinning sphere. Returns way_x, way_y, velocity_x, velocity_y, duration."""
    normal_gravity = gravity/math.sqrt((grade_x*grade_x) + (grade_y*grade_y) + 1)
    pull_x = -grade_x*normal_gravity
    pull_y = -grade_y*normal_gravity
    pull = math.sqrt((pull_x*pull_x) + (pull_y*pull_y))
    braking = friction*normal_gravity*(1 + 1/inertia)
    slip_speed = math.sqrt((slip_x*slip_x) + (slip_y*slip_y))
    along_pull = pull_x*slip_x + pull_y*slip_y
    if (slip_speed <= 0):
        return 0, 0, velocity_x, velocity_y, 0
    if (braking <= pull):
        return math.inf, math.inf, velocity_x, velocity_y, math.inf
    t0 = braking*slip_speed
    t1 = along_pull + t0
    t2 = (braking*braking)
    t3 = (pull*pull)
    t4 = -t3
    t5 = t2 + t4
    t6 = t1/t5
    t7 = (1/2)*(t1*t1)/(t5*t5)
    t8 = pull_x*t7
    t9 = 4*t2
    t10 = (along_pull + 2*t0)/(t4 + t9)
    t11 = (3*along_pull*t10 + (slip_speed*slip_speed))/(-4*t3 + t9)
    t12 = inertia/(inertia + 1)
    t13 = pull_y*t7
    t14 = pull_x*t6
    t15 = pull_y*t6
    return -t12*(-pull_x*t11 - slip_x*t10 + slip_x*t6 + t8) + t6*velocity_x + t8, -t12*(-pull_y*t11 - slip_y*t10 + slip_y*t6 + t13) + t13 + t6*velocity_y, -t12*(slip_x + t14) + t14 + velocity_x, -t12*(slip_y + t15) + t15 + velocity_y, t6


def rolling_speed(speed: float, topspin: float, radius: float, inertia: float) -> float:
    """Speed in m/s when a skid on level ground ends; negative where the ball comes back. Model: Coulomb friction on a sliding, spinning sphere."""
    return (inertia*radius*topspin + speed)/(inertia + 1)


def skid_time(speed: float, topspin: float, friction: float, radius: float, gravity: float, inertia: float) -> float:
    """Time in s of a skid on level ground. Model: Coulomb friction on a sliding, spinning sphere."""
    slipping = -radius*topspin + speed
    return inertia*abs(slipping)/(friction*gravity*(inertia + 1))


def skid_distance(speed: float, topspin: float, friction: float, radius: float, gravity: float, inertia: float) -> float:
    """Distance in m from start to end of a skid on level ground; less than was skidded if it came back. Model: Coulomb friction on a sliding, spinning sphere."""
    slipping = -radius*topspin + speed
    return (1/2)*inertia*(inertia*radius*topspin + inertia*speed + 2*speed)*abs(slipping)/(friction*gravity*((inertia + 1)*(inertia + 1)))


def skid_rates(friction: float, grade: float, gravity: float, inertia: float) -> tuple[float, float]:
    """Deceleration (m/s^2) of a ball skidding forward, and rate (m/s^2) at which its contact's slip dies. Model: Coulomb friction on a sliding, spinning sphere. Returns braking, slip_rate."""
    t0 = gravity/math.sqrt((grade*grade) + 1)
    return t0*(friction + grade), friction*t0*(inertia + 1)/inertia
