"""Rivals of a plan by golfphys: each makes of what it has a club, a landing spot and a start line.

* `analyst`: an able analyst with the same sheets, and a day: slope and speed from the rolls, a pooled robust regression
  of run on loft, lie and landing distance with a correction for slope, the scatter of each club drawn towards that of
  all, the library's expected putts, and a search over all clubs and landings. Earlier weeks of the player join the
  regression, each with its own level of run.
* `by_feel`: no sheets; she knows her own strike and how such turf takes a ball, judges the slope by eye, takes the
  speed of the green from the notice board, and is wrong about how far a ball runs by some per cent.
* `always`: one club, with perfect knowledge of course and player.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from worlds import RELEASE, Case, Sheets

from golfphys.core import constants
from golfphys.formulas.rolling import resistance_from_distance
from golfphys.physics.club import BAG
from golfphys.physics.putting import putts_to_hole_out
from golfphys.planning.position import Position
from golfphys.planning.search import Search, search_landings
from golfphys.planning.strokes import PuttLeft
from golfphys.planning.world import Effort

Floats = NDArray[np.float64]

KNOWN = Effort(draws=1, landings=31, errors=128, last=512)
SHRUNK = 8
"""Chips that the scatter of all clubs is worth beside a club's own."""

OFF_GREEN, SOFTER = 0.15, 0.6
"""What the analyst adds for a ball left short of the green, and the part of the run left to one landed there."""

BOARD_SD_FT, EYE_SD = 0.5, 0.007
"""How far a notice board is out, and each component of a slope judged by eye, rise over run (judged, no source)."""


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What she is to do."""

    club: str
    landing: float
    direction: float


# --- the analyst -----------------------------------------------------------------------------------------------------
def huber(columns: Floats, values: Floats, prior: Floats, loose: Floats) -> Floats:
    """Robust least squares with Huber's weights, drawn towards `prior`, which is as sure as `loose`."""
    weights = np.ones(len(values))
    found = prior
    for _ in range(20):
        left = values - columns @ found
        scale = max(1.4826 * float(np.median(np.abs(left))), 1e-3) if _ else float(values.std()) or 1.0
        weights = np.minimum(1.0, 1.345 * scale / np.maximum(np.abs(left), 1e-9))
        normal = (columns * weights[:, None]).T @ columns / scale**2 + np.diag(1.0 / loose**2)
        found = np.linalg.solve(normal, (columns * weights[:, None]).T @ values / scale**2 + prior / loose**2)
    return found


@dataclass(frozen=True, kw_only=True)
class Slope:
    """A green by its rolls: components of the slope over its resistance, and the resistance."""

    u: float
    w: float
    resistance: float

    def down(self, heading: Any) -> Any:
        """Slope downhill ahead over resistance, along headings clockwise."""
        return self.u * np.cos(heading) - self.w * np.sin(heading)

    def left(self, heading: Any) -> Any:
        """The same across them, positive where it falls to the left."""
        return self.w * np.cos(heading) + self.u * np.sin(heading)


def slope_of(rolls: pd.DataFrame) -> Slope:
    """Fit 1/distance, which is linear in the slope along a roll."""
    heading = rolls["heading"].to_numpy()
    columns = np.stack([np.ones(len(rolls)), -np.cos(heading), np.sin(heading)], axis=1)
    flat, down, left = huber(columns, 1.0 / rolls["distance"].to_numpy(), np.zeros(3), np.full(3, np.inf))
    c = resistance_from_distance(1.0 / flat, RELEASE, 0.0, constants.GRAVITY.value, constants.BALL_INERTIA.value)
    return Slope(u=float(down / flat), w=float(left / flat), resistance=float(c))


@dataclass(frozen=True, kw_only=True)
class Runs:
    """The analyst's regression: run, drift and scatter."""

    slope: Slope
    run: Floats
    drift: Floats
    errors: Floats
    looser: dict[str, Floats]

    def log_run(self, loft: Any, rough: Any, landing: Any, heading: Any) -> Any:
        """Logarithm of the run expected."""
        return np.tensordot(self.run, run_terms(self.slope, loft, rough, landing, heading), axes=1)


def run_terms(slope: Slope, loft: Any, rough: Any, landing: Any, heading: Any) -> Floats:
    """Terms of the regression of the logarithm of run."""
    way, club = np.log(np.maximum(landing, 0.5) / 8.0), np.asarray(loft) - 0.85
    down = -np.log(np.clip(1.0 - slope.down(heading), 0.2, 3.0))
    one = np.ones(np.broadcast_shapes(np.shape(way), np.shape(club), np.shape(down)))
    return np.stack([one, club * one, rough * one, way * one, club * way * one, club**2 * one, down * one])


TERMS = ("one", "loft", "rough", "landing", "loft x landing", "loft^2", "down")
LOOSE = (np.inf, np.inf, 0.3, 0.5, 1.0, 2.0, 0.3)
"""How sure weak priors are that keep what few chips leave open near what anybody would expect."""

OTHER_TURF = 0.3
"""Spread of the logarithm of run from one week's turf to another's, of which each week has a term of its own."""


def regress(sheets: Sheets, past: Sequence[Sheets] = ()) -> Runs:
    """Fit everything that the analyst reads out of the sheets; those of earlier weeks with a run of their own."""
    weeks = [_rows(one) for one in (sheets, *past)]
    rows = pd.concat([week.assign(week=number) for number, week in enumerate(weeks)], ignore_index=True)
    own = (rows["week"].to_numpy()[:, None] == np.arange(1, len(weeks))).astype(float)
    terms = np.concatenate([rows[list(TERMS)].to_numpy(), own], axis=1)
    prior = np.concatenate([[0.0, -2.0, 0.1, 0.8, 0.0, 0.0, 1.0], np.zeros(len(past))])
    loose = np.concatenate([LOOSE, np.full(len(past), OTHER_TURF)])
    struck, log_run = rows["struck"].to_numpy(bool), rows["log_run"].to_numpy()
    found = huber(terms[struck], log_run[struck], prior, loose)
    seen = struck & rows["side"].notna().to_numpy()
    drift = huber(
        rows[["rest", "across"]].to_numpy()[seen],
        rows["side"].to_numpy()[seen],
        np.array([0.0, 0.5]),
        np.array([0.05, 0.4]),
    )
    errors = pd.DataFrame(
        {
            "club": rows["club"],
            "landing": rows["missed"],
            "run": np.clip(log_run - terms @ found, -1.2, 1.2),
            "side": (rows["side"] - rows[["rest", "across"]].to_numpy() @ drift) / rows["rest"],
        }
    ).dropna()
    return Runs(slope=slope_of(sheets.rollouts.frame), run=found[: len(TERMS)], drift=drift, **scatter(errors))


def _rows(sheets: Sheets) -> pd.DataFrame:
    """Return the chips of a week, with the terms of the regression."""
    slope, chips = slope_of(sheets.rollouts.frame), sheets.chips.frame
    landing, heading = chips["carry"].fillna(chips["target_carry"]).to_numpy(), chips["heading"].to_numpy()
    loft = chips["club"].map({name: club.loft for name, club in BAG.items()}).to_numpy(float)
    rough, run = (chips["lie"] == "light rough").to_numpy(float), (chips["rest"] - landing).to_numpy()
    return chips[["club", "side", "rest"]].assign(
        **dict(zip(TERMS, run_terms(slope, loft, rough, landing, heading), strict=True)),
        log_run=np.log(np.maximum(run, 0.1)),
        struck=(chips["strike"] == "") & (landing > chips["edge"]),
        across=run * slope.left(heading),
        missed=np.log(np.clip(chips["carry"] / chips["target_carry"], 0.4, 1.6)),
    )


def scatter(errors: pd.DataFrame) -> dict[str, Any]:
    """Return the errors of all chips over their club's scatter, and each club's, drawn towards that of all."""
    values, clubs = errors[["landing", "run", "side"]].to_numpy(), errors["club"].to_numpy()
    pooled = np.sqrt((values**2).mean(axis=0))
    looser = {}
    for name in np.unique(clubs):
        own = values[clubs == name]
        looser[str(name)] = np.sqrt(((own**2).sum(axis=0) + SHRUNK * pooled**2) / (len(own) + SHRUNK))
    scaled = np.stack([row / looser[str(club)] for row, club in zip(values, clubs, strict=True)])
    lofts = np.array([BAG[name].loft for name in looser])
    order = np.argsort(lofts)
    table = np.stack(list(looser.values()))[order]
    by_club = {
        name: np.array([np.interp(club.loft, lofts[order], table[:, k]) for k in range(3)])
        for name, club in BAG.items()
    }
    return {"errors": np.concatenate([scaled, scaled * [1.0, 1.0, -1.0]]), "looser": by_club}


def analyst(sheets: Sheets, position: Position, heading: float, past: Sequence[Sheets] = ()) -> Choice:
    """Choose by regression; `heading` of the line of play is anticlockwise, as a case has it."""
    found = regress(sheets, past)
    left = PuttLeft(putts=putts_to_hole_out(), resistance=found.slope.resistance)
    landings = np.linspace(position.to_edge + 0.2, position.to_pin, 60)
    best: tuple[float, Choice] | None = None
    for club in BAG:
        strokes, starts = _expected(found, club, landings, position, -heading, left)
        at = int(np.argmin(strokes))
        if best is None or strokes[at] < best[0]:
            best = float(strokes[at]), Choice(club=club, landing=float(landings[at]), direction=float(starts[at]))
    assert best is not None
    return best[1]


def _expected(
    found: Runs, club: str, landings: Floats, position: Position, heading: float, left: PuttLeft
) -> tuple[Floats, Floats]:
    """Expected strokes and start line of every landing with one club."""
    slope, rough = found.slope, float(position.lie == "light rough")
    error = found.errors * found.looser[club]
    meant = np.exp(found.log_run(BAG[club].loft, rough, landings, heading))
    starts = -found.drift[1] * meant * slope.left(heading) / (landings + meant)
    lands = landings[:, None] * np.exp(error[:, 0])
    run = np.exp(found.log_run(BAG[club].loft, rough, lands, heading) + error[:, 1])
    run = np.where(lands < position.to_edge, SOFTER * run, run)
    rest = lands + run
    side = rest * (starts[:, None] + error[:, 2]) + found.drift[1] * run * slope.left(heading)
    short = position.to_pin - rest
    grade, fall = slope.resistance * math.hypot(slope.u, slope.w), math.atan2(slope.w, slope.u) + heading
    cross = grade * np.sin(fall - np.arctan2(-side, short))
    putts = left(np.clip(np.hypot(short, side), 0.05, 40.0), cross) + OFF_GREEN * (rest < position.to_edge)
    return 1.0 + putts.mean(axis=1), starts


# --- no sheets -------------------------------------------------------------------------------------------------------
def by_feel(case: Case, errors: tuple[float, ...], rng: np.random.Generator) -> list[Choice]:
    """Choose by eye, notice board and feel; the same chances for every size of error of feel, in `errors`."""
    green = case.truth.draws.green
    east, north = (
        green.grade * turn(green.fall_direction) + EYE_SD * rng.standard_normal() for turn in (np.cos, np.sin)
    )
    whole = 10.0 / (10.0 + BOARD_SD_FT * rng.standard_normal())
    law = green.resistance
    felt = replace(law, **{name: whole * getattr(law, name) for name in ("constant", "linear", "quadratic")})
    judged = replace(green, resistance=felt, grade=math.hypot(east, north), fall_direction=math.atan2(north, east))
    world = replace(case.truth, draws=replace(case.truth.draws, green=judged))
    found = search_landings(case.swings(world), KNOWN)
    chance = float(rng.standard_normal())
    return [_misjudged(found, math.exp(size * chance)) for size in errors]


def _misjudged(search: Search, factor: float) -> Choice:
    """Return the landing whose run, misjudged by a factor, ends where that of the best landing does."""
    number, best = int(np.argmin(search.cost)), chosen_of(search)
    swings, tried = search.swings.at([number]).centre, search.landing[number]
    meant = swings.meant(tried[None])
    aimed = replace(meant, direction=np.asarray(meant.direction) + search.direction[number, :, None])
    shots = swings.world.play(aimed)
    rest, stops = (np.asarray(values)[0, 0, :, 0] for values in (shots.rest_x, shots.stops))
    usable = np.isfinite(rest) & stops
    landing, believed = tried[usable], (tried + factor * (rest - tried))[usable]
    wanted = float(np.interp(best.landing, landing, rest[usable]))
    at = float(np.interp(wanted, np.maximum.accumulate(believed), landing))
    return replace(best, landing=at)


def always(club: str, found: Search) -> Choice:
    """Take one club to its best spot, everything known."""
    return chosen_of(found, found.labels.index(club))


def chosen_of(found: Search, number: int | None = None) -> Choice:
    """Return the best spot of one of the choices, of the best if left out."""
    row = int(np.argmin(found.cost)) if number is None else number
    landing, direction = (float(found.at_best(values)[row]) for values in (found.landing, found.direction))
    return Choice(club=found.labels[row], landing=landing, direction=direction)
