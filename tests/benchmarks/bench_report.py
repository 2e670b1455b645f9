"""Time of one full report against one cycle, in one run.

Run as ``python -m tests.benchmarks.bench_report``.
"""

from __future__ import annotations

from statistics import median
from time import perf_counter

from sealkit import build, report
from sealkit.pressure import burn, cycle


def timed(run: object, repeat: int = 40) -> float:
    """Median time, s."""
    times = []
    for _ in range(repeat):
        start = perf_counter()
        run()  # type: ignore[operator]
        times.append(perf_counter() - start)
    return median(times)


def main() -> None:
    for name in build.demos():
        sheet = build.demo(name)
        gas = report.run(sheet).gas
        e = sheet.engine
        timing = burn.burn_timing.si(sheet.burn.half_burnt, sheet.burn.duration)
        shape = (e.bore, e.stroke, e.rod_length, sheet.compression_ratio, e.speed)

        def one_cycle(gas=gas, shape=shape, timing=timing) -> object:
            return cycle.cycle.si(gas.charge, *shape, *timing)

        a, b = timed(one_cycle), timed(lambda sheet=sheet: report.run(sheet))
        print(f"{name:15} cycle {1e3 * a:.2f} ms, report {1e3 * b:.2f} ms, RATIO {b / a:.1f}")


if __name__ == "__main__":
    main()
