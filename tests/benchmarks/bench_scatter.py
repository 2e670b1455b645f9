"""A scatter study against a loop over the public report: time, memory and growth, in one run.

Run as ``python -m tests.benchmarks.bench_scatter``. The loop is timed on 200 builds and taken as
straight. Each study runs in a Python of its own, which tells the most memory it and its helpers
held.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

from sealkit import build, report, scatter
from tests.benchmarks._tools import Ratio, show

DEMO = "boosted-four"
LOOP, SMALL, LARGE = 200, 100_000, 400_000
ROOT = Path(__file__).resolve().parents[2]

SCRIPT = """
import json, resource, sys, time
from sealkit import build, scatter
count, processes = int(sys.argv[1]), int(sys.argv[2])
if __name__ == "__main__":
    sheet = build.demo(sys.argv[3])
    start, cpu = time.perf_counter(), time.process_time()
    out = scatter.run(sheet, scatter.usual(sheet, "parts"), count, processes=processes)
    seconds, cpu = time.perf_counter() - start, time.process_time() - cpu
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    helper = resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss
    print(json.dumps({"seconds": seconds, "cpu": cpu, "count": out.count,
                      "mb": (most + processes * (helper if processes > 1 else 0)) / 1024}))
"""


def study(count: int, processes: int, folder: Path) -> dict[str, float]:
    """Seconds, builds and MB of one study in a Python of its own."""
    script = folder / "study.py"
    script.write_text(SCRIPT, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(script), str(count), str(processes), DEMO],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return {k: float(v) for k, v in json.loads(done.stdout).items()}


def loop() -> tuple[float, float]:
    """Seconds on the clock and of the processor of the public report on one build of a study."""
    sheet = build.demo(DEMO)
    drawn = scatter.run(sheet, scatter.usual(sheet, "parts"), LOOP, keep=LOOP)
    report.run(sheet)
    start, cpu = time.perf_counter(), time.process_time()
    for i in range(LOOP):
        report.run(drawn.sample(i))
    return (time.perf_counter() - start) / LOOP, (time.process_time() - cpu) / LOOP


def rows() -> list[Ratio]:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        clock, cpu = loop()
        two = study(SMALL, 2, folder)
        one = study(SMALL, 1, folder)
        large = study(LARGE, 1, folder)
    each = two["seconds"] / two["count"]
    first, last = one["cpu"] / one["count"], large["cpu"] / large["count"]
    return [
        Ratio(
            f"loop over report over {SMALL:,} builds, two processes",
            clock / each,
            50.0,
            True,
            f"{1e3 * clock:.1f} ms and {1e3 * each:.3f} ms each, on the clock",
        ),
        Ratio(
            f"loop over report over {SMALL:,} builds, one process",
            cpu / first,
            50.0,
            True,
            f"{1e3 * cpu:.1f} ms and {1e3 * first:.3f} ms each, of the processor",
        ),
        Ratio("memory of both processes and theirs, GB", two["mb"] / 1024, 1.0),
        Ratio(
            f"memory of {LARGE:,} over {SMALL:,} builds",
            large["mb"] / one["mb"],
            1.15,
            note=f"{large['mb']:.0f} MB, {one['mb']:.0f} MB",
        ),
        Ratio(
            f"time each of {LARGE:,} over {SMALL:,} builds",
            last / first,
            1.25,
            note=f"{1e3 * last:.3f} ms, {1e3 * first:.3f} ms of the processor",
        ),
    ]


if __name__ == "__main__":
    show(rows())
