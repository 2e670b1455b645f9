"""JupyterLab on a copy of the course, and Chromium to look at it."""

from __future__ import annotations

import os
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.browser import drive


def _lesson(item: pytest.Item) -> str:
    """Number of the lesson that a test opens; the others come last."""
    found = re.search(r"lesson_(\d\d)|\[(\d\d)\b", item.nodeid)
    return next(n for n in found.groups() if n) if found else "99"


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """All tests of a lesson stand together, so that it is opened once."""
    places = [i for i, item in enumerate(items) if item.nodeid.startswith("tests/browser/")]
    for place, item in zip(places, sorted((items[i] for i in places), key=_lesson), strict=True):
        item.add_marker(pytest.mark.browser)
        items[place] = item


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a JupyterLab that serves a copy of the course."""
    with drive.serve(tmp_path_factory.mktemp("lab")) as address:
        yield address


@pytest.fixture(scope="package")
def browser() -> Iterator[Any]:
    """Headless Chromium; without it the tests are skipped, but fail where CI is set.

    It is closed with its tests, since its event loop would be in the way of others. What moves by
    itself stands still, since it would take the processor from what is tested.
    """
    if not Path(drive.CHROMIUM).exists():
        missing = f"no Chromium at {drive.CHROMIUM}"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(
            executable_path=drive.CHROMIUM, args=drive.QUICK, timeout=drive.WAIT
        )
        found.new_context(reduced_motion="reduce")
        yield found
        found.close()


@pytest.fixture(scope="package")
def course(browser: Any, lab: str) -> drive.Course:
    """The course in one window."""
    return drive.Course(browser, lab)


@pytest.fixture(scope="session")
def screenshots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pictures go: SEALKIT_SCREENSHOTS, or a temporary folder."""
    wanted = os.environ.get("SEALKIT_SCREENSHOTS")
    folder = Path(wanted) if wanted else tmp_path_factory.mktemp("screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder
