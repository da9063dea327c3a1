"""Rolling across a plane with resistance that changes with speed and heading.

Chapter `plane` found that in the stage of the roll, d(eta) = A dt / |v|, every law c(v, direction) gives

    d(vec v)/d(eta) = sigma |v| e - c vec v,      d|v|/d(eta) = sigma (vec v . e) - c |v|,

so P = (|v| + u)/2, M = (|v| - u)/2 and the cross-slope speed w all lose the same part, c d(eta), beyond what the slope
does to them. Their ratios, hence the direction of travel, do not depend on the resistance at all: at a given stage
every ball started in the same direction has turned by the same angle. Resistance sets only how fast it still is.

So the motion under a constant base resistance c_b gives the directions under any law; and in the stage coming to rest
is smooth, for the stop lies at eta = infinity, where everything has decayed.
"""

import sympy

from golfphys.core.resistance import TERMS
from golfphys.derivations.writer import Formula, symbol

stage, velocity_x, velocity_y = symbol("stage"), symbol("velocity_x"), symbol("velocity_y")
grade_x, grade_y, base = symbol("grade_x"), symbol("grade_y"), symbol("base_resistance")
constant = symbol("resistance")
terms = tuple((symbol(f"resistance_{term.name}"), sympy.nsimplify(term.power)) for term in TERMS)
coefficients = (constant, *(coefficient for coefficient, _ in terms))
grain_x, grain_y, speed = symbol("grain_x"), symbol("grain_y"), symbol("speed")
gravity, inertia = symbol("gravity"), symbol("inertia")
direction_x, direction_y = symbol("direction_x"), symbol("direction_y")

SOURCE = "constant resistance on a plane (chapter plane) with resistance as a function of speed and heading"

# the base motion; `tiny` keeps e and the direction defined on the level and at rest
tiny, steepness = sympy.Symbol("tiny", positive=True), sympy.Symbol("steepness", positive=True)
e_x, e_y, v, u = (sympy.Symbol(name, real=True) for name in ("fall_x", "fall_y", "start_speed", "fall_speed"))
with_fall, against_fall, lost, speed_then, along = (
    sympy.Symbol(name, real=True) for name in ("with_fall", "against_fall", "lost", "speed_then", "along")
)
motion = (
    (tiny, sympy.Float("1e-300")),
    (steepness, sympy.sqrt(grade_x**2 + grade_y**2 + tiny)),
    (e_x, -grade_x / steepness),
    (e_y, -grade_y / steepness),
    (v, sympy.sqrt(velocity_x**2 + velocity_y**2)),
    (u, velocity_x * e_x + velocity_y * e_y),
    (with_fall, (v + u) / 2 * sympy.exp(-(base - steepness) * stage)),
    (against_fall, (v - u) / 2 * sympy.exp(-(base + steepness) * stage)),
    (lost, sympy.exp(-base * stage)),
    (speed_then, with_fall + against_fall),
    (along, with_fall - against_fall),
)
course = {
    "base_speed": speed_then,
    "direction_x": (e_x * along + (velocity_x - e_x * u) * lost) / (speed_then + tiny),
    "direction_y": (e_y * along + (velocity_y - e_y * u) * lost) / (speed_then + tiny),
}


def grainless(at: sympy.Expr, more: int = 0) -> sympy.Expr:
    """Return the resistance at a speed without grain, times the speed to a power `more`."""
    return constant * at**more + sum(coefficient * at ** (power + more) for coefficient, power in terms)


law = grainless(speed) * (1 - grain_x * direction_x - grain_y * direction_y)

# Velocity, position and time on any ground, per stage. Its curvature is left out (second order in the slope).
pull, resistance_there = sympy.Symbol("pull", positive=True), sympy.Symbol("resistance_there", real=True)
on_ground = {
    "velocity_x_rate": -(grade_x * v + resistance_there * velocity_x),
    "velocity_y_rate": -(grade_y * v + resistance_there * velocity_y),
    "x_rate": velocity_x * v / pull,
    "y_rate": velocity_y * v / pull,
    "time_rate": v / pull,
}
law_on_ground = (grainless(v, 1) - grainless(v) * (grain_x * velocity_x + grain_y * velocity_y)) / (v + tiny)

FORMULAS = (
    Formula(
        name="resistance_at",
        arguments=(speed, direction_x, direction_y, *coefficients, grain_x, grain_y),
        returns=law,
        summary="Coefficient of rolling resistance at a speed and in a direction of travel.",
        source="resistance as a polynomial in speed, times a factor for grain; no published magnitudes",
    ),
    Formula(
        name="greatest_resistance",
        arguments=(speed, *coefficients),
        returns=abs(constant) + sum(abs(coefficient) * speed**power for coefficient, power in terms),
        summary="What the coefficient of rolling resistance cannot exceed at a speed, without grain.",
        source="resistance as a polynomial in speed",
    ),
    Formula(
        name="course",
        arguments=(stage, velocity_x, velocity_y, base, grade_x, grade_y),
        definitions=motion,
        returns=course,
        summary="Speed in m/s under the base resistance, and direction of travel under any, at a stage of a roll.",
        source=SOURCE,
    ),
    Formula(
        name="ground_rates",
        arguments=(*(velocity_x, velocity_y, *coefficients, grain_x, grain_y), *(grade_x, grade_y, gravity, inertia)),
        definitions=(
            (tiny, sympy.Float("1e-300")),
            (v, sympy.sqrt(velocity_x**2 + velocity_y**2)),
            (resistance_there, law_on_ground),
            (pull, gravity / ((1 + inertia) * sympy.sqrt(1 + grade_x**2 + grade_y**2))),
        ),
        returns=on_ground,
        summary="Rates per stage of velocity (m/s), position (m) and time (s) on ground that rises as given.",
        source=SOURCE,
    ),
)
