"""The ball: what every phase of a shot needs to know of it."""

from dataclasses import dataclass

from golfphys.core import constants


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

    mass: float = constants.BALL_MASS.value
    radius: float = constants.BALL_RADIUS.value
    inertia: float = constants.BALL_INERTIA.value

    def __post_init__(self) -> None:
        for name, value in vars(self).items():
            if not value > 0:
                raise ValueError(f"Ball {name} is {value!r}; expected a positive number")
        if self.inertia > 2 / 3:
            raise ValueError(f"Ball inertia is {self.inertia!r}; a sphere has at most 2/3 (all mass at the surface)")
