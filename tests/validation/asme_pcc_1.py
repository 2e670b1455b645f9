"""ASME PCC-1-2013, Appendix O: bolt stress at assembly of a flange.

Usual ranges: Sb,max 40 to 70 % and Sb,min 20 to 40 % of bolt yield; phi 0.7 where no test exists.
The flange's own limit is not part of this.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.units import field, with_units


@with_units(
    returns="area", inner_diameter="length > 0", outer_diameter="length > 0", rib_area="area >= 0"
)
def gasket_area(inner_diameter: Any, outer_diameter: Any, rib_area: Any = 0.0) -> Any:
    """Area that takes bolt load [m**2]: pi/4 (OD^2 - ID^2) + half the rib area."""
    ring = np.square(outer_diameter) - np.square(inner_diameter)
    return np.pi / 4.0 * ring + 0.5 * np.asarray(rib_area, dtype=float)


@dataclass(frozen=True)
class AssemblyStress:
    """Bolt stress wanted and selected, gasket stress it gives, and its limits [Pa]."""

    wanted: Any = field("stress")
    selected: Any = field("stress")
    gasket_stress: Any = field("stress")
    seating_limit: Any = field("stress")
    operating_limit: Any = field("stress")
    crush_limit: Any = field("stress")


@with_units(
    returns="fields",
    target_stress="stress > 0",
    gasket_area="area > 0",
    bolts="number > 0",
    bolt_area="area > 0",
    bolt_least="stress >= 0",
    bolt_most="stress > 0",
    seating_stress="stress >= 0",
    operating_stress="stress >= 0",
    crush_stress="stress > 0",
    pressure="gauge pressure >= 0",
    inner_diameter="length > 0",
    remaining="fraction 0.01..1",
)
def assembly_stress(
    target_stress: Any,
    gasket_area: Any,
    bolts: Any,
    bolt_area: Any,
    bolt_least: Any,
    bolt_most: Any,
    seating_stress: Any,
    operating_stress: Any,
    crush_stress: Any,
    pressure: Any,
    inner_diameter: Any,
    remaining: Any = 1.0,
) -> AssemblyStress:
    """Bolt stress from what the gasket wants, needs and stands.

    S = SgT Ag/(nb Ab), held between the bolt limits; seating SgminS Ag/(nb Ab); operating
    (SgminO Ag + pi/4 P ID^2)/(phi nb Ab); crush Sgmax Ag/(nb Ab).
    """
    share = np.asarray(gasket_area, dtype=float) / (bolts * np.asarray(bolt_area, dtype=float))
    wanted = target_stress * share
    selected = np.clip(wanted, bolt_least, bolt_most)
    push = np.pi / 4.0 * pressure * np.square(inner_diameter) / gasket_area
    operating = (operating_stress + push) * share / remaining
    return AssemblyStress(
        wanted,
        selected[()],
        selected / share,
        seating_stress * share,
        operating,
        crush_stress * share,
    )
