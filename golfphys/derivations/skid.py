"""From a landing or a putter's strike to rolling: the skid.

While the contact point slips over the ground with velocity u = v + omega x (-r n), Coulomb friction mu m g cos(alpha)
acts against u at the contact, on a slope that rises by the vector grade s (size tan(alpha)):

    dv/dt = -B (mu u/|u| + s),      dw/dt = (mu/k) B u/|u|,      B = g cos(alpha),

with w = v - u the velocity that the spin alone would roll with (torque -r n x F on an inertia k m r^2; spin about the
normal does nothing). Subtract:

    du/dt = -B ((1 + 1/k) mu u/|u| + s).

That is the equation of a ball rolling across a plane (chapter `plane`) with (1 + 1/k) mu in place of the resistance
and B in place of the pull: the slip velocity turns and dies as a rolling ball does, in a known time T, and its integral
is that chapter's rest point. And friction drops out of v - u k/(1 + k), which gravity alone changes, at the steady
rate -B s/(1 + k). So, for any velocity, spin and slope,

    velocity when it rolls = v - k u/(1 + k) - B s T/(1 + k)
    distance skidded       = (v - k u/(1 + k)) T - B s T^2/(2 (1 + k)) + k/(1 + k) (integral of u).

Without slope: v = (v0 + k w0)/(1 + k): 5/7 of the speed from no spin, 3/7 from backspin with r omega = v, nothing at
all from r omega = v/k: the ball stops turning and moving at once; more, and it comes back.

Rolling resistance while skidding is left out (it is a small part of friction).

The general law that the library runs is `turf.skid`, derived there by integrating the equations in the frame of the
slip; `ROUTE` below is the second route to it, which a test holds it to. Written here are the level, straight forms.
"""

from typing import Any

import sympy

from golfphys.derivations import plane
from golfphys.derivations.writer import Formula, sourced, symbol

velocity_x, velocity_y, slip_x, slip_y = (symbol(n) for n in ("velocity_x", "velocity_y", "slip_x", "slip_y"))
grade_x, grade_y, friction = symbol("grade_x"), symbol("grade_y"), symbol("friction")
gravity, inertia, radius = symbol("gravity"), symbol("inertia"), symbol("radius")
speed, topspin = symbol("speed"), symbol("topspin")

# the slip's own roll to rest, from chapter `plane` with its symbols renamed
loss, push, slip_speed = sympy.symbols("loss push slip_speed", positive=True)
drop, squared, time = plane.drop, plane.squared, sympy.Symbol("skid_time", real=True)
renamed = {plane.resistance: loss, plane.pull: push, plane.v: slip_speed}
slip_along, slip_down, skid_time = (
    item.subs(renamed) for item in (plane.along_velocity, plane.along_slope, plane.time_to_rest)
)
definitions = (
    (slip_speed, sympy.sqrt(slip_x**2 + slip_y**2)),
    (drop, -(grade_x * slip_x + grade_y * slip_y)),
    (squared, grade_x**2 + grade_y**2),
    (push, gravity / sympy.sqrt(1 + squared)),
    (loss, friction * (1 + 1 / inertia)),
    (time, skid_time),
)
share = inertia / (1 + inertia)


def _component(velocity: sympy.Expr, slipping: sympy.Expr, rise: sympy.Expr) -> tuple[sympy.Expr, sympy.Expr]:
    """Return distance skidded and velocity when rolling, in one direction."""
    steady = velocity - share * slipping
    gained = -push * rise / (1 + inertia)
    integral = slip_along * slipping - slip_down * rise
    return steady * time + gained * time**2 / 2 + share * integral, steady + gained * time


x, rolling_x = _component(velocity_x, slip_x, grade_x)
y, rolling_y = _component(velocity_y, slip_y, grade_y)

ROUTE: dict[str, Any] = {
    "arguments": (velocity_x, velocity_y, slip_x, slip_y, friction, grade_x, grade_y, gravity, inertia),
    "definitions": definitions,
    "returns": (x, y, rolling_x, rolling_y, time),
}
"""The general skid by this route: arguments, intermediate values, distance, velocity at its end and duration."""

# along one line, level: the textbook's case
slipping = sympy.Symbol("slipping", real=True)
rolling_speed = (speed + inertia * radius * topspin) / (1 + inertia)
level_time = sympy.Abs(slipping) * share / (friction * gravity)
level_distance = sympy.factor((speed + rolling_speed) / 2) * level_time
along = ((slipping, speed - radius * topspin),)
LEVEL = (speed, topspin, friction, radius, gravity, inertia)
LEVEL_SOURCE = "Coulomb friction at the contact of a sphere on level ground"

FORMULAS = sourced(
    LEVEL_SOURCE,
    Formula(
        name="rolling_speed",
        arguments=(speed, topspin, radius, inertia),
        returns=rolling_speed,
        summary="Speed in m/s when a skid on level ground ends; negative where the ball comes back.",
    ),
    Formula(
        name="skid_time",
        arguments=LEVEL,
        definitions=along,
        returns=level_time,
        summary="Time in s of a skid on level ground.",
    ),
    Formula(
        name="skid_distance",
        arguments=LEVEL,
        definitions=along,
        returns=level_distance,
        summary="Distance in m from start to end of a skid on level ground; less than was skidded if it came back.",
    ),
)
