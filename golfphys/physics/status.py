"""How a shot, or a roll, ends: one set of words."""

from enum import IntEnum


class Status(IntEnum):
    """How a shot or a roll ended.

    A ball that stops off surveyed ground has left it: its rest is where it would stop if the ground went on as at the
    edge (a shot), or where it crossed the edge (a roll).

    Examples
    --------
    >>> Status(0)
    <Status.STOPPED: 0>
    """

    STOPPED = 0
    NEVER_STOPS = 1
    STILL_BOUNCING = 2
    INVALID = 3
    LEFT_GROUND = 4


STOPPED, NEVER_STOPS, STILL_BOUNCING, INVALID, LEFT_GROUND = (int(status) for status in Status)
