"""A plan: every choice, where to land it and what to expect, and the answer at a glance."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pandas as pd

from golfphys.core.broadcasting import require_kinds
from golfphys.physics.club import Launch, Option
from golfphys.physics.draws import Draws
from golfphys.physics.shot import trace
from golfphys.planning.answer import Answer, answer, summed_up
from golfphys.planning.cautions import cautions
from golfphys.planning.position import EVERY_OPTION, LENGTHS, Floats, Position, choices_for
from golfphys.planning.search import LOOKED_AT, Played, ranked, search_of, searched
from golfphys.planning.world import LAUNCH, Conditions, Effort, World

SHOWN = 800  # most rest points of a choice that a plan keeps for pictures

# What each column of a plan's table holds.
COLUMNS: Mapping[str, str] = {
    "club": "club, and how it is played if not as usual",
    "landing_m": "where to land it, from the ball; for a putt where it is meant to stop",
    "onto_green_m": "where to land it, from the edge of the green; negative is short of it",
    "aim_deg": "where to aim the swing, degrees to the left of the pin",
    "aim_m": "where to aim the swing at the distance of the pin, m to the left",
    "roll_m": "median distance from landing to rest",
    "roll_low_m": "5th percentile of that distance, player errors and uncertainty together",
    "roll_high_m": "95th percentile of that distance",
    "rest_along_sd_m": "standard deviation of where it comes to rest, along the line",
    "rest_side_sd_m": "standard deviation of where it comes to rest, across the line",
    "within_1m": "share of shots that end within 1 m of the pin",
    "within_3ft": "share of shots that end within 3 ft of the pin",
    "holed": "share of shots that drop",
    "leave_m": "median distance left to the pin",
    "up_and_down": "share of holes finished with this chip and at most one putt",
    "strokes": "expected strokes to hole out, this one included",
    "strokes_low": "5th percentile of expected strokes over what was not measured",
    "strokes_high": "95th percentile of expected strokes over what was not measured",
    "short_by_m": "how far short of the landing spot it may be meant to land before expected strokes rise by 0.1",
    "long_by_m": "how far beyond the landing spot it may be meant to land before expected strokes rise by 0.1",
}


@dataclass(frozen=True, kw_only=True)
class ChipPlan:
    """The answer for one position, a row for each choice, and what the pictures need."""

    answer: Answer  # at a glance
    cautions: list[str]  # what the reader should know of this answer
    # One row for each choice, best first (fewest strokes, short of the green with `golfphys.planning.search.WARY`
    # more; of those level with the best the careful player's first): see `COLUMNS`.
    table: pd.DataFrame
    # ``club``, ``landing_m``, ``within_1m``, ``within_3ft``, ``strokes`` for every landing spot tried.
    curves: pd.DataFrame
    # For each choice worth a look the side-on path (x, z) in m of the shot as meant, on a median draw.
    trajectories: Mapping[str, tuple[Floats, Floats]] = field(repr=False)
    # For each choice where its shots come to rest (x, y), m; `SHOWN` of them if there are more.
    rest: Mapping[str, tuple[Floats, Floats]] = field(repr=False)
    world: World = field(repr=False)  # draws and position
    effort: Effort = field(repr=False)  # how much was tried
    played: tuple[Played, ...] = field(repr=False)  # the best spot of every choice, best first

    def __repr__(self) -> str:
        """Return the question and the first choice, in a line: the last line of a cell is shown so."""
        place = f"{self.position.to_pin:g} m to the pin from a {self.position.lie} lie"
        return f"ChipPlan for {place}: {self.pick or 'no shot'}; see answer and table"

    @property
    def pick(self) -> str:
        """The first choice, see `golfphys.planning.search.ranked`; "" where there is no shot."""
        return self.played[0].label if self.answer.choices else ""

    @property
    def shown(self) -> list[str]:
        """The choices worth a look, best first: `LOOKED_AT` of them at most."""
        return [item.label for item in self.played[:LOOKED_AT]]

    def said(self, unit: str = "m") -> tuple[list[str], list[str]]:
        """Return the sentences of the answer and the cautions, lengths in ``"m"`` or ``"ft"``."""
        if unit not in LENGTHS:
            raise ValueError(f"unit is {unit!r}; expected one of {', '.join(LENGTHS)}")
        picks = self.played[: len(self.answer.choices)]
        return self.answer.sentences(unit), cautions(picks, self.world, unit)

    @property
    def position(self) -> Position:
        """The question."""
        return self.world.position


def plan_chip(
    draws: Draws,
    *,
    to_edge: float | None = None,
    to_pin: float | None = None,
    lie: str = "fairway",
    position: Position | None = None,
    options: Sequence[Option] = EVERY_OPTION,
    conditions: Conditions | None = None,
    effort: Effort | None = None,
) -> ChipPlan:
    """Plan a chip: what to play, where to land it and what to expect.

    Every choice (club and option, and the putter where it can be taken) keeps its delivery and changes only its speed.
    Every landing spot from short of the green to beyond the pin is tried with her errors on every draw of what is not
    known; the spot with the fewest expected strokes is then played with more of them. She is taken to land the ball
    where she means to, on average: what a draw of her delivery changes is launch and spin, and so the run.

    Parameters
    ----------
    draws : Draws; green, player, lies and clubs with all that is not known of them, x along the line from ball to pin:
        a fit's ``draws(spot)``, or `golfphys.assumed` for a green that was not measured
    to_edge, to_pin, lie : float, float, str; distances in m from the ball to where the green begins and to the pin; one
        of the draws' lies
    position : Position, optional; in place of the three: with what lies before and behind the green
    options : sequence of Option; ways to deliver a club
    conditions, effort : Conditions, Effort, optional; air, putts and a surveyed green; how much is tried

    Examples
    --------
    >>> from golfphys import Green, assumed
    >>> small = Effort(draws=8, landings=9, errors=4, last=8)
    >>> plan = plan_chip(assumed(Green.from_stimp(10.0)), to_edge=3.0, to_pin=14.0, effort=small)
    >>> any(words.startswith("The player was not measured") for words in plan.cautions)
    True
    """
    if position is None:
        if to_edge is None or to_pin is None:
            raise ValueError("to_edge and to_pin are missing; expected distances in m from the ball, or a position")
        position = Position(to_edge=to_edge, to_pin=to_pin, lie=lie)
    elif (to_edge, to_pin, lie) != (None, None, "fairway"):
        raise ValueError("a position is given, and to_edge, to_pin or lie beside it; expected one or the other")
    effort = effort or Effort()
    return plan_in(make_world(draws, position, conditions, effort), effort, options)


def make_world(draws: Draws, position: Position, conditions: Conditions | None, effort: Effort) -> World:
    """Return the world of a plan: as many draws as the effort asks for, at a position."""
    if not isinstance(draws, Draws):
        raise ValueError(
            f"a plan is made on draws of all that is not known, not on {type(draws).__name__}; give a fit's "
            "draws(spot), golfphys.assumed(green) for a green you state, or golfphys.stated(green) to take all as known"
        )
    require_kinds(position=(position, Position), effort=(effort, Effort))
    require_kinds(conditions=(conditions, (Conditions, type(None))))
    return World(draws=draws.few(effort.draws), position=position, conditions=conditions or Conditions())


def plan_in(world: World, effort: Effort, options: Sequence[Option] = EVERY_OPTION) -> ChipPlan:
    """Plan a chip in a world; as `plan_chip`."""
    search = searched(choices_for(world.draws, world.position, options), world, effort)
    played = ranked(search, effort) if search else []
    rows = [summed_up(item) for item in played]
    found = answer(played, rows, world, level_words(world.draws))
    curves: dict[str, Any] = {"club": [] if search is None else np.repeat(search.labels, search.landing.shape[1])}
    for column, name in (("landing_m", "landing"), *((name, name) for name in ("within_1m", "within_3ft", "strokes"))):
        curves[column] = [] if search is None else getattr(search, name).ravel()
    return ChipPlan(
        answer=found,
        cautions=cautions(played[: len(found.choices)], world),
        table=pd.DataFrame(rows, columns=list(COLUMNS)),
        curves=pd.DataFrame(curves),
        trajectories=_side_on(played[:LOOKED_AT]),
        rest={item.label: _some(item) for item in played},
        world=world,
        effort=effort,
        played=tuple(played),
    )


def level_words(draws: Draws) -> str:
    """Return whose play the draws are."""
    if draws.logged.chips or draws.logged.past:
        several = len(draws.logged.players) > 1
        return f"{' and '.join(draws.logged.players)} as if they were one" if several else "the player of the log"
    return f"a {draws.logged.level}-level player" if draws.logged.level else f"the {draws.player.name} as stated"


def _some(played: Played) -> tuple[Floats, Floats]:
    """Return where some of the shots come to rest, as many as a picture can show, drawn by chance."""
    some = np.flatnonzero(~played.outcome.lost.ravel())
    if some.size > SHOWN:
        some = np.random.default_rng(0).choice(some, SHOWN, replace=False)
    return np.ravel(played.shots.rest_x)[some], np.ravel(played.shots.rest_y)[some]


def _side_on(picks: Sequence[Played]) -> dict[str, tuple[Floats, Floats]]:
    """Return the paths of the shots as meant, seen from the side, each on the draw that makes it as long as most do."""
    if not picks:
        return {}
    world, found = picks[0].world, {}
    meant = search_of(picks).swings.meant([[item.landing] for item in picks])
    meant = replace(meant, direction=np.asarray(meant.direction) + [[[item.aim]] for item in picks])
    rests = np.asarray(world.play(meant).rest_x)[:, :, 0, 0]
    for column, (item, ends) in enumerate(zip(picks, rests.T, strict=True)):
        number = int(np.argsort(ends)[np.isfinite(ends).sum() // 2])
        part = next(part for part in world.parts if number in part.rows)
        one = part.draws.one(int(np.searchsorted(part.rows, number)))
        launch = Launch(*(float(np.asarray(getattr(meant, name))[number, column, 0, 0]) for name in LAUNCH))
        path = trace(launch, world.ground(one), air=world.conditions.air, aerodynamics=one.aerodynamics)
        found[item.label] = np.asarray(path.x), np.asarray(path.height)
    return found
