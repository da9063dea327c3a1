"""Rolling across a plane with constant resistance: the path turns towards the fall line.

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
Positions and times are integrals of these exponentials over the stage, since dx = v |v| d(eta) / A.

When c > sigma the ball comes to rest as the stage goes to infinity, after a finite time at a finite point. When
c <= sigma it does not (at c = sigma it ends at a steady speed down the fall line: Irodov's problem).

Coordinates lie in the plane, as a tape laid on the ground measures them.
"""

import sympy
from sympy.codegen.cfunctions import expm1

from golfphys.derivations.writer import Formula, sourced, symbol

resistance, gravity, inertia = symbol("resistance"), symbol("gravity"), symbol("inertia")
velocity_x, velocity_y = symbol("velocity_x"), symbol("velocity_y")
grade_x, grade_y, stage = symbol("grade_x"), symbol("grade_y"), symbol("stage")

SOURCE = "Coulomb-like resistance on a plane (Irodov, Problems in General Physics, 1.106), for a rolling sphere"

# the start in terms of the fall line: speed, its part down the fall line times the steepness, the steepness squared
v, drop, steepness = (
    sympy.Symbol("start_speed", positive=True),
    sympy.Symbol("drop"),
    sympy.Symbol("steepness", positive=True),
)
pull = sympy.Symbol("pull", positive=True)  # A above

u = drop / steepness
P, M, c = (v + u) / 2, (v - u) / 2, resistance


def _rest(weight: sympy.Expr, rate: sympy.Expr) -> sympy.Expr:
    """Integrate weight exp(-rate eta) over all stages, rate > 0."""
    return weight / rate


# rest point: along the fall line, and across it per unit of cross-slope speed
along = (_rest(P**2, 2 * (c - steepness)) - _rest(M**2, 2 * (c + steepness))) / pull
across = (_rest(P, 2 * c - steepness) + _rest(M, 2 * c + steepness)) / pull
time_to_rest = (_rest(P, c - steepness) + _rest(M, c + steepness)) / pull

# In vectors: rest = across vec v + (along - across u)/steepness vec s, where vec s = steepness e. Only the square of
# the steepness is left, so that the level and every direction are plain points of one rational function.
squared = sympy.Symbol("steepness_squared")
along_velocity = sympy.factor(sympy.simplify(across)).subs(steepness**2, squared)
along_slope = sympy.factor(sympy.simplify((along - across * u) / steepness)).subs(steepness**2, squared)
time_to_rest = sympy.factor(sympy.simplify(time_to_rest)).subs(steepness**2, squared)

start = (
    (v, sympy.sqrt(velocity_x**2 + velocity_y**2)),
    (drop, -(grade_x * velocity_x + grade_y * velocity_y)),
    (squared, grade_x**2 + grade_y**2),
    (pull, gravity / ((1 + inertia) * sympy.sqrt(1 + squared))),
)

# The path itself. (1 - exp(-rate eta))/rate has the limit eta at rate 0: a number too small to change any other value
# keeps the quotient defined there, and keeps e = 0 on the level, where its direction drops out.
tiny = sympy.Symbol("tiny", positive=True)
e_x, e_y = sympy.symbols("fall_x fall_y", real=True)
fall_speed = sympy.Symbol("fall_speed", real=True)
with_fall, against_fall = sympy.symbols("with_fall against_fall")


def _decayed(rate: sympy.Expr) -> sympy.Expr:
    """Integrate exp(-rate eta) from 0 to the stage reached."""
    exponent = -rate * stage + tiny
    return expm1(exponent) / exponent * stage


path = (
    start[0],
    *start[2:],
    (tiny, sympy.Float("1e-300")),
    (steepness, sympy.sqrt(squared + tiny)),
    (e_x, -grade_x / steepness),
    (e_y, -grade_y / steepness),
    (fall_speed, velocity_x * e_x + velocity_y * e_y),
    (with_fall, (v + fall_speed) / 2),
    (against_fall, (v - fall_speed) / 2),
)
half_p, half_m = with_fall, against_fall
distance_along = (half_p**2 * _decayed(2 * (c - steepness)) - half_m**2 * _decayed(2 * (c + steepness))) / pull
distance_across = (half_p * _decayed(2 * c - steepness) + half_m * _decayed(2 * c + steepness)) / pull
time_taken = (half_p * _decayed(c - steepness) + half_m * _decayed(c + steepness)) / pull
speed_along = half_p * sympy.exp(-(c - steepness) * stage) - half_m * sympy.exp(-(c + steepness) * stage)
lost = sympy.exp(-c * stage)


def _in_plane(along_fall: sympy.Expr, cross_factor: sympy.Expr) -> tuple[sympy.Expr, sympy.Expr]:
    """Return along_fall e + cross_factor (vec v - e (e . vec v)) in the axes of the line of play."""
    return (
        e_x * along_fall + (velocity_x - e_x * fall_speed) * cross_factor,
        e_y * along_fall + (velocity_y - e_y * fall_speed) * cross_factor,
    )


x_there, y_there = _in_plane(distance_along, distance_across)
velocity_x_there, velocity_y_there = _in_plane(speed_along, lost)

# The textbook form, speed by the angle from the fall line: M/P = tan(angle/2)^2 decays as exp(-2 sigma eta).
speed, angle, angle_there, slope = (symbol(n) for n in ("speed", "fall_angle", "fall_angle_there", "steepness"))
turned = sympy.tan(angle_there / 2) / sympy.tan(angle / 2)
speed_by_angle = (
    speed * sympy.cos(angle / 2) ** 2 / sympy.cos(angle_there / 2) ** 2 * sympy.exp((c / slope - 1) * sympy.log(turned))
)

ARGUMENTS = (velocity_x, velocity_y, resistance, grade_x, grade_y, gravity, inertia)

FORMULAS = sourced(
    SOURCE,
    Formula(
        name="rest_from",
        arguments=ARGUMENTS,
        definitions=start,
        returns={
            "x": along_velocity * velocity_x - along_slope * grade_x,
            "y": along_velocity * velocity_y - along_slope * grade_y,
            "time": time_to_rest,
        },
        summary="Where (m, from the start) and after how long (s) a ball comes to rest; needs resistance > steepness.",
    ),
    Formula(
        name="state_at_stage",
        arguments=(stage, *ARGUMENTS),
        definitions=path,
        returns={
            "x": x_there,
            "y": y_there,
            "time": time_taken,
            "velocity_x": velocity_x_there,
            "velocity_y": velocity_y_there,
        },
        summary="Position (m, from the start), time (s) and velocity (m/s) at a stage of a roll across a plane.",
    ),
    Formula(
        name="speed_at_angle",
        arguments=(speed, angle, angle_there, resistance, slope),
        returns=speed_by_angle,
        summary="Speed in m/s where the path has turned to `fall_angle_there` from the fall line; angles in (0, pi).",
    ),
)
