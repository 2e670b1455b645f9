"""Fibre composite: a soft body with an armoured bore edge."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.sealing.constructions.base import (
    FROM_DATA,
    Array,
    Construction,
    curves,
    over_width,
    seating_line_load,
)
from sealkit.sealing.gaskets import Edge, Gasket, Zone
from sealkit.units import field


@dataclass(frozen=True, kw_only=True)
class SoftBody(Construction):
    """A gasket with a fibre body, worked out from its test-sheet figures.

    Stress S (e/e0)**n through the point (e0, S) of the compressibility test [1]; back by the
    recovery share of the closure reached, stress falling as (1 - part come back)**k.

    References
    ----------
    [1] ASTM F36, Standard Test Method for Compressibility and Recovery of Gasket Materials.
    """

    body_thickness: float = field("length > 0")  # of the facing with its core, under preload
    # compressibility, recovery: shares as [1] defines them
    compressibility: float = field("fraction 0.001..0.9")
    recovery: float = field("fraction 0.001..1")
    test_stress: float = field("stress > 0")  # S of that test
    # loading_exponent, unloading_exponent: n, k; the shape of both curves is an assumption
    loading_exponent: float = field("number 1..6")
    unloading_exponent: float = field("number 1..12")
    body_crush: float = field("stress > 0")  # stress at which the body is damaged
    # web_width, web_friction, web_strength: web behind an unbacked edge, friction on each face,
    # tensile strength of the sheet
    web_width: float = field("length > 0")
    web_friction: float = field("number >= 0")
    web_strength: float = field("stress >= 0")
    factor: float = field("number >= 0")  # m

    def stresses(self, crush: float) -> dict[str, Any]:
        """Stress curves of the body through its test point, past the crush stress."""
        share, back, at = self.compressibility, self.recovery, self.test_stress
        exponent, fall = self.loading_exponent, self.unloading_exponent
        if fall < exponent * back:
            raise fail(
                "unloading_exponent",
                f"{fall:g}",
                f"at least loading_exponent x recovery, {exponent * back:.3g}; "
                "the path would lie above the loading curve",
            )
        crushed = (crush / at) ** (1.0 / exponent)
        if share * crushed > 0.9:
            raise fail(
                "compressibility",
                f"{share:g}",
                f"at most {0.9 / crushed:.3g}: nothing would be left of the sheet at the crush "
                "stress",
            )
        most = min((1.6 * crush / at) ** (1.0 / exponent), 0.95 / share)
        # the test point itself is a node
        part = np.concatenate([np.linspace(0.0, 1.0, 8), np.linspace(1.0, most, 5)[1:]])
        if most <= 1.05:
            part = np.linspace(0.0, most, 12)
        part = np.insert(part, 1, 0.3 * part[1])
        squeezed = share * self.body_thickness

        def down(levels: Array, top: float) -> Array:
            reached = squeezed * (top / at) ** (1.0 / exponent)
            return reached * (1.0 - back * (1.0 - (levels / top) ** (1.0 / fall)))

        return curves(at * part**exponent, squeezed * part, down)

    def body(self, proud: float) -> Zone:
        """The body on the deck, thicker by `proud` than the plane of the gasket [m]."""
        return Zone(
            "fibre body",
            "body",
            "area",
            **self.stresses(self.body_crush),
            free_thickness=self.body_thickness,
            stands_proud=proud,
            crush=self.body_crush,
            source="power law through the compressibility test (ASTM F36), its recovery on "
            "unloading",
        )

    @property
    def edge(self) -> Edge:
        """The unbacked edge of the body, for the blow-out check."""
        return Edge(self.body_thickness, self.web_width, self.web_friction, self.web_strength)


@dataclass(frozen=True, kw_only=True)
class FibreComposite(SoftBody):
    """Fibre composite with an armoured bore edge.

    The armour is folded over the body, stands proud by two thicknesses of its sheet and presses
    the same body on its width: what seals the gas is a steel jacket over soft filler, and has m and
    y of that; the bare fibre seals only liquids (table facings). Its bending is left out.
    """

    name = "fibre composite"
    note = "soft fibre facing on a steel core, folded armour at the bore edge"

    # armour_thickness, armour_width: of its sheet, of the fold on the face
    armour_thickness: float = field("length >= 0")
    armour_width: float = field("length > 0")
    edge_crush: float = field("stress > 0")  # stress at which the armoured edge is damaged
    seating_stress: float = field("stress >= 0")  # y

    def gasket(self) -> Gasket:
        width, proud = self.armour_width, 2.0 * self.armour_thickness
        seal = Zone(
            "armoured bore edge",
            "seal",
            "length",
            **over_width(self.stresses(self.edge_crush), width),
            width=width,
            free_thickness=self.body_thickness + proud,
            stands_proud=proud,
            seating=seating_line_load(self.seating_stress, width),
            factor=self.factor,
            crush=self.edge_crush * width,
            source=f"body of the fibre composite under the width of the armour; {FROM_DATA}",
        )
        return Gasket(self.name, (seal, self.body(0.0)), self.note, self.edge)
