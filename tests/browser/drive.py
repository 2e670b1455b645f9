"""An open lesson in JupyterLab, as the browser tests drive it."""

from __future__ import annotations

import contextlib
import os
import random
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

from axe_playwright_python.base import AXE_SCRIPT
from axe_playwright_python.sync_playwright import Axe

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
# pictures that move by themselves stand still, which would be painted all the time, and scripts are
# not optimised, which costs more than it saves in a page that is soon left; besides, as Playwright
# has it, hands and eyes of a desk
QUICK = [
    *FLAGS,
    "--js-flags=--no-opt",
    "--blink-settings=imageAnimationPolicy=2,primaryHoverType=2,availableHoverTypes=2,"
    "primaryPointerType=4,availablePointerTypes=4",
]

WAIT = 90_000  # ms, generous for two slow cores
POLL = 100  # ms between two looks at a page: at each frame they would keep it painting

# JupyterLab's ring beside a busy kernel turns sixty times a second
_STILL = """addEventListener('DOMContentLoaded', () => document.head.append(Object.assign(
  document.createElement('style'),
  { textContent: '.jp-KernelStatus-spinner { animation: none !important; }' })))"""

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
    page.add_init_script(_STILL)
    page.set_viewport_size({"width": width, "height": height})
    page.set_default_timeout(WAIT)
    return page


def until_true(page: Any, condition: str, **how: Any) -> None:
    """Wait until a condition holds on a page."""
    page.wait_for_function(condition, polling=POLL, **how)


class Course:
    """The course in one window: one notebook open at a time, in JupyterLab all on one kernel.

    What a notebook leaves in the kernel is thrown away before the next one opens; that each runs
    in a kernel of its own is tested without a browser.
    """

    def __init__(self, browser: Any, lab: str, app: str = "lab") -> None:
        self.lab = lab
        self.app = app  # "lab" or "notebook"
        self.page = new_page(browser)
        self.now = ""  # the open notebook
        self.kernel: str | None = None
        self.received = 0  # bytes from the kernel since the notebook was opened
        self.opened = 0  # of them until its panel stood
        self.sent = 0  # bytes to the kernel since then
        self.page.on("websocket", self._listen)
        if app == "lab":
            self.page.goto(f"{lab}/lab?reset")
            until_true(self.page, "() => window.jupyterapp?.shell?.currentWidget")

    def _listen(self, socket: Any) -> None:
        def count(frame: Any) -> None:
            self.received += len(frame)

        def told(frame: Any) -> None:
            self.sent += len(frame)

        if "/api/kernels/" in socket.url:
            socket.on("framereceived", count)
            socket.on("framesent", told)

    def open(self, notebook: str, call: str) -> None:
        """A notebook of the course with all its cells run, the one that makes this call in view."""
        self.close()
        resize(self.page, 1400)
        self.received = 0
        if self.app == "lab":
            self.kernel = self.page.evaluate(_OPEN, [f"notebooks/{notebook}.ipynb", self.kernel])
            until_true(self.page, _READY)
            # what the closed window's threads left would complain on the new one's cells
            self.page.evaluate(EXECUTE, "import gc\ngc.collect()")
        else:
            self._go(notebook)
        self.now = notebook
        self.page.evaluate(_HEARD)
        run(self.page, call)

    def _go(self, notebook: str) -> None:
        """To the notebook's own address."""
        app = "lab/tree" if self.app == "lab" else "notebooks"
        self.page.goto(f"{self.lab}/{app}/notebooks/{notebook}.ipynb?reset")
        until_true(self.page, _READY)
        self.kernel = self.page.evaluate(_KERNEL)

    def close(self) -> None:
        """Close the notebook and throw away what it left in the kernel."""
        if self.now and self.kernel:
            self.page.evaluate(
                EXECUTE, "import ipywidgets\nipywidgets.Widget.close_all()\n%reset -f"
            )
            self.page.evaluate(_ALONE)
            self.page.evaluate("() => window.jupyterapp.shell.currentWidget.dispose()")
        self.now = ""

    def forget(self) -> None:
        """Close the notebook and its kernel, as a hosted service does when it sleeps."""
        self.page.evaluate(_FORGET)
        self.now, self.kernel = "", None

    def again(self, call: str) -> None:
        """The saved notebook opened without its kernel, nothing run yet."""
        self.page.evaluate("() => window.jupyterapp.shell.currentWidget.context.save()")
        self.page.evaluate(_FORGET)
        self._go(self.now)
        self.now += ", not run"
        self.page.evaluate(_SHOW, call)

    def lesson(self, number: str) -> Lesson:
        """A lesson with its panel in view, opened (then at rest) unless it is the open one."""
        (path,) = (ROOT / "notebooks").glob(f"{number}-*.ipynb")
        if self.now != path.stem:
            self.open(path.stem, "panels.panel(")
            Lesson(self.page).until(lambda s: bool(s["status"]), "the figure and its words")
            self.opened = self.received
            Lesson(self.page).settled()
        resize(self.page, 1400)
        return Lesson(self.page)


def resize(page: Any, width: int) -> None:
    """A window of this width; a narrow one without JupyterLab's file browser."""
    page.set_viewport_size({"width": width, "height": 1000})
    stack = page.locator("#jp-left-stack")
    if "/lab" in page.url and stack.is_visible() == (width < 700):
        page.evaluate("() => window.jupyterapp.commands.execute('application:toggle-left-area')")


def picture(page: Any, selector: str, folder: Path, name: str, width: int) -> None:
    """A picture of one part of the page, where pictures are wanted."""
    if "SEALKIT_SCREENSHOTS" not in os.environ:
        return
    page.set_viewport_size({"width": width, "height": 6000 if width < 700 else 4500})
    page.evaluate("selector => document.querySelector(selector).scrollIntoView()", selector)
    Lesson(page).theme("Light")
    time.sleep(0.5)
    page.locator(selector).screenshot(path=folder / f"{name}-{width}.png")
    page.set_viewport_size({"width": width, "height": 1000})


def run(page: Any, call: str) -> None:
    """Run all cells of the open notebook and go to the one that makes this call."""
    page.evaluate("() => window.jupyterapp.commands.execute('notebook:run-all-cells')")
    # cells out of view are not in the page
    page.evaluate(_SHOW, call)


class Lesson:
    """The panel of the open lesson."""

    def __init__(self, page: Any) -> None:
        self.page = page

    @property
    def panel(self) -> Any:
        return self.page.locator(".sealkit-panel")

    def cells(self) -> list[dict[str, Any]]:
        """The cells as the notebook holds them now."""
        return list(self.page.evaluate(_MODEL))

    def settled(self) -> dict[str, Any]:
        """The state once all that was set has been worked out, told and painted, and nothing is
        due."""
        for _ in range(2):  # what the browser held back meanwhile goes out behind the first
            until_true(self.page, _HEARD)
            self.page.evaluate(EXECUTE, _AT_REST)
        self.page.evaluate(_PAINTED)
        return self.until(lambda s: bool(s["status"]), "the panel at rest")

    def until(self, good: Callable[[dict[str, Any]], bool], what: str) -> dict[str, Any]:
        """The state once it is good; the panel works a moment after the key.

        A state that lacks a line which is asked for is not good yet.
        """
        end = time.monotonic() + WAIT / 1000
        while time.monotonic() < end:
            found = self.page.evaluate(_STATE)
            with contextlib.suppress(KeyError):
                if found is not None and good(found):
                    return dict(found)
            time.sleep(0.05)
        raise AssertionError(f"not seen: {what}; now {self.page.evaluate(_STATE)}")

    def press(self, name: str, key: str, times: int) -> None:
        handle = self.panel.get_by_role("slider", name=name)
        handle.focus()
        for _ in range(times):
            self.page.keyboard.press(key)

    def theme(self, name: str) -> None:
        """JupyterLab's theme "Light" or "Dark"."""
        self.page.evaluate(
            "theme => window.jupyterapp.commands.execute('apputils:change-theme', { theme })",
            f"JupyterLab {name}",
        )
        until_true(
            self.page,
            "light => document.body.dataset.jpThemeLight === light",
            arg=str(name == "Light").lower(),
        )

    def fits(self, width: int) -> None:
        """Make the window this wide; every part has to stay within the panel's width."""
        page = self.page
        resize(page, width)
        self.until(
            lambda s: (
                abs(s["plot"][0] - s["plot"][1]) < 2
                and s["panel"][1] > 0.6 * width - 150
                and s["panel"][0] <= s["panel"][1] + 1
            ),
            "the figure in its new width, all within the panel",
        )
        page.evaluate(_PANEL_IN_VIEW)
        # a control that is being drawn again has no box for a moment
        end = time.monotonic() + WAIT / 1000
        while (left := page.evaluate(_OUTSIDE, width)) and time.monotonic() < end:
            time.sleep(0.1)
        assert not left, left


_RULES = Axe(f"() => {{ if (!window.axe) {{ {AXE_SCRIPT} }} }}")  # once on each page


def accessible(page: Any, selector: str, *kinds: str) -> None:
    """No finding of serious or critical impact in one part of the page, of all kinds of rules or
    of these."""
    how = {"resultTypes": ["violations"], **({"runOnly": list(kinds)} if kinds else {})}
    found = _RULES.run(page, selector, how).response["violations"]
    told = [
        (finding["id"], node["html"][:200], node["failureSummary"])
        for finding in found
        if finding["impact"] in ("serious", "critical")
        for node in finding["nodes"]
    ]
    assert not told, told


_READY = """() => {
  const app = window.jupyterapp, tab = app && app.shell.currentWidget;
  const kernel = tab && tab.sessionContext && tab.sessionContext.session
    && tab.sessionContext.session.kernel;
  return !!(kernel && kernel.status === 'idle' && tab.content.model.cells.length);
}"""
_MODEL = "() => window.jupyterapp.shell.currentWidget.content.model.toJSON().cells"
_KERNEL = "() => window.jupyterapp.shell.currentWidget.sessionContext.session.kernel.id"
_OPEN = """async ([path, id]) => {
  const tab = await window.jupyterapp.commands.execute(
    'docmanager:open', { path, factory: 'Notebook', kernel: id ? { id } : undefined });
  await tab.revealed;
  await tab.sessionContext.ready;
  return tab.sessionContext.session.kernel.id;
}"""
EXECUTE = """async (code) => {
  const { kernel } = window.jupyterapp.shell.currentWidget.sessionContext.session;
  await kernel.requestExecute({ code, silent: true }).done;
}"""
# until the kernel has ended the thread of the closed widgets: what the next ones send to it is lost
_ALONE = """async () => {
  const { kernel } = window.jupyterapp.shell.currentWidget.sessionContext.session;
  for (let tries = 0; tries < 200; tries++) {
    const { content } = await kernel.requestListSubshell({}).done;
    if (!content.subshell_id?.length) return;
    await new Promise(done => setTimeout(done, 50));
  }
  throw new Error("the thread of the closed widgets goes on");
}"""
# whether the kernel, where widgets have a thread of their own, is done with all they have sent
_HEARD = """() => {
  const { kernel } = window.jupyterapp.shell.currentWidget.sessionContext.session;
  if (!kernel.unheard) {
    kernel.unheard = new Set();
    kernel.anyMessage.connect((_, { msg, direction }) => {
      if (direction === 'send' && msg.header.msg_type === 'comm_msg')
        kernel.unheard.add(msg.header.msg_id);
      // what arrives while a cell waits is taken in without a word of busy or idle, but echoed
      if (direction === 'recv'
          && (msg.header.msg_type === 'comm_msg' || msg.content.execution_state === 'idle'))
        kernel.unheard.delete(msg.parent_header.msg_id);
    });
  }
  return !kernel.unheard.size;
}"""
_PAINTED = """() => new Promise(done => {
  requestAnimationFrame(() => requestAnimationFrame(() => done()));
})"""
# in that thread: what panels still have to do; messages come in order, so it is on the page then
_AT_REST = """
import asyncio
from ipywidgets.widgets.widget import _instances

async def rest(panel):
    while panel.busy:
        await asyncio.sleep(0.01)

for one in list(_instances.values()):
    if getattr(one, "_loop", None) is not None:
        await asyncio.wrap_future(asyncio.run_coroutine_threadsafe(rest(one), one._loop))
"""
_FORGET = """async () => {
  const tab = window.jupyterapp.shell.currentWidget;
  await tab.sessionContext.shutdown();
  tab.dispose();
}"""
# scrolled to until it stays: cells above it get their height only once they are in the page
_SHOW = """async (call) => {
  const content = window.jupyterapp.shell.currentWidget.content;
  const cells = content.model.toJSON().cells.map(c => [].concat(c.source).join(''));
  const place = cells.findIndex(c => c.split('\\n').some(line => line.startsWith(call)));
  content.activeCellIndex = place;
  for (let still = 0, tries = 0; still < 2 && tries < 100; tries++) {
    await content.scrollToItem(place, 'start');
    await new Promise(done => setTimeout(done, 50));
    const cell = content.widgets[place].node, top = cell.getBoundingClientRect().top;
    still = cell.isConnected && top > -50 && top < window.innerHeight / 2 ? still + 1 : 0;
  }
}"""
# what a button opened begins at the top
ANSWER_IN_VIEW = "() => document.querySelector('.sealkit-asked').getBoundingClientRect().top < 200"
_PANEL_IN_VIEW = "() => document.querySelector('.sealkit-panel').scrollIntoView()"
_OUTSIDE = """(width) => Array.from(document.querySelectorAll(
    '.sealkit-panel :is([role=slider], input[type=number])'))
  .map(el => [el.outerHTML.slice(0, 120), el.getBoundingClientRect()])
  .filter(([_, box]) => !box.width || box.left < 0 || box.right > width)"""


def _free_port() -> int:
    """A port nobody has, of those that no system gives away by itself before it is taken."""
    while True:
        port = random.SystemRandom().randrange(20_000, 30_000)
        with socket.socket() as s, contextlib.suppress(OSError):
            s.bind(("127.0.0.1", port))
            return port


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
            "--JupyterNotebookApp.expose_app_in_browser=True",
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
        end = time.monotonic() + 2 * WAIT / 1000
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
