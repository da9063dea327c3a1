"""What can be played from a position: clubs of the bag, each in her options, and the putter from off the green."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

import numpy as np

from golfphys.physics.draws import Draws
from golfphys.physics.usual import OPTIONS as KNOWN
from golfphys.physics.usual import Option
from golfphys.planning.position import GRASSY, Position

USUAL, PUTTING = KNOWN["usual"], KNOWN["putter"]
OPTIONS: tuple[Option, ...] = tuple(KNOWN.values())
"""Options that are tried."""

LEAST_LOFT: Mapping[str, float] = MappingProxyType(
    {"hands level": math.radians(44.0), "face opened 20 degrees": math.radians(53.0)}
)
"""Loft in rad from which a club is played so (practice, no source)."""

HARD = 0.25
"""Give of the soil below which a swing that brings more bounce to the ball is not thought of: off bare ground the sole
jumps into it (practice, no source)."""

MOST_PUTTED = 6.0
"""Distance in m from the green from which the putter is still thought of (practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One club in one option, or the putter.

    Parameters
    ----------
    club : str
        Name of the club in the draws' bag, or that of the putting option.
    option : Option
        How it is played.
    """

    club: str
    option: Option = USUAL

    @property
    def label(self) -> str:
        """Club and option in words: the name by which a plan speaks of it."""
        return self.club if self.option is USUAL or self.putts else f"{self.club}, {self.option.name}"

    @property
    def putts(self) -> bool:
        """Whether the ball is putted."""
        return self.option.putts


def choices_for(draws: Draws, position: Position, options: Sequence[Option] = OPTIONS) -> list[Choice]:
    """Return all that can be played from a position: usual deliveries first, in the order of the bag.

    The putter is thought of only where the grass before the green is short.
    """
    found = []
    hard = float(np.median(draws.lies[position.lie].give)) < HARD
    for option in options:
        if hard and not option.putts and (option.lean < 0.0 or option.opening > 0.0):
            continue
        least = LEAST_LOFT.get(option.name, 0.0)
        if option.putts:
            found += [Choice(club=option.name, option=option)] if _may_putt(position) else []
            continue
        lofts = {name: float(np.median(club.loft)) for name, club in draws.bag.items()}
        found += [Choice(club=name, option=option) for name, loft in lofts.items() if loft >= least]
    if not found:
        raise ValueError("bag is empty; expected at least one club")
    return found


def _may_putt(position: Position) -> bool:
    short = all(name != "rough" for name, _ in position.ground_before)
    return short and position.to_edge <= MOST_PUTTED and position.lie not in GRASSY
