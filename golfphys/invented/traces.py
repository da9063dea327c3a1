"""Traces of single rolls on an invented course: where the ball was in each frame of a video."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from scipy.interpolate import CubicHermiteSpline

from golfphys.invented.rollouts import CourseTruth
from golfphys.physics import roll
from golfphys.physics.green import Green
from golfphys.sheets import FilmSheet, completed

Floats = NDArray[np.float64]


@dataclass(frozen=True, kw_only=True)
class FilmedRoll:
    """One roll that is filmed.

    Parameters
    ----------
    name : str
        What the sheet calls it.
    spot : str
        A spot of the course.
    kind : str
        ``"ramp"`` (rolling from the start), ``"putt"`` or ``"chip"`` (skidding first, unless it spins as it rolls).
    heading : float
        Rad, clockwise from the reference line.
    speed : float
        Speed at the start mark, m/s.
    topspin_share : float
        Rim speed at the start over `speed`, in the sense of rolling: 1 rolls, 0 slides without spin, negative is
        backspin.

    Examples
    --------
    >>> FilmedRoll(name="first", spot="home-left", kind="ramp", heading=0.0, speed=1.83).topspin_share
    1.0
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
    rolls : tuple of FilmedRoll
        The rolls.
    frames_per_second : float
        Frames read for each second.
    distance_scatter : float
        Standard deviation of the ball's place read from a frame, m.
    scale_error : float
        Standard deviation of the error of scale of a video (the marks do not lie exactly on the line of the roll).
    start_error : float
        Standard deviation of the time between the ball's passing of the mark and the frame called the first, s.

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


def make_traces(truth: CourseTruth, design: TraceDesign, rng: int | np.random.Generator) -> FilmSheet:
    """Make the sheet of traces that filming an invented course would have given.

    Parameters
    ----------
    truth : CourseTruth
        The course; skids use the skid friction of each spot's turf.
    design : TraceDesign
        The rolls.
    rng : int or numpy.random.Generator
        Seed or generator of the scatter.

    Returns
    -------
    FilmSheet
        As a reader would return it; ``row`` counts from 2.

    Raises
    ------
    ValueError
        If a roll's spot is not of the course.

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
    return FilmSheet(frames=completed(frames, "films"), notes=[], path="made by golfphys.invented", comments=[])


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
    return pd.DataFrame(
        {
            "roll": filmed.name,
            "spot": filmed.spot,
            "heading": np.mod(filmed.heading, 2 * np.pi),
            "kind": filmed.kind,
            "time": clock.round(4),
            "distance": read.round(3),
        }
    )


def way_of(filmed: FilmedRoll, green: Green, truth: CourseTruth) -> tuple[Floats, Floats, Floats]:
    """Return times, distances along the path and speeds of a roll from its start to rest."""
    direction = -filmed.heading
    ball = truth.ball
    skid = roll.skid(
        filmed.speed * np.cos(direction),
        filmed.speed * np.sin(direction),
        spin_x=-filmed.topspin_share * filmed.speed * np.sin(direction) / ball.radius,
        spin_y=filmed.topspin_share * filmed.speed * np.cos(direction) / ball.radius,
        friction=green.turf.skid_friction,
        grade=green.grade,
        fall_direction=green.fall_direction,
        ball=ball,
    )
    rolling = float(np.hypot(skid.velocity_x, skid.velocity_y))
    path = roll.path(
        rolling,
        float(np.arctan2(skid.velocity_y, skid.velocity_x)),
        green.resistance,
        green.grade,
        green.fall_direction,
        inertia=ball.inertia,
    )
    steps = np.hypot(np.diff(path.x), np.diff(path.y))
    rolled = np.concatenate([[0.0], np.cumsum(steps)])
    duration = float(skid.time)
    skidded = (filmed.speed + rolling) / 2 * duration  # friction brakes evenly along a straight skid
    times = np.concatenate([[0.0] if duration > 0 else [], duration + path.time])
    distances = np.concatenate([[0.0] if duration > 0 else [], skidded + rolled])
    speeds = np.concatenate([[filmed.speed] if duration > 0 else [], path.speed])
    return times, distances, speeds
