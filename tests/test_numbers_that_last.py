"""Seeded numbers are the same on one thread and on many; and the comparison of environments notices what is not."""

import math
import os
import sys
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import pytest
import versions

import golfphys
from golfphys.physics import shot

GREEN = golfphys.Green.from_stimp(10.0, grade=0.02, fall_direction=2.0)
FRINGE = golfphys.Strip(until=5.0, resistance=golfphys.Resistance(constant=0.25))


def same(one: Any, other: Any) -> bool:
    """Whether two results are equal to the last bit."""
    return all(np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True) for name in vars(one))


@pytest.mark.parametrize("ground", [GREEN, golfphys.Ground(green=GREEN, strips=(FRINGE,))], ids=["plane", "strips"])
def test_one_thread_and_many_play_the_same_shots(ground: Any, monkeypatch: pytest.MonkeyPatch) -> None:
    """However a batch is cut, and however many processors there are."""
    random = np.random.default_rng(2)
    limits = ((0, 20), (-0.5, 1.5), (-900, 900))
    launch = golfphys.Launch(*(random.uniform(*ends, 2000) for ends in limits))
    whole = golfphys.simulate(launch, ground)
    monkeypatch.setattr(shot, "CHUNK", 150)
    for count in (1, 7):
        monkeypatch.setattr(os, "cpu_count", lambda count=count: count)
        assert same(golfphys.simulate(launch, ground), whole)


def test_calls_at_the_same_time_do_not_disturb_each_other() -> None:
    """Shots, fits and plans asked for by four threads at once are those that one gives."""
    sheet = golfphys.read_rollouts(versions.ROOT / "data" / "demo" / "rollouts.csv")
    launch = golfphys.Launch(np.linspace(5, 14, 500), 0.6, 250.0)

    def work(_number: int) -> tuple[Any, ...]:
        few = golfphys.Effort(draws=8, landings=9, errors=4, last=16)
        plan = golfphys.plan_chip(golfphys.assumed(GREEN), to_edge=3.0, to_pin=15.0, effort=few)
        return golfphys.simulate(launch, GREEN), golfphys.fit(sheet, draws=200).estimates, plan.table

    shots, estimates, table = work(0)
    with ThreadPoolExecutor(4) as threads:
        for found in threads.map(work, range(4)):
            assert same(found[0], shots)
            assert found[1].equals(estimates)
            assert found[2].equals(table)


@pytest.mark.thorough
def test_threads_of_the_libraries_change_nothing_that_matters() -> None:
    """In fresh processes, with one thread and with two for linear algebra and compiled code."""
    names = ("closed forms", "chips", "chips over a fringe", "fit of rolls", "plan")
    one, two = (versions.numbers_of(sys.executable, names, threads=count) for count in (1, 2))
    lines, good = versions.compared([one, two])
    assert good, "\n".join(lines)
    assert one["chips"] == two["chips"]


def test_the_comparison_notices() -> None:
    """A number too far off, one missing, one that is none, and an estimate moved by a tenth of its deviation."""
    first = {"chips": [1.0, 2.0, math.nan], "fit of rolls": [1.0, 0.8, 1.2, 0.1]}
    for other, good in {
        (1.0 + 1e-8, 2.0, math.nan): True,
        (1.0 + 1e-4, 2.0, math.nan): False,
        (1.0, 2.0): False,
        (1.0, math.inf, math.nan): False,
        (1.0, 2.0, 3.0): False,
    }.items():
        assert versions.compared([first, first | {"chips": list(other)}])[1] is good
    assert versions.compared([first, first | {"fit of rolls": [1.001, 0.8, 1.2, 0.1]}])[1]
    assert not versions.compared([first, first | {"fit of rolls": [1.01, 0.8, 1.2, 0.1]}])[1]
