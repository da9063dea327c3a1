"""What it costs to fit her log visit by visit: seconds of processor and memory by its chips.

An invented player visits ten invented courses; each visit has 16 rolls and its chips, four clubs up a ladder from two
lies. Measured are single visits of 40 and of 200 chips, three and ten of 200, and eight players on one course with 40
each. Every line is measured in a process of its own, so that its peak of memory is its own too; what is imported and
compiled counts in memory, not in seconds.

    python tests/studies/cost_weeks.py    # about five minutes of processor

The result goes to ``cost_weeks.csv`` beside this file; lines that it has are not measured again.
"""

import resource
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from multiprocessing import get_context
from pathlib import Path

from tally import recorded

import golfphys

MEASURED = ((1, 1, 40), (8, 1, 40), (1, 1, 200), (1, 3, 200), (1, 10, 200))
"""Players, visits of each, chips of each visit."""


def visit(number: int, player: int, chips: int) -> tuple[object, ...]:
    """Return the sheets of a visit to the course of a number."""
    green = golfphys.Green.from_stimp(8.5 + 0.3 * number, grade=0.005 + 0.002 * number)
    truth = golfphys.CourseTruth(greens={"practice": green})
    station = golfphys.Station(spot="practice", heading=0.0, edge=2.0)
    design = golfphys.ChipDesign(stations=(station,), repeats=chips // 8, ladder=True)
    delivery = replace(golfphys.TOUR_PLAYER.delivery, shaft_lean=0.10 + 0.015 * player)
    hers = replace(golfphys.TOUR_PLAYER, delivery=delivery)
    rolls = golfphys.make_rollouts(truth, golfphys.RolloutDesign(repeats=2), number)
    return rolls, golfphys.make_chips(truth, design, 100 * player + number, player=hers)


def cost(players: int, visits: int, chips: int) -> dict[str, float]:
    golfphys.fit(*visit(0, 0, 8))  # compiles
    logs = {str(player): [visit(number, player, chips) for number in range(visits)] for player in range(players)}
    began = time.process_time()
    for log in logs.values():
        fit = golfphys.fit_weeks(log)[-1]
    seconds, count = time.process_time() - began, players * visits * chips
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    asked = {"players": players, "visits": visits, "chips_a_visit": chips, "chips": count}
    found = {"cpu_s": round(seconds, 1), "cpu_s_per_chip": round(seconds / count, 3), "peak_mb": round(peak)}
    return asked | found | {"draws_worth": round(fit.posterior.effective_draws)}


if __name__ == "__main__":
    context = get_context("spawn")
    with ProcessPoolExecutor(1, mp_context=context, max_tasks_per_child=1) as alone:
        known_by = ("players", "visits", "chips_a_visit")
        table = recorded(Path(__file__).with_suffix(".csv"), cost, MEASURED, known_by, alone)
    print(table.to_string(index=False))
