"""Every notebook runs, stores what it shows when run, stays small, and leaves long code to the library."""

import base64
import io
import json
import math
import re
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pages
import pytest
import refresh_notebooks
from PIL import Image

from golfphys.sheets import append_rows, make_course_folder

MOST_BYTES = 1_000_000
MARKUP = "<img src=markup-was-run>"
TURNS = (0, 90, 180, 270)
notebooks = pytest.mark.parametrize("path", pages.NOTEBOOKS, ids=lambda path: path.stem)


def read(path: Path) -> Any:
    """Read a notebook."""
    return nbformat.read(path, as_version=4)


@pytest.mark.thorough
@notebooks
def test_stored_outputs_are_true(path: Path, shared_fits: Path) -> None:
    """A fresh run shows what the file stores; the cure for a difference is tests/refresh_notebooks.py."""
    wrong = []
    fresh = refresh_notebooks.executed(path, shared_fits)
    pairs = zip(pages.code_cells(read(path)), pages.code_cells(fresh), strict=True)
    for number, (old, new) in enumerate(pairs, start=1):
        before, after = list(pages.outputs(old)), list(pages.outputs(new))
        if [kind for kind, _ in before] != [kind for kind, _ in after]:
            wrong.append(f"cell {number}: stores {[kind for kind, _ in before]}, shows {[kind for kind, _ in after]}")
            continue
        said = [pages.disagreement(kind, was, now) for (kind, was), (_, now) in zip(before, after, strict=True)]
        wrong += [f"cell {number}: {words}" for words in said if words]
    cure = f"\nstore them anew with: python tests/refresh_notebooks.py notebooks/{path.name}"
    assert not wrong, "\n".join(wrong) + cure


@notebooks
def test_stores_what_a_reader_should_see(path: Path) -> None:
    """A small file as the refresh leaves it: no state of widgets, no error, warning or address; links lead somewhere.

    A function longer than five lines belongs in the library, under test.
    """
    stored = read(path)
    assert path.stat().st_size < MOST_BYTES
    assert refresh_notebooks.text(refresh_notebooks.normalised(read(path))) == path.read_text(encoding="utf-8")
    for cell in pages.code_cells(stored):
        assert pages.long_functions(cell.source) == []
        assert [output for output in cell.outputs if output.output_type == "error"] == []
        for kind, content in pages.outputs(cell):
            assert kind != "stderr", f"the page shows a warning: {content[:300]}"
            if kind != "image/png":
                assert not re.search(r"\bat 0x[0-9a-f]{6,}|/(home|root|tmp|Users)/|C:\\\\", content), content[:300]
    targets = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", pages.markdown(stored))
    local = [target for target in targets if not re.match(r"[a-z]+:", target)]
    assert [target for target in local if not (path.parent / target).exists()] == []


def test_readme_shows_the_pictures_of_the_first_page() -> None:
    """Each picture is the one that the page stores."""
    drawn = refresh_notebooks.pictures(read(next(path for path in pages.NOTEBOOKS if path.name.startswith("00_"))))
    assert set(drawn) == set((pages.NOTEBOOKS[0].parent / "pictures").iterdir())
    assert [path.name for path, content in drawn.items() if path.read_bytes() != content] == []


@pytest.mark.thorough
def test_refreshing_twice_changes_nothing(tmp_path: Path) -> None:
    """Styled tables, pictures, widgets and printing come out the same from run to run."""
    sources = (
        "import pandas\npandas.DataFrame({'a': [1.0]}).style.format('{:.1f}')",
        "import matplotlib.pyplot as plt\nplt.plot([1, 2]);",
        "import ipywidgets\nipywidgets.IntSlider()",
        "print(1)\nprint(2)",
    )
    path = tmp_path / "page.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=list(map(nbformat.v4.new_code_cell, sources))), path)
    assert refresh_notebooks.main([str(path)]) == 0
    first = path.read_text(encoding="utf-8")
    assert refresh_notebooks.main([str(path)]) == 0
    assert path.read_text(encoding="utf-8") == first
    assert [len(cell.outputs) for cell in pages.code_cells(read(path))] == [1, 1, 0, 1]


@pytest.mark.parametrize(
    ("stored", "fresh", "agree"),
    [
        ("grade 0.021 at 3 balls", "grade  0.022 at 3 balls", True),
        ("grade 0.021", "grade 0.024", False),
        ("3 balls", "4 balls", False),
        ("1.5e-03", "1.6e-03", True),
        ("1.5e-03", "1.9e-03", False),
        ("pitching wedge 1.0", "sand wedge 1.0", False),
        ("\u22120.20 m", "\u22120.21 m", True),
        ("-0.20 m", "0.20 m", False),
        ("0.0 m", "-0.0 m", True),
        ("37 %", "38 %", True),
        ("37 %", "40 %", False),
    ],
)
def test_numbers_agree_to_the_digits_that_are_known(stored: str, fresh: str, agree: bool) -> None:
    """Words and counts exactly, rounded figures and percentages to the last digit."""
    assert (pages.disagreement("text/plain", stored, fresh) == "") is agree


def encoded(picture: np.ndarray) -> str:
    """Return a grey picture as base64 PNG."""
    out = io.BytesIO()
    Image.fromarray(picture.astype(np.uint8)).save(out, "png")
    return base64.b64encode(out.getvalue()).decode()


def test_pictures_agree_up_to_a_shift_of_a_pixel() -> None:
    """A moved line is seen, a speck or a line one pixel on is not, and another size is another picture."""
    blank = np.full((200, 400), 255)
    line, moved, near = blank.copy(), blank.copy(), blank.copy()
    line[100:103], moved[120:123], near[101:104] = 0, 0, 0
    near[10, 10:15] = 0
    assert pages.disagreement("image/png", encoded(line), encoded(near)) == ""
    assert "of the picture" in pages.disagreement("image/png", encoded(line), encoded(moved))
    assert "size" in pages.disagreement("image/png", encoded(line), encoded(blank[:50]))


def test_long_functions_are_found() -> None:
    """Five lines pass, six do not; docstrings, comments and blank lines are free."""
    body = "\n".join(f"    a{number} = {number}" for number in range(5))
    fine = f'%matplotlib inline\ndef fine():\n    """Say."""\n\n    # why\n{body}\n'
    assert pages.long_functions(fine) == []
    assert pages.long_functions(f"def long():\n{body}\n    return a0\n") == ["long"]


@pytest.mark.thorough
def test_the_pages_of_a_course_run_on_any_course_and_show_its_markup_as_text(tmp_path: Path, shared_fits: Path) -> None:
    """All pages that read the chosen course, one after the other, on a course whose every word holds markup."""
    home = tmp_path / "home"
    folder = make_course_folder(home / "courses" / "marked", units="feet", reference_line=f"north {MARKUP} $x_1")
    spot, noted = f"low {MARKUP} _a_ $x$", {"note": f"{MARKUP} **b** $y$"}
    rolls = [(heading, 10 + 2 * math.cos(math.radians(heading)) + step / 9) for step in range(3) for heading in TURNS]
    rows: dict[str, list[dict[str, object]]] = {
        "rollouts": [
            {"spot": spot, "heading_deg": turn, "ramp_run_in": 30, "distance_ft": rolled, **noted}
            for turn, rolled in rolls
        ],
        "drops": [{"spot": spot, "drop_height_ft": 5, "rebound_height_ft": back, **noted} for back in (0.9, 1.0, 0.95)],
        "chips": [
            {"club": club, "lie": "fairway", "spot": spot, "heading_deg": 0, "edge_ft": 8, "player": MARKUP,
             "target_carry_ft": carry, "carry_ft": carry + step % 5 - 2, "rest_ft": rest + step % 7 - 3, **noted}
            for club, carry, rest in (("9-iron", 16, 40), ("sand wedge", 24, 38)) for step in range(10)
        ],
    }  # fmt: skip
    for kind, added in rows.items():
        sheet = folder / f"{kind}.csv"
        sheet.write_text(re.sub(r",note$", f",note,{MARKUP}", sheet.read_text(), flags=re.MULTILINE))
        append_rows(sheet, added, kind=kind)
    (home / "settings.json").write_text(json.dumps({"course": "marked", "units": "feet"}), encoding="utf-8")
    (home / "fits").symlink_to(shared_fits)
    cells = [cell for path in pages.NOTEBOOKS for cell in pages.code_cells(read(path)) if "chosen" in path.read_text()]
    whole = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(cell.source) for cell in cells])
    shown = refresh_notebooks.run(whole, home, pages.NOTEBOOKS[0].parent)
    html = [
        text for cell in shown.cells for kind, text in pages.outputs(cell) if kind in ("text/html", "text/markdown")
    ]
    widgets = shown.metadata.widgets["application/vnd.jupyter.widget-state+json"]["state"].values()
    html += [item["state"]["value"] for item in widgets if item["model_name"] == "HTMLModel"]
    assert any("markup-was-run" in text for text in html)
    assert [text for text in html if re.search("<img[^>]*markup-was-run", text)] == []
