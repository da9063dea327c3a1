"""The check book: every figure from outside the project that the tests hold it to, beside the library's own value.

Tests record their checks as they make them; ``pytest --write-ledger`` writes the records to the one ledger,
``data/check_book.csv``, which page 18 of the workbook shows. A run of all test files compares it with what it found.
"""

import csv
import io
import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, fields
from pathlib import Path

BOOK = Path(__file__).parent.parent / "data" / "check_book.csv"
COMMAND = "pytest --write-ledger"
MARKS = ("read", "memory", "derived", "practice")
AGAINST = ("publication", "practice", "solver")
"""What a check holds us to: a published or textbook figure, practice of the trade, a solver of the same equations."""
SOLVERS = ("scipy", "PyBullet")
"""How the names of sources begin that are solvers or engines."""
NOISE = 0.2
"""Fraction of its tolerance by which a computed value may move, between machines and versions, before it is new."""

PARTS: Mapping[str, str] = {
    "ball and air": "published/standard_atmosphere",
    "fits and uncertainty": "test_fit|test_film|test_putting::test_posterior_means",
    "hole and putting": "published/(broadie_2014_putts|holmes_1991|penner_2002_hole)|test_hole|test_putting",
    "ramp and rolling": (
        "published/(release_ramp|penner_2002_rolling|rolling_resistance_2022)|test_ramp|test_roll_straight"
        "|test_roll::test_walker_putt|test_roll_skid::test_rolling_down_a_plane_agrees_with_a_rigid_body_engine"
    ),
    "skid": "published/skid|test_roll_skid",
    "slope and break": "published/(brede_1991|irodov_1_106)|test_roll|test_surface",
    "strike": "published/(penner_2001_face|wedge_tests|wood_2018|club_practice)|test_strike|test_sole|test_club",
    "flight": "published/(bearman_harvey_1976|lyu_2020|smits_smith_1994|vacuum_comparison|wind)|test_flight",
    "bounce and turf": (
        "published/(cross_bounce|drop_tests|garwin_1969|haake_1989|penner_2002_bounce)|test_impact|test_bounce"
    ),
    "the whole chip": "test_engine|test_shot",
    "planning and practice": "test_planning|test_tour_level",
}
"""Parts of the chain, and the tests or files of figures that belong to each; the first that fits counts."""

ORDER = (
    *("ball and air", "ramp and rolling", "slope and break", "skid", "strike", "flight", "bounce and turf"),
    *("hole and putting", "fits and uncertainty", "the whole chip", "planning and practice"),
)
"""The parts from the ball to the decision, as the book has them."""

SYMBOLS = {
    **{"1": "", "pct": "%", "percent": "%", "m_s": "m/s", "m_s2": "m/s²", "rad_s": "rad/s", "rad_s2": "rad/s²"},
    **{"kg_m3": "kg/m³", "Pa_s": "Pa s", "ft_s": "ft/s"},
}
"""Units as a reader writes them, where that differs from how the tests do."""


@dataclass(frozen=True, kw_only=True)
class Check:
    """One line of the book: all text, and nothing that differs from machine to machine."""

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

    @property
    def place(self) -> tuple[int, int, int, str]:
        """Where the line stands in the book."""
        return ORDER.index(self.part), AGAINST.index(self.against), MARKS.index(self.mark), self.check

    def is_still(self, old: "Check") -> bool:
        """Whether nothing has changed from the line `old` but noise in what was computed."""
        computed = ("expected", "ours", "difference")
        same = all(getattr(self, name) == getattr(old, name) for name in COLUMNS if name not in computed)
        noise = NOISE * float(self.tolerance)
        return same and all(distance(getattr(self, name), getattr(old, name)) <= noise for name in computed[:2])


COLUMNS = [field.name for field in fields(Check)]


def distance(one: str, other: str) -> float:
    """Return how far two numbers are apart: 0 for equal infinities."""
    return 0.0 if one == other else abs(float(one) - float(other))


def part_of(test: str) -> str:
    """Return the part of the chain that a test, by its name in pytest, belongs to."""
    file, _, name = test.partition("::")
    function, _, parameter = name.partition("[")
    place = f"{Path(file).stem}::{function}"
    if place.startswith("test_published::"):
        place = f"published/{parameter.partition(':')[0]}"
    for part, places in PARTS.items():
        if re.match(places, place):
            return part
    raise ValueError(f"{test}: no part of the chain is given for {place}; name it in PARTS of tests/checkbook.py")


def printed(value: float | str, tolerance: float) -> str:
    """Return a value as text: a string as it stands, a number rounded to a hundredth of the tolerance."""
    if isinstance(value, str):
        return value
    if value == 0 or not math.isfinite(value):
        return repr(float(value))
    digits = max(0, 2 - math.floor(math.log10(tolerance)))
    return repr(round(float(value), min(digits, 17)) + 0.0)


def made(test, check, ours, expected, tolerance, words):
    """Return one check as the test of that name made it."""
    blank = [name for name in ("what", "source", "locator", "unit") if not words[name].strip()]
    if blank:
        raise ValueError(f"external check {check!r}: no {', '.join(blank)} given")
    if words["mark"] not in MARKS:
        raise ValueError(f"external check {check!r}: mark {words['mark']!r} is none of {MARKS}")
    allowed = float(tolerance)
    if not (math.isfinite(allowed) and allowed > 0):
        raise ValueError(f"external check {check!r}: tolerance {tolerance!r} is not positive")
    apart = 0.0 if ours == float(expected) else ours - float(expected)
    passed = abs(apart) <= allowed * (1 + 1e-9)  # the last digit's rounding in binary apart
    solver = words["source"].startswith(SOLVERS)
    return Check(
        **{name: words[name] for name in ("what", "mark", "source", "locator", "reason")},
        part=part_of(test),
        check=check,
        expected=printed(expected, allowed),
        ours=printed(float(ours), allowed),
        difference=printed(apart, allowed),
        tolerance=tolerance if isinstance(tolerance, str) else repr(allowed),
        unit=SYMBOLS.get(words["unit"], words["unit"]),
        passed="yes" if passed else "NO",
        against="solver" if solver else "practice" if words["mark"] == "practice" else "publication",
        test=test.partition("[")[0],
    )


def merged(committed: Iterable[Check], fresh: Iterable[Check], kept: Iterable[str]) -> list[Check]:
    """Return what the book should now hold.

    Of the committed lines that the run did not make, those stay whose test is among `kept`: it was not run, or skipped.
    A line that is still the same keeps its committed text.
    """
    known = {line.check: line for line in committed}
    kept = set(kept)
    result = {check: line for check, line in known.items() if line.test in kept}
    for line in fresh:
        old = known.get(line.check)
        result[line.check] = old if old is not None and line.is_still(old) else line
    return sorted(result.values(), key=lambda line: line.place)


def differences(committed: Iterable[Check], wanted: Iterable[Check]) -> list[str]:
    """Return one sentence for each way in which the committed book is not what the run made."""
    old, new = ({line.check: line for line in book} for book in (committed, wanted))
    said = [f"{check}: in the check book, but no test makes it" for check in sorted(old.keys() - new.keys())]
    said += [f"{check}: made by {new[check].test}, not in the book" for check in sorted(new.keys() - old.keys())]
    for check in sorted(old.keys() & new.keys()):
        pairs = {name: (getattr(old[check], name), getattr(new[check], name)) for name in COLUMNS}
        said += [f"{check}: {name} was {was!r}, is {now!r}" for name, (was, now) in pairs.items() if was != now]
    return said


def read(path: Path = BOOK) -> list[Check]:
    """Return the lines of the committed book."""
    with path.open(encoding="utf-8", newline="") as lines:
        return [Check(**row) for row in csv.DictReader(lines)]


def text(book: Iterable[Check]) -> str:
    """Return the book's text as CSV."""
    out = io.StringIO()
    writer = csv.DictWriter(out, COLUMNS, lineterminator="\n")
    writer.writeheader()
    writer.writerows(vars(line) for line in book)
    return out.getvalue()
