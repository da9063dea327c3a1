"""Rows typed into a page are there after a reload; files are written; the choice of units is kept."""

from pathlib import Path
from typing import Any

import lab
import nbformat
import pytest

from golfphys.sheets import read_rollouts

pytestmark = [pytest.mark.thorough, pytest.mark.xdist_group("browser")]
FORMS = "notebooks/17_fill_in_your_sheets.ipynb"

UNITS = """
from golfphys import panels

panels.UnitsSwitch()
"""
ROLL = """
panels.RollPanel()
"""


def form_with(page: Any, button: str) -> Any:
    """Return the first form that has this button."""
    return page.locator(".jp-OutputArea-output .widget-vbox").filter(has=page.get_by_role("button", name=button)).first


def typed(page: Any, form: Any, first: str, cells: list[str]) -> None:
    """Type cells one after the other, moving on by the Tab key from the field whose label begins with `first`."""
    form.locator(".widget-text, .widget-combobox").filter(has_text=first).locator("input").first.focus()
    for cell in cells:
        page.keyboard.press("ControlOrMeta+a")
        page.keyboard.type(cell)
        page.keyboard.press("Tab")


def until(page: Any, form: Any, words: str, seconds: float = 30) -> None:
    """Wait until a form says something."""
    for _ in range(int(5 * seconds)):
        if words in lab.words(form):
            return
        page.wait_for_timeout(200)
    raise lab.PageFailed(f"the form does not say {words!r} within {seconds:g} s; it says {lab.words(form)!r}")


def press(page: Any, form: Any, button: str) -> None:
    """Press a button by keyboard."""
    form.get_by_role("button", name=button).focus()
    page.keyboard.press("Enter")


def results_are_written(page: Any, server: lab.Lab) -> None:
    """Tables and figures of the page are in the folder that it names."""
    form = form_with(page, "Write the files")
    press(page, form, "Write the files")
    until(page, form, "Written to")
    results = server.home / "courses" / "my course" / "results"
    kinds = {path.suffix for path in results.iterdir()}
    assert kinds == {".csv", ".png", ".pdf"}
    assert all(path.stat().st_size > 100 for path in results.iterdir())


def a_file_is_brought_in(page: Any, folder: Path) -> None:
    """A file of another layout is named, matched and written as a sheet; nothing is dragged or clicked."""
    source, target = folder / "theirs.csv", folder / "mine.csv"
    source.write_text("place;direction;distance (ft)\nlow;0;10,2\nlow;180;8,1\n", encoding="utf-8")
    form = form_with(page, "Write the new sheet")
    typed(page, form, "file to bring in", [str(source), str(target)])
    until(page, form, "2 rows, nothing wrong with them")
    press(page, form, "Write the new sheet")
    until(page, form, "2 rows written")
    assert read_rollouts(target).rolls["distance"].round(3).tolist() == [3.109, 2.469]


def test_a_row_typed_by_keyboard_is_there_after_a_reload(page: Any, server: lab.Lab, tmp_path: Path) -> None:
    """A slip is said while it is typed, the mended row is saved, and a fresh kernel on a reloaded page shows it."""
    lab.open_and_run(page, server, FORMS)
    form = form_with(page, "Save this row")
    typed(page, form, "spot", ["practice-low", "90", "0.762", "3,05"])
    until(page, form, "Write the decimal sign as a point: 3.05")
    press(page, form, "Save this row")
    until(page, form, "Not saved yet")
    sheet = server.home / "courses" / "my course" / "rollouts.csv"
    assert not sheet.exists()
    typed(page, form, "distance", ["3.05", "-0.11", "typed in a browser"])
    press(page, form, "Save this row")
    until(page, form, "Saved as row")
    until(page, form, "practice-low, 1 roll")
    lab.screenshot(page, "a row saved")
    server.stop_kernels()
    lab.open_and_run(page, server, FORMS)
    form = form_with(page, "Save this row")
    until(page, form, "1 row, the last of them:")
    assert "typed in a browser" in form.locator("table").first.inner_text()
    rolls = read_rollouts(sheet).rolls
    assert rolls[["spot", "distance", "side"]].to_numpy().tolist() == [["practice-low", 3.05, -0.11]]
    results_are_written(page, server)
    a_file_is_brought_in(page, tmp_path)


def test_units_are_kept_for_the_next_page(page: Any, server: lab.Lab) -> None:
    """Feet chosen on one page are feet on the next, with another kernel."""
    path = server.folder / "units.ipynb"
    cells = [nbformat.v4.new_code_cell(source) for source in (UNITS, ROLL)]
    nbformat.write(nbformat.v4.new_notebook(cells=cells), path)
    lab.add_marker(path)
    try:
        lab.open_and_run(page, server, path.name)
        assert page.get_by_text("speed at the start (m/s)", exact=True).count() == 1
        page.get_by_label("Show lengths in").focus()
        page.keyboard.type("feet")
        page.get_by_text("Kept: panels open in feet from now on").wait_for(timeout=10_000)
        server.stop_kernels()
        lab.open_and_run(page, server, path.name)
        before, after = lab.move_slider(page, "speed at the start (ft/s)")
        assert " ft " in before
        assert before != after
    finally:
        (server.home / "settings.json").unlink(missing_ok=True)
