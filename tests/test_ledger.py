"""The ledger of external checks is what the tests make, no more and no less; its machinery does what it says."""

import dataclasses
import math
from pathlib import Path

import book_page
import checkbook
import pytest
from conftest import ROOT, RUN, ExternalCheck

ENTRY = checkbook.Entry(
    check="a-check",
    what="an example",
    source="nobody",
    locator="nowhere",
    mark="derived",
    expected="1.50",
    unit="m",
    tolerance="0.005",
    reason="",
    test="tests/test_example.py::test_one",
)


def variant(**changes: str) -> checkbook.Entry:
    """Return the example entry with changes."""
    return dataclasses.replace(ENTRY, **changes)


def test_text_is_sorted_and_read_back(tmp_path: Path) -> None:
    """Writing sorts by check; reading gives the same entries."""
    entries = [variant(check="b"), variant(check="a", source='a "quoted", name')]
    path = tmp_path / "ledger.csv"
    path.write_text(checkbook.text(entries), encoding="utf-8", newline="\n")
    assert [entry.check for entry in checkbook.read(path)] == ["a", "b"]
    assert set(checkbook.read(path)) == set(entries)


def test_no_ledger_is_an_empty_one(tmp_path: Path) -> None:
    """A repository without a ledger can make one."""
    assert checkbook.read(tmp_path / "none.csv") == []


@pytest.mark.parametrize(
    ("value", "tolerance", "text"),
    [
        ("1.50", 0.005, "1.50"),
        (1.23456789, 0.01, "1.2346"),
        (0.0, 1e-9, "0.0"),
        (-1e-9, 0.1, "0.0"),
        (267.8, 0.05, "267.8"),
        (math.inf, 0.1, "inf"),
        (1.0 / 3.0, 2e-15, "0.3333333333333333"),
    ],
)
def test_computed_values_are_rounded_well_inside_the_tolerance(value: float | str, tolerance: float, text: str) -> None:
    """Noise of the machine does not reach the ledger; printed figures stay as printed."""
    assert checkbook.printed(value, tolerance) == text


def test_noise_far_inside_the_tolerance_is_no_change() -> None:
    """An expected value that another engine computed may move a little; one that moves more, or any word, counts."""
    assert ENTRY.says_the_same(variant(expected="1.5001"))
    assert not ENTRY.says_the_same(variant(expected="1.502"))
    assert not ENTRY.says_the_same(variant(source="somebody"))
    assert variant(expected="inf").says_the_same(variant(expected="inf"))
    assert not variant(expected="inf").says_the_same(ENTRY)


def test_merging_keeps_what_the_run_could_not_make() -> None:
    """Entries of tests that ran and no longer make them go; those of tests that did not run stay."""
    committed = [variant(check="gone", test="t::ran"), variant(check="kept", test="t::skipped"), ENTRY]
    fresh = [variant(check="new"), variant(expected="1.5000001")]
    merged = checkbook.merged(committed, fresh, lambda entry: entry.test == "t::skipped")
    assert [entry.check for entry in merged] == ["a-check", "kept", "new"]
    assert merged[0].expected == "1.50"


def test_differences_say_what_is_stale() -> None:
    """Each difference is one sentence with the name of the check."""
    said = checkbook.differences([ENTRY, variant(check="old")], [variant(mark="read"), variant(check="young")])
    assert said == [
        "old: in the ledger, but no test makes it",
        "young: made by tests/test_example.py::test_one, not in the ledger",
        "a-check: mark was 'derived', is 'read'",
    ]
    assert checkbook.differences([ENTRY], [ENTRY]) == []


def test_an_outcome_passes_within_its_tolerance_only() -> None:
    """The edge belongs to the tolerance in spite of binary rounding; NaN never passes."""
    assert checkbook.Outcome(entry=ENTRY, ours=1.505).passed
    assert not checkbook.Outcome(entry=ENTRY, ours=1.5051).passed
    assert not checkbook.Outcome(entry=ENTRY, ours=math.nan).passed
    assert checkbook.Outcome(entry=variant(expected="inf"), ours=math.inf).passed
    assert not checkbook.Outcome(entry=variant(expected="inf"), ours=1.0).passed
    assert not checkbook.Outcome(entry=ENTRY, ours=math.inf).passed


def test_the_count_is_written_between_its_marks(tmp_path: Path) -> None:
    """Writing the ledger brings the README's count along."""
    page = tmp_path / "README.md"
    page.write_text("before <!-- checks -->1<!-- /checks --> after\n", encoding="utf-8")
    checkbook.write_count(page, 42)
    assert page.read_text(encoding="utf-8") == "before <!-- checks -->42<!-- /checks --> after\n"
    assert checkbook.read_count(page) == 42


def test_the_fixture_refuses_bad_checks(external_check: ExternalCheck, request: pytest.FixtureRequest) -> None:
    """A wrong value, a blank source, an unknown mark, no tolerance and a repeated name all fail."""
    words = {"what": "an example", "source": "nobody", "locator": "nowhere", "mark": "derived", "unit": "m"}
    outcomes = request.config.stash[RUN].outcomes
    try:
        with pytest.raises(AssertionError, match="no source given"):
            external_check("refused", 1.0, 1.0, 0.1, **(words | {"source": " "}))
        with pytest.raises(AssertionError, match="mark 'guess'"):
            external_check("refused", 1.0, 1.0, 0.1, **(words | {"mark": "guess"}))
        with pytest.raises(AssertionError, match="not positive"):
            external_check("refused", 1.0, 1.0, 0.0, **words)
        with pytest.raises(AssertionError, match=r"ours 1\.2 m, expected 1\.0 within 0\.1"):
            external_check("refused", 1.2, 1.0, 0.1, **words)
        with pytest.raises(AssertionError, match="made twice"):
            external_check("refused", 1.0, 1.0, 0.1, **words)
    finally:
        outcomes.pop("refused", None)


def test_the_readme_counts_the_ledger() -> None:
    """The number of external checks that the README states is the number of entries."""
    assert checkbook.read_count(ROOT / "README.md") == len(checkbook.read())


@pytest.mark.last
def test_the_ledger_is_current(request: pytest.FixtureRequest) -> None:
    """After all other tests: the committed ledger and the check book hold what they made."""
    run = request.config.stash[RUN]
    if request.config.getoption("--write-ledger"):
        pytest.skip("the ledger is being written")
    if not run.full:
        pytest.skip("only a run of all tests can tell whether the ledger is current")
    stale = checkbook.differences(checkbook.read(), run.ledger()) + book_page.stale(run.book())
    cure = f"the ledger or the check book is stale; write both anew with: {checkbook.COMMAND}\n"
    assert not stale, cure + "\n".join(stale)
