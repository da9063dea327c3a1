"""The check book: every external check has its place, and the page says what the data say, and what is left out."""

import dataclasses
import math
import re
from pathlib import Path

import book_page
import checkbook
import numpy as np
import pandas as pd
import pytest
from conftest import ROOT

from golfphys.show import plots, worked

FEWEST = 60
"""Number of external checks below which the project's promise would be broken."""

ENTRY = checkbook.Entry(
    check="a-check",
    what="an example",
    source="nobody",
    locator="nowhere",
    mark="derived",
    expected="1.50",
    unit="m_s",
    tolerance="0.005",
    reason="",
    test="tests/test_published.py::test_published[skid:a-check]",
)
COMMITTED = book_page.read()


def outcomes(ours: float, entry: checkbook.Entry = ENTRY) -> dict[str, checkbook.Outcome]:
    """Return what a run finds that makes the example check alone."""
    return {entry.check: checkbook.Outcome(entry=entry, ours=ours)}


# the committed book


def test_the_book_holds_the_ledger() -> None:
    """Every entry of the ledger is a row of the book, in its words, and there is no other row."""
    entries = {entry.check: entry for entry in checkbook.read()}
    assert sorted(row.check for row in COMMITTED) == sorted(entries)
    for row in COMMITTED:
        entry = entries[row.check]
        for name in ("what", "source", "locator", "mark", "expected", "tolerance", "reason", "test"):
            assert getattr(row, name) == getattr(entry, name), f"{row.check}: {name}"
        assert row.part == book_page.part_of(row.test)


def test_the_page_says_what_the_data_say() -> None:
    """The committed page is made from the committed data and the list of what is not checked."""
    assert book_page.PAGE.read_text(encoding="utf-8") == book_page.page(COMMITTED, book_page.not_checked()), (
        f"{book_page.PAGE.name} is stale; write it anew with: {checkbook.COMMAND}"
    )


def repeated(keys: list[object]) -> set[object]:
    """Return what stands in a list more than once."""
    return {key for key in keys if keys.count(key) > 1}


def test_there_are_enough_checks_and_none_twice() -> None:
    """No two rows have one name or one description."""
    assert len(COMMITTED) >= FEWEST
    assert repeated([row.check for row in COMMITTED]) == set()
    assert repeated([row.what.lower() for row in COMMITTED]) == set()


def test_no_value_of_ours_is_held_to_one_figure_twice() -> None:
    """Two rows of one value and nearly one figure would be one check in other words: 12 and 12.07 for one 12.066."""
    told = [row for row in COMMITTED if row.against == "publication" and float(row.ours) not in (0.0, 1.0)]
    assert (
        repeated([(row.part, row.unit, f"{float(row.ours):.4g}", f"{float(row.expected):.2g}") for row in told])
        == set()
    )


def test_every_committed_check_passes() -> None:
    """Difference and pass are those of the figures beside them."""
    for row in COMMITTED:
        assert row.passed == "yes", row.check
        apart = float(row.ours) - float(row.expected) if row.ours != row.expected else 0.0
        assert float(row.difference) == pytest.approx(apart, abs=0.011 * float(row.tolerance)), row.check


def test_what_is_not_checked_comes_first() -> None:
    """The page opens with what nothing outside checks, and the list names the links that matter most."""
    headings = re.findall(r"^## (.+)$", book_page.PAGE.read_text(encoding="utf-8"), flags=re.MULTILINE)
    assert headings[0] == "What nothing outside the project checks"
    unchecked = worked.read_not_checked(book_page.NOT_CHECKED)
    assert len(unchecked) >= 15
    assert [item for item in unchecked if not re.match(r"\*\*[A-Z][^*]+\.\*\* .+\.$", item)] == []
    words = " ".join(unchecked).lower()
    subjects = (
        "whole chip",
        "decision",
        "interval",
        "grain",
        "dent",
        "scatter",
        "low point",
        "lift",
        "loss of spin",
        "fringe",
    )
    assert [subject for subject in subjects if subject not in words] == []


def test_the_list_of_what_is_not_checked_names_files_that_exist() -> None:
    """Files named in brackets are there."""
    named = re.findall(r"\((\w+/[\w.]+)\)", book_page.not_checked())
    assert named
    assert [name for name in named if not (ROOT / name).exists()] == []


# grouping


def places() -> set[str]:
    """Return every place that makes external checks: files of published figures; tests that call the fixture."""
    published = {f"published/{path.stem}" for path in (ROOT / "tests" / "published").glob("*.csv")}
    tests = {
        path.stem
        for path in (ROOT / "tests").glob("test_*.py")
        if re.search(r"\bexternal_check\(", path.read_text(encoding="utf-8"))
    }
    return published | (tests - {"test_published", "test_ledger", "test_check_book"})


def test_every_place_that_makes_checks_has_a_part() -> None:
    """A new file of figures or tests cannot fall through, and the mapping names nothing that has gone."""
    known = [place for part in book_page.PARTS.values() for place in part]
    assert len(set(known)) == len(known)
    assert places() - set(known) == set()
    used = {entry.test.split("[")[0] for entry in checkbook.read()}
    whole = {place for place in known if "::" not in place}
    assert whole - places() == set()
    assert [place for place in known if "::" in place and f"tests/{place.replace('::', '.py::')}" not in used] == []


def test_every_part_has_checks() -> None:
    """No heading stands empty."""
    assert list(dict.fromkeys(row.part for row in COMMITTED)) == list(book_page.PARTS)


def test_a_check_from_an_unknown_place_is_refused() -> None:
    """The message says where to name it."""
    with pytest.raises(ValueError, match=r"no part of the chain is given for test_new; name it in PARTS"):
        book_page.part_of("tests/test_new.py::test_it[1]")
    with pytest.raises(ValueError, match="published/somebody_2030"):
        book_page.part_of("tests/test_published.py::test_published[somebody_2030:thing]")


def test_the_narrowest_place_counts() -> None:
    """One test of a file may belong elsewhere than the file."""
    assert book_page.part_of("tests/test_roll.py::test_walker_putt") == "ramp and rolling"
    assert book_page.part_of("tests/test_roll.py::test_scaling_laws_of_a_plane") == "slope and break"


# writing


def test_values_are_rounded_and_noise_keeps_the_committed_text() -> None:
    """A hundredth of the tolerance is kept; a move within the noise changes nothing, a larger one does."""
    first = book_page.rows([ENTRY], outcomes(1.501234567), [])
    assert (first[0].ours, first[0].difference, first[0].unit, first[0].passed) == ("1.50123", "0.00123", "m/s", "yes")
    assert book_page.rows([ENTRY], outcomes(1.5012 + 0.9 * checkbook.NOISE * 0.005), first) == first
    moved = book_page.rows([ENTRY], outcomes(1.504), first)
    assert moved[0].ours == "1.504"
    assert book_page.differences(first, moved) == [
        "a-check: ours was '1.50123', is '1.504'",
        "a-check: difference was '0.00123', is '0.004'",
    ]


def test_what_a_run_did_not_reach_keeps_its_last_value() -> None:
    """A skipped check stays as it was; one that has never run says so on the page."""
    first = book_page.rows([ENTRY], outcomes(1.501), [])
    assert book_page.rows([ENTRY], {}, first) == first
    never = book_page.rows([ENTRY], {}, [])
    assert (never[0].ours, never[0].difference, never[0].passed) == ("", "", "")
    assert "not run yet" in book_page.page(never, "- nothing")


def test_a_check_that_no_test_makes_any_more_leaves_the_book() -> None:
    """The ledger says which rows there are."""
    first = book_page.rows([ENTRY], outcomes(1.501), [])
    assert book_page.rows([], {}, first) == []
    assert book_page.differences(first, []) == ["a-check: in the check book, but no test makes it"]
    assert book_page.differences([], first) == ["a-check: not in the check book"]


def test_a_failing_value_is_shown_as_one() -> None:
    """The page never calls a miss a pass, and equal infinities agree."""
    assert book_page.rows([ENTRY], outcomes(1.6), [])[0].passed == "NO"
    never_stops = dataclasses.replace(ENTRY, expected="inf")
    row = book_page.rows([never_stops], outcomes(math.inf, never_stops), [])[0]
    assert (row.ours, row.difference, row.passed) == ("inf", "0.0", "yes")


def test_the_data_are_read_back(tmp_path: Path) -> None:
    """Commas and quotes survive; no file is an empty book."""
    quoted = dataclasses.replace(ENTRY, what='a "quoted", name | with a bar')
    book = book_page.rows([quoted], outcomes(1.501, quoted), [])
    path = tmp_path / "book.csv"
    path.write_text(book_page.text(book), encoding="utf-8", newline="\n")
    assert book_page.read(path) == book
    assert book_page.read(tmp_path / "none.csv") == []
    assert "name \\| with a bar" in book_page.page(book, "- nothing")


def test_published_figures_come_before_solvers() -> None:
    """Within a part: figures of publications, then practice, then solvers."""
    solver = dataclasses.replace(ENTRY, check="a-solver", what="another", source="scipy.integrate.solve_ivp")
    trade = dataclasses.replace(ENTRY, check="a-rule", what="a third", mark="practice")
    book = book_page.rows([solver, trade, ENTRY], {}, [])
    assert [row.against for row in book] == ["publication", "practice", "solver"]


# reading it in the library


@pytest.fixture
def book() -> pd.DataFrame:
    """The committed book as the library reads it."""
    return worked.read_check_book(book_page.BOOK)


def test_the_library_reads_the_book(book: pd.DataFrame) -> None:
    """Numbers are numbers, figures stay as printed, and shares are within the band."""
    assert len(book) == len(COMMITTED)
    assert list(book["figure"]) == [row.expected for row in COMMITTED]
    assert book["passed"].all()
    assert (book["share"].abs() <= 1.0 + 1e-6).all()


def test_a_book_without_a_column_is_refused(tmp_path: Path) -> None:
    """The message names file and column."""
    path = tmp_path / "book.csv"
    path.write_text("part,check\nskid,a\n", encoding="utf-8")
    with pytest.raises(ValueError, match=r"book\.csv has no column what"):
        worked.read_check_book(path)


def test_a_check_that_has_not_run_is_read_as_nan_and_drawn_nowhere(tmp_path: Path) -> None:
    """An empty value does not stop the page."""
    path = tmp_path / "book.csv"
    other = dataclasses.replace(ENTRY, check="b-check", what="another")
    path.write_text(book_page.text(book_page.rows([ENTRY, other], outcomes(1.501), [])), encoding="utf-8", newline="\n")
    table = worked.read_check_book(path)
    assert np.isnan(table.set_index("check").loc["b-check", "share"])
    assert not table["passed"].all()
    plots.plot_check_book(table)


def test_counts_add_up(book: pd.DataFrame) -> None:
    """Each way of counting gives the number of checks, part by part and in all."""
    counts = worked.check_counts(book)
    assert list(counts.index) == [*book_page.PARTS, "all"]
    number = counts["", "all"]
    assert (counts["held to"].sum(axis=1) == number).all()
    assert (counts["mark"].sum(axis=1) == number).all()
    assert number["all"] == len(book) == number.drop("all").sum()


def test_tables_show_what_was_asked_for(book: pd.DataFrame) -> None:
    """One part, all parts, the nearest to failing; an unknown part is named."""
    skid = worked.checks_of(book, "skid")
    assert list(skid.index) == list(book.loc[book["part"] == "skid", "what"])
    assert len(worked.checks_of(book)) == len(book)
    nearest = worked.closest_checks(book, 5)["share of tolerance"].astype(float).abs()
    assert nearest.is_monotonic_decreasing
    assert nearest.iloc[0] == pytest.approx(book["share"].abs().max(), abs=0.005)
    with pytest.raises(ValueError, match="part is 'wind'; expected one of ball and air"):
        worked.checks_of(book, "wind")


def test_the_figure_has_a_dot_for_every_check(book: pd.DataFrame) -> None:
    """Rows are the parts with their numbers; every dot lies in its row, at its share."""
    ax = plots.plot_check_book(book)
    assert [label.get_text().rpartition(" ")[0] for label in ax.get_yticklabels()] == list(book_page.PARTS)
    dots = np.concatenate([np.asarray(dots.get_offsets()) for dots in ax.collections])
    assert len(dots) == len(book)
    rows, numbers = np.unique(np.round(dots[:, 1]), return_counts=True)
    assert rows.tolist() == list(range(len(book_page.PARTS)))
    assert numbers.tolist() == book["part"].value_counts()[list(book_page.PARTS)].tolist()
    assert sorted(dots[:, 0]) == pytest.approx(sorted(book["share"]))
    assert np.abs(dots[:, 1] - np.round(dots[:, 1])).max() < 0.45
