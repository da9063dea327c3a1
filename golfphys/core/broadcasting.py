"""Numbers that are given: a scalar law made to take arrays, and one bad number refused with what was expected."""

import dis
import gc
import os
import threading
import types
from collections.abc import Callable, Iterable, Iterator, Mapping
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from functools import cache
from typing import Annotated, Any, TypeVar, get_origin, get_type_hints

import numpy as np
from numpy.typing import ArrayLike
from threadpoolctl import threadpool_limits

T = TypeVar("T")
R = TypeVar("R")


def require_kind(name: str, value: Any, kind: type | tuple[type, ...], expected: str) -> None:
    """Raise ValueError for a value that is not of a kind, which `expected` says in words."""
    if not isinstance(value, kind):
        raise ValueError(f"{name} is {value!r:.100}; expected {expected}")


def require_kinds(**things: tuple[Any, type | tuple[type, ...]]) -> None:
    """Raise ValueError for the first thing, given by name with its kinds, that is of none of them."""
    for name, (value, kinds) in things.items():
        every = kinds if isinstance(kinds, tuple) else (kinds,)
        require_kind(name, value, every, " or ".join(kind.__name__ for kind in every if kind is not type(None)))


def require_seed(seed: Any) -> None:
    """Raise ValueError for what no random numbers can come from."""
    expected = "a whole number not below 0, or a numpy random Generator"
    require_kind("seed", seed, (int, np.integer, np.random.Generator), expected)
    if not isinstance(seed, np.random.Generator) and seed < 0:
        raise ValueError(f"seed is {seed!r}; expected {expected}")


def require_count(name: str, value: Any, least: int = 1) -> None:
    """Raise ValueError for what is no whole number of so much or more."""
    if isinstance(value, bool) or not isinstance(value, int | np.integer) or value < least:
        raise ValueError(f"{name} is {value!r:.100}; expected a whole number of {least} or more")


def check_fields(thing: Any, ranges: Mapping[str, tuple[float, float]]) -> None:
    """Refuse the first field out of its range; of an array one bad element is its shot's affair, then invalid."""
    for name, (low, high) in ranges.items():
        value = getattr(thing, name)
        found = np.asarray(value)
        if found.dtype.kind not in "biuf" or (found.ndim == 0 and not low <= value <= high):
            owner = type(thing).__name__
            raise ValueError(f"{owner} {name} is {value!r}; expected a number from {low:g} to {high:g}")


@cache
def ranges_of(kind: type) -> dict[str, tuple[float, float]]:
    """Return the ranges beside the fields of a `Checked` dataclass, by name."""
    hints = get_type_hints(kind, include_extras=True)
    return {name: hint.__metadata__[0] for name, hint in hints.items() if get_origin(hint) is Annotated}


class Checked:
    """A dataclass that refuses numbers out of the ranges beside its fields: ``loft: Annotated[Any, (0.0, 1.4)]``."""

    def __post_init__(self) -> None:
        owner: Any = type(self)
        check_fields(self, ranges_of(owner))

    @classmethod
    def held(cls, **values: Any) -> dict[str, Any]:
        """Return values of fields, numbers or arrays, held within their ranges."""
        kind: Any = cls
        return {name: plain(np.clip(item, *ranges_of(kind)[name])) for name, item in values.items()}


def numbers(name: str, value: Any) -> np.ndarray:
    """Return numbers as an array; a ValueError says what `name` is if it holds anything else."""
    found = np.asarray(value)
    if found.dtype.kind not in "biuf":
        raise ValueError(f"{name} is {value!r:.100}; expected numbers")
    return found


def require_not_negative(name: str, value: ArrayLike) -> None:
    """Raise ValueError if any element of `value` is below 0 or not a number."""
    if not np.all(numbers(name, value) >= 0):
        raise ValueError(f"{name} is {value!r}; expected numbers not below 0")


def broadcast(law: Callable[..., Any], *arguments: Any) -> Any:
    """Apply a scalar `law`, which returns a float or a tuple of floats, element by element over broadcast arguments.

    Floats when every argument is scalar, arrays of the broadcast shape otherwise.

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


WORKER = "golfphys"  # what names of the threads begin with


@cache
def _pool(_process: int) -> ThreadPoolExecutor:
    """Return the threads of a process; to start some for every call costs more than a small batch."""
    return ThreadPoolExecutor(os.cpu_count() or 1, thread_name_prefix=WORKER)


def in_threads(work: Callable[[T], R], parts: Iterable[T]) -> list[R]:
    """Return what `work`, compiled code for the most part, makes of the parts, all at once.

    One of the threads that calls this for a part of its own work does that alone: the others are busy with theirs.
    """
    listed = list(parts)
    if len(listed) == 1 or threading.current_thread().name.startswith(WORKER):
        return [work(part) for part in listed]
    return list(_pool(os.getpid()).map(work, listed))


_ALONE = threading.Lock()
_limits: list[Any] = []  # of each that is inside `one_thread`: the first's knows how it was before


@contextmanager
def one_thread() -> Iterator[None]:
    """Let linear algebra run on one thread: those of `in_threads` are as many as there are cores.

    Once the last of several that overlap is out, as many run as before the first came.
    """
    with _ALONE:
        _limits.append(threadpool_limits(limits=1, user_api="blas"))
    try:
        yield
    finally:
        with _ALONE:
            last = _limits.pop()
            if not _limits:
                last.restore_original_limits()


@contextmanager
def uncollected() -> Iterator[None]:
    """Look for no garbage: a first call compiles, and the search through all that a compiler keeps is a tenth of it."""
    searching = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if searching:
            gc.enable()


@cache
def elementwise(law: Callable[..., Any]) -> Callable[..., Any]:
    """Return a law without cases as a function of arrays: the same text, with numpy in the place of `math`.

    The law is plain Python on `math`, ``min``, ``max`` and ``abs``, without an ``if`` (a ValueError if it has one: a
    branch cannot be taken for an array as a whole).

    >>> from golfphys.formulas.turf import hop_speed
    >>> elementwise(hop_speed)(np.array([0.1, 2.0]), 0.003, 9.8)
    array([0.   , 1.985...])
    """
    code: types.CodeType = law.__code__
    if any("_IF_" in step.opname for step in dis.get_instructions(law)):
        raise ValueError(f"law {code.co_name} has cases; use golfphys.core.broadcasting.broadcast")
    known: dict[str, Any] = {name: getattr(np, name) for name in code.co_names if hasattr(np, name)}
    if "erf" in code.co_names:  # which numpy lacks
        from scipy.special import erf

        known["erf"] = erf
    array_names = {"math": types.SimpleNamespace(**known), "min": np.minimum, "max": np.maximum, "abs": np.abs}
    return types.FunctionType(code, {**law.__globals__, **array_names}, code.co_name)


def plain(value: Any) -> Any:
    """Return a plain number (float, int or bool) for a 0-d array or numpy's scalar, and anything else as it is."""
    return np.asarray(value).item() if np.ndim(value) == 0 else value
