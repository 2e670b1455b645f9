"""Time of ranking all gasket constructions against one report, in one run.

Run as ``python -m tests.benchmarks.bench_choice``.
"""

from __future__ import annotations

from sealkit import build, report
from sealkit.report import ranking
from sealkit.sealing import constructions
from tests.benchmarks._tools import Ratio, cpu_time, of_others, show


def rows() -> list[Ratio]:
    most = float(len(constructions.names())) + 1.0  # a report each, and one to spare
    out = []
    for name in build.demos():
        sheet = build.demo(name)
        a, _ = cpu_time(of_others(report.run, sheet, 30), 30)
        b, _ = cpu_time(of_others(ranking.rank, sheet, 15), 15)
        note = f"ranking {1e3 * b:.0f} ms, report {1e3 * a:.1f} ms"
        out.append(Ratio(f"ranking of all gaskets over report, {name}", b / a, most, note=note))
    return out


if __name__ == "__main__":
    show(rows())
