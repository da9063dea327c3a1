"""The question a plan answers: where the ball lies, where the green begins, where the pin is."""

import math
from collections.abc import Mapping
from dataclasses import dataclass

from golfphys.physics.club import LIES, Lie


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
        Name of the lie: of `golfphys.physics.club.LIES`, of the lies of a fit, or of a `golfphys.physics.club.Lie`
        of one's own.

    Raises
    ------
    ValueError
        If a distance is negative or not finite, or the pin does not lie beyond the edge.

    Examples
    --------
    >>> Position(to_edge=3.0, to_pin=15.0).green_to_work_with
    12.0
    """

    to_edge: float
    to_pin: float
    lie: str = "fairway"

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

    @property
    def green_to_work_with(self) -> float:
        """Distance in m from the edge of the green to the pin."""
        return self.to_pin - self.to_edge


def lie_named(name: str, lies: Mapping[str, Lie] = LIES) -> Lie:
    """Return the lie of a name.

    Parameters
    ----------
    name : str
        Its name.
    lies : mapping of str to Lie
        Where it is found.

    Returns
    -------
    Lie
        The lie.

    Raises
    ------
    ValueError
        If there is none of that name.

    Examples
    --------
    >>> lie_named("tight").name
    'tight'
    """
    if name not in lies:
        raise ValueError(f"lie is {name!r}; expected one of {', '.join(lies)}, or a Lie of your own")
    return lies[name]
