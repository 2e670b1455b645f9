"""Johnson-Cook law with the constants of OFHC copper in an open lecture note.

Too high below 5 % strain for annealed copper, so the kit takes Hollomon's law instead.
"""

from __future__ import annotations

from typing import Any

import numpy as np
from scipy.optimize import brentq

from sealkit.errors import fail
from sealkit.units import with_units


@with_units(
    returns="stress",
    strain="number >= 0",
    initial="stress >= 0",
    strength="stress > 0",
    exponent="number 0..1",
    rate_factor="number >= 0",
    rate_ratio="number > 0",
    softening="number > 0",
    temperature="temperature > 0",
    reference_temperature="temperature > 0",
    melting="temperature > 0",
)
def johnson_cook(
    strain: Any,
    initial: Any,
    strength: Any,
    exponent: Any,
    rate_factor: Any = 0.0,
    rate_ratio: Any = 1.0,
    softening: Any = 1.0,
    temperature: Any = 298.0,
    reference_temperature: Any = 298.0,
    melting: Any = 1356.0,
) -> Any:
    """Flow stress, (A + B eps**n) (1 + C ln(rate ratio)) (1 - T***m) [Pa].

    T* = (T - T_ref) / (T_melt - T_ref), held between 0 and 1.

    Parameters
    ----------
    strain : true plastic strain eps
    initial, strength, exponent : A, B [Pa], n
    rate_factor, rate_ratio : C, strain rate over reference rate
    softening : m
    temperature, reference_temperature, melting : T, T_ref, T_melt [K]
    """
    span = np.asarray(melting, dtype=float) - reference_temperature
    if np.any(span <= 0):
        raise fail("melting", f"{np.min(melting):g} K", "a temperature above the reference")
    warm = np.clip((np.asarray(temperature, dtype=float) - reference_temperature) / span, 0.0, 1.0)
    static = initial + strength * np.asarray(strain, dtype=float) ** exponent
    return static * (1.0 + rate_factor * np.log(rate_ratio)) * (1.0 - warm**softening)


@with_units(
    returns=("number", "stress"),
    initial="stress >= 0",
    strength="stress > 0",
    exponent="number 0.01..1",
)
def necking(initial: Any, strength: Any, exponent: Any) -> Any:
    """True strain at necking and engineering tensile strength [Pa] of the static law.

    Necking where B n eps**(n-1) = A + B eps**n (Considere's rule, d sigma / d eps = sigma);
    tensile strength (A + B eps**n) exp(-eps).

    Parameters
    ----------
    initial, strength, exponent : A, B [Pa], n
    """
    a, b, n = float(initial), float(strength), float(exponent)
    strain = brentq(lambda e: a + b * e**n - b * n * e ** (n - 1.0), 1e-12, n, xtol=1e-15)
    return strain, (a + b * strain**n) * np.exp(-strain)
