"""What each kind of sheet has of its own: the reader, the frame that holds its rows, the checks beyond single cells."""

from collections.abc import Callable, Mapping
from typing import Any

from golfphys.sheets.chips import check_chips, read_chips
from golfphys.sheets.drops import check_drops, read_drops
from golfphys.sheets.putts import check_putts, read_putts
from golfphys.sheets.rollouts import check_rollouts, read_rollouts
from golfphys.sheets.table import Table
from golfphys.sheets.traces import check_traces, read_traces

READERS: Mapping[str, Callable[..., Any]] = {
    "rollouts": read_rollouts,
    "traces": read_traces,
    "drops": read_drops,
    "chips": read_chips,
    "putts": read_putts,
}
"""Reads a sheet of the kind."""

FRAMES: Mapping[str, str] = {
    "rollouts": "rolls",
    "traces": "frames",
    "drops": "drops",
    "chips": "chips",
    "putts": "putts",
}
"""Attribute of the sheet read that holds its rows."""

CHECKS: Mapping[str, Callable[[Table], None]] = {
    "rollouts": check_rollouts,
    "traces": check_traces,
    "drops": check_drops,
    "chips": check_chips,
    "putts": check_putts,
}
"""Records what is wrong with a table of the kind beyond its single cells."""
