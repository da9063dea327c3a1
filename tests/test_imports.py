"""What importing golfphys loads, and that its public names are what its register says."""

import importlib
import json
import subprocess
import sys

import pytest
from conftest import ROOT

import golfphys

HEAVY = {"numba", "sympy", "matplotlib", "ipywidgets", "pandas", "scipy", "IPython", "arviz_stats"}


def loaded_by(statements: str) -> set[str]:
    """Return the top-level packages that a fresh interpreter has loaded after running `statements`."""
    code = (
        f"import json, sys\n{statements}\nprint(json.dumps(sorted({{name.partition('.')[0] for name in sys.modules}})))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    return set(json.loads(done.stdout))


def test_import_loads_nothing_heavy() -> None:
    """`import golfphys` costs next to nothing, and listing its names as little."""
    assert loaded_by("import golfphys; dir(golfphys)") & (HEAVY | {"numpy"}) == set()


def test_making_a_green_loads_nothing_heavy() -> None:
    """Greens and balls need neither compiler, plots, widgets, tables nor algebra."""
    assert loaded_by("import golfphys; golfphys.Green.from_stimp(10.0), golfphys.Ball()") & HEAVY == set()


def test_every_public_name_is_found() -> None:
    """Each name of the register is in its room, and says so itself."""
    for name in golfphys.__all__:
        value = getattr(golfphys, name)
        assert value is not None, name
        assert getattr(value, "__module__", "golfphys").startswith("golfphys"), name
        assert name in dir(golfphys)


def test_an_unknown_name_is_answered_with_the_nearest() -> None:
    """A slip of the pen gets the names that are nearest."""
    with pytest.raises(AttributeError, match=r"no 'Grean'.*Green"):
        _ = golfphys.Grean


@pytest.mark.thorough
def test_every_module_imports() -> None:
    """No module is broken by itself: each imports in this interpreter."""
    paths = sorted((ROOT / "golfphys").rglob("*.py"))
    names = [".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__") for path in paths]
    assert [name for name in names if importlib.import_module(name) is None] == []
