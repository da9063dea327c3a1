"""What all tests share: the record of external checks, its ledger, sheets to write, and settings that repeat."""

import os

os.environ["MPLBACKEND"] = "agg"

import math
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, Protocol

import book_page
import checkbook
import hypothesis
import pytest
from browser_fixtures import browser, page, server  # noqa: F401  # fixtures
from page_fixtures import executed_pages, page_run  # noqa: F401  # fixtures

ROOT = Path(__file__).parent.parent

hypothesis.settings.register_profile("same-every-run", derandomize=True, deadline=None, database=None)
hypothesis.settings.load_profile("same-every-run")


class Run:
    """What one run of pytest has seen of the external checks."""

    def __init__(self) -> None:
        self.outcomes: dict[str, checkbook.Outcome] = {}
        self.passed: set[str] = set()
        self.failed: set[str] = set()
        self.skipped: set[str] = set()
        self.full = False

    def outlives(self, entry: checkbook.Entry) -> bool:
        """Tell whether this run could not have made `entry`, so that the ledger keeps it."""
        if {entry.test, entry.test.split("::")[0]} & (self.skipped | self.failed):
            return True
        return not self.full and entry.test not in self.passed

    def ledger(self) -> list[checkbook.Entry]:
        """Return what the ledger should hold after this run."""
        fresh = [outcome.entry for outcome in self.outcomes.values()]
        return checkbook.merged(checkbook.read(), fresh, self.outlives)

    def book(self) -> list[book_page.Row]:
        """Return what the check book should hold after this run."""
        return book_page.rows(self.ledger(), self.outcomes, book_page.read())


RUN = pytest.StashKey[Run]()


class ExternalCheck(Protocol):
    """The call that the `external_check` fixture hands out."""

    def __call__(
        self,
        check: str,
        ours: float,
        expected: float | str,
        tolerance: float | str,
        *,
        what: str,
        source: str,
        locator: str,
        mark: str,
        unit: str,
        reason: str = "",
    ) -> None:
        """Record one check and assert it."""


@pytest.fixture
def external_check(request: pytest.FixtureRequest) -> ExternalCheck:
    """Return a function that holds one of our numbers to a figure from outside, and records it in the ledger.

    ``external_check(check, ours, expected, tolerance, *, what, source, locator, mark, unit, reason="")``: `check` is a
    short slug, unique among all checks; `ours`, `expected` and `tolerance` are in `unit`; `expected` may be the text
    as printed in the source. Compare arrays by their largest difference against 0.
    """
    run = request.config.stash[RUN]

    def record(
        check: str,
        ours: float,
        expected: float | str,
        tolerance: float | str,
        *,
        what: str,
        source: str,
        locator: str,
        mark: str,
        unit: str,
        reason: str = "",
    ) -> None:
        words = {"check": check, "what": what, "source": source, "locator": locator, "unit": unit}
        blank = [name for name, value in words.items() if not value.strip()]
        assert not blank, f"external check {check!r}: no {', '.join(blank)} given"
        assert mark in checkbook.MARKS, f"external check {check!r}: mark {mark!r} is none of {checkbook.MARKS}"
        assert math.isfinite(float(tolerance)), f"external check {check!r}: tolerance {tolerance!r} is not finite"
        assert float(tolerance) > 0, f"external check {check!r}: tolerance {tolerance!r} is not positive"
        entry = checkbook.Entry(
            **words,
            mark=mark,
            expected=checkbook.printed(expected, float(tolerance)),
            tolerance=tolerance if isinstance(tolerance, str) else repr(float(tolerance)),
            reason=reason,
            test=request.node.nodeid,
        )
        earlier = run.outcomes.get(check)
        assert earlier is None, f"external check {check!r} is made twice: here and in {earlier and earlier.entry.test}"
        outcome = checkbook.Outcome(entry=entry, ours=float(ours))
        run.outcomes[check] = outcome
        assert outcome.passed, (
            f"{check}: {what}\nours {outcome.ours:.9g} {unit}, expected {expected} within {tolerance}\n"
            f"source: {source}, {locator} ({mark})"
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


def pytest_addoption(parser: pytest.Parser) -> None:
    """Add the options that write what the external checks said."""
    group = parser.getgroup("external checks")
    group.addoption("--write-ledger", action="store_true", help="write tests/ledger.csv, its count and CHECKBOOK.md")
    group.addoption("--only-checks", action="store_true", help="run the tests that make external checks, and no others")
    group.addoption("--write-checks", metavar="CSV", help="write every external check with our own value to CSV")


def pytest_configure(config: pytest.Config) -> None:
    """Start the record."""
    config.stash[RUN] = Run()


def _records(item: pytest.Item) -> bool:
    return "external_check" in getattr(item, "fixturenames", ())


@pytest.hookimpl(trylast=True)
def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Put the test of the ledger last, and find out whether the run reaches every test that makes an entry."""
    items.sort(key=lambda item: item.path.name == "test_ledger.py" and item.get_closest_marker("last") is not None)
    run = config.stash[RUN]
    reached = {item.path for item in items} | {ROOT / name for name in run.skipped}
    if config.getoption("--only-checks"):
        wanted = [_records(item) or item.get_closest_marker("last") is not None for item in items]
        config.hook.pytest_deselected(items=[item for item, want in zip(items, wanted, strict=True) if not want])
        items[:] = [item for item, want in zip(items, wanted, strict=True) if want]
    files = set((ROOT / "tests").glob("test_*.py"))
    run.full = files <= reached and not config.stash.get(DESELECTED, False)


DESELECTED = pytest.StashKey[bool]()


def pytest_deselected(items: list[pytest.Item]) -> None:
    """Note that a test which makes entries was left out."""
    for item in items:
        if _records(item):
            item.config.stash[DESELECTED] = True
            item.config.stash[RUN].full = False


class _Reports:
    """Notes how each test that may make entries went."""

    def __init__(self, run: Run) -> None:
        self.run = run

    def pytest_collectreport(self, report: pytest.CollectReport) -> None:
        """Note test files skipped or broken as a whole."""
        if report.skipped:
            self.run.skipped.add(report.nodeid)
        elif report.failed:
            self.run.failed.add(report.nodeid)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        """Note what passed, failed and was skipped."""
        if report.skipped:
            self.run.skipped.add(report.nodeid)
        elif report.failed:
            self.run.failed.add(report.nodeid)
        elif report.when == "call" and report.passed:
            self.run.passed.add(report.nodeid)


def pytest_sessionstart(session: pytest.Session) -> None:
    """Listen to the reports."""
    session.config.pluginmanager.register(_Reports(session.config.stash[RUN]))


@pytest.hookimpl(wrapper=True)
def pytest_terminal_summary(terminalreporter: Any, exitstatus: int, config: pytest.Config) -> Iterator[None]:
    """Write the ledger or the checks if asked to, and say so."""
    run = config.stash[RUN]
    if config.getoption("--write-checks"):
        path = Path(config.getoption("--write-checks"))
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(checkbook.outcomes_text(run.outcomes.values()), encoding="utf-8", newline="\n")
        terminalreporter.write_line(f"wrote {len(run.outcomes)} external checks to {path}")
    if config.getoption("--write-ledger"):
        whole = exitstatus in (pytest.ExitCode.OK, pytest.ExitCode.TESTS_FAILED)
        terminalreporter.write_line(_write_ledger(run) if whole else "ledger NOT written: the run was cut short")
    yield


def _write_ledger(run: Run) -> str:
    failed = sorted(check for check, outcome in run.outcomes.items() if not outcome.passed)
    if failed:
        return f"ledger NOT written: these external checks fail: {', '.join(failed)}"
    try:
        entries, book = run.ledger(), run.book()
    except ValueError as wrong:
        return f"ledger NOT written: {wrong}"
    checkbook.LEDGER.write_text(checkbook.text(entries), encoding="utf-8", newline="\n")
    checkbook.write_count(ROOT / "README.md", len(entries))
    book_page.write(book)
    names = f"{checkbook.LEDGER.name}, {book_page.BOOK.name} and {book_page.PAGE.name}"
    return f"wrote {len(entries)} external checks to {names}, and their count to README.md"


@pytest.fixture(autouse=True, scope="session")
def own_home(tmp_path_factory: pytest.TempPathFactory) -> Iterator[None]:
    """Keep tests, and the kernels they start, away from the settings and sheets of whoever runs them."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("GOLFPHYS_HOME", str(tmp_path_factory.mktemp("home")))
        yield
