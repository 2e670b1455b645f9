"""What must not break in JupyterLab nor in Jupyter Notebook, on lesson 00."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

from tests.browser.drive import ANSWER_IN_VIEW, Course, Lesson, until_true


@pytest.fixture(scope="module", params=["00-lab", "00-notebook"])
def app(request: pytest.FixtureRequest, browser: Any, course: Course) -> Iterator[Course]:
    if request.param == "00-lab":
        yield course
        return
    course.close()
    other = Course(browser, course.lab, "notebook")
    yield other
    course.kernel = other.kernel  # the one it took over ended with its last test
    other.page.close()


@pytest.fixture
def lesson(app: Course) -> Lesson:
    return app.lesson("00")


def test_keys_of_a_control_are_its_own(lesson: Lesson) -> None:
    """Letters that edit or delete cells do nothing; arrows still move the handle, with its unit."""
    cells = lesson.cells()
    handle = lesson.panel.get_by_role("slider", name="Boost")
    for place in (handle, lesson.panel.get_by_role("button", name="Back to the sheet's values")):
        place.focus()
        for key in ("d", "d", "x", "m", "a", "b"):
            lesson.page.keyboard.press(key)
    assert [c["source"] for c in lesson.cells()] == [c["source"] for c in cells]
    assert [c["cell_type"] for c in lesson.cells()] == [c["cell_type"] for c in cells]
    region = "document.querySelector('.sealkit-panel [role=status]')"
    lesson.page.evaluate(f"() => {{ {region}.kept = true; }}")
    box = lesson.panel.get_by_role("spinbutton", name="Boost, bar gauge")
    before, start = lesson.settled(), box.input_value()
    lesson.press("Boost", "ArrowRight", 3)
    lesson.until(
        lambda s: (
            s["status"] != before["status"]
            and box.input_value() != start
            and handle.get_attribute("aria-valuetext") == f"{float(box.input_value()):g} bar gauge"
        ),
        "the result and the handle's value are told anew",
    )
    assert lesson.page.evaluate(f"() => {region}.kept"), "by the same region"
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: box.input_value() == start and s["status"] == before["status"], "back")


_TOPS = """() => [...document.querySelectorAll(
  '.sealkit-panel :is(.sk-row, .sk-tile, .js-plotly-plot)')]
  .map(part => Math.round(part.getBoundingClientRect().top))"""


def test_nothing_moves_under_the_hand(lesson: Lesson) -> None:
    """From no boost to the most: another verdict, and every part stays where it is."""
    handle = lesson.panel.get_by_role("slider", name="Boost")
    handle.focus()
    before, tops = lesson.settled(), lesson.page.evaluate(_TOPS)
    handle.press("Home")
    low = lesson.settled()
    assert low["status"] != before["status"]
    assert lesson.page.evaluate(_TOPS) == tops
    handle.press("End")
    assert lesson.settled()["status"][:6] != low["status"][:6]
    assert lesson.page.evaluate(_TOPS) == tops
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: s["status"] == before["status"], "back")


NOTEBOOK = pytest.mark.parametrize("app", ["00-notebook"], indirect=True)


@pytest.mark.parametrize("width", [1400, 420])
@NOTEBOOK  # the lab: test_every_lesson.py
def test_it_fits(lesson: Lesson, width: int) -> None:
    lesson.fits(width)


@NOTEBOOK  # the lab: test_lesson_00.py
def test_an_answer_comes_into_view_and_reset_takes_the_lists_back(lesson: Lesson) -> None:
    before = lesson.settled()
    chooser = lesson.panel.get_by_label("Gasket", exact=True)
    chooser.select_option(label="copper with wire ring")
    lesson.until(lambda s: s["status"] != before["status"], "another gasket")
    lesson.panel.get_by_role("button", name="Compare all gaskets on this engine").press("Enter")
    answer = lesson.page.locator(".sealkit-asked")
    answer.wait_for()
    until_true(lesson.page, ANSWER_IN_VIEW)
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: s["status"] == before["status"], "as on the sheet")
    lesson.settled()
    assert chooser.input_value() == "multi-layer steel"


_ARROW = """light => {
  const was = document.body.dataset.jpThemeLight;
  document.body.dataset.jpThemeLight = light;
  const list = document.querySelector(".sealkit-panel select");
  const arrow = getComputedStyle(list).backgroundImage;
  document.body.dataset.jpThemeLight = was;
  return arrow; }"""


def test_lists_have_a_light_arrow_on_a_dark_theme(lesson: Lesson) -> None:
    assert "%23eee" in lesson.page.evaluate(_ARROW, "false")
    assert "%23eee" not in lesson.page.evaluate(_ARROW, "true")


def test_opened_again_without_a_kernel_it_says_what_to_do(lesson: Lesson, app: Course) -> None:
    page = lesson.page
    page.locator(".sealkit-asleep").first.wait_for(state="hidden")
    app.again("panels.panel(")
    line = page.locator(".sealkit-asleep").first
    line.wait_for()
    assert "Run All Cells" in line.inner_text()
