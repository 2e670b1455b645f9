"""Handbook tables as CSV, each row with its source and its status; one reader for all of them.

A column is headed ``name`` for text, ``name [unit]`` for a number in that unit (``name []`` for
a plain number). Every table has the columns ``source``, ``status`` and ``note``; a conflict
between sources is kept visible in the note. Numbers come out in SI; words with metric quantities in
braces, ``"middle of {70 to 100 MPa}"``, as a `sealkit.words.Note`.
"""

from __future__ import annotations

import csv
import functools
import io
import math
import re
import zipfile
import zlib
from collections.abc import Callable, Iterator, Mapping
from importlib import resources
from typing import Any, TypeVar

import numpy as np

from sealkit.errors import broken, fail, near, quoted
from sealkit.units import Q
from sealkit.words import Note

T = TypeVar("T")
MEASURED = "measured"
"""Status of what readings on this engine have narrowed down; nobody can claim it on a sheet."""

STATUSES = {
    "published": "seen in the named source; the printed number was worked out again",
    "published, second-hand": "seen in a reprint or summary of the named source",
    "published, companion": "seen in an open notebook that re-works the named textbook example",
    MEASURED: "read on this engine, with its uncertainty, and fitted to this sheet",
    "computed": "worked out with the library and version named as source",
    "common practice, no source": "trade practice; nothing published stands behind it",
    "from memory": "written down from memory; not checked against a source",
    "invented": "made up for demonstration only",
}


def weakest(*statuses: str) -> str:
    """The least trusted of several statuses: what is made of them is no better."""
    return max(statuses, key=list(STATUSES).index)


_HEAD = re.compile(r"(.*?)\s*\[(.*)\]\Z")


@functools.cache
def _factor(unit: str) -> tuple[float, float]:
    """Scale and offset that take a number in this unit to SI base units."""
    if not unit:
        return 1.0, 0.0
    zero, one = (Q(v, unit).to_base_units().magnitude for v in (0.0, 1.0))
    return float(one - zero), float(zero)


def read_csv(text: str, name: str) -> list[dict[str, Any]]:
    """Rows of a table given as CSV text; numbers in SI base units, empty cells as None.

    Raises InputError naming table, row and column of a cell that is not a number, of a row without
    source or with an unknown status, or of a heading that stands there twice or has an unknown
    unit.
    """
    rows: list[dict[str, Any]] = []
    reader = csv.DictReader(io.StringIO(text))
    try:
        raws = list(reader)
    except csv.Error as err:
        raise fail(f"{name} line {reader.line_num}", str(err), "plain CSV text") from err
    heads = [_HEAD.sub(r"\1", h) for h in reader.fieldnames or ()]
    if twice := [h for h in heads if heads.count(h) > 1]:
        raise fail(f"{name} line 1", twice[0], "each column once")
    for number, raw in enumerate(raws, start=2):
        row: dict[str, Any] = {}
        for head, cell in raw.items():
            if head is None or cell is None:
                raise fail(f"{name} line {number}", "a wrong number of cells", "one per column")
            cell = cell.strip()
            match = _HEAD.match(head)
            if match is None:
                row[head] = Note(cell) if "{" in cell else cell
            elif cell == "":
                row[match[1]] = None
            else:
                try:
                    scale, offset = _factor(match[2])
                except Exception as err:  # pint has many ways of not knowing a unit
                    raise fail(f"{name} line 1, {match[1]}", match[2], "a unit") from err
                try:
                    value = float(cell) * scale + offset
                except ValueError:
                    value = math.nan
                if not math.isfinite(value):
                    raise fail(f"{name} line {number}, {match[1]}", cell, "a number")
                row[match[1]] = value
        if not row.get("source"):
            raise fail(f"{name} line {number}, source", "nothing", "the source of the row")
        if row.get("status") not in STATUSES:
            raise fail(
                f"{name} line {number}, status", row.get("status"), f"one of {quoted(STATUSES)}"
            )
        rows.append(row)
    return rows


class Table:
    """A table keyed by its first column.

    ``table["M10x1.5"]`` is one row as a dict in SI; an unknown key is an `InputError` that
    suggests the nearest one. Iterating gives the keys.
    """

    def __init__(self, name: str, rows: list[dict[str, Any]]):
        self.name = name
        self.rows = rows
        self.key = next(iter(rows[0]))
        self._by_key: dict[str, dict[str, Any]] = {}
        for row in rows:
            for word in (row[self.key], *str(row.get("also", "")).split(";")):
                if word.strip():
                    self._by_key.setdefault(_plain(word), row)

    def __iter__(self) -> Iterator[str]:
        return iter(row[self.key] for row in self.rows)

    def __contains__(self, key: object) -> bool:
        return _plain(str(key)) in self._by_key

    def __getitem__(self, key: str) -> Mapping[str, Any]:
        return self.get(key, self.name)

    def get(self, key: str, field: str) -> Mapping[str, Any]:
        """The row of this key; `field` is named in the error."""
        row = self._by_key.get(_plain(str(key)))
        if row is None:
            names = list(self)
            raise fail(field, str(key), f"one of {quoted(names, 20)}{near(str(key), names)}")
        return row


@functools.lru_cache(maxsize=1024)
def _plain(word: str) -> str:
    return "".join(word.lower().replace("×", "x").split())


@functools.cache
def load(name: str) -> Table:
    """The table of this name in this folder (without ``.csv``).

    Raises InputError if it is not there, is no text, or is damaged as in `read_csv`.
    """
    file = f"table {name}.csv"
    try:
        text = (resources.files("sealkit.tables") / f"{name}.csv").read_text(encoding="utf-8")
    except OSError as err:
        raise broken(file, err.strerror) from err
    except UnicodeDecodeError as err:
        raise broken(file, "no text in UTF-8") from err
    rows = read_csv(text, name)
    if not rows:
        raise broken(file, "no row")
    return Table(name, rows)


def arrays(name: str, made: Callable[[Any], T]) -> T:
    """What is made of the arrays of a file in this folder (without ``.npz``).

    Raises InputError if it is not there or is damaged.
    """
    file = f"{name}.npz"
    try:
        with (resources.files("sealkit.tables") / file).open("rb") as opened, np.load(opened) as z:
            return made(z)
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error) as err:
        raise broken(f"table {file}", getattr(err, "strerror", None) or "no whole file") from err
