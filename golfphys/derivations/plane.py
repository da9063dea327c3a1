"""Rolling across a plane: the path turns towards the fall line, whatever the law of resistance.

While the ball rolls without slipping, friction at the contact makes it answer any push along the plane as a mass
m (1 + k). Two forces push: gravity down the plane, m g sin(alpha), and rolling resistance against the motion,
c m g cos(alpha). With the fall line's unit vector e, the steepest slope tan(alpha) = sigma, and

    A = g cos(alpha) / (1 + k),

the velocity follows  dv/dt = A (sigma e - c v/|v|).

The direction v/|v| makes this awkward in time and simple in the *stage* eta of the roll, d(eta) = A dt / |v|:

    d(vec v)/d(eta) = sigma |v| e - c vec v,        d|v|/d(eta) = sigma (vec v . e) - c |v|.

The second is the first, dotted with v/|v|. Both together are linear: with the speed down the fall line u = vec v . e,
the two halves P = (|v| + u)/2 and M = (|v| - u)/2 and the cross-slope speed each decay by themselves,

    P' = -(c - sigma) P,     M' = -(c + sigma) M,     w' = -c w.

That is the hodograph in closed form for every start, straight up and down the fall line and the level included.
Positions and times are integrals of these exponentials over the stage, since dx = v |v| d(eta) / A, and the distance
along the path that of |v|^2 d(eta) / A, whichever way it turns.

When c > sigma the ball comes to rest as the stage goes to infinity, after a finite time at a finite point. When
c <= sigma it does not (at c = sigma it ends at a steady speed down the fall line: Irodov's problem).

**Resistance that changes with speed and heading.** Every law c(v, direction) gives the same equations, so P, M and w
all lose the same part, c d(eta), beyond what the slope does to them. Their ratios, hence the direction of travel, do
not depend on the resistance at all: at a given stage every ball started in the same direction has turned by the same
angle. Resistance sets only how fast it still is. So the motion under a constant base resistance c_b gives the
directions under any law; and in the stage coming to rest is smooth, for the stop lies at eta = infinity.

Coordinates lie in the plane, as a tape laid on the ground measures them.
"""

import sympy
from sympy.codegen.cfunctions import expm1

from golfphys.core.resistance import TERMS
from golfphys.derivations.writer import components, derived, real, symbol

resistance, gravity, inertia, velocity_x, velocity_y = symbol("resistance gravity inertia velocity_x velocity_y")
grade_x, grade_y, stage = symbol("grade_x grade_y stage")
velocity, grade = sympy.Matrix([velocity_x, velocity_y]), sympy.Matrix([grade_x, grade_y])

# --- constant resistance: the rest point -----------------------------------------------------------------------------
# the start in terms of the fall line: speed, its part down the fall line times the steepness, the steepness squared
v, steepness, pull = sympy.symbols("start_speed steepness pull", positive=True)  # pull is A above
drop = sympy.Symbol("drop")

u = drop / steepness
P, M, c = (v + u) / 2, (v - u) / 2, resistance

# integrals of weight exp(-rate eta) over all stages are weight/rate: along the fall line, across it per unit of
# cross-slope speed, and of time
along = (P**2 / (2 * (c - steepness)) - M**2 / (2 * (c + steepness))) / pull
across = (P / (2 * c - steepness) + M / (2 * c + steepness)) / pull
time_to_rest = (P / (c - steepness) + M / (c + steepness)) / pull

# In vectors: rest = across vec v + (along - across u)/steepness vec s, where vec s = steepness e. Only the square of
# the steepness is left, so that the level and every direction are plain points of one rational function.
squared = sympy.Symbol("steepness_squared")
along_velocity = sympy.factor(sympy.simplify(across)).subs(steepness**2, squared)
along_slope = sympy.factor(sympy.simplify((along - across * u) / steepness)).subs(steepness**2, squared)
time_to_rest = sympy.factor(sympy.simplify(time_to_rest)).subs(steepness**2, squared)
rest = (*(along_velocity * velocity - along_slope * grade), time_to_rest)
start = (
    (v, sympy.sqrt(velocity.dot(velocity))),
    (drop, -grade.dot(velocity)),
    (squared, grade.dot(grade)),
    (pull, gravity / ((1 + inertia) * sympy.sqrt(1 + squared))),
)

# The textbook form, speed by the angle from the fall line: M/P = tan(angle/2)^2 decays as exp(-2 sigma eta).
speed, angle, angle_there, slope = symbol("speed fall_angle fall_angle_there steepness")
turned = sympy.tan(angle_there / 2) / sympy.tan(angle / 2)
speed_by_angle = (
    speed * sympy.cos(angle / 2) ** 2 / sympy.cos(angle_there / 2) ** 2 * sympy.exp((c / slope - 1) * sympy.log(turned))
)

# --- the way of a filmed ball, sent off along x ----------------------------------------------------------------------
with_fall, against_fall = sympy.symbols("with_fall against_fall", real=True)
gentle, sharp = resistance - steepness, resistance + steepness
parted = (
    (steepness, sympy.sqrt(grade.dot(grade))),
    (pull, gravity / ((1 + inertia) * sympy.sqrt(1 + steepness**2))),
    # down-fall speed is -(grade . v)/steepness; the tiny number keeps the level defined, where the parts only add up
    (with_fall, speed * (1 - grade_x / (steepness + sympy.Float("1e-300"))) / 2),
    (against_fall, speed - with_fall),
)


def _gone(rate: sympy.Expr) -> sympy.Expr:
    """Integrate exp(-rate eta) from 0 to the stage reached, rate > 0."""
    return -expm1(-rate * stage) / rate


way = (
    with_fall**2 * _gone(2 * gentle)
    + 2 * with_fall * against_fall * _gone(2 * resistance)
    + against_fall**2 * _gone(2 * sharp)
)

# --- any resistance: directions, and the rates of a roll -------------------------------------------------------------
base, grain_x, grain_y = symbol("base_resistance grain_x grain_y")
terms = tuple((symbol(f"resistance_{term.name}"), sympy.nsimplify(term.power)) for term in TERMS)
coefficients = (resistance, *(coefficient for coefficient, _ in terms))
direction_x, direction_y = symbol("direction_x direction_y")

# the base motion; `tiny` keeps e and the direction defined on the level and at rest
tiny = sympy.Symbol("tiny", positive=True)
start_speed, fall_speed = real("start_speed fall_speed")
e = sympy.Matrix(real("fall_x fall_y"))
lost, speed_then, along_fall = real("lost speed_then along")
tiny_number, speed_of_start = (tiny, sympy.Float("1e-300")), (start_speed, sympy.sqrt(velocity.dot(velocity)))
motion = (
    tiny_number,
    (steepness, sympy.sqrt(grade.dot(grade) + tiny)),
    *zip(e, -grade / steepness, strict=True),
    speed_of_start,
    (fall_speed, velocity.dot(e)),
    (with_fall, (start_speed + fall_speed) / 2 * sympy.exp(-(base - steepness) * stage)),
    (against_fall, (start_speed - fall_speed) / 2 * sympy.exp(-(base + steepness) * stage)),
    (lost, sympy.exp(-base * stage)),
    (speed_then, with_fall + against_fall),
    (along_fall, with_fall - against_fall),
)
there = (e * along_fall + (velocity - e * fall_speed) * lost) / (speed_then + tiny)
course = {"base_speed": speed_then, **components(direction=there)}


def grainless(at: sympy.Expr, more: int = 0) -> sympy.Expr:
    """Return the resistance at a speed without grain, times the speed to a power `more`."""
    return resistance * at**more + sum(coefficient * at ** (power + more) for coefficient, power in terms)


# Velocity, position and time on any ground, per stage. Its curvature is left out (second order in the slope).
resistance_there = sympy.Symbol("resistance_there", real=True)
grain_along = sympy.Matrix([grain_x, grain_y]).dot(velocity)
velocity_rate = -(grade * start_speed + resistance_there * velocity)
RATES = ("velocity_x_rate", "velocity_y_rate", "x_rate", "y_rate", "time_rate")
on_ground = (*velocity_rate, *(velocity * start_speed / pull), start_speed / pull)

FORMULAS = derived(
    """
# Coulomb-like resistance on a plane (Irodov, Problems in General Physics, 1.106), for a rolling sphere
rest_from | Where (m, from the start) and after how long (s) a ball comes to rest; needs resistance > steepness.
speed_at_angle | Speed in m/s where the path has turned to `fall_angle_there` from the fall line; angles in (0, pi).
turning_roll | Time (s), distance (m) and speed (m/s) at a stage of a roll along x; needs resistance > steepness.
# resistance as a polynomial in speed, times a factor for grain; no published magnitudes
resistance_at | Coefficient of rolling resistance at a speed and in a direction of travel.
# resistance as a polynomial in speed
greatest_resistance | What the coefficient of rolling resistance cannot exceed at a speed, without grain.
# constant resistance on a plane with resistance as a function of speed and heading
course | Speed in m/s under the base resistance, and direction of travel under any, at a stage of a roll.
ground_rates | Rates per stage of velocity (m/s), position (m) and time (s) on ground that rises as given.
""",
    {
        "turning_roll": {"resistance": (0.06, 0.2), **components(grade=2 * [(-0.03, 0.03)]), "stage": (0.0, 40.0)},
    },
    rest_from=(
        (*velocity, resistance, *grade, gravity, inertia),
        start,
        dict(zip(("x", "y", "time"), rest, strict=True)),
    ),
    speed_at_angle=((speed, angle, angle_there, resistance, slope), speed_by_angle),
    turning_roll=(
        (stage, speed, resistance, grade_x, grade_y, gravity, inertia),
        parted,
        {
            "time": (with_fall * _gone(gentle) + against_fall * _gone(sharp)) / pull,
            "distance": way / pull,
            "speed": with_fall * sympy.exp(-gentle * stage) + against_fall * sympy.exp(-sharp * stage),
        },
    ),
    resistance_at=(
        (speed, direction_x, direction_y, *coefficients, grain_x, grain_y),
        grainless(speed) * (1 - grain_x * direction_x - grain_y * direction_y),
    ),
    greatest_resistance=(
        (speed, *coefficients),
        abs(resistance) + sum(abs(coefficient) * speed**power for coefficient, power in terms),
    ),
    course=((stage, *velocity, base, *grade), motion, course),
    ground_rates=(
        (*velocity, *coefficients, grain_x, grain_y, *grade, gravity, inertia),
        (
            tiny_number,
            speed_of_start,
            (
                resistance_there,
                (grainless(start_speed, 1) - grainless(start_speed) * grain_along) / (start_speed + tiny),
            ),
            (pull, gravity / ((1 + inertia) * sympy.sqrt(1 + grade.dot(grade)))),
        ),
        dict(zip(RATES, on_ground, strict=True)),
    ),
)
