"""A report as data: one table of what it holds, from which its JSON and their schema are made.

Numbers are plain SI and stand beside their unit. A number that is endless, such as the margin of a
limit that nothing is asked of, is null.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import numpy as np

from sealkit import __version__, tables
from sealkit.analysis import trade_count
from sealkit.build.evidence import measured_fields
from sealkit.pressure.geometry import swept_volume
from sealkit.resources import beside
from sealkit.sealing.limit import DAMAGE, GAS_LEAK, LIQUID_LEAK, Limit, Moment, Outcome, Preload
from sealkit.sealing.limit import Temperature as Warmth
from sealkit.units import KINDS, show, show_value

NAME = "sealkit report"
VERSION = 8  # one more whenever an entry comes, goes or changes what it means
STANDS = AVERAGE, MAP = "average joint", "deck map"
COUNTS = f"the report's {MAP} counts"
KNOCK = ("not expected", "in the loads", "in the bands", "left out", "not judged")


class Entry(NamedTuple):
    """One thing the report tells."""

    kind: str  # of quantity (`sealkit.units.KINDS`), "text", "whole" or "flag"
    help: str  # what it is
    # from the report (in a row, from what the row is made of), a function or a path of names
    get: Callable[[Any], Any] | str
    choices: tuple[str | int, ...] = ()  # the words (or whole numbers) allowed
    null: bool = False  # whether it may be missing


class Rows(NamedTuple):
    """Many of a kind: what they are, the entries (or the entry) of each, where they come from."""

    help: str
    entries: Mapping[str, Any] | Entry
    get: Callable[[Any], Any] | str


def _got(get: Callable[[Any], Any] | str, of: Any) -> Any:
    """What a function or a path of names finds; None where something on the path is.

    In a path stand names, with brackets those of methods, places of tuples, and keys; of one with a
    question mark what is empty is None too.
    """
    if callable(get):
        return get(of)
    for name in get.rstrip("?").split("."):
        if of is not None:
            if isinstance(of, Mapping):
                of = of[name]
            else:
                of = of[int(name)] if name.isdigit() else getattr(of, name.removesuffix("()"))
            of = of() if name.endswith("()") else of
    return (of or None) if get.endswith("?") else of


def _first(values: Any) -> float:
    return float(np.ravel(values)[0])


def _clamp(end: str) -> Callable[[Any], float]:
    """Clamp of one bore with the preload of an assembly of the report."""
    return lambda r: float(r.bore_clamp(_first(_got(end, r).preload)))


def _displacement(report: Any) -> float:
    engine = report.build.engine
    return float(engine.cylinders * swept_volume.si(engine.bore, engine.stroke))


def _over_gas(end: str) -> Callable[[Any], float]:
    return lambda r: _clamp(end)(r) / figure(r, "joint.gas_force")


_BOOST = ("told", "none: without boost too", "beyond what was looked at")


def _boost(part: str) -> Callable[[Any], str]:
    """How a boost stands, all else as on the sheet."""

    def stands(report: Any) -> str:
        boost = getattr(report.held, part)
        return _BOOST[0 if np.isfinite(boost) else 1 if boost < 0.0 else 2]

    return stands


def failures(report: Any) -> list[tuple[Any, float]]:
    """What gives as peak pressure rises, as far as it is looked at, with the pressure outside."""
    return [(x, report.gas.ambient) for x in report.order if np.isfinite(x.pressure)]


_WORKED: dict[str, Callable[[Any], Any]] = {
    "report.schema": lambda r: NAME,
    "report.version": lambda r: VERSION,
    "report.sealkit": lambda r: __version__,
    "report.engine.displacement": _displacement,
    "report.boost.held_is": _boost("boost"),
    "report.boost.held_low_is": _boost("low"),
    "report.boost.held_high_is": _boost("high"),
    "report.boost.knocks_from_is": _boost("knocks"),
    "report.joint.clamp_low": _clamp("case.low"),
    "report.joint.clamp": _clamp("nominal"),
    "report.joint.clamp_high": _clamp("case.high"),
    "report.joint.gas_force": lambda r: r.gas.design_gauge * r.joint.gas_area,
    "report.joint.over_gas_low": _over_gas("case.low"),
    "report.joint.over_gas": _over_gas("nominal"),
    "report.joint.over_gas_high": _over_gas("case.high"),
    "report.joint.over_gas_trade": lambda r: trade_count(
        r.build, r.clamp, figure(r, "joint.gas_force")
    ),
    "report.joint.lift": lambda r: np.max(r.over_angle.seal_lift),
    "limit.unit": lambda x: KINDS[x.kind].si,
    "limit.band_high": lambda x: x.band.high if x.band and x.band.high <= 100.0 else None,
    "failure.pressure": lambda x: x[0].pressure + x[1] if x[0].pressure > 0 else None,
}
_CHOICES: dict[str, tuple[str | int, ...]] = {
    "name": (NAME,),
    "version": (VERSION,),
    "outcomes": (*Outcome,),
    "stands": STANDS,
    "knock": KNOCK,
    "boost": _BOOST,
    "failures": (GAS_LEAK, LIQUID_LEAK, DAMAGE),
    "temperatures": (*Warmth,),
    "preloads": (*Preload,),
    "moments": (*Moment,),
    "statuses": (*tables.STATUSES,),
    "settings": ("torque", "angle", "stretch", "nothing"),
    "average": (AVERAGE,),
    "engine": ("bore", "apart", "alike"),
}


def _entries(rows: Mapping[str, Any], name: str) -> dict[str, Any]:
    out: dict[str, Any] = {}
    for key, row in rows.items():
        path = f"{name}.{key}"
        if isinstance(row, Mapping):
            out[key] = _entries(row, path)
            continue
        (form, *null), help = row[0].split(", "), row[1]
        kind, _, words = form.partition(" of ")
        get = row[2] if len(row) > 2 else _WORKED[path]
        out[key] = Entry(kind, help, get, _CHOICES[words] if words else (), bool(null))
    return out


_DATA = beside(__file__)


def entries(name: str) -> dict[str, Any]:
    """The entries of a part of ``record.toml``."""
    return _entries(_DATA[name], name)


TABLE: dict[str, Any] = {
    **entries("report"),
    "measured": Rows(
        "numbers of the sheet that are known by measurement",
        entries("measured"),
        lambda r: measured_fields(r.build),
    ),
    "limits": Rows("every limit, weakest first", entries("limit"), "banded"),
    "order": Rows(
        "what gives as peak pressure rises, first one first", entries("failure"), failures
    ),
    "notes": Rows("worth knowing", Entry("text", "a note", "text()"), "warnings"),
}


def _entry(path: str) -> Entry:
    found: Any = TABLE
    for key in path.split("."):
        found = found[key]
    assert isinstance(found, Entry)
    return found


def figure(report: Any, path: str) -> float:
    """A number of a report, plain SI, by its place in `TABLE`: "pressure.design_peak"."""
    return _first(_got(_entry(path).get, report))


def shown(report: Any, path: str, system: str = "metric", decimals: int | None = None) -> str:
    """The same as text in the units of the shop."""
    value, kind = figure(report, path), _entry(path).kind
    if decimals is None and path in _ESTIMATES:
        decimals = decimals_of(value, kind, system, 3)
    return show(value, kind, system, *(() if decimals is None else (decimals,)))


_ESTIMATES = ("pressure.power", "pressure.torque")


def decimals_of(value: float, kind: str, system: str, figures: int) -> int:
    """Decimals with which a number has so many figures; negative where it is rounded to tens."""
    size = abs(float(show_value(value, kind, system)))
    return figures - 1 - math.floor(math.log10(size)) if size > 0.0 else 0


def needs_has(row: Limit, system: str = "metric") -> tuple[str, str]:
    """Demand and capacity of a limit as text, with the decimals at which they tell its margin."""
    margin, places = float(row.margin), getattr(KINDS[row.kind], system)[1]
    both = float(row.demand), float(row.capacity)
    fewest = min(places, max(decimals_of(max(both), row.kind, system, 3), 0))
    for decimals in range(fewest, places + 4):
        asked, left = (round(float(show_value(x, row.kind, system)), decimals) for x in both)
        told = asked > 0.0 and abs(left / asked - 1.0 - margin) <= _TOLD * (1.0 + margin)
        if margin > 10.0 or (told and np.sign(left - asked) == np.sign(margin)):
            break
    needs, has = (show(x, row.kind, system, decimals) for x in both)
    return needs, has


_TOLD = 0.02  # share by which the margin of the figures shown may be off


# --------------------------------------------------------------------------- as data
def told(table: Mapping[str, Any], of: Any) -> dict[str, Any]:
    """What a table such as `TABLE` names of a report, as JSON takes it."""
    return {key: _told(part, of) for key, part in table.items()}


def _told(part: Any, of: Any) -> Any:
    if isinstance(part, Rows):
        return [_told(part.entries, row) for row in _got(part.get, of)]
    if isinstance(part, Mapping):
        return told(part, of)
    value = _got(part.get, of)
    if value is None:
        return None
    if part.kind == "text":
        return "; ".join(value) if isinstance(value, tuple) else str(value)
    if part.kind == "flag":
        return bool(value)
    number = int(value) if part.kind == "whole" else _first(value)
    if not math.isfinite(number):
        return None
    unit = KINDS[part.kind].si if part.kind in KINDS else ""
    return {"value": number, "unit": unit} if unit else number


def schema(table: Mapping[str, Any] = TABLE, name: str = NAME) -> dict[str, Any]:
    """The JSON Schema (draft 2020-12) of a report, or of what another table tells.

    >>> schema()["properties"]["pressure"]["properties"]["mean_peak"]["properties"]["unit"]
    {'const': 'Pa'}
    """
    top = {"$schema": "https://json-schema.org/draft/2020-12/schema", "title": name}
    return top | _object(table)


def _object(entries: Mapping[str, Any]) -> dict[str, Any]:
    return {
        "type": "object",
        "properties": {key: _form(part) for key, part in entries.items()},
        "required": list(entries),
        "additionalProperties": False,
    }


def _form(part: Any) -> dict[str, Any]:
    if isinstance(part, Rows):
        return {"description": part.help, "type": "array", "items": _form(part.entries)}
    if isinstance(part, Mapping):
        return _object(part)
    if part.choices:
        return {"description": part.help, "enum": [*part.choices, *([None] * part.null)]}
    unit = KINDS[part.kind].si if part.kind in KINDS else ""
    if unit:
        number = {"value": {"type": "number"}, "unit": {"const": unit}}
        form: dict[str, Any] = {"type": "object", "properties": number}
        form |= {"required": list(number), "additionalProperties": False}
    else:
        types = {"text": "string", "whole": "integer", "flag": "boolean"}
        form = {"type": types.get(part.kind, "number")}
    return {
        "description": part.help,
        **({"anyOf": [form, {"type": "null"}]} if part.null else form),
    }
