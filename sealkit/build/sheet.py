"""A build: all sections of a sheet in SI, how it varies, and how it is written and shown."""

from __future__ import annotations

import dataclasses
import functools
import os
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from sealkit.build import showing, writing
from sealkit.build.fields import FIELDS, OPTIONAL, PLACES, SECTION_NAMES, TOP
from sealkit.build.layout import Around, deck_layout
from sealkit.build.reader import Reader, word
from sealkit.build.rules import EITHER, ratio_of_volumes, system_of
from sealkit.build.sections import Section
from sealkit.build.values import Kept
from sealkit.errors import Fault, InputError, near, short_path
from sealkit.files import write_whole
from sealkit.sealing.deck import layout as layouts
from sealkit.units import KINDS, from_si

_WHERE = tuple(
    (path, path.rpartition(".")[0], spec.attribute, spec.held) for path, spec in FIELDS.items()
)


@dataclass(frozen=True, kw_only=True)
class Build:
    """One build: every section of the sheet, in plain SI.

    Made by `load`, `loads`, `from_dict` or `demo`, never half valid. Two builds are equal when
    their values are, however the values are written. A build never changes: `vary` gives a new one.
    """

    sheet: Section
    engine: Section
    charge: Section
    fuel: Section
    burn: Section
    fasteners: Section
    head: Section
    block: Section
    gasket: Section
    liquids: Section
    heat: Section
    deck: Section | None = None
    evidence: Section | None = None
    _given: Mapping[str, Kept] = dataclasses.field(default_factory=dict, compare=False, repr=False)
    _source: str = dataclasses.field(default="", compare=False, repr=False)

    # -- what follows from the sections
    @property
    def compression_ratio(self) -> float:
        """Geometric compression ratio, as given or from the volumes of [engine.chamber].

        The gasket's opening and compressed thickness come from [gasket].
        """
        given = self.engine.compression_ratio
        if given is not None:
            return given
        if self.engine.chamber is None:
            raise InputError(Fault("engine.compression_ratio", "nothing", "a ratio or the volumes"))
        return ratio_of_volumes(self._held)

    @property
    def bores_per_head(self) -> int:
        """Number of bores under one head."""
        return self.engine.cylinders // self.engine.heads

    @functools.cached_property
    def layout(self) -> layouts.Layout:
        """The deck face of one head, from [deck].

        Raises InputError if the sheet has no section [deck].
        """
        if self.deck is None:
            wanted = "the section [deck], with a pattern or with the places of bores and bolts"
            raise InputError(Fault("deck", "nothing", wanted))
        return deck_layout(self.deck, Around.of(self._held, self.system))

    @property
    def gasket_steps(self) -> tuple[layouts.Step, ...]:
        """Places where the gasket is thicker or thinner, from [[deck.thickness]]."""
        rows = () if self.deck is None else self.deck.thickness
        return tuple(
            layouts.Step(r.place[0], r.place[1], r.extra, r.diameter, r.size) for r in rows
        )

    @property
    def plate_thickness(self) -> float:
        """Thickness of the plate that bends like the head: that of [deck], else of [head]."""
        own = None if self.deck is None else self.deck.effective_thickness
        return self.head.thickness if own is None else own

    @property
    def contact_diameter(self) -> float:
        """Outer diameter of what presses on the head: the washer, else bolt head or nut."""
        f = self.fasteners
        return f.bearing_diameter if f.washer_diameter is None else f.washer_diameter

    @property
    def system(self) -> str:
        """ "inch" if the sheet gives its bore in inches, else "metric"."""
        return system_of(self._given)

    # -- single fields
    def get(self, path: str) -> Any:
        """The value of a field by its dotted name: a quantity, a plain number, a text or None.

        Raises InputError if there is no such field.
        """
        if path not in FIELDS:
            raise InputError(_unknown(path))
        kind, value = FIELDS[path].kind, self._held(path)
        if kind in PLACES and value:
            return from_si(np.array(value), "length")
        return from_si(value, kind) if kind in KINDS and value is not None else value

    def states(self, path: str) -> bool:
        """Whether the sheet gives this field itself: it is neither left out nor a default."""
        return path in self._given or self._held(path) not in (None, FIELDS[path].held)

    def _section(self, name: str) -> Any:
        part: Any = self
        for step in name.split("."):
            part = getattr(part, step)
        return part

    def _held(self, path: str) -> Any:
        part = self._section(path.rpartition(".")[0])
        return None if part is None else getattr(part, FIELDS[path].attribute)

    def _kept(self) -> dict[str, dict[str, Any]]:
        """The sheet as nested values with the texts that still hold, without defaults."""
        out: dict[str, dict[str, Any]] = {}
        parts = {name: self._section(name) for name in SECTION_NAMES}
        for path, name, attribute, default in _WHERE:
            part = parts[name]
            value = None if part is None else getattr(part, attribute)
            kept = self._given.get(path)
            if kept is not None and (kept.value is value or kept.value == value):
                pass
            elif value is None or value == default:
                continue
            else:
                kept = Kept(None, value)
            writing.put(out, path, kept)
        return out

    # -- changing
    def vary(self, changes: Mapping[str, Any] | None = None, /, **more: Any) -> Build:
        """A new build with some fields changed, checked by every rule of a sheet.

        Raises InputError listing every fault, by dotted name, as `load` does.

        Parameters
        ----------
        changes : dotted name -> text, quantity or (for plain kinds) number; None takes the field
            off the sheet, so that its default holds again. Of two fields that exclude each other
            (``fuel.lambda`` and ``fuel.equivalence_ratio``), the one changed drives out the other.

        Examples
        --------

        >>> from sealkit.build import demo
        >>> four = demo("boosted-four")
        >>> round(four.vary({"charge.boost": "22 psi"}).charge.boost)
        151685
        """
        wishes = {**(changes or {}), **more}
        raw = self._kept()
        for path in driven_out(wishes):
            writing.put(raw, path, None)
        faults = []
        for path, value in wishes.items():
            known = ("." in path or path in OPTIONAL) and path.split(".")[0] in TOP
            if not known or not writing.put(raw, path, value):
                faults.append(_unknown(path))
        reader = Reader(raw)
        reader.faults[:0] = faults
        return Build(**reader.sections(), _source=self._source)

    def vary_si(self, changes: Mapping[str, Any]) -> Build:
        """A new build with other SI values, or arrays of them; None leaves a field out.

        For programs: ranges of numbers are checked, rules across fields are not. With arrays the
        build stands for many builds; only steps that broadcast take it. Raises InputError listing
        every unknown field and every number out of its range.

        Examples
        --------

        >>> from sealkit.build import demo
        >>> four = demo("boosted-four").vary_si({"burn.ca50": np.radians([8.0, 12.0])})
        >>> four.burn.ca50.round(3)
        array([0.14 , 0.209])
        """
        faults = [f for path, value in changes.items() for f in _wrong(path, value)]
        if faults:
            raise InputError(faults)
        parts: dict[str, dict[str, Any]] = {}
        gone = [path for path in driven_out(changes) if path in FIELDS]
        for path, value in {**dict.fromkeys(gone), **changes}.items():
            name = path.rpartition(".")[0]
            parts.setdefault(name, {})[FIELDS[path].attribute] = value
        if "engine.compression_ratio" in changes:
            parts["engine"]["chamber"] = None
        if "engine.chamber" in parts:
            if self.engine.chamber is None:
                raise InputError(
                    Fault("engine.chamber", "nothing", "a sheet that gives the volumes")
                )
            chamber = dataclasses.replace(self.engine.chamber, **parts.pop("engine.chamber"))
            parts.setdefault("engine", {})["chamber"] = chamber
        if "deck" in parts and self.deck is None:
            raise InputError(Fault("deck", "nothing", "a sheet with the section [deck]"))
        new = {k: dataclasses.replace(getattr(self, k), **v) for k, v in parts.items()}
        return dataclasses.replace(self, **new)

    # -- writing
    def dumps(self) -> str:
        """The sheet as TOML text.

        A sheet that was read keeps its comments, its order and its own words wherever nothing
        changed. Fields that stand at their default and were not given are left out.
        """
        return writing.sheet_text(writing.texts(self._kept()), self._source)

    def save(self, path: str | os.PathLike[str]) -> Path:
        """Write the sheet; the file is either the old one or the whole new one, never a part.

        Returns the path written. Raises InputError if the file cannot be written.
        """
        text = self.dumps()
        target, shown = Path(path).expanduser(), short_path(str(path))
        if target.is_dir():
            raise InputError(Fault("file", f"the folder {shown}", "the name of a file"))
        try:
            return write_whole(target, text.encode())
        except (OSError, ValueError) as err:
            reason = getattr(err, "strerror", None) or str(err)
            wanted = "a file in a folder that can be written to"
            raise InputError(Fault("file", f"{shown} ({reason})", wanted)) from err

    # -- showing
    def to_dict(self, system: str = "metric") -> dict[str, Any]:
        """The whole sheet, defaults included, as nested text in the shop's units.

        Rounded for reading; fields that are not used are left out. Zones stay as written.
        """
        held = {path: self._held(path) for path in FIELDS}
        return showing.nested({p: v for p, v in held.items() if v is not None}, system)

    def html(self, system: str | None = None) -> str:
        """A small table of the build; in the sheet's own shop system unless one is given."""
        return showing.html_table(
            self.to_dict(system or self.system), self.compression_ratio, self.fuel.blend
        )

    def _repr_html_(self) -> str:
        return self.html()


def driven_out(changes: Mapping[str, Any]) -> list[str]:
    """Fields and sections that cannot stay beside new values of other fields."""

    def touched(paths: tuple[str, ...]) -> bool:
        return any(
            value is not None and any(w == p or w.startswith(f"{p}.") for p in paths)
            for w, value in changes.items()
        )

    out: list[str] = []
    for pair in EITHER:
        for new, old in ((pair.one, pair.other), (pair.other, pair.one)):
            if touched(new) and not touched(old):
                out += old
    return out


def _wrong(path: str, value: Any) -> list[Fault]:
    """Faults of an SI value that is put in past the sheet."""
    if path not in FIELDS:
        return [_unknown(path)]
    spec = FIELDS[path]
    if value is None or spec.kind not in (*KINDS, "whole"):
        always = spec.required or spec.default is not None
        return [Fault(path, "nothing", spec.wanted)] if value is None and always else []
    numbers, (low, high) = np.ravel(np.asarray(value, dtype=float)), spec.limits
    bad = numbers[~((numbers >= low) & (numbers <= high)) | (spec.low_open & (numbers == low))]
    return [Fault(path, f"{x:g} {KINDS[spec.kind].si}".strip(), spec.wanted) for x in bad[:1]]


def _unknown(path: str) -> Fault:
    """The fault of a name that no field has, with the nearest one."""
    last = str(path).rpartition(".")[2]
    same = [p for p in FIELDS if p.rpartition(".")[2] == last]
    hint = f' (did you mean "{same[0]}"?)' if same else near(str(path), FIELDS)
    wanted = 'the dotted name of a field, such as "charge.boost"'
    return Fault(word(path), "an unknown field", wanted, hint)
