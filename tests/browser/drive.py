"""An open lesson in JupyterLab, as the browser tests drive it."""

from __future__ import annotations

import contextlib
import os
import shutil
import socket
import subprocess
import sys
import time
import urllib.error
import urllib.request
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

from sealkit.cli import lab_environment

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


WAIT = 90_000  # ms, generous for two slow cores

_STATE = r"""() => {
  const panel = document.querySelector('.sealkit-panel');
  const plot = panel && panel.querySelector('.js-plotly-plot');
  if (!plot || !plot.data || !plot.data.length || !plot._fullLayout) return null;
  const out = {};
  for (const trace of plot.data.filter(t => t.name !== 'before')) {
    const flat = Array.from(trace.z || trace.r || trace.y || [])
      .flatMap(v => v && v.length ? Array.from(v) : [v]).filter(v => v !== null && isFinite(v));
    out[trace.meta] = [Math.min(...flat), Math.max(...flat), flat.length];
  }
  return {
    lines: out,
    status: ((panel.querySelector('[role=status]') || {}).textContent || '')
      .replace(/\s+/g, ' ').trim(),
    titles: (plot.layout.annotations || []).map(a => a.text),
    plot: [plot._fullLayout.width, plot.clientWidth],
    panel: [panel.scrollWidth, panel.clientWidth],
  };
}"""


def new_page(browser: Any, width: int = 1400, height: int = 1000) -> Any:
    """A page that takes what the pages before it have loaded, such as the parts of JupyterLab."""
    context = browser.contexts[0] if browser.contexts else browser.new_context()
    page = context.new_page()
    page.set_viewport_size({"width": width, "height": height})
    return page


class Lesson:
    """The open lesson."""

    def __init__(self, page: Any) -> None:
        self.page = page
        self.name = ""
        self.received = 0  # bytes from the kernels

    @property
    def panel(self) -> Any:
        return self.page.locator(".sealkit-panel")

    def state(self) -> dict[str, Any]:
        found = self.page.evaluate(_STATE)
        assert found is not None
        return dict(found)

    def until(self, good: Callable[[dict[str, Any]], bool], what: str) -> dict[str, Any]:
        """The state once it is good; the panel works a moment after the key."""
        end = time.monotonic() + 45
        while time.monotonic() < end:
            found = self.page.evaluate(_STATE)
            if found is not None and good(found):
                return dict(found)
            time.sleep(0.1)
        raise AssertionError(f"not seen: {what}; now {self.page.evaluate(_STATE)}")

    def press(self, name: str, key: str, times: int) -> None:
        handle = self.panel.get_by_role("slider", name=name)
        handle.focus()
        for _ in range(times):
            self.page.keyboard.press(key)

    # ------------------------------------------------------------------ as a whole
    @classmethod
    def open(cls, browser: Any, lab: str, lesson: str) -> Lesson:
        """The lesson with all cells run and its panel in view."""
        page = new_page(browser)
        page.set_default_timeout(WAIT)
        made = cls(page)

        def opened(socket: Any) -> None:
            if "/api/kernels/" in socket.url:
                socket.on("framereceived", made.count)

        page.on("websocket", opened)
        page.goto(f"{lab}/lab/tree/{lesson}?reset")  # without the tabs of the lesson before
        page.wait_for_function(_READY, timeout=WAIT)
        page.evaluate("() => window.jupyterapp.commands.execute('notebook:run-all-cells')")
        # cells out of view are not in the page: go to the panel's
        cells = made.cells()
        made.show(next(i for i, c in enumerate(cells) if "panels.panel(" in "".join(c["source"])))
        page.wait_for_selector(".sealkit-panel .js-plotly-plot", timeout=WAIT, state="attached")
        made.until(lambda s: True, "the figure")
        page.evaluate("document.querySelector('.sealkit-panel').scrollIntoView()")
        return made

    def show(self, place: int) -> None:
        """Go to a cell."""
        self.page.evaluate(_SHOW, place)

    def count(self, frame: Any) -> None:
        """One more frame from a kernel."""
        self.received += len(frame)

    def cells(self) -> list[dict[str, Any]]:
        """The cells as the notebook holds them now."""
        return list(self.page.evaluate(_MODEL))

    def finished(self) -> None:
        """Wait until every code cell has run."""
        self.page.wait_for_function(_DONE, timeout=WAIT)

    def fits(self, width: int) -> None:
        """Make the window this wide; every part has to stay within the panel's width."""
        page = self.page
        page.set_viewport_size({"width": width, "height": 1000})
        if width < 700 and page.locator("#jp-left-stack").is_visible():
            page.keyboard.press("Escape")
            page.keyboard.press("Control+b")
        state = self.until(
            lambda s: abs(s["plot"][0] - s["plot"][1]) < 2 and s["panel"][1] > 0.6 * width - 150,
            "the figure in its new width",
        )
        assert state["panel"][0] <= state["panel"][1] + 1
        page.evaluate("document.querySelector('.sealkit-panel').scrollIntoView()")

        def outside() -> list[Any]:
            out = []
            for role in ("slider", "spinbutton"):
                found = self.panel.get_by_role(role)
                for place in range(found.count()):
                    box = found.nth(place).bounding_box()
                    if not box or box["x"] < 0 or box["x"] + box["width"] > width:
                        out.append((role, place, box))
            return out

        # a control that is being drawn again has no box for a moment
        end = time.monotonic() + 20
        while (left := outside()) and time.monotonic() < end:
            time.sleep(0.2)
        assert not left, left

    def picture(self, folder: Path, name: str, width: int) -> None:
        """A picture of the whole panel in this width."""
        height = 4200 if width < 700 else 2300
        self.page.set_viewport_size({"width": width, "height": height})
        self.page.evaluate("document.querySelector('.sealkit-panel').scrollIntoView()")
        time.sleep(0.5)
        self.panel.screenshot(path=folder / f"panel-{name}-{width}.png")


_READY = """() => {
  const app = window.jupyterapp, tab = app && app.shell.currentWidget;
  const kernel = tab && tab.sessionContext && tab.sessionContext.session
    && tab.sessionContext.session.kernel;
  return !!(kernel && kernel.status === 'idle' && tab.content.model.cells.length);
}"""
_MODEL = "() => window.jupyterapp.shell.currentWidget.content.model.toJSON().cells"
_DONE = """() => window.jupyterapp.shell.currentWidget.content.model.toJSON().cells
  .every(c => c.cell_type !== 'code' || c.execution_count !== null)"""
_SHOW = """async (place) => {
  const content = window.jupyterapp.shell.currentWidget.content;
  content.activeCellIndex = place;
  await content.scrollToItem(place, 'start');
}"""


def _free_port() -> int:
    with socket.socket() as s:
        s.bind(("127.0.0.1", 0))
        return int(s.getsockname()[1])


@contextlib.contextmanager
def serve(home: Path) -> Iterator[str]:
    """Address of a JupyterLab on a copy of the course below `home`; own settings, no token."""
    course = home / "course"
    for part in ("notebooks", "data"):
        shutil.copytree(
            ROOT / part, course / part, ignore=shutil.ignore_patterns(".*", "__pycache__")
        )
    env = lab_environment()
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
