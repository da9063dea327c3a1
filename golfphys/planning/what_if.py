"""Regret: of a plan when conditions differ from what was measured, of ignoring some, and in the study of decisions."""

from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.broadcasting import plain, require_kinds
from golfphys.physics.club import StrikeErrors
from golfphys.physics.flight import Air
from golfphys.physics.green import Green
from golfphys.physics.usual import Grass
from golfphys.planning.plan import ChipPlan
from golfphys.planning.position import faster
from golfphys.planning.search import Search, play_best, search_landings
from golfphys.planning.swings import swings_for
from golfphys.planning.world import World, normals
from golfphys.sheets import Column, Kind
from golfphys.sheets.table import read_own

Floats = NDArray[np.float64]
# Green speed in ft that is assumed without measuring: a median of readings (Woods 2017, read: 7 to 11 by grass).
TYPICAL_FEET = 9.0


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
        """Check the values."""
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
    >>> from golfphys.physics.draws import assumed
    >>> from golfphys.planning.plan import plan_chip
    >>> from golfphys.planning.world import Effort
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
    >>> from golfphys.physics.draws import assumed
    >>> from golfphys.planning.plan import plan_chip
    >>> from golfphys.planning.world import Effort
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


# What the study of decision quality writes; a habit picks no club to compare.
NUMBERS = ("loss", "se", "loss_95", "same_club", "cases")
STUDY = Kind(
    name="study",
    columns=(
        Column(name="plan", quantity="plan", type="string", required=True),
        *(Column(name=name, quantity=name, required=name != "same_club") for name in NUMBERS),
    ),
    needs=(("plan",), *((name,) for name in NUMBERS)),
)


def read_study(path: "str | Path") -> pd.DataFrame:
    r"""Read the result of the study of decision quality.

    Parameters
    ----------
    path : str or Path
        The CSV that ``tests/studies/decision_quality.py`` wrote.

    Returns
    -------
    DataFrame
        A row for each way of deciding, least loss first: ``plan``, ``loss`` and ``se`` (strokes a chip over knowing the
        truth, and its standard error), ``loss_95`` (19 cases in 20 lose less), ``same_club`` (share of cases with the
        club that the truth would pick), ``cases``.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "study.csv"
    ...     _ = path.write_text("plan,loss,se,loss_95,same_club,cases\nhandbook,0.2,0.02,0.5,0.4,240\n")
    ...     float(read_study(path)["loss"].iloc[0])
    0.2
    """
    return read_own(path, STUDY).frame[list(STUDY.quantities)].sort_values("loss").reset_index(drop=True)
