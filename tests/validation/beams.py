"""Beam theory of a clamped plane-strain strip; checked with a general numerical library."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.sealing.constructions.beads import strip_modulus
from sealkit.units import with_units


@with_units(
    returns="length",
    modulus="modulus > 0",
    poisson="number 0..0.49",
    thickness="length > 0",
    span="length > 0",
    yield_strength="stress > 0",
)
def bead_first_yield(
    modulus: Any, poisson: Any, thickness: Any, span: Any, yield_strength: Any
) -> Any:
    """Deflection at which the surface of a leg reaches the yield strength, Sy L**2 / (3 E' t).

    Plane strain lets the surface carry up to 2/sqrt(3) Sy, so this is early.

    Parameters
    ----------
    modulus, poisson : E [Pa], nu
    thickness, span : t of the sheet, L of one leg [m]
    yield_strength : Sy [Pa]
    """
    stiff = 3.0 * strip_modulus(modulus, poisson) * thickness
    return yield_strength * np.asarray(span, dtype=float) ** 2 / stiff
