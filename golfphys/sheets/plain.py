"""Kinds of sheet that a room describes for itself: read with all the checks of the dictionary's own, never added to."""

import os
from collections.abc import Sequence

from golfphys.sheets.decoding import load_bytes
from golfphys.sheets.dictionary import Column, Kind
from golfphys.sheets.errors import Findings
from golfphys.sheets.table import Table, parse_table


def words(name: str, description: str, example: str) -> Column:
    """Return a column of words that may not be blank."""
    return Column(
        name=name,
        quantity=name,
        type="string",
        unit=None,
        description=description,
        required=True,
        minimum=None,
        maximum=None,
        choices=(),
        example=example,
    )


def lengths(quantity: str, factors: dict[str, float], low: float, high: float, description: str) -> tuple[Column, ...]:
    """Return a column for each unit of a length that may not be blank.

    Parameters
    ----------
    quantity : str
        What is measured.
    factors : dict of str to float
        Metres for each unit, by its suffix.
    low, high : float
        Limits, m.
    description : str
        What to write in it.

    Returns
    -------
    tuple of Column
        For instance ``carry_m`` and ``carry_yd``.
    """
    return tuple(
        Column(
            name=f"{quantity}_{unit}",
            quantity=quantity,
            type="number",
            unit=unit,
            description=description,
            required=True,
            minimum=low / metres,
            maximum=high / metres,
            choices=(),
            example=f"{(low * high) ** 0.5 / metres:.0f}",
        )
        for unit, metres in factors.items()
    )


def own_kind(name: str, description: str, columns: Sequence[Column]) -> Kind:
    """Return a kind of sheet that has just these columns, one for each quantity."""
    quantities = dict.fromkeys(column.quantity for column in columns)
    return Kind(
        name=name,
        title=name,
        description=description,
        columns=tuple(columns),
        needs=tuple((quantity,) for quantity in quantities),
        how_to_fill=(),
        not_in_template=(),
    )


def read_own(path: str | os.PathLike[str], kind: Kind) -> Table:
    """Read a sheet of a kind of one's own.

    Parameters
    ----------
    path : path-like
        The CSV file.
    kind : Kind
        Its columns.

    Returns
    -------
    Table
        Cells in SI, and notes on what was assumed.

    Raises
    ------
    SheetError
        If anything is wrong; it lists every problem with row and column.
    """
    findings = Findings(str(path))
    table = parse_table(load_bytes(path, findings), kind, findings)
    findings.raise_if_any()
    return table
