"""Teaching studies, stated and not measured: what green speed does to the short game, what moves the rest most."""

import itertools
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import replace
from pathlib import Path
from types import MappingProxyType
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.shot import Shots, simulate
from golfphys.physics.strike import strike
from golfphys.planning.plan import make_world, plan_in
from golfphys.planning.position import USUAL, Choice, Position, Stated, faster, slope_along
from golfphys.planning.search import rests_as_meant, stopping_at
from golfphys.planning.world import Effort, World, brought, swings_for
from golfphys.sheets import Column, Kind, read_sheet

GREEN_SPEEDS_FT: tuple[float, ...] = (6.0, 7.0, 8.0, 9.0, 10.0, 11.0, 12.0, 13.0, 14.0)  # green speeds of the study, ft

# Parts of roll for each part carried, common practice of the trade, no source.
RULE_OF_12: Mapping[str, float] = MappingProxyType(
    {"8-iron": 4.0, "9-iron": 3.0, "pitching wedge": 2.0, "sand wedge": 1.0}
)

STUDY_EFFORT = Effort(draws=1, landings=21, errors=64, last=256)
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
    stimps_ft, firmness, grades : sequence of float, of str, of float; green speeds in ft, names of `FIRMNESS`, slopes
        along the line (rise over run, uphill positive)
    carry : float; landing distance, m; all lands on the green
    known : Stated, optional; lie, player and clubs; in other studies firmness, too

    Returns
    -------
    DataFrame: ``club``, ``stimp_ft``, ``firmness``, ``grade``, ``carry_m``, ``roll_m``, ``roll_per_carry``; infinite
        where the ball does not stop

    Examples
    --------
    >>> only = Stated(clubs=("sand wedge",))
    >>> slow, fast = carry_and_roll(stimps_ft=[8.0, 12.0], firmness=["middling"], known=only)["roll_m"]
    >>> bool(slow < fast)
    True
    """
    known = known or Stated()
    rows = []
    for name, grade, stimp in itertools.product(firmness, grades, stimps_ft):
        draws = replace(known, firmness=name).draws(stimp, grade)
        position = Position(to_edge=0.0, to_pin=carry + 1.0, lie=known.lie)
        swings = swings_for([Choice(club=club) for club in draws.bag], World(draws=draws, position=position))
        landed, rests = (values[:, 0].tolist() for values in rests_as_meant(swings, np.full((len(swings), 1), carry)))
        for club, at, end in zip(draws.bag, landed, rests, strict=True):
            rows.append((club, stimp, name, grade, at, end - at, (end - at) / at))
    return pd.DataFrame(rows, columns=["club", "stimp_ft", "firmness", "grade", "carry_m", "roll_m", "roll_per_carry"])


def rule_of_twelve(*, stimp_ft: float = 10.0) -> pd.DataFrame:
    """Lay the rule of 12 beside the model, on middling turf, 5 m carried.

    Parameters
    ----------
    stimp_ft : float; green speed in ft

    Returns
    -------
    DataFrame: by club ``rule`` (parts of roll for each part carried, practice), ``model``, ``model over rule``,
        and ``speed_for_rule_ft``, the green speed at which the model, whose roll grows in proportion to it, would give
        the rule's

    Examples
    --------
    >>> table = rule_of_twelve()
    >>> bool(table["model"].is_monotonic_decreasing), list(table["rule"])
    (True, [4.0, 3.0, 2.0, 1.0])
    """
    known = Stated(clubs=tuple(RULE_OF_12))
    found = carry_and_roll(stimps_ft=[stimp_ft], firmness=["middling"], known=known).set_index("club")
    table = pd.DataFrame({"rule": pd.Series(dict(RULE_OF_12)), "model": found["roll_per_carry"]})
    table["model over rule"] = table["model"] / table["rule"]
    table["speed_for_rule_ft"] = stimp_ft * table["rule"] / table["model"]
    return table.rename_axis("club")


def best_club_map(
    *,
    stimps_ft: Sequence[float] = GREEN_SPEEDS_FT,
    to_pins: Sequence[float] = (6.0, 8.0, 10.0, 13.0, 16.0, 20.0, 25.0, 30.0),
    effort: Effort = STUDY_EFFORT,
) -> pd.DataFrame:
    """Find the best club, as usual delivered, over green speed and distance to the pin, from 3 m off a level green.

    Parameters
    ----------
    stimps_ft, to_pins : sequence of float; green speeds in ft, and distances from the ball to the pin, m
    effort : Effort; how much is tried

    Returns
    -------
    DataFrame: ``stimp_ft``, ``to_pin_m``, ``club``, ``landing_m``, ``roll_m``, ``strokes``, ``lead`` (over the second
        club, wariness counted), ``close`` (whether that is too close to call)

    Examples
    --------
    >>> small = Effort(draws=1, landings=9, errors=16, last=32)
    >>> len(best_club_map(stimps_ft=[10.0], to_pins=[6.0], effort=small))
    1
    """
    rows = []
    for stimp, to_pin in itertools.product(stimps_ft, to_pins):
        world = make_world(Stated().draws(stimp), Position(to_edge=3.0, to_pin=to_pin), None, effort)
        plan = plan_in(world, effort, (USUAL,))
        costs = [item.cost for item in plan.played]
        lead = costs[1] - costs[0] if len(costs) > 1 else np.inf
        found = plan.table.loc[0, ["landing_m", "roll_m", "strokes"]]
        rows.append((stimp, to_pin, plan.pick, *found, lead, len(plan.answer.choices) > 1))
    columns = ["stimp_ft", "to_pin_m", "club", "landing_m", "roll_m", "strokes", "lead", "close"]
    return pd.DataFrame(rows, columns=columns)


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
    stimps_ft, grades, known : as for `carry_and_roll`, speeds rising
    to_pins : iterable of float; distances from ball to pin, m; all of it green

    Returns
    -------
    DataFrame: ``club``, ``to_pin_m``, ``grade``, ``stimp_ft``, ``landing_m`` (NaN where no landing stops at the pin),
        and ``shift_ft_per_ft``: feet that the landing spot moves for each foot of green speed, negative towards the
        player

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
    for grade, stimp in itertools.product(grades, stimps_ft):
        choices = [Choice(club=club) for club in known.clubs]
        landings = stopping_at(pins, choices, World(draws=known.draws(stimp, grade), position=position))
        for (club, pin), landing in zip(itertools.product(known.clubs, pins), landings.ravel(), strict=True):
            rows.append((club, pin, grade, stimp, landing))
    found = pd.DataFrame(rows, columns=["club", "to_pin_m", "grade", "stimp_ft", "landing_m"])
    found["shift_ft_per_ft"] = np.nan
    for _, group in found.groupby(["club", "to_pin_m", "grade"]):
        if len(group) > 1:
            slope = np.gradient(group["landing_m"].to_numpy(float), group["stimp_ft"].to_numpy(float))
            found.loc[group.index, "shift_ft_per_ft"] = slope / METRES_PER_FOOT
    return found


# What rest distance is asked about: the part that it belongs to, its name and field, the step of the difference, what
# is typically not known of it or scatters (one standard deviation; judged, no source, where it is no constant), unit.
VARIED: tuple[tuple[str, str, str, float, float, str], ...] = (
    ("turf", "restitution", "restitution", 0.01, constants.TURF_RESTITUTION.sd, "1"),
    ("turf", "tilt", "tilt", 0.01, constants.TURF_TILT.sd, "rad"),
    ("turf", "friction", "friction", 0.01, constants.TURF_FRICTION.sd, "1"),
    ("turf", "skid friction", "skid_friction", 0.01, constants.TURF_FRICTION.sd, "1"),
    ("turf", "hop loss", "hop_loss", 0.0005, constants.TURF_HOP_LOSS.sd, "m"),
    ("green", "green speed", "level_roll", 0.001, 0.3 * METRES_PER_FOOT, "m"),  # sd within a green (Woods 2018, read)
    ("green", "grade", "grade", 0.001, 0.005, "1"),
    ("air", "drag", "drag_scale", 0.05, 0.1, "1"),
    ("air", "lift", "lift_scale", 0.1, 0.5, "1"),
    ("launch", "ball speed", "speed", 0.05, 0.3, "m/s"),
    ("launch", "launch angle", "angle", 0.005, np.radians(1.5), "rad"),
    ("launch", "backspin", "backspin", 5.0, 25.0, "rad/s"),
    ("strike", "head speed", "speed", 0.02, 0.15, "m/s"),
    ("strike", "attack", "attack", 0.005, np.radians(2.0), "rad"),
    ("strike", "shaft lean", "shaft_lean", 0.005, np.radians(2.0), "rad"),
    ("strike", "friction of the face", "friction", 0.005, 0.07, "1"),
)


def sensitivities(
    club: str = "sand wedge", *, landing: float = 5.0, stimp_ft: float = 10.0, grade: float = 0.0
) -> pd.DataFrame:
    """Return the derivative of the rest distance of a chip with respect to each parameter.

    It is a central difference of simulated shots. Where the ball changes from slipping to gripping in a bounce, rest
    distance has a kink, and a difference across it depends on its step.

    Parameters
    ----------
    club, landing : str, float; a name of `golfphys.physics.club.BAG`, and where the shot lands, m; all of it green
    stimp_ft, grade : float; green speed in ft, and slope along the line (rise over run, uphill positive)

    Returns
    -------
    DataFrame: ``parameter``, ``of`` (green, turf, launch, air, strike), ``derivative`` (m for each ``unit``), ``unit``,
        ``uncertainty`` (what is typically not known or scatters, one standard deviation) and ``effect_m``,
        what that does to the rest distance; largest effect first

    Examples
    --------
    >>> table = sensitivities().set_index("parameter")
    >>> bool(table.loc["resistance", "derivative"] < 0 < table.loc["green speed", "derivative"])
    True
    """
    draws, position = Stated(clubs=(club,)).draws(stimp_ft, grade), Position(to_edge=0.0, to_pin=landing + 1.0)
    head = swings_for([Choice(club=club)], World(draws=draws, position=position)).speed_for([[landing]]).item()
    taken, swing, lie, errors = brought(Choice(club=club), draws, position)
    green, delivery = draws.green, replace(swing, speed=head)
    as_is = {"turf": green.turf, "air": draws.aerodynamics, "delivery": delivery, "lie": lie}

    def played(of: str = "", name: str = "", by: float = 0.0) -> Shots:
        """Play the shot with one thing changed by so much."""
        part = {"strike": "lie" if name == "friction" else "delivery"}.get(of, of)
        things: dict[str, Any] = as_is | ({part: _changed(as_is[part], name, by)} if part in as_is else {})
        launch = strike(taken, things["delivery"], things["lie"], np.zeros(6), errors).launch
        launch = _changed(launch, name, by) if of == "launch" else launch
        speed, slope, held = (by if name == one else 0.0 for one in ("level_roll", "grade", "resistance"))
        ground = faster(replace(green, turf=things["turf"], **slope_along(grade + slope)), speed / METRES_PER_FOOT)
        ground = replace(ground, resistance=_changed(ground.resistance, "constant", held))
        return simulate(launch, ground, aerodynamics=things["air"])

    if not played().stops:
        raise ValueError(f"the ball does not stop on a green of {stimp_ft:g} ft and grade {grade:g}")
    rows, known = [], {said: sd for _, said, _, _, sd, _ in VARIED}["green speed"] / (stimp_ft * METRES_PER_FOOT)
    law = ("green", "resistance", "resistance", 1e-5, known * float(green.resistance.constant), "1")
    for of, said, name, step, sd, unit in (law, *VARIED):
        derivative = (played(of, name, step).rest_x - played(of, name, -step).rest_x) / (2 * step)
        rows.append((said, of, derivative, unit, sd))
    found = pd.DataFrame(rows, columns=["parameter", "of", "derivative", "unit", "uncertainty"])
    found["effect_m"] = (found["derivative"] * found["uncertainty"]).abs()
    return found.sort_values("effect_m", ascending=False, kind="stable").reset_index(drop=True)


def _changed(thing: Any, name: str, by: float) -> Any:
    """Return a thing with one of its numbers changed."""
    return replace(thing, **{name: float(np.asarray(getattr(thing, name))) + by})


def read_study(path: "str | Path") -> pd.DataFrame:
    r"""Read the result of the study of decision quality.

    Parameters
    ----------
    path : str or Path; the CSV that ``tests/studies/decision_quality.py`` wrote

    Returns
    -------
    DataFrame: a row for each way of deciding, least loss first: ``plan``, ``loss`` and ``se`` (strokes a chip over
        knowing the truth, and its standard error), ``loss_95`` (19 cases in 20 lose less), ``same_club`` (share of
        cases with the club that the truth would pick), ``cases``

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "study.csv"
    ...     _ = path.write_text("plan,loss,se,loss_95,same_club,cases\nhandbook,0.2,0.02,0.5,0.4,240\n")
    ...     float(read_study(path)["loss"].iloc[0])
    0.2
    """
    return read_sheet(path, STUDY).frame[list(STUDY.quantities)].sort_values("loss").reset_index(drop=True)
