"""What the studies share: draws and sheets; intervals tallied; cases run once, on any executor; tables of pages."""

import argparse
import math
import re
import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Executor, as_completed
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


Count = Callable[[Any, np.random.Generator, Tally], None]
"""Draws a course of a scenario, fits it, and counts what its intervals hold."""


def study(count: Count, scenario: Any, courses: int, seed: int) -> pd.DataFrame:
    """Count so many courses of a scenario, each with a generator of its own."""
    tally, began = Tally(), time.perf_counter()
    for number in range(courses):
        count(scenario, np.random.default_rng([seed, number]), tally)
    print(f"{scenario.name}: {courses} courses, {(time.perf_counter() - began) / courses:.2f} s each", flush=True)
    return tally.table(scenario.name, courses)


def run(path: Path, scenarios: Sequence[Any], count: Count, seed: int) -> None:
    """Run all scenarios and write their table beside a study, or one of them, or fewer courses, and only print it."""
    parser = argparse.ArgumentParser(description=f"The study {path.name}; what it does stands in its first lines.")
    parser.add_argument("--courses", type=int, help="courses of each scenario, instead of its own number")
    parser.add_argument("--scenario", help="run one scenario and print it, without writing files")
    parser.add_argument("--seed", type=int, default=seed)
    asked = parser.parse_args()
    picked = [one for one in scenarios if asked.scenario in (None, one.name)]
    tables = [study(count, one, asked.courses or one.courses, asked.seed) for one in picked]
    table = pd.concat(tables, ignore_index=True)
    print(table.to_string(index=False))
    if asked.scenario is None and asked.courses is None:
        table.to_csv(path.with_suffix(".csv"), index=False)
        page = path.with_suffix(".md")
        page.write_text(filled(page.read_text(encoding="utf-8"), {"shares": shares(table)}), encoding="utf-8")


def shares(table: pd.DataFrame) -> pd.DataFrame:
    """Return shares covered as text, a column for each scenario."""
    wide = table.pivot(index="what", columns="scenario", values="covered_pct")
    wide = wide.reindex(index=list(dict.fromkeys(table["what"])), columns=list(dict.fromkeys(table["scenario"])))
    counts = table.groupby("scenario", sort=False)["courses"].max()
    wide.columns = [f"{name} ({counts[name]} courses)" for name in wide.columns]
    return wide.map(lambda share: "" if math.isnan(share) else f"{share:.1f}").reset_index()


def markdown(table: pd.DataFrame) -> str:
    """Return a table of text as Markdown."""
    return "\n".join(f"| {' | '.join(row)} |" for row in [table.columns, ["---"] * table.shape[1], *table.to_numpy()])


def filled(words: str, tables: dict[str, pd.DataFrame]) -> str:
    """Return a page with tables between their marks; the words around them are written there by hand."""
    for name, table in tables.items():
        between = f"<!-- {name} -->\n\n{markdown(table)}\n\n<!-- /{name} -->"
        words = re.sub(f"<!-- {name} -->.*?<!-- /{name} -->", lambda _, new=between: new, words, flags=re.DOTALL)
    return words


def each_done(
    work: Callable[..., dict[str, Any]], cases: Sequence[Sequence[Any]], executor: Executor | None
) -> Iterator[dict[str, Any]]:
    """Give what becomes of each case as soon as it is done; on an executor in any order, each as it would be alone."""
    if executor is None:
        yield from (work(*case) for case in cases)
    else:
        yield from (one.result() for one in as_completed([executor.submit(work, *case) for case in cases]))


def recorded(
    path: Path,
    work: Callable[..., dict[str, Any]],
    cases: Sequence[tuple[Any, ...]],
    known_by: Sequence[str],
    executor: Executor | None = None,
) -> pd.DataFrame:
    """Add to a file the row of each case that it lacks, as soon as it is done, and return all its rows.

    `known_by` names the columns that tell which case a row is of.
    """
    done = set(map(tuple, pd.read_csv(path)[list(known_by)].to_numpy())) if path.exists() else set()
    for row in each_done(work, [case for case in cases if case not in done], executor):
        pd.DataFrame([row]).to_csv(path, mode="a", header=not path.exists(), index=False)
    return pd.read_csv(path)
