"""Grading a class: answers files in, each trainee's marks and what became of each file out.

A file that cannot be taken is listed with the reason; it stops nothing and changes nobody else's
marks.
"""

from __future__ import annotations

import hashlib
import itertools
import re
from collections import Counter
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field
from pathlib import Path

from sealkit.classroom.homework import cards
from sealkit.classroom.homework.answers import CHOICE, Feedback, Question, read
from sealkit.classroom.homework.cards import Card, same_id
from sealkit.classroom.homework.class_files import (
    LARGEST,
    Answers,
    Key,
    Refused,
    file_name,
    read_answers,
    when,
)
from sealkit.classroom.homework.policy import NOTHING, Override, Policy
from sealkit.classroom.homework.reading import plain
from sealkit.errors import Fault, short


@dataclass(frozen=True)
class Listed:
    """What became of one file."""

    file: str  # its name
    trainee: str  # id on the roster; of a refused file whose it says it is, "" if nobody's
    counted: bool  # whether its marks count
    why: str = ""  # what there is to say about it, such as "late"; empty where nothing is
    detail: str = ""  # more of that
    named: str = ""  # trainee whose name the file has, where that is somebody else
    owner: str = ""  # trainee whose card it answers, where that is somebody else

    @property
    def reason(self) -> str:
        """All that is to say about it, in words."""
        why = f"{self.why}: {self.detail}" if self.detail else self.why
        name = f"the file's name is that of {self.named}" if self.named else ""
        return "; ".join(filter(None, (why, name)))


@dataclass(frozen=True)
class Graded:
    """One trainee's result; `feedback` is empty where no file counts and no marks are by hand.

    `deducted` is the share of the marks taken off for being late; `by_hand` is what the instructor
    decided about single answers; `excused` is somebody who need not hand in and has not.
    """

    card: Card
    file: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)
    feedback: tuple[Feedback, ...] = ()
    deducted: float = 0.0
    by_hand: Mapping[str, Override] = field(default_factory=dict)
    excused: bool = False

    @property
    def marks(self) -> tuple[float, ...]:
        """Marks question by question."""
        pairs = zip(self.card.items, self.feedback, strict=True)
        return tuple(self._marks(i.question, f) for i, f in pairs) if self.feedback else ()

    def _marks(self, question: Question, feedback: Feedback) -> float:
        decided = self.by_hand.get(question.key)
        if decided is not None and decided.marks is not None:
            return decided.marks
        return round(question.marks * feedback.earned * (1.0 - self.deducted), 3)

    @property
    def remarks(self) -> str:
        """What there is to say about the marks; empty where nothing is."""
        out = [f"late, {100 * self.deducted:g} % taken off"] if self.deducted else []
        unread = [
            i.question.key.partition("/")[2]
            for i, f in zip(self.card.items, self.feedback, strict=False)
            if f.layer == "type" and not f.unitless and i.question.key not in self.by_hand
        ]
        out += [f"could not be read: {', '.join(unread)}"] if unread else []
        out += [
            f"{o.question.partition('/')[2]}: {o.comment or 'marks by hand'}"
            for o in self.by_hand.values()
        ]
        return "; ".join(out)

    @property
    def total(self) -> float:
        """Marks of the card."""
        return sum(self.marks)


@dataclass(frozen=True)
class Difficulty:
    """How a class did on one question."""

    name: str  # of the question, without its set
    # layer of the feedback -> how many (see `sealkit.classroom.homework.answers`)
    layers: Counter[str]
    pitfalls: Counter[str]  # pitfall -> how many met it


@dataclass(frozen=True)
class Unnamed:
    """Wrong answers to one question that no pitfall names and that lie alike."""

    name: str  # of the question, without its set
    times: float  # how many times the right answer they are, on average
    answers: Mapping[str, str]  # trainee's id -> what was written


@dataclass(frozen=True)
class Grades:
    """A graded folder: results in the order of the roster, files in the order of their names, and
    what the class file asks for and could not be followed.
    """

    key: Key
    results: tuple[Graded, ...]
    files: tuple[Listed, ...]
    faults: tuple[Fault, ...] = ()

    @property
    def done(self) -> tuple[Graded, ...]:
        """Those who have been graded."""
        return tuple(r for r in self.results if r.feedback)

    @property
    def another_key(self) -> str:
        """That most files answer another set, in a sentence; empty where they do not."""
        sets = Counter(f.detail for f in self.files if f.why == OTHER_SET)
        for name, count in sets.most_common(1):
            if 2 * count > len(self.files):
                return (
                    f"{count} of {len(self.files)} files answer set {name}, and this is the key of "
                    f"set {self.key.set}: another key file?"
                )
        return ""

    @property
    def silent(self) -> tuple[Card, ...]:
        """The cards of those from whom there is nothing, not even a file that cannot be taken."""
        return tuple(r.card for r in self.results if not r.feedback and self.why(r) == NO_FILE)

    @property
    def nobody(self) -> str:
        """Why nobody could be graded, in a sentence; empty where somebody was."""
        if self.done:
            return ""
        if not self.files:
            return "there is no file in the folder"
        strange = sum(f.why == OTHER_KEY for f in self.files)
        if strange:
            return (
                f"{strange} of {len(self.files)} files hold answers to cards that are not of this "
                f"key file; perhaps it is another class's, or the cards of set {self.key.set} were "
                "drawn again with another class key"
            )
        word, count = Counter(f.why for f in self.files).most_common(1)[0]
        return f"{count} of {len(self.files)} files: {word}"

    def why(self, result: Graded) -> str:
        """Why nothing counts for this trainee."""
        if result.excused:
            return "excused"
        card = result.card
        mine = (f.reason for f in self.files if f.trainee == card.trainee and not f.counted)
        under_other = (
            f"no file; {short(f.file)} answers this card under another id"
            for f in self.files
            if f.owner == card.trainee
        )
        named = (
            f"no file; {short(f.file)} is that of {short(f.trainee)}"
            for f in self.files
            if f.named == card.trainee
        )
        return next(itertools.chain(mine, under_other, named, (NO_FILE,)))

    def difficulty(self) -> list[Difficulty]:
        """Question by question: how many were right, empty, or met which pitfall."""
        out = []
        for place, item in enumerate(self.key.cards[0].items):
            said = [r.feedback[place] for r in self.done]
            out.append(
                Difficulty(
                    item.question.key.partition("/")[2],
                    Counter(f.layer for f in said),
                    Counter(f.pitfall for f in said if f.pitfall),
                )
            )
        return out

    def unnamed(self) -> list[Unnamed]:
        """Numbers that no pitfall names, grouped by how many times the right answer they are.

        Every trainee has another engine, so one wrong turn shows as one multiple of the answer
        (or of something near it) and never as one number.
        """
        out = []
        for place, item in enumerate(self.key.cards[0].items):
            found: list[tuple[float, str, str]] = []
            for r in self.done:
                q = r.card.items[place].question
                text, said = r.answers.get(q.key, ""), r.feedback[place]
                strange = said.layer in ("size", "value") and not said.unitless
                value = read(q, text) if strange else ""
                if isinstance(value, float) and isinstance(q.value, float):
                    found.append((value / q.value, r.card.trainee, text))
            for group in _alike(sorted(found), 10.0 ** (1 - item.question.digits)):
                times = sum(t for t, _, _ in group) / len(group)
                answers = {trainee: text for _, trainee, text in group}
                out.append(Unnamed(item.question.key.partition("/")[2], times, answers))
        return sorted(out, key=lambda u: -len(u.answers))


def _alike(
    found: Iterable[tuple[float, str, str]], share: float
) -> Iterable[list[tuple[float, str, str]]]:
    """Groups whose neighbours differ by no more than this share."""
    group: list[tuple[float, str, str]] = []
    for one in found:
        if group and abs(one[0] - group[-1][0]) > share * abs(one[0]):
            yield group
            group = []
        group.append(one)
    if group:
        yield group


# --------------------------------------------------------------------------- grading
@dataclass(frozen=True)
class _Offered:
    """A file that could count for its trainee."""

    file: str
    digest: str
    answers: Answers
    late: bool
    named: str
    result: Graded


def grade(
    files: Iterable[tuple[str, bytes | str]],
    key: Key,
    accept_late: bool = False,
    policy: Policy = NOTHING,
) -> Grades:
    """Grade answers files.

    Returns Grades; every file is listed once, and at most one counts for each trainee.

    Parameters
    ----------
    files : pairs of file name and content, in any order; where the content is text and not bytes,
        it is the reason why it could not be read (as from `class_files.read_folder`)
    accept_late : count what was saved after the due time, and say so
    """
    policy = policy.fitting(key.cards)
    by_id = {same_id(c.trainee): c for c in key.cards}
    by_tag = {c.tag: c for c in key.cards}
    listed: list[Listed] = []
    offered: dict[str, list[_Offered]] = {}
    for name, content in files:
        try:
            if isinstance(content, str):
                raise Refused(content)
            found = read_answers(content)
            card = _card_of(found, key, by_id, by_tag)
        except Refused as err:
            whose = _claimed(content, by_id)
            listed.append(Listed(name, whose, False, err.reason, err.detail, owner=err.owner))
            continue
        late = policy.days_late(card, key.due, found.saved)
        off = 0.0 if accept_late else min(1.0, (policy.late_per_day or 0.0) * late)
        said, by_hand = _feedback(card, found.answers, policy), policy.by_hand(card)
        result = Graded(card, name, found.answers, said, off, by_hand)
        named = _named(name, card, key)
        if late and not accept_late and policy.late_per_day is None:
            detail = f"saved {found.saved}; it would have had {result.total:g} marks"
            listed.append(Listed(name, card.trainee, False, "late", detail, named))
        else:
            digest = hashlib.sha256(content).hexdigest()
            one = _Offered(name, digest, found, bool(late), named, result)
            offered.setdefault(card.trainee, []).append(one)
    results: dict[str, Graded] = {}
    counted: dict[str, _Offered] = {}
    told: dict[str, list[str]] = {}
    for trainee, theirs in offered.items():
        best = _best(theirs, f"answers-{key.set}-{file_name(trainee)}.json", policy.best)
        results[trainee], counted[trainee] = best.result, best
        told[trainee] = ["late, accepted"] if best.late and not best.result.deducted else []
        told[trainee] += [best.result.remarks] if best.result.remarks else []
        for one in theirs:
            if one.digest == best.digest:
                detail = f"the same file again ({best.file})"
                if one.named:
                    words = f"the same file came as {one.file}, the name of {short(one.named)}"
                    told[trainee].append(words)
            else:
                here, there = best.result.total, one.result.total
                detail = (
                    f"another one counts ({best.file}, {here:g} marks; this one {there:g} marks)"
                )
                which = "most marks" if policy.best and here > there else "saved last"
                words = f"counts, {which}, with {here:g} marks; {one.file} has {there:g} marks"
                told[trainee].append(words)
            if one is not best:
                listed.append(Listed(one.file, trainee, False, "duplicate", detail, one.named))
    for f in listed:
        if f.owner in told:
            told[f.owner].append(f"{f.file} answers this card under another id")
    for a, b, count in _word_for_word(results.values()):
        words = f"{count} answers, wrong on one card or both, are word for word those of"
        told[a].append(f"{words} {short(b)}")
        told[b].append(f"{words} {short(a)}")
    listed += [
        Listed(o.file, trainee, True, "; ".join(told[trainee]), named=o.named)
        for trainee, o in counted.items()
    ]
    every = tuple(results.get(c.trainee) or _without_file(c, policy) for c in key.cards)
    return Grades(key, every, tuple(sorted(listed, key=lambda f: f.file)), policy.faults)


def _word_for_word(results: Iterable[Graded]) -> Iterable[tuple[str, str, int]]:
    """Pairs of trainees with numbers in common that are wrong on one card or both.

    Engines differ, so what is right on one is wrong on another. Two such answers may be chance,
    three are told.
    """
    wrote: dict[tuple[str, str], list[tuple[bool, str]]] = {}
    for r in results:
        for item, said in zip(r.card.items, r.feedback, strict=True):
            text = plain(r.answers.get(item.question.key, ""))
            if item.question.kind != CHOICE and any(map(str.isdigit, text)):
                one = (said.right, r.card.trainee)
                wrote.setdefault((item.question.key, text), []).append(one)
    pairs: Counter[tuple[str, str]] = Counter()
    for same in wrote.values():
        for (right, a), (too, b) in itertools.combinations(sorted(same)[:_MOST_ALIKE], 2):
            if not (right and too):
                pairs[min(a, b), max(a, b)] += 1
    for (a, b), count in sorted(pairs.items()):
        if count >= 3:
            yield a, b, count


def _best(offered: list[_Offered], plain_name: str, by_marks: bool) -> _Offered:
    """The last one saved (or that with most marks); of two alike, the content decides."""
    # of copies the one with its own name counts
    by_name = sorted(offered, key=lambda f: (Path(f.file).name != plain_name, f.file))

    def place(f: _Offered) -> tuple[float, float, str]:
        marks = f.result.total if by_marks else 0.0
        return marks, when(f.answers.saved).timestamp(), f.digest

    return max(by_name, key=place)


def _without_file(card: Card, policy: Policy) -> Graded:
    """Somebody of whom no file counts: marks by hand, where there are any, on a blank card."""
    by_hand = policy.by_hand(card)
    if all(o.marks is None for o in by_hand.values()):
        return Graded(card, excused=(card.set, same_id(card.trainee)) in policy.excused)
    return Graded(card, feedback=_feedback(card, {}, policy), by_hand=by_hand)


def _feedback(card: Card, answers: Mapping[str, str], policy: Policy) -> tuple[Feedback, ...]:
    return tuple(policy.judge(q, answers.get(q.key, "")) for q in policy.questions(card))


_MOST_ALIKE = 50  # trainees with the same text that are compared with each other
NO_FILE = "no file"
OTHER_SET = "answers to another set"
OTHER_KEY = "answers to a card that is not of this key file"


def _card_of(
    found: Answers, key: Key, by_id: Mapping[str, Card], by_tag: Mapping[str, Card]
) -> Card:
    if found.set != key.set:
        other = short(found.set, 12) if found.set not in cards.set_titles() else found.set
        raise Refused(OTHER_SET, other)
    if found.card.startswith(cards.PRACTICE):
        raise Refused("answers to a practice card")
    card = by_id.get(same_id(found.trainee))
    if card is None:
        raise Refused(f"nobody on the roster has the id {short(found.trainee)}")
    if found.card != card.tag:
        theirs = by_tag.get(found.card)
        if theirs is None:
            raise Refused(OTHER_KEY, "perhaps of another class key")
        words = f"answers to the card of {short(theirs.trainee)}"
        raise Refused(words, "renamed or copied", theirs.trainee)
    return card


def _claimed(content: bytes | str, by_id: Mapping[str, Card]) -> str:
    """Whose file a refused one says it is, for the list only; '' if nobody on the roster."""
    if isinstance(content, str):
        return ""
    found = re.search(rb'"trainee"\s*:\s*"([^"\\]{1,80})"', content[:LARGEST])
    name = found[1].decode("utf-8", "replace") if found else ""
    card = by_id.get(same_id(name)) if name else None
    return card.trainee if card else ""


def _named(name: str, card: Card, key: Key) -> str:
    """Who else on the roster the file's name points to; '' if nobody."""
    stem = Path(name).name.lower()
    match = re.match(rf"answers-{key.set}-(.+?)(?: ?\(\d+\))?\.json\Z", stem)
    if match is None or match[1] == file_name(card.trainee).lower():
        return ""
    others = {file_name(c.trainee).lower(): c.trainee for c in key.cards}
    return others.get(match[1], "")
