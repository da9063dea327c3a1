"""Every row of ``tests/published/*.csv``: a published figure, how we compute it, and how near we must come."""

import csv
import importlib
import json
from decimal import Decimal
from pathlib import Path
from typing import Any

import pytest
from conftest import ExternalCheck
from published import calls

from golfphys.core.units import FACTORS_TO_SI

FOLDER = Path(__file__).parent / "published"
COLUMNS = [
    *("check", "what", "function", "inputs", "result", "expected"),
    *("unit", "tolerance", "source", "locator", "mark", "reason"),
]
UNITS = FACTORS_TO_SI | dict.fromkeys(("m_s2", "rad_s2", "J", "N", "Pa", "Pa_s", "kg_m2", "kg_m3"), 1.0)
"""The library's units, and SI units that no sheet has a column in."""


def rows() -> list[Any]:
    found = []
    for path in sorted(FOLDER.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as lines:
            reader = csv.DictReader(lines)
            for row in reader:
                where = f"{path.name}, line {reader.line_num}"
                found.append(pytest.param(where, row, id=f"{path.stem}:{row.get('check')}"))
    return found


def resolved(name: str) -> Any:
    if "." not in name:
        return getattr(calls, name)
    module, _, attribute = name.rpartition(".")
    owner = module.rpartition(".")[2]
    if owner[:1].isupper():  # a classmethod such as golfphys.physics.green.Green.from_stimp
        return getattr(resolved(module), attribute)
    return getattr(importlib.import_module(module), attribute)


def picked(value: Any, result: str) -> float:
    for step in filter(None, result.split(".")):
        value = value[int(step)] if step.lstrip("-").isdigit() else getattr(value, step)
    return float(value)


def half_last_digit(printed: str) -> Decimal:
    exponent = Decimal(printed).as_tuple().exponent
    assert isinstance(exponent, int), f"{printed} has no last digit"
    return Decimal(1).scaleb(exponent) / 2


def test_there_are_published_figures() -> None:
    """Guard against a glob that finds nothing."""
    assert rows()


@pytest.mark.parametrize(("where", "row"), rows())
def test_published(where: str, row: dict[str, str], external_check: ExternalCheck) -> None:
    """Our value agrees with the published one to its last printed digit, or as near as the row says and why."""
    assert list(row) == COLUMNS, f"{where}: the columns are {list(row)}, expected {COLUMNS}"
    assert None not in row.values(), f"{where}: too few fields"
    assert row["unit"] in UNITS, f"{where}: unit {row['unit']!r} is none of {', '.join(UNITS)}"
    if not row["reason"].strip():
        assert Decimal(row["tolerance"]) <= half_last_digit(row["expected"]), (
            f"{where}: tolerance {row['tolerance']} is looser than half of the last digit, and no reason"
        )
    inputs = json.loads(row["inputs"] or "{}")
    value = picked(resolved(row["function"])(**inputs), row["result"])
    external_check(row["check"], value / UNITS[row["unit"]], row=row)
