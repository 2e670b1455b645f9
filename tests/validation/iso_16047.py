"""ISO 16047, Fasteners: torque and clamp force testing (from memory)."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.fastening import tightening
from sealkit.units import with_units


@with_units(
    returns="number",
    torque="torque >= 0",
    preload="force > 0",
    diameter="length > 0",
    pitch="length > 0",
    pitch_diameter="length > 0",
    head_diameter="length > 0",
    inner_diameter="length > 0",
)
def friction_from_test(
    torque: Any,
    preload: Any,
    diameter: Any,
    pitch: Any,
    pitch_diameter: Any = None,
    head_diameter: Any = None,
    inner_diameter: Any = None,
) -> Any:
    """Friction from a torque-tension test, thread and head alike: the long form turned round."""
    sizes = (pitch_diameter, head_diameter, inner_diameter)
    unit = tightening.torque_split.si(1.0, diameter, pitch, 1.0, 1.0, *sizes)
    return (torque / np.asarray(preload)[()] - unit.stretching) / (unit.thread + unit.head)
