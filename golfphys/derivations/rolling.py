"""Rolling along a straight path on a constant grade; the release ramp, green speed, and what readings both ways say.

The coefficient of rolling resistance c is the push needed to keep the ball rolling over the normal force. While a
ball of mass m, radius r and moment of inertia k m r^2 rolls without slipping, its energy is m (1 + k) v^2 / 2; over a
path element ds it loses c m g cos(alpha) ds to the turf and m g sin(alpha) ds to the climb, with
tan(alpha) = grade. So slope adds to resistance, and

    dv/dt = -A (c + grade),      A = g cos(alpha) / (1 + k).

Distances are measured along the ground, as a tape does. A ball that has stopped stays where it is; what never stops
has infinite stopping distance and time.

**Linear in speed**, c0 + c1 v. With b = c0 + grade, which collects what does not depend on speed,

    dv/dt = -A (b + c1 v),      ds = -v dv / (A (b + c1 v)).

The distance to rest is the constant law's times a function of one small number, x = c1 v/b, that goes to 1/2 as c1 goes
to 0, the time times one that goes to 1. Where the first would lose digits near 0 it is given by its power series there,
so that the limit is smooth to rounding.

**Quadratic in speed**, c0 + c2 v^2:

    dv/dt = -A (b + c2 v^2),      d(v^2)/ds = -2 A (b + c2 v^2).

The second is linear in v^2, which gives the distance; the time is the inverse tangent of v sqrt(c2/b), or the inverse
hyperbolic one where c2 is negative. Every form goes smoothly to the constant law's as c2 goes to 0.

Where a ball is meanwhile, and how fast, under a law that grows is read off its path (`golfphys.physics.roll.path`).

**The release ramp.** A ball that rolls in a V-groove rides on two contacts a distance w apart, so that it turns about a
chord: its rolling radius is rho = sqrt(r^2 - (w/2)^2), and it spins at omega = v/rho. Down a run l at angle theta it
gains

    m g l sin(theta) = m v^2/2 + k m r^2 omega^2/2.

It leaves with r omega/v = r/rho above 1, overspin: on the green the skid (chapter `turf`) turns some of it into speed.
Losses in the groove and at its lower end are left out, so this is an upper bound for the release speed.

**Green speed** is the distance S that a released ball rolls on the level: S = (1 + k) v^2/(2 g c) under constant
resistance.

**Both ways.** On a steady grade the ball rolls S_up = D/(c + grade) uphill and S_down = D/(c - grade) downhill, with
one D = (1 + k) v^2 sqrt(1 + grade^2)/(2 g). So 1/S_up + 1/S_down = 2 c/D: the harmonic mean of the two is D/c, without
the grade, whatever the grade: the green speed, but for the factor sqrt(1 + grade^2) of distances along the slope,
2 parts in 10000 at 2 %. The plain mean is D c/(c^2 - grade^2), always longer. And (S_down - S_up)/(S_down + S_up)
is grade/c: the fraction of the slope that never stops a ball.
"""

from typing import Any

import sympy
from sympy.codegen.cfunctions import expm1, log1p

from golfphys.derivations.writer import derived, symbol

speed, distance, time = symbol("speed distance time")
resistance, grade, gravity, inertia = symbol("resistance grade gravity inertia")
linear, quadratic = symbol("resistance_linear resistance_quadratic")

ZERO, ONE = sympy.Float(0), sympy.Float(1)

# --- constant --------------------------------------------------------------------------------------------------------
cosine = 1 / sympy.sqrt(1 + grade**2)
deceleration = gravity * (resistance + grade) * cosine / (1 + inertia)

slowing = sympy.Symbol("slowing", real=True)  # the deceleration, once it is known to be positive
u = sympy.Symbol("u", positive=True)
squared, speed_then = sympy.symbols("speed_squared speed_then", real=True)

# v dv = -deceleration ds from `speed` to rest; dv = -deceleration dt
stopping_distance = sympy.integrate(u, (u, 0, speed)) / slowing
speed_after = speed - slowing * time
distance_after = sympy.factor(sympy.integrate(speed_after.subs(time, u), (u, 0, time)))
slows = ((slowing, deceleration),)
slows_to = (*slows, (speed_then, speed_after))
root_of_squared = ((squared <= 0, ZERO), (sympy.true, sympy.sqrt(squared)))

# what a measured distance shows
resistance_shown = sympy.solve(sympy.Eq(distance, stopping_distance.subs(slowing, deceleration)), resistance)[0]

# --- the ramp, and readings both ways --------------------------------------------------------------------------------
run, angle, spacing, radius, up, down = symbol("ramp_run ramp_angle contact_spacing radius distance_up distance_down")

rolling_radius = sympy.sqrt(radius**2 - spacing**2 / 4)
gained = gravity * run * sympy.sin(angle)
kept = u**2 / 2 + inertia * radius**2 * (u / rolling_radius) ** 2 / 2
release_speed = sympy.solve(sympy.Eq(gained, kept), u)[0]
overspin = radius / rolling_radius

# the groove's flanks touch the ball at right angles to its radii
groove_angle = 2 * sympy.acos(spacing / (2 * radius))

# both ways: solve the two distances for resistance and grade
reach = sympy.Symbol("reach", positive=True)  # D above
c, s = sympy.symbols("c s", real=True)
solution = sympy.solve([sympy.Eq(up * (c + s), reach), sympy.Eq(down * (c - s), reach)], [c, s], dict=True)[0]
two_way_mean = sympy.simplify(reach / solution[c])
share = sympy.simplify(solution[s] / solution[c])

# --- linear ----------------------------------------------------------------------------------------------------------
z = sympy.Symbol("z")
b, pull, excess, shape = sympy.symbols("level_resistance pull excess shape", real=True)


def series_near_zero(function: sympy.Expr, name: sympy.Symbol) -> tuple[sympy.Expr, sympy.Expr]:
    """Return the case |name| < 1/10: the power series of `function` of z about 0, exact to rounding there."""
    terms = sympy.series(function, z, 0, 17).removeO()
    return sympy.Abs(name) < sympy.Float("0.1"), sympy.horner(terms.subs(z, name).evalf(20), wrt=name)


level = ((pull, gravity / (sympy.sqrt(1 + grade**2) * (1 + inertia))), (b, resistance + grade))

# What never stops: a ball that would gain speed at rest, or gains or keeps it now.
linear_runs_on = sympy.Or(b <= 0, b + linear * speed <= 0)

# To rest: x = c1 v/b is the part of resistance that is due to speed over the rest; x - ln(1 + x) and ln(1 + x) are
# the integrals of u/(1 + u) and 1/(1 + u) from 0 to x.
linear_to_rest = (*level, (excess, ((linear_runs_on, ZERO), (sympy.true, linear * speed / b))))
stopping_shape = (
    series_near_zero((z - sympy.log(1 + z)) / z**2, excess),
    (sympy.true, (excess - log1p(excess)) / excess**2),
)
log_shape = ((sympy.Eq(excess, 0), ONE), (sympy.true, log1p(excess) / excess))
linear_distance = speed**2 / (pull * b) * shape

# A filmed roll, before its stop: the solution of dv/dt = -p (h + v), p = A c1 and h = b/c1, and its integral.
growing, held_back, t = sympy.symbols("slowing held_back t", positive=True)
v = sympy.Function("v")
filmed = sympy.dsolve(sympy.Eq(v(t).diff(t), -growing * (held_back + v(t))), v(t), ics={v(0): speed}).rhs
filmed_way = (speed + held_back) * -expm1(-growing * time) / growing - held_back * time
filmed_stop = log1p(speed / held_back) / growing
misses = (
    sympy.integrate(sympy.expand(filmed), (t, 0, time)) - filmed_way.rewrite(sympy.exp),
    sympy.expand_log(sympy.solve(filmed, t)[0] - sympy.log(1 + speed / held_back) / growing, force=True),
)
if any(sympy.simplify(sympy.expand(miss)) != 0 for miss in misses):
    raise AssertionError("distance or stop under a linear law are not what its differential equation says")

# --- quadratic -------------------------------------------------------------------------------------------------------
lasting = sympy.Symbol("lasting", real=True)
quadratic_runs_on = sympy.Or(b <= 0, b + quadratic * speed**2 <= 0)

# To rest: x = c2 v^2/b; ln(1 + x)/x and atan(sqrt x)/sqrt x are the means of 1/(1 + u) and 1/(1 + u^2) on the way.
quadratic_to_rest = (*level, (excess, ((quadratic_runs_on, ZERO), (sympy.true, quadratic * speed**2 / b))))
angle_shape = (
    (excess > 0, sympy.atan(sympy.sqrt(excess)) / sympy.sqrt(excess)),
    (excess < 0, sympy.atanh(sympy.sqrt(-excess)) / sympy.sqrt(-excess)),
    (sympy.true, ONE),
)
quadratic_distance = speed**2 / (2 * pull * b) * shape
quadratic_time = speed / (pull * b) * lasting

# --- the closed forms ------------------------------------------------------------------------------------------------
NAMES = (
    *("stopping_distance", "stopping_time", "speed_at_distance"),
    *("speed_at_time", "distance_at_time", "speed_for_distance"),
)
"""What is derived for the constant law, and the first two for others, in the order in which `along` takes them."""
FIRST = ((speed,), (speed,), (distance, speed), (time, speed), (time, speed), (distance,))


def along(kind: str, term: tuple[sympy.Symbol, ...], *found: tuple[Any, Any]) -> dict[str, Any]:
    """Return the closed forms of a law along a straight path: definitions and cases of each, under its arguments."""
    arguments = [(*first, resistance, *term, grade, gravity, inertia) for first in FIRST]
    return {name + kind: (asked, *one) for name, asked, one in zip(NAMES, arguments, found, strict=False)}


ARGUMENTS = (speed, resistance, grade, gravity, inertia)
FORMULAS = derived(
    """
# energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)
deceleration | Deceleration in m/s^2 of a ball rolling on a grade; negative where the ball gains speed.
resistance_from_distance | Rolling resistance shown by a ball released at `speed` that stops after `distance` on a
  grade.
stopping_distance | Distance in m a ball rolls to rest; infinite where it never stops.
stopping_time | Time in s a ball takes to roll to rest; infinite where it never stops.
speed_at_distance | Speed in m/s after rolling a distance; 0 where the ball stops short of it.
speed_at_time | Speed in m/s after rolling for a time; 0 once the ball has stopped.
distance_at_time | Distance in m rolled after a time; the stopping distance once the ball has stopped.
speed_for_distance | Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further.
# energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed
stopping_distance_linear | Distance in m a ball rolls to rest under c0 + c1 v; infinite where it never stops.
stopping_time_linear | Time in s a ball takes to roll to rest under c0 + c1 v; infinite where it never stops.
# energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed
stopping_distance_quadratic | Distance in m a ball rolls to rest under c0 + c2 v^2; infinite where it never stops.
stopping_time_quadratic | Time in s a ball takes to roll to rest under c0 + c2 v^2; infinite where it never stops.
# constant or linear rolling resistance
linear_roll | Way (m) after `time` before the stop, and when it stops (s), straight, linear law; growth not zero.
# energy of a sphere that rolls on two contacts; run, angle and contacts of the USGA ramp's booklet
release_speed | Speed in m/s of a ball at the foot of a V-grooved ramp without losses.
release_overspin | Rim speed over speed of a ball rolling in a V-groove: 1 is rolling on a plane.
groove_angle | Angle in rad between the flanks of a V-groove that a ball touches at contacts this far apart.
# Brede, Agronomy Journal 83, 425 (1991) for the mean; derived from chapter rolling
two_way_mean | Distance in m on the level from distances up and down one slope: their harmonic mean.
slope_share | Grade over resistance from distances up and down one slope: at 1 no ball stops.
""",
    {"linear_roll": {"resistance": (0.05, 0.2), "resistance_linear": (0.005, 0.03), "time": (0.01, 1.0)}},
    deceleration=(ARGUMENTS[1:], deceleration),
    resistance_from_distance=((distance, speed, grade, gravity, inertia), resistance_shown),
    **along(
        *("", ()),
        (slows, ((slowing <= 0, sympy.oo), (sympy.true, stopping_distance))),
        (slows, ((slowing <= 0, sympy.oo), (sympy.true, speed / slowing))),
        ((*slows, (squared, speed**2 - 2 * slowing * distance)), root_of_squared),
        (slows_to, ((speed_then <= 0, ZERO), (sympy.true, speed_then))),
        (slows_to, ((speed_then < 0, stopping_distance), (sympy.true, distance_after))),
        ((*slows, (squared, 2 * slowing * distance)), root_of_squared),
    ),
    **along(
        *("_linear", (linear,)),
        ((*linear_to_rest, (shape, stopping_shape)), ((linear_runs_on, sympy.oo), (sympy.true, linear_distance))),
        ((*linear_to_rest, (shape, log_shape)), ((linear_runs_on, sympy.oo), (sympy.true, speed / (pull * b) * shape))),
    ),
    **along(
        *("_quadratic", (quadratic,)),
        ((*quadratic_to_rest, (shape, log_shape)), ((quadratic_runs_on, sympy.oo), (sympy.true, quadratic_distance))),
        ((*quadratic_to_rest, (lasting, angle_shape)), ((quadratic_runs_on, sympy.oo), (sympy.true, quadratic_time))),
    ),
    linear_roll=(
        (time, speed, resistance, linear, grade, gravity, inertia),
        ((growing, gravity * linear * cosine / (1 + inertia)), (held_back, (resistance + grade) / linear)),
        {"distance": filmed_way, "stop": filmed_stop},
    ),
    release_speed=((run, angle, spacing, radius, gravity, inertia), release_speed),
    release_overspin=((spacing, radius), overspin),
    groove_angle=((spacing, radius), groove_angle),
    two_way_mean=((up, down), two_way_mean),
    slope_share=((up, down), share),
)
