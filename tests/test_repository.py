"""The repository's frame: what README, environment and package say about themselves is so."""

import json
import os
import re
import subprocess
import sys
import tomllib
import zipfile
from pathlib import Path

import pages
import pytest
import write_reference
import yaml
from conftest import ROOT

import golfphys

PROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
README = (ROOT / "README.md").read_text(encoding="utf-8")
PAGES = sorted(ROOT.glob("*.md"))
FIRST = "notebooks/00_from_rollouts_to_landing_spot.ipynb"
LONGEST_FILE = 600
LIBRARY = sorted(path for path in (ROOT / "golfphys").rglob("*.py") if "formulas" not in path.parts)


def commands(language: str) -> list[str]:
    """Return the code blocks of the README in one language."""
    return [
        block.strip() for block in re.findall(rf"^```{language}\n(.*?)^```", README, flags=re.MULTILINE | re.DOTALL)
    ]


def test_environment_lists_what_the_package_needs() -> None:
    """conda and pip install the same packages, with the same lower bounds."""
    environment = yaml.safe_load((ROOT / "environment.yml").read_text(encoding="utf-8"))["dependencies"]
    own = [{"pip": ["-e ."]}]
    assert [entry for entry in environment if not isinstance(entry, str)] == own
    packages = {entry for entry in environment if isinstance(entry, str)} - {"pip"}
    python = f"python{PROJECT['project']['requires-python']}"
    assert packages == {python, *PROJECT["project"]["dependencies"]}


def test_no_package_has_an_upper_bound() -> None:
    """Upper bounds break installations later."""
    groups = [PROJECT["project"]["dependencies"], *PROJECT["project"]["optional-dependencies"].values()]
    bounds = [entry for group in groups for entry in group]
    assert [entry for entry in bounds if not re.fullmatch(r"[a-z0-9-]+>=[0-9.]+(; .+)?", entry)] == []


def test_versions_agree() -> None:
    """The package, its metadata and the statement of Python versions."""
    assert golfphys.__version__ == PROJECT["project"]["version"]
    stated = re.findall(r"3\.(\d+)", " ".join(PROJECT["project"]["classifiers"]))
    assert stated == ["11", "12", "13"]


def test_readme_opens_with_the_job_the_commands_and_a_picture() -> None:
    """One paragraph, two single-line commands, a picture: in this order."""
    title, job, *_ = README.split("\n\n")
    assert title == "# golfphys"
    assert len(job) > 300
    workbook, tests, *_ = commands("sh")
    assert "\n" not in workbook + tests
    assert workbook.endswith(f"jupyter lab --allow-root --notebook-dir=. {FIRST}")
    assert tests.endswith("-m pytest")
    assert README.index(workbook) < README.index(tests) < README.index("![") < README.index("## ")


def test_windows_commands_do_the_same() -> None:
    """The Windows forms are the others with Windows' folders."""
    told = [
        command.replace("\\", "/").replace("/Scripts/", "/bin/").replace("py -m", "python3 -m")
        for command in commands("bat")
    ]
    assert told == [command.replace(" --allow-root", "") for command in commands("sh")[:2]]


def test_continuous_integration_runs_the_readme_test_command() -> None:
    """The pattern by which .ci/run finds the command finds exactly that one."""
    found = re.findall(r"^python3 -m venv .* -m pytest$", README, flags=re.MULTILINE)
    assert found == [commands("sh")[1]]
    assert os.access(ROOT / ".ci/run", os.X_OK) or os.name == "nt"


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_links_lead_somewhere(page: Path) -> None:
    """Every relative link and picture of the pages exists."""
    targets = re.findall(r"\]\(([^)#\s]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8"))
    assert [name for name in targets if not re.match(r"[a-z]+:", name) and not (ROOT / name).exists()] == []


def test_readme_quotes_the_study_of_decisions_as_it_is() -> None:
    """What measuring is worth stands in the README as the committed result has it."""
    study = golfphys.read_study(ROOT / "studies" / "decision_quality.csv").set_index("plan")
    quoted = dict(re.findall(r"<!-- (\w+) -->([\d.]+)<!-- /\1 -->", README))
    assert quoted["cases"] == f"{study['cases'].max():.0f}"
    assert {name: quoted[name] for name in ("measured", "handbook")} == {
        name: f"{study.loc[name, 'loss']:.3f}" for name in ("measured", "handbook")
    }


@pytest.mark.parametrize("page", PAGES, ids=lambda path: path.name)
def test_named_files_exist(page: Path) -> None:
    """Files and folders that the pages name in code are there."""
    named = re.findall(r"`((?:golfphys|tests|data|notebooks|studies|\.ci)/[\w./-]*)`", page.read_text(encoding="utf-8"))
    assert [name for name in named if not (ROOT / name).exists()] == []


def test_no_page_tells_a_reader_to_switch_protection_off() -> None:
    """JupyterLab keeps its token."""
    texts = [page.read_text(encoding="utf-8") for page in [*PAGES, *pages.NOTEBOOKS]]
    assert [text[:80] for text in texts if re.search(r"token\s*=|disable_check_xsrf|password\s*=", text)] == []


def test_reference_is_current() -> None:
    """The list of public names is the library's."""
    assert write_reference.REFERENCE.read_text(encoding="utf-8") == write_reference.text(), (
        "REFERENCE.md is stale; write it anew with: python tests/write_reference.py"
    )


def test_readme_example_calls_what_exists() -> None:
    """The public names in the README's Python are public names, and its files exist."""
    code = "\n".join(commands("python"))
    assert set(re.findall(r"golfphys\.(\w+)\(", code)) <= set(golfphys.__all__)
    assert [name for name in re.findall(r'"(data/[^"]+)"', code) if not (ROOT / name).exists()] == []


def test_readme_example_runs() -> None:
    """The README's Python runs as it stands."""
    code = "\n".join(commands("python"))
    done = subprocess.run(
        [sys.executable, "-W", "error", "-c", code], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stderr[-2000:]


@pytest.mark.parametrize("path", LIBRARY, ids=lambda path: str(path.relative_to(ROOT)))
def test_library_files_stay_readable(path: Path) -> None:
    """A file that grows past this wants to become two."""
    assert len(path.read_text(encoding="utf-8").splitlines()) <= LONGEST_FILE


def test_json_files_parse() -> None:
    """The data dictionary and its like are valid JSON."""
    paths = [*(ROOT / "golfphys").rglob("*.json"), *(ROOT / "data").rglob("*.json")]
    assert paths
    assert [path.name for path in paths if not json.loads(path.read_text(encoding="utf-8"))] == []


def test_wheel_carries_the_whole_library_and_nothing_else(tmp_path: Path) -> None:
    """Every file of golfphys/ is in the wheel, the generated formulas and data files included; the tests are not."""
    copy = tmp_path / "copy"
    copy.mkdir()
    wanted = {
        path.relative_to(ROOT).as_posix()
        for path in (ROOT / "golfphys").rglob("*")
        if path.is_file() and "__pycache__" not in path.parts
    }
    for name in [*wanted, "pyproject.toml", "README.md", "LICENSE"]:
        (copy / name).parent.mkdir(parents=True, exist_ok=True)
        (copy / name).write_bytes((ROOT / name).read_bytes())
    build = [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(tmp_path), str(copy)]
    done = subprocess.run(build, capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stdout[-2000:] + done.stderr[-2000:]
    with zipfile.ZipFile(next(tmp_path.glob("*.whl"))) as wheel:
        carried = {name for name in wheel.namelist() if ".dist-info/" not in name}
    assert carried == wanted
