"""What a simple habit costs against choosing anew each time: the argument about changing clubs, for one player."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.physics.club import BAG, LIES, Club, Player
from golfphys.planning.chips import joined
from golfphys.planning.draws import AnyGreen, CourseDraws
from golfphys.planning.fitted import seen_along
from golfphys.planning.plan import CLOSE_CALL, bag_tables, make_setting
from golfphys.planning.position import Position
from golfphys.planning.search import (
    GREENS,
    Search,
    Setting,
    launch_on_draws,
    normals,
    search_landings,
    search_spots,
)

Floats = NDArray[np.float64]

CHOOSING = "choose the club each time"
JUST_ON = "always land it just on"
PACE_ON = 0.9
"""Where a ball that is always landed just on comes down: a pace beyond the edge of the green, m (practice)."""


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
        Share of each lie, by name.
    any_heading : bool
        Whether she comes at the green from every side, so that its slope is met uphill, downhill and across.

    Raises
    ------
    ValueError
        If a range is not one, or the shares do not make a whole.

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
        """Check the ranges and shares."""
        for name, least in (("to_edge", 0.0), ("green_to_work_with", 0.5)):
            low, high = getattr(self, name)
            if not least <= low <= high < 100.0:
                raise ValueError(f"PositionSpread {name} is {(low, high)}; expected {least:g} m <= low <= high")
        if not self.lies or abs(sum(self.lies.values()) - 1.0) > 1e-6 or min(self.lies.values()) < 0:
            raise ValueError(f"PositionSpread lies is {dict(self.lies)}; expected shares that add up to 1")

    def draw(self, n: int, seed: int | np.random.Generator) -> list[tuple[Position, float]]:
        """Draw positions.

        Parameters
        ----------
        n : int
            How many.
        seed : int or numpy.random.Generator
            The same seed gives the same positions.

        Returns
        -------
        list of (Position, float)
            Each with the heading in rad from which the green is seen.
        """
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
    """What each habit costs this player, in expected strokes a chip.

    Parameters
    ----------
    table : DataFrame
        A row for each habit, cheapest first: ``habit``, ``strokes`` (expected, to hole out), ``cost`` (over choosing
        each time), ``cost_low`` and ``cost_high`` (90 % of what the measurements leave open and of which positions
        happened to be drawn), ``sure`` (share of the draws of what is left open in which choosing is better).
    strokes : ndarray, shape (positions, habits, draws)
        What the table sums up; habits as in `habits`.
    habits : list of str
        The habits.
    positions : DataFrame
        The positions: ``to_edge_m``, ``to_pin_m``, ``lie``, ``heading_deg``, and the club ``chosen`` at each.
    verdict : str
        The answer in words.

    Examples
    --------
    >>> from golfphys.physics.green import Green
    >>> bag = {name: BAG[name] for name in ("8-iron", "lob wedge")}
    >>> price_habits(Green.from_stimp(10.0), bag=bag, positions=2, landings=9, shots=16).strokes.shape
    (2, 4, 1)
    """

    table: pd.DataFrame
    strokes: Floats = field(repr=False)
    habits: list[str]
    positions: pd.DataFrame = field(repr=False)
    verdict: str


def price_habits(
    green: AnyGreen,
    *,
    player: Player | None = None,
    bag: Mapping[str, Club] = BAG,
    spread: PositionSpread | None = None,
    positions: int = 40,
    landings: int = 25,
    shots: int = 256,
    seed: int = 0,
    **physics: Any,
) -> HabitPrices:
    """Price simple habits against choosing club and landing spot anew at each position.

    For each position every club's best landing spot is found; then all of them, and the spot just on the green, are
    played with fresh errors on every draw of what the measurements leave open. A one-club player lands her club at its
    best spot; who always lands it just on takes the club that stops nearest from there.

    Parameters
    ----------
    green : Green, GroundBatch or CourseDraws
        As for `plan_chip`; headings are those of the line of play at heading 0.
    player : Player, optional
        As for `plan_chip`.
    bag : mapping of str to Club
        The clubs she carries.
    spread : PositionSpread, optional
        The chips that she meets; a stated everyday mix if left out.
    positions : int
        How many are drawn from it.
    landings, shots : int
        As for `plan_chip`.
    seed : int
        The same seed gives the same prices.
    **physics
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    HabitPrices
        Table, verdict, and what is behind them.

    Raises
    ------
    ValueError
        If there are fewer than two positions or clubs.

    Examples
    --------
    >>> from golfphys.physics.green import Green
    >>> bag = {name: BAG[name] for name in ("8-iron", "sand wedge")}
    >>> prices = price_habits(Green.from_stimp(10.0), bag=bag, positions=3, landings=11, shots=32)
    >>> bool(prices.table["cost"].iloc[0] == 0.0), len(prices.table)
    (True, 4)
    """
    if positions < 2 or len(bag) < 2:
        raise ValueError(f"positions is {positions}, bag has {len(bag)} clubs; expected at least 2 of each")
    drawn = (spread or PositionSpread()).draw(positions, seed)
    trial, fresh = normals(shots, seed + 1), normals(shots, seed + 2)
    rows, chosen = [], []
    for position, heading in drawn:
        seen = seen_along(green, heading)
        lies = seen.lies if isinstance(seen, CourseDraws) else LIES
        setting = make_setting(
            seen, position, lie=lies.get(position.lie, LIES["fairway"]), player=player, physics=physics, normal=trial
        )
        strokes, club = _position(setting, bag, landings, fresh)
        rows.append(strokes)
        chosen.append(club)
    habits = [CHOOSING, *(f"{name} for everything" for name in bag), JUST_ON]
    strokes = np.stack(rows)
    table = _table(strokes, habits)
    places = pd.DataFrame(
        {
            "to_edge_m": [one.to_edge for one, _ in drawn],
            "to_pin_m": [one.to_pin for one, _ in drawn],
            "lie": [one.lie for one, _ in drawn],
            "heading_deg": [np.degrees(turn) for _, turn in drawn],
            "chosen": chosen,
        }
    )
    return HabitPrices(table=table, strokes=strokes, habits=habits, positions=places, verdict=_verdict(table))


def _position(setting: Setting, bag: Mapping[str, Club], landings: int, fresh: Floats) -> tuple[Floats, str]:
    """Return the strokes of every habit on every draw at one position, shape (habits, draws), and the club chosen."""
    tables = bag_tables(bag, setting)
    searches = search_landings(tables, setting, landings)
    spot = min(setting.position.to_edge + PACE_ON, setting.position.to_pin)
    on = search_spots(tables, setting, [np.array([np.clip(spot, *table.reach)]) for table in tables])
    best = int(np.argmin([search.strokes[search.best] for search in searches]))
    just = int(np.argmin([search.strokes[0] for search in on]))
    strokes = _by_draw([*searches, on[just]], replace(setting, normal=fresh))
    return np.concatenate([strokes[best : best + 1], strokes]), searches[best].club


def _by_draw(searches: Sequence[Search], setting: Setting) -> Floats:
    """Return expected strokes of each search's best spot on every draw, shape (searches, draws)."""
    draws = 1 if setting.draws is None else GREENS
    errors = setting.normal.shape[-1]
    each = np.repeat(np.arange(draws), errors)
    normal = np.tile(setting.normal, draws)
    launches = [
        launch_on_draws(search, float(search.landing[search.best]), setting, normal, each) for search in searches
    ]
    outcome = setting.play(joined(launches), np.tile(each, len(searches)))
    return np.asarray(outcome.strokes.reshape(len(searches), draws, errors).mean(axis=2))


def _table(strokes: Floats, habits: list[str]) -> pd.DataFrame:
    """Sum up strokes of shape (positions, habits, draws)."""
    over = strokes - strokes[:, :1]
    by_position, draws = over.mean(axis=2), over.mean(axis=0)
    chance = by_position.std(axis=0, ddof=1) / np.sqrt(len(strokes))
    cost = by_position.mean(axis=0)
    # two independent doubts, added as squares: which positions were drawn, and what the measurements leave open
    half = constants.NORMAL_90 * np.hypot(chance, draws.std(axis=1))
    sure = (draws > 0).mean(axis=1) if draws.shape[1] > 1 else np.full(len(habits), np.nan)
    table = pd.DataFrame(
        {
            "habit": habits,
            "strokes": strokes.mean(axis=(0, 2)),
            "cost": cost,
            "cost_low": cost - half,
            "cost_high": cost + half,
            "sure": sure,
        }
    )
    table.loc[0, "sure"] = np.nan
    return table.sort_values("cost", kind="stable").reset_index(drop=True)


def _verdict(table: pd.DataFrame) -> str:
    """Say whether changing clubs pays for this player."""
    one = table[table["habit"].str.endswith("for everything")].iloc[0]
    club = str(one["habit"]).removesuffix(" for everything")
    cost, low, high = (float(one[name]) for name in ("cost", "cost_low", "cost_high"))
    said = f"{cost:.3f} strokes a chip (90 % interval {low:.3f} to {high:.3f})"
    if cost <= 0:
        said = f"nothing that this count can tell ({low:.3f} to {high:.3f} strokes a chip)"
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
    return f"{answer} Always landing it just on {verb}: {just['cost']:.3f} ({low:.3f} to {high:.3f})."
