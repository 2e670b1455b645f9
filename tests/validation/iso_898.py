"""ISO 898-1, Mechanical properties of fasteners: loads of a thread in a grade, F = At S.

Inch grades by the same product of the printed strength and the stress area.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from sealkit.fastening.grades import strength
from sealkit.fastening.threads import thread
from sealkit.units import field, with_units


@dataclass(frozen=True)
class FastenerLoads:
    """Proof, yield and breaking load in plain tension [N]."""

    proof: Any = field("force")
    yielding: Any = field("force")
    breaking: Any = field("force")


@with_units(returns="fields")
def fastener_loads(grade: str, designation: str) -> FastenerLoads:
    """Stress area times proof, yield and tensile strength."""
    t = thread.si(designation)
    s = strength.si(grade, t.diameter)
    return FastenerLoads(*(t.stress_area * x for x in (s.proof, s.yield_strength, s.tensile)))
