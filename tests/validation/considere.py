"""Considere's rule, d sigma / d eps = sigma, put into Hollomon's law."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.units import with_units


@with_units(returns="stress", strength="stress > 0", exponent="number 0..1")
def tensile_strength(strength: Any, exponent: Any) -> Any:
    """Engineering tensile strength at which a Hollomon metal necks, K n**n exp(-n) [Pa].

    Parameters
    ----------
    strength : K [Pa]
    exponent : n, which is also the true strain at necking
    """
    n = np.asarray(exponent, dtype=float)
    return strength * n**n * np.exp(-n)
