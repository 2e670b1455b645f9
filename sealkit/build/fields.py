"""What the build sheet holds: the table of its fields, read once from ``fields.toml``.

>>> bore = dict(fields())["engine.bore"]
>>> bore.kind, bore.limits, bore.required
('length', (0.02, 0.4), True)
>>> bore.wanted
'a length from 20 mm to 400 mm, such as "86 mm"'
"""

from __future__ import annotations

import functools
import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pint

from sealkit import tables
from sealkit.build.toml import toml
from sealkit.errors import InputError
from sealkit.resources import beside
from sealkit.units import KINDS, Q, parse, show_like, to_si, ureg

PLACES = ("place", "places")

_WORDS = {
    "text": "a text",
    "whole": "a whole number",
    "rows": "a list of tables",
    "place": "two lengths, along and across, each",
    "places": "a list of places, each two lengths, along and across,",
    "unit": "a unit",
    "column": "a list of two or more numbers",
}
_NUMBER_OF = {"whole": "number", "place": "length", "places": "length"}
# the unit a number out of range was perhaps meant in
_OTHER_UNIT = {"millimeter": "in", "inch": "mm", "bar": "psi"}


def si(raw: Any, kind: str, path: str = "value") -> Any:
    """The plain SI number of a text, a quantity or (plain kinds only) a number.

    A number that had to be converted is rounded to 15 digits, so that "86 mm" and "8.6 cm" are the
    same value; one that came in the SI unit is kept to the last digit. Raises InputError under the
    name `path`, as `sealkit.units.to_si` does.
    """
    value = to_si(raw, kind, path)
    quantity = parse(raw, path) if isinstance(raw, str) else raw
    if not isinstance(quantity, pint.Quantity) or not isinstance(value, float):
        return value
    same = quantity.units == ureg.Unit(KINDS[kind].si or "dimensionless")
    return value if same else float(f"{value:.15g}")


@dataclass(frozen=True, kw_only=True)
class Spec:
    """What one field of the sheet is; the columns of ``fields.toml``, where they are explained."""

    key: str
    kind: str
    help: str
    example: Any
    required: bool = False
    default: Any = None
    source: str = ""
    range: str = ""
    table: str = ""
    varies: str = ""
    choices: tuple[Any, ...] = ()
    when: str = ""
    words: str = ""
    too_high: str = ""
    attribute: str = ""

    @functools.cached_property
    def ends(self) -> tuple[str, str]:
        """The ends of the range as written, each empty where there is none."""
        span = self.range.removeprefix("above ").removeprefix("not below ")
        low, _, high = span.partition(" to ")
        return low, high

    @property
    def low_open(self) -> bool:
        """Whether the lower end of the range is itself outside."""
        return self.range.startswith("above ")

    @functools.cached_property
    def limits(self) -> tuple[float, float]:
        """The allowed range in SI."""
        kind = _NUMBER_OF.get(self.kind, self.kind)
        low, high = (si(end, kind) if end else None for end in self.ends)
        return (-math.inf if low is None else low), (math.inf if high is None else high)

    @functools.cached_property
    def held(self) -> Any:
        """The default as a section holds it: SI for numbers with units."""
        if self.default is None:
            return () if self.kind in ("rows", "places") else None
        return si(self.default, self.kind) if self.kind in KINDS else self.default

    @functools.cached_property
    def wanted(self) -> str:
        """What is accepted, in words, with an example."""
        if len(self.choices) == 1:
            return f"{toml(self.choices[0])} ({self.help})"
        if self.choices:
            return "one of " + ", ".join(toml(c) for c in self.choices)
        return self._wanted(self.span)

    @property
    def span(self) -> str:
        """The range in words; empty without one."""
        plain = not self.range or self.range.startswith(("above ", "not below "))
        return self.range if plain else f"from {self.range}"

    def _wanted(self, span: str, example: Any = None) -> str:
        words = self.words or _WORDS.get(self.kind, "") or KINDS[self.kind].words
        such = toml(self.example if example is None else example)
        return f"{words}{' ' * bool(span)}{span}, such as {such}"

    def fits(self, value: float) -> bool:
        """Whether a plain SI number lies in the range (and is one of the choices)."""
        low, high = self.limits
        good = (
            math.isfinite(value) and low <= value <= high and not (self.low_open and value == low)
        )
        if self.kind == "whole":
            good = good and value == int(value) and (not self.choices or value in self.choices)
        return good

    def wanted_of(self, raw: Any, value: float) -> tuple[str, str]:
        """What is accepted instead of a number out of range, in the unit of `raw` as well, and
        the unit that was perhaps meant."""
        if self.choices or self.kind not in KINDS:
            return self.wanted, ""
        span, hint, such = self.span, "", None
        low, high = self.limits
        given = parse(raw) if isinstance(raw, str) else raw
        if isinstance(given, pint.Quantity) and KINDS[self.kind].si:
            ends = [end for end in self.ends if end]
            if ends and all(given.units != parse(end).units for end in ends):
                own = [show_like(x, self.kind, given) for x in (low, high) if math.isfinite(x)]
                span += f" ({' to '.join(own)})"
                such = show_like(si(self.example, self.kind), self.kind, given)
            number = float(given.magnitude)
            other = _OTHER_UNIT.get(str(given.units), "")
            if other and math.isfinite(number):
                try:
                    fits = low <= to_si(Q(number, other), self.kind) <= high
                except InputError:
                    fits = False
                hint = f" (did you mean {number:g} {other}?)" if fits else ""
        note = f"; {self.too_high}" if self.too_high and value > high else ""
        return self._wanted(span, such) + note, hint


_ROWS: dict[str, dict[str, Any]] = beside(__file__)
ABOUT = {name: str(rows.pop("about")) for name, rows in _ROWS.items() if "about" in rows}
"""What each section, and each row of a list of tables, is."""


def _read(key: str, row: dict[str, Any]) -> Spec:
    statuses = tuple(s for s in tables.STATUSES if s != tables.MEASURED)
    named = [statuses if c == "<statuses>" else (c,) for c in row.pop("choices", ())]
    row["attribute"] = row.get("attribute", key)
    return Spec(key=key, choices=tuple(c for group in named for c in group), **row)


TABLE: Mapping[str, Mapping[str, Spec]] = {
    section: {key: _read(key, row) for key, row in rows.items()} for section, rows in _ROWS.items()
}
"""Section, or list of tables, by its dotted name -> key on the sheet -> what the field is."""

_OF_ROWS = {
    f"{section}.{key}"
    for section, specs in TABLE.items()
    for key, spec in specs.items()
    if spec.kind == "rows"
}
SECTION_NAMES = tuple(name for name in TABLE if name not in _OF_ROWS)
TOP = tuple(name for name in SECTION_NAMES if "." not in name)
OPTIONAL = ("engine.chamber", "deck", "evidence")
OWN_TABLES = (
    *("gasket.zones", "deck.holes", "deck.thickness"),
    *("evidence.measured", "evidence.known"),
)
"""Rows that are written as tables of their own."""

FIELDS: Mapping[str, Spec] = {
    f"{name}.{key}": spec for name in SECTION_NAMES for key, spec in TABLE[name].items()
}
"""Every field of the sheet by its dotted name, without those of rows."""


def fields() -> Iterator[tuple[str, Spec]]:
    """Every field of the sheet: its dotted name and what it is."""
    return iter(FIELDS.items())
