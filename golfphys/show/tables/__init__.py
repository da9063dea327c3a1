"""Results as tables that read like prose: headings in words with units, numbers rounded to what they can bear.

Each function takes a result and returns a DataFrame for showing; it computes nothing beyond changes of unit.
"""

from golfphys.show.markup import Said, said
from golfphys.show.tables.measuring import laws, plans, resistance_by_speed, trace_speeds
from golfphys.show.tables.planning import (
    carry,
    decisions,
    filled,
    habits,
    landing_moves,
    regret,
    rule,
    runs,
    sensitivities,
    slopes,
    wedges,
)
from golfphys.show.tables.results import greens, plan, rollouts, shot, two_way

__all__ = [
    "Said",
    "carry",
    "decisions",
    "filled",
    "greens",
    "habits",
    "landing_moves",
    "laws",
    "plan",
    "plans",
    "regret",
    "resistance_by_speed",
    "rollouts",
    "rule",
    "runs",
    "said",
    "sensitivities",
    "shot",
    "slopes",
    "trace_speeds",
    "two_way",
    "wedges",
]
