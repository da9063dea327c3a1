"""Rolling resistance, a law as a record: its terms in speed with their symbols, units, limits and priors.

Everything else is made from `TERMS`: the quantities of the register, the text of the derivation (`plane`), the rows
of the compiled roll, and what the fits can fit. A new term is a `Term` here and its field in `Resistance`, in that
order.
"""

import math
from dataclasses import dataclass
from typing import Any

from golfphys.core.broadcasting import check_fields


@dataclass(frozen=True)
class Term:
    """A term of resistance in a power of speed, with its coefficient."""

    name: str  # the field of `Resistance`, and the law of a fit that has it
    power: float  # one that is no whole number is of the size of the speed
    symbol: str
    unit: str
    sentence: str
    low: float  # to `high`: what the coefficient plausibly takes
    high: float
    spread: float  # standard deviation of its prior in a fit, about 0: no trustworthy value is published
    beside: tuple[str, ...] = ()  # terms that are fitted along with it


TERMS = (
    Term("linear", 1.0, "c_1", "s/m", "Growth of rolling resistance with speed.", -0.01, 0.03, spread=0.010),
    Term(
        *("quadratic", 2.0, "c_2", "s^2/m^2", "Growth of rolling resistance with speed squared.", -0.003, 0.01),
        spread=0.004,
        beside=("linear",),
    ),
)


@dataclass(frozen=True, kw_only=True)
class Resistance:
    """Coefficient of rolling resistance, push over normal force, as the ball's speed and heading change it.

    ``c(v, psi) = (constant + linear v + quadratic v^2) (1 - grain cos(psi - grain_direction))``

    Parameters
    ----------
    constant : float or array_like, value at vanishing speed (energy definition, Am. J. Phys. 90, 648, 2022)
    linear : float or array_like, growth with speed, s/m
    quadratic : float or array_like, growth with speed squared, s^2/m^2
    grain : float or array_like, fraction by which resistance is less with the grain and more against it; 0 to below 1
    grain_direction : float or array_like, direction the grass leans towards, rad, anticlockwise from the line of play

    Examples
    --------
    >>> Resistance(constant=0.08, linear=0.004)
    Resistance(constant=0.08, linear=0.004, quadratic=0.0, grain=0.0, grain_direction=0.0)
    """

    constant: Any
    linear: Any = 0.0
    quadratic: Any = 0.0
    grain: Any = 0.0
    grain_direction: Any = 0.0

    def __post_init__(self) -> None:
        ranges = {"constant": (0.0, 2.0), **{term.name: (-1.0, 1.0) for term in TERMS}}
        check_fields(self, {**ranges, "grain": (0.0, 0.99), "grain_direction": (-math.inf, math.inf)})
