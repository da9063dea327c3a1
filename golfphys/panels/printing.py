"""Paper: blank sheets with drawings for the pencil, and the plans of a course kept on one page."""

# ruff: noqa: I001  # several lines for a module with many names
import io
import textwrap
from collections import Counter
from collections.abc import Callable, Mapping, Sequence
from datetime import date
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any

import ipywidgets
import numpy as np
import pandas as pd
from matplotlib.backends.backend_pdf import PdfPages
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from golfphys.panels import settings
from golfphys.panels.course import Chosen, working
from golfphys.panels.exchange import plain_name, results_folder
from golfphys.panels.forms import DATES
from golfphys.panels.panel import LOOK, Form, Panel, Refusal, asked, button, length, new_figure, picture
from golfphys.panels.panel import row, status, watch
from golfphys.panels.planning import PLANE, question, surveyed
from golfphys.planning import ChipPlan, make_carry_sheet, plan_chip
from golfphys.sheets import template_columns
from golfphys.sheets.dictionary import Kind, kind_of
from golfphys.show import plots
from golfphys.show.markup import escape
from golfphys.show.style import CYCLE, GREY, TURF, rendered

PAPER = (11.7, 8.3)  # a landscape page, inches
ROWS = 24
ON_A_PAGE = 4  # plans on a printed page
RULES = (
    "Made before the round from information gathered before it (Rule 4.3a). During the round no device may work out a "
    "line or a club from where the ball lies; a local rule may be stricter: ask the committee."
)


# blank sheets

WAY = np.linspace(0.0, 1.0, 21)  # along a curve that is drawn


def _ramp_drawing(ax: Any, line: str) -> None:
    """Rolls from above: the ramp, the reference line, headings clockwise, distance and side."""
    ax.set(xlim=(-3.6, 3.6), ylim=(-1.5, 1.7))
    for x, y, name in ((0, 1.15, f"0: {line}"), (1.15, 0, "90"), (0, -1.15, "180"), (-1.15, 0, "270")):
        ax.annotate("", (x, y), (0.15 * x, 0.15 * y), arrowprops={"arrowstyle": "-|>", "color": GREY})
        ax.text(1.18 * x, 1.2 * y, name, ha="center", va="center", fontsize=8, parse_math=False)
    ax.add_patch(Rectangle((-0.09, -0.09), 0.18, 0.18, color="black"))
    ax.text(-0.15, -0.3, "ramp", ha="right", fontsize=8)
    ax.plot([2.8, 2.8], [-1.0, 1.4], color=GREY, linestyle="--", linewidth=1)
    ax.plot(2.8 - 0.5 * WAY**2, -1.0 + 2.1 * WAY, color=CYCLE[0])
    ax.plot(2.3, 1.1, "o", color="white", markeredgecolor="black")
    ax.add_patch(Rectangle((2.71, -1.2), 0.18, 0.2, color="black"))
    _measure(ax, (2.3, 1.3), (2.8, 1.3), "side + (left of the heading)")
    _measure(ax, (2.7, -1.0), (2.2, 1.05), "distance, straight", "right")
    ax.plot([-3.3, -1.9, -3.3, -3.3], [-1.0, -1.0, 0.2, -1.0], color="black")
    _measure(ax, (-3.15, 0.25), (-1.8, -0.9), "ramp run")


def _drop_drawing(ax: Any, _line: str) -> None:
    """A drop from the side: both heights from the ground to the underside of the ball."""
    ax.set(xlim=(-2.5, 2.5), ylim=(-0.3, 2.0))
    ax.axhline(0, color="black")
    for x, y, name in ((-0.4, 1.5, "drop height"), (0.4, 0.55, "rebound height")):
        ax.plot(x, y + 0.09, "o", color="white", markeredgecolor="black", markersize=9)
        _measure(ax, (x - 0.25, 0), (x - 0.25, y), "")
        ax.text(x - 0.3, y / 2, name, ha="right", va="center", fontsize=8)
    ax.plot([-0.4, -0.4], [1.5, 0.05], color=CYCLE[0], linestyle=":")
    ax.plot([0.4, 0.4], [0.05, 0.55], color=CYCLE[0], linestyle=":")
    ax.text(1.0, 1.1, "or times, by ear: first flight = first\nto second touch, second flight = next", fontsize=8)


def _chip_drawing(ax: Any, _line: str) -> None:
    """A chip from the side: everything is measured from where the ball lay, along the line of play."""
    ax.set(xlim=(-0.5, 12.5), ylim=(-2.6, 2.2))
    ax.axhline(0, color="black")
    ax.axvspan(3, 12.5, ymax=0.54, color=TURF, linewidth=0)
    for start, end, high in ((0, 6, 1.6), (6, 7.6, 0.45)):
        ax.plot(start + (end - start) * WAY, 4 * high * WAY * (1 - WAY), color=CYCLE[0])
    ax.plot([7.6, 11], [0.05, 0.05], color=CYCLE[0], linestyle=":")
    for x, name in ((0, "ball"), (11, "")):
        ax.plot(x, 0.08, "o", color="white", markeredgecolor="black")
        ax.text(x, 0.3, name, ha="center", fontsize=8)
    carry = "carry (target carry: where it was meant to land)"
    for number, (end, name) in enumerate(((3, "edge"), (6, carry), (7.6, "first hop"), (11, "rest"))):
        _measure(ax, (0, -0.45 - 0.5 * number), (end, -0.45 - 0.5 * number), name)
    ax.text(12.4, 1.75, "side: + left of the line of play, - right, looking towards the pin", ha="right", fontsize=8)


def _measure(ax: Any, start: tuple[float, float], end: tuple[float, float], name: str, ha: str = "") -> None:
    """Draw a line with arrows at both ends and a name at its middle."""
    ax.annotate("", end, start, arrowprops={"arrowstyle": "<->", "color": "black", "linewidth": 0.8})
    x, y = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    slanting = start[1] != end[1]
    aside, side = {"right": -0.1}.get(ha, 0.1) if slanting else 0.0, ha or ("left" if slanting else "center")
    ax.text(x + aside, y + (0.0 if slanting else 0.05), name, fontsize=8, va="bottom", ha=side)


DRAWINGS: dict[str, Callable[[Any, str], None]] = {
    "rollouts": _ramp_drawing,
    "drops": _drop_drawing,
    "chips": _chip_drawing,
}


def blank_sheet(kind: str, course: Chosen) -> Figure:
    """Return a page to print and fill in by pencil: a drawing of what is measured, then blank rows."""
    sheet = kind_of(kind)
    return new_figure(lambda figure: _draw_blank(figure, sheet, course), PAPER, lambda figure: None)


def _draw_blank(figure: Any, sheet: Kind, course: Chosen) -> None:
    columns = [column for column in template_columns(sheet, course.units) if column.quantity not in DATES]
    text: dict[str, Any] = {"fontsize": 9, "va": "top", "parse_math": False}
    figure.text(0.04, 0.965, f"{sheet.title}: {course.name}", fontsize=14, va="top", parse_math=False)
    figure.text(0.6, 0.965, "date ____________  player ____________  page ____", **text)
    how = [line for line in sheet.how_to_fill if not line.startswith("reference line")]
    figure.text(0.04, 0.92, "\n".join(how), **{**text, "fontsize": 7.5})
    if sheet.name in DRAWINGS:
        drawing = figure.add_axes((0.04, 0.60, 0.92, 0.24))
        drawing.set_axis_off()
        DRAWINGS[sheet.name](drawing, course.line_in_words)
    top = 0.58 if sheet.name in DRAWINGS else 0.82
    grid = figure.add_axes((0.04, 0.03, 0.92, top - 0.03))
    grid.set_axis_off()
    heads = ["row", *(f"{item.quantity.replace('_', ' ')}\n{item.unit or ''}" for item in columns)]
    widths = [0.035, *(2.2 if item.quantity in ("note", "spot", "club") else 1.0 for item in columns)]
    share = (1 - widths[0]) / sum(widths[1:])
    rows = int(ROWS * (top - 0.03) / 0.55)
    table = grid.table(
        cellText=[[str(number), *[""] * len(columns)] for number in range(1, rows + 1)], colLabels=heads,
        colWidths=[widths[0], *(share * width for width in widths[1:])], bbox=(0, 0, 1, 1), cellLoc="center",
    )  # fmt: skip
    table.auto_set_font_size(False)
    table.set_fontsize(6.5)
    for (number, _), cell in table.get_celld().items():
        cell.set(linewidth=0.5, height=2.0 / (rows + 2) if number == 0 else 1.0 / (rows + 2))


def _pdf(figures: list[Figure]) -> bytes:
    """Return figures as the pages of one PDF without a date."""
    buffer = io.BytesIO()
    with PdfPages(buffer, metadata={"CreationDate": None}) as pages:
        for figure in figures:
            pages.savefig(figure)
    return buffer.getvalue()


class Printer(Form):
    """What writes a page about a course when its button is pressed, and says where."""

    what = "The panel"

    def written(self, name: str, content: bytes) -> Path:
        """Write a file among the results of the course and return its path."""
        path = results_folder(self.course) / name
        settings.write_whole(path, content, private=False)
        self.message.value = status(f"Written to {escape(path)}.")
        return path


class BlankSheets(Printer):
    """A button that writes the blank sheets of a course, those of these `kinds`, as one PDF, and a look at them."""

    def __init__(self, course: Chosen, kinds: tuple[str, ...] = ("rollouts", "drops", "chips")) -> None:
        super().__init__(course)
        self.kinds, self.button = kinds, button("Write the blank sheets", self.write)
        self.image = picture(rendered(blank_sheet(kinds[0], course), "png"))
        self.widget = ipywidgets.VBox([self.button, self.message, self.image])

    @asked("Nothing was written", ValueError)
    def write(self) -> Path:
        """Write the PDF and return its path."""
        return self.written("blank sheets.pdf", _pdf([blank_sheet(kind, self.course) for kind in self.kinds]))


# the sheet to carry


SEVERAL = "all on one page"
"""The choice that makes one page for the first greens of the day, as many as it has room for."""


class CarryForm(Printer):
    """The sheet to carry for one green of the course, or several, shown and written as a PDF at its true size.

    `today` tells the date that stands on the sheet.
    """

    def __init__(self, course: Chosen, *, today: Callable[[], date] = date.today) -> None:
        super().__init__(course)
        self.today = today
        spots = [*course.spots, *([SEVERAL] if len(course.greens) > 1 else [])]
        self.spot = ipywidgets.Dropdown(options=spots, value=course.spot, description="green", **LOOK)
        self.unit = ipywidgets.Dropdown(options=["paces", "m", "ft"], description="distances in", **LOOK)
        self.pace = ipywidgets.FloatText(value=0.9, step=0.01, description="length of a pace (m)", **LOOK)
        self.button = button("Write it as PDF", self.write, primary=True)
        self.image = ipywidgets.Image(format="png", layout={"width": "min(30em, 96vw)"})
        parts = [self.spot, self.unit, self.pace, self.button, self.message, self.image]
        self.widget = ipywidgets.VBox(parts)
        watch(self.redraw, self.spot, self.unit, self.pace)
        self.redraw()

    @asked("Below is the sheet of the choices before", ValueError)
    def redraw(self) -> None:
        """Make the sheet for the current choices and show it."""
        self.sheet = None  # until the choices are seen to go together
        with working("Working out the sheet", self.message):
            options: dict[str, Any] = {"unit": self.unit.value, "pace": self.pace.value, "made_for": self.today()}
            chosen = self.spot.value
            spots = self.course.greens[: plots.MOST_SPOTS] if chosen == SEVERAL else [chosen]
            self.sheet = [make_carry_sheet(self.course.draws(spot, 0.0), spot=spot, **options) for spot in spots]
            self.image.value = rendered(plots.draw_carry_sheet(self.sheet), "png", dpi=110)
            self.message.value = ""

    @asked("Nothing was written", ValueError)
    def write(self) -> Path:
        """Write the PDF and return its path."""
        if self.sheet is None:
            raise Refusal("There is no sheet for these choices: choose others.")
        name = f"to carry {plain_name(self.spot.value)} {self.today():%Y-%m-%d}.pdf"
        return self.written(name, rendered(plots.draw_carry_sheet(self.sheet), "pdf", dpi=300))


# plans to keep


ON_A_PLANE: dict[str, Any] = {"ground": PLANE, "pin_x": 0.0, "pin_y": 0.0}
SITUATION: dict[str, Any] = {
    **dict.fromkeys(("name", "spot", "lie", "ground"), str),
    **dict.fromkeys(("line_deg", "to_edge", "to_pin", "uphill_deg", "above_deg", "pin_x", "pin_y"), float),
}
"""What is kept of a chip to be ready for: its name, and the controls of the panel of `plan`."""


def _situation_words(chip: Mapping[str, Any], unit: str) -> str:
    """Say which chip it is, lengths in `unit`."""
    edge, pin = (length(chip[name], unit, int(unit == "m")) for name in ("to_edge", "to_pin"))
    said = f"{chip['name']}: {chip['lie']}, {chip['spot']}, line {chip['line_deg']:g}°, edge at {edge}, pin at {pin}"
    if chip["ground"] == PLANE:
        return said
    along, left = (length(chip[name], unit) for name in ("pin_x", "pin_y"))
    return f"{said} ({chip['ground']}, {along} along, {left} left)"


class KeptPlans(Printer):
    """Plans of several situations on one page, kept in the course's folder, reopened, and printed.

    The situations are kept, as ``plans.csv``; the answers are worked out anew from the sheets as they stand. The panel
    of `plan` is shown above the list: what it shows is what *Keep this plan* keeps.
    """

    def __init__(self, panel: Panel, course: Chosen, *, today: Callable[[], date] = date.today) -> None:
        super().__init__(course)
        self.panel, self.today = panel, today
        self.path = results_folder(course) / "plans.csv"
        self.situations: list[Any] = []
        self.name = ipywidgets.Text(description="name", placeholder="7th, front left", continuous_update=False)
        self.keep = self.button = button("Keep this plan", self.add, primary=True)
        self.which = ipywidgets.Dropdown(description="plan")
        self.drop, self.print = button("Take it out", self.remove), button("Write the page", self.write)
        self.list = ipywidgets.HTML()
        changing, kept = row(self.name, self.keep), row(self.which, self.drop, self.print)
        self.widget = ipywidgets.VBox([panel.widget, changing, self.list, kept, self.message])
        self._reopen()

    @asked("The plans kept before are not shown")
    def _reopen(self) -> None:
        """Show the situations kept before."""
        self._say()
        self.situations = self._read()
        self._say()

    @asked("It could not be kept", ValueError)
    def add(self) -> None:
        """Keep what the panel shows, under the name typed; what cannot be planned is not kept."""
        values = self.panel.values
        self.panel.subject.compute(values)
        name = self.name.value.strip() or f"{values['spot']}, pin at {length(values['to_pin'], self.course.unit, 0)}"
        self._store([*self._read(), {"name": name, **ON_A_PLANE, **values}])

    @asked("It could not be kept")
    def remove(self) -> None:
        """Take the plan that is chosen out of those that are kept by now, perhaps from another page as well."""
        kept, chosen = self._read(), self.situations[self.which.value]
        if chosen in kept:
            kept.remove(chosen)
        self._store(kept)

    @asked("Nothing was written", ValueError)
    def write(self) -> Path:
        """Write all kept plans as one PDF and return its path."""
        with working("Planning each situation", self.message):
            return self.written(f"plans {self.today():%Y-%m-%d}.pdf", _pdf(self.pages()))

    def pages(self) -> list[Figure]:
        """Return the pages, `ON_A_PAGE` situations on each."""
        plans, (surfaces, _) = [], surveyed(self.course)
        for chip in self.situations:
            try:
                known = self.course.draws(chip["spot"], chip["line_deg"])
                plans.append((chip, plan_chip(known, **question(chip, surfaces))))
            except ValueError as problem:
                raise ValueError(f"{chip['name']} cannot be planned now, take it out ({problem})") from None
        groups = [plans[start : start + ON_A_PAGE] for start in range(0, len(plans), ON_A_PAGE)]
        return [new_figure(partial(self._draw, plans=group), PAPER[::-1]) for group in groups]

    def _draw(self, figure: Any, plans: list[tuple[dict[str, Any], ChipPlan]]) -> None:
        unit = self.course.unit
        cautions = Counter(chain.from_iterable(planned.said(unit)[1] for _, planned in plans))
        axes = figure.subplots(2 * ON_A_PAGE, 1, height_ratios=(1.0, 0.8) * ON_A_PAGE)
        for ax in axes:
            ax.set_axis_off()
        for words, ax, (chip, planned) in zip(axes[::2], axes[1::2], plans, strict=False):
            own = [sentence for sentence in planned.said(unit)[1] if cautions[sentence] == 1]
            head = (_situation_words(chip, unit), 12, "bold")
            blocks = [head, *((choice.sentence(unit), 10, "normal") for choice in planned.answer.choices)]
            blocks += [(planned.answer.sure_words, 8, "normal"), (" ".join(own), 7, "normal")]
            _write(words, blocks)
            ax.set_axis_on()
            plots.plot_trajectories(planned, clubs=[item.label for item in planned.answer.choices], ax=ax, unit=unit)
            ax.set_title("")
            ax.set(xlabel="", ylabel="")
        figure.suptitle(f"{self.course.name}, plans of {self.today():%Y-%m-%d}", fontsize=12, parse_math=False)
        shared = " ".join(sentence for sentence, times in cautions.items() if times > 1)
        shared += f" Line 0 points {self.course.line_in_words}; the others are degrees clockwise from it."
        figure.supxlabel(_wrapped(f"{shared} {RULES}".strip(), 7), fontsize=7, parse_math=False)

    def _store(self, situations: list[dict[str, Any]]) -> None:
        table = pd.DataFrame(situations, columns=list(SITUATION))
        settings.write_whole(self.path, table.to_csv(index=False, lineterminator="\n").encode())
        self.situations, self.message.value = self._read(), ""
        self._say()

    def _read(self) -> list[Any]:
        """Return the situations kept before; Refusal where there is a file of them that cannot be read."""
        if not self.path.exists():
            return []
        try:
            kept = pd.read_csv(self.path, dtype=SITUATION, keep_default_na=False)
            before = {
                name: value for name, value in ON_A_PLANE.items() if name not in kept
            }  # as plans were kept at first
            return kept.assign(**before)[list(SITUATION)].to_dict("records")
        except (OSError, ValueError, KeyError):
            raise Refusal(f"{self.path} cannot be read as it is: mend it, or move it away to begin anew.") from None

    def _say(self) -> None:
        items = "".join(f"<li>{escape(_situation_words(item, self.course.unit))}</li>" for item in self.situations)
        self.list.value = f"<ol>{items}</ol>" if items else status("No plan is kept yet.")
        self.which.options = [(f"{place + 1}: {item['name']}", place) for place, item in enumerate(self.situations)]
        self.which.index = len(self.situations) - 1 if self.situations else None
        self.which.disabled = self.drop.disabled = self.print.disabled = not self.situations


def _write(ax: Any, blocks: Sequence[tuple[str, int, str]]) -> None:
    """Write blocks of text, each with its size and weight, below each other from the top of the axes."""
    down = 0.0
    for words, size, weight in blocks:
        text = _wrapped(words, size)
        below = {"xytext": (0.0, -down), "textcoords": "offset points", "va": "top", "annotation_clip": False}
        ax.annotate(text, (0.0, 1.0), **below, fontsize=size, fontweight=weight, parse_math=False)
        down += 1.25 * size * (text.count("\n") + 1) + 2.0 if words else 0.0


def _wrapped(words: str, size: int) -> str:
    """Return words in lines that fill a page at a size of type, points."""
    return "\n".join(textwrap.wrap(words, 950 // size))
