"""One JupyterLab and one Chromium for all browser tests; a fresh page for each.

The fixtures are brought into ``conftest.py``; `lab` stands beside the browser tests and is found once they are.
"""

from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest


@pytest.fixture(scope="session")
def server(tmp_path_factory: pytest.TempPathFactory, shared_fits: Path) -> Iterator[Any]:
    """JupyterLab on a copy of the workbook."""
    import lab

    if lab.chromium() is None:
        pytest.skip("there is no Chromium on this machine")
    pytest.importorskip("playwright.sync_api", reason="playwright is not installed")
    folder = lab.workbook_copy(tmp_path_factory.mktemp("workbook"))
    with lab.running_lab(folder, tmp_path_factory.mktemp("settings")) as running:
        running.home.mkdir()
        (running.home / "fits").symlink_to(shared_fits)
        yield running


@pytest.fixture(scope="session")
def browser(server: Any) -> Iterator[Any]:
    """Chromium without a window."""
    import lab
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=lab.chromium(), args=list(lab.FLAGS))
        yield chromium
        chromium.close()


@pytest.fixture
def page(browser: Any, server: Any) -> Iterator[Any]:
    """A fresh page; whatever it asks for must come from this machine."""
    context = browser.new_context(viewport={"width": 1280, "height": 1000})
    asked: list[str] = []
    context.on("request", lambda request: asked.append(request.url))
    opened = context.new_page()
    yield opened
    context.close()
    server.stop_kernels()
    outside = [url for url in asked if not url.startswith((server.address, "data:", "blob:"))]
    assert outside == [], "the page asked for something outside this machine"
    assert [url for url in asked if "markup-was-run" in url] == [], "text of a sheet was taken for markup"
