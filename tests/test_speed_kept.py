"""The comparison of benchmarks with what was recorded: its arithmetic, its file, and that what it measures runs."""

import math
import sys

import pytest
from conftest import ROOT

sys.path.insert(0, str(ROOT / "tests" / "benchmarks"))

import compare
from compare import Cost


def test_costs_are_compared_as_ratios() -> None:
    """What costs more than the factor is flagged, by ratio and not by time; what is new is not."""
    old = {"a": Cost(2.0, 100.0, "x"), "b": Cost(2.0, 100.0, "x"), "gone": Cost(1.0, 1.0, "x")}
    new = {"a": Cost(2.5, 900.0, "x"), "b": Cost(2.7, 10.0, "x"), "c": Cost(9.0, 1.0, "x")}
    lines, worse = compare.compared(old, new, 1.3)
    assert worse == ["b"]
    assert len(lines) == 4
    assert [("SLOWER" in line) for line in lines] == [False, False, True, False]
    assert "new" in lines[3]
    assert compare.compared(old, {"a": Cost(math.nan, 1.0, "x")})[1] == ["a"]
    assert compare.compared(old, old)[1] == []


def test_what_is_recorded_reads_back() -> None:
    costs = {"a chip, in a batch": Cost(0.000712, 0.0019, "the same chip"), "b": Cost(12.25, 1e3, "import numpy")}
    text = compare.written(costs, "2025-05-06", "x86 2 cores")
    assert compare.read(text) == costs
    assert text.splitlines()[1] == "measure,ratio,milliseconds,over,date,machine"
    assert compare.merged(costs, {"b": Cost(1.0, 1.0, "y")}, 1) == {**costs, "b": Cost(1.0, 1.0, "y")}
    assert compare.merged(costs, {"b": Cost(1.0, 1.0, "y")}, len(compare.GROUPS)) == {"b": Cost(1.0, 1.0, "y")}


def test_a_run_measures_records_and_flags(tmp_path, monkeypatch, capsys) -> None:
    """The whole way with one quick group in place of the real ones: recorded, the same again, then slower."""
    cost = {"one": 2.0}
    monkeypatch.setattr(compare, "RECORDED", tmp_path / "recorded.csv")
    monkeypatch.setattr(compare, "GROUPS", {"only": lambda: {"one": Cost(cost["one"], 1.0, "x")}})
    assert compare.main(["--record"]) == 0
    assert "recorded 1 costs" in capsys.readouterr().out
    assert compare.main([]) == 0
    assert "nothing is slower" in capsys.readouterr().out
    cost["one"] = 3.0
    assert compare.main([]) == 1
    assert "slower: one" in capsys.readouterr().out
    assert compare.main(["--factor", "2"]) == 0


def test_the_yardstick_and_imports_can_be_measured() -> None:
    """Costs are positive, and a job that does the yardstick twice costs about twice as much."""
    found = compare.with_yardstick({"twice": lambda: (compare.yardstick(), compare.yardstick())}, repeats=2)
    assert found["twice"].milliseconds > 0
    assert 1.0 < found["twice"].ratio < 4.0
    assert compare.import_time("import json", repeats=1) > 0


def test_the_recorded_costs_name_what_is_measured() -> None:
    """No cost stays in the record under a name that nothing measures any more."""
    if not compare.RECORDED.exists():
        pytest.skip("nothing is recorded yet: python tests/benchmarks/compare.py --record")
    recorded = compare.read(compare.RECORDED.read_text(encoding="utf-8"))
    assert all(cost.ratio > 0 for cost in recorded.values())
    heads = {name.partition(":")[0] for name in recorded}
    assert heads <= {"chip in a batch", "20000 chips, a green for each", "20000 chips over a fringe"} | {
        "plan",
        "read",
        "fit",
        "panel",
        "import",
    }
    assert set(compare.IMPORTS) <= set(recorded)
