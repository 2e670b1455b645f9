"""The air on its way in: altitude, compressor, cooler, and the mass that is trapped.

References
----------
[1] ISO 2533:1975, Standard Atmosphere (written from memory).
[2] J. B. Heywood, Internal Combustion Engine Fundamentals, 1988.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import with_units

# [1]: sea-level temperature and pressure, lapse rate, g M/(R L)
_T0, _P0, _LAPSE, _EXPONENT = 288.15, 101325.0, 0.0065, 9.80665 / (287.05287 * 0.0065)


@with_units(returns="pressure", altitude="length -2000..11000")
def standard_pressure(altitude: Any) -> Any:
    """Pressure of the standard atmosphere [1].

    p = 101325 Pa (T/288.15 K)^5.2559, T = 288.15 K - 0.0065 K/m h. Returns the absolute pressure
    [Pa].

    Parameters
    ----------
    altitude : h above sea level [m]; geopotential, within 0.2 % of the height on the map

    >>> standard_pressure("1500 m").to("kPa").round(1)
    <Quantity(84.6, 'kilopascal')>
    """
    return _P0 * ((_T0 - _LAPSE * altitude) / _T0) ** _EXPONENT


@with_units(returns="temperature", pressure_ratio="number >= 1", exponent="number 0..1")
def compressor_outlet_temperature(
    inlet_temperature: si.Temperature,
    pressure_ratio: Any,
    efficiency: si.Fraction = 1.0,
    exponent: Any = (1.4 - 1.0) / 1.4,
) -> Any:
    """Temperature behind a compressor, constant specific heat.

    T2 = T1 (1 + (pi^k - 1)/eta).

    From [2], section 6.8. With gamma = 1.4 the rise comes out up to 1 % high against real air at a
    ratio of 4. Raises InputError for an efficiency above 1.

    Parameters
    ----------
    inlet_temperature : T1 [K]
    pressure_ratio : pi, outlet over inlet absolute pressure [-]
    efficiency : isentropic efficiency eta [-], up to 1; 1 gives the isentropic temperature
    exponent : k = (gamma - 1)/gamma [-]

    >>> compressor_outlet_temperature("20 degC", 2.0, "70 %").to("degC").round(1)
    <Quantity(111.7, 'degree_Celsius')>
    """
    if np.any(np.asarray(efficiency) > 1.0):
        came = f"{float(np.max(efficiency)):g}"
        raise fail("efficiency", came, 'a share up to 1, such as 0.75 or "75 %"')
    return inlet_temperature * (1.0 + (pressure_ratio**exponent - 1.0) / efficiency)


_CP = 287.05287 / ((1.4 - 1.0) / 1.4)  # of air with the exponent above, J/(kg K)


@with_units(returns="pressure")
def compressor_mep(
    air_mass: si.Mass0,
    inlet_temperature: si.Temperature,
    outlet_temperature: si.Temperature,
    swept_volume: si.Volume,
) -> Any:
    """Mean effective pressure that a compressor driven by the crankshaft takes.

    m cp (T2 - T1)/Vd, without the loss of its belt or gears.

    From [2], section 6.8, with cp = 1005 J/(kg K). Returns the mean effective pressure [Pa].

    Parameters
    ----------
    air_mass : m, air of one cycle [kg]
    inlet_temperature, outlet_temperature : T1, T2 of the compressor [K]
    swept_volume : Vd, of the cylinders that this air goes to [m^3]

    >>> compressor_mep("1 g", "293 K", "385 K", "0.5 l").to("bar").round(2)
    <Quantity(1.85, 'bar')>
    """
    rise = np.asarray(outlet_temperature) - np.asarray(inlet_temperature)
    return air_mass * _CP * rise / swept_volume


@with_units(returns="temperature")
def intercooler_outlet_temperature(
    inlet_temperature: si.Temperature, coolant_temperature: si.Temperature, effectiveness: si.Share
) -> Any:
    """Temperature behind a charge cooler, T3 = T2 - eps (T2 - Tc).

    Definition of the effectiveness, the charge being the smaller heat-capacity flow.

    Parameters
    ----------
    inlet_temperature : T2, charge in [K]
    coolant_temperature : Tc, air or water that cools, as it comes in [K]
    effectiveness : eps [-]
    """
    return inlet_temperature - effectiveness * (inlet_temperature - coolant_temperature)


@with_units(returns="mass")
def trapped_mass(
    pressure: si.Pressure,
    temperature: si.Temperature,
    volume: si.Volume,
    volumetric_efficiency: si.Fraction = 1.0,
    gas_constant: si.SpecificHeat = 287.0,
) -> Any:
    """Mass of an ideal gas in a volume, m = eta_v p V/(R T) ([2], section 2.10).

    Parameters
    ----------
    pressure, temperature : of the state that the volumetric efficiency refers to, or of the
        charge itself at bottom dead centre [Pa, K]
    volume : swept volume with a volumetric efficiency, whole cylinder volume without [m^3]
    volumetric_efficiency : eta_v [-]; may be above 1 when it refers to the air outside
    gas_constant : R [J/(kg K)]

    >>> trapped_mass("1 bar", "300 K", "500 cc").to("g").round(3)
    <Quantity(0.581, 'gram')>
    """
    return volumetric_efficiency * pressure * volume / (gas_constant * temperature)
