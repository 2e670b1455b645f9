"""Time of one cycle and of a thousand, against SciPy's ODE solvers on the same equations.

Run as ``python -m tests.benchmarks.bench_cycle``. All ratios come out of one run. The ODE side is
plain-Python scalars on flat lists, the fastest form found, at the loosest tolerance that keeps the
whole trace within 2e-5 of a tight solution.
"""

from __future__ import annotations

import tracemalloc
from collections.abc import Callable
from functools import partial
from typing import Any

import numpy as np

from sealkit.pressure import cycle, fuels, gas, geometry
from tests import cycle_ode
from tests.benchmarks._tools import Ratio, cpu_time, show
from tests.charges import charge_at

NEED = 2e-5
LEAST = {"one": 5.0, "many": 5.0}
METHODS = ("RK45", "DOP853", "LSODA")
ENGINE = {
    "bore": 0.086,
    "stroke": 0.086,
    "rod": 0.143,
    "compression_ratio": 9.5,
    "crank_speed": 50.0,
    "burn_start": float(np.radians(-20.0)),
    "burn_duration": float(np.radians(60.0)),
}
ODE = {
    **ENGINE,
    "p1": 2e5,
    "t1": 330.0,
    "exponent": 0.55,
    "wall_temperature": 450.0,
    "loss": 1.0,
}


def fastest(run: Callable[[float, str], Any], ours: Any) -> tuple[float, str]:
    """Time and name of the fastest solver that is accurate enough."""
    best = (np.inf, "")
    _, tight = run(1e-10, "RK45")
    if np.max(np.abs(ours / tight - 1.0)) > NEED:
        raise AssertionError("our cycle is not the one the solvers work out")
    for method in METHODS:
        for rtol in (1e-4, 1e-5, 1e-6, 1e-7):
            seconds, (_, p) = cpu_time(partial(run, rtol, method), 7)
            off = float(np.max(np.abs(p / tight - 1.0)))
            if off < NEED:
                best = min(best, (seconds, f"{method}, rtol {rtol:.0e}"))
                break
    return best


def rows() -> list[Ratio]:
    out = []
    mixture = fuels.mixture.si("gasoline")
    volume = geometry.cylinder_volume.si(np.pi, 0.086, 0.086, 0.143, 9.5)
    c = charge_at(mixture, 2e5, 330.0, volume)

    def real() -> Any:
        return cycle.cycle.si(c, **ENGINE, temperature_exponent=0.55)

    prepared = gas.prepare(mixture, 0.0)
    seconds, result = cpu_time(real, 60)
    slow, which = fastest(lambda r, m: cycle_ode.real(prepared, ODE, r, m), result.pressure)
    note = f"{1e3 * slow:.1f} ms ({which}), {1e3 * seconds:.2f} ms"
    title = "ODE solver over cycle, gas tables"
    out.append(Ratio(title, slow / seconds, LEAST["one"], True, note))

    rng = np.random.default_rng(1)
    n = 1000
    one = np.ones(n)
    spread = {k: v * one for k, v in ENGINE.items()}
    spread["burn_start"] = spread["burn_start"] + np.radians(rng.uniform(-5.0, 5.0, n))
    spread["crank_speed"] = spread["crank_speed"] * rng.uniform(0.9, 1.1, n)
    for name, phi in (("one mixture", 1.0), ("a mixture each", rng.uniform(0.9, 1.4, n))):
        m = fuels.mixture.si("gasoline", phi)
        many = charge_at(m, 2e5 * rng.uniform(0.9, 1.1, n), 330.0, volume)
        all_builds = partial(cycle.cycle.si, many, **spread, temperature_exponent=0.55)
        tracemalloc.start()
        all_builds()
        peak = tracemalloc.get_traced_memory()[1] / 1e6
        tracemalloc.stop()
        seconds, _ = cpu_time(all_builds, 3)
        note = f"{1e3 * seconds / n:.3f} ms each, {peak:.0f} MB at most"
        title = f"ODE solver over each of {n} cycles, {name}"
        out.append(Ratio(title, slow / (seconds / n), LEAST["many"], True, note))
    return out


if __name__ == "__main__":
    show(rows())
