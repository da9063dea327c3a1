"""JupyterLab on a copy of the workbook, in a real Chromium, cut off from the network and from the user's settings."""

import ast
import json
import os
import shutil
import socket
import subprocess
import sys
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import nbformat

ROOT = Path(__file__).parent.parent.parent
OUTPUT = ROOT / "tests" / "output" / "browser"
DONE = "the page has run to its end"
ERROR = "[data-mime-type='application/vnd.jupyter.error'], [data-mime-type='application/vnd.jupyter.stderr']"
FLAGS = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync", "--host-resolver-rules=MAP * ~NOTFOUND , EXCLUDE 127.0.0.1"),
)
SETTINGS = {
    "@jupyterlab/apputils-extension:notification": {"fetchNews": "false", "checkForUpdates": False},
    "@jupyterlab/notebook-extension:tracker": {"windowingMode": "none"},
}


class PageFailed(AssertionError):
    """A notebook did not run to its end in the browser, or a panel did not answer."""


def chromium() -> str | None:
    """Return the path of Chromium, from GOLFPHYS_CHROMIUM or the search path."""
    names = [os.environ.get("GOLFPHYS_CHROMIUM", ""), "chromium", "chromium-browser"]
    return next((found for found in map(shutil.which, filter(None, names)) if found), None)


class Lab:
    """A running JupyterLab: what it serves, where, and where its kernels keep the reader's settings and sheets."""

    def __init__(self, folder: Path, port: int, home: Path) -> None:
        self.folder = folder
        self.home = home
        self.address = f"http://127.0.0.1:{port}"

    def answer(self, path: str, method: str = "GET") -> Any:
        """Return what the server's REST interface says, None while it says nothing."""
        request = urllib.request.Request(f"{self.address}/{path}", method=method)
        try:
            with urllib.request.urlopen(request, timeout=5) as reply:
                content = reply.read()
                return json.loads(content) if content else None
        except (urllib.error.URLError, ConnectionError, TimeoutError):
            return None

    def kernel_is_ready(self, notebook: str) -> bool:
        """Tell whether the kernel of a notebook waits for code, with the page connected to it."""
        sessions = self.answer("api/sessions") or []
        kernels = [session["kernel"] for session in sessions if session["path"] == notebook]
        return any(kernel["execution_state"] == "idle" and kernel["connections"] > 0 for kernel in kernels)

    def stop_kernels(self) -> None:
        """End every kernel, so that the next notebook has the machine to itself."""
        for session in self.answer("api/sessions") or []:
            self.answer(f"api/sessions/{session['id']}", method="DELETE")
        if left := self.answer("api/kernels"):
            raise PageFailed(f"{len(left)} kernels go on running")


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def workbook_copy(folder: Path) -> Path:
    """Copy the notebooks and the data beside them; each notebook makes its panels and ends with a cell that says so."""
    for name in ("notebooks", "data", "tests/studies"):
        if (ROOT / name).is_dir():
            shutil.copytree(ROOT / name, folder / name, ignore=shutil.ignore_patterns(".ipynb_checkpoints"))
    for path in (folder / "notebooks").glob("*.ipynb"):
        _cut(path)
    return folder


def _cut(path: Path) -> None:
    page = nbformat.read(path, as_version=4)
    page.cells = _panels_alone(page.cells)
    for cell in page.cells:
        cell.outputs, cell.execution_count = [], None
    page.metadata.kernelspec = {"display_name": "Python 3 (ipykernel)", "language": "python", "name": "python3"}
    words = DONE.split(" ", 1)
    page.cells.append(nbformat.v4.new_code_cell(f"print({words[0]!r}, {words[1]!r})"))
    nbformat.write(page, path)


def _panels_alone(cells: list[Any]) -> list[Any]:
    """Return the cells that show panels, and those that make what these need; tests of pages run all of them."""
    kept: list[Any] = []
    wanted: set[str] = set()
    for cell in reversed([cell for cell in cells if cell.cell_type == "code"]):
        nodes = list(ast.walk(ast.parse(cell.source)))
        names = [node for node in nodes if isinstance(node, ast.Name)]
        made = {node.id for node in names if isinstance(node.ctx, ast.Store)}
        made |= {node.asname or node.name for node in nodes if isinstance(node, ast.alias)}
        if "panels." in cell.source or made & wanted:
            kept.insert(0, cell)
            wanted |= {node.id for node in names if isinstance(node.ctx, ast.Load)}
    return kept


@contextmanager
def running_lab(folder: Path, settings: Path) -> Iterator[Lab]:
    """Start JupyterLab on `folder`, with all of its own files below `settings`, and end it afterwards."""
    names = ("JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR", "IPYTHONDIR")
    places = {name: str(settings / name.lower()) for name in names}
    overrides = settings / "jupyter_config_dir" / "labconfig" / "default_setting_overrides.json"
    overrides.parent.mkdir(parents=True)
    overrides.write_text(json.dumps(SETTINGS), encoding="utf-8")
    lab = Lab(folder, free_port(), settings / "golfphys")
    arguments = [
        "--no-browser",
        "--allow-root",
        f"--ServerApp.root_dir={folder}",
        "--ServerApp.ip=127.0.0.1",
        f"--ServerApp.port={lab.address.rpartition(':')[2]}",
        "--ServerApp.port_retries=0",
        "--IdentityProvider.token=",  # this server lives for the tests, on this machine only, on a copy
        "--ServerApp.disable_check_xsrf=True",  # or it would not end a kernel when asked to
        f"--LabApp.user_settings_dir={settings / 'user'}",
        f"--LabApp.workspaces_dir={settings / 'workspaces'}",
    ]
    environment = {name: value for name, value in os.environ.items() if name != "MPLBACKEND"}
    path = [str(ROOT), *filter(None, [environment.get("PYTHONPATH")])]
    environment["GOLFPHYS_HOME"] = str(lab.home)
    environment |= places | {"PYTHONPATH": os.pathsep.join(path), "PYDEVD_DISABLE_FILE_VALIDATION": "1"}
    with (settings / "lab.log").open("w") as log:
        server = subprocess.Popen(
            [sys.executable, "-m", "jupyterlab", *arguments], env=environment, stdout=log, stderr=subprocess.STDOUT
        )
        try:
            _wait_for_server(lab, server, settings / "lab.log")
            yield lab
        finally:
            lab.stop_kernels()
            server.terminate()
            server.wait(timeout=30)


def _wait_for_server(lab: Lab, server: "subprocess.Popen[bytes]", log: Path) -> None:
    for _ in range(120):
        if server.poll() is not None:
            raise PageFailed(f"JupyterLab ended at once:\n{log.read_text()[-3000:]}")
        if lab.answer("api/status") is not None:
            return
        try:
            server.wait(timeout=0.5)
        except subprocess.TimeoutExpired:
            continue
    raise PageFailed(f"JupyterLab did not answer within 60 s:\n{log.read_text()[-3000:]}")


def open_and_run(page: Any, lab: Lab, notebook: str, seconds: int = 180) -> None:
    """Open a notebook, run all its cells from the menu, and wait for its last one; an error or a warning fails it."""
    open_only(page, lab, notebook)
    page.get_by_role("menuitem", name="Run", exact=True).click()
    page.get_by_role("menuitem", name="Run All Cells", exact=True).click()
    end = page.locator(".jp-OutputArea-output").get_by_text(DONE, exact=True)
    wait(page, seconds, lambda: end.count() > 0 or page.locator(ERROR).count() > 0, "the last cell was not reached")
    shown = page.locator(ERROR).all_inner_texts()
    if shown:
        raise PageFailed(f"{notebook} shows an error or a warning:\n{shown[0][-2000:]}")


def open_only(page: Any, lab: Lab, notebook: str) -> None:
    page.goto(f"{lab.address}/lab/tree/{notebook}?reset")
    wait(page, 60, lambda: lab.kernel_is_ready(notebook), "no kernel was ready")


def wait(page: Any, seconds: float, done: Callable[[], Any], complaint: str | Callable[[], str]) -> None:
    """Wait until something is so, or else complain, in words or in what they are by then."""
    for _ in range(int(seconds * 5)):
        if done():
            return
        page.wait_for_timeout(200)
    raise PageFailed(f"{complaint if isinstance(complaint, str) else complaint()} within {seconds:g} s")


def move_slider(page: Any, label: str, seconds: float = 20) -> tuple[str, str]:
    """Move a panel's slider by keyboard; return its words before and after, once they and the picture have changed."""
    row = page.locator(".widget-slider").filter(has=page.get_by_text(label, exact=True)).first
    if row.count() == 0:
        labels = page.locator(".widget-slider .widget-label").all_inner_texts()
        raise PageFailed(f"there is no slider {label!r}; the page has {', '.join(labels) or 'none'}")
    panel = row.locator("xpath=ancestor::*[contains(concat(' ', @class, ' '), ' widget-vbox ')][.//img][1]")
    picture = panel.locator("img").first
    before, image = words(panel), picture.get_attribute("src")
    handle = row.get_by_role("slider")
    handle.scroll_into_view_if_needed()
    handle.focus()
    at = handle.get_attribute("aria-valuenow")
    handle.press("ArrowRight")
    if handle.get_attribute("aria-valuenow") == at:  # it stood at its upper end
        handle.press("ArrowLeft")
    for _ in range(3):
        handle.press("ArrowRight" if float(handle.get_attribute("aria-valuenow")) > float(at or 0) else "ArrowLeft")
    wait(page, seconds, lambda: words(panel) != before, f"{label!r} was moved, but the words stayed: {before!r}")
    wait(page, seconds, lambda: picture.get_attribute("src") != image, f"{label!r} was moved, but the picture stayed")
    return before, _settled(page, panel)


def _settled(page: Any, panel: Any) -> str:
    """Return a panel's words once they have stayed the same for a second."""
    said = words(panel)
    for _ in range(20):
        page.wait_for_timeout(1000)
        if words(panel) == said:
            return said
        said = words(panel)
    raise PageFailed(f"the panel does not come to rest: {said!r}")


def words(panel: Any) -> str:
    return " ".join(panel.locator(".widget-html-content:visible").all_inner_texts()).strip()


def screenshot(page: Any, name: str) -> Path:
    """Keep a picture of the whole notebook among the tests' output."""
    OUTPUT.mkdir(parents=True, exist_ok=True)
    path = OUTPUT / f"{name}.png"
    page.screenshot(path=path)
    return path
