"""Every public object says what it does, and its parameters section is its signature."""

import dataclasses
import importlib
import inspect
import pkgutil
import re
import types
from collections.abc import Callable, Iterator
from typing import Any

import pytest
from numpydoc.docscrape import ClassDoc, FunctionDoc

import golfphys
from golfphys.core.quantities import QUANTITIES

TOOLS = ("golfphys.derivations", "golfphys.formulas", "golfphys.__main__")


def modules() -> list[types.ModuleType]:
    """Return every module of the library but the generated ones and the build tool."""
    names = [item.name for item in pkgutil.walk_packages(golfphys.__path__, "golfphys.")]
    return [importlib.import_module(name) for name in sorted(names) if not name.startswith(TOOLS)]


def formula_modules() -> list[types.ModuleType]:
    """Return the generated modules."""
    package = importlib.import_module("golfphys.formulas")
    names = sorted(item.name for item in pkgutil.iter_modules(package.__path__))
    return [importlib.import_module(f"golfphys.formulas.{name}") for name in names]


def own(module: types.ModuleType) -> Iterator[tuple[str, Any]]:
    """Yield the public functions and classes that a module defines itself."""
    for name, value in vars(module).items():
        if name.startswith("_") or getattr(value, "__module__", None) != module.__name__:
            continue
        if inspect.isfunction(value) or inspect.isclass(value):
            yield f"{module.__name__}.{name}", value


def methods(name: str, owner: type) -> Iterator[tuple[str, Any]]:
    """Yield the public methods and properties that a class defines itself."""
    for key, value in vars(owner).items():
        if key.startswith("_"):
            continue
        if isinstance(value, classmethod | staticmethod):
            yield f"{name}.{key}", value.__func__
        elif isinstance(value, property) or inspect.isfunction(value):
            yield f"{name}.{key}", value


def objects() -> dict[str, Any]:
    """Return all public objects by dotted name."""
    found = {}
    for module in modules():
        for name, value in own(module):
            found[name] = value
            if inspect.isclass(value):
                found.update(methods(name, value))
    return found


OBJECTS = objects()
EXPORTED = {
    f"{getattr(golfphys, name).__module__}.{name}" for name in golfphys.__all__ if callable(getattr(golfphys, name))
}
FORMULAS = {name: value for module in formula_modules() for name, value in own(module)}


def signature(value: Any, positional: bool = False) -> list[str]:
    """Return the parameter names of a function or of a class's construction, all or those with a place in order."""
    parameters = list(inspect.signature(value).parameters.values())
    names = [
        parameter.name for parameter in parameters if not (positional and parameter.kind is parameter.KEYWORD_ONLY)
    ]
    return [name for name in names if name not in ("self", "cls") and not name.startswith("_")]


def documented(value: Any) -> list[str]:
    """Return the names under Parameters."""
    page = ClassDoc(value) if inspect.isclass(value) else FunctionDoc(value)
    names = [name for entry in page["Parameters"] for name in re.split(r",\s*", entry.name)]
    return [name.lstrip("*") for name in names]


def mismatch(value: Any) -> str:
    """Say how Parameters and signature differ; keyword-only parameters may come in any order."""
    said, true = documented(value), signature(value)
    in_order = signature(value, positional=True)
    if sorted(said) == sorted(true) and [name for name in said if name in in_order] == in_order:
        return ""
    return f"Parameters lists {', '.join(said) or 'nothing'}; the signature is {', '.join(true) or 'empty'}"


def has_construction(value: Any) -> bool:
    """Tell whether a class is made by calling it with parameters of its own."""
    return dataclasses.is_dataclass(value) or "__init__" in vars(value)


def test_there_is_something_to_check() -> None:
    """Guard against an empty walk."""
    assert len(OBJECTS) > 10
    assert len(FORMULAS) > 3
    assert set(OBJECTS) >= EXPORTED


@pytest.mark.parametrize("name", OBJECTS)
def test_says_what_it_does(name: str) -> None:
    """A docstring opens with a sentence; where it lists parameters, they are the signature's."""
    value = OBJECTS[name]
    text = inspect.getdoc(value) or ""
    first = text.split("\n\n")[0]
    assert first, f"{name} has no docstring"
    assert first.rstrip()[-1] in ".:", f"{name}: the docstring's first paragraph is no sentence: {first!r}"
    if not isinstance(value, property) and documented(value):
        assert not mismatch(value), f"{name}: {mismatch(value)}"


@pytest.mark.parametrize("name", sorted(EXPORTED))
def test_public_api_is_documented_in_full(name: str) -> None:
    """What golfphys exports, and its methods, list every parameter and result."""
    wanted = {name: OBJECTS[name]}
    if inspect.isclass(OBJECTS[name]):
        wanted.update(methods(name, OBJECTS[name]))
    for full, value in wanted.items():
        if isinstance(value, property) or (inspect.isclass(value) and not has_construction(value)):
            continue
        assert not mismatch(value), f"{full}: {mismatch(value)}"
        if inspect.isfunction(value) and inspect.signature(value).return_annotation not in (None, "None"):
            page = FunctionDoc(value)
            assert page["Returns"] or page["Yields"], f"{full} returns something, but has no Returns section"


@pytest.mark.parametrize("name", sorted(EXPORTED))
def test_public_api_shows_an_example(name: str) -> None:
    """What golfphys exports shows how it is called; the examples run as doctests."""
    value = OBJECTS[name]
    if inspect.isclass(value) and issubclass(value, BaseException):
        return
    texts = [value, *(method for _, method in methods(name, value))] if inspect.isclass(value) else [value]
    assert any(">>>" in (inspect.getdoc(text) or "") for text in texts), f"{name} has no example"


@pytest.mark.parametrize("name", FORMULAS)
def test_formulas_take_registered_quantities(name: str) -> None:
    """Each argument of a generated formula is in the register, and its docstring names the model's source."""
    formula: Callable[..., Any] = FORMULAS[name]
    unknown = [argument for argument in signature(formula) if argument not in QUANTITIES]
    assert not unknown, f"{name} takes {', '.join(unknown)}, not in golfphys/core/quantities.py"
    assert re.search(r"^Model: \S", inspect.getdoc(formula) or "", flags=re.MULTILINE), f"{name} names no source"
