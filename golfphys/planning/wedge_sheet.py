"""The sheet of wedge distances: read with every cell checked, written blank, or invented for demonstration."""

from collections.abc import Mapping
from pathlib import Path

import numpy as np
import pandas as pd

from golfphys.core.units import FACTORS_TO_SI
from golfphys.sheets.errors import Findings
from golfphys.sheets.plain import lengths, own_kind, read_own, words
from golfphys.sheets.saving import create_file

SWINGS = ("half", "three-quarter", "full")
"""Lengths of swing in the player's own terms; any other words may be used in the sheet."""

CARRIES = ("carry_m", "carry_yd", "carry_ft")
SHORTEST, LONGEST = 2.0, 250.0
"""Carries in m that are believed."""

WEDGES = own_kind(
    "wedges",
    "Wedge distances: a row for each shot.",
    [
        words("club", "Which club.", "gap wedge"),
        words("swing", "Length of the swing in the player's own words.", "half"),
        *lengths(
            "carry",
            {name.removeprefix("carry_"): FACTORS_TO_SI[name.removeprefix("carry_")] for name in CARRIES},
            SHORTEST,
            LONGEST,
            "Where it first landed.",
        ),
    ],
)
"""What a sheet of wedge distances holds."""


def read_wedges(source: "str | Path | pd.DataFrame") -> pd.DataFrame:
    """Read measured wedge distances and check every cell.

    Parameters
    ----------
    source : str, Path or DataFrame
        A CSV, or its table: columns ``club``, ``swing`` (the player's own words) and one of ``carry_m``, ``carry_yd``
        and ``carry_ft``; a row for each shot. Lines that start with ``#`` are comments.

    Returns
    -------
    DataFrame
        ``club``, ``swing``, ``carry`` (m). What was assumed in reading a file stands in its ``attrs["notes"]``.

    Raises
    ------
    ValueError
        Naming every bad cell, its row and what was expected; a `SheetError`, with the rows as a spreadsheet numbers
        them, where a file was read.

    Examples
    --------
    >>> rows = pd.DataFrame({"club": ["gap wedge"], "swing": ["half"], "carry_yd": [50]})
    >>> read_wedges(rows)["carry"].round(2).tolist()
    [45.72]
    """
    if isinstance(source, pd.DataFrame):
        return _checked(source)
    table = read_own(source, WEDGES)
    found = table.frame[["club", "swing", "carry"]].reset_index(drop=True)
    found.attrs["notes"] = list(table.findings.notes)
    return found


def _checked(source: pd.DataFrame) -> pd.DataFrame:
    rows = source.reset_index(drop=True)
    rows.columns = [str(name).strip() for name in rows.columns]
    given = [name for name in CARRIES if name in rows.columns]
    named = [name for name in ("club", "swing", *CARRIES) if list(rows.columns).count(name) > 1]
    missing = [name for name in ("club", "swing") if name not in rows.columns]
    if missing or named or len(given) != 1:
        raise ValueError(
            f"columns are {', '.join(rows.columns)}; expected club, swing and just one of {', '.join(CARRIES)}"
        )
    if rows.empty:
        raise ValueError("no shots; expected at least one row")
    carry = pd.to_numeric(rows[given[0]].map(_plain), errors="coerce").astype(float)
    metres = carry * FACTORS_TO_SI[given[0].removeprefix("carry_")]
    bad = [
        f"row {number}, {given[0]}: found {found!r}, expected a carry of {SHORTEST:g} to {LONGEST:g} m"
        for number, (found, value) in enumerate(zip(rows[given[0]], metres, strict=True), 1)
        if not SHORTEST <= value <= LONGEST
    ]
    cells = {name: [_word(value) for value in rows[name]] for name in ("club", "swing")}
    for name, texts in cells.items():
        bad += [f"row {number}, {name}: empty" for number, text in enumerate(texts, 1) if not text]
    if bad:
        raise ValueError("; ".join(bad))
    return pd.DataFrame({**cells, "carry": metres})


def _plain(value: object) -> object:
    """What may be a number; anything else is none."""
    return value if isinstance(value, int | float | str | np.number) and not isinstance(value, bool) else None


def _word(value: object) -> str:
    return "" if value is None or value != value else str(value).strip()  # NaN is not equal to itself


DEMO_CARRIES: Mapping[str, tuple[float, float, float]] = {
    "pitching wedge": (56.0, 80.0, 104.0),
    "gap wedge": (49.0, 69.0, 88.0),
    "sand wedge": (41.0, 58.0, 76.0),
    "lob wedge": (33.0, 48.0, 64.0),
}
"""Mean carries in m of an invented player, by `SWINGS`."""


def demo_wedges(*, shots: int = 4, seed: int | np.random.Generator = 7) -> pd.DataFrame:
    """Return the wedge shots of an invented player.

    Parameters
    ----------
    shots : int
        Shots with each club and swing.
    seed : int or numpy.random.Generator
        The same seed gives the same shots.

    Returns
    -------
    DataFrame
        ``club``, ``swing``, ``carry_m``: what `find_wedge_gaps` takes.

    Examples
    --------
    >>> len(demo_wedges(shots=2))
    24
    """
    random = np.random.default_rng(seed)
    rows = [
        (club, swing, round(float(carry + (1.0 + 0.025 * carry) * random.standard_normal()), 1))
        for club, carries in DEMO_CARRIES.items()
        for swing, carry in zip(SWINGS, carries, strict=True)
        for _ in range(shots)
    ]
    return pd.DataFrame(rows, columns=["club", "swing", "carry_m"])


def new_wedge_sheet(path: "str | Path") -> Path:
    """Write a blank sheet for wedge distances, to print or to fill.

    Parameters
    ----------
    path : str or Path
        A CSV that does not exist yet.

    Returns
    -------
    Path
        The file written; `find_wedge_gaps` reads it once it is filled.

    Raises
    ------
    SheetError
        If something of that name exists already, or it cannot be written.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     new_wedge_sheet(f"{folder}/wedges.csv").name
    'wedges.csv'
    """
    lines = [
        "# One row for each shot; three to five of each club and swing.",
        f"# swing: its length in your own words, always the same ones; for example {', '.join(SWINGS)}.",
        "# carry_m: where it first landed, in metres; name the column carry_yd or carry_ft for yards or feet.",
        "club,swing,carry_m",
    ]
    create_file(Path(path), ("\n".join(lines) + "\n").encode(), Findings(str(path)))
    return Path(path)
