"""Multi-layer embossed steel with a folded stopper layer at the bore."""

from __future__ import annotations

from dataclasses import dataclass, replace

from sealkit.errors import Fault, InputError
from sealkit.sealing.constructions.base import over_width
from sealkit.sealing.constructions.layered_steel import LayeredSteel
from sealkit.sealing.gaskets import Zone
from sealkit.units import field
from sealkit.words import figure, note


@dataclass(frozen=True, kw_only=True)
class StopperSteel(LayeredSteel):
    """Multi-layer embossed steel with a folded stopper layer at the bore.

    The fold adds thickness next to the bead, takes clamp as soon as the bead has come down to it,
    and leaves the bead only part of its height to work in. Gas has to pass both: they are one seal.
    """

    name = "multi-layer steel with stopper"
    note = (
        "as multi-layer steel, with a folded layer at the bore that "
        "takes clamp and keeps the bead from being flattened"
    )

    # stopper_thickness, stopper_width: thickness that the fold adds, its width
    stopper_thickness: float = field("length > 0")
    stopper_width: float = field("length > 0")
    stopper_factor: float = field("number >= 0")  # residual contact stress wanted over gas pressure
    stopper_crush: float = field("stress > 0")  # stress at which the fold is damaged

    def __post_init__(self) -> None:
        super().__post_init__()
        if self.stopper_thickness >= self.beads_height:
            came = figure(self.stopper_thickness, "lift")
            wanted = note("less than the beads stand up, {it}", it=(self.beads_height, "lift"))
            raise InputError(Fault("stopper_thickness", came, wanted))

    @property
    def beads_height(self) -> float:
        """Height of the beads of all layers on each other [m]."""
        return self.active_layers * self.bead_height

    def seals(self) -> tuple[Zone, ...]:
        worn, width = self.at_the_bore, self.stopper_width
        thick = replace(worn, steel=worn.steel + self.stopper_thickness)
        stresses = thick.pressed(self.stopper_crush, [0.0, 0.01, 0.04, 0.1, 0.25, 0.5, 1.0, 1.3])
        stopper = Zone(
            "stopper",
            "seal",
            "length",
            **over_width(stresses, width),
            width=width,
            free_thickness=thick.thickness,
            stands_proud=self.stopper_thickness - self.coat_missing,
            factor=self.stopper_factor,
            crush=self.stopper_crush * width,
            source="coat and steel layers with the fold pressed flat",
        )
        return (*super().seals(), stopper)
