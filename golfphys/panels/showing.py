"""Small helpers that say lengths in words and draw what several panels share."""

import math
from typing import Any

from golfphys.core.units import METRES_PER_FOOT
from golfphys.show.style import LengthUnit


def length(metres: float, unit: str, digits: int = 1) -> str:
    """Return a length in words, with its unit.

    Parameters
    ----------
    metres : float
        The length.
    unit : str
        Symbol of the unit to show.
    digits : int
        Decimals.

    Returns
    -------
    str
        For instance ``"3.0 m"``.

    Examples
    --------
    >>> length(3.048, "ft"), length(math.inf, "m")
    ('10.0 ft', 'no end')
    """
    if not math.isfinite(metres):
        return "no end"
    return f"{LengthUnit(unit).show(metres):.{digits}f} {unit}"


def green_speed(stimp_ft: float) -> str:
    """Return a green speed in feet and metres.

    Examples
    --------
    >>> green_speed(10.0)
    '10.0 ft (3.05 m)'
    """
    return f"{stimp_ft:.1f} ft ({stimp_ft * METRES_PER_FOOT:.2f} m)"


def side(metres: float, unit: str, digits: int = 2) -> str:
    """Return a drift in words: how far, and to which side; y is to the left.

    Examples
    --------
    >>> side(-0.4, "m"), side(0.001, "m")
    ('0.40 m to the right', 'not at all')
    """
    if abs(metres) < 0.5 * 10.0**-digits:
        return "not at all"
    return f"{length(abs(metres), unit, digits)} to the {'left' if metres > 0 else 'right'}"


def quiet_axes(ax: Any) -> None:
    """Take the grid off an axis on which names stand."""
    ax.grid(visible=False, axis="y")
    ax.tick_params(axis="y", length=0)
