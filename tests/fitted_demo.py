"""The demonstration course fitted once for all tests that ask, in whichever process."""

import os
import pickle
from functools import cache
from pathlib import Path
from typing import Any

from conftest import ROOT
from filelock import FileLock

import golfphys
from golfphys.fitting.course_fit import CourseFit
from golfphys.sheets import read_chips, read_drops, read_rollouts

DEMO = ROOT / "data" / "demo"


@cache
def sheets() -> tuple[Any, Any, Any]:
    """Return the demonstration sheets: rollouts, drops, chips."""
    return read_rollouts(DEMO / "rollouts.csv"), read_drops(DEMO / "drops.csv"), read_chips(DEMO / "chips.csv")


@cache
def demo_fit(count: int = 3) -> CourseFit:
    """Return the fit of so many demonstration sheets, of all if not said."""
    path = Path(os.environ["GOLFPHYS_TEST_FITS"]) / f"{count} sheets.pickle"
    with FileLock(f"{path}.lock"):
        if not path.exists():
            path.write_bytes(pickle.dumps(golfphys.fit(*sheets()[:count])))
        fit: CourseFit = pickle.loads(path.read_bytes())
        return fit


def before_chips() -> CourseFit:
    """Return the fit of the same rolls and drops, without a chip."""
    return demo_fit(2)
