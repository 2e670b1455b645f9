"""JupyterLab on a copy of the course, and Chromium to look at it."""

from __future__ import annotations

import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

ROOT = Path(__file__).resolve().parents[2]
CHROMIUM = os.environ.get("SEALKIT_CHROMIUM") or shutil.which("chromium") or "/usr/bin/chromium"
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    for item in items:
        if Path(str(item.fspath)).parent == Path(__file__).parent:
            item.add_marker(pytest.mark.browser)


def _free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


@pytest.fixture(scope="session")
def lab(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """Address of a JupyterLab that serves a copy of the course; its own settings, no token."""
    home = tmp_path_factory.mktemp("lab")
    course = home / "course"
    for part in ("notebooks", "data"):
        shutil.copytree(
            ROOT / part, course / part, ignore=shutil.ignore_patterns(".*", "__pycache__")
        )
    env = dict(os.environ)
    for name in ("CONFIG", "DATA", "RUNTIME"):
        (home / name).mkdir()
        env[f"JUPYTER_{name}_DIR"] = str(home / name)
    env["JUPYTERLAB_SETTINGS_DIR"] = str(home / "settings")
    env["JUPYTERLAB_WORKSPACES_DIR"] = str(home / "workspaces")
    env["IPYTHONDIR"] = str(home / "ipython")
    quiet = home / "settings" / "@jupyterlab" / "apputils-extension"
    quiet.mkdir(parents=True)
    (quiet / "notification.jupyterlab-settings").write_text('{"fetchNews": "false"}')
    port = _free_port()
    log = (home / "lab.log").open("w")
    server = subprocess.Popen(
        [
            sys.executable,
            "-m",
            "jupyterlab",
            "--no-browser",
            "--allow-root",
            f"--port={port}",
            "--ServerApp.port_retries=0",
            "--ServerApp.ip=127.0.0.1",
            "--IdentityProvider.token=",
            "--LabApp.expose_app_in_browser=True",
            "--LabApp.news_url=",
            "--LabApp.check_for_updates_class=jupyterlab.NeverCheckForUpdate",
            f"--ServerApp.root_dir={course}",
        ],
        env=env,
        cwd=course,
        stdout=log,
        stderr=subprocess.STDOUT,
    )
    address = f"http://127.0.0.1:{port}"
    try:
        end = time.monotonic() + 60
        while True:
            try:
                urllib.request.urlopen(f"{address}/api/status", timeout=2).close()
                break
            except (urllib.error.URLError, OSError):
                if server.poll() is not None or time.monotonic() > end:
                    log.flush()
                    raise RuntimeError(
                        "JupyterLab did not start:\n" + (home / "lab.log").read_text()[-3000:]
                    ) from None
                time.sleep(0.3)
        yield address
    finally:
        server.terminate()
        try:
            server.wait(15)
        except subprocess.TimeoutExpired:
            server.kill()
            server.wait(15)
        log.close()


@pytest.fixture(scope="module")
def browser() -> Iterator[Any]:
    """Headless Chromium; without it the tests are skipped, but fail where CI is set.

    It is closed with its module, since its event loop would be in the way of other tests.
    """
    if not Path(CHROMIUM).exists():
        missing = f"no Chromium at {CHROMIUM}"
        if os.environ.get("CI"):
            pytest.fail(missing)
        pytest.skip(missing)
    from playwright.sync_api import sync_playwright

    with sync_playwright() as playwright:
        found = playwright.chromium.launch(executable_path=CHROMIUM, args=FLAGS)
        yield found
        found.close()


@pytest.fixture(scope="session")
def screenshots(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where pictures go: SEALKIT_SCREENSHOTS, or a temporary folder."""
    wanted = os.environ.get("SEALKIT_SCREENSHOTS")
    folder = Path(wanted) if wanted else tmp_path_factory.mktemp("screenshots")
    folder.mkdir(parents=True, exist_ok=True)
    return folder
