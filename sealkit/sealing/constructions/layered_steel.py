"""Multi-layer embossed steel with an elastomer coat."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from sealkit.sealing.constructions.base import Array, Construction, count, curves, most
from sealkit.sealing.constructions.beads import (
    FULL_BEAD_LEGS,
    HALF_BEAD_LEGS,
    Bead,
    bead_springback,
    hardening_share,
    strip_modulus,
)
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.units import field


@dataclass(frozen=True)
class FlatLayers:
    """Steel layers with their coats, as they lie on each other without any bead, SI.

    The coat takes the strain stress / (modulus + stress / greatest strain), an assumption.
    """

    steel: float
    coat: float
    of: LayeredSteel

    @property
    def thickness(self) -> float:
        """Steel and coat together [m]."""
        return self.steel + self.coat

    def _strain(self, stress: Any) -> Any:
        s = np.asarray(stress, dtype=float)
        return s / (self.of.coat_modulus + s / self.of.coat_compressibility)

    def _squeezed(self, stress: Any) -> Any:
        return stress * self.steel / strip_modulus(self.of.modulus, self.of.poisson)

    def up(self, stress: Any) -> Any:
        """Closure on loading [m]."""
        return self._squeezed(stress) + self.coat * self._strain(stress)

    def down(self, stress: Any, top: float) -> Any:
        """Closure on the way back from the stress `top` [m]."""
        now, reached = self._strain(stress), self._strain(top)
        left = reached - self.of.coat_recovery * (reached - now)
        return self._squeezed(stress) + self.coat * left

    def pressed(self, crush: float, parts: list[float]) -> dict[str, Any]:
        """Stress curves with their nodes at these parts of the crush stress."""
        loads = crush * np.array(parts)
        return curves(loads, self.up(loads), self.down)


@dataclass(frozen=True, kw_only=True)
class LayeredSteel(Construction):
    """Multi-layer embossed steel with an elastomer coat.

    Every active layer carries the whole line load; the closures of their beads, of coat and steel
    add. A bead is pressed flat and springs back as `beads.Bead` reads it from its table.
    """

    name = "multi-layer steel"
    note = "embossed spring-steel layers with elastomer coat, no stopper"

    # modulus, poisson, yield_strength, tensile_strength, elongation: of the spring steel, before it
    # is embossed
    modulus: float = field("modulus > 0")
    poisson: float = field("number 0..0.49")
    yield_strength: float = field("stress > 0")
    tensile_strength: float = field("stress > 0")
    elongation: float = field("fraction 0.001..1")
    active_layers: float = count("number 1..6")  # layers with beads
    # layer_thickness, spacer_thickness: of one active layer, of all plain layers together
    layer_thickness: float = field("length > 0")
    spacer_thickness: float = field("length >= 0")
    # bead_span, bead_height, bead_contact: of one leg, of one bead, width of contact along the
    # crest
    bead_span: float = field("length > 0")
    bead_height: float = field("length > 0")
    bead_contact: float = field("length > 0")
    bead_factor: float = field("number >= 0")  # residual contact stress wanted over gas pressure
    bead_seating: float = field("line load >= 0")  # line load at which the bead seals at all
    half_bead_span: float = field("length > 0")  # the same of the half beads at the liquid holes
    half_bead_height: float = field("length > 0")
    half_bead_contact: float = field("length > 0")
    half_bead_factor: float = field("number >= 0")
    half_bead_seating: float = field("line load >= 0")
    # coats, coat_thickness: coated faces in the stack, thickness on one face
    coats: float = count("number 0..20")
    coat_thickness: float = field("length >= 0")
    # coat_modulus, coat_compressibility: stress over strain at first, greatest strain
    coat_modulus: float = field("modulus > 0")
    coat_compressibility: float = field("fraction 0.001..1")
    coat_recovery: float = field("fraction 0..1")  # share of the coat's strain that comes back
    # coat lost from the stack at the bore, all faces together
    coat_missing: float = field("length >= 0")
    body_crush: float = field("stress > 0")  # stress at which flat layers and coat are damaged

    def __post_init__(self) -> None:
        super().__post_init__()
        coat = self.coats * self.coat_thickness
        most("coat_missing", self.coat_missing, coat, "all of the coat")

    @property
    def bead(self) -> Bead:
        """The combustion bead of one layer."""
        return self._bead(FULL_BEAD_LEGS, self.bead_span, self.bead_height)

    @property
    def springback(self) -> float:
        """How far the beads of all active layers spring back from their plastic load [m]."""
        sheet = (self.modulus, self.poisson, self.layer_thickness, self.bead_span)
        return float(bead_springback.si(*sheet, self.yield_strength, self.active_layers))

    def _bead(self, legs: int, span: float, height: float) -> Bead:
        strength = (self.yield_strength, self.tensile_strength)
        return Bead(
            legs,
            self.layer_thickness,
            span,
            height,
            self.modulus,
            self.poisson,
            self.yield_strength,
            float(hardening_share.si(self.modulus, *strength, self.elongation)),
        )

    @property
    def flat_layers(self) -> FlatLayers:
        """The stack between the beads."""
        steel = self.active_layers * self.layer_thickness + self.spacer_thickness
        return FlatLayers(steel, self.coats * self.coat_thickness, self)

    @property
    def at_the_bore(self) -> FlatLayers:
        """The stack there, with the coat that is missing."""
        whole = self.flat_layers
        return replace(whole, coat=whole.coat - self.coat_missing)

    def _beads(
        self, name: str, role: str, bead: Bead, stack: FlatLayers, width: float, **more: Any
    ) -> Zone:
        """The beads of all active layers as one zone."""
        deflection, loads = bead.way
        layers = self.active_layers

        def down(levels: Array, top: float) -> Array:
            sprung = bead.paths[int(np.argmin(np.abs(loads - top))), : len(levels)]
            return layers * sprung + stack.down(levels / width, top / width)

        return Zone(
            name,
            role,
            "length",
            **curves(loads, layers * deflection + stack.up(loads / width), down),
            width=width,
            free_thickness=stack.thickness + layers * bead.height,
            source="legs formed and pressed flat as yielding strips that slide and turn, layers in "
            "series with coat and steel",
            **more,
        )

    def seals(self) -> tuple[Zone, ...]:
        """The zones round the bore."""
        bead = self._beads(
            "combustion bead",
            "seal",
            self.bead,
            self.at_the_bore,
            self.bead_contact,
            stands_proud=self.active_layers * self.bead_height - self.coat_missing,
            seating=self.bead_seating,
            factor=self.bead_factor,
        )
        return (bead,)

    def gasket(self) -> Gasket:
        stack = self.flat_layers
        half = self._beads(
            "half bead at the liquid holes",
            "liquid",
            self._bead(HALF_BEAD_LEGS, self.half_bead_span, self.half_bead_height),
            stack,
            self.half_bead_contact,
            stands_proud=self.active_layers * self.half_bead_height,
            seating=self.half_bead_seating,
            factor=self.half_bead_factor,
        )
        body = Zone(
            "flat layers",
            "body",
            "area",
            **stack.pressed(self.body_crush, [0.0, 0.01, 0.03, 0.08, 0.18, 0.4, 1.0, 1.3]),
            free_thickness=stack.thickness,
            crush=self.body_crush,
            source="coat and steel layers pressed flat",
        )
        return Gasket(self.name, (*self.seals(), body, half), self.note)
