"""What golfphys exports is documented: every parameter, and an example, which runs as a doctest."""

import dataclasses
import inspect
import re
from collections.abc import Iterator
from typing import Any

from numpydoc.docscrape import ClassDoc, FunctionDoc

import golfphys

MOST_PARAMETERS = 8


def faults(name: str, value: Any) -> Iterator[str]:
    made = inspect.isfunction(value) or dataclasses.is_dataclass(value) or "__init__" in vars(value)
    page = ClassDoc(value) if inspect.isclass(value) else FunctionDoc(value)
    listed = [word.lstrip("*") for entry in page["Parameters"] for word in re.split(r",\s*", entry.name)]
    taken = [word for word in inspect.signature(value).parameters if not word.startswith("_")]
    if made and sorted(listed) != sorted(taken):
        yield f"{name}: Parameters lists {', '.join(listed)}; the signature is {', '.join(taken)}"
    if inspect.isfunction(value) and len(taken) > MOST_PARAMETERS:
        yield f"{name} has {len(taken)} parameters"
    texts = [value, *(vars(value).values() if inspect.isclass(value) else ())]
    if not any(">>>" in (getattr(text, "__doc__", "") or "") for text in texts):
        yield f"{name} has no example"


def test_what_is_exported_is_documented() -> None:
    found = {name: getattr(golfphys, name) for name in golfphys.__all__}
    calls = {
        name: value
        for name, value in found.items()
        if inspect.isfunction(value) or (inspect.isclass(value) and not issubclass(value, BaseException))
    }
    assert len(calls) > 100
    said = [fault for name, value in calls.items() for fault in faults(name, value)]
    assert not said, "\n".join(said)
