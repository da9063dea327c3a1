"""Worked bounces for the notebooks: what one landing becomes, as tables; conventions as in `golfphys.show.worked`."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast
from golfphys.formulas.impact import slip_limit_ratio
from golfphys.formulas.turf import dented_normal, turf_restitution
from golfphys.physics.bounce import bounce, rebound_height, tilt_rate
from golfphys.physics.green import Turf

RADIUS = constants.BALL_RADIUS.value
INERTIA = constants.BALL_INERTIA.value


def bounces(speed: ArrayLike, angle: ArrayLike, backspin: ArrayLike, *, turf: Turf | None = None) -> pd.DataFrame:
    """Return what one bounce on level, rigid turf makes of landings.

    Parameters
    ----------
    speed, angle, backspin : array_like
        At landing: m/s, rad below level, rad/s; they broadcast.
    turf : Turf, optional
        The published turf if left out.

    Returns
    -------
    DataFrame
        ``speed``, ``angle``, ``backspin`` at landing; after it ``forward`` and ``up`` (m/s) and ``rim``, the speed that
        its spin would roll with (m/s; negative is backspin); ``tilt`` of the dent (rad); and ``grips``.

    Examples
    --------
    >>> table = bounces(8.0, 0.6, [0.0, 600.0])
    >>> [bool(item) for item in table["grips"]], bool(table["forward"].is_monotonic_decreasing)
    ([True, False], True)
    """
    turf = turf or Turf()
    v, a, w = (np.ravel(x).astype(float) for x in np.broadcast_arrays(speed, angle, backspin))
    zero = np.zeros_like(v)
    velocity, spin = np.stack([v * np.cos(a), zero, -v * np.sin(a)], -1), np.stack([zero, -w, zero], -1)
    after, spun = bounce(velocity, spin, turf)
    rate = float(tilt_rate(turf.tilt, turf.dent_speed))
    dented = broadcast(
        lambda x, z: dented_normal(x, 0.0, z, 0.0, 0.0, 1.0, rate, turf.dent_speed), velocity[:, 0], velocity[:, 2]
    )
    normal = np.stack(dented, axis=-1)
    approach = -np.sum(velocity * normal, axis=-1)
    slip = np.abs(velocity[:, 0] * normal[:, 2] - velocity[:, 2] * normal[:, 0] + RADIUS * w)
    returned = restitutions(approach, turf)
    limit = broadcast(lambda e: slip_limit_ratio(e, turf.friction, turf.tangential_restitution, 0.0, INERTIA), returned)
    return pd.DataFrame(
        {
            "speed": v,
            "angle": a,
            "backspin": w,
            "forward": after[:, 0],
            "up": after[:, 2],
            "rim": RADIUS * spun[:, 1],
            "tilt": np.arctan2(-normal[:, 0], normal[:, 2]),
            "grips": slip <= limit * approach,
        }
    )


def restitutions(approach_speed: ArrayLike, turf: Turf) -> NDArray[np.float64]:
    """Return the coefficient of normal restitution of `turf` at normal impact speeds in m/s.

    Examples
    --------
    >>> float(restitutions([0.0], Turf())[0])
    0.51
    """
    fields = (turf.restitution, turf.restitution_linear, turf.restitution_quadratic, turf.restitution_limit_speed)
    return np.asarray(broadcast(lambda speed: turf_restitution(speed, *fields), np.atleast_1d(approach_speed)))


def slide_limit(frictions: ArrayLike, restitution: float) -> pd.DataFrame:
    """Return the steepest angle at which a ball without spin slides through a bounce, on a surface without a dent.

    Parameters
    ----------
    frictions : array_like
        Coulomb friction.
    restitution : float
        Normal restitution.

    Returns
    -------
    DataFrame
        ``friction`` and ``angle`` to the surface, rad; steeper it grips.

    Examples
    --------
    >>> round(float(np.degrees(slide_limit([0.4], 0.8)["angle"].iloc[0])), 1)
    21.6
    """
    friction = np.atleast_1d(np.asarray(frictions, dtype=float))
    ratio = broadcast(lambda mu: slip_limit_ratio(restitution, mu, 0.0, 0.0, INERTIA), friction)
    return pd.DataFrame({"friction": friction, "angle": np.arctan2(1.0, ratio)})


def drops(turfs: Mapping[str, Turf], heights: ArrayLike) -> pd.DataFrame:
    """Return how high a dropped ball rebounds, before the grass takes its share.

    Parameters
    ----------
    turfs : mapping of str to Turf
        Turfs by name.
    heights : array_like
        Drop heights, m.

    Returns
    -------
    DataFrame
        Index: height; a column for each turf, m.

    Examples
    --------
    >>> float(drops({"published": Turf()}, [1.0]).loc[1.0, "published"].round(3))
    0.131
    """
    height = np.atleast_1d(np.asarray(heights, dtype=float))
    rebounds = {name: rebound_height(turf, height) for name, turf in turfs.items()}
    return pd.DataFrame(rebounds, index=pd.Index(height, name="drop height"))
