"""The question that a plan answers: where the ball lies, what lies between it and the pin, and what lies behind."""

import math
from dataclasses import dataclass, replace

import numpy as np

from golfphys.physics.club import Lie
from golfphys.physics.usual import AROUND

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
            if not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{name} is {value!r}; expected a distance in m, not negative")
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
