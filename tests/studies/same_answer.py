"""How far the numbers of a fit move between seeds and between kernels of the linear algebra, in their own sd.

``python tests/studies/same_answer.py 4`` fits the demonstration course with four seeds and prints the table;
``OPENBLAS_CORETYPE=Prescott python tests/studies/same_answer.py 2 kept.pkl`` keeps the estimates as well, and a third
argument compares them with those kept before. Seeds are meant to move a number by a twentieth of its standard
deviation, and never by more than a quarter; kernels by no more than a fiftieth.
"""

import sys
from pathlib import Path

import numpy as np
import pandas as pd

from golfphys import fit
from golfphys.sheets import read_chips, read_drops, read_rollouts

DEMO = Path(__file__).parents[2] / "data" / "demo"
COLUMNS = ("estimate", "low", "high")


def estimates(seeds: int) -> list[pd.DataFrame]:
    """Return the estimates of the demonstration course for each seed."""
    sheets = (
        read_rollouts(DEMO / "rollouts.csv"),
        read_drops(DEMO / "drops.csv"),
        read_chips(DEMO / "chips.csv"),
    )
    found = []
    for seed in range(seeds):
        fitted = fit(*sheets, seed=seed)
        source = fitted.posterior
        print(f"seed {seed}: Pareto k {source.pareto_k:.2f}, {source.effective_draws:.0f} independent draws")
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
    tables = estimates(int(sys.argv[1]))
    print(moved(tables).to_string() if len(tables) > 1 else "one seed")
    if len(sys.argv) > 2:
        pd.to_pickle(tables, sys.argv[2])
    if len(sys.argv) > 3:
        print("against those kept:")
        print(moved(tables, pd.read_pickle(sys.argv[3])[: len(tables)]).to_string())
