"""What the studies share: draws of what is positive, the demonstration's sheets, and tallies of intervals as tables."""

import argparse
import math
import re
from collections import defaultdict
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

import golfphys
from golfphys.fitting.course_cautions import patterns

DEMO = Path(__file__).parents[2] / "data" / "demo"


def near(rng: np.random.Generator, median: float, spread: float) -> float:
    """Draw a positive value with this median and standard deviation of its logarithm."""
    return float(median * math.exp(spread * rng.standard_normal()))


def demo_sheets() -> tuple[Any, ...]:
    course = golfphys.read_course(DEMO)
    return course.rollouts, course.drops, course.chips


def says_so(fit: Any) -> bool:
    return bool(patterns(fit, fit.residuals) + [text for text in fit.cautions if "depend on speed" in text])


class Tally:
    """How often intervals hold the truth, and how wide they are, by what they are of."""

    def __init__(self) -> None:
        self.hits: dict[str, list[bool]] = defaultdict(list)
        self.widths: dict[str, list[float]] = defaultdict(list)

    def count(self, what: str, held: Any, width: Any = math.nan) -> None:
        """Count whether something held, or an array of it."""
        self.hits[what] += np.ravel(held).tolist()
        self.widths[what] += np.ravel(width).tolist()

    def note(self, what: str, low: Any, high: Any, value: Any) -> None:
        """Count whether an interval holds a value, or an array of them."""
        self.count(what, (np.asarray(low) <= value) & (value <= np.asarray(high)), np.subtract(high, low))

    def table(self, scenario: str, courses: int) -> pd.DataFrame:
        """Return a row for each thing that intervals were counted of."""
        rows = [
            {"what": what, "intervals": len(held), "covered": sum(held), "covered_pct": round(100 * np.mean(held), 1)}
            for what, held in self.hits.items()
        ]
        widths = [float(f"{np.median(found):.4g}") for found in self.widths.values()]
        table = pd.DataFrame(rows).assign(median_width=widths, scenario=scenario, courses=courses)
        return table[["scenario", "what", "courses", "intervals", "covered", "covered_pct", "median_width"]]


def run(path: Path, scenarios: Sequence[Any], study: Callable[[Any, int, int], pd.DataFrame], seed: int) -> None:
    """Run all scenarios and write their table beside a study, or one of them, or fewer courses, and only print it."""
    parser = argparse.ArgumentParser(description=f"The study {path.name}; what it does stands in its first lines.")
    parser.add_argument("--courses", type=int, help="courses of each scenario, instead of its own number")
    parser.add_argument("--scenario", help="run one scenario and print it, without writing files")
    parser.add_argument("--seed", type=int, default=seed)
    asked = parser.parse_args()
    picked = [one for one in scenarios if asked.scenario in (None, one.name)]
    table = pd.concat([study(one, asked.courses or one.courses, asked.seed) for one in picked], ignore_index=True)
    print(table.to_string(index=False))
    if asked.scenario is None and asked.courses is None:
        table.to_csv(path.with_suffix(".csv"), index=False)
        page = path.with_suffix(".md")  # the words around the table are written there by hand
        text = re.sub(r"(^\|.*\n)+", lambda _: markdown(table), page.read_text(encoding="utf-8"), count=1, flags=re.M)
        page.write_text(text, encoding="utf-8")


def markdown(table: pd.DataFrame) -> str:
    """Return shares covered as a table of Markdown, a column for each scenario."""
    wide = table.pivot(index="what", columns="scenario", values="covered_pct")
    wide = wide.reindex(index=list(dict.fromkeys(table["what"])), columns=list(dict.fromkeys(table["scenario"])))
    counts = table.groupby("scenario", sort=False)["courses"].max()
    heads = ["what", *(f"{name} ({counts[name]} courses)" for name in wide.columns)]
    cells = [[what, *("" if math.isnan(share) else f"{share:.1f}" for share in row)] for what, row in wide.iterrows()]
    return "".join(f"| {' | '.join(row)} |\n" for row in [heads, ["---"] * len(heads), *cells])
