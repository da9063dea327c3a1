"""What README, environment, package and check book say of themselves is so, and what is exported is documented."""

import dataclasses
import inspect
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
import numpy as np
import pages
import pytest
import write_reference
import yaml
from conftest import ROOT, refused
from numpydoc.docscrape import ClassDoc, FunctionDoc
from tally import filled

import golfphys
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
NOT_CHECKED = ROOT / "data" / "not_checked.md"


def test_the_committed_book_passes_and_says_nothing_twice() -> None:
    assert len(COMMITTED) >= FEWEST
    for name in ("check", "what"):
        assert len({getattr(row, name).lower() for row in COMMITTED}) == len(COMMITTED), name
    for row in COMMITTED:
        assert row.passed == "yes", row.check
        assert checkbook.is_there(row.test), f"{row.check}: no test makes it; write the book anew: {checkbook.COMMAND}"
        assert checkbook.distance(row.ours, row.expected) <= 1.011 * float(row.tolerance), row.check
    assert list(dict.fromkeys(row.part for row in COMMITTED)) == list(checkbook.PARTS)


def test_what_is_not_checked_is_named() -> None:
    unchecked = worked.read_not_checked(NOT_CHECKED)
    assert [item for item in unchecked if not re.match(r"\*\*[A-Z][^*]+\.\*\* .+\.$", item)] == []
    words = " ".join(unchecked)
    for subject in ("whole chip", "decision", "interval", "grain", "dent", "errors", "lift", "spin", "fringe"):
        assert subject in words.lower()
    assert [name for name in re.findall(r"\((\w+/[\w./]+)\)", words) if not (ROOT / name).exists()] == []


def test_the_library_shows_the_book() -> None:
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
