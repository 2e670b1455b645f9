"""Time of one cycle against a two-zone equilibrium cycle on Cantera, where Cantera is installed.

Run as ``python -m tests.benchmarks.bench_two_zone``. Unburnt gas on its isentrope, burnt gas in
equilibrium, no wall heat, half-degree steps; in each step the pressure at which both volumes fill
the cylinder, with dH_burnt = h_unburnt dm + V_burnt dp. Both sides work out the same engine, and
their peaks must agree within 3 %.
"""

from __future__ import annotations

from typing import Any

import numpy as np

from sealkit.pressure import cycle, fuels, geometry
from tests.benchmarks._tools import Ratio, Skipped, cpu_time, show
from tests.charges import charge_at

SHAPE = (0.086, 0.086, 0.143, 9.5)
START, DURATION = float(np.radians(-20.0)), float(np.radians(60.0))
PRESSURE, TEMPERATURE = 2e5, 330.0
FUEL = "C8H18,isooctane"
PRODUCTS = ["CO2", "CO", "H2O", "H2", "O2", "N2", "OH", "H", "O", "NO", "N", "NO2", "HO2"]


def two_zones(ct: Any) -> np.ndarray:
    """Pressure over the cycle, Pa."""
    library = {s.name: s for s in ct.Species.list_from_file("nasa_gas.yaml")}
    fresh, burnt = (
        ct.Solution(thermo="ideal-gas", species=[library[n] for n in (*PRODUCTS, FUEL)])
        for _ in range(2)
    )
    angle = np.radians(np.arange(-180.0, 180.25, 0.5))
    volume = geometry.cylinder_volume.si(angle, *SHAPE)
    share = np.zeros_like(angle)
    inside = (angle > START) & (angle < START + DURATION)
    share[inside] = 1.0 - np.exp(-5.0 * ((angle[inside] - START) / DURATION) ** 3)
    share[angle >= START + DURATION] = 1.0 - np.exp(-5.0)
    fresh.set_equivalence_ratio(1.0, FUEL, "O2:1, N2:3.76")
    fresh.TP = TEMPERATURE, PRESSURE
    entropy, mass = fresh.s, fresh.density * volume[0]
    burnt.TPX = 2500.0, PRESSURE, fresh.X
    pressure, enthalpy, filled = PRESSURE, 0.0, 0.0
    out = [pressure]

    def misfit(p: float, i: int) -> tuple[float, float, float]:
        fresh.SP = entropy, p
        left = mass * (1.0 - share[i]) * fresh.v
        if share[i] == 0.0:
            return left - volume[i], 0.0, 0.0
        new = mass * (share[i] - share[i - 1])
        h = enthalpy + new * fresh.h + filled * (p - pressure)
        burnt.HP = h / (mass * share[i]), p
        burnt.equilibrate("HP", rtol=1e-7)
        room = mass * share[i] * burnt.v
        return left + room - volume[i], h, room

    for i in range(1, len(angle)):
        p = pressure * (volume[i - 1] / volume[i]) ** 1.3
        last, (off, h, room) = p, misfit(p, i)
        p *= 1.0 + off / volume[i]
        for _ in range(20):
            before = off
            off, h, room = misfit(p, i)
            if abs(off) < 1e-8 * volume[i] or off == before:
                break
            p, last = p - off * (p - last) / (off - before), p
        pressure, enthalpy, filled = p, h, room
        out.append(p)
    return np.array(out)


def rows() -> list[Ratio]:
    try:
        import cantera as ct
    except ImportError as err:
        raise Skipped("Cantera is not installed") from err
    mixture = fuels.mixture.si("iso-octane", 1.0, evaporated_share=1.0)
    filled = charge_at(mixture, PRESSURE, TEMPERATURE, geometry.cylinder_volume.si(np.pi, *SHAPE))

    def ours() -> Any:
        return cycle.cycle.si(
            filled, *SHAPE, 50.0, START, DURATION, released_share=1.0, wall_heat="none"
        )

    slow, trace = cpu_time(lambda: two_zones(ct), 3)
    fast, result = cpu_time(ours, 40)
    if abs(float(result.peak_pressure) / trace.max() - 1.0) > 0.03:
        raise AssertionError(f"peaks {float(result.peak_pressure):g} and {trace.max():g} Pa")
    note = (
        f"{1e3 * slow:.0f} ms, {1e3 * fast:.2f} ms; peaks {trace.max() / 1e5:.1f} and "
        f"{float(result.peak_pressure) / 1e5:.1f} bar"
    )
    return [Ratio("two-zone cycle on Cantera over cycle", slow / fast, 20.0, True, note)]


if __name__ == "__main__":
    show(rows())
