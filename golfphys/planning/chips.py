"""Chips played on purpose: the head speed that lands a ball at a chosen spot, its aim, and the scatter around it."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.constants import GRAVITY
from golfphys.physics.club import Club, Launch, Lie, Player
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, Ground, GroundBatch
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.strike import launch_from

Floats = NDArray[np.float64]

SLOWEST_HEAD, FASTEST_HEAD, HEAD_SPEEDS = 1.5, 45.0, 160
"""Head speeds in m/s between which the search for a landing spot looks, and how many it tries."""

AIMING = 3
"""Corrections of the start line, each of which leaves a few per cent of the miss to the side."""

FASTER_THAN_FALL = 2.2
"""Head speed over the square root of gravity times carry that carries so far with any club that chips."""


@dataclass(frozen=True, kw_only=True)
class LandingTable:
    """How the ball must leave one club to land at a distance, one delivery being kept and only its speed varied.

    Parameters
    ----------
    club : Club
        The club.
    landing : ndarray
        Landing distances in m along the ground, rising.
    head_speed : ndarray
        Head speed in m/s that gives each.
    launches : Launch
        The launches of these speeds.
    """

    club: Club
    landing: Floats
    head_speed: Floats
    launches: Launch

    @property
    def reach(self) -> tuple[float, float]:
        """Shortest and longest landing distance in m that the table holds."""
        return float(self.landing[0]), float(self.landing[-1])

    def head_speed_for(self, landing: Any) -> Floats:
        """Return the head speeds in m/s that land at `landing` m; beyond the reach, those of its end."""
        where = np.clip(np.asarray(landing, float), *self.reach)
        return np.asarray(np.interp(where, self.landing, self.head_speed))

    def launch_at(self, head_speed: Any) -> Launch:
        """Return the launches that head speeds give; beyond the table, those of its end."""
        speed = np.asarray(head_speed, float)
        return Launch(*(np.interp(speed, self.head_speed, np.asarray(column)) for column in columns(self.launches)))

    def launch(self, landing: Any) -> Launch:
        """Return the launches that land at `landing` m; beyond the reach, those of its end."""
        return self.launch_at(self.head_speed_for(landing))


def columns(launch: Launch) -> tuple[Floats, ...]:
    """Return the five fields of a launch as arrays of its shape."""
    names = ("speed", "angle", "backspin", "direction", "sidespin")
    return tuple(np.broadcast_to(np.asarray(getattr(launch, name), float), launch.shape) for name in names)


@dataclass(frozen=True, kw_only=True)
class Tweak:
    """How drawn deliveries and lies change the launch that lands at a spot; arrays over the draws.

    Parameters
    ----------
    speed, backspin : ndarray
        Ratios to the launch as estimated.
    angle, direction, sidespin : ndarray
        Differences from it, rad and rad/s.
    """

    speed: Floats
    backspin: Floats
    angle: Floats
    direction: Floats
    sidespin: Floats

    @classmethod
    def between(cls, estimated: Launch, drawn: Launch) -> "Tweak":
        """Return what turns one launch into others."""
        speed, angle, spin, start, side = (np.asarray(item) for item in columns(estimated))
        to = columns(drawn)
        return cls(
            speed=to[0] / speed,
            backspin=to[2] / np.where(np.abs(spin) > 1e-6, spin, 1.0),
            angle=to[1] - angle,
            direction=to[3] - start,
            sidespin=to[4] - side,
        )

    def of(self, launch: Launch, each: NDArray[np.int_]) -> Launch:
        """Return `launch` as the draws that `each` names would have it, broadcast against each other."""
        draw = each % self.speed.size
        return Launch(
            np.asarray(launch.speed) * self.speed[draw],
            np.asarray(launch.angle) + self.angle[draw],
            np.asarray(launch.backspin) * self.backspin[draw],
            np.asarray(launch.direction) + self.direction[draw],
            np.asarray(launch.sidespin) + self.sidespin[draw],
        )


def played(launch: Launch, ground: Green | Ground | GroundBatch, **physics: Any) -> Shots:
    """Play a batch, quickly where the ground before the green matters to few shots.

    Strips that lie in the plane of the green and have its turf differ from it in rolling resistance only. A ball that
    lands, rolls and rests beyond them has not met them: it is played on the green alone, which is much faster.

    Parameters
    ----------
    launch : Launch
        A batch.
    ground : Green, Ground or GroundBatch
        What the balls land and roll on.
    **physics
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    Shots
        As `golfphys.physics.shot.simulate` has them.
    """
    base = ground.ground if isinstance(ground, GroundBatch) else ground
    if isinstance(base, Green) or not base.strips:
        return simulate(launch, ground, **physics)
    if any(strip.grade is not None or strip.turf is not None for strip in base.strips):
        return simulate(launch, ground, **physics)
    edge = base.edge
    open_green = replace(ground, ground=base.green) if isinstance(ground, GroundBatch) else base.green
    shots = simulate(launch, open_green, **physics)
    parts = {name: np.array(value) for name, value in vars(shots).items()}
    beyond = np.minimum(np.minimum(parts["landing_x"], parts["roll_x"]), parts["rest_x"]) > edge
    met = np.flatnonzero(~beyond)
    if not met.size:
        return shots
    if not beyond.any():
        return simulate(launch, ground, **physics)
    some = Launch(*(column.ravel()[met] for column in columns(launch)))
    own: dict[str, Any] = {
        name: _part(value, met, launch.shape) if isinstance(value, Aerodynamics) else value
        for name, value in physics.items()
    }
    where: Ground | GroundBatch = base
    if isinstance(ground, GroundBatch):
        values = {name: np.asarray(value, float) for name, value in ground.values.items()}
        where = replace(ground, values={name: value[met] if value.ndim else value for name, value in values.items()})
    again = simulate(some, where, **own)
    for name, value in vars(again).items():
        parts[name].ravel()[met] = value
    return Shots(**parts)


def _part(aerodynamics: Aerodynamics, which: NDArray[np.int_], shape: tuple[int, ...]) -> Aerodynamics:
    """Return the scales of some of the shots."""

    def cut(scale: Any) -> Any:
        return np.broadcast_to(scale, shape).ravel()[which] if np.ndim(scale) else scale

    return replace(aerodynamics, drag_scale=cut(aerodynamics.drag_scale), lift_scale=cut(aerodynamics.lift_scale))


def landing_tables(
    clubs: Sequence[Club],
    lie: Lie,
    player: Player,
    ground: Green | Ground,
    *,
    farthest: float = np.inf,
    **physics: Any,
) -> list[LandingTable]:
    """Work out which head speed lands the ball where, for several clubs in one run.

    Parameters
    ----------
    clubs : sequence of Club
        The clubs.
    lie : Lie
        How the ball lies.
    player : Player
        Whose delivery is kept and only its speed varied.
    ground : Green or Ground
        What the ball lands on.
    farthest : float
        Landing distance in m that need not be passed; a table that ends sooner is made faster.
    **physics
        Passed to `golfphys.physics.shot.simulate` (ball, air, laws).

    Returns
    -------
    list of LandingTable
        One for each club; straight lines between simulated flights.

    Raises
    ------
    ValueError
        If landing distance does not grow with head speed, so that no speed belongs to a spot.
    """
    speeds = np.linspace(np.sqrt(SLOWEST_HEAD), np.sqrt(FASTEST_HEAD), HEAD_SPEEDS) ** 2
    enough = FASTER_THAN_FALL * np.sqrt(GRAVITY.value * max(farthest, 1.0))
    speeds = speeds[: int(np.searchsorted(speeds, enough)) + 1]
    launches = [launch_from(club, replace(player.delivery, speed=speeds), lie) for club in clubs]
    carries = np.asarray(played(joined(launches), ground, **physics).carry).reshape(len(clubs), -1)
    tables = []
    for club, carry, launch in zip(clubs, carries, launches, strict=True):
        falling = np.flatnonzero(~(np.diff(carry) > 0))
        last = int(falling[0]) + 1 if falling.size else carry.size
        if last < 8:
            raise ValueError(f"{club.name}: landing distance does not grow with head speed for this delivery and lie")
        tables.append(
            LandingTable(
                club=club,
                landing=carry[:last],
                head_speed=speeds[:last],
                launches=Launch(*(column[:last] for column in columns(launch))),
            )
        )
    return tables


def joined(launches: Sequence[Launch]) -> Launch:
    """Return several launches as one batch, in order."""
    parts = [[column.ravel() for column in columns(item)] for item in launches]
    return Launch(*(np.concatenate(column) for column in zip(*parts, strict=True)))


def parts_of(values: Any, sizes: Sequence[int]) -> list[NDArray[Any]]:
    """Return the parts of a batch that `joined` launches of these sizes have, in order."""
    return np.split(np.asarray(values), np.cumsum(sizes)[:-1])


def aimed(launch: Launch, to_pin: float, ground: Green | Ground, **physics: Any) -> tuple[Launch, Shots]:
    """Turn launches until their balls come to rest on the line from ball to pin.

    Parameters
    ----------
    launch : Launch
        A batch.
    to_pin : float
        Distance to the pin, m; the scale on which a miss to the side is turned into an angle.
    ground : Green or Ground
        What the balls land and roll on.
    **physics
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    launch : Launch
        With `direction` set.
    shots : Shots
        What they do.
    """
    shots = played(launch, ground, **physics)
    for _ in range(AIMING):
        reach = np.maximum(np.abs(np.asarray(shots.rest_x)), 0.2 * to_pin)
        miss = np.where(np.asarray(shots.stops), np.arctan2(np.asarray(shots.rest_y), reach), 0.0)
        launch = replace(launch, direction=np.clip(np.asarray(launch.direction) - miss, -1.2, 1.2))
        shots = played(launch, ground, **physics)
    return launch, shots


def scattered(
    table: LandingTable,
    landing: Any,
    direction: Any,
    scatter: Any,
    normal: Floats,
    *,
    met: LandingTable | None = None,
    tweak: Tweak | None = None,
    each: NDArray[np.int_] | None = None,
) -> Launch:
    """Return launches around chips meant to land at `landing`.

    The error in landing distance is met by the head speed; launch angle and spin err about what that speed gives, and
    the ball's speed is then set so that the landing distance is still the one drawn (as the parabola has it).

    Parameters
    ----------
    table : LandingTable
        Club, lie and player as she takes them to be: it gives the head speed.
    landing : array_like
        Landing distances meant, m.
    direction : array_like
        Start directions meant, rad.
    scatter : Scatter
        The player's; fields may be arrays that broadcast against `normal`.
    normal : ndarray, shape (4, ...)
        Standard normal numbers for distance, direction, angle and spin; broadcast against `landing`.
    met : LandingTable, optional
        Lie and player as they turn out: what launch the head speed gives. As taken if left out.
    tweak : Tweak, optional
        How drawn deliveries and lies change the launch.
    each : ndarray of int, optional
        Which of these draws goes with each error; with `tweak` only.

    Returns
    -------
    Launch
        A batch of the broadcast shape, flattened.
    """
    landing = np.asarray(landing, float)
    spread = np.hypot(scatter.distance_absolute, scatter.distance_relative * landing)
    meant = (met or table).launch_at(table.head_speed_for(landing + spread * normal[0]))
    if tweak is not None and each is not None:
        meant = tweak.of(meant, each)
    angle = np.clip(np.asarray(meant.angle) + scatter.angle * normal[2], 0.05, 1.5)
    speed = np.asarray(meant.speed) * np.sqrt(np.sin(2 * np.asarray(meant.angle)) / np.sin(2 * angle))
    spin = np.asarray(meant.backspin) * np.maximum(1 + scatter.spin_relative * normal[3], 0.0)
    start = np.asarray(direction, float) + np.asarray(meant.direction) + scatter.direction * normal[1]
    fields = np.broadcast_arrays(speed, angle, spin, start, np.asarray(meant.sidespin, float))
    return Launch(*(values.ravel() for values in fields))
