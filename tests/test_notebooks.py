"""Every notebook runs, stores what it shows when run, stays small, and leaves long code to the library."""

import json
import math
import re
from pathlib import Path
from typing import Any

import nbformat
import pages
import pytest
import refresh_notebooks

from golfphys.sheets import append_rows, make_course_folder

MOST_BYTES = 1_000_000
MARKUP = "<img src=markup-was-run>"
TURNS = (0, 90, 180, 270)
notebooks = pytest.mark.parametrize("path", pages.NOTEBOOKS, ids=lambda path: path.stem)


def read(path: Path) -> Any:
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
    stored = read(path)
    assert path.stat().st_size < MOST_BYTES
    assert refresh_notebooks.text(refresh_notebooks.normalised(read(path))) == path.read_text(encoding="utf-8")
    for cell in pages.code_cells(stored):
        assert [output for output in cell.outputs if output.output_type == "error"] == []
        for kind, content in pages.outputs(cell):
            assert kind != "stderr", f"the page shows a warning: {content[:300]}"
            if kind != "image/png":
                assert not re.search(r"\bat 0x[0-9a-f]{6,}|/(home|root|tmp|Users)/|C:\\\\", content), content[:300]
    targets = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", pages.markdown(stored))
    local = [target for target in targets if not re.match(r"[a-z]+:", target)]
    assert [target for target in local if not (path.parent / target).exists()] == []


def test_readme_shows_the_pictures_of_the_first_page() -> None:
    drawn = refresh_notebooks.pictures(read(next(path for path in pages.NOTEBOOKS if path.name.startswith("00_"))))
    assert set(drawn) == set((pages.NOTEBOOKS[0].parent / "pictures").glob("*.png"))
    assert [path.name for path, content in drawn.items() if path.read_bytes() != content] == []


@pytest.mark.thorough
def test_the_pages_of_a_course_run_on_any_course_and_show_its_markup_as_text(tmp_path: Path, shared_fits: Path) -> None:
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
             "target_carry_ft": carry, "carry_ft": carry + step % 5 - 2, "rest_ft": rest + 3 * step % 7 - 3, **noted}
            for club, carry, rest in (("9-iron", 16, 40), ("sand wedge", 24, 38)) for step in range(10)
        ],
    }  # fmt: skip
    for kind, added in rows.items():
        sheet = folder / f"{kind}.csv"
        sheet.write_text(re.sub(r",note$", f",note,{MARKUP}", sheet.read_text(), flags=re.MULTILINE))
        append_rows(sheet, added, kind=kind)
    (home / "settings.json").write_text(
        json.dumps({"course": "marked", "player": MARKUP, "units": "feet"}), encoding="utf-8"
    )
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
