"""Every lesson in JupyterLab: cells run, a control moved by keyboard, names, narrow window."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.browser.drive import ROOT, Course, Lesson, accessible, picture, until_true

LESSONS = [p.name[:2] for p in sorted((ROOT / "notebooks").glob("[0-9][0-9]-*.ipynb"))]


@pytest.fixture(params=LESSONS)
def lesson(request: pytest.FixtureRequest, course: Course) -> Lesson:
    return course.lesson(request.param)


def test_all_cells_run_without_error(lesson: Lesson) -> None:
    for cell in lesson.cells():
        assert cell["cell_type"] != "code" or cell["execution_count"] is not None
        for output in cell.get("outputs", []):
            assert output["output_type"] != "error", output
            assert output.get("name") != "stderr", output
    assert lesson.panel.get_by_role("alert").count() == 0


def test_few_bytes_from_the_kernel(lesson: Lesson, course: Course) -> None:
    """Opened, run and its panel seen: the charts' library is the one that JupyterLab has."""
    assert 0.1e6 < course.opened <= 1e6, f"{course.opened / 1e6:.2f} MB"


_PLACES = """() => document.querySelector('.sealkit-panel .js-plotly-plot').data
  .filter(t => t.type === 'scatter' || t.type === 'bar')
  .map(t => [t.meta, t.x ? t.x.length : 0, t.y ? t.y.length : 0])"""


def test_every_line_has_its_places(lesson: Lesson) -> None:
    """Updates that leave a property open for some traces must not take theirs away."""
    found = lesson.page.evaluate(_PLACES)
    assert all(x == y for _, x, y in found), found


def test_first_slider_by_keyboard(lesson: Lesson) -> None:
    before = lesson.settled()
    handle = lesson.panel.locator(".noUi-handle").first
    handle.focus()
    for _ in range(8):
        lesson.page.keyboard.press("ArrowRight")
    lesson.until(
        lambda s: s["lines"] and s["lines"] != before["lines"], "the chart follows the key"
    )
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.until(lambda s: s["status"] == before["status"], "back on the sheet's values")
    assert lesson.settled()["status"] == before["status"], "nothing comes after it"
    test_every_line_has_its_places(lesson)


_SEEN_BARS = """() => {
  const seen = [...document.querySelectorAll('.sealkit-panel .js-plotly-plot .trace')]
    .filter(e => ['tension', 'together'].includes(e.__data__?.[0]?.trace.meta))
    .filter(e => e.checkVisibility({ opacityProperty: true }));
  return seen.flatMap(e => [...e.querySelectorAll('.point')])
    .filter(e => e.checkVisibility({ opacityProperty: true })).length;
}"""


def test_a_guess_hides_every_bar_that_would_tell_it(course: Course) -> None:
    """What is asked is a force; the stress of its low end would tell it as well."""
    lesson = course.lesson("02")
    lesson.press("Bolt torque", "ArrowRight", 1)
    lesson.settled()
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.settled()
    assert lesson.page.evaluate(_SEEN_BARS) == 6
    lesson.panel.get_by_role("button", name="Guess first").press("Enter")
    until_true(lesson.page, f"() => ({_SEEN_BARS})() === 0")
    lesson.panel.locator(".sk-guess").get_by_role("button", name="Skip").press("Enter")
    until_true(lesson.page, f"() => ({_SEEN_BARS})() === 6")


def test_names_roles_and_contrast(lesson: Lesson) -> None:
    """By the rules of axe, in the light and in the dark theme, the one that is on first; the other
    changes nothing but colours."""
    accessible(lesson.page, ".sealkit-panel")
    light = lesson.page.evaluate("document.body.dataset.jpThemeLight === 'true'")
    lesson.theme("Dark" if light else "Light")
    accessible(lesson.page, ".sealkit-panel", "cat.color")
    assert lesson.panel.get_by_role("status").first.inner_text().strip()


@pytest.mark.parametrize("width", [1400, 420])
def test_fits_the_screen(
    lesson: Lesson, request: pytest.FixtureRequest, screenshots: Path, width: int
) -> None:
    lesson.fits(width)
    number = request.node.callspec.params["lesson"]
    picture(lesson.page, ".sealkit-panel", screenshots, f"panel-{number}", width)
    assert not lesson.page.evaluate(_CODE_CUT), "a line of code wraps"


_CODE_CUT = """() => [...document.querySelectorAll('.jp-CodeCell .jp-InputArea .cm-scroller')]
  .filter(el => el.scrollWidth > el.clientWidth + 1).map(el => el.innerText)"""
_CUT = """() => [...document.querySelectorAll('.sealkit-panel [role=region]')]
  .filter(el => el.scrollWidth > el.clientWidth).map(el => el.ariaLabel)"""


def test_tables_of_a_fit_are_whole_on_a_phone(course: Course) -> None:
    """And nothing is said of the joint while the model is off the log."""
    lesson = course.lesson("12")
    assert "the log is not matched yet" in lesson.panel.locator(".sk-whole").inner_text()
    lesson.fits(420)
    for button, caption in (
        ("Let the fit do it", "What is wrong with the log"),
        ("Verdict, and what next", "How it is done"),
    ):
        lesson.panel.get_by_role("button", name=button).press("Enter")
        lesson.panel.get_by_role("region", name=caption).wait_for()
        assert not lesson.page.evaluate(_CUT)
