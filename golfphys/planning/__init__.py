"""The decision: what to play, where to land it, how much room for error, and how sure."""

# ruff: noqa: I001  # several lines for a module with many names
from golfphys.planning.answer import Answer, Recommended
from golfphys.planning.deciding import NextMeasurement, next_measurement
from golfphys.planning.position import FIRMNESS, Stated
from golfphys.planning.what_if import HabitPrices, price_habits
from golfphys.planning.plan import COLUMNS, ChipPlan, plan_chip
from golfphys.planning.carry_sheet import RULES_CAUTION, CarrySheet, make_carry_sheet, measured_pace
from golfphys.planning.position import PUTTING, USUAL, Position
from golfphys.planning.studies import read_study, sensitivities
from golfphys.planning.studies import best_club_map, carry_and_roll, landing_shift, rule_of_twelve
from golfphys.planning.wedge_gaps import WedgeGaps, changed_loft, demo_wedges, find_wedge_gaps
from golfphys.planning.wedge_gaps import what_it_would_fill
from golfphys.planning.what_if import CHANGES, Change, costs, what_if
from golfphys.planning.world import Conditions, Effort
