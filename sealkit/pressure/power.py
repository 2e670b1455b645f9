"""Mean effective pressure, torque, power, and the friction between indicated and brake.

References
----------
[1] J. B. Heywood, Internal Combustion Engine Fundamentals, 1988, section 2.7.
[2] S. K. Chen and P. F. Flynn, Development of a Single Cylinder Compression Ignition Research
    Engine, SAE paper 650733, 1965 (form and coefficients written from memory; the coefficients vary
    by author).
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.errors import fail
from sealkit.units import with_units


def turns_per_cycle(strokes: Any) -> Any:
    """Crank turns of one working cycle: strokes/2, for 2 or 4 strokes."""
    s = np.asarray(strokes, dtype=float)
    if not np.all((s == 2.0) | (s == 4.0)):
        raise fail("strokes", strokes, "2 or 4")
    return (0.5 * s)[()]


@with_units(returns="pressure")
def mep_from_power(
    power: si.AnyPower,
    swept_volume: si.Volume,
    crank_speed: si.CrankSpeed,
    strokes: si.AnyNumber = 4,
) -> Any:
    """Mean effective pressure from power: brake from brake, indicated from indicated [1].

    mep = P (strokes/2)/(Vd n). Raises InputError for strokes other than 2 or 4.

    Parameters
    ----------
    power : P [W]
    swept_volume : Vd of the whole engine [m^3]
    crank_speed : n [rev/s]
    strokes : 2 or 4

    >>> mep_from_power("300 kW", "2 l", "6500 rpm").to("bar").round(1)
    <Quantity(27.7, 'bar')>
    """
    return power * turns_per_cycle(strokes) / (swept_volume * crank_speed)


@with_units(returns="power")
def power_from_mep(
    mep: si.AnyPressure,
    swept_volume: si.Volume,
    crank_speed: si.CrankSpeed0,
    strokes: si.AnyNumber = 4,
) -> Any:
    """Power from mean effective pressure, P = mep Vd n/(strokes/2); inverse of `mep_from_power`.

    From [1]. Raises InputError for strokes other than 2 or 4.

    Parameters
    ----------
    mep : mean effective pressure [Pa]
    swept_volume, crank_speed, strokes : as in `mep_from_power`
    """
    return mep * swept_volume * crank_speed / turns_per_cycle(strokes)


@with_units(returns="torque")
def torque_from_mep(mep: si.AnyPressure, swept_volume: si.Volume, strokes: si.AnyNumber = 4) -> Any:
    """Torque from mean effective pressure, T = mep Vd/(2 pi strokes/2) [1].

    Raises InputError for strokes other than 2 or 4.

    Parameters
    ----------
    mep : mean effective pressure [Pa]
    swept_volume : Vd of the whole engine [m^3]
    strokes : 2 or 4
    """
    return mep * swept_volume / (2.0 * np.pi * turns_per_cycle(strokes))


@with_units(returns="pressure")
def friction_mep_chen_flynn(peak_pressure: si.Pressure0, mean_piston_speed: si.Speed0) -> Any:
    """Friction mean effective pressure from peak pressure and mean piston speed [2].

    fmep = 0.4 bar + 0.005 pmax + (0.09 Sp + 0.0009 Sp^2) bar, Sp in m/s.

    Parameters
    ----------
    peak_pressure : pmax [Pa]
    mean_piston_speed : Sp [m/s]
    """
    speed = np.asarray(mean_piston_speed, dtype=float)
    return 0.4e5 + 0.005 * peak_pressure + 1e5 * np.polyval((0.0009, 0.09, 0.0), speed)
