"""Rolling along a straight path on a constant grade: resistance constant, linear or quadratic in speed.

The coefficient of rolling resistance c is the push needed to keep the ball rolling over the normal force. While a
ball of mass m, radius r and moment of inertia k m r^2 rolls without slipping, its energy is m (1 + k) v^2 / 2; over a
path element ds it loses c m g cos(alpha) ds to the turf and m g sin(alpha) ds to the climb, with
tan(alpha) = grade. So slope adds to resistance, and

    dv/dt = -A (c + grade),      A = g cos(alpha) / (1 + k).

Distances are measured along the ground, as a tape does. A ball that has stopped stays where it is; what never stops
has infinite stopping distance and time.

**How much farther for a little more.** The distance to rest is d = (1 + k) v^2 sqrt(1 + s^2) / (2 g (c + s)), s the
grade: a little more resistance takes d / (c + s) off for each unit, a little more grade nearly the same, and speed adds
2 d / v. Seen from green speed (the roll S of a ball that a ramp releases at v0 on the level, where
c = (1 + k) v0^2 / (2 g S)), the same roll grows with S. These derivatives hold where the ball stops; elsewhere they are
infinite, as the roll is.

**Linear in speed**, c0 + c1 v. With b = c0 + grade, which collects what does not depend on speed,

    dv/dt = -A (b + c1 v),      ds = -v dv / (A (b + c1 v)).

Each closed form is written as the constant law's times a function of one small number that goes to 1 or 1/2 as c1
goes to 0. Where such a function would lose digits near 0 it is given by its power series there, so that the limit is
smooth to rounding. The speed at a distance asks for the inverse of x - ln(1 + x), a branch of Lambert's function W:
1 + x = -W(-exp(-1 - delta)). It is written as its power series about the branch point, and farther off as four steps
of Halley's method in ln|1 + x| from a start so close that they end at rounding.

**Quadratic in speed**, c0 + c2 v^2:

    dv/dt = -A (b + c2 v^2),      d(v^2)/ds = -2 A (b + c2 v^2).

The second is linear in v^2. The first turns like a clock hand: v = sqrt(b/c2) tan(theta - q), q = A sqrt(b c2) t,
which becomes hyperbolic where b c2 is negative; only q^2 appears below, and every form goes smoothly to the constant
law's as c2 goes to 0. Where c2 is negative, a ball fast enough to have no resistance left runs away to any speed
within a finite time: the speed then is infinite.
"""

from typing import Any

import sympy
from sympy.codegen.cfunctions import expm1, log1p

from golfphys.derivations.writer import Formula, sourced, symbol

speed, distance, time = symbol("speed"), symbol("distance"), symbol("time")
resistance, grade, gravity, inertia = symbol("resistance"), symbol("grade"), symbol("gravity"), symbol("inertia")
linear, quadratic = symbol("resistance_linear"), symbol("resistance_quadratic")

SOURCE = "energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022)"
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
roll = stopping_distance.subs(slowing, deceleration)
resistance_shown = sympy.solve(sympy.Eq(distance, roll), resistance)[0]

# derivatives of the distance to rest; dS/dc of the ramp's roll on the level turns that by resistance into green speed
release_speed = symbol("release_speed")
by_resistance = sympy.factor(sympy.diff(roll, resistance))
by_green_speed = sympy.factor(by_resistance / sympy.diff(roll.subs({speed: release_speed, grade: 0}), resistance))

# --- linear ----------------------------------------------------------------------------------------------------------
z = sympy.Symbol("z")
b, pull, excess, lapse = sympy.symbols("level_resistance pull excess lapse", real=True)
shape, decayed, decayed_twice = sympy.symbols("shape decayed decayed_twice", real=True)


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

# In time the law is linear: v = v0 exp(-y) - (b/c1) (1 - exp(-y)) with y = A c1 t, and s is its integral.
linear_in_time = (
    *level,
    (lapse, pull * linear * time),
    (decayed, ((sympy.Eq(lapse, 0), ONE), (sympy.true, -expm1(-lapse) / lapse))),
    (speed_then, speed * sympy.exp(-lapse) - pull * b * time * decayed),
)
twice = (series_near_zero((z - 1 + sympy.exp(-z)) / z**2, lapse), (sympy.true, (lapse + expm1(-lapse)) / lapse**2))
stopped_excess = (excess, ((speed_then < 0, linear * speed / b), (sympy.true, ZERO)))

# In distance, with 1 + x > 0: F(x) = (x - ln(1 + x))/x^2 makes 2 F v^2 fall at the steady rate 2 A b, as v^2 does
# under the constant law. Let it be w^2 where the ball has got to, and e = c1 w/b; then x - ln(1 + x) = e^2/2.
w_squared, e = sympy.symbols("reduced_speed_squared branch_distance", real=True)
side, aim, start = sympy.symbols("side aim log_ratio_0", real=True)


def inverse_series(terms: int) -> sympy.Expr:
    """Return x/e as a power series in e, from x - ln(1 + x) = e^2/2, that is x dx/de = e (1 + x)."""
    a = [sympy.Integer(0), sympy.Integer(1)]
    for n in range(2, terms + 1):  # the coefficient of e^n on both sides: sum_i a_i (n+1-i) a_(n+1-i) = a_(n-1)
        known = sum(a[i] * (n + 1 - i) * a[n + 1 - i] for i in range(2, n))
        a.append((a[n - 1] - known) / (n + 1))
    return sympy.horner(sum(a[i] * e ** (i - 1) for i in range(1, terms + 1)).evalf(20), wrt=e)


# With 1 + x < 0 (faster than the speed at which resistance and slope balance) ln|1 + x| takes the place of ln(1 + x).
# Either way l = ln|1 + x| solves side exp(l) - l = aim.
FAR = sympy.Float("0.3")
ratio_beyond = -(1 + excess)  # |1 + x| on the far side
aim_beyond = -(ratio_beyond + sympy.log(ratio_beyond) + pull * distance * linear**2 / b)
starting_point = (
    (sympy.And(side < 0, aim >= -1), -aim),
    (side < 0, sympy.log(sympy.Max(-aim, ONE))),
    (e >= FAR, log1p(e + e**2 / 3)),
    (e <= -FAR, e - e**2 / 6 + e**3 / 36),
    (sympy.true, ONE),
)


def halley(steps: int) -> tuple[tuple[sympy.Symbol, sympy.Expr], ...]:
    """Return steps of Halley's method for side exp(l) - l = aim as definitions."""
    definitions, last = [], start
    for number in range(1, steps + 1):
        grown, following = sympy.Symbol(f"ratio_{number}"), sympy.Symbol(f"log_ratio_{number}", real=True)
        miss, slope = grown - last - aim, grown - 1
        definitions.append((grown, side * sympy.exp(last)))
        definitions.append((following, last - 2 * miss * slope / (2 * slope**2 - miss * grown)))
        last = following
    return tuple(definitions)


steps = halley(4)
log_ratio = steps[-1][0]
branch = linear * sympy.sqrt(w_squared) / b
linear_in_distance = (
    *level,
    (excess, ((sympy.Eq(b, 0), ZERO), (sympy.true, linear * speed / b))),
    (side, ((excess < -1, -ONE), (sympy.true, ONE))),
    (shape, (stopping_shape[0], (excess > -1, stopping_shape[1][1]), (sympy.true, ZERO))),
    (w_squared, 2 * shape * speed**2 - 2 * pull * b * distance),
    (e, ((sympy.And(w_squared > 0, side > 0, sympy.Ne(b, 0)), branch), (sympy.true, ZERO))),
    (aim, ((side > 0, 1 + e**2 / 2), (sympy.true, aim_beyond))),
    (start, starting_point),
    *steps,
)
speed_there = (
    (sympy.Eq(b, 0), sympy.Max(speed - pull * linear * distance, ZERO)),
    (sympy.Eq(excess, -1), speed),
    (side < 0, b * (-sympy.exp(log_ratio) - 1) / linear),
    (w_squared <= 0, ZERO),
    (sympy.Abs(e) < FAR, sympy.sqrt(w_squared) * inverse_series(26)),
    (sympy.true, b * expm1(log_ratio) / linear),
)

# The speed that just rolls a distance is the speed with that distance left: w^2 = 2 A b s.
for_distance = (
    *level,
    (w_squared, 2 * pull * b * distance),
    (side, ONE),
    (e, ((w_squared > 0, branch), (sympy.true, ZERO))),
    (aim, 1 + e**2 / 2),
    (start, starting_point[2:]),
    *steps,
)

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
run, lasting, stop, turn_squared = sympy.symbols("run lasting stop_time turn_squared", real=True)
sine, cosine_then, half_sine, below = sympy.symbols("sine cosine half_sine below", real=True)
grown, grown_shape, advance = sympy.symbols("grown grown_shape advance", real=True)
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

# In distance: v^2 + b/c2 decays as exp(-y), y = 2 A c2 s. The speed that just rolls a distance: (b/c2) (exp(y) - 1).
over = (*level, (run, 2 * pull * quadratic * distance))
quadratic_in_distance = (
    *over,
    (decayed, ((sympy.Eq(run, 0), ONE), (sympy.true, -expm1(-run) / run))),
    (squared, speed**2 * sympy.exp(-run) - 2 * pull * b * distance * decayed),
)
needed = (
    *over,
    (decayed, ((sympy.Eq(run, 0), ONE), (sympy.true, expm1(run) / run))),
    (squared, 2 * pull * b * distance * decayed),
)

# In time: tan(theta - q) by its addition theorem, and the distance as the log of cos(theta - q)/cos(theta).
p, m = sympy.sqrt(turn_squared), sympy.sqrt(-turn_squared)
quadratic_in_time = (
    *quadratic_to_rest,
    (lasting, angle_shape),
    (stop, ((quadratic_runs_on, sympy.oo), (sympy.true, quadratic_time))),
    (turn_squared, pull**2 * b * quadratic * time**2),
    (sine, ((turn_squared > 0, sympy.sin(p) / p), (turn_squared < 0, sympy.sinh(m) / m), (sympy.true, ONE))),
    (cosine_then, ((turn_squared > 0, sympy.cos(p)), (sympy.true, sympy.cosh(m)))),
    (below, cosine_then + pull * quadratic * speed * time * sine),
)
quadratic_speed = (speed * cosine_then - pull * b * time * sine) / below
# cos q - 1 + (v/V) sin q, over A c2: what the log grows from
quadratic_far = (
    (shape, log_shape),
    (
        half_sine,
        (
            (turn_squared > 0, 2 * sympy.sin(p / 2) / p),
            (turn_squared < 0, 2 * sympy.sinh(m / 2) / m),
            (sympy.true, ONE),
        ),
    ),
    (advance, time * (speed * sine - pull * b * time * half_sine**2 / 2)),
    (grown, pull * quadratic * advance),
    (grown_shape, ((sympy.Or(sympy.Eq(grown, 0), grown <= -1), ONE), (sympy.true, log1p(grown) / grown))),
)

# --- the closed forms ------------------------------------------------------------------------------------------------
SAYS = {
    "stopping_distance": "Distance in m a ball rolls to rest{}; infinite where it never stops.",
    "stopping_time": "Time in s a ball takes to roll to rest{}; infinite where it never stops.",
    "speed_at_distance": "Speed in m/s after rolling a distance{}; 0 where the ball stops short of it.",
    "speed_at_time": "Speed in m/s after rolling for a time{}; 0 once the ball has stopped.",
    "distance_at_time": "Distance in m rolled after a time{}; the stopping distance once the ball has stopped.",
    "speed_for_distance": "Speed in m/s with which a ball just rolls a distance{}; 0 where any speed takes it further.",
}
"""What is derived for each law, in the order in which `along` takes definitions and cases."""
FIRST = ((speed,), (speed,), (distance, speed), (time, speed), (time, speed), (distance,))


def along(kind: str, term: tuple[sympy.Symbol, ...], under: str, *found: tuple[Any, Any]) -> list[Formula]:
    """Return the closed forms of a law along a straight path."""
    return [
        Formula(
            name=name + kind,
            arguments=(*first, resistance, *term, grade, gravity, inertia),
            definitions=definitions,
            cases=cases,
            summary=summary.format(under),
            source=SOURCE + (f", taken as {kind[1:]} in speed" if kind else ""),
        )
        for (name, summary), first, (definitions, cases) in zip(SAYS.items(), FIRST, found, strict=True)
    ]


ARGUMENTS = (speed, resistance, grade, gravity, inertia)
FORMULAS = sourced(
    SOURCE,
    Formula(
        name="deceleration",
        arguments=ARGUMENTS[1:],
        returns=deceleration,
        summary="Deceleration in m/s^2 of a ball rolling on a grade; negative where the ball gains speed.",
    ),
    Formula(
        name="resistance_from_distance",
        arguments=(distance, speed, grade, gravity, inertia),
        returns=resistance_shown,
        summary="Rolling resistance shown by a ball released at `speed` that stops after `distance` on a grade.",
    ),
    *along(
        *("", (), ""),
        (slows, ((slowing <= 0, sympy.oo), (sympy.true, stopping_distance))),
        (slows, ((slowing <= 0, sympy.oo), (sympy.true, speed / slowing))),
        ((*slows, (squared, speed**2 - 2 * slowing * distance)), root_of_squared),
        (slows_to, ((speed_then <= 0, ZERO), (sympy.true, speed_then))),
        (slows_to, ((speed_then < 0, stopping_distance), (sympy.true, distance_after))),
        ((*slows, (squared, 2 * slowing * distance)), root_of_squared),
    ),
    *along(
        *("_linear", (linear,), " under c0 + c1 v"),
        ((*linear_to_rest, (shape, stopping_shape)), ((linear_runs_on, sympy.oo), (sympy.true, linear_distance))),
        ((*linear_to_rest, (shape, log_shape)), ((linear_runs_on, sympy.oo), (sympy.true, speed / (pull * b) * shape))),
        (linear_in_distance, speed_there),
        (linear_in_time, ((speed_then <= 0, ZERO), (sympy.true, speed_then))),
        (
            (*linear_in_time, stopped_excess, (shape, stopping_shape), (decayed_twice, twice)),
            (
                (speed_then < 0, linear_distance),
                (sympy.true, speed * time * decayed - pull * b * time**2 * decayed_twice),
            ),
        ),
        (for_distance, speed_there[3:]),
    ),
    *along(
        *("_quadratic", (quadratic,), " under c0 + c2 v^2"),
        ((*quadratic_to_rest, (shape, log_shape)), ((quadratic_runs_on, sympy.oo), (sympy.true, quadratic_distance))),
        ((*quadratic_to_rest, (lasting, angle_shape)), ((quadratic_runs_on, sympy.oo), (sympy.true, quadratic_time))),
        (quadratic_in_distance, root_of_squared),
        (quadratic_in_time, ((time >= stop, ZERO), (below <= 0, sympy.oo), (sympy.true, quadratic_speed))),
        (
            (*quadratic_in_time, *quadratic_far),
            ((time >= stop, quadratic_distance), (below <= 0, sympy.oo), (sympy.true, advance * grown_shape)),
        ),
        (needed, root_of_squared),
    ),
    Formula(
        name="linear_roll",
        arguments=(time, speed, resistance, linear, grade, gravity, inertia),
        definitions=((growing, gravity * linear * cosine / (1 + inertia)), (held_back, (resistance + grade) / linear)),
        returns={"distance": filmed_way, "stop": filmed_stop},
        summary="Way (m) after `time` before the stop, and when it stops (s), straight, linear law; growth not zero.",
        source="constant or linear rolling resistance",
        ranges={"resistance": (0.05, 0.2), "resistance_linear": (0.005, 0.03), "time": (0.01, 1.0)},
    ),
    *(
        Formula(
            name=f"roll_per_{name}",
            arguments=(*ARGUMENTS, *more),
            definitions=slows,
            cases=((slowing <= 0, sign * sympy.oo), (sympy.true, derivative)),
            summary=f"Derivative of the distance to rest with respect to {what}.",
        )
        for name, more, derivative, sign, what in (
            ("resistance", (), by_resistance, -1, "rolling resistance, m"),
            ("green_speed", (release_speed,), by_green_speed, 1, "the level roll of a ball from the ramp"),
        )
    ),
)
