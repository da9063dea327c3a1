"""Study: what a plan made from an hour of measuring loses against the plan of someone who knows the truth.

Every case has its own course, player and position, drawn from spreads as wide as a coach would meet: green speed,
slope, turf, delivery, friction of two lies, and a scatter that differs from club to club. The truth is known, so every
way of deciding can be played out on it: the club and landing spot that it picks, and the start line it gives, are
played by the true player on the true ground with the same errors of hers, and its expected strokes are set against
those of the plan made with the truth.

Ways of deciding:

* ``measured``: 12 rollouts, 10 drops and 40 chips (4 clubs, each up a ladder of landings from 3 to 16 m, 2 lies, some
  cells blank, one thin strike) as an hour gives them, fitted, the plan made on the joint posterior;
* ``half the measuring``: 6 rollouts, 6 drops and 20 chips;
* ``notice board``: the green speed as the course states it, all else from the handbook;
* ``handbook``: no measuring at all: published turf, a green of 10 ft, no slope, the stated default player;
* ``<club> for everything`` and ``always just on``: fixed habits with perfect knowledge of course and player.

Run ``python tests/studies/decision_quality.py``; it writes decision_quality_cases.csv as it goes, decision_quality.csv
and .md at the end. ``--cases 20`` is a quick look; a run that was stopped goes on where it was.
"""

import argparse
import datetime
import math
import sys
import time
from collections.abc import Mapping
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from golfphys.invented import (
    ChipDesign,
    CourseTruth,
    DropDesign,
    RolloutDesign,
    Station,
    make_chips,
    make_drops,
    make_rollouts,
)
from golfphys.physics.club import BAG, LIES, Delivery, Lie, Player, Scatter
from golfphys.physics.draws import Draws, stated
from golfphys.physics.errors import TOUR_ERRORS
from golfphys.physics.green import Green, Turf
from golfphys.physics.usual import LOCAL_SLOPE
from golfphys.planning import Effort, Position, course_draws
from golfphys.planning.habits import JUST_ON, PACE_ON
from golfphys.planning.options import Choice as Played
from golfphys.planning.plan import make_world
from golfphys.planning.search import Search, play_all, play_best, search_spots, searched
from golfphys.planning.swings import swings_for
from golfphys.planning.world import World, normals

HERE = Path(__file__).parent
SPOT = "home-left"
CASES = 240
SEED = 20250601
FINAL, DRAWS = 2048, 800
EFFORT = Effort(draws=64, landings=31, errors=8, last=64)
KNOWN = Effort(draws=1, landings=31, errors=256, last=512)
HANDBOOK_FT = 10.0
"""Green speed of the handbook: between the medians of bent, 9.0, and bent-poa, 11.0 ft (Woods 2017, read)."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """One course, player and position, with the truth about them."""

    number: int
    green: Green
    player: Player
    lies: Mapping[str, Lie]
    position: Position
    heading: float


def draw_case(number: int) -> Case:
    """Draw a case; the same number always gives the same."""
    rng = np.random.default_rng([SEED, number])
    turf = Turf(
        restitution=float(np.clip(rng.normal(0.51, 0.05), 0.38, 0.64)),
        tilt=float(np.clip(rng.normal(0.269, 0.04), 0.15, 0.4)),
        friction=float(np.clip(rng.normal(0.40, 0.08), 0.2, 0.6)),
        skid_friction=float(np.clip(rng.normal(0.40, 0.08), 0.2, 0.6)),
    )
    green = Green.from_stimp(
        float(rng.uniform(7.5, 12.5)),
        grade=float(rng.uniform(0.0, 0.03)),
        fall_direction=float(rng.uniform(-math.pi, math.pi)),
        turf=turf,
    )
    lies = {
        name: replace(LIES[name], friction=float(LIES[name].friction * math.exp(0.25 * rng.standard_normal())))
        for name in ("fairway", "light rough")
    }
    edge = float(rng.uniform(1.0, 8.0))
    position = Position(
        to_edge=edge, to_pin=edge + float(rng.uniform(4.0, 20.0)), lie=str(rng.choice(["fairway", "light rough"]))
    )
    heading = float(rng.uniform(0.0, 2 * math.pi))
    return Case(number=number, green=green, player=draw_player(rng), lies=lies, position=position, heading=heading)


def draw_player(rng: np.random.Generator) -> Player:
    """Draw a player: one delivery, and a scatter that grows or shrinks with loft and differs from club to club."""
    delivery = Delivery(
        speed=8.0,
        attack=float(np.clip(rng.normal(math.radians(-4.0), math.radians(1.5)), -0.15, 0.02)),
        shaft_lean=float(np.clip(rng.normal(math.radians(8.0), math.radians(2.5)), 0.02, 0.25)),
    )
    usual = Scatter(
        distance_absolute=float(0.25 * math.exp(0.35 * rng.standard_normal())),
        distance_relative=float(0.07 * math.exp(0.35 * rng.standard_normal())),
        direction=math.radians(1.7) * math.exp(0.3 * rng.standard_normal()),
        angle=math.radians(1.5) * math.exp(0.3 * rng.standard_normal()),
        spin_relative=float(0.10 * math.exp(0.3 * rng.standard_normal())),
    )
    trend = rng.normal(0.8, 0.8)
    middle = BAG["gap wedge"].loft
    by_club = {
        name: replace(
            usual,
            distance_relative=float(
                usual.distance_relative * math.exp(trend * (club.loft - middle) + 0.15 * rng.standard_normal())
            ),
        )
        for name, club in BAG.items()
    }
    errors = replace(
        TOUR_ERRORS,
        **{
            name: getattr(TOUR_ERRORS, name) * math.exp(0.35 * rng.standard_normal())
            for name in ("speed", "direction", "attack", "shaft_lean", "low_point", "height")
        },
    )
    return Player(name="invented player", delivery=delivery, scatter=usual, by_club=by_club, errors=errors)


@dataclass(frozen=True, kw_only=True)
class Choice:
    """What a plan tells the player to do."""

    club: str
    landing: float
    direction: float


def choose(draws: Draws, case: Case, *, seed: int) -> Choice:
    """Plan with what is known, and return the choice."""
    effort = replace(EFFORT if len(draws) > 1 else KNOWN, seed=seed)
    world = make_world(draws, case.position, None, effort)
    found = searched([Played(club=name) for name in BAG], world, effort)
    played = play_best(found, world, normals(len(world), effort.last, seed + 1))
    return choice_of(min(played, key=lambda item: item.mean + item.search.wary).search)


def choice_of(search: Search) -> Choice:
    """Return what a search's best spot tells the player."""
    return Choice(club=search.label, landing=search.spot, direction=search.aim)


def outcome(choices: Mapping[str, Choice], truth: World) -> dict[str, float]:
    """Play choices with the true player on the true ground, all with the same errors; return expected strokes."""
    swings = swings_for([Played(club=one.club) for one in choices.values()], truth)
    speeds = [swing.speed_for(np.array([one.landing])) for swing, one in zip(swings, choices.values(), strict=True)]
    starts = [np.array([one.direction]) for one in choices.values()]
    found, _ = play_all(swings, truth, speeds, starts, normals(1, FINAL, 2))
    return {name: float(item.strokes.mean()) for name, item in zip(choices, found, strict=True)}


def habits(truth: World) -> dict[str, Choice]:
    """Return what fixed habits do with perfect knowledge, and what the best plan does, under ``"truth"``."""
    found = searched([Played(club=name) for name in BAG], truth, KNOWN)
    best = min(found, key=lambda item: float(item.strokes[item.best]))
    spot = min(truth.position.to_edge + PACE_ON, truth.position.to_pin)
    swings = swings_for([Played(club=name) for name in BAG], truth)
    on = search_spots(swings, truth, KNOWN, [np.array([np.clip(spot, *swing.reach)]) for swing in swings])
    just = min(on, key=lambda item: float(item.strokes[0]))
    return {
        "truth": choice_of(best),
        **{f"{item.label} for everything": choice_of(item) for item in found},
        JUST_ON: choice_of(just),
    }


def measured(case: Case, share: float, rng: np.random.Generator) -> Draws:
    """Measure the course for `share` of an hour, fit, and return the draws seen along the line of play."""
    from golfphys.fitting.joint import fit_course

    truth = CourseTruth(greens={SPOT: case.green})
    headings = (0.0, math.pi / 2, math.pi, 3 * math.pi / 2)
    full = share == 1.0
    rolls = RolloutDesign(headings=headings if full else headings[:3], repeats=3 if full else 2)
    rollouts = make_rollouts(truth, rolls, rng)
    drops = make_drops(truth, DropDesign(repeats=5 if full else 3), rng)
    stations = tuple(Station(spot=SPOT, heading=angle, edge=2.0) for angle in headings)
    # each club up a ladder over the distances at which she will have to land it
    # she allows for the slope and knows the air when she measures, as she does when her plan is played out
    design = ChipDesign(stations=stations, target_low=3.0, target_high=16.0, ladder=True, landings_as_drawn=True)
    chips = make_chips(truth, design, rng, player=case.player, lies={**LIES, **case.lies})
    if not full:
        chips = replace(chips, chips=chips.chips.iloc[::2].reset_index(drop=True))
    # a plan uses 64 draws; fewer than usual are made, for speed
    fit = fit_course(rollouts=rollouts, drops=drops, chips=chips, draws=DRAWS)
    # headings of the sheets are clockwise, lines of play anticlockwise
    return course_draws(fit, SPOT, heading_deg=-math.degrees(case.heading), seed=case.number)


def unmeasured(number: int) -> dict[str, Any]:
    """Decide one case in every way that needs no measuring, and return the expected strokes of each."""
    case = draw_case(number)
    truth = truth_of(case)
    choices = habits(truth)
    line = case.green.turned(case.heading)
    choices["notice board"] = choose(stated(Green(resistance=line.resistance)), case, seed=1)
    choices["handbook"] = choose(stated(Green.from_stimp(HANDBOOK_FT)), case, seed=1)
    row: dict[str, Any] = {"case": number, "lie": case.position.lie, "to_pin_m": round(case.position.to_pin, 2)}
    return row | played_out(choices, truth)


def with_measuring(number: int, name: str) -> dict[str, Any]:
    """Decide one case after measuring, and return the expected strokes."""
    case = draw_case(number)
    share = MEASURING[name]
    began = time.perf_counter()
    draws = measured(case, share, np.random.default_rng([SEED, number, int(10 * share)]))
    spent = round(time.perf_counter() - began, 2)
    choice = choose(draws, case, seed=1)
    return {f"seconds: {name}": spent} | played_out({name: choice}, truth_of(case))


def truth_of(case: Case) -> World:
    """Return the true world."""
    line = case.green.turned(case.heading)
    draws = stated(line, player=case.player, lies={**LIES, **case.lies}, local_slope=LOCAL_SLOPE)
    return World(draws=draws, position=case.position)


def played_out(choices: Mapping[str, Choice], truth: World) -> dict[str, Any]:
    """Return the clubs of the ways that choose one, and the expected strokes of all."""
    strokes = outcome(choices, truth)
    clubs = {f"club: {name}": one.club for name, one in choices.items() if name in NAMED}
    return clubs | {name: round(value, 5) for name, value in strokes.items()}


MEASURING = {"measured": 1.0, "half the measuring": 0.5}
NAMED = ("truth", "measured", "half the measuring", "notice board", "handbook")


def summary(cases: pd.DataFrame) -> pd.DataFrame:
    """Return the mean loss of each way against the truth, its standard error, and how often it picks the same club."""
    ways = [name for name in cases if name not in ("case", "lie", "to_pin_m", "truth") and ":" not in name]
    rows = []
    for way in ways:
        kept = cases[cases[way].notna()]
        loss = kept[way] - kept["truth"]
        same = f"club: {way}"
        agrees = float((kept[same] == kept["club: truth"]).mean()) if same in cases else np.nan
        worst = float(loss.quantile(0.95))
        rows.append((way, loss.mean(), loss.std(ddof=1) / math.sqrt(len(loss)), worst, agrees, len(loss)))
    columns = ["plan", "loss", "se", "loss_95", "same_club", "cases"]
    return pd.DataFrame(rows, columns=columns).sort_values("loss").reset_index(drop=True)


def report(table: pd.DataFrame, cases: pd.DataFrame) -> str:
    """Return the result as a page."""
    lines = [
        "# Decision quality",
        "",
        f"{len(cases)} cases, seed {SEED}, written {datetime.date.today().isoformat()} by decision_quality.py.",
        "Loss: expected strokes a chip over the plan made with the truth, both played by the true player on the true",
        f"green with {FINAL} errors of hers. A ball left off the green costs more by the ground it lies on.",
        "",
        "| way of deciding | cases | mean loss | standard error | 95 % of cases lose less than | club of the truth |",
        "| --- | --- | --- | --- | --- | --- |",
    ]
    for row in table.itertuples():
        same = "" if math.isnan(row.same_club) else f"{100 * row.same_club:.0f} %"
        lines.append(f"| {row.plan} | {row.cases} | {row.loss:.4f} | {row.se:.4f} | {row.loss_95:.3f} | {same} |")
    lines += ["", *_paired(cases)]
    times = [name for name in cases if name.startswith("seconds: ")]
    lines += [""] + [f"Median time, {name.removeprefix('seconds: ')}: {cases[name].median():.1f} s." for name in times]
    return "\n".join(lines) + "\n"


def _paired(cases: pd.DataFrame) -> list[str]:
    """Return what measuring gains over the handbook on the cases that have both."""
    found = []
    for name in MEASURING:
        both = cases[cases[name].notna()] if name in cases else cases[:0]
        if len(both) > 1:
            gain = both["handbook"] - both[name]
            found.append(
                f"On the {len(both)} cases planned after measuring ({name}) the handbook loses {gain.mean():.3f} "
                f"strokes a chip more (standard error {gain.std(ddof=1) / math.sqrt(len(both)):.3f})."
            )
    return found


def main() -> None:
    """Run the study: first what needs no measuring, for all cases; then the measured plans, case by case."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cases", type=int, default=CASES)
    parser.add_argument("--fits", type=int, default=CASES, help="of how many cases the measured plans are made")
    parser.add_argument("--into", type=Path, default=HERE)
    options = parser.parse_args()
    path = options.into / "decision_quality_cases.csv"
    rows = {int(row["case"]): row for row in pd.read_csv(path).to_dict("records")} if path.exists() else {}
    for number in range(options.cases):
        if number not in rows:
            rows[number] = unmeasured(number)
            pd.DataFrame(rows.values()).to_csv(path, index=False)
    for number in range(options.fits):
        for name in MEASURING:
            if pd.isna(rows[number].get(name)):
                rows[number] |= with_measuring(number, name)
                pd.DataFrame(rows.values()).to_csv(path, index=False)
    write(pd.DataFrame(rows.values()), options.into)


def write(cases: pd.DataFrame, folder: Path) -> None:
    """Write the result."""
    table = summary(cases)
    table.round(5).to_csv(folder / "decision_quality.csv", index=False)
    (folder / "decision_quality.md").write_text(report(table, cases), encoding="utf-8")
    sys.stdout.write(table.round(4).to_string() + "\n")


if __name__ == "__main__":
    main()
