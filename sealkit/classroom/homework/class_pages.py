"""What a class gets to see: cards to print and keys, gradebook, feedback and class page, as files.

The same cards and answers give the same pages and tables, byte for byte.
"""

from __future__ import annotations

import csv
import datetime
import html
import io
from collections import Counter
from collections.abc import Iterable, Sequence
from typing import Any

from sealkit.classroom.homework import card_page
from sealkit.classroom.homework.answers import Feedback, Question, printed
from sealkit.classroom.homework.cards import Card
from sealkit.classroom.homework.class_files import Key, file_name
from sealkit.classroom.homework.gradebook import Difficulty, Graded, Grades, Unnamed
from sealkit.classroom.homework.policy import Policy
from sealkit.classroom.panel.downloads import defused
from sealkit.errors import Fault, InputError, short

_esc = html.escape


def csv_text(rows: Iterable[Sequence[Any]], delimiter: str) -> str:
    """Rows as CSV that no spreadsheet works out."""
    out = io.StringIO()
    writer = csv.writer(out, delimiter=delimiter, lineterminator="\r\n")
    for row in rows:
        writer.writerow([defused(c) if isinstance(c, str) else c for c in row])
    return out.getvalue()


# --------------------------------------------------------------------------- tables
def table(grades: Grades, delimiter: str = ",") -> str:
    """The gradebook as CSV, one line a trainee."""
    names = [i.question.key.partition("/")[2] for i in grades.key.cards[0].items]
    rows: list[list[Any]] = [["id", "name", "state", "marks", "of", "percent", *names]]
    rows[0] += ["file", "remarks", "set"]
    said = {f.trainee: f.reason for f in grades.files if f.counted}
    for r in grades.results:
        whole = r.card.marks
        told: list[Any] = ["", "" if r.excused else whole, ""]
        if r.feedback:
            told = [f"{r.total:g}", whole, round(100 * r.total / whole)]
        marks = [f"{m:g}" for m in r.marks] or [""] * len(names)
        state = "graded" if r.feedback else grades.why(r)
        rows.append([r.card.trainee, r.card.name, state, *told, *marks, r.file])
        rows[-1] += [said.get(r.card.trainee, r.remarks), grades.key.set]
    return csv_text(rows, delimiter)


def file_table(grades: Grades, delimiter: str = ",") -> str:
    """Every file with what became of it, as CSV."""
    rows = [["file", "trainee", "counted", "reason"]]
    rows += [[f.file, f.trainee, "yes" if f.counted else "no", f.reason] for f in grades.files]
    return csv_text(rows, delimiter)


def unnamed_table(grades: Grades, delimiter: str = ",") -> str:
    """Every answer that no pitfall names, as CSV; those that lie alike stand together."""
    rows: list[list[Any]] = [["question", "times the answer", "alike", "trainee", "answer"]]
    for u in grades.unnamed():
        same = (f"{u.times:.3g}", len(u.answers))
        rows += [[u.name, *same, trainee, text[:80]] for trainee, text in u.answers.items()]
    return csv_text(rows, delimiter)


# --------------------------------------------------------------------------- pages
def _shown(text: str, limit: int = 80) -> str:
    """What a trainee wrote, safe to show."""
    plain = "".join(c if c.isprintable() else " " for c in text[:limit])
    return _esc(plain + ("…" if len(text) > limit else ""))


def _typeset(text: str) -> str:
    """Powers and dots as they are printed; a trainee may have typed ** and *."""
    return text.replace("**2", "²").replace("**3", "³").replace("*", "·")


def _written(result: Graded, question: Question) -> str:
    """What a trainee wrote, typeset."""
    return _typeset(_shown(result.answers.get(question.key, ""))) or "no answer"


def feedback_page(result: Graded) -> str:
    """What one trainee gets back: verdict and words, never the number."""
    card = result.card
    rows = []
    every = zip(card.items, result.feedback, result.marks, strict=True)
    for i, (item, said, had) in enumerate(every, 1):
        q = item.question
        rows.append(
            (
                f"<td>{i}</td><td>{_esc(q.text)}</td>",
                f"<td>{_written(result, q)}</td>",
                f"<td>{_verdict(result, q, said)}</td>",
                f"<td>{had:g} of {q.marks}{_by_hand(result, q.key)}</td>",
            )
        )
    heads = ("no.", "question", "your answer", "what we saw", "marks")
    late = f" (late: {100 * result.deducted:g} % taken off)" if result.deducted else ""
    marks = f": {result.total:g} of {card.marks} marks{late}"
    return _sheet(card, "feedback", card_page.table(heads, rows), marks)


def _sheet(card: Card, what: str, table: str, beside: str = "") -> str:
    """A page for one trainee: whose it is, which engine, and a table."""
    body = (
        f"<section><h1>{_esc(card.title)}: {what}</h1><p><b>{_esc(card.name)}</b> "
        f"<span class='small'>({_esc(card.trainee)})</span>{beside}</p>"
        f"<p>{_esc(card_page.engine_line(card))}</p>{table}</section>"
    )
    return card_page.page(f"{card.title}: {what} for {card.name}", body)


def solution_page(result: Graded) -> str:
    """What one trainee wrote beside the right answers, for after the deadline."""
    card = result.card
    rows = (
        (
            f"<td>{i}</td><td>{_esc(item.question.text)}</td>",
            f"<td>{_written(result, item.question)}</td>",
            f"<td><b>{_esc(printed(item.question))}</b><br>{_esc(item.question.hint)}</td>",
        )
        for i, item in enumerate(card.items, 1)
    )
    heads = ("no.", "question", "your answer", "right, and the way there")
    return _sheet(card, "solution", card_page.table(heads, rows))


def solution_files(grades: Grades, decided: Policy, anyway: bool = False) -> dict[str, str]:
    """A solution sheet for each trainee.

    Raises InputError while a file of somebody still counts, unless they are wanted `anyway`.
    """
    now, cards = datetime.datetime.now(datetime.UTC), grades.key.cards
    ends = ((decided.open_until(c, grades.key.due), c.trainee) for c in cards)
    still = [(end, who) for end, who in ends if end is None or end > now]
    if still and not anyway:
        end, who = max(still, key=lambda one: (one[0] is None, one[0] or now))
        until = "whenever they like" if end is None else f"until {end.isoformat()}"
        late = ", late" if decided.late_per_day is not None else ""
        wanted = 'a time after that, or "now" where you know that nobody will (--solutions-now)'
        raise InputError(Fault("solutions", f"{short(who)} may hand in{late}, {until}", wanted))
    return {f"solutions/{file_name(r.card.trainee)}.html": solution_page(r) for r in grades.results}


def _verdict(result: Graded, question: Question, said: Feedback) -> str:
    """What is said about an answer; where its marks are by hand, nothing that contradicts them."""
    decided = result.by_hand.get(question.key)
    if decided is not None and decided.marks is not None:
        full = decided.marks == question.marks
        said_too = not full and said.layer not in ("empty", "type", "right")
        verdict, says = f"{'✓ ' * full}by your instructor", said.says * said_too
    else:
        verdict, says = ("✓ right", "") if said.right else ("✗ not yet:", said.says)
    return f"<b>{verdict}</b> {_typeset(_esc(says))}".rstrip()


def _by_hand(result: Graded, question: str) -> str:
    """What the instructor decided about an answer, below its marks."""
    decided = result.by_hand.get(question)
    if decided is None:
        return ""
    return f"<br><b>Your instructor:</b> {_esc(decided.comment or 'marks given by hand')}"


def _shade(share: float) -> str:
    """A shade with dark letters on it that can still be read."""
    return f"background:rgba(230,159,0,{0.1 + 0.7 * share:.2f})" if share > 0 else ""


_LAYER_WORDS = {
    "empty": "no answer",
    "type": "could not be read, or no unit",
    "dimension": "another kind of quantity",
    "size": "power of ten, sign or unit",
    "value": "value",
}


def class_page(grades: Grades) -> str:
    """How the class did, to project."""
    title = f"{grades.key.cards[0].title}: the class"
    return card_page.page(title, f"<section><h1>{_esc(title)}</h1>{class_tables(grades)}</section>")


def class_tables(grades: Grades) -> str:
    """Spread of the marks, difficulty of each question, pitfalls met; no names."""
    rows, done = grades.difficulty(), grades.done
    first = grades.key.cards[0]
    mean = sum(r.total for r in done) / len(done) if done else 0.0
    refused = sum(not f.counted for f in grades.files)
    heads = ("question", "right", "share right", *_LAYER_WORDS.values(), "known pitfall")
    return (
        f"<p>{len(done)} of {len(grades.results)} trainees graded; mean {mean:.1f} of "
        f"{first.marks} marks; {refused} files not counted.</p>"
        f"<h2>Spread of the marks</h2>{_spread(grades)}"
        f"<h2>How hard each question was</h2>{card_page.table(heads, map(_difficulty_row, rows))}"
        f"<h2>Pitfalls</h2>{_heat_map(rows)}"
        f"<h2>Wrong numbers that no pitfall names</h2>{_unnamed(grades.unnamed())}"
    )


def _spread(grades: Grades) -> str:
    """How many trainees had which share of the marks, in fifths."""
    shares = [r.total / r.card.marks for r in grades.done]
    fifths = Counter(min(int(5 * s), 4) for s in shares)
    heads = ("share of the marks", "trainees")
    rows = (
        (
            f"<th scope='row'>{20 * i} to {20 * (i + 1)} %</th>",
            f"<td>{fifths[i]} {_bar(fifths[i] / max(len(shares), 1))}</td>",
        )
        for i in range(5)
    )
    return card_page.table(heads, rows)


def _bar(share: float) -> str:
    return (
        "<svg width='100' height='12' aria-hidden='true' style='max-width:100px!important'>"
        f"<rect width='100' height='12' fill='#ddd'/><rect width='{100 * share:.0f}' "
        "height='12' fill='#0072B2'/></svg>"
    )


def _difficulty_row(row: Difficulty) -> list[str]:
    right, graded = row.layers["right"], row.layers.total()
    of = max(graded, 1)
    share = right / of
    counts = [row.layers[layer] for layer in (*_LAYER_WORDS, "pitfall")]
    return [
        f"<th scope='row'>{_esc(row.name)}</th><td>{right} of {graded}</td>",
        f"<td>{100 * share:.0f} % {_bar(share)}</td>",
        *(f"<td style='{_shade(count / of)}'>{count or ''}</td>" for count in counts),
    ]


def _heat_map(rows: Sequence[Difficulty]) -> str:
    total: Counter[str] = sum((r.pitfalls for r in rows), Counter())
    if not total:
        return "<p>Nobody met a known pitfall.</p>"
    most = max(max(r.pitfalls.values(), default=0) for r in rows)

    def cells(pitfall: str, count: int) -> Iterable[str]:
        yield f"<th scope='row'>{_esc(pitfall)}</th><td>{count}</td>"
        for row in rows:
            met = row.pitfalls[pitfall]
            yield f"<td style='{_shade(met / most)}'>{met or ''}</td>"

    by_count = sorted(total.items(), key=lambda p: (-p[1], p[0]))
    heads = ("pitfall", "all", *(r.name for r in rows))
    return card_page.table(heads, (cells(pitfall, count) for pitfall, count in by_count))


def _unnamed(groups: Sequence[Unnamed]) -> str:
    """Wrong numbers that lie alike, so that a wrong turn of this class is seen."""
    alone = sum(len(u.answers) == 1 for u in groups)
    groups = [u for u in groups if len(u.answers) > 1]
    more = f"<p>Numbers that lie like no other: {alone}; the list not-named.csv has them.</p>"
    if not groups:
        return more if alone else "<p>There are none.</p>"
    told = "<p class='small'>Each trainee has another engine, so one wrong turn shows as one "
    told += "multiple of the right answer. A pitfall of your own goes into the class file.</p>"
    return (
        told
        + card_page.table(
            ("question", "trainees", "times the answer", "written"),
            (
                (
                    f"<th scope='row'>{_esc(u.name)}</th><td>{len(u.answers)}</td>",
                    f"<td>{u.times:.3g}</td>",
                    f"<td>{'; '.join(_shown(a, 24) for a in list(u.answers.values())[:6])}</td>",
                )
                for u in groups
            ),
        )
        + more
    )


# --------------------------------------------------------------------------- files
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


def feedback_name(trainee: str) -> str:
    """Name of the feedback page of a trainee."""
    return f"feedback/{file_name(trainee)}.html"


def grade_files(grades: Grades, delimiter: str = ",") -> dict[str, str]:
    """Files of a graded set: gradebook, list of files, class page, feedback for each trainee."""
    out = {
        "gradebook.csv": "\ufeff" + table(grades, delimiter),
        "files.csv": "\ufeff" + file_table(grades, delimiter),
        "not-named.csv": "\ufeff" + unnamed_table(grades, delimiter),
        "class.html": class_page(grades),
    }
    for r in grades.done:
        out[feedback_name(r.card.trainee)] = feedback_page(r)
    return out
