"""The question that a plan answers: where the ball lies, what can be played from there, and on which greens."""

import math
from collections.abc import Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass, fields, replace
from types import MappingProxyType
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core import constants
from golfphys.core.broadcasting import numbers, plain, require_kinds
from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.club import BAG, OPTIONS, Lie, Option
from golfphys.physics.draws import Draws, stated
from golfphys.physics.green import AROUND, Green, Resistance, Turf
from golfphys.physics.roll import roll

Floats = NDArray[np.float64]
FRINGE = 1.0  # width in m of the fringe before a green where nothing is said about it (practice, no source)
STEEPEST_LIE = 0.35  # steepest ground in rad from which a chip is planned
GRASSY = ("light rough", "rough")  # lies in ground that is itself rough
USUAL, PUTTING, EVERY_OPTION = OPTIONS["usual"], OPTIONS["putter"], tuple(OPTIONS.values())
# Loft in rad from which a club is played so (practice, no source).
LEAST_LOFT: Mapping[str, float] = MappingProxyType(
    {"hands level": math.radians(44.0), "face opened 20 degrees": math.radians(53.0)}
)
# Give of the soil below which a swing that brings more bounce to the ball is not thought of: off bare ground the sole
# jumps into it (practice, no source).
HARD = 0.25
MOST_PUTTED = 6.0  # distance in m from the green from which the putter is still thought of (practice, no source)
# Named levels of turf. "middling" is the published one; the others lie about one and a half of its stated uncertainties
# away, judged, no source: no published link from a firmness reading to restitution was found.
FIRMNESS: Mapping[str, Turf] = MappingProxyType(
    {
        "soft": Turf(restitution=0.42, tilt=0.32, friction=0.45, skid_friction=0.45),
        "middling": Turf(),
        "firm": Turf(restitution=0.58, tilt=0.21, friction=0.36, skid_friction=0.36),
    }
)


LENGTHS = {"m": 1.0, "ft": METRES_PER_FOOT}  # units of length that sentences are given in, m


@dataclass(frozen=True, kw_only=True)
class Position:
    """A chip to be played along the line from ball to pin.

    Parameters
    ----------
    to_edge, to_pin : float; distances in m along the line from the ball to where the green begins (0 if it lies on its
        edge) and to the pin
    lie : str; name of the lie, one of the draws' lies
    before : tuple of (str, float), optional; what lies between ball and green, as names (collar, fringe, fairway,
        rough) and where each ends, m from the ball, the last one at the edge. If left out: a metre of fringe, and
        before it fairway, or rough where the ball lies in rough.
    to_back, behind : float, optional, str; distance in m from the ball to the back edge of the green, and what lies
        behind it
    lie_uphill, lie_falls_left : float; slope of the ground under the ball, rad: positive uphill along the line of play;
        positive where it falls to the left, which has the ball above the feet of a right-handed player

    Examples
    --------
    >>> Position(to_edge=3.0, to_pin=15.0).ground_before
    (('fairway', 2.0), ('fringe', 3.0))
    """

    to_edge: float
    to_pin: float
    lie: str = "fairway"
    before: tuple[tuple[str, float], ...] | None = None
    to_back: float | None = None
    behind: str = "fringe"
    lie_uphill: float = 0.0
    lie_falls_left: float = 0.0

    def __post_init__(self) -> None:
        for name in ("to_edge", "to_pin"):
            value = getattr(self, name)
            if numbers(name, value).ndim or not (math.isfinite(value) and value >= 0):
                raise ValueError(f"{name} is {value!r}; expected a distance in m, not negative")
        require_kinds(lie=(self.lie, str))
        if not self.to_pin > self.to_edge:
            words = f"to_pin is {self.to_pin!r} m, to_edge {self.to_edge!r} m"
            raise ValueError(f"{words}; the pin must lie beyond the green's edge")
        if self.to_back is not None and not numbers("to_back", self.to_back) > self.to_pin:
            raise ValueError(f"to_back is {self.to_back!r} m, to_pin {self.to_pin!r} m; the green must reach the pin")
        for name in ("lie_uphill", "lie_falls_left"):
            slope = getattr(self, name)
            if not abs(numbers(name, slope)) <= STEEPEST_LIE:
                raise ValueError(f"{name} is {slope!r}; expected a slope in rad, at most {STEEPEST_LIE} either way")
        for part in self.ground_before:
            if isinstance(part, str) or len(part) != 2:
                raise ValueError(f"before is {self.before!r}; expected pairs of a name and where it ends, m")
        ends = [float(numbers("before", until)) for _, until in self.ground_before]
        unknown = sorted({str(name) for name in (self.behind, *(name for name, _ in self.ground_before))} - set(AROUND))
        if unknown:
            raise ValueError(f"ground {', '.join(unknown)} is not known; expected one of {', '.join(AROUND)}")
        if ends != sorted(set(ends)) or (ends and not (ends[0] > 0 and abs(ends[-1] - self.to_edge) < 1e-9)):
            raise ValueError(f"before ends at {ends} m; expected rising distances, the last the edge, {self.to_edge!r}")

    def sloped(self, lie: Lie) -> Lie:
        """Return a lie as it is on the slope under the ball."""
        if not (self.lie_uphill or self.lie_falls_left):
            return lie
        along, across = np.asarray(lie.slope_along), np.asarray(lie.slope_across)
        return replace(lie, slope_along=along + self.lie_uphill, slope_across=across + self.lie_falls_left)

    @property
    def ground_before(self) -> tuple[tuple[str, float], ...]:
        """What lies between ball and green: name, and where it ends, m from the ball."""
        if self.before is not None:
            return self.before
        first = "rough" if self.lie in GRASSY else "fairway"
        start = self.to_edge - FRINGE
        parts = ((first, start),) if start > 0.2 else ()
        return (*parts, ("fringe", self.to_edge)) if self.to_edge > 0 else ()

    def comes_down_on(self, grounds: Collection[str], places: Any) -> NDArray[np.bool_]:
        """Tell which places along the line, m from the ball, are short of the green on one of these grounds."""
        x, start, found = np.asarray(places), -math.inf, np.zeros(np.shape(places), bool)
        for name, until in self.ground_before:
            found |= (x >= start) & (x < until) & (name in grounds)
            start = until
        return found


@dataclass(frozen=True, kw_only=True)
class Choice:
    """One club in one option, or the putter."""

    club: str  # name of the club in the draws' bag, or that of the putting option
    option: Option = USUAL  # how it is played

    @property
    def label(self) -> str:
        """Club and option in words: the name by which a plan speaks of it."""
        return self.club if self.option is USUAL or self.putts else f"{self.club}, {self.option.name}"

    @property
    def putts(self) -> bool:
        """Whether the ball is putted."""
        return self.option.putts


def choices_for(draws: Draws, position: Position, options: Sequence[Option] = EVERY_OPTION) -> list[Choice]:
    """Return all that can be played from a position: usual deliveries first, in the order of the bag.

    The putter is thought of only where the grass before the green is short.
    """
    found = []
    hard = float(np.median(draws.lies[position.lie].give)) < HARD
    require_kinds(options=(options, Iterable))
    for option in options:
        require_kinds(option=(option, Option))
        if hard and not option.putts and (option.lean < 0.0 or option.opening > 0.0):
            continue
        if option.putts:
            short = position.lie not in GRASSY and all(name != "rough" for name, _ in position.ground_before)
            names = [option.name] if short and position.to_edge <= MOST_PUTTED else []
        else:
            least = LEAST_LOFT.get(option.name, 0.0)
            names = [name for name, club in draws.bag.items() if float(np.median(club.loft)) >= least]
        found += [Choice(club=name, option=option) for name in names]
    if not found:
        raise ValueError(f"no club of the bag can be played so from here; bag: {', '.join(draws.bag) or 'empty'}")
    return found


@dataclass(frozen=True, kw_only=True)
class Stated:
    """What a teaching study takes as known beside green speed and slope.

    Parameters
    ----------
    firmness, lie, clubs : str, str, tuple of str; names of `FIRMNESS`, `golfphys.physics.club.LIES` and
        `golfphys.physics.club.BAG`

    Examples
    --------
    >>> Stated(firmness="firm").lie
    'fairway'
    """

    firmness: str = "middling"
    lie: str = "fairway"
    clubs: tuple[str, ...] = tuple(BAG)

    def __post_init__(self) -> None:
        if self.firmness not in FIRMNESS:
            raise ValueError(f"firmness is {self.firmness!r}; expected one of {', '.join(FIRMNESS)}")
        unknown = [name for name in self.clubs if name not in BAG]
        if unknown:
            raise ValueError(f"clubs has {', '.join(unknown)}; expected names among {', '.join(BAG)}")

    def draws(self, stimp_ft: float, grade: float = 0.0) -> Draws:
        """Return the one draw of a green of this speed and slope along the line."""
        green = Green.from_stimp(stimp_ft, turf=FIRMNESS[self.firmness], **slope_along(grade))
        return stated(green, bag={name: BAG[name] for name in self.clubs})


def slope_along(grade: float) -> dict[str, Any]:
    """Return the fields of a green whose line of play rises by `grade`, rise over run; negative is downhill."""
    return {"grade": abs(grade), "fall_direction": np.pi if grade > 0 else 0.0}


def level_roll_ft(resistance: Resistance) -> Floats:
    """Return how far a ball from the ramp rolls on the level under the whole law of a green, ft; its grain left out."""
    found = roll(constants.RAMP_RELEASE_SPEED.value, 0.0, replace(resistance, grain=0.0)).x
    return np.asarray(found) / METRES_PER_FOOT


def faster(green: Green, feet: float) -> Green:
    """Return a green whose level roll from the ramp is longer: all of its law less in the same proportion."""
    law = green.resistance
    before = level_roll_ft(law)
    if not np.all(before + feet > 1.0):
        raise ValueError(f"a green {-feet:g} ft slower than measured would not let a ball roll")
    factor = before / (before + feet)
    names = (item.name for item in fields(law) if item.name not in ("grain", "grain_direction"))
    return replace(green, resistance=replace(law, **{name: plain(factor * getattr(law, name)) for name in names}))


def capital(text: str) -> str:
    """Return text with a capital at its head."""
    return text[:1].upper() + text[1:]
