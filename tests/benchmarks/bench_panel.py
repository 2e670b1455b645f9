"""From slider key to painted chart, against a bare figure of the same lines and no computation.

    python -m tests.benchmarks.bench_panel [lesson numbers]

The bare figure has the lesson's own traces and axes; its slider only scales their values. Both
notebooks run in one JupyterLab and one headless browser, keys taken in turn: steps up from the
sheet's value, then steps down from it, so that no value comes twice and nothing kept from an
earlier key helps. Wanted: at most 1.5 times; the deck map at most 2.5 times.
"""

from __future__ import annotations

import statistics
import tempfile
from pathlib import Path
from typing import Any

import nbformat

from tests.benchmarks._tools import Ratio, Skipped
from tests.browser import drive
from tests.browser.drive import Course, Lesson

KEYS = 16  # each way, or as far as the slider goes
LIMITS = {"05": 2.5}
_PANEL = "panels.panel("
BARE = """\
import numpy as np
import ipywidgets as widgets
import plotly.graph_objects as go
figure = go.FigureWidget(shown.figure)
kept = [[(n, np.array(t[n], dtype=np.float32)) for n in ("y", "z", "r") if n in t and len(t[n])]
        for t in figure.data]
slider = widgets.FloatSlider(value=0.5, min=0, max=1, step=0.01)
def moved(change):
    with figure.batch_update():
        for trace, values in zip(figure.data, kept):
            for name, value in values:
                trace[name] = value * np.float32(1 + change.new)
slider.observe(moved, "value")
box = widgets.VBox([slider, figure])
_ = box.add_class("sealkit-panel")
"""
_TIMER = """() => {
  const plot = document.querySelector('.sealkit-panel .js-plotly-plot');
  window.painted = null;
  plot.on('plotly_afterplot', () => requestAnimationFrame(() => {
    if (window.pressed) { window.painted = performance.now() - window.pressed;
                          window.pressed = null; }
  }));
  window.addEventListener('keydown', () => { window.pressed = performance.now();
                                             window.painted = null; }, true);
}"""


_SLIDER = "document.querySelector('.sealkit-panel .noUi-handle')"


def _place(page: Any) -> str:
    """What the first slider says, asked of it alone: a search of the whole page takes time too."""
    return str(page.evaluate(f"() => {_SLIDER}.ariaValueText"))


def _key(page: Any, key: str) -> float | None:
    """Milliseconds from one key on the first slider to the painted chart; None at its end."""
    page.bring_to_front()
    page.evaluate(f"() => {_SLIDER}.focus()")
    before = _place(page)
    page.keyboard.press(key)
    page.wait_for_timeout(5)
    if _place(page) == before:
        return None
    page.wait_for_function("() => window.painted !== null", timeout=drive.WAIT)
    return float(page.evaluate("() => window.painted"))


def _there_and_back(pages: dict[str, Any]) -> dict[str, list[float]]:
    """Times of the keys of each page, in turn."""
    times: dict[str, list[float]] = {name: [] for name in pages}
    for key, back in (("ArrowRight", "ArrowLeft"), ("ArrowLeft", "ArrowRight")):
        gone = 0
        while gone < KEYS:
            taken = {name: _key(page, key) for name, page in pages.items()}
            if None in taken.values():
                break
            for name, value in taken.items():
                times[name].append(float(value or 0.0))
            gone += 1
        for page in pages.values():
            for _ in range(gone):
                _key(page, back)
    return times


def _bare(folder: Path, notebook: Path) -> str:
    """A notebook of the lesson's own cells up to its panel, which is a plain figure there."""
    book = nbformat.read(notebook, as_version=4)
    code = [cell.source for cell in book.cells if cell.cell_type == "code"]
    last = next(i for i, text in enumerate(code) if _PANEL in text)
    code[last] = code[last].replace(_PANEL, "shown = panels.static(")
    book.cells = [
        nbformat.v4.new_code_cell(text) for text in (*code[: last + 1], BARE, "box  # the figure")
    ]
    name = f"bare-{notebook.stem}"
    nbformat.write(book, folder / "notebooks" / f"{name}.ipynb")
    return name


def ratios(names: list[str] | None = None) -> dict[str, float]:
    """Lesson -> median time of its panel over median time of a bare figure of its size."""
    from playwright.sync_api import sync_playwright

    lessons = sorted((drive.ROOT / "notebooks").glob("[0-9][0-9]-*.ipynb"))
    out = {}
    with tempfile.TemporaryDirectory() as folder:
        home = Path(folder)
        with drive.serve(home) as lab, sync_playwright() as playwright:
            browser = playwright.chromium.launch(executable_path=drive.CHROMIUM, args=drive.FLAGS)
            ours, bare = Course(browser, lab), Course(browser, lab)
            for path in lessons:
                if names and path.name[:2] not in names:
                    continue
                ours.open(path.stem, _PANEL)
                bare.open(_bare(home / "course", path), "box  #")
                for course in (ours, bare):
                    Lesson(course.page).until(lambda s: True, "the figure")
                    course.page.evaluate(_TIMER)
                times = _there_and_back({"ours": ours.page, "bare": bare.page})
                middle = {k: statistics.median(v) for k, v in times.items()}
                name = path.name[:2]
                out[name] = middle["ours"] / middle["bare"]
                print(
                    f"lesson {name}, {len(times['ours'])} keys: {middle['ours']:.0f} ms, "
                    f"bare figure {middle['bare']:.0f} ms, ratio {out[name]:.2f} "
                    f"(wanted at most {LIMITS.get(name, 1.5)})"
                )
            browser.close()
    return out


def rows() -> list[Ratio]:
    try:
        import playwright  # noqa: F401
    except ImportError as err:
        raise Skipped("playwright is not installed") from err
    if not drive.CHROMIUM or not Path(drive.CHROMIUM).exists():
        raise Skipped("no Chromium")
    return [
        Ratio(f"panel of lesson {name} over a bare figure", ratio, LIMITS.get(name, 1.5))
        for name, ratio in ratios().items()
    ]


if __name__ == "__main__":
    import sys

    ratios(sys.argv[1:] or None)
