"""Does the rest of a new chip lie in its interval where the world follows other laws, alone and with a player's past?

In each world of `worlds.py` courses are measured for an hour (12 rolls, 10 drops, 40 chips), fitted, and twenty new
chips of the same player are predicted from their aims. Counted is how often a chip comes to rest in its 90 % interval
along the line (a chip that the fit holds to be impossible does not), and in how many courses a caution says that a law
may not hold. With ``--weeks`` players of the worlds of others (strike, bounce and roll by no law of the fit) have
logged five weeks on five courses before, each half measured, and are predicted without that past and with it.

    python tests/studies/coverage_worlds.py                        # 15 courses of each world, about ten minutes
    python tests/studies/coverage_worlds.py --weeks --courses 6    # six players of each, ten minutes of processor

The results go to ``coverage_worlds.csv`` and ``coverage_weeks.csv``, for each player a row, beside this file; what is
there is not counted again.
"""

import argparse
import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from tally import recorded, says_so
from worlds import WORLDS, draw_case, earlier, measure

import golfphys

COLUMNS = ["club", "lie", "spot", "heading", "target_carry"]
OTHERS, WEEKS = ("linear", "uneven"), 5
HERE = Path(__file__).parent


def interval(fit: golfphys.CourseFit, shot: pd.DataFrame) -> np.ndarray:
    """Return the 90 % interval of the rest of one chip; of one that the fit holds to be impossible, none."""
    try:
        return np.quantile(fit.predict(shot, n=1000, seed=1).rest[:, 0], [0.05, 0.95])
    except ValueError:
        return np.full(2, np.nan)


def counted(fit: golfphys.CourseFit, new: pd.DataFrame, name: str = "") -> dict[str, float]:
    """Return how many new chips lie in their intervals and beyond, and how wide those are."""
    low, high = np.array([interval(fit, new.iloc[[i]][COLUMNS]) for i in range(len(new))]).T
    rest, width = new["rest"].to_numpy(), round(float(np.nanmedian(high - low)), 2)
    held = {f"held{name}": int(((low <= rest) & (rest <= high)).sum())}
    return held | {f"beyond{name}": int((rest > high).sum()), f"width{name}_m": width}


def alone(world: str, number: int) -> dict[str, Any]:
    case = draw_case(world, number)
    fit, new = golfphys.fit(*measure(case, 1.0)), measure(case, 0.5).chips.frame
    return {"chips": len(new), **counted(fit, new), "says_so": says_so(fit)}


def with_past(world: str, number: int) -> dict[str, Any]:
    """Return counts of one player, without her past and with it."""
    case = draw_case(world, number)
    now, new, began = measure(case, 1.0), measure(case, 0.5).chips.frame, time.process_time()
    weeks = [measure(earlier(case, week), 0.5) for week in range(WEEKS)]
    row: dict[str, Any] = {"world": world, "player": number, "chips": len(new), "changes_said": 0}
    fits = golfphys.fit_weeks([*weeks, now])
    row |= counted(golfphys.fit(*now), new, "_alone") | counted(fits[-1], new, "_past")
    row["changes_said"] = sum(bool(one.settings.past.changes) for one in fits)
    return row | {"cpu_s": round(time.process_time() - began, 1)}


def shares(rows: pd.DataFrame, name: str = "") -> dict[str, float]:
    """Return which share of chips lies in their intervals, with its standard error, and beyond; and the widths."""
    chips, each = rows["chips"].sum(), rows[f"held{name}"] / rows["chips"]
    return {
        f"held{name}": round(float(rows[f"held{name}"].sum() / chips), 3),
        f"standard_error{name}": round(float(each.std(ddof=1) / np.sqrt(len(rows))), 3),
        f"beyond{name}": round(float(rows[f"beyond{name}"].sum() / chips), 3),
        f"median_width{name}_m": round(float(rows[f"width{name}_m"].median()), 2),
    }


def in_world(world: str, courses: int) -> dict[str, Any]:
    """Return the shares of a world."""
    table = pd.DataFrame([alone(world, number) for number in range(courses)])
    said = {"says_that_a_law_may_not_hold": round(float(table["says_so"].mean()), 2)}
    return {"world": world, "courses": courses, "chips": table["chips"].sum(), **shares(table), **said}


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--courses", type=int, default=15)
    parser.add_argument("--worlds", nargs="+")
    parser.add_argument("--weeks", action="store_true")
    asked = parser.parse_args()
    worlds = asked.worlds or (OTHERS if asked.weeks else WORLDS)
    if asked.weeks:
        cases = [(world, number) for number in range(asked.courses) for world in worlds]
        rows = recorded(HERE / "coverage_weeks.csv", with_past, cases, ("world", "player"))
        parts = dict([*rows.groupby("world"), ("both", rows)])
        table = pd.DataFrame({name: shares(part, "_alone") | shares(part, "_past") for name, part in parts.items()}).T
    else:
        cases = [(world, asked.courses) for world in worlds]
        table = recorded(HERE / "coverage_worlds.csv", in_world, cases, ("world", "courses"))
    print(table.to_string())
