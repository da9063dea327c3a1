"""The demonstration course fitted once for all tests that ask."""

from functools import lru_cache
from typing import Any

from conftest import ROOT

from golfphys.fitting.course_fit import CourseFit
from golfphys.fitting.joint import fit_course
from golfphys.sheets import read_chips, read_drops, read_rollouts

DEMO = ROOT / "data" / "demo"


@lru_cache(maxsize=1)
def sheets() -> tuple[Any, Any, Any]:
    """Return the demonstration sheets: rollouts, drops, chips."""
    return read_rollouts(DEMO / "rollouts.csv"), read_drops(DEMO / "drops.csv"), read_chips(DEMO / "chips.csv")


@lru_cache(maxsize=1)
def demo_fit() -> CourseFit:
    """Return the fit of all demonstration sheets."""
    return fit_course(*sheets())


@lru_cache(maxsize=1)
def before_chips() -> CourseFit:
    """Return the fit of the same rolls and drops, without a chip."""
    rollouts, drops, _ = sheets()
    return fit_course(rollouts, drops)
