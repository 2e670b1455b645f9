"""A scatter study against a loop over the public report: time, memory and growth, in one run.

Run as ``python -m tests.benchmarks.bench_scatter``. The loop is timed on 200 builds and taken as
straight. Each study runs in a Python of its own, which tells the most memory it held.
"""

from __future__ import annotations

import json
import subprocess
import sys
import time
from pathlib import Path

from sealkit import build, report, scatter
from tests import sheets
from tests.benchmarks._tools import Ratio, show

DEMO = "boosted-four"
LOOP, SMALL, LARGE = 200, 100_000, 400_000
ROOT = Path(__file__).resolve().parents[2]

SCRIPT = """
import json, resource, sys, time
from sealkit import build, scatter
count = int(sys.argv[1])
if __name__ == "__main__":
    sheet = build.demo(sys.argv[2])
    cpu = time.process_time()
    out = scatter.run(sheet, scatter.usual(sheet, "parts"), count)
    cpu = time.process_time() - cpu
    most = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss
    print(json.dumps({"cpu": cpu, "count": out.count,
                      "mb": most / 1024}))
"""


def study(count: int, folder: Path) -> dict[str, float]:
    """Seconds, builds and MB of one study in a Python of its own."""
    script = folder / "study.py"
    script.write_text(SCRIPT, encoding="utf-8")
    done = subprocess.run(
        [sys.executable, str(script), str(count), DEMO],
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    return {k: float(v) for k, v in json.loads(done.stdout).items()}


def loop() -> float:
    """Seconds of the processor of the public report on one build of a study."""
    sheet = build.demo(DEMO)
    drawn = scatter.run(sheet, scatter.usual(sheet, "parts"), LOOP, keep=LOOP)
    report.run(sheet)
    start = time.process_time()
    for i in range(LOOP):
        report.run(sheets.sample(drawn, i))
    return (time.process_time() - start) / LOOP


def rows() -> list[Ratio]:
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        cpu = loop()
        one, large = study(SMALL, folder), study(LARGE, folder)
    first, last = one["cpu"] / one["count"], large["cpu"] / large["count"]
    return [
        Ratio(
            f"loop over report over {SMALL:,} builds",
            cpu / first,
            50.0,
            True,
            f"{1e3 * cpu:.1f} ms and {1e3 * first:.3f} ms each, of the processor",
        ),
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
