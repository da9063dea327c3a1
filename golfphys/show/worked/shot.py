"""Worked shots: strikes, flight, bounce and the whole shot as tables."""

# ruff: noqa: I001  # several lines for a module with many names
import itertools
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast
from golfphys.core.units import FACTORS_TO_SI
from golfphys.formulas.flight import vacuum_carry
from golfphys.formulas.impact import slip_limit_ratio, spin_to_speed
from golfphys.formulas.turf import dented_normal, turf_restitution
from golfphys.physics.bounce import bounce
from golfphys.physics.club import BAG, LIES, Club, Delivery, Launch, Lie, Player
from golfphys.physics.draws import stated
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, Turf
from golfphys.physics.rows import tilt_rate
from golfphys.physics.shot import Trace, simulate
from golfphys.physics.strike import delivered_loft, deviations, face_restitution, launch_from
from golfphys.physics.strike import low_point_window, strike
from golfphys.physics.club import TOUR_PLAYER
from golfphys.planning import world
from golfphys.show.markup import fixed

GRAVITY = constants.GRAVITY.value
RADIUS = constants.BALL_RADIUS.value
INERTIA = constants.BALL_INERTIA.value
LEVEL = Green.from_stimp(10.0)
PARTS = ("flight", "bounces", "skid", "roll")
PLAUSIBLE_DRAG, PLAUSIBLE_LIFT = (0.8, 1.2), (0.0, 2.0)  # ends, as factors
CHANGES = {"carry": "carry", "rest": "rest_x", "landing_side": "landing_y", "rest_side": "rest_y"}
SPEED = 8.0  # head speed of the strikes with errors, m/s


def chips_to(carry: float, *, bag: Mapping[str, Club] = BAG) -> dict[str, Launch]:
    """Return, for each club, the launch that lands the ball at `carry` (m): a tour player's, only its speed changed."""
    return world.chips_to(carry, stated(LEVEL, player=TOUR_PLAYER, bag=bag), "fairway")


def _joined(launches: Collection[Launch]) -> Launch:
    """Return single launches as one batch."""
    names = ("speed", "angle", "backspin", "direction", "sidespin")
    return Launch(*(np.array([float(np.asarray(getattr(one, name))) for one in launches]) for name in names))


def parts(paths: Mapping[str, Trace]) -> pd.DataFrame:
    """Return the distance along the line that each of `PARTS` of shots makes, and its time (``flight_time``, ...)."""
    rows = {}
    for name, path in paths.items():
        doing = part_of_each_step(path)
        steps, times = np.diff(path.x), np.diff(path.time)
        rows[name] = {part: float(steps[doing == part].sum()) for part in PARTS}
        rows[name] |= {f"{part}_time": float(times[doing == part].sum()) for part in PARTS}
    return pd.DataFrame.from_dict(rows, orient="index").rename_axis("shot")


def part_of_each_step(path: Trace) -> NDArray[np.str_]:
    """Return which of `PARTS` each step of a path belongs to: flight is over with the first landing."""
    first = path.time[1:] <= path.shot.flight_time + 1e-9
    return np.where((path.phase[1:] == "flight") & ~first, "bounces", path.phase[1:])


def over_edge(launches: Launch, grounds: Mapping[str, Green | Ground]) -> pd.DataFrame:
    """Return where a batch of shots comes to rest on several grounds (columns), by landing distance on the first."""
    played = {name: simulate(launches, ground) for name, ground in grounds.items()}
    landing = next(iter(played.values())).landing_x
    return pd.DataFrame({name: shots.rest_x for name, shots in played.items()}, index=pd.Index(landing, name="landing"))


# --- flight ----------------------------------------------------------------------------------------------------------
def air_effect(speeds: ArrayLike, *, angle: float, spin_ratio: float) -> pd.DataFrame:
    """Return the carry of launches over that of the vacuum parabola, with its range over plausible drag and lift.

    By speed (m/s), at a launch angle (rad) and rim speed over launch speed. Columns ``vacuum`` and ``carry`` (m), and
    over the vacuum's ``share``, ``low``, ``high``.
    """
    speed = np.asarray(speeds, dtype=float)
    launch = Launch(speed, np.full(speed.shape, angle), spin_ratio * speed / RADIUS)
    empty = broadcast(lambda v: vacuum_carry(v, angle, GRAVITY), speed)
    carry = simulate(launch, LEVEL).carry
    corners = [
        simulate(launch, LEVEL, aerodynamics=Aerodynamics(drag_scale=drag, lift_scale=lift)).carry / empty
        for drag, lift in itertools.product(PLAUSIBLE_DRAG, PLAUSIBLE_LIFT)
    ]
    columns = {"vacuum": empty, "carry": carry, "share": carry / empty}
    ends = {"low": np.min(corners, axis=0), "high": np.max(corners, axis=0)}
    return pd.DataFrame(columns | ends, index=pd.Index(speed, name="speed"))


def conditions(
    launches: Mapping[str, Launch], airs: Mapping[str, Air], *, aerodynamics: Aerodynamics | None = None
) -> pd.DataFrame:
    """Return what other air than still standard air changes of single shots: a row for each ``shot`` and ``air``.

    ``carry_change``, ``rest_change``, and to the left ``landing_side_change`` and ``rest_side_change``, m.
    """
    batch = _joined(launches.values())
    still = simulate(batch, LEVEL, aerodynamics=aerodynamics)
    rows = []
    for name, air in airs.items():
        there = simulate(batch, LEVEL, air=air, aerodynamics=aerodynamics)
        changes = {f"{name}_change": getattr(there, at) - getattr(still, at) for name, at in CHANGES.items()}
        rows.append(pd.DataFrame({"shot": list(launches), "air": name, **changes}))
    return pd.concat(rows, ignore_index=True)


# --- bounce ----------------------------------------------------------------------------------------------------------
def bounces(speed: ArrayLike, angle: ArrayLike, backspin: ArrayLike, *, turf: Turf | None = None) -> pd.DataFrame:
    """Return what one bounce on level, rigid turf makes of landings (m/s, rad below level, backspin in rad/s).

    Columns ``speed``, ``angle``, ``backspin`` at landing; after it ``forward`` and ``up`` (m/s) and ``rim``, the speed
    that its spin would roll with (m/s; negative is backspin); ``tilt`` of the dent (rad); and ``grips``.
    """
    turf = turf or Turf()
    v, a, w = (np.ravel(x).astype(float) for x in np.broadcast_arrays(speed, angle, backspin))
    zero = np.zeros_like(v)
    velocity, spin = np.stack([v * np.cos(a), zero, -v * np.sin(a)], -1), np.stack([zero, -w, zero], -1)
    after, spun = bounce(velocity, spin, turf)
    rate = float(tilt_rate(turf.tilt, turf.dent_speed))
    dented = broadcast(
        lambda x, z: dented_normal(x, 0.0, z, 0.0, 0.0, 1.0, rate, turf.dent_speed), velocity[:, 0], velocity[:, 2]
    )
    normal = np.stack(dented, axis=-1)
    approach = -np.sum(velocity * normal, axis=-1)
    slip = np.abs(velocity[:, 0] * normal[:, 2] - velocity[:, 2] * normal[:, 0] + RADIUS * w)
    fields = (turf.restitution, turf.restitution_linear, turf.restitution_quadratic, turf.restitution_limit_speed)
    returned = broadcast(lambda falling: turf_restitution(falling, *fields), approach)
    limit = broadcast(lambda e: slip_limit_ratio(e, turf.friction, turf.tangential_restitution, 0.0, INERTIA), returned)
    columns = {"speed": v, "angle": a, "backspin": w, "forward": after[:, 0], "up": after[:, 2]}
    tilt = np.arctan2(-normal[:, 0], normal[:, 2])
    return pd.DataFrame({**columns, "rim": RADIUS * spun[:, 1], "tilt": tilt, "grips": slip <= limit * approach})


def slide_limit(friction: ArrayLike, restitution: float) -> Any:
    """Return the steepest angle to an undented surface, rad, at which a ball without spin slides, by friction."""
    ratio = broadcast(lambda mu: slip_limit_ratio(restitution, mu, 0.0, 0.0, INERTIA), friction)
    return np.arctan2(1.0, ratio)


def swapped(launches: Mapping[str, Launch]) -> pd.DataFrame:
    """Return how far single shots run with each other's backspin (columns), and none: angle and spin taken apart."""
    spins = {"no": 0.0} | {name: launch.backspin for name, launch in launches.items()}
    table = {}
    for whose, spin in spins.items():
        batch = _joined([replace(launch, backspin=spin) for launch in launches.values()])
        table[f"{whose} spin"] = simulate(batch, LEVEL).run
    return pd.DataFrame(table, index=pd.Index(list(launches), name="launch"))


# --- strikes ----------------------------------------------------------------------------------------------------------
def strikes(
    delivery: Delivery, *, bag: Mapping[str, Club] = BAG, lies: Mapping[str, Lie] = LIES, ground: Green = LEVEL
) -> pd.DataFrame:
    """Return what one motion gives with each club from each lie, launch to rest.

    Columns ``club``, ``lie``, ``loft`` as delivered, ``attack``, ``launch`` (rad), ``speed`` (m/s), ``backspin``
    (rad/s), ``rule`` (backspin by the trade's rule, 160 rpm for each mph times the sine of the spin loft, second-hand),
    ``rim_ratio`` (rim speed over ball speed), ``identity`` (what the angles alone make of it), ``toward_face``
    (fraction of the angle from path to face at which the ball leaves), ``friction`` of the lie and ``to_grip`` (the
    least with which the face grips), ``grips``, ``carry`` and ``run`` (m).
    """
    rows = []
    for (name, club), (called, lie) in itertools.product(bag.items(), lies.items()):
        launch, loft = launch_from(club, delivery, lie), delivered_loft(club, delivery)
        angle, spin, speed = (float(np.asarray(x)) for x in (launch.angle, launch.backspin, launch.speed))
        shot, identity = simulate(launch, ground), spin_to_speed(loft, angle, INERTIA)
        row = {"club": name, "lie": called, "loft": loft, "launch": angle, "speed": speed, "backspin": spin}
        row |= {"identity": identity, "friction": lie.friction, "to_grip": friction_to_grip(club, delivery, lie)}
        rows.append(row | {"carry": shot.carry, "run": shot.run})
    table = pd.DataFrame(rows).assign(attack=float(np.asarray(delivery.attack)))
    spin_loft, mph = table["loft"] - table["attack"], float(np.asarray(delivery.speed)) / FACTORS_TO_SI["mph"]
    table["toward_face"] = (table["launch"] - table["attack"]) / spin_loft
    table["rule"] = 160.0 * FACTORS_TO_SI["rpm"] * mph * np.sin(spin_loft)
    return table.assign(
        rim_ratio=RADIUS * table["backspin"] / table["speed"], grips=table["friction"] >= table["to_grip"]
    )


def friction_to_grip(club: Club, delivery: Delivery, lie: Lie) -> float:
    """Return the least friction between face and ball at which the face grips, with a square face.

    The slip at the face over its approach grows as the tangent of the spin loft; of the lie, its cushion is used.
    """
    spin_loft = float(delivered_loft(club, delivery)) - float(np.asarray(delivery.attack))
    approach = float(np.asarray(delivery.speed)) * np.cos(spin_loft)
    restitution = face_restitution(approach) * (1.0 - lie.cushion)
    tangential, ratio = constants.FACE_TANGENTIAL_RESTITUTION.value, constants.BALL_MASS.value / club.head_mass
    return float(np.tan(spin_loft)) / slip_limit_ratio(restitution, 1.0, tangential, ratio, INERTIA)


def strike_words(table: pd.DataFrame) -> pd.DataFrame:
    """Return rows of `strikes` to be read: headings in words, with units."""
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


# --- the sole --------------------------------------------------------------------------------------------------------
def windows(club: Club, delivery: Delivery, leans: ArrayLike, lies: Mapping[str, Lie] = LIES) -> pd.DataFrame:
    """Return how far the low point may lie off the one meant, from each lie, for several leans of the shaft (rad).

    Columns ``lie``, ``lean`` (rad), ``dig``, ``thin``, ``room`` (m; errors positive towards the target), ``bounce``
    (rad), ``fits`` and ``digs``: whether the near end is a dig at all, and not a thin by the rising head.
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
    """
    z = np.random.default_rng(1).standard_normal((6, n))
    tables = [_swung(club, lie, z, player, speed).assign(lie=name) for name, lie in lies.items()]
    return pd.concat(tables, ignore_index=True)


def contacts(club: Club, lie: Lie, *, player: Player = TOUR_PLAYER, points: int = 121) -> pd.DataFrame:
    """Return what errors of low point and height make of a strike, over a grid of four standard deviations each way.

    Columns as of `struck`, but for the lie; all else goes as meant.
    """
    grid, z = np.linspace(-4.0, 4.0, points), np.zeros((6, points * points))
    z[4], z[5] = (axis.ravel() for axis in np.meshgrid(grid, grid))
    return _swung(club, lie, z, player, SPEED)


def _swung(club: Club, lie: Lie, z: NDArray[np.float64], player: Player, speed: float) -> pd.DataFrame:
    """Return strikes whose errors are `z` standard deviations, a row of it for each kind."""
    errors = player.errors_with(club.name)
    wrong, found = (
        deviations(speed, lie, z, errors),
        strike(club, replace(player.delivery, speed=speed), lie, z, errors),
    )
    left, what = found.launch, {"contact": _contact_words(found.contact), "speed_kept": found.speed_kept}
    launch: dict[str, Any] = {"speed": left.speed, "launch": left.angle, "backspin": left.backspin, "edge": found.edge}
    return pd.DataFrame({"low_point": wrong[4], "height": wrong[5], **what, **launch})


def _contact_words(contact: ArrayLike) -> list[str]:
    """Name contacts."""
    return [("clean", "heavy", "thin")[int(number)] for number in np.asarray(contact)]


def mishits(lies: Mapping[str, Lie] = LIES, *, player: Player = TOUR_PLAYER, n: int = 4000) -> pd.DataFrame:
    """Return how many in a hundred strikes are heavy or thin, a row for each club, a column for each lie."""
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
