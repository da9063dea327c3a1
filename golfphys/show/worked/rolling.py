"""Worked rolling: rows of speeds, slopes and green speeds as tables, skids beside them."""

from collections.abc import Mapping, Sequence

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas import rolling, turf
from golfphys.physics import ramp
from golfphys.physics.green import Green, Resistance
from golfphys.physics.roll import distance_at_time, roll, speed_at_distance, stopping_distance, stopping_time

GRAVITY = constants.GRAVITY.value
INERTIA = constants.BALL_INERTIA.value
RADIUS = constants.BALL_RADIUS.value
RELEASE_SPEED = constants.RAMP_RELEASE_SPEED.value


def without_grain(law: Resistance) -> Resistance:
    """Return a resistance as it is; refuse one with grain, whose rolls depend on their heading."""
    if law.grain:
        raise ValueError(f"the resistance has a grain of {law.grain:g}; expected one without")
    return law


def green_speeds(stimp_ft: Sequence[float]) -> pd.DataFrame:
    """Return what each green speed (ft) means, in words: resistance, slowing, time, slope that never stops a ball."""
    distance = np.asarray(stimp_ft, dtype=float) * METRES_PER_FOOT
    resistance = ramp.resistance_from_green_speed(distance)
    table = {
        "roll on the level (m)": distance.round(2),
        "resistance": resistance.round(4),
        "loses each second (m/s)": [round(rolling.deceleration(c, 0.0, GRAVITY, INERTIA), 2) for c in resistance],
        "rolls for (s)": stopping_time(RELEASE_SPEED, resistance).round(1),
        "slope that never stops a ball (%)": (100 * resistance).round(1),
    }
    return pd.DataFrame(table, index=pd.Index(stimp_ft, name="green speed (ft)"))


def same_reading(stimp_ft: float, *, growth: float) -> dict[str, Resistance]:
    """Return resistances constant, linear and quadratic in speed under which a ramp reads the same (`stimp_ft`).

    `growth` is the fraction by which resistance at the release speed exceeds that of a ball about to stop. On the
    level a roll is longer in the proportion in which all of resistance is less: one division meets the reading.
    """
    laws = {}
    for name, power in {"constant": 0, "linear": 1, "quadratic": 2}.items():
        terms = {name: growth / RELEASE_SPEED**power} if power else {}
        constant = stopping_distance(RELEASE_SPEED, 1.0, **terms) / (stimp_ft * METRES_PER_FOOT)
        laws[name] = Resistance(constant=constant, **{term: value * constant for term, value in terms.items()})
    return laws


def rolls_by_speed(greens: Mapping[str, Resistance], speeds: ArrayLike) -> pd.DataFrame:
    """Return how far a ball rolls on the level from each start speed (index) on each green (columns)."""
    speeds = np.asarray(speeds, dtype=float)
    columns = {name: np.asarray(roll(speeds, 0.0, without_grain(law)).x) for name, law in greens.items()}
    return pd.DataFrame(columns, index=pd.Index(speeds, name="speed"))


def two_way(green: Resistance, grades: ArrayLike) -> pd.DataFrame:
    """Return rolls ``up`` and ``down`` slopes (`grades`, not negative), their plain and two-way mean, and level."""
    grades = np.asarray(grades, dtype=float)
    up, down, level = (
        np.asarray(roll(RELEASE_SPEED, 0.0, without_grain(green), part * grades, fall).x)
        for part, fall in ((1.0, np.pi), (1.0, 0.0), (0.0, 0.0))
    )
    means = {"plain_mean": (up + down) / 2, "two_way_mean": ramp.two_way_mean(up, down)}
    return pd.DataFrame({"grade": grades, "up": up, "down": down, **means, "level": level})


def never_stops(stimp_ft: ArrayLike) -> pd.DataFrame:
    """Return the slope (deg) that never stops a ball against green speed: of a rolling ball, and of a point mass.

    Both are read from one roll: the same deceleration on the level is g c/(1 + k) for a rolling ball and g c for a mass
    that does not turn, so the point mass shows the smaller c, by the factor 1/(1 + k).
    """
    stimp_ft = np.asarray(stimp_ft, dtype=float)
    shown = {
        name: np.degrees(np.arctan(ramp.resistance_from_green_speed(stimp_ft * METRES_PER_FOOT, inertia=inertia)))
        for name, inertia in (("rolling_deg", INERTIA), ("point_mass_deg", 0.0))
    }
    return pd.DataFrame({"stimp_ft": stimp_ft, **shown})


# --- skid ------------------------------------------------------------------------------------------------------------
def skid_motion(
    speed: float, topspin: float = 0.0, *, friction: float, resistance: float, rolled: float | None = None
) -> pd.DataFrame:
    """Return a ball's place, speed and rim speed against time on the level: skid, then roll.

    `speed` (m/s) and `topspin` (rad/s; backspin is negative) are those at the start; the roll is followed for `rolled`
    s, to rest if left out. Columns ``time``, ``place``, ``speed``, ``rim_speed`` (that the spin alone would roll with),
    ``skids``; during the skid between the ends that golfphys/derivations/turf.py gives, for both speeds change at
    steady rates.
    """
    end = turf.rolling_speed(speed, topspin, RADIUS, INERTIA)
    lasts = turf.skid_time(speed, topspin, friction, RADIUS, GRAVITY, INERTIA)
    skidded = turf.skid_distance(speed, topspin, friction, RADIUS, GRAVITY, INERTIA)
    done = np.linspace(0.0, 1.0, 60)
    rim = RADIUS * topspin
    place = speed * done * lasts + (end - speed) * done**2 * lasts / 2
    columns = {"time": done * lasts, "place": place, "speed": speed + done * (end - speed)}
    skid = pd.DataFrame({**columns, "rim_speed": rim + done * (end - rim), "skids": True})
    after = np.linspace(0.0, stopping_time(abs(end), resistance) if rolled is None else rolled, 120)
    gone = distance_at_time(after, abs(end), resistance)
    then = np.sign(end) * speed_at_distance(gone, abs(end), resistance)
    columns = {"time": lasts + after, "place": skidded + np.sign(end) * gone, "speed": then}
    return pd.concat([skid, pd.DataFrame({**columns, "rim_speed": then, "skids": False})], ignore_index=True)


def skid_share(stimp_ft: Sequence[float], friction: ArrayLike, *, speed: float = 2.0) -> pd.DataFrame:
    """Return the fraction of a putt that is skid, struck without spin on the level, by friction and green speed (ft).

    It does not depend on `speed`, that of the strike.
    """
    friction = np.asarray(friction, dtype=float)
    skidded = np.array([turf.skid_distance(speed, 0.0, mu, RADIUS, GRAVITY, INERTIA) for mu in friction])
    end = turf.rolling_speed(speed, 0.0, RADIUS, INERTIA)
    rolled = {feet: stopping_distance(end, Green.from_stimp(feet).resistance.constant) for feet in stimp_ft}
    columns = {f"{feet:g} ft": skidded / (skidded + distance) for feet, distance in rolled.items()}
    return pd.DataFrame(columns, index=pd.Index(friction, name="friction"))
