"""Lesson 00 on the static site beside a local JupyterLab: seconds, bytes, slider to paint.

    python -m tests.benchmarks.load_site SITE [SITE ...] [--slow 4]

SITE is a folder made by ``binder/site.py``. Each is opened in a new window that has loaded nothing
before, from a server on this machine; ``--slow`` holds the page's processor back (JupyterLab's
kernel and server keep theirs, the kernel on the site too, since it is a thread of its own).
"""

from __future__ import annotations

import argparse
import contextlib
import functools
import statistics
import tempfile
import threading
import time
from collections.abc import Callable, Iterator
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path
from typing import Any

from playwright.sync_api import Error, sync_playwright

from tests.benchmarks.bench_panel import _TIMER, _key
from tests.browser import drive
from tests.site.conftest import within_reach

LESSON = "notebooks/00-the-whole-joint.ipynb"
WAIT = 300_000  # ms
KEYS = 12
_PICTURE = """() => [...document.querySelectorAll('.jp-RenderedMarkdown img')]
  .some(one => one.complete && one.naturalWidth > 0)"""
_FIGURE = "() => !!document.querySelector('.sealkit-panel .js-plotly-plot .main-svg')"


@contextlib.contextmanager
def served(site: Path) -> Iterator[tuple[str, Callable[[], int]]]:
    """Address of the site, and how many bytes of its files were sent."""
    sent: list[int] = []

    class Handler(SimpleHTTPRequestHandler):
        def copyfile(self, source: Any, outputfile: Any) -> None:
            data = source.read()
            sent.append(len(data))
            with contextlib.suppress(ConnectionError):
                outputfile.write(data)

        def log_message(self, format: str, *args: Any) -> None:
            pass

    within_reach(site)
    server = ThreadingHTTPServer(("127.0.0.1", 0), functools.partial(Handler, directory=str(site)))
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/", lambda: sum(sent)
    server.shutdown()


@contextlib.contextmanager
def lab() -> Iterator[str]:
    with tempfile.TemporaryDirectory() as folder, drive.serve(Path(folder)) as address:
        yield f"{address}/lab/tree/{LESSON}?reset"


def measured(browser: Any, address: str, sent: Callable[[], int] | None, slow: float) -> str:
    """One line of the table."""
    context = browser.new_context(viewport={"width": 1400, "height": 1000})
    page = context.new_page()
    page.set_default_timeout(WAIT)
    taken = [0]
    if sent is None:  # of the server's files, and of the kernel

        def kernel(socket: Any) -> None:
            socket.on("framereceived", lambda frame: taken.append(len(frame)))

        page.on("websocket", kernel)

        def files(asked: Any) -> None:
            with contextlib.suppress(Error):  # the window is closed
                taken.append(asked.sizes()["responseBodySize"])

        page.on("requestfinished", files)
    if slow > 1:
        page.context.new_cdp_session(page).send("Emulation.setCPUThrottlingRate", {"rate": slow})
    began = time.perf_counter()
    page.goto(address)
    page.wait_for_function(_PICTURE)
    picture = time.perf_counter() - began
    page.wait_for_function(drive._READY)
    ready = time.perf_counter() - began
    began = time.perf_counter()
    drive.run(page, "panels.panel(")
    page.wait_for_function(_FIGURE)
    figure = time.perf_counter() - began
    drive.Lesson(page).until(lambda s: len(s["lines"]) == 10 and bool(s["status"]), "all lines")
    live = time.perf_counter() - began
    total = (sum(taken) if sent is None else sent()) / 1e6
    page.evaluate(_TIMER)
    pressed = (_key(page, "ArrowRight") for _ in range(KEYS))
    times = [took for took in pressed if took is not None]
    context.close()
    middle, worst = statistics.median(times), max(times)
    return (
        f"{picture:8.1f}{ready:8.1f}{figure:8.1f}{live:8.1f}{total:8.1f}{middle:9.0f}{worst:7.0f}"
    )


if __name__ == "__main__":
    words = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    words.add_argument("sites", type=Path, nargs="+")
    words.add_argument("--slow", type=float, default=1.0, help="times slower the page's processor")
    given = words.parse_args()
    print("picture  kernel  figure  panel      MB   slider  worst  (s, MB, ms to paint)")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=drive.CHROMIUM, args=drive.FLAGS)
        with lab() as address:
            print(measured(browser, address, None, given.slow), "JupyterLab", flush=True)
        for site in given.sites:
            with served(site) as (address, sent):
                print(measured(browser, address, sent, given.slow), site, flush=True)
        browser.close()
