"""What an instructor decides about a class, in one small file beside the key: ``class.toml``.

The instructor's guide shows one with all its parts; each may be left out. Marks by hand outlast
every regrade. A pitfall of the class is a formula as the cards have them (see
`sealkit.classroom.homework.formulas`): it may name what the question's own formulas name, and
``answer``.
"""

from __future__ import annotations

import datetime
import math
import tomllib
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from typing import Any

from sealkit.classroom.homework import cards
from sealkit.classroom.homework.answers import CHOICE, Feedback, Question, check
from sealkit.classroom.homework.cards import Card, same_id
from sealkit.classroom.homework.class_files import due_time, when
from sealkit.classroom.homework.formulas import evaluate
from sealkit.classroom.homework.pitfalls import Pitfall, unit_of
from sealkit.errors import Fault, InputError, fail, near, quoted, short

_LARGEST = 200_000  # characters of a file


@dataclass(frozen=True)
class OwnPitfall:
    """A pitfall of the instructor: question such as "02/torque", name, formula, what is said."""

    question: str
    name: str
    gives: str
    says: str

    def on(self, question: Question, card: Card) -> Question:
        """The question with this pitfall.

        Raises InputError, ArithmeticError or ValueError where it has no value on this card, or one
        that cannot be told from the answer or from another pitfall.
        """
        value = evaluate(self.gives, cards.names_at(question, card))
        if not (isinstance(value, (int, float)) and math.isfinite(value) and value > 0.0):
            raise fail("formula", value, "a number above zero")
        pitfall = Pitfall(self.name, float(value), self.says)
        return replace(question, pitfalls=(*question.pitfalls, pitfall))


@dataclass(frozen=True)
class Override:
    """What the instructor decided about one answer: marks (None leaves them) and a comment."""

    question: str
    trainee: str
    marks: float | None
    comment: str


@dataclass(frozen=True)
class Policy:
    """What holds for a class."""

    # the instructor's own, looked for after those of the cards
    pitfalls: tuple[OwnPitfall, ...] = ()
    # share of the marks for a number without its unit that is right in the one the card suggests
    without_unit: float = 0.0
    # share of the marks taken off for each day begun; None where late files do not count
    late_per_day: float | None = None
    best: bool = False  # of several files the one with most marks counts, not the last one
    due: Mapping[str, str] = field(default_factory=dict)  # set -> time
    # (set, id as it is compared) -> time
    extensions: Mapping[tuple[str, str], str] = field(default_factory=dict)
    overrides: tuple[Override, ...] = ()  # decisions about single answers
    # (set, id as it is compared) of those who need not hand in
    excused: tuple[tuple[str, str], ...] = ()
    faults: tuple[Fault, ...] = ()  # entries of the file that cannot be taken

    def days_late(self, card: Card, due: str, saved: str) -> int:
        """Days begun since this trainee's answers were due; `due` is what the key file says."""
        due = self.due_for(card, due)
        if not due:
            return 0
        past = (when(saved) - when(due)).total_seconds()
        return max(0, math.ceil(past / 86_400.0))

    def due_for(self, card: Card, due: str) -> str:
        """When this trainee's answers are due; `due` is what the key file says."""
        return self.extensions.get((card.set, same_id(card.trainee)), self.due.get(card.set, due))

    def open_until(self, card: Card, due: str) -> datetime.datetime | None:
        """Last time at which a file of this trainee counts; None where none is the last."""
        due = self.due_for(card, due)
        if not due or self.late_per_day == 0.0:
            return None
        days = math.ceil(1.0 / self.late_per_day) - 1 if self.late_per_day else 0
        # the days that leave something, and as the instructor wrote the time
        return datetime.datetime.fromisoformat(due) + datetime.timedelta(min(days, 36_500))

    def by_hand(self, card: Card) -> dict[str, Override]:
        """What was decided by hand about this card: question -> override."""
        mine = (o for o in self.overrides if same_id(o.trainee) == same_id(card.trainee))
        return {o.question: o for o in mine}

    def fitting(self, drawn: Sequence[Card]) -> Policy:
        """What can be followed for these cards; `faults` tells of the rest.

        Left out are decisions about somebody who is not on the roster, and marks there are not. A
        pitfall is told that has no value, or cannot be told apart, on one card or more.
        """
        every, first = {same_id(c.trainee): c for c in drawn}, drawn[0]
        worth = {i.question.key: i.question.marks for i in first.items}
        faults = list(self.faults)
        roster = f"an id on the roster of set {first.set}"
        asked = [
            *(("extension", e) for e in self.extensions),
            *(("excused", e) for e in self.excused),
        ]
        for part, (name, who) in asked:
            if name == first.set and who not in every:
                faults.append(Fault(f"class file, {part} of {name}", short(who), roster))
        overrides = []
        for o in self.overrides:
            most = worth.get(o.question)
            if most is None:
                continue  # of another set
            where = f"class file, override of {o.question}"
            if same_id(o.trainee) not in every:
                faults.append(Fault(where, short(o.trainee), roster))
            elif o.marks is not None and not 0.0 <= o.marks <= most:
                faults.append(Fault(f"{where}, marks", str(o.marks), f"marks from 0 to {most}"))
            else:
                overrides.append(o)
        refused = [one for card in drawn for one in self._with_own(card)[1]]
        for p in self.pitfalls:
            if lost := [err for own, err in refused if own is p]:
                came = f"{len(lost)} of {len(drawn)} cards that cannot take it"
                where, (why, wanted) = f"class file, pitfall {p.name}: {p.gives}", _why(lost[0])
                faults.append(Fault(where, came, wanted, reason=why))
        return replace(self, overrides=tuple(overrides), faults=tuple(dict.fromkeys(faults)))

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
        """The questions of a card, with those of the instructor's own pitfalls that it has."""
        return self._with_own(card)[0]

    def _with_own(
        self, card: Card
    ) -> tuple[tuple[Question, ...], list[tuple[OwnPitfall, Exception]]]:
        """The questions, and each pitfall that one of them could not take, with the reason."""
        made = {item.question.key: item.question for item in card.items}
        lost: list[tuple[OwnPitfall, Exception]] = []
        for p in (p for p in self.pitfalls if p.question in made):
            try:
                made[p.question] = p.on(made[p.question], card)
            except _NOTHING_GIVEN as err:
                lost.append((p, err))
        return tuple(made.values()), lost


_NOTHING_GIVEN = (InputError, ArithmeticError, ValueError)  # a formula without a value


def _why(err: Exception) -> tuple[str, str]:
    """Why a pitfall could not be followed, and what is wanted of it."""
    fault = err.faults[0] if isinstance(err, InputError) else None
    if fault is None or fault.broken:
        return str(fault.came) if fault else short(str(err)), "a formula of what the question names"
    return "", str(fault.wanted)


NOTHING = Policy()  # nothing decided


def load(text: str | bytes) -> Policy:
    """Read a class file; an entry of a list that cannot be taken is one of its `faults`.

    Raises InputError where the file, or what holds for everybody, cannot be taken.
    """
    wanted = "a class file (TOML), as the instructor's guide tells"
    try:
        if isinstance(text, bytes):
            text = text.decode("utf-8-sig")
        if len(text) > _LARGEST:
            raise fail("class file", f"{len(text)} characters", wanted)
        data = tomllib.loads(text)
    except (UnicodeDecodeError, tomllib.TOMLDecodeError, RecursionError) as err:
        raise fail("class file", str(err), wanted) from err
    if strange := sorted(set(data) - _PARTS):
        hint = near(strange[0], _PARTS)
        raise fail("class file, part", strange[0], quoted(sorted(_PARTS)), hint)
    attempts, due = data.get("attempts", "last"), data.get("due", {})
    if attempts not in ("last", "best"):
        raise fail("class file, attempts", attempts, '"last" or "best"')
    if not isinstance(due, dict) or not set(due) <= set(cards.set_titles()):
        raise fail("class file, due", due, 'a time for each set, such as "02"')
    faults: list[Fault] = []

    def entries(name: str, reads: Callable[[Any, str], Any]) -> Iterator[Any]:
        found = data.get(name, [])
        if not isinstance(found, list):
            raise fail(f"class file, {name}", "another kind of entry", f"[[{name}]]")
        for i, entry in enumerate(found, 1):
            try:
                yield reads(entry, f"class file, {name} {i}")
            except InputError as err:
                faults.extend(err.faults)

    return Policy(
        tuple(entries("pitfall", _own)),
        _share(data, "without_unit") or 0.0,
        _share(data, "late_per_day"),
        attempts == "best",
        {name: _time(at, f"class file, due of {name}") for name, at in due.items()},
        dict(entries("extension", _extension)),
        tuple(entries("override", _override)),
        tuple(entries("excused", _trainee)),
        tuple(faults),
    )


_PARTS = {"attempts", "due", "excused", "extension", "late_per_day", "override", "pitfall"}
_PARTS |= {"without_unit"}


def _share(data: Mapping[str, Any], name: str) -> float | None:
    value = data.get(name)
    if value is None:
        return None
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not 0.0 <= value <= 1.0:
        raise fail(f"class file, {name}", value, "a share from 0 to 1, such as 0.5")
    return float(value)


def _time(value: Any, where: str) -> str:
    """A time of the file, as text; TOML knows times of its own."""
    return due_time(value.isoformat() if isinstance(value, datetime.date) else value, where)


def _texts(entry: Any, where: str, texts: tuple[str, ...], more: tuple[str, ...] = ()) -> None:
    """Refuse an entry whose texts are missing or empty, or that has parts that are not known."""
    if not isinstance(entry, dict) or not set(texts) <= set(entry) <= {*texts, *more}:
        came = quoted(entry) if isinstance(entry, dict) else short(entry)
        raise InputError(Fault(where, came or "nothing", quoted((*texts, *more))))
    if not all(isinstance(entry[t], str) and entry[t].strip() for t in texts):
        raise fail(where, "an empty part, or one that is no text", "texts")


def _trainee(entry: Any, where: str, *more: str) -> tuple[str, str]:
    _texts(entry, where, ("set", "trainee"), more)
    if entry["set"] not in cards.set_titles():
        raise fail(f"{where}, set", entry["set"], "a set there is")
    return entry["set"], same_id(entry["trainee"])


def _extension(entry: Any, where: str) -> tuple[tuple[str, str], str]:
    return _trainee(entry, where, "due"), _time(entry.get("due"), f"{where}, due")


def _override(entry: Any, where: str) -> Override:
    _texts(entry, where, ("question", "trainee"), ("marks", "comment"))
    cards.entry_of(entry["question"], where)
    marks, comment = entry.get("marks"), entry.get("comment", "")
    number = isinstance(marks, (int, float)) and not isinstance(marks, bool)
    if not (number or marks is None) or not isinstance(comment, str):
        raise fail(where, "marks that are no number, or a comment that is no text", "both or one")
    if marks is None and not comment.strip():
        raise fail(where, "neither marks nor a comment", "one of them, or both")
    return Override(entry["question"], entry["trainee"], marks, comment[:500])


def _own(entry: Any, where: str) -> OwnPitfall:
    _texts(entry, where, ("question", "name", "gives", "says"))
    if cards.entry_of(entry["question"], where)["kind"] == CHOICE:
        raise fail(where, "a choice", "a question that asks for a number")
    return OwnPitfall(**entry)
