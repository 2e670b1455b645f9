"""Time of ranking all gasket constructions against one report, in one run.

Run as ``python -m tests.benchmarks.bench_choice``.
"""

from __future__ import annotations

from functools import partial

from sealkit import build, choice, report
from tests.benchmarks.bench_report import timed


def main() -> None:
    for name in build.demos():
        sheet = build.demo(name)
        choice.rank(sheet)
        one, all_of_them = timed(partial(report.run, sheet)), timed(partial(choice.rank, sheet))
        print(
            f"{name:15} report {1e3 * one:.1f} ms, ranking {1e3 * all_of_them:.1f} ms, "
            f"RATIO {all_of_them / one:.1f}"
        )


if __name__ == "__main__":
    main()
