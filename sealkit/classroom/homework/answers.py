"""Answers: one number with its unit, or one option, read by a closed grammar and judged in layers.

A text is never evaluated. Its length is capped before anything looks at it, and every pattern
below reads it once from left to right.

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
import re
import unicodedata
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from sealkit.errors import Fault, InputError, fail, short
from sealkit.units import KINDS, LEVEL, SYSTEMS, Q, from_si, label, parse, show_unit, to_si

__all__ = [
    *("LAYERS", "LONGEST", "Feedback", "Pitfall", "Question"),
    *("check", "named", "printed", "read", "read_back", "written"),
]

LONGEST = 200  # characters of an answer; more is not looked at
LAYERS = ("empty", "type", "dimension", "size", "value", "pitfall", "right")
CHOICE = "choice"
_PLAIN = ("number", "fraction")  # kinds that need no unit


@dataclass(frozen=True)
class Pitfall:
    """A wrong route that people really take.

    Parameters
    ----------
    name : stable key, such as "gauge for absolute"
    value : what the wrong route gives: plain SI number, or the wrong option
    says : what happened and what to look at; never the right number
    """

    name: str
    value: float | str
    says: str


@dataclass(frozen=True)
class Question:
    """One question with its answer, its tolerance and the wrong routes to it.

    Parameters
    ----------
    key : stable name, such as "01-2", or "<set>/<question>" on a card
    text : one plain question
    kind : key of `sealkit.units.KINDS`, or "choice"
    value : the answer, plain SI, or the right option
    digits : significant figures asked for; the tolerance is one unit of the last of them, for a
        number that begins with 1 (three figures: 1 %)
    unit : unit to suggest, as `sealkit.units.parse` reads it; empty for the kind's own metric one
    options : what a choice is made from
    pitfalls : wrong routes; none may lie within reach of the answer, nor of another one
    hint : what to look at when nothing is recognised
    marks : what the question is worth

    Raises
    ------
    InputError
        if the question contradicts itself: an unknown kind, an answer that is no option, a zero
        (which has no significant figures), or a pitfall that cannot be told from the answer.
    """

    key: str
    text: str
    kind: str
    value: float | str
    digits: int = 3
    unit: str = ""
    options: tuple[str, ...] = ()
    pitfalls: tuple[Pitfall, ...] = ()
    hint: str = ""
    marks: int = 1

    def __post_init__(self) -> None:
        faults = _option_faults(self) if self.kind == CHOICE else _number_faults(self)
        if self.marks < 1:
            faults.append(Fault(f"{self.key}: marks", str(self.marks), "at least 1"))
        if faults:
            raise InputError(faults)


@dataclass(frozen=True)
class Feedback:
    """What is said about an answer.

    Parameters
    ----------
    layer : "empty", "type", "dimension", "size", "value", "pitfall" or "right"; "read" from
        `read_back`
    right : whether it counts
    says : one or two sentences, never the number
    pitfall : name of the pitfall recognised
    """

    layer: str
    right: bool
    says: str
    pitfall: str = ""


# --------------------------------------------------------------------------- the question
def _number_faults(q: Question) -> list[Fault]:
    if q.kind not in KINDS:
        return [Fault(f"{q.key}: kind", short(q.kind), 'a kind of quantity or "choice"')]
    if not 2 <= q.digits <= 6:
        return [Fault(f"{q.key}: digits", str(q.digits), "2 to 6 figures")]
    faults: list[Fault] = []
    if q.unit and not q.unit.startswith("1e-6/"):
        try:
            to_si(f"1 {q.unit}", q.kind, f"{q.key}: unit")
        except InputError as err:
            faults.extend(err.faults)
    named: list[tuple[str, Any]] = [
        ("the answer", q.value),
        *((p.name, p.value) for p in q.pitfalls),
    ]
    for name, value in named:
        if isinstance(value, str) or not math.isfinite(value):
            faults.append(Fault(f"{q.key}: {name}", short(value), "a finite number"))
    if faults:
        return faults
    if _number(q, float(q.value)) == 0.0:
        return [Fault(f"{q.key}: value", "0", "a number other than zero (ask a choice instead)")]
    if len({p.name for p in q.pitfalls}) < len(q.pitfalls):
        return [Fault(f"{q.key}: pitfalls", "the same name twice", "different names")]
    for place, (name, value) in enumerate(named):
        for other, near in named[:place]:
            if _meet(q, value, near):
                wanted = f"a number that can be told from {other} at {q.digits} figures"
                faults.append(Fault(f"{q.key}: pitfall {name!r}", f"{value:.6g}", wanted))
    return faults


def _option_faults(q: Question) -> list[Fault]:
    plain = [_plain(o) for o in q.options]
    if len(q.options) < 2 or len(set(plain)) < len(plain) or not all(plain):
        return [Fault(f"{q.key}: options", str(len(q.options)), "two or more different options")]
    if max(map(len, q.options)) > LONGEST:
        return [Fault(f"{q.key}: options", "a long one", f"at most {LONGEST} characters each")]
    taken = [q.value, *(p.value for p in q.pitfalls)]
    faults = [
        Fault(f"{q.key}: option", short(v), "one of the options")
        for v in taken
        if v not in q.options
    ]
    if len(set(taken)) < len(taken):
        faults.append(Fault(f"{q.key}: pitfalls", "an option named twice", "different options"))
    return faults


def _unit(q: Question) -> str:
    return q.unit or KINDS[q.kind].metric[0]


def _number(q: Question, value: float, unit: str = "") -> float:
    """The number that is written before a unit (the suggested one); percentages as shares."""
    if q.kind in _PLAIN:
        return float(value)
    factor, zero = _scale(q.kind, unit or _unit(q))
    return value * factor + zero


@functools.cache
def _scale(kind: str, unit: str) -> tuple[float, float]:
    """Factor and zero that turn a plain SI number of this kind into the number before a unit."""

    def number(value: float) -> float:
        if unit.startswith("1e-6/"):
            return 1e6 * float(from_si(value, kind).to(f"1/{unit[5:]}").magnitude)
        if kind == "gauge pressure" and Q(1, unit).dimensionality == Q(1, "Pa").dimensionality:
            return float(Q(value, "Pa").to(unit).magnitude)
        return float(from_si(value, kind).to(unit).magnitude)

    zero = number(0.0) if kind == "temperature" else 0.0
    return number(1.0) - zero, zero


def _reach(q: Question, number: float) -> float:
    """How far a number as written may lie from this one and still be it.

    A temperature near the zero of its scale has no figures to lose: there the reach is that of
    ten degrees.
    """
    size = max(abs(number), 10.0) if q.kind == "temperature" else abs(number)
    return size * 10.0 ** (1 - q.digits)


def _meet(q: Question, one: float, other: float) -> bool:
    """Whether some text could be taken for either."""
    a, b = _number(q, one), _number(q, other)
    return abs(a - b) <= _reach(q, a) + _reach(q, b)


def written(question: Question, value: float | str | None = None, unit: str = "") -> str:
    """A value as somebody at the bench would write it: rounded to the figures asked, with a unit.

    Parameters
    ----------
    question : what is asked
    value : plain SI number or option; the answer where none is given
    unit : unit to write it in, one that `sealkit.units.parse` reads; the suggested one if empty

    Returns
    -------
    text such as ``"65.9 kN"``, which `read` reads again
    """
    value = question.value if value is None else value
    if isinstance(value, str):
        return value
    unit = unit or _unit(question)
    number = _number(question, value, unit) * (100.0 if unit == "%" else 1.0)
    figures = _rounded(number, question.digits)
    if unit.startswith("1e-6/"):
        return f"{figures}e-6 / {unit[5:]}"
    return f"{figures} {unit}".rstrip()


def printed(question: Question, value: float | str | None = None) -> str:
    """A value as a page prints it: as `written`, with "N·m" for "N*m" and "5,810" for "5810".

    Parameters
    ----------
    question : what is asked
    value : plain SI number or option; the answer where none is given

    Returns
    -------
    text
    """
    value = question.value if value is None else value
    if isinstance(value, str):
        return value
    figures, _, unit = written(question, value).partition(" ")
    if _unit(question).startswith("1e-6/"):
        return f"{figures.removesuffix('e-6')}{_label(_unit(question))}"
    return f"{grouped(figures)}{_label(unit)}"


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
_SPACES = "\u00a0\u2009\u202f\u2007\t"
_SIGNS = str.maketrans(
    {"−": "-", "–": "-", "’": "'", "⁄": "/", "″": '"', "”": '"', **dict.fromkeys(_SPACES, " ")}
)
_VULGAR = {c: f" {n}/{d} " for c, n, d in (
    *(("½", 1, 2), ("¼", 1, 4), ("¾", 3, 4), ("⅛", 1, 8), ("⅜", 3, 8), ("⅝", 5, 8), ("⅞", 7, 8)),
)}  # fmt: skip
_SUPER = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻⁺", "0123456789-+")
_MIXED = re.compile(r"([+-]?)(?:([0-9]{1,6})(?: |-| - ))?([0-9]{1,4}) ?/ ?([0-9]{1,4})(?![0-9.,])")
_DIGITS = re.compile(
    r"([+-]?) ?((?:[0-9]|[.,](?=[0-9]))(?:[0-9]|[.,'](?=[0-9])| (?=[0-9]{3}))*[.,]?)"
)
_POWER = re.compile(
    r"[eE]([+-]?[0-9]{1,3})(?![0-9])"
    r"| ?[x×*·] ?10 ?(?:\^|\*\*) ?([+-]?[0-9]{1,3})(?![0-9])"
    r"| ?[x×*·] ?10([⁻⁺]?[⁰¹²³⁴⁵⁶⁷⁸⁹]{1,3})"
)
_GROUPS = {s: re.compile(rf"[0-9]{{1,3}}(?:{re.escape(s)}[0-9]{{3}})+\Z") for s in ".,' "}
_MORE = re.compile(
    r"\s*(?!1 ?/ ?[A-Za-z])(?:to\b|-|\.\.|~|/ ?[0-9]|[0-9.,+=(]|'(?!'))|.*(?:±|\+/-)"
)


class _Unread(Exception):
    """The text is no number with a unit; what to say about it."""


def _tidy(text: str) -> str:
    """The text without the marks that only lay it out; refused where it hides anything."""
    if len(text) > LONGEST:
        raise _Unread(f"That is longer than an answer can be. {_FORM}")
    text = text.strip(" \r\n\t" + _SPACES).translate(_SIGNS)
    # an own test: letters that run right to left, joiners and control marks have no place here
    if not all(c.isprintable() and unicodedata.bidirectional(c) not in _BACK for c in text):
        raise _Unread(f"There are hidden marks in this text; type it again by hand. {_FORM}")
    for mark, plain in _VULGAR.items():
        text = text.replace(mark, plain)
    return text.strip().removeprefix("=").removeprefix("≈").removeprefix("~").strip()


_FORM = 'Write one number and its unit, such as "12.3" and then the unit.'
_BACK = frozenset(("R", "AL", "AN", "RLE", "RLO", "RLI", "LRE", "LRO", "LRI", "PDF", "PDI", "FSI"))


def _split(text: str) -> tuple[float, str]:
    """Number and unit text."""
    number, rest = _fraction(text) or _decimal(text)
    if not math.isfinite(number):
        raise _Unread("That number is too large to be an answer.")
    if _MORE.match(rest):
        raise _Unread("Give one number only: no range, no tolerance, no sum. " + _FORM)
    return number, rest.strip()


def _fraction(text: str) -> tuple[float, str] | None:
    """A number such as 3/8 or 1 3/8."""
    match = _MIXED.match(text)
    if match is None:
        return None
    sign, whole, above, below = match[1], int(match[2] or 0), int(match[3]), int(match[4])
    if below == 0:
        raise _Unread("That fraction is divided by zero.")
    if match[2] and above >= below:
        raise _Unread('Write a mixed number with a fraction below one, such as "1 3/8".')
    return (-1.0 if sign == "-" else 1.0) * (whole + above / below), text[match.end() :]


def _decimal(text: str) -> tuple[float, str]:
    match = _DIGITS.match(text)
    if match is None:
        known = "NaN and infinity are no answers. " if _NO_NUMBER.match(text) else ""
        raise _Unread(f"There is no number at the beginning. {known}{_FORM}")
    sign, digits = match[1], match[2]
    rest = text[match.end() :]
    plain = _without_groups(digits)
    power = _POWER.match(rest)
    exponent = 0
    if power is not None:
        exponent = int((power[1] or power[2] or power[3]).translate(_SUPER))
        rest = rest[power.end() :]
    return float(f"{sign}{plain}e{exponent}"), rest


_NO_NUMBER = re.compile(r"[+-]?(?:nan|inf|∞)", re.IGNORECASE)


def _without_groups(digits: str) -> str:
    """The digits with a point for the decimals and nothing between thousands."""
    marks = [c for c in digits if c in ".,' "]
    kinds = sorted(set(marks), key=digits.rindex)
    if not marks:
        return digits
    if len(kinds) == 1 and kinds[0] in ".," and len(marks) == 1:
        before, after = digits.split(kinds[0])
        if kinds[0] == "," and _GROUPS[","].match(digits) and not before.startswith("0"):
            raise _Unread(
                f'"{digits}" can be read as {before}{after} or as {before}.{after}. Leave the '
                "comma out of a large number, or write a point for the decimals."
            )
        return f"{before or '0'}.{after or '0'}"
    if len(kinds) == 1:
        groups, last = digits, ""
    elif len(kinds) == 2 and kinds[1] in ".," and marks.count(kinds[1]) == 1:
        groups, last = digits.rsplit(kinds[1], 1)
    else:
        groups, last = "", ""
    if groups and _GROUPS[kinds[0]].match(groups) and not groups.startswith("0"):
        return groups.replace(kinds[0], "") + f".{last or '0'}"
    raise _Unread(
        f'"{digits}" cannot be read as a number: thousands stand in groups of three, and the '
        "decimals have one point."
    )


def read(question: Question, text: str) -> float | str | Feedback:
    """What a text says: plain SI number or option; or, if it cannot be read, why not.

    The layers "empty", "type" and "dimension" come from here, and none of them tells anything
    about the answer.
    """
    if text is None or (isinstance(text, str) and not text[: LONGEST + 1].strip()):
        if isinstance(text, str) and len(text) > LONGEST:
            return Feedback("type", False, "That is longer than an answer can be.")
        return Feedback("empty", False, "There is no answer yet.")
    if not isinstance(text, str):
        return Feedback("type", False, f"An answer is text. {_FORM}")
    try:
        tidy = _tidy(text)
        if question.kind == CHOICE:
            return _option(question, tidy)
        number, unit = _split(tidy)
        if not unit and question.kind not in _PLAIN:
            raise _Unread(f"The unit is missing: write the number and then {_units(question)}.")
    except _Unread as err:
        return Feedback("type", False, str(err))
    return _quantity(question, number, unit)


def _option(q: Question, text: str) -> str:
    plain = _plain(text)
    for option in q.options:
        if plain == _plain(option):
            return option
    for place, option in enumerate(q.options):
        if plain == chr(ord("a") + place):
            return option
    raise _Unread(f"Choose one of: {', '.join(q.options)}.")


def _plain(text: str) -> str:
    text = unicodedata.normalize("NFC", text.translate(_SIGNS))
    return " ".join(text.casefold().split()).rstrip(".)")


def _units(q: Question) -> str:
    """The units to write, without a number that could be an answer."""
    known = [q.unit, KINDS[q.kind].metric[0], KINDS[q.kind].inch[0]]
    known = [
        u.replace("1e-6/", "e-6 / ") if u.startswith("1e-6/") else label(u)
        for u in dict.fromkeys(known)
        if u
    ]
    return " or ".join(f'"{u}"' for u in known[:2])


def _quantity(q: Question, number: float, unit: str) -> float | Feedback:
    wanted = f"{KINDS[q.kind].words} is asked"
    wanted += "." if q.kind in _PLAIN else f", in {_units(q)} or another unit of that kind."
    if len(unit) > 50:
        return Feedback("type", False, f"That is too long for a unit; {wanted}")
    try:
        quantity = parse(f"{number!r} {unit}", "answer")
    except InputError as err:
        told = err.faults[0].wanted.partition("a known unit: ")[2]
        told = f" ({told})" if told else ""
        return Feedback("type", False, f'The unit "{unit}" is not known{told}; {wanted}')
    if (fault := _not_this_kind(q, quantity)) is not None:
        return Feedback("dimension", False, f"{fault}; {wanted}")
    try:
        value = float(to_si(_as_difference(quantity) if q.kind in _SPANS else quantity, q.kind))
    except InputError as err:
        came = err.faults[0]
        reason = re.search(r"\(([a-z][^()]*)\)\Z", came.came)
        wrong = reason[1] if reason else f'"{unit}" is another kind of unit'
        pounds = came.wanted.partition(': write "')[2]
        wrong += f' (write "{pounds}' + ")" if pounds else ""
        return Feedback("dimension", False, f"{wrong[0].upper()}{wrong[1:]}; {wanted}")
    except Exception:  # the registry's own formatter fails on some of its odd units
        return Feedback("dimension", False, f'"{unit}" is another kind of unit; {wanted}')
    if not math.isfinite(value):
        return Feedback("type", False, "That number is too large to be an answer.")
    return value


_SPANS = ("temperature difference",)
_SHARES = frozenset(("percent", "permille", "ppm", "count"))
_ANGLES = frozenset(("radian", "degree", "turn", "arcminute", "arcsecond", "milliradian"))


def _names(quantity: Any) -> set[str]:
    return {str(n) for n in quantity._units}


def _not_this_kind(q: Question, quantity: Any) -> str | None:
    """Units the registry would convert although they are something else."""
    names = _names(quantity)
    if any(LEVEL.match(n) for n in names):
        return "A level in decibels or nepers came"
    if q.kind in _PLAIN and not names <= {"percent"}:
        return "A unit came where none belongs"
    if q.kind == "angle" and quantity.dimensionless and not names <= _ANGLES:
        return "That is no angle"
    if len(names) > 1 and names & _SHARES:
        return "A percentage of a unit came"
    return None


def _as_difference(quantity: Any) -> Any:
    """Degrees as the steps of the scale: asked for a difference, 80 °C is one of 80 steps."""
    for scale in ("degree_Celsius", "degree_Fahrenheit"):
        if _names(quantity) == {scale}:
            return Q(quantity.magnitude, f"delta_{scale}")
    return quantity


def read_back(question: Question, text: str) -> Feedback:
    """What was read from a text, without a word about whether it is right.

    Returns
    -------
    Feedback of the layers "empty", "type" and "dimension"; or of the layer "read", which says the
    number in the suggested unit
    """
    value = read(question, text)
    if isinstance(value, Feedback):
        return value
    if isinstance(value, str):
        return Feedback("read", False, f"{value}.")
    unit = _unit(question)
    number = _number(question, value) * (100.0 if unit == "%" else 1.0)
    figures = _rounded(number, 5)
    if "." in figures:
        figures = figures.rstrip("0").removesuffix(".")
    return Feedback("read", False, f"{figures}{_label(unit)}.")


def _label(unit: str) -> str:
    """A unit as it is printed behind a number."""
    if unit.startswith("1e-6/"):
        return f"e-6/{unit[5:].replace('delta_degF', '°F')}"
    plain = label(unit)
    return plain if plain in ("", "°") else f" {plain}"


# --------------------------------------------------------------------------- judging
def check(question: Question, text: str) -> Feedback:
    """Judge one answer.

    Parameters
    ----------
    question : what was asked
    text : what came back; any text, of any length

    Returns
    -------
    Feedback; the first layer that has something to say speaks
    """
    value = read(question, text)
    if isinstance(value, Feedback):
        return value
    if isinstance(value, str):
        return _judged_option(question, value)
    return _judged(question, value)


def _judged_option(q: Question, option: str) -> Feedback:
    if option == q.value:
        return Feedback("right", True, "Right.")
    for pitfall in q.pitfalls:
        if option == pitfall.value:
            return Feedback("pitfall", False, pitfall.says, pitfall.name)
    return Feedback("value", False, _with_hint("That is not the one.", q))


def _judged(q: Question, value: float) -> Feedback:
    given, right = _number(q, value), _number(q, float(q.value))
    if abs(given - right) <= _reach(q, right):
        return Feedback("right", True, "Right.")
    near = [(abs(given - _number(q, float(p.value))), p) for p in q.pitfalls]
    near = [(gap, p) for gap, p in near if gap <= _reach(q, _number(q, float(p.value)))]
    if near:
        pitfall = min(near, key=lambda pair: pair[0])[1]
        return Feedback("pitfall", False, pitfall.says, pitfall.name)
    if other := _other_unit(q, value):
        words = f"That would be right in another unit ({other}): look at the unit you wrote."
        return Feedback("size", False, words)
    if given * right <= 0.0:
        words = "Zero is not the answer." if given == 0.0 else "The sign is the wrong way round."
        return Feedback("size", False, _with_hint(words, q))
    power = math.log10(abs(given)) - math.log10(abs(right))
    if round(power) and abs(power - round(power)) <= math.log10(1.0 + 10.0 ** (1 - q.digits)):
        words = "The figures are right, the size is not: look at the decimal point and the prefix."
        if q.kind == "fraction" and round(power) == 2:
            words = "The figures are right, the size is not: a percentage needs its sign."
        return Feedback("size", False, words)
    if abs(power) > 1.0:
        words = f"That is far too {'large' if power > 0 else 'small'}, by more than ten times."
        return Feedback("size", False, _with_hint(words, q))
    if abs(given - right) <= 5.0 * _reach(q, right):
        words = f"Near, but not near enough: carry more figures, and give {_COUNT[q.digits]}."
        return Feedback("value", False, words)
    return Feedback("value", False, _with_hint("The size is sensible, the value is not right.", q))


_COUNT = {2: "two", 3: "three", 4: "four", 5: "five", 6: "six"}


def _other_unit(q: Question, value: float) -> str:
    """The label of the shop's unit in which the number as written would be right; '' if none."""
    shop = {getattr(KINDS[q.kind], s)[0]: show_unit(q.kind, s) for s in SYSTEMS}
    labels = {_unit(q): label(_unit(q)), **shop, **({"K": "K"} if q.kind == "temperature" else {})}
    for wrote in labels:
        given = _number(q, value, wrote)
        for meant, told in labels.items():
            right = _number(q, float(q.value), meant)
            if wrote != meant and abs(given - right) <= _reach(q, right):
                return told
    return ""


def _with_hint(words: str, q: Question) -> str:
    return f"{words} {q.hint}".rstrip()


def named(questions: Iterable[Question]) -> dict[str, Question]:
    """Questions by their key; a key that comes twice is refused."""
    out: dict[str, Question] = {}
    for q in questions:
        if q.key in out:
            raise fail("questions", q.key, "each key once")
        out[q.key] = q
    return out
