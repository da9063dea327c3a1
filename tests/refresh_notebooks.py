"""Execute notebooks in place and store their outputs: ``python tests/refresh_notebooks.py notebooks/00_*.ipynb``.

Without arguments it does all of them. What is stored is what a reader sees and what repeats: no timing, no state of
widgets (a panel appears when its cell is run), no version of Python. Also what tests read of them: cells, what their
outputs say, and whether two outputs agree.
"""

import base64
import io
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from decimal import Decimal
from pathlib import Path
from typing import Any

import nbclient
import nbformat
import numpy as np
from jupyter_client.kernelspec import KernelSpec
from jupyter_client.manager import AsyncKernelManager
from nbclient.exceptions import CellExecutionError, CellTimeoutError
from PIL import Image
from traitlets.config import Config

import golfphys

ROOT = Path(__file__).parent.parent
NOTEBOOKS = sorted((ROOT / "notebooks").glob("*.ipynb"))
NUMBER = re.compile(r"(?<![\w.])[-+\u2212]?\d+(?:\.\d+)?(?:e[-+]?\d+)?(?!\w)")
CROP, SHRINK = 3, 8
WIDGET = "application/vnd.jupyter.widget-view+json"
SECONDS_PER_CELL = 600
METADATA = {
    "kernelspec": {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"},
    "language_info": {"name": "python"},
}


class OwnKernel(AsyncKernelManager):  # type: ignore[misc]
    """Starts this interpreter, whatever kernels the user has installed."""

    @property
    def kernel_spec(self) -> KernelSpec:
        argv = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
        return KernelSpec(argv=argv, display_name="Python 3", language="python")


def compile_first() -> None:
    """Have everything compiled, so that no page shows the word that a first shot on a machine takes its time."""
    green = golfphys.Green(resistance=golfphys.Resistance(constant=0.06, linear=0.002), grade=0.01)
    golfphys.plan_chip(golfphys.stated(green), to_edge=3.0, to_pin=15.0)
    golfphys.trace(golfphys.Launch(speed=8.0, angle=0.6, backspin=300.0), green)
    golfphys.roll.roll(2.0, 1.0, green.resistance, 0.01)


def executed(path: Path, fits: Path | None = None) -> Any:
    """Return the notebook freshly executed and normalised; the file is left as it is. `fits` holds fits kept so far."""
    with tempfile.TemporaryDirectory(prefix="golfphys-") as home:
        own = Path(home) / "golfphys"
        own.mkdir()
        if fits is not None:
            (own / "fits").symlink_to(fits)
        return normalised(run(nbformat.read(path, as_version=4), own, path.resolve().parent))


def run(notebook: Any, own: Path, folder: Path) -> Any:
    """Run a notebook in a folder, with what golfphys remembers in the folder `own`."""
    with tempfile.TemporaryDirectory(prefix="golfphys-") as home:
        # sockets in a folder of their own rather than open ports, where the system has them
        channel = {} if sys.platform == "win32" else {"transport": "ipc", "ip": f"{home}/kernel"}
        nbclient.NotebookClient(
            notebook,
            config=Config(KernelManager=channel),
            kernel_manager_class=OwnKernel,
            timeout=SECONDS_PER_CELL,
            record_timing=False,
            coalesce_streams=True,
            resources={"metadata": {"path": str(folder)}},
        ).execute(env=environment(home) | {"GOLFPHYS_HOME": str(own)})
    return notebook


def environment(home: str) -> dict[str, str]:
    """Return a kernel's environment: figures inline, this golfphys first, nobody's settings, nobody's sheets."""
    inherited = {name: value for name, value in os.environ.items() if name != "MPLBACKEND"}
    own = {f"{name}_DIR": f"{home}/{name.lower()}" for name in ("JUPYTER_CONFIG", "JUPYTER_DATA", "JUPYTER_RUNTIME")}
    own |= {f"{library}_NUM_THREADS": "1" for library in ("OMP", "OPENBLAS", "MKL")}
    path = os.pathsep.join([str(ROOT), *filter(None, [os.environ.get("PYTHONPATH")])])
    quiet = {"PYDEVD_DISABLE_FILE_VALIDATION": "1", "IPYTHONDIR": f"{home}/ipython"}
    return inherited | own | quiet | {"PYTHONPATH": path}


def normalised(notebook: Any) -> Any:
    """Return the notebook without what differs from run to run."""
    notebook.metadata = nbformat.from_dict(METADATA)
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
    own = f"T_{re.sub('[^0-9a-zA-Z]', '', cell)}"
    if "text/html" in data:
        data["text/html"] = re.sub(r"T_[0-9a-f]{5}(?=[_ \"])", own, data["text/html"])
    if "text/plain" in data:
        data["text/plain"] = re.sub(r"<(pandas\S*Styler) at 0x[0-9a-f]+>", r"<\1>", data["text/plain"])


def text(notebook: Any) -> str:
    return str(nbformat.writes(notebook, indent=1)) + "\n"


def pictures(notebook: Any) -> dict[Path, bytes]:
    """Return the pictures under notebooks/pictures that cells of a page draw, by the name of the cell."""
    drawn = {}
    for cell in notebook.cells:
        path = ROOT / "notebooks" / "pictures" / f"{cell.metadata.get('name')}.png"
        for output in cell.get("outputs", []) if path.exists() else []:
            if "image/png" in output.get("data", {}):
                drawn[path] = base64.b64decode(output["data"]["image/png"])
    return drawn


def code_cells(notebook: Any) -> list[Any]:
    return [cell for cell in notebook.cells if cell.cell_type == "code"]


def markdown(notebook: Any) -> str:
    return "\n\n".join(cell.source for cell in notebook.cells if cell.cell_type == "markdown")


def outputs(cell: Any) -> Iterator[tuple[str, str]]:
    """Yield (kind, content) of every output of a cell; pictures as base64 text."""
    for output in cell.outputs:
        if output.output_type == "stream":
            yield output.name, output.text
        for kind, content in sorted(output.get("data", {}).items()):
            yield kind, content if isinstance(content, str) else repr(content)


def disagreement(kind: str, stored: str, fresh: str) -> str:
    """Say how two outputs of one kind disagree; nothing if they agree.

    Words agree exactly, blank space apart. A page prints the digits that are known, so a number may differ by its
    rounding and by a fiftieth of its uncertainty: two units of the last digit printed. Whole numbers are counts and
    agree exactly, but for percentages. Pictures agree if they look alike at an eighth of their size.
    """
    if kind == "image/png":
        return _picture_disagreement(stored, fresh)
    if " ".join(NUMBER.sub("#", stored).split()) != " ".join(NUMBER.sub("#", fresh).split()):
        return f"the words differ:\nstored: {stored[:500]}\nfresh:  {fresh[:500]}"
    pairs = zip(NUMBER.finditer(stored), NUMBER.finditer(fresh), strict=True)
    wrong = [f"{old[0]} is now {new[0]}" for old, new in pairs if not _close(old, new)]
    return "; ".join(wrong[:10])


def _close(old: re.Match[str], new: re.Match[str]) -> bool:
    one, other = (found[0].replace("\u2212", "-") for found in (old, new))
    unit = max(_last_digit(one), _last_digit(other))
    if not unit and re.match(r"\s?%", old.string[old.end() :]):
        unit = 0.5
    # figures shown to their last digit are not promised beyond the sixth: libraries differ there
    allowed = max(2.001 * unit, 1e-6 * abs(float(one)) if unit else 0.0)
    return abs(float(one) - float(other)) <= allowed


def _last_digit(text: str) -> float:
    return float(10.0 ** int(Decimal(text).as_tuple().exponent)) if re.search("[.e]", text) else 0.0


def _picture_disagreement(stored: str, fresh: str) -> str:
    if stored == fresh:
        return ""
    old, new = (Image.open(io.BytesIO(base64.b64decode(text))).convert("L") for text in (stored, fresh))
    # a tight crop may move by a pixel or two with the width of a label
    if max(abs(a - b) for a, b in zip(old.size, new.size, strict=True)) > CROP:
        return f"the picture's size was {old.size}, is {new.size}"
    small = [max(1, length // SHRINK) for length in old.size]
    one, other = (np.asarray(picture.resize(small, Image.Resampling.BOX), float) for picture in (old, new))
    different = float(np.mean(np.abs(one - other) > 48))
    return f"{100 * different:.2f} % of the picture differs" if different > 0.02 else ""


def main(names: list[str]) -> int:
    failed = 0
    compile_first()
    for path in [Path(name) for name in names] or NOTEBOOKS:
        try:
            page = executed(path)
            path.write_text(text(page), encoding="utf-8", newline="\n")
            for picture, content in pictures(page).items() if path.name.startswith("00_") else ():
                picture.write_bytes(content)
        except (CellExecutionError, CellTimeoutError) as error:
            print(f"{path}: {error}", file=sys.stderr)
            failed = 1
        else:
            print(f"{path}: {path.stat().st_size / 1000:.0f} kB")
    return failed


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
