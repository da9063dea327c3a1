"""The check book: every figure from outside the project that the tests hold it to, beside the library's own value.

Tests record their checks as they make them; ``pytest --write-ledger`` writes the records to the one ledger,
``data/check_book.csv``, which page 18 of the workbook shows. Every other run compares what it makes with the ledger.
"""

import csv
import math
import re
from collections import namedtuple
from collections.abc import Collection, Mapping
from pathlib import Path
from typing import Any

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
    "ramp and rolling": (
        "published/(release_ramp|penner_2002_rolling|rolling_resistance_2022)|test_roll_straight::(?!.*same_ground)"
        "|test_roll::test_walker_putt|test_roll::test_rolling_down_a_plane"
    ),
    "slope and break": "published/(brede_1991|irodov_1_106)|test_roll::(?!.*(skid|bowling))|test_roll_straight",
    "skid": "published/skid|test_roll::",
    "strike": "published/(penner_2001_face|wedge_tests|wood_2018|club_practice)|test_strike",
    "flight": "published/(bearman_harvey_1976|lyu_2020|smits_smith_1994|vacuum_comparison|wind)|test_shot::test_flight",
    "bounce and turf": (
        "published/(cross_bounce|drop_tests|garwin_1969|haake_1989|penner_2002_bounce)|test_shot::.*rigid_body"
    ),
    "hole and putting": (
        "published/(broadie_2014_putts|holmes_1991|penner_2002_hole)|test_putting::(?!test_posterior_means)"
    ),
    "fits and uncertainty": "test_fit|test_putting",
    "the whole chip": "test_engine|test_shot",
    "planning and practice": "test_planning",
}
"""Parts of the chain in the order of the book, and tests or files of figures that belong to each; the first counts."""

SYMBOLS = {
    **{"1": "", "pct": "%", "percent": "%", "m_s": "m/s", "m_s2": "m/s²", "rad_s": "rad/s", "rad_s2": "rad/s²"},
    **{"kg_m3": "kg/m³", "Pa_s": "Pa s", "ft_s": "ft/s"},
}
"""Units as a reader writes them, where that differs from how the tests do."""

COLUMNS = BOOK.read_text(encoding="utf-8").partition("\n")[0].split(",")


class Check(namedtuple("Check", COLUMNS)):
    """One line of the book: all text, and nothing that differs from machine to machine."""

    __slots__ = ()

    @property
    def place(self) -> tuple[int, int, int, str]:
        return list(PARTS).index(self.part), AGAINST.index(self.against), MARKS.index(self.mark), self.check

    def is_still(self, old: "Check") -> bool:
        """Whether nothing has changed from the line `old` but noise in what was computed."""
        computed = ("expected", "ours", "difference")
        same = all(getattr(self, name) == getattr(old, name) for name in COLUMNS if name not in computed)
        noise = NOISE * float(self.tolerance)
        return same and all(distance(getattr(self, name), getattr(old, name)) <= noise for name in computed[:2])


def distance(one: str, other: str) -> float:
    """Return how far two numbers are apart: 0 for equal infinities."""
    return 0.0 if one == other else abs(float(one) - float(other))


def function_of(test: str) -> str:
    return test.partition("[")[0]


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


def made(test: str, ours: float, words: Mapping[str, Any]) -> Check:
    """Return one check as the test of that name made it, from what stands in its row."""
    expected, tolerance = words["expected"], words["tolerance"]
    allowed = float(tolerance)
    assert all(words[name].strip() for name in ("what", "source", "locator", "unit")), f"{words['check']}: a blank"
    assert words["mark"] in MARKS, f"{words['check']}: mark {words['mark']!r} is none of {MARKS}"
    assert 0 < allowed < math.inf, f"{words['check']}: tolerance {tolerance!r} is not positive"
    apart = 0.0 if ours == float(expected) else ours - float(expected)
    passed = abs(apart) <= allowed * (1 + 1e-9)  # the last digit's rounding in binary apart
    solver = words["source"].startswith(SOLVERS)
    return Check(
        **{name: words[name] for name in ("check", "what", "mark", "source", "locator", "reason")},
        part=part_of(test),
        expected=printed(expected, allowed),
        ours=printed(float(ours), allowed),
        difference=printed(apart, allowed),
        tolerance=tolerance if isinstance(tolerance, str) else repr(allowed),
        unit=SYMBOLS.get(words["unit"], words["unit"]),
        passed="yes" if passed else "NO",
        against="solver" if solver else "practice" if words["mark"] == "practice" else "publication",
        test=function_of(test),
    )


def read(path: Path) -> dict[str, dict[str, str]]:
    with path.open(encoding="utf-8", newline="") as lines:
        return {row["check"]: row for row in csv.DictReader(lines)}


def differences(line: Check) -> list[str]:
    """Return one sentence for each way in which a line just made is not the committed one."""
    old = COMMITTED.get(line.check)
    if old is None:
        return [f"{line.check}: made by {line.test}, not in the book"]
    pairs = {} if line.is_still(old) else {name: (getattr(old, name), getattr(line, name)) for name in COLUMNS}
    return [f"{line.check}: {name} was {was!r}, is {now!r}" for name, (was, now) in pairs.items() if was != now]


def is_there(test: str) -> bool:
    file, _, function = test.partition("::")
    path = BOOK.parent.parent / file
    return path.exists() and f"def {function}(" in path.read_text(encoding="utf-8")


def write(made: Mapping[str, Check], whole: Collection[str]) -> None:
    """Write the book: what was made, where that is still as committed the committed line; and the lines of other tests.

    `whole` names the tests all of whose lines were made.
    """
    book = {check: line for check, line in COMMITTED.items() if line.test not in whole and is_there(line.test)}
    book |= {check: line if differences(line) else COMMITTED[check] for check, line in made.items()}
    with BOOK.open("w", encoding="utf-8", newline="") as file:
        writer = csv.DictWriter(file, COLUMNS, lineterminator="\n")
        writer.writeheader()
        writer.writerows(line._asdict() for line in sorted(book.values(), key=lambda line: line.place))


COMMITTED = {check: Check(**row) for check, row in read(BOOK).items()}
LINES = read(Path(__file__).parent / "checks.csv")
"""What the checks of ordinary tests are, apart from our own number; fields in their texts are filled in by the test."""
