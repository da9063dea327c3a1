"""Green speed of the green that a plan takes to be so, whatever its law of resistance, and greens faster than it."""

from collections.abc import Mapping
from dataclasses import replace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.green import Ground, GroundBatch, Resistance
from golfphys.physics.roll import stopping_distance

Floats = NDArray[np.float64]

TERMS = ("constant", "linear", "quadratic")


def level_roll_ft(resistance: Resistance, values: Mapping[str, Any] | None = None) -> Any:
    """Return how far a ball from the ramp rolls on the level.

    Parameters
    ----------
    resistance : Resistance
        Law of the green; its grain is left out, which rolls there and back do not show.
    values : mapping of str to array_like, optional
        Draws of its coefficients by name.

    Returns
    -------
    float or ndarray
        Distance in ft.

    Examples
    --------
    >>> float(round(level_roll_ft(Resistance(constant=0.0784)), 1))
    10.0
    """
    law = _terms(resistance, values or {})
    roll = stopping_distance(constants.RAMP_RELEASE_SPEED.value, law.pop("constant"), **law)
    return roll / METRES_PER_FOOT


def _terms(resistance: Resistance, values: Mapping[str, Any]) -> dict[str, Any]:
    return {name: values.get(name, getattr(resistance, name)) for name in TERMS}


def faster(resistance: Resistance, values: Mapping[str, Any], feet: float) -> dict[str, Any]:
    """Return the coefficients of greens whose level roll from the ramp is longer.

    Parameters
    ----------
    resistance : Resistance
        Law of the green.
    values : mapping of str to array_like
        Draws of its coefficients by name.
    feet : float
        By how much the roll is longer, ft; negative for slower greens.

    Returns
    -------
    dict of str to array_like
        Coefficients by name: all of them less in the same proportion, which lengthens every roll in that proportion.

    Raises
    ------
    ValueError
        If a ball would hardly roll.

    Examples
    --------
    >>> law = Resistance(constant=0.07, linear=0.01)
    >>> changed = Resistance(**faster(law, {}, 1.0))
    >>> round(float(level_roll_ft(changed) - level_roll_ft(law)), 6)
    1.0
    """
    before = np.asarray(level_roll_ft(resistance, values), dtype=float)
    if not np.all(before + feet > 1.0):
        raise ValueError(f"a green {-feet:g} ft slower than measured would not let a ball roll")
    factor = before / (before + feet)
    return {name: factor * value for name, value in _terms(resistance, values).items()}


def faster_ground(ground: Ground, feet: float) -> Ground:
    """Return ground whose green is faster; as `faster`."""
    law = {name: float(value) for name, value in faster(ground.green.resistance, {}, feet).items()}
    return replace(ground, green=replace(ground.green, resistance=replace(ground.green.resistance, **law)))


def faster_draws(batch: GroundBatch, feet: float) -> GroundBatch:
    """Return draws of ground whose green is faster; as `faster`."""
    values = dict(batch.values)
    if any(name in values for name in TERMS):
        values |= faster(batch.green.resistance, values, feet)
    return GroundBatch(ground=faster_ground(_whole(batch), feet), values=values)


def _whole(batch: GroundBatch) -> Ground:
    return batch.ground if isinstance(batch.ground, Ground) else Ground(green=batch.ground)
