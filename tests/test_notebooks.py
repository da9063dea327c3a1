"""Every notebook runs, stores what it shows when run, stays small, and leaves long code to the library."""

import base64
import io
import json
import re
import sys
from pathlib import Path
from typing import Any

import nbformat
import numpy as np
import pages
import pytest
import refresh_notebooks
from page_fixtures import keep_apart
from PIL import Image

from golfphys import headless
from golfphys.__main__ import main

MOST_BYTES = 1_000_000
notebooks = pytest.mark.parametrize("path", pages.NOTEBOOKS, ids=lambda path: path.stem)


@pytest.fixture(autouse=True)
def own_settings(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    """Give every test settings of its own."""
    keep_apart(monkeypatch, tmp_path)


def read(path: Path) -> Any:
    """Read a notebook."""
    return nbformat.read(path, as_version=4)


def small_notebook(folder: Path, *sources: str) -> Path:
    """Write a notebook of a heading and code cells."""
    cells = [
        nbformat.v4.new_markdown_cell("# A page\n\n## The plan, in short"),
        *map(nbformat.v4.new_code_cell, sources),
    ]
    path = folder / "page.ipynb"
    nbformat.write(nbformat.v4.new_notebook(cells=cells), path)
    return path


def test_there_is_a_first_notebook() -> None:
    """The README opens the workbook on it."""
    assert "00_from_rollouts_to_landing_spot" in [path.stem for path in pages.NOTEBOOKS]


CHAINS = ("10", "11", "12", "13")
STORED_WITH = (3, 11)
"""Pages whose numbers come from a Markov chain, which takes other ways where the last digit of a library's sum differs;
and the Python, with the newest libraries for it, that they are stored with: elsewhere only their kinds are compared."""


@notebooks
def test_stored_outputs_are_true(path: Path, page_run: Any) -> None:
    """A fresh run shows what the file stores; the cure for a difference is tests/refresh_notebooks.py."""
    other_ways = path.name.startswith(CHAINS) and sys.version_info[:2] != STORED_WITH
    stored = read(path)
    wrong = []
    for number, (old, new) in enumerate(
        zip(pages.code_cells(stored), pages.code_cells(page_run), strict=True), start=1
    ):
        before, after = list(pages.outputs(old)), list(pages.outputs(new))
        if [kind for kind, _ in before] != [kind for kind, _ in after]:
            wrong.append(f"cell {number}: stores {[kind for kind, _ in before]}, shows {[kind for kind, _ in after]}")
            continue
        if other_ways:
            continue
        said = [pages.disagreement(kind, was, now) for (kind, was), (_, now) in zip(before, after, strict=True)]
        wrong += [f"cell {number}: {words}" for words in said if words]
    cure = f"\nstore them anew with: python tests/refresh_notebooks.py notebooks/{path.name}"
    assert not wrong, "\n".join(wrong) + cure


@notebooks
def test_is_stored_as_the_refresh_leaves_it(path: Path) -> None:
    """The file has no state of widgets, no timing, no random names, and executed cells are numbered from 1."""
    stored = read(path)
    assert refresh_notebooks.text(refresh_notebooks.normalised(read(path))) == path.read_text(encoding="utf-8")
    counts = [cell.execution_count for cell in pages.code_cells(stored) if cell.source.strip()]
    assert counts == list(range(1, len(counts) + 1))


@notebooks
def test_stores_no_error_warning_or_address(path: Path) -> None:
    """A reader sees results only."""
    for cell in pages.code_cells(read(path)):
        assert [output for output in cell.outputs if output.output_type == "error"] == []
        for kind, content in pages.outputs(cell):
            assert kind != "stderr", f"the page shows a warning: {content[:300]}"
            if kind != "image/png":
                assert not re.search(r"\bat 0x[0-9a-f]{6,}|/home/|/root/|/tmp/|C:\\\\", content), content[:300]


@notebooks
def test_leaves_code_to_the_library(path: Path) -> None:
    """A function longer than five lines belongs in the library, under test."""
    assert [name for cell in pages.code_cells(read(path)) for name in pages.long_functions(cell.source)] == []


@notebooks
def test_is_small(path: Path) -> None:
    """Notebooks stay reviewable."""
    assert path.stat().st_size < MOST_BYTES


@notebooks
def test_links_lead_somewhere(path: Path) -> None:
    """Relative links and pictures of the text cells exist."""
    targets = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", pages.markdown(read(path)))
    local = [target for target in targets if not re.match(r"[a-z]+:", target)]
    assert [target for target in local if not (path.parent / target).exists()] == []


def test_headless_run_leaves_figures_and_full_tables(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """The command line writes each picture and each table, the latter unrounded, and says which files."""
    table = "import pandas\npandas.DataFrame({'length': [1 / 3]}, index=pandas.Index(['a'], name='club'))"
    picture = "import matplotlib.pyplot as plt\nplt.plot([1, 2]);"
    path = small_notebook(tmp_path, table, table + ".style.format('{:.1f}')", picture)
    before = path.read_bytes()
    assert main(["run", str(path), "--into", str(tmp_path / "out")]) == 0
    names = ["01-the-plan-in-short.csv", "02-the-plan-in-short.csv", "03-the-plan-in-short.png", "page.ipynb"]
    assert sorted(item.name for item in (tmp_path / "out").iterdir()) == names
    assert capsys.readouterr().out.splitlines() == [str(tmp_path / "out" / name) for name in names]
    for name in names[:2]:
        assert (tmp_path / "out" / name).read_text(encoding="utf-8") == "club,length\na,0.3333333333333333\n"
    with Image.open(tmp_path / "out" / names[2]) as picture:
        assert picture.width > 300
    assert path.read_bytes() == before


def test_headless_run_names_the_cell_that_fails(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A failing page gives exit status 1 and says where and why."""
    path = small_notebook(tmp_path, "1 + 1", "raise ValueError('the sheet is upside down')")
    assert main(["run", str(path), "--into", str(tmp_path / "out")]) == 1
    said = capsys.readouterr().err
    assert "code cell 2, under 'The plan, in short'" in said
    assert "ValueError: the sheet is upside down" in said
    assert not (tmp_path / "out").exists()


def test_headless_run_gives_up_on_a_cell_that_hangs(tmp_path: Path) -> None:
    """A limit in seconds holds."""
    path = small_notebook(tmp_path, "import time\ntime.sleep(60)")
    with pytest.raises(headless.NotebookFailed, match="longer than 1 s"):
        headless.run(path, tmp_path / "out", seconds_per_cell=1)


def test_headless_run_answers_a_wrong_call(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A missing page, a file that is no page, a broken page and a file in the folder's place each get a sentence."""
    page = small_notebook(tmp_path, "1")
    broken, plain = tmp_path / "broken.ipynb", tmp_path / "plain.txt"
    broken.write_text("{", encoding="utf-8")
    plain.write_text("words", encoding="utf-8")
    calls = {
        "notebooks in": [str(tmp_path / "none.ipynb")],
        "not a notebook": [str(plain)],
        "not a readable notebook": [str(broken)],
        "is a file; expected a folder": [str(page), "--into", str(plain)],
    }
    for words, arguments in calls.items():
        assert main(["run", *arguments]) == 2
        assert words in capsys.readouterr().err


def test_named_cells_name_their_files() -> None:
    """A cell's name, if it has one, becomes the name of its picture; a second picture is numbered."""
    data = {"image/png": base64.b64encode(b"picture").decode()}
    output = nbformat.v4.new_output("display_data", data)
    cell = nbformat.v4.new_code_cell("draw()", metadata={"name": "plan"}, outputs=[output, output])
    assert list(headless.collect(nbformat.v4.new_notebook(cells=[cell]))) == ["plan.png", "plan-2.png"]


def test_refreshing_twice_changes_nothing(tmp_path: Path) -> None:
    """Styled tables, pictures, widgets and printing come out the same from run to run."""
    styled = "import pandas\npandas.DataFrame({'a': [1.0]}).style.format('{:.1f}')"
    picture = "import matplotlib.pyplot as plt\nplt.plot([1, 2]);"
    path = small_notebook(tmp_path, styled, picture, "import ipywidgets\nipywidgets.IntSlider()", "print(1)\nprint(2)")
    assert refresh_notebooks.main([str(path)]) == 0
    first = path.read_text(encoding="utf-8")
    assert refresh_notebooks.main([str(path)]) == 0
    assert path.read_text(encoding="utf-8") == first
    assert "widget" not in json.dumps(json.loads(first)["metadata"])
    assert [len(cell.outputs) for cell in pages.code_cells(read(path))] == [1, 1, 0, 1]


@pytest.mark.parametrize(
    ("stored", "fresh", "agree"),
    [
        ("grade 0.021 at 3 balls", "grade  0.022 at 3 balls", True),
        ("grade 0.021", "grade 0.023", False),
        ("3 balls", "4 balls", False),
        ("1.5e-03", "1.6e-03", True),
        ("1.5e-03", "1.8e-03", False),
        ("pitching wedge 1.0", "sand wedge 1.0", False),
        ("\u22120.20 m", "\u22120.21 m", True),
        ("-0.20 m", "0.20 m", False),
    ],
)
def test_outputs_agree_to_the_last_digit(stored: str, fresh: str, agree: bool) -> None:
    """Words and counts exactly, rounded figures to one unit of their last digit."""
    assert (pages.disagreement("text/plain", stored, fresh) == "") is agree


def encoded(picture: np.ndarray) -> str:
    """Return a grey picture as base64 PNG."""
    out = io.BytesIO()
    Image.fromarray(picture.astype(np.uint8)).save(out, "png")
    return base64.b64encode(out.getvalue()).decode()


def test_pictures_agree_up_to_a_few_pixels() -> None:
    """A moved line is seen, a speck is not, and another size is another picture."""
    blank = np.full((100, 200), 255)
    line, moved, speck = blank.copy(), blank.copy(), blank.copy()
    line[50:53], moved[60:63], speck[50:53] = 0, 0, 0
    speck[10, 10:15] = 0
    assert pages.disagreement("image/png", encoded(line), encoded(speck)) == ""
    assert "pixels differ" in pages.disagreement("image/png", encoded(line), encoded(moved))
    assert "size" in pages.disagreement("image/png", encoded(line), encoded(blank[:50]))


def test_long_functions_are_found() -> None:
    """Five lines pass, six do not; docstrings, comments and blank lines are free."""
    body = "\n".join(f"    a{number} = {number}" for number in range(5))
    fine = f'%matplotlib inline\ndef fine():\n    """Say."""\n\n    # why\n{body}\n'
    assert pages.long_functions(fine) == []
    assert pages.long_functions(f"def long():\n{body}\n    return a0\n") == ["long"]
