"""Scalar laws, compiled: one text on `math` for the interpreter, for numba's compiled code and for arrays."""

import types
from collections.abc import Callable
from typing import Any

from numba import njit
from numba.extending import register_jitable

OPTIONS = {"nogil": True, "error_model": "numpy"}
"""How numba compiles laws and loops: division by zero gives infinity, and threads may run at once."""
_callable: set[Any] = set()

kernel: Callable[..., Any] = njit(_nrt=False, **OPTIONS)
"""Decorator of a function that only compiled code calls."""
inlined: Callable[..., Any] = njit(_nrt=False, forceinline=True, **OPTIONS)
"""The same, laid into its callers: for what runs many times in every shot."""


def callable_when_compiled(*owners: Any) -> None:
    """Let compiled code call scalar laws: functions, or all functions that modules define.

    Parameters
    ----------
    *owners : module or function
        Plain Python on `math`. They stay as they are for the interpreter.

    Examples
    --------
    >>> from golfphys.formulas import turf
    >>> callable_when_compiled(turf)
    >>> round(kernel(lambda speed: turf.hop_speed(speed, 0.003, 9.8))(2.0), 3)
    1.985
    """
    for owner in owners:
        laws = [owner]
        if isinstance(owner, types.ModuleType):
            mine = vars(owner).values()
            laws = [law for law in mine if isinstance(law, types.FunctionType) and law.__module__ == owner.__name__]
        for law in laws:
            if law not in _callable:
                _callable.add(law)
                register_jitable(forceinline=True, _nrt=False, **OPTIONS)(law)


def kept(loop: Callable[..., Any]) -> Callable[..., Any]:
    """Return a loop compiled, and kept on disk where numba finds a folder to write to.

    Parameters
    ----------
    loop : callable
        Python that numba compiles; a closure over a number is kept apart for each value of it.

    Returns
    -------
    callable
        The loop compiled.
    """
    try:
        return njit(cache=True, **OPTIONS)(loop)  # type: ignore[no-any-return]
    except RuntimeError:  # no folder where numba may write
        return njit(**OPTIONS)(loop)  # type: ignore[no-any-return]
