"""Does the rest of a new chip lie in its interval where five weeks of her past count as well, in worlds of others?

A player of each world of others in `worlds.py` (her strike, bounce and roll by no law of the fit) logs five weeks on
five courses, each half measured (6 rolls, 6 drops, 20 chips), then an hour on a new one. Twenty new chips of hers there
are predicted from their aims, with the new course alone and with her past. Counted is how often a chip comes to rest
in its 90 % interval along the line, as in `coverage_worlds.py`.

    python tests/studies/coverage_weeks.py                # 6 players of each world, about ten minutes of processor
    python tests/studies/coverage_weeks.py --players 1    # a try

A row for each player goes to ``coverage_weeks.csv`` beside this file; if stopped, it goes on where it was.
"""

import argparse
import time
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from coverage_worlds import COLUMNS, interval
from worlds import Sheets, draw_case, earlier, measure

import golfphys

OTHERS, WEEKS = ("linear", "uneven"), 5


def visit(sheets: Sheets) -> tuple[Any, ...]:
    """Return the sheets of a visit as `golfphys.fit` takes them."""
    return sheets.rollouts, sheets.drops, sheets.chips


def one(world: str, number: int) -> dict[str, Any]:
    """Return counts of one player, without her past and with it."""
    case = draw_case(world, number)
    now, new = visit(measure(case, 1.0)), measure(case, 0.5).chips.chips
    row: dict[str, Any] = {"world": world, "player": number, "chips": len(new)}
    began = time.process_time()
    weeks = golfphys.fit_weeks([visit(measure(earlier(case, week), 0.5)) for week in range(WEEKS)])
    row["changes_said"] = sum(bool(fit.settings.past.changes) for fit in weeks)
    for name, past in (("alone", None), ("past", weeks[-1])):
        fit = golfphys.fit(*now, past=past)
        low, high = np.array([interval(fit, new.iloc[[i]][COLUMNS]) for i in range(len(new))]).T
        rest = new["rest"].to_numpy()
        row[f"held_{name}"] = int(((low <= rest) & (rest <= high)).sum())
        row[f"beyond_{name}"] = int((rest > high).sum())
        row[f"width_{name}_m"] = round(float(np.nanmedian(high - low)), 2)
    row["changes_said"] += bool(fit.settings.past.changes)
    return row | {"cpu_s": round(time.process_time() - began, 1)}


def summary(rows: pd.DataFrame) -> pd.DataFrame:
    """Return for each world, and for both, how many in a hundred lie in their intervals, with its standard error."""
    found = {}
    for world, part in [*rows.groupby("world"), ("both", rows)]:
        line: dict[str, float] = {"players": len(part), "chips": int(part["chips"].sum())}
        for name in ("alone", "past"):
            share = part[f"held_{name}"] / part["chips"]
            line[f"held_{name}"] = round(float(part[f"held_{name}"].sum() / part["chips"].sum()), 3)
            line[f"se_{name}"] = round(float(share.std(ddof=1) / np.sqrt(len(part))), 3)
            line[f"width_{name}_m"] = round(float(part[f"width_{name}_m"].median()), 2)
        found[str(world)] = line
    return pd.DataFrame.from_dict(found, orient="index")


if __name__ == "__main__":
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--players", type=int, default=6)
    parser.add_argument("--into", type=Path, default=Path(__file__).with_suffix(".csv"))
    asked = parser.parse_args()
    done = (
        set() if not asked.into.exists() else set(map(tuple, pd.read_csv(asked.into)[["world", "player"]].to_numpy()))
    )
    for number in range(asked.players):
        for world in OTHERS:
            if (world, number) not in done:
                line = pd.DataFrame([one(world, number)])
                line.to_csv(asked.into, mode="a", header=not asked.into.exists(), index=False)
    print(summary(pd.read_csv(asked.into)).to_string())
