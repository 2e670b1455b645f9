"""Machinery's Handbook, 24th ed., "Stress areas and length of engagement" (seen second-hand)."""

from __future__ import annotations

from typing import Any

from sealkit.fastening import stiffness
from sealkit.units import with_units


@with_units(
    returns="length",
    stress_area="area > 0",
    pitch="length > 0",
    nut_minor="length > 0",
    screw_pitch="length > 0",
)
def required_engagement(stress_area: Any, pitch: Any, nut_minor: Any, screw_pitch: Any) -> Any:
    """Engagement [m] at which the screw breaks before its own thread strips, 2 At over ASs.

    The 2 takes shear strength as half the tensile strength.
    """
    return 2 * stress_area / stiffness.external_shear_area.si(1.0, pitch, nut_minor, screw_pitch)
