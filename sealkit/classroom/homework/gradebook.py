"""Homework: cards for a roster, answers files, and the gradebook made from a folder of them.

An answers file is data. Nothing in it is evaluated, its size and depth are bounded, and a file that
cannot be taken is listed with the reason; it stops nothing and changes nobody else's marks. The
same files give the same pages and tables, byte for byte.

Who wrote an answers file is decided by what it says and by the signature of the card it answers,
not by its file name. The time of saving is that of the trainee's own clock.
"""

from __future__ import annotations

import csv
import datetime
import hashlib
import html
import io
import json
import re
import unicodedata
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

from sealkit.classroom.homework import card_page, cards
from sealkit.classroom.homework.answers import Feedback, check
from sealkit.classroom.homework.cards import Card, same_id
from sealkit.course import write_whole
from sealkit.errors import Fault, InputError, fail, short
from sealkit.units import SYSTEMS

ANSWERS, VERSION = "sealkit-answers", 1
KEY = "sealkit-card-key"
LARGEST = 64_000  # bytes of an answers file; a real one has about two thousand
_LARGEST_KEY = 20_000_000
_MOST_FILES = 20_000
_MOST_TRAINEES = 5_000


# --------------------------------------------------------------------------- safe text
def defused(text: str) -> str:
    """A cell that no spreadsheet takes for a formula, without control marks."""
    text = "".join(c if c.isprintable() else " " for c in text)
    head = unicodedata.normalize("NFKC", text).lstrip()[:1]
    return f"'{text}" if head in ("=", "+", "-", "@") else text


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


def roster(text: str, system: str = "metric") -> tuple[Trainee, ...]:
    """Read a roster: CSV with a heading; columns ``id`` and ``name``, and ``units`` if wanted.

    Raises
    ------
    InputError
        naming every line that cannot be taken: no id, an id twice, unknown units, quotes that do
        not end; or a column that stands there twice.
    """
    if len(text) > 1_000_000:
        raise fail("roster", f"{len(text)} characters", "a list of names")
    text = text.removeprefix("\ufeff")
    head = next((x for x in text.splitlines() if x.strip()), "")
    comma = max(",;\t", key=head.count)
    # strict: a quote that does not end would swallow the trainees of the lines below
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=comma, strict=True)
    rows, begins = [], 1
    try:
        for raw in reader:
            if any(row := [_clean(c) for c in raw]):
                rows.append((begins, row))
            begins = reader.line_num + 1
    except csv.Error as err:  # or a cell of more than a hundred thousand characters
        wanted = "a list of names, saved as CSV; a cell that begins with a quote ends with one"
        raise fail(f"roster, line {begins}", str(err), wanted) from err
    columns = [c.casefold() for c in rows[0][1]] if rows else []
    for column in ("id", "name", "units"):
        if columns.count(column) > 1:
            raise fail("roster", f"the column {column} twice", "each column once")
    if "id" not in columns or "name" not in columns:
        raise fail("roster", ", ".join(columns) or "nothing", "a heading with id and name")
    found: dict[str, Trainee] = {}
    faults = []
    for line, row in rows[1:]:
        cells = dict(zip(columns, row, strict=False))
        who, units = cells.get("id", ""), cells.get("units", "").casefold() or system
        if not who or len(who) > 80:
            faults.append(Fault(f"roster, line {line}", "no id", "an id of at most 80 characters"))
        elif same_id(who) in found:
            faults.append(Fault(f"roster, line {line}", short(who), "each id once"))
        elif units not in SYSTEMS:
            faults.append(Fault(f"roster, line {line}, units", short(units), '"metric" or "inch"'))
        else:
            found[same_id(who)] = Trainee(who, cells.get("name", "")[:120] or who, units)
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
    """What the instructor keeps: every card of one set, and when answers are due."""

    set: str
    cards: tuple[Card, ...]
    due: str = ""

    def dumps(self) -> str:
        """The key file; it holds the signatures, so it stays with the instructor."""
        out = [
            {k: getattr(c, k) for k in ("trainee", "name", "system", "tag", "numbers")}
            for c in self.cards
        ]
        data = {
            "format": KEY,
            "version": VERSION,
            "note": "For the instructor only.",
            "set": self.set,
            "due": self.due,
            "cards": out,
        }
        return json.dumps(data, ensure_ascii=False, indent=0) + "\n"


def make_key(class_key: str, name: str, trainees: Iterable[Trainee], due: str = "") -> Key:
    """Draw the cards of a class.

    Parameters
    ----------
    class_key : secret of the instructor
    name : of the set, such as "02"
    trainees : the roster
    due : time such as "2026-12-01T18:00+01:00"; empty where nothing is late
    """
    if due:
        when(due)
    drawn = tuple(cards.draw(class_key, name, t.id, t.name, t.system) for t in trainees)
    return Key(name, drawn, due)


def load_key(text: str | bytes) -> Key:
    """Read a key file.

    Raises
    ------
    InputError
        if it is no key file or one of its cards cannot be read.
    """
    wanted = "a key file as the command cards wrote it"
    try:
        data = _json(text, _LARGEST_KEY)
        if data.get("format") != KEY or data.get("version") != VERSION:
            raise fail("key file", short(data.get("format")), wanted)
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
            when(due)
        return Key(name, drawn, due)
    except (_Refused, KeyError, TypeError, AttributeError) as err:
        raise fail("key file", str(err), wanted) from err


def when(text: str) -> datetime.datetime:
    """A time with its offset from universal time.

    Raises
    ------
    InputError
        for anything else.
    """
    try:
        found = datetime.datetime.fromisoformat(text)
    except (TypeError, ValueError):
        found = None
    if found is None or found.tzinfo is None or not 2000 < found.year < 2200:
        raise fail("time", text, 'a time with its offset, such as "2026-12-01T18:00+01:00"')
    return found.astimezone(datetime.UTC)


# --------------------------------------------------------------------------- answers files
class _Refused(Exception):
    """A file that cannot be taken: reason, and what was found."""


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
        data = {
            "format": ANSWERS,
            "version": VERSION,
            "set": self.set,
            "trainee": self.trainee,
            "card": self.card,
            "saved": self.saved,
            "answers": dict(self.answers),
        }
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
        raise _Refused("a name stands in it twice")
    return out


def _number(text: str) -> float:
    if len(text) > 20:
        raise _Refused("a number in it is too long")
    return float(text)


def _no_constant(text: str) -> Any:
    raise _Refused(f"{text} is no number")


def _json(text: str | bytes, largest: int = LARGEST) -> dict[str, Any]:
    """An object of JSON, bounded in size, with no name twice; the reader bounds its depth."""
    if len(text) > largest:
        raise _Refused("too large for an answers file")
    if isinstance(text, bytes):
        try:
            text = text.decode("utf-8-sig")
        except UnicodeDecodeError:
            raise _Refused("not text (UTF-8)") from None
    if not text.strip():
        raise _Refused("empty")
    try:
        data = json.loads(
            text,
            object_pairs_hook=_pairs,
            parse_int=lambda s: int(_number(s)) if len(s) < 16 else _number(s),
            parse_float=_number,
            parse_constant=_no_constant,
        )
    except RecursionError:
        raise _Refused("nested too deeply") from None
    except (ValueError, OverflowError):
        raise _Refused("cut off or damaged: it is no whole JSON file") from None
    if not isinstance(data, dict):
        raise _Refused("another kind of file, not an answers file")
    return data


def read_answers(text: str | bytes) -> Answers:
    """Read an answers file.

    Raises
    ------
    InputError
        with the reason why it cannot be taken.
    """
    try:
        return _answers(text)
    except _Refused as err:
        raise fail("answers file", str(err), "a file as the notebook saved it") from err


def _answers(text: str | bytes) -> Answers:
    data = _json(text)
    if data.get("format") != ANSWERS:
        raise _Refused("another kind of file, not an answers file")
    if data.get("version") != VERSION:
        raise _Refused("written by another version")
    fields = ("set", "trainee", "card", "saved")
    given = data.get("answers")
    texts = [data.get(k) for k in (*fields, "check")]
    if not all(isinstance(v, str) and len(v) <= 100 for v in texts):
        raise _Refused("a part is missing or of the wrong kind")
    if not isinstance(given, dict) or not all(isinstance(v, str) for v in given.values()):
        raise _Refused("the answers are not text")
    body = {k: v for k, v in data.items() if k != "check"}
    try:
        same = data["check"] == _sum(body)
    except UnicodeEncodeError:
        same = False
    if not same:
        raise _Refused("changed after it was saved")
    try:
        when(data["saved"])
    except InputError:
        raise _Refused("no time of saving") from None
    return Answers(data["set"], data["trainee"], data["card"], data["saved"], given)


# --------------------------------------------------------------------------- grading
@dataclass(frozen=True)
class Listed:
    """What became of one file."""

    file: str
    trainee: str
    counted: bool
    reason: str


@dataclass(frozen=True)
class Graded:
    """One trainee's result; `feedback` is empty where no file counts."""

    card: Card
    file: str = ""
    saved: str = ""
    answers: Mapping[str, str] = field(default_factory=dict)
    feedback: tuple[Feedback, ...] = ()

    @property
    def marks(self) -> tuple[int, ...]:
        """Marks question by question."""
        pairs = zip(self.card.items, self.feedback, strict=True)
        return tuple(i.question.marks * f.right for i, f in pairs) if self.feedback else ()

    @property
    def total(self) -> int:
        """Marks of the card."""
        return sum(self.marks)


@dataclass(frozen=True)
class Grades:
    """A graded folder: results in the order of the roster, files in the order of their names."""

    key: Key
    results: tuple[Graded, ...]
    files: tuple[Listed, ...]

    def table(self) -> str:
        """The gradebook as CSV, one line a trainee."""
        first = self.key.cards[0].items
        names = [i.question.key.partition("/")[2] for i in first]
        rows: list[list[Any]] = [["id", "name", "state", "marks", "of", "percent", *names, "file"]]
        for r in self.results:
            whole = r.card.marks
            told = [r.total, whole, round(100 * r.total / whole)] if r.feedback else ["", whole, ""]
            marks: list[Any] = list(r.marks) or [""] * len(names)
            state = "graded" if r.feedback else self.why(r.card)
            rows.append([r.card.trainee, r.card.name, state, *told, *marks, r.file])
        return _csv(rows)

    @property
    def graded(self) -> int:
        """Trainees who have been graded."""
        return sum(bool(r.feedback) for r in self.results)

    @property
    def nobody(self) -> str:
        """Why nobody could be graded, in a sentence; empty where somebody was."""
        if self.graded:
            return ""
        if not self.files:
            return "there is no file in the folder"
        strange = sum(f.reason.startswith(OTHER_KEY) for f in self.files)
        if strange:
            return (
                f"{strange} of {len(self.files)} files hold answers to cards that are not of this "
                f"key file; perhaps it is another class's, or the cards of set {self.key.set} were "
                "drawn again with another class key"
            )
        reasons = Counter(f.reason.partition(":")[0] for f in self.files)
        word, count = reasons.most_common(1)[0]
        return f"{count} of {len(self.files)} files: {word}"

    def why(self, card: Card) -> str:
        """Why nobody counts for this trainee."""
        mine = [f for f in self.files if f.trainee == card.trainee and not f.counted]
        return mine[0].reason if mine else "no file"

    def file_table(self) -> str:
        """Every file with what became of it, as CSV."""
        rows = [["file", "trainee", "counted", "reason"]]
        rows += [[f.file, f.trainee, "yes" if f.counted else "no", f.reason] for f in self.files]
        return _csv(rows)

    def feedback_page(self, result: Graded) -> str:
        """What one trainee gets back: verdict and words, never the number."""
        return _feedback_page(result)

    def class_page(self) -> str:
        """Difficulty of each question and the pitfalls the class met."""
        return _class_page(self)


def _csv(rows: Iterable[Sequence[Any]]) -> str:
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    for row in rows:
        writer.writerow([defused(c) if isinstance(c, str) else c for c in row])
    return out.getvalue()


def grade(files: Iterable[tuple[str, bytes | str]], key: Key, accept_late: bool = False) -> Grades:
    """Grade answers files.

    Parameters
    ----------
    files : pairs of file name and content, in any order; where the content is text and not bytes,
        it is the reason why it could not be read (as from `read_folder`)
    key : of the set
    accept_late : count what was saved after the due time, and say so

    Returns
    -------
    Grades; every file is listed once, and at most one counts for each trainee
    """
    by_id = {same_id(c.trainee): c for c in key.cards}
    by_tag = {c.tag: c for c in key.cards}
    listed: list[Listed] = []
    offered: dict[str, list[tuple[str, str, Answers, str]]] = {}
    for name, content in files:
        try:
            if isinstance(content, str):
                raise _Refused(content)
            found = _answers(content)
            card = _card_of(found, key, by_id, by_tag)
        except _Refused as err:
            listed.append(Listed(name, _claimed(content, by_id), False, str(err)))
            continue
        late = bool(key.due) and when(found.saved) > when(key.due)
        note = _name_note(name, card, key)
        if late and not accept_late:
            told = f"late: saved {found.saved}; it would have had {_marks(card, found)} marks"
            listed.append(Listed(name, card.trainee, False, told + note))
            continue
        note = ("late, accepted" if late else "") + note
        digest = hashlib.sha256(content if isinstance(content, bytes) else b"").hexdigest()
        offered.setdefault(card.trainee, []).append((digest, name, found, note.lstrip("; ")))
    results = {}
    for trainee, found_files in offered.items():
        # the last one saved counts; of two saved at once, the choice follows from the content
        plain_name = f"answers-{key.set}-{file_name(trainee)}.json"
        found_files.sort(key=lambda f: (Path(f[1]).name != plain_name, f[1]))
        best = max(found_files, key=lambda f: (when(f[2].saved).timestamp(), f[0]))
        for one in found_files:
            if one is best:
                listed.append(Listed(one[1], trainee, True, one[3]))
            else:
                same = "the same file again" if one[0] == best[0] else "another one counts"
                listed.append(Listed(one[1], trainee, False, f"duplicate: {same} ({best[1]})"))
        card = by_id[same_id(trainee)]
        feedback = tuple(
            check(i.question, best[2].answers.get(i.question.key, "")) for i in card.items
        )
        results[trainee] = Graded(card, best[1], best[2].saved, best[2].answers, feedback)
    every = tuple(results.get(c.trainee, Graded(c)) for c in key.cards)
    return Grades(key, every, tuple(sorted(listed, key=lambda f: f.file)))


OTHER_KEY = "answers to a card that is not of this key file: perhaps of another class key"


def _card_of(
    found: Answers, key: Key, by_id: Mapping[str, Card], by_tag: Mapping[str, Card]
) -> Card:
    if found.set != key.set:
        other = short(found.set, 12) if found.set not in cards.set_titles() else found.set
        raise _Refused(f"answers to another set: {other}")
    if found.card.startswith(cards.PRACTICE):
        raise _Refused("answers to a practice card")
    card = by_id.get(same_id(found.trainee))
    if card is None:
        raise _Refused(f"nobody on the roster has the id {short(found.trainee)}")
    if found.card != card.tag:
        theirs = by_tag.get(found.card)
        if theirs is None:
            raise _Refused(OTHER_KEY)
        raise _Refused(f"answers to the card of {short(theirs.trainee)}: renamed or copied")
    return card


def _claimed(content: bytes | str, by_id: Mapping[str, Card]) -> str:
    """Whose file a refused one says it is, for the list only; '' if nobody on the roster."""
    if isinstance(content, str):
        return ""
    found = re.search(rb'"trainee"\s*:\s*"([^"\\]{1,80})"', content[:LARGEST])
    name = found[1].decode("utf-8", "replace") if found else ""
    card = by_id.get(same_id(name)) if name else None
    return card.trainee if card else ""


def _marks(card: Card, found: Answers) -> int:
    return sum(
        i.question.marks * check(i.question, found.answers.get(i.question.key, "")).right
        for i in card.items
    )


def _name_note(name: str, card: Card, key: Key) -> str:
    """A word where the file's name points to somebody else on the roster."""
    stem = Path(name).name.lower()
    match = re.match(rf"answers-{key.set}-(.+?)(?: ?\(\d+\))?\.json\Z", stem)
    if match is None or match[1] == file_name(card.trainee).lower():
        return ""
    others = {file_name(c.trainee).lower(): c for c in key.cards}
    other = others.get(match[1])
    return f"; the file's name is that of {other.trainee}" if other else ""


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


# --------------------------------------------------------------------------- pages
_esc = html.escape


def _shown(text: str, limit: int = 80) -> str:
    """What a trainee wrote, safe to show."""
    plain = "".join(c if c.isprintable() else " " for c in text[:limit])
    return _esc(plain + ("…" if len(text) > limit else ""))


def _typeset(text: str) -> str:
    """Powers and dots as they are printed; a trainee may have typed ** and *."""
    return text.replace("**2", "²").replace("**3", "³").replace("*", "·")


def _feedback_page(result: Graded) -> str:
    card = result.card
    rows = ""
    for i, (item, said) in enumerate(zip(card.items, result.feedback, strict=True), 1):
        q = item.question
        rows += (
            f"<tr><td>{i}</td><td>{_esc(q.text)}</td>"
            f"<td>{_typeset(_shown(result.answers.get(q.key, ''))) or 'no answer'}</td>"
            f"<td><b>{'✓ right' if said.right else '✗ not yet:'}</b>"
            f"{'' if said.right else ' ' + _typeset(_esc(said.says))}</td>"
            f"<td>{q.marks * said.right} of {q.marks}</td></tr>"
        )
    body = (
        f"<section><h1>{_esc(card.title)}: feedback</h1>"
        f"<p><b>{_esc(card.name)}</b> <span class='small'>({_esc(card.trainee)})</span>: "
        f"{result.total} of {card.marks} marks</p><p>{_esc(card_page.engine_line(card))}</p>"
        "<div class='scroll'><table><tr><th>no.</th><th>question</th><th>your answer</th>"
        f"<th>what we saw</th><th>marks</th></tr>{rows}</table></div></section>"
    )
    return card_page.page(f"{card.title}: feedback for {card.name}", body)


def _shade(share: float) -> str:
    """A shade with dark letters on it that can still be read."""
    return f"background:rgba(230,159,0,{0.1 + 0.7 * share:.2f})" if share > 0 else ""


def difficulty(grades: Grades) -> list[dict[str, Any]]:
    """Question by question: how many were right, empty, or met which pitfall."""
    done = [r for r in grades.results if r.feedback]
    out = []
    for place, item in enumerate(grades.key.cards[0].items):
        said = [r.feedback[place] for r in done]
        out.append(
            {
                "key": item.question.key,
                "right": sum(f.right for f in said),
                "of": len(said),
                "layers": Counter(f.layer for f in said),
                "pitfalls": Counter(f.pitfall for f in said if f.pitfall),
            }
        )
    return out


_LAYER_WORDS = {
    "empty": "no answer",
    "type": "could not be read, or no unit",
    "dimension": "another kind of quantity",
    "size": "power of ten, sign or unit",
    "value": "value",
}


def _class_page(grades: Grades) -> str:
    rows = difficulty(grades)
    done = [r for r in grades.results if r.feedback]
    names = [r["key"].partition("/")[2] for r in rows]
    whole = grades.key.cards[0].marks
    mean = sum(r.total for r in done) / len(done) if done else 0.0
    title = grades.key.cards[0].title
    body = (
        f"<section><h1>{_esc(title)}: the class</h1><p>{len(done)} of {len(grades.results)} "
        f"trainees graded; mean {mean:.1f} of {whole} marks; "
        f"{sum(not f.counted for f in grades.files)} files not counted.</p>"
        "<h2>How hard each question was</h2><div class='scroll'><table><tr><th>question</th>"
        "<th>right</th><th>share right</th>"
        + "".join(f"<th>{_esc(w)}</th>" for w in _LAYER_WORDS.values())
        + "<th>known pitfall</th></tr>"
    )
    for name, row in zip(names, rows, strict=True):
        of = max(row["of"], 1)
        share = row["right"] / of
        bar = (
            f"<svg width='100' height='12' aria-hidden='true' style='max-width:100px!important'>"
            f"<rect width='100' height='12' fill='#ddd'/><rect width='{100 * share:.0f}' "
            "height='12' fill='#0072B2'/></svg>"
        )
        body += (
            f"<tr><th scope='row'>{_esc(name)}</th><td>{row['right']} of {row['of']}</td>"
            f"<td>{100 * share:.0f} % {bar}</td>"
        )
        for layer in (*_LAYER_WORDS, "pitfall"):
            count = row["layers"][layer]
            body += f"<td style='{_shade(count / of)}'>{count or ''}</td>"
        body += "</tr>"
    body += "</table></div><h2>Pitfalls</h2>" + _heat_map(names, rows)
    body += "<h2>Files not counted, and remarks</h2>" + _file_list(grades)
    return card_page.page(f"{title}: the class", body + "</section>")


def _heat_map(names: Sequence[str], rows: Sequence[Mapping[str, Any]]) -> str:
    total: Counter[str] = sum((r["pitfalls"] for r in rows), Counter())
    if not total:
        return "<p>Nobody met a known pitfall.</p>"
    most = max(max(r["pitfalls"].values(), default=0) for r in rows)
    out = "<div class='scroll'><table><tr><th>pitfall</th><th>all</th>"
    out += "".join(f"<th>{_esc(n)}</th>" for n in names) + "</tr>"
    for pitfall, count in sorted(total.items(), key=lambda p: (-p[1], p[0])):
        out += f"<tr><th scope='row'>{_esc(pitfall)}</th><td>{count}</td>"
        for row in rows:
            met = row["pitfalls"][pitfall]
            out += f"<td style='{_shade(met / most)}'>{met or ''}</td>"
        out += "</tr>"
    return out + "</table></div>"


def _file_list(grades: Grades) -> str:
    told = [f for f in grades.files if f.reason]
    if not told:
        return "<p>Every file was counted.</p>"
    rows = "".join(
        f"<tr><td>{_shown(f.file)}</td><td>{_shown(f.trainee)}</td>"
        f"<td>{'yes' if f.counted else 'no'}</td><td>{_shown(f.reason, 200)}</td></tr>"
        for f in told
    )
    return (
        "<div class='scroll'><table><tr><th>file</th><th>trainee</th><th>counted</th>"
        f"<th>reason</th></tr>{rows}</table></div>"
    )


# --------------------------------------------------------------------------- writing
def card_files(key: Key) -> dict[str, str]:
    """Files of a class: pages to print, key, and a card file for each trainee."""
    out = {
        f"cards-{key.set}.html": card_page.cards_page(key.cards),
        f"key-{key.set}.html": card_page.key_page(key.cards),
        f"key-{key.set}.json": key.dumps(),
    }
    for card in key.cards:
        out[f"hand-out/card-{key.set}-{file_name(card.trainee)}.json"] = card.dumps()
    return out


def grade_files(grades: Grades) -> dict[str, str]:
    """Files of a graded set: gradebook, list of files, class page, feedback for each trainee."""
    out = {
        "gradebook.csv": "\ufeff" + grades.table(),
        "files.csv": "\ufeff" + grades.file_table(),
        "class.html": grades.class_page(),
    }
    for r in grades.results:
        if r.feedback:
            out[f"feedback/{file_name(r.card.trainee)}.html"] = grades.feedback_page(r)
    return out


def write_files(folder: Path, files: Mapping[str, str]) -> None:
    """Write files so that each is there whole or not at all.

    Raises
    ------
    InputError
        if the folder cannot be written.
    """
    try:
        for name, text in files.items():
            path = folder / name
            path.parent.mkdir(parents=True, exist_ok=True)
            write_whole(path, text.encode("utf-8", "replace"))
    except OSError as err:
        raise fail("folder", folder, f"a folder that can be written ({err.strerror})") from err
