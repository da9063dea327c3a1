"""Seeded numbers are the same on one thread and on many; and the comparison of environments notices what is not."""

import math
import os
import sys
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import numpy as np
import pytest
import versions

from golfphys.fitting.rollouts import fit_rollouts
from golfphys.physics import shot
from golfphys.physics.club import Launch
from golfphys.physics.green import Green, Ground, Resistance, Strip
from golfphys.physics.shot import Shots, simulate
from golfphys.planning import plan_chip
from golfphys.sheets import read_rollouts

GREEN = Green.from_stimp(10.0, grade=0.02, fall_direction=2.0)
GROUNDS = {
    "plane": GREEN,
    "strips": Ground(green=GREEN, strips=(Strip(until=5.0, resistance=Resistance(constant=0.25)),)),
}


def same(one: Shots, other: Shots) -> bool:
    """Equal to the last bit."""
    return all(np.array_equal(getattr(one, name), getattr(other, name), equal_nan=True) for name in vars(one))


@pytest.mark.parametrize("ground", GROUNDS)
def test_one_thread_and_many_play_the_same_shots(ground: str, monkeypatch: pytest.MonkeyPatch) -> None:
    random = np.random.default_rng(2)
    launch = Launch(random.uniform(0, 20, 2000), random.uniform(-0.5, 1.5, 2000), random.uniform(-900, 900, 2000))
    whole = simulate(launch, GROUNDS[ground])
    monkeypatch.setattr(shot, "CHUNK", 150)
    for count in (1, 2, 7):
        monkeypatch.setattr(os, "cpu_count", lambda count=count: count)
        assert same(simulate(launch, GROUNDS[ground]), whole)


def test_calls_at_the_same_time_do_not_disturb_each_other() -> None:
    """Shots, fits and plans asked for by four threads at once are those that one gives."""
    sheet = read_rollouts(versions.ROOT / "data" / "demo" / "rollouts.csv")
    launch = Launch(np.linspace(5, 14, 500), 0.6, 250.0)

    def work(_number: int) -> tuple[Any, ...]:
        plan = plan_chip(GREEN, to_edge=3.0, to_pin=15.0, landings=9, shots=32)
        return simulate(launch, GREEN), fit_rollouts(sheet, draws=200).estimates, plan.table

    shots, estimates, table = work(0)
    with ThreadPoolExecutor(4) as threads:
        for found in threads.map(work, range(4)):
            assert same(found[0], shots)
            assert found[1].equals(estimates)
            assert found[2].equals(table)


@pytest.mark.thorough
def test_threads_of_the_libraries_change_nothing_that_matters() -> None:
    """In fresh processes, with one thread and with two for linear algebra and compiled code."""
    names = ("closed forms", "rolls", "strikes", "chips", "chips over strips", "fit of rolls", "plan")
    one, two = (versions.numbers_of(sys.executable, names, threads=count) for count in (1, 2))
    lines, good = versions.compared([one, two])
    assert good, "\n".join(lines)
    for name in ("closed forms", "rolls", "strikes", "chips", "chips over strips"):
        assert one["numbers"][name] == two["numbers"][name], name


def test_the_comparison_notices(monkeypatch: pytest.MonkeyPatch) -> None:
    """A number too far off, one missing, one that is none, and an estimate moved by its standard deviation."""
    numbers = {"rolls": [1.0, 2.0, math.nan], "fit of rolls": [1.0, 0.8, 1.2, 0.1]}
    first = {"versions": {"python": "3"}, "numbers": numbers}

    def other(**changed: list[float]) -> dict[str, Any]:
        return {
            "versions": {"python": "4"},
            "numbers": {**numbers, **{k.replace("_", " "): v for k, v in changed.items()}},
        }

    assert versions.compared([first, other()])[1]
    assert versions.compared([first, other(rolls=[1.0 + 1e-10, 2.0, math.nan])])[1]
    assert not versions.compared([first, other(rolls=[1.0 + 1e-8, 2.0, math.nan])])[1]
    assert not versions.compared([first, other(rolls=[1.0, 2.0])])[1]
    assert not versions.compared([first, other(rolls=[1.0, math.inf, math.nan])])[1]
    assert not versions.compared([first, other(rolls=[1.0, 2.0, 3.0])])[1]
    assert versions.compared([first, other(fit_of_rolls=[1.001, 0.8, 1.2, 0.1])])[1]
    lines, good = versions.compared([first, other(fit_of_rolls=[1.1, 0.8, 1.2, 0.1])])
    assert not good
    assert any("TOO FAR" in line for line in lines)
    with pytest.raises(RuntimeError, match="failed"):
        versions.numbers_of(sys.executable, ["no such calculation"])


def test_every_calculation_gives_numbers() -> None:
    """The quick ones here; those that take seconds when environments are compared."""
    for name in ("closed forms", "rolls", "strikes", "chips", "chips over strips", "putting", "surveyed green"):
        found = np.asarray(versions.CALCULATIONS[name].work(), dtype=float)
        assert found.size > 2
        assert np.isfinite(found).all(), name
