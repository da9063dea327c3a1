"""Panels that plan: a chip on a stated or a measured green, clubs side by side, an hour of measuring."""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import replace
from functools import lru_cache
from typing import Any

import numpy as np
import pandas as pd
from matplotlib.figure import Figure

from golfphys.core import constants
from golfphys.fitting.fit import fit
from golfphys.fitting.measuring import RolloutPlan, compare_plans, expected_intervals
from golfphys.panels.course import Chosen
from golfphys.panels.filling import session_of
from golfphys.panels.panel import Control, Panel, Subject
from golfphys.panels.physics import FIRM, GREEN_SPEED, LIE, SLOPE, TO_EDGE, TO_PIN, green_along
from golfphys.physics.club import BAG, LIES
from golfphys.physics.draws import Draws, stated
from golfphys.physics.green import Green
from golfphys.physics.surface import Surface
from golfphys.planning import ChipPlan, Conditions, Effort, Position, plan_chip
from golfphys.planning.position import FIRMNESS
from golfphys.sheets import name_key, speed_from_ramp_run
from golfphys.show import plots, tables
from golfphys.show.markup import escape
from golfphys.show.style import CYCLE, GREY, ROUGH, TURF, LengthUnit

STATED = Effort(draws=1, landings=11, errors=64, last=256)  # where everything is as the controls say
RAMP_RUNS = {"full ramp": (1.0,), "full and half": (1.0, 0.5), "full, two thirds and one third": (1.0, 2 / 3, 1 / 3)}
"""Where on the ramp the ball is let go, as fractions of the full run, in the words of the list."""
LIE_SLOPE: dict[str, Any] = {"start": 0.0, "low": -12.0, "high": 12.0, "step": 1.0}
MOST_HEADINGS = 16
HARDLY_INFORMED = 0.5  # fraction of the first uncertainty that rolls must take away for a slope to count as informed
HEIGHT_SD = 0.005  # of a surveyed height, m: what level and staff are read to on grass (judged, no source)
PLANE = "a plane, as its rolls tell it"
PLANNED = "this plan"
INTERVALS = {
    "stimp_ft": ("green speed (ft)", 1.0, "ft"),
    "grade": ("slope (%)", 100.0, "%"),
    "fall_direction_deg": ("direction of fall (deg)", 1.0, "deg"),
}
"""What the panel of measuring shows: parameter, label, factor, unit."""


# a chip


def _stated_chip(values: dict[str, Any]) -> ChipPlan:
    """Plan the chip on a green of the controls' speed and slope, for a tour-level player, all taken as known."""
    turf = FIRMNESS[values["firmness"]] if "firmness" in values else None
    question = {name: values[name] for name in ("to_edge", "to_pin", "lie")}
    return plan_chip(stated(green_along(values, turf=turf)), **question, effort=STATED)


def _draw_paths(result: ChipPlan, figure: Figure, unit: str) -> None:
    plots.plot_trajectories(result, ax=figure.subplots(), unit=unit)


def plan_in_words(plan: ChipPlan, unit: str) -> str:
    """Return the answer of a plan, and every caution that goes with it, as HTML."""
    return tables.answer(plan, unit=unit)._repr_html_()


def _draw_clubs(result: ChipPlan, figure: Figure, unit: str) -> None:
    """Draw a row for each club: flight, run and room for error on the left, how often it ends close on the right."""
    ground, share = figure.subplots(1, 2, sharey=True, width_ratios=(2.6, 1.0))
    shown, table = LengthUnit(unit), result.table.set_index("club")
    names = [club for club in BAG if club in table.index]
    column, near, _ = shown.circle
    for row, club in enumerate(names):
        line = table.loc[club]
        land, rest = shown.show(line["landing_m"]), shown.show(line["landing_m"] + line["roll_m"])
        short_by, long_by = shown.show(line["short_by_m"]), shown.show(line["long_by_m"])
        ground.barh(row, short_by + long_by, 0.66, land - short_by, color=CYCLE[4], alpha=0.45, linewidth=0)
        ground.plot([0, land], [row, row], color=CYCLE[0], linewidth=3, solid_capstyle="butt")
        ground.plot([land, rest], [row, row], color=CYCLE[0], linewidth=1.6, linestyle=(0, (1, 1)))
        ground.plot(land, row, "v", color=CYCLE[0], markersize=8)
        within = 100 * float(table[column].to_dict()[club])
        share.barh(row, within, 0.6, color=CYCLE[2] if club == result.pick else GREY)
        words = f"{within:.0f} %{' (pick)' if club == result.pick else ''}"
        share.annotate(words, (within, row), (3, 0), textcoords="offset points", va="center")
    edge, pin = shown.show(result.position.to_edge), shown.show(result.position.to_pin)
    ground.axvspan(0, edge, color=ROUGH, linewidth=0, zorder=0)
    ground.axvspan(edge, pin * 1.12, color=TURF, linewidth=0, zorder=0)
    ground.axvline(pin, color="black", linewidth=1.2)
    ground.annotate(" pin", (pin, -0.42), va="bottom", fontsize=9)
    ground.set(xlim=(0, pin * 1.12), ylim=(len(names) - 0.4, -0.75), xlabel=shown.label("from the ball"))
    ground.set_title("Flight (solid), run (dotted), room for error (orange)")
    ground.set_yticks(range(len(names)), names)
    share.set(xlabel=f"end {near} (%)", xlim=(0, 100), title="How often close")
    for ax in (ground, share):
        _quiet(ax)


def _quiet(ax: Any) -> None:
    """Take the grid off an axis on which names stand."""
    ax.grid(visible=False, axis="y")
    ax.tick_params(axis="y", length=0)


def _clubs_words(result: ChipPlan, unit: str) -> str:
    """Say the pick, then how the clubs follow each other."""
    ranked = result.table[result.table["club"].isin(result.shown)]
    order = "; ".join(f"{row.club} {row.strokes:.2f}" for row in ranked.itertuples())
    return f"{plan_in_words(result, unit)}<br>Strokes to hole out, fewest first: {escape(order)}."


chip = Subject(
    controls=(GREEN_SPEED, SLOPE, TO_EDGE, TO_PIN, LIE),
    compute=_stated_chip, draw=_draw_paths, words=plan_in_words, size=(8.5, 4.2),
)  # fmt: skip
"""A chip planned for a tour-level player: green speed, slope, lie, distances."""

clubs = Subject(
    controls=(GREEN_SPEED, SLOPE, TO_EDGE, TO_PIN, LIE, FIRM),
    compute=_stated_chip, draw=_draw_clubs, words=_clubs_words, size=(8.6, 3.8), left=1.25, between=0.15,
)  # fmt: skip
"""The clubs side by side for one chip: how far each flies and runs, its room for error, and how often it ends close."""


def position_of(values: Mapping[str, Any]) -> Position:
    """Return the position that the controls of `plan` describe."""
    question: dict[str, Any] = {name: values[name] for name in ("to_edge", "to_pin", "lie")}
    uphill, left = (math.radians(values[name]) for name in ("uphill_deg", "above_deg"))
    return Position(**question, lie_uphill=uphill, lie_falls_left=left)


def surveyed(course: Chosen) -> tuple[dict[str, Surface], list[str]]:
    """Return the surfaces of the greens whose heights were surveyed, as `plan` calls them, and what is to be said."""
    sheet, found, notes = course.sheet("survey"), dict[str, Surface](), list[str]()
    for name, points in sheet.frame.groupby("green", sort=False) if sheet is not None else ():
        mean = points.groupby(["x", "y"], as_index=False)["height"].mean()  # of a point that was measured twice
        try:
            surface = Surface.from_points(mean["x"], mean["y"], mean["height"], height_sd=HEIGHT_SD)
            found[f"surveyed {name}".strip()] = surface
        except ValueError as problem:
            notes.append(f"The survey of the green {name} is left out: {problem}.")
    lines = (sheet.reference_line if sheet is not None else None), course.line_in_words
    if lines[0] and name_key(lines[0]) != name_key(lines[1]):
        notes.append(
            f"The survey's x axis points {lines[0]}, line 0 {lines[1]}: plans on it are right only if these agree."
        )
    return found, notes


def surveyed_at(spot: str, surfaces: Iterable[str]) -> str:
    """Return which of the surveyed greens a spot is on, as its name tells, or the only one without a name; or a plane.

    Examples
    --------
    >>> surveyed_at("Home left", ["surveyed top", "surveyed home"])
    'surveyed home'
    """
    words = name_key(spot).split()
    named = ((green, name_key(green.removeprefix("surveyed")).split()) for green in surfaces)
    return next((green for green, its in named if words[: len(its)] == its), PLANE)


def _middles(course: Chosen, surfaces: Iterable[str]) -> dict[str, dict[str, float]]:
    """Return where the pin is at first on each surveyed green, in the middle of its points: by control."""
    sheet = course.sheet("survey")
    means = {} if sheet is None else sheet.frame.groupby("green")[["x", "y"]].mean().T.to_dict()
    middles = {f"surveyed {name}".strip(): mean for name, mean in means.items()}
    return {green: {f"pin_{axis}": round(2 * middles[green][axis]) / 2 for axis in ("x", "y")} for green in surfaces}


def _survey_controls(course: Chosen, middles: Mapping[str, Mapping[str, float]]) -> tuple[Control, ...]:
    """Return what is asked where greens were surveyed: on which one, and where on it the pin is."""
    if not middles:
        return ()
    start, frame = surveyed_at(course.spot, middles), course.sheet("survey").frame
    middle = middles[next(iter(middles)) if start == PLANE else start]

    def pin(name: str, label: str) -> Control:
        low, high = float(np.floor(frame[name[-1]].min())), float(np.ceil(frame[name[-1]].max()))
        return Control(name=name, label=label, start=middle[name], low=low, high=high, step=0.5, unit="m")

    ground = Control(name="ground", label="its ground", start=start, choices=(PLANE, *middles))
    return ground, pin("pin_x", "pin along line 0"), pin("pin_y", "pin left of it, right -")


class OnGround(Panel):
    """A panel whose ground follows the green that is picked: its survey, with the pin in its middle, or a plane.

    Another ground may be picked afterwards; `middles` are as `_middles` returns them.
    """

    def __init__(self, subject: Subject, middles: Mapping[str, Mapping[str, float]], **start: Any) -> None:
        self.middles, self._spot = middles, ""
        super().__init__(subject, **start)

    def redraw(self) -> None:
        """Compute and draw for the current values, the ground of a green that was picked anew first."""
        before, self._spot = self._spot, self.inputs["spot"].value
        if self.middles and before not in ("", self._spot):
            ground, controls = surveyed_at(self._spot, self.middles), self.subject.controls
            moved = {} if ground in (PLANE, self.inputs["ground"].value) else self.middles[ground]
            self._switching = True
            self.inputs["ground"].value = ground
            for control in (one for one in controls if one.name in moved):
                self.inputs[control.name].value = control.on_scale(moved[control.name], self.units)
            self._switching = False
        super().redraw()


def question(values: Mapping[str, Any], surfaces: Mapping[str, Surface]) -> dict[str, Any]:
    """Return what the controls of `plan` ask of `golfphys.plan_chip`, on one of the surveyed greens or on a plane."""
    asked, ground = {"position": position_of(values)}, values.get("ground", PLANE)
    if ground == PLANE:
        return asked
    if ground not in surfaces:
        raise ValueError(f"ground is {ground!r}; expected one of: {', '.join([PLANE, *surfaces])}")
    x, y, heading = values["pin_x"], values["pin_y"], -math.radians(values["line_deg"])
    if not surfaces[ground].contains(x, y):
        raise ValueError("the pin is off the surveyed ground; move it, or plan on a plane")
    ball = x - values["to_pin"] * math.cos(heading), y - values["to_pin"] * math.sin(heading)
    return {**asked, "conditions": Conditions(surface=surfaces[ground].along(*ball, heading))}


def plan(course: Chosen, **start: Any) -> Panel:
    """Plan a chip on a measured course: from where, along which line, from which lie, to which pin.

    The spots and lies of the course, as `golfphys.chosen` returns it, fill the lists, and where it has surveyed greens
    these; `start` as for `Panel`.
    """
    lies, (surfaces, notes) = tuple(dict.fromkeys([*course.lies, *LIES])), surveyed(course)
    middles = _middles(course, surfaces)
    controls = (
        Control(name="spot", label="green", start=course.spot, choices=course.spots),
        *_survey_controls(course, middles),
        Control(name="line_deg", label="line of play (deg clockwise)", start=course.line_deg, high=355.0, step=5.0),
        replace(LIE, start=next(iter(course.lies), "fairway"), choices=lies), TO_EDGE, TO_PIN,
        Control(name="uphill_deg", label="lie uphill (deg, downhill -)", **LIE_SLOPE),
        Control(name="above_deg", label="ball above feet (deg, below -)", **LIE_SLOPE),
    )  # fmt: skip

    @lru_cache(maxsize=16)
    def known(spot: str, line_deg: float) -> Draws:
        draws: Draws = course.draws(spot, line_deg)
        return draws

    def compute(values: dict[str, Any]) -> ChipPlan:
        asked = question(values, surfaces)
        return plan_chip(known(values["spot"], values["line_deg"]), **asked)

    def words(plan: ChipPlan, unit: str) -> str:
        said = " ".join([*notes, f"Line 0 points {course.line_in_words}."])
        return f"{plan_in_words(plan, unit)}<small>{escape(said)}</small>"

    subject = replace(chip, controls=controls, compute=compute, words=words)
    return OnGround(subject, middles, **{"units": course.units, **start})


def week(course: Chosen) -> pd.DataFrame:
    """Compare the days of a course: the rolls of each, and of each session, by themselves, for each is its own green.

    A row for each spot, a column for each day or session: green speed in ft with its 90 % interval in words, that
    which plans are made for marked; blank where the spot was not rolled.
    """
    sheet = course.sheets.rollouts if course.sheets else None
    if sheet is None:
        return pd.DataFrame()
    found, sessions = dict[str, dict[str, str]](), session_of(sheet.frame, sheet.frame)
    for day in course.days[::-1]:
        rolls = sheet.frame[sessions == day]
        estimates = fit(sheet.replaced(rolls)).estimates
        head = course.day_in_words(day) + (", planned on" if day == course.today else "")
        found[head] = {
            str(spot): "{estimate:.1f} ({low:.1f} to {high:.1f})".format(**estimates.loc[(spot, "stimp_ft")])
            for spot in rolls["spot"].unique()
        }
    return pd.DataFrame(found).fillna("").rename_axis("green speed (ft)")


# an hour of measuring


def _designed(values: dict[str, Any]) -> dict[str, Any]:
    """Work out what the planned rolls will inform, and what three other plans would."""
    headings, run = read_headings(values["headings"]), constants.RAMP_RUN.value
    speeds = tuple(float(np.asarray(speed_from_ramp_run(share * run))) for share in RAMP_RUNS[values["ramp"]])
    green = Green.from_stimp(values["stimp_ft"], grade=values["slope_pct"] / 100, fall_direction=-math.pi / 4)
    repeats, side = int(values["repeats"]), values["side"]
    planned = RolloutPlan(headings_deg=headings, release_speeds=speeds, repeats=repeats, side=side)
    plans = {PLANNED: planned}
    more = tuple(sorted({*headings, *((heading + 90.0) % 360.0 for heading in headings)}))
    if len(more) > len(headings):
        plans["square to it as well"] = replace(planned, headings_deg=more)
    plans["twice as many rolls"] = replace(planned, repeats=2 * planned.repeats)
    if not planned.side:
        plans["side drift noted"] = replace(planned, side=True)
    informed = expected_intervals(planned, green=green)["informed"].droplevel("spot")
    return {"planned": planned, "informed": informed, "table": compare_plans(plans, green=green)}


def _draw_design(result: dict[str, Any], figure: Figure, _unit: str) -> None:
    """Draw half the interval of green speed, slope and direction for each plan."""
    panels, table = figure.subplots(1, 3, sharey=True), result["table"]
    for ax, (parameter, (label, factor, unit)) in zip(panels, INTERVALS.items(), strict=True):
        widths = factor * table[parameter]
        ax.barh(range(len(table)), widths, 0.6, color=[CYCLE[0] if name == PLANNED else GREY for name in table.index])
        for row, width in enumerate(widths):
            words = "any" if unit == "deg" and width >= 180 else f"\N{PLUS-MINUS SIGN}{width:#.2g}"
            ax.annotate(words, (width, row), (3, 0), textcoords="offset points", va="center", fontsize=9)
        ax.set(xlim=(0, 1.35 * max(widths)), ylim=(len(table) - 0.5, -0.5), xlabel=label)
        _quiet(ax)
    heads = [f"{name} ({rolls} rolls)" for name, rolls in table["rolls"].items()]
    figure.axes[0].set_yticks(range(len(table)), heads)
    figure.axes[0].set_title("Half of the 90 % interval to expect")


def _design_words(result: dict[str, Any], _unit: str) -> str:
    """Say what the plan will inform, and what it will not."""
    planned, half = result["planned"], result["table"].loc[PLANNED]
    known = [
        f"the {label.partition(' (')[0]} to \N{PLUS-MINUS SIGN}{factor * half[key]:#.2g} {unit}"
        for key, (label, factor, unit) in INTERVALS.items()
        if key != "fall_direction_deg" or half[key] < 180
    ]
    said = f"<b>{planned.rolls} rolls</b> will give {', '.join(known[:-1])} and {known[-1]}, nine times in ten."
    blind = [
        words
        for parameter, words in (("grade_along", "along heading 0"), ("grade_left", "across heading 0"))
        if result["informed"][parameter] < HARDLY_INFORMED
    ]
    if blind:
        said += f" <b>Slope {' and '.join(blind)} will stay hardly known.</b>"
    if len(planned.release_speeds) == 1:
        said += " One mark on the ramp cannot show whether resistance changes with speed."
    return said


def read_headings(text: str) -> tuple[float, ...]:
    """Return the headings of a line of numbers: degrees clockwise from the reference line, each once, rising.

    Examples
    --------
    >>> read_headings("180, 0; -90")
    (0.0, 180.0, 270.0)
    """
    found = set()
    for item in filter(None, re.split(r"[,;\s]+", text.strip())):
        try:
            value = float(item.removesuffix("°"))
        except ValueError:
            raise ValueError(f"headings: {item!r} is no number; expected degrees such as 0, 90, 180, 270") from None
        if not -360 <= value <= 360:
            raise ValueError(f"headings: {item} is no direction; expected degrees from -360 to 360")
        found.add(value % 360.0)
    if not 1 <= len(found) <= MOST_HEADINGS:
        raise ValueError(f"headings: {len(found)} given; expected 1 to {MOST_HEADINGS}, such as 0, 90, 180, 270")
    return tuple(sorted(found))


measuring = Subject(
    controls=(
        Control(name="headings", label="headings (deg clockwise)", start="0, 90, 180, 270"),
        Control(name="ramp", label="let go from", start="full ramp", choices=tuple(RAMP_RUNS)),
        Control(name="repeats", label="rolls of each", start=3.0, low=1.0, high=8.0, step=1.0),
        Control(name="side", label="side drift will be noted", start=False),
        replace(GREEN_SPEED, label="green speed expected (ft)"),
        Control(name="slope_pct", label="slope expected (%)", start=1.5, low=0.0, high=5.0, step=0.5),
    ),
    compute=_designed, draw=_draw_design, words=_design_words, size=(8.6, 2.7), left=2.35, between=0.2,
)  # fmt: skip
"""An hour of rolling planned: headings, ramp marks and repeats, and how well they will inform speed and slope."""
