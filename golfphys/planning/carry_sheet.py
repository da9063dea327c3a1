"""The sheet to carry: what to play by distance, landing and run, for one player on one green and day."""

import datetime
from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import require_kinds
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.draws import Draws
from golfphys.planning.cautions import hardly_logged, not_measured
from golfphys.planning.plan import ChipPlan, level_words, make_world, plan_in
from golfphys.planning.position import PUTTING, USUAL, Choice, Position, level_roll_ft, slope_along
from golfphys.planning.search import stopping_at
from golfphys.planning.world import Effort, World

Unit = Literal["paces", "ft", "m"]
# Greatest width and height of the paper in inches (interpretation 4.3a/1, read; the local rule may be stricter).
PAPER_IN = (4.25, 7.0)

# The caution that every sheet bears (Rule 4.3a and its interpretation, read).
RULES_CAUTION = (
    "Made before the round. Rule 4.3a: information gathered beforehand may be used; working out a line or a club from "
    "where the ball lies may not. A local rule (G-11) can be stricter: ask the committee before carrying this."
)

STEP = (0.4, 1.5)  # shortest and longest step in m that is believed
OFF_GREEN = 2.0  # distance in m from the ball to the green that a sheet is made for
PLAYABLE = 0.25  # strokes behind the best choice up to which a club is shown
SLOPES = (-0.02, 0.02)  # slopes along the line for which a sheet says how far to move the landing
OTHER_LIES = ("tight", "light rough", "rough")  # and those of her log: how far to move the landing
# Distances from ball to pin that a sheet has unless said, in paces or metres, and in feet.
EVERYDAY = (5, 6, 8, 10, 12, 14, 16, 18, 20, 25), (15, 20, 25, 30, 35, 40, 50, 60, 70, 80)
# What a sheet says of a club, by the column of a plan that it is taken from.
SAID = {"land": "landing_m", "run": "roll_m", "run_low": "roll_low_m", "run_high": "roll_high_m"}
SHEET_EFFORT = Effort(draws=32, landings=13, errors=4, last=32)


@dataclass(frozen=True, kw_only=True)
class CarrySheet:
    """What one printed page says."""

    # Index: distance from ball to pin in `unit`. Columns: (club, ``land``), and of how far it runs from there (club,
    # ``run``), (club, ``run_low``), (club, ``run_high``): the median and the ends of the 90 % interval, her errors and
    # all that is not known together; in `unit`, NaN where the club is no choice.
    table: pd.DataFrame
    best: "pd.Series[str]"  # index: distance. The club to play; of two that are level, the one of the distance before.
    # Index: club. For each slope and lie, how far to move the landing, in `unit`; negative is nearer.
    moves: pd.DataFrame
    spot: str  # what the green is called
    made_for: datetime.date  # the day
    green: str  # in words, with the uncertainty
    player: str
    unit: Unit  # unit of length
    pace: float  # length of the player's pace, m
    cautions: tuple[str, ...] = field(default=(RULES_CAUTION,))  # what the sheet must say

    @property
    def clubs(self) -> list[str]:
        """The clubs, in the order of the bag."""
        return list(dict.fromkeys(self.table.columns.get_level_values(0)))


def make_carry_sheet(
    draws: Draws,
    *,
    spot: str,
    made_for: datetime.date,
    distances: Sequence[float] | None = None,
    unit: Unit = "paces",
    pace: float = 0.90,
    lie: str = "fairway",
    effort: Effort = SHEET_EFFORT,
) -> CarrySheet:
    """Make the sheet to carry for one green on one day; `golfphys.plots.save_carry_sheet` prints it.

    Each row is a plan, as `golfphys.plan_chip` makes it, from `OFF_GREEN` off the green on a level line, with her usual
    delivery; so it is as unsure as everything that was not measured makes it.

    Parameters
    ----------
    draws, lie, effort : as for `golfphys.plan_chip`
    spot, made_for : str, datetime.date; what the green is called, and the day that the sheet is for
    distances : sequence of float, optional; distances from ball to pin in `unit`; everyday ones if left out
    unit, pace : {"paces", "ft", "m"}, float; unit of length, and the length of the player's own pace, m

    Examples
    --------
    >>> from golfphys import Green, assumed
    >>> day, draws = datetime.date(2025, 5, 6), assumed(Green.from_stimp(10.0), n=16)
    >>> sheet = make_carry_sheet(draws, spot="practice-low", made_for=day, distances=[8, 16])
    >>> bool(sheet.table.loc[8, ("sand wedge", "land")] < sheet.table.loc[16, ("sand wedge", "land")])
    True
    """
    length = _length(unit, pace)
    asked = np.asarray(EVERYDAY[unit == "ft"] if distances is None else distances, float)
    if asked.ndim != 1 or not asked.size or (np.diff(asked) <= 0).any() or not asked[0] * length > OFF_GREEN + 0.5:
        expected = f"rising distances, the first beyond {OFF_GREEN + 0.5:g} m"
        raise ValueError(f"distances is {asked.tolist()} {unit}; expected {expected}")
    require_kinds(draws=(draws, Draws), made_for=(made_for, datetime.date))
    flat = replace(draws, green=replace(draws.green, grade=0.0, fall_direction=0.0))
    pins = (Position(to_edge=OFF_GREEN, to_pin=float(pin * length), lie=lie) for pin in asked)
    plans = [plan_in(make_world(flat, pin, None, effort), effort, (USUAL, PUTTING)) for pin in pins]
    index = pd.Index(asked, name="ball to pin")
    middle = plans[len(plans) // 2].world
    return CarrySheet(
        table=_table(plans, list(draws.bag), length).set_index(index),
        best=pd.Series(played_by_row(plans), index=index, name="play"),
        moves=_moves(middle, list(draws.bag)) / length,
        spot=spot,
        made_for=made_for,
        green=_green_words(draws),
        player=f"{level_words(draws)}, from a {lie} lie {OFF_GREEN:g} m off the green",
        unit=unit,
        pace=pace,
        cautions=(
            *not_measured(draws.logged),
            *hardly_logged(draws.logged, lie),
            *draws.logged.left_out,
            RULES_CAUTION,
        ),
    )


def played_by_row(plans: Sequence[ChipPlan]) -> list[str]:
    """Return the choice of each row; of two that are level the one of the row before, so that they do not alternate."""
    picks: list[str] = []
    for plan in plans:
        level_ones = [item.label for item in plan.played[: len(plan.answer.choices)]]
        picks.append(picks[-1] if picks and picks[-1] in level_ones else plan.pick)
    return picks


def _length(unit: str, pace: float) -> float:
    """Return the length of a unit in m."""
    if not STEP[0] <= pace <= STEP[1]:
        raise ValueError(f"pace is {pace!r} m; expected the length of one step, {STEP[0]} to {STEP[1]} m")
    lengths = {"paces": pace, "ft": METRES_PER_FOOT, "m": 1.0}
    if unit not in lengths:
        raise ValueError(f"unit is {unit!r}; expected one of {', '.join(lengths)}")
    return lengths[unit]


def _table(plans: Sequence[ChipPlan], clubs: Sequence[str], length: float) -> pd.DataFrame:
    """Return landing and runs of every club that can be played, in the sheet's unit, a row for each plan."""
    rows = []
    for plan in plans:
        found = plan.table.set_index("club")
        own = found.reindex(list(clubs))
        own = own.where((own["onto_green_m"] >= 0) & (own["strokes"] <= found["strokes"].min() + PLAYABLE))
        rows.append({(club, name): own[of][club] / length for club in clubs for name, of in SAID.items()})
    table = pd.DataFrame(rows)
    table.columns = pd.MultiIndex.from_tuples(list(rows[0]))
    return table


def _moves(world: World, clubs: Sequence[str]) -> pd.DataFrame:
    """Return how far the landing moves in m for slopes and lies, club by club, when all else goes as meant."""
    choices, centre = [Choice(club=club) for club in clubs], world.centre
    worlds = {"": centre}
    for grade in SLOPES:
        sloped = replace(centre.draws, green=replace(centre.draws.green, **slope_along(grade)))
        name = f"{'uphill' if grade > 0 else 'downhill'} {100 * abs(grade):.0f} %"
        worlds[name] = replace(centre, draws=sloped)
    for lie in dict.fromkeys((*OTHER_LIES, *world.draws.logged.lies)):
        if lie != world.position.lie and lie in world.draws.lies:
            moved = replace(world.position, lie=lie, before=world.position.ground_before)
            worlds[lie] = replace(centre, position=moved)
    pin = [world.position.to_pin]
    landings = {name: stopping_at(pin, choices, item)[:, 0] for name, item in worlds.items()}
    table = pd.DataFrame(landings, index=pd.Index(clubs, name="club"))
    return table.iloc[:, 1:].sub(table.iloc[:, 0], axis=0)


def _green_words(draws: Draws) -> str:
    """Return the green in words: its speed, as the fit tells it if there is one, with its interval, and its slope."""
    stated = np.quantile(level_roll_ft(draws.green.resistance), [0.5, 0.05, 0.95])
    told = draws.logged.level_roll
    speed, low, high = stated if told is None else np.divide(told, METRES_PER_FOOT)
    said = f"green speed {speed:.1f} ft" + (f" (90 %: {low:.1f} to {high:.1f})" if high > low else "")
    grade = float(draws.median().green.grade)
    return f"{said}; slope there {100 * grade:.1f} %" if grade else said


def measured_pace(distance: float, steps: int) -> float:
    """Return the length of one pace in m from a distance walked.

    Parameters
    ----------
    distance, steps : float, int; distance walked, m, and the paces that it took

    Examples
    --------
    >>> measured_pace(18.0, 20)
    0.9
    """
    if steps < 1 or not STEP[0] <= distance / steps <= STEP[1]:
        raise ValueError(f"{distance!r} m in {steps!r} paces; expected steps of {STEP[0]} to {STEP[1]} m")
    return distance / steps
