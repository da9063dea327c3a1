"""Worked examples for the notebooks: each function asks the laws and returns a table to show or to draw.

No law stands here, only calls of those in the library. Columns are in SI units unless their names say otherwise.
"""

from golfphys.show.worked.bounce import bounces, drops, restitutions, slide_limit
from golfphys.show.worked.check_book import check_counts, checks_of, closest_checks, read_check_book, read_not_checked
from golfphys.show.worked.rolling import (
    by_heading,
    green_speeds,
    hodograph,
    never_stops,
    ramp_speeds,
    rolls_by_speed,
    same_reading,
    skid_motion,
    skid_share,
    slowing,
    two_way,
)
from golfphys.show.worked.shot import (
    PARTS,
    air_effect,
    chips,
    chips_to,
    coefficients,
    conditions,
    over_edge,
    parts,
    swapped,
)
from golfphys.show.worked.strike import (
    bounce_left,
    friction_limits,
    friction_to_grip,
    grips,
    over_friction,
    spin_rule,
    strike_words,
    strikes,
    windows,
)

__all__ = [
    "PARTS",
    "air_effect",
    "bounce_left",
    "bounces",
    "by_heading",
    "check_counts",
    "checks_of",
    "chips",
    "chips_to",
    "closest_checks",
    "coefficients",
    "conditions",
    "drops",
    "friction_limits",
    "friction_to_grip",
    "green_speeds",
    "grips",
    "hodograph",
    "never_stops",
    "over_edge",
    "over_friction",
    "parts",
    "ramp_speeds",
    "read_check_book",
    "read_not_checked",
    "restitutions",
    "rolls_by_speed",
    "same_reading",
    "skid_motion",
    "skid_share",
    "slide_limit",
    "slowing",
    "spin_rule",
    "strike_words",
    "strikes",
    "swapped",
    "two_way",
    "windows",
]
