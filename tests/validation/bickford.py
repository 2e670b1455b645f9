"""J. H. Bickford and S. Nassar (eds.), Handbook of Bolts and Bolted Joints, worked example."""

from __future__ import annotations

from typing import Any

from sealkit.fastening import stiffness
from sealkit.units import with_units


@with_units(
    returns="length",
    load="force > 0",
    shear_strength="stress > 0",
    pitch="length > 0",
    screw_major="length > 0",
    nut_pitch="length > 0",
)
def required_engagement(
    load: Any, shear_strength: Any, pitch: Any, screw_major: Any, nut_pitch: Any
) -> Any:
    """Engagement [m] at which the tapped thread just holds a load, F / (tau_B ASn per length)."""
    per_length = stiffness.internal_shear_area.si(1.0, pitch, screw_major, nut_pitch)
    return load / (per_length * shear_strength)
