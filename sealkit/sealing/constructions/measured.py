"""Points of one's own: a zone from measured load and closure, with hysteresis."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import ArrayLike

from sealkit.arrays import Array
from sealkit.errors import InputError, fail, short
from sealkit.sealing.gaskets import PER, Zone
from sealkit.units import Q, to_si

_MOST_ROWS = 2000
_MOST_BYTES = 1_000_000
_HEAD = re.compile(r"\s*(closure|load)\s*[\[(]\s*(.+?)\s*[\])]\s*\Z", re.IGNORECASE)


def measured(
    points: Any,
    load: ArrayLike | None = None,
    *,
    unloading: Sequence[tuple[ArrayLike, ArrayLike]] = (),
    closure_unit: str | None = None,
    load_unit: str | None = None,
    name: str = "measured",
    role: str | None = None,
    source: str = "own measurement",
    status: str = "invented",
    **fields: Any,
) -> Zone:
    """A zone from load-deflection points of one's own, with hysteresis.

    A first point at 0, 0 is added if it is missing. An unloading branch that starts below the last
    loading point is joined to it; one that ends above load 0 goes on straight to it. Returns Zone;
    without an unloading branch it comes back the way it went. Raises InputError naming the first
    thing wrong: too few points, points out of order, wrong or missing units, an unloading branch
    that does not belong to the loading curve.

    Parameters
    ----------
    points : path of a CSV file, its text, or the closures of the loading branch. The file has the
        columns ``closure [um]``, ``load [N/mm]`` (any unit of length; a line load or a stress)
        and, for hysteresis, ``branch``: "loading", "unloading", or "unloading 1", "unloading 2"
        and so on, each in the order in which it was run
    load : loads of the loading branch, where `points` are closures
    unloading : pairs of closures and loads, each on the way back
    closure_unit, load_unit : units of lists without units
    name, role : of the zone; role "seal" for a line load and "body" for a stress if not given
    source, status : where the points come from
    **fields : further fields of a zone: width, free_thickness, stands_proud (text with unit),
        seating, crush (in the unit of the load), factor, note
    """
    if isinstance(points, (str, Path)):
        if load is not None:
            raise fail("load", "loads beside a file", "loads in the file, or closures as a list")
        up, back, closure_unit, load_unit = _read_points(points)
    else:
        if load is None:
            raise fail("load", "nothing", "as many loads as closures")
        c, closure_unit = _plain(points, closure_unit, "closure")
        f, load_unit = _plain(load, load_unit, "load")
        up = (c, f)
        back = [
            (_plain(x, closure_unit, "unloading")[0], _plain(y, load_unit, "unloading")[0])
            for x, y in unloading
        ]
    per = _per(load_unit)
    c, f = up
    if len(c) != len(f):
        raise fail("load", f"{len(f)} loads", f"{len(c)}, as many as closures")
    if len(c) < 2:
        raise fail("closure", f"{len(c)} point", "two or more points of the loading branch")
    if not (np.all(np.isfinite(c)) and np.all(np.isfinite(f))):
        raise fail("closure", "a point that is not a number", "numbers only")
    if np.any(np.diff(c) <= 0):
        i = int(np.argmax(np.diff(c) <= 0)) + 1
        raise fail(
            "closure",
            f"{c[i]:g} after {c[i - 1]:g} {closure_unit}",
            "closures that rise on the loading branch; put the way back under unloading",
        )
    if np.any(np.diff(f) < 0):
        i = int(np.argmax(np.diff(f) < 0)) + 1
        raise fail("load", f"{f[i]:g} after {f[i - 1]:g} {load_unit}", "loads that never fall")
    if c[0] < 0 or f[0] < 0:
        raise fail("closure", f"a first point at {c[0]:g}, {f[0]:g}", "points from 0, 0 on")
    if c[0] == 0 and f[0] > 0:
        raise fail("load", f"{f[0]:g} {load_unit} at closure 0", "a loading branch from 0, 0 on")
    if c[0] > 0:
        c, f = np.append(0.0, c), np.append(0.0, f)
    if f[-1] <= 0:
        raise fail("load", "no load at all", "loads above zero")
    long = to_si(Q(1.0, closure_unit), "length", "closure_unit")
    hard = to_si(Q(1.0, load_unit), PER[per], "load_unit")
    ways = [_whole_way(x, y, c, f, len(back) == 1) for x, y in back]
    zone = Zone(
        name=name,
        role=role or ("seal" if per == "length" else "body"),
        per=per,
        closure=c * long,
        load=f * hard,
        unloading=tuple((x * long, y * hard) for x, y in ways),
        source=source,
        status=status,
        **{k: _more(k, v, hard) for k, v in fields.items()},
    )
    for fault in zone.check():
        raise InputError(fault)
    return zone


def _more(key: str, value: Any, hard: float) -> Any:
    """A further field of a zone in SI; `hard` is the unit of its load."""
    if key in ("width", "free_thickness", "stands_proud"):
        number = to_si(value, "length", key)
    elif key in ("seating", "crush", "factor"):
        number = to_si(value, "number", key) * (1.0 if key == "factor" else hard)
    elif key == "note":
        return str(value)
    else:
        raise fail(key, "an unknown field", "width, seating or another field of a zone")
    if np.ndim(number) or not 0 <= number < np.inf:
        raise fail(key, value, "a number not below zero")
    return float(number)


def _whole_way(x: Array, y: Array, c: Array, f: Array, alone: bool) -> tuple[Array, Array]:
    """An unloading branch from the loading curve down to no load."""
    if len(x) != len(y) or len(x) < 1:
        raise fail("unloading", f"{len(x)} closures and {len(y)} loads", "as many of both")
    on = float(np.interp(x[0], c, f))
    if alone and x[0] < c[-1] and not np.isclose(y[0], on, rtol=0.01):
        x, y = np.append(c[-1], x), np.append(f[-1], y)
    if y[-1] > 0:
        slope = (y[-2] - y[-1]) / (x[-2] - x[-1]) if len(x) > 1 and x[-2] > x[-1] else 0.0
        end = x[-1] - y[-1] / slope if slope > 0 else -1.0
        if end < 0:
            raise fail("unloading", f"a last load of {y[-1]:g}", "a branch that comes down to 0")
        x, y = np.append(x, end), np.append(y, 0.0)
    return x, y


def _plain(values: Any, unit: str | None, what: str) -> tuple[Array, str]:
    """Numbers and their unit; quantities bring their own."""
    if hasattr(values, "units"):
        own = f"{values.units:~}"
        if unit is None:
            return np.atleast_1d(np.asarray(values.magnitude, dtype=float)), own
        try:
            values = values.to(unit).magnitude
        except Exception as err:
            raise fail(what, f"numbers in {own}", f"numbers in {unit}") from err
    if unit is None:
        example = '"um"' if what == "closure" else '"N/mm" or "MPa"'
        raise fail(f"{what}_unit", "nothing", f"the unit of the {what}, such as {example}")
    try:
        out = np.asarray(values, dtype=float)
    except (TypeError, ValueError) as err:
        raise fail(what, short(values), "a list of numbers") from err
    if out.ndim != 1:
        raise fail(what, short(values), "a list of numbers")
    return out, unit


def _per(unit: str) -> str:
    """Whether a unit is a line load or a stress."""
    for kind, per in (("line load", "length"), ("stress", "area")):
        try:
            to_si(Q(1.0, unit), kind)
        except InputError:
            continue
        except Exception:
            break
        return per
    raise fail("load", f'the unit "{unit}"', 'a line load such as "N/mm" or a stress such as "MPa"')


def _read_points(given: str | Path) -> tuple[Any, Any, str, str]:
    """Loading branch, unloading branches and units of a CSV file or its text."""
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
        rows = [
            r for r in csv.reader(io.StringIO(text, newline="")) if any(cell.strip() for cell in r)
        ]
    except csv.Error as err:
        raise fail("points", short(text, 30), "plain CSV text") from err
    if len(rows) > _MOST_ROWS:
        raise fail("points", f"{len(rows)} rows", f"at most {_MOST_ROWS}")
    heads = rows[0] if rows else []
    units: dict[str, tuple[int, str]] = {}
    branch = None
    for i, head in enumerate(heads):
        match = _HEAD.match(head)
        if match:
            units[match[1].lower()] = (i, match[2])
        elif head.strip().lower() == "branch":
            branch = i
    for want, example in (("closure", "closure [um]"), ("load", "load [N/mm]")):
        if want not in units:
            raise fail(
                "points", ", ".join(heads) or "an empty file", f'a column headed "{example}"'
            )
    branches: dict[str, list[tuple[float, float]]] = {}
    for number, row in enumerate(rows[1:], start=2):
        word = "loading"
        try:
            pair = (float(row[units["closure"][0]]), float(row[units["load"][0]]))
            if branch is not None:
                word = " ".join(row[branch].lower().split()) or "loading"
        except (ValueError, IndexError) as err:
            raise fail(f"points line {number}", ", ".join(row), "a closure and a load") from err
        if word != "loading" and not re.fullmatch(r"unloading( \d+)?", word):
            raise fail(f"points line {number}, branch", word, '"loading" or "unloading"')
        branches.setdefault(word, []).append(pair)
    up = np.array(branches.pop("loading", []), dtype=float).reshape(-1, 2)
    back = [(np.array(p)[:, 0], np.array(p)[:, 1]) for p in branches.values()]
    unit = units["closure"][1]
    try:
        to_si(Q(1.0, unit), "length")
    except Exception as err:
        raise fail("closure", f'the unit "{unit}"', 'a length such as "um"') from err
    return (up[:, 0], up[:, 1]), back, unit, units["load"][1]
