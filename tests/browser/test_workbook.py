"""Notebooks with panels run from JupyterLab's menu; every panel moved by keyboard and seen to answer."""

import csv
import re
import shutil
from pathlib import Path
from typing import Any

import lab
import nbformat
import pages
import pytest

pytestmark = pytest.mark.thorough
TABLE = Path(__file__).parent / "panels.csv"


@pytest.fixture(autouse=True)
def empty_home(server: lab.Lab) -> None:
    shutil.rmtree(server.home / "courses", ignore_errors=True)
    (server.home / "settings.json").unlink(missing_ok=True)


def panels() -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    with TABLE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            found.setdefault(row["notebook"], []).append(row["slider"])
    return found


@pytest.mark.parametrize("notebook", panels())
def test_notebook_runs_and_its_panels_answer(notebook: str, page: Any, server: lab.Lab) -> None:
    lab.open_and_run(page, server, f"notebooks/{notebook}.ipynb")
    for slider in panels()[notebook]:
        before, after = lab.move_slider(page, slider)
        assert after != before, f"{slider}: the panel says {before!r} before and after"
    lab.screenshot(page, notebook)
    assert page.locator(lab.ERROR).count() == 0


@pytest.mark.parametrize("path", pages.NOTEBOOKS, ids=lambda path: path.stem)
def test_every_page_with_a_panel_is_in_the_table(path: Path) -> None:
    source = "\n".join(cell.source for cell in pages.code_cells(nbformat.read(path, as_version=4)))
    sliders = re.search(r"panels\.(roll|bounce|shot|landing_spots|chip|clubs|plan|measuring)\(", source)
    assert (sliders is not None) == (path.stem in panels())
