"""What an instructor decides about a class, in one small file beside the key: ``class.toml``.

Everything in it may be left out::

    without_unit = 0.5      # share of the marks for a right number whose unit is missing

A wrong turn that this class takes and no pitfall of the cards names, in the formulas of the cards
(see `sealkit.classroom.homework.formulas`)::

    [[pitfall]]
    question = "02/torque"
    name = "friction under the head on its edge"
    gives = "parts.stretching + parts.thread + preload * head_friction * bearing / 2"
    says = "The friction was put on the edge of the head. It acts on a mean radius."

It may name what the question's own formulas name, and ``answer``.
"""

from __future__ import annotations

import math
import tomllib
from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Any

from sealkit.classroom.homework import cards
from sealkit.classroom.homework.answers import CHOICE, Feedback, Pitfall, Question, check
from sealkit.classroom.homework.cards import Card
from sealkit.classroom.homework.formulas import evaluate
from sealkit.classroom.homework.pitfalls import unit_of, with_pitfalls
from sealkit.errors import InputError, fail, quoted, short

__all__ = ["NOTHING", "OwnPitfall", "Policy", "load"]

_LARGEST = 200_000  # characters of a file


@dataclass(frozen=True)
class OwnPitfall:
    """A pitfall of the instructor: question such as "02/torque", name, formula, what is said."""

    question: str
    name: str
    gives: str
    says: str


@dataclass(frozen=True)
class Policy:
    """What holds for a class.

    Parameters
    ----------
    pitfalls : the instructor's own, looked for after those of the cards
    without_unit : share of the marks for a number without its unit that is right in the one the
        card suggests
    """

    pitfalls: tuple[OwnPitfall, ...] = ()
    without_unit: float = 0.0

    def judge(self, question: Question, text: str) -> Feedback:
        """Judge one answer as `answers.check` does, with part marks where this class has them."""
        said = check(question, text)
        if not (said.unitless and self.without_unit):
            return said
        if not check(question, f"{text} {unit_of(question)}").right:
            return said
        words = f"{said.says} The number is right; part of the marks for it."
        return replace(said, says=words, part=self.without_unit)

    def questions(self, card: Card) -> tuple[Question, ...]:
        """The questions of a card, with the instructor's own pitfalls.

        Raises
        ------
        InputError
            for a formula that cannot be worked out.
        """
        return tuple(self._question(card, item.question) for item in card.items)

    def _question(self, card: Card, question: Question) -> Question:
        own = [p for p in self.pitfalls if p.question == question.key]
        if not own:
            return question
        names, found = cards.names_at(question, card), []
        for p in own:
            try:
                value = evaluate(p.gives, names)
            except (InputError, ArithmeticError, ValueError) as err:
                why = err.faults[0].came if isinstance(err, InputError) else str(err)
                wanted = "a formula of what the question names"
                raise fail(f"class file, pitfall {p.name}: {p.gives}", why, wanted) from err
            if isinstance(value, (int, float)) and math.isfinite(value) and value > 0.0:
                found.append(Pitfall(p.name, float(value), p.says))
        return with_pitfalls(question, found)


NOTHING = Policy()  # nothing decided


def load(text: str | bytes) -> Policy:
    """Read a class file.

    Raises
    ------
    InputError
        naming what cannot be taken.
    """
    wanted = "a class file (TOML), as the instructor's guide tells"
    try:
        if isinstance(text, bytes):
            text = text.decode("utf-8-sig")
        if len(text) > _LARGEST:
            raise fail("class file", f"{len(text)} characters", wanted)
        data = tomllib.loads(text)
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as err:
        raise fail("class file", short(str(err)), wanted) from err
    if strange := sorted(set(data) - _PARTS):
        raise fail("class file", f"a part {short(strange[0])}", quoted(sorted(_PARTS)))
    return Policy(
        tuple(_own(p, i) for i, p in enumerate(_tables(data, "pitfall"), 1)),
        _share(data, "without_unit"),
    )


_PARTS = {"pitfall", "without_unit"}


def _share(data: Mapping[str, Any], name: str) -> float:
    value = data.get(name, 0.0)
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0.0 <= value <= 1.0:
        raise fail(f"class file, {name}", value, "a share from 0 to 1, such as 0.5")
    return float(value)


def _tables(data: Mapping[str, Any], name: str) -> list[Any]:
    found = data.get(name, [])
    if not isinstance(found, list):
        raise fail(f"class file, {name}", "another kind of entry", f"[[{name}]]")
    return found


def _own(entry: Any, place: int) -> OwnPitfall:
    where, parts = f"class file, pitfall {place}", ("question", "name", "gives", "says")
    if not isinstance(entry, dict) or set(entry) != set(parts):
        raise fail(where, quoted(entry) or "nothing", quoted(parts))
    if not all(isinstance(v, str) and v.strip() for v in entry.values()):
        raise fail(where, "an empty part, or one that is no text", "texts")
    if cards.entry_of(entry["question"])["kind"] == CHOICE:
        raise fail(where, "a choice", "a question that asks for a number")
    return OwnPitfall(**entry)
