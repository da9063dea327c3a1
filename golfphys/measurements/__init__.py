"""Measured sheets: reading, checking, and adding to them without ever losing a row."""

from golfphys.measurements.append import append_row, append_rows
from golfphys.measurements.chips import ChipSheet, read_chips
from golfphys.measurements.course_folder import Course, make_course_folder, read_course
from golfphys.measurements.drops import DropSheet, read_drops
from golfphys.measurements.errors import Problem, SheetError
from golfphys.measurements.putts import PuttSheet, read_putts
from golfphys.measurements.rollouts import RolloutSheet, read_rollouts
from golfphys.measurements.sheet import Sheet
from golfphys.measurements.templates import new_sheet, template_text
from golfphys.measurements.traces import TraceSheet, read_traces

__all__ = [
    "ChipSheet",
    "Course",
    "DropSheet",
    "Problem",
    "PuttSheet",
    "RolloutSheet",
    "Sheet",
    "SheetError",
    "TraceSheet",
    "append_row",
    "append_rows",
    "make_course_folder",
    "new_sheet",
    "read_chips",
    "read_course",
    "read_drops",
    "read_putts",
    "read_rollouts",
    "read_traces",
    "template_text",
]
