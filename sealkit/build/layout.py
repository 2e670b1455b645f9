"""The deck face of a [deck] section, and whether it fits engine, fasteners and gasket."""

from __future__ import annotations

import dataclasses
import functools
import math
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Any, get_origin, get_type_hints

from sealkit.build.sections import Section
from sealkit.errors import Fault, InputError
from sealkit.sealing.deck import layout as layouts
from sealkit.sealing.deck import patterns, room
from sealkit.units import show

_MOST_ELEMENTS = 20_000
_CIRCLE_WITHIN = 0.10  # of the bolt circle on the sheet


@dataclass(frozen=True, kw_only=True)
class Around:
    """What the deck takes from the rest of the sheet, lengths in m."""

    bores: int
    bore: Annotated[float, "engine.bore"]
    hole: Annotated[float, "fasteners.hole_diameter"]
    around: Annotated[int, "fasteners.around_bore"]
    on_head: Annotated[int, "fasteners.on_head"]
    circle: Annotated[float, "fasteners.bolt_circle"]
    seal: Annotated[float, "gasket.seal_diameter"]
    gasket: Annotated[float, "gasket.compressed_thickness"]
    system: str

    @classmethod
    def of(cls, get: Callable[[str], Any], system: str) -> Around:
        """From the values of a sheet by dotted name, and the shop system for messages."""
        bores = get("engine.cylinders") // get("engine.heads")
        return cls(bores=bores, system=system, **{k: get(path) for k, path in TAKEN.items()})

    def told(self, length: float) -> str:
        """A length as the sheet's shop reads it."""
        return show(length, "length", self.system)


TAKEN: dict[str, str] = {
    name: kind.__metadata__[0]
    for name, kind in get_type_hints(Around, include_extras=True).items()
    if get_origin(kind) is Annotated
}
"""Attribute of `Around` -> field of the sheet."""

_DISTANCES = (
    "front_distance", "rear_distance", "pair_distance", "outer_distance",
    "coolant_diameter", "coolant_distance", "oil_diameter", "oil_distance",
)  # fmt: skip


def deck_layout(deck: Section, near: Around) -> layouts.Layout:
    """The layout of a [deck] section.

    Raises InputError for counts that make no pattern, by dotted name.
    """
    holes = tuple(
        layouts.Hole(
            name=h.name,
            x=h.place[0],
            y=h.place[1],
            diameter=h.diameter,
            fluid=h.fluid.removesuffix(" drain"),
            drain=h.fluid.endswith(" drain"),
        )
        for h in deck.holes
    )
    lists = {"bores": deck.bores, "bolts": deck.bolts, "outline": deck.outline, "holes": holes}
    listed: dict[str, Any] = {k: v for k, v in lists.items() if v}
    if deck.pattern is None:
        return layouts.Layout(bore=near.bore, bolt_hole=near.hole, **listed)
    per_bore, rows = _counts(deck, near)
    pitch, offset = float(deck.pitch or 0.0), deck.bank_offset or 0.0
    row = deck.row_distance
    if row is None:
        if not near.circle > pitch:
            circle = f"bolt_circle, {near.told(near.circle)}"
            wanted = f"a distance, since {circle}, is not above the pitch"
            raise InputError(Fault("deck.row_distance", "nothing", wanted))
        row = math.sqrt(near.circle**2 - pitch**2)
    vee = deck.pattern == "vee bank"
    # of a listed outline the pattern's own is not used
    margins = [near.hole if m is None else m for m in (deck.end_margin, deck.side_margin)]
    cut = deck.corner_cut or 0.0
    drawn: layouts.Layout = patterns.pattern.si(
        near.bores, pitch, near.bore, near.hole, row, *margins, per_bore, rows,
        corner_cut=cut, coolant_per_gap=deck.coolant_per_gap or 1,
        **{name: getattr(deck, name) for name in _DISTANCES},
        vee=vee, bank_offset=offset if vee else 0.0,
    )  # fmt: skip
    if deck.bolts and not deck.outline:
        listed["outline"] = patterns.outline(deck.bolts, margins[0], margins[1], cut, offset)
    return dataclasses.replace(drawn, **listed) if listed else drawn


def _counts(deck: Section, near: Around) -> tuple[int, int]:
    """Fasteners round one bore, and rows of them that neighbours share."""
    per_bore, rows = deck.bolts_per_bore, deck.shared_rows
    if deck.bolts:  # of the pattern only liquid holes are left
        per_bore = per_bore or (near.around if near.around in patterns.BOLTS_PER_BORE else 4)
        return per_bore, 2 if rows is None else rows
    if per_bore is None and near.around not in patterns.BOLTS_PER_BORE:
        wanted = "4, 5 or 6 in a pattern; otherwise list the bolts (deck.bolts)"
        raise InputError(Fault("deck.pattern", f"around_bore {near.around}", wanted))
    per_bore = per_bore or near.around
    if rows is None and near.bores > 1:
        most, gaps = near.bores * per_bore, near.bores - 1
        rows, rest = divmod(most - near.on_head, gaps)
        if rest or rows not in range(3):
            wanted = (
                f"{most - 2 * gaps}, {most - gaps} or {most} in a pattern of {near.bores} bores "
                f"with {per_bore} round each; otherwise list the bolts (deck.bolts)"
            )
            raise InputError(Fault("deck.pattern", f"on_head {near.on_head}", wanted))
    return per_bore, 2 if rows is None else rows


@functools.lru_cache(maxsize=64)
def checked_layout(deck: Section, near: Around) -> layouts.Layout:
    """The layout of a [deck] section that fits engine, fasteners and gasket.

    Kept, since every sheet that varies something else asks for the same one again. Raises
    InputError with the first fault, by dotted name.
    """
    if deck.pattern and deck.bolts_per_bore not in (None, near.around) and not deck.bolts:
        wanted = f"around_bore of [fasteners], {near.around}"
        raise InputError(Fault("deck.bolts_per_bore", str(deck.bolts_per_bore), wanted))
    if deck.bores and len(deck.bores) != near.bores:
        wanted = f"{near.bores}, the bores under one head"
        raise InputError(Fault("deck.bores", f"{len(deck.bores)} bores", wanted))
    try:
        drawn = deck_layout(deck, near)
        if len(drawn.bolts) != near.on_head:
            field, came = "bolts", f"{len(drawn.bolts)} bolts"
            if not deck.bolts:
                field, came = "shared_rows", f"{deck.shared_rows}, which makes {came} on the head"
            raise InputError(Fault(field, came, f"on_head of [fasteners], {near.on_head}"))
        try:
            room.check(drawn, near.seal, near.system)
        except InputError as err:
            raise InputError(_of_pattern(err.faults[0], deck, near, drawn)) from err
    except InputError as err:
        fault = err.faults[0]
        field = fault.field.removeprefix("deck.")
        if field.startswith("bores[") and not deck.bores:
            field = "pitch"
        if field.startswith("outline") and not deck.outline:
            field = "pattern"
        raise InputError(dataclasses.replace(fault, field=f"deck.{field}")) from err
    for fault in (*_against_fasteners(deck, near, drawn), *_mesh_and_steps(deck, near, drawn)):
        raise InputError(fault)
    return drawn


def _of_pattern(fault: Fault, deck: Section, near: Around, drawn: layouts.Layout) -> Fault:
    """The fault of a bolt or hole that the pattern places, by the field that places it."""
    what, _, number = fault.field.partition("[")
    if what not in ("bolts", "holes") or getattr(deck, what):
        return fault
    i = int(number.split("]")[0]) - 1
    fluid = drawn.holes[i].fluid if what == "holes" else ""
    own = f"{fluid}_distance" if fluid else fault.field
    places = drawn.hole_places if fluid else drawn.bolts
    found = room.over_edge(drawn, places, drawn.hole_diameters if fluid else drawn.bolt_hole)
    if found is None or deck.outline:
        return dataclasses.replace(fault, field=own)
    (x, y), (x0, x1, y0, y1) = places[i], drawn.extent
    name = "side_margin" if min(y - y0, y1 - y) <= min(x - x0, x1 - x) else "end_margin"
    # an oil hole midway between fasteners and edge follows the edge by half
    more = found[1] * (2.0 if fluid == "oil" and deck.oil_distance is None else 1.0)
    margin = float(getattr(deck, name))
    least = math.ceil(1e4 * (margin + more) + 0.3) / 1e4
    wanted = f"at least {near.told(least)}{f', or another {own}' if fluid else ''}"
    came = f"{near.told(margin)}, with {fault.came}"
    return dataclasses.replace(fault, field=name, came=came, wanted=wanted)


def _against_fasteners(deck: Section, near: Around, drawn: layouts.Layout) -> list[Fault]:
    found = layouts.counts(drawn)
    if min(found) != near.around:
        came = f"{', '.join(map(str, found))} round the bores in turn"
        wanted = f"around_bore of [fasteners], {near.around}, round the bore with the fewest"
        return [Fault("deck.bolts", came, wanted)]
    mean = sum(layouts.bolt_circle(drawn, b) for b in range(near.bores)) / near.bores
    if abs(mean - near.circle) > _CIRCLE_WITHIN * near.circle:
        field = "deck.bolts" if deck.bolts or deck.row_distance is None else "deck.row_distance"
        share = f"within {100 * _CIRCLE_WITHIN:g} % of bolt_circle of [fasteners]"
        came = f"a mean bolt circle of {near.told(mean)}"
        return [Fault(field, came, f"{share}, {near.told(near.circle)}")]
    return []


def _mesh_and_steps(deck: Section, near: Around, drawn: layouts.Layout) -> list[Fault]:
    x0, x1, y0, y1 = drawn.extent
    count = math.ceil((x1 - x0) / deck.mesh) * math.ceil((y1 - y0) / deck.mesh)
    if count > _MOST_ELEMENTS:
        least = math.sqrt((x1 - x0) * (y1 - y0) / _MOST_ELEMENTS)
        wanted = f"above {near.told(least)}, at most {_MOST_ELEMENTS} elements on this deck"
        return [Fault("deck.mesh", near.told(deck.mesh), wanted)]
    for number, step in enumerate(deck.thickness, start=1):
        path = f"deck.thickness[{number}]"
        if not layouts.inside(drawn, step.place):
            return [Fault(f"{path}.place", "a place beside the deck face", "one on it")]
        if near.gasket + step.extra <= 0.0:
            wanted = f"less missing than the compressed thickness, {near.told(near.gasket)}"
            return [Fault(f"{path}.extra", near.told(step.extra), wanted)]
    return []
