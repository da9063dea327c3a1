"""The demonstration and its scripts; its course fitted once for all tests that ask, in whichever process."""

import importlib.util
import os
import pickle
from functools import cache
from pathlib import Path
from typing import Any

from filelock import FileLock
from tally import DEMO, demo_sheets

import golfphys
from golfphys.fitting.course_fit import CourseFit

sheets = cache(demo_sheets)


@cache
def script(name: str) -> Any:
    """Load a script of the data folder."""
    spec = importlib.util.spec_from_file_location(name, DEMO.with_name(f"{name}.py"))
    module = importlib.util.module_from_spec(spec)  # type: ignore[arg-type]
    spec.loader.exec_module(module)  # type: ignore[union-attr]
    return module


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
    return demo_fit(2)


def shots(*clubs: str) -> dict[str, list[Any]]:
    """Return shots from the fairway to land 6 m on at one of the demonstration's greens, with these clubs."""
    one = {"lie": "fairway", "spot": "home-left", "heading": 0.2, "target_carry": 6.0}
    return {"club": list(clubs)} | {name: [value] * len(clubs) for name, value in one.items()}
