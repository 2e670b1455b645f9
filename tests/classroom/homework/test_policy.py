"""What an instructor decided about a class: times, penalties, attempts, marks by hand, comments."""

from __future__ import annotations

import csv
import datetime
import html
import io
import time
from pathlib import Path
from typing import Any

import pytest

from sealkit import cli
from sealkit.classroom.homework import (
    answers,
    class_files,
    class_pages,
    gradebook,
    policy,
    term_book,
)
from sealkit.classroom.homework.class_files import Key, Trainee
from sealkit.classroom.homework.gradebook import Grades
from sealkit.classroom.homework.policy import Policy
from sealkit.errors import InputError
from tests import pages
from tests.card_checks import CLASS_KEY
from tests.classroom.homework.test_gradebook import DUE, file_of, right

LATE = "2026-12-03T10:00:00+00:00"  # 1 day and 17 hours after it was due: two days begun


@pytest.fixture(scope="module")
def key() -> Key:
    people = [Trainee("t-01", "Ann", "metric"), Trainee("t-02", "Bob", "inch")]
    return class_files.make_key(CLASS_KEY, "02", people, DUE)


def graded(key: Key, text: str, *files: bytes) -> Grades:
    named = [(f"{i}.json", f) for i, f in enumerate(files)]
    return gradebook.grade(named, key, policy=policy.load(text))


def test_each_day_begun_costs_its_share(key: Key) -> None:
    late = file_of(key.cards[0], saved=LATE)
    for text, total in (("", 0), ("late_per_day = 0.1", 8), ("late_per_day = 0.7", 0)):
        assert graded(key, text, late).results[0].total == pytest.approx(total)
    grades = graded(key, "late_per_day = 0.1", late)
    assert grades.files[0].counted and "20 % taken off" in grades.files[0].reason
    assert "late: 20 % taken off" in class_pages.feedback_page(grades.results[0])
    accepted = gradebook.grade([("a", late)], key, True, policy.load("late_per_day = 0.1"))
    assert accepted.results[0].total == 10


def test_due_and_extension_of_the_class_file_come_before_the_key_files(key: Key) -> None:
    late = [file_of(c, saved=LATE) for c in key.cards]
    more = '[[extension]]\nset = "02"\ntrainee = "T-01 "\ndue = 2026-12-05T18:00:00+01:00\n'
    assert [r.total for r in graded(key, more, *late).results] == [10, 0]
    later = '[due]\n"02" = "2026-12-04T00:00+00:00"\n'
    assert [r.total for r in graded(key, later, *late).results] == [10, 10]
    sooner = '[due]\n"02" = 2026-11-01T00:00:00Z\n'
    in_time = [file_of(c) for c in key.cards]
    assert [r.total for r in graded(key, sooner + more, *in_time).results] == [10, 0]


def test_the_best_attempt_counts_where_the_class_file_says_so(key: Key) -> None:
    card = key.cards[0]
    full = file_of(card, saved="2026-11-29T10:00:00+00:00")
    emptier = file_of(card, {}, saved="2026-11-30T10:00:00+00:00")
    assert graded(key, "", full, emptier).results[0].total == 0
    alike = graded(key, 'attempts = "best"', full, full.replace(b"{", b"{ ", 1)).files
    assert "counts, saved last" in "".join(f.reason for f in alike if f.counted)
    grades = graded(key, 'attempts = "best"', full, emptier)
    assert grades.results[0].total == 10 and "most marks" in grades.files[0].reason
    # a full one that came too late costs its days
    files = (file_of(card, saved=LATE), file_of(card, {"02/torque": right(card)["02/torque"]}))
    both = graded(key, 'attempts = "best"\nlate_per_day = 0.1', *files)
    assert both.results[0].total == pytest.approx(8)


BY_HAND = """
[[override]]
question = "02/torque"
trainee = "T-01"
marks = 1.5
comment = "Right by <your> handbook."

[[override]]
question = "02/turn"
trainee = "t-01"
comment = "Well drawn."

[[override]]
question = "03/constant"
trainee = "somebody of another set"
marks = 1
"""


def test_marks_by_hand_and_comments_outlast_every_regrade(key: Key) -> None:
    card = key.cards[0]
    given = {**right(card), "02/torque": "7 N*m"}
    for files in ((file_of(card, given),), (file_of(card, given), b"{", file_of(key.cards[1]))):
        result = graded(key, BY_HAND, *files).results[0]
        assert result.total == card.marks - 0.5
        assert result.remarks == "torque: Right by <your> handbook.; turn: Well drawn."
        page = class_pages.feedback_page(result)
        assert "Right by &lt;your&gt; handbook" in page and "1.5 of 2" in page
        assert "Well drawn." in class_pages.table(graded(key, BY_HAND, *files))
    other = graded(key, BY_HAND, file_of(key.cards[1])).results[1]
    assert other.total == key.cards[1].marks and other.remarks == ""
    # what was given by hand stays whole, however late the file is
    late = graded(key, "late_per_day = 0.5" + BY_HAND, file_of(card, given, saved=LATE))
    assert late.results[0].total == 1.5
    # and also where no file counts; a comment alone is no mark
    for no_good in ((), (b"{",), (file_of(card, given, saved=LATE),)):
        assert [r.total for r in graded(key, BY_HAND, *no_good).results] == [1.5, 0.0]
    assert not graded(key, BY_HAND.replace("marks = 1.5", "")).done


@pytest.mark.parametrize("text", ["", "37,05 kN", "1 N"])
def test_feedback_does_not_contradict_a_mark_by_hand(text: str, key: Key) -> None:
    card = key.cards[0]
    given = {**right(card), "02/preload": text}
    for marks, verdict in ((1, "✓ by your instructor"), (0.5, "<b>by your instructor")):
        own = f'[[override]]\nquestion = "02/preload"\ntrainee = "t-01"\nmarks = {marks}\n'
        page = class_pages.feedback_page(graded(key, own, file_of(card, given)).results[0])
        assert verdict in page and "not yet" not in page and "no answer yet" not in page
        assert page.count("comma") == 0 and ("far too small" in page) == (
            text == "1 N" and marks < 1
        )


def test_what_was_decided_about_one_set_is_not_said_of_another(key: Key) -> None:
    same_name = BY_HAND.replace("02/turn", "03/chart")
    said = graded(key, same_name, file_of(key.cards[0])).results[0]
    assert list(said.by_hand) == ["02/torque"] and "chart" not in said.remarks


def test_a_forgotten_sign_of_a_percentage_is_a_missing_unit(key: Key) -> None:
    card = key.cards[0]
    signed = right(card)["02/useful-share"]
    for text, marks in ((signed, 1.0), (signed.strip(" %"), 0.5), (f"{2 * float(signed[:-1])}", 0)):
        given = file_of(card, {**right(card), "02/useful-share": text})
        assert graded(key, "without_unit = 0.5", given).results[0].total == 9 + marks
    assert graded(key, "", file_of(card, {"02/useful-share": signed[:-1]})).results[0].total == 0


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (BY_HAND.replace("T-01", "t-99"), 'override of 02/torque: got "t-99"; wanted an id on'),
        (BY_HAND.replace("1.5", "3"), "marks: got 3; wanted marks from 0 to 2"),
        (BY_HAND.replace("1.5", "-1"), "from 0 to 2"),
        (BY_HAND.replace("1.5", '"1"'), "no number"),
        (BY_HAND.replace("02/turn", "02/none"), 'override 2: got "02/none"; wanted a question'),
        (BY_HAND.replace('comment = "Well drawn."', ""), "neither"),
        (BY_HAND.replace("comment", "remark"), "override 1"),
        ('[[extension]]\nset = "02"\ntrainee = "t-01"\ndue = 5', "extension 1, due: got 5;"),
        ('[[extension]]\nset = "02"\ntrainee = "t-01"\ndue = "soon"', 'due: got "soon"; wanted'),
        ('[[extension]]\nset = "2"\ntrainee = "t-01"\ndue = 5', 'extension 1, set: got "2"'),
        ('[[extension]]\nset = "02"\ndue = 2026-12-01T00:00:00Z', "extension 1"),
        ('[[extension]]\nset = "02"\ntrainee = "t-01"', "extension 1"),
        ('[[excused]]\nset = "02"\ntrainee = "x"', 'excused of 02: got "x"; wanted an id on the'),
        ('[[excused]]\nset = "2"\ntrainee = "t-01"', 'excused 1, set: got "2"'),
        ('[[excused]]\nset = "02"\ntrainee = "t-01"\ndue = 5', "excused 1"),
        (
            '[[extension]]\nset = "02"\ntrainee = "x"\ndue = 2026-12-01T00:00:00Z',
            'extension of 02: got "x"; wanted an id on the roster of set 02',
        ),
    ],
)
def test_a_decision_that_cannot_be_followed_is_told_and_stops_nothing(
    text: str, words: str, key: Key
) -> None:
    made = graded(key, text, file_of(key.cards[0]))
    assert words in "; ".join(map(str, made.faults)) and '""' not in str(made.faults[0])
    assert made.results[0].total >= 9.5


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('attempts = "first"', "attempts"),
        ("late_per_day = 2", "late_per_day"),
        ('[due]\n"02" = "tomorrow"', "due of 02"),
        ('[due]\n"02" = 2026-12-01', "due of 02"),
        ('[due]\n"99" = 2026-12-01T00:00:00Z', "due"),
        ("late_per_dya = 0.1", 'part: got "late_per_dya"'),
    ],
)
def test_what_cannot_be_decided(text: str, words: str, key: Key) -> None:
    with pytest.raises(InputError, match=words):
        graded(key, text, file_of(key.cards[0]))


def test_the_class_file_of_the_guide_can_be_taken(key: Key) -> None:
    own = policy.load(pages.text("instructors-guide").split("```")[1])
    assert own.best and own.without_unit == 0.5 and own.late_per_day == 0.1
    assert [o.marks for o in own.overrides] == [2] and len(own.extensions) == len(own.due) == 1
    assert own.excused == (("00", "rc-05"),)
    question = own.questions(key.cards[0])[0]
    assert question.pitfalls[-1].name == own.pitfalls[0].name


# --------------------------------------------------------------------------- a term
def test_a_term_of_three_sets(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: Any) -> None:
    """Cards out, answers in, grades, solutions and the term book, by the commands alone."""
    monkeypatch.chdir(tmp_path)
    people = [f"t-{i},Trainee {i},{('metric', 'inch')[i % 2]}" for i in range(4)]
    Path("roster.csv").write_text("\n".join(["id,name,units", *people]), encoding="utf-8")
    due = "2026-01-01T18:00+01:00"
    at = datetime.datetime(2026, 1, 1, tzinfo=datetime.UTC)
    for name in ("00", "02", "06"):
        assert cli.main(["cards", "roster.csv", "--set", name, "--due", due]) == 0
        made = class_files.load_key(Path(f"cards-{name}/key-{name}.json").read_bytes())
        Path(f"in-{name}").mkdir()
        for i, card in enumerate(made.cards[: 3 if name == "02" else 4]):
            given = dict(list(right(card).items())[i:])  # the first few left out
            text = class_files.answers_of(card, given, at).dumps()
            Path(f"in-{name}/{card.trainee}.json").write_text(text, encoding="utf-8")
        line = ["grade", f"in-{name}", "--key", f"cards-{name}/key-{name}.json", "--solutions"]
        assert cli.main(line) == 0
        sheet = Path(f"grades-{name}/solutions/t-3.html").read_text(encoding="utf-8")
        for item in made.cards[3].items:
            assert html.escape(answers.printed(item.question)) in sheet
            assert html.escape(item.question.hint) in sheet
    assert cli.main(["book", "grades-06", "grades-00", "grades-02", "--delimiter", ";"]) == 0
    text = Path("term-book.csv").read_text(encoding="utf-8-sig")
    rows = list(csv.DictReader(io.StringIO(text), delimiter=";"))
    assert [r["id"] for r in rows] == [f"t-{i}" for i in range(4)]
    assert rows[0]["percent"] == "100" and rows[0]["handed in"] == "3 of 3"
    assert rows[3]["set 02"] == "none" and rows[3]["handed in"] == "2 of 3"
    for r in rows:
        parts = [float(r[f"set {n}"].replace("none", "0")) for n in ("00", "02", "06")]
        assert float(r["marks"]) == pytest.approx(sum(parts)) and float(r["of"]) == 24
    assert cli.main(["book", "grades-00", "grades-00"]) == 2
    assert "one gradebook for each set" in capsys.readouterr().err


def test_an_excused_set_is_left_out_of_the_term_book_unless_it_is_handed_in(key: Key) -> None:
    excused = '[[excused]]\nset = "02"\ntrainee = "T-02"\n'
    for files, row in (
        ((), "t-02,Bob,excused,0 of 0,0,0,"),
        ((file_of(key.cards[1]),), "t-02,Bob,10,1 of 1,10,10,100"),
    ):
        made = graded(key, excused, file_of(key.cards[0]), *files)
        assert made.silent == () and made.faults == ()
        table = class_pages.table(made).encode()
        assert (b"t-02,Bob,excused,," in table) == (not files)
        assert row in term_book.add_up([term_book.read(table, "02")])
    assert graded(key, "").silent == key.cards


@pytest.fixture
def berlin(monkeypatch: pytest.MonkeyPatch) -> Any:
    monkeypatch.setenv("TZ", "Europe/Berlin")
    time.tzset()
    yield
    monkeypatch.undo()
    time.tzset()


@pytest.mark.skipif(not hasattr(time, "tzset"), reason="the system sets no zone for one program")
@pytest.mark.parametrize("text", ["2026-12-06 18:00", "2026-12-06T18:00", "2026-12-06T18"])
def test_a_due_time_may_be_local_and_is_said_with_its_distance(
    text: str, key: Key, berlin: Any, tmp_path: Path, capsys: Any
) -> None:
    told = "2026-12-06T18:00+01:00"
    assert class_files.due_time(text, "due") == told
    own = policy.load(f'[due]\n"02" = "{text}"\n')
    assert own.due == {"02": told}
    assert class_files.due_time("2026-07-06T18:00", "due").endswith("+02:00")
    (tmp_path / "r.csv").write_text("id,name\nt-1,A\n")
    line = ["cards", str(tmp_path / "r.csv"), "--key-file", str(tmp_path / "k.txt"), "--set", "02"]
    assert cli.main([*line, "--out", str(tmp_path / "a"), "--due", text]) == 0
    assert f", due {told}:" in capsys.readouterr().out
    assert cli.main([*line, "--out", str(tmp_path / "b"), "--due", "2025-12-06 18:00"]) == 0
    assert "2025-12-06T18:00+01:00 is past: every file would be late" in capsys.readouterr().err


def test_no_solution_while_somebody_may_hand_in(
    key: Key, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    (tmp_path / "in").mkdir()
    (tmp_path / "in" / "a.json").write_bytes(file_of(key.cards[0]))
    old = class_files.Key(key.set, key.cards, "2026-01-01T18:00+01:00")
    (tmp_path / "key.json").write_text(old.dumps(), encoding="utf-8")
    more = '[[extension]]\nset = "02"\ntrainee = "t-02"\ndue = 2199-01-01T00:00:00Z\n'
    (tmp_path / "class.toml").write_text(more, encoding="utf-8")
    line = ["grade", str(tmp_path / "in"), "--key", str(tmp_path / "key.json"), "--solutions"]
    line += ["--out", str(tmp_path / "out"), "--class-file", str(tmp_path / "class.toml")]
    assert cli.main([*line, "--accept-late"]) == 2
    assert 'got "t-02" may hand in, until 2199' in capsys.readouterr().err
    assert not (tmp_path / "out").exists()
    assert cli.main([*line, "--solutions-now", "--accept-late"]) == 0
    assert (tmp_path / "out" / "solutions" / "t-02.html").exists()


@pytest.mark.parametrize(
    ("rate", "days"), [(None, 0), (1.0, 0), (0.7, 1), (0.3, 3), (0.1, 9), (0.0, None)]
)
def test_solutions_wait_for_the_last_day_that_leaves_marks(
    key: Key, rate: float | None, days: int | None
) -> None:
    card, own = key.cards[0], Policy(late_per_day=rate)
    end = own.open_until(card, DUE)
    assert end == (None if days is None else class_files.when(DUE) + datetime.timedelta(days))
    assert own.open_until(card, "") is None
    if end is not None:  # as the gradebook counts
        for more, counts in ((0, True), (1, False)):
            saved = (end + datetime.timedelta(seconds=more)).isoformat()
            made = gradebook.grade([("a", file_of(card, saved=saved))], key, policy=own)
            assert (made.results[0].total > 0) == counts


@pytest.mark.parametrize(
    "text", ["", "id,marks\n1,2\n", "id,name,marks,of,set\na,A,9,5,02\n", "id,name,marks,of,set\n"]
)
def test_what_is_no_gradebook(text: str) -> None:
    with pytest.raises(InputError, match="gradebook"):
        term_book.read(text.encode(), "gradebook.csv")
