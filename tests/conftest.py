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
from browser_fixtures import browser, page, server  # noqa: F401  # fixtures

ROOT = Path(__file__).parent.parent
RECORD = "external check"

hypothesis.settings.register_profile("same-every-run", derandomize=True, deadline=None, database=None, max_examples=50)
hypothesis.settings.load_profile("same-every-run")


ExternalCheck = Callable[..., None]
"""The call that the `external_check` fixture hands out."""


@pytest.fixture
def external_check(request: pytest.FixtureRequest) -> ExternalCheck:
    """Return a function that holds one of our numbers to a figure from outside, and records it for the check book.

    ``external_check(check, ours, expected, tolerance, *, what, source, locator, mark, unit, reason="")``: `check` is a
    short slug, unique among all checks; `ours`, `expected` and `tolerance` are in `unit`; `expected` may be the text
    as printed in the source. Compare arrays by their largest difference against 0.
    """

    def record(
        check: str, ours: float, expected: float | str, tolerance: float | str, *, reason: str = "", **words: str
    ) -> None:
        line = checkbook.made(request.node.nodeid, check, ours, expected, tolerance, {**words, "reason": reason})
        request.node.user_properties.append((RECORD, vars(line)))
        assert line.passed == "yes", (
            f"{check}: {line.what}\nours {ours:.9g} {line.unit}, expected {expected} within {tolerance}\n"
            f"source: {line.source}, {line.locator} ({line.mark})"
        )

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
def no_figure_left_open() -> Iterator[None]:
    """Close what a test drew."""
    yield
    if pyplot := sys.modules.get("matplotlib.pyplot"):  # matplotlib is not loaded for tests that draw nothing
        pyplot.close("all")


@pytest.fixture(autouse=True)
def lengths_in_metres() -> Iterator[None]:
    """Take back the unit that a test chose for figures and tables."""
    yield
    if style := sys.modules.get("golfphys.show.style"):
        style.show_lengths_in("m")


@pytest.fixture(scope="session")
def shared_fits(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder in which the pages of one run keep their fits, so that a course is fitted once and not on every page."""
    import refresh_notebooks

    refresh_notebooks.compile_first()
    base = tmp_path_factory.getbasetemp()
    folder = (base.parent if os.environ.get("PYTEST_XDIST_WORKER") else base) / "fits"
    folder.mkdir(exist_ok=True)
    return folder


@pytest.fixture(autouse=True, scope="session")
def own_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep tests, and the kernels they start, away from the settings and sheets of whoever runs them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GOLFPHYS_HOME", str(tmp_path_factory.mktemp("home")))
        yield


class Book:
    """What one run of pytest has seen of the external checks; compares it with the committed book at the end."""

    def __init__(self, config: pytest.Config) -> None:
        self.writing = config.getoption("--write-ledger")
        self.collected: set[str] = set()
        self.passed: set[str] = set()
        self.made: list[checkbook.Check] = []
        self.stale: list[str] = []

    @pytest.hookimpl(tryfirst=True)
    def pytest_collection_modifyitems(self, config: pytest.Config, items: list[pytest.Item]) -> None:
        """Note what there is before anything is deselected."""
        self.collected |= {item.nodeid for item in items}
        if self.writing:
            wanted = [item for item in items if "external_check" in getattr(item, "fixturenames", ())]
            config.hook.pytest_deselected(items=[item for item in items if item not in set(wanted)])
            items[:] = wanted

    @pytest.hookimpl(optionalhook=True)
    def pytest_testnodedown(self, node: Any) -> None:
        """Take over what another process collected."""
        self.collected |= set(getattr(node, "workeroutput", {}).get("collected", ()))

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Take what a test recorded."""
        if report.when == "call":
            self.passed |= {report.nodeid} if report.passed else set()
            self.made += [checkbook.Check(**line) for name, line in report.user_properties if name == RECORD]

    @pytest.hookimpl(tryfirst=True)
    def pytest_sessionfinish(self, session: pytest.Session, exitstatus: int) -> None:
        """Write the book if asked to; else fail a run of all files whose checks are not those of the book.

        Lines stay whose tests were left out, skipped or failed. One process of several only says what it collected.
        """
        if hasattr(session.config, "workeroutput"):
            session.config.workeroutput["collected"] = sorted(self.collected)
            return
        names = [line.check for line in self.made]
        self.stale = [f"{name}: made twice" for name in sorted({name for name in names if names.count(name) > 1})]
        committed = checkbook.read()
        files = {file.name for file in (ROOT / "tests").glob("test_*.py")}
        whole = files <= {Path(test.partition("::")[0]).name for test in self.collected}
        if not whole or exitstatus not in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED):
            return
        kept = {test.partition("[")[0] for test in self.collected - self.passed}
        book = checkbook.merged(committed, self.made, kept)
        if self.writing and not self.stale and all(line.passed == "yes" for line in book):
            checkbook.BOOK.write_text(checkbook.text(book), encoding="utf-8", newline="\n")
        elif self.writing:
            self.stale += [f"{line.check} fails: nothing is written" for line in book if line.passed != "yes"]
        else:
            self.stale += checkbook.differences(committed, book)
        if self.stale:
            session.exitstatus = pytest.ExitCode.TESTS_FAILED

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        """Say how the check book and the run differ."""
        if self.stale:
            terminalreporter.section(f"the check book is stale; write it anew with: {checkbook.COMMAND}", red=True)
            terminalreporter.write_line("\n".join(self.stale))
        elif self.writing:
            terminalreporter.write_line(f"{len(self.made)} external checks written to {checkbook.BOOK}")


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the option that writes what the external checks said."""
    words = "run the tests that make external checks, and no others, and write data/check_book.csv"
    parser.getgroup("external checks").addoption("--write-ledger", action="store_true", help=words)


def pytest_configure(config: pytest.Config) -> None:
    """Start the record."""
    if config.getoption("--write-ledger"):
        config.option.markexpr = ""
    config.pluginmanager.register(Book(config))


def pytest_xdist_auto_num_workers(config: pytest.Config) -> int:
    """Run all tests in two processes, and single files or the writing of the book in one."""
    whole = config.args_source is config.ArgsSource.TESTPATHS
    return 2 if whole and not config.getoption("--write-ledger") else 0
