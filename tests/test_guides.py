"""The pages beside the lessons: glossary sorted and unique, guides complete, links that lead."""

from __future__ import annotations

import importlib
import re
from pathlib import Path

import nbformat
import pytest

from sealkit import build, course
from sealkit.report import specification
from tests.pages import FOLDER, text
from tests.test_notebooks import LESSONS, NUMBER_WITH_UNIT

GUIDES = ("instructors-guide", "self-learner")
PAGES = (*GUIDES, "glossary")
TERM = re.compile(r"^- \*\*(?P<term>[^*]+)\*\*: (?P<says>.+) \(lesson (?P<lesson>.+)\)$")


def terms() -> list[re.Match[str]]:
    lines = [x for x in text("glossary").splitlines() if x.startswith("- ")]
    found = [TERM.match(x) for x in lines]
    assert all(found), [x for x, f in zip(lines, found, strict=True) if f is None]
    return [f for f in found if f is not None]


def test_glossary_is_sorted_and_each_term_stands_once() -> None:
    words = [t["term"].casefold() for t in terms()]
    assert words == sorted(words)
    assert len(set(words)) == len(words) >= 70


def test_each_term_is_one_or_two_sentences_with_its_lesson() -> None:
    for term in terms():
        ends = len(re.findall(r"[.?!](?=\s|$)", term["says"]))
        assert 1 <= ends <= 3 and term["says"].endswith((".", "?")), term["term"]
        number = re.fullmatch(r"(?:\[(\d\d)\]\(\1-[\w-]+\.ipynb\)|(\d\d))", term["lesson"])
        assert number, term["lesson"]
        assert 0 <= int(number[1] or number[2]) <= 12


@pytest.mark.parametrize("name", PAGES)
def test_a_page_opens_as_it_is_read(name: str) -> None:
    """A notebook of words alone, rendered by whatever opens it; its kernel is not asked for."""
    page = nbformat.read(FOLDER / f"{name}.ipynb", as_version=4)
    nbformat.validate(page)
    assert page.metadata.kernelspec.name == "python3"
    assert all(c.cell_type == "markdown" and not c.metadata.editable for c in page.cells)


@pytest.mark.parametrize("name", PAGES)
def test_links_lead_to_files_beside_the_page(name: str) -> None:
    links = re.findall(r"\]\(([^)\s]+)\)", text(name))
    assert links
    for target in links:
        assert "/" not in target and (FOLDER / target).is_file(), target


@pytest.mark.parametrize("name", GUIDES)
def test_every_lesson_is_named(name: str) -> None:
    for number in range(13):
        assert f"esson {number:02d}" in text(name), number
    for lesson in LESSONS:
        assert f"({lesson.name})" in text(name), lesson.name


def test_every_lesson_has_its_plan_for_the_instructor() -> None:
    parts = re.split(r"^## Lesson (\d\d): ", text("instructors-guide"), flags=re.MULTILINE)
    plans = dict(zip(parts[1::2], parts[2::2], strict=True))
    assert list(plans) == [f"{n:02d}" for n in range(13)]
    for number, plan in plans.items():
        for words in ("Project", "Ask first", "Expected, and why", "Wrong turns", "At the bench"):
            assert f"- **{words}.** " in plan, (number, words)


# words of the answer that a lesson takes as right on the engine it opens with
RIGHT = [
    ("gas", 1, 4, "changes by about a tenth or less"),
    ("wrench", 2, 4, "stretch"),
    ("springs", 3, 3, "less"),
    ("springs", 3, 4, "no more"),
    ("deck", 5, 4, "hardly changes on the far side"),
    ("heat", 7, 2, "changes by less than a tenth"),
    ("heat", 7, 4, "no"),
    ("thickness", 8, 4, "boost stays"),
    ("thickness", 8, 5, "no cure"),
    ("scatter", 9, 3, "preload"),
    ("teardown", 10, 1, "too fine"),
    ("teardown", 10, 3, "if the fasteners stand it"),
    ("capstone", 11, 2, "fuel"),
    ("measure", 12, 4, "too late"),
]


@pytest.mark.parametrize(("module", "lesson", "exercise", "words"), RIGHT)
def test_the_guide_gives_the_answer_the_lesson_takes(
    module: str, lesson: int, exercise: int, words: str
) -> None:
    plan = text("instructors-guide").split(f"## Lesson {lesson:02d}: ")[1].split("\n## ")[0]
    told = plan.split(f"Exercise {exercise}: ")[1].split("Exercise ")[0].split("\n")[0]
    exercises = importlib.import_module(f"sealkit.classroom.lessons.{module}").EXERCISES
    asked = exercises.both(exercise, build.demo("boosted-four"), "metric")[0]
    assert words in told and words in str(asked.value)


def test_the_most_power_is_where_knock_comes_not_a_limit() -> None:
    """What the guide says of the capstone's third exercise."""
    most = specification.most_power(build.demo("boosted-four"))
    below, above = (
        specification.specify(build.demo("boosted-four"), share * most) for share in (0.98, 1.02)
    )
    assert below.meets and above.report.leaves_knock_out and above.outcome == "knocks"


@pytest.mark.parametrize("name", PAGES)
def test_no_number_with_unit_that_no_code_prints(name: str) -> None:
    assert not NUMBER_WITH_UNIT.findall(text(name))


def test_pages_are_unpacked_beside_the_lessons(tmp_path: Path) -> None:
    done = course.unpack(tmp_path)
    for name in PAGES:
        assert f"notebooks/{name}.ipynb" in done.written
