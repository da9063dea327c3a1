"""Worked examples for the notebooks: each function asks the laws and returns a table to show or to draw.

No law stands here, only calls of those in the library. Columns are in SI units and radians unless their names say
otherwise; ``greens``, ``turfs`` and the like are things by name. The pages of the workbook are their examples.
"""

import itertools
from collections.abc import Mapping, Sequence
from dataclasses import replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import broadcast
from golfphys.core.units import FACTORS_TO_SI, METRES_PER_FOOT
from golfphys.formulas.flight import vacuum_carry
from golfphys.formulas.impact import slip_limit_ratio, spin_to_speed
from golfphys.formulas.rolling import deceleration
from golfphys.formulas.turf import dented_normal, rolling_speed, skid_distance, skid_time, turf_restitution
from golfphys.physics import ramp
from golfphys.physics.bounce import bounce
from golfphys.physics.club import BAG, LIES, TOUR_PLAYER, Club, Delivery, Launch, Lie, Player
from golfphys.physics.draws import stacked, stated
from golfphys.physics.flight import Aerodynamics, Air
from golfphys.physics.green import Green, Ground, Resistance, Turf
from golfphys.physics.ramp import GRAVITY, INERTIA, RADIUS, RELEASE_SPEED
from golfphys.physics.roll import distance_at_time, roll, speed_at_distance, stopping_distance, stopping_time
from golfphys.physics.rows import tilt_rate
from golfphys.physics.shot import Trace, simulate
from golfphys.physics.strike import delivered_loft, deviations, face_restitution, launch_from, low_point_window, strike
from golfphys.planning import world
from golfphys.show.check_book import check_counts, checks_of, closest_checks, read_check_book, read_not_checked
from golfphys.show.markup import fixed

LEVEL = Green.from_stimp(10.0)
PARTS = ("flight", "bounces", "skid", "roll")
PLAUSIBLE_DRAG, PLAUSIBLE_LIFT = (0.8, 1.2), (0.0, 2.0)  # ends, as factors
CHANGES = {"carry": "carry", "rest": "rest_x", "landing_side": "landing_y", "rest_side": "rest_y"}
CONTACTS = np.array(("clean", "heavy", "thin"))
SPEED = 8.0  # head speed of the strikes with errors, m/s


# --- rolling ---------------------------------------------------------------------------------------------------------
def without_grain(law: Resistance) -> Resistance:
    """Return a resistance as it is; refuse one with grain, whose rolls depend on their heading."""
    if law.grain:
        raise ValueError(f"the resistance has a grain of {law.grain:g}; expected one without")
    return law


def green_speeds(stimp_ft: Sequence[float]) -> pd.DataFrame:
    """Return what each green speed (ft) means, in words: resistance, slowing, time, slope that never stops a ball."""
    distance = np.asarray(stimp_ft, dtype=float) * METRES_PER_FOOT
    resistance = ramp.resistance_from_green_speed(distance)
    table = {
        "roll on the level (m)": distance.round(2),
        "resistance": resistance.round(4),
        "loses each second (m/s)": [round(deceleration(c, 0.0, GRAVITY, INERTIA), 2) for c in resistance],
        "rolls for (s)": stopping_time(RELEASE_SPEED, resistance).round(1),
        "slope that never stops a ball (%)": (100 * resistance).round(1),
    }
    return pd.DataFrame(table, index=pd.Index(stimp_ft, name="green speed (ft)"))


def same_reading(stimp_ft: float, *, growth: float) -> dict[str, Resistance]:
    """Return resistances constant, linear and quadratic in speed under which a ramp reads the same (`stimp_ft`).

    `growth` is the fraction by which resistance at the release speed exceeds that of a ball about to stop. On the
    level a roll is longer in the proportion in which all of resistance is less: one division meets the reading.
    """
    laws = {}
    for name, power in {"constant": 0, "linear": 1, "quadratic": 2}.items():
        terms = {name: growth / RELEASE_SPEED**power} if power else {}
        constant = stopping_distance(RELEASE_SPEED, 1.0, **terms) / (stimp_ft * METRES_PER_FOOT)
        laws[name] = Resistance(constant=constant, **{term: value * constant for term, value in terms.items()})
    return laws


def rolls_by_speed(greens: Mapping[str, Resistance], speeds: ArrayLike) -> pd.DataFrame:
    """Return how far a ball rolls on the level from each start speed (index) on each green (columns)."""
    speeds = np.asarray(speeds, dtype=float)
    columns = {name: np.asarray(roll(speeds, 0.0, without_grain(law)).x) for name, law in greens.items()}
    return pd.DataFrame(columns, index=pd.Index(speeds, name="speed"))


def two_way(green: Resistance, grades: ArrayLike) -> pd.DataFrame:
    """Return rolls ``up`` and ``down`` slopes (`grades`, not negative), their plain and two-way mean, and level."""
    grades = np.asarray(grades, dtype=float)
    up, down, level = (
        np.asarray(roll(RELEASE_SPEED, 0.0, without_grain(green), part * grades, fall).x)
        for part, fall in ((1.0, np.pi), (1.0, 0.0), (0.0, 0.0))
    )
    means = {"plain_mean": (up + down) / 2, "two_way_mean": ramp.two_way_mean(up, down)}
    return pd.DataFrame({"grade": grades, "up": up, "down": down, **means, "level": level})


def never_stops(stimp_ft: ArrayLike) -> pd.DataFrame:
    """Return the slope (deg) that never stops a ball against green speed: of a rolling ball, and of a point mass.

    Both are read from one roll: the same deceleration on the level is g c/(1 + k) for a rolling ball and g c for a mass
    that does not turn, so the point mass shows the smaller c, by the factor 1/(1 + k).
    """
    stimp_ft = np.asarray(stimp_ft, dtype=float)
    shown = {
        name: np.degrees(np.arctan(ramp.resistance_from_green_speed(stimp_ft * METRES_PER_FOOT, inertia=inertia)))
        for name, inertia in (("rolling_deg", INERTIA), ("point_mass_deg", 0.0))
    }
    return pd.DataFrame({"stimp_ft": stimp_ft, **shown})


def skid_motion(
    speed: float, topspin: float = 0.0, *, friction: float, resistance: float, rolled: float | None = None
) -> pd.DataFrame:
    """Return a ball's place, speed and rim speed against time on the level: skid, then roll.

    `speed` (m/s) and `topspin` (rad/s; backspin is negative) are those at the start; the roll is followed for `rolled`
    s, to rest if left out. Columns ``time``, ``place``, ``speed``, ``rim_speed`` (that the spin alone would roll with),
    ``skids``; during the skid between the ends that golfphys/derivations/turf.py gives, for both speeds change at
    steady rates.
    """
    end = rolling_speed(speed, topspin, RADIUS, INERTIA)
    lasts = skid_time(speed, topspin, friction, RADIUS, GRAVITY, INERTIA)
    skidded = skid_distance(speed, topspin, friction, RADIUS, GRAVITY, INERTIA)
    done = np.linspace(0.0, 1.0, 60)
    rim = RADIUS * topspin
    place = speed * done * lasts + (end - speed) * done**2 * lasts / 2
    columns = {"time": done * lasts, "place": place, "speed": speed + done * (end - speed)}
    skid = pd.DataFrame({**columns, "rim_speed": rim + done * (end - rim), "skids": True})
    after = np.linspace(0.0, stopping_time(abs(end), resistance) if rolled is None else rolled, 120)
    gone = distance_at_time(after, abs(end), resistance)
    then = np.sign(end) * speed_at_distance(gone, abs(end), resistance)
    columns = {"time": lasts + after, "place": skidded + np.sign(end) * gone, "speed": then}
    return pd.concat([skid, pd.DataFrame({**columns, "rim_speed": then, "skids": False})], ignore_index=True)


def skid_share(stimp_ft: Sequence[float], friction: ArrayLike) -> pd.DataFrame:
    """Return what fraction of a putt is skid, struck without spin on the level, by friction and green speed (ft)."""
    friction, speed = np.asarray(friction, dtype=float), 2.0  # m/s; at any other the fraction is the same
    skidded = np.array([skid_distance(speed, 0.0, mu, RADIUS, GRAVITY, INERTIA) for mu in friction])
    end = rolling_speed(speed, 0.0, RADIUS, INERTIA)
    rolled = {feet: stopping_distance(end, Green.from_stimp(feet).resistance.constant) for feet in stimp_ft}
    columns = {f"{feet:g} ft": skidded / (skidded + distance) for feet, distance in rolled.items()}
    return pd.DataFrame(columns, index=pd.Index(friction, name="friction"))


# --- the whole shot --------------------------------------------------------------------------------------------------
def chips_to(carry: float, *, bag: Mapping[str, Club] = BAG) -> dict[str, Launch]:
    """Return, for each club, the launch that lands the ball at `carry` (m): a tour player's, only its speed changed."""
    return world.chips_to(carry, stated(LEVEL, player=TOUR_PLAYER, bag=bag), "fairway")


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
    empty = broadcast(vacuum_carry, speed, angle, GRAVITY)
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
    batch = stacked(list(launches.values()))
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
    dented = broadcast(dented_normal, velocity[:, 0], 0.0, velocity[:, 2], 0.0, 0.0, 1.0, rate, turf.dent_speed)
    normal = np.stack(dented, axis=-1)
    approach = -np.sum(velocity * normal, axis=-1)
    slip = np.abs(velocity[:, 0] * normal[:, 2] - velocity[:, 2] * normal[:, 0] + RADIUS * w)
    fields = (turf.restitution, turf.restitution_linear, turf.restitution_quadratic, turf.restitution_limit_speed)
    returned = broadcast(turf_restitution, approach, *fields)
    limit = broadcast(slip_limit_ratio, returned, turf.friction, turf.tangential_restitution, 0.0, INERTIA)
    columns = {"speed": v, "angle": a, "backspin": w, "forward": after[:, 0], "up": after[:, 2]}
    tilt = np.arctan2(-normal[:, 0], normal[:, 2])
    return pd.DataFrame({**columns, "rim": RADIUS * spun[:, 1], "tilt": tilt, "grips": slip <= limit * approach})


def slide_limit(friction: ArrayLike, restitution: float) -> Any:
    """Return the steepest angle to an undented surface, rad, at which a ball without spin slides, by friction."""
    return np.arctan2(1.0, broadcast(slip_limit_ratio, restitution, friction, 0.0, 0.0, INERTIA))


def swapped(launches: Mapping[str, Launch]) -> pd.DataFrame:
    """Return how far single shots run with each other's backspin (columns), and none: angle and spin taken apart."""
    spins = {"no": 0.0} | {name: launch.backspin for name, launch in launches.items()}
    batches = {whose: [replace(one, backspin=spin) for one in launches.values()] for whose, spin in spins.items()}
    table = {f"{whose} spin": simulate(stacked(batch), LEVEL).run for whose, batch in batches.items()}
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


def struck(club: Club, lies: Mapping[str, Lie] = LIES, *, player: Player = TOUR_PLAYER, n: int = 400) -> pd.DataFrame:
    """Return strikes with a player's errors from each lie: what went wrong, what it was, how the ball left.

    Columns ``lie``, errors of the ``low_point`` along the line and of the ``height`` (m), ``contact`` (clean, heavy or
    thin), ``speed`` (m/s) and ``launch`` (rad) of the ball, ``backspin`` (rad/s), ``edge`` (m), ``speed_kept``.
    """
    z = np.random.default_rng(1).standard_normal((6, n))
    tables = [_swung(club, lie, z, player).assign(lie=name) for name, lie in lies.items()]
    return pd.concat(tables, ignore_index=True)


def contacts(club: Club, lie: Lie, *, player: Player = TOUR_PLAYER, points: int = 121) -> pd.DataFrame:
    """Return what errors of low point and height make of a strike, over a grid of four standard deviations each way.

    Columns as of `struck`, but for the lie; all else goes as meant.
    """
    grid, z = np.linspace(-4.0, 4.0, points), np.zeros((6, points * points))
    z[4], z[5] = (axis.ravel() for axis in np.meshgrid(grid, grid))
    return _swung(club, lie, z, player)


def _swung(club: Club, lie: Lie, z: NDArray[np.float64], player: Player) -> pd.DataFrame:
    """Return strikes whose errors are `z` standard deviations, a row of it for each kind."""
    errors = player.errors_with(club.name)
    *_, along, high = deviations(SPEED, lie, z, errors)
    found = strike(club, replace(player.delivery, speed=SPEED), lie, z, errors)
    launch: Any = found.launch
    what = {"low_point": along, "height": high, "contact": CONTACTS[found.contact]}
    left = {"speed": launch.speed, "launch": launch.angle, "backspin": launch.backspin, "edge": found.edge}
    return pd.DataFrame({**what, "speed_kept": found.speed_kept, **left})


def mishits(lies: Mapping[str, Lie] = LIES, *, player: Player = TOUR_PLAYER, n: int = 4000) -> pd.DataFrame:
    """Return how many in a hundred strikes are heavy or thin, a row for each club, a column for each lie."""
    strikes = {name: struck(club, lies, player=player, n=n).set_index("lie") for name, club in BAG.items()}
    missed = {name: table["contact"].ne("clean").groupby("lie", sort=False) for name, table in strikes.items()}
    return pd.DataFrame({name: 100.0 * shares.mean() for name, shares in missed.items()}).T


def rests(
    clubs: Mapping[str, Club],
    lies: Mapping[str, Lie],
    landing: float,
    *,
    ground: Green = LEVEL,
    player: Player = TOUR_PLAYER,
    n: int = 400,
) -> pd.DataFrame:
    """Return where a player's chips come to rest that are all meant to land at one distance (m), with her errors.

    Columns ``club``, ``lie``, ``x`` and ``y`` of the rest (m), ``contact``, ``head`` (m/s), the speed meant.
    """
    z, speeds, tables = np.random.default_rng(9).standard_normal((6, n)), np.geomspace(2.0, 20.0, 60), []
    for club_name, club in clubs.items():
        for lie_name, lie in lies.items():
            carries = simulate(launch_from(club, replace(player.delivery, speed=speeds), lie), ground).carry
            head = float(np.interp(landing, carries, speeds))
            found = strike(club, replace(player.delivery, speed=head), lie, z, player.errors_with(club.name))
            shots = simulate(found.launch, ground)
            row = {"club": club_name, "lie": lie_name, "head": head, "contact": CONTACTS[found.contact]}
            tables.append(pd.DataFrame(row | {"x": shots.rest_x, "y": shots.rest_y}))
    return pd.concat(tables, ignore_index=True)
