"""Scalar laws, compiled: one text on `math` for the interpreter, for numba's compiled code and for arrays."""

import hashlib
import sys
import types
from collections.abc import Callable
from functools import cache
from pathlib import Path
from typing import Any

from numba import config, njit
from numba.extending import register_jitable
from numba.np.unsafe.ndarray import to_fixed_tuple

OPTIONS = {"nogil": True, "error_model": "numpy"}
"""How numba compiles laws and loops: division by zero gives infinity, and threads may run at once."""
INSIDE = {"_nrt": False, "no_cpython_wrapper": True, "no_cfunc_wrapper": True, **OPTIONS}
"""The same for what only compiled code calls: what calls from Python need is not compiled, a third of the time."""
_callable: set[Any] = set()

kernel: Callable[..., Any] = njit(**INSIDE)
"""Decorator of a function that only compiled code calls. A whole number written into a call compiles it anew."""
inlined: Callable[..., Any] = njit(forceinline=True, **INSIDE)
"""The same, laid into its callers: for what runs many times in every shot."""
fixed: Callable[..., Any] = (lambda values, count: tuple(values)) if config.DISABLE_JIT else to_fixed_tuple
"""A part of a row as a tuple of the length given; compiled code must be told the length."""


def callable_when_compiled(*owners: Any, inline: bool = True) -> None:
    """Let compiled code call scalar laws: functions, or all functions that modules define.

    Parameters
    ----------
    *owners : module or function
        Plain Python on `math`. They stay as they are for the interpreter.
    inline : bool
        Lay them into their callers: for what runs many times in every shot. The rest compiles sooner without.

    Examples
    --------
    >>> from golfphys.formulas import turf
    >>> callable_when_compiled(turf)
    >>> round(njit(lambda speed: turf.hop_speed(speed, 0.003, 9.8))(2.0), 3)
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
                register_jitable(**{"forceinline": inline, **INSIDE})(law)


def kept(loop_for: Callable[[int], Callable[..., Any]]) -> Callable[[], Callable[..., Any]]:
    """Return a function that gives a loop compiled, once, and kept on disk where numba finds a folder to write to.

    Parameters
    ----------
    loop_for : callable
        Takes the stamp of the sources and returns Python that numba compiles. It must be a closure over the stamp:
        by what a closure holds numba tells entries of its cache apart.

    Returns
    -------
    callable
        Without arguments; returns the loop compiled.
    """

    @cache
    def compiled() -> Callable[..., Any]:
        loop = loop_for(source_stamp())
        try:
            made = njit(cache=True, _nrt=False, **OPTIONS)(loop)
        except RuntimeError:  # no folder where numba may write
            made = njit(_nrt=False, **OPTIONS)(loop)
        if made is not loop and not _kept(made, loop.__module__.rpartition(".")[2]):
            _say_once()
        return made  # type: ignore[no-any-return]

    return compiled


def _kept(made: Any, name: str) -> bool:
    """Whether numba has this loop from an earlier run."""
    return bool(made.stats.cache_path) and any(Path(made.stats.cache_path).glob(f"{name}.*.nbi"))


@cache
def _say_once() -> None:
    sys.stderr.write("golfphys: compiling, for up to a minute; the next time on this machine it is ready at once.\n")


def source_stamp() -> int:
    """Return a number that changes whenever the text of a law changes: numba looks only at the loop's own file."""
    digest = hashlib.sha256()
    package = Path(__file__).parents[1]
    for folder in ("physics", "formulas", "core"):
        for file in sorted((package / folder).glob("*.py")):
            digest.update(file.read_bytes())
    return int.from_bytes(digest.digest()[:7], "big")
