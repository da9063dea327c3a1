"""What a green is: how it resists a rolling ball, how it slopes, how its turf takes a landing, and what lies before it.

Frozen dataclasses, checked on construction: a number out of range is a ValueError that names it. Override one by making
a new one (``dataclasses.replace``). Every number may be an array instead, one value for each shot; they broadcast
against each other and the launch.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from itertools import pairwise
from types import MappingProxyType
from typing import Annotated, Any, Literal, NamedTuple

import numpy as np

from golfphys.core import constants
from golfphys.core.broadcasting import Checked, broadcast, check_fields, numbers
from golfphys.core.resistance import Resistance as Resistance
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas.rolling import resistance_from_distance

TurfLaw = Literal["rigid", "linear"]
"""Laws of the bounce: `Turf` and `LinearTurf`."""


@dataclass(frozen=True, kw_only=True)
class AnyTurf(Checked):
    """What turf has under either law of the bounce; see `Turf`."""

    friction: Annotated[Any, (0.0, 5.0)] = constants.TURF_FRICTION.value
    hop_loss: Annotated[Any, (0.0005, 0.1)] = constants.TURF_HOP_LOSS.value
    skid_friction: Annotated[Any, (0.0, 5.0)] = constants.TURF_FRICTION.value
    unevenness: Annotated[Any, (0.0, 0.3)] = constants.TURF_UNEVENNESS.value
    patchiness: Annotated[Any, (0.0, 1.0)] = 0.0
    kept_by_angle: Annotated[Any, (-3.0, 3.0)] = 0.0
    kept_by_speed: Annotated[Any, (-3.0, 3.0)] = 0.0


@dataclass(frozen=True, kw_only=True)
class Turf(AnyTurf):
    """How turf takes a landing ball: a rigid impulse on a surface tilted by the dent.

    Defaults are the published values (Penner, Can. J. Phys. 80, 931, 2002; from memory) with two departures, so that
    hops die out: the tilt fades with the dent (`dent_speed`), and each hop loses a little height to the grass
    (`hop_loss`). At the reference impact the tilt is the published one. Normal restitution is
    ``restitution + restitution_linear u + restitution_quadratic u^2`` in the normal impact speed u, up to
    `restitution_limit_speed` and constant above it.

    Parameters
    ----------
    restitution, restitution_linear, restitution_quadratic : float or array_like, in 1, s/m and s^2/m^2
    restitution_limit_speed : float or array_like, normal speed in m/s above which restitution no longer changes
    tilt : float or array_like
        Tilt of the dented surface, rad, at the reference impact (18.6 m/s, 44.4 deg from the normal).
    dent_speed : float or array_like, normal speed in m/s at which the dent, and the tilt, has half its full share
    friction : float or array_like, Coulomb friction between ball and turf during the impact
    tangential_restitution : float or array_like
        Fraction of the tangential slip returned when the contact grips; 0 rolls out of the bounce.
    hop_loss : float or array_like, height in m that every hop loses to the grass; a lower hop does not leave it
    skid_friction : float or array_like, sliding friction of the ball on the turf after the last bounce
    unevenness, patchiness : float or array_like
        Standard deviations, with `simulate(..., bumps=...)` only: of the local slope that a landing meets, rise over
        run, and of the logarithm of what a landing that presses in keeps of its speed along the ground.
    kept_by_angle, kept_by_speed : float or array_like
        What the law misses at a first landing: change of that logarithm for each radian of the landing's angle, and
        for each factor e of its speed.

    Examples
    --------
    >>> Turf(restitution=0.45).friction
    0.4
    """

    restitution: Annotated[Any, (0.0, 1.0)] = constants.TURF_RESTITUTION.value
    restitution_linear: Annotated[Any, (-1.0, 1.0)] = constants.TURF_RESTITUTION_LINEAR.value
    restitution_quadratic: Annotated[Any, (-1.0, 1.0)] = constants.TURF_RESTITUTION_QUADRATIC.value
    restitution_limit_speed: Annotated[Any, (0.0, 100.0)] = constants.TURF_RESTITUTION_LIMIT_SPEED.value
    tilt: Annotated[Any, (0.0, 0.8)] = constants.TURF_TILT.value
    dent_speed: Annotated[Any, (0.1, 50.0)] = constants.TURF_DENT_SPEED.value
    tangential_restitution: Annotated[Any, (0.0, 1.0)] = 0.0


@dataclass(frozen=True, kw_only=True)
class LinearTurf(AnyTurf):
    """How turf takes a landing ball: take-off linear in landing, capped by friction.

    A piecewise-affine map from landing to take-off fitted more than 1000 bounces better than a rigid tilted surface
    (Biber et al., Sports Engineering 26, 2023, abstract). Its numbers are not in the abstract: the defaults here are
    those of a rigid contact that grips, for a fit to move. The rim speed is the ball's radius times its spin.

    Parameters
    ----------
    restitution, forward_lift : float or array_like
        Upward take-off speed, never above landing speed, for each unit of downward and of forward landing speed.
    speed_kept, speed_from_spin : float or array_like, forward take-off speed for each unit of forward and of rim speed
    spin_from_speed, spin_kept : float or array_like, rim speed at take-off for each unit of forward and of rim speed
    friction : float or array_like, cap on the forward change over the change of normal speed
    hop_loss, skid_friction, unevenness, patchiness, kept_by_angle, kept_by_speed : float or array_like, as for `Turf`

    Examples
    --------
    >>> Green.from_stimp(10.0, turf=LinearTurf(restitution=0.35)).turf.restitution
    0.35
    """

    restitution: Annotated[Any, (0.0, 1.0)] = 0.40
    forward_lift: Annotated[Any, (0.0, 1.0)] = 0.03
    speed_kept: Annotated[Any, (-1.0, 1.5)] = 5 / 7
    speed_from_spin: Annotated[Any, (-1.0, 1.5)] = 2 / 7
    spin_from_speed: Annotated[Any, (-1.0, 1.5)] = 5 / 7
    spin_kept: Annotated[Any, (-1.0, 1.5)] = 2 / 7


class Prior(NamedTuple):
    """What is known of a number before any measurement: its centre, its spread or that of its logarithm, its limits."""

    centre: float
    spread: float
    low: float = -math.inf
    high: float = math.inf
    logarithm: bool = False
    unit: str = "1"


def _positive(centre: float, spread: float, high: float = math.inf, unit: str = "1") -> Prior:
    return Prior(centre, spread, high=high, logarithm=True, unit=unit)


_EITHER = {
    "friction": _positive(constants.TURF_FRICTION.value, 0.35),  # Haake's greens need 0.16 to 0.4
    "skid_friction": _positive(constants.TURF_FRICTION.value, 0.35),
    "hop_loss": _positive(constants.TURF_HOP_LOSS.value, 0.4, 0.1, "m"),  # judged, as all that follow
    "kept_by_angle": Prior(0.0, 0.4),  # what a law of the bounce misses at a landing
    "kept_by_speed": Prior(0.0, 0.25),
    "patchiness": _positive(0.04, 0.9, 1.0),
}
TURF_PRIORS: Mapping[TurfLaw, Mapping[str, Prior]] = {
    "rigid": {  # Penner (2002), wide; the speed at which a ball dents the green is judged
        "restitution": Prior(constants.TURF_RESTITUTION.value, 0.07, 0.05, 1.0),
        "restitution_linear": Prior(constants.TURF_RESTITUTION_LINEAR.value, 0.012, unit="s/m"),
        "tilt": _positive(constants.TURF_TILT.value, 0.5, 0.8, "rad"),
        "dent_speed": _positive(constants.TURF_DENT_SPEED.value, 0.35, unit="m/s"),
        **_EITHER,
    },
    "linear": {  # Penner (2002) at the speeds of chips, wide; the lift judged; a rigid contact that grips, wide
        "restitution": Prior(0.35, 0.08, 0.0, 1.0),
        "forward_lift": Prior(0.03, 0.03, 0.0, 1.0),
        "speed_kept": Prior(5 / 7, 0.12),
        "speed_from_spin": Prior(2 / 7, 0.10),
        "spin_from_speed": Prior(5 / 7, 0.15),
        "spin_kept": Prior(2 / 7, 0.15),
        **_EITHER,
    },
}
"""Of a green's turf under each law of the bounce: what `assumed` draws from, and what a fit begins with."""


@dataclass(frozen=True, kw_only=True)
class Green(Checked):
    """A green as a plane with one resistance and one turf.

    Parameters
    ----------
    resistance : Resistance, rolling resistance: on the level a rolling ball slows at 5/7 of it times gravity
    grade : float or array_like, steepest slope, rise over run, not negative
    fall_direction : float or array_like
        Direction in which the ground falls, rad, anticlockwise from the line of play: 0 is downhill ahead, pi is
        uphill ahead, pi/2 falls to the left.
    turf : Turf or LinearTurf, how it takes a landing

    Examples
    --------
    >>> round(Green.from_stimp(10.0).resistance.constant, 4)
    0.0784
    """

    resistance: Resistance
    grade: Annotated[Any, (0.0, 1.0)] = 0.0
    fall_direction: Annotated[Any, (-math.inf, math.inf)] = 0.0
    turf: Turf | LinearTurf = field(default_factory=Turf)

    @classmethod
    def from_stimp(
        cls,
        stimp_ft: Any,
        *,
        grade: Any = 0.0,
        fall_direction: Any = 0.0,
        turf: Turf | LinearTurf | None = None,
        release_speed: Any = constants.RAMP_RELEASE_SPEED.value,
    ) -> "Green":
        """Make a green of constant resistance from its green speed as people quote it.

        `stimp_ft` is the distance in feet that a ball released from the ramp at `release_speed` m/s rolls on the level;
        a ValueError if it is not positive. The other parameters are those of `Green`; all may be arrays.

        >>> Green.from_stimp([8.0, 10.0]).resistance.constant.round(4)
        array([0.098 , 0.0784])
        """
        rolled = numbers("stimp_ft", stimp_ft) * METRES_PER_FOOT
        if not np.all(rolled > 0):
            raise ValueError(f"stimp_ft is {stimp_ft!r}; expected a positive distance in feet")
        world = (constants.GRAVITY.value, constants.BALL_INERTIA.value)
        constant = broadcast(resistance_from_distance, rolled, release_speed, 0.0, *world)
        return cls(
            resistance=Resistance(constant=constant), grade=grade, fall_direction=fall_direction, turf=turf or Turf()
        )

    def turned(self, angle: float) -> "Green":
        """Return the same green seen along a line of play turned by `angle` rad, anticlockwise.

        Directions that a green carries are measured from the line of play, so all of them lessen by the angle.

        >>> Green.from_stimp(10.0, grade=0.02, fall_direction=1.0).turned(1.0).fall_direction
        0.0
        """
        resistance = replace(self.resistance, grain_direction=self.resistance.grain_direction - angle)
        return replace(self, fall_direction=self.fall_direction - angle, resistance=resistance)


@dataclass(frozen=True, kw_only=True)
class Strip:
    """A strip of ground before the green, square to the line of play: fairway, fringe, collar.

    Parameters
    ----------
    until : float or array_like, where the strip ends, m along the ground from the ball
    resistance : Resistance or None, rolling resistance; None for the green's own
    turf : Turf, LinearTurf or None, how it takes a landing; None for the green's own
    grade : float, array_like or None
        Rise over run along the line of play, positive uphill ahead; None for the green's own plane. Across the line
        a strip slopes as the green does.

    Examples
    --------
    >>> Strip(until=2.0, resistance=Resistance(constant=0.25)).turf is None
    True
    """

    until: Any
    resistance: Resistance | None = None
    turf: Turf | LinearTurf | None = None
    grade: Any = None

    def __post_init__(self) -> None:
        check_fields(self, {"until": (0.0, 1000.0), **({} if self.grade is None else {"grade": (-1.0, 1.0)})})


@dataclass(frozen=True, kw_only=True)
class Hole(Checked):
    """The hole on the line of play.

    Parameters
    ----------
    x, y : float or array_like, centre, m along the ground from the ball and to the left
    radius : float or array_like, m
    capture_speed : float or array_like
        Fastest ball at the near rim that is taken over its centre, m/s (Holmes, Am. J. Phys. 59, 129, 1991; memory);
        off centre it falls as 1 - (offset/radius)^2.
    flagstick : bool
        Whether the stick is in: it takes a ball that strikes it full on somewhat faster (judged, no source).

    Examples
    --------
    >>> Hole(x=12.0).flagstick
    True
    """

    x: Annotated[Any, (-1000.0, 1000.0)]
    y: Annotated[Any, (-1000.0, 1000.0)] = 0.0
    radius: Annotated[Any, (0.001, 1.0)] = constants.HOLE_RADIUS.value
    capture_speed: Annotated[Any, (0.0, 10.0)] = constants.FAR_RIM_CAPTURE_SPEED.value
    flagstick: bool = True


def _falls(ends: list[Any]) -> bool:
    return any(np.any(np.less_equal(later, earlier)) for earlier, later in pairwise(ends))


@dataclass(frozen=True, kw_only=True)
class Ground:
    """What lies along the line of play: strips before the green, the green, strips behind it; and the hole.

    Raises a ValueError if the strips do not end one beyond the other, or there are strips behind a green without a
    back.

    Parameters
    ----------
    green : Green, begins where the last strip ends and goes on to `back`
    strips : tuple of Strip, in order from the ball; the first reaches back behind the ball as well
    back : float, array_like or None
        Where the green ends, m along the ground from the ball; None without strips behind it.
    behind : tuple of Strip, what lies behind the green, in order; the last goes on for ever
    surface : Surface, optional
        Surveyed heights in place of planes, seen along the line of play (`Surface.along`); strips then only say where
        resistance and turf change.
    hole : Hole, optional, what may take the ball

    Examples
    --------
    >>> fringe = Strip(until=2.0, resistance=Resistance(constant=0.3))
    >>> Ground(green=Green.from_stimp(10.0), strips=(fringe,)).edge
    2.0
    """

    green: Green
    strips: tuple[Strip, ...] = ()
    back: Any = None
    behind: tuple[Strip, ...] = ()
    surface: Any = None
    hole: Hole | None = None

    def __post_init__(self) -> None:
        ends = [strip.until for strip in self.strips]
        if _falls([0.0, *ends]):
            raise ValueError(f"Ground strips end at {ends}; expected each beyond the one before, the first beyond 0")
        if (self.back is None) != (not self.behind):
            raise ValueError("Ground back and behind go together; expected where the green ends and what lies there")
        ends = [self.edge, *([] if self.back is None else [self.back]), *(strip.until for strip in self.behind)]
        if _falls(ends):
            raise ValueError(f"Ground from the green on ends at {ends}; expected each beyond the one before")

    @property
    def pieces(self) -> tuple[tuple[Any, Strip], ...]:
        """Where each piece of ground starts, m along the ground, and its strip; the green's has nothing of its own."""
        starts = (0.0, *(strip.until for strip in self.strips), self.back, *(strip.until for strip in self.behind))
        return tuple(zip(starts, (*self.strips, Strip(until=0.0), *self.behind), strict=False))

    @property
    def edge(self) -> Any:
        """Distance in m along the ground from the ball to where the green begins."""
        return self.strips[-1].until if self.strips else 0.0


@dataclass(frozen=True, kw_only=True)
class Grass:
    """Ground beside the green: how it resists a roll and takes a landing.

    Parameters
    ----------
    resistance, turf : Resistance; Turf or LinearTurf, whose numbers may be arrays of shape (n,)

    Examples
    --------
    >>> Grass(resistance=Resistance(constant=0.25), turf=Turf()).resistance.constant
    0.25
    """

    resistance: Resistance
    turf: Turf | LinearTurf


@dataclass(frozen=True)
class Kind:
    """What one kind of ground around a green is like beside it, and how far such ground differs; judged, no source."""

    resistance: float  # median of the rolling resistance
    resistance_spread: float  # standard deviation of its logarithm
    restitution: float  # median factors on the green's restitution and tilt: softer ground gives less back, dents more
    tilt: float
    softness_spread: float  # standard deviation of the logarithm of both
    hop_loss: float  # median height in m that the grass takes from each hop

    def beside(self, turf: Turf | LinearTurf, resistance: Any, softer: Any, hop_loss: Any) -> Grass:
        """Return ground of this kind beside a green of that turf, so much softer than its median."""
        restitution = np.clip(np.asarray(turf.restitution) * self.restitution / softer, 0.0, 1.0)
        soft = replace(turf, restitution=restitution, hop_loss=hop_loss)
        if isinstance(soft, Turf):
            soft = replace(soft, tilt=np.minimum(np.asarray(soft.tilt) * self.tilt * softer, 0.8))
        return Grass(resistance=Resistance(constant=resistance), turf=soft)


AROUND: Mapping[str, Kind] = MappingProxyType(
    {
        "collar": Kind(0.14, 0.25, 0.93, 1.10, 0.10, 0.005),
        "fringe": Kind(0.25, 0.30, 0.70, 1.50, 0.30, 0.012),
        "fairway": Kind(0.30, 0.30, 0.68, 1.55, 0.30, 0.014),
        "rough": Kind(0.90, 0.40, 0.50, 1.60, 0.25, 0.030),
    }
)
"""Grounds around a green: softer than it, slower and uncertain (judged, no source; measure the fringe to do better)."""
