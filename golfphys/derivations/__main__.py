"""Write every chapter's closed forms: ``python -m golfphys.derivations [chapter ...]``."""

import importlib
import pkgutil
import sys
from types import ModuleType

import golfphys.derivations
from golfphys.derivations.writer import FORMULAS_FOLDER, chapter_name, module_text


def chapters() -> list[ModuleType]:
    """Return every module of this package that has `FORMULAS`."""
    names = sorted(item.name for item in pkgutil.iter_modules(golfphys.derivations.__path__) if item.name != "__main__")
    modules = [importlib.import_module(f"golfphys.derivations.{name}") for name in names]
    return [module for module in modules if hasattr(module, "FORMULAS")]


def main(wanted: list[str]) -> None:
    """Write the chapters named, or all of them."""
    known = {chapter_name(chapter): chapter for chapter in chapters()}
    unknown = [name for name in wanted if name not in known]
    if unknown:
        raise SystemExit(f"there is no chapter {', '.join(unknown)}; there are {', '.join(known)}")
    for name in wanted or known:
        chapter, path = known[name], FORMULAS_FOLDER / f"{name}.py"
        path.write_text(module_text(chapter), encoding="utf-8", newline="\n")
        print(f"wrote {path.name}: {len(chapter.FORMULAS)} formulas")


if __name__ == "__main__":
    main(sys.argv[1:])
