"""Answers: what is read, what is refused and with which words, and any text at all."""

from __future__ import annotations

import math
import random
import re
import sys
import tracemalloc
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from sealkit.classroom.drawing.shown import Shown, folded
from sealkit.classroom.homework.answers import (
    LAYERS,
    Feedback,
    Question,
    check,
    read,
    written,
)
from sealkit.classroom.homework.pitfalls import Pitfall
from sealkit.classroom.homework.questions import exercise
from sealkit.errors import InputError, short
from sealkit.units import KINDS, SYSTEMS, label, to_si, ureg

PSI = 6894.757293168361
FORCE = Question(
    "01-1",
    "How hard does the gas push?",
    "force",
    65_900.0,
    unit="kN",
    pitfalls=(
        Pitfall("radius for diameter", 4 * 65_900.0, "The bore went in as a radius."),
        Pitfall("gauge for absolute", 65_300.0 * 0.95, "The air outside was left out."),
    ),
    hint="Pressure times the area of the bore.",
)


def ask(kind: str, value: float, **more: Any) -> Question:
    return Question("00-1", "?", kind, value, **more)


# --------------------------------------------------------------------------- numbers
@pytest.mark.parametrize(
    "text",
    [
        *("65.9 kN", "65.9kN", "  65.9 kN ", "65.90 kN", "065.9 kN", "= 65.9 kN", "≈65.9 kN"),
        *(
            "65,900 N",
            "F = 65.9 kN",
            "F=65.9 kN",
            "F_gas = 65,900 N",
            "gas load: 65.9 kN",
            "65900 N",
            "65 900 N",
            "65'900 N",
            "65\u202f900 N",
            "65\u00a0900 N",
        ),
        *("6.59e4 N", "6.59E+4 N", "6.59×10^4 N", "6.59 x 10^4 N", "6.59·10⁴ N"),
        *("6.59*10**4 N", "659e-1 kN", "+65.9 kN", "65,900.0 N", "65.900,0 N", "0.0659 MN"),
        *("14815 lbf", "14,815.0 lbf", "14 815 lbf", "65.9 KN", "65.9 kN.", "65.3 kN", "66.5 kN"),
        *("65,900,000 mN", "65.900.000 mN", "14,815 lbf", "14,815 lb", "14,815 lbs", "14815 LBS"),
        *("14815 pounds", "14815 pounds force", "14,815.0 lb."),
    ],
)
def test_ways_to_write_the_right_answer(text: str) -> None:
    assert check(FORCE, text) == Feedback("right", "Right.")


@pytest.mark.parametrize(
    ("text", "inches"),
    [
        *(("1 3/8 in", 1.375), ("1-3/8 in", 1.375), ('1 3/8"', 1.375), ("1 3/8''", 1.375)),
        *(("1⅜ in", 1.375), ("⅜ in", 0.375), ("3/8 inch", 0.375), ("11/8 in", 1.375)),
        *(
            ("1 3 / 8 in", 1.375),
            ("-1 3/8 in", -1.375),
            ("1 3/8″", 1.375),
            ("12 1/64 in", 12.015625),
        ),
        *(("1.375 in", 1.375), ("1375 thou", 1.375), (".375 in", 0.375), ("1. in", 1.0)),
    ],
)
def test_fractions_of_an_inch(text: str, inches: float) -> None:
    assert read(ask("length", 1.0), text) == pytest.approx(inches * 0.0254, rel=1e-12)


@pytest.mark.parametrize("text", ["65,9 kN", "65,90 kN", "0,0659 MN", "6,59e4 N", "0,065900 MN"])
def test_a_comma_before_decimals_is_asked_about(text: str) -> None:
    said = check(FORCE, text)
    digits = text.split()[0].partition("e")[0]
    assert said.layer == "type" and digits in said.says and digits.replace(",", ".") in said.says


@pytest.mark.parametrize("figures", ["3,778", "30,785", "3,612", "9,999"])
def test_a_comma_before_three_decimals_is_asked_about_where_thousands_are_far_too_many(
    figures: str,
) -> None:
    question = ask("length", 3.778e-3, unit="mm")
    said = check(question, f"{figures} mm")
    assert (said.layer, said.unitless) == ("type", False)
    assert f'"{figures} mm"' in said.says and figures.replace(",", ".") in said.says


@pytest.mark.parametrize("text", ["2.86 times", "2.86x", "2.86 ×", "2.86:1", "2.86 : 1", "2.86"])
def test_a_ratio_as_the_shop_says_it(text: str) -> None:
    assert check(ask("number", 2.86), text).right
    assert not check(ask("length", 2.86), text).right


@pytest.mark.parametrize("text", ["12", "13.5", "9.1", "88"])
def test_a_percentage_too_far_off_is_asked_for_its_sign_too(text: str) -> None:
    said = check(ask("fraction", 0.1288), text)
    assert said.layer == "size" and "A percentage needs its sign" in said.says
    assert "sign" not in check(ask("fraction", 0.1288), f"{text} %").says


@pytest.mark.parametrize(
    ("text", "layer"),
    [("3,778 um", "right"), ("3,778.0 um", "right"), ("377,800 mm", "size"), ("4,000 um", "value")],
)
def test_a_comma_between_thousands_is_not_asked_about(text: str, layer: str) -> None:
    assert check(ask("length", 3.778e-3, unit="mm"), text).layer == layer


@pytest.mark.parametrize(
    ("text", "words"),
    [
        *(("65.9", "unit is missing"), ("1 3/8", "unit is missing"), ("kN", "no number")),
        *(("60-70 kN", "one number"), ("60 to 70 kN", "one number"), ("66 ± 1 kN", "one number")),
        *(
            ("66 kN ± 1", "one number"),
            ("66 +/- 1 kN", "one number"),
            ("60 + 5.9 kN", "one number"),
        ),
        *(("60 70 kN", "one number"), ("65.9.0 kN", "groups of three"), ("1,2,3 kN", "groups of")),
        *(("12,34.5 kN", "groups of three"), ("0,123,456 kN", "groups of three")),
        *(("1 3/0 in", "divided by zero"), ("1 9/8 in", "mixed number"), ("1e999 N", "too large")),
        *(
            ("nan kN", "NaN"),
            ("-inf kN", "infinity"),
            ("Infinity", "infinity"),
            ("∞ kN", "infinity"),
        ),
        *(("65.9 kilonewtonnes", "not known"), ("65.9 k N*", "not known"), ("0x10 N", "not known")),
        *(("9**9**9**9", "not known"), ("__import__('os')", "no number"), ("=1+1", "one number")),
        *(
            ("65.9\u200fkN", "hidden marks"),
            ("\u202e65.9 kN", "hidden marks"),
            ("65\x009 N", "hidden"),
        ),
        *(("٦٥ kN", "hidden marks"), ("６５ kN", "no number"), ("65.9 kN" + "x" * 200, "longer")),
        *(
            ("1 3/8-16 in", "one number"),
            ("3/80000 in", "one number"),
            ("5 1/4 1/2 in", "one number"),
            ("1½0 in", "one number"),
        ),
    ],
)
def test_what_is_no_number_with_a_unit(text: str, words: str) -> None:
    said = check(FORCE, text)
    assert said.layer == "type" and not said.right and words in said.says, said


@pytest.mark.parametrize("text", ["", "   ", "\n\t", "\u00a0", None])
def test_no_answer_yet(text: Any) -> None:
    assert check(FORCE, text).layer == "empty"


@pytest.mark.parametrize("text", [65.9, True, b"65.9 kN", ["65.9 kN"], {"a": 1}])
def test_what_is_no_text(text: Any) -> None:
    assert check(FORCE, text).layer == "type"


# --------------------------------------------------------------------------- kinds
@pytest.mark.parametrize(
    ("kind", "value", "text", "words"),
    [
        ("torque", 90.0, "90 J", "energy came, not a torque"),
        ("energy", 90.0, "90 N*m", "torque came, not an energy"),
        ("energy", 90.0, "66.4 ft-lb", "torque came, not an energy"),
        ("pressure", 2.2e5, "2.2 barg", "gauge pressure came, not an absolute"),
        ("pressure", 2.2e5, "32 psi gauge", "gauge pressure came, not an absolute"),
        ("stress", 2.2e5, "2.2 barg", "gauge pressure came, not an absolute"),
        ("gauge pressure", 2.2e5, "2.2 bara", "absolute pressure came, not a gauge"),
        ("gauge pressure", 2.2e5, "32 psia", "absolute pressure came, not a gauge"),
        ("temperature", 353.15, "80 delta_degC", "temperature difference came"),
        ("crank speed", 100.0, "100 Hz", "frequency came"),
        ("frequency", 100.0, "6000 rpm", "crank speed came"),
        ("force", 65_900.0, "65.9 bar", "another kind"),
        ("mass", 444.8, "100 lbf", "another kind"),
        ("number", 3.0, "3 mm", "unit came where none belongs"),
        ("number", 3.162, "5 dB", "decibels"),
        ("angle", 0.05, "5 %", "no angle"),
        ("power", 1.0, "30 dBm", "decibels"),
        ("power", 1.0, "1 Np/s", "nepers"),
        ("force", 65_900.0, "6590 kN%", "percentage of"),
    ],
)
def test_another_kind_is_never_accepted(kind: str, value: float, text: str, words: str) -> None:
    said = check(ask(kind, value), text)
    assert (said.layer, said.right) == ("dimension", False) and words in said.says, said


@pytest.mark.parametrize(
    ("kind", "value", "texts"),
    [
        ("gauge pressure", 1.2e5, ("1.2 bar", "1.2 barg", "17.4 psi", "17.4 psi gauge")),
        ("pressure", 2.2e5, ("2.2 bar", "2.2 bara", "31.9 psi", "220 kPa", "31.9 psia")),
        ("temperature difference", 80.0, ("80 K", "80 °C", "144 °F", "144 delta_degF")),
        ("temperature", 353.15, ("80 °C", "176 °F", "353.15 K", "80 C")),
        ("fraction", 0.153, ("15.3 %", "0.153", "15.3%", "15.3 pct", "15.3 per cent", "15.3 Pct.")),
        ("number", 9.5, ("9.5", "9 1/2", "19/2")),
        ("expansion", 11.7e-6, ("11.7e-6 1/K", "11.7e-6 / K", "6.5e-6/degF", "11.7×10⁻⁶/K")),
        ("angle", math.radians(90), ("90 deg", "90°", "1.5708 rad", "0.25 turn")),
        ("torque", 90.0, ("90 N*m", "90 Nm", "66.4 lbf*ft", "66.4 ft-lb", "9.18 kgf*m")),
        ("torque", 90.0, ("0.09 kNm", "90000 Nmm", "90,000 N·mm", "0.09 kN m", "90 N-m", "90 NM")),
        ("torque", 90.0, ("66.4 foot pounds", "66.4 pound-feet", "66.4 ftlb", "66.4 ft.lb")),
        ("torque", 90.0, ("797 inch pounds", "797 in lbs", "797 inch-lbs", "66.4 Ft Lbs")),
        ("stress", 500e6, ("72,500 lb/in2", "72500 lbs/in²", "72500 lb/sq in", "500 N/mm2")),
        ("pressure", 100e5, ("1,450 lb/in2", "1450 lb/in^2", "1450 PSI")),
        ("line load", 175_127.0, ("1,000 lb/in", "1000 lbs/in", "1000 pounds per inch")),
        ("stiffness", 200e6, ("1,142,000 lb/in", "200 kN/mm")),
        ("plate stiffness", 180e3, ("180 kNm", "1,593,000 in-lb", "1593000 lbf·in")),
        ("area", 645.16e-6, ("1 inch2", "1 in²", "1 sq. in.", "1 square inch", "645 sq mm")),
        ("volume", 3 * 16.387e-6, ("3 inch3", "3 cu. in.", "3 cubic inches", "49.2 cc")),
    ],
)
def test_any_compatible_unit(kind: str, value: float, texts: tuple[str, ...]) -> None:
    for text in texts:
        assert check(ask(kind, value), text).right, text


@pytest.mark.parametrize("kind", sorted(set(KINDS) - {"number", "fraction"}))
def test_a_bare_number_is_told_what_is_missing(kind: str) -> None:
    said = check(ask(kind, 321.5), "321.5")
    assert said.layer == "type" and "unit is missing" in said.says
    assert label(KINDS[kind].metric[0]).replace("1e-6/", "") in said.says


# --------------------------------------------------------------------------- layers
@pytest.mark.parametrize(
    ("text", "layer", "words"),
    [
        ("263.6 kN", "pitfall", "went in as a radius"),
        ("62.0 kN", "pitfall", "air outside"),
        ("659 kN", "size", "decimal point"),
        ("65.9 N", "size", "decimal point"),
        ("14815 kN", "size", "another unit (lbf)"),
        ("65.9 lbf", "size", "another unit (kN)"),
        ("-65.9 kN", "size", "sign"),
        ("0 kN", "size", "Zero"),
        ("3 kN", "size", "far too small, by more than ten times"),
        ("13 kN", "size", "is too small, by more than twice"),
        ("140 kN", "size", "is too large, by more than twice"),
        ("3000 kN", "size", "too large"),
        ("70 kN", "value", "rounded off"),
        ("15000 lbf", "value", "rounded off"),
        ("67 kN", "value", "area of the bore"),
        ("80 kN", "value", "area of the bore"),
    ],
)
def test_layers_of_feedback(text: str, layer: str, words: str) -> None:
    said = check(FORCE, text)
    assert said.layer == layer and words in said.says and not said.right
    assert said.layer in LAYERS
    assert bool(said.pitfall) == (layer == "pitfall")


def test_the_zero_of_a_temperature_scale() -> None:
    cold = ask("temperature", 273.15 + 0.02, unit="degC")
    assert (
        check(cold, "0 °C").right and check(cold, "32 °F").right and check(cold, "273.15 K").right
    )
    assert not check(cold, "0.3 °C").right
    assert "another unit" in check(ask("temperature", 353.15), "80 K").says


@pytest.mark.parametrize("digits", [2, 3, 4])
@pytest.mark.parametrize("value", [1.0049, 1.0951, 3.3333, 9.9949, 9.9951, 12345.678, 0.00012345])
def test_tolerance_follows_the_figures_asked(digits: int, value: float) -> None:
    q = ask("number", value, digits=digits)
    assert check(q, written(q)).right
    step = 10.0 ** (1 - digits)
    for factor, right in ((1 + 0.9 * step, True), (1 - 0.9 * step, True), (1 + 1.2 * step, False)):
        assert check(q, f"{value * factor!r}").right is right
    assert not check(q, f"{value * (1 - 1.2 * step)!r}").right


def test_no_feedback_tells_the_answer() -> None:
    for text in ("659 kN", "67 kN", "80 kN", "65.9", "65.9 bar", "14815 kN", "263.6 kN", "", "x"):
        said = check(FORCE, text).says
        assert not re.search(r"65[.,]?9|14[.,]?815", said.replace(text, ""))


def test_choice() -> None:
    q = Question(
        "04-1",
        "Which one follows the gap?",
        "choice",
        "a bead of spring steel",
        options=("bare copper", "a bead of spring steel", "neither"),
        pitfalls=(Pitfall("soft is best", "bare copper", "Copper stays where it was pressed."),),
    )
    assert check(q, "a bead of spring steel").right and check(q, " A  BEAD of spring steel. ").right
    assert check(q, "b").right and check(q, "B)").right
    assert check(q, "a").pitfall == "soft is best"
    assert check(q, "neither").layer == "value"
    assert check(q, "d").layer == "type" and check(q, "9**9**9").layer == "type"
    assert check(q, "").layer == "empty" and written(q) == "a bead of spring steel"


def test_an_option_that_is_a_letter_stands_for_itself() -> None:
    q = Question("x", "?", "choice", "B", options=("B", "A"))
    assert check(q, "b").right and not check(q, "a").right


# --------------------------------------------------------------------------- questions
@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"kind": "strength"}, "kind"),
        ({"value": 0.0}, "other than zero"),
        ({"value": math.nan}, "finite"),
        ({"value": "65"}, "finite"),
        ({"digits": 1}, "2 to 6"),
        ({"unit": "bar"}, "unit"),
        ({"marks": 0}, "at least 1"),
        ({"pitfalls": (Pitfall("near", 66_000.0, ""),)}, "told from the answer"),
        ({"pitfalls": (Pitfall("a", 50e3, ""), Pitfall("b", 50.1e3, ""))}, "told from a"),
        ({"pitfalls": (Pitfall("a", 50e3, ""), Pitfall("a", 20e3, ""))}, "same name"),
        ({"pitfalls": (Pitfall("a", math.inf, ""),)}, "finite"),
        ({"kind": "choice", "value": "x", "options": ("a", "b")}, "one of the options"),
        ({"kind": "choice", "value": "a", "options": ("a",)}, "two or more"),
        ({"kind": "choice", "value": "a", "options": ("a", "A")}, "different"),
        ({"kind": "choice", "value": "a", "options": ("a", "b" * 500)}, "at most"),
    ],
)
def test_a_question_that_contradicts_itself(change: dict[str, Any], words: str) -> None:
    fields = {"key": "k", "text": "?", "kind": "force", "value": 65_900.0, "unit": "kN"}
    if change.get("kind") == "choice":
        fields.pop("unit")
    with pytest.raises(InputError, match=words):
        Question(**{**fields, **change})


@settings(max_examples=20, deadline=None)
@given(value=st.floats(1e-3, 1e6), sign=st.sampled_from((1.0, -1.0)), digits=st.integers(2, 5))
@pytest.mark.parametrize("kind", sorted(KINDS))
@pytest.mark.parametrize("system", SYSTEMS)
def test_what_is_written_is_read_and_right(
    kind: str, system: str, value: float, sign: float, digits: int
) -> None:
    q = ask(kind, sign * value, digits=digits)
    text = written(q, unit=getattr(KINDS[kind], system)[0])
    # the shop's unit of the other system is rounded there, so let a figure more stand
    fine = written(ask(kind, sign * value, digits=6), unit=getattr(KINDS[kind], system)[0])
    assert check(q, fine).right, fine
    if kind != "temperature":
        assert check(q, text).right, text


# --------------------------------------------------------------------------- any text at all
ODD = (
    "0123456789.,eE+-*/^()[]{}'\"= \t\n\x00\x1b\u200b\u202e\u0661٣½⅜²⁴−–×·%°µΩkNmJbarpsigft_\\;#@∞"
)


def hostile() -> list[str]:
    nested = [a * n + "m" + b * n for n in (1, 50, 99, 5000) for a, b in ("()", "[]", "{}")]
    units = ["m**" + "9" * n for n in (1, 2, 50)] + ["*".join("m" * n) for n in (10, 50, 90)]
    units += [*nested, "m^9^9^9", "m/0", "(m**9)**9", "m//s", "kN" * 20, "k" * 150, "µ" * 40]
    units += [
        "m ** 9 ** 9",
        "e" * 60,
        "E" * 60,
        "1/" * 60,
        "/" * 100,
        " " * 150,
        "°" * 60,
        '"' * 50,
    ]
    units += ["N\x00", "N\u202e", "N\u0301" * 40, "\ud800", "N; import os", "{0.__class__}", "%s%n"]
    numbers = ["1", "9" * 199, "1e999", "1e-999", "-0", "0", "1." * 60, "1," * 60, "1 " * 90]
    texts = [f"{n} {u}" for n in numbers[:1] for u in units]
    texts += [f"{n}{u}" for n in numbers for u in (" kN", "", " N", "e5 N", "\u200f kN")]
    texts += ["9**9**9**9", "9" * 1_000_000, "9" * 1_000_000 + " kN", "(" * 1_000_000, "\x00" * 300]
    texts += [
        f"{s}{w}{u}" for s in ("", "-") for u in ("", " kN") for w in ("NaN", "inf", "∞", "1e400")
    ]
    texts += ["__import__('os').system('true')", "exec('1')", "lambda: 0", "1 if 1 else 2", "1j kN"]
    texts += ["1_000 kN", "0b1 N", "0o7 N", "1e5e5 N", "1e5.5 N", "--1 N", "+-1 N", "1.e N", "e5 N"]
    texts += ["1/" * 90 + "1", "1 1/" * 40 + "2", "1/1" * 50, "9" * 60 + "/1 in", "1 3/8 " * 20]
    texts += ["," * 200, "." * 200, "'" * 200, "1'" * 99, "1\u202f" * 99, "\ufeff1 N", "1 N\ufeff"]
    texts += [" " * 1_000_000, "\n" * 300, "1 " + "×10" * 60, "1×10^" + "9" * 90, "1x10**999 N"]
    texts += [chr(c) + "1 N" for c in range(32)] + ["1 N" + chr(c) for c in range(127, 160)]
    return texts


def accepted_by_a_plain_reading(text: str) -> bool:
    """Whether a reading of its own, much narrower than ours, finds the answer in the text."""
    text = re.sub(r"(?<=[0-9])(?:[',](?=[0-9]{3})|[½⅜](?![0-9]))", "", text)  # small parts
    text = re.sub(r"^\s*[A-Za-z][A-Za-z_0-9 ]*[=:≈]", "", text)
    plain = re.sub(r"[\s\u00a0\u2009\u202f]", "", text).lower().translate(str.maketrans("−–", "--"))
    match = re.fullmatch(r"[=≈~]?\+?(\d*\.?\d*)(?:e([+-]?\d+))?\*?(kn|n|\"n)\.?", plain, re.ASCII)
    if match is None or not re.search(r"\d", match[1]):
        return False
    value = float(match[1]) * 10.0 ** int(match[2] or 0) * (1e3 if match[3] == "kn" else 1.0)
    return abs(value - 65_900.0) <= 659.0 * (1 + 1e-9)


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("kind", ["torque", "angle", "number", "temperature", "power", "pressure"])
def test_every_unit_the_registry_knows(kind: str) -> None:
    for unit in list(ureg._units):
        assert check(ask(kind, 3.0), f"321.5 {unit}").layer in LAYERS


def test_there_are_two_hundred_hostile_texts() -> None:
    assert len(set(hostile())) >= 200


@pytest.mark.parametrize("text", hostile(), ids=lambda t: short(t, 20))
def test_hostile_text_gets_feedback_for_little_work(text: str) -> None:
    calls = 0

    def count(*_: object) -> None:
        nonlocal calls
        calls += 1

    check(FORCE, "1 nonsense")  # what is worked out once
    tracemalloc.start()
    sys.setprofile(count)
    try:
        said = check(FORCE, text)
    finally:
        sys.setprofile(None)
        peak = tracemalloc.get_traced_memory()[1]
        tracemalloc.stop()
    assert not said.right and said.layer in LAYERS
    assert said.says.isprintable() and len(said.says) < 600
    # a plain answer takes some hundred calls, one with an unknown unit some thousand
    assert calls < 60_000 and peak < 5e6


def test_twenty_thousand_random_texts() -> None:
    draw = random.Random("answers")
    questions = [FORCE, ask("number", 3.0), ask("length", 0.034925), ask("temperature", 300.0)]
    seen = set()
    for _ in range(10_000):
        text = "".join(draw.choice(ODD) for _ in range(draw.randrange(1, 24)))
        said = check(draw.choice(questions), text)
        seen.add(said.layer)
        assert said.layer in LAYERS
    rights = 0
    for _ in range(10_000):
        letters = list(draw.choice(("65.9 kN", "65900 N", "6.59e4 N", "65,900 N")))
        for _ in range(draw.randrange(1, 4)):
            place, letter = draw.randrange(len(letters) + 1), draw.choice(ODD)
            letters[place : place + draw.randrange(2)] = [letter]
        text = "".join(letters)
        said = check(FORCE, text)
        if said.right:
            rights += 1
            assert accepted_by_a_plain_reading(text), text
    assert rights > 100 and {"type", "size"} <= seen


@settings(max_examples=300, deadline=None)
@given(st.text(max_size=230))
def test_any_text_gets_feedback(text: str) -> None:
    assert check(FORCE, text).layer in LAYERS


def test_the_plain_reading_agrees_with_the_units() -> None:
    assert accepted_by_a_plain_reading("65.9 kN") and not accepted_by_a_plain_reading("66.9 kN")
    assert to_si("65.9 kN", "force") == 65_900.0


# --------------------------------------------------------------------------- in a lesson
def test_exercise_with_widgets() -> None:
    box = exercise(FORCE, folded("Worked answer", "Pressure times area."))
    assert "How hard" in box.text.value and "Pressure times area" in box.worked.value
    assert box.entry.description == "Answer to 01-1" and box.button.description == "Check"
    assert 'role="status"' in box.said.value and "NOT" not in box.said.value
    box.entry.value = "65.9 kN"  # Enter, or leaving the box
    assert box.feedback is not None and box.feedback.right and "RIGHT" in box.said.value
    box.entry.value = "263.6 kN"
    assert "NOT YET" in box.said.value and "radius" in box.said.value
    box.entry.value = "<script>"
    assert "<script>" not in box.said.value
    box.feedback = None
    box.button.click()
    assert box.feedback is not None and box.feedback.layer == "type"
    box.entry.value = ""
    assert "NO ANSWER YET" in box.said.value


def test_exercise_of_a_choice() -> None:
    q = Question("04-1", "Which <one>?", "choice", "bead", options=("copper", "bead"))
    box = exercise(q, folded("Worked answer", "Because."))
    assert "Which &lt;one&gt;?" in box.text.value and "<details" in box.worked.value
    box.entry.value = "copper"
    assert "NOT YET" in box.said.value
    box.entry.value = "bead"
    assert "RIGHT" in box.said.value


def test_exercise_without_widgets(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "sealkit.classroom.homework.answer_box", None)
    monkeypatch.setitem(sys.modules, "ipywidgets", None)
    monkeypatch.delitem(sys.modules, "sealkit.classroom.homework.answer_box")
    q = Question("04-1", "Which?", "choice", "bead", options=("copper", "bead"))
    shown = exercise(q, folded("Worked answer", "Beads spring."))
    assert isinstance(shown, Shown)
    assert "Which?" in shown.html and "<details>" in shown.html and "b) bead" in str(shown)
    assert "Beads spring." in shown.text
