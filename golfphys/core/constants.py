"""Numbers from outside the project, each with its value, unit, uncertainty, source and mark; and the ball they make.

The mark says how the figure reached us: ``read`` (seen in the source named), ``memory`` (recalled from the
literature, the page was not seen), ``derived`` (worked out from read inputs), ``practice`` (common practice of the
trade, no source). A constant is used as ``constants.GRAVITY.value``; nothing else in the library types a published
number, but for the tables of drag and lift, which stand with their sources in `golfphys.physics.flight`.
"""

import math
from dataclasses import dataclass
from typing import Literal

from golfphys.core.units import METRES_PER_FOOT, METRES_PER_INCH, METRES_PER_YARD

Mark = Literal["read", "memory", "derived", "practice"]


@dataclass(frozen=True)
class Constant:
    """One published or standard figure."""

    value: float  # in SI units
    unit: str  # "1" when it has none
    sd: float  # standard uncertainty as stated or judged; 0 for a figure fixed by definition
    source: str  # author, year and work
    locator: str  # where in the source, or how it follows from it
    mark: Mark


def _judged(value: float, unit: str, sd: float, why: str) -> Constant:
    return Constant(value, unit, sd, "golfphys", f"judged: {why}", "practice")


NORMAL_90 = 1.6448536269514722
"""Standard deviations from the mean of a normal distribution to either end of its central 90 %."""

RULES = "Rules of Golf and Equipment Rules"
RAMP_BOOKLET = "Instruction booklet for the green-speed ramp, USGA"

GRAVITY = Constant(9.80665, "m/s^2", 0.0, "CGPM 1901, standard acceleration of free fall", "by definition", "memory")

BALL_MASS = Constant(0.04593, "kg", 0.0001, RULES, "ball specifications, at most 45.93 g", "read")
BALL_RADIUS = Constant(0.04267 / 2, "m", 0.00005, RULES, "ball specifications, diameter at least 42.67 mm", "read")
BALL_INERTIA = Constant(
    0.4, "1", 0.01, "MDPI Proceedings 49(1):47 (2020)", "table 1: 0.400 to 0.402; real balls 0.38 to 0.43", "read"
)

HOLE_RADIUS = Constant(0.108 / 2, "m", 0.0, RULES, "definition of hole: diameter 108 mm", "read")

RAMP_RELEASE_SPEED = Constant(1.83, "m/s", 0.03, RAMP_BOOKLET, "release speed 6.00 ft/s (Holmes 1986, memory)", "read")
RAMP_RUN = Constant(30 * METRES_PER_INCH, "m", 0.0, RAMP_BOOKLET, "ball-release notch 30 in from the lower end", "read")
RAMP_ANGLE = Constant(math.radians(20.0), "rad", 0.02, RAMP_BOOKLET, "released at about 20 deg", "read")
RAMP_CONTACT_SPACING = Constant(
    0.5 * METRES_PER_INCH, "m", 0.0005, RAMP_BOOKLET, "the ball rides on two contacts 1/2 in apart", "read"
)
PENN_STATE = "Sommer, Lulis, Kaminski, Penn State"
ROLLOUT_SCATTER = Constant(3.93 * METRES_PER_INCH, "m", 0.02, PENN_STATE, "sd of 100 rolls on flat bentgrass", "read")

FAR_RIM_CAPTURE_SPEED = Constant(
    1.63, "m/s", 0.03, "Holmes, Am. J. Phys. 59, 129 (1991)", "fastest centred putt captured", "memory"
)

BROADIE_SOURCE = "Gelman, Model building and expansion for golf putting (Stan case study), on Broadie 2016-18"
ANGLE_ERROR = Constant(
    math.radians(1.020), "rad", math.radians(0.006), BROADIE_SOURCE, "angle and distance model, sigma_angle", "read"
)
DISTANCE_ERROR = Constant(0.0800, "1", 0.0013, BROADIE_SOURCE, "angle and distance model, sigma_distance", "read")
MAKE_MISFIT = Constant(0.0031, "1", 0.0006, BROADIE_SOURCE, "angle and distance model, sigma_y", "read")
PUTT_OVERSHOOT = Constant(METRES_PER_FOOT, "m", 0.0, BROADIE_SOURCE, "aim 1 ft past the hole", "read")
PUTT_OVERRUN = Constant(METRES_PER_YARD, "m", 0.0, BROADIE_SOURCE, "holed if the run-out is 0 to 3 ft past", "read")
AMATEUR_PUTTING = Constant(
    1.6, "1", 0.2, "Broadie, Every Shot Counts (2014)", "half holed: tour at 8 ft, a score of 90 at 5 ft", "memory"
)

PENNER_BOUNCE, PENNER_CURVE = "Penner, Can. J. Phys. 80, 931 (2002)", "e = 0.510 - 0.0375 v + 0.000903 v^2"
TURF_RESTITUTION = Constant(0.510, "1", 0.05, PENNER_BOUNCE, PENNER_CURVE, "memory")
TURF_RESTITUTION_LINEAR = Constant(-0.0375, "s/m", 0.005, PENNER_BOUNCE, PENNER_CURVE, "memory")
TURF_RESTITUTION_QUADRATIC = Constant(0.000903, "s^2/m^2", 0.0002, PENNER_BOUNCE, PENNER_CURVE, "memory")
TURF_RESTITUTION_LIMIT_SPEED = Constant(20.0, "m/s", 0.0, PENNER_BOUNCE, "constant above this normal speed", "memory")
TURF_TILT = Constant(math.radians(15.4), "rad", 0.03, PENNER_BOUNCE, "tilt 15.4 deg at the reference impact", "memory")
TURF_FRICTION = Constant(0.40, "1", 0.1, PENNER_BOUNCE, "friction of ball on turf", "memory")
TURF_REFERENCE_SPEED = Constant(18.6, "m/s", 0.0, PENNER_BOUNCE, "impact at which the tilt is stated", "memory")
TURF_REFERENCE_ANGLE = Constant(
    math.radians(44.4), "rad", 0.0, PENNER_BOUNCE, "44.4 deg from the vertical at the reference impact", "memory"
)
TURF_DENT_SPEED = _judged(1.5, "m/s", 0.7, "softer landings hardly dent a green; fitted where chips allow")
TURF_HOP_LOSS = _judged(0.003, "m", 0.002, "height of hop that grass swallows, a few millimetres")

TURF_UNEVENNESS = _judged(0.017, "1", 0.008, "local slope that a landing meets, sd, about a degree")
CHIP_LANDING_ANGLE = _judged(0.75, "rad", 0.2, "landing of a usual chip, about which departures are counted")
CHIP_LANDING_SPEED = _judged(8.0, "m/s", 2.0, "landing of a usual chip, about which departures are counted")
WIND_HEIGHT = _judged(2.0, "m", 0.5, "height of the flag, where the wind is read")
ROUGHNESS = Constant(
    0.01, "m", 0.005, "Stull, An Introduction to Boundary Layer Meteorology (1988)", "short grass", "memory"
)
ROLLING_DRAG = Constant(0.5, "1", 0.1, "textbook", "drag coefficient of a sphere at Reynolds numbers to 4e4", "memory")
FLAGSTICK_RADIUS = _judged(0.0065, "m", 0.002, "a common stick of 13 mm at the hole")
FLAGSTICK_GAIN = _judged(0.3, "1", 0.15, "how much faster a ball that strikes the stick full on is taken")

PENNER_FACE, FACE_LINE = "Penner (2001)", "e = 0.86 - 0.0029 v, ball on face"
FACE_RESTITUTION = Constant(0.86, "1", 0.02, PENNER_FACE, FACE_LINE, "memory")
FACE_RESTITUTION_LINEAR = Constant(-0.0029, "s/m", 0.001, PENNER_FACE, FACE_LINE, "memory")
FACE_TANGENTIAL_RESTITUTION = Constant(
    0.145, "1", 0.025, "spin rule of 160 rpm per mph times sin(spin loft)", "means e_t of 0.12 to 0.17", "derived"
)

SPIN_DECAY = Constant(
    2.0e-5, "1", 1.0e-5, "Smits and Smith, Science and Golf II (1994)", "spin decay 2e-5 w V / r", "memory"
)
SEA_LEVEL_PRESSURE = Constant(101325.0, "Pa", 0.0, "ISO 2533:1975", "standard atmosphere", "memory")
SEA_LEVEL_TEMPERATURE = Constant(288.15, "K", 0.0, "ISO 2533:1975", "standard atmosphere", "memory")
LAPSE_RATE = Constant(0.0065, "K/m", 0.0, "ISO 2533:1975", "standard atmosphere", "memory")
GAS_DRY_AIR = Constant(287.0529, "J/(kg K)", 0.001, "ISO 2533:1975", "gas constant of dry air", "memory")
GAS_VAPOUR = Constant(461.5, "J/(kg K)", 0.1, "molar gas constant over 18.015 g/mol", "by definition", "memory")
SUTHERLAND_FACTOR = Constant(1.458e-6, "kg/(m s K^0.5)", 0.0, "ISO 2533:1975", "Sutherland's law", "memory")
SUTHERLAND_TEMPERATURE = Constant(110.4, "K", 0.0, "ISO 2533:1975", "Sutherland's law", "memory")
MAGNUS = "WMO-No. 8, Magnus's formula"
VAPOUR_PRESSURE = Constant(611.2, "Pa", 0.1, MAGNUS, "saturation at the freezing point", "memory")
VAPOUR_EXPONENT = Constant(17.62, "1", 0.0, MAGNUS, "over water", "memory")
VAPOUR_TEMPERATURE = Constant(243.12, "K", 0.0, MAGNUS, "over water", "memory")
FREEZING_POINT = Constant(273.15, "K", 0.0, "definition of the degree Celsius", "by definition", "memory")


@dataclass(frozen=True, kw_only=True)
class Ball:
    """A golf ball as a sphere.

    Raises a ValueError if a value is not positive, or `inertia` is above 2/3 (a hollow shell).

    Parameters
    ----------
    mass, radius : float, in kg and m
    inertia : float, moment of inertia over mass times radius squared; 0.4 for a uniform sphere

    Examples
    --------
    >>> Ball().radius
    0.021335
    """

    mass: float = BALL_MASS.value
    radius: float = BALL_RADIUS.value
    inertia: float = BALL_INERTIA.value

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if not value > 0:
                raise ValueError(f"Ball {name} is {value!r}; expected a positive number")
        if self.inertia > 2 / 3:
            raise ValueError(f"Ball inertia is {self.inertia!r}; a sphere has at most 2/3 (all mass at the surface)")
