"""The question that a plan answers: where the ball lies, what lies between it and the pin, and what can be played."""

import math
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from types import MappingProxyType

import numpy as np

from golfphys.core.broadcasting import numbers, require_kinds
from golfphys.physics.club import Lie
from golfphys.physics.draws import Draws
from golfphys.physics.usual import AROUND, Option
from golfphys.physics.usual import OPTIONS as KNOWN

FRINGE = 1.0
"""Width in m of the fringe before a green where nothing is said about it (practice, no source)."""

STEEPEST_LIE = 0.35
"""Steepest ground in rad from which a chip is planned."""

GRASSY = ("light rough", "rough")
"""Lies in ground that is itself rough."""


@dataclass(frozen=True, kw_only=True)
class Position:
    """A chip to be played along the line from ball to pin.

    Parameters
    ----------
    to_edge : float
        Distance in m along the line from the ball to where the green begins; 0 if the ball lies on its edge.
    to_pin : float
        Distance in m from the ball to the pin.
    lie : str
        Name of the lie, one of the draws' lies.
    before : tuple of (str, float), optional
        What lies between ball and green, as names (collar, fringe, fairway, rough) and where each ends, m from the
        ball, the last one at the edge. If left out: a metre of fringe, and before it fairway, or rough where the ball
        lies in rough.
    to_back : float, optional
        Distance in m from the ball to the back edge of the green.
    behind : str
        What lies behind the back edge.
    lie_uphill, lie_falls_left : float
        Slope of the ground under the ball, rad: positive uphill along the line of play; positive where it falls to the
        left, which has the ball above the feet of a right-handed player.

    Examples
    --------
    >>> Position(to_edge=3.0, to_pin=15.0).ground_before
    (('fairway', 2.0), ('fringe', 3.0))
    """

    to_edge: float
    to_pin: float
    lie: str = "fairway"
    before: tuple[tuple[str, float], ...] | None = None
    to_back: float | None = None
    behind: str = "fringe"
    lie_uphill: float = 0.0
    lie_falls_left: float = 0.0

    def __post_init__(self) -> None:
        """Check the values."""
        for name in ("to_edge", "to_pin"):
            value = getattr(self, name)
            if numbers(name, value).ndim or not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{name} is {value!r}; expected a distance in m, not negative")
        require_kinds(lie=(self.lie, str))
        if not self.to_pin > self.to_edge:
            raise ValueError(
                f"to_pin is {self.to_pin!r} m, to_edge {self.to_edge!r} m; the pin must lie beyond the green's edge"
            )
        if self.to_back is not None and not self.to_back > self.to_pin:
            raise ValueError(f"to_back is {self.to_back!r} m, to_pin {self.to_pin!r} m; the green must reach the pin")
        for name in ("lie_uphill", "lie_falls_left"):
            slope = getattr(self, name)
            if not abs(slope) <= STEEPEST_LIE:
                raise ValueError(f"{name} is {slope!r}; expected a slope in rad, at most {STEEPEST_LIE} either way")
        ends = [until for _, until in self.ground_before]
        names = [*(name for name, _ in self.ground_before), self.behind]
        unknown = sorted(set(names) - set(AROUND))
        if unknown:
            raise ValueError(f"ground {', '.join(unknown)} is not known; expected one of {', '.join(AROUND)}")
        if ends != sorted(set(ends)) or (ends and not (ends[0] > 0 and abs(ends[-1] - self.to_edge) < 1e-9)):
            raise ValueError(f"before ends at {ends} m; expected rising distances, the last the edge, {self.to_edge!r}")

    @property
    def green_to_work_with(self) -> float:
        """Distance in m from the edge of the green to the pin."""
        return self.to_pin - self.to_edge

    def sloped(self, lie: Lie) -> Lie:
        """Return a lie as it is on the slope under the ball."""
        if not (self.lie_uphill or self.lie_falls_left):
            return lie
        return replace(
            lie,
            slope_along=np.asarray(lie.slope_along) + self.lie_uphill,
            slope_across=np.asarray(lie.slope_across) + self.lie_falls_left,
        )

    @property
    def ground_before(self) -> tuple[tuple[str, float], ...]:
        """What lies between ball and green: name, and where it ends, m from the ball."""
        if self.before is not None:
            return self.before
        first = "rough" if self.lie in GRASSY else "fairway"
        start = self.to_edge - FRINGE
        parts = ((first, start),) if start > 0.2 else ()
        return (*parts, ("fringe", self.to_edge)) if self.to_edge > 0 else ()


USUAL, PUTTING = KNOWN["usual"], KNOWN["putter"]
OPTIONS: tuple[Option, ...] = tuple(KNOWN.values())
"""Options that are tried."""

LEAST_LOFT: Mapping[str, float] = MappingProxyType(
    {"hands level": math.radians(44.0), "face opened 20 degrees": math.radians(53.0)}
)
"""Loft in rad from which a club is played so (practice, no source)."""

HARD = 0.25
"""Give of the soil below which a swing that brings more bounce to the ball is not thought of: off bare ground the sole
jumps into it (practice, no source)."""

MOST_PUTTED = 6.0
"""Distance in m from the green from which the putter is still thought of (practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One club in one option, or the putter.

    Parameters
    ----------
    club : str
        Name of the club in the draws' bag, or that of the putting option.
    option : Option
        How it is played.
    """

    club: str
    option: Option = USUAL

    @property
    def label(self) -> str:
        """Club and option in words: the name by which a plan speaks of it."""
        return self.club if self.option is USUAL or self.putts else f"{self.club}, {self.option.name}"

    @property
    def putts(self) -> bool:
        """Whether the ball is putted."""
        return self.option.putts


def choices_for(draws: Draws, position: Position, options: Sequence[Option] = OPTIONS) -> list[Choice]:
    """Return all that can be played from a position: usual deliveries first, in the order of the bag.

    The putter is thought of only where the grass before the green is short.
    """
    found = []
    hard = float(np.median(draws.lies[position.lie].give)) < HARD
    require_kinds(options=(options, Iterable))
    for option in options:
        require_kinds(option=(option, Option))
        if hard and not option.putts and (option.lean < 0.0 or option.opening > 0.0):
            continue
        least = LEAST_LOFT.get(option.name, 0.0)
        if option.putts:
            found += [Choice(club=option.name, option=option)] if _may_putt(position) else []
            continue
        lofts = {name: float(np.median(club.loft)) for name, club in draws.bag.items()}
        found += [Choice(club=name, option=option) for name, loft in lofts.items() if loft >= least]
    if not found:
        raise ValueError("bag is empty; expected at least one club")
    return found


def _may_putt(position: Position) -> bool:
    short = all(name != "rough" for name, _ in position.ground_before)
    return short and position.to_edge <= MOST_PUTTED and position.lie not in GRASSY
