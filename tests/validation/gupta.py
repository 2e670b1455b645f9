"""H. N. Gupta, Fundamentals of Internal Combustion Engines (open textbook companion)."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.pressure.boost import _stream, _up_to_one, trapped_mass, turns_per_cycle
from sealkit.units import with_units


@with_units(
    returns="temperature",
    inlet_temperature="temperature > 0",
    expansion_ratio="number >= 1",
    efficiency="fraction 0..1",
    gamma="number > 1",
    exponent="number 0..1",
)
def turbine_outlet_temperature(
    inlet_temperature: Any,
    expansion_ratio: Any,
    efficiency: Any = 1.0,
    gamma: Any = 1.33,
    exponent: Any = None,
) -> Any:
    """Temperature behind a turbine, constant specific heat.

    T4 = T3 (1 - eta (1 - pi^-k)), k = (gamma - 1)/gamma.

    Parameters
    ----------
    inlet_temperature : T3 [K]
    expansion_ratio : pi, inlet over outlet absolute pressure [-], 1 or more
    efficiency : isentropic efficiency [-], 0..1
    gamma : heat-capacity ratio of the exhaust gas [-]
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
    Definition of the isentropic efficiency. J. B. Heywood, Internal Combustion Engine
    Fundamentals, 1988, section 6.8.
    """
    k = (gamma - 1.0) / gamma if exponent is None else exponent
    return inlet_temperature * (1.0 - efficiency * (1.0 - expansion_ratio ** (-k)))


@with_units(
    returns="power",
    mass_flow="mass flow >= 0",
    inlet_temperature="temperature > 0",
    outlet_temperature="temperature > 0",
    cp="specific heat > 0",
    mechanical_efficiency="fraction > 0",
)
def compressor_power(
    mass_flow: Any,
    inlet_temperature: Any,
    outlet_temperature: Any,
    cp: Any = 1005.0,
    mechanical_efficiency: Any = 1.0,
) -> Any:
    """Power that drives a compressor.

    P = m cp (T2 - T1)/eta_m.

    Parameters
    ----------
    mass_flow : m [kg/s]
    inlet_temperature, outlet_temperature : T1, T2 [K]
    cp : specific heat at constant pressure [J/(kg K)]
    mechanical_efficiency : eta_m of compressor and drive [-], above 0 up to 1

    Returns
    -------
    power [W]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    Energy balance. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 6.8.
    """
    _up_to_one("mechanical_efficiency", mechanical_efficiency)
    return _stream(mass_flow, inlet_temperature, outlet_temperature, cp) / mechanical_efficiency


@with_units(
    returns="power",
    mass_flow="mass flow >= 0",
    inlet_temperature="temperature > 0",
    outlet_temperature="temperature > 0",
    cp="specific heat > 0",
    mechanical_efficiency="fraction 0..1",
)
def turbine_power(
    mass_flow: Any,
    inlet_temperature: Any,
    outlet_temperature: Any,
    cp: Any = 1150.0,
    mechanical_efficiency: Any = 1.0,
) -> Any:
    """Power that a turbine gives.

    P = eta_m m cp (T3 - T4).

    Parameters
    ----------
    mass_flow : m [kg/s]
    inlet_temperature, outlet_temperature : T3, T4 [K]
    cp : specific heat of the exhaust gas at constant pressure [J/(kg K)]
    mechanical_efficiency : eta_m [-], 0..1

    Returns
    -------
    power [W]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    Energy balance. J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 6.8.
    """
    return mechanical_efficiency * _stream(mass_flow, outlet_temperature, inlet_temperature, cp)


@with_units(
    returns="power",
    mass_flow="mass flow >= 0",
    inlet_temperature="temperature > 0",
    outlet_temperature="temperature > 0",
    cp="specific heat > 0",
)
def intercooler_heat(
    mass_flow: Any, inlet_temperature: Any, outlet_temperature: Any, cp: Any = 1005.0
) -> Any:
    """Heat flow that a charge cooler takes out.

    Q = m cp (T2 - T3).

    Parameters
    ----------
    mass_flow : m [kg/s]
    inlet_temperature, outlet_temperature : T2, T3 of the charge [K]
    cp : specific heat at constant pressure [J/(kg K)]

    Returns
    -------
    heat flow [W]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    Energy balance.
    """
    return _stream(mass_flow, outlet_temperature, inlet_temperature, cp)


@with_units(
    returns="mass flow",
    pressure="pressure > 0",
    temperature="temperature > 0",
    swept_volume="volume > 0",
    crank_speed="crank speed >= 0",
    volumetric_efficiency="fraction > 0",
    strokes="number",
    gas_constant="specific heat > 0",
)
def air_mass_flow(
    pressure: Any,
    temperature: Any,
    swept_volume: Any,
    crank_speed: Any,
    volumetric_efficiency: Any = 1.0,
    strokes: Any = 4,
    gas_constant: Any = 287.0,
) -> Any:
    """Air that an engine takes in.

    m = eta_v p Vd/(R T) n/(strokes/2).

    Parameters
    ----------
    pressure, temperature : of the state that the volumetric efficiency refers to [Pa, K]
    swept_volume : of the whole engine [m^3]
    crank_speed : n [rev/s]
    volumetric_efficiency : eta_v [-]
    strokes : 2 or 4
    gas_constant : R [J/(kg K)]

    Returns
    -------
    mass flow [kg/s]

    Raises
    ------
    InputError
        for a value outside the ranges above, or strokes other than 2 or 4.

    Notes
    -----
    `trapped_mass` times the number of cycles a second.
    """
    mass = trapped_mass.si(pressure, temperature, swept_volume, volumetric_efficiency, gas_constant)
    return mass * crank_speed / turns_per_cycle(strokes)


@with_units(returns="number", share="fraction 0..1", compression_ratio="number > 1")
def cut_off_ratio_from_stroke(share: Any, compression_ratio: Any) -> Any:
    """Cut-off ratio when heat comes over a share of the stroke.

    V4/V3 = 1 + share (r - 1).

    Parameters
    ----------
    share : part of the swept volume [-], 0..1
    compression_ratio : r [-]

    Returns
    -------
    cut-off ratio [-]

    Raises
    ------
    InputError
        for a share outside 0..1 or a compression ratio not above 1.

    Notes
    -----
    Definition.
    """
    return 1.0 + share * (compression_ratio - 1.0)


@with_units(returns="power", brake_power="power > 0", with_one_cut="power")
def morse_indicated_power(brake_power: Any, with_one_cut: Any) -> Any:
    """Indicated power by the Morse test: brake power lost as each cylinder is cut out in turn.

    ip = sum over cylinders of (bp - bp with that cylinder cut out).

    Parameters
    ----------
    brake_power : bp with all cylinders firing [W]
    with_one_cut : bp with one cylinder cut, all at the same crank speed [W]; one value for each
        cylinder along the last axis

    Returns
    -------
    indicated power [W]

    Raises
    ------
    InputError
        for a brake power that is not above 0.

    Notes
    -----
    Friction must not change with the cut. H. N. Gupta, Fundamentals of Internal Combustion
    Engines, chapter 16.
    """
    return np.sum(np.asarray(brake_power, dtype=float)[..., None] - with_one_cut, axis=-1)
