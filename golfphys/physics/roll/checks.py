"""Checks of arguments that the rooms of rolling share."""

import numpy as np
from numpy.typing import ArrayLike


def require_not_negative(name: str, value: ArrayLike) -> None:
    """Raise ValueError if any element of `value` is below 0 or not a number."""
    if not np.all(np.asarray(value) >= 0):
        raise ValueError(f"{name} is {value!r}; expected numbers not below 0")
