"""The ledger of external checks: every figure from outside the project that the tests hold it to.

The tests record what they check as they check it; ``pytest --write-ledger`` writes the records to ``ledger.csv`` and
a full run compares them with it, so the ledger can neither be typed nor go stale.
"""

import csv
import io
import math
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass, fields
from pathlib import Path

LEDGER = Path(__file__).parent / "ledger.csv"
MARKS = ("read", "memory", "derived", "practice")
COMMAND = "pytest --write-ledger"
NOISE = 0.2
"""Part of its tolerance by which a computed value may move, between machines and versions, before it counts as new."""


@dataclass(frozen=True, kw_only=True)
class Entry:
    """One external check as the ledger keeps it: all text, and nothing that differs from machine to machine."""

    check: str
    what: str
    source: str
    locator: str
    mark: str
    expected: str
    unit: str
    tolerance: str
    reason: str
    test: str

    def says_the_same(self, other: "Entry") -> bool:
        """Tell whether two entries are one check; an expected value that was computed may differ by noise."""
        mine, theirs = vars(self).copy(), vars(other).copy()
        if abs(float(mine.pop("expected")) - float(theirs.pop("expected"))) > NOISE * float(self.tolerance):
            return self == other
        return mine == theirs


@dataclass(frozen=True, kw_only=True)
class Outcome:
    """One external check as it went: the ledger's entry and our own value."""

    entry: Entry
    ours: float

    @property
    def difference(self) -> float:
        """Ours less the expected value; 0 for equal infinities."""
        expected = float(self.entry.expected)
        return 0.0 if self.ours == expected else self.ours - expected

    @property
    def passed(self) -> bool:
        """Whether the difference is within the tolerance (the last digit's rounding in binary apart)."""
        return abs(self.difference) <= float(self.entry.tolerance) * (1 + 1e-9)


def printed(value: float | str, tolerance: float) -> str:
    """Return an expected value as text: a string as it stands, a number rounded to a hundredth of the tolerance."""
    if isinstance(value, str):
        return value
    if value == 0 or not math.isfinite(value):
        return repr(float(value))
    digits = max(0, 2 - math.floor(math.log10(tolerance)))
    rounded = round(float(value), min(digits, 17))
    return repr(rounded + 0.0)


def read(path: Path = LEDGER) -> list[Entry]:
    """Return the entries of the committed ledger, none if there is no ledger yet."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as lines:
        return [Entry(**row) for row in csv.DictReader(lines)]


def text(entries: Iterable[Entry]) -> str:
    """Return the ledger's text: sorted by check, one line each."""
    out = io.StringIO()
    writer = csv.DictWriter(out, [field.name for field in fields(Entry)], lineterminator="\n")
    writer.writeheader()
    writer.writerows(vars(entry) for entry in sorted(entries, key=lambda entry: entry.check))
    return out.getvalue()


def merged(committed: Iterable[Entry], fresh: Iterable[Entry], outlives: Callable[[Entry], bool]) -> list[Entry]:
    """Return what the ledger should now hold.

    A committed entry that the run did not make is kept if it `outlives` the run: its test was skipped, or never
    reached. An entry whose fresh form says the same keeps its committed text.
    """
    known = {entry.check: entry for entry in committed}
    result = {check: entry for check, entry in known.items() if outlives(entry)}
    for entry in fresh:
        old = known.get(entry.check)
        result[entry.check] = old if old is not None and old.says_the_same(entry) else entry
    return sorted(result.values(), key=lambda entry: entry.check)


def differences(committed: Iterable[Entry], wanted: Iterable[Entry]) -> list[str]:
    """Return one sentence for each way in which the committed ledger is not what the run made."""
    old = {entry.check: entry for entry in committed}
    new = {entry.check: entry for entry in wanted}
    said = [f"{check}: in the ledger, but no test makes it" for check in sorted(old.keys() - new.keys())]
    said += [f"{check}: made by {new[check].test}, not in the ledger" for check in sorted(new.keys() - old.keys())]
    for check in sorted(old.keys() & new.keys()):
        changed = [name for name, value in vars(new[check]).items() if vars(old[check])[name] != value]
        said += [f"{check}: {name} was {vars(old[check])[name]!r}, is {vars(new[check])[name]!r}" for name in changed]
    return said


def outcomes_text(outcomes: Iterable[Outcome]) -> str:
    """Return the checks as they went, with our own value, as CSV: the stuff of a check book."""
    out = io.StringIO()
    names = [field.name for field in fields(Entry)]
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow([*names, "ours", "difference", "passed"])
    for outcome in sorted(outcomes, key=lambda outcome: outcome.entry.check):
        row = [vars(outcome.entry)[name] for name in names]
        writer.writerow([*row, f"{outcome.ours:.9g}", f"{outcome.difference:.3g}", str(outcome.passed).lower()])
    return out.getvalue()


COUNT = re.compile(r"(<!-- checks -->)(\d+)(<!-- /checks -->)")


def read_count(page: Path) -> int:
    """Return the number of checks that a page states between its marks."""
    found = COUNT.search(page.read_text(encoding="utf-8"))
    if found is None:
        raise ValueError(f"{page.name} has no count of checks between <!-- checks --> and <!-- /checks -->")
    return int(found.group(2))


def write_count(page: Path, count: int) -> None:
    """Write the number of checks between the marks of a page."""
    words = page.read_text(encoding="utf-8")
    page.write_text(COUNT.sub(rf"\g<1>{count}\g<3>", words), encoding="utf-8", newline="\n")
