"""Run by the clean environment that holds nothing but the wheel: does the library work by itself?

``python tests/outside_the_repository.py REPOSITORY``, from another folder than the repository.
"""

import shutil
import sys
import tempfile
from pathlib import Path

import golfphys
from golfphys import __main__ as command_line


def main(repository: Path) -> int:
    """Resolve every public name, then run the first notebook on a copy of the data; return the exit status."""
    home = Path(golfphys.__file__).resolve()
    assert repository.resolve() not in home.parents, f"golfphys came from the repository: {home}"
    for name in golfphys.__all__:
        getattr(golfphys, name)
    print(f"golfphys {golfphys.__version__}: {len(golfphys.__all__)} public names from {home.parent}")
    with tempfile.TemporaryDirectory() as folder:
        for name in ("notebooks", "data"):
            shutil.copytree(repository / name, Path(folder) / name)
        (notebook,) = (Path(folder) / "notebooks").glob("00_*.ipynb")
        return command_line.main(["run", str(notebook), "--into", str(Path(folder) / "results")])


if __name__ == "__main__":
    sys.exit(main(Path(sys.argv[1])))
