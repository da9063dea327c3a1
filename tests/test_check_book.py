"""The check book protects whoever leans on it: it holds what the tests found, each check passes, and gaps are named."""

import math
import re

import checkbook
import numpy as np
import pytest
from conftest import ROOT, refused

from golfphys.show import plots, worked

FEWEST = 150
"""Number of external checks below which what the README promises would be broken."""
WORDS = {"what": "an example", "source": "nobody", "locator": "nowhere", "mark": "derived", "unit": "m_s", "reason": ""}
WORDS |= {"check": "a-check", "tolerance": "0.005"}
COMMITTED = list(checkbook.COMMITTED.values())
NOT_CHECKED = ROOT / "data" / "not_checked.md"


def line(ours: float = 1.501, expected: float | str = "1.50", **words: str) -> checkbook.Check:
    test = "tests/test_published.py::test_published[skid:a-check]"
    return checkbook.made(test, ours, WORDS | words | {"expected": expected})


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


def test_a_line_is_rounded_well_inside_its_tolerance_and_never_calls_a_miss_a_pass() -> None:
    row = line(1.501234567)
    assert (row.ours, row.difference, row.unit, row.passed) == ("1.50123", "0.00123", "m/s", "yes")
    assert [line(ours).passed for ours in (1.505, 1.5051, math.nan, math.inf)] == ["yes", "NO", "NO", "NO"]
    assert line(math.inf, "inf").passed == "yes"
    assert checkbook.printed(1.0 / 3.0, 2e-15) == "0.3333333333333333"


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
