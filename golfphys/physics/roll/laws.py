"""The scalar law of a whole roll on a plane, for any resistance: plain Python on `math` that numba compiles as it is.

`roll_out` is the roll of one ball. `rest_correction` has no cases, so the same code also runs
on whole arrays (`golfphys.physics.roll.across`).
"""

import math

from golfphys.formulas.plane import rest_from
from golfphys.formulas.varying import correction_rates, course, resistance_at

STOPPED = 0
"""Status of a roll that came to rest."""
NEVER_STOPS = 1
"""Status of a roll that gains or keeps speed for ever, or goes on beyond every bound."""

STEPS = 32
"""Steps of fourth order from start to rest; the accuracy that they give is held by tests/test_roll.py."""
DECAY = 5.0
"""How often, in the sense of exp, the slowest part of the motion has decayed before the last closed-form crawl."""
BEND = 2.5
BEND_MORE = 0.6
"""How much later steps are longer: with the ratio of the fastest decay (uphill) to the slowest."""
_TINY = 1e-300


def lesser(a: float, b: float) -> float:
    """Return the lesser of two numbers, without a case."""
    return 0.5 * (a + b - abs(a - b))


def base_and_rate(
    velocity_x: float,
    velocity_y: float,
    constant: float,
    grain_x: float,
    grain_y: float,
    grade_x: float,
    grade_y: float,
) -> tuple[float, float, float]:
    """Return the base resistance to reckon from, the slowest rate of decay, and the margin by which a ball can stop.

    The base is the resistance of a slow ball in the direction of the start, but never so near the slope that the base
    motion itself would hardly stop. The margin is resistance over slope down the fall line, where every path ends.
    """
    steepness = math.sqrt(grade_x * grade_x + grade_y * grade_y)
    speed = math.sqrt(velocity_x * velocity_x + velocity_y * velocity_y)
    ahead = constant * (1.0 - (grain_x * velocity_x + grain_y * velocity_y) / (speed + _TINY))
    margin = constant * (1.0 + (grain_x * grade_x + grain_y * grade_y) / (steepness + _TINY)) - steepness
    base = -lesser(-ahead, -1.25 * steepness)
    return base, lesser(base - steepness, margin), margin


def rest_correction(
    velocity_x: float,
    velocity_y: float,
    constant: float,
    linear: float,
    quadratic: float,
    grain_x: float,
    grain_y: float,
    grade_x: float,
    grade_y: float,
    gravity: float,
    inertia: float,
    base: float,
    rate: float,
) -> tuple[float, float, float, float]:
    """Return what rest x, y (m) and time (s) have beyond the base motion's, and how surely the ball stops.

    Steps in the stage grow as they go: fine at the start, where an uphill roll loses speed fastest, and long enough
    that only a last closed-form crawl is left. The last number is the least of the ratios of base speed to speed and
    of what slows the ball in that crawl: at or below 0 it ran away, or rolls on at a speed at which nothing slows it.
    """
    pull = gravity / ((1.0 + inertia) * math.sqrt(1.0 + grade_x * grade_x + grade_y * grade_y))
    correction = 0.0
    x = 0.0
    y = 0.0
    time = 0.0
    least = 1.0
    h = 1.0 / STEPS
    steepness = math.sqrt(grade_x * grade_x + grade_y * grade_y)
    bend = BEND + BEND_MORE * math.log((base + steepness) / rate)
    unit = DECAY / rate / math.expm1(bend)
    scale = bend * h * unit
    speed, n_x, n_y = course(0.0, velocity_x, velocity_y, base, grade_x, grade_y)
    for step in range(STEPS):
        grown = math.expm1((step + 0.5) * h * bend)
        scale_m = (grown + 1.0) * bend * h * unit
        speed_m, m_x, m_y = course(grown * unit, velocity_x, velocity_y, base, grade_x, grade_y)
        grown = math.expm1((step + 1.0) * h * bend)
        scale_e = (grown + 1.0) * bend * h * unit
        speed_e, e_x, e_y = course(grown * unit, velocity_x, velocity_y, base, grade_x, grade_y)
        a, a_x, a_y, a_t = correction_rates(
            correction, speed, n_x, n_y, constant, linear, quadratic, grain_x, grain_y, base, pull
        )
        first = correction + 0.5 * scale * a
        b, b_x, b_y, b_t = correction_rates(
            first, speed_m, m_x, m_y, constant, linear, quadratic, grain_x, grain_y, base, pull
        )
        second = correction + 0.5 * scale_m * b
        c, c_x, c_y, c_t = correction_rates(
            second, speed_m, m_x, m_y, constant, linear, quadratic, grain_x, grain_y, base, pull
        )
        third = correction + scale_m * c
        d, d_x, d_y, d_t = correction_rates(
            third, speed_e, e_x, e_y, constant, linear, quadratic, grain_x, grain_y, base, pull
        )
        correction = correction + (scale * a + 2.0 * scale_m * (b + c) + scale_e * d) / 6.0
        x = x + (scale * a_x + 2.0 * scale_m * (b_x + c_x) + scale_e * d_x) / 6.0
        y = y + (scale * a_y + 2.0 * scale_m * (b_y + c_y) + scale_e * d_y) / 6.0
        time = time + (scale * a_t + 2.0 * scale_m * (b_t + c_t) + scale_e * d_t) / 6.0
        least = lesser(lesser(least, 1.0 + first), lesser(1.0 + second, lesser(1.0 + third, 1.0 + correction)))
        scale, speed, n_x, n_y = scale_e, speed_e, e_x, e_y
    slow = abs(speed / (1.0 + correction))
    there = resistance_at(slow / 1.5, n_x, n_y, constant, linear, quadratic, grain_x, grain_y)
    # the speed on the way to rest at which resistance is least, where it falls with speed and then grows
    turn = -0.5 * linear * quadratic / (quadratic * quadratic + _TINY)
    turn = lesser(slow, -lesser(-turn, 0.0))
    slowing = lesser(
        resistance_at(slow, n_x, n_y, constant, linear, quadratic, grain_x, grain_y),
        resistance_at(turn, n_x, n_y, constant, linear, quadratic, grain_x, grain_y),
    )
    least = lesser(least, slowing + grade_x * n_x + grade_y * n_y)
    held = -lesser(-there, -(1.02 * steepness + 1e-9))
    t_x, t_y, t_t = rest_from(slow * n_x, slow * n_y, held, grade_x, grade_y, gravity, inertia)
    b_x, b_y, b_t = rest_from(speed * n_x, speed * n_y, base, grade_x, grade_y, gravity, inertia)
    return x + t_x - b_x, y + t_y - b_y, time + t_t - b_t, least


def roll_out(
    x: float,
    y: float,
    velocity_x: float,
    velocity_y: float,
    constant: float,
    linear: float,
    quadratic: float,
    grain: float,
    grain_direction: float,
    grade_x: float,
    grade_y: float,
    gravity: float,
    inertia: float,
) -> tuple[float, float, float, int]:
    """Return where and when a rolling ball comes to rest on a plane, and its status.

    Constant resistance without grain takes the closed form; the general case agrees with it to rounding as the other
    coefficients vanish. Smooth in every parameter.

    Parameters
    ----------
    x, y : float
        Start in m, in the plane.
    velocity_x, velocity_y : float
        Velocity at the start, rolling, m/s.
    constant, linear, quadratic : float
        Resistance as a polynomial in speed (1, s/m, s^2/m^2).
    grain, grain_direction : float
        As in `golfphys.physics.green.Resistance` (1, rad).
    grade_x, grade_y : float
        Rise of the ground per metre along x and y.
    gravity, inertia : float
        Acceleration of free fall (m/s^2); moment of inertia over mass times radius squared.

    Returns
    -------
    x, y : float
        Rest point in m; infinite where the ball does not stop.
    time : float
        Time to rest in s; infinite where the ball does not stop.
    status : int
        `STOPPED` or `NEVER_STOPS`.

    Notes
    -----
    Model: golfphys/derivations/plane.py and varying.py. Error below 0.05 mm on
    rolls up to 12 m (tests/test_roll.py).

    Examples
    --------
    >>> x, y, time, status = roll_out(0.0, 0.0, 1.83, 0.0, 0.08, 0.0, 0.0, 0.0, 0.0, 0.0, -0.02, 9.80665, 0.4)
    >>> round(x, 3), round(y, 3), round(time, 2), status
    (3.036, 0.398, 3.48, 0)
    """
    grain_x = grain * math.cos(grain_direction)
    grain_y = grain * math.sin(grain_direction)
    base, rate, margin = base_and_rate(velocity_x, velocity_y, constant, grain_x, grain_y, grade_x, grade_y)
    if not margin > 0.0:
        return math.inf, math.inf, math.inf, NEVER_STOPS
    if linear == 0.0 and quadratic == 0.0 and grain == 0.0:
        rest_x, rest_y, time = rest_from(velocity_x, velocity_y, constant, grade_x, grade_y, gravity, inertia)
        return x + rest_x, y + rest_y, time, STOPPED
    more_x, more_y, more_time, least = rest_correction(
        *(velocity_x, velocity_y, constant, linear, quadratic, grain_x, grain_y, grade_x, grade_y),
        *(gravity, inertia, base, rate),
    )
    if not least > 0.0:
        return math.inf, math.inf, math.inf, NEVER_STOPS
    rest_x, rest_y, time = rest_from(velocity_x, velocity_y, base, grade_x, grade_y, gravity, inertia)
    return x + rest_x + more_x, y + rest_y + more_y, time + more_time, STOPPED
