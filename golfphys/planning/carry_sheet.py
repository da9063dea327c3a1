"""The sheet to carry: landing and run by club and distance for one green on one day, made before the round."""

import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import BAG, Club, Player
from golfphys.physics.green import Green, GroundBatch
from golfphys.planning.chips import LandingTable, joined, parts_of, played
from golfphys.planning.draws import AnyGreen, CourseDraws
from golfphys.planning.green_speed import level_roll_ft
from golfphys.planning.plan import bag_tables, make_setting
from golfphys.planning.position import Position
from golfphys.planning.search import GREENS, Setting, normals
from golfphys.planning.speed_study import crossing, slope_along

Floats = NDArray[np.float64]
Unit = Literal["paces", "ft", "m"]

PAPER_IN = (4.25, 7.0)
"""Greatest width and height of the paper in inches (interpretation 4.3a/1, read; the local rule may be stricter)."""

RULES_CAUTION = (
    "Made before the round. Rule 4.3a: information gathered beforehand may be used; working out a line or a club from "
    "where the ball lies may not. A local rule (G-11) can be stricter: ask the committee before carrying this."
)
"""The caution that every sheet bears (Rule 4.3a and its interpretation, read)."""

STEP = (0.4, 1.5)
"""Shortest and longest step in m that is believed."""

SLOPES = (-0.02, 0.02)
"""Slopes along the line for which a sheet gives corrections of the run."""


@dataclass(frozen=True, kw_only=True)
class CarrySheet:
    """What one printed page says.

    Parameters
    ----------
    table : DataFrame
        Index: distance from ball to pin in `unit`. Columns: (club, ``land``), (club, ``run``), (club, ``give``): where
        to land it, how far it runs from there, and half the 90 % interval of that run, all in `unit`; NaN where the
        club has no such chip.
    slopes : DataFrame
        Index: club. For each slope of `SLOPES` the factor on the run.
    title : str
        Heading of the page.
    made_for : datetime.date
        The day.
    green : str
        The green in words, with its uncertainty.
    player : str
        The player in words.
    unit : {"paces", "ft", "m"}
        Unit of length.
    pace : float
        Length of the player's pace, m.
    cautions : tuple of str
        What the sheet must say.

    Examples
    --------
    >>> day = datetime.date(2025, 5, 6)
    >>> make_carry_sheet(Green.from_stimp(10.0), spot="practice-low", made_for=day, distances=[10.0]).clubs[0]
    '8-iron'
    """

    table: pd.DataFrame
    slopes: pd.DataFrame
    title: str
    made_for: datetime.date
    green: str
    player: str
    unit: Unit
    pace: float
    cautions: tuple[str, ...] = field(default=(RULES_CAUTION,))

    @property
    def clubs(self) -> list[str]:
        """The clubs, in the order of the bag."""
        return list(dict.fromkeys(self.table.columns.get_level_values(0)))


def make_carry_sheet(
    green: AnyGreen,
    *,
    spot: str,
    made_for: datetime.date,
    distances: Sequence[float] | None = None,
    unit: Unit = "paces",
    pace: float = 0.90,
    lie: str = "fairway",
    player: Player | None = None,
    bag: Mapping[str, Club] = BAG,
    **physics: Any,
) -> CarrySheet:
    """Make the sheet to carry for one green on one day.

    The figures are for a level line: the green's own slope is left out and given as a factor on the run, so that the
    page serves any pin. A chip of each length lands on the green and stops at the pin when struck as meant.

    Parameters
    ----------
    green : Green, GroundBatch or CourseDraws
        The green as measured; draws give the uncertainty.
    spot : str
        What the green is called.
    made_for : datetime.date
        The day that the sheet is for.
    distances : sequence of float, optional
        Distances from ball to pin in `unit`; a dozen everyday ones if left out.
    unit : {"paces", "ft", "m"}
        Unit of length.
    pace : float
        Length of the player's own pace, m.
    lie : str
        Name of a lie.
    player : Player, optional
        Whose delivery it is; as for `golfphys.plan_chip`.
    bag : mapping of str to Club
        The clubs.
    **physics
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    CarrySheet
        For `golfphys.show.plots.planning.save_carry_sheet`.

    Raises
    ------
    ValueError
        If the unit is not known, the pace is not a step, or the distances do not rise.

    Examples
    --------
    >>> day = datetime.date(2025, 5, 6)
    >>> sheet = make_carry_sheet(Green.from_stimp(10.0), spot="practice-low", made_for=day, distances=[10, 20])
    >>> sheet.table.loc[10, ("sand wedge", "land")] < sheet.table.loc[10, ("lob wedge", "land")]
    np.True_
    """
    length = _length(unit, pace)
    asked = np.asarray(_everyday(unit) if distances is None else distances, float)
    if asked.ndim != 1 or not asked.size or (np.diff(asked) <= 0).any() or not asked[0] > 0:
        raise ValueError(f"distances is {list(asked)}; expected rising distances above 0, in {unit}")
    level = _level(green)
    farthest = float(asked[-1] * length)
    position = Position(to_edge=0.0, to_pin=farthest, lie=lie)
    setting = make_setting(level, position, lie=lie, player=player, physics=physics, normal=normals(16, 0))
    table = _table(setting, bag, asked, length)
    return CarrySheet(
        table=table,
        slopes=_slopes(setting, bag),
        title=f"{spot}: landing and run",
        made_for=made_for,
        green=_green_words(green),
        player=f"{setting.player.name}, from a {setting.lie.name} lie",
        unit=unit,
        pace=pace,
    )


def _everyday(unit: str) -> tuple[float, ...]:
    if unit == "ft":
        return (15.0, 20.0, 25.0, 30.0, 35.0, 40.0, 50.0, 60.0, 70.0, 80.0)
    return (5.0, 6.0, 8.0, 10.0, 12.0, 14.0, 16.0, 18.0, 20.0, 25.0)


def _length(unit: str, pace: float) -> float:
    """Return the length of a unit, m."""
    if not STEP[0] <= pace <= STEP[1]:
        raise ValueError(f"pace is {pace!r} m; expected the length of one step, {STEP[0]} to {STEP[1]} m")
    lengths = {"paces": pace, "ft": METRES_PER_FOOT, "m": 1.0}
    if unit not in lengths:
        raise ValueError(f"unit is {unit!r}; expected one of {', '.join(lengths)}")
    return lengths[unit]


def _level(green: AnyGreen) -> AnyGreen:
    """Return the green without its slope."""
    if isinstance(green, Green):
        return replace(green, grade=0.0)
    if isinstance(green, GroundBatch):
        return _level_batch(green)
    return replace(green, ground=_level_batch(green.ground))


def _level_batch(green: GroundBatch) -> GroundBatch:
    values = {name: value for name, value in green.values.items() if name not in ("grade", "fall_direction")}
    if not any(np.ndim(value) for value in values.values()):
        values["constant"] = np.full(green.size, green.green.resistance.constant)
    return GroundBatch(ground=replace(green.green, grade=0.0), values=values)


def _table(setting: Setting, bag: Mapping[str, Club], asked: Floats, length: float) -> pd.DataFrame:
    """Return landing, run and give of every club and distance, in the sheet's unit."""
    tables = bag_tables(bag, setting)
    fine = [np.linspace(max(one.reach[0], 0.25), min(one.reach[1], setting.position.to_pin), 160) for one in tables]
    shots = played(
        joined([one.launch(at) for one, at in zip(tables, fine, strict=True)]), setting.centre, **setting.physics
    )
    rest = np.where(np.asarray(shots.stops), np.asarray(shots.rest_x), np.inf)
    lands = [
        np.array([crossing(at, part, float(pin)) for pin in asked * length])
        for at, part in zip(fine, parts_of(rest, [at.size for at in fine]), strict=True)
    ]
    columns: dict[tuple[str, str], Floats] = {}
    for one, land, give in zip(tables, lands, _gives(setting, tables, lands), strict=True):
        run = asked * length - land
        columns[(one.club.name, "land")] = land / length
        columns[(one.club.name, "run")] = run / length
        columns[(one.club.name, "give")] = give / length
    return pd.DataFrame(columns, index=pd.Index(asked, name="ball to pin"))


def _gives(setting: Setting, tables: Sequence[LandingTable], lands: Sequence[Floats]) -> list[Floats]:
    """Return half the 90 % interval of the run that the measurements leave open, m; NaN without draws."""
    if setting.draws is None:
        return [np.full(land.size, np.nan) for land in lands]
    each = np.arange(GREENS)
    middle = [float(np.nanmedian(land)) if np.isfinite(land).any() else 3.0 for land in lands]
    changes = setting.tweaks(tables, middle)
    found = []
    for table, land, change in zip(tables, lands, changes, strict=True):
        kept = np.flatnonzero(np.isfinite(land))
        give = np.full(land.size, np.nan)
        if kept.size:
            meant = table.launch(np.repeat(land[kept], GREENS))
            draw = np.tile(each, kept.size)
            launch = change.of(meant, draw) if change is not None else meant
            shots = setting.shots(launch, draw)
            run = (np.asarray(shots.rest_x) - np.asarray(shots.landing_x)).reshape(kept.size, GREENS)
            low, high = np.nanquantile(np.where(np.isfinite(run), run, np.nan), [0.05, 0.95], axis=1)
            give[kept] = (high - low) / 2
        found.append(give)
    return found


def _slopes(setting: Setting, bag: Mapping[str, Club], landing: float = 5.0) -> pd.DataFrame:
    """Return the factor on the run for slopes along the line, club by club."""
    tables = bag_tables(bag, replace(setting, position=Position(to_edge=0.0, to_pin=landing + 1.0)))
    launch = joined([one.launch(np.array([landing])) for one in tables])

    def run(grade: float) -> Floats:
        green = replace(setting.centre.green, **slope_along(grade))
        shots = played(launch, green, **setting.physics)
        return np.where(shots.stops, np.asarray(shots.rest_x) - np.asarray(shots.landing_x), np.inf)

    flat = run(0.0)
    return pd.DataFrame(
        {grade: run(grade) / flat for grade in SLOPES}, index=pd.Index([one.club.name for one in tables], name="club")
    )


def _green_words(green: AnyGreen) -> str:
    """Return the green in words: its speed on the level, with its interval where draws give one, and its slope."""
    drawn = green.ground if isinstance(green, CourseDraws) else green
    centre = drawn if isinstance(drawn, Green) else drawn.green
    said = f"green speed {level_roll_ft(centre.resistance):.1f} ft"
    if isinstance(drawn, GroundBatch) and np.ndim(drawn.values.get("constant", 0.0)):
        low, high = np.quantile(level_roll_ft(centre.resistance, drawn.values), [0.05, 0.95])
        said += f" (90 %: {low:.1f} to {high:.1f})"
    return f"{said}; slope at the spot {100 * centre.grade:.1f} %" if centre.grade else said


def measured_pace(distance: float, steps: int) -> float:
    """Return the length of one pace in m from a distance walked.

    Parameters
    ----------
    distance : float
        Distance walked, m.
    steps : int
        Paces that it took.

    Returns
    -------
    float
        Length of a pace, m.

    Raises
    ------
    ValueError
        If that is not the length of a step.

    Examples
    --------
    >>> measured_pace(18.0, 20)
    0.9
    """
    if steps < 1 or not STEP[0] <= distance / steps <= STEP[1]:
        raise ValueError(f"{distance!r} m in {steps!r} paces; expected steps of {STEP[0]} to {STEP[1]} m")
    return distance / steps
