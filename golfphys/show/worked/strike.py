"""Worked strikes: clubs, lies and soles as tables."""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike

from golfphys.core import constants
from golfphys.core.units import FACTORS_TO_SI
from golfphys.formulas.impact import slip_limit_ratio
from golfphys.formulas.strike import spin_to_speed
from golfphys.physics.club import BAG, LIES, Club, Delivery, Lie, Player
from golfphys.physics.green import Green
from golfphys.physics.shot import simulate
from golfphys.physics.sole import effective_bounce, low_point_window
from golfphys.physics.strike import delivered_loft, deviations, face_restitution, launch_from, strike
from golfphys.physics.usual import TOUR_PLAYER
from golfphys.show.markup import fixed

RADIUS = constants.BALL_RADIUS.value
INERTIA = constants.BALL_INERTIA.value
LEVEL = Green.from_stimp(10.0)
SPEED = 8.0
"""Head speed of the strikes with errors, m/s."""


def strikes(
    delivery: Delivery, *, bag: Mapping[str, Club] = BAG, lies: Mapping[str, Lie] = LIES, ground: Green = LEVEL
) -> pd.DataFrame:
    """Return what one motion gives with each club from each lie, launch to rest.

    Columns ``club``, ``lie``, ``loft`` as delivered, ``attack``, ``launch`` (rad), ``speed`` (m/s), ``backspin``
    (rad/s), ``rim_ratio`` (rim speed over ball speed), ``identity`` (what the angles alone make of it), ``toward_face``
    (fraction of the angle from path to face at which the ball leaves), ``grips``, ``carry`` and ``run`` (m).

    Examples
    --------
    >>> table = strikes(Delivery(speed=9.0))
    >>> bool(np.allclose(table["rim_ratio"], table["identity"]))
    True
    """
    rows = []
    for (name, club), (called, lie) in itertools.product(bag.items(), lies.items()):
        launch, loft = launch_from(club, delivery, lie), delivered_loft(club, delivery)
        angle, spin, speed = (float(np.asarray(x)) for x in (launch.angle, launch.backspin, launch.speed))
        shot, identity = simulate(launch, ground), spin_to_speed(loft, angle, INERTIA)
        row = {"club": name, "lie": called, "loft": loft, "launch": angle, "speed": speed, "backspin": spin}
        row |= {"identity": identity, "grips": grips(club, delivery, lie)}
        rows.append(row | {"carry": shot.carry, "run": shot.roll_distance})
    table = pd.DataFrame(rows).assign(attack=float(np.asarray(delivery.attack)))
    table["toward_face"] = (table["launch"] - table["attack"]) / (table["loft"] - table["attack"])
    return table.assign(rim_ratio=RADIUS * table["backspin"] / table["speed"])


def grips(club: Club, delivery: Delivery, lie: Lie) -> bool:
    """Return whether the face grips the ball, rather than slip under it, with a square face.

    Examples
    --------
    >>> wedge, swing = BAG["sand wedge"], Delivery(speed=9.0)
    >>> grips(wedge, swing, LIES["tight"]), grips(wedge, swing, LIES["wet"])
    (True, False)
    """
    return float(np.asarray(lie.friction)) >= friction_to_grip(club, delivery, lie)


def friction_to_grip(club: Club, delivery: Delivery, lie: Lie) -> float:
    """Return the least friction between face and ball at which the face grips, with a square face.

    The slip at the face over its approach grows as the tangent of the spin loft; of the lie, its cushion is used.

    Examples
    --------
    >>> 0.2 < friction_to_grip(BAG["sand wedge"], Delivery(speed=9.0), LIES["tight"]) < 0.35
    True
    """
    spin_loft = float(delivered_loft(club, delivery)) - float(np.asarray(delivery.attack))
    approach = float(np.asarray(delivery.speed)) * np.cos(spin_loft)
    restitution = face_restitution(approach) * (1.0 - lie.cushion)
    tangential, ratio = constants.FACE_TANGENTIAL_RESTITUTION.value, constants.BALL_MASS.value / club.head_mass
    return float(np.tan(spin_loft)) / slip_limit_ratio(restitution, 1.0, tangential, ratio, INERTIA)


def friction_limits(bag: Mapping[str, Club], delivery: Delivery) -> pd.Series:
    """Return for each club the least friction at which its face grips, from a clean lie.

    Examples
    --------
    >>> bool(friction_limits(BAG, Delivery(speed=9.0)).is_monotonic_increasing)
    True
    """
    return pd.Series({name: friction_to_grip(club, delivery, LIES["tight"]) for name, club in bag.items()})


def strike_words(table: pd.DataFrame) -> pd.DataFrame:
    """Return rows of `strikes` to be read: headings in words, with units.

    Examples
    --------
    >>> list(strike_words(strikes(Delivery(speed=9.0))).columns)[:3]
    ['club', 'lie', 'loft as delivered (deg)']
    """
    columns = {
        "loft as delivered (deg)": fixed(np.degrees(table["loft"]), 0),
        "launch (deg)": fixed(np.degrees(table["launch"]), 0),
        "ball speed (m/s)": fixed(table["speed"]),
        "backspin (rpm)": fixed(table["backspin"] / FACTORS_TO_SI["rpm"], 0),
        "the face": ["grips" if held else "slips" for held in table["grips"]],
        "carry (m)": fixed(table["carry"]),
        "run (m)": fixed(table["run"]),
    }
    return table[["club", "lie"]].reset_index(drop=True).assign(**columns)


def over_friction(club: Club, delivery: Delivery, frictions: ArrayLike) -> pd.DataFrame:
    """Return what friction between face and ball makes of one strike.

    Columns ``friction``, ``launch`` (rad), ``backspin`` (rad/s), ``run`` (m), ``grips``.

    Examples
    --------
    >>> table = over_friction(BAG["sand wedge"], Delivery(speed=9.0), [0.1, 0.2, 0.4])
    >>> bool(table["backspin"].is_monotonic_increasing), bool(table["launch"].is_monotonic_decreasing)
    (True, True)
    """
    rows = []
    for friction in np.atleast_1d(np.asarray(frictions, dtype=float)).tolist():
        lie = Lie(name="any", friction=friction)
        launch = launch_from(club, delivery, lie)
        run = simulate(launch, LEVEL).roll_distance
        rows.append((friction, launch.angle, launch.backspin, run, grips(club, delivery, lie)))
    return pd.DataFrame(rows, columns=["friction", "launch", "backspin", "run", "grips"])


def spin_rule(table: pd.DataFrame) -> pd.Series:
    """Return backspin by the trade's rule, 160 rpm for each mph times the sine of the spin loft (second-hand), rad/s.

    Of rows of `strikes` whose delivery's speed stands in ``head_speed``.

    Examples
    --------
    >>> row = strikes(Delivery(speed=9.0)).head(1).assign(head_speed=9.0)
    >>> float((row["backspin"] / spin_rule(row)).round(1).iloc[0])
    1.0
    """
    mph = table["head_speed"] / FACTORS_TO_SI["mph"]
    rpm = 160.0 * mph * np.sin(table["loft"] - table["attack"])
    return pd.Series(rpm * FACTORS_TO_SI["rpm"], index=table.index, name="rule")


# --- the sole --------------------------------------------------------------------------------------------------------
def bounce_left(leans: ArrayLike, *, bag: Mapping[str, Club] = BAG, openings: Sequence[float] = (0.0,)) -> pd.DataFrame:
    """Return the ``bounce`` angle that a shaft leaning by `leans` leaves, for each club and opening of the face (rad).

    Examples
    --------
    >>> table = bounce_left([0.0], bag={"sand wedge": BAG["sand wedge"]})
    >>> round(float(np.degrees(table["bounce"].iloc[0])))
    11
    """
    lean = np.atleast_1d(np.asarray(leans, dtype=float))
    tables = []
    for (name, club), opening in itertools.product(bag.items(), openings):
        left = effective_bounce(club, Delivery(speed=1.0, shaft_lean=lean, face_opening=opening))
        tables.append(pd.DataFrame({"club": name, "opening": opening, "lean": lean, "bounce": left}))
    return pd.concat(tables, ignore_index=True)


def windows(club: Club, delivery: Delivery, leans: ArrayLike, lies: Mapping[str, Lie] = LIES) -> pd.DataFrame:
    """Return how far the low point may lie off the one meant, from each lie, for several leans of the shaft (rad).

    Columns ``lie``, ``lean`` (rad), ``dig``, ``thin``, ``room`` (m; errors positive towards the target), ``bounce``
    (rad), ``fits`` and ``digs``: whether the near end is a dig at all, and not a thin by the rising head.

    Examples
    --------
    >>> table = windows(BAG["sand wedge"], Delivery(speed=8.0), [0.14], {"tight": LIES["tight"]})
    >>> bool(table["fits"].iloc[0])
    True
    """
    lean = np.atleast_1d(np.asarray(leans, dtype=float))
    tables = []
    for name, lie in lies.items():
        found = low_point_window(club, replace(delivery, shaft_lean=lean), lie)
        # the head rises behind its low point as it does ahead of it: a nearer end than that is a dig
        rises = -found.thin - 2 * found.low_point
        columns = {"dig": found.dig, "thin": found.thin, "room": found.room, "bounce": found.effective_bounce}
        digs = ~np.isclose(found.dig, rises, rtol=0.0, atol=1e-9)
        tables.append(pd.DataFrame({"lie": name, "lean": lean, **columns, "fits": found.fits, "digs": digs}))
    return pd.concat(tables, ignore_index=True)


# --- strikes with errors ---------------------------------------------------------------------------------------------
def struck(
    club: Club, lies: Mapping[str, Lie] = LIES, *, speed: float = SPEED, player: Player = TOUR_PLAYER, n: int = 400
) -> pd.DataFrame:
    """Return strikes with a player's errors from each lie: what went wrong, what it was, how the ball left.

    Columns ``lie``, errors of the ``low_point`` along the line and of the ``height`` (m), ``contact`` (clean, heavy or
    thin), ``speed`` (m/s) and ``launch`` (rad) of the ball, ``backspin`` (rad/s), ``edge`` (m), ``speed_kept``.

    Examples
    --------
    >>> table = struck(BAG["lob wedge"], {"tight": LIES["tight"]}, n=50)
    >>> table["contact"].value_counts().index[0]
    'clean'
    """
    z = np.random.default_rng(1).standard_normal((6, n))
    swing = replace(player.delivery, speed=speed)
    tables = []
    for name, lie in lies.items():
        errors = player.errors_with(club.name)
        wrong, found = deviations(speed, lie, z, errors), strike(club, swing, lie, z, errors)
        launch: dict[str, Any] = {
            "speed": found.launch.speed,
            "launch": found.launch.angle,
            "backspin": found.launch.backspin,
        }
        tables.append(_errors(wrong, found).assign(lie=name, **launch, edge=found.edge))
    return pd.concat(tables, ignore_index=True)


def contacts(club: Club, lie: Lie, *, player: Player = TOUR_PLAYER, points: int = 121) -> pd.DataFrame:
    """Return what errors of low point and height make of a strike, over a grid of four standard deviations each way.

    Columns ``low_point`` and ``height`` (errors, m), ``contact``, ``speed_kept``; all else goes as meant.

    Examples
    --------
    >>> sorted(set(contacts(BAG["lob wedge"], LIES["tight"], points=21)["contact"]))
    ['clean', 'heavy', 'thin']
    """
    grid = np.linspace(-4.0, 4.0, points)
    z = np.zeros((6, points * points))
    z[4], z[5] = (axis.ravel() for axis in np.meshgrid(grid, grid))
    wrong = deviations(SPEED, lie, z, player.errors_with(club.name))
    found = strike(club, replace(player.delivery, speed=SPEED), lie, z, player.errors_with(club.name))
    return _errors(wrong, found)


def _errors(wrong: Sequence[Any], found: Any) -> pd.DataFrame:
    """Return errors of the low point, and what they made of strikes."""
    what = {"contact": _contact_words(found.contact), "speed_kept": found.speed_kept}
    return pd.DataFrame({"low_point": wrong[4], "height": wrong[5], **what})


def _contact_words(contact: ArrayLike) -> list[str]:
    """Name contacts."""
    return [("clean", "heavy", "thin")[int(number)] for number in np.asarray(contact)]


def mishits(lies: Mapping[str, Lie] = LIES, *, player: Player = TOUR_PLAYER, n: int = 4000) -> pd.DataFrame:
    """Return how many in a hundred strikes are heavy or thin, a row for each club, a column for each lie.

    Examples
    --------
    >>> table = mishits({"tight": LIES["tight"]}, n=500)
    >>> bool(table.loc["lob wedge", "tight"] > table.loc["8-iron", "tight"])
    True
    """
    rows = {}
    for name, club in BAG.items():
        table = struck(club, lies, player=player, n=n)
        rows[name] = 100.0 * (table["contact"] != "clean").groupby(table["lie"], sort=False).mean()
    return pd.DataFrame(rows).T


def rests(
    clubs: Mapping[str, Club], lies: Mapping[str, Lie], landing: float, *, ground: Green = LEVEL, n: int = 400
) -> pd.DataFrame:
    """Return where a tour player's chips come to rest that are all meant to land at one distance (m), with her errors.

    Columns ``club``, ``lie``, ``x`` and ``y`` of the rest (m), ``contact``, ``head`` (m/s), the speed meant.

    Examples
    --------
    >>> table = rests({"9-iron": BAG["9-iron"]}, {"fairway": LIES["fairway"]}, 6.0, n=20)
    >>> bool(6.0 < table["x"].median() < 25.0)
    True
    """
    player = TOUR_PLAYER
    z, speeds, tables = np.random.default_rng(9).standard_normal((6, n)), np.geomspace(2.0, 20.0, 60), []
    for club_name, club in clubs.items():
        for lie_name, lie in lies.items():
            carries = simulate(launch_from(club, replace(player.delivery, speed=speeds), lie), ground).carry
            head = float(np.interp(landing, carries, speeds))
            found = strike(club, replace(player.delivery, speed=head), lie, z, player.errors_with(club.name))
            shots = simulate(found.launch, ground)
            row = {"club": club_name, "lie": lie_name, "head": head, "contact": _contact_words(found.contact)}
            tables.append(pd.DataFrame(row | {"x": shots.rest_x, "y": shots.rest_y}))
    return pd.concat(tables, ignore_index=True)
