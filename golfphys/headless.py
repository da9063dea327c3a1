"""Run a notebook without a browser, and leave its figures and tables in a folder.

Behind ``python -m golfphys run``; the tests execute the notebooks through the same code. Nothing else in the library
imports it.
"""

import base64
import os
import re
import sys
import tempfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any

TABLE = "text/csv"
PICTURE = "image/png"
SECONDS_PER_CELL = 600
_CAPTURE = "from golfphys.headless import capture_tables; capture_tables(); del capture_tables"


class NotebookFailed(RuntimeError):
    """A cell of a notebook raised an error; the message says which and gives the end of its traceback."""


def capture_tables() -> None:
    """Make every table that this kernel shows carry its full values as CSV too.

    Runs inside the kernel: a table on the page is rounded for reading, the file it is saved to should not be.
    """
    from IPython import get_ipython
    from IPython.core.formatters import BaseFormatter
    from traitlets import ObjectName, Unicode

    class TableFormatter(BaseFormatter):
        format_type = Unicode(TABLE)
        print_method = ObjectName("_repr_csv_")

    shell: Any = get_ipython()
    formatter = TableFormatter(parent=shell.display_formatter)
    # pandas calls its own home one thing or the other, by its version
    formatter.for_type_by_name("pandas", "DataFrame", lambda table: table.to_csv(lineterminator="\n"))
    formatter.for_type_by_name("pandas.core.frame", "DataFrame", lambda table: table.to_csv(lineterminator="\n"))
    formatter.for_type_by_name(
        "pandas.io.formats.style", "Styler", lambda styled: styled.data.to_csv(lineterminator="\n")
    )
    shell.display_formatter.formatters[TABLE] = formatter
    shell.display_formatter.active_types = [*shell.display_formatter.active_types, TABLE]


def execute(notebook: Any, folder: Path, *, tables: bool = False, seconds_per_cell: int = SECONDS_PER_CELL) -> None:
    """Execute a notebook in place, in a kernel of this very Python.

    Parameters
    ----------
    notebook : NotebookNode
        As read by nbformat; its outputs are replaced.
    folder : Path
        Working folder of the kernel.
    tables : bool
        Whether outputs that show a table carry it as CSV as well.
    seconds_per_cell : int
        How long one cell may take.

    Raises
    ------
    NotebookFailed
        If a cell raises, or takes too long.
    """
    import nbclient.exceptions
    from traitlets.config import Config

    arguments = [f"--IPKernelApp.exec_lines={_CAPTURE}"] if tables else []
    try:
        with tempfile.TemporaryDirectory(prefix="golfphys-") as sockets:
            # sockets in a folder of their own rather than open ports, where the system has them
            channel = {} if sys.platform == "win32" else {"transport": "ipc", "ip": f"{sockets}/kernel"}
            client = nbclient.NotebookClient(
                notebook,
                config=Config(KernelManager=channel),
                kernel_manager_class=_own_kernel(),
                timeout=seconds_per_cell,
                record_timing=False,
                coalesce_streams=True,
                resources={"metadata": {"path": str(folder)}},
                extra_arguments=arguments,
            )
            client.execute(env=_environment())
    except nbclient.exceptions.CellTimeoutError as error:
        raise NotebookFailed(f"a cell took longer than {seconds_per_cell} s") from error
    except nbclient.exceptions.CellExecutionError as error:
        raise NotebookFailed(_where(notebook)) from error


def _own_kernel() -> type:
    """Return a kernel manager class that starts this interpreter, whatever kernels the user has installed."""
    from jupyter_client.kernelspec import KernelSpec
    from jupyter_client.manager import AsyncKernelManager

    class OwnKernel(AsyncKernelManager):
        @property
        def kernel_spec(self) -> KernelSpec:
            argv = [sys.executable, "-m", "ipykernel_launcher", "-f", "{connection_file}"]
            return KernelSpec(argv=argv, display_name="Python 3", language="python")

    return OwnKernel


def _environment() -> dict[str, str]:
    """Return the kernel's environment: figures inline, and this golfphys first on the path."""
    environment = {name: value for name, value in os.environ.items() if name != "MPLBACKEND"}
    path = [str(Path(__file__).parent.parent), *filter(None, [environment.get("PYTHONPATH")])]
    # sums made by several threads differ in their last digits from run to run
    threads = {f"{library}_NUM_THREADS": "1" for library in ("OMP", "OPENBLAS", "MKL")}
    return environment | threads | {"PYTHONPATH": os.pathsep.join(path), "PYDEVD_DISABLE_FILE_VALIDATION": "1"}


def _where(notebook: Any) -> str:
    """Say which cell failed, under which heading, and how."""
    for number, heading, cell in _code_cells(notebook):
        for output in cell.outputs:
            if output.output_type == "error":
                last = re.sub(r"\x1b\[[0-9;]*m", "", "\n".join(output.traceback)).strip().splitlines()[-12:]
                return f"code cell {number}, under {heading!r}, failed:\n" + "\n".join(last)
    return "the notebook failed before its first cell ran"


def _code_cells(notebook: Any) -> Iterator[tuple[int, str, Any]]:
    """Yield each code cell with its number and the last heading above it."""
    heading, number = "", 0
    for cell in notebook.cells:
        if cell.cell_type == "markdown":
            headings = re.findall(r"^#+ +(.+?)\s*#*$", cell.source, flags=re.MULTILINE)
            heading = headings[-1] if headings else heading
        elif cell.cell_type == "code":
            number += 1
            yield number, heading, cell


def _slug(words: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")[:50].strip("-") or "untitled"


def collect(notebook: Any) -> dict[str, bytes]:
    """Return what an executed notebook shows: file names and contents of its pictures and tables.

    A file takes the name of its cell (``metadata.name``) if it has one, otherwise the cell's number and heading.
    """
    files: dict[str, bytes] = {}
    for number, heading, cell in _code_cells(notebook):
        stem = cell.metadata.get("name") or f"{number:02d}-{_slug(heading)}"
        for output in cell.outputs:
            data = output.get("data", {})
            if PICTURE in data:
                files[_free(files, stem, ".png")] = base64.b64decode(data[PICTURE])
            if TABLE in data:
                files[_free(files, stem, ".csv")] = data[TABLE].encode()
    return files


def _free(taken: dict[str, bytes], stem: str, suffix: str) -> str:
    name, count = f"{stem}{suffix}", 1
    while name in taken:
        count += 1
        name = f"{stem}-{count}{suffix}"
    return name


def run(notebook: str | Path, into: str | Path, *, seconds_per_cell: int = SECONDS_PER_CELL) -> list[Path]:
    """Execute a notebook and leave its figures (PNG), its tables (CSV) and the executed notebook in a folder.

    Parameters
    ----------
    notebook : str or Path
        The ``.ipynb`` file; it is not changed.
    into : str or Path
        The folder, made if it is not there; files of the same names are replaced, others left.
    seconds_per_cell : int
        How long one cell may take.

    Returns
    -------
    list of Path
        The files written.

    Raises
    ------
    ValueError
        If `notebook` is not a notebook file, or `into` is not a folder.
    NotebookFailed
        If a cell raises, or takes too long.
    """
    import nbformat

    source, target = Path(notebook), Path(into)
    _check_source(source)
    if target.exists() and not target.is_dir():
        raise ValueError(f"{target} is a file; expected a folder to leave the figures and tables in")
    try:
        page = nbformat.read(source, as_version=4)
    except (nbformat.reader.NotJSONError, nbformat.ValidationError, UnicodeDecodeError) as error:
        raise ValueError(f"{source} is not a readable notebook: {str(error).splitlines()[0][:200]}") from error
    execute(page, source.resolve().parent, tables=True, seconds_per_cell=seconds_per_cell)
    files = collect(page)
    for cell in page.cells:
        for output in cell.get("outputs", []):
            output.get("data", {}).pop(TABLE, None)
    files[source.name] = (nbformat.writes(page) + "\n").encode()
    target.mkdir(parents=True, exist_ok=True)
    for name, content in files.items():
        (target / name).write_bytes(content)
    return [target / name for name in files]


def _check_source(source: Path) -> None:
    if source.suffix != ".ipynb":
        raise ValueError(f"{source} is not a notebook; expected a file that ends in .ipynb")
    if not source.is_file():
        folder = source.parent
        there = ", ".join(sorted(path.name for path in folder.glob("*.ipynb"))) if folder.is_dir() else ""
        raise ValueError(f"there is no {source}; notebooks in {folder}: {there or 'none'}")
