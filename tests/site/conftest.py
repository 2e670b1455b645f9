"""The course as a static site, built once and served as a learner would from a stick."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path

import pytest

from tests.browser import drive
from tests.browser.conftest import browser, screenshots  # noqa: F401 (fixtures)

RUNTIME = "SEALKIT_PYODIDE"  # names the folder with the files of Pyodide


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(str(item.fspath)).parent == Path(__file__).parent:
            item.add_marker(pytest.mark.browser)


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The built site; skipped without Python for the browser or the tools of the extra ``site``."""
    pytest.importorskip("jupyterlite_core", reason="wants the extra site")
    runtime = os.environ.get(RUNTIME)
    if not runtime:
        pytest.skip(f"{RUNTIME} does not name a folder with Python for the browser")
    out = tmp_path_factory.mktemp("site")
    recipe = [sys.executable, str(drive.ROOT / "binder" / "site.py"), str(out)]
    done = subprocess.run([*recipe, f"--runtime={runtime}"], capture_output=True, text=True)
    assert done.returncode == 0, done.stderr[-3000:]
    return out


def within_reach(site: Path) -> None:
    """Put the app of the site's pages within reach of scripts."""
    settings = site / "jupyter-lite.json"
    held = json.loads(settings.read_text(encoding="utf-8"))
    held["jupyter-config-data"]["exposeAppInBrowser"] = True
    settings.write_text(json.dumps(held), encoding="utf-8")


@pytest.fixture(scope="module")
def address(site: Path) -> Iterator[str]:
    """Where Python's own server shows the site, with the app within reach of the tests."""
    within_reach(site)
    port = drive._free_port()
    serve = [sys.executable, "-m", "http.server", str(port), "--bind=127.0.0.1"]
    server = subprocess.Popen(
        [*serve, f"--directory={site}"], stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL
    )
    try:
        for _ in range(100):
            try:
                urllib.request.urlopen(f"http://127.0.0.1:{port}/", timeout=2).close()
                break
            except (urllib.error.URLError, OSError):
                time.sleep(0.1)
        yield f"http://127.0.0.1:{port}"
    finally:
        server.terminate()
        server.wait(15)
