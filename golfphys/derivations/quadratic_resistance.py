"""Rolling along a straight path with resistance that grows with the square of speed, c0 + c2 v^2.

From chapter `rolling`, with A = g cos(alpha)/(1 + k) and b = c0 + grade,

    dv/dt = -A (b + c2 v^2),      d(v^2)/ds = -2 A (b + c2 v^2).

The second is linear in v^2. The first turns like a clock hand: v = sqrt(b/c2) tan(theta - q), q = A sqrt(b c2) t,
which becomes hyperbolic where b c2 is negative; only q^2 appears below, and every form goes smoothly to the constant
law's as c2 goes to 0.

A ball that stops, stays. What never stops has infinite stopping distance and time. Where c2 is negative, a ball fast
enough to have no resistance left runs away to any speed within a finite time: the speed then is infinite.
"""

import sympy
from sympy.codegen.cfunctions import expm1, log1p

from golfphys.derivations.writer import Formula, sourced, symbol

speed, distance, time = symbol("speed"), symbol("distance"), symbol("time")
resistance, grade, gravity, inertia = symbol("resistance"), symbol("grade"), symbol("gravity"), symbol("inertia")
quadratic = symbol("resistance_quadratic")
ARGUMENTS = (speed, resistance, quadratic, grade, gravity, inertia)

SOURCE = "energy definition of rolling resistance, Am. J. Phys. 90, 648 (2022), taken as quadratic in speed"
ZERO, ONE = sympy.Float(0), sympy.Float(1)

b, pull, excess, run, decayed = sympy.symbols("level_resistance pull excess run decayed", real=True)
shape, lasting, stop, squared = sympy.symbols("shape lasting stop_time speed_squared", real=True)
turn_squared, sine, cosine, half_sine = sympy.symbols("turn_squared sine cosine half_sine", real=True)
grown, grown_shape, advance, below = sympy.symbols("grown grown_shape advance below", real=True)

level = ((pull, gravity / (sympy.sqrt(1 + grade**2) * (1 + inertia))), (b, resistance + grade))
runs_on = sympy.Or(b <= 0, b + quadratic * speed**2 <= 0)

# To rest: x = c2 v^2/b; ln(1 + x)/x and atan(sqrt x)/sqrt x are the means of 1/(1 + u) and 1/(1 + u^2) on the way.
to_rest = (*level, (excess, ((runs_on, ZERO), (sympy.true, quadratic * speed**2 / b))))
log_shape = ((sympy.Eq(excess, 0), ONE), (sympy.true, log1p(excess) / excess))
angle_shape = (
    (excess > 0, sympy.atan(sympy.sqrt(excess)) / sympy.sqrt(excess)),
    (excess < 0, sympy.atanh(sympy.sqrt(-excess)) / sympy.sqrt(-excess)),
    (sympy.true, ONE),
)
stopping_distance = speed**2 / (2 * pull * b) * shape
stopping_time = speed / (pull * b) * lasting

# In distance: v^2 + b/c2 decays as exp(-y), y = 2 A c2 s.
in_distance = (
    *level,
    (run, 2 * pull * quadratic * distance),
    (decayed, ((sympy.Eq(run, 0), ONE), (sympy.true, -expm1(-run) / run))),
    (squared, speed**2 * sympy.exp(-run) - 2 * pull * b * distance * decayed),
)

# The speed that just rolls a distance, from the same: (b/c2) (exp(y) - 1).
needed = (
    *level,
    (run, 2 * pull * quadratic * distance),
    (decayed, ((sympy.Eq(run, 0), ONE), (sympy.true, expm1(run) / run))),
    (squared, 2 * pull * b * distance * decayed),
)

# In time: tan(theta - q) by its addition theorem, and the distance as the log of cos(theta - q)/cos(theta).
p, m = sympy.sqrt(turn_squared), sympy.sqrt(-turn_squared)
in_time = (
    *to_rest,
    (lasting, angle_shape),
    (stop, ((runs_on, sympy.oo), (sympy.true, stopping_time))),
    (turn_squared, pull**2 * b * quadratic * time**2),
    (sine, ((turn_squared > 0, sympy.sin(p) / p), (turn_squared < 0, sympy.sinh(m) / m), (sympy.true, ONE))),
    (cosine, ((turn_squared > 0, sympy.cos(p)), (sympy.true, sympy.cosh(m)))),
    (below, cosine + pull * quadratic * speed * time * sine),
)
speed_then = (speed * cosine - pull * b * time * sine) / below
half = (
    half_sine,
    ((turn_squared > 0, 2 * sympy.sin(p / 2) / p), (turn_squared < 0, 2 * sympy.sinh(m / 2) / m), (sympy.true, ONE)),
)
# cos q - 1 + (v/V) sin q, over A c2: what the log grows from
advanced = (advance, time * (speed * sine - pull * b * time * half_sine**2 / 2))
growth = (
    (grown, pull * quadratic * advance),
    (grown_shape, ((sympy.Or(sympy.Eq(grown, 0), grown <= -1), ONE), (sympy.true, log1p(grown) / grown))),
)

FORMULAS = sourced(
    SOURCE,
    Formula(
        name="stopping_distance",
        arguments=ARGUMENTS,
        definitions=(*to_rest, (shape, log_shape)),
        cases=((runs_on, sympy.oo), (sympy.true, stopping_distance)),
        summary="Distance in m a ball rolls to rest under c0 + c2 v^2; infinite where it never stops.",
    ),
    Formula(
        name="stopping_time",
        arguments=ARGUMENTS,
        definitions=(*to_rest, (lasting, angle_shape)),
        cases=((runs_on, sympy.oo), (sympy.true, stopping_time)),
        summary="Time in s a ball takes to roll to rest under c0 + c2 v^2; infinite where it never stops.",
    ),
    Formula(
        name="speed_at_distance",
        arguments=(distance, *ARGUMENTS),
        definitions=in_distance,
        cases=((squared <= 0, ZERO), (sympy.true, sympy.sqrt(squared))),
        summary="Speed in m/s after rolling a distance under c0 + c2 v^2; 0 where the ball stops short of it.",
    ),
    Formula(
        name="speed_at_time",
        arguments=(time, *ARGUMENTS),
        definitions=in_time,
        cases=((time >= stop, ZERO), (below <= 0, sympy.oo), (sympy.true, speed_then)),
        summary="Speed in m/s after rolling for a time under c0 + c2 v^2; 0 once the ball has stopped.",
    ),
    Formula(
        name="distance_at_time",
        arguments=(time, *ARGUMENTS),
        definitions=(*in_time, (shape, log_shape), half, advanced, *growth),
        cases=((time >= stop, stopping_distance), (below <= 0, sympy.oo), (sympy.true, advance * grown_shape)),
        summary="Distance in m rolled after a time under c0 + c2 v^2; the stopping distance once the ball has stopped.",
    ),
    Formula(
        name="speed_for_distance",
        arguments=(distance, *ARGUMENTS[1:]),
        definitions=needed,
        cases=((squared <= 0, ZERO), (sympy.true, sympy.sqrt(squared))),
        summary="Speed in m/s with which a ball just rolls a distance; 0 where any speed takes it further.",
    ),
)
