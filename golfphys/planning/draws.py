"""What a fit leaves open, in draws that belong together: green, turf, delivery, lies and scatter."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.physics.club import DEFAULT_PLAYER, LIES, Delivery, Lie, Player, Scatter
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, Ground, GroundBatch
from golfphys.physics.strike import launch_from
from golfphys.planning.chips import LandingTable, Tweak, joined, played

Floats = NDArray[np.float64]
Draws = Mapping[str, Any]

EVERY_CLUB = ""
"""Key of the scatter of clubs that have none of their own."""

DELIVERY = ("attack", "shaft_lean", "face_opening")
LIE = ("friction", "cushion")
AIR = ("drag_scale", "lift_scale")
SCATTER = tuple(item.name for item in fields(Scatter))
ROUNDS = 2
"""Corrections of the head speed, each of which leaves a few per cent of the miss in landing distance."""


@dataclass(frozen=True, kw_only=True)
class CourseDraws:
    """Draws of all that a fit leaves open, aligned: draw number i of everything belongs together.

    Parameters
    ----------
    ground : GroundBatch
        The estimated green in common, and the draws of its values and of its turf's.
    player : Player
        The estimated player.
    lies : mapping of str to Lie
        The estimated lies by name.
    delivery : mapping of str to array_like
        Draws of ``attack``, ``shaft_lean`` and ``face_opening``, rad; what is left out stays as estimated.
    lie : mapping of str to mapping
        For a lie's name, draws of its ``friction`` and ``cushion``.
    scatter : mapping of str to mapping
        For a club's name, draws of the fields of its `Scatter`; under ``""`` those of every other club.
    aerodynamics : mapping of str to array_like
        Draws of ``drag_scale`` and ``lift_scale``.
    loft : mapping of str to array_like
        For a club's name, draws of its true loft less the one it is taken to have, rad.

    Raises
    ------
    ValueError
        If a name is not known, or draws differ in number or are not finite.

    Examples
    --------
    >>> from golfphys.physics.green import Green
    >>> ground = GroundBatch(ground=Green.from_stimp(10.0), values={"constant": [0.07, 0.08]})
    >>> CourseDraws(ground=ground, delivery={"shaft_lean": [0.12, 0.15]}).size
    2
    """

    ground: GroundBatch
    player: Player = DEFAULT_PLAYER
    lies: Mapping[str, Lie] = field(default_factory=lambda: LIES)
    delivery: Draws = field(default_factory=dict)
    lie: Mapping[str, Draws] = field(default_factory=dict)
    scatter: Mapping[str, Draws] = field(default_factory=dict)
    aerodynamics: Draws = field(default_factory=dict)
    loft: Draws = field(default_factory=dict)

    def __post_init__(self) -> None:
        """Check names and lengths."""
        sizes = {}
        for what, known, values in self._groups():
            unknown = sorted(set(values) - set(known))
            if unknown:
                raise ValueError(f"CourseDraws {what} has {unknown}; expected names among {sorted(known)}")
            for name, item in values.items():
                drawn = np.asarray(item, float)
                if not np.isfinite(drawn).all():
                    raise ValueError(f"CourseDraws {what} {name} holds a value that is not finite")
                if drawn.ndim:
                    sizes[f"{what} {name}"] = drawn.size
        if len(set(sizes.values())) > 1:
            raise ValueError(f"CourseDraws has draws of different number: {sizes}; expected as many of each")

    def _groups(self) -> Iterator[tuple[str, tuple[str, ...], Draws]]:
        yield "ground", tuple(self.ground.fields), self.ground.values
        yield "delivery", DELIVERY, self.delivery
        yield "aerodynamics", AIR, self.aerodynamics
        yield "loft", tuple(self.loft), self.loft
        for name, values in self.lie.items():
            yield f"lie {name}", LIE, values
        for name, values in self.scatter.items():
            yield f"scatter {name}".rstrip(), SCATTER, values

    @property
    def size(self) -> int:
        """Number of draws."""
        return max((np.size(item) for _, _, values in self._groups() for item in values.values()), default=1)

    def on(self, ground: Ground) -> "CourseDraws":
        """Return the same draws with another estimated ground in common.

        Parameters
        ----------
        ground : Ground
            The ground.

        Returns
        -------
        CourseDraws
            With this ground.
        """
        return replace(self, ground=replace(self.ground, ground=ground))

    def values_at(self, each: NDArray[np.int_]) -> dict[str, Any]:
        """Return the values of the ground for some of the draws.

        Parameters
        ----------
        each : ndarray of int
            Which draws, counted around if there are fewer.

        Returns
        -------
        dict
            By field of the ground.
        """
        return {name: picked(item, each) for name, item in self.ground.values.items()}

    def physics_at(self, physics: Mapping[str, Any], each: NDArray[np.int_]) -> Mapping[str, Any]:
        """Return what `golfphys.physics.shot.simulate` takes beside the ground, for some of the draws.

        Parameters
        ----------
        physics : mapping
            What it would take as estimated.
        each : ndarray of int
            Which draws, counted around if there are fewer.

        Returns
        -------
        mapping
            With the drawn drag and lift.
        """
        if not self.aerodynamics:
            return physics
        base = physics.get("aerodynamics") or Aerodynamics()
        scales = {name: picked(item, each) for name, item in self.aerodynamics.items()}
        return {**physics, "aerodynamics": replace(base, **scales)}

    def scatter_at(self, club: str, player: Player, each: NDArray[np.int_]) -> Any:
        """Return the scatter of a club for some of the draws.

        Parameters
        ----------
        club : str
            Its name.
        player : Player
            Whose scatter holds where none is drawn.
        each : ndarray of int
            Which draws, counted around if there are fewer.

        Returns
        -------
        Scatter or namespace
            Its fields are arrays where they are drawn.
        """
        centre = player.scatter_for(club)
        drawn = self.scatter.get(club)
        if drawn is None and club not in player.by_club:
            drawn = self.scatter.get(EVERY_CLUB)
        if not drawn:
            return centre
        return SimpleNamespace(
            **{name: picked(drawn[name], each) if name in drawn else getattr(centre, name) for name in SCATTER}
        )


AnyGreen = Green | GroundBatch | CourseDraws
"""What a plan can be made on: a green as known, draws of it, or draws of green, turf and player together."""


def picked(item: Any, each: NDArray[np.int_]) -> Any:
    """Return the draws that `each` names, counted around if there are fewer; a number as it is."""
    values = np.asarray(item, float)
    return values[each % values.size] if values.ndim else values


def tweaks(
    draws: CourseDraws | None,
    tables: Sequence[LandingTable],
    landing: Sequence[float],
    lie: Lie,
    player: Player,
    ground: Ground,
    count: int,
    physics: Mapping[str, Any],
) -> list[Tweak | None]:
    """Work out how each drawn delivery and lie changes the launch that lands at the same spot, club by club.

    Parameters
    ----------
    draws : CourseDraws or None
        The draws; without any of delivery or of this lie nothing changes.
    tables : sequence of LandingTable
        The clubs as estimated.
    landing : sequence of float
        For each club the landing distance in m at which the change is worked out; near it the change is taken as the
        same.
    lie : Lie
        How the ball lies, as estimated.
    player : Player
        The estimated player.
    ground : Ground
        What the ball lands on.
    count : int
        How many of the draws.
    physics : mapping
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    list of Tweak or None
        One for each club, arrays of length `count`.
    """
    if draws is None or not (draws.delivery or draws.lie.get(lie.name) or draws.aerodynamics or draws.loft):
        return [None] * len(tables)
    each = np.arange(count)
    delivery = {name: picked(draws.delivery[name], each) for name in DELIVERY if name in draws.delivery}
    drawn = draws.lie.get(lie.name, {})
    met = replace(lie, **{name: picked(drawn[name], each) for name in LIE if name in drawn})
    target = np.asarray(landing, float)[:, None]
    physics = draws.physics_at(physics, np.tile(each, len(tables)))
    head = np.stack([np.full(count, table.head_speed_for(at)) for table, at in zip(tables, landing, strict=True)])
    for round_number in range(ROUNDS + 1):
        launches = [
            launch_from(table.club, _lofted(replace(player.delivery, speed=speed, **delivery), draws, table, each), met)
            for table, speed in zip(tables, head, strict=True)
        ]
        if round_number == ROUNDS:
            break
        carry = np.asarray(played(joined(launches), ground, **physics).carry).reshape(head.shape)
        # carry grows with the square of speed, nearly
        head = head * np.sqrt(target / np.maximum(carry, 0.05 * target))
    return [
        Tweak.between(table.launch(at), launch) for table, at, launch in zip(tables, landing, launches, strict=True)
    ]


def _lofted(delivery: Delivery, draws: CourseDraws, table: LandingTable, each: NDArray[np.int_]) -> Delivery:
    """Return a delivery that does to the club as estimated what the given one does to the club's drawn loft."""
    if table.club.name not in draws.loft:
        return delivery
    # loft and shaft lean act on the face through their difference alone
    more = picked(draws.loft[table.club.name], each)
    return replace(delivery, shaft_lean=np.asarray(delivery.shaft_lean, float) - more)
