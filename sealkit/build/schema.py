"""The sheet as a JSON Schema, so that an editor can help to write one."""

from __future__ import annotations

from typing import Any

from sealkit.build.fields import ABOUT, FIELDS, OPTIONAL, SECTION_NAMES, TABLE, Spec
from sealkit.build.names import KNOWN
from sealkit.build.rules import EITHER, NEEDED_BY, Either
from sealkit.units import KINDS

# a number and what may be a unit; which units fit is told by the reader
_QUANTITY = r"^\s*[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d{1,3})?\s*\S.*$"


def json_schema() -> dict[str, Any]:
    """The build sheet as a JSON Schema (draft 2020-12), from the table of fields.

    It knows names, required fields, choices, ranges of plain numbers and what excludes what. Units,
    ranges of quantities and what one field asks of another are only checked by reading the sheet.

    >>> json_schema()["properties"]["engine"]["properties"]["heads"]["maximum"]
    4
    """
    top = {name: _table(name) for name in SECTION_NAMES if "." not in name}
    needed = [n for n in top if n not in OPTIONAL and "required" in top[n]]
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": "sealkit build sheet",
        "type": "object",
        "properties": top,
        "required": needed,
        "additionalProperties": False,
    }


def _table(name: str) -> dict[str, Any]:
    """A section, or one row of a list of tables."""
    specs = TABLE[name]
    inner = [s for s in SECTION_NAMES if s.rpartition(".")[0] == name]
    rules = [_either(e) for e in EITHER if e.one[0].rpartition(".")[0] == name]
    if name == "fasteners":
        rules += [_needs(way, keys) for way, keys in NEEDED_BY.items() if keys]
    doc = {"description": ABOUT[name]} if name in ABOUT else {}
    required = [k for k, s in specs.items() if s.required]
    return {
        "type": "object",
        **doc,
        "properties": {k: _field(f"{name}.{k}", s) for k, s in specs.items()}
        | {s.rpartition(".")[2]: _table(s) for s in inner},
        "additionalProperties": False,
        **({"required": required} if required else {}),
        **({"allOf": rules} if rules else {}),
    }


def _either(pair: Either) -> dict[str, Any]:
    """The rule of two ways that exclude each other, in keys of their section."""
    one, other = ([p.rpartition(".")[2] for p in side] for side in (pair.one, pair.other))
    ways: list[dict[str, Any]] = [
        {"required": a, "not": {"anyOf": [{"required": [k]} for k in b]}}
        for a, b in ((one, other), (other, one))
    ]
    neither = {"not": {"anyOf": [{"required": [k]} for k in (*one, *other)]}}
    return {"oneOf": ways if pair.needed else [*ways, neither]}


def _needs(way: str, keys: tuple[str, ...]) -> dict[str, Any]:
    asked = {"properties": {"tightening": {"const": way}}, "required": ["tightening"]}
    return {"if": asked, "then": {"required": list(keys)}}


def _field(path: str, spec: Spec) -> dict[str, Any]:
    about = "; ".join(w for w in (spec.help, spec.span, spec.when) if w)
    out: dict[str, Any] = {"description": about, "examples": [spec.example], **_type(path, spec)}
    if path in KNOWN and path in FIELDS:
        out["examples"] = [spec.example, *(n for n in KNOWN[path]() if n != spec.example)]
    if spec.default is not None:
        out["default"] = spec.default
    return out


def _type(path: str, spec: Spec) -> dict[str, Any]:
    quantity = {"type": "string", "pattern": _QUANTITY}
    place = {"type": "array", "items": quantity, "minItems": 2, "maxItems": 2}
    if spec.choices:
        return {"enum": list(spec.choices)}
    if spec.kind == "rows":
        return {"type": "array", "items": _table(path)}
    if spec.kind == "place":
        return place
    if spec.kind == "places":
        return {"type": "array", "items": place}
    if spec.kind == "column":
        return {"type": "array", "items": {"type": "number"}, "minItems": 2}
    if spec.kind in ("text", "unit"):
        return {"type": "string", **({} if spec.default == "" else {"minLength": 1})}
    if spec.kind in KINDS and KINDS[spec.kind].si:
        return quantity
    number = {"type": "integer" if spec.kind == "whole" else "number", **_bounds(spec)}
    return {"anyOf": [number, quantity]} if spec.kind == "fraction" else number


def _bounds(spec: Spec) -> dict[str, Any]:
    number = int if spec.kind == "whole" else float
    low, high = (number(end) if end else None for end in spec.ends)
    word = "exclusiveMinimum" if spec.low_open else "minimum"
    bounds = {} if low is None else {word: low}
    return bounds if high is None else bounds | {"maximum": high}
