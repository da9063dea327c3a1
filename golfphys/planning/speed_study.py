"""What green speed does to the short game: run by club, where the best club changes, how far the landing spot moves."""

from collections.abc import Iterable, Mapping, Sequence
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import BAG, DEFAULT_PLAYER, Club, Player
from golfphys.physics.green import Green, Turf
from golfphys.planning.chips import joined, landing_tables, played
from golfphys.planning.plan import TOO_CLOSE, plan_chip
from golfphys.planning.position import lie_named

Floats = NDArray[np.float64]

GREEN_SPEEDS_FT: tuple[float, ...] = (6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0)
"""Green speeds of the study, ft."""

FIRMNESS: Mapping[str, Turf] = MappingProxyType(
    {
        "soft": Turf(restitution=0.42, tilt=0.32, friction=0.45, skid_friction=0.45),
        "middling": Turf(),
        "firm": Turf(restitution=0.58, tilt=0.21, friction=0.36, skid_friction=0.36),
    }
)
"""Named levels of turf. "middling" is the published one; the others lie about one and a half of its stated
uncertainties away, judged, no source: no published link from a firmness reading to restitution was found."""

RULE_OF_12: Mapping[str, float] = MappingProxyType(
    {"8-iron": 4.0, "9-iron": 3.0, "pitching wedge": 2.0, "sand wedge": 1.0}
)
"""Parts of roll for each part carried, common practice of the trade, no source; written for older, weaker lofts."""


def slope_along(grade: float) -> dict[str, Any]:
    """Return the fields of a green whose line of play rises by `grade`, rise over run; negative is downhill."""
    return {"grade": abs(grade), "fall_direction": np.pi if grade > 0 else 0.0}


def carry_and_roll(
    *,
    stimps_ft: Sequence[float] = GREEN_SPEEDS_FT,
    firmness: Sequence[str] = ("soft", "middling", "firm"),
    grades: Sequence[float] = (0.0,),
    carry: float = 5.0,
    lie: str = "fairway",
    player: Player = DEFAULT_PLAYER,
    bag: Mapping[str, Club] = BAG,
    **physics: Any,
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
    lie : str
        Name of `golfphys.physics.club.LIES`.
    player : Player
        Whose delivery it is.
    bag : mapping of str to Club
        The clubs.
    **physics
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    DataFrame
        ``club``, ``stimp_ft``, ``firmness``, ``grade``, ``carry_m``, ``roll_m``, ``roll_per_carry``; infinite where the
        ball does not stop.

    Raises
    ------
    ValueError
        If a firmness or the lie is not known.

    Examples
    --------
    >>> table = carry_and_roll(stimps_ft=[8.0, 12.0], firmness=["middling"], bag={"sand wedge": BAG["sand wedge"]})
    >>> slow, fast = table["roll_m"]
    >>> bool(slow < fast)
    True
    """
    rows = []
    for name in firmness:
        for grade in grades:
            for stimp in stimps_ft:
                green = Green.from_stimp(stimp, turf=turf_named(name), **slope_along(grade))
                tables = landing_tables(
                    list(bag.values()), lie_named(lie), player, green, farthest=carry + 2.0, **physics
                )
                shots = played(joined([table.launch(np.array([carry])) for table in tables]), green, **physics)
                for club, rest, lands, stops in zip(bag, shots.rest_x, shots.landing_x, shots.stops, strict=True):
                    roll = float(rest - lands) if stops else np.inf
                    rows.append((club, stimp, name, grade, float(lands), roll, roll / float(lands)))
    return pd.DataFrame(rows, columns=["club", "stimp_ft", "firmness", "grade", "carry_m", "roll_m", "roll_per_carry"])


def turf_named(name: str) -> Turf:
    """Return the turf of a level of `FIRMNESS`.

    Raises
    ------
    ValueError
        If there is none of that name.
    """
    if name not in FIRMNESS:
        raise ValueError(f"firmness is {name!r}; expected one of {', '.join(FIRMNESS)}")
    return FIRMNESS[name]


def rule_of_twelve(*, stimp_ft: float = 10.0, firmness: str = "middling", **question: Any) -> pd.DataFrame:
    """Lay the rule of 12 beside the model.

    Parameters
    ----------
    stimp_ft : float
        Green speed, ft.
    firmness : str
        Name of `FIRMNESS`.
    **question
        As for `carry_and_roll`.

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
    bag = {club: BAG[club] for club in RULE_OF_12}
    found = carry_and_roll(stimps_ft=[stimp_ft], firmness=[firmness], bag=bag, **question).set_index("club")
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
    firmness: str = "middling",
    lie: str = "fairway",
    player: Player = DEFAULT_PLAYER,
    bag: Mapping[str, Club] = BAG,
    landings: int = 21,
    shots: int = 256,
    seed: int = 0,
    **physics: Any,
) -> pd.DataFrame:
    """Find the best club over green speed and distance to the pin.

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
    firmness, lie : str
        Names of `FIRMNESS` and `golfphys.physics.club.LIES`.
    player : Player
        Who plays.
    bag : mapping of str to Club
        The clubs.
    landings, shots, seed
        As for `golfphys.plan_chip`.
    **physics
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    DataFrame
        ``stimp_ft``, ``to_pin_m``, ``club``, ``landing_m``, ``roll_m``, ``strokes``, ``lead`` (over the second club),
        ``close`` (whether that is too close to call).

    Raises
    ------
    ValueError
        If the firmness or the lie is not known, or a distance makes no chip.

    Examples
    --------
    >>> table = best_club_map(stimps_ft=[10.0], to_pins=[6.0], landings=11, shots=64)
    >>> table["club"].iloc[0]
    'lob wedge'
    """
    rows = []
    for stimp in stimps_ft:
        green = Green.from_stimp(stimp, turf=turf_named(firmness), **slope_along(grade))
        for to_pin in to_pins:
            plan = plan_chip(
                green,
                to_edge=to_edge,
                to_pin=to_pin,
                lie=lie,
                player=player,
                bag=bag,
                landings=landings,
                shots=shots,
                seed=seed,
                **physics,
            )
            first = plan.table.iloc[0]
            lead = float(plan.table["strokes"].iloc[1] - first["strokes"]) if len(plan.table) > 1 else np.inf
            close = plan.verdict.startswith(TOO_CLOSE)
            rows.append((stimp, to_pin, plan.pick, first["landing_m"], first["roll_m"], first["strokes"], lead, close))
    return pd.DataFrame(
        rows, columns=["stimp_ft", "to_pin_m", "club", "landing_m", "roll_m", "strokes", "lead", "close"]
    )


def landing_shift(
    *,
    stimps_ft: Sequence[float] = GREEN_SPEEDS_FT,
    to_pins: Iterable[float] = (10.0, 15.0, 20.0),
    grades: Sequence[float] = (-0.02, 0.0, 0.02),
    firmness: str = "middling",
    lie: str = "fairway",
    player: Player = DEFAULT_PLAYER,
    bag: Mapping[str, Club] = BAG,
    **physics: Any,
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
    firmness, lie : str
        Names of `FIRMNESS` and `golfphys.physics.club.LIES`.
    player : Player
        Whose delivery it is.
    bag : mapping of str to Club
        The clubs.
    **physics
        Passed to `golfphys.physics.shot.simulate`.

    Returns
    -------
    DataFrame
        ``club``, ``to_pin_m``, ``grade``, ``stimp_ft``, ``landing_m`` (NaN where no landing stops at the pin), and
        ``shift_ft_per_ft``: feet that the landing spot moves for each foot of green speed, negative towards the player.

    Raises
    ------
    ValueError
        If the firmness or the lie is not known.

    Examples
    --------
    >>> table = landing_shift(stimps_ft=[9.0, 10.0, 11.0], to_pins=[15.0], grades=[0.0])
    >>> bool((table["shift_ft_per_ft"] < 0).all())
    True
    """
    rows = []
    pins = np.asarray(list(to_pins), float)
    for grade in grades:
        for stimp in stimps_ft:
            green = Green.from_stimp(stimp, turf=turf_named(firmness), **slope_along(grade))
            reach = float(pins.max()) + 1.0
            tables = landing_tables(list(bag.values()), lie_named(lie), player, green, farthest=reach, **physics)
            for table in tables:
                landing = np.linspace(max(table.reach[0], 0.3), min(table.reach[1], reach), 120)
                shots = played(table.launch(landing), green, **physics)
                rest = np.where(shots.stops, shots.rest_x, np.inf)
                for pin in pins:
                    rows.append((table.club.name, pin, grade, stimp, crossing(landing, rest, float(pin))))
    found = pd.DataFrame(rows, columns=["club", "to_pin_m", "grade", "stimp_ft", "landing_m"])
    shifts = [
        pd.Series(_slope(group["landing_m"], group["stimp_ft"]) / METRES_PER_FOOT, index=group.index)
        for _, group in found.groupby(["club", "to_pin_m", "grade"])
    ]
    found["shift_ft_per_ft"] = pd.concat(shifts)
    return found


def crossing(landing: Floats, rest: Floats, pin: float) -> float:
    """Return the shortest landing whose ball comes to rest at `pin`, straight between neighbours; NaN if none does."""
    past = np.flatnonzero((rest[1:] >= pin) & (rest[:-1] < pin) & np.isfinite(rest[1:]))
    if not past.size:
        return np.nan
    step = int(past[0])
    share = (pin - rest[step]) / (rest[step + 1] - rest[step])
    return float(landing[step] + share * (landing[step + 1] - landing[step]))


def _slope(values: "pd.Series[Any]", at: "pd.Series[Any]") -> Floats:
    """Return the slope of values over `at`, by differences; all NaN for a single one."""
    if len(values) < 2:
        return np.full(len(values), np.nan)
    return np.asarray(np.gradient(values.to_numpy(float), at.to_numpy(float)))
