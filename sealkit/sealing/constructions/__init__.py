"""Gasket constructions worked out from their geometry and materials.

Each construction turns its own sizes and materials into the zones of a gasket: a fibre body from
its test-sheet figures, an embossed bead from a table of legs formed and pressed flat, a stopper as
added thickness, a ridged ring and a wire by indentation, a copper sheet by its flow curve. A zone
can also be measured. All parameters stand in the table ``constructions``, each with source and
status; most sizes are illustrative, so the curves show how a construction works and are no data of
any gasket.

A curve is worked out as closure against load: parts in series add their closures at one load.
Unloading takes back what is elastic and leaves what has flowed.
"""

from sealkit.sealing.constructions.beads import (
    HALF_BEAD_LEGS,
    bead_plastic_load,
    bead_springback,
    bead_stiffness,
    hardening_share,
)
from sealkit.sealing.constructions.catalogue import kind, make, names
from sealkit.sealing.constructions.measured import measured
from sealkit.sealing.constructions.sheet_tests import compressibility, creep_relaxation, recovery
from sealkit.sealing.constructions.steel_ring import FibreSteelRing
from sealkit.sealing.constructions.wire_ring import CopperWireRing
