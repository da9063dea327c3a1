"""Study: how often do the 90 % intervals of a rollout fit hold the truth.

Every course has its own truth, drawn from the priors that the fit states; its sheet is made by `golfphys.invented`
(the physics of the library, scatter, rounding to a centimetre, outliers where the scenario says so) with one to six
spots, three to six headings, one to three release speeds, 12 to 48 rolls, and side drift noted in about half of the
sheets. Further scenarios change what the fit assumes: scatter that does not grow with distance, scatter in proportion
to distance, outliers, release speeds that are exactly as written, and resistance that grows with speed.

Run ``python tests/studies/coverage_rollouts.py`` (about half an hour); it writes .csv and .md beside itself.
``--courses 50 --scenario "as assumed"`` is a quick look.
"""

import argparse
import dataclasses
import math
import sys
import time
from collections import defaultdict
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd

import golfphys
from golfphys.core import constants
from golfphys.core.units import METRES_PER_FOOT
from golfphys.fitting.rollout_layout import RAMP_SD, Priors
from golfphys.invented import CourseTruth, RolloutDesign, make_rollouts
from golfphys.physics.green import Green, Resistance
from golfphys.physics.ramp import stopping_distance
from golfphys.sheets import RolloutSheet

HERE = Path(__file__).parent
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
    absolute = PRIORS.scatter_absolute * math.exp(PRIORS.scatter_spread * rng.standard_normal())
    relative = PRIORS.scatter_relative * math.exp(PRIORS.scatter_spread * rng.standard_normal())
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


@dataclasses.dataclass(frozen=True, kw_only=True)
class Truth:
    """A course, and what its spots have in common."""

    course: CourseTruth
    middle: float
    between: float


def draw_truth(scenario: Scenario, design: RolloutDesign, rng: np.random.Generator) -> Truth:
    """Draw a course on which every planned ball stops within 15 m."""
    absolute, relative = scenario.scatter(rng)
    middle = PRIORS.resistance * math.exp(PRIORS.resistance_spread * rng.standard_normal())
    between = PRIORS.between * math.exp(PRIORS.between_spread * rng.standard_normal())
    linear = PRIORS.term_spread["linear"] * rng.standard_normal() if scenario.law == "linear" else 0.0
    grain, leans = np.hypot(*(PRIORS.grain_spread * rng.standard_normal(2))), rng.uniform(-math.pi, math.pi)
    grain = min(float(grain), 0.5) if scenario.grain else 0.0
    greens = {}
    for i in range(int(rng.integers(1, 7))):
        level = middle * math.exp(between * rng.standard_normal())
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
    return Truth(course=course, middle=middle, between=between)


def draw_sheet(scenario: Scenario, rng: np.random.Generator) -> tuple[Truth, RolloutSheet]:
    """Draw a course and the sheet that measuring it would have given, 12 to 48 rolls."""
    choice = SPEEDS[2:] if scenario.law == "linear" else SPEEDS
    speeds = choice[rng.integers(len(choice))]
    headings = tuple(math.radians(degrees) for degrees in HEADINGS[rng.integers(len(HEADINGS))])
    design = RolloutDesign(
        headings=headings, release_speeds=speeds, side_share=0.8 if scenario.grain else 0.6 * float(rng.random() < 0.5)
    )
    truth = draw_truth(scenario, design, rng)
    each = len(headings) * len(speeds) * len(truth.course.greens)
    repeats = int(rng.integers(math.ceil(12 / each), max(48 // each, math.ceil(12 / each)) + 1))
    count = each * repeats
    outliers = int(rng.binomial(count, scenario.outlier_share)) if scenario.outlier_share else 0
    return truth, make_rollouts(truth.course, dataclasses.replace(design, repeats=repeats, outliers=outliers), rng)


def true_values(drawn: Truth) -> dict[tuple[str, str], float]:
    """Return the true value of every estimate of interest."""
    truth = drawn.course
    found: dict[tuple[str, str], float] = {("all", "resistance_median"): drawn.middle}
    found[("all", "between_spots")] = drawn.between
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
    found[("all", "grain")] = law.grain
    found[("all", "grain_direction_deg")] = -math.degrees(law.grain_direction)
    found[("all", "scatter_absolute")] = truth.distance_scatter
    found[("all", "scatter_relative")] = truth.distance_scatter_relative
    found[("all", "scatter_direction")] = truth.direction_scatter
    found[("all", "release_speed_scale")] = truth.release_factor
    return found


def holds(low: float, high: float, value: float, parameter: str) -> bool:
    """Whether an interval holds a value; directions are taken round the circle."""
    if parameter.endswith("direction_deg"):
        return any(low <= value + turn <= high for turn in (-360.0, 0.0, 360.0, 720.0))
    return low <= value <= high


def study(scenario: Scenario, courses: int, seed: int) -> list[dict[str, object]]:
    """Fit `courses` sheets and count."""
    hits: dict[str, list[bool]] = defaultdict(list)
    widths: dict[str, list[float]] = defaultdict(list)
    started = time.perf_counter()
    for number in range(courses):
        rng = np.random.default_rng([seed, number])
        truth, sheet = draw_sheet(scenario, rng)
        table = golfphys.fit(sheet, law=scenario.law, grain=scenario.grain).rollouts.estimates  # type: ignore[arg-type]
        values = true_values(truth)
        relative = truth.course.distance_scatter_relative * float(sheet.rolls["distance"].median())
        single = float(np.hypot(truth.course.distance_scatter, relative))
        values[("all", "scatter_single_roll")] = single
        for key, value in values.items():
            if key in table.index:
                low, high = (float(table.loc[key, side]) for side in ("low", "high"))
                hits[key[1]].append(holds(low, high, value, key[1]))
                widths[key[1]].append(high - low)
    sys.stdout.write(f"{scenario.name}: {courses} courses, {(time.perf_counter() - started) / courses:.2f} s each\n")
    sys.stdout.flush()
    return [
        {
            "scenario": scenario.name,
            "parameter": parameter,
            "courses": courses,
            "intervals": len(found),
            "covered_pct": round(100 * float(np.mean(found)), 1),
            "median_width": float(f"{np.median(widths[parameter]):.4g}"),
        }
        for parameter, found in hits.items()
    ]


def page(table: pd.DataFrame) -> str:
    """Return the result as a page of Markdown."""
    wide = table.pivot(index="parameter", columns="scenario", values="covered_pct")
    wide = wide.reindex(index=list(dict.fromkeys(table["parameter"])), columns=list(dict.fromkeys(table["scenario"])))
    counts = table.groupby("scenario", sort=False)["courses"].first()
    lines = [
        "| parameter | " + " | ".join(f"{name} ({counts[name]} courses)" for name in wide.columns) + " |",
        "| --- |" + " --- |" * len(wide.columns),
    ]
    for parameter, row in wide.iterrows():
        cells = ["" if math.isnan(value) else f"{value:.1f}" for value in row]
        lines.append(f"| {parameter} | " + " | ".join(cells) + " |")
    return HEAD + "\n".join(lines) + "\n" + FOOT


HEAD = """# Coverage of rollout fits

Share (%) of 90 % intervals that hold the truth, over synthetic courses each with its own truth drawn from the priors
that the fit states. Made by `tests/studies/coverage_rollouts.py`; the numbers behind it are in the CSV file.

"""
FOOT = """
How to read it: in the first column every assumption of the fit holds, and coverage should be 90. Further columns break
one assumption each.

- A part of the scatter that is truly zero cannot lie inside an interval of a positive number unless the interval
  reaches down to 0, which it does where the rolls do not exclude it. What decides the other intervals is the scatter
  of single rolls as a whole (`scatter_single_roll`).
- Where release speeds are exactly as written, the allowance for their error makes the intervals of resistance too wide
  on purpose; the green speed does not carry that allowance.
- Strays are rolls stopped after 40 to 70 % of their way.
"""


def main() -> None:
    """Run the study and write its result."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--courses", type=int, help="courses of each scenario, instead of its own number")
    parser.add_argument("--scenario", help="run one scenario and print it, without writing files")
    parser.add_argument("--seed", type=int, default=20250506)
    chosen = parser.parse_args()
    rows: list[dict[str, object]] = []
    for scenario in SCENARIOS:
        if chosen.scenario in (None, scenario.name):
            rows += study(scenario, chosen.courses or scenario.courses, chosen.seed)
            if chosen.scenario is None and chosen.courses is None:
                table = pd.DataFrame(rows)
                table.to_csv(HERE / "coverage_rollouts.csv", index=False)
                (HERE / "coverage_rollouts.md").write_text(page(table), encoding="utf-8")
    sys.stdout.write(pd.DataFrame(rows).to_string(index=False) + "\n")


if __name__ == "__main__":
    main()
