"""Worked shots for the notebooks: flight and the whole shot as tables; conventions as in `golfphys.show.worked`."""

from collections.abc import Mapping, Sequence
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast
from golfphys.core.units import FACTORS_TO_SI
from golfphys.formulas.flight import vacuum_carry
from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Club, Launch, Player
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground
from golfphys.physics.shot import Trace, simulate
from golfphys.planning.chips import joined, landing_tables

GRAVITY = constants.GRAVITY.value
RADIUS = constants.BALL_RADIUS.value
LEVEL = Green.from_stimp(10.0)


def chips_to(
    carry: float,
    *,
    bag: Mapping[str, Club] = BAG,
    lie: str = "fairway",
    player: Player = DEFAULT_PLAYER,
    ground: Green | Ground = LEVEL,
) -> dict[str, Launch]:
    """Return, for each club, the launch that lands the ball at `carry`: one motion, only its speed changed.

    Parameters
    ----------
    carry : float
        Landing distance, m.
    bag : mapping of str to Club
        The clubs.
    lie : str
        Name of `golfphys.physics.club.LIES`.
    player : Player
        Whose motion it is.
    ground : Green or Ground
        Where it lands.

    Returns
    -------
    dict of str to Launch
        In the order of the bag.

    Examples
    --------
    >>> chip = chips_to(5.0, bag={"sand wedge": BAG["sand wedge"]})["sand wedge"]
    >>> round(simulate(chip, LEVEL).carry, 2)
    5.0
    """
    tables = landing_tables(list(bag.values()), LIES[lie], player, ground, farthest=carry + 2.0)
    found = {}
    for name, table in zip(bag, tables, strict=True):
        launch = table.launch(carry)
        fields = (launch.speed, launch.angle, launch.backspin, launch.direction, launch.sidespin)
        found[name] = Launch(*(float(np.asarray(value)) for value in fields))
    return found


def chips(launches: Mapping[str, Launch], ground: Green | Ground = LEVEL) -> pd.DataFrame:
    """Return shots side by side, one row for each, to be read.

    Parameters
    ----------
    launches : mapping of str to Launch
        Single launches by name.
    ground : Green or Ground
        Where they are played.

    Returns
    -------
    DataFrame
        Index: name; headings in words, with units.

    Examples
    --------
    >>> list(chips({"a": Launch(8.0, 0.6, 250.0)}).columns)[:2]
    ['ball speed (m/s)', 'launch (deg)']
    """
    batch = joined(list(launches.values()))
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
    table = {
        name: [f"{value:.{digits}f}" for value in np.asarray(values, dtype=float)]
        for name, (values, digits) in rows.items()
    }
    return pd.DataFrame(table, index=pd.Index(list(launches), name=""))


# --- flight ----------------------------------------------------------------------------------------------------------
def coefficients(
    spin_ratios: Sequence[float], speeds: ArrayLike, *, aerodynamics: Aerodynamics | None = None
) -> pd.DataFrame:
    """Return drag and lift coefficients against airspeed, for several spin ratios.

    Parameters
    ----------
    spin_ratios : sequence of float
        Rim speed over airspeed.
    speeds : array_like
        Airspeeds, m/s, at sea level.
    aerodynamics : Aerodynamics, optional
        The library's if left out.

    Returns
    -------
    DataFrame
        ``speed``, ``reynolds``, ``spin_ratio``, ``drag``, ``lift``.

    Examples
    --------
    >>> round(float(coefficients([0.0], [10.0])["drag"].iloc[0]), 2)
    0.5
    """
    ratios, airspeed = np.meshgrid(np.asarray(spin_ratios, dtype=float), np.asarray(speeds, dtype=float))
    reynolds = airspeed * Air().reynolds(1.0)
    drag, lift = (aerodynamics or Aerodynamics()).coefficients(reynolds, ratios)
    names = {"speed": airspeed, "reynolds": reynolds, "spin_ratio": ratios, "drag": drag, "lift": lift}
    return pd.DataFrame({name: np.ravel(values) for name, values in names.items()})


def air_effect(
    speeds: ArrayLike,
    *,
    angle: float,
    spin_ratio: float,
    drag_scales: tuple[float, float] = (0.8, 1.2),
    lift_scales: tuple[float, float] = (0.0, 2.0),
) -> pd.DataFrame:
    """Return the carry of a launch over that of the vacuum parabola, with the doubt about drag and lift.

    Parameters
    ----------
    speeds : array_like
        Launch speeds, m/s.
    angle : float
        Launch angle, rad.
    spin_ratio : float
        Rim speed over launch speed.
    drag_scales, lift_scales : tuple of float
        Ends of what is plausible.

    Returns
    -------
    DataFrame
        Index: speed. ``vacuum`` (m), ``carry`` (m), and over the vacuum's ``share``, ``low``, ``high``.

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
        for drag in drag_scales
        for lift in lift_scales
    ]
    columns = {"vacuum": empty, "carry": carry, "share": carry / empty}
    ends = {"low": np.min(corners, axis=0), "high": np.max(corners, axis=0)}
    return pd.DataFrame(columns | ends, index=pd.Index(speed, name="speed"))


def conditions(
    launches: Mapping[str, Launch],
    airs: Mapping[str, Air],
    *,
    ground: Green = LEVEL,
    aerodynamics: Aerodynamics | None = None,
) -> pd.DataFrame:
    """Return how much farther shots carry and come to rest in other air than in still standard air.

    Parameters
    ----------
    launches : mapping of str to Launch
        Single launches by name.
    airs : mapping of str to Air
        Kinds of air by name.
    ground : Green
        Where they land.
    aerodynamics : Aerodynamics, optional
        Drag and lift; the library's if left out.

    Returns
    -------
    DataFrame
        ``shot``, ``air``, ``carry_change``, ``rest_change``, and to the left ``landing_side_change`` and
        ``rest_side_change``, m.

    Examples
    --------
    >>> table = conditions({"chip": Launch(8.0, 0.6, 250.0)}, {"head wind": Air(wind_speed=5.0, wind_direction=np.pi)})
    >>> bool(table["carry_change"].iloc[0] < 0)
    True
    """
    batch = joined(list(launches.values()))
    still = simulate(batch, ground, aerodynamics=aerodynamics)
    parts = []
    for name, air in airs.items():
        there = simulate(batch, ground, air=air, aerodynamics=aerodynamics)
        changes = {
            "carry_change": there.carry - still.carry,
            "rest_change": there.rest_x - still.rest_x,
            "landing_side_change": there.landing_y - still.landing_y,
            "rest_side_change": there.rest_y - still.rest_y,
        }
        parts.append(pd.DataFrame({"shot": list(launches), "air": name, **changes}))
    return pd.concat(parts, ignore_index=True)


def swapped(launches: Mapping[str, Launch], *, ground: Green = LEVEL) -> pd.DataFrame:
    """Return how far shots run with each other's backspin, and with none: angle and spin taken apart.

    Parameters
    ----------
    launches : mapping of str to Launch
        Single launches by name.
    ground : Green
        Where they land.

    Returns
    -------
    DataFrame
        Index: whose launch; columns: whose spin, "no" first; run after landing, m.

    Examples
    --------
    >>> table = swapped({"a": Launch(8.0, 0.5, 100.0), "b": Launch(8.0, 0.7, 300.0)})
    >>> bool((table["b spin"] < table["no spin"]).all())
    True
    """
    spins = {"no": 0.0} | {name: launch.backspin for name, launch in launches.items()}
    table = {
        f"{whose} spin": simulate(
            joined([replace(launch, backspin=spin) for launch in launches.values()]), ground
        ).roll_distance
        for whose, spin in spins.items()
    }
    return pd.DataFrame(table, index=pd.Index(list(launches), name="launch"))


# --- the whole shot --------------------------------------------------------------------------------------------------
PARTS = ("flight", "bounces", "skid", "roll")


def parts(paths: Mapping[str, Trace]) -> pd.DataFrame:
    """Return the way that each part of shots makes, and the time it takes.

    Parameters
    ----------
    paths : mapping of str to Trace
        What `golfphys.physics.shot.trace` returned, by name.

    Returns
    -------
    DataFrame
        Index: name. ``flight``, ``bounces``, ``skid``, ``roll`` in m along the line of play, and ``flight_time`` and so
        on in s.

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
        way, time = np.diff(path.x), np.diff(path.time)
        ways = {part: float(way[doing == part].sum()) for part in PARTS}
        rows[name] = ways | {f"{part}_time": float(time[doing == part].sum()) for part in PARTS}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("shot")


def part_of_each_step(path: Trace) -> NDArray[np.str_]:
    """Return which of `PARTS` each step of a path belongs to: flight is over with the first landing."""
    first = path.time[1:] <= path.shot.flight_time + 1e-9
    return np.where((path.phase[1:] == "flight") & ~first, "bounces", path.phase[1:])


def over_edge(launches: Launch, grounds: Mapping[str, Green | Ground]) -> pd.DataFrame:
    """Return where shots land and where they come to rest on several grounds.

    Parameters
    ----------
    launches : Launch
        A batch.
    grounds : mapping of str to Green or Ground
        Grounds by name.

    Returns
    -------
    DataFrame
        Index: landing distance on the first ground, m; a column of rest distances for each.

    Examples
    --------
    >>> over_edge(Launch(np.array([7.0, 8.0]), 0.6, 250.0), {"green": LEVEL}).shape
    (2, 1)
    """
    played = {name: simulate(launches, ground) for name, ground in grounds.items()}
    landing = next(iter(played.values())).landing_x
    return pd.DataFrame({name: shots.rest_x for name, shots in played.items()}, index=pd.Index(landing, name="landing"))
