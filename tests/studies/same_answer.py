"""How far the numbers of a fit move between seeds and between kernels of the linear algebra, in their own sd.

``python tests/studies/same_answer.py 4`` fits the demonstration course with four seeds and prints the table; a second
number adds so many invented courses, each with a truth of its own (those of ``coverage_chain.py``).
``OPENBLAS_CORETYPE=Prescott python tests/studies/same_answer.py 2 --keep kept.pkl`` keeps the estimates, and ``--with
kept.pkl`` compares others with them. Seeds are meant to move a number by a twentieth of its standard deviation, and
never by more than a quarter; kernels by no more than a fiftieth.
"""

import argparse
import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from coverage_chain import SCENARIOS, draw_sheets, draw_truth

from golfphys import fit
from golfphys.sheets import read_chips, read_drops, read_rollouts

DEMO = Path(__file__).parents[2] / "data" / "demo"
COLUMNS = ("estimate", "low", "high")


def sheets_of(course: int) -> tuple[Any, ...]:
    """Return the sheets of the demonstration course (0), or of an invented one by number."""
    if course == 0:
        return read_rollouts(DEMO / "rollouts.csv"), read_drops(DEMO / "drops.csv"), read_chips(DEMO / "chips.csv")
    rng = np.random.default_rng([77, course])
    sheets = draw_sheets(draw_truth(rng, SCENARIOS[0]), rng)
    return sheets.rollouts, sheets.drops, sheets.chips


def estimates(seeds: int, course: int) -> list[pd.DataFrame]:
    """Return the estimates of a course for each seed."""
    found = []
    for seed in range(seeds):
        start = time.process_time()
        fitted = fit(*sheets_of(course), seed=seed)
        source = fitted.posterior
        worth = f"Pareto k {source.pareto_k:.2f}, {source.effective_draws:.0f} independent draws ({source.method})"
        print(f"course {course}, seed {seed}: {worth}, {time.process_time() - start:.1f} s of processor", flush=True)
        found.append(fitted.estimates)
    return found


def moved(tables: list[pd.DataFrame], others: list[pd.DataFrame] | None = None) -> pd.DataFrame:
    """Return typical and largest distance from the mean of all, or from the other table of the same seed, in sd."""
    sd = np.mean([table["sd"] for table in tables], axis=0)
    rows = {}
    for column in COLUMNS:
        values = np.array([table[column] for table in tables])
        centre = values.mean(axis=0) if others is None else np.array([table[column] for table in others])
        away = np.abs(values - centre) / sd
        worst = np.unravel_index(int(away.argmax()), away.shape)[1]
        rows[column] = {
            "typical": float(np.sqrt((away**2).mean())),
            "largest": float(away.max()),
            "where": " ".join(map(str, tables[0].index[int(worst)])),
        }
    return pd.DataFrame(rows).T


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("seeds", type=int)
    parser.add_argument("courses", type=int, nargs="?", default=0)
    parser.add_argument("--keep", type=Path)
    parser.add_argument("--with", type=Path, dest="known")
    asked = parser.parse_args()
    every = []
    for course in range(asked.courses + 1):
        tables = estimates(asked.seeds, course)
        known = pd.read_pickle(asked.known)[course][: asked.seeds] if asked.known else None
        print(moved(tables, known).to_string() if len(tables) > 1 or known else "one seed", flush=True)
        every.append(tables)
    if asked.keep:
        pd.to_pickle(every, asked.keep)
