"""The desks of trainee and instructor, and the sample class, without a browser."""

from __future__ import annotations

import base64
import csv
import datetime
import io
import re
import sys
import zipfile
from pathlib import Path
from typing import Any

import pytest

from sealkit import resources
from sealkit.classroom.drawing.shown import Shown
from sealkit.classroom.homework import cards, class_files, desks, gradebook
from sealkit.classroom.homework.answers import CHOICE, Question, read_back, written
from tests import sample_class
from tests.card_checks import CLASS_KEY

SAMPLE = resources.data_file("sample-class", "roster.csv").parent


def upload(name: str, content: str | bytes) -> dict[str, Any]:
    data = content.encode() if isinstance(content, str) else content
    return {
        "name": name,
        "type": "",
        "size": len(data),
        "content": memoryview(data),
        "last_modified": datetime.datetime(2026, 11, 30, tzinfo=datetime.UTC),
    }


def link_of(html: str, start: str) -> bytes:
    """What the link to a file that begins like this carries."""
    match = re.search(rf'download="{re.escape(start)}[^"]*" href="data:[^"]*?base64,([^"]+)"', html)
    assert match is not None, start
    return base64.b64decode(match[1])


@pytest.fixture
def card() -> cards.Card:
    return cards.draw(CLASS_KEY, "02", "t-01", "Zoë <b>", "inch")


# --------------------------------------------------------------------------- trainee
def test_a_practice_card_wants_a_name_and_the_card_on_the_desk_stays(card: cards.Card) -> None:
    desk = desks.trainee()
    desk.draw.click()
    assert "got nothing; wanted your name" in desk.message.value
    assert "below" not in desk.message.value
    desk.take(card.dumps())
    desk.draw.click()
    assert "the card below stays as it is" in desk.message.value and desk.card == card


def test_homework_is_read_back_and_not_judged(card: cards.Card, tmp_path: Path) -> None:
    desk = desks.trainee(tmp_path)
    desk.opened.value = (upload("card.json", card.dumps()),)
    assert "Your card is open" in desk.message.value and desk.card == card
    assert desk.check not in desk.sheet.children and desk.save in desk.sheet.children
    assert "Zoë &lt;b&gt;" in desk.sheet.children[0].value
    for item in card.items:
        q, box = item.question, desk.boxes[item.question.key]
        assert box.button not in box.children[2].children
        box.entry.value = written(q)
        assert "READ AS" in box.said.value and "RIGHT" not in box.said.value
        if q.kind != CHOICE:
            wrong = box.said.value
            box.entry.value = written(q, q.pitfalls[0].value)
            assert "READ AS" in box.said.value and box.said.value != wrong
            assert q.pitfalls[0].says not in box.said.value
            box.entry.value = "12" if q.kind != "fraction" else "no idea"
            assert "LOOK AGAIN" in box.said.value and "NOT YET" not in box.said.value
    assert "Open the card file" in desk.children[2].value
    assert "chart to read" in " ".join(b.text.value.lower() for b in desk.boxes.values())


def test_saved_loaded_in_a_fresh_desk_and_graded(card: cards.Card, tmp_path: Path) -> None:
    desk = desks.trainee(tmp_path)
    desk.take(card.dumps())
    for item in card.items[:5]:
        desk.boxes[item.question.key].entry.value = written(item.question)
    desk.save.click()
    assert "5 of 8 questions answered" in desk.links.value
    file = tmp_path / "answers-02-t-01.json"
    assert link_of(desk.links.value, "answers-02-t-01.json") == file.read_bytes()

    fresh = desks.trainee(None)
    fresh.opened.value = (
        upload("answers.json", file.read_bytes()),  # in whatever order they come
        upload("card.json", card.dumps()),
    )
    assert "5 answers from your file" in fresh.message.value
    assert fresh.given() == desk.given()
    key = class_files.make_key(CLASS_KEY, "02", [class_files.Trainee("t-01", "Zoë", "inch")])
    result = gradebook.grade([("a", file.read_bytes())], key).results[0]
    assert result.total == sum(i.question.marks for i in card.items[:5])


def filled(desk: Any, card: cards.Card, count: int) -> dict[str, str]:
    """The first few answers, typed."""
    given = {i.question.key: written(i.question) for i in card.items[:count]}
    for key, text in given.items():
        desk.boxes[key].entry.value = text
    return given


def test_an_emptier_file_never_takes_the_place_of_a_fuller_one(
    card: cards.Card, tmp_path: Path
) -> None:
    desk = desks.trainee(tmp_path)
    desk.take(card.dumps())
    given = filled(desk, card, 8)
    desk.save.click()
    desk.save.click()  # the same again keeps no second file
    assert [p.name for p in tmp_path.iterdir()] == ["answers-02-t-01.json"]

    fresh = desks.trainee(tmp_path)
    assert "answers file of yours" in fresh.take(card.dumps())
    fresh.save.click()
    assert "0 of 8" in fresh.links.value and "answers-02-t-01-older-1.json" in fresh.links.value
    older = class_files.read_answers((tmp_path / "answers-02-t-01-older-1.json").read_bytes())
    assert dict(older.answers) == given
    filled(fresh, card, 1)
    fresh.save.click()
    assert "older-2" not in fresh.links.value  # nothing was lost
    (tmp_path / "answers-02-t-01.json").write_bytes(b"{")
    fresh.save.click()
    assert "cannot be read" in fresh.links.value
    assert (tmp_path / "answers-02-t-01-older-2.json").read_bytes() == b"{"


def test_going_on_with_what_was_saved(card: cards.Card, tmp_path: Path) -> None:
    desk = desks.trainee(tmp_path)
    desk.take(card.dumps())
    assert desk.go_on not in desk.sheet.children
    given = filled(desk, card, 5)
    desk.save.click()
    fresh = desks.trainee(tmp_path)
    fresh.take(card.dumps())
    assert fresh.go_on in fresh.sheet.children
    fresh.go_on.click()
    assert {k: v for k, v in fresh.given().items() if v} == given
    (tmp_path / "answers-02-t-01.json").unlink()
    fresh.go_on.click()
    assert "Not done" in fresh.message.value
    assert {k: v for k, v in fresh.given().items() if v} == given


def test_what_is_not_saved_is_asked_about_once(card: cards.Card) -> None:
    desk = desks.trainee(None)
    desk.take(card.dumps())
    given = filled(desk, card, 3)
    desk.take(card.dumps())  # the same card again
    assert {k: v for k, v in desk.given().items() if v} == given
    saved = class_files.answers_of(card, {}, datetime.datetime.now(datetime.UTC)).dumps()
    desk.opened.value = (upload("a.json", saved),)
    assert "3 answers on the desk, not saved" in desk.message.value
    assert {k: v for k, v in desk.given().items() if v} == given
    # chosen once more, they are left; as some editors save it, too
    desk.opened.value = (upload("a.json", saved.encode("utf-16")),)
    assert "0 answers from your file" in desk.message.value
    desk.save.click()
    desk.who.value = "Ann"
    desk.draw.click()  # saved now, so another card may come
    assert desk.card is not None and desk.card.practice and desk.card.set == "00"
    filled(desk, desk.card, 2)
    desk.set.value = "03"
    desk.draw.click()
    assert "not saved" in desk.message.value and desk.card.set == "00"
    desk.draw.click()
    assert desk.card.set == "03"


def test_practice_is_checked(tmp_path: Path) -> None:
    desk = desks.trainee(tmp_path)
    desk.draw.click()
    assert "name or id" in desk.message.value and desk.card is None
    desk.who.value, desk.set.value, desk.units.value = "Ann", "03", "inch"
    desk.draw.click()
    mine = cards.practice("03", "Ann", "inch")
    assert desk.card == mine
    first = mine.items[0].question
    desk.boxes[first.key].entry.value = written(first, first.pitfalls[0].value)
    assert first.pitfalls[0].says.split("'")[0] in desk.boxes[first.key].said.value
    desk.boxes[first.key].entry.value = written(first)
    desk.check.click()
    assert f"1 of {len(mine.items)}" in desk.tally.value
    desk.save.click()
    fresh = desks.trainee(None)
    fresh.opened.value = (upload("a.json", link_of(desk.links.value, "answers-03-ann")),)
    assert fresh.card == mine and fresh.given() == desk.given()


@pytest.mark.parametrize(
    ("content", "words"),
    [
        ("{", "cannot be read"),
        ("{}", "another kind of file"),
        ("x" * 100_000, "card file"),
        ('{"format": "sealkit-answers"', "cut off"),
        ("\ud83d".encode("utf-16", "surrogatepass"), "card file"),
    ],
)
def test_files_that_cannot_be_opened(content: str | bytes, words: str) -> None:
    desk = desks.trainee(None)
    desk.opened.value = (upload("odd <name>.json", content),)
    assert words in desk.message.value and "odd &lt;name&gt;" in desk.message.value
    assert desk.card is None


def test_answers_need_their_own_card(card: cards.Card) -> None:
    made = class_files.answers_of(card, {}, datetime.datetime.now(datetime.UTC))
    desk = desks.trainee(None)
    desk.opened.value = (upload("a.json", made.dumps()),)
    assert "answers without their card" in desk.message.value
    desk.take(cards.draw(CLASS_KEY, "02", "t-02").dumps())
    desk.opened.value = (upload("b.json", made.dumps()),)
    assert "answers to another card" in desk.message.value


def test_a_folder_that_cannot_be_written_is_told(card: cards.Card, tmp_path: Path) -> None:
    desk = desks.trainee(tmp_path / "none")
    desk.take(card.dumps())
    desk.save.click()
    assert "could not be written" in desk.links.value and link_of(desk.links.value, "answers-02")


def test_the_card_to_print(card: cards.Card) -> None:
    desk = desks.trainee(None)
    desk.take(card.dumps())
    page = link_of(desk.sheet.children[1].value, "card-02-t-01.html").decode()
    assert page.startswith("<!doctype") and "Zoë &lt;b&gt;" in page and "<svg" in page


@pytest.mark.parametrize(
    ("kind", "unit", "text", "told"),
    [
        ("force", "kN", "14815 lbf", "65.9 kN."),
        ("torque", "N*m", "66.4 ft-lb", "90.026 N·m."),
        ("area", "mm**2", "0.58 cm²", "58 mm²."),
        ("temperature", "degC", "212 °F", "100 °C."),
        ("gauge pressure", "barg", "17.4 psi", "1.1997 bar gauge."),
        ("fraction", "%", "0.153", "15.3 %."),
        ("number", "", "9 1/2", "9.5."),
        ("number", "", "2,860", "2860. A comma stands between thousands only."),
        ("expansion", "1e-6/K", "6.5e-6/degF", "11.7e-6/K."),
        ("angle", "deg", "0.25 turn", "90°."),
    ],
)
def test_what_was_read_is_said_in_the_unit_asked(
    kind: str, unit: str, text: str, told: str
) -> None:
    said = read_back(Question("x", "?", kind, 1.0, unit=unit), text)
    assert (said.layer, said.says, said.right) == ("read", told, False)


# --------------------------------------------------------------------------- instructor
def test_cards_and_gradebook_on_the_desk(tmp_path: Path) -> None:
    desk = desks.instructor()
    desk.draw.click()
    assert "roster" in desk.drawn.value
    desk.roster.value = (upload("roster.csv", "id,name\nt-01,Ann\nt-02,=1+1\n"),)
    desk.set.value = "02"
    desk.draw.click()
    assert "Class key made for you" in desk.drawn.value
    desk.class_key.value, desk.due.value = CLASS_KEY, "2026-12-01T18:00+01:00"
    desk.term.value = "2027"
    desk.draw.click()
    told = desk.drawn.value
    assert "2 cards of set 02" in told and CLASS_KEY not in told
    with zipfile.ZipFile(io.BytesIO(link_of(told, "hand-out-02.zip"))) as archive:
        assert archive.namelist() == ["hand-out/card-02-t-01.json", "hand-out/card-02-t-02.json"]
        card = cards.load(archive.read("hand-out/card-02-t-01.json"))
    assert card == cards.draw(CLASS_KEY, "02", "t-01", "Ann", term="2027")

    fresh = desks.instructor()
    fresh.grade.click()
    assert "key file" in fresh.graded.value
    fresh.key_file.value = (upload("key.json", link_of(told, "key-02.json")),)
    fresh.grade.click()
    assert "answers files" in fresh.graded.value
    at = datetime.datetime(2026, 11, 30, tzinfo=datetime.UTC)
    made = class_files.answers_of(
        card, {i.question.key: written(i.question) for i in card.items}, at
    )
    fresh.answers.value = (upload("a.json", made.dumps()), upload("<b>.json", "{"))
    none, closed, now = fresh.solutions.options
    fresh.late.value = True
    far, past = "2199-01-01", "2026-11-01"
    for solutions, due, words in (
        (closed, far, "may hand in, until 2199"),
        (closed, past, "1 of 2 trainees"),
        (now, far, "1 of 2 trainees"),
    ):
        own = f'[due]\n"02" = {due}T18:00:00+01:00\n[[extension]]\nset = "02"\n'
        fresh.class_file.value = (upload("class.toml", own),)
        fresh.solutions.value = solutions
        fresh.grade.click()
        assert words in fresh.graded.value
        assert ("Not followed.</b> class file, extension 1" in fresh.graded.value) == (
            "trainees" in words
        )
    with zipfile.ZipFile(io.BytesIO(link_of(fresh.graded.value, "solutions-02.zip"))) as archive:
        assert archive.namelist() == ["solutions/t-01.html", "solutions/t-02.html"]
    fresh.solutions.value, fresh.class_file.value = none, ()
    fresh.grade.click()
    assert "solutions-02" not in fresh.graded.value
    assert "1 of 2 trainees graded" in fresh.graded.value
    table = link_of(fresh.graded.value, "gradebook-02.csv").decode("utf-8-sig")
    assert [r["marks"] for r in csv.DictReader(io.StringIO(table))] == ["10", ""]
    shown = " ".join(t.value for t in fresh.tables.children)
    assert "10 of 10" in shown and "&lt;b&gt;.json" in shown and "<b>.json" not in shown


def test_the_term_book_on_the_desk() -> None:
    desk = desks.instructor()
    desk.add.click()
    assert "gradebooks" in desk.added.value and 'role="alert"' in desk.added.value
    book = "id,name,marks,of,set\na,Ann,{},10,{}\nb,Bo,,10,{}\n"
    first, second = (upload(f"{n}.csv", book.format(m, n, n)) for m, n in ((9, "02"), (7.5, "00")))
    desk.books.value = (first, second)
    desk.add.click()
    assert "2 sets added up" in desk.added.value
    text = link_of(desk.added.value, "term-book.csv").decode("utf-8-sig")
    ann, bo = csv.DictReader(io.StringIO(text))
    assert (ann["set 00"], ann["set 02"], ann["marks"], ann["of"]) == ("7.5", "9", "16.5", "20")
    assert bo["handed in"] == "0 of 2"
    desk.books.value = (first, first)
    desk.add.click()
    assert "one gradebook for each set" in desk.added.value


def test_a_folder_on_this_machine() -> None:
    desk = desks.instructor()
    desk.key_file.value = (upload("key.json", (SAMPLE / "key-02.json").read_bytes()),)
    desk.folder.value = str(SAMPLE / "answers")
    desk.grade.click()
    assert "5 of 8 trainees graded" in desk.graded.value
    desk.folder.value = str(SAMPLE / "none")
    desk.grade.click()
    assert "Not done" in desk.graded.value and 'role="alert"' in desk.graded.value


# --------------------------------------------------------------------------- the sample class
def test_the_sample_class() -> None:
    desk = desks.instructor()
    desk.sample.click()
    assert "invented" in desk.graded.value and desk.grades is not None
    found = {r.card.trainee: (r.total, r.card.marks) for r in desk.grades.results if r.feedback}
    assert found == {
        "rc-01": (10, 10),
        "rc-02": (7, 10),
        "rc-03": (4, 10),
        "rc-04": (6, 10),
        "rc-05": (5, 10),
    }
    reasons = [f.reason.split(":")[0] for f in desk.grades.files if not f.counted]
    assert sorted(reasons) == [
        "answers to another set",
        "changed after it was saved",
        "cut off or damaged",
        "duplicate",
        "late",
    ]
    pitfalls = desk.grades.difficulty()[0].pitfalls
    assert pitfalls == {"torque unit": 2, "nut factor left out": 1}


def test_the_sample_class_is_invented_and_drawn_from_its_roster() -> None:
    assert "invented" in (SAMPLE / "README.txt").read_text(encoding="utf-8")
    assert sample_class.CLASS_KEY in (SAMPLE / "README.txt").read_text(encoding="utf-8")
    there = [SAMPLE / "key-02.json", *(SAMPLE / "answers").iterdir()]
    told = {p.relative_to(SAMPLE).as_posix(): p.read_text(encoding="utf-8") for p in there}
    assert told == sample_class.files(), "drawn anew by: python -m tests.sample_class"


def test_without_widgets(monkeypatch: pytest.MonkeyPatch) -> None:
    for name in ("trainee", "instructor", "answer_box"):
        monkeypatch.delitem(sys.modules, f"sealkit.classroom.homework.{name}", raising=False)
    monkeypatch.setitem(sys.modules, "ipywidgets", None)
    for made in (desks.trainee(), desks.instructor()):
        assert isinstance(made, Shown) and "sealkit grade" in str(made)
