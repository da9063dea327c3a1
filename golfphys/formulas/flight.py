"""Closed forms derived in ``golfphys/derivations/flight.py``. Generated; do not edit.

sympy 1.14.0, derivation sha256 b0e710c71e68a887.
Write anew with ``python -m golfphys.derivations``.
"""

import math


def flight_acceleration(velocity_x: float, velocity_y: float, velocity_z: float, spin_x: float, spin_y: float, spin_z: float, drag_rate: float, lift_rate: float, gravity_x: float, gravity_y: float, gravity_z: float) -> tuple[float, float, float]:
    """Acceleration in m/s^2 of a flying ball; velocity is that through the air. Model: drag and Magnus lift with measured coefficients; Bearman and Harvey, Aeronautical Quarterly 27, 112 (1976). Returns x, y, z."""
    return -drag_rate*velocity_x + gravity_x + lift_rate*(spin_y*velocity_z - spin_z*velocity_y), -drag_rate*velocity_y + gravity_y + lift_rate*(-spin_x*velocity_z + spin_z*velocity_x), -drag_rate*velocity_z + gravity_z + lift_rate*(spin_x*velocity_y - spin_y*velocity_x)


def air_share_of_ball(density: float, radius: float, mass: float) -> float:
    """Deceleration per speed squared and unit coefficient, 1/m. Model: drag and Magnus lift with measured coefficients; Bearman and Harvey, Aeronautical Quarterly 27, 112 (1976)."""
    return (1/2)*math.pi*density*(radius*radius)/mass


def reynolds_number(airspeed: float, radius: float, density: float, viscosity: float) -> float:
    """Reynolds number on the ball's diameter. Model: definition."""
    return 2*airspeed*density*radius/viscosity


def spin_loss(spin: float, airspeed: float, radius: float, spin_decay: float) -> float:
    """Rate in rad/s^2 at which spin decays in flight. Model: Smits and Smith, Science and Golf II (1994), from memory."""
    return airspeed*spin*spin_decay/radius


def pressure_aloft(sea_level_pressure: float, altitude: float, temperature: float, gravity: float) -> float:
    """Air pressure in Pa at an altitude in m where the temperature is as given, from that at sea level. Model: ISO 2533:1975 standard atmosphere, from memory."""
    return sea_level_pressure*((0.0065*altitude + temperature)/temperature)**(-0.535950529836674*gravity)


def density_of_air(pressure: float, temperature: float, humidity: float) -> float:
    """Density of moist air in kg/m^3. Model: ideal gases; saturation pressure by Magnus's formula, from memory."""
    t0 = 1/temperature
    t1 = humidity*math.exp((17.62*temperature - 4812.903)/(temperature - 30.03))
    return 1.32437703141928*t0*t1 + 0.00348367844393838*t0*(pressure - 611.2*t1)


def viscosity_of_air(temperature: float) -> float:
    """Dynamic viscosity of air in Pa s. Model: Sutherland's law, from memory."""
    return 1.458e-6*temperature**(3/2)/(temperature + 110.4)


def wind_share(height_over_ground: float, wind_height: float, roughness: float) -> float:
    """Wind at a height over the wind at the height where it is known. Model: logarithmic law; Stull, An Introduction to Boundary Layer Meteorology (1988), memory."""
    t0 = math.log(roughness)
    return (-t0 + math.log(height_over_ground + roughness))/(-t0 + math.log(roughness + wind_height))


def wind_grade(velocity_x: float, velocity_y: float, wind_x: float, wind_y: float, drag_rate: float, gravity: float) -> tuple[float, float]:
    """Rise of ground that slows a rolling ball as the wind does, beyond the drag of still air. Model: drag of a sphere, textbook coefficient near 0.5 at these speeds, from memory. Returns grade_x, grade_y."""
    t0 = math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y))
    t1 = -velocity_x + wind_x
    t2 = -velocity_y + wind_y
    t3 = math.sqrt((t1*t1) + (t2*t2))
    t4 = drag_rate/gravity
    return -t4*(t0*velocity_x + t1*t3), -t4*(t0*velocity_y + t2*t3)


def motion_of_launch(speed: float, launch_angle: float, backspin: float, direction: float, sidespin: float) -> tuple[float, float, float, float, float, float]:
    """Velocity and spin vectors of a launch. Model: definition. Returns velocity_x, velocity_y, velocity_z, spin_x, spin_y, spin_z."""
    t0 = math.cos(direction)
    t1 = speed*math.cos(launch_angle)
    t2 = math.sin(direction)
    return t0*t1, t1*t2, speed*math.sin(launch_angle), backspin*t2, -backspin*t0, sidespin


def launch_of_motion(velocity_x: float, velocity_y: float, velocity_z: float, spin_x: float, spin_y: float, spin_z: float) -> tuple[float, float, float, float, float]:
    """Launch (speed, angle, backspin, direction, sidespin) of a velocity and a spin vector. Model: definition; the spin about the velocity itself is dropped, it lifts nothing. Returns speed, launch_angle, backspin, direction, sidespin."""
    ground_speed = max(1.0e-12, math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y)))
    t0 = 1/ground_speed
    t1 = spin_x*t0
    t2 = spin_y*t0
    return math.sqrt((velocity_x*velocity_x) + (velocity_y*velocity_y) + (velocity_z*velocity_z)), math.atan2(velocity_z, ground_speed), t1*velocity_y - t2*velocity_x, math.atan2(velocity_y, velocity_x), spin_z - t0*velocity_z*(t1*velocity_x + t2*velocity_y)


def vacuum_carry(speed: float, launch_angle: float, gravity: float) -> float:
    """Carry in m on level ground with no air. Model: Galileo's parabola."""
    return (speed*speed)*math.sin(2*launch_angle)/gravity
