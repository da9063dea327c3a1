"""Rollouts of an invented course: the physics of the roll, then the scatter of measuring it."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime, timedelta

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.core.ball import Ball
from golfphys.physics import roll
from golfphys.physics.green import Green
from golfphys.sheets import RolloutSheet, completed


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
    distance_scatter : float
        Standard deviation in m of the distance of a single roll; the default was published for one flat green.
    distance_scatter_relative : float
        A further part of it in proportion to the distance.
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
        if not self.release_factor > 0:
            raise ValueError(f"CourseTruth release_factor is {self.release_factor!r}; expected a positive number")
        for name in ("distance_scatter", "distance_scatter_relative", "direction_scatter"):
            if not getattr(self, name) >= 0:
                raise ValueError(f"CourseTruth {name} is {getattr(self, name)!r}; expected a number not below 0")


@dataclass(frozen=True, kw_only=True)
class RolloutDesign:
    """Which rolls are made: every heading with every release speed, `repeats` times, at every spot.

    Parameters
    ----------
    headings : tuple of float
        Rad, clockwise from the reference line.
    release_speeds : tuple of float
        Speeds in m/s as written in the sheet.
    repeats : int
        Rolls of each heading and speed.
    side_share : float
        Share of the rolls whose side drift is noted, 0 to 1.
    strays : int
        Rolls that meet something on their way and stop short.
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
    strays: int = 0
    resolution: float = 0.01
    first_at: datetime | None = None

    def __post_init__(self) -> None:
        """Check the values."""
        if not self.headings or not self.release_speeds or self.repeats < 1:
            raise ValueError("RolloutDesign needs at least one heading, one release speed and one repeat")
        if not 0 <= self.side_share <= 1:
            raise ValueError(f"RolloutDesign side_share is {self.side_share!r}; expected a number from 0 to 1")
        if self.strays < 0 or self.resolution < 0:
            raise ValueError("RolloutDesign strays and resolution must not be negative")


def make_rollouts(truth: CourseTruth, design: RolloutDesign, rng: int | np.random.Generator) -> RolloutSheet:
    """Make the sheet that measuring an invented course would have given.

    Parameters
    ----------
    truth : CourseTruth
        The course.
    design : RolloutDesign
        The rolls.
    rng : int or numpy.random.Generator
        Seed or generator of the scatter.

    Returns
    -------
    RolloutSheet
        As a reader would return it; ``row`` counts from 2.

    Raises
    ------
    ValueError
        If a ball would not stop on a green of the truth.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)}, distance_scatter=0.0, direction_scatter=0.0)
    >>> make_rollouts(truth, RolloutDesign(), 1).rolls["distance"].tolist()
    [3.05, 3.05, 3.05, 3.05]
    """
    generator = np.random.default_rng(rng)
    blocks = [_spot_rolls(spot, green, truth, design, generator) for spot, green in truth.greens.items()]
    rolls = pd.concat(blocks, ignore_index=True)
    _make_strays(rolls, design, generator)
    _blank_sides(rolls, design, generator)
    if design.resolution:
        for name in ("distance", "side"):
            rolls[name] = (rolls[name] / design.resolution).round() * design.resolution
    rolls.insert(0, "row", np.arange(2, len(rolls) + 2))
    rolls["measured_at"] = _times(len(rolls), design.first_at)
    return RolloutSheet(rolls=completed(rolls, "rollouts"), notes=[], path="made by golfphys.invented", comments=[])


def rest_of(green: Green, speed: np.ndarray, direction: np.ndarray, ball: Ball) -> tuple[np.ndarray, np.ndarray]:
    """Return where balls rolled from the origin of `green` come to rest, x and y in m; infinite where they do not."""
    rolls = roll.roll(speed, direction, green.resistance, green.grade, green.fall_direction, inertia=ball.inertia)
    return rolls.x, rolls.y


def _spot_rolls(
    spot: str, green: Green, truth: CourseTruth, design: RolloutDesign, generator: np.random.Generator
) -> pd.DataFrame:
    """Every roll of one spot with its scatter, before rounding."""
    grids = np.meshgrid(design.headings, design.release_speeds, np.arange(design.repeats), indexing="ij")
    heading, speed = grids[0].ravel(), grids[1].ravel()
    direction = -heading + generator.normal(0.0, truth.direction_scatter, heading.size)
    x, y = rest_of(green, speed * truth.release_factor, direction, truth.ball)
    distance = np.hypot(x, y)
    if not np.all(np.isfinite(distance)):
        raise ValueError(f"a ball rolled at spot {spot!r} never stops; make its grade less than its resistance")
    scatter = np.hypot(truth.distance_scatter, truth.distance_scatter_relative * distance)
    measured = np.maximum(distance + generator.normal(0.0, 1.0, heading.size) * scatter, 0.02)
    drift = np.angle(np.exp(1j * (np.arctan2(y, x) + heading)))
    return pd.DataFrame(
        {
            "spot": spot,
            "heading": np.mod(heading, 2 * np.pi),
            "release_speed": speed,
            "distance": measured,
            "side": measured * np.sin(drift),
            "note": "",
        }
    )


def _make_strays(rolls: pd.DataFrame, design: RolloutDesign, generator: np.random.Generator) -> None:
    strays = generator.choice(len(rolls), size=min(design.strays, len(rolls)), replace=False)
    shortened = generator.uniform(0.4, 0.7, strays.size)
    for name in ("distance", "side"):
        rolls.loc[strays, name] *= shortened


def _blank_sides(rolls: pd.DataFrame, design: RolloutDesign, generator: np.random.Generator) -> None:
    rolls.loc[generator.random(len(rolls)) >= design.side_share, "side"] = np.nan


def _times(count: int, first_at: datetime | None) -> "np.ndarray[tuple[int], np.dtype[np.datetime64]]":
    moments = [None if first_at is None else first_at + timedelta(minutes=index) for index in range(count)]
    return np.array(moments, dtype="datetime64[us]")
