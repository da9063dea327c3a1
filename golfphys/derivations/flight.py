"""Flight of a spinning ball: the forces on it, the air it flies through, and how a launch is written as a motion.

**Forces.** On a ball that moves through the air with velocity u (ball less wind) and spin w, drag acts against u and
lift (the Magnus force) square to both u and w:

    a = g - K C_D V u + K C_L V (w x u)/|w|,        K = rho pi r^2 / (2 m),  V = |u|.

The coefficients depend on the Reynolds number Re = 2 r V rho / eta and the spin ratio S = r |w| / V. Spin decays at a
rate in proportion to V / r (Smits and Smith, Science and Golf II, 1994; from memory) and keeps its axis.

**Air.** A dry atmosphere whose temperature falls linearly with height gives the pressure at an altitude; water vapour,
lighter than air, thins it; viscosity follows Sutherland's law.

**Wind near the ground.** Close to the ground the stress is the same at every height, and eddies grow with the height:
the mixing length is kappa (z + z0), z0 the roughness of the surface. So kappa (z + z0) du/dz is a constant, the
friction velocity, with u = 0 at the ground: the logarithmic law. Its constant goes where the wind is known at one
height. The resistance that a roll shows holds the drag of still air already; the wind adds what the drag in it is
beyond that, and counts as a slope: the push over the ball's weight.

**Launch.** Speed, angle above the horizontal, direction (anticlockwise from the line of play), backspin about the
horizontal axis square to the direction, and sidespin about the vertical.
"""

import sympy

from golfphys.core import constants
from golfphys.derivations.writer import components, derived, real, symbol, vector

velocity, spin, gravity = map(vector, ("velocity", "spin", "gravity"))
airspeed, density, viscosity, radius, mass = symbol("airspeed density viscosity radius mass")
spin_size, spin_decay = symbol("spin spin_decay")
temperature, pressure, altitude, humidity = symbol("temperature pressure altitude humidity")
sea_level_pressure, free_fall = symbol("sea_level_pressure gravity")
speed, launch_angle, direction, backspin, sidespin = symbol("speed launch_angle direction backspin sidespin")


def number(name: str) -> sympy.Float:
    """Return the published constant `name`."""
    return sympy.Float(getattr(constants, name).value)


# --- forces ----------------------------------------------------------------------------------------------------------
drag_rate, lift_rate = symbol("drag_rate"), symbol("lift_rate")  # K C_D V and K C_L V / |w|
acceleration = gravity - drag_rate * velocity + lift_rate * spin.cross(velocity)

# --- air -------------------------------------------------------------------------------------------------------------
# hydrostatics dp/dz = -rho g with p = rho R T; T is that at the altitude and grows by the lapse rate on the way down
height, lapse, gas = sympy.symbols("height lapse gas", positive=True)
depth = sympy.Symbol("depth", positive=True)
log_ratio = sympy.integrate(free_fall / (gas * (temperature + lapse * depth)), (depth, 0, height))
standard = {lapse: number("LAPSE_RATE"), gas: number("GAS_DRY_AIR"), height: altitude}
pressure_at_altitude = sea_level_pressure * sympy.exp(-sympy.simplify(log_ratio).subs(standard))

# saturation pressure of water vapour by Magnus's formula, then partial pressures; viscosity by Sutherland's law
celsius = temperature - number("FREEZING_POINT")
saturation = number("VAPOUR_PRESSURE") * sympy.exp(
    number("VAPOUR_EXPONENT") * celsius / (celsius + number("VAPOUR_TEMPERATURE"))
)
vapour = humidity * saturation
air_density = (pressure - vapour) / (number("GAS_DRY_AIR") * temperature) + vapour / (
    number("GAS_VAPOUR") * temperature
)
sutherland = (
    number("SUTHERLAND_FACTOR") * temperature ** sympy.Rational(3, 2) / (temperature + number("SUTHERLAND_TEMPERATURE"))
)

# --- wind ------------------------------------------------------------------------------------------------------------
height_over_ground, reference, roughness = symbol("height_over_ground wind_height roughness")
z = sympy.Symbol("z", nonnegative=True)
friction_velocity, u = sympy.Symbol("friction_velocity", positive=True), sympy.Function("u")
_found = sympy.dsolve((z + roughness) * u(z).diff(z) - friction_velocity, u(z), ics={u(0): 0}).rhs
over, known = (sympy.expand(_found.subs(z, at) / friction_velocity) for at in (height_over_ground, reference))
profile = over / known
rolling, wind = sympy.Matrix(velocity[:2]), sympy.Matrix([symbol("wind_x"), symbol("wind_y")])
through = wind - rolling
push = sympy.sqrt(through.dot(through)) * through + sympy.sqrt(rolling.dot(rolling)) * rolling

# --- launch ----------------------------------------------------------------------------------------------------------
forward = sympy.Matrix([sympy.cos(direction), sympy.sin(direction), 0])
left = sympy.Matrix([-sympy.sin(direction), sympy.cos(direction), 0])
up = sympy.Matrix([0, 0, 1])
launch_velocity = speed * (sympy.cos(launch_angle) * forward + sympy.sin(launch_angle) * up)
launch_spin = -backspin * left + sidespin * up

# Back again. The part of the spin along the velocity lifts nothing and has no name in a launch; adding a multiple of
# the velocity to the spin clears its horizontal forward component and leaves the lift what it was.
ground_speed, rise_rate = real("ground_speed"), velocity[2]
over_ground = sympy.Matrix([velocity[0], velocity[1], 0])
heading = over_ground / ground_speed
rifle = spin.dot(heading)
launch_read = {
    "speed": sympy.sqrt(velocity.dot(velocity)),
    "launch_angle": sympy.atan2(rise_rate, ground_speed),
    "backspin": spin.dot(sympy.Matrix([heading[1], -heading[0], 0])),
    "direction": sympy.atan2(velocity[1], velocity[0]),
    "sidespin": spin[2] - rifle * rise_rate / ground_speed,
}

# --- the vacuum parabola, kept for comparison ------------------------------------------------------------------------
fall_time = 2 * speed * sympy.sin(launch_angle) / free_fall
vacuum_carry = sympy.simplify(speed * sympy.cos(launch_angle) * fall_time)

FORMULAS = derived(
    """
# drag and Magnus lift with measured coefficients; Bearman and Harvey, Aeronautical Quarterly 27, 112 (1976)
flight_acceleration | Acceleration in m/s^2 of a flying ball; velocity is that through the air.
air_share_of_ball | Deceleration per speed squared and unit coefficient, 1/m.
# definition
reynolds_number | Reynolds number on the ball's diameter.
motion_of_launch | Velocity and spin vectors of a launch.
# Smits and Smith, Science and Golf II (1994), from memory
spin_loss | Rate in rad/s^2 at which spin decays in flight.
# ISO 2533:1975 standard atmosphere, from memory
pressure_aloft | Air pressure in Pa at an altitude in m where the temperature is as given, from that at sea level.
# ideal gases; saturation pressure by Magnus's formula, from memory
density_of_air | Density of moist air in kg/m^3.
# Sutherland's law, from memory
viscosity_of_air | Dynamic viscosity of air in Pa s.
# logarithmic law; Stull, An Introduction to Boundary Layer Meteorology (1988), memory
wind_share | Wind at a height over the wind at the height where it is known.
# drag of a sphere, textbook coefficient near 0.5 at these speeds, from memory
wind_grade | Rise of ground that slows a rolling ball as the wind does, beyond the drag of still air.
# definition; the spin about the velocity itself is dropped, it lifts nothing
launch_of_motion | Launch (speed, angle, backspin, direction, sidespin) of a velocity and a spin vector.
# Galileo's parabola
vacuum_carry | Carry in m on level ground with no air.
""",
    flight_acceleration=(
        (*velocity, *spin, drag_rate, lift_rate, *gravity),
        dict(zip(("x", "y", "z"), acceleration, strict=True)),
    ),
    air_share_of_ball=((density, radius, mass), density * sympy.pi * radius**2 / (2 * mass)),
    reynolds_number=((airspeed, radius, density, viscosity), 2 * radius * airspeed * density / viscosity),
    spin_loss=((spin_size, airspeed, radius, spin_decay), spin_decay * spin_size * airspeed / radius),
    pressure_aloft=((sea_level_pressure, altitude, temperature, free_fall), pressure_at_altitude),
    density_of_air=((pressure, temperature, humidity), air_density),
    viscosity_of_air=((temperature,), sutherland),
    wind_share=((height_over_ground, reference, roughness), profile),
    wind_grade=(
        (*rolling, *wind, drag_rate, free_fall),
        dict(zip(("grade_x", "grade_y"), -drag_rate * push / free_fall, strict=True)),
    ),
    motion_of_launch=(
        (speed, launch_angle, backspin, direction, sidespin),
        components(velocity=launch_velocity, spin=launch_spin),
    ),
    launch_of_motion=(
        (*velocity, *spin),
        ((ground_speed, sympy.Max(sympy.Float("1e-12"), sympy.sqrt(over_ground.dot(over_ground)))),),
        launch_read,
    ),
    vacuum_carry=((speed, launch_angle, free_fall), vacuum_carry),
)
