"""Drops on the turf of an invented course."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from golfphys.core import constants
from golfphys.formulas.turf import hop_speed
from golfphys.invented.rollouts import CourseTruth
from golfphys.physics.bounce import bounce
from golfphys.physics.green import Green
from golfphys.sheets import DropSheet, completed

GRAVITY = constants.GRAVITY.value


@dataclass(frozen=True, kw_only=True)
class DropDesign:
    """Which drops are made at every spot, and how well they are seen and heard.

    Parameters
    ----------
    heights : tuple of float
        Drop heights, m, ground to underside of the ball.
    repeats : int
        Drops from each height.
    timed_share : float
        Share of the drops that are heard (times between bounces) and not seen (rebound height), 0 to 1.
    restitution_scatter : float
        Part by which the rebound speed differs from place to place, standard deviation.
    height_scatter : float
        Standard deviation of a rebound height read by eye, m.
    time_scatter : float
        Standard deviation of a time between two bounces, s.

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
        if not 0 <= self.timed_share <= 1:
            raise ValueError(f"DropDesign timed_share is {self.timed_share!r}; expected a number from 0 to 1")


def make_drops(truth: CourseTruth, design: DropDesign, rng: int | np.random.Generator) -> DropSheet:
    """Make the sheet of drops that measuring an invented course would have given.

    Parameters
    ----------
    truth : CourseTruth
        The course; each spot's turf is that of its green, and the ground is taken as level for a drop.
    design : DropDesign
        The drops.
    rng : int or numpy.random.Generator
        Seed or generator of the scatter.

    Returns
    -------
    DropSheet
        As a reader would return it; ``row`` counts from 2.

    Examples
    --------
    >>> truth = CourseTruth(greens={"home-left": Green.from_stimp(10.0)})
    >>> len(make_drops(truth, DropDesign(heights=(1.0, 2.0), repeats=2), 1).drops)
    4
    """
    generator = np.random.default_rng(rng)
    rows = [
        _drop(spot, green, height, truth, design, generator)
        for spot, green in truth.greens.items()
        for height in design.heights
        for _ in range(design.repeats)
    ]
    drops = pd.DataFrame(rows)
    drops.insert(0, "row", np.arange(2, len(drops) + 2))
    return DropSheet(drops=completed(drops, "drops"), notes=[], path="made by golfphys.invented", comments=[])


def take_off_speed(green: Green, landing_speed: float, truth: CourseTruth) -> float:
    """Speed in m/s with which a ball that lands without spin, straight down, leaves the grass again."""
    velocity, _ = bounce((0.0, 0.0, -landing_speed), (0.0, 0.0, 0.0), green.turf, ball=truth.ball)
    return hop_speed(max(0.0, float(velocity[2])), green.turf.hop_loss, GRAVITY)


def _drop(
    spot: str,
    green: Green,
    height: float,
    truth: CourseTruth,
    design: DropDesign,
    generator: np.random.Generator,
) -> dict[str, object]:
    first, second = 1.0 + design.restitution_scatter * generator.standard_normal(2)
    up = take_off_speed(green, (2 * GRAVITY * height) ** 0.5, truth) * max(first, 0.5)
    up_again = take_off_speed(green, up, truth) * max(second, 0.5)
    seen = up**2 / (2 * GRAVITY) + design.height_scatter * generator.standard_normal()
    heard = 2 * np.array([up, up_again]) / GRAVITY + design.time_scatter * generator.standard_normal(2)
    timed = generator.random() < design.timed_share and up_again > 0
    return {
        "spot": spot,
        "drop_height": height,
        "rebound_height": np.nan if timed else round(max(seen, 0.01), 2),
        "first_flight": round(float(heard[0]), 3) if timed else np.nan,
        "second_flight": round(float(heard[1]), 3) if timed else np.nan,
    }
