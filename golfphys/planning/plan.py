"""Which club, where to land it, what to expect, and how much room for error."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from golfphys.physics.club import BAG, DEFAULT_PLAYER, LIES, Club, Launch, Lie, Player
from golfphys.physics.green import Green, Ground, GroundBatch, Resistance, Strip
from golfphys.physics.putting import PuttsToHoleOut, putts_to_hole_out
from golfphys.physics.shot import trace
from golfphys.planning.chips import LandingTable, columns, landing_tables
from golfphys.planning.draws import AnyGreen, CourseDraws
from golfphys.planning.position import Position, lie_named
from golfphys.planning.search import Played, Search, Setting, normals, play_best, search_landings
from golfphys.planning.strokes import FARTHEST_LEAVE, Outcome

Floats = NDArray[np.float64]

APPROACH = Resistance(constant=0.25)
"""Rolling resistance of the mown ground before the green, about three times a quick green's (practice, no source)."""

CLOSE_CALL = 0.02
"""Expected strokes below which two clubs are called equal, however surely one of them leads."""

TOO_CLOSE = "Too close to call"
"""How the verdict begins that calls neither of two clubs better."""

SURE = 0.90
"""Share of the draws of what a fit leaves open in which the pick must lead for it to be called better."""

SHOWN = 800
"""Most rest points of a club that a plan keeps for pictures."""

PARTS = 8
"""Parts of the errors tried, whose differences tell how much of a lead is the chance of the trials."""


@dataclass(frozen=True, kw_only=True)
class ChipPlan:
    """The answer for one position: a row for each club, and what the pictures need.

    Parameters
    ----------
    position : Position
        The question.
    table : DataFrame
        One row for each club, best first: see `COLUMNS`.
    curves : DataFrame
        ``club``, ``landing_m``, ``within_1m``, ``within_3ft``, ``strokes`` for every landing spot considered.
    trajectories : mapping of str to (ndarray, ndarray)
        For each club the side-on path (x, z) in m of the planned shot, from strike to rest.
    rest : mapping of str to (ndarray, ndarray)
        For each club where its shots come to rest (x, y), m; `SHOWN` of them if there are more.
    pick : str
        The club with the fewest expected strokes.
    verdict : str
        The pick in a sentence, with how sure it is.
    cautions : list of str
        What the reader should know of this answer.
    setting : Setting
        What was asked, in full: for asking on (`golfphys.planning.what_if`).
    searches : mapping of str to Search
        For each club what trying every landing spot has shown.

    Examples
    --------
    >>> plan = plan_chip(Green.from_stimp(10.0), to_edge=3.0, to_pin=14.0, landings=15, shots=64)
    >>> plan.to_pin, len(plan.table), list(plan.rest)[0] == plan.pick
    (14.0, 6, True)
    """

    position: Position
    table: pd.DataFrame
    curves: pd.DataFrame
    trajectories: Mapping[str, tuple[Floats, Floats]] = field(repr=False)
    rest: Mapping[str, tuple[Floats, Floats]] = field(repr=False)
    pick: str
    verdict: str
    cautions: list[str]
    setting: Setting = field(repr=False)
    searches: Mapping[str, Search] = field(repr=False)

    @property
    def to_edge(self) -> float:
        """Distance in m from the ball to the edge of the green."""
        return self.position.to_edge

    @property
    def to_pin(self) -> float:
        """Distance in m from the ball to the pin."""
        return self.position.to_pin


COLUMNS: Mapping[str, str] = {
    "club": "club",
    "landing_m": "where to land it, from the ball",
    "onto_green_m": "where to land it, from the edge of the green; negative is short of it",
    "aim_deg": "where to start it, degrees to the left of the pin",
    "roll_m": "expected distance from landing to rest",
    "rest_along_sd_m": "standard deviation of where it comes to rest, along the line",
    "rest_side_sd_m": "the same across the line",
    "within_1m": "share of shots that end within 1 m of the pin",
    "within_3ft": "share of shots that end within 3 ft of the pin",
    "holed": "share of shots that drop",
    "leave_m": "median distance left to the pin",
    "up_and_down": "share of holes finished with this chip and at most one putt",
    "strokes": "expected strokes to hole out, this one included",
    "strokes_low": "5 % of what the measurements leave open",
    "strokes_high": "95 % of it",
    "window_low_m": "shortest landing that ends within 1 m when all else goes as meant",
    "window_high_m": "longest such landing",
    "short_by_m": "how far short of the spot it may be aimed before expected strokes rise by 0.1",
    "long_by_m": "how far beyond it",
}
"""What each column of a plan's table holds."""


def plan_chip(
    green: AnyGreen,
    *,
    to_edge: float,
    to_pin: float,
    lie: str | Lie = "fairway",
    player: Player | None = None,
    bag: Mapping[str, Club] = BAG,
    strips: tuple[Strip, ...] | None = None,
    putts: PuttsToHoleOut | None = None,
    landings: int = 41,
    shots: int = 384,
    seed: int | np.random.Generator = 0,
    **physics: Any,
) -> ChipPlan:
    """Plan a chip: for each club where to land it and what to expect, and which club is wiser.

    Each club keeps the player's delivery and changes only its speed, so that the ball lands where it is meant to. Every
    landing spot from short of the green to beyond the pin is tried with the same `shots` errors of the player, each
    on a draw of what the fit leaves open; the spot with the fewest expected strokes is then played again on every
    draw, which gives the interval of the answer. With `CourseDraws` a draw is a green, a turf, a delivery, a lie and a
    scatter that belong together. She is taken to land the ball where she means to, on average, whatever her delivery:
    it is launch angle and spin, and so the run, that a drawn delivery changes.

    Parameters
    ----------
    green : Green, GroundBatch or CourseDraws
        The green with x along the line from ball to pin; a GroundBatch carries the draws of a fitted one (see
        `golfphys.planning.fitted_green`), CourseDraws those of green, turf and player together.
    to_edge : float
        Distance in m from the ball to where the green begins.
    to_pin : float
        Distance in m from the ball to the pin.
    lie : str or Lie
        How the ball lies; a name of `golfphys.physics.club.LIES`, or of the lies of `CourseDraws`.
    player : Player, optional
        Delivery and scatter; if left out that of `CourseDraws`, or else a stated default, not a measurement.
    bag : mapping of str to Club
        The clubs to choose from.
    strips : tuple of Strip, optional
        Ground before the green; if left out, mown ground of resistance `APPROACH` up to the edge.
    putts : PuttsToHoleOut, optional
        Expected putts by distance; a tour player's if left out.
    landings : int
        How many landing spots are tried with each club.
    shots : int
        How many errors of the player are tried at each.
    seed : int or numpy.random.Generator
        The same seed gives the same plan.
    **physics
        Passed to `golfphys.physics.shot.simulate` (ball, air, laws).

    Returns
    -------
    ChipPlan
        Table, pick, verdict, and what the pictures need.

    Raises
    ------
    ValueError
        If the distances make no chip, the lie or the bag is not known, or no club can land the ball there.

    Examples
    --------
    >>> plan = plan_chip(Green.from_stimp(10.0), to_edge=3.0, to_pin=14.0, landings=15, shots=64)
    >>> plan.table["club"].iloc[0] == plan.pick
    True
    """
    setting = make_setting(
        green,
        Position(to_edge=to_edge, to_pin=to_pin, lie=lie if isinstance(lie, str) else lie.name),
        lie=lie,
        player=player,
        strips=strips,
        putts=putts,
        physics=physics,
        normal=normals(shots, seed),
    )
    return _plan(setting, search_landings(bag_tables(bag, setting), setting, landings))


def make_setting(
    green: AnyGreen,
    position: Position,
    *,
    lie: str | Lie = "fairway",
    player: Player | None = None,
    strips: tuple[Strip, ...] | None = None,
    putts: PuttsToHoleOut | None = None,
    physics: Mapping[str, Any] | None = None,
    normal: Floats,
) -> Setting:
    """Bring together what all clubs of one plan share; arguments as for `plan_chip`, `normal` from `normals`."""
    course = green if isinstance(green, CourseDraws) else None
    centre, draws = _grounds(green, position.to_edge, strips)
    lies = course.lies if course is not None else LIES
    return Setting(
        position=position,
        centre=centre,
        draws=draws,
        lie=lie if isinstance(lie, Lie) else lie_named(lie, lies),
        player=player or (course.player if course is not None else DEFAULT_PLAYER),
        putts=putts or putts_to_hole_out(),
        physics=physics or {},
        normal=normal,
    )


def bag_tables(bag: Mapping[str, Club], setting: Setting) -> list[LandingTable]:
    """Return the landing tables of all clubs of a bag, as far as the setting asks for."""
    if not bag:
        raise ValueError("bag is empty; expected at least one club")
    reach = setting.position.to_pin + 2.0
    return landing_tables(
        list(bag.values()), setting.lie, setting.player, setting.centre, farthest=reach, **setting.physics
    )


def _row(played: Played, setting: Setting) -> dict[str, Any]:
    """Return the table's row for one club."""
    search, outcome = played.search, played.outcome
    x, y = played.rest
    kept = outcome.leave < FARTHEST_LEAVE
    landing = search.landing[search.best]
    by_green = played.strokes.mean(axis=1)
    return {
        "club": search.table.club.name,
        "landing_m": landing,
        "onto_green_m": landing - setting.position.to_edge,
        "aim_deg": np.degrees(search.direction[search.best]),
        "roll_m": np.asarray(search.meant.rest_x)[search.best] - landing,
        "rest_along_sd_m": x[kept].std(),
        "rest_side_sd_m": y[kept].std(),
        "within_1m": outcome.within_1m.mean(),
        "within_3ft": outcome.within_3ft.mean(),
        "holed": outcome.holed.mean(),
        "leave_m": np.median(outcome.leave),
        "up_and_down": _up_and_down(outcome, setting),
        "strokes": by_green.mean(),
        "strokes_low": np.quantile(by_green, 0.05),
        "strokes_high": np.quantile(by_green, 0.95),
        "window_low_m": played.window[0],
        "window_high_m": played.window[1],
        "short_by_m": landing - played.allowed[0],
        "long_by_m": played.allowed[1] - landing,
    }


def _up_and_down(outcome: Outcome, setting: Setting) -> float:
    """Return the share of chips that drop or are followed by one putt."""
    one_putt = np.asarray(setting.putts.model.probability(np.maximum(outcome.leave, 1e-3)))
    return float(np.where(outcome.holed, 1.0, one_putt).mean())


def _verdict(first: Played, second: Played | None) -> str:
    """Say which club, by how much, and how sure that is."""
    name = first.search.table.club.name
    if second is None:
        return f"{name} is the only club asked about."
    other = second.search.table.club.name
    lead = second.strokes - first.strokes
    margin = float(lead.mean())
    # the errors come from a sequence whose every part is spread evenly: parts differ by what chance is left
    chance = np.array([part.mean() for part in np.array_split(lead.mean(axis=0), PARTS)])
    luck = float(chance.std(ddof=1) / np.sqrt(PARTS))
    sure = float((lead.mean(axis=1) > 0).mean())
    if margin < max(CLOSE_CALL, 2 * luck) or sure < SURE:
        return (
            f"{TOO_CLOSE} between {name} and {other}: {margin:.3f} strokes apart, "
            "less than this answer can tell. Play the one you like."
        )
    said = f"{name}, by {margin:.2f} strokes over {other}"
    if lead.shape[0] == 1:
        return f"{said}, if green and player are as stated."
    return f"{said}; it leads in {100 * sure:.0f} % of the draws of what the measurements leave open."


def _plan(setting: Setting, searches: list[Search]) -> ChipPlan:
    """Put the clubs in order and say what follows."""
    ranked = sorted(play_best(searches, setting), key=lambda item: float(item.strokes.mean()))
    first = ranked[0]
    curves = [
        pd.DataFrame(
            {
                "club": search.table.club.name,
                "landing_m": search.landing,
                "within_1m": search.within_1m,
                "within_3ft": search.within_3ft,
                "strokes": search.strokes,
            }
        )
        for search in searches
    ]
    names = [item.search.table.club.name for item in ranked]
    return ChipPlan(
        position=setting.position,
        table=pd.DataFrame([_row(item, setting) for item in ranked], columns=list(COLUMNS)),
        curves=pd.concat(curves, ignore_index=True),
        trajectories={name: _side_on(item.search, setting) for name, item in zip(names, ranked, strict=True)},
        rest={name: _some(item.rest) for name, item in zip(names, ranked, strict=True)},
        pick=names[0],
        verdict=_verdict(first, ranked[1] if len(ranked) > 1 else None),
        cautions=_cautions(first, setting),
        setting=setting,
        searches={search.table.club.name: search for search in searches},
    )


def _some(rest: tuple[Floats, Floats]) -> tuple[Floats, Floats]:
    """Return where some of the shots come to rest, as many as a picture can show, drawn by chance."""
    x, y = rest
    if x.size <= SHOWN:
        return rest
    kept = np.random.default_rng(0).choice(x.size, SHOWN, replace=False)
    return x[kept], y[kept]


def _side_on(search: Search, setting: Setting) -> tuple[Floats, Floats]:
    """Return the path of the planned shot seen from the side."""
    meant = columns(search.table.launch(search.landing[search.best]))
    speed, angle, backspin, direction, sidespin = (float(item) for item in meant)
    turned = direction + float(search.direction[search.best])
    path = trace(Launch(speed, angle, backspin, turned, sidespin), setting.centre, **setting.physics)
    return np.asarray(path.x), np.asarray(path.height)


def _cautions(first: Played, setting: Setting) -> list[str]:
    """Return what the reader should know of this answer."""
    found = []
    lost = float((first.outcome.leave >= FARTHEST_LEAVE).mean())
    if lost > 0.005:
        found.append(f"{100 * lost:.0f} % of the shots run away or do not stop: the green falls away too steeply.")
    if setting.player is DEFAULT_PLAYER:
        found.append("The player is the stated default, not a measured one: fit a chip log to make the answer yours.")
    if setting.draws is None:
        found.append(
            "The green is taken as exactly known: the interval of the strokes shows nothing of its uncertainty."
        )
    if first.search.best in (0, first.search.landing.size - 1):
        found.append(
            "The best landing spot lies at the end of those tried: the chip is longer or shorter than this club wants."
        )
    return found


def _grounds(green: AnyGreen, to_edge: float, strips: tuple[Strip, ...] | None) -> tuple[Ground, CourseDraws | None]:
    """Return the ground in the middle of what is known of it, and the draws if there are any."""
    if strips is None:
        strips = (Strip(until=to_edge, resistance=APPROACH),) if to_edge > 0 else ()
    if isinstance(green, Green):
        return Ground(green=green, strips=strips), None
    draws = CourseDraws(ground=green) if isinstance(green, GroundBatch) else green
    centre = Ground(green=draws.ground.green, strips=strips)
    return centre, draws.on(centre)
