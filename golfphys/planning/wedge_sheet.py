"""The sheet of wedge distances: read with every cell checked, written blank, or invented for demonstration."""

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pandas as pd

from golfphys.sheets import kind_of, new_sheet
from golfphys.sheets.errors import Findings
from golfphys.sheets.table import parse_table, read_table

SWINGS = ("half", "three-quarter", "full")
"""Lengths of swing in the player's own terms; any other words may be used in the sheet."""


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

    Examples
    --------
    >>> rows = pd.DataFrame({"club": ["gap wedge"], "swing": ["half"], "carry_yd": [50]})
    >>> read_wedges(rows)["carry"].round(2).tolist()
    [45.72]
    """
    findings = Findings("the table of shots" if isinstance(source, pd.DataFrame) else str(source))
    kind = kind_of("wedges")
    if isinstance(source, pd.DataFrame):
        table = parse_table(source.to_csv(index=False).encode("utf-8"), kind, findings)
        findings.problems = [replace(item, row=item.row and max(item.row - 1, 1)) for item in findings.problems]
    else:
        table = read_table(source, kind, findings)
    findings.raise_if_any()
    found = table.frame[["club", "swing", "carry"]]
    found.attrs["notes"] = findings.notes
    return found


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

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     new_wedge_sheet(f"{folder}/wedges.csv").name
    'wedges.csv'
    """
    return new_sheet(path, "wedges")
