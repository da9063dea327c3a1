"""What README, pages, environment, package and check book say of themselves is so; what is exported is documented."""

import dataclasses
import inspect
import json
import math
import re
import subprocess
import sys
import tomllib
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import checkbook
import decision_quality
import nbformat
import numpy as np
import pytest
import refresh_notebooks as pages
import write_reference
import yaml
from conftest import ROOT, refused
from numpydoc.docscrape import ClassDoc, FunctionDoc
from tally import filled

import golfphys
from golfphys.sheets import append_rows, make_course_folder
from golfphys.show import plots, worked

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = [ROOT / "README.md", ROOT / "DEVELOPERS.md"]


def commands(language: str) -> list[str]:
    blocks = re.findall(rf"^```{language}\n(.*?)^```", README, flags=re.MULTILINE | re.DOTALL)
    return [block.strip() for block in blocks]


def test_environment_lists_what_the_package_needs_and_no_upper_bounds() -> None:
    environment = yaml.safe_load((ROOT / "environment.yml").read_text(encoding="utf-8"))["dependencies"]
    extras = PROJECT["optional-dependencies"]
    bounds = [entry for group in (PROJECT["dependencies"], *extras.values()) for entry in group]
    assert [entry for entry in bounds if not re.fullmatch(r"golfphys.*|[a-z0-9-]+>=[0-9.]+(; .+)?", entry)] == []
    wanted = {f"python{PROJECT['requires-python']}", "pip", *PROJECT["dependencies"], *extras["workbook"]}
    assert {entry for entry in environment if isinstance(entry, str)} == wanted
    assert [entry for entry in environment if not isinstance(entry, str)] == [{"pip": ["-e ."]}]


def test_readme_has_the_commands_of_every_system_and_a_page_that_is_there() -> None:
    workbook, tests, *_ = commands("sh")
    found = re.search(r"jupyter lab --allow-root --notebook-dir=\. (notebooks/\w+\.ipynb)$", workbook)
    assert found is not None
    assert (ROOT / found[1]).is_file()
    on_windows = [line.replace("\\", "/").replace("/Scripts/", "/bin/") for line in commands("bat")]
    same = [line.replace("py -m", "python3 -m", 1) for line in on_windows]
    assert same == [command.replace(" --allow-root", "") for command in (workbook, tests)]


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_what_the_pages_name_exists(page: Path) -> None:
    words = page.read_text(encoding="utf-8")
    targets = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", words)
    named = [target for target in targets if not re.match(r"[a-z]+:", target)]
    named += re.findall(r"`(?:python3? )?((?:golfphys|tests|data|notebooks|\.ci)/[\w./-]*)[` ]", words)
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_readme_quotes_the_study_as_it_is_and_no_page_tells_a_reader_to_switch_protection_off() -> None:
    study = ROOT / "tests" / "studies" / "decision_quality.md"
    for page in (README, study.read_text(encoding="utf-8")):
        assert "<!-- worlds -->" in page
        assert filled(page, decision_quality.tables(study.parent)) == page
    texts = [page.read_text(encoding="utf-8") for page in [*PAGES, *pages.NOTEBOOKS]]
    assert [text[:80] for text in texts if re.search(r"token\s*=|disable_check_xsrf|password\s*=", text)] == []


@pytest.mark.thorough
def test_reference_is_current() -> None:
    cure = "page 19 is stale; write it anew with: python tests/write_reference.py"
    assert write_reference.PAGE.read_text(encoding="utf-8") == write_reference.text(), cure


def test_readme_example_runs() -> None:
    code = "\n".join(commands("python"))
    command = [sys.executable, "-W", "error", "-c", code]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr[-2000:]


@pytest.mark.thorough
def test_wheel_carries_the_whole_library_and_nothing_else(tmp_path: Path) -> None:
    copy = tmp_path / "copy"
    found = (path for path in (ROOT / "golfphys").rglob("*") if path.is_file() and "__pycache__" not in path.parts)
    wanted = {path.relative_to(ROOT).as_posix() for path in found}
    for name in [*wanted, "pyproject.toml", "README.md", "LICENSE"]:
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        (copy / name).write_bytes((ROOT / name).read_bytes())
    build = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(copy)]
    done = subprocess.run(build, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        assert {name for name in wheel.namelist() if ".dist-info/" not in name} == wanted


MOST_PARAMETERS = 8


def faults(name: str, value: Any) -> Iterator[str]:
    made = inspect.isfunction(value) or dataclasses.is_dataclass(value) or "__init__" in vars(value)
    page = ClassDoc(value) if inspect.isclass(value) else FunctionDoc(value)
    listed = [word.lstrip("*") for entry in page["Parameters"] for word in re.split(r",\s*", entry.name)]
    taken = [word for word in inspect.signature(value).parameters if not word.startswith("_")]
    if made and sorted(listed) != sorted(taken):
        yield f"{name}: Parameters lists {', '.join(listed)}; the signature is {', '.join(taken)}"
    if inspect.isfunction(value) and len(taken) > MOST_PARAMETERS:
        yield f"{name} has {len(taken)} parameters"
    texts = [value, *(vars(value).values() if inspect.isclass(value) else ())]
    if not any(">>>" in (getattr(text, "__doc__", "") or "") for text in texts):
        yield f"{name} has no example"


def test_what_is_exported_is_documented() -> None:
    found = {name: getattr(golfphys, name) for name in golfphys.__all__}
    types = {name for name, value in found.items() if inspect.isclass(value) and not issubclass(value, BaseException)}
    calls = types | {name for name, value in found.items() if inspect.isfunction(value)}
    assert len(calls) > 100
    said = [fault for name in sorted(calls) for fault in faults(name, found[name])]
    assert not said, "\n".join(said)


FEWEST = 150
"""Number of external checks below which what the README promises would be broken."""
COMMITTED = list(checkbook.COMMITTED.values())


def test_the_committed_book_passes_says_nothing_twice_and_is_what_the_library_shows() -> None:
    assert len(COMMITTED) >= FEWEST
    for name in ("check", "what"):
        assert len({getattr(row, name).lower() for row in COMMITTED}) == len(COMMITTED), name
    for row in COMMITTED:
        assert row.passed == "yes", row.check
        assert checkbook.is_there(row.test), f"{row.check}: no test makes it; write the book anew: {checkbook.COMMAND}"
        assert checkbook.distance(row.ours, row.expected) <= 1.011 * float(row.tolerance), row.check
    assert list(dict.fromkeys(row.part for row in COMMITTED)) == list(checkbook.PARTS)
    unchecked = worked.read_not_checked(ROOT / "data" / "not_checked.md")
    assert [item for item in unchecked if not re.match(r"\*\*[A-Z][^*]+\.\*\* .+\.$", item)] == []
    named = re.findall(r"\((\w+/[\w./]+)\)", " ".join(unchecked))
    assert [name for name in named if not (ROOT / name).exists()] == []
    book = worked.read_check_book(checkbook.BOOK)
    counts = worked.check_counts(book)
    assert counts["", "all"]["all"] == len(book) == len(COMMITTED)
    assert (counts["mark"].sum(axis=1) == counts["", "all"]).all()
    assert len(worked.checks_of(book, "skid")) == counts["", "all"]["skid"]
    refused("part is 'luck'; expected one of ball and air", lambda: worked.checks_of(book, "luck"))
    ax = plots.plot_check_book(book)
    dots = np.concatenate([np.asarray(dots.get_offsets()) for dots in ax.collections])
    rows, numbers = np.unique(np.round(dots[:, 1]), return_counts=True)
    assert numbers[np.argsort(rows)].tolist() == book["part"].value_counts()[list(checkbook.PARTS)].tolist()
    assert sorted(dots[:, 0]) == pytest.approx(sorted(book["share"]))


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
    fresh = pages.executed(path, shared_fits)
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
    assert pages.text(pages.normalised(read(path))) == path.read_text(encoding="utf-8")
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
    drawn = pages.pictures(read(next(path for path in pages.NOTEBOOKS if path.name.startswith("00_"))))
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
    shown = pages.run(whole, home, pages.NOTEBOOKS[0].parent)
    html = [
        text for cell in shown.cells for kind, text in pages.outputs(cell) if kind in ("text/html", "text/markdown")
    ]
    widgets = shown.metadata.widgets["application/vnd.jupyter.widget-state+json"]["state"].values()
    html += [item["state"]["value"] for item in widgets if item["model_name"] == "HTMLModel"]
    assert any("markup-was-run" in text for text in html)
    assert [text for text in html if re.search("<img[^>]*markup-was-run", text)] == []
