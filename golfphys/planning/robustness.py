"""How good a plan is when the world turns out otherwise than measured: the strokes that not knowing costs."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.physics.club import LIES, Player, Scatter
from golfphys.planning.chips import LandingTable, joined, scattered
from golfphys.planning.draws import SCATTER
from golfphys.planning.green_speed import faster_draws, faster_ground
from golfphys.planning.plan import ChipPlan, bag_tables
from golfphys.planning.search import Search, Setting, search_landings

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Change:
    """One way in which the world turns out otherwise than the plan took it.

    Parameters
    ----------
    name : str
        What to call it.
    stimp_ft : float
        Feet of green speed more than measured.
    lie : str, optional
        The lie as it turns out; a name of `golfphys.physics.club.LIES`.
    scatter : float
        The player's scatter over the one taken.

    Raises
    ------
    ValueError
        If the lie is not known or `scatter` is negative.

    Examples
    --------
    >>> Change(name="two feet faster", stimp_ft=2.0).scatter
    1.0
    """

    name: str
    stimp_ft: float = 0.0
    lie: str | None = None
    scatter: float = 1.0

    def __post_init__(self) -> None:
        """Check the values."""
        if self.lie is not None and self.lie not in LIES:
            raise ValueError(f"Change lie is {self.lie!r}; expected one of {', '.join(LIES)}")
        if not self.scatter >= 0:
            raise ValueError(f"Change scatter is {self.scatter!r}; expected a number not below 0")


CHANGES = (
    Change(name="as measured"),
    Change(name="green a foot faster", stimp_ft=1.0),
    Change(name="green a foot slower", stimp_ft=-1.0),
    Change(name="lie wetter", lie="wet"),
    Change(name="strike poorer by half", scatter=1.5),
)
"""What is asked of every plan unless the reader asks otherwise."""


def what_if(plan: ChipPlan, changes: Iterable[Change] = CHANGES) -> pd.DataFrame:
    """Play a plan in a world that differs from it, beside the best that knowing the difference allows.

    The player keeps the club, the landing spot, the aim and the head speed of her plan; what they give follows the
    world as it is.

    Parameters
    ----------
    plan : ChipPlan
        The plan.
    changes : iterable of Change
        The ways in which the world differs.

    Returns
    -------
    DataFrame
        A row for each change and club: ``change``, ``club``, ``strokes`` (the plan's spot for this club, played in
        that world), ``strokes_known`` (the best spot of this club, had one known), ``best_club`` and ``best_strokes``
        (the best club, had one known), ``regret`` (`strokes` less `best_strokes`; the plan's own errors of the player
        are used throughout, so small regrets are told well).

    Raises
    ------
    ValueError
        If a green cannot be as slow as a change makes it.

    Examples
    --------
    >>> from golfphys.physics.green import Green
    >>> from golfphys.planning import plan_chip
    >>> plan = plan_chip(Green.from_stimp(10.0), to_edge=3.0, to_pin=14.0, landings=15, shots=64)
    >>> table = what_if(plan, [Change(name="faster", stimp_ft=1.0)])
    >>> bool((table["regret"] >= 0).all()), sorted(table["change"].unique())
    (True, ['faster'])
    """
    return pd.concat([_rows(plan, change) for change in changes], ignore_index=True)


def _rows(plan: ChipPlan, change: Change) -> pd.DataFrame:
    """Return the rows of one change."""
    world = changed(plan.setting, change)
    searches = list(plan.searches.values())
    tables = bag_tables({search.club: search.table.club for search in searches}, world)
    known = search_landings(tables, world, searches[0].landing.size)
    table = pd.DataFrame(
        {
            "change": change.name,
            "club": [met.club.name for met in tables],
            "strokes": _kept(searches, tables, world),
            "strokes_known": [float(item.strokes[item.best]) for item in known],
        }
    )
    # a plan kept may beat a search over coarse landing spots by a hair: what is known to be possible counts
    table["strokes_known"] = table[["strokes", "strokes_known"]].min(axis=1)
    best = table.iloc[int(table["strokes_known"].to_numpy().argmin())]
    table["best_club"], table["best_strokes"] = best["club"], best["strokes_known"]
    table["regret"] = table["strokes"] - table["best_strokes"]
    return table


def _kept(searches: Sequence[Search], tables: Sequence[LandingTable], world: Setting) -> Floats:
    """Return expected strokes of the plan's own spots, aims and head speeds in a world that differs."""
    errors = world.normal.shape[-1]
    each = np.arange(errors)
    spots = [float(search.landing[search.best]) for search in searches]
    changes = world.tweaks(tables, spots)
    launches = [
        scattered(
            *(search.table, at, search.direction[search.best], world.scatter(search.club, each), world.normal),
            met=met,
            tweak=change,
            each=each,
        )
        for search, met, at, change in zip(searches, tables, spots, changes, strict=True)
    ]
    outcome = world.play(joined(launches), np.tile(each, len(searches)))
    return np.asarray(outcome.strokes.reshape(len(searches), errors).mean(axis=1))


def changed(setting: Setting, change: Change) -> Setting:
    """Return the setting of a plan as a change makes it.

    Parameters
    ----------
    setting : Setting
        What the plan took to be so.
    change : Change
        What differs.

    Returns
    -------
    Setting
        The world as it turns out.
    """
    centre, draws = setting.centre, setting.draws
    if change.stimp_ft:
        centre = faster_ground(centre, change.stimp_ft)
        if draws is not None:
            draws = replace(draws, ground=faster_draws(draws.ground, change.stimp_ft))
    if draws is not None and change.scatter != 1.0:
        draws = replace(draws, scatter=_scaled(draws.scatter, change.scatter))
    return replace(
        setting,
        centre=centre,
        draws=draws,
        lie=LIES[change.lie] if change.lie is not None else setting.lie,
        player=poorer(setting.player, change.scatter),
    )


def _scaled(scatter: Mapping[str, Mapping[str, Any]], factor: float) -> dict[str, dict[str, Any]]:
    return {
        club: {name: factor * np.asarray(values, float) for name, values in drawn.items()}
        for club, drawn in scatter.items()
    }


def poorer(player: Player, factor: float) -> Player:
    """Return the same player with all scatter multiplied by `factor`."""

    def scaled(scatter: Scatter) -> Scatter:
        return Scatter(**{name: factor * getattr(scatter, name) for name in SCATTER})

    by_club = {club: scaled(scatter) for club, scatter in player.by_club.items()}
    return replace(player, scatter=scaled(player.scatter), by_club=by_club)
