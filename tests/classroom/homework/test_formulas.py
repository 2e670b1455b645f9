"""Formulas of the cards: what they may say, what they give, what is refused."""

from __future__ import annotations

import math
from types import SimpleNamespace

import pytest

from sealkit.classroom.homework.formulas import evaluate, names_of
from sealkit.classroom.homework.questions import by_formulas
from sealkit.errors import AS_IT_CAME, InputError

ENGINE = SimpleNamespace(
    thread="M10x1.5", cylinders=4, around=4, on_head=10, system="metric", bore=0.09, preload=5e4
)


@pytest.mark.parametrize(
    ("formula", "value"),
    [
        ("1 + 2 * 3 - 8 / 4", 5.0),
        ("-2**2", -4.0),
        ("abs(1 - 3) > 1", True),
        ("2 < 1", False),
        ("circle(bore)", math.pi * 0.0081 / 4.0),
        ("circumference(2) / pi", 2.0),
        ("preload * mean_share", 5e4 * 2.5),
        ("stiffness.series([1, 1])", 0.5),
        ("bolt.diameter", 0.01),
        ("ideal.polytropic_state(1e5, 300, 10, 1)[0]", 1e6),
        ("clearances.clearance(0.001, 0.0002, 0.0003).running", 0.0009),
        ("mean(array([1, 3]))", 2.0),
    ],
)
def test_what_a_formula_gives(formula: str, value: float) -> None:
    assert evaluate(formula, names_of(ENGINE)) == pytest.approx(value)


@pytest.mark.parametrize(
    "formula",
    [
        "",
        "1 +",
        "stroke",
        "preload.__class__",
        "bolt._private",
        "open('x')",
        "stiffness.nothing(1)",
        "stiffness.np(1)",
        "os.system('x')",
        "circle(diameter=1)",
        "circle()",
        "(lambda: 1)()",
        "[x for x in (1, 2)]",
        "preload if 1 else 2",
        "1 < 2 < 3",
        "[1, 2][5]",
        "b'x'",
        "bolt.diameter()",
    ],
)
def test_what_is_no_formula_is_told_as_damaged_data(formula: str) -> None:
    with pytest.raises(InputError, match=AS_IT_CAME):
        evaluate(formula, names_of(ENGINE))


def test_a_question_is_solved_in_turn() -> None:
    entry = {
        "key": "clamp",
        "let": {"one": "preload / 2", "two": "2 * one"},
        "answer": "two + 1",
        "wrong": {"upside down": "1 / answer"},
    }
    found = by_formulas(entry, names_of(ENGINE))
    assert (found.value, found.wrong) == (50_001.0, {"upside down": 1 / 50_001.0})
    with pytest.raises(InputError, match="an engine that can be asked about"):
        by_formulas({**entry, "refuse": "answer > 3"}, names_of(ENGINE))


def test_shops_slip_by_their_own_units() -> None:
    inch = names_of(SimpleNamespace(**{**vars(ENGINE), "system": "inch"}))
    metric = names_of(ENGINE)
    assert metric["torque_slip"] == pytest.approx(1.355818) and inch["torque_slip"] == 1 / 12
    assert metric["zero"] == 273.15 and inch["zero"] == pytest.approx(255.372, abs=1e-3)
