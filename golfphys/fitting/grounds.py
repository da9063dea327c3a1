"""The ground around a green as rolls and drops show it: at spots that are named after it, fitted by themselves.

They share no unknown with the green: where only rolls were made there its turf is what such ground usually is, and the
other way about.
"""

from collections.abc import Mapping
from dataclasses import fields, replace
from types import SimpleNamespace
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.fitting.results import Posterior
from golfphys.fitting.rollout_layout import Layout
from golfphys.fitting.rollout_tables import green_draws
from golfphys.fitting.turf import turf_fields, within
from golfphys.physics.draws import Logged
from golfphys.physics.green import LinearTurf, Resistance, Turf
from golfphys.physics.usual import Grass
from golfphys.sheets.suspects import around

Array = NDArray[np.float64]


def by_ground(sheet: Any, holds: str) -> dict[str, Any]:
    """Return the rows of a sheet as a sheet for each ground around the green, under "" those of the green itself.

    Examples
    --------
    >>> import pandas as pd
    >>> sheet = SimpleNamespace(drops=pd.DataFrame({"spot": ["low", "fringe ninth"], "rebound_height": [0.3, 0.1]}))
    >>> {ground: len(part.drops) for ground, part in by_ground(sheet, "drops").items()}
    {'': 1, 'fringe': 1}
    """
    frame = getattr(sheet, holds, None)
    if frame is None or "spot" not in frame:
        return {} if sheet is None else {"": sheet}
    ground = frame["spot"].map(lambda spot: around(str(spot)) or "")
    if not ground.any():
        return {"": sheet}
    parts = {str(name): part.reset_index(drop=True) for name, part in frame.groupby(ground)}
    made = getattr(sheet, "replaced", lambda rows: SimpleNamespace(**{holds: rows}))
    return {name: made(part) for name, part in parts.items()}


def grass_of(source: Posterior, layout: Layout | None, dropped: bool, usual: Grass, n: int, seed: Any) -> Grass:
    """Return draws of a ground as measured; what was not is that of `usual`.

    Parameters
    ----------
    source : Posterior
        Of what was measured on it.
    layout : Layout or None
        Where its spots stand, if it was rolled on.
    dropped : bool
        Whether balls were dropped on it.
    usual : Grass
        The same number of draws of such ground.
    n : int
        Number of draws.
    seed : int or numpy.random.Generator
        The same seed gives the same draws.
    """
    natural = source.sample(n, seed)
    found = usual
    if layout is not None:
        at = np.arange(n) % len(layout.rolls.spots)
        rolled = [green_draws(layout, natural, spot) for spot in range(len(layout.rolls.spots))]
        law: dict[str, Any] = {
            item.name: np.choose(at, [one[item.name] for one in rolled]) for item in fields(Resistance)
        }
        found = replace(found, resistance=Resistance(**law))
    return replace(found, turf=_turf(source, natural, usual.turf)) if dropped else found


def with_grounds(logged: Logged, around: Mapping[str, Any]) -> Logged:
    """Count in what was measured around the green; a ground is measured where it was rolled on and dropped on."""
    whole = [name for name, fit in around.items() if fit.spots and fit.seen.drops is not None]
    return replace(
        logged,
        spots=(*logged.spots, *(spot for fit in around.values() for spot in fit.spots)),
        grounds=(*logged.grounds, *whole),
    )


def _turf(source: Posterior, natural: Array, usual: Turf | LinearTurf) -> Turf | LinearTurf:
    rigid = "turf[tilt]" in source.model.names
    fields = turf_fields("rigid" if rigid else "linear")
    values = within({name: natural[:, source.model.index(f"turf[{name}]")] for name in fields})
    base = usual if isinstance(usual, Turf) == rigid else Turf() if rigid else LinearTurf()
    return replace(base, **values)
