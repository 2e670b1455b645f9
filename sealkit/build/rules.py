"""Rules across fields: each takes the values of a sheet and gives the faults it finds.

A rule keeps quiet about a field that is not there, or has a fault of its own already.
"""

from __future__ import annotations

import contextlib
import itertools
import math
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit.build.evidence import known_width, reading
from sealkit.build.fields import FIELDS, TABLE, Spec
from sealkit.build.layout import TAKEN, Around, checked_layout
from sealkit.build.sections import SECTIONS
from sealkit.build.values import Kept
from sealkit.errors import Fault, InputError, short
from sealkit.pressure import geometry
from sealkit.resources import beside
from sealkit.sealing import constructions
from sealkit.units import parse, show, show_like


def system_of(given: Mapping[str, Kept]) -> str:
    """The shop system of a sheet, told by how its bore is written among what stands on it."""
    bore = given.get("engine.bore")
    if bore and isinstance(bore.text, str):
        with contextlib.suppress(InputError):
            if str(parse(bore.text).units) in ("inch", "thou", "foot"):
                return "inch"
    return "metric"


class Values:
    """Values of a sheet by dotted name, as far as they could be read.

    `values` holds what could be read, defaults included; `given` what stands on the sheet, as it
    was written; `absent` sections that are not there; `misspelt` fields that stand there under a
    name near to theirs; `faults` everything told so far.
    """

    def __init__(self) -> None:
        self.values: dict[str, Any] = {}
        self.given: dict[str, Kept] = {}
        self.absent: set[str] = set()
        self.misspelt: set[str] = set()
        self.faults: list[Fault] = []

    def __getitem__(self, path: str) -> Any:
        return self.values[path]

    def get(self, path: str) -> Any:
        """The value of a field, or None."""
        return self.values.get(path)

    def has(self, *paths: str) -> bool:
        """Whether all these fields have a value."""
        return all(self.values.get(p) is not None for p in paths)

    def tried(self, path: str) -> bool:
        """Whether the sheet has the field, good or bad."""
        return path in self.given or self.bad(path)

    def bad(self, *paths: str) -> bool:
        """Whether there is a fault at one of these fields, or in it."""
        return any(
            f.field == p or f.field.startswith((f"{p}.", f"{p}["))
            for f in self.faults
            for p in paths
        )

    @property
    def system(self) -> str:
        """The shop system of the sheet."""
        return system_of(self.given)

    def like(self, value: float, path: str) -> str:
        """An SI number in the unit in which this field is written, else in the sheet's own."""
        kind = FIELDS[path].kind if path in FIELDS else "length"
        kept = self.given.get(path)
        if kept is None or kept.text is None:
            return show(value, kind, self.system)
        return show_like(value, kind, kept.text)

    def shown(self, path: str) -> str:
        """A field as it stands on the sheet, for a message."""
        kept = self.given.get(path)
        if kept is None:
            return short(FIELDS[path].default)
        return self.like(kept.value, path) if kept.text is None else short(kept.text)

    def missing(self, path: str, spec: Spec) -> list[Fault]:
        """The fault of a field that is not there, unless it stands there misspelt."""
        fault = Fault(path, "nothing", f"{spec.wanted} ({spec.help})")
        return [] if path in self.misspelt else [fault]


Faults = Iterator[Fault]


# --------------------------------------------------------------------------- what excludes what
@dataclass(frozen=True)
class Either:
    """Of two ways to say one thing only one may stand on a sheet."""

    # one, other: fields or sections; those of one side go together
    one: tuple[str, ...]
    other: tuple[str, ...]
    wanted: str  # what is said where none stands there, or (both) where that is not told apart
    needed: bool = False  # whether one of the two must stand there
    both: str = ""  # what is said where both stand there


_DATA = beside(__file__)
EITHER = tuple(
    Either(**row | {side: tuple(row[side]) for side in ("one", "other")}) for row in _DATA["either"]
)
NEEDED_BY: dict[str, tuple[str, ...]] = {k: tuple(v) for k, v in _DATA["tightening"].items()}
"""Way of tightening -> fields of [fasteners] it needs."""


def either(b: Values) -> Faults:
    """One of two ways, not both; of a way with several fields all of them."""
    for pair in EITHER:
        path = pair.one[0]
        if path.partition(".")[0] in b.absent:
            continue
        one = b.tried(path)
        other = [p for p in pair.other if b.tried(p) or (p in b.values and p not in FIELDS)]
        if one and other:
            words = ", ".join(p.partition(".")[2] if p in FIELDS else f"[{p}]" for p in other)
            yield Fault(path, f"both it and {words}", pair.both or pair.wanted)
        elif not one and not other:
            if pair.needed and not b.misspelt.intersection((path, *pair.other)):
                yield Fault(path, "nothing", pair.wanted)
        elif not one:
            for p in pair.other:
                if p not in other:
                    yield from b.missing(p, FIELDS[p])


def no_default(path: str, beside: str) -> Callable[[Values], Faults]:
    """The rule that a field has no default where another stands on the sheet."""

    def rule(b: Values) -> Faults:
        if b.tried(beside):
            b.values[path] = None
        yield from ()

    return rule


def tightening(b: Values) -> Faults:
    """What the way of tightening needs."""
    for key in NEEDED_BY.get(b.get("fasteners.tightening"), ()):
        if not b.tried(f"fasteners.{key}"):
            yield from b.missing(f"fasteners.{key}", TABLE["fasteners"][key])


# --------------------------------------------------------------------------- one against another
def larger(path: str, than: str, words: str, equal: bool = False) -> Callable[[Values], Faults]:
    """The rule that one length is larger than another (or equal)."""

    def rule(b: Values) -> Faults:
        if b.has(path, than) and not (b[path] > b[than] or (equal and b[path] == b[than])):
            least = f"{words}, {b.like(b[than], path)}"
            wanted = f"{'not less than' if equal else 'more than'} {least}"
            yield Fault(path, b.shown(path), wanted)

    return rule


def ring_in_body(b: Values) -> Faults:
    """Only a steel ring beside a fibre body has a body over it."""
    path, ring = "gasket.body_over_ring", constructions.FibreSteelRing.name
    if b.has(path, "gasket.construction") and b["gasket.construction"] != ring:
        yield Fault(path, f"it, with {b['gasket.construction']}", f'it with "{ring}" alone')


def heads(b: Values) -> Faults:
    """Cylinders are shared evenly by the heads."""
    if b.has("engine.cylinders", "engine.heads") and b["engine.cylinders"] % b["engine.heads"]:
        wanted = f"a number that divides the {b['engine.cylinders']} cylinders evenly"
        yield Fault("engine.heads", str(b["engine.heads"]), wanted)


def circle(b: Values) -> Faults:
    """The holes of the fasteners stand clear of the seal."""
    path, seal, hole = "fasteners.bolt_circle", "gasket.seal_diameter", "fasteners.hole_diameter"
    if b.has(path, seal, hole) and not b[path] > (least := b[seal] + b[hole]):
        wanted = f"more than the seal diameter and a hole together, {b.like(least, path)}"
        yield Fault(path, b.shown(path), wanted)


def fastener_counts(b: Values) -> Faults:
    """Fasteners of a head, and of one bore."""
    around, on = "fasteners.around_bore", "fasteners.on_head"
    if not b.has(around, on):
        return
    if b[around] > b[on]:
        yield Fault(around, str(b[around]), f"not more than on_head, {b[on]}")
    elif b.has("engine.cylinders", "engine.heads"):
        bores, rest = divmod(b["engine.cylinders"], b["engine.heads"])
        # between two bores at most half of those round one stand in common
        most = bores * b[around]
        least = most - (bores - 1) * (b[around] // 2)
        if not rest and not least <= b[on] <= most:
            wanted = (
                f"{least} to {most} for {bores} bore{'s' * (bores > 1)} with {b[around]} round "
                "each, neighbours sharing"
            )
            yield Fault(on, str(b[on]), wanted)


def shank(b: Values) -> Faults:
    """Lengths of the shank fit into the grip, their diameters into the hole."""
    parts = b.get("fasteners.shank") or ()
    grip = ("fasteners.grip_head", "fasteners.grip_block")
    if parts and b.has(*grip):
        total, whole = sum(p.length for p in parts), b[grip[0]] + b[grip[1]]
        if total > whole * (1 + 1e-9):
            own = "fasteners.shank[1].length"
            wanted = f"not more than grip_head and grip_block together, {b.like(whole, own)}"
            yield Fault("fasteners.shank", f"{b.like(total, own)} in all", wanted)
    hole = b.get("fasteners.hole_diameter")
    for number, part in enumerate(parts, start=1):
        if hole is not None and part.diameter >= hole:
            path = f"fasteners.shank[{number}].diameter"
            wanted = f"less than the hole, {b.like(hole, path)}"
            yield Fault(path, b.like(part.diameter, path), wanted)


def latest_burn(b: Values) -> Faults:
    """Knock can only retard the burn."""
    path, earliest = "burn.latest_ca50", "burn.ca50"
    limited = b.get("burn.timing") == "knock limited" and b.has(path, earliest)
    if limited and b[path] < b[earliest]:
        wanted = f"no earlier than ca50, {b.like(b[earliest], path)}"
        yield Fault(path, b.shown(path), wanted)


def strengths(b: Values) -> Faults:
    """Proof, yield and tensile strength rise."""
    for low, high in itertools.pairwise(EITHER[-1].other):
        if b.has(low, high) and b[low] > b[high]:
            wanted = f"not more than {high.partition('.')[2]}, {b.like(b[high], low)}"
            yield Fault(low, b.shown(low), wanted)


_VOLUMES = (
    "engine.bore", "engine.stroke", "engine.chamber.chamber_volume", "gasket.bore",
    "gasket.compressed_thickness", "engine.chamber.deck_clearance", "engine.chamber.piston_volume",
)  # fmt: skip


_LEAST_RATIO = 4  # a volume of all cylinders makes less; common practice, no source


def ratio_of_volumes(get: Callable[[str], Any]) -> Any:
    """Compression ratio from the volumes of a sheet by dotted name; arrays broadcast."""
    bore, stroke, *parts = map(get, _VOLUMES)
    swept = geometry.swept_volume.si(bore, stroke)
    clearance = geometry.clearance_volume_from_parts.si(bore, *parts)
    ratio = geometry.compression_ratio_from_volumes.si(swept, clearance)
    return float(ratio) if np.ndim(ratio) == 0 else ratio


def volumes(b: Values) -> Faults:
    """The volumes of the chamber make a compression ratio."""
    clearance, thickness = "engine.chamber.deck_clearance", "gasket.compressed_thickness"
    if b.has(clearance, thickness) and b[clearance] + b[thickness] <= 0:
        least = b.like(b[thickness], clearance)
        wanted = f"a piston that stands proud by less than the gasket, {least}"
        yield Fault(clearance, b.shown(clearance), wanted)
        return
    if b.has(*_VOLUMES):
        try:
            ratio = ratio_of_volumes(b.get)
        except (InputError, ZeroDivisionError):
            ratio = math.nan
        if not _LEAST_RATIO <= ratio <= 25:
            came = f"volumes that make {ratio:.3g}"
            if not ratio > 0:
                came = "volumes that leave no room above the piston"
            wanted = f"volumes of one cylinder that make a ratio from {_LEAST_RATIO} to 25"
            yield Fault("engine.chamber", came, wanted)


def zones(b: Values) -> Faults:
    """Zones of one's own have names of their own, and one of them seals."""
    rows, path = b.get("gasket.zones") or (), "gasket.zones"
    for number, zone in enumerate(rows):
        if zone.name in (z.name for z in rows[:number]):
            place = f"{path}[{number + 1}].name"
            yield Fault(place, short(zone.name), "a name that no other zone has")
    if rows and not any(z.role == "seal" for z in rows):
        yield Fault(path, "no zone with the role seal", "at least one combustion seal")


# --------------------------------------------------------------------------- the deck
_LISTS = ("bores", "bolts", "outline")
_PATTERN_ONLY = (
    "pitch", "bolts_per_bore", "shared_rows", "row_distance", "front_distance", "rear_distance",
    "pair_distance", "outer_distance", "end_margin", "side_margin", "corner_cut", "bank_offset",
    "coolant_diameter", "coolant_distance", "coolant_per_gap", "oil_diameter", "oil_distance",
)  # fmt: skip


def _unlisted(b: Values) -> list[str]:
    """Lists of places that the deck does not have."""
    return [k for k in _LISTS if not b.tried(f"deck.{k}") or b.get(f"deck.{k}") == ()]


def deck_pattern(b: Values) -> Faults:
    """What a pattern needs."""
    if "deck" not in b.values or not b.tried("deck.pattern"):
        return
    specs = TABLE["deck"]
    margins = ("end_margin", "side_margin") if "outline" in _unlisted(b) else ()
    for key in ("pitch", *margins):
        if not b.tried(f"deck.{key}"):
            yield from b.missing(f"deck.{key}", specs[key])
    below = any(b.tried(f"deck.{k}") for k in ("side_margin", "oil_distance"))
    if b.has("deck.oil_diameter") and not below:
        yield from b.missing("deck.oil_distance", specs["oil_distance"])
    if b.has("deck.bank_offset") and b.get("deck.pattern") == "inline":
        wanted = 'nothing, or the pattern "vee bank"'
        yield Fault("deck.bank_offset", b.shown("deck.bank_offset"), wanted)


def deck_lists(b: Values) -> Faults:
    """Without a pattern all lists, and nothing that belongs to a pattern."""
    if "deck" not in b.values or b.tried("deck.pattern"):
        return
    if any(m.startswith("deck.") for m in b.misspelt):
        return
    missing, specs = _unlisted(b), TABLE["deck"]
    if len(missing) == len(_LISTS):
        wanted = f"{specs['pattern'].wanted}, with its pitch and margins, or the lists "
        yield Fault("deck.pattern", "nothing", f"{wanted}bores, bolts and outline")
        return
    for key in missing:
        yield from b.missing(f"deck.{key}", specs[key])
    for key in _PATTERN_ONLY:
        if b.has(f"deck.{key}"):
            wanted = "nothing, since no pattern is given"
            yield Fault(f"deck.{key}", b.shown(f"deck.{key}"), wanted)


def deck_steps(b: Values) -> Faults:
    """A place of another thickness is round or a rectangle."""
    for number, step in enumerate(b.get("deck.thickness") or (), start=1):
        if (step.diameter is None) == (step.size is None):
            came = "neither diameter nor size" if step.size is None else "diameter and size"
            yield Fault(f"deck.thickness[{number}]", came, "either diameter or size")


def deck_fits(b: Values) -> Faults:
    """The deck face as a whole; kept back while anything it follows from has a fault."""
    counts = ("fasteners.around_bore", "fasteners.on_head", "fasteners.bolt_circle")
    if "deck" not in b.values or b.bad("deck", "engine", *counts):
        return
    if not b.has("engine.cylinders", "engine.heads", *TAKEN.values()):
        return
    deck = SECTIONS["deck"](**{s.attribute: b[f"deck.{k}"] for k, s in TABLE["deck"].items()})
    near = Around.of(b.get, b.system)
    try:  # kept while another gasket is as thick as it likes, where no step asks
        checked_layout(deck, near if deck.thickness else replace(near, gasket=0.0))
    except InputError as err:
        yield from err.faults


def evidence(b: Values) -> Faults:
    """Readings in the units of their kinds, and fields that can be known."""
    for key, read in (("measured", reading), ("known", known_width)):
        for number, row in enumerate(b.get(f"evidence.{key}") or (), start=1):
            try:
                read(row, f"evidence.{key}[{number}]")
            except InputError as err:
                yield from err.faults


RULES: tuple[Callable[[Values], Faults], ...] = (
    either,
    no_default("charge.ambient_pressure", "charge.altitude"),
    no_default("burn.peak_variation", "burn.ca50_variation"),
    tightening,
    heads,
    # the pin of a piston at the bottom clears the crank's own circle
    larger("engine.rod_length", "engine.stroke", "the stroke"),
    fastener_counts,
    larger("gasket.bore", "engine.bore", "the cylinder bore", equal=True),
    larger("gasket.seal_diameter", "engine.bore", "the cylinder bore", equal=True),
    larger("gasket.seal_diameter", "gasket.bore", "the opening of the gasket", equal=True),
    circle,
    larger("fasteners.bearing_diameter", "fasteners.hole_diameter", "the hole"),
    larger("fasteners.washer_diameter", "fasteners.bearing_diameter", "the face on it", equal=True),
    larger("fasteners.boss_diameter", "fasteners.bearing_diameter", "the contact", equal=True),
    larger("fasteners.boss_diameter", "fasteners.washer_diameter", "the washer", equal=True),
    larger("fasteners.hole_diameter", "thread.diameter", "the thread"),
    latest_burn,
    shank,
    strengths,
    ring_in_body,
    volumes,
    zones,
    deck_pattern,
    deck_lists,
    deck_steps,
    deck_fits,
    evidence,
)
