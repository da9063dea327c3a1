"""Worked shots: flight, bounce and the whole shot as tables."""

import itertools
from collections.abc import Collection, Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast
from golfphys.core.units import FACTORS_TO_SI
from golfphys.formulas.flight import vacuum_carry
from golfphys.formulas.impact import slip_limit_ratio
from golfphys.formulas.turf import dented_normal, turf_restitution
from golfphys.physics.bounce import bounce, rebound_height
from golfphys.physics.club import BAG, Club, Launch
from golfphys.physics.draws import stated
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, Turf
from golfphys.physics.rows import tilt_rate
from golfphys.physics.shot import Trace, simulate
from golfphys.physics.usual import TOUR_PLAYER
from golfphys.planning import swings
from golfphys.show.markup import fixed

GRAVITY = constants.GRAVITY.value
RADIUS = constants.BALL_RADIUS.value
INERTIA = constants.BALL_INERTIA.value
LEVEL = Green.from_stimp(10.0)
PARTS = ("flight", "bounces", "skid", "roll")
PLAUSIBLE_DRAG, PLAUSIBLE_LIFT = (0.8, 1.2), (0.0, 2.0)
"""Ends of what is plausible, as factors."""


def chips_to(carry: float, *, bag: Mapping[str, Club] = BAG) -> dict[str, Launch]:
    """Return, for each club, the launch that lands the ball at `carry` (m): a tour player's, only its speed changed.

    Examples
    --------
    >>> chip = chips_to(5.0, bag={"sand wedge": BAG["sand wedge"]})["sand wedge"]
    >>> round(simulate(chip, LEVEL).carry, 2)
    5.0
    """
    return swings.chips_to(carry, stated(LEVEL, player=TOUR_PLAYER, bag=bag), "fairway")


def _joined(launches: Collection[Launch]) -> Launch:
    """Return single launches as one batch."""
    names = ("speed", "angle", "backspin", "direction", "sidespin")
    return Launch(*(np.array([float(np.asarray(getattr(one, name))) for one in launches]) for name in names))


def chips(launches: Mapping[str, Launch], ground: Green | Ground = LEVEL) -> pd.DataFrame:
    """Return single shots side by side, one row for each, in words.

    Examples
    --------
    >>> list(chips({"a": Launch(8.0, 0.6, 250.0)}).columns)[:2]
    ['ball speed (m/s)', 'launch (deg)']
    """
    batch = _joined(launches.values())
    shots = simulate(batch, ground)
    rows = {
        "ball speed (m/s)": (batch.speed, 1),
        "launch (deg)": (np.degrees(batch.angle), 0),
        "backspin (rpm)": (np.asarray(batch.backspin) / FACTORS_TO_SI["rpm"], 0),
        "lands after (m)": (shots.carry, 1),
        "lands at (deg below level)": (np.degrees(shots.landing_angle), 0),
        "lands at (m/s)": (shots.landing_speed, 1),
        "hops": (shots.bounces, 0),
        "runs (m)": (shots.roll_distance, 1),
    }
    table = {name: fixed(values, digits) for name, (values, digits) in rows.items()}
    return pd.DataFrame(table, index=pd.Index(list(launches), name=""))


def parts(paths: Mapping[str, Trace]) -> pd.DataFrame:
    """Return the distance along the line that each of `PARTS` of shots makes, and its time (``flight_time`` and so on).

    Examples
    --------
    >>> from golfphys.physics.shot import trace
    >>> path = trace(Launch(8.0, 0.6, 250.0), LEVEL)
    >>> bool(np.isclose(parts({"chip": path})[list(PARTS)].sum(axis=1).iloc[0], path.shot.rest_x))
    True
    """
    rows = {}
    for name, path in paths.items():
        doing = part_of_each_step(path)
        steps, times = np.diff(path.x), np.diff(path.time)
        rows[name] = {part: float(steps[doing == part].sum()) for part in PARTS}
        rows[name] |= {f"{part}_time": float(times[doing == part].sum()) for part in PARTS}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("shot")


def part_of_each_step(path: Trace) -> NDArray[np.str_]:
    """Return which of `PARTS` each step of a path belongs to: flight is over with the first landing."""
    first = path.time[1:] <= path.shot.flight_time + 1e-9
    return np.where((path.phase[1:] == "flight") & ~first, "bounces", path.phase[1:])


def over_edge(launches: Launch, grounds: Mapping[str, Green | Ground]) -> pd.DataFrame:
    """Return where a batch of shots comes to rest on several grounds (columns), by landing distance on the first.

    Examples
    --------
    >>> over_edge(Launch(np.array([7.0, 8.0]), 0.6, 250.0), {"green": LEVEL}).shape
    (2, 1)
    """
    played = {name: simulate(launches, ground) for name, ground in grounds.items()}
    landing = next(iter(played.values())).landing_x
    return pd.DataFrame({name: shots.rest_x for name, shots in played.items()}, index=pd.Index(landing, name="landing"))


# --- flight ----------------------------------------------------------------------------------------------------------
def coefficients(spin_ratios: Sequence[float], speeds: ArrayLike) -> pd.DataFrame:
    """Return ``drag`` and ``lift`` against airspeed at sea level, for several spin ratios (rim speed over airspeed).

    Examples
    --------
    >>> round(float(coefficients([0.0], [10.0])["drag"].iloc[0]), 2)
    0.5
    """
    ratios, airspeed = np.meshgrid(np.asarray(spin_ratios, dtype=float), np.asarray(speeds, dtype=float))
    reynolds = airspeed * Air().reynolds(1.0)
    drag, lift = Aerodynamics().coefficients(reynolds, ratios)
    names = {"speed": airspeed, "reynolds": reynolds, "spin_ratio": ratios, "drag": drag, "lift": lift}
    return pd.DataFrame({name: np.ravel(values) for name, values in names.items()})


def air_effect(speeds: ArrayLike, *, angle: float, spin_ratio: float) -> pd.DataFrame:
    """Return the carry of launches over that of the vacuum parabola, with its range over plausible drag and lift.

    By speed (m/s), at a launch angle (rad) and rim speed over launch speed. Columns ``vacuum`` and ``carry`` (m), and
    over the vacuum's ``share``, ``low``, ``high``.

    Examples
    --------
    >>> row = air_effect([10.0], angle=0.6, spin_ratio=0.5).iloc[0]
    >>> bool(row["low"] < row["share"] < row["high"])
    True
    """
    speed = np.asarray(speeds, dtype=float)
    launch = Launch(speed, np.full(speed.shape, angle), spin_ratio * speed / RADIUS)
    empty = broadcast(lambda v: vacuum_carry(v, angle, GRAVITY), speed)
    carry = simulate(launch, LEVEL).carry
    corners = [
        simulate(launch, LEVEL, aerodynamics=Aerodynamics(drag_scale=drag, lift_scale=lift)).carry / empty
        for drag, lift in itertools.product(PLAUSIBLE_DRAG, PLAUSIBLE_LIFT)
    ]
    columns = {"vacuum": empty, "carry": carry, "share": carry / empty}
    ends = {"low": np.min(corners, axis=0), "high": np.max(corners, axis=0)}
    return pd.DataFrame(columns | ends, index=pd.Index(speed, name="speed"))


def conditions(
    launches: Mapping[str, Launch], airs: Mapping[str, Air], *, aerodynamics: Aerodynamics | None = None
) -> pd.DataFrame:
    """Return what other air than still standard air changes of single shots: a row for each ``shot`` and ``air``.

    ``carry_change``, ``rest_change``, and to the left ``landing_side_change`` and ``rest_side_change``, m.

    Examples
    --------
    >>> table = conditions({"chip": Launch(8.0, 0.6, 250.0)}, {"head wind": Air(wind_speed=5.0, wind_direction=np.pi)})
    >>> bool(table["carry_change"].iloc[0] < 0)
    True
    """
    batch = _joined(launches.values())
    still = simulate(batch, LEVEL, aerodynamics=aerodynamics)
    rows = []
    for name, air in airs.items():
        there = simulate(batch, LEVEL, air=air, aerodynamics=aerodynamics)
        changes = {
            "carry_change": there.carry - still.carry,
            "rest_change": there.rest_x - still.rest_x,
            "landing_side_change": there.landing_y - still.landing_y,
            "rest_side_change": there.rest_y - still.rest_y,
        }
        rows.append(pd.DataFrame({"shot": list(launches), "air": name, **changes}))
    return pd.concat(rows, ignore_index=True)


# --- bounce ----------------------------------------------------------------------------------------------------------
def bounces(speed: ArrayLike, angle: ArrayLike, backspin: ArrayLike, *, turf: Turf | None = None) -> pd.DataFrame:
    """Return what one bounce on level, rigid turf makes of landings (m/s, rad below level, backspin in rad/s).

    Columns ``speed``, ``angle``, ``backspin`` at landing; after it ``forward`` and ``up`` (m/s) and ``rim``, the speed
    that its spin would roll with (m/s; negative is backspin); ``tilt`` of the dent (rad); and ``grips``.

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
    fields = (turf.restitution, turf.restitution_linear, turf.restitution_quadratic, turf.restitution_limit_speed)
    returned = broadcast(lambda falling: turf_restitution(falling, *fields), approach)
    limit = broadcast(lambda e: slip_limit_ratio(e, turf.friction, turf.tangential_restitution, 0.0, INERTIA), returned)
    columns = {"speed": v, "angle": a, "backspin": w, "forward": after[:, 0], "up": after[:, 2]}
    tilt = np.arctan2(-normal[:, 0], normal[:, 2])
    return pd.DataFrame({**columns, "rim": RADIUS * spun[:, 1], "tilt": tilt, "grips": slip <= limit * approach})


def slide_limit(frictions: ArrayLike, restitution: float) -> pd.DataFrame:
    """Return the steepest ``angle`` to a surface without a dent at which a ball without spin slides, by ``friction``.

    Examples
    --------
    >>> round(float(np.degrees(slide_limit([0.4], 0.8)["angle"].iloc[0])), 1)
    21.6
    """
    friction = np.atleast_1d(np.asarray(frictions, dtype=float))
    ratio = broadcast(lambda mu: slip_limit_ratio(restitution, mu, 0.0, 0.0, INERTIA), friction)
    return pd.DataFrame({"friction": friction, "angle": np.arctan2(1.0, ratio)})


def drops(turfs: Mapping[str, Turf], heights: ArrayLike) -> pd.DataFrame:
    """Return how high a dropped ball rebounds before the grass takes its share: heights (m) down, turfs across.

    Examples
    --------
    >>> float(drops({"published": Turf()}, [1.0]).loc[1.0, "published"].round(3))
    0.131
    """
    height = np.atleast_1d(np.asarray(heights, dtype=float))
    rebounds = {name: rebound_height(turf, height) for name, turf in turfs.items()}
    return pd.DataFrame(rebounds, index=pd.Index(height, name="drop height"))


def swapped(launches: Mapping[str, Launch]) -> pd.DataFrame:
    """Return how far single shots run with each other's backspin (columns), and with none: angle and spin taken apart.

    Examples
    --------
    >>> table = swapped({"a": Launch(8.0, 0.5, 100.0), "b": Launch(8.0, 0.7, 300.0)})
    >>> bool((table["b spin"] < table["no spin"]).all())
    True
    """
    spins = {"no": 0.0} | {name: launch.backspin for name, launch in launches.items()}
    table = {}
    for whose, spin in spins.items():
        batch = _joined([replace(launch, backspin=spin) for launch in launches.values()])
        table[f"{whose} spin"] = simulate(batch, LEVEL).roll_distance
    return pd.DataFrame(table, index=pd.Index(list(launches), name="launch"))
