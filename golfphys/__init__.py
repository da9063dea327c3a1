"""Golf chipping physics: measured greens and players, fitted, and turned into club and landing spot.

Everything a notebook needs is here under its own name (``golfphys.Green``, ``golfphys.plots``); ``dir(golfphys)`` lists
it and page 19 of the workbook says what each does. A name is looked up in its room on first use, so that importing
golfphys itself loads nothing heavy. The names stand once, in ``__init__.pyi`` beside this file.
"""

import ast
import importlib
from pathlib import Path
from typing import Any

__version__ = "0.1.0"


def _registered() -> dict[str, str]:
    """Return the room of each public name, as the register has it."""
    register = ast.parse(Path(__file__).with_suffix(".pyi").read_text(encoding="utf-8"))
    imports = [node for node in register.body if isinstance(node, ast.ImportFrom)]
    return {name.name: str(node.module) for node in imports for name in node.names}


_ROOMS = _registered()
__all__ = sorted(_ROOMS)  # noqa: PLE0605  # a list of names, read from the register


def __getattr__(name: str) -> Any:
    """Look a public name up in its room (PEP 562)."""
    if name not in _ROOMS:
        from difflib import get_close_matches

        near = get_close_matches(name, __all__, n=3)
        hint = f"did you mean {' or '.join(near)}?" if near else "dir(golfphys) lists its public names"
        raise AttributeError(f"golfphys has no {name!r}; {hint}")
    room = _ROOMS[name]
    try:
        found = importlib.import_module(room)
        value = getattr(found, name, None) if room != __name__ else None
        value = importlib.import_module(f"{room}.{name}") if value is None else value
    except ModuleNotFoundError as missing:
        if str(missing.name).startswith(__name__):
            raise
        words = f"golfphys.{name} needs {missing.name}: python -m pip install 'golfphys[workbook]'"
        raise ModuleNotFoundError(words, name=missing.name) from missing
    globals()[name] = value
    return value


def __dir__() -> list[str]:
    """List the public names and the rooms."""
    return [*__all__, "__version__"]
