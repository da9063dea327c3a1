"""What golfphys exports is documented in full; the rest is the linter's to check."""

import dataclasses
import importlib
import inspect
import pkgutil
import re
from collections.abc import Iterator
from typing import Any

from numpydoc.docscrape import ClassDoc, FunctionDoc

import golfphys
from golfphys.core.quantities import QUANTITIES

MOST_PARAMETERS = 8


def exported() -> Iterator[tuple[str, Any]]:
    """Yield the functions and classes that golfphys exports, and the public methods of the classes."""
    for name in golfphys.__all__:
        value = getattr(golfphys, name)
        if inspect.isfunction(value) or (inspect.isclass(value) and not issubclass(value, BaseException)):
            yield name, value
        if inspect.isclass(value):
            for key, method in vars(value).items():
                method = method.__func__ if isinstance(method, classmethod | staticmethod) else method
                if not key.startswith("_") and inspect.isfunction(method):
                    yield f"{name}.{key}", method


def signature(value: Any) -> list[str]:
    """Return the public parameters of a call."""
    names = inspect.signature(value).parameters
    return [name for name in names if name not in ("self", "cls") and not name.startswith("_")]


def faults(name: str, value: Any) -> Iterator[str]:
    """Yield what a docstring lacks; that of a method may be one sentence, but what it lists must be the signature."""
    page = ClassDoc(value) if inspect.isclass(value) else FunctionDoc(value)
    listed = [word.lstrip("*") for entry in page["Parameters"] for word in re.split(r",\s*", entry.name)]
    made = not inspect.isclass(value) or dataclasses.is_dataclass(value) or "__init__" in vars(value)
    if made and (listed or "." not in name) and sorted(listed) != sorted(signature(value)):
        yield f"{name}: Parameters lists {', '.join(listed)}; the signature is {', '.join(signature(value))}"
    if inspect.isfunction(value):
        if (
            inspect.signature(value).return_annotation not in (None, "None")
            and not page["Returns"] + page["Yields"]
            and "." not in name
        ):
            yield f"{name} returns something, but has no Returns section"
        if len(signature(value)) > MOST_PARAMETERS:
            yield f"{name} has {len(signature(value))} parameters"
    texts = [value, *(vars(value).values() if inspect.isclass(value) else ())]
    if "." not in name and not any(">>>" in (getattr(text, "__doc__", "") or "") for text in texts):
        yield f"{name} has no example"


def test_what_is_exported_is_documented_in_full() -> None:
    """Every parameter, result, and an example, which runs as a doctest; no call has more than eight parameters."""
    found = dict(exported())
    assert len(found) > 100
    said = [fault for name, value in found.items() for fault in faults(name, value)]
    assert not said, "\n".join(said)


def test_formulas_take_registered_quantities_and_name_their_source() -> None:
    """Each argument of a generated formula is in the register, and its docstring names the model's source."""
    package = importlib.import_module("golfphys.formulas")
    modules = [
        importlib.import_module(f"golfphys.formulas.{item.name}") for item in pkgutil.iter_modules(package.__path__)
    ]
    formulas = [value for module in modules for value in vars(module).values() if inspect.isfunction(value)]
    assert len(formulas) > 40
    for formula in formulas:
        if not formula.__name__.startswith("_"):
            assert [name for name in signature(formula) if name not in QUANTITIES] == [], formula.__name__
            assert re.search(r"^Model: \S", inspect.getdoc(formula) or "", flags=re.MULTILINE), formula.__name__
