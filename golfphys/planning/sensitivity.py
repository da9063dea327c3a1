"""How much farther a chip comes to rest for a little more of everything it depends on."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas import sensitivity
from golfphys.formulas.rolling import speed_for_distance
from golfphys.physics.club import BAG, DEFAULT_PLAYER, Club, Launch, Lie, Player
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, GroundBatch
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.strike import launch_from
from golfphys.planning.chips import columns, joined, landing_tables
from golfphys.planning.position import lie_named
from golfphys.planning.speed_study import slope_along, turf_named

Floats = NDArray[np.float64]
GREEN = {
    "restitution": (0.01, constants.TURF_RESTITUTION.sd, "1"),
    "tilt": (0.01, constants.TURF_TILT.sd, "rad"),
    "friction": (0.01, constants.TURF_FRICTION.sd, "1"),
    "skid_friction": (0.01, constants.TURF_FRICTION.sd, "1"),
    "hop_loss": (0.0005, constants.TURF_HOP_LOSS.sd, "m"),
}
"""Fields of the turf: step of the difference, what is typically not known of each, and unit."""

AIR = {"drag_scale": (0.05, 0.1, "1"), "lift_scale": (0.1, 0.5, "1")}
STRIKE = {
    "head speed": (0.02, 0.15, "m/s"),
    "attack": (0.005, np.radians(2.0), "rad"),
    "shaft lean": (0.005, np.radians(2.0), "rad"),
    "friction of the face": (0.005, 0.07, "1"),
}
"""Delivery and lie: step, what is typically not known (judged, no source), unit."""

GREEN_SPEED_DOUBT = 0.3 * METRES_PER_FOOT
"""Standard deviation of green speed within a green (Woods 2018, read), m."""

GRADE_DOUBT = 0.005
"""What an eye does not tell of a slope (judged, no source)."""


@dataclass(frozen=True)
class _Difference:
    """One central difference: a launch and ground values a step below and above."""

    name: str
    what: str
    unit: str
    step: float
    doubt: float
    launch: Callable[[float], Launch]
    ground: Mapping[str, tuple[float, float]]
    air: Mapping[str, tuple[float, float]]


def sensitivities(
    club: str | Club = "sand wedge",
    *,
    landing: float = 5.0,
    stimp_ft: float = 10.0,
    grade: float = 0.0,
    firmness: str = "middling",
    lie: str = "fairway",
    player: Player = DEFAULT_PLAYER,
) -> pd.DataFrame:
    """Return the derivative of the rest distance of a chip with respect to each parameter.

    Where rest distance depends on a parameter through the roll alone (resistance, green speed) the derivative is the
    closed form's; elsewhere it is a central difference of simulated shots.

    Parameters
    ----------
    club : str or Club
        The club; a name of `golfphys.physics.club.BAG`.
    landing : float
        Where the shot lands, m; all of it green.
    stimp_ft : float
        Green speed, ft.
    grade : float
        Slope along the line, rise over run, uphill positive.
    firmness, lie : str
        Names of `golfphys.planning.FIRMNESS` and `golfphys.physics.club.LIES`.
    player : Player
        Whose delivery and scatter it is.

    Returns
    -------
    DataFrame
        ``parameter``, ``of`` (green, turf, launch, air, strike), ``derivative`` (m for each ``unit``), ``unit``,
        ``method``, ``doubt`` (what is typically not known or scatters, one standard deviation) and ``effect_m``, what
        that doubt does to the rest distance; largest effect first.

    Raises
    ------
    ValueError
        If the club, the firmness or the lie is not known, or the ball does not stop.

    Examples
    --------
    >>> table = sensitivities().set_index("parameter")
    >>> bool(table.loc["resistance", "derivative"] < 0 < table.loc["green speed", "derivative"])
    True
    """
    if isinstance(club, str) and club not in BAG:
        raise ValueError(f"club is {club!r}; expected one of {', '.join(BAG)}, or a Club of your own")
    chosen = BAG[club] if isinstance(club, str) else club
    where = lie_named(lie)
    green = Green.from_stimp(stimp_ft, turf=turf_named(firmness), **slope_along(grade))
    table = landing_tables([chosen], where, player, green, farthest=landing + 2.0)[0]
    head = float(table.head_speed_for(landing))
    meant = launch_from(chosen, replace(player.delivery, speed=head), where)
    shot = simulate(meant, green)
    if not shot.stops:
        raise ValueError(f"the ball does not stop on a green of {stimp_ft:g} ft and grade {grade:g}")
    rows = _closed_forms(shot, green, grade)
    differences = [
        *_of_green(green, meant, grade),
        *_of_launch(meant, player, chosen, landing),
        *_of_strike(chosen, head, where, player),
    ]
    rows += _central(differences, green)
    found = pd.DataFrame(rows, columns=["parameter", "of", "derivative", "unit", "method", "doubt"])
    found["effect_m"] = (found["derivative"] * found["doubt"]).abs()
    return found.sort_values("effect_m", ascending=False, kind="stable").reset_index(drop=True)


def _closed_forms(shot: Shots, green: Green, grade: float) -> list[tuple[Any, ...]]:
    """Return rows of what acts through the roll alone."""
    ramp = (constants.GRAVITY.value, constants.BALL_INERTIA.value)
    constant = green.resistance.constant
    speed = broadcast(speed_for_distance, shot.rest_x - shot.roll_x, constant, grade, *ramp)
    state = (speed, constant, grade, *ramp)
    by_constant = sensitivity.roll_per_resistance(*state)
    by_speed = sensitivity.roll_per_green_speed(*state, constants.RAMP_RELEASE_SPEED.value)
    doubt = GREEN_SPEED_DOUBT * abs(by_speed / by_constant)
    return [
        ("resistance", "green", by_constant, "1", "closed form", doubt),
        ("green speed", "green", by_speed, "m", "closed form", GREEN_SPEED_DOUBT),
    ]


def _of_green(green: Green, meant: Launch, grade: float) -> list[_Difference]:
    found = []
    for name, (step, doubt, unit) in GREEN.items():
        value = getattr(green.turf, name)
        pair = (max(value - step, 0.0005), value + step)
        found.append(_Difference(name.replace("_", " "), "turf", unit, step, doubt, _same(meant), {name: pair}, {}))
    step = 0.001
    ends = [slope_along(grade + sign * step) for sign in (-1, 1)]
    slopes = {name: (ends[0][name], ends[1][name]) for name in ends[0]}
    found.append(_Difference("grade", "green", "1", step, GRADE_DOUBT, _same(meant), slopes, {}))
    for name, (width, doubt, unit) in AIR.items():
        pair = (1.0 - width, 1.0 + width)
        found.append(_Difference(name.replace("_scale", ""), "air", unit, width, doubt, _same(meant), {}, {name: pair}))
    return found


def _of_launch(meant: Launch, player: Player, club: Club, landing: float) -> list[_Difference]:
    scatter = player.scatter_for(club.name)
    speed, angle, spin = (float(np.asarray(getattr(meant, name))) for name in ("speed", "angle", "backspin"))
    carry = float(np.hypot(scatter.distance_absolute, scatter.distance_relative * landing))
    doubts = {
        "ball speed": ("speed", 0.01 * speed, speed * carry / (2 * landing), "m/s"),
        "launch angle": ("angle", 0.005, scatter.angle, "rad"),
        "backspin": ("backspin", 0.02 * spin, scatter.spin_relative * spin, "rad/s"),
    }
    return [
        _Difference(name, "launch", unit, step, doubt, _moved(meant, which, value), {}, {})
        for (name, (which, step, doubt, unit)), value in zip(doubts.items(), (speed, angle, spin), strict=True)
    ]


def _of_strike(club: Club, head: float, where: Lie, player: Player) -> list[_Difference]:
    def struck(name: str) -> Callable[[float], Launch]:
        def launch(change: float) -> Launch:
            delivery, met = replace(player.delivery, speed=head), where
            if name == "friction of the face":
                met = replace(where, friction=where.friction + change)
            else:
                own = {"head speed": "speed", "attack": "attack", "shaft lean": "shaft_lean"}[name]
                delivery = replace(delivery, **{own: float(np.asarray(getattr(delivery, own))) + change})
            return launch_from(club, delivery, met)

        return launch

    return [
        _Difference(name, "strike", unit, step, doubt, struck(name), {}, {})
        for name, (step, doubt, unit) in STRIKE.items()
    ]


def _same(meant: Launch) -> Callable[[float], Launch]:
    return lambda _change: meant


def _moved(meant: Launch, which: str, value: float) -> Callable[[float], Launch]:
    return lambda change: replace(meant, **{which: value + change})


def _central(differences: list[_Difference], green: Green) -> list[tuple[Any, ...]]:
    """Play all differences in one batch and return their rows."""
    launches = [item.launch(sign * item.step) for item in differences for sign in (-1, 1)]
    batch = joined([Launch(*(np.atleast_1d(column) for column in columns(one))) for one in launches])
    base = {name: getattr(green.turf, name) for name in GREEN}
    base |= {"grade": green.grade, "fall_direction": green.fall_direction}

    def ends(what: Callable[[_Difference], Mapping[str, tuple[float, float]]], name: str, value: float) -> Floats:
        return np.array([end for item in differences for end in what(item).get(name, (value, value))])

    values = {name: ends(lambda item: item.ground, name, value) for name, value in base.items()}
    scales: dict[str, Any] = {name: ends(lambda item: item.air, name, 1.0) for name in AIR}
    shots = simulate(batch, GroundBatch(ground=green, values=values), aerodynamics=Aerodynamics(**scales))
    rest = np.asarray(shots.rest_x).reshape(-1, 2)
    rows = []
    for item, (low, high) in zip(differences, rest, strict=True):
        rows.append((item.name, item.what, (high - low) / (2 * item.step), item.unit, "central difference", item.doubt))
    return rows
