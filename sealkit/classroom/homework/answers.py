"""Answers: one number with its unit, or one option, read and judged in layers.

>>> from sealkit.classroom.homework.pitfalls import Pitfall
>>> bore = Question(
...     "00-0", "What is the area of the bore?", "area", 0.0058, unit="mm**2",
...     pitfalls=(Pitfall("radius for diameter", 0.0232, "The diameter stands where the radius "
...               "belongs."), Pitfall("circumference", 0.27, "That is the way round the bore.")))
>>> check(bore, "5,800.0 mm²").layer, check(bore, "58.1 cm**2").right, check(bore, "5800").layer
('right', True, 'type')
"""

from __future__ import annotations

import functools
import math
from dataclasses import dataclass
from typing import Any

from sealkit.classroom.homework.pitfalls import CHOICE, PLAIN, Question, number_of, reach, unit_of
from sealkit.classroom.homework.reading import (
    FORM,
    LONGEST,
    ONLY_THOUSANDS,
    TIMES,
    Unread,
    comma_asked,
    number_and_unit,
    plain,
    shop_unit,
    tidy,
)
from sealkit.errors import InputError
from sealkit.units import KINDS, LEVEL, SYSTEMS, Q, label, parse, show_unit, to_si

LAYERS = ("empty", "type", "dimension", "size", "value", "pitfall", "right")


@dataclass(frozen=True)
class Feedback:
    """What is said about an answer."""

    # "empty", "type", "dimension", "size", "value", "pitfall" or "right"; "read" from `read_back`
    layer: str
    says: str  # one or two sentences, never the number
    pitfall: str = ""  # name of the pitfall recognised
    # a number was read whose unit, or the sign of its percentage, is missing
    unitless: bool = False
    part: float = 0.0  # share of the marks for an answer that is not right

    @property
    def right(self) -> bool:
        """Whether it counts."""
        return self.layer == "right"

    @property
    def earned(self) -> float:
        """Share of the marks."""
        return 1.0 if self.right else self.part


# --------------------------------------------------------------------------- writing
def written(question: Question, value: float | str | None = None, unit: str = "") -> str:
    """A value as somebody at the bench would write it: rounded to the figures asked, with a unit.

    Returns text such as ``"65.9 kN"``, which `read` reads again.

    Parameters
    ----------
    question : what is asked
    value : plain SI number or option; the answer where none is given
    unit : unit to write it in, one that `sealkit.units.parse` reads; the suggested one if empty
    """
    value = question.value if value is None else value
    if isinstance(value, str):
        return value
    unit = unit or unit_of(question)
    figures = _figures(question, value, unit)
    if unit.startswith("1e-6/"):
        return f"{figures}e-6 / {unit[5:]}"
    return f"{figures} {unit}".rstrip()


def printed(question: Question, value: float | str | None = None) -> str:
    """A value as a page prints it: as `written`, with "N·m" for "N*m" and "5,810" for "5810"."""
    value = question.value if value is None else value
    if isinstance(value, str):
        return value
    unit = unit_of(question)
    return f"{grouped(_figures(question, value, unit))}{_label(unit)}"


def _figures(q: Question, value: float, unit: str) -> str:
    """The figures asked for of a number before this unit."""
    number = number_of(q, value, unit) * (100.0 if unit == "%" else 1.0)
    return _rounded(number, q.digits)


def grouped(figures: str) -> str:
    """Digits as text with commas between the thousands, as the report has them."""
    whole, point, rest = figures.partition(".")
    return f"{int(whole):,}{point}{rest}" if whole.isdecimal() and whole[0] != "0" else figures


def _rounded(number: float, digits: int) -> str:
    if number == 0.0:
        return "0"
    number = float(f"{number:.{digits - 1}e}")
    return f"{number:.{max(0, digits - 1 - math.floor(math.log10(abs(number))))}f}"


# --------------------------------------------------------------------------- reading
def read(question: Question, text: str) -> float | str | Feedback:
    """What a text says: plain SI number or option; or, if it cannot be read, why not.

    The layers "empty", "type" and "dimension" come from here, and none of them tells anything
    about the answer.
    """
    if text is None or (isinstance(text, str) and not text[: LONGEST + 1].strip()):
        if isinstance(text, str) and len(text) > LONGEST:
            return Feedback("type", "That is longer than an answer can be.")
        return Feedback("empty", "There is no answer yet.")
    if not isinstance(text, str):
        return Feedback("type", f"An answer is text. {FORM}")
    try:
        neat = tidy(text)
        if question.kind == CHOICE:
            return _option(question, neat)
        number, unit = number_and_unit(neat)
        if not unit and question.kind not in PLAIN:
            words = f"The unit is missing: write the number and then {_units(question)}."
            return Feedback("type", words, unitless=True)
    except Unread as err:
        return Feedback("type", str(err))
    return _quantity(question, number, unit)


def _option(q: Question, text: str) -> str:
    by_letter = {chr(ord("a") + i): option for i, option in enumerate(q.options)}
    option = (by_letter | {plain(option): option for option in q.options}).get(plain(text))
    if option is None:
        raise Unread(f"Choose one of: {', '.join(q.options)}.")
    return option


def _units(q: Question) -> str:
    """The units to write, without a number that could be an answer."""
    known = dict.fromkeys((q.unit, KINDS[q.kind].metric[0], KINDS[q.kind].inch[0]))
    told = [u.replace("1e-6/", "e-6 / ") if u.startswith("1e-6/") else label(u) for u in known if u]
    return " or ".join(f'"{u}"' for u in told[:2])


def _quantity(q: Question, number: float, unit: str) -> float | Feedback:
    wanted = f"{KINDS[q.kind].words} is asked"
    wanted += "." if q.kind in PLAIN else f", in {_units(q)} or another unit of that kind."
    if len(unit) > 50:
        return Feedback("type", f"That is too long for a unit; {wanted}")
    try:
        bare = q.kind in PLAIN and TIMES.fullmatch(unit)
        plain_unit = "" if bare else shop_unit(unit, _has_force(q.kind))
        quantity = parse(f"{number!r} {plain_unit}", "answer")
    except InputError as err:
        hint = err.faults[0].hint
        return Feedback("type", f'The unit "{unit}" is not known{hint}; {wanted}')
    if wrong := _not_this_kind(q, quantity):
        return Feedback("dimension", f"{wrong}; {wanted}")
    try:
        value = float(to_si(_as_difference(quantity, q.kind), q.kind))
    except InputError as err:
        fault = err.faults[0]
        wrong = fault.reason or f'"{unit}" is another kind of unit'
        return Feedback("dimension", f"{wrong[0].upper()}{wrong[1:]}{fault.hint}; {wanted}")
    except Exception:  # the registry's own formatter fails on some of its odd units
        return Feedback("dimension", f'"{unit}" is another kind of unit; {wanted}')
    if not math.isfinite(value):
        return Feedback("type", "That number is too large to be an answer.")
    return value


@functools.cache
def _has_force(kind: str) -> bool:
    """Whether a force is part of this kind: then a pound is one of force."""
    dims = Q(1.0, KINDS[kind].si.replace("pascal_gauge", "Pa")).dimensionality
    return dims.get("[mass]", 0) == 1 and dims.get("[time]", 0) == -2


_SHARES = frozenset(("percent", "permille", "ppm", "count"))
_ANGLES = frozenset(("radian", "degree", "turn", "arcminute", "arcsecond", "milliradian"))


def _names(quantity: Any) -> set[str]:
    return {str(n) for n in quantity._units}


def _not_this_kind(q: Question, quantity: Any) -> str:
    """Units the registry would convert although they are something else."""
    names = _names(quantity)
    if any(LEVEL.match(n) for n in names):
        return "A level in decibels or nepers came"
    if q.kind in PLAIN and not names <= {"percent"}:
        return "A unit came where none belongs"
    if q.kind == "angle" and quantity.dimensionless and not names <= _ANGLES:
        return "That is no angle"
    if len(names) > 1 and names & _SHARES:
        return "A percentage of a unit came"
    return ""


def _as_difference(quantity: Any, kind: str) -> Any:
    """Degrees as the steps of the scale: asked for a difference, 80 °C is one of 80 steps."""
    (name, *more) = _names(quantity) or {""}
    steps = kind == "temperature difference" and name in ("degree_Celsius", "degree_Fahrenheit")
    return Q(quantity.magnitude, f"delta_{name}") if steps and not more else quantity


def read_back(question: Question, text: str) -> Feedback:
    """What was read from a text, without a word about whether it is right.

    Returns Feedback of the layers "empty", "type" and "dimension"; or of the layer "read", which
    says the number in the suggested unit.
    """
    value = read(question, text)
    if isinstance(value, Feedback):
        return value
    if isinstance(value, str):
        return Feedback("read", f"{value}.")
    unit = unit_of(question)
    number = number_of(question, value) * (100.0 if unit == "%" else 1.0)
    figures = _rounded(number, 5)
    if "." in figures:
        figures = figures.rstrip("0").removesuffix(".")
    comma = f" {ONLY_THOUSANDS}" if "," in text else ""
    return Feedback("read", f"{figures}{_label(unit)}.{comma}")


def _label(unit: str) -> str:
    """A unit as it is printed behind a number."""
    if unit.startswith("1e-6/"):
        return f"e-6/{unit[5:].replace('delta_degF', '°F')}"
    plain = label(unit)
    return plain if plain in ("", "°") else f" {plain}"


# --------------------------------------------------------------------------- judging
def check(question: Question, text: str) -> Feedback:
    """Judge one answer: any text, of any length.

    Returns Feedback; the first layer that has something to say speaks.
    """
    value = read(question, text)
    if isinstance(value, Feedback):
        return value
    if isinstance(value, str):
        return _judged_option(question, value)
    said = _judged(question, value)
    if said.layer == "size" and text.count(",") == 1:
        meant, right = text.replace(",", "."), number_of(question, float(question.value))
        other = read(question, meant)
        if isinstance(other, float) and 0.1 < number_of(question, other) / right < 10.0:
            return Feedback("type", comma_asked(text.strip(), meant.strip()))
    return said


def _judged_option(q: Question, option: str) -> Feedback:
    if option == q.value:
        return Feedback("right", "Right.")
    for pitfall in q.pitfalls:
        if option == pitfall.value:
            return Feedback("pitfall", pitfall.says, pitfall.name)
    return Feedback("value", _with_hint("That is not the one.", q))


def _judged(q: Question, value: float) -> Feedback:
    given, right = number_of(q, value), number_of(q, float(q.value))
    if abs(given - right) <= reach(q, right):
        return Feedback("right", "Right.")
    near = [(abs(given - number_of(q, float(p.value))), p) for p in q.pitfalls]
    near = [(gap, p) for gap, p in near if gap <= reach(q, number_of(q, float(p.value)))]
    if near:
        pitfall = min(near, key=lambda pair: pair[0])[1]
        return Feedback("pitfall", pitfall.says, pitfall.name)
    if other := _other_unit(q, value):
        words = f"That would be right in another unit ({other}): look at the unit you wrote."
        return Feedback("size", words)
    if given * right <= 0.0:
        words = "Zero is not the answer." if given == 0.0 else "The sign is the wrong way round."
        return Feedback("size", _with_hint(words, q))
    power = math.log10(abs(given)) - math.log10(abs(right))
    if round(power) and abs(power - round(power)) <= math.log10(1.0 + 10.0 ** (1 - q.digits)):
        if q.kind == "fraction" and round(power) == 2:
            words = "The figures are right, the size is not: a percentage needs its sign."
            return Feedback("size", words, unitless=True)
        words = "The figures are right, the size is not: look at the decimal point and the prefix."
        return Feedback("size", words)
    if abs(power) > math.log10(2.0):
        far, times = ("far too", "ten times") if abs(power) > 1.0 else ("too", "twice")
        words = f"That is {far} {'large' if power > 0 else 'small'}, by more than {times}."
        if q.kind == "fraction" and given > 1.0:
            words = f"{words} A percentage needs its sign."
        return Feedback("size", _with_hint(words, q))
    if _rounded_off(q, value):
        words = f"That is rounded off: carry more figures, and give {_COUNT[q.digits]}."
        return Feedback("value", words)
    return Feedback("value", _with_hint("The size is sensible, the value is not right.", q))


_COUNT = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


def _shop_labels(q: Question) -> dict[str, str]:
    """Units that the shop would write this in, and how they are printed."""
    return {
        unit_of(q): label(unit_of(q)),
        **{getattr(KINDS[q.kind], s)[0]: show_unit(q.kind, s) for s in SYSTEMS},
        **({"K": "K"} if q.kind == "temperature" else {}),
    }


def _rounded_off(q: Question, value: float) -> bool:
    """Whether it is the answer with fewer figures than asked, in a unit of the shop."""
    for unit in _shop_labels(q):
        given, right = number_of(q, value, unit), number_of(q, float(q.value), unit)
        for digits in range(1, q.digits):
            if math.isclose(given, float(f"{right:.{digits - 1}e}"), rel_tol=1e-9):
                return True
    return False


def _other_unit(q: Question, value: float) -> str:
    """The label of the shop's unit in which the number as written would be right; '' if none."""
    labels = _shop_labels(q)
    for wrote in labels:
        given = number_of(q, value, wrote)
        for meant, told in labels.items():
            right = number_of(q, float(q.value), meant)
            if wrote != meant and abs(given - right) <= reach(q, right):
                return told
    return ""


def _with_hint(words: str, q: Question) -> str:
    return f"{words} {q.hint}".rstrip()
