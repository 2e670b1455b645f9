"""Job cards: a set of questions on an engine of the trainee's own, drawn from a class key.

A card follows from class key, set, trainee, shop system and term alone, on every machine. What was
handed out is kept in the instructor's key file, so that it is graded as it was drawn. The numbers
of its engine are kept as the text they are printed with ("84.5 mm"), so that nothing is lost
between the paper, the file and the check.

The card file that a trainee gets holds the engine and no answers: the package works them out from
the engine, as it does for anybody who knows how to call it. This is homework and no exam. The class
key stays with the instructor. It decides the draw,
and signs each card, so that answers to somebody else's card are noticed.

>>> mine = new_key()
>>> card = draw(mine, "02", "t-01")
>>> card == draw(mine, "02", "t-01"), len(card.items)
(True, 8)
"""

from __future__ import annotations

import functools
import hashlib
import hmac
import json
import math
import re
import secrets
import string
import unicodedata
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from sealkit import resources
from sealkit.classroom.drawing.card_chart import Chart
from sealkit.classroom.homework import engines
from sealkit.classroom.homework.answers import CHOICE, Question
from sealkit.classroom.homework.formulas import names_of, worked_out
from sealkit.classroom.homework.questions import Solved, ask, by_formulas, drawn, read_data
from sealkit.errors import InputError, fail, quoted
from sealkit.units import SYSTEMS

FORMAT, VERSION = "sealkit-card", 1
PRACTICE = "practice"
_CLASS_KEY = re.compile(r"[0-9a-f]{32,128}")  # 128 bits at least
_MOST_DRAWS = 2_000
_LONGEST_ID = 80
_LONGEST_FILE = 20_000


@dataclass(frozen=True)
class Item:
    """One question of a card, with the chart it is read from where it has one."""

    question: Question
    chart: Chart | None = None


@dataclass(frozen=True)
class Card:
    """The job card of one trainee."""

    set: str  # number of the lesson, such as "02"
    trainee: str  # id on the roster
    name: str  # name to print
    system: str  # "metric" or "inch"
    numbers: Mapping[str, str]  # name -> text, such as ``{"bore": "84.5 mm"}``: the engine
    # signature of the instructor's class key; "practice metric" or "practice inch" on a practice
    # card
    tag: str

    @property
    def practice(self) -> bool:
        """Whether the trainee may check the answers."""
        return self.tag.startswith(PRACTICE)

    @property
    def title(self) -> str:
        """Number and title of the set."""
        return f"{self.set} {set_titles()[self.set]}"

    @functools.cached_property
    def items(self) -> tuple[Item, ...]:
        """The questions, with answers and pitfalls worked out for this engine."""
        return _items(self.set, self.system, self.numbers, drawn=False)

    @property
    def marks(self) -> int:
        """Marks of the whole card."""
        return sum(item.question.marks for item in self.items)

    def dumps(self) -> str:
        """The card file: the engine, and no answers."""
        data = {
            "format": FORMAT,
            "version": VERSION,
            "note": "An invented engine for a class. It holds no answers.",
            **{k: getattr(self, k) for k in (*_TEXTS, "numbers")},
        }
        return json.dumps(data, ensure_ascii=False, indent=1) + "\n"


_TEXTS = ("set", "trainee", "name", "system", "tag")


# --------------------------------------------------------------------------- the data
def _set(name: str) -> dict[str, Any]:
    if name not in set_titles():
        raise fail("set", name, f"one of {quoted(set_titles())}")
    return read_data("cards", f"{name}.toml", "title", "question")


@functools.cache
def set_titles() -> dict[str, str]:
    """Sets there are: number of the lesson -> title."""
    folder = resources.data_file("cards", "engine.toml").parent
    return {
        path.stem: str(read_data("cards", path.name, "title")["title"])
        for path in sorted(folder.glob("[0-9][0-9].toml"))
    }


# --------------------------------------------------------------------------- drawing
def same_id(trainee: str) -> str:
    """An id as it is compared: letter case and spaces do not tell two trainees apart."""
    return " ".join(unicodedata.normalize("NFKC", trainee).casefold().split())


_ALWAYS = ("bore", "stroke", "ratio", "layout", "thread")  # numbers of the engine's line


@functools.cache
def _used(name: str) -> frozenset[str]:
    """Numbers that a set prints or draws a chart from; no others are in its card file."""
    data = _set(name)
    printed = {
        place
        for q in data["question"]
        for _, place, _, _ in string.Formatter().parse(q["text"])
        if place
    }
    counts = {"cylinders", "on_head", "around"}
    return frozenset((printed - counts) | set(data.get("also", ())) | set(_ALWAYS))


def _items(
    name: str, system: str, numbers: Mapping[str, str], drawn: bool = True
) -> tuple[Item, ...]:
    """The questions of a set on one engine.

    An engine that is being drawn has to be clear of pitfalls. One that was handed out is taken as
    it is: where a later edition can no longer tell a pitfall apart, it leaves it out. Raises
    InputError if an answer cannot be told from a pitfall.
    """
    n = engines.plain(numbers, system)
    if missing := sorted(_used(name) - set(numbers)):
        raise fail("numbers", f"nothing under {missing[0]}", "all numbers of the engine")
    texts, names = engines.printable(numbers, system), names_of(n)
    out = []
    for entry in _set(name)["question"]:
        key = f"{name}/{entry['key']}"
        found = _solved(key, entry, names)
        asked = ask(key, entry, found, texts, system, strict=drawn)
        if asked.kind == CHOICE:
            asked = replace(asked, options=_shuffled(asked.options, texts))
        out.append(Item(asked, found.chart))
    return tuple(out)


def _solved(key: str, entry: Mapping[str, Any], names: Mapping[str, Any]) -> Solved:
    """Answer and wrong routes of one question on one engine."""
    if entry["kind"] == CHOICE:
        return Solved(entry["right"])
    found = (drawn if "chart" in _like(entry) else by_formulas)(_like(entry), names)
    if not all(math.isfinite(v) and v > 0.0 for v in (found.value, *found.wrong.values())):
        raise fail(key, "an answer or pitfall that is not above zero", "numbers above zero")
    return found


def _like(entry: Mapping[str, Any]) -> Mapping[str, Any]:
    """The entry with the formulas: its own, or those of the question it is like."""
    if "like" not in entry:
        return entry
    name, _, key = entry["like"].partition("/")
    return next(e for e in _set(name)["question"] if e["key"] == key)


def entry_of(key: str, where: str = "question") -> Mapping[str, Any]:
    """The entry of a question such as "02/torque" in the data.

    Raises InputError if there is none, naming where it was asked for.
    """
    name, _, short_key = key.partition("/")
    if name not in set_titles():
        raise fail(where, key, "a question, with its set before it, such as 02/torque")
    for entry in _set(name)["question"]:
        if entry["key"] == short_key:
            return dict(entry)
    raise fail(where, key, f"a question of set {name}, such as {name}/chart")


def names_at(question: Question, card: Card) -> dict[str, Any]:
    """What a formula about a question of a card may name: what its own formulas may, and answer."""
    names = names_of(engines.plain(card.numbers, card.system))
    entry = _like(entry_of(question.key))
    known = worked_out(entry, names) if "answer" in entry else names
    return {**known, "answer": question.value}


def _shuffled(options: Iterable[str], texts: Mapping[str, str]) -> tuple[str, ...]:
    """Options in an order that follows from the engine."""

    def place(option: str) -> bytes:
        return hashlib.sha256(f"{texts['bore']}{texts['stroke']}{option}".encode()).digest()

    return tuple(sorted(options, key=place))


# --------------------------------------------------------------------------- cards
def new_key() -> str:
    """A class key of 128 bits."""
    return secrets.token_hex(16)


def check_key(class_key: str) -> str:
    """A class key without the blanks around it.

    Raises InputError for one that was not made by `new_key`: what people think up can be guessed.
    """
    bare = class_key.strip()
    if not _CLASS_KEY.fullmatch(bare):
        wanted = "one as the kit makes it: 32 or more of the digits 0 to 9 and a to f"
        raise fail("class key", f"{len(bare)} characters", wanted)
    return bare


def draw(
    class_key: str,
    name: str,
    trainee: str,
    printed: str = "",
    system: str = "metric",
    term: str = "",
) -> Card:
    """The card of one trainee; the same for the same class key, set, trainee, system and term.

    Engines are drawn until one is sane and each of its answers can be told from every pitfall.
    Raises InputError for an unknown set or system, no id, a key that the kit has not made, or a set
    that no engine fits.

    Parameters
    ----------
    trainee : id on the roster
    term : such as "2027"; another term has other cards
    """
    return _draw(check_key(class_key), name, trainee, printed, system, term)


def _draw(secret: str, name: str, trainee: str, printed: str, system: str, term: str) -> Card:
    if system not in SYSTEMS:
        raise fail("system", system, quoted(SYSTEMS))
    if not same_id(trainee) or len(trainee) > _LONGEST_ID:
        raise fail("trainee", trainee, f"an id of 1 to {_LONGEST_ID} characters")
    if len(term) > _LONGEST_ID:
        raise fail("term", term, f"at most {_LONGEST_ID} characters")
    _set(name)
    start = json.dumps([FORMAT, VERSION, secret, name, same_id(trainee), system, same_id(term)])
    for attempt in range(_MOST_DRAWS):
        drawn = engines.drawn(f"{start}{attempt}", system)
        numbers = {k: v for k, v in drawn.items() if k in _used(name)}
        try:
            engines.sane(engines.plain(drawn, system))
            items = _items(name, system, numbers)
        except InputError as err:
            if any(f.broken for f in err.faults):
                raise  # no other engine mends a damaged file
            continue
        card = Card(name, trainee, printed or trainee, system, numbers, "")
        card = replace(card, tag=tag(secret, card))
        card.__dict__["items"] = items
        return card
    raise fail("set", name, f"a set that one of {_MOST_DRAWS} engines fits")


def tag(secret: str, card: Card) -> str:
    """Signature of a card: who got which engine, under this class key."""
    if secret == _PRACTICE_KEY:
        return f"{PRACTICE} {card.system}"
    body = json.dumps([card.set, same_id(card.trainee), card.system, sorted(card.numbers.items())])
    return hmac.new(secret.encode(), body.encode(), hashlib.sha256).hexdigest()[:32]


_PRACTICE_KEY = "practice card"  # no class key can be this


def practice(name: str, trainee: str, system: str = "metric") -> Card:
    """A card to practise on, which the trainee may check; anybody can draw it."""
    return _draw(_PRACTICE_KEY, name, trainee, "", system, "")


def load(text: str | bytes) -> Card:
    """Read a card file.

    A practice card is drawn by the kit and never read from a file, so that no homework card can be
    turned into one that may be checked. Raises InputError if it is no card file, is cut off, says
    that it is a practice card, or its engine does not fit the set.
    """
    wanted = "a card file as it was handed out"
    if len(text) > _LONGEST_FILE:
        raise fail("card file", f"{len(text)} characters", wanted)
    try:
        data = json.loads(text)
    except (ValueError, RecursionError) as err:
        raise fail("card file", "a file that cannot be read", wanted) from err
    if not isinstance(data, dict) or data.get("format") != FORMAT:
        raise fail("card file", "another kind of file", wanted)
    if data.get("version") != VERSION:
        raise fail("card file", f"version {data.get('version')}", f"version {VERSION}")
    texts = {k: data.get(k) for k in _TEXTS}
    numbers = data.get("numbers")
    if not all(isinstance(v, str) for v in texts.values()) or not isinstance(numbers, dict):
        raise fail("card file", "a file with parts missing", wanted)
    if texts["system"] not in SYSTEMS:
        raise fail("card file, system", texts["system"], quoted(SYSTEMS))
    _set(str(texts["set"]))
    if str(texts["tag"]).startswith(PRACTICE):
        raise fail("card file", "a practice card", "a card handed out; draw a practice card here")
    card = Card(numbers=numbers, **{k: str(v) for k, v in texts.items()})
    card.items  # noqa: B018  an engine that does not fit is told now
    return card
