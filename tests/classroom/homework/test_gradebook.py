"""Gradebook: marks, files that cannot be taken, hostile content, files written whole."""

from __future__ import annotations

import csv
import datetime
import functools
import io
import json
import multiprocessing
import os
import random
import signal
from pathlib import Path
from typing import Any

import pytest

from sealkit import cli
from sealkit.classroom.homework import cards, class_files, class_pages, gradebook
from sealkit.classroom.homework.answers import CHOICE, written
from sealkit.classroom.homework.class_files import Answers, Key, Trainee, file_name
from sealkit.classroom.homework.class_pages import defused
from sealkit.errors import InputError
from tests.card_checks import CLASS_KEY

DUE = "2026-12-01T18:00+01:00"
SAVED = datetime.datetime(2026, 11, 30, 12, tzinfo=datetime.UTC)


@pytest.fixture(scope="module")
def small() -> Key:
    people = [Trainee("t-01", "Ann", "metric"), Trainee("t-02", "Bob", "inch")]
    people.append(Trainee("t-03", "Cy", "metric"))
    return class_files.make_key(CLASS_KEY, "02", people, DUE)


def right(card: cards.Card) -> dict[str, str]:
    return {i.question.key: written(i.question) for i in card.items}


def file_of(card: cards.Card, given: dict[str, str] | None = None, /, **change: Any) -> bytes:
    """An answers file, its sum made anew after a change."""
    made = class_files.answers_of(card, right(card) if given is None else given, SAVED)
    data = {k: v for k, v in json.loads(made.dumps()).items() if k != "check"} | change
    return json.dumps({**data, "check": class_files._sum(data)}).encode()


def reason(content: bytes | str, key: Key, **more: Any) -> str:
    grades = gradebook.grade([("a.json", content)], key, **more)
    assert len(grades.files) == 1 and not grades.files[0].counted
    assert all(not r.feedback for r in grades.results)
    return grades.files[0].reason


# --------------------------------------------------------------------------- a whole class
@functools.cache
def whole_class() -> tuple[Key, list[tuple[str, bytes]], dict[str, int], dict[str, str]]:
    """64 trainees, 8 questions; 40 sound files and 20 broken ones, each with its reason."""
    people = [
        Trainee(f"t-{i:03}", f"Trainee {i}", ("metric", "inch")[i % 2]) for i in range(54)
    ] + [Trainee(f"spare-{i:02}", f"Spare {i}", "metric") for i in range(10)]
    key = class_files.make_key(CLASS_KEY, "02", people, DUE)
    lesson_3 = cards.draw(CLASS_KEY, "03", "t-000")
    draw = random.Random("class")
    files: list[tuple[str, bytes]] = []
    marks: dict[str, int] = {}
    broken: dict[str, str] = {}
    for card in key.cards[:40]:
        given, total = {}, 0
        for item in card.items:
            q, luck = item.question, draw.random()
            if luck < 0.5:
                given[q.key] = written(q)
                total += q.marks
            elif luck < 0.8:
                given[q.key] = written(q, draw.choice(q.pitfalls).value)
            elif luck < 0.9:
                given[q.key] = draw.choice(("", "no idea", "12", "9**9**9 kN", "5 dB", "NaN"))
        files.append((f"answers-02-{card.trainee}.json", file_of(card, given)))
        marks[card.trainee] = total
    cut = files[0][1][:-200]
    late, bad, spare = key.cards[40], key.cards[41], key.cards[42]
    makers = {
        "cut off or damaged": lambda i: files[i][1][: -(100 + i)],
        "nobody on the roster": lambda i: file_of(spare, trainee=f"stranger-{i}"),
        "renamed or copied": lambda i: file_of(key.cards[i], trainee=key.cards[i + 1].trainee),
        "changed after it was saved": lambda i: files[i][1].replace(
            b'"answers": {', b'"answers":  {"x": "1", '
        ),
        "answers to another set: 03": lambda i: file_of(lesson_3),
        "late: saved": lambda i: file_of(late, saved="2026-12-01T17:00:01+00:00"),
        "duplicate: the same file again": lambda i: files[i][1],
        "another kind of file": lambda i: json.dumps({"grade": i}).encode(),
        "not text": lambda i: b"\xff\xfa\x00" * (i + 1),
        "empty": lambda i: b"",
    }
    for why, make in makers.items():
        for i in range(2):
            name = f"{len(broken):02} {why.split(':')[0]}.json"
            broken[name] = why
            files.append((name, make(i)))
    assert len(cut) and bad
    draw.shuffle(files)
    return key, files, marks, broken


def test_a_class_with_every_kind_of_broken_file(tmp_path: Path) -> None:
    key, files, marks, broken = whole_class()
    assert len(key.cards) == 64 and len(key.cards[0].items) == 8
    assert len(files) == 60 and len(broken) == 20
    folder = tmp_path / "in"
    folder.mkdir()
    for name, content in files:
        (folder / name).write_bytes(content)
    before = {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()}

    grades = gradebook.grade(class_files.read_folder(folder), key)
    found = {r.card.trainee: r.total for r in grades.results if r.feedback}
    assert found == marks and len(found) == 40
    assert len(grades.files) == 60 and len({f.file for f in grades.files}) == 60
    refused = {f.file: f.reason for f in grades.files if not f.counted}
    assert set(refused) == set(broken)
    for name, why in broken.items():
        assert why in refused[name], (name, refused[name])

    out = class_pages.grade_files(grades)
    again = class_pages.grade_files(gradebook.grade(class_files.read_folder(folder), key))
    backwards = class_pages.grade_files(gradebook.grade(files[::-1], key))
    assert out == again == backwards
    class_files.write_files(tmp_path / "out", out)
    after = {p.name: (p.read_bytes(), p.stat().st_mtime_ns) for p in folder.iterdir()}
    assert before == after

    rows = list(csv.DictReader(io.StringIO(out["gradebook.csv"].removeprefix("\ufeff"))))
    assert [r["id"] for r in rows] == [c.trainee for c in key.cards]
    for row in rows:
        if row["id"] in marks:
            assert row["state"] == "graded" and int(row["marks"]) == marks[row["id"]]
            names = [i.question.key.partition("/")[2] for i in key.cards[0].items]
            assert sum(int(row[n]) for n in names) == marks[row["id"]]
        else:
            assert row["marks"] == "" and row["state"] != "graded"
    assert sum(1 for n in out if n.startswith("feedback/")) == 40


def test_class_page_counts_every_pitfall() -> None:
    key, files, _, _ = whole_class()
    grades = gradebook.grade(files, key)
    rows = grades.difficulty()
    done = [r for r in grades.results if r.feedback]
    for place, row in enumerate(rows):
        said = [r.feedback[place] for r in done]
        assert row.layers["right"] == sum(f.right for f in said) and row.layers.total() == 40
        assert sum(row.pitfalls.values()) == sum(bool(f.pitfall) for f in said) > 2
    page = class_pages.class_page(grades)
    for name in ("nut factor left out", "thread friction forgotten", "line of the copper paste"):
        assert name in page
    assert "Spread of the marks" in page and page.count("<th scope='row'>") > 5
    # it is projected: nobody's name or id, and no file
    for card in key.cards:
        assert f"{card.name}<" not in page and card.trainee not in page
    assert ".json" not in page


# --------------------------------------------------------------------------- one file at a time
def test_marks_of_one_file(small: Key) -> None:
    card = small.cards[1]
    given = right(card)
    first = card.items[0].question
    given[first.key] = written(first, first.pitfalls[0].value)
    grades = gradebook.grade([("a.json", file_of(card, given))], small)
    result = grades.results[1]
    assert result.total == card.marks - first.marks
    assert result.feedback[0].pitfall == first.pitfalls[0].name
    page = class_pages.feedback_page(result)
    assert first.pitfalls[0].says.split(".")[0] in page
    assert f"<td>{given[first.key]}</td>" in page
    assert written(first) not in page.split("<tr>")[2]


def test_a_question_left_out_and_one_that_is_not_there(small: Key) -> None:
    card = small.cards[0]
    given = right(card)
    given.pop(card.items[2].question.key)
    content = file_of(card, answers={**given, "02/unknown": "5 kN"})
    result = gradebook.grade([("a.json", content)], small).results[0]
    assert result.feedback[2].layer == "empty"
    assert result.total == card.marks - card.items[2].question.marks


def test_the_last_one_saved_counts(small: Key) -> None:
    card = small.cards[0]
    old = file_of(card, {}, saved="2026-11-29T10:00:00+00:00")
    new = file_of(card, saved="2026-11-29T11:30:00+01:00")
    late = file_of(card, {}, saved="2026-12-02T10:00:00+00:00")
    grades = gradebook.grade([("z.json", old), ("a.json", new), ("b.json", late)], small)
    assert grades.results[0].total == card.marks and grades.results[0].file == "a.json"
    assert [f.counted for f in grades.files] == [True, False, False]
    assert "late" in grades.files[1].reason and "another one counts" in grades.files[2].reason


def test_every_file_that_competes_is_told_with_both_marks(small: Key) -> None:
    card = small.cards[0]
    full = file_of(card, saved="2026-11-29T10:00:00+00:00")
    emptier = file_of(card, {}, saved="2026-11-30T10:00:00+00:00")
    files = [("mine.json", full), ("forged.json", emptier), ("copy.json", full)]
    grades = gradebook.grade(files, small)
    assert grades.results[0].total == 0
    told = {f.file: f.reason for f in grades.files}
    assert "0 marks" in told["forged.json"] and "mine.json has 10 marks" in told["forged.json"]
    assert "forged.json, 0 marks; this one 10 marks" in told["mine.json"] == told["copy.json"]
    once = gradebook.grade([("mine.json", full), ("copy.json", full)], small)
    assert sorted(f.reason for f in once.files) == [
        "",
        "duplicate: the same file again (copy.json)",
    ]
    card, other = small.cards[:2]
    names = [f"answers-02-{c.trainee}.json" for c in (card, other)]
    found = gradebook.grade([(n, file_of(card)) for n in names], small).files
    assert f"the file's name is that of {other.trainee}" in found[1].reason


def test_a_copied_card_is_named_on_both_rows(small: Key) -> None:
    one, other = small.cards[:2]
    files = [("a.json", file_of(one)), ("b.json", file_of(one, trainee=other.trainee))]
    grades = gradebook.grade(files, small)
    told = {f.file: f.reason for f in grades.files}
    assert told["a.json"] == "b.json answers this card under another id"
    assert told["b.json"] == f'answers to the card of "{one.trainee}": renamed or copied'
    alone = gradebook.grade(files[1:], small)
    assert "b.json" in alone.why(alone.results[0]) and "another id" in alone.why(alone.results[0])
    assert "copied" in alone.why(alone.results[1])


def test_numbers_copied_from_another_engine_are_named_on_both_rows(small: Key) -> None:
    one, other = small.cards[0], small.cards[2]  # both metric
    slips = right(small.cards[1])
    files = [(f"{c.trainee}.json", file_of(c, slips)) for c in (one, other)]
    told = {f.file: f.reason for f in gradebook.grade(files, small).files}
    assert f'word for word those of "{other.trainee}"' in told[f"{one.trainee}.json"]
    assert f'word for word those of "{one.trainee}"' in told[f"{other.trainee}.json"]
    apart = [(f"{c.trainee}.json", file_of(c)) for c in (one, other)]
    assert all(f.reason == "" for f in gradebook.grade(apart, small).files)
    # what is right on the one card is wrong on the other
    copied = [apart[0], (f"{other.trainee}.json", file_of(other, right(one)))]
    told = {f.file: f.reason for f in gradebook.grade(copied, small).files}
    assert f'word for word those of "{other.trainee}"' in told[f"{one.trainee}.json"]
    assert f'word for word those of "{one.trainee}"' in told[f"{other.trainee}.json"]


def test_the_same_file_under_another_name_is_named_on_both_rows(small: Key) -> None:
    ann, bob = (c.trainee for c in small.cards[:2])
    file = file_of(small.cards[0])
    name = "answers-02-{}.json"
    grades = gradebook.grade([(name.format(ann), file), (name.format(bob), file)], small)
    rows = list(csv.DictReader(io.StringIO(class_pages.table(grades))))
    assert f'the name of "{bob}"' in rows[0]["remarks"] and rows[0]["state"] == "graded"
    assert f'is that of "{ann}"' in rows[1]["state"]


def test_what_could_not_be_read_is_told_for_a_decision_by_hand(small: Key) -> None:
    card = small.cards[0]
    given = {**right(card), "02/preload": "37,05 kN", "02/torque": "about 80 N*m"}
    grades = gradebook.grade([("a.json", file_of(card, given))], small)
    assert grades.files[0].reason == "could not be read: preload, torque"
    assert "could not be read: preload, torque" in class_pages.table(grades)
    thousands = {**right(card), "02/preload": "37,051 kN"}
    assert "preload" in gradebook.grade([("a", file_of(card, thousands))], small).files[0].reason
    unitless = {**right(card), "02/preload": "37.1"}
    assert not gradebook.grade([("a.json", file_of(card, unitless))], small).files[0].reason


def test_feedback_that_no_longer_counts_is_removed(tmp_path: Path, small: Key) -> None:
    (tmp_path / "in").mkdir()
    for card in small.cards:
        (tmp_path / "in" / f"{card.trainee}.json").write_bytes(file_of(card))
    (tmp_path / "key.json").write_text(small.dumps(), encoding="utf-8")
    out = tmp_path / "out"
    line = ["grade", str(tmp_path / "in"), "--key", str(tmp_path / "key.json"), "--out", str(out)]
    assert cli.main(line) == 0
    assert len(list((out / "feedback").iterdir())) == 3
    (out / "feedback" / "mine.txt").write_text("of the instructor", encoding="utf-8")
    (tmp_path / "in" / "t-02.json").write_bytes(b"{")
    assert cli.main(line) == 0
    names = sorted(p.name for p in (out / "feedback").iterdir())
    assert names == ["mine.txt", "t-01.html", "t-03.html"]


def test_late_files_can_be_accepted(small: Key) -> None:
    late = file_of(small.cards[0], saved="2026-12-02T10:00:00+00:00")
    assert "it would have had 10 marks" in reason(late, small)
    grades = gradebook.grade([("a.json", late)], small, accept_late=True)
    assert grades.results[0].feedback and grades.files[0].reason == "late, accepted"


def test_a_file_named_after_somebody_else_counts_for_its_writer(small: Key) -> None:
    grades = gradebook.grade([("answers-02-t-02.json", file_of(small.cards[0]))], small)
    assert grades.results[0].feedback and not grades.results[1].feedback
    assert grades.files[0].counted and "name is that of t-02" in grades.files[0].reason
    for name in ("answers-02-t-01.json", "answers-02-t-01 (1).json", "anything.json"):
        assert gradebook.grade([(name, file_of(small.cards[0]))], small).files[0].reason == ""


def test_one_bad_file_changes_nobody_elses_marks(small: Key) -> None:
    good = [(f"{c.trainee}.json", file_of(c)) for c in small.cards]
    alone = gradebook.grade(good, small)
    bad = [("0.json", b"{"), ("t-01x.json", file_of(small.cards[0], trainee="t-02"))]
    both = gradebook.grade([*bad, *good], small)
    assert both.results == alone.results


HOSTILE = {
    "[" * 60_000: "nested too deeply",
    '{"a":' * 12_000: "nested too deeply",
    '{"format": "x", "format": "y"}': "twice",
    '{"version": ' + "9" * 5000 + "}": "a number in it is too long",
    '{"version": 1e999999999999999999999999}': "a number in it is too long",
    '{"version": NaN}': "NaN is no number",
    '{"version": -Infinity}': "Infinity is no number",
    "[]": "another kind of file",
    "null": "another kind of file",
    '"text"': "another kind of file",
    "5": "another kind of file",
    '"' + '\\"' * 30_000: "cut off or damaged",
    "{" + '"' * 50_000: "cut off or damaged",
    '{"format": "sealkit-answers"}': "another version",
    '{"format": "sealkit-answers", "version": 2}': "another version",
    '{"format": "sealkit-answers", "version": 1}': "missing or of the wrong kind",
    " " * 100: "empty",
    "x" * 64_001: "too large",
    "\ud800": "not text",
}


@pytest.mark.parametrize("text", list(HOSTILE), ids=lambda t: t[:24])
def test_hostile_json_is_listed_with_its_reason(text: str, small: Key) -> None:
    assert HOSTILE[text] in reason(text.encode("utf-8", "surrogatepass"), small)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"answers": []}, "answers are not text"),
        ({"answers": {"02/preload": 50}}, "answers are not text"),
        ({"answers": {"02/preload": ["50 kN"]}}, "answers are not text"),
        ({"answers": {"02/preload": {"a": {"b": "c"}}}}, "answers are not text"),
        ({"trainee": 5}, "wrong kind"),
        ({"trainee": None}, "wrong kind"),
        ({"trainee": "x" * 101}, "wrong kind"),
        ({"saved": "yesterday"}, "no time of saving"),
        ({"saved": "2026-11-30T12:00:00"}, "no time of saving"),
        ({"set": "07"}, "another set: 07"),
        ({"set": "<script>alert(1)</script>"}, "another set"),
        ({"card": "0" * 24}, "perhaps of another class key"),
        ({"card": "practice"}, "practice card"),
        ({"trainee": "t-99"}, "nobody on the roster"),
        ({"format": "sealkit-card"}, "the card, not the answers to it"),
    ],
)
def test_wrong_content_is_listed_with_its_reason(
    change: dict[str, Any], words: str, small: Key
) -> None:
    assert words in reason(file_of(small.cards[0], **change), small)


def test_every_single_changed_byte_is_noticed(small: Key) -> None:
    whole = file_of(small.cards[0])
    draw = random.Random("bytes")
    for _ in range(300):
        place = draw.randrange(len(whole))
        changed = bytearray(whole)
        changed[place] ^= 1 << draw.randrange(7)
        grades = gradebook.grade([("a.json", bytes(changed))], small)
        if grades.files[0].counted:  # only where nothing that is read has changed
            assert class_files.read_answers(bytes(changed)) == class_files.read_answers(whole)


def test_a_huge_file_is_not_read(tmp_path: Path, small: Key) -> None:
    with (tmp_path / "huge.json").open("wb") as file:
        file.truncate(3_000_000_000)
    (tmp_path / "dir.json").mkdir()
    os.symlink("/etc/passwd", tmp_path / "link.json")
    os.mkfifo(tmp_path / "pipe.json")
    (tmp_path / "sub").mkdir()
    (tmp_path / "sub" / "mine.json").write_bytes(file_of(small.cards[0]))
    grades = gradebook.grade(class_files.read_folder(tmp_path), small)
    told = {f.file: f.reason for f in grades.files}
    assert told == {
        "huge.json": "too large for an answers file",
        "link.json": "a link, not followed",
        "pipe.json": "no plain file",
        "sub/mine.json": "",
    }


def test_planted_code_never_runs(tmp_path: Path, small: Key, monkeypatch: Any) -> None:
    """Code in every text of roster, card and answers; none of it leaves a trace."""
    monkeypatch.chdir(tmp_path)
    trace = tmp_path / "ran"
    codes = [
        f"__import__('pathlib').Path({str(trace)!r}).touch()",
        f"open({str(trace)!r}, 'w')",
        f"$(touch {trace})",
        f"`touch {trace}`; touch {trace}",
        f"{{0.__class__.__init__.__globals__}}!!python/object/apply:os.system ['touch {trace}']",
        f"=cmd|'/c touch {trace}'!A1",
    ]
    for code in codes:
        people = (Trainee("t-01", code, "metric"), Trainee(code[:80], code, "metric"))
        key = class_files.make_key(CLASS_KEY, "02", people)
        key = class_files.load_key(key.dumps())
        for card in key.cards:
            files = [(code.replace("/", "_"), file_of(card, dict.fromkeys(right(card), code)))]
            files += [("a", file_of(card, **{k: code[:100]})) for k in ("set", "card", "saved")]
            grades = gradebook.grade(files, key)
            out = class_pages.grade_files(grades) | class_pages.card_files(key)
            class_files.write_files(tmp_path / "out", out)
            assert next(r for r in grades.results if r.feedback).total == 0
    assert not trace.exists()
    names = [p.relative_to(tmp_path).parts[0] for p in tmp_path.rglob("*")]
    assert set(names) == {"out"}


# --------------------------------------------------------------------------- names
@pytest.mark.parametrize(
    "text", ["=1+1", "+1", "-1", "@A1", "\t=1", "\r=1", " =1", "＝1+1", "\n@x", "\u00a0=1"]
)
def test_cells_no_spreadsheet_runs(text: str) -> None:
    cell = defused(text)
    assert cell.startswith("'") and cell.isprintable()


@pytest.mark.parametrize("text", [";=1+1", "a,=1", 'a;"=1"', "a; +1", "x|@y", ";;-1", "a,\t=1"])
@pytest.mark.parametrize("delimiter", [",", ";"])
@pytest.mark.parametrize("read_with", [",", ";", "|"])
def test_no_cell_is_a_formula_whatever_delimiter_it_is_read_with(
    text: str, delimiter: str, read_with: str
) -> None:
    table = class_pages.csv_text([["id", text, "z"]], delimiter)
    for row in csv.reader(io.StringIO(table), delimiter=read_with):
        for cell in row:
            assert cell.lstrip(' \t"')[:1] not in ("=", "+", "-", "@"), (table, row)


@pytest.mark.parametrize("text", ["Smith, Jr", "O'Neil", "5 kN", "Zoë", 'say "x"', "a=b"])
def test_cells_that_are_left_alone(text: str) -> None:
    assert defused(text) == text


NASTY = [
    *("../../etc/passwd", "con", "CON", "nul", "a/b", "a\\b", "..", ".hidden", "x" * 80, "-rf"),
    *(
        "<b>",
        '"',
        "'",
        "a b",
        "Zoë",
        "Zoe",
        "王",
        "王王",
        "=1+1",
        "t-01",
        "T-01 x",
        "\u202eabc",
        "~",
    ),
]


def test_file_names_are_safe_and_different() -> None:
    names = [file_name(t) for t in NASTY]
    assert len(set(names)) == len({class_files.same_id(t) for t in NASTY})
    for name in names:
        assert 0 < len(name) <= 60 and name == name.lower()
        assert all(c.isascii() and (c.isalnum() or c == "-") for c in name)
        assert name not in ("con", "nul")
    assert file_name("t-01") == "t-01"


def test_nasty_names_all_the_way(tmp_path: Path) -> None:
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(["id", "name"])
    kept = [n for n in NASTY if n != "CON"]
    for n in kept:
        writer.writerow([n, f"<img src=x onerror=alert(1)> {n}"])
    key = class_files.make_key(CLASS_KEY, "00", class_files.roster(text.getvalue()))
    assert len(key.cards) == len(kept)
    class_files.write_files(tmp_path, class_pages.card_files(key))
    files = [(c.name, file_of(c)) for c in key.cards]
    grades = gradebook.grade(files, key)
    out = class_pages.grade_files(grades)
    class_files.write_files(tmp_path, out)
    assert all(r.total == r.card.marks for r in grades.results)
    for page in (*out.values(), *class_pages.card_files(key).values()):
        if page.startswith("<!doctype"):
            assert "<img" not in page
    for row in csv.reader(io.StringIO(out["gradebook.csv"].removeprefix("\ufeff"))):
        assert all(cell[:1] not in ("=", "+", "-", "@", "\t", "\r") for cell in row)


def test_roster() -> None:
    found = class_files.roster('\ufeffID;Name;Units\n1;"Smith; Jr";inch\n\n 2 ;Zoë;\n3;;METRIC\n')
    assert found == (
        Trainee("1", "Smith; Jr", "inch"),
        Trainee("2", "Zoë", "metric"),
        Trainee("3", "3", "metric"),
    )
    with pytest.raises(InputError) as caught:
        class_files.roster("id,name,units\n1,a,\n 1 ,b,\n,c,\n4,d,furlongs\n")
    told = str(caught.value)
    assert all(f"line {i}" in told for i in (3, 4, 5)) and "furlongs" in told
    for text in ("", "name\nAnn\n", "id,name\n", "\x00"):
        with pytest.raises(InputError, match="roster") as caught:
            class_files.roster(text)
        assert ('such as "id,name", then "1,Ann"' in str(caught.value)) == (text != "id,name\n")


@pytest.mark.parametrize(
    "head",
    [
        "Student ID;First name;Last name;Unit",
        "student_id,Given Name,Surname,Units",
        "ID\tfirst\tfamily name\tsystem",
        "sep=;\nusername;Forename;Last Name;Units",
    ],
)
@pytest.mark.parametrize("code", ["utf-8-sig", "utf-16", "utf-16-be", "cp1252"])
def test_rosters_as_spreadsheets_write_them(head: str, code: str) -> None:
    comma = next(c for c in ";\t," if c in head)
    lines = [head, comma.join(("t-01", "Zoë", "Lynn", "in")), comma.join(("t-02", "Bo", "", "mm"))]
    content = "\r\n".join(lines).encode(code)
    if code == "utf-16-be":
        content = b"\xfe\xff" + content
    found = class_files.roster(class_files.decoded(content))
    assert found == (Trainee("t-01", "Zoë Lynn", "inch"), Trainee("t-02", "Bo", "metric"))
    with pytest.raises(InputError, match=f"line {2 + head.count(chr(10))}"):
        class_files.roster(f"{head}\n{comma}x{comma}{comma}\n")


def test_answers_in_utf_16_are_read(small: Key) -> None:
    content = file_of(small.cards[0]).decode().encode("utf-16")
    assert gradebook.grade([("a", content)], small).results[0].total == small.cards[0].marks


# --------------------------------------------------------------------------- key files
def test_key_file_and_back(small: Key) -> None:
    assert class_files.load_key(small.dumps()) == small
    assert class_files.load_key(small.dumps().encode()) == small


@pytest.mark.parametrize("text", ["", "{", "[]", '{"format": "sealkit-card-key", "version": 1}'])
def test_broken_key_files(text: str) -> None:
    with pytest.raises(InputError, match="key file"):
        class_files.load_key(text)


def test_key_file_with_a_bad_card(small: Key) -> None:
    data = json.loads(small.dumps())
    data["cards"][0]["numbers"]["bore"] = "86 kg"
    with pytest.raises(InputError, match="bore"):
        class_files.load_key(json.dumps(data))
    data["cards"][0] = 5
    with pytest.raises(InputError, match="key file"):
        class_files.load_key(json.dumps(data))


@pytest.mark.parametrize(
    "text", ["tomorrow", "2026-12-01", "2026-12-01T18:00", "0001-01-01T00:00Z"]
)
def test_times_need_their_offset(text: str) -> None:
    with pytest.raises(
        InputError, match=r"time with its distance from universal time, such as .*\+01:00"
    ):
        class_files.when(text)


def test_an_answers_file_holds_answers_only(small: Key) -> None:
    card = small.cards[0]
    made = class_files.answers_of(card, {**right(card), "other": "x"}, SAVED)
    data = json.loads(made.dumps())
    assert set(data) == {
        *("format", "version", "set", "trainee", "card", "saved", "answers", "check")
    }
    assert set(data["answers"]) == {i.question.key for i in card.items}
    assert class_files.read_answers(made.dumps()) == made
    assert isinstance(made, Answers) and made.saved == "2026-11-30T12:00:00+00:00"


# --------------------------------------------------------------------------- the command
def test_cards_and_grade_on_the_command_line(
    tmp_path: Path, monkeypatch: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("roster.csv").write_text("id,name\nt-01,Ann\nt-02,=1+1\n", encoding="utf-8")
    assert cli.main(["cards", "roster.csv", "--set", "02", "--due", DUE]) == 0
    assert "made a class key" in capsys.readouterr().out
    assert (Path("class-key.txt").stat().st_mode & 0o077) == 0
    first = {p: p.read_bytes() for p in Path("cards-02").rglob("*") if p.is_file()}
    assert len(first) == 5
    assert cli.main(["cards", "roster.csv", "--set", "02", "--due", DUE]) == 0
    assert {p: p.read_bytes() for p in Path("cards-02").rglob("*") if p.is_file()} == first

    card = cards.load(Path("cards-02/hand-out/card-02-t-01.json").read_bytes())
    Path("in").mkdir()
    Path("in/answers-02-t-01.json").write_bytes(file_of(card))
    Path("in/broken.json").write_text("{", encoding="utf-8")
    capsys.readouterr()
    assert cli.main(["grade", "in", "--key", "cards-02/key-02.json"]) == 0
    told = capsys.readouterr().out
    assert "1 of 2 trainees graded" in told and 'NOT COUNTED: "broken.json": cut off' in told
    table = Path("grades-02/gradebook.csv").read_text(encoding="utf-8-sig")
    assert "t-01,Ann,graded,10,10,100" in table and "'=1+1,no file" in table
    assert sorted(p.name for p in Path("in").iterdir()) == ["answers-02-t-01.json", "broken.json"]


def test_no_key_and_no_secret_is_overwritten(
    tmp_path: Path, monkeypatch: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    line = ["cards", "roster.csv", "--set", "02", "--term", "2026"]
    Path("roster.csv").write_text("id,name\nt-01,Ann\n", encoding="utf-8")
    assert cli.main([*line, "--due", DUE]) == 0
    assert all(
        (Path(p).stat().st_mode & 0o077) == 0
        for p in ("class-key.txt", "cards-02/key-02.json", "cards-02/key-02.html")
    )
    key, secret = Path("cards-02/key-02.json").read_bytes(), Path("class-key.txt").read_bytes()

    Path("class-key.txt").rename("away.txt")
    assert cli.main(line) == 2 and "drawn with" in capsys.readouterr().err
    assert not Path("class-key.txt").exists()
    Path("class-key.txt").write_text("0dd0" * 8, encoding="utf-8")
    assert cli.main(line) == 2 and '"t-01"' in capsys.readouterr().err
    Path("class-key.txt").write_bytes(secret)
    assert cli.main([*line[:-1], "2027"]) == 2  # another term has other cards
    assert cli.main(line[:-2]) == 0  # the same term as before, whatever the year is now
    assert Path("cards-02/key-02.json").read_bytes() == key
    Path("roster.csv").write_text("id,name\nt-02,Bob\nt-01,Ann\n", encoding="utf-8")
    assert cli.main(line) == 0  # one more joined: nobody's card is lost
    grown = class_files.load_key(Path("cards-02/key-02.json").read_bytes())
    assert [c.trainee for c in grown.cards] == ["t-02", "t-01"] and grown.due == DUE
    assert grown.cards[1] == class_files.load_key(key).cards[0]
    Path("roster.csv").write_text("id,name\nt-01,Ann\n", encoding="utf-8")
    capsys.readouterr()
    assert cli.main(line) == 2
    assert 'with a card of "t-02", who is not on this roster;' in capsys.readouterr().err


@pytest.mark.parametrize(
    ("line", "words"),
    [
        ("cards none.csv --set 02", "roster"),
        ("cards roster.csv --set 77", "set"),
        ("cards roster.csv --set 02 --due tomorrow", '  due: got "tomorrow"; wanted'),
        ("cards roster.csv --set 02 --key-file short.txt", "class key"),
        ("grade in --key none.json", "key file"),
        ("grade in --key roster.csv", "key file"),
        ("grade none --key key.json", "folder"),
        ("grade in --key key.json --out in", "outside"),
        ("grade in --key key.json --out in/out", "outside"),
    ],
)
def test_bad_commands(
    line: str, words: str, tmp_path: Path, monkeypatch: Any, capsys: Any, small: Key
) -> None:
    monkeypatch.chdir(tmp_path)
    Path("roster.csv").write_text("id,name\nt-01,Ann\n", encoding="utf-8")
    Path("short.txt").write_text("abc", encoding="utf-8")
    Path("key.json").write_text(small.dumps(), encoding="utf-8")
    Path("in").mkdir()
    before = sorted(tmp_path.rglob("*"))
    assert cli.main(line.split()) == 2
    assert words in capsys.readouterr().err
    assert [p for p in sorted(tmp_path.rglob("*")) if p not in before] == []


def killed(count: int, *argv: str, cwd: Path) -> None:
    """A command in a process that is killed with so many files in place, before the next is."""
    real, left = os.replace, iter(range(count))

    def replace(*given: Any) -> None:
        if next(left, None) is None:
            os.kill(os.getpid(), signal.SIGKILL)
        real(*given)

    def run() -> None:
        os.chdir(cwd)
        os.replace = replace  # type: ignore[assignment]
        cli.main(argv)

    process = multiprocessing.get_context("fork").Process(target=run)
    process.start()
    process.join()
    assert process.exitcode == -signal.SIGKILL


def test_a_killed_run_leaves_no_half_written_file(tmp_path: Path) -> None:
    people = [Trainee(f"t-{i:03}", f"Trainee {i}", "metric") for i in range(12)]
    key = class_files.make_key(CLASS_KEY, "02", people)
    folder = tmp_path / "in"
    folder.mkdir()
    for card in key.cards:
        (folder / f"{card.trainee}.json").write_bytes(file_of(card))
    (tmp_path / "key.json").write_text(key.dumps(), encoding="utf-8")
    wanted = class_pages.grade_files(gradebook.grade(class_files.read_folder(folder), key))
    out = tmp_path / "out"
    command = ["grade", str(folder), "--key", str(tmp_path / "key.json"), "--out", str(out)]
    for count in (1, 6):
        killed(count, *command, cwd=tmp_path)
        left = [p for p in out.rglob("*") if p.is_file() and not p.name.startswith(".")]
        assert len(left) >= count
        for path in left:
            assert path.read_bytes().decode() == wanted[path.relative_to(out).as_posix()]
    assert cli.main(command) == 0
    whole = {
        p.relative_to(out).as_posix(): p.read_bytes().decode()
        for p in out.rglob("*")
        if p.is_file() and not p.name.startswith(".")
    }
    assert whole == wanted
    assert {p.name for p in folder.iterdir()} == {f"{c.trainee}.json" for c in key.cards}


def test_choices_are_graded_by_their_words(small: Key) -> None:
    card = small.cards[0]
    q = next(i.question for i in card.items if i.question.kind == CHOICE)
    grades = gradebook.grade([("a", file_of(card, {q.key: str(q.value).upper()}))], small)
    assert grades.results[0].total == q.marks


# --------------------------------------------------------------------------- another class's key
def test_answers_of_another_class_key_accuse_nobody(small: Key) -> None:
    people = [class_files.Trainee(c.trainee, c.name, c.system) for c in small.cards]
    other = class_files.make_key("0dd0" * 8, small.set, people)
    files = [(f"{i}.json", file_of(c)) for i, c in enumerate(small.cards)]
    grades = gradebook.grade(files, other)
    assert grades.done == () and not any(f.counted for f in grades.files)
    assert all(f.why == gradebook.OTHER_KEY for f in grades.files)
    assert "copied" not in class_pages.table(grades) + class_pages.class_page(grades)
    assert "another class's" in grades.nobody and f"{len(files)} of {len(files)}" in grades.nobody


def test_a_copied_card_says_whose_it_is(small: Key) -> None:
    one, other = small.cards[:2]
    grades = gradebook.grade([("a.json", file_of(one, trainee=other.trainee))], small)
    assert grades.files[0].reason == f'answers to the card of "{one.trainee}": renamed or copied'


def test_why_nobody_could_be_graded(small: Key) -> None:
    assert gradebook.grade([], small).nobody == "there is no file in the folder"
    broken = gradebook.grade([("a.json", b""), ("b.json", b"\xff\xfa"), ("c.json", b"")], small)
    assert broken.nobody == "2 of 3 files: empty"
    assert gradebook.grade([("a.json", file_of(small.cards[0]))], small).nobody == ""


def test_the_key_of_another_set_is_said_first(
    tmp_path: Path, small: Key, capsys: pytest.CaptureFixture[str]
) -> None:
    other = class_files.make_key(CLASS_KEY, "00", [Trainee("t-01", "Ann", "metric")] * 2)
    (tmp_path / "in").mkdir()
    files = [file_of(c) for c in (*other.cards, small.cards[0])]
    for i, content in enumerate(files):
        (tmp_path / "in" / f"{i}.json").write_bytes(content)
    (tmp_path / "key.json").write_text(small.dumps(), encoding="utf-8")
    command = ["grade", str(tmp_path / "in"), "--key", str(tmp_path / "key.json")]
    assert cli.main([*command, "--out", str(tmp_path / "out")]) == 0
    told = capsys.readouterr()
    assert told.err.startswith("sealkit: 2 of 3 files answer set 00, and this is the key of set 02")
    # and those who handed in nothing are named
    assert told.out.endswith('  no file: "t-02", "t-03"\n')
    assert not gradebook.grade([("a", files[0]), ("b", files[2])], small).another_key


def test_feedback_stands_apart_from_its_verdict(small: Key) -> None:
    card = small.cards[0]
    q = card.items[0].question
    given = {q.key: "3 mm**2*N"}
    made = gradebook.grade([("a.json", file_of(card, given))], small)
    page = class_pages.feedback_page(next(r for r in made.results if r.feedback))
    assert "✗ not yet:</b> " in page and "not yet</b><br>" not in page
    assert "3 mm²·N" in page and "**" not in page
