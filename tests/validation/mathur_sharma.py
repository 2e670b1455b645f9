"""M. L. Mathur and R. P. Sharma, Internal Combustion Engine, chapter 2."""

from __future__ import annotations

from typing import Any

from sealkit.pressure.ideal import limited_pressure_cycle, otto_efficiency
from sealkit.units import with_units


def _mep_per_rise(ratio: Any, gamma: Any) -> Any:
    return otto_efficiency.si(ratio, gamma) / ((gamma - 1.0) * (ratio - 1.0))


@with_units(
    returns="pressure",
    compression_ratio="number > 1",
    pressure="pressure > 0",
    temperature="temperature > 0",
    heat="specific energy >= 0",
    gamma="number > 1",
    gas_constant="specific heat > 0",
)
def otto_peak_pressure(
    compression_ratio: Any,
    pressure: Any,
    temperature: Any,
    heat: Any,
    gamma: Any = 1.4,
    gas_constant: Any = 287.0,
) -> Any:
    """Peak pressure of the Otto cycle, the upper bound for this charge and heat.

    p3 = p1 r T3/T1, T3 = T1 r^(gamma-1) + heat/cv.

    Parameters
    ----------
    compression_ratio : r [-]
    pressure, temperature : state 1 [Pa, K]
    heat : per mass of charge [J/kg]
    gamma : heat-capacity ratio [-]
    gas_constant : R [J/(kg K)]

    Returns
    -------
    peak pressure [Pa]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    `limited_pressure_cycle` with nothing but heat; source there.
    """
    return limited_pressure_cycle.si(
        compression_ratio, pressure, temperature, heat, gamma=gamma, gas_constant=gas_constant
    ).p3


@with_units(
    returns="pressure",
    pressure_rise="pressure >= 0",
    compression_ratio="number > 1",
    gamma="number > 1",
)
def mep_from_pressure_rise(pressure_rise: Any, compression_ratio: Any, gamma: Any = 1.4) -> Any:
    """Mean effective pressure of the Otto cycle from the pressure rise in combustion.

    mep = (p3 - p2) (1 - r^(1-gamma))/((gamma - 1)(r - 1)).

    Parameters
    ----------
    pressure_rise : p3 - p2 [Pa]
    compression_ratio : r [-]
    gamma : heat-capacity ratio [-]

    Returns
    -------
    mean effective pressure [Pa]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    Heat = Vc (p3 - p2)/(gamma - 1), times the Otto efficiency, over the swept volume.
    M. L. Mathur and R. P. Sharma, Internal Combustion Engine, chapter 2.
    """
    return pressure_rise * _mep_per_rise(compression_ratio, gamma)


@with_units(
    returns="pressure", mep="pressure >= 0", compression_ratio="number > 1", gamma="number > 1"
)
def pressure_rise_from_mep(mep: Any, compression_ratio: Any, gamma: Any = 1.4) -> Any:
    """Pressure rise in combustion of an Otto cycle of this mep.

    p3 - p2 = mep (gamma - 1)(r - 1)/(1 - r^(1-gamma)); the inverse of `mep_from_pressure_rise`.

    Parameters
    ----------
    mep : mean effective pressure [Pa]
    compression_ratio : r [-]
    gamma : heat-capacity ratio [-]

    Returns
    -------
    pressure rise [Pa]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    M. L. Mathur and R. P. Sharma, Internal Combustion Engine, chapter 2.
    """
    return mep / _mep_per_rise(compression_ratio, gamma)
