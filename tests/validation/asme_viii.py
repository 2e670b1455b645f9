"""ASME BPVC VIII-1, Appendix 2, 2-3 and 2-5: gasket and bolt loads of a flange.

Some public texts print the names Wm1 and Wm2 the other way round: Wm1 is the operating load.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit.sealing import criteria
from sealkit.units import field, with_units

_PI = {"exact": (np.pi / 4.0, np.pi), "code": (0.785, 3.14)}  # the code prints 0.785 and 3.14


@dataclass(frozen=True)
class EffectiveGasket:
    """Basic width b0, effective width b and reaction diameter G [m]."""

    basic_width: Any = field("length")
    effective_width: Any = field("length")
    reaction_diameter: Any = field("length")


@with_units(returns="fields", inner_diameter="length > 0", outer_diameter="length > 0")
def effective_gasket(inner_diameter: Any, outer_diameter: Any) -> EffectiveGasket:
    """G = mean diameter of the contact up to b0 = 1/4 in, outside diameter - 2 b above, 2-3."""
    inner, outer = np.broadcast_arrays(
        np.asarray(inner_diameter, dtype=float), np.asarray(outer_diameter, dtype=float)
    )
    b0 = criteria.basic_width.si(0.5 * (outer - inner))
    b = criteria.effective_width.si(b0)
    g = np.where(b0 <= 0.25 * 0.0254, 0.5 * (inner + outer), outer - 2.0 * b)
    return EffectiveGasket(b0[()], b, g[()])


@dataclass(frozen=True)
class GasketLoads:
    """H on the reaction circle, Hp left on the gasket, Wm1 = H + Hp, Wm2 to seat [N]."""

    pressure_force: Any = field("force")
    compression_force: Any = field("force")
    operating: Any = field("force")
    seating: Any = field("force")


@with_units(
    returns="fields",
    pressure="gauge pressure >= 0",
    reaction_diameter="length > 0",
    effective_width="length > 0",
    factor="number >= 0",
    seating_stress="stress >= 0",
)
def gasket_loads(
    pressure: Any,
    reaction_diameter: Any,
    effective_width: Any,
    factor: Any,
    seating_stress: Any,
    constants: str = "exact",
) -> GasketLoads:
    """Wm1 = pi/4 G^2 P + 2 b pi G m P; Wm2 = pi b G y, 2-5(c)(1), equations (1) and (2)."""
    quarter, pi = _PI[constants]
    h = quarter * np.square(reaction_diameter) * pressure
    residual = criteria.residual_line_load.si(pressure, factor, effective_width)
    hp = residual * pi * reaction_diameter
    seating = criteria.seating_line_load.si(seating_stress, effective_width)
    return GasketLoads(h, hp, h + hp, seating * pi * reaction_diameter)


@with_units(
    returns="area",
    operating="force >= 0",
    seating="force >= 0",
    operating_stress="stress > 0",
    assembly_stress="stress > 0",
)
def required_bolt_area(
    operating: Any, seating: Any, operating_stress: Any, assembly_stress: Any
) -> Any:
    """Am [m**2] = max(Wm1/Sb, Wm2/Sa), 2-5(d)."""
    return np.maximum(np.asarray(operating) / operating_stress, seating / assembly_stress)[()]


@with_units(
    returns="force", required_area="area > 0", actual_area="area > 0", assembly_stress="stress > 0"
)
def design_load(required_area: Any, actual_area: Any, assembly_stress: Any) -> Any:
    """Bolt load for seating [N], W = (Am + Ab) Sa / 2, 2-5(e), equation (5)."""
    return 0.5 * (np.asarray(required_area, dtype=float) + actual_area) * assembly_stress


@with_units(returns="force", seating="stress >= 0", area="area > 0")
def seating_force(seating: Any, area: Any) -> Any:
    """Clamp [N] that seats a facing over an area, y A: 2-5(c)(2) written per area of gasket."""
    return seating * np.asarray(area, dtype=float)[()]
