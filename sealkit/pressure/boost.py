"""The air on its way in: altitude, compressor, cooler, turbine, and the mass that is trapped."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.units import with_units

__all__ = [
    "compressor_outlet_temperature",
    "intercooler_effectiveness",
    "intercooler_outlet_temperature",
    "standard_pressure",
    "standard_temperature",
    "trapped_mass",
]

# ISO 2533:1975: sea-level temperature and pressure, lapse rate, g M/(R L)
_T0, _P0, _LAPSE, _EXPONENT = 288.15, 101325.0, 0.0065, 9.80665 / (287.05287 * 0.0065)


@with_units(returns="temperature", altitude="length -2000..11000")
def standard_temperature(altitude: Any) -> Any:
    """Temperature of the standard atmosphere.

    T = 288.15 K - 0.0065 K/m h.

    Parameters
    ----------
    altitude : [m] above sea level, -2000 to 11000

    Returns
    -------
    temperature [K]

    Raises
    ------
    InputError
        outside the troposphere.

    Notes
    -----
    ISO 2533:1975, Standard Atmosphere (written from memory). Altitude is geopotential, within
    0.2 % of the height on the map.
    """
    return _T0 - _LAPSE * altitude


@with_units(returns="pressure", altitude="length -2000..11000")
def standard_pressure(altitude: Any) -> Any:
    """Pressure of the standard atmosphere.

    p = 101325 Pa (T/288.15 K)^5.2559, T as in `standard_temperature`.

    Parameters
    ----------
    altitude : [m] above sea level, -2000 to 11000

    Returns
    -------
    absolute pressure [Pa]

    Raises
    ------
    InputError
        outside the troposphere.

    Notes
    -----
    ISO 2533:1975, Standard Atmosphere (written from memory).
    """
    return _P0 * (standard_temperature.si(altitude) / _T0) ** _EXPONENT


@with_units(
    returns="temperature",
    inlet_temperature="temperature > 0",
    pressure_ratio="number >= 1",
    efficiency="fraction > 0",
    gamma="number > 1",
    exponent="number 0..1",
)
def compressor_outlet_temperature(
    inlet_temperature: Any,
    pressure_ratio: Any,
    efficiency: Any = 1.0,
    gamma: Any = 1.4,
    exponent: Any = None,
) -> Any:
    """Temperature behind a compressor, constant specific heat.

    T2 = T1 (1 + (pi^k - 1)/eta), k = (gamma - 1)/gamma.

    Parameters
    ----------
    inlet_temperature : T1 [K]
    pressure_ratio : pi, outlet over inlet absolute pressure [-], 1 or more
    efficiency : isentropic efficiency [-], above 0 up to 1; 1 gives the isentropic temperature
    gamma : heat-capacity ratio [-]
    exponent : k [-], where it is given in place of gamma

    Returns
    -------
    outlet temperature [K]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    Definition of the isentropic efficiency. With gamma = 1.4 the rise comes out up to 1 % high
    against real air at a ratio of 4. J. B. Heywood, Internal Combustion Engine Fundamentals,
    1988, section 6.8.
    """
    _up_to_one("efficiency", efficiency)
    k = (gamma - 1.0) / gamma if exponent is None else exponent
    return inlet_temperature * (1.0 + (pressure_ratio**k - 1.0) / efficiency)


@with_units(
    returns="temperature",
    inlet_temperature="temperature > 0",
    coolant_temperature="temperature > 0",
    effectiveness="fraction 0..1",
)
def intercooler_outlet_temperature(
    inlet_temperature: Any, coolant_temperature: Any, effectiveness: Any
) -> Any:
    """Temperature behind a charge cooler.

    T3 = T2 - eps (T2 - Tc).

    Parameters
    ----------
    inlet_temperature : T2, charge in [K]
    coolant_temperature : Tc, air or water that cools, as it comes in [K]
    effectiveness : eps [-], 0..1

    Returns
    -------
    charge temperature behind the cooler [K]

    Raises
    ------
    InputError
        for an effectiveness outside 0..1.

    Notes
    -----
    Definition of the effectiveness, the charge being the smaller heat-capacity flow.
    """
    return inlet_temperature - effectiveness * (inlet_temperature - coolant_temperature)


@with_units(
    returns="fraction",
    inlet_temperature="temperature > 0",
    outlet_temperature="temperature > 0",
    coolant_temperature="temperature > 0",
)
def intercooler_effectiveness(
    inlet_temperature: Any, outlet_temperature: Any, coolant_temperature: Any
) -> Any:
    """Effectiveness of a charge cooler from three temperatures.

    eps = (T2 - T3)/(T2 - Tc).

    Parameters
    ----------
    inlet_temperature, outlet_temperature : charge before and behind the cooler [K]
    coolant_temperature : cooling air or water as it comes in [K]

    Returns
    -------
    effectiveness [-]

    Raises
    ------
    InputError
        if charge and coolant come in equally warm.

    Notes
    -----
    Inverse of `intercooler_outlet_temperature`.
    """
    span = np.asarray(inlet_temperature, dtype=float) - coolant_temperature
    if np.any(span == 0.0):
        raise fail("coolant_temperature", "the inlet temperature", "another temperature than that")
    return ((inlet_temperature - np.asarray(outlet_temperature, dtype=float)) / span)[()]


def _stream(mass_flow: Any, cold: Any, hot: Any, cp: Any) -> Any:
    """Heat flow that takes a stream from one temperature to the other [W]."""
    return mass_flow * cp * (np.asarray(hot, dtype=float) - cold)[()]


@with_units(
    returns="mass",
    pressure="pressure > 0",
    temperature="temperature > 0",
    volume="volume > 0",
    volumetric_efficiency="fraction > 0",
    gas_constant="specific heat > 0",
)
def trapped_mass(
    pressure: Any,
    temperature: Any,
    volume: Any,
    volumetric_efficiency: Any = 1.0,
    gas_constant: Any = 287.0,
) -> Any:
    """Mass of gas in a volume.

    m = eta_v p V/(R T).

    Parameters
    ----------
    pressure, temperature : of the state that the volumetric efficiency refers to, or of the
        charge itself at bottom dead centre [Pa, K]
    volume : swept volume with a volumetric efficiency, whole cylinder volume without [m^3]
    volumetric_efficiency : eta_v [-]; may be above 1 when it refers to the air outside
    gas_constant : R [J/(kg K)]

    Returns
    -------
    mass [kg]

    Raises
    ------
    InputError
        for a value that is not above 0.

    Notes
    -----
    Ideal gas. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.10.
    """
    return volumetric_efficiency * pressure * volume / (gas_constant * temperature)


def turns_per_cycle(strokes: Any) -> Any:
    """Crank turns of one working cycle: strokes/2, for 2 or 4 strokes."""
    s = np.asarray(strokes, dtype=float)
    if not np.all((s == 2.0) | (s == 4.0)):
        raise fail("strokes", strokes, "2 or 4")
    return (0.5 * s)[()]


def _up_to_one(name: str, value: Any) -> None:
    if np.any(np.asarray(value) > 1.0):
        raise fail(name, f"{float(np.max(value)):g}", 'a share up to 1, such as 0.75 or "75 %"')
