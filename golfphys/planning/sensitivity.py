"""How much farther a chip comes to rest for a little more of everything it depends on."""

from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast
from golfphys.core.units import METRES_PER_FOOT
from golfphys.formulas import rolling
from golfphys.physics.club import Launch
from golfphys.physics.draws import Draws
from golfphys.physics.green import Green
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.strike import strike
from golfphys.planning.given import Stated, slope_along
from golfphys.planning.position import Choice, Position
from golfphys.planning.swings import brought, swings_for
from golfphys.planning.world import World

Floats = NDArray[np.float64]

TURF = {
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

LAUNCH = {"ball speed": ("speed", 0.05, 0.3, "m/s"), "launch angle": ("angle", 0.005, np.radians(1.5), "rad")}
LAUNCH |= {"backspin": ("backspin", 5.0, 25.0, "rad/s")}
"""Launch: field, step, scatter of a chip (judged, no source), unit."""

GREEN_SPEED_SD = 0.3 * METRES_PER_FOOT
"""Standard deviation of green speed within a green (Woods 2018, read), m."""

GRADE_SD = 0.005
"""What an eye does not see of a slope (judged, no source)."""


def sensitivities(
    club: str = "sand wedge",
    *,
    landing: float = 5.0,
    stimp_ft: float = 10.0,
    grade: float = 0.0,
    known: Stated | None = None,
) -> pd.DataFrame:
    """Return the derivative of the rest distance of a chip with respect to each parameter.

    Where rest distance depends on a parameter through the roll alone (resistance, green speed) the derivative is the
    closed form's; elsewhere it is a central difference of simulated shots. Where the ball changes from slipping to
    gripping in a bounce, rest distance has a kink, and a difference across it depends on its step.

    Parameters
    ----------
    club : str
        A name of `golfphys.physics.club.BAG`.
    landing : float
        Where the shot lands, m; all of it green.
    stimp_ft : float
        Green speed, ft.
    grade : float
        Slope along the line, rise over run, uphill positive.
    known : Stated, optional
        Firmness, lie and player.

    Returns
    -------
    DataFrame
        ``parameter``, ``of`` (green, turf, launch, air, strike), ``derivative`` (m for each ``unit``), ``unit``,
        ``method``, ``uncertainty`` (what is typically not known or scatters, one standard deviation) and ``effect_m``,
        what that does to the rest distance; largest effect first.

    Examples
    --------
    >>> table = sensitivities().set_index("parameter")
    >>> bool(table.loc["resistance", "derivative"] < 0 < table.loc["green speed", "derivative"])
    True
    """
    known = replace(known or Stated(), clubs=(club,))
    draws = known.draws(stimp_ft, grade)
    world = World(draws=draws, position=Position(to_edge=0.0, to_pin=landing + 1.0, lie=known.lie))
    head = float(swings_for([Choice(club=club)], world)[0].speed_for(np.array([landing]))[0, 0])

    green, meant = draws.green, _struck(draws, club, known.lie, head)
    shot = simulate(meant, green)
    if not shot.stops:
        raise ValueError(f"the ball does not stop on a green of {stimp_ft:g} ft and grade {grade:g}")

    def on_turf(name: str, change: float) -> Any:
        turf = replace(green.turf, **{name: max(getattr(green.turf, name) + change, 0.0005)})
        return simulate(meant, replace(green, turf=turf)).rest_x

    def tilted(_name: str, change: float) -> Any:
        return simulate(meant, replace(green, **slope_along(grade + change))).rest_x

    def in_air(name: str, change: float) -> Any:
        scale: dict[str, Any] = {name: 1.0 + change}
        return simulate(meant, green, aerodynamics=replace(draws.aerodynamics, **scale)).rest_x

    def launched(name: str, change: float) -> Any:
        field = LAUNCH[name][0]
        return simulate(replace(meant, **{field: float(np.asarray(getattr(meant, field))) + change}), green).rest_x

    def hit(name: str, change: float) -> Any:
        return simulate(_struck(draws, club, known.lie, head, **{name: change}), green).rest_x

    plays: list[tuple[Any, ...]] = [("turf", name, *rest, on_turf) for name, rest in TURF.items()]
    plays += [("green", "grade", 0.001, GRADE_SD, "1", tilted)]
    plays += [("air", name, *rest, in_air) for name, rest in AIR.items()]
    plays += [("launch", name, *rest[1:], launched) for name, rest in LAUNCH.items()]
    plays += [("strike", name, *rest, hit) for name, rest in STRIKE.items()]
    rows = _closed_forms(shot, green, grade)
    for of, name, step, sd, unit, play in plays:
        derivative = (play(name, step) - play(name, -step)) / (2 * step)
        said = name.removesuffix("_scale").replace("_", " ")
        rows.append((said, of, derivative, unit, "central difference", sd))
    found = pd.DataFrame(rows, columns=["parameter", "of", "derivative", "unit", "method", "uncertainty"])
    found["effect_m"] = (found["derivative"] * found["uncertainty"]).abs()
    return found.sort_values("effect_m", ascending=False, kind="stable").reset_index(drop=True)


def _struck(draws: Draws, club: str, lie: str, speed: float, **changed: float) -> Launch:
    """Return the launch of a strike as meant with delivery or lie changed a little."""
    delivery, there = draws.player.delivery, draws.lies[lie]
    for name, change in changed.items():
        if name == "head speed":
            speed = speed + change
        elif name == "friction of the face":
            there = replace(there, friction=there.friction + change)
        else:
            own = name.replace(" ", "_")
            delivery = replace(delivery, **{own: float(np.asarray(getattr(delivery, own))) + change})
    as_changed = replace(draws, player=replace(draws.player, delivery=delivery), lies={**draws.lies, lie: there})
    position = Position(to_edge=0.0, to_pin=1.0, lie=lie)
    taken, swing, met, errors = brought(Choice(club=club), as_changed, position)
    return strike(taken, replace(swing, speed=speed), met, np.zeros(6), errors).launch


def _closed_forms(shot: Shots, green: Green, grade: float) -> list[tuple[Any, ...]]:
    """Return rows of what acts through the roll alone."""
    ramp = (constants.GRAVITY.value, constants.BALL_INERTIA.value)
    constant = green.resistance.constant
    speed = broadcast(rolling.speed_for_distance, shot.rest_x - shot.roll_x, constant, grade, *ramp)
    state = (speed, constant, grade, *ramp)
    by_constant = rolling.roll_per_resistance(*state)
    by_speed = rolling.roll_per_green_speed(*state, constants.RAMP_RELEASE_SPEED.value)
    sd = GREEN_SPEED_SD * abs(by_speed / by_constant)
    return [
        ("resistance", "green", by_constant, "1", "closed form", sd),
        ("green speed", "green", by_speed, "m", "closed form", GREEN_SPEED_SD),
    ]
