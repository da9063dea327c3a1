"""Measured sheets: reading, checking, and adding to them without ever losing a row."""

# ruff: noqa: I001  # several lines for a module with many names
from golfphys.sheets import rows, writing
from golfphys.sheets.checks import ramp_run_for_speed, speed_from_ramp_run
from golfphys.sheets.dictionary import UNIT_WORDS, Column, Kind, descriptor, kind_of, kinds, name_key
from golfphys.sheets.errors import Problem, SheetError
from golfphys.sheets.reading import Course, Log, Sheet, completed, read_course, read_make_table, read_player, read_sheet
from golfphys.sheets.reading import read_chips, read_drops, read_films, read_putts, read_rollouts
from golfphys.sheets.reading import read_survey, read_targets, read_wedges, reference_line
from golfphys.sheets.rows import Edit, append_row, append_rows, delete_row, mend_row, take_back
from golfphys.sheets.suspects import around
from golfphys.sheets.writing import Units, make_course_folder, make_player_folder, new_sheet, sheet_text, table_text
from golfphys.sheets.writing import template_columns, template_text
