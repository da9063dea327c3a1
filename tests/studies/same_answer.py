"""How far the numbers of a fit move between seeds, in their own standard deviations.

``python tests/studies/same_answer.py 4`` fits the demonstration course with four seeds and prints the table; a second
number adds so many invented courses, each with a truth of its own (those of ``coverage_chain.py``). Seeds are meant to
move a number by a twentieth of its standard deviation, and never by more than a quarter. Kernels of the linear algebra
are compared by ``tests/versions.py --kernels``.
"""

import sys
import time
from typing import Any

import numpy as np
import pandas as pd
from coverage_chain import SCENARIOS, draw_sheets, draw_truth
from tally import demo_sheets

from golfphys import fit


def sheets_of(course: int) -> tuple[Any, ...]:
    """Return the sheets of the demonstration course (0), or of an invented one by number."""
    if course == 0:
        return demo_sheets()
    rng = np.random.default_rng([77, course])
    return draw_sheets(draw_truth(rng, SCENARIOS[0]), rng)[0]


def estimates(seed: int, course: int) -> pd.DataFrame:
    start = time.process_time()
    fitted = fit(*sheets_of(course), seed=seed)
    source = fitted.posterior
    worth = f"Pareto k {source.pareto_k:.2f}, {source.effective_draws:.0f} independent draws ({source.method})"
    print(f"course {course}, seed {seed}: {worth}, {time.process_time() - start:.1f} s of processor", flush=True)
    return fitted.estimates


def moved(tables: list[pd.DataFrame]) -> pd.DataFrame:
    """Return typical and largest distance from the mean of all seeds, in standard deviations."""
    sd, rows = np.mean([table["sd"] for table in tables], axis=0), {}
    for column in ("estimate", "low", "high"):
        values = np.array([table[column] for table in tables])
        away = np.abs(values - values.mean(axis=0)) / sd
        where = tables[0].index[int(away.max(axis=0).argmax())]
        rows[column] = {"typical": np.sqrt((away**2).mean()), "largest": away.max(), "where": " ".join(where)}
    return pd.DataFrame(rows).T


if __name__ == "__main__":
    seeds, courses = (*map(int, sys.argv[1:]), 0)[:2]
    for course in range(courses + 1):
        print(moved([estimates(seed, course) for seed in range(seeds)]).to_string(), flush=True)
