"""Design your measuring: what a planned sheet of rollouts will tell, before a ball is rolled."""

import html
import math
import re
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from golfphys.core import constants
from golfphys.fitting.design import RolloutPlan, expected_intervals
from golfphys.fitting.intervals import cell
from golfphys.panels.base import Panel
from golfphys.panels.controls import Control
from golfphys.panels.drawing import Margins
from golfphys.panels.showing import quiet_axes
from golfphys.physics.green import Green
from golfphys.sheets.rollouts import speed_from_ramp_run
from golfphys.show.style import CYCLE, GREY

RAMP_RUNS: Mapping[str, tuple[float, ...]] = {
    "full ramp": (1.0,),
    "full and half": (1.0, 0.5),
    "full, two thirds and one third": (1.0, 2 / 3, 1 / 3),
}
"""Where on the ramp the ball is let go, as parts of the full run, in the words of the list."""

MOST_HEADINGS = 16
HARDLY_TOLD = 0.5
"""Share of what was unsure at first that rolls must take away for a slope to count as told."""

SHOWN = {
    "stimp_ft": ("green speed (ft)", 1.0, "ft"),
    "grade": ("slope (%)", 100.0, "%"),
    "fall_direction_deg": ("direction of fall (deg)", 1.0, "deg"),
}
"""What the picture shows: parameter, label, factor, unit."""


@dataclass(frozen=True, kw_only=True)
class Design:
    """Planned sheets side by side, the one asked about first.

    Parameters
    ----------
    plans : mapping of str to RolloutPlan
        Planned sheets by name.
    tables : mapping of str to DataFrame
        What `golfphys.fitting.design.expected_intervals` says of each.
    """

    plans: Mapping[str, RolloutPlan]
    tables: Mapping[str, pd.DataFrame]

    def half_width(self, name: str, parameter: str) -> float:
        """Return half of the 90 % interval that a plan will give."""
        return self._cell(name, parameter, "half_width")

    def told(self, name: str, parameter: str) -> float:
        """Return the share of the first uncertainty's variance that a plan takes away."""
        return self._cell(name, parameter, "told")

    def _cell(self, name: str, parameter: str, column: str) -> float:
        spot = self.plans[name].spots[0]
        return cell(self.tables[name], spot, parameter, column)


class MeasuringPanel(Panel):
    """Design your measuring: headings, ramp marks and repeats, and how well they will tell speed and slope.

    Parameters
    ----------
    units : {"metres", "feet"}, optional
        What lengths are shown in; what the reader chose last if left out.
    **start : float, str or bool
        Start values of the controls `headings` (a line of degrees), `ramp` (a name of `RAMP_RUNS`), `repeats`, `side`,
        `stimp_ft` and `slope_pct`.

    Examples
    --------
    >>> panel = MeasuringPanel(headings="0, 180")
    >>> panel.result.told("this plan", "grade_left") < 0.5
    True
    """

    controls = (
        Control(name="headings", label="headings (deg clockwise)", start="0, 90, 180, 270"),
        Control(name="ramp", label="let go from", start="full ramp", choices=tuple(RAMP_RUNS)),
        Control(name="repeats", label="rolls of each", start=3.0, low=1.0, high=8.0, step=1.0),
        Control(name="side", label="side drift will be noted", start=False),
        Control(name="stimp_ft", label="green speed expected (ft)", start=10.0, low=6.0, high=14.0, step=0.5),
        Control(name="slope_pct", label="slope expected (%)", start=1.5, low=0.0, high=5.0, step=0.5),
    )
    figure_size = (8.6, 2.7)
    margins = Margins(left=2.35, between=0.2)

    def compute(self, **values: Any) -> Design:
        """Add up what the planned rolls will tell, and what three other plans would."""
        headings = read_headings(values["headings"])
        run = constants.RAMP_RUN.value
        speeds = tuple(float(np.asarray(speed_from_ramp_run(part * run))) for part in RAMP_RUNS[values["ramp"]])
        repeats, side = int(values["repeats"]), bool(values["side"])
        green = Green.from_stimp(values["stimp_ft"], grade=values["slope_pct"] / 100, fall_direction=-math.pi / 4)
        more = tuple(sorted({*headings, *((heading + 90.0) % 360.0 for heading in headings)}))
        plan = RolloutPlan(headings_deg=headings, release_speeds=speeds, repeats=repeats, side=side)
        plans = {"this plan": plan}
        if len(more) > len(headings):
            plans["square to it as well"] = replace(plan, headings_deg=more)
        plans["twice as many rolls"] = replace(plan, repeats=2 * repeats)
        if not side:
            plans["side drift noted"] = replace(plan, side=True)
        tables = {name: expected_intervals(plan, green=green) for name, plan in plans.items()}
        return Design(plans=plans, tables=tables)

    def draw(self, result: Design, figure: Figure) -> None:
        """Draw half the interval of green speed, slope and direction for each plan."""
        names = list(result.plans)
        for ax, (parameter, (label, factor, unit)) in zip(
            figure.subplots(1, 3, sharey=True), SHOWN.items(), strict=True
        ):
            widths = [factor * result.half_width(name, parameter) for name in names]
            colours = [CYCLE[0] if name == "this plan" else GREY for name in names]
            ax.barh(range(len(names)), widths, 0.6, color=colours)
            for row, width in enumerate(widths):
                words = "any" if unit == "deg" and width >= 180 else f"\N{PLUS-MINUS SIGN}{width:#.2g}"
                ax.annotate(words, (width, row), (3, 0), textcoords="offset points", va="center", fontsize=9)
            ax.set(xlim=(0, 1.35 * max(widths)), ylim=(len(names) - 0.5, -0.5), xlabel=label)
            quiet_axes(ax)
        labels = [f"{name} ({result.plans[name].rolls} rolls)" for name in names]
        figure.axes[0].set_yticks(range(len(names)), labels)
        figure.axes[0].set_title("Half of the 90 % interval to expect")

    def words(self, result: Design) -> str:
        """Say what the plan will tell, and what it will not."""
        plan, name = result.plans["this plan"], "this plan"
        told = [
            f"the {label.partition(' (')[0]} to \N{PLUS-MINUS SIGN}{factor * result.half_width(name, key):#.2g} {unit}"
            for key, (label, factor, unit) in SHOWN.items()
            if key != "fall_direction_deg" or result.half_width(name, key) < 180
        ]
        said = f"<b>{plan.rolls} rolls</b> will tell {', '.join(told[:-1])} and {told[-1]}, nine times in ten."
        blind = [
            words
            for parameter, words in (("grade_along", "along heading 0"), ("grade_left", "across heading 0"))
            if result.told(name, parameter) < HARDLY_TOLD
        ]
        if blind:
            said += f" <b>Slope {html.escape(' and '.join(blind))} will hardly be told.</b>"
        if len(plan.release_speeds) == 1:
            said += " One mark on the ramp cannot show whether resistance changes with speed."
        return said


def read_headings(text: str) -> tuple[float, ...]:
    """Return the headings of a line of numbers.

    Parameters
    ----------
    text : str
        Degrees clockwise from the reference line, with commas, semicolons or blanks between them.

    Returns
    -------
    tuple of float
        From 0 to below 360, each once, rising.

    Raises
    ------
    ValueError
        If the line holds anything else, nothing, or more than `MOST_HEADINGS`.

    Examples
    --------
    >>> read_headings("180, 0; -90")
    (0.0, 180.0, 270.0)
    """
    parts = [part for part in re.split(r"[,;\s]+", text.strip()) if part]
    found = set()
    for part in parts:
        try:
            value = float(part.removesuffix("°"))
        except ValueError:
            raise ValueError(f"headings: {part!r} is no number; expected degrees such as 0, 90, 180, 270") from None
        if not -360 <= value <= 360:
            raise ValueError(f"headings: {part} is no direction; expected degrees from -360 to 360")
        found.add(value % 360.0)
    if not 1 <= len(found) <= MOST_HEADINGS:
        raise ValueError(f"headings: {len(found)} given; expected 1 to {MOST_HEADINGS}, such as 0, 90, 180, 270")
    return tuple(sorted(found))
