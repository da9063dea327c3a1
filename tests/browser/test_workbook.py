"""JupyterLab in a browser: panels answer the keyboard; from an empty home to the sheet to carry; the phone's page."""

import csv
import re
import shutil
import time
from pathlib import Path
from typing import Any

import lab
import nbformat
import numpy as np
import pytest
import refresh_notebooks as pages
from scipy.io import wavfile

from golfphys.recordings.opening import Camera, film, thuds
from golfphys.sheets import read_course

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


PLAYER = "Zoë von Müller"
START, FORMS = "notebooks/start.ipynb", "notebooks/17_fill_in_your_sheets.ipynb"
PLAN, CARRY = "notebooks/13_choose_the_shot.ipynb", "notebooks/16_the_sheet_to_carry.ipynb"

ROLLS = [(heading, distance) for heading, distance in zip((0, 90, 180, 270) * 3, (
    9.8, 10.6, 11.9, 10.9, 9.6, 10.4, 12.1, 11.0, 9.9, 10.7, 11.7, 10.8
), strict=True)]  # fmt: skip
MARKUP = "<img src=markup-was-run>"
SPOT = f"low {MARKUP}"
DROPS = [("5", "0.95"), ("5", "0.99"), ("5", "0.92"), ("6", "1.1"), ("6", "1.16"), ("6", "1.07")]
CHIPS = [("9-iron", 14 + (7 * number) % 5, 38 + (11 * number) % 7) for number in range(10)]
CHIPS += [("sand wedge", 22 + (7 * number) % 5, 36 + (11 * number) % 6) for number in range(10)]


def form_with(page: Any, button: str, kind: str = "") -> Any:
    form = page.locator(".jp-OutputArea-output .widget-vbox").filter(has=page.get_by_role("button", name=button))
    return (form.filter(has_text=kind) if kind else form).first


def typed(page: Any, form: Any, label: str, text: object) -> None:
    field = form.get_by_label(re.compile(rf"^{re.escape(label)}( \(degrees\))?( \*)?$")).first
    field.wait_for(state="visible")
    field.focus()
    assert field.evaluate("field => field === document.activeElement"), f"the cursor is not in {label!r}"
    page.keyboard.press("ControlOrMeta+a")
    page.keyboard.type(str(text))


def until(page: Any, form: Any, words: str, seconds: float = 30) -> None:
    """Wait until a form says something."""
    lab.wait(page, seconds, lambda: words in lab.words(form), lambda: f"it says {lab.words(form)!r}, not {words!r}")


def run_cells(page: Any, count: int) -> None:
    """Run the first code cells of a page, one after the other, as a reader does with Shift and Enter."""
    for number in range(count):
        cell = page.locator(".jp-CodeCell").nth(number)
        cell.locator(".jp-InputPrompt").first.click()
        page.keyboard.press("Shift+Enter")
    last = page.locator(".jp-CodeCell").nth(count - 1).locator(".jp-InputPrompt")
    ran = lambda: re.fullmatch(r"\[\d+\]:", last.first.inner_text().strip())  # noqa: E731
    lab.wait(page, 180, ran, "the cells did not run")
    assert page.locator(lab.ERROR).count() == 0, page.locator(lab.ERROR).all_inner_texts()


def a_course_is_made(page: Any, server: lab.Lab) -> None:
    lab.open_and_run(page, server, START)
    panel = page.locator(".jp-OutputArea-output .widget-vbox").filter(has_text="greens of the day").first
    panel.get_by_label("course", exact=True).select_option(label="(a new course)")
    until(page, panel, "Give it a name")
    panel.get_by_label("lengths in").select_option(label="feet")
    typed(page, panel, "name of the new course", "Lower Links")
    typed(page, panel, "heading 0 points", f"along the west edge {MARKUP}")
    panel.get_by_role("button", name="Make this course").click()
    until(page, panel, "Lower Links: no rows yet")
    lab.screenshot(page, "a course made")


def rows_are_typed(page: Any) -> None:
    """Rolls, drops and chips, Enter after each; a slip is said, and a row is mended."""
    form = form_with(page, "Delete it", "Rollouts")
    typed(page, form, "spot", SPOT)
    for number, (heading, distance) in enumerate(ROLLS, start=1):
        typed(page, form, "heading", heading)
        typed(page, form, "note", MARKUP if number == 1 else "")
        typed(page, form, "distance (feet)", distance)
        page.keyboard.press("Enter")
        until(page, form, f"Saved as row {number}:")
    form = form_with(page, "Delete it", "Drops")
    typed(page, form, "spot", SPOT)
    for number, (high, back) in enumerate(DROPS, start=1):
        typed(page, form, "drop height (feet)", high)
        typed(page, form, "rebound height (feet)", back)
        page.keyboard.press("Enter")
        until(page, form, f"Saved as row {number}:")
    form = form_with(page, "Delete it", "Chips")
    for label, text in (("lie", "fairway"), ("spot", SPOT), ("heading", 0), ("edge (feet)", 8)):
        typed(page, form, label, text)
    for number, (club, carry, rest) in enumerate(CHIPS, start=1):
        typed(page, form, "club", club)
        typed(page, form, "target carry (feet)", 16 if club == "9-iron" else 24)
        typed(page, form, "rest (feet)", rest)
        typed(page, form, "carry (feet)", "far" if number == 7 else carry)
        page.keyboard.press("Enter")
        if number == 7:
            until(page, form, "expected a number of feet")
            typed(page, form, "carry (feet)", 40)  # a slip, mended below
            typed(page, form, "rest (feet)", 45)
            page.keyboard.press("Enter")
        until(page, form, f"Saved as row {number}:")
    lab.screenshot(page, "twenty chips")
    form.locator("option").filter(has_text=re.compile(f"^{len(CHIPS)}:")).wait_for(state="attached")
    form.get_by_label("row", exact=True).select_option(index=len(CHIPS) - 7)
    form.get_by_role("button", name="Mend this row").click()
    until(page, form, "Row 7 is in the fields")
    typed(page, form, "rest (feet)", CHIPS[6][2])
    typed(page, form, "carry (feet)", CHIPS[6][1])
    page.keyboard.press("Enter")
    until(page, form, "Saved as row 7:")


def the_file_has_what_was_typed(folder: Path) -> None:
    """Every number, in feet, in the order in which it was typed."""
    course = read_course(folder)
    assert course.rollouts is not None
    assert course.drops is not None
    assert course.chips is not None
    rolls = course.rollouts.frame
    assert (rolls["distance"] / 0.3048).round(6).tolist() == [distance for _, distance in ROLLS]
    drops = course.drops.frame
    assert (drops["rebound_height"] / 0.3048).round(6).tolist() == [float(back) for _, back in DROPS]
    chips = course.chips.frame
    assert chips["club"].tolist() == [club for club, _, _ in CHIPS]
    assert (chips["carry"] / 0.3048).round(6).tolist() == [carry for _, carry, _ in CHIPS]
    assert (chips["rest"] / 0.3048).round(6).tolist() == [rest for _, _, rest in CHIPS]


def test_a_player_has_a_folder_and_labels_begin_with_their_inputs(page: Any, server: lab.Lab) -> None:
    lab.open_and_run(page, server, START)
    panel = page.locator(".jp-OutputArea-output .widget-vbox").filter(has_text="greens of the day").first
    typed(page, panel, "player", PLAYER)
    page.keyboard.press("Tab")
    panel.get_by_role("button", name="Make a folder for her own logs").click()
    until(page, panel, f"What {PLAYER} logs on any course has its sheets in")
    assert (server.home / "courses" / "players" / PLAYER / "chips.csv").exists()
    for width, side in ((400, "left"), (1280, "right")):
        page.set_viewport_size({"width": width, "height": 1000})
        page.keyboard.press("ControlOrMeta+b")  # the list of files, which leaves no room
        label = panel.locator(".widget-label").first
        lab.wait(page, 10, lambda: label.evaluate("it => getComputedStyle(it).textAlign") == side, f"not {side}")  # noqa: B023
        lab.screenshot(page, f"a player at {width}")


def test_from_an_empty_home_to_the_sheet_to_carry(page: Any, server: lab.Lab) -> None:
    a_course_is_made(page, server)
    server.stop_kernels()
    lab.open_and_run(page, server, FORMS, seconds=300)
    rows_are_typed(page)
    typed_at = time.monotonic()
    folder = server.home / "courses" / "Lower Links"
    the_file_has_what_was_typed(folder)
    server.stop_kernels()
    lab.open_only(page, server, PLAN)
    run_cells(page, 2)
    panel = form_with(page, "Keep this plan")
    shown = page.locator(".widget-vbox").filter(has=page.get_by_text("ball to pin (ft)", exact=True)).last
    until(page, shown, "strokes", seconds=60)
    seconds = time.monotonic() - typed_at
    print(f"from the last row typed to the answer on the page of the plan: {seconds:.0f} s")
    assert " ft" in lab.words(shown)
    shown.get_by_label("lie", exact=True).select_option(label="light rough")
    panel.get_by_role("button", name="Keep this plan").click()
    until(page, panel, f"light rough, {SPOT}")
    lab.screenshot(page, "a plan kept")
    before = lab.words(shown)
    panel.get_by_label("lengths in").select_option(label="metres")
    in_metres = page.locator(".widget-slider").filter(has=page.get_by_text("ball to pin (m)", exact=True))
    lab.wait(page, 30, lambda: in_metres.count() and lab.words(panel) != before, "units were not switched")
    page.wait_for_timeout(3000)  # for what the browser has to say to the new ends of the slider
    assert in_metres.locator(".widget-readout").inner_text() == "15.0"
    server.stop_kernels()
    lab.open_only(page, server, CARRY)
    run_cells(page, 2)
    form = form_with(page, "Write it as PDF")
    form.get_by_role("button", name="Write it as PDF").click()
    until(page, form, "Written to", seconds=120)
    lab.screenshot(page, "the sheet to carry")
    (written,) = (folder / "results").glob("to carry low*.pdf")
    assert written.read_bytes().startswith(b"%PDF")
    assert not list((server.home / "courses").glob("results*"))


def test_a_file_is_chosen_matched_and_added(page: Any, server: lab.Lab, tmp_path: Path) -> None:
    a_course_is_made(page, server) if not (server.home / "courses" / "Lower Links").exists() else None
    source = tmp_path / "theirs.csv"
    source.write_text("place;direction;distance (ft)\nhigh;0;10,2\nhigh;180;8,1\n", encoding="utf-8")
    lab.open_and_run(page, server, FORMS, seconds=300)
    form = form_with(page, "Add these rows")
    with page.expect_file_chooser() as chooser:
        form.get_by_role("button", name="Choose a file").click()
    chooser.value.set_files(source)
    until(page, form, "2 rows will be added")
    form.get_by_role("button", name="Add these rows").click()
    until(page, form, "2 rows added to")
    rolls = read_course(server.home / "courses" / "Lower Links").rollouts.frame  # type: ignore[union-attr]
    assert (rolls.loc[rolls["spot"] == "high", "distance"] / 0.3048).round(6).tolist() == [10.2, 8.1]


PHONE = "notebooks/20_the_phone_as_an_instrument.ipynb"
CORNERS = ((0.0, 0.0), (3.0, 0.0), (3.0, 1.0), (0.0, 1.0))


def test_the_phones_page(page: Any, server: lab.Lab, tmp_path: Path) -> None:
    """What was heard is said, and the ball is followed after four clicks."""
    sound, clip = tmp_path / "drop.wav", tmp_path / "roll.mp4"
    wavfile.write(
        sound, 48000, (20000 * thuds([0.6, 1.05, 1.245], [0.5, 0.3, 0.15], duration=2.0, seed=2)).astype("i2")
    )
    times = np.arange(0.0, 1.0, 1 / 30)
    way = 1.5 * times - 0.3 * times**2
    camera = film(clip, np.array([0.4, 0.3]) + np.stack([way, 0.05 * way], axis=1), times, camera=Camera())
    lab.open_and_run(page, server, PHONE)
    listening = form_with(page, "Put these times into the sheet")
    with page.expect_file_chooser() as chooser:
        listening.get_by_role("button", name="Choose a recording").click()
    chooser.value.set_files(sound)
    until(page, listening, "first flight: 0.450 s")
    filming = form_with(page, "Follow the ball")
    with page.expect_file_chooser() as chooser:
        filming.get_by_role("button", name="Choose a film").click()
    chooser.value.set_files(clip)
    until(page, filming, "Click the mark that is near left")
    picture, at = filming.get_by_alt_text("a frame of the film"), (0.0, 0.0)
    for corner, said in zip(CORNERS, ("near right", "far right", "far left", "Press"), strict=True):
        right, down = np.clip(camera.project(np.array([*corner, 0.0])), 1, [camera.width - 2, camera.height - 2])
        box = picture.bounding_box()
        scale = box["width"] / camera.width
        if said == "Press":  # the last by keyboard, from where the one before was clicked
            picture.focus()
            for keys, steps in (
                (("ArrowLeft", "ArrowRight"), round(1000 * (right - at[0]) / camera.width)),
                (("ArrowUp", "ArrowDown"), round(1000 * (down - at[1]) / camera.height)),
            ):
                for times, held in ((abs(steps) // 10, ""), (abs(steps) % 10, "Shift+")):
                    for _ in range(times):
                        page.keyboard.press(f"{held}{keys[steps > 0]}")
            page.keyboard.press("Enter")
        else:
            picture.click(position={"x": right * scale, "y": down * scale})
        at = right, down
        until(page, filming, said)
    filming.get_by_role("button", name="Follow the ball").click()
    until(page, filming, "Speed at the first of them", seconds=60)
    lab.screenshot(page, "the phone")
