"""Run by a clean environment that holds nothing but the wheel and what it requires: does the library work by itself?

``python tests/outside_the_repository.py REPOSITORY``, from another folder than the repository.
"""

import importlib.util
import sys
from pathlib import Path

import golfphys

WORKBOOK = ("jupyterlab", "matplotlib", "ipywidgets", "sympy")


def main(repository: Path) -> None:
    """Resolve every public name, fit the demonstration's rolls and play a chip on the green that comes out."""
    home = Path(golfphys.__file__).resolve()
    assert repository.resolve() not in home.parents, f"golfphys came from the repository: {home}"
    assert not any(map(importlib.util.find_spec, WORKBOOK)), "the library alone brought the workbook along"
    found = []
    for name in golfphys.__all__:
        try:
            getattr(golfphys, name)
        except ModuleNotFoundError as missing:
            if "golfphys[workbook]" not in str(missing):
                raise
        else:
            found.append(name)
    print(f"golfphys {golfphys.__version__}: {len(found)} of {len(golfphys.__all__)} public names from {home.parent}")
    assert {"fit", "plan_chip", "simulate"} <= set(found)
    rolls = golfphys.read_rollouts(repository / "data" / "demo" / "rollouts.csv")
    green = golfphys.fit(rolls).green("practice-low")
    print(golfphys.plan_chip(golfphys.assumed(green), to_edge=3.0, to_pin=15.0).table)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
