"""Checks of numbers that are given: one bad number is an error that says what was expected."""

from collections.abc import Mapping
from typing import Any

import numpy as np
from numpy.typing import ArrayLike


def require(owner: str, name: str, value: Any, low: float, high: float) -> None:
    """Raise ValueError for a number out of range; of an array one bad element is its shot's affair, then invalid."""
    if np.ndim(value) == 0 and not low <= value <= high:
        raise ValueError(f"{owner} {name} is {value!r}; expected a number from {low:g} to {high:g}")


def check_fields(thing: Any, ranges: Mapping[str, tuple[float, float]]) -> None:
    """Refuse the first field out of its range."""
    for name, (low, high) in ranges.items():
        require(type(thing).__name__, name, getattr(thing, name), low, high)


def require_not_negative(name: str, value: ArrayLike) -> None:
    """Raise ValueError if any element of `value` is below 0 or not a number."""
    if not np.all(np.asarray(value) >= 0):
        raise ValueError(f"{name} is {value!r}; expected numbers not below 0")
