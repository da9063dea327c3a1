"""Fields of an entry form, made from the data dictionary: checked while they are typed, the next value offered."""

from collections.abc import Sequence
from typing import Any

import ipywidgets

from golfphys.panels.panel import LINES
from golfphys.physics.club import BAG, LIES
from golfphys.sheets import cells
from golfphys.sheets.dictionary import UNIT_WORDS, Column
from golfphys.show.markup import escape

SUGGESTED = {"club": tuple(BAG), "lie": tuple(LIES)}
"""Words offered, though any other may be typed."""
MEASURED = frozenset(
    {
        "distance", "side", "rebound_height", "first_flight", "second_flight", "carry", "landing_side", "hang_time",
        "first_hop", "rest", "strike", "made", "time", "note", "height", "hits",
    }
)  # fmt: skip
"""Quantities that are new in every row; the fields of the others keep what was typed."""
CYCLING = ("heading", "ramp_run", "release_speed", "club")
"""Quantities whose next value is offered."""


def offered(values: Sequence[str]) -> str:
    """Return what probably comes next after `values`, a column read downwards.

    A value is repeated as often as the one before it was; then the value that followed it earlier comes, or for
    numbers one more step like the last.

    Examples
    --------
    >>> offered(["0", "90"]), offered(["0", "0", "90"]), offered(["0", "0", "90", "90"])
    ('180', '90', '180')
    >>> offered(["9-iron", "sand wedge", "9-iron"])
    'sand wedge'
    """
    runs: list[list[Any]] = []
    for value in values:
        if runs and runs[-1][0] == value:
            runs[-1][1] += 1
        else:
            runs.append([value, 1])
    last, count = runs[-1]
    if len(runs) == 1 or count < runs[-2][1]:
        return str(last)
    for (value, _), (following, _) in zip(runs[-2::-1], runs[:0:-1], strict=True):
        if value == last:
            return str(following)
    try:
        return f"{(float(last) + float(last) - float(runs[-2][0])) % 360:g}"
    except ValueError:
        return str(last)


def complaint(text: str, column: Column) -> str:
    """Say what is wrong with a cell as it stands; empty if it can be read, or is blank and may be.

    Examples
    --------
    >>> from golfphys.sheets.dictionary import kind_of
    >>> column = kind_of("rollouts").column("distance_m")
    >>> complaint("3,05", column)
    'expected a number of metres from 0 to 60. Write the decimal sign as a point: 3.05.'
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
    """One input, its label with the unit above it, its message below."""

    def __init__(self, column: Column) -> None:
        self.column = column
        unit = f" ({UNIT_WORDS[column.unit]})" if column.unit else ""
        look: dict[str, Any] = {
            "description": f"{column.quantity.replace('_', ' ')}{unit}{' *' if column.required else ''}",
            "tooltip": column.description,
            "style": {"description_width": "auto"},
            "layout": {"flex_flow": "column", "width": "13em", "height": "auto", "align_items": "stretch"},
            "placeholder": column.example,
            "continuous_update": False,  # the value comes whole, when the field is left or Enter is pressed
        }
        words = column.choices or SUGGESTED.get(column.quantity, ())
        offers = column.type == "string" and column.quantity != "note"
        self.input: Any = ipywidgets.Combobox(options=words, **look) if offers else ipywidgets.Text(**look)
        self.message = ipywidgets.HTML(layout={"width": "13em"})
        self.widget = ipywidgets.VBox([self.input, self.message], layout={"margin": "0 0.8em 0 0"})
        self.input.observe(lambda _change: self.check(), names="value")

    @property
    def text(self) -> str:
        """What is typed, without outer blanks."""
        return str(self.input.value or "").strip()

    def check(self) -> str:
        """Show what is wrong below the input, and return it."""
        said = complaint(self.text, self.column)
        shown = f"<div role='alert' style='color: #A03C00; {LINES}'>{escape(said)}</div>"
        self.message.value = shown if said and self.text else ""
        return said
