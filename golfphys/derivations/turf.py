"""How turf takes a landing ball, and the skid that follows the last bounce.

**Restitution** falls with the normal speed u of the impact: e(u) = e + e1 u + e2 u^2 up to a limit speed, constant
above it (Penner, Can. J. Phys. 80, 931, 2002; from memory).

**Tilt.** The ball dents the turf and leaves from the dent's far wall, as if from a surface tilted against its motion.
Penner's tilt grows with speed and with the angle from the normal, theta = theta_c (v / v_r)(phi / phi_r). That rule
alone lifts a slow, flat hop for ever: theta stays finite while the speed into the ground goes to nothing, though then
there is no dent. So the tilt is multiplied by the share

    f(u) = u^2 (u_r^2 + u_d^2) / ((u^2 + u_d^2) u_r^2),       u_r = v_r cos(phi_r),

of the dent's full size, in which u_d is the speed into the turf at which the share is about half: f goes with u^2 for
gentle landings and is 1 at the reference impact, so Penner's value is recovered there. Two changes of form save the
trigonometry where it would cost most: the rule is applied to tan(theta/2), which differs from theta/2 by less than 1 %
up to 0.3 rad, and the angle phi is taken as Pade's fraction of arctan in tan(phi/2) = v_t/(v + u), which is within
0.9 % of it from 0 to a right angle. Both are set exact at the reference.

**What one landing keeps.** No law of the bounce holds for every angle and speed of landing, and no two places of turf
are alike. So the speed along the ground and the spin after a landing are those of the law times exp(d), with

    d = (a (angle - angle_0) + b log(speed / speed_0) + p) u^2 / (u^2 + u_d^2),

the angle that between path and ground: a and b are what the law misses at a first landing, by its angle and its speed,
and p is chance, the same turf taking one ball a little better than the next. A ball that hardly presses in, as a putt
does, meets none of it: u is the speed into the turf and u_d that of half a dent. All is 0 unless a fit finds otherwise.

**The last hop.** Each hop loses the height h_0 to the grass: u' = sqrt(u^2 - 2 g h_0), and no hop where that is not
real. A hop therefore shrinks to nothing continuously, and where the ball comes to rest does not jump when one more
bounce is counted.

**Linear family.** Forward speed v and rim speed w (the speed r times spin that rolling would need) at take-off are
linear in those at landing, and the change is capped where friction would have to exceed mu times the normal impulse: a
piecewise-affine map from landing to take-off, as Biber et al., Sports Engineering 26 (2023), found to fit better than
Penner's rule. Its coefficients are free of the rigid contact's bond between speed and spin; energy is kept from rising
by scaling.

**Skid.** While the contact slips over the ground with velocity s = v + omega x (-r n), Coulomb friction acts against s.
On a plane with in-plane pull a (gravity along the ground) and sliding deceleration mu g_n,

    v' = a - mu g_n s/|s|,      s' = a - b s/|s|,   b = mu g_n (1 + 1/k),

because friction also spins the ball up (torque -r n x F on an inertia k m r^2; spin about the normal does nothing).
With p = s.a, two quantities change at constant rates or integrate exactly: d(b|s| + p)/dt = a^2 - b^2 gives the time T
to rolling, and the displacement D that the slip alone would make is quadratic in s. Both are checked below by
differentiation. Rolling resistance while skidding is left out (it is a small part of friction).

Without slope: v = (v0 + k w0)/(1 + k), w0 the speed the spin alone would roll with: 5/7 of the speed from no spin
(after a time 2/7 v/(mu g), 12/49 v^2/(mu g) on), 3/7 from backspin with r omega = v, nothing at all from r omega = v/k:
the ball stops turning and moving at once; more, and it comes back. Of a skid forward along a slope s, friction brakes
the ball by g (mu + s) cos(alpha) however it spins, while the slip dies at mu g cos(alpha) (1 + 1/k), to first order.
"""

import sympy

from golfphys.derivations.writer import components, derived, real, symbol, vector

velocity, normal = vector("velocity"), vector("normal")
velocity_x, velocity_y, _ = velocity
restitution, restitution_linear = symbol("restitution restitution_linear")
restitution_quadratic, restitution_limit_speed = symbol("restitution_quadratic restitution_limit_speed")
approach_speed, dent_tilt, dent_speed, hop_loss = symbol("approach_speed dent_tilt dent_speed hop_loss")
reference_speed, reference_angle = symbol("reference_speed reference_angle")
friction, gravity, inertia, radius = symbol("friction gravity inertia radius")
grade, grade_x, grade_y, slip_x, slip_y, speed, topspin = symbol("grade grade_x grade_y slip_x slip_y speed topspin")


# --- restitution -----------------------------------------------------------------------------------------------------
counted = real("counted_speed")
restitution_there = sympy.Max(
    0, sympy.Min(1, restitution + restitution_linear * counted + restitution_quadratic * counted**2)
)

# --- tilt of the dent ------------------------------------------------------------------------------------------------
total_speed, angle = real("total_speed angle")


def angle_of(half_angle_tangent: sympy.Expr) -> sympy.Expr:
    """Return an angle from the tangent of its half: Pade's [3/2] fraction of 2 arctan."""
    square = half_angle_tangent**2
    return 2 * half_angle_tangent * (15 + 4 * square) / (15 + 9 * square)


reference_approach = reference_speed * sympy.cos(reference_angle)
half_tangent_reference = sympy.tan(dent_tilt / 2) / (reference_speed * angle_of(sympy.tan(reference_angle / 2)))
tilt_scale = half_tangent_reference * (reference_approach**2 + dent_speed**2) / reference_approach**2
tilt_rate = symbol("tilt_rate")
half_tangent = tilt_rate * total_speed * angle * approach_speed**2 / (approach_speed**2 + dent_speed**2)

# the normal leans back against the forward direction by theta, with t = tan(theta/2)
rise = real("rise")
along_ground = vector("along", real)
ground_speed, down_speed, lean, speed_there, slant = real("ground_speed down_speed lean speed_there slant")
tilted = ((1 - lean**2) * normal - 2 * lean * along_ground / ground_speed) / (1 + lean**2)
ground_definitions = (
    (rise, velocity.dot(normal)),
    (down_speed, sympy.Max(0, -rise)),
    *zip(along_ground, velocity - rise * normal, strict=True),
)

# --- the skid on a plane ---------------------------------------------------------------------------------------------
pull_x, pull_y, pull, braking = real("pull_x pull_y pull braking")
slip_speed, along_pull, normal_gravity, duration = real("slip_speed along_pull normal_gravity duration")

skid_time = (braking * slip_speed + along_pull) / (braking**2 - pull**2)
share = (2 * braking * slip_speed + along_pull) / (4 * braking**2 - pull**2)
slip, pulled = sympy.Matrix([slip_x, slip_y]), sympy.Matrix([pull_x, pull_y])
slip_path = share * slip + pulled * (slip_speed**2 + 3 * along_pull * share) / (4 * (braking**2 - pull**2))


def rates_hold() -> bool:
    """Check the closed forms: d(time)/dt = -1 and d(path)/dt = -slip along s' = a - b s/|s|."""
    size = sympy.sqrt(slip.dot(slip))
    full = {slip_speed: size, along_pull: slip.dot(pulled), pull: sympy.sqrt(pulled.dot(pulled))}
    found = sympy.Matrix([skid_time, *slip_path]).subs(full)
    rates = found.jacobian(slip) * (pulled - braking * slip / size)
    return sympy.simplify(rates + sympy.Matrix([1, *slip])).is_zero_matrix is True


# friction's integral is (s + a T)/b, so the speed at the end and the distance covered follow from T and D
part = inertia / (1 + inertia)
sent = sympy.Matrix([velocity_x, velocity_y])
fallen = pulled * duration**2 / 2
end_velocity = sent + pulled * duration - part * (slip + pulled * duration)
way = sent * duration + fallen - part * (slip * duration + fallen - slip_path)
skid_definitions = (
    (normal_gravity, gravity / sympy.sqrt(1 + grade_x**2 + grade_y**2)),
    *zip(pulled, -normal_gravity * sympy.Matrix([grade_x, grade_y]), strict=True),
    (pull, sympy.sqrt(pulled.dot(pulled))),
    (braking, friction * normal_gravity * (1 + 1 / inertia)),
    (slip_speed, sympy.sqrt(slip.dot(slip))),
    (along_pull, slip.dot(pulled)),
)
names = ("way_x", "way_y", "velocity_x", "velocity_y", "duration")
skidded = (*way, *end_velocity, duration)

# along one line, level: the textbook's case
slipping = real("slipping")
rolling_speed = (speed + inertia * radius * topspin) / (1 + inertia)
level_time = sympy.Abs(slipping) * part / (friction * gravity)
level_distance = sympy.factor((speed + rolling_speed) / 2) * level_time
along_line = ((slipping, speed - radius * topspin),)
LEVEL = (speed, topspin, friction, radius, gravity, inertia)
held = gravity / sympy.sqrt(1 + grade**2)

# --- what one landing keeps -------------------------------------------------------------------------------------------
kept_by_angle, kept_by_speed, patch, kept = symbol("kept_by_angle kept_by_speed patch kept")
landing_speed = real("landing_speed")
usual_angle, usual_speed = symbol("usual_angle usual_speed")
by_angle = kept_by_angle * (sympy.atan2(down_speed, ground_speed) - usual_angle)
by_speed = kept_by_speed * sympy.log(landing_speed / usual_speed)
departure = (patch + by_angle + by_speed) * down_speed**2 / (down_speed**2 + dent_speed**2)

# --- the linear family -----------------------------------------------------------------------------------------------
spin = vector("spin")
forward_lift, speed_kept, speed_from_spin = symbol("forward_lift speed_kept speed_from_spin")
spin_from_speed, spin_kept = symbol("spin_from_speed spin_kept")
rim, change, along_after, rim_after = (vector(name, real) for name in ("rim", "change", "along_after", "rim_after"))
change_speed, limit, shareable, take_off, scale = real("change_speed limit share_made take_off scale")
energy_before, energy_after = real("energy_before energy_after")
twist = real("twist")  # spin about the normal, which the bounce leaves alone

linear_definitions = (
    *ground_definitions,
    (twist, spin.dot(normal)),
    *zip(rim, radius * spin.cross(normal), strict=True),
    *zip(change, (speed_kept - 1) * along_ground + speed_from_spin * rim, strict=True),
    (change_speed, sympy.sqrt(change.dot(change))),
    (limit, friction * (1 + restitution) * down_speed),
    (shareable, ((change_speed <= limit, sympy.Integer(1)), (sympy.true, limit / change_speed))),
    (
        take_off,
        sympy.Min(down_speed, restitution * down_speed + forward_lift * sympy.sqrt(along_ground.dot(along_ground))),
    ),
    *zip(along_after, along_ground + shareable * change, strict=True),
    *zip(rim_after, rim + shareable * (spin_from_speed * along_ground + (spin_kept - 1) * rim), strict=True),
    (energy_before, rise**2 + along_ground.dot(along_ground) + inertia * rim.dot(rim)),
    (energy_after, take_off**2 + along_after.dot(along_after) + inertia * rim_after.dot(rim_after)),
    (
        scale,
        ((energy_after <= energy_before, sympy.Integer(1)), (sympy.true, sympy.sqrt(energy_before / energy_after))),
    ),
)
linear_velocity = scale * (take_off * normal + along_after)
linear_spin = scale * normal.cross(rim_after) / radius + twist * normal

FORMULAS = derived(
    """
# Penner, Can. J. Phys. 80, 931 (2002), from memory
turf_restitution | Coefficient of normal restitution of turf at a normal impact speed in m/s, kept within 0 and 1.
dent_tilt_rate | Tangent of half the tilt per m/s of speed and rad of angle, for a full dent; a constant of the turf.
# Penner, Can. J. Phys. 80, 931 (2002), from memory; fading with the dent is this project's
dented_normal | Unit normal of the turf as the dent tilts it against a landing with the velocity given.
# piecewise-affine map after Biber et al., Sports Engineering 26 (2023)
linear_bounce | Motion after a bounce by the linear map from landing to take-off, capped by friction and by energy.
# this project's
landing_departure | Logarithm of what a landing keeps along the ground over what the law of the bounce says.
kept_motion | Motion after a bounce with the speed along the ground and the spin times a factor.
# energy of a hop; the loss is this project's
hop_speed | Normal speed in m/s left of a take-off speed once the hop has lost its height to the grass.
# Coulomb friction on a sliding, spinning sphere
skid | Way of a skid on a plane until the ball rolls, velocity then, and duration; infinite if never.
rolling_speed | Speed in m/s when a skid on level ground ends; negative where the ball comes back.
skid_time | Time in s of a skid on level ground.
skid_distance | Distance in m from start to end of a skid on level ground; less than was skidded if it came back.
skid_rates | Deceleration (m/s^2) of a ball skidding forward, and rate (m/s^2) at which its contact's slip dies.
""",
    turf_restitution=(
        (approach_speed, restitution, restitution_linear, restitution_quadratic, restitution_limit_speed),
        ((counted, sympy.Min(approach_speed, restitution_limit_speed)),),
        restitution_there,
    ),
    dent_tilt_rate=((dent_tilt, dent_speed, reference_speed, reference_angle), tilt_scale),
    dented_normal=(
        (*velocity, *normal, tilt_rate, dent_speed),
        (
            *ground_definitions,
            (ground_speed, sympy.Max(sympy.Float("1e-12"), sympy.sqrt(along_ground.dot(along_ground)))),
            (speed_there, sympy.sqrt(down_speed**2 + ground_speed**2)),
            (slant, ground_speed / (speed_there + down_speed)),
            (lean, half_tangent.subs({total_speed: speed_there, angle: angle_of(slant), approach_speed: down_speed})),
        ),
        components(normal=tilted),
    ),
    linear_bounce=(
        (
            *(*velocity, *spin, *normal, restitution, friction, forward_lift),
            *(speed_kept, speed_from_spin, spin_from_speed, spin_kept, radius, inertia),
        ),
        linear_definitions,
        components(velocity=linear_velocity, spin=linear_spin),
    ),
    landing_departure=(
        (*velocity, *normal, patch, kept_by_angle, kept_by_speed, usual_angle, usual_speed, dent_speed),
        (
            *ground_definitions,
            (ground_speed, sympy.sqrt(along_ground.dot(along_ground))),
            (landing_speed, sympy.Max(sympy.Float("1e-3"), sympy.sqrt(down_speed**2 + ground_speed**2))),
        ),
        departure,
    ),
    kept_motion=(
        (*velocity, *spin, *normal, kept),
        ((rise, velocity.dot(normal)), *zip(along_ground, velocity - rise * normal, strict=True)),
        components(velocity=rise * normal + kept * along_ground, spin=kept * spin),
    ),
    hop_speed=(
        (approach_speed, hop_loss, gravity),
        sympy.sqrt(sympy.Max(0, approach_speed**2 - 2 * gravity * hop_loss)),
    ),
    skid=(
        (velocity_x, velocity_y, slip_x, slip_y, friction, grade_x, grade_y, gravity, inertia),
        skid_definitions,
        (
            (slip_speed <= 0, dict(zip(names, (0, 0, velocity_x, velocity_y, 0), strict=True))),
            (braking <= pull, dict(zip(names, (sympy.oo, sympy.oo, velocity_x, velocity_y, sympy.oo), strict=True))),
            (sympy.true, {name: found.subs(duration, skid_time) for name, found in zip(names, skidded, strict=True)}),
        ),
    ),
    rolling_speed=((speed, topspin, radius, inertia), rolling_speed),
    skid_time=(LEVEL, along_line, level_time),
    skid_distance=(LEVEL, along_line, level_distance),
    skid_rates=(
        (friction, grade, gravity, inertia),
        {"braking": held * (friction + grade), "slip_rate": held * friction * (1 + inertia) / inertia},
    ),
)
