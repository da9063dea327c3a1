"""Runs a scalar law on whole arrays: the same code, with numpy in the place of `math`."""

import types
from collections.abc import Callable
from typing import Any

import numpy as np
from numpy.typing import ArrayLike


class ArrayMath:
    """The part of `math` that laws without cases use, for arrays."""

    sqrt, exp, log, expm1, log1p = np.sqrt, np.exp, np.log, np.expm1, np.log1p
    sin, cos, tan, atan2, pi, inf = np.sin, np.cos, np.tan, np.arctan2, np.pi, np.inf


def over_arrays(law: Callable[..., Any], **replaced: Callable[..., Any]) -> Callable[..., Any]:
    """Return the scalar `law` as one that takes arrays.

    Parameters
    ----------
    law : callable
        Plain Python on `math`, without cases or loops that depend on values.
    **replaced : callable
        Functions of the law's module that it calls, themselves taken over to arrays.

    Returns
    -------
    callable
        The same code, reading numpy for `math`.

    Examples
    --------
    >>> from golfphys.formulas.plane import stage_at_angle
    >>> over_arrays(stage_at_angle)(np.array([1.5, 2.0]), 0.5, 0.02)
    array([64.714..., 90.408...])
    """
    code: types.CodeType = law.__code__
    names = {**law.__globals__, "math": ArrayMath, **replaced}
    return types.FunctionType(code, names, code.co_name)


def require_not_negative(name: str, value: ArrayLike) -> None:
    """Raise ValueError if any element of `value` is below 0 or not a number."""
    if not np.all(np.asarray(value) >= 0):
        raise ValueError(f"{name} is {value!r}; expected numbers not below 0")


def plain(value: Any) -> Any:
    """Return a float for a 0-d array, and anything else as it is."""
    return float(value) if np.ndim(value) == 0 else value
