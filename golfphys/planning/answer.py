"""The answer at a glance: what to play, what to expect, how sure that is and why, and what the reader should know."""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from golfphys.core.units import METRES_PER_FOOT
from golfphys.planning.position import USUAL, capital
from golfphys.planning.search import CLOSE_CALL, Played
from golfphys.planning.world import World

SURE = 0.90  # share of the draws in which the first choice must lead for it to be called better
BLOCKS = 8  # blocks of her errors whose differences tell how much of a lead is the chance of the trials
# Correlation over the draws from which something unknown is said to part two choices, and the least of its standard
# errors: of the six that are looked at one is beyond two by chance in every fourth answer.
PARTING, BEYOND_CHANCE = 0.25, 2.6
STAYS = 0.25  # fraction of balls that must stay on the green for a shot to be one
STRAIGHT = 0.05  # aim beside the pin in m below which it is called straight
ALIKE = 0.3  # m at the pin below which start and aim of a swing are said as one
NO_SHOT = "There is no shot to play here"  # how an answer begins where nothing that she has ends on the green


@dataclass(frozen=True, kw_only=True)
class Recommended:
    """One choice of an answer, in m."""

    row: Mapping[str, Any]  # what `summed_up` says of it

    @property
    def label(self) -> str:
        """Club and option in words."""
        return str(self.row["club"])

    def close(self, unit: str) -> float:
        """Return how many of a hundred end within 3 ft or, in metres, 1 m."""
        return 100 * float(self.row["within_3ft" if unit == "ft" else "within_1m"])

    def words(self, unit: str = "m") -> dict[str, str]:
        """Return what a player asks for, each in a few words under its heading; lengths in ``"m"`` or ``"ft"``."""
        row, far = self.row, _length(self.row["landing_m"], unit)
        onto, aim, start = row["onto_green_m"], row["aim_m"], row["start_m"]
        side = "onto the green" if onto >= 0 else "short of the green"
        land = {"land it": f"{far} from the ball, {_length(abs(onto), unit)} {side}"}
        if np.isnan(onto):
            land = {"roll it": f"to stop {far} away, were there no hole"}
        way = "straight at the pin" if abs(start) < STRAIGHT else f"{_aside(start, unit)} of the pin"
        if abs(aim - start) >= ALIKE:
            way += f", the swing aimed {_aside(aim, unit)} of it"
        return {
            "play": capital(self.label),
            **land,
            "it runs": f"{_length(row['roll_m'], unit)} ({_span(row['roll_low_m'], row['roll_high_m'], unit)})",
            "start it": way,
            f"end within {_near(unit)}": f"{self.close(unit):.0f} %",
            "strokes": f"{row['strokes']:.2f}",  # to the digits of the lead
        }

    def sentence(self, unit: str = "m") -> str:
        """Return it in a sentence, lengths in ``"m"`` or ``"ft"``."""
        (_, play), land, run, start, (_, close), (_, strokes) = self.words(unit).items()
        how = f"{' '.join(land)}; {' '.join(run)}. {capital(' '.join(start))}"
        return f"{play}: {how}. {close} end within {_near(unit)}, {strokes} strokes."


@dataclass(frozen=True, kw_only=True)
class Answer:
    """An answer at a glance."""

    # What to play: one choice, or the two that are level; none where there is no shot.
    choices: tuple[Recommended, ...] = ()
    sure_words: str  # how sure, and why
    parted_by: str = ""  # what would part two that are level
    level: str  # whose play it is for

    def verdict(self, unit: str = "m") -> str:
        """Return how sure, and why, in a line; lengths in ``"m"`` or ``"ft"``."""
        shared = _common(*self.choices, unit) if len(self.choices) == 2 else ""
        return " ".join(filter(None, (self.sure_words, shared, self.parted_by)))

    def sentences(self, unit: str = "m") -> list[str]:
        """Return the answer in words, a line for each choice and one on how sure it is."""
        whose = f" For {self.level}." if self.level else ""
        return [*(choice.sentence(unit) for choice in self.choices), f"{self.verdict(unit)}{whose}"]


def summed_up(played: Played) -> dict[str, Any]:
    """Return one choice as a row of the plan's table, and ``start_m``: where the ball starts, m to the left of the pin.

    An open face, or a lie that falls to the side, sends it aside of the aim.
    """
    position, outcome, putted = played.world.position, played.outcome, played.choice.putts
    shots, stopped = played.shots, ~outcome.lost
    x, y, landed = (values[stopped] for values in (shots.rest_x, shots.rest_y, shots.landing_x))
    ran = x - (0.0 if putted else landed)
    run_low, run, run_high = np.quantile(ran, [0.05, 0.5, 0.95]) if x.size else (np.nan,) * 3
    spot, (low, high) = played.landing, played.allowed
    meant = played.search.swings.at([played.number]).centre.meant([[spot]])
    aside = float(np.ravel(meant.direction)[0])
    strokes_low, strokes_high = np.quantile(outcome.strokes.mean(axis=1), [0.05, 0.95]).tolist()
    return {
        "club": played.label,
        "landing_m": spot,
        "onto_green_m": np.nan if putted else spot - position.to_edge,
        "aim_deg": np.degrees(played.aim),
        "aim_m": float(np.tan(played.aim)) * position.to_pin,
        "start_m": float(np.tan(played.aim + aside)) * position.to_pin,
        "roll_m": float(run),
        "roll_low_m": float(run_low),
        "roll_high_m": float(run_high),
        "rest_along_sd_m": x.std() if x.size else np.nan,
        "rest_side_sd_m": y.std() if y.size else np.nan,
        "within_1m": float(outcome.within_1m.mean()),
        "within_3ft": float(outcome.within_3ft.mean()),
        "holed": outcome.holed.mean(),
        "leave_m": np.median(outcome.leave),
        "up_and_down": float(outcome.one_putt.mean()),
        "strokes": played.mean,
        "strokes_low": strokes_low,
        "strokes_high": strokes_high,
        "short_by_m": spot - low,
        "long_by_m": high - spot,
    }


def answer(ranked: Sequence[Played], rows: Sequence[Mapping[str, Any]], world: World, level: str) -> Answer:
    """Return the answer at a glance to choices, best first, with their rows."""
    if not ranked:
        return Answer(sure_words=f"{NO_SHOT}: no club lands the ball short of the pin.", level=level)
    first, position, best = ranked[0], world.position, Recommended(row=rows[0])
    rest, back = first.shots.rest_x, np.inf if position.to_back is None else position.to_back
    stays = float(((rest >= position.to_edge) & (rest <= back) & ~first.outcome.lost).mean())
    if stays < STAYS:
        why = f"{100 * stays:.0f} % of the best choice's balls would stay on the green"
        short = np.nanmedian(rest) < position.to_edge
        advice = "Most would end short of it" if short else "Play away from the pin"
        return Answer(sure_words=f"{NO_SHOT}: {why}. {advice}.", level=level)
    if len(ranked) == 1:
        return Answer(choices=(best,), sure_words=f"{capital(first.label)} is all that was asked about.", level=level)
    second = ranked[1]
    lead = second.outcome.strokes - first.outcome.strokes
    margin, surely = float(lead.mean()), float((lead.mean(axis=1) > 0).mean())
    # her errors come in blocks, each evenly spread: blocks differ by what chance is left
    chance = np.array([block.mean() for block in np.array_split(lead, BLOCKS, axis=1) if block.size])
    luck = float(chance.std(ddof=1) / np.sqrt(chance.size)) if chance.size > 1 else 0.0
    single = len(world) == 1
    said = f"Too close to call between {first.label} and {second.label} ({abs(margin):.2f} strokes apart)."
    least = max(CLOSE_CALL, 2 * luck)
    if margin <= -least:
        said = (
            f"{capital(second.label)} would take {-margin:.2f} strokes fewer on paper, but risks landings short of the "
            f"green, where rolls and drops do not show how a chip is taken: {first.label} first."
        )
    elif margin >= least:
        sure = single or surely >= SURE
        how = "if all is as stated" if single else f"it leads in {100 * surely:.0f} % of the cases left open"
        ahead = f"{capital(first.label)} by {margin:.2f} strokes over {second.label}"
        said = f"{ahead}{'' if sure else ', but not surely'}; {how}."
        if sure:
            return Answer(choices=(best,), sure_words=said, level=level)
    elif why := _though(first, second):
        said = f"{said[:-1]}; {first.label} first, as {why}."
    choices = (best, Recommended(row=rows[1]))
    return Answer(choices=choices, sure_words=said, parted_by=_parts(first, second, world), level=level)


def _though(first: Played, second: Played) -> str:
    """Say why a choice that is level with the next goes first though it needs no fewer strokes, if so."""
    if first.cost > second.cost and first.choice.putts:
        return "it stays on the ground"
    if first.cost > second.cost and first.roomy != second.roomy:
        return "it leaves more green before the landing spot"
    if first.cost > second.cost:
        return "it is her usual swing" if first.choice.option is USUAL else "she has logged that swing"
    return "it risks less by landings short of the green" if first.mean > second.mean else ""


def _common(first: Recommended, second: Recommended, unit: str) -> str:
    """Say what two choices have in common."""
    few, many = sorted(round(item.close(unit)) for item in (first, second))
    near = f"{few} to {many} %" if many > few else f"{many} %"
    low, high = sorted(item.row["onto_green_m"] for item in (first, second))
    if np.isnan(low + high):
        return f"Either leaves {near} within {_near(unit)}."
    side = "onto the green" if high >= 0 else "short of the green"
    if _length(low, unit) == _length(high, unit):
        on = f"{_length(abs(high), unit)} {side}"
    elif low < 0 <= high:
        on = f"from {_length(-low, unit)} short of the green to {_length(high, unit)} on"
    else:
        on = f"{_span(min(abs(low), abs(high)), max(abs(low), abs(high)), unit)} {unit} {side}"
    return f"Both land {on} and leave {near} within {_near(unit)}."


def _parts(first: Played, second: Played, world: World) -> str:
    """Say what would part two choices: the unknown that goes with the lead over the draws, else her own confidence."""
    green, delivery, lie = world.draws.green, world.draws.player.delivery, world.draws.lies[world.position.lie]
    # what is not known: draws of it, and in words what more and what less of it is
    unknowns = (
        (-np.asarray(green.resistance.constant), "a faster green", "a slower green"),
        (green.turf.restitution, "firmer turf", "softer turf"),
        (world.draws.other, "turf that lets the ball run", "turf that checks it"),
        (-np.asarray(green.grade) * np.cos(green.fall_direction), "more uphill", "less uphill"),
        (delivery.shaft_lean, "more shaft lean", "less shaft lean"),
        (lie.friction, "a cleaner lie", "a grassier lie"),
    )
    lead = second.outcome.strokes.mean(axis=1) - first.outcome.strokes.mean(axis=1)
    found = [(0.0, "", "")]
    for values, more, less in unknowns:
        spread = np.asarray(values, float)
        if spread.size == lead.size > 3 and spread.std() > 0 and lead.std() > 0:
            with_lead = float(np.corrcoef(spread.ravel(), lead)[0, 1])
            found.append((abs(with_lead), *((more, less) if with_lead > 0 else (less, more))))
    strongest, favours, opposite = max(found)
    if strongest >= max(PARTING, BEYOND_CHANCE / math.sqrt(lead.size)):
        return f"What parts them: {favours} favours {first.label}, {opposite} {second.label}."
    return "No single unknown parts them: take the one she trusts today."


def _aside(value: float, unit: str) -> str:
    return f"{_length(abs(value), unit, 1)} {'left' if value > 0 else 'right'}"


def _near(unit: str) -> str:
    return "3 ft" if unit == "ft" else "1 m"


def _length(value: float, unit: str, digits: int | None = None) -> str:
    """Return a length to the digits that matter: half metres and whole feet unless said."""
    if unit == "ft":
        digits = 0 if digits is None else digits
        return f"{round(value / METRES_PER_FOOT, digits) + 0.0:.{digits}f} ft"
    return f"{round(value, 1) + 0.0:.1f} m"  # no zero with a minus


def _span(low: float, high: float, unit: str) -> str:
    factor, digits = (METRES_PER_FOOT, 0) if unit == "ft" else (1.0, 1 if high < 10 else 0)
    return f"{low / factor:.{digits}f} to {high / factor:.{digits}f}"
