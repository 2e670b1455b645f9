"""Lesson 00 in JupyterLab, driven by keyboard in a real browser."""

from __future__ import annotations

import contextlib
import os
import signal
import threading
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from sealkit import build, report
from tests.browser.drive import (
    ANSWER_IN_VIEW,
    EXECUTE,
    ROOT,
    Course,
    Lesson,
    accessible,
    until_true,
)

LESSON = "notebooks/00-the-whole-joint.ipynb"


# the active cell is the panel's
_PANEL_ANEW = """async () => {
  const old = document.querySelector('.sealkit-panel .js-plotly-plot');
  await window.jupyterapp.commands.execute('notebook:run-cell');
  while (old.isConnected) await new Promise(requestAnimationFrame);
}"""


# the thread that works for the widgets is held up a moment from now
_HOLD_UP = """
import time
from ipywidgets.widgets.widget import _instances
for one in list(_instances.values()):
    if getattr(one, "_loop", None) is not None:
        one._loop.call_soon_threadsafe(one._loop.call_later, 0.05, time.sleep, 1.5)
"""


_FORGET_SCRIPT = """() => {
  Object.keys(window).filter(key => key.startsWith('sealkit-charts'))
    .forEach(key => delete window[key]);
  delete window._JUPYTERLAB['jupyterlab-plotly'];
  delete window.Plotly;
}"""


@contextlib.contextmanager
def slow(page: Any, times: float) -> Iterator[None]:
    """The page's processes run so much slower: stopped for most of the time, which leaves the
    processor to others, where Chromium's own throttle would use it up."""
    session = page.context.browser.new_browser_cdp_session()
    found = session.send("SystemInfo.getProcessInfo")["processInfo"]
    session.detach()
    pages = [one["id"] for one in found if one["type"] == "renderer"]
    assert pages
    over = threading.Event()

    def tell(what: signal.Signals) -> None:
        for one in pages:
            with contextlib.suppress(ProcessLookupError):
                os.kill(one, what)

    def hold() -> None:
        while not over.is_set():
            tell(signal.SIGSTOP)
            time.sleep(0.01 * (times - 1.0))
            tell(signal.SIGCONT)
            time.sleep(0.01)

    holding = threading.Thread(target=hold)
    holding.start()
    try:
        yield
    finally:
        over.set()
        holding.join()


def same(one: dict[str, Any], other: dict[str, Any]) -> bool:
    """Whether all lines are the same to the digits that are sent."""
    return all(
        other["lines"][key] == pytest.approx(line, rel=1e-6, abs=1e-6)
        for key, line in one["lines"].items()
    )


def back(one: dict[str, Any], before: dict[str, Any]) -> bool:
    """Whether lines and words, which come behind them, are those of before."""
    return same(one, before) and one["status"] == before["status"]


@pytest.fixture
def lesson(course: Course) -> Lesson:
    return course.lesson("00")


def test_opens_on_the_sheets_values(lesson: Lesson) -> None:
    ours = report.kept_report(build.demo("boosted-four"))
    state = lesson.until(
        lambda s: abs(s["lines"]["sized"][1] * 1e5 / ours.gas.design_peak - 1) < 1e-5,
        "the browser put a slider on its step and moved the engine",
    )
    assert ours.decides.brief in state["status"].lower()
    assert len(state["lines"]) == 10
    assert all(121 <= n <= 241 or n == 2 for _, _, n in state["lines"].values())
    assert "Jupyter news" not in lesson.page.inner_text("body"), "a question over the panel"


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
    before = lesson.settled()
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


def test_back_while_values_are_on_their_way(lesson: Lesson) -> None:
    """The browser sends of a new slider where it put its handle, and holds back all that comes
    before that has been heard: it must not come behind the way back."""
    before = lesson.settled()
    to_sheet = lesson.panel.get_by_role("button", name="Back to the sheet's values")
    lesson.press("Boost", "ArrowRight", 1)
    lesson.settled()
    lesson.page.evaluate(EXECUTE, _HOLD_UP)
    to_sheet.press("Enter")
    lesson.page.wait_for_timeout(600)  # the new slider stands
    lesson.press("Boost", "ArrowRight", 8)
    to_sheet.press("Enter")
    lesson.until(lambda s: back(s, before), "back")
    assert back(lesson.settled(), before), "nothing comes after it"


def test_a_guess_before_the_curve(lesson: Lesson) -> None:
    """By keyboard: the curve hides, the guess stands on the chart, then both and how far off."""
    guess = lesson.panel.locator(".sk-guess")
    # plotly may be drawing it anew at this moment
    curve = """wanted => { const found = [...document.querySelectorAll('.sealkit-panel .trace')]
      .filter(one => one.__data__[0].trace.meta === 'clamp').map(one => one.style.opacity);
      return found.length === 1 && found[0] === wanted; }"""
    # it is there as the lesson is opened, and is here taken away first
    lesson.press("Boost", "ArrowRight", 1)
    lesson.settled()
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.settled()
    guess.wait_for(state="hidden")
    lesson.panel.get_by_role("button", name="Guess first").press("Enter")
    show = guess.get_by_role("button", name="Show")
    show.wait_for()
    until_true(lesson.page, curve, arg="0")
    assert not lesson.panel.locator(".sk-verdict").is_visible()
    accessible(lesson.page, ".sealkit-panel")
    guess.get_by_role("slider").press("ArrowRight")
    said = guess.get_by_role("slider").get_attribute("aria-valuetext")
    assert said == guess.locator("b").inner_text()
    assert lesson.panel.locator(".sk-mark").get_by_text("your guess").is_visible()
    show.press("Enter")
    least = lesson.settled()["lines"]["clamp"][0]
    told = guess.locator("span").inner_text()
    assert f"You said {said}; it is {least:.3g} kN" in told and "too high" in told
    until_true(lesson.page, curve, arg="")
    guess.get_by_role("button", name="Go on").press("Enter")
    assert lesson.panel.locator(".sk-verdict").is_visible()


def test_number_box_and_wrong_number(lesson: Lesson) -> None:
    before = lesson.settled()
    box = lesson.panel.get_by_role("spinbutton", name="Boost, bar gauge")
    box.fill("99")
    box.press("Enter")
    alert = lesson.panel.get_by_role("alert")
    alert.wait_for()
    assert "wanted from 0 to" in alert.inner_text()
    lesson.until(lambda s: back(s, before), "back")
    assert back(lesson.settled(), before), "nothing comes after it"
    box.fill("1.5")
    box.press("Enter")
    lesson.until(lambda s: s["lines"]["mean"][1] > before["lines"]["mean"][1], "more boost")
    alert.wait_for(state="detached")
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: back(s, before), "back")


def test_units_switch(lesson: Lesson) -> None:
    before = lesson.settled()
    units = lesson.panel.get_by_label("Units")
    units.select_option("inch")
    after = lesson.settled()
    assert "psi absolute" in after["titles"][0]
    assert abs(after["lines"]["mean"][1] / before["lines"]["mean"][1] - 14.5038) < 1e-3
    assert " psi" in after["status"] and " bar" not in after["status"]
    box = lesson.panel.get_by_role("spinbutton", name="Boost, psi gauge")
    assert float(box.input_value()) == pytest.approx(18.0, abs=0.01)
    units.select_option("metric")
    lesson.until(lambda s: back(s, before), "back in metric units")


def test_other_gasket_and_comparison(lesson: Lesson) -> None:
    """The copper ring weeps on this wet engine; the comparison says so, in view, and is gone
    afterwards. Back to the sheet's values takes the list back too."""
    before = lesson.settled()
    chooser = lesson.panel.get_by_label("Gasket", exact=True)
    chooser.select_option(label="copper with wire ring")
    lesson.until(lambda s: "DOES NOT HOLD" in s["status"], "the copper ring's verdict")
    lesson.page.get_by_role("button", name="Compare all gaskets on this engine").click()
    table = lesson.page.locator(".sealkit-panel table", has_text="FALLS OUT")
    table.wait_for()
    until_true(lesson.page, ANSWER_IN_VIEW)
    assert "multi-layer steel" in table.inner_text() and "copper sheet" in table.inner_text()
    chooser.select_option(label="multi-layer steel")
    lesson.until(lambda s: s["status"] == before["status"], "the old gasket again")
    lesson.settled()
    assert table.count() == 0
    chooser.select_option(label="copper with wire ring")
    lesson.until(lambda s: s["status"] != before["status"], "another gasket")
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: s["status"] == before["status"], "as on the sheet")
    lesson.settled()
    assert chooser.input_value() == "multi-layer steel"


def test_other_engine_and_own_sheet(lesson: Lesson, screenshots: Path) -> None:
    before = lesson.settled()
    engine = lesson.panel.get_by_label("Engine", exact=True)
    engine.select_option("Riverbend V8, naturally aspirated")
    other = lesson.until(lambda s: s["lines"]["mean"][1] < 60, "the other engine")
    # the new sliders have their names and work
    lesson.press("Bolt torque", "ArrowLeft", 5)
    lesson.until(lambda s: s["lines"]["clamp"][0] < other["lines"]["clamp"][0], "less torque")
    engine.select_option("my own engine")
    form = lesson.panel.locator(".sk-form")
    # a field and the text behind it, in step; a fault beside its field
    bore = form.get_by_label("Bore", exact=True).first
    bore.fill("86 bar")
    bore.press("Enter")
    fault = form.locator(".sk-field", has_text="cylinder bore").get_by_role("alert")
    fault.wait_for()
    assert 'got "86 bar"; wanted a length' in fault.inner_text()
    assert bore.get_attribute("aria-invalid") == "true"
    lesson.settled()
    form.get_by_text("The sheet behind it, as text").press("Enter")
    sheet = form.get_by_label("Build sheet")
    assert 'bore = "86 bar"' in sheet.input_value()
    lesson.page.screenshot(path=screenshots / "own-sheet-1400.png")
    sheet.fill(sheet.input_value().replace('"86 bar"', '"101 mm"') + "\n[cam]\n")
    sheet.press("Tab")
    form.get_by_role("alert").filter(has_text="cam").wait_for()
    lesson.settled()
    assert fault.count() == 0 and bore.input_value() == "101 mm"
    engine.select_option("Riverbend four, turbocharged")
    lesson.until(lambda s: back(s, before), "back on the first engine")
    lesson.settled()
    assert not form.is_visible()


def test_a_drag_of_a_hundred_values_settles_on_the_last(lesson: Lesson, course: Course) -> None:
    """Keys faster than the kernel: no queue is left, and the last value is the one shown.

    The kernel is told the keys, and nothing of what the charts made of them.
    """
    before, sent = lesson.settled(), course.sent
    box = lesson.panel.get_by_role("spinbutton", name="Boost, bar gauge")
    start = float(box.input_value())
    handle = lesson.panel.get_by_role("slider", name="Boost")
    handle.focus()
    for key in ["ArrowRight", "ArrowLeft"] * 35 + ["ArrowLeft"] * 30:
        lesson.page.keyboard.press(key)
    last = start - 30 * 0.02
    lesson.until(lambda s: abs(float(box.input_value()) - last) < 1e-6, f"boost of {last:g}")
    four = build.demo("boosted-four").vary({"charge.boost": f"{last:.6g} bar gauge"})
    peak = report.run(four).gas.design_peak / 1e5
    lesson.until(lambda s: s["lines"]["sized"][1] == pytest.approx(peak, rel=1e-5), "its chart")
    last_of_all = lesson.settled()["lines"]["sized"][1]
    assert last_of_all == pytest.approx(peak, rel=1e-5), "nothing comes after it"
    assert course.sent - sent < 100 * 600
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: back(s, before), "back")


def test_the_chart_comes_in_a_slow_browser(lesson: Lesson) -> None:
    """On a processor six times slower, the crank turning; where the kernel has to send the large
    script, three times, and what is set before the chart is there is drawn on it."""
    before = lesson.settled()
    turn, stop = (
        lesson.panel.get_by_role("button", name=f"{what} the crank") for what in ("Turn", "Stop")
    )
    turn.wait_for()  # it stands where less motion is wanted, as in all other tests
    lesson.page.emulate_media(reduced_motion="no-preference")
    try:
        with slow(lesson.page, 6.0):
            lesson.page.evaluate(_PANEL_ANEW)
            lesson.until(lambda s: len(s["lines"]) == 10, "all lines")
            stop.wait_for()
        with slow(lesson.page, 3.0):
            # as in an app that brings no library for charts: the kernel sends it
            lesson.page.evaluate(_FORGET_SCRIPT)
            lesson.page.evaluate(_PANEL_ANEW)
            box = lesson.panel.get_by_role("spinbutton", name="Boost, bar gauge")
            box.fill("2")
            box.press("Enter")
            lesson.until(lambda s: s["lines"]["mean"][1] > before["lines"]["mean"][1] + 10, "boost")
            lesson.until(lambda s: len(s["lines"]) == 10, "all lines")
    finally:
        lesson.page.emulate_media(reduced_motion="reduce")
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: back(s, before), "back")


_OLD_WIDTH = """async () => {
  const plot = document.querySelector('.sealkit-panel .js-plotly-plot');
  // the window's own change is long over: what follows it comes within 1.5 s
  let last = performance.now();
  const seen = () => { last = performance.now(); };
  window.addEventListener('resize', seen);
  while (performance.now() - last < 1600) await new Promise(done => setTimeout(done, 100));
  window.removeEventListener('resize', seen);
  plot.layout.width = plot.clientWidth + 41;
  window.Plotly.redraw(plot);
  return plot._fullLayout.width - plot.clientWidth;
}"""


def test_a_layout_that_comes_late_does_not_keep_its_width(lesson: Lesson) -> None:
    assert lesson.page.evaluate(_OLD_WIDTH) == 41
    lesson.until(lambda s: abs(s["plot"][0] - s["plot"][1]) < 2, "the figure back in its box")


def test_the_repository_is_left_alone() -> None:
    """The lab serves a copy: the repository's lesson is as it was, without outputs of this run."""
    assert "widget-view" not in (ROOT / LESSON).read_text(encoding="utf-8")
