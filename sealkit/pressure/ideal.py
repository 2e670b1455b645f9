"""Ideal cycles: the upper bound of what the gas can do.

One limited-pressure cycle stands behind all of them; Otto and Diesel are its two ends. States:
1 bottom dead centre, 2 end of compression, 3 end of the constant-volume heat, 4 end of the
constant-pressure heat, 5 end of expansion. An Otto cycle has state 3 = 4, a Diesel cycle 2 = 3.
Beside them stands heat released over crank angle at a constant heat-capacity ratio.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.pressure import burn, geometry
from sealkit.units import field, with_units

__all__ = [
    "FiniteHeatRelease",
    "IdealCycle",
    "air_cycle",
    "cut_off_ratio_from_stroke",
    "finite_heat_release",
    "limited_pressure_cycle",
    "mep_from_pressure_rise",
    "otto_efficiency",
    "otto_peak_pressure",
    "polytropic_state",
    "pressure_rise_from_mep",
]

_GAS_CONSTANT = 8.314462618  # J/(mol K), exact in the SI of 2019


@dataclass(frozen=True)
class IdealCycle:
    """States and sums of a limited-pressure cycle.

    Parameters
    ----------
    T1 .. T5 : temperatures [K]
    p1 .. p5 : pressures [Pa]
    pressure_ratio : p3/p2, rise at constant volume [-]
    cut_off_ratio : V4/V3 [-]
    heat : heat of combustion, states 2 to 4, per mass of charge [J/kg]
    heat_supplied : all heat that comes in; with polytropic exponents also along 1-2 and 4-5 [J/kg]
    heat_rejected : all heat that leaves [J/kg]
    work : heat supplied less heat rejected [J/kg]
    efficiency : work/heat supplied [-]; nan without heat
    mep : work over the swept volume [Pa]
    diagram_mep : area of the pressure-volume diagram over the swept volume [Pa]; differs from
        `mep` when the specific heats given do not fit gas constant and heat-capacity ratio
    """

    T1: Any = field("temperature")
    T2: Any = field("temperature")
    T3: Any = field("temperature")
    T4: Any = field("temperature")
    T5: Any = field("temperature")
    p1: Any = field("pressure")
    p2: Any = field("pressure")
    p3: Any = field("pressure")
    p4: Any = field("pressure")
    p5: Any = field("pressure")
    pressure_ratio: Any = field("number")
    cut_off_ratio: Any = field("number")
    heat: Any = field("specific energy")
    heat_supplied: Any = field("specific energy")
    heat_rejected: Any = field("specific energy")
    work: Any = field("specific energy")
    efficiency: Any = field("fraction")
    mep: Any = field("pressure")
    diagram_mep: Any = field("pressure")


# --------------------------------------------------------------------------- the working gas
def _solve(
    function: Callable[[Any], Any], slope: Callable[[Any], Any], target: Any, start: Any
) -> Any:
    """Temperature at which a rising function reaches the target, by Newton's method."""
    temperature = np.asarray(start, dtype=float) + 0.0 * np.asarray(target, dtype=float)
    for _ in range(60):
        step = (target - function(temperature)) / slope(temperature)
        new = np.maximum(temperature + step, 0.3 * temperature)
        done = np.all(np.abs(new - temperature) <= 1e-11 * new)
        temperature = new
        if done:
            break
    return temperature


class _PlainGas:
    """Constant specific heats, or both rising in a straight line with temperature."""

    def __init__(self, gamma: Any, gas_constant: Any, cv: Any, cp: Any, cv_rise: Any):
        self.gas_constant = gas_constant
        self.gamma = gamma
        self._cv = gas_constant / (gamma - 1.0) if cv is None else cv
        self._cp = self._cv + gas_constant if cp is None else cp
        self._slope = np.asarray(cv_rise, dtype=float) / 1000.0
        self._plain = bool(np.all(self._slope == 0.0))

    def cv(self, t: Any) -> Any:
        return self._cv + self._slope * t

    def cp(self, t: Any) -> Any:
        return self._cp + self._slope * t

    def u(self, t: Any) -> Any:
        return (self._cv + 0.5 * self._slope * t) * t

    def h(self, t: Any) -> Any:
        return (self._cp + 0.5 * self._slope * t) * t

    def check(self, t: Any) -> None:
        """Any temperature will do."""

    def line_heat(self, before: Any, after: Any, exponent: Any) -> Any:
        """Heat that comes in along a polytropic line: cv (gamma - n)/(n - 1) (T - T')."""
        if self._plain:
            return self._cv * (self.gamma - exponent) / (exponent - 1.0) * (before - after)
        return self.u(after) - self.u(before) + self.line_work(before, after, exponent)

    def line_work(self, before: Any, after: Any, exponent: Any) -> Any:
        """Area under a compression or expansion line, positive for expansion."""
        if exponent is None and not self._plain:
            return self.u(before) - self.u(after)
        n = self.gamma if exponent is None else exponent
        return self.gas_constant * (before - after) / (n - 1.0)

    def adiabatic(self, t: Any, squeeze: Any) -> Any:
        """Temperature after the volume has shrunk by this factor without heat."""
        if self._plain:
            return t * squeeze ** (self.gamma - 1.0)
        target = self._cv * np.log(t) + self._slope * t + self.gas_constant * np.log(squeeze)
        return _solve(
            lambda x: self._cv * np.log(x) + self._slope * x,
            lambda x: self._cv / x + self._slope,
            target,
            t * squeeze**0.3,
        )


@functools.cache
def _air_data() -> tuple[float, Any, Any, float, float, float]:
    """Gas constant, low and high polynomial of the mixture, lower, middle and upper limit."""
    rows = tables.load("air").rows
    share = np.array([r["mole_fraction"] for r in rows])
    mass = float(share @ np.array([r["molar_mass"] for r in rows]))
    low, high = (
        share @ np.array([[r[f"{part}_a{i}"] for i in range(1, 8)] for r in rows])
        for part in ("low", "high")
    )
    mid = {r["T_mid"] for r in rows}
    assert len(mid) == 1
    return (
        _GAS_CONSTANT / mass,
        low,
        high,
        max(r["T_low"] for r in rows),
        mid.pop(),
        min(r["T_high"] for r in rows),
    )


class _Air:
    """Air as an ideal gas with specific heats that follow temperature; composition fixed."""

    def __init__(self) -> None:
        self.gas_constant, self._low, self._high, self._min, self._mid, self._max = _air_data()

    def _sum(self, t: Any, form: Callable[[Any, Any], Any]) -> Any:
        t = np.asarray(t, dtype=float)
        return self.gas_constant * np.where(t < self._mid, form(t, self._low), form(t, self._high))

    def cv(self, t: Any) -> Any:
        return self._sum(t, lambda x, a: np.polyval(a[4::-1], x) - 1.0)

    def cp(self, t: Any) -> Any:
        return self.cv(t) + self.gas_constant

    def u(self, t: Any) -> Any:
        return self.h(t) - self.gas_constant * t

    def h(self, t: Any) -> Any:
        over = np.array([5.0, 4.0, 3.0, 2.0, 1.0])
        return self._sum(t, lambda x, a: np.polyval([*(a[4::-1] / over), a[5]], x))

    def _entropy(self, t: Any) -> Any:
        over = np.array([4.0, 3.0, 2.0, 1.0])
        return self._sum(
            t,
            lambda x, a: (a[0] - 1.0) * np.log(x) + np.polyval([*(a[4:0:-1] / over), a[6]], x),
        )

    def check(self, t: Any) -> None:
        t = np.asarray(t, dtype=float)
        outside = ~((t >= self._min) & (t <= self._max))
        if np.any(outside):
            raise fail(
                "temperature, heat",
                f"a cycle that reaches {t[outside].flat[0]:.4g} K",
                f"one that stays between {self._min:g} and {self._max:g} K, the range of the data",
            )

    def line_work(self, before: Any, after: Any, exponent: None) -> Any:
        return self.u(before) - self.u(after)

    def adiabatic(self, t: Any, squeeze: Any) -> Any:
        return _solve(
            self._entropy,
            lambda x: self.cv(x) / x,
            self._entropy(t) + self.gas_constant * np.log(squeeze),
            t * squeeze**0.35,
        )


# --------------------------------------------------------------------------- the cycle
def _heat_part(
    gas: Any,
    T2: Any,
    p2: Any,
    heat: Any,
    peak_temperature: Any,
    peak_pressure: Any,
    pressure_ratio: Any,
    cut_off_ratio: Any,
) -> tuple[Any, Any]:
    """Temperatures at the end of the constant-volume and of the constant-pressure heat."""
    given = {
        "heat": heat,
        "peak_temperature": peak_temperature,
        "peak_pressure": peak_pressure,
        "pressure_ratio": pressure_ratio,
        "cut_off_ratio": cut_off_ratio,
    }
    names = [n for n, v in given.items() if v is not None]
    rise = peak_pressure is not None or pressure_ratio is not None
    amount = heat is not None or peak_temperature is not None
    clash = (
        (heat is not None and peak_temperature is not None)
        or (peak_pressure is not None and pressure_ratio is not None)
        or (rise and amount and cut_off_ratio is not None)
    )
    if clash or not names:
        raise fail(
            "heat, peak_temperature, peak_pressure, pressure_ratio, cut_off_ratio",
            " and ".join(names) or "none of them",
            "one of heat, peak_temperature and cut_off_ratio, with one of peak_pressure and "
            "pressure_ratio for a limited-pressure cycle",
        )

    def by_heat(total: Any) -> Any:
        return _solve(gas.u, gas.cv, gas.u(T2) + total, T2 + total / gas.cv(T2) * 0.8)

    if rise:
        ratio = pressure_ratio if peak_pressure is None else peak_pressure / p2
        if np.any(np.asarray(ratio) < 1.0 - 1e-12):
            raise fail(
                "peak_pressure" if pressure_ratio is None else "pressure_ratio",
                f"a rise to {float(np.min(ratio)):.4g} times the pressure of compression",
                f"a pressure not below that, {float(np.max(p2)) / 1e5:.4g} bar",
            )
        limit = T2 * ratio
        if heat is not None:
            T3 = np.minimum(limit, by_heat(heat))
            rest = gas.h(T3) + np.maximum(heat - (gas.u(T3) - gas.u(T2)), 0.0)
            return T3, _solve(gas.h, gas.cp, rest, T3 + 0.5 * heat / gas.cp(T3))
        if peak_temperature is not None:
            return np.minimum(limit, peak_temperature), peak_temperature
        return limit, limit * (1.0 if cut_off_ratio is None else cut_off_ratio)
    if cut_off_ratio is None:
        T3 = by_heat(heat) if peak_temperature is None else peak_temperature
        return T3, T3
    beta = cut_off_ratio
    if heat is not None:
        T3 = _solve(
            lambda t: gas.u(t) + gas.h(beta * t) - gas.h(t),
            lambda t: gas.cv(t) + beta * gas.cp(beta * t) - gas.cp(t),
            gas.u(T2) + heat,
            T2,
        )
        return T3, beta * T3
    T3 = T2 if peak_temperature is None else peak_temperature / beta
    return T3, beta * T3


def _cycle(
    gas: Any, ratio: Any, p1: Any, T1: Any, compression: Any, expansion: Any, **heat_part: Any
) -> IdealCycle:
    T1, p1 = np.asarray(T1, dtype=float), np.asarray(p1, dtype=float)
    gas.check(T1)
    v1 = gas.gas_constant * T1 / p1
    v2 = v1 / ratio
    T2 = gas.adiabatic(T1, ratio) if compression is None else T1 * ratio ** (compression - 1.0)
    p2 = p1 * ratio * T2 / T1
    T3, T4 = _heat_part(gas, T2, p2, **heat_part)
    for before, after, words in (
        (T2, T3, "the end of compression"),
        (T3, T4, "the end of the constant-volume heat"),
    ):
        cold = np.asarray(after < before * (1.0 - 1e-9))
        if np.any(cold):
            low, need = (x[cold].flat[0] for x in np.broadcast_arrays(after, before))
            raise fail(
                "heat, peak_temperature, cut_off_ratio",
                f"{low:.5g} K after combustion",
                f"a temperature not below {need:.5g} K, {words}",
            )
    beta = T4 / T3
    if np.any(beta > ratio):
        raise fail(
            "heat, peak_temperature, cut_off_ratio",
            f"a cut-off ratio of {float(np.max(beta)):.4g}",
            "a cut-off before bottom dead centre, that is not above the compression ratio",
        )
    gas.check(T4)
    p3 = p2 * T3 / T2
    stretch = beta / ratio
    T5 = gas.adiabatic(T4, stretch) if expansion is None else T4 * stretch ** (expansion - 1.0)
    gas.check(T5)
    p5 = p1 * T5 / T1

    heat = gas.u(T3) - gas.u(T2) + gas.h(T4) - gas.h(T3)
    # heat that comes in along a polytropic line that is not adiabatic
    along = (
        0.0 if compression is None else gas.line_heat(T1, T2, compression),
        0.0 if expansion is None else gas.line_heat(T4, T5, expansion),
    )
    supplied = heat + sum(np.maximum(q, 0.0) for q in along)
    rejected = gas.u(T5) - gas.u(T1) - sum(np.minimum(q, 0.0) for q in along)
    work = supplied - rejected
    area = p3 * v2 * (beta - 1.0)
    area = area + gas.line_work(T4, T5, expansion) + gas.line_work(T1, T2, compression)
    swept = v1 - v2
    with np.errstate(divide="ignore", invalid="ignore"):
        efficiency = np.where(supplied > 0.0, work / supplied, np.nan)
    out = np.broadcast_arrays(
        *(T1, T2, T3, T4, T5, p1, p2, p3, p3, p5, p3 / p2, beta),
        *(heat, supplied, rejected, work, efficiency, work / swept, area / swept),
    )
    return IdealCycle(*(x[()] for x in out))


_HEAT_KINDS = {
    "heat": "specific energy >= 0",
    "peak_temperature": "temperature > 0",
    "peak_pressure": "pressure > 0",
    "pressure_ratio": "number >= 1",
    "cut_off_ratio": "number >= 1",
}


@with_units(
    returns="fields",
    compression_ratio="number > 1",
    pressure="pressure > 0",
    temperature="temperature > 0",
    gamma="number > 1",
    gas_constant="specific heat > 0",
    cv="specific heat > 0",
    cp="specific heat > 0",
    cv_rise="specific heat >= 0",
    compression_exponent="number > 1",
    expansion_exponent="number > 1",
    **_HEAT_KINDS,
)
def limited_pressure_cycle(
    compression_ratio: Any,
    pressure: Any,
    temperature: Any,
    heat: Any = None,
    peak_temperature: Any = None,
    peak_pressure: Any = None,
    pressure_ratio: Any = None,
    cut_off_ratio: Any = None,
    gamma: Any = 1.4,
    gas_constant: Any = 287.0,
    cv: Any = None,
    cp: Any = None,
    cv_rise: Any = 0.0,
    compression_exponent: Any = None,
    expansion_exponent: Any = None,
) -> IdealCycle:
    """Air-standard limited-pressure (dual) cycle, with Otto and Diesel as its two ends.

    T2 = T1 r^(gamma-1); heat = cv (T3 - T2) + cp (T4 - T3); T5 = T4 (V4/V1)^(gamma-1);
    heat rejected = cv (T5 - T1). On a line with a polytropic exponent n heat
    cv (gamma - n)/(n - 1) (T - T') comes in as well.

    Heat is told by one of `heat`, `peak_temperature`, `cut_off_ratio`. With nothing more, heat or
    peak temperature come at constant volume (Otto), a cut-off ratio at constant pressure
    (Diesel). With `peak_pressure` or `pressure_ratio` the heat first raises the pressure at
    constant volume up to that limit, the rest comes at constant pressure (`pressure_ratio=1` is a
    Diesel cycle); where the heat does not reach the limit the cycle is an Otto cycle. A limit
    alone is an Otto cycle that reaches it. Cut-off ratio with heat or peak temperature is a dual
    cycle whose pressure follows.

    Parameters
    ----------
    compression_ratio : r [-]
    pressure, temperature : state 1 [Pa, K]
    heat : per mass of charge [J/kg]
    peak_temperature : T4 [K]
    peak_pressure : limit of p3 [Pa]
    pressure_ratio : limit of p3/p2 [-]
    cut_off_ratio : V4/V3 [-]
    gamma : heat-capacity ratio, exponent of compression and expansion [-]
    gas_constant : R [J/(kg K)]
    cv : specific heat at constant volume [J/(kg K)]; left out, R/(gamma - 1)
    cp : specific heat at constant pressure [J/(kg K)]; left out, cv + R
    cv_rise : rise of both specific heats over 1000 K [J/(kg K)]; cv and cp are then those at 0 K,
        and without exponents compression and expansion are isentropic with them
    compression_exponent, expansion_exponent : polytropic exponents in place of gamma [-]

    Returns
    -------
    IdealCycle

    Raises
    ------
    InputError
        for bad values, too much or too little said about the heat, a peak below the end of
        compression, or a cut-off beyond bottom dead centre.

    Notes
    -----
    Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach, chapter 9; C. R.
    Ferguson and A. T. Kirkpatrick, Internal Combustion Engines, 3rd ed., chapter 2.
    """
    return _cycle(
        _PlainGas(gamma, gas_constant, cv, cp, cv_rise),
        compression_ratio,
        pressure,
        temperature,
        compression_exponent,
        expansion_exponent,
        heat=heat,
        peak_temperature=peak_temperature,
        peak_pressure=peak_pressure,
        pressure_ratio=pressure_ratio,
        cut_off_ratio=cut_off_ratio,
    )


@with_units(
    returns="fields",
    compression_ratio="number > 1",
    pressure="pressure > 0",
    temperature="temperature > 0",
    **_HEAT_KINDS,
)
def air_cycle(
    compression_ratio: Any,
    pressure: Any,
    temperature: Any,
    heat: Any = None,
    peak_temperature: Any = None,
    peak_pressure: Any = None,
    pressure_ratio: Any = None,
    cut_off_ratio: Any = None,
) -> IdealCycle:
    """Limited-pressure cycle of air whose specific heats follow temperature.

    s(T2) - s(T1) = R ln r; heat = u3 - u2 + h4 - h3; heat rejected = u5 - u1.

    Parameters
    ----------
    compression_ratio : r [-]
    pressure, temperature : state 1 [Pa, K], 200 K or more
    heat, peak_temperature, peak_pressure, pressure_ratio, cut_off_ratio : as in
        `limited_pressure_cycle`

    Returns
    -------
    IdealCycle

    Raises
    ------
    InputError
        as `limited_pressure_cycle`, and for states outside 200 to 6000 K.

    Notes
    -----
    Air as 0.21 O2, 0.78 N2, 0.01 Ar of fixed composition, ideal gas; polynomials of B. J.
    McBride, S. Gordon and M. A. Reno, NASA TM-4513, 1993 (table ``air``). Printed air tables
    differ from it by up to 0.3 %.
    """
    return _cycle(
        _Air(),
        compression_ratio,
        pressure,
        temperature,
        None,
        None,
        heat=heat,
        peak_temperature=peak_temperature,
        peak_pressure=peak_pressure,
        pressure_ratio=pressure_ratio,
        cut_off_ratio=cut_off_ratio,
    )


# --------------------------------------------------------------------------- single formulas
@with_units(
    returns=("pressure", "temperature"),
    pressure="pressure > 0",
    temperature="temperature > 0",
    volume_ratio="number > 0",
    exponent="number >= 1",
)
def polytropic_state(
    pressure: Any, temperature: Any, volume_ratio: Any, exponent: Any = 1.4
) -> tuple[Any, Any]:
    """State after compression (or expansion) of an ideal gas.

    p2 = p1 r^n, T2 = T1 r^(n-1).

    Parameters
    ----------
    pressure, temperature : state before [Pa, K]
    volume_ratio : r, volume before over volume after [-]; below 1 for expansion
    exponent : n [-]; the heat-capacity ratio for an isentropic change

    Returns
    -------
    pressure, temperature [Pa, K]

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach, chapter 7.
    """
    return pressure * volume_ratio**exponent, temperature * volume_ratio ** (exponent - 1.0)


@with_units(returns="fraction", compression_ratio="number > 1", gamma="number > 1")
def otto_efficiency(compression_ratio: Any, gamma: Any = 1.4) -> Any:
    """Thermal efficiency of the Otto cycle.

    eta = 1 - r^(1 - gamma).

    Parameters
    ----------
    compression_ratio : r [-]
    gamma : heat-capacity ratio [-]

    Returns
    -------
    efficiency [-]

    Raises
    ------
    InputError
        for values that are not above 1.

    Notes
    -----
    Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach, chapter 9.
    """
    return 1.0 - compression_ratio ** (1.0 - gamma)


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


def _mep_per_rise(ratio: Any, gamma: Any) -> Any:
    return otto_efficiency.si(ratio, gamma) / ((gamma - 1.0) * (ratio - 1.0))


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


# --------------------------------------------------------------------------- heat over crank angle
@dataclass(frozen=True)
class FiniteHeatRelease:
    """Result of `finite_heat_release`; pressure, volume and work are told in p1, V1 and p1 V1.

    Parameters
    ----------
    peak_pressure_ratio : largest p/p1 [-]
    peak_angle : crank angle of it [rad]
    work : W/(p1 V1) [-]
    efficiency : work/heat [-]
    efficiency_ratio : efficiency over that of the Otto cycle [-]
    imep_ratio : imep/p1 [-]
    heat_loss : heat to the wall over p1 V1 [-]
    mass_left : mass at the end over mass at the start [-]
    crank_angle, volume, pressure : the course of the cycle; last axis runs over crank angle
    """

    peak_pressure_ratio: Any = field("number")
    peak_angle: Any = field("angle")
    work: Any = field("number")
    efficiency: Any = field("fraction")
    efficiency_ratio: Any = field("number")
    imep_ratio: Any = field("number")
    heat_loss: Any = field("number")
    mass_left: Any = field("number")
    crank_angle: Any = field("angle")
    volume: Any = field("number")
    pressure: Any = field("number")


def _running_sum(f: Any, step: Any) -> Any:
    """Running integral over an even grid along the last axis, by cubics (fourth order)."""
    inner = -f[..., :-3] + 13.0 * f[..., 1:-2] + 13.0 * f[..., 2:-1] - f[..., 3:]
    first = 9.0 * f[..., :1] + 19.0 * f[..., 1:2] - 5.0 * f[..., 2:3] + f[..., 3:4]
    last = 9.0 * f[..., -1:] + 19.0 * f[..., -2:-1] - 5.0 * f[..., -3:-2] + f[..., -4:-3]
    parts = np.concatenate([np.zeros_like(first), first, inner, last], axis=-1)
    return np.cumsum(parts, axis=-1) * step / 24.0


@with_units(
    returns="fields",
    compression_ratio="number > 1",
    heat="number > 0",
    start="angle",
    duration="angle > 0",
    gamma="number > 1",
    a="number > 0",
    m="number >= 0",
    heat_transfer="number >= 0",
    wall_temperature="number > 0",
    area_ratio="number >= 0",
    blow_by="frequency >= 0",
    crank_speed="crank speed > 0",
    points="number >= 100",
)
def finite_heat_release(
    compression_ratio: Any,
    heat: Any,
    start: Any,
    duration: Any,
    gamma: Any = 1.4,
    a: Any = 5.0,
    m: Any = 2.0,
    heat_transfer: Any = 0.0,
    wall_temperature: Any = 1.2,
    area_ratio: Any = 1.5,
    blow_by: Any = 0.0,
    crank_speed: Any = 2000.0 / 60.0,
    points: int = 2000,
) -> FiniteHeatRelease:
    """Cycle with a Wiebe burn, wall heat and blow-by at constant heat-capacity ratio.

    dp/dtheta = -gamma p/V dV/dtheta + (gamma-1)/V [Q dx/dtheta - h (1 + beta V)(p V/M - Tw)]
    - gamma (c/omega) p, dM/dtheta = -(c/omega) M; p, V, M, T in those of bottom dead centre,
    Q in p1 V1; V = [1 + (r-1)/2 (1 - cos(theta))]/r (infinitely long rod).

    Parameters
    ----------
    compression_ratio : r [-]
    heat : Q, heat over p1 V1 [-]
    start, duration : of the Wiebe burn [rad]; the start lies within a turn, -pi..pi
    gamma : heat-capacity ratio [-]
    a, m : Wiebe factors, see `sealkit.pressure.burn.wiebe` [-]
    heat_transfer : h, heat transfer coefficient made dimensionless [-]
    wall_temperature : Tw over T1 [-]
    area_ratio : beta, part of the wall area that goes with the volume [-]
    blow_by : c, share of the mass that leaks each second [1/s]
    crank_speed : omega/(2 pi) [rev/s]
    points : number of steps on either side of the start of the burn

    Returns
    -------
    FiniteHeatRelease

    Raises
    ------
    InputError
        for values outside the ranges above.

    Notes
    -----
    C. R. Ferguson and A. T. Kirkpatrick, Internal Combustion Engines: Applied Thermosciences,
    3rd ed., equation 2.34. The equation is linear in p, so E p with
    E = V^gamma exp(gamma (c/omega) theta + (gamma-1) integral of h (1 + beta V)/M) is a plain
    integral; no iteration is needed. The burn is not cut at the end of its duration.
    """
    args = (
        compression_ratio, heat, start, duration, gamma, a, m,
        heat_transfer, wall_temperature, area_ratio, blow_by, crank_speed,
    )  # fmt: skip
    arrays = [np.asarray(x, dtype=float)[..., None] for x in args]
    r, q, begin, span, g, a_, m_, h, wall, beta, leak, speed = np.broadcast_arrays(*arrays)
    if np.any(np.abs(begin) >= np.pi):
        worst = np.degrees(begin[np.abs(begin) >= np.pi].flat[0])
        raise fail("start", f"{worst:.4g} deg", '-180 to 180 deg, such as "-20 deg"')
    n = int(points)
    unit = np.linspace(0.0, 1.0, n + 1)
    halves = [(-np.pi + 0.0 * begin, begin), (begin, np.pi + 0.0 * begin)]
    leak = leak / (2.0 * np.pi * speed)

    done: list[tuple[Any, ...]] = []
    p0, work0, loss0 = np.ones_like(r), np.zeros_like(r), np.zeros_like(r)
    for low, high in halves:
        angle = low + (high - low) * unit
        step = (high - low) / n
        volume = (1.0 + (r - 1.0) * geometry.piston_position.si(angle, 1.0)) / r
        slope = (r - 1.0) * geometry.volume_derivative.si(angle, np.sqrt(4.0 / np.pi), 1.0) / r
        mass = np.exp(-leak * (angle + np.pi))
        wetted = h * (1.0 + beta * volume)
        growth = (g - 1.0) * _running_sum(wetted / mass, step) + g * leak * (angle - low)
        factor = (volume / volume[..., :1]) ** g * np.exp(growth)
        rate = q * burn.wiebe_rate.si(angle, begin, span, a_, m_) if low is begin else 0.0
        gain = _running_sum(factor * (g - 1.0) / volume * (rate + wetted * wall), step)
        pressure = (p0 + gain) / factor
        work = work0 + _running_sum(pressure * slope, step)
        loss = loss0 + _running_sum(wetted * (pressure * volume / mass - wall), step)
        p0, work0, loss0 = pressure[..., -1:], work[..., -1:], loss[..., -1:]
        done.append((angle, volume, pressure, mass))

    angle, volume, pressure, mass = (
        np.concatenate([one, two[..., 1:]], axis=-1) for one, two in zip(*done, strict=True)
    )
    at = np.clip(np.argmax(pressure, axis=-1), 1, pressure.shape[-1] - 2)[..., None]
    (x0, y0), (x1, y1), (x2, y2) = (
        tuple(np.take_along_axis(z, at + k, axis=-1) for z in (angle, pressure)) for k in (-1, 0, 1)
    )
    # top of the parabola through the three highest points
    s01, s12 = (y1 - y0) / (x1 - x0), (y2 - y1) / (x2 - x1)
    bend = (s12 - s01) / (x2 - x0)
    with np.errstate(divide="ignore", invalid="ignore"):
        top = np.where(bend < 0.0, 0.5 * (x0 + x1) - 0.5 * s01 / bend, x1)
    top = np.clip(top, x0, x2)
    peak = y0 + s01 * (top - x0) + bend * (top - x0) * (top - x1)

    r1, q1 = r[..., 0], q[..., 0]
    total = work0[..., 0]
    efficiency = total / q1
    return FiniteHeatRelease(
        peak_pressure_ratio=peak[..., 0],
        peak_angle=top[..., 0],
        work=total,
        efficiency=efficiency,
        efficiency_ratio=efficiency / otto_efficiency.si(r1, g[..., 0]),
        imep_ratio=total / (1.0 - 1.0 / r1),
        heat_loss=loss0[..., 0],
        mass_left=mass[..., -1],
        crank_angle=angle,
        volume=volume,
        pressure=pressure,
    )
