"""Changes of state of an ideal gas.

References
----------
[1] Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach, chapter 7.
"""

from __future__ import annotations

from typing import Any

from sealkit import kinds as si
from sealkit.units import with_units


@with_units(returns=("pressure", "temperature"), exponent="number >= 1")
def polytropic_state(
    pressure: si.Pressure, temperature: si.Temperature, volume_ratio: si.Number, exponent: Any = 1.4
) -> tuple[Any, Any]:
    """State after compression (or expansion), p2 = p1 r^n and T2 = T1 r^(n-1) [1].

    Parameters
    ----------
    pressure, temperature : state before [Pa, K]
    volume_ratio : r, volume before over volume after [-]; below 1 for expansion
    exponent : n [-]; the heat-capacity ratio for an isentropic change

    >>> pressure, temperature = polytropic_state("2 bar", "300 K", 9)
    >>> round(pressure.m_as("bar"), 1), round(temperature.m_as("K"))
    (43.3, 722)
    """
    return pressure * volume_ratio**exponent, temperature * volume_ratio ** (exponent - 1.0)
