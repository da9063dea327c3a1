"""The answer at a glance: what to play, where to land it, what to expect, and how sure that is and why."""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.core.units import METRES_PER_FOOT
from golfphys.planning.search import Played, Search, as_meant, in_centre
from golfphys.planning.world import World

Floats = NDArray[np.float64]

CLOSE_CALL = 0.02
"""Expected strokes below which two choices are called level, however surely one of them leads."""

SURE = 0.90
"""Share of the draws in which the first choice must lead for it to be called better."""

BLOCKS = 8
"""Blocks of her errors whose differences tell how much of a lead is the chance of the trials."""

PARTING = 0.25
"""Correlation over the draws from which something unknown is said to part two choices."""

STAYS = 0.25
"""Fraction of balls that must stay on the green for a shot to be one."""

STRAIGHT = 0.05
"""Aim beside the pin in m below which it is called straight."""

ALIKE = 0.3
"""Difference of two landings in m below which they are said as one."""

NO_SHOT = "There is no shot to play here"
"""How an answer begins where nothing that she has ends on the green."""


@dataclass(frozen=True, kw_only=True)
class Recommended:
    """One choice of an answer, in m.

    Parameters
    ----------
    label : str
        Club and option in words.
    landing, onto_green : float
        Where to land it, from the ball and from the edge of the green (negative: short of it); NaN for a putt.
    run, run_low, run_high : float
        How far it runs from there, median and 90 % of what her errors and the unknown make of it.
    aim, start : float
        Where to aim the swing, and where the ball then starts (an open face sends it to the right of the aim), at the
        distance of the pin, to the left of it.
    within_1m, within_3ft, up_and_down : float
        Shares that end so near, and that need no more than one putt.
    strokes, strokes_low, strokes_high : float
        Expected strokes to hole out, and 90 % of what is not known.

    Examples
    --------
    >>> numbers = dict(landing=4.0, onto_green=1.0, run=9.0, run_low=7.0, run_high=12.0, aim=0.0, start=0.0)
    >>> numbers |= dict(within_1m=0.4, within_3ft=0.36, up_and_down=0.7, strokes=2.3, strokes_low=2.2, strokes_high=2.5)
    >>> Recommended(label="9-iron", **numbers).sentence()[:60]
    '9-iron: land it 4.0 m from the ball, 1.0 m onto the green; i'
    """

    label: str
    landing: float
    onto_green: float
    run: float
    run_low: float
    run_high: float
    aim: float
    start: float
    within_1m: float
    within_3ft: float
    up_and_down: float
    strokes: float
    strokes_low: float
    strokes_high: float

    @classmethod
    def of(cls, played: Played, world: World) -> "Recommended":
        """Sum up one choice."""
        search, outcome, shots = played.search, played.outcome, played.shots
        putted = search.swing.choice.putts
        kept = ~outcome.lost
        ran = np.asarray(shots.rest_x) - (0.0 if putted else np.asarray(shots.landing_x))
        low, median, high = np.quantile(ran[kept], [0.05, 0.5, 0.95]) if kept.any() else (np.nan,) * 3
        by_draw = played.by_draw
        return cls(
            label=played.label,
            landing=np.nan if putted else search.spot,
            onto_green=np.nan if putted else search.spot - world.position.to_edge,
            run=float(median),
            run_low=float(low),
            run_high=float(high),
            aim=float(np.tan(search.aim)) * world.position.to_pin,
            start=float(np.tan(search.aim + _sent_aside(search, world))) * world.position.to_pin,
            within_1m=float(outcome.within_1m.mean()),
            within_3ft=float(outcome.within_3ft.mean()),
            up_and_down=float(outcome.one_putt.mean()),
            strokes=played.mean,
            strokes_low=float(np.quantile(by_draw, 0.05)),
            strokes_high=float(np.quantile(by_draw, 0.95)),
        )

    def words(self, unit: str = "m") -> dict[str, str]:
        """Return what a player asks for, each in a few words under its heading; lengths in ``"m"`` or ``"ft"``."""
        close, near = (self.within_3ft, "3 ft") if unit == "ft" else (self.within_1m, "1 m")
        where = {"land it": "roll it"}
        if not np.isnan(self.landing):
            side = "onto the green" if self.onto_green >= 0 else "short of the green"
            onto = f"{_length(abs(self.onto_green), unit)} {side}"
            where = {"land it": f"{_length(self.landing, unit)} from the ball, {onto}"}
        return {
            "play": _capital(self.label),
            **where,
            "it runs": f"{_length(self.run, unit)} ({_span(self.run_low, self.run_high, unit)})",
            "start it": _aim(self.start, unit) + self._swing_words(unit),
            f"end within {near}": f"{100 * close:.0f} %",
            "strokes": f"{self.strokes:.1f}",
        }

    def _swing_words(self, unit: str) -> str:
        """Say where to aim the swing where that is not where the ball starts."""
        if abs(self.aim - self.start) < ALIKE:
            return ""
        return f", the swing aimed {_length(abs(self.aim), unit, 1)} {'left' if self.aim > 0 else 'right'} of it"

    def sentence(self, unit: str = "m") -> str:
        """Return it in a sentence, lengths in ``"m"`` or ``"ft"``."""
        play, land, run, start, close, strokes = self.words(unit).values()
        near = "3 ft" if unit == "ft" else "1 m"
        how = f"roll it; it comes {run}" if np.isnan(self.landing) else f"land it {land}; it runs {run}"
        return f"{play}: {how}. Start it {start}. {close} end within {near}, {strokes} strokes."


@dataclass(frozen=True, kw_only=True)
class Answer:
    """An answer at a glance.

    Parameters
    ----------
    choices : tuple of Recommended
        What to play: one choice, or the two that are level; none where there is no shot.
    sure_words : str
        How sure, and why.
    parted_by : str
        What would part two that are level.
    level : str
        Whose play it is for.

    Examples
    --------
    >>> Answer(choices=(), sure_words="There is no shot to play here.", level="").sentences()
    ['There is no shot to play here.']
    """

    choices: tuple[Recommended, ...]
    sure_words: str
    parted_by: str = ""
    level: str

    @property
    def sure(self) -> bool:
        """Whether one choice stands alone."""
        return len(self.choices) == 1

    @property
    def verdict(self) -> str:
        """How sure, and why, in a line, in metres."""
        return self.verdict_in("m")

    def verdict_in(self, unit: str) -> str:
        """Return how sure, and why, in a line; lengths in ``"m"`` or ``"ft"``."""
        shared = _common(*self.choices, unit) if len(self.choices) == 2 else ""
        return " ".join(filter(None, (self.sure_words, shared, self.parted_by)))

    def sentences(self, unit: str = "m") -> list[str]:
        """Return the answer in words, a line for each choice and one on how sure it is."""
        whose = f" For {self.level}." if self.level else ""
        return [*(choice.sentence(unit) for choice in self.choices), f"{self.verdict_in(unit)}{whose}"]

    def __str__(self) -> str:
        """Return the answer in metres."""
        return "\n".join(self.sentences())


def _sent_aside(search: Search, world: World) -> float:
    """How far to the left of the swing's aim an open face, or a lie that falls to the side, starts the ball, rad."""
    if not (search.swing.choice.option.opening or world.position.lie_falls_left):
        return 0.0
    launch = as_meant(in_centre([search.swing], world), [np.array([search.spot])])[0]
    return float(np.ravel(launch.direction)[0])


def answer(ranked: Sequence[Played], world: World, level: str) -> Answer:
    """Return the answer at a glance."""
    if not ranked:
        return Answer(choices=(), sure_words=f"{NO_SHOT}: no club lands the ball short of the pin.", level=level)
    first = ranked[0]
    rest = np.asarray(first.shots.rest_x)
    back = np.inf if world.position.to_back is None else world.position.to_back
    stays = float(((rest >= world.position.to_edge) & (rest <= back) & ~first.outcome.lost).mean())
    if stays < STAYS:
        why = f"{100 * stays:.0f} % of the best choice's balls would stay on the green"
        return Answer(choices=(), sure_words=f"{NO_SHOT}: {why}. Play away from the pin.", level=level)
    best = Recommended.of(first, world)
    if len(ranked) == 1:
        return Answer(choices=(best,), sure_words=f"{_capital(first.label)} is all that was asked about.", level=level)
    second = ranked[1]
    lead = second.outcome.strokes + second.search.wary - first.outcome.strokes - first.search.wary
    margin, surely = float(lead.mean()), float((lead.mean(axis=1) > 0).mean())
    # her errors come in blocks, each evenly spread: blocks differ by what chance is left
    chance = np.array([block.mean() for block in np.array_split(lead, BLOCKS, axis=1) if block.size])
    luck = float(chance.std(ddof=1) / np.sqrt(chance.size)) if chance.size > 1 else 0.0
    single = len(world) == 1
    if margin >= max(CLOSE_CALL, 2 * luck) and (single or surely >= SURE):
        how = "if all is as stated" if single else f"it leads in {100 * surely:.0f} % of what may be so"
        verdict = f"{_capital(first.label)} by {margin:.2f} strokes over {second.label}; {how}."
        return Answer(choices=(best,), sure_words=verdict, level=level)
    said = f"Too close to call between {first.label} and {second.label} ({margin:.2f} strokes apart)."
    choices = (best, Recommended.of(second, world))
    return Answer(choices=choices, sure_words=said, parted_by=_parts(first, second, world), level=level)


def _common(first: Recommended, second: Recommended, unit: str) -> str:
    """Say what two choices have in common."""
    near = f"{_nearer(first, second, unit)} within {'3 ft' if unit == 'ft' else '1 m'}"
    if np.isnan(first.landing) or np.isnan(second.landing):
        return f"Either leaves {near}."
    low, high = sorted((first.onto_green, second.onto_green))
    if low < 0:
        farther = f"{_length(high, unit)} on" if high >= 0 else f"{_length(-high, unit)} short"
        on = f"from {_length(-low, unit)} short of the green to {farther}"
    elif high - low > ALIKE:
        on = f"{_span(low, high, unit)} {unit} onto the green"
    else:
        on = f"{_length(high, unit)} onto the green"
    return f"Both land {on} and leave {near}."


def _nearer(first: Recommended, second: Recommended, unit: str) -> str:
    low, high = sorted(100 * (item.within_3ft if unit == "ft" else item.within_1m) for item in (first, second))
    return f"{low:.0f} to {high:.0f} %" if high - low >= 1.5 else f"{high:.0f} %"


def _parts(first: Played, second: Played, world: World) -> str:
    """Say what would part two choices: the unknown that goes with the lead over the draws, else her own confidence."""
    lead = second.by_draw - first.by_draw
    known: dict[str, tuple[Any, str, str]] = unknowns(world)
    found = []
    for values, more, less in known.values():
        spread = np.asarray(values, float)
        if spread.size == lead.size > 3 and spread.std() > 0 and lead.std() > 0:
            with_lead = float(np.corrcoef(spread.ravel(), lead)[0, 1])
            found.append((abs(with_lead), more if with_lead > 0 else less))
    strongest = max(found, default=(0.0, ""))
    if strongest[0] >= PARTING:
        opposite = next(b if a == strongest[1] else a for _, a, b in known.values() if strongest[1] in (a, b))
        return f"What parts them: {strongest[1]} favours {first.label}, {opposite} {second.label}."
    return "What parts them is a wetter lie, a wind, or which of the two she strikes more surely today."


def unknowns(world: World) -> dict[str, tuple[Any, str, str]]:
    """Return what is not known, by name: its draws, and in words what more and what less of it is."""
    draws = world.draws
    green, turf = draws.green, draws.green.turf
    delivery, lie = draws.player.delivery, draws.lies[world.position.lie]
    return {
        "green speed": (-np.asarray(green.resistance.constant), "a faster green", "a slower green"),
        "firmness": (turf.restitution, "firmer turf", "softer turf"),
        "kind of bounce": (np.asarray(draws.other, float), "turf that lets the ball run", "turf that checks it"),
        "slope": (
            -np.asarray(green.grade) * np.cos(green.fall_direction),
            "more uphill",
            "less uphill",
        ),
        "lean": (delivery.shaft_lean, "more shaft lean", "less shaft lean"),
        "lie": (lie.friction, "a cleaner lie", "a grassier lie"),
    }


def _aim(aim: float, unit: str) -> str:
    if abs(aim) < STRAIGHT:
        return "straight at the pin"
    return f"{_length(abs(aim), unit, 1)} {'left' if aim > 0 else 'right'} of the pin"


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]


def _length(value: float, unit: str, digits: int | None = None) -> str:
    """Return a length to the digits that matter: half metres and whole feet unless said."""
    if unit == "ft":
        return f"{value / METRES_PER_FOOT:.{0 if digits is None else digits}f} ft"
    return f"{value:.1f} m"


def _span(low: float, high: float, unit: str) -> str:
    factor, digits = (METRES_PER_FOOT, 0) if unit == "ft" else (1.0, 1 if high < 10 else 0)
    return f"{low / factor:.{digits}f} to {high / factor:.{digits}f}"
