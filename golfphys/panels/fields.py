"""Fields of an entry form, made from the data dictionary: an input for each column, checked while it is typed."""

import html
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import ipywidgets
import pandas as pd

from golfphys.physics.club import BAG, LIES
from golfphys.sheets import cells
from golfphys.sheets.decoding import read_raw
from golfphys.sheets.dictionary import UNIT_WORDS, Column, Kind, kind_of
from golfphys.sheets.errors import Findings
from golfphys.sheets.headings import headings_alone
from golfphys.sheets.sheet import reference_line
from golfphys.sheets.templates import Units, template_columns

SUGGESTED = {"club": tuple(BAG), "lie": tuple(LIES)}
"""Words offered, though any other may be typed."""
KEPT = frozenset(
    {
        "spot",
        "heading",
        "ramp_run",
        "release_speed",
        "club",
        "lie",
        "edge",
        "target_carry",
        "drop_height",
        "roll",
        "kind",
    }
)
"""Quantities that usually stay the same from row to row: their fields keep what was typed."""


def sheet_columns(path: Path, kind: Kind) -> tuple[tuple[Column, ...], str | None]:
    """Return the columns of an existing sheet that the dictionary knows, and its reference line.

    Parameters
    ----------
    path : pathlib.Path
        The sheet.
    kind : Kind
        What kind it is.

    Returns
    -------
    columns : tuple of Column
        In the order of the sheet.
    reference_line : str or None
        What heading 0 points at.

    Raises
    ------
    SheetError
        If its headings are not those of such a sheet.
    """
    raw = read_raw(path, kind.names, Findings(str(path)))
    headings = headings_alone(raw, kind, Findings(str(path)))
    return tuple(item.column for item in headings if item.column is not None), reference_line(list(raw.comments))


def new_columns(kind: Kind, units: Units) -> tuple[Column, ...]:
    """Return the columns that a new sheet of this kind will have."""
    return template_columns(kind, units)


def complaint(text: str, column: Column) -> str:
    """Say what is wrong with a cell as it stands.

    Parameters
    ----------
    text : str
        What was typed.
    column : Column
        What it is typed for.

    Returns
    -------
    str
        A sentence or two; empty if the cell can be read, or is blank and may be.

    Examples
    --------
    >>> from golfphys.sheets.dictionary import kind_of
    >>> column = kind_of("rollouts").column("distance_m")
    >>> complaint("3,05", column)
    'expected a number of metres from 0 to 60. Write the decimal sign as a point: 3.05.'
    >>> complaint("3.05", column)
    ''
    """
    text = text.strip()
    if not text:
        return "to be filled in" if column.required else ""
    if column.is_number:
        found: object = cells.read_number(text, column, decimal_comma=False)
    elif column.type == "datetime":
        found = cells.read_time(text)
    else:
        found = cells.read_word(text, column)
    return f"expected {found.expected}. {found.advice}" if isinstance(found, cells.Misread) else ""


class Field:
    """One input with its message beside it.

    Parameters
    ----------
    column : Column
        What is typed here.
    """

    def __init__(self, column: Column) -> None:
        self.column = column
        unit = f" ({UNIT_WORDS[column.unit]})" if column.unit else ""
        common: dict[str, Any] = {
            "description": f"{column.quantity.replace('_', ' ')}{unit}{' *' if column.required else ''}",
            "placeholder": f"for instance {column.example}" if column.example else "",
            "tooltip": column.description,
            "style": {"description_width": "14em"},
            "layout": {"width": "32em"},
        }
        if column.choices:
            common.pop("placeholder")
            self.input: Any = ipywidgets.Dropdown(options=["", *column.choices], value="", **common)
        elif column.type == "string" and column.quantity != "note":
            words = SUGGESTED.get(column.quantity, ())
            self.input = ipywidgets.Combobox(options=words, value="", ensure_option=False, **common)
        else:
            self.input = ipywidgets.Text(value="", continuous_update=True, **common)
        self.message = ipywidgets.HTML()
        self.widget = ipywidgets.HBox([self.input, self.message])
        self.input.observe(self._typed, names="value")

    @property
    def text(self) -> str:
        """What is typed, without outer blanks."""
        return str(self.input.value or "").strip()

    @property
    def complaint(self) -> str:
        """What is wrong with it; empty if nothing is."""
        return complaint(self.text, self.column)

    def check(self) -> str:
        """Show what is wrong beside the input, and return it."""
        said = self.complaint
        if said:
            self.message.value = f"<span role='alert' style='color:#A03C00'>{html.escape(said)}</span>"
        else:
            self.message.value = "<span style='color:#00684A'>ok</span>" if self.text else ""
        return said

    def offer(self, words: Sequence[str]) -> None:
        """Offer more words while typing."""
        if isinstance(self.input, ipywidgets.Combobox):
            self.input.options = tuple(dict.fromkeys([*self.input.options, *words]))

    def clear(self) -> None:
        """Empty the input unless its quantity usually stays the same from row to row."""
        if self.column.quantity not in KEPT:
            self.input.value = ""
            self.message.value = ""

    def _typed(self, _change: Any) -> None:
        self.check()


def columns_in_words(kind: str, units: Units = "metres") -> pd.DataFrame:
    """Return what a sheet asks for, column by column, as the data dictionary says it.

    Parameters
    ----------
    kind : str
        Kind of sheet.
    units : {"metres", "feet"}
        Units of its lengths.

    Returns
    -------
    DataFrame
        Index: heading. ``must be filled``, ``for instance`` and ``what to write``.

    Raises
    ------
    ValueError
        If there is no such kind.

    Examples
    --------
    >>> list(columns_in_words("drops").index[:2])
    ['spot', 'drop_height_m']
    """
    columns = template_columns(kind_of(kind), units)
    return pd.DataFrame(
        {
            "must be filled": ["yes" if column.required else "" for column in columns],
            "for instance": [column.example for column in columns],
            "what to write": [column.description for column in columns],
        },
        index=pd.Index([column.name for column in columns], name="heading"),
    )
