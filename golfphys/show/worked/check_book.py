"""Reading the check book: every figure from outside the project beside our own value, as a table to show or to draw."""

import math
from pathlib import Path

import pandas as pd

from golfphys.sheets import Column, Kind
from golfphys.sheets.table import read_own

TEXT = ("part", "check", "what", "unit", "against", "mark", "source", "locator", "reason")
NUMBERS = ("expected", "ours", "difference", "tolerance")
BOOK = Kind(
    name="check book",
    columns=tuple(Column(name=name, quantity=name, type="string") for name in (*TEXT, *NUMBERS, "passed")),
    needs=tuple((name,) for name in (*TEXT, *NUMBERS, "passed")),
)
"""What the check book holds, numbers as printed."""
AGAINST = {"publication": "published", "practice": "practice", "solver": "solver"}
"""What a check holds us to, and the heading it has in a count."""
MARKS = ("read", "memory", "derived", "practice")


def read_check_book(path: "str | Path") -> pd.DataFrame:
    r"""Read the check book that a run of the tests wrote, ``data/check_book.csv``.

    A row for each check, by part of the chain: ``part``, ``check`` (short name), ``what``, ``expected``, ``ours``,
    ``difference`` and ``tolerance`` (in ``unit``; ``figure`` is the expected value as printed), ``share`` (difference
    over tolerance, within -1 and 1 where the check passes), ``passed``, ``against`` (publication, practice or solver),
    ``mark``, ``source``, ``locator``, ``reason``. A check that has not run yet has NaN. Raises SheetError if it cannot
    be read.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "book.csv"
    ...     names = ",".join([*TEXT, *NUMBERS, "passed"])
    ...     _ = path.write_text(names + "\nskid,a,b,m,solver,derived,c,d,,1.0,1.5,0.5,2.0,yes\n")
    ...     float(read_check_book(path)["share"].iloc[0])
    0.25
    """
    book = read_own(path, BOOK).frame.drop(columns="row")
    book["figure"] = book["expected"]
    for name in NUMBERS:
        book[name] = [float(value) if value else math.nan for value in book[name]]
    book["share"] = book["difference"] / book["tolerance"]
    book["passed"] = book["passed"] == "yes"
    return book


def check_counts(book: pd.DataFrame) -> pd.DataFrame:
    """Return how many checks each part of the chain has, by what they hold us to and by mark. A last row counts all."""
    held = {("held to", words): book["against"] == name for name, words in AGAINST.items()}
    marked = {("mark", name): book["mark"] == name for name in MARKS}
    flags = pd.DataFrame({**held, **marked, ("", "all"): True}, index=book.index)
    counts = flags.groupby(book["part"], sort=False).sum()
    counts.loc["all"] = counts.sum()
    return counts.rename_axis("part of the chain")


def checks_of(book: pd.DataFrame, part: str | None = None) -> pd.DataFrame:
    """Return the checks of one part of the chain, or of all, in words; ValueError if the book has no such part."""
    if part is None:
        return _in_words(book).set_index(pd.Index(book["part"], name="part"), append=True).swaplevel()
    own = book[book["part"] == part]
    if own.empty:
        raise ValueError(f"part is {part!r}; expected one of {', '.join(book['part'].unique())}")
    return _in_words(own)


def closest_checks(book: pd.DataFrame, number: int = 8) -> pd.DataFrame:
    """Return the `number` checks that come nearest to failing, in words, nearest to its tolerance first."""
    order = book["share"].abs().sort_values(ascending=False, kind="stable").index[:number]
    return _in_words(book.loc[order])


def _in_words(rows: pd.DataFrame) -> pd.DataFrame:
    columns = {
        "figure": (rows["figure"] + " " + rows["unit"]).str.strip(),
        "ours": rows["ours"].map("{:.6g}".format),
        "within": rows["tolerance"].map("{:.2g}".format),
        "share of tolerance": rows["share"].map("{:+.2f}".format),
        "mark": rows["mark"],
        "source": rows["source"],
    }
    return pd.DataFrame(columns).set_axis(pd.Index(rows["what"], name="what"))


def read_not_checked(path: "str | Path") -> list[str]:
    r"""Read what nothing outside the project checks, ``data/not_checked.md``: a sentence or two for each item.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     path = Path(folder) / "list.md"
    ...     _ = path.write_text("- **Wind.** One speed\n  at every height.\n- Grain.\n")
    ...     read_not_checked(path)
    ['**Wind.** One speed at every height.', 'Grain.']
    """
    text = "\n" + Path(path).read_text(encoding="utf-8").strip()
    return [" ".join(item.split()) for item in text.split("\n- ")[1:]]
