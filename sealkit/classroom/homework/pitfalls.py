"""A question: what is asked, what is right, and the wrong routes that people really take.

A number counts as the answer, or as that of a wrong route, where it is within reach of it: one unit
of the last figure asked for. No text may be taken for two of them.
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterable
from dataclasses import dataclass, replace
from typing import Any

from sealkit.classroom.homework.reading import LONGEST, plain
from sealkit.errors import Fault, InputError, short
from sealkit.units import KINDS, Q, from_si, to_si

CHOICE = "choice"
PLAIN = ("number", "fraction")  # kinds that need no unit


@dataclass(frozen=True)
class Pitfall:
    """A wrong route that people really take."""

    name: str  # stable key, such as "gauge for absolute"
    value: float | str  # what the wrong route gives: plain SI number, or the wrong option
    says: str  # what happened and what to look at; never the right number


@dataclass(frozen=True)
class Question:
    """One question with its answer, its tolerance and the wrong routes to it.

    Raises InputError if the question contradicts itself: an unknown kind, an answer that is no
    option, a zero (which has no significant figures), or a pitfall that cannot be told from the
    answer.
    """

    key: str  # stable name, such as "01-2", or "<set>/<question>" on a card
    text: str  # one plain question
    kind: str  # key of `sealkit.units.KINDS`, or "choice"
    value: float | str  # the answer, plain SI, or the right option
    # significant figures asked for; the tolerance is one unit of the last of them, for a number
    # that begins with 1 (three figures: 1 %)
    digits: int = 3
    # unit to suggest, as `sealkit.units.parse` reads it; empty for the kind's own metric one
    unit: str = ""
    options: tuple[str, ...] = ()  # what a choice is made from
    # wrong routes; none may lie within reach of the answer, nor of another one
    pitfalls: tuple[Pitfall, ...] = ()
    hint: str = ""  # what to look at when nothing is recognised
    marks: int = 1  # what the question is worth

    def __post_init__(self) -> None:
        faults = _option_faults(self) if self.kind == CHOICE else _number_faults(self)
        if self.marks < 1:
            faults.append(Fault(f"{self.key}: marks", str(self.marks), "at least 1"))
        if faults:
            raise InputError(faults)


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
    if number_of(q, float(q.value)) == 0.0:
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
    texts = [plain(o) for o in q.options]
    if len(q.options) < 2 or len(set(texts)) < len(texts) or not all(texts):
        return [Fault(f"{q.key}: options", str(len(q.options)), "two or more different options")]
    if max(map(len, q.options)) > LONGEST:
        return [Fault(f"{q.key}: options", "a long one", f"at most {LONGEST} characters each")]
    named = [q.value, *(p.value for p in q.pitfalls)]
    faults = [
        Fault(f"{q.key}: option", short(v), "one of the options")
        for v in named
        if v not in q.options
    ]
    if len(set(named)) < len(named):
        faults.append(Fault(f"{q.key}: pitfalls", "an option named twice", "different options"))
    return faults


def unit_of(q: Question) -> str:
    """The unit suggested."""
    return q.unit or KINDS[q.kind].metric[0]


def number_of(q: Question, value: float, unit: str = "") -> float:
    """The number that is written before a unit (the suggested one); percentages as shares."""
    factor, zero = scale(q.kind, unit or unit_of(q))
    return value * factor + zero


@functools.cache
def scale(kind: str, unit: str) -> tuple[float, float]:
    """Factor and zero that turn a plain SI number of this kind into the number before a unit."""
    if kind in PLAIN:
        return 1.0, 0.0

    def number(value: float) -> float:
        if unit.startswith("1e-6/"):
            return 1e6 * float(from_si(value, kind).to(f"1/{unit[5:]}").magnitude)
        if kind == "gauge pressure" and Q(1, unit).dimensionality == Q(1, "Pa").dimensionality:
            return float(Q(value, "Pa").to(unit).magnitude)
        return float(from_si(value, kind).to(unit).magnitude)

    zero = number(0.0) if kind == "temperature" else 0.0
    return number(1.0) - zero, zero


def reach(q: Question, number: float) -> float:
    """How far a number as written may lie from this one and still be it.

    A temperature near the zero of its scale has no figures to lose: there the reach is that of
    ten degrees.
    """
    size = max(abs(number), 10.0) if q.kind == "temperature" else abs(number)
    return size * 10.0 ** (1 - q.digits)


def _meet(q: Question, one: float, other: float) -> bool:
    """Whether some text could be taken for either."""
    a, b = number_of(q, one), number_of(q, other)
    return abs(a - b) <= reach(q, a) + reach(q, b)


def with_pitfalls(question: Question, pitfalls: Iterable[Pitfall]) -> Question:
    """The question with those pitfalls that can be told from its answer and from each other.

    On one engine two wrong routes may end at the same number; then the first of them stays. The
    most important one stands first.
    """
    for pitfall in pitfalls:
        try:
            question = replace(question, pitfalls=(*question.pitfalls, pitfall))
        except InputError:
            continue
    return question
