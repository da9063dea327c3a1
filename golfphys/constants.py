"""Numbers from outside the project: each one object with its value, unit, uncertainty, source and mark.

The mark says how the figure reached us: ``read`` (seen in the source named), ``memory`` (recalled from the
literature, the page was not seen), ``derived`` (worked out from read inputs), ``practice`` (common practice of the
trade, no source). A constant is used as ``constants.GRAVITY.value``; nothing else in the library types a published
number.
"""

from dataclasses import dataclass
from typing import Literal

Mark = Literal["read", "memory", "derived", "practice"]


@dataclass(frozen=True)
class Constant:
    """One published or standard figure.

    Parameters
    ----------
    value : float
        The figure in SI units.
    unit : str
        Its SI unit, ``"1"`` when it has none.
    sd : float
        Standard uncertainty as stated or judged; 0 for a figure fixed by definition.
    source : str
        Author, year and work.
    locator : str
        Where in the source, or how it follows from it.
    mark : {"read", "memory", "derived", "practice"}
        How the figure reached the project.
    """

    value: float
    unit: str
    sd: float
    source: str
    locator: str
    mark: Mark


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
RAMP_RUN = Constant(30 * 0.0254, "m", 0.0, RAMP_BOOKLET, "ball-release notch 30 in from the lower end", "read")
RAMP_ANGLE = Constant(0.3490658503988659, "rad", 0.02, RAMP_BOOKLET, "released at about 20 deg", "read")
RAMP_CONTACT_SPACING = Constant(0.0127, "m", 0.0005, RAMP_BOOKLET, "the ball rides on two contacts 1/2 in apart", "read")
ROLLOUT_SCATTER = Constant(
    3.93 * 0.0254,
    "m",
    0.02,
    "Sommer, Lulis, Kaminski, Penn State",
    "standard deviation of 100 single rolls on one flat bentgrass green",
    "read",
)
