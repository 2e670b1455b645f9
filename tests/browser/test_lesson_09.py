"""Long work in a panel in JupyterLab: progress, stop, and the rough chart of a moving slider."""

from __future__ import annotations

import re

import pytest

from sealkit import build
from sealkit.classroom.lessons import scatter as scatter_lesson
from sealkit.scatter import GAS_LEAK
from tests.browser.drive import Course, Lesson


@pytest.fixture
def lesson(course: Course) -> Lesson:
    return course.lesson("09")


def test_a_guess_along_the_bars(lesson: Lesson) -> None:
    """The guess is a line across them; a question beside it puts it away."""
    guess, buttons = lesson.panel.locator(".sk-guess"), lesson.panel.locator(".sk-buttons")
    lesson.press("Boost", "ArrowRight", 1)
    lesson.settled()
    lesson.panel.get_by_role("button", name="Back to the sheet's values").press("Enter")
    lesson.settled()
    buttons.get_by_role("button", name="Guess first").press("Enter")
    guess.get_by_role("slider").press("End")
    box = lesson.panel.locator(".sk-mark").bounding_box()
    assert box is not None and box["height"] > 100 > box["width"]
    said = guess.get_by_role("slider").get_attribute("aria-valuetext")
    guess.get_by_role("button", name="Show").press("Enter")
    many = scatter_lesson.find(build.demo("boosted-four"))
    most = max(many.parts(many.nearest(GAS_LEAK).key))
    guess.get_by_text(f"You said {said}; it is {100 * most:.3g} %: ").wait_for()
    guess.get_by_role("button", name="Go on").press("Enter")
    guess.wait_for(state="hidden")
    assert lesson.page.evaluate("document.activeElement.className").startswith("noUi-handle")
    buttons.get_by_role("button", name="Guess first").press("Enter")
    guess.wait_for()
    buttons.get_by_role("button", name="In words and tables").press("Enter")
    guess.wait_for(state="hidden")
    lesson.panel.get_by_role("region", name="What was varied").wait_for()
    buttons.get_by_role("button", name="In words and tables").press("Enter")


def builds(status: str) -> int:
    found = re.search(r"of ([\d,]+) builds", status)
    return int(found[1].replace(",", "")) if found else 0


def test_progress_and_stop(lesson: Lesson) -> None:
    lesson.panel.get_by_role("button", name=f"{scatter_lesson.MANY:,} builds").press("Enter")
    told = lesson.panel.get_by_text(re.compile(r"of 131,072, .* left"))
    told.wait_for()
    assert lesson.panel.locator(".progress-bar").is_visible()
    lesson.panel.get_by_role("button", name="Stop and keep what is done").press("Enter")
    state = lesson.until(lambda s: "stopped" in s["status"], "the builds done so far")
    assert 4096 <= builds(state["status"]) < scatter_lesson.MANY
    assert not lesson.panel.locator(".progress-bar").is_visible()


_LISTEN = """() => {
  const told = window.told = [], region = document.querySelector('.sealkit-panel [role=status]');
  new MutationObserver(() => told.push(region.textContent)).observe(region, { childList: true });
}"""


def test_a_key_shows_few_builds_and_then_all(lesson: Lesson) -> None:
    before = lesson.settled()
    lesson.page.evaluate(_LISTEN)
    lesson.press("Boost", "ArrowRight", 1)
    assert lesson.settled()["lines"] != before["lines"], "a new chart"
    told = [builds(one) for one in lesson.page.evaluate("() => window.told")]
    assert told == [scatter_lesson.ROUGH, scatter_lesson.BUILDS]
