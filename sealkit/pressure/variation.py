"""From cycle to cycle: the rare high cycle, knock, and the design peak pressure.

References
----------
[1] R. K. Barton and co-workers, SAE 700488, 1970: successive cycles vary without memory.
[2] A. M. Douaud and P. Eyzat, SAE 780080, 1978; the coefficients are written down from memory.
[3] J. C. Livengood and P. C. Wu, 5th Symposium on Combustion, 1955.
[4] G. M. Rassweiler and L. Withrow, SAE 380139, 1938 (from memory): pressure added by the burn goes
    with the mass burnt.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import kinds as si
from sealkit.units import field, with_units

ATM = 101325.0
UNTIL = 0.9  # mass fraction burned beyond which too little unburnt gas is left to knock


@dataclass(frozen=True)
class DesignPeak:
    """The pressure a joint is designed for, and what it is made of."""

    rare: Any = field("pressure")
    pressure: Any = field("pressure")


@with_units(returns="pressure")
def rare_peak_pressure(
    mean: si.Pressure, coefficient_of_variation: si.Share, one_in: si.Above1
) -> Any:
    """Peak pressure that one cycle in n passes, for a normal spread of peaks [1].

    p = mean (1 + COV z), z the standard normal quantile of 1 - 1/n

    Parameters
    ----------
    mean : mean peak pressure [Pa]
    coefficient_of_variation : COV, standard deviation over mean [-]; 0.05 to 0.10 for a steady
        spark-ignition engine, from memory
    one_in : n [-]

    >>> rare_peak_pressure("70 bar", "8 %", 1000).to("bar").round(1)
    <Quantity(87.3, 'bar')>
    """
    from scipy.special import ndtri

    z = -ndtri(1.0 / np.asarray(one_in, dtype=float))
    return np.asarray(mean, dtype=float) * (1.0 + coefficient_of_variation * z)


EARLY = 3.0  # standard deviations on the side of high peaks at which their spread is taken


@with_units(returns="number")
def peak_spread(mean: si.Pressure, early: si.Pressure, brief: si.Pressure) -> Any:
    """Coefficient of variation of the peak pressure, from the spread of the burn.

    COV = sqrt((early - mean)^2 + (brief - mean)^2)/(3 mean), a peak that falls counting as none

    Both spreads are taken as normal and independent, the peak as a plane through the three
    cycles: on the side of high peaks, where a joint is sized.

    Parameters
    ----------
    mean : peak of the mean cycle [Pa]
    early, brief : peak of the cycle whose CA50 comes three standard deviations early, and of that
        whose burn is three standard deviations shorter [Pa]

    >>> round(float(peak_spread("80 bar", "94 bar", "84 bar")), 3)
    0.061
    """
    by_timing, by_duration = (np.maximum(x - mean, 0.0) for x in (early, brief))
    return np.hypot(by_timing, by_duration) / (EARLY * np.asarray(mean, dtype=float))


@with_units(returns="time")
def ignition_delay(
    octane_number: si.Number, pressure: si.Pressure, temperature: si.Temperature
) -> Any:
    """Ignition delay of the unburnt gas.

    tau = 17.68 ms (ON/100)^3.402 p^-1.7 exp(3800 K/T), p in standard atmospheres

    From [2]. Made for petrol: for alcohols and nitromethane it is no more than a trend. With the
    cooling measured in engines it gives alcohols the effective octane numbers published for them
    (tests/validation/test_alcohol_knock.py).

    Parameters
    ----------
    octane_number : ON [-]
    pressure : p [Pa]
    temperature : T of the unburnt gas [K]
    """
    p = np.asarray(pressure, dtype=float) / ATM
    octane = np.asarray(octane_number, dtype=float) / 100.0
    return 17.68e-3 * octane**3.402 * p**-1.7 * np.exp(3800.0 / np.asarray(temperature, float))


def knock_sum(
    crank_angle: Any,
    crank_speed: Any,
    octane_number: Any,
    pressure: Any,
    temperature: Any,
    x: Any = None,
) -> Any:
    """Knock integral over a trace up to each crank angle; at 1 the unburnt gas lights by itself.

    I = integral of dt/tau along the trace, tau of `ignition_delay`

    From [3]. A warning, not a verdict. Plain SI.

    Parameters
    ----------
    crank_angle : rising, last axis of the trace [rad]
    crank_speed, octane_number : [rev/s], [-]; an array over builds has no crank angle axis
    pressure, temperature : of the unburnt gas [Pa], [K]
    x : mass fraction burned [-]; if given, the integral stops where it passes 0.9: what is left is
        too little to knock
    """
    octane = np.asarray(octane_number, dtype=float)[..., None]
    speed = np.asarray(crank_speed, dtype=float)[..., None]
    rate = 1.0 / ignition_delay.si(octane, pressure, temperature)
    dt = np.diff(np.asarray(crank_angle, dtype=float)) / (2.0 * np.pi * speed)
    part: Any = 1.0  # of each step, up to where the integral stops
    if x is not None:
        x = np.asarray(x, dtype=float)
        part = np.clip((UNTIL - x[..., :-1]) / np.maximum(np.diff(x), 1e-12), 0.0, 1.0)
    rise = rate[..., 1:] - rate[..., :-1]
    out = np.zeros(rate.shape)
    np.cumsum((rate[..., :-1] + 0.5 * part * rise) * part * dt, axis=-1, out=out[..., 1:])
    return out


@with_units(returns="pressure")
def end_gas_peak(
    integral: Any,
    pressure: si.Pressure,
    volume: si.Volume,
    mass_fraction_burned: Any,
    at_once: si.Pressure,
) -> Any:
    """Pressure once the end gas lights by itself and all that is left of it burns at once.

    p = p1 + dp (1 - x1) Vc/V1, where the knock integral comes to 1; nothing above the trace's peak
    where it does not [4].

    The most that knock adds to the mean pressure in the cylinder, and so to the force on the head;
    the waves that it sets off swing round that.

    Parameters
    ----------
    integral, pressure, volume, mass_fraction_burned : of one trace; [-], [Pa], [m**3], [-]
    at_once : dp, what the whole charge adds when it burns at once at the least volume Vc [Pa]

    >>> turn = dict(integral=[0.0, 0.8, 1.2], pressure=[4e6, 6e6, 8e6], volume=[5e-5] * 3)
    >>> float(end_gas_peak.si(**turn, mass_fraction_burned=[0.1, 0.5, 0.7], at_once=7.5e6)) / 1e5
    100.0
    """
    i = int(np.searchsorted(integral, 1.0))
    if i == len(integral):
        return np.max(pressure)
    part = (1.0 - integral[i - 1]) / (integral[i] - integral[i - 1])
    p, v, x = (
        y[i - 1] + part * (y[i] - y[i - 1]) for y in (pressure, volume, mass_fraction_burned)
    )
    return np.maximum(p + at_once * (1.0 - x) * np.min(volume) / v, np.max(pressure))


@with_units(returns="fields")
def design_peak(
    mean: si.Pressure,
    coefficient_of_variation: si.Share,
    one_in: si.Above1,
    knock_amplitude: si.Pressure0 = 0.0,
) -> DesignPeak:
    """Design peak pressure: the rare peak and a knock amplitude on top of it.

    p = mean (1 + COV z) + knock amplitude

    Sum of the two: common practice, no source. It is on the high side, since the highest cycle
    need not be the one that knocks.

    Parameters
    ----------
    mean : mean peak pressure [Pa]
    coefficient_of_variation, one_in : as in `rare_peak_pressure` [-]
    knock_amplitude : [Pa]; heavy knock is 10 to 50 bar, from memory
    """
    rare = rare_peak_pressure.si(mean, coefficient_of_variation, one_in)
    return DesignPeak(rare=rare, pressure=rare + knock_amplitude)
