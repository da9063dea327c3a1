"""The data dictionary: which columns each kind of sheet may have, in which units, and what their cells may hold.

The dictionary is ``dictionary.json`` beside this file, a Data Package with one Table Schema for each kind of sheet (an
open standard, datapackage.org). It is the only place where a column is described: readers, templates, messages and
``data/datapackage.json`` are all made from it. A cell that cannot be read says what was expected and what to do.
"""

import contextlib
import itertools
import json
import math
import re
import unicodedata
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta
from functools import cache, cached_property
from importlib import resources
from typing import Any

from golfphys.core.units import FACTORS_TO_SI

LONGEST_QUOTE = 60
# Units of the sheets in words, for messages.
UNIT_WORDS = {
    **{"m": "metres", "cm": "centimetres", "mm": "millimetres", "ft": "feet", "in": "inches", "yd": "yards"},
    **{"s": "seconds", "ms": "milliseconds", "m_s": "metres per second", "ft_s": "feet per second", "deg": "degrees"},
}
UNIT_SPELLINGS = {
    **{word: unit for unit, word in UNIT_WORDS.items()},
    **{unit: unit for unit in ("m", "cm", "mm", "ft", "in", "yd", "s", "ms", "deg")},
    **{"metre": "m", "meter": "m", "meters": "m", "foot": "ft", "inch": "in", "yds": "yd", "yard": "yd", "sec": "s"},
    **{"m/s": "m_s", "ft/s": "ft_s", "fps": "ft_s", "\N{DEGREE SIGN}": "deg"},
}
DIMENSIONS = dict.fromkeys(("m", "cm", "mm", "ft", "in", "yd"), "length")
DIMENSIONS |= {"s": "time", "ms": "time", "m_s": "speed", "ft_s": "speed", "deg": "angle"}


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

    @cached_property
    def by_name(self) -> dict[str, Column]:
        """Every column that the sheet may have, by its heading."""
        return {column.name: column for column in self.columns}

    def columns_of(self, quantity: str) -> tuple[Column, ...]:
        """Return the columns that measure `quantity`, one for each unit."""
        return tuple(column for column in self.columns if column.quantity == quantity)

    @property
    def quantities(self) -> tuple[str, ...]:
        """The quantities that the sheet may hold, in order."""
        return tuple(dict.fromkeys(column.quantity for column in self.columns))


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


def quoted(text: str) -> str:
    """Return `text` in quotes for a message, cut to a readable length and free of line breaks."""
    return repr(text if len(text) <= LONGEST_QUOTE else text[: LONGEST_QUOTE - 3] + "...")


# cells

NUMBER = re.compile(r"[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?", re.ASCII)
DECIMAL_COMMA = re.compile(r"(?<=\d),(?=\d)", re.ASCII)
COMMA_NUMBER = re.compile(r"[+-]?\d*,\d+", re.ASCII)
FEET_AND_INCHES = re.compile(
    r"(?:(\d+(?:\.\d+)?)\s*(?:'|\u2019|\u2032|ft|feet|foot)\.?)?\s*(?:(\d+(?:\.\d+)?)\s*(?:\"|\u201d|\u2033|''|in|inch|inches)?\.?)?",
    re.ASCII | re.IGNORECASE,
)
NUMBER_WITH_UNIT = re.compile(r"([+-]?(?:\d+\.?\d*|\.\d+))\s*([^\d\s.,][^\d]*)", re.ASCII)
ISO_TIME = re.compile(
    r"\d{4}-\d{2}-\d{2}([T ]\d{2}:\d{2}(:\d{2}(\.\d{1,6})?)?(Z|[+-]\d{2}:?\d{2})?)?", re.ASCII | re.IGNORECASE
)
CLOCKWISE = "Write the direction as degrees clockwise from the reference line."
HOW_MANY = "Write how many, as a whole number: no share and no per cent."
NOTHING_WORDS = {"n/a", "na", "none", "null", "nil", "-", "--", "?", "nan", "x", "missing"}
SPREADSHEET_EPOCH = datetime(1899, 12, 30)
DASHES = dict.fromkeys(map(ord, "\u2010\u2011\u2012\u2013\u2014\u2015\u2212_"), "-")
APOSTROPHES = dict.fromkeys(map(ord, "\u2018\u2019\u201b\u2032\u02bc`\u00b4"), "'")
RUN_AS_FORMULA = "=+-@\t\r"


@dataclass(frozen=True)
class Misread:
    """Why a cell could not be read: what was expected and what to do."""

    expected: str
    advice: str


def is_number(text: str) -> bool:
    """Tell whether a cell is a number, with a point or a comma for the decimals."""
    return NUMBER.fullmatch(text) is not None or COMMA_NUMBER.fullmatch(text) is not None


def with_point(text: str) -> str:
    """Return a cell with a point for its decimals where it is a number with a comma for them."""
    return text.replace(",", ".") if COMMA_NUMBER.fullmatch(text.replace("\N{MINUS SIGN}", "-")) else text


def clean(text: str) -> str:
    """Return a name as it is kept: letters composed, nothing invisible in it, single blanks between words."""
    visible = "".join(letter for letter in unicodedata.normalize("NFC", text) if unicodedata.category(letter) != "Cf")
    return " ".join(unquoted(visible).split())


def name_key(text: str) -> str:
    """Return the normal form of a name: names that look the same to a person have the same one.

    Case, accents composed or not, full-width letters, what is invisible, and the kind of dash, apostrophe and blank
    make no difference; a hyphen, an underscore and a blank count as one another.

    Examples
    --------
    >>> name_key("Home\u2013Left") == name_key("home-left") == name_key("home left")
    True
    """
    plain = unicodedata.normalize("NFKC", clean(text)).casefold()
    plain = unicodedata.normalize("NFKC", plain.translate(DASHES | APOSTROPHES))
    return " ".join(plain.replace("-", " ").split()) or plain


def as_plain(text: str) -> str:
    """Return a cell so that no spreadsheet runs it: text that begins like a formula gets an apostrophe before it."""
    return f"'{text}" if text[:1] and text[0] in RUN_AS_FORMULA and not is_number(text) else text


def unquoted(text: str) -> str:
    """Return the text that `as_plain` was given."""
    return text[1:] if text[:1] == "'" and text[1:2] and text[1] in RUN_AS_FORMULA else text


def read_cell(text: str, column: Column, decimal_comma: bool = False, day_first: bool | None = None) -> Any:
    """Read a cell that is not blank as its column has it: a number in its unit, a time as `read_time`, else a word.

    What cannot be read gives a `Misread`.
    """
    if column.is_number:
        return _read_number(text, column, decimal_comma)
    if column.type.startswith("date"):
        return read_time(text, day_first)
    if text.startswith("#") and column.required:
        return Misread("a name", "A name cannot begin with #, which marks comments (and a spreadsheet's errors).")
    if not column.choices:
        return text
    lowered = text.lower()
    if lowered in column.choices:
        return lowered
    return Misread(f"one of {', '.join(column.choices)}", column.description)


def _read_number(text: str, column: Column, decimal_comma: bool) -> float | Misread:
    plain = (with_point(text) if decimal_comma else text).replace("\N{MINUS SIGN}", "-")
    value = float(plain) if NUMBER.fullmatch(plain) else math.nan
    if math.isnan(value):
        advice = _number_advice(plain, column)
    elif math.isinf(value):
        advice = "Write the number as it was measured."
    elif column.type == "integer" and value != int(value):
        advice = HOW_MANY
    elif not column.holds(value):
        advice = _range_advice(value, column)
    else:
        return value
    return Misread(expected_number(column), advice)


def expected_number(column: Column) -> str:
    """Say in words which numbers `column` takes."""
    what = "a whole number" if column.type == "integer" else "a number"
    unit = f" of {UNIT_WORDS[column.unit]}" if column.unit else ""
    if column.minimum is not None and column.maximum is not None:
        return f"{what}{unit} from {column.minimum:.10g} to {column.maximum:.10g}"
    return f"{what}{unit}"


def _number_advice(text: str, column: Column) -> str:
    lowered = text.lower()
    if text.startswith("#"):
        return "This is a spreadsheet's error value: mend the formula there, or type the number."
    if COMMA_NUMBER.fullmatch(text):
        return f"Write the decimal sign as a point: {text.replace(',', '.')}."
    if re.fullmatch(r"[+-]?\d{1,3}(,\d{3})+(\.\d*)?", text, re.ASCII):
        return f"Leave out the commas between thousands: {text.replace(',', '')}."
    if lowered in NOTHING_WORDS:
        must = "this cell must be filled; delete the row if it was not measured"
        return f"Where there is nothing to write, {must if column.required else 'leave it blank'}."
    if text.endswith("%") and column.type == "integer":
        return HOW_MANY
    if column.quantity == "heading" and any(map(str.isalpha, text)):
        return CLOCKWISE
    converted = _unit_advice(DECIMAL_COMMA.sub(".", text), column)
    return converted or "Write the number alone, with a point for the decimals."


def _unit_advice(text: str, column: Column) -> str | None:
    """Advice for a number with its unit typed beside it, with the conversion done where it can be."""
    unit = column.unit
    if unit is None:
        return None
    feet_and_inches, with_unit = FEET_AND_INCHES.fullmatch(text), NUMBER_WITH_UNIT.fullmatch(text)
    if feet_and_inches and text and DIMENSIONS[unit] == "length":
        feet, inches = (float(part or 0) for part in feet_and_inches.groups())
        in_si = feet * FACTORS_TO_SI["ft"] + inches * FACTORS_TO_SI["in"]
    else:
        typed = UNIT_SPELLINGS.get(with_unit.group(2).strip().rstrip(".").lower()) if with_unit else None
        if with_unit is None or typed is None or DIMENSIONS[typed] != DIMENSIONS[unit]:
            return None
        in_si = float(with_unit.group(1)) * FACTORS_TO_SI[typed]
    return f"The unit stands in the heading ({UNIT_WORDS[unit]}): write {round(in_si / column.factor, 4):g}."


def _range_advice(value: float, column: Column) -> str:
    """Advice for a number out of range, naming the unit in which it would make sense."""
    if value < 0 and column.minimum == 0:
        return "It cannot be negative; write the direction in the heading, or take the sign away."
    if column.quantity == "heading":
        return CLOCKWISE
    dimension = None if column.unit is None else DIMENSIONS[column.unit]
    others = [unit for unit, of in DIMENSIONS.items() if of == dimension and unit not in (column.unit, "mm")]
    fitting = [unit for unit in others if column.holds(value * FACTORS_TO_SI[unit] / column.factor)]
    if fitting:
        words = " or ".join(UNIT_WORDS[unit] for unit in fitting)
        converted = value * FACTORS_TO_SI[fitting[0]] / column.factor
        return f"Was it measured in {words}? Then write {converted:.4g} ({UNIT_WORDS[fitting[0]]} converted)."
    return "Check it against your notes."


# times

DAYS = (
    *("%Y-%m-%d", "%Y/%m/%d", "%Y.%m.%d", "%Y%m%d", "%d.%m.%Y"),
    *("%d %B %Y", "%d %b %Y", "%d-%b-%Y", "%d-%b-%y", "%B %d, %Y"),
)
CLOCKS = ("%H:%M", "%H:%M:%S", "%I:%M %p", "%I:%M:%S %p")
BEFORE_CLOCK = re.compile(r"(?<=\d)[T ]+(?=\d{1,2}:\d{2})", re.ASCII)
EITHER_ORDER = re.compile(r"(\d{1,2})[/-](\d{1,2})[/-](\d{4}|\d{2})(?!\d)", re.ASCII)
TIME_EXPECTED = "a date, or date and time, year first (2025-05-06 or 2025-05-06T09:10)"


def day_comes_first(texts: Iterable[str]) -> bool | None:
    """Tell from all dates of a column whether 6/5/2025 has the day first; None where they do not show it."""
    orders = set()
    for first, second, _ in (match.groups() for match in map(EITHER_ORDER.match, texts) if match):
        if int(first) > 12:
            orders.add(True)
        elif int(second) > 12:
            orders.add(False)
    return orders.pop() if len(orders) == 1 else None


def plain_cells(texts: Sequence[str], column: Column | None, decimal_comma: bool) -> Sequence[str]:
    """Return cells of a column as they mean the same in any sheet: numbers with points, dates with the year first."""
    if column is not None and column.is_number:
        return [with_point(text) for text in texts] if decimal_comma else texts
    if column is None or not column.type.startswith("date"):
        return texts
    order = day_comes_first(texts)
    moments = [read_time(text, order) if EITHER_ORDER.match(text) else None for text in texts]
    return [
        moment[0].isoformat().removesuffix("T00:00:00") if isinstance(moment, tuple) else text
        for text, moment in zip(texts, moments, strict=True)
    ]


def read_time(text: str, day_first: bool | None = None) -> tuple[datetime, timedelta | None] | Misread:
    """Read a date or a date with a time of day, in any form in which day and month are clear."""
    if text.startswith("#"):
        return Misread(TIME_EXPECTED, "This is a spreadsheet's error value: mend the formula there, or type the date.")
    either = EITHER_ORDER.match(text)
    if day_first is None and either and either[1] != either[2] and max(int(either[1]), int(either[2])) <= 12:
        return Misread(TIME_EXPECTED, "Day and month cannot be distinguished in this order; write the year first.")
    moment = _moment(text, day_first if day_first is not None else day_comes_first([text]))
    if moment is None:
        return Misread(TIME_EXPECTED, "There is no such day or time; check it, and write the year first.")
    if not 1900 <= moment.year <= 2200:
        return Misread(TIME_EXPECTED, "The year is not one in which this can have been measured; check it.")
    return moment.replace(tzinfo=None), moment.utcoffset()


def _moment(text: str, day_first: bool | None) -> datetime | None:
    if ISO_TIME.fullmatch(text):
        with contextlib.suppress(ValueError):
            return datetime.fromisoformat(text.upper())
        return None
    if NUMBER.fullmatch(text) and 20000 <= float(text) < 80000:  # how a spreadsheet counts days
        return (SPREADSHEET_EPOCH + timedelta(days=float(text)) + timedelta(seconds=30)).replace(second=0)
    day, *clock = BEFORE_CLOCK.split(text, maxsplit=1)
    days: tuple[str, ...] = DAYS
    if EITHER_ORDER.match(text):
        day, order = day.replace("-", "/"), "%d/%m/" if day_first else "%m/%d/"
        days = (order + "%Y", order + "%y")
    for form in itertools.product(days, CLOCKS if clock else ("",)):
        with contextlib.suppress(ValueError):
            return datetime.strptime(" ".join([day, *clock]), " ".join(form).strip())  # the clock at the course
    return None
