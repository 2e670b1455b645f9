"""The one reader: a nested mapping, from a sheet or a changed build, to SI values and faults.

Values already read stand in the mapping as `Kept` and are taken as they are; so a build that varies
reads only what is new, and every rule holds for it as for a sheet.
"""

from __future__ import annotations

import dataclasses
from collections.abc import Callable, Iterable, Mapping
from typing import Any

from pint import Quantity

from sealkit.build import names
from sealkit.build.fields import FIELDS, OPTIONAL, SECTION_NAMES, TABLE, TOP, Spec
from sealkit.build.rules import RULES, Values
from sealkit.build.sections import SECTIONS
from sealkit.build.toml import toml
from sealkit.build.values import LONGEST_LIST, Kept, came, read, text_of
from sealkit.build.zones import zone_of
from sealkit.errors import Fault, InputError, near, nearest, quoted, short


def word(key: object) -> str:
    """A key for a message, cut and without control marks."""
    return short(str(key), 40)[1:-1]


def and_(names: Iterable[str]) -> str:
    """Names as "a, b and c"."""
    *first, last = names
    return f"{', '.join(first)} and {last}" if first else last


class Reader(Values):
    """Reads a nested mapping; holds values and kept texts by dotted name, and every fault.

    Parameters
    ----------
    raw : section -> field -> text, quantity, plain number or `Kept`
    """

    def __init__(self, raw: Mapping[str, Any]):
        super().__init__()
        for key in raw:
            if key not in TOP:
                wanted = f"one of the sections {quoted(TOP)}"
                self.fault(word(key), "an unknown section", wanted, near(str(key), TOP))
        for name in TOP:
            self._section(name, raw.get(name))
        self._look_up()
        for rule in RULES:
            self.faults.extend(rule(self))

    def fault(self, field: str, came: str, wanted: str, hint: str = "") -> None:
        """One more fault."""
        self.faults.append(Fault(field, came, wanted, hint))

    def _try(self, call: Callable[..., Any], *args: Any) -> Any:
        """The result of a call, or None and its faults."""
        try:
            return call(*args)
        except InputError as err:
            self.faults.extend(err.faults)
            return None

    # -- sections and rows
    def _section(self, name: str, raw: Any) -> None:
        if raw is None:
            if name in OPTIONAL:
                return
            must = [key for key, spec in TABLE[name].items() if spec.required]
            if must:
                self.fault(name, "nothing", f"the section [{name}] with {quoted(must)}")
                self.absent.add(name)
                return
            raw = {}
        if not isinstance(raw, Mapping):
            self.fault(name, came(raw), f"a section [{name}]")
            self.absent.add(name)
            return
        if name in OPTIONAL:
            self.values[name] = True
        inner = [s.rpartition(".")[2] for s in SECTION_NAMES if s.startswith(f"{name}.")]
        self._fields(name, name, raw, inner)
        for key in inner:
            self._section(f"{name}.{key}", raw.get(key))

    def _fields(self, name: str, place: str, raw: Mapping[str, Any], inner: list[str]) -> None:
        """The fields of the section or row `name` that stands at `place`."""
        specs = TABLE[name]
        if not raw.keys() <= specs.keys():
            self._unknown(name, place, raw, [*specs, *inner])
        for key, spec in specs.items():
            path, value = f"{place}.{key}", raw.get(key)
            if type(value) is Kept:
                self.values[path], self.given[path] = value.value, value
                if spec.kind == "rows":  # so that limits are told in the unit of each cell
                    for n, row in enumerate(value.text or (), start=1):
                        self.given |= {f"{path}[{n}].{k}": Kept(t, None) for k, t in row.items()}
            elif value is not None:
                self._field(f"{name}.{key}", path, spec, value)
            elif not spec.required:
                self.values[path] = spec.held
            else:
                self.faults += self.missing(path, spec)

    def _unknown(self, name: str, place: str, raw: Mapping[str, Any], known: list[str]) -> None:
        attributes = {spec.attribute: key for key, spec in TABLE[name].items()}
        for key in raw:
            if key not in known:
                meant = attributes.get(str(key), "") or nearest(str(key), known)
                hint = f' (did you mean "{meant}"?)' if meant else f": {quoted(known)}"
                if meant and raw.get(meant) is None:
                    self.misspelt.add(f"{place}.{meant}")
                self.fault(f"{place}.{word(key)}", "an unknown field", f"a field of [{name}]", hint)

    def _field(self, name: str, path: str, spec: Spec, raw: Any) -> None:
        before = len(self.faults)
        if spec.kind == "rows":
            value, text = self._rows(name, path, spec, raw)
        else:
            value = self._try(read, spec, raw, path)
            # a quantity is put into words once the sheet is written
            later = value is None or (isinstance(raw, Quantity) and path in FIELDS)
            text = None if later else text_of(spec.kind, raw, value)
        if len(self.faults) == before:
            self.values[path], self.given[path] = value, Kept(text, value)

    def _rows(self, name: str, path: str, spec: Spec, raw: Any) -> tuple[Any, Any]:
        if not isinstance(raw, list | tuple):
            wanted = f"a list of tables, such as {toml(spec.example)}"
            self.fault(path, came(raw), wanted)
            return (), []
        if len(raw) > LONGEST_LIST:
            self.fault(path, f"{len(raw)} rows", f"at most {LONGEST_LIST}")
            return (), []
        made: list[Any] = []
        kept: list[dict[str, Any]] = []
        for number, row in enumerate(raw, start=1):
            place = f"{path}[{number}]"
            if not isinstance(row, Mapping):
                self.fault(place, came(row), f"a table with {and_(TABLE[name])}")
                continue
            self._fields(name, place, row, [])
            parts, text = {}, {}
            for key, one in TABLE[name].items():
                if f"{place}.{key}" in self.values:
                    parts[one.attribute] = self.values.pop(f"{place}.{key}")
                if f"{place}.{key}" in self.given:
                    text[key] = self.given[f"{place}.{key}"].text
            if name == "gasket.zones":
                zone, faults = zone_of(parts, place)
                made.append(zone)
                self.faults += [dataclasses.replace(f, field=f"{place}.{f.field}") for f in faults]
            elif len(parts) == len(TABLE[name]):
                made.append(SECTIONS[name](**parts) if name in SECTIONS else tuple(parts.values()))
            kept.append(text)
        return tuple(made), kept

    # -- names
    def _look_up(self) -> None:
        for path, look in names.LOOK_UPS.items():
            self._replace(path, look)
        if not self.tried("gasket.zones") or self.values.get("gasket.zones") == ():
            self._replace("gasket.construction", names.construction)
        if self.has("fasteners.thread"):
            own = names.thread(self.values["fasteners.thread"])
            self.values["thread.diameter"] = float(own.diameter)
        if self.has("fasteners.grade"):
            # an unknown grade is told even where the thread is not known; 12 mm stands in
            size = self.values.get("thread.diameter", 0.012)
            self._try(names.strength, self.values["fasteners.grade"], size)
        rich, lean = self.get("fuel.equivalence_ratio"), self.get("fuel.lambda")
        if self.has("fuel.name") and (rich is None) != (lean is None):
            ratio, path = (rich, "fuel.equivalence_ratio") if rich else (1 / lean, "fuel.lambda")
            shares = self.get("fuel.ethanol_share"), self.get("fuel.nitromethane_share")
            self._try(names.check_mixture, self.values["fuel.name"], ratio, *shares, path)

    def _replace(self, path: str, look: Callable[[str, str], str]) -> None:
        if self.has(path):
            self.values[path] = self._try(look, self.values[path], path)

    # -- out
    def sections(self) -> dict[str, Any]:
        """The sections of a build, and what is kept of their texts under ``_given``.

        Raises InputError with every fault.
        """
        if self.faults:
            raise InputError(self.faults)
        parts: dict[str, Any] = {}
        for name in reversed(SECTION_NAMES):
            if name in OPTIONAL and name not in self.values:
                continue
            held = {s.attribute: self.values[f"{name}.{k}"] for k, s in TABLE[name].items()}
            if name in OPTIONAL and not any(held.values()):
                continue  # a section that says nothing
            if name == "engine":
                held["chamber"] = parts.pop("engine.chamber", None)
            parts[name] = SECTIONS[name](**held)
        parts["_given"] = {
            path: Kept(kept.text, self.values[path])
            for path, kept in self.given.items()
            if path in FIELDS
        }
        return parts
