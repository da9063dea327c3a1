"""Worked examples for the notebooks: each function asks the laws and returns a table to show or to draw.

No law stands here, only calls of those in the library. Columns are in SI units and radians unless their names say
otherwise; ``points`` is a number of points, ``greens``, ``turfs`` and the like are things by name. The pages of the
workbook are their examples.
"""

# ruff: noqa: I001  # several lines for a module with many names
from golfphys.show.check_book import check_counts, checks_of, closest_checks, read_check_book, read_not_checked
from golfphys.show.worked.rolling import green_speeds, never_stops, rolls_by_speed
from golfphys.show.worked.rolling import same_reading, skid_motion, skid_share, two_way
from golfphys.show.worked.shot import PARTS, air_effect, bounces, chips_to, conditions
from golfphys.show.worked.shot import over_edge, parts, slide_limit, swapped
from golfphys.show.worked.shot import contacts, friction_to_grip, mishits
from golfphys.show.worked.shot import rests, strike_words, strikes, struck, windows
