"""The course as a static site, built once and served as a learner would from a stick."""

from __future__ import annotations

import functools
import json
import os
import subprocess
import sys
import threading
from collections.abc import Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from tests.browser import drive
from tests.browser.conftest import browser, screenshots  # noqa: F401 (fixtures)

RUNTIME = "SEALKIT_PYODIDE"  # names the folder with the files of Pyodide


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if item.nodeid.startswith("tests/site/"):
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


class Quiet(SimpleHTTPRequestHandler):
    """Files as Python's own server shows them."""

    def log_message(self, *_: object) -> None:
        pass


@pytest.fixture(scope="module")
def address(site: Path) -> Iterator[str]:
    """Where Python's own server shows the site, with the app within reach of the tests."""
    within_reach(site)
    with ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Quiet, directory=site)) as server:
        threading.Thread(target=server.serve_forever, daemon=True).start()
        yield f"http://127.0.0.1:{server.server_port}"
        server.shutdown()
