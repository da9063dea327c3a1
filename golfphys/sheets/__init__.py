"""Measured sheets: reading, checking, and adding to them without ever losing a row."""

from golfphys.sheets.append import append_row, append_rows
from golfphys.sheets.chips import ChipSheet, read_chips
from golfphys.sheets.course_folder import Course, make_course_folder, read_course
from golfphys.sheets.drops import DropSheet, read_drops
from golfphys.sheets.editing import Change, delete_row, mend_row, take_back
from golfphys.sheets.errors import Problem, SheetError
from golfphys.sheets.putts import PuttSheet, read_putts
from golfphys.sheets.rollouts import RolloutSheet, read_rollouts
from golfphys.sheets.sheet import Sheet
from golfphys.sheets.templates import new_sheet, template_text
from golfphys.sheets.traces import TraceSheet, read_traces

__all__ = [
    "Change",
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
    "delete_row",
    "make_course_folder",
    "mend_row",
    "new_sheet",
    "read_chips",
    "read_course",
    "read_drops",
    "read_putts",
    "read_rollouts",
    "read_traces",
    "take_back",
    "template_text",
]
