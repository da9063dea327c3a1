"""The answer at a glance: what to play, what to expect, how sure that is and why, and what the reader should know."""

import math
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.draws import Logged
from golfphys.planning.position import USUAL
from golfphys.planning.search import CLOSE_CALL, Played
from golfphys.planning.world import World
from golfphys.sheets.suspects import around

SURE = 0.90  # share of the draws in which the first choice must lead for it to be called better
BLOCKS = 8  # blocks of her errors whose differences tell how much of a lead is the chance of the trials
# Correlation over the draws from which something unknown is said to part two choices, and the least of its standard
# errors: of the six that are looked at one is beyond two by chance in every fourth answer.
PARTING, BEYOND_CHANCE = 0.25, 2.6
STAYS = 0.25  # fraction of balls that must stay on the green for a shot to be one
STRAIGHT = 0.05  # aim beside the pin in m below which it is called straight
ALIKE = 0.3  # difference of two landings in m below which they are said as one
NO_SHOT = "There is no shot to play here"  # how an answer begins where nothing that she has ends on the green
FEW_CHIPS = 15  # chips below which a log says little of how its player scatters
FEW = 5  # chips with a club, a lie or an option below which it counts as hardly logged
HEADING = math.radians(60.0)  # turn of the line of play from every logged one from which the heading counts as new
LENGTHS = {"m": 1.0, "ft": METRES_PER_FOOT}  # units of length that sentences are given in, m
SLOPING = math.radians(2.0)  # slope of the lie that is worth a word
# Habits of carry (over the aim) and start that are worth a word; smaller ones drown in her scatter.
LEAST_BEYOND, LEAST_LEFT = 0.02, math.radians(0.5)
STRAY = 0.10  # share of landings off measured ground that is worth a word


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
        row, land = self.row, {"land it": "roll it"}
        onto, aim, start = row["onto_green_m"], row["aim_m"], row["start_m"]
        if not np.isnan(onto):
            side = "onto the green" if onto >= 0 else "short of the green"
            land = {"land it": f"{_length(row['landing_m'], unit)} from the ball, {_length(abs(onto), unit)} {side}"}
        way = "straight at the pin" if abs(start) < STRAIGHT else f"{_aside(start, unit)} of the pin"
        if abs(aim - start) >= ALIKE:
            way += f", the swing aimed {_aside(aim, unit)} of it"
        return {
            "play": _capital(self.label),
            **land,
            "it runs": f"{_length(row['roll_m'], unit)} ({_span(row['roll_low_m'], row['roll_high_m'], unit)})",
            "start it": way,
            f"end within {_near(unit)}": f"{self.close(unit):.0f} %",
            "strokes": f"{row['strokes']:.1f}",
        }

    def sentence(self, unit: str = "m") -> str:
        """Return it in a sentence, lengths in ``"m"`` or ``"ft"``."""
        play, land, run, start, close, strokes = self.words(unit).values()
        how = f"roll it {run}" if land == "roll it" else f"land it {land}; it runs {run}"
        return f"{play}: {how}. Start it {start}. {close} end within {_near(unit)}, {strokes} strokes."


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
    spot, (low, high), aside = played.landing, played.allowed, 0.0
    if played.choice.option.opening or position.lie_falls_left:
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
        return Answer(sure_words=f"{NO_SHOT}: {why}. Play away from the pin.", level=level)
    if len(ranked) == 1:
        return Answer(choices=(best,), sure_words=f"{_capital(first.label)} is all that was asked about.", level=level)
    second = ranked[1]
    lead = second.outcome.strokes + second.wary - first.outcome.strokes - first.wary
    margin, surely = float(lead.mean()), float((lead.mean(axis=1) > 0).mean())
    # her errors come in blocks, each evenly spread: blocks differ by what chance is left
    chance = np.array([block.mean() for block in np.array_split(lead, BLOCKS, axis=1) if block.size])
    luck = float(chance.std(ddof=1) / np.sqrt(chance.size)) if chance.size > 1 else 0.0
    single = len(world) == 1
    said = f"Too close to call between {first.label} and {second.label} ({abs(margin):.2f} strokes apart)."
    if margin >= max(CLOSE_CALL, 2 * luck):
        sure = single or surely >= SURE
        how = "if all is as stated" if single else f"it leads in {100 * surely:.0f} % of the cases left open"
        ahead = f"{_capital(first.label)} by {margin:.2f} strokes over {second.label}"
        said = f"{ahead}{'' if sure else ', but not surely'}; {how}."
        if sure:
            return Answer(choices=(best,), sure_words=said, level=level)
    elif first.cost > second.cost:
        why = "it is in her log" if first.roomy == second.roomy else "it leaves more green before the landing spot"
        said = f"{said[:-1]}; {first.label} first, as {why}."
    choices = (best, Recommended(row=rows[1]))
    return Answer(choices=choices, sure_words=said, parted_by=_parts(first, second, world), level=level)


def _common(first: Recommended, second: Recommended, unit: str) -> str:
    """Say what two choices have in common."""
    few, many = sorted(item.close(unit) for item in (first, second))
    near = f"{few:.0f} to {many:.0f} %" if many - few >= 1.5 else f"{many:.0f} %"
    low, high = sorted(item.row["onto_green_m"] for item in (first, second))
    if np.isnan(low + high):
        return f"Either leaves {near} within {_near(unit)}."
    if low < 0:
        farther = f"{_length(high, unit)} on" if high >= 0 else f"{_length(-high, unit)} short"
        on = f"from {_length(-low, unit)} short of the green to {farther}"
    elif high - low > ALIKE:
        on = f"{_span(low, high, unit)} {unit} onto the green"
    else:
        on = f"{_length(high, unit)} onto the green"
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


def cautions(best: Iterable[Played], world: World, unit: str = "m") -> list[str]:
    """Return what the reader should know of an answer."""
    picks = list(best)
    found = [*_may_go_wrong(picks, world), *unmeasured(world.draws.logged)]
    found += world.draws.logged.left_out
    if world.draws.logged.chips and world.draws.other_turf is not None:
        open_law = "Two laws of the bounce fit her chips about as well: this answer draws from both."
        found.append(f"{open_law} More chips whose landing, first hop and rest are noted would tell.")
    if picks:
        found += [*_habits(picks[0], unit), *_beyond_the_log(picks, world, unit)]
    return list(dict.fromkeys(found))


def _missing(logged: Logged) -> dict[str, str]:
    """Return what was not measured in a few words, with a sentence on what would mend it."""
    stated, drops = logged.stated, " beyond the drops" if logged.drops else ""
    found = {}
    if not (logged.chips or logged.past) and "player" not in stated:
        found["the player"] = (
            f"The player was not measured: a {logged.level or 'tour'}-level player is assumed, whose errors and "
            "delivery may differ from hers by half. Forty logged chips would make this answer surer than anything else."
        )
    if not logged.chips and "turf" not in stated:
        found["how the green takes a landing"] = (
            f"How the green takes a landing was not measured{drops}: firm greens and soft ones are both allowed for. "
            "Chips whose landing, first hop and rest are noted would tell."
        )
    if not (logged.rolls or logged.chips or logged.films) and "green" not in stated:
        found["the green"] = (
            "The green was not measured: fast and slow, level and sloping ones are all allowed for. Eight rolls would "
            "tell most."
        )
    return found


def unmeasured(logged: Logged) -> list[str]:
    """Return a sentence for each thing that was not measured, and what would mend it.

    Examples
    --------
    >>> unmeasured(Logged(rolls=16, level="tour"))[0][:31], unmeasured(Logged(rolls=16, past=True))[0][:30]
    ('The player was not measured: a ', 'The player chipped elsewhere, ')
    """
    elsewhere = "The player chipped elsewhere, not here: she is taken to be as she was there."
    found = [*([elsewhere] if logged.past and not logged.chips else []), *_missing(logged).values()]
    if {"green", "turf", "player"} <= set(logged.stated):
        found.append(
            "Green, turf and player are taken as exactly known: the intervals show nothing of what was not measured."
        )
    elif "green" in logged.stated:
        found.append("The green's speed and slope are taken as stated, not measured.")
    if 0 < logged.chips < FEW_CHIPS and not logged.past:
        count = f"{logged.chips} chip{'s' if logged.chips > 1 else ''}"
        found.append(f"Her log has {count} only: how she scatters is still mostly taken from what is usual.")
    return found


def not_measured(logged: Logged) -> list[str]:
    """Return in one sentence, for a small page, what was not measured; none if everything was."""
    if {"green", "turf", "player"} <= set(logged.stated):
        return ["Green, turf and player are taken as exactly known; nothing here is measured."]
    names = _missing(logged)
    return [f"Not measured, so drawn from what is usual: {'; '.join(names)}."] if names else []


def _may_go_wrong(picks: list[Played], world: World) -> Iterator[str]:
    position, logged, tried = world.position, world.draws.logged, {*world.draws.logged.grounds}
    grounds = list(dict(position.ground_before))
    unknown = [name for name in grounds if name not in tried]
    lost = {pick.label: (pick.outcome.lost, np.isfinite(pick.shots.rest_x)) for pick in picks}
    if world.conditions.surface is not None:
        yield "The ground is as surveyed, taken as exact, and goes on beyond the survey as at its edge."
    if away := _shares({name: gone & ~stops for name, (gone, stops) in lost.items()}, 0.005):
        yield f"{away} do not stop: the ground falls away too steeply."
    if thinned := _shares({name: gone & stops for name, (gone, stops) in lost.items()}, 0.005):
        yield f"{thinned} are thinned and end far over the green."
    if any(pick.choice.putts for pick in picks) and not set(grounds) <= {*tried, *map(around, logged.spots)}:
        yield f"The drag of {_and(grounds)} on a putt was not measured: roll a few balls there first."
    chips = [pick for pick in picks if not pick.choice.putts]
    short = {pick.label: np.asarray(pick.shots.landing_x) < position.to_edge for pick in chips}
    meant = [pick.label for pick in chips if pick.landing < position.to_edge]
    if unknown and (shares := _shares(short, STRAY)):
        taken = "which was not measured and is taken to be softer than the green"
        yield f"{shares} come down short of the green, on {' or '.join(unknown)}, {taken}."
    elif meant:
        told = "rolls and drops there do not show how it takes a chip. Try a few first."
        yield f"{_capital(_and(meant))} {'lands' if len(meant) == 1 else 'land'} short of the green: {told}"
    back = math.inf if position.to_back is None else position.to_back
    if over := _shares({pick.label: np.asarray(pick.shots.landing_x) > back for pick in chips}, 0.01):
        yield f"{over} land beyond the back edge."
    for pick in chips:
        if pick.landing in pick.tried:
            end = f"{_capital(pick.label)} is at the end of what it can do here"
            yield f"{end}: the chip is too long or too short for it."


def _habits(pick: Played, unit: str) -> Iterator[str]:
    """Return how to aim so that balls land and start where the answer says, where her log shows a habit."""
    logged, lie, club = pick.world.draws.logged, pick.world.position.lie, pick.choice.club
    known = logged.carry_habit.get((club, lie), (0.0, 0.0)), logged.start_habit
    beyond, left = (mean if abs(mean) > 2 * sd else 0.0 for mean, sd in known)
    if pick.choice.option is USUAL and abs(beyond) >= LEAST_BEYOND:
        spot = pick.landing / LENGTHS[unit]
        way = "beyond" if beyond > 0 else "short of"
        yield (
            f"Her chips with the {club} from {lie} land {100 * abs(beyond):.0f} % {way} her aim: to land at {spot:.1f} "
            f"{unit}, she aims at {spot / (1 + beyond):.1f} {unit}."
        )
    if pick.choice.option is USUAL and abs(left) >= LEAST_LEFT:
        at_pin = math.tan(abs(left)) * pick.world.position.to_pin / LENGTHS[unit]
        side, other = ("left", "right") if left > 0 else ("right", "left")
        yield (
            f"Her chips start {math.degrees(abs(left)):.1f} degrees to the {side} of her aim: she aims {at_pin:.1f} "
            f"{unit} to the {other} of where the ball is to start, measured at the pin."
        )


def _beyond_the_log(picks: list[Played], world: World, unit: str) -> Iterator[str]:
    """Return what of an answer lies outside what was logged; in what is made of a sloping lie no log has a share."""
    logged, position = world.draws.logged, world.position
    steepest = max(abs(position.lie_uphill), abs(position.lie_falls_left))
    if steepest >= SLOPING and "player" not in logged.stated:
        said = f"The ball lies on a slope of {math.degrees(steepest):.0f} degrees: what that does to launch and strike"
        yield f"{said} is worked out, not measured, and she is taken to strike as well as on the level."
    if not logged.chips:
        return
    for pick in picks:
        choice = pick.choice
        hits = logged.clubs.get(choice.club, 0)
        if hits < FEW and not choice.putts:
            yield f"{_capital(choice.club)}: {_count(hits)} in the log, so it is judged by all her clubs."
        swung = logged.options.get(choice.option.name, 0)
        if choice.option is not USUAL and swung < FEW:
            name = f"{choice.option.name.capitalize()}: {_count(swung)} in the log"
            yield f"{name}, so how she plays it is {'' if swung == 0 else 'mostly '}a guess from what players do."
        if logged.landing is not None and not choice.putts:
            low, high = logged.landing
            if not 0.8 * low <= pick.landing <= 1.2 * high:
                away, low, high = (each / LENGTHS[unit] for each in (pick.landing, low, high))
                log = f"the log has landings from {low:.0f} to {high:.0f} {unit}"
                yield f"{_capital(pick.label)} lands {away:.0f} {unit} away; {log}."
    lies = logged.lies.get(position.lie, 0)
    if lies < FEW:
        assumed = "assumed" if lies == 0 else "mostly assumed"
        yield f"Lie {position.lie!r}: {_count(lies)} in the log, so what it does to a strike is {assumed}."
    turns = [abs(math.remainder(heading, 2 * math.pi)) for heading in logged.headings]
    if turns and min(turns) > HEADING:
        yield "No logged chip was played within 60 degrees of this line: slope and grain are new to her."


def _shares(happens: Mapping[str, Any], least: float) -> str:
    """Say how many of the balls of each choice something happens to, of those where more than so many; else nothing."""
    shares = {name: float(one.mean()) for name, one in happens.items()}
    return _and(f"{100 * one:.0f} % of the balls with the {name}" for name, one in shares.items() if one > least)


def _and(words: Iterable[str]) -> str:
    return " and ".join(words)


def _count(number: int) -> str:
    return "no chip" if number == 0 else "one chip" if number == 1 else f"only {number} chips"
