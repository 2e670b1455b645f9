"""Mean effective pressure, torque, power, and the friction between indicated and brake."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.pressure.boost import turns_per_cycle
from sealkit.units import with_units

__all__ = [
    "brake_mep",
    "brake_torque",
    "friction_mep_chen_flynn",
    "friction_mep_speed",
    "indicated_mep",
    "mechanical_efficiency",
    "mep_from_power",
    "mep_from_torque",
    "morse_indicated_power",
    "power_from_mep",
    "power_from_torque",
    "specific_fuel_work",
    "torque_from_mep",
    "torque_from_power",
]


@with_units(returns="torque", load="force", arm="length > 0")
def brake_torque(load: Any, arm: Any) -> Any:
    """Torque on a brake from the load on its arm.

    T = F l.

    Parameters
    ----------
    load : F [N]
    arm : l [m]

    Returns
    -------
    torque [N m]

    Raises
    ------
    InputError
        for an arm that is not above 0.

    Notes
    -----
    Definition.
    """
    return load * arm


@with_units(returns="power", torque="torque", crank_speed="crank speed >= 0")
def power_from_torque(torque: Any, crank_speed: Any) -> Any:
    """Power from torque and crank speed.

    P = 2 pi n T.

    Parameters
    ----------
    torque : T [N m]
    crank_speed : n [rev/s]

    Returns
    -------
    power [W]

    Raises
    ------
    InputError
        for a negative crank speed.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.3.
    """
    return 2.0 * np.pi * crank_speed * torque


@with_units(returns="torque", power="power", crank_speed="crank speed > 0")
def torque_from_power(power: Any, crank_speed: Any) -> Any:
    """Torque from power and crank speed; the inverse of `power_from_torque`.

    T = P/(2 pi n).

    Parameters
    ----------
    power : P [W]
    crank_speed : n [rev/s]

    Returns
    -------
    torque [N m]

    Raises
    ------
    InputError
        for a crank speed that is not above 0.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.3.
    """
    return power / (2.0 * np.pi * crank_speed)


@with_units(
    returns="pressure",
    power="power",
    swept_volume="volume > 0",
    crank_speed="crank speed > 0",
    strokes="number",
)
def mep_from_power(power: Any, swept_volume: Any, crank_speed: Any, strokes: Any = 4) -> Any:
    """Mean effective pressure from power: brake from brake, indicated from indicated.

    mep = P (strokes/2)/(Vd n).

    Parameters
    ----------
    power : P [W]
    swept_volume : Vd of the whole engine [m^3]
    crank_speed : n [rev/s]
    strokes : 2 or 4

    Returns
    -------
    mean effective pressure [Pa]

    Raises
    ------
    InputError
        for a volume or crank speed that is not above 0, or strokes other than 2 or 4.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.7.
    """
    return power * turns_per_cycle(strokes) / (swept_volume * crank_speed)


@with_units(
    returns="power",
    mep="pressure",
    swept_volume="volume > 0",
    crank_speed="crank speed >= 0",
    strokes="number",
)
def power_from_mep(mep: Any, swept_volume: Any, crank_speed: Any, strokes: Any = 4) -> Any:
    """Power from mean effective pressure; the inverse of `mep_from_power`.

    P = mep Vd n/(strokes/2).

    Parameters
    ----------
    mep : mean effective pressure [Pa]
    swept_volume : Vd of the whole engine [m^3]
    crank_speed : n [rev/s]
    strokes : 2 or 4

    Returns
    -------
    power [W]

    Raises
    ------
    InputError
        for a volume that is not above 0, or strokes other than 2 or 4.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.7.
    """
    return mep * swept_volume * crank_speed / turns_per_cycle(strokes)


@with_units(returns="pressure", torque="torque", swept_volume="volume > 0", strokes="number")
def mep_from_torque(torque: Any, swept_volume: Any, strokes: Any = 4) -> Any:
    """Mean effective pressure from torque.

    mep = 2 pi T (strokes/2)/Vd.

    Parameters
    ----------
    torque : T [N m]
    swept_volume : Vd of the whole engine [m^3]
    strokes : 2 or 4

    Returns
    -------
    mean effective pressure [Pa]

    Raises
    ------
    InputError
        for a volume that is not above 0, or strokes other than 2 or 4.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.7.
    """
    return 2.0 * np.pi * torque * turns_per_cycle(strokes) / swept_volume


@with_units(returns="torque", mep="pressure", swept_volume="volume > 0", strokes="number")
def torque_from_mep(mep: Any, swept_volume: Any, strokes: Any = 4) -> Any:
    """Torque from mean effective pressure; the inverse of `mep_from_torque`.

    T = mep Vd/(2 pi strokes/2).

    Parameters
    ----------
    mep : mean effective pressure [Pa]
    swept_volume : Vd of the whole engine [m^3]
    strokes : 2 or 4

    Returns
    -------
    torque [N m]

    Raises
    ------
    InputError
        for a volume that is not above 0, or strokes other than 2 or 4.

    Notes
    -----
    J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.7.
    """
    return mep * swept_volume / (2.0 * np.pi * turns_per_cycle(strokes))


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


@with_units(returns="fraction", brake="power", indicated="power > 0")
def mechanical_efficiency(brake: Any, indicated: Any) -> Any:
    """Share of the indicated power that reaches the brake.

    eta_m = bp/ip.

    Parameters
    ----------
    brake, indicated : powers [W]

    Returns
    -------
    mechanical efficiency [-]

    Raises
    ------
    InputError
        for an indicated power that is not above 0.

    Notes
    -----
    Definition.
    """
    return brake / indicated


@with_units(returns="specific energy", power="power", fuel_flow="mass flow > 0")
def specific_fuel_work(power: Any, fuel_flow: Any) -> Any:
    """Work from each kilogram of fuel; its reciprocal is the specific fuel consumption.

    P/m_f = 1/sfc.

    Parameters
    ----------
    power : P, brake power for the brake figure [W]
    fuel_flow : m_f [kg/s]

    Returns
    -------
    work per mass of fuel [J/kg]

    Raises
    ------
    InputError
        for a fuel flow that is not above 0.

    Notes
    -----
    Divided by the lower heating value it is the thermal efficiency. J. B. Heywood, Internal
    Combustion Engine Fundamentals, 1988, section 2.8.
    """
    return power / fuel_flow


@with_units(returns="pressure", indicated="pressure", friction="pressure")
def brake_mep(indicated: Any, friction: Any) -> Any:
    """Brake mean effective pressure from indicated and friction.

    bmep = imep - fmep.

    Parameters
    ----------
    indicated, friction : mean effective pressures [Pa]

    Returns
    -------
    brake mean effective pressure [Pa]; negative when the engine has to be driven

    Raises
    ------
    InputError
        for something that is not a pressure.

    Notes
    -----
    Definition of the friction mean effective pressure. Whether it holds the pumping work
    depends on the friction figure used.
    """
    return indicated - friction


@with_units(returns="pressure", brake="pressure", mechanical_efficiency="fraction > 0")
def indicated_mep(brake: Any, mechanical_efficiency: Any) -> Any:
    """Indicated mean effective pressure from brake and mechanical efficiency.

    imep = bmep/eta_m.

    Parameters
    ----------
    brake : brake mean effective pressure [Pa]
    mechanical_efficiency : eta_m [-], above 0

    Returns
    -------
    indicated mean effective pressure [Pa]

    Raises
    ------
    InputError
        for an efficiency that is not above 0.

    Notes
    -----
    Definition of the mechanical efficiency.
    """
    return brake / mechanical_efficiency


@with_units(returns="pressure", crank_speed="crank speed >= 0")
def friction_mep_speed(crank_speed: Any) -> Any:
    """Friction mean effective pressure of a spark-ignition engine by crank speed.

    fmep = (0.97 + 0.15 n + 0.05 n^2) bar, n in thousands of turns a minute.

    Parameters
    ----------
    crank_speed : [rev/s]

    Returns
    -------
    friction mean effective pressure [Pa]

    Raises
    ------
    InputError
        for a negative crank speed.

    Notes
    -----
    S. Sitthiracha, An Analytical Model of Spark Ignition Engine for Performance Prediction,
    master's thesis, KMITNB 2006, equation 3-22. Fit to older four-cylinder engines, wide open
    throttle; no load in it.
    """
    return 1e5 * np.polyval((0.05, 0.15, 0.97), np.asarray(crank_speed, dtype=float) * 0.06)


@with_units(
    returns="pressure",
    peak_pressure="pressure >= 0",
    mean_piston_speed="speed >= 0",
    constant="pressure",
    pressure_share="fraction",
)
def friction_mep_chen_flynn(
    peak_pressure: Any,
    mean_piston_speed: Any,
    constant: Any = 0.4e5,
    pressure_share: Any = 0.005,
) -> Any:
    """Friction mean effective pressure from peak pressure and mean piston speed.

    fmep = 0.4 bar + 0.005 pmax + (0.09 Sp + 0.0009 Sp^2) bar, Sp in m/s.

    Parameters
    ----------
    peak_pressure : pmax [Pa]
    mean_piston_speed : Sp [m/s]
    constant : first term [Pa]
    pressure_share : factor of the peak pressure [-]

    Returns
    -------
    friction mean effective pressure [Pa]

    Raises
    ------
    InputError
        for a negative pressure or speed.

    Notes
    -----
    S. K. Chen and P. F. Flynn, Development of a Single Cylinder Compression Ignition Research
    Engine, SAE paper 650733, 1965 (form and coefficients written from memory; the coefficients
    vary by author).
    """
    speed = np.asarray(mean_piston_speed, dtype=float)
    return constant + pressure_share * peak_pressure + 1e5 * np.polyval((0.0009, 0.09, 0.0), speed)
