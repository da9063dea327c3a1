"""Executes the pages of a run of the tests ahead of their tests, while others run.

The fixtures are brought into ``conftest.py``.
"""

import os
from collections.abc import Iterator
from concurrent.futures import Future
from pathlib import Path
from typing import Any

import pytest
import refresh_notebooks


def keep_apart(patch: pytest.MonkeyPatch, folder: Path) -> None:
    """Keep kernels away from the settings and the history of whoever runs the tests."""
    for name in ("IPYTHONDIR", "JUPYTER_CONFIG_DIR", "JUPYTER_DATA_DIR", "JUPYTER_RUNTIME_DIR"):
        patch.setenv(name, str(folder / name.lower()))


@pytest.fixture(scope="session", autouse=True)
def executed_pages(
    request: pytest.FixtureRequest, tmp_path_factory: pytest.TempPathFactory
) -> Iterator[dict[Path, "Future[Any]"]]:
    """Every page that a test of this run asks for, freshly executed beside the tests on the processors they leave."""
    calls = [item.callspec for item in request.session.items if "page_run" in getattr(item, "fixturenames", ())]  # type: ignore[attr-defined]
    if not calls:
        yield {}
        return
    with refresh_notebooks.side_by_side(max(1, (os.cpu_count() or 1) - 1)) as pool:
        with pytest.MonkeyPatch.context() as patch:
            keep_apart(patch, tmp_path_factory.mktemp("settings"))
            paths = [call.params["path"] for call in calls]
            runs = {path: pool.submit(refresh_notebooks.executed, path) for path in paths}
        yield runs
        pool.shutdown(cancel_futures=True)


@pytest.fixture
def page_run(executed_pages: dict[Path, "Future[Any]"], path: Path) -> Any:
    """Return the page at `path`, freshly executed."""
    return executed_pages[path].result()
