"""W. W. Pulkrabek, Engineering Fundamentals of the Internal Combustion Engine (from memory).

The slope of the piston's way and of the volume; the same in J. B. Heywood, Internal Combustion
Engine Fundamentals, 1988, section 2.2.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units


@with_units(
    returns="speed",
    crank_angle="angle",
    stroke="length > 0",
    crank_speed="crank speed > 0",
    rod="length > 0",
)
def piston_speed(crank_angle: Any, stroke: Any, crank_speed: Any, rod: Any) -> Any:
    """Momentary piston speed, positive downwards.

    v = pi n S sin(theta) (1 + cos(theta)/sqrt(lambda^2 - sin^2(theta))), lambda = 2 L/S
    """
    sin, ratio = np.sin(crank_angle), 2.0 * rod / stroke
    lean = np.cos(crank_angle) / np.sqrt(ratio**2 - sin**2)
    return np.pi * crank_speed * stroke * sin * (1.0 + lean)


@with_units(
    returns="volume",
    crank_angle="angle",
    bore="length > 0",
    stroke="length > 0",
    rod="length > 0",
)
def volume_derivative(crank_angle: Any, bore: Any, stroke: Any, rod: Any) -> Any:
    """Slope of the cylinder volume over crank angle [m^3/rad], (pi/4) B^2 dx/dtheta."""
    slope = piston_speed.si(crank_angle, stroke, 1.0 / (2.0 * np.pi), rod)
    return 0.25 * np.pi * np.square(bore) * slope
