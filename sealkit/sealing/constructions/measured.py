"""Points of one's own: a zone from a file of measured load and closure, with hysteresis."""

from __future__ import annotations

import contextlib
import csv
import io
import re
from pathlib import Path
from typing import Any

import numpy as np

from sealkit.arrays import Array
from sealkit.errors import InputError, fail, short
from sealkit.sealing.gaskets import PER, Zone
from sealkit.units import KINDS, Q, to_si

_MOST_ROWS = 2000
_MOST_BYTES = 1_000_000
_HEAD = re.compile(r"\s*(closure|load)\s*[\[(]\s*(.+?)\s*[\])]\s*\Z", re.IGNORECASE)
_EXAMPLES = {"closure": "closure [um]", "load": "load [N/mm]"}
_LENGTHS = ("width", "free_thickness", "stands_proud")


def measured(points: str | Path, **fields: Any) -> Zone:
    """A zone from load-deflection points of one's own, with hysteresis.

    A first point at 0, 0 is added if it is missing. An unloading branch that starts below the last
    loading point is joined to it; one that ends above load 0 goes on straight to it. Returns Zone;
    without an unloading branch it comes back the way it went. Raises InputError naming the first
    thing wrong: too few points, points out of order, wrong or missing units, an unloading branch
    that does not belong to the loading curve.

    Parameters
    ----------
    points : path of a CSV file, or its text. It has the columns ``closure [um]``, ``load [N/mm]``
        (any unit of length; a line load or a stress) and, for hysteresis, ``branch``: "loading",
        "unloading", or "unloading 1", "unloading 2" and so on, each in the order in which it was
        run
    **fields : of a zone: name, role ("seal" for a line load and "body" for a stress if not given),
        width, free_thickness, stands_proud (text with unit), seating, crush (in the unit of the
        load), factor, source, status, note
    """
    branches, units = _read_points(points)
    _, long = _scale("closure", units["closure"], "length")
    kind, hard = _scale("load", units["load"], *PER.values())
    scaled = {word: np.array(rows) * [long, hard] for word, rows in branches.items()}
    up = scaled.pop("loading", np.empty((0, 2)))
    if len(up) < 2:
        raise fail("closure", f"{len(up)} point", "two or more points of the loading branch")
    if up[0, 0] > 0:
        up = np.insert(up, 0, 0.0, axis=0)
    per = next(p for p, of in PER.items() if of == kind)
    own = {key: _field(key, value, hard) for key, value in fields.items()}
    zone = Zone(
        name=own.pop("name", "measured"),
        role=own.pop("role", "seal" if per == "length" else "body"),
        per=per,
        closure=up[:, 0],
        load=up[:, 1],
        unloading=tuple(_whole_way(way, up, len(scaled) == 1) for way in scaled.values()),
        source=own.pop("source", "own measurement"),
        **own,
    )
    for fault in zone.check():
        raise InputError(fault)
    return zone


def _field(key: str, value: Any, hard: float) -> Any:
    """A field of a zone in SI; `hard` is the unit of its load."""
    if key in ("name", "role", "source", "status", "note"):
        return str(value)
    if key not in (*_LENGTHS, "seating", "crush", "factor"):
        raise fail(key, "an unknown field", "width, seating or another field of a zone")
    number = to_si(value, "length" if key in _LENGTHS else "number", key)
    if np.ndim(number) or not 0 <= number < np.inf:
        raise fail(key, value, "a number not below zero")
    return float(number) * (hard if key in ("seating", "crush") else 1.0)


def _whole_way(way: Array, up: Array, alone: bool) -> tuple[Array, Array]:
    """An unloading branch from the loading curve down to no load."""
    if alone and way[0, 0] < up[-1, 0]:
        on = float(np.interp(way[0, 0], *up.T))
        way = way if np.isclose(way[0, 1], on, rtol=0.01) else np.vstack([up[-1:], way])
    x, y = way.T
    if y[-1] > 0:
        slope = (y[-2] - y[-1]) / (x[-2] - x[-1]) if len(x) > 1 and x[-2] > x[-1] else 0.0
        end = x[-1] - y[-1] / slope if slope > 0 else -1.0
        if end < 0:
            raise fail("unloading", "a last load above 0", "a branch that comes down to 0")
        x, y = np.append(x, end), np.append(y, 0.0)
    return x, y


def _scale(column: str, unit: str, *kinds: str) -> tuple[str, float]:
    """Which of these kinds a unit is one of, and its size in SI."""
    for kind in kinds:
        with contextlib.suppress(Exception):  # of another kind, or no unit at all
            return kind, float(to_si(Q(1.0, unit), kind))
    wanted = " or ".join(f"{KINDS[k].words}, such as {KINDS[k].example}" for k in kinds)
    raise fail(column, f'the unit "{unit}"', wanted)


def _read_points(given: str | Path) -> tuple[dict[str, list[tuple[float, float]]], dict[str, str]]:
    """Points by branch, and units by column, of a CSV file or its text."""
    text = str(given)
    if isinstance(given, Path) or not {"\n", "\r"} & set(text):
        try:
            path = Path(given)
            if path.stat().st_size > _MOST_BYTES:
                raise fail("points", str(given), f"a file of at most {_MOST_BYTES} bytes")
            text = path.read_text(encoding="utf-8-sig")
        except InputError:
            raise
        except (OSError, ValueError) as err:
            raise fail("points", str(given), "a CSV file that can be read") from err
    try:
        read = csv.reader(io.StringIO(text, newline=""))
        heads, *rows = [r for r in read if any(cell.strip() for cell in r)] or [[]]
    except csv.Error as err:
        raise fail("points", short(text, 30), "plain CSV text") from err
    if len(rows) > _MOST_ROWS:
        raise fail("points", f"{len(rows)} rows", f"at most {_MOST_ROWS}")
    places: dict[str, int] = {}
    units: dict[str, str] = {}
    for place, head in enumerate(heads):
        if match := _HEAD.match(head):
            places[match[1].lower()], units[match[1].lower()] = place, match[2]
    for column, example in _EXAMPLES.items():
        if column not in places:
            came = ", ".join(heads) or "an empty file"
            raise fail("points", came, f'a column headed "{example}"')
    lower = [head.strip().lower() for head in heads]
    branches: dict[str, list[tuple[float, float]]] = {}
    for number, row in enumerate(rows, start=2):
        try:
            pair = float(row[places["closure"]]), float(row[places["load"]])
            word = " ".join(row[lower.index("branch")].lower().split()) if "branch" in lower else ""
        except (ValueError, IndexError) as err:
            raise fail(f"points line {number}", ", ".join(row), "a closure and a load") from err
        if not np.all(np.isfinite(pair)):
            raise fail("closure", "a point that is not a number", "numbers only")
        if not re.fullmatch(r"(loading)?|unloading( \d+)?", word):
            raise fail(f"points line {number}, branch", word, '"loading" or "unloading"')
        branches.setdefault(word or "loading", []).append(pair)
    return branches, units
