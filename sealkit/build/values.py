"""One value of the sheet: read to SI, kept as it came, written and shown."""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Mapping
from typing import Any, NamedTuple

import numpy as np
import pint

from sealkit.build.fields import PLACES, Spec, si
from sealkit.build.toml import toml
from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.units import KINDS, show, show_value

LONGEST_LIST = 400  # places or rows
_LONGEST = 2_000  # characters of a text


class Kept(NamedTuple):
    """A value with the text it was written as; the text holds as long as the value is the same."""

    text: Any
    value: Any


def came(raw: Any) -> str:
    """A raw value for a message."""
    if isinstance(raw, pint.Quantity):
        return short(f"{raw:~}")[1:-1]
    if isinstance(raw, Mapping):
        return "a table"
    return "a list" if isinstance(raw, list | tuple) else short(raw)


# --------------------------------------------------------------------------- reading
def read(spec: Spec, raw: Any, path: str) -> Any:
    """The value of a field in SI, of any kind but rows.

    Raises InputError naming `path`, what came and what is wanted.
    """
    return _READ.get(spec.kind, _number)(spec, raw, path)


def _text(spec: Spec, raw: Any, path: str) -> str:
    if not isinstance(raw, str):
        raise InputError(Fault(path, came(raw), spec.wanted))
    text = raw.strip()
    if spec.choices:
        for choice in spec.choices:
            if text.casefold() == choice.casefold():
                return str(choice)
        raise fail(path, raw, spec.wanted, near(text, spec.choices))
    if not text and spec.default != "":
        raise fail(path, raw, spec.wanted)
    if len(text) > _LONGEST:
        raise fail(path, raw, f"a text of at most {_LONGEST} characters")
    if any(0xD800 <= ord(c) <= 0xDFFF for c in text):
        raise InputError(Fault(path, "broken characters", spec.wanted))
    return text


def _number(spec: Spec, raw: Any, path: str) -> float | int:
    kind = "number" if spec.kind == "whole" else spec.kind
    if isinstance(raw, Mapping | list | tuple):
        raise InputError(Fault(path, came(raw), spec.wanted))
    try:
        value = si(raw, kind, path)
    except OverflowError as err:
        raise fail(path, "a number too large", spec.wanted) from err
    except InputError as err:
        own = (dataclasses.replace(f, field=path, wanted=spec.wanted) for f in err.faults)
        raise InputError(own) from err
    if not isinstance(value, float):
        raise InputError(Fault(path, came(raw), f"one value, {spec.wanted}"))
    if not spec.fits(value):
        raise InputError(Fault(path, came(raw), *spec.wanted_of(raw, value)))
    return int(value) if spec.kind == "whole" else value


def _each(parts: list[tuple[Spec, Any, str]]) -> tuple[Any, ...]:
    """Several values with all their faults."""
    out: list[Any] = []
    faults: list[Fault] = []
    for spec, raw, path in parts:
        try:
            out.append(read(spec, raw, path))
        except InputError as err:
            faults.extend(err.faults)
    if faults:
        raise InputError(faults)
    return tuple(out)


def _rows_of(raw: Any, dimensions: int) -> Any:
    """A quantity or array of this many dimensions as a list."""
    array = isinstance(raw, pint.Quantity | np.ndarray) and np.ndim(raw) == dimensions
    return list(raw) if array else raw


def _place(spec: Spec, raw: Any, path: str) -> tuple[Any, ...]:
    """Two lengths; their faults are told as ``path.x`` and ``path.y``."""
    raw = _rows_of(raw, 1)
    if not isinstance(raw, list | tuple) or len(raw) != 2:
        what = f"a list of {len(raw)}" if isinstance(raw, list | tuple) else came(raw)
        wanted = f"two lengths, along and across, such as {toml(spec.example)}"
        raise InputError(Fault(path, what, wanted))
    one = [dataclasses.replace(spec, kind="length", example=e) for e in spec.example]
    return _each([(one[0], raw[0], f"{path}.x"), (one[1], raw[1], f"{path}.y")])


def _places(spec: Spec, raw: Any, path: str) -> tuple[Any, ...]:
    raw = _rows_of(raw, 2)
    if not isinstance(raw, list | tuple):
        raise InputError(Fault(path, came(raw), spec.wanted))
    if len(raw) > LONGEST_LIST:
        raise InputError(Fault(path, f"{len(raw)} places", f"at most {LONGEST_LIST}"))
    one = dataclasses.replace(spec, kind="place", example=spec.example[0])
    return _each([(one, place, f"{path}[{n}]") for n, place in enumerate(raw, start=1)])


def _column(spec: Spec, raw: Any, path: str) -> tuple[float, ...]:
    """Numbers in a unit that stands elsewhere."""
    try:
        numbers = np.asarray(raw, dtype=float)
    except (TypeError, ValueError, OverflowError):
        numbers = np.array(0.0)
    if numbers.ndim != 1:
        raise InputError(Fault(path, short(raw), spec.wanted))
    return tuple(numbers.tolist())


_READ: dict[str, Callable[[Spec, Any, str], Any]] = {
    "text": _text,
    "unit": _text,
    "place": _place,
    "places": _places,
    "column": _column,
}


# --------------------------------------------------------------------------- writing
def _inner(kind: str) -> str:
    return "length" if kind == "place" else "place"


def text_of(kind: str, raw: Any, value: Any) -> Any:
    """A raw value as it is written on a sheet: as it came, where that can stand there."""
    if kind in PLACES:
        return [text_of(_inner(kind), r, v) for r, v in zip(raw, value, strict=True)]
    if kind == "column":
        plain = isinstance(raw, list) and all(type(x) in (int, float) for x in raw)
        return raw if plain else list(value)
    return raw if isinstance(raw, str) or type(raw) in (int, float) else written(value, kind)


def written(value: Any, kind: str) -> Any:
    """A held value as it is written on a sheet; reading it gives exactly the same number."""
    if kind in PLACES:
        return [written(v, _inner(kind)) for v in value]
    if kind == "column":
        return list(value)
    if kind in ("text", "whole", "unit") or not KINDS[kind].si:
        return value
    for system in ("metric", "inch"):
        unit = getattr(KINDS[kind], system)[0]
        number = float(show_value(value, kind, system))
        for digits in (6, 9, 12, 15, 17):
            text = f"{number:.{digits}g} {unit}"
            if si(text, kind) == value:
                return text
    return f"{value!r} {KINDS[kind].si}"


def readable(value: Any, kind: str, system: str) -> Any:
    """A held value rounded for reading, in the shop's units."""
    if kind in PLACES:
        return [readable(v, _inner(kind), system) for v in value]
    if kind in ("text", "whole"):
        return str(value)
    return f"{value:.6g}" if kind == "number" else show(value, kind, system)
