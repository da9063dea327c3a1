"""One register of every quantity that a closed form takes: name, symbol, SI unit, plausible range, one sentence.

The derivations take their symbols from here, and pages what those mean; tests draw their random states from the ranges.
A name is the word used in the API; the symbol is LaTeX and appears only in derivations.
"""

import re
from dataclasses import dataclass

from golfphys.core.resistance import TERMS


@dataclass(frozen=True)
class Quantity:
    """A physical quantity as golfphys names it: the word of the API, LaTeX, SI unit, range it plausibly takes."""

    name: str
    symbol: str
    unit: str
    low: float
    high: float
    sentence: str


_TABLE = r"""
# the ball and the world
gravity | g | m/s^2 | 9.75 | 9.84 | Acceleration of free fall.
mass | m | kg | 0.044 | 0.046 | Mass of the ball.
radius | r | m | 0.0213 | 0.0216 | Radius of the ball.
inertia | k | 1 | 0.38 | 0.43 | Moment of inertia of the ball over mass times radius squared.
# rolling
speed | v | m/s | 0.2 | 6.0 | Speed of the ball's centre along its path.
distance | s | m | 0.05 | 30.0 | Distance along the path.
time | t | s | 0.01 | 10.0 | Time since the motion considered began.
resistance | c | 1 | 0.04 | 0.2 | Coefficient of rolling resistance: push over normal force.
grade | \sigma | 1 | -0.03 | 0.06 | Slope as rise over run, positive uphill along the path.
velocity_x | v_x | m/s | -4.0 | 4.0 | Velocity of the ball's centre along the line of play.
velocity_y | v_y | m/s | -4.0 | 4.0 | Velocity of the ball's centre to the left of the line of play.
grade_x | \sigma_x | 1 | -0.025 | 0.025 | Rise of the ground per metre along the line of play.
grade_y | \sigma_l | 1 | -0.025 | 0.025 | Rise of the ground per metre to the left of the line of play.
stage | \eta | 1 | 0.0 | 60.0 | How far a roll has got: the cross-slope speed has fallen by exp(-c stage).
fall_angle | \varphi_0 | rad | 0.2 | 2.9 | Angle from the fall line to the direction of travel at the start.
fall_angle_there | \varphi | rad | 0.05 | 0.19 | Angle from the fall line to the direction of travel, later.
steepness | \sigma_m | 1 | 0.005 | 0.035 | Steepest slope of a plane as rise over run, not negative.
base_resistance | c_b | 1 | 0.05 | 0.2 | Constant resistance from which a roll is reckoned.
direction_x | n_x | 1 | -1.0 | 1.0 | Component of the direction of travel along the line of play.
direction_y | n_y | 1 | -1.0 | 1.0 | Component of the direction of travel to the left.
grain_x | \gamma_x | 1 | -0.3 | 0.3 | Component of the grain along the line of play.
grain_y | \gamma_y | 1 | -0.3 | 0.3 | Component of the grain to the left.
pull | A | m/s^2 | 6.5 | 7.2 | Deceleration per unit of resistance: g cos(alpha)/(1 + k).
topspin | \omega_t | rad/s | -300 | 300 | Spin in the sense of rolling along the path; backspin is negative.
# the release ramp and green speed
ramp_run | l | m | 0.3 | 0.9 | Distance along the ramp from the release notch to its lower end.
ramp_angle | \theta_r | rad | 0.3 | 0.42 | Angle of the ramp above the horizontal as the ball leaves the notch.
contact_spacing | w_c | m | 0.0 | 0.02 | Distance between the ball's two contacts with the groove.
distance_up | S_u | m | 1.0 | 3.0 | Distance rolled uphill from the ramp.
distance_down | S_d | m | 3.0 | 6.0 | Distance rolled downhill from the ramp, from the same release.
# the hole and putting out
offset | d | m | -0.05 | 0.05 | Least distance of the ball's path from the hole's centre.
hole_radius | R | m | 0.0538 | 0.0542 | Radius of the hole.
centre_capture_speed | v_0 | m/s | 1.3 | 1.9 | Fastest speed captured by a hole met at its centre.
contact_angle | \phi | rad | 0.02 | 0.8 | Angle of the ball's centre over the far rim as it strikes.
speed_there | u | m/s | 0.05 | 0.19 | Speed of the ball where it has got to along its path.
cross_grade | \sigma_y | 1 | -0.05 | 0.05 | Slope across the path, positive falling to the left.
angle_error | s_a | rad | 0.01 | 0.06 | Standard deviation of a putt's direction.
distance_error | s_d | 1 | 0.04 | 0.2 | Standard deviation of a putt's roll over the roll meant.
overshoot | o | m | 0.1 | 0.6 | How far past the hole a putt is meant to roll.
overrun | w | m | 0.7 | 1.5 | How far past the hole a putt may be going to roll and still be holed.
# impact of the ball on a surface: turf, or the club's face
velocity_z | v_z | m/s | -8.0 | -1.0 | Velocity of the ball's centre upwards.
spin_x | \omega_x | rad/s | -60.0 | 60.0 | Spin about the line of play.
spin_y | \omega_y | rad/s | -500.0 | 200.0 | Spin about the axis to the left: topspin, negative for backspin.
spin_z | \omega_z | rad/s | -60.0 | 60.0 | Spin about the vertical, positive seen anticlockwise from above.
normal_x | n_x | 1 | -0.3 | 0.3 | Component along the line of play of the unit normal of a surface.
normal_y | n_y | 1 | -0.1 | 0.1 | Component to the left of the unit normal of a surface.
normal_z | n_z | 1 | 0.9 | 1.0 | Upward component of the unit normal of a surface.
restitution | e | 1 | 0.1 | 0.9 | Coefficient of normal restitution: normal speed off over normal speed on.
friction | \mu | 1 | 0.1 | 0.8 | Coefficient of Coulomb friction while the surfaces slip.
tangential_restitution | e_t | 1 | 0.0 | 0.4 | Fraction of the slip at the contact returned by an impact that grips.
mass_ratio | q | 1 | 0.0 | 0.2 | Mass of the ball over the mass of the body it meets, 0 for the ground.
# turf
restitution_linear | e_1 | s/m | -0.05 | -0.02 | Change of restitution with normal impact speed.
restitution_quadratic | e_2 | s^2/m^2 | 0.0 | 0.001 | Change of restitution with normal impact speed squared.
restitution_limit_speed | u_e | m/s | 10.0 | 20.0 | Normal impact speed above which restitution is constant.
approach_speed | u_n | m/s | 0.3 | 15.0 | Speed towards a surface, square to it, before an impact.
tilt_rate | \kappa | s/m | 0.005 | 0.02 | Tangent of half the tilt of a full dent for each m/s and rad of the landing.
dent_tilt | \theta_c | rad | 0.05 | 0.4 | Tilt of the dented surface at the reference impact.
dent_speed | u_d | m/s | 0.5 | 4.0 | Normal impact speed at which the tilt has half its full share.
reference_speed | v_r | m/s | 15.0 | 20.0 | Speed of the impact at which the tilt of the dent is stated.
reference_angle | \phi_r | rad | 0.6 | 0.9 | Angle from the normal of the impact at which the tilt is stated.
hop_loss | h_0 | m | 0.001 | 0.005 | Height that every hop loses to the grass; lower hops do not leave it.
forward_lift | a_f | 1 | 0.0 | 0.1 | Upward take-off speed for each unit of forward landing speed.
speed_kept | a_vv | 1 | 0.5 | 0.9 | Forward take-off speed for each unit of forward landing speed.
speed_from_spin | a_vs | 1 | 0.0 | 0.3 | Forward take-off speed for each unit of rim speed on landing.
spin_from_speed | a_sv | 1 | 0.4 | 0.9 | Rim speed at take-off for each unit of forward landing speed.
spin_kept | a_ss | 1 | 0.0 | 0.4 | Rim speed at take-off for each unit of rim speed on landing.
kept_by_angle | b_a | 1/rad | -0.5 | 0.5 | What a landing keeps, beyond the law, by its angle.
kept_by_speed | b_s | 1 | -0.5 | 0.5 | What a landing keeps, beyond the law, by its speed.
patch | b_p | 1 | -0.3 | 0.3 | What a landing keeps, beyond the law, on its patch of turf.
usual_angle | \phi_0 | rad | 0.3 | 1.2 | Angle to the ground of a usual landing of a chip.
usual_speed | v_0 | m/s | 4.0 | 14.0 | Speed of a usual landing of a chip.
kept | \kappa | 1 | 0.5 | 2.0 | Factor on speed along the ground and spin after a landing.
slip_x | s_x | m/s | -6.0 | 6.0 | Velocity along the line of play of the ball's contact point over the ground.
slip_y | s_y | m/s | -6.0 | 6.0 | Velocity to the left of the ball's contact point over the ground.
# flight
spin | \omega | rad/s | 20.0 | 900.0 | Size of the spin.
airspeed | V | m/s | 1.0 | 30.0 | Speed of the ball through the air.
density | \rho | kg/m^3 | 0.8 | 1.3 | Density of the air.
viscosity | \eta_a | Pa s | 1.6e-05 | 2e-05 | Dynamic viscosity of the air.
temperature | T | K | 265.0 | 315.0 | Temperature of the air.
pressure | p | Pa | 70000.0 | 105000.0 | Pressure of the air where the ball flies.
sea_level_pressure | p_0 | Pa | 98000.0 | 104000.0 | Pressure of the air at sea level.
altitude | z | m | 0.0 | 3000.0 | Height above sea level.
humidity | h | 1 | 0.0 | 1.0 | Relative humidity of the air.
height_over_ground | z | m | 0.01 | 20.0 | Height over the ground.
wind_height | z_w | m | 1.0 | 10.0 | Height at which the wind is known.
roughness | z_0 | m | 0.002 | 0.05 | Height that measures how rough the ground is to the wind.
wind_x | w_x | m/s | -8.0 | 8.0 | Wind along the line of play.
wind_y | w_y | m/s | -8.0 | 8.0 | Wind to the left of the line of play.
drag_rate | D | 1/s | 0.0 | 0.3 | Drag deceleration over airspeed.
lift_rate | L | 1 | -0.0001 | 0.0005 | Lift acceleration over the product of spin and airspeed.
spin_decay | \lambda | 1 | 1e-05 | 4e-05 | Fraction of spin lost per radius flown.
gravity_x | g_x | m/s^2 | -0.5 | 0.5 | Component of gravity along the x axis of the ground.
gravity_y | g_y | m/s^2 | -0.5 | 0.5 | Component of gravity along the y axis of the ground.
gravity_z | g_z | m/s^2 | -9.9 | -9.7 | Component of gravity square to the ground, negative downwards.
launch_angle | \theta | rad | 0.1 | 1.1 | Angle of the launch above the horizontal.
direction | \delta | rad | -0.3 | 0.3 | Direction of the launch, anticlockwise from the line of play.
backspin | \omega_b | rad/s | 0.0 | 900.0 | Spin about the horizontal axis square to the launch, positive backwards.
sidespin | \omega_s | rad/s | -100.0 | 100.0 | Spin about the vertical, positive curving to the left.
# the strike and the sole
loft | \ell | rad | 0.5 | 1.1 | Static loft of the club.
shaft_lean | \lambda_s | rad | -0.05 | 0.25 | Lean of the shaft towards the target at impact; takes loft off.
face_opening | \gamma_o | rad | -0.1 | 0.6 | Turn of the face about the shaft, positive open, to the right.
lie_angle | \Lambda | rad | 1.0 | 1.2 | Angle of the shaft from the ground, seen along the line of play.
attack | \alpha | rad | -0.2 | 0.05 | Direction of the club head at impact above the horizontal, negative downwards.
delivered_loft | \ell_d | rad | 0.4 | 1.1 | Loft of the face at impact, as delivered.
bounce_angle | \beta | rad | 0.02 | 0.26 | Angle from the sole's leading to its trailing edge, trailing edge lower.
effective_bounce | \beta_e | rad | -0.1 | 0.3 | Bounce angle as delivered along the path of the club.
sole_width | w_s | m | 0.012 | 0.03 | Width of the sole from leading to trailing edge.
low_point | x_l | m | 0.02 | 0.25 | Lowest point of the swing's arc ahead of the ball.
arc_radius | R_a | m | 1.2 | 1.9 | Radius of the arc of the club head about the bottom of the swing.
give | g | 1 | 0.2 | 0.9 | Fraction of the press of the sole that goes into the soil: 0 rock, 1 slush.
edge_height | z_e | m | -0.008 | 0.015 | Height of the club's leading edge over the soil at the ball.
brush_height | b_s | m | 0.0 | 0.005 | Height of the leading edge when the sole's trailing edge touches.
dig_depth | d_g | m | 0.0 | 0.006 | Depth of the leading edge, uncarried, below which it digs.
contact_height | z_c | m | 0.002 | 0.03 | Height over the soil at which the face touches the ball.
low_point_error | d_l | m | -0.04 | 0.04 | Error of the low point along the line, positive ahead.
height_error | h_e | m | -0.008 | 0.008 | Error of the swing's arc in height, positive upwards.
path_slope | s_p | 1 | -0.15 | 0.05 | Slope of the path of the head at the ball, negative downwards.
ploughed_area | A_p | m^2 | 0.0 | 0.0005 | Depth times length of turf ploughed before the ball.
turf_drag | \kappa_t | kg/m^2 | 300.0 | 3000.0 | Mass set moving for each square metre ploughed.
head_mass | M | kg | 0.25 | 0.32 | Mass of the club's head.
slope_along | \sigma_u | rad | -0.15 | 0.15 | Slope of the ground under the ball, positive uphill ahead.
slope_across | \sigma_c | rad | -0.15 | 0.15 | Slope of the ground under the ball, positive falling to the left.
ball_height | h_b | m | 0.0 | 0.02 | Height of the ball's underside above the turf that carries the sole.
"""
"""One quantity a line: name, symbol, unit, lowest and highest plausible value, sentence."""


def _read(line: str) -> Quantity:
    name, symbol, unit, low, high, sentence = line.split(" | ")
    return Quantity(name, symbol, unit, float(low), float(high), sentence)


QUANTITIES = {found.name: found for found in map(_read, re.findall(r"^\w.*", _TABLE, re.MULTILINE))}
"""Every registered quantity by name."""
for _name, _term in ((f"resistance_{term.name}", term) for term in TERMS):
    QUANTITIES[_name] = Quantity(_name, _term.symbol, _term.unit, _term.low, _term.high, _term.sentence)
