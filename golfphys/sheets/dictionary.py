"""The data dictionary: which columns each kind of sheet may have, in which units, and what may stand in them.

The dictionary is ``dictionary.json`` beside this file, a Data Package with one Table Schema for each kind of sheet (an
open standard, datapackage.org). It is the only place where a column is described: readers, templates, messages and
``data/datapackage.json`` are all made from it.
"""

import json
from dataclasses import dataclass
from functools import cache, cached_property
from importlib import resources
from typing import Any

from golfphys.core.units import FACTORS_TO_SI

# Units of the sheets in words, for messages.
UNIT_WORDS = {
    "m": "metres",
    "cm": "centimetres",
    "mm": "millimetres",
    "ft": "feet",
    "in": "inches",
    "yd": "yards",
    "s": "seconds",
    "ms": "milliseconds",
    "m_s": "metres per second",
    "ft_s": "feet per second",
    "deg": "degrees",
}
UNIT_SPELLINGS = {
    **{word: unit for unit, word in UNIT_WORDS.items()},
    **{unit: unit for unit in ("m", "cm", "mm", "ft", "in", "yd", "s", "ms", "deg")},
    **{"metre": "m", "meter": "m", "meters": "m", "foot": "ft", "inch": "in", "yds": "yd", "yard": "yd", "sec": "s"},
    **{"m/s": "m_s", "ft/s": "ft_s", "fps": "ft_s", "\N{DEGREE SIGN}": "deg"},
}


@dataclass(frozen=True, kw_only=True)
class Column:
    """One column that a sheet may have.

    `name` is its heading, with the unit at its end where there is one, `quantity` what it measures: the column of the
    frame that the reader returns. Columns with the same quantity differ only in their unit; a sheet has one of them.
    `type` is that of a Table Schema, `unit` a suffix of `golfphys.core.units`, None for text, counts and times of day;
    limits are in the column's own unit, and `choices` the only words allowed, if any.
    """

    name: str
    quantity: str
    type: str = "number"
    unit: str | None = None
    description: str = ""
    required: bool = False
    minimum: float | None = None
    maximum: float | None = None
    choices: tuple[str, ...] = ()
    example: str = ""

    @property
    def factor(self) -> float:
        """Factor from the column's unit to SI."""
        return 1.0 if self.unit is None else FACTORS_TO_SI[self.unit]

    @property
    def is_number(self) -> bool:
        """True when the cells are numbers."""
        return self.type in ("number", "integer")

    def holds(self, value: float) -> bool:
        """Tell whether a number in the column's own unit is within its limits."""
        return (self.minimum is None or value >= self.minimum) and (self.maximum is None or value <= self.maximum)


@dataclass(frozen=True, kw_only=True)
class Kind:
    """One kind of sheet; those of the dictionary have everything, a table of another room only columns and needs.

    Columns are all that it may have, in the order of the template; of each group of quantities in `needs` it has a
    column for at least one. `how_to_fill` are lines for the head of the template, which leaves out `not_in_template`.
    """

    name: str
    title: str = ""
    description: str = ""
    columns: tuple[Column, ...]
    needs: tuple[tuple[str, ...], ...]
    how_to_fill: tuple[str, ...] = ()
    not_in_template: tuple[str, ...] = ()

    def column(self, name: str) -> Column | None:
        """Return the column with this heading, or None."""
        return self._by_name.get(name)

    @cached_property
    def names(self) -> frozenset[str]:
        """Every heading that the sheet may have."""
        return frozenset(self._by_name)

    def columns_of(self, quantity: str) -> tuple[Column, ...]:
        """Return the columns that measure `quantity`, one for each unit."""
        return tuple(column for column in self.columns if column.quantity == quantity)

    @property
    def quantities(self) -> tuple[str, ...]:
        """The quantities that the sheet may hold, in order."""
        return tuple(dict.fromkeys(column.quantity for column in self.columns))

    @cached_property
    def _by_name(self) -> dict[str, Column]:
        return {column.name: column for column in self.columns}


def _column(field: dict[str, Any]) -> Column:
    limits = field.get("constraints", {})
    own = {name: field[name] for name in ("name", "quantity", "type", "unit", "description") if name in field}
    checked = {name: limits[name] for name in ("required", "minimum", "maximum") if name in limits}
    return Column(**own, **checked, choices=tuple(limits.get("enum", ())), example=str(field.get("example", "")))


def _kind(resource: dict[str, Any]) -> Kind:
    return Kind(
        **{name: resource[name] for name in ("name", "title", "description")},
        columns=tuple(map(_column, resource["schema"]["fields"])),
        needs=tuple(map(tuple, resource["needs"])),
        how_to_fill=tuple(resource["howToFill"]),
        not_in_template=tuple(resource["notInTemplate"]),
    )


def descriptor() -> dict[str, Any]:
    """Return the dictionary as a Data Package descriptor, a fresh copy with one resource for each kind of sheet."""
    text = resources.files("golfphys.sheets").joinpath("dictionary.json").read_text(encoding="utf-8")
    loaded: dict[str, Any] = json.loads(text)
    return loaded


@cache
def kinds() -> dict[str, Kind]:
    """Return every kind of sheet by name, in the order of the dictionary."""
    return {resource["name"]: _kind(resource) for resource in descriptor()["resources"]}


def kind_of(name: str) -> Kind:
    """Return the kind of sheet called `name`; a ValueError lists those there are if there is none."""
    if name not in kinds():
        raise ValueError(f"kind is {name!r}; expected one of: {', '.join(kinds())}")
    return kinds()[name]
