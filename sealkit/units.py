"""Units: the one registry, reading and showing quantities, and the decorator for public functions.

Inside the package every number is a plain SI float or array. Quantities with units stand at
the doors only: public functions, the build sheet, answers, screens. `with_units` states the kind
of each argument of a public function once; the plain SI function stays reachable as `.si`.

Kinds are finer than dimensions. Pressure is absolute unless the kind says gauge; gauge pressure
has a dimension of its own here, so that the two never mix. Torque and energy share a dimension
and are told apart by how the unit is written. A temperature difference is not a temperature.
Crank speed is counted in turns, never in radians by accident.
"""

from __future__ import annotations

import copy
import dataclasses
import functools
import inspect
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from typing import Any, Protocol, cast

import numpy as np
import pint

from sealkit.errors import Fault, InputError, fail, near, short
from sealkit.kinds import spec as named
from sealkit.resources import beside

ureg: pint.UnitRegistry
try:  # pint keeps what it reads in the user's cache folder, by its text and the version
    ureg = pint.UnitRegistry(cache_folder=":auto:")
except Exception:  # no folder that can be written, or a file cut short there
    ureg = pint.UnitRegistry()
_DATA = beside(__file__)
for _line in _DATA["define"]:
    ureg.define(_line)
_COMMA = re.compile(r"\s*([+-]?)([\d.,]*\d,\d[\d.,]*)(.*)", re.DOTALL)


def _comma(text: str) -> str:
    """How a number written with commas has to be written, or ''."""
    match = _COMMA.match(text)
    if match is None:
        return ""
    sign, number, unit = match[1], match[2], " ".join(match[3].split())
    whole, _, decimals = number.rpartition(",")
    ways = [f"{whole.replace('.', '')}.{decimals}"] if number.count(",") == 1 else []
    if re.fullmatch(r"\d{1,3}(,\d{3})+(\.\d*)?", number):  # may part thousands
        ways.append(number.replace(",", ""))
    meant = " or ".join(f'"{sign}{way} {unit}"' for way in ways)
    return f" ({f'did you mean {meant}? ' * bool(meant)}a number has no comma)"


def _refuse_comma(text: str) -> str:
    """The text, if no number in it has a comma: the registry would read over it."""
    if hint := _comma(text):
        raise fail("quantity", text, "a number with a decimal point", hint)
    return text


ureg.preprocessors.append(_refuse_comma)
pint.set_application_registry(ureg)
Q = ureg.Quantity

_ABSOLUTE_ONLY = {"psia", "bara", "kPaa"}


# --------------------------------------------------------------------------- kinds
@dataclass(frozen=True)
class Kind:
    """What a number is: its name in words, its unit inside, and how the shop writes it."""

    words: str  # the noun used in messages
    si: str  # unit of the plain number inside the package
    example: str  # how to write one
    # metric, inch: unit and decimals shown in each shop system; decimals below zero round whole
    # numbers, -3 to thousands
    metric: tuple[str, int]
    inch: tuple[str, int]


KINDS: dict[str, Kind] = {
    name: Kind(k["words"], k["si"], k["example"], tuple(k["metric"]), tuple(k["inch"]))
    for name, k in _DATA["kinds"].items()
}

SYSTEMS = ("metric", "inch")

_SCALED = {"1e-6/K": ("1/K", 1e-6), "1e-6/delta_degF": ("1/delta_degF", 1e-6)}
_LABEL: dict[str, str] = _DATA["label"]
INCH_OF: dict[str, str] = _DATA["inch"]  # unit of our own prose -> what an inch shop writes
_PRINTED = {"**2": "²", "**3": "³", "*": "·", "delta_degF": "°F", "(hr": "(h"}


def _kind(name: str) -> Kind:
    if name not in KINDS:
        raise KeyError(f"no kind of quantity is called {name!r}{near(name, KINDS)}")
    return KINDS[name]


# --------------------------------------------------------------------------- reading text
_SPELLING = {word: unit for unit, words in _DATA["shop"].items() for word in words}
_ANY_CASE = {unit.lower(): unit for unit in _DATA["case"]["any"]}
_CAPITALS: dict[str, str] = _DATA["case"]["capitals"]
_REFUSED: dict[str, str] = _DATA["refused"]
_FOOT, _POUND = "(ft|foot|feet|in|inch|inches)", "(lb|lbs|pound|pounds)"
_FOOT_POUND = re.compile(rf"{_FOOT}[ .*·-]*{_POUND}|{_POUND}[ .*·-]*{_FOOT}")
# a power as it is typed where no raised figure is at hand: mm2, in3
_BARE_POWER = re.compile(r"(?<![A-Za-z])(mm|cm|m|in|ft|MM|CM|IN|FT)([23])(?![0-9A-Za-z])")
_NUMBER = re.compile(
    r"([+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?)\s*(.*)\Z", re.DOTALL
)
# a fraction as it is on a rule, 15/32, with whole ones before it or not
_FRACTION = re.compile(r"([+-]?)(?:([0-9]{1,4})[ -])?([0-9]{1,4})/([1-9][0-9]{0,3})(?![0-9.,/])")
_NUMBER_AND_UNIT = 'a number and a unit, such as "86 mm"'
# a closed grammar: names with one power of one digit, joined by * or /, in one pair of brackets
_WORD = r"[A-Za-zµμΩ°Δ_%](?:[0-9]?[A-Za-zµμΩ°Δ_%])*[0-9]?"
_FACTOR = rf"{_WORD}(?: ?\*\* ?-?[0-9](?:\.[0-9])?)?"
_JOIN = r"(?: ?[*/] ?| )"
_TERM = rf"(?:{_FACTOR}|\( ?{_FACTOR}(?:{_JOIN}{_FACTOR})* ?\))"
_UNIT_TEXT = re.compile(rf"(?:1? ?/ ?)?{_TERM}(?:{_JOIN}{_TERM})*\Z")


def _refusal(unit: str) -> str:
    """What to write instead of a unit that looks right and is not; '' for any other."""
    match = _FOOT_POUND.fullmatch(unit)
    if match is not None:
        arm = "in" if (match[1] or match[4]).startswith("in") else "ft"
        return f'write "lbf*{arm}" for a torque'
    return _REFUSED.get(unit, "")


@functools.lru_cache(maxsize=1024)
def _unit(text: str) -> Any:
    """The registry's unit of a text that has passed the grammar."""
    return ureg.parse_units(text) if text else ureg.dimensionless


def parse(text: str, name: str = "value") -> Any:
    """Read a quantity written as number and unit, such as ``"86 mm"`` or ``"1 3/8 in"``.

    Returns a pint quantity. Raises InputError if the text is not a number with a known unit.

    Parameters
    ----------
    text : str, at most 80 characters, a number followed by a unit (or by nothing)
    name : str, the field named in the error
    """
    if not isinstance(text, str) or len(text) > 80:
        raise fail(name, text, _NUMBER_AND_UNIT)
    try:
        return Q(*_read(text))
    except InputError as err:
        raise err.under(name) from err


@functools.lru_cache(maxsize=4096)
def _read(text: str) -> tuple[float, Any]:
    """Number and unit of a text; those of good ones are kept, since they come again and again."""
    name, wanted = "value", _NUMBER_AND_UNIT
    body = text.strip(" \t\r\n\u00a0")
    if (part := _FRACTION.match(body)) and not (part[2] and int(part[3]) >= int(part[4])):
        decimal = int(part[2] or 0) + int(part[3]) / int(part[4])
        body = f"{part[1]}{decimal!r} {body[part.end() :]}"
    match = _NUMBER.match(body)
    if match is None or not all(c.isprintable() or c in "\t\u00a0\u2009\u202f" for c in body):
        endless = body.lower().lstrip("+-").startswith(("nan", "inf"))
        raise fail(name, text, f"{wanted}; a finite number" if endless else wanted)
    if hint := _comma(body):
        raise fail(name, text, "a number with a decimal point", hint)
    number = float(match[1])
    if not math.isfinite(number):
        raise fail(name, text, f"{wanted}; this number is too large")
    unit = " ".join(match[2].split()).removesuffix(".")
    unit = _BARE_POWER.sub(r"\1**\2", unit)
    low = unit.lower()
    plain = low.replace("²", "**2").replace("³", "**3").replace("·", "*").replace("^", "**")
    if low in _SPELLING:
        unit = _SPELLING[low]
    elif refusal := _refusal(low):
        raise fail(name, text, "a known unit", f": {refusal}")
    elif plain in _ANY_CASE:
        unit = _ANY_CASE[plain]
    elif plain.upper() in _CAPITALS and unit.isupper():
        unit = _CAPITALS[plain.upper()]
    else:
        unit = unit.replace("²", "**2").replace("³", "**3").replace("·", "*").replace("^", "**")
        unit = re.sub(r"(?<=[A-Za-z])\.(?=[A-Za-z])", "*", unit)
    if unit and not _UNIT_TEXT.match(unit):
        raise fail(name, text, wanted)
    unit = f"1{unit}" if unit.startswith("/") else unit
    try:
        return number, _unit(unit)
    except Exception as err:
        known = ("mm", "in", "bar", "psi", "MPa", "ksi", "kN", "lbf", "N*m", "lbf*ft", "deg", "rpm")
        raise fail(name, text, 'a known unit, such as "86 mm"', near(unit, known)) from err


# --------------------------------------------------------------------------- to and from SI
LEVEL = re.compile(r".*(?:bel|neper|octave)|(?:delta_)?decade")  # no plain factor makes SI of these


def _unit_names(quantity: Any) -> dict[str, float]:
    return {str(n): float(e) for n, e in quantity._units.items()}


@functools.cache
def _dims(unit: str) -> Any:
    return ureg.Unit(unit).dimensionality


_TURNS = {"turn", "revolutions_per_minute", "radian", "degree"}


def _spelling_fault(quantity: Any, kind: str) -> str | None:
    """What is wrong with how the unit is written, although its dimension fits; None if nothing."""
    names = _unit_names(quantity)
    if kind == "torque" and any(_dims(n) in (_dims("J"), _dims("W")) for n in names):
        return "an energy came, not a torque"
    if kind == "energy" and len(names) == 2:
        single = [_dims(n) for n, e in names.items() if e == 1]
        if _dims("N") in single and _dims("m") in single:
            return "a torque came, not an energy"
    if kind == "crank speed" and not names.keys() & {*_TURNS, "revolutions_per_second"}:
        return "a frequency came; turns or radians are not told"
    if kind == "frequency" and names.keys() & _TURNS:
        return "a crank speed came, not a frequency"
    if kind == "temperature difference" and names.keys() & {"degree_Celsius", "degree_Fahrenheit"}:
        return "a temperature came, not a difference"
    if kind == "temperature" and any(n.startswith("delta_") for n in names):
        return "a temperature difference came, not a temperature"
    if kind == "gauge pressure" and names.keys() & _ABSOLUTE_ONLY:
        return "an absolute pressure came, not a gauge pressure"
    return None


def to_si(value: Any, kind: str, name: str = "value") -> Any:
    """The plain SI number (float or array of floats) of a quantity.

    Returns float, or numpy array of float, in the unit ``KINDS[kind].si``. Raises InputError if no
    unit came where one is needed, the dimension is wrong, or the unit is that of another kind
    (energy for torque, gauge for absolute pressure, ...).

    Parameters
    ----------
    value : quantity, text such as ``"86 mm"``, or (for plain kinds only) a number or array
    kind : key of `KINDS`
    name : the argument or field named in the error
    """
    try:
        return _text_si(value, kind) if type(value) is str else _si(value, kind)
    except InputError as err:
        raise err.under(name) from err


def _si(value: Any, kind: str) -> Any:
    name = "value"
    k = _kind(kind)
    wanted = f"{k.words}, such as {k.example}"
    text = short(value) if isinstance(value, str) else ""
    if text:
        value = parse(value)
        if k.si and not value._units:
            raise InputError(Fault(name, f"{text} without a unit", wanted))
    if value is None or isinstance(value, bool | np.bool_):
        raise fail(name, value, wanted)
    if not isinstance(value, pint.Quantity):
        try:
            plain = np.asarray(value, dtype=float)
        except OverflowError as err:
            raise InputError(Fault(name, "a number too large", wanted)) from err
        except (TypeError, ValueError) as err:
            raise fail(name, value, wanted) from err
        if k.si:
            raise InputError(Fault(name, f"{short(value)} without a unit", wanted))
        return float(plain) if plain.ndim == 0 else plain
    came = text or _came(value)
    if any(LEVEL.match(n) for n in _unit_names(value)):
        raise InputError(Fault(name, came, wanted, reason="a level came"))
    target, dims = k.si or "dimensionless", value.dimensionality
    if kind == "gauge pressure" and dims == _dims("Pa"):
        target = "Pa"
    if dims == _dims(target):
        wrong = _spelling_fault(value, kind)
    else:
        gauge = dims == _dims("pascal_gauge") and _dims(target) == _dims("Pa")
        wrong = "a gauge pressure came, not an absolute one" if gauge else ""
    if wrong is not None:
        raise InputError(Fault(name, came, wanted, _pounds(value, kind), wrong))
    try:
        plain = np.asarray(value.to(target).magnitude, dtype=float)
    except (TypeError, ValueError, ArithmeticError, AttributeError, KeyError) as err:
        raise InputError(Fault(name, came, wanted)) from err
    return float(plain) if plain.ndim == 0 else plain


_text_si = functools.lru_cache(maxsize=4096)(_si)


def _came(value: Any) -> str:
    """A quantity for a message."""
    try:
        unit = f"{value.units:~}"
    except Exception:  # the registry's own formatter fails on some of its odd units
        unit = " * ".join(f"{n}**{e:g}" if e != 1 else n for n, e in _unit_names(value).items())
    if np.ndim(value.magnitude) == 0:
        return short(f"{value.magnitude} {unit}")[1:-1]
    return f"an array in {unit}"


def _pounds(value: Any, kind: str) -> str:
    """What to write instead of plain pounds."""
    if _unit_names(value) != {"pound": 1.0}:
        return ""
    si = KINDS[kind].si
    if si in ("Pa", "pascal_gauge"):
        return ': write "psi"'
    return {"N": ': write "lbf"', "N*m": ': write "lbf*ft"'}.get(si, "")


def from_si(value: Any, kind: str) -> Any:
    """The quantity of a plain SI number or array, in the unit ``KINDS[kind].si``."""
    unit = _kind(kind).si
    return Q(value, unit) if unit else value


def _shown(value: Any, kind: str, system: str) -> tuple[Any, str, int]:
    if system not in SYSTEMS:
        raise fail("system", system, '"metric" or "inch"')
    unit, decimals = getattr(_kind(kind), system)
    if not unit:
        return value, "", decimals
    if unit == "%":
        return np.asarray(value, dtype=float) * 100.0, unit, decimals
    scale, zero, factor = _straight(kind, unit)
    plain = value if isinstance(value, int | float) else np.asarray(value, dtype=float)
    number = (plain * scale + zero if zero else plain * scale) / factor
    return number, unit, decimals


@functools.cache
def _straight(kind: str, unit: str) -> tuple[float, float, float]:
    """(scale, number at zero, divisor) from the SI unit of a kind to the shop's unit."""
    base, factor = _SCALED.get(unit, (unit, 1.0))
    si = _kind(kind).si
    zero = float(Q(0.0, si).to(base).magnitude)
    return float(Q(1.0, si).to(base).magnitude) - zero, zero, factor


def show_value(value: Any, kind: str, system: str = "metric") -> Any:
    """A plain SI number as the number the shop reads (float or array), without its unit."""
    return _shown(value, kind, system)[0]


def show_unit(kind: str, system: str = "metric") -> str:
    """The unit the shop reads this kind of quantity in, as a label."""
    return label(getattr(_kind(kind), system)[0])


def show(value: Any, kind: str, system: str = "metric", decimals: int | None = None) -> str:
    """A plain SI number as text in the shop's units, such as ``"86.00 mm"`` or ``"3.386 in"``."""
    number, unit, places = _shown(value, kind, system)
    places = places if decimals is None else decimals
    number = float(number) if places >= 0 else round(float(number), places)
    printed = label(unit)
    return f"{number:,.{max(places, 0)}f}{'' if printed in ('', '°') else ' '}{printed}"


def as_shown(value: Any, kind: str, system: str = "metric") -> float:
    """A plain SI number, rounded to what `show` prints of it: who reads it works with that."""
    number, unit, places = _shown(value, kind, system)
    return float(to_si(f"{round(float(number), places)} {unit}", kind))


@functools.cache
def label(unit: str) -> str:
    """A unit as `parse` reads it ("lbf*ft"), as it is printed ("lbf·ft")."""
    if unit in _LABEL:
        return _LABEL[unit]
    for typed, printed in _PRINTED.items():
        unit = unit.replace(typed, printed)
    return unit


def show_like(value: Any, kind: str, given: Any) -> str:
    """A plain SI number as text in the unit in which `given` was written.

    Returns text such as ``"15.748 in"``. Where `given` has no unit that fits, it is shown as by
    `show`.
    """
    if isinstance(given, str):
        try:
            given = parse(given)
        except InputError:
            given = None
    if not isinstance(given, pint.Quantity) or not KINDS[kind].si:
        return show(value, kind)
    unit = given.units
    for system in SYSTEMS:
        shop = getattr(_kind(kind), system)[0]
        if shop not in _SCALED and unit == ureg.Unit(shop):
            return show(value, kind, system)
    base = KINDS[kind].si
    if kind == "gauge pressure" and given.dimensionality == _dims("Pa"):
        base = "Pa"
    if given.dimensionality != _dims(base):
        return show(value, kind)
    return f"{float(Q(float(value), base).to(unit).magnitude):.5g} {unit:~}"


# --------------------------------------------------------------------------- the decorator
class UnitFunction(Protocol):
    """A public function with units at its door; `si` is the plain SI function behind it."""

    si: Callable[..., Any]
    kinds: Mapping[str, str]
    returns: Any
    __name__: str

    def __call__(self, *args: Any, **kwargs: Any) -> Any: ...


def field(spec: str, **kwargs: Any) -> Any:
    """A dataclass field that holds a plain SI number of this kind, in this range.

    The kind stands with or without a range, as in `with_units`: ``"length > 0"``.
    """
    return dataclasses.field(metadata={"kind": _spec(spec)[0], "spec": spec}, **kwargs)


def read_fields(cls: type, given: Mapping[str, Any]) -> dict[str, Any]:
    """Values for the fields of a dataclass, those made with `field` as plain SI numbers.

    Raises InputError listing every value that is no single quantity of its kind and range. A field
    without a kind takes its value as it is.
    """
    out = dict(given)
    faults: list[Fault] = []
    for f in dataclasses.fields(cls):
        if f.name not in given or "spec" not in f.metadata:
            continue
        try:
            if np.ndim(given[f.name]) > 0:
                raise fail(f.name, f"{np.size(given[f.name])} values", "one value")
            out[f.name] = plain_within(given[f.name], f.metadata["spec"], f.name)
        except InputError as err:
            faults.extend(err.faults)
    if faults:
        raise InputError(faults)
    return out


def plain_within(value: Any, spec: str, name: str) -> Any:
    """The plain SI number of a quantity of this kind in this range.

    Raises InputError for another kind, or out of the range.
    """
    plain = to_si(value, _spec(spec)[0], name)
    if fault := check_range(plain, spec, name, value):
        raise InputError(fault)
    return plain


def plain(value: Any, kind: str, name: str = "value") -> Any:
    """A plain SI number as it is; a quantity, or text with a unit, read as this kind.

    The guard of classes and methods that take plain SI numbers and are called in loops. Raises
    InputError for a quantity of another kind, or a list of quantities.

    Parameters
    ----------
    value : plain SI number or array, quantity, or text such as ``"48 kN"``
    kind : key of `KINDS`
    name : the argument named in the error

    >>> plain(48e3, "force"), plain("48 kN", "force"), plain(Q(48, "kN"), "force")
    (48000.0, 48000.0, 48000.0)
    """
    if isinstance(value, float) or (type(value) is np.ndarray and value.dtype != object):
        return value
    if isinstance(value, str | pint.Quantity):
        return to_si(value, kind, name)
    if isinstance(value, list | tuple | np.ndarray) and _holds_quantity(value):
        raise fail(
            name, "a list of quantities", f"one quantity that holds them: {KINDS[kind].words}"
        )
    return value


def _holds_quantity(values: Any) -> bool:
    flat = values.flat if isinstance(values, np.ndarray) else values
    return any(
        isinstance(v, pint.Quantity) or (isinstance(v, list | tuple) and _holds_quantity(v))
        for v in flat
    )


def plain_fields(item: Any) -> None:
    """Read quantities among the fields of a new frozen dataclass; for its ``__post_init__``.

    Fields made with `field` keep plain SI numbers and take quantities and text with unit as
    `plain` does.
    """
    for name, kind in _kinds_of(item.__class__):
        value = getattr(item, name)
        if not isinstance(value, float) and value is not None:
            object.__setattr__(item, name, plain(value, kind, name))


@functools.cache
def _kinds_of(cls: type) -> tuple[tuple[str, str], ...]:
    return tuple(
        (f.name, f.metadata["kind"]) for f in dataclasses.fields(cls) if "kind" in f.metadata
    )


def quantify(result: Any) -> Any:
    """A copy of a result dataclass in which every `field(kind)` number carries its unit.

    Also of a tuple of them, and in the tuples of results that it holds.
    """
    if type(result) is tuple:
        return tuple(map(quantify, result))
    if not dataclasses.is_dataclass(result):
        return result
    out = copy.copy(result)
    for f in dataclasses.fields(result):
        value = getattr(result, f.name)
        if type(value) is tuple:
            object.__setattr__(out, f.name, quantify(value))
        elif "kind" in f.metadata and value is not None:
            object.__setattr__(out, f.name, from_si(value, f.metadata["kind"]))
    return out


_SPEC = re.compile(
    r"([a-z ]+?)\s*(?:(>=|>)\s*(-?[\d.e+-]+)|(-?[\d.e+-]+)\s*\.\.\s*(-?[\d.e+-]+))?\Z"
)


@functools.cache
def _spec(text: str) -> tuple[str, str | None, float, float]:
    match = _SPEC.match(text)
    if match is None:
        raise KeyError(f"cannot read the kind {text!r}")
    kind, sign, low, lo, hi = match.groups()
    _kind(kind)
    if sign:
        return kind, sign, float(low), np.inf
    if lo:
        return kind, "..", float(lo), float(hi)
    return kind, None, -np.inf, np.inf


def _range(spec: str) -> str:
    """The range of a kind in words (bounds in SI), or ''."""
    _, sign, low, high = _spec(spec)
    if sign == "..":
        return f"from {low:g} to {high:g}"
    return "" if sign is None else f"{'above' if sign == '>' else 'not below'} {low:g}"


def _described(function: Callable[..., Any], kinds: Mapping[str, str], returns: Any) -> str:
    """The docstring of a function with kind, SI unit and range of each argument below it."""

    def told(spec: str) -> str:
        kind = _kind(_spec(spec)[0])
        unit = f" [{kind.si}]" if kind.si else ""
        return ", ".join(filter(None, (kind.words + unit, _range(spec))))

    lines = [
        inspect.cleandoc(function.__doc__ or ""),
        "",
        "Quantities",
        "----------",
        "A quantity, or text with a unit; one of another kind or out of range is an InputError.",
        *(f"{name} : {told(spec)}" for name, spec in kinds.items()),
    ]
    if returns is not None and returns != "fields":
        out = returns if isinstance(returns, tuple) else (returns,)
        lines.append(f"returns : {'; '.join(map(told, out))}")
    return "\n".join(lines)


def check_range(value: Any, spec: str, name: str, given: Any = None) -> Fault | None:
    """The fault of a plain SI value against a range written as in `with_units`, or None.

    `given` is the value as it came; one with a unit is told, and its range too, in that unit.
    """
    kind, sign, low, high = _spec(spec)
    v = np.asarray(value, dtype=float)
    ok = np.isfinite(v) & ((v > low) if sign == ">" else (v >= low) & (v <= high))
    if bool(np.all(ok)):
        return None
    k, words = _kind(kind), _range(spec) or "finite"
    bad = v[~ok].flat[0] if v.ndim else float(v)
    came = f"{bad:g} {k.si}".strip()
    if sign and (low or np.isfinite(high)) and k.si:
        own = ""
        if v.ndim == 0 and given is not None:
            came = short(given) if isinstance(given, str) else _came(given)
            ends = [show_like(x, kind, given) for x in (low, high) if np.isfinite(x)]
            own = f"; {' to '.join(ends)}"
        words = words + f" (in {k.si}{own})"
    return Fault(name, came, f"{k.words} that is {words}")


def _annotated(signature: inspect.Signature) -> dict[str, str]:
    """Kinds of the arguments that are annotated with a name of `sealkit.kinds`."""
    found = {n: str(p.annotation).partition("si.") for n, p in signature.parameters.items()}
    return {n: named(name) for n, (before, dot, name) in found.items() if dot and not before}


def with_units(
    returns: Any = None, **kinds: str | Callable[[Any, str], Any]
) -> Callable[[Callable[..., Any]], UnitFunction]:
    """Put units at the door of a function whose inside works on plain SI numbers.

    Returns a decorator; the decorated function has ``.si`` (the plain SI function), ``.kinds``,
    ``.returns``, and shows kind, SI unit and range of each argument in its help. Raises InputError
    (from the decorated function) listing every bad argument at once.

    Parameters
    ----------
    returns : kind of the result; a tuple of kinds for a tuple; "fields" for a dataclass whose
        fields were made with `field`, or a tuple of them; None to return the result as it is
    **kinds : kinds that `sealkit.kinds` has no name for (an argument annotated ``si.Length`` needs
        none), with an allowed range where there is one, such as ``poisson="number 0..0.49"``
        (bounds in SI). Other arguments pass as they are. A number without a unit is refused where
        the kind has a unit. In place of a kind a function may read the argument: from value and
        name it gives the SI value.
    """

    for kind in kinds.values():
        if isinstance(kind, str):
            _spec(kind)

    def decorate(function: Callable[..., Any]) -> UnitFunction:
        signature = inspect.signature(function)
        unknown = set(kinds) - set(signature.parameters)
        if unknown:
            raise TypeError(f"{function.__name__} has no argument {sorted(unknown)}")
        every = {**_annotated(signature), **kinds}
        every = {name: every[name] for name in signature.parameters if name in every}
        plain_kinds = {name: kind for name, kind in every.items() if isinstance(kind, str)}

        @functools.wraps(function)
        def door(*args: Any, **kwargs: Any) -> Any:
            bound = signature.bind(*args, **kwargs)
            faults: list[Fault] = []
            for name, value in bound.arguments.items():
                kind = every.get(name)
                if not kind or (value is None and signature.parameters[name].default is None):
                    continue
                try:
                    read = (
                        plain_within(value, kind, name)
                        if isinstance(kind, str)
                        else kind(value, name)
                    )
                    bound.arguments[name] = read
                except InputError as err:
                    faults.extend(err.faults)
            if faults:
                raise InputError(faults)
            result = function(*bound.args, **bound.kwargs)
            if returns is None:
                return result
            if returns == "fields":
                return quantify(result)
            if isinstance(returns, tuple):
                return tuple(from_si(r, k) for r, k in zip(result, returns, strict=True))
            return from_si(result, returns)

        wrapped = cast(UnitFunction, door)
        wrapped.__doc__ = _described(function, plain_kinds, returns)
        wrapped.si = function
        wrapped.kinds = plain_kinds
        wrapped.returns = returns
        return wrapped

    return decorate
