"""Solid copper sheet, bare between plain faces."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.sealing import flow
from sealkit.sealing.constructions.base import (
    FROM_DATA,
    Construction,
    elastic,
    elastic_return,
    over_width,
    seating_line_load,
)
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.units import field

ELASTIC = "copper, annealed"
"""Row of the materials table whose modulus stands for every temper."""


@dataclass(frozen=True, kw_only=True)
class SolidCopper(Construction):
    """A gasket of solid copper sheet.

    The high spots of the faces press in; the share of area in contact grows with the square of
    the closure, at the indentation pressure (an assumption). The sheet itself only gives
    elastically, so what comes back is below a micrometre. See `flow.indentation_pressure` and
    `flow.confined_modulus`.
    """

    sheet_thickness: float = field("length > 0")  # of the copper
    temper: str  # row of the flow table, such as "copper, annealed" or "copper, hard"
    roughness: float = field("length > 0")  # of both faces together, peak to valley
    factor: float = field("number >= 0")  # m

    def stresses(self) -> dict[str, Any]:
        """Stress curves of the sheet between its faces."""
        copper = flow.Copper.of(self.temper)
        give = self.sheet_thickness / flow.confined_modulus.si(*elastic(ELASTIC, "temper"))
        loads = copper.tensile * np.array([0.0, 0.01, 0.04, 0.1, 0.2, 0.35, 0.6, 1.0, 1.3])
        closure = self.roughness * np.sqrt(loads / copper.hardness) + give * loads
        return elastic_return(loads, closure, give)

    def body(self) -> Zone:
        """The sheet on the deck."""
        return Zone(
            "copper sheet",
            "body",
            "area",
            **self.stresses(),
            free_thickness=self.sheet_thickness,
            crush=flow.Copper.of(self.temper).tensile,
            source="high spots pressed in at the indentation pressure, elastic sheet; "
            "crush at the tensile strength",
        )


@dataclass(frozen=True, kw_only=True)
class CopperSheet(SolidCopper):
    """Solid copper sheet, bare.

    It follows a lifting head by what its load presses in elastically, no more: on the drag demo it
    is too close to call without boost, and fails with (common practice, no source: plain copper on
    mild engines, a wire ring with boost). Sealer on it is left out, and so is copper that flows
    where the land is pressed past its tensile strength and leaves load to the rest of the sheet.
    That counts as crushed, so no clamp of the demo both seals and spares the land for sure.
    """

    name = "copper sheet"
    note = "solid copper sheet between plain faces"

    land_width: float = field("length > 0")  # width round the bore that counts as seal
    seating_stress: float = field("stress >= 0")  # y

    def gasket(self) -> Gasket:
        seal = Zone(
            "copper at the bore",
            "seal",
            "length",
            **over_width(self.stresses(), self.land_width),
            width=self.land_width,
            free_thickness=self.sheet_thickness,
            seating=seating_line_load(self.seating_stress, self.land_width),
            factor=self.factor,
            crush=flow.Copper.of(self.temper).tensile * self.land_width,
            source=f"copper sheet on the land round the bore; {FROM_DATA}",
        )
        return Gasket(self.name, (seal, self.body()), self.note)
