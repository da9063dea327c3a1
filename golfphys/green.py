"""What a green is: how it resists a rolling ball, how it slopes, how its turf takes a landing, and what lies before it.

Frozen dataclasses, checked on construction; override one by making a new one (``dataclasses.replace``).
"""

import math
from dataclasses import dataclass, field, replace

from golfphys import constants
from golfphys.formulas.rolling import resistance_from_distance
from golfphys.units import METRES_PER_FOOT


def _require(owner: str, name: str, value: float, low: float, high: float) -> None:
    if not low <= value <= high:
        raise ValueError(f"{owner} {name} is {value!r}; expected a number from {low:g} to {high:g}")


@dataclass(frozen=True, kw_only=True)
class Resistance:
    """Coefficient of rolling resistance, push over normal force, as the ball's speed and heading change it.

    ``c(v, psi) = (constant + linear v + quadratic v^2) (1 - grain cos(psi - grain_direction))``

    Parameters
    ----------
    constant : float
        Value at vanishing speed (energy definition, Am. J. Phys. 90, 648, 2022).
    linear : float
        Growth with speed, s/m.
    quadratic : float
        Growth with speed squared, s^2/m^2.
    grain : float
        Part by which resistance is less with the grain and more against it; 0 to below 1.
    grain_direction : float
        Direction the grass leans towards, rad, anticlockwise from the line of play.

    Raises
    ------
    ValueError
        If a value is out of range; the message names it.
    """

    constant: float
    linear: float = 0.0
    quadratic: float = 0.0
    grain: float = 0.0
    grain_direction: float = 0.0

    def __post_init__(self) -> None:
        """Check the values."""
        _require("Resistance", "constant", self.constant, 0.0, 2.0)
        _require("Resistance", "linear", self.linear, -1.0, 1.0)
        _require("Resistance", "quadratic", self.quadratic, -1.0, 1.0)
        _require("Resistance", "grain", self.grain, 0.0, 0.99)
        _require("Resistance", "grain_direction", self.grain_direction, -math.inf, math.inf)


@dataclass(frozen=True, kw_only=True)
class Turf:
    """How turf takes a landing ball: a rigid impulse on a surface tilted by the dent.

    Defaults are the published values (Penner, Can. J. Phys. 80, 931, 2002; from memory). Normal restitution is
    ``restitution + restitution_linear u + restitution_quadratic u^2`` in the normal impact speed u, up to
    `restitution_limit_speed` and constant above it.

    Parameters
    ----------
    restitution, restitution_linear, restitution_quadratic : float
        Coefficients of normal restitution (1, s/m, s^2/m^2).
    restitution_limit_speed : float
        Normal speed in m/s above which restitution no longer changes.
    tilt : float
        Tilt of the dented surface, rad, at the reference impact (18.6 m/s, 44.4 deg from the normal).
    friction : float
        Coulomb friction between ball and turf during the impact.
    tangential_restitution : float
        Part of the tangential slip returned when the contact grips; 0 rolls out of the bounce.
    skid_friction : float
        Sliding friction of the ball on the turf after the last bounce.

    Raises
    ------
    ValueError
        If a value is out of range; the message names it.
    """

    restitution: float = 0.510
    restitution_linear: float = -0.0375
    restitution_quadratic: float = 0.000903
    restitution_limit_speed: float = 20.0
    tilt: float = math.radians(15.4)
    friction: float = 0.40
    tangential_restitution: float = 0.0
    skid_friction: float = 0.40

    def __post_init__(self) -> None:
        """Check the values."""
        _require("Turf", "restitution", self.restitution, 0.0, 1.0)
        _require("Turf", "restitution_linear", self.restitution_linear, -1.0, 1.0)
        _require("Turf", "restitution_quadratic", self.restitution_quadratic, -1.0, 1.0)
        _require("Turf", "restitution_limit_speed", self.restitution_limit_speed, 0.0, 100.0)
        _require("Turf", "tilt", self.tilt, 0.0, 0.8)
        _require("Turf", "friction", self.friction, 0.0, 5.0)
        _require("Turf", "tangential_restitution", self.tangential_restitution, 0.0, 1.0)
        _require("Turf", "skid_friction", self.skid_friction, 0.0, 5.0)


@dataclass(frozen=True, kw_only=True)
class Green:
    """A green as a plane with one resistance and one turf.

    Parameters
    ----------
    resistance : Resistance
        Rolling resistance.
    grade : float
        Steepest slope, rise over run, not negative.
    fall_direction : float
        Direction in which the ground falls, rad, anticlockwise from the line of play: 0 is downhill ahead, pi is
        uphill ahead, pi/2 falls to the left.
    turf : Turf
        How it takes a landing.

    Raises
    ------
    ValueError
        If a value is out of range; the message names it.

    Examples
    --------
    >>> round(Green.from_stimp(10.0).resistance.constant, 4)
    0.0784
    """

    resistance: Resistance
    grade: float = 0.0
    fall_direction: float = 0.0
    turf: Turf = field(default_factory=Turf)

    def __post_init__(self) -> None:
        """Check the values."""
        _require("Green", "grade", self.grade, 0.0, 1.0)
        _require("Green", "fall_direction", self.fall_direction, -math.inf, math.inf)

    @classmethod
    def from_stimp(
        cls,
        stimp_ft: float,
        *,
        grade: float = 0.0,
        fall_direction: float = 0.0,
        turf: Turf | None = None,
        release_speed: float = constants.RAMP_RELEASE_SPEED.value,
    ) -> "Green":
        """Make a green of constant resistance from its green speed as people quote it.

        Parameters
        ----------
        stimp_ft : float
            Distance in feet that a ball released from the ramp rolls on the level.
        grade, fall_direction, turf
            As for `Green`.
        release_speed : float
            Speed in m/s with which the ball leaves the ramp.

        Returns
        -------
        Green
            Its resistance makes a level roll of `stimp_ft`.

        Raises
        ------
        ValueError
            If `stimp_ft` is not positive.
        """
        if not stimp_ft > 0:
            raise ValueError(f"stimp_ft is {stimp_ft!r}; expected a positive distance in feet")
        constant = resistance_from_distance(
            stimp_ft * METRES_PER_FOOT, release_speed, 0.0, constants.GRAVITY.value, constants.BALL_INERTIA.value
        )
        return cls(
            resistance=Resistance(constant=constant),
            grade=grade,
            fall_direction=fall_direction,
            turf=turf if turf is not None else Turf(),
        )

    def turned(self, angle: float) -> "Green":
        """Return the same green seen along a line of play turned by `angle` rad anticlockwise.

        Directions that a green carries are measured from the line of play, so all of them lessen by `angle`.
        """
        return replace(
            self,
            fall_direction=self.fall_direction - angle,
            resistance=replace(self.resistance, grain_direction=self.resistance.grain_direction - angle),
        )
