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
    """The pages are those of a reader who has chosen nothing, whatever the tests before have chosen."""
    shutil.rmtree(server.home / "courses", ignore_errors=True)
    (server.home / "settings.json").unlink(missing_ok=True)


PANEL = """
import io
import ipywidgets
from matplotlib.figure import Figure

slider = ipywidgets.IntSlider(value=3, min=0, max=9, description="length (m)", continuous_update=False)
words, picture = ipywidgets.HTML(), ipywidgets.Image(format="png")

def redraw(change=None):
    words.value, out = f"<p role='status'>{slider.value} m</p>", io.BytesIO()
    figure = Figure()
    figure.subplots().plot([0, slider.value])
    figure.savefig(out)
    picture.value = out.getvalue()

slider.observe(redraw, names="value")
redraw()
ipywidgets.VBox([slider, words, picture])
"""


def panels() -> dict[str, list[str]]:
    """Return the sliders to move on each notebook."""
    found: dict[str, list[str]] = {}
    with TABLE.open(encoding="utf-8", newline="") as lines:
        for row in csv.DictReader(lines):
            found.setdefault(row["notebook"], []).append(row["slider"])
    return found


def written(server: lab.Lab, name: str, *sources: str) -> str:
    """Write a small notebook where the server sees it."""
    path = server.folder / name
    nbformat.write(nbformat.v4.new_notebook(cells=[*map(nbformat.v4.new_code_cell, sources)]), path)
    lab.add_marker(path)
    return name


def test_the_harness_moves_a_slider(page: Any, server: lab.Lab) -> None:
    """A panel made here answers: its number goes up and its picture changes."""
    lab.open_and_run(page, server, written(server, "answers.ipynb", PANEL))
    before, after = lab.move_slider(page, "length (m)")
    assert before == "3 m"
    assert after == "7 m"  # four steps
    assert lab.screenshot(page, "harness").stat().st_size > 10_000


def test_the_harness_notices_a_dead_panel(page: Any, server: lab.Lab) -> None:
    """A panel that does not listen, and a slider that is not there, are both failures."""
    lab.open_and_run(
        page, server, written(server, "deaf.ipynb", PANEL.replace("slider.observe", "(lambda *a, **k: 0)"))
    )
    with pytest.raises(lab.PageFailed, match="the words stayed: '3 m'"):
        lab.move_slider(page, "length (m)", seconds=2)
    with pytest.raises(lab.PageFailed, match=r"no slider 'width \(m\)'; the page has length"):
        lab.move_slider(page, "width (m)")


def test_the_harness_notices_an_error(page: Any, server: lab.Lab) -> None:
    """A cell that fails fails the page."""
    with pytest.raises(lab.PageFailed, match="the sheet is upside down"):
        lab.open_and_run(page, server, written(server, "fails.ipynb", "raise ValueError('the sheet is upside down')"))


@pytest.mark.parametrize("notebook", panels())
def test_notebook_runs_and_its_panels_answer(notebook: str, page: Any, server: lab.Lab) -> None:
    """The page runs from the menu without an error, and each slider of the table changes its panel.

    Pages without a panel show in the browser what the executed pages store, and are not run a second time here.
    """
    lab.open_and_run(page, server, f"notebooks/{notebook}.ipynb")
    for slider in panels()[notebook]:
        before, after = lab.move_slider(page, slider)
        assert after != before, f"{slider}: the panel says {before!r} before and after"
    lab.screenshot(page, notebook)
    assert page.locator(lab.ERROR).count() == 0


def test_the_table_of_panels_names_notebooks_that_exist() -> None:
    """A renamed notebook does not drop out of the check unseen."""
    assert set(panels()) <= {path.stem for path in pages.NOTEBOOKS}


@pytest.mark.parametrize("path", pages.NOTEBOOKS, ids=lambda path: path.stem)
def test_every_page_with_a_panel_is_in_the_table(path: Path) -> None:
    """A page that shows a panel has at least one slider in the table."""
    source = "\n".join(cell.source for cell in pages.code_cells(nbformat.read(path, as_version=4)))
    sliders = re.search(r"panels\.(roll|bounce|shot|landing_spots|chip|clubs|plan|measuring)\(", source)
    assert (sliders is not None) == (path.stem in panels())


def test_a_missing_chromium_is_noticed(monkeypatch: pytest.MonkeyPatch) -> None:
    """Without Chromium the browser tests have a reason to skip; with it they have a path."""
    monkeypatch.setenv("PATH", "")
    monkeypatch.delenv("GOLFPHYS_CHROMIUM", raising=False)
    assert lab.chromium() is None
    monkeypatch.setenv("GOLFPHYS_CHROMIUM", shutil.which("true", path="/bin:/usr/bin") or "")
    assert lab.chromium() is not None
