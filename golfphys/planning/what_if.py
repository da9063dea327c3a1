"""What it costs a player when conditions change, when she ignores some of them, and when she chips by a habit."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, field, fields, replace
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import plain, require_kinds
from golfphys.physics.club import StrikeErrors
from golfphys.physics.draws import Draws
from golfphys.physics.flight import Air
from golfphys.physics.green import Green
from golfphys.physics.usual import Grass
from golfphys.planning.answer import CLOSE_CALL
from golfphys.planning.plan import ChipPlan, make_world
from golfphys.planning.position import Position, choices_for, faster
from golfphys.planning.search import Search, play_best, search_landings, search_spots, searched
from golfphys.planning.world import Effort, World, normals, swings_for

Floats = NDArray[np.float64]
# Green speed in ft that is assumed without measuring: a median of readings (Woods 2017, read: 7 to 11 by grass).
TYPICAL_FEET = 9.0
CHOOSING, JUST_ON = "choose the shot each time", "always land it just on"
PACE_ON = 0.9  # where a ball always landed just on comes down: a pace beyond the edge of the green, m (practice)
HABIT_EFFORT = Effort(draws=32, landings=11, errors=4, last=16)


@dataclass(frozen=True, kw_only=True)
class Change:
    """One way in which conditions differ from what the plan assumed.

    Parameters
    ----------
    name, stimp_ft : str, float
        What to call it; feet of green speed more than measured.
    lie : str, optional
        The lie as it turns out.
    errors, wind : float
        The player's errors over those taken; wind in m/s along the line, positive from behind.

    Examples
    --------
    >>> Change(name="two feet faster", stimp_ft=2.0).errors
    1.0
    """

    name: str
    stimp_ft: float = 0.0
    lie: str | None = None
    errors: float = 1.0
    wind: float = 0.0

    def __post_init__(self) -> None:
        if not self.errors >= 0:
            raise ValueError(f"Change errors is {self.errors!r}; expected a number not below 0")

    def of(self, world: World) -> World:
        """Return the world as this change makes it."""
        draws, position, conditions = world.draws, world.position, world.conditions
        if self.stimp_ft:
            draws = replace(draws, green=faster(draws.green, self.stimp_ft))
        if self.errors != 1.0:
            player, more = draws.player, self.errors
            by_club = {club: _scaled(errors, more) for club, errors in player.by_club.items()}
            draws = replace(draws, player=replace(player, errors=_scaled(player.errors, more), by_club=by_club))
        if self.lie is not None:
            position = replace(position, lie=self.lie, before=position.ground_before)
        if self.wind:
            blowing = replace(conditions.air, wind_speed=abs(self.wind), wind_direction=0.0 if self.wind > 0 else np.pi)
            conditions = replace(conditions, air=blowing)
        return replace(world, draws=draws, position=position, conditions=conditions)


# What is asked of every plan unless the reader asks otherwise.
CHANGES = (
    Change(name="as measured"),
    Change(name="green a foot faster", stimp_ft=1.0),
    Change(name="green a foot slower", stimp_ft=-1.0),
    Change(name="lie wetter", lie="wet"),
    Change(name="wind against, 5 m/s", wind=-5.0),
    Change(name="strike poorer by half", errors=1.5),
)


def what_if(plan: ChipPlan, changes: Iterable[Change] = CHANGES) -> pd.DataFrame:
    """Play a plan in a world that differs from it, beside the best that knowing the difference allows.

    The player keeps the choice, the landing spot, the aim and the head speed of her plan; what they give follows the
    world as it is.

    Parameters
    ----------
    plan, changes : ChipPlan, iterable of Change
        The plan, and the ways in which the world differs.

    Returns
    -------
    DataFrame
        A row for each change and each of the plan's best choices: ``change``, ``club``, ``strokes`` (the plan's spot
        for this choice, played in that world), ``strokes_known`` (its best spot, had one known), ``best_club`` and
        ``best_strokes`` (the best choice, had one known), ``regret`` (`strokes` less `best_strokes`).

    Examples
    --------
    >>> from golfphys import assumed, plan_chip
    >>> small = Effort(draws=8, landings=9, errors=4, last=8)
    >>> plan = plan_chip(assumed(Green.from_stimp(10.0)), to_edge=3.0, to_pin=14.0, effort=small)
    >>> table = what_if(plan, [Change(name="faster", stimp_ft=1.0)])
    >>> bool((table["regret"] >= 0).all()), sorted(table["change"].unique())
    (True, ['faster'])
    """
    require_kinds(plan=(plan, ChipPlan))
    searches = [item.search for item in plan.played if item.label in plan.shown]
    return pd.concat([_rows(plan, searches, change) for change in changes], ignore_index=True)


def _rows(plan: ChipPlan, searches: Sequence[Search], change: Change) -> pd.DataFrame:
    """Return the rows of one change."""
    world = change.of(plan.world)
    kept = keep(searches, world, plan)
    known = keep(replanned(searches, world, plan), world, plan)
    table = pd.DataFrame(
        {"change": change.name, "club": [item.label for item in searches], "strokes": kept, "strokes_known": known}
    )
    # a plan kept may beat a search over coarse landing spots by a hair: what is known to be possible counts
    table["strokes_known"] = table[["strokes", "strokes_known"]].min(axis=1)
    best = table.iloc[int(table["strokes_known"].to_numpy().argmin())]
    table["best_club"], table["best_strokes"] = best["club"], best["strokes_known"]
    table["regret"] = table["strokes"] - table["best_strokes"]
    return table


def replanned(searches: Sequence[Search], world: World, plan: ChipPlan) -> list[Search]:
    """Search the same choices in another world."""
    return search_landings(swings_for([item.swing.choice for item in searches], world), world, plan.effort)


def keep(searches: Sequence[Search], world: World, plan: ChipPlan) -> Floats:
    """Return expected strokes of spots, aims and head speeds of one world, played in another."""
    moved = [replace(item, swing=replace(item.swing, world=world)) for item in searches]
    # with as few errors as a search takes, chance would part choices that the answer has level
    played = play_best(moved, world, normals(len(world), plan.effort.last, plan.effort.seed + 1))
    return np.array([item.mean for item in played])


def _all_green(world: World) -> dict[str, Grass]:
    """Return what lies around the green as if it were green."""
    green, around = world.draws.green, world.draws.around
    return {name: replace(one, turf=green.turf, resistance=green.resistance) for name, one in around.items()}


def _typical(green: Green) -> Green:
    typical = Green.from_stimp(TYPICAL_FEET).resistance
    level = typical.constant + 0.0 * np.asarray(green.resistance.constant)
    return replace(green, resistance=replace(typical, constant=plain(level)))


def _standing(world: World, **changed: Any) -> World:
    """Return a world with another position on the same ground."""
    return replace(world, position=replace(world.position, before=world.position.ground_before, **changed))


def _drawn(world: World, **changed: Any) -> World:
    return replace(world, draws=replace(world.draws, **changed))


# What can be ignored, and the world that is planned in by who ignores it.
IGNORED: Mapping[str, Callable[[World], World]] = MappingProxyType(
    {
        "the lie": lambda world: _standing(world, lie="fairway"),
        "the slope under the ball": lambda world: _standing(world, lie_uphill=0.0, lie_falls_left=0.0),
        "the fringe": lambda world: _drawn(world, around=_all_green(world)),
        "the slope": lambda world: _drawn(world, green=replace(world.draws.green, grade=0.0)),
        "the wind": lambda world: replace(world, conditions=replace(world.conditions, air=Air())),
        "the green speed": lambda world: _drawn(world, green=_typical(world.draws.green)),
    }
)


def costs(plan: ChipPlan) -> pd.DataFrame:
    """Return what ignoring each part of the world costs at a position: the coach's lesson in one table.

    Who ignores a part chooses, aims and swings as if it were not there (as from a fairway, from level ground, in still
    air, on a level green, on greens of `TYPICAL_FEET`, with green all around), and plays that in the world as it is.

    Parameters
    ----------
    plan : ChipPlan
        The plan that ignores nothing.

    Returns
    -------
    DataFrame
        A row for each thing, dearest first: ``ignored``, ``club`` (what is then played), ``landing_m`` (meant),
        ``cost`` (strokes over the plan).

    Examples
    --------
    >>> from golfphys import assumed, plan_chip
    >>> small = Effort(draws=8, landings=9, errors=4, last=8)
    >>> steep = Green.from_stimp(11.0, grade=0.03, fall_direction=np.pi)
    >>> plan = plan_chip(assumed(steep), to_edge=3.0, to_pin=14.0, effort=small)
    >>> costs(plan)["ignored"].iloc[0] in IGNORED
    True
    """
    require_kinds(plan=(plan, ChipPlan))
    own = [item.search for item in plan.played]
    best = float(keep([_fewest(own)], plan.world, plan)[0])
    rows, position = [], plan.position
    for name, without in IGNORED.items():
        if name == "the slope under the ball" and not (position.lie_uphill or position.lie_falls_left):
            continue
        found = replanned(own, without(plan.world), plan)
        chosen = _fewest(found)
        played = float(keep([chosen], plan.world, plan)[0])
        cost = max(played - best, 0.0)
        rows.append({"ignored": name, "club": chosen.label, "landing_m": chosen.spot, "cost": cost})
    return pd.DataFrame(rows).sort_values("cost", ascending=False, kind="stable").reset_index(drop=True)


def _fewest(searches: Sequence[Search]) -> Search:
    return min(searches, key=lambda item: item.cost)


def _scaled(errors: StrikeErrors, factor: float) -> StrikeErrors:
    names = [item.name for item in fields(errors) if "growth" not in item.name]
    return replace(errors, **{name: factor * np.asarray(getattr(errors, name)) for name in names})


@dataclass(frozen=True, kw_only=True)
class PositionSpread:
    """The chips that a player meets, as ranges from which positions are drawn evenly.

    Parameters
    ----------
    to_edge, green_to_work_with : tuple of float
        Least and greatest distance from the ball to the edge of the green, and from there to the pin, m.
    lies, any_heading : mapping of str to float, bool
        Fraction of each lie, by name; whether she comes at the green from every side, so that its slope is met uphill,
        downhill and across.

    Examples
    --------
    >>> [round(one.to_pin, 1) for one, _ in PositionSpread().draw(2, seed=1)]
    [11.1, 28.7]
    """

    to_edge: tuple[float, float] = (1.0, 10.0)
    green_to_work_with: tuple[float, float] = (3.0, 20.0)
    lies: Mapping[str, float] = field(default_factory=lambda: {"fairway": 0.6, "light rough": 0.4})
    any_heading: bool = True

    def __post_init__(self) -> None:
        for name, least in (("to_edge", 0.0), ("green_to_work_with", 0.5)):
            low, high = getattr(self, name)
            if not least <= low <= high < 100.0:
                raise ValueError(f"PositionSpread {name} is {(low, high)}; expected {least:g} m <= low <= high")
        if not self.lies or abs(sum(self.lies.values()) - 1.0) > 1e-6 or min(self.lies.values()) < 0:
            raise ValueError(f"PositionSpread lies is {dict(self.lies)}; expected fractions that add up to 1")

    def draw(self, n: int, seed: int | np.random.Generator) -> list[tuple[Position, float]]:
        """Draw `n` positions, each with the heading in rad from which the green is seen."""
        random = np.random.default_rng(seed)
        edge = random.uniform(*self.to_edge, n)
        beyond = random.uniform(*self.green_to_work_with, n)
        lies = random.choice(list(self.lies), size=n, p=list(self.lies.values()))
        heading = random.uniform(0.0, 2 * np.pi, n) * self.any_heading
        return [
            (Position(to_edge=float(near), to_pin=float(near + far), lie=str(lie)), float(turn))
            for near, far, lie, turn in zip(edge, beyond, lies, heading, strict=True)
        ]


@dataclass(frozen=True, kw_only=True)
class HabitPrices:
    """What each habit costs this player, in expected strokes a chip."""

    # A row for each habit, cheapest first: ``habit``, ``strokes`` (expected, to hole out), ``cost`` (over choosing each
    # time), ``cost_low`` and ``cost_high`` (90 % of what is not known and of which positions happened to be drawn),
    # ``sure`` (fraction of the draws in which choosing is better).
    table: pd.DataFrame
    # What the table sums up; habits as in `habits`, shape (positions, habits, draws).
    strokes: Floats = field(repr=False)
    habits: list[str]  # the habits
    # The positions: ``to_edge_m``, ``to_pin_m``, ``lie``, ``heading_deg``, and what was ``chosen`` at each.
    positions: pd.DataFrame = field(repr=False)
    verdict: str  # the answer in words


def price_habits(
    draws: Draws,
    *,
    spread: PositionSpread | None = None,
    positions: int = 40,
    effort: Effort = HABIT_EFFORT,
) -> HabitPrices:
    """Price simple habits against choosing the shot anew at each position.

    For each position the best landing spot of every choice is found; then all of them, and the spot just on the green,
    are played with fresh errors on every draw. A one-club player lands her club, as usual delivered, at its best spot;
    who always lands it just on takes the club that stops nearest from there.

    Parameters
    ----------
    draws, effort
        As for `golfphys.plan_chip`; headings are those of the line of play at heading 0.
    spread, positions : PositionSpread, optional, int
        The chips that she meets (a stated everyday mix if left out), and how many are drawn from it.

    Examples
    --------
    >>> from golfphys import Green, assumed
    >>> small = Effort(draws=4, landings=9, errors=4, last=8)
    >>> prices = price_habits(assumed(Green.from_stimp(10.0)), positions=2, effort=small)
    >>> len(prices.table)
    8
    """
    require_kinds(draws=(draws, Draws))
    if positions < 2 or len(draws.bag) < 2:
        raise ValueError(f"positions is {positions}, bag has {len(draws.bag)} clubs; expected at least 2 of each")
    drawn = (spread or PositionSpread()).draw(positions, effort.seed)
    found = [_position(draws.turned(turn), position, effort) for position, turn in drawn]
    habits = [CHOOSING, *(f"{name} for everything" for name in draws.bag), JUST_ON]
    strokes = np.stack([one for one, _ in found])
    table = _table(strokes, habits)
    pairs = zip(drawn, found, strict=True)
    rows = [(one.to_edge, one.to_pin, one.lie, np.degrees(turn), chosen) for (one, turn), (_, chosen) in pairs]
    places = pd.DataFrame(rows, columns=["to_edge_m", "to_pin_m", "lie", "heading_deg", "chosen"])
    return HabitPrices(table=table, strokes=strokes, habits=habits, positions=places, verdict=_verdict(table))


def _position(draws: Draws, position: Position, effort: Effort) -> tuple[Floats, str]:
    """Return the strokes of every habit on every draw at one position, shape (habits, draws), and the choice made."""
    world = make_world(draws, position, None, effort)
    searches = searched(choices_for(world.draws, position), world, effort)
    usual = [item for item in searches if item.label in draws.bag]
    spot = min(position.to_edge + PACE_ON, position.to_pin)
    swings = swings_for([item.swing.choice for item in usual], world)
    on = search_spots(swings, world, effort, [np.array([np.clip(spot, *swing.reach)]) for swing in swings])
    best = min(searches, key=lambda item: float(item.strokes[item.best]))
    just = min(on, key=lambda item: float(item.strokes[0]))
    played = play_best([best, *usual, just], world, normals(len(world), effort.last, effort.seed + 2))
    return np.stack([item.by_draw for item in played]), best.label


def _table(strokes: Floats, habits: Sequence[str]) -> pd.DataFrame:
    """Sum up strokes of shape (positions, habits, draws)."""
    over = strokes - strokes[:, :1]
    by_position, draws = over.mean(axis=2), over.mean(axis=0)
    chance = by_position.std(axis=0, ddof=1) / np.sqrt(len(strokes))
    cost = by_position.mean(axis=0)
    # two independent uncertainties, added as squares: which positions were drawn, and what is not known
    half = constants.NORMAL_90 * np.hypot(chance, draws.std(axis=1))
    sure = (draws > 0).mean(axis=1) if draws.shape[1] > 1 else np.full(len(habits), np.nan)
    columns = {"habit": habits, "strokes": strokes.mean(axis=(0, 2)), "cost": cost}
    table = pd.DataFrame(columns | {"cost_low": cost - half, "cost_high": cost + half, "sure": sure})
    table.loc[0, "sure"] = np.nan
    return table.sort_values("cost", kind="stable").reset_index(drop=True)


def _verdict(table: pd.DataFrame) -> str:
    """Say whether changing clubs pays for this player."""
    one = table[table["habit"].str.endswith("for everything")].iloc[0]
    club = str(one["habit"]).removesuffix(" for everything")
    cost, low, high = (float(one[name]) for name in ("cost", "cost_low", "cost_high"))
    said = f"{cost:.2f} strokes a chip (90 % interval {low:.2f} to {high:.2f})"
    if cost <= 0:
        said = f"nothing that this count can tell ({low:.2f} to {high:.2f} strokes a chip)"
    surely = f"; it does in {100 * one['sure']:.0f} % of the draws" if np.isfinite(one["sure"]) else ""
    if low > CLOSE_CALL:
        answer = f"Changing clubs pays for this player: keeping the {club} for everything costs {said}{surely}."
    elif high < CLOSE_CALL:
        answer = f"Changing clubs hardly pays for this player: the {club} for everything costs {said}."
    else:
        answer = (
            f"Whether changing clubs pays for this player is not settled: the {club} for everything costs {said}, "
            f"where {CLOSE_CALL:g} is reckoned a difference."
        )
    just = table[table["habit"] == JUST_ON].iloc[0]
    low, high = float(just["cost_low"]), float(just["cost_high"])
    verb = "costs little" if float(just["cost"]) < CLOSE_CALL else "costs"
    return f"{answer} Always landing it just on {verb}: {just['cost']:.2f} ({low:.2f} to {high:.2f})."
