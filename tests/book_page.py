"""The check book: every external check with our own value, as data and as a page, grouped by part of the chain.

Written from the same records as the ledger (see `checkbook`): ``pytest --write-ledger`` writes ``data/check_book.csv``
and ``CHECKBOOK.md`` too, and a full run holds both to what it found. The only typed part is ``data/not_checked.md``.
"""

import csv
import io
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path

import checkbook

ROOT = Path(__file__).parent.parent
BOOK = ROOT / "data" / "check_book.csv"
NOT_CHECKED = ROOT / "data" / "not_checked.md"
PAGE = ROOT / "CHECKBOOK.md"

PARTS: Mapping[str, tuple[str, ...]] = {
    "ball and air": ("published/standard_atmosphere",),
    "ramp and rolling": (
        *("published/release_ramp", "published/penner_2002_rolling", "published/rolling_resistance_2022"),
        *("test_ramp", "test_roll_straight", "test_roll::test_walker_putt"),
        "test_roll_skid::test_rolling_down_a_plane_agrees_with_a_rigid_body_engine",
    ),
    "slope and break": ("published/brede_1991", "published/irodov_1_106", "test_roll", "test_surface"),
    "skid": ("published/skid", "test_roll_skid"),
    "strike": ("published/penner_2001_face", "published/wedge_tests", "published/wood_2018", "published/club_practice"),
    "flight": (
        *("published/bearman_harvey_1976", "published/lyu_2020", "published/smits_smith_1994"),
        *("published/vacuum_comparison", "test_flight"),
    ),
    "bounce and turf": (
        *("published/cross_bounce", "published/drop_tests", "published/garwin_1969", "published/haake_1989"),
        *("published/penner_2002_bounce", "test_impact"),
    ),
    "hole and putting": (
        *("published/broadie_2014_putts", "published/holmes_1991", "published/penner_2002_hole"),
        *("test_hole", "test_putting"),
    ),
    "fits and uncertainty": ("test_fitting_traces", "test_putting::test_posterior_means_are_the_published_ones"),
    "the whole chip": ("test_engine", "test_shot"),
    "planning and practice": ("test_planning_practice", "test_planning_speed"),
}
"""Parts of the chain and where their checks are made: a file of tests/published, a file of tests, or one test of it.

The narrowest place counts. A check from a place that is not listed is refused, so that none falls through.
"""

SOLVERS = ("scipy", "PyBullet")
"""How the names of sources begin that are solvers or engines."""

AGAINST = ("publication", "practice", "solver")
"""What a check holds us to: a published or textbook figure, practice of the trade, a solver of the same equations."""

SYMBOLS = {
    "1": "",
    "pct": "%",
    "percent": "%",
    "m_s": "m/s",
    "m_s2": "m/s²",
    "rad_s": "rad/s",
    "rad_s2": "rad/s²",
    "kg_m3": "kg/m³",
    "Pa_s": "Pa s",
    "ft_s": "ft/s",
}
"""Units as a reader writes them, where that differs from how the tests and the ledger do."""


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line of the check book: all text, as it stands in the data file."""

    part: str
    check: str
    what: str
    expected: str
    ours: str
    difference: str
    tolerance: str
    unit: str
    passed: str
    against: str
    mark: str
    source: str
    locator: str
    reason: str
    test: str


COLUMNS = [field.name for field in fields(Row)]


def part_of(test: str) -> str:
    """Return the part of the chain that a test, by its name in pytest, belongs to."""
    file, _, name = test.partition("::")
    stem = Path(file).stem
    function, _, parameter = name.partition("[")
    published = f"published/{parameter.partition(':')[0]}"
    places = [published] if stem == "test_published" else [f"{stem}::{function}", stem]
    for place in places:
        for part, known in PARTS.items():
            if place in known:
                return part
    raise ValueError(f"{test}: no part of the chain is given for {places[-1]}; name it in PARTS of tests/book_page.py")


def against(entry: checkbook.Entry) -> str:
    """Return what an entry holds us to."""
    if entry.source.startswith(SOLVERS):
        return "solver"
    return "practice" if entry.mark == "practice" else "publication"


def rows(
    entries: Iterable[checkbook.Entry], outcomes: Mapping[str, checkbook.Outcome], committed: Iterable[Row]
) -> list[Row]:
    """Return what the book should now hold: a row for each entry of the ledger.

    A check that this run did not make keeps its last value, and so does one whose value moved by no more than noise.
    """
    known = {row.check: row for row in committed}
    made = [_row(entry, _value(entry, outcomes.get(entry.check), known.get(entry.check))) for entry in entries]
    return sorted(made, key=_place)


def _place(row: Row) -> tuple[int, int, int, str]:
    order = list(PARTS).index(row.part), AGAINST.index(row.against), checkbook.MARKS.index(row.mark)
    return *order, row.check


def _value(entry: checkbook.Entry, outcome: checkbook.Outcome | None, old: Row | None) -> str:
    if outcome is None:
        return old.ours if old else ""
    tolerance = float(entry.tolerance)
    if old and old.ours and _apart(float(old.ours), outcome.ours) <= checkbook.NOISE * tolerance:
        return old.ours
    return checkbook.printed(outcome.ours, tolerance)


def _apart(one: float, other: float) -> float:
    return 0.0 if one == other else abs(one - other)


def _row(entry: checkbook.Entry, ours: str) -> Row:
    shared = {name: value for name, value in vars(entry).items() if name in COLUMNS}
    difference = passed = ""
    if ours:
        outcome = checkbook.Outcome(entry=entry, ours=float(ours))
        difference = checkbook.printed(outcome.difference, float(entry.tolerance))
        passed = "yes" if outcome.passed else "NO"
    shared["unit"] = SYMBOLS.get(entry.unit, entry.unit)
    return Row(
        **shared, part=part_of(entry.test), against=against(entry), ours=ours, difference=difference, passed=passed
    )


def read(path: Path = BOOK) -> list[Row]:
    """Return the rows of the committed book, none if there is no book yet."""
    if not path.exists():
        return []
    with path.open(encoding="utf-8", newline="") as lines:
        return [Row(**row) for row in csv.DictReader(lines)]


def text(book: Iterable[Row]) -> str:
    """Return the data file's text."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(vars(row) for row in book)
    return out.getvalue()


def not_checked() -> str:
    """Return what is not checked by anything outside the project, as Markdown."""
    return NOT_CHECKED.read_text(encoding="utf-8").strip()


def page(book: list[Row], unchecked: str) -> str:
    """Return the page's text."""
    solved = sum(row.against == "solver" for row in book)
    rough = sum(bool(row.reason) for row in book)
    parts = [HEAD, unchecked, COUNTS.format(all=len(book), solved=solved, rough=rough), _counts(book), READING]
    for part in dict.fromkeys(row.part for row in book):
        lines = [_line(row) for row in book if row.part == part]
        parts += [f"## {part[0].upper()}{part[1:]}", "\n".join([TABLE, *lines])]
    return "\n\n".join(parts) + "\n"


HEAD = """# The check book

Every figure from outside the project that the tests hold the library to, with what the library gives. Written by
`pytest --write-ledger` from the run itself; only the list that comes first is typed, in
[data/not_checked.md](data/not_checked.md).

## What nothing outside the project checks

A check that passes says that a law is worked out rightly, or that it agrees with a figure somebody published. It does
not say what a chip does on your green. These are not checked by anything outside the project:"""

COUNTS = """## What is checked, counted

{all} checks. {solved} of them hold the code to a solver or an engine given the same equations; {rough} have a tolerance
that needs a reason, which stands under them in italics."""

READING = """*Published*: a measured, published or textbook figure. *Practice*: common practice of the trade, no source.
*Solver*: a general-purpose solver or rigid-body engine. **read**: seen in the source named. **memory**: recalled, or
known at second hand. **derived**: worked out from read figures, or by a solver. **practice**: no source.
Our values are rounded to a hundredth of the tolerance. The same table as data:
[data/check_book.csv](data/check_book.csv); the tests behind it: [tests/ledger.csv](tests/ledger.csv)."""

TABLE = """| what | published figure | source | mark | ours | difference | tolerance | pass |
| --- | --- | --- | --- | --- | --- | --- | --- |"""


def _counts(book: list[Row]) -> str:
    lines = ["| part of the chain | published | practice | solver | read | memory | derived | practice | all |"]
    lines.append("| --- |" + " --- |" * 8)
    for part in [*dict.fromkeys(row.part for row in book), "all"]:
        own = [row for row in book if part in (row.part, "all")]
        numbers = [sum(row.against == name for row in own) for name in AGAINST]
        numbers += [sum(row.mark == name for row in own) for name in checkbook.MARKS]
        lines.append(f"| {part} | " + " | ".join(map(str, [*numbers, len(own)])) + " |")
    return "\n".join(lines)


def _line(row: Row) -> str:
    expected = row.expected if row.against == "publication" else _short(row.expected)
    what = f"{row.what}<br>*{row.reason}*" if row.reason else row.what
    cells = [
        what,
        _measure(expected, row.unit),
        f"{row.source}; {row.locator}",
        row.mark,
        _measure(_short(row.ours), row.unit) if row.ours else "not run yet",
        _measure(_short(row.difference), row.unit),
        _measure(_short(row.tolerance), row.unit),
        row.passed,
    ]
    return "| " + " | ".join(cell.replace("|", "\\|") for cell in cells) + " |"


def _measure(value: str, unit: str) -> str:
    return f"{value} {unit}".strip() if value else ""


def _short(value: str) -> str:
    """Return a number without the noughts and the long runs of digits that a program leaves."""
    if not value:
        return ""
    number = float(value)
    if number == 0:
        return "0"
    return value if re.fullmatch(r"-?\d+\.\d{1,4}|-?\d+", value) and not value.endswith("0") else f"{number:.9g}"


def differences(committed: list[Row], wanted: list[Row]) -> list[str]:
    """Return one sentence for each way in which the committed book is not what the run made."""
    old, new = ({row.check: row for row in book} for book in (committed, wanted))
    said = [f"{check}: in the check book, but no test makes it" for check in sorted(old.keys() - new.keys())]
    said += [f"{check}: not in the check book" for check in sorted(new.keys() - old.keys())]
    for check in sorted(old.keys() & new.keys()):
        pairs = {name: (getattr(old[check], name), getattr(new[check], name)) for name in COLUMNS}
        said += [f"{check}: {name} was {was!r}, is {now!r}" for name, (was, now) in pairs.items() if was != now]
    if not said and committed != wanted:
        said.append("the rows of the check book stand in another order")
    return said


def stale(wanted: list[Row]) -> list[str]:
    """Return one sentence for each way in which the committed book or its page is not what a run made."""
    said = differences(read(), wanted)
    if not PAGE.exists() or PAGE.read_text(encoding="utf-8") != page(wanted, not_checked()):
        said.append(f"{PAGE.name} is not what the check book gives")
    return said


def write(wanted: list[Row]) -> None:
    """Write the data file and the page."""
    BOOK.write_text(text(wanted), encoding="utf-8", newline="\n")
    PAGE.write_text(page(wanted, not_checked()), encoding="utf-8", newline="\n")
