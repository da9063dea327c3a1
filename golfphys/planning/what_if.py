"""What it costs a player when conditions change, when she ignores some of them, and when she chips by a habit."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.broadcasting import numbers, plain, require_kinds, require_not_negative
from golfphys.physics.club import StrikeErrors
from golfphys.physics.draws import Draws
from golfphys.physics.flight import Air
from golfphys.physics.green import Green
from golfphys.planning.plan import ChipPlan, make_world
from golfphys.planning.position import GRASSY, Floats, Position, choices_for, faster
from golfphys.planning.search import (
    CLOSE_CALL,
    LOOKED_AT,
    Search,
    play_all,
    play_best,
    search_landings,
    search_of,
    searched,
)
from golfphys.planning.world import Effort, World, normals, swings_for

# Green speed in ft that is assumed without measuring: a median of readings (Woods 2017, read: 7 to 11 by grass).
TYPICAL_FEET = 9.0
CHOOSING, JUST_ON = "choose the shot each time", "always land it just on"
PACE_ON = 0.9  # where a ball always landed just on comes down: a pace beyond the edge of the green, m (practice)
HABIT_EFFORT = Effort(draws=32, landings=11, errors=4, last=16)
# The chips that a player meets (judged, no source): distance to the edge and from there to the pin, m; shares of lies.
TO_EDGE, TO_WORK_WITH, LIES = (1.0, 10.0), (3.0, 20.0), {"fairway": 0.6, "light rough": 0.4}


@dataclass(frozen=True, kw_only=True)
class Change:
    """One way in which conditions differ from what the plan assumed.

    Parameters
    ----------
    name, stimp_ft : str, float; what to call it, and feet of green speed more than measured
    lie : str, optional; the lie as it turns out
    errors, wind : float; the player's errors over those taken, and wind in m/s along the line, positive from behind

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
        for name in ("stimp_ft", "wind"):
            if not np.isfinite(numbers(f"Change {name}", getattr(self, name))):
                raise ValueError(f"Change {name} is {getattr(self, name)!r}; expected a number")
        require_not_negative("Change errors", self.errors)

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
            position = replace(position, before=position.ground_before, lie=self.lie)
        if self.wind:
            air = conditions.air  # the more comes on top of a wind that there is
            both = air.wind_speed * np.exp(1j * air.wind_direction) + self.wind
            blowing = replace(air, wind_speed=float(abs(both)), wind_direction=float(np.angle(both)))
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
    plan, changes : ChipPlan, iterable of Change; the plan, and the ways in which the world differs; unless they are
        given a mown lie, too, is tried as a wet one

    Returns
    -------
    DataFrame: a row for each change and each of the plan's best choices: ``change``, ``club``, ``strokes`` (the plan's
        spot for this choice, played in that world), ``strokes_known`` (its best spot, had one known), ``best_club`` and
        ``best_strokes`` (the best choice, had one known), ``regret`` (`strokes` less `best_strokes`)

    Examples
    --------
    >>> from golfphys import assumed, plan_chip
    >>> small = Effort(draws=8, landings=9, errors=4, last=8)
    >>> plan = plan_chip(assumed(Green.from_stimp(10.0)), to_edge=3.0, to_pin=14.0, effort=small)
    >>> table = what_if(plan, [Change(name="faster", stimp_ft=1.0)])
    >>> bool((table["regret"] >= 0).all()), sorted(table["change"].unique())
    (True, ['faster'])
    """
    require_kinds(plan=(plan, ChipPlan), changes=(changes, Iterable))
    search, tables = search_of(plan.played[:LOOKED_AT]), []
    if changes is CHANGES and plan.position.lie in ("wet", *GRASSY):
        changes = [change for change in CHANGES if change.lie is None]
    if not (changes := list(changes)):
        raise ValueError("changes is empty; expected at least one Change")
    for change in changes:
        require_kinds(change=(change, Change))
        world = change.of(plan.world)
        strokes = strokes_in(world, search, plan.effort)
        # the old plan may beat a search over coarse landing spots by a hair: what is known to be possible counts
        known = np.minimum(strokes, strokes_in(world, search_in(world, search, plan.effort), plan.effort))
        best = int(known.argmin())
        columns = {"change": change.name, "club": search.labels, "strokes": strokes, "strokes_known": known}
        columns |= {"best_club": search.labels[best], "best_strokes": known[best], "regret": strokes - known[best]}
        tables.append(pd.DataFrame(columns))
    return pd.concat(tables, ignore_index=True)


def search_in(world: World, search: Search, effort: Effort) -> Search:
    """Search the choices of one world in another."""
    return search_landings(swings_for(search.swings.choices, world), effort)


def strokes_in(world: World, search: Search, effort: Effort) -> Floats:
    """Return expected strokes of landings, aims and head speeds of one world, played in another, of each choice."""
    moved = replace(search, swings=replace(search.swings, world=world))
    # with as few errors as a search takes, chance would part choices that the answer has level
    played = play_best(moved, normals(len(world), effort.last, effort.seed + 1))
    return np.array([item.mean for item in played])


def without_each(world: World) -> dict[str, World]:
    """Return the worlds that are planned in by who ignores a part of this one, by what is ignored."""
    draws, position, green = world.draws, world.position, world.draws.green
    typical = Green.from_stimp(TYPICAL_FEET).resistance
    typical = replace(typical, constant=plain(typical.constant + 0.0 * np.asarray(green.resistance.constant)))
    as_green = {
        name: replace(grass, turf=green.turf, resistance=green.resistance) for name, grass in draws.around.items()
    }

    def standing(**changed: Any) -> World:
        return replace(world, position=replace(position, before=position.ground_before, **changed))

    def drawn(**changed: Any) -> World:
        return replace(world, draws=replace(draws, **changed))

    level = replace(drawn(green=replace(green, grade=0.0)), conditions=replace(world.conditions, surface=None))
    found = {
        "the lie": standing(lie="fairway"),
        "the slope under the ball": standing(lie_uphill=0.0, lie_falls_left=0.0),
        "the fringe": drawn(around=as_green),
        "the slope": level,
        "the wind": replace(world, conditions=replace(world.conditions, air=Air())),
        "the green speed": drawn(green=replace(green, resistance=typical)),
    }
    if not (position.lie_uphill or position.lie_falls_left):
        del found["the slope under the ball"]
    return found


def costs(plan: ChipPlan) -> pd.DataFrame:
    """Return what ignoring each part of the world costs at a position: the coach's lesson in one table.

    Who ignores a part chooses, aims and swings as if it were not there (as from a fairway, from level ground, in still
    air, on a level green, on greens of `TYPICAL_FEET`, with green all around), and plays that in the world as it is.

    Parameters
    ----------
    plan : ChipPlan; the plan that ignores nothing

    Returns
    -------
    DataFrame: a row for each thing, dearest first: ``ignored``, ``club`` (what is then played), ``landing_m`` (meant),
        ``cost`` (strokes over the plan)

    Examples
    --------
    >>> from golfphys import assumed, plan_chip
    >>> small = Effort(draws=8, landings=9, errors=4, last=8)
    >>> steep = Green.from_stimp(11.0, grade=0.03, fall_direction=np.pi)
    >>> plan = plan_chip(assumed(steep), to_edge=3.0, to_pin=14.0, effort=small)
    >>> sorted(costs(plan)["ignored"])
    ['the fringe', 'the green speed', 'the lie', 'the slope', 'the wind']
    """
    require_kinds(plan=(plan, ChipPlan))
    own, rows = search_of(plan.played), []
    others = {name: search_in(world, own, plan.effort) for name, world in without_each(plan.world).items()}
    for name, search in {"nothing": own, **others}.items():
        chosen = search.at([int(np.argmin(search.cost))])
        (landing,), (strokes,) = chosen.at_best(chosen.landing), strokes_in(plan.world, chosen, plan.effort)
        rows.append({"ignored": name, "club": chosen.labels[0], "landing_m": landing, "cost": strokes})
    found = pd.DataFrame(rows)
    found["cost"] = (found["cost"] - found["cost"].iloc[0]).clip(lower=0.0)
    return found.iloc[1:].sort_values("cost", ascending=False, kind="stable").reset_index(drop=True)


def _scaled(errors: StrikeErrors, factor: float) -> StrikeErrors:
    names = [item.name for item in fields(errors) if "growth" not in item.name]
    return replace(errors, **{name: factor * np.asarray(getattr(errors, name)) for name in names})


@dataclass(frozen=True, kw_only=True)
class HabitPrices:
    """What each habit costs this player, in expected strokes a chip."""

    # A row for each habit, cheapest first: ``habit``, ``strokes`` (expected, to hole out), ``cost`` (over choosing each
    # time), ``cost_low`` and ``cost_high`` (90 % of what is not known and of which chips happened to be drawn),
    # ``sure`` (fraction of the draws in which choosing is better), ``decimals`` that this interval bears.
    table: pd.DataFrame

    @property
    def verdict(self) -> str:
        """Say whether changing clubs pays for this player."""
        table = self.table
        one = table[table["habit"].str.endswith("for everything")].iloc[0]
        club, low, high = str(one["habit"]).removesuffix(" for everything"), one["cost_low"], one["cost_high"]
        cost, from_, to = costs_in_words(one)
        said = f"{cost} strokes a chip (90 % interval {from_} to {to})"
        if one["cost"] <= 0:
            said = f"nothing that this count can tell ({from_} to {to} strokes a chip)"
        surely = f"; it does in {100 * one['sure']:.0f} % of the cases left open" if np.isfinite(one["sure"]) else ""
        if low > CLOSE_CALL:
            answer = f"Changing clubs pays for this player: keeping the {club} for everything costs {said}{surely}."
        elif high < CLOSE_CALL:
            answer = f"Changing clubs hardly pays for this player: the {club} for everything costs {said}."
        else:
            answer = (
                f"Whether changing clubs pays for this player is not settled: the {club} for everything costs {said}, "
                f"where less than {CLOSE_CALL:g} is no difference."
            )
        just = table[table["habit"] == JUST_ON].iloc[0]
        verb, (cost, from_, to) = "costs little:" if just["cost"] < CLOSE_CALL else "costs", costs_in_words(just)
        return f"{answer} Always landing it just on the green {verb} {cost} ({from_} to {to})."


def everyday_chips(n: int, seed: int | np.random.Generator) -> list[tuple[Position, float]]:
    """Draw chips as a player meets them: positions, and the headings in rad from which the green is seen."""
    random = np.random.default_rng(seed)
    edge, beyond = random.uniform(*TO_EDGE, n), random.uniform(*TO_WORK_WITH, n)
    lies = random.choice(list(LIES), size=n, p=list(LIES.values()))
    drawn = zip(edge.tolist(), beyond.tolist(), lies, random.uniform(0.0, 2 * np.pi, n).tolist(), strict=True)
    return [(Position(to_edge=near, to_pin=near + far, lie=str(lie)), turn) for near, far, lie, turn in drawn]


def price_habits(
    draws: Draws,
    *,
    chips: Sequence[tuple[Position, float]] | None = None,
    positions: int = 40,
    effort: Effort = HABIT_EFFORT,
) -> HabitPrices:
    """Price simple habits against choosing the shot anew at each position.

    For each position the best landing spot of every choice is found; then all of them, and the spot just on the green,
    are played with fresh errors on every draw. A one-club player lands her club, as usual delivered, at its best spot;
    who always lands it just on takes the club that stops nearest from there.

    Parameters
    ----------
    draws, effort : as for `golfphys.plan_chip`; headings are those of the line of play at heading 0
    chips, positions : sequence of (Position, float), optional, int; the chips that she meets, each with the heading in
        rad from which the green is seen; if left out so many are drawn from an everyday mix, from every side of the
        green

    Examples
    --------
    >>> from golfphys import Green, assumed
    >>> small = Effort(draws=4, landings=9, errors=4, last=8)
    >>> prices = price_habits(assumed(Green.from_stimp(10.0)), positions=2, effort=small)
    >>> len(prices.table)
    8
    """
    require_kinds(draws=(draws, Draws))
    met = everyday_chips(positions, effort.seed) if chips is None else chips
    if len(met) < 2 or len(draws.bag) < 2:
        raise ValueError(f"there are {len(met)} positions, bag has {len(draws.bag)} clubs; expected 2 of each or more")
    strokes = np.stack([_at_position(draws.turned(turn), position, effort) for position, turn in met])
    return HabitPrices(table=_table(strokes, [CHOOSING, *(f"{name} for everything" for name in draws.bag), JUST_ON]))


def _at_position(draws: Draws, position: Position, effort: Effort) -> Floats:
    """Return the strokes of every habit on every draw at one position, shape (habits, draws)."""
    world = make_world(draws, position, None, effort)
    search = searched(choices_for(world.draws, position), world, effort)
    assert search is not None
    usual = [number for number, label in enumerate(search.labels) if label in draws.bag]
    swings, spot = search.swings.at(usual), min(position.to_edge + PACE_ON, position.to_pin)
    on = search_landings(swings, effort, np.clip(spot, *swings.reach.T)[:, None])
    just, best = int(np.argmin(on.strokes[:, 0])), int(np.argmin(search.at_best(search.strokes)))
    played = [best, *usual]
    spots, starts = (
        np.append(search.at_best(getattr(search, name))[played], getattr(on, name)[just])[:, None]
        for name in ("landing", "direction")
    )
    swings = search.swings.at([*played, usual[just]])
    z = normals(len(world), effort.last, effort.seed + 2)
    outcome, _ = play_all(swings, swings.speed_for(spots), starts, z)
    return np.asarray(outcome.strokes[:, :, 0].mean(axis=-1).T)


def _table(strokes: Floats, habits: Sequence[str]) -> pd.DataFrame:
    """Sum up strokes of shape (positions, habits, draws)."""
    over = strokes - strokes[:, :1]
    by_position, draws = over.mean(axis=2), over.mean(axis=0)
    chance = by_position.std(axis=0, ddof=1) / np.sqrt(len(strokes))
    cost = by_position.mean(axis=0)
    # two independent uncertainties, added as squares: which positions were drawn, and what is not known
    half = constants.NORMAL_90 * np.hypot(chance, draws.std(axis=1))
    sure = (draws > 0).mean(axis=1) if draws.shape[1] > 1 else np.full(len(habits), np.nan)
    # to the first figure of the half interval; choosing costs nothing, exactly
    decimals = np.clip(-np.floor(np.log10(np.where(half > 0, half, 0.01))), 1, 3).astype(int)
    columns = {"habit": habits, "strokes": strokes.mean(axis=(0, 2)), "cost": cost, "cost_low": cost - half}
    table = pd.DataFrame(columns | {"cost_high": cost + half, "sure": sure, "decimals": decimals})
    table.loc[0, "sure"] = np.nan
    return table.sort_values("cost", kind="stable").reset_index(drop=True)


def costs_in_words(row: Any) -> tuple[str, str, str]:
    """Return the cost of a habit and the ends of its interval, with the decimals that the interval bears."""
    digits = int(row["decimals"])
    # no zero with a minus
    cost, low, high = (f"{round(row[name], digits) + 0.0:.{digits}f}" for name in ("cost", "cost_low", "cost_high"))
    return cost, low, high
