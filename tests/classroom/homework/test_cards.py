"""Job cards: the draw, the questions, what the files hold; a few cards of each set in full.

All 500 cards of each set are gone through by ``python -m tests.benchmarks.check_cards``.
"""

from __future__ import annotations

import hashlib
import json
import math
import os
import re
import subprocess
import sys
import tomllib
import xml.etree.ElementTree as ET
from dataclasses import replace
from typing import Any

import numpy as np
import pytest

from sealkit import resources
from sealkit.classroom.drawing.card_chart import Chart
from sealkit.classroom.homework import answers, card_page, cards, engines
from sealkit.classroom.homework.answers import CHOICE, check, written
from sealkit.drawing.ink import Curve
from sealkit.errors import InputError
from sealkit.units import KINDS, SYSTEMS
from tests import pages
from tests.card_checks import CLASS_KEY, contradictions, drawn, faults
from tests.mistakes import numbers

SETS = tuple(cards.set_titles())


# --------------------------------------------------------------------------- the sets
def test_one_set_for_each_lesson() -> None:
    assert [f"{i:02}" for i in range(13)] == list(SETS)


def test_the_guide_tells_how_much_each_set_asks() -> None:
    rows = re.findall(r"(?m)^\| (\d\d) \| (\d+) \| (\d+) \|", pages.text("instructors-guide"))
    every = [cards.practice(name, "x") for name in SETS]
    assert rows == [(c.set, str(len(c.items)), str(c.marks)) for c in every]


@pytest.mark.parametrize("name", SETS)
def test_what_a_set_holds(name: str) -> None:
    card = cards.draw(CLASS_KEY, name, "t-01")
    kinds = [item.question.kind for item in card.items]
    assert 6 <= len(card.items) <= 10
    assert kinds.count(CHOICE) >= 1 and sum(i.chart is not None for i in card.items) == 1
    assert sum(bool(answers.KINDS[k].si) for k in kinds if k != CHOICE) >= 3
    keys = [i.question.key for i in card.items]
    assert len(set(keys)) == len(keys) and all(k.startswith(f"{name}/") for k in keys)
    for item in card.items:
        assert "{" not in item.question.text and item.question.text.rstrip(".").count("?") >= 1


def test_every_pitfall_is_worded_and_every_wording_used() -> None:
    text = resources.data_file("cards", "pitfalls.toml").read_text(encoding="utf-8")
    worded = set(tomllib.loads(text))
    used = set()
    for name in SETS:
        for card in drawn(name, 5):
            for item in card.items:
                if item.question.kind != CHOICE:
                    used |= {p.name for p in item.question.pitfalls}
    assert used <= worded
    assert worded - used <= {"clamp for what is left"}


def test_every_question_has_formulas() -> None:
    entries = {
        f"{name}/{q['key']}": q
        for name in SETS
        for q in tomllib.loads(resources.data_file("cards", f"{name}.toml").read_text("utf-8"))[
            "question"
        ]
        if q["kind"] != CHOICE
    }
    for q in entries.values():
        assert "chart" in q or ("answer" in q) == bool(q.get("wrong"))
        assert len({"answer", "like", "chart"} & set(q)) == 1
        assert "like" not in q or {"answer", "chart"} & set(entries[q["like"]])


@pytest.mark.parametrize("name", SETS)
def test_right_answers_and_pitfalls_are_told_apart(name: str) -> None:
    for card in drawn(name, 4):
        assert faults(card) == []


@pytest.mark.parametrize("name", SETS)
def test_feedback_never_holds_the_number(name: str) -> None:
    for card in drawn(name, 4):
        for item in card.items:
            q = item.question
            if q.kind == CHOICE:
                continue
            figures = "|".join(re.escape(f(q).split()[0]) for f in (written, answers.printed))
            for says in (q.hint, *(p.says for p in q.pitfalls)):
                assert not re.search(rf"(?<![\d.])(?:{figures})(?![\d.])", says), (q.key, says)


# --------------------------------------------------------------------------- the draw
def test_the_draw_is_the_same_in_another_process_and_hash_seed() -> None:
    code = (
        "from sealkit.classroom.homework import cards; import sys;"
        "sys.stdout.write(''.join(cards.draw('5eed' * 8, s, 'Zoë').dumps()"
        " for s in ('01', '07')))"
    )
    runs = [
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            check=True,
            env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONIOENCODING": "utf-8"},
        ).stdout
        for seed in ("1", "2")
    ]
    here = "".join(cards.draw(CLASS_KEY, s, "Zoë").dumps() for s in ("01", "07"))
    assert runs[0] == runs[1] == here.encode()


def test_the_draw_follows_from_the_hash_alone() -> None:
    # SHA-256 of "seed", a line break and "bore", as any tool prints it, modulo the number of steps
    whole = hashlib.sha256(b"seed\nbore").hexdigest()
    assert engines._index("seed", "bore", 21) == int(whole, 16) % 21
    assert engines._index("seed", "bore", 10**9) != engines._index("seed", "stroke", 10**9)


def test_everybody_has_an_engine_of_their_own() -> None:
    engines = {tuple(sorted(c.numbers.items())) for c in drawn("02", 30)}
    assert len(engines) == 30


def test_class_key_set_trainee_and_round_all_change_the_card() -> None:
    card = cards.draw(CLASS_KEY, "02", "t-01")
    assert cards.draw(CLASS_KEY, "02", " T-01 ").numbers == card.numbers
    for other in (
        cards.draw("0dd0" * 8, "02", "t-01"),
        cards.draw(CLASS_KEY, "02", "t-02"),
        cards.draw(CLASS_KEY, "02", "t-01", term="2027"),
    ):
        assert other.numbers != card.numbers and other.tag != card.tag


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"class_key": "short"}, "class key"),
        ({"class_key": "a long sentence that people think up"}, "class key"),
        ({"class_key": "5eed" * 7}, "class key"),
        ({"class_key": "practice card"}, "class key"),
        ({"name": "13"}, "set"),
        ({"trainee": " "}, "trainee"),
        ({"trainee": "x" * 81}, "trainee"),
        ({"system": "imperial"}, "system"),
    ],
)
def test_what_cannot_be_drawn(change: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        cards.draw(**{"class_key": CLASS_KEY, "name": "02", "trainee": "t"} | change)


@pytest.mark.parametrize("name", ["00", "05", "11"])
def test_engines_are_sane(name: str) -> None:
    for card in drawn(name, 10):
        n = engines.plain(card.numbers, card.system)
        assert 0.075 < n.bore < 0.095 and 0.07 < n.stroke < 0.095
        assert 22e3 < n.preload < 90e3


def sane_numbers(system: str) -> dict[str, str]:
    """All numbers of an engine that could be drawn, those that no card prints among them."""
    for seed in range(100):
        numbers = engines.drawn(str(seed), system)
        try:
            engines.sane(engines.plain(numbers, system))
        except InputError:
            continue
        return numbers
    raise AssertionError("none in a hundred")


@pytest.mark.parametrize("name", SETS)
def test_the_numbers_of_a_card_are_those_of_one_engine(name: str) -> None:
    for card in drawn(name, 4):
        assert contradictions(card) == []


@pytest.mark.parametrize(
    ("number", "text", "words"),
    [
        ("speed", "9000 rpm", "piston speed"),
        ("stroke", "60 mm", "stroke"),
        ("peak", "20 bar", "gas"),
    ],
)
def test_an_absurd_engine_is_refused(number: str, text: str, words: str) -> None:
    numbers = sane_numbers("metric")
    with pytest.raises(InputError, match=words):
        engines.sane(engines.plain({**numbers, number: text}, "metric"))
    # handed out by an edition that thought otherwise, it is graded all the same
    card = cards.draw(CLASS_KEY, "00", "t-01")
    handed_out = replace(card, numbers={**card.numbers, number: text})
    assert len(handed_out.items) == len(card.items)


def test_a_pitfall_that_cannot_be_told_apart_is_left_out_of_a_card_handed_out() -> None:
    card = cards.draw(CLASS_KEY, "01", "t-01")
    numbers = {**card.numbers, "stroke": card.numbers["bore"]}  # square: swapped is the same
    with pytest.raises(InputError, match="bore and stroke swapped"):
        cards._items("01", "metric", numbers)
    swept = replace(card, numbers=numbers).items[0].question
    names = [p.name for p in swept.pitfalls]
    assert "radius for diameter" in names and "bore and stroke swapped" not in names


# --------------------------------------------------------------------------- files
@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_card_file_and_back(name: str, system: str) -> None:
    card = cards.draw(CLASS_KEY, name, "t-01", "Zoë Smith", system)
    again = cards.load(card.dumps())
    assert again == card and not again.practice
    assert [i.question for i in again.items] == [i.question for i in card.items]


@pytest.mark.parametrize("name", SETS)
def test_the_card_file_holds_no_answer(name: str) -> None:
    """A number in the file may be near an answer by chance, never as a rule."""
    met: dict[tuple[str, str], int] = {}
    every = drawn(name, 12)
    for card in every:
        data = json.loads(card.dumps())
        assert set(data) == {
            *("format", "version", "note", "set", "trainee", "name", "system", "tag", "numbers")
        }
        n = engines.plain(card.numbers, card.system)
        for item in card.items:
            q = item.question
            for number in card.numbers if q.kind != CHOICE else ():
                spec = engines.spec(number)
                if spec and "kind" in spec and KINDS[spec["kind"]].si == KINDS[q.kind].si:
                    value = float(getattr(n, number))
                    near = abs(value - float(q.value)) <= abs(float(q.value)) * 10 ** (1 - q.digits)
                    met[q.key, number] = met.get((q.key, number), 0) + near
    assert all(count <= 0.6 * len(every) for count in met.values()), met


def test_no_number_on_a_card_comes_from_what_is_hidden() -> None:
    hidden = set(engines._engine()["hidden"])
    for name in SETS:
        assert not hidden & set(cards.draw(CLASS_KEY, name, "t-01").numbers)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"format": "other"}, "another kind"),
        ({"version": 2}, "version"),
        ({"numbers": []}, "parts missing"),
        ({"name": 5}, "parts missing"),
        ({"system": "si"}, "system"),
        ({"set": "99"}, "set"),
        ({"numbers": {"bore": "86 kg"}}, "bore"),
        ({"numbers": {"bore": "__import__('os')"}}, "bore"),
        ({"numbers": {"thread": "M99"}}, "thread"),
        ({"numbers": {}}, "numbers"),
        ({"numbers": {"layout": "a/b"}}, "layout"),
    ],
)
def test_a_card_file_that_is_none(change: dict[str, object], words: str) -> None:
    data = json.loads(cards.draw(CLASS_KEY, "02", "t-01").dumps())
    with pytest.raises(InputError, match=words):
        cards.load(json.dumps({**data, **change}))


@pytest.mark.parametrize(
    "text", ["", "{", "[]", "null", "[" * 10_000, "1" * 5_000, '{"a": 1}' * 9999]
)
def test_broken_card_files(text: str) -> None:
    with pytest.raises(InputError, match="card file"):
        cards.load(text)


def test_a_practice_card_can_be_drawn_by_anybody() -> None:
    card = cards.practice("03", "Ann")
    assert card.practice and card == cards.practice("03", "ann ".title().strip())
    with pytest.raises(InputError, match="practice"):
        cards.load(card.dumps())


def test_a_homework_card_cannot_be_turned_into_a_practice_card() -> None:
    card = cards.draw(CLASS_KEY, "03", "Ann")
    for said in ("practice metric", "practice", "practice inch"):
        with pytest.raises(InputError, match="practice"):
            cards.load(json.dumps({**json.loads(card.dumps()), "tag": said}))


# --------------------------------------------------------------------------- pages and charts
@pytest.mark.parametrize("system", SYSTEMS)
def test_the_hint_for_the_stress_area_leads_to_it_in_both_systems(system: str) -> None:
    """The root of an inch thread is not that of a metric one."""
    card = cards.draw(CLASS_KEY, "02", "t-001", system=system)
    q = next(i.question for i in card.items if i.question.key == "02/stress-area")
    metric, inch = (float(drop) for drop in re.findall(r"1\.2\d\d\d", q.hint))
    n = numbers(card)
    root = n.d - n.p * (metric if system == "metric" else inch)
    assert check(q, f"{math.pi / 4e-6 * ((n.d2 + root) / 2) ** 2} mm**2").right
    other = n.d - n.p * (inch if system == "metric" else metric)
    assert not check(q, f"{math.pi / 4e-6 * ((n.d2 + other) / 2) ** 2} mm**2").right


def test_pages_to_print() -> None:
    every = [
        cards.draw(CLASS_KEY, "02", f"t-{i}", name, system)
        for i, (name, system) in enumerate(
            (("<script>alert(1)</script>", "metric"), ("Ann & Bob", "inch"))
        )
    ]
    page, key = card_page.cards_page(every), card_page.key_page(every)
    assert page.count("<section>") == 2 and "break-after:page" in page
    assert "<script" not in page + key and "&lt;script&gt;" in page and "Ann &amp; Bob" in key
    for card in every:
        for item in card.items:
            assert answers.printed(item.question) in key.replace("&quot;", '"')
    assert "For the instructor only" in key and page == card_page.cards_page(every)


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("system", ["metric", "inch"])
def test_a_chart_can_be_read(name: str, system: str) -> None:
    """The answer can be read back from the drawn line and the printed ticks."""
    card = cards.draw(CLASS_KEY, name, "t-07", system=system)
    item = next(i for i in card.items if i.chart is not None)
    assert item.chart is not None
    root = ET.fromstring(item.chart.svg(system)).find("svg")
    assert root is not None
    assert root.get("role") == "img" and "Chart to read" in str(root.get("aria-label"))
    texts = [(t.get("text-anchor"), t.text or "", t) for t in root.iter("text")]
    rows = [
        (float(t.get("y", "0")) - 5.0, float(text.replace(",", "")))
        for anchor, text, t in texts
        if anchor == "end"
    ]
    assert len(rows) >= 4
    slope, zero = np.polyfit([y for y, _ in rows], [v for _, v in rows], 1)
    lines = [
        np.array([[float(c) for c in p.split(",")] for p in str(line.get("points")).split()])
        for line in root.iter("polyline")
    ]
    q = item.question
    figure, unit = written(q).split()[0], written(q).partition(" ")[2]
    right = float(figure)
    along = np.linspace(0.0, 1.0, 400)
    drawn_values = [
        slope * np.interp(along, np.linspace(0.0, 1.0, len(line)), line[:, 1]) + zero
        for line in lines
    ]
    near = [v for values in drawn_values for v in values if abs(v - right) <= 0.06 * right]
    assert near, (q.key, right, unit)
    words = [t for _, t, _ in texts]
    assert any(answers.show_unit(item.chart.x[1], system) in w for w in words)
    assert all(c.label in words for c in item.chart.curves)


@pytest.mark.parametrize("name", SETS)
def test_a_chart_gives_no_other_question_away(name: str) -> None:
    """Neither does its legend print another answer, nor is one read where its own is."""
    for card in drawn(name, 4):
        read = next(i for i in card.items if i.chart is not None)
        assert read.chart is not None
        legend = " ".join(c.label for c in read.chart.curves)
        for q in (i.question for i in card.items if i is not read):
            assert written(q) not in legend, q.key
            if q.kind == read.question.kind:
                values = (read.question.value, *(p.value for p in read.question.pitfalls))
                assert all(float(v) != pytest.approx(float(q.value), rel=1e-3) for v in values)


def test_the_legend_of_the_wrench_does_not_tell_what_oil_does_to_dry_threads() -> None:
    for card in drawn("02", 1):
        chart = next(i.chart for i in card.items if i.chart is not None)
        legend = " ".join(c.label for c in chart.curves)
        assert not re.search(r"dry|oil|\d", legend)


def test_ticks_are_round_and_the_same_chart_is_the_same_bytes() -> None:
    x = np.linspace(0.0, 0.0123, 30)
    chart = Chart("t", ("x", "length"), ("y", "force"), (Curve(x, 4e6 * x, "a", None),))
    assert chart.svg() == chart.svg() and chart.svg() != chart.svg("inch")
    assert ">10<" in chart.svg() and ">50<" in chart.svg()


def test_pages_print_units_and_thousands_as_the_report_does() -> None:
    plain = re.compile(r"\*|\b[a-zA-Z]+\d?(?:\*\*)|(?<![\d.,])\d{4,}(?![\d.]*e)")
    for name in SETS:
        for system in ("metric", "inch"):
            every = [cards.draw(CLASS_KEY, name, f"t-{i}", system=system) for i in range(3)]
            text = card_page.cards_page(every) + card_page.key_page(every)
            text = re.sub(r"(?s)<style>.*?</style>|<svg.*?</svg>|<[^>]*>", " ", text)
            text = text.replace("one cycle in 1000", "")  # as the report has it
            assert not plain.findall(text), (name, system, plain.findall(text))


def test_a_printed_answer_is_the_written_one() -> None:
    for name in SETS:
        for item in cards.draw(CLASS_KEY, name, "t-01", system="inch").items:
            q = item.question
            shown = answers.printed(q)
            if q.kind == CHOICE:
                assert shown == written(q)
                continue
            bare = re.sub(r"(?<=\d),(?=\d{3})", "", shown).replace("e-6/", "e-6 / ")
            assert answers.check(q, bare).right, (q.key, shown)
