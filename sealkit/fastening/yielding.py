"""A fastener past its yield point: it hardens a little and takes the stretch where it is thinnest.

Up to yield the tension goes with the stretch by kb; past it the section that yields, of area A and
length L, gives way as a softer spring kp in series, until the strain at the highest load is used
up:

    F = Fy + s k,  k = kb kp/(kb + kp),  kp = (Rm - Re)/eu A/L       (s: stretch past that at yield)

References
----------
[1] Straight line from yield to tensile strength over the uniform strain eu (from memory).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import with_units


@with_units(returns="stiffness")
def hardening_stiffness(
    yield_strength: si.Stress,
    tensile: si.Stress,
    area: si.Area,
    length: si.Length,
    uniform_strain: si.Fraction,
) -> Any:
    """Stiffness of the section that yields, kp = (Rm - Re) A / (eu L) [N/m] [1].

    Raises InputError if the tensile strength lies below the yield strength.

    Parameters
    ----------
    yield_strength, tensile : Re, Rm [Pa]
    area, length : A [m**2], L [m] of the section that yields: free and engaged thread, or a neck
    uniform_strain : eu, strain at the highest load
    """
    if np.any(np.asarray(tensile) < yield_strength):
        raise fail("tensile", "less than the yield strength", "at least yield_strength")
    # a steel that does not harden at all still has to carry on
    rise = np.maximum(np.asarray(tensile) - yield_strength, 1e-3 * np.asarray(yield_strength))
    return rise * area / (uniform_strain * length)


@with_units(returns="force")
def stretched(
    elastic: si.Force0, at_yield: si.Force, bolt_stiffness: si.Stiffness, hardening: si.Stiffness
) -> Any:
    """Tension of a fastener that is stretched as far as an elastic one would be for `elastic` [N].

    Parameters
    ----------
    elastic : kb times the stretch [N]
    at_yield : tension at which it yields Fy [N]
    bolt_stiffness, hardening : kb, kp [N/m]
    """
    over = np.maximum(np.asarray(elastic) - at_yield, 0.0) * hardening
    return np.minimum(elastic, at_yield) + over / (np.asarray(bolt_stiffness) + hardening)
