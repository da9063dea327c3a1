"""Compiles the loop: every law by name, those of the user in place of the library's.

Each function gets a copy of its globals in which the other laws are compiled too. One text therefore serves the
interpreter and the compiler, and a law can be replaced without touching the module it lives in. numba is loaded only
here, at the first batch.
"""

import hashlib
import types
from collections.abc import Callable, Mapping
from functools import lru_cache
from pathlib import Path
from typing import Any

from golfphys.formulas import flight as flight_formulas
from golfphys.formulas import impact as impact_formulas
from golfphys.formulas import plane as plane_formulas
from golfphys.formulas import turf as turf_formulas
from golfphys.formulas import varying as varying_formulas
from golfphys.physics import bounce, flight
from golfphys.physics.engine import columns, lanes, laws, legs, single
from golfphys.physics.roll import laws as roll_laws

OPTIONS = {"nogil": True, "fastmath": False, "error_model": "numpy"}
"""How numba compiles a loop."""

# in the order of use: each may call those before it; the small ones are laid into the loops over lanes
BOUNCE: tuple[tuple[Any, str], ...] = (
    (impact_formulas, "impact"),
    *((turf_formulas, name) for name in ("dented_normal", "turf_restitution", "linear_bounce", "hop_speed")),
    *((bounce, name) for name in ("rigid_bounce", "turf_bounce", "settle_take_off")),
)
"""Where the laws of a bounce are, and their names."""
_INLINED = (
    *((flight_formulas, name) for name in ("flight_acceleration", "motion_of_launch", "spin_loss")),
    *BOUNCE,
    (turf_formulas, "skid"),
    (plane_formulas, "rest_from"),
    *((flight, name) for name in ("through_air", "table_coefficients")),
    (laws, "law_coefficients"),
    (lanes, "accelerate"),
)
_CALLED = (
    *((varying_formulas, name) for name in ("resistance_at", "course", "correction_rates")),
    *((roll_laws, name) for name in ("lesser", "base_and_rate", "rest_correction", "roll_out")),
    *((legs, name) for name in ("mark", "ground_forces", "ground_step", "stopping_step", "crossed", "strip_along")),
    *((legs, name) for name in ("bordered_step", "slide_on", "crawl", "over_strips")),
    *((single, name) for name in ("forces", "strip_at", "clearance", "landing_part", "fly", "valid", "set_off")),
    *((single, name) for name in ("land", "hop_down", "take_rest", "chip")),
    *((lanes, name) for name in ("meet_air", "look_up", "first_slopes", "middle_slopes", "finish_step", "step")),
    *((lanes, name) for name in ("greatest", "plan_hops", "close_landing", "fly_lanes", "hold_world", "bounce_lanes")),
    *((lanes, name) for name in ("keep_flying", "come_to_rest", "note_hops", "play_block", "in_order")),
)
_SOURCES = tuple(dict.fromkeys((*(module for module, _ in (*_INLINED, *_CALLED)), columns)))


def source_stamp() -> int:
    """Return a number that changes whenever the text of a law changes."""
    digest = hashlib.sha256()
    for module in _SOURCES:
        digest.update(Path(str(module.__file__)).read_bytes())
    return int.from_bytes(digest.digest()[:7], "big")


def linked(own: Mapping[str, Callable[..., Any]], *, cached: bool) -> Callable[..., int]:
    """Return the compiled loop over shots, with the user's laws in place of those of the same name.

    Parameters
    ----------
    own : mapping of str to callable
        Scalar laws by the name of the one they replace: ``turf_bounce``, ``skid``, ``roll_out``, ``own_drag``,
        ``own_lift``.
    cached : bool
        Whether numba keeps the result on disk.

    Returns
    -------
    callable
        The loop that `golfphys.physics.engine.lanes.play` makes.
    """
    from numba import njit

    inner = {**OPTIONS, "no_cpython_wrapper": True, "no_cfunc_wrapper": True}
    names: dict[str, Any] = {
        "OWN_DRAG": "own_drag" in own,
        "OWN_LIFT": "own_lift" in own,
        "OWN_BOUNCE": "turf_bounce" in own,
    }
    for name in ("own_drag", "own_lift"):
        names[name] = njit(**inner)(own.get(name, getattr(laws, name)))
    for owner, name in _INLINED:
        law = own[name] if name in own else relinked(getattr(owner, name), names)
        names[name] = njit(forceinline=name not in own, **inner)(law)
    replaced = names["OWN_DRAG"] or names["OWN_LIFT"]
    names["coefficients"] = names["law_coefficients" if replaced else "table_coefficients"]
    for owner, name in _CALLED:
        law = own[name] if name in own else relinked(getattr(owner, name), names)
        names[name] = njit(**inner)(law)
    loop = relinked(lanes.play(source_stamp()), names)
    try:
        return njit(cache=cached, **OPTIONS)(loop)  # type: ignore[no-any-return]
    except RuntimeError:  # no folder where numba may write its cache
        return njit(**OPTIONS)(loop)  # type: ignore[no-any-return]


def relinked(law: Callable[..., Any], names: Mapping[str, Any]) -> Callable[..., Any]:
    """Return `law` with `names` in place of its own globals of those names."""
    return types.FunctionType(
        law.__code__, {**law.__globals__, **names}, law.__name__, law.__defaults__, law.__closure__
    )


@lru_cache(maxsize=1)
def default_loop() -> Callable[..., int]:
    """Return the loop with the library's own laws, compiled once and kept on disk."""
    return linked({}, cached=True)
