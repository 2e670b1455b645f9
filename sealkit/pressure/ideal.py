"""Changes of state of an ideal gas.

References
----------
[1] Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach, chapter 7.
[2] G. Hohenberg and I. Killmann, Basic findings obtained from measurement of the combustion
    process, FISITA 82126, 1982 (from memory).
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


@with_units(returns="pressure", exponent="number > 0")
def polytropic_offset(
    first: si.AnyPressure, second: si.AnyPressure, volume_ratio: si.Above1, exponent: Any
) -> Any:
    """How far a log reads too high, from two readings on one compression [2].

    offset = (r^n first - second)/(r^n - 1), since second - offset = r^n (first - offset)

    `first`, `second`: as logged, at the larger and the smaller volume; `volume_ratio`: r, the one
    volume over the other; `exponent`: n.

    >>> polytropic_offset("2.3 bar", "10.3 bar", 4, 1.25).to("bar").round(2)
    <Quantity(0.58, 'bar')>
    """
    times = volume_ratio**exponent
    return (times * first - second) / (times - 1.0)
