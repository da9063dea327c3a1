"""Trying every landing spot of every choice, and playing the best ones again: both on the same paired draws."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cache, cached_property
from typing import Any

import numpy as np
from numpy.typing import NDArray

from golfphys.physics.club import Launch
from golfphys.physics.shot import Shots
from golfphys.planning.position import Choice
from golfphys.planning.strokes import Outcome, score
from golfphys.planning.world import ERRORS, Effort, Swing, World, normals, picked, still, swings_for

Floats = NDArray[np.float64]
# Landing spots first looked at with each choice; a ball that ends within this fraction of the distance to the pin, or
# this many metres, of it makes its spot and all between such spots worth a full trial.
COARSE, NEAR, NEAR_LEAST = 40, 0.35, 2.5
AIMING = 3  # corrections of the start line, each of which leaves a few per cent of the miss to the side
ALLOWED_RISE = 0.1  # rise of expected strokes that bounds the room for error in landing distance
# Strokes that a landing meant to be on unmeasured ground short of the green must save (practice, no source); the square
# of the share that lands there is held against a spot, so that a few now and then count for little.
WARY = 0.3
# How far short of and past the pin, as a fraction of the distance, a putt from off the green may be meant to end.
PUTTED_PAST = (-0.12, 0.22)


@dataclass(frozen=True, kw_only=True)
class Search:
    """What trying every landing spot of one choice has shown; arrays over the spots."""

    swing: Swing  # the choice in its world
    landing: Floats  # where it is meant to land, m; for a putt where it is meant to stop
    direction: Floats  # where it is started, rad to the left of the pin
    meant: Shots  # what the shots do in the world of the medians, struck as meant
    strokes: Floats  # means over draws and errors
    within_1m: Floats
    within_3ft: Floats
    # `WARY` times the square of the share that lands short of the green on ground that was not measured.
    held_against: Floats
    best: int  # the spot with the fewest strokes, with what is held against it

    @property
    def label(self) -> str:
        """Name of the choice."""
        return self.swing.choice.label

    @property
    def spot(self) -> float:
        """The best landing spot, m."""
        return float(self.landing[self.best])

    @property
    def aim(self) -> float:
        """Start direction there, rad."""
        return float(self.direction[self.best])

    @property
    def wary(self) -> float:
        """What is held against the best spot."""
        return float(self.held_against[self.best])

    @property
    def cost(self) -> float:
        """Strokes of the best spot, with what is held against it."""
        return float(self.strokes[self.best]) + self.wary

    @cached_property
    def allowed(self) -> tuple[float, float]:
        """Shortest and longest landing that may be meant before expected strokes rise by `ALLOWED_RISE`."""
        fine = np.linspace(self.landing[0], self.landing[-1], 20 * self.landing.size)
        strokes = np.interp(fine, self.landing, self.strokes)
        return unbroken(fine, strokes <= self.strokes[self.best] + ALLOWED_RISE, self.spot)


@dataclass(frozen=True, kw_only=True)
class Played:
    """The best spot of one choice, played on every draw; arrays of shape (draws, errors)."""

    search: Search  # where it comes from
    shots: Shots  # what the balls do
    outcome: Outcome  # what they leave

    @property
    def label(self) -> str:
        """Name of the choice."""
        return self.search.label

    @property
    def mean(self) -> float:
        """Expected strokes."""
        return float(self.outcome.strokes.mean())

    @property
    def by_draw(self) -> Floats:
        """Expected strokes on each draw."""
        return np.asarray(self.outcome.strokes.mean(axis=1))


def search_landings(swings: Sequence[Swing], world: World, effort: Effort) -> list[Search]:
    """Try landing spots that leave the ball short of the pin to beyond it with every choice, all in one batch."""
    return search_spots(swings, world, effort, landing_spots(swings, world, effort.landings))


def landing_range(swing: Swing) -> tuple[float, float]:
    """Return the shortest and the longest landing distance thinkable, m; an empty range where there is none."""
    position = swing.world.position
    if swing.choice.putts:
        low, high = (position.to_pin * (1.0 + past) for past in PUTTED_PAST)
        return max(low, swing.reach[0]), min(high, swing.reach[1])
    low = max(swing.reach[0], 0.3, min(position.to_edge - 2.0, 0.15 * position.to_pin))
    return low, min(swing.reach[1], position.to_pin + 1.0)


def landing_spots(swings: Sequence[Swing], world: World, landings: int) -> list[Floats]:
    """Return for each choice the spots worth a try: those whose ball, struck as meant, ends not far from the pin.

    Where none does, all that are thinkable are tried.
    """
    pin = world.position.to_pin
    coarse = [np.linspace(*landing_range(swing), COARSE) for swing in swings]
    shots = play_meant(in_centre(swings, world), coarse)
    spots = []
    for swing, at, own in zip(swings, coarse, shots, strict=True):
        ends = np.where(own.stops, own.rest_x, np.inf)
        close = np.flatnonzero(np.abs(ends - pin) <= max(NEAR * pin, NEAR_LEAST))
        if close.size and not swing.choice.putts:
            at = at[max(int(close[0]) - 1, 0) : int(close[-1]) + 2]
        spots.append(np.linspace(at[0], at[-1], landings))
    return spots


def play_meant(swings: Sequence[Swing], spots: Sequence[Floats]) -> list[Shots]:
    """Play swings of a world of one draw as meant, straight at the pin, and return what each does over its spots."""
    shots = swings[0].world.play(as_meant(swings, spots))
    return [picked(shots, (0, number, slice(None), 0)) for number in range(len(swings))]


def as_meant(swings: Sequence[Swing], spots: Sequence[Floats]) -> Launch:
    """Return launches without error, shape (draws, choices, spots, 1)."""
    return swings[0].together(swings, speeds_for(swings, spots), still(swings[0].world))


def speeds_for(swings: Sequence[Swing], spots: Sequence[Floats]) -> Floats:
    """Return the head speeds in m/s, shape (draws, choices, spots), that reach as many spots with each swing."""
    return np.stack([swing.speed_for(at) for swing, at in zip(swings, spots, strict=True)], axis=1)


def in_centre(swings: Sequence[Swing], world: World) -> list[Swing]:
    """Return the same swings in the world of the medians, where she aims."""
    return [replace(swing, world=world.centre, reached=np.median(swing.reached, axis=0)[None]) for swing in swings]


def aim(swings: Sequence[Swing], world: World, spots: Sequence[Floats]) -> tuple[Floats, list[Shots]]:
    """Turn the shots meant until their balls rest on the line from ball to pin, in the world of the medians.

    Returns the start directions, rad, shape (choices, spots), and what each choice does over its spots.
    """
    meant = as_meant(in_centre(swings, world), spots)
    turned = np.zeros(meant.shape)
    shots = world.centre.play(meant)
    for _ in range(AIMING):
        reach = np.maximum(np.abs(shots.rest_x), 0.2 * world.position.to_pin)
        with np.errstate(invalid="ignore"):
            miss = np.where(shots.stops, np.arctan2(shots.rest_y, reach), 0.0)
        turned = np.clip(turned - miss, -1.2, 1.2)
        shots = world.centre.play(replace(meant, direction=np.asarray(meant.direction) + turned))
    return turned[0, ..., 0], [picked(shots, (0, number, slice(None), 0)) for number in range(len(swings))]


def search_spots(swings: Sequence[Swing], world: World, effort: Effort, spots: Sequence[Floats]) -> list[Search]:
    """Try given landing spots with every choice, all in one batch."""
    directions, meant = aim(swings, world, spots)
    normal = normals(len(world), effort.errors, effort.seed)
    outcomes, shots = play_all(swings, world, speeds_for(swings, spots), directions, normal)
    unmeasured = any(name not in world.draws.logged.grounds for name, _ in world.position.ground_before)
    found = []
    for number, swing in enumerate(swings):
        own = picked(outcomes, (slice(None), number))
        strokes = smooth(own.strokes.mean(axis=(0, 2)))
        wary = WARY * (unmeasured and not swing.choice.putts)
        short = (np.asarray(shots.landing_x)[:, number] < world.position.to_edge).mean(axis=(0, 2))
        held_against = wary * np.square(np.clip(smooth(short), 0.0, 1.0))
        found.append(
            Search(
                swing=swing,
                landing=spots[number],
                direction=directions[number],
                meant=meant[number],
                strokes=strokes,
                within_1m=np.clip(smooth(own.within_1m.mean(axis=(0, 2))), 0.0, 1.0),
                within_3ft=np.clip(smooth(own.within_3ft.mean(axis=(0, 2))), 0.0, 1.0),
                held_against=held_against,
                best=int(np.argmin(strokes + held_against)),
            )
        )
    return found


def play_all(
    swings: Sequence[Swing], world: World, speeds: Floats, directions: Any, normal: Floats
) -> tuple[Outcome, Shots]:
    """Play choices at speeds (draws, choices, spots) and start directions (choices, spots) with her errors; score them.

    Returns outcomes and shots of shape (draws, choices, spots, errors).
    """
    launch = swings[0].together(swings, speeds, normal)
    launch = replace(launch, direction=np.asarray(launch.direction) + np.asarray(directions)[..., None])
    bumps = np.zeros((2, 3, len(world), 1, 1, normal.shape[-1]))
    bumps[:, :2] = normal[ERRORS:-1].reshape(2, 2, len(world), 1, 1, -1)
    bumps[0, 2] = normal[-1][:, None, None]
    shots = world.play(launch, np.broadcast_to(bumps, (2, 3, *launch.shape)))
    return score(shots, world), shots


def play_best(searches: Sequence[Search], world: World, normal: Floats) -> list[Played]:
    """Play the best spot of every choice on every draw, all in one batch."""
    swings, spots = [item.swing for item in searches], [np.array([item.spot]) for item in searches]
    starts = [[item.aim] for item in searches]
    outcomes, shots = play_all(swings, world, speeds_for(swings, spots), starts, normal)
    own = [(slice(None), number, 0) for number in range(len(searches))]
    parts = zip(searches, own, strict=True)
    return [Played(search=item, shots=picked(shots, at), outcome=picked(outcomes, at)) for item, at in parts]


def window(search: Search, world: World) -> tuple[float, float]:
    """Return the landing distances around the best spot that finish within 1 m when all else goes as meant.

    The hole is left out: a chip meant to roll over it must not count on falling in.
    """
    near = np.hypot(search.meant.rest_x - world.position.to_pin, search.meant.rest_y)
    fine = np.linspace(search.landing[0], search.landing[-1], 10 * search.landing.size)
    kept = np.interp(fine, search.landing, np.where(np.isfinite(near), near, 1e3)) <= 1.0
    return unbroken(fine, kept, search.spot)


def unbroken(values: Floats, inside: NDArray[np.bool_], centre: float) -> tuple[float, float]:
    """Return the ends of the unbroken run of `inside` that holds or lies nearest to `centre`; NaN without any."""
    if not inside.any():
        return np.nan, np.nan
    edges = np.diff(np.concatenate([[False], inside, [False]]).astype(int))
    starts, stops = np.flatnonzero(edges == 1), np.flatnonzero(edges == -1) - 1
    gaps = np.maximum(values[starts] - centre, centre - values[stops])
    run = int(np.argmin(gaps))
    return float(values[starts[run]]), float(values[stops[run]])


def crossing(landing: Floats, rest: Floats, pin: float) -> float:
    """Return the shortest landing whose ball comes to rest at `pin`, straight between neighbours; NaN if none does."""
    past = np.flatnonzero((rest[1:] >= pin) & (rest[:-1] < pin) & np.isfinite(rest[1:]))
    if not past.size:
        return np.nan
    step = int(past[0])
    fraction = (pin - rest[step]) / (rest[step + 1] - rest[step])
    return float(landing[step] + fraction * (landing[step + 1] - landing[step]))


def smooth(values: Floats) -> Floats:
    """Take the last of the chance out of a curve over landing spots, by a quadratic through seven neighbours."""
    return values if values.size < 9 else _smoothing(values.size) @ values


@cache
def _smoothing(size: int) -> Floats:
    from scipy.signal import savgol_filter

    return np.asarray(savgol_filter(np.eye(size), 7, 2, axis=0))


def searched(choices: Sequence[Choice], world: World, effort: Effort) -> list[Search]:
    """Search every choice that can land the ball there; none where the pin is out of reach."""
    able = [swing for swing in swings_for(choices, world) if landing_range(swing)[0] < landing_range(swing)[1]]
    return search_landings(able, world, effort) if able else []


def strokes_by_draw(searches: Sequence[Search], spots: Sequence[Floats], world: World, effort: Effort) -> Floats:
    """Return the expected strokes of every landing spot of every choice on every draw, shape (2, draws, all spots).

    The same errors of the player everywhere: what differs from draw to draw is what is not known, and the chance that
    few errors leave. So they are played in two halves, each with errors of its own.
    """
    swings = swings_for([search.swing.choice for search in searches], world)
    starts = [np.interp(at, search.landing, search.direction) for at, search in zip(spots, searches, strict=True)]
    halves = []
    for half in (1, 2):
        same = np.repeat(normals(1, max(effort.last // 2, 1), effort.seed + half), len(world), axis=1)
        outcomes, _ = play_all(swings, world, speeds_for(swings, spots), starts, same)
        halves.append(outcomes.strokes.mean(axis=-1).reshape(len(world), -1))
    return np.stack(halves)
