"""Chips of players whose truth is known, on greens whose truth is known."""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, replace
from datetime import datetime

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import require_kind
from golfphys.core.constants import Ball
from golfphys.formulas.flight import vacuum_carry
from golfphys.invented.greens import GRAVITY, CourseTruth, Floats, Seed, as_read, started
from golfphys.physics.club import BAG, LIES, TOUR_PLAYER, Club, Launch, Lie, Player
from golfphys.physics.draws import LOCAL_SLOPE
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, Ground, Resistance, Strip
from golfphys.physics.shot import BUMPS, simulate
from golfphys.physics.strike import Contact, launch_from, strike
from golfphys.sheets import Sheet


@dataclass(frozen=True, kw_only=True)
class Station:
    """A place to chip from.

    Parameters
    ----------
    spot, heading, edge : str, float, float
        The spot that the ball lands on; line of play, rad, clockwise from the reference line; m from the ball to the
        edge of the green.

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
        Names of `golfphys.BAG` and `golfphys.LIES`, or of the mappings given to `make_chips`; every club is played
        from every lie.
    repeats : int
        Chips with each club from each lie.
    target_low, target_high, ladder : float, float, bool
        Carries aimed for, m: drawn evenly between the two, or in even steps from one to the other, the lies in turn.
    landing_scatter, rest_scatter, time_scatter : float
        Standard deviation of a spotted landing and of a measured rest, m, and of a hang time, s.
    seen : mapping of str to float
        Share of the chips for which a quantity is noted; those not named are always noted, but ``hop_time`` never: that
        takes a recording.
    local_slope, run_scatter : float
        Standard deviation of the slope that a ball meets at a landing, rise over run (no green is even), and of the
        distance from landing to rest, over that distance, for reasons of its own.
    landings_as_drawn : bool
        Let every chip land where the target and the errors of the strike put it in a vacuum, as by a player who sees
        the slope and knows the air. If not, she takes the head speed that carries to the target on the level, and the
        slope, and what errors of angle and spin do in the air, move the landing besides.
    mis_hits_noted, fringe : float, Resistance
        Share of the thin and heavy strikes that are noted as what they were; resistance of the ground before the green.
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


# Share of chips for which a coach notes each quantity; invented.
USUALLY_SEEN: Mapping[str, float] = {
    **{"carry": 0.92, "landing_side": 0.5, "hang_time": 0.5, "first_hop": 0.25, "side": 0.9}
}

HEAD_SPEEDS = np.linspace(2.0, 22.0, 81)


def make_chips(
    truth: CourseTruth,
    design: ChipDesign,
    rng: Seed,
    *,
    player: Player = TOUR_PLAYER,
    clubs: Mapping[str, Club] = BAG,
    lies: Mapping[str, Lie] = LIES,
    aerodynamics: Aerodynamics | None = None,
) -> Sheet:
    """Make the chip log, as a reader would return it, that an invented player would have brought home.

    The player chooses the head speed that carries to the target, and errs at the strike, club by club where she has it
    so: heavy and thin strikes come about as they do on grass, by the sole and the soil.

    Parameters
    ----------
    truth, design, rng
        As for `make_rollouts`. A ValueError if a station, club or lie is unknown, or a chip would never come to rest.
    player, clubs, lies, aerodynamics : Player, mappings by name, Aerodynamics
        Delivery and errors of the strike; what she plays with and from; drag and lift of the ball.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> design = ChipDesign(stations=(Station(spot="home-left", heading=0.0),), clubs=("sand wedge",), repeats=2)
    >>> len(make_chips(truth, design, 1).frame)
    4
    """
    generator = started(truth, design, ChipDesign, rng)
    if not (design.stations and design.clubs and design.lies and design.repeats >= 1):
        raise ValueError("ChipDesign needs at least one station, one club, one lie and one repeat")
    for station in design.stations:
        require_kind("a station", station, Station, "a golfphys.Station")
    for what, names, held in (("club", design.clubs, tuple(clubs)), ("lie", design.lies, tuple(lies))):
        for name in set(names).difference(held):
            raise ValueError(f"{what} {name!r} is not known; expected one of: {', '.join(held)}")
    plays = [(club, lie) for club in design.clubs for lie in design.lies for _ in range(design.repeats)]
    stations = [design.stations[index % len(design.stations)] for index in range(len(plays))]
    targets = _targets(design, generator)
    used = {name: clubs[name] for name in design.clubs}, {name: lies[name] for name in design.lies}
    speeds = _speed_tables(truth.ball, player, *used, aerodynamics)
    rows = []
    for (club, lie), station, target in zip(plays, stations, targets.tolist(), strict=True):
        delivery = replace(player.delivery, speed=float(np.interp(target, speeds[club, lie], HEAD_SPEEDS)))
        swing, ground = (clubs[club], delivery, lies[lie]), _ground(station, truth, design)
        meant = launch_from(*swing, ball=truth.ball)
        struck = strike(*swing, generator.standard_normal(6), player.errors_with(club), ball=truth.ball)
        # she aims to the left by as much as an open face starts the ball to the right
        launch = replace(struck.launch, direction=np.asarray(struck.launch.direction) - meant.direction)
        if design.landings_as_drawn:
            carry, aimed = (_vacuum_carry(item) for item in (launch, meant))
            launch = _landing_at(target * carry / aimed, launch, ground, truth.ball, aerodynamics)
        bumps = generator.standard_normal((BUMPS, 2))
        if np.any(ground.green.turf.patchiness):
            bumps = np.hstack([bumps, generator.standard_normal((BUMPS, 1))])
        seen = _played(launch, station.spot, ground, truth.ball, aerodynamics, bumps)
        uneven = 1.0 + design.run_scatter * generator.standard_normal()
        seen["rest"] = seen["carry"] + uneven * (seen["rest"] - seen["carry"])
        noted = struck.contact != Contact.CLEAN and generator.random() < design.mis_hits_noted
        contact = Contact(struck.contact).name.lower() if noted else ""
        known = {"club": club, "lie": lie, "strike": contact}
        rows.append(known | _noted(seen, station, target, design, generator))
    order = generator.permutation(len(rows))
    return as_read("chips", pd.DataFrame([rows[index] for index in order]).assign(note=""), design.first_at)


def _targets(design: ChipDesign, generator: np.random.Generator) -> np.ndarray:
    """Return the carries aimed for, m, in the order in which clubs, lies and repeats are counted."""
    shape = (len(design.clubs), len(design.lies), design.repeats)
    if not design.ladder:
        return generator.uniform(design.target_low, design.target_high, math.prod(shape)).round(1)
    steps = np.linspace(design.target_low, design.target_high, design.repeats * len(design.lies))
    by_lie = steps.reshape(design.repeats, len(design.lies)).T
    return np.broadcast_to(by_lie, shape).ravel().round(1)


def _speed_tables(
    ball: Ball, player: Player, clubs: Mapping[str, Club], lies: Mapping[str, Lie], aerodynamics: Aerodynamics | None
) -> dict[tuple[str, str], Floats]:
    """Carries on the level for the head speeds of `HEAD_SPEEDS`, by club and lie."""
    level = Green.from_stimp(10.0)
    delivery, tables = replace(player.delivery, speed=HEAD_SPEEDS), {}
    for name, lie in itertools.product(clubs, lies):
        launch = launch_from(clubs[name], delivery, lies[lie], ball=ball)
        shots = simulate(launch, level, ball=ball, aerodynamics=aerodynamics)
        tables[name, lie] = np.maximum.accumulate(np.asarray(shots.carry))
    return tables


def _ground(station: Station, truth: CourseTruth, design: ChipDesign) -> Ground:
    """Return what lies along a station's line of play: the fringe, then the green."""
    if station.spot not in truth.greens:
        raise ValueError(f"a station is at spot {station.spot!r}; the course has: {', '.join(truth.greens)}")
    green = truth.greens[station.spot].turned(-station.heading)
    green = replace(green, turf=replace(green.turf, unevenness=design.local_slope))
    return Ground(green=green, strips=(Strip(until=station.edge, resistance=design.fringe),))


def _vacuum_carry(launch: Launch) -> float:
    return vacuum_carry(float(np.ravel(launch.speed)[0]), float(np.ravel(launch.angle)[0]), GRAVITY)


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
    names = ("landing_x", "landing_y", "flight_time", "hop_x", "hop_time", "rest_x", "rest_y")
    carry, aside, hang, hop, after, rest, side = (float(np.ravel(getattr(shots, name))[0]) for name in names)
    seen = {"carry": carry, "landing_side": aside, "hang_time": hang, "first_hop": hop, "hop_time": after - hang}
    return seen | {"rest": rest, "side": side}


def _noted(
    seen: Mapping[str, float], station: Station, target: float, design: ChipDesign, generator: np.random.Generator
) -> dict[str, object]:
    """What is written down of one chip: with scatter, rounded, and with gaps."""
    landing, rest = design.landing_scatter, design.rest_scatter
    scatter = {"carry": landing, "landing_side": landing, "hang_time": design.time_scatter}
    scatter |= {"first_hop": landing, "rest": rest, "side": rest}
    shares = USUALLY_SEEN if design.seen is None else design.seen
    row: dict[str, object] = {"spot": station.spot, "heading": float(np.mod(station.heading, 2 * np.pi))}
    row |= {"target_carry": target, "edge": station.edge}
    for name, sd in scatter.items():
        value = round(seen[name] + sd * generator.standard_normal(), 2)
        positive = value if name in ("side", "landing_side") else max(value, 0.05)
        row[name] = positive if generator.random() < shares.get(name, 1.0) else np.nan
    if "hop_time" in shares and generator.random() < shares["hop_time"]:
        row["hop_time"] = max(seen["hop_time"] + design.time_scatter * generator.standard_normal(), 0.02)
    if not seen["first_hop"] > seen["carry"]:
        row["first_hop"] = row["hop_time"] = np.nan  # the ball stayed down: there was no hop to see
    return row
