"""The closed forms are what the derivations say: same text, same numbers, known quantities, and the compiler agrees."""

import importlib
import math
import re
from types import ModuleType
from typing import Any

import numba
import numpy as np
import pytest
import sympy

from golfphys.core import law
from golfphys.core.quantities import QUANTITIES
from golfphys.derivations import turf
from golfphys.derivations.__main__ import chapters
from golfphys.derivations.writer import FORMULAS_FOLDER, Formula, chapter_name, module_text
from golfphys.physics import playing, strike  # noqa: F401  # they say which formulas are compiled

STATES = 12
THOROUGH = pytest.mark.thorough
CHAPTERS = chapters()
FORMULAS = [
    pytest.param(chapter, formula, id=f"{chapter_name(chapter)}.{formula.name}")
    for chapter in CHAPTERS
    for formula in chapter.FORMULAS
]


def written(chapter: ModuleType, formula: Formula) -> Any:
    return getattr(importlib.import_module(f"golfphys.formulas.{chapter_name(chapter)}"), formula.name)


def states(formula: Formula) -> list[dict[str, float]]:
    rng = np.random.default_rng(20240607)
    drawn = []
    for _ in range(STATES):
        state = {}
        for argument in formula.arguments:
            quantity = QUANTITIES[argument.name]
            low, high = formula.ranges.get(argument.name, (quantity.low, quantity.high))
            state[argument.name] = float(rng.uniform(low, high))
        drawn.append(state)
    return drawn


def as_tuple(value: Any) -> tuple[float, ...]:
    return tuple(map(float, value)) if isinstance(value, tuple) else (float(value),)


def test_every_chapter_has_its_formulas_and_the_other_way_round() -> None:
    modules = {path.stem for path in FORMULAS_FOLDER.glob("*.py")} - {"__init__"}
    assert modules == {chapter_name(chapter) for chapter in CHAPTERS}
    assert len(FORMULAS) > 30


@pytest.mark.parametrize("chapter", CHAPTERS, ids=chapter_name)
def test_text_is_what_the_derivation_writes(chapter: ModuleType) -> None:
    text = (FORMULAS_FOLDER / f"{chapter_name(chapter)}.py").read_text(encoding="utf-8")
    stamp = re.search(r"sympy ([\d.]+\w*), derivation sha256 ([0-9a-f]{16})", text)
    assert stamp is not None, "the stamp is missing: write the formulas anew"
    if stamp.group(1) != sympy.__version__:
        pytest.skip(
            f"written by sympy {stamp.group(1)}, here is {sympy.__version__}; the numbers are compared all the same"
        )
    assert text == module_text(chapter), f"write anew: python -m golfphys.derivations {chapter_name(chapter)}"


@pytest.mark.thorough
@pytest.mark.parametrize(("chapter", "formula"), FORMULAS)
def test_numbers_agree_with_the_derivation(chapter: ModuleType, formula: Formula) -> None:
    closed = written(chapter, formula)
    finite = 0
    for state in states(formula):
        ours, derived = as_tuple(closed(**state)), formula.evaluate(state)
        assert len(ours) == len(derived)
        for value, exact in zip(ours, derived, strict=True):
            assert not math.isnan(value)
            size = max((abs(item) for item in derived if math.isfinite(item)), default=1.0)
            assert value == pytest.approx(exact, rel=1e-10, abs=1e-12 * max(size, 1e-3)), state
            finite += math.isfinite(value)
    assert finite, "no state gives a finite value: set the formula's ranges"


@pytest.mark.parametrize(
    ("chapter", "formula"),
    [
        pytest.param(*item.values, id=item.id, marks=() if written(*item.values) in law._callable else THOROUGH)
        for item in FORMULAS
    ],
)
def test_compiled_numbers_are_the_same(chapter: ModuleType, formula: Formula) -> None:
    """Those that shots call compiled each time; the rest, which run as they are, among the thorough tests."""
    closed = written(chapter, formula)
    compiled = numba.njit(closed)
    for state in states(formula):
        ours, theirs = as_tuple(closed(**state)), as_tuple(compiled(*state.values()))
        size = max((abs(item) for item in ours if math.isfinite(item)), default=1.0)
        assert theirs == pytest.approx(ours, rel=1e-12, abs=1e-13 * max(size, 1e-3))


def test_the_skid_s_closed_forms_have_the_rates_that_its_equations_give() -> None:
    assert turf.rates_hold()
