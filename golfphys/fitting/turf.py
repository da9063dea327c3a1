"""Turf from drops: which unknowns a law of the bounce has, and what a ball dropped on it shows of them.

A drop shows restitution at the speed it lands with: 4.4 m/s from 1 m, 7.7 m/s from 3 m. Chips land at 4 to 9 m/s, and
restitution falls with speed, so drops from shoulder height and above tell of chips; drops from the knee do not.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import elementwise
from golfphys.core.names import Array, Names
from golfphys.fitting.chips import numbers_of
from golfphys.fitting.estimator import Block, OutlierTolerant, Parameter
from golfphys.formulas.turf import hop_speed, turf_restitution
from golfphys.physics.green import TURF_PRIORS, Kind, TurfLaw
from golfphys.sheets.errors import files_of, placed, rows_of

GRAVITY = constants.GRAVITY.value

HEIGHT_SD = 0.012  # standard error in m of a rebound height read by eye against a rule (common practice, no source)
TIME_SD = 0.004  # standard error in s of a time between two bounces heard in a recording (1 ms at best; judged)
# How much the rebound speed differs from place to place, as a fraction of it (judged, no source)
DROP_SCATTER = Parameter(name="drop_scatter", location=0.04, spread=0.6, transform="log", outer=True)

_hop_speed = elementwise(hop_speed)
_restitution = elementwise(turf_restitution)


def turf_parameters(law: TurfLaw, beside: Kind | None = None) -> list[Parameter]:
    """Return the unknowns of a law of the bounce, with priors from the literature, wide; ValueError if it is not known.

    `beside` is the ground around a green, whose turf is softer; a green's if left out.

    Examples
    --------
    >>> [parameter.key.label for parameter in turf_parameters("rigid")][:2]
    ['turf[restitution]', 'turf[restitution_linear]']
    """
    if law not in TURF_PRIORS:
        raise ValueError(f"turf_law is {law!r}; expected one of: {', '.join(TURF_PRIORS)}")
    found = []
    for name, prior in TURF_PRIORS[law].items():
        location, spread = prior.centre, prior.spread
        if beside and name == "hop_loss":
            location = beside.hop_loss
        elif beside and name in ("restitution", "tilt"):
            location *= getattr(beside, name)
            spread = math.hypot(spread, beside.softness_spread * (1.0 if prior.logarithm else location))
        kind: Any = {"transform": "log" if prior.logarithm else "identity", "outer": name == "patchiness"}
        found.append(Parameter(name="turf", of=name, location=location, spread=spread, unit=prior.unit, **kind))
    return found


@dataclass(frozen=True, kw_only=True)
class Drops:
    """Drops as arrays: drop height and rebound height in m, first and second flight in s; NaN where not measured."""

    row: NDArray[np.int64]
    file: NDArray[np.str_]  # the sheet, where there are several
    height: Array
    rebound: Array
    first: Array
    second: Array

    @property
    def kinds(self) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.bool_]]:
        """Which drops show a rebound, a first flight, and a second flight after a first."""
        timed = np.isfinite(self.height) & np.isfinite(self.first)
        seen = np.isfinite(self.height) & np.isfinite(self.rebound) & ~timed
        return seen, timed, np.isfinite(self.first) & np.isfinite(self.second)

    @property
    def behind(self) -> NDArray[np.int64]:
        """Which drop is behind each residual of `drop_block`, in its order."""
        return np.concatenate([np.flatnonzero(which) for which in self.kinds])


def drops_of(log: Any) -> Drops:
    """Take the drops out of a sheet; ValueError if there is none, or one shows nothing."""
    frame = log.frame
    if len(frame) == 0:
        raise ValueError("the sheet has no drops; expected at least one")
    names = {"height": "drop_height", "rebound": "rebound_height", "first": "first_flight", "second": "second_flight"}
    values = {field: numbers_of(frame, name) for field, name in names.items()}
    drops = Drops(row=rows_of(frame), file=files_of(frame), **values)
    if (nothing := ~np.logical_or.reduce(drops.kinds)).any():
        where = placed(drops.row[nothing], drops.file[nothing])
        expected = "the drop height with the rebound height or the first flight, or both flights"
        raise ValueError(f"nothing was seen of the drops in {where}; expected {expected}")
    return drops


def take_off(values: Mapping[str, Any], landing_speed: Any) -> Any:
    """Return the speed, m/s, with which a ball that lands straight down without spin leaves the grass again.

    `values` are fields of the turf: restitution, hop_loss, and restitution_linear for rigid turf.
    """
    rigid = "restitution_linear" in values
    quadratic = constants.TURF_RESTITUTION_QUADRATIC.value if rigid else 0.0
    linear = values["restitution_linear"] if rigid else 0.0
    limit = constants.TURF_RESTITUTION_LIMIT_SPEED.value
    returned = _restitution(landing_speed, values["restitution"], linear, quadratic, limit)
    return _hop_speed(returned * landing_speed, values["hop_loss"], GRAVITY)


def drop_block(drops: Drops, names: Names) -> Block:
    """Return the residuals of drops.

    A height or a flight that follows a drop from a known height is compared with what the turf gives back; where only
    two flights were heard, the second is compared with the first. Each bounce meets turf that differs a little
    (``drop_scatter``, a fraction of the rebound speed). `names` are those of all parameters of the model.
    """
    seen, timed, again = drops.kinds

    def evaluate(natural: Array) -> tuple[Array, Array]:
        values = names.by_member(natural[..., None, :], "turf")
        spread = natural[..., names.column("drop_scatter"), None]
        up = take_off(values, np.sqrt(2 * GRAVITY * drops.height[seen]))
        rise = up * up / (2 * GRAVITY)
        heard = 2 * take_off(values, np.sqrt(2 * GRAVITY * drops.height[timed])) / GRAVITY
        second = 2 * take_off(values, GRAVITY * drops.first[again] / 2) / GRAVITY
        # a mishearing of the first flight enters through the landing speed as well
        through = 1.0 + second / drops.first[again]
        residual = [drops.rebound[seen] - rise, drops.first[timed] - heard, drops.second[again] - second]
        scale = [np.hypot(2 * spread * rise, HEIGHT_SD), np.hypot(spread * heard, TIME_SD)]
        scale.append(np.hypot(spread * second, TIME_SD * through))
        return np.concatenate(residual, axis=-1), np.concatenate(scale, axis=-1)

    group = np.full(drops.behind.size, -1)
    return Block(name="drops", evaluate=evaluate, loss=OutlierTolerant(), group=group)
