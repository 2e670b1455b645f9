"""Air-standard cycles with variable specific heat: Cengel and Boles, Thermodynamics, chapter 9;
Moran and Shapiro, Fundamentals of Engineering Thermodynamics, chapter 9."""

from __future__ import annotations

import functools
from collections.abc import Callable
from typing import Any

import numpy as np

from sealkit import tables
from sealkit.errors import fail
from sealkit.pressure.ideal import _HEAT_KINDS, IdealCycle, _cycle, _solve
from sealkit.units import with_units

_GAS_CONSTANT = 8.314462618  # J/(mol K), exact in the SI of 2019


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
