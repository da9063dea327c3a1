"""A plan: every choice, where to land it and what to expect, and the answer at a glance; and the sheet to carry.

The sheet says by distance what to play, landing and run, for one player on one green and day.
"""

# ruff: noqa: I001  # several lines for a module with many names
import datetime
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any, Literal

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import require_kinds
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import Launch, Option
from golfphys.physics.draws import Draws
from golfphys.physics.shot import trace
from golfphys.planning.answer import Answer, answer, cautions, not_measured, summed_up
from golfphys.planning.position import EVERY_OPTION, PUTTING, USUAL, Choice, Floats, Position
from golfphys.planning.position import choices_for, level_roll_ft, slope_along
from golfphys.planning.search import LOOKED_AT, Played, ranked, search_of, searched, stopping_at
from golfphys.planning.world import LAUNCH, Conditions, Effort, World

SHOWN = 800  # most rest points of a choice that a plan keeps for pictures

# What each column of a plan's table holds.
COLUMNS: Mapping[str, str] = {
    "club": "club, and how it is played if not as usual",
    "landing_m": "where to land it, from the ball; for a putt where it is meant to stop",
    "onto_green_m": "where to land it, from the edge of the green; negative is short of it",
    "aim_deg": "where to aim the swing, degrees to the left of the pin",
    "aim_m": "where to aim the swing at the distance of the pin, m to the left",
    "roll_m": "median distance from landing to rest",
    "roll_low_m": "5th percentile of that distance, player errors and uncertainty together",
    "roll_high_m": "95th percentile of that distance",
    "rest_along_sd_m": "standard deviation of where it comes to rest, along the line",
    "rest_side_sd_m": "standard deviation of where it comes to rest, across the line",
    "within_1m": "share of shots that end within 1 m of the pin",
    "within_3ft": "share of shots that end within 3 ft of the pin",
    "holed": "share of shots that drop",
    "leave_m": "median distance left to the pin",
    "up_and_down": "share of holes finished with this chip and at most one putt",
    "strokes": "expected strokes to hole out, this one included",
    "strokes_low": "5th percentile of expected strokes over what was not measured",
    "strokes_high": "95th percentile of expected strokes over what was not measured",
    "short_by_m": "how far short of the spot it may be meant to land before expected strokes rise by 0.1",
    "long_by_m": "how far beyond the spot it may be meant to land before expected strokes rise by 0.1",
}


@dataclass(frozen=True, kw_only=True)
class ChipPlan:
    """The answer for one position, a row for each choice, and what the pictures need."""

    answer: Answer  # at a glance
    cautions: list[str]  # what the reader should know of this answer
    # One row for each choice, best first (fewest strokes, short of the green with `golfphys.planning.search.WARY`
    # more; of those level with the best the careful player's first): see `COLUMNS`.
    table: pd.DataFrame
    # ``club``, ``landing_m``, ``within_1m``, ``within_3ft``, ``strokes`` for every landing spot tried.
    curves: pd.DataFrame
    # For each choice worth a look the side-on path (x, z) in m of the shot as meant, on a median draw.
    trajectories: Mapping[str, tuple[Floats, Floats]] = field(repr=False)
    # For each choice where its shots come to rest (x, y), m; `SHOWN` of them if there are more.
    rest: Mapping[str, tuple[Floats, Floats]] = field(repr=False)
    world: World = field(repr=False)  # draws and position
    effort: Effort = field(repr=False)  # how much was tried
    played: tuple[Played, ...] = field(repr=False)  # the best spot of every choice, best first

    @property
    def pick(self) -> str:
        """The first choice, see `golfphys.planning.search.ranked`; "" where there is no shot."""
        return self.played[0].label if self.answer.choices else ""

    @property
    def shown(self) -> list[str]:
        """The choices worth a look, best first: `LOOKED_AT` of them at most."""
        return [item.label for item in self.played[:LOOKED_AT]]

    def said(self, unit: str = "m") -> tuple[list[str], list[str]]:
        """Return the sentences of the answer and the cautions, lengths in ``"m"`` or ``"ft"``."""
        picks = self.played[: len(self.answer.choices)]
        return self.answer.sentences(unit), cautions(picks, self.world, unit)

    @property
    def position(self) -> Position:
        """The question."""
        return self.world.position


def plan_chip(
    draws: Draws,
    *,
    to_edge: float | None = None,
    to_pin: float | None = None,
    lie: str = "fairway",
    position: Position | None = None,
    options: Sequence[Option] = EVERY_OPTION,
    conditions: Conditions | None = None,
    effort: Effort | None = None,
) -> ChipPlan:
    """Plan a chip: what to play, where to land it and what to expect.

    Every choice (club and option, and the putter where it can be taken) keeps its delivery and changes only its speed.
    Every landing spot from short of the green to beyond the pin is tried with her errors on every draw of what is not
    known; the spot with the fewest expected strokes is then played with more of them. She is taken to land the ball
    where she means to, on average: what a draw of her delivery changes is launch and spin, and so the run.

    Parameters
    ----------
    draws : Draws; green, player, lies and clubs with all that is not known of them, x along the line from ball to pin:
        a fit's ``draws(spot)``, or `golfphys.assumed` for a green that was not measured
    to_edge, to_pin, lie : float, float, str; distances in m from the ball to where the green begins and to the pin; one
        of the draws' lies
    position : Position, optional; in place of the three: with what lies before and behind the green
    options : sequence of Option; ways to deliver a club
    conditions, effort : Conditions, Effort, optional; air, putts and a surveyed green; how much is tried

    Examples
    --------
    >>> from golfphys import Green, assumed
    >>> small = Effort(draws=8, landings=9, errors=4, last=8)
    >>> plan = plan_chip(assumed(Green.from_stimp(10.0)), to_edge=3.0, to_pin=14.0, effort=small)
    >>> any(words.startswith("The player was not measured") for words in plan.cautions)
    True
    """
    if position is None:
        if to_edge is None or to_pin is None:
            raise ValueError("to_edge and to_pin are missing; expected distances in m from the ball, or a position")
        position = Position(to_edge=to_edge, to_pin=to_pin, lie=lie)
    effort = effort or Effort()
    return plan_in(make_world(draws, position, conditions, effort), effort, options)


def make_world(draws: Draws, position: Position, conditions: Conditions | None, effort: Effort) -> World:
    """Return the world of a plan: as many draws as the effort asks for, at a position."""
    if not isinstance(draws, Draws):
        raise ValueError(
            f"a plan is made on draws of all that is not known, not on {type(draws).__name__}; give a fit's "
            "draws(spot), golfphys.assumed(green) for a green you state, or golfphys.stated(green) to take all as known"
        )
    require_kinds(position=(position, Position), effort=(effort, Effort))
    require_kinds(conditions=(conditions, (Conditions, type(None))))
    return World(draws=draws.few(effort.draws), position=position, conditions=conditions or Conditions())


def plan_in(world: World, effort: Effort, options: Sequence[Option] = EVERY_OPTION) -> ChipPlan:
    """Plan a chip in a world; as `plan_chip`."""
    search = searched(choices_for(world.draws, world.position, options), world, effort)
    played = ranked(search, effort) if search else []
    rows = [summed_up(item) for item in played]
    found = answer(played, rows, world, level_words(world.draws))
    curves: dict[str, Any] = {"club": [] if search is None else np.repeat(search.labels, search.landing.shape[1])}
    for column, name in (("landing_m", "landing"), *((name, name) for name in ("within_1m", "within_3ft", "strokes"))):
        curves[column] = [] if search is None else getattr(search, name).ravel()
    return ChipPlan(
        answer=found,
        cautions=cautions(played[: len(found.choices)], world),
        table=pd.DataFrame(rows, columns=list(COLUMNS)),
        curves=pd.DataFrame(curves),
        trajectories=_side_on(played[:LOOKED_AT]),
        rest={item.label: _some(item) for item in played},
        world=world,
        effort=effort,
        played=tuple(played),
    )


def level_words(draws: Draws) -> str:
    """Return whose play the draws are."""
    if draws.logged.chips or draws.logged.past:
        return "the player of the log"
    return f"a {draws.logged.level}-level player" if draws.logged.level else f"the {draws.player.name} as stated"


def _some(played: Played) -> tuple[Floats, Floats]:
    """Return where some of the shots come to rest, as many as a picture can show, drawn by chance."""
    some = np.flatnonzero(~played.outcome.lost.ravel())
    if some.size > SHOWN:
        some = np.random.default_rng(0).choice(some, SHOWN, replace=False)
    return np.ravel(played.shots.rest_x)[some], np.ravel(played.shots.rest_y)[some]


def _side_on(picks: Sequence[Played]) -> dict[str, tuple[Floats, Floats]]:
    """Return the paths of the shots as meant, seen from the side, each on the draw that makes it as long as most do."""
    if not picks:
        return {}
    world, found = picks[0].world, {}
    meant = search_of(picks).swings.meant([[item.landing] for item in picks])
    meant = replace(meant, direction=np.asarray(meant.direction) + [[[item.aim]] for item in picks])
    rests = np.asarray(world.play(meant).rest_x)[:, :, 0, 0]
    for column, (item, ends) in enumerate(zip(picks, rests.T, strict=True)):
        number = int(np.argsort(ends)[np.isfinite(ends).sum() // 2])
        part = next(part for part in world.parts if number in part.rows)
        one = part.draws.one(int(np.searchsorted(part.rows, number))) if len(part.draws) > 1 else part.draws
        launch = Launch(*(float(np.asarray(getattr(meant, name))[number, column, 0, 0]) for name in LAUNCH))
        path = trace(launch, world.ground(one), air=world.conditions.air, aerodynamics=one.aerodynamics)
        found[item.label] = np.asarray(path.x), np.asarray(path.height)
    return found


# the sheet to carry

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
        raise ValueError(f"distances is {list(asked)} {unit}; expected {expected}")
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
        cautions=(*not_measured(draws.logged), *draws.logged.left_out, RULES_CAUTION),
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
