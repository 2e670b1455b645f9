"""Wrong routes never count, most are named, and the instructor sees and names the rest.

``python -m tests.benchmarks.check_cards`` goes through 500 cards of each set.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from dataclasses import replace
from typing import Any

import pytest

from sealkit import cli
from sealkit.classroom.homework import cards, class_files, class_pages, gradebook, policy
from sealkit.classroom.homework.answers import check, written
from sealkit.classroom.homework.class_files import Key, Trainee
from sealkit.classroom.homework.policy import NOTHING
from sealkit.errors import InputError
from tests.card_checks import CLASS_KEY, drawn
from tests.classroom.homework.test_gradebook import file_of, right
from tests.mistakes import MISTAKES, judged, numbers


def test_plausible_mistakes_never_count_and_most_are_named() -> None:
    said: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for name in cards.set_titles():
        for card in drawn(name, 4):
            for key, mistake, feedback in judged(card):
                assert not feedback.right, (key, mistake, card.numbers)
                assert "figures" not in feedback.says or feedback.pitfall, (key, mistake)
                said[key, mistake][feedback.layer] += 1
    assert set(said) == set(MISTAKES) and len(said) >= 50
    named = [m for m, layers in said.items() if set(layers) == {"pitfall"}]
    assert len(named) >= 0.8 * len(said), set(said) - set(named)


def test_only_a_rounded_answer_is_asked_for_more_figures() -> None:
    for name in cards.set_titles():
        for item in drawn(name, 1)[0].items:
            q = item.question
            if not isinstance(q.value, float):
                continue
            for factor in (0.95531, 0.97171, 1.03131, 1.04713):
                text = written(replace(q, digits=5, pitfalls=()), q.value * factor)
                assert "more figures" not in check(q, text).says


# --------------------------------------------------------------------------- the instructor's own
def edge(card: cards.Card) -> float:
    """Torque of the long form with stretching and thread friction doubled: in no list of ours."""
    n = numbers(card)
    question = next(i.question for i in card.items if i.question.key == "02/torque")
    return float(question.value) + 0.5 * float(n.preload) * float(n.p)


@pytest.fixture(scope="module")
def graded() -> tuple[Key, list[tuple[str, bytes]]]:
    people = [Trainee(f"t-{i}", f"Trainee {i}", ("metric", "inch")[i % 2]) for i in range(6)]
    key = class_files.make_key(CLASS_KEY, "02", people)
    files = []
    for card in key.cards:
        given = right(card)
        q = next(i.question for i in card.items if i.question.key == "02/torque")
        given[q.key] = written(q, edge(card))
        files.append((f"{card.trainee}.json", file_of(card, given)))
    return key, files


def test_wrong_numbers_that_lie_alike_are_shown_together(
    graded: tuple[Key, list[tuple[str, bytes]]],
) -> None:
    key, files = graded
    grades = gradebook.grade(files, key)
    found = [u for u in grades.unnamed() if u.name == "torque"]
    assert sorted(t for u in found for t in u.answers) == [c.trainee for c in key.cards]
    made = class_pages.grade_files(grades)
    assert made["not-named.csv"].count("torque,") == 6 and "t-3" in made["not-named.csv"]
    page = made["class.html"]
    assert "no pitfall names" in page and f"{found[0].times:.3g}" in page
    assert "<th scope='row'>torque</th>" in page.split("no pitfall names")[1]
    one = class_pages.class_page(gradebook.grade(files[:1], key))
    assert "like no other: 1;" in one and "times the answer" not in one
    none = class_pages.class_page(gradebook.grade([("a", file_of(key.cards[0]))], key))
    assert "There are none" in none


OWN = """
[[pitfall]]
question = "02/torque"
name = "lead counted twice"
gives = "parts.total + preload * bolt.pitch / 2"
says = "The lead went in too large. Look at its two pi."
"""


def test_a_pitfall_of_the_instructors_own_is_named_from_then_on(
    graded: tuple[Key, list[tuple[str, bytes]]], tmp_path: Any, capsys: Any
) -> None:
    key, files = graded
    grades = gradebook.grade(files, key, policy=policy.load(OWN))
    assert [u for u in grades.unnamed() if u.name == "torque"] == []
    row = next(r for r in grades.difficulty() if r.name == "torque")
    assert row.pitfalls == {"lead counted twice": 6}
    assert "Look at its two pi" in class_pages.feedback_page(grades.results[0])

    (tmp_path / "in").mkdir()
    for name, content in files:
        (tmp_path / "in" / name).write_bytes(content)
    (tmp_path / "key.json").write_text(key.dumps(), encoding="utf-8")
    (tmp_path / "class.toml").write_text(OWN, encoding="utf-8")
    line = [str(tmp_path / n) for n in ("in", "key.json", "class.toml", "out")]
    command = ["grade", line[0], "--key", line[1], "--class-file", line[2], "--out", line[3]]
    assert cli.main(command) == 0
    assert "lead counted twice" in (tmp_path / "out" / "class.html").read_text(encoding="utf-8")


def test_a_pitfall_that_meets_the_answer_never_takes_it(
    graded: tuple[Key, list[tuple[str, bytes]]],
) -> None:
    key, _ = graded
    own = policy.load(OWN.replace("parts.total + preload * bolt.pitch / 2", "answer * 1.005"))
    made = gradebook.grade([("a", file_of(key.cards[0]))], key, policy=own)
    assert made.results[0].total == key.cards[0].marks


@pytest.mark.parametrize(
    ("gives", "words"),
    [
        (
            "1.014 * answer",
            "6 of 6 cards that cannot take it; wanted a number that can be told fro",
        ),
        ("parts.stretching * 1.01", "told from stretching part only"),
        ("answer - 2 * answer", "wanted a number above zero"),
    ],
)
def test_a_pitfall_too_near_to_be_told_apart_is_not_dropped_in_silence(
    gives: str, words: str, graded: tuple[Key, list[tuple[str, bytes]]]
) -> None:
    key, files = graded
    own = policy.load(OWN.replace("parts.total + preload * bolt.pitch / 2", gives))
    made = gradebook.grade(files, key, policy=own)
    assert words in str(made.faults[0]) and gives in str(made.faults[0])
    assert len(made.done) == len(files)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (('gives = "parts', 'gives = "open(parts'), "formula"),
        (("parts.total", "parts.__class__"), "formula"),
        (("preload * bolt", "preloud * bolt"), "preloud"),
        (("/ 2", "/ 0"), "formula"),
        (("02/torque", "02/none"), "question"),
        (("02/torque", "99/torque"), "set"),
        (("02/torque", "02/oiled"), "a choice"),
        (('name = "lead counted twice"', ""), "pitfall 1"),
        (('name = "lead counted twice"', 'name = ""'), "empty part"),
    ],
)
def test_a_pitfall_that_cannot_be_taken_is_told_and_stops_nothing(
    change: tuple[str, str], words: str, graded: tuple[Key, list[tuple[str, bytes]]]
) -> None:
    key, files = graded
    made = gradebook.grade(files, key, policy=policy.load(OWN.replace(*change)))
    assert len(made.done) == len(gradebook.grade(files, key).done)
    assert words in "; ".join(map(str, made.faults))


@pytest.mark.parametrize(
    ("written", "words"),
    [("[[pitfalls]]", "pitfalls"), ("[pitfall]", "pitfall"), ("[[pitfall", "class file")],
)
def test_a_class_file_that_cannot_be_taken(written: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        policy.load(OWN.replace("[[pitfall]]", written))


@pytest.mark.parametrize("share", [0.0, 0.5, 1.0])
def test_a_right_number_without_its_unit_has_the_marks_of_the_class_file(
    share: float, graded: tuple[Key, list[tuple[str, bytes]]]
) -> None:
    key, _ = graded
    card = key.cards[0]
    given = right(card)
    q = next(i.question for i in card.items if i.question.key == "02/torque")
    own = policy.load(f"without_unit = {share}")
    for text, part in ((written(q).split()[0], share), ("1", 0.0), ("1 kN", 0.0)):
        file = file_of(card, {**given, q.key: text})
        result = gradebook.grade([("a", file)], key, policy=own).results[0]
        assert result.total == card.marks - q.marks + q.marks * part
    page = class_pages.feedback_page(result)
    assert f"{result.total:g} of {card.marks} marks" in page


@pytest.mark.parametrize("value", ["2", "-0.1", '"half"', "true", "nan"])
def test_a_share_that_is_none(value: str) -> None:
    with pytest.raises(InputError, match="without_unit"):
        policy.load(f"without_unit = {value}")


def test_without_a_class_file_nothing_is_decided() -> None:
    assert policy.load("") == NOTHING
