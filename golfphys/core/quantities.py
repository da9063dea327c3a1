"""One register of every quantity: name, symbol, SI unit, one sentence, and the range it plausibly takes.

The derivations take their symbols from here, plots their axis labels, panels their slider limits and the data
dictionary its descriptions; tests draw their random states from the ranges. A name is the word used in the API; the
symbol is LaTeX and appears only in derivations and on axes.
"""

from dataclasses import dataclass

from golfphys.core.resistance import TERMS


@dataclass(frozen=True)
class Quantity:
    """A physical quantity as golfphys names it.

    Parameters
    ----------
    name : str, the word used for it in the API
    symbol : str, laTeX symbol
    unit : str, SI unit, ``"1"`` when it has none
    sentence : str, what it is, in one sentence
    low, high : float, range that the quantity plausibly takes in this trade
    """

    name: str
    symbol: str
    unit: str
    sentence: str
    low: float
    high: float

    @property
    def label(self) -> str:
        """Axis label: the name in words with its unit."""
        words = self.name.replace("_", " ")
        return words if self.unit == "1" else f"{words} ({self.unit})"


_ALL = (
    # the ball and the world
    Quantity("gravity", "g", "m/s^2", "Acceleration of free fall.", 9.75, 9.84),
    Quantity("mass", "m", "kg", "Mass of the ball.", 0.044, 0.046),
    Quantity("radius", "r", "m", "Radius of the ball.", 0.0213, 0.0216),
    Quantity("inertia", "k", "1", "Moment of inertia of the ball over mass times radius squared.", 0.38, 0.43),
    # rolling
    Quantity("speed", "v", "m/s", "Speed of the ball's centre along its path.", 0.2, 6.0),
    Quantity("distance", "s", "m", "Distance along the path.", 0.05, 30.0),
    Quantity("time", "t", "s", "Time since the motion considered began.", 0.01, 10.0),
    Quantity("resistance", "c", "1", "Coefficient of rolling resistance: push over normal force.", 0.04, 0.20),
    *(Quantity(f"resistance_{t.name}", t.symbol, t.unit, t.sentence, t.low, t.high) for t in TERMS),
    Quantity("grade", "\\sigma", "1", "Slope as rise over run, positive uphill along the path.", -0.03, 0.06),
    Quantity("heading", "\\psi", "rad", "Direction of travel, anticlockwise from the line of play.", -3.14, 3.14),
    Quantity("velocity_x", "v_x", "m/s", "Velocity of the ball's centre along the line of play.", -4.0, 4.0),
    Quantity("velocity_y", "v_y", "m/s", "Velocity of the ball's centre to the left of the line of play.", -4.0, 4.0),
    Quantity("grade_x", "\\sigma_x", "1", "Rise of the ground per metre along the line of play.", -0.025, 0.025),
    Quantity(
        "grade_y", "\\sigma_l", "1", "Rise of the ground per metre to the left of the line of play.", -0.025, 0.025
    ),
    Quantity(
        "stage", "\\eta", "1", "How far a roll has got: the cross-slope speed has fallen by exp(-c stage).", 0.0, 60.0
    ),
    Quantity(
        "fall_angle", "\\varphi_0", "rad", "Angle from the fall line to the direction of travel at the start.", 0.2, 2.9
    ),
    Quantity(
        "fall_angle_there", "\\varphi", "rad", "Angle from the fall line to the direction of travel, later.", 0.05, 0.19
    ),
    Quantity("steepness", "\\sigma_m", "1", "Steepest slope of a plane as rise over run, not negative.", 0.005, 0.035),
    Quantity("base_resistance", "c_b", "1", "Constant resistance from which a roll is reckoned.", 0.05, 0.2),
    Quantity("base_speed", "v_b", "m/s", "Speed a roll would have at this stage under the base resistance.", 0.1, 4.0),
    Quantity("direction_x", "n_x", "1", "Component of the direction of travel along the line of play.", -1.0, 1.0),
    Quantity("direction_y", "n_y", "1", "Component of the direction of travel to the left.", -1.0, 1.0),
    Quantity("grain_x", "\\gamma_x", "1", "Component of the grain along the line of play.", -0.3, 0.3),
    Quantity("grain_y", "\\gamma_y", "1", "Component of the grain to the left.", -0.3, 0.3),
    Quantity("pull", "A", "m/s^2", "Deceleration per unit of resistance: g cos(alpha)/(1 + k).", 6.5, 7.2),
    Quantity(
        "topspin", "\\omega_t", "rad/s", "Spin in the sense of rolling along the path; backspin is negative.", -300, 300
    ),
    # the release ramp and green speed
    Quantity("ramp_run", "l", "m", "Distance along the ramp from the release notch to its lower end.", 0.3, 0.9),
    Quantity(
        "ramp_angle",
        "\\theta_r",
        "rad",
        "Angle of the ramp above the horizontal as the ball leaves the notch.",
        0.3,
        0.42,
    ),
    Quantity("contact_spacing", "w_c", "m", "Distance between the ball's two contacts with the groove.", 0.0, 0.02),
    Quantity("distance_up", "S_u", "m", "Distance rolled uphill from the ramp.", 1.0, 3.0),
    Quantity("distance_down", "S_d", "m", "Distance rolled downhill from the ramp, from the same release.", 3.0, 6.0),
    # the hole and putting out
    Quantity("offset", "d", "m", "Least distance of the ball's path from the hole's centre.", -0.05, 0.05),
    Quantity("hole_radius", "R", "m", "Radius of the hole.", 0.0538, 0.0542),
    Quantity("centre_capture_speed", "v_0", "m/s", "Fastest speed captured by a hole met at its centre.", 1.3, 1.9),
    Quantity("contact_angle", "\\phi", "rad", "Angle of the ball's centre over the far rim as it strikes.", 0.02, 0.8),
    Quantity("speed_there", "u", "m/s", "Speed of the ball where it has got to along its path.", 0.05, 0.19),
    Quantity("cross_grade", "\\sigma_y", "1", "Slope across the path, positive falling to the left.", -0.05, 0.05),
    Quantity("logit_intercept", "a", "1", "Log odds of holing a putt of no length.", 1.0, 4.0),
    Quantity("logit_slope", "b", "1/m", "Change of the log odds of holing with distance.", -1.2, -0.3),
    Quantity("angle_error", "s_a", "rad", "Standard deviation of a putt's direction.", 0.01, 0.06),
    Quantity("distance_error", "s_d", "1", "Standard deviation of a putt's roll over the roll meant.", 0.04, 0.2),
    Quantity("overshoot", "o", "m", "How far past the hole a putt is meant to roll.", 0.1, 0.6),
    Quantity("overrun", "w", "m", "How far past the hole a putt may be going to roll and still be holed.", 0.7, 1.5),
    # impact of the ball on a surface: turf, or the club's face
    Quantity("velocity_z", "v_z", "m/s", "Velocity of the ball's centre upwards.", -8.0, -1.0),
    Quantity("spin_x", "\\omega_x", "rad/s", "Spin about the line of play.", -60.0, 60.0),
    Quantity(
        "spin_y",
        "\\omega_y",
        "rad/s",
        "Spin about the axis to the left: topspin, negative for backspin.",
        -500.0,
        200.0,
    ),
    Quantity(
        "spin_z", "\\omega_z", "rad/s", "Spin about the vertical, positive seen anticlockwise from above.", -60.0, 60.0
    ),
    Quantity("normal_x", "n_x", "1", "Component along the line of play of the unit normal of a surface.", -0.3, 0.3),
    Quantity("normal_y", "n_y", "1", "Component to the left of the unit normal of a surface.", -0.1, 0.1),
    Quantity("normal_z", "n_z", "1", "Upward component of the unit normal of a surface.", 0.9, 1.0),
    Quantity(
        "restitution", "e", "1", "Coefficient of normal restitution: normal speed off over normal speed on.", 0.1, 0.9
    ),
    Quantity("friction", "\\mu", "1", "Coefficient of Coulomb friction while the surfaces slip.", 0.1, 0.8),
    Quantity(
        "tangential_restitution",
        "e_t",
        "1",
        "Fraction of the slip at the contact returned by an impact that grips.",
        0.0,
        0.4,
    ),
    Quantity(
        "mass_ratio", "q", "1", "Mass of the ball over the mass of the body it meets, 0 for the ground.", 0.0, 0.2
    ),
    # turf
    Quantity("restitution_linear", "e_1", "s/m", "Change of restitution with normal impact speed.", -0.05, -0.02),
    Quantity(
        "restitution_quadratic", "e_2", "s^2/m^2", "Change of restitution with normal impact speed squared.", 0.0, 0.001
    ),
    Quantity(
        "restitution_limit_speed", "u_e", "m/s", "Normal impact speed above which restitution is constant.", 10.0, 20.0
    ),
    Quantity("approach_speed", "u_n", "m/s", "Speed towards a surface, square to it, before an impact.", 0.3, 15.0),
    Quantity(
        "tilt_rate",
        "\\kappa",
        "s/m",
        "Tangent of half the tilt of a full dent for each m/s and rad of the landing.",
        0.005,
        0.02,
    ),
    Quantity("dent_tilt", "\\theta_c", "rad", "Tilt of the dented surface at the reference impact.", 0.05, 0.4),
    Quantity("dent_speed", "u_d", "m/s", "Normal impact speed at which the tilt has half its full share.", 0.5, 4.0),
    Quantity(
        "reference_speed", "v_r", "m/s", "Speed of the impact at which the tilt of the dent is stated.", 15.0, 20.0
    ),
    Quantity(
        "reference_angle",
        "\\phi_r",
        "rad",
        "Angle from the normal of the impact at which the tilt is stated.",
        0.6,
        0.9,
    ),
    Quantity(
        "hop_loss", "h_0", "m", "Height that every hop loses to the grass; lower hops do not leave it.", 0.001, 0.005
    ),
    Quantity("forward_lift", "a_f", "1", "Upward take-off speed for each unit of forward landing speed.", 0.0, 0.1),
    Quantity("speed_kept", "a_vv", "1", "Forward take-off speed for each unit of forward landing speed.", 0.5, 0.9),
    Quantity("speed_from_spin", "a_vs", "1", "Forward take-off speed for each unit of rim speed on landing.", 0.0, 0.3),
    Quantity("spin_from_speed", "a_sv", "1", "Rim speed at take-off for each unit of forward landing speed.", 0.4, 0.9),
    Quantity("spin_kept", "a_ss", "1", "Rim speed at take-off for each unit of rim speed on landing.", 0.0, 0.4),
    Quantity("kept_by_angle", "b_a", "1/rad", "What a landing keeps, beyond the law, by its angle.", -0.5, 0.5),
    Quantity("kept_by_speed", "b_s", "1", "What a landing keeps, beyond the law, by its speed.", -0.5, 0.5),
    Quantity("patch", "b_p", "1", "What a landing keeps, beyond the law, on its patch of turf.", -0.3, 0.3),
    Quantity("usual_angle", "\\phi_0", "rad", "Angle to the ground of a usual landing of a chip.", 0.3, 1.2),
    Quantity("usual_speed", "v_0", "m/s", "Speed of a usual landing of a chip.", 4.0, 14.0),
    Quantity("kept", "\\kappa", "1", "Factor on speed along the ground and spin after a landing.", 0.5, 2.0),
    Quantity(
        "slip_x",
        "s_x",
        "m/s",
        "Velocity along the line of play of the ball's contact point over the ground.",
        -6.0,
        6.0,
    ),
    Quantity("slip_y", "s_y", "m/s", "Velocity to the left of the ball's contact point over the ground.", -6.0, 6.0),
    # flight
    Quantity("spin", "\\omega", "rad/s", "Size of the spin.", 20.0, 900.0),
    Quantity("airspeed", "V", "m/s", "Speed of the ball through the air.", 1.0, 30.0),
    Quantity("density", "\\rho", "kg/m^3", "Density of the air.", 0.8, 1.3),
    Quantity("viscosity", "\\eta_a", "Pa s", "Dynamic viscosity of the air.", 1.6e-5, 2.0e-5),
    Quantity("temperature", "T", "K", "Temperature of the air.", 265.0, 315.0),
    Quantity("pressure", "p", "Pa", "Pressure of the air where the ball flies.", 7.0e4, 1.05e5),
    Quantity("sea_level_pressure", "p_0", "Pa", "Pressure of the air at sea level.", 9.8e4, 1.04e5),
    Quantity("altitude", "z", "m", "Height above sea level.", 0.0, 3000.0),
    Quantity("humidity", "h", "1", "Relative humidity of the air.", 0.0, 1.0),
    Quantity("height_over_ground", "z", "m", "Height over the ground.", 0.01, 20.0),
    Quantity("wind_height", "z_w", "m", "Height at which the wind is known.", 1.0, 10.0),
    Quantity("roughness", "z_0", "m", "Height that measures how rough the ground is to the wind.", 0.002, 0.05),
    Quantity("wind_x", "w_x", "m/s", "Wind along the line of play.", -8.0, 8.0),
    Quantity("wind_y", "w_y", "m/s", "Wind to the left of the line of play.", -8.0, 8.0),
    Quantity("drag_rate", "D", "1/s", "Drag deceleration over airspeed.", 0.0, 0.3),
    Quantity("lift_rate", "L", "1", "Lift acceleration over the product of spin and airspeed.", -1.0e-4, 5.0e-4),
    Quantity("spin_decay", "\\lambda", "1", "Fraction of spin lost per radius flown.", 1.0e-5, 4.0e-5),
    Quantity("gravity_x", "g_x", "m/s^2", "Component of gravity along the x axis of the ground.", -0.5, 0.5),
    Quantity("gravity_y", "g_y", "m/s^2", "Component of gravity along the y axis of the ground.", -0.5, 0.5),
    Quantity("gravity_z", "g_z", "m/s^2", "Component of gravity square to the ground, negative downwards.", -9.9, -9.7),
    Quantity("launch_angle", "\\theta", "rad", "Angle of the launch above the horizontal.", 0.1, 1.1),
    Quantity("direction", "\\delta", "rad", "Direction of the launch, anticlockwise from the line of play.", -0.3, 0.3),
    Quantity(
        "backspin",
        "\\omega_b",
        "rad/s",
        "Spin about the horizontal axis square to the launch, positive backwards.",
        0.0,
        900.0,
    ),
    Quantity("sidespin", "\\omega_s", "rad/s", "Spin about the vertical, positive curving to the left.", -100.0, 100.0),
    # the strike and the sole
    Quantity("loft", "\\ell", "rad", "Static loft of the club.", 0.5, 1.1),
    Quantity(
        "shaft_lean",
        "\\lambda_s",
        "rad",
        "Lean of the shaft towards the target at impact; takes loft off.",
        -0.05,
        0.25,
    ),
    Quantity(
        "face_opening", "\\gamma_o", "rad", "Turn of the face about the shaft, positive open, to the right.", -0.1, 0.6
    ),
    Quantity(
        "lie_angle", "\\Lambda", "rad", "Angle of the shaft from the ground, seen along the line of play.", 1.0, 1.2
    ),
    Quantity(
        "attack",
        "\\alpha",
        "rad",
        "Direction of the club head at impact above the horizontal, negative downwards.",
        -0.2,
        0.05,
    ),
    Quantity("delivered_loft", "\\ell_d", "rad", "Loft of the face at impact, as delivered.", 0.4, 1.1),
    Quantity(
        "bounce_angle",
        "\\beta",
        "rad",
        "Angle from the sole's leading to its trailing edge, trailing edge lower.",
        0.02,
        0.26,
    ),
    Quantity("effective_bounce", "\\beta_e", "rad", "Bounce angle as delivered along the path of the club.", -0.1, 0.3),
    Quantity("sole_width", "w_s", "m", "Width of the sole from leading to trailing edge.", 0.012, 0.03),
    Quantity("low_point", "x_l", "m", "Lowest point of the swing's arc ahead of the ball.", 0.02, 0.25),
    Quantity("arc_radius", "R_a", "m", "Radius of the arc of the club head about the bottom of the swing.", 1.2, 1.9),
    Quantity("give", "g", "1", "Fraction of the press of the sole that goes into the soil: 0 rock, 1 slush.", 0.2, 0.9),
    Quantity("edge_height", "z_e", "m", "Height of the club's leading edge over the soil at the ball.", -0.008, 0.015),
    Quantity(
        "brush_height", "b_s", "m", "Height of the leading edge when the sole's trailing edge touches.", 0.0, 0.005
    ),
    Quantity("dig_depth", "d_g", "m", "Depth of the leading edge, uncarried, below which it digs.", 0.0, 0.006),
    Quantity("contact_height", "z_c", "m", "Height over the soil at which the face touches the ball.", 0.002, 0.03),
    Quantity("low_point_error", "d_l", "m", "Error of the low point along the line, positive ahead.", -0.04, 0.04),
    Quantity("height_error", "h_e", "m", "Error of the swing's arc in height, positive upwards.", -0.008, 0.008),
    Quantity("path_slope", "s_p", "1", "Slope of the path of the head at the ball, negative downwards.", -0.15, 0.05),
    Quantity("ploughed_area", "A_p", "m^2", "Depth times length of turf ploughed before the ball.", 0.0, 0.0005),
    Quantity("turf_drag", "\\kappa_t", "kg/m^2", "Mass set moving for each square metre ploughed.", 300.0, 3000.0),
    Quantity("head_mass", "M", "kg", "Mass of the club's head.", 0.25, 0.32),
    Quantity(
        "slope_along", "\\sigma_u", "rad", "Slope of the ground under the ball, positive uphill ahead.", -0.15, 0.15
    ),
    Quantity(
        "slope_across",
        "\\sigma_c",
        "rad",
        "Slope of the ground under the ball, positive falling to the left.",
        -0.15,
        0.15,
    ),
    Quantity(
        "ball_height", "h_b", "m", "Height of the ball's underside above the turf that carries the sole.", 0.0, 0.02
    ),
    # the measured sheets
    Quantity(
        "release_speed", "v_0", "m/s", "Speed with which a ball leaves the ramp or passes the start mark.", 0.5, 2.0
    ),
    Quantity(
        "side", "d_s", "m", "Offset at rest from the line of the heading or of play, positive to the left.", -3.0, 3.0
    ),
    Quantity("drop_height", "h_d", "m", "Height from which a ball is dropped, ground to underside.", 0.3, 3.0),
    Quantity(
        "rebound_height", "h_r", "m", "Height to which a dropped ball comes back, ground to underside.", 0.02, 0.6
    ),
    Quantity("first_flight", "t_1", "s", "Time from a dropped ball's first to its second touch of the turf.", 0.1, 0.8),
    Quantity(
        "second_flight", "t_2", "s", "Time from a dropped ball's second to its third touch of the turf.", 0.05, 0.5
    ),
    Quantity("target_carry", "x_t", "m", "Carry that the player aimed for.", 2.0, 20.0),
    Quantity("edge", "x_e", "m", "Distance from the ball to the edge of the green along the line of play.", 0.0, 15.0),
    Quantity("carry", "x_c", "m", "Distance along the line of play at which the ball first landed.", 2.0, 20.0),
    Quantity(
        "landing_side",
        "y_c",
        "m",
        "Offset of the first landing from the line of play, positive to the left.",
        -2.0,
        2.0,
    ),
    Quantity("hang_time", "t_h", "s", "Time from the strike to the first landing.", 0.3, 2.5),
    Quantity(
        "first_hop",
        "x_h",
        "m",
        "Distance along the line of play at which the ball landed for the second time.",
        2.5,
        25.0,
    ),
    Quantity("rest", "x_r", "m", "Distance along the line of play at which the ball came to rest.", 3.0, 40.0),
    Quantity(
        "lie_slope", "\\sigma_b", "rad", "Slope of the ground under the ball, positive uphill along play.", -0.2, 0.2
    ),
    Quantity("hop_time", "t_b", "s", "Time from the first landing to the second.", 0.05, 1.0),
    Quantity("target_size", "w_t", "m", "Width of a target laid on the landing spot.", 0.3, 3.0),
    # a survey of a green
    Quantity("x", "x", "m", "Coordinate along the reference line from the origin of a survey.", -30.0, 30.0),
    Quantity("y", "y", "m", "Coordinate to the left of the reference line from the origin of a survey.", -30.0, 30.0),
    Quantity("height", "z_g", "m", "Height of the ground above the origin of a survey.", -2.0, 2.0),
)

QUANTITIES: dict[str, Quantity] = {quantity.name: quantity for quantity in _ALL}
"""Every registered quantity by name."""
