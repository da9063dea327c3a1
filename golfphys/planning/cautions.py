"""What the reader of an answer should know: what was not measured, what lies beyond the log, what may go wrong."""

import math
from collections.abc import Iterable

import numpy as np

from golfphys.core.units import METRES_PER_FOOT
from golfphys.physics.draws import Logged
from golfphys.planning.position import USUAL
from golfphys.planning.search import Played
from golfphys.planning.world import World
from golfphys.sheets.suspects import around

FEW = 5
"""Chips with a club, a lie or an option below which it counts as hardly logged."""

HEADING = math.radians(60.0)
"""Turn of the line of play from every logged one from which the heading counts as new."""

LENGTHS = {"m": 1.0, "ft": METRES_PER_FOOT}
"""Units of length that sentences are given in, m."""

SLOPING = math.radians(2.0)
"""Slope of the lie that is worth a word."""

LEAST_BEYOND, LEAST_LEFT = 0.02, math.radians(0.5)
"""Habits of carry (over the aim) and start that are worth a word; smaller ones drown in her scatter."""

STRAY = 0.10
"""Share of landings off measured ground that is worth a word."""


def cautions(best: Iterable[Played], world: World, unit: str = "m") -> list[str]:
    """Return what the reader should know of an answer."""
    picks = list(best)
    found = [sentence for pick in picks for sentence in _may_go_wrong(pick, world)]
    found += unmeasured(world.draws.logged)
    if picks:
        found += [*_habits(picks[0], world, unit), *_on_a_slope(world), *_beyond_the_log(picks, world, unit)]
    return list(dict.fromkeys(found))


def unmeasured(logged: Logged) -> list[str]:
    """Return a sentence for each thing that was not measured, and what would mend it.

    Examples
    --------
    >>> unmeasured(Logged(rolls=16, level="tour"))[0][:31], unmeasured(Logged(rolls=16, past=True))[0][:30]
    ('The player was not measured: a ', 'The player chipped elsewhere, ')
    """
    found = []
    if logged.past and not logged.chips:
        found.append("The player chipped elsewhere, not here: she is taken to be as she was there.")
    elif not logged.chips and "player" not in logged.stated:
        found.append(
            f"The player was not measured: a {logged.level or 'tour'}-level player is assumed, whose errors and "
            "delivery may differ from hers by half. A log of forty chips would mend that, and shrink this answer most."
        )
    if not logged.chips and "turf" not in logged.stated:
        drops = " beyond the drops" if logged.drops else ""
        found.append(
            f"How the green takes a landing was not measured{drops}: it is drawn from what greens are like, the law of "
            "the bounce included. Chips whose landing, first hop and rest are measured tell it."
        )
    if not (logged.rolls or logged.chips or logged.films) and "green" not in logged.stated:
        found.append("The green was not measured: it is drawn from what greens are like. Eight rolls would tell most.")
    if {"green", "turf", "player"} <= set(logged.stated):
        found.append(
            "Green, turf and player are taken as exactly known: the intervals show nothing of what was not measured."
        )
    elif "green" in logged.stated:
        found.append("The green's speed and slope are taken as stated, not measured.")
    return found


def not_measured(logged: Logged) -> list[str]:
    """Return in one sentence, for a small page, what was not measured; none if everything was."""
    if {"green", "turf", "player"} <= set(logged.stated):
        return ["Green, turf and player are taken as exactly known; nothing here is measured."]
    missing = {
        "the player": not (logged.chips or logged.past) and "player" not in logged.stated,
        "how the green takes a landing": not logged.chips and "turf" not in logged.stated,
        "the green": not (logged.rolls or logged.chips or logged.films) and "green" not in logged.stated,
    }
    names = [name for name, is_missing in missing.items() if is_missing]
    return [f"Not measured, so drawn from what is usual: {'; '.join(names)}."] if names else []


def _may_go_wrong(pick: Played, world: World) -> list[str]:
    position, search = world.position, pick.search
    found = []
    lost = float(pick.outcome.lost.mean())
    if lost > 0.005:
        found.append(f"{100 * lost:.0f} % of the balls run away or do not stop: the green falls away too steeply.")
    if search.swing.choice.putts:
        rolled_on = {*world.draws.logged.grounds, *map(around, world.draws.logged.spots)}
        if not set(_names(world)) <= rolled_on:
            found.append(f"The putter rolls through {_words(_names(world))}, whose drag was not measured.")
        return found
    short = float((np.asarray(pick.shots.landing_x) < position.to_edge).mean())
    unknown = [name for name in _names(world) if name not in world.draws.logged.grounds]
    if unknown and (search.spot < position.to_edge or short > STRAY):
        where = "lands short of the green" if search.spot < position.to_edge else "is close to the edge"
        name = f"{pick.label[:1].upper()}{pick.label[1:]}"
        found.append(
            f"{name} {where}: {100 * short:.0f} % of its landings are on {_words(unknown)}, which was not "
            "measured; it is taken to be softer than the green. Rolls and drops there would tell."
        )
    if position.to_back is not None:
        over = float((np.asarray(pick.shots.landing_x) > position.to_back).mean())
        if over > 0.01:
            found.append(f"{100 * over:.0f} % of the balls of {pick.label} land beyond the back edge.")
    if search.best in (0, search.landing.size - 1):
        found.append(
            f"The best landing spot of {pick.label} lies at the end of those tried: the chip is longer or shorter than "
            "it wants."
        )
    return found


def _habits(pick: Played, world: World, unit: str) -> list[str]:
    """Return how to aim so that balls land and start where the answer says, where her log shows a habit."""
    logged, found = world.draws.logged, []
    beyond, left = (mean if abs(mean) > 2 * sd else 0.0 for mean, sd in (logged.carry_habit, logged.start_habit))
    if pick.search.swing.choice.option is not USUAL:
        return []
    if abs(beyond) >= LEAST_BEYOND:
        spot = pick.search.spot / LENGTHS[unit]
        found.append(
            f"Her chips land {100 * abs(beyond):.0f} % {'beyond' if beyond > 0 else 'short of'} her aim: to land at "
            f"{spot:.1f} {unit}, she aims at {spot / (1 + beyond):.1f} {unit}."
        )
    if abs(left) >= LEAST_LEFT:
        at_pin = math.tan(abs(left)) * world.position.to_pin / LENGTHS[unit]
        side = "left" if left > 0 else "right"
        found.append(
            f"Her chips start {math.degrees(abs(left)):.1f} degrees to the {side} of her aim: she aims {at_pin:.1f} "
            f"{unit} at the pin the other way from where the answer starts them."
        )
    return found


def _on_a_slope(world: World) -> list[str]:
    """Return a word on a lie that slopes: no log has a share in what is made of it."""
    position = world.position
    steepest = max(abs(position.lie_uphill), abs(position.lie_falls_left))
    if steepest < SLOPING or "player" in world.draws.logged.stated:
        return []
    words = f"The ball lies on a slope of {math.degrees(steepest):.0f} degrees: what that does to launch and strike is"
    return [f"{words} geometry, not measured, and she is taken to err as on the level."]


def _beyond_the_log(picks: list[Played], world: World, unit: str) -> list[str]:
    """Return what of an answer lies outside what was logged."""
    logged, position = world.draws.logged, world.position
    if not logged.chips:
        return []
    found = []
    for pick in picks:
        choice = pick.search.swing.choice
        hits = logged.clubs.get(choice.club, 0)
        if hits < FEW and not choice.putts:
            found.append(f"{choice.club}: {_count(hits)} in the log, so its answer rests on what clubs have in common.")
        swung = logged.options.get(choice.option.name, 0)
        if choice.option is not USUAL and swung < FEW:
            taken = "are drawn from" if swung == 0 else "rest mostly on"
            found.append(
                f"{choice.option.name.capitalize()}: {_count(swung)} in the log, so her delivery and her errors with "
                f"it {taken} what players' are, by judgement."
            )
        if logged.landing is not None and not choice.putts:
            low, high = logged.landing
            if not 0.8 * low <= pick.search.spot <= 1.2 * high:
                away, shortest, longest = (each / LENGTHS[unit] for each in (pick.search.spot, low, high))
                found.append(
                    f"{pick.label} lands {away:.0f} {unit} away; the log has landings from {shortest:.0f} to "
                    f"{longest:.0f} {unit}."
                )
    lies = logged.lies.get(position.lie, 0)
    if lies < FEW:
        found.append(f"Lie {position.lie!r}: {_count(lies)} in the log, so it is taken as lies of that name are.")
    turns = [abs(math.remainder(heading, 2 * math.pi)) for heading in logged.headings]
    if turns and min(turns) > HEADING:
        found.append("No logged chip was played within 60 degrees of this line: slope and grain are met anew.")
    return found


def _names(world: World) -> list[str]:
    return [name for name, _ in world.position.ground_before]


def _words(names: Iterable[str]) -> str:
    return " and ".join(dict.fromkeys(names))


def _count(number: int) -> str:
    return "no chip" if number == 0 else "one chip" if number == 1 else f"only {number} chips"
