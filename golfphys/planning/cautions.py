"""What the reader should know of an answer: what may go wrong, what was not measured, what lies outside the log."""

import math
from collections.abc import Iterable, Iterator, Mapping
from typing import Any

import numpy as np

from golfphys.physics.draws import Logged
from golfphys.planning.position import LENGTHS, USUAL, capital
from golfphys.planning.search import Played
from golfphys.planning.strokes import FARTHEST_LEAVE
from golfphys.planning.world import World
from golfphys.sheets.suspects import around

FEW_CHIPS = 15  # chips below which a log says little of how its player scatters
FEW = 5  # chips with a club, a lie or an option below which it counts as hardly logged
HEADING = math.radians(60.0)  # turn of the line of play from every logged one from which the heading counts as new
SLOPING = math.radians(2.0)  # slope of the lie that is worth a word
# Habits of carry (over the aim) and start that are worth a word; smaller ones drown in her scatter.
LEAST_BEYOND, LEAST_LEFT = 0.02, math.radians(0.5)
STRAY = 0.10  # share of landings off measured ground that is worth a word
STEEP = 0.02  # slope of a green that is worth a word


def cautions(best: Iterable[Played], world: World, unit: str = "m") -> list[str]:
    """Return what the reader should know of an answer."""
    picks = list(best)
    found = [*_may_go_wrong(picks, world, unit), *unmeasured(world.draws.logged)]
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


def _may_go_wrong(picks: list[Played], world: World, unit: str) -> Iterator[str]:
    position, logged, tried = world.position, world.draws.logged, {*world.draws.logged.grounds}
    grounds = list(dict(position.ground_before))
    unknown = [name for name in grounds if name not in tried]
    if world.conditions.surface is not None:
        yield "The ground is as surveyed, taken as exact, and goes on beyond the survey as at its edge."
    yield from _go_far(picks, unit)
    if any(pick.choice.putts for pick in picks) and not set(grounds) <= {*tried, *map(around, logged.spots)}:
        yield f"The drag of {_and(grounds)} on a putt was not measured: roll a few balls there first."
    chips = [pick for pick in picks if not pick.choice.putts]
    short = {pick.label: position.comes_down_on(unknown, pick.shots.landing_x) for pick in chips}
    meant = [pick.label for pick in chips if pick.landing < position.to_edge]
    if unknown and (shares := _shares(short, STRAY)):
        taken = "which was not measured and is taken to be softer than the green"
        yield f"{shares} come down short of the green, on {' or '.join(unknown)}, {taken}."
    elif meant:
        told = "rolls and drops there do not show how it takes a chip. Try a few first."
        yield f"{capital(_and(meant))} {'lands' if len(meant) == 1 else 'land'} short of the green: {told}"
    back = math.inf if position.to_back is None else position.to_back
    if over := _shares({pick.label: np.asarray(pick.shots.landing_x) > back for pick in chips}, 0.01):
        yield f"{over} land beyond the back edge."
    if over := _shares({pick.label: np.asarray(pick.shots.rest_x) > back for pick in picks}, STRAY):
        stops = "" if position.behind in tried else f": how {position.behind} stops a ball was not measured"
        yield f"{over} end beyond the back edge{stops}."
    if world.conditions.surface is None and float(np.median(world.draws.green.grade)) >= STEEP:
        yield "A putt back downhill counts like one uphill here: of two spots that are level, leave it below the hole."
    for pick in chips:
        if np.isclose(pick.landing, pick.search.swings.reach[pick.number], rtol=1e-6).any():
            end = f"{capital(pick.label)} is at the end of what it can do here"
            yield f"{end}: the chip is too long or too short for it."


def _go_far(picks: list[Played], unit: str) -> Iterator[str]:
    """Return which balls do not stop, or only far away."""
    x = {pick.label: np.asarray(pick.shots.rest_x) for pick in picks}
    if away := _shares({pick.label: pick.outcome.lost & ~np.isfinite(x[pick.label]) for pick in picks}, 0.005):
        yield f"{away} do not stop: the ground falls away too steeply."
    for far, sign in (
        ("beyond the pin: thin strikes, or carried on by slope or wind", 1.0),
        ("short of the pin", -1.0),
    ):
        ends = {
            pick.label: np.isfinite(x[pick.label]) & (sign * (x[pick.label] - pick.world.position.to_pin) > 0)
            for pick in picks
        }
        if ended := _shares({pick.label: pick.outcome.lost & ends[pick.label] for pick in picks}, 0.005):
            yield f"{ended} end more than {FARTHEST_LEAVE / LENGTHS[unit]:.0f} {unit} {far}."


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
            yield f"{capital(choice.club)}: {_count(hits)} in the log, so it is judged by all her clubs."
        swung = logged.options.get(choice.option.name, 0)
        if choice.option is not USUAL and swung < FEW:
            name = f"{choice.option.name.capitalize()}: {_count(swung)} in the log"
            yield f"{name}, so how she plays it is {'' if swung == 0 else 'mostly '}a guess from what players do."
        if logged.landing is not None and not choice.putts:
            low, high = logged.landing
            if not 0.8 * low <= pick.landing <= 1.2 * high:
                away, low, high = (each / LENGTHS[unit] for each in (pick.landing, low, high))
                log = f"the log has landings from {low:.0f} to {high:.0f} {unit}"
                yield f"{capital(pick.label)} lands {away:.0f} {unit} away; {log}."
    yield from hardly_logged(logged, position.lie)
    turns = [abs(math.remainder(heading, 2 * math.pi)) for heading in logged.headings]
    if turns and min(turns) > HEADING:
        yield "No logged chip was played within 60 degrees of this line: slope and grain are new to her."


def hardly_logged(logged: Logged, lie: str) -> list[str]:
    """Return that a lie is hardly in the log, if there is one."""
    chips = logged.lies.get(lie, 0)
    assumed = "assumed" if chips == 0 else "mostly assumed"
    said = f"Lie {lie!r}: {_count(chips)} in the log, so what it does to a strike is {assumed}."
    return [said] if logged.chips and chips < FEW else []


def _shares(happens: Mapping[str, Any], least: float) -> str:
    """Say how many of the balls of each choice something happens to, of those where more than so many; else nothing."""
    shares = {name: float(one.mean()) for name, one in happens.items()}
    return _and(f"{100 * one:.0f} % of the balls with the {name}" for name, one in shares.items() if one > least)


def _and(words: Iterable[str]) -> str:
    return " and ".join(words)


def _count(number: int) -> str:
    return "no chip" if number == 0 else "one chip" if number == 1 else f"only {number} chips"
