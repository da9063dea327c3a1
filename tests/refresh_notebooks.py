"""Execute notebooks in place and store their outputs: ``python tests/refresh_notebooks.py notebooks/00_*.ipynb``.

Without arguments it does all of them. What is stored is what a reader sees and what repeats: no timing, no state of
widgets (a panel appears when its cell is run), no version of Python.
"""

import multiprocessing
import os
import re
import sys
import tempfile
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path
from typing import Any
from unittest import mock

ROOT = Path(__file__).parent.parent
sys.path.insert(0, str(ROOT))

import nbformat  # noqa: E402

from golfphys import headless  # noqa: E402

WIDGET = "application/vnd.jupyter.widget-view+json"


def normalised(notebook: Any) -> Any:
    """Return the notebook without what differs from run to run."""
    notebook.metadata = nbformat.from_dict(
        {
            "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
            "language_info": {"name": "python"},
        }
    )
    for cell in notebook.cells:
        for name in ("execution", "collapsed", "scrolled"):
            cell.metadata.pop(name, None)
        if cell.cell_type == "code":
            cell.outputs = [output for output in cell.outputs if WIDGET not in output.get("data", {})]
            for output in cell.outputs:
                _name_styles(output.get("data", {}), cell.id)
    return notebook


def _name_styles(data: Any, cell: str) -> None:
    """Give the style sheet of a styled table, whose name pandas draws at random, the name of its cell."""
    if "text/html" in data:
        data["text/html"] = re.sub(
            r"T_[0-9a-f]{5}(?=[_ \"])", f"T_{re.sub('[^0-9a-zA-Z]', '', cell)}", data["text/html"]
        )
    if "text/plain" in data:
        data["text/plain"] = re.sub(r"<(pandas\S*Styler) at 0x[0-9a-f]+>", r"<\1>", data["text/plain"])


def executed(path: Path) -> Any:
    """Return the notebook freshly executed and normalised; the file is left as it is."""
    notebook = nbformat.read(path, as_version=4)
    with tempfile.TemporaryDirectory() as home, mock.patch.dict(os.environ, {"GOLFPHYS_HOME": home}):
        headless.execute(notebook, path.resolve().parent)  # in nobody's settings, beside nobody's sheets
    return normalised(notebook)


def side_by_side(pages: int) -> ProcessPoolExecutor:
    """Return a pool that executes so many pages at a time, but no more than four: each takes half a gigabyte."""
    return ProcessPoolExecutor(min(pages, 4), mp_context=multiprocessing.get_context("spawn"))


def text(notebook: Any) -> str:
    """Return the notebook's file text."""
    return str(nbformat.writes(notebook, indent=1)) + "\n"


def main(names: list[str]) -> int:
    """Refresh the notebooks named, or all."""
    paths = [Path(name) for name in names] or sorted((ROOT / "notebooks").glob("*.ipynb"))
    missing = [str(path) for path in paths if not path.is_file()]
    if missing:
        print(f"there is no {', '.join(missing)}", file=sys.stderr)
        return 2
    failed = 0
    with side_by_side(os.cpu_count() or 1) as pool:
        for path, future in [(path, pool.submit(executed, path)) for path in paths]:
            try:
                path.write_text(text(future.result()), encoding="utf-8", newline="\n")
            except headless.NotebookFailed as error:
                print(f"{path}: {error}", file=sys.stderr)
                failed = 1
            else:
                print(f"{path}: {path.stat().st_size / 1000:.0f} kB")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
