"""Mean effective pressure, torque, power, and the friction between indicated and brake."""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.pressure.boost import turns_per_cycle
from sealkit.units import with_units

__all__ = [
    "brake_torque",
    "friction_mep_chen_flynn",
    "mechanical_efficiency",
    "mep_from_power",
    "power_from_mep",
    "torque_from_mep",
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
