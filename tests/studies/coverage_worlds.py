"""Does the rest of a new chip lie in its interval where the world follows other laws, and does the fit say so?

In each world of `worlds.py` courses are measured for an hour (12 rolls, 10 drops, 40 chips), fitted, and twenty new
chips of the same player are predicted from their aims. Counted is how often a chip comes to rest in its 90 % interval
along the line (a chip that the fit holds to be impossible does not), and in how many courses a caution says that a law
may not hold.

    python tests/studies/coverage_worlds.py                # 15 courses of each world, about ten minutes
    python tests/studies/coverage_worlds.py --courses 2    # a try

The result goes to ``coverage_worlds.csv`` beside this file.
"""

import argparse
from collections.abc import Sequence
from pathlib import Path

import numpy as np
import pandas as pd
from worlds import WORLDS, draw_case, measure

import golfphys
from golfphys.fitting.course_cautions import patterns
from golfphys.fitting.course_fit import CourseFit

COLUMNS = ["club", "lie", "spot", "heading", "target_carry"]


def interval(fit: CourseFit, shot: pd.DataFrame) -> np.ndarray:
    """Return the 90 % interval of the rest of one chip; of one that the fit holds to be impossible, none."""
    try:
        return np.quantile(fit.predict(shot, n=1000, seed=1).rest[:, 0], [0.05, 0.95])
    except ValueError:
        return np.full(2, np.nan)


def one(world: str, number: int) -> dict[str, float]:
    """Return counts of one course."""
    case = draw_case(world, number)
    sheets, new = measure(case, 1.0), measure(case, 0.5).chips.chips
    fit = golfphys.fit(sheets.rollouts, sheets.drops, sheets.chips, draws=1400)
    low, high = np.array([interval(fit, new.iloc[[number]][COLUMNS]) for number in range(len(new))]).T
    rest = new["rest"].to_numpy()
    said = patterns(fit, fit.residuals) + [text for text in fit.cautions if "depend on speed" in text]
    return {
        "chips": len(rest),
        "held": int(((low <= rest) & (rest <= high)).sum()),
        "beyond": int((rest > high).sum()),
        "width_m": float(np.nanmedian(high - low)),
        "says_so": bool(said),
    }


def study(worlds: Sequence[str], courses: int, into: Path) -> None:
    """Write a row for each world as soon as it is known."""
    rows = pd.read_csv(into).to_dict("records") if into.exists() else []
    rows = [row for row in rows if row["world"] not in worlds]
    for world in worlds:
        table = pd.DataFrame([one(world, number) for number in range(courses)])
        share = table["held"] / table["chips"]
        rows.append(
            {
                "world": world,
                "courses": courses,
                "chips": int(table["chips"].sum()),
                "held": round(float(table["held"].sum() / table["chips"].sum()), 3),
                "standard_error": round(float(share.std(ddof=1) / np.sqrt(courses)), 3),
                "beyond": round(float(table["beyond"].sum() / table["chips"].sum()), 3),
                "median_width_m": round(float(table["width_m"].median()), 2),
                "says_that_a_law_may_not_hold": round(float(table["says_so"].mean()), 2),
            }
        )
        pd.DataFrame(rows).to_csv(into, index=False)


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--courses", type=int, default=15)
    parser.add_argument("--worlds", nargs="+", default=WORLDS)
    chosen = parser.parse_args()
    study(chosen.worlds, chosen.courses, Path(__file__).with_suffix(".csv"))
