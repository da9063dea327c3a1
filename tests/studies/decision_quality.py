"""Study: what a plan made from an hour of measuring loses against knowing the truth, beside able rivals.

Every case has its own course, player and position, drawn from spreads as wide as a coach would meet, all of them
invented. The truth is known, so every way of deciding is played out on it with the same errors of hers: club, landing
spot and start line, against those of the plan made with the truth. Six clubs, each as usually delivered.

* ``measured``: 12 rolls, 10 drops and 40 chips (4 clubs up a ladder of landings, 2 lies) as an hour gives them, fitted,
  the plan made on the fit's draws; ``half the measuring``: 6 rolls, 6 drops, 20 chips;
  ``measured, other seeds``: other draws of fit and plan;
  ``measured before the green too``: with 4 rolls and 6 drops on each kind of ground before the green.
* ``one week past``, ``five weeks past``: the same hour, after weeks of hers on other courses, each half measured.
* ``able analyst``, ``analyst, five weeks``, ``analyst, 120 chips`` (of the same hour), ``feel 8 %``, ``feel 15 %``,
  ``always the sand wedge``: see ``rivals.py``.

Ground before the green is in no other sheets: golfphys holds a landing there against a choice, as does the truth that
losses are counted from; ``knowing the ground before the green`` is a truth without that scruple. Worlds, that of the
fit and two of others, are in ``worlds.py``. A loss is split: by club (at its best spot), by landing, by start line.

Run ``python tests/studies/decision_quality.py``, about 20 s of processor a case; if stopped, it goes on where it was.
Cases run before are decided in the ways that they lack; ``--ways`` names those that are wanted, and ``--anew`` forgets
these where they are known and decides them again; if that is stopped, go on without it. Cases do not depend on how the
work is cut: ``--processes``, or any `concurrent.futures.Executor`, may map `decide`.
"""

import argparse
import math
import time
from collections.abc import Callable, Iterable, Mapping, Sequence
from concurrent.futures import Executor, ProcessPoolExecutor
from contextlib import nullcontext
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from rivals import KNOWN, Choice, always, analyst, by_feel, chosen_of
from tally import each_done, filled
from worlds import SEED, SPOT, WORLDS, Case, Sheets, draw_case, earlier, measure, with_ground

import golfphys
from golfphys.physics.club import BAG
from golfphys.planning import Effort
from golfphys.planning.plan import make_world
from golfphys.planning.position import Choice as Played
from golfphys.planning.search import Search, play_all, play_best, search_landings, searched
from golfphys.planning.world import Swings, normals

HERE = Path(__file__).parent
CASES = (240, 160, 80)  # 80 of the second left open who is ahead: 80 more were run, a number settled beforehand
FINAL = 8192
EFFORT = Effort(draws=64, landings=25, errors=8, last=64)
MORE_EVERY, SEED_EVERY, WEEKS = 12, 4, 5
"""Of so many cases one is also planned after half the measuring and with one week of her past, and one with more ground
measured and with other seeds: fits take their time."""
WEEKS_EVERY = {"fit": 3, "linear": 2, "uneven": 1}
"""Of so many cases of each world one is planned with five weeks of her past, 80 in all; a divisor of `MORE_EVERY`."""
ONE, FIVE, HALF = "one week past", "five weeks past", "half the measuring"
RIVAL, RIVAL_FIVE, RIVAL_MORE = "able analyst", "analyst, five weeks", "analyst, 120 chips"
RESEEDED, BEFORE = "measured, other seeds", "measured before the green too"
KNOWN_BEFORE = "knowing the ground before the green"
HABIT = "always the sand wedge"
PARTS = ("club", "landing", "aim")
MOVED = 0.0005  # strokes by which the truth of a case may be another than when it was run
ONCE = replace(KNOWN, errors=1)


def planned(fit: Any, case: Case, seed: int | None = None) -> Choice:
    """Plan on a fit's draws, with the case's own seed unless another is given."""
    seed = case.number if seed is None else seed
    # headings of the sheets are clockwise, lines of play anticlockwise
    draws = fit.draws(SPOT, EFFORT.draws, seed, heading_deg=-math.degrees(case.heading))
    world = make_world(draws, case.position, None, EFFORT)
    found = searched([Played(club=name) for name in BAG], world, EFFORT)
    best = min(play_best(found, normals(len(world), EFFORT.last, 1)), key=lambda item: item.cost)
    return Choice(club=best.label, landing=best.landing, direction=best.aim)


def past_of(case: Case, weeks: int) -> list[Sheets]:
    """Return the sheets of so many weeks of hers before, on other courses."""
    return [measure(earlier(case, week), 0.5) for week in range(weeks)]


def rival(case: Case, share: float = 1.0, weeks: int = 0) -> Choice:
    """Choose as the able analyst does, with this share of the chips and so many weeks of hers behind him."""
    return analyst(measure(case, share), case.position, case.heading, past_of(case, weeks))


def felt(case: Case, error: float) -> Choice:
    """Choose by feel, with this error of the run."""
    return by_feel(case, (error,), np.random.default_rng([SEED + 2, WORLDS.index(case.world), case.number]))[0]


CHOOSERS: Mapping[str, Callable[[Case, Search], Choice]] = {
    KNOWN_BEFORE: lambda _, known: chosen_of(replace(known, held_against=np.zeros_like(known.held_against))),
    "measured": lambda case, _: planned(golfphys.fit(*measure(case, 1.0)), case),
    BEFORE: lambda case, _: planned(with_ground(golfphys.fit(*measure(case, 1.0)), case), case),
    RESEEDED: lambda case, _: planned(golfphys.fit(*measure(case, 1.0), seed=1), case, seed=1000 + case.number),
    ONE: lambda case, _: planned(golfphys.fit(*measure(case, 1.0), past=past_of(case, 1)), case),
    FIVE: lambda case, _: planned(golfphys.fit(*measure(case, 1.0), past=past_of(case, WEEKS)), case),
    HALF: lambda case, _: planned(golfphys.fit(*measure(case, 0.5)), case),
    RIVAL: lambda case, _: rival(case),
    RIVAL_FIVE: lambda case, _: rival(case, weeks=WEEKS),
    RIVAL_MORE: lambda case, _: rival(case, 3.0),
    "feel 8 %": lambda case, _: felt(case, 0.08),
    "feel 15 %": lambda case, _: felt(case, 0.15),
    HABIT: lambda _, known: always("sand wedge", known),
}
"""How each way of deciding chooses in a case, of which a search knows the truth."""
COLUMNS = (
    *("world", "case", "lie", "to_pin_m", "seconds", "club: truth", "truth"),
    *(name for way in CHOOSERS for name in (f"club: {way}", way, *(f"{part} part: {way}" for part in PARTS))),
)


def ways_of(world: str, number: int) -> list[str]:
    """Return the ways that a case is decided in."""
    every = dict.fromkeys((ONE, HALF), MORE_EVERY) | dict.fromkeys((FIVE, RIVAL_FIVE), WEEKS_EVERY[world])
    seldom = {way for way, many in every.items() if number % many}
    seldom |= {BEFORE, RESEEDED} if number % SEED_EVERY != 1 else set()
    return [way for way in CHOOSERS if way not in seldom]


def decide(world: str, number: int, ways: Sequence[str] = ()) -> dict[str, Any]:
    """Decide one case in these ways, or in all its own, play all of it out, and return the losses and their parts."""
    case = draw_case(world, number)
    known = search_landings(case.swings(case.truth), KNOWN)
    row = {"world": world, "case": number, "lie": case.position.lie, "to_pin_m": round(case.position.to_pin, 2)}
    found = {}
    for way in ways or ways_of(world, number):
        began = time.process_time()
        found[way] = CHOOSERS[way](case, known)
        row |= {"seconds": round(time.process_time() - began, 1)} if way == "measured" else {}
    return row | judged(case, known, found)


def decided(
    path: Path, cases: Sequence[tuple[str, int]], ways: Sequence[str], anew: bool, executor: Executor | None
) -> pd.DataFrame:
    """Decide cases in those of some ways that their rows in a file lack, or `anew`; return all rows of the file.

    Each is kept as soon as it is done. ValueError where the truth of a row has moved: other physics made it.
    """
    table = pd.read_csv(path).reindex(columns=list(COLUMNS)) if path.exists() else pd.DataFrame(columns=list(COLUMNS))
    rows = {(row["world"], row["case"]): row for row in table.astype(object).to_dict("records")}
    for case in (case for case in cases if anew and case in rows):
        rows[case] |= dict.fromkeys((way for way in ways_of(*case) if way in ways), math.nan)

    def lacking(case: tuple[str, int]) -> list[str]:
        return [way for way in ways_of(*case) if way in ways and pd.isna(rows.get(case, {}).get(way))]

    for row in each_done(decide, [(*case, some) for case in cases if (some := lacking(case))], executor):
        case = row["world"], row["case"]
        before = rows.get(case, row)
        if abs(row["truth"] - before["truth"]) > MOVED:
            raise ValueError(f"{case} was run with other physics; take its line out and run it again")
        rows[case] = before | row
        pd.DataFrame(list(rows.values()), columns=list(COLUMNS)).to_csv(path, index=False)
    return pd.read_csv(path)


def judged(case: Case, known: Search, found: Mapping[str, Choice]) -> dict[str, Any]:
    """Play choices out, and return what the truth would have chosen, their strokes and the parts of their losses."""
    at_best = {f"best {club}": chosen_of(known, number) for number, club in enumerate(known.labels)}
    aimed = dict(zip((f"aimed {name}" for name in found), well_aimed(known.swings, list(found.values())), strict=True))
    strokes = played_out(known.swings, at_best | aimed | found)
    wary = known.at_best(known.held_against)
    top = known.labels[int(np.argmin([strokes[f"best {club}"] for club in known.labels] + wary))]
    row: dict[str, Any] = {"club: truth": top, "truth": strokes[f"best {top}"]}
    for name, one in found.items():
        of_club, on_line = strokes[f"best {one.club}"], strokes[f"aimed {name}"]
        parts = (of_club - row["truth"], on_line - of_club, strokes[name] - on_line)
        row |= {f"club: {name}": one.club, name: strokes[name]}
        row |= {f"{part} part: {name}": value for part, value in zip(PARTS, parts, strict=True)}
    return {key: round(item, 5) if isinstance(item, float) else item for key, item in row.items()}


def struck(swings: Swings, choices: Iterable[Choice]) -> tuple[Swings, np.ndarray]:
    """Return the swings of choices with their landing spots, shape (choices, 1)."""
    clubs = [choice.club for choice in swings.choices]
    taken = list(choices)
    return swings.at([clubs.index(one.club) for one in taken]), np.array([[one.landing] for one in taken])


def well_aimed(swings: Swings, choices: Sequence[Choice]) -> list[Choice]:
    """Return the same clubs and landings, each started as somebody would who knows the truth."""
    taken, spots = struck(swings, choices)
    starts = search_landings(taken, ONCE, spots).direction[:, 0].tolist()
    return [replace(one, direction=start) for one, start in zip(choices, starts, strict=True)]


def played_out(swings: Swings, choices: Mapping[str, Choice]) -> dict[str, float]:
    """Play choices with the true player on the true ground, all with the same errors; return expected strokes."""
    taken, spots = struck(swings, choices.values())
    starts = [[one.direction] for one in choices.values()]
    found, _ = play_all(taken, taken.speed_for(spots), starts, normals(1, FINAL, 2))
    return {name: float(found.strokes[:, number].mean()) for number, name in enumerate(choices)}


def summary(cases: pd.DataFrame) -> pd.DataFrame:
    """Return for one world the mean loss of each way, its error, tail and parts, and how it stands to golfphys."""
    rows = []
    for way in CHOOSERS:
        kept = cases[cases[way].notna()]
        if len(kept) < 2:
            continue  # one case has no standard error
        loss, behind = kept[way] - kept["truth"], kept[way] - kept["measured"]
        rows.append(
            {
                "plan": way,
                "loss": loss.mean(),
                "se": loss.sem(),
                "loss_95": loss.quantile(0.95),
                "same_club": (kept[f"club: {way}"] == kept["club: truth"]).mean() if way != HABIT else math.nan,
                "cases": len(loss),
                **{f"{part}_part": kept[f"{part} part: {way}"].mean() for part in PARTS},
                "behind": behind.mean(),
                "behind_se": behind.sem(),
            }
        )
    return pd.DataFrame(rows).sort_values("loss").reset_index(drop=True)


WORDS = {
    "fit": "as the fit assumes",
    "linear": "bounce, spin and resistance by other laws",
    "uneven": "uneven ground, mis-hits of another kind",
}
GOALS = (("fit", "measured", 0.020), ("fit", FIVE, 0.008), ("linear", "measured", 0.015), ("uneven", "measured", 0.015))
"""Strokes a chip that golfphys is to lose at most, set before the run."""
UNRUN = "not enough cases run yet"
ENOUGH = 20  # cases without which nothing is said in golfphys's favour: their standard error is itself not known
UNNOTICED = 0.005  # strokes a chip up to which two ways count as equally good (judged, no source)


def lost(row: pd.Series, digits: int = 3) -> str:
    """Say how many strokes a chip are lost, with the standard error."""
    return f"{row['loss']:.{digits}f} ({row['se']:.{digits}f})"


def compared(rows: pd.DataFrame) -> str:
    """Say how the analyst stands to golfphys with the same sheets."""
    rival = rows.loc[RIVAL]
    behind, error = rival["behind"], rival["behind_se"]
    clear = behind > 2 * error and rival["cases"] >= ENOUGH
    ahead = "the analyst is ahead" if behind < -2 * error else "golfphys is ahead" if clear else "no difference shown"
    return f"{more_or_less(rival)}: {ahead}"


def more_or_less(row: pd.Series) -> str:
    """Say how many strokes a chip a rival loses more or less than golfphys, with the standard error."""
    return f"{abs(row['behind']):.3f} {'more' if row['behind'] >= 0 else 'less'} ({row['behind_se']:.3f})"


def chips_saved(rows: pd.DataFrame) -> str:
    """Say how many strokes a chip the analyst with 120 chips loses more or less than golfphys with 40."""
    if RIVAL_MORE not in rows.index or rows.loc[RIVAL_MORE, "cases"] < ENOUGH:
        return f"no claim, {UNRUN}"
    behind, error = rows.loc[RIVAL_MORE, ["behind", "behind_se"]]
    if behind - 2 * error > 0:
        verdict = "golfphys is ahead"
    elif behind - 2 * error > -UNNOTICED:
        verdict = f"golfphys is as good, to {UNNOTICED} strokes a chip"
    else:
        verdict = "the analyst with 120 is ahead" if behind + 2 * error < 0 else "no claim"
    return f"{more_or_less(rows.loc[RIVAL_MORE])}: {verdict}"


def of_world(rows: pd.DataFrame) -> pd.DataFrame:
    """Return the table of one world as text: each way of deciding, from the best to the worst."""
    table = []
    for way, row in rows.iterrows():
        same = f"{100 * row['same_club']:.0f} %" if row["same_club"] >= 0 else ""
        parts = (f"{row[f'{part}_part']:.4f}" for part in PARTS)
        over = "" if way == "measured" else f"{row['behind']:+.4f} ({row['behind_se']:.4f})"
        table.append([way, f"{row['cases']:.0f}", lost(row, 4), f"{row['loss_95']:.3f}", same, *parts, over])
    heads = ("way of deciding", "cases", "mean loss", "95 % lose less", "club of the truth")
    return pd.DataFrame(table, columns=[*heads, "by club", "by landing", "by start line", "over measured"])


def side_by_side(worlds: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Return a row of text for each world: what golfphys and the analyst lose."""
    table = {}
    for world, words in WORDS.items():
        if world not in worlds:
            table[words] = [UNRUN, *5 * [""]]
            continue
        rows, weeks = worlds[world], UNRUN
        if {FIVE, RIVAL_FIVE} <= set(rows.index):
            mine, other = (lost(rows.loc[way]) for way in (FIVE, RIVAL_FIVE))
            weeks = f"golfphys {mine}, the analyst {other}, in {rows.loc[FIVE, 'cases']:.0f} cases"
        both = (lost(rows.loc[way]) for way in ("measured", RIVAL))
        table[words] = [f"{rows.loc['measured', 'cases']:.0f}", *both, compared(rows), weeks, chips_saved(rows)]
    heads = ("cases", "golfphys loses", "the analyst loses", "that is", "with five earlier weeks")
    found = pd.DataFrame.from_dict(table, orient="index", columns=[*heads, "the analyst with 120 chips loses"])
    return found.reset_index(names="in an invented world")


def goals(worlds: Mapping[str, pd.DataFrame]) -> pd.DataFrame:
    """Say whether the goals are met, as far as their cases can tell."""
    table = []
    for world, way, most in GOALS:
        if way in worlds.get(world, pd.DataFrame()).index:
            row = worlds[world].loc[way]
            low, high = row["loss"] - 2 * row["se"], row["loss"] + 2 * row["se"]
            open_ = "not met" if low > most else "left open by so few cases"
            met = "met" if high <= most and row["cases"] >= ENOUGH else open_
            table.append([WORDS[world], way, f"{most:.3f}", lost(row, 4), f"{row['cases']:.0f}", met])
    return pd.DataFrame(table, columns=["world", "way", "lost at most", "found", "cases", "so it is"])


def tables(folder: Path) -> dict[str, pd.DataFrame]:
    """Return the tables of the pages, from the committed numbers."""
    found = pd.read_csv(folder / "decision_quality_worlds.csv").groupby("world", sort=False)
    worlds = {str(world): rows.set_index("plan") for world, rows in found}
    shown = {world: of_world(rows) for world, rows in worlds.items()}
    return {"worlds": side_by_side(worlds), "goals": goals(worlds), **shown}


def write(cases: pd.DataFrame, folder: Path) -> None:
    """Write the result: the world of the fit, all worlds, and the tables of the pages."""
    cases = cases.sort_values(["world", "case"]).reset_index(drop=True)
    found = {world: summary(part) for world in WORLDS if len(part := cases[cases["world"] == world]) > 1}
    kept = ["plan", "loss", "se", "loss_95", "same_club", "cases"]
    next(iter(found.values()))[kept].round(5).to_csv(folder / "decision_quality.csv", index=False)
    everything = pd.concat([table.assign(world=world) for world, table in found.items()])
    everything.round(5).to_csv(folder / "decision_quality_worlds.csv", index=False)
    if folder == HERE:
        for page in (HERE / "decision_quality.md", HERE.parents[1] / "README.md"):
            page.write_text(filled(page.read_text(encoding="utf-8"), tables(HERE)), encoding="utf-8")


def main() -> None:
    """Run the study, case by case, worlds in turn."""
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--cases", type=int, nargs=3, default=CASES, help="cases of each world")
    parser.add_argument("--processes", type=int, default=1)
    parser.add_argument("--into", type=Path, default=HERE)
    parser.add_argument("--ways", nargs="+", choices=CHOOSERS, default=list(CHOOSERS), help="of deciding; else all")
    parser.add_argument("--anew", action="store_true", help="decide in these ways again where they are known")
    options = parser.parse_args()
    asked = dict(zip(WORLDS, options.cases, strict=True))
    # in step, so that a run that is stopped has its share of every world
    order = sorted(((number + 0.5) / many, world, number) for world, many in asked.items() for number in range(many))
    cases, path = [(world, number) for _, world, number in order], options.into / "decision_quality_cases.csv"
    with ProcessPoolExecutor(options.processes) if options.processes > 1 else nullcontext() as executor:
        write(decided(path, cases, options.ways, options.anew, executor), options.into)


if __name__ == "__main__":
    main()
