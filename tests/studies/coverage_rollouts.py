"""Study: how often do the 90 % intervals of a rollout fit hold the truth.

Every course has its own truth, drawn from the priors that the fit states; its sheet is made by `golfphys.invented`
(the physics of the library, scatter, rounding to a centimetre, outliers where the scenario says so) with one to six
spots, three to six headings, one to three release speeds, 12 to 48 rolls, and side drift noted in about half of the
sheets. Further scenarios change what the fit assumes: scatter that does not grow with distance, scatter in proportion
to distance, outliers, release speeds that are exactly as written, and resistance that grows with speed.

Run ``python tests/studies/coverage_rollouts.py`` (about half an hour); it writes .csv and .md beside itself.
``--courses 50 --scenario "as assumed"`` is a quick look.
"""

import dataclasses
import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
from tally import Tally, near, run

import golfphys
from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.rollout_layout import RAMP_SD, Priors
from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
from golfphys.physics.green import Green, Resistance
from golfphys.physics.ramp import stopping_distance
from golfphys.sheets import Sheet

PRIORS = Priors()
RAMP = constants.RAMP_RELEASE_SPEED.value
HEADINGS = ((0, 90, 180, 270), (0, 120, 240), (45, 135, 225, 315), (0, 60, 120, 180, 240, 300), (10, 100, 190, 280))
SPEEDS = ((RAMP,), (RAMP,), (1.3, RAMP), (1.157, 1.494, RAMP))


@dataclasses.dataclass(frozen=True, kw_only=True)
class Scenario:
    """What a set of courses has in common."""

    name: str
    courses: int
    scatter: Callable[[np.random.Generator], tuple[float, float]]
    outlier_share: float = 0.0
    exact_release: bool = False
    law: str = "constant"
    grain: bool = False


def as_assumed(rng: np.random.Generator) -> tuple[float, float]:
    """Scatter from the priors, within what anyone would still call a measurement."""
    absolute, relative = (
        near(rng, of, PRIORS.scatter_spread) for of in (PRIORS.scatter_absolute, PRIORS.scatter_relative)
    )
    return (absolute, relative) if absolute < 0.3 and relative < 0.08 else as_assumed(rng)


SCENARIOS = (
    Scenario(name="as assumed", courses=600, scatter=as_assumed),
    Scenario(name="absolute scatter only", courses=300, scatter=lambda _: (constants.ROLLOUT_SCATTER.value, 0.0)),
    Scenario(name="relative scatter only", courses=300, scatter=lambda _: (0.0, 0.034)),
    Scenario(name="5 % outliers", courses=300, scatter=lambda _: (0.06, 0.02), outlier_share=0.05),
    Scenario(name="release speeds exact", courses=300, scatter=lambda _: (0.06, 0.02), exact_release=True),
    Scenario(name="linear law", courses=150, scatter=lambda _: (0.04, 0.015), law="linear"),
    Scenario(name="grain", courses=80, scatter=lambda _: (0.04, 0.015), grain=True),
)


Truth = tuple[CourseTruth, float, float]
"""A course, and of its spots the middle of the resistance and how far they lie apart."""


def draw_truth(scenario: Scenario, design: RolloutDesign, rng: np.random.Generator) -> Truth:
    """Draw a course on which every planned ball stops within 15 m."""
    absolute, relative = scenario.scatter(rng)
    middle = near(rng, PRIORS.resistance, PRIORS.resistance_spread)
    between = near(rng, PRIORS.between, PRIORS.between_spread)
    linear = PRIORS.term_spread["linear"] * rng.standard_normal() if scenario.law == "linear" else 0.0
    grain, leans = np.hypot(*(PRIORS.grain_spread * rng.standard_normal(2))), rng.uniform(-math.pi, math.pi)
    grain = min(float(grain), 0.5) if scenario.grain else 0.0
    greens = {}
    for i in range(int(rng.integers(1, 7))):
        level = near(rng, middle, between)
        constant = level - linear * 2 / 3 * float(np.median(design.release_speeds))
        grade = abs(PRIORS.grade_spread * rng.standard_normal())
        lowest = min(constant, constant + linear * 1.9) * (1 - grain)
        # a roll is v^2 (1 + k) / (2 g) long over resistance less fall: 0.0714 s^2/m times v^2
        if lowest < 0.02 or grade > 0.8 * lowest or RAMP**2 * 0.0714 / (lowest - grade) > 15.0:
            return draw_truth(scenario, design, rng)
        law = Resistance(constant=constant, linear=linear, grain=grain, grain_direction=leans)
        greens[f"spot-{i + 1}"] = Green(resistance=law, grade=grade, fall_direction=rng.uniform(-math.pi, math.pi))
    course = CourseTruth(
        greens=greens,
        release_factor=1.0 if scenario.exact_release else math.exp(RAMP_SD * rng.standard_normal()),
        distance_scatter=absolute,
        distance_scatter_relative=relative,
        direction_scatter=math.radians(rng.uniform(0.4, 1.2)),
    )
    return course, middle, between


def draw_sheet(scenario: Scenario, rng: np.random.Generator) -> tuple[Truth, Sheet]:
    """Draw a course and the sheet that measuring it would have given, 12 to 48 rolls."""
    choice = SPEEDS[2:] if scenario.law == "linear" else SPEEDS
    speeds = choice[rng.integers(len(choice))]
    headings = tuple(math.radians(degrees) for degrees in HEADINGS[rng.integers(len(HEADINGS))])
    design = RolloutDesign(
        headings=headings, release_speeds=speeds, side_share=0.8 if scenario.grain else 0.6 * float(rng.random() < 0.5)
    )
    truth = draw_truth(scenario, design, rng)
    each = len(headings) * len(speeds) * len(truth[0].greens)
    repeats = int(rng.integers(math.ceil(12 / each), max(48 // each, math.ceil(12 / each)) + 1))
    count = each * repeats
    outliers = int(rng.binomial(count, scenario.outlier_share)) if scenario.outlier_share else 0
    return truth, make_rollouts(truth[0], dataclasses.replace(design, repeats=repeats, outliers=outliers), rng)


def true_values(truth: CourseTruth, middle: float, between: float) -> dict[tuple[str, str], float]:
    found: dict[tuple[str, str], float] = {("all", "resistance_median"): middle, ("all", "between_spots"): between}
    for spot, green in truth.greens.items():
        law = green.resistance
        roll = stopping_distance(RAMP * truth.release_factor, law.constant, linear=law.linear)
        found |= {
            (spot, "resistance"): law.constant,
            (spot, "resistance_linear"): law.linear,
            (spot, "grade"): green.grade,
            (spot, "fall_direction_deg"): -math.degrees(green.fall_direction),
            (spot, "grade_along"): -green.grade * math.cos(green.fall_direction),
            (spot, "grade_left"): -green.grade * math.sin(green.fall_direction),
            (spot, "stimp_ft"): float(roll) / METRES_PER_FOOT,
        }
    law = next(iter(truth.greens.values())).resistance
    return found | {
        ("all", "grain"): law.grain,
        ("all", "grain_direction_deg"): -math.degrees(law.grain_direction),
        ("all", "scatter_absolute"): truth.distance_scatter,
        ("all", "scatter_relative"): truth.distance_scatter_relative,
        ("all", "scatter_direction"): truth.direction_scatter,
        ("all", "release_speed_scale"): truth.release_factor,
    }


def count(scenario: Scenario, rng: np.random.Generator, tally: Tally) -> None:
    truth, sheet = draw_sheet(scenario, rng)
    table = golfphys.fit(sheet, law=scenario.law, grain=scenario.grain).rollouts.estimates  # type: ignore[arg-type]
    values = true_values(*truth)
    relative = truth[0].distance_scatter_relative * float(sheet.frame["distance"].median())
    values[("all", "scatter_single_roll")] = float(np.hypot(truth[0].distance_scatter, relative))
    for key, value in values.items():
        if key in table.index:
            low, high = table.loc[key, ["low", "high"]].astype(float)
            if key[1].endswith("direction_deg"):  # taken round the circle
                value += 360.0 * round(((low + high) / 2 - value) / 360.0)
            tally.note(key[1], low, high, value)


if __name__ == "__main__":
    run(Path(__file__), SCENARIOS, count, 20250506)
