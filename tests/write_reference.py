"""Write page 19, the list of public names, from the library itself: ``python tests/write_reference.py``."""

import enum
import importlib
import inspect
import sys
from pathlib import Path

ROOT = Path(__file__).parent.parent
sys.path[:0] = [str(ROOT), str(ROOT / "tests")]

import nbformat  # noqa: E402
import refresh_notebooks  # noqa: E402

import golfphys  # noqa: E402

PAGE = ROOT / "notebooks" / "19_reference.ipynb"
HEADER = """# Reference

Every public name of golfphys, by the room it lives in. `help(golfphys.NAME)` gives parameters, units, sources and an
example. Written by `python tests/write_reference.py`; a test holds it to the library."""


def summary(name: str) -> str:
    """Return the first sentence of what a public name does."""
    value = getattr(golfphys, name)
    text = inspect.getdoc(value) if callable(value) else None
    return " ".join((text or "").split("\n\n")[0].split()).replace("|", "\\|")


def signature(name: str) -> str:
    """Return a name with its parameters, without types and defaults."""
    value = getattr(golfphys, name)
    if not callable(value) or isinstance(value, enum.EnumType):
        return name
    given = inspect.signature(value).parameters.values()
    bare = [one.replace(annotation=one.empty, default=one.empty) for one in given if not one.name.startswith("_")]
    return f"{name}{inspect.Signature(bare)}"


def text() -> str:
    """Return the page's file text: a cell for each room."""
    rooms: dict[str, list[str]] = {}
    for name in golfphys.__all__:
        if not inspect.ismodule(getattr(golfphys, name)):
            rooms.setdefault(golfphys._ROOMS[name].removeprefix("golfphys."), []).append(name)
    parts = [HEADER]
    for room in sorted(rooms):
        about = (importlib.import_module(f"golfphys.{room}").__doc__ or "").strip().split("\n\n")[0]
        rows = [f"| `{signature(name)}` | {summary(name)} |" for name in sorted(rooms[room], key=str.lower)]
        parts.append(
            "\n".join([f"## {room}\n", " ".join(about.split()) + "\n", "| name | what |", "| --- | --- |", *rows])
        )
    cells = [nbformat.v4.new_markdown_cell(part, id=f"room-{number}") for number, part in enumerate(parts)]
    return refresh_notebooks.text(refresh_notebooks.normalised(nbformat.v4.new_notebook(cells=cells)))


def main() -> None:
    PAGE.write_text(text(), encoding="utf-8", newline="\n")
    print(f"{PAGE.name}: {len(golfphys.__all__)} names")


if __name__ == "__main__":
    main()
