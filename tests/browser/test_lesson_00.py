"""Lesson 00 in JupyterLab, driven by keyboard in a real browser."""

from __future__ import annotations

import time
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

LESSON = "notebooks/00-the-whole-joint.ipynb"
WAIT = 90_000  # ms, generous for two slow cores

_STATE = """() => {
  const panel = document.querySelector('.sealkit-panel');
  const plot = panel && panel.querySelector('.js-plotly-plot');
  if (!plot || !plot.data || plot.data.length < 9) return null;
  const out = {};
  for (const trace of plot.data) {
    const y = Array.from(trace.y);
    out[trace.meta] = [Math.min(...y), Math.max(...y), y.length];
  }
  return {
    lines: out,
    status: panel.querySelector('[role=status]').innerText,
    titles: plot.layout.annotations.map(a => a.text),
    plot: [plot._fullLayout.width, plot.clientWidth],
    panel: [panel.scrollWidth, panel.clientWidth],
  };
}"""


def same(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether all lines are the same to the digits that are sent."""
    return all(
        other["lines"][key] == pytest.approx(line, rel=1e-6, abs=1e-6)
        for key, line in one["lines"].items()
    )


class Lesson:
    """The open lesson."""

    def __init__(self, page: Any) -> None:
        self.page = page

    @property
    def panel(self) -> Any:
        return self.page.locator(".sealkit-panel")

    def state(self) -> dict[str, Any]:
        found = self.page.evaluate(_STATE)
        assert found is not None
        return dict(found)

    def until(self, good: Callable[[dict[str, Any]], bool], what: str) -> dict[str, Any]:
        """The state once it is good; the panel works a moment after the key."""
        end = time.monotonic() + 20
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


_READY = """() => {
  const app = window.jupyterapp, tab = app && app.shell.currentWidget;
  const kernel = tab && tab.sessionContext && tab.sessionContext.session
    && tab.sessionContext.session.kernel;
  return !!(kernel && kernel.status === 'idle' && tab.content.model.cells.length);
}"""
_MODEL = "() => window.jupyterapp.shell.currentWidget.content.model.toJSON().cells"
_SHOW = """async (place) => {
  const content = window.jupyterapp.shell.currentWidget.content;
  content.activeCellIndex = place;
  await content.scrollToItem(place, 'start');
}"""


@pytest.fixture(scope="module")
def lesson(browser: Any, lab: str) -> Iterator[Lesson]:
    """The lesson with all cells run."""
    page = browser.new_page(viewport={"width": 1400, "height": 1000})
    page.set_default_timeout(WAIT)
    page.goto(f"{lab}/lab/tree/{LESSON}")
    page.wait_for_function(_READY, timeout=WAIT)
    page.evaluate("() => window.jupyterapp.commands.execute('notebook:run-all-cells')")
    cells = page.evaluate(_MODEL)
    # cells out of view are not in the page: go to the panel's
    place = next(i for i, c in enumerate(cells) if "panels.panel(" in "".join(c["source"]))
    page.evaluate(_SHOW, place)
    page.wait_for_selector(".sealkit-panel .js-plotly-plot", timeout=WAIT, state="attached")
    made = Lesson(page)
    made.until(lambda s: True, "the figure")
    page.evaluate("document.querySelector('.sealkit-panel').scrollIntoView()")
    yield made
    page.close()


def test_all_cells_run_without_error(lesson: Lesson) -> None:
    for cell in lesson.page.evaluate(_MODEL):
        if cell["cell_type"] != "code":
            continue
        assert cell["execution_count"] is not None
        for output in cell["outputs"]:
            assert output["output_type"] != "error", output
            assert output.get("name") != "stderr", output
    assert lesson.page.locator(".sealkit-panel [role=alert]").count() == 0


def test_opens_on_the_sheets_values(lesson: Lesson) -> None:
    from sealkit import report

    ours = report.demo_report("boosted-four")
    state = lesson.until(
        lambda s: abs(s["lines"]["sized"][1] * 1e5 / ours.gas.sizing_peak - 1) < 1e-5,
        "the browser put a slider on its step and moved the engine",
    )
    assert ours.weakest.what in state["status"]
    assert all(121 <= n <= 241 or n == 2 for _, _, n in state["lines"].values())


@pytest.mark.parametrize(
    ("name", "key", "up", "down"),
    [
        ("Boost", "ArrowRight", ["mean", "bound", "gas", "lift"], ["clamp", "left"]),
        ("Compression ratio", "ArrowRight", ["mean", "bound", "gas", "lift"], ["clamp", "left"]),
        ("torque", "ArrowLeft", ["lift"], ["clamp", "left"]),
    ],
)
def test_slider_by_keyboard(
    lesson: Lesson, name: str, key: str, up: list[str], down: list[str]
) -> None:
    before = lesson.state()
    lesson.press(name, key, 8)
    least = {k: v[0] for k, v in before["lines"].items()}
    most = {k: v[1] for k, v in before["lines"].items()}
    after = lesson.until(
        lambda s: (
            s["status"] != before["status"]
            and all(s["lines"][k][1] > most[k] for k in up)
            and all(s["lines"][k][0] < least[k] for k in down)
        ),
        f"{name} moved",
    )
    if name == "torque":
        assert after["lines"]["mean"] == pytest.approx(before["lines"]["mean"], rel=1e-6)
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: s["status"] == before["status"], "back on the sheet's values")


def test_number_box_and_wrong_number(lesson: Lesson) -> None:
    before = lesson.state()
    box = lesson.panel.get_by_role("spinbutton", name="Boost, bar gauge")
    box.fill("99")
    box.press("Enter")
    alert = lesson.panel.get_by_role("alert")
    alert.wait_for(timeout=20_000)
    assert "wanted from 0 to" in alert.inner_text()
    assert same(lesson.state(), before)
    box.fill("1.5")
    box.press("Enter")
    lesson.until(lambda s: s["lines"]["mean"][1] > before["lines"]["mean"][1], "more boost")
    assert lesson.panel.get_by_role("alert").count() == 0
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: same(s, before), "back")


def test_units_switch(lesson: Lesson) -> None:
    before = lesson.state()
    units = lesson.panel.get_by_label("Units")
    units.select_option("inch")
    after = lesson.until(lambda s: "psi absolute" in s["titles"][0], "titles in inch units")
    after = lesson.until(
        lambda s: abs(s["lines"]["mean"][1] / before["lines"]["mean"][1] - 14.5038) < 1e-3,
        "pressure in psi",
    )
    assert " psi" in after["status"] and " bar" not in after["status"]
    box = lesson.panel.get_by_role("spinbutton", name="Boost, psi gauge")
    assert float(box.input_value()) == pytest.approx(18.0, abs=0.01)
    units.select_option("metric")
    lesson.until(lambda s: same(s, before), "back in metric units")


def test_other_gasket_and_comparison(lesson: Lesson) -> None:
    """The copper ring weeps on this wet engine; the comparison says so and is gone afterwards."""
    before = lesson.until(lambda s: True, "the panel")
    chooser = lesson.panel.get_by_label("Gasket", exact=True)
    chooser.select_option(label="copper with wire ring")
    lesson.until(lambda s: "DOES NOT HOLD" in s["status"], "the copper ring's verdict")
    lesson.page.get_by_role("button", name="Compare all gaskets on this engine").click()
    table = lesson.page.locator(".sealkit-panel table", has_text="FALLS OUT")
    table.wait_for(timeout=WAIT)
    assert "multi-layer steel" in table.inner_text() and "copper sheet" in table.inner_text()
    chooser.select_option(label="multi-layer steel")
    lesson.until(lambda s: s["status"] == before["status"], "the old gasket again")
    assert table.count() == 0


def test_other_engine_and_own_sheet(lesson: Lesson, screenshots: Path) -> None:
    before = lesson.state()
    engine = lesson.panel.get_by_label("Engine", exact=True)
    engine.select_option("Riverbend V8, naturally aspirated")
    other = lesson.until(lambda s: s["lines"]["mean"][1] < 60, "the other engine")
    # the new sliders have their names and work
    lesson.press("Bolt torque", "ArrowLeft", 5)
    lesson.until(lambda s: s["lines"]["clamp"][0] < other["lines"]["clamp"][0], "less torque")
    engine.select_option("my own engine")
    sheet = lesson.panel.get_by_label("Build sheet")
    sheet.wait_for(state="visible")
    sheet.fill(sheet.input_value().replace("[engine]", "[engine]\ncam = 3"))
    lesson.panel.get_by_role("button", name="Work out this sheet").click()
    lesson.panel.get_by_role("alert").first.wait_for(timeout=20_000)
    assert "engine.cam" in lesson.panel.get_by_role("alert").first.inner_text()
    lesson.page.screenshot(path=screenshots / "own-sheet-1400.png")
    engine.select_option("Riverbend four, turbocharged")
    lesson.until(lambda s: same(s, before), "back on the first engine")
    assert not sheet.is_visible()


@pytest.mark.parametrize("width", [1400, 420])
def test_fits_the_screen(lesson: Lesson, screenshots: Path, width: int) -> None:
    """Every part within the panel's width; the figure takes the width it has."""
    page = lesson.page
    page.set_viewport_size({"width": width, "height": 1000})
    if width < 700 and page.locator("#jp-left-stack").is_visible():
        page.keyboard.press("Escape")
        page.keyboard.press("Control+b")
    state = lesson.until(
        lambda s: abs(s["plot"][0] - s["plot"][1]) < 2 and s["panel"][1] > 0.6 * width - 150,
        "the figure in its new width",
    )
    assert state["panel"][0] <= state["panel"][1] + 1
    page.evaluate("document.querySelector('.sealkit-panel').scrollIntoView()")
    for role in ("slider", "spinbutton"):
        for place in range(3):
            box = lesson.panel.get_by_role(role).nth(place).bounding_box()
            assert box and box["x"] >= 0 and box["x"] + box["width"] <= width
    time.sleep(0.5)
    page.screenshot(path=screenshots / f"lesson-00-{width}.png")
    page.set_viewport_size({"width": width, "height": 3200 if width < 700 else 1900})
    page.evaluate("document.querySelector('.sealkit-panel').scrollIntoView()")
    time.sleep(0.5)
    lesson.panel.screenshot(path=screenshots / f"panel-00-{width}.png")


def test_the_repository_is_left_alone(lesson: Lesson) -> None:
    """The lab serves a copy: the repository's lesson is as it was, without outputs of this run."""
    root = Path(__file__).resolve().parents[2]
    assert "widget-view" not in (root / LESSON).read_text(encoding="utf-8")
