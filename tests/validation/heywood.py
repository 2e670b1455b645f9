"""J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, chapter 2: power, torque and mean
effective pressures."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.pressure.boost import turns_per_cycle
from sealkit.units import with_units


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
