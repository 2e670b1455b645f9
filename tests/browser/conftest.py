"""JupyterLab on a copy of the course, and Chromium to look at it."""

from __future__ import annotations

import os
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser import drive


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(str(item.fspath)).parent == Path(__file__).parent:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a JupyterLab that serves a copy of the course."""
    with drive.serve(tmp_path_factory.mktemp("lab")) as address:
        yield address


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Headless Chromium; without it the tests are skipped, but fail where CI is set.

    It is closed with its module, since its event loop would be in the way of other tests.
    """
    if not Path(drive.CHROMIUM).exists():
        missing = f"no Chromium at {drive.CHROMIUM}"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=drive.CHROMIUM, args=drive.FLAGS)
        yield found
        found.close()


@pytest.fixture(scope="session")
def screenshots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pictures go: SEALKIT_SCREENSHOTS, or a temporary folder."""
    wanted = os.environ.get("SEALKIT_SCREENSHOTS")
    folder = Path(wanted) if wanted else tmp_path_factory.mktemp("screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder
