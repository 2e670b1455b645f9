"""The one form of question: texts as data, a solver, sentences in the shop's units."""

from __future__ import annotations

import importlib
import pkgutil
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace

import pytest

from sealkit import build as builds
from sealkit.classroom import lessons
from sealkit.classroom.homework import questions
from sealkit.classroom.homework.questions import Exercises, Figure, Names, Solved, ask
from sealkit.classroom.lessons.rings import standard
from sealkit.errors import InputError
from sealkit.words import note

FOUR = builds.demo("boosted-four")
ENTRY = {
    "key": "width",
    "kind": "length",
    "digits": 2,
    "text": "A seal of {bore} in a gap of {0.5 mm} {how}. How wide?",
    "pitfalls": {"bore": "That is the bore of {bore}.", "later": "Later."},
}
FIGURES: dict[str, Figure] = {
    "bore": (0.086, "length"),
    "how": note("at {boost}", boost=(1e5, "gauge pressure")),
}


def lessons_with_data() -> list[Exercises]:
    modules = [
        importlib.import_module(f"{lessons.__name__}.{m.name}")
        for m in pkgutil.iter_modules(lessons.__path__)
    ]
    found = [getattr(m, "EXERCISES", None) for m in modules]
    return [e for e in found if isinstance(e, Exercises)]


def test_every_exercise_has_its_solver_or_names_and_no_solver_is_left_over() -> None:
    assert lessons_with_data()
    for exercises in lessons_with_data():
        keys = {e["key"] for e in exercises.entries}
        assert set(exercises) <= keys
        assert set(exercises) == keys or exercises.names(FOUR)


def test_texts_are_filled_in_the_units_of_the_shop() -> None:
    solved = Solved(0.002, {"bore": 0.086, "later: seal": 0.01})
    metric = ask("x", ENTRY, solved, FIGURES, "metric")
    assert metric.text == "A seal of 86.00 mm in a gap of 0.5 mm at 1.00 bar gauge. How wide?"
    assert (metric.digits, metric.unit, metric.marks) == (2, "mm", 1)
    assert [p.says for p in metric.pitfalls] == ["That is the bore of 86.00 mm.", "Later."]
    inch = ask("x", ENTRY, solved, FIGURES, "inch")
    assert "3.386 in in a gap of 0.020 in" in inch.text and inch.unit == "in"


def test_a_pitfall_that_meets_the_answer_is_left_out_or_refused() -> None:
    solved = Solved(0.0860, {"bore": 0.0861, "later": 0.01})
    assert [p.name for p in ask("x", ENTRY, solved, FIGURES, "metric").pitfalls] == ["later"]
    with pytest.raises(InputError, match="can be told from the answer"):
        ask("x", ENTRY, solved, FIGURES, "metric", strict=True)


def test_a_choice_is_answered_by_the_name_of_its_option() -> None:
    entry = {
        "key": "which",
        "kind": "choice",
        "text": "Which?",
        "options": {"the bead": ["soft", "Not it."], "the body": ["hard", "Nor this."]},
    }
    asked = ask("x", entry, Solved("hard"), {}, "metric")
    assert (asked.value, asked.options) == ("the body", ("the bead", "the body"))
    assert [(p.name, p.value) for p in asked.pitfalls] == [("soft", "the bead")]
    # a pitfall of the solver names its option; one without a sentence is no pitfall
    plain = entry | {
        "options": {"the bead": ["soft"], "the body": ["hard"], "the coat": ["thin"]},
        "pitfalls": {"guessed": "Look again."},
    }
    asked = ask("x", plain, Solved("hard", {"guessed": "thin"}), {}, "metric")
    assert [(p.name, p.value) for p in asked.pitfalls] == [("guessed", "the coat")]
    with pytest.raises(InputError, match="one of the options"):
        ask("x", entry, Solved("neither"), {}, "metric")


def test_a_pitfall_without_a_sentence_and_a_figure_without_a_value_are_told() -> None:
    with pytest.raises(InputError, match="nothing under odd"):
        ask("x", ENTRY, Solved(0.002, {"odd": 1.0}), FIGURES, "metric")
    with pytest.raises(InputError, match="a name that has a value"):
        ask("x", ENTRY, Solved(0.002), {}, "metric")


def test_the_worked_answer_is_filled_and_tabled() -> None:
    made = Exercises("06")

    @made.solver("leave")
    def _(build: builds.Build, system: str) -> Names:
        ring = standard(build).ring
        one = SimpleNamespace(lift=1e-5, springback=1e-6)
        ring = replace(ring, lift_to_leave=2e-5)
        pushed = width = depth = "-"
        rows = [{"ring": "usual", "takes": (4e5, "line load")}]
        return locals()

    asked, shown = made.both(1, FOUR, "inch")
    assert asked.key == "06-1" and asked.text.startswith(f"{FOUR.sheet.name}: the usual wire")
    assert "0.79 thou, with all pushed out copper" in str(shown) and "2,284 lbf/in" in str(shown)
    assert made.both(1, FOUR, "inch")[0] == asked
    with pytest.raises(InputError, match="an exercise from 1 to 4"):
        made.both(5, FOUR)


def test_a_damaged_data_file_is_told(monkeypatch: pytest.MonkeyPatch, tmp_path: Path) -> None:
    monkeypatch.setattr(questions.resources, "data_file", lambda *_: tmp_path / "file.toml")
    questions.read_data.cache_clear()
    for text, told in (
        ("[[question]]\nkey = 'a'\nkind = 'lift'\n", "a question without text"),
        ("title = 'x'\n", "nothing under question"),
        ("= 1", "Invalid"),
    ):
        (tmp_path / "file.toml").write_text(text, encoding="utf-8")
        with pytest.raises(InputError, match=told):
            questions.read_data("exercises", "06.toml", "question")
    questions.read_data.cache_clear()
