"""Time of ranking all gasket constructions against one report, in one run.

A ranking tells of each of them what a report works out only when it is asked: the bands of its
margins and the order in which its limits are reached. So the report beside it is asked for both;
the note tells what it takes without.

Run as ``python -m tests.benchmarks.bench_choice``.
"""

from __future__ import annotations

from sealkit import build, report
from sealkit.report import ranking
from sealkit.sealing import constructions
from tests.benchmarks._tools import Ratio, cpu_time, of_others, show


def _whole(sheet: build.Build) -> object:
    """A report with what a ranking tells of each gasket."""
    made = report.run(sheet)
    return made.banded, made.order


def rows() -> list[Ratio]:
    most = float(len(constructions.names())) + 1.0  # a report each, and one to spare
    out = []
    for name in build.demos():
        sheet = build.demo(name)
        bare, whole, ranked = (
            cpu_time(of_others(call, sheet, count), count)[0]
            for call, count in ((report.run, 30), (_whole, 15), (ranking.rank, 15))
        )
        note = (
            f"ranking {1e3 * ranked:.0f} ms, report {1e3 * whole:.1f} ms, {1e3 * bare:.1f} ms "
            f"without bands and order, of which the ranking takes {ranked / bare:.1f}"
        )
        title = f"ranking of all gaskets over report, {name}"
        out.append(Ratio(title, ranked / whole, most, note=note))
    return out


if __name__ == "__main__":
    show(rows())
