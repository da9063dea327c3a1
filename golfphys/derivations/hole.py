"""The hole: which ball it takes, by speed at the near rim and by offset of the path; the chance of holing a putt.

A ball of radius r rolls over a hole of radius R on a path whose least distance from the centre of the hole is d. Its
support ends where its centre passes the near rim, half a chord, sqrt(R^2 - d^2), before the point nearest the centre.
From there it falls freely.

**Free fall.** Seen from above the ball at the height of the ground is a disc; once the centre has fallen to the ground
it is widest, r, and the turf can no longer push it up. It is then clear of the rim if its centre is nearer than R - r
to the centre of the hole. So in the time to fall r it may cover half a chord of the hole and half a chord of a circle
of radius R - r, and no more. A path with d > R - r cannot do it: there the ball must use the rim.

Two slips look right. Taking the whole chord less r, 2 sqrt(R^2 - d^2) - r, puts the ball's side through the rim and
exceeds the law with the rim for far offsets. Letting the *centre* reach the far rim, 2 R sqrt(g / 2 r) = 1.637 m/s at
the centre, gives nearly the published speed with the rim by accident: no rim is in it.

**With the far rim.** Faster, the ball strikes the far rim with its centre above the ground. For a centred path the
strike is derived below for a dead rim (nothing of the approach is returned) in its two limits: the rim grips, and the
ball's angular momentum about it is kept, or it is smooth, and the velocity along the tangent is kept. The ball is out
if what is left carries its centre over the rim. The published speed, 1.63 m/s, lies between the two, 2 % above a rim
that grips. The published dependence on offset, 1 - (d/R)^2, is quoted, not derived.

**The chance of holing a putt** follows from the errors of a golfer's direction and distance.

**Direction.** A putt starts at an angle to the line intended that is normal with standard deviation s_a. It passes over
the hole if its centre passes within R - r of the hole's centre as far as the putt is long, that is if the angle is
within asin((R - r)/x). Shorter than R - r the ball hangs over the hole already.

**Distance.** The player means to roll the ball a set overshoot past the hole. The roll is normal about that with a
standard deviation that is a set fraction of the roll intended. The ball is taken if it reaches the hole and if it would
run out no more than a set overrun past it.

Both at once are taken as independent, so the chance of holing is the product. The integral of the normal density is
done below. The model, its overshoot of 1 ft and its overrun of 3 ft are the published ones, quoted.
"""

import sympy

from golfphys.derivations.writer import derived, real, symbol

gravity, inertia, radius, speed, offset, hole_radius = symbol("gravity inertia radius speed offset hole_radius")

# free fall: the time in which the centre falls the ball's radius, and the distance it may cover meanwhile
time = symbol("time")
fall_time = sympy.solve(sympy.Eq(gravity * time**2 / 2, radius), time)[0]
half_chord_of_hole = sympy.sqrt(hole_radius**2 - offset**2)
half_chord_of_clear_circle = sympy.sqrt((hole_radius - radius) ** 2 - offset**2)
free_fall_speed = sympy.simplify((half_chord_of_hole + half_chord_of_clear_circle) / fall_time)
at_centre = 3 * radius * sympy.sqrt(gravity / (2 * radius))  # (2 R - r) sqrt(g / 2 r), R = 2 r
assert sympy.simplify(free_fall_speed.subs({offset: 0, hole_radius: 2 * radius}) - at_centre) == 0

# with the far rim: as published
centre_capture_speed = symbol("centre_capture_speed")
far_rim_speed = sympy.Max(0, centre_capture_speed * (1 - (offset / hole_radius) ** 2))

# a dead far rim, centred path; the centre is seen from the rim at `contact_angle` over the horizontal
contact_angle = symbol("contact_angle")
height, back = radius * sympy.sin(contact_angle), radius * sympy.cos(contact_angle)
time_to_contact = sympy.sqrt(2 * (radius - height) / gravity)
approach = (2 * hole_radius - back) / time_to_contact
falling = gravity * time_to_contact
# forward and over the rim is positive; per unit of mass; the ball arrives rolling, with spin approach / radius
momentum_of_centre = approach * height - falling * back
momentum_with_spin = momentum_of_centre + inertia * radius * approach
# a ball turning about the rim has energy L^2 / (2 I), with the sign of the way it turns; the climb left is r - h
climb = gravity * (radius - height)
gripping_margin = momentum_with_spin * sympy.Abs(momentum_with_spin) / (2 * (1 + inertia) * radius**2) - climb
smooth_margin = momentum_of_centre * sympy.Abs(momentum_of_centre) / (2 * radius**2) - climb

# Drift off a straight line under a gentle cross slope, to first order in it. Friction, a_f = g c / (1 + k), points
# against the velocity, so sideways v_y' = g cross_grade / (1 + k) - a_f v_y / v, while forward v' = -a.
resistance, grade, cross_grade, speed_there = symbol("resistance grade cross_grade speed_there")
pull = gravity * cross_grade / (1 + inertia)
slowing = gravity * (resistance + grade) / (1 + inertia)
part = sympy.Symbol("part", positive=True)  # of the slowing that is friction: c / (c + grade)
left = sympy.Symbol("left", positive=True)  # of the speed
scale = pull * speed / slowing
sideways = scale * (left**part - left) / (1 - part)
sideways_level = sympy.limit(sideways, part, 1)
for trial, friction_part in ((sideways, part), (sideways_level, 1)):
    rate = -slowing / speed * sympy.diff(trial, left)  # dv_y/dt
    assert sympy.simplify(rate - pull + friction_part * slowing * trial / (speed * left)) == 0
    assert trial.subs(left, 1) == 0
# the drift is the integral of v_y dt = v_y dv / a over the speeds passed through
fraction = sympy.Symbol("fraction", positive=True)
drift_level = sympy.integrate(sideways_level.subs(left, fraction), (fraction, left, 1)) * speed / slowing
drift_level = drift_level.subs(grade, 0)

# the chance of holing a putt
distance, angle_error, distance_error = symbol("distance angle_error distance_error")
overshoot, overrun = symbol("overshoot overrun")

# a normal variable of mean 0 and unit deviation lies between two bounds
z, low, high = real("z low high")
density = sympy.exp(-(z**2) / 2) / sympy.sqrt(2 * sympy.pi)
chance_between = sympy.integrate(density, (z, low, high))

# direction: half the angle that the hole takes up; at R - r and nearer the ball cannot miss sideways by direction
half_angle = sympy.asin((hole_radius - radius) / sympy.Max(distance, hole_radius - radius))
by_angle = chance_between.subs({low: -half_angle / angle_error, high: half_angle / angle_error})

# distance: the roll lies between the hole and the overrun past it
intended = distance + overshoot
by_distance = chance_between.subs(
    {low: -overshoot / (intended * distance_error), high: (overrun - overshoot) / (intended * distance_error)}
)

LAW = (hole_radius, radius, gravity)

FORMULAS = derived(
    """
# free fall, derived in golfphys/derivations/hole.py
free_fall_capture_speed | Fastest speed in m/s at which a ball falls past the near rim without touching the hole's
  far side.
# Holmes, Am. J. Phys. 59, 129 (1991); off centre Penner, Can. J. Phys. 80, 83 (2002); both from memory
far_rim_capture_speed | Fastest speed in m/s at which a hole takes a ball with the help of its far rim.
# impulse at a dead rim, derived in golfphys/derivations/hole.py
dead_rim_strike | Speed of a centred ball that strikes a dead far rim at an angle; energy to spare (J/kg) to climb out.
# derived in golfphys/derivations/hole.py
side_drift_level | Drift (m) and speed (m/s) off a straight roll with no grade along it, to first order in cross slope.
# Gelman, Model building and expansion for golf putting (Stan case study)
half_angle_of_hole | Greatest angle in rad off the line to the hole's centre at which a putt still passes over the hole.
angle_and_distance_make_probability | Chance that a putt is over the hole in direction and right in distance.
""",
    {"free_fall_capture_speed": {"offset": (-0.06, 0.06)}, "far_rim_capture_speed": {"offset": (-0.08, 0.08)}},
    free_fall_capture_speed=(
        (offset, *LAW),
        ((sympy.Abs(offset) >= hole_radius - radius, sympy.Integer(0)), (sympy.true, free_fall_speed)),
    ),
    far_rim_capture_speed=((offset, hole_radius, centre_capture_speed), far_rim_speed),
    dead_rim_strike=(
        (contact_angle, *LAW, inertia),
        {"speed": approach, "gripping_margin": gripping_margin, "smooth_margin": smooth_margin},
    ),
    side_drift_level=(
        (speed, speed_there, resistance, cross_grade, gravity, inertia),
        ((left, speed_there / speed),),
        {"drift": drift_level, "sideways_speed": sideways_level.subs(grade, 0)},
    ),
    half_angle_of_hole=((distance, hole_radius, radius), half_angle),
    angle_and_distance_make_probability=(
        (distance, angle_error, distance_error, overshoot, overrun, hole_radius, radius),
        by_angle * by_distance,
    ),
)
