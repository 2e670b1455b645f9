"""The term book: the gradebooks of several sets added up, trainee by trainee."""

from __future__ import annotations

import csv
import io
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from sealkit.classroom.homework.cards import same_id
from sealkit.classroom.homework.class_files import decoded
from sealkit.classroom.homework.class_pages import csv_text
from sealkit.errors import fail

_LARGEST = 20_000_000  # bytes of a gradebook


@dataclass(frozen=True)
class Book:
    """The gradebook of one set: id as it is compared -> row."""

    set: str
    rows: Mapping[str, Mapping[str, str]]


def read(content: bytes, name: str) -> Book:
    """Read a ``gradebook.csv`` as the command ``grade`` wrote it.

    Raises InputError naming the file.
    """
    wanted = "a gradebook.csv as the command grade wrote it"
    if len(content) > _LARGEST:
        raise fail("gradebook", f"{name}, too large", wanted)
    text = decoded(content)
    head = text.partition("\n")[0]
    try:
        rows = list(
            csv.DictReader(io.StringIO(text), delimiter=max(",;", key=head.count), strict=True)
        )
        sets = {r["set"] for r in rows}
        found = {same_id(r["id"]): r for r in rows}
        for r in rows:
            if not float(r["marks"] or 0.0) <= float(r["of"] or 0.0) < 1e6:
                raise ValueError("marks above the marks there are")
    except (csv.Error, KeyError, TypeError, ValueError) as err:
        raise fail("gradebook", f"{name} ({err})", wanted) from err
    if len(sets) != 1 or len(found) < len(rows):
        raise fail("gradebook", f"{name}, no set or an id twice", wanted)
    return Book(sets.pop(), found)


def add_up(books: Iterable[Book], delimiter: str = ",") -> str:
    """The term book as CSV, one line a trainee, in the order in which they first stand.

    A set that somebody has not handed in counts as no marks; a set whose roster does not have them
    does not count for them, nor does one they are excused from (it has no marks to reach). Raises
    InputError for two gradebooks of one set.
    """
    every = sorted(books, key=lambda b: b.set)
    names = [b.set for b in every]
    if len(set(names)) < len(names):
        raise fail("gradebooks", ", ".join(names), "one gradebook for each set")
    rows = [["id", "name", *(f"set {n}" for n in names), "handed in", "marks", "of", "percent"]]
    for who in dict.fromkeys(i for b in every for i in b.rows):
        mine = [b.rows.get(who) for b in every]
        there = [r for r in mine if r is not None]
        asked = [r for r in there if r["of"]]
        got = sum(float(r["marks"] or 0.0) for r in asked)
        of = sum(float(r["of"]) for r in asked)
        marks = [(r["marks"] or ("none" if r["of"] else "excused")) if r else "" for r in mine]
        count = f"{sum(bool(r['marks']) for r in asked)} of {len(asked)}"
        share = str(round(100.0 * got / of)) if of else ""
        rows.append([there[0]["id"], there[0]["name"], *marks, count, f"{got:g}", f"{of:g}", share])
    return "\ufeff" + csv_text(rows, delimiter)
