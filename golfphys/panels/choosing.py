"""The panel "My course": it makes and chooses what every page works on."""

from dataclasses import replace
from typing import Any

import ipywidgets

from golfphys.panels import settings
from golfphys.panels.course import DEMO, LEFT_OUT, Chosen, named, players
from golfphys.panels.pieces import LOOK, Displayed, alert, busy, button, reason, status
from golfphys.sheets import SheetError, make_course_folder
from golfphys.sheets.dictionary import UNIT_WORDS
from golfphys.show.markup import escape

EVERY_DAY = "(the latest)"
NEW = "(a new course)"


class CoursePanel(Displayed):
    """Choose the course, the player, the day and the units, or make a new course; every page keeps to the choice.

    Examples
    --------
    >>> panel = CoursePanel()
    >>> panel.course.options[0][1] == DEMO
    True
    """

    def __init__(self) -> None:
        whole = {**LOOK, "continuous_update": False}
        self.course = ipywidgets.Dropdown(description="course", **LOOK)
        self.player = ipywidgets.Combobox(description="player", placeholder="her name, or blank", **whole)
        self.past = ipywidgets.Checkbox(description="what she logged elsewhere counts as well", value=True, **LOOK)
        self.day = ipywidgets.Dropdown(description="greens of the day", **LOOK)
        self.units = ipywidgets.Dropdown(options=list(settings.UNITS), description="lengths in", **LOOK)
        self.name = ipywidgets.Text(description="name of the new course", placeholder="my course", **whole)
        self.line = ipywidgets.Text(
            description="heading 0 points", placeholder="along the west edge, to the clubhouse", **whole
        )
        self.make = button("Make this course", primary=True)
        self.message = ipywidgets.HTML()
        self.new = ipywidgets.VBox([self.name, self.line, self.make])
        choices = [self.course, self.player, self.past, self.day, self.units]
        self.widget = ipywidgets.VBox([*choices, self.new, self.message])
        self._quiet = False
        self.refresh()
        for item in choices:
            item.observe(self._changed, names="value")
        self.make.on_click(self._make)

    def refresh(self) -> None:
        """Show the courses that there are, and the choice as it is kept."""
        kept = settings.read_settings()
        self._quiet = True
        names = [DEMO, *settings.own_courses()]
        self.course.options = [(DEMO, DEMO), *((name, name) for name in names[1:]), (NEW, NEW)]
        self.course.value = kept.get("course") if kept.get("course") in names else DEMO
        self.player.value, self.player.options = str(kept.get("player", "")), players()
        self.past.value = kept.get("past") != LEFT_OUT
        self._quiet = False
        self._say()

    def _say(self) -> None:
        """Fill in what follows from the course, and say what it holds."""
        is_new = self.course.value == NEW
        self.new.layout.display = "" if is_new else "none"
        self.units.disabled = not (is_new or self.course.value == DEMO)
        if is_new:
            self.message.value = status("Give it a name, the units of the tape, and what heading 0 points at.")
            return
        course = self._chosen()
        self._quiet = True
        self.units.value = course.units
        held, days = _contents(course)
        self.past.layout.display = "" if course.player and course.player in players() else "none"
        self.day.options = [(EVERY_DAY, ""), *((day, day) for day in days)]
        self.day.value = course.day if course.day in days else ""
        self._quiet = False
        self.message.value = status(f"<b>{escape(course.name)}</b>: {held} Every page works on it from now on.")

    def _chosen(self) -> Chosen:
        day, with_past = str(settings.read_settings().get("day", "")), self.past.value
        return replace(named(self.course.value), player=self.player.value.strip(), day=day, with_past=with_past)

    def _changed(self, change: Any) -> None:
        if self._quiet:
            return
        if self.course.value != NEW:
            day = "" if change["owner"] is self.course else self.day.value or ""
            past = "" if self.past.value else LEFT_OUT
            self._keep(
                course=self.course.value, player=self.player.value.strip(), past=past, day=day, units=self.units.value
            )
        if change["owner"] is not self.units or self.course.value != NEW:
            self._say()

    def _keep(self, **choices: str) -> None:
        try:
            settings.remember(**choices)
        except OSError as problem:
            self.message.value = alert(f"The choice could not be kept for other pages: {reason(problem)}.")

    def _make(self, _button: Any) -> None:
        with busy(self.make, self.message, "The panel"):
            line = self.line.value.strip()
            if not line:
                self.message.value = alert("Say what heading 0 points at: every direction is counted from it.")
                return
            try:
                folder = settings.own_sheets(self.name.value.strip() or "my course")
                make_course_folder(folder, units=self.units.value, reference_line=line)
            except (ValueError, OSError) as problem:
                self.message.value = alert(escape(str(problem)))
                return
            self._keep(course=folder.name, player=self.player.value.strip(), day="", units=self.units.value)
            self.refresh()


def _contents(course: Chosen) -> tuple[str, tuple[str, ...]]:
    """Say how many rows of each kind a course has, as HTML, and on which days it was rolled."""
    try:
        sheets, past = course.sheets, course.past
    except SheetError as error:
        items = "".join(f"<li>{escape(str(problem))}</li>" for problem in error.problems[:5])
        return f"its sheets need mending.<ul>{items}</ul>", ()
    if sheets is None:
        return "no rows yet.", ()
    held = {kind: len(sheet.frame) for kind, sheet in sheets.sheets.items()}
    said = ", ".join(f"{count} {kind}" for kind, count in held.items())
    log = past.chips.frame if past and past.chips else ()
    more = f" {len(log)} chips that {escape(course.player)} logged elsewhere count as well." if len(log) else ""
    return f"{said}; lengths in {UNIT_WORDS[course.unit]}.{more}", course.days
