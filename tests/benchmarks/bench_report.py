"""Time of one full report against one cycle, in one run.

Run as ``python -m tests.benchmarks.bench_report``.
"""

from __future__ import annotations

from functools import partial

from sealkit import build, report
from sealkit.pressure import burn, cycle
from tests.benchmarks._tools import Ratio, cpu_time, show

MOST = 20.0  # cycles that a report may take, so that a slider can afford it


def rows() -> list[Ratio]:
    out = []
    for name in build.demos():
        sheet = build.demo(name)
        gas = report.run(sheet).gas
        e = sheet.engine
        timing = burn.burn_timing.si(sheet.burn.ca50, sheet.burn.duration)
        shape = (e.bore, e.stroke, e.rod_length, sheet.compression_ratio, e.speed)
        a, _ = cpu_time(partial(cycle.cycle.si, gas.charge, *shape, *timing), 40)
        b, _ = cpu_time(partial(report.run, sheet), 40)
        note = f"report {1e3 * b:.1f} ms, cycle {1e3 * a:.2f} ms"
        out.append(Ratio(f"report over cycle, {name}", b / a, MOST, note=note))
    return out


if __name__ == "__main__":
    show(rows())
