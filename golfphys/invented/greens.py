"""Rolls, films and drops on greens whose truth is known, with the scatter, rounding, gaps and blunders of measuring."""

import itertools
import math
from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from typing import Annotated, Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from golfphys.core import constants
from golfphys.core.broadcasting import Checked, require_kinds, require_seed
from golfphys.core.constants import Ball
from golfphys.formulas.turf import hop_speed
from golfphys.physics import roll
from golfphys.physics.bounce import bounce
from golfphys.physics.green import Green
from golfphys.sheets import Sheet, completed

Floats = NDArray[np.float64]
Seed = int | np.random.Generator
GRAVITY = constants.GRAVITY.value
Scatter = Annotated[float, (0.0, math.inf)]
Share = Annotated[float, (0.0, 1.0)]


def as_read(kind: str, rows: pd.DataFrame, first_at: datetime | None = None) -> Sheet:
    """Return rows as a reader would: numbered from 2 and timed a minute apart, without times if there is no first."""
    moments = [None if first_at is None else first_at + timedelta(minutes=index) for index in range(len(rows))]
    rows = rows.assign(row=np.arange(2, len(rows) + 2), measured_at=np.array(moments, dtype="datetime64[us]"))
    return Sheet(kind=kind, frame=completed(rows, kind), path="made by golfphys.invented")


@dataclass(frozen=True, kw_only=True)
class CourseTruth(Checked):
    """What is true of an invented course, and how well its rolls are measured.

    Parameters
    ----------
    greens, ball : mapping of str to Green, Ball
        The green at each spot, whose line of play is the reference line, and the ball rolled.
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
    release_factor: Annotated[float, (0.01, 100.0)] = 1.0
    distance_scatter: Scatter = constants.ROLLOUT_SCATTER.value
    distance_scatter_relative: Scatter = 0.0
    direction_scatter: Scatter = np.pi / 360

    def __post_init__(self) -> None:
        known = isinstance(self.greens, Mapping) and all(isinstance(green, Green) for green in self.greens.values())
        if not (known and self.greens):
            raise ValueError(
                f"CourseTruth greens is {self.greens!r:.100}; expected a Green for at least one spot, by name"
            )
        super().__post_init__()


def started(truth: CourseTruth, design: Any, kind: type, rng: Seed) -> np.random.Generator:
    """Return the generator to draw from; ValueError for what is no course, no such design or no seed."""
    require_kinds(truth=(truth, CourseTruth), design=(design, kind))
    require_seed(rng)
    return np.random.default_rng(rng)


@dataclass(frozen=True, kw_only=True)
class RolloutDesign(Checked):
    """Which rolls are made: every heading with every release speed, `repeats` times, at every spot.

    Parameters
    ----------
    headings, release_speeds : tuple of float
        Rad, clockwise from the reference line; m/s, as written in the sheet.
    repeats, outliers : int
        Rolls of each heading and speed; rolls that meet something on their way and stop short.
    side_share, resolution : float
        Share of the rolls whose side drift is noted; what distances and sides are rounded to, m (0: not at all).
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
    side_share: Share = 1.0
    outliers: Annotated[int, (0, math.inf)] = 0
    resolution: Scatter = 0.01
    first_at: datetime | None = None

    def __post_init__(self) -> None:
        if not self.headings or not self.release_speeds or self.repeats < 1:
            raise ValueError("RolloutDesign needs at least one heading, one release speed and one repeat")
        super().__post_init__()


def make_rollouts(truth: CourseTruth, design: RolloutDesign, rng: Seed) -> Sheet:
    """Make the sheet of rolls, as a reader would return it, that measuring an invented course would have given.

    Parameters
    ----------
    truth, design, rng : CourseTruth, RolloutDesign, int or numpy.random.Generator
        The course, the rolls, and the seed or generator of the scatter. A ValueError if a ball would not stop on a
        green of it.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)}, distance_scatter=0.0, direction_scatter=0.0)
    >>> make_rollouts(truth, RolloutDesign(), 1).frame["distance"].tolist()
    [3.05, 3.05, 3.05, 3.05]
    """
    generator = started(truth, design, RolloutDesign, rng)
    blocks = [_spot_rolls(spot, green, truth, design, generator) for spot, green in truth.greens.items()]
    rolls = pd.concat(blocks, ignore_index=True)
    outliers = generator.choice(len(rolls), size=min(design.outliers, len(rolls)), replace=False)
    rolls.loc[outliers, ["distance", "side"]] *= generator.uniform(0.4, 0.7, outliers.size)[:, None]
    rolls.loc[generator.random(len(rolls)) >= design.side_share, "side"] = np.nan
    if design.resolution:
        for name in ("distance", "side"):
            rolls[name] = (rolls[name] / design.resolution).round() * design.resolution
    return as_read("rollouts", rolls, design.first_at)


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
    """One roll that is filmed."""

    name: str
    spot: str
    kind: str  # ramp (rolling from the start), putt or chip (skidding first, unless it spins as it rolls)
    heading: float  # rad, clockwise
    speed: float  # m/s, at the start mark
    topspin_share: float = 1.0  # rim speed at the start over `speed`: 1 rolls, 0 slides, negative is backspin


@dataclass(frozen=True, kw_only=True)
class FilmDesign:
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
    >>> FilmDesign(rolls=(FilmedRoll(name="a", spot="b", kind="ramp", heading=0.0, speed=1.8),)).frames_per_second
    30.0
    """

    rolls: tuple[FilmedRoll, ...]
    frames_per_second: float = 30.0
    distance_scatter: float = 0.005
    scale_error: float = 0.01
    start_error: float = 0.01

    def __post_init__(self) -> None:
        if not self.rolls or not all(isinstance(one, FilmedRoll) and one.speed > 0 for one in self.rolls):
            raise ValueError(f"FilmDesign rolls is {self.rolls!r:.100}; expected FilmedRolls with a speed above 0")


def make_films(truth: CourseTruth, design: FilmDesign, rng: Seed) -> Sheet:
    """Make the sheet of films, as a reader would return it, that filming an invented course would have given.

    Parameters
    ----------
    truth, design, rng
        As for `make_rollouts`; skids use the skid friction of the turf of each spot.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> filmed = FilmedRoll(name="first", spot="home-left", kind="ramp", heading=0.0, speed=1.83)
    >>> make_films(truth, FilmDesign(rolls=(filmed,)), 1).frame["roll"].unique().tolist()
    ['first']
    """
    generator = started(truth, design, FilmDesign, rng)
    frames = [_frames(filmed, truth, design, generator) for filmed in design.rolls]
    return as_read("films", pd.concat(frames, ignore_index=True))


def _frames(filmed: FilmedRoll, truth: CourseTruth, design: FilmDesign, generator: np.random.Generator) -> pd.DataFrame:
    if filmed.spot not in truth.greens:
        raise ValueError(f"roll {filmed.name!r} is at spot {filmed.spot!r}; the course has: {', '.join(truth.greens)}")
    times, distances, speeds = _motion(filmed, truth.greens[filmed.spot], truth)
    place = CubicHermiteSpline(times, distances, speeds)
    start = abs(design.start_error * generator.standard_normal())
    clock = np.arange(0.0, times[-1] - start, 1.0 / design.frames_per_second)
    scale = 1.0 + design.scale_error * generator.standard_normal()
    read = scale * place(clock + start) + design.distance_scatter * generator.standard_normal(clock.size)
    same = {"roll": filmed.name, "spot": filmed.spot, "heading": np.mod(filmed.heading, 2 * np.pi), "kind": filmed.kind}
    return pd.DataFrame(same | {"time": clock.round(4), "distance": read.round(3)})


def _motion(filmed: FilmedRoll, green: Green, truth: CourseTruth) -> tuple[Floats, Floats, Floats]:
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
class DropDesign(Checked):
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
    timed_share: Share = 0.0
    restitution_scatter: float = 0.03
    height_scatter: float = 0.01
    time_scatter: float = 0.003

    def __post_init__(self) -> None:
        if not self.heights or min(self.heights) <= 0 or self.repeats < 1:
            raise ValueError("DropDesign needs at least one height, all above 0, and at least one repeat")
        super().__post_init__()


def make_drops(truth: CourseTruth, design: DropDesign, rng: Seed) -> Sheet:
    """Make the sheet of drops, as a reader would return it, that measuring an invented course would have given.

    Parameters
    ----------
    truth, design, rng
        As for `make_rollouts`; the ground is taken as level for a drop.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> len(make_drops(truth, DropDesign(heights=(1.0, 2.0), repeats=2), 1).frame)
    4
    """
    generator = started(truth, design, DropDesign, rng)
    plays = itertools.product(truth.greens, design.heights, range(design.repeats))
    drops = [_drop(spot, height, truth, design, generator) for spot, height, _ in plays]
    return as_read("drops", pd.DataFrame(drops))


def _take_off_speed(green: Green, landing_speed: float, truth: CourseTruth) -> float:
    """Speed in m/s with which a ball that lands without spin, straight down, leaves the grass again."""
    velocity, _ = bounce((0.0, 0.0, -landing_speed), (0.0, 0.0, 0.0), green.turf, ball=truth.ball)
    return hop_speed(max(0.0, float(velocity[2])), green.turf.hop_loss, GRAVITY)


def _drop(
    spot: str, height: float, truth: CourseTruth, design: DropDesign, generator: np.random.Generator
) -> dict[str, object]:
    green = truth.greens[spot]
    first, second = 1.0 + design.restitution_scatter * generator.standard_normal(2)
    up = _take_off_speed(green, (2 * GRAVITY * height) ** 0.5, truth) * max(first, 0.5)
    up_again = _take_off_speed(green, up, truth) * max(second, 0.5)
    seen = up**2 / (2 * GRAVITY) + design.height_scatter * generator.standard_normal()
    heard = 2 * np.array([up, up_again]) / GRAVITY + design.time_scatter * generator.standard_normal(2)
    timed = generator.random() < design.timed_share and up_again > 0
    first_flight, second_flight = heard.round(3).tolist() if timed else (np.nan, np.nan)
    rebound = np.nan if timed else round(max(seen, 0.01), 2)
    found = {"spot": spot, "drop_height": height, "rebound_height": rebound}
    return found | {"first_flight": first_flight, "second_flight": second_flight}
