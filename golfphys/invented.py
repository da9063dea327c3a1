"""Sheets from invented courses whose truth is known: for demonstrations, tests and coverage studies.

Everything is made by the same physics as the rest of golfphys; measuring it adds scatter, rounding, gaps and blunders.
Headings are clockwise from the reference line, which is the line of play of the greens given as truth. Each `make_...`
takes the truth, a design of what is measured, and a seed or generator of the scatter, and returns a sheet as a reader
would; its ``row`` counts from 2.
"""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from datetime import datetime, timedelta

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.core.broadcasting import check_fields
from golfphys.formulas.flight import vacuum_carry
from golfphys.formulas.turf import hop_speed
from golfphys.physics import roll
from golfphys.physics.bounce import bounce
from golfphys.physics.club import BAG, LIES, Club, Launch, Lie, Player
from golfphys.physics.flight import Aerodynamics
from golfphys.physics.green import Green, Ground, Resistance, Strip
from golfphys.physics.shot import BUMPS, simulate
from golfphys.physics.strike import Contact, launch_from, strike
from golfphys.physics.usual import LOCAL_SLOPE, TOUR_PLAYER
from golfphys.sheets import ChipSheet, DropSheet, FilmSheet, RolloutSheet, completed

Floats = NDArray[np.float64]
Seed = int | np.random.Generator
GRAVITY = constants.GRAVITY.value
MADE_BY = "made by golfphys.invented"


def _numbered(table: pd.DataFrame, first_at: datetime | None = None) -> pd.DataFrame:
    """Add row numbers as a reader counts them, and times a minute apart; none without a first one."""
    table.insert(0, "row", np.arange(2, len(table) + 2))
    moments = [None if first_at is None else first_at + timedelta(minutes=index) for index in range(len(table))]
    table["measured_at"] = np.array(moments, dtype="datetime64[us]")
    return table


@dataclass(frozen=True, kw_only=True)
class CourseTruth:
    """What is true of an invented course, and how well its rolls are measured.

    Parameters
    ----------
    greens : mapping of str to Green
        The green at each spot; its line of play is the reference line.
    ball : Ball
        The ball rolled.
    release_factor : float
        True release speed over the one written in the sheet.
    distance_scatter, distance_scatter_relative : float
        Standard deviation in m of the distance of a single roll (the default was published for one flat green), and a
        further one in proportion to the distance.
    direction_scatter : float
        Standard deviation in rad of the direction in which a roll sets off.

    Examples
    --------
    >>> CourseTruth(greens={"home-left": Green.from_stimp(10.0)}).release_factor
    1.0
    """

    greens: Mapping[str, Green]
    ball: Ball = field(default_factory=Ball)
    release_factor: float = 1.0
    distance_scatter: float = constants.ROLLOUT_SCATTER.value
    distance_scatter_relative: float = 0.0
    direction_scatter: float = np.pi / 360

    def __post_init__(self) -> None:
        """Check the values."""
        if not self.greens:
            raise ValueError("CourseTruth greens is empty; expected at least one spot")
        scatters = ("distance_scatter", "distance_scatter_relative", "direction_scatter")
        check_fields(self, {"release_factor": (0.01, 100.0), **dict.fromkeys(scatters, (0.0, math.inf))})


@dataclass(frozen=True, kw_only=True)
class RolloutDesign:
    """Which rolls are made: every heading with every release speed, `repeats` times, at every spot.

    Parameters
    ----------
    headings, release_speeds : tuple of float
        Rad, clockwise from the reference line; m/s, as written in the sheet.
    repeats, outliers : int
        Rolls of each heading and speed; rolls that meet something on their way and stop short.
    side_share : float
        Share of the rolls whose side drift is noted, 0 to 1.
    resolution : float
        Distances and sides are rounded to this, m; 0 for no rounding.
    first_at : datetime or None
        Time of the first roll, the others follow a minute apart; None leaves the times out.

    Examples
    --------
    >>> RolloutDesign(headings=(0.0, np.pi), release_speeds=(1.83,)).repeats
    1
    """

    headings: tuple[float, ...] = (0.0, np.pi / 2, np.pi, 3 * np.pi / 2)
    release_speeds: tuple[float, ...] = (constants.RAMP_RELEASE_SPEED.value,)
    repeats: int = 1
    side_share: float = 1.0
    outliers: int = 0
    resolution: float = 0.01
    first_at: datetime | None = None

    def __post_init__(self) -> None:
        """Check the values."""
        if not self.headings or not self.release_speeds or self.repeats < 1:
            raise ValueError("RolloutDesign needs at least one heading, one release speed and one repeat")
        check_fields(self, {"side_share": (0.0, 1.0), "outliers": (0, math.inf), "resolution": (0.0, math.inf)})


def make_rollouts(truth: CourseTruth, design: RolloutDesign, rng: Seed) -> RolloutSheet:
    """Make the sheet that measuring an invented course would have given.

    Parameters
    ----------
    truth, design, rng : CourseTruth, RolloutDesign, int or numpy.random.Generator
        The course, the rolls, and the seed or generator of the scatter. A ValueError if a ball would not stop on a
        green of it.

    Returns
    -------
    RolloutSheet
        As a reader would return it.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)}, distance_scatter=0.0, direction_scatter=0.0)
    >>> make_rollouts(truth, RolloutDesign(), 1).rolls["distance"].tolist()
    [3.05, 3.05, 3.05, 3.05]
    """
    generator = np.random.default_rng(rng)
    blocks = [_spot_rolls(spot, green, truth, design, generator) for spot, green in truth.greens.items()]
    rolls = pd.concat(blocks, ignore_index=True)
    outliers = generator.choice(len(rolls), size=min(design.outliers, len(rolls)), replace=False)
    rolls.loc[outliers, ["distance", "side"]] *= generator.uniform(0.4, 0.7, outliers.size)[:, None]
    rolls.loc[generator.random(len(rolls)) >= design.side_share, "side"] = np.nan
    if design.resolution:
        for name in ("distance", "side"):
            rolls[name] = (rolls[name] / design.resolution).round() * design.resolution
    sheet = completed(_numbered(rolls, design.first_at), "rollouts")
    return RolloutSheet(rolls=sheet, notes=[], path=MADE_BY, comments=[])


def _spot_rolls(
    spot: str, green: Green, truth: CourseTruth, design: RolloutDesign, generator: np.random.Generator
) -> pd.DataFrame:
    """Every roll of one spot with its scatter, before rounding."""
    grids = np.meshgrid(design.headings, design.release_speeds, np.arange(design.repeats), indexing="ij")
    heading, speed = grids[0].ravel(), grids[1].ravel()
    direction = -heading + generator.normal(0.0, truth.direction_scatter, heading.size)
    plane, inertia = (green.grade, green.fall_direction), truth.ball.inertia
    rest = roll.roll(speed * truth.release_factor, direction, green.resistance, *plane, inertia=inertia)
    distance = np.hypot(rest.x, rest.y)
    if not np.all(np.isfinite(distance)):
        raise ValueError(f"a ball rolled at spot {spot!r} never stops; make its grade less than its resistance")
    scatter = np.hypot(truth.distance_scatter, truth.distance_scatter_relative * distance)
    measured = np.maximum(distance + generator.normal(0.0, 1.0, heading.size) * scatter, 0.02)
    drift = np.angle(np.exp(1j * (np.arctan2(rest.y, rest.x) + heading)))
    place = {"spot": spot, "heading": np.mod(heading, 2 * np.pi), "release_speed": speed}
    return pd.DataFrame(place | {"distance": measured, "side": measured * np.sin(drift), "note": ""})


@dataclass(frozen=True, kw_only=True)
class FilmedRoll:
    """One roll that is filmed at a spot, along a heading (rad, clockwise), from a speed (m/s) at the start mark.

    `kind` is ``"ramp"`` (rolling from the start), ``"putt"`` or ``"chip"`` (skidding first, unless it spins as it
    rolls); `topspin_share` is rim speed at the start over `speed`: 1 rolls, 0 slides without spin, negative is
    backspin.
    """

    name: str
    spot: str
    kind: str
    heading: float
    speed: float
    topspin_share: float = 1.0


@dataclass(frozen=True, kw_only=True)
class TraceDesign:
    """Which rolls are filmed, and how well the video is read.

    Parameters
    ----------
    rolls, frames_per_second : tuple of FilmedRoll, float
        The rolls; frames read for each second.
    distance_scatter, scale_error, start_error : float
        Standard deviations: of the ball's place read from a frame, m; of the scale of a video (the marks do not lie
        exactly on the line of the roll); of the time between the ball's passing of the mark and the first frame, s.

    Examples
    --------
    >>> TraceDesign(rolls=(FilmedRoll(name="a", spot="b", kind="ramp", heading=0.0, speed=1.8),)).frames_per_second
    30.0
    """

    rolls: tuple[FilmedRoll, ...]
    frames_per_second: float = 30.0
    distance_scatter: float = 0.005
    scale_error: float = 0.01
    start_error: float = 0.01


def make_traces(truth: CourseTruth, design: TraceDesign, rng: Seed) -> FilmSheet:
    """Make the sheet of traces that filming an invented course would have given.

    Parameters
    ----------
    truth, design, rng : CourseTruth, TraceDesign, int or numpy.random.Generator
        The course, the rolls that are filmed, and the seed or generator of the scatter. Skids use the skid friction of
        the turf of each spot.

    Returns
    -------
    FilmSheet
        As a reader would return it.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> filmed = FilmedRoll(name="first", spot="home-left", kind="ramp", heading=0.0, speed=1.83)
    >>> make_traces(truth, TraceDesign(rolls=(filmed,)), 1).rolls
    ['first']
    """
    generator = np.random.default_rng(rng)
    frames = pd.concat([_frames(filmed, truth, design, generator) for filmed in design.rolls], ignore_index=True)
    frames.insert(0, "row", np.arange(2, len(frames) + 2))
    return FilmSheet(frames=completed(frames, "films"), notes=[], path=MADE_BY, comments=[])


def _frames(
    filmed: FilmedRoll, truth: CourseTruth, design: TraceDesign, generator: np.random.Generator
) -> pd.DataFrame:
    if filmed.spot not in truth.greens:
        raise ValueError(f"roll {filmed.name!r} is at spot {filmed.spot!r}; the course has: {', '.join(truth.greens)}")
    times, distances, speeds = way_of(filmed, truth.greens[filmed.spot], truth)
    place = CubicHermiteSpline(times, distances, speeds)
    start = abs(design.start_error * generator.standard_normal())
    clock = np.arange(0.0, times[-1] - start, 1.0 / design.frames_per_second)
    scale = 1.0 + design.scale_error * generator.standard_normal()
    read = scale * place(clock + start) + design.distance_scatter * generator.standard_normal(clock.size)
    same = {"roll": filmed.name, "spot": filmed.spot, "heading": np.mod(filmed.heading, 2 * np.pi), "kind": filmed.kind}
    return pd.DataFrame(same | {"time": clock.round(4), "distance": read.round(3)})


def way_of(filmed: FilmedRoll, green: Green, truth: CourseTruth) -> tuple[Floats, Floats, Floats]:
    """Return times, distances along the path and speeds of a roll from its start to rest."""
    ahead, aside = filmed.speed * np.cos(-filmed.heading), filmed.speed * np.sin(-filmed.heading)
    ball, rim = truth.ball, filmed.topspin_share / truth.ball.radius
    plane = {"grade": green.grade, "fall_direction": green.fall_direction}
    friction = green.turf.skid_friction
    skid = roll.skid(ahead, aside, spin_x=-rim * aside, spin_y=rim * ahead, friction=friction, **plane, ball=ball)
    rolling, towards = float(np.hypot(skid.velocity_x, skid.velocity_y)), np.arctan2(skid.velocity_y, skid.velocity_x)
    path = roll.path(rolling, float(towards), green.resistance, **plane, inertia=ball.inertia)
    rolled = np.append(0.0, np.cumsum(np.hypot(np.diff(path.x), np.diff(path.y))))
    duration = float(skid.time)
    skidded = (filmed.speed + rolling) / 2 * duration  # friction brakes evenly along a straight skid
    found = np.array([duration + path.time, skidded + rolled, path.speed])
    if duration > 0:
        found = np.column_stack([[0.0, 0.0, filmed.speed], found])
    return found[0], found[1], found[2]


@dataclass(frozen=True, kw_only=True)
class DropDesign:
    """Which drops are made at every spot, and how well they are seen and heard.

    Parameters
    ----------
    heights, repeats : tuple of float, int
        Drop heights, m, ground to underside of the ball; drops from each.
    timed_share : float
        Share of the drops that are heard (times between bounces) and not seen (rebound height), 0 to 1.
    restitution_scatter, height_scatter, time_scatter : float
        Standard deviations: of the rebound speed from place to place, as a fraction; of a rebound height read by eye,
        m; of a time between two bounces, s.

    Examples
    --------
    >>> DropDesign(heights=(1.0, 2.0)).repeats
    2
    """

    heights: tuple[float, ...] = (1.0, 2.0)
    repeats: int = 2
    timed_share: float = 0.0
    restitution_scatter: float = 0.03
    height_scatter: float = 0.01
    time_scatter: float = 0.003

    def __post_init__(self) -> None:
        """Check the values."""
        if not self.heights or min(self.heights) <= 0 or self.repeats < 1:
            raise ValueError("DropDesign needs at least one height, all above 0, and at least one repeat")
        check_fields(self, {"timed_share": (0.0, 1.0)})


def make_drops(truth: CourseTruth, design: DropDesign, rng: Seed) -> DropSheet:
    """Make the sheet of drops that measuring an invented course would have given.

    Parameters
    ----------
    truth, design, rng : CourseTruth, DropDesign, int or numpy.random.Generator
        The course, the drops, and the seed or generator of the scatter. The ground is taken as level for a drop.

    Returns
    -------
    DropSheet
        As a reader would return it.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> len(make_drops(truth, DropDesign(heights=(1.0, 2.0), repeats=2), 1).drops)
    4
    """
    generator = np.random.default_rng(rng)
    plays = itertools.product(truth.greens, design.heights, range(design.repeats))
    drops = pd.DataFrame([_drop(spot, height, truth, design, generator) for spot, height, _ in plays])
    drops.insert(0, "row", np.arange(2, len(drops) + 2))
    return DropSheet(drops=completed(drops, "drops"), notes=[], path=MADE_BY, comments=[])


def take_off_speed(green: Green, landing_speed: float, truth: CourseTruth) -> float:
    """Speed in m/s with which a ball that lands without spin, straight down, leaves the grass again."""
    velocity, _ = bounce((0.0, 0.0, -landing_speed), (0.0, 0.0, 0.0), green.turf, ball=truth.ball)
    return hop_speed(max(0.0, float(velocity[2])), green.turf.hop_loss, GRAVITY)


def _drop(
    spot: str, height: float, truth: CourseTruth, design: DropDesign, generator: np.random.Generator
) -> dict[str, object]:
    green = truth.greens[spot]
    first, second = 1.0 + design.restitution_scatter * generator.standard_normal(2)
    up = take_off_speed(green, (2 * GRAVITY * height) ** 0.5, truth) * max(first, 0.5)
    up_again = take_off_speed(green, up, truth) * max(second, 0.5)
    seen = up**2 / (2 * GRAVITY) + design.height_scatter * generator.standard_normal()
    heard = 2 * np.array([up, up_again]) / GRAVITY + design.time_scatter * generator.standard_normal(2)
    timed = generator.random() < design.timed_share and up_again > 0
    first_flight, second_flight = heard.round(3).tolist() if timed else (np.nan, np.nan)
    rebound = np.nan if timed else round(max(seen, 0.01), 2)
    found = {"spot": spot, "drop_height": height, "rebound_height": rebound}
    return found | {"first_flight": first_flight, "second_flight": second_flight}


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
) -> ChipSheet:
    """Make the chip log that an invented player would have brought home.

    The player chooses the head speed that carries to the target, and errs at the strike, club by club where she has it
    so: heavy and thin strikes come about as they do on grass, by the sole and the soil.

    Parameters
    ----------
    truth, design, rng : CourseTruth, ChipDesign, int or numpy.random.Generator
        The course, the chips, and the seed or generator of the scatter. A ValueError if a station, club or lie is
        unknown, or a chip would never come to rest.
    player, clubs, lies, aerodynamics : Player, mappings by name, Aerodynamics
        Delivery and errors of the strike; what she plays with and from; drag and lift of the ball.

    Returns
    -------
    ChipSheet
        As a reader would return it.

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
    used = {name: clubs[name] for name in design.clubs}, {name: lies[name] for name in design.lies}
    speeds = _speed_tables(truth.ball, player, *used, aerodynamics)
    rows = []
    for (club, lie), station, target in zip(plays, stations, targets.tolist(), strict=True):
        delivery = replace(player.delivery, speed=float(np.interp(target, speeds[club, lie], HEAD_SPEEDS)))
        swing = (clubs[club], delivery, lies[lie])
        meant = launch_from(*swing, ball=truth.ball)
        struck = strike(*swing, generator.standard_normal(6), player.errors_with(club), ball=truth.ball)
        ground = _ground(station, truth, design)
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
        strike_noted = Contact(struck.contact).name.lower() if noted else ""
        noted_rest = _noted(seen, station, target, design, generator)
        rows.append({"club": club, "lie": lie, "strike": strike_noted, **noted_rest})
    order = generator.permutation(len(rows))
    chips = _numbered(pd.DataFrame([rows[index] for index in order]), design.first_at).assign(note="")
    return ChipSheet(chips=completed(chips, "chips"), notes=[], path=MADE_BY, comments=[])


def _targets(design: ChipDesign, generator: np.random.Generator) -> np.ndarray:
    """Return the carries aimed for, m, in the order in which clubs, lies and repeats are counted."""
    shape = (len(design.clubs), len(design.lies), design.repeats)
    if not design.ladder:
        return generator.uniform(design.target_low, design.target_high, math.prod(shape)).round(1)
    steps = np.linspace(design.target_low, design.target_high, design.repeats * len(design.lies))
    by_lie = steps.reshape(design.repeats, len(design.lies)).T
    return np.broadcast_to(by_lie, shape).ravel().round(1)


def _check_known(design: ChipDesign, clubs: Mapping[str, Club], lies: Mapping[str, Lie]) -> None:
    for what, names, known in (("club", design.clubs, tuple(clubs)), ("lie", design.lies, tuple(lies))):
        for name in set(names).difference(known):
            raise ValueError(f"{what} {name!r} is not known; expected one of: {', '.join(known)}")


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
