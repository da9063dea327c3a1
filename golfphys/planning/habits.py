"""What a simple habit costs against choosing anew each time: the argument about changing clubs, for one player."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import require_kinds
from golfphys.physics.draws import Draws
from golfphys.planning.answer import CLOSE_CALL
from golfphys.planning.plan import make_world
from golfphys.planning.position import Position, choices_for
from golfphys.planning.search import play_best, search_spots, searched
from golfphys.planning.swings import swings_for
from golfphys.planning.world import Effort, normals

Floats = NDArray[np.float64]
CHOOSING = "choose the shot each time"
JUST_ON = "always land it just on"
# Where a ball that is always landed just on comes down: a pace beyond the edge of the green, m (practice).
PACE_ON = 0.9
HABIT_EFFORT = Effort(draws=32, landings=11, errors=4, last=16)


@dataclass(frozen=True, kw_only=True)
class PositionSpread:
    """The chips that a player meets, as ranges from which positions are drawn evenly.

    Parameters
    ----------
    to_edge : tuple of float
        Least and greatest distance from the ball to the edge of the green, m.
    green_to_work_with : tuple of float
        Least and greatest distance from the edge to the pin, m.
    lies : mapping of str to float
        Fraction of each lie, by name.
    any_heading : bool
        Whether she comes at the green from every side, so that its slope is met uphill, downhill and across.

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
        """Check the ranges and fractions."""
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

    Returns
    -------
    HabitPrices
        Table, verdict, and what is behind them.

    Examples
    --------
    >>> from golfphys.physics.draws import assumed
    >>> from golfphys.physics.green import Green
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
