"""Rolling along a straight path with resistance that grows linearly with speed, c0 + c1 v.

From chapter `rolling`, with A = g cos(alpha)/(1 + k) and b = c0 + grade, which collects what does not depend on speed,

    dv/dt = -A (b + c1 v),      ds = -v dv / (A (b + c1 v)).

Each closed form is written as the constant law's times a function of one small number that goes to 1 or 1/2 as c1
goes to 0. Where such a function would lose digits near 0 it is given by its power series there, so that the limit is
smooth to rounding.

The speed at a distance asks for the inverse of x - ln(1 + x), a branch of Lambert's function W:
1 + x = -W(-exp(-1 - delta)). It is written as its power series about the branch point, and farther off as four steps
of Halley's method in ln|1 + x| from a start so close that they end at rounding.

A ball that stops, stays. What never stops has infinite stopping distance and time.
"""

import sympy
from sympy.codegen.cfunctions import expm1, log1p

from golfphys.derivations.writer import Formula, sourced, symbol

speed, distance, time = symbol("speed"), symbol("distance"), symbol("time")
resistance, grade, gravity, inertia = symbol("resistance"), symbol("grade"), symbol("gravity"), symbol("inertia")
linear = symbol("resistance_linear")
ARGUMENTS = (speed, resistance, linear, grade, gravity, inertia)

SOURCE = "energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as linear in speed"
ZERO, ONE = sympy.Float(0), sympy.Float(1)

z = sympy.Symbol("z")
b, pull, excess, lapse = sympy.symbols("level_resistance pull excess lapse", real=True)
shape, decayed, decayed_twice, speed_then = sympy.symbols("shape decayed decayed_twice speed_then", real=True)


def series_near_zero(function: sympy.Expr, name: sympy.Symbol) -> tuple[sympy.Expr, sympy.Expr]:
    """Return the case |name| < 1/10: the power series of `function` of z about 0, exact to rounding there."""
    terms = sympy.series(function, z, 0, 17).removeO()
    return sympy.Abs(name) < sympy.Float("0.1"), sympy.horner(terms.subs(z, name).evalf(20), wrt=name)


level = ((pull, gravity / (sympy.sqrt(1 + grade**2) * (1 + inertia))), (b, resistance + grade))

# What never stops: a ball that would gain speed at rest, or gains or keeps it now.
runs_on = sympy.Or(b <= 0, b + linear * speed <= 0)

# To rest: x = c1 v/b is the part of resistance that is due to speed over the rest; x - ln(1 + x) and ln(1 + x) are
# the integrals of u/(1 + u) and 1/(1 + u) from 0 to x.
to_rest = (*level, (excess, ((runs_on, ZERO), (sympy.true, linear * speed / b))))
stopping_shape = (
    series_near_zero((z - sympy.log(1 + z)) / z**2, excess),
    (sympy.true, (excess - log1p(excess)) / excess**2),
)
lasting_shape = ((sympy.Eq(excess, 0), ONE), (sympy.true, log1p(excess) / excess))
stopping_distance = speed**2 / (pull * b) * shape
stopping_time = speed / (pull * b) * shape

# In time the law is linear: v = v0 exp(-y) - (b/c1) (1 - exp(-y)) with y = A c1 t, and s is its integral.
in_time = (
    *level,
    (lapse, pull * linear * time),
    (decayed, ((sympy.Eq(lapse, 0), ONE), (sympy.true, -expm1(-lapse) / lapse))),
    (speed_then, speed * sympy.exp(-lapse) - pull * b * time * decayed),
)
twice = (series_near_zero((z - 1 + sympy.exp(-z)) / z**2, lapse), (sympy.true, (lapse + expm1(-lapse)) / lapse**2))
distance_then = speed * time * decayed - pull * b * time**2 * decayed_twice
stopped_excess = (excess, ((speed_then < 0, linear * speed / b), (sympy.true, ZERO)))

# In distance, with 1 + x > 0: F(x) = (x - ln(1 + x))/x^2 makes 2 F v^2 fall at the steady rate 2 A b, as v^2 does
# under the constant law. Let it be w^2 where the ball has got to, and e = c1 w/b; then x - ln(1 + x) = e^2/2.
w_squared, e = sympy.symbols("reduced_speed_squared branch_distance", real=True)
side, aim = sympy.symbols("side aim", real=True)


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
start = sympy.Symbol("log_ratio_0", real=True)
ratio_beyond = -(1 + excess)  # |1 + x| on the far side
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
in_distance = (
    *level,
    (excess, ((sympy.Eq(b, 0), ZERO), (sympy.true, linear * speed / b))),
    (side, ((excess < -1, -ONE), (sympy.true, ONE))),
    (shape, (stopping_shape[0], (excess > -1, stopping_shape[1][1]), (sympy.true, ZERO))),
    (w_squared, 2 * shape * speed**2 - 2 * pull * b * distance),
    (e, ((sympy.And(w_squared > 0, side > 0, sympy.Ne(b, 0)), linear * sympy.sqrt(w_squared) / b), (sympy.true, ZERO))),
    (
        aim,
        (
            (side > 0, 1 + e**2 / 2),
            (sympy.true, -(ratio_beyond + sympy.log(ratio_beyond) + pull * distance * linear**2 / b)),
        ),
    ),
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
    (e, ((w_squared > 0, linear * sympy.sqrt(w_squared) / b), (sympy.true, ZERO))),
    (aim, 1 + e**2 / 2),
    (start, starting_point[2:]),
    *steps,
)

FORMULAS = sourced(
    SOURCE,
    Formula(
        name="stopping_distance",
        arguments=ARGUMENTS,
        definitions=(*to_rest, (shape, stopping_shape)),
        cases=((runs_on, sympy.oo), (sympy.true, stopping_distance)),
        summary="Distance in m a ball rolls to rest under c0 + c1 v; infinite where it never stops.",
    ),
    Formula(
        name="stopping_time",
        arguments=ARGUMENTS,
        definitions=(*to_rest, (shape, lasting_shape)),
        cases=((runs_on, sympy.oo), (sympy.true, stopping_time)),
        summary="Time in s a ball takes to roll to rest under c0 + c1 v; infinite where it never stops.",
    ),
    Formula(
        name="speed_at_distance",
        arguments=(distance, *ARGUMENTS),
        definitions=in_distance,
        cases=speed_there,
        summary="Speed in m/s after rolling a distance under c0 + c1 v; 0 where the ball stops short of it.",
    ),
    Formula(
        name="speed_at_time",
        arguments=(time, *ARGUMENTS),
        definitions=in_time,
        cases=((speed_then <= 0, ZERO), (sympy.true, speed_then)),
        summary="Speed in m/s after rolling for a time under c0 + c1 v; 0 once the ball has stopped.",
    ),
    Formula(
        name="distance_at_time",
        arguments=(time, *ARGUMENTS),
        definitions=(*in_time, stopped_excess, (shape, stopping_shape), (decayed_twice, twice)),
        cases=((speed_then < 0, stopping_distance), (sympy.true, distance_then)),
        summary="Distance in m rolled after a time under c0 + c1 v; the stopping distance once the ball has stopped.",
    ),
    Formula(
        name="speed_for_distance",
        arguments=(distance, *ARGUMENTS[1:]),
        definitions=for_distance,
        cases=speed_there[3:],
        summary="Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further.",
    ),
)
