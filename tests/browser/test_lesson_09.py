"""Long work in a panel in JupyterLab: progress, stop, and the rough chart of a moving slider."""

from __future__ import annotations

import re
from typing import Any

import pytest

from sealkit.classroom.lessons import scatter as scatter_lesson
from tests.browser.drive import Course, Lesson


@pytest.fixture
def lesson(course: Course) -> Lesson:
    made = course.lesson("09")
    made.until(lambda s: "seal" in s["lines"], "all lines")
    return made


def builds(state: dict[str, Any]) -> int:
    found = re.search(r"of ([\d,]+) builds", state["status"])
    return int(found[1].replace(",", "")) if found else 0


def test_progress_and_stop(lesson: Lesson) -> None:
    lesson.panel.get_by_role("button", name=f"{scatter_lesson.MANY:,} builds").press("Enter")
    told = lesson.panel.get_by_text(re.compile(r"of 131,072, .* left"))
    told.wait_for()
    assert lesson.panel.locator(".progress-bar").is_visible()
    lesson.panel.get_by_role("button", name="Stop and keep what is done").press("Enter")
    state = lesson.until(lambda s: "stopped" in s["status"], "the builds done so far")
    assert 4096 <= builds(state) < scatter_lesson.MANY
    assert not lesson.panel.locator(".progress-bar").is_visible()


def test_a_key_shows_few_builds_and_then_all(lesson: Lesson) -> None:
    before = lesson.state()
    lesson.press("Boost", "ArrowRight", 1)
    lesson.until(lambda s: s["lines"] != before["lines"], "a new chart")
    lesson.until(
        lambda s: builds(s) == scatter_lesson.BUILDS,
        "all builds of a step",
    )
