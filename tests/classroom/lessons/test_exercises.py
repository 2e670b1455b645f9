"""What all lessons have in common: exercises that know right and wrong, and checks that hold."""

from __future__ import annotations

import importlib
from typing import Any

import pytest

from sealkit import build as builds
from sealkit import checks as outside
from sealkit.classroom.homework import answers
from sealkit.classroom.lessons import lesson
from sealkit.errors import InputError
from tests.classroom.lessons.test_sentences import MODULES

EVERY = {**MODULES, "05": "deck", "09": "scatter", "10": "teardown"}
LESSONS: dict[str, Any] = {
    number: importlib.import_module(f"{lesson.__package__}.{name}")
    for number, name in sorted(EVERY.items())
}
FOUR, DRAG, V8 = "boosted-four", "methanol-drag", "na-iron-v8"
ONE = ("05", "09")  # a map, or many builds: on one engine
EXERCISES = [
    (number, exercise, name)
    for number, module in LESSONS.items()
    for exercise in range(1, len(module.EXERCISES.entries) + 1)
    for name in builds.demos()
    if name == FOUR or number not in ONE
]
UNFIT = {  # engines that an exercise cannot be asked about, and what is said
    ("00", 1, V8): "a boosted engine",
    ("00", 2, DRAG): r"fasteners\.torque",
    ("01", 1, V8): r"charge\.boost",
    ("01", 2, V8): r"charge\.boost",
    **{("02", exercise, DRAG): r"fasteners\.tightening" for exercise in range(1, 5)},
    ("03", 3, DRAG): "pulls a longer fastener as hard",
}
# there a second wrong turn comes to what is right, or to the first
ONE_LEFT = {("03", 2, DRAG): "clamp as limit", ("07", 3, DRAG): "the wrench says so"}


@pytest.mark.parametrize(("number", "exercise", "name"), EXERCISES)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_right_and_wrong_are_known(number: str, exercise: int, name: str, system: str) -> None:
    build, exercises = builds.demo(name), LESSONS[number].EXERCISES
    asked = (number, exercise, name)
    if asked in UNFIT:
        with pytest.raises(InputError, match=UNFIT[asked]):
            exercises.both(exercise, build, system)
        return
    made, shown = exercises.both(exercise, build, system)
    assert made.key == f"{number}-{exercise}" and shown.html.startswith("<details><summary")
    if asked in ONE_LEFT:
        assert [p.name for p in made.pitfalls] == [ONE_LEFT[asked]]
    else:
        assert len(made.pitfalls) >= 2
    assert answers.check(made, answers.written(made)).right
    for pitfall in made.pitfalls:
        got = answers.check(made, answers.written(made, pitfall.value))
        assert not got.right and got.pitfall == pitfall.name
    for text in ("plenty", "a good pull"):
        assert answers.check(made, text).right is False


@pytest.mark.parametrize("number", LESSONS)
def test_there_is_none_before_the_first_nor_after_the_last(number: str) -> None:
    count = len(LESSONS[number].EXERCISES.entries)
    for wrong in (0, count + 1):
        with pytest.raises(InputError, match=f"an exercise from 1 to {count}"):
            LESSONS[number].answer(wrong, builds.demo(FOUR))


@pytest.mark.parametrize("number", LESSONS)
def test_checks_are_rows_and_within(number: str) -> None:
    checks = LESSONS[number].CHECKS
    rows = [outside.row(topic, id) for topic, ids in checks.items() for id in ids]
    assert any(one.call and one.status.startswith("published") for one in rows)
    text = lesson.check_table(checks).text
    assert "✗" not in text and text.count("✓") == sum(map(len, checks.values())) >= 4
