"""What green speed does to the short game: run by club, where the best club changes, how far the landing spot moves.

These are teaching studies: green, turf and player are as stated, not measured.
"""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.planning.given import Stated
from golfphys.planning.plan import make_world, plan_in
from golfphys.planning.position import USUAL, Choice, Position
from golfphys.planning.search import crossing, landing_range, play_meant
from golfphys.planning.swings import swings_for
from golfphys.planning.world import Effort, World

Floats = NDArray[np.float64]

GREEN_SPEEDS_FT: tuple[float, ...] = (6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0)
"""Green speeds of the study, ft."""

RULE_OF_12: Mapping[str, float] = MappingProxyType(
    {"8-iron": 4.0, "9-iron": 3.0, "pitching wedge": 2.0, "sand wedge": 1.0}
)
"""Parts of roll for each part carried, common practice of the trade, no source."""

STUDY_EFFORT = Effort(draws=1, landings=21, errors=64, last=256)


def carry_and_roll(
    *,
    stimps_ft: Sequence[float] = GREEN_SPEEDS_FT,
    firmness: Sequence[str] = ("soft", "middling", "firm"),
    grades: Sequence[float] = (0.0,),
    carry: float = 5.0,
    known: Stated | None = None,
) -> pd.DataFrame:
    """Tabulate how far each club's ball runs after the same carry, over green speed, firmness and slope.

    Parameters
    ----------
    stimps_ft : sequence of float
        Green speeds, ft.
    firmness : sequence of str
        Names of `FIRMNESS`.
    grades : sequence of float
        Slopes along the line, rise over run, uphill positive.
    carry : float
        Landing distance, m; all lands on the green.
    known : Stated, optional
        Lie, player and clubs.

    Returns
    -------
    DataFrame
        ``club``, ``stimp_ft``, ``firmness``, ``grade``, ``carry_m``, ``roll_m``, ``roll_per_carry``; infinite where the
        ball does not stop.

    Examples
    --------
    >>> only = Stated(clubs=("sand wedge",))
    >>> slow, fast = carry_and_roll(stimps_ft=[8.0, 12.0], firmness=["middling"], known=only)["roll_m"]
    >>> bool(slow < fast)
    True
    """
    known = known or Stated()
    rows = []
    for name in firmness:
        for grade in grades:
            for stimp in stimps_ft:
                draws = replace(known, firmness=name).draws(stimp, grade)
                position = Position(to_edge=0.0, to_pin=carry + 1.0, lie=known.lie)
                for club, at, ends in _runs(World(draws=draws, position=position), np.array([carry])):
                    run = float(ends[0] - at[0])
                    rows.append((club, stimp, name, grade, float(at[0]), run, run / float(at[0])))
    return pd.DataFrame(rows, columns=["club", "stimp_ft", "firmness", "grade", "carry_m", "roll_m", "roll_per_carry"])


def _runs(world: World, landing: Floats | None = None) -> list[tuple[str, Floats, Floats]]:
    """Return for each club landing spots and where the ball, struck as meant, rests; infinite if it does not."""
    swings = swings_for([Choice(club=name) for name in world.draws.bag], world)
    spots = [np.linspace(*landing_range(swing), 120) if landing is None else landing for swing in swings]
    shots = play_meant(swings, spots)
    return [
        (swing.choice.club, np.asarray(own.landing_x), np.where(own.stops, own.rest_x, np.inf))
        for swing, own in zip(swings, shots, strict=True)
    ]


def rule_of_twelve(*, stimp_ft: float = 10.0, firmness: str = "middling", carry: float = 5.0) -> pd.DataFrame:
    """Lay the rule of 12 beside the model.

    Parameters
    ----------
    stimp_ft : float
        Green speed, ft.
    firmness : str
        Name of `FIRMNESS`.
    carry : float
        Landing distance, m.

    Returns
    -------
    DataFrame
        Index: club. ``rule`` (parts of roll for each part carried, practice), ``model``, ``model over rule``, and
        ``speed_for_rule_ft``, the green speed at which the model, whose roll grows in proportion to it, would give the
        rule's.

    Examples
    --------
    >>> table = rule_of_twelve()
    >>> bool(table["model"].is_monotonic_decreasing), list(table["rule"])
    (True, [4.0, 3.0, 2.0, 1.0])
    """
    known = Stated(clubs=tuple(RULE_OF_12))
    found = carry_and_roll(stimps_ft=[stimp_ft], firmness=[firmness], carry=carry, known=known).set_index("club")
    table = pd.DataFrame({"rule": pd.Series(dict(RULE_OF_12)), "model": found["roll_per_carry"]})
    table["model over rule"] = table["model"] / table["rule"]
    table["speed_for_rule_ft"] = stimp_ft * table["rule"] / table["model"]
    return table.rename_axis("club")


def best_club_map(
    *,
    stimps_ft: Sequence[float] = GREEN_SPEEDS_FT,
    to_pins: Sequence[float] = (6.0, 8.0, 10.0, 13.0, 16.0, 20.0, 25.0, 30.0),
    to_edge: float = 3.0,
    grade: float = 0.0,
    known: Stated | None = None,
    effort: Effort = STUDY_EFFORT,
) -> pd.DataFrame:
    """Find the best club, as usual delivered, over green speed and distance to the pin.

    Parameters
    ----------
    stimps_ft : sequence of float
        Green speeds, ft.
    to_pins : sequence of float
        Distances from ball to pin, m.
    to_edge : float
        Distance from ball to the green, m.
    grade : float
        Slope along the line, rise over run, uphill positive.
    known : Stated, optional
        Firmness, lie, player and clubs.
    effort : Effort
        How much is tried.

    Returns
    -------
    DataFrame
        ``stimp_ft``, ``to_pin_m``, ``club``, ``landing_m``, ``roll_m``, ``strokes``, ``lead`` (over the second
        club, wariness counted), ``close`` (whether that is too close to call).

    Examples
    --------
    >>> small = Effort(draws=1, landings=9, errors=16, last=32)
    >>> len(best_club_map(stimps_ft=[10.0], to_pins=[6.0], effort=small))
    1
    """
    known = known or Stated()
    rows = []
    for stimp in stimps_ft:
        draws = known.draws(stimp, grade)
        for to_pin in to_pins:
            world = make_world(draws, Position(to_edge=to_edge, to_pin=to_pin, lie=known.lie), None, effort)
            plan = plan_in(world, effort, (USUAL,))
            first = plan.table.iloc[0]
            costs = [item.mean + item.search.wary for item in plan.played]
            lead = costs[1] - costs[0] if len(costs) > 1 else np.inf
            close = len(plan.answer.choices) > 1
            rows.append((stimp, to_pin, plan.pick, first["landing_m"], first["roll_m"], first["strokes"], lead, close))
    return pd.DataFrame(
        rows, columns=["stimp_ft", "to_pin_m", "club", "landing_m", "roll_m", "strokes", "lead", "close"]
    )


def landing_shift(
    *,
    stimps_ft: Sequence[float] = GREEN_SPEEDS_FT,
    to_pins: Iterable[float] = (10.0, 15.0, 20.0),
    grades: Sequence[float] = (-0.02, 0.0, 0.02),
    known: Stated | None = None,
) -> pd.DataFrame:
    """Find the landing spot from which the ball stops at the pin, and how it moves with green speed.

    Parameters
    ----------
    stimps_ft : sequence of float
        Green speeds, ft, rising.
    to_pins : iterable of float
        Distances from ball to pin, m; all of it green.
    grades : sequence of float
        Slopes along the line, rise over run, uphill positive.
    known : Stated, optional
        Firmness, lie, player and clubs.

    Returns
    -------
    DataFrame
        ``club``, ``to_pin_m``, ``grade``, ``stimp_ft``, ``landing_m`` (NaN where no landing stops at the pin), and
        ``shift_ft_per_ft``: feet that the landing spot moves for each foot of green speed, negative towards the player.

    Examples
    --------
    >>> table = landing_shift(stimps_ft=[9.0, 10.0, 11.0], to_pins=[15.0], grades=[0.0])
    >>> bool((table["shift_ft_per_ft"] < 0).all())
    True
    """
    known = known or Stated()
    pins = [float(pin) for pin in to_pins]
    position = Position(to_edge=0.0, to_pin=max(pins), lie=known.lie)
    rows = []
    for grade in grades:
        for stimp in stimps_ft:
            for club, landing, rest in _runs(World(draws=known.draws(stimp, grade), position=position)):
                rows += [(club, pin, grade, stimp, crossing(landing, rest, pin)) for pin in pins]
    found = pd.DataFrame(rows, columns=["club", "to_pin_m", "grade", "stimp_ft", "landing_m"])
    shifts = [
        pd.Series(_slope(group["landing_m"], group["stimp_ft"]) / METRES_PER_FOOT, index=group.index)
        for _, group in found.groupby(["club", "to_pin_m", "grade"])
    ]
    found["shift_ft_per_ft"] = pd.concat(shifts)
    return found


def _slope(values: "pd.Series[Any]", at: "pd.Series[Any]") -> Floats:
    """Return the slope of values over `at`, by differences; all NaN for a single one."""
    if len(values) < 2:
        return np.full(len(values), np.nan)
    return np.asarray(np.gradient(values.to_numpy(float), at.to_numpy(float)))
