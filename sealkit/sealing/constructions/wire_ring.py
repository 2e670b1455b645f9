"""Copper sheet with a wire ring in one face and a receiver groove in the other."""

from __future__ import annotations

import functools
from dataclasses import dataclass

import numpy as np

from sealkit.errors import fail
from sealkit.sealing import criteria, flow
from sealkit.sealing.constructions.base import (
    RING_JOINT,
    Array,
    elastic,
    elastic_return,
    most,
)
from sealkit.sealing.constructions.copper_sheet import ELASTIC, SolidCopper
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.units import field


@dataclass(frozen=True)
class SeatedWire:
    """The wire with the faces together: line load, and where its protrusion has gone."""

    line_load: float = field("line load")  # that seats the wire fully
    # formed, bedded: depth formed in the copper, depth bedded into its groove
    formed: float = field("length")
    bedded: float = field("length")
    filled: float = field("fraction")  # share of the room for pushed-out copper that is filled
    springback: float = field("length")  # elastic recovery from that load


@dataclass(frozen=True, kw_only=True)
class CopperWireRing(SolidCopper):
    """Copper sheet with a wire ring in one face and a receiver groove in the other.

    The wire flows into the copper, which bulges into the receiver (`flow.sheet_line_load`), and
    beds into the bottom of its groove at the face's indentation pressure (`flow.bite`); both in
    series. Copper pushed out (`flow.displaced_area`) has to find room in the receiver and beside
    the wire; once that is full the sheet can only give elastically. Copper, as a block and as a
    bridge over the receiver, and both faces come back elastically; the load reaches the face
    opposite through the sheet.

    `factor`: m, on the width 2 b0 of a ring joint, a quarter of the wire.
    """

    name = "copper with wire ring"
    note = "copper sheet, wire ring in one face and receiver groove in the other"

    # wire_diameter, protrusion: of the wire, and how far it stands out of its face
    wire_diameter: float = field("length > 0")
    protrusion: float = field("length > 0")
    # groove_material, receiver_material: of the face that holds the wire and of the face opposite,
    # rows of the flow table
    groove_material: str
    receiver_material: str
    # depth of metal behind each face that the line load squeezes
    deck_depth: float = field("length > 0")
    # receiver_width, receiver_depth: of the groove opposite; 0 for none
    receiver_width: float = field("length >= 0")
    receiver_depth: float = field("length >= 0")
    pile_up: float = field("area >= 0")  # cross-section of copper that finds room beside the wire
    # part of the protrusion that has to be formed for the ring to seal
    formed_share: float = field("fraction 0.01..1")

    def __post_init__(self) -> None:
        super().__post_init__()
        most("protrusion", self.protrusion, self.radius, "half the wire")
        if self.room <= 0:
            raise fail(
                "pile_up", "0 m**2 and no receiver", "room for the copper that is pushed out"
            )

    @property
    def radius(self) -> float:
        """Of the wire [m]."""
        return self.wire_diameter / 2.0

    @property
    def groove_depth(self) -> float:
        """Depth of the groove that holds the wire [m]."""
        return self.wire_diameter - self.protrusion

    @property
    def room(self) -> float:
        """Cross-section for the copper that is pushed out [m**2]."""
        return self.receiver_width * self.receiver_depth + self.pile_up

    @property
    def gap(self) -> float:
        """Width over which nothing backs the sheet [m]."""
        return self.receiver_width if self.receiver_depth > 0 else 0.0

    @functools.cached_property
    def _groove(self) -> float:
        """Indentation pressure of the face that holds the wire [Pa]."""
        return float(flow.indentation_pressure.si(self.groove_material))

    @property
    def held(self) -> float:
        """Line load at which the wire sinks into its groove by its radius [N/m]."""
        return 2.0 * self.radius * self._groove

    @functools.cached_property
    def _copper_way(self) -> tuple[Array, Array, float]:
        """Depths in the copper, line loads there, and the depth at which its room is full."""
        depth = self.radius * np.linspace(0.0, 1.0, 600) ** 2
        area = flow.displaced_area.si(depth, self.radius)
        full = float(np.interp(self.room, area, depth)) if self.room < area[-1] else float("inf")
        return depth, self._into_copper(depth), full

    def _into_copper(self, depth: Array) -> Array:
        c = flow.Copper.of(self.temper)
        metal = (c.strength, c.exponent, c.prestrain)
        opposite = (self.sheet_thickness, self.receiver_width, self.receiver_depth)
        load = flow.sheet_line_load.si(depth, self.radius, *metal, *opposite)
        return np.asarray(load, dtype=float)

    def _into_groove(self, load: Array | float) -> Array:
        return np.asarray(flow.bite.si(load, self._groove, self.radius), dtype=float)

    @functools.cached_property
    def deepest(self) -> float:
        """Depth to which the copper gives [m].

        Until its room is full, the wire is half in, or the groove gives way.
        """
        depth, load, full = self._copper_way
        deepest = min(full, self.radius)
        if load[-1] > 0.999 * self.held:
            deepest = min(deepest, float(np.interp(0.999 * self.held, load, depth)))
        return deepest

    @property
    def half_width(self) -> float:
        """Of the contact of wire and copper [m]."""
        deep = min(self.deepest, self.protrusion)
        return float(flow.contact_half_width.si(deep, self.radius))

    @functools.cached_property
    def give(self) -> float:
        """Elastic closure of copper and both faces per line load [m per N/m]."""
        half, sheet, deck = self.half_width, self.sheet_thickness, self.deck_depth
        parts = (
            (half, sheet, ELASTIC, "temper"),
            (half, deck, self.groove_material, "groove_material"),
            (half + sheet, deck, self.receiver_material, "receiver_material"),
        )
        bridge = flow.bridge_approach.si(1.0, self.gap, sheet, *elastic(ELASTIC, "temper"))
        return float(
            sum(flow.elastic_approach.si(1.0, a, t, *elastic(m, name)) for a, t, m, name in parts)
            + bridge
        )

    @functools.cached_property
    def _loading(self) -> tuple[Array, Array, Array]:
        """Line loads and closures of the seal, and the depths in the copper at the first ones."""
        parts = np.array([0.0, 0.004, 0.02, 0.06, 0.13, 0.24, 0.38, 0.54, 0.72, 0.88, 1.0])
        d = self.deepest * parts
        q = self._into_copper(d)
        closure = d + self._into_groove(q) + self.give * q
        end = last = float(q[-1])
        if self._copper_way[2] <= self.deepest:
            # no room left: the sheet under the wire is pressed as it is, the groove bites on
            last = max(0.999 * self.held, 1.001 * end)
            more = np.linspace(end, last, 7)[1:]
            confined = flow.confined_modulus.si(*elastic(ELASTIC, "temper"))
            stiff = confined * 2.0 * self.half_width / self.sheet_thickness
            bites = self._into_groove(more) - self._into_groove(end)
            beyond = bites + (more - end) * (1.0 / stiff + self.give)
            closure = np.append(closure, closure[-1] + beyond)
            q = np.append(q, more)
        # wire or groove gives way at this load until the faces meet
        closure = np.append(closure, closure[-1] + self.radius)
        q = np.append(q, 1.01 * last)
        q[0] = closure[0] = 0.0
        return q, closure, d

    @property
    def seated(self) -> SeatedWire:
        """The wire with the faces together."""
        q, closure, d = self._loading
        load = float(np.interp(self.protrusion, closure, q))
        formed = float(np.interp(self.protrusion, closure[: len(d)], d))
        pushed = float(flow.displaced_area.si(formed, self.radius))
        return SeatedWire(
            load, formed, self.protrusion - formed, pushed / self.room, self.give * load
        )

    def gasket(self) -> Gasket:
        """As `Construction.gasket`; crush is the load at which the wire is half buried."""
        q, closure, _ = self._loading
        crush = min(self.held, float(self._copper_way[1][-1]))
        seat = float(np.interp(self.formed_share * self.protrusion, closure, q))
        seal = Zone(
            "wire in copper",
            "seal",
            "length",
            **elastic_return(q, closure, self.give),
            width=2.0 * criteria.basic_width.si(self.wire_diameter, "ring joint"),
            free_thickness=self.sheet_thickness + self.protrusion,
            stands_proud=self.protrusion,
            seating=min(seat, 0.95 * crush),
            factor=self.factor,
            crush=crush,
            source="wire into copper by its flow curve and into its groove by hardness, in "
            f"series; m from the data of the construction, {RING_JOINT}",
        )
        return Gasket(self.name, (seal, self.body()), self.note)
