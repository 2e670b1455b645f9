"""Files of a class: roster, key file, answers files, and folders of them.

A file from outside is data. Nothing in it is evaluated, its size and depth are bounded. Who wrote
an answers file is decided by what it says and by the signature of the card it answers, not by its
file name. The time of saving is that of the trainee's own clock.
"""

from __future__ import annotations

import codecs
import csv
import datetime
import hashlib
import io
import json
import re
import unicodedata
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from sealkit.classroom.homework import cards
from sealkit.classroom.homework.cards import Card, same_id
from sealkit.errors import Fault, InputError, fail, short
from sealkit.files import write_whole
from sealkit.units import SYSTEMS

ANSWERS, VERSION = "sealkit-answers", 1
KEY = "sealkit-card-key"
LARGEST = 64_000  # bytes of an answers file; a real one has about two thousand
_LARGEST_KEY = 20_000_000
_MOST_FILES = 20_000
_MOST_TRAINEES = 5_000


def file_name(trainee: str) -> str:
    """A name for files that says who it is about, safe on every system and different for each."""
    plain = unicodedata.normalize("NFKD", same_id(trainee)).encode("ascii", "ignore").decode()
    slug = re.sub(r"[^a-z0-9]+", "-", plain).strip("-")[:40]
    if slug == trainee and not re.fullmatch(r"con|prn|aux|nul|com\d|lpt\d", slug):
        return slug
    digest = hashlib.sha256(same_id(trainee).encode()).hexdigest()[:8]
    return f"{slug}-{digest}" if slug else f"trainee-{digest}"


# --------------------------------------------------------------------------- roster
@dataclass(frozen=True)
class Trainee:
    """One line of the roster."""

    id: str
    name: str
    system: str


def decoded(content: bytes) -> str:
    """Text as spreadsheets write it: UTF-8, UTF-16 with its mark, or else Windows' ANSI."""
    if content.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)):
        return content.decode("utf-16", "replace")
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        return content.decode("cp1252", "replace")


# headings of a roster, and units, in other words
_HEADS = {
    "id": ("id", "student id", "trainee id", "student number", "number", "no", "username", "login"),
    "name": ("name", "full name", "student", "student name", "trainee", "display name"),
    "first": ("first name", "given name", "forename", "first"),
    "last": ("last name", "family name", "surname", "last"),
    "units": ("units", "unit", "system"),
}
_HEAD = {word: head for head, words in _HEADS.items() for word in words}
_UNITS = dict.fromkeys(("inch", "in", "inches", "imperial", "us"), "inch") | dict.fromkeys(
    ("metric", "mm", "si"), "metric"
)


def roster(text: str, system: str = "metric") -> tuple[Trainee, ...]:
    """Read a roster: CSV with a heading; columns ``id`` and ``name``, and ``units`` if wanted.

    Other usual headings will do (student id, first name and last name), and a first line such as
    ``sep=;``. Raises InputError naming every line that cannot be taken: no id, an id twice, unknown
    units, quotes that do not end; or a column that stands there twice.
    """
    if len(text) > 1_000_000:
        raise fail("roster", f"{len(text)} characters", "a list of names")
    text, begins = text.removeprefix("\ufeff"), 1
    head = next((x for x in text.splitlines() if x.strip()), "")
    comma = max(",;\t", key=head.count)
    if told := re.match(r"\s*\"?sep=([,;\t])\"?[ \t]*(?:\r\n|\r|\n)", text, re.IGNORECASE):
        text, comma, begins = text[told.end() :], told[1], 2
    above = begins - 1
    # strict: a quote that does not end would swallow the trainees of the lines below
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    rows = []
    try:
        for raw in reader:
            if any(row := [_clean(c) for c in raw]):
                rows.append((begins, row))
            begins = above + reader.line_num + 1
    except csv.Error as err:  # or a cell of more than a hundred thousand characters
        wanted = "a list of names, saved as CSV; a cell that begins with a quote ends with one"
        raise fail(f"roster, line {begins}", str(err), wanted) from err
    heads = [c.casefold() for c in rows[0][1]] if rows else []
    columns = [_HEAD.get(" ".join(re.split(r"[\s_-]+", c)), c) for c in heads]
    for column in _HEADS:
        if columns.count(column) > 1:
            raise fail("roster", f"the column {column} twice", "each column once")
    if "id" not in columns or not {"name", "first", "last"} & set(columns):
        wanted = 'a heading with id and name, such as "id,name", then "1,Ann"'
        raise fail("roster", ", ".join(heads) or "nothing", wanted)
    found: dict[str, Trainee] = {}
    faults = []
    for line, row in rows[1:]:
        cells = dict(zip(columns, row, strict=False))
        said = cells.get("units", "").casefold() or system
        who, units = cells.get("id", ""), _UNITS.get(said, said)
        name = cells.get("name") or f"{cells.get('first', '')} {cells.get('last', '')}".strip()
        if not who or len(who) > 80:
            faults.append(Fault(f"roster, line {line}", "no id", "an id of at most 80 characters"))
        elif same_id(who) in found:
            faults.append(Fault(f"roster, line {line}", short(who), "each id once"))
        elif units not in SYSTEMS:
            faults.append(Fault(f"roster, line {line}, units", short(units), '"metric" or "inch"'))
        else:
            found[same_id(who)] = Trainee(who, name[:120] or who, units)
    if not found and not faults:
        faults.append(Fault("roster", "no trainee", "at least one"))
    if len(found) > _MOST_TRAINEES:
        faults.append(Fault("roster", f"{len(found)} trainees", f"at most {_MOST_TRAINEES}"))
    if faults:
        raise InputError(faults)
    return tuple(found.values())


def _clean(cell: str) -> str:
    return " ".join("".join(c if c.isprintable() else " " for c in cell).split())


# --------------------------------------------------------------------------- cards and key
@dataclass(frozen=True)
class Key:
    """What the instructor keeps: every card of one set, when answers are due, and the term."""

    set: str
    cards: tuple[Card, ...]
    due: str = ""
    term: str = ""

    def dumps(self) -> str:
        """The key file; it holds the signatures, so it stays with the instructor."""
        parts = ("trainee", "name", "system", "tag", "numbers")
        data = {
            "format": KEY,
            "version": VERSION,
            "note": "For the instructor only.",
            **{k: getattr(self, k) for k in ("set", "due", "term")},
            "cards": [{k: getattr(c, k) for k in parts} for c in self.cards],
        }
        return json.dumps(data, ensure_ascii=False, indent=0) + "\n"


def make_key(
    class_key: str, name: str, trainees: Iterable[Trainee], due: str = "", term: str = ""
) -> Key:
    """Draw the cards of a class.

    Parameters
    ----------
    due : time such as "2026-12-01T18:00"; empty where nothing is late
    """
    due = due and due_time(due, "due")
    drawn = tuple(cards.draw(class_key, name, t.id, t.name, t.system, term) for t in trainees)
    return Key(name, drawn, due, term)


def load_key(text: str | bytes) -> Key:
    """Read a key file.

    Raises InputError if it is no key file or one of its cards cannot be read.
    """
    wanted = "a key file as the command cards wrote it"
    try:
        data = _json(text, _LARGEST_KEY)
        if data.get("format") != KEY or data.get("version") != VERSION:
            raise fail("key file", data.get("format"), wanted)
        name = str(data["set"])
        if name not in cards.set_titles():
            raise fail("key file, set", name, "a set there is")
        drawn = tuple(
            Card(name, c["trainee"], c["name"], c["system"], c["numbers"], c["tag"])
            for c in data["cards"]
        )
        for card in drawn:
            card.items  # noqa: B018  a card that cannot be graded is told before any grading
        due = str(data.get("due", ""))
        if due:
            when(due, "key file, due")
        return Key(name, drawn, due, str(data.get("term", "")))
    except (Refused, KeyError, TypeError, AttributeError) as err:
        raise fail("key file", getattr(err, "told", str(err)), wanted) from err


def when(text: Any, name: str = "time") -> datetime.datetime:
    """A time with its offset from universal time.

    Raises InputError for anything else, under this name.
    """
    try:
        found = datetime.datetime.fromisoformat(text)
    except (TypeError, ValueError):
        found = None
    if found is None or found.tzinfo is None or not 2000 < found.year < 2200:
        wanted = "a day and a time with its distance from universal time"
        raise fail(name, text, f'{wanted}, such as "2026-12-01T18:00+01:00"')
    return found.astimezone(datetime.UTC)


def due_time(text: str, name: str) -> str:
    """A time with its offset from universal time; one without is taken as this machine's own.

    Raises InputError for anything else, under this name.
    """
    try:
        own = datetime.datetime.fromisoformat(text)
        if len(text) > len("2026-12-01") and own.tzinfo is None and 2000 < own.year < 2200:
            text = own.astimezone().isoformat(timespec="minutes")
    except (TypeError, ValueError):
        pass  # told below
    when(text, name)
    return text


def past(due: str) -> str:
    """What is said about a due time that is over already; empty where it is not."""
    over = due and when(due) < datetime.datetime.now(datetime.UTC)
    return f"{due} is past: every file would be late" if over else ""


# --------------------------------------------------------------------------- answers files
class Refused(InputError):
    """An answers file that cannot be taken: the reason, a detail where there is more to say, and
    the trainee whose card it answers where that is somebody else.
    """

    def __init__(self, reason: str, detail: str = "", owner: str = "") -> None:
        self.reason, self.detail, self.owner = reason, detail, owner
        self.told = f"{reason}: {detail}" if detail else reason
        wanted = "a file as the notebook saved it"
        super().__init__(Fault("answers file", short(self.told), wanted))


@dataclass(frozen=True)
class Answers:
    """One answers file, read and unharmed."""

    set: str
    trainee: str
    card: str
    saved: str
    answers: Mapping[str, str]

    def dumps(self) -> str:
        """The file. It carries answers only, and a sum by which a change is noticed."""
        data = {"format": ANSWERS, "version": VERSION, **vars(self)}
        return json.dumps({**data, "check": _sum(data)}, ensure_ascii=False, indent=1) + "\n"


def _sum(data: Mapping[str, Any]) -> str:
    body = json.dumps(data, sort_keys=True, ensure_ascii=True, separators=(",", ":"))
    return hashlib.sha256(body.encode()).hexdigest()


def answers_of(card: Card, given: Mapping[str, str], saved: datetime.datetime) -> Answers:
    """Answers to a card, ready to be saved."""
    known = [item.question.key for item in card.items]
    kept = {k: given[k] for k in known if given.get(k, "").strip()}
    at = saved.astimezone(datetime.UTC).isoformat(timespec="seconds")
    return Answers(card.set, card.trainee, card.tag, at, kept)


def _pairs(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    out = dict(pairs)
    if len(out) < len(pairs):
        raise Refused("a name stands in it twice")
    return out


def _number(text: str) -> float:
    if len(text) > 20:
        raise Refused("a number in it is too long")
    return float(text)


def _no_constant(text: str) -> Any:
    raise Refused(f"{text} is no number")


def _json(text: str | bytes, largest: int = LARGEST) -> dict[str, Any]:
    """An object of JSON, bounded in size, with no name twice; the reader bounds its depth."""
    if len(text) > largest:
        raise Refused("too large for an answers file")
    if isinstance(text, bytes):
        marks = (codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE)
        try:
            text = text.decode("utf-16" if text.startswith(marks) else "utf-8-sig")
        except UnicodeDecodeError:
            raise Refused("not text (UTF-8)") from None
    if not text.strip():
        raise Refused("empty")
    try:
        data = json.loads(
            text,
            object_pairs_hook=_pairs,
            parse_int=lambda s: int(_number(s)) if len(s) < 16 else _number(s),
            parse_float=_number,
            parse_constant=_no_constant,
        )
    except Refused:
        raise
    except RecursionError:
        raise Refused("nested too deeply") from None
    except (ValueError, OverflowError):
        raise Refused("cut off or damaged", "it is no whole JSON file") from None
    if not isinstance(data, dict):
        raise Refused("another kind of file, not an answers file")
    return data


def read_answers(text: str | bytes) -> Answers:
    """Read an answers file.

    Raises Refused with the reason why it cannot be taken.
    """
    data = _json(text)
    if data.get("format") == cards.FORMAT:
        raise Refused("the card, not the answers to it")
    if data.get("format") != ANSWERS:
        raise Refused("another kind of file, not an answers file")
    if data.get("version") != VERSION:
        raise Refused("written by another version")
    fields = ("set", "trainee", "card", "saved")
    given = data.get("answers")
    texts = [data.get(k) for k in (*fields, "check")]
    if not all(isinstance(v, str) and len(v) <= 100 for v in texts):
        raise Refused("a part is missing or of the wrong kind")
    if not isinstance(given, dict) or not all(isinstance(v, str) for v in given.values()):
        raise Refused("the answers are not text")
    body = {k: v for k, v in data.items() if k != "check"}
    try:
        same = data["check"] == _sum(body)
    except UnicodeEncodeError:
        same = False
    if not same:
        raise Refused("changed after it was saved")
    try:
        when(data["saved"])
    except InputError:
        raise Refused("no time of saving") from None
    return Answers(**{k: data[k] for k in fields}, answers=given)


# --------------------------------------------------------------------------- folders
def read_folder(folder: Path) -> Iterator[tuple[str, bytes | str]]:
    """Files of a folder and its subfolders: name and content, or the reason as text.

    Nothing is written, links are not followed, and no more of a file is read than an answers file
    can have.
    """
    if not folder.is_dir():
        raise fail("folder", folder, "a folder of answers files")
    paths = sorted(p for p in folder.rglob("*") if not p.is_dir() or p.is_symlink())
    if len(paths) > _MOST_FILES:
        raise fail("folder", f"{len(paths)} files", f"at most {_MOST_FILES}")
    for path in paths:
        name = path.relative_to(folder).as_posix()
        try:
            if path.is_symlink():
                yield name, "a link, not followed"
            elif not path.is_file():
                yield name, "no plain file"
            elif path.stat().st_size > LARGEST:
                yield name, "too large for an answers file"
            else:
                with path.open("rb") as file:
                    yield name, file.read(LARGEST + 1)
        except OSError as err:
            yield name, f"cannot be read ({err.strerror})"


def kept_key(folder: Path, name: str) -> Key | None:
    """The key of a set that lies in a folder; None where none does.

    Raises InputError if there is one that cannot be read.
    """
    path = folder / f"key-{name}.json"
    if not path.exists():
        return None
    try:
        return load_key(path.read_bytes())
    except (OSError, InputError) as err:
        raise fail("key file", path, "one that can be read, or another folder (--out)") from err


NOT_THERE = "a card of {}, who is not on this roster"


def keep_key(there: Key | None, key: Key) -> None:
    """Refuse to write a key over one that has other cards, or cards more.

    Raises InputError naming the trainee; nothing is written.
    """
    drawn = {(c.trainee, c.tag) for c in key.cards}
    if there and (lost := [c for c in there.cards if (c.trainee, c.tag) not in drawn]):
        who = lost[0].trainee
        card = "another card of {}" if who in {c.trainee for c in key.cards} else NOT_THERE
        came = f"a key-{key.set}.json with {card.format(short(who))}"
        wanted = "the class key, term and roster that it was made with, or another folder (--out)"
        raise InputError(Fault("key file", came, wanted))


def write_files(folder: Path, files: Mapping[str, str], stale: Iterable[str] = ()) -> None:
    """Write files so that each is there whole or not at all; keys for their owner alone.

    Raises InputError if the folder cannot be written.

    Parameters
    ----------
    folder : made where it is not there
    files : name -> text
    stale : names that an earlier run may have written; those not written now are removed
    """
    try:
        for name, text in files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            secret = path.name.startswith("key-")
            write_whole(path, text.encode("utf-8", "replace"), private=secret)
        for name in set(stale) - set(files):
            (folder / name).unlink(missing_ok=True)
    except OSError as err:
        raise fail("folder", folder, f"a folder that can be written ({err.strerror})") from err
