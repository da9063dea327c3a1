"""Turns a scalar law into a public function that broadcasts."""

from collections.abc import Callable
from typing import Any

import numpy as np


def broadcast(law: Callable[..., Any], *arguments: Any) -> Any:
    """Apply a scalar `law` element by element over `arguments`, broadcast against each other.

    Parameters
    ----------
    law : callable
        Takes scalars, returns a float or a tuple of floats.
    *arguments : float or array_like
        Broadcast by numpy's rules.

    Returns
    -------
    float, ndarray, or tuple of either
        Floats when every argument is scalar, arrays of the broadcast shape otherwise.

    Examples
    --------
    >>> broadcast(lambda a, b: a + b, 1.0, [1.0, 2.0])
    array([2., 3.])
    """
    if all(np.ndim(argument) == 0 for argument in arguments):
        return law(*(float(argument) for argument in arguments))
    arrays = np.broadcast_arrays(*(np.asarray(argument, dtype=float) for argument in arguments))
    results = [law(*row) for row in zip(*(array.ravel().tolist() for array in arrays), strict=True)]
    shape = arrays[0].shape
    if results and isinstance(results[0], tuple):
        return tuple(np.array(column, dtype=float).reshape(shape) for column in zip(*results, strict=True))
    return np.array(results, dtype=float).reshape(shape)
