"""A chip log of an invented player on an invented course."""

import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.formulas.flight import vacuum_carry
from golfphys.invented.rollouts import CourseTruth
from golfphys.physics.club import BAG, LIES, Club, Launch, Lie, Player
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, Ground, Resistance, Strip
from golfphys.physics.players import TOUR_PLAYER
from golfphys.physics.shot import BUMPS, simulate
from golfphys.physics.strike import Contact, launch_from, strike
from golfphys.physics.usual import LOCAL_SLOPE
from golfphys.sheets import ChipSheet, completed

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class Station:
    """A place to chip from.

    Parameters
    ----------
    spot : str
        The spot of the course that the ball lands on.
    heading : float
        Line of play, rad, clockwise from the reference line.
    edge : float
        Distance from the ball to the edge of the green, m.

    Examples
    --------
    >>> Station(spot="home-left", heading=0.0).edge
    2.0
    """

    spot: str
    heading: float
    edge: float = 2.0


@dataclass(frozen=True, kw_only=True)
class ChipDesign:
    """Which chips are played, and what is seen of them.

    Parameters
    ----------
    stations : tuple of Station
        Where from; they take turns.
    clubs, lies : tuple of str
        Names of `golfphys.physics.club.BAG` and `golfphys.physics.club.LIES`, or of the mappings given to
        `make_chips`; every club is
        played from every lie.
    repeats : int
        Chips with each club from each lie.
    target_low, target_high : float
        Carries aimed for, m: between the two.
    ladder : bool
        Each club goes up from the one to the other in even steps, the lies in turn; if not, carries are drawn evenly.
    landing_scatter, rest_scatter : float
        Standard deviation of a spotted landing and of a measured rest, m.
    time_scatter : float
        Standard deviation of a hang time, s.
    seen : mapping of str to float
        Share of the chips for which a quantity is noted; those not named are always noted, but ``hop_time`` never: that
        takes a recording.
    local_slope : float
        Standard deviation of the slope that a ball meets at a landing, rise over run: no green is even.
    run_scatter : float
        Standard deviation of the way from landing to rest, over that way, for reasons of its own.
    landings_as_drawn : bool
        Let every chip land where the target and the errors of the strike put it in a vacuum, as by a player who sees
        the slope and knows the air. If not, she takes the head speed that carries to the target on the level, and the
        slope, and what errors of angle and spin do in the air, move the landing besides.
    mis_hits_noted : float
        Share of the thin and heavy strikes that are noted as what they were.
    fringe : Resistance
        Rolling resistance of the ground before the green.
    first_at : datetime or None
        Time of the first chip, the others follow a minute apart; None leaves the times out.

    Examples
    --------
    >>> ChipDesign(stations=(Station(spot="home-left", heading=0.0),)).repeats
    5
    """

    stations: tuple[Station, ...]
    clubs: tuple[str, ...] = ("8-iron", "pitching wedge", "sand wedge", "lob wedge")
    lies: tuple[str, ...] = ("fairway", "light rough")
    repeats: int = 5
    target_low: float = 3.5
    target_high: float = 12.0
    ladder: bool = False
    landing_scatter: float = 0.12
    rest_scatter: float = 0.03
    time_scatter: float = 0.02
    seen: Mapping[str, float] | None = None
    local_slope: float = LOCAL_SLOPE
    run_scatter: float = 0.0
    landings_as_drawn: bool = False
    mis_hits_noted: float = 0.7
    fringe: Resistance = Resistance(constant=0.18)
    first_at: datetime | None = None


USUALLY_SEEN: Mapping[str, float] = {
    "carry": 0.92,
    "landing_side": 0.5,
    "hang_time": 0.5,
    "first_hop": 0.25,
    "side": 0.9,
}
"""Share of chips for which a coach notes each quantity; invented."""

HEAD_SPEEDS = np.linspace(2.0, 22.0, 81)


def make_chips(
    truth: CourseTruth,
    design: ChipDesign,
    rng: int | np.random.Generator,
    *,
    player: Player = TOUR_PLAYER,
    clubs: Mapping[str, Club] = BAG,
    lies: Mapping[str, Lie] = LIES,
    aerodynamics: Aerodynamics | None = None,
) -> ChipSheet:
    """Make the chip log that an invented player would have brought home.

    The player chooses the head speed that carries to the target, and errs at the strike, club by club where she has it
    so: heavy and thin strikes come about as they do on grass, by the sole and the soil.

    Parameters
    ----------
    truth : CourseTruth
        The course.
    design : ChipDesign
        The chips.
    rng : int or numpy.random.Generator
        Seed or generator of the scatter.
    player : Player
        Delivery and errors of the strike.
    clubs, lies : mapping
        Clubs and lies by name.
    aerodynamics : Aerodynamics, optional
        Drag and lift of the ball.

    Returns
    -------
    ChipSheet
        As a reader would return it; ``row`` counts from 2.

    Raises
    ------
    ValueError
        If a station's spot is not of the course, a club or lie is unknown, or a chip would never come to rest.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> design = ChipDesign(stations=(Station(spot="home-left", heading=0.0),), clubs=("sand wedge",), repeats=2)
    >>> len(make_chips(truth, design, 1).chips)
    4
    """
    _check_known(design, clubs, lies)
    generator = np.random.default_rng(rng)
    plays = [(club, lie) for club in design.clubs for lie in design.lies for _ in range(design.repeats)]
    stations = [design.stations[index % len(design.stations)] for index in range(len(plays))]
    targets = _targets(design, generator)
    speeds = _speed_tables(truth, player, {name: clubs[name] for name in design.clubs}, lies, design, aerodynamics)
    rows = []
    for (club, lie), station, target in zip(plays, stations, targets.tolist(), strict=True):
        head_speed = float(np.interp(target, speeds[club, lie], HEAD_SPEEDS))
        delivery = replace(player.delivery, speed=head_speed)
        meant = launch_from(clubs[club], delivery, lies[lie], ball=truth.ball)
        struck = strike(
            *(clubs[club], delivery, lies[lie], generator.standard_normal(6), player.errors_with(club)), ball=truth.ball
        )
        launch, ground = struck.launch, _ground(station, truth, design)
        if design.landings_as_drawn:
            carry, aimed = (vacuum_carry(*_angled(item), constants.GRAVITY.value) for item in (launch, meant))
            launch = _landing_at(target * carry / aimed, launch, ground, truth.ball, aerodynamics)
        bumps = generator.standard_normal((BUMPS, 2))
        seen = _played(launch, station.spot, ground, truth.ball, aerodynamics, bumps)
        uneven = 1.0 + design.run_scatter * generator.standard_normal()
        seen["rest"] = seen["carry"] + uneven * (seen["rest"] - seen["carry"])
        noted = struck.contact != Contact.CLEAN and generator.random() < design.mis_hits_noted
        strike_noted = Contact(struck.contact).name.lower() if noted else ""
        noted_rest = _noted(seen, station, target, design, generator)
        rows.append({"club": club, "lie": lie, "strike": strike_noted, **noted_rest})
    order = generator.permutation(len(rows))
    chips = pd.DataFrame([rows[index] for index in order])
    return ChipSheet(chips=_completed(chips, design.first_at), notes=[], path="made by golfphys.invented", comments=[])


def _targets(design: ChipDesign, generator: np.random.Generator) -> np.ndarray:
    """Return the carries aimed for, m, in the order in which clubs, lies and repeats are counted."""
    shape = (len(design.clubs), len(design.lies), design.repeats)
    if not design.ladder:
        return generator.uniform(design.target_low, design.target_high, math.prod(shape)).round(1)
    steps = np.linspace(design.target_low, design.target_high, design.repeats * len(design.lies))
    by_lie = steps.reshape(design.repeats, len(design.lies)).T
    return np.broadcast_to(by_lie, shape).ravel().round(1)


def _check_known(design: ChipDesign, clubs: Mapping[str, Club], lies: Mapping[str, Lie]) -> None:
    wanted: tuple[tuple[str, tuple[str, ...], tuple[str, ...]], ...] = (
        ("club", design.clubs, tuple(clubs)),
        ("lie", design.lies, tuple(lies)),
    )
    for what, names, known in wanted:
        for name in names:
            if name not in known:
                raise ValueError(f"{what} {name!r} is not known; expected one of: {', '.join(known)}")


def _speed_tables(
    truth: CourseTruth,
    player: Player,
    clubs: Mapping[str, Club],
    lies: Mapping[str, Lie],
    design: ChipDesign,
    aerodynamics: Aerodynamics | None,
) -> dict[tuple[str, str], Floats]:
    """Carries on the level for the head speeds of `HEAD_SPEEDS`, by club and lie."""
    level = Green.from_stimp(10.0)
    delivery = replace(player.delivery, speed=HEAD_SPEEDS)
    tables = {}
    for name, club in clubs.items():
        for lie in design.lies:
            launch = launch_from(club, delivery, lies[lie], ball=truth.ball)
            shots = simulate(launch, level, ball=truth.ball, aerodynamics=aerodynamics)
            tables[name, lie] = np.maximum.accumulate(np.asarray(shots.carry))
    return tables


def _ground(station: Station, truth: CourseTruth, design: ChipDesign) -> Ground:
    """Return what lies along a station's line of play: the fringe, then the green."""
    if station.spot not in truth.greens:
        raise ValueError(f"a station is at spot {station.spot!r}; the course has: {', '.join(truth.greens)}")
    green = truth.greens[station.spot].turned(-station.heading)
    green = replace(green, turf=replace(green.turf, unevenness=design.local_slope))
    return Ground(green=green, strips=(Strip(until=station.edge, resistance=design.fringe),))


def _angled(launch: Launch) -> tuple[float, float]:
    """Return speed and angle of one launch."""
    return float(np.ravel(launch.speed)[0]), float(np.ravel(launch.angle)[0])


def _landing_at(
    landing: float, launch: Launch, ground: Ground, ball: Ball, aerodynamics: Aerodynamics | None
) -> Launch:
    """Return the launch with the head speed that lands there."""
    for _ in range(3):
        landed = float(np.ravel(simulate(launch, ground, ball=ball, aerodynamics=aerodynamics).landing_x)[0])
        faster = math.sqrt(max(landing, 0.1) / max(landed, 0.05))
        launch = replace(launch, speed=faster * np.asarray(launch.speed), backspin=faster * np.asarray(launch.backspin))
    return launch


def _played(
    launch: Launch, spot: str, ground: Ground, ball: Ball, aerodynamics: Aerodynamics | None, bumps: Floats
) -> dict[str, float]:
    """What truly became of one chip."""
    shots = simulate(launch, ground, ball=ball, aerodynamics=aerodynamics, bumps=bumps)
    if not np.all(shots.stops):
        raise ValueError(f"a chip to spot {spot!r} never comes to rest; make its grade less")
    one = {name: float(np.ravel(getattr(shots, name))[0]) for name in ("landing_x", "landing_y", "rest_x", "rest_y")}
    hang = float(np.ravel(shots.flight_time)[0])
    return {
        "carry": one["landing_x"],
        "landing_side": one["landing_y"],
        "hang_time": hang,
        "first_hop": float(np.ravel(shots.hop_x)[0]),
        "hop_time": float(np.ravel(shots.hop_time)[0]) - hang,
        "rest": one["rest_x"],
        "side": one["rest_y"],
    }


def _noted(
    seen: Mapping[str, float], station: Station, target: float, design: ChipDesign, generator: np.random.Generator
) -> dict[str, object]:
    """What is written down of one chip: with scatter, rounded, and with gaps."""
    scatter = {
        "carry": design.landing_scatter,
        "landing_side": design.landing_scatter,
        "hang_time": design.time_scatter,
        "first_hop": design.landing_scatter,
        "rest": design.rest_scatter,
        "side": design.rest_scatter,
    }
    shares = USUALLY_SEEN if design.seen is None else design.seen
    row: dict[str, object] = {
        "spot": station.spot,
        "heading": float(np.mod(station.heading, 2 * np.pi)),
        "target_carry": target,
        "edge": station.edge,
    }
    for name, sd in scatter.items():
        value = round(seen[name] + sd * generator.standard_normal(), 2)
        positive = value if name in ("side", "landing_side") else max(value, 0.05)
        row[name] = positive if generator.random() < shares.get(name, 1.0) else np.nan
    if "hop_time" in shares and generator.random() < shares["hop_time"]:
        row["hop_time"] = max(seen["hop_time"] + design.time_scatter * generator.standard_normal(), 0.02)
    if not seen["first_hop"] > seen["carry"]:
        row["first_hop"] = row["hop_time"] = np.nan  # the ball stayed down: there was no hop to see
    return row


def _completed(chips: pd.DataFrame, first_at: datetime | None) -> pd.DataFrame:
    """Add row numbers, times and the columns left blank, in the order of a reader."""
    chips.insert(0, "row", np.arange(2, len(chips) + 2))
    moments = [None if first_at is None else first_at + timedelta(minutes=index) for index in range(len(chips))]
    chips["measured_at"] = np.array(moments, dtype="datetime64[us]")
    chips["note"] = ""
    return completed(chips, "chips")
