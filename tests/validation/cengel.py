"""Air-standard cycles: Y. A. Cengel and M. A. Boles, Thermodynamics: An Engineering Approach.

Chapter 9. One limited-pressure (dual) cycle stands behind all of them; Otto and Diesel are its two
ends, as in C. R. Ferguson and A. T. Kirkpatrick, Internal Combustion Engines, 3rd ed., ch. 2.
States: 1 bottom dead centre, 2 end of compression, 3 end of the constant-volume heat, 4 end of the
constant-pressure heat, 5 end of expansion. An Otto cycle has state 3 = 4, a Diesel cycle 2 = 3. The
rows come from this book and from C. Borgnakke and R. E. Sonntag, H. N. Gupta, M. J. Moran and H. N.
Shapiro, R. K. Rajput, M. L. Mathur and R. P. Sharma, and R. T. Balmer, as each row says.
"""

from __future__ import annotations

import functools
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.units import field, with_units

GAS_CONSTANT = 8.314462618  # J/(mol K), exact in the SI of 2019
AIR = Path(__file__).parent / "tables" / "air.csv"


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
    rows = tables.read_csv(AIR.read_text(encoding="utf-8"), "air")
    share = np.array([r["mole_fraction"] for r in rows])
    mass = float(share @ np.array([r["molar_mass"] for r in rows]))
    low, high = (
        share @ np.array([[r[f"{part}_a{i}"] for i in range(1, 8)] for r in rows])
        for part in ("low", "high")
    )
    mid = {r["T_mid"] for r in rows}
    assert len(mid) == 1
    return (
        GAS_CONSTANT / mass,
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

    Notes
    -----
    Air as 0.21 O2, 0.78 N2, 0.01 Ar of fixed composition, ideal gas; polynomials of B. J.
    McBride, S. Gordon and M. A. Reno, NASA TM-4513, 1993 (``tables/air.csv``). Printed air tables
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


@with_units(returns="fraction", compression_ratio="number > 1", gamma="number > 1")
def otto_efficiency(compression_ratio: Any, gamma: Any = 1.4) -> Any:
    """Thermal efficiency of the Otto cycle.

    eta = 1 - r^(1 - gamma).
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
    """
    return limited_pressure_cycle.si(
        compression_ratio, pressure, temperature, heat, gamma=gamma, gas_constant=gas_constant
    ).p3


@with_units(returns="number", share="fraction 0..1", compression_ratio="number > 1")
def cut_off_ratio_from_stroke(share: Any, compression_ratio: Any) -> Any:
    """Cut-off ratio when heat comes over a share of the stroke.

    V4/V3 = 1 + share (r - 1).
    """
    return 1.0 + share * (compression_ratio - 1.0)
