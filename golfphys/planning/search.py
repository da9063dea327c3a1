"""Trying every landing spot of every choice, and playing the best ones again: both on the same paired draws."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.physics.green import Resistance
from golfphys.physics.shot import Shots
from golfphys.planning.position import USUAL, Choice, Floats
from golfphys.planning.strokes import Outcome, score
from golfphys.planning.world import ERRORS, Effort, Numbers, Swings, World, normals, picked, swings_for, turns

# Landing spots first looked at with each choice; a ball that ends within this fraction of the distance to the pin, or
# this many metres, of it makes its spot and all between such spots worth a full trial.
COARSE, NEAR, NEAR_LEAST = 40, 0.35, 2.5
FINE = 120  # landings between which the one that stops at a pin is looked for
ALLOWED_RISE = 0.1  # rise of expected strokes that bounds the room for error in landing distance
# Strokes that a landing meant to be on ground short of the green must save, where that was not measured and where rolls
# and drops on it do not show how it takes a landing at an angle (practice, no source; the second judged, on 26 cases of
# tests/studies/decision_quality.py). The square of the share that lands there is held against a spot, so that a few now
# and then count for little.
WARY, WARY_MEASURED = 0.3, 0.15
# How far short of and past the pin, as a fraction of the distance, a putt from off the green may be meant to end.
PUTTED_PAST = (-0.12, 0.22)
DEEP = "rough"  # ground that is never putted through
LOOKED_AT = 4  # most choices that pictures and what-ifs show
CLOSE_CALL = 0.02  # expected strokes below which two choices are called level, however surely one of them leads
# Green before the landing spot, m, that a careful player leaves herself where it costs nothing (practice, no source).
ROOM = 1.0


@dataclass(frozen=True, kw_only=True)
class Search:
    """What trying landing spots of every choice has shown; arrays of shape (choices, spots) unless said."""

    swings: Swings  # the choices in their world
    landing: Floats  # where it is meant to land, m; for a putt where it is meant to stop
    direction: Floats  # where it is started, rad to the left of the pin
    strokes: Floats  # means over draws and errors
    within_1m: Floats
    within_3ft: Floats
    # `WARY`, or `WARY_MEASURED`, times the share that lands there, times that which lands short of the green at all.
    held_against: Floats

    @property
    def labels(self) -> list[str]:
        """Names of the choices."""
        return [choice.label for choice in self.swings.choices]

    @cached_property
    def best(self) -> NDArray[np.int_]:
        """Of each choice the spot with the fewest strokes, with what is held against it, shape (choices,)."""
        return np.asarray(np.argmin(self.strokes + self.held_against, axis=1))

    def at_best(self, values: Floats) -> Floats:
        """Return values (choices, spots) at the best spot of each choice, shape (choices,)."""
        return np.asarray(np.take_along_axis(values, self.best[:, None], axis=1)[:, 0])

    @cached_property
    def cost(self) -> Floats:
        """Strokes of the best spots, with what is held against them, shape (choices,)."""
        return self.at_best(self.strokes) + self.at_best(self.held_against)

    def at(self, each: Numbers) -> "Search":
        """Return the search of the choices that `each` names, in that order."""
        rows = np.asarray(each, int)
        own = {name: values[rows] for name, values in vars(self).items() if name in ARRAYS}
        return Search(swings=self.swings.at(rows), **own)


ARRAYS = ("landing", "direction", "strokes", "within_1m", "within_3ft", "held_against")


@dataclass(frozen=True, kw_only=True)
class Played:
    """The best spot of one choice, played on every draw; shots and outcome of shape (draws, errors)."""

    search: Search  # where it comes from
    number: int  # which of its choices
    choice: Choice  # what is played
    world: World  # where it is played
    landing: float  # where it is meant to land, m
    aim: float  # where it is started, rad to the left of the pin
    wary: float  # what is held against the landing, strokes
    shots: Shots  # what the balls do
    outcome: Outcome  # what they leave

    @property
    def label(self) -> str:
        """Name of the choice."""
        return self.choice.label

    @property
    def mean(self) -> float:
        """Expected strokes."""
        return float(self.outcome.strokes.mean())

    @property
    def cost(self) -> float:
        """Expected strokes, with what is held against the landing."""
        return self.mean + self.wary

    @property
    def roomy(self) -> bool:
        """Whether `ROOM` of green lies before the spot, or a putt needs none."""
        return self.choice.putts or self.landing >= self.world.position.to_edge + ROOM

    @property
    def practised(self) -> bool:
        """Whether the choice is in the log, where there is one; her usual swing with the clubs between is."""
        logged = self.world.draws.logged
        return not logged.chips or self.choice.putts or self.choice.option.name in {*logged.options, USUAL.name}

    @property
    def tried(self) -> tuple[float, float]:
        """Shortest and longest landing that was tried."""
        first, last = self.search.landing[self.number, [0, -1]].tolist()
        return first, last

    @property
    def allowed(self) -> tuple[float, float]:
        """Shortest and longest landing that may be meant before expected strokes rise by `ALLOWED_RISE`."""
        landing, strokes = (values[self.number] for values in (self.search.landing, self.search.strokes))
        fine = np.linspace(*self.tried, 20 * landing.size)
        most = strokes[self.search.best[self.number]] + ALLOWED_RISE
        inside = np.flatnonzero(np.interp(fine, landing, strokes) <= most)
        runs = np.split(inside, np.flatnonzero(np.diff(inside) > 1) + 1)
        first, last = fine[min(runs, key=lambda run: np.abs(fine[run] - self.landing).min())][[0, -1]].tolist()
        return first, last


def search_of(played: Sequence[Played]) -> Search:
    """Return the search of choices of one plan, in their order."""
    if not played:
        raise ValueError("the plan has no shot to play; expected one with a choice to decide on")
    return played[0].search.at([item.number for item in played])


def searched(choices: Sequence[Choice], world: World, effort: Effort) -> Search | None:
    """Search every choice that can land the ball there; None where the pin is out of reach of all."""
    swings = swings_for(choices, world)
    low, high = landing_range(swings).T
    able = np.flatnonzero(low < high)
    return search_landings(swings.at(able), effort) if able.size else None


def landing_range(swings: Swings) -> Floats:
    """Return the shortest and the longest landing distance thinkable, m, shape (choices, 2); empty where none is."""
    position, putts = swings.world.position, swings.putts
    pin, (low, high) = position.to_pin, swings.reach.T
    least = np.where(putts, pin * (1.0 + PUTTED_PAST[0]), max(0.3, min(position.to_edge - 2.0, 0.15 * pin)))
    most = np.where(putts, pin * (1.0 + PUTTED_PAST[1]), pin + 1.0)
    return np.stack([np.maximum(low, least), np.minimum(high, most)], axis=1)


def landing_spots(swings: Swings, landings: int) -> Floats:
    """Return the spots worth a try, shape (choices, landings): those whose ball, struck as meant, ends near the pin.

    Where none does, all that are thinkable are tried.
    """
    pin, ends = swings.world.position.to_pin, landing_range(swings)
    ends[:, 0] = ends.min(axis=1)  # a putt that even the softest stroke sends past all that is thinkable
    coarse = spaced(ends, COARSE)
    close = np.abs(rests_as_meant(swings.centre, coarse)[1] - pin) <= max(NEAR * pin, NEAR_LEAST)
    for row, (at, near, putted) in enumerate(zip(coarse, close, swings.putts, strict=True)):
        if near.any() and not putted:
            first, last = np.flatnonzero(near)[[0, -1]]
            ends[row] = at[max(first - 1, 0)], at[min(last + 1, COARSE - 1)]
    return spaced(ends, landings)


def spaced(ends: Floats, many: int) -> Floats:
    """Return so many evenly spaced spots between ends of shape (choices, 2), shape (choices, many)."""
    return np.linspace(ends[:, 0], ends[:, 1], many, axis=1)


def rests_as_meant(swings: Swings, spots: Floats) -> tuple[Floats, Floats]:
    """Play swings of a world of one draw as meant, straight at the pin, at spots (choices, spots).

    Returns where they land and rest, m, shape (choices, spots); infinite for a ball that does not stop.
    """
    shots = swings.world.play(swings.meant(spots))
    rests = np.where(np.isfinite(shots.rest_x), shots.rest_x, np.inf)
    return np.asarray(shots.landing_x)[0, ..., 0], rests[0, ..., 0]


def aim(swings: Swings, spots: Floats) -> Floats:
    """Turn the shots meant until their balls rest on the line from ball to pin, in the world of the medians.

    A putt that is meant past the pin passes over it. Returns the start directions, rad, shape (choices, spots).
    """
    world, meant = swings.world.centre, swings.centre.meant(spots)
    over_pin, on_line = (turns(where, meant) for where in (_held_past_the_pin(world), world))
    return np.asarray(np.where(swings.putts[:, None, None], over_pin, on_line)[0, ..., 0])


def _held_past_the_pin(world: World) -> World:
    """Return a world in which balls that roll past the pin stop there, in grass as deep as grass can be."""
    draws, position = world.draws, world.position
    deep = replace(draws.around[DEEP], resistance=Resistance(constant=2.0))
    return replace(
        world,
        draws=replace(draws, around={**draws.around, DEEP: deep}),
        position=replace(position, to_back=np.nextafter(position.to_pin, np.inf), behind=DEEP),
    )


def search_landings(swings: Swings, effort: Effort, spots: Floats | None = None) -> Search:
    """Try landing spots (choices, spots) with every choice, all in one batch; those worth a try if none are given."""
    spots = landing_spots(swings, effort.landings) if spots is None else np.asarray(spots)
    world, directions = swings.world, aim(swings, spots)
    outcomes, shots = play_all(
        swings, swings.speed_for(spots), directions, normals(len(world), effort.errors, effort.seed)
    )
    grounds, measured = {name for name, _ in world.position.ground_before}, {*world.draws.logged.grounds}
    lands = (world.position.comes_down_on(some, shots.landing_x) for some in (grounds & measured, grounds - measured))
    known, unknown, near, nearer = (
        np.clip(_smooth(happens.mean(axis=(0, 3))), 0.0, 1.0)
        for happens in (*lands, outcomes.within_1m, outcomes.within_3ft)
    )
    wary = np.where(swings.putts, 0.0, 1.0)[:, None] * (WARY * unknown + WARY_MEASURED * known)
    return Search(
        swings=swings,
        landing=spots,
        direction=directions,
        strokes=_smooth(outcomes.strokes.mean(axis=(0, 3))),
        within_1m=near,
        within_3ft=nearer,
        held_against=np.asarray(wary * (known + unknown)),
    )


def _smooth(values: Floats) -> Floats:
    """Take the last of the chance out of curves over landing spots, by a quadratic through seven neighbours."""
    return values if values.shape[1] < 9 else np.stack([_smoothing(values.shape[1]) @ row for row in values])


@cache
def _smoothing(size: int) -> Floats:
    from scipy.signal import savgol_filter

    return np.asarray(savgol_filter(np.eye(size), 7, 2, axis=0))


def play_all(swings: Swings, speeds: Floats, directions: Any, normal: Floats) -> tuple[Outcome, Shots]:
    """Play choices at speeds (draws, choices, spots) and start directions (choices, spots) with her errors; score them.

    Returns outcomes and shots of shape (draws, choices, spots, errors).
    """
    world, launch = swings.world, swings.launch(speeds, normal)
    launch = replace(launch, direction=np.asarray(launch.direction) + np.asarray(directions)[..., None])
    bumps = np.zeros((2, 3, len(world), 1, 1, normal.shape[-1]))
    bumps[:, :2] = normal[ERRORS:-1].reshape(2, 2, len(world), 1, 1, -1)
    bumps[0, 2] = normal[-1][:, None, None]
    shots = world.play(launch, np.broadcast_to(bumps, (2, 3, *launch.shape)))
    return score(shots, world), shots


def play_best(search: Search, normal: Floats) -> list[Played]:
    """Play the best spot of every choice on every draw, all in one batch."""
    best = [search.at_best(values) for values in (search.landing, search.direction, search.held_against)]
    swings, (spots, starts, _) = search.swings, best
    outcomes, shots = play_all(swings, swings.speed_for(spots[:, None]), starts[:, None], normal)
    found = []
    for row, (choice, spot, start, wary) in enumerate(zip(swings.choices, *(x.tolist() for x in best), strict=True)):
        where: dict[str, Any] = {"search": search, "number": row, "choice": choice, "world": swings.world}
        where |= {"shots": picked(shots, (slice(None), row, 0)), "outcome": picked(outcomes, (slice(None), row, 0))}
        found.append(Played(**where, landing=spot, aim=start, wary=wary))
    return found


def ranked(search: Search, effort: Effort) -> list[Played]:
    """Play the best spot of each choice, and return all, best first.

    Of choices that are level with the best, what a careful player would take goes first: the one with room before its
    spot, and then the one that is in her log.
    """
    z = normals(len(search.swings.world), effort.last, effort.seed + 1)
    played = sorted(play_best(search, z), key=lambda item: item.cost)
    level = [item for item in played if item.cost <= played[0].cost + CLOSE_CALL]
    careful = min(level, key=lambda item: (not item.roomy, not item.practised, item.cost))
    return [careful, *(item for item in played if item is not careful)]


def stopping_at(pins: Sequence[float], choices: Sequence[Choice], world: World) -> Floats:
    """Return the shortest landing in m from which balls, struck as meant, stop at pins, shape (choices, pins).

    Straight between neighbours of those tried; NaN where none stops there.
    """
    swings, found = swings_for(choices, world), np.full((len(choices), len(pins)), np.nan)
    each = zip(*rests_as_meant(swings, spaced(landing_range(swings), FINE)), strict=True)
    for row, (landing, rest) in enumerate(each):
        for column, pin in enumerate(pins):
            past = np.flatnonzero((rest[1:] >= pin) & (rest[:-1] < pin) & np.isfinite(rest[1:]))
            if past.size:
                ends = slice(past[0], past[0] + 2)
                found[row, column] = np.interp(pin, rest[ends], landing[ends])
    return found


def strokes_by_draw(search: Search, spots: Floats, world: World, effort: Effort) -> Floats:
    """Return the expected strokes of landing spots (choices, spots) in another world, shape (2, draws, all spots).

    The same errors of the player everywhere: what differs from draw to draw is what is not known, and the chance that
    few errors leave. So they are played in two halves, each with errors of its own.
    """
    swings = swings_for(search.swings.choices, world)
    tried = zip(spots, search.landing, search.direction, strict=True)
    starts = np.stack([np.interp(at, landing, direction) for at, landing, direction in tried])
    halves = []
    for half in (1, 2):
        same = np.repeat(normals(1, max(effort.last // 2, 1), effort.seed + half), len(world), axis=1)
        outcomes, _ = play_all(swings, swings.speed_for(spots), starts, same)
        halves.append(outcomes.strokes.mean(axis=-1).reshape(len(world), -1))
    return np.stack(halves)
