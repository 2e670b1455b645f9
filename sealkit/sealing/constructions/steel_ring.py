"""Fibre body with a solid ridged steel ring at the bore."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from sealkit.sealing import criteria, flow
from sealkit.sealing.constructions.base import RING_JOINT, count, elastic, elastic_return, most
from sealkit.sealing.constructions.beads import strip_modulus
from sealkit.sealing.constructions.fibre import SoftBody
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.units import field


@dataclass(frozen=True, kw_only=True)
class FibreSteelRing(SoftBody):
    """Fibre body with a solid ridged steel ring at the bore.

    Each ridge bites at the mean indentation pressure of the softer of ring and face,
    q = ridges 2 a H; both faces and the elastic parts are in series. Only the elastic part (under
    the ridges, under the ring as a strip, and of the ring itself) comes back. The body is thicker
    than the ring and works as a cushion. See `flow.bite` and `flow.elastic_approach`.

    `factor`: m, on the width 2 b0 of a ring joint, a quarter of the ring.
    """

    name = "fibre body with steel ring"
    note = "soft body that cushions, solid ridged steel ring at the bore that bites"

    # ring_thickness, ring_width: of the ring over its ridges
    ring_thickness: float = field("length > 0")
    ring_width: float = field("length > 0")
    # ridges, ridge_radius, ridge_height: on each face; radius of the tip and height
    ridges: float = count("number 1..12")
    ridge_radius: float = field("length > 0")
    ridge_height: float = field("length > 0")
    # bite into the harder contact that fills the roughness
    seating_bite: float = field("length > 0")
    # depth of metal behind each face that the line load squeezes
    deck_depth: float = field("length > 0")
    # ring_material, head_material, block_material: rows of the flow table
    ring_material: str
    head_material: str
    block_material: str

    def __post_init__(self) -> None:
        super().__post_init__()
        most("ridge_height", self.ridge_height, self.ridge_radius, "the radius of the tip")
        most(
            "ridge_height",
            2.0 * self.ridge_height,
            self.ring_thickness,
            "the thickness of the ring",
        )
        most("seating_bite", self.seating_bite, self.ridge_height, "the height of the ridges")

    @property
    def hardness(self) -> tuple[float, float]:
        """Indentation pressure of the softer of ring and face, at head and block [Pa]."""
        ring = flow.indentation_pressure.si(self.ring_material)
        faces = (self.head_material, self.block_material)
        head, block = (min(flow.indentation_pressure.si(m), ring) for m in faces)
        return head, block

    @property
    def buried(self) -> float:
        """Half-width of a ridge pressed in to its full height [m]."""
        return float(flow.contact_half_width.si(self.ridge_height, self.ridge_radius))

    @property
    def give(self) -> float:
        """Elastic closure of ring and both faces per line load [m per N/m]."""
        ring = strip_modulus(*elastic("steel", "ring_material"))
        give = self.ring_thickness / (self.ring_width * ring)
        near = (self.buried, self.ring_width / self.ridges / 2.0)
        far = (self.ring_width / 2.0, self.deck_depth)
        for part in ("head_material", "block_material"):
            face = elastic(getattr(self, part), part)
            give += flow.elastic_approach.si(1.0 / self.ridges, *near, *face)
            give += flow.elastic_approach.si(1.0, *far, *face)
        return float(give)

    def gasket(self) -> Gasket:
        """As `Construction.gasket`; crush is the load that buries the ridges of the softer face."""
        hard, count, radius = self.hardness, self.ridges, self.ridge_radius
        contact = count * 2.0 * self.buried
        last = min(contact * h for h in hard)
        loads = last * np.array([0.0, 0.08, 0.18, 0.3, 0.42, 0.55, 0.68, 0.8, 0.9, 1.0, 1.4])
        bites = sum(flow.bite.si(np.minimum(loads, last) / count, h, radius) for h in hard)
        closure = np.asarray(bites, dtype=float) + self.give * loads
        bitten = float(flow.contact_half_width.si(self.seating_bite, radius))
        seal = Zone(
            "steel ring",
            "seal",
            "length",
            **elastic_return(loads, closure, self.give),
            width=2.0 * criteria.basic_width.si(self.ring_width, "ring joint"),
            free_thickness=self.ring_thickness,
            seating=min(count * 2.0 * bitten * max(hard), 0.95 * last),
            factor=self.factor,
            crush=last,
            source="bite of round ridges at constant indentation pressure; m from the data of the "
            f"construction, {RING_JOINT}",
        )
        body = self.body(self.body_thickness - self.ring_thickness)
        return Gasket(self.name, (seal, body), self.note, self.edge)
