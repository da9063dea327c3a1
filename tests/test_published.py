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
    assert found, f"no figures under {FOLDER}"
    return found


def resolved(name: str) -> Any:
    if "." not in name:
        return getattr(calls, name)
    module, _, attribute = name.rpartition(".")
    owner = module.rpartition(".")[2]
    if owner[:1].isupper():  # a classmethod such as golfphys.physics.green.Green.from_stimp
        return getattr(resolved(module), attribute)
    return getattr(importlib.import_module(module), attribute)


@pytest.mark.parametrize(("where", "row"), rows())
def test_published(where: str, row: dict[str, str], external_check: ExternalCheck) -> None:
    """Our value agrees with the published one to its last printed digit, or as near as the row says and why."""
    assert list(row) == COLUMNS, f"{where}: the columns are {list(row)}, expected {COLUMNS}"
    assert None not in row.values(), f"{where}: too few fields"
    assert row["unit"] in UNITS, f"{where}: unit {row['unit']!r} is none of {', '.join(UNITS)}"
    last_digit = Decimal(1).scaleb(int(Decimal(row["expected"]).as_tuple().exponent))
    assert row["reason"].strip() or Decimal(row["tolerance"]) <= last_digit / 2, (
        f"{where}: tolerance {row['tolerance']} is looser than half of the last digit, and no reason"
    )
    value = resolved(row["function"])(**json.loads(row["inputs"] or "{}"))
    for step in filter(None, row["result"].split(".")):
        value = value[int(step)] if step.lstrip("-").isdigit() else getattr(value, step)
    external_check(row["check"], float(value) / UNITS[row["unit"]], row=row)
