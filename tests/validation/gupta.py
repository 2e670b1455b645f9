"""H. N. Gupta, Fundamentals of Internal Combustion Engines, ch. 15 and 16.

Supercharging and engine testing: air flow, compressor, turbine and cooler (J. B. Heywood, Internal
Combustion Engine Fundamentals, 1988, sections 2.10 and 6.8), power, torque and mean effective
pressure (sections 2.3, 2.7 and 2.8), the Morse test. Some rows come from R. K. Rajput and from
M. L. Mathur and R. P. Sharma, as each row says.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.errors import fail
from sealkit.pressure.boost import trapped_mass
from sealkit.pressure.power import turns_per_cycle
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
    """
    k = (gamma - 1.0) / gamma if exponent is None else exponent
    return inlet_temperature * (1.0 - efficiency * (1.0 - expansion_ratio ** (-k)))


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
    """
    span = np.asarray(inlet_temperature, dtype=float) - coolant_temperature
    if np.any(span == 0.0):
        raise fail("coolant_temperature", "the inlet temperature", "another temperature than that")
    return ((inlet_temperature - np.asarray(outlet_temperature, dtype=float)) / span)[()]


def _stream(mass_flow: Any, cold: Any, hot: Any, cp: Any) -> Any:
    """Heat flow that takes a stream from one temperature to the other [W]."""
    return mass_flow * cp * (np.asarray(hot, dtype=float) - cold)[()]


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
    """
    if np.any(np.asarray(mechanical_efficiency) > 1.0):
        raise fail("mechanical_efficiency", mechanical_efficiency, "a share up to 1")
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
    """
    mass = trapped_mass.si(pressure, temperature, swept_volume, volumetric_efficiency, gas_constant)
    return mass * crank_speed / turns_per_cycle(strokes)


@with_units(returns="torque", load="force", arm="length > 0")
def brake_torque(load: Any, arm: Any) -> Any:
    """Torque on a brake from the load on its arm.

    T = F l.
    """
    return load * arm


@with_units(returns="power", torque="torque", crank_speed="crank speed >= 0")
def power_from_torque(torque: Any, crank_speed: Any) -> Any:
    """Power from torque and crank speed.

    P = 2 pi n T.
    """
    return 2.0 * np.pi * crank_speed * torque


@with_units(returns="torque", power="power", crank_speed="crank speed > 0")
def torque_from_power(power: Any, crank_speed: Any) -> Any:
    """Torque from power and crank speed; the inverse of `power_from_torque`.

    T = P/(2 pi n).
    """
    return power / (2.0 * np.pi * crank_speed)


@with_units(returns="pressure", torque="torque", swept_volume="volume > 0", strokes="number")
def mep_from_torque(torque: Any, swept_volume: Any, strokes: Any = 4) -> Any:
    """Mean effective pressure from torque.

    mep = 2 pi T (strokes/2)/Vd.
    """
    return 2.0 * np.pi * torque * turns_per_cycle(strokes) / swept_volume


@with_units(returns="power", brake_power="power > 0", with_one_cut="power")
def morse_indicated_power(brake_power: Any, with_one_cut: Any) -> Any:
    """Indicated power by the Morse test: brake power lost as each cylinder is cut out in turn.

    ip = sum over cylinders of (bp - bp with that cylinder cut out).
    """
    return np.sum(np.asarray(brake_power, dtype=float)[..., None] - with_one_cut, axis=-1)


@with_units(returns="fraction", brake="power", indicated="power > 0")
def mechanical_efficiency(brake: Any, indicated: Any) -> Any:
    """Share of the indicated power that reaches the brake.

    eta_m = bp/ip.
    """
    return brake / indicated


@with_units(returns="specific energy", power="power", fuel_flow="mass flow > 0")
def specific_fuel_work(power: Any, fuel_flow: Any) -> Any:
    """Work from each kilogram of fuel; its reciprocal is the specific fuel consumption.

    P/m_f = 1/sfc.
    """
    return power / fuel_flow


@with_units(returns="pressure", indicated="pressure", friction="pressure")
def brake_mep(indicated: Any, friction: Any) -> Any:
    """Brake mean effective pressure from indicated and friction.

    bmep = imep - fmep.
    """
    return indicated - friction


@with_units(returns="pressure", brake="pressure", mechanical_efficiency="fraction > 0")
def indicated_mep(brake: Any, mechanical_efficiency: Any) -> Any:
    """Indicated mean effective pressure from brake and mechanical efficiency.

    imep = bmep/eta_m.
    """
    return brake / mechanical_efficiency
