"""A report as data: one table of what it holds, from which its JSON and their schema are made.

Numbers are plain SI and stand beside their unit. A number that is endless, such as the margin of a
limit that nothing is asked of, is null.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from enum import StrEnum
from operator import attrgetter
from typing import Any, NamedTuple

import numpy as np

from sealkit import __version__, tables
from sealkit.analysis import trade_count
from sealkit.pressure.geometry import swept_volume
from sealkit.sealing.limit import DAMAGE, GAS_LEAK, LIQUID_LEAK, Limit, Moment, Outcome, Preload
from sealkit.sealing.limit import Temperature as Warmth
from sealkit.units import KINDS, show, show_value

NAME = "sealkit report"
VERSION = 7  # one more whenever an entry comes, goes or changes what it means
STANDS = AVERAGE, MAP = "average joint", "deck map"
COUNTS = f"the report's {MAP} counts"
KNOCK = ("not expected", "in the loads", "in the bands", "left out", "not judged")


class Entry(NamedTuple):
    """One thing the report tells."""

    kind: str  # of quantity (`sealkit.units.KINDS`), "text", or "whole"
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
    return attrgetter(get)(of) if isinstance(get, str) else get(of)


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


def _of_state(part: str, help: str, words: type[StrEnum]) -> Entry:
    """What the state of a limit says of one thing; null where it says nothing of it."""
    return Entry("text", help, lambda x: getattr(x.state, part) or None, (*words,), null=True)


_LIMIT: dict[str, Any] = {
    "key": Entry("text", "name that stays the same", "key"),
    "what": Entry("text", "what is limited, in words", "title"),
    "part": Entry("text", "part that gives way", "part"),
    "failure": Entry("text", "kind of failure", "failure", (GAS_LEAK, LIQUID_LEAK, DAMAGE)),
    "unit": Entry("text", "unit of demand and capacity", lambda x: KINDS[x.kind].si),
    "demand": Entry("number", "what is asked of it", "demand"),
    "capacity": Entry("number", "what it has", "capacity", null=True),
    "margin": Entry("number", "capacity / demand - 1; null without demand", "margin", null=True),
    "band_low": Entry(
        "number",
        "least margin, with the two other choices of the model that lower it most, and with knock "
        "where it may come in the cycle designed for; null where none were looked at",
        lambda x: x.band and x.band.low,
        null=True,
    ),
    "band_high": Entry(
        "number",
        "largest margin, with the two that raise it most; null where there is none, or where it is "
        "over 100: next to nothing is asked then",
        lambda x: x.band.high if x.band and x.band.high <= 100.0 else None,
        null=True,
    ),
    "lowest_by": Entry(
        "text", "the choices that give the least", lambda x: x.band and x.band.lowest_by, null=True
    ),
    "highest_by": Entry(
        "text", "the choices that give the most", lambda x: x.band and x.band.highest_by, null=True
    ),
    "outcome": Entry("text", "what margin and band say", "outcome", tuple(map(str, Outcome))),
    "temperature": _of_state("temperature", "of the joint", Warmth),
    "preload": _of_state("preload", "end of its range that is worse", Preload),
    "moment": _of_state("moment", "when it is looked at", Moment),
    "state": Entry("text", "all of that, the engine's state and the place", "state"),
    "source": Entry("text", "of the capacity", "source"),
    "status": Entry("text", "how far it is to be trusted", "status", (*tables.STATUSES,)),
    "note": Entry("text", "what to know about it", "note"),
}


def failures(report: Any) -> list[tuple[Any, float]]:
    """What gives as peak pressure rises, as far as it is looked at, with the pressure outside."""
    return [(x, report.gas.ambient) for x in report.order if np.isfinite(x.pressure)]


_FAILURE: dict[str, Any] = {
    "pressure": Entry(
        "pressure",
        "absolute cylinder pressure at which it gives; null where it gives without gas",
        lambda x: x[0].pressure + x[1] if x[0].pressure > 0 else None,
        null=True,
    ),
    "limit": Entry("text", "key of the limit", lambda x: x[0].limit.key),
    "what": Entry("text", "what happens", lambda x: x[0].limit.consequence.text()),
}


def _boost(key: str, help: str, part: str) -> dict[str, Entry]:
    """A boost, all else as on the sheet, and what it means where it is null."""
    get = attrgetter(f"held.{part}")
    told, none, beyond = "told", "none: without boost too", "beyond what was looked at"
    return {
        key: Entry("gauge pressure", f"{help}; null as {key}_is says", get, null=True),
        f"{key}_is": Entry(
            "text",
            f"how {key} stands",
            lambda r: told if np.isfinite(get(r)) else none if get(r) < 0.0 else beyond,
            (told, none, beyond),
        ),
    }


TABLE: dict[str, Any] = {
    "schema": Entry("text", "name of this form", lambda r: NAME, (NAME,)),
    "version": Entry("whole", "version of this form", lambda r: VERSION, (VERSION,)),
    "sealkit": Entry("text", "version of sealkit", lambda r: __version__),
    "sheet": {
        "name": Entry("text", "of the build", "build.sheet.name"),
        "note": Entry("text", "on the build", "build.sheet.note"),
        "status": Entry("text", "of the numbers on the sheet", "build.sheet.status"),
    },
    "outcome": Entry("text", "the verdict", "outcome", tuple(map(str, Outcome))),
    "by": Entry("text", "what the verdict stands on", "by", STANDS),
    "standing": Entry("text", "the verdict with its reserve, in one line", lambda r: r.standing()),
    "weakest": Entry("text", "key of the limit that decides, as in standing", "decides.key"),
    "reserve": Entry("number", "its margin", "decides.margin", null=True),
    "engine": {"displacement": Entry("volume", "swept by all cylinders", _displacement)},
    "pressure": {
        "fuel": Entry("text", "with the share blended in, by volume", "build.fuel.blend"),
        "compression_ratio": Entry(
            "number", "geometric compression ratio", "build.compression_ratio"
        ),
        "manifold_pressure": Entry("pressure", "in the manifold", "gas.charge.manifold_pressure"),
        "manifold_temperature": Entry(
            "temperature",
            "in the manifold, before fuel evaporates",
            "gas.charge.manifold_temperature",
        ),
        "mean_peak": Entry("pressure", "peak of the mean cycle", "gas.mean_peak"),
        "peak_angle": Entry(
            "angle", "crank angle of that after top dead centre", "gas.cycle.peak_angle"
        ),
        "rare_peak": Entry("pressure", "peak that one cycle in so many exceeds", "gas.rare_peak"),
        "one_cycle_in": Entry("number", "that many", "build.burn.one_cycle_in"),
        "design_peak": Entry(
            "pressure", "what the joint is sized on, knock added", "gas.design_peak"
        ),
        "constant_volume": Entry(
            "pressure", "with all fuel burnt at once at top dead centre", "gas.bound.peak_pressure"
        ),
        "knock_integral": Entry(
            "number", "above 1 the end gas is expected to ignite", "gas.knock_integral"
        ),
        "knock_integral_rare": Entry(
            "number",
            "that of the cycle with the rare peak; null where the gas tables end before it",
            "gas.rare_knock",
            null=True,
        ),
        "knock_rise": Entry(
            "pressure",
            "what all end gas left in that cycle adds to its peak, burnt at once where the "
            "integral comes to 1; null where the gas tables end before it",
            "gas.knock_rise",
            null=True,
        ),
        "knock": Entry(
            "text",
            "not expected; in the loads, by the amplitude on the sheet; in the bands, where rare "
            "cycles alone knock; left out, where the mean one does; not judged with such a fuel",
            "knock",
            KNOCK,
        ),
        "knock_law": Entry("text", "what the law of the delay is good for", "gas.knock_law"),
        "power": Entry("power", "at the crank, an estimate", "gas.brake_power"),
        "torque": Entry("torque", "at the crank, an estimate", "gas.brake_torque"),
    },
    "boost": {
        **_boost("held", "with which the design peak reaches the first failure, as taken", "boost"),
        **_boost(
            "held_low",
            "least with other choices of the model and the knock expected there, no more than "
            "knocks_from where the sheet adds less",
            "low",
        ),
        **_boost("held_high", "most with other choices", "high"),
        **_boost("knocks_from", "from which the mean cycle knocks", "knocks"),
        "knock_integral": Entry("number", "of the mean cycle at held", "held.knock", null=True),
        "least": Entry(
            "text",
            "what perhaps gives without boost too, where held_low is none",
            lambda r: r.held.least or None,
            null=True,
        ),
        "words": Entry("text", "all of that", lambda r: "; ".join(r.boost_words())),
    },
    "fastener": {
        "tightened_low": Entry(
            "force", "preload as tightened, low end", "clamp.preload.assembly_low"
        ),
        "tightened": Entry("force", "preload as tightened", "clamp.preload.assembly"),
        "tightened_high": Entry(
            "force", "preload as tightened, high end", "clamp.preload.assembly_high"
        ),
        "left_low": Entry(
            "force", "cold, after losses and heat, low end", lambda r: _first(r.case.low.preload)
        ),
        "left": Entry("force", "cold, after losses", lambda r: _first(r.nominal.preload)),
        "left_high": Entry(
            "force", "cold, before losses, high end", lambda r: _first(r.case.high.preload)
        ),
        "hot_low": Entry("force", "hot, low end", lambda r: _first(r.warm.low.worked.preload)),
        "hot_high": Entry("force", "hot, high end", lambda r: _first(r.warm.high.hot.preload)),
        "yields_at": Entry(
            "force", "preload at which it yields while tightening", "clamp.yield_preload"
        ),
        "stiffness": Entry("stiffness", "of one fastener", "clamp.bolt_stiffness"),
        "members": Entry("stiffness", "of its members", "clamp.member_stiffness"),
    },
    "joint": {
        "fasteners": Entry(
            "number", "that count for the bore with the fewest", lambda r: r.clamp.shares[0]
        ),
        "clamp_low": Entry("force", "of that bore, cold, low end", _clamp("case.low")),
        "clamp": Entry("force", "of that bore, cold", _clamp("nominal")),
        "clamp_high": Entry("force", "of that bore, cold, high end", _clamp("case.high")),
        "gas_force": Entry(
            "force", "at the design peak", lambda r: r.gas.design_gauge * r.joint.gas_area
        ),
        "over_gas_low": Entry("number", "clamp over gas force, low end", _over_gas("case.low")),
        "over_gas": Entry("number", "clamp over gas force", _over_gas("nominal")),
        "over_gas_high": Entry("number", "clamp over gas force, high end", _over_gas("case.high")),
        "over_gas_trade": Entry(
            "number",
            "as the trade counts: all fasteners round the bore in full, as tightened",
            lambda r: trade_count(r.build, r.clamp, figure(r, "joint.gas_force")),
        ),
        "lift": Entry(
            "lift",
            "of the head at the seal, at peak, low preload",
            lambda r: np.max(r.over_angle.seal_lift),
        ),
    },
    "limits": Rows("every limit, weakest first", _LIMIT, "banded"),
    "order": Rows("what gives as peak pressure rises, first one first", _FAILURE, failures),
    "notes": Rows("worth knowing", Entry("text", "a note", lambda w: w.text()), "warnings"),
}


def _entry(path: str) -> Entry:
    found: Any = TABLE
    for key in path.split("."):
        found = found[key]
    assert isinstance(found, Entry)
    return found


def figure(report: Any, path: str) -> float:
    """A number of a report, plain SI, by its place in `TABLE`: "pressure.design_peak"."""
    return float(_got(_entry(path).get, report))


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
        return str(value)
    number = int(value) if part.kind == "whole" else float(value)
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
        form = {"type": {"text": "string", "whole": "integer"}.get(part.kind, "number")}
    return {
        "description": part.help,
        **({"anyOf": [form, {"type": "null"}]} if part.null else form),
    }
