"""A printed bead of soft elastomer on any gasket: illustrative height, stress and set.

Gasket factor and seating stress of soft elastomer: ASME BPVC VIII-1, Appendix 2, Table 2-5.1.
"""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.sealing import liquids
from sealkit.sealing.gaskets import Gasket, Zone
from sealkit.units import with_units


@with_units(
    length="length > 0",
    height="length > 0",
    width="length > 0",
    stress="stress > 0",
    permanent="fraction 0..1",
)
def with_bead(
    gasket: Gasket,
    length: Any,
    height: Any = 0.10e-3,
    width: Any = 1.5e-3,
    stress: Any = 3.0e6,
    permanent: Any = 0.3,
) -> Gasket:
    """The same gasket with a bead of soft elastomer printed round the liquid holes.

    The bead stands on the body by its height, carries stress x width when pressed flat to the
    body, in a straight line, and keeps the permanent share of what it was pressed.

    Parameters
    ----------
    gasket : with or without beads of its own (those give way to this one)
    length : of the bead for one bore [m]
    height, width : of the bead [m]
    stress : contact stress when flat [Pa]
    permanent : set over closure reached
    """
    if permanent >= 1.0:
        raise fail("permanent", permanent, "a share below 1")
    soft = liquids.facing.si("soft elastomer bead")
    full = stress * width
    body = [z.stands_proud for z in gasket.zones if z.role == "body"]
    bead = Zone(
        name="elastomer bead at the liquid holes",
        role="liquid",
        per="length",
        closure=np.array([0.0, height]),
        load=np.array([0.0, full]),
        unloading=((np.array([height, permanent * height]), np.array([full, 0.0])),),
        width=float(width),
        free_thickness=float(height),
        stands_proud=float((max(body) if body else 0.0) + height),
        seating=float(soft.seating) * float(width),
        factor=float(soft.factor),
        extent=float(length),
        source=f"illustrative bead; {soft.source}",
        status="invented",
    )
    kept = tuple(z for z in gasket.zones if z.role != "liquid")
    return replace(gasket, zones=(*kept, bead))
