"""What all tests share: the record of external checks, sheets to write, and settings that repeat."""

import os

os.environ["MPLBACKEND"] = "agg"
# before numpy is loaded: the processes of a run share the cores already
os.environ.setdefault("OMP_NUM_THREADS", "1")
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")
os.environ.setdefault("MKL_NUM_THREADS", "1")

import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import checkbook
import hypothesis
import pytest

ROOT = Path(__file__).parent.parent
MADE = pytest.StashKey[dict[str, checkbook.Check]]()
TO_RUN = pytest.StashKey[set[str]]()
PASSED: set[str] = set()

hypothesis.settings.register_profile("same-every-run", derandomize=True, deadline=None, database=None, max_examples=50)
hypothesis.settings.load_profile("same-every-run")


ExternalCheck = Callable[..., None]
"""The call that the `external_check` fixture hands out."""


def refused(words: str, work: Callable[[], Any], error: type[Exception] = ValueError) -> Any:
    """Hold that some work is refused with an error that says these words (a regular expression), and return it."""
    with pytest.raises(error, match=words or None) as caught:
        work()
    return caught.value


def tried(work: Callable[[], Any]) -> tuple[Any, ValueError | None]:
    """Return what some work gives, or the sentence it was refused with: a `ValueError` or a `SheetError`, no other."""
    try:
        return work(), None
    except ValueError as error:
        if type(error).__name__ not in ("ValueError", "SheetError"):
            raise
        return None, error


def floats(**ranges: tuple[float, float]) -> dict[str, Any]:
    """Return numbers between these ends for `hypothesis.given`, by name."""
    return {name: hypothesis.strategies.floats(*ends) for name, ends in ranges.items()}


@pytest.fixture
def external_check(request: pytest.FixtureRequest) -> ExternalCheck:
    """Return a function that holds one of our numbers to a figure from outside, and to the check book.

    ``external_check(check, ours, expected=None, tolerance=None, **fields)``: `check` is its line in ``checks.csv``,
    which says what is compared with what; the fields of its texts are filled in, and `expected` and `tolerance` given
    here where the line leaves them blank. A whole line may be given as `row`. Compare arrays by their largest
    difference against 0.
    """
    made = request.config.stash[MADE]

    def record(
        check: str, ours: float, expected: float | str | None = None, tolerance: float | None = None, **fields: Any
    ) -> None:
        given = {"expected": expected, "tolerance": tolerance}
        row = fields.get("row") or {name: text.format(**fields) for name, text in checkbook.LINES[check].items()}
        line = checkbook.made(request.node.nodeid, ours, row | {k: v for k, v in given.items() if v is not None})
        assert line.passed == "yes", (
            f"{line.check}: {line.what}\nours {ours:.9g} {line.unit}, expected {line.expected} within "
            f"{line.tolerance}\nsource: {line.source}, {line.locator} ({line.mark})"
        )
        assert line.check not in made, f"{line.check}: made by {line.test} and by {made[line.check].test}"
        made[line.check] = line
        stale = [] if request.config.getoption("--write-ledger") else checkbook.differences(line)
        assert not stale, f"the check book is stale; write it anew with: {checkbook.COMMAND}\n" + "\n".join(stale)

    return record


@pytest.fixture
def sheet(tmp_path: Path) -> Callable[..., Path]:
    """Return a function that writes text or bytes to a sheet and returns its path."""

    def write(content: str | bytes, name: str = "sheet.csv") -> Path:
        path = tmp_path / name
        path.write_bytes(content if isinstance(content, bytes) else content.encode("utf-8"))
        return path

    return write


@pytest.fixture(autouse=True)
def left_as_found() -> Iterator[None]:
    """Close the figures of a test and take back the unit that it chose; one that draws nothing has loaded neither."""
    yield
    if pyplot := sys.modules.get("matplotlib.pyplot"):
        pyplot.close("all")
    if style := sys.modules.get("golfphys.show.style"):
        style.show_lengths_in("m")


def shared_folder(factory: pytest.TempPathFactory, name: str) -> Path:
    """Return a folder that all processes of one run share."""
    base = factory.getbasetemp()
    folder = (base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base) / name
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(scope="session")
def shared_fits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which the pages of one run keep their fits, so that a course is fitted once and not on every page."""
    import refresh_notebooks

    refresh_notebooks.compile_first()
    return shared_folder(tmp_path_factory, "fits")


@pytest.fixture(autouse=True, scope="session")
def own_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep tests, and the kernels they start, away from the settings and sheets of whoever runs them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GOLFPHYS_HOME", str(tmp_path_factory.mktemp("home")))
        patch.setenv("GOLFPHYS_TEST_FITS", str(shared_folder(tmp_path_factory, "demo")))
        yield


@pytest.fixture
def fresh_home(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> Path:
    """A home of one test's own for settings, courses and kept fits."""
    monkeypatch.setenv("GOLFPHYS_HOME", str(tmp_path / "home"))
    return tmp_path / "home"


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory, shared_fits: Path) -> Iterator[Any]:
    import lab

    if lab.chromium() is None:
        pytest.skip("there is no Chromium on this machine")
    pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    folder = lab.workbook_copy(tmp_path_factory.mktemp("workbook"))
    with lab.running_lab(folder, tmp_path_factory.mktemp("settings")) as running:
        running.home.mkdir()
        (running.home / "fits").symlink_to(shared_fits)
        yield running


@pytest.fixture(scope="session")
def browser(server: Any) -> Iterator[Any]:
    import lab
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=lab.chromium(), args=list(lab.FLAGS))
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser: Any, server: Any) -> Iterator[Any]:
    """A fresh page; whatever it asks for must come from this machine."""
    context = browser.new_context(viewport={"width": 1280, "height": 1000})
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    opened = context.new_page()
    yield opened
    context.close()
    server.stop_kernels()
    outside = [url for url in asked if not url.startswith((server.address, "data:", "blob:"))]
    assert outside == [], "the page asked for something outside this machine"
    assert [url for url in asked if "markup-was-run" in url] == [], "text of a sheet was taken for markup"


def pytest_addoption(parser: pytest.Parser) -> None:
    words = "run the tests that make external checks, and no others, and write data/check_book.csv"
    parser.getgroup("external checks").addoption("--write-ledger", action="store_true", help=words)


def pytest_configure(config: pytest.Config) -> None:
    config.stash[MADE], config.stash[TO_RUN] = {}, set()
    if config.getoption("--write-ledger"):
        config.option.markexpr = ""


@pytest.hookimpl(tryfirst=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """To write the book, note what makes checks before anything is deselected, and leave out the rest."""
    if config.getoption("--write-ledger"):
        items[:] = [item for item in items if "external_check" in getattr(item, "fixturenames", ())]
        config.stash[TO_RUN] = {item.nodeid for item in items}


def pytest_runtest_logreport(report: pytest.TestReport) -> None:
    PASSED.update({report.nodeid} if report.when == "call" and report.passed else ())


def pytest_sessionfinish(session: pytest.Session) -> None:
    """Write the book if asked to and no test failed; the lines of tests that were skipped or left out stay."""
    if session.config.getoption("--write-ledger") and not session.testsfailed:
        left, names = session.config.stash[TO_RUN], checkbook.function_of
        whole = {names(test) for test in left} - {names(test) for test in left - PASSED}
        checkbook.write(session.config.stash[MADE], whole)


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    whole = config.args_source is config.ArgsSource.TESTPATHS
    return 2 if whole and not config.getoption("--write-ledger") else 0
