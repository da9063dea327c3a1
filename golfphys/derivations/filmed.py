"""How far along its path a filmed ball is: what a trace of distance against time is compared with.

**Across a plane, constant resistance.** In the stage of the roll (chapter *plane*) the speed of the ball is the sum of
two parts that decay by themselves, P exp(-(c - sigma) eta) + M exp(-(c + sigma) eta), and d(time) = |v| d(eta)/A,
d(distance) = |v|^2 d(eta)/A along the path, whichever way it turns. Both integrals are sums of exponentials.

**Straight, resistance linear in speed.** With s the slope along the path and p = g cos(alpha)/(1 + k),

    dv/dt = -p (c0 + s + c1 v),

a linear equation: the speed decays towards -(c0 + s)/c1, which it never reaches because the ball stops on its way.

**Skidding, straight.** Friction mu brakes by g (mu + s) cos(alpha) however the ball spins, while the slip of its
contact dies at mu g cos(alpha) (1 + 1/k) (friction brakes the ball and turns it; the slope does not turn it, so on a
slope this is the rate to first order in the grade). A ball that starts with slip u skids for u over that rate.
"""

import sympy
from sympy.codegen.cfunctions import expm1, log1p

from golfphys.derivations.writer import Formula, sourced, symbol

speed, time, stage = symbol("speed"), symbol("time"), symbol("stage")
resistance, gravity, inertia = symbol("resistance"), symbol("gravity"), symbol("inertia")
linear, grade, friction = symbol("resistance_linear"), symbol("grade"), symbol("friction")
grade_x, grade_y = symbol("grade_x"), symbol("grade_y")

SOURCE = "constant or linear rolling resistance and Coulomb friction; golfphys/derivations/filmed.py"

# across a plane, the ball sent off along x
steepness, pull = sympy.Symbol("steepness", positive=True), sympy.Symbol("pull", positive=True)
eta = sympy.Symbol("eta", positive=True)
with_fall, against_fall = sympy.symbols("with_fall against_fall", real=True)
definitions = (
    (steepness, sympy.sqrt(grade_x**2 + grade_y**2)),
    (pull, gravity / ((1 + inertia) * sympy.sqrt(1 + steepness**2))),
    # down-fall speed is -(grade . v)/steepness; the tiny number keeps the level defined, where the parts only add up
    (with_fall, speed * (1 - grade_x / (steepness + sympy.Float("1e-300"))) / 2),
    (against_fall, speed - with_fall),
)
gentle, sharp = resistance - steepness, resistance + steepness


def _gone(rate: sympy.Expr) -> sympy.Expr:
    """Integrate exp(-rate eta) from 0 to the stage reached, rate > 0."""
    return -expm1(-rate * stage) / rate


time_there = (with_fall * _gone(gentle) + against_fall * _gone(sharp)) / pull
way_there = (
    with_fall**2 * _gone(2 * gentle)
    + 2 * with_fall * against_fall * _gone(2 * resistance)
    + against_fall**2 * _gone(2 * sharp)
) / pull
speed_there = with_fall * sympy.exp(-gentle * stage) + against_fall * sympy.exp(-sharp * stage)

# straight, linear law: solve dv/dt = -p (c0 + s + c1 v), v(0) = speed; then the distance
cosine = 1 / sympy.sqrt(1 + grade**2)
slowing = sympy.Symbol("slowing", positive=True)  # p c1
held_back = sympy.Symbol("held_back", positive=True)  # (c0 + s)/c1, a speed
t = sympy.Symbol("t", positive=True)
v = sympy.Function("v")
law = sympy.dsolve(sympy.Eq(v(t).diff(t), -slowing * (held_back + v(t))), v(t), ics={v(0): speed}).rhs
way_linear = sympy.integrate(sympy.expand(law), (t, 0, time))
_shape = (speed + held_back) * -expm1(-slowing * time) / slowing - held_back * time
if sympy.simplify(way_linear - _shape.rewrite(sympy.exp)) != 0:
    raise AssertionError("the distance under a linear law is not what its differential equation says")
stop_linear = sympy.solve(sympy.Eq(law, 0), t)[0]
_stop_shape = sympy.log(1 + speed / held_back) / slowing
if sympy.simplify(sympy.expand_log(stop_linear - _stop_shape, force=True)) != 0:
    raise AssertionError("the stop under a linear law is not what its differential equation says")

FORMULAS = sourced(
    SOURCE,
    Formula(
        name="turning_roll",
        arguments=(stage, speed, resistance, grade_x, grade_y, gravity, inertia),
        definitions=definitions,
        returns={"time": time_there, "distance": way_there, "speed": speed_there},
        summary="Time (s), distance (m) and speed (m/s) at a stage of a roll along x; needs resistance > steepness.",
        ranges={"resistance": (0.06, 0.2), "grade_x": (-0.03, 0.03), "grade_y": (-0.03, 0.03), "stage": (0.0, 40.0)},
    ),
    Formula(
        name="linear_roll",
        arguments=(time, speed, resistance, linear, grade, gravity, inertia),
        definitions=((slowing, gravity * linear * cosine / (1 + inertia)), (held_back, (resistance + grade) / linear)),
        returns={"distance": _shape, "stop": log1p(speed / held_back) / slowing},
        summary="Way (m) after `time` before the stop, and when it stops (s), straight, linear law; growth not zero.",
        ranges={"resistance": (0.05, 0.2), "resistance_linear": (0.005, 0.03), "time": (0.01, 1.0)},
    ),
    Formula(
        name="skid_rates",
        arguments=(friction, grade, gravity, inertia),
        returns={
            "braking": gravity * (friction + grade) * cosine,
            "slip_rate": gravity * friction * cosine * (1 + inertia) / inertia,
        },
        summary="Deceleration (m/s^2) of a ball skidding forward, and rate (m/s^2) at which its contact's slip dies.",
    ),
)
